"""The tables of a job file against their models: what pydantic finds wrong, once each, in the words of the trade."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError

from layout.faults import KeyPath
from layout.job_tops import AnyTop
from layout.job_values import MisfitError
from layout.keys import LENGTHS, SHAPES, Spot, choice, described, header, is_listed, keys_of, nearest, spot
from layout.sketch import Table, shapes_of
from layout.source import Snags
from layout.units import LengthError, Unit

_SHAPED_BY = "a top needs along (a run), size or base (a rectangle) or outline (any shape)"
_SHAPE_CALLED = {
    "run": "a run (it has along)",
    "rectangle": "a rectangle (it has size or base)",
    "outline": "an outline (it has outline)",
}
_MOST_LISTED = 12
"""Keys that a message lists between quotes."""


File = TypeVar("File", bound=BaseModel)


class Tables(Generic[File]):
    """One file's data on its way into the models: a job's, or a price book's."""

    def __init__(self, data: Table, unit: Unit, snags: Snags, root: type[File]) -> None:
        """Take the data as typed, and the model of the whole file."""
        self.data = data
        self.unit = unit
        self.snags = snags
        self.root = root

    def validated(self, full: Table) -> File | None:
        """Return what the data make, ``full`` of defaults; None with the faults noted where they make none."""
        try:
            return self.root.model_validate(full, context={"units": self.unit})
        except ValidationError as invalid:
            found = invalid.errors(include_url=False, include_input=False)
            errors = [(error, spot(error["loc"], self.root)) for error in found]
        misshapen = self._misshapen() if "top" in self.root.model_fields else []
        for path in misshapen:
            self._shapeless(path)
        kept = [(error, place) for error, place in errors if self._counts(error, place, misshapen)]
        # unknown keys first: what each was meant for is then not missing
        for _, place in [pair for pair in kept if pair[0]["type"] == "extra_forbidden"]:
            self._unknown_key(place)
        for error, place in kept:
            self._note(error, place)
        return None

    def _counts(self, error: Any, place: Spot, misshapen: list[KeyPath]) -> bool:
        """Return whether an error is one of its own and not the shadow of others."""
        if place.path[:2] in misshapen:
            return False
        if error["type"] != "too_short":
            return True
        # a list of faulty items counts as empty for pydantic
        return _length_at(self.data, place.path) < int(error["ctx"]["min_length"])

    def _misshapen(self) -> list[KeyPath]:
        """Return the paths of the tops whose shape cannot be told."""
        tops = self.data.get("top")
        listed = enumerate(tops if isinstance(tops, list) else ())
        return [("top", at) for at, top in listed if not isinstance(top, dict) or len(shapes_of(top)) != 1]

    def _shapeless(self, path: KeyPath) -> None:
        """Note that a top has no shape, or several, and what is wrong with the keys that every top has."""
        top = self.data["top"][path[1]]
        if not isinstance(top, dict):
            self.snags.add_typed(path, f"a table: {_SHAPED_BY}")
            return
        known = dict.fromkeys(key for model in SHAPES.values() for key in keys_of(model))
        for key in [key for key in top if key not in known]:
            self._unknown((*path, key), "an unknown key", known)
        common = {key: value for key, value in top.items() if key in keys_of(AnyTop)}
        try:
            AnyTop.model_validate(common, context={"units": self.unit})
        except ValidationError as invalid:
            for error in invalid.errors(include_url=False, include_input=False):
                self._note(error, spot(("top", path[1], "run", *error["loc"])))
        asked = list(shapes_of(top).values())
        if asked:
            found = " and ".join(f"{key} = {self.snags.source.typed((*path, key))}" for key in asked)
            self.snags.add((*path, asked[-1]), found, f"one shape: {_SHAPED_BY}", at_key=True)
        elif not any(self.snags.known((*path, key)) for key in ("along", "size", "base", "outline")):
            self.snags.add(path, "no key that says its shape", f"one: {_SHAPED_BY}")

    def _note(self, error: Any, place: Spot) -> None:
        """Note one of pydantic's errors."""
        path, kind, snags = place.path, error["type"], self.snags
        reason = error.get("ctx", {}).get("error")
        if kind == "extra_forbidden":
            return
        if isinstance(reason, LengthError):
            because = f", which {str(reason).removeprefix('it ')}"
            snags.add_typed(path, f"a length such as {LENGTHS[self.unit]}", because)
        elif isinstance(reason, MisfitError):
            snags.add_misfit(path, str(reason), reason.keys)
        elif isinstance(reason, ValueError):
            snags.add_typed(path, str(reason))
        elif error["loc"][-1] == "[key]":
            expected = str(error.get("ctx", {}).get("expected", "another key")).replace("'", '"')
            snags.add(path, f'"{path[-1]}"', expected, at_key=True)
        elif kind == "missing" and isinstance(path[-1], int):  # a list that is too short
            snags.add_typed(path[:-1], described(place.table, self.unit))
        else:
            snags.add_typed(path, self._expected(kind, place))

    def _expected(self, kind: str, place: Spot) -> str:
        if len(place.path) == 1:
            table = str(place.path[0])
            listed = is_listed(table, self.root)
            each = f"once for each {table}" if listed else "once"
            return f"{header(table, self.root)}, {'two brackets' if listed else 'one bracket'}, {each}"
        if kind == "too_short" and place.form is str:
            return "text that is not empty"
        if kind in ("greater_than_equal", "less_than_equal"):
            return "a whole number from 0 to 100"
        return described(place.form, self.unit)

    def _unknown_key(self, place: Spot) -> None:
        path, model = place.path, place.table
        key, table = str(path[-1]), str(path[0])
        here = keys_of(model) if isinstance(model, type) and issubclass(model, BaseModel) else ()
        if len(path) == 1:
            self._unknown(path, "an unknown table", here)
            return
        homes = [shape for shape, other in SHAPES.items() if key in keys_of(other)]
        if table == "top" and len(path) == 3 and homes:
            found = f"a key of {' and '.join('an outline' if home == 'outline' else f'a {home}' for home in homes)}"
            mine = next(shape for shape, other in SHAPES.items() if other is model)
            self.snags.add(path, found, f"a key of this top, which is {_SHAPE_CALLED[mine]}", at_key=True)
            return
        self._unknown(path, "an unknown key", here)

    def _unknown(self, path: KeyPath, found: str, known: Iterable[str]) -> None:
        words = list(dict.fromkeys(word for word in known if word))
        near = nearest(str(path[-1]), words)
        some = choice(words) if len(words) <= _MOST_LISTED else f"one of {', '.join(words)}"
        self.snags.add(path, found, f'"{near}", the nearest known one' if near else some, at_key=True)
        if near is not None:
            self.snags.mean((*path[:-1], near))


def _length_at(data: Any, path: KeyPath) -> int:
    """Return how many entries a list or text has that is typed at ``path``."""
    for step in path:
        inside = isinstance(data, dict) and step in data
        if not inside and not (isinstance(data, list) and isinstance(step, int) and step < len(data)):
            return 0
        data = data[step]
    return len(data.strip()) if isinstance(data, str) else len(data) if isinstance(data, list) else 0
