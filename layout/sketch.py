"""A job file's data as typed, looked at leniently: what can be read of its walls and tops while other parts are wrong.

Checks across tables run on this, so that they are reported together with everything else and never on account of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, TypeVar

from layout.faults import KeyPath
from layout.job_tops import top_shape
from layout.job_values import Table as Model
from layout.keys import choice, nearest
from layout.source import Snags
from layout.units import Labels, Length, LengthError, Unit, parse_length

Table = dict[str, Any]
Note = TypeVar("Note")
_MOST_LISTED = 8
"""Names that a message lists; of more, only the nearest."""


@dataclass(frozen=True, slots=True)
class WallNote:
    """What can be read of a wall; ``length`` in mm, None where it cannot be."""

    index: int
    name: str
    length: Fraction | None
    open: bool


@dataclass(frozen=True, slots=True)
class TopNote:
    """What can be read of a top; ``along`` is None where it is no run or its walls cannot be told."""

    path: KeyPath
    name: str
    shape: str | None
    table: Table
    along: tuple[WallNote, ...] | None

    @property
    def called(self) -> str:
        """How messages call it."""
        return f'top "{self.name}"' if self.name else "this top"


class Sketch:
    """The tables of a job file by name, with what is wrong so far; ``unit`` None: not known, so nothing is measured."""

    def __init__(self, data: Table, unit: Unit | None, snags: Snags) -> None:
        """Take the data as typed."""
        self.data = data
        self.unit = unit
        self.snags = snags
        # of two with one name the first is meant, and the second has its own fault
        self.walls = {note.name: note for note in reversed(list(self._walls()))}
        self.windows = {
            table["name"]: table for _, table in self.entries("window") if isinstance(table.get("name"), str)
        }
        self.all_tops = tuple(self._top(path, table) for path, table in self.entries("top"))
        self.tops = {note.name: note for note in reversed(self.all_tops) if note.name}

    def entries(self, name: str) -> Iterator[tuple[KeyPath, Table]]:
        """Yield the tables listed as ``[[name]]``, with their paths."""
        listed = self.data.get(name)
        for at, table in enumerate(listed if isinstance(listed, list) else ()):
            if isinstance(table, dict):
                yield (name, at), table

    def section(self, name: str) -> Table:
        """Return the table ``[name]``, empty where there is none."""
        table = self.data.get(name)
        return table if isinstance(table, dict) else {}

    def length(self, value: object) -> Fraction | None:
        """Return a length in mm, or None where it cannot be read or measured."""
        try:
            return None if self.unit is None else parse_length(value, self.unit).mm
        except LengthError:
            return None

    def is_length(self, value: object) -> bool:
        """Return whether a length can be read, in inches where the unit is not known."""
        try:
            parse_length(value, self.unit or "in")
        except LengthError:
            return False
        return True

    def lengths(self, value: object) -> tuple[Fraction, ...] | None:
        """Return a list of lengths in mm, or None where any of them cannot be read."""
        read = [self.length(v) for v in value] if isinstance(value, list) else [None]
        known = tuple(size for size in read if size is not None)
        return known if len(known) == len(read) else None

    def shown(self, mm: Fraction | float) -> str:
        """Return a length as printed."""
        return Labels(self.unit or "in").fine(Length(mm) if isinstance(mm, Fraction) else mm)

    def is_known_in_full(self, name: str) -> bool:
        """Return whether every ``[[name]]`` has a name, so that one that is not found is truly missing."""
        listed = self.data.get(name, [])
        if self.snags.known((name,)) or not isinstance(listed, list):
            return False
        return all(isinstance(table, dict) and isinstance(table.get("name"), str) for table in listed)

    def wall_at(self, path: KeyPath, name: object) -> WallNote | None:
        """Return the wall that is named at ``path``, noting where there is none of that name."""
        return self._named(path, name, self.walls, "wall")

    def top_at(self, path: KeyPath, name: object) -> TopNote | None:
        """Return the top that is named at ``path``, noting where there is none of that name."""
        return self._named(path, name, self.tops, "top")

    def _named(self, path: KeyPath, name: object, known: dict[str, Note], kind: str) -> Note | None:
        found = known.get(name) if isinstance(name, str) else None
        if found is None and isinstance(name, str) and self.is_known_in_full(kind):
            listed = f"a {kind} of this job: {one_of(sorted(known), name)}" if known else f"a [[{kind}]] of that name"
            self.snags.add_typed(path, listed)
        return found

    def _walls(self) -> Iterator[WallNote]:
        for (_, at), table in self.entries("wall"):
            name = table.get("name")
            if isinstance(name, str):
                length = self.length(table.get("length"))
                yield WallNote(int(at), name, length if length and length > 0 else None, table.get("open") is True)

    def _top(self, path: KeyPath, table: Table) -> TopNote:
        name, along = table.get("name"), table.get("along")
        shapes = shapes_of(table)
        shape = top_shape(table) if len(shapes) == 1 else None
        walls = [self.walls.get(n) if isinstance(n, str) else None for n in along] if isinstance(along, list) else []
        known = tuple(wall for wall in walls if wall is not None)
        whole = shape == "run" and len(known) == len(walls) > 0
        return TopNote(path, name if isinstance(name, str) else "", shape, table, known if whole else None)


def shapes_of(table: Table) -> dict[str, str]:
    """Return the shapes of a top that its keys ask for, each with the key that does."""
    marks = {"along": "run", "size": "rectangle", "base": "rectangle", "outline": "outline"}
    asked: dict[str, str] = {}
    for key in table:
        if key in marks:
            asked.setdefault(marks[key], key)
    return asked


def one_of(words: Iterable[str], typed: str = "") -> str:
    """Return words as an enumeration; of many, the nearest to what was typed."""
    known = list(words)
    if len(known) <= _MOST_LISTED:
        return choice(known)
    close = nearest(typed, known)
    return f'"{close}", the nearest of {len(known)}' if close else f"{choice(known[:_MOST_LISTED])} or another"


def note_together(sketch: Sketch, path: KeyPath, table: Table, model: type[Model]) -> None:
    """Note keys that do not go together; the model would tell only once every value of the table is sound."""
    for misfit in model.misfits(table):
        sketch.snags.add_misfit(path, str(misfit), misfit.keys)
