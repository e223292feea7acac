"""The kinds of value that a job file's tables hold, and what every table is: frozen, its keys known and going together.

Lengths are read with the job's unit, which the reader passes as validation context.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo, model_validator

from layout.rules import MOST_IN_A_NAME, MOST_LETTERS
from layout.units import Length, LengthError, parse_length

TURNS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Unicode's marks of direction (UAX 9): unseen, they turn round the letters and figures beside them on sheet and terminal."""
NAME = r"[A-Za-z0-9_-]+"
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
    if value.mm <= 0:
        raise LengthError("it is not more than zero")
    return value


def _not_negative(value: Length) -> Length:
    if value.mm < 0:
        raise LengthError("it is negative")
    return value


def number_between(low: int, high: int, what: str) -> BeforeValidator:
    """Return the reading of a number from ``low`` to ``high``; ``what`` is what is expected instead of any other."""

    def read(value: Any) -> Any:
        number = isinstance(value, int | float | Decimal) and not isinstance(value, bool)
        # comparing an exact number never overflows, as turning it into a float can
        if not number or value != value or not low <= value <= high:  # noqa: PLR0124
            raise ValueError(what)
        return float(value)

    return BeforeValidator(read)


def whole(value: Any) -> Any:
    """A whole number, as typed. Raises ValueError for anything else."""
    if not isinstance(value, int) or isinstance(value, bool):
        raise ValueError("a whole number")  # noqa: TRY004 (pydantic collects ValueErrors)
    return value


def _name(value: str) -> str:
    if not re.fullmatch(NAME, value) or len(value) > MOST_IN_A_NAME:
        raise ValueError(f"a name of letters, digits, - and _, {MOST_IN_A_NAME} at most")
    return value


def _line(value: str) -> str:
    if any(ord(c) < 32 or 0x7F <= ord(c) < 0xA0 or c in "\u2028\u2029\ufffe\uffff" for c in value):
        raise ValueError("one line of text without control characters")
    if any(c in TURNS for c in value):
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


Tape = Annotated[Length, BeforeValidator(_length)]
"""A length, either sign."""
Positive = Annotated[Length, BeforeValidator(_length), AfterValidator(_positive)]
NotNegative = Annotated[Length, BeforeValidator(_length), AfterValidator(_not_negative)]
Degrees = Annotated[float, number_between(-360, 360, "an angle in degrees, a full turn at most")]
Name = Annotated[str, AfterValidator(_name)]
Line = Annotated[str, AfterValidator(_line)]
Filled = Annotated[str, AfterValidator(_line), Field(min_length=1)]
FileBeside = Annotated[str, AfterValidator(_line), AfterValidator(_beside)]
"""A file in the job file's folder or below it."""
Pair = tuple[Tape, Tape]
Hand = Literal["left", "right"]


class Table(BaseModel):
    """A table of the job file: frozen, no unknown keys, no silent conversions."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, arbitrary_types_allowed=True)

    one_of: ClassVar[tuple[str, ...]] = ()
    """Keys of which a table has exactly one."""
    apart: ClassVar[tuple[tuple[str, str], ...]] = ()
    """Keys of which the second is never given beside the first."""

    @model_validator(mode="before")
    @classmethod
    def _arrays_are_tuples(cls, data: Any) -> Any:
        """TOML arrays arrive as lists; a strict tuple field takes tuples only."""
        return {k: _tupled(v) for k, v in data.items()} if isinstance(data, dict) else data

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

    @model_validator(mode="after")
    def _keys_go_together(self) -> Self:
        for misfit in self.misfits([key for key in self.model_fields_set if getattr(self, key) is not None]):
            raise misfit
        return self


def _tupled(value: Any) -> Any:
    return tuple(_tupled(v) for v in value) if isinstance(value, list) else value
