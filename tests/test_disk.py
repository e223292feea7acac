"""`draw` on disks and folders that let it down: what stood before still stands or is gone whole, and what is there is whole.

`test_packet.py` holds the writer to a failing rename, `test_cli.py` a folder that cannot be used and links in the way,
`test_issue.py` an issue that dies at any step. Here: the whole command on a disk that is full, that may not be written, killed at
any moment and beside another of itself.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import random
import shutil
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path

import pytest
from typer.testing import CliRunner

import cli
from cli.app import app
from cli.endings import DONE, UNREADABLE, UNWRITTEN
from layout import folders, packet

TEXT = """\
[job]
title = "{title}"
number = "D-1"
units = "in"
[wood]
species = "sugar maple"
thickness = "1 1/2"
[field]
walls = "finished"
cabinets = "set"
[[top]]
name = "i"
size = ["{length}", "25"]
"""
HOME = str(Path(cli.__file__).resolve().parent.parent)


def job(folder, name="job.toml", title="Disk", length="60"):
    path = folder / name
    path.write_text(TEXT.format(title=title, length=length), encoding="utf-8")
    return path


def drawn(path, out):
    return CliRunner().invoke(app, ["draw", str(path), "--out", str(out)])


def inside(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def whole(folder):
    """Hold that a folder has no report, or one that lists just what is there; return whether it has one."""
    files = {n: d for n, d in inside(folder).items() if not Path(n).name.startswith(".staveline-")}
    if "report.json" not in files:
        return False
    listed = {e["name"]: e["sha256"] for e in json.loads(files["report.json"])["files"]}
    assert listed == {n: hashlib.sha256(d).hexdigest() for n, d in files.items() if n != "report.json"}
    return True


def every_file_is_one_of(folder, *packets):
    """Hold that no file is anything but whole, out of one of these packets."""
    for name, data in inside(folder).items():
        if not Path(name).name.startswith(".staveline-"):
            assert data in [p[name] for p in packets if name in p], name


@pytest.fixture(scope="module")
def packets(tmp_path_factory):
    """Two packets of one job, before and after a change."""
    out = []
    for length in ("60", "66"):
        folder = tmp_path_factory.mktemp("packet")
        assert drawn(job(folder, length=length), folder / "out").exit_code == DONE
        out.append(inside(folder / "out" / "D-1"))
    return tuple(out)


def stood(folder, packet):
    for name, data in packet.items():
        path = folder / "out" / "D-1" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return folder / "out" / "D-1"


# --- a disk that is full ---------------------------------------------------------------------------------------------


class Full:
    """A disk with room for so many bytes, for what is opened anew in a folder."""

    def __init__(self, monkeypatch, under, room):
        real, full = Path.open, self
        self.room = room

        def open_(path, mode="r", *args, **named):
            stream = real(path, mode, *args, **named)
            return Filling(stream, full) if set(mode) & set("wax") and under in path.parents else stream

        monkeypatch.setattr(Path, "open", open_)


class Filling:
    def __init__(self, stream, disk):
        self.stream, self.disk = stream, disk

    def __enter__(self):
        return self

    def __exit__(self, *error):
        self.stream.close()

    def write(self, data):
        taken = min(len(data), self.disk.room)
        self.stream.write(bytes(data)[:taken])
        self.disk.room -= taken
        if taken < len(data):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.mark.parametrize("share", [0.3, 0.999, *(pytest.param(s, marks=pytest.mark.sweep) for s in (0.0, 0.01, 0.7))])
def test_a_disk_that_fills_up_is_told_and_no_half_file_is_left(tmp_path, monkeypatch, packets, share):
    before, after = packets
    folder = stood(tmp_path, before)
    # the report is removed first and written last: without the room for all of it there is none
    Full(monkeypatch, tmp_path / "out", int(share * sum(map(len, after.values()))))
    result = drawn(job(tmp_path, length="66"), tmp_path / "out")
    assert result.exit_code == UNWRITTEN
    assert "No space left on device" in result.stderr
    assert "Traceback" not in result.output
    monkeypatch.undo()
    assert not whole(folder)
    assert not [n for n in inside(folder) if Path(n).name.startswith(".staveline-")]
    every_file_is_one_of(folder, before, after)
    assert drawn(tmp_path / "job.toml", tmp_path / "out").exit_code == DONE
    assert inside(folder) == after


@pytest.mark.skipif(
    sys.platform != "linux" or os.geteuid() != 0, reason="a small file system is mounted by root on Linux"
)
@pytest.mark.parametrize("kilobytes", [64, *(pytest.param(k, marks=pytest.mark.sweep) for k in (8, 160))])
def test_a_real_file_system_that_is_full(tmp_path, kilobytes):
    disk = tmp_path / "disk"
    disk.mkdir()
    # mounted in a namespace of its own, which takes it along when it ends
    script = (
        f'mount -t tmpfs -o size={kilobytes}k tmpfs "$1" && '
        f'"$2" -m cli draw "$3" --out "$1/out"; code=$?; find "$1" -type f -printf "%f\\n"; exit $code'
    )
    path = job(tmp_path)
    result = subprocess.run(
        ["unshare", "--mount", "sh", "-c", script, "sh", str(disk), sys.executable, str(path)],
        env=os.environ | {"PYTHONPATH": HOME},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    if "unshare" in result.stderr or "mount:" in result.stderr:
        pytest.skip(f"no file system can be mounted here: {result.stderr.strip()}")
    assert result.returncode == UNWRITTEN, result.stderr
    assert "No space left on device" in result.stderr
    assert "Traceback" not in result.stderr
    assert "report.json" not in result.stdout
    assert ".staveline-" not in result.stdout


# --- folders that may not be written -----------------------------------------------------------------------------------


def test_a_folder_that_may_only_be_read_keeps_what_stood(tmp_path, packets):
    before, _ = packets
    folder = stood(tmp_path, before)
    path = job(tmp_path, length="66")
    if os.geteuid() == 0:
        # root writes wherever it likes; on a mount that is for reading not even root does
        script = 'mount --bind "$1" "$1" && mount -o remount,bind,ro "$1" && exec "$2" -m cli draw "$3" --out "$1"'
        command = ["unshare", "--mount", "sh", "-c", script, "sh", str(tmp_path / "out"), sys.executable, str(path)]
    else:
        for inner in (folder, folder / "cut", tmp_path / "out"):
            inner.chmod(0o555)
        command = [sys.executable, "-m", "cli", "draw", str(path), "--out", str(tmp_path / "out")]
    result = subprocess.run(
        command, env=os.environ | {"PYTHONPATH": HOME}, capture_output=True, text=True, timeout=60, check=False
    )
    for inner in (folder, folder / "cut", tmp_path / "out"):
        inner.chmod(0o755)
    if "unshare" in result.stderr or "mount:" in result.stderr:
        pytest.skip(f"nothing can be mounted here: {result.stderr.strip()}")
    assert result.returncode == UNWRITTEN, result.stderr
    assert "Traceback" not in result.stderr
    assert inside(folder) == before


@pytest.mark.parametrize(
    "name", ["Küche Łódź.toml", "two words and more.toml", "'quoted' \"twice\".toml", "台面 ½″.toml", "-v.toml"]
)
def test_names_with_spaces_and_accents(tmp_path, packets, name):
    folder = tmp_path / "Frau Müller, 2. Stock"
    folder.mkdir()
    result = CliRunner().invoke(app, ["draw", "--out", str(folder / "aus gabe"), "--", str(job(folder, name))])
    assert result.exit_code == DONE
    assert inside(folder / "aus gabe" / "D-1") == packets[0]


@pytest.mark.parametrize("name", ["a\x1b[31mred.toml", "a\u202elmot.toml", "line\nbreak.toml"])
def test_a_name_that_would_steer_a_terminal_does_not(tmp_path, name):
    path = tmp_path / name
    path.write_text("title =\n")
    for command in (
        ["check", str(path)],
        ["draw", str(path)],
        ["materials", str(path)],
        ["compare", str(path), str(path)],
    ):
        result = CliRunner().invoke(app, command)
        assert result.exit_code == UNREADABLE
        assert "\x1b" not in result.output
        assert "\u202e" not in result.output


# --- killed, and two at once -----------------------------------------------------------------------------------------


def killed_at_random(tmp_path, packets, seeds):
    """Kill ``draw`` while it writes over what stood; see to the folder; draw again."""
    before, after = packets
    path = job(tmp_path, length="66")
    # one process makes the packet, then waits; its children write it and are killed at any moment
    script = (
        "import os, signal, sys, time\n"
        "from pathlib import Path\n"
        "from layout.files import packet_files\n"
        "from layout.packet import write_packet\n"
        "from layout.pipeline import lay_file\n"
        "files = packet_files(lay_file(Path(sys.argv[1])))\n"
        "for line in sys.stdin:\n"
        "    folder, wait = line.rstrip('\\n').split('\\t')\n"
        "    child = os.fork()\n"
        "    if not child:\n"
        "        write_packet(Path(folder), files)\n"
        "        os._exit(0)\n"
        "    until = time.perf_counter() + float(wait)\n"
        "    while time.perf_counter() < until:\n"
        "        pass\n"
        "    os.kill(child, signal.SIGKILL)\n"
        "    print(os.waitpid(child, 0)[1], flush=True)\n"
    )
    ends = []
    with subprocess.Popen(
        [sys.executable, "-c", script, str(path)],
        env=os.environ | {"PYTHONPATH": HOME},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as parent:
        assert parent.stdin is not None
        assert parent.stdout is not None
        for seed in seeds:
            place = tmp_path / str(seed)
            folder = stood(place, before)
            (folder / "notes.txt").write_text("the shop's own")
            parent.stdin.write(f"{folder}\t{random.Random(seed).uniform(0.0005, 0.012)}\n")
            parent.stdin.flush()
            ends.append(int(parent.stdout.readline()))
            assert (folder / "notes.txt").read_text() == "the shop's own"
            (folder / "notes.txt").unlink()
            # a report says what is there, or there is none; every file is whole, of before or of now
            whole(folder)
            every_file_is_one_of(folder, before, after)
            if seed % 10 == 9:
                assert drawn(path, place / "out").exit_code == DONE
                assert inside(folder) == after
            shutil.rmtree(place)
        parent.stdin.close()
    return ends


@pytest.mark.skipif(os.name != "posix", reason="a process is killed as POSIX does")
def test_killed_at_any_moment_all_files_are_whole(tmp_path, packets):
    assert len(killed_at_random(tmp_path, packets, range(10))) == 10


@pytest.mark.sweep
@pytest.mark.skipif(os.name != "posix", reason="a process is killed as POSIX does")
def test_killed_two_hundred_times_all_files_are_whole(tmp_path, packets):
    ends = killed_at_random(tmp_path, packets, range(200))
    # some were killed, some were done before: the moments lie within the writing
    assert 0 in ends
    assert 9 in ends


@pytest.mark.sweep
@pytest.mark.skipif(os.name != "posix", reason="a process is killed as POSIX does")
def test_the_command_itself_killed_leaves_what_stood_or_whole_files(tmp_path, packets):
    before, after = packets
    for k, share in enumerate((0.5, 0.98)):
        place = tmp_path / str(k)
        folder = stood(place, before)
        path = job(place, length="66")
        began = time.perf_counter()
        with subprocess.Popen(
            [sys.executable, "-m", "cli", "draw", str(path), "--out", str(place / "out")],
            env=os.environ | {"PYTHONPATH": HOME},
            stdout=subprocess.DEVNULL,
        ) as process:
            # until it begins to write, or for so long; then at once
            while share > 0.9 and (folder / "report.json").exists() and process.poll() is None:
                assert time.perf_counter() - began < 60
            time.sleep(0.0 if share > 0.9 else 0.3)
            process.kill()
        whole(folder)
        every_file_is_one_of(folder, before, after)


@pytest.mark.sweep
def test_two_draws_into_one_folder_leave_whole_files(tmp_path, packets):
    """They may leave one's files, the other's, or no report; never a file that is half, nor a report that lies."""
    before, after = packets
    one, two = job(tmp_path, "one.toml"), job(tmp_path, "two.toml", length="66")
    running = [
        subprocess.Popen(
            [sys.executable, "-m", "cli", "draw", str(path), "--out", str(tmp_path / "out")],
            env=os.environ | {"PYTHONPATH": HOME},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        for path in (one, two)
    ]
    for process in running:
        _, said = process.communicate(timeout=60)
        assert b"Traceback" not in said
        assert process.returncode in (DONE, UNWRITTEN)
    folder = tmp_path / "out" / "D-1"
    every_file_is_one_of(folder, before, after)
    assert drawn(two, tmp_path / "out").exit_code == DONE
    assert inside(folder) == after


WRITER = (
    "import json, sys\n"
    "from pathlib import Path\n"
    "from layout.packet import write_packet\n"
    "files = {n: bytes.fromhex(d) for n, d in json.loads(Path(sys.argv[1]).read_text()).items()}\n"
    "write_packet(Path(sys.argv[2]), files)\n"
)


@pytest.mark.skipif(os.name != "posix", reason="a folder is held as POSIX does")
def test_a_draw_that_comes_in_the_midst_of_another_waits_for_it(tmp_path, monkeypatch, packets):
    """Without that the report of the first would list what the second has written over."""
    before, after = packets
    folder = tmp_path / "out" / "D-1"
    (tmp_path / "after.json").write_text(json.dumps({n: d.hex() for n, d in after.items()}))
    command = [sys.executable, "-c", WRITER, str(tmp_path / "after.json"), str(folder)]
    others = []

    def write(path, data):
        folders.write(path, data)
        if path.name == "shop.dxf":
            others.append(subprocess.Popen(command, env=os.environ | {"PYTHONPATH": HOME}))
            time.sleep(0.6)
        elif path.name == "report.json":
            assert whole(folder)

    monkeypatch.setattr(packet, "write", write)
    packet.write_packet(folder, before)
    assert [other.wait(timeout=60) for other in others] == [0]
    assert whole(folder)
    assert inside(folder) == after


def test_the_packets_of_these_tests_differ(packets):
    for one, two in pairwise(packets):
        assert one["report.json"] != two["report.json"]
        assert one["cut/P1.dxf"] != two["cut/P1.dxf"]
