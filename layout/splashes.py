"""Backsplashes as pieces of their own: one along each wall that has one, and one at each end that has one.

At an inside corner the splash of the left wall runs through and the next one butts against it; an end's splash butts
against the one behind it. A notch parts the splash of its wall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from layout.faults import PlaceError
from layout.job import RunTop
from layout.laid import Laid
from layout.openings import Part
from layout.outline import Vertex
from layout.tops import Leg, TopPlan

SplashEnd = Literal["wall", "splash", "free"]


@dataclass(frozen=True, slots=True)
class Splash:
    """A splash: the top and part it stands on, its side, its size in mm, and what its left and right ends meet."""

    top: str
    part: int
    side: str
    length: float
    height: float
    thickness: float
    ends: tuple[SplashEnd, SplashEnd]


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
    _stand_somewhere(top, spec)
    out = []
    for part in (p for p in laid.divided.parts if p.top == top.name):
        for k, leg in enumerate(top.legs):
            if leg.wall is None or leg.wall.open or (height := _height(spec, leg.wall.name, wall=True)) <= 0:
                continue
            for stretch in _stretches(part, f"{leg.wall.name} back"):
                length = sum(math.dist(a.at, b.at) for a, b in pairwise(stretch))
                ends = _ends(part, top, spec, k, stretch)
                # the splash of the wall before runs through the corner, an end's splash butts against this one
                length -= thick if ends[0] == "splash" and _at_corner(top, k, stretch) else 0.0
                out.append(Splash(top.name, part.number, leg.wall.name, length, height, thick, ends))
        for hand in ("left", "right"):
            height = _height(spec, hand, wall=False)
            length = part.ring.side_length(hand)
            if height > 0 and length > 0 and part.sides[hand].end in ("wall", "panel"):
                behind = _height(spec, part.sides[hand].wall or "", wall=True) > 0
                length -= thick if behind else 0.0
                back: SplashEnd = "splash" if behind else "wall"
                pair: tuple[SplashEnd, SplashEnd] = ("free", back) if hand == "left" else (back, "free")
                out.append(Splash(top.name, part.number, hand, length, height, thick, pair))
    return out


def _stand_somewhere(top: TopPlan, spec: RunTop) -> None:
    """Raise PlaceError where a splash is asked for at an end that has nothing to stand against."""
    for hand in ("left", "right"):
        if _height(spec, hand, wall=False) > 0 and top.sides[hand].end not in ("wall", "panel"):
            path = ("top", top.index, "splash", hand)
            raise PlaceError(path, f"a splash at an end of kind {top.sides[hand].end}", "a wall or a panel at that end")


def _stretches(part: Part, side: str) -> list[list[Vertex]]:
    """Return the unbroken stretches of a back side, each from left to right."""
    edges = list(part.ring.edges())
    starts = [k for k, (a, _) in enumerate(edges) if a.side == side and edges[k - 1][0].side != side]
    out = []
    for start in starts:
        path = [edges[start][0]]
        for a, b in edges[start:] + edges[:start]:
            if a.side != side:
                break
            path.append(b)
        out.append(path[::-1])
    return out[::-1]


def _at_corner(top: TopPlan, k: int, stretch: list[Vertex]) -> bool:
    return k > 0 and math.dist(stretch[0].at, top.corners[k - 1].back) < 1.0


def _ends(part: Part, top: TopPlan, spec: RunTop, k: int, stretch: list[Vertex]) -> tuple[SplashEnd, SplashEnd]:
    """Return what the two ends of a wall's splash meet."""
    return (_end(part, top, spec, k, stretch[0], "left"), _end(part, top, spec, k, stretch[-1], "right"))


def _end(part: Part, top: TopPlan, spec: RunTop, k: int, at: Vertex, hand: Literal["left", "right"]) -> SplashEnd:
    i = k - 1 if hand == "left" else k
    if 0 <= i < len(top.corners) and math.dist(at.at, top.corners[i].back) < 1.0:
        corner = top.corners[i]
        if corner.straight or corner.angle > 180.0:
            return "free"
        other: Leg = top.legs[k - 1] if hand == "left" else top.legs[k + 1]
        beside = other.wall is not None and not other.wall.open
        has = beside and other.wall is not None and _height(spec, other.wall.name, wall=True) > 0
        return "splash" if has and hand == "left" else "wall" if beside else "free"
    touches = any(a.side == hand and at.at in (a.at, b.at) for a, b in part.ring.edges())
    return "wall" if touches and part.sides[hand].end in ("wall", "panel") else "free"
