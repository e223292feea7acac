"""What ``species``, ``profiles`` and ``sizes`` tell: every entry is there, and is the figure that the program uses.

Figures from outside stand beside their source: Wood Handbook tables as printed in copies that were seen, ISO 216, ISO 5455,
ASME Y14.1, NHLA.
"""

import json
import math
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

import cli
from cli import profiles, sizes, species
from cli.app import app
from cli.reference_tables import WIDTH, columns
from layout import rules
from layout import species as woods
from layout.movement import movement
from layout.page import SCALES, SIZES
from layout.profiles import profile_ring, profile_size
from layout.reading import load
from layout.units import INCH_MM, Labels, Unit, parse_length

COMMANDS = [("species",), ("profiles",), ("sizes",), *((("species"), name) for name in woods.names())]
INCH = float(INCH_MM)
JOB = """\
[job]
title = "t"
number = "1"
units = "{unit}"
[wood]
species = "{wood}"
construction = "{grain}"
thickness = "1 1/2 in"
{edge}
[[wall]]
name = "A"
length = "100 in"
[[top]]
name = "run"
along = ["A"]
depth = "25 in"
back = "scribe"
[[cutout]]
name = "S1"
kind = "sink"
mount = "drop-in"
top = "run"
wall = "A"
center = "40 in"
setback = "4 in"
size = ["20 in", "16 in"]
[[recess]]
name = "R1"
top = "run"
wall = "A"
center = "80 in"
setback = "4 in"
size = ["10 in", "10 in"]
depth = "1/4 in"
"""


def run(*args: str):
    return CliRunner().invoke(app, list(args))


def text(*args: str) -> str:
    result = run(*args)
    assert result.exit_code == 0, result.output
    assert result.stderr == ""
    return result.stdout


def content(*args: str):
    return json.loads(text(*args, "--json"))


def job(unit: Unit = "in", wood: str = "cherry", grain: str = "edge grain", edge: str = ""):
    return load(JOB.format(unit=unit, wood=wood, grain=grain, edge=edge))


# --- how tables are set --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("args", COMMANDS, ids=" ".join)
def test_lines_keep_within_the_width_and_nothing_steers_a_terminal(args):
    lines = text(*args).splitlines()
    assert len(lines) > 15
    assert max(map(len, lines)) <= WIDTH
    assert all(line.isprintable() and line == line.rstrip() for line in lines)


@pytest.mark.parametrize("args", COMMANDS[:4], ids=" ".join)
def test_the_same_is_told_twice_and_json_is_no_other(args):
    assert text(*args) == text(*args)
    assert text(*args, "--json") == text(*args, "--json")
    assert content(*args)


def test_columns_line_up_and_the_last_is_wrapped_within_its_own():
    rows = [("", "mm", "said"), ("a", "7", "one two " * 30), ("longer", "1234", "end")]
    lines = columns(rows, "<><")
    assert lines[0] == "            mm  said"
    assert lines[1].startswith("  a          7  one two one")
    assert lines[-1] == "  longer  1234  end"
    assert len(lines) > 4
    assert all(line.startswith(" " * 16) and line[16:17] != " " for line in lines[2:-1])
    assert max(map(len, lines)) <= WIDTH
    assert " ".join(" ".join(lines[1:-1]).split()) == "a 7 " + " ".join(["one two"] * 30)


def test_columns_without_room_for_the_last_are_refused():
    with pytest.raises(ValueError, match="left for the last column"):
        columns([("x" * 100, "some words that need more room than that")], "<<")


def test_the_columns_of_the_table_of_woods_line_up():
    lines = text("species").splitlines()
    start = next(k for k, line in enumerate(lines) if "kg/m3" in line)
    heads = lines[start - 1]
    ends = [found.end() for found in re.finditer(r"\S+", heads)]
    assert heads.split() == ["density", "shrinkage", "movement", "MOE", "tension", "hardness", "across", "sure"]
    table = lines[start + 1 : start + 1 + len(woods.names())]
    for line, name in zip(table, woods.names(), strict=True):
        assert line.startswith(f"  {name} ")
        # every column but the last ends below its heading, and two blanks follow
        assert [line[end - 1 : end + 2].rstrip() + "  " for end in ends[:-1]] == [
            line[end - 1 : end + 2] for end in ends[:-1]
        ]
        assert all(line[end - 1] != " " for end in ends[:-1])


# --- species -------------------------------------------------------------------------------------------------------


def test_every_wood_stands_in_the_table_by_each_of_its_names():
    said = text("species")
    told = {entry["id"]: entry for entry in content("species")["species"]}
    assert list(told) == [row["id"] for row in woods.rows()]
    for row in woods.rows():
        assert row["botanical_name"] in said
        for name in woods.names_of(row["id"]):
            assert name in " ".join(said.split())
            assert woods.find(name) == row["id"]
        assert told[row["id"]]["names"] == list(woods.names_of(row["id"]))


KEPT = {
    "gravity_green": ("sg_basic", "sg_basic"),
    "gravity": ("sg_12", "sg_12"),
    "density": ("density_12_kg_m3", None),
    "moe": ("moe_mpa", "moe_1e6psi"),
    "mor": ("mor_mpa", "mor_psi"),
    "hardness": ("side_hardness_n", "side_hardness_lbf"),
    "tension_across": (None, "tension_perp_psi"),
    "volumetric": ("shrink_volumetric_pct", "shrink_volumetric_pct"),
}
PAIRS = {
    "shrinkage": ("shrink_radial_pct", "shrink_tangential_pct"),
    "movement": ("C_R", "C_T"),
    "stiffness_across": ("ET_EL", "ER_EL"),
}


def test_every_figure_is_the_tables_own_or_said_to_be_lacking():
    compared = 0
    for row, told in zip(woods.rows(), content("species")["species"], strict=True):
        figures = told["figures"]
        assert figures.keys() | told["lacking"].keys() == KEPT.keys() | PAIRS.keys()
        assert not figures.keys() & told["lacking"].keys()
        for key, kept in KEPT.items():
            for unit, column in zip(("metric", "inch"), kept, strict=True):
                if column is not None:
                    assert (figures[key][unit]["value"] if key in figures else None) == woods._figure(row[column])
                    compared += key in figures
        for key, (radial, tangential) in PAIRS.items():
            if key in figures:
                assert figures[key]["metric"]["value"] == [float(row[radial]), float(row[tangential])]
                compared += 1
        for group, keys in (
            ("mechanical", ("moe", "mor", "hardness")),
            ("shrinkage", ("shrinkage",)),
            ("ratios", ("stiffness_across",)),
        ):
            for key in keys:
                if key in figures:
                    assert figures[key]["source"] == row[f"src_{group}"]
                    assert figures[key]["confidence"] == row[f"conf_{group}"]
        assert figures["movement"]["source"] == f"{row['C_basis']}; {row['src_C']}"
    assert compared > 400


@pytest.mark.parametrize(
    ("name", "key", "unit", "value"),
    [
        # Wood Handbook FPL-GTR-190 (2010), table 5-3, copied pages: gravity, MOE, MOR, hardness at 12 %
        ("black walnut", "gravity", "metric", 0.55),
        ("black walnut", "moe", "inch", 1.68),
        ("hard maple", "hardness", "inch", 1450),
        ("white oak", "mor", "inch", 15200),
        # the same, table 13-5
        ("black walnut", "movement", "metric", [0.00190, 0.00274]),
        ("beech", "movement", "metric", [0.00190, 0.00431]),
        # the same, table 4-3: radial, tangential, volumetric
        ("cherry", "shrinkage", "metric", [3.7, 7.1]),
        ("cherry", "volumetric", "metric", 11.5),
        # the same, table 5-1, by public notes that quote it
        ("red oak", "stiffness_across", "metric", [0.082, 0.154]),
    ],
)
def test_figures_of_the_wood_handbook(name, key, unit, value):
    (wood,) = content("species", name)["species"]
    assert wood["figures"][key][unit]["value"] == value


def test_units_are_converted_as_the_yard_and_pound_are_defined():
    (wood,) = content("species", "walnut")["species"]
    # 1 lb = 0.45359237 kg, 1 ft = 0.3048 m, 1 lbf = 4.4482216152605 N: exact by the agreement of 1959
    assert wood["figures"]["density"]["inch"] == {"value": round(616 * 0.3048**3 / 0.45359237, 1), "unit": "lb/ft3"}
    mpa = round(690 * 4.4482216152605 / 25.4**2, 1)
    assert wood["figures"]["tension_across"]["metric"] == {"value": mpa, "unit": "MPa"}
    # both units of the table are of one figure; it prints them to three places or so
    for row in woods.rows():
        psi = 4.4482216152605 / 25.4**2
        assert float(row["moe_1e6psi"]) * 1e6 * psi == pytest.approx(float(row["moe_mpa"]), rel=0.005), row["id"]
        assert float(row["side_hardness_lbf"]) * 4.4482216152605 == pytest.approx(
            float(row["side_hardness_n"]), rel=0.01
        )


@pytest.mark.parametrize("grain", ["face grain", "edge grain", "end grain"])
@pytest.mark.parametrize("name", ["black walnut", "wenge", "beech"])
def test_a_wood_moves_as_far_as_a_job_of_it_says(name, grain):
    moves = movement(job(wood=name, grain=grain))
    assert moves is not None
    told = content("species", name)["species"][0]["movement"]
    assert told["width_mm"] == 25 * INCH == 635
    assert told["moisture"] == [moves.house.low, moves.house.high]
    assert told["humidity"] == list(moves.house.humidity)
    assert told["over_the_year_mm"][grain] == moves.year(635.0)
    assert told["each_percent_mm"][grain] == pytest.approx(635.0 * moves.coefficient, rel=1e-12)
    said = re.search(rf"^  {grain} +(\S+) in +(\S+) mm", text("species", name), re.M)
    assert said
    assert float(said[1]) == pytest.approx(moves.year(25.0), abs=5.1e-3)
    assert float(said[2]) == pytest.approx(moves.year(635.0), abs=5.1e-2)


def test_a_wood_in_full_names_its_sources_what_it_lacks_and_what_a_job_may_give():
    said = text("species", "Wenge")
    assert "Millettia laurentii" in said
    for n in (4, 5):
        assert f"  {n}  {woods.SOURCES[n]}" in said
    assert woods.SOURCES[1] not in said
    plain = " ".join(said.split())
    assert "not in the table: strength across the grain: 420 psi is taken" in plain
    assert "not in the table: stiffness across to along, ET/EL and ER/EL: 0.043, 0.078 is taken" in plain
    assert "NOT in the Wood Handbook" in plain
    assert "averages" in plain
    assert "no approval" in plain
    for key in ("density", "moe", "tension_across", "shrinkage", "movement", "stiffness_across"):
        assert f'"{key}"' in plain.partition("[[species]]")[2]
    assert "not in the table" not in text("species", "cherry")


def test_whose_figure_is_taken_for_want_of_one():
    """What a wood without a figure is given, and the words on it, are true of the table."""
    known = {row["id"]: float(row["tension_perp_psi"]) for row in woods.rows() if row["tension_perp_psi"]}
    assert known["red_alder"] == rules.TENSION_FALLBACK
    softwoods = {"longleaf_pine"}
    assert {key for key, psi in known.items() if psi <= rules.TENSION_FALLBACK} - softwoods == {"red_alder"}


@pytest.mark.parametrize(
    "name", ["black walnut", "WALNUT", "Black-Walnut", "juglans nigra", "black_walnut", " walnut "]
)
def test_a_wood_is_found_by_any_spelling_that_a_job_may_use(name):
    assert text("species", name) == text("species", "walnut")
    assert job(wood=name).wood.species == "black_walnut"


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("maple", 'there is no wood \'maple\'; the nearest are "hard maple" or "soft maple"'),
        ("walnutt", "there is no wood 'walnutt'; the nearest is \"black walnut\""),
        ("plywood", "there is no wood 'plywood'; there are: black walnut, hard maple, "),
        ("", "there is no wood ''; there are: black walnut, "),
        ("\x1b[31mred\x07\n\u202e", "there is no wood '\\x1b[31mred\\x07\\n\\u202e'; "),
    ],
)
@pytest.mark.parametrize("how", [(), ("--json",)])
def test_an_unknown_wood_is_refused_with_the_nearest_names(name, said, how):
    result = run("species", *how, "--", name)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith(said)
    assert result.stderr.rstrip("\n").isprintable()


def test_bytes_that_are_no_text_are_refused_too():
    home = str(Path(cli.__file__).resolve().parent.parent)
    done = subprocess.run(
        [sys.executable, "-m", "cli", "species", b"wax\xff\x1b"],
        env=os.environ | {"PYTHONPATH": home},
        capture_output=True,
        timeout=100,
        check=False,
    )
    assert done.returncode == 2
    assert done.stdout == b""
    assert b"Traceback" not in done.stderr
    assert b"\x1b" not in done.stderr


# --- profiles ------------------------------------------------------------------------------------------------------


def test_every_profile_is_there_with_its_source():
    said, told = text("profiles"), content("profiles")["profiles"]
    assert [row["name"] for row in told] == list(rules.PROFILES)
    for row in told:
        assert re.search(rf"^  {row['name']} ", said, re.M)
        assert row["source"]
        if row["name"] in rules.PROFILE_SIZES:
            assert row["source"] == rules.PROFILE_SIZES[row["name"]].source
            assert re.search("own default|no source", row["source"])


def taken(name: str, thickness: float, unit: Unit) -> tuple[float, float, float]:
    """Return how far a drawn section goes in from its face, and down from the top and up from below, mm."""
    points = [v for v in profile_ring(name, thickness, 100.0, unit).vertices if v.x > -100.0]
    on_face = [v.y for v in points if v.x == 0.0] or [thickness / 2]
    return -min(v.x for v in points), thickness - max(on_face), min(on_face)


@pytest.mark.parametrize("unit", ["in", "mm"])
@pytest.mark.parametrize("name", rules.PROFILES)
def test_a_profile_measures_what_its_section_draws(name, unit):
    row = next(p for p in content("profiles")["profiles"] if p["name"] == name)[unit]
    thick = 2 * INCH
    inward, down, up = taken(name, thick, unit)
    if name == "square":
        assert (inward, down, up, row["size"], row["least_thickness"]) == (0, 0, 0, "none", "")
    elif name == "bullnose":
        assert (inward, down, up) == (thick / 2, thick / 2, thick / 2)
        assert (row["size"], row["least_thickness"]) == ("t/2", "")
    else:
        size = float(parse_length(row["size"], unit))
        assert row["size"] == Labels(unit).fine(parse_length(rules.PROFILE_SIZES[name].text(unit), unit))
        assert (inward, down) == pytest.approx((size, size), abs=1e-9)
        assert up == pytest.approx(size if name == "eased" else 0.0, abs=1e-9)
        assert row["size"] in row["section"]
        # wood of the least thickness takes it whole, thinner wood does not
        least = row["least_thickness_mm"]
        assert float(parse_length(row["least_thickness"], unit)) == pytest.approx(least)
        assert least == pytest.approx(size * (2 if name == "eased" else 1))
        assert profile_size(name, least, unit) == pytest.approx(size)
        assert profile_size(name, 0.9 * least, unit) == pytest.approx(0.9 * size)


def test_profiles_are_spelt_as_said_and_others_refused():
    said = " ".join(text("profiles").split())
    assert '"roundover 1/2", "roundover 12 mm"' in said
    for typed in ("roundover 1/2", "roundover 12 mm", "ROUNDOVER"):
        assert typed.lower() == job(edge=f'edge = "{typed}"').wood.edge
    assert "refused with the nearest one (exit 2), never taken as text" in said
    with pytest.raises(Exception, match='expected "roundover", with a size after it or not'):
        job(edge='edge = "roundovr"')
    # half of it is the bullnose's largest radius, so a size of its own wants wood of twice that
    assert profile_size("bullnose 1/2", INCH, "in") == INCH / 2


# --- sizes ---------------------------------------------------------------------------------------------------------


def settings():
    return {(row["table"], row["key"]): row for row in content("sizes")["settings"]}


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_what_holds_where_a_job_is_silent_is_what_the_reader_fills_in(unit):
    silent, told = job(unit), settings()
    run_, cut, recess = silent.top[0], silent.cutout[0], silent.recess[0]
    held = {
        "[shop]": silent.shop,
        "[shop.web]": silent.shop.web,
        "[shop.fastener]": silent.shop.fastener,
        "[load]": silent.load,
        "[[top]]": run_,
        "[[cutout]]": cut,
        "[[recess]]": recess,
    }
    compared = 0
    for (table, key), row in told.items():
        if table not in held or key in {"strip", "depth", "stock"} or table == "[load]":
            continue
        assert getattr(held[table], key) == parse_length(row[unit], unit), (table, key)
        compared += 1
    assert compared == 13 + 6 + 5 + 3 + 2
    stock = tuple(parse_length(piece, unit) for piece in told["[shop]", "stock"][unit].split(", "))
    assert silent.shop.stock == stock
    assert silent.shop.strip is None
    assert silent.shop.fastener.depth is None
    for key in ("point", "lift", "deflection", "creep"):
        assert told["[load]", key][unit].removesuffix(" lb") == f"{getattr(silent.load, key):g}"
    assert silent.load.strip == parse_length(told["[load]", "strip"][unit], unit)
    usual = {row["size"] for row in content("sizes")["sheets"] if unit in row["default_in"]}
    assert usual == {silent.sheet.size}


def test_every_key_of_the_shop_that_is_a_length_is_told():
    shop = job().shop
    known = {key for table, key in settings() if table == "[shop]"}
    words = {"corner_joint", "blanks", "seams", "grade"}
    assert known | words | {"web", "fastener"} == set(type(shop).model_fields)
    assert {k for t, k in settings() if t == "[shop.web]"} == set(type(shop.web).model_fields)
    assert {k for t, k in settings() if t == "[shop.fastener]"} == set(type(shop.fastener).model_fields)
    assert {k for t, k in settings() if t == "[load]"} == set(type(job().load).model_fields)


UNSET = {
    "BRACKET_SHORT", "BRACKET_WIDTH", "BUTT_STEP", "CABINET_HEIGHT", "CRATE_CLEAR", "CRATE_SPACER", "CUT_STEP", "EDGING",
    "FASTENER_CLEAR", "FASTENER_EDGE", "FAUCET_THROUGH", "FINGER_LENGTH", "FINGER_LOSS", "HOLD_DOWN_CLEAR",
    "HOLD_DOWN_INSET", "HOLD_DOWN_PITCH", "HOLD_DOWN_SCREW", "HOLD_DOWN_SLOT", "HOLE_ACROSS", "MEASURE_TOLERANCE",
    "MILLED_LEAST", "MITRE_OPEN", "PILOT", "SEAM_STEP", "STEP_LEAST", "SURFACING", "TOP_SPACING",
}  # fmt: skip
"""Lengths of the rules that no job sets and that bound none: they are not told."""


def lengths(value):
    if isinstance(value, rules.Default):
        return [value]
    if isinstance(value, dict):
        value = value.values()
    return [d for v in value for d in lengths(v)] if isinstance(value, tuple | list | type({}.values())) else []


def test_every_length_of_the_rules_is_told_or_is_no_jobs_to_set():
    told = " ".join(text("sizes").split())
    known = {name for name, value in vars(rules).items() if lengths(value)}
    assert known >= UNSET | {"SHOP", "WEB", "LARGEST", "SMALLEST", "PROFILE_SIZES"}
    for name in known - UNSET - {"PROFILE_SIZES"}:  # `profiles` tells those
        for default in lengths(getattr(rules, name)):
            assert f" {default.inches} {default.mm} " in told or f" {default.inches} ({default.mm})" in told, name
            assert default.source in told, name


def test_the_shops_limits_below_which_nothing_is_taken():
    told = settings()
    for (section, key), least in rules.SMALLEST.items():
        assert told[f"[{section}]", key]["least"] == {
            "in": least.inches,
            "mm": least.mm,
            "source": least.source,
        }
    text_ = JOB.format(unit="in", wood="cherry", grain="edge grain", edge='[shop]\nmax_width = "1 7/8"')
    with pytest.raises(Exception, match=r"shop\.max_width: .*at least 2 in"):
        load(text_)
    assert load(text_.replace('"1 7/8"', '"2"')).shop.max_width == parse_length("2", "in")


def test_what_bounds_a_job():
    told = {row["what"]: row for row in content("sizes")["bounds"]}
    for row in rules.COUNTS:
        assert told[row.what] == {"what": row.what, "in": str(row.most), "mm": str(row.most), "source": row.source}
    counts = {name: value for name, value in vars(rules).items() if name.startswith("MOST") and name != "MOST"}
    assert sorted([*counts.values(), *rules.MOST.values()]) == sorted(row.most for row in rules.COUNTS)
    long = JOB.format(unit="in", wood="cherry", grain="edge grain", edge="")
    with pytest.raises(Exception, match="a wall of at most 60 ft"):
        load(long.replace('"100 in"', '"60\' 1/16"'))
    # one cutout more on a top than is said
    more = "".join(
        f'[[cutout]]\nname = "H{k}"\nkind = "hole"\ntop = "run"\nwall = "A"\ncenter = "{k + 2} in"\nsetback = "1 in"\n'
        f'diameter = "1/2 in"\n'
        for k in range(int(told["cutouts on one top"]["in"]))
    )
    with pytest.raises(Exception, match="at most 40 cutouts on one top"):
        load(long + more)
    assert told["any length"]["in"] == "1000'"
    assert told["any length"]["mm"] == "300000"


def test_sheets_and_scales_by_their_standards():
    told = content("sizes")
    sheets = {row["size"]: row for row in told["sheets"]}
    assert list(sheets) == list(SIZES)
    # ISO 216, trimmed; ASME Y14.1 in inches
    assert (sheets["A3"]["mm"], sheets["A3"]["source"]) == ([420, 297], "ISO 216")
    assert (sheets["A0"]["mm"], sheets["A4"]["mm"]) == ([1189, 841], [297, 210])
    assert sheets["ANSI B"]["in"] == pytest.approx([17, 11])
    assert sheets["ANSI E"]["in"] == pytest.approx([44, 34])
    assert sheets["ANSI E"]["source"] == "ASME Y14.1"
    # ISO 5457:1999, 20 and 10 mm: the drawing space of an A3 sheet as tabled
    assert sheets["A3"]["space_mm"] == [390, 277]
    scales = told["scales"]
    assert [(row["ratio"], row["scale"]) for row in scales] == [s for listed in SCALES.values() for s in listed]
    said = " ".join(text("sizes").split())
    for row in scales:
        assert row["scale"] in said
        if row["job_in"] == "mm":
            # ISO 5455: 1:1, 1:2, 1:5 and their tenfolds
            assert str(row["ratio"])[0] in "125"
            assert math.log10(row["ratio"] / int(str(row["ratio"])[0])).is_integer()
        else:
            # a foot of a building, 12 in, is drawn as so many inches
            assert parse_length(row["scale"].partition('"')[0], "in").mm * row["ratio"] == 12 * INCH_MM


def test_lumber_by_the_quarters():
    told = {row["name"]: row for row in content("sizes")["lumber"]}
    assert list(told) == [name for name, _, _ in rules.QUARTERS]
    # NHLA: 4/4 surfaces to 13/16, 5/4 to 1 1/16, 8/4 to 1 3/4
    assert [told[q]["surfaced"] for q in ("4/4", "5/4", "8/4")] == ["13/16", "1 1/16", "1 3/4"]
    for name, row in told.items():
        assert row["rough_mm"] == pytest.approx(int(name.partition("/")[0]) / 4 * INCH)
        assert row["surfaced_mm"] == pytest.approx(float(parse_length(row["surfaced"], "in")))
    assert "8/4 2 50.8 1 3/4 44.5" in " ".join(text("sizes").split())


def test_constructions_and_tolerances():
    told = content("sizes")
    rows = {(r["construction"], r["what"]): (r["in"], r["mm"]) for r in told["thicknesses"]}
    for construction, (low, high) in rules.THICKNESS.items():
        assert rows[construction, "thickness, least"] == (low.inches, low.mm)
        assert rows[construction, "thickness, most"] == (high.inches, high.mm)
        assert rows[construction, "width seen"] == (rules.STRIP[construction].inches, rules.STRIP[construction].mm)
    assert {(r["what"], r["at_most"], r["source"]) for r in told["tolerances"]} >= set(rules.TOLERANCES)
    assert [r["at_most"] for r in told["tolerances"]][-3:] == list(rules.FIELD_JOINT.values())


def test_every_number_has_a_source_or_says_whose_it_is():
    told = content("sizes")
    rows = [r for part in ("sheets", "scales", "thicknesses", "settings", "bounds", "tolerances") for r in told[part]]
    assert len(rows) > 90
    whose = r"own default|no source|fixed by the format|ISO|ASME|AW[SI]|NHLA|IRC|NDS|seen in|confidence"
    assert [r for r in rows if not re.search(whose, r["source"])] == []
    assert profiles.profiles_json() == json.dumps(content("profiles"), indent=1, ensure_ascii=False) + "\n"
    assert sizes.sizes_json().endswith("}\n")
    assert species.species_json("nothing of the kind") is None


# --- what they bring -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("args", [("species",), ("species", "walnut"), ("profiles",), ("sizes",)], ids=" ".join)
def test_they_bring_no_geometry_and_no_drawing(args):
    probe = (
        "import sys; sys.argv = ['staveline', *sys.argv[1:]]\n"
        "from cli.app import app\n"
        "app(standalone_mode=False)\n"
        "print('LOADED', *{n.partition('.')[0] for n in sys.modules}, file=sys.stderr)"
    )
    home = str(Path(cli.__file__).resolve().parent.parent)
    done = subprocess.run(
        [sys.executable, "-c", probe, *args],
        env=os.environ | {"PYTHONPATH": home},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=100,
        check=True,
    )
    packages = set(done.stderr.rpartition("LOADED ")[2].split())
    assert "layout" in packages
    assert packages & {"shapely", "numpy", "ezdxf", "svgwrite", "reportlab", "highspy"} == set()
