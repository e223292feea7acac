"""Backsplashes as pieces of their own: one along each wall that has one, and one at each end that has one.

At an inside corner the splash of the left wall runs through and the next one butts against it; an end's splash butts
against the one behind it. A notch parts the splash of its wall.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from layout.faults import PlaceError
from layout.job_tops import RunTop
from layout.job_values import Hand
from layout.laid import Laid
from layout.openings import Part
from layout.outline import Point, Vertex
from layout.top_plans import CornerPoint, TopPlan

SplashEnd = Literal["wall", "panel", "splash", "free"]


@dataclass(frozen=True, slots=True)
class Splash:
    """A splash: the top and part it stands on, its side, its size in mm, what its left and right ends meet, and where its
    face stands in plan."""

    top: str
    part: int
    side: str
    length: float
    height: float
    thickness: float
    ends: tuple[SplashEnd, SplashEnd]
    face: tuple[Point, ...]


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
    _stand_somewhere(top, spec)
    parts = [p for p in laid.divided.parts if p.top == top.name]
    thick = float(spec.splash_thickness)
    walls: list[_Stretch] = []
    for part in parts:
        for k, leg in enumerate(top.legs):
            height = 0.0 if leg.wall is None or leg.wall.open else _height(spec, leg.wall.name, wall=True)
            if leg.wall is not None and height > 0:
                walls += [
                    _Stretch(part, k, leg.wall.name, height, path) for path in _paths(part, f"{leg.wall.name} back")
                ]
    out = []
    for part in parts:
        out += [_along_wall(top, spec, walls, one, thick) for one in walls if one.part is part]
        for hand in ("left", "right"):
            height = _height(spec, hand, wall=False)
            length = part.ring.side_length(hand)
            if height <= 0 or length <= 0 or part.sides[hand].end not in ("wall", "panel"):
                continue
            # it butts against the splash behind it where there is one at that corner
            here = [v.at for a, b in part.ring.edges() if a.side == hand for v in (a, b)]
            behind = any(math.dist(p, q.at) < 1.0 for p in here for one in walls for q in (one.path[0], one.path[-1]))
            back: SplashEnd = "splash" if behind else "wall"
            pair: tuple[SplashEnd, SplashEnd] = ("free", back) if hand == "left" else (back, "free")
            size = length - (thick if behind else 0.0)
            face = _moved_in([v for a, b in part.ring.edges() if a.side == hand for v in (a, b)], thick)
            out.append(Splash(top.name, part.number, hand, size, height, thick, pair, face))
    return out


@dataclass(frozen=True, slots=True)
class _Stretch:
    """An unbroken stretch of a wall's back edge that has a splash: its part, leg, and points from left to right."""

    part: Part
    leg: int
    wall: str
    height: float
    path: list[Vertex]


def _along_wall(top: TopPlan, spec: RunTop, walls: Sequence[_Stretch], one: _Stretch, thick: float) -> Splash:
    """Return a wall's splash, its length from long point to long point.

    At an inside corner of the angle t the left wall's splash runs on to the other wall: its front face is longer by
    -thickness * cot t where the corner is obtuse. The next one butts against that face: its faces start thickness / sin t
    and thickness * cot (t / 2) from the corner. At an outside corner the left one runs by as far as the next is thick.
    """
    length = sum(math.dist(a.at, b.at) for a, b in pairwise(one.path))
    # scribe wood reaches into the wall at a corner, where the splash cannot
    wall = top.legs[one.leg].wall
    if wall is not None:
        xs = [top.legs[one.leg].frame.from_plan(v.at)[0] for v in (one.path[0], one.path[-1])]
        length -= max(0.0, -xs[0]) + max(0.0, xs[1] - wall.length)
    left = _end(top, spec, walls, one, "left")
    right = _end(top, spec, walls, one, "right")
    before, after = _corner_at(top, one, "left"), _corner_at(top, one, "right")
    if before is not None and left == "splash" and before.angle < 180.0:
        t = math.radians(before.angle)
        length -= thick * min(1.0 / math.sin(t), 1.0 / math.tan(t / 2))
    if after is not None and right == "wall" and after.angle < 180.0:
        length += thick * max(0.0, -1.0 / math.tan(math.radians(after.angle)))
    if after is not None and after.angle > 180.0:
        length += thick * math.tan(math.radians(after.angle - 180.0) / 2)
    face = _moved_in(one.path[::-1], thick)
    return Splash(top.name, one.part.number, one.wall, length, one.height, thick, (left, right), face)


def _moved_in(path: Sequence[Vertex], by: float) -> tuple[Point, ...]:
    """Return an edge path of a counter-clockwise outline, moved into the wood as a whole, square to its chord."""
    (x0, y0), (x1, y1) = path[0].at, path[-1].at
    turn = math.atan2(y1 - y0, x1 - x0) + math.pi / 2
    return tuple((v.x + by * math.cos(turn), v.y + by * math.sin(turn)) for v in path)


def _corner_at(top: TopPlan, one: _Stretch, hand: Hand) -> CornerPoint | None:
    """Return the corner of the run at an end of a stretch; None where it does not reach one, or goes straight on."""
    i = one.leg - 1 if hand == "left" else one.leg
    at = one.path[0] if hand == "left" else one.path[-1]
    if not 0 <= i < len(top.corners) or math.dist(at.at, top.corners[i].back) >= 1.0 or top.corners[i].straight:
        return None
    return top.corners[i]


def _stand_somewhere(top: TopPlan, spec: RunTop) -> None:
    """Raise PlaceError where a splash is asked for at an end that has nothing to stand against."""
    for hand in ("left", "right"):
        if _height(spec, hand, wall=False) > 0 and top.sides[hand].end not in ("wall", "panel"):
            path = ("top", top.index, "splash", hand)
            raise PlaceError(path, f"a splash at an end of kind {top.sides[hand].end}", "a wall or a panel at that end")


def _paths(part: Part, side: str) -> list[list[Vertex]]:
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


def _end(top: TopPlan, spec: RunTop, walls: Sequence[_Stretch], one: _Stretch, hand: Hand) -> SplashEnd:
    """Return what an end of a wall's splash meets."""
    at = one.path[0] if hand == "left" else one.path[-1]
    corner = _corner_at(top, one, hand)
    if corner is not None:
        other = top.legs[one.leg - 1 if hand == "left" else one.leg + 1].wall
        if other is None or other.open:
            return "free"
        has = _height(spec, other.name, wall=True) > 0
        if corner.angle > 180.0:
            return "splash" if has and hand == "left" else "free"
        return "splash" if has and hand == "left" else "wall"
    beside = [two for two in walls if two is not one]
    if any(math.dist(at.at, v.at) < 1.0 for two in beside for v in (two.path[0], two.path[-1])):
        return "splash"  # the next piece's goes straight on
    touched = {a.side for a, b in one.part.ring.edges() if at.at in (a.at, b.at)}
    if any(side.startswith("notch ") for side in touched):
        return "wall"
    end = one.part.sides[hand].end if hand in touched else None
    return "wall" if end == "wall" else "panel" if end == "panel" else "free"
