"""The shop drawing as DXF, read back by GDAL and by a tag reader of the tests' own; ezdxf only audits what it wrote.

How its layouts look beside the sheets is in test_renderers.py.
"""

import io
import math
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from functools import cache
from itertools import pairwise
from pathlib import Path as FilePath

import ezdxf
import numpy as np
import pyogrio
import pytest
import shapely
from raw_dxf import read, ring_area
from test_svg_writer import AWKWARD, BITE, KEYHOLE, NS, ROUNDED, SAMPLES, dimension, drawing, plan, sample, sheet

from layout.drawing import DASHES, Circle, Dash, Dimension, Group, Kind, Lines, Path, Text
from layout.outline import Ring, Vertex, circle, polygon_ring
from layout.writers.dxf_file import cover_of, uncovered
from layout.writers.shop_dxf import shop_dxf
from layout.writers.svg import svg_text

MM = {"in": 25.4, "mm": 1.0}
HOME = {"in": (0.0, 0.0), "mm": (0.0, 0.0)}
"""Where the origin of the first view lies in model space: the plan keeps the job's own coordinates."""
UNITS = pytest.mark.parametrize("units", ["in", "mm"])
ROOT = FilePath(__file__).parent.parent
ENTITIES = {
    "LINE",
    "ARC",
    "CIRCLE",
    "LWPOLYLINE",
    "TEXT",
    "SOLID",
    "DIMENSION",
    "INSERT",
    "ATTRIB",
    "SEQEND",
    "VIEWPORT",
}


def written(*sheets, units="in"):
    return shop_dxf(drawing(*sheets, units=units))


def shop(*sheets, units="in"):
    return read(written(*sheets, units=units))


def one(*items, **changes):
    """A drawing of one sheet with one view, read back."""
    return shop(sheet(views=(plan(items=items, **changes),), groups=(), fields={}))


def at_home(x, y, units="in"):
    """A point of the first view in model space."""
    return (x + HOME[units][0], y + HOME[units][1])


def by_gdal(data, tmp_path, paper=False):
    """What GDAL makes of a file: [(layer, class, geometry, text)]."""
    path = tmp_path / "shop.dxf"
    path.write_bytes(data)
    os.environ["DXF_ENCODING"] = "UTF-8"  # GDAL believes the code page, which R2010 does not go by
    pyogrio.set_gdal_config_options(
        {"OGR_ARC_STEPSIZE": "0.01", "OGR_ARC_MAX_GAP": "0", "DXF_CLOSED_LINE_AS_POLYGON": "NO"}
    )
    meta, _, shapes, columns = pyogrio.raw.read(path, layer="entities")
    column = dict(zip(meta["fields"], columns, strict=True))
    on_paper = column.get("PaperSpace", np.zeros(len(shapes)))
    return [
        (layer, kind.split(":")[-1], shapely.from_wkb(shape), text)
        for layer, kind, shape, text, there in zip(
            column["Layer"], column["SubClasses"], shapes, column["Text"], on_paper, strict=True
        )
        if (str(there) in ("1", "1.0", "True")) == paper
    ]


# --- header and tables -----------------------------------------------------------------------------------------------


@UNITS
def test_the_header_says_the_unit_twice_and_the_version(units):
    dxf = shop(units=units)
    assert dxf.var("$ACADVER") == "AC1024"
    assert int(dxf.var("$INSUNITS")) == {"in": 1, "mm": 4}[units]
    assert int(dxf.var("$MEASUREMENT")) == {"in": 0, "mm": 1}[units]


@UNITS
def test_the_header_draws_dimensions_as_the_style_of_most_of_them_does(units):
    """LibreCAD draws all in the header's style."""
    # two at 1 to 24 and two at 1 to 10: where there are as many, the one with smaller letters
    dxf = shop(units=units)
    name = dxf.var("$DIMSTYLE")
    style = next(s for s in dxf.table("DIMSTYLE") if s.text(2) == name)
    assert name == "SHOP_10"
    codes = {
        "$DIMTXT": 140,
        "$DIMASZ": 41,
        "$DIMEXO": 42,
        "$DIMEXE": 44,
        "$DIMGAP": 147,
        "$DIMLFAC": 144,
        "$DIMSCALE": 40,
    }
    for variable, code in codes.items():
        assert float(dxf.var(variable)) == pytest.approx(style.number(code)), variable
    assert float(dxf.var("$DIMLFAC")) == 1.0
    assert float(dxf.var("$DIMTXT")) == pytest.approx(2.5 * 10 / MM[units])
    assert float(dxf.var("$DIMASZ")) == pytest.approx(2.5 * 10 / MM[units])
    assert dxf.var("$DIMTXSTY") == "LETTERING"
    assert int(dxf.var("$DIMDSEP")) == ord(".")
    more = sheet(views=(plan(items=(dimension(),) * 3), plan(scale=0.1, items=(dimension(),) * 2)))
    assert shop(more, units=units).var("$DIMSTYLE") == "SHOP_24"
    assert shop(sheet(views=()), units=units).var("$DIMSTYLE") == "SHOP_1"


@UNITS
def test_the_header_has_the_first_sheets_size_to_print_on(units):
    """LibreCAD takes the page from the limits of paper space, in drawing units."""
    dxf = shop(units=units)
    size = [float(v) for _, v in dxf.header["$PLIMMAX"][:2]]
    assert size == pytest.approx([431.8 / MM[units], 279.4 / MM[units]])
    assert [float(v) for _, v in dxf.header["$PLIMMIN"][:2]] == [0.0, 0.0]


def test_every_scale_has_a_style_that_measures_one_to_one():
    styles = {s.text(2): s for s in shop().table("DIMSTYLE") if s.text(2) != "Standard"}
    assert set(styles) == {"SHOP_24", "SHOP_2", "SHOP_10", "SHOP_1"}
    for name, style in styles.items():
        assert style.number(144) == 1.0  # DIMLFAC
        assert style.number(140) == pytest.approx(2.5 / 25.4 * float(name[5:]))
        assert int(style.number(278)) == ord(".")
        assert int(style.number(277)) == 2  # decimal: a fraction might come out stacked


def test_no_stock_style_of_the_library_is_in_the_file():
    assert not [s.text(2) for s in shop().table("DIMSTYLE") if s.text(2).startswith("EZ")]
    assert "OpenSans" not in written().decode()
    assert {s.text(2) for s in shop().table("STYLE")} == {"Standard", "LETTERING", "LETTERING_BOLD"}


def test_layers_are_the_kinds_and_each_used_one_exists():
    dxf = shop()
    layers = {x.text(2): x for x in dxf.table("LAYER")}
    assert {k.name for k in Kind if k is not Kind.REVISION} | {"0", "Defpoints", "FILL", "VIEWPORT"} == set(layers)
    used = {e.layer for e in [*dxf.entities, *(e for b in dxf.blocks.values() for e in b)]}
    assert used <= set(layers)
    assert layers["VIEWPORT"].text(290).strip() == "0"  # does not plot
    assert layers["PIECE"].text(290, "1").strip() == "1"


@UNITS
def test_extents_are_those_of_the_model(units, tmp_path):
    dxf = shop(units=units)
    low = [float(v) for _, v in dxf.header["$EXTMIN"][:2]]
    high = [float(v) for _, v in dxf.header["$EXTMAX"][:2]]
    assert max(map(abs, low + high)) < 1e6
    for _, _, shape, text in by_gdal(written(units=units), tmp_path):
        x0, y0, x1, y1 = shape.bounds
        assert text or (low[0] <= x0 and low[1] <= y0 and x1 <= high[0] and y1 <= high[1])


def test_only_plain_entities_and_no_codes_in_texts():
    dxf = shop()
    everything = [*dxf.entities, *(e for b in dxf.blocks.values() for e in b)]
    assert {e.kind for e in everything} <= ENTITIES | {"ATTDEF"}
    for entity in everything:
        assert not entity.all(210), "no extrusion"
        assert "\\S" not in entity.text(1)


@UNITS
def test_an_audit_finds_nothing(units):
    doc = ezdxf.read(io.StringIO(written(units=units).decode()))
    audit = doc.audit()
    assert audit.errors == []
    assert audit.fixes == []


# --- model space -----------------------------------------------------------------------------------------------------


@UNITS
def test_the_first_view_keeps_its_place_full_size(units):
    piece = shop(units=units).of("LWPOLYLINE", "PIECE")[0]
    mm = MM[units]
    assert piece.closed
    want = [(*at_home(v.x / mm, v.y / mm, units), v.bulge) for v in ROUNDED.vertices]
    assert np.array(piece.vertices()) == pytest.approx(np.array(want), abs=1e-9)
    assert ring_area(piece.vertices()) * mm**2 == pytest.approx(ROUNDED.area, rel=1e-9)


@UNITS
def test_gdal_measures_the_same_areas(units, tmp_path):
    got = {
        layer: shapely.Polygon(shape).area * MM[units] ** 2
        for layer, kind, shape, _ in by_gdal(written(sheet(), units=units), tmp_path)
        if kind == "AcDbPolyline" and shape.is_closed
    }
    assert got["PIECE"] == pytest.approx(ROUNDED.area, rel=1e-5)
    assert got["CUTOUT"] == pytest.approx(BITE.area, rel=1e-5)
    assert got["MARK"] == pytest.approx(KEYHOLE.area, rel=1e-5)


def test_views_do_not_overlap():
    dxf = shop()
    views = [e.number(45) for e in dxf.entities if e.kind == "VIEWPORT"]
    assert views
    pieces = [shapely.Polygon([v[:2] for v in p.vertices()]) for p in dxf.of("LWPOLYLINE", "PIECE")]
    assert len(pieces) == 2
    assert pieces[0].distance(pieces[1]) > 500 / 25.4
    edge = shapely.Polygon([v[:2] for v in dxf.of("LWPOLYLINE", "EDGE")[0].vertices()])
    assert min(p.distance(edge) for p in pieces) > 500 / 25.4


def test_views_are_moved_by_whole_units():
    for piece in shop().of("LWPOLYLINE", "PIECE"):
        for (x, y, _), v in zip(piece.vertices(), ROUNDED.vertices, strict=True):
            for moved in (x - v.x / 25.4, y - v.y / 25.4):
                assert moved == pytest.approx(round(moved), abs=1e-9)


@UNITS
def test_the_other_views_stand_clear_of_the_plan_and_of_what_the_first_sheet_takes(units):
    """The plan keeps the job's coordinates; readers that put paper space into the model find the rest beside its sheet."""
    first, *others = shop(units=units).of("LWPOLYLINE", "PIECE")
    assert min(x for x, _, _ in first.vertices()) == pytest.approx(min(v.x for v in ROUNDED.vertices) / MM[units])
    assert others
    assert all(x >= (431.8 + 500) / MM[units] for piece in others for x, _, _ in piece.vertices())


def test_round_things_are_circles():
    dxf = one(Path(Kind.CUTOUT, circle(800, 450, 17.5)), Circle(Kind.MARK, (10, 20), 4.0, paper=True), scale=0.05)
    hole, mark = dxf.of("CIRCLE")
    assert (*hole.point(), hole.number(40)) == pytest.approx((*at_home(800 / 25.4, 450 / 25.4), 17.5 / 25.4))
    assert (*mark.point(), mark.number(40)) == pytest.approx((*at_home(10 / 25.4, 20 / 25.4), 4.0 * 20 / 25.4))


def test_an_open_path_of_one_edge_is_a_line_or_an_arc():
    quarter = math.tan(math.pi / 8)
    for bulge, first in ((quarter, 270.0), (-quarter, 90.0)):
        dxf = one(
            Path(Kind.CENTRE, polygon_ring([(0, 0), (254, 0)]), closed=False),
            Path(Kind.EDGE, Ring((Vertex(0, 0, bulge), Vertex(254, 254))), closed=False),
        )
        assert dxf.of("LINE", "CENTRE")[0].ends() == (at_home(0, 0), at_home(10, 0))
        arc = dxf.of("ARC", "EDGE")[0]
        assert arc.number(40) == pytest.approx(10)
        assert arc.number(50) == pytest.approx(first)
        ends = sorted(arc.ends())
        assert np.array(ends) == pytest.approx(np.array([at_home(0, 0), at_home(10, 10)]), abs=1e-9)


def test_an_open_path_keeps_all_its_edges():
    zigzag = Path(Kind.JOINT, polygon_ring([(0, 0), (100, 50), (200, 0), (0, 0.001)]), closed=False)
    polyline = one(zigzag).of("LWPOLYLINE", "JOINT")[0]
    assert not polyline.closed
    assert len(polyline.vertices()) == 4


def test_dashes_are_as_long_on_paper_whatever_the_scale():
    dxf = one(
        *(Path(Kind.CENTRE, polygon_ring([(0, k), (900, k)]), closed=False, dash=d) for k, d in enumerate(Dash)),
        scale=0.05,
    )
    patterns = {t.text(2): t for t in dxf.table("LTYPE")}
    for line, (dash, lengths) in zip(dxf.of("LINE"), DASHES.items(), strict=True):
        name = line.text(6, "Continuous")
        assert name == {"solid": "Continuous", "dashed": "DASHED", "chain": "DASHDOT", "double chain": "DIVIDE"}[dash]
        if lengths:
            # what is not drawn of a pattern is negative
            pattern = [float(v) for v in patterns[name].all(49)]
            assert pattern == pytest.approx([n / 25.4 * (-1 if k % 2 else 1) for k, n in enumerate(lengths)])
            assert patterns[name].number(40) == pytest.approx(sum(lengths) / 25.4)
            assert line.number(48) == pytest.approx(20.0)
    assert int(dxf.var("$PSLTSCALE")) == 0
    assert float(dxf.var("$LTSCALE")) == 1.0


def test_dashes_run_on_round_the_corners_of_a_polyline():
    for dash, flag in ((Dash.DASHED, 128), (Dash.SOLID, 0)):
        polyline = one(Path(Kind.SUPPORT, polygon_ring([(0, 0), (90, 0), (90, 90)]), dash=dash)).of("LWPOLYLINE")[0]
        assert int(polyline.text(70)) == 1 | flag


def test_a_ring_of_two_flatter_arcs_is_no_circle():
    lens = Ring((Vertex(0, 0, 0.5), Vertex(254, 0, 0.5)))
    dxf = one(Path(Kind.CUTOUT, lens))
    assert not dxf.of("CIRCLE")
    assert ring_area(dxf.of("LWPOLYLINE")[0].vertices()) * 25.4**2 == pytest.approx(lens.area)


@pytest.mark.parametrize(("width", "weight"), [(0.25, 25), (0.5, 50), (0.7, 70), (0.18, 18), (0.62, 60)])
def test_line_widths_are_of_the_list_that_dxf_has(width, weight):
    line = one(Path(Kind.EDGE, polygon_ring([(0, 0), (9, 0)]), closed=False, width=width)).of("LINE")[0]
    assert int(line.number(370)) == weight
    assert int(shop().var("$LWDISPLAY")) == 1


def test_filled_areas_are_triangles_on_a_layer_of_their_own():
    dxf = one(
        Path(Kind.MARK, KEYHOLE, fill="black"),
        Path(Kind.PIECE, polygon_ring([(0, 0), (100, 0), (100, 50), (50, 20), (0, 50)]), fill="grey"),
        Path(Kind.MARK, ROUNDED, fill="white"),
        scale=1.0,
    )
    solids = dxf.of("SOLID")
    assert {s.layer for s in solids} == {"FILL"}
    area = {7: 0.0, 254: 0.0}
    for s in solids:
        area[int(s.number(62))] += shapely.Polygon([s.point(10), s.point(11), s.point(12)]).area * 25.4**2
        assert s.point(12) == s.point(13)
    assert area[254] == pytest.approx(3500.0)
    assert area[7] == pytest.approx(KEYHOLE.area, rel=2e-3)


# --- what a sheet hides under a white mark ---------------------------------------------------------------------------

SQUARE = polygon_ring([(100, 100), (200, 100), (200, 200), (100, 200)])


def strokes_of(dxf, layer):
    """The ends of a layer's LINEs, mm, in the first view."""
    lines = [sorted(e.ends()) for e in dxf.of("LINE", layer)]
    return sorted(tuple(round((c - HOME["in"][k % 2]) * 25.4, 6) for k, c in enumerate((*a, *b))) for a, b in lines)


@pytest.mark.parametrize(
    "mark",
    [Path(Kind.MARK, SQUARE, fill="white"), Path(Kind.MARK, SQUARE.moved(lambda p: (p[1], p[0])), fill="white")],
)
def test_a_line_ends_where_a_white_mark_hides_it(mark):
    dxf = one(
        Lines(Kind.CENTRE, (((0, 150), (300, 150)), ((150, 120), (150, 180)), ((0, 250), (300, 250)))),
        Path(Kind.JOINT, polygon_ring([(0, 0), (300, 300)]), closed=False),
        mark,
    )
    assert strokes_of(dxf, "CENTRE") == [(0, 150, 100, 150), (0, 250, 300, 250), (200, 150, 300, 150)]
    assert strokes_of(dxf, "JOINT") == [(0, 0, 100, 100), (200, 200, 300, 300)]


def test_what_is_drawn_after_a_mark_or_beside_it_stays_whole():
    stroke = Lines(Kind.CENTRE, (((0, 150), (300, 150)),))
    whole = [(0, 150, 300, 150)]
    assert strokes_of(one(Path(Kind.MARK, SQUARE, fill="white"), stroke), "CENTRE") == whole
    for fill in ("none", "black", "grey"):
        assert strokes_of(one(stroke, Path(Kind.MARK, SQUARE, fill=fill)), "CENTRE") == whole
    assert strokes_of(one(stroke, Path(Kind.MARK, SQUARE, closed=False, fill="white")), "CENTRE") == whole
    assert strokes_of(one(stroke, Circle(Kind.MARK, (150, 400), 100.0, fill="white")), "CENTRE") == whole
    # along its edge a line is seen
    edge = Lines(Kind.CENTRE, (((0, 200), (300, 200)),))
    assert strokes_of(one(edge, Path(Kind.MARK, SQUARE, fill="white")), "CENTRE") == [(0, 200, 300, 200)]


def test_a_round_mark_hides_by_its_size_on_paper():
    stroke = Lines(Kind.CENTRE, (((0, 150), (300, 150)),))
    dxf = one(stroke, Circle(Kind.MARK, (150, 150), 2.0, paper=True, fill="white"), scale=0.05)
    assert strokes_of(dxf, "CENTRE") == [(0, 150, 110, 150), (190, 150, 300, 150)]


def test_a_closed_outline_is_never_cut():
    dxf = one(Path(Kind.PIECE, ROUNDED), Path(Kind.MARK, SQUARE.moved(lambda p: (p[0] - 150, p[1])), fill="white"))
    assert ring_area(dxf.of("LWPOLYLINE", "PIECE")[0].vertices()) * 25.4**2 == pytest.approx(ROUNDED.area)


def test_an_extension_line_is_hidden_and_its_dimension_still_measures():
    mark = Path(Kind.MARK, SQUARE.moved(lambda p: (p[0] - 150, p[1] - 300)), fill="white")
    dxf = one(dimension(), mark)
    dim = dxf.of("DIMENSION")[0]
    assert dim.number(42) * 25.4 == pytest.approx(1000.0)
    ends = {round(y * 25.4, 6) for e in dxf.blocks[dim.text(2)] if e.kind == "LINE" for _, y in e.ends()}
    assert ends == {-36, -100, -200, -240, -300}


def test_parts_of_a_path_keep_their_arcs_and_their_bends():
    bow = Ring((Vertex(0, 0, 0.5), Vertex(300, 0), Vertex(300, 150), Vertex(0, 150)))
    parts = uncovered(bow, [cover_of(SQUARE), cover_of(circle(300, 0, 20))])
    ends = [(p.vertices[0].at, p.vertices[-1].at) for p in parts]
    assert [len(p.vertices) for p in parts] == [2, 3, 2]
    assert ends[0][0] == (0, 0)
    assert math.dist(ends[0][1], (300, 0)) == pytest.approx(20)
    assert ends[1] == (pytest.approx((300, 20)), pytest.approx((200, 150)))
    assert ends[2] == (pytest.approx((100, 150)), (0, 150))
    whole, part = bow.vertices[0].bulge, parts[0].vertices[0].bulge
    radius = 300 * (1 + whole**2) / (4 * whole)
    chord = math.dist(*ends[0])
    assert chord * (1 + part**2) / (4 * part) == pytest.approx(radius)
    assert uncovered(bow, []) == [bow]
    assert uncovered(polygon_ring([(120, 120), (180, 180)]), [cover_of(SQUARE)]) == []


# --- texts -----------------------------------------------------------------------------------------------------------


@UNITS
def test_lettering_is_as_high_on_paper_whatever_the_scale(units):
    texts = [t for t in shop(units=units).of("TEXT", "LABEL") if t.text(1) == AWKWARD]
    assert [t.number(40) * MM[units] for t in texts] == pytest.approx([3.5 * 24, 3.5 * 10])
    assert {t.text(7) for t in texts} == {"LETTERING"}


def test_a_text_stands_on_its_point_by_its_anchor():
    dxf = one(
        *(Text(Kind.LABEL, (25.4, 50.8), a, anchor=a, angle=-90.0, bold=a == "end") for a in ("start", "middle", "end"))
    )
    texts = dxf.of("TEXT")
    assert [int(t.number(72)) for t in texts] == [0, 1, 2]
    for text in texts:
        assert text.point(10 if text.text(1) == "start" else 11) == pytest.approx(at_home(1, 2))
        assert text.number(50) == 270.0
    assert texts[2].text(7) == "LETTERING_BOLD"


@pytest.mark.parametrize(
    ("said", "held"),
    [
        ("45°", "45%%d"),
        ("±1/16", "%%p1/16"),
        ("⌀35", "%%c35"),
        ("100 % oak", "100 % oak"),
        ("50%%d", "50%%%%%%d"),
        ("90%°", "90%%%%%d"),
        ("a^J", "a^ J"),
        ("Ødegård ½", "Ødegård ½"),
    ],
)
def test_signs_with_a_meaning_in_dxf_are_coded(said, held, tmp_path):
    page = sheet(views=(plan(items=(Text(Kind.LABEL, (0, 0), said),)),), groups=(), fields={})
    assert shop(page).of("TEXT")[0].text(1) == held
    doc = ezdxf.read(io.StringIO(written(page).decode()))
    assert doc.modelspace().query("TEXT").first.plain_text() == said.replace("⌀", "Ø")
    if "%%%" not in held:
        assert [text for *_, text in by_gdal(written(page), tmp_path)] == [said]


def test_an_empty_text_is_left_out():
    assert one(Text(Kind.LABEL, (0, 0), "")).of("TEXT") == []


# --- dimensions ------------------------------------------------------------------------------------------------------


@UNITS
def test_a_dimension_carries_its_text_and_its_measure(units):
    dxf = shop(sheet(), units=units)
    mm = MM[units]
    overall, slanted = dxf.of("DIMENSION", "DIMENSION")
    assert (overall.text(1), slanted.text(1)) == ('39 3/8"', '2"')
    for dim, true in ((overall, 1000.0), (slanted, 50.0)):
        assert dim.number(42) * mm == pytest.approx(true)
        (x, y), (u, v) = dim.point(13), dim.point(14)
        turn = math.radians(dim.number(50))
        assert abs((u - x) * math.cos(turn) + (v - y) * math.sin(turn)) * mm == pytest.approx(true)
        assert int(dim.number(70)) & 7 == 0  # rotated linear
        assert int(dim.number(70)) & (32 | 128) == 32 | 128
    assert slanted.number(50) == pytest.approx(math.degrees(math.atan2(4, 3)))
    assert overall.point(11) == pytest.approx(at_home(500 / mm, (-220 + 2.5 * 12) / mm, units))


def test_every_dimension_has_its_picture():
    dxf = shop()
    dims = dxf.of("DIMENSION")
    assert len(dims) == 4
    assert len({d.text(2) for d in dims}) == 4
    for dim in dims:
        picture = dxf.blocks[dim.text(2)]
        assert dim.text(2).startswith("*D")
        assert [e.text(1) for e in picture if e.kind == "TEXT"] == [dim.text(1)]
        assert {e.kind for e in picture} == {"LINE", "SOLID", "TEXT"}
        assert {e.layer for e in picture} == {"DIMENSION"}
        assert dim.text(1) not in ("", "<>")


def test_the_picture_of_a_dimension_is_that_of_the_sheet():
    dxf = one(dimension())
    picture = dxf.blocks[dxf.of("DIMENSION")[0].text(2)]
    lines = {
        tuple(round((c - HOME["in"][0] * (k % 2 == 0)) * 25.4, 3) for k, c in enumerate((*e.ends()[0], *e.ends()[1])))
        for e in picture
        if e.kind == "LINE"
    }
    assert lines == {(0, -240, 1000, -240), (0, -36, 0, -300), (1000, -36, 1000, -300)}
    heads = [e for e in picture if e.kind == "SOLID"]
    assert sorted(e.point(10) for e in heads) == [
        pytest.approx(at_home(0, -240 / 25.4)),
        pytest.approx(at_home(1000 / 25.4, -240 / 25.4)),
    ]
    for head in heads:
        assert math.dist(head.point(11), head.point(12)) * 25.4 == pytest.approx(2.5 * 24 / 3)


def test_gdal_shows_the_texts_that_were_given(tmp_path):
    texts = [t for layer, _, _, t in by_gdal(written(), tmp_path) if layer == "DIMENSION" and t]
    assert sorted(texts) == sorted(['39 3/8"', '2"'] * 2)


def test_what_a_dimension_leaves_out_is_left_out_by_programs_that_draw_it_themselves():
    doc = ezdxf.read(io.StringIO(written(sheet()).decode()))
    whole, half = doc.modelspace().query("DIMENSION")
    assert whole.get_acad_dstyle(whole.get_dim_style()) == {}
    own = half.get_acad_dstyle(half.get_dim_style())
    assert (own["dimse2"], own["dimsah"], own["dimblk1"], own["dimblk2"]) == (1, 1, "", "NONE")
    assert "dimse1" not in own


def test_a_text_across_its_dimension_line_says_how_it_is_turned():
    label = Text(Kind.DIMENSION, (100.0, -200.0), "63", anchor="end", angle=90.0)
    dim = one(dimension(label=label)).of("DIMENSION")[0]
    assert dim.number(53) == 90.0
    assert one(dimension()).of("DIMENSION")[0].all(53) == []


# --- paper space -----------------------------------------------------------------------------------------------------


@UNITS
def test_each_sheet_is_a_layout_of_its_size(units):
    dxf = shop(units=units)
    layouts = [o for o in dxf.objects if o.kind == "LAYOUT"]
    names = [[v for c, v in o.tags if c == 1][-1] for o in layouts]
    assert sorted(names) == ["Model", "Sheet 1", "Sheet 2"]
    for name, layout in zip(names, layouts, strict=True):
        if name != "Model":
            assert (layout.number(44), layout.number(45)) == pytest.approx((431.8, 279.4))
            assert int(layout.number(72)) == {"in": 0, "mm": 1}[units]
            # scale 1:1, and dashes are not scaled by the viewport
            assert (layout.number(142), layout.number(143)) == (1.0, 1.0)
            assert [v for c, v in layout.tags if c == 70][-1].strip() == "0"


@UNITS
def test_viewports_show_each_view_at_its_scale_in_its_place(units):
    doc = ezdxf.read(io.StringIO(written(units=units).decode()))
    model = read(written(units=units))
    mm = MM[units]
    page = doc.layout("Sheet 1")
    plan_port, edge_port = [v for v in page.viewports() if v.dxf.id != 1]
    for port, scale in ((plan_port, 1 / 24), (edge_port, 1 / 2)):
        assert port.dxf.height / port.dxf.view_height == pytest.approx(scale, rel=1e-9)
        assert port.dxf.status > 1
        assert port.dxf.flags & 0x4000
        assert port.dxf.layer == "VIEWPORT"

    def on_paper(port, p):
        k = port.dxf.height / port.dxf.view_height
        x = port.dxf.center.x + k * (p[0] - port.dxf.view_center_point[0])
        y = port.dxf.center.y + k * (p[1] - port.dxf.view_center_point[1])
        return (x * mm, y * mm)

    assert on_paper(plan_port, HOME[units]) == pytest.approx((60.0, 90.0), abs=1e-6)
    corner = model.of("LWPOLYLINE", "EDGE")[0].vertices()[0]
    assert on_paper(edge_port, corner) == pytest.approx((300.0, 200.0), abs=1e-6)
    # the view is wholly in its port
    assert plan_port.dxf.width * mm >= 1200 / 24
    assert plan_port.dxf.height * mm >= 1120 / 24


def test_a_sheets_own_items_lie_on_its_layout(tmp_path):
    paper = by_gdal(written(), tmp_path, paper=True)
    frame = next(shape for layer, _, shape, _ in paper if layer == "FRAME")
    assert frame.bounds == pytest.approx(tuple(v / 25.4 for v in (20, 10, 421.8, 269.4)))
    dxf = shop()
    assert [e.text(1) for e in dxf.of("TEXT", "TITLE") if e.on_paper] == ["F-204"]
    second = next(b for name, b in dxf.blocks.items() if name.startswith("*Paper_Space") and b)
    assert [e.text(1) for e in second if e.kind == "TEXT"] == ["F-204"]


def test_the_title_blocks_fields_are_attributes_that_are_not_seen():
    dxf = shop()
    attributes = {e.text(2): e for e in dxf.of("ATTRIB")}
    assert {tag: e.text(1) for tag, e in attributes.items()} == {
        "NUMBER": "F-204",
        "DRAWN_BY": AWKWARD,
        "SHEET": "1 of 2",
    }
    assert {int(e.number(70)) & 1 for e in attributes.values()} == {1}
    assert [e.text(2) for e in dxf.blocks["TITLE_BLOCK"]] == ["NUMBER", "DRAWN_BY", "SHEET"]


def test_an_attribute_lies_where_its_field_is_seen():
    words = (Text(Kind.TITLE, (300, 20), "F-204", 7.0, "end", bold=True, name="Number"),)
    dxf = shop(sheet(groups=(Group("title-block", words),)))
    attribute = next(e for e in dxf.of("ATTRIB") if e.text(2) == "NUMBER")
    assert attribute.point(11) == pytest.approx((300 / 25.4, 20 / 25.4))
    assert attribute.number(40) == pytest.approx(7.0 / 25.4)
    assert (attribute.text(7), int(attribute.number(72))) == ("LETTERING_BOLD", 2)


def test_fields_whose_names_look_alike_keep_apart():
    page = sheet(fields={"Drawn by": "A", "DRAWN-BY": "B", "½": "C"})
    assert {e.text(2): e.text(1) for e in shop(page).of("ATTRIB")} == {"DRAWN_BY": "A", "DRAWN_BY_2": "B", "FIELD": "C"}


def test_a_group_may_hold_a_dimension():
    page = sheet(views=(), groups=(Group("notes", (dimension(),)),), fields={})
    dim = shop(page).of("DIMENSION")[0]
    assert dim.on_paper
    assert dim.text(3) == "SHOP_1"


# --- the samples' sheets ---------------------------------------------------------------------------------------------

BY_SAMPLE = pytest.mark.parametrize("name", SAMPLES)


@cache
def sample_dxf(name):
    return read(shop_dxf(sample(name)))


def layouts_of(dxf):
    """The layouts but the model's, in the order of their tabs: [(name, entities)]."""
    records = {r.text(5): r.text(2) for r in dxf.table("BLOCK_RECORD")}
    found = []
    for entry in dxf.objects:
        if entry.kind == "LAYOUT":
            block = records[entry.all(330)[-1]]
            name, tab = [v for c, v in entry.tags if c == 1][-1], int(entry.all(71)[-1])
            inside = [e for e in dxf.entities if e.on_paper] if block == "*Paper_Space" else dxf.blocks[block]
            if block != "*Model_Space":
                found.append((tab, name, inside))
    return [(name, inside) for _, name, inside in sorted(found, key=lambda f: f[0])]


class Port:
    """A viewport: the window it opens on the model, and where it shows that on paper, mm."""

    def __init__(self, entity, mm):
        self.entity, self.mm = entity, mm
        self.centre, self.looks_at = entity.point(10), entity.point(12)
        self.scale = entity.number(41) / entity.number(45)
        self.half = (entity.number(40) / self.scale / 2, entity.number(45) / 2)

    def holds(self, p):
        return all(abs(p[k] - self.looks_at[k]) <= self.half[k] + 1e-9 for k in (0, 1))

    def shows(self, p):
        return tuple((self.centre[k] + self.scale * (p[k] - self.looks_at[k])) * self.mm for k in (0, 1))


def ports_of(inside, mm):
    return [Port(e, mm) for e in inside if e.kind == "VIEWPORT" and e.text(69).strip() != "1"]


def points_of(entity):
    match entity.kind:
        case "LINE" | "ARC":
            return list(entity.ends())
        case "LWPOLYLINE":
            return [v[:2] for v in entity.vertices()]
        case "CIRCLE":
            return [entity.point()]
        case "SOLID":
            return [entity.point(k) for k in (10, 11, 12)]
        case "TEXT":
            return [entity.point(11 if int(entity.text(72, "0")) else 10)]
    return []


def model_of(dxf):
    """What is seen of the model, dimensions by their pictures."""
    for entity in dxf.entities:
        if not entity.on_paper:
            yield from dxf.blocks[entity.text(2)] if entity.kind == "DIMENSION" else [entity]


@BY_SAMPLE
def test_every_view_has_its_viewport_locked_and_at_scale(name):
    drawn, dxf = sample(name), sample_dxf(name)
    mm = MM[drawn.units]
    assert [n for n, _ in layouts_of(dxf)] == [f"Sheet {page.number}" for page in drawn.sheets]
    for page, (_, inside) in zip(drawn.sheets, layouts_of(dxf), strict=True):
        ports = ports_of(inside, mm)
        assert len(ports) == len(page.views)
        ids = [int(e.number(69)) for e in inside if e.kind == "VIEWPORT"]
        assert len(set(ids)) == len(ids)
        for port, view in zip(ports, page.views, strict=True):
            entity = port.entity
            assert port.scale == pytest.approx(view.scale, rel=1e-9)
            flags = int(entity.number(90))
            assert flags & 0x4000, "locked"
            assert not flags & 0x20000, "on"
            assert int(entity.number(68)) > 1
            assert entity.layer == "VIEWPORT"
            # the first path of the view shows it at its place
            x0, y0, x1, y1 = (b * view.scale for b in view.bounds)
            middle = (view.at[0] + (x0 + x1) / 2, view.at[1] + (y0 + y1) / 2)
            assert port.shows(port.looks_at) == pytest.approx(middle, abs=1e-6)
            assert entity.number(40) * mm == pytest.approx(x1 - x0 + 2)
            assert entity.number(41) * mm == pytest.approx(y1 - y0 + 2)


@BY_SAMPLE
def test_all_of_the_model_is_shown_once(name):
    dxf = sample_dxf(name)
    ports = [port for _, inside in layouts_of(dxf) for port in ports_of(inside, MM[sample(name).units])]
    seen = 0
    for entity in model_of(dxf):
        for p in points_of(entity):
            assert sum(port.holds(p) for port in ports) == 1, (entity.kind, entity.layer, p)
            seen += 1
    assert seen > 100


SHOWN = (("%%d", "°"), ("%%p", "±"), ("%%c", "⌀"), ("^ ", "^"))


def plain(text):
    """A text as a reader shows it."""
    for code, sign in SHOWN:
        text = text.replace(code, sign)
    return text


def texts_of_dxf(dxf, inside, mm):
    """The texts of a layout as its paper shows them: [(text, x, y, height, angle, anchor)], mm."""
    ports = ports_of(inside, mm)
    found = [(e, points_of(e)[0], None) for e in inside if e.kind == "TEXT"]
    for e in model_of(dxf):
        if e.kind == "TEXT":
            p = points_of(e)[0]
            found += [(e, p, port) for port in ports if port.holds(p)]
    out = []
    for e, p, port in found:
        x, y = port.shows(p) if port else (p[0] * mm, p[1] * mm)
        height = e.number(40) * mm * (port.scale if port else 1.0)
        out.append((plain(e.text(1)), x, y, height, e.number(50) % 360, int(e.text(72, "0")), e.text(7)))
    return out


def texts_of_svg(page, drawn):
    out = []
    for e in ET.fromstring(svg_text(page, drawn).encode()).iter(f"{NS}text"):
        turn = re.match(r"rotate\((\S+)", e.get("transform", "rotate(0 "))
        anchor = ("start", "middle", "end").index(e.get("text-anchor"))
        style = "LETTERING_BOLD" if e.get("font-weight") == "bold" else "LETTERING"
        x, y, size = float(e.get("x")), page.height - float(e.get("y")), float(e.get("font-size"))
        if e.text and not e.get("id"):  # an id: to be filled in before signing, and nobody signs a DXF
            out.append((e.text, x, y, size * 0.716, -float(turn[1]) % 360, anchor, style))
    return out


@BY_SAMPLE
def test_a_layout_has_the_texts_of_its_sheet_in_their_places(name):
    drawn, dxf = sample(name), sample_dxf(name)
    for page, (_, inside) in zip(drawn.sheets, layouts_of(dxf), strict=True):
        left = texts_of_dxf(dxf, inside, MM[drawn.units])
        for text, x, y, height, angle, *look in texts_of_svg(page, drawn):
            like = [t for t in left if t[0] == text and t[5:] == tuple(look)]
            found = [
                t
                for t in like
                if math.dist(t[1:3], (x, y)) < 0.001
                and abs(t[3] - height) < 0.001
                and abs(math.remainder(t[4] - angle, 360)) < 0.001
            ]
            assert found, (page.number, text, x, y, like)
            left.remove(found[0])
        assert left == []


@BY_SAMPLE
def test_a_layout_has_one_title_block_with_the_sheets_fields(name):
    drawn, dxf = sample(name), sample_dxf(name)
    tags = [e.text(2) for e in dxf.blocks["TITLE_BLOCK"] if e.kind == "ATTDEF"]
    for page, (_, inside) in zip(drawn.sheets, layouts_of(dxf), strict=True):
        (reference,) = [e for e in inside if e.kind == "INSERT"]
        assert (reference.text(2), reference.layer, reference.point()) == ("TITLE_BLOCK", "TITLE", (0.0, 0.0))
        attributes = {e.text(2): plain(e.text(1)) for e in inside if e.kind == "ATTRIB"}
        assert list(attributes) == tags
        assert attributes == {re.sub(r"\W+", "_", field).upper(): text for field, text in page.fields.items()}


@BY_SAMPLE
def test_a_samples_dimensions_have_text_picture_and_style(name):
    drawn, dxf = sample(name), sample_dxf(name)
    styles = {s.text(2): s for s in dxf.table("DIMSTYLE")}
    want = {
        (i.label.text, round(i.value, 6))
        for p in drawn.sheets
        for v in p.views
        for i in v.items
        if isinstance(i, Dimension)
    }
    dims = dxf.of("DIMENSION")
    assert {(plain(d.text(1)), round(d.number(42) * MM[drawn.units], 6)) for d in dims} == want
    for dim in dims:
        assert dim.text(1) not in ("", "<>")
        assert [e.text(1) for e in dxf.blocks[dim.text(2)] if e.kind == "TEXT"] == [dim.text(1)]
        assert styles[dim.text(3)].number(144) == 1.0  # DIMLFAC
        assert dim.text(3).startswith("SHOP_")
    # the header draws as the style of most of them
    usual = max(styles, key=lambda s: sum(d.text(3) == s for d in dims))
    counts = sorted((sum(d.text(3) == s for d in dims) for s in styles), reverse=True)
    assert counts[0] == counts[1] or dxf.var("$DIMSTYLE") == usual


@BY_SAMPLE
def test_a_sample_is_free_of_what_readers_stumble_over(name):
    data = shop_dxf(sample(name))
    dxf = read(data)
    text = data.decode("ascii")  # GDAL takes UTF-8 for Latin letters
    assert max(map(len, text.splitlines())) <= 255
    assert "\\S" not in text
    assert not re.search(r"\\[A-Za-z]", " ".join(v for c, v in dxf.tags if c == 1)), "no codes of rich text"
    everything = [*dxf.entities, *(e for inside in dxf.blocks.values() for e in inside)]
    assert {e.kind for e in everything} <= ENTITIES | {"ATTDEF"}
    assert all(re.fullmatch(r"[A-Z_]+|0|Defpoints", x.text(2)) for x in dxf.table("LAYER"))
    assert {t.text(2).upper() for t in dxf.table("LTYPE")} >= {e.text(6).upper() for e in everything if e.all(6)}
    for e in everything:
        assert not e.all(210), "no extrusion"
        if e.kind == "LINE":
            assert math.dist(*e.ends()) > 0
        elif e.kind == "ARC":
            assert all(0 <= e.number(k) <= 360 for k in (50, 51))
        elif e.kind == "LWPOLYLINE":
            vertices = e.vertices()
            ring = [*vertices, *vertices[: int(e.closed)]]
            assert min(math.dist(a[:2], b[:2]) for a, b in pairwise(ring)) > 1e-4
            assert all(abs(b) <= 1 + 1e-9 for *_, b in vertices)
            assert len(vertices) > 2 or not e.closed or {abs(b) for *_, b in vertices} != {1.0}
    low, high = ([float(v) for _, v in dxf.header[k][:2]] for k in ("$EXTMIN", "$EXTMAX"))
    for e in model_of(dxf):
        for x, y in points_of(e):
            assert low[0] <= x <= high[0]
            assert low[1] <= y <= high[1]


# --- the same bytes --------------------------------------------------------------------------------------------------

PRINT_HASHES = """
import hashlib, sys
sys.path[:0] = ["tests"]
from test_svg_writer import drawing, sheet
from layout.writers.shop_dxf import shop_dxf
from layout.writers.svg import svg_text
for data in (shop_dxf(drawing()), svg_text(sheet(), drawing()).encode()):
    print(hashlib.sha256(data).hexdigest())
"""


@pytest.mark.sweep
def test_the_bytes_depend_on_nothing_but_the_drawing(tmp_path):
    (tmp_path / "ezdxf.ini").write_text(
        "[core]\ndefault_dimension_text_style = Comic\nwrite_fixed_meta_data_for_testing = false\n"
        "store_proxy_graphics = false\ndisable_c_ext = true\n"
    )
    seen = set()
    # of these, 0 and 4 put a set of entity types in different orders
    for seed in ("0", "4", "8"):
        own = {"EZDXF_CONFIG_FILE": str(tmp_path / "ezdxf.ini"), "TZ": "Asia/Tokyo"} if seed == "8" else {}
        run = subprocess.run(
            [sys.executable, "-c", PRINT_HASHES],
            env={**os.environ, "PYTHONHASHSEED": seed, **own},
            cwd=ROOT,
            check=True,
            capture_output=True,
            text=True,
        )
        seen.add(run.stdout)
    assert len(seen) == 1


def test_the_librarys_options_are_left_as_they_were():
    before = ezdxf.options.write_fixed_meta_data_for_testing
    for value in (False, True):
        ezdxf.options.write_fixed_meta_data_for_testing = value
        written()
        assert ezdxf.options.write_fixed_meta_data_for_testing is value
    ezdxf.options.write_fixed_meta_data_for_testing = before


def test_no_clock_and_no_machine_in_the_file():
    dxf = shop()
    assert {dxf.var(name) for name in ("$TDCREATE", "$TDUCREATE", "$TDUPDATE", "$TDUUPDATE")} == {"2451545.0"}
    for name in ("$FINGERPRINTGUID", "$VERSIONGUID"):
        assert set(dxf.var(name)) <= set("{}0-")
    assert str(FilePath.home()) not in written().decode()


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_number_that_is_none_is_refused(bad):
    for item in (
        Text(Kind.LABEL, (bad, 0), "x"),
        Path(Kind.PIECE, polygon_ring([(0, 0), (bad, 0), (1, 1)])),
        Path(Kind.PIECE, Ring((Vertex(0, 0, bad), Vertex(9, 0), Vertex(9, 9)))),
        Circle(Kind.MARK, (0, 0), bad),
        dimension(value=bad),
    ):
        with pytest.raises(ValueError, match="cannot hold"):
            one(item)


def test_no_number_is_minus_zero():
    dxf = one(Text(Kind.LABEL, (-1e-15, -0.0), "x"), Path(Kind.EDGE, polygon_ring([(-0.0, 0), (9, -0.0), (5, 5)])))
    for entity in dxf.entities:
        assert not [v for c, v in entity.tags if 10 <= c < 60 and v.strip().startswith("-0.0") and float(v) == 0]
