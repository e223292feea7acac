"""Checks of how far the wood moves: room at walls, mitres that open, slots, woods that move much."""

from __future__ import annotations

from collections.abc import Iterator

from layout import region
from layout.findings import Finding, finding
from layout.fitting import wall_fits
from layout.hold_downs import slots as hold_down_slots
from layout.job_tops import RunTop
from layout.laid import Laid
from layout.movement import Movement, mitre_opening, movement
from layout.pieces import Joint, Piece
from layout.rules import HOLD_DOWN_SLOT, MITRE_OPEN, MOVES_MUCH


def room(laid: Laid) -> Iterator[Finding]:
    """Yield one finding a top whose pieces swell more than the gap behind them, or at both ends, gives."""
    moves = movement(laid.job)
    if moves is None:
        return
    labels = laid.labels
    fits = wall_fits(laid.job, laid.tops, laid.divided.parts)
    for top in laid.tops:
        if not isinstance(laid.job.top[top.index], RunTop):
            continue
        tight: list[tuple[float, float, Piece]] = []
        for piece in (p for p in laid.divided.pieces if p.top == top.name):
            gaps = [f.gap for f in fits if f.top == top.name and f.leg == piece.leg]
            swells = moves.swelling(piece.width)
            if gaps and swells > min(gaps) + region.TOLERANCE:
                tight.append((swells, min(gaps), piece))
        if tight:
            swells, gap, piece = max(tight, key=lambda t: t[0] - t[1])
            names = tuple(p.id for _, _, p in tight)
            yield finding(
                "movement-needs-room",
                ", ".join(names),
                f"{piece.id} swells {labels.fine(swells)} across its grain from the middle of the year to the dampest; "
                f"the gap behind it is {labels.fine(gap)}",
                f"raise wall_gap to {labels.at_least(swells)} or more and cover it with a splash, choose "
                f"{'' if laid.job.wood.construction == 'edge grain' else 'edge grain or '}a quieter wood, or keep the "
                "humidity closer under [site]",
                value=gap,
                limit=swells,
                at=piece.leg.frame.to_plan(((piece.leg.start + piece.leg.end) / 2, piece.leg.back)),
                pieces=names,
            )


def captive_ends(laid: Laid) -> Iterator[Finding]:
    """Yield pieces of end grain held at both ends, by walls or appliances, that swell along more than their gaps give."""
    moves = movement(laid.job)
    if moves is None or laid.job.wood.construction != "end grain":
        return
    labels, gap = laid.labels, float(laid.job.shop.wall_gap)
    for piece in laid.divided.pieces:
        ends = [piece.sides[hand] for hand in ("left", "right") if hand in piece.sides and hand in piece.ring.sides()]
        if len(ends) < 2 or any(side.free for side in ends) or all(side.end == "wall" for side in ends):
            continue  # between two walls the rule of end grain speaks
        given = sum(gap for side in ends if side.end == "wall")
        swells = moves.swelling(piece.length)
        if swells > given + region.TOLERANCE:
            yield finding(
                "movement-needs-room",
                piece.id,
                f"{piece.id} of end grain swells {labels.fine(swells)} along; held at both ends it has {labels.fine(given)}",
                "leave room beside the appliance or the panel and cover it, or choose edge grain",
                value=given,
                limit=swells,
                at=piece.frame.to_plan((piece.length / 2, piece.width / 2)),
                pieces=(piece.id,),
            )


def openings(laid: Laid, moves: Movement) -> Iterator[tuple[Joint, float]]:
    """Yield each mitre with how far it opens at its worse end, mm."""
    pieces = {p.id: p for p in laid.divided.pieces}
    for joint in laid.divided.joints:
        if joint.kind in ("mitre", "short mitre"):
            yield joint, mitre_opening(moves, joint, (pieces[joint.pieces[0]], pieces[joint.pieces[1]])).most


def mitres(laid: Laid) -> Iterator[Finding]:
    """Yield one note for the mitres that open more than a hair over the year."""
    moves = movement(laid.job)
    if moves is None:
        return
    units = laid.job.job.units
    limit = MITRE_OPEN.size(units)
    wide = [(joint, most) for joint, most in openings(laid, moves) if most > limit + region.TOLERANCE]
    if wide:
        joint, most = max(wide, key=lambda w: w[1])
        names = ", ".join(j.id for j, _ in wide)
        (x0, y0), (x1, y1) = joint.points[0], joint.points[-1]
        yield finding(
            "mitre-opens",
            names,
            f"{names} would open up to {laid.labels.fine(most)} if nothing held it: in front when the house is dry, "
            "at the back when it is damp",
            "draw it up by its fasteners and keep the house at 40 to 55 % relative humidity, or use a butt or a short mitre",
            value=most,
            limit=limit,
            at=((x0 + x1) / 2, (y0 + y1) / 2),
            pieces=tuple(dict.fromkeys(p for j, _ in wide for p in j.pieces)),
        )


def slots(laid: Laid) -> Iterator[Finding]:
    """Yield one note for pieces whose hold-downs need longer slots than usual."""
    units = laid.job.job.units
    usual = HOLD_DOWN_SLOT.size(units)
    long = [(length, hold) for hold, length in hold_down_slots(laid) if length > usual + region.TOLERANCE]
    if long:
        length, hold = max(long, key=lambda s: s[0])
        names = tuple(dict.fromkeys(h.piece for _, h in long))
        yield finding(
            "slot-needed",
            ", ".join(names),
            f"hold-downs of {', '.join(names)} need slots of up to {laid.labels.fine(length)}; {laid.labels.fine(usual)} is usual",
            "cut the slots as the table of hold-downs says, across the grain",
            value=length,
            limit=usual,
            at=hold.at,
            pieces=names,
        )


def much(laid: Laid) -> Iterator[Finding]:
    """Yield one note for a wood that changes much over the year."""
    moves = movement(laid.job)
    share = 0.0 if moves is None else moves.year(1.0)
    if moves is not None and share > MOVES_MUCH:
        low, high = moves.house.humidity
        foot = 304.8 if laid.job.job.units == "in" else 1000.0
        each = "foot" if laid.job.job.units == "in" else "metre"
        yield finding(
            "species-moves-much",
            moves.species.common_name,
            f"{moves.species.common_name} in {laid.job.wood.construction} changes by {100 * share:.1f} % of its width "
            f"between {low:g} and {high:g} % humidity, {laid.labels.fine(share * foot)} in each {each}",
            f"choose {'' if laid.job.wood.construction == 'edge grain' else 'edge grain or '}a quieter wood, or have the house "
            "kept at 40 to 55 % relative humidity and say so under [site]",
        )
