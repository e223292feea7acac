"""TOML text to plain data, with advice for the slips that field notes invite: tapes and words without quotes."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from pydantic import BaseModel

from layout.faults import Fault, JobError
from layout.job import Job
from layout.keys import header, is_listed
from layout.source import Place, Source
from layout.units import LengthError, parse_length

MOST_BYTES = 2_000_000
"""A job file is a page or two; a bigger one is some other file."""
_LONGEST_LINE = 20_000
"""TOML's reader takes time by the square of a dotted key's length."""
_DEEPEST = 12
"""Levels of nesting; a job needs five."""
_WHERE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_HEADER = re.compile(r"\s*(\[\[?)\s*([^\[\]]+?)\s*\]")
_QUOTED = {'"': r'"(?:[^"\\]|\\.)*"', "'": r"'[^']*'"}
_HALF = re.compile("[\ud800-\udfff]")
_FORM = "key = value, a [table] header or a # comment"


def parse(source: Source, root: type[BaseModel] = Job) -> dict[str, Any]:
    """Return the data of a file of the model ``root``, decimals exact. Raises JobError with advice where it is not TOML."""
    _refuse_unreadable(source)
    try:
        data = tomllib.loads(source.plain, parse_float=_decimal)
    except tomllib.TOMLDecodeError as error:
        raise JobError([_explained(str(error), source, root)]) from None
    except RecursionError:
        raise JobError([source.fault_of_file("brackets nested too deep to read", "a few levels at most")]) from None
    except ValueError:  # a whole number of thousands of digits
        raise JobError([_digits(source)]) from None
    deep = _too_deep(data)
    if deep:
        raise JobError([source.fault(deep, "tables or lists nested too deep", f"{_DEEPEST} levels at most")])
    return data


def _refuse_unreadable(source: Source) -> None:
    if len(source.text) > MOST_BYTES:
        raise JobError([source.fault_of_file("more than 2 MB", "a job file of a page or two")])
    for number, line in enumerate(source.lines, 1):
        nul = line.find("\0")
        if nul >= 0:
            place = Place(number, nul + 1, nul + 2)
            raise JobError([source.fault_at(place, "a NUL character", "plain text: is this a job file?")])
        if len(line) > _LONGEST_LINE:
            raise JobError([source.fault_of_file(f"line {number} of {len(line):,} characters", "shorter lines")])
    if _HALF.search(source.text):
        raise JobError([source.fault_of_file("half a character (a surrogate)", "UTF-8 text")])


def _decimal(text: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation:  # an exponent beyond all bounds
        return Decimal("inf")


def _too_deep(data: dict[str, Any]) -> tuple[str | int, ...]:
    """Return the path of the first value nested too deep; empty where there is none."""
    waiting: list[tuple[tuple[str | int, ...], Any]] = [((), data)]
    while waiting:
        path, value = waiting.pop()
        if len(path) > _DEEPEST:
            return path
        inside = value.items() if isinstance(value, dict) else enumerate(value)
        # what holds nothing is only looked at where it would be too deep itself
        deep = len(path) == _DEEPEST
        waiting += [((*path, key), inner) for key, inner in inside if deep or isinstance(inner, dict | list)]
    return ()


def _digits(source: Source) -> Fault:
    for number, line in enumerate(source.lines, 1):
        run = re.search(r"\d[\d_]{4000,}", line)
        if run:
            return source.fault_at(
                Place(number, run.start() + 1, run.end() + 1), "a number of thousands of digits", "a number"
            )
    return source.fault_of_file("a number of thousands of digits", "a number")


@dataclass(frozen=True, slots=True)
class _Slip:
    """What went wrong on one line: the stretch to mark, counted from 0, and what to say."""

    start: int
    end: int
    found: str
    expected: str


def _explained(message: str, source: Source, root: type[BaseModel]) -> Fault:
    where = _WHERE.search(message)
    reason = _WHERE.sub("", message)
    if where and where[1]:
        number, column = int(where[1]), int(where[2])
    else:
        number = max((n for n, text in enumerate(source.lines, 1) if text.strip()), default=1)
        column = len(source.lines[number - 1]) + 1
    if reason.startswith("Unterminated") and (begun := _opening(source, number)):
        return source.fault_at(begun, "a text that never ends", "the same three quotes at its end")
    single = _single_bracket(reason, source, number, root)
    if single:
        return source.fault_at(single, "one bracket, with two on a later header", "two brackets each time")
    line = source.lines[number - 1]
    slip = _twice(reason, line, column - 1, root) or _slip(reason, line, column - 1)
    if slip is None:
        at = min(column - 1, len(line))
        slip = _Slip(at, at + 1, f"text that is not TOML ({reason[:1].lower()}{reason[1:]})", _FORM)
    return source.fault_at(Place(number, slip.start + 1, max(slip.end, slip.start + 1) + 1), slip.found, slip.expected)


def _opening(source: Source, last: int) -> Place | None:
    """Return the last three quotes in the file, where a text over several lines was begun and never ended."""
    for number in range(last, 0, -1):
        line = source.lines[number - 1]
        at = max(line.rfind('"""'), line.rfind("'''"))
        if at >= 0:
            return Place(number, at + 1, at + 4)
    return None


def _single_bracket(reason: str, source: Source, number: int, root: type[BaseModel]) -> Place | None:
    """Return the place of an earlier [wall] where this line has [[wall]]."""
    here = _HEADER.match(source.lines[number - 1])
    if not here or here[1] != "[[" or not reason.startswith("Cannot") or not is_listed(here[2], root):
        return None
    for earlier in range(1, number):
        line = source.lines[earlier - 1]
        match = _HEADER.match(line)
        if match and match[1] == "[" and match[2] == here[2]:
            return Place(earlier, match.start(1) + 1, match.end() + 1)
    return None


def _slip(reason: str, line: str, at: int) -> _Slip | None:
    """Return the first explanation that fits what the reader said of a line."""
    for explain in (_not_a_comment, _not_a_header, _no_equals, _odd_character, _comma, _bad_value, _unclosed):
        slip = explain(reason, line, at)
        if slip is not None:
            return slip
    return None


def _twice(reason: str, line: str, at: int, root: type[BaseModel]) -> _Slip | None:
    if not reason.startswith("Cannot"):
        return None
    match = _HEADER.match(line)
    if match:
        start, end = match.start(1), len(line.partition("#")[0].rstrip())
        listed = is_listed(match[2], root)
        expected = f"{header(match[2], root)}, two brackets each time" if listed else "each table once"
        return _Slip(start, end, f"{line[start:end]} a second time", expected)
    key = line.partition("=")[0].strip()
    start = len(line) - len(line.lstrip())
    if "=" not in line or at < start:
        return _Slip(at, at + 1, "a key a second time", "each key once in its table")
    return _Slip(start, start + len(key), f"{key} a second time", "each key once in its table")


def _not_a_comment(reason: str, line: str, at: int) -> _Slip | None:
    comment = re.match(r"\s*(//|;|--|/\*)", line)
    if reason != "Invalid statement" or not comment or comment.start(1) != at:
        return None
    return _Slip(*comment.span(1), comment[1], "# before a comment")


def _not_a_header(reason: str, line: str, _at: int) -> _Slip | None:
    if not reason.startswith("Expected ']"):
        return None
    start, end = len(line) - len(line.lstrip()), len(line.rstrip())
    return _Slip(start, end, "a header without its closing brackets", "[table] or [[table]]")


def _no_equals(reason: str, line: str, at: int) -> _Slip | None:
    if reason == "Invalid initial character for a key part":
        return _Slip(
            at, at + 1, f"{line[at : at + 1] or 'nothing'} where a key begins", "a key, with no comma after the last"
        )
    if not reason.startswith("Expected '='"):
        return None
    colon = re.match(r"\s*([^=:#\"']+?)\s*:\s*(.*)", line)
    if colon:
        return _Slip(line.index(":"), line.index(":") + 1, ":", f"=, as in {colon[1]} = {colon[2] or '...'}")
    comma = next((m for m in re.finditer(r"-?\d+,\d+", line) if m.start() < at <= m.end() + 1), None)
    if comma:
        return _Slip(*comma.span(), comma[0], f"a decimal point: {comma[0].replace(',', '.')}")
    spaced = re.search(r"([A-Za-z0-9_-]+(?: +[A-Za-z0-9_-]+)+)\s*=", line)
    if spaced and spaced.start(1) <= at <= spaced.end(1):
        expected = f'quotes round a key of several words: "{spaced[1]}" = ...'
        return _Slip(*spaced.span(1), f"{spaced[1]} without quotes", expected)
    return _Slip(at, at + 1, "a key with no = after it", "key = value")


def _odd_character(reason: str, line: str, at: int) -> _Slip | None:
    if line[at : at + 1] == "\r":
        return _Slip(at, at + 1, "a carriage return alone", "a line feed at the end of each line")
    if reason.startswith("Unescaped"):
        expected = "single quotes round a text with a backslash in it, or \\\\ for each"
        start = max(0, line.rfind("\\", 0, at + 1))
        return _Slip(start, start + 2, "a backslash in double quotes", expected)
    if reason.startswith("Illegal character") and r"\n" not in reason:
        return _Slip(at, at + 1, "a control character", "text without it")
    return None


def _comma(_reason: str, line: str, _at: int) -> _Slip | None:
    comma = re.match(r"[^\[{#\"']*=\s*(-?\d+,\d+)\s*(#|$)", line)
    if not comma:
        return None
    return _Slip(*comma.span(1), comma[1], f"a decimal point: {comma[1].replace(',', '.')}")


def _bad_value(_reason: str, line: str, at: int) -> _Slip | None:
    piece = _piece(line, at)
    if piece is None:
        return None
    return _badly_quoted(line, *piece) if line[piece[0]] in "\"'" else _unquoted(line, *piece)


def _unclosed(reason: str, line: str, at: int) -> _Slip | None:
    rest = line[at:].strip()
    empty = re.match(r"([^=#\"']*=)\s*(#|$)", line)
    if reason == "Invalid value" and empty:
        return _Slip(0, empty.end(1), "nothing after =", "a value")
    if reason.startswith("Expected newline") and rest:
        return _Slip(at, at + len(rest), f"{rest} after the value", "one key = value on each line")
    found, expected = {
        "Unclosed array": ("a list that is not closed", "a comma between its values and ] at its end"),
        "Unclosed inline table": (
            "a table in { } that is not closed",
            "a comma between its keys and } on the same line",
        ),
    }.get(reason, ("", ""))
    return _Slip(at, at + 1, found, expected) if found else None


def _pieces(line: str) -> Iterator[tuple[int, int]]:
    """Yield the stretches of a line between = , [ ] { }, a quoted one with whatever clings to it."""
    at = 0
    while at < len(line):
        if line[at] in "=,[]{} \t":
            at += 1
            continue
        if line[at] == "#":
            return
        start = at
        if line[at] in "\"'":
            quoted = re.compile(_QUOTED[line[at]]).match(line, at)
            at = quoted.end() if quoted else len(line)
        while at < len(line) and line[at] not in "=,[]{}#":
            at += 1
        yield start, start + len(line[start:at].rstrip(" \t"))


def _piece(line: str, at: int) -> tuple[int, int] | None:
    """Return the stretch in which reading failed, a value and not a key."""
    found = [(start, end) for start, end in _pieces(line) if start <= at and not line[end:].lstrip().startswith("=")]
    return found[-1] if found else None


def _shown(line: str, start: int, value: str) -> str:
    """Return ``key = value`` where a line is just that, else the value."""
    key = line[:start].strip()
    return f"{key} {value}" if re.fullmatch(r"[\w.-]+\s*=", key) else value


def _quoted(text: str) -> str:
    if '"' not in text:
        return f'"{text}"'
    if "'" not in text:
        return f"'{text}'"
    return '"' + text.replace('"', '\\"') + '"'


def _unquoted(line: str, start: int, end: int) -> _Slip | None:
    text = line[start:end]
    respelt = _respelt(text)
    if respelt is not None:
        return _Slip(start, end, text, respelt) if respelt else None
    if text[0] in "“”‘’„«":
        return _Slip(
            start, end, f"{text} in curly quotes", f"straight quotes: {_shown(line, start, _quoted(text[1:-1]))}"
        )
    if _is_tape(text):
        # the last mark may be left out beside feet, and a text with both marks is hard to quote
        tape = text.rstrip('"″” ') if "'" in text else text
        expected = f"quotes round a length with a fraction, a mark or a unit: {_shown(line, start, _quoted(tape))}"
        return _Slip(start, end, f"{text} without quotes", expected)
    if text[0].isalpha() or any(c in text for c in "/'\""):
        return _Slip(start, end, f"{text} without quotes", f"quotes round text: {_shown(line, start, _quoted(text))}")
    return _Slip(start, end, text, "a number, or a text in quotes")


def _respelt(text: str) -> str | None:
    """Return what TOML wants instead of a number, date or truth value; empty where it is sound, None for other text."""
    if re.fullmatch(r"[+-]?(0|[1-9]\d*)(\.\d+)?", text):
        return ""
    if re.fullmatch(r"0\d+", text):
        return f"a number without leading zeros: {text.lstrip('0') or '0'}"
    if re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", text):
        return "a date such as 2026-03-14"
    if text.lower() in ("true", "false", "yes", "no", "on", "off"):
        return "true or false, in small letters"
    return None


def _is_tape(text: str) -> bool:
    try:
        parse_length(text, "in")
    except LengthError:
        return False
    return True


def _badly_quoted(line: str, start: int, end: int) -> _Slip | None:
    text = line[start:end]
    quote = text[0]
    if re.fullmatch(_QUOTED[quote], text):
        return None  # sound in itself
    if text.count(quote) == 1:
        return _Slip(start, end, f"{text} without a closing quote", f"quotes at both ends: {text}{quote}")
    if text[-1] == quote and not re.match(_QUOTED[quote] + r"\s", text):
        inner = text[1:-1]
        return _Slip(start, end, text, f"quotes that differ from those within: {_shown(line, start, _quoted(inner))}")
    return _Slip(start, end, text, "one value, with a comma before the next in a list")
