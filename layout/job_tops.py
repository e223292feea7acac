"""What a job file says of the tops: their three shapes, their corners, and the notches in their backs."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from layout.job_values import ZERO, Degrees, Hand, Name, NotNegative, Pair, Positive, Table, Tape


class CornerCut(Table):
    """How a corner is taken off: by a radius or a clip (one leg, or [along the front or back edge, along the end])."""

    one_of = ("radius", "clip")

    radius: Positive | None = None
    clip: (
        Annotated[
            Annotated[Positive, Tag("one")] | Annotated[tuple[Positive, Positive], Tag("two")],
            Discriminator(lambda v: "two" if isinstance(v, list | tuple) else "one"),
        ]
        | None
    ) = None


class InsideCut(Table):
    """The front's inside corner of a run: a diagonal, so far back along each leg, or a radius."""

    one_of = ("diagonal", "radius")

    diagonal: Positive | None = None
    radius: Positive | None = None


BoxCorner = Literal["front left", "front right", "back left", "back right"]
EndKind = Literal["wall", "exposed", "appliance", "panel"]
ByWall = Annotated[
    Annotated[Positive, Tag("one")] | Annotated[dict[str, Positive], Tag("by wall")],
    Discriminator(lambda v: "by wall" if isinstance(v, dict) else "one"),
]
BySide = Annotated[
    Annotated[NotNegative, Tag("one")] | Annotated[dict[str, NotNegative], Tag("by side")],
    Discriminator(lambda v: "by side" if isinstance(v, dict) else "one"),
]


class AnyTop(Table):
    """What the three shapes of a top share."""

    name: Name
    height: Positive | None = None
    below: Literal["cabinets", "frame", "solid deck"] = "cabinets"
    seats: Annotated[int, Field(ge=0, le=100)] = 0


class RunTop(AnyTop):
    """[[top]] along walls. ``start`` is a station on the first wall, ``end`` on the last; None: its length."""

    along: Annotated[tuple[Name, ...], Field(min_length=1)]
    depth: ByWall
    depth_from: Literal["wall", "top back"] = "wall"
    start: Tape = ZERO
    end: Positive | None = None
    left_end: EndKind | None = None
    right_end: EndKind | None = None
    cabinet_depth: Positive
    back_overhang: NotNegative = ZERO
    left_overhang: NotNegative = ZERO
    right_overhang: NotNegative = ZERO
    back: Literal["straight", "scribe", "follow"] = "straight"
    scribe: NotNegative | None = None
    splash: BySide = ZERO
    splash_thickness: Positive
    corners: dict[BoxCorner, CornerCut] = Field(default_factory=dict)
    inside: dict[str, InsideCut] = Field(default_factory=dict)


class Notch(Table):
    """[[notch]]: a chase, pilaster or post in the back of a run; ``gap`` left out: the shop's wall_gap."""

    top: Name
    wall: Name
    at: Tape
    width: Positive
    depth: Positive
    gap: NotNegative | None = None
    from_: Annotated[Hand, Field(alias="from")] = "left"


class Overhangs(Table):
    """How far a rectangle stands beyond its cabinets, by side."""

    front: NotNegative = ZERO
    back: NotNegative = ZERO
    left: NotNegative = ZERO
    right: NotNegative = ZERO


class RectTop(AnyTop):
    """[[top]], a rectangle: ``size`` finished, along the grain and across, or ``base`` with overhangs that make it."""

    one_of = ("size", "base")

    size: tuple[Positive, Positive] | None = None
    base: tuple[Positive, Positive] | None = None
    overhang: Overhangs = Overhangs()
    corners: dict[BoxCorner, CornerCut] = Field(default_factory=dict)
    at: Pair | None = None
    turn: Degrees = 0.0


class OutlineTop(AnyTop):
    """[[top]], any outline, counter-clockwise; edges and points are numbered from 1."""

    outline: Annotated[tuple[Pair, ...], Field(min_length=3)]
    rise: dict[str, Tape] = Field(default_factory=dict)
    corners: dict[str, CornerCut] = Field(default_factory=dict)
    grain: Degrees = 0.0
    support: Annotated[tuple[Pair, ...], Field(min_length=3)] | None = None
    at: Pair | None = None
    turn: Degrees = 0.0


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
