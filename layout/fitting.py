"""How a run's back meets a wall that is not straight: the gap that stays, or the wood to take off, at each station.

A straight back stands at ``wall_gap`` off the wall's proudest point; a scribed one carries so much more wood, cut on site
to the wall at the gap; a back that follows is made to the wall as taped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from layout.job import Job
from layout.job_tops import RunTop
from layout.openings import Part
from layout.outline import Point
from layout.top_plans import Leg, TopPlan

Back = Literal["straight", "scribe", "follow"]


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
    back: Back


def wall_fits(job: Job, tops: Sequence[TopPlan], parts: Sequence[Part]) -> tuple[WallFit, ...]:
    """Return how each back along a real wall fits it, at its ends, at each taped station and where scribe wood runs out,
    left to right; only where there is wood."""
    out: list[WallFit] = []
    for top in tops:
        spec = job.top[top.index]
        if isinstance(spec, RunTop):
            mine = [p for p in parts if p.top == top.name]
            for leg in top.legs:
                out += _along(job, leg, spec.back, top.name, mine)
    return tuple(out)


def _stretches(leg: Leg, parts: Sequence[Part]) -> list[tuple[float, float]]:
    """Return the stretches of a leg's back edge that are wood, as stations on its wall, left to right."""
    assert leg.wall is not None
    spans = []
    for part in parts:
        for a, b in part.ring.edges():
            if a.side == f"{leg.wall.name} back":
                low, high = sorted((leg.frame.from_plan(a.at)[0], leg.frame.from_plan(b.at)[0]))
                spans.append((max(low, 0.0), min(high, leg.wall.length)))
    merged: list[tuple[float, float]] = []
    for low, high in sorted(spans):
        if merged and low <= merged[-1][1] + 1e-6:
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return merged


def _along(job: Job, leg: Leg, back: Back, top: str, parts: Sequence[Part]) -> list[WallFit]:
    wall, gap = leg.wall, float(job.shop.wall_gap)
    if wall is None or wall.open:
        return []

    def spare(x: float) -> float:
        """Return how much wood stands behind the line to which a scribed back is cut; negative: how much is wanting."""
        found = leg.back - (wall.bow_at(x) - gap)
        return 0.0 if abs(found) < 1e-6 else found

    out = []
    for low, high in _stretches(leg, parts):
        xs = [low, *(s for s, _ in wall.bow if low < s < high), high]
        if back == "scribe":
            # between two stations the wall runs straight: where the spare wood runs out is a station too
            gone = [
                x0 + (x1 - x0) * spare(x0) / (spare(x0) - spare(x1))
                for x0, x1 in pairwise(xs)
                if spare(x0) * spare(x1) < 0.0
            ]
            xs = sorted([*xs, *gone])
        for x in xs:
            stays, off = gap, 0.0
            if back == "straight":
                stays = wall.bow_at(x) - leg.back
            elif back == "scribe":
                stays, off = gap + max(0.0, -spare(x)), max(0.0, spare(x))
            out.append(WallFit(top, leg, x, wall.bow_at(x), stays, off, back))
    return out


def scribe_lines(job: Job, top: TopPlan, leg: Leg, parts: Sequence[Part]) -> list[tuple[Point, Point]]:
    """Return the strokes in plan along which a scribed back is cut on site, left to right, where wood comes off."""
    mine = [p for p in parts if p.top == top.name]
    fits = _along(job, leg, "scribe", top.name, mine)
    spans = _stretches(leg, mine)
    out = []
    for one, two in pairwise(fits):
        together = any(low - 1e-6 <= one.station and two.station <= high + 1e-6 for low, high in spans)
        if together and max(one.take_off, two.take_off) > 0.0:
            ends = [leg.frame.to_plan((f.station, leg.back - f.take_off)) for f in (one, two)]
            out.append((ends[0], ends[1]))
    return out
