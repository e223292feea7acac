"""Checks of what the wood is: thickness made, room that end grain needs."""

from __future__ import annotations

from collections.abc import Iterator

from layout import region
from layout.findings import Finding, finding
from layout.job import RunTop
from layout.laid import Laid
from layout.outline import SAME
from layout.rules import END_GRAIN_ROOM, THICKNESS
from layout.tops import TopPlan, inside_angle
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
