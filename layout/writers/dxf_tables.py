"""The tables of a shop drawing's DXF: layers, text styles, linetypes, and a dimension style for each scale."""

from __future__ import annotations

from collections import Counter
from functools import cache

from ezdxf.document import Drawing as Document
from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS

from layout.drawing import ARROW, DASHES, NARROW, SMALL, Dash, Dimension, Drawing, Kind
from layout.units import UNIT_MM, Unit
from layout.version import VERSION
from layout.writers.dxf_file import tidy

LAYERS = {kind: kind.name for kind in Kind}
FILL, VIEWPORT = "FILL", "VIEWPORT"
"""Layers beside those of the kinds: areas filled black or grey, and the borders of viewports, which do not plot."""
LETTERING = {False: ("LETTERING", "arial.ttf"), True: ("LETTERING_BOLD", "arialbd.ttf")}
"""Text styles, plain and bold: name and font file, the face that the SVG names; a reader without it takes its own."""
LINETYPES = {Dash.SOLID: "Continuous", Dash.DASHED: "DASHED", Dash.CHAIN: "DASHDOT", Dash.DOUBLE_CHAIN: "DIVIDE"}
"""Linetypes by the names that CAD programs have always given such lines: one reader goes by the name alone, and draws a
line solid whose name it does not know."""


def prepare(doc: Document, drawing: Drawing) -> None:
    """Set what all of a drawing needs: layers, text styles, linetypes, and what the header says of line widths and dashes."""
    mm = float(UNIT_MM[drawing.units])
    doc.header["$LASTSAVEDBY"] = f"staveline {VERSION}"
    doc.header["$LWDISPLAY"] = 1
    # dash lengths are paper lengths times each entity's own scale, so a viewport must not scale them once more
    doc.header["$PSLTSCALE"] = 0
    for kind in kinds(drawing):
        doc.layers.add(kind.name, color=7, linetype="Continuous")
    doc.layers.add(FILL, color=7, linetype="Continuous")
    doc.layers.add(VIEWPORT, color=9, linetype="Continuous").dxf.plot = 0
    for name, font in LETTERING.values():
        doc.styles.add(name, font=font)
    for dash, lengths in DASHES.items():
        if lengths:
            signed = [tidy(length, drawing.units) * (-1 if k % 2 else 1) for k, length in enumerate(lengths)]
            described = f"{dash.value}, {' '.join(f'{length:g}' for length in lengths)} mm"
            doc.linetypes.add(LINETYPES[dash], [sum(lengths) / mm, *signed], description=described)


def kinds(drawing: Drawing) -> list[Kind]:
    """Return the kinds that have a layer: all of them, but that of revisions only where something was revised."""
    parts = [part.items for sheet in drawing.sheets for part in sheet.views]
    parts += [part.items for sheet in drawing.sheets for part in sheet.groups]
    return [k for k in Kind if k is not Kind.REVISION or any(item.kind is k for items in parts for item in items)]


@cache
def lineweight(width: float) -> int:
    """Return the width in hundredths of a mm, from the list that DXF has."""
    return min(VALID_DXF_LINEWEIGHTS, key=lambda weight: abs(weight - 100.0 * width))


def dimension_style(doc: Document, scale: float, unit: Unit) -> str:
    """Return the name of the dimension style for a scale; sizes are those of the paper in model units."""
    name = f"SHOP_{1.0 / scale:g}"
    if name in doc.dimstyles:
        return name

    def size(mm: float) -> float:
        return tidy(mm / scale, unit)

    style = doc.dimstyles.new(name)
    d = style.dxf
    d.dimscale = d.dimlfac = 1.0
    d.dimtxt, d.dimasz, d.dimgap = size(SMALL), size(ARROW), size(1.0)
    d.dimexo, d.dimexe, d.dimdli, d.dimcen = size(1.5), size(2.5), size(8.0), 0.0
    d.dimtad, d.dimjust, d.dimtih, d.dimtoh, d.dimtix, d.dimtofl, d.dimtmove = 1, 0, 0, 0, 1, 1, 2
    d.dimblk, d.dimtsz, d.dimsah = "", 0.0, 0
    d.dimtxsty = LETTERING[False][0]
    # plain decimals, whatever the unit: a reader that computes a text after all must not stack a fraction
    d.dimlunit, d.dimdec, d.dimzin, d.dimdsep, d.dimrnd, d.dimpost = 2, 4 if unit == "in" else 1, 8, ord("."), 0.0, ""
    d.dimlwd = d.dimlwe = lineweight(NARROW)
    return name


def usual_scale(drawing: Drawing) -> float:
    """Return the scale of most dimensions, the larger of two: in the other's style figures would run together."""
    scales = Counter(
        view.scale
        for sheet in drawing.sheets
        for view in sheet.views
        for item in view.items
        if isinstance(item, Dimension)
    )
    return max(scales, key=lambda scale: (scales[scale], scale), default=1.0)
