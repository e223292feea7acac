"""The checks: pure functions from what was laid out to findings. Each rule's number and source stand in `rules.py`."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from layout import region
from layout.brackets import plan_brackets
from layout.cutouts import PlacedCutout
from layout.findings import Finding, finding
from layout.job import Job, OutlineTop, RunTop
from layout.joints import NoJoint
from layout.outline import SAME, Ring, arc_of, edge_heading
from layout.pieces import Divided, Piece, Stuck
from layout.room import Room
from layout.rules import END_GRAIN_ROOM, MEASURE_TOLERANCE, THICKNESS
from layout.support import Carried, PlacedSupport
from layout.tops import TopPlan, inside_angle
from layout.units import Labels, parse_length
from layout.webs import WebWidth, neck, part_of, webs


@dataclass(frozen=True, slots=True)
class Laid:
    """What the checks look at: the job laid out, before findings."""

    job: Job
    room: Room
    tops: tuple[TopPlan, ...]
    cutouts: tuple[PlacedCutout, ...]
    divided: Divided
    supports: tuple[PlacedSupport, ...]
    carried: tuple[Carried, ...]
    labels: Labels


def check(laid: Laid) -> tuple[Finding, ...]:
    """Return every finding, in the order of the rule table."""
    found: list[Finding] = []
    for rule in (
        _overhangs,
        _seams,
        _corners,
        _wide,
        _webs,
        _necks,
        _outside,
        _overlaps,
        _tops_overlap,
        _tight_corners,
        _thickness,
        _end_grain,
        _measures,
        _closing,
        _support_not_given,
    ):
        found += rule(laid)
    return tuple(found)


def _pieces_at(laid: Laid, area: region.Region, top: str | None = None) -> tuple[str, ...]:
    return tuple(
        p.id
        for p in laid.divided.pieces
        if (top is None or p.top == top) and region.area_of(p.ring).buffer(region.TOLERANCE).intersects(area)
    )


def _overhangs(laid: Laid) -> Iterator[Finding]:
    labels, limit = laid.labels, float(laid.job.shop.overhang_limit)
    for top, carried in zip(laid.tops, laid.carried, strict=True):
        seats = laid.job.top[top.index].seats
        for where in carried.unsupported:
            sides = [o for o in carried.overhangs if not o.supported and _touches(top, o.side, where)]
            worst = max(sides, key=lambda o: o.amount, default=None)
            amount = worst.amount if worst else limit + _depth(where)
            plan = plan_brackets(laid.job, laid.room, top, laid.divided, laid.supports, carried, where)
            at = region.inner_point(where)
            named = f" at its {worst.side}" if worst else ""
            remedy = (
                f"carry it by {plan.words}, screwed to the top so that the edge cannot curl"
                if plan
                else "bring what is below nearer to the edge, or make the top smaller there"
            )
            yield finding(
                "overhang-unsupported",
                top.name,
                f"{top.name} stands {labels.fine(amount)} beyond what carries it{named}; the limit is {labels.fine(limit)}"
                + (f", and {seats} people are to sit there" if seats else ""),
                remedy,
                severity="stop" if seats else None,
                value=amount,
                limit=limit,
                at=at,
                pieces=_pieces_at(laid, where, top.name),
                paste=plan.paste if plan else "",
            )


def _touches(top: TopPlan, side: str, where: region.Region) -> bool:
    return side in top.ring.sides() and bool(region.side_line(top.ring, [side]).distance(where) < 0.02)


def _depth(where: region.Region) -> float:
    """Return about how deep a region is: twice its area over its rim."""
    return float(2 * where.area / where.length)


def _stuck_pieces(laid: Laid, stuck: Stuck) -> tuple[str, ...]:
    return tuple(
        p.id
        for p in laid.divided.pieces
        if p.top == stuck.top and region.overlap(region.area_of(p.ring), region.area_of(stuck.ring))
    )


def _seams(laid: Laid) -> Iterator[Finding]:
    labels, limit = laid.labels, float(laid.job.shop.max_length)
    for stuck in laid.divided.stuck:
        none = not stuck.by_hand and not stuck.undivided
        pieces = _stuck_pieces(laid, stuck)
        name = pieces[0] if pieces else stuck.top
        why = "and no place is clear for a seam" if none else "as it is divided"
        remedy = (
            "move a cutout, lower seam_clear, opening_clear or min_piece if the shop can, place a seam by hand with [[joint]], "
            "or raise max_length if such boards are to be had"
            if none
            else "add a seam by hand with [[joint]], or raise max_length if such boards are to be had"
        )
        if stuck.undivided:
            remedy = "make the corner joint possible, or raise max_length if such boards are to be had"
        yield finding(
            "seam-none-possible" if none else "piece-too-long",
            name,
            f"{name} of {stuck.top} is {labels.text(stuck.length)} long along the grain {why}; the limit is {labels.text(limit)}",
            remedy,
            value=stuck.length,
            limit=limit,
            at=stuck.at,
            pieces=pieces,
        )


def _corners(laid: Laid) -> Iterator[Finding]:
    for top_name, corner in laid.divided.corners:
        yield _corner(laid, top_name, corner)


def _corner(laid: Laid, top: str, corner: NoJoint) -> Finding:
    instead = " or ".join(corner.instead)
    near = region.spot(corner.at).buffer(1.0)
    return finding(
        "leg-too-short",
        f"{corner.walls[0]}/{corner.walls[1]}",
        f"a {corner.kind} at corner {corner.walls[0]}/{corner.walls[1]} of {top} cannot be: a leg is too short or the "
        "depths too unequal for it; the corner is left undivided",
        f"use {instead} under [[joint]]"
        if instead
        else "lengthen the leg, or bring the two depths nearer to each other",
        at=corner.at,
        pieces=_pieces_at(laid, near, top),
    )


def _wide(laid: Laid) -> Iterator[Finding]:
    labels, limit = laid.labels, float(laid.job.shop.max_width)
    for piece in laid.divided.pieces:
        if piece.width > limit + region.TOLERANCE:
            yield finding(
                "piece-too-wide",
                piece.id,
                f"{piece.id} is {labels.text(piece.width)} wide across the grain; the widest glued blank is {labels.text(limit)}",
                "ask the shop whether it can glue that width, turn the grain, or divide the top",
                value=piece.width,
                limit=limit,
                at=piece.frame.to_plan((piece.length / 2, piece.width / 2)),
                pieces=(piece.id,),
            )


_BESIDE = {
    "front": "the front edge",
    "back": "the back edge",
    "end": "the exposed end",
    "between": "cutout {}",
    "joint": "joint {}",
    "hole": "{}",
}


def _webs(laid: Laid) -> Iterator[Finding]:
    labels = laid.labels
    for web in webs(laid.divided, laid.cutouts, laid.job.shop.web):
        if web.width >= web.limit - region.TOLERANCE:
            continue
        grave = web.width < web.limit / 2 - region.TOLERANCE
        beside = _BESIDE[web.kind].format(web.beside)
        cut = next(c for c in laid.cutouts if c.name == web.cutout)
        yield finding(
            "web-too-thin",
            web.cutout,
            f"only {labels.fine(web.width)} of wood is left between {web.cutout} and {beside}; the shop wants {labels.fine(web.limit)}",
            _web_remedy(web, labels),
            severity="stop" if grave else None,
            value=web.width,
            limit=web.limit,
            at=web.at,
            pieces=_pieces_at(laid, region.area_of(cut.ring), cut.top),
        )


def _web_remedy(web: WebWidth, labels: Labels) -> str:
    more = labels.fine(web.limit - web.width)
    if web.kind == "front":
        return f"raise the setback of {web.cutout} by {more}, or ask the shop"
    if web.kind == "back":
        return f"lower the setback of {web.cutout} by {more} or make the top deeper, or ask the shop"
    return f"move {web.cutout} {more} away from it, or ask the shop"


def _necks(laid: Laid) -> Iterator[Finding]:
    limit = float(laid.job.shop.web.between)
    for part in laid.divided.parts:
        aprons = [c for c in laid.cutouts if c.opens_front and any(v.side == c.name for v in part.ring.vertices)]
        # the strips round an apron sink are webs of that sink, measured as such
        shape = region.union([region.area_of(part.ring), *(region.area_of(c.ring).buffer(0.02) for c in aprons)])
        found = [n for p in region.polygons(shape) if (n := neck(p, limit - region.TOLERANCE))]
        for width, at in found:
            yield finding(
                "web-too-thin",
                part.top,
                f"{part.top} is only {laid.labels.fine(width)} wide at a neck of its outline; the shop wants {laid.labels.fine(limit)}",
                "widen the outline there, or divide it at the neck with a joint",
                severity="stop" if width < limit / 2 - region.TOLERANCE else None,
                value=width,
                limit=limit,
                at=at,
                pieces=_pieces_at(laid, region.spot(at), part.top),
            )


def _outside(laid: Laid) -> Iterator[Finding]:
    for cut in laid.cutouts:
        if part_of(cut, laid.divided.parts) is not None and not _apron_sticks_out(cut):
            continue
        top = region.union(region.area_of(p.ring) for p in laid.divided.parts if p.top == cut.top)
        shape = region.area_of(cut.ring)
        out = shape.difference(top)
        touched = _pieces_at(laid, shape, cut.top) or tuple(p.id for p in laid.divided.pieces if p.top == cut.top)
        yield finding(
            "cutout-outside",
            cut.name,
            f"{cut.name} is not wholly inside {cut.top}: {out.area / shape.area:.0%} of it lies beyond its edges"
            if not cut.opens_front
            else f"{cut.name} is wider than the front of {cut.top} where it stands",
            "check its station, setback and size against the sketch",
            at=cut.center,
            pieces=touched,
        )


def _apron_sticks_out(cut: PlacedCutout) -> bool:
    if not cut.opens_front:
        return False
    x0, x1 = cut.extent
    return x1 - x0 < cut.size[0] - region.TOLERANCE


def _overlaps(laid: Laid) -> Iterator[Finding]:
    shapes = [region.area_of(c.ring) for c in laid.cutouts]
    for k, a in enumerate(laid.cutouts):
        for n in range(k + 1, len(laid.cutouts)):
            b = laid.cutouts[n]
            shared = region.overlap(shapes[k], shapes[n])
            if shared is not None:
                yield finding(
                    "cutouts-overlap",
                    f"{a.name}, {b.name}",
                    f"{a.name} and {b.name} overlap",
                    "move one of them, or make one cutout of both",
                    at=region.inner_point(shared),
                    pieces=_pieces_at(laid, region.union([shapes[k], shapes[n]])),
                )


def _tops_overlap(laid: Laid) -> Iterator[Finding]:
    shapes = {
        t.name: region.union(region.area_of(p.ring) for p in laid.divided.parts if p.top == t.name) for t in laid.tops
    }
    names = list(shapes)
    for k, a in enumerate(names):
        for b in names[k + 1 :]:
            shared = region.overlap(shapes[a], shapes[b])
            if shared is not None:
                yield finding(
                    "tops-overlap",
                    f"{a}, {b}",
                    f"{a} and {b} lie over one another",
                    "move one of them, shorten a leg, or make them one run",
                    at=region.inner_point(shared),
                    pieces=_pieces_at(laid, shared),
                )


def _tight_corners(laid: Laid) -> Iterator[Finding]:
    bit = float(laid.job.shop.tool_diameter) / 2
    labels = laid.labels
    for cut in laid.cutouts:
        if cut.diameter is None and cut.radius < bit - region.TOLERANCE:
            yield finding(
                "corner-too-tight",
                cut.name,
                f"the inside corners of {cut.name} have a radius of {labels.fine(cut.radius)}; "
                f"a {labels.fine(2 * bit)} bit leaves {labels.fine(bit)}",
                f"give it radius {labels.fine(bit)} or more, or have the corners squared by hand",
                value=cut.radius,
                limit=bit,
                at=cut.center,
                pieces=_pieces_at(laid, region.area_of(cut.ring), cut.top),
            )
    openings = {c.name for c in laid.cutouts}
    for piece in laid.divided.pieces:
        tight = [n for n in _inside_corners(piece, bit) if n[2] not in openings]
        if tight:
            radius, at, _ = min(tight)
            yield finding(
                "corner-too-tight",
                piece.id,
                f"{piece.id} has {len(tight)} inside corner{'s' if len(tight) > 1 else ''} of its outline tighter than "
                f"a {labels.fine(2 * bit)} bit, radius {labels.fine(radius)}",
                f"round the corner by {labels.fine(bit)} or more, or have it squared by hand",
                value=radius,
                limit=bit,
                at=at,
                pieces=(piece.id,),
            )


def _inside_corners(piece: Piece, bit: float) -> list[tuple[float, tuple[float, float], str]]:
    """Return inside corners of a piece's outline tighter than the bit, joints apart: radius, place, side."""
    ring: Ring = piece.ring.clean()
    out = []
    edges = list(ring.edges())
    for k, (a, b) in enumerate(edges):
        p, q = edges[k - 1]
        if "joint" in (p.side, a.side):
            continue
        turn = _turn(edge_heading(a, b, 0.0) - edge_heading(p, q, 1.0))
        if turn < -1e-3:
            out.append(
                (0.0, a.at, a.side if a.side in piece.sides and piece.sides[a.side].kind == "opening" else p.side)
            )
        arc = arc_of(a, b)
        if arc is not None and arc.sweep < 0 and arc.radius < bit - region.TOLERANCE:
            out.append((arc.radius, a.at, a.side))
    return out


def _turn(angle: float) -> float:
    return math.remainder(angle, 2 * math.pi)


def _thickness(laid: Laid) -> Iterator[Finding]:
    wood, units = laid.job.wood, laid.job.job.units
    low, high = (parse_length(d.text(units), units) for d in THICKNESS[wood.construction])
    if not low <= wood.thickness <= high:
        yield finding(
            "thickness-out-of-range",
            wood.construction,
            f"{wood.construction} is made {laid.labels.fine(low)} to {laid.labels.fine(high)} thick, "
            f"not {laid.labels.fine(wood.thickness)}",
            "choose a thickness in that range or another construction",
            value=float(wood.thickness),
            limit=float(low if wood.thickness < low else high),
            pieces=tuple(p.id for p in laid.divided.pieces),
        )


def _end_grain(laid: Laid) -> Iterator[Finding]:
    if laid.job.wood.construction != "end grain":
        return
    for top in laid.tops:
        spec = laid.job.top[top.index]
        if not isinstance(spec, RunTop):
            continue
        for k, leg in enumerate(top.legs):
            if not (_walled(top, k, "left") and _walled(top, k, "right")) or leg.wall is None:
                continue
            name = leg.wall.name
            length = top.ring.side_length(f"{name} back")
            needed = length * END_GRAIN_ROOM
            room = 2 * float(laid.job.shop.wall_gap)
            if needed > room + region.TOLERANCE:
                yield finding(
                    "end-grain-needs-room",
                    top.name,
                    f"end grain {laid.labels.text(length)} long between two walls along {name} needs {laid.labels.fine(needed)} "
                    f"to swell; the gaps of both ends give {laid.labels.fine(room)}",
                    f"raise wall_gap to {laid.labels.fine(needed / 2)} or more and cover it with a splash",
                    value=room,
                    limit=needed,
                    at=leg.frame.to_plan(((leg.start + leg.end) / 2, (leg.back + leg.front) / 2)),
                    pieces=tuple(p.id for p in laid.divided.pieces if p.top == top.name and p.leg == leg),
                )


def _walled(top: TopPlan, k: int, hand: str) -> bool:
    """Whether a leg ends at a wall there: the run's end is one, or the next wall of an inside corner stands there."""
    i = k - 1 if hand == "left" else k
    if not 0 <= i < len(top.corners):
        return top.sides[hand].end == "wall"
    a, b = top.legs[i].wall, top.legs[i + 1].wall
    other = a if hand == "left" else b
    return a is not None and b is not None and other is not None and not other.open and inside_angle(a, b) < 180 - SAME


def _measures(laid: Laid) -> Iterator[Finding]:
    units = laid.job.job.units
    limit = float(parse_length(MEASURE_TOLERANCE.text(units), units))
    for m in laid.room.measures:
        if abs(m.difference) > limit + region.TOLERANCE:
            labels = laid.labels
            yield finding(
                "measure-disagrees",
                f"{m.from_} to {m.to}",
                f"{m.from_} to {m.to} was taped {labels.text(m.measured)}; the walls as listed give {labels.text(m.computed)}, "
                f"{labels.fine(abs(m.difference))} {'less' if m.difference > 0 else 'more'}",
                "tape it again together with the walls and corners between the two points, before anything is cut",
                value=abs(m.difference),
                limit=limit,
                at=((m.ends[0][0] + m.ends[1][0]) / 2, (m.ends[0][1] + m.ends[1][1]) / 2),
            )


def _closing(laid: Laid) -> Iterator[Finding]:
    units = laid.job.job.units
    limit = float(parse_length(MEASURE_TOLERANCE.text(units), units))
    closure = laid.room.closure
    if closure is not None and closure > limit + region.TOLERANCE:
        yield finding(
            "walls-do-not-close",
            "room",
            f"the last wall ends {laid.labels.fine(closure)} from where the first one starts; {laid.labels.fine(limit)} is let pass",
            "tape the walls and corners again; a diagonal as a check measure shows which is off",
            value=closure,
            limit=limit,
            at=laid.room.walls[-1].end,
        )


def _support_not_given(laid: Laid) -> Sequence[Finding]:
    return [
        finding(
            "support-not-given",
            top.name,
            f"{top.name} does not say what carries it, and is taken as carried everywhere",
            "give its support, the outline of what is below, in its own frame",
            at=region.inner_point(region.area_of(top.ring)),
        )
        for top in laid.tops
        if isinstance(spec := laid.job.top[top.index], OutlineTop) and spec.support is None
    ]
