"""The job file's JSON Schema: what it says of a file is what the parser says, as far as a schema can say it.

Outside checks: the draft-07 metaschema and validator of `jsonschema`, and `taplo`, a linter of TOML that editors use.
"""

import copy
import datetime
import json
import random
import re
import shutil
import subprocess
import sys
import tomllib
from functools import cache
from pathlib import Path

import jsonschema
import pytest
import wild
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError
from typer.testing import CliRunner

from cli.app import app
from cli.samples import starter
from cli.schema import DIRECTIVE, NAME, schema_text
from layout import job, job_cutouts, job_joints, job_room, job_shop, job_tops, job_wood, prices, spellings
from layout.faults import JobError
from layout.job_values import FileBeside, Filled, Line, Table
from layout.job_wood import Pounds, Temperature
from layout.placed_references import KINDS
from layout.prices import Book
from layout.reading import load_located
from layout.schema import WRITTEN, descriptions, schema
from layout.species import names
from layout.units import LengthError, parse_length

ROOT = Path(__file__).resolve().parent.parent
SAMPLES = sorted((ROOT / "samples" / "jobs").glob("*.toml"))
SCHEMA = schema()
VALIDATOR = jsonschema.Draft7Validator(SCHEMA)


def plain(value):
    """A file's data as programs hand it to a schema: days as text, as taplo does."""
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [plain(inner) for inner in value]
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return value


def slips(data):
    """What the schema finds wrong, each with its place."""
    return [f"{'.'.join(map(str, e.absolute_path))}: {e.message[:200]}" for e in VALIDATOR.iter_errors(plain(data))]


def faults(text, folder=None):
    """What the parser finds wrong: what it found and what it expected."""
    try:
        load_located(text, "job.toml", folder)
    except JobError as error:
        return [f"{f.found}; expected {f.expected}" for f in error.faults]
    return []


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder with the templates that generated jobs name."""
    place = tmp_path_factory.mktemp("jobs")
    wild.put_templates(place)
    return place


# --- the schema itself ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("form", [SCHEMA, schema(Book, "A price book")], ids=["job", "prices"])
def test_the_schema_is_one_by_its_own_metaschema(form):
    assert form["$schema"] == jsonschema.Draft7Validator.META_SCHEMA["$schema"]
    jsonschema.Draft7Validator.check_schema(form)


def test_the_metaschema_would_tell_of_a_schema_that_is_none():
    with pytest.raises(jsonschema.SchemaError):
        jsonschema.Draft7Validator.check_schema({**SCHEMA, "properties": {"wall": {"type": "tabel"}}})


def inner(form):
    """Every schema within a schema."""
    if isinstance(form, dict):
        yield form
        for value in form.values():
            yield from inner(value)
    elif isinstance(form, list):
        for value in form:
            yield from inner(value)


@pytest.mark.parametrize("form", [SCHEMA, schema(Book, "A price book")], ids=["job", "prices"])
def test_every_reference_leads_somewhere_and_nothing_is_kept_that_nobody_asks_for(form):
    asked = {part["$ref"] for part in inner(form) if isinstance(part.get("$ref"), str)}
    assert asked <= {f"#/definitions/{name}" for name in form["definitions"]}
    assert set(form["definitions"]) <= {ref.rpartition("/")[2] for ref in asked}
    # in draft-07 what stands beside a reference does not count
    assert all(set(part) == {"$ref"} for part in inner(form) if isinstance(part.get("$ref"), str))
    assert not [part for part in inner(form) if part.get("type") == "null" or isinstance(part.get("kind"), str)]
    assert all(re.fullmatch(r"[A-Za-z-]+", name) for name in form["definitions"]), "part of an address"


def tables(form):
    """Every table of a schema that has keys of its own."""
    tops = [form["properties"]["top"]["items"]] if "top" in form["properties"] else []
    return [part for part in (form, *tops, *form["definitions"].values()) if "properties" in part]


MODELS = [
    model
    for module in (job_wood, job_shop, job_room, job_tops, job_cutouts, job_joints, job, prices)
    for model in vars(module).values()
    if isinstance(model, type) and issubclass(model, Table) and model.__module__ == module.__name__
]


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_every_field_says_what_it_means(model):
    said = descriptions(model)
    assert len(said) == len(model.model_fields)
    for key, text in said.items():
        assert text[0].isupper() or text[0] in '["', f"{key}: {text}"
        assert text.endswith((".", ".)")), f"{key}: {text}"
        assert "\n" not in text


@pytest.mark.parametrize("form", [SCHEMA, schema(Book, "A price book")], ids=["job", "prices"])
def test_every_property_of_the_schema_is_described_and_none_by_code(form):
    found = [(key, part) for table in tables(form) for key, part in table["properties"].items()]
    assert len(found) > 40
    found += [(name, part) for name, part in form["definitions"].items() if "description" in part]
    for key, part in found:
        text = part["description"]
        assert len(text) > 8, key
        assert not re.search(
            r"``|_mm\b|\b(None|tuple|Fraction|float|self|pydantic|reading|reader|rules\.py|once read)\b|\(\)", text
        ), f"{key}: {text}"


def test_a_key_that_the_reader_fills_in_tells_its_default_in_both_units():
    shop = SCHEMA["definitions"]["Shop"]
    assert "required" not in shop
    assert "Left out: 168 in or 4200 mm." in shop["properties"]["max_length"]["description"]
    assert "required" not in SCHEMA["definitions"]["Load"]
    assert SCHEMA["required"] == ["job", "wood", "top"]
    assert set(SCHEMA["definitions"]["RunTop"]["required"]) == {"name", "along", "depth"}


def test_a_default_that_the_schema_tells_is_one_that_may_be_typed():
    told = [(key, p) for table in tables(SCHEMA) for key, p in table["properties"].items() if p and "default" in p]
    assert len(told) > 40
    for key, part in told:
        form = {**part, "definitions": SCHEMA["definitions"]}
        assert jsonschema.Draft7Validator(form).is_valid(part["default"]), key
        for example in part.get("examples", ()):
            assert jsonschema.Draft7Validator(form).is_valid(example), key


def test_the_examples_of_kinds_of_value_are_of_their_kind():
    for name, part in SCHEMA["definitions"].items():
        for example in part.get("examples", ()):
            assert jsonschema.Draft7Validator(part).is_valid(example), name


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_is_valid(sample):
    assert slips(tomllib.loads(sample.read_text(encoding="utf-8"))) == []


def test_the_starter_and_the_prices_are_valid():
    assert slips(tomllib.loads(starter(Path("try.toml")))) == []
    book = plain(tomllib.loads((ROOT / "samples" / "prices.toml").read_text(encoding="utf-8")))
    assert jsonschema.Draft7Validator(schema(Book, "A price book")).is_valid(book)
    book["tax"][0]["percent"] = 101
    assert not jsonschema.Draft7Validator(schema(Book, "A price book")).is_valid(book)


# --- spellings -----------------------------------------------------------------------------------------------------

TAPES = {
    "length": (re.compile(spellings.length()), lambda _: True),
    "length-above-zero": (re.compile(spellings.length_above_zero()), lambda mm: mm > 0),
    "length-from-zero": (re.compile(spellings.length_from_zero()), lambda mm: mm >= 0),
}
SIGNS = [*" -−–'′’\"″”/⁄½⅜.,0123456789", "  ", "\u00a0", "\t", "''", "in", "in.", "mm", "cm", "m", "ft", "x", "\x1c"]
pieces = st.one_of(
    st.sampled_from(["2", "0", "11", "12", "25", "007", "100", "2.5", "11,5", ".5", "½", "15/16", "0/1", "8/8"]),
    st.builds("{}{}{}".format, st.integers(0, 1200), st.sampled_from("/⁄"), st.integers(0, 1200)),
    st.sampled_from([" ", "-", " - ", "'", '"', "''", "′", "″", " in", "mm", " cm", "' "]),
)
scraps = st.lists(st.sampled_from(SIGNS), max_size=9).map("".join)
numbers = st.sampled_from(["0", "3", "007", "11", "12", "25", "144"])
parts = st.one_of(st.builds("{}/{}".format, st.integers(0, 70), st.integers(0, 70)), st.sampled_from(["½", "⅞", "3⁄8"]))
gaps = st.sampled_from(["", " ", "-", " - ", "  ", "–"])
mixed = st.one_of(
    numbers, parts, st.builds("{}{}{}".format, numbers, gaps, parts), st.builds("{}.{}".format, numbers, numbers)
)
marks = st.sampled_from(["", " ", '"', "″", "''", " in", "in.", " mm", "cm", "m", " x"])
feet = st.builds("{}{}{}{}".format, numbers, st.sampled_from(["'", " ′ ", "''"]), gaps, st.one_of(st.just(""), mixed))
tapes = st.builds(
    "{}{}{}".format, st.sampled_from(["", "", "-", "− ", " ", "--"]), st.one_of(mixed, mixed, feet), marks
)
texts = st.one_of(tapes, tapes, st.lists(pieces, max_size=6).map("".join), scraps)


def read(text, holds):
    """Whether the parser takes a text as such a length; None where only its size is at fault."""
    for unit in ("mm", "in"):
        try:
            return holds(parse_length(text, unit).mm)
        except LengthError as error:
            if "longer than any room" not in str(error):
                return False
    return None


def same_verdict(text, seen):
    if len(text) > 40:
        return  # the schema has a length for that, and so has the parser
    for name, (pattern, holds) in TAPES.items():
        parsed = read(text, holds)
        # of numbers that long a pattern cannot tell which is the greater
        if parsed is None or re.search(r"[0-9]{4,}[/⁄]0*[0-9]{4,}", text):
            continue
        assert (pattern.search(text) is not None) == parsed, f"{name}: {text!r}"
        seen[parsed] += 1


@settings(max_examples=600, deadline=None)
@given(texts)
def test_a_pattern_takes_the_lengths_that_the_parser_takes(text):
    same_verdict(text, {True: 0, False: 0})


@pytest.mark.sweep
def test_a_pattern_takes_the_lengths_that_the_parser_takes_for_long():
    seen = {True: 0, False: 0}

    @settings(max_examples=12_000, deadline=None)
    @given(texts)
    def each(text):
        same_verdict(text, seen)

    each()
    assert min(seen.values()) > 3_000, "both verdicts are tried"


@pytest.mark.parametrize("above", range(33))
def test_every_fraction_of_a_tape_is_taken_and_no_other(above):
    pattern = TAPES["length-above-zero"][0]
    for below in (0, 1, 2, 3, 8, 10, 16, 32, 64, 100, 128, 999):
        for text in (f"{above}/{below}", f"5 0{above}/{below} in", f"2' 3-{above}/0{below}"):
            assert (pattern.search(text) is not None) == (0 < above < below), text


@pytest.mark.parametrize(
    "text", ["½5", "2½5 mm", "--1/2", "- -3/4", "1/2/3", "2.5 1/2", "2' 12", "2' -", "2' 6 in", "6'6'", "", "'", "/"]
)
def test_no_length_is_made_of_what_is_none(text):
    with pytest.raises(LengthError):
        parse_length(text, "in")
    assert TAPES["length"][0].search(text) is None


def takes(kind, text):
    try:
        TypeAdapter(kind).validate_python(text)
    except ValidationError:
        return False
    return True


WORDS = {
    "line": (Line, SCHEMA["definitions"]["line"]),
    "filled": (Filled, SCHEMA["definitions"]["filled-line"]),
    "file": (FileBeside, {"type": "string", "pattern": spellings.FILE_BESIDE, "maxLength": 400}),
    "load": (Pounds, {"type": "string", "pattern": f"^{spellings.LOAD_ABOVE_ZERO}$"}),
    "temperature": (Temperature, {"type": "string", "pattern": f"^{spellings.TEMPERATURE}$"}),
}
ODD = [*"ab./\\: \t\n\x1c\x85\u00a0\u2028\u200f\ufffe\u202e0159-,°FCkgl", "lb", "..", "kg"]
odd = st.lists(st.sampled_from(ODD), max_size=7).map("".join)


@pytest.mark.parametrize("word", WORDS)
@settings(max_examples=150, deadline=None)
@given(
    text=st.one_of(
        odd, st.from_regex(spellings.LOAD, fullmatch=True), st.from_regex(spellings.TEMPERATURE, fullmatch=True)
    )
)
def test_a_pattern_takes_the_words_that_the_models_take(word, text):
    kind, form = WORDS[word]
    if text.endswith("\n"):
        return  # Python's $ also matches before a last line end, which other dialects' does not
    assert jsonschema.Draft7Validator(form).is_valid(text) == takes(kind, text), repr(text)


# --- the same verdict ----------------------------------------------------------------------------------------------

WRONG = ["", "-1", "0", "1/64", "25 1/2", "12 mm", "1 1/0", "twelve", "A", "none", "front", 0, 1, -5, 7, 24, 0.5, 45.0, 1e9,
         True, False, [], {}, ["1"], ["1", "2"], [["1", "2"]], {"A": "1"}, "W" * 401, "a\u2028b",
         "window W1", datetime.date(2026, 3, 14)]  # fmt: skip
EXTRA = [*wild.KEYS, "scribe", "ledge", "strip", "mount", "template", "through", "beyond", "diagonal", "kind", "side"]


def changed(rng, data):
    """A job with one thing changed: a key dropped, added or misspelt, a value of another kind, a table in place of a list."""
    data = copy.deepcopy(data)
    holder, keys = rng.choice([p for p in wild._places(data) if p[1]])
    key = rng.choice(keys)
    how = rng.choice(["drop", "wrong", "wrong", "wrong", "unknown", "misspelt", "table", "bad"])
    if how == "drop":
        del holder[key]
    elif how == "wrong":
        holder[key] = copy.deepcopy(rng.choice(WRONG))
    elif how == "unknown" and isinstance(holder, dict):
        holder[rng.choice(EXTRA)] = copy.deepcopy(rng.choice(WRONG))
    elif how == "misspelt" and isinstance(holder, dict):
        holder[f"{key}s"] = holder.pop(key)
    elif how == "table":
        value = holder[key]
        holder[key] = value[0] if isinstance(value, list) and value else [value]
    elif isinstance(holder[key], str) and holder[key]:
        at = rng.randrange(len(holder[key]))
        holder[key] = holder[key][:at] + rng.choice("x/'-9 ") + holder[key][at + 1 :]
    return data


@cache
def sample_data(number):
    return tomllib.loads(SAMPLES[number].read_text(encoding="utf-8"))


def made(number):
    """A file of a number: a sample with one change, or one of `wild`, valid or with slips."""
    if number % 3:
        rng = random.Random(number)
        return wild.text_of(changed(rng, sample_data(number % len(SAMPLES))))
    return wild.made(number, number % 2)


WOODS = f'"({"|".join(map(re.escape, names()))})"'
CORNER, GROOVES, BAR = "corner-two-degrees-open", "grooves-and-a-natural-edge", "bar-with-a-curved-front"
GONE = object()
GROOVE = {"top": "island", "center": ["54", "18"], "size": ["14", "3/8"], "depth": "3/16"}
A_JOINT = {"top": "perimeter", "corner": "A/B"}
BEYOND = {
    "a name or number of one's own": (
        r"a name of its own|a mark that has no answer yet|one \[\[(joint|edge)\]\] for a (corner|side)",
        CORNER,
        {"cutout.1.name": "S1"},
    ),
    "a name that leads nowhere": (r"a \[\[\w+\]\] of that name", CORNER, {"window": GONE, "cutout.1": GONE}),
    "a name of something that is not there": (
        r"a (wall|top|window) of (this job|top \"|wall \")|a sink of |a run with a corner|a (corner|side) of (this run|top \")|"
        r"\"\w+\", the nearest of \d+|nothing: this run has no corner|one of its two walls|the number of an? (edge|point)",
        CORNER,
        {"appliance.0.wall": "C"},
    ),
    "a sink or a wall among few": (r"\"S\d*\"(, \"S\d*\")*( or \"S\d*\")?$", GROOVES, {"groove.0.sink": "K9"}),
    "walls in their order": (r"consecutive walls|each wall once", CORNER, {"top.0.along": ["B", "A"]}),
    "a depth for each wall of a run": (r"the depth along wall", CORNER, {"top.0.depth": {"A": "25"}}),
    "what places a thing on a run or elsewhere": (
        r"the wall it stands along|how far its front side lies|a point \[x, y\] in the frame|a station along its wall|"
        r"no \w+ on top|a run along walls|center = \[x, y\]: top|at = \.\.\. along the grain|no (wall|from): top|no from beside",
        CORNER,
        {"cutout.0.wall": GONE},
    ),
    "a station within its wall": (
        r"an? (station|right side)( that is still)? on wall|a station to the right of the start",
        CORNER,
        {"appliance.0.at": "120"},
    ),
    "a radius against a size": (r"a radius of at most half", CORNER, {"cutout.0.radius": "9"}),
    "stations that rise": (
        r"\[station, depth\] pairs whose stations rise|stations on the wall",
        GROOVES,
        {"edge.0.natural": [["2", "1"], ["1", "1"]]},
    ),
    "a triangle of tapes": (r"a diagonal between", CORNER, {"wall.0.corner": ["1", "2", "9"]}),
    "the lower first": (r"\[low, high\]", CORNER, {"site.humidity": [55, 30]}),
    "an outline that is one": (
        r"an outline that does not meet itself|a point apart|no closing point|the points counter-clockwise",
        BAR,
        {"top.0.outline": [["0", "0"], ["9", "9"], ["9", "0"], ["0", "9"]], "top.0.rise": GONE},
    ),
    "a rise within its edge": (r"at most half of the edge|a rise, or nothing", BAR, {"top.0.rise": {"1": "70"}}),
    "corners and overhangs within a size": (
        r"corners that fit the|overhangs that leave",
        GROOVES,
        {"top.1.corners": {"back left": {"radius": "35"}, "back right": {"radius": "38"}}},
    ),
    "too large or too small": (
        r"^.*(which is beyond (1,000 ft|300 m)|which has more digits)|expected (at least \S+ (in|mm)$|an? (wall|top|overhang) of at most)",
        CORNER,
        {"wall.0.length": "70'"},
    ),
    "too much on one top": (
        r"at most \d+ .* on one top",
        GROOVES,
        {"groove": [GROOVE | {"name": f"G{n}", "count": 40} for n in range(6)]},
    ),
    "a wood of the table": (
        rf"a wood of the table|{WOODS}(, {WOODS})*( or {WOODS})?$|its density at 12 %",
        CORNER,
        {"wood.species": "marzipan"},
    ),
    "a slip of a kind": (
        rf"\"({'|'.join(KINDS['appliance'] + KINDS['cutout'])})\"$",
        CORNER,
        {"appliance.0.kind": "dishwaser"},
    ),
    "what hangs on the shop's corners": (
        r"no (length|beyond) but for",
        CORNER,
        {"joint": [{**A_JOINT, "length": "2"}]},
    ),
    "an apron in a run": (
        r"0, or nothing: an apron sink",
        CORNER,
        {"cutout.0.mount": "apron", "cutout.0.reveal": GONE},
    ),
    "layers that are not two": (r"a layer name of its own", CORNER, {"cut": {"layers": {"DRILL": "NOTE"}}}),
    "a day as text, or text as a day": (
        r"^\d{4}-\d\d-\d\d; expected (text in quotes|a length)|^\"\d{4}-\d\d-\d\d\"; expected a date such as",
        CORNER,
        {"job.date": "2026-03-14"},
    ),
    "a whole number with a point": (
        r"^-?\d+\.0+; expected (a whole number|the number of a mark|1, 2, 4)",
        CORNER,
        {"top.0.seats": 2.0},
    ),
    "a template": (
        r"^in \S+\.dxf |expected a job read from a file",
        GROOVES,
        {"cutout.0.template": "none.dxf", "cutout.0.size": GONE, "cutout.0.radius": GONE},
    ),
}
"""What the parser refuses and no schema of one file's shape can: what it says then, and a sample changed so that it says so."""


def put(data, changes):
    """A copy of a job with values put at places; GONE: taken away."""
    data = copy.deepcopy(data)
    for path, value in changes.items():
        *steps, last = (int(step) if step.isdecimal() else step for step in path.split("."))
        holder = data
        for step in steps:
            holder = holder.setdefault(step, {}) if isinstance(holder, dict) else holder[step]
        if value is GONE:
            del holder[last]
        else:
            holder[last] = value
    return data


def by_name(stem):
    return sample_data([path.stem for path in SAMPLES].index(stem))


def beyond(said, fault):
    """Whether a fault is one of those meant: by what is expected, or from "^" on by all of it."""
    return re.search(said if said.startswith("^") else f"expected (?:{said})", fault) is not None


@pytest.mark.parametrize("reason", BEYOND)
def test_what_no_schema_can_say_does_occur(reason, folder):
    said, stem, changes = BEYOND[reason]
    data = put(by_name(stem), changes)
    assert slips(data) == []
    found = faults(wild.text_of(data), folder)
    assert [fault for fault in found if beyond(said, fault)], found


def verdict(number, folder):
    """Hold the schema's verdict on a file against the parser's; return both, or None where it is no TOML."""
    text = made(number)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None
    by_schema, by_parser = slips(data), faults(text, folder)
    if by_schema:
        assert by_parser, f"file {number}: the parser takes what the schema refuses: {by_schema}"
    else:
        missed = [fault for fault in by_parser if not any(beyond(said, fault) for said, _, _ in BEYOND.values())]
        assert missed == [], f"file {number}: the schema takes what the parser refuses"
    return not by_schema, not by_parser


def test_schema_and_parser_agree_on_files_with_a_slip_and_without(folder):
    seen = [verdict(number, folder) for number in range(300)]
    assert seen.count((True, True)) > 50
    assert seen.count((False, False)) > 100


@pytest.mark.sweep
def test_schema_and_parser_agree_on_thousands_of_files(folder):
    seen = [verdict(number, folder) for number in range(1000, 7000)]
    assert seen.count((True, True)) > 1500
    assert seen.count((False, False)) > 3000
    assert seen.count((True, False)) > 50


# --- another tool --------------------------------------------------------------------------------------------------

SINK, APPLIANCE = "cutout.0.", "appliance.0."
DAMAGED = {
    "a table that must be there": (CORNER, {"wood": GONE}),
    "a key that must be there": (CORNER, {"wall.0.length": GONE}),
    "no top": (CORNER, {"top": []}),
    "an unknown table": (CORNER, {"frobnicate": {"a": 1}}),
    "an unknown key": (CORNER, {"wood.colour": "brown"}),
    "a table in place of a list": (CORNER, {"wall": {"name": "A", "length": "9"}}),
    "a list in place of a table": (CORNER, {"wood": [{"species": "teak", "thickness": "1"}]}),
    "a bad word": (CORNER, {"wood.construction": "edge grane"}),
    "a unit that is none": (CORNER, {"job.units": "inch"}),
    "a length that is none": (CORNER, {"wall.0.length": "98 1/"}),
    "a fraction that is none": (CORNER, {"wall.0.length": "98 17/16"}),
    "twelve inches beside the feet": (CORNER, {"wall.0.length": "8' 12"}),
    "a length of nothing": (CORNER, {"wall.0.length": "0"}),
    "a negative length": (CORNER, {"top.0.splash": "-4"}),
    "a length that is a truth": (CORNER, {"wall.0.length": True}),
    "a name with a blank": (CORNER, {"wall.0.name": "A 1"}),
    "text that turns its direction": (CORNER, {"job.title": "one \u202etwo"}),
    "an angle out of range": (CORNER, {"wall.0.corner": 400}),
    "a pair of three": (CORNER, {"site.door": ["34", "80", "9"]}),
    "a profile that is none": (CORNER, {"wood.edge": "wavy"}),
    "a profile of no size": (CORNER, {"wood.edge": "roundover 0"}),
    "a load without a unit": (CORNER, {"load": {"point": "100"}}),
    "a temperature without a scale": (CORNER, {"site.temperature": "70"}),
    "a station without a wall": (CORNER, {"measure.0.from": "start"}),
    "a window without a name": (CORNER, {"cutout.0.center": "window"}),
    "two shapes of one top": (CORNER, {"top.0.size": ["9", "9"]}),
    "no shape of a top": (CORNER, {"top.0.along": GONE}),
    "a key of another shape": (GROOVES, {"top.1.splash": "4"}),
    "two sizes of one cutout": (CORNER, {"cutout.0.diameter": "9", "cutout.0.radius": GONE}),
    "no size of a cutout": (CORNER, {"cutout.0.size": GONE}),
    "a radius of what is round": (CORNER, {"cutout.1.radius": "1"}),
    "a mount of no sink": (CORNER, {"cutout.2.mount": "drop-in"}),
    "a ledge of no undermount": (GROOVES, {"cutout.0.mount": "drop-in"}),
    "a turned apron": (CORNER, {"cutout.0.mount": "apron", "cutout.0.turn": 5}),
    "a unit of no template": (CORNER, {"cutout.0.template_units": "in"}),
    "no place of a cutout": (CORNER, {"cutout.0.center": GONE}),
    "a sink without a side": (GROOVES, {"groove.0.side": GONE}),
    "a groove without a depth": (GROOVES, {"groove.0.depth": GONE}),
    "too many grooves": (GROOVES, {"groove.0.count": 41}),
    "a strip behind no slide-in range": (CORNER, {"appliance.0.strip": "2"}),
    "a corner taken off at a wall": (CORNER, {"top.0.right_end": "wall"}),
    "an edge that says nothing": (GROOVES, {"edge.0.natural": GONE}),
    "a length of a mitre": (CORNER, {"joint": [{**A_JOINT, "kind": "mitre", "length": "2"}]}),
    "a seam and a corner": (CORNER, {"joint": [{**A_JOINT, "at": "2"}]}),
    "a point that has no number": (BAR, {"top.0.corners": {"left": {"radius": "2"}}}),
    "too many stations": (CORNER, {"wall.0.bow": [[n, 0] for n in range(61)]}),
    "a layer that is none": (CORNER, {"cut": {"layers": {"CUT_OUTLINES": "A"}}}),
}
"""What a schema can say: a sample changed so that schema, parser and any other tool refuse it."""


@pytest.mark.parametrize("damage", DAMAGED)
def test_what_is_damaged_within_one_table_is_refused_by_both(damage):
    stem, changes = DAMAGED[damage]
    data = put(by_name(stem), changes)
    assert faults(wild.text_of(data)) != []
    assert slips(data) != []


def test_taplo_agrees_with_check(tmp_path):
    """taplo (MIT), by which editors complete and check TOML: what it refuses and takes is what `staveline check` does."""
    taplo = shutil.which("taplo") or shutil.which("taplo", path=Path(sys.executable).parent)
    if taplo is None:
        pytest.skip("taplo is not installed here (it comes with the extra `test`)")
    (tmp_path / NAME).write_text(schema_text(), encoding="utf-8")
    files = {f"good-{path.stem}": path.read_text(encoding="utf-8") for path in SAMPLES}
    files["good-starter"] = starter(Path("try.toml"))
    for number, (stem, changes) in enumerate(DAMAGED.values()):
        files[f"bad-{number}"] = wild.text_of(put(by_name(stem), changes))
    for name, text in files.items():
        (tmp_path / f"{name}.toml").write_text(DIRECTIVE + text, encoding="utf-8")
    # from another folder: the line names the schema beside the file
    result = subprocess.run(
        [taplo, "lint", "--colors", "never", *(str(tmp_path / f"{name}.toml") for name in files)],
        cwd=tmp_path.parent,
        capture_output=True,
        text=True,
        timeout=100,
        check=False,
    )
    refused = set(re.findall(r'schema validation failed path=".*?([^/\\"]+)\.toml"', result.stderr))
    assert refused == {name for name in files if name.startswith("bad-")}, result.stderr[-2000:]
    for name, text in files.items():
        assert (faults(text) != []) == (name in refused), name


# --- the command, and new ------------------------------------------------------------------------------------------


def run(*args):
    result = CliRunner().invoke(app, list(args))
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result


def test_the_command_prints_the_schema_in_the_same_bytes_each_time():
    result = run("schema")
    assert result.exit_code == 0
    assert result.stdout == run("schema").stdout == schema_text()
    assert json.loads(result.stdout) == SCHEMA
    assert result.stdout.startswith('{\n  "$schema": ')
    assert "½" in result.stdout, "UTF-8, not codes"
    assert json.loads(run("schema", "--prices").stdout)["title"] == "A price book of staveline"


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


LIKE = pytest.mark.parametrize("like", [[], ["--like", CORNER]], ids=["starter", "like"])


@LIKE
def test_new_puts_the_schema_beside_the_job(like, place):
    result = run("new", "try.toml", *like)
    assert (result.exit_code, result.stderr) == (0, "")
    assert sorted(path.name for path in place.iterdir()) == [NAME, "try.toml"]
    assert (place / NAME).read_text(encoding="utf-8") == schema_text()
    assert (place / "try.toml").read_text(encoding="utf-8").startswith("#:schema staveline.schema.json\n#")


@LIKE
def test_new_renews_an_older_schema_of_ours(like, place):
    (place / NAME).write_text(json.dumps({"$comment": WRITTEN, "type": "object"}))
    assert run("new", "try.toml", *like).exit_code == 0
    assert (place / NAME).read_text(encoding="utf-8") == schema_text()


def test_new_does_not_write_the_same_schema_again(place):
    run("new", "one.toml")
    before = (place / NAME).stat()
    run("new", "two.toml")
    after = (place / NAME).stat()
    assert (after.st_mtime_ns, after.st_ino) == (before.st_mtime_ns, before.st_ino)


FOREIGN = ["{}", "no JSON", '{"$comment": "mine"}', "[]", "[" * 100_000, "\0" * 2_000_001]


@pytest.mark.parametrize("content", FOREIGN, ids=["empty", "text", "comment", "list", "deep", "big"])
def test_new_leaves_a_foreign_file_of_that_name_and_says_so(content, place):
    (place / NAME).write_text(content)
    result = run("new", "try.toml")
    assert result.exit_code == 0
    assert "staveline.schema.json is none of ours and is left as it is" in result.stderr
    assert (place / NAME).read_text() == content
    text = (place / "try.toml").read_text(encoding="utf-8")
    assert "#:schema" not in text, "an editor would check by a schema that is of something else"
    assert faults(text) == []


def test_new_leaves_a_link_and_a_folder_of_that_name(place):
    (place / NAME).symlink_to(place / "elsewhere.json")
    assert "left as it is" in run("new", "one.toml").stderr
    assert not (place / "elsewhere.json").exists()
    (place / NAME).unlink()
    (place / NAME).mkdir()
    assert "left as it is" in run("new", "two.toml").stderr
    assert (place / NAME).is_dir()


def test_a_job_of_the_schema_s_name_is_not_written_over(place):
    result = run("new", NAME)
    assert result.exit_code == 0
    assert faults((place / NAME).read_text(encoding="utf-8")) == []
    assert [path.name for path in place.iterdir()] == [NAME]


def test_new_that_writes_no_job_writes_no_schema(place):
    (place / "try.toml").write_text("mine")
    assert run("new", "try.toml").exit_code == 3
    assert [path.name for path in place.iterdir()] == ["try.toml"]
