"""The history of a job: lines are added, whole, and what was torn hides nothing."""

import json
import multiprocessing
import os
from datetime import UTC, datetime, timedelta

import pytest
from mortal import Mortal

from layout.folders import PacketError
from layout.history import HISTORY, append, read


def add(folder, revision="A", **more):
    return append(folder, "issued", revision=revision, digest="d1", by="N. Farrier", **more)


def test_a_line_tells_what_happened_and_when(tmp_path):
    before = datetime.now(UTC).replace(microsecond=0)
    line = add(tmp_path)
    assert read(tmp_path) == [line]
    assert list(line) == ["when", "what", "revision", "digest", "by"]
    when = datetime.fromisoformat(line["when"])
    assert before <= when <= before + timedelta(seconds=30)
    assert line["when"].endswith("Z")
    assert (tmp_path / HISTORY).read_bytes() == json.dumps(line).encode() + b"\n"


def test_what_came_back_is_told_with_its_file(tmp_path):
    line = add(tmp_path, decision="approved", file="back.svg", sha256="ab")
    assert line.items() >= {"decision": "approved", "file": "back.svg", "sha256": "ab"}.items()


def test_without_a_history_there_are_no_lines(tmp_path):
    assert read(tmp_path) == []


def test_earlier_lines_stay_byte_for_byte(tmp_path):
    add(tmp_path)
    first = (tmp_path / HISTORY).read_bytes()
    add(tmp_path, "B")
    assert (tmp_path / HISTORY).read_bytes().startswith(first)
    assert [e["revision"] for e in read(tmp_path)] == ["A", "B"]


def test_a_line_torn_off_anywhere_hides_no_other(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "fsync", lambda _: None)
    add(tmp_path)
    add(tmp_path, "B")
    path = tmp_path / HISTORY
    whole = path.read_bytes()
    end = whole.index(b"\n") + 1
    for cut in range(end, len(whole)):
        path.write_bytes(whole[:cut])
        # without its end of line alone the second line is whole
        kept = ["A", "B"] if cut == len(whole) - 1 else ["A"]
        assert [e["revision"] for e in read(tmp_path)] == kept
        add(tmp_path, "C")
        assert [e["revision"] for e in read(tmp_path)] == [*kept, "C"]


def test_a_torn_line_with_half_a_letter_hides_no_other(tmp_path):
    append(tmp_path, "issued", revision="A", digest="d", by="Małgorzata Żuk")
    path = tmp_path / HISTORY
    path.write_bytes(path.read_bytes() + '{"when": "Ż'.encode()[:-1])
    assert [e["by"] for e in read(tmp_path)] == ["Małgorzata Żuk"]


@pytest.mark.parametrize("line", [b"[1]", b"{}", b'"x"', b'{"when": 1, "what": "issued"}', b"[" * 100_000])
def test_lines_of_another_kind_are_passed_over(tmp_path, line):
    add(tmp_path)
    with (tmp_path / HISTORY).open("ab") as file:
        file.write(line + b"\n")
    add(tmp_path, "B")
    assert [e["revision"] for e in read(tmp_path)] == ["A", "B"]


def _add_many(folder, revision, start):
    start.wait(20)
    for _ in range(60):
        append(folder, "issued", revision=revision, digest=revision * 2000, by="")


def test_two_at_once_both_land_whole(tmp_path):
    context = multiprocessing.get_context("spawn")
    start = context.Event()
    both = [context.Process(target=_add_many, args=(tmp_path, letter, start)) for letter in "AB"]
    for one in both:
        one.start()
    start.set()
    for one in both:
        one.join(60)
        assert one.exitcode == 0
    lines = (tmp_path / HISTORY).read_bytes().splitlines()
    found = [json.loads(line) for line in lines]
    assert sorted(e["revision"] for e in found) == ["A"] * 60 + ["B"] * 60
    assert all(e["digest"] == e["revision"] * 2000 for e in found)


def test_dying_at_any_step_leaves_the_earlier_lines_and_the_next_lands(tmp_path, monkeypatch):
    add(tmp_path)
    mortal = Mortal(monkeypatch)
    step, done = 1, False
    while not done:
        before = [e["revision"] for e in read(tmp_path)]
        done = mortal.run(lambda: add(tmp_path, "B"), step)
        assert [e["revision"] for e in read(tmp_path)] in (before, [*before, "B"])
        step += 1
    assert step > 3
    add(tmp_path, "C")
    assert read(tmp_path)[-1]["revision"] == "C"


def test_a_link_in_its_place_is_refused(tmp_path):
    (tmp_path / "elsewhere").write_bytes(b"keep")
    (tmp_path / HISTORY).symlink_to(tmp_path / "elsewhere")
    with pytest.raises(PacketError, match="is a link"):
        add(tmp_path)
    assert (tmp_path / "elsewhere").read_bytes() == b"keep"


def test_a_folder_in_its_place_is_told(tmp_path):
    (tmp_path / HISTORY).mkdir()
    with pytest.raises(PacketError, match=r"could not write .*history"):
        add(tmp_path)
    with pytest.raises(PacketError, match=r"could not read .*history"):
        read(tmp_path)


def test_a_line_that_only_half_fits_is_told(tmp_path, monkeypatch):
    real = os.write
    monkeypatch.setattr(os, "write", lambda handle, data: real(handle, data[:10]))
    with pytest.raises(PacketError, match="only a part"):
        add(tmp_path)
    monkeypatch.undo()
    add(tmp_path, "B")
    assert [e["revision"] for e in read(tmp_path)] == ["B"]
