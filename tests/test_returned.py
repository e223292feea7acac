"""What comes back from sign-off: marks with their places, whether the drawing was altered, hostile files refused."""

import json
import math
import re
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import asdict
from functools import cache
from pathlib import Path

import pytest
from lean import be_lean, laid_once
from test_cli import HOLE, LEFT, ROOT, SLAB, ended, run

from layout import history
from layout.faults import printable
from layout.issue import for_sign_off, sheet_files
from layout.issued import read_issue
from layout.marks import Ground, marks_of
from layout.page_answers import MOST_JSON
from layout.returned import read_returned
from layout.sheets import draw
from layout.svg_comparison import compared
from layout.svg_content import svg_content
from layout.svg_reading import MOST_BYTES, MOST_DEPTH, MOST_ELEMENTS, ReturnError

NS = "{http://www.w3.org/2000/svg}"
ONE = SLAB + LEFT + HOLE.format(across="12 1/2")
"""One piece with a sink, nothing to ask."""
WIDE = SLAB + LEFT.replace('"40", "25"', '"60", "49"')
"""A piece wider than the 48 that is glued up: someone is asked."""
FOLDER = Path("out/J-1/issue-A")
ISSUED = {}
"""The files of issues made so far: an issue is the same each time."""
KEYS = ["number", "revision", "changed", "changes", "decision", "name", "date", "marks", "answers"]


@pytest.fixture(autouse=True)
def lean(monkeypatch):
    be_lean(monkeypatch)


@pytest.fixture
def issue(tmp_path, monkeypatch):
    """Return a function that issues a job in the current folder, which is a new one."""
    monkeypatch.chdir(tmp_path)

    def go(text=ONE, number="J-1"):
        Path("job.toml").write_text(text.replace("{number}", number), encoding="utf-8")
        if (text, number) not in ISSUED:
            run("issue", "job.toml")
            files = [p for p in Path("out", number).rglob("*") if p.is_file()]
            ISSUED[text, number] = {p: p.read_bytes() for p in files}
        for path, data in ISSUED[text, number].items():
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        return Path(f"out/{number}/issue-A")

    return go


@pytest.fixture
def sheet(issue):
    """Issue one job and return its first sheet's text."""
    return (issue() / "sheet-1.svg").read_text(encoding="utf-8")


@cache
def sample(name, number=1):
    """Return the text of a sample's sheet as it is issued."""
    layout = laid_once((ROOT / "samples" / "jobs" / f"{name}.toml").read_text(encoding="utf-8"), name)
    return sheet_files(for_sign_off(layout, draw(layout)))[f"sheet-{number}.svg"].decode()


def put(text, *bodies):
    """Return a sheet with something drawn after all else."""
    return text.replace("</svg>", "".join(bodies) + "</svg>")


def filled(text, **fields):
    """Return a sheet with the approval block's texts filled in, by the ends of their ids."""
    for name, words in fields.items():
        text, count = re.subn(rf'(id="approval-{name.replace("_", "-")}"[^>]*>)[^<]*', rf"\g<1>{words}", text)
        assert count == 1
    return text


SIGNED = {"approved": "X", "name": "R. Ansty", "date": "2 March 2026"}


def back(text, name="back.svg"):
    """Write what came back and return what is read of it."""
    Path(name).write_text(text, encoding="utf-8")
    return read_returned(Path(name))


def seen(ours, theirs):
    return compared(svg_content(ours.encode(), "ours"), svg_content(theirs.encode(), "theirs"), 1)


def told(changes):
    return [(c.what, c.kind, c.name, c.text) for c in changes]


# --- as it was issued ------------------------------------------------------------------------------------------------


def test_a_sheet_that_comes_back_as_it_went_out_is_unaltered_and_undecided(sheet):
    found = back(sheet)
    assert (found.number, found.revision, found.changed, found.changes) == ("J-1", "A", False, ())
    assert (found.decision, found.name, found.date, found.marks, found.answers) == (None, "", "", (), ())
    assert found.digest == read_issue(FOLDER)["digest"]


def test_name_day_and_decision_are_what_was_filled_in(sheet):
    found = back(filled(sheet, **SIGNED))
    assert (found.decision, found.name, found.date) == ("approved", "R. Ansty", "2 March 2026")
    assert not found.changed and found.marks == ()


@pytest.mark.parametrize(
    ("box", "decision"),
    [("approved", "approved"), ("as_noted", "approved as noted"), ("resubmit", "revise and resubmit")],
)
def test_a_box_is_ticked_by_a_word_in_it_or_by_a_mark_over_it(sheet, box, decision):
    assert back(filled(sheet, **{box: "yes"})).decision == decision
    x, y = place_of(sheet, f"approval-{box.replace('_', '-')}")
    cross = f'<path d="M {x - 2} {y - 3} l 4 4 m 0 -4 l -4 4" stroke="red" fill="none"/>'
    found = back(put(sheet, cross))
    assert (found.decision, found.changed, found.marks) == (decision, False, ())
    far = f'<path d="M {x - 22} {y - 3} l 4 4 m 0 -4 l -4 4" stroke="red" fill="none"/>'
    assert back(put(sheet, far)).decision is None


def place_of(text, id_):
    (found,) = [e for e in ET.fromstring(text).iter(f"{NS}text") if e.get("id") == id_]
    return float(found.get("x")), float(found.get("y"))


def test_two_ticks_decide_nothing_and_it_says_so(sheet):
    found = back(filled(sheet, approved="x", resubmit="x"))
    assert found.decision is None
    assert found.unclear == ("unclear: approved and revise and resubmit are ticked, so no decision is taken",)


def test_a_tick_that_was_carried_to_another_box_ticks_that_one(sheet):
    """The id still says resubmit, the eye sees a tick beside approved: whoever signed saw what the eye sees."""
    _, y = place_of(sheet, "approval-approved")
    moved = re.sub(r'(id="approval-resubmit"[^>]* y=")[^"]*', rf"\g<1>{y}", filled(sheet, resubmit="X"))
    assert back(moved).decision == "approved"


# --- altered ---------------------------------------------------------------------------------------------------------


def vertex_moved(text, kind, paper):
    """Return a sheet with the first vertex of the first path of a kind moved along x, mm on paper."""
    found = re.search(rf'class="{kind}" d="M ([\d.]+)', text)
    return text[: found.start(1)] + f"{float(found[1]) + paper:.4f}" + text[found.end(1) :]


@pytest.mark.parametrize("kind", ["piece", "cutout", "wall"])
def test_a_vertex_moved_by_a_sixteenth_of_an_inch_is_caught(kind):
    text = sample("run-broken-by-a-range")
    ratio = float(re.search(r'data-scale="1:(\d+)"', text)[1])
    found = seen(text, vertex_moved(text, kind, 25.4 / 16 / ratio))
    assert [(c.what, c.kind) for c in found.changes] == [("changed", kind)]
    assert found.added == ()
    assert seen(text, vertex_moved(text, kind, 0.002)).changes == (), "rounding of an editor"


def test_at_the_smallest_scale_too():
    """1/16 in is 0.008 mm at 1:200."""
    text = sample("run-broken-by-a-range")
    assert len(seen(text, vertex_moved(text, "piece", 25.4 / 16 / 200)).changes) == 1


def test_one_digit_changed_in_any_dimension_is_caught():
    text = sample("run-broken-by-a-range")
    places = [m.span(1) for m in re.finditer(r'<text class="dimension"[^>]*>([^<]*)<', text)]
    assert len(places) > 5
    for start, end in places:
        was = text[start:end]
        digit = re.search(r"\d", was)[0]
        now = was.replace(digit, str((int(digit) + 1) % 10), 1)
        (change,) = seen(text, text[:start] + now + text[end:]).changes
        plain = ET.fromstring(f"<t>{was}</t>").text, ET.fromstring(f"<t>{now}</t>").text
        assert (change.what, change.kind, change.text) == ("changed", "dimension", f"{plain[0]} is now {plain[1]}")


def element(text, pattern):
    found = re.search(pattern, text)
    assert found
    return found[0]


DOTTED = 'style="stroke-dasharray:0.1 9"'
CUTOUT = r'<path class="cutout"[^>]*data-name="S1"[^>]*/>'


def test_deleted_moved_and_hidden_things_are_named():
    text = sample("run-broken-by-a-range")
    cutout = element(text, CUTOUT)
    assert told(seen(text, text.replace(cutout, "")).changes) == [("deleted", "cutout", "S1", "")]
    for hide in (
        'display="none"',
        'visibility="hidden"',
        'style="stroke:#fff"',
        'opacity="0"',
        'style="stroke:none"',
        DOTTED,
    ):
        hidden = seen(text, text.replace(cutout, cutout.replace("/>", f" {hide}/>")))
        ((what, *rest),) = told(hidden.changes)
        # one that became white is still there, but not as it was
        assert (what, rest) == ("changed" if "#fff" in hide else "deleted", ["cutout", "S1", ""]), hide
    away = cutout.replace("/>", ' transform="translate(3 0)"/>')
    assert told(seen(text, text.replace(cutout, away)).changes) == [("moved", "cutout", "S1", "")]
    sheet = text.replace("</metadata>", "</metadata><style>.cutout{display:none}</style>")
    assert ("deleted", "cutout", "S1", "") in told(seen(text, sheet).changes)
    label = element(text, r'<text class="mark"[^>]*>P1</text>')
    assert told(seen(text, text.replace(label, "")).changes) == [("deleted", "mark", "P1", "P1")]


def test_a_patch_over_a_dimension_with_another_in_its_place_is_caught():
    text = sample("run-broken-by-a-range")
    label = element(text, r'<text class="dimension"[^>]*>58"</text>')
    x, y = (float(re.search(rf' {k}="([\d.]+)"', label)[1]) for k in "xy")
    patch = f'<rect x="{x - 6}" y="{y - 4}" width="12" height="5" fill="white"/>'
    found = seen(text, put(text, patch, f'<text x="{x}" y="{y}" font-size="3.5">59"</text>'))
    assert ("added", "shape", "", 'covers 58"') in told(found.changes)
    see_through = patch.replace('fill="white"', 'fill="yellow" fill-opacity="0.4"')
    assert seen(text, put(text, see_through)).changes == (), "a highlighter is a mark"


def test_the_same_written_another_way_is_the_same():
    """Groups moved there and back, attributes as style, millimetres as pixels, another order of attributes."""
    text = sample("island-with-seating")
    root = ET.fromstring(text)
    for e in root.iter():
        e.attrib.pop("class", None)
        if e.tag in (f"{NS}path", f"{NS}text"):
            moved = [
                f"{k}:{e.attrib.pop(k)}" for k in ("stroke", "fill", "stroke-width", "text-anchor") if k in e.attrib
            ]
            e.set("style", ";".join(moved))
    inner = ET.Element(f"{NS}g", {"transform": "matrix(2,0,0,2,-14,6)"})
    outer = ET.Element(f"{NS}g", {"transform": "scale(.5) translate(14 -6)"})
    outer.append(inner)
    for e in list(root):
        if e.tag == f"{NS}g":
            root.remove(e)
            inner.append(e)
    root.append(outer)
    for key in ("width", "height"):
        root.set(key, f"{float(root.get(key).removesuffix('mm')) * 96 / 25.4:.6f}")
    found = seen(text, ET.tostring(root, encoding="unicode"))
    assert (found.changes, found.added, found.share) == ((), (), 1.0)


def test_a_sheet_that_says_it_shows_another_layout_is_altered(sheet):
    found = back(re.sub(r"(<staveline:digest>)\w+", rf"\g<1>{'0' * 64}", sheet))
    assert found.changed
    assert found.digest == "0" * 64
    assert [(c.kind, c.name) for c in found.changes] == [("metadata", "digest")]


def test_an_animation_counts_as_altered(sheet):
    found = back(put(sheet, '<set attributeName="x" to="3"/>'))
    assert told(found.changes) == [("added", "foreign", "", "set")]


# --- marks -----------------------------------------------------------------------------------------------------------


def sink_on_paper(text):
    """Return where the sink's centre lines cross, mm of paper."""
    d = re.search(
        r'class="centre" d="M [\d.]+ ([\d.]+) L [\d.]+ [\d.]+ M ([\d.]+) [\d.]+ L [^"]*" data-name="S1"', text
    )
    return float(d[2]), float(d[1])


def test_a_note_with_a_leader_is_one_mark_with_its_place_in_plan(sheet):
    x, y = sink_on_paper(sheet)
    found = back(
        put(
            sheet,
            f'<path d="M {x} {y} L {x + 30} {y + 60}" stroke="red" fill="none"/>',
            f'<text x="{x + 31}" y="{y + 62}" font-size="4">sink to <tspan>42</tspan></text>',
        )
    )
    assert not found.changed
    (mark,) = found.marks
    assert (mark.sheet, mark.kind, mark.text) == (1, "note", "sink to 42")
    assert mark.at == pytest.approx((x, y), abs=0.01)
    assert mark.near.kind == "cutout" and mark.near.name == "S1"
    assert mark.plan == pytest.approx(centre_of_the_sink(), abs=0.02)


def centre_of_the_sink():
    """Return the middle of the sink's cutout in plan, inches, from what was laid out and not from a drawing."""
    layout = laid_once(ONE.replace("{number}", "J-1"), "job.toml")
    (cutout,) = layout.laid.cutouts
    xs = [v.at[0] for v in cutout.ring.vertices]
    ys = [v.at[1] for v in cutout.ring.vertices]
    return ((min(xs) + max(xs)) / 2 / 25.4, (min(ys) + max(ys)) / 2 / 25.4)


def test_marks_beside_a_piece_a_dimension_and_nothing():
    text = sample("run-broken-by-a-range")
    ours = svg_content(text.encode(), "ours")
    label = next(d for d in ours.drawn if d.cls == "dimension" and d.text == '58"')
    piece = next(d for d in ours.drawn if d.cls == "piece" and d.name == "P2")
    x0, y0, x1, y1 = piece.box
    spots = [(label.at[0], label.at[1]), (x0 + 0.85 * (x1 - x0), y0 + 0.5 * (y1 - y0)), (400.0, 20.0)]
    bodies = [f'<text x="{x}" y="{y}" font-size="3">see {n}</text>' for n, (x, y) in enumerate(spots)]
    found = seen(text, put(text, *bodies))
    marks = marks_of(found.added, 1, Ground(ours, "in"))
    assert [m.text for m in marks] == ["see 0", "see 1", "see 2"]
    assert [m.near and (m.near.kind, m.near.name or m.near.text) for m in marks][1:] == [("piece", "P2"), None]
    assert (marks[0].near.kind, marks[0].near.text) == ("dimension", '58"')
    assert marks[2].plan is None


@pytest.mark.parametrize("name", ["corner-sink-on-the-diagonal", "bay-of-three-walls", "metric-kitchen"])
def test_every_corner_of_a_piece_in_a_view_of_its_own_is_that_corner_in_plan(name):
    """The corners come from what was laid out, the places from the sheets alone."""
    layout = laid_once((ROOT / "samples" / "jobs" / f"{name}.toml").read_text(encoding="utf-8"), name)
    units = layout.job.job.units
    per = 25.4 if units == "in" else 1.0
    corners = {p.id: [v.at for v in p.ring.vertices] for p in layout.divided.pieces}
    drawing = for_sign_off(layout, draw(layout))
    held = set()
    for sheet_name, data in sheet_files(drawing).items():
        content = svg_content(data, sheet_name)
        ground = Ground(content, units)
        for d in content.drawn:
            if d.cls == "piece" and f"piece-{d.name}" in d.groups:
                (place,) = [p for p in content.places if p["view"] == f"piece-{d.name}"]
                scale = float(place["scale"].removeprefix("1:"))
                plan = ground.mark(1, "text", "", d.points[0]).plan
                away = min(math.dist((plan[0] * per, plan[1] * per), at) for at in corners[d.name])
                assert away < 0.02 * scale, (d.name, plan)
                held.add(d.name)
    assert held == set(corners)


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        ('<path d="M 200 150 L 240 150" stroke="red"/>', "line"),
        ('<polyline points="200,150 210,160 220,150 230,165" stroke="red" fill="none"/>', "freehand"),
        ('<ellipse cx="220" cy="150" rx="9" ry="4" stroke="red" fill="none"/>', "shape"),
        ('<text x="200" y="150">look</text>', "text"),
    ],
)
def test_each_kind_of_mark_is_told_apart_wherever_it_lies(sheet, body, kind):
    marked = [put(sheet, body), re.sub(r'(<g [^>]*id="markup"[^>]*?) ?/>', rf"\1>{body}</g>", sheet)]
    assert marked[1] != sheet
    for text in marked:
        found = back(text)
        assert [m.kind for m in found.marks] == [kind]
        assert not found.changed


# --- which issue -----------------------------------------------------------------------------------------------------


def test_the_issue_is_found_beside_the_file_in_out_or_as_given(sheet, tmp_path, monkeypatch):
    for place in (Path("back.svg"), Path("out/J-1/back.svg"), FOLDER / "back.svg", Path("mail/back.svg")):
        place.parent.mkdir(exist_ok=True)
        place.write_text(sheet)
        assert read_returned(place).number == "J-1"
    monkeypatch.chdir("mail")
    shutil.move("../out", "../kept")
    with pytest.raises(ReturnError, match="lies neither beside it nor in out"):
        read_returned(Path("back.svg"))
    for given in (tmp_path / "kept" / "J-1" / "issue-A", tmp_path / "kept" / "J-1", tmp_path / "kept"):
        assert read_returned(Path("back.svg"), given).number == "J-1"


def test_a_sheet_whose_metadata_an_editor_lost_is_told_by_what_it_shows(sheet):
    bare = re.sub(r"<metadata>.*</metadata>", "", sheet, flags=re.DOTALL)
    with pytest.raises(ReturnError, match="names no issue"):
        back(bare)
    found = read_returned(Path("back.svg"), FOLDER)
    assert [c.kind for c in found.changes] == ["metadata"] * 3
    assert "changed" in {c.what for c in found.changes}


def test_anothers_sheet_and_a_damaged_issue_are_refused(sheet, issue):
    other = issue(number="J-2")
    Path("back.svg").write_text(sheet)
    with pytest.raises(ReturnError, match=r"is of job J-1, revision A; .* is of job J-2"):
        read_returned(Path("back.svg"), other)
    (FOLDER / "sheet-2.svg").write_text("<svg/>")
    with pytest.raises(ReturnError, match=r"no longer as it was issued \(sheet-2.svg changed or gone\)"):
        read_returned(Path("back.svg"))


@pytest.mark.parametrize("name", ["../J-1", "/etc", "..", "J-1/../J-1", "J\u0000", "x" * 300])
def test_a_number_that_leads_elsewhere_is_no_number(sheet, name):
    with pytest.raises(ReturnError, match=r"cannot be one|not whole XML"):
        back(sheet.replace("<staveline:job>J-1<", f"<staveline:job>{name}<"))


# --- what the page saved ---------------------------------------------------------------------------------------------

PAGE = {
    "staveline_return": 1,
    "number": "J-1",
    "revision": "A",
    "digest": "",
    "decision": "approved as noted",
    "name": "R. Ansty",
    "date": "2026-03-02",
    "signature": [[[0, 0], [10.5, 3]]],
    "marks": [{"sheet": 1, "kind": "note", "points": [[100, 90.5], [140, 120]], "text": "round this"}],
    "answers": [],
}


def page(**other):
    return json.dumps(PAGE | {"digest": read_issue(FOLDER)["digest"]} | other)


def test_what_the_page_saved_is_read_with_its_answers(issue):
    issue(WIDE)
    (asked, *_) = read_issue(FOLDER)["questions"]
    found = back(
        page(answers=[{"id": "Q1", "answer": "two  parts"}, {"id": "Q1x", "answer": ""}][:1]), "J-1-A-returned.json"
    )
    assert (found.number, found.revision, found.changed, found.decision) == ("J-1", "A", False, "approved as noted")
    assert (found.name, found.date) == ("R. Ansty", "2026-03-02")
    assert [asdict(a) for a in found.answers] == [{**asked, "answer": "two parts"}]
    (mark,) = found.marks
    assert (mark.sheet, mark.kind, mark.text, mark.at) == (1, "note", "round this", (100.0, 90.5))
    other = back(page(digest="0" * 64), "J-1-A-returned.json")
    assert other.changed and other.changes[0].name == "digest"


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"staveline_return": 2}, "staveline_return"),
        ({"staveline_return": True}, "staveline_return"),
        ({"number": 7}, "number: expected a text"),
        ({"number": "../x"}, "cannot be one"),
        ({"decision": "cut it"}, "decision: expected one of"),
        ({"name": ["x"]}, "name: expected a text"),
        ({"name": "x" * 5000}, "name: expected a text"),
        ({"date": "2026-02-30"}, "date: expected a day"),
        ({"date": "20260302"}, "date: expected a day"),
        ({"marks": {}}, "marks: expected a list"),
        ({"marks": [1]}, r"marks\[1\]: expected an object"),
        ({"marks": [PAGE["marks"][0] | {"sheet": True}]}, r"marks\[1\].sheet"),
        ({"marks": [PAGE["marks"][0] | {"sheet": 99}]}, "mark 1 is on sheet 99"),
        ({"marks": [PAGE["marks"][0] | {"kind": "cut"}]}, r"marks\[1\].kind"),
        ({"marks": [PAGE["marks"][0] | {"points": []}]}, r"marks\[1\].points: expected a point"),
        ({"marks": [PAGE["marks"][0] | {"points": [[1e999, 0]]}]}, "Infinity where a number belongs"),
        ({"marks": [PAGE["marks"][0] | {"points": [[float("nan"), 0]]}]}, "NaN where a number belongs"),
        ({"marks": [PAGE["marks"][0] | {"points": [[10**400, 0]]}]}, "points of two numbers"),
        ({"marks": [PAGE["marks"][0] | {"points": [[1, 2, 3]]}]}, "points of two numbers"),
        ({"marks": PAGE["marks"] * 1001}, "marks: expected a list of at most"),
        ({"signature": [[["0", 1]]]}, r"signature\[1\]"),
        ({"answers": [{"id": "Q9", "answer": "x"}]}, "answers Q9, which the issue does not ask"),
        ({"answers": [{"id": "Q1", "answer": "x"}] * 2}, "one answer to a question"),
    ],
)
def test_a_page_file_with_anything_else_in_it_is_refused(issue, other, words):
    issue()
    with pytest.raises(ReturnError, match=words):
        back(page(**other), "r.json")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "not whole JSON"),
        ('{"a":' * 200_000, "too deep"),
        ('{"staveline_return": 1e999}', "staveline_return"),
        ("{" + " " * MOST_JSON, "more than 4 MB"),
        ('{"a": ' + "9" * 10_000 + "}", "not whole JSON"),
    ],
)
def test_json_that_is_damaged_or_made_to_harm_is_refused(issue, text, words):
    issue()
    with pytest.raises(ReturnError, match=words):
        back(text, "r.json")


# --- hostile files ---------------------------------------------------------------------------------------------------

SVG = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="9" height="9">{}</svg>'
BOMB = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10))
ATTACKS = {
    "entity bomb": f'<!DOCTYPE svg [<!ENTITY e0 "ha">{BOMB}]>' + SVG.format("<text>&e9;</text>"),
    "one long entity": f'<!DOCTYPE svg [<!ENTITY a "{"a" * 100_000}">]>'
    + SVG.format("<text>" + "&a;" * 5_000 + "</text>"),
    "outside entity": '<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>' + SVG.format("<text>&a;</text>"),
    "outside parameter": '<!DOCTYPE svg [<!ENTITY % a SYSTEM "http://127.0.0.1:9/a">%a;]>' + SVG.format(""),
    "script": SVG.format("<script>alert(1)</script>"),
    "handler": SVG.format('<path d="M0 0" onclick="alert(1)"/>'),
    "javascript link": SVG.format('<a href="javascript:alert(1)"><text>a</text></a>'),
    "foreign object": SVG.format("<foreignObject/>"),
    "outside picture": SVG.format('<image xlink:href="http://127.0.0.1:9/a.png"/>'),
    "outside use": SVG.format('<use xlink:href="other.svg#a"/>'),
    "outside style": SVG.format("<style>@import 'http://127.0.0.1:9/a.css';</style>"),
    "outside fill": SVG.format('<path d="M0 0L1 1" style="fill:url(http://127.0.0.1:9/a.svg#b)"/>'),
    "stylesheet": '<?xml-stylesheet href="http://127.0.0.1:9/a.css"?>' + SVG.format(""),
    "deep": SVG.format("<g>" * 20_000 + "</g>" * 20_000),
    "deep by use": SVG.format(
        '<g id="u0"/>' + "".join(f'<g id="u{n}">{f"""<use href="#u{n - 1}"/>""" * 20}</g>' for n in range(1, 9))
    ),
    "many elements": SVG.format("<g/>" * 300_000),
    "many attributes": SVG.format("<g " + " ".join(f'a{n}=""' for n in range(300_000)) + "/>"),
    "many points": SVG.format(f'<path d="M{"1 1 " * 400_000}"/>'),
    "huge numbers": SVG.format('<path d="M1e308 1e308L-1e308 1e308"/>'),
    "no SVG": "<html/>",
    "not whole": SVG.format("<g>"),
    "nothing": "",
    "binary": "\0\1\2",
}
WATCHED = """\
import sys, time
from pathlib import Path
from layout.returned import read_returned
from layout.svg_reading import ReturnError
def counted():
    start, n = time.process_time(), 0
    while n < 10_000_000:
        n += 1
    return time.process_time() - start
print(min(counted() for _ in range(3)))
for name in sys.argv[1:]:
    start = time.process_time()
    try:
        read_returned(Path(name))
        said = "read"
    except ReturnError as error:
        said = str(error).partition(chr(10))[0]
    # not ru_maxrss: that begins with what the process that started this one has
    peak = int(Path("/proc/self/status").read_text().partition("VmHWM:")[2].split()[0]) // 1024
    print(f"{time.process_time() - start:.3f} {peak} {said}")
"""


def test_attack_files_are_refused_within_a_second_and_200_mb(tmp_path):
    if not Path("/proc/self/status").exists():
        pytest.skip("this system does not tell what memory a process took")
    for n, text in enumerate(ATTACKS.values()):
        (tmp_path / f"{n}.svg").write_text(text, encoding="utf-8")
    with (tmp_path / "large.svg").open("wb") as large:
        large.write(SVG.format("")[:-6].encode())
        large.truncate(300 * 1024 * 1024)
    names = [*(f"{n}.svg" for n in range(len(ATTACKS))), "large.svg"]
    done = subprocess.run(
        [sys.executable, "-c", WATCHED, *names],
        cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    counted, *lines = done.stdout.splitlines()
    # a machine that is busy, or slow, has the time that it takes to count to forty million
    limit = max(1.0, 4 * float(counted))
    for name, line in zip([*ATTACKS, "300 MB"], lines, strict=True):
        seconds, peak, said = line.split(" ", 2)
        assert said != "read", name
        assert float(seconds) < limit, f"{name}: {line}; counted in {counted}"
        assert int(peak) < 200, f"{name}: {line}"
    assert "300 MB; at most 12 MB are read" in lines[-1]
    assert "entities" in lines[0] and "entities" in lines[2]


def test_a_document_type_alone_does_no_harm(sheet):
    """Some editors still write SVG 1.1's."""
    doctype = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    assert not back(sheet.replace("?>", f"?>{doctype}", 1)).changed


def test_the_limits_leave_room_for_every_sample():
    files = sorted((ROOT / "samples" / "drawings").rglob("sheet-*.svg"))
    assert len(files) > 50
    assert max(f.stat().st_size for f in files) * 20 < MOST_BYTES
    elements = max(f.read_text(encoding="utf-8").count("<") for f in files)
    assert elements * 5 < MOST_ELEMENTS
    assert MOST_DEPTH > 10


# --- the command -----------------------------------------------------------------------------------------------------


def test_what_came_back_is_put_beside_the_issue_and_into_the_history_once(sheet):
    Path("back.svg").write_text(filled(sheet, **SIGNED), encoding="utf-8")
    result = run("returned", "back.svg")
    ended(result, 0)
    assert "J-1: revision A came back: approved, R. Ansty, 2 March 2026" in result.stdout
    first = json.loads((FOLDER / "returned.json").read_text())
    assert list(first) == [*KEYS, "file", "sha256", "digest", "unclear"]
    assert "it is kept already" in run("returned", "back.svg").stdout
    Path("second.svg").write_text(filled(sheet, **SIGNED | {"name": "B. Ansty"}), encoding="utf-8")
    result = run("returned", "second.svg", "--json")
    ended(result, 0)
    assert json.loads(result.stdout) == json.loads((FOLDER / "returned-2.json").read_text())
    assert not (FOLDER / "returned-3.json").exists()
    lines = [e for e in history.read(FOLDER.parent) if e["what"] == "returned"]
    assert [(e["by"], e["decision"], e["file"], e["revision"]) for e in lines] == [
        ("R. Ansty", "approved", "back.svg", "A"),
        ("B. Ansty", "approved", "second.svg", "A"),
    ]
    assert lines[0]["sha256"] == first["sha256"]


def test_what_was_signed_in_the_sheet_is_released(sheet):
    Path("back.svg").write_text(filled(sheet, **SIGNED), encoding="utf-8")
    run("returned", "back.svg")
    ended(run("release", "job.toml", "--returned", "back.svg"), 0)
    ended(run("release", "job.toml", "--returned", FOLDER / "returned.json"), 0)
    altered = vertex_moved(filled(sheet, **SIGNED), "piece", 0.1)
    Path("altered.svg").write_text(altered, encoding="utf-8")
    result = run("release", "job.toml", "--returned", "altered.svg")
    ended(result, 1)
    assert "the drawing below the marks was altered: sheet 1: changed piece P1" in result.stdout


def test_an_altered_drawing_is_told_and_ends_with_1(sheet):
    Path("back.svg").write_text(sheet.replace(">P1</text>", ">P7</text>", 1), encoding="utf-8")
    result = run("returned", "back.svg")
    ended(result, 1)
    assert "sheet 1: changed: mark P1 P1 is now P7" in result.stdout


def test_sheets_that_come_back_together_are_one_return(sheet):
    Path("one.svg").write_text(filled(sheet, **SIGNED), encoding="utf-8")
    second = (FOLDER / "sheet-2.svg").read_text(encoding="utf-8")
    Path("two.svg").write_text(put(second, '<text x="100" y="100">wider</text>'), encoding="utf-8")
    found = json.loads(run("returned", "one.svg", "two.svg", "--json").stdout)
    assert (found["decision"], found["file"]) == ("approved", "one.svg, two.svg")
    assert [(m["sheet"], m["text"]) for m in found["marks"]] == [(2, "wider")]


def test_files_that_contradict_one_another_decide_nothing(sheet):
    Path("one.svg").write_text(filled(sheet, **SIGNED), encoding="utf-8")
    Path("two.svg").write_text(filled(sheet, resubmit="x", name="R. Ansty"), encoding="utf-8")
    result = run("returned", "one.svg", "two.svg")
    ended(result, 0)
    assert "came back: no decision, R. Ansty, 2 March 2026" in result.stdout
    assert "the files differ in their decision (approved, revise and resubmit), so none is taken" in result.stdout


def test_a_damaged_record_is_not_taken_for_an_approval(sheet):
    Path("back.svg").write_text(filled(sheet, **SIGNED), encoding="utf-8")
    run("returned", "back.svg")
    record = FOLDER / "returned.json"
    for text in ("{}", "[]", record.read_text().replace('"changed": false', '"changed": 0')):
        record.write_text(text)
        ended(run("release", "job.toml", "--returned", record), 2)
    assert not (FOLDER.parent / "released").exists()


def test_a_file_that_is_not_ours_ends_with_2_and_writes_nothing(sheet):
    before = sorted(Path("out").rglob("*"))
    Path("back.svg").write_text(sheet, encoding="utf-8")
    Path("script.svg").write_text(put(sheet, "<script>1</script>"), encoding="utf-8")
    Path("photo.png").write_bytes(b"\x89PNG")
    Path("back.pdf").write_bytes(b"%PDF-1.4")
    for names in (["script.svg", "back.svg"], ["photo.png"], ["back.pdf"], ["none.svg"], ["out"]):
        result = run("returned", *names)
        ended(result, 2)
        assert names[0] in result.stderr
    assert sorted(Path("out").rglob("*")) == before


def test_nothing_that_came_back_steers_a_terminal(sheet):
    evil = "a\u202eb\u009bc&#x7f;d\u2028e"
    Path("back.svg").write_text(
        put(filled(sheet, name=evil, approved="x"), f'<text x="9" y="90">{evil}</text>'), encoding="utf-8"
    )
    for args in ((), ("--json",)):
        result = run("returned", "back.svg", *args)
        ended(result, 0)
        shown = result.stdout.replace("\n", "")
        assert printable(shown) == shown or (args and shown.isascii())
        assert "b" in shown
    shown = run("returned", "e\u202evil\x1b.svg").stderr.replace("\n", "")
    assert "vil" in shown and printable(shown) == shown


# --- Inkscape, an editor that did not write our files ----------------------------------------------------------------


@pytest.fixture(scope="module")
def inkscape():
    """Return a function that lets Inkscape do its actions on sheets, in one run."""
    program = shutil.which("inkscape")
    if program is None:
        pytest.skip("there is no Inkscape here: no other editor's copy of a sheet to compare")

    def go(*lines):
        done = subprocess.run(
            [program, "--batch-process", "--shell"],
            input="\n".join(lines) + "\nquit\n",
            capture_output=True,
            text=True,
            timeout=100,
            check=False,
        )
        assert done.returncode == 0, done.stderr

    return go


def test_what_inkscape_writes_is_recognised_and_what_is_altered_there_is_caught(inkscape, tmp_path):
    """A plain export; marks added by its own actions; a vertex off by 1/16 in and a digit changed, both written by it."""
    text = sample("run-broken-by-a-range")
    digit = text.replace('>58"</text>', '>53"</text>', 1)
    assert digit != text
    for name, content in {
        "ours": text,
        "vertex": vertex_moved(text, "piece", 25.4 / 16 / 16),
        "digit": digit,
    }.items():
        (tmp_path / f"{name}.svg").write_text(content, encoding="utf-8")
    out = tmp_path / "out"
    out.mkdir()
    plain = "export-plain-svg;export-filename:{out}/{name}.svg;export-do;file-close"
    marked = (
        # the tap's hole as a red disc near the board's end, the number of a piece turned, a piece as a clone
        'select-by-selector:[data-name="F1"].cutout;duplicate;transform-translate:400,20;object-set-property:fill,#ff0000;'
        "select-clear;select-by-selector:text.mark;duplicate;transform-rotate:20;select-clear;"
        f"select-by-selector:.piece;clone;transform-translate:10,400;export-filename:{out}/marked.svg;export-do;file-close"
    )
    inkscape(
        *(f"file-open:{tmp_path}/{n}.svg;{plain.format(out=out, name=n)}" for n in ("ours", "vertex", "digit")),
        f"file-open:{tmp_path}/ours.svg;{marked}",
    )
    came = {p.stem: seen(text, p.read_text(encoding="utf-8")) for p in out.iterdir()}
    assert (out / "ours.svg").read_text(encoding="utf-8") != text
    assert (came["ours"].changes, came["ours"].added) == ((), ())
    assert came["marked"].changes == ()
    assert {d.text for d in came["marked"].added} >= {"", "P1", "P2", "S1"}
    assert sum(d.cls == "piece" for d in came["marked"].added) == 2
    assert told(came["vertex"].changes) == [("changed", "piece", "P1", "")]
    assert told(came["digit"].changes) == [("changed", "dimension", "kitchen stations", '58" is now 53"')]


@pytest.mark.sweep
def test_every_sheet_of_every_sample_comes_back_from_inkscape_unaltered(inkscape, tmp_path):
    files = sorted((ROOT / "samples" / "drawings").rglob("sheet-*.svg"))
    inkscape(
        *(
            f"file-open:{f};export-plain-svg;export-filename:{tmp_path}/{n}.svg;export-do;file-close"
            for n, f in enumerate(files)
        )
    )
    for n, f in enumerate(files):
        found = seen(f.read_text(encoding="utf-8"), (tmp_path / f"{n}.svg").read_text(encoding="utf-8"))
        assert (found.changes, found.added) == ((), ()), f
