"""What a top is in plan: its outline, legs, corners and sides, and how corners are taken off.

A leg is what follows one grain direction along one wall; its frame has x along the wall (left to right as one faces it)
and y towards the back, with the wall's straight line at y = 0. Rectangles and outlines are one leg with y = 0 in front.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from layout import region
from layout.cutting import CornerShape, with_corners
from layout.faults import PlaceError
from layout.job_tops import BoxCorner, CornerCut, EndKind
from layout.outline import Frame, Line, Point, Ring
from layout.room import PlacedWall

SideKind = Literal["front", "back", "end", "step", "corner", "opening", "joint"]


STRAIGHT = 1e-7
"""Corners within this of 180 degrees (rad) are straight on."""


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a top: what it is, whether it is free (exposed: profiled, and able to overhang), and its wall."""

    name: str
    kind: SideKind
    free: bool
    wall: str | None = None
    end: EndKind | None = None


@dataclass(frozen=True, slots=True)
class Leg:
    """A part of a top with one grain direction. ``back`` and ``front`` are y of its edges, ``start`` and ``end`` x of it.

    ``followed``: (x, y) along a back edge that follows its bowed wall, left to right; empty where the back is straight.
    """

    frame: Frame
    back: float
    front: float
    start: float
    end: float
    wall: PlacedWall | None = None
    followed: tuple[Point, ...] = ()

    @property
    def grain(self) -> float:
        """Grain direction in plan, degrees in [0, 180)."""
        return round(math.degrees(self.frame.angle), 9) % 180.0

    def line(self, y: float) -> Line:
        """Return the line at ``y``, in the leg's direction."""
        x0, y0 = self.frame.to_plan((0.0, y))
        return Line(x0, y0, math.cos(self.frame.angle), math.sin(self.frame.angle))

    def back_line(self, station: float) -> Line:
        """Return the line of the back edge at ``station``, in the leg's direction."""
        if not self.followed:
            return self.line(self.back)
        pairs = list(pairwise(self.followed))
        p, q = next((pair for pair in pairs if station <= pair[1][0]), pairs[-1])
        (x0, y0), (x1, y1) = self.frame.to_plan(p), self.frame.to_plan(q)
        length = math.dist(p, q)
        return Line(x0, y0, (x1 - x0) / length, (y1 - y0) / length)

    def back_at(self, station: float) -> float:
        """Return y of the back edge at ``station``."""
        line = self.back_line(station)
        meet = line.meets(self.across(station))
        return self.back if meet is None else self.frame.from_plan(meet)[1]

    def across(self, station: float) -> Line:
        """Return the line square to the leg at ``station``, from back to front."""
        x0, y0 = self.frame.to_plan((station, 0.0))
        return Line(x0, y0, math.sin(self.frame.angle), -math.cos(self.frame.angle))


@dataclass(frozen=True, slots=True)
class CornerPoint:
    """Where two legs of a run meet: back and front corner in plan, the inside angle (degrees), straight on or not."""

    back: Point
    front: Point
    angle: float
    straight: bool


@dataclass(frozen=True, slots=True)
class TopPlan:
    """A top in plan: its ring (counter-clockwise, edges named by side), legs left to right, and the corners between."""

    name: str
    shape: Literal["run", "rectangle", "outline"]
    index: int
    ring: Ring
    legs: tuple[Leg, ...]
    corners: tuple[CornerPoint, ...]
    sides: dict[str, Side]
    frame: Frame
    built: Ring | None
    """What is built below it, before its supports; None: carried everywhere (an outline without ``support``)."""
    crossed: bool = False
    """The legs run into one another; the ring is then their union, and no corner can be divided."""

    def leg(self, wall: str | None) -> Leg:
        """Return the leg along ``wall``, or the only leg of a rectangle or an outline."""
        return next(leg for leg in self.legs if wall is None or (leg.wall is not None and leg.wall.name == wall))


def corner_sides() -> list[Side]:
    """Return the sides that corners of a box have when they are taken off."""
    names: tuple[BoxCorner, ...] = ("front left", "front right", "back left", "back right")
    return [Side(name, "corner", True) for name in names]


def corner_shape(name: BoxCorner, cut: CornerCut) -> CornerShape:
    """Return a box corner's cut; walking counter-clockwise the end comes before front left and back right corners."""
    if cut.radius is not None:
        return CornerShape(radius=float(cut.radius))
    assert cut.clip is not None
    along, end = (float(c) for c in (cut.clip if isinstance(cut.clip, tuple) else (cut.clip, cut.clip)))
    if name in ("front left", "back right"):
        return CornerShape(before=end, after=along)
    return CornerShape(before=along, after=end)


def cornered(ring: Ring, shapes: Mapping[int, tuple[CornerShape, str]], path: tuple[str | int, ...]) -> Ring:
    """Return a ring with corners taken off, by the number of their vertex. Raises PlaceError at ``path`` where one has no room."""
    if not shapes:
        return ring
    try:
        cut = with_corners(ring, shapes)
    except ValueError as error:
        raise PlaceError(path, str(error), "corners that fit the sides they lie on") from error
    if not region.is_simple(cut):
        raise PlaceError(path, "a corner that runs through another side", "corners that fit the sides they lie on")
    return cut


def side_words(side: str) -> str:
    """Return a side's name in words: an outline's edges by number, a run's inside corner as its front's."""
    if side.endswith(" inside"):
        return f"{side.removesuffix(' inside')} corner front"
    return f"edge {side}" if side.isdigit() else side
