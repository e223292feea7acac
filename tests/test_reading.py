"""Job files: what is read, what is filled in, and every kind of fault with its place."""
# ruff: noqa: E501 (a slip and its message stand whole, on one line)

import re
import typing
from fractions import Fraction
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from layout.faults import Fault, JobError, LayoutError
from layout.job import Job
from layout.job_tops import OutlineTop, RectTop, RunTop
from layout.reading import load, load_located, read
from layout.syntax import MOST_BYTES
from layout.units import INCH_MM, parse_length

SAMPLES = sorted((Path(__file__).resolve().parent.parent / "samples" / "jobs").glob("*.toml"))

FULL = """\
[job]
title = "Fernside cottage kitchen"
number = "F-204"
units = "in"
maker = ""
dealer = ""
customer = ""
site = ""
drawn_by = ""
date = 2026-03-14
revision = "A"
notes = ["Verify the corner on site"]

[field]
by = ""
date = 2026-03-09
walls = "finished"
cabinets = "set"

[wood]
species = "black walnut"
construction = "edge grain"
thickness = "1 3/4"
finish = "oil varnish"
edge = "eased"
boards = "full length"
sapwood = "in"

[shop]
max_length = "14'"
max_width = "48"
min_piece = "24"
seam_clear = "6"
opening_clear = "2"
web = { front = "3", back = "2", end = "4", between = "4", joint = "2", hole = "3/4" }
overhang_limit = "8"
support_span = "24"
wall_gap = "1/8"
corner_joint = "mitre"
tool_diameter = "1/2"

[sheet]
size = "ANSI B"
denominator = 16
feet = false

[cut]
contours = "polylines"
layers = {}

[site]
humidity = [40, 55]
temperature = "70 F"
door = ["32", "80"]
hall = ["36", "42"]
ceiling = "96"

[room]
closed = false

[[wall]]
name = "A"
length = "126 1/2"
corner = 90

[[wall]]
name = "B"
length = "98"
corner = ["36", "48", "60 1/8"]
bow = [["24", "1/8"], ["60", "3/16"]]

[[wall]]
name = "C"
length = "60"
corner = { open = "3/8", in = "24" }
open = true

[[window]]
name = "W1"
wall = "A"
at = "40"
width = "36"
sill = "42"

[[measure]]
from = "A start"
to = "B 25 1/2"
length = "158 3/4"

[[cabinet]]
wall = "A"
at = "0"
width = "36"
depth = "24"

[[top]]
name = "perimeter"
along = ["A", "B"]
depth = { A = "25 1/2", B = "30" }
depth_from = "wall"
start = "0"
end = "84"
left_end = "wall"
right_end = "exposed"
cabinet_depth = "24"
back_overhang = "0"
left_overhang = "0"
right_overhang = "1"
back = "straight"
splash = { A = "4", left = "4" }
splash_thickness = "3/4"
height = "36"
below = "cabinets"
seats = 0
corners = { "front right" = { radius = "2" } }

[[top]]
name = "island"
size = ["84", "40"]
overhang = { front = "1", back = "12", left = "1", right = "1" }
corners = { "back left" = { radius = "3" }, "back right" = { clip = ["3", "2"] } }
at = ["40", "-72"]
turn = 0

[[top]]
name = "bar"
outline = [["0","0"], ["60","0"], ["72","18"], ["0","18"]]
rise = { 1 = "4" }
corners = { 3 = { radius = "2" } }
grain = 0
support = [["1","1"], ["59","1"], ["70","17"], ["1","17"]]

[[appliance]]
kind = "range"
top = "perimeter"
wall = "A"
at = "80"
width = "30 1/8"
breaks = true
fit = "slide-in"
top_height = ["35 3/4", "36 1/2"]
model = ""

[[cutout]]
name = "S1"
kind = "sink"
mount = "undermount"
top = "perimeter"
wall = "B"
center = "42"
setback = "4"
size = ["30", "16"]
radius = "3/4"
turn = 0
reveal = "1/8"
model = ""
proof = "spec sheet"

[[cutout]]
name = "H1"
kind = "hole"
top = "perimeter"
wall = "A"
center = "window W1"
setback = "20"
diameter = "1 3/8"

[[cutout]]
name = "C1"
kind = "cooktop"
top = "island"
center = ["42", "20"]
size = ["30", "20"]

[[joint]]
top = "perimeter"
corner = "A/B"
kind = "short mitre"
through = "A"
length = "2"

[[joint]]
top = "perimeter"
wall = "A"
at = "40"

[[joint]]
top = "island"
at = "42"

[[support]]
top = "island"
kind = "bracket"
center = ["42", "34"]
size = ["2", "10"]

[[support]]
top = "perimeter"
kind = "post"
wall = "B"
center = "80"
setback = "3"
size = ["2", "2"]
from = "right"

[[edge]]
top = "island"
side = "back"
profile = "roundover 1/2"

[[edge]]
top = "perimeter"
side = "B front"
profile = "bevel 6 mm"

[[edge]]
top = "bar"
side = 2
profile = "ogee"
"""

SMALL = """\
[job]
title = "Small"
number = "1"
units = "mm"
[wood]
species = "hard maple"
thickness = 40
[[wall]]
name = "A"
length = 3000
[[top]]
name = "T"
along = ["A"]
depth = 640
"""


def faults_of(text: str, name: str = "job.toml") -> tuple[Fault, ...]:
    with pytest.raises(JobError) as caught:
        load(text, name)
    assert isinstance(caught.value, LayoutError)
    assert isinstance(caught.value, ValueError)
    return caught.value.faults


def inches(text: str) -> Fraction:
    return parse_length(text, "in").mm


# --- what is read --------------------------------------------------------------------------------------------------


def test_the_whole_format_is_read() -> None:
    job = load(FULL)
    assert job.wood.species == "black_walnut"
    assert job.shop.max_length.mm == 168 * INCH_MM
    assert job.site.humidity == (40.0, 55.0)
    assert [wall.length.mm for wall in job.wall] == [inches("126 1/2"), inches("98"), inches("60")]
    assert job.wall[0].corner == 90.0
    assert job.window[0].from_ == "left"
    run, island, bar = job.top
    assert isinstance(run, RunTop)
    assert isinstance(run.depth, dict)
    assert run.depth["B"].mm == inches("30")
    assert isinstance(island, RectTop)
    assert island.corners["back right"].clip is not None
    assert isinstance(bar, OutlineTop)
    assert bar.rise["1"].mm == inches("4")
    assert job.cutout[1].center == "window W1"
    assert isinstance(job.cutout[2].center, tuple)
    assert job.support[1].from_ == "right"
    assert job.edge[2].side == "2"


def test_lengths_are_exact() -> None:
    job = load(SMALL.replace("length = 3000", "length = 3000.1"))
    assert job.wall[0].length.mm == Fraction("3000.1")


def test_a_bom_and_windows_line_ends_change_nothing() -> None:
    assert load("\ufeff" + FULL.replace("\n", "\r\n")) == load(FULL)


def test_defaults_follow_the_unit() -> None:
    job = load(SMALL)
    shop = job.shop
    assert [float(shop.max_length), float(shop.wall_gap), float(shop.web.hole)] == [4200, 3, 20]
    assert job.sheet.size == "A3"
    assert isinstance(job.top[0], RunTop)
    assert float(job.top[0].cabinet_depth) == 580
    assert float(job.top[0].splash_thickness) == 20
    in_inches = load(SMALL.replace('"mm"', '"in"').replace("3000", "120").replace("640", "25").replace("40\n", "1.5\n"))
    assert in_inches.shop.max_length.mm == 168 * INCH_MM
    assert in_inches.shop.web.front.mm == 3 * INCH_MM
    assert in_inches.sheet.size == "ANSI B"
    assert isinstance(in_inches.top[0], RunTop)
    assert in_inches.top[0].cabinet_depth.mm == 24 * INCH_MM


def test_what_is_typed_wins_over_a_default() -> None:
    job = load(SMALL + '[shop]\nmax_length = 3000\nweb = { front = 60 }\n[sheet]\nsize = "A4"\n')
    assert [float(job.shop.max_length), float(job.shop.web.front), float(job.shop.web.back)] == [3000, 60, 50]
    assert job.sheet.size == "A4"


CUTOUT = '[[cutout]]\nname = "S"\nkind = "sink"\ntop = "T"\nwall = "A"\ncenter = 1500\n'


@pytest.mark.parametrize(
    ("size", "radius"), [("size = [700, 400]", 10), ("size = [700, 15]", 7.5), ("diameter = 400", None)]
)
@pytest.mark.parametrize("mount", ["", 'mount = "undermount"\n'])
def test_radius_of_inside_corners(size: str, radius: float | None, mount: str) -> None:
    cut = load(f"{SMALL}{CUTOUT}{mount}setback = 80\n{size}\n").cutout[0]
    assert (cut.radius and float(cut.radius)) == radius


def test_keys_of_a_template(tmp_path: Path) -> None:
    doc = ezdxf.new("R2000")
    doc.header["$INSUNITS"] = 0
    doc.modelspace().add_lwpolyline([(0, 0), (30, 0), (30, 16)], close=True, dxfattribs={"layer": "BOWL"})
    (tmp_path / "makers").mkdir()
    doc.saveas(tmp_path / "makers" / "sink.dxf")
    keys = 'setback = 80\ntemplate = "makers/sink.dxf"\ntemplate_units = "in"\ntemplate_layer = "BOWL"\n'
    path = tmp_path / "job.toml"
    path.write_text(SMALL + CUTOUT + keys)
    cut = read(path).cutout[0]
    assert (cut.template, cut.template_units, cut.template_layer) == ("makers/sink.dxf", "in", "BOWL")
    assert (cut.size, cut.diameter, cut.radius, cut.proof) == (None, None, None, "template")
    path.write_text(SMALL + CUTOUT + keys + 'proof = "sketch"\n')
    assert read(path).cutout[0].proof == "sketch"


def test_an_apron_sink_needs_no_setback() -> None:
    cut = load(f'{SMALL}{CUTOUT}mount = "apron"\nsize = [700, 400]\n').cutout[0]
    assert cut.setback is not None
    assert float(cut.setback) == 0
    assert cut.radius is not None
    assert float(cut.radius) == 10


def test_a_range_breaks_and_a_dishwasher_does_not_unless_said() -> None:
    appliance = '[[appliance]]\nkind = "{}"\ntop = "T"\nwall = "A"\nat = {}\nwidth = 600\n{}'
    text = SMALL + appliance.format("range", 0, "") + appliance.format("dishwasher", 700, "")
    text += appliance.format("refrigerator", 1400, "breaks = false\n") + appliance.format("wall oven", 2100, "")
    assert [item.breaks for item in load(text).appliance] == [True, False, False, False]


def test_a_short_mitre_without_a_length_keeps_none() -> None:
    assert load(FULL.replace('length = "2"\n', "")).joint[0].length is None
    by_shop = FULL.replace('kind = "short mitre"\n', "").replace('"mitre"', '"short mitre"')
    assert load(by_shop).joint[0].length is not None


def test_profiles_are_read_in_any_case() -> None:
    job = load(FULL.replace('"roundover 1/2"', '"Roundover  1/2"').replace('edge = "eased"', 'edge = "EASED"'))
    assert (job.wood.edge, job.edge[0].profile) == ("eased", "roundover 1/2")


def test_a_closed_room_goes_round() -> None:
    assert load(ROUND).top[0].name == "T"
    assert said(ROUND.replace("closed = true", "closed = false"))[0].startswith('top[1] "T".along[2]: found "A"')


# --- one fault at a time -------------------------------------------------------------------------------------------

WALLS = "".join(f'[[wall]]\nname = "{name}"\nlength = 3000\n' for name in "ABCD")
HEAD = SMALL[: SMALL.index("[[wall]]")]
ROUND = HEAD + "[room]\nclosed = true\n" + WALLS + '[[top]]\nname = "T"\nalong = ["D", "A"]\ndepth = 640\n'


def said(text: str) -> list[str]:
    """Return each fault as label: found; expected."""
    return [f"{fault.label}: found {fault.found}; expected {fault.expected}" for fault in faults_of(text)]


LENGTH_IN = 'a length such as 25.5, "25 1/2" or "648 mm"'
ONE_FAULT = [
    # values
    ('length = "98"', 'length = "98 1/"', f'wall[2] "B".length: found "98 1/", which cannot be read as a tape; expected {LENGTH_IN}'),
    ('length = "98"', "length = 0", f'wall[2] "B".length: found 0, which is not more than zero; expected {LENGTH_IN}'),
    ('length = "98"', "length = nan", f'wall[2] "B".length: found nan, which is not a finite number; expected {LENGTH_IN}'),
    ('length = "98"', "length = true", f'wall[2] "B".length: found true, which is not a length; expected {LENGTH_IN}'),
    ('length = "98"', "length = 1e99999999999999999999", f'wall[2] "B".length: found 1e99999999999999999999, which is not a finite number; expected {LENGTH_IN}'),
    ('length = "98"', "length = 2e9", f'wall[2] "B".length: found 2e9, which is beyond 1,000 ft, longer than any room; expected {LENGTH_IN}'),
    ('length = "98"\n', "", f'wall[2] "B".length: found nothing; expected {LENGTH_IN}'),
    ('front = "3"', 'front = "-3"', f'shop.web.front: found "-3", which is negative; expected {LENGTH_IN}'),
    ('["36", "48", "60 1/8"]', "400", 'wall[2] "B".corner: found 400; expected an inside angle between 10 and 350 degrees'),
    ('["36", "48", "60 1/8"]', '"90"', 'wall[2] "B".corner: found "90"; expected an inside angle between 10 and 350 degrees'),
    ('["36", "48", "60 1/8"]', '["36", "48"]', 'wall[2] "B".corner: found ["36", "48"]; expected three lengths such as ["36", "48", "60 1/8"]'),
    ('["36", "48", "60 1/8"]', '["36", "48", "95"]', 'wall[2] "B".corner: found ["36", "48", "95"]; expected a diagonal between the difference and the sum of the other two'),
    ('["60", "3/16"]]', '["20", "3/16"]]', 'wall[2] "B".bow: found [["24", "1/8"], ["20", "3/16"]]; expected [station, depth] pairs whose stations rise along the wall'),
    ('["60", "3/16"]]', '["99", "3/16"]]', 'wall[2] "B".length: found bow = [["24", "1/8"], ["99", "3/16"]] and length = "98"; expected stations on the wall'),
    ('number = "F-204"', 'number = "../x"', 'job.number: found "../x"; expected a job number of letters, digits, -, _ and . (not first), 40 at most'),
    ('number = "F-204"', f'number = "{"x" * 41}"', f'job.number: found "{"x" * 41}"; expected a job number of letters, digits, -, _ and . (not first), 40 at most'),
    ('"Fernside cottage kitchen"', '"  "', 'job.title: found " "; expected text that is not empty'),
    ('"Fernside cottage kitchen"', '"a\\u001bb"', 'job.title: found "a\\u001bb"; expected one line of text without control characters'),
    ('"Fernside cottage kitchen"', "7", "job.title: found 7; expected text in quotes"),
    ('date = 2026-03-14', 'date = "14 March"', 'job.date: found "14 March"; expected a date such as 2026-03-14'),
    ('notes = ["Verify the corner on site"]', 'notes = "x"', 'job.notes: found "x"; expected a list in [ ], each text in quotes'),
    ('"edge grain"', '"edge"', 'wood.construction: found "edge"; expected "face grain", "edge grain" or "end grain"'),
    ("denominator = 16", "denominator = 12", "sheet.denominator: found 12; expected 1, 2, 4, 8, 16, 32 or 64"),
    ("denominator = 16", "denominator = true", "sheet.denominator: found true; expected a whole number"),
    ("feet = false", 'feet = "no"', 'sheet.feet: found "no"; expected true or false'),
    ("humidity = [40, 55]", "humidity = [55, 40]", "site.humidity: found [55, 40]; expected [low, high]"),
    ("humidity = [40, 55]", "humidity = [40, 155]", "site.humidity[2]: found 155; expected a relative humidity from 1 to 99 %"),
    ('"70 F"', '"70"', 'site.temperature: found "70"; expected a temperature with its scale, such as "70 F" or "21 C"'),
    ("layers = {}", 'layers = { FOO = "x" }', 'cut.layers.FOO: found "FOO"; expected "CUT_OUTLINE", "CUT_INSIDE", "DRILL", "POCKET_ABOVE", "POCKET_BELOW", "REFERENCE" or "NOTE"'),
    ("layers = {}", 'layers = { NOTE = "a b" }', 'cut.layers.NOTE: found "a b"; expected a layer name of letters, digits, - and _, 31 at most'),
    ("layers = {}", 'layers = { NOTE = "drill" }', 'cut.layers: found { NOTE = "drill" }; expected a layer name of its own for each operation'),
    ("seats = 0", "seats = -1", 'top[1] "perimeter".seats: found -1; expected a whole number from 0 to 100'),
    ("seats = 0", "seats = 1.0", 'top[1] "perimeter".seats: found 1.0; expected a whole number'),
    ('size = ["84", "40"]', 'size = ["84"]', 'top[2] "island".size: found ["84"]; expected two lengths such as ["36", "48"]'),
    ('size = ["84", "40"]', 'size = "84"', 'top[2] "island".size: found "84"; expected two lengths such as ["36", "48"]'),
    ('turn = 0\n\n', "turn = 400\n\n", 'top[2] "island".turn: found 400; expected an angle in degrees, a full turn at most'),
    # keys
    ('maker = ""', 'makr = ""', 'job.makr: found an unknown key; expected "maker", the nearest known one'),
    ('corner = 90', 'cornr = 90', 'wall[1] "A".cornr: found an unknown key; expected "corner", the nearest known one'),
    ('corner = 90', 'zzz = 90', 'wall[1] "A".zzz: found an unknown key; expected "name", "length", "corner", "bow" or "open"'),
    ('in = "24"', 'in_ = "24"', 'wall[3] "C".corner.in_: found an unknown key; expected "in", the nearest known one'),
    ('from = "A start"', 'from_ = "A start"', 'measure[1].from_: found an unknown key; expected "from", the nearest known one'),
    ('thickness = "1 3/4"', 'thicknes = "1 3/4"', 'wood.thicknes: found an unknown key; expected "thickness", the nearest known one'),
    ('diameter = "1 3/8"', 'diametr = "1 3/8"', 'cutout[2] "H1".diametr: found an unknown key; expected "diameter", the nearest known one'),
    ('setback = "20"', 'setbak = "20"', 'cutout[2] "H1".setbak: found an unknown key; expected "setback", the nearest known one'),
    ('hole = "3/4"', 'hol = "3/4"', 'shop.web.hol: found an unknown key; expected "hole", the nearest known one'),
    ('back = "straight"', 'insid = 3', 'top[1] "perimeter".insid: found an unknown key; expected "inside", the nearest known one'),
    ("[field]", "[feild]", 'feild: found an unknown table; expected "field", the nearest known one'),
    ("[[edge]]\ntop = \"bar\"", "[[egde]]\ntop = \"bar\"", 'egde: found an unknown table; expected "edge", the nearest known one'),
    # tables
    ("[[window]]", "[window]", "window: found [window]; expected [[window]], two brackets, once for each window"),
    ("[room]", "[[room]]", "room: found [[room]]; expected [room], one bracket, once"),
    # shapes of a top
    ('along = ["A", "B"]', "", 'top[1] "perimeter": found no key that says its shape; expected one: a top needs along (a run), size or base (a rectangle) or outline (any shape)'),
    ("turn = 0\n\n", 'along = ["A"]\n\n', 'top[2] "island".along: found size = ["84", "40"] and along = ["A"]; expected one shape: a top needs along (a run), size or base (a rectangle) or outline (any shape)'),
    ("turn = 0\n\n", 'base = ["82", "27"]\n\n', 'top[2] "island".base: found size = ["84", "40"] and base = ["82", "27"]; expected size or base, one of them'),
    ("turn = 0\n\n", "grain = 0\n\n", 'top[2] "island".grain: found a key of an outline; expected a key of this top, which is a rectangle (it has size or base)'),
    ("grain = 0", "depth = 25", 'top[3] "bar".depth: found a key of a run; expected a key of this top, which is an outline (it has outline)'),
    ("right_overhang", "turn", 'top[1] "perimeter".turn: found a key of a rectangle and an outline; expected a key of this top, which is a run (it has along)'),
    # wood
    ('"black walnut"', '"maple"', 'wood.species: found "maple"; expected "hard maple" or "soft maple"'),
    ('"black walnut"', '"blak walnut"', 'wood.species: found "blak walnut"; expected "black walnut"'),
    ('edge = "eased"', 'edge = "easd"', 'wood.edge: found "easd"; expected "eased", with a size after it or not'),
    ('"ogee"', '"zzz"', 'edge[3].profile: found "zzz"; expected a profile: "eased", "roundover", "bevel", "cove", "ogee", "bullnose" or "square"'),
    ('"ogee"', '"ogee big"', 'edge[3].profile: found "ogee big"; expected "ogee" alone or with a length, as in "ogee 1/2 in" or "ogee 12 mm"'),
    ('"ogee"', '"ogee -1"', 'edge[3].profile: found "ogee -1"; expected "ogee" alone or with a length, as in "ogee 1/2 in" or "ogee 12 mm"'),
    # names
    ('name = "C"', 'name = "A"', 'wall[3] "A".name: found "A", the name of wall[1] too; expected a name of its own'),
    ('name = "H1"', 'name = "S1"', 'cutout[2] "S1".name: found "S1", the name of cutout[1] too; expected a name of its own'),
    # along
    ('along = ["A", "B"]', 'along = ["B", "A"]', 'top[1] "perimeter".along[2]: found "A"; expected consecutive walls, left to right: after "B" comes "C"'),
    (', B = "30" }', " }", 'top[1] "perimeter".depth.B: found nothing; expected the depth along wall "B"'),
    ('B = "30" }', 'B = "30", C = "30" }', 'top[1] "perimeter".depth.C: found "C"; expected a side of this run: "A" or "B"'),
    ('left = "4" }', 'front = "4" }', 'top[1] "perimeter".splash.front: found "front"; expected a side of this run: "A", "B", "left" or "right"'),
    ('start = "0"', 'start = "126 1/2"', 'top[1] "perimeter".start: found "126 1/2"; expected a station on wall "A", which is "126 1/2" long'),
    ('start = "0"', 'start = -1', 'top[1] "perimeter".start: found -1; expected a station on wall "A", which is "126 1/2" long'),
    ('end = "84"', 'end = "98 1/16"', 'top[1] "perimeter".end: found "98 1/16"; expected a station on wall "B", which is "98" long'),
    ('"front right" = {', '"front left" = {', 'top[1] "perimeter".corners."front left": found "front left" at an end of kind "wall"; expected corners at exposed ends only'),
    ('"front right" = { radius = "2" }', '"front right" = {}', 'top[1] "perimeter".corners."front right".radius: found neither radius nor clip; expected radius or clip, one of them'),
    ('"front right" = { radius = "2" }', '"front right" = { radius = 2, clip = 3 }', 'top[1] "perimeter".corners."front right".clip: found radius = 2 and clip = 3; expected radius or clip, one of them'),
    # windows, cabinets, measures
    ('wall = "A"\nat = "40"\nwidth = "36"\nsill', 'wall = "Z"\nat = "40"\nwidth = "36"\nsill', 'window[1] "W1".wall: found "Z"; expected a wall of this job: "A", "B" or "C"'),
    ('at = "40"\nwidth = "36"\nsill', 'at = "100"\nwidth = "36"\nsill', 'window[1] "W1".width: found "36"; expected a right side that is still on wall "A", which is "126 1/2" long'),
    ('at = "40"\nwidth = "36"\nsill', 'at = "-1"\nwidth = "36"\nsill', 'window[1] "W1".at: found "-1"; expected a station on wall "A", which is "126 1/2" long'),
    ('at = "40"\nwidth = "36"\nsill', 'from = "right"\nat = "35"\nwidth = "36"\nsill', 'window[1] "W1".width: found "36"; expected a right side that is still on wall "A", which is "126 1/2" long'),
    ('wall = "A"\nat = "0"', 'wall = "A"\nat = "100"', 'cabinet[1].width: found "36"; expected a right side that is still on wall "A", which is "126 1/2" long'),
    ('"A start"', '"A begin"', 'measure[1].from: found "A begin"; expected a wall with start, end or a station, such as "A start" or "A 25.5"'),
    ('"A start"', '"A"', 'measure[1].from: found "A"; expected a wall with start, end or a station, such as "A start" or "A 25.5"'),
    ('"A start"', '"Q start"', 'measure[1].from: found "Q start"; expected a wall of this job: "A", "B" or "C"'),
    ('"B 25 1/2"', '"B 99"', 'measure[1].to: found "B 99"; expected a station on wall "B", which is "98" long'),
    # outlines
    ('outline = [["0","0"], ["60","0"], ["72","18"], ["0","18"]]', 'outline = [["0","18"], ["72","18"], ["60","0"], ["0","0"]]', 'top[3] "bar".outline: found points listed clockwise; expected the points counter-clockwise'),
    ('["72","18"], ["0","18"]]', '["0","18"], ["72","18"]]', 'top[3] "bar".outline[4]: found edges 2 and 4 that cross or touch; expected an outline that does not meet itself, its points in order'),
    ('["72","18"], ["0","18"]]', '["0","18"], ["0","0"]]', 'top[3] "bar".outline[4]: found ["0","0"]; expected no closing point: the last one joins the first'),
    ('["72","18"], ["0","18"]]', '["60","0 in"], ["0","18"]]', 'top[3] "bar".outline[3]: found ["60","0 in"]; expected a point apart from the one before'),
    ('["72","18"], ["0","18"]]', '["30","0"]]', 'top[3] "bar".outline[3]: found edges 1 and 3 that cross or touch; expected an outline that does not meet itself, its points in order'),
    ('["70","17"], ["1","17"]]', '["1","17"], ["70","17"]]', 'top[3] "bar".support[4]: found edges 2 and 4 that cross or touch; expected an outline that does not meet itself, its points in order'),
    ('support = [["1","1"], ["59","1"], ["70","17"], ["1","17"]]', 'support = [["1","1"], ["59","1"]]', 'top[3] "bar".support: found [["1","1"], ["59","1"]]; expected a list in [ ], each two lengths such as ["36", "48"]'),
    ('rise = { 1 = "4" }', 'rise = { 5 = "4" }', 'top[3] "bar".rise.5: found "5"; expected the number of an edge, 1 to 4'),
    ('rise = { 1 = "4" }', 'rise = { 01 = "4" }', 'top[3] "bar".rise.01: found "01"; expected the number of an edge, 1 to 4'),
    ('rise = { 1 = "4" }', 'rise = { 1 = "30 1/64" }', 'top[3] "bar".rise.1: found "30 1/64"; expected at most half of the edge, 30"'),
    ('rise = { 1 = "4" }', 'rise = { 1 = "-31" }', 'top[3] "bar".rise.1: found "-31"; expected at most half of the edge, 30"'),
    ('rise = { 1 = "4" }', 'rise = { 1 = 0 }', 'top[3] "bar".rise.1: found 0; expected a rise, or nothing for a straight edge'),
    ("corners = { 3 =", "corners = { 0 =", 'top[3] "bar".corners.0: found "0"; expected the number of a point, 1 to 4'),
    # rectangles
    ('{ clip = ["3", "2"] }', '{ clip = ["81 1/2", "2"] }', 'top[2] "island".corners."back right": found { clip = ["81 1/2", "2"] }; expected corners that fit the back side, 84" long'),
    ('"back left" = { radius = "3" }', '"back left" = { radius = "40 1/8" }', 'top[2] "island".corners."back left": found { radius = "40 1/8" }; expected corners that fit the left side, 40" long'),
    ('back = "12"', 'back = "39"', 'top[2] "island".overhang: found { front = "1", back = "39", left = "1", right = "1" }; expected overhangs that leave some of the size to stand on'),
    ('size = ["84", "40"]', 'base = ["3", "27"]', 'top[2] "island".corners."back left": found { radius = "3" }; expected corners that fit the back side, 5" long'),
    # appliances
    ('kind = "range"', 'kind = "rnage"', 'appliance[1].kind: found "rnage"; expected "range"'),
    ('["35 3/4", "36 1/2"]', '["36 1/2", "35 3/4"]', 'appliance[1].top_height: found ["36 1/2", "35 3/4"]; expected [low, high]'),
    ('kind = "range"\ntop = "perimeter"', 'kind = "range"\ntop = "island"', 'appliance[1].top: found "island"; expected a run along walls: an appliance stands in one'),
    ('kind = "range"\ntop = "perimeter"', 'kind = "range"\ntop = "perimetr"', 'appliance[1].top: found "perimetr"; expected a top of this job: "bar", "island" or "perimeter"'),
    ('wall = "A"\nat = "80"', 'wall = "C"\nat = "3"', 'appliance[1].wall: found "C"; expected a wall of top "perimeter": "A" or "B"'),
    ('wall = "A"\nat = "80"', 'wall = "A"\nat = "100"', 'appliance[1].width: found "30 1/8"; expected a right side that is still on wall "A", which is "126 1/2" long'),
    ('wall = "A"\nat = "80"', 'at = "80"', "appliance[1].wall: found nothing; expected text in quotes"),
    # cutouts and supports
    ('kind = "sink"', 'kind = "sinks"', 'cutout[1] "S1".kind: found "sinks"; expected "sink"'),
    ('kind = "sink"', 'kind = "basin"', 'cutout[1] "S1".mount: found mount = "undermount"; expected no mount, which is for kind = "sink" alone'),
    ('radius = "3/4"', 'radius = "9"', 'cutout[1] "S1".size: found radius = "9" and size = ["30", "16"]; expected a radius of at most half the shorter side'),
    ('radius = "3/4"', 'diameter = "9"', 'cutout[1] "S1".diameter: found size = ["30", "16"] and diameter = "9"; expected size, diameter or template, one of them'),
    ('diameter = "1 3/8"', 'diameter = "1 3/8"\nradius = 1', 'cutout[2] "H1".radius: found radius = 1; expected no radius beside diameter'),
    ('diameter = "1 3/8"', "", 'cutout[2] "H1".size: found neither size nor diameter nor template; expected size, diameter or template, one of them'),
    ('mount = "undermount"', 'mount = "apron"', 'cutout[1] "S1".setback: found "4"; expected 0, or nothing: an apron sink opens the front edge'),
    ('setback = "4"\n', "", 'cutout[1] "S1".setback: found nothing; expected how far its front side lies from the front edge'),
    ('wall = "B"\ncenter = "42"', 'center = "42"', 'cutout[1] "S1".wall: found nothing; expected the wall it stands along: "A" or "B"'),
    ('wall = "B"\ncenter = "42"', 'wall = "C"\ncenter = "42"', 'cutout[1] "S1".wall: found "C"; expected a wall of top "perimeter": "A" or "B"'),
    ('center = "42"\nsetback', 'center = "98 1/16"\nsetback', 'cutout[1] "S1".center: found "98 1/16"; expected a station on wall "B", which is "98" long'),
    ('center = "42"\nsetback', 'center = ["42", "3"]\nsetback', 'cutout[1] "S1".center: found ["42", "3"]; expected a station along its wall or "window NAME", as top "perimeter" is a run'),
    ('center = "42"\nsetback', 'center = "window W1"\nsetback', 'cutout[1] "S1".center: found "window W1", which is in wall "A"; expected a window of wall "B"'),
    ('"window W1"', '"window W2"', 'cutout[2] "H1".center: found "window W2"; expected a window of this job: "W1"'),
    ('"window W1"', '"windows W1"', 'cutout[2] "H1".center: found "windows W1"; expected a station along its wall, or "window NAME"'),
    ('"window W1"', '"window W1"\nfrom = "right"', 'cutout[2] "H1".from: found from; expected no from beside a window, which has one place'),
    ('center = ["42", "20"]', 'center = "42"', 'cutout[3] "C1".center: found "42"; expected a point [x, y] in the frame of top "island", which is a rectangle'),
    ('center = ["42", "20"]', 'center = ["42", "20"]\nwall = "A"', 'cutout[3] "C1".wall: found wall; expected no wall on top "island", which is a rectangle: center = [x, y] alone places it'),
    ('center = ["42", "20"]', 'center = ["42", "20"]\nsetback = 3', 'cutout[3] "C1".setback: found setback; expected no setback on top "island", which is a rectangle: center = [x, y] alone places it'),
    ('center = ["42", "34"]', 'center = ["42", "34"]\nwall = "A"', 'support[1].wall: found wall; expected no wall on top "island", which is a rectangle: center = [x, y] alone places it'),
    ('setback = "3"\n', "", 'support[2].setback: found nothing; expected how far its front side lies from the front edge'),
    ('kind = "bracket"', 'kind = "leg"', 'support[1].kind: found "leg"; expected "bracket", "post", "panel", "steel" or "knee wall"'),
    # joints
    ('corner = "A/B"', 'corner = "B/A"', 'joint[1].corner: found "B/A"; expected a corner of top "perimeter": "A/B"'),
    ('through = "A"', 'through = "C"', 'joint[1].through: found "C"; expected one of its two walls: "A" or "B"'),
    ('kind = "short mitre"', 'kind = "butt"', 'joint[1].length: found length; expected no length but for kind = "short mitre"'),
    ('corner = "A/B"', 'corner = "A/B"\nwall = "A"', 'joint[1].wall: found wall = "A"; expected no wall beside corner'),
    ('top = "perimeter"\ncorner', 'top = "island"\ncorner', 'joint[1].corner: found corner; expected at = ... along the grain: top "island" has no corners at walls'),
    ('top = "island"\nat = "42"', 'top = "island"\nat = "42"\nwall = "A"', 'joint[3].wall: found wall; expected no wall: top "island" has no walls, and at counts along the grain'),
    ('top = "island"\nat = "42"', 'top = "island"', "joint[3].corner: found neither corner nor at; expected corner or at, one of them"),
    ('top = "island"\nat = "42"', 'top = "island"\nat = "42"\nkind = "butt"', 'joint[3].kind: found kind = "butt"; expected no kind beside at'),
    ('top = "island"\nat = "42"', 'top = "perimeter"\nat = "42"', 'joint[3].wall: found nothing; expected the wall it stands along: "A" or "B"'),
    ('top = "island"\nat = "42"', 'top = "perimeter"\ncorner = "A/B"', 'joint[3].corner: found "A/B", a corner that joint[1] settles; expected one [[joint]] for a corner'),
    ('wall = "A"\nat = "40"\n\n[[joint]]', 'wall = "A"\nat = "127"\n\n[[joint]]', 'joint[2].at: found "127"; expected a station on wall "A", which is "126 1/2" long'),
    # edges
    ('side = "back"', 'side = "A back"', 'edge[1].side: found "A back"; expected a side of top "island": "front", "back", "left" or "right"'),
    ('side = "B front"', 'side = "front"', 'edge[2].side: found "front"; expected a side of top "perimeter": "A front", "A back", "B front", "B back", "left" or "right"'),
    ('side = "B front"', 'side = "left"', 'edge[2].side: found "left", an end of kind "wall"; expected an exposed side: this one is cut square'),
    ('side = "B front"', 'side = "A back"', 'edge[2].side: found "A back", which lies against wall "A"; expected an exposed side: this one is cut square'),
    ("side = 2", "side = 5", 'edge[3].side: found 5; expected the number of an edge of top "bar", 1 to 4'),
    ("side = 2", 'side = "front"', 'edge[3].side: found "front"; expected the number of an edge of top "bar", 1 to 4'),
    ("side = 2", "side = true", "edge[3].side: found true; expected text in quotes"),
    ('top = "bar"\nside = 2', 'top = "island"\nside = "back"', 'edge[3].side: found "back", a side that edge[1] settles; expected one [[edge]] for a side'),
    # across a corner, and what goes with it
    ('wall = "A"\ncenter = "window W1"', 'corner = "A/B"\ncenter = "40"', 'cutout[2] "H1".center: found center = "40"; expected no center beside corner'),
    ('wall = "A"\ncenter = "window W1"', 'wall = "A"', 'cutout[2] "H1".center: found neither center nor corner; expected center, or corner for one across an inside corner of a run'),
    ('center = "window W1"', 'corner = "A/B"', 'cutout[2] "H1".wall: found wall = "A"; expected no wall beside corner'),
    ('wall = "A"\ncenter = "window W1"', 'corner = "B/A"', 'cutout[2] "H1".corner: found "B/A"; expected a corner of top "perimeter": "A/B"'),
    ('wall = "A"\ncenter = "window W1"\nsetback = "20"', 'corner = "A/B"', 'cutout[2] "H1".setback: found nothing; expected how far its front side lies from the front edge at the corner'),
    ('kind = "short mitre"\nthrough = "A"\nlength = "2"', 'kind = "mitre"\nbeyond = "15"', 'joint[1].beyond: found beyond; expected no beyond but for kind = "butt"'),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "fault"), ONE_FAULT)
def test_one_slip_is_one_fault(old: str, new: str, fault: str) -> None:
    assert FULL.count(old) >= 1
    assert said(FULL.replace(old, new, 1)) == [fault]


@pytest.mark.parametrize(
    ("old", "new", "faults"),
    [
        ('name = "W1"', 'name = "W 1"', ['window[1] "W 1".name', 'cutout[2] "H1".center']),
        ("grain = 0", "along_ = 0", ['top[3] "bar".along_']),
        ("[room]", "[zzzzzz]", ["zzzzzz"]),
        ("[job]", "[[job]]", ["job"]),
        ('along = ["A", "B"]', 'along = ["A", "X"]', ['top[1] "perimeter".along[2]']),
        ('along = ["A", "B"]', 'along = ["A", "C"]', ['top[1] "perimeter".along[2]', 'cutout[1] "S1".wall', "support[2].wall", "edge[2].side"]),
        ('along = ["A", "B"]', 'along = ["A", "A"]', ['top[1] "perimeter".along[2]', 'cutout[1] "S1".wall', "support[2].wall", "edge[2].side"]),
        ('along = ["A", "B"]', "along = []", ['top[1] "perimeter".along']),
        ('along = ["A", "B"]', 'alnog = ["A", "B"]', ['top[1] "perimeter".alnog']),
        ('name = "A"', "", ["wall[1].name"]),
        ("[[wall]]", "[wall]", ["wall"]),
        ("[[top]]", "[[tpo]]", ["tpo"]),
        ("[[top]]", "[top]", ["top"]),
    ],
)  # fmt: skip
def test_one_slip_draws_no_others_after_it(old: str, new: str, faults: list[str]) -> None:
    """Of names that lead nowhere each place is told, but not what merely cannot be checked."""
    count = 1 if FULL.count(old) == 1 or old.startswith("name") else 99
    text = FULL.replace(old, new, count)
    if old in ("[[wall]]", "[[top]]") and new in ("[wall]", "[top]"):  # a table may be given once only
        head, *tables = FULL.split(old)
        rest = tables[-1][tables[-1].index("\n[[") :]
        text = head + new + tables[0].split("\n[[")[0] + rest
    assert [fault.label for fault in faults_of(text)] == faults


def test_without_units_all_else_is_still_looked_at() -> None:
    for units in ("", 'units = "cm"\n', "units = 3\n"):
        text = FULL.replace('units = "in"\n', units).replace('"98"', '"98 1/"').replace('B = "30"', 'B = "3,000 ft"')
        labels = [fault.label for fault in faults_of(text)]
        assert labels == ["job.units", 'wall[2] "B".length', 'top[1] "perimeter".depth.B']
    in_mm = FULL.replace('units = "in"\n', "").replace('length = "60"', "length = 5").replace('at = "80"', "at = 2000")
    assert [fault.label for fault in faults_of(in_mm)] == ["job.units"]


def test_keys_that_do_not_go_together_are_told_beside_other_faults() -> None:
    slips = {
        'center = "42"\nsetback = "4"': 'center = "x"\nsetback = "4"\ndiameter = 3',
        'through = "A"': "through = 3\nat = 5",
        "corners = { 3 = { radius": "corners = { 3 = { clip = 1, radius",
        'overhang = { front = "1"': 'base = [1, 2]\noverhang = { front = "x"',
    }
    text = FULL
    for old, new in slips.items():
        text = text.replace(old, new)
    assert [fault.label for fault in faults_of(text)] == [
        'top[2] "island".base',
        'top[2] "island".overhang.front',
        'top[3] "bar".corners.3.clip',
        'cutout[1] "S1".center',
        'cutout[1] "S1".diameter',
        'cutout[1] "S1".radius',
        "joint[1].kind",
        "joint[1].through",
        "joint[1].at",
        "joint[1].length",
    ]


def test_everything_at_once_with_its_place() -> None:
    text = """\
[job]
title = "Küche"
number = "F/2"
units = "in"
[wood]
species = "maple"
thickness = "1 3/4"
[[wall]]
name = "A"
\tlength = "72 1/"\t# é
[[wall]]
name = "B"
lenght = "72"
[[top]]
name = "T"
along = ["A", # first
  "C"]
depth = { A = 25, B = 3 }
  [top.corners."front left"]
  radius = 2
  clip = 3
[[cutout]]
name = "S"
kind = "sink"
top = "Q"
size = [30, 0]
center = 10
[tool]
"""
    text = text.replace("\\t", "\t")
    faults = faults_of(text, "kitchen.toml")
    assert [(f.line, f.column, f.end_column, f.label) for f in faults] == [
        (3, 10, 15, "job.number"),
        (6, 11, 18, "wood.species"),
        (10, 11, 18, 'wall[1] "A".length'),
        (13, 1, 7, 'wall[2] "B".lenght'),
        (17, 3, 6, 'top[1] "T".along[2]'),
        (21, 10, 11, 'top[1] "T".corners."front left".clip'),
        (25, 7, 10, 'cutout[1] "S".top'),
        (26, 13, 14, 'cutout[1] "S".size[2]'),
        (28, 2, 6, "tool"),
    ]
    shown = str(faults[2]).split("\n")
    assert shown[0] == (
        'kitchen.toml:10:11: wall[1] "A".length: found "72 1/", which cannot be read as a tape; '
        'expected a length such as 25.5, "25 1/2" or "648 mm"'
    )
    assert shown[1:] == ['    \tlength = "72 1/"\t# é', "    \t         ^^^^^^^"]


def test_the_windows_line_end_moves_no_column() -> None:
    text = FULL.replace('"98"', '"98 1/"').replace("A = ", "Ä = ")
    assert [(f.line, f.column, f.end_column) for f in faults_of(text)] == [
        (f.line, f.column, f.end_column) for f in faults_of("\ufeff" + text.replace("\n", "\r\n"))
    ]


def test_jobs_without_walls_or_with_nothing() -> None:
    assert [fault.label for fault in faults_of("")] == ["job", "wood", "top"]
    island = SMALL[: SMALL.index("[[wall]]")] + '[[top]]\nname = "T"\n'
    assert load(island + "size = [900, 600]\n").wall == ()
    assert said(island + 'along = ["A"]\ndepth = 640\n') == [
        'top[1] "T".along[1]: found "A"; expected a [[wall]] of that name'
    ]


def test_many_walls_are_not_all_listed() -> None:
    walls = "".join(f'[[wall]]\nname = "North{n}"\nlength = 900\n' for n in range(8))
    eight = HEAD + walls + '[[top]]\nname = "T"\nalong = ["Nroth3"]\ndepth = 640\n'
    assert said(eight)[0].endswith('"North5", "North6" or "North7"')
    walls += "".join(f'[[wall]]\nname = "North{n}"\nlength = 900\n' for n in range(8, 12))
    text = HEAD + walls + '[[top]]\nname = "T"\nalong = ["Nroth3"]\ndepth = 640\n'
    assert said(text) == [
        'top[1] "T".along[1]: found "Nroth3"; expected a wall of this job: "North3", the nearest of 12'
    ]


def test_a_wood_of_the_jobs_own_is_known_by_its_name() -> None:
    own = '[[species]]\nname = "bog oak"\ndensity = 700\nsource = "the mill"\n'
    assert load(FULL.replace('"black walnut"', '"Bog-oak"') + own).species[0].density == 700


@pytest.mark.parametrize(
    ("own", "fault"),
    [
        ('name = "bog oak"\nsource = "the mill"', "species[1] \"bog oak\".density: found nothing; expected its density at 12 %, in kg/m3, or a wood that it is like"),
        ('name = "bog oak"\ndensity = 700', 'species[1] "bog oak".source: found nothing; expected text in quotes'),
        ('name = "bog oak"\nlike = "walnutt"\nsource = "x"', 'species[1] "bog oak".like: found "walnutt"; expected "black walnut"'),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_wood_of_the_jobs_own(own: str, fault: str) -> None:
    assert said(f"{FULL}\n[[species]]\n{own}\n") == [fault]


def test_a_big_outline_is_quick_and_an_endless_one_refused() -> None:
    def comb(teeth: int) -> str:
        points = [p for n in range(teeth) for p in ((n * 4, 0), (n * 4 + 1, 0), (n * 4 + 2, 50), (n * 4 + 3, 50))]
        ring = [*points, (teeth * 4, 90), (0, 90)]
        return HEAD + '[[top]]\nname = "T"\noutline = [\n' + ",\n".join(f"[{x}, {y}]" for x, y in ring) + "]\n"

    assert len(load(comb(49)).top) == 1
    assert said(comb(50)) == ['top[1] "T".outline: found 202 points; expected at most 200 points; arcs go under rise']


# --- text that is not TOML -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "column", "width", "found", "expected"),
    [
        ("length = 96 1/2", 10, 6, "96 1/2 without quotes", 'quotes round a length with a fraction, a mark or a unit: length = "96 1/2"'),
        ("length = 1/2 # half", 10, 3, "1/2 without quotes", 'quotes round a length with a fraction, a mark or a unit: length = "1/2"'),
        ("length = 8'-0\"", 10, 5, "8'-0\" without quotes", "quotes round a length with a fraction, a mark or a unit: length = \"8'-0\""),
        ('length = 25 1/2"', 10, 7, '25 1/2" without quotes', "quotes round a length with a fraction, a mark or a unit: length = '25 1/2\"'"),
        ("length = 25½", 10, 3, "25½ without quotes", 'quotes round a length with a fraction, a mark or a unit: length = "25½"'),
        ("length = 648 mm", 10, 6, "648 mm without quotes", 'quotes round a length with a fraction, a mark or a unit: length = "648 mm"'),
        ("size = [30 1/2, 16]", 9, 6, "30 1/2 without quotes", 'quotes round a length with a fraction, a mark or a unit: "30 1/2"'),
        ("web = { front = 3\" }", 17, 2, '3" without quotes', "quotes round a length with a fraction, a mark or a unit: '3\"'"),
        ('length = "96', 10, 3, '"96 without a closing quote', 'quotes at both ends: "96"'),
        ('length = "25 1/2""', 10, 9, '"25 1/2""', "quotes that differ from those within: length = '25 1/2\"'"),
        ("notes = 'it's'", 9, 6, "'it's'", 'quotes that differ from those within: notes = "it\'s"'),
        ('size = ["84" "40"]', 9, 9, '"84" "40"', "one value, with a comma before the next in a list"),
        ("length = 25,5", 10, 4, "25,5", "a decimal point: 25.5"),
        ("web = { front = 25,5 }", 17, 4, "25,5", "a decimal point: 25.5"),
        ("units = in", 9, 2, "in without quotes", 'quotes round text: units = "in"'),
        ("units = “in”", 9, 4, "“in” in curly quotes", 'straight quotes: units = "in"'),
        ("name = A B # c", 8, 3, "A B without quotes", 'quotes round text: name = "A B"'),
        ("closed = True", 10, 4, "True", "true or false, in small letters"),
        ("at = 05", 6, 2, "05", "a number without leading zeros: 5"),
        ("date = 2026-3-4", 8, 8, "2026-3-4", "a date such as 2026-03-14"),
        ("at =", 1, 4, "nothing after =", "a value"),
        ("at: 5", 3, 1, ":", "=, as in at = 5"),
        ("at 5", 4, 1, "a key with no = after it", "key = value"),
        ("front right = 3", 1, 11, "front right without quotes", 'quotes round a key of several words: "front right" = ...'),
        ("// note", 1, 2, "//", "# before a comment"),
        ("[[wall]", 1, 7, "a header without its closing brackets", "[table] or [[table]]"),
        ("a = 1 b = 2", 7, 5, "b = 2 after the value", "one key = value on each line"),
        ('a = "x\\q"', 7, 2, "a backslash in double quotes", "single quotes round a text with a backslash in it, or \\\\ for each"),
        ("a = [1, 2", 10, 1, "a list that is not closed", "a comma between its values and ] at its end"),
        ("a = {b = 1", 11, 1, "a table in { } that is not closed", "a comma between its keys and } on the same line"),
        ("a = {b = 1,}", 12, 1, "} where a key begins", "a key, with no comma after the last"),
        ("a = 1\rb = 2", 6, 1, "a carriage return alone", "a line feed at the end of each line"),
        ('a = "x\x01"', 7, 1, "a control character", "text without it"),
        ("a = \"\"\"x", 5, 3, "a text that never ends", "the same three quotes at its end"),
        ("\x00", 1, 1, "a NUL character", "plain text: is this a job file?"),
        ("= 3", 1, 1, "text that is not TOML (invalid statement)", "key = value, a [table] header or a # comment"),
        ('title = "y"', 1, 5, "title a second time", "each key once in its table"),
        ("[job] # again", 1, 5, "[job] a second time", "each table once"),
    ],
)  # fmt: skip
def test_slips_of_spelling(line: str, column: int, width: int, found: str, expected: str) -> None:
    (fault,) = faults_of(f'[job]\ntitle = "x"\n{line}')
    assert (fault.found, fault.expected) == (found, expected)
    assert (fault.line, fault.column, fault.end_column - fault.column) == (3, column, width)
    assert fault.text().split("\n")[2].endswith("^" * width)


@pytest.mark.parametrize(
    ("text", "line", "found", "expected"),
    [
        ('[wall]\nname = "A"\n[wall]\n', 3, "[wall] a second time", "[[wall]], two brackets each time"),
        ('[[wall]]\nname = "A"\n[wall]\n', 3, "[wall] a second time", "[[wall]], two brackets each time"),
        ('[wall]\nname = "A"\n[[wall]]\n', 1, "one bracket, with two on a later header", "two brackets each time"),
        ("[job]\n[[job]]\n", 2, "[[job]] a second time", "each table once"),
    ],
)
def test_brackets(text: str, line: int, found: str, expected: str) -> None:
    (fault,) = faults_of(text)
    assert (fault.line, fault.found, fault.expected) == (line, found, expected)
    assert fault.source_line[fault.column - 1 : fault.end_column - 1] == text.split("\n")[line - 1]


def test_messages_measure_in_the_units_of_the_job() -> None:
    text = HEAD + '[[top]]\nname = "T"\noutline = [[0, 0], [601, 0], [0, 500]]\nrise = { 1 = 301 }\n'
    assert said(text) == ['top[1] "T".rise.1: found 301; expected at most half of the edge, 300.5']


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("a = " + "[" * 5000, "brackets nested too deep to read"),
        ("a = " + "[" * 200 + "]" * 200, "tables or lists nested too deep"),
        ("a" + ".a" * 400 + " = 1", "tables or lists nested too deep"),
        ("a" + ".a" * 20_000 + " = 1", "line 1 of 40,005 characters"),
        ("a = " + "1" * 5000, "a number of thousands of digits"),
        ("# " + "x\n" * MOST_BYTES, "more than 2 MB"),
        ('a = "\ud800"', "half a character (a surrogate)"),
    ],
)
def test_texts_that_no_one_wrote(text: str, found: str) -> None:
    assert [fault.found for fault in faults_of(text)] == [found]


# --- files ---------------------------------------------------------------------------------------------------------


def test_a_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "küche.toml"
    path.write_text(FULL, encoding="utf-8-sig", newline="\r\n")
    assert read(path) == load(FULL)
    path.write_text(FULL.replace('"98"', '"98 1/"'), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read(path)
    assert str(caught.value).startswith(f"{path}:68:10: wall[2]")


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    latin = tmp_path / "latin.toml"
    latin.write_bytes("[job]\ntitle = 'Küche'\n".encode("latin-1"))
    big = tmp_path / "big.toml"
    big.write_bytes(b"#" * (MOST_BYTES + 1))
    cases = {
        tmp_path / "none.toml": "no such file",
        tmp_path: "a folder",
        latin: "a byte on line 2 that is not UTF-8 (0xFC)",
        big: "more than 2 MB",
        Path("a\0b"): "a file that cannot be read (embedded null byte)",
        latin / "below.toml": "a file that cannot be read (Not a directory)",
    }
    for path, found in cases.items():
        with pytest.raises(JobError) as caught:
            read(path)
        (fault,) = caught.value.faults
        assert fault.found == found
        assert fault.text().startswith(f"{path}: found".replace("\0", "\ufffd"))
        assert "\n" not in fault.text()


def test_the_text_comes_with_the_job() -> None:
    located = load_located(FULL, "f.toml")
    assert (
        located.source.fault(("cutout", 0, "size", 1), "16", "15").line
        == FULL.split("\n").index('size = ["30", "16"]') + 1
    )


# --- anything else -------------------------------------------------------------------------------------------------

WORDS = sorted({w for line in FULL.split("\n") for w in line.split("=")[0].split() if w.isidentifier()})
ODD: st.SearchStrategy[Any] = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**30), 10**30),
    st.sampled_from(["nan", "-inf", "1e400", "2026-03-14", "12:00:00", "2026-03-14T12:00:00Z", "[]", "{}", "[[]]", "[[1, 2], 3]"]),
    st.sampled_from(['""', '"A"', '"B back"', '"A/B"', '"window"', '"1/2"', '"\\u0000"', '"run"', '"in"', '["A", "A"]', "[1, 1]"]),
    st.dictionaries(st.sampled_from([*WORDS, "0", "1", "[key]", ""]), st.integers(-1, 3), max_size=2).map(
        lambda d: "{" + ", ".join(f'"{k}" = {v}' for k, v in d.items()) + "}"
    ),
    st.text(max_size=5).map(lambda t: '"' + "".join(f"\\U{ord(c):08X}" for c in t) + '"'),
)  # fmt: skip


CHANGES = st.tuples(
    st.integers(0, FULL.count("\n") - 1),
    st.sampled_from(["value", "key", "drop", "twice", "header"]),
    ODD,
    st.sampled_from(WORDS),
)


def _typed(value: Any) -> str:
    return value if isinstance(value, str) else "0" if value is None else str(value).lower()


def loads_or_job_error(text: str) -> None:
    faults: tuple[Fault, ...] | None = None
    try:
        load(text)
    except JobError as error:
        faults = error.faults
    assert faults != ()
    assert len({fault.path for fault in faults or () if fault.path}) == len(
        [fault for fault in faults or () if fault.path]
    )
    for fault in faults or ():
        assert fault.found
        assert fault.expected
        assert not re.search(r'"(from|in)_"', fault.expected)
        assert 0 <= fault.line <= text.count("\n") + 1
        assert fault.text()


@given(st.text())
def test_any_text_is_a_job_or_a_job_error(text: str) -> None:
    loads_or_job_error(text)


@settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(st.lists(CHANGES, min_size=1, max_size=6))
def test_any_change_of_a_job_is_a_job_or_a_job_error(changes: list[tuple[int, str, Any, str]]) -> None:
    lines = FULL.split("\n")
    for at, how, odd, word in changes:
        key, equals, value = lines[at].partition("=")
        if how == "value" and equals:
            lines[at] = f"{key}= {_typed(odd)}"
        elif how == "key" and equals:
            lines[at] = f"{word} ={value}"
        elif how == "drop":
            lines[at] = ""
        elif how == "twice":
            lines[at] += f"\n{word} = {_typed(odd)}"
        elif how == "header" and not equals and lines[at]:
            lines[at] = f"[{word}]"
    loads_or_job_error("\n".join(lines))


@settings(max_examples=100, deadline=None)
@given(st.integers(0, len(FULL)), st.integers(0, 20), st.text(max_size=4))
def test_any_damage_to_the_text_is_a_job_or_a_job_error(at: int, cut: int, put: str) -> None:
    loads_or_job_error(FULL[:at] + put + FULL[at + cut :])


@pytest.mark.parametrize(
    "odd", ["0", *(pytest.param(odd, marks=pytest.mark.sweep) for odd in ("[]", '{ "[key]" = [{}] }'))]
)
def test_every_key_with_an_odd_value(odd: str) -> None:
    lines = FULL.split("\n")
    for at, line in enumerate(lines):
        key, equals, _ = line.partition("=")
        if equals:
            loads_or_job_error("\n".join([*lines[:at], f"{key}= {odd}", *lines[at + 1 :]]))


def test_the_type_of_every_key_is_known_where_it_is_asked_for() -> None:
    """A table defined below the one that names it leaves but its name there, and of a slip in it nothing can be told."""
    seen: set[type[BaseModel]] = set()
    waiting: list[type[BaseModel]] = [Job]
    while waiting:
        model = waiting.pop()
        seen.add(model)
        for field in model.model_fields.values():
            inside: list[Any] = [field.annotation]
            for form in inside:
                assert not isinstance(form, str | typing.ForwardRef) or form == "", f"{model.__name__}: {form}"
                inside += [] if typing.get_origin(form) is typing.Literal else typing.get_args(form)
            waiting += [f for f in inside if isinstance(f, type) and issubclass(f, BaseModel) and f not in seen]
    assert len(seen) > 30


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_a_slip_in_any_key_of_a_sample_is_told_with_the_key_that_was_meant(sample: Path) -> None:
    """Each key in turn loses its last letter, those of tables within a line too."""
    text = sample.read_text(encoding="utf-8")
    found = re.finditer(r'(?<![\w"])([a-z_]{4,})(?= = )', text)
    keys = [key for key in found if "#" not in text[: key.start()].split("\n")[-1]]
    assert len(keys) > 30
    for key in keys:
        slip = f"{text[: key.start()]}{key[0][:-1]}{text[key.end() :]}"
        with pytest.raises(JobError) as told:
            load_located(slip, str(sample), sample.parent)
        [fault] = [f for f in told.value.faults if f.path[-1] == key[0][:-1]]
        assert f'"{key[0]}"' in fault.expected
