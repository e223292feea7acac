"""The way in: which piece passes the tightest door, turns the hall, stands under the ceiling, fits the lift.

A piece is a plate, length by width by thickness. It is carried on edge, flat, or tilted in its own plane. All lengths mm.
The turn is the ladder round a corner with the plate's thickness, exact: for thickness 0 the longest is
(a^(2/3) + b^(2/3))^(3/2), for equal halls 2 sqrt(2) a - 2 t.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from layout.job import Job

FAR = 1e5
"""Longer than any piece (mm): what stands for no limit."""
NEAR = 1e-7
"""How near to the longest piece the search comes, mm."""
STEPS = 360
"""Angles tried before the best one is closed in on."""

_known = lru_cache(maxsize=1024)
"""The search for the longest piece asks the same doors and halls again and again."""


@dataclass(frozen=True, slots=True)
class Access:
    """The longest piece of a width that gets in, mm, and what stops a longer one; None where nothing is known of the way."""

    longest: float
    by: str


def _least(of: Callable[[float], float], low: float, high: float) -> float:
    """Return the least value of a smooth function between two angles."""
    best = min((low + (high - low) * k / STEPS for k in range(STEPS + 1)), key=of)
    step = (high - low) / STEPS
    a, b = max(low, best - step), min(high, best + step)
    golden = (math.sqrt(5.0) - 1.0) / 2.0
    for _ in range(60):
        c, d = b - golden * (b - a), a + golden * (b - a)
        if of(c) < of(d):
            b = d
        else:
            a = c
    return of((a + b) / 2.0)


@_known
def turn_longest(a: float, b: float, thickness: float) -> float:
    """Return the longest straight thing of a thickness that turns from a hall of width ``a`` into one of width ``b``."""
    if min(a, b) <= thickness:
        return 0.0

    def room(angle: float) -> float:
        c, s = math.cos(angle), math.sin(angle)
        return (a - thickness * c) / s + (b - thickness * s) / c

    return max(0.0, _least(room, 1e-4, math.pi / 2 - 1e-4))


@_known
def passes_opening(width: float, height: float, across: float, thickness: float) -> bool:
    """Return whether a plate's cross-section, ``across`` by ``thickness``, passes an opening, upright, flat or tilted."""

    def over(angle: float) -> float:
        c, s = math.cos(angle), math.sin(angle)
        return max(across * c + thickness * s - width, across * s + thickness * c - height)

    return _least(over, 0.0, math.pi / 2) <= 1e-6


def tilted_extent(length: float, across: float, ceiling: float) -> float | None:
    """Return the least floor length that a plate on edge takes when it is tilted up under a ceiling; None if it cannot stand.

    Tilted by ``p`` it is length sin p + width cos p high and length cos p + width sin p long.
    """
    if across > ceiling:
        return None
    low, high = 0.0, math.pi / 2
    # the height first grows with the tilt, to the diagonal, then falls to the length: only the first stretch counts,
    # unless the plate stands upright under the ceiling
    if length <= ceiling:
        return min(across, length)
    peak = math.atan2(length, across)
    for _ in range(80):
        middle = (low + high) / 2.0
        if middle < peak and length * math.sin(middle) + across * math.cos(middle) <= ceiling:
            low = middle
        else:
            high = middle
    return length * math.cos(low) + across * math.sin(low)


@_known
def rectangle_longest(width: float, depth: float, thickness: float) -> float:
    """Return the longest rectangle of a thickness that lies in a floor of ``width`` by ``depth``."""

    def longest(angle: float) -> float:
        c, s = math.cos(angle), math.sin(angle)
        limits = [(width - thickness * s) / c if c > 1e-9 else FAR, (depth - thickness * c) / s if s > 1e-9 else FAR]
        return -min(limits)

    return max(0.0, -_least(longest, 0.0, math.pi / 2))


def _by_turn(length: float, across: float, thickness: float, hall: tuple[float, float], ceiling: float) -> bool:
    """Whether a piece turns the hall: on edge, tilted up under the ceiling, or flat."""
    a, b = hall
    # without a ceiling given nothing is tilted up
    on_edge = length if ceiling >= FAR else tilted_extent(length, across, ceiling)
    if on_edge is not None and on_edge <= turn_longest(a, b, thickness) + 1e-6:
        return True
    return length <= turn_longest(a, b, across) + 1e-6


def _by_lift(length: float, across: float, thickness: float, lift: tuple[float, float, float]) -> bool:
    """Whether a piece fits a lift's car: on edge across its floor's diagonal, tilted up in its plane, or upright."""
    floor = rectangle_longest(lift[0], lift[1], thickness)
    on_edge = tilted_extent(length, across, lift[2])
    return on_edge is not None and on_edge <= floor + 1e-6


def passes(job: Job, length: float, across: float, thickness: float) -> str | None:
    """Return what stops a piece on its way in, or None if nothing of what is known does."""
    site = job.site
    ceiling = FAR if site.ceiling is None else float(site.ceiling)
    if site.door is not None:
        width, height = (float(d) for d in site.door)
        if not passes_opening(width, height, min(length, across), thickness):
            return "door"
    if site.hall is not None and not _by_turn(length, across, thickness, _pair(site.hall), ceiling):
        return "hall"
    if site.lift is not None:
        car = (float(site.lift[0]), float(site.lift[1]), float(site.lift[2]))
        if not _by_lift(length, across, thickness, car):
            return "lift"
    return None


def _pair(hall: tuple[object, object]) -> tuple[float, float]:
    return (float(hall[0]), float(hall[1]))  # type: ignore[arg-type]


def way_in(job: Job, across: float, thickness: float | None = None) -> Access | None:
    """Return the longest piece ``across`` mm wide that gets in, and what stops a longer one; None where nothing limits."""
    site = job.site
    if site.door is None and site.hall is None and site.lift is None:
        return None
    t = float(job.wood.thickness) if thickness is None else thickness
    if passes(job, FAR, across, t) is None:
        return None
    low, high = 0.0, FAR
    if (stop := passes(job, across, across, t)) is not None:
        return Access(0.0, stop)
    low = across
    while high - low > NEAR:
        middle = (low + high) / 2.0
        if passes(job, middle, across, t) is None:
            low = middle
        else:
            high = middle
    return Access(low, passes(job, high, across, t) or "")
