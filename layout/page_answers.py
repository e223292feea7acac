"""What the page to sign on saved, ``NUMBER-A-returned.json``, read as what it is: a file from outside.

Every value is held to its type and size before it is used; a number that is none, a list too deep or a file too large is
refused in words.
"""

from __future__ import annotations

import datetime
import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

from layout.outline import Point
from layout.svg_reading import ReturnError

MOST_JSON = 4 * 1024 * 1024
"""Bytes of a saved file that are read: a page full of free-hand takes a tenth."""
VERSION = 1
DECISIONS = ("approved", "approved as noted", "revise and resubmit")
KINDS = ("note", "line", "freehand", "text")
MOST_MARKS, MOST_POINTS, MOST_ANSWERS, MOST_WORDS, MOST_NAME = 1000, 20_000, 1000, 4000, 200
_LARGEST = 1e5
"""No point of a sheet lies farther off than this, mm."""


@dataclass(frozen=True, slots=True)
class PageMark:
    """A mark as the page keeps it: ``points`` in the sheet's SVG units, y down; a note's first is what it points at."""

    sheet: int
    kind: str
    points: tuple[Point, ...]
    text: str


@dataclass(frozen=True, slots=True)
class PageAnswers:
    """All that the page saved. ``date``: a day as ISO 8601 writes it, or empty. ``answers``: of a question's id."""

    number: str
    revision: str
    digest: str
    decision: str | None
    name: str
    date: str
    marks: tuple[PageMark, ...]
    answers: tuple[tuple[str, str], ...]


def json_object(data: bytes, file: str) -> dict[str, Any]:
    """Return JSON from outside as an object. Raises ReturnError where it is none, is too large or deep, or has NaN in it."""
    if len(data) > MOST_JSON:
        raise ReturnError(f"{file} has more than {MOST_JSON // 2**20} MB; nothing that sign-off.html saves has")

    def no_number(text: str) -> NoReturn:
        raise ReturnError(f"{file} has {text} where a number belongs")

    try:
        found = json.loads(data.decode("utf-8-sig"), parse_constant=no_number)
    except UnicodeDecodeError as error:
        raise ReturnError(f"{file} is no text in UTF-8") from error
    except RecursionError as error:
        raise ReturnError(f"{file} lies too deep in itself; nothing that sign-off.html saves does") from error
    except ValueError as error:
        raise ReturnError(f"{file} is not whole JSON: {error}") from error
    if not isinstance(found, dict):
        raise ReturnError(f"{file} is not what sign-off.html saves: it holds no object")
    return found


def page_answers(found: dict[str, Any], file: str) -> PageAnswers:
    """Return what a page's saved object says. Raises ReturnError, naming the key, where it cannot be what a page saved."""
    if found.get("staveline_return") != VERSION or isinstance(found["staveline_return"], bool):
        raise ReturnError(f'{file} is not what sign-off.html saves: "staveline_return" is not {VERSION}')
    read = _Reader(file)
    decision = read.text(found, "decision", MOST_NAME, optional=True)
    if decision and decision not in DECISIONS:
        read.refuse("decision", f"expected one of {', '.join(DECISIONS)}, or nothing")
    marks = [_mark(read, mark, f"marks[{n}]") for n, mark in enumerate(read.items(found, "marks", MOST_MARKS), start=1)]
    answers = [
        (
            read.text(a, "id", MOST_NAME, where=f"answers[{n}]."),
            read.text(a, "answer", MOST_WORDS, where=f"answers[{n}]."),
        )
        for n, a in enumerate(read.items(found, "answers", MOST_ANSWERS), start=1)
    ]
    if len({id_ for id_, _ in answers}) < len(answers):
        read.refuse("answers", "expected one answer to a question")
    for n, stroke in enumerate(read.items(found, "signature", MOST_MARKS), start=1):
        read.points(stroke, f"signature[{n}]")
    return PageAnswers(
        read.text(found, "number", MOST_NAME),
        read.text(found, "revision", MOST_NAME),
        read.text(found, "digest", MOST_NAME),
        decision or None,
        read.text(found, "name", MOST_NAME, optional=True),
        _day(read, read.text(found, "date", MOST_NAME, optional=True)),
        tuple(marks),
        tuple((id_, words) for id_, words in answers if words),
    )


def _mark(read: _Reader, mark: Any, where: str) -> PageMark:
    kind = read.text(mark, "kind", MOST_NAME, where=f"{where}.")
    if kind not in KINDS:
        read.refuse(f"{where}.kind", f"expected one of {', '.join(KINDS)}")
    sheet = mark.get("sheet")
    if not isinstance(sheet, int) or isinstance(sheet, bool) or not 1 <= sheet <= 10_000:
        read.refuse(f"{where}.sheet", "expected the number of a sheet")
    points = read.points(mark.get("points"), f"{where}.points")
    if not points:
        read.refuse(f"{where}.points", "expected a point at least")
    return PageMark(sheet, kind, points, read.text(mark, "text", MOST_WORDS, where=f"{where}.", optional=True))


def _day(read: _Reader, text: str) -> str:
    if text and not _is_day(text):
        read.refuse("date", "expected a day such as 2026-03-02, or nothing")
    return text


def _is_day(text: str) -> bool:
    try:
        datetime.date.fromisoformat(text)
    except ValueError:
        return False
    return re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII) is not None


class _Reader:
    """Takes values of the right type out of an object, and says where there is another."""

    def __init__(self, file: str) -> None:
        self.file = file

    def refuse(self, where: str, expected: str) -> NoReturn:
        raise ReturnError(f"{self.file} is not what sign-off.html saves: {where}: {expected}")

    def text(self, found: Any, key: str, most: int, *, where: str = "", optional: bool = False) -> str:
        """Return a text with its white space made one sort; empty for one that may be left out and is."""
        if not isinstance(found, dict):
            self.refuse(where.rstrip("."), "expected an object")
        value = found.get(key)
        if value is None and optional:
            return ""
        if not isinstance(value, str) or len(value) > most:
            self.refuse(f"{where}{key}", f"expected a text of at most {most} letters")
        # half a pair of UTF-16 can stand in JSON but in no file
        return " ".join(value.encode("utf-8", "replace").decode("utf-8").split())

    def items(self, found: dict[str, Any], key: str, most: int) -> Sequence[Any]:
        """Return a list; none for one that is left out."""
        value = found.get(key)
        if value is None:
            return ()
        if not isinstance(value, list) or len(value) > most:
            self.refuse(key, f"expected a list of at most {most}")
        return value

    def points(self, value: Any, where: str) -> tuple[Point, ...]:
        """Return points of a sheet."""
        if not isinstance(value, list) or len(value) > MOST_POINTS:
            self.refuse(where, f"expected a list of at most {MOST_POINTS} points")
        for p in value:
            if not isinstance(p, list) or len(p) != 2 or not all(_is_place(v) for v in p):
                self.refuse(where, "expected points of two numbers each, on a sheet")
        return tuple((float(x), float(y)) for x, y in value)


def _is_place(value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return abs(value) <= _LARGEST and math.isfinite(value)
