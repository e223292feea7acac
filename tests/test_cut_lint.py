"""Cut files are read again as written: every fault that a machine would stumble over is told, and no such file is let out."""

from __future__ import annotations

import json
import math
from pathlib import Path
from time import perf_counter

import pytest
import rooms
from hypothesis import example, given
from hypothesis import strategies as st
from test_cli import GOOD, run
from test_cut_dxf import BAR, LADEN, OUTLINES, cut_dxf, job, piece

from layout.cut_lint import lint
from layout.files import cut_file, drawn_files
from layout.materials import materials
from layout.outline import Ring, Vertex
from layout.pipeline import lay_file, lay_text
from layout.sheets import draw
from layout.strokes import Arc, Stroke, contact, overlap
from layout.writers import cut_dxf as writer

SAMPLES = sorted((Path(__file__).parent.parent / "samples" / "jobs").glob("*.toml"))
JOB = GOOD.replace("{number}", "J-1")
KINDS = ("polylines", "heavy polylines", "lines and arcs")
VARIANTS = [(v, c) for v in ("R2000", "R12") for c in KINDS]

# --- a file made by hand, tag by tag ---------------------------------------------------------------------------------


def tags(*pairs):
    return "".join(f"{code:3d}\n{value}\n" for code, value in pairs)


def poly(layer, *corners, flags=1, count=None):
    """An LWPOLYLINE through corners (x, y) or (x, y, bulge)."""
    out = [(0, "LWPOLYLINE"), (8, layer), (90, count or len(corners)), (70, flags)]
    for x, y, *bulge in corners:
        out += [(10, x), (20, y), *((42, b) for b in bulge)]
    return tags(*out)


def heavy(layer, *corners, end=True, flags=1):
    out = [(0, "POLYLINE"), (8, layer), (66, 1), (10, 0.0), (20, 0.0), (30, 0.0), (70, flags)]
    for x, y, *bulge in corners:
        out += [(0, "VERTEX"), (8, layer), (10, x), (20, y), (30, 0.0), *((42, b) for b in bulge)]
    return tags(*out, *([(0, "SEQEND"), (8, layer)] if end else []))


def line(layer, x0, y0, x1, y1):
    return tags((0, "LINE"), (8, layer), (10, x0), (20, y0), (30, 0.0), (11, x1), (21, y1), (31, 0.0))


def arc(layer, x, y, radius, start, end):
    return tags((0, "ARC"), (8, layer), (10, x), (20, y), (30, 0.0), (40, radius), (50, start), (51, end))


def ring(x, y, radius, layer="DRILL"):
    return tags((0, "CIRCLE"), (8, layer), (10, x), (20, y), (30, 0.0), (40, radius))


def text(value, layer="NOTE"):
    return tags((0, "TEXT"), (8, layer), (10, 1.0), (20, 1.0), (30, 0.0), (40, 5.0), (1, value))


OUTLINE = poly("CUT_OUTLINE", (0, 0), (600, 0), (600, 400), (0, 400))
LOOSE = [line("CUT_OUTLINE", *e) for e in ((0, 0, 600, 0), (600, 0, 600, 400), (600, 400, 0, 400), (0, 400, 0, 0))]
SINK = poly("CUT_INSIDE", (100, 100), (300, 100), (300, 300), (100, 300))
NOTE = text("P1") + text("OVERALL 600 X 400 MM") + text("UNIT: MM")


def made(*entities, note=NOTE, units=4, measurement=1, low=(0, 0), high=(600, 400), version="AC1015", block=""):
    """A whole file in mm; a header variable that is None is left out."""
    header = [(9, "$ACADVER"), (1, version)]
    for name, value in (("$INSUNITS", units), ("$MEASUREMENT", measurement)):
        header += [(9, name), (70, value)] if value is not None else []
    for name, (x, y) in (("$EXTMIN", low), ("$EXTMAX", high)):
        header += [(9, name), (10, x), (20, y), (30, 0.0)]
    return (
        tags((0, "SECTION"), (2, "HEADER"), *header, (0, "ENDSEC"))
        + tags((0, "SECTION"), (2, "BLOCKS"), (0, "BLOCK"), (2, "*Model_Space"))
        + block
        + tags((0, "ENDBLK"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES"))
        + "".join(entities)
        + note
        + tags((0, "ENDSEC"), (0, "EOF"))
    ).encode("utf-8")


def faults(data, contours="polylines", unit="mm", layers=None):
    return lint(data, piece="P1", unit=unit, layers=layers or {}, contours=contours)


SOUND = made(OUTLINE, SINK, ring(400, 200, 17.5))


def test_a_sound_file_has_no_faults():
    assert faults(SOUND) == ()
    assert faults(made(*LOOSE, ring(400, 200, 17.5)), "lines and arcs") == ()
    # in any order and either way
    turned = [line("CUT_OUTLINE", 600, 400, 600, 0), LOOSE[3], LOOSE[0], line("CUT_OUTLINE", 0, 400, 600, 400)]
    assert faults(made(*turned), "lines and arcs") == ()


HALF = math.tan(math.pi / 8)
FAULTS = {
    "not ASCII": (made(OUTLINE, note=NOTE + text("é")), "not ASCII: byte 0xC3 in line"),
    "cut short": (SOUND[:-12], "does not end with EOF"),
    "half a tag": (SOUND[: SOUND.rindex(b"EOF")], "ends in the middle of a tag"),
    "no code": (SOUND.replace(b" 90\n", b"ninety\n", 1), "should be a group code and is 'ninety'"),
    "no entities": (SOUND.replace(b"\nENTITIES\n", b"\nTHINGS\n"), "it has no ENTITIES section"),
    "no number": (SOUND.replace(b"\n600\n", b"\nwide\n"), "should be a number and is 'wide'"),
    "not finite": (made(OUTLINE, ring("nan", 200, 17.5)), "is nan, which is no place"),
    "no units": (made(OUTLINE, units=None), "header: no $INSUNITS"),
    "no measurement": (made(OUTLINE, measurement=None), "header: no $MEASUREMENT"),
    "units disagree": (made(OUTLINE, measurement=0), "$INSUNITS 4 and $MEASUREMENT 0 disagree"),
    "metres": (made(OUTLINE, units=6), "$INSUNITS is 6; 4 stands for the job's mm"),
    "inches": (made(OUTLINE, units=1, measurement=0), "$INSUNITS is 1; 4 stands for the job's mm"),
    "extents never set": (made(OUTLINE, low=(1e20, 1e20), high=(-1e20, -1e20)), "header: $EXTMIN is"),
    "extents short": (made(OUTLINE, high=(599.99, 400)), "header: $EXTMAX is (599.9900, 400.0000) mm, the cuts reach to (600.0"),
    "spline": (made(OUTLINE, tags((0, "SPLINE"), (8, "CUT_INSIDE"))), "CUT_INSIDE: SPLINE, where contours are polylines"),
    "block": (made(OUTLINE, tags((0, "INSERT"), (8, "CUT_INSIDE"), (2, "B"))), "CUT_INSIDE: INSERT, where"),
    "in a block": (made(OUTLINE, block=ring(1, 1, 1)), "CIRCLE in a block"),
    "light in R12": (made(OUTLINE, version="AC1009"), "CUT_OUTLINE: LWPOLYLINE, where"),
    "another kind": (made(OUTLINE, heavy("CUT_INSIDE", (9, 9), (99, 9), (99, 99))), "CUT_INSIDE: POLYLINE, where"),
    "strange layer": (made(OUTLINE, ring(9, 9, 2, "0")), "0: CIRCLE on a layer that is none of the operations'"),
    "text to cut": (made(OUTLINE, text("A", "DRILL")), "DRILL: TEXT on the layer for cuts"),
    "cut in the note": (made(OUTLINE, ring(9, 9, 2, "NOTE")), "NOTE: CIRCLE on the layer for notes"),
    "drilled square": (made(OUTLINE, poly("DRILL", (9, 9), (19, 9), (19, 19))), "DRILL: LWPOLYLINE, where a drill"),
    "raised": (SOUND.replace(b" 90\n", b" 38\n12.0\n 90\n", 1), "CUT_OUTLINE: LWPOLYLINE off z = 0 (group 38 is 12.0)"),
    "mirrored": (SOUND.replace(b" 90\n", b"230\n-1.0\n 90\n", 1), "CUT_OUTLINE: LWPOLYLINE off z = 0 (group 230"),
    "on paper": (SOUND.replace(b" 90\n", b" 67\n1\n 90\n", 1), "CUT_OUTLINE: LWPOLYLINE on paper"),
    "open": (
        made(poly("CUT_OUTLINE", (0, 0), (600, 0), (600, 400), (0, 400), flags=0)),
        "CUT_OUTLINE: open between (0.0000, 400.0000) mm and (0.0000, 0.0000) mm",
    ),
    "two corners": (made(OUTLINE, poly("CUT_INSIDE", (9, 9, 1), (19, 9, 1))), "LWPOLYLINE of 2 corners; some readers"),
    "miscounted": (made(OUTLINE, poly("CUT_INSIDE", (9, 9), (19, 9), (19, 19), count=4)), "says 4 corners and has 3"),
    "no outline": (made(SINK, low=(100, 100), high=(300, 300)), "CUT_OUTLINE: 0 contours, where a piece has one"),
    "two outlines": (made(OUTLINE, SINK.replace("CUT_INSIDE", "CUT_OUTLINE")), "CUT_OUTLINE: 2 contours"),
    "speck": (
        made(OUTLINE, poly("CUT_INSIDE", (9, 9), (19, 9), (19, 9.004), (19, 19))),
        "CUT_INSIDE: only 0.004 mm long at (19.0000, 9.0000) mm",
    ),
    "no length": (made(OUTLINE, poly("CUT_INSIDE", (9, 9), (19, 9), (19, 9), (19, 19))), "CUT_INSIDE: only 0 mm long"),
    "no radius": (made(OUTLINE, ring(9, 9, 0)), "DRILL: CIRCLE at (9.0000, 9.0000) mm has no radius"),
    "twice": (made(OUTLINE, SINK, SINK), "CUT_INSIDE: the same cut twice from"),
    "twice, turned round": (
        made(OUTLINE, SINK, poly("CUT_INSIDE", (300, 300), (300, 100), (100, 100), (100, 300))),
        "CUT_INSIDE: the same cut twice from",
    ),
    "twice, a part": (
        made(OUTLINE, SINK, poly("CUT_INSIDE", (300, 250), (400, 250), (400, 150), (300, 150))),
        "CUT_INSIDE: the same cut twice from (300.0000, 150.0000) mm to (300.0000, 250.0000) mm",
    ),
    "circle twice": (made(OUTLINE, ring(99, 99, 5), ring(99, 99, 5)), "DRILL: the same cut twice from"),
    "arcs overlap": (
        made(OUTLINE, ring(100, 100, 50, "CUT_INSIDE"), poly("CUT_INSIDE", (100, 100), (150, 100, HALF), (100, 150))),
        "CUT_INSIDE: the same cut twice from (100.0000, 150.0000) mm to (150.0000, 100.0000) mm",
    ),
    "there and back": (made(OUTLINE, poly("CUT_INSIDE", (9, 9), (99, 9), (50, 9), (50, 50))), "the same cut twice from"),
    "crosses itself": (
        made(OUTLINE, poly("CUT_INSIDE", (100, 100), (300, 300), (300, 100), (100, 300))),
        "CUT_INSIDE: crosses itself at (200.0000, 200.0000) mm",
    ),
    "arc through its neighbour": (
        made(OUTLINE, poly("CUT_INSIDE", (100, 100), (200, 100, 0.9), (140, 80), (100, 20))),
        "CUT_INSIDE: crosses itself at",
    ),
    "touches itself": (
        made(OUTLINE, poly("CUT_INSIDE", (100, 100), (200, 100), (200, 200), (150, 100), (100, 200))),
        "CUT_INSIDE: crosses itself at (150.0000, 100.0000) mm",
    ),
    "cuts cross": (made(OUTLINE, SINK, ring(300, 200, 9)), "CUT_INSIDE and DRILL: contours cross or touch at (300"),
    "through the edge": (made(OUTLINE, ring(600, 200, 9), high=(609, 400)), "CUT_OUTLINE and DRILL: contours cross or"),
    "touches the edge": (made(OUTLINE, ring(591, 200, 9)), "CUT_OUTLINE and DRILL: contours cross or touch at (600"),
    "outside": (made(OUTLINE, ring(700, 200, 9), high=(709, 400)), "DRILL: not inside CUT_OUTLINE at (709"),
    "beside a round end": (
        made(poly("CUT_OUTLINE", (0, 0), (500, 0, -0.3), (500, 400), (0, 400)), ring(485, 200, 5), high=(500, 400)),
        "DRILL: not inside CUT_OUTLINE at (490.0000, 200.0000) mm",
    ),
    "nameless": (made(OUTLINE, note=NOTE.replace("P1", "P2")), "NOTE: no text says that this is piece P1"),
    "unit unsaid": (made(OUTLINE, note=NOTE.replace("UNIT: MM", "UNIT: INCH")), 'NOTE: no text says "UNIT: MM"'),
    "size unsaid": (made(OUTLINE, note=text("P1") + text("UNIT: MM")), "NOTE: no text gives the overall size"),
    "size wrong": (
        made(OUTLINE, note=NOTE.replace("600 X", "605 X")),
        "NOTE: 'OVERALL 605 X 400 MM', where the outline measures 600.000 x 400.000 mm",
    ),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_is_told_with_layer_and_place(fault):
    data, told = FAULTS[fault]
    found = faults(data)
    assert any(told in f for f in found), found
    # a fault of one place is not told of everything
    assert len(found) <= (12 if "twice" in fault else 3), found


GAP = [*LOOSE[:3], line("CUT_OUTLINE", 0, 400, 0, 2e-9)]
LOOSE_FAULTS = {
    "gap": (GAP, "CUT_OUTLINE: open between (0.0000, 0.0000) mm and (0.0000, 0.0000) mm, 2e-09 mm apart"),
    "missing": (LOOSE[:3], "CUT_OUTLINE: open between"),
    "branch": ([*LOOSE, line("CUT_OUTLINE", 0, 0, 50, 50)], "more than two ends meet there"),
    "arc off": (
        [*LOOSE, line("CUT_INSIDE", 100, 100, 200, 100), arc("CUT_INSIDE", 150, 100, 50.001, 0, 180)],
        "CUT_INSIDE: open between",
    ),
    "twice": ([*LOOSE, LOOSE[0]], "CUT_OUTLINE: the same cut twice from"),
    "off z": ([*LOOSE[:3], LOOSE[3].replace("31\n0.0", "31\n0.5")], "CUT_OUTLINE: LINE off z = 0 (group 31 is 0.5)"),
}


@pytest.mark.parametrize("fault", LOOSE_FAULTS)
def test_lines_and_arcs_must_meet_exactly(fault):
    entities, told = LOOSE_FAULTS[fault]
    assert any(told in f for f in faults(made(*entities), "lines and arcs"))


def test_a_heavy_polyline_needs_its_end():
    corners = ((0, 0), (600, 0), (600, 400), (0, 400))
    assert faults(made(heavy("CUT_OUTLINE", *corners)), "heavy polylines") == ()
    assert faults(made(heavy("CUT_OUTLINE", *corners), version="AC1009")) == ()
    (fault,) = faults(made(heavy("CUT_OUTLINE", *corners, end=False)), "heavy polylines")
    assert "a POLYLINE on CUT_OUTLINE runs into TEXT without its SEQEND" in fault
    assert any("open between" in f for f in faults(made(heavy("CUT_OUTLINE", *corners, flags=0)), "heavy polylines"))


def test_a_pocket_may_run_out_at_an_edge_or_into_a_cutout():
    # a drainer's grooves run into the sink and another's over the front; the pocket beside touches neither
    grooves = poly("POCKET_ABOVE", (290, 200), (400, 200), (400, 210), (290, 210))
    over = poly("POCKET_ABOVE", (580, 150), (610, 150), (610, 200), (580, 200))
    plate = poly("POCKET_ABOVE", (500, 300), (550, 300), (550, 350), (500, 350))
    assert faults(made(OUTLINE, SINK, over, grooves, plate, high=(610, 400))) == ()
    # along an edge, and past all of them
    assert faults(made(OUTLINE, poly("POCKET_ABOVE", (0, 0), (600, 0), (600, 9), (0, 9)))) == ()
    whole = poly("POCKET_ABOVE", (-5, -5), (605, -5), (605, 405), (-5, 405))
    assert faults(made(OUTLINE, whole, low=(-5, -5), high=(605, 405))) == ()
    assert any("twice" in f for f in faults(made(OUTLINE, SINK, over, over, high=(610, 400))))
    (beside,) = faults(made(OUTLINE, poly("POCKET_ABOVE", (610, 9), (620, 9), (620, 19)), high=(620, 400)))
    assert beside == "POCKET_ABOVE: beside CUT_OUTLINE at (610.0000, 9.0000) mm, where there is no wood"


# --- a file of the underside -----------------------------------------------------------------------------------------

REFERENCE = [OUTLINE.replace("CUT_OUTLINE", "REFERENCE"), SINK.replace("CUT_INSIDE", "REFERENCE")]
TURNED = NOTE + text("SEEN FROM BELOW: FACE DOWN, TURNED OVER LEFT TO RIGHT")
# a fastener's pocket with its channel that runs out over the joint, and a ledge round the sink
CHANNEL = poly("POCKET_BELOW", (560, 190), (610, 190), (610, 210), (560, 210, 1.0))
LEDGE = poly("POCKET_BELOW", (90, 90), (310, 90), (310, 310), (90, 310))


def below(*entities, note=TURNED, layers=None, **header):
    return lint(
        made(*entities, note=note, **header),
        piece="P1",
        unit="mm",
        layers=layers or {},
        contours="polylines",
        face="below",
    )


def test_from_below_outline_and_openings_are_for_reference():
    assert below(*REFERENCE, CHANNEL, LEDGE, ring(450, 50, 2), high=(610, 400)) == ()
    # the order of what is for reference does not matter
    assert below(*reversed(REFERENCE), LEDGE) == ()


def test_from_below_layers_go_by_the_shops_names():
    shops = {"REFERENCE": "LOOK", "POCKET_BELOW": "T7", "CUT_OUTLINE": "OUTSIDE"}
    renamed = [e.replace("REFERENCE", "LOOK").replace("POCKET_BELOW", "T7") for e in (*REFERENCE, LEDGE)]
    assert below(*renamed, layers=shops) == ()
    assert any("REFERENCE: 0 contours" in f for f in below(*renamed))


BELOW_FAULTS = {
    "outline to cut": ((OUTLINE, LEDGE), TURNED, "CUT_OUTLINE: LWPOLYLINE on a layer that is none of the operations'"),
    "no outline": ((LEDGE,), TURNED, "REFERENCE: 0 contours"),
    "wrong face": ((*REFERENCE, LEDGE.replace("BELOW", "ABOVE")), TURNED, "POCKET_ABOVE: LWPOLYLINE on a layer"),
    "hole in an opening": ((*REFERENCE, ring(300, 200, 4)), TURNED, "DRILL and REFERENCE: contours cross or touch"),
    "hole beside": ((*REFERENCE, ring(700, 200, 4)), TURNED, "DRILL: not inside REFERENCE at"),
    "opening beside": (
        (REFERENCE[0], poly("REFERENCE", (700, 9), (710, 9), (710, 19))),
        TURNED,
        "REFERENCE: not inside REFERENCE at (700",
    ),
    "pocket beside": (
        (*REFERENCE, poly("POCKET_BELOW", (700, 9), (710, 9), (710, 19))),
        TURNED,
        "where there is no wood",
    ),
    "not said": ((*REFERENCE, LEDGE), NOTE, 'NOTE: no text says "SEEN FROM BELOW", and this is the file from below'),
}


@pytest.mark.parametrize("fault", BELOW_FAULTS)
def test_each_fault_of_a_file_from_below_is_told(fault):
    entities, note, told = BELOW_FAULTS[fault]
    found = below(*entities, note=note)
    assert any(told in f for f in found), found


def test_a_file_from_below_is_none_from_above():
    found = faults(made(*REFERENCE, LEDGE, note=TURNED))
    assert any(f.startswith("REFERENCE: LWPOLYLINE on a layer that is none") for f in found)
    assert any(f.startswith("POCKET_BELOW: LWPOLYLINE on a layer that is none") for f in found)
    assert any('a text says "SEEN FROM BELOW", and this is the file from above' in f for f in found)


def test_layers_go_by_the_shops_names():
    renamed = SOUND.replace(b"CUT_OUTLINE", b"OUTSIDE").replace(b"DRILL", b"T1")
    assert faults(renamed, layers={"CUT_OUTLINE": "OUTSIDE", "DRILL": "T1"}) == ()
    assert len(faults(renamed)) == 3


@example(b"\x1f 0" + SOUND[3:])
@example(b"9" * 5000 + SOUND[3:])
@given(st.binary(max_size=400))
def test_no_bytes_whatever_are_more_than_a_fault(data):
    assert faults(data)


@given(st.integers(0, len(SOUND) - 2), st.integers(0, 255))
def test_no_changed_byte_is_more_than_a_fault(at, byte):
    changed = SOUND[:at] + bytes([byte]) + SOUND[at + 1 :]
    assert all(isinstance(f, str) for f in faults(changed))


# --- strokes ---------------------------------------------------------------------------------------------------------


def test_a_bulge_is_the_arc_that_it_stands_for():
    for bulge, centre, radius in ((1.0, (0, 0), 5.0), (HALF, (0, 5), 50**0.5), (-HALF, (0, -5), 50**0.5)):
        of = Stroke.of_bulge("A", (-5.0, 0.0), (5.0, 0.0), bulge).arc
        assert (of.cx, of.cy) == pytest.approx(centre, abs=1e-12)
        assert of.radius == pytest.approx(radius)
        assert of.point(1.0) == pytest.approx((5.0, 0.0))
        assert of.sweep == pytest.approx(4 * math.atan(bulge))
    # the greater part of a circle: below the chord, its centre on the arc's side
    large = Stroke.of_bulge("A", (-5.0, 0.0), (5.0, 0.0), 2.0)
    assert large.box == pytest.approx((-6.25, -10.0, 6.25, 0.0))


def test_a_smooth_join_is_no_second_meeting():
    edge = Stroke.line("A", (0.0, 0.0), (100.0, 0.0))
    for radius in (5.0, 500.0, 5e6, 5e9):
        turn = Stroke.of_arc("A", Arc(100.0, radius, radius, -math.pi / 2, min(1.0, 300 / radius)))
        assert contact(edge, turn, neighbours=True) is None
    back = Stroke.of_arc("A", Arc(80.0, 20.0, math.hypot(20.0, 20.0), -math.pi / 4, -6.0))
    assert contact(edge, back, neighbours=True) == pytest.approx((60.0, 0.0))
    assert overlap(edge, Stroke.line("A", (50.0, 0.0), (150.0, 0.0))) == ((50.0, 0.0), (100.0, 0.0))
    assert overlap(edge, Stroke.line("A", (100.0, 0.0), (150.0, 0.0))) is None


# --- what the program writes -----------------------------------------------------------------------------------------


def all_faults(layout):
    of = layout.job
    return {
        p.id: found
        for p in layout.divided.pieces
        if p.id not in layout.stopped
        and (
            found := lint(cut_dxf(p, of), piece=p.id, unit=of.job.units, layers=of.cut.layers, contours=of.cut.contours)
        )
    }


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda p: p.stem)
def test_the_samples_cut_files_are_sound(sample):
    layout = lay_file(sample)
    for version, contours in VARIANTS:
        assert all_faults(layout.cut_as(version, contours)) == {}


@pytest.mark.parametrize("units", ["in", "mm"])
@pytest.mark.parametrize(("version", "contours"), VARIANTS)
def test_outlines_of_arcs_are_sound(version, contours, units):
    of = job(units)
    cut = of.cut.model_copy(update={"version": version, "contours": contours})
    for one in (LADEN, *(piece(r) for r in OUTLINES.values())):
        data = cut_dxf(one, of.model_copy(update={"cut": cut}))
        assert lint(data, piece="P1", unit=units, layers={}, contours=contours) == ()


@pytest.mark.sweep
@pytest.mark.parametrize("seed", range(60))
@pytest.mark.parametrize("make", [rooms.random_job, rooms.fuller_job])
def test_the_cut_files_of_random_rooms_are_sound(make, seed):
    layout = lay_text(make(seed))
    for contours in KINDS:
        assert all_faults(layout.cut_as(None, contours)) == {}


def test_a_file_of_sixty_segments_takes_no_time():
    corners = [(300 + 200 * math.cos(a), 200 + 150 * math.sin(a), 0.01) for a in (k * math.tau / 56 for k in range(56))]
    data = made(OUTLINE, poly("CUT_INSIDE", *corners))
    assert faults(data) == ()
    times = []
    for _ in range(7):
        began = perf_counter()
        faults(data)
        times.append(perf_counter() - began)
    # a tenth of this is usual; the machine may be busy
    assert min(times) < 0.02


# --- no file that is unsound is let out ------------------------------------------------------------------------------

BROKEN = {
    "writer's unit": (lambda data: data.replace(b"$INSUNITS\n 70\n1\n", b"$INSUNITS\n 70\n6\n"), "$INSUNITS is 6"),
    "writer's layer": (lambda data: data.replace(b"\nCUT_INSIDE\n", b"\nOTHER\n"), "OTHER: LWPOLYLINE on a layer"),
    "writer's flag": (lambda data: data.replace(b"90\n8\n 70\n1\n", b"90\n8\n 70\n0\n"), "open between"),
    "writer's note": (lambda data: data.replace(b"UNIT: INCH", b"UNIT: MM"), 'no text says "UNIT: INCH"'),
    "writer's end": (lambda data: data[:-20], "cannot be read"),
}


@pytest.fixture(scope="module")
def drawn():
    layout = lay_text(JOB)
    of = materials(layout)
    drawing = draw(layout, of)
    return layout, drawing, of, drawn_files(layout, drawing, of)[0]


@pytest.mark.parametrize("broken", BROKEN)
def test_an_unsound_cut_file_is_left_out_and_a_finding_says_why(broken, drawn, monkeypatch):
    spoil, told = BROKEN[broken]
    layout, drawing, of, sound = drawn
    first, second = layout.divided.pieces
    plain = writer.cut_dxf
    monkeypatch.setattr(writer, "cut_dxf", lambda p, *a: spoil(plain(p, *a)) if p is first else plain(p, *a))
    files, told_layout = drawn_files(layout, drawing, of)
    assert {n for n in sound if n not in files} == {f"cut/{first.id}.dxf"}
    assert files[f"cut/{second.id}.dxf"] == sound[f"cut/{second.id}.dxf"]
    found = told_layout.findings[-1]
    assert told_layout.findings[:-1] == layout.findings
    assert (found.code, found.severity, found.subject, found.pieces) == ("cut-file-unsound", "stop", "P1", ("P1",))
    assert told in found.message
    report = json.loads(files["report.json"])
    assert [f["code"] for f in report["findings"]][-1] == "cut-file-unsound"
    assert f"cut/{first.id}.dxf" not in {f["name"] for f in report["files"]}
    assert told_layout.stopped >= {"P1"}


def test_draw_tells_of_an_unsound_file_and_ends_with_1(tmp_path, monkeypatch):
    path = tmp_path / "j.toml"
    path.write_text(JOB)
    out = tmp_path / "out"
    plain = writer.cut_dxf
    monkeypatch.setattr(writer, "cut_dxf", lambda *a: plain(*a).replace(b"UNIT: INCH", b"UNIT: ELL"))
    result = run("draw", path, "--out", out)
    assert result.exit_code == 1
    assert "J-1: the cut file of P1 was not written: NOTE: no text says" in result.stderr
    assert "J-1: the cut file of P2 was not written" in result.stderr
    assert "0 cut files (2 pieces withheld: a stop finding)" in result.stdout
    assert "stop cut-file-unsound: P1" in result.stdout
    assert not (out / "J-1" / "cut").exists()


def test_a_contour_that_crosses_itself_never_reaches_the_machine(drawn, monkeypatch):
    layout, drawing, of, _ = drawn
    bow = Ring((Vertex(0, 0), Vertex(900, 600), Vertex(900, 0), Vertex(0, 600)))
    monkeypatch.setattr(type(layout.divided.pieces[0]), "cut_rings", lambda _: [bow])
    assert [n for n in drawn_files(layout, drawing, of)[0] if n.startswith("cut/")] == []


# --- R12 and kinds of contour, as asked for --------------------------------------------------------------------------


def test_r12_has_the_unit_in_its_names(drawn):
    layout = lay_text(JOB + '[cut]\nversion = "R12"\n')
    _, drawing, of, _ = drawn
    files, _ = drawn_files(layout, drawing, of)
    assert [n for n in files if n.startswith("cut/")] == ["cut/P1-in.dxf", "cut/P2-in.dxf", "cut/blanks-in.dxf"]
    first = layout.divided.pieces[0]
    assert cut_file(first, layout.cut_as("R2000", None).job) == "cut/P1.dxf"
    (metric,) = (lay_file(p) for p in SAMPLES if p.stem == "metric-kitchen")
    assert cut_file(metric.divided.pieces[0], metric.cut_as("R12", None).job) == "cut/P1-mm.dxf"


def test_draw_overrules_the_jobs_choice_and_removes_files_of_other_names(tmp_path):
    path = tmp_path / "j.toml"
    path.write_text(JOB + '[cut]\ncontours = "polylines"\n')
    cut = tmp_path / "out" / "J-1" / "cut"
    seen = {}
    for options in (["--r12"], ["--contours", "lines and arcs"]):
        assert run("draw", path, "--out", tmp_path / "out", *options).exit_code == 0
        stem = "P1-in.dxf" if options == ["--r12"] else "P1.dxf"
        assert [p.name for p in sorted(cut.iterdir())] == [stem, stem.replace("1", "2"), stem.replace("P1", "blanks")]
        data = (cut / stem).read_bytes()
        report = json.loads((cut.parent / "report.json").read_bytes())
        assert f"cut/{stem}" in {f["name"] for f in report["files"]}
        seen[" ".join(options)] = [
            w for w in (b"AC1009", b"AC1015", b"\nLWPOLYLINE\n", b"\nPOLYLINE\n", b"\nLINE\n") if w in data
        ]
    assert seen == {
        "--r12": [b"AC1009", b"\nPOLYLINE\n"],
        "--contours lines and arcs": [b"AC1015", b"\nLINE\n"],
    }
    result = run("draw", path, "--out", tmp_path / "out", "--contours", "splines")
    assert result.exit_code == 2
    assert "heavy polylines" in result.stderr


def test_r12_says_the_unit_once_and_where_readers_look():
    for units, codes in (("in", (b"     1", b"     0")), ("mm", (b"     4", b"     1"))):
        of = job(units)
        data = cut_dxf(piece(BAR), of.model_copy(update={"cut": of.cut.model_copy(update={"version": "R12"})}))
        lines = data.split(b"\n")
        assert lines[4:8] == [b"  9", b"$ACADVER", b"  1", b"AC1009"]
        assert lines[8:16] == [b"  9", b"$INSUNITS", b" 70", codes[0], b"  9", b"$MEASUREMENT", b" 70", codes[1]]
        assert data.count(b"$INSUNITS") == data.count(b"$MEASUREMENT") == 1
