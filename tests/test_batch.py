"""Many jobs at once: shared out among processes, told of in a table or in lines, broken off and taken up again."""

import gc
import json
import os
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

import pytest
from ezdxf.document import Drawing as Document
from lean import be_lean
from test_cli import BROKEN, GOOD, STOPPED, ended, inside, listed, run

import cli
import cli.checking
import cli.drawing
import cli.loading
from cli.batch import _draw, _guarded
from cli.outcome import Wish
from cli.processes import Died, Interrupt, share, wanted
from layout.folders import PART
from layout.packet import digest, standing
from layout.pipeline import lay_file
from layout.report import report
from layout.version import VERSION

TOP = GOOD[: GOOD.index("[[top]]", GOOD.index("[[top]]") + 1)]
"""One slab: the least there is to draw."""


@pytest.fixture
def jobs(tmp_path, monkeypatch):
    """Return a function that writes job files into a folder and returns them; the folder above is the current one."""
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "jobs"
    folder.mkdir()

    def write(**texts):
        paths = []
        for name, text in texts.items():
            path = folder / f"{name}.toml"
            path.write_text(text.replace("{number}", f"J-{name}"), encoding="utf-8")
            paths.append(path.relative_to(tmp_path))
        return paths

    return write


def lines(result):
    """Return what was told in lines of JSON."""
    return [json.loads(line) for line in result.stdout.splitlines()]


def whole(out):
    """Return the numbers of the packets in a folder, held to be whole; a folder without a report is none."""
    numbers = []
    for folder in sorted(out.iterdir()):
        if (folder / "report.json").is_file():
            files = inside(folder)
            assert listed(folder) == {n: digest(data) for n, data in files.items() if n != "report.json"}
            numbers.append(folder.name)
    return numbers


# --- processes -----------------------------------------------------------------------------------------------------


def test_tasks_are_all_done_whichever_process_dies_at_one():
    """``eval`` is work that any process can import. One task kills its process as a lack of memory would."""
    tasks = [f"{n} * {n}" for n in range(5)]
    tasks[1] = "__import__('os').kill(__import__('os').getpid(), 9)"
    tasks[3] = "__import__('os')._exit(7)"
    done = dict(share(eval, tasks, 2, Interrupt()))
    assert sorted(done) == [0, 1, 2, 3, 4]
    assert [done[k] for k in (0, 2, 4)] == [0, 4, 16]
    assert done[1] == Died("its process was ended by SIGKILL")
    assert done[3] == Died("its process ended with 7")


def test_one_process_is_this_one():
    assert list(share(eval, ["__import__('os').getpid()"] * 2, 1, Interrupt())) == [(0, os.getpid()), (1, os.getpid())]


@pytest.mark.parametrize("processes", [1, 2])
def test_once_asked_to_end_no_more_is_begun_and_what_runs_is_finished(processes):
    interrupt = Interrupt()
    done = []
    for place, result in share(eval, [f"{n} + 1" for n in range(50)], processes, interrupt):
        done.append((place, result))
        if not interrupt.asked:
            interrupt.ask()
    assert 1 <= len(done) <= processes
    assert all(result == place + 1 for place, result in done)
    with pytest.raises(KeyboardInterrupt):
        interrupt.ask()


def test_there_are_no_more_processes_than_work_for_them(monkeypatch):
    monkeypatch.setattr("cli.processes.cores", lambda: 6)
    assert [wanted(n, None) for n in (0, 1, 7, 8, 23, 24, 1000)] == [1, 1, 1, 2, 5, 6, 6]
    assert [wanted(n, 3) for n in (0, 1, 2, 1000)] == [1, 1, 2, 3]


# --- a table, lines ------------------------------------------------------------------------------------------------


def documents():
    """Return the DXF documents in memory: each holds its entities, and they it."""
    return [one for one in gc.get_objects() if isinstance(one, Document)]


def test_nothing_of_the_jobs_before_is_left_in_memory_where_they_left_much(jobs, monkeypatch):
    paths = jobs(a=TOP, b=TOP)
    monkeypatch.setattr(cli.loading, "LEFT", 0)
    others = documents()
    drawn = [_guarded(partial(_draw, Wish(Path("out"))))((path, "")) for path in paths]
    assert [one.state for one in drawn] == ["drawn", "drawn"]
    assert all(any(one is other for other in others) for one in documents())


def test_a_folder_is_its_job_files_in_order_and_two_processes_draw_what_one_does(jobs):
    jobs(b=STOPPED, a=TOP, c=BROKEN)
    Path("jobs/.#a.toml").write_text("an editor's own", encoding="utf-8")
    Path("jobs/notes.txt").write_text("none of ours", encoding="utf-8")
    one = run("draw", "jobs", "--out", "one", "--jobs", "1")
    two = run("draw", "jobs", "--out", "two", "--jobs", "2")
    for result in (one, two):
        ended(result, 2)
        head, *rows, last = result.stdout.splitlines()
        assert head.split() == ["number", "file", "sheets", "pieces", "stop", "ask", "note", "status", "where"]
        assert [row.split()[:2] for row in rows] == [[f"J-{n}", f"jobs/{n}.toml"] for n in "abc"]
        assert "could not be read" in rows[2]
        assert "drawn, 1 cut file withheld, held from release" in rows[1]
        assert last == "3 jobs: 2 drawn, 1 could not be read, 1 stop"
        assert "jobs/c.toml:" in result.stderr
    assert one.stdout.replace("one/", "two/") == two.stdout
    assert one.stderr == two.stderr
    assert whole(Path("one")) == ["J-a", "J-b"]
    assert inside(Path("one")) == inside(Path("two"))


def test_lines_of_json_stand_in_order_one_a_job(jobs, monkeypatch):
    be_lean(monkeypatch)
    paths = jobs(c=TOP, b=STOPPED, a=BROKEN)
    checked = run("check", *paths, "--json")
    drawn = run("draw", *paths, "--json")
    for result, state in ((checked, "checked"), (drawn, "drawn")):
        ended(result, 2)
        told = lines(result)
        assert [(t["file"], t["state"], t["status"]) for t in told] == [
            ("jobs/c.toml", state, 0),
            ("jobs/b.toml", state, 1),
            ("jobs/a.toml", "unreadable", 2),
        ]
        assert [f["code"] for f in told[1]["findings"]] == ["web-too-thin"]
        assert told[2]["faults"]
        assert told[2]["faults"][0] in result.stderr
        assert told[0]["digest"] == report(lay_file(paths[0]))["digest"]
    (alone,) = lines(run("draw", paths[0], "--json"))
    assert alone == lines(drawn)[0]


def test_check_of_several_tells_no_sheets_and_writes_nothing(jobs):
    jobs(a=TOP, b=STOPPED)
    result = run("check", "jobs")
    ended(result, 1)
    head, first, second, last = result.stdout.splitlines()
    assert head.split() == ["number", "file", "pieces", "stop", "ask", "note", "status"]
    assert first.split() == ["J-a", "jobs/a.toml", "1", "0", "0", "0", "checked"]
    assert second.split()[:3] == ["J-b", "jobs/b.toml", "2"]
    assert last == "2 jobs: 2 checked, 1 stop"
    assert sorted(inside(Path())) == ["jobs/a.toml", "jobs/b.toml"]


def test_a_folder_without_jobs_is_told_by_name(jobs):
    result = run("check", "jobs")
    ended(result, 2)
    assert result.stderr.startswith("jobs: ")


def test_a_file_that_cannot_be_laid_out_is_no_rival_for_its_number(jobs):
    paths = jobs(a=TOP, b=BROKEN.replace("{number}", "J-a"), c=TOP.replace('"{number}"', "7"))
    result = run("draw", *paths)
    ended(result, 2)
    assert "is also that of another job" not in result.stderr
    assert whole(Path("out")) == ["J-a"]


def test_what_nobody_has_foreseen_costs_one_job(jobs, monkeypatch):
    real = cli.checking.lay_file

    def faulty(path):
        if path.name == "b.toml":
            raise ZeroDivisionError("as if")
        return real(path)

    monkeypatch.setattr("cli.checking.lay_file", faulty)
    result = run("check", *jobs(a=TOP, b=TOP, c=TOP))
    ended(result, 2)
    assert "jobs/b.toml: a fault of the program (ZeroDivisionError: as if)" in result.stderr
    assert result.stdout.splitlines()[-1] == "3 jobs: 2 checked, 1 failed"


def test_a_file_whose_number_changes_meanwhile_is_not_drawn_over_another(jobs, monkeypatch):
    paths = jobs(a=TOP, b=TOP)
    monkeypatch.setattr("cli.batch._number_of", lambda path: f"was-{path.stem}")
    result = run("draw", *paths)
    ended(result, 2)
    assert "jobs/a.toml: found number J-a, which was was-a a moment ago" in result.stderr
    assert not Path("out").exists()


# --- only what changed ---------------------------------------------------------------------------------------------


def test_packets_that_still_hold_are_left_alone_and_counted(jobs, monkeypatch):
    be_lean(monkeypatch)
    paths = jobs(a=TOP, b=TOP, c=STOPPED)
    ended(run("draw", *paths), 1)
    before = {path: path.stat().st_mtime_ns for path in Path("out").rglob("*")}
    again = run("draw", *paths, "--only-changed")
    ended(again, 1)
    assert again.stdout.splitlines()[-1] == "3 jobs: 3 unchanged (skipped), 1 stop"
    assert {path: path.stat().st_mtime_ns for path in Path("out").rglob("*")} == before
    jobs(b=TOP.replace('"40"', '"41"'))
    some = run("draw", *paths, "--only-changed")
    ended(some, 1)
    assert some.stdout.splitlines()[-1] == "3 jobs: 1 drawn, 2 unchanged (skipped), 1 stop"


def _date(path):
    path.write_text(path.read_text(encoding="utf-8").replace("units", "date = 2026-03-02\nunits"), encoding="utf-8")


CHANGES = {
    "a file is gone": lambda _, folder: (folder / "shop.dxf").unlink(),
    "a bit of a file": lambda _, folder: (folder / "cut" / "P1.dxf").write_bytes(b"0"),
    "the report": lambda _, folder: (folder / "report.json").write_text("{}", encoding="utf-8"),
    "the report is gone": lambda _, folder: (folder / "report.json").unlink(),
    "a sheet too many": lambda _, folder: (folder / "sheet-99.svg").write_bytes(b""),
    "another version": lambda _, folder: (folder / "report.json").write_text(
        (folder / "report.json").read_text(encoding="utf-8").replace(f'"{VERSION}"', '"0.0.1"'), encoding="utf-8"
    ),
    "the day, which sheets bear and no digest": lambda job, _: _date(job),
    "a note": lambda job, _: job.write_text(
        job.read_text(encoding="utf-8").replace("units", 'customer = "Mrs Lathwood"\nunits'), encoding="utf-8"
    ),
}


@pytest.mark.parametrize("change", CHANGES)
def test_what_has_changed_is_drawn_again(change, jobs, monkeypatch):
    be_lean(monkeypatch)
    (path,) = jobs(a=TOP)
    ended(run("draw", path), 0)
    folder = Path("out/J-a")
    good = inside(folder)
    assert run("draw", path, "--only-changed").stdout.startswith("J-a: unchanged, no findings -> ")
    CHANGES[change](path, folder)
    result = run("draw", path, "--only-changed")
    ended(result, 0)
    assert "shop.dxf, 1 cut file" in result.stdout
    assert whole(Path("out")) == ["J-a"]
    if not change.startswith(("the day", "a note")):
        assert inside(folder) == good


def test_another_wish_is_drawn_anew(jobs, monkeypatch):
    pytest.importorskip("reportlab")
    be_lean(monkeypatch)
    (path,) = jobs(a=TOP)
    drawn = []
    for wish in ([], [], ["--pdf"], ["--pdf"], [], ["--r12"], ["--r12"], ["--contours", "lines and arcs"]):
        drawn += lines(run("draw", path, "--only-changed", "--json", *wish))
    states = [one["state"] for one in drawn]
    assert states == [*["drawn", "unchanged"] * 2, "drawn", "drawn", "unchanged", "drawn"]


def test_a_packet_that_clouds_what_changed_is_no_plain_one(jobs):
    (path,) = jobs(a=TOP)
    ended(run("draw", path, "--out", "first"), 0)
    ended(run("draw", path, "--since", "first/J-a"), 0)
    assert json.loads(Path("out/J-a/report.json").read_bytes())["since"]["revision"] == "A"
    assert standing(Path("out/J-a"), report(lay_file(path))) is None
    assert standing(Path("first/J-a"), report(lay_file(path)))


# --- broken off ----------------------------------------------------------------------------------------------------


def begun(*args):
    """Return the program at work, alone in a group of processes as in a terminal."""
    home = str(Path(cli.__file__).resolve().parent.parent)
    return subprocess.Popen(
        [sys.executable, "-m", "cli", *map(str, args)],
        env=os.environ | {"PYTHONPATH": home},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def first_report(out):
    """Wait for the first packet that is done."""
    for _ in range(3000):
        if any(out.glob("*/report.json")):
            return
        time.sleep(0.01)
    pytest.fail("nothing is drawn")


@pytest.mark.skipif(os.name != "posix", reason="groups of processes")
@pytest.mark.parametrize("processes", [pytest.param(1, marks=pytest.mark.sweep), 2])
def test_an_interrupt_leaves_packets_whole_and_says_what_is_left(processes, jobs):
    paths = jobs(**{f"{n:02}": TOP for n in range(30)})
    program = begun("draw", "jobs", "--json", "--jobs", processes)
    first_report(Path("out"))
    os.killpg(program.pid, signal.SIGINT)
    out, err = program.communicate(timeout=60)
    assert program.returncode == 130, err
    told = [json.loads(line) for line in out.splitlines()]
    assert [t["file"] for t in told] == [str(p) for p in paths]
    drawn = [t["number"] for t in told if t["state"] == "drawn"]
    left = [t["file"] for t in told if t["state"] == "left"]
    assert drawn
    assert left
    assert len(drawn) + len(left) == 30
    assert whole(Path("out")) == drawn == [p.name for p in sorted(Path("out").iterdir())]
    assert not list(Path("out").rglob(f"{PART}*"))
    assert err.startswith(f"interrupted: {len(drawn)} of 30 jobs finished, left: {left[0]}, ")
    assert "--only-changed" in err
    assert "Traceback" not in err


@pytest.mark.sweep
@pytest.mark.skipif(os.name != "posix", reason="groups of processes")
@pytest.mark.parametrize("end", ["killed", "interrupted twice"])
def test_no_process_outlives_its_parent(end, jobs):
    jobs(**{f"{n:02}": TOP for n in range(40)})
    program = begun("draw", "jobs", "--jobs", "2")
    first_report(Path("out"))
    if end == "killed":
        os.kill(program.pid, signal.SIGKILL)
    else:
        os.kill(program.pid, signal.SIGINT)
        time.sleep(0.05)
        os.kill(program.pid, signal.SIGINT)
    _, err = program.communicate(timeout=60)
    assert program.returncode in (-9, 130)
    assert "Traceback" not in err
    for _ in range(500):
        try:
            os.killpg(program.pid, 0)
        except ProcessLookupError:
            break
        time.sleep(0.02)
    else:
        pytest.fail("a process is left")
    whole(Path("out"))
