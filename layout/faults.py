"""What is wrong with a job, told so that it can be put right: where, what stood there, what was expected."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

KeyPath = tuple[str | int, ...]
"""Where a value stands in a job file: keys, and places in arrays counted from 0."""
_WIDEST = 160
"""Characters of a line that are shown below a message."""


def path_text(path: KeyPath) -> str:
    """Return a key path as people count and TOML writes it, e.g. ``wall[2].length`` for ("wall", 1, "length")."""
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            key = step if re.fullmatch(r"[A-Za-z0-9_-]+", step) else f'"{step}"'
            text += f".{key}" if text else key
    return text


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a job file. Line and columns count from 1, in characters; line 0 is the file as a whole."""

    path: KeyPath
    found: str
    expected: str
    line: int
    column: int
    end_column: int
    file: str
    source_line: str
    label: str = ""
    """The path for people, with the name of the thing where it has one: ``wall[2] "B".length``."""

    def text(self) -> str:
        """Return the fault in full: place, what was found and expected, and the line with a mark below it."""
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        label = self.label or path_text(self.path)
        message = f"{place}: {label + ': ' if label else ''}found {self.found}; expected {self.expected}"
        if not self.line:
            return printable(message)
        # of an endless line, the part round the mark
        cut = max(0, self.column - 1 - _WIDEST // 2) if len(self.source_line) > _WIDEST else 0
        line = self.source_line[cut : cut + _WIDEST]
        before, marked = line[: self.column - 1 - cut], line[self.column - 1 - cut : self.end_column - 1 - cut]
        # a tab stays a tab, so that the mark stands below its text however wide the terminal sets tabs
        indent = "".join("\t" if c == "\t" else " " * _columns(c) for c in before)
        mark = "^" * max(1, sum(_columns(c) for c in marked))
        return f"{printable(message)}\n    {printable(line)}\n    {indent}{mark}"

    def __str__(self) -> str:
        """Return the text of the fault."""
        return self.text()


def _columns(character: str) -> int:
    """Return how many columns a terminal gives a character."""
    if unicodedata.combining(character):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def printable(text: str) -> str:
    """Return ``text`` with control characters made visible, so that no file can steer a terminal."""
    return "".join("\ufffd" if _steers(c) else c for c in text)


def _steers(character: str) -> bool:
    category = unicodedata.category(character)
    return character != "\t" and (category.startswith("C") or category in ("Zl", "Zp"))


class LayoutError(Exception):
    """What this program raises when a job cannot be read or laid out."""


class JobError(LayoutError, ValueError):
    """A job file that cannot be used; ``faults`` are all that is wrong with it, by line."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        """Take the faults in any order."""
        self.faults = tuple(sorted(faults, key=lambda fault: (fault.line, fault.column)))
        super().__init__(self.faults)

    def __str__(self) -> str:
        """Return the text of every fault, one below the other."""
        return "\n".join(fault.text() for fault in self.faults)


class PlaceError(LayoutError):
    """What a later stage finds wrong with a job, with the key path of the value to change."""

    def __init__(self, path: KeyPath, found: str, expected: str) -> None:
        """Take the place and both halves of the message."""
        super().__init__(path, found, expected)
        self.path = path
        self.found = found
        self.expected = expected

    def __str__(self) -> str:
        """Return what was found and expected, with the key path."""
        return f"{path_text(self.path)}: found {self.found}; expected {self.expected}"


class TemplateError(LayoutError):
    """What is wrong with a drawing that someone else made: the file, what was found in it and what was expected."""

    def __init__(self, file: str, found: str, expected: str) -> None:
        """Take the file's name and both halves of the message."""
        super().__init__(file, found, expected)
        self.file = file
        self.found = found
        self.expected = expected

    def __str__(self) -> str:
        """Return what was found and expected, with the file."""
        return printable(f"{self.file}: found {self.found}; expected {self.expected}")
