"""A sheet as SVG: one page in paper mm, a group for each view.

The y axis is turned over here, in one place. svgwrite has no types and is no longer developed, so nothing of it shows
outside this module; it is imported where it is used, since reading a job needs no writer.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from typing import Any

from layout.drawing import Drawing, Item, Sheet, View
from layout.version import VERSION
from layout.writers.svg_items import Place, fixed, items_text, short

_INKSCAPE = "http://www.inkscape.org/namespaces/inkscape"
_OWN = "urn:staveline"
"""The namespace of the job's facts in <metadata>, which SVG leaves to each program."""
_WITHIN = "    "
"""The indent of what is in a group on the page."""


def svg_text(sheet: Sheet, drawing: Drawing) -> str:
    """Return one sheet as an SVG file's text. Raises ValueError where a number of the model is not finite."""
    import svgwrite  # noqa: PLC0415

    width, height = short(sheet.width), short(sheet.height)
    page = svgwrite.Drawing(size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False)
    page.attribs["xmlns:inkscape"] = _INKSCAPE
    page.attribs["xmlns:staveline"] = _OWN
    page.set_desc(title=f"{drawing.number} {drawing.title}, sheet {sheet.number} of {sheet.of}: {sheet.title}")
    for fact in _facts(sheet, drawing):
        page.set_metadata(fact)
    written: dict[str, str] = {}
    for view in sheet.views:
        layer = _layer(page, view.id)
        layer.attribs["data-scale"] = f"1:{short(1 / view.scale)}"
        if view.title:
            layer.attribs["data-name"] = view.title
            layer.set_desc(title=f"{view.title}, {view.label}")
        written |= _put_all(layer, view.items, Place.of_view(view, sheet))
        page.add(layer)
    for group in sheet.groups:
        layer = _layer(page, group.id)
        written |= _put_all(layer, group.items, Place(1.0, (0.0, 0.0), sheet.height))
        page.add(layer)
    page.add(_layer(page, "markup"))
    root = page.get_xml()
    ET.indent(root)
    text = ET.tostring(root, encoding="unicode")
    for mark, lines in written.items():
        text = text.replace(mark, lines, 1)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


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
    at = Place.of_view(view, sheet).point((0.0, 0.0))
    element = ET.Element("staveline:place")
    element.text = view.id
    element.set("at", " ".join(at))
    element.set("scale", f"1:{short(1 / view.scale)}")
    element.set("origin", f"{fixed(view.frame.x)} {fixed(view.frame.y)}")
    element.set("angle", fixed(math.degrees(view.frame.angle), ".6f"))
    return element


def _layer(page: Any, name: str) -> Any:
    """Return an empty group with an id, which Inkscape shows as a layer."""
    layer = page.g(id=name)
    layer.attribs["inkscape:groupmode"] = "layer"
    layer.attribs["inkscape:label"] = name
    return layer


class _Mark:
    """A comment as svgwrite takes an element."""

    def __init__(self, text: str) -> None:
        """Hold the text of the comment."""
        self._text = text

    def get_xml(self) -> Any:
        """Return the element."""
        return ET.Comment(self._text)


def _put_all(layer: Any, items: Sequence[Item], place: Place) -> dict[str, str]:
    """Put a mark for its items into a group that lies on the page itself; return the mark as it is written, and the items."""
    if not items:
        return {}
    # no text of anybody's can hold it, since "<" is written otherwise there
    name = layer.attribs["id"]
    layer.add(_Mark(name))
    return {f"{_WITHIN}<!--{name}-->": items_text(items, place, _WITHIN)}
