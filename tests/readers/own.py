"""The tests' own tag reader."""

from __future__ import annotations

import math
from pathlib import Path

from raw_dxf import read as read_tags

from readers import Reading, Shape, arc_corners, areas, by_layer, round_area

NAME = "own tag reader"


def version() -> str | None:
    return "-"


def read(path: Path) -> Reading:
    dxf = read_tags(path.read_bytes())
    shapes: list[Shape] = []
    circles: dict[str, list[float]] = {}
    heavy: list[tuple[float, float, float]] = []
    for entity in dxf.entities:
        match entity.kind:
            case "LWPOLYLINE":
                shapes.append(Shape(entity.layer, entity.vertices(), entity.closed))
            case "POLYLINE":
                heavy = []
                shapes.append(Shape(entity.layer, heavy, entity.closed))
            case "VERTEX":
                heavy.append((*entity.point(), entity.number(42)))
            case "LINE":
                (a, b) = entity.ends()
                shapes.append(Shape(entity.layer, [(*a, 0.0), (*b, 0.0)], closed=False))
            case "ARC":
                start, end = math.radians(entity.number(50)), math.radians(entity.number(51))
                corners = arc_corners(*entity.point(), entity.number(40), start, end)
                shapes.append(Shape(entity.layer, corners, closed=False))
            case "CIRCLE":
                circles.setdefault(entity.layer, []).append(round_area(entity.number(40)))
    found = areas(shapes, 1e-9)
    for layer, round_ones in circles.items():
        found.setdefault(layer, []).extend(round_ones)
    return by_layer(found, {"1": "in", "4": "mm"}.get(dxf.var("$INSUNITS").strip(), ""))
