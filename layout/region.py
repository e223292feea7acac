"""Shapely behind one door: tests of place, distance and overlap on flattened rings, in mm and plan coordinates.

Nothing that comes out of here becomes an outline of wood again; outlines are cut and joined in `outline.py`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import Literal, TypeAlias

import shapely
from shapely.geometry import LineString, MultiLineString, MultiPolygon, Polygon
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from layout.outline import Point, Ring, arc_of

TOLERANCE = 0.01
"""A limit passed by no more than this (mm) is kept (fixed by the format)."""

Region: TypeAlias = BaseGeometry


@lru_cache(maxsize=2048)
def area_of(ring: Ring, sagitta: float = 0.002) -> Polygon:
    """Return the ring as a polygon, arcs as chords within ``sagitta`` mm. The rings asked for last are kept: each check asks anew."""
    shape: Polygon = shapely.polygons(ring.flattened(sagitta))
    return shape


@lru_cache(maxsize=512)
def grown(ring: Ring, by: float) -> Polygon:
    """Return the ring's area with all that lies within ``by`` mm of it. Those asked for last are kept: every piece of a top asks."""
    return area_of(ring).buffer(by)


def inside(ring: Ring, points: Sequence[Point]) -> list[bool]:
    """Return which of some points lie inside a ring."""
    xs, ys = zip(*points, strict=True)
    within: list[bool] = shapely.contains_xy(area_of(ring), xs, ys).tolist()
    return within


def rings_of(area: Region) -> list[list[Point]]:
    """Return the outlines and holes of an area, each with its first point at its end again."""
    rings = shapely.get_rings(shapely.get_parts(area))
    return [[(x, y) for x, y in shapely.get_coordinates(ring).tolist()] for ring in rings]


def is_simple(ring: Ring) -> bool:
    """Return whether the ring neither crosses nor touches itself."""
    return bool(area_of(ring).is_valid)


def self_crossing(ring: Ring) -> Point | None:
    """Return where a ring crosses or touches itself; None if nowhere."""
    reason = shapely.is_valid_reason(area_of(ring, 0.005))
    place = re.search(r"\[(\S+) (\S+)\]", reason)
    return (float(place[1]), float(place[2])) if place else None


def crossing(a: Ring, b: Ring) -> Point | None:
    """Return where two rings cross; None where one lies in the other, beside it, or only touches it."""
    p, q = area_of(a), area_of(b)
    shared = overlap(p, q)
    if shared is None or holds(p, q) or holds(q, p):
        return None
    return inner_point(p.exterior.intersection(q.exterior))


def same(a: Ring, b: Ring, within: float) -> bool:
    """Return whether two rings are one outline to within so many mm."""
    p, q = area_of(a), area_of(b)
    return bool(p.buffer(within, join_style="mitre").covers(q) and q.buffer(within, join_style="mitre").covers(p))


def is_offset(old: Ring, new: Ring, distance: float) -> bool:
    """Return whether ``new`` holds all that ``old`` grown (or shrunk) by a distance holds, and so lost nothing on the way."""
    style: Literal["round", "mitre"] = "round" if distance > 0 else "mitre"
    moved = area_of(old).buffer(distance, join_style=style, mitre_limit=2.0)
    return bool(area_of(new).buffer(0.05).covers(moved))


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
    # most does without it, and to grow an outline is dear
    return bool(outer.covers(inner) or outer.buffer(TOLERANCE, join_style="mitre").covers(inner))


def side_line(ring: Ring, sides: Iterable[str]) -> Region:
    """Return the edges of the named sides as lines. Those asked for last are kept: every cutout asks for its top's."""
    return _side_line(ring, frozenset(sides))


@lru_cache(maxsize=1024)
def _side_line(ring: Ring, sides: frozenset[str]) -> Region:
    lines = []
    for a, b in ring.edges():
        if a.side in sides:
            arc = arc_of(a, b)
            lines.append(path([a.at, b.at] if arc is None else arc.points(64)))
    return lines[0] if len(lines) == 1 else shapely.unary_union(lines)


def polygon(points: Sequence[Point]) -> Polygon:
    """Return the area within a closed line of points."""
    return Polygon(points)


def path(points: Sequence[Point]) -> LineString:
    """Return a path through ``points``."""
    line: LineString = shapely.linestrings(points)
    return line


def paths(lines: Sequence[Sequence[Point]]) -> MultiLineString:
    """Return several paths, each of as many points, as one region."""
    several: MultiLineString = shapely.multilinestrings(shapely.linestrings(lines))
    return several


def paths_of(region: Region) -> list[list[Point]]:
    """Return the points of each path of a region that is not empty."""
    lines = [part for part in shapely.get_parts(region) if isinstance(part, LineString) and not part.is_empty]
    points, owners = shapely.get_coordinates(lines, return_index=True)
    out: list[list[Point]] = [[] for _ in lines]
    for (x, y), owner in zip(points.tolist(), owners.tolist(), strict=True):
        out[owner].append((x, y))
    return out


def spot(point: Point) -> ShapelyPoint:
    """Return a point."""
    place: ShapelyPoint = shapely.points(point)
    return place


def nearest(a: Region, b: Region) -> tuple[Point, Point]:
    """Return the nearest points of two regions, one on each."""
    (px, py), (qx, qy) = shapely.get_coordinates(shapely.shortest_line(a, b)).tolist()
    return ((px, py), (qx, qy))


def near_pairs(regions: Sequence[Region], distance: float) -> list[tuple[int, int]]:
    """Return which regions lie no farther apart than ``distance`` (mm): their places, the lesser first, in order."""
    if len(regions) < 2:
        return []
    tree = shapely.STRtree(regions)
    found = tree.query(regions, predicate="dwithin", distance=distance)
    return sorted((int(i), int(j)) for i, j in found.T if i < j)


def inner_point(region: Region) -> Point:
    """Return a point well inside the region."""
    p = region.representative_point()
    return (p.x, p.y)


def moved(region: Region, place: Callable[[Point], Point]) -> Region:
    """Return a region with each of its points placed anew."""
    return shapely.transform(region, lambda points: [place((x, y)) for x, y in points])
