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
    if not len(at):
        return None
    most = int((end - start) / max(shortest, longest / 64)) + 1
    # cost[i]: least sum of squares from place i to the end with the seams laid so far, counted from the right
    last = end - at
    cost = np.where((last <= longest + LIMIT) & (last >= shortest - LIMIT), last**2, np.inf)
    layers = [cost]
    while len(layers) <= most:
        first = at - start
        total = np.where((first <= longest + LIMIT) & (first >= shortest - LIMIT), first**2, np.inf) + layers[-1]
        if np.isfinite(total).any():
            return _leftmost(start, at, layers, longest, shortest)
        layers.append(_further(at, layers[-1], longest, shortest))
        if not np.isfinite(layers[-1]).any():
            return None
    return None


def _further(at: np.ndarray, cost: np.ndarray, longest: float, shortest: float) -> np.ndarray:
    """Return the cost from each place with one seam more to its right."""
    low = np.searchsorted(at, at + shortest - LIMIT, side="left")
    high = np.searchsorted(at, at + longest + LIMIT, side="right")
    out = np.full(len(at), np.inf)
    for i in range(len(at)):
        first = max(low[i], i + 1)
        if first < high[i]:
            out[i] = ((at[first : high[i]] - at[i]) ** 2 + cost[first : high[i]]).min()
    return out


def _leftmost(
    start: float, at: np.ndarray, layers: list[np.ndarray], longest: float, shortest: float
) -> tuple[float, ...]:
    chosen: list[float] = []
    here = start
    for cost in reversed(layers):
        step = at - here
        total = np.where((step <= longest + LIMIT) & (step >= shortest - LIMIT) & (step > 0), step**2, np.inf) + cost
        i = int(np.flatnonzero(total <= total.min() + TIE)[0])
        here = float(at[i])
        chosen.append(here)
    return tuple(chosen)
