"""DXF files that others made: what is read of them, against closed forms and GDAL, and every way they can be refused."""

import io
import math
import os
import random
import re
import warnings

import ezdxf
import pyogrio
import pytest
import shapely
from ezdxf.math import BSpline

from layout.arc_fit import fit_arcs
from layout.contours import SILENT, refuse_other_scale
from layout.cutting import CornerShape, with_corners
from layout.faults import LayoutError, TemplateError
from layout.offset import offset_ring
from layout.outline import Ring, Vertex, arc_of, circle, polygon_ring, rectangle
from layout.readers.dxf import MOST_BYTES, dxf_content, read_dxf
from layout.region import area_of, is_simple

INCH = 25.4
QUARTER = math.tan(math.pi / 8)
UNIT = {"mm": (4, 1), "in": (1, 0)}


def document(version="R2010", unit="mm"):
    doc = ezdxf.new(version)
    if version != "R12":
        doc.header["$INSUNITS"], doc.header["$MEASUREMENT"] = UNIT[unit]
    return doc


def content(doc):
    stream = io.StringIO()
    doc.write(stream)
    return doc.encode(stream.getvalue())


def drawn(doc, unit=None, layer=None, **how):
    return dxf_content(content(doc), "t.dxf", unit=unit, layer=layer, **how)


def refused(doc, unit=None, layer=None):
    with pytest.raises(TemplateError) as error:
        drawn(doc, unit, layer)
    return str(error.value)


def areas(found):
    return sorted(c.ring.area for c in found.contours)


def box(model, x=0.0, y=0.0, w=100.0, h=60.0, layer="0"):
    points = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
    return model.add_lwpolyline(points, close=True, dxfattribs={"layer": layer})


def lines(model, points, layer="0"):
    for a, b in zip(points, points[1:], strict=False):
        model.add_line(a, b, dxfattribs={"layer": layer})


# --- what is read --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010"])
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_an_outline_with_a_bulge_a_hole_and_a_mirrored_block(version, unit, tmp_path):
    """Areas by the closed form, and by GDAL, which reads the same file on its own."""
    doc = document(version, unit)
    model = doc.modelspace()
    vertices = [(0, 0, 0), (30, 0, 0), (30, 15, QUARTER), (25, 20, 0), (0, 20, 0)]
    if version == "R12":
        model.add_polyline2d(vertices, format="xyb", close=True)
    else:
        model.add_lwpolyline(vertices, format="xyb", close=True)
    block = doc.blocks.new("TAP")
    block.add_circle((1, 0), 0.7)
    model.add_blockref("TAP", (40, 5), dxfattribs={"xscale": -2, "yscale": 2, "zscale": 1, "rotation": 30})
    path = tmp_path / "t.dxf"
    path.write_bytes(content(doc))
    found = read_dxf(path, unit=unit if version == "R12" else None, layer=None)
    mm = INCH if unit == "in" else 1.0
    outline = 30 * 20 - 25 * (1 - math.pi / 4)
    hole = math.pi * 1.4**2
    assert areas(found) == pytest.approx([hole * mm**2, outline * mm**2])
    assert (found.unit, found.unit_from) == (unit, "given" if version == "R12" else "header $INSUNITS")
    pyogrio.set_gdal_config_options(
        {"OGR_ARC_STEPSIZE": "0.01", "OGR_ARC_MAX_GAP": "0", "DXF_CLOSED_LINE_AS_POLYGON": "YES"}
    )
    _, _, shapes, _ = pyogrio.raw.read(path, layer="entities")
    parts = [g for s in shapes for g in shapely.get_parts(shapely.from_wkb(s))]
    by_gdal = sorted(shapely.area(shapely.polygons(shapely.get_coordinates(g))) * mm**2 for g in parts)
    assert areas(found) == pytest.approx(by_gdal, rel=1e-4)
    x0, y0, x1, y1 = next(c.ring for c in found.contours if len(c.ring.vertices) == 2).bounds()
    by_gdal_box = shapely.bounds(min(parts, key=lambda g: shapely.area(shapely.polygons(shapely.get_coordinates(g)))))
    assert (x0, y0, x1, y1) == pytest.approx(tuple(v * mm for v in by_gdal_box), abs=1e-3 * mm)


def test_lines_and_arcs_in_any_order_and_direction_are_chained():
    doc = document()
    model = doc.modelspace()
    model.add_line((100, 200), (0, 200))
    model.add_arc((100, 100), 100, 270, 90)
    model.add_line((0, 200), (0, 0))
    model.add_line((100, 0), (0, 0))
    found = drawn(doc)
    assert areas(found) == pytest.approx([100 * 200 + math.pi * 100**2 / 2])
    assert found.notes() == ()
    assert sum(arc_of(a, b) is not None for a, b in found.contours[0].ring.edges()) == 1


def test_a_gap_of_a_twentieth_is_none_one_of_half_a_millimetre_is_closed_and_told():
    for gap, told in ((0.04, 0), (0.5, 1)):
        doc = document()
        lines(doc.modelspace(), [(0, 0), (100, 0), (100, 60), (0, 60), (0, gap)])
        found = drawn(doc)
        assert areas(found) == pytest.approx([6000.0])
        assert len(found.gaps) == told == len(found.notes())
    assert found.gaps[0].width == pytest.approx(0.5)
    assert found.gaps[0].at == pytest.approx((0.0, 0.25))
    assert "gap of 0.50 mm at (0.000, 0.250) was closed" in found.notes()[0]


def test_a_gap_between_arcs_is_bridged_by_a_line():
    doc = document()
    doc.modelspace().add_arc((0, 0), 50, 0, 180)
    doc.modelspace().add_arc((0, -0.6), 50, 180, 0)
    (contour,) = drawn(doc).contours
    assert contour.ring.area == pytest.approx(math.pi * 2500 + 0.6 * 100)


def test_doubles_are_taken_once_and_told():
    doc = document()
    model = doc.modelspace()
    box(model)
    box(model, layer="AGAIN")
    model.add_lwpolyline([(0, 60), (100, 60), (100, 0), (0, 0)], close=True)
    lines(model, [(200, 0), (300, 0), (300, 60), (200, 60), (200, 0)])
    model.add_line((300, 0), (200, 0))
    found = drawn(doc)
    assert areas(found) == pytest.approx([6000.0, 6000.0])
    assert found.doubles == 3
    assert any("3 drawn twice" in note for note in found.notes())
    assert len(drawn(doc, by_layer=True).contours) == 3


@pytest.mark.parametrize("ratio", [0.2, 0.5, 1.0])
def test_an_ellipse_is_fitted_by_arcs(ratio):
    doc = document()
    doc.modelspace().add_ellipse((10, 20), (120, 160), ratio)
    found = drawn(doc)
    area = math.pi * 200 * 200 * ratio
    assert areas(found) == pytest.approx([area], abs=SILENT * 2 * math.pi * 200)
    assert found.strayed <= SILENT
    assert all(a.bulge for a in found.contours[0].ring.vertices)
    # an independent measure: every point of the ellipse against the flattened arcs
    ring = shapely.LinearRing(found.contours[0].ring.flattened(0.0005))
    turn = math.atan2(160, 120)
    away = []
    for k in range(720):
        u, v = 200 * math.cos(k * math.pi / 360), 200 * ratio * math.sin(k * math.pi / 360)
        x, y = 10 + u * math.cos(turn) - v * math.sin(turn), 20 + u * math.sin(turn) + v * math.cos(turn)
        away.append(ring.distance(shapely.Point(x, y)))
    assert max(away) <= found.strayed + 0.002


def uniform(points):
    """Points of the closed uniform cubic B-spline, by its basis (any textbook's matrix form)."""
    for k in range(len(points)):
        four = [points[(k + n) % len(points)] for n in range(4)]
        for t in (n / 50 for n in range(50)):
            basis = ((1 - t) ** 3, 3 * t**3 - 6 * t**2 + 4, -3 * t**3 + 3 * t**2 + 3 * t + 1, t**3)
            yield tuple(sum(b * p[axis] for b, p in zip(basis, four, strict=True)) / 6 for axis in (0, 1))


def through(spline):
    return [(p.x, p.y) for p in spline.construction_tool().flattening(0.001)]


def test_a_closed_spline_from_control_points_and_from_fit_points():
    points = [(0, 0), (300, -40), (420, 120), (300, 260), (0, 200)]
    for kind in ("control", "fit"):
        doc = document()
        model = doc.modelspace()
        if kind == "control":
            model.add_spline().set_closed([(x, y, 0) for x, y in points])
        else:
            model.add_spline([*points, points[0]])
        found = drawn(doc)
        (contour,) = found.contours
        ring = shapely.LinearRing(contour.ring.flattened(0.0005))
        curve = uniform(points) if kind == "control" else through(model[0])
        away = [ring.distance(shapely.Point(p)) for p in curve]
        assert max(away) <= SILENT
        assert found.strayed > 0.0
        assert any("arcs" in note for note in found.notes())


def test_a_kinked_spline_keeps_its_kink():
    doc = document()
    knots = [0, 0, 0, 0, 1, 1, 1, 2, 2, 2, 2]
    control = [(0, 0), (30, 60), (70, 60), (100, 0), (70, -60), (30, -60), (0, 0)]
    doc.modelspace().add_spline(dxfattribs={"degree": 3}).set_open_uniform(control, 3)
    spline = doc.modelspace()[0]
    spline.knots = knots
    (contour,) = drawn(doc).contours
    assert any(math.dist(v.at, (100, 0)) < 1e-6 for v in contour.ring.vertices)
    curve = BSpline([(x, y, 0) for x, y in control], order=4, knots=knots)
    assert contour.ring.area == pytest.approx(
        shapely.Polygon([(p.x, p.y) for p in curve.flattening(0.001)]).area, abs=5.0
    )


def test_fit_arcs_of_a_circle_are_the_circle():
    def curve(t):
        return (50 * math.cos(t), 50 * math.sin(t)), (-math.sin(t), math.cos(t))

    path, strayed = fit_arcs(curve, [k * math.pi / 2 for k in range(5)])
    assert strayed < 1e-6
    assert Ring(path[:-1]).area == pytest.approx(math.pi * 2500)


def test_points_texts_and_what_is_not_understood():
    doc = document(unit="in")
    model = doc.modelspace()
    box(model)
    model.add_point((1, 2, 7))
    model.add_text("SINK A", dxfattribs={"insert": (3, 4)})
    model.add_mtext("two\\Plines").set_location((5, 6))
    model.add_hatch()
    model.add_3dface([(0, 0), (1, 0), (1, 1), (0, 1)])
    model.add_3dface([(0, 0), (1, 0), (1, 1), (0, 1)])
    found = drawn(doc)
    assert [p.at for p in found.points] == [pytest.approx((INCH, 2 * INCH))]
    assert [(t.text, t.at) for t in found.texts] == [
        ("SINK A", pytest.approx((3 * INCH, 4 * INCH))),
        ("two lines", pytest.approx((5 * INCH, 6 * INCH))),
    ]
    assert found.not_understood == (("3DFACE", 2), ("HATCH", 1))
    assert any("2 3DFACE, 1 HATCH" in note for note in found.notes())
    assert any("heights are left out" in note for note in found.notes())


def test_a_layer_by_name_and_those_that_are_off():
    doc = document()
    model = doc.modelspace()
    box(model, layer="Cut")
    box(model, x=50, y=30, layer="RIM")
    doc.layers.add("RIM").off()
    assert areas(drawn(doc)) == pytest.approx([6000.0])
    assert any("switched off" in note for note in drawn(doc).notes())
    assert areas(drawn(doc, layer="cut")) == pytest.approx([6000.0])
    assert 'no layer "RIN"; expected a layer of the file: Cut, RIM' in refused(doc, layer="RIN")


def test_blocks_in_blocks_and_rows_of_them_and_layer_zero():
    doc = document()
    inner = doc.blocks.new("INNER")
    inner.add_circle((0, 0), 5)
    outer = doc.blocks.new("OUTER")
    outer.add_blockref("INNER", (10, 0))
    outer.add_line((0, 0), (1, 0), dxfattribs={"layer": "OWN"})
    doc.modelspace().add_blockref(
        "OUTER", (0, 0), dxfattribs={"layer": "TAPS", "column_count": 3, "column_spacing": 50, "rotation": 90}
    )
    found = drawn(doc)
    assert len(found.contours) == 3
    assert {c.layer for c in found.contours} == {"TAPS"}
    assert sorted(round(c.ring.bounds()[1]) for c in found.contours) == [5, 55, 105]
    assert {p.layer for p in found.paths} == {"OWN"}


def test_a_stretched_block_of_straight_lines_is_taken_one_with_arcs_is_refused():
    doc = document()
    block = doc.blocks.new("B")
    block.add_lwpolyline([(0, 0), (10, 0), (10, 10), (0, 10)], close=True)
    doc.modelspace().add_blockref("B", (0, 0), dxfattribs={"xscale": 3, "yscale": 2})
    assert areas(drawn(doc)) == pytest.approx([600.0])
    block.add_circle((5, 5), 2)
    assert 'block "B" with arcs, stretched by 3 one way and 2 the other' in refused(doc)


def test_a_shape_drawn_from_below_is_turned_over():
    """Extrusion (0, 0, -1) mirrors x: what mirroring a part leaves behind in many programs."""
    doc = document()
    doc.modelspace().add_lwpolyline(
        [(0, 0, 0), (-100, 0, -1), (-100, 60, 0), (0, 60, 0)],
        format="xyb",
        close=True,
        dxfattribs={"extrusion": (0, 0, -1)},
    )
    (contour,) = drawn(doc).contours
    assert contour.ring.bounds() == pytest.approx((0, 0, 130, 60))
    assert contour.ring.area == pytest.approx(6000 + math.pi * 30**2 / 2)


def test_a_binary_file_is_read():
    doc = document("R2000")
    box(doc.modelspace())
    stream = io.BytesIO()
    doc.write(stream, fmt="bin")
    found = dxf_content(stream.getvalue(), "b.dxf", unit=None, layer=None)
    assert areas(found) == pytest.approx([6000.0])
    with pytest.raises(TemplateError, match="end mark"):
        dxf_content(stream.getvalue()[:-900], "b.dxf", unit=None, layer=None)


@pytest.mark.parametrize(("code", "mm"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0)])
def test_units_of_the_header(code, mm):
    doc = document()
    doc.header["$INSUNITS"], doc.header["$MEASUREMENT"] = code, int(code > 2)
    doc.modelspace().add_circle((0, 0), 2)
    assert areas(drawn(doc)) == pytest.approx([math.pi * (2 * mm) ** 2])
    assert drawn(doc).notes() == ()


def test_measurement_counts_where_the_header_has_no_insunits():
    doc = document("R2000")
    box(doc.modelspace())
    text = content(doc).decode("cp1252")
    bare = text.replace("  9\n$INSUNITS\n 70\n     4\n", "").replace("  9\n$INSUNITS\n 70\n4\n", "")
    assert "$INSUNITS" not in bare
    found = dxf_content(bare.encode("cp1252"), "t.dxf", unit=None, layer=None)
    assert (found.unit, found.unit_from) == ("mm", "header $MEASUREMENT")


def test_a_header_at_odds_with_itself_is_told():
    doc = document()
    doc.header["$MEASUREMENT"] = 0
    box(doc.modelspace())
    assert any("$MEASUREMENT says otherwise" in note for note in drawn(doc).notes())


# --- what is refused -----------------------------------------------------------------------------------------------


def test_an_open_outline_stays_open():
    doc = document()
    lines(doc.modelspace(), [(0, 0), (100, 0), (100, 60), (0, 60), (0, 3)])
    found = drawn(doc)
    assert found.contours == ()
    assert found.paths[0].gap == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("draw", "message"),
    [
        (
            lambda m: m.add_lwpolyline([(0, 0), (100, 60), (100, 0), (0, 60)], close=True),
            "crosses itself at (50.000, 30.000)",
        ),
        (lambda m: (box(m), box(m, 90, 50)), "two outlines that cross at"),
        (lambda m: m.add_line((0, 0, 0), (1, 0, 5)), "found z = 5; expected a flat drawing, z = 0"),
        (lambda m: m.add_circle((0, 0, 3), 5), "found z = 3"),
        (lambda m: m.add_lwpolyline([(0, 0), (1, 0), (1, 1)], close=True, dxfattribs={"elevation": 2}), "found z = 2"),
        (lambda m: m.add_circle((0, 0), 5, dxfattribs={"extrusion": (1, 0, 0)}), "tilted in space"),
        (lambda m: m.add_line((0, 0), (1e9, 0)), "no place in a room"),
        (lambda m: m.add_circle((0, 0), 1e6), "a radius of 1e+06"),
    ],
)
def test_what_is_no_flat_outline_is_refused_with_its_place(draw, message):
    doc = document()
    draw(doc.modelspace())
    assert message in refused(doc)


def test_units_that_are_missing_or_at_odds():
    doc = document("R2000")
    box(doc.modelspace())
    doc.header["$INSUNITS"] = 0
    assert "found no unit in its header; expected the unit given beside it: in or mm" in refused(doc)
    assert areas(drawn(doc, unit="in")) == pytest.approx([6000 * INCH**2])
    doc.header["$INSUNITS"] = 1
    assert "found a header that says inches ($INSUNITS = 1); expected millimetres" in refused(doc, unit="mm")
    doc.header["$INSUNITS"] = 3
    assert "$INSUNITS = 3" in refused(doc)


def test_a_size_that_is_wrong_by_the_inch():
    with pytest.raises(TemplateError, match=r"25\.4 times larger .* inches and mm are mixed up"):
        refuse_other_scale((762 * 25.4, 406 * 25.4), (765.0, 405.0), "s.dxf", "mm")
    with pytest.raises(TemplateError, match=r"25\.4 times smaller"):
        refuse_other_scale((30.0, 16.0), (762.0, 406.4), "s.dxf", "in")
    refuse_other_scale((762.0, 500.0), (762.0, 406.4), "s.dxf", "in")


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "an empty file"),
        (b"AC1027" + bytes(100), "a DWG file"),
        (b"%PDF-1.7 x", "a PDF file"),
        (b"<svg/>", "an SVG file"),
        (bytes(range(256)) * 40, "something else than a DXF file"),
        (b"  0\nSECTION\n  2\nHEADER\n", "ends before its end mark"),
        (b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n 10\nabc\n  0\nENDSEC\n  0\nEOF\n", "a damaged DXF file"),
    ],
)
def test_what_is_no_dxf_is_refused_in_words(data, message):
    with pytest.raises(TemplateError) as error:
        dxf_content(data, "t.dxf", unit="mm", layer=None)
    assert message in str(error.value)
    assert str(error.value).startswith("t.dxf: found ")
    assert isinstance(error.value, LayoutError)


def test_a_large_file_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "large.dxf"
    with path.open("wb") as file:
        file.truncate(500_000_000)  # a hole: nothing is stored, and reading it would take half a gigabyte
    with pytest.raises(TemplateError, match=r"a file of 500\.0 MB; expected a DXF file of at most 20 MB"):
        read_dxf(path, unit="mm", layer=None)
    assert MOST_BYTES == 20_000_000


@pytest.mark.parametrize(
    ("make", "message"), [(None, "no such file"), ("folder", "a folder or device"), ("fifo", "a folder or device")]
)
def test_what_is_no_file_is_refused(make, message, tmp_path):
    path = tmp_path / "t.dxf"
    if make == "folder":
        path.mkdir()
    elif make == "fifo":
        os.mkfifo(path)
    with pytest.raises(TemplateError, match=message):
        read_dxf(path, unit="mm", layer=None)


def test_blocks_that_would_unfold_without_end_are_refused(monkeypatch):
    """Ten in ten in ten: a few lines of file, ten billion entities."""
    doc = document()
    for k in range(10):
        block = doc.blocks.new(f"B{k}")
        for n in range(10):
            block.add_line((n, 0), (n, 1)) if k == 0 else block.add_blockref(f"B{k - 1}", (n, k))
    doc.modelspace().add_blockref(
        "B2", (0, 0), dxfattribs={"row_count": 30_000, "row_spacing": 1, "column_count": 30_000, "column_spacing": 1}
    )
    assert "more than 100,000 entities" in refused(doc)
    doc.modelspace()[0].dxf.row_count = doc.modelspace()[0].dxf.column_count = 1
    assert drawn(doc).unit == "mm"
    doc.modelspace().add_blockref("B9", (0, 0))
    monkeypatch.setattr("layout.readers.dxf.MOST_ENTITIES", 5_000)
    assert "more than 5,000 entities" in refused(doc)


def test_many_ends_in_one_place_are_no_outline():
    doc = document()
    for k in range(80):
        doc.modelspace().add_line((0, 0), (100 * math.cos(k / 13), 100 * math.sin(k / 13)))
    assert "ends of lines at (0.0, 0.0) mm" in refused(doc)


# --- damaged files -------------------------------------------------------------------------------------------------


def sample(rng):
    doc = document(rng.choice(["R12", "R2000", "R2010"]), rng.choice(["in", "mm"]))
    model = doc.modelspace()
    if doc.dxfversion == "AC1009":
        model.add_polyline2d([(0, 0, 0), (30, 0, 0.3), (30, 15, 0)], format="xyb", close=True)
    else:
        box(model)
        model.add_ellipse((200, 0), (40, 0), 0.5)
        model.add_spline([(300, 0), (320, 20), (340, 0), (300, 0)])
        model.add_mtext("note")
    block = doc.blocks.new("B")
    block.add_circle((0, 0), 5)
    model.add_blockref("B", (-50, 0))
    lines(model, [(0, 100), (50, 100), (50, 150), (0, 100)])
    return content(doc)


def damaged(seed):
    rng = random.Random(seed)
    data = bytearray(sample(rng))
    how = seed % 4
    if how == 0:
        return bytes(data[: rng.randrange(len(data))])
    if how == 1:
        for _ in range(rng.choice([1, 5, 50])):
            data[rng.randrange(len(data))] = rng.randrange(256)
        return bytes(data)
    rows = bytes(data).split(b"\n")
    if how == 2:  # a value or a code for another one
        for _ in range(rng.choice([1, 4, 20])):
            rows[rng.randrange(len(rows))] = rng.choice(
                [b"0", b"-1", b"nan", b"1e308", b"LINE", b"", b"10", b"70", b"99999999"]
            )
    else:  # lines lost
        at = rng.randrange(len(rows))
        del rows[at : at + rng.randrange(1, 60)]
    return b"\n".join(rows)


def survives(seed):
    """Read or refused in words, never anything else raised; returns whether it was read."""
    said = ""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            found = dxf_content(damaged(seed), "t.dxf", unit=None, layer=None)
        except TemplateError as error:
            said = str(error)
    if said:
        assert re.fullmatch(r"t\.dxf: found .+; expected .+", said)
        return False
    assert all(math.isfinite(v.x + v.y + v.bulge) for c in found.contours for v in c.ring.vertices)
    assert all(c.ring.area > 0 for c in found.contours)
    return True


def test_damaged_files_are_read_or_refused_in_words():
    read = [survives(seed) for seed in range(60)]
    assert 0 < sum(read) < 60


@pytest.mark.sweep
def test_many_damaged_files_are_read_or_refused_in_words():
    read = [survives(seed) for seed in range(1000, 4000)]
    assert 0 < sum(read) < 3000


# --- offsets -------------------------------------------------------------------------------------------------------


def rounded(w, h, r):
    return with_corners(rectangle(0, 0, w, h), {k: (CornerShape(radius=r), "") for k in range(4)})


@pytest.mark.parametrize("distance", [3.0, -3.0, -19.5, -20.0, -25.0, 60.0])
def test_a_rounded_rectangle_moved_has_the_closed_forms_area(distance):
    """Area w h - (4 - pi) r^2, each of w, h and r changed; a radius that is used up leaves square corners."""
    moved = offset_ring(rounded(700, 400, 20), distance)
    w, h, r = 700 + 2 * distance, 400 + 2 * distance, max(20 + distance, 0)
    assert moved.area == pytest.approx(w * h - (4 - math.pi) * r**2, abs=1e-6)
    assert len(moved.vertices) == (8 if r else 4)
    assert {round(arc.radius, 6) for a, b in moved.edges() if (arc := arc_of(a, b))} == ({r} if r else set())


def test_circles_and_square_corners_moved():
    assert offset_ring(circle(5, 7, 50), -8).area == pytest.approx(math.pi * 42**2)
    assert offset_ring(circle(5, 7, 50), 8).area == pytest.approx(math.pi * 58**2)
    assert offset_ring(rectangle(0, 0, 100, 60), 5).area == pytest.approx(110 * 70)
    assert offset_ring(rectangle(0, 0, 100, 60), 0) == rectangle(0, 0, 100, 60)
    slotted = polygon_ring([(0, 0), (100, 0), (100, 100), (60, 100), (60, 40), (40, 40), (40, 100), (0, 100)])
    assert offset_ring(slotted, 12).area == pytest.approx(124 * 124)  # the slot is filled
    assert offset_ring(slotted, 8).area == pytest.approx(116 * 116 - 4 * 60)
    spike = polygon_ring([(0, 0), (300, -20), (300, 20)])
    grown = offset_ring(spike, 10)
    tip = next(arc for a, b in grown.edges() if (arc := arc_of(a, b)) and arc.cx < 1)
    assert tip.radius == pytest.approx(10)  # too sharp for a mitre


@pytest.mark.parametrize(
    ("ring", "distance"),
    [
        (rectangle(0, 0, 100, 60), -30),
        (circle(0, 0, 20), -20),
        (polygon_ring([(0, 0), (100, 0), (100, 50), (200, 50), (200, 0), (300, 0), (300, 100), (200, 100), (200, 60), (100, 60), (100, 100), (0, 100)]), -7),  # noqa: E501
    ],
)  # fmt: skip
def test_an_outline_that_would_vanish_close_or_fall_apart_is_refused(ring, distance):
    with pytest.raises(ValueError, match="outline"):
        offset_ring(ring, distance)


def any_ring(rng):
    count = rng.randint(4, 9)
    angles = [(k + rng.uniform(-0.3, 0.3)) * 2 * math.pi / count for k in range(count)]
    reach = [rng.uniform(150, 300) for _ in angles]
    return Ring(
        tuple(
            Vertex(r * math.cos(a), r * math.sin(a), rng.choice([0, 0, 0.25, -0.15]))
            for a, r in zip(angles, reach, strict=True)
        )
    )


def offset_agrees(seed):
    """Between shapely's round and mitred offsets of the flattened ring, within chords' error; or None where it is refused."""
    rng = random.Random(seed)
    ring = any_ring(rng)
    while not is_simple(ring):
        ring = any_ring(rng)
    distance = rng.choice([-12.0, -3.0, 2.0, 9.0])
    try:
        moved = area_of(offset_ring(ring, distance))
    except ValueError:
        return None
    flat = area_of(ring)
    round_one = flat.buffer(distance, quad_segs=128)
    mitred = flat.buffer(distance, join_style="mitre", mitre_limit=2.01)
    outer, inner = (mitred, round_one) if distance > 0 else (round_one, mitred)
    return outer.buffer(0.05).covers(moved) and moved.buffer(0.05).covers(inner)


def test_offsets_agree_with_shapelys():
    found = [offset_agrees(seed) for seed in range(120)]
    assert False not in found
    assert found.count(None) <= 6


@pytest.mark.sweep
def test_many_offsets_agree_with_shapelys():
    found = [offset_agrees(seed) for seed in range(1000, 6000)]
    assert False not in found
    assert found.count(None) <= 250
