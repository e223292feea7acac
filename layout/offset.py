"""A ring moved outward or inward by a distance, its arcs still arcs: lines move, arcs change radius, corners meet again.

Every edge is moved by itself, corners that open are bridged, all of it is cut where it crosses, and what comes nearer to the
old ring than the distance is dropped: what is left is the new ring, whatever was used up on the way.
"""

from __future__ import annotations

import math

from layout import region
from layout.cutting import chain_parts, crossings, curve_meets, locate, offset_curve, part_bulge
from layout.outline import SAME, Line, Point, Ring, Vertex, arc_of, edge_heading, edge_point

_SMOOTH = 1e-6
"""Edges whose directions differ by less (rad) run on into one another."""
_SHARPEST = math.radians(120)
"""A straight corner that opens is mitred up to this turn, so that a mitre reaches out to twice the distance at most; a
sharper one, and one at an arc, is rounded about the old corner."""
_NEARER = 1e-6
"""What comes nearer to the old ring than the distance by more than this (mm) is dropped."""

Edge = tuple[Vertex, Vertex]


def offset_ring(ring: Ring, distance: float) -> Ring:
    """Return a counter-clockwise ring grown by ``distance`` mm all round, or shrunk where it is negative.

    Exact on lines and arcs. Raises ValueError where nothing would be left or the outline would fall into several.
    """
    ring = ring.clean()
    if distance == 0.0:
        return ring
    raw = _moved(ring, distance)
    parts: list[tuple[Vertex, Point]] = []
    for k, (a, b) in enumerate(raw):
        shares = {0.0, 1.0}
        for n, (c, d) in enumerate(raw):
            if n != k:
                shares.update(t for t, _ in crossings(a, b, c, d))
        stops = sorted(shares)
        for t, u in zip(stops, stops[1:], strict=False):
            start, end = edge_point(a, b, t), edge_point(a, b, u)
            middle = edge_point(a, b, (t + u) / 2)
            if math.dist(start, end) > SAME and locate(ring, middle)[2] >= abs(distance) - _NEARER:
                parts.append((Vertex(*start, part_bulge(a.bulge, u - t), a.side), end))
    rings = [r for r in chain_parts(parts) if r.area > 0.0]
    if len(rings) != 1 or len(rings[0].vertices) < 2:
        raise ValueError("the outline would fall apart" if rings else "nothing would be left of the outline")
    new = _merged(rings[0].clean())
    if not region.is_simple(new) or not region.is_offset(ring, new, distance):
        raise ValueError("the outline would cross itself")
    return new


def _moved(ring: Ring, distance: float) -> list[Edge]:
    """Return every edge moved to its right by the distance, with what bridges the corners that open."""
    edges = list(ring.edges())
    out: list[Edge] = []
    for k, (a, b) in enumerate(edges):
        before = edges[k - 1]
        out += _bridge(before, (a, b), distance)
        curve = offset_curve(a, b, -distance)
        if not isinstance(curve, Line) and curve[2] <= SAME:
            continue  # an arc without a radius
        start = _beside(a.at, edge_heading(a, b, 0.0), distance)
        end = _beside(b.at, edge_heading(a, b, 1.0), distance)
        out.append((Vertex(*start, a.bulge, a.side), Vertex(*end)))
    return [(a, b) for a, b in out if math.dist(a.at, b.at) > SAME]


def _bridge(before: Edge, after: Edge, distance: float) -> list[Edge]:
    """Return the edges that join two moved edges at a corner that opens: a mitre, or an arc about the old corner."""
    corner, side = after[0], before[0].side
    into, out = edge_heading(*before, 1.0), edge_heading(*after, 0.0)
    turn = math.remainder(out - into, 2 * math.pi)
    if abs(turn) < _SMOOTH or turn * distance < 0:
        return []
    start, end = _beside(corner.at, into, distance), _beside(corner.at, out, distance)
    straight = arc_of(*before) is None and arc_of(*after) is None
    if straight and abs(turn) <= _SHARPEST:
        tip = curve_meets(offset_curve(*before, -distance), offset_curve(*after, -distance))
        if tip:
            return [(Vertex(*start, 0.0, side), Vertex(*tip[0])), (Vertex(*tip[0], 0.0, corner.side), Vertex(*end))]
    return [(Vertex(*start, math.tan(turn / 4), side), Vertex(*end))]


def _beside(at: Point, heading: float, distance: float) -> Point:
    """Return the point ``distance`` to the right of the direction of travel."""
    return (at[0] + distance * math.sin(heading), at[1] - distance * math.cos(heading))


def _merged(ring: Ring) -> Ring:
    """Return the ring with arcs made whole again that were cut where something crossed them."""
    v = list(ring.vertices)
    k = 0
    while len(v) > 2 and k < len(v):
        a, b, c = v[k], v[(k + 1) % len(v)], v[(k + 2) % len(v)]
        p, q = arc_of(a, b), arc_of(b, c)
        same = p is not None and q is not None and p.sweep * q.sweep > 0 and abs(p.sweep + q.sweep) <= math.pi + 1e-9
        if same and p and q and math.dist((p.cx, p.cy), (q.cx, q.cy)) < 1e-6 and abs(p.radius - q.radius) < 1e-6:
            v[k] = Vertex(a.x, a.y, math.tan((p.sweep + q.sweep) / 4), a.side)
            del v[(k + 1) % len(v)]
            k = max(k - 1, 0)
        else:
            k += 1
    return Ring(tuple(v))
