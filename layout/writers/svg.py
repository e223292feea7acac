"""A sheet as SVG: one page in paper mm, every arc an arc, every text a text.

The y axis is turned over here, in one place. svgwrite has no types and is no longer developed, so nothing of it shows
outside this module; it is imported where it is used, since reading a job needs no writer.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from typing import Any, assert_never

from layout.drawing import (
    DASHES,
    NARROW,
    Circle,
    Dash,
    Dimension,
    Drawing,
    Item,
    Lines,
    Path,
    Sheet,
    Text,
    View,
    arrow_heads,
    dimension_line,
)
from layout.lettering import CAP_HEIGHT
from layout.outline import Point, Ring
from layout.version import VERSION

FONTS = "Arial, Helvetica, 'DejaVu Sans', sans-serif"
BLACK = "#000"
_FILLS = {"none": "none", "white": "#fff", "black": BLACK, "grey": "#d0d0d0"}
_INKSCAPE = "http://www.inkscape.org/namespaces/inkscape"
_OWN = "urn:staveline"
"""The namespace of the job's facts in <metadata>, which SVG leaves to each program."""
_FLAT = 1e-5
"""An arc that rises less than half of this (mm on paper) over its chord is written as a line."""


def svg_text(sheet: Sheet, drawing: Drawing) -> str:
    """Return one sheet as an SVG file's text. Raises ValueError where a number of the model is not finite."""
    import svgwrite  # noqa: PLC0415

    width, height = _short(sheet.width), _short(sheet.height)
    page = svgwrite.Drawing(size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False)
    page.attribs["xmlns:inkscape"] = _INKSCAPE
    page.attribs["xmlns:staveline"] = _OWN
    page.set_desc(title=f"{drawing.number} {drawing.title}, sheet {sheet.number} of {sheet.of}: {sheet.title}")
    for fact in _facts(sheet, drawing):
        page.set_metadata(fact)
    for view in sheet.views:
        layer = _layer(page, view.id)
        layer.attribs["data-scale"] = f"1:{_short(1 / view.scale)}"
        if view.title:
            layer.attribs["data-name"] = view.title
            layer.set_desc(title=f"{view.title}, {view.label}")
        _put_all(page, layer, view.items, _Place.of_view(view, sheet))
        page.add(layer)
    for group in sheet.groups:
        layer = _layer(page, group.id)
        _put_all(page, layer, group.items, _Place(1.0, (0.0, 0.0), sheet.height))
        page.add(layer)
    page.add(_layer(page, "markup"))
    root = page.get_xml()
    ET.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _facts(sheet: Sheet, drawing: Drawing) -> list[ET.Element]:
    facts = {
        "job": drawing.number,
        "revision": drawing.revision,
        "digest": drawing.digest,
        "sheet": f"{sheet.number} of {sheet.of}",
        "units": drawing.units,
        "version": VERSION,
    }
    out = []
    for name, text in facts.items():
        if not text:
            continue
        element = ET.Element(f"staveline:{name}")
        element.text = text
        out.append(element)
    return out + [_place(view, sheet) for view in sheet.views if view.frame is not None]


def _place(view: View, sheet: Sheet) -> ET.Element:
    """Return where a view shows the plan, so that a mark on the page has a place in the job.

    ``at``: the view's model origin in page mm, y down. ``scale`` as in data-scale. ``origin`` and ``angle``: that frame's
    origin in plan (mm) and the direction of its x axis (degrees, counter-clockwise).
    """
    assert view.frame is not None
    at = _Place.of_view(view, sheet).point((0.0, 0.0))
    element = ET.Element("staveline:place")
    element.text = view.id
    element.set("at", " ".join(at))
    element.set("scale", f"1:{_short(1 / view.scale)}")
    element.set("origin", f"{_fixed(view.frame.x)} {_fixed(view.frame.y)}")
    element.set("angle", _fixed(math.degrees(view.frame.angle), ".6f"))
    return element


def _layer(page: Any, name: str) -> Any:
    """Return an empty group with an id, which Inkscape shows as a layer."""
    layer = page.g(id=name)
    layer.attribs["inkscape:groupmode"] = "layer"
    layer.attribs["inkscape:label"] = name
    return layer


# --- numbers and points ----------------------------------------------------------------------------------------------


def _finite(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError(f"a drawing cannot hold the number {value}")
    return value


def _fixed(value: float, form: str = ".4f") -> str:
    """Return a number with fixed decimals, never minus zero. Raises ValueError where it is not finite."""
    text = format(_finite(value), form)
    return text[1:] if text[0] == "-" and not text.strip("-0.") else text


def _short(value: float) -> str:
    """Return a size without trailing zeros."""
    return _fixed(value).rstrip("0").rstrip(".")


@dataclass(frozen=True, slots=True)
class _Place:
    """Where items lie on the page: ``scale`` and origin ``at`` in paper mm, y up, on a page ``height`` mm high."""

    scale: float
    at: Point
    height: float

    @staticmethod
    def of_view(view: View, sheet: Sheet) -> _Place:
        return _Place(view.scale, view.at, sheet.height)

    def page(self, p: Point) -> Point:
        """Return a point in page mm, y down."""
        return (self.at[0] + self.scale * p[0], self.height - (self.at[1] + self.scale * p[1]))

    def point(self, p: Point) -> tuple[str, str]:
        """Return a point as it is written."""
        x, y = self.page(p)
        return (_fixed(x), _fixed(y))


# --- items -----------------------------------------------------------------------------------------------------------


def _put_all(page: Any, layer: Any, items: tuple[Item, ...], place: _Place) -> None:
    for item in items:
        layer.add(_element(page, item, place))


def _element(page: Any, item: Item, place: _Place) -> Any:
    match item:
        case Path():
            element = page.path(d=_path(item.ring, item.closed, place), fill=_FILLS[item.fill])
            _stroke(element, item.width, item.dash)
        case Lines():
            strokes = " ".join(_polyline(stroke, place) for stroke in item.strokes)
            element = page.path(d=strokes, fill="none")
            _stroke(element, item.width, item.dash)
        case Circle():
            radius = item.radius if item.paper else item.radius * place.scale
            element = page.circle(place.point(item.centre), _fixed(radius), fill=_FILLS[item.fill])
            _stroke(element, item.width, item.dash)
        case Text():
            element = _text(page, item, place)
        case Dimension():
            element = _dimension(page, item, place)
        case _:
            assert_never(item)
    element.attribs["class"] = item.kind.value
    if item.name:
        element.attribs["data-name"] = item.name
    return element


def _stroke(element: Any, width: float, dash: Dash = Dash.SOLID) -> None:
    element.attribs |= {"stroke": BLACK, "stroke-width": _short(width), "stroke-linejoin": "round"}
    if DASHES[dash]:
        element.attribs["stroke-dasharray"] = " ".join(_short(length) for length in DASHES[dash])


def _polyline(points: tuple[Point, ...], place: _Place) -> str:
    return "M " + " L ".join(" ".join(place.point(p)) for p in points)


def _path(ring: Ring, closed: bool, place: _Place) -> str:
    """Return the path data of a ring, its arcs as arcs."""
    edges = list(ring.edges())
    written = [place.point(v.at) for v in ring.vertices]
    parts = ["M", *written[0]]
    ends = zip(written, written[1:] + written[:1], strict=True)
    for (a, b), (start, end) in zip(edges if closed else edges[:-1], ends, strict=False):
        if start == end:
            continue
        # from the ends as written, so that the arc meets them
        chord = math.dist([float(n) for n in start], [float(n) for n in end])
        if _finite(chord * abs(a.bulge)) > _FLAT:
            # rounded down: a reader stretches a radius that is a hair short until it fits, while a hair too long would
            # flatten a half circle, and that is why it has so many decimals
            radius = math.floor(chord * (1.0 + a.bulge**2) / (4.0 * abs(a.bulge)) * 1e10) / 1e10
            size = _fixed(radius, ".10f")
            # y runs down on the page, where counter-clockwise is the negative direction
            parts += ["A", size, size, "0", "1" if abs(a.bulge) > 1.0 else "0", "0" if a.bulge > 0 else "1", *end]
        elif not closed or b is not ring.vertices[0]:
            parts += ["L", *end]
    return " ".join([*parts, "Z"] if closed else parts)


def _text(page: Any, item: Text, place: _Place) -> Any:
    x, y = place.point(item.at)
    element = page.text(item.text)
    element.attribs |= {
        "x": x,
        "y": y,
        "fill": BLACK,
        "font-family": FONTS,
        "font-size": _fixed(item.height / CAP_HEIGHT),
        "font-weight": "bold" if item.bold else "normal",
        "text-anchor": item.anchor,
    }
    if item.id:
        element.attribs["id"] = item.id
    if "  " in item.text:
        element.attribs["xml:space"] = "preserve"
    if item.angle:
        element.attribs["transform"] = f"rotate({_fixed(-item.angle)} {x} {y})"
    return element


def _dimension(page: Any, item: Dimension, place: _Place) -> Any:
    group = page.g()
    for part, strokes in (("line", dimension_line(item, place.scale)), ("extension", item.extensions)):
        for points in strokes:
            element = page.path(d=_polyline(points, place), fill="none")
            element.attribs["class"] = f"dimension-{part}"
            _stroke(element, NARROW)
            group.add(element)
    for head in arrow_heads(item, place.scale):
        element = page.path(d=_polyline(head, place) + " Z", fill=BLACK, stroke="none")
        element.attribs["class"] = "dimension-arrow"
        group.add(element)
    group.add(_element(page, item.label, place))
    return group
