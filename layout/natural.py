"""Edges left as the tree grew: a side given as measured stations, drawn through all of them by arcs that meet smoothly.

Between two stations runs a pair of arcs (a biarc) whose directions at the stations are those of a curve through the
neighbours; so the edge passes through every measure, and nothing of it is a chord.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from layout import region
from layout.faults import PlaceError
from layout.job import Job
from layout.job_joints import Edge
from layout.outline import SAME, Frame, Point, Ring, Vertex
from layout.top_plans import TopPlan

_SQUARE = 1e-4
"""Radians by which the side beside a natural edge may be off square where the edge does not begin on the corner."""


def with_natural_edges(job: Job, top: TopPlan) -> TopPlan:
    """Return the top with its natural edges in the outline. Raises PlaceError where a side cannot be one."""
    ring = top.ring
    for k, edge in enumerate(job.edge):
        if edge.top == top.name and edge.natural is not None:
            ring = _with_edge(ring, edge, ("edge", k, "natural"))
    return replace(top, ring=ring)


def natural_sides(job: Job, top: str) -> frozenset[str]:
    """Return the sides of a top that are left as the tree grew."""
    return frozenset(e.side for e in job.edge if e.top == top and e.natural is not None)


def natural_points(job: Job, top: str, ring: Ring) -> dict[str, tuple[Point, ...]]:
    """Return, for each natural side in an outline of that top, the points its curve runs through, from left to right."""
    found: dict[str, dict[Point, None]] = {}
    for a, b in ring.edges():
        if a.side in natural_sides(job, top):
            found.setdefault(a.side, {}).update({a.at: None, b.at: None})
    return {side: tuple(sorted(points)) for side, points in found.items()}


def _with_edge(ring: Ring, edge: Edge, path: tuple[str | int, ...]) -> Ring:
    edges = list(ring.edges())
    here = [k for k, (a, _) in enumerate(edges) if a.side == edge.side]
    if len(here) != 1 or edges[here[0]][0].bulge:
        raise PlaceError(path, f'side "{edge.side}", which is not one straight edge', "a straight side of its top")
    k = here[0]
    a, b = edges[k]
    length = math.dist(a.at, b.at)
    assert edge.natural is not None
    # the outline runs counter-clockwise: a front from left to right as one faces it, a back the other way
    backwards = edge.side in ("back", "left") or edge.side.endswith(" back")
    measured = [(float(s), float(d)) for s, d in edge.natural]
    points = [(length - s, d) for s, d in reversed(measured)] if backwards else measured
    if abs(points[0][0]) > 0.5 or abs(points[-1][0] - length) > 0.5:
        told = f"stations from {float(edge.natural[0][0]) / 25.4:g} to {float(edge.natural[-1][0]) / 25.4:g} in"
        raise PlaceError(
            path, told, f"stations from 0 to the whole side, {length / 25.4:.4g} in ({length:.0f} mm) here"
        )
    if any(d < 0 for _, d in points):
        raise PlaceError(path, "a depth below zero", "how far the edge lies inside the straight side, 0 or more")
    frame = Frame(a.x, a.y, math.atan2(b.y - a.y, b.x - a.x))
    plan = [frame.to_plan((min(max(s, 0.0), length), d)) for s, d in points]
    before, after = edges[k - 1], edges[(k + 1) % len(edges)]
    _beside(before, plan[0], a.at, frame.angle, path)
    _beside(after, plan[-1], b.at, frame.angle, path)
    curve = smooth(plan, edge.side)
    kept = [v for i, (v, _) in enumerate(edges) if i != k]
    # the edge after begins where this one now ends
    follower = (k + 1) % len(edges)
    at = next(n for n, v in enumerate(kept) if v is edges[follower][0])
    kept[at] = kept[at]._replace(x=plan[-1][0], y=plan[-1][1])
    made = Ring((*kept[:at], *curve[:-1], *kept[at:]))
    if not region.is_simple(made):
        raise PlaceError(
            path, "an edge that runs into itself or into another side", "stations apart, where the edge turns"
        )
    return made


def _beside(
    edge: tuple[Vertex, Vertex], moved: Point, corner: Point, angle: float, path: tuple[str | int, ...]
) -> None:
    """Refuse an end that leaves its corner along a neighbour that is not square to it, or longer than that."""
    off = math.dist(moved, corner)
    if off <= SAME:
        return
    a, b = edge
    turn = math.atan2(b.y - a.y, b.x - a.x) - angle
    if a.bulge or abs(math.cos(turn)) > _SQUARE or off > math.dist(a.at, b.at):
        raise PlaceError(
            path, "an end away from its corner, beside a side that is not square to it", "a depth of 0 at that end"
        )


def smooth(points: Sequence[Point], side: str = "") -> list[Vertex]:
    """Return a smooth path through points: two arcs from each to the next, tangent where they meet; mm.

    Directions at the points are those of the circle through each and its neighbours; at the ends, of the first and last
    three. Two points are joined by a line.
    """
    if len(points) == 2:
        return [Vertex(*points[0], 0.0, side), Vertex(*points[1], 0.0, side)]
    headings = _headings(points)
    out: list[Vertex] = []
    for k in range(len(points) - 1):
        out += _biarc(points[k], headings[k], points[k + 1], headings[k + 1], side)
    return [*out, Vertex(*points[-1], 0.0, side)]


def _headings(points: Sequence[Point]) -> list[float]:
    inner = [_through(points[k - 1], points[k], points[k + 1]) for k in range(1, len(points) - 1)]
    chord = math.atan2(points[1][1] - points[0][1], points[1][0] - points[0][0])
    last = math.atan2(points[-1][1] - points[-2][1], points[-1][0] - points[-2][0])
    # an arc leaves and reaches its chord at equal angles
    return [2 * chord - inner[0], *inner, 2 * last - inner[-1]]


def _through(p: Point, q: Point, r: Point) -> float:
    """Return the direction at ``q`` of the circle through three points."""
    a, b = math.atan2(q[1] - p[1], q[0] - p[0]), math.atan2(r[1] - q[1], r[0] - q[0])
    one, two = math.dist(p, q), math.dist(q, r)
    turn = math.remainder(b - a, 2 * math.pi)
    # the tangent of a circle turns from a chord by half of what the chord's arc sweeps, which goes as its length nearly
    sine = math.sin(turn)
    cosine = math.cos(turn)
    half = math.atan2(one * sine, two + one * cosine)
    return a + half


def _biarc(p: Point, start: float, q: Point, end: float, side: str) -> list[Vertex]:
    """Return the vertices (the last point left out) of two arcs from p to q that begin and end in the given directions."""
    dx, dy = q[0] - p[0], q[1] - p[1]
    t0, t1 = (math.cos(start), math.sin(start)), (math.cos(end), math.sin(end))
    length = math.hypot(dx, dy)
    # both arcs with tangents of one length d: |q - p - d (t0 + t1)| = 2 d
    tx, ty = t0[0] + t1[0], t0[1] + t1[1]
    a = tx * tx + ty * ty - 4.0
    b = -2.0 * (dx * tx + dy * ty)
    c = length * length
    d = -c / b if abs(a) < 1e-12 else (-b - math.sqrt(max(b * b - 4 * a * c, 0.0))) / (2 * a)
    if not d > 0:
        return [Vertex(*p, 0.0, side)]
    m1 = (p[0] + d * t0[0], p[1] + d * t0[1])
    m2 = (q[0] - d * t1[0], q[1] - d * t1[1])
    m = ((m1[0] + m2[0]) / 2, (m1[1] + m2[1]) / 2)
    return [Vertex(*p, _bulge(p, start, m), side), Vertex(*m, -_bulge(q, end, m), side)]


def _bulge(p: Point, heading: float, q: Point) -> float:
    """Return the bulge of the arc from p to q that leaves p in a direction; of one that arrives, the same with its sign."""
    chord = math.atan2(q[1] - p[1], q[0] - p[0])
    half = math.remainder(chord - heading, math.pi)
    value = math.tan(half / 2)
    return value if abs(value) > 1e-9 else 0.0
