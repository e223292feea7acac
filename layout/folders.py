"""Files and folders on disk, whole or absent, whatever happens meanwhile.

A file is written under another name beside its own and renamed. So is a folder, with everything in it on the disk before
the rename; one that takes the place of another changes places with it in one step where the system can do that.
"""

from __future__ import annotations

import ctypes
import os
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from layout.faults import LayoutError, printable

PART = ".staveline-"
"""How the name of a file or folder begins that is still being written."""


class PacketError(LayoutError):
    """What could not be written, and why; the message is one for people."""

    def __str__(self) -> str:
        """Return the message with what could steer a terminal made visible."""
        return printable(super().__str__())


@contextmanager
def told(path: Path, act: str) -> Iterator[None]:
    """Turn what the system says into a message that names the file."""
    try:
        yield
    except OSError as error:
        raise PacketError(f"could not {act} {path}: {error.strerror or error}") from error


def be_folder(path: Path) -> None:
    """Refuse a link, which may lead anywhere, and anything else that is no folder."""
    if path.is_symlink():
        raise PacketError(f"{path} is a link to somewhere else; remove it, or write into another folder")
    with told(path, "look into"):
        if path.exists() and not path.is_dir():
            raise PacketError(f"{path} is not a folder; remove it, or write into another folder")


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Wait until no other run writes into a folder that stands, and keep others waiting meanwhile.

    The system ends the hold with the process, whatever becomes of it. Where it knows no such hold there is none.
    """
    handle = os.open(folder, os.O_RDONLY) if os.name == "posix" else None
    try:
        if handle is not None:
            import fcntl  # noqa: PLC0415 (of POSIX alone)

            with suppress(OSError):
                fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        if handle is not None:
            os.close(handle)


def write(path: Path, data: bytes) -> None:
    """Write a file, the whole of it or nothing, in place of one that stands. Raises PacketError where it cannot."""
    part = path.with_name(f"{PART}{os.getpid()}-{path.name}")
    with told(path, "write"):
        part.unlink(missing_ok=True)
        try:
            # "x" never writes through a link that someone has put there
            with part.open("xb") as stream:
                stream.write(data)
            part.replace(path)
        except BaseException:
            part.unlink(missing_ok=True)
            raise


def remove(path: Path) -> None:
    """Remove a file if it is there."""
    with told(path, "remove"):
        path.unlink(missing_ok=True)


# --- folders ---------------------------------------------------------------------------------------------------------


def write_folder(folder: Path, files: Mapping[str, bytes], *, replace: bool = False) -> None:
    """Write a folder with its files by name (with names of folders and ``/`` in front, where they lie deeper), the last of them last.

    With ``replace`` in place of one that stands. What a killed run left beside it is removed first. Raises PacketError,
    and leaves what stood before, where the folder cannot be used, stands already, or a write fails.
    """
    beside = folder.parent
    be_folder(beside)
    be_folder(folder)
    if folder.exists() and not replace:
        raise PacketError(f"{folder} stands already and is left as it is")
    with told(beside, "make the folder"):
        beside.mkdir(parents=True, exist_ok=True)
    sweep(beside)
    new = beside / f"{PART}{os.getpid()}-{folder.name}"
    with told(folder, "write"):
        try:
            _filled(new, files)
            _put(new, folder)
        except BaseException:
            shutil.rmtree(new, ignore_errors=True)
            raise
        _keep(beside)
        if new.exists():
            # what stood before, which has changed places with the new one
            _discard(new)


def sweep(beside: Path) -> None:
    """Remove the folders that killed runs have left half written; not those of a run that is still at work."""
    if not beside.is_dir():
        return
    with told(beside, "look into"):
        left = sorted(p for p in beside.iterdir() if p.name.startswith(PART) and p.is_dir() and not p.is_symlink())
    for path in left:
        pid = path.name.removeprefix(PART).partition("-")[0]
        if not (pid.isdecimal() and _at_work(int(pid))):
            with told(path, "remove"):
                _discard(path)


def _at_work(pid: int) -> bool:
    """Whether another process of that number runs; on a system that cannot be asked none does."""
    if os.name != "posix" or pid == os.getpid() or not 0 < pid < 2**31:
        return False
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _filled(folder: Path, files: Mapping[str, bytes]) -> None:
    """Make a new folder with its files, and see that all of it is on the disk."""
    folder.mkdir()
    for name, data in files.items():
        path = folder / name
        if path.parent != folder:
            path.parent.mkdir(parents=True, exist_ok=True)
        _write_through(path, data)
    for inner in sorted({(folder / name).parent for name in files} | {folder}, reverse=True):
        _keep(inner)


def _write_through(path: Path, data: bytes) -> None:
    """Write a new file and wait until it is on the disk."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    try:
        rest = memoryview(data)
        while rest:
            rest = rest[os.write(handle, rest) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def _keep(folder: Path) -> None:
    """Wait until a folder's names are on the disk, on systems where a folder can be opened."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _put(new: Path, folder: Path) -> None:
    """Give a folder its name. One of that name changes places with it; on a system without that step it goes first, so
    that for a moment there is none, but never one that holds files of both."""
    if not folder.exists():
        os.rename(new, folder)  # noqa: PTH104 (over a folder that came meanwhile it fails, as it should)
    elif not _exchanged(new, folder):
        old = folder.with_name(f"{PART}{os.getpid()}-was-{folder.name}")
        os.rename(folder, old)  # noqa: PTH104
        try:
            os.rename(new, folder)  # noqa: PTH104
        except OSError:
            os.rename(old, folder)  # noqa: PTH104
            raise
        _discard(old)


_HERE, _EXCHANGE = -100, 2
"""AT_FDCWD and RENAME_EXCHANGE of Linux's renameat2."""


def _exchanged(one: Path, other: Path) -> bool:
    """Let two folders change names in one step; False where the system or the file system knows no such step."""
    step = getattr(ctypes.CDLL(None), "renameat2", None) if os.name == "posix" else None
    if step is None:
        return False
    return bool(step(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE) == 0)


def _discard(folder: Path) -> None:
    """Remove a folder and all that is in it."""
    shutil.rmtree(folder)
