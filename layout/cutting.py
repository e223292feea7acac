"""Cutting rings without losing their arcs: where edges cross, splits along a path, corners taken off, subtraction.

An edge cut in two stays on its line or on its circle; nothing here goes through chords.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from layout.outline import SAME, Line, Point, Ring, Vertex, arc_of, edge_heading, edge_length, edge_point

BESIDE = 1e-3
"""Edges whose boxes are this far apart (mm) do not cross, whatever the rounding."""


def part_bulge(bulge: float, share: float) -> float:
    """Return the bulge of a part of an edge that has so large a share of its length."""
    return math.tan(math.atan(bulge) * share) if bulge else 0.0


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


def edge_box(a: Vertex, b: Vertex) -> tuple[float, float, float, float]:
    """Return a box (least x and y, greatest x and y) that holds an edge with room to spare, not the least one."""
    # no point of an arc is further from its chord than its rise, or, beyond a half circle, from its chord's middle
    reach = BESIDE + (abs(a.bulge) * (abs(b.x - a.x) + abs(b.y - a.y)) / 2.0 if a.bulge else 0.0)
    return (min(a.x, b.x) - reach, min(a.y, b.y) - reach, max(a.x, b.x) + reach, max(a.y, b.y) + reach)


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
        return [Vertex(x, y, part_bulge(v[i].bulge, u - t), v[i].side), Vertex(*place(j, u))]
    x, y = place(i, t)
    out = [Vertex(x, y, part_bulge(v[i].bulge, 1.0 - t), v[i].side)]
    k = (i + 1) % n
    while k != j:
        out.append(v[k])
        k = (k + 1) % n
    if u > 0.0:
        out.append(v[j]._replace(bulge=part_bulge(v[j].bulge, u)))
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
    first[-1] = first[-1]._replace(side=side)
    first += [Vertex(x, y, 0.0, side) for x, y in reversed(inner)]
    second = _walk(ring, end, start)
    tag = side if other is None else other
    second[-1] = second[-1]._replace(side=tag)
    second += [Vertex(x, y, 0.0, tag) for x, y in inner]
    return (_without_points(first), _without_points(second))


def _without_points(vertices: list[Vertex]) -> Ring:
    n = len(vertices)
    return Ring(tuple(v for k, v in enumerate(vertices) if math.dist(v.at, vertices[(k + 1) % n].at) > SAME))


def line_crossings(ring: Ring, line: Line) -> list[float]:
    """Return, sorted, how far along ``line`` it meets the ring; a vertex met by two edges counts once."""
    found: list[float] = []
    lefts = [(v.y - line.y) * line.dx - (v.x - line.x) * line.dy for v in ring.vertices]
    for (a, b), left_a, left_b in zip(ring.edges(), lefts, lefts[1:] + lefts[:1], strict=True):
        # no point of an arc is further from its chord than twice its rise
        strays = abs(a.bulge) * math.dist(a.at, b.at) + SAME if a.bulge else SAME
        if (left_a > strays and left_b > strays) or (left_a < -strays and left_b < -strays):
            continue
        arc = arc_of(a, b)
        if arc is None:
            if abs(left_a) <= SAME:
                found.append(line.along(a.at))
            elif abs(left_b) > SAME and (left_a > 0) != (left_b > 0):
                t = left_a / (left_a - left_b)
                found.append(line.along((a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t)))
            continue
        for p in _line_circle(line.point(0.0), line.point(1.0), arc.cx, arc.cy, arc.radius):
            if -1e-9 <= arc.share(p) <= 1 + 1e-9:
                found.append(line.along(p))
    found.sort()
    return [s for k, s in enumerate(found) if k == 0 or s - found[k - 1] > 10 * SAME]


# --- corners -------------------------------------------------------------------------------------------------------


def offset_curve(a: Vertex, b: Vertex, distance: float) -> Line | tuple[float, float, float]:
    """Return the edge moved to its left by ``distance``: a line, or a circle (x, y, radius)."""
    arc = arc_of(a, b)
    if arc is not None:
        return (arc.cx, arc.cy, arc.radius - (distance if arc.sweep > 0 else -distance))
    length = math.dist(a.at, b.at)
    return Line(a.x, a.y, (b.x - a.x) / length, (b.y - a.y) / length).offset_right(-distance)


def curve_meets(p: Line | tuple[float, float, float], q: Line | tuple[float, float, float]) -> list[Point]:
    """Return where two endless lines or whole circles (x, y, radius) meet."""
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
    for centre in curve_meets(offset_curve(prev, here, left), offset_curve(here, after, left)):
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
        out.append(Vertex(x, y, part_bulge(v[i].bulge, t1 - t0), v[i].side))
    return _without_points(out)


# --- subtraction ---------------------------------------------------------------------------------------------------


def _fragments(ring: Ring, other: Ring, inside: bool, shared: int) -> list[tuple[Vertex, Point]]:
    """Return the parts of ``ring``'s edges inside (or outside) ``other``, as start vertex and end point.

    Of parts that both rings share, those that run the same way (``shared`` 1) or the other way (-1) are returned too.
    """
    out = []
    for a, b in ring.edges():
        shares = {0.0, 1.0}
        for c, d in other.edges():
            shares.update(t for t, _ in crossings(a, b, c, d))
            # edges that lie on one another do not cross: they part where one of them ends
            t = edge_share(a, b, c.at)
            if 0.0 < t < 1.0 and math.dist(edge_point(a, b, t), c.at) <= SAME:
                shares.add(t)
        stops = sorted(shares)
        for t, u in zip(stops, stops[1:], strict=False):
            p, q = edge_point(a, b, t), edge_point(a, b, u)
            if math.dist(p, q) <= SAME:
                continue
            way = _shared_way(a, b, (t + u) / 2, other)
            kept = way == shared if way else other.contains(edge_point(a, b, (t + u) / 2)) == inside
            if kept:
                out.append((Vertex(*p, part_bulge(a.bulge, u - t), a.side), q))
    return out


def _shared_way(a: Vertex, b: Vertex, t: float, other: Ring) -> int:
    """Return 1 or -1 where the edge lies on an edge of ``other`` that runs the same or the other way there, else 0."""
    k, u, gap = locate(other, edge_point(a, b, t))
    if gap > SAME:
        return 0
    v = other.vertices
    turn = math.cos(edge_heading(a, b, t) - edge_heading(v[k], v[(k + 1) % len(v)], u))
    return 1 if turn > 1 - 1e-6 else -1 if turn < -1 + 1e-6 else 0


def chain_parts(parts: list[tuple[Vertex, Point]]) -> list[Ring]:
    """Return the rings that parts of edges make, each given by its start vertex and its end point."""
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
    """Return what is left of ``ring`` outside ``hole``, which crosses the ring's boundary or lies along it."""
    kept = _fragments(ring, hole, inside=False, shared=-1)
    return chain_parts(kept + _fragments(reversed_ring(hole), ring, inside=True, shared=2))


def intersection(ring: Ring, other: Ring) -> list[Ring]:
    """Return what the two rings share, where their boundaries cross or lie on one another, or one lies in the other."""
    (ax, ay, bx, by), (cx, cy, dx, dy) = ring.bounds(), other.bounds()
    if ax > dx + SAME or cx > bx + SAME or ay > dy + SAME or cy > by + SAME:
        return []
    return chain_parts(_fragments(ring, other, inside=True, shared=1) + _fragments(other, ring, inside=True, shared=2))
