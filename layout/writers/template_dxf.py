"""One outline as a DXF file that a job can name as a cutout's template: R2000, closed, arcs as arcs, the unit in its header."""

from __future__ import annotations

from layout.outline import Ring
from layout.units import Unit
from layout.writers.dxf_entities import Look
from layout.writers.dxf_file import as_circle, in_unit, tidy, xyb
from layout.writers.model_dxf import Model

LAYER = "TEMPLATE"


def template_dxf(ring: Ring, unit: Unit) -> bytes:
    """Return the file that draws a ring (mm) at 1:1. Raises ValueError where a number is not finite."""
    model, look = Model("R2000", unit), Look(LAYER)
    own = in_unit(ring, unit)
    round_one = as_circle(own)
    if round_one is not None:
        model.plain.circle(*round_one, look)
    else:
        model.plain.polyline(xyb(own), look, closed=True, dashed=False)
    x0, y0, x1, y1 = ring.bounds()
    bounds = (tidy(x0, unit), tidy(y0, unit), tidy(x1, unit), tidy(y1, unit))
    return model.written(bounds, [LAYER])
