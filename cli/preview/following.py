"""The job file followed: what it last said well, and what is wrong with it now."""

from __future__ import annotations

import json
import sys
import threading
import traceback
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from cli.preview.shown import Shown, show
from layout.faults import JobError, printable

_AGAIN = 0.1
"""Seconds after which a file that is not there is looked for again: an editor may just be putting the new one in its place."""


@dataclass(frozen=True)
class Standing:
    """How the job stands: the last that could be drawn, and what is wrong with the file now; ``number`` counts up."""

    number: int
    shown: Shown | None
    error: str = ""
    faults: int = 0

    @cached_property
    def content(self) -> bytes:
        """Return what the page is told, as JSON."""
        content: dict[str, Any] = {"number": self.number, "error": self.error, "faults": self.faults, "shown": None}
        if self.shown is not None:
            content["shown"] = self.shown.content
        return json.dumps(content, ensure_ascii=False).encode()


class Following:
    """A job file and its templates, looked at whenever something near them changed. Its methods may run in any thread."""

    def __init__(self, path: Path) -> None:
        """Take the file; it is not looked at yet."""
        self.path = path
        self.standing = Standing(0, None)
        self._marks: dict[str, tuple[int, int, int]] = {}
        self._lock = threading.Lock()

    def folders(self) -> list[Path]:
        """Return the folders whose changes concern the job: its own, that of what it links to, those of its templates."""
        own = self.path.parent
        shown = self.standing.shown
        found = {own.resolve(), self.path.resolve().parent}
        found |= {(own / name).resolve().parent for name in (shown.templates if shown else ())}
        return sorted(folder for folder in found if folder.is_dir())

    def changed(self) -> bool:
        """Whether the job file or a drawing beside it is another one than when it was last looked at."""
        return self._marks != self._look_at_marks()

    def look(self) -> None:
        """Read the file and draw it; whatever is wrong with it stands beside the last that could be drawn."""
        if not self.path.exists():
            threading.Event().wait(_AGAIN)
        marks = self._look_at_marks()
        error, faults, shown = "", 0, None
        try:
            shown = show(self.path)
            _ = shown.content
        except JobError as raised:
            error, faults, shown = str(raised), len(raised.faults), None
        except Exception as raised:
            error, faults, shown = self._stumbled(raised), 1, None
        with self._lock:
            self.standing = Standing(self.standing.number + 1, shown or self.standing.shown, error, faults)
            # what was there before counts as it was then, lest a save while it was read be missed
            self._marks = self._look_at_marks() | marks

    def complete(self) -> bool:
        """Work out the materials of what is shown, for its board maps; return whether there is news."""
        before = self.standing.shown
        if before is None or before.of is not None:
            return False
        whole, error = before, ""
        try:
            whole = before.completed()
            _ = whole.content
        except Exception as raised:
            whole, error = before, self._stumbled(raised)
        with self._lock:
            now = self.standing
            if now.shown is not before:
                return False
            said = "\n".join(text for text in (now.error, error) if text)
            self.standing = Standing(now.number + 1, whole, said, now.faults + bool(error))
        return True

    def _stumbled(self, raised: Exception) -> str:
        """Return what to say of a fault of the program, which the page must outlive; the terminal has all of it."""
        traceback.print_exception(raised, file=sys.stderr)
        return printable(f"{self.path}: a fault of the program, not of the file ({type(raised).__name__}: {raised})")

    def _look_at_marks(self) -> dict[str, tuple[int, int, int]]:
        """Return by what a saved file is told from the one before: place, size and time of it and of drawings beside it."""
        files = {self.path}
        for folder in self.folders():
            try:
                files |= {p for p in folder.iterdir() if p.suffix.lower() == ".dxf"}
            except OSError:
                continue
        found = {}
        for file in files:
            try:
                state = file.stat()
            except (OSError, ValueError):
                continue
            found[str(file)] = (state.st_ino, state.st_size, state.st_mtime_ns)
        return found
