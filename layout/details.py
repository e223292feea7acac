"""Which details a job calls for, with the measures that each shows: sections through edges, overhangs, sinks and splashes,
joints from below, heights above the floor.

All measures are mm. ``at`` and ``outward`` of a section say where on the plan it is taken: a point on the edge and the
direction (radians) in which it leaves the wood.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from layout import region
from layout.cutouts import station
from layout.fasteners import Fastener, fasteners_of
from layout.fitting import wall_fits
from layout.hold_downs import slots
from layout.job_tops import RunTop
from layout.laid import Laid
from layout.natural import natural_sides
from layout.outline import Point, Ring, edge_heading, edge_point, rectangle
from layout.pieces import Joint
from layout.planning import top_height
from layout.profiles import SQUARE, side_profile
from layout.revisions import LETTERS
from layout.rules import HOLD_DOWN_SLOT
from layout.support import Carried, PlacedSupport


@dataclass(frozen=True, slots=True)
class EdgeSection:
    """An edge profile in section, and the sides that have it."""

    profile: str
    sides: tuple[str, ...]
    at: Point
    outward: float


@dataclass(frozen=True, slots=True)
class FrontSection:
    """A front edge over its cabinet, held down from below: how far it stands out, its profile, whether the line of screws
    there is the fixed one, and how long its slots are if it is not. ``most``: it varies, and this is where it is most."""

    top: str
    side: str
    profile: str
    overhang: float
    fixed: bool
    slot: float
    at: Point
    outward: float
    most: bool = False


@dataclass(frozen=True, slots=True)
class OverhangSection:
    """An overhang over its support: how far it stands out, what carries it (None: nothing does), how short that ends."""

    top: str
    side: str
    profile: str
    overhang: float
    kind: str | None
    short: float
    limit: float
    at: Point
    outward: float


@dataclass(frozen=True, slots=True)
class SinkSection:
    """A sink's mounting: the wood before it and by how much the top stands over the bowl (None: not given).

    ``ledge``: how wide and deep the ledge below is that its rim lies in, if there is one.
    """

    cutout: str
    mount: str
    rail: float
    profile: str
    reveal: float | None
    at: Point
    outward: float
    ledge: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class BackSection:
    """A back at its wall: the gaps it has there, its splash, and the wood left to scribe."""

    top: str
    wall: str
    gap: tuple[float, float]
    take_off: float
    slot: float
    splash: tuple[float, float] | None
    at: Point
    outward: float


@dataclass(frozen=True, slots=True)
class JointDetail:
    """A joint seen from below, with its fasteners."""

    joint: Joint
    fasteners: tuple[Fastener, ...]


@dataclass(frozen=True, slots=True)
class HeightsDetail:
    """Heights above the floor at one top, each with its name, lowest first; what was given and what is taken as usual."""

    top: str
    height: float
    given: bool
    walled: bool
    splash: float
    marks: tuple[tuple[float, str], ...]
    bands: tuple[tuple[float, float, str], ...]


Detail = EdgeSection | FrontSection | OverhangSection | SinkSection | BackSection | JointDetail | HeightsDetail


def details(laid: Laid) -> tuple[tuple[str, Detail], ...]:
    """Return the details that a job calls for, each under its letter."""
    found = [
        *_edges(laid),
        *_fronts(laid),
        *_overhangs(laid),
        *_sinks(laid),
        *_backs(laid),
        *_joints(laid),
        *_heights(laid),
    ]
    return tuple((letter(k), detail) for k, detail in enumerate(found))


def letter(k: int) -> str:
    """Return the letter of the detail that comes after ``k`` others, in letters as for revisions; after the last they are doubled."""
    turn, place = divmod(k, len(LETTERS))
    return LETTERS[place] * (turn + 1)


def _place(laid: Laid, top: str, side: str, share: float = 0.5) -> tuple[Point, float] | None:
    """Return a place on a side, on its longest edge, and the direction out of the wood there."""
    edges = [
        (a, b)
        for part in laid.divided.parts
        if part.top == top
        for a, b in part.ring.edges()
        if a.side == side and part.sides[side].free == laid_free(laid, top, side)
    ]
    if not edges:
        return None
    a, b = max(edges, key=lambda e: math.dist(e[0].at, e[1].at))
    return edge_point(a, b, share), edge_heading(a, b, share) - math.pi / 2


def laid_free(laid: Laid, top: str, side: str) -> bool:
    """Return whether a side of a top is free of walls and appliances."""
    return next(t for t in laid.tops if t.name == top).sides[side].free


def _edges(laid: Laid) -> Iterator[Detail]:
    """One section a profile in use, at the longest side that has it."""
    found: dict[str, dict[tuple[str, str], float]] = {}
    for part in laid.divided.parts:
        for side in part.ring.sides():
            profile = side_profile(laid.job, part, side)
            if profile != SQUARE and part.sides[side].kind not in ("corner", "step"):
                sides = found.setdefault(profile, {})
                sides[part.top, side] = sides.get((part.top, side), 0.0) + part.ring.side_length(side)
    for profile, sides in found.items():
        top, side = max(sides, key=lambda s: sides[s])
        place = _place(laid, top, side, 0.3)
        if place is not None:
            yield EdgeSection(profile, tuple(f"{t} {s}" for t, s in sides), *place)


def _clear_place(laid: Laid, top: str, side: str) -> tuple[Point, float] | None:
    """Return a place on a side where a section runs through no cutout and no opening below, if there is one."""
    first = None
    for share in (0.7, 0.3, 0.5, 0.85, 0.15, 0.6, 0.4, 0.93, 0.07):
        place = _place(laid, top, side, share)
        if place is None:
            return None
        first = first or place
        (x, y), turn = place
        inward = region.path([(x, y), (x - 600.0 * math.cos(turn), y - 600.0 * math.sin(turn))])
        if not any(area.intersects(inward) for area in in_the_way(laid, top)):
            return place
    return first


def in_the_way(laid: Laid, top: str) -> list[region.Region]:
    """Return what a section through a top's front had better not run through: its cutouts, and openings below or beside."""
    areas: list[region.Region] = [region.area_of(c.ring) for c in laid.cutouts if c.top == top]
    for o in (o for o in laid.divided.openings if o.top == top):
        box = rectangle(o.start, o.leg.front - 1.0, o.end, o.leg.back)
        areas.append(region.area_of(box.moved(o.leg.frame.to_plan)))
    return areas


def _slot(laid: Laid, top: str) -> float:
    """Return how long the longest slot of a top's hold-downs is, mm, the usual one at the least."""
    unit = laid.job.job.units
    usual = HOLD_DOWN_SLOT.size(unit)
    pieces = {p.id for p in laid.divided.pieces if p.top == top}
    return max([usual, *(length for hold, length in slots(laid) if hold.piece in pieces)])


def _profile(laid: Laid, top: str, side: str) -> str:
    part = next(p for p in laid.divided.parts if p.top == top and side in p.ring.sides())
    return side_profile(laid.job, part, side)


def _fronts(laid: Laid) -> Iterator[Detail]:
    """One section for each different overhang of a front over its cabinets, within the limit."""
    seen: set[tuple[str, int]] = set()
    limit = float(laid.job.shop.overhang_limit)
    for top, carried in zip(laid.tops, laid.carried, strict=True):
        for over in carried.overhangs:
            profile = _profile(laid, top.name, over.side)
            key = (profile, round(over.amount))
            if over.amount < 1.0 or top.sides[over.side].kind != "front" or over.amount > limit or key in seen:
                continue
            most = over.side in natural_sides(laid.job, top.name)
            place = _farthest(top.ring, over.side, carried) if most else _clear_place(laid, top.name, over.side)
            if place is not None:
                seen.add(key)
                amount = float(carried.built.distance(region.spot(place[0])))
                fixed = top.shape == "run"
                yield FrontSection(top.name, over.side, profile, amount, fixed, _slot(laid, top.name), *place, most)


_SHARES = (0.0, 0.25, 0.5, 0.75)
"""Where along each arc of a natural edge it is looked at."""


def _farthest(ring: Ring, side: str, carried: Carried) -> tuple[Point, float]:
    """Return the point of a side's curve that stands out most over what carries it, and the direction out of the wood."""
    places = [(edge_point(a, b, t), edge_heading(a, b, t)) for a, b in ring.edges() if a.side == side for t in _SHARES]
    out = [float(carried.built.distance(region.spot(at))) for at, _ in places]
    # beyond what carries it, a corner is farther off than the side stands out
    most = next(o.amount for o in carried.overhangs if o.side == side) + region.TOLERANCE
    k = max(range(len(places)), key=lambda n: out[n] if out[n] <= most else -1.0)
    at, heading = places[k]
    return at, heading - math.pi / 2


def _overhangs(laid: Laid) -> Iterator[Detail]:
    """One section for each side that stands farther out than the limit, or has a support of its own below it."""
    limit = float(laid.job.shop.overhang_limit)
    for top, carried in zip(laid.tops, laid.carried, strict=True):
        lines = {o.side: region.side_line(top.ring, [o.side]) for o in carried.overhangs if o.side in top.ring.sides()}
        for side, line in lines.items():
            over = next(o for o in carried.overhangs if o.side == side)
            below = _below(laid, top.name, lines, side)
            place = _place(laid, top.name, side)
            if place is None or (below is None and over.amount <= limit):
                continue
            at = place[0] if below is None else region.nearest(line, region.area_of(below.ring))[0]
            amount = float(carried.built.distance(region.spot(at)))
            if amount < 1.0:
                continue
            short = 0.0 if below is None else float(line.distance(region.area_of(below.ring)))
            kind = None if below is None else below.kind
            profile = _profile(laid, top.name, side)
            yield OverhangSection(top.name, side, profile, amount, kind, short, limit, at, place[1])


def _below(laid: Laid, top: str, lines: dict[str, region.Region], side: str) -> PlacedSupport | None:
    """Return a support that stands out from what is built towards this side rather than any other: the middle one."""
    built = next(c.built for c in laid.carried if c.top == top)
    mine = []
    for support in (s for s in laid.supports if s.top == top):
        shape = region.area_of(support.ring)
        if not built.covers(shape) and min(lines, key=lambda name: float(lines[name].distance(shape))) == side:
            mine.append(support)
    return mine[len(mine) // 2] if mine else None


def _sinks(laid: Laid) -> Iterator[Detail]:
    """One section for each different mounting of a sink."""
    seen: set[tuple[str, float | None, tuple[float, float] | None]] = set()
    for cut in laid.cutouts:
        if cut.kind != "sink" or cut.mount is None:
            continue
        stated = laid.job.cutout[cut.index].reveal
        reveal = None if stated is None else float(stated)
        below = laid.job.cutout[cut.index].ledge
        ledge = None if below is None else (float(below.width), float(below.depth))
        if (cut.mount, reveal, ledge) in seen:
            continue
        seen.add((cut.mount, reveal, ledge))
        to, x = cut.leg.frame.to_plan, cut.leg.frame.from_plan(cut.center)[0]
        if cut.corner is not None:
            named = f"{cut.corner} inside"
            side = named if named in _sides(laid, cut.top) else f"{cut.corner.partition('/')[0]} front"
        else:
            side = next((s for s in _fronts_of(laid, cut.top, cut.leg.wall.name if cut.leg.wall else "")), "front")
        profile = _profile(laid, cut.top, side) if side in _sides(laid, cut.top) else SQUARE
        # an apron sink's mounting is at its back, where there is wood
        at = to((x, cut.ring.bounds(cut.leg.frame)[3] if cut.mount == "apron" else cut.leg.front))
        outward = cut.leg.frame.angle - math.pi / 2
        yield SinkSection(cut.name, cut.mount, cut.setback, profile, reveal, at, outward, ledge)


def _sides(laid: Laid, top: str) -> set[str]:
    return {s for p in laid.divided.parts if p.top == top for s in p.ring.sides()}


def _fronts_of(laid: Laid, top: str, wall: str) -> Iterator[str]:
    for name in (f"{wall} front", "front"):
        if name in _sides(laid, top):
            yield name


def _backs(laid: Laid) -> Iterator[Detail]:
    """One section for each different way in which a back meets its wall."""
    fits = wall_fits(laid.job, laid.tops, laid.divided.parts)
    seen: set[tuple[object, ...]] = set()
    for top in laid.tops:
        spec = laid.job.top[top.index]
        if not isinstance(spec, RunTop):
            continue
        for leg in top.legs:
            here = [f for f in fits if f.top == top.name and f.leg == leg]
            if leg.wall is None or not here:
                continue
            splash = spec.splash.get(leg.wall.name) if isinstance(spec.splash, dict) else spec.splash
            size = (float(splash), float(spec.splash_thickness)) if splash and splash.mm > 0 else None
            gaps = (min(f.gap for f in here), max(f.gap for f in here))
            take_off = max(f.take_off for f in here)
            key = (round(gaps[0], 1), round(gaps[1], 1), round(take_off, 1), size)
            place = _place(laid, top.name, f"{leg.wall.name} back", 0.65)
            if key not in seen and place is not None:
                seen.add(key)
                yield BackSection(top.name, leg.wall.name, gaps, take_off, _slot(laid, top.name), size, *place)


def _joints(laid: Laid) -> Iterator[Detail]:
    """One view from below for each joint."""
    for joint in laid.divided.joints:
        yield JointDetail(joint, fasteners_of(laid)[joint.id])


def _heights(laid: Laid) -> Iterator[Detail]:
    """One diagram for each different height of a top, with what stands at it."""
    seen: set[tuple[float, tuple[tuple[float, str], ...]]] = set()
    for top in laid.tops:
        spec = laid.job.top[top.index]
        height = top_height(laid, top)
        marks: list[tuple[float, str]] = []
        bands: list[tuple[float, float, str]] = []
        splash = 0.0
        if isinstance(spec, RunTop):
            stated = list(spec.splash.values()) if isinstance(spec.splash, dict) else [spec.splash]
            splash = max((float(s) for s in stated), default=0.0)
            for window in laid.job.window:
                leg = next((g for g in top.legs if g.wall and g.wall.name == window.wall), None)
                x = station(laid.room, window.wall, float(window.at), window.from_)
                if leg and window.sill is not None and x < leg.end and x + float(window.width) > leg.start:
                    marks.append((float(window.sill), f"sill of {window.name}"))
        for opening in laid.divided.openings:
            stands = laid.job.appliance[opening.index].top_height
            if opening.top == top.name and stands is not None:
                bands.append((float(stands[0]), float(stands[1]), opening.kind))
        key = (height, tuple(marks))
        if key not in seen and (spec.height is not None or marks or bands):
            seen.add(key)
            walled = isinstance(spec, RunTop)
            given = spec.height is not None
            yield HeightsDetail(top.name, height, given, walled, splash, tuple(sorted(marks)), tuple(bands))
