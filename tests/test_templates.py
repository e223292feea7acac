"""Cutouts from a maker's template: where it lies, what comes along, its reveal, and everything that tells of it."""
# ruff: noqa: E501 (a drawing and its message stand whole, on one line)

import hashlib
import io
import json
import math
import os
import re

import ezdxf
import pyogrio
import pytest
import shapely
from raw_dxf import read as read_raw
from raw_dxf import ring_area
from test_cli import run

from layout.faults import JobError, PlaceError
from layout.files import packet_files
from layout.identity import digest_of
from layout.issued import altered
from layout.outline import Ring, Vertex, arc_of
from layout.pipeline import lay_file, lay_out, lay_text
from layout.reading import load, read_located
from layout.report import report
from layout.sheets import draw
from layout.writers.svg import svg_text

INCH = 25.4
QUARTER = math.tan(math.pi / 8)
JOB = """
[job]
title = "Fernside"
number = "F-299"
units = "{units}"
[field]
walls = "finished"
cabinets = "set"
[wood]
species = "hard maple"
thickness = "{thick}"
[[wall]]
name = "A"
length = "{wall}"
[[top]]
name = "run"
along = ["A"]
depth = "{depth}"
[[top]]
name = "island"
size = ["{wall}", "{deep}"]
at = ["0", "-{far}"]
[[cutout]]
name = "S1"
kind = "sink"
{place}
{keys}
"""
RUN = 'top = "run"\nwall = "A"\ncenter = "{}"\nsetback = "{}"'
ISLAND = 'top = "island"\ncenter = ["{}", "{}"]'


def job_text(keys='template = "sink.dxf"', units="mm", place=None):
    wall, depth, deep, far, thick = (
        ("2400", "640", "1000", "2500", "40") if units == "mm" else ("96", "25 1/2", "40", "99", "1 3/4")
    )
    place = place or (RUN.format("1000", "80") if units == "mm" else RUN.format("42", "4"))
    return JOB.format(keys=keys, units=units, place=place, wall=wall, depth=depth, deep=deep, far=far, thick=thick)


def bowl(w=700.0, h=400.0, r=60.0, x=0.0, y=0.0):
    """A rounded rectangle with bulges, its lower left corner at (x, y)."""
    return [
        (x + r, y, 0), (x + w - r, y, QUARTER), (x + w, y + r, 0), (x + w, y + h - r, QUARTER),
        (x + w - r, y + h, 0), (x + r, y + h, QUARTER), (x, y + h - r, 0), (x, y + r, QUARTER),
    ]  # fmt: skip


def write(path, build, units=4):
    doc = ezdxf.new("R2010")
    doc.header["$INSUNITS"], doc.header["$MEASUREMENT"] = units, int(units > 2)
    build(doc.modelspace())
    stream = io.StringIO()
    doc.write(stream)
    path.write_bytes(doc.encode(stream.getvalue()))
    return path


def sink(model, **size):
    model.add_lwpolyline(bowl(**size), format="xyb", close=True)


def sink_with_taps(model):
    sink(model, x=1000, y=2000)
    model.add_circle((1350, 2450), 17.5)  # behind the bowl, as up in the file is towards the back
    model.add_lwpolyline([(1500, 2430), (1540, 2430), (1540, 2450), (1500, 2450)], close=True)
    model.add_circle((1350, 2200), 45)  # the drain, inside the bowl
    model.add_line((1350, 1990), (1350, 2500))  # a centre line


def laid(tmp_path, keys='template = "sink.dxf"', build=sink, units="mm", insunits=4, place=None):
    write(tmp_path / "sink.dxf", build, insunits)
    path = tmp_path / "job.toml"
    path.write_text(job_text(keys, units, place))
    return lay_file(path)


def refused(tmp_path, keys='template = "sink.dxf"', build=sink, place=None):
    with pytest.raises(JobError) as error:
        laid(tmp_path, keys, build, place=place)
    return str(error.value)


def own_box(cut):
    return cut.ring.bounds(cut.leg.frame)


# --- where it lies -------------------------------------------------------------------------------------------------


def test_a_template_lies_as_a_size_would(tmp_path):
    """The same bowl given by size and radius lies in the same place with the same outline."""
    cut = laid(tmp_path).laid.cutouts[0]
    (other,) = lay_text(job_text('size = ["700", "400"]\nradius = "60"')).laid.cutouts
    assert cut.ring.bounds() == pytest.approx(other.ring.bounds())
    assert cut.ring.area == pytest.approx(other.ring.area) == pytest.approx(700 * 400 - (4 - math.pi) * 60**2)
    assert (cut.station, cut.setback, cut.radius) == pytest.approx((other.station, other.setback, other.radius))
    assert cut.size == pytest.approx(other.size)
    assert cut.hole == other.hole
    assert cut.center == pytest.approx(other.center)
    assert {v.side for v in cut.ring.vertices} == {"S1"}
    assert laid(tmp_path).job.cutout[0].proof == "template"


@pytest.mark.parametrize(
    ("units", "insunits", "scale"), [("in", 1, 1 / INCH), ("in", 4, 1.0), ("mm", 1, 1 / INCH), ("in", 2, 1 / INCH / 12)]
)
def test_a_template_in_any_unit_for_a_job_in_any(units, insunits, scale, tmp_path):
    def build(model):
        sink(model, w=700 * scale, h=400 * scale, r=60 * scale)

    cut = laid(tmp_path, build=build, units=units, insunits=insunits).laid.cutouts[0]
    assert cut.size == pytest.approx((700, 400))
    assert cut.template.units == {1: "in", 2: "ft", 4: "mm"}[insunits]


def test_up_in_the_file_is_towards_the_back_and_turn_turns_it(tmp_path):
    """An outline with one marked corner: front left in the file lies front left on the run, at any turn by rotation."""

    def marked(model):
        model.add_lwpolyline([(40, 0), (300, 0), (300, 200), (0, 200), (0, 40)], close=True)

    for turn in (0, 90, -30):
        cut = laid(tmp_path, f'template = "sink.dxf"\nturn = {turn}', marked).laid.cutouts[0]
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        local = [cut.leg.frame.from_plan(v.at) for v in cut.ring.vertices]
        for x, y in [(40, 0), (0, 40), (300, 200)]:
            u, v = x - 150, y - 100
            wanted = (1000 + c * u - s * v, cut.leg.front + 80 + 100 + s * u + c * v)
            assert min(math.dist(p, wanted) for p in local) < 1e-6
        # the wall runs left to right, so the back is +y of the leg
        assert cut.leg.back > cut.leg.front


def test_on_an_island_it_stands_about_its_own_point(tmp_path):
    cut = laid(tmp_path, place=ISLAND.format(1200, 400)).laid.cutouts[0]
    assert cut.center == pytest.approx((1200, 400 - 2500))
    assert own_box(cut) == pytest.approx((850, 200, 1550, 600))


def test_across_a_corner_it_stands_on_its_middle(tmp_path):
    text = job_text(place='top = "run"\ncorner = "A/B"\nsetback = "90"').replace(
        '[[top]]\nname = "run"\nalong = ["A"]',
        '[[wall]]\nname = "B"\nlength = "2400"\n[[top]]\nname = "run"\nalong = ["A", "B"]',
    )
    write(tmp_path / "sink.dxf", lambda m: sink(m, w=400, h=300))
    (tmp_path / "job.toml").write_text(text)
    cut = lay_file(tmp_path / "job.toml").laid.cutouts[0]
    assert own_box(cut)[0] == pytest.approx(-200)
    assert own_box(cut)[1] == pytest.approx(90)
    assert cut.corner == "A/B"


# --- what comes along ----------------------------------------------------------------------------------------------


def test_faucet_holes_come_along_as_cutouts_of_their_own(tmp_path):
    found = laid(tmp_path, build=sink_with_taps).laid.cutouts
    assert [(c.name, c.kind, c.parent, c.mount) for c in found] == [
        ("S1", "sink", None, None),
        ("S1-1", "hole", "S1", None),
        ("S1-2", "opening", "S1", None),
    ]
    main, tap, slot = found
    assert tap.diameter == pytest.approx(35)
    assert tap.hole
    assert slot.diameter is None
    local = main.leg.frame.from_plan(tap.center)
    front = main.leg.front + 80
    assert local == pytest.approx((1000, front + 450))
    assert own_box(slot) == pytest.approx((1000 + 150, front + 430, 1000 + 190, front + 450))
    assert found[0].template.notes == ("1 open line left out", "1 inside the outline left out: it is cut out with it")


def test_openings_turn_with_their_cutout(tmp_path):
    main, tap, _ = laid(tmp_path, 'template = "sink.dxf"\nturn = 180', sink_with_taps).laid.cutouts
    x, y = main.leg.frame.from_plan(tap.center)
    assert (x, y) == pytest.approx((1000, main.leg.front + 80 + 200 - 250))


def test_a_round_template_is_a_round_cutout(tmp_path):
    def two_arcs(model):
        model.add_arc((50, 50), 200, 0, 180)
        model.add_arc((50, 50), 200, 180, 0)

    found = laid(tmp_path, build=two_arcs)
    cut = found.laid.cutouts[0]
    assert cut.diameter == pytest.approx(400)
    assert not any(f.code == "corner-too-tight" and f.subject == "S1" for f in found.findings)
    raw = read_raw(packet_files(found)["cut/P1.dxf"])
    assert [e.number(40) for e in raw.of("CIRCLE", "CUT_INSIDE")] == [pytest.approx(200)]


# --- reveal --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("reveal", [3, -3, 60, 90])
def test_an_undermount_stands_off_its_bowl_by_the_reveal(reveal, tmp_path):
    keys = f'template = "sink.dxf"\nmount = "undermount"\nreveal = "{reveal}"'
    cut = laid(tmp_path, keys).laid.cutouts[0]
    w, h, r = 700 - 2 * reveal, 400 - 2 * reveal, max(60 - reveal, 0)
    assert cut.size == pytest.approx((w, h))
    assert cut.ring.area == pytest.approx(w * h - (4 - math.pi) * r**2)
    assert cut.radius == pytest.approx(r)
    # as with a size, the setback is to the cut's own front side
    assert own_box(cut)[1] == pytest.approx(cut.leg.front + 80)
    assert cut.setback == pytest.approx(80)


def test_a_drop_in_is_cut_to_its_template_whatever_its_reveal(tmp_path):
    cut = laid(tmp_path, 'template = "sink.dxf"\nmount = "drop-in"\nreveal = "3"').laid.cutouts[0]
    assert cut.size == pytest.approx((700, 400))


def test_a_reveal_that_leaves_nothing_is_refused(tmp_path):
    text = refused(tmp_path, 'template = "sink.dxf"\nmount = "undermount"\nreveal = "200"')
    assert 'cutout[1] "S1".reveal: found a reveal at which nothing would be left of the outline' in text
    assert 'reveal = "200"' in text


# --- everything that tells of it -----------------------------------------------------------------------------------


def test_the_report_names_file_digest_and_openings(tmp_path):
    out = report(laid(tmp_path, build=sink_with_taps))
    main, tap, slot = out["cutouts"]
    data = (tmp_path / "sink.dxf").read_bytes()
    assert main["template"]["file"] == "sink.dxf"
    assert main["template"]["sha256"] == hashlib.sha256(data).hexdigest()
    assert main["template"]["units"] == "mm"
    assert main["openings"] == ["S1-1", "S1-2"]
    assert (tap["parent"], slot["parent"]) == ("S1", "S1")
    assert "template" not in tap
    assert main["area"] == pytest.approx(700 * 400 - (4 - math.pi) * 60**2, abs=1e-3)
    assert main["piece"] == "P1"
    net = 700 * 400 - (4 - math.pi) * 60**2 + math.pi * 17.5**2 + 40 * 20
    top = out["tops"][0]
    assert top["gross_area"] - top["net_area"] == pytest.approx(net, abs=0.01)
    json.dumps(out)


def test_the_cut_file_has_the_template_and_its_holes(tmp_path):
    found = laid(
        tmp_path, 'template = "sink.dxf"\nmount = "undermount"\nreveal = "3"\n[cut]\nrelief = "none"', sink_with_taps
    )
    data = packet_files(found)["cut/P1.dxf"]
    raw = read_raw(data)
    inside = {round(ring_area(e.vertices())) for e in raw.of("LWPOLYLINE", "CUT_INSIDE")}
    assert inside == {round(694 * 394 - (4 - math.pi) * 57**2), 800}
    assert [e.number(40) for e in raw.of("CIRCLE", "DRILL")] == [pytest.approx(17.5)]
    path = tmp_path / "P1.dxf"
    path.write_bytes(data)
    pyogrio.set_gdal_config_options(
        {"OGR_ARC_STEPSIZE": "0.01", "OGR_ARC_MAX_GAP": "0", "DXF_CLOSED_LINE_AS_POLYGON": "YES"}
    )
    meta, _, shapes, columns = pyogrio.raw.read(path, layer="entities")
    layers = columns[list(meta["fields"]).index("Layer")]
    by_gdal = sorted(
        shapely.area(shapely.polygons(shapely.get_coordinates(g)))
        for layer, g in zip(layers, map(shapely.from_wkb, shapes), strict=True)
        if layer == "CUT_INSIDE"
    )
    assert by_gdal == pytest.approx([800, 694 * 394 - (4 - math.pi) * 57**2], rel=1e-4)


def test_sheets_say_the_template_instead_of_a_radius(tmp_path):
    found = laid(
        tmp_path, 'template = "sink.dxf"\nmount = "undermount"\nreveal = "3"\nmodel = "Mere 70"', sink_with_taps
    )
    drawing = draw(found)
    texts = re.sub(r"<[^>]+>", "\n", "".join(svg_text(s, drawing) for s in drawing.sheets))
    assert "S1 to template sink.dxf" in texts
    assert "to template sink.dxf" in texts.replace("S1 to template sink.dxf", "")
    assert "with S1" in texts
    words = " ".join(texts.split())
    assert "S1 is cut to template sink.dxf, 700 x 400 as drawn there in mm" in words
    assert "1 inside the outline left out" in words
    assert words.count("Mere 70") == 2  # once in the schedule, once among what others bring


def test_the_piece_is_dimensioned_by_the_bounding_box(tmp_path):
    """The running dimensions of the piece stand at the template's left and right sides and its front and back."""
    found = laid(tmp_path)
    piece = found.divided.pieces[0]
    x0, y0, x1, y1 = found.laid.cutouts[0].ring.bounds(piece.frame)
    drawing = draw(found)
    view = next(v for s in drawing.sheets for v in s.views if v.id == "piece-P1")
    features = [p for item in view.items if hasattr(item, "features") for p in item.features]
    for x in (x0, x1):
        assert any(abs(p[0] - x) < 1e-6 for p in features), x
    for y in (y0, y1):
        assert any(abs(p[1] - y) < 1e-6 for p in features), y


@pytest.mark.parametrize(("radius", "raised"), [(6.0, False), (5.9, True), (0.0, True)])
def test_corners_tighter_than_the_bit_are_asked_about(radius, raised, tmp_path):
    def build(model):
        if radius:
            sink(model, r=radius)
        else:
            model.add_lwpolyline([(0, 0), (700, 0), (700, 400), (0, 400)], close=True)

    found = laid(tmp_path, build=build).findings
    tight = [f for f in found if f.code == "corner-too-tight"]
    assert [f.value for f in tight] == ([pytest.approx(radius)] if raised else [])
    assert all("ask whether sink.dxf may have radius 6" in f.remedy for f in tight)


def test_a_curve_in_chords_has_no_corners_and_a_notch_outward_is_none(tmp_path):
    def build(model):
        points = [(300 * math.cos(k * math.pi / 36), 200 * math.sin(k * math.pi / 36)) for k in range(72)]
        model.add_lwpolyline(points, close=True)

    cut = laid(tmp_path, build=build).laid.cutouts[0]
    assert cut.radius == math.inf


def test_thin_wood_and_places_outside_are_found(tmp_path):
    codes = {(f.code, f.subject) for f in laid(tmp_path, place=RUN.format(1000, 20)).findings}
    assert ("web-too-thin", "S1") in codes
    codes = {(f.code, f.subject) for f in laid(tmp_path, place=RUN.format(200, 80)).findings}
    assert ("cutout-outside", "S1") in codes
    found = laid(tmp_path, build=lambda m: (sink(m), m.add_circle((350, 430), 17.5))).findings
    assert any(f.code == "web-too-thin" and "only 12.5 of wood is left between S1 and S1-1" in f.message for f in found)
    assert not any(f.code == "cutout-unproven" for f in found)


def test_the_same_job_and_template_make_the_same_bytes(tmp_path):
    keys = 'template = "sink.dxf"\nmount = "undermount"\nreveal = "-2"'
    first = packet_files(laid(tmp_path, keys, sink_with_taps))
    assert packet_files(lay_file(tmp_path / "job.toml")) == first


# --- keys ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ("", "found neither size nor diameter nor template; expected size, diameter or template, one of them"),
        ('template = "sink.dxf"\nsize = ["7", "4"]', "expected size, diameter or template, one of them"),
        ('template = "sink.dxf"\nradius = "7"', "expected no radius beside template"),
        ('size = ["700", "400"]\ntemplate_units = "mm"', "expected no template_units without a template"),
        ('diameter = "400"\ntemplate_layer = "CUT"', "expected no template_layer without a template"),
        ('template = "sink.dxf"\ntemplate_units = "cm"', 'expected "in" or "mm"'),
        ('template = "sink.dxf"\nmount = "apron"', "expected a size for an apron sink"),
        ('template = "../sink.dxf"', "expected the name of a file beside the job file"),
        ('template = "a/../../sink.dxf"', "expected the name of a file beside the job file"),
        ('template = "..\\\\sink.dxf"', "expected the name of a file beside the job file"),
        ('template = "/etc/sink.dxf"', "expected the name of a file beside the job file"),
        ('template = "C:sink.dxf"', "expected the name of a file beside the job file"),
        ('template = ""', "expected the name of a file beside the job file"),
        ('template = "other.dxf"', "in other.dxf no such file"),
        (
            'template = "sink.dxf"\ntemplate_layer = "RIM"',
            'in sink.dxf no layer "RIM"; expected a layer of the file: 0',
        ),
        ('template = "sink.dxf"\ntemplate_units = "in"', "a header that says millimetres"),
        ('templat = "sink.dxf"', '"template", the nearest known one'),
    ],
)
def test_slips_are_told_with_their_place(keys, message, tmp_path):
    text = refused(tmp_path, keys)
    assert message in text
    assert re.search(r"job\.toml:\d+:\d+: cutout\[1\]", text)


@pytest.mark.parametrize(
    ("build", "message"),
    [
        (lambda m: [m.add_line(*e) for e in [((0, 0), (99, 0)), ((99, 0), (99, 50)), ((99, 50), (0, 3))]], "an outline that is open by 3.00 mm between (0.000, 0.000) and (0.000, 3.000)"),
        (lambda m: m.add_line((0, 0), (99, 0)), "an outline that is open by 99.00 mm"),
        (lambda m: m.add_text("sink"), "no closed outline"),
        (lambda m: (sink(m), sink(m, x=350)), "two outlines that cross"),
        (lambda m: m.add_lwpolyline([(k, (k % 2) * 5 + (500 if k == 1999 else 0)) for k in range(2000)] + [(1999, 900), (0, 900)], close=True), "an outline of 2,002 vertices"),
        (lambda m: [sink(m), *[m.add_circle((k * 20, 500), 5) for k in range(51)]], "51 outlines beside the largest"),
    ],
)  # fmt: skip
def test_drawings_that_are_no_template_are_told_in_words(build, message, tmp_path):
    text = refused(tmp_path, build=build)
    assert 'cutout[1] "S1".template: found in sink.dxf ' in text
    assert message in text


def test_a_layer_picks_the_cut_line(tmp_path):
    def build(model):
        sink(model, w=800, h=500)
        model.add_lwpolyline(bowl(x=50, y=50), format="xyb", close=True, dxfattribs={"layer": "CUT"})

    assert laid(tmp_path, build=build).laid.cutouts[0].size == pytest.approx((800, 500))
    assert laid(tmp_path, 'template = "sink.dxf"\ntemplate_layer = "CUT"', build).laid.cutouts[0].size == pytest.approx(
        (700, 400)
    )


def test_units_beside_a_file_that_has_none(tmp_path):
    def build(model):
        sink(model, w=30, h=16, r=2)

    assert "no unit in its header" in _unitless(tmp_path, build, "")
    cut = _unitless(tmp_path, build, 'template_units = "in"')
    assert cut.size == pytest.approx((762, 406.4))


def _unitless(tmp_path, build, more):
    write(tmp_path / "sink.dxf", build, 0)
    (tmp_path / "job.toml").write_text(job_text(f'template = "sink.dxf"\n{more}'))
    try:
        return lay_file(tmp_path / "job.toml").laid.cutouts[0]
    except JobError as error:
        return str(error)


def test_a_link_out_of_the_folder_is_refused_one_within_is_followed(tmp_path):
    home, away = tmp_path / "home", tmp_path / "away"
    home.mkdir()
    away.mkdir()
    write(away / "real.dxf", sink)
    (home / "job.toml").write_text(job_text())
    (home / "sink.dxf").symlink_to(away / "real.dxf")
    with pytest.raises(JobError, match="a link that leads out of the job's folder"):
        lay_file(home / "job.toml")
    (home / "sink.dxf").unlink()
    write(home / "real.dxf", sink)
    (home / "sink.dxf").symlink_to("real.dxf")
    assert lay_file(home / "job.toml").laid.cutouts[0].size == pytest.approx((700, 400))
    (home / "sink.dxf").unlink()
    (home / "sink.dxf").symlink_to("sink.dxf")
    with pytest.raises(JobError, match=r"in sink\.dxf "):
        lay_file(home / "job.toml")
    (home / "sub").symlink_to(away)
    (home / "job.toml").write_text(job_text('template = "sub/real.dxf"'))
    with pytest.raises(JobError, match="a link that leads out of the job's folder"):
        lay_file(home / "job.toml")


def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "sink.dxf")
    (tmp_path / "job.toml").write_text(job_text())
    with pytest.raises(JobError, match="a folder or device"):
        lay_file(tmp_path / "job.toml")


def test_text_alone_has_no_folder_for_a_template():
    with pytest.raises(JobError) as error:
        load(job_text())
    text = 'cutout[1] "S1".template: found "sink.dxf"; expected a job read from a file: a template lies beside it'
    assert text in str(error.value)


def test_a_job_laid_out_without_its_templates_is_told_so(tmp_path):
    write(tmp_path / "sink.dxf", sink)
    (tmp_path / "job.toml").write_text(job_text())
    found = read_located(tmp_path / "job.toml")
    assert lay_out(found.job, found.templates).laid.cutouts[0].template is not None
    with pytest.raises(PlaceError, match=r"sink\.dxf, which was not read"):
        lay_out(found.job)


def test_the_names_of_openings_are_kept_free(tmp_path):
    keys = 'template = "sink.dxf"\n[[cutout]]\nname = "S1-2"\nkind = "hole"\ntop = "island"\ncenter = ["300", "300"]\ndiameter = "30"'
    text = refused(tmp_path, keys, sink_with_taps)
    assert 'cutout[2] "S1-2".name: found "S1-2", the name of an opening that the template of S1 brings' in text


def test_inside_corners_of_a_ring():
    """The side of the wood counts: an arc that bulges out of the cutout is a corner for the bit, one that bulges in is none."""
    from layout.cutouts import inside_radius  # noqa: PLC0415

    bulged = Ring((Vertex(0, 0), Vertex(100, 0, 0.1), Vertex(100, 100), Vertex(0, 100)))
    assert inside_radius(bulged) == 0.0
    pill = Ring((Vertex(0, 0), Vertex(100, 0, 1.0), Vertex(100, 40), Vertex(0, 40, 1.0)))
    assert inside_radius(pill) == pytest.approx(20)
    waist = [(0, 0, 0), (100, 0, 1.0), (100, 40, -0.2), (0, 40, 1.0)]
    ring = Ring(tuple(Vertex(*v) for v in waist))
    assert min(arc.radius for a, b in ring.edges() if (arc := arc_of(a, b))) == pytest.approx(20)
    assert inside_radius(ring) == 0.0  # where the waist meets the round ends there is a corner


def test_an_issue_holds_the_templates_so_that_its_job_can_be_laid_out_again(tmp_path):
    (tmp_path / "from the dealer" / "sinks").mkdir(parents=True)
    data = write(tmp_path / "from the dealer" / "sinks" / "sink.dxf", sink_with_taps).read_bytes()
    path = tmp_path / "job.toml"
    path.write_text(job_text('template = "from the dealer/sinks/sink.dxf"'))
    out = tmp_path / "out"
    assert run("issue", path, "--out", out).exit_code in (0, 1)
    issue = out / "F-299" / "issue-A"
    assert (issue / "from the dealer" / "sinks" / "sink.dxf").read_bytes() == data
    told = json.loads((issue / "issue.json").read_bytes())
    assert {f["name"]: f["sha256"] for f in told["files"]}["from the dealer/sinks/sink.dxf"] == hashlib.sha256(
        data
    ).hexdigest()
    # whatever became of the dealer's file, what was signed can be drawn
    (tmp_path / "from the dealer" / "sinks" / "sink.dxf").unlink()
    assert digest_of(lay_file(issue / "job.toml")) == told["digest"]
    # and a template that was changed there is an issue that was changed
    write(issue / "from the dealer" / "sinks" / "sink.dxf", sink)
    assert altered(issue, told) == ["from the dealer/sinks/sink.dxf"]
