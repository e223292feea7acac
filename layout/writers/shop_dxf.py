"""The shop drawing as DXF: views at 1:1 in model space, sheets with viewports to scale in paper space.

R2010, and only entities that every reader has: LINE, ARC, CIRCLE, LWPOLYLINE, TEXT, SOLID for what is filled, and
DIMENSION with its text given and its picture drawn, so that no reader has to compute either. Nothing can be covered in
them, white least of all, which is black on a dark screen: what a sheet hides under a mark is left out here.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import chain, pairwise
from typing import assert_never

from ezdxf.document import Drawing as Document
from ezdxf.layouts.base import BaseLayout
from ezdxf.layouts.layout import Paperspace
from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS
from ezdxf.math.triangulation import mapbox_earcut_2d
from ezdxf.render.arrows import ARROWS

from layout.drawing import (
    ARROW,
    DASHES,
    NARROW,
    SMALL,
    Circle,
    Dash,
    Dimension,
    Drawing,
    Item,
    Kind,
    Lines,
    Path,
    Sheet,
    Text,
    View,
    arrow_heads,
    dimension_line,
)
from layout.lettering import text_width
from layout.outline import Point, Ring, Vertex, arc_of, circle
from layout.units import UNIT_MM, Unit
from layout.version import VERSION
from layout.writers.dxf_entities import (
    DIMBLK1,
    DIMBLK2,
    DIMSAH,
    DIMSE1,
    DIMSE2,
    DIMTXT,
    Lettering,
    Look,
    Measured,
    Plain,
    Seen,
)
from layout.writers.dxf_file import (
    Bounds,
    Cover,
    as_circle,
    at_most_half_circles,
    cover_of,
    document_bytes,
    new_document,
    rounded,
    set_extents,
    text_code,
    tidy,
    uncovered,
    without_specks,
    xyb,
)

_LAYERS = {kind: kind.name for kind in Kind}
FILL, VIEWPORT = "FILL", "VIEWPORT"
"""Layers beside those of the kinds: areas filled black or grey, and the borders of viewports, which do not plot."""
LETTERING = {False: ("LETTERING", "arial.ttf"), True: ("LETTERING_BOLD", "arialbd.ttf")}
"""Text styles, plain and bold: name and font file, the face that the SVG names; a reader without it takes its own."""
LINETYPES = {Dash.SOLID: "Continuous", Dash.DASHED: "DASHED", Dash.CHAIN: "DASHDOT", Dash.DOUBLE_CHAIN: "DIVIDE"}
"""Linetypes by the names that CAD programs have always given such lines: one reader goes by the name alone, and draws a
line solid whose name it does not know."""
TITLE_BLOCK = "TITLE_BLOCK"
_NO_TAG = re.compile("[^A-Z0-9]+")
_ESCAPED = str.maketrans({sign: f"\\{sign}" for sign in "\\{}"})
_COLORS = {"black": 7, "grey": 254}
_APART = 500.0
"""Clear space between views in model space, mm, and between them and the first sheet: a reader without paper space puts
what lies on that sheet into the model."""
_ROUND = 1.0
"""A viewport shows so much more than its view takes all round, paper mm, so that it cuts no line's width."""
_ZOOM_LOCKED = 0x8000 | 0x4000
_FLAT = 0.02
"""How far (mm on paper) the chords of a filled area may stray from its arcs; its outline keeps them."""


def shop_dxf(drawing: Drawing) -> bytes:
    """Return the whole drawing as one DXF file. Raises ValueError where a number of the model is not finite."""
    unit = drawing.units
    doc = new_document("R2010", unit)
    _prepare(doc, drawing)
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
            _dimstyle(doc, view.scale, unit)
            _put_all(_space(doc, model, unit, shift, 1.0 / view.scale), view.items)
    whole = _in_unit(_around(shown), unit)
    _dimstyle(doc, 1.0, unit)
    set_extents(model, whole)
    doc.set_modelspace_vport(max(whole[3] - whole[1], 1.0), ((whole[0] + whole[2]) / 2, (whole[1] + whole[3]) / 2))
    # a reader that ignores the style table draws every dimension in the header's style
    doc.dimstyles.get(_dimstyle(doc, _usual_scale(drawing), unit)).copy_to_header(doc)
    fields = _define_title_block(doc, drawing, unit)
    for s, sheet in enumerate(drawing.sheets):
        page = _page(doc, sheet, s, unit)
        space = _space(doc, page, unit)
        for v, view in enumerate(sheet.views):
            _show(space.plain, view, shifts[s, v], unit, v + 2)
        for group in sheet.groups:
            _put_all(space, group.items)
        if sheet.fields:
            _add_title_block(page, sheet, fields, unit)
    return document_bytes(doc)


# --- tables ----------------------------------------------------------------------------------------------------------


def _prepare(doc: Document, drawing: Drawing) -> None:
    mm = float(UNIT_MM[drawing.units])
    doc.header["$LASTSAVEDBY"] = f"staveline {VERSION}"
    doc.header["$LWDISPLAY"] = 1
    # dash lengths are paper lengths times each entity's own scale, so a viewport must not scale them once more
    doc.header["$PSLTSCALE"] = 0
    for kind in _kinds(drawing):
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


def _kinds(drawing: Drawing) -> list[Kind]:
    """Return the kinds that have a layer: all of them, but that of revisions only where something was revised."""
    parts = [part.items for sheet in drawing.sheets for part in sheet.views]
    parts += [part.items for sheet in drawing.sheets for part in sheet.groups]
    return [k for k in Kind if k is not Kind.REVISION or any(item.kind is k for items in parts for item in items)]


@cache
def _lineweight(width: float) -> int:
    """Return the width in hundredths of a mm, from the list that DXF has."""
    return min(VALID_DXF_LINEWEIGHTS, key=lambda weight: abs(weight - 100.0 * width))


def _dimstyle(doc: Document, scale: float, unit: Unit) -> str:
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
    d.dimlwd = d.dimlwe = _lineweight(NARROW)
    return name


def _usual_scale(drawing: Drawing) -> float:
    """Return the scale of most dimensions, the larger of two: in the other's style figures would run together."""
    scales = Counter(
        view.scale
        for sheet in drawing.sheets
        for view in sheet.views
        for item in view.items
        if isinstance(item, Dimension)
    )
    return max(scales, key=lambda scale: (scales[scale], scale), default=1.0)


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
            attribs = {"prompt": text_code(name), "style": LETTERING[False][0], "layer": _LAYERS[Kind.TITLE]}
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
    Plain.of(page).reference(TITLE_BLOCK, fields, _LAYERS[Kind.TITLE])


def _field_place(index: int, unit: Unit) -> Point:
    """Return where the block has a field that no sheet shows."""
    return (tidy(SMALL, unit), tidy(SMALL * (1.0 + 1.6 * index), unit))


# --- items -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Space:
    """Where items go: ``shift`` (mm) is added to their points, ``paper`` is model mm to a mm of paper."""

    doc: Document
    plain: Plain
    unit: Unit
    mm: float
    """Millimetres to a job unit."""
    shift: Point
    paper: float

    def point(self, p: Point) -> Point:
        """Return a point in job units."""
        (x, y), (dx, dy), mm = p, self.shift, self.mm
        return (rounded((x + dx) / mm), rounded((y + dy) / mm))

    def size(self, paper_mm: float) -> float:
        """Return a paper length in job units of this space."""
        return tidy(paper_mm * self.paper, self.unit)

    def ring(self, ring: Ring) -> Ring:
        """Return a ring in job units."""
        return Ring(tuple([Vertex(*self.point(v.at), v.bulge, v.side) for v in ring.vertices]))

    def stroke(self, kind: Kind, width: float, dash: Dash) -> Look:
        """Return what a line looks like; dashes are as long on paper as in the model at its scale."""
        return _stroke(kind, width, dash, self.paper)


def _space(
    doc: Document,
    layout: BaseLayout,
    unit: Unit,
    shift: Point = (0.0, 0.0),
    paper: float = 1.0,
) -> _Space:
    return _Space(doc, Plain.of(layout), unit, float(UNIT_MM[unit]), shift, paper)


@cache
def _stroke(kind: Kind, width: float, dash: Dash, paper: float) -> Look:
    if DASHES[dash]:
        return Look(_LAYERS[kind], LINETYPES[dash], lineweight=_lineweight(width), ltscale=paper)
    return Look(_LAYERS[kind], lineweight=_lineweight(width))


@cache
def _plain_look(kind: Kind) -> Look:
    return Look(_LAYERS[kind])


def _put_all(space: _Space, items: Sequence[Item]) -> None:
    covering = [[cover_of(ring) for ring in _cover(space, item)] for item in items]
    after = list(chain.from_iterable(covering))
    for item, own in zip(items, covering, strict=True):
        # what is drawn after an item hides it
        if own:
            after = after[len(own) :]
        _put(space, item, after)


def _cover(space: _Space, item: Item) -> Iterator[Ring]:
    """Yield what an item hides of those before it."""
    match item:
        case Path(fill="white", closed=True):
            yield item.ring
        case Circle(fill="white"):
            yield circle(*item.centre, item.radius * space.paper if item.paper else item.radius)


def _put(space: _Space, item: Item, covers: Sequence[Cover]) -> None:
    match item:
        case Path():
            _path(space, item, covers)
        case Lines():
            look = space.stroke(item.kind, item.width, item.dash)
            for stroke in item.strokes:
                for a, b in _seen(stroke, covers):
                    _line(space, a, b, look)
        case Circle():
            radius = item.radius * space.paper if item.paper else item.radius
            _fill(space, circle(*item.centre, radius), item.fill)
            look = space.stroke(item.kind, item.width, item.dash)
            space.plain.circle(space.point(item.centre), tidy(radius, space.unit), look)
        case Text():
            # nobody signs this file: what stands in a field until somebody fills it in is left out
            if not item.id:
                _text(space, item)
        case Dimension():
            _dimension(space, item, covers)
        case _:
            assert_never(item)


def _line(space: _Space, a: Point, b: Point, look: Look) -> None:
    start, end = space.point(a), space.point(b)
    if start != end:
        space.plain.line(start, end, look)


def _path(space: _Space, item: Path, covers: Sequence[Cover]) -> None:
    """Draw a path. A closed one is never cut: what a reader measures of it is worth more than what a mark hides."""
    look = space.stroke(item.kind, item.width, item.dash)
    if item.closed:
        _fill(space, item.ring, item.fill)
        ring = space.ring(without_specks(item.ring))
        round_one = as_circle(ring)
        if round_one is not None:
            space.plain.circle(*round_one, look)
        else:
            _polyline(space, ring, True, item.dash, look)
        return
    for part in uncovered(without_specks(item.ring, False), covers):
        ring = space.ring(without_specks(part, False))
        if len(ring.vertices) != 2:
            _polyline(space, ring, False, item.dash, look)
            continue
        (a, b), arc = ring.vertices, arc_of(*ring.vertices)
        if arc is None:
            space.plain.line(a.at, b.at, look)
        else:
            ends = [math.degrees(arc.start) % 360.0, math.degrees(arc.start + arc.sweep) % 360.0]
            start, end = ends if arc.sweep > 0 else reversed(ends)
            space.plain.arc((arc.cx, arc.cy), arc.radius, start, end, look)


def _polyline(space: _Space, ring: Ring, closed: bool, dash: Dash, look: Look) -> None:
    if len(ring.vertices) > 1:
        halves = at_most_half_circles(ring, closed)
        space.plain.polyline(xyb(halves), look, closed=closed, dashed=bool(DASHES[dash]))


def _seen(stroke: tuple[Point, Point], covers: Sequence[Cover]) -> list[tuple[Point, Point]]:
    """Return the parts of a straight stroke that no cover hides."""
    if stroke[0] == stroke[1] or all(cover.misses(*stroke) for cover in covers):
        return [stroke]
    parts = uncovered(Ring((Vertex(*stroke[0]), Vertex(*stroke[1]))), covers)
    return [(part.vertices[0].at, part.vertices[1].at) for part in parts]


def _fill(space: _Space, ring: Ring, fill: str) -> None:
    """Fill a ring with triangles, but with white: on a dark screen that would hide the white lines on it."""
    if fill not in _COLORS or len(ring.vertices) < 2:
        return
    points = ring.flattened(_FLAT * space.paper)
    look = Look(FILL, color=_COLORS[fill])
    placed = [space.point(p) for p in points]
    # a circle's triangles are a fan; any other area's are looked for
    fan = as_circle(ring) is not None
    triangles = [(placed[0], *pair) for pair in pairwise(placed[1:])] if fan else mapbox_earcut_2d(placed)
    space.plain.triangles((((a[0], a[1]), (b[0], b[1]), (c[0], c[1])) for a, b, c in triangles), look)


def _text(space: _Space, item: Text) -> None:
    if item.text:
        style = LETTERING[item.bold][0]
        lettering = Lettering(text_code(item.text), space.point(item.at), space.size(item.height), style, item.anchor)
        space.plain.text(lettering, _plain_look(item.kind), item.angle % 360.0)


# --- dimensions ------------------------------------------------------------------------------------------------------


def _dimension(space: _Space, item: Dimension, covers: Sequence[Cover]) -> None:
    """Add a dimension with its text and the picture it has on the sheet; other programs may draw their own."""
    label = item.label
    (ax, ay), (bx, by) = item.line
    angle = math.degrees(math.atan2(by - ay, bx - ax)) % 180.0 if item.line[0] != item.line[1] else label.angle % 180.0
    measured = Measured(
        style=_dimstyle(space.doc, 1.0 / space.paper, space.unit),
        base=space.point(item.line[1]),
        features=(space.point(item.features[0]), space.point(item.features[1])),
        angle=angle,
        code=_override_code(label.text),
        text_middle=space.point(_middle(space, label)),
        text_rotation=label.angle if _differ(label.angle, angle) else None,
        value=tidy(item.value, space.unit),
        own=list(_own_style(space, item)),
    )
    picture = space.plain.dimension(measured, space.stroke(item.kind, NARROW, Dash.SOLID), space.doc)
    scale = 1.0 / space.paper
    look = space.stroke(item.kind, NARROW, Dash.SOLID)
    inside = replace(space, plain=picture)
    for points in (*dimension_line(item, scale), *item.extensions):
        for stroke in pairwise(points):
            for p, q in _seen(stroke, covers):
                _line(inside, p, q, look)
    for head in arrow_heads(item, scale):
        inside.plain.triangles(
            [(space.point(head[0]), space.point(head[1]), space.point(head[2]))], _plain_look(item.kind)
        )
    _text(inside, label)


def _override_code(text: str) -> str:
    """Return ``text`` as a dimension holds it, where backslashes and braces are codes as well."""
    return text_code(text).translate(_ESCAPED)


def _differ(angle: float, other: float) -> bool:
    """Whether two directions of a text are not the same line."""
    return abs(math.remainder(angle - other, 180.0)) > 0.01


def _middle(space: _Space, label: Text) -> Point:
    """Return the middle of a label, model mm: a dimension's text hangs on it."""
    turn = math.radians(label.angle)
    half = text_width(label.text, label.height, label.bold) / 2.0
    along = {"start": half, "middle": 0.0, "end": -half}[label.anchor] * space.paper
    up = label.height / 2.0 * space.paper
    return (
        label.at[0] + along * math.cos(turn) - up * math.sin(turn),
        label.at[1] + along * math.sin(turn) + up * math.cos(turn),
    )


def _own_style(space: _Space, item: Dimension) -> Iterator[tuple[int, float | str]]:
    """Yield where a dimension departs from its style, for readers that draw it themselves."""
    if item.label.height != SMALL:
        yield DIMTXT, space.size(item.label.height)
    first, second = item.features
    drawn = {0 if math.dist(e[0], first) <= math.dist(e[0], second) else 1 for e in item.extensions if e}
    for k, left_out in enumerate((DIMSE1, DIMSE2)):
        if k not in drawn:
            yield left_out, 1
    if item.arrows != (True, True):
        yield DIMSAH, 1
        for end, wanted in zip((DIMBLK1, DIMBLK2), item.arrows, strict=True):
            yield end, "0" if wanted else ARROWS.arrow_handle(space.doc.blocks, ARROWS.none)
