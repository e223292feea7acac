"""Freezing a revision: what it holds, that it stays as it is, its digest, its letters, and a run that dies half way."""

import hashlib
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import cache
from itertools import islice
from pathlib import Path

import pytest
from lean import be_lean, drawn_once
from mortal import Mortal
from test_cli import GOOD, STOPPED, WIDE, ended, inside, run
from test_sheets import faults, text_area, texts

import cli.issue as command
from layout import folders, history
from layout.identity import digest_of
from layout.issue import issue_files
from layout.lettering import text_width
from layout.materials import materials
from layout.page import SIZES
from layout.pipeline import lay_file, lay_text
from layout.plain_words import finding_words
from layout.revisions import LETTERS, next_letter, rank
from layout.sheets import draw
from layout.stamps import STAMP, stamped
from layout.writers.svg import svg_text

ROOT = Path(__file__).resolve().parent.parent
SAMPLES = {p.stem: p for p in sorted((ROOT / "samples" / "jobs").glob("*.toml"))}
OWN, NS = "{urn:staveline}", "{http://www.w3.org/2000/svg}"


@pytest.fixture
def job(tmp_path, monkeypatch):
    """Return a function that writes a job file; the folder is the current one. Nothing is laid out or drawn twice."""
    monkeypatch.chdir(tmp_path)
    be_lean(monkeypatch)

    def write(text=GOOD, **head):
        lines = "".join(f"{key} = {json.dumps(value)}\n" for key, value in head.items())
        path = tmp_path / "job.toml"
        path.write_text(text.replace("{number}", "J-1").replace("[field]", f"{lines}[field]", 1), encoding="utf-8")
        return path

    return write


def told(letter="A"):
    return json.loads(Path(f"out/J-1/issue-{letter}/issue.json").read_bytes())


@cache
def lay(text=GOOD):
    return lay_text(text.replace("{number}", "J-1"))


# --- letters ---------------------------------------------------------------------------------------------------------


def test_letters_follow_one_another_without_those_that_are_read_for_others():
    letters = ["A"]
    while len(letters) < 45:
        letters.append(next_letter(letters[-1]))
    assert letters[:20] == list("ABCDEFGHJKLMNPRTUVWY")
    assert letters[20:23] == ["AA", "AB", "AC"]
    assert letters[39:42] == ["AY", "BA", "BB"]
    assert [rank(x) for x in letters] == list(range(1, 46))
    assert not set("".join(letters)) & set("IOQSXZ")
    assert "".join(letters[:20]) == LETTERS
    assert next_letter("YY") == "AAA"


@pytest.mark.parametrize("text", ["", "a", "I", "1", "A1", "A ", "AAAA", "../A", "Ä"])
def test_what_is_no_letter_has_no_next(text):
    assert rank(text) is None
    with pytest.raises(ValueError, match="no revision letter"):
        next_letter(text)


@pytest.mark.parametrize("revision", ["", "0", "I", "a", "../x"])
def test_a_revision_that_is_no_letter_is_refused_with_its_place(job, revision):
    result = run("issue", job(revision=revision))
    ended(result, 2)
    assert f'job.revision: found "{revision}"' in result.stderr
    assert 'expected a revision letter, "A" for the first issue' in result.stderr
    assert re.search(r"job\.toml:\d+:\d+", result.stderr)
    assert not Path("out").exists()


# --- the digest ------------------------------------------------------------------------------------------------------


def test_a_digest_is_a_sha_256_and_the_same_each_time():
    assert re.fullmatch(r"[0-9a-f]{64}", digest_of(lay()))
    assert digest_of(lay()) == digest_of(lay_text(GOOD.replace("{number}", "J-1")))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('size = ["40", "25"]', 'size = ["40 1/16", "25"]'),
        ('size = ["40", "25"]', 'size = ["40 1/1000", "25"]'),
        ('species = "cherry"', 'species = "hard maple"'),
        ('thickness = "1 1/2"', 'thickness = "1 3/4"'),
        ('thickness = "1 1/2"', 'thickness = "1 1/2"\nedge = "ogee"'),
        ('thickness = "1 1/2"', 'thickness = "1 1/2"\nfinish = "mineral oil"'),
        ('thickness = "1 1/2"', 'thickness = "1 1/2"\nboards = "finger-jointed"'),
        ('title = "Slab"', 'title = "Slabs"'),
        ('title = "Slab"', 'title = "Slab"\nrevision = "B"'),
        ('title = "Slab"', 'title = "Slab"\nnotes = ["Ease all edges"]'),
        ('cabinets = "set"', 'cabinets = "not set"'),
        ('proof = "template"', 'proof = "sketch"'),
        ('mount = "drop-in"', 'mount = "undermount"'),
        ("[wood]", '[shop]\noverhang_limit = "9"\n[wood]'),
        ("[wood]", '[cut]\ncontours = "lines and arcs"\n[wood]'),
        ("[[cutout]]", '[[edge]]\ntop = "left"\nside = "front"\nprofile = "ogee"\n[[cutout]]'),
        ("[[cutout]]", '[[support]]\ntop = "left"\nkind = "post"\ncenter = ["5", "5"]\nsize = ["3", "3"]\n[[cutout]]'),
    ],
)
def test_whatever_the_sheets_show_changes_the_digest(old, new):
    assert old in GOOD
    assert digest_of(lay(GOOD.replace(old, new, 1))) != digest_of(lay())


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('title = "Slab"', 'title = "Slab"\ndate = 2026-03-02'),
        ('title = "Slab"', '# as told by telephone\ntitle = "Slab"'),
        ('size = ["40", "25"]', 'size = [40.0, "25"]'),
        ('size = ["40", "25"]', 'size = ["3\' 4\\"", "635 mm"]'),
        ('species = "cherry"', 'species = "black cherry"'),
        ('title = "Slab"', 'title = "Slab"\nrevision = "A"'),
        ("[[cutout]]", '[[answer]]\nmark = 1\nanswer = "moved to 42"\nby = "N. Farrier"\n[[cutout]]'),
    ],
)
def test_the_day_the_answers_and_the_spelling_do_not(old, new):
    assert old in GOOD
    assert digest_of(lay(GOOD.replace(old, new, 1))) == digest_of(lay())


def test_the_last_bit_of_a_figure_does_not(monkeypatch):
    """Another machine's sine may differ there: no tape falls on a limit between two steps. A share of strength may."""
    from layout import identity  # noqa: PLC0415

    plain = identity.facts

    def nudged(value, by):
        if isinstance(value, dict):
            return {k: v if k == "stress_ratio" else nudged(v, by) for k, v in value.items()}
        if isinstance(value, list):
            return [nudged(v, by) for v in value]
        return value + by if isinstance(value, float) else value

    for path in islice(SAMPLES.values(), 0, None, 3):
        layout = lay_file(path)
        first = digest_of(layout)
        for by in (1e-6, -1e-6):
            monkeypatch.setattr(identity, "facts", lambda of, by=by: nudged(plain(of), by))
            assert digest_of(layout) == first, path.stem
            monkeypatch.undo()


def test_sheets_of_draw_carry_the_digest_too(job):
    run("draw", job())
    which = digest_of(lay())
    assert json.loads(Path("out/J-1/report.json").read_bytes())["digest"] == which
    sheets = sorted(Path("out/J-1").glob("sheet-*.svg"))
    assert sheets
    for sheet in sheets:
        assert ET.parse(sheet).find(f"{NS}metadata/{OWN}digest").text == which


# --- fields to fill in -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", list(islice(SAMPLES, 0, None, 4)))
def test_the_approval_block_has_fields_to_fill_in_on_one_sheet(name):
    drawing = draw(lay_file(SAMPLES[name]))
    found = []
    for sheet in drawing.sheets:
        root = ET.fromstring(svg_text(sheet, drawing).encode())
        found.append({e.get("id"): e.text for e in root.iter(f"{NS}text") if e.get("id")})
    line, tick = "____________", "·"
    fields = {f"approval-{name}": line for name in ("name", "signature", "date")}
    boxes = {f"approval-{name}": tick for name in ("approved", "as-noted", "resubmit")}
    assert [f for f in found if f] == [fields | boxes]


# --- what an issue holds ---------------------------------------------------------------------------------------------


def test_an_issue_holds_what_it_lists_and_the_job_as_it_was(job):
    path = job(WIDE)
    result = run("issue", path)
    ended(result, 0)
    assert "J-1: revision A issued" in result.stdout
    assert "out/J-1/issue-A" in result.stdout
    files = inside(Path("out/J-1/issue-A"))
    about = told()
    assert {f["name"]: f["sha256"] for f in about["files"]} == {
        name: hashlib.sha256(data).hexdigest() for name, data in files.items() if name != "issue.json"
    }
    assert files["job.toml"] == path.read_bytes()
    layout = lay_text(path.read_text())
    drawing = draw(layout, materials(layout))
    assert about.items() >= {"number": "J-1", "title": "Slab", "revision": "A", "units": "in", "date": None}.items()
    assert about["digest"] == drawing.digest == json.loads(files["report.json"])["digest"]
    assert [(s["name"], s["number"], s["title"], s["size"]) for s in about["sheets"]] == [
        (f"sheet-{s.number}.svg", s.number, s.title, [round(s.width, 4), round(s.height, 4)]) for s in drawing.sheets
    ]
    for sheet in drawing.sheets:
        assert files[f"sheet-{sheet.number}.svg"].decode() == svg_text(sheet, drawing)
    assert about["held"] == list(layout.held)
    listed = json.loads(files["report.json"])
    assert about["findings"] == listed["findings"]
    assert {f["name"] for f in listed["files"]} == {s["name"] for s in about["sheets"]}


def test_each_question_is_an_open_one_in_words_for_the_dealer(job):
    run("issue", job(WIDE))
    asked = [f for f in lay(WIDE).findings if f.severity == "ask"]
    assert asked
    assert told()["questions"] == [
        {"id": f"Q{n}", "code": f.code, "subject": f.subject, "question": finding_words(f)}
        for n, f in enumerate(asked, start=1)
    ]


def test_the_pdf_bears_number_and_revision(job):
    pytest.importorskip("reportlab")
    ended(run("issue", job(revision="C"), "--pdf"), 0)
    files = inside(Path("out/J-1/issue-C"))
    assert files["J-1-C.pdf"].startswith(b"%PDF")
    assert "J-1-C.pdf" in [f["name"] for f in told("C")["files"]]


def test_issuing_is_told_to_the_history_once(job):
    path = job(drawn_by="N. Farrier")
    for _ in range(2):
        ended(run("issue", path), 0)
    (line,) = history.read(Path("out/J-1"))
    assert line.items() >= {"what": "issued", "revision": "A", "by": "N. Farrier", "digest": told()["digest"]}.items()


# --- a revision is issued once ---------------------------------------------------------------------------------------


def test_the_same_again_changes_nothing_and_says_so(job):
    path = job()
    run("issue", path)
    before = inside(Path("out"))
    result = run("issue", path)
    ended(result, 0)
    assert "issued already, as the job stands; nothing to do" in result.stdout
    assert inside(Path("out")) == before


def test_an_answer_added_later_is_no_other_content(job):
    run("issue", job())
    before = inside(Path("out"))
    result = run("issue", job(GOOD + '[[answer]]\nmark = 1\nanswer = "so be it"\n'))
    ended(result, 0)
    assert "nothing to do" in result.stdout
    assert inside(Path("out")) == before


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'size = ["48", "25"]',
            'size = ["48 1/16", "25"]',
            ['P2 is 48 1/16" long, was 48"'],
        ),
        ('center = ["20"', 'center = ["21"', ['The centre of S1 is 21" along the grain of left']),
        ('species = "cherry"', 'species = "hard maple"', ["The wood is Hard (sugar) maple, was Black cherry"]),
        ('title = "Slab"', 'title = "Slabs"', ["The job's title is Slabs, was Slab"]),
        ('title = "Slab"', 'title = "Slab"\ndate = 2026-03-02', ["date: not given is now 2026-03-02"]),
        ('title = "Slab"', 'title = "Slab"\nnotes = ["Ease it"]', ["Job, notes: Ease it, was left out"]),
        (
            'center = ["20", "12 1/2"]',
            'center = ["20", "6 1/2"]',
            ['The centre of S1 is 6 1/2" across', "web-too-thin"],
        ),
    ],
)
def test_other_content_is_refused_told_and_given_its_letter(job, old, new, said):
    run("issue", job())
    before = inside(Path("out"))
    assert old in GOOD
    result = run("issue", job(GOOD.replace(old, new, 1)))
    ended(result, 1)
    assert inside(Path("out")) == before
    assert "revision A was issued with other content and stays as it is" in result.stdout
    for words in said:
        assert words in result.stdout
    assert '[job] revision = "B"' in result.stdout


def test_the_next_letter_is_one_that_is_free(job):
    for letter in "AHJ":
        ended(run("issue", job(revision=letter)), 0)
    result = run("issue", job(WIDE, revision="A"))
    ended(result, 1)
    assert '[job] revision = "K"' in result.stdout


def test_a_letter_before_one_that_went_out_is_refused(job):
    run("issue", job(revision="C"))
    result = run("issue", job(revision="B"))
    ended(result, 1)
    assert "revision C is issued already" in result.stdout
    assert '[job] revision = "D"' in result.stdout
    assert not Path("out/J-1/issue-B").exists()


def test_the_next_revision_stands_beside_the_first(job):
    run("issue", job())
    before = inside(Path("out/J-1/issue-A"))
    ended(run("issue", job(WIDE, revision="B")), 0)
    assert inside(Path("out/J-1/issue-A")) == before
    assert told("B")["revision"] == "B"
    assert [e["revision"] for e in history.read(Path("out/J-1"))] == ["A", "B"]


def test_a_pdf_is_not_added_to_what_is_frozen(job):
    pytest.importorskip("reportlab")
    run("issue", job())
    before = inside(Path("out"))
    result = run("issue", job(), "--pdf")
    ended(result, 1)
    assert "issued without its PDF" in result.stdout
    assert inside(Path("out")) == before


def test_a_file_that_somebody_changed_is_named(job):
    run("issue", job())
    sheet = Path("out/J-1/issue-A/sheet-2.svg")
    sheet.write_bytes(sheet.read_bytes().replace(b"25", b"26", 1))
    Path("out/J-1/issue-A/report.json").unlink()
    result = run("issue", job())
    ended(result, 1)
    assert "no longer as it was issued: sheet-2.svg, report.json changed or gone" in result.stdout


@pytest.mark.parametrize("data", [b"", b"{}", b"[" * 9999, b'{"number": "J-1", "digest"', b"\xff"])
def test_a_damaged_issue_is_told_and_left_alone(job, data):
    run("issue", job())
    Path("out/J-1/issue-A/issue.json").write_bytes(data)
    before = inside(Path("out"))
    result = run("issue", job())
    ended(result, 3)
    assert "issue.json is damaged" in result.stderr
    assert inside(Path("out")) == before


def test_a_folder_of_that_name_that_is_no_issue_is_left_alone(job):
    Path("out/J-1/issue-A").mkdir(parents=True)
    Path("out/J-1/issue-A/theirs.txt").write_text("keep")
    result = run("issue", job())
    ended(result, 3)
    assert "stands already and is left as it is" in result.stderr
    assert inside(Path("out")) == {"J-1/issue-A/theirs.txt": b"keep"}


def test_a_link_in_place_of_the_jobs_folder_is_refused(job):
    Path("elsewhere").mkdir()
    Path("out").mkdir()
    Path("out/J-1").symlink_to(Path("elsewhere").absolute())
    result = run("issue", job())
    ended(result, 3)
    assert "is a link" in result.stderr
    assert not list(Path("elsewhere").iterdir())


def test_draw_leaves_an_issue_alone(job):
    run("issue", job())
    before = inside(Path("out/J-1"))
    run("draw", job(WIDE))
    after = inside(Path("out/J-1"))
    assert after.items() > before.items()


# --- stamps ----------------------------------------------------------------------------------------------------------


def test_a_stop_stamps_every_sheet_and_is_listed(job):
    result = run("issue", job(STOPPED))
    ended(result, 1)
    assert "not for sign-off" in result.stdout
    about = told()
    assert [f["code"] for f in about["findings"] if f["severity"] == "stop"] == ["web-too-thin"]
    assert about["held"] == ["web-too-thin"]
    for sheet in about["sheets"]:
        root = ET.parse(f"out/J-1/issue-A/{sheet['name']}").getroot()
        (group,) = [g for g in root.iter(f"{NS}g") if g.get("id") == STAMP]
        assert [t.text for t in group.iter(f"{NS}text")] == ["NOT FOR SIGN-OFF: 1 stop finding"]
        size = float(group.find(f"{NS}text").get("font-size")) * 0.716
        assert size >= 4.9
    again = run("issue", job(STOPPED))
    ended(again, 1)
    assert "nothing to do" in again.stdout


def test_without_a_stop_nothing_is_stamped(job):
    run("issue", job(WIDE))
    assert b"SIGN-OFF" not in b"".join(inside(Path("out/J-1/issue-A")).values())


LONG = (
    "RELEASED FOR CUTTING, revision AA, approved by Bartholomew Featherstonehaugh-Winterbourne of Marrowick, 2026-03-02"
)


@pytest.mark.parametrize("words", ["NOT FOR SIGN-OFF: 12 stop findings", LONG])
@pytest.mark.parametrize("name", list(islice(SAMPLES, 1, None, 6)))
def test_a_stamp_lies_on_nothing_and_moves_nothing(name, words):
    plain = drawn_once(lay_file(SAMPLES[name]))
    marked = stamped(plain, words, "N. Farrier, 2026-03-02")
    assert faults(replace(marked, sheets=tuple(_unstamped(s) for s in marked.sheets))) == []
    for before, sheet in zip(plain.sheets, marked.sheets, strict=True):
        assert _unstamped(sheet).views == before.views
        assert sheet.fields == before.fields | {"approved by": "N. Farrier, 2026-03-02"}
        assert [g.id for g in sheet.groups] == [*(g.id for g in before.groups), STAMP]
        width, height = SIZES[sheet.size]
        stamps = [(t, a) for t, a in texts(sheet) if t.name == STAMP]
        assert " ".join(t.text for t, _ in reversed(stamps)) == words
        for text, area in stamps:
            x0, y0, x1, y1 = area.bounds
            assert x0 > 20 and x1 < width / 2 - 1 and y0 > height - 10 and y1 < height - 1.5
            assert not any(area.intersects(other) for t, other in texts(sheet) if t is not text)


def _unstamped(sheet):
    return replace(sheet, groups=tuple(g for g in sheet.groups if g.id != STAMP))


@pytest.mark.parametrize("size", ["A0", "A3", "A4", "ANSI A", "ANSI E"])
def test_a_stamp_fits_every_size_of_sheet(size):
    text = GOOD.replace("{number}", "J-1").replace("[field]", f'[sheet]\nsize = "{size}"\n[field]')
    sheet = stamped(draw(lay_text(text)), LONG, "x").sheets[0]
    stamp = [t for t, _ in texts(sheet) if t.name == STAMP]
    assert " ".join(t.text for t in reversed(stamp)) == LONG
    assert all(t.at[0] + text_width(t.text, t.height, True) < SIZES[size][0] / 2 - 1 for t in stamp)
    areas = [text_area(t, 1.0, 0.0, 0.0) for t in stamp]
    assert not any(a.intersects(b) for k, a in enumerate(areas) for b in areas[k + 1 :])


# --- whole or absent -------------------------------------------------------------------------------------------------


@pytest.fixture
def quick(job, monkeypatch):
    """Return a function that issues the job, everything but the writing done beforehand."""
    path = job()
    layout, text = command.lay_for_sign_off(path)
    drawing = draw(layout)
    drawing = replace(drawing, sheets=drawing.sheets[:1])
    files = issue_files(layout, drawing, text)
    monkeypatch.setattr(command, "lay_for_sign_off", lambda _: (layout, text))
    monkeypatch.setattr(command, "draw", lambda *_: drawing)
    monkeypatch.setattr(command, "issue_files", lambda *_, **__: files)
    monkeypatch.setattr(command, "sheet_files", lambda _: {n: d for n, d in files.items() if n.startswith("sheet-")})
    return lambda: command.issue_job(path, Path("out")), files


def test_a_run_that_dies_at_any_step_leaves_nothing_or_the_whole(quick, monkeypatch, capsys):
    issue, files = quick
    mortal = Mortal(monkeypatch)
    step, done, seen = 1, False, set()
    while not done:
        done = mortal.run(issue, step)
        stands = Path("out/J-1/issue-A").exists()
        if stands:
            assert inside(Path("out/J-1/issue-A")) == files
        assert stands or not done
        seen.add(stands)
        # the next run finishes what this one began, and leaves nothing of it
        assert issue() == 0
        assert inside(Path("out/J-1/issue-A")) == files
        assert {p.name for p in Path("out/J-1").iterdir()} == {"issue-A", "history.jsonl"}
        assert [e["what"] for e in history.read(Path("out/J-1"))] == ["issued"]
        _clear(Path("out"))
        step += 1
    assert seen == {False, True}
    assert step > 3 * len(files)
    capsys.readouterr()


def _clear(folder):
    for path in sorted(folder.rglob("*"), reverse=True):
        path.rmdir() if path.is_dir() else path.unlink()
    folder.rmdir()


def test_a_full_disk_at_any_step_is_told_and_leaves_nothing(quick, monkeypatch, capsys):
    import errno  # noqa: PLC0415
    import os  # noqa: PLC0415

    issue, files = quick
    count = {"left": 0}
    real = os.write

    def write(handle, data):
        count["left"] -= 1
        if count["left"] < 0:
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(handle, data)

    monkeypatch.setattr(os, "write", write)
    for room in range(len(files)):
        count["left"] = room
        assert issue() == 3
        assert "No space left on device" in capsys.readouterr().err
        assert list(Path("out/J-1").iterdir()) == []


def test_a_run_at_work_is_not_swept_away(job, monkeypatch):
    Path("out/J-1/.staveline-1-issue-A").mkdir(parents=True)
    (Path("out/J-1") / ".staveline-999999999-issue-A").mkdir()
    monkeypatch.setattr(folders, "_at_work", lambda pid: pid == 1)
    ended(run("issue", job()), 0)
    assert {p.name for p in Path("out/J-1").iterdir()} == {".staveline-1-issue-A", "issue-A", "history.jsonl"}


def test_whether_a_process_runs_is_asked_of_the_system():
    import os  # noqa: PLC0415

    assert not folders._at_work(os.getpid()), "its own leftovers are an earlier process's of that number"
    assert folders._at_work(os.getppid())
    assert not folders._at_work(2**22 + 12345)
    assert not folders._at_work(10**30)
