"""trimesh's loader of flat paths: arcs come as three points, so that a reading of them is exact; layers are partly lost."""

from __future__ import annotations

import math
from pathlib import Path

import trimesh

from readers import Point, Reading, Shape, areas, by_size

NAME = "trimesh"
LEAST = {"in": 0.2, "mm": 120.0}
"""No cut of the samples is smaller."""
_UNITS = {"inches": "in", "millimeters": "mm"}


def version() -> str | None:
    return str(trimesh.__version__)


def read(path: Path) -> Reading:
    drawn = trimesh.load_path(str(path))
    unit = _UNITS.get(drawn.units, "")
    shapes = []
    whole = []
    for entity in drawn.entities:
        points = [(float(x), float(y)) for x, y in drawn.vertices[entity.points]]
        kind = type(entity).__name__
        if kind == "Line":
            shapes.append(Shape("", [(*p, 0.0) for p in points], closed=False))
        elif kind == "Arc" and entity.closed:
            whole.append(math.pi * float(entity.center(drawn.vertices).radius) ** 2)
        elif kind == "Arc":
            start, middle, end = points
            shapes.append(Shape("", [(*start, bulge(start, middle, end)), (*end, 0.0)], closed=False))
    found = areas(shapes, 1e-5).get("", [])
    return by_size([*found, *whole], unit, LEAST[unit or "in"])


def bulge(a: Point, m: Point, b: Point) -> float:
    """The bulge of an arc from a to b by way of m, which is anywhere on it."""
    to_a, to_b = (a[0] - m[0], a[1] - m[1]), (b[0] - m[0], b[1] - m[1])
    across, along = to_a[0] * to_b[1] - to_a[1] * to_b[0], to_a[0] * to_b[0] + to_a[1] * to_b[1]
    # from the arc, the chord is seen under half of what the arc leaves of the full turn
    seen = math.atan2(abs(across), along)
    return math.copysign(math.tan((math.pi - seen) / 2), -across)
