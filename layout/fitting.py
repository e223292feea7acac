"""How a run's back meets a wall that is not straight: the gap that stays, or the wood to take off, at each station.

A straight back stands at ``wall_gap`` off the wall's proudest point; a scribed one carries so much more wood, cut on site
to the wall at the gap; a back that follows is made to the wall as taped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from layout.job import Job, RunTop
from layout.outline import Point
from layout.tops import Leg, TopPlan


@dataclass(frozen=True, slots=True)
class WallFit:
    """A back at one station of its wall, mm: how far the wall stands back from its straight line there (negative: proud),
    the gap once the top is fitted, and the wood taken off on site (0 unless it is scribed)."""

    top: str
    leg: Leg
    station: float
    bow: float
    gap: float
    take_off: float
    back: Literal["straight", "scribe", "follow"]


def wall_fits(job: Job, tops: Sequence[TopPlan]) -> tuple[WallFit, ...]:
    """Return how each back along a real wall fits it, at its ends and at each taped station between, left to right."""
    out: list[WallFit] = []
    for top in tops:
        spec = job.top[top.index]
        if isinstance(spec, RunTop):
            for leg in top.legs:
                out += _along(job, top, leg, spec.back)
    return tuple(out)


def stations(top: TopPlan, leg: Leg) -> list[float]:
    """Return the stations of a leg's back edge: its two ends and what was taped between them."""
    assert leg.wall is not None
    edges = [(a, b) for a, b in top.ring.edges() if a.side == f"{leg.wall.name} back"]
    xs = [leg.frame.from_plan(p)[0] for a, b in edges for p in (a.at, b.at)]
    if not xs:
        return []
    low, high = min(xs), max(xs)
    return sorted({low, high, *(s for s, _ in leg.wall.bow if low < s < high)})


def _along(job: Job, top: TopPlan, leg: Leg, back: Literal["straight", "scribe", "follow"]) -> list[WallFit]:
    wall, gap = leg.wall, float(job.shop.wall_gap)
    if wall is None or wall.open:
        return []
    out = []
    for x in stations(top, leg):
        bow = wall.bow_at(x)
        stays, off = gap, 0.0
        if back == "straight":
            stays = bow - leg.back
        elif back == "scribe":
            spare = leg.back - (bow - gap)
            spare = 0.0 if abs(spare) < 1e-6 else spare
            stays, off = gap + max(0.0, -spare), max(0.0, spare)
        out.append(WallFit(top.name, leg, x, bow, stays, off, back))
    return out


def scribe_line(job: Job, top: TopPlan, leg: Leg) -> list[Point]:
    """Return the line in plan to which a scribed back is cut on site, left to right; empty where nothing is cut.

    Where the wall stands farther back than the scribe wood reaches, the line is the back edge itself.
    """
    fits = [f for f in _along(job, top, leg, "scribe") if leg.wall is not None]
    if not any(f.take_off > 0.0 for f in fits):
        return []
    return [leg.frame.to_plan((f.station, leg.back - f.take_off)) for f in fits]
