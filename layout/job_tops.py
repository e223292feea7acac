"""What a job file says of the tops: their three shapes, their corners, and the notches in their backs."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import Discriminator, Field, Tag, WithJsonSchema

from layout.job_values import ZERO, AtMost, Degrees, Hand, Name, NotNegative, Pair, Positive, Table, Tape
from layout.rules import MOST_LEGS, MOST_POINTS


class CornerCut(Table):
    """How a corner is taken off: by a radius or a clip (one leg, or [along the front or back edge, along the end])."""

    one_of = ("radius", "clip")

    radius: Positive | None = None
    """Radius of a rounded corner; a length."""
    clip: (
        Annotated[
            Annotated[Positive, Tag("one")] | Annotated[tuple[Positive, Positive], Tag("two")],
            Discriminator(lambda v: "two" if isinstance(v, list | tuple) else "one"),
        ]
        | None
    ) = None
    """What is clipped off: one length, or [along the front or back edge, along the end]."""


class InsideCut(Table):
    """The front's inside corner of a run: a diagonal, so far back along each leg, or a radius."""

    one_of = ("diagonal", "radius")

    diagonal: Positive | None = None
    """How far back along each leg a diagonal front begins; a length."""
    radius: Positive | None = None
    """Radius of a rounded inside corner of the front; a length."""


BoxCorner = Literal["front left", "front right", "back left", "back right"]
EndKind = Literal["wall", "exposed", "appliance", "panel"]
CUT_SQUARE = ("wall", "appliance", "panel")
"""Kinds of end that are cut square: no profile, no corner taken off."""
ByWall = Annotated[
    Annotated[Positive, Tag("one")] | Annotated[dict[str, Positive], Tag("by wall")],
    Discriminator(lambda v: "by wall" if isinstance(v, dict) else "one"),
]
BySide = Annotated[
    Annotated[NotNegative, Tag("one")] | Annotated[dict[str, NotNegative], Tag("by side")],
    Discriminator(lambda v: "by side" if isinstance(v, dict) else "one"),
]


Numbered = Annotated[str, WithJsonSchema({"type": "string", "pattern": "^[1-9][0-9]{0,5}$"})]
"""A point or an edge of an outline, by its number from 1."""


class AnyTop(Table):
    """What the three shapes of a top share."""

    name: Name
    """The top's name, one of its own."""
    height: Positive | None = None
    """Height of its upper face above the floor; a length; left out: a base cabinet's and its own thickness."""
    below: Literal["cabinets", "frame", "solid deck"] = "cabinets"
    """What it lies on; wood on a solid deck gets no air from below."""
    seats: Annotated[int, Field(ge=0, le=100)] = 0
    """How many people are to sit at it."""


class RunTop(AnyTop):
    """[[top]] along walls. ``start`` is a station on the first wall, ``end`` on the last; left out: its length."""

    ends: ClassVar[dict[str, tuple[BoxCorner, ...]]] = {
        "left_end": ("front left", "back left"),
        "right_end": ("front right", "back right"),
    }
    """The corners at each end, which has none to take off where it is cut square."""

    along: Annotated[tuple[Name, ...], Field(min_length=1), AtMost(MOST_LEGS)]
    """The walls that it runs along, by name, left to right."""
    depth: ByWall
    """Depth from back to front: one length, or a table of one for each wall."""
    depth_from: Literal["wall", "top back"] = "wall"
    """What the depth is counted from."""
    start: Tape = ZERO
    """Where it begins on the first wall; a length."""
    end: Positive | None = None
    """Where it ends on the last wall; a length; left out: at the wall's end."""
    left_end: EndKind | None = None
    """What it meets at its left end; left out: a wall where it runs to one."""
    right_end: EndKind | None = None
    """What it meets at its right end; left out: a wall where it runs to one."""
    cabinet_depth: Positive
    """Depth of the cabinets below; a length."""
    back_overhang: NotNegative = ZERO
    """How far it stands beyond the wall's line at an open wall; a length."""
    left_overhang: NotNegative = ZERO
    """How far it stands beyond its start at a left end that is free; a length."""
    right_overhang: NotNegative = ZERO
    """How far it stands beyond its end at a right end that is free; a length."""
    back: Literal["straight", "scribe", "follow"] = "straight"
    """How its back meets a wall that is not straight: with a gap, with wood to fit on site, or cut to follow."""
    scribe: NotNegative | None = None
    """Wood left on the back to be fitted on site where `back = "scribe"`; a length."""
    splash: BySide = ZERO
    """Height of a backsplash: one length, or a table of them by wall, `left` and `right`; 0: none."""
    splash_thickness: Positive
    """How thick the backsplash is; a length."""
    corners: dict[BoxCorner, CornerCut] = Field(default_factory=dict)
    """Which corners at free ends are rounded or clipped."""
    inside: dict[str, InsideCut] = Field(default_factory=dict)
    """How the front's inside corners are eased, by their walls, such as "A/B"."""


class Notch(Table):
    """[[notch]]: a chase, pilaster or post in the back of a run; ``gap`` left out: the shop's wall_gap."""

    top: Name
    """The run that it is cut out of."""
    wall: Name
    """The wall that it lies at."""
    at: Tape
    """Where it begins along the wall; a length."""
    width: Positive
    """How wide the chase, pilaster or post is; a length."""
    depth: Positive
    """How far it stands out from the wall; a length."""
    gap: NotNegative | None = None
    """Gap left round it; a length; left out: the shop's `wall_gap`."""
    from_: Annotated[Hand, Field(alias="from")] = "left"
    """Which end of the wall `at` is counted from."""


class Overhangs(Table):
    """How far a rectangle stands beyond its cabinets, by side."""

    front: NotNegative = ZERO
    """How far the top hangs over its cabinets in front; a length."""
    back: NotNegative = ZERO
    """How far the top hangs over its cabinets at its back; a length."""
    left: NotNegative = ZERO
    """How far the top hangs over its cabinets on its left; a length."""
    right: NotNegative = ZERO
    """How far the top hangs over its cabinets on its right; a length."""


class RectTop(AnyTop):
    """[[top]], a rectangle: ``size`` finished, along the grain and across, or ``base`` with overhangs that make it."""

    one_of = ("size", "base")

    size: tuple[Positive, Positive] | None = None
    """Finished size, [along the grain, across it]; lengths."""
    base: tuple[Positive, Positive] | None = None
    """Size of the cabinets below, [along the grain, across it], to which the overhangs are added; lengths."""
    overhang: Overhangs = Overhangs()
    """How far it hangs over its cabinets, by side."""
    corners: dict[BoxCorner, CornerCut] = Field(default_factory=dict)
    """Which corners are rounded or clipped."""
    at: Pair | None = None
    """Where its lower left corner lies in plan, [x, y]; lengths."""
    turn: Degrees = 0.0
    """By how many degrees it is turned in plan, counter-clockwise."""


class OutlineTop(AnyTop):
    """[[top]], any outline, counter-clockwise; edges and points are numbered from 1."""

    outline: Annotated[tuple[Pair, ...], Field(min_length=3), AtMost(MOST_POINTS)]
    """Its points in order, counter-clockwise, [x, y] each; lengths. Points and edges are numbered from 1."""
    rise: dict[Numbered, Tape] = Field(default_factory=dict)
    """Which edges are arcs: by an edge's number how far its middle stands out; a length; negative: inward."""
    corners: dict[Numbered, CornerCut] = Field(default_factory=dict)
    """Which corners are rounded or clipped, by the number of their point."""
    grain: Degrees = 0.0
    """Direction of the grain in degrees, counter-clockwise from the outline's x."""
    support: Annotated[tuple[Pair, ...], Field(min_length=3), AtMost(MOST_POINTS)] | None = None
    """Outline of what carries it, [x, y] each; lengths."""
    at: Pair | None = None
    """Where the outline's origin lies in plan, [x, y]; lengths."""
    turn: Degrees = 0.0
    """By how many degrees it is turned in plan, counter-clockwise."""


def top_shape(value: Any) -> str | None:
    """Return which shape of a top was meant: ``run``, ``rectangle`` or ``outline``; None where nothing tells."""
    keys = set(value) if isinstance(value, dict) else set(getattr(type(value), "model_fields", ()))
    if "outline" in keys:
        return "outline"
    if "along" in keys:
        return "run"
    if keys & {"size", "base"}:
        return "rectangle"
    return None


Top = Annotated[
    Annotated[RunTop, Tag("run")] | Annotated[RectTop, Tag("rectangle")] | Annotated[OutlineTop, Tag("outline")],
    Discriminator(top_shape),
]
