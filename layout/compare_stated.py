"""What the job file says otherwise, where no measure of the drawing tells of it: finish, supports, the shop's rules, notes."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from layout.changes import Change
from layout.comparison import Comparison, gone
from layout.matching import by_key

_NOT_TOLD = ("revision", "measure")
"""Tables of which nothing is told here: revisions tell of themselves, check measures are told as such."""
_BY_UNIT = ("shop", "load", "sheet", "cut")
"""Tables that are filled with other figures in a job of another unit."""
_PLACED = {"top", "wall", "corner", "center", "setback", "from_", "size", "turn", "kind", "radius"}
_LET_IN = _PLACED | {"depth", "face", "sink", "side", "count", "spacing"}
MEASURED: Mapping[str, Collection[str]] = {
    "job": {"number", "title", "units", "revision"},
    "wood": {"species", "thickness", "edge"},
    "wall": {"length", "corner"},
    "top": {
        "along", "depth", "depth_from", "start", "end", "cabinet_depth", "size", "base", "outline", "rise", "at", "turn", "grain",
        "overhang", "back_overhang", "left_overhang", "right_overhang", "corners", "inside",
    },
    "cutout": _PLACED | {"diameter"},
    "notch": {"top", "wall", "at", "width", "depth", "gap", "from_"},
    "joint": {"top", "wall", "at", "corner", "kind", "through", "beyond", "length", "from_"},
    "edge": {"top", "side", "profile", "natural"},
    "groove": _LET_IN,
    "slot": _LET_IN,
    "recess": _LET_IN,
}  # fmt: skip
"""Keys that are told by what they make of walls, pieces, joints, cutouts and edges."""


def stated_changes(both: Comparison, *, measured: bool = False) -> Iterator[Change]:
    """Yield what the job file says otherwise; nothing where a report does not hold what it says.

    ``measured``: also what measures would tell, as where the same place is said from the other end.
    """
    was, now = both.old.stated, both.new.stated
    if was is None or now is None:
        return
    same_unit = both.old.job.units == both.new.job.units
    for table in [*now, *(table for table in was if table not in now)]:
        before, after = was.get(table), now.get(table)
        known: Collection[str] = () if measured else MEASURED.get(table, ())
        if (table in _NOT_TOLD and not measured) or not (same_unit or table not in _BY_UNIT):
            continue
        if isinstance(before, list) or isinstance(after, list):
            # a table where there was a list is a list of one
            old, new = (one if isinstance(one, list) else [one] if one else [] for one in (before, after))
            yield from _listed(both, table, old, new, known)
        else:
            yield from _keys(both, table, before or {}, after or {}, known)


def _listed(
    both: Comparison, table: str, was: Sequence[Any], now: Sequence[Any], known: Collection[str]
) -> Iterator[Change]:
    """Tell of the tables of a list that are not alike: those of one name are one thing, the others in their order.

    ``known``: keys that are told elsewhere, and with them that such a table is new or gone.
    """
    fresh, stale = [one for one in now if one not in was], [one for one in was if one not in now]
    for old, new in by_key(stale, fresh, lambda one: str(one.get("name"))):
        either = old if new is None else new
        assert either is not None
        called = f"{table} {either.get('name') or (was if new is None else now).index(either) + 1}"
        if old is not None and new is not None:
            yield from _keys(both, called, old, new, known)
        elif not known:
            yield _come(both, called, either, new=old is None)


def _come(both: Comparison, called: str, table: Mapping[str, Any], *, new: bool) -> Change:
    kind, word = gone(new)
    said = "; ".join(f"{_spaced(key)} {_text(both, value)}" for key, value in table.items() if key != "name")
    return both.change("stated", called, kind, f"{called} is {word}: {said}")


def _keys(
    both: Comparison,
    called: str,
    was: Mapping[str, Any],
    now: Mapping[str, Any],
    known: Collection[str] = (),
    under: str = "",
) -> Iterator[Change]:
    for key in [*now, *(key for key in was if key not in now)]:
        before, after = was.get(key), now.get(key)
        if before == after or key in known:
            continue
        path = f"{under} {_spaced(key)}".strip()
        if _is_table(before, after):
            yield from _keys(both, called, before or {}, after or {}, under=path)
            continue
        if before is not None and after is not None and _is_length(before) and _is_length(after):
            texts = both.say.pair(_mm(before), _mm(after))
        else:
            texts = (_text(both, before), _text(both, after))
        yield both.change("stated", f"{called} {path}", "changed", f"{called}, {path}: {texts[1]}, was {texts[0]}")


def _is_table(before: Any, after: Any) -> bool:
    """Return whether two values are tables, or one is and the other is not there."""
    either = before if after is None else after
    return (
        isinstance(either, dict)
        and not _is_length(either)
        and all(v is None or isinstance(v, dict) for v in (before, after))
    )


def _is_length(value: Any) -> bool:
    return isinstance(value, dict) and list(value) == ["mm"]


def _mm(length: Mapping[str, str]) -> float:
    return float(Fraction(length["mm"]))


def _spaced(key: str) -> str:
    return key.rstrip("_").replace("_", " ")


def _text(both: Comparison, value: Any) -> str:
    """Return a value as it may be read aloud; lengths as the job prints them."""
    if value is None:
        return "left out"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if _is_length(value):
        return both.say.labels.fine(_mm(value))
    if isinstance(value, dict):
        return ", ".join(f"{_spaced(key)} {_text(both, one)}" for key, one in value.items())
    if isinstance(value, list):
        return ", ".join(_text(both, one) for one in value)
    return f"{value:g}" if isinstance(value, float) else str(value)
