"""Tops divided into pieces: at corner joints, where an appliance breaks the run, and at straight seams."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from layout.access import way_in
from layout.cutouts import PlacedCutout, station
from layout.cutting import crossings, difference, edge_box, intersection, line_crossings, locate, split
from layout.faults import PlaceError
from layout.job import Job
from layout.joints import CornerJoint, JointKind, NoJoint, corner_joints, joint_angle
from layout.openings import (
    Opening,
    Part,
    broken,
    cut_line,
    divided_by_breaks,
    in_order,
    keep_clear,
    place_openings,
    wall_name,
)
from layout.outline import SAME, Frame, Point, Ring, edge_point
from layout.room import Room
from layout.rules import SEAM_STEP
from layout.seams import LIMIT, best_seams
from layout.top_plans import Leg, Side, TopPlan


@dataclass(frozen=True, slots=True)
class Piece:
    """One glued panel. ``ring`` is its outline in plan without cutouts; ``frame`` has x along its grain and the lower left
    corner of the outline's bounding box at (0, 0), seen from above with the front lowest."""

    id: str
    top: str
    part: int
    ring: Ring
    frame: Frame
    leg: Leg
    length: float
    width: float
    area: float
    sides: dict[str, Side]
    cutouts: tuple[PlacedCutout, ...]
    crossing: tuple[PlacedCutout, ...]

    @property
    def own_ring(self) -> Ring:
        """The outline in the piece's own frame."""
        return self.ring.moved(self.frame.from_plan)

    def made_rings(self) -> list[Ring]:
        """Return the outline as it is made, in the piece's own frame: open where a cutout lies over a joint, edges by side."""
        rings = [self.ring]
        for cut in self.crossing:
            rings = [part for ring in rings for part in difference(ring, cut.ring)]
        return [ring.moved(self.frame.from_plan) for ring in rings]

    def cut_rings(self) -> list[Ring]:
        """Return the outline as it is cut, in the piece's own frame, without vertices in the middle of a straight line."""
        return [ring.clean() for ring in self.made_rings()]


@dataclass(frozen=True, slots=True)
class Joint:
    """A joint between two pieces: its path in plan from back to front, and its acute angles (degrees) to their grains."""

    id: str
    kind: JointKind
    top: str
    pieces: tuple[str, str]
    points: tuple[Point, ...]
    angles: tuple[float, float]
    corner: str | None = None
    station: float | None = None
    wall: str | None = None

    @property
    def length(self) -> float:
        """Its length in mm along its path."""
        return sum(math.dist(p, q) for p, q in zip(self.points, self.points[1:], strict=False))


@dataclass(frozen=True, slots=True)
class Stuck:
    """A stretch with no allowed place for a seam, and what stood in the way; ``asked``: a seam by hand was there."""

    top: str
    ring: Ring
    length: float
    at: Point
    by_hand: bool
    undivided: bool


@dataclass(frozen=True, slots=True)
class Divided:
    """All tops divided."""

    parts: tuple[Part, ...]
    pieces: tuple[Piece, ...]
    joints: tuple[Joint, ...]
    openings: tuple[Opening, ...]
    corners: tuple[tuple[str, NoJoint], ...]
    stuck: tuple[Stuck, ...]


@dataclass(frozen=True, slots=True)
class _Cut:
    kind: JointKind
    points: tuple[Point, ...]
    corner: str | None = None
    station: float | None = None
    wall: str | None = None


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A ring with one grain, between corner joints and breaks."""

    ring: Ring
    legs: tuple[Leg, ...]
    part: int
    left: tuple[Point, ...] | None
    right: tuple[Point, ...] | None
    undivided: bool


def divide(job: Job, room: Room, tops: Sequence[TopPlan], cutouts: Sequence[PlacedCutout]) -> Divided:
    """Return the pieces, joints and parts of all tops, numbered in file order, along each run left to right."""
    openings = place_openings(job, room, tops)
    parts: list[Part] = []
    pieces: list[Piece] = []
    joints: list[Joint] = []
    corners: list[tuple[str, NoJoint]] = []
    stuck: list[Stuck] = []
    for top in tops:
        here = [o for o in openings if o.top == top.name]
        mine = [c for c in cutouts if c.top == top.name]
        at_corners = corner_joints(job, top, mine)
        corners += [(top.name, j) for j in at_corners if isinstance(j, NoJoint)]
        breaks = in_order(top, [o for o in here if o.breaks])
        keep_clear(top, breaks, at_corners)
        top_parts = divided_by_breaks(top, breaks)
        cuts: list[_Cut] = []
        rings: list[tuple[Ring, _Stretch]] = []
        for stretch in _stretches(top, at_corners, breaks, cuts):
            divided, failed = _seamed(job, room, top, stretch, mine, here, cuts)
            rings += [(ring, stretch) for ring in divided]
            stuck += failed
        first = len(pieces)
        for ring, stretch in rings:
            sides = top_parts[stretch.part - 1].sides
            pieces.append(_piece(f"P{len(pieces) + 1}", top, ring, stretch, sides, mine))
        for cut in _ordered(cuts, pieces[first:]):
            joint = _joint(f"J{len(joints) + 1}", top, cut, pieces[first:])
            joints += [joint] if joint else []
        parts += top_parts
    return Divided(tuple(parts), tuple(pieces), tuple(joints), openings, tuple(corners), tuple(stuck))


# --- stretches -----------------------------------------------------------------------------------------------------


def _stretches(
    top: TopPlan, joints: Sequence[CornerJoint | NoJoint | None], breaks: list[Opening], cuts: list[_Cut]
) -> list[_Stretch]:
    """Return the rings between corner joints and breaks, left to right, noting each corner joint in ``cuts``."""
    out: list[_Stretch] = []
    rest = top.ring
    legs = [top.legs[0]]
    left: tuple[Point, ...] | None = None
    undivided = False
    part = 1
    for i in range(len(top.legs)):
        joint = joints[i] if i < len(joints) else None
        if i < len(joints) and not isinstance(joint, CornerJoint):
            legs.append(top.legs[i + 1])
            undivided = undivided or isinstance(joint, NoJoint)
            continue
        right = None
        ring = rest
        if isinstance(joint, CornerJoint):
            ring, rest = split(rest, joint.points)
            right = joint.points
            cuts.append(_Cut(joint.kind, joint.points, "/".join(joint.walls)))
        remaining: Ring | None = ring
        start = left
        for opening in (o for o in breaks if o.leg in legs):
            if remaining is None:
                break
            before, strip, remaining = broken(remaining, opening)
            if before is not None:
                out.append(_Stretch(before, tuple(legs), part, start, None, undivided))
                part += 1
            if strip is not None:
                out.append(_Stretch(strip, (opening.leg,), part, None, None, False))
                part += 1
            start = None
        if remaining is not None:
            out.append(_Stretch(remaining, tuple(legs), part, start, right, undivided))
        if i < len(joints):
            legs, left, undivided = [top.legs[i + 1]], right, False
    return out


def _longest(job: Job, stretch: _Stretch) -> float:
    """Return how long a piece of a stretch may be: as boards are, or as the way in lets it where the shop wants that."""
    most = float(job.shop.max_length)
    if job.shop.seams == "boards":
        return most
    _, y0, _, y1 = stretch.ring.bounds(stretch.legs[0].frame)
    way = way_in(job, y1 - y0)
    return most if way is None else min(most, way.longest)


def _seamed(
    job: Job,
    room: Room,
    top: TopPlan,
    stretch: _Stretch,
    cutouts: Sequence[PlacedCutout],
    openings: Sequence[Opening],
    cuts: list[_Cut],
) -> tuple[list[Ring], list[Stuck]]:
    leg = stretch.legs[0]
    x0, _, x1, _ = stretch.ring.bounds(leg.frame)
    hand = _by_hand(job, room, top, stretch)
    longest = _longest(job, stretch)
    places: Sequence[tuple[Leg, float]]
    if hand:
        places = hand
    elif x1 - x0 <= longest + LIMIT:
        return [stretch.ring], []
    else:
        mine = [c for c in cutouts if not _outside(c, stretch)]
        allowed = _seam_places(job, stretch, mine, openings)
        found = best_seams(x0, x1, sorted(allowed), longest, float(job.shop.min_piece))
        if found is None or (stretch.undivided and found):
            return [stretch.ring], [_stuck(top, stretch, x0, x1, by_hand=False)]
        places = [allowed[u] for u in found]
    rings = [stretch.ring]
    for on, at in places:
        rings = _across(rings, on, at, cuts)
    failed = []
    for ring in rings if hand else []:
        a, _, b, _ = ring.bounds(leg.frame)
        if b - a > longest + 1e-6:
            failed.append(_stuck(top, replace(stretch, ring=ring), a, b, by_hand=True))
    return sorted(rings, key=lambda r: r.bounds(leg.frame)[0]), failed


def _stuck(top: TopPlan, stretch: _Stretch, x0: float, x1: float, by_hand: bool) -> Stuck:
    leg = stretch.legs[0]
    at = leg.frame.to_plan(((x0 + x1) / 2, (leg.back + leg.front) / 2))
    return Stuck(top.name, stretch.ring, x1 - x0, at, by_hand, stretch.undivided)


def _outside(cut: PlacedCutout, stretch: _Stretch) -> bool:
    """Whether a cutout lies on another stretch."""
    if cut.opens_front:
        return not _holds_side(stretch.ring, cut.name)
    if stretch.ring.contains(cut.center):
        return False
    return not intersection(stretch.ring, cut.ring)


_APART = 1.0
"""Seams by hand nearer than this (mm) are one, stated twice."""


def _by_hand(job: Job, room: Room, top: TopPlan, stretch: _Stretch) -> list[tuple[Leg, float]]:
    """Return the seams by hand on this stretch as (leg, station), left to right; their legs get no others."""
    out: list[tuple[Leg, float]] = []
    for k, joint in enumerate(job.joint):
        if joint.top != top.name or joint.at is None:
            continue
        at = float(joint.at)
        leg = top.leg(joint.wall)
        if joint.wall is not None:
            at = station(room, joint.wall, at, joint.from_)
        if leg not in stretch.legs:
            continue
        x0, _, x1, _ = top.ring.bounds(leg.frame)
        if not x0 + SAME < at < x1 - SAME:
            raise PlaceError(("joint", k, "at"), "a seam outside its top", "a station between its two ends")
        x0, _, x1, _ = stretch.ring.bounds(leg.frame)
        for joint_path in (stretch.left, stretch.right):
            xs = [leg.frame.from_plan(p)[0] for p in joint_path or ()]
            if xs and min(xs) - SAME < at < max(xs) + SAME:
                raise PlaceError(
                    ("joint", k, "at"), "a seam that runs into the corner joint", "a station clear of the corner joint"
                )
        if any(on is leg and abs(other - at) < _APART for on, other in out):
            raise PlaceError(("joint", k, "at"), "a seam where there is one already", "one [[joint]] for each seam")
        if x0 + SAME < at < x1 - SAME:
            out.append((leg, at))
    return sorted(out, key=lambda pair: (top.legs.index(pair[0]), pair[1]))


def _seam_places(
    job: Job, stretch: _Stretch, cutouts: Sequence[PlacedCutout], openings: Sequence[Opening]
) -> dict[float, tuple[Leg, float]]:
    """Return the allowed seam places: distance along the first leg to (leg, station)."""
    base = stretch.legs[0]
    units = job.job.units
    step = SEAM_STEP.size(units)
    clear, beside = float(job.shop.seam_clear), float(job.shop.opening_clear)
    blocked: list[tuple[float, float]] = []
    for cut in cutouts:
        x0, _, x1, _ = cut.ring.bounds(base.frame)
        blocked.append((x0 - clear, x1 + clear))
    notched: dict[str, list[float]] = {}
    for a, b in stretch.ring.edges():
        if a.side.startswith("notch "):
            notched.setdefault(a.side, []).extend(base.frame.from_plan(p)[0] for p in (a.at, b.at))
    blocked += [(min(xs) - clear, max(xs) + clear) for xs in notched.values()]
    for joint in (stretch.left, stretch.right):
        if joint is not None:
            xs = [base.frame.from_plan(p)[0] for p in joint]
            blocked.append((min(xs) - clear, max(xs) + clear))
    for opening in openings:
        if not opening.breaks and opening.leg in stretch.legs:
            shift = base.frame.from_plan(opening.leg.frame.to_plan((0.0, 0.0)))[0]
            blocked.append((shift + opening.start - beside, shift + opening.end + beside))
    x0, _, x1, _ = stretch.ring.bounds(base.frame)
    blocked = sorted((a + 1e-6, b - 1e-6) for a, b in blocked)
    out: dict[float, tuple[Leg, float]] = {}
    for leg in stretch.legs:
        shift = base.frame.from_plan(leg.frame.to_plan((0.0, 0.0)))[0]
        low = x0 if leg is stretch.legs[0] else max(x0, shift)
        high = x1 if leg is stretch.legs[-1] else min(x1, shift + leg.end)
        k, reach = 0, -math.inf
        for n in range(math.ceil((low - shift) / step), math.floor((high - shift) / step) + 1):
            u = shift + n * step
            # places come in order: how far reach the stretches that begin before this one?
            while k < len(blocked) and blocked[k][0] < u:
                reach = max(reach, blocked[k][1])
                k += 1
            if u >= reach:
                out.setdefault(u, (leg, n * step))
    return out


def _across(rings: list[Ring], leg: Leg, at: float, cuts: list[_Cut]) -> list[Ring]:
    """Cut every ring that the line square to ``leg`` at ``at`` runs through, noting the cuts."""
    out: list[Ring] = []
    for ring in rings:
        line = leg.across(at)
        reach = line_crossings(ring, line)
        paths = [
            (line.point(a), line.point(b))
            for a, b in zip(reach, reach[1:], strict=False)
            if ring.contains(line.point((a + b) / 2))
        ]
        if leg.wall is not None:
            path = cut_line(ring, leg, at)
            paths = [p for p in paths if path and math.dist(p[0], path[0]) < 1e-3] or ([path] if path else [])
        parts = [ring]
        for path in paths:
            k = min(range(len(parts)), key=lambda i: locate(parts[i], path[0])[2] + locate(parts[i], path[1])[2])
            if locate(parts[k], path[0])[2] + locate(parts[k], path[1])[2] > 1e-4:
                continue
            parts[k : k + 1] = split(parts[k], path)
            cuts.append(_Cut("seam", path, None, at, wall_name(leg)))
        out += parts
    return out


# --- pieces and joints ---------------------------------------------------------------------------------------------


def _piece(
    name: str, top: TopPlan, ring: Ring, stretch: _Stretch, sides: dict[str, Side], cutouts: Sequence[PlacedCutout]
) -> Piece:
    leg = stretch.legs[0]
    x0, y0, x1, y1 = ring.bounds(leg.frame)
    inside: list[PlacedCutout] = []
    crossing: list[PlacedCutout] = []
    area = ring.area
    for cut in cutouts:
        if cut.opens_front:
            if _holds_side(ring, cut.name):
                inside.append(cut)
            continue
        if _within(ring, cut.ring):
            inside.append(cut)
            area -= cut.ring.area
            continue
        shared = intersection(ring, cut.ring)
        if shared:
            crossing.append(cut)
            area -= sum(r.area for r in shared)
    x, y = leg.frame.to_plan((x0, y0))
    return Piece(
        id=name,
        top=top.name,
        part=stretch.part,
        ring=ring,
        frame=Frame(x, y, leg.frame.angle),
        leg=leg,
        length=x1 - x0,
        width=y1 - y0,
        area=area,
        sides={**sides, "joint": Side("joint", "joint", False)},
        cutouts=tuple(inside),
        crossing=tuple(crossing),
    )


def _holds_side(ring: Ring, side: str) -> bool:
    return any(v.side == side for v in ring.vertices)


def _within(ring: Ring, hole: Ring) -> bool:
    """Whether ``hole`` lies wholly in ``ring``: all its vertices and edge middles do, and no edges cross."""
    return all(
        ring.contains(edge_point(a, b, t)) for a, b in hole.edges() for t in (0.0, 0.5)
    ) and not _boundaries_cross(ring, hole)


def _boundaries_cross(a: Ring, b: Ring) -> bool:
    boxes = [(r, s, edge_box(r, s)) for r, s in b.edges()]
    for p, q in a.edges():
        x0, y0, x1, y1 = edge_box(p, q)
        for r, s, (u0, v0, u1, v1) in boxes:
            if x0 <= u1 and u0 <= x1 and y0 <= v1 and v0 <= y1 and crossings(p, q, r, s):
                return True
    return False


def _ordered(cuts: list[_Cut], pieces: Sequence[Piece]) -> list[_Cut]:
    """Return the cuts as one meets them along the top: by the first piece they bound."""

    def place(cut: _Cut) -> tuple[int, int]:
        beside = _beside(cut, pieces)
        return (beside[0], beside[1]) if beside else (len(pieces), 0)

    return sorted(cuts, key=place)


def _beside(cut: _Cut, pieces: Sequence[Piece]) -> tuple[int, int] | None:
    (x0, y0), (x1, y1) = cut.points[:2]
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    near = [k for k, p in enumerate(pieces) if locate(p.ring, middle)[2] < 1e-4]
    return (near[0], near[1]) if len(near) == 2 else None


def _joint(name: str, top: TopPlan, cut: _Cut, pieces: Sequence[Piece]) -> Joint | None:
    beside = _beside(cut, pieces)
    if beside is None:
        return None
    left, right = (pieces[k] for k in beside)
    angles = (joint_angle(cut.points, left.leg), joint_angle(cut.points, right.leg))
    return Joint(name, cut.kind, top.name, (left.id, right.id), cut.points, angles, cut.corner, cut.station, cut.wall)
