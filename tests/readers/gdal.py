"""GDAL's DXF driver: arcs come as chords, numbers as they stand."""

from __future__ import annotations

from pathlib import Path

import pyogrio
import shapely

from readers import Reading, Shape, areas, by_layer

NAME = "GDAL (pyogrio)"


def version() -> str | None:
    return ".".join(map(str, pyogrio.__gdal_version__))


def read(path: Path) -> Reading:
    pyogrio.set_gdal_config_options(
        {"OGR_ARC_STEPSIZE": "0.05", "OGR_ARC_MAX_GAP": "0", "DXF_CLOSED_LINE_AS_POLYGON": "NO"}
    )
    meta, _, shapes, columns = pyogrio.raw.read(path, layer="entities")
    layers = columns[list(meta["fields"]).index("Layer")]
    lines = [
        Shape(layer, [(x, y, 0.0) for x, y in shapely.get_coordinates(line)], closed=False)
        for layer, line in zip(layers, map(shapely.from_wkb, shapes), strict=True)
        if line.geom_type == "LineString"
    ]
    return by_layer(areas(lines, 1e-6), "")
