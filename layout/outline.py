"""Rings whose arcs stay arcs: vertices with a bulge, in millimetres, counter-clockwise round wood.

An edge runs from a vertex to the next. Its ``bulge`` is tan(sweep / 4), positive counter-clockwise, and its ``side`` names
what it is ("A front", "left", "J"). Every cut, corner and subtraction here is computed on the arc itself; shapely
(`region.py`) sees flattened copies only.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

SAME = 1e-6
"""Two points nearer than this (mm) are one point."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Vertex:
    """A point in mm, with the bulge and the side of the edge that leaves it."""

    x: float
    y: float
    bulge: float = 0.0
    side: str = ""

    @property
    def at(self) -> Point:
        """The point itself."""
        return (self.x, self.y)


@dataclass(frozen=True, slots=True)
class Arc:
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
    dx, dy = b.x - a.x, b.y - a.y
    k = (1.0 / a.bulge - a.bulge) / 4.0
    cx, cy = (a.x + b.x) / 2.0 - k * dy, (a.y + b.y) / 2.0 + k * dx
    radius = math.hypot(dx, dy) * (1.0 + a.bulge**2) / (4.0 * abs(a.bulge))
    return Arc(cx, cy, radius, math.atan2(a.y - cy, a.x - cx), 4.0 * math.atan(a.bulge))


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


def _part_bulge(bulge: float, share: float) -> float:
    return math.tan(math.atan(bulge) * share) if bulge else 0.0


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
        out = []
        for v in self.vertices:
            x, y = place(v.at)
            out.append(replace(v, x=x, y=y))
        return Ring(tuple(out))

    def bounds(self, frame: Frame | None = None) -> tuple[float, float, float, float]:
        """Return (least x, least y, greatest x, greatest y) in ``frame`` (plan if None), exact for arcs."""
        ring = self if frame is None else self.moved(frame.from_plan)
        xs = [v.x for v in ring.vertices]
        ys = [v.y for v in ring.vertices]
        for a, b in ring.edges():
            arc = arc_of(a, b)
            if arc is None:
                continue
            for quarter in range(4):
                angle = quarter * math.pi / 2
                top = (arc.cx + arc.radius * math.cos(angle), arc.cy + arc.radius * math.sin(angle))
                if 0.0 < arc.share(top) < 1.0:
                    xs.append(top[0])
                    ys.append(top[1])
        return (min(xs), min(ys), max(xs), max(ys))

    def flattened(self, sagitta: float = 0.002) -> list[Point]:
        """Return points with arcs as chords that stray at most ``sagitta`` mm from them."""
        out: list[Point] = []
        for a, b in self.edges():
            out.append(a.at)
            arc = arc_of(a, b)
            if arc is not None:
                step = 2.0 * math.acos(max(0.0, 1.0 - sagitta / arc.radius))
                n = max(2, math.ceil(abs(arc.sweep) / step))
                out.extend(arc.point(i / n) for i in range(1, n))
        return out

    def contains(self, point: Point) -> bool:
        """Return whether the point lies inside (undefined within rounding of the boundary)."""
        return self._winding(point) != 0

    def _winding(self, point: Point) -> int:
        px, py = point
        winding = 0
        for a, b in self.edges():
            cross = (b.x - a.x) * (py - a.y) - (px - a.x) * (b.y - a.y)
            if a.y <= py < b.y and cross > 0:
                winding += 1
            elif b.y <= py < a.y and cross < 0:
                winding -= 1
            if (
                cross == 0.0
            ):  # on the chord: as if the point lay a hair up and, less, to the right, as the tests above have it
                cross = (b.x - a.x) or (a.y - b.y)
            arc = arc_of(a, b)
            # an arc adds (or takes) the segment between it and its chord, which lies right of a counter-clockwise one
            if arc is not None and math.hypot(px - arc.cx, py - arc.cy) < arc.radius and cross * a.bulge < 0:
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
        while changed and len(v) > 3:
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


# --- crossings -----------------------------------------------------------------------------------------------------


def crossings(a: Vertex, b: Vertex, c: Vertex, d: Vertex) -> list[tuple[float, float]]:
    """Return where edge a-b crosses edge c-d, as shares of both, each in [0, 1] to within rounding."""
    first, second = arc_of(a, b), arc_of(c, d)
    if first is None and second is None:
        points = _line_line(a, b, c, d)
    elif first is None and second is not None:
        points = _line_circle(a.at, b.at, second.cx, second.cy, second.radius)
    elif first is not None and second is None:
        points = _line_circle(c.at, d.at, first.cx, first.cy, first.radius)
    else:
        assert first is not None and second is not None
        points = _circle_circle(first.cx, first.cy, first.radius, second.cx, second.cy, second.radius)
    found = []
    for p in points:
        t, u = edge_share(a, b, p), edge_share(c, d, p)
        if -1e-9 <= t <= 1 + 1e-9 and -1e-9 <= u <= 1 + 1e-9:
            found.append((min(max(t, 0.0), 1.0), min(max(u, 0.0), 1.0)))
    return found


def edge_share(a: Vertex, b: Vertex, p: Point) -> float:
    """Return the share of the edge at which the foot of ``p`` lies; outside [0, 1] beyond its ends."""
    arc = arc_of(a, b)
    if arc is not None:
        return arc.share(p)
    dx, dy = b.x - a.x, b.y - a.y
    return ((p[0] - a.x) * dx + (p[1] - a.y) * dy) / (dx * dx + dy * dy)


def _line_line(a: Vertex, b: Vertex, c: Vertex, d: Vertex) -> list[Point]:
    ux, uy, vx, vy = b.x - a.x, b.y - a.y, d.x - c.x, d.y - c.y
    cross = ux * vy - uy * vx
    if abs(cross) <= 1e-12 * math.hypot(ux, uy) * math.hypot(vx, vy):
        return []
    t = ((c.x - a.x) * vy - (c.y - a.y) * vx) / cross
    return [(a.x + ux * t, a.y + uy * t)]


def _line_circle(a: Point, b: Point, cx: float, cy: float, radius: float) -> list[Point]:
    length = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    foot = (cx - a[0]) * ux + (cy - a[1]) * uy
    off = (cx - a[0]) * uy - (cy - a[1]) * ux
    inside = radius * radius - off * off
    if inside < -SAME * radius:
        return []
    half = math.sqrt(max(inside, 0.0))
    return [(a[0] + ux * s, a[1] + uy * s) for s in ({foot} if half == 0.0 else (foot - half, foot + half))]


def _circle_circle(ax: float, ay: float, ar: float, bx: float, by: float, br: float) -> list[Point]:
    gap = math.hypot(bx - ax, by - ay)
    if gap < SAME or gap > ar + br + SAME or gap < abs(ar - br) - SAME:
        return []
    along = (gap * gap + ar * ar - br * br) / (2 * gap)
    half = math.sqrt(max(ar * ar - along * along, 0.0))
    ux, uy = (bx - ax) / gap, (by - ay) / gap
    fx, fy = ax + ux * along, ay + uy * along
    return [(fx - uy * half, fy + ux * half), (fx + uy * half, fy - ux * half)]


# --- cutting -------------------------------------------------------------------------------------------------------


def locate(ring: Ring, point: Point) -> tuple[int, float, float]:
    """Return (edge number, share, distance in mm) of the place on the ring nearest to ``point``."""
    best = (0, 0.0, math.inf)
    for i, (a, b) in enumerate(ring.edges()):
        t = min(max(edge_share(a, b, point), 0.0), 1.0)
        gap = math.dist(edge_point(a, b, t), point)
        if gap < best[2] - 1e-12:
            best = (i, t, gap)
    i, t, gap = best
    a, b = ring.vertices[i], ring.vertices[(i + 1) % len(ring.vertices)]
    if math.dist(a.at, point) <= SAME:
        t = 0.0
    elif math.dist(b.at, point) <= SAME:
        i, t = (i + 1) % len(ring.vertices), 0.0
    return (i, t, gap)


def _walk(ring: Ring, start: tuple[int, float, float], end: tuple[int, float, float]) -> list[Vertex]:
    """Return the vertices from ``start`` to ``end`` along the ring; the last one carries no edge yet."""
    v, n = ring.vertices, len(ring.vertices)
    i, t, _ = start
    j, u, _ = end

    def place(k: int, share: float) -> Point:
        return v[k].at if share == 0.0 else edge_point(v[k], v[(k + 1) % n], share)

    if i == j and t <= u:
        x, y = place(i, t)
        return [Vertex(x, y, _part_bulge(v[i].bulge, u - t), v[i].side), Vertex(*place(j, u))]
    x, y = place(i, t)
    out = [Vertex(x, y, _part_bulge(v[i].bulge, 1.0 - t), v[i].side)]
    k = (i + 1) % n
    while k != j:
        out.append(v[k])
        k = (k + 1) % n
    if u > 0.0:
        out.append(replace(v[j], bulge=_part_bulge(v[j].bulge, u)))
    out.append(Vertex(*place(j, u)))
    return out


def split(ring: Ring, cut: Sequence[Point], side: str = "joint", other: str | None = None) -> tuple[Ring, Ring]:
    """Cut a counter-clockwise ring along ``cut``, a path inside it from its boundary to its boundary.

    Returns the part on the right of the path, then the part on its left: cut from back to front, the first lies left as
    one faces the back. The new edges are called ``side`` on the first and ``other`` (or the same) on the second. Raises
    ValueError where an end of the path is not on the boundary.
    """
    start, end = locate(ring, cut[0]), locate(ring, cut[-1])
    if max(start[2], end[2]) > 1e-4:
        raise ValueError("the cut does not reach the outline")
    inner = list(cut[1:-1])
    first = _walk(ring, start, end)
    first[-1] = replace(first[-1], side=side)
    first += [Vertex(x, y, 0.0, side) for x, y in reversed(inner)]
    second = _walk(ring, end, start)
    tag = side if other is None else other
    second[-1] = replace(second[-1], side=tag)
    second += [Vertex(x, y, 0.0, tag) for x, y in inner]
    return (_without_points(first), _without_points(second))


def _without_points(vertices: list[Vertex]) -> Ring:
    n = len(vertices)
    return Ring(tuple(v for k, v in enumerate(vertices) if math.dist(v.at, vertices[(k + 1) % n].at) > SAME))


def line_crossings(ring: Ring, line: Line) -> list[float]:
    """Return, sorted, how far along ``line`` it meets the ring; a vertex met by two edges counts once."""
    found: list[float] = []
    for a, b in ring.edges():
        arc = arc_of(a, b)
        left_a, left_b = line.left_of(a.at), line.left_of(b.at)
        if arc is None:
            if abs(left_a) <= SAME:
                found.append(line.along(a.at))
            elif abs(left_b) > SAME and (left_a > 0) != (left_b > 0):
                t = left_a / (left_a - left_b)
                found.append(line.along(edge_point(a, b, t)))
            continue
        for p in _line_circle(line.point(0.0), line.point(1.0), arc.cx, arc.cy, arc.radius):
            if -1e-9 <= arc.share(p) <= 1 + 1e-9:
                found.append(line.along(p))
    found.sort()
    return [s for k, s in enumerate(found) if k == 0 or s - found[k - 1] > 10 * SAME]


# --- corners -------------------------------------------------------------------------------------------------------


def _offset_curve(a: Vertex, b: Vertex, distance: float) -> Line | tuple[float, float, float]:
    """Return the edge moved to its left by ``distance``: a line, or a circle (x, y, radius)."""
    arc = arc_of(a, b)
    if arc is not None:
        return (arc.cx, arc.cy, arc.radius - (distance if arc.sweep > 0 else -distance))
    length = math.dist(a.at, b.at)
    return Line(a.x, a.y, (b.x - a.x) / length, (b.y - a.y) / length).offset_right(-distance)


def _curve_meets(p: Line | tuple[float, float, float], q: Line | tuple[float, float, float]) -> list[Point]:
    if isinstance(p, Line) and isinstance(q, Line):
        at = p.meets(q)
        return [] if at is None else [at]
    if isinstance(p, Line) and not isinstance(q, Line):
        return _line_circle(p.point(0.0), p.point(1.0), *q)
    if isinstance(q, Line) and not isinstance(p, Line):
        return _line_circle(q.point(0.0), q.point(1.0), *p)
    assert not isinstance(p, Line) and not isinstance(q, Line)
    return _circle_circle(*p, *q)


@dataclass(frozen=True, slots=True)
class CornerShape:
    """How a corner is taken off: by a radius, or by a clip so far back along the edge before and the edge after (mm)."""

    radius: float = 0.0
    before: float = 0.0
    after: float = 0.0


def _corner(prev: Vertex, here: Vertex, after: Vertex, shape: CornerShape) -> tuple[float, float, float]:
    """Return (share where the edge before ends, share where the edge after starts, bulge between)."""
    if not shape.radius:
        t = 1.0 - shape.before / edge_length(prev, here)
        return (t, shape.after / edge_length(here, after), 0.0)
    heading_in, heading_out = edge_heading(prev, here, 1.0), edge_heading(here, after, 0.0)
    turn = math.remainder(heading_out - heading_in, 2 * math.pi)
    if abs(turn) < 1e-9:
        raise ValueError("there is no corner to round")
    left = math.copysign(shape.radius, turn)
    best: tuple[float, float, float, float] | None = None
    for centre in _curve_meets(_offset_curve(prev, here, left), _offset_curve(here, after, left)):
        t, u = edge_share(prev, here, centre), edge_share(here, after, centre)
        gap = math.dist(centre, here.at)
        if -1e-9 <= t <= 1 + 1e-9 and -1e-9 <= u <= 1 + 1e-9 and (best is None or gap < best[0]):
            sweep = math.remainder(edge_heading(here, after, u) - edge_heading(prev, here, t), 2 * math.pi)
            best = (gap, t, u, math.tan(sweep / 4))
    if best is None:
        raise ValueError("the radius does not fit its corner")
    return best[1:]


def with_corners(ring: Ring, shapes: Mapping[int, tuple[CornerShape, str]]) -> Ring:
    """Return the ring with corners taken off: vertex number to (shape, side name of the new edge).

    Raises ValueError where a corner does not fit or two of them meet on an edge.
    """
    v, n = ring.vertices, len(ring.vertices)
    ends: dict[int, float] = {}
    starts: dict[int, float] = {}
    bulges: dict[int, float] = {}
    for i, (shape, _) in shapes.items():
        before = (i - 1) % n
        ends[before], starts[i], bulges[i] = _corner(v[before], v[i], v[(i + 1) % n], shape)
    out: list[Vertex] = []
    for i in range(n):
        t0, t1 = starts.get(i, 0.0), ends.get(i, 1.0)
        if t0 > t1 + 1e-9 or t0 > 1 + 1e-9 or t1 < -1e-9:
            raise ValueError("the corners at its two ends need more length than the edge has")
        nxt = v[(i + 1) % n]
        if i in shapes:
            x, y = edge_point(v[(i - 1) % n], v[i], ends[(i - 1) % n])
            out.append(Vertex(x, y, bulges[i], shapes[i][1]))
        x, y = edge_point(v[i], nxt, t0) if t0 else v[i].at
        out.append(Vertex(x, y, _part_bulge(v[i].bulge, t1 - t0), v[i].side))
    return _without_points(out)


# --- subtraction ---------------------------------------------------------------------------------------------------


def _fragments(ring: Ring, other: Ring, inside: bool) -> list[tuple[Vertex, Point]]:
    """Return the parts of ``ring``'s edges inside (or outside) ``other``, as start vertex and end point."""
    out = []
    for a, b in ring.edges():
        shares = {0.0, 1.0}
        for c, d in other.edges():
            shares.update(t for t, _ in crossings(a, b, c, d))
        stops = sorted(shares)
        for t, u in zip(stops, stops[1:], strict=False):
            p, q = edge_point(a, b, t), edge_point(a, b, u)
            if math.dist(p, q) <= SAME:
                continue
            if other.contains(edge_point(a, b, (t + u) / 2)) == inside:
                out.append((Vertex(*p, _part_bulge(a.bulge, u - t), a.side), q))
    return out


def _chain(parts: list[tuple[Vertex, Point]]) -> list[Ring]:
    rings = []
    left = list(parts)
    while left:
        vertex, end = left.pop(0)
        ring = [vertex]
        while left and math.dist(end, vertex.at) > 1e-4:
            k = min(range(len(left)), key=lambda n: math.dist(left[n][0].at, end))
            if math.dist(left[k][0].at, end) > 1e-3:
                break
            nxt, end = left.pop(k)
            ring.append(nxt)
        if len(ring) > 1:
            rings.append(Ring(tuple(ring)))
    return [r for r in rings if abs(r.area) > 1e-3]


def reversed_ring(ring: Ring) -> Ring:
    """Return the ring walked the other way."""
    edges = list(ring.edges())
    return Ring(tuple(Vertex(b.x, b.y, -a.bulge, a.side) for a, b in reversed(edges)))


def difference(ring: Ring, hole: Ring) -> list[Ring]:
    """Return what is left of ``ring`` outside ``hole``, whose boundary crosses the ring's (no shared edges)."""
    kept = _fragments(ring, hole, inside=False)
    return _chain(kept + _fragments(reversed_ring(hole), ring, inside=True))


def intersection(ring: Ring, other: Ring) -> list[Ring]:
    """Return what the two rings share, where their boundaries cross or one lies in the other (no shared edges)."""
    return _chain(_fragments(ring, other, inside=True) + _fragments(other, ring, inside=True))
