"""Items as SVG, byte for byte against what svgwrite and ElementTree make of the same (both are general libraries)."""

import math
import xml.etree.ElementTree as ET

import pytest
import svgwrite
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.drawing import (
    DASHES,
    NARROW,
    Circle,
    Dash,
    Dimension,
    Kind,
    Lines,
    Path,
    Text,
    arrow_heads,
    dimension_line,
)
from layout.lettering import CAP_HEIGHT
from layout.outline import Ring, Vertex
from layout.writers.svg_items import FONTS, Place, fixed, items_text, short

NUMBERS = st.floats(-1e5, 1e5) | st.sampled_from([0.0, -0.0, -1e-9, 0.00005])
POINTS = st.tuples(NUMBERS, NUMBERS)
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("C",)), max_size=10) | st.sampled_from(
    ["a  b", "<b>&amp;\"'", "]]>", "<!--plan-->", "tab\tand\nline"]
)
SIZES = st.sampled_from([0.25, 0.5, 1.0, 3.0])
PLACES = st.builds(Place, st.sampled_from([1.0, 1 / 24, 1 / 3]), POINTS, st.just(297.0))
FILLS = st.sampled_from(["none", "white", "black", "grey"])
KINDS, DASHED = st.sampled_from(list(Kind)), st.sampled_from(list(Dash))
VERTICES = st.builds(Vertex, NUMBERS, NUMBERS, st.sampled_from([0.0, 1.0, -0.4142, 2.5, 1e-12]))
RINGS = st.lists(VERTICES, min_size=2, max_size=5, unique_by=lambda v: v.at).map(lambda vs: Ring(tuple(vs)))
LOOK = {"kind": KINDS, "width": SIZES, "dash": DASHED, "name": WORDS}
PATHS = st.builds(Path, ring=RINGS, closed=st.booleans(), fill=FILLS, **LOOK)
STROKES = st.lists(POINTS, min_size=2, max_size=3).map(tuple)
LINES = st.builds(Lines, strokes=st.lists(STROKES, min_size=1, max_size=3).map(tuple), **LOOK)
CIRCLES = st.builds(Circle, centre=POINTS, radius=SIZES, paper=st.booleans(), fill=FILLS, **LOOK)
TEXTS = st.builds(
    Text,
    KINDS,
    POINTS,
    WORDS,
    SIZES,
    st.sampled_from(["start", "middle", "end"]),
    st.sampled_from([0.0, 90.0, -33.3]),
    st.booleans(),
    WORDS,
    st.sampled_from(["", "initials-1"]),
)
PAIRS = st.tuples(POINTS, POINTS).filter(lambda p: math.dist(*p) > 1.0)
DIMENSIONS = st.builds(
    Dimension,
    features=PAIRS,
    line=PAIRS,
    arrows=st.tuples(st.booleans(), st.booleans()),
    outside=st.booleans(),
    extensions=st.lists(STROKES, max_size=2).map(tuple),
    label=TEXTS,
    value=SIZES,
    name=WORDS,
)
GREY = {"none": "none", "white": "#fff", "black": "#000", "grey": "#d0d0d0"}


def by_svgwrite(items, place):
    """The lines between a group's own tags, as the two libraries write it."""
    page = svgwrite.Drawing(debug=False)
    group = page.g()
    for item in items:
        group.add(element(page, item, place))
    page.add(group)
    root = page.get_xml()
    ET.indent(root)
    text = ET.tostring(root, encoding="unicode")
    return text[text.index("  <g>\n") + 6 : text.rindex("\n  </g>")]


def element(page, item, place):
    match item:
        case Path():
            out = stroked(page.path(d=path(item.ring, item.closed, place), fill=GREY[item.fill]), item.width, item.dash)
        case Lines():
            strokes = " ".join(polyline(stroke, place) for stroke in item.strokes)
            out = stroked(page.path(d=strokes, fill="none"), item.width, item.dash)
        case Circle():
            radius = item.radius if item.paper else item.radius * place.scale
            shape = page.circle(place.point(item.centre), fixed(radius), fill=GREY[item.fill])
            out = stroked(shape, item.width, item.dash)
        case Text():
            out = text(page, item, place)
        case Dimension():
            out = page.g()
            for part, strokes in (("line", dimension_line(item, place.scale)), ("extension", item.extensions)):
                for points in strokes:
                    line = stroked(page.path(d=polyline(points, place), fill="none"), NARROW, Dash.SOLID)
                    line.attribs["class"] = f"dimension-{part}"
                    out.add(line)
            for head in arrow_heads(item, place.scale):
                arrow = page.path(d=f"{polyline(head, place)} Z", fill="#000", stroke="none")
                arrow.attribs["class"] = "dimension-arrow"
                out.add(arrow)
            out.add(element(page, item.label, place))
    out.attribs["class"] = item.kind.value
    if item.name:
        out.attribs["data-name"] = item.name
    return out


def stroked(shape, width, dash):
    shape.attribs |= {"stroke": "#000", "stroke-width": short(width), "stroke-linejoin": "round"}
    if DASHES[dash]:
        shape.attribs["stroke-dasharray"] = " ".join(short(length) for length in DASHES[dash])
    return shape


def polyline(points, place):
    return "M " + " L ".join(" ".join(place.point(p)) for p in points)


def path(ring, closed, place):
    """A ring's path data with each radius from its own arc, the ends as they are written."""
    written = [place.point(v.at) for v in ring.vertices]
    parts = ["M", *written[0]]
    for k, vertex in enumerate(ring.vertices if closed else ring.vertices[:-1]):
        start, end = written[k], written[(k + 1) % len(written)]
        last = closed and k == len(written) - 1
        chord = math.dist([float(n) for n in start], [float(n) for n in end])
        if start != end and chord * abs(vertex.bulge) > 1e-5:
            radius = math.floor(chord * (1.0 + vertex.bulge**2) / (4.0 * abs(vertex.bulge)) * 1e10) / 1e10
            large, sweep = int(abs(vertex.bulge) > 1.0), int(vertex.bulge <= 0)
            parts += ["A", f"{radius:.10f}", f"{radius:.10f}", "0", str(large), str(sweep), *end]
        elif start != end and not last:
            parts += ["L", *end]
    return " ".join([*parts, "Z"] if closed else parts)


def text(page, item, place):
    x, y = place.point(item.at)
    out = page.text(item.text)
    out.attribs |= {
        "x": x,
        "y": y,
        "fill": "#000",
        "font-family": FONTS,
        "font-size": fixed(item.height / CAP_HEIGHT),
        "font-weight": "bold" if item.bold else "normal",
        "text-anchor": item.anchor,
    }
    if item.id:
        out.attribs["id"] = item.id
    if "  " in item.text:
        out.attribs["xml:space"] = "preserve"
    if item.angle:
        out.attribs["transform"] = f"rotate({fixed(-item.angle)} {x} {y})"
    return out


@given(st.lists(PATHS | LINES | CIRCLES | TEXTS | DIMENSIONS, min_size=1, max_size=5), PLACES)
@settings(max_examples=300, deadline=None)
def test_items_are_written_as_the_libraries_write_them(items, place):
    assert items_text(items, place, "    ") == by_svgwrite(items, place)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_number_that_is_not_finite_is_refused(bad):
    place = Place(1.0, (0.0, 0.0), 297.0)
    items = [
        Path(Kind.PIECE, Ring((Vertex(0.0, 0.0), Vertex(bad, 1.0)))),
        Path(Kind.PIECE, Ring((Vertex(0.0, 0.0, bad), Vertex(9.0, 1.0)))),
        Lines(Kind.PIECE, (((0.0, 0.0), (0.0, bad)),)),
        Circle(Kind.PIECE, (0.0, 0.0), bad),
        Text(Kind.TABLE, (bad, 0.0), "a"),
        Text(Kind.TABLE, (0.0, 0.0), "a", bad),
        Text(Kind.TABLE, (0.0, 0.0), "a", angle=bad),
    ]
    for item in items:
        with pytest.raises(ValueError, match="a drawing cannot hold"):
            items_text([item], place, "")


@pytest.mark.parametrize(
    ("value", "written"), [(-0.00001, "0.0000"), (-0.0, "0.0000"), (1.00005, "1.0001"), (-2.5, "-2.5000")]
)
def test_a_number_is_never_minus_zero(value, written):
    assert fixed(value) == written
