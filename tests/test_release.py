"""Letting the shop cut: only what was signed, every reason against it at once, whole or absent; and the register."""

import hashlib
import json
import xml.etree.ElementTree as ET
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

import pytest
from lean import be_lean
from mortal import Mortal
from test_cli import GOOD, HOLE, LEFT, SLAB, ended, inside, run
from test_sheets import texts

import cli.issue
import cli.release
from layout import folders, history
from layout.identity import digest_of
from layout.issued import read_issue
from layout.materials import materials
from layout.pipeline import lay_text
from layout.release import Signed, reasons
from layout.sheets import draw
from layout.writers import cut_dxf as writer
from layout.writers.cut_dxf import cut_dxf

NS = "{http://www.w3.org/2000/svg}"
ONE = SLAB + LEFT + HOLE.format(across="12 1/2")
"""One piece with a sink, nothing to ask."""
SKETCHED = ONE.replace('proof = "template"', 'proof = "sketch"')
"""The sink's size is not proven: on HOLD."""
STOPPED = SLAB + LEFT + HOLE.format(across="6 1/2")
ANSWER = '[[answer]]\nmark = {mark}\nanswer = "{words}"\n'
MARKS = [
    {"sheet": 1, "kind": "note", "text": "sink to 42", "at": [10.0, 20.0], "plan": [1.0, 2.0], "near": None},
    {"sheet": 2, "kind": "freehand", "text": "", "at": [30.0, 20.0], "plan": None, "near": None},
]
JOB = Path("out/J-1")


@pytest.fixture
def whole():
    """Asked for by a test that wants a real shop.dxf."""


@pytest.fixture(autouse=True)
def lean(request, monkeypatch):
    """Lay out and draw nothing twice, and write shop.dxf only for the tests that look at it."""
    be_lean(monkeypatch, dxf="whole" in request.fixturenames)


@dataclass(frozen=True, slots=True)
class Returned:
    """What came back, with the fields of returned.json."""

    number: str = "J-1"
    revision: str = "A"
    changed: bool = False
    changes: list[Any] = field(default_factory=list)
    decision: str | None = "approved"
    name: str = "R. Ansty"
    date: str = "2026-03-02"
    marks: list[Any] = field(default_factory=list)
    answers: list[Any] = field(default_factory=list)
    file: str = "back.svg"
    sha256: str = "5e" * 32
    digest: str = ""


@pytest.fixture
def job(tmp_path, monkeypatch):
    """Return a function that writes the job file; the folder is the current one."""
    monkeypatch.chdir(tmp_path)

    def write(text=ONE):
        path = Path("job.toml")
        path.write_text(text.replace("{number}", "J-1"), encoding="utf-8")
        return path

    return write


@pytest.fixture
def release(job, monkeypatch):
    """Return a function that issues one job, and releases the same or another by what it says came back."""

    def go(issued=ONE, now=None, *, again=False, **back):
        if not again:
            run("issue", job(issued))
        path = job(issued if now is None else now)

        def read_returned(file, folder):
            return Returned(**({"digest": read_issue(folder)["digest"]} | back))

        monkeypatch.setattr(cli.release, "read_returned", read_returned)
        Path("back.svg").write_text("<svg/>")
        return run("release", path, "--returned", "back.svg")

    return go


def refused(result, *words):
    """Hold that nothing was written, and that these reasons are told, one a line."""
    ended(result, 1)
    assert not (JOB / "released").exists()
    assert not any(e["what"] == "released" for e in history.read(JOB))
    lines = result.stdout.splitlines()
    assert lines[0].endswith("is not released; nothing was written:")
    assert len(lines) == 1 + len(words), result.stdout
    for line, word in zip(lines[1:], words, strict=True):
        assert word in line


# --- what the shop gets ----------------------------------------------------------------------------------------------


def test_what_was_signed_goes_to_the_shop_whole(release, whole):
    result = release()
    ended(result, 0)
    assert "J-1: revision A, approved by R. Ansty, 2026-03-02, released for cutting: 1 cut file" in result.stdout
    files = inside(JOB / "released")
    laid = lay_text(ONE.replace("{number}", "J-1"))
    sheets = [f"sheet-{s.number}.svg" for s in draw(laid, materials(laid)).sheets]
    assert sorted(files) == sorted(
        [
            "cut/P1.dxf",
            "cut/blanks.dxf",
            *sheets,
            "shop.dxf",
            "materials.json",
            "materials.csv",
            "report.json",
            "manifest.json",
        ]
    )
    assert files["cut/P1.dxf"] == cut_dxf(laid.divided.pieces[0], laid.job)
    manifest = json.loads(files["manifest.json"])
    assert {f["name"]: f["sha256"] for f in manifest["files"]} == {
        name: hashlib.sha256(data).hexdigest() for name, data in files.items() if name != "manifest.json"
    }
    issue = read_issue(JOB / "issue-A")
    assert manifest.items() >= {"number": "J-1", "title": "Slab", "revision": "A", "digest": issue["digest"]}.items()
    assert manifest["approved"] == {
        "decision": "approved",
        "name": "R. Ansty",
        "date": "2026-03-02",
        "file": "back.svg",
        "sha256": "5e" * 32,
    }
    assert json.loads(files["report.json"])["digest"] == issue["digest"]


def test_every_sheet_says_that_it_is_released_by_whom_and_when(release, whole):
    release()
    words = "RELEASED FOR CUTTING, revision A, approved by R. Ansty, 2026-03-02"
    for path in (JOB / "released").glob("sheet-*.svg"):
        root = ET.parse(path).getroot()
        said = [t.text for t in root.iter(f"{NS}text")]
        assert said.count(words) == 1
        assert "R. Ansty, 2026-03-02" in said
        assert "awaiting sign-off" not in said
    assert words in (JOB / "released" / "shop.dxf").read_text()


def test_the_history_tells_of_it(release):
    release()
    line = history.read(JOB)[-1]
    issue = read_issue(JOB / "issue-A")
    assert {k: v for k, v in line.items() if k != "when"} == {
        "what": "released",
        "revision": "A",
        "digest": issue["digest"],
        "by": "R. Ansty",
        "decision": "approved",
        "file": "back.svg",
        "sha256": "5e" * 32,
    }


def test_the_same_again_changes_nothing(release):
    release()
    before = inside(Path("out"))
    result = release(again=True)
    ended(result, 0)
    assert "is released already; nothing to do" in result.stdout
    assert inside(Path("out")) == before


def test_the_next_revision_takes_the_place_of_the_first(release):
    release()
    second = ONE.replace('title = "Slab"', 'title = "Slab"\nrevision = "B"').replace('"40"', '"44"')
    ended(release(second, revision="B"), 0)
    files = inside(JOB / "released")
    manifest = json.loads(files["manifest.json"])
    assert manifest["revision"] == "B"
    assert {*files} == {f["name"] for f in manifest["files"]} | {"manifest.json"}
    assert {p.name for p in JOB.iterdir()} == {"issue-A", "issue-B", "released", "history.jsonl"}
    assert [e["what"] + e["revision"] for e in history.read(JOB)] == ["issuedA", "releasedA", "issuedB", "releasedB"]


def test_marks_that_the_job_answers_may_be_cut_as_noted(release):
    answered = ONE + ANSWER.format(mark=1, words="moved to 42") + ANSWER.format(mark=2, words="seen")
    ended(release(ONE, answered, decision="approved as noted", marks=MARKS), 0)
    manifest = json.loads((JOB / "released" / "manifest.json").read_bytes())
    assert [(a["mark"], a["answer"]) for a in manifest["answers"]] == [(1, "moved to 42"), (2, "seen")]


# --- what is not released --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("back", "words"),
    [
        ({"number": "J-2"}, "the file that came back is for job J-2, the issue is job J-1: give the right one"),
        ({"revision": "B"}, "the file that came back is for revision B, the issue is revision A: give the right one"),
        ({"digest": "00" * 32}, "shows another layout than was issued"),
        ({"decision": "revise and resubmit"}, "the decision is: revise and resubmit. Do what the marks ask for"),
        ({"decision": None}, "no decision stands in the file"),
        ({"decision": ""}, "no decision stands in the file"),
        ({"name": ""}, "no name stands in the file"),
        ({"date": ""}, "no date stands in the file"),
        (
            {
                "changed": True,
                "changes": [{"sheet": 2, "what": "moved", "kind": "path", "name": "P1", "text": "", "at": None}],
            },
            "the drawing below the marks was altered: sheet 2: moved path P1. Have the issue signed",
        ),
        ({"changed": True}, "the drawing below the marks was altered"),
    ],
)
def test_an_answer_that_lets_nothing_be_cut(release, back, words):
    refused(release(**back), words)


def test_each_mark_wants_its_answer(release):
    one = ONE + ANSWER.format(mark=1, words="moved to 42")
    refused(
        release(ONE, one, decision="approved as noted", marks=MARKS),
        'mark 2 on sheet 2 has no answer: put [[answer]] with mark = 2 and answer = "..." into the job',
    )
    refused(
        release(again=True, decision="approved as noted", marks=MARKS),
        "mark 1 on sheet 1 (sink to 42) has no answer",
        "mark 2 on sheet 2 has no answer",
    )


def test_an_answer_from_before_the_issue_answers_no_mark_on_it(release):
    before = ONE + ANSWER.format(mark=1, words="moved to 42")
    refused(
        release(before, decision="approved as noted", marks=MARKS[:1]),
        "mark 1 on sheet 1 (sink to 42) has an answer from before it was issued",
    )
    anew = ONE + ANSWER.format(mark=1, words="moved to 42, see revision A")
    ended(release(now=anew, again=True, decision="approved as noted", marks=MARKS[:1]), 0)


def test_a_cut_file_that_comes_out_unsound_is_not_released(release, monkeypatch):
    monkeypatch.setattr(writer, "cut_dxf", lambda *a: cut_dxf(*a).replace(b"UNIT: INCH", b"UNIT: ELL"))
    refused(release(), "the cut file of P1 was not written")


def test_a_job_changed_after_signing_is_caught_and_told(release):
    wider = ONE.replace('"40"', '"40 1/16"')
    refused(release(ONE, wider), 'the job was changed after it was issued: P1 is 40 1/16" long, was 40"')
    noted = ONE.replace('title = "Slab"', 'title = "Slab"\nnotes = ["Ease it"]')
    refused(
        release(now=noted, again=True),
        "changed after it was issued: Job, notes: Ease it, was left out. Take it back",
    )


def test_a_job_on_hold_or_with_a_stop_is_not_cut(release):
    refused(release(SKETCHED), "on HOLD, cutout-unproven (S1): ")


def test_a_stop_is_not_cut(release):
    refused(release(STOPPED), "stop finding web-too-thin (S1): raise the setback of S1")


def test_every_reason_is_told_at_once(release):
    result = release(
        ONE,
        SKETCHED,
        changed=True,
        decision="revise and resubmit",
        name="",
        date="",
        digest="x",
    )
    refused(
        result,
        "its digest differs",
        "was altered",
        "revise and resubmit",
        "no name",
        "no date",
        "changed after it was issued",
        "on HOLD",
    )


def test_a_revision_that_was_not_issued_is_not_cut(release):
    release()
    second = ONE.replace('title = "Slab"', 'title = "Slab"\nrevision = "B"')
    before = inside(Path("out"))
    result = release(now=second, again=True)
    ended(result, 1)
    assert "revision B was not issued" in result.stderr
    assert inside(Path("out")) == before


def test_an_issue_given_by_its_folder_must_be_the_jobs(release, job):
    release(decision=None)
    second = ONE.replace('title = "Slab"', 'title = "Slab"\nrevision = "B"')
    result = run("release", job(second), "--returned", "back.svg", "--issue", JOB / "issue-A")
    refused(
        result, "the job stands at revision B, the issue is revision A: issue B and have that signed", "no decision"
    )
    other = ONE.replace("{number}", "J-9")
    result = run("release", job(other), "--returned", "back.svg", "--issue", JOB / "issue-A")
    refused(result, "the issue is of job J-1, this is job J-9", "no decision")


def test_an_older_revision_than_was_issued_is_not_cut(release, job):
    run("issue", job(ONE))
    run("issue", job(ONE.replace('title = "Slab"', 'title = "Slab"\nrevision = "B"')))
    refused(release(again=True), "revision B was issued after this one")


def test_an_issue_whose_files_were_changed_is_not_cut(release, job):
    run("issue", job())
    (JOB / "issue-A" / "sheet-1.svg").write_text("<svg/>")
    refused(release(again=True), "the issue's files are no longer those that went out (sheet-1.svg)")


def test_a_later_answer_counts(release, job):
    run("issue", job())
    for decision, which in (("approved", "5e" * 32), ("revise and resubmit", "7f" * 32)):
        history.append(JOB, "returned", revision="A", digest="d", decision=decision, file="b.svg", sha256=which)
    refused(release(again=True), "a later answer came back for this revision (b.svg: revise and resubmit)")


def test_an_answer_that_history_does_not_know_is_taken_for_the_latest(release, job):
    run("issue", job())
    history.append(JOB, "returned", revision="A", digest="d", decision="revise and resubmit", sha256="7f" * 32)
    ended(release(again=True), 0)


def test_what_the_dealer_wrote_steers_no_terminal(release):
    result = release(decision="\x1b[31mmaybe")
    ended(result, 1)
    assert "\x1b" not in result.output
    assert "maybe" in result.stdout


def test_a_name_of_any_characters_is_written_so_that_the_files_can_be_read(release, whole):
    ended(release(name="R.\x1b\ud800\n Ansty & <Söhne>"), 0)
    shown = "R.\ufffd\ufffd Ansty & <Söhne>"
    for path in (JOB / "released").glob("sheet-*.svg"):
        assert f"{shown}, 2026-03-02" in [t.text for t in ET.parse(path).getroot().iter(f"{NS}text")]
    assert json.loads((JOB / "released" / "manifest.json").read_bytes())["approved"]["name"] == shown
    assert history.read(JOB)[-1]["by"] == shown


def test_marks_on_what_is_approved_as_it_is_are_told_of(release):
    result = release(marks=MARKS)
    ended(result, 0)
    assert "2 marks on it, though it is approved as it is" in result.stdout


def test_an_issue_that_history_tells_otherwise_of_is_not_cut(release, job):
    run("issue", job())
    path = JOB / "issue-A" / "issue.json"
    path.write_text(path.read_text().replace(read_issue(JOB / "issue-A")["digest"], "00" * 32))
    refused(
        release(again=True),
        "the issue's files are no longer those that went out (issue.json)",
        "the job was changed after it was issued",
    )


def test_a_damaged_report_of_the_issue_stops_no_reasons(release, job):
    run("issue", job())
    (JOB / "issue-A" / "report.json").write_text('{"digest": "x", "tops": 5, "job": [], "pieces": [1]}')
    refused(
        release(now=ONE.replace('"40"', '"41"'), again=True),
        "no longer those that went out (report.json)",
        "the job was changed after it was issued",
    )


def test_what_the_shop_put_into_the_folder_is_not_thrown_away(release):
    release()
    (JOB / "released" / "order.txt").write_text("keep")
    second = ONE.replace('title = "Slab"', 'title = "Slab"\nrevision = "B"')
    result = release(second, revision="B")
    ended(result, 3)
    assert "holds what is not of a release (order.txt)" in result.stderr
    assert json.loads((JOB / "released" / "manifest.json").read_bytes())["revision"] == "A"


def test_a_release_that_lost_a_file_is_written_anew(release):
    release()
    before = inside(JOB / "released")
    (JOB / "released" / "cut" / "P1.dxf").unlink()
    ended(release(again=True), 0)
    assert inside(JOB / "released") == before


def test_reasons_of_a_layout_that_may_be_cut_are_none():
    laid = lay_text(ONE.replace("{number}", "J-1"))
    which = digest_of(laid)
    issue = {"staveline": "0", "number": "J-1", "revision": "A", "digest": which}
    back = {f.name: getattr(Returned(digest=which), f.name) for f in fields(Returned)}
    assert reasons(laid, Signed(issue, {}, "", (), back)) == []


def test_an_issue_of_another_version_of_the_program_says_so(release, job):
    run("issue", job())
    laid = lay_text(ONE.replace("{number}", "J-1"))
    issue = {"staveline": "0.0.9", "number": "J-1", "revision": "A", "digest": "d"}
    back = {f.name: getattr(Returned(digest="d"), f.name) for f in fields(Returned)}
    (only,) = reasons(laid, Signed(issue, {}, "", (), back))
    assert "issued by staveline 0.0.9" in only


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (
            ANSWER.format(mark=0, words="x"),
            "answer[1].mark: found 0; expected the number of a mark, a whole one from 1",
        ),
        (ANSWER.format(mark="true", words="x"), "answer[1].mark: found true; expected the number of a mark"),
        (ANSWER.format(mark=1, words=""), 'answer[1].answer: found ""; expected text that is not empty'),
        ('[[answer]]\nmark = 1\nreply = "x"\n', "answer[1].reply: found an unknown key"),
        (ANSWER.format(mark=1, words="x") * 2, "answer[2].mark: found 1, the mark of answer[1] too"),
        ('[[answers]]\nmark = 1\nanswer = "x"\n', '"answer", the nearest known one'),
    ],
)
def test_an_answer_is_read_with_care(job, text, fault):
    result = run("check", job(ONE + text))
    ended(result, 2)
    assert fault in result.stderr


# --- whole or absent -------------------------------------------------------------------------------------------------


@pytest.fixture
def quick(release, job, monkeypatch):
    """Return a function that releases revision B over A's release, everything but the writing done beforehand."""
    release()
    old = inside(JOB / "released")
    second = ONE.replace('title = "Slab"', 'title = "Slab"\nrevision = "B"')
    release(second, revision="B", decision=None)
    path, back = Path("job.toml"), Path("back.svg")
    # fewer files die as well as many
    made = {"cut/P1.dxf": b"cut", "sheet-1.svg": b"sheet"}
    manifest = {"staveline": "0", "number": "J-1", "title": "Slab", "revision": "B", "digest": "d"}
    listed = [{"name": n, "sha256": hashlib.sha256(d).hexdigest()} for n, d in made.items()]
    new = {**made, "manifest.json": json.dumps(manifest | {"files": listed}).encode()}
    laid = cli.issue.lay_for_sign_off(path)
    signed = cli.release._signed(back, JOB / "issue-B", JOB)
    monkeypatch.setattr(cli.release, "lay_for_sign_off", lambda _: laid)
    monkeypatch.setattr(cli.release, "_signed", lambda *_: signed)
    monkeypatch.setattr(cli.release, "reasons", lambda *_: [])
    monkeypatch.setattr(cli.release, "draw", lambda *_: None)
    monkeypatch.setattr(cli.release, "released_files", lambda *_: (new, []))
    return lambda: cli.release.release_job(path, back, None, Path("out")), old, new


@pytest.mark.parametrize("at_once", [True, False])
def test_a_run_that_dies_at_any_step_leaves_the_old_release_or_the_new(quick, monkeypatch, capsys, at_once):
    go, old, new = quick
    if not at_once:
        # a file system where two folders cannot change names in one step: for a moment nothing is released
        monkeypatch.setattr(folders, "_exchanged", lambda *_: False)
    elif not _exchanges():
        pytest.skip("this file system cannot let two folders change names in one step")
    lines = (JOB / "history.jsonl").read_bytes()
    mortal = Mortal(monkeypatch)
    step, done, seen = 1, False, []
    while not done:
        done = mortal.run(go, step)
        stands = inside(JOB / "released") if (JOB / "released").exists() else None
        assert stands in ([old, new] if at_once else [old, new, None])
        assert done <= (stands == new)
        seen.append("none" if stands is None else "old" if stands == old else "new")
        assert go() == 0
        assert inside(JOB / "released") == new
        assert {p.name for p in JOB.iterdir()} == {"issue-A", "issue-B", "released", "history.jsonl"}
        assert [e["what"] + e["revision"] for e in history.read(JOB)][3:] == ["releasedB"]
        folders.write_folder(JOB / "released", old, replace=True)
        (JOB / "history.jsonl").write_bytes(lines)
        step += 1
    assert list(dict.fromkeys(seen)) == (["old", "new"] if at_once else ["old", "none", "new"])
    assert step > 12
    capsys.readouterr()


def _exchanges():
    for name in "ab":
        Path(name).mkdir()
    return folders._exchanged(Path("a"), Path("b"))


# --- the register ----------------------------------------------------------------------------------------------------


def entries():
    result = run("register", "out", "--json")
    ended(result, 0)
    return json.loads(result.stdout)


def states():
    return [(e["number"], e["revision"], e["state"]) for e in entries()]


def test_the_register_follows_a_job_through_the_loop(release, job):
    run("draw", job(ONE))
    assert states() == [("J-1", "A", "drawn")]
    run("issue", job(ONE))
    assert states() == [("J-1", "A", "issued")]
    (JOB / "issue-A" / "returned.json").write_text("{}")
    assert states() == [("J-1", "A", "returned")]
    ended(release(again=True), 0)
    assert states() == [("J-1", "A", "released")]
    second = ONE.replace('title = "Slab"', 'title = "Slab"\nrevision = "B"')
    run("draw", job(second))
    assert states() == [("J-1", "A", "stale")]
    run("issue", job(second))
    assert states() == [("J-1", "B", "issued")]
    history.append(JOB, "returned", revision="B", digest="d", decision="approved")
    assert states() == [("J-1", "B", "returned")]


def test_a_job_changed_and_drawn_again_is_stale(job):
    run("issue", job(ONE))
    run("draw", job(ONE.replace('"40"', '"40 1/16"')))
    assert states() == [("J-1", "A", "stale")]
    run("draw", job(ONE))
    assert states() == [("J-1", "A", "issued")]


def test_the_register_is_a_plain_dated_list(job):
    run("issue", job(ONE))
    run("draw", job(ONE.replace("{number}", "H-20").replace("Slab", "Long slab")))
    Path("out/not a job").mkdir()
    day = history.read(JOB)[0]["when"][:10]
    result = run("register", "out")
    ended(result, 0)
    *lines, last = result.stdout.splitlines()
    assert [line.split(maxsplit=4) for line in lines] == [
        ["H-20", "A", "drawn", lines[0].split()[3], "Long slab"],
        ["J-1", "A", "issued", day, "Slab"],
    ]
    assert abs(int(lines[0].split()[3].replace("-", "")) - int(day.replace("-", ""))) < 9000
    assert last == "2 jobs in out"
    assert [{*e} for e in entries()] == [{"number", "title", "revision", "state", "date"}] * 2


def test_a_damaged_job_hides_no_other(job):
    run("issue", job(ONE))
    run("draw", job(ONE.replace("{number}", "H-20")))
    Path("out/H-20/report.json").write_text("[")
    result = run("register", "out")
    ended(result, 2)
    assert "report.json is damaged" in result.stderr
    assert "J-1" in result.stdout


def test_a_register_of_nothing(job):
    Path("out").mkdir()
    assert run("register", "out").stdout == "no jobs in out\n"
    result = run("register", "elsewhere")
    ended(result, 2)
    assert "could not look into elsewhere: No such file or directory" in result.stderr


def test_released_sheets_lie_clear(release):
    """The stamp's words reach no other text, at the length that a name may have."""
    name = "Bartholomew Featherstonehaugh-Winterbourne of the Marrowick Joinery Counter"
    ended(release(name=name), 0)
    from layout.stamps import STAMP, stamped  # noqa: PLC0415

    words = f"RELEASED FOR CUTTING, revision A, approved by {name}, 2026-03-02"
    for sheet in stamped(draw(lay_text(ONE.replace("{number}", "J-1"))), words, name).sheets:
        placed = texts(sheet)
        stamps = [pair for pair in placed if pair[0].name == STAMP]
        assert stamps
        for text, area in stamps:
            assert not [t.text for t, other in placed if t is not text and area.intersects(other)]


def test_the_fixture_job_is_sound():
    assert lay_text(GOOD.replace("{number}", "J-1")).held == ()
    assert lay_text(ONE.replace("{number}", "J-1")).findings == ()
