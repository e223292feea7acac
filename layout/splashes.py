"""Backsplashes as pieces of their own: one along each wall that has one, and one at each end that has one.

At an inside corner the splash of the left wall runs through and the next one butts against it; an end's splash butts
against the one behind it.
"""

from __future__ import annotations

from dataclasses import dataclass

from layout.job import RunTop
from layout.laid import Laid
from layout.tops import TopPlan


@dataclass(frozen=True, slots=True)
class Splash:
    """A splash: the top and part it stands on, its side, and its size in mm."""

    top: str
    part: int
    side: str
    length: float
    height: float
    thickness: float


def splashes(laid: Laid) -> tuple[Splash, ...]:
    """Return every splash piece, in file order, along each run left to right, its ends last."""
    out: list[Splash] = []
    for top in laid.tops:
        spec = laid.job.top[top.index]
        if isinstance(spec, RunTop):
            out += _of_run(laid, top, spec)
    return tuple(out)


def _height(spec: RunTop, side: str, wall: bool) -> float:
    if isinstance(spec.splash, dict):
        return float(spec.splash.get(side, 0) or 0)
    return float(spec.splash) if wall else 0.0


def _of_run(laid: Laid, top: TopPlan, spec: RunTop) -> list[Splash]:
    thick = float(spec.splash_thickness)
    out = []
    for part in (p for p in laid.divided.parts if p.top == top.name):
        for k, leg in enumerate(top.legs):
            if leg.wall is None or leg.wall.open:
                continue
            name = leg.wall.name
            height = _height(spec, name, wall=True)
            edges = [(a, b) for a, b in part.ring.edges() if a.side == f"{name} back"]
            if height <= 0 or not edges:
                continue
            xs = [leg.frame.from_plan(p)[0] for a, b in edges for p in (a.at, b.at)]
            length = max(xs) - min(xs)
            before = top.legs[k - 1].wall if k else None
            inside = k > 0 and top.corners[k - 1].angle < 180.0 and not top.corners[k - 1].straight
            if before is not None and inside and _height(spec, before.name, wall=True) > 0:
                length -= thick
            out.append(Splash(top.name, part.number, name, length, height, thick))
        for hand in ("left", "right"):
            height = _height(spec, hand, wall=False)
            length = part.ring.side_length(hand)
            if height > 0 and length > 0 and part.sides[hand].end == "wall":
                wall = part.sides[hand].wall or ""
                behind = _height(spec, wall, wall=True) > 0
                out.append(Splash(top.name, part.number, hand, length - (thick if behind else 0.0), height, thick))
    return out
