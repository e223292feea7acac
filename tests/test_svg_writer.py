"""A sheet as SVG, read back by an XML parser and by svgelements, neither of which wrote it; held to the W3C's DTD."""

import io
import math
import re
import xml.etree.ElementTree as ET
from functools import cache
from pathlib import Path as FilePath

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from svgelements import SVG, Arc, Close, Line, Move
from svgelements import Path as SvgPath

from layout.cutting import CornerShape, with_corners
from layout.drawing import (
    ARROW,
    Circle,
    Dash,
    Dimension,
    Drawing,
    Group,
    Kind,
    Lines,
    Path,
    Sheet,
    Text,
    View,
)
from layout.outline import Ring, Vertex, circle, polygon_ring, rectangle
from layout.pipeline import lay_file
from layout.sheets import draw
from layout.version import VERSION
from layout.writers.svg import svg_text

TESTS = FilePath(__file__).resolve().parent
JOBS = {path.stem: path for path in sorted((TESTS.parent / "samples" / "jobs").glob("*.toml"))}
SAMPLES = list(JOBS)

NS = "{http://www.w3.org/2000/svg}"
INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"
OWN = "{urn:staveline}"
AWKWARD = "Müller & Søn <\"Café\"> 'x' 50%"

ROUNDED = with_corners(rectangle(0, 0, 1000, 600), {1: (CornerShape(radius=100), "corner")})
BITE = Ring((Vertex(400, 100, 0.5), Vertex(600, 100), Vertex(600, 300, -0.5), Vertex(400, 300)))
KEYHOLE = Ring((Vertex(80, 20, 1.8), Vertex(110, 20)))


def dimension(**changes):
    values = {
        "features": ((0.0, 0.0), (1000.0, 0.0)),
        "line": ((0.0, -240.0), (1000.0, -240.0)),
        "label": Text(Kind.DIMENSION, (500.0, -220.0), '39 3/8"', anchor="middle"),
        "value": 1000.0,
        "extensions": (((0.0, -36.0), (0.0, -300.0)), ((1000.0, -36.0), (1000.0, -300.0))),
        "name": "overall",
    }
    return Dimension(**(values | changes))


def plan(**changes):
    values = {
        "id": "plan",
        "title": "Plan",
        "items": (
            Path(Kind.PIECE, ROUNDED, name="P1", width=0.5),
            Path(Kind.CUTOUT, BITE, name="S1"),
            Path(Kind.CUTOUT, circle(800, 450, 17.5), name="H1"),
            Path(Kind.CENTRE, polygon_ring([(0, 300), (1000, 300)]), closed=False, dash=Dash.CHAIN),
            Lines(Kind.WALL, (((0, 700), (50, 750)), ((100, 700), (150, 750)))),
            Circle(Kind.MARK, (200, 200), 4.0, name="P1", paper=True, fill="white"),
            Circle(Kind.SUPPORT, (900, 100), 25.0, dash=Dash.DASHED),
            Text(Kind.LABEL, (20, 20), AWKWARD, height=3.5),
            Text(Kind.LABEL, (980, 300), "up", anchor="end", angle=90.0, bold=True),
            dimension(),
            dimension(
                features=((0.0, 0.0), (30.0, 40.0)),
                line=((60.0, -80.0), (90.0, -40.0)),
                label=Text(Kind.DIMENSION, (100.0, -90.0), '2"', angle=math.degrees(math.atan2(40, 30))),
                value=50.0,
                arrows=(True, False),
                outside=True,
                extensions=(((0.0, 0.0), (60.0, -80.0)),),
                name="",
            ),
        ),
        "scale": 1 / 24,
        "label": '1/2" = 1\'-0"',
        "at": (60.0, 90.0),
        "bounds": (-100.0, -320.0, 1100.0, 800.0),
    }
    return View(**(values | changes))


def second_view():
    ring = polygon_ring([(0, 0), (44.45, 0), (44.45, 44.45), (0, 44.45)])
    items = (Path(Kind.EDGE, ring, name="A", fill="grey", width=0.7), Path(Kind.MARK, KEYHOLE, fill="black"))
    return View("edge-A", "Edge A", items, 0.5, "1:2", (300.0, 200.0), (-1.0, -20.0, 120.0, 46.0))


def sheet(**changes):
    values = {
        "number": 1,
        "of": 2,
        "size": "ANSI B",
        "width": 431.8,
        "height": 279.4,
        "title": "Plan",
        "views": (plan(), second_view()),
        "groups": (
            Group("frame", (Path(Kind.FRAME, rectangle(20, 10, 421.8, 269.4), width=0.7),)),
            Group("title-block", (Text(Kind.TITLE, (300, 20), "F-204"),)),
        ),
        "fields": {"Number": "F-204", "Drawn by": AWKWARD, "Sheet": "1 of 2"},
    }
    return Sheet(**(values | changes))


def drawing(*sheets, units="in"):
    second = sheet(number=2, title="Pieces", views=(plan(id="piece-P1", title="P1", scale=0.1, label="1:10"),))
    return Drawing("F-204", "Fernside & Co", "B", units, sheets or (sheet(), second), "0f1ad2")


@cache
def sample(name):
    """The drawing of a sample job."""
    return draw(lay_file(JOBS[name]))


def written(page=None):
    page = page or sheet()
    return svg_text(page, drawing(page))


def tree(page=None):
    return ET.fromstring(written(page).encode())


def classed(root, name, tag="*"):
    return [e for e in root.iter(f"{NS}{tag}" if tag != "*" else None) if e.get("class") == name]


def group(root, name):
    return next(g for g in root.iter(f"{NS}g") if g.get("id") == name)


def signed_area(data):
    """The area inside path data, counter-clockwise positive: chords by the shoelace, and for each arc its segment."""
    total = 0.0
    for part in SvgPath(data):
        if isinstance(part, Move) or part.end is None:
            continue
        total -= (part.start.x * part.end.y - part.end.x * part.start.y) / 2
        if isinstance(part, Arc):
            total -= part.rx * part.ry * (part.sweep - math.sin(part.sweep)) / 2
        else:
            assert isinstance(part, Line | Close)
    return total


def ring_area(page, cls, name):
    return signed_area(next(e.get("d") for e in classed(tree(page), cls, "path") if e.get("data-name") == name))


# --- the page --------------------------------------------------------------------------------------------------------


def test_a_user_unit_is_a_millimetre_of_paper():
    root = tree()
    assert (root.get("width"), root.get("height")) == ("431.8mm", "279.4mm")
    assert root.get("viewBox") == "0 0 431.8 279.4"
    assert SVG.parse(io.StringIO(written()), ppi=25.4).width == pytest.approx(431.8)


def test_groups_come_in_order_and_markup_is_last_and_empty():
    groups = [e for e in tree() if e.tag == f"{NS}g"]
    assert [g.get("id") for g in groups] == ["plan", "edge-A", "frame", "title-block", "markup"]
    assert len(groups[-1]) == 0
    assert [g.get(f"{INKSCAPE}label") for g in groups] == [g.get("id") for g in groups]
    assert {g.get(f"{INKSCAPE}groupmode") for g in groups} == {"layer"}


def test_views_carry_their_scale_and_title():
    view = group(tree(), "plan")
    assert view.get("data-scale") == "1:24"
    assert view.get("data-name") == "Plan"
    assert view.find(f"{NS}title").text == 'Plan, 1/2" = 1\'-0"'
    assert group(tree(), "edge-A").get("data-scale") == "1:2"


def test_the_job_stands_in_the_metadata():
    facts = {e.tag.removeprefix(OWN): e.text for e in tree().find(f"{NS}metadata")}
    assert facts == {
        "job": "F-204",
        "revision": "B",
        "digest": "0f1ad2",
        "sheet": "1 of 2",
        "units": "in",
        "version": VERSION,
    }
    assert tree().find(f"{NS}title").text == "F-204 Fernside & Co, sheet 1 of 2: Plan"


def test_every_drawn_thing_has_a_class_and_its_own_look():
    drawn = [
        e for e in tree().iter() if e.tag.removeprefix(NS) in {"path", "circle", "text", "line", "rect", "polygon"}
    ]
    assert len(drawn) > 15
    for element in drawn:
        assert element.get("class")
        assert element.get("fill")
        assert element.get("style") is None
        if element.tag == f"{NS}text":
            assert element.get("font-family") == "Arial, Helvetica, 'DejaVu Sans', sans-serif"
        else:
            assert element.get("stroke")


def test_nothing_runs_and_nothing_is_fetched():
    text = written()
    assert not re.search(r"<(script|style|image|use|foreignObject)\b", text)
    assert not re.search(r"href\s*=|url\(|@import|\bon\w+\s*=", text)
    assert set(re.findall(r'"([a-z]+:[^" ]*)"', text)) <= {
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xlink",
        "http://www.w3.org/2001/xml-events",
        "http://www.inkscape.org/namespaces/inkscape",
        "urn:staveline",
    }


def test_the_text_is_the_same_each_time_and_ends_its_last_line():
    assert written() == written()
    assert written().endswith("</svg>\n")
    assert "\r" not in written()
    assert max(len(line) for line in written().splitlines()) < 2000


# --- validity --------------------------------------------------------------------------------------------------------


@cache
def svg_dtd():
    """The W3C's DTD of SVG 1.1, second edition, from its files beside the tests."""
    return etree.DTD(str(TESTS / "svg11" / "svg11.dtd"))


def faults_by_dtd(text):
    """What the DTD has against an SVG, and what was taken out before: it knows of no names but SVG's own."""
    root = etree.fromstring(text.encode(), etree.XMLParser(no_network=True, resolve_entities=False))
    taken = set()
    for element in list(root.iter(etree.Element)):
        if not element.tag.startswith(NS):
            taken.add(f"{element.getparent().tag.removeprefix(NS)}/{element.tag}")
            element.getparent().remove(element)
            continue
        for name in [n for n in element.attrib if n.startswith(("data-", "{http://www.inkscape"))]:
            taken.add(name)
            del element.attrib[name]
    etree.cleanup_namespaces(root)
    svg_dtd().validate(root)
    return [error.message for error in svg_dtd().error_log.filter_from_errors()], taken


FOREIGN = {"data-name", "data-scale", f"{INKSCAPE}groupmode", f"{INKSCAPE}label"} | {
    f"metadata/{OWN}{fact}" for fact in ("job", "revision", "digest", "sheet", "units", "version")
}


def test_a_sheet_is_valid_but_for_its_data_and_its_layers():
    assert faults_by_dtd(written()) == ([], FOREIGN)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sheet_of_the_samples_is_valid(name):
    drawn = sample(name)
    for page in drawn.sheets:
        faults, taken = faults_by_dtd(svg_text(page, drawn))
        assert faults == []
        assert taken <= FOREIGN | {f"metadata/{OWN}place"}


@pytest.mark.parametrize(
    ("spoil", "fault"),
    [
        (('id="plan"', 'id="edge-A"'), "ID edge-A already defined"),
        (("<path ", "<route "), "No declaration for element route"),
        (('stroke-linejoin="round"', 'stroke-linejoin="curly"'), 'Value "curly" for attribute stroke-linejoin'),
        (("<circle ", "<circle radius='3' "), "No declaration for attribute radius of element circle"),
    ],
)
def test_the_dtd_sees_faults(spoil, fault):
    faults, _ = faults_by_dtd(written().replace(*spoil))
    assert [f for f in faults if fault in f]


def test_the_dtd_is_whole_and_unchanged():
    """Its files name one another by file name, and each says whose it is."""
    files = {path.name: path.read_text(encoding="utf-8") for path in (TESTS / "svg11").iterdir()}
    modules = {name: text for name, text in files.items() if name.endswith((".mod", ".dtd"))}
    named = {n for text in modules.values() for n in re.findall(r'"([\w-]+\.mod)"', text)}
    assert named == modules.keys() - {"svg11.dtd"}
    assert all("Copyright 2001, 2002, 2011 W" in text for text in modules.values())
    assert "the above copyright notice" in files["NOTICE.txt"]


# --- lines -----------------------------------------------------------------------------------------------------------


def test_a_piece_is_a_path_with_its_name_at_the_place_of_its_view():
    path = next(e for e in classed(tree(), "piece", "path") if e.get("data-name") == "P1")
    first = SvgPath(path.get("d"))[0].end
    assert (first.x, first.y) == pytest.approx((60.0, 279.4 - 90.0), abs=1e-4)
    assert path.get("stroke-width") == "0.5"
    box = SvgPath(path.get("d")).bbox()
    assert box == pytest.approx((60.0, 189.4 - 600 / 24, 60.0 + 1000 / 24, 189.4), abs=1e-3)


@pytest.mark.parametrize(("cls", "name", "ring"), [("piece", "P1", ROUNDED), ("cutout", "S1", BITE)])
def test_arcs_stay_arcs_and_areas_agree(cls, name, ring):
    assert ring_area(None, cls, name) * 24**2 == pytest.approx(ring.area, rel=1e-3)
    assert ring_area(None, cls, name) == pytest.approx(ring.area / 24**2, abs=1e-3)


@pytest.mark.parametrize(
    "bulge", [1.0, -1.0, 1.0 + 1e-13, 0.9999, -0.9999, 1.0001, 1.8, -3.0, 0.001, -1e-5, 0.41421356]
)
def test_an_arc_of_any_size_closes_on_its_ends(bulge):
    ring = Ring((Vertex(13.37, 7.1, bulge), Vertex(37.19, 19.77)))
    page = sheet(views=(plan(items=(Path(Kind.CUTOUT, ring, name="S"),), scale=1.0, at=(50.0, 50.0)),))
    assert ring_area(page, "cutout", "S") == pytest.approx(ring.area, abs=1e-3)


BULGES = st.one_of(st.just(0.0), st.floats(1e-4, 1.0), st.floats(-1.0, -1e-4))


@given(
    st.lists(st.tuples(st.floats(0, 3000), st.floats(0, 800), BULGES), min_size=2, max_size=8),
    st.sampled_from([1 / 48, 1 / 10, 1 / 2, 1.0]),
)
def test_any_ring_keeps_its_area(vertices, scale):
    ring = Ring(tuple(Vertex(*v) for v in vertices))
    view = plan(items=(Path(Kind.PIECE, ring, name="P"),), scale=scale)
    # every corner may be off by half of the last place
    reach = sum(math.dist(a.at, b.at) * scale for a, b in ring.edges()) * 4
    got = ring_area(sheet(views=(view,)), "piece", "P")
    assert got == pytest.approx(ring.area * scale**2, abs=1e-3 + 1e-4 * reach)


def test_a_circle_is_scaled_unless_it_is_a_mark():
    mark = next(e for e in classed(tree(), "mark", "circle"))
    support = next(e for e in classed(tree(), "support", "circle"))
    assert float(mark.get("r")) == 4.0
    assert float(support.get("r")) == pytest.approx(25 / 24, abs=1e-4)
    assert support.get("stroke-dasharray") == "3 1.5"
    assert (mark.get("fill"), support.get("fill")) == ("#fff", "none")


def test_strokes_of_a_hatch_are_one_path():
    hatch = classed(tree(), "wall", "path")
    assert len(hatch) == 1
    assert hatch[0].get("d").count("M") == 2


def test_open_paths_stay_open_and_fills_are_plain_colours():
    centre = classed(tree(), "centre", "path")[0]
    assert "Z" not in centre.get("d")
    ends = [part.end for part in SvgPath(centre.get("d"))]
    assert [(p.x, p.y) for p in ends] == [
        pytest.approx((60.0, 176.9)),
        pytest.approx((60 + 1000 / 24, 176.9), abs=1e-4),
    ]
    assert centre.get("stroke-dasharray") == "8 1.5 0.5 1.5"
    assert classed(tree(), "edge", "path")[0].get("fill") == "#d0d0d0"


# --- texts -----------------------------------------------------------------------------------------------------------


def test_texts_come_back_as_they_were():
    texts = [e.text for e in tree().iter(f"{NS}text")]
    assert AWKWARD in texts
    assert '39 3/8"' in texts
    assert "&amp;" in written()
    assert "&lt;" in written()


def test_a_text_stands_on_its_point_with_capitals_of_its_height():
    text = next(e for e in tree().iter(f"{NS}text") if e.text == AWKWARD)
    assert (float(text.get("x")), float(text.get("y"))) == pytest.approx((60 + 20 / 24, 189.4 - 20 / 24), abs=1e-4)
    assert float(text.get("font-size")) == pytest.approx(3.5 / 0.716, abs=1e-4)
    assert (text.get("text-anchor"), text.get("font-weight"), text.get("transform")) == ("start", "normal", None)


def test_a_turned_text_turns_about_its_point():
    text = next(e for e in tree().iter(f"{NS}text") if e.text == "up")
    x, y = text.get("x"), text.get("y")
    assert text.get("transform") == f"rotate(-90.0000 {x} {y})"
    assert (text.get("text-anchor"), text.get("font-weight")) == ("end", "bold")


@given(st.text(st.characters(min_codepoint=32, exclude_categories=("C",)), min_size=1, max_size=30))
def test_any_text_is_safe(words):
    page = sheet(views=(), groups=(Group("notes", (Text(Kind.LABEL, (5, 5), words, name=words),)),), title=words)
    text = next(tree(page).iter(f"{NS}text"))
    assert text.text == words
    assert text.get("data-name") == words


# --- dimensions ------------------------------------------------------------------------------------------------------


def test_a_dimension_has_a_line_extensions_arrows_and_its_text():
    dim = next(e for e in classed(tree(), "dimension", "g") if e.get("data-name") == "overall")
    parts = [e.get("class") for e in dim]
    assert parts == [
        "dimension-line",
        "dimension-extension",
        "dimension-extension",
        "dimension-arrow",
        "dimension-arrow",
        "dimension",
    ]
    assert dim[-1].text == '39 3/8"'
    line = SvgPath(dim[0].get("d"))
    assert line.length() == pytest.approx(1000 / 24, abs=1e-3)


def test_arrows_point_outwards_and_are_a_third_as_wide_as_long():
    dim = next(e for e in classed(tree(), "dimension", "g") if e.get("data-name") == "overall")
    tip, left, right = _corners(dim[3])
    assert tip == pytest.approx((60.0, 189.4 + 10.0), abs=1e-4)
    assert (left[0], right[0]) == pytest.approx((60.0 + ARROW, 60.0 + ARROW), abs=1e-3)
    assert abs(left[1] - right[1]) == pytest.approx(ARROW / 3, abs=1e-3)
    assert dim[3].get("fill") == "#000"
    assert _corners(dim[4])[0] == pytest.approx((60.0 + 1000 / 24, 199.4), abs=1e-4)


def test_an_outside_arrow_points_inwards_and_has_a_tail():
    dim = next(e for e in classed(tree(), "dimension", "g") if e.get("data-name") is None)
    heads = [e for e in dim if e.get("class") == "dimension-arrow"]
    lines = [e for e in dim if e.get("class") == "dimension-line"]
    assert (len(heads), len(lines)) == (1, 2)
    tip, left, right = _corners(heads[0])
    assert tip == pytest.approx((62.5, 189.4 + 80 / 24), abs=1e-3)
    foot = ((left[0] + right[0]) / 2, (left[1] + right[1]) / 2)
    # the line runs up and right on paper, so the arrow at its start comes from below left
    assert foot == pytest.approx((62.5 - 0.6 * ARROW, 189.4 + 80 / 24 + 0.8 * ARROW), abs=1e-3)
    assert SvgPath(lines[1].get("d")).length() == pytest.approx(2 * ARROW, abs=1e-3)


def test_a_dimension_of_no_length_is_drawn_without_arrows():
    page = sheet(views=(plan(items=(dimension(line=((5.0, 5.0), (5.0, 5.0))),)),))
    assert "dimension-arrow" not in written(page)


# --- numbers ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_number_that_is_none_is_refused(bad):
    for item in (
        Text(Kind.LABEL, (bad, 0), "x"),
        Path(Kind.PIECE, polygon_ring([(0, 0), (bad, 0), (1, 1)])),
        Path(Kind.PIECE, Ring((Vertex(0, 0, bad), Vertex(9, 0), Vertex(9, 9)))),
        Circle(Kind.MARK, (0, 0), bad),
    ):
        with pytest.raises(ValueError, match="cannot hold"):
            written(sheet(views=(plan(items=(item,)),)))


def test_numbers_have_fixed_decimals_and_no_minus_zero():
    page = sheet(views=(plan(items=(Text(Kind.LABEL, (-1e-9, 0), "x", angle=1e-9),), at=(0.0, 0.0)),))
    text = next(tree(page).iter(f"{NS}text"))
    assert (text.get("x"), text.get("y")) == ("0.0000", "279.4000")
    assert not re.search(r'[ "(]-0(\.0+)?[ ")]', written(page))
    assert not re.search(r"\d[eE][-+]?\d|nan|inf\b", written(page).replace("inkscape", ""))
    numbers = re.findall(r"-?\d+\.\d+", " ".join(e.get("d") for e in tree().iter(f"{NS}path")))
    assert {len(n.split(".")[1]) for n in numbers} == {4, 10}


def _corners(element):
    return [(p.end.x, p.end.y) for p in SvgPath(element.get("d"))][:3]
