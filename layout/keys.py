"""What the job file's models say of its keys: which ones a table takes, and what a value of each looks like."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Iterable
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, NamedTuple, Union, get_args, get_origin

from pydantic import BaseModel, Tag

from layout.faults import KeyPath
from layout.job import Job
from layout.job_tops import OutlineTop, RectTop, RunTop
from layout.units import Length, Unit

LENGTHS: dict[Unit, str] = {
    "in": '25.5, "25 1/2" or "648 mm"',
    "mm": '648, "648.5" or "25 1/2 in"',
}
"""Lengths as a job may state them, for messages."""
SHAPES: dict[str, type[BaseModel]] = {"run": RunTop, "rectangle": RectTop, "outline": OutlineTop}
"""The three shapes of a top."""


class Spot(NamedTuple):
    """What a place named by pydantic is: the path typed, and the type that belongs there (None: an unknown key)."""

    path: KeyPath
    form: Any
    table: Any
    """The type of what it stands in."""


def spot(loc: Iterable[str | int], root: type[BaseModel] = Job) -> Spot:
    """Return where an error's ``loc`` points in a file of the model ``root``.

    Unions put the name of their branch into it, which nobody typed.
    """
    path: list[str | int] = []
    form: Any = root
    table: Any = None
    for step in loc:
        form = bare(form)
        if get_origin(form) in (Union, UnionType):
            form = _branch(form, step)
            continue
        if step == "[key]" and get_origin(bare(table)) is dict:  # the key itself is at fault
            return Spot(tuple(path), form, table)
        path.append(step)
        table, form = form, _inside(form, step)
    return Spot(tuple(path), bare(form), table)


def keys_of(model: type[BaseModel]) -> tuple[str, ...]:
    """Return the keys that a table takes, as typed."""
    return tuple(field.alias or name for name, field in model.model_fields.items())


def is_listed(table: str, root: type[BaseModel] = Job) -> bool:
    """Return whether a file has ``table`` any number of times, as a job has ``[[wall]]``."""
    field = root.model_fields.get(table)
    return field is not None and get_origin(field.annotation) is tuple


def header(table: str, root: type[BaseModel] = Job) -> str:
    """Return the header of a table as it is typed."""
    return f"[[{table}]]" if is_listed(table, root) else f"[{table}]"


def nearest(word: str, known: Iterable[str], cutoff: float = 0.6) -> str | None:
    """Return the known word that ``word`` most likely stands for; a higher ``cutoff`` asks for more likeness."""
    close = difflib.get_close_matches(word, list(known), n=1, cutoff=cutoff)
    return close[0] if close else None


def choice(words: Iterable[str]) -> str:
    """Return words as an enumeration: ``"A", "B" or "C"``."""
    return _either([f'"{w}"' for w in words])


def described(form: Any, unit: Unit) -> str:
    """Return what a value of a type looks like, for "expected ..."."""
    form = bare(form)
    origin, args = get_origin(form), get_args(form)
    if origin in (Union, UnionType):
        return _either([described(arg, unit) for arg in args])
    if origin is Literal:
        return _either([f'"{a}"' if isinstance(a, str) else str(a) for a in args])
    if origin is tuple:
        return _list_described(args, unit)
    if origin is dict:
        return f"a table whose values are each {described(args[1], unit)}"
    if isinstance(form, type) and issubclass(form, BaseModel):
        return f"a table with {_either(keys_of(form), 'and')}"
    return {
        Length: f"a length such as {LENGTHS[unit]}",
        str: "text in quotes",
        bool: "true or false",
        int: "a whole number",
        float: "a number",
        datetime.date: "a date such as 2026-03-14",
    }.get(form, "something else")


def _list_described(args: tuple[Any, ...], unit: Unit) -> str:
    forms = [bare(arg) for arg in args]
    if forms[-1] is Ellipsis:
        if isinstance(forms[0], type) and issubclass(forms[0], BaseModel):
            return "tables"
        return f"a list in [ ], each {described(forms[0], unit)}"
    count = {2: "two", 3: "three"}.get(len(forms), str(len(forms)))
    if all(form is Length for form in forms):
        sizes = '"36", "48", "60 1/8"' if unit == "in" else "900, 1200, 1500"
        return f"{count} lengths such as [{', '.join(sizes.split(', ')[: len(forms)])}]"
    return f"a list of {count}, each {described(forms[0], unit)}"


def _either(words: Iterable[str], last: str = "or") -> str:
    *first, end = words
    return f"{', '.join(first)} {last} {end}" if first else end


def bare(form: Any) -> Any:
    """Return a type without its annotations and without None."""
    while True:
        if get_origin(form) is Annotated:
            form = get_args(form)[0]
            continue
        kept = [arg for arg in get_args(form) if arg is not NoneType]
        if get_origin(form) in (Union, UnionType) and len(kept) == 1:
            form = kept[0]
            continue
        return form


def _branch(union: Any, tag: str | int) -> Any:
    for arg in get_args(union):
        if any(isinstance(mark, Tag) and mark.tag == tag for mark in getattr(arg, "__metadata__", ())):
            return arg
    return None


def _inside(form: Any, step: str | int) -> Any:
    """Return the type of what stands at ``step`` in a value of type ``form``."""
    args = get_args(form)
    if get_origin(form) is dict:
        return args[1]
    if get_origin(form) is tuple and isinstance(step, int):
        return args[0] if args[-1] is Ellipsis else args[min(step, len(args) - 1)]
    if isinstance(form, type) and issubclass(form, BaseModel):
        for name, field in form.model_fields.items():
            if step == (field.alias or name):
                return field.annotation
    return None
