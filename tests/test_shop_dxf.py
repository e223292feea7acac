"""The shop drawing as DXF, read back by GDAL and by a tag reader of the tests' own; ezdxf only audits what it wrote."""

import io
import math
import os
import subprocess
import sys
from pathlib import Path as FilePath

import ezdxf
import numpy as np
import pyogrio
import pytest
import shapely
from raw_dxf import read, ring_area
from test_svg_writer import AWKWARD, BITE, KEYHOLE, ROUNDED, dimension, drawing, plan, sheet

from layout.drawing import DASHES, Circle, Dash, Group, Kind, Path, Text
from layout.outline import Ring, Vertex, circle, polygon_ring
from layout.writers.shop_dxf import shop_dxf

MM = {"in": 25.4, "mm": 1.0}
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


def by_gdal(data, tmp_path, paper=False):
    """What GDAL makes of a file: [(layer, class, geometry, text)]."""
    path = tmp_path / "shop.dxf"
    path.write_bytes(data)
    os.environ["DXF_ENCODING"] = "UTF-8"  # GDAL believes the code page, which R2010 does not go by
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.01", "OGR_ARC_MAX_GAP": "0"})
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
def test_the_header_draws_dimensions_as_the_first_views_style_does(units):
    dxf = shop(units=units)
    name = dxf.var("$DIMSTYLE")
    style = next(s for s in dxf.table("DIMSTYLE") if s.text(2) == name)
    assert name == "SHOP_24"
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
    assert float(dxf.var("$DIMTXT")) == pytest.approx(2.5 * 24 / MM[units])
    assert float(dxf.var("$DIMASZ")) == pytest.approx(2.5 * 24 / MM[units])
    assert dxf.var("$DIMTXSTY") == "LETTERING"
    assert int(dxf.var("$DIMDSEP")) == ord(".")


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
    assert {k.name for k in Kind} | {"0", "Defpoints", "FILL", "VIEWPORT"} == set(layers)
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
def test_the_first_view_lies_at_its_own_coordinates_full_size(units):
    piece = shop(units=units).of("LWPOLYLINE", "PIECE")[0]
    mm = MM[units]
    assert piece.closed
    want = [(v.x / mm, v.y / mm, v.bulge) for v in ROUNDED.vertices]
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


def test_a_moved_view_is_moved_by_whole_units():
    second = shop().of("LWPOLYLINE", "PIECE")[1].vertices()
    for (x, y, _), v in zip(second, ROUNDED.vertices, strict=True):
        for moved in (x - v.x / 25.4, y - v.y / 25.4):
            assert moved == pytest.approx(round(moved), abs=1e-9)


def test_round_things_are_circles():
    dxf = one(Path(Kind.CUTOUT, circle(800, 450, 17.5)), Circle(Kind.MARK, (10, 20), 4.0, paper=True), scale=0.05)
    hole, mark = dxf.of("CIRCLE")
    assert (*hole.point(), hole.number(40)) == pytest.approx((800 / 25.4, 450 / 25.4, 17.5 / 25.4))
    assert (*mark.point(), mark.number(40)) == pytest.approx((10 / 25.4, 20 / 25.4, 4.0 * 20 / 25.4))


def test_an_open_path_of_one_edge_is_a_line_or_an_arc():
    quarter = math.tan(math.pi / 8)
    for bulge, first in ((quarter, 270.0), (-quarter, 90.0)):
        dxf = one(
            Path(Kind.CENTRE, polygon_ring([(0, 0), (254, 0)]), closed=False),
            Path(Kind.EDGE, Ring((Vertex(0, 0, bulge), Vertex(254, 254))), closed=False),
        )
        assert dxf.of("LINE", "CENTRE")[0].ends() == ((0, 0), (10, 0))
        arc = dxf.of("ARC", "EDGE")[0]
        assert arc.number(40) == pytest.approx(10)
        assert arc.number(50) == pytest.approx(first)
        ends = sorted(arc.ends())
        assert np.array(ends) == pytest.approx(np.array([(0, 0), (10, 10)]), abs=1e-9)


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
        assert text.point(10 if text.text(1) == "start" else 11) == pytest.approx((1, 2))
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
    assert overall.point(11) == pytest.approx((500 / mm, (-220 + 2.5 * 12) / mm))


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
    lines = {tuple(round(c * 25.4, 3) for p in e.ends() for c in p) for e in picture if e.kind == "LINE"}
    assert lines == {(0, -240, 1000, -240), (0, -36, 0, -300), (1000, -36, 1000, -300)}
    heads = [e for e in picture if e.kind == "SOLID"]
    assert sorted(e.point(10) for e in heads) == [
        pytest.approx((0, -240 / 25.4)),
        pytest.approx((1000 / 25.4, -240 / 25.4)),
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

    assert on_paper(plan_port, (0, 0)) == pytest.approx((60.0, 90.0), abs=1e-6)
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


def test_fields_whose_names_look_alike_keep_apart():
    page = sheet(fields={"Drawn by": "A", "DRAWN-BY": "B", "½": "C"})
    assert {e.text(2): e.text(1) for e in shop(page).of("ATTRIB")} == {"DRAWN_BY": "A", "DRAWN_BY_2": "B", "FIELD": "C"}


def test_a_group_may_hold_a_dimension():
    page = sheet(views=(), groups=(Group("notes", (dimension(),)),), fields={})
    dim = shop(page).of("DIMENSION")[0]
    assert dim.on_paper
    assert dim.text(3) == "SHOP_1"


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


def test_the_bytes_depend_on_nothing_but_the_drawing(tmp_path):
    (tmp_path / "ezdxf.ini").write_text(
        "[core]\ndefault_dimension_text_style = Comic\nwrite_fixed_meta_data_for_testing = false\n"
        "store_proxy_graphics = false\ndisable_c_ext = true\n"
    )
    seen = set()
    # of these, 0 and 4 put a set of entity types in different orders
    for seed in ("0", "4", "8", "random"):
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
