"""Shapely behind one door: tests of place, distance and overlap on flattened rings, in mm and plan coordinates.

Nothing that comes out of here becomes an outline of wood again; outlines are cut and joined in `outline.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TypeAlias

import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from layout.outline import Point, Ring, edge_point

TOLERANCE = 0.01
"""A limit passed by no more than this (mm) is kept (fixed by the format)."""

Region: TypeAlias = BaseGeometry


def area_of(ring: Ring, sagitta: float = 0.002) -> Polygon:
    """Return the ring as a polygon, arcs as chords within ``sagitta`` mm."""
    return Polygon(ring.flattened(sagitta))


def is_simple(ring: Ring) -> bool:
    """Return whether the ring neither crosses nor touches itself."""
    return bool(area_of(ring, 0.05).is_valid)


def union(regions: Iterable[Region]) -> Region:
    """Return all regions as one."""
    return shapely.unary_union(list(regions))


def polygons(region: Region, least: float = 0.0) -> list[Polygon]:
    """Return the polygons of a region of more than ``least`` mm2."""
    parts = region.geoms if isinstance(region, MultiPolygon) or hasattr(region, "geoms") else [region]
    return [p for p in parts if isinstance(p, Polygon) and p.area > least]


def overlap(a: Region, b: Region) -> Region | None:
    """Return where two regions lie over one another by more than the tolerance in width; None if nowhere."""
    shared = a.intersection(b)
    if shared.area <= TOLERANCE**2 or shared.buffer(-TOLERANCE / 2).is_empty:
        return None
    return shared


def holds(outer: Region, inner: Region) -> bool:
    """Return whether ``inner`` lies in ``outer``, to within the tolerance."""
    return bool(outer.buffer(TOLERANCE, join_style="mitre").covers(inner))


def side_line(ring: Ring, sides: Iterable[str]) -> Region:
    """Return the edges of the named sides as lines."""
    wanted = set(sides)
    lines = []
    for a, b in ring.edges():
        if a.side in wanted:
            n = 1 if not a.bulge else 64
            lines.append(LineString([edge_point(a, b, k / n) for k in range(n + 1)]))
    return shapely.unary_union(lines)


def polygon(points: Sequence[Point]) -> Polygon:
    """Return the area within a closed line of points."""
    return Polygon(points)


def path(points: Sequence[Point]) -> LineString:
    """Return a path through ``points``."""
    return LineString(points)


def spot(point: Point) -> ShapelyPoint:
    """Return a point."""
    return ShapelyPoint(point)


def nearest(a: Region, b: Region) -> tuple[Point, Point]:
    """Return the nearest points of two regions, one on each."""
    p, q = shapely.shortest_line(a, b).coords
    return ((p[0], p[1]), (q[0], q[1]))


def inner_point(region: Region) -> Point:
    """Return a point well inside the region."""
    p = region.representative_point()
    return (p.x, p.y)


def moved(region: Region, place: Callable[[Point], Point]) -> Region:
    """Return a region with each of its points placed anew."""
    return shapely.transform(region, lambda points: [place((x, y)) for x, y in points])
