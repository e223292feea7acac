"""The shop drawing as DXF: views at 1:1 in model space, sheets with viewports to scale in paper space.

R2010, and only entities that every reader has: LINE, ARC, CIRCLE, LWPOLYLINE, TEXT, SOLID for what is filled, and
DIMENSION with its text given and its picture drawn, so that no reader has to compute either. Nothing can be covered in
them, white least of all, which is black on a dark screen: what a sheet hides under a mark is left out here.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from ezdxf.document import Drawing as Document
from ezdxf.layouts.layout import Paperspace

from layout.drawing import SMALL, Drawing, Kind, Sheet, Text, View
from layout.outline import Point
from layout.units import UNIT_MM, Unit
from layout.writers.dxf_entities import Lettering, Plain, Seen
from layout.writers.dxf_file import Bounds, document_bytes, new_document, set_extents, text_code, tidy
from layout.writers.dxf_items import put_all, space_of
from layout.writers.dxf_tables import LAYERS, LETTERING, VIEWPORT, dimension_style, prepare, usual_scale

TITLE_BLOCK = "TITLE_BLOCK"
_NO_TAG = re.compile("[^A-Z0-9]+")
_APART = 500.0
"""Clear space between views in model space, mm, and between them and the first sheet: a reader without paper space puts
what lies on that sheet into the model."""
_ROUND = 1.0
"""A viewport shows so much more than its view takes all round, paper mm, so that it cuts no line's width."""
_ZOOM_LOCKED = 0x8000 | 0x4000


def shop_dxf(drawing: Drawing) -> bytes:
    """Return the whole drawing as one DXF file. Raises ValueError where a number of the model is not finite."""
    unit = drawing.units
    doc = new_document("R2010", unit)
    prepare(doc, drawing)
    model = doc.modelspace()
    left = drawing.sheets[0].width + _APART if drawing.sheets else 0.0
    shown: list[Bounds] = []
    shifts: dict[tuple[int, int], Point] = {}
    for s, sheet in enumerate(drawing.sheets):
        for v, view in enumerate(sheet.views):
            shifts[s, v] = shift = _free_place(view, left, shown, unit)
            x0, y0, x1, y1 = view.bounds
            shown.append((x0 + shift[0], y0 + shift[1], x1 + shift[0], y1 + shift[1]))
            # with or without dimensions: whoever adds one wants its style
            dimension_style(doc, view.scale, unit)
            put_all(space_of(doc, model, unit, shift, 1.0 / view.scale), view.items)
    whole = _in_unit(_around(shown), unit)
    dimension_style(doc, 1.0, unit)
    set_extents(model, whole)
    doc.set_modelspace_vport(max(whole[3] - whole[1], 1.0), ((whole[0] + whole[2]) / 2, (whole[1] + whole[3]) / 2))
    # a reader that ignores the style table draws every dimension in the header's style
    doc.dimstyles.get(dimension_style(doc, usual_scale(drawing), unit)).copy_to_header(doc)
    fields = _define_title_block(doc, drawing, unit)
    for s, sheet in enumerate(drawing.sheets):
        page = _page(doc, sheet, s, unit)
        space = space_of(doc, page, unit)
        for v, view in enumerate(sheet.views):
            _show(space.plain, view, shifts[s, v], unit, v + 2)
        for group in sheet.groups:
            put_all(space, group.items)
        if sheet.fields:
            _add_title_block(page, sheet, fields, unit)
    return document_bytes(doc)


# --- model space and sheets ------------------------------------------------------------------------------------------


def _free_place(view: View, left: float, taken: Sequence[Bounds], unit: Unit) -> Point:
    """Return how far a view is moved in model space: the first, the plan, not at all, so that what is measured there is
    what the job says; the others right of ``left``, and below all that is ``taken``."""
    if not taken:
        return (0.0, 0.0)
    mm = float(UNIT_MM[unit])
    x = left - view.bounds[0]
    y = min(b[1] for b in taken) - _APART - view.bounds[3]
    # by whole units, so that coordinates stay as round as they were
    return (math.ceil(x / mm) * mm, math.floor(y / mm) * mm)


def _around(all_bounds: Sequence[Bounds]) -> Bounds:
    if not all_bounds:
        return (0.0, 0.0, 0.0, 0.0)
    x0, y0, x1, y1 = zip(*all_bounds, strict=True)
    return (min(x0), min(y0), max(x1), max(y1))


def _in_unit(bounds: Bounds, unit: Unit) -> Bounds:
    x0, y0, x1, y1 = bounds
    return (tidy(x0, unit), tidy(y0, unit), tidy(x1, unit), tidy(y1, unit))


def _page(doc: Document, sheet: Sheet, index: int, unit: Unit) -> Paperspace:
    name = f"Sheet {sheet.number}"
    if index == 0:
        doc.layouts.rename("Layout1", name)
    page = doc.paperspace(name) if index == 0 else doc.new_layout(name)
    width, height = tidy(sheet.width, unit), tidy(sheet.height, unit)
    page.page_setup(
        size=(width, height),
        units="inch" if unit == "in" else "mm",
        name=sheet.size.replace(" ", "_"),
        device="none_device",
    )
    set_extents(page, (0.0, 0.0, width, height))
    page.dxf.layout_flags = 0  # as $PSLTSCALE
    main = page.main_viewport()
    if main is not None:
        main.dxf.layer = VIEWPORT
        main.dxf.center, main.dxf.view_center_point = (width / 2, height / 2), (width / 2, height / 2)
    return page


def _show(page: Plain, view: View, shift: Point, unit: Unit, number: int) -> None:
    """Add the viewport that shows a view at its scale where the sheet has it."""
    x0, y0, x1, y1 = view.bounds
    across, up = (x1 - x0) + 2 * _ROUND / view.scale, (y1 - y0) + 2 * _ROUND / view.scale
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    seen = Seen(
        centre=(tidy(view.at[0] + view.scale * x, unit), tidy(view.at[1] + view.scale * y, unit)),
        size=(tidy(across * view.scale, unit), tidy(up * view.scale, unit)),
        view_centre=(tidy(x + shift[0], unit), tidy(y + shift[1], unit)),
        view_height=tidy(up, unit),
        number=number,
        flags=_ZOOM_LOCKED,
    )
    page.viewport(seen, VIEWPORT)


def _define_title_block(doc: Document, drawing: Drawing, unit: Unit) -> dict[str, str]:
    """Define the block that carries the title block's fields as data, unseen; return field name to tag.

    What is seen of it are the sheet's own lines and texts: some readers show no attributes, and some no blocks.
    """
    tags: dict[str, str] = {}
    for sheet in drawing.sheets:
        for name in sheet.fields:
            if name not in tags:
                tag = _NO_TAG.sub("_", name.upper()).strip("_") or "FIELD"
                tags[name] = tag if tag not in tags.values() else f"{tag}_{len(tags) + 1}"
    if tags:
        block = doc.blocks.new(TITLE_BLOCK)
        for k, (name, tag) in enumerate(tags.items()):
            attribs = {"prompt": text_code(name), "style": LETTERING[False][0], "layer": LAYERS[Kind.TITLE]}
            block.add_attdef(
                tag, _field_place(k, unit), height=tidy(SMALL, unit), dxfattribs=attribs
            ).is_invisible = True
    return tags


def _add_title_block(page: Paperspace, sheet: Sheet, tags: dict[str, str], unit: Unit) -> None:
    """Add the title block with the sheet's fields, each where the sheet shows it, or as the block has it."""
    items = [item for group in sheet.groups for item in group.items]
    shown = {item.name: item for item in items if isinstance(item, Text) and item.name in sheet.fields}
    fields: dict[str, Lettering] = {}
    for k, (name, tag) in enumerate(tags.items()):
        if name in sheet.fields:
            code, text = text_code(sheet.fields[name]), shown.get(name)
            if text is None:
                fields[tag] = Lettering(code, _field_place(k, unit), tidy(SMALL, unit), LETTERING[False][0])
            else:
                at = (tidy(text.at[0], unit), tidy(text.at[1], unit))
                style = LETTERING[text.bold][0]
                fields[tag] = Lettering(code, at, tidy(text.height, unit), style, text.anchor)
    Plain.of(page).reference(TITLE_BLOCK, fields, LAYERS[Kind.TITLE])


def _field_place(index: int, unit: Unit) -> Point:
    """Return where the block has a field that no sheet shows."""
    return (tidy(SMALL, unit), tidy(SMALL * (1.0 + 1.6 * index), unit))
