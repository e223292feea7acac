"""A job's folder on disk: every file complete or absent, the report last, and nothing left of an earlier run.

`draw` owns ``sheet-*``, ``NUMBER.pdf``, ``shop.dxf``, ``cut/``, ``materials.*`` and ``report.json`` there, NUMBER being the folder's name;
what else a shop keeps in the folder stays. So a PDF of an earlier run does not stand beside sheets that say something else.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from layout.folders import PART, PacketError, alone, be_folder, remove, told, write

__all__ = ["CUT", "REPORT", "PacketError", "digest", "standing", "write_packet"]

REPORT = "report.json"
CUT = "cut"


def digest(data: bytes) -> str:
    """Return the SHA-256 of a file's content, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def write_packet(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write a job's files by name (``cut/`` in front of a cut file's); remove those that this run no longer writes.

    The folder bears the job's number, as the PDF does. Whatever happens, no report stands that lists other files than
    these. Raises PacketError where the folder cannot be used or a write fails; no half a file is left then. Raises
    ValueError for a name that is not one of the packet's.
    """
    for name in files:
        if not _is_ours(name, folder):
            raise ValueError(f"{name!r} is not a file of the packet")
    cut = folder / CUT
    be_folder(folder)
    be_folder(cut)
    with told(folder, "make the folder"):
        folder.mkdir(parents=True, exist_ok=True)
    with told(folder, "open"), alone(folder):
        _fill(folder, files)


def _fill(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write a packet's files into its folder, which stands and is no other run's for now."""
    cut = folder / CUT
    remove(folder / REPORT)
    for name, data in files.items():
        if name != REPORT:
            if name.startswith(f"{CUT}/"):
                with told(cut, "make the folder"):
                    cut.mkdir(exist_ok=True)
            write(folder / name, data)
    for path in _stale(folder, files):
        remove(path)
    if cut.is_dir() and not any(name.startswith(f"{CUT}/") for name in files):
        with told(cut, "remove the folder"):
            # what a shop has put there itself keeps the folder
            if not any(cut.iterdir()):
                cut.rmdir()
    if REPORT in files:
        write(folder / REPORT, files[REPORT])


def standing(folder: Path, report: Mapping[str, Any]) -> list[str] | None:
    """Return the names of a packet's files where what stands in the folder is what would be told today; None where not.

    ``report``: today's, whose list of files is passed over. All it tells must be the same, the version and the digest with
    it; every file that the one on disk lists must have its SHA-256, and none of an earlier run may lie beside them.
    """
    try:
        be_folder(folder)
        be_folder(folder / CUT)
        told_before = json.loads((folder / REPORT).read_bytes())
        files = {str(file["name"]): file["sha256"] for file in told_before.pop("files")}
        # as JSON has it: a tuple is a list there
        today = json.loads(json.dumps({key: value for key, value in report.items() if key != "files"}))
        same = told_before == today and all(
            _is_ours(name, folder) and digest((folder / name).read_bytes()) == sum_ for name, sum_ in files.items()
        )
        return list(files) if same and not any(_stale(folder, {**files, REPORT: ""})) else None
    except (PacketError, OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def write_beside(folder: Path, files: Mapping[str, bytes], owned: Sequence[str]) -> None:
    """Write files of another command into a job's folder, each whole or not at all, beside what `draw` has there.

    Files whose names begin with one of ``owned`` and that are not written now are removed: they tell of an earlier run.
    Raises PacketError as `write_packet`.
    """
    be_folder(folder)
    with told(folder, "make the folder"):
        folder.mkdir(parents=True, exist_ok=True)
    with told(folder, "open"), alone(folder):
        for name, data in files.items():
            write(folder / name, data)
        with told(folder, "look into"):
            paths = sorted(folder.iterdir())
        for path in paths:
            if path.name not in files and path.name.startswith(tuple(owned)) and path.is_file():
                remove(path)


def _is_ours(name: str, folder: Path) -> bool:
    """Whether a name is one that `draw` owns in a job's folder; none of them leads out of it."""
    base = name.removeprefix(f"{CUT}/")
    if not base or base.startswith(".") or any(c in base for c in "/\\\0"):
        return False
    named = (f"{folder.name}.pdf", "shop.dxf", "materials.json", "materials.csv", REPORT)
    return base != name or name in named or name.startswith("sheet-")


def _stale(folder: Path, files: Mapping[str, Any]) -> Iterator[Path]:
    """Yield the files of earlier runs, finished or not, that this one does not write. Folders are no files of ours."""
    cut = folder / CUT
    with told(folder, "look into"):
        paths = sorted(folder.iterdir()) + (sorted(cut.iterdir()) if cut.is_dir() else [])
    for path in paths:
        name = path.relative_to(folder).as_posix()
        ours = _is_ours(name, folder) or path.name.startswith(PART)
        if ours and name not in files and (path.is_symlink() or path.is_file()):
            yield path
