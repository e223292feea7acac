"""The kinds of value that a job file's tables hold, and what every table is: frozen, its keys known and going together.

Lengths are read with the job's unit, which the reader passes as validation context.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, NamedTuple, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)

from layout.rules import MOST_IN_A_NAME, MOST_LETTERS
from layout.spellings import FILE_BESIDE, NAME, TURNS
from layout.units import Length, LengthError, parse_length

if TYPE_CHECKING:
    from pydantic import GetJsonSchemaHandler

ZERO = Length(Fraction(0))


class MisfitError(ValueError):
    """Keys of one table that do not go together; the message is what is expected, ``keys`` are those concerned."""

    def __init__(self, expected: str, *keys: str) -> None:
        """Take what is expected, and the keys concerned."""
        super().__init__(expected)
        self.keys = keys


def _length(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, Length):
        return value
    return parse_length(value, (info.context or {}).get("units", "in"))


def _positive(value: Length) -> Length:
    # its sign, which a Fraction takes long to compare
    if value.mm.numerator <= 0:
        raise LengthError("it is not more than zero")
    return value


def _not_negative(value: Length) -> Length:
    if value.mm.numerator < 0:
        raise LengthError("it is negative")
    return value


def kind(name: str) -> WithJsonSchema:
    """Return the mark of a kind of value that a schema defines once, by its name there; beside the validators."""
    return WithJsonSchema({"kind": name})


class AtMost:
    """The mark of a list that has so many entries at most, which the checks of a whole file tell; beside its form."""

    __slots__ = ("most",)

    def __init__(self, most: int) -> None:
        """Take how many."""
        self.most = most

    def __get_pydantic_json_schema__(self, form: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """Return the schema of the list, with how long it may be."""
        return {**handler(form), "maxItems": self.most}


def number_between(low: int, high: int, what: str) -> BeforeValidator:
    """Return the reading of a number from ``low`` to ``high``; ``what`` is what is expected instead of any other."""

    def read(value: Any) -> Any:
        number = isinstance(value, int | float | Decimal) and not isinstance(value, bool)
        # comparing an exact number never overflows, as turning it into a float can
        if not number or value != value or not low <= value <= high:  # noqa: PLR0124
            raise ValueError(what)
        return float(value)

    return BeforeValidator(read, json_schema_input_type=Annotated[float, Field(ge=low, le=high)])


def whole(value: Any) -> Any:
    """A whole number, as typed. Raises ValueError for anything else."""
    if not isinstance(value, int) or isinstance(value, bool):
        raise ValueError("a whole number")  # noqa: TRY004 (pydantic collects ValueErrors)
    return value


_NAMED = re.compile(NAME)


def _name(value: str) -> str:
    if not _NAMED.fullmatch(value) or len(value) > MOST_IN_A_NAME:
        raise ValueError(f"a name of letters, digits, - and _, {MOST_IN_A_NAME} at most")
    return value


_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ufffe\uffff]")
_TURNED = re.compile(f"[{TURNS}]")


def _line(value: str) -> str:
    if _CONTROL.search(value):
        raise ValueError("one line of text without control characters")
    if _TURNED.search(value):
        raise ValueError("text without marks that turn the direction of what follows")
    if len(value) > MOST_LETTERS:
        raise ValueError(f"one line of at most {MOST_LETTERS:,} letters")
    return value.strip()


def _beside(value: str) -> str:
    steps = value.replace("\\", "/").split("/")
    if not value or ".." in steps or "" in steps or ":" in value:
        raise ValueError('the name of a file beside the job file, such as "sink.dxf"')
    return "/".join(steps)


def rising(bow: tuple[tuple[Length, Length], ...]) -> tuple[tuple[Length, Length], ...]:
    """Stations and depths along a line, as typed. Raises ValueError where the stations do not rise."""
    if any(before[0].mm >= after[0].mm for before, after in pairwise(bow)):
        raise ValueError("[station, depth] pairs whose stations rise along the wall")
    return bow


Tape = Annotated[Length, BeforeValidator(_length), kind("length")]
"""A length, either sign."""
Positive = Annotated[Length, BeforeValidator(_length), AfterValidator(_positive), kind("length-above-zero")]
NotNegative = Annotated[Length, BeforeValidator(_length), AfterValidator(_not_negative), kind("length-from-zero")]
Degrees = Annotated[float, number_between(-360, 360, "an angle in degrees, a full turn at most")]
Name = Annotated[
    str, AfterValidator(_name), WithJsonSchema({"type": "string", "pattern": f"^{NAME}$", "maxLength": MOST_IN_A_NAME})
]
Line = Annotated[str, AfterValidator(_line), kind("line")]
Profile = Annotated[str, AfterValidator(_line), kind("profile")]
"""An edge profile by its name, with a size after it or not; which there are is told by the checks across tables."""
OnWall = Annotated[str, AfterValidator(_line), kind("point-on-a-wall")]
"""A wall with start, end or a station; whether it is one is told by the checks across tables."""
Filled = Annotated[str, AfterValidator(_line), Field(min_length=1), kind("filled-line")]
FileBeside = Annotated[
    str,
    AfterValidator(_line),
    AfterValidator(_beside),
    WithJsonSchema({"type": "string", "pattern": FILE_BESIDE, "maxLength": MOST_LETTERS}),
]
"""A file in the job file's folder or below it."""
Pair = tuple[Tape, Tape]
Hand = Literal["left", "right"]


class Need(NamedTuple):
    """Keys of which a table has at least one, and what is expected where it has none of them."""

    keys: tuple[str, ...]
    expected: str


class Only(NamedTuple):
    """A key that is given only where others have a value each, and what is expected instead."""

    key: str
    where: tuple[tuple[str, str], ...]
    expected: str


class Never(NamedTuple):
    """Keys that are left at their defaults where another has a value, and what is expected instead."""

    where: tuple[str, str]
    keys: tuple[str, ...]
    expected: str


class Table(BaseModel):
    """A table of the job file: frozen, no unknown keys, no silent conversions.

    Which keys go together is told in the class variables; the reader and the schema heed the same ones.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, arbitrary_types_allowed=True)

    one_of: ClassVar[tuple[str, ...]] = ()
    """Keys of which a table has exactly one."""
    apart: ClassVar[tuple[tuple[str, str], ...]] = ()
    """Keys of which the second is never given beside the first."""
    beside: ClassVar[tuple[tuple[str, str], ...]] = ()
    """Keys of which the first is never given without the second."""
    together: ClassVar[tuple[tuple[str, str], ...]] = ()
    """Keys that are given both or neither."""
    needs: ClassVar[tuple[Need, ...]] = ()
    """What a table must have one of, beside what has no default."""
    only: ClassVar[tuple[Only, ...]] = ()
    """Keys that go with some values of others alone."""
    never: ClassVar[tuple[Never, ...]] = ()
    """Keys that do not go with some values of others."""

    @model_validator(mode="before")
    @classmethod
    def _arrays_are_tuples(cls, data: Any) -> Any:
        """TOML arrays arrive as lists; a strict tuple field takes tuples only."""
        if not isinstance(data, dict) or list not in map(type, data.values()):
            return data
        return {k: _tupled(v) for k, v in data.items()}

    @classmethod
    def misfits(cls, keys: Collection[str]) -> Iterator[MisfitError]:
        """Yield what is wrong with the keys that a table has, whatever their values."""
        given = [key for key in cls.one_of if key in keys]
        if cls.one_of and len(given) != 1:
            *others, last = cls.one_of
            yield MisfitError(f"{', '.join(others)} or {last}, one of them", *cls.one_of)
        for key, other in cls.apart:
            if key in keys and other in keys:
                yield MisfitError(f"no {other} beside {key}", other)
        for key, other in cls.beside:
            if key in keys and other not in keys:
                yield MisfitError(f"no {key} without a {other}", key)
        for need in cls.needs:
            if not any(key in keys for key in need.keys):
                yield MisfitError(need.expected, *need.keys)
        for key, other in cls.together:
            if (key in keys) != (other in keys):
                yield MisfitError(f"{key} and {other} together", key, other)

    @classmethod
    def misplaced(cls, values: Mapping[str, Any]) -> Iterator[MisfitError]:
        """Yield what is wrong with the keys that a table has by the values of others."""
        for only in cls.only:
            if only.key in values and any(_said(values.get(key)) != value for key, value in only.where):
                yield MisfitError(only.expected, only.key)
        for never in cls.never:
            key, value = never.where
            given = [k for k in never.keys if values.get(k) not in (None, 0)]
            if given and _said(values.get(key)) == value:
                yield MisfitError(never.expected, *given)

    @model_validator(mode="after")
    def _keys_go_together(self) -> Self:
        if not _has_rules(type(self)):
            return self
        given = {key: getattr(self, key) for key in self.model_fields_set}
        typed = {key: value for key, value in given.items() if value is not None}
        for misfit in (*self.misfits(typed), *self.misplaced(typed)):
            raise misfit
        return self


@cache
def _has_rules(table: type[Table]) -> bool:
    """Return whether a table has keys that do not go with others, or not without them."""
    return bool(
        table.one_of or table.apart or table.beside or table.together or table.needs or table.only or table.never
    )


def _said(value: Any) -> Any:
    return value.strip() if isinstance(value, str) else value


def _tupled(value: Any) -> Any:
    return tuple(_tupled(v) for v in value) if isinstance(value, list) else value
