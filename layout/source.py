"""The text of a job file and where each value in it stands.

TOML's own reader keeps no positions, so a second, tolerant parser finds them, and only once there is a fault to show.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from layout.faults import Fault, JobError, KeyPath, PlaceError, path_text

if TYPE_CHECKING:
    from tree_sitter import Node

_DEEPEST = 24
"""Levels of nesting that get a position of their own; a job needs five."""
_LONGEST_QUOTE = 60
"""Characters of a job file that a message repeats."""


@dataclass(frozen=True, slots=True)
class Place:
    """A stretch of one line, counted from 1 in characters; ``end_column`` is the first one past it."""

    line: int
    column: int
    end_column: int


@dataclass(frozen=True)
class Source:
    """The text of a job file, with the place of everything in it."""

    name: str
    text: str

    @cached_property
    def plain(self) -> str:
        """The text without byte order mark and with plain line ends, as the parsers take it."""
        return self.text.removeprefix("\ufeff").replace("\r\n", "\n")

    @cached_property
    def lines(self) -> tuple[str, ...]:
        """The lines of the text."""
        return tuple(self.plain.split("\n"))

    @cached_property
    def _spans(self) -> _Spans:
        return _spans_of(self.plain)

    def place(self, path: KeyPath, *, at_key: bool = False) -> Place:
        """Return where the value at ``path`` stands, or its key; of a missing value, what it is missing from."""
        spans = self._spans
        while path and path not in spans.values:
            path, at_key = path[:-1], False
        span = spans.keys.get(path) if at_key else spans.values.get(path)
        return span.place if span else Place(1, 1, 1)

    def has(self, path: KeyPath) -> bool:
        """Return whether something is typed at ``path``."""
        return path in self._spans.values

    def typed(self, path: KeyPath) -> str:
        """Return what is typed at ``path``, on one line and shortened; ``nothing`` where nothing is."""
        span = self._spans.values.get(path)
        return _shortened(span.text) if span else "nothing"

    def label(self, path: KeyPath) -> str:
        """Return ``path`` for people, with the name of its wall, top or cutout: ``wall[2] "B".length``."""
        named = path[:2]
        span = self._spans.values.get((*named, "name")) if len(path) >= 2 and isinstance(path[1], int) else None
        if span is None or span.text[0] not in "\"'":
            return path_text(path)
        name = f'"{_shortened(span.text.strip(chr(34) + chr(39)))}"'
        rest = path_text(path[2:])
        return f"{path_text(named)} {name}{'.' + rest if rest else ''}"

    def fault(self, path: KeyPath, found: str, expected: str, *, at_key: bool = False) -> Fault:
        """Return a fault of the value at ``path``, or of its key."""
        place = self.place(path, at_key=at_key)
        return self._fault(path, place, found, expected, self.label(path))

    def fault_at(self, place: Place, found: str, expected: str) -> Fault:
        """Return a fault of a stretch of text that no key path leads to."""
        return self._fault((), place, found, expected, "")

    def fault_of_file(self, found: str, expected: str) -> Fault:
        """Return a fault of the file as a whole."""
        return self._fault((), Place(0, 0, 0), found, expected, "")

    def _fault(self, path: KeyPath, place: Place, found: str, expected: str, label: str) -> Fault:
        line = self.lines[place.line - 1] if place.line else ""
        return Fault(path, found, expected, place.line, place.column, place.end_column, self.name, line, label)


def located(error: PlaceError, source: Source) -> JobError:
    """Return what a later stage found wrong as an error that shows its place in the job file."""
    return JobError([source.fault(error.path, error.found, error.expected)])


class Snags:
    """What has been found wrong with one job file so far: one fault for each place."""

    def __init__(self, source: Source) -> None:
        """Begin with none."""
        self.source = source
        self._faults: dict[KeyPath, Fault] = {}
        self._meant: set[KeyPath] = set()

    def add(self, path: KeyPath, found: str, expected: str, *, at_key: bool = False) -> None:
        """Note a fault, unless one is known of the same place or of what it stands in."""
        if not self.known(path):
            self._faults[path] = self.source.fault(path, found, expected, at_key=at_key)

    def add_typed(self, path: KeyPath, expected: str, because: str = "") -> None:
        """Note that what is typed at ``path`` is not what is expected, with a reason that begins with a comma."""
        if not self.known(path):
            self.add(path, self.source.typed(path) + because, expected)

    def add_misfit(self, path: KeyPath, expected: str, keys: Sequence[str]) -> None:
        """Note that keys of the table at ``path`` do not go together; the last one given is pointed at."""
        given = [key for key in keys if self.source.has((*path, key))]
        if not given and any(self.known((*path, key)) for key in keys):
            return
        if given:
            found = " and ".join(f"{key} = {self.source.typed((*path, key))}" for key in given)
            self.add((*path, given[-1]), found, expected)
        elif keys:
            self.add((*path, keys[0]), f"neither {' nor '.join(keys)}", expected)
        else:
            self.add_typed(path, expected)

    def known(self, path: KeyPath) -> bool:
        """Return whether a fault is known of ``path`` or of what it stands in."""
        return path in self._meant or any(path[:n] in self._faults for n in range(len(path) + 1))

    def within(self, path: KeyPath) -> bool:
        """Return whether a fault is known of ``path`` or of anything in it."""
        return any(known[: len(path)] == path for known in self._faults)

    def mean(self, path: KeyPath) -> None:
        """Take it that a misspelt key was meant for ``path``, which is then not missing."""
        if not self.source.has(path):
            self._meant.add(path)

    @property
    def faults(self) -> tuple[Fault, ...]:
        """The faults so far."""
        return tuple(self._faults.values())


def _shortened(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= _LONGEST_QUOTE else f"{line[: _LONGEST_QUOTE - 1]}…"


@dataclass(frozen=True, slots=True)
class _Span:
    """A stretch of the text: its place on its first line and the whole of it."""

    place: Place
    text: str


@dataclass(slots=True)
class _Spans:
    """Where values and their keys stand."""

    values: dict[KeyPath, _Span] = field(default_factory=dict)
    keys: dict[KeyPath, _Span] = field(default_factory=dict)


def _spans_of(text: str) -> _Spans:
    # imported here: the two cost more than reading a job, and a sound job needs no positions
    import tree_sitter_toml  # noqa: PLC0415
    from tree_sitter import Language, Parser  # noqa: PLC0415

    data = f"{text}\n".encode()
    tree = Parser(Language(tree_sitter_toml.language())).parse(data)
    return _Walk(data).of(tree.root_node)


class _Walk:
    """One pass over the syntax tree of a job file."""

    def __init__(self, data: bytes) -> None:
        self.lines = data.split(b"\n")
        self.data = data
        self.spans = _Spans()
        self.lengths: dict[KeyPath, int] = {}

    def of(self, root: Node) -> _Spans:
        for node in root.named_children:
            if node.type == "pair":
                self._pair((), node)
            elif node.type in ("table", "table_array_element"):
                self._table(node)
        return self.spans

    def _table(self, node: Node) -> None:
        head, *pairs = _parts(node)
        header = self._span(node, node.children[2])
        path: KeyPath = ()
        names = list(self._names(head))
        for at, (name, key) in enumerate(names):
            path = (*path, name)
            self._enter(path, key, header)
            last = at == len(names) - 1
            if last and node.type == "table_array_element":
                self.lengths[path] = self.lengths.get(path, 0) + 1
            if path in self.lengths:  # a table below an array belongs to the newest entry
                path = (*path, self.lengths[path] - 1)
            if last:
                self.spans.values[path] = header
                self.spans.keys[path] = self._span(key, key)
        for pair in pairs:
            self._pair(path, pair)

    def _pair(self, path: KeyPath, node: Node) -> None:
        if node.type != "pair":
            return
        parts = _parts(node)
        if len(parts) != 2:
            return
        for name, key in self._names(parts[0]):
            path = (*path, name)
            self._enter(path, key, self._span(key, key))
        self._value(path, parts[1])

    def _enter(self, path: KeyPath, key: Node, span: _Span) -> None:
        """Note a key; what it leads to stands there too until it is met itself."""
        self.spans.values.setdefault(path, span)
        self.spans.keys.setdefault(path, self._span(key, key))

    def _value(self, path: KeyPath, node: Node) -> None:
        self.spans.values[path] = self._span(node, node)
        if len(path) > _DEEPEST:
            return
        if node.type == "array":
            for at, item in enumerate(_parts(node)):
                self._value((*path, at), item)
        elif node.type == "inline_table":
            for pair in _parts(node):
                self._pair(path, pair)

    def _names(self, node: Node) -> Iterator[tuple[str, Node]]:
        waiting = [node]  # a dotted key is a tree that leans left, as deep as it is long
        while waiting:
            part = waiting.pop()
            if part.type == "dotted_key":
                waiting.extend(reversed(_parts(part)))
            else:
                typed = self._text(part, part)
                yield (tomllib.loads(f"key = {typed}")["key"] if part.type == "quoted_key" else typed), part

    def _text(self, first: Node, last: Node) -> str:
        return self.data[first.start_byte : last.end_byte].decode()

    def _span(self, first: Node, last: Node) -> _Span:
        row, start = first.start_point
        end_row, end = last.end_point
        line = self.lines[row]
        end = end if end_row == row else len(line)
        # the parser counts bytes, people count characters
        place = Place(row + 1, len(line[:start].decode()) + 1, len(line[:end].decode()) + 1)
        return _Span(place, self._text(first, last))


def _parts(node: Node) -> list[Node]:
    return [child for child in node.named_children if child.type != "comment"]
