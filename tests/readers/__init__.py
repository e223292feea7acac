"""Cut files as other programs read them: each module here asks one reader how large a piece is, and in what unit.

A reader module has ``NAME``, ``version()`` (None where the program is absent) and ``read(path)``. None shares code with what
writes the files.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Point = tuple[float, float]
Edge = tuple[Point, Point, float]
"""An edge from a point to a point with its bulge."""


@dataclass(frozen=True)
class Reading:
    """What a reader made of a file: the areas of outline and of all that is cut inside it, in square ``unit``.

    ``unit`` is "in", "mm", or "" where the reader takes numbers as they stand.
    """

    outline: float
    inside: float
    unit: str


@dataclass(frozen=True)
class Shape:
    """A contour, or a piece of one, as a reader gives it: its layer, and corners (x, y, bulge)."""

    layer: str
    corners: Sequence[tuple[float, float, float]]
    closed: bool


def round_area(radius: float) -> float:
    return math.pi * radius**2


def arc_corners(x: float, y: float, radius: float, start: float, end: float) -> list[tuple[float, float, float]]:
    """An arc (radians, counter-clockwise) as two corners with a bulge."""
    sweep = (end - start) % math.tau
    a, b = ((x + radius * math.cos(t), y + radius * math.sin(t)) for t in (start, end))
    return [(*a, math.tan(sweep / 4)), (*b, 0.0)]


def edges_area(edges: Iterable[Edge]) -> float:
    """The area inside edges that follow one another round a contour: shoelace, and for each arc its segment."""
    total = 0.0
    for (x, y), (u, v), bulge in edges:
        total += (x * v - u * y) / 2
        if bulge:
            sweep = 4 * math.atan(bulge)
            radius = math.hypot(u - x, v - y) / (2 * math.sin(abs(sweep) / 2))
            total += radius**2 * (sweep - math.sin(sweep)) / 2
    return abs(total)


def edges_of(shape: Shape) -> list[Edge]:
    corners = list(shape.corners)
    pairs = zip(corners, corners[1:] + (corners[:1] if shape.closed else []), strict=False)
    return [((a[0], a[1]), (b[0], b[1]), a[2]) for a, b in pairs]


def areas(shapes: Iterable[Shape], slack: float) -> dict[str, list[float]]:
    """The areas of closed contours by layer; open shapes are put together where their ends meet to within ``slack``.

    What stays open has no area and is not in the answer.
    """
    out: dict[str, list[float]] = {}
    loose: dict[str, list[list[Edge]]] = {}
    for shape in shapes:
        edges = edges_of(shape)
        if not edges:
            continue
        if shape.closed or math.dist(edges[0][0], edges[-1][1]) <= slack:
            out.setdefault(shape.layer, []).append(edges_area(edges))
        else:
            loose.setdefault(shape.layer, []).append(edges)
    for layer, runs in loose.items():
        out.setdefault(layer, []).extend(chained(runs, slack))
    return out


def turned(edges: Sequence[Edge]) -> list[Edge]:
    return [(b, a, -bulge) for a, b, bulge in reversed(edges)]


def chained(runs: list[list[Edge]], slack: float) -> list[float]:
    found = []
    while runs:
        whole = runs.pop(0)
        while runs and math.dist(whole[0][0], whole[-1][1]) > slack:
            end = whole[-1][1]
            near = min(
                range(len(runs)), key=lambda k: min(math.dist(end, runs[k][0][0]), math.dist(end, runs[k][-1][1]))
            )
            run = runs[near]
            if math.dist(end, run[0][0]) > math.dist(end, run[-1][1]):
                run = turned(run)
            if math.dist(end, run[0][0]) > slack:
                break
            runs.pop(near)
            whole = [*whole, *run]
        if math.dist(whole[0][0], whole[-1][1]) <= slack:
            found.append(edges_area(whole))
    return found


def by_layer(found: dict[str, list[float]], unit: str) -> Reading:
    """A reading of areas by layer."""
    inside = sum(sum(found.get(layer, [])) for layer in ("CUT_INSIDE", "DRILL"))
    return Reading(sum(found.get("CUT_OUTLINE", [])), inside, unit)


def by_size(found: Iterable[float], unit: str, least: float) -> Reading:
    """A reading of areas without layers: the greatest is the outline; what is under ``least`` is lettering."""
    largest, *others = sorted((a for a in found if a >= least), reverse=True) or [0.0]
    return Reading(largest, sum(others), unit)
