"""A piece's cut file, read back by GDAL and by a tag reader of the tests' own."""

import dataclasses
import math
import os
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import ezdxf
import pyogrio
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from raw_dxf import chained_area, read, ring_area

from layout.cutouts import PlacedCutout
from layout.cutting import CornerShape, difference, with_corners
from layout.outline import Frame, Ring, Vertex, circle, rectangle
from layout.pieces import Piece
from layout.pipeline import lay_text
from layout.top_plans import Leg
from layout.units import UNIT_MM
from layout.writers.cut_dxf import _angle, cut_dxf

ROOT = Path(__file__).parent.parent
PLAN = Frame(-1234.5, 678.9, math.radians(37))
"""Where the pieces below lie in plan: nowhere round."""
LEG = Leg(PLAN, 0.0, -644.525, 0.0, 3000.0)
BOTH = pytest.mark.parametrize("contours", ["polylines", "lines and arcs"])
UNITS = pytest.mark.parametrize("units", ["in", "mm"])

JOB = """
[job]
title = "Fernside"
number = "F-204"
units = "{units}"
revision = "{revision}"
[wood]
species = "black walnut"
thickness = "{thickness}"
[sheet]
feet = {feet}
[cut]
relief = "none"
contours = "{contours}"
layers = {layers}
[[top]]
name = "island"
size = ["{long}", "{wide}"]
"""


def job(units="in", contours="polylines", layers="{}", revision="B", feet="false"):
    long, wide, thickness = ("84", "40", "1 3/4") if units == "in" else ("2100", "1000", "40")
    text = JOB.format(
        units=units,
        contours=contours,
        layers=layers,
        revision=revision,
        feet=feet,
        long=long,
        wide=wide,
        thickness=thickness,
    )
    return lay_text(text).job


def cutout(ring, *, kind="sink", mount=None, diameter=None, center=(0.0, 0.0), name="S1"):
    return PlacedCutout(
        name=name,
        kind=kind,
        mount=mount,
        top="island",
        index=0,
        ring=ring.moved(PLAN.to_plan),
        center=PLAN.to_plan(center),
        leg=LEG,
        station=0.0,
        setback=100.0,
        size=(1.0, 1.0),
        diameter=diameter,
        radius=0.0,
        hole=diameter is not None,
    )


def hole(x, y, diameter, kind="hole"):
    return cutout(circle(x, y, diameter / 2), kind=kind, diameter=diameter, center=(x, y), name="H1")


def piece(ring, *cutouts, crossing=()):
    x0, y0, x1, y1 = ring.bounds()
    at = PLAN.to_plan((x0, y0))
    return Piece(
        id="P1",
        top="island",
        part=1,
        ring=ring.moved(PLAN.to_plan),
        frame=Frame(*at, PLAN.angle),
        leg=LEG,
        length=x1 - x0,
        width=y1 - y0,
        area=0.0,
        sides={},
        cutouts=cutouts,
        crossing=crossing,
    )


BAR = with_corners(rectangle(0, 0, 2000, 650), {1: (CornerShape(radius=50.8), "a"), 2: (CornerShape(120.0), "b")})
BOWED = Ring((Vertex(0, 0, 0.2), Vertex(1500, 0), Vertex(1500, 600, -0.1), Vertex(0, 600)))
ROUND_END = Ring((Vertex(0, 0), Vertex(1000, 0, 1.0), Vertex(1000, 600), Vertex(0, 600)))
KEYHOLE = Ring((Vertex(0, 0, 0.01), Vertex(300, 0, 2.2), Vertex(300, 100), Vertex(0, 100)))
OUTLINES = {"bar": BAR, "bowed": BOWED, "round end": ROUND_END, "keyhole": KEYHOLE}
SINK = with_corners(rectangle(500, 100, 1200, 500), {k: (CornerShape(radius=19.05), "S1") for k in range(4)})


def cut(one, **choices):
    return read(cut_dxf(one, job(**choices)))


def measured(dxf, layer):
    """(area, widest gap) of all contours on a layer, each by itself."""
    polylines = [ring_area(p.vertices()) for p in dxf.of("LWPOLYLINE", layer)]
    circles = [math.pi * c.number(40) ** 2 for c in dxf.of("CIRCLE", layer)]
    area, gap = sum(polylines) + sum(circles), 0.0
    loose = [e for e in dxf.entities if e.kind in ("LINE", "ARC") and e.layer == layer]
    if loose:
        chained, gap = chained_area(loose)
        area += chained
    return area, gap


def by_gdal(data, tmp_path):
    """Closed areas by layer, as GDAL measures them."""
    path = tmp_path / "P1.dxf"
    path.write_bytes(data)
    pyogrio.set_gdal_config_options(
        {"OGR_ARC_STEPSIZE": "0.01", "OGR_ARC_MAX_GAP": "0", "DXF_CLOSED_LINE_AS_POLYGON": "NO"}
    )
    meta, _, shapes, columns = pyogrio.raw.read(path, layer="entities")
    layers = columns[list(meta["fields"]).index("Layer")]
    lines = {}
    for layer, shape in zip(layers, map(shapely.from_wkb, shapes), strict=True):
        if shape.geom_type == "LineString":
            lines.setdefault(layer, []).append(shape)
    return {
        layer: sum(p.area for p in shapely.polygonize([shapely.set_precision(s, 1e-7) for s in shapes]).geoms)
        for layer, shapes in lines.items()
    }


# --- contours --------------------------------------------------------------------------------------------------------


@UNITS
@BOTH
@pytest.mark.parametrize("outline", OUTLINES)
def test_the_outline_is_closed_and_its_area_exact(outline, contours, units):
    ring = OUTLINES[outline]
    dxf = cut(piece(ring), units=units, contours=contours)
    area, gap = measured(dxf, "CUT_OUTLINE")
    mm = float(UNIT_MM[units])
    assert area * mm**2 == pytest.approx(ring.area, rel=1e-12)
    assert gap <= 1e-9
    if contours == "polylines":
        assert len(dxf.of("LWPOLYLINE", "CUT_OUTLINE")) == 1
        assert dxf.of("LWPOLYLINE", "CUT_OUTLINE")[0].closed
        assert not dxf.of("LINE") + dxf.of("ARC")
    else:
        assert not dxf.of("LWPOLYLINE")


@UNITS
@BOTH
@pytest.mark.parametrize("outline", OUTLINES)
def test_gdal_measures_the_same_area(outline, contours, units, tmp_path):
    ring = OUTLINES[outline]
    data = cut_dxf(piece(ring, hole(200, 50, 35.0)), job(units=units, contours=contours))
    areas = by_gdal(data, tmp_path)
    mm = float(UNIT_MM[units])
    assert areas["CUT_OUTLINE"] * mm**2 == pytest.approx(ring.area, rel=1e-5)
    assert areas["DRILL"] * mm**2 == pytest.approx(math.pi * 17.5**2, rel=1e-5)


@BOTH
def test_arcs_are_true_arcs_of_at_most_half_a_circle(contours):
    for ring in OUTLINES.values():
        dxf = cut(piece(ring), contours=contours)
        for polyline in dxf.of("LWPOLYLINE"):
            assert all(abs(b) <= 1.0 + 1e-9 for *_, b in polyline.vertices())
        for arc in dxf.of("ARC"):
            assert 0.0 <= arc.number(50) < 360.0
            assert 0.0 <= arc.number(51) < 360.0
            assert (arc.number(51) - arc.number(50)) % 360.0 <= 180.0 + 1e-6
        if contours == "lines and arcs":
            assert dxf.of("ARC")


@BOTH
def test_a_sink_is_cut_inside_and_round_ones_are_circles(contours):
    one = piece(BAR, cutout(SINK), hole(300, 300, 35.0), hole(1500, 300, 400.0, kind="cooktop"))
    dxf = cut(one, contours=contours)
    assert measured(dxf, "CUT_INSIDE")[0] * 25.4**2 == pytest.approx(SINK.area + math.pi * 200**2, rel=1e-12)
    drill = dxf.of("CIRCLE", "DRILL")[0]
    assert (*drill.point(), drill.number(40)) == pytest.approx(tuple(v / 25.4 for v in (300, 300, 17.5)), abs=1e-9)
    inside = dxf.of("CIRCLE", "CUT_INSIDE")[0]
    assert (*inside.point(), inside.number(40)) == pytest.approx(tuple(v / 25.4 for v in (1500, 300, 200)), abs=1e-9)
    assert len(dxf.of("CIRCLE")) == 2


def test_no_polyline_has_two_vertices():
    # a ring of two half circles, whatever made it
    dxf = cut(piece(circle(300, 300, 300), cutout(circle(300, 300, 100))))
    assert not dxf.of("LWPOLYLINE")
    assert [c.layer for c in dxf.of("CIRCLE")] == ["CUT_OUTLINE", "CUT_INSIDE"]
    assert dxf.of("CIRCLE")[0].point() == pytest.approx((300 / 25.4, 300 / 25.4))


def test_an_apron_sink_is_part_of_the_outline_and_not_cut_twice():
    bite = rectangle(600, -10, 1300, 500)
    outline = difference(BAR, bite)[0]
    dxf = cut(piece(outline, cutout(rectangle(600, 0, 1300, 500), mount="apron")))
    assert {e.layer for e in dxf.entities} == {"CUT_OUTLINE", "NOTE"}
    assert measured(dxf, "CUT_OUTLINE")[0] * 25.4**2 == pytest.approx(BAR.area - 700 * 500, rel=1e-12)


def test_a_cutout_over_a_joint_opens_the_outline():
    over = cutout(rectangle(1800, 200, 2200, 400))
    dxf = cut(piece(rectangle(0, 0, 2000, 650), crossing=(over,)))
    assert measured(dxf, "CUT_OUTLINE")[0] * 25.4**2 == pytest.approx(2000 * 650 - 200 * 200, rel=1e-12)


def test_an_outline_in_two_parts_is_refused():
    over = cutout(rectangle(900, -100, 1100, 800))
    with pytest.raises(ValueError, match="P1 is cut in 2 outlines"):
        cut_dxf(piece(rectangle(0, 0, 2000, 650), crossing=(over,)), job())


def test_no_contour_is_cut_twice():
    turned = Ring(SINK.vertices[3:] + SINK.vertices[:3])
    one = piece(BAR, cutout(SINK), cutout(turned, name="S2"), hole(300, 300, 35.0), hole(300, 300, 35.0))
    dxf = cut(one)
    assert len(dxf.of("LWPOLYLINE", "CUT_INSIDE")) == 1
    assert len(dxf.of("CIRCLE", "DRILL")) == 1


def test_a_cutout_that_takes_an_end_moves_the_corner_back_to_zero():
    over = cutout(rectangle(-50, -50, 300, 700))
    dxf = cut(piece(rectangle(0, 0, 2000, 650), crossing=(over,)))
    xs, ys, _ = zip(*dxf.of("LWPOLYLINE")[0].vertices(), strict=True)
    assert (min(xs), min(ys)) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert (max(xs) * 25.4, max(ys) * 25.4) == pytest.approx((1700.0, 650.0))
    assert dxf.of("TEXT")[2].text(1) == 'OVERALL 66 15/16" X 25 9/16"'


def test_a_direction_a_hair_below_zero_is_zero_and_not_a_full_turn():
    assert math.degrees(-1e-18) % 360.0 == 360.0
    assert _angle(0.0, 0.0, (1.0, -1e-18)) == 0.0
    assert _angle(0.0, 0.0, (0.0, -1.0)) == 270.0


def test_an_arc_too_flat_to_be_one_is_a_line():
    ring = Ring((Vertex(0, 0, 1e-9), Vertex(900, 0), Vertex(900, 500, 1e-200), Vertex(0, 500)))
    dxf = cut(piece(ring), contours="lines and arcs")
    assert len(dxf.of("LINE")) == 4
    assert not dxf.of("ARC")


@BOTH
def test_specks_are_left_out(contours):
    specks = Ring(
        (Vertex(0, 0), Vertex(0.004, 0), Vertex(900, 0, 0.3), Vertex(900.001, 0.001), Vertex(900, 500), Vertex(0, 500))
    )
    dxf = cut(piece(specks), contours=contours)
    if contours == "polylines":
        assert len(dxf.of("LWPOLYLINE")[0].vertices()) == 4
    else:
        assert len(dxf.of("LINE")) == 4
        assert not dxf.of("ARC")
    assert measured(dxf, "CUT_OUTLINE")[0] * 25.4**2 == pytest.approx(900 * 500, rel=1e-4)


CORNERS = st.tuples(*(st.one_of(st.none(), st.floats(1.0, 240.0)) for _ in range(4)))


@given(CORNERS, st.floats(300, 4000), st.floats(500, 900), st.sampled_from(["polylines", "lines and arcs"]))
def test_any_rounded_piece_keeps_its_area_and_stands_at_zero(radii, long, wide, contours):
    shapes = {k: (CornerShape(radius=min(r, long / 2 - 1)), "c") for k, r in enumerate(radii) if r}
    ring = with_corners(rectangle(0, 0, long, wide), shapes)
    dxf = read(cut_dxf(piece(ring), JOBS[contours]))
    area, gap = measured(dxf, "CUT_OUTLINE")
    assert area * 25.4**2 == pytest.approx(ring.area, rel=1e-10)
    assert gap <= 1e-9
    points = [v[:2] for p in dxf.of("LWPOLYLINE") for v in p.vertices()]
    points += [p for e in dxf.of("LINE") + dxf.of("ARC") for p in e.ends()]
    assert min(x for x, _ in points) == pytest.approx(0.0, abs=1e-9)
    assert min(y for _, y in points) == pytest.approx(0.0, abs=1e-9)


JOBS = {contours: job(contours=contours) for contours in ("polylines", "lines and arcs")}


# --- file ------------------------------------------------------------------------------------------------------------

LADEN = piece(BAR, cutout(SINK), hole(300, 300, 35.0))


@UNITS
def test_the_header_says_the_unit_and_the_extents(units):
    dxf = cut(LADEN, units=units)
    mm = float(UNIT_MM[units])
    assert dxf.var("$ACADVER") == "AC1015"
    assert int(dxf.var("$INSUNITS")) == {"in": 1, "mm": 4}[units]
    assert int(dxf.var("$MEASUREMENT")) == {"in": 0, "mm": 1}[units]
    assert [float(v) for _, v in dxf.header["$EXTMIN"]] == [0.0, 0.0, 0.0]
    assert [float(v) for _, v in dxf.header["$EXTMAX"]] == pytest.approx([2000 / mm, 650 / mm, 0.0], abs=1e-9)


@UNITS
def test_the_page_to_print_on_is_one_in_the_files_unit(units):
    size = [float(v) for _, v in cut(LADEN, units=units).header["$PLIMMAX"]]
    assert size == {"in": [17.0, 11.0], "mm": [420.0, 297.0]}[units]


@BOTH
def test_only_plain_entities_in_model_space_and_nothing_in_blocks_or_on_paper(contours):
    dxf = cut(LADEN, contours=contours)
    assert {e.kind for e in dxf.entities} <= {"LINE", "ARC", "CIRCLE", "LWPOLYLINE", "TEXT"}
    assert not any(e.on_paper for e in dxf.entities)
    assert set(dxf.blocks) == {"*Model_Space", "*Paper_Space"}
    assert not any(dxf.blocks.values())
    for entity in dxf.entities:
        assert not entity.all(210)
        assert not entity.all(62), "colour by layer"


def test_an_audit_finds_nothing(tmp_path):
    for choices in JOBS.values():
        path = tmp_path / "P1.dxf"
        path.write_bytes(cut_dxf(LADEN, choices))
        audit = ezdxf.readfile(path).audit()
        assert audit.errors == []
        assert audit.fixes == []


def test_only_the_layers_used_are_in_the_file():
    assert {x.text(2) for x in cut(LADEN).table("LAYER")} == {"0", "CUT_OUTLINE", "CUT_INSIDE", "DRILL", "NOTE"}
    assert {x.text(2) for x in cut(piece(BAR)).table("LAYER")} == {"0", "CUT_OUTLINE", "NOTE"}


def test_layers_go_by_the_shops_names():
    dxf = cut(LADEN, layers='{ CUT_OUTLINE = "OUTSIDE", DRILL = "T1-35", NOTE = "TXT" }')
    assert {x.text(2) for x in dxf.table("LAYER")} == {"0", "OUTSIDE", "CUT_INSIDE", "T1-35", "TXT"}
    assert {e.kind: e.layer for e in dxf.entities} == {"LWPOLYLINE": "CUT_INSIDE", "CIRCLE": "T1-35", "TEXT": "TXT"}
    assert [e.layer for e in dxf.of("LWPOLYLINE")] == ["OUTSIDE", "CUT_INSIDE"]


def test_the_file_is_ascii_and_has_no_minus_zero():
    data = cut_dxf(LADEN, job(revision="é"))
    data.decode("ascii")
    dxf = read(data)
    for entity in dxf.entities:
        for code, value in entity.tags:
            if 10 <= code < 60:
                assert not (value.strip().startswith("-") and float(value) == 0.0)
                assert float(value) == 0.0 or abs(float(value)) > 1e-11


# --- note ------------------------------------------------------------------------------------------------------------


def test_the_note_says_what_piece_what_size_and_what_unit():
    assert [t.text(1) for t in cut(LADEN).of("TEXT")] == [
        "P1",
        "JOB F-204 REV B",
        'OVERALL 78 3/4" X 25 9/16"',
        'THICKNESS 1 3/4"',
        "UNIT: INCH",
        "SEEN FROM ABOVE",
    ]
    assert [t.text(1) for t in cut(LADEN, units="mm", revision="").of("TEXT")] == [
        "P1",
        "JOB F-204",
        "OVERALL 2000 X 650 MM",
        "THICKNESS 40 MM",
        "UNIT: MM",
        "SEEN FROM ABOVE",
    ]
    assert cut(LADEN, feet="true").of("TEXT")[2].text(1) == "OVERALL 6'-6 3/4\" X 2'-1 9/16\""


@pytest.mark.parametrize(
    "one",
    [
        LADEN,
        piece(KEYHOLE),
        piece(Ring((Vertex(0, 500), Vertex(1500, 0), Vertex(1500, 500)))),
        piece(rectangle(0, 0, 60, 40)),
    ],
)
def test_the_note_lies_on_wood_and_clear_of_cuts(one):
    outline, *_ = one.cut_rings()
    wood = shapely.Polygon(outline.flattened(0.1))
    for hole_cut in one.cutouts:
        wood -= shapely.Polygon(hole_cut.ring.moved(one.frame.from_plan).flattened(0.1))
    texts = cut(one).of("TEXT")
    for text in texts:
        height = text.number(40)
        assert 0 < height * 25.4 <= 10.0 + 1e-9
        x, y = text.point()
        # letters of most faces are less than 0.95 of the capitals' height wide
        box = shapely.box(x, y, x + 0.85 * height * len(text.text(1)), y + height)
        assert wood.contains(shapely.affinity.scale(box, 25.4, 25.4, origin=(0, 0)))
        assert text.layer == "NOTE"
    ys = [t.point()[1] for t in texts]
    assert ys == sorted(ys, reverse=True)
    assert min(a - b for a, b in pairwise(ys)) > 1.2 * texts[0].number(40)


# --- whole jobs ------------------------------------------------------------------------------------------------------

KITCHEN = """
[job]
title = "Fernside"
number = "F-204"
units = "in"
[wood]
species = "black walnut"
thickness = "1 3/4"
[[wall]]
name = "A"
length = "126 1/2"
[[wall]]
name = "B"
length = "96"
[[top]]
name = "perimeter"
along = ["A", "B"]
depth = "25 1/2"
end = "84"
corners = { "front right" = { radius = "2" } }
[[cutout]]
name = "S1"
kind = "sink"
mount = "undermount"
top = "perimeter"
wall = "B"
center = "52"
setback = "4"
size = ["30", "16"]
radius = "3/4"
"""


@BOTH
def test_a_kitchens_pieces_come_out_with_the_front_lowest(contours):
    layout = lay_text(KITCHEN + f'[cut]\ncontours = "{contours}"\n')
    first, second = layout.divided.pieces
    dxf = read(cut_dxf(first, layout.job))
    area, _ = measured(dxf, "CUT_OUTLINE")
    # mitred at its right end: 126 1/4 along the back, 100 7/8 along the front
    assert area == pytest.approx((126.25 + 100.875) / 2 * 25.375, rel=1e-12)
    points = [v[:2] for p in dxf.of("LWPOLYLINE") for v in p.vertices()] or [
        p for e in dxf.of("LINE") for p in e.ends()
    ]
    low = [x for x, y in points if abs(y) < 1e-9]
    assert (min(low), max(low)) == pytest.approx((0.0, 100.875), abs=1e-9)
    dxf = read(cut_dxf(second, layout.job))
    area, gap = measured(dxf, "CUT_OUTLINE")
    assert area == pytest.approx((83.875 + 83.875 - 25.375) / 2 * 25.375 - (4 - math.pi), rel=1e-12)
    assert gap <= 1e-9
    assert measured(dxf, "CUT_INSIDE")[0] == pytest.approx(30 * 16 - (4 - math.pi) * 0.75**2, rel=1e-12)


# --- the same bytes --------------------------------------------------------------------------------------------------

PRINT_HASH = """
import hashlib, sys
sys.path[:0] = ["tests"]
from test_cut_dxf import LADEN, JOBS, cut_dxf
print([hashlib.sha256(cut_dxf(LADEN, job)).hexdigest() for job in JOBS.values()])
"""


@pytest.mark.sweep
def test_the_bytes_depend_on_nothing_but_the_piece():
    seen = set()
    for seed in ("0", "1"):
        run = subprocess.run(
            [sys.executable, "-c", PRINT_HASH],
            env={**os.environ, "PYTHONHASHSEED": seed},
            cwd=ROOT,
            check=True,
            capture_output=True,
            text=True,
        )
        seen.add(run.stdout)
    assert len(seen) == 1
    assert not re.search(rb"20[1-9]\d-\d\d-\d\d", cut_dxf(LADEN, job()))


def test_where_a_piece_lies_in_plan_changes_nothing():
    other = Frame(50.0, -70.0, math.radians(-101))

    def moved(ring):
        return ring.moved(PLAN.from_plan).moved(other.to_plan)

    x, y = other.to_plan(PLAN.from_plan((LADEN.frame.x, LADEN.frame.y)))
    cuts = tuple(
        dataclasses.replace(c, ring=moved(c.ring), center=other.to_plan(PLAN.from_plan(c.center)))
        for c in LADEN.cutouts
    )
    elsewhere = dataclasses.replace(LADEN, ring=moved(LADEN.ring), frame=Frame(x, y, other.angle), cutouts=cuts)
    here, there = cut(LADEN), cut(elsewhere)
    for a, b in zip(here.entities, there.entities, strict=True):
        assert (a.kind, a.layer) == (b.kind, b.layer)
        for (code, v), (_, w) in zip(a.tags, b.tags, strict=True):
            if 10 <= code < 60:
                assert float(v) == pytest.approx(float(w), abs=1e-9)
