"""A job's folder: complete files, the report last, what is stale removed, and nothing outside touched."""

import errno
import hashlib
import os
from pathlib import Path

import pytest

from layout.faults import LayoutError
from layout.packet import PacketError, digest, write_packet

FILES = {
    "sheet-1.svg": b"<svg/>",
    "sheet-2.svg": b"<svg>2</svg>",
    "F-204.pdf": b"%PDF",
    "shop.dxf": b"0\nEOF\n",
    "cut/P1.dxf": b"cut 1",
    "cut/P2.dxf": b"cut 2",
    "report.json": b"{}",
}


def inside(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "out" / "F-204"


@pytest.fixture
def failing(monkeypatch):
    """Make the rename of one file fail, and note the order of the others."""
    done = []

    def fail_at(name, error=None):
        real = os.replace
        error = error or OSError(errno.ENOSPC, "No space left on device")

        def replace(self, target):
            if Path(target).name == name:
                raise error
            done.append(Path(target).name)
            real(self, target)

        monkeypatch.setattr(Path, "replace", replace)
        return done

    return fail_at


def test_every_file_is_written_as_given(folder):
    write_packet(folder, FILES)
    assert inside(folder) == FILES


def test_the_report_is_written_last_whatever_the_order(folder, failing):
    done = failing("nothing")
    write_packet(folder, dict(reversed(FILES.items())))
    assert done[-1] == "report.json"
    assert len(done) == len(FILES)


def test_stale_files_of_ours_go_and_others_stay(folder):
    write_packet(folder, FILES)
    theirs = {
        "order.pdf": b"1",
        "F-204-signed.pdf": b"1",
        "f-204.svg": b"1",
        "notes/sheet-1.svg": b"2",
        "shop.dxf.bak": b"3",
        ".hidden": b"4",
        "sheet.svg": b"5",
    }
    for name, data in theirs.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(data)
    (folder / "sheet-old").mkdir()
    (folder / "sheet-9.svg").write_bytes(b"stale")
    fewer = {"sheet-1.svg": b"new", "cut/P1.dxf": b"new", "report.json": b"new"}
    write_packet(folder, fewer)
    assert inside(folder) == fewer | theirs
    assert (folder / "sheet-old").is_dir()


def test_without_cut_files_the_cut_folder_goes_unless_it_holds_something(folder):
    write_packet(folder, FILES)
    write_packet(folder, {"report.json": b"{}"})
    assert not (folder / "cut").exists()
    write_packet(folder, FILES)
    (folder / "cut" / "theirs").mkdir()
    write_packet(folder, {"report.json": b"{}"})
    assert [p.name for p in (folder / "cut").iterdir()] == ["theirs"]


def test_a_stale_report_goes_when_none_is_written(folder):
    write_packet(folder, FILES)
    write_packet(folder, {"shop.dxf": b"x"})
    assert inside(folder) == {"shop.dxf": b"x"}


@pytest.mark.parametrize("name", ["sheet-2.svg", "F-204.pdf", "shop.dxf", "P2.dxf", "report.json"])
def test_a_write_that_fails_leaves_no_report_and_no_half_files(folder, failing, name):
    write_packet(folder, FILES)
    failing(name)
    with pytest.raises(PacketError, match=f"could not write .*{name}: No space left on device") as caught:
        write_packet(folder, {key: data + b" new" for key, data in FILES.items()})
    assert isinstance(caught.value.__cause__, OSError)
    assert isinstance(caught.value, LayoutError)
    assert "report.json" not in inside(folder)
    for key, data in inside(folder).items():
        assert data in (FILES[key], FILES[key] + b" new")


def test_an_interruption_is_passed_on_and_leaves_no_half_files(folder, failing):
    failing("P1.dxf", KeyboardInterrupt())
    with pytest.raises(KeyboardInterrupt):
        write_packet(folder, FILES)
    assert set(inside(folder)) == {"sheet-1.svg", "sheet-2.svg", "F-204.pdf", "shop.dxf"}


def test_what_a_killed_run_left_half_is_removed(folder):
    write_packet(folder, FILES)
    (folder / ".staveline-4711-shop.dxf").write_bytes(b"half")
    (folder / "cut" / ".staveline-4711-P1.dxf").write_bytes(b"half")
    write_packet(folder, FILES)
    assert inside(folder) == FILES


def test_a_write_does_not_follow_a_link_in_its_way(folder, tmp_path):
    outside = tmp_path / "outside.txt"
    outside.write_bytes(b"keep")
    folder.mkdir(parents=True)
    for name in ("shop.dxf", "report.json", "sheet-7.svg", f".staveline-{os.getpid()}-shop.dxf"):
        (folder / name).symlink_to(outside)
    write_packet(folder, FILES)
    assert outside.read_bytes() == b"keep"
    assert inside(folder) == FILES
    assert not any(p.is_symlink() for p in folder.rglob("*"))


@pytest.mark.parametrize("which", ["", "cut"])
@pytest.mark.parametrize("kind", ["link", "dangling link", "file"])
def test_a_link_or_a_file_in_place_of_a_folder_is_refused(folder, tmp_path, which, kind):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "P9.dxf").write_bytes(b"keep")
    (elsewhere / "sheet-9.svg").write_bytes(b"keep")
    place = folder / which if which else folder
    place.parent.mkdir(parents=True, exist_ok=True)
    if kind == "file":
        place.write_bytes(b"keep")
    else:
        place.symlink_to(elsewhere if kind == "link" else tmp_path / "nowhere")
    with pytest.raises(PacketError, match="is not a folder" if kind == "file" else "is a link"):
        write_packet(folder, FILES)
    assert inside(elsewhere) == {"P9.dxf": b"keep", "sheet-9.svg": b"keep"}
    assert not (tmp_path / "nowhere").exists()
    if kind == "file":
        assert place.read_bytes() == b"keep"


def test_a_file_where_a_parent_should_be_is_told(tmp_path):
    (tmp_path / "out").write_bytes(b"keep")
    with pytest.raises(PacketError, match=r"could not .*F-204"):
        write_packet(tmp_path / "out" / "F-204", FILES)


def test_a_folder_in_place_of_a_file_is_told(folder):
    (folder / "shop.dxf").mkdir(parents=True)
    with pytest.raises(PacketError, match=r"shop\.dxf"):
        write_packet(folder, FILES)
    assert "report.json" not in inside(folder)
    (folder / "report.json").mkdir()
    with pytest.raises(PacketError, match=r"report\.json"):
        write_packet(folder, FILES)


@pytest.mark.parametrize(
    "name",
    [
        "../shop.dxf",
        "/x.dxf",
        "cut/../../x",
        "cut/",
        "cut/.hidden",
        "cut/a/b.dxf",
        "notes.txt",
        "F-205.pdf",
        "order.pdf",
        "sheet-1/..",
        "",
        "cut\\x",
    ],
)
def test_a_name_that_is_not_the_packets_is_refused_before_anything_is_done(folder, name):
    with pytest.raises(ValueError, match="not a file of the packet"):
        write_packet(folder, FILES | {name: b""})
    assert not folder.exists()


def test_files_are_readable_by_others_as_the_umask_says(folder):
    before = os.umask(0o022)
    try:
        write_packet(folder, FILES)
    finally:
        os.umask(before)
    assert (folder / "shop.dxf").stat().st_mode & 0o777 == 0o644


def test_a_digest_is_the_sha_256():
    assert digest(b"abc") == hashlib.sha256(b"abc").hexdigest()
    assert digest(b"") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
