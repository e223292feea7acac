"""Curves as arcs: a curve given by its points and directions becomes a path of lines and arcs within a tolerance."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from layout.cutting import edge_share
from layout.outline import Point, Vertex, edge_point

Curve = Callable[[float], tuple[Point, Point]]
"""Parameter to (point, direction of travel); the direction's length does not matter."""
WITHIN = 0.02
"""How near the arcs are brought to the curve, mm."""
_SAMPLES = 12
_DEEPEST = 14


def fit_arcs(curve: Curve, breaks: Sequence[float], within: float = WITHIN) -> tuple[tuple[Vertex, ...], float]:
    """Return an open path that follows the curve from the first break to the last, and the greatest distance to it (mm).

    The path passes through the curve's point at each break, where it may have a kink; between them it runs on smoothly.
    The bulge of the last vertex is not used. Pairs of arcs with a common tangent (biarcs) are halved until they are
    ``within`` mm of the curve; the distance is measured at twelve places of each.
    """
    path: list[Vertex] = []
    worst = 0.0
    for start, end in pairwise(breaks):
        vertices, strayed = _span(curve, start, end, within, _DEEPEST)
        path += vertices
        worst = max(worst, strayed)
    last, _ = curve(breaks[-1])
    return (*path, Vertex(*last)), worst


def _span(curve: Curve, start: float, end: float, within: float, depth: int) -> tuple[list[Vertex], float]:
    # a hair inside its ends a span has its own direction, whatever the curve does beyond
    inward = (end - start) * 1e-9
    (p, _), (q, _) = curve(start), curve(end)
    _, along = curve(start + inward)
    _, out = curve(end - inward)
    vertices = _biarc(p, _unit(along), q, _unit(out))
    strayed = _strayed(curve, start, end, [*vertices, Vertex(*q)])
    if strayed <= within or depth == 0:
        return vertices, strayed
    middle = (start + end) / 2
    first, a = _span(curve, start, middle, within, depth - 1)
    second, b = _span(curve, middle, end, within, depth - 1)
    return first + second, max(a, b)


def _unit(direction: Point) -> Point:
    length = math.hypot(*direction)
    return (1.0, 0.0) if length == 0.0 else (direction[0] / length, direction[1] / length)


def _biarc(p: Point, along: Point, q: Point, out: Point) -> list[Vertex]:
    """Return two arcs (or a line) from ``p`` to ``q``, tangent to both directions and to each other."""
    vx, vy = q[0] - p[0], q[1] - p[1]
    tx, ty = along[0] + out[0], along[1] + out[1]
    square, onward = vx * vx + vy * vy, vx * tx + vy * ty
    if square == 0.0:
        return []
    apart = 2.0 * (1.0 - along[0] * out[0] - along[1] * out[1])
    if apart > 1e-12:
        reach = (math.sqrt(onward * onward + apart * square) - onward) / apart
    elif onward > 0.0:
        reach = square / (2.0 * onward)
    else:
        return [Vertex(*p)]
    middle = (
        (p[0] + q[0] + reach * (along[0] - out[0])) / 2.0,
        (p[1] + q[1] + reach * (along[1] - out[1])) / 2.0,
    )
    if math.dist(p, middle) == 0.0 or math.dist(middle, q) == 0.0:
        return [Vertex(*p)]
    first = _turn(along, (middle[0] - p[0], middle[1] - p[1]))
    second = _turn((q[0] - middle[0], q[1] - middle[1]), out)
    if max(abs(first), abs(second)) < 1e-9:
        return [Vertex(*p)]
    return [Vertex(*p, math.tan(first / 2.0)), Vertex(*middle, math.tan(second / 2.0))]


def _turn(a: Point, b: Point) -> float:
    return math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])


def _strayed(curve: Curve, start: float, end: float, path: Sequence[Vertex]) -> float:
    worst = 0.0
    edges = [(a, b) for a, b in pairwise(path) if a.at != b.at]
    for k in range(1, _SAMPLES):
        at, _ = curve(start + (end - start) * k / _SAMPLES)
        gaps = [math.dist(at, edge_point(a, b, min(max(edge_share(a, b, at), 0.0), 1.0))) for a, b in edges]
        worst = max(worst, min(gaps, default=0.0))
    return worst
