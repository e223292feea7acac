"""Outlines and lengths as a job file says them: points with rises and corner radii, rectangles with a turn, tapes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from layout import region
from layout.cutting import CornerShape, locate, with_corners
from layout.outline import Frame, Line, Point, Ring, Vertex, arc_of, edge_heading, edge_length, edge_point, rectangle
from layout.units import UNIT_MM, Unit

NEAR = 5e-4
"""What is written in another way than it was drawn, as a radius or a rectangle, agrees with it to this, mm."""
_SHORTEST = 1e-3


def tape(mm: float, unit: Unit) -> str:
    """Return a length as a job file holds it: a whole fraction of an inch where it is one, else to a millionth."""
    value = mm / float(UNIT_MM[unit])
    parts = 64 if unit == "in" else 1
    near = round(value * parts)
    if abs(value - near / parts) <= 1e-6:
        exact = Fraction(abs(near), parts)
        whole, rest = divmod(exact.numerator, exact.denominator)
        text = f"{whole} {Fraction(rest, exact.denominator)}" if rest and whole else f"{exact}"
        return f'"{"-" if near < 0 else ""}{text}"'
    return f'"{decimal(value)}"'


def decimal(value: float, digits: int = 6) -> str:
    """Return a number with so many decimals at most."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def line_through(a: Point, b: Point) -> Line:
    """Return the line from ``a`` towards ``b``."""
    length = math.dist(a, b)
    return Line(*a, (b[0] - a[0]) / length, (b[1] - a[1]) / length)


@dataclass(frozen=True, slots=True)
class OutlineShape:
    """An outline as a job file has it: points, the rise of each edge (mm, outward positive), radii of corners by point."""

    points: tuple[Point, ...]
    rises: tuple[float, ...]
    corners: Mapping[int, float]


def outline_of(ring: Ring) -> OutlineShape | None:
    """Return a counter-clockwise ring as points, rises and corner radii; None where no chords round it keep clear.

    Arcs that round a corner of two straight edges become corner radii, others rises; of more than 160 degrees in parts.
    """
    kept = Ring(tuple(a for a, b in ring.edges() if math.dist(a.at, b.at) > _SHORTEST))
    plain, corners = _unrounded(kept)
    for parts in (1, 2, 4, 8):
        vertices = list(_in_parts(plain, parts))
        points = [v.at for v in vertices]
        if len(points) >= 3 and _is_simple(points):
            number = {v.at: k for k, v in enumerate(vertices)}
            rises = tuple(
                a.bulge * math.dist(a.at, b.at) / 2 for a, b in zip(vertices, vertices[1:] + vertices[:1], strict=True)
            )
            return OutlineShape(tuple(points), rises, {number[at]: radius for at, radius in corners.items()})
    return None


def _unrounded(ring: Ring) -> tuple[Ring, dict[Point, float]]:
    """Return the ring with its rounded corners square again, and their radii by the corner."""
    edges = list(ring.edges())
    cut = [_rounded(edges[k - 1], edge, edges[(k + 1) % len(edges)]) for k, edge in enumerate(edges)]
    out: list[Vertex] = []
    for k, (a, _) in enumerate(edges):
        corner = cut[k]
        if corner is not None:
            out.append(Vertex(*corner[0], 0.0, a.side))
        elif cut[k - 1] is None:  # else the edge begins at the corner before it
            out.append(a)
    return Ring(tuple(out)), dict(corner for corner in cut if corner is not None)


def _rounded(
    before: tuple[Vertex, Vertex], edge: tuple[Vertex, Vertex], after: tuple[Vertex, Vertex]
) -> tuple[Point, float] | None:
    """Return (corner, radius) of an arc that rounds the corner of two straight edges, to within ``NEAR``; else None."""
    a, b = edge
    arc = arc_of(a, b)
    if arc is None or before[0].bulge or b.bulge or not 0.3 < abs(arc.sweep) < 2.8:
        return None
    if min(math.dist(*(v.at for v in e)) for e in (before, after)) < 1.0:
        return None
    meet = line_through(before[0].at, a.at).meets(line_through(b.at, after[1].at))
    if meet is None or min(math.dist(meet, before[0].at), math.dist(meet, after[1].at)) < 1.0:
        return None
    reach = arc.radius * math.tan(abs(arc.sweep) / 2)
    lines = (line_through(before[0].at, meet), line_through(after[1].at, meet))
    ends = [line.point(line.along(meet) - reach) for line in lines]
    middle = arc.point(0.5)
    half = math.dist(meet, (arc.cx, arc.cy)) - arc.radius
    if max(math.dist(ends[0], a.at), math.dist(ends[1], b.at), abs(math.dist(meet, middle) - half)) > NEAR:
        return None
    return meet, arc.radius


def _in_parts(ring: Ring, parts: int) -> Iterator[Vertex]:
    """Yield the ring's vertices with each arc in so many parts, or in more where it is more than nearly half a circle."""
    for a, b in ring.edges():
        arc = arc_of(a, b)
        count = 1 if arc is None else parts * math.ceil(abs(arc.sweep) / 2.8)
        bulge = 0.0 if arc is None else math.tan(arc.sweep / (4 * count))
        yield a._replace(bulge=bulge)
        for n in range(1, count):
            yield Vertex(*edge_point(a, b, n / count), bulge, a.side)


def _is_simple(points: Sequence[Point]) -> bool:
    """Whether the chords make a polygon that neither crosses nor touches itself, counter-clockwise."""
    ring = Ring(tuple(Vertex(*p) for p in points))
    return ring.area > 0.0 and region.self_crossing(ring) is None


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with equal corner radii: its middle and direction, its size along and across, its radius, mm."""

    frame: Frame
    size: Point
    radius: float


def box_of(ring: Ring) -> Box | None:
    """Return the rectangle with equal corner radii that a ring is to within ``NEAR``, turned by (-45, 45] degrees; else None."""
    edges = list(ring.edges())
    straight = [(a, b) for a, b in edges if not a.bulge]
    arcs = [arc for a, b in edges if (arc := arc_of(a, b)) is not None]
    if len(straight) != 4 or len(arcs) not in (0, 4) or len(edges) != len(straight) + len(arcs):
        return None
    a, b = max(straight, key=lambda e: round(edge_length(*e), 6))
    heading = edge_heading(a, b, 0.0)
    angle = math.remainder(heading, math.pi / 2)
    angle = 0.0 if abs(angle) < 1e-12 else angle
    turned = Frame(0.0, 0.0, angle)
    x0, y0, x1, y1 = ring.bounds(turned)
    size = (x1 - x0, y1 - y0)
    radius = sum(arc.radius for arc in arcs) / 4 if arcs else 0.0
    if 2 * radius >= min(size) - 1e-4:
        return None
    frame = Frame(*turned.to_plan(((x0 + x1) / 2, (y0 + y1) / 2)), angle)
    made = rectangle(-size[0] / 2, -size[1] / 2, size[0] / 2, size[1] / 2)
    if radius:
        made = with_corners(made, {k: (CornerShape(radius=radius), "") for k in range(4)})
    placed = made.moved(frame.to_plan)
    if len(placed.vertices) != len(ring.vertices):
        return None
    for v, w in zip(_from_least(placed), _from_least(ring), strict=True):
        if math.dist(v.at, w.at) > NEAR or abs(v.bulge - w.bulge) > 1e-4:
            return None
    return Box(frame, size, radius)


def _from_least(ring: Ring) -> list[Vertex]:
    v = ring.vertices
    k = min(range(len(v)), key=lambda n: (round(v[n].x, 2), round(v[n].y, 2)))
    return [*v[k:], *v[:k]]


def agrees(drawn: Ring, again: Ring, within: float = 1e-3) -> bool:
    """Return whether every vertex and every middle of an edge of one ring lies on the other one to within so many mm."""

    def on(ring: Ring, other: Ring) -> bool:
        spots = (p for a, b in ring.edges() for p in (a.at, edge_point(a, b, 0.5)))
        return all(locate(other, p)[2] <= within for p in spots)

    return on(drawn, again) and on(again, drawn)
