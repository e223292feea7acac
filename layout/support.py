"""What carries a top, how far its sides stand beyond it, and where that is too far (fixed by the format).

All regions are exact for polygons: the grown area keeps its corners square, gaps along the grain are filled where they
are no wider than the span, slab by slab between the heights at which anything changes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from shapely.geometry import Polygon

from layout import region
from layout.cutouts import center_on_leg, station
from layout.job import Job
from layout.job_joints import Support
from layout.openings import Part
from layout.outline import Frame, Point, Ring, Vertex, arc_of, edge_heading, edge_point, rectangle
from layout.pieces import Divided
from layout.region import Region
from layout.room import Room
from layout.top_plans import TopPlan


@dataclass(frozen=True, slots=True)
class PlacedSupport:
    """A support in plan."""

    name: str
    kind: str
    top: str
    ring: Ring
    index: int


@dataclass(frozen=True, slots=True)
class Overhang:
    """How far a side's edge stands beyond what carries it (mm, square to the edge, at its worst), and where."""

    top: str
    side: str
    amount: float
    supported: bool
    at: Point


@dataclass(frozen=True, slots=True)
class Carried:
    """A top with what carries it and what of it stands too far out, in plan."""

    top: str
    built: Region
    carried: Region
    unsupported: tuple[Polygon, ...]
    overhangs: tuple[Overhang, ...]


def place_supports(job: Job, room: Room, tops: Iterable[TopPlan]) -> tuple[PlacedSupport, ...]:
    """Return every support in plan, in file order; unnamed ones are B1, B2, ..."""
    plans = {t.name: t for t in tops}
    return tuple(placed_support(job, room, plans[s.top], s, k) for k, s in enumerate(job.support))


def placed_support(job: Job, room: Room, top: TopPlan, item: Support, index: int) -> PlacedSupport:
    """Return one support in plan."""
    along, across = (float(s) for s in item.size)
    leg, (x, y) = center_on_leg(job, room, top, item, across)
    ring = rectangle(x - along / 2, y - across / 2, x + along / 2, y + across / 2).moved(leg.frame.to_plan)
    return PlacedSupport(item.name or f"B{index + 1}", item.kind, top.name, ring, index)


def carry(job: Job, room: Room, top: TopPlan, divided: Divided, supports: Iterable[PlacedSupport]) -> Carried:
    """Return what carries ``top`` and what of it does not stand near enough to that."""
    parts = [p for p in divided.parts if p.top == top.name]
    whole = region.union(region.area_of(p.ring) for p in parts)
    built = whole if top.built is None else _built(job, room, top)
    posts = [region.area_of(s.ring) for s in supports if s.top == top.name]
    base = region.union([built, *posts]) if posts else built
    filled = [base]
    span = float(job.shop.support_span)
    for frame in dict.fromkeys(p.leg.frame for p in divided.pieces if p.top == top.name):
        mine = [region.area_of(p.ring) for p in divided.pieces if p.top == top.name and p.leg.frame == frame]
        between = fill_gaps(base, frame, span)
        if between is not None:
            filled.append(between.intersection(region.union(mine)))
    carried = region.union(filled) if len(filled) > 1 else base
    limit = float(job.shop.overhang_limit)
    grown = carried.buffer(limit + region.TOLERANCE, join_style="mitre")
    beyond = tuple(region.polygons(whole.difference(grown), least=1e-3))
    return Carried(top.name, built, carried, beyond, _overhangs(top, parts, built, carried, beyond, limit))


def _built(job: Job, room: Room, top: TopPlan) -> Region:
    """What is built below: as laid out with the top, but where a wall lists its cabinets, those alone."""
    assert top.built is not None
    listed = {c.wall for c in job.cabinet}
    if top.shape != "run" or not any(leg.wall and leg.wall.name in listed for leg in top.legs):
        return region.union([region.area_of(top.built)])
    areas = [q for leg, q in _leg_areas(top) if leg not in listed]
    for cabinet in job.cabinet:
        leg = next((g for g in top.legs if g.wall and g.wall.name == cabinet.wall), None)
        if leg is None:
            continue
        x0 = station(room, cabinet.wall, float(cabinet.at), cabinet.from_)
        box = rectangle(x0, -float(cabinet.depth), x0 + float(cabinet.width), 0.0)
        areas.append(region.area_of(box.moved(leg.frame.to_plan)))
    return region.union(areas)


def _leg_areas(top: TopPlan) -> list[tuple[str, Polygon]]:
    """Return what is built along each wall, parted at the corners from back to front."""
    assert top.built is not None
    out = []
    for leg in top.legs:
        assert leg.wall is not None
        name = leg.wall.name
        points: list[Point] = []
        for a, b in top.built.edges():
            if a.side in (f"{name} front", f"{name} back"):
                points += [a.at, b.at]
        if len(points) < 3:
            continue  # a leg so short that nothing is built along it
        out.append((name, Polygon(points).buffer(0)))
    return out


def fill_gaps(area: Region, frame: Frame, span: float) -> Region | None:
    """Return what lies between places of ``area`` along the frame's x with at most ``span`` between them; None if nothing."""
    edges: list[tuple[Point, Point]] = []
    for polygon in region.polygons(area):
        for line in (polygon.exterior, *polygon.interiors):
            points = [frame.from_plan((x, y)) for x, y in line.coords]
            edges += zip(points, points[1:], strict=False)
    levels = sorted({p[1] for edge in edges for p in edge})
    levels = [y for k, y in enumerate(levels) if k == 0 or y - levels[k - 1] > 1e-7]
    fills: list[Polygon] = []
    for low, high in zip(levels, levels[1:], strict=False):
        spans = sorted(
            ((_x_at(p, q, low), _x_at(p, q, high)) for p, q in edges if min(p[1], q[1]) <= low + 1e-7 and max(p[1], q[1]) >= high - 1e-7),
            key=sum,
        )  # fmt: skip
        for left, right in zip(spans[1::2], spans[2::2], strict=False):
            fills += _between(left, right, low, high, span)
    if not fills:
        return None
    return region.union(
        Polygon([frame.to_plan(p) for p in f.exterior.coords]).buffer(1e-6, join_style="mitre") for f in fills
    )


def _x_at(p: Point, q: Point, y: float) -> float:
    return p[0] + (q[0] - p[0]) * (y - p[1]) / (q[1] - p[1])


def _between(
    left: tuple[float, float], right: tuple[float, float], low: float, high: float, span: float
) -> list[Polygon]:
    """Return the part of a slab's gap, between its left and right bounds at both heights, that is no wider than the span."""
    gap_low, gap_high = right[0] - left[0], right[1] - left[1]
    limit = span + 1e-6
    if max(gap_low, gap_high) < 1e-7 or min(gap_low, gap_high) > limit:
        return []

    def bound(t: float) -> tuple[float, float, float]:
        return (left[0] + (left[1] - left[0]) * t, right[0] + (right[1] - right[0]) * t, low + (high - low) * t)

    t0, t1 = 0.0, 1.0
    if gap_low > limit:
        t0 = (gap_low - limit) / (gap_low - gap_high)
    elif gap_high > limit:
        t1 = (limit - gap_low) / (gap_high - gap_low)
    a, b = bound(t0), bound(t1)
    polygon = Polygon([(a[0], a[2]), (a[1], a[2]), (b[1], b[2]), (b[0], b[2])])
    return [polygon] if polygon.area > 1e-6 else []


# --- overhangs -----------------------------------------------------------------------------------------------------


def _overhangs(
    top: TopPlan, parts: Sequence[Part], built: Region, carried: Region, beyond: Sequence[Polygon], limit: float
) -> tuple[Overhang, ...]:
    worst: dict[str, tuple[float, Point]] = {}
    for part in parts:
        for a, b in part.ring.edges():
            side = part.sides.get(a.side)
            if side is None or not side.free or side.kind not in ("front", "back", "end"):
                continue
            amount, at = edge_overhang(part.ring, a, b, built, carried)
            if a.side not in worst or amount > worst[a.side][0]:
                worst[a.side] = (amount, at)
    beside = worst if beyond else ()
    edges = {name: region.union(region.side_line(p.ring, [name]) for p in parts) for name in beside}
    loose: set[str] = set()
    for where in beyond:
        gaps = {name: float(where.distance(edges[name])) for name in worst}
        touched = [name for name, gap in gaps.items() if gap <= max(0.02, min(gaps.values()))]
        # of the sides it reaches, those that stand too far out; where none does, it is a gap below all of them
        loose.update([name for name in touched if worst[name][0] > limit + region.TOLERANCE] or touched)
    return tuple(
        Overhang(top.name, name, worst[name][0], name not in loose, worst[name][1])
        for name in top.sides
        if name in worst
    )


def edge_overhang(ring: Ring, a: Vertex, b: Vertex, built: Region, carried: Region) -> tuple[float, Point]:
    """Return how far the edge stands beyond ``carried`` at its worst, square to the edge (mm), and where on the edge.

    Places that look past the side of what is built belong to another side's overhang, unless the whole edge does: then
    it is the top's extent there.
    """
    x0, y0, x1, y1 = ring.bounds()
    reach = math.hypot(x1 - x0, y1 - y0) + 1.0
    best: tuple[float, Point] | None = None
    for t in _shares(a, b, carried):
        x, y = edge_point(a, b, t)
        eye = region.spot((x, y))
        # what does not look past is no further off than this, and most places are not worth a look
        most = 2.0 * built.distance(eye) + 1e-3
        if best is not None and most <= best[0]:
            continue
        inward = edge_heading(a, b, t) + math.pi / 2
        look = region.path([(x, y), (x + reach * math.cos(inward), y + reach * math.sin(inward))])
        hit = built.intersection(look)
        # it misses what is built, or meets it more than twice as far off as it stands aside
        if hit.is_empty or hit.distance(eye) > most:
            continue
        amount = float((hit if carried is built else carried.intersection(look)).distance(eye))
        if best is None or amount > best[0] + 1e-7:
            best = (amount, (x, y))
    if best is not None:
        return best if best[0] > 1e-4 else (0.0, best[1])
    middle = edge_point(a, b, 0.5)
    inward = edge_heading(a, b, 0.5) + math.pi / 2
    return (ring.bounds(Frame(*middle, inward))[2], middle)


def _shares(a: Vertex, b: Vertex, carried: Region) -> list[float]:
    """Return where along the edge the overhang can be at its worst: beside each corner of what carries, and its ends.

    On an arc, where one looks in along the radii, also square to each side of what carries: between these places the
    overhang only rises or only falls.
    """
    arc = arc_of(a, b)
    lines = [line for polygon in region.polygons(carried) for line in (polygon.exterior, *polygon.interiors)]
    stops = {0.0, 1.0}
    if arc is not None:
        hair = 1e-4 / (arc.radius * abs(arc.sweep))
        for line in lines:
            points = list(line.coords)
            for (x0, y0), (x1, y1) in zip(points, points[1:], strict=False):
                stops.add(arc.share((x0, y0)))
                stops.add(arc.share((2 * arc.cx - x0, 2 * arc.cy - y0)))
                stops.update(arc.share((arc.cx + s * (y1 - y0), arc.cy - s * (x1 - x0))) for s in (1.0, -1.0))
    else:
        length = math.dist(a.at, b.at)
        frame = Frame(a.x, a.y, math.atan2(b.y - a.y, b.x - a.x))
        hair = 1e-4 / length
        for line in lines:
            stops.update(frame.from_plan((x, y))[0] / length for x, y in line.coords)
    near = {t + d for t in stops for d in (-hair, hair)}
    return sorted(t for t in near if 0.0 <= t <= 1.0)


def grow(supports: Sequence[PlacedSupport], more: Sequence[PlacedSupport]) -> tuple[PlacedSupport, ...]:
    """Return the supports with some more, numbered on."""
    return (*supports, *(replace(s, index=len(supports) + k) for k, s in enumerate(more)))
