"""Whole job files, valid, nearly valid and damaged: each ends in words and a status of the contract, and no file is half there.

500 every day, the same each time; 20,000 and more by hand, ``pytest -m fuzz``, new ones each time.
"""

from __future__ import annotations

import hashlib
import json
import random
from pathlib import Path

import pytest
import wild
from hypothesis import HealthCheck, given, settings
from typer.testing import CliRunner

from cli.app import app
from cli.endings import DONE, NO, UNREADABLE
from layout.faults import JobError
from layout.files import packet_files
from layout.pipeline import Layout, lay_located
from layout.reading import load_located

SAMPLES = sorted((Path(__file__).resolve().parent.parent / "samples" / "jobs").glob("*.toml"))
EVERY = list(HealthCheck)
FIXED = settings(max_examples=470, deadline=None, derandomize=True, database=None, suppress_health_check=EVERY)
MANY = settings(max_examples=20_000, deadline=None, suppress_health_check=EVERY)


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    """A folder with the templates that jobs at random may name."""
    folder = tmp_path_factory.mktemp("shelf")
    wild.put_templates(folder)
    return folder


def laid(text, folder):
    """The job laid out, or None where it is refused in words."""
    try:
        return lay_located(load_located(text, "job.toml", folder))
    except JobError as error:
        is_worded(error, text)
        return None


def read(text, folder):
    """The job as read, or None where it is refused in words."""
    try:
        return load_located(text, "job.toml", folder)
    except JobError as error:
        is_worded(error, text)
        return None


def is_worded(error, text):
    assert error.faults
    for fault in error.faults:
        assert fault.found
        assert fault.expected
        assert 0 <= fault.line <= text.count("\n") + 1
    told = str(error)
    assert told.startswith("job.toml")
    assert not any(ord(c) < 32 and c not in "\n\t" for c in told)


def ends_as_promised(data, folder, name="job.toml", *, args=()):
    """Draw a file's bytes with the program; return the status and the packet, which is whole, or {} where there is none."""
    path = folder / name
    path.write_bytes(data)
    out = folder / "out"
    result = CliRunner().invoke(app, ["draw", str(path), "--out", str(out), *args])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exc_info
    assert result.exit_code in (DONE, NO, UNREADABLE)
    assert "Traceback" not in result.output
    files = {p.relative_to(out).as_posix(): p.read_bytes() for p in out.rglob("*") if p.is_file()}
    if result.exit_code == UNREADABLE:
        assert files == {}
        assert str(path.name) in result.stderr
        return result.exit_code, {}
    (number,) = {name.split("/")[0] for name in files}
    is_whole({name.removeprefix(f"{number}/"): found for name, found in files.items()})
    return result.exit_code, files


def is_whole(files):
    """A packet's files by name are those that its report lists, byte for byte."""
    told = json.loads(files["report.json"])
    listed = {entry["name"]: entry["sha256"] for entry in told["files"]}
    assert set(files) - {"report.json"} == set(listed)
    for name, digest in listed.items():
        assert hashlib.sha256(files[name]).hexdigest() == digest


# --- every day -----------------------------------------------------------------------------------------------------


def test_five_hundred_files_end_in_words(shelf):
    seen, fine = [], []

    @given(wild.numbered(slips=True))
    @FIXED
    def each(text):
        seen.append(text)
        # all are read; to lay one out takes ten times as long, which every third is
        layout = laid(text, shelf) if len(seen) % 3 == 0 else read(text, shelf)
        if layout is not None:
            fine.append(layout)

    each()
    # neither all refused nor all let through, or the slips are none
    assert 20 < len(fine) < 400
    for layout in [x for x in fine if isinstance(x, Layout)][:3]:
        is_whole(packet_files(layout))


@pytest.mark.parametrize("number", [11290])
def test_files_that_once_broke_the_drawing(shelf, number):
    """11290: a piece 3/8 in. wide beside a sink, with no place on it for a mark."""
    layout = laid(wild.made(number, slips=True), shelf)
    assert layout is not None
    is_whole(packet_files(layout))


@pytest.mark.parametrize("number", range(wild.POOL))
def test_valid_files_of_every_table_lay_out(shelf, number):
    laid(wild.made(number, slips=False), shelf)


def test_the_rooms_at_random_have_every_table():
    tables = set()
    for number in range(60):
        job = wild.valid(wild.rooms.Seeded(number)) if number >= wild.POOL else wild._pooled(number)
        tables |= set(job) | {f"edge.{key}" for edge in job.get("edge", []) for key in edge}
        tables |= {f"cutout.{key}" for cut in job.get("cutout", []) for key in cut if key == "template"}
        if {
            "groove",
            "slot",
            "recess",
            "edge.natural",
            "cut",
            "cutout.template",
            "answer",
            "species",
            "load",
            "site",
        } <= tables:
            break
    else:
        pytest.fail(f"only {sorted(tables)}")


# --- damaged samples -----------------------------------------------------------------------------------------------


def damaged(data, source):
    """A file's bytes with a flip, a cut, a swap or a stretch put twice."""
    data = bytearray(data)
    for _ in range(source.randint(1, 3)):
        at, to = sorted(source.randrange(len(data)) for _ in range(2))
        to = min(to, at + source.choice([1, 8, 60, 600]))
        how = source.randrange(6)
        if how == 0:
            data[at] ^= 1 << source.randrange(8)
        elif how == 1:
            data[at] = source.choice(b"\x00\x1b\r\n\"'[]{}=#,.-0\xff\xe2\x80\xae")
        elif how == 2:
            del data[at : to + 1]
        elif how == 3:
            data[at:at] = data[at:to]
        elif how == 4:
            data[at], data[to] = data[to], data[at]
        else:
            lines = data.split(b"\n")
            one, two = source.randrange(len(lines)), source.randrange(len(lines))
            lines[one], lines[two] = lines[two], lines[one]
            data = bytearray(b"\n".join(lines))
        if not data:
            data = bytearray(b"\n")
    return bytes(data)


def read_damaged(data, shelf):
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return None
    return laid(text, shelf)


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda p: p.stem)
def test_damaged_samples_end_in_words(sample, shelf):
    source = random.Random(sample.stem)
    data = sample.read_bytes()
    for _ in range(12):
        read_damaged(damaged(data, source), shelf)


@pytest.mark.parametrize("seed", range(6))
def test_the_program_itself_draws_all_of_a_damaged_sample_or_nothing(tmp_path, seed):
    source = random.Random(seed)
    sample = source.choice(SAMPLES)
    ends_as_promised(damaged(sample.read_bytes(), source), tmp_path)


@pytest.mark.parametrize(
    "data", [b"", b"\xff\xfe", b"\x00" * 50, b"\xef\xbb\xbf", b"[" * 5000, b'"' * 3, b"a." * 3000 + b"b = 1"]
)
def test_what_is_no_job_at_all_is_told(tmp_path, data):
    assert ends_as_promised(data, tmp_path) == (UNREADABLE, {})


# --- by hand -------------------------------------------------------------------------------------------------------


@pytest.mark.fuzz
def test_twenty_thousand_files_end_in_words(shelf):
    @given(wild.numbered(slips=True))
    @MANY
    def each(text):
        layout = laid(text, shelf)
        # one in eight is drawn, which takes fifty times as long
        if layout is not None and int(hashlib.sha256(text.encode()).hexdigest(), 16) % 8 == 0:
            is_whole(packet_files(layout))

    each()


@pytest.mark.fuzz
def test_files_whose_every_choice_is_free_end_in_words(shelf):
    @given(wild.files())
    @settings(MANY, max_examples=1000)
    def each(text):
        layout = laid(text, shelf)
        if layout is not None:
            is_whole(packet_files(layout))

    each()


@pytest.mark.fuzz
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda p: p.stem)
def test_samples_damaged_many_times_end_in_words(sample, shelf):
    source = random.Random()
    data = sample.read_bytes()
    for _ in range(1500):
        broken = damaged(data, source)
        try:
            read_damaged(broken, shelf)
        except Exception as error:
            raise AssertionError(broken) from error


@pytest.mark.fuzz
@pytest.mark.parametrize("seed", range(300))
def test_the_program_draws_all_of_a_file_or_nothing(tmp_path, seed):
    wild.put_templates(tmp_path)
    ends_as_promised(wild.made(10**6 + seed, slips=True).encode(), tmp_path)
