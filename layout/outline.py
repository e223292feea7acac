"""Rings whose arcs stay arcs: vertices with a bulge, in millimetres, counter-clockwise round wood.

An edge runs from a vertex to the next. Its ``bulge`` is tan(sweep / 4), positive counter-clockwise, and its ``side`` names
what it is ("A front", "left", "J"). Every cut, corner and subtraction here is computed on the arc itself; shapely
(`region.py`) sees flattened copies only.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

SAME = 1e-6
"""Two points nearer than this (mm) are one point."""

Point = tuple[float, float]


class Vertex(NamedTuple):
    """A point in mm, with the bulge and the side of the edge that leaves it."""

    x: float
    y: float
    bulge: float = 0.0
    side: str = ""

    @property
    def at(self) -> Point:
        """The point itself."""
        return (self.x, self.y)


class Arc(NamedTuple):
    """A circular arc: centre and radius in mm, start angle and signed sweep in radians (counter-clockwise positive)."""

    cx: float
    cy: float
    radius: float
    start: float
    sweep: float

    def point(self, t: float) -> Point:
        """Return the point at the share ``t`` of the arc."""
        angle = self.start + self.sweep * t
        return (self.cx + self.radius * math.cos(angle), self.cy + self.radius * math.sin(angle))

    def points(self, parts: int) -> list[Point]:
        """Return the points that part the arc into so many equal parts, its ends with them."""
        (cx, cy, radius, start, sweep), cos, sin = self, math.cos, math.sin
        angles = [start + sweep * (k / parts) for k in range(parts + 1)]
        return [(cx + radius * cos(angle), cy + radius * sin(angle)) for angle in angles]

    def share(self, point: Point) -> float:
        """Return where the ray from the centre through ``point`` meets the arc, as a share; outside [0, 1] if it does not."""
        angle = math.atan2(point[1] - self.cy, point[0] - self.cx) - self.start
        turn = math.copysign(2 * math.pi, self.sweep)
        share = math.fmod(angle, turn) / self.sweep
        full = 2 * math.pi / abs(self.sweep)
        if share < 0:
            share += full
        # a start point read a hair early comes out as nearly a full turn
        return share - full if share > full - 1e-9 else share


def arc_of(a: Vertex, b: Vertex) -> Arc | None:
    """Return the arc from ``a`` to ``b``, or None where the edge is straight."""
    if a.bulge == 0.0:
        return None
    cx, cy, radius = circle_of(a, b)
    return Arc(cx, cy, radius, math.atan2(a.y - cy, a.x - cx), 4.0 * math.atan(a.bulge))


def circle_of(a: Vertex, b: Vertex) -> tuple[float, float, float]:
    """Return the circle (centre and radius, mm) that the edge from ``a`` to ``b`` lies on; its bulge may not be 0."""
    dx, dy = b.x - a.x, b.y - a.y
    k = (1.0 / a.bulge - a.bulge) / 4.0
    cx, cy = (a.x + b.x) / 2.0 - k * dy, (a.y + b.y) / 2.0 + k * dx
    return (cx, cy, math.hypot(dx, dy) * (1.0 + a.bulge**2) / (4.0 * abs(a.bulge)))


def edge_point(a: Vertex, b: Vertex, t: float) -> Point:
    """Return the point at the share ``t`` of the edge from ``a`` to ``b``."""
    arc = arc_of(a, b)
    if arc is not None:
        return arc.point(t)
    return (a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t)


def edge_heading(a: Vertex, b: Vertex, t: float) -> float:
    """Return the direction of travel (radians) at the share ``t`` of the edge."""
    arc = arc_of(a, b)
    if arc is None:
        return math.atan2(b.y - a.y, b.x - a.x)
    return arc.start + arc.sweep * t + math.copysign(math.pi / 2, arc.sweep)


def edge_length(a: Vertex, b: Vertex) -> float:
    """Return the length of the edge, along its arc where it has one."""
    arc = arc_of(a, b)
    return math.dist(a.at, b.at) if arc is None else arc.radius * abs(arc.sweep)


@dataclass(frozen=True, slots=True)
class Frame:
    """A frame in plan: its origin (mm) and the direction of its x axis (radians)."""

    x: float = 0.0
    y: float = 0.0
    angle: float = 0.0

    def to_plan(self, point: Point) -> Point:
        """Return a point of this frame in plan."""
        c, s = math.cos(self.angle), math.sin(self.angle)
        return (self.x + c * point[0] - s * point[1], self.y + s * point[0] + c * point[1])

    def from_plan(self, point: Point) -> Point:
        """Return a point of the plan in this frame."""
        c, s = math.cos(self.angle), math.sin(self.angle)
        dx, dy = point[0] - self.x, point[1] - self.y
        return (c * dx + s * dy, -s * dx + c * dy)


_QUARTER = math.pi / 2
_QUARTERS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))
"""Cosine and sine of where a circle has its least and greatest x and y."""


@dataclass(frozen=True, slots=True)
class Ring:
    """A closed outline."""

    vertices: tuple[Vertex, ...]

    def edges(self) -> Iterator[tuple[Vertex, Vertex]]:
        """Yield each edge as its two end vertices."""
        v = self.vertices
        return zip(v, v[1:] + v[:1], strict=True)

    @property
    def area(self) -> float:
        """Signed area in mm2, positive counter-clockwise; exact for arcs."""
        ox, oy = self.vertices[0].at
        total = 0.0
        for a, b in self.edges():
            total += (a.x - ox) * (b.y - oy) - (b.x - ox) * (a.y - oy)
            arc = arc_of(a, b)
            if arc is not None:
                total += arc.radius**2 * (arc.sweep - math.sin(arc.sweep))
        return total / 2.0

    @property
    def points(self) -> tuple[Point, ...]:
        """The vertices as points."""
        return tuple(v.at for v in self.vertices)

    def moved(self, place: Callable[[Point], Point]) -> Ring:
        """Return the ring with each vertex moved by a turn and shift (no mirror: bulges keep their sign)."""
        return Ring(tuple([Vertex(*place((x, y)), bulge, side) for x, y, bulge, side in self.vertices]))

    def bounds(self, frame: Frame | None = None) -> tuple[float, float, float, float]:
        """Return (least x, least y, greatest x, greatest y) in ``frame`` (plan if None), exact for arcs."""
        ring = self if frame is None else self.moved(frame.from_plan)
        xs = [v.x for v in ring.vertices]
        ys = [v.y for v in ring.vertices]
        for a, b in ring.edges():
            if not a.bulge:
                continue
            cx, cy, radius = circle_of(a, b)
            start, sweep = math.atan2(a.y - cy, a.x - cx), 4.0 * math.atan(a.bulge)
            low, high = sorted((start, start + sweep))
            for quarter in range(math.ceil(low / _QUARTER), math.floor(high / _QUARTER) + 1):
                c, s = _QUARTERS[quarter % 4]
                xs.append(cx + radius * c)
                ys.append(cy + radius * s)
        return (min(xs), min(ys), max(xs), max(ys))

    def flattened(self, sagitta: float = 0.002) -> list[Point]:
        """Return points with arcs as chords that stray at most ``sagitta`` mm from them."""
        out: list[Point] = []
        for a, b in self.edges():
            out.append(a.at)
            arc = arc_of(a, b) if a.bulge else None
            if arc is not None:
                step = 2.0 * math.acos(max(0.0, 1.0 - sagitta / arc.radius))
                n = max(2, math.ceil(abs(arc.sweep) / step))
                out += arc.points(n)[1:-1]
        return out

    def contains(self, point: Point) -> bool:
        """Return whether the point lies inside (undefined within rounding of the boundary)."""
        return self._winding(point) != 0

    def _winding(self, point: Point) -> int:
        px, py = point
        winding = 0
        # not by `edges`: this is asked more than anything
        b = self.vertices[-1]
        for next_one in self.vertices:
            a, b = b, next_one
            up, down = a.y <= py < b.y, b.y <= py < a.y
            if not (up or down or a.bulge):
                continue
            cross = (b.x - a.x) * (py - a.y) - (px - a.x) * (b.y - a.y)
            if up and cross > 0:
                winding += 1
            elif down and cross < 0:
                winding -= 1
            if cross == 0.0:
                # on the chord: as if the point lay a hair up and, less, to the right, as the tests above have it
                cross = (b.x - a.x) or (a.y - b.y)
            # an arc adds (or takes) the segment between it and its chord, which lies right of a counter-clockwise one
            if cross * a.bulge < 0 and _may_hold(a, b, px, py):
                cx, cy, radius = circle_of(a, b)
                if math.hypot(px - cx, py - cy) < radius:
                    winding += 1 if a.bulge > 0 else -1
        return winding

    def side_length(self, side: str) -> float:
        """Return the summed length of the edges of ``side``."""
        return sum(edge_length(a, b) for a, b in self.edges() if a.side == side)

    def sides(self) -> tuple[str, ...]:
        """Return the sides in order, each once."""
        return tuple(dict.fromkeys(v.side for v in self.vertices))

    def clean(self) -> Ring:
        """Return the ring without zero-length edges and without vertices in the middle of a straight line."""
        v = [a for a, b in self.edges() if math.dist(a.at, b.at) > SAME]
        changed = True
        while changed and len(v) > 2:
            changed = False
            for i in range(len(v)):
                a, b, c = v[i - 1], v[i], v[(i + 1) % len(v)]
                if a.bulge or b.bulge:
                    continue
                ux, uy, wx, wy = b.x - a.x, b.y - a.y, c.x - b.x, c.y - b.y
                reach = math.hypot(c.x - a.x, c.y - a.y)
                if ux * wx + uy * wy > 0 and abs(ux * wy - uy * wx) <= SAME * max(reach, SAME):
                    del v[i]
                    changed = True
                    break
        return Ring(tuple(v))


def _may_hold(a: Vertex, b: Vertex, x: float, y: float) -> bool:
    """Return whether a point can lie between an arc and its chord: no point there is further from the chord's middle than half
    the chord, or than the arc's rise where that is more."""
    reach = (abs(b.x - a.x) + abs(b.y - a.y)) * max(1.0, abs(a.bulge)) / 2.0
    return abs(x - (a.x + b.x) / 2.0) <= reach and abs(y - (a.y + b.y) / 2.0) <= reach


def rectangle(x0: float, y0: float, x1: float, y1: float, sides: Sequence[str] = ("", "", "", "")) -> Ring:
    """Return a rectangle; ``sides`` name its front, right, back and left edges."""
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    return Ring(tuple(Vertex(x, y, 0.0, s) for (x, y), s in zip(corners, sides, strict=True)))


def circle(x: float, y: float, radius: float, side: str = "") -> Ring:
    """Return a circle as two half-circle arcs."""
    return Ring((Vertex(x - radius, y, 1.0, side), Vertex(x + radius, y, 1.0, side)))


def polygon_ring(points: Iterable[Point], side: str = "") -> Ring:
    """Return straight edges through ``points``."""
    return Ring(tuple(Vertex(x, y, 0.0, side) for x, y in points))


# --- lines ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Line:
    """An endless line: a point and a unit direction."""

    x: float
    y: float
    dx: float
    dy: float

    def offset_right(self, distance: float) -> Line:
        """Return the line moved to the right of its direction (into the room, for a wall)."""
        return Line(self.x + self.dy * distance, self.y - self.dx * distance, self.dx, self.dy)

    def point(self, along: float) -> Point:
        """Return the point ``along`` mm from the line's own."""
        return (self.x + self.dx * along, self.y + self.dy * along)

    def along(self, point: Point) -> float:
        """Return how far along the line the foot of ``point`` lies."""
        return (point[0] - self.x) * self.dx + (point[1] - self.y) * self.dy

    def left_of(self, point: Point) -> float:
        """Return how far ``point`` lies to the left of the line; negative: to its right."""
        return (point[1] - self.y) * self.dx - (point[0] - self.x) * self.dy

    def meets(self, other: Line) -> Point | None:
        """Return where the two lines cross; None if they are parallel to within 1e-9 rad."""
        cross = self.dx * other.dy - self.dy * other.dx
        if abs(cross) < 1e-9:
            return None
        t = ((other.x - self.x) * other.dy - (other.y - self.y) * other.dx) / cross
        return self.point(t)
