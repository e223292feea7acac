"""Words of a job that mean something to the files they come out in: markup, codes of DXF, formulas, signs that steer a terminal.

They come out as the words that they are in SVG, DXF, CSV and on the terminal; what cannot be seen is refused when a job is read.
"""

from __future__ import annotations

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import ezdxf
import pytest
from ezdxf.tools.text import plain_text
from typer.testing import CliRunner

from cli.app import app
from cli.endings import DONE, NO, UNREADABLE, UNWRITTEN

HOSTILE = {
    "script": "<script>alert(1)</script>",
    "comment": "<!-- a & b ]]> &amp; &#60;",
    "attribute": "\" onload='x' /><image href='x'>",
    "diameter": "%%c 40 %%d %%p %%% %%065",
    "unicode code": r"\U+2205 \M+1C0 \P {\fArial;x}",
    "carets": "^J^M^I ^ end",
    "equals": "=1+1",
    "plus": "+49 30 1234",
    "minus": "-2+3",
    "at": "@SUM(1)",
    "shell": "$(touch x) `touch y` ; touch z",
    "rich": "[red]x[/red] [link=http://x]y[/link]",
    "format": "{0} {x!r} %s %n",
}
JOB = """\
[job]
title = {0}
number = "E-1"
units = "in"
customer = {0}
dealer = {0}
site = {0}
notes = [{0}]
[wood]
species = "own wood"
thickness = "1 1/2"
[field]
by = {0}
walls = "finished"
cabinets = "set"
[[species]]
name = "own wood"
like = "black walnut"
source = {0}
[[revision]]
letter = "A"
note = {0}
by = {0}
[[answer]]
mark = 1
answer = {0}
[[wall]]
name = "A"
length = "100"
[[top]]
name = "k"
along = ["A"]
depth = "25 1/2"
[[appliance]]
kind = {0}
top = "k"
wall = "A"
at = "60"
width = "24"
model = {0}
[[cutout]]
name = "S1"
kind = {0}
top = "k"
wall = "A"
center = "30"
setback = "4"
size = ["20", "14"]
model = {0}
"""
STEERING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069]")
SVG_TAGS = {
    "svg",
    "g",
    "path",
    "polyline",
    "polygon",
    "line",
    "circle",
    "rect",
    "text",
    "tspan",
    "title",
    "desc",
    "defs",
    "metadata",
}


def quoted(text):
    return json.dumps(text, ensure_ascii=False)


def written(folder, words):
    path = folder / "job.toml"
    path.write_text(JOB.format(quoted(words)), encoding="utf-8")
    return path


def invoked(*args):
    result = CliRunner().invoke(app, [str(a) for a in args])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result


DAILY = ("script", "diameter", "unicode code", "equals")
"""The others are tried with ``-m fuzz``."""


@pytest.fixture(
    scope="module",
    params=[name if name in DAILY else pytest.param(name, marks=pytest.mark.fuzz) for name in HOSTILE],
    ids=str,
)
def packet(request, tmp_path_factory):
    """The words, the job file, and the folder it was drawn into."""
    folder = tmp_path_factory.mktemp("escapes")
    path = written(folder, HOSTILE[request.param])
    result = invoked("draw", path, "--out", folder / "out")
    assert result.exit_code in (DONE, NO), result.output
    return HOSTILE[request.param], path, folder / "out" / "E-1"


def bare(text):
    """A text without its spaces: lines are broken where there is room."""
    return re.sub(r"\s", "", text)


def test_a_sheet_shows_the_words_and_holds_nothing_else(packet):
    words, _, folder = packet
    shown = ""
    for sheet in folder.glob("sheet-*.svg"):
        text = sheet.read_text(encoding="utf-8")
        root = ET.fromstring(text)
        tags = {e.tag.removeprefix("{http://www.w3.org/2000/svg}") for e in root.iter() if "urn:staveline" not in e.tag}
        assert tags <= SVG_TAGS
        assert not [k for e in root.iter() for k in e.attrib if k.lower().startswith("on") or k.endswith("href")]
        assert "<!--" not in text
        assert not STEERING.search(text.replace("\n", ""))
        shown += "".join(root.itertext())
    # title, customer, dealer, site, note and model at the least
    assert bare(shown).count(bare(words)) >= 6


def test_a_drawing_for_cad_reads_back_as_the_words(packet):
    words, _, folder = packet
    document = ezdxf.readfile(folder / "shop.dxf")
    texts = [e for layout in document.layouts for e in layout if e.dxftype() in ("TEXT", "ATTRIB")]
    for insert in (e for layout in document.layouts for e in layout.query("INSERT")):
        texts += insert.attribs
    read = bare("".join(plain_text(e.dxf.text) for e in texts))
    assert read.count(bare(words)) >= 4
    assert document.audit().errors == []


def test_cut_files_hold_no_words_but_their_own(packet):
    for file in packet[2].glob("cut/*.dxf"):
        document = ezdxf.readfile(file)
        assert document.audit().errors == []
        assert not STEERING.search(file.read_text(encoding="utf-8").replace("\n", "").replace("\r", ""))


def test_no_cell_of_a_table_is_a_formula(packet):
    words, _, folder = packet
    rows = list(csv.reader(io.StringIO((folder / "materials.csv").read_text(encoding="utf-8"), newline="")))
    assert {len(row) for row in rows} == {9}
    for cell in (cell for row in rows for cell in row):
        assert cell[:1] not in ("=", "+", "-", "@", "\t", "\r") or re.fullmatch(r"-?\d+(\.\d+)?", cell), cell
    assert [row for row in rows if row[0] == "cutout" and row[1] in (words, f"'{words}")]


def test_reports_hold_the_words_as_they_are(packet):
    words, _, folder = packet
    assert json.loads((folder / "report.json").read_bytes())["job"]["title"] == words.strip()
    json.loads((folder / "materials.json").read_bytes())


@pytest.mark.parametrize("command", ["check", "materials", "draw", "compare", "price"])
def test_the_terminal_shows_the_words_and_is_not_steered(packet, command, tmp_path):
    words, path, folder = packet
    book = Path(__file__).resolve().parent.parent / "samples" / "prices.toml"
    more = {
        "compare": (folder,),
        "draw": ("--out", tmp_path),
        "price": ("--book", book, "--out", tmp_path),
    }
    result = invoked(command, path, *more.get(command, ()))
    assert result.exit_code in (DONE, NO, UNREADABLE)
    assert not STEERING.search(result.output)
    if command in ("check", "materials"):
        assert words in result.output
    for table in tmp_path.rglob("price.csv"):
        for row in csv.reader(io.StringIO(table.read_text(encoding="utf-8"), newline="")):
            assert not [c for c in row if c[:1] in ("=", "+", "@", "\t", "\r")]


@pytest.mark.parametrize(
    "sign", ["\x00", "\x07", "\x1b[31m", "\x7f", "\x9b1m", "\r", "\n", "\u2028", "\u202e", "\u200f", "\u2067"]
)
def test_what_cannot_be_seen_is_refused_and_not_sent(tmp_path, sign):
    path = written(tmp_path, f"a{sign}b")
    # TOML wants some of these escaped; either way the job is told of, and the terminal is not
    texts = [path.read_text(encoding="utf-8"), JOB.format('"' + "".join(f"\\u{ord(c):04x}" for c in f"a{sign}b") + '"')]
    for text in texts:
        path.write_text(text, encoding="utf-8")
        for command in (["check"], ["materials"], ["draw", "--out", str(tmp_path / "out")]):
            result = invoked(command[0], path, *command[1:])
            assert result.exit_code == UNREADABLE
            assert not STEERING.search(result.output)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("sign", ["\x1b[31m", "\u202e", "\x9b1m", "\u2066"])
def test_a_report_from_elsewhere_does_not_steer_the_terminal(tmp_path, sign):
    path = written(tmp_path, "words")
    assert invoked("draw", path, "--out", tmp_path / "out").exit_code in (DONE, NO)
    report = tmp_path / "out" / "E-1" / "report.json"
    told = json.loads(report.read_bytes())

    def spoilt(value):
        if isinstance(value, str) and len(value) > 6 and " " in value:
            return f"{value}{sign}"
        if isinstance(value, dict):
            return {k: spoilt(v) for k, v in value.items()}
        return [spoilt(v) for v in value] if isinstance(value, list) else value

    report.write_text(json.dumps(spoilt(told)))
    for args in ((report, path), (path, report)):
        assert not STEERING.search(invoked("compare", *args).output)


@pytest.mark.parametrize("code", ["<script>", "\x1b[31mred", "\u202eabc", "[red]x", "%s", ""])
def test_explain_is_not_steered_by_what_is_asked(code):
    result = invoked("explain", "--", code)
    assert result.exit_code == UNREADABLE
    assert not STEERING.search(result.output)


def test_explain_says_nothing_unseen():
    assert not STEERING.search(invoked("explain").output)


@pytest.mark.parametrize("name", ["a\x07\x9b31m.toml", "b\u202e.toml"])
@pytest.mark.parametrize(
    "command", ["new", "check", "draw", "register", "import", "release", "issue", "price", "compare"]
)
def test_no_command_sends_a_file_name_raw(tmp_path, name, command):
    path = tmp_path / name
    if command in ("draw", "issue"):
        # a job of that name goes into a folder of that name, and then finds a file in its way
        path.write_bytes(written(tmp_path, "words").read_bytes())
        assert not STEERING.search(invoked(command, path, "--out", tmp_path / f"{name}-out").output)
        (tmp_path / f"{name}-file").write_text("")
        result = invoked(command, path, "--out", tmp_path / f"{name}-file")
        assert result.exit_code == UNWRITTEN
        assert not STEERING.search(result.output)
    args = {
        "new": (path,),
        "compare": (path, path),
        "import": (path, "--out", tmp_path / f"{name}x"),
        "release": (path, "--returned", path),
        "price": (path, "--book", path),
    }
    result = invoked(command, *args.get(command, (path,)))
    assert not STEERING.search(result.output)
