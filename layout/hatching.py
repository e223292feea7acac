"""Hatches: strokes at 45 degrees that fill what is cut through."""

from __future__ import annotations

import math
from itertools import pairwise

from layout import region
from layout.outline import Point

LEAST = 0.01
"""A stroke shorter than this part of the spacing, in a corner or a seam of the area, is not drawn."""


def hatch(area: region.Region, spacing: float) -> list[tuple[Point, Point]]:
    """Return strokes at 45 degrees that fill ``area``, ``spacing`` apart, on lines through the origin's grid.

    The k-th line is y = x + k * step; where it crosses the area's edges it goes in and out by turns.
    """
    step, least = spacing * math.sqrt(2), LEAST * spacing
    crossed: dict[int, list[float]] = {}
    for ring in region.rings_of(area):
        for (x, y), (u, v) in pairwise(ring):
            above, next_above = y - x, v - u
            low, high = sorted((above, next_above))
            # its lower end counts and its upper end does not, so that a corner on a line is crossed once or twice, as it should
            for k in range(math.ceil(low / step), math.ceil(high / step)):
                share = (k * step - above) / (next_above - above)
                crossed.setdefault(k, []).append(x + (u - x) * share)
    out = []
    for k, xs in sorted(crossed.items()):
        xs.sort()
        out += [((a, a + k * step), (b, b + k * step)) for a, b in zip(xs[::2], xs[1::2], strict=True) if b - a > least]
    return out
