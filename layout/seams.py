"""Where straight seams fall on a leg: a small dynamic programme under the format's rule.

The fewest seams that the greatest length needs; then the least sum of squared piece lengths; then the leftmost.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

TIE = 1e-6
"""Sums of squared lengths (mm2) nearer than this are equal; they are the sum of a few squares of some 10^3 mm."""
LIMIT = 1e-6
"""A length on a limit to within this (mm) keeps it."""


def best_seams(
    start: float, end: float, places: Sequence[float], longest: float, shortest: float
) -> tuple[float, ...] | None:
    """Return the seam places for a leg from ``start`` to ``end`` (mm along the grain), or None if there is no way.

    ``places`` are the allowed seam places, sorted. No piece is longer than ``longest``; with a seam none is shorter than
    ``shortest``. An empty result says that no seam is needed.
    """
    if end - start <= longest + LIMIT:
        return ()
    at = np.asarray([p for p in places if start < p < end], dtype=float)
    most = int((end - start) / max(shortest, longest / 64)) + 1
    reached = _reached(start, end, at, most, longest, shortest)
    if reached is None:
        return None
    # from the right: places that can be the last seam, the last but one, ... and the least sum of squares from each to the end
    layers: list[_Layer] = []
    here, beyond = np.asarray([end]), np.zeros(1)
    for count, mine in enumerate(reversed(reached), start=1):
        left = end - mine
        row = mine[(left <= count * (longest + LIMIT)) & (left >= count * (shortest - LIMIT))]
        cost = _further(row, here, beyond, longest, shortest)
        kept = np.isfinite(cost)
        here, beyond = row[kept], cost[kept]
        layers.append((here, beyond))
    return _leftmost(start, layers, longest, shortest)


_Layer = tuple[np.ndarray, np.ndarray]


def _reached(
    start: float, end: float, at: np.ndarray, most: int, longest: float, shortest: float
) -> list[np.ndarray] | None:
    """Return the places that the first seam, the second, ... can have, as many times as the end needs; None if it is not met."""
    layers: list[np.ndarray] = []
    here = np.asarray([start])
    for _ in range(most):
        low = np.searchsorted(here, at - longest - LIMIT, side="left")
        high = np.searchsorted(here, at - shortest + LIMIT, side="right")
        before = np.searchsorted(here, at, side="left")
        here = at[np.minimum(high, before) > low]
        if not len(here):
            return None
        layers.append(here)
        last = end - here
        if ((last <= longest + LIMIT) & (last >= shortest - LIMIT)).any():
            return layers
    return None


def _further(row: np.ndarray, at: np.ndarray, cost: np.ndarray, longest: float, shortest: float) -> np.ndarray:
    """Return the least cost from each place of ``row`` by way of one of ``at``, from which on it costs ``cost``."""
    low = np.maximum(np.searchsorted(at, row + shortest - LIMIT, side="left"), np.searchsorted(at, row, side="right"))
    high = np.searchsorted(at, row + longest + LIMIT, side="right")
    out = np.full(len(row), np.inf)
    # both bounds only rise along the row, so those that reach a place stand side by side
    each = np.arange(len(at))
    begin, end = np.searchsorted(high, each, side="right"), np.searchsorted(low, each, side="right")
    for j in np.flatnonzero(begin < end):
        near = slice(begin[j], end[j])
        np.minimum(out[near], (at[j] - row[near]) ** 2 + cost[j], out=out[near])
    return out


def _leftmost(start: float, layers: list[_Layer], longest: float, shortest: float) -> tuple[float, ...]:
    chosen: list[float] = []
    here = start
    for at, cost in reversed(layers):
        step = at - here
        total = np.where((step <= longest + LIMIT) & (step >= shortest - LIMIT) & (step > 0), step**2, np.inf) + cost
        i = int(np.flatnonzero(total <= total.min() + TIE)[0])
        here = float(at[i])
        chosen.append(here)
    return tuple(chosen)
