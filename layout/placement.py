"""Finding room on paper: what is drawn already, and where the next text, mark or dimension can go.

All coordinates here are paper millimetres in a view's own frame (model mm times scale). A scene remembers boxes (texts
and marks), hard lines (outlines, which no text may touch), soft lines (better not), dimension lines and extension lines.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from operator import attrgetter
from typing import Generic, NamedTuple, TypeVar

from layout.drawing import Anchor
from layout.lettering import ASCENT, DESCENT, text_width
from layout.outline import Point

Stroke = tuple[Point, Point]
Bounds = tuple[float, float, float, float]
Thing = TypeVar("Thing")
CLEAR = 0.6
"""Clear space (mm) kept round texts."""


class Box(NamedTuple):
    """A turned rectangle: centre, half its length along ``angle`` (radians), half its height."""

    x: float
    y: float
    along: float
    across: float
    angle: float = 0.0

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """Its four corners."""
        c, s = math.cos(self.angle), math.sin(self.angle)
        ax, ay, bx, by = self.along * c, self.along * s, -self.across * s, self.across * c
        return (
            (self.x - ax - bx, self.y - ay - by),
            (self.x + ax - bx, self.y + ay - by),
            (self.x + ax + bx, self.y + ay + by),
            (self.x - ax + bx, self.y - ay + by),
        )

    @property
    def radius(self) -> float:
        """The radius of the circle round it."""
        return math.hypot(self.along, self.across)

    @property
    def bounds(self) -> Bounds:
        """The upright rectangle round it: least x and y, greatest x and y."""
        x, y, along, across, angle = self
        if angle:
            c, s = abs(math.cos(angle)), abs(math.sin(angle))
            along, across = along * c + across * s, along * s + across * c
        return (x - along, y - across, x + along, y + across)

    def grown(self, by: float) -> Box:
        """Return the box with ``by`` more on every side."""
        return Box(self.x, self.y, self.along + by, self.across + by, self.angle)

    def holds(self, p: Point) -> bool:
        """Return whether a point lies in the box."""
        c, s = math.cos(self.angle), math.sin(self.angle)
        dx, dy = p[0] - self.x, p[1] - self.y
        return abs(dx * c + dy * s) <= self.along and abs(-dx * s + dy * c) <= self.across

    def meets(self, other: Box) -> bool:
        """Return whether two boxes overlap (separating axes)."""
        dx, dy = other.x - self.x, other.y - self.y
        # most boxes are far off
        far = self.along + self.across + other.along + other.across
        if abs(dx) > far or abs(dy) > far:
            return False
        if self.angle == other.angle:
            c, s = math.cos(self.angle), math.sin(self.angle)
            beside, above = abs(dx * c + dy * s), abs(dy * c - dx * s)
            return beside < self.along + other.along and above < self.across + other.across
        if math.hypot(dx, dy) >= self.radius + other.radius:
            return False
        for angle in (self.angle, self.angle + math.pi / 2, other.angle, other.angle + math.pi / 2):
            c, s = math.cos(angle), math.sin(angle)
            reach = sum(
                b.along * abs(math.cos(angle - b.angle)) + b.across * abs(math.sin(angle - b.angle))
                for b in (self, other)
            )
            if abs(dx * c + dy * s) >= reach:
                return False
        return True

    def cut_by(self, stroke: Stroke) -> bool:
        """Return whether a stroke runs through the box."""
        (x0, y0), (x1, y1) = stroke
        # most strokes are far off
        left, below, right, above = self.bounds
        if (x0 > right and x1 > right) or (x0 < left and x1 < left):
            return False
        if (y0 > above and y1 > above) or (y0 < below and y1 < below):
            return False
        c, s = math.cos(self.angle), math.sin(self.angle)
        ax, ay = (x0 - self.x) * c + (y0 - self.y) * s, -(x0 - self.x) * s + (y0 - self.y) * c
        bx, by = (x1 - self.x) * c + (y1 - self.y) * s, -(x1 - self.x) * s + (y1 - self.y) * c
        low, high = 0.0, 1.0
        for p, d, half in ((ax, bx - ax, self.along), (ay, by - ay, self.across)):
            if abs(d) < 1e-12:
                if abs(p) >= half:
                    return False
                continue
            t0, t1 = sorted(((-half - p) / d, (half - p) / d))
            low, high = max(low, t0), min(high, t1)
            if low >= high:
                return False
        return True


def text_box(
    at: Point, text: str, height: float, anchor: Anchor = "start", angle: float = 0.0, bold: bool = False
) -> Box:
    """Return the box of a text, from its descenders to its ascenders. ``angle`` in degrees."""
    width = text_width(text, height, bold)
    turn = math.radians(angle)
    c, s = math.cos(turn), math.sin(turn)
    shift = {"start": width / 2, "middle": 0.0, "end": -width / 2}[anchor]
    low, high = -DESCENT * height, ASCENT * height
    middle = (low + high) / 2
    return Box(at[0] + shift * c - middle * s, at[1] + shift * s + middle * c, width / 2, (high - low) / 2, turn)


def strokes_cross(a: Stroke, b: Stroke, touch: bool = False) -> bool:
    """Return whether two strokes cross or lie over one another by more than a touch at their ends, or ``touch`` too."""
    (ax, ay), (bx, by) = a
    (cx, cy), (dx, dy) = b
    if max(ax, bx) < min(cx, dx) - 0.1 or max(cx, dx) < min(ax, bx) - 0.1:
        return False
    if max(ay, by) < min(cy, dy) - 0.1 or max(cy, dy) < min(ay, by) - 0.1:
        return False
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    cross = ux * vy - uy * vx
    la, lb = math.hypot(ux, uy), math.hypot(vx, vy)
    if la < 1e-9 or lb < 1e-9:
        return False
    if abs(cross) < 1e-6 * la * lb:
        off = ((cx - ax) * uy - (cy - ay) * ux) / la
        if abs(off) > 0.2:
            return False
        s0, s1 = sorted((((cx - ax) * ux + (cy - ay) * uy) / la, ((dx - ax) * ux + (dy - ay) * uy) / la))
        return min(la, s1) - max(0.0, s0) > 0.2
    t = ((cx - ax) * vy - (cy - ay) * vx) / cross
    u = ((cx - ax) * uy - (cy - ay) * ux) / cross
    hair = -0.05 if touch else 0.05
    hair_a, hair_b = hair / la, hair / lb
    return hair_a < t < 1 - hair_a and hair_b < u < 1 - hair_b


_CELL = 25.0
"""The side of a cell of the index of what lies where, paper mm."""
_FEW, _MOST_CELLS = 64, 100
"""So few things are looked through one by one; what takes more cells than this counts as lying everywhere."""


def _round_stroke(stroke: Stroke) -> Bounds:
    (x0, y0), (x1, y1) = stroke
    # strokes that miss each other by less count as touching
    return (min(x0, x1) - 0.2, min(y0, y1) - 0.2, max(x0, x1) + 0.2, max(y0, y1) + 0.2)


class _Where(Generic[Thing]):
    """Where the things of a growing list lie, so that on a crowded sheet a question goes to those near by."""

    def __init__(self, things: list[Thing], bounds: Callable[[Thing], Bounds]) -> None:
        self.things, self.bounds = things, bounds
        self.known = 0
        self.cells: dict[tuple[int, int], list[int]] = {}
        self.everywhere: list[int] = []

    def near(self, bounds: Bounds) -> Sequence[Thing]:
        """Return all things whose bounds meet these, and some others, in the order of the list."""
        if len(self.things) <= _FEW:
            return self.things
        for n in range(self.known, len(self.things)):
            cells = _cells(self.bounds(self.things[n]))
            if cells is None:
                self.everywhere.append(n)
            for cell in cells or ():
                self.cells.setdefault(cell, []).append(n)
        self.known = len(self.things)
        cells = _cells(bounds)
        if cells is None:
            return self.things
        found = {n for cell in cells for n in self.cells.get(cell, ())}
        return [self.things[n] for n in sorted(found.union(self.everywhere))]


def _cells(bounds: Bounds) -> list[tuple[int, int]] | None:
    """Return the cells that a rectangle touches; None if they are too many, or it is not finite."""
    left, below, right, above = bounds
    if not math.isfinite(left + below + right + above):
        return None
    x0, y0 = math.floor(left / _CELL), math.floor(below / _CELL)
    x1, y1 = math.floor(right / _CELL), math.floor(above / _CELL)
    if (x1 - x0 + 1) * (y1 - y0 + 1) > _MOST_CELLS:
        return None
    return [(x, y) for x in range(x0, x1 + 1) for y in range(y0, y1 + 1)]


def _about(bounds: Bounds, strokes: Sequence[Stroke]) -> Iterator[Stroke]:
    """Yield the strokes that do not lie wholly on one side of a rectangle: most do, and this is asked more than anything."""
    left, low, right, high = bounds
    for stroke in strokes:
        (x0, y0), (x1, y1) = stroke
        if not (
            (x0 > right and x1 > right)
            or (x0 < left and x1 < left)
            or (y0 > high and y1 > high)
            or (y0 < low and y1 < low)
        ):
            yield stroke


@dataclass
class Scene:
    """What is drawn so far in one view. Filled by the view builders while they draw, and thrown away after."""

    boxes: list[Box] = field(default_factory=list)
    hard: list[Stroke] = field(default_factory=list)
    soft: list[Stroke] = field(default_factory=list)
    lines: list[Stroke] = field(default_factory=list)
    extensions: list[Stroke] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Set up where things lie; the lists only ever grow."""
        self._boxes = _Where(self.boxes, attrgetter("bounds"))
        self._hard, self._soft, self._lines, self._extensions = (
            _Where(strokes, _round_stroke) for strokes in (self.hard, self.soft, self.lines, self.extensions)
        )

    def free(self, box: Box, clear: float = CLEAR) -> bool:
        """Return whether a text or mark may stand there: on no text, outline or dimension line."""
        grown = box.grown(clear)
        round_it = grown.bounds
        # in loops and not by `any`: this is asked more than anything
        for other in self._boxes.near(round_it):
            if grown.meets(other):
                return False
        for strokes in (self._hard, self._lines):
            for stroke in _about(round_it, strokes.near(round_it)):
                if grown.cut_by(stroke):
                    return False
        return True

    def crossed(self, box: Box) -> int:
        """Return how many soft and extension lines run through the box."""
        round_it = box.bounds
        soft, extensions = (_about(round_it, of.near(round_it)) for of in (self._soft, self._extensions))
        return sum(box.cut_by(s) for s in soft) + 2 * sum(box.cut_by(s) for s in extensions)

    def best(
        self, boxes: Iterable[Box], clear: float = CLEAR, leader_to: Point | None = None
    ) -> tuple[int, Box] | None:
        """Return which of the boxes, in order of liking, is free and crossed least, and its number; None if none is free.

        No more of them are asked for than it takes. ``leader_to``: a leader will run there from the box; over a text it
        may not.
        """
        choice: tuple[float, int, Box] | None = None
        for k, box in enumerate(boxes):
            if not self.free(box, clear):
                continue
            cost = 8.0 * self.crossed(box) + 0.15 * k
            if leader_to is not None:
                stroke = ((box.x, box.y), leader_to)
                round_it = _round_stroke(stroke)
                if any(b.cut_by(stroke) and not b.holds(leader_to) for b in self._boxes.near(round_it)):
                    continue
                cost += 3.0 * sum(strokes_cross(stroke, s) for s in self._lines.near(round_it))
            if choice is None or cost < choice[0]:
                choice = (cost, k, box)
            if cost <= 0.15 * k:
                break
        return None if choice is None else choice[1:]

    def lettered(self, stroke: Stroke) -> bool:
        """Return whether a stroke would run through a text or mark."""
        return any(b.cut_by(stroke) for b in self._boxes.near(_round_stroke(stroke)))

    def stroke_cost(self, stroke: Stroke, extension: bool = False) -> float:
        """Return what a dimension line or extension line costs there; infinite where it may not be."""
        round_it = _round_stroke(stroke)
        lines = self._lines.near(round_it)
        if self.lettered(stroke):
            return 40.0 if extension else math.inf
        if extension:
            return 6.0 * sum(strokes_cross(stroke, s) for s in lines)
        if any(strokes_cross(stroke, s, touch=True) for s in lines):
            return math.inf
        return 4.0 * sum(strokes_cross(stroke, s) for s in self._extensions.near(round_it)) + 6.0 * sum(
            strokes_cross(stroke, s) for s in self._hard.near(round_it)
        )


UPRIGHT = 75.0
"""A text turned further than this clockwise is read from the right instead, degrees."""


def readable(angle: float) -> float:
    """Return a text's angle (degrees) turned so that it reads from the bottom or the right."""
    return (angle + UPRIGHT) % 180.0 - UPRIGHT


def around(at: Point, distances: Sequence[float], directions: int = 16, start: float = math.pi / 4) -> list[Point]:
    """Return points round ``at``, nearest ring first."""
    angles = [start + 2 * math.pi * k / directions for k in range(directions)]
    ways = [(math.cos(angle), math.sin(angle)) for angle in angles]
    return [(at[0] + d * c, at[1] + d * s) for d in distances for c, s in ways]
