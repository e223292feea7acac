"""What a job file says of the room: walls, windows, check measures, cabinets, appliances."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Discriminator, Field, Tag, model_validator

from layout.job_values import (
    AtMost,
    Filled,
    Hand,
    Line,
    MisfitError,
    Name,
    NotNegative,
    Only,
    OnWall,
    Pair,
    Positive,
    Table,
    Tape,
    number_between,
    rising,
)
from layout.rules import MOST_STATIONS
from layout.units import Length


class SquareReading(Table):
    """A corner read with a framing square: off square by ``open`` at ``in`` along its blade; negative: closed."""

    open: Tape
    """How far the corner is off the square at `in` along the blade; a length; negative: the corner is closed."""
    in_: Annotated[Positive, Field(alias="in")]
    """Where along the blade that was read; a length."""


def _corner_form(value: Any) -> str:
    if isinstance(value, list | tuple):
        return "tapes"
    if isinstance(value, dict | SquareReading):
        return "square"
    return "degrees"


def _triangle(tapes: tuple[Length, Length, Length]) -> tuple[Length, Length, Length]:
    a, b, c = (tape.mm for tape in tapes)
    if not abs(a - b) < c < a + b:
        raise ValueError("a diagonal between the difference and the sum of the other two")
    return tapes


class Wall(Table):
    """[[wall]], listed left to right as one faces it from the room."""

    name: Name
    """The wall's name, one of its own."""
    length: Positive
    """How long the wall is, from corner to corner; a length."""
    corner: Annotated[
        Annotated[float, number_between(10, 350, "an inside angle between 10 and 350 degrees"), Tag("degrees")]
        | Annotated[tuple[Positive, Positive, Positive], AfterValidator(_triangle), Tag("tapes")]
        | Annotated[SquareReading, Tag("square")],
        Discriminator(_corner_form),
    ] = 90.0
    """The inside angle to the next wall: degrees, three tapes [along this, along the next, across], or off the square."""
    bow: Annotated[tuple[Pair, ...], AfterValidator(rising), AtMost(MOST_STATIONS)] = ()
    """[station, depth] pairs: how far the wall lies behind its straight line; negative: it stands into the room."""
    open: bool = False
    """Whether there is no wall at all, only a line that a top stands along."""

    @model_validator(mode="after")
    def _bow_on_wall(self) -> Wall:
        if any(not 0 <= station.mm <= self.length.mm for station, _ in self.bow):
            raise MisfitError("stations on the wall", "bow", "length")
        return self


class Window(Table):
    """[[window]]: a window, below which cutouts can be placed."""

    name: Name
    """The window's name, one of its own."""
    wall: Name
    """The wall it is in."""
    at: Tape
    """Where it begins along the wall; a length."""
    width: Positive
    """How wide it is; a length."""
    sill: NotNegative | None = None
    """Height of its sill above the floor; a length."""
    from_: Annotated[Hand, Field(alias="from")] = "left"
    """Which end of the wall `at` is counted from."""


class Measure(Table):
    """[[measure]]: a check measure between two points on walls."""

    from_: Annotated[OnWall, Field(alias="from")]
    """Where it begins: a wall with start, end or a station, such as "A start" or "A 25 1/2"."""
    to: OnWall
    """Where it ends, told as `from` is."""
    length: Positive
    """What the tape read; a length."""


class Cabinet(Table):
    """[[cabinet]]: one box of a string; a wall with one is carried by the listed ones only."""

    wall: Name
    """The wall it stands along."""
    at: NotNegative
    """Where it begins along the wall; a length."""
    width: Positive
    """How wide the box is; a length."""
    depth: Positive
    """How deep the box is; a length."""
    from_: Annotated[Hand, Field(alias="from")] = "left"
    """Which end of the wall `at` is counted from."""


class Appliance(Table):
    """[[appliance]]: what breaks a run, or an opening below it."""

    only = (Only("strip", (("fit", "slide-in"), ("kind", "range")), 'no strip but behind a range of fit = "slide-in"'),)

    kind: Filled
    """What it is: "range", "refrigerator", "dishwasher", "oven" or another word."""
    top: Name
    """The run that it stands in."""
    wall: Name
    """The wall that it stands along."""
    at: Tape
    """Where it begins along the wall; a length."""
    width: Positive
    """How wide it is; a length."""
    breaks: bool
    """Whether it breaks the top, or is an opening below it; left out: a range and a refrigerator break it."""
    fit: Literal["slide-in", "freestanding", "drop-in"] | None = None
    """How it is set."""
    top_height: tuple[Positive, Positive] | None = None
    """Height of its top above the floor by its sheet, [low, high]; lengths."""
    strip: Positive | None = None
    """Depth of wood that goes on behind a slide-in range, `wall_gap` off the wall; a length."""
    model: Line = ""
    """Its maker's name for it."""
    from_: Annotated[Hand, Field(alias="from")] = "left"
    """Which end of the wall `at` is counted from."""


class Room(Table):
    """[room]: the room as a whole."""

    closed: bool = False
    """Whether the last wall meets the first."""
