"""The strokes that a cut file is made of, lines and arcs in mm, and where two of them meet, cross or lie on one another.

For the lint alone: it shares no geometry with what made the file, so that a fault there is not repeated here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

Point = tuple[float, float]
Box = tuple[float, float, float, float]

NEAR = 0.01
"""Strokes that keep nearer than this (mm) along a way longer than this lie on one another."""
TOUCH = 1e-6
"""Strokes nearer than this (mm) touch."""
_CORNER = 0.005
"""Neighbours touch where they join; only farther from there (mm) is a touch a fault."""


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc: centre and radius in mm, start and sweep in radians, counter-clockwise positive."""

    cx: float
    cy: float
    radius: float
    start: float
    sweep: float

    def point(self, share: float) -> Point:
        """Return the point at a share of the arc."""
        angle = self.start + self.sweep * share
        return (self.cx + self.radius * math.cos(angle), self.cy + self.radius * math.sin(angle))

    def share(self, x: float, y: float) -> float:
        """Return where the ray from the centre through a point meets the arc, as a share; beyond [0, 1] if it does not."""
        turn = (math.atan2(y - self.cy, x - self.cx) - self.start) * math.copysign(1.0, self.sweep) % math.tau
        size = abs(self.sweep)
        # of the two ways round to a point beyond the arc, the shorter one
        return (turn if turn <= size or turn - size <= math.tau - turn else turn - math.tau) / size


@dataclass(frozen=True, slots=True)
class Stroke:
    """One line or arc of a cut, from its start to its end, mm, on a layer; `box` is exact for arcs."""

    layer: str
    x0: float
    y0: float
    x1: float
    y1: float
    arc: Arc | None
    box: Box

    @staticmethod
    def line(layer: str, a: Point, b: Point) -> Stroke:
        """Return a straight stroke."""
        box = (min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))
        return Stroke(layer, *a, *b, None, box)

    @staticmethod
    def of_arc(layer: str, arc: Arc, ends: tuple[Point, Point] | None = None) -> Stroke:
        """Return an arc as a stroke; its ends are as given, or as the arc has them."""
        a, b = ends or (arc.point(0.0), arc.point(1.0))
        xs, ys = [a[0], b[0]], [a[1], b[1]]
        for x, y in ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)):
            far = (arc.cx + arc.radius * x, arc.cy + arc.radius * y)
            if 0.0 < arc.share(*far) < 1.0:
                xs.append(far[0])
                ys.append(far[1])
        return Stroke(layer, *a, *b, arc, (min(xs), min(ys), max(xs), max(ys)))

    @staticmethod
    def of_bulge(layer: str, a: Point, b: Point, bulge: float) -> Stroke:
        """Return the edge of a polyline: its bulge is tan of a quarter of the arc's sweep."""
        chord = math.dist(a, b)
        if bulge == 0.0 or chord == 0.0:
            return Stroke.line(layer, a, b)
        sweep = 4.0 * math.atan(bulge)
        radius = chord / (2.0 * math.sin(abs(sweep) / 2.0))
        # from the middle of the chord to the centre, to the left of the way for a small turn to the left
        off = chord / (2.0 * math.tan(sweep / 2.0)) / chord
        cx = (a[0] + b[0]) / 2.0 - (b[1] - a[1]) * off
        cy = (a[1] + b[1]) / 2.0 + (b[0] - a[0]) * off
        return Stroke.of_arc(layer, Arc(cx, cy, radius, math.atan2(a[1] - cy, a[0] - cx), sweep), (a, b))

    @property
    def length(self) -> float:
        """Its length in mm, along an arc."""
        if self.arc is not None:
            return self.arc.radius * abs(self.arc.sweep)
        return math.hypot(self.x1 - self.x0, self.y1 - self.y0)

    def end(self, at: int) -> Point:
        """Return its start (0) or its end (1)."""
        return (self.x1, self.y1) if at else (self.x0, self.y0)

    def reversed(self) -> Stroke:
        """Return the stroke run the other way."""
        arc = self.arc
        back = arc and replace(arc, start=arc.start + arc.sweep, sweep=-arc.sweep)
        return replace(self, x0=self.x1, y0=self.y1, x1=self.x0, y1=self.y0, arc=back)

    def point(self, share: float) -> Point:
        """Return the point at a share of its length."""
        if self.arc is not None:
            return self.arc.point(share)
        return (self.x0 + (self.x1 - self.x0) * share, self.y0 + (self.y1 - self.y0) * share)

    def share(self, x: float, y: float) -> float:
        """Return the share at which the foot of a point lies; beyond [0, 1] where it lies beyond the ends."""
        if self.arc is not None:
            return self.arc.share(x, y)
        dx, dy = self.x1 - self.x0, self.y1 - self.y0
        return ((x - self.x0) * dx + (y - self.y0) * dy) / ((dx * dx + dy * dy) or 1.0)

    def gap(self, x: float, y: float) -> float:
        """Return the distance of a point from the stroke, mm."""
        share = self.share(x, y)
        if self.arc is not None and 0.0 <= share <= 1.0:
            return abs(math.hypot(x - self.arc.cx, y - self.arc.cy) - self.arc.radius)
        nearest = self.end(share > 0.5) if not 0.0 <= share <= 1.0 else self.point(share)
        return math.dist(nearest, (x, y))

    def seen_from(self, x: float, y: float) -> float:
        """Return the angle (radians, signed) that whoever stands at a point turns to follow the stroke."""
        ax, ay, bx, by = self.x0 - x, self.y0 - y, self.x1 - x, self.y1 - y
        if self.arc is not None and abs(self.arc.sweep) > math.pi:
            mx, my = self.arc.point(0.5)
            return self._half(ax, ay, mx - x, my - y, x, y) + self._half(mx - x, my - y, bx, by, x, y)
        return self._half(ax, ay, bx, by, x, y)

    def _half(self, ax: float, ay: float, bx: float, by: float, x: float, y: float) -> float:
        cross = ax * by - bx * ay
        turn = math.atan2(cross, ax * bx + ay * by)
        # between an arc and its chord the way round is the other one
        arc = self.arc
        if arc is not None and cross * arc.sweep < 0.0 and math.hypot(x - arc.cx, y - arc.cy) < arc.radius:
            turn += math.copysign(math.tau, arc.sweep)
        return turn


def overlap(a: Stroke, b: Stroke) -> tuple[Point, Point] | None:
    """Return from where to where two strokes lie on one another, or None."""
    shares = sorted(min(max(a.share(*b.end(at)), 0.0), 1.0) for at in (0, 1))
    if (shares[1] - shares[0]) * a.length <= NEAR:
        return None
    first, last = shares
    if any(b.gap(*a.point(first + (last - first) * k / 4.0)) > NEAR for k in range(5)):
        return None
    return a.point(first), a.point(last)


def contact(a: Stroke, b: Stroke, *, neighbours: bool) -> Point | None:
    """Return a point where two strokes that do not lie on one another cross or touch, or None.

    ``neighbours`` follow one another in a contour: where they join they may touch.
    """
    joined = [p for p in (a.end(0), a.end(1)) if min(math.dist(p, b.end(k)) for k in (0, 1)) <= _CORNER]
    if neighbours and joined:
        # a place other than the join is its mirror image, which stays exact where one runs smoothly into the other
        found: Iterator[Point] = (q for p in joined for q in _other_meeting(a, b, p))
    else:
        joined = []
        ends = [(b, a.end(0)), (b, a.end(1)), (a, b.end(0)), (a, b.end(1))]
        for stroke, p in ends:
            if stroke.gap(*p) <= TOUCH:
                return p
        found = _meetings(a, b)
    for p in found:
        if all(math.dist(p, q) > _CORNER for q in joined) and a.gap(*p) <= TOUCH and b.gap(*p) <= TOUCH:
            return p
    return None


def _other_meeting(a: Stroke, b: Stroke, p: Point) -> Iterator[Point]:
    """Yield the second point that two strokes' lines or circles share, the first being ``p``."""
    if a.arc is None:
        a, b = b, a
    if a.arc is None:
        return
    if b.arc is None:
        ux, uy = b.x1 - b.x0, b.y1 - b.y0
    else:
        # across the line of centres
        ux, uy = a.arc.cy - b.arc.cy, b.arc.cx - a.arc.cx
    size = math.hypot(ux, uy)
    if size > 0.0:
        along = 2.0 * ((a.arc.cx - p[0]) * ux + (a.arc.cy - p[1]) * uy) / size**2
        yield (p[0] + ux * along, p[1] + uy * along)


def _meetings(a: Stroke, b: Stroke) -> Iterator[Point]:
    """Yield where two strokes' endless lines or full circles cross."""
    if a.arc is None:
        a, b = b, a
    if a.arc is None:
        ux, uy, vx, vy = a.x1 - a.x0, a.y1 - a.y0, b.x1 - b.x0, b.y1 - b.y0
        cross = ux * vy - uy * vx
        if cross:
            share = ((b.x0 - a.x0) * vy - (b.y0 - a.y0) * vx) / cross
            yield a.point(share)
        return
    ax, ay, radius = a.arc.cx, a.arc.cy, a.arc.radius
    if b.arc is None:
        dx, dy = b.x1 - b.x0, b.y1 - b.y0
        size = math.hypot(dx, dy)
        if not size:
            return
        ux, uy = dx / size, dy / size
        along = (ax - b.x0) * ux + (ay - b.y0) * uy
        fx, fy = b.x0 + ux * along, b.y0 + uy * along
        away = math.hypot(ax - fx, ay - fy)
    else:
        ux, uy = b.arc.cx - ax, b.arc.cy - ay
        size = math.hypot(ux, uy)
        if not size:
            return
        along = (size**2 + radius**2 - b.arc.radius**2) / (2.0 * size)
        fx, fy = ax + ux / size * along, ay + uy / size * along
        ux, uy = -uy / size, ux / size
        away = abs(along)
    if away <= radius + TOUCH:
        half = math.sqrt(max((radius - away) * (radius + away), 0.0))
        yield (fx + ux * half, fy + uy * half)
        yield (fx - ux * half, fy - uy * half)
