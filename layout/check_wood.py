"""Checks of what the wood is: thickness made, room that end grain needs."""

from __future__ import annotations

from collections.abc import Iterator

from layout import region
from layout.findings import Finding, finding
from layout.job_tops import RunTop
from layout.laid import Laid
from layout.outline import SAME
from layout.rules import END_GRAIN_ROOM, FAUCET_THROUGH, THICKNESS
from layout.runs import inside_angle
from layout.top_plans import TopPlan
from layout.units import parse_length


def thickness(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
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


def end_grain(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
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
                    f"raise wall_gap to {laid.labels.at_least(needed / 2)} or more and cover it with a splash",
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


def sink_finish(laid: Laid) -> Iterator[Finding]:
    """Yield one finding where finish or construction does not go with a sink."""
    sinks = [c for c in laid.cutouts if c.kind == "sink"]
    wood = laid.job.wood
    reasons: list[str] = []
    if sinks and wood.finish != "oil varnish":
        reasons.append("no finish" if wood.finish == "none" else wood.finish)
    if wood.construction == "end grain" and any(c.mount == "undermount" for c in sinks):
        reasons.append("end grain with an undermount")
    if reasons:
        names = ", ".join(c.name for c in sinks)
        yield finding(
            "finish-not-for-sink",
            names,
            f"{' and '.join(reasons)} at {names}, where water stands",
            "choose the oil varnish or a drop-in sink, or have the owner confirm the care it takes",
            at=sinks[0].center,
        )


def faucet_deck(laid: Laid) -> Iterator[Finding]:
    """Yield one finding for holes through more wood than most faucets reach."""
    units = laid.job.job.units
    limit = parse_length(FAUCET_THROUGH.text(units), units)
    holes = [c for c in laid.cutouts if c.kind == "hole" and c.hole]
    if holes and laid.job.wood.thickness > limit:
        names = ", ".join(c.name for c in holes)
        yield finding(
            "faucet-deck",
            names,
            f"{names} through {laid.labels.fine(laid.job.wood.thickness)} of wood; most faucets reach through "
            f"{laid.labels.fine(limit)}",
            "ask for the faucet's greatest deck, or counterbore from below",
            value=float(laid.job.wood.thickness),
            limit=float(limit),
            at=holes[0].center,
        )


def short_grain(laid: Laid) -> Iterator[Finding]:
    """Yield one note for the pieces that are shorter along the grain than across."""
    short = [p for p in laid.divided.pieces if p.length < p.width - 0.01]
    if short:
        names = tuple(p.id for p in short)
        first = short[0]
        yield finding(
            "short-grain",
            ", ".join(names),
            f"{', '.join(names)} shorter along the grain than across",
            "carry with care, and check that the grain is meant so",
            value=first.length,
            limit=first.width,
            at=first.frame.to_plan((first.length / 2, first.width / 2)),
            pieces=names,
        )


def closed_columns(laid: Laid) -> Iterator[Finding]:
    """Yield columns that a piece closes round."""
    for piece in laid.divided.pieces:
        for cut in piece.cutouts:
            if cut.kind == "column":
                yield finding(
                    "closed-round-column",
                    cut.name,
                    f"{piece.id} closes round the column {cut.name}: it cannot be brought to its place",
                    "place a seam by hand through the column under [[joint]]",
                    at=cut.center,
                    pieces=(piece.id,),
                )
