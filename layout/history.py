"""A job's history: one line for each thing that happened to its drawings, only ever added to.

Lines are JSON objects: ``when`` (UTC, to the second), ``what``, ``revision``, ``digest``, ``by``, and where they apply
``decision``, ``file`` and ``sha256``. A line that a power cut tore off is passed over, and the next one starts anew.
"""

from __future__ import annotations

import datetime
import json
import os
from contextlib import suppress
from pathlib import Path
from typing import Any, Literal

from layout.folders import PacketError, told

try:
    import fcntl
except ImportError:  # not on every system
    fcntl = None  # type: ignore[assignment]

HISTORY = "history.jsonl"
What = Literal["issued", "returned", "released"]


def append(
    folder: Path,
    what: What,
    *,
    revision: str,
    digest: str,
    by: str = "",
    decision: str | None = None,
    file: str | None = None,
    sha256: str | None = None,
) -> dict[str, Any]:
    """Add a line to the history in a job's folder, wait until it is on the disk, and return it.

    Raises PacketError where it cannot be written.
    """
    now = datetime.datetime.now(datetime.UTC).replace(microsecond=0)
    line: dict[str, Any] = {
        "when": now.isoformat().replace("+00:00", "Z"),
        "what": what,
        "revision": revision,
        "digest": digest,
        "by": by,
    }
    line |= {k: v for k, v in (("decision", decision), ("file", file), ("sha256", sha256)) if v is not None}
    path = folder / HISTORY
    if path.is_symlink():
        raise PacketError(f"{path} is a link to somewhere else; remove it")
    with told(path, "write"):
        # the system sets the place of an appended write itself; the lock is for the look at how the last line ends
        handle = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o666)
        try:
            if fcntl is not None:
                with suppress(OSError):  # a file system may know no locks
                    fcntl.flock(handle, fcntl.LOCK_EX)
            data = json.dumps(line, ensure_ascii=False).encode(errors="replace") + b"\n"
            _write_all(handle, data if _ends_whole(handle) else b"\n" + data)
            os.fsync(handle)
        finally:
            os.close(handle)
    return line


def _ends_whole(handle: int) -> bool:
    """Whether what stands in a file is nothing or ends with an end of line."""
    size = os.fstat(handle).st_size
    if size == 0:
        return True
    os.lseek(handle, size - 1, os.SEEK_SET)
    return os.read(handle, 1) == b"\n"


def _write_all(handle: int, data: bytes) -> None:
    if os.write(handle, data) != len(data):
        raise OSError("only a part of the line could be written")


def read(folder: Path) -> list[dict[str, Any]]:
    """Return the lines of a job's history in order; none where there is no history. Torn lines are passed over.

    Raises PacketError where the file cannot be read.
    """
    path = folder / HISTORY
    with told(path, "read"):
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            return []
    out = []
    for line in data.split(b"\n"):
        try:
            entry = json.loads(line)
        except (ValueError, RecursionError):
            continue
        if isinstance(entry, dict) and all(
            isinstance(entry.get(k), str) for k in ("when", "what", "revision", "digest")
        ):
            out.append(entry)
    return out
