"""Items of a sheet as SVG: every arc an arc, every text a text, a line of the file each.

svgwrite makes an element of some ten objects of each, and an XML library reads those through three times, for the namespaces, the
indents and the text. An item has few attributes and all in one order, so it is written here at once, as the two would
write it (the tests compare).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import assert_never
from xml.sax.saxutils import escape

from layout.drawing import (
    DASHES,
    NARROW,
    Circle,
    Dash,
    Dimension,
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

FONTS = "Arial, Helvetica, 'DejaVu Sans', sans-serif"
BLACK = "#000"
_FILLS = {"none": "none", "white": "#fff", "black": BLACK, "grey": "#d0d0d0"}
_FLAT = 1e-5
"""An arc that rises less than half of this (mm on paper) over its chord is written as a line."""
_QUOTED = {'"': "&quot;", "\r": "&#13;", "\n": "&#10;", "\t": "&#09;"}


# --- numbers and points ----------------------------------------------------------------------------------------------


def fixed(value: float, form: str = ".4f") -> str:
    """Return a number with fixed decimals, never minus zero. Raises ValueError where it is not finite."""
    text = format(value, form)
    if text[0] == "-" and not text.strip("-0."):
        return text[1:]
    # nan and inf
    if text[-1] > "9":
        raise ValueError(f"a drawing cannot hold the number {value}")
    return text


def short(value: float) -> str:
    """Return a size without trailing zeros."""
    return fixed(value).rstrip("0").rstrip(".")


@dataclass(frozen=True, slots=True)
class Place:
    """Where items lie on the page: ``scale`` and origin ``at`` in paper mm, y up, on a page ``height`` mm high."""

    scale: float
    at: Point
    height: float

    @staticmethod
    def of_view(view: View, sheet: Sheet) -> Place:
        """Return where a view's items lie on its sheet."""
        return Place(view.scale, view.at, sheet.height)

    def point(self, p: Point) -> tuple[str, str]:
        """Return a point in page mm, y down, as it is written."""
        at, scale = self.at, self.scale
        return (fixed(at[0] + scale * p[0]), fixed(self.height - (at[1] + scale * p[1])))

    def pair(self, p: Point) -> str:
        """Return a point as path data has it."""
        (x, y), scale = self.at, self.scale
        text = f"{x + scale * p[0]:.4f} {self.height - (y + scale * p[1]):.4f}"
        # a minus zero, and what is not finite
        return " ".join(self.point(p)) if "-0.0000" in text or "n" in text else text


# --- items -----------------------------------------------------------------------------------------------------------


def items_text(items: Sequence[Item], place: Place, indent: str) -> str:
    """Return items as the lines of a file, each after ``indent``. Raises ValueError where a number is not finite."""
    return "\n".join([_item(item, place, indent) for item in items])


def _item(item: Item, place: Place, indent: str) -> str:
    kind, name = f'class="{item.kind.value}"', f' data-name="{escape(item.name, _QUOTED)}"' if item.name else ""
    match item:
        case Path():
            fill = _FILLS[item.fill]
            stroke = _stroke(item.width, item.dash)
            return f'{indent}<path {kind} d="{_path(item.ring, item.closed, place)}"{name} fill="{fill}"{stroke} />'
        case Lines():
            strokes = " ".join([_polyline(stroke, place) for stroke in item.strokes])
            return f'{indent}<path {kind} d="{strokes}"{name} fill="none"{_stroke(item.width, item.dash)} />'
        case Circle():
            x, y = place.point(item.centre)
            fill, radius = _FILLS[item.fill], fixed(item.radius if item.paper else item.radius * place.scale)
            stroke = _stroke(item.width, item.dash)
            return f'{indent}<circle {kind} cx="{x}" cy="{y}"{name} fill="{fill}" r="{radius}"{stroke} />'
        case Text():
            return f"{indent}{_text(item, place, kind, name)}"
        case Dimension():
            within = _dimension(item, place, f"{indent}  ")
            return "\n".join([f"{indent}<g {kind}{name}>", *within, f"{indent}</g>"])
        case _:
            assert_never(item)


@cache
def _stroke(width: float, dash: Dash = Dash.SOLID) -> str:
    lengths = " ".join(short(length) for length in DASHES[dash])
    dashed = f' stroke-dasharray="{lengths}"' if lengths else ""
    return f' stroke="{BLACK}"{dashed} stroke-linejoin="round" stroke-width="{short(width)}"'


def _polyline(points: tuple[Point, ...], place: Place) -> str:
    return "M " + " L ".join([place.pair(p) for p in points])


def _path(ring: Ring, closed: bool, place: Place) -> str:
    """Return the path data of a ring, its arcs as arcs."""
    edges = list(ring.edges())
    written = [place.point(v.at) for v in ring.vertices]
    parts = ["M", *written[0]]
    ends = zip(written, written[1:] + written[:1], strict=True)
    for (a, b), (start, end) in zip(edges if closed else edges[:-1], ends, strict=False):
        if start == end:
            continue
        if a.bulge:
            # from the ends as written, so that the arc meets them
            chord = math.dist([float(n) for n in start], [float(n) for n in end])
            rise = chord * abs(a.bulge)
            if not math.isfinite(rise):
                raise ValueError(f"a drawing cannot hold an arc of bulge {a.bulge}")
            if rise > _FLAT:
                # rounded down: a reader stretches a radius that is a hair short until it fits, while a hair too long would
                # flatten a half circle, and that is why it has so many decimals
                radius = math.floor(chord * (1.0 + a.bulge**2) / (4.0 * abs(a.bulge)) * 1e10) / 1e10
                size = fixed(radius, ".10f")
                # y runs down on the page, where counter-clockwise is the negative direction
                parts += ["A", size, size, "0", "1" if abs(a.bulge) > 1.0 else "0", "0" if a.bulge > 0 else "1", *end]
                continue
        if not closed or b is not ring.vertices[0]:
            parts += ["L", *end]
    return " ".join([*parts, "Z"] if closed else parts)


def _text(item: Text, place: Place, kind: str, name: str) -> str:
    x, y = place.point(item.at)
    own = f' id="{escape(item.id, _QUOTED)}"' if item.id else ""
    turned = f' transform="rotate({fixed(-item.angle)} {x} {y})"' if item.angle else ""
    kept = ' xml:space="preserve"' if "  " in item.text else ""
    font = (
        f'font-family="{FONTS}" font-size="{_font_size(item.height)}" font-weight="{"bold" if item.bold else "normal"}"'
    )
    start = f'<text {kind}{name} fill="{BLACK}" {font}{own} text-anchor="{item.anchor}"{turned} x="{x}"{kept} y="{y}"'
    return f"{start}>{escape(item.text)}</text>" if item.text else f"{start} />"


@cache
def _font_size(height: float) -> str:
    return fixed(height / CAP_HEIGHT)


def _dimension(item: Dimension, place: Place, indent: str) -> list[str]:
    out = [
        f'{indent}<path class="dimension-{part}" d="{_polyline(points, place)}" fill="none"{_stroke(NARROW)} />'
        for part, strokes in (("line", dimension_line(item, place.scale)), ("extension", item.extensions))
        for points in strokes
    ]
    out += [
        f'{indent}<path class="dimension-arrow" d="{_polyline(head, place)} Z" fill="{BLACK}" stroke="none" />'
        for head in arrow_heads(item, place.scale)
    ]
    return [*out, _item(item.label, place, indent)]
