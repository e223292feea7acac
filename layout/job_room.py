"""What a job file says of the room: walls, windows, check measures, cabinets, appliances."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Discriminator, Field, Tag, model_validator

from layout.job_values import (
    Filled,
    Hand,
    Line,
    MisfitError,
    Name,
    NotNegative,
    Pair,
    Positive,
    Table,
    Tape,
    number_between,
    rising,
)
from layout.units import Length


class SquareReading(Table):
    """A corner read with a framing square: off square by ``open`` at ``in`` along its blade; negative: closed."""

    open: Tape
    in_: Annotated[Positive, Field(alias="in")]


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
    length: Positive
    corner: Annotated[
        Annotated[float, number_between(10, 350, "an inside angle between 10 and 350 degrees"), Tag("degrees")]
        | Annotated[tuple[Positive, Positive, Positive], AfterValidator(_triangle), Tag("tapes")]
        | Annotated[SquareReading, Tag("square")],
        Discriminator(_corner_form),
    ] = 90.0
    bow: Annotated[tuple[Pair, ...], AfterValidator(rising)] = ()
    open: bool = False

    @model_validator(mode="after")
    def _bow_on_wall(self) -> Wall:
        if any(not 0 <= station.mm <= self.length.mm for station, _ in self.bow):
            raise MisfitError("stations on the wall", "bow", "length")
        return self


class Window(Table):
    """[[window]]."""

    name: Name
    wall: Name
    at: Tape
    width: Positive
    sill: NotNegative | None = None
    from_: Annotated[Hand, Field(alias="from")] = "left"


class Measure(Table):
    """[[measure]]: a check measure between two points on walls."""

    from_: Annotated[Line, Field(alias="from")]
    to: Line
    length: Positive


class Cabinet(Table):
    """[[cabinet]]: one box of a string; a wall with one is carried by the listed ones only."""

    wall: Name
    at: NotNegative
    width: Positive
    depth: Positive
    from_: Annotated[Hand, Field(alias="from")] = "left"


class Appliance(Table):
    """[[appliance]]: what breaks a run, or an opening below it. ``breaks`` is set by the reader where left out.

    ``strip``: the depth of wood that goes on behind a slide-in range, wall_gap off the wall.
    """

    kind: Filled
    top: Name
    wall: Name
    at: Tape
    width: Positive
    breaks: bool
    fit: Literal["slide-in", "freestanding", "drop-in"] | None = None
    top_height: tuple[Positive, Positive] | None = None
    strip: Positive | None = None
    model: Line = ""
    from_: Annotated[Hand, Field(alias="from")] = "left"


class Room(Table):
    """[room]."""

    closed: bool = False
