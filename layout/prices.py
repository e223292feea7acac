"""A price book: what a maker charges, as a TOML file of frozen models. No price is ever taken as zero.

Prices are for square feet, feet and board feet where the book is in inches; for m2, m and m3 where it is in mm.
"""

from __future__ import annotations

import datetime
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any, get_args

from pydantic import AfterValidator, BeforeValidator, Field

from layout.faults import JobError
from layout.job_values import Filled, Line, Positive, Table
from layout.job_wood import Construction, Pounds
from layout.money import CURRENCIES
from layout.reading import file_text
from layout.source import Snags, Source
from layout.species import find, folded
from layout.syntax import parse
from layout.tables import Tables
from layout.units import Unit

A_BOOK = "a price book"


def _money(value: Any) -> Any:
    """An amount as typed: a number, or a number in quotes."""
    text = value.strip() if isinstance(value, str) else value
    if isinstance(text, bool) or not isinstance(text, int | Decimal | str):
        raise ValueError('an amount of money such as 12.50 or "12.50"')  # noqa: TRY004 (pydantic collects ValueErrors)
    try:
        number = Decimal(text)
    except ArithmeticError:
        number = Decimal("nan")
    if not number.is_finite() or not 0 <= number < 10**9 or number != round(number, 6):
        raise ValueError('an amount of money such as 12.50 or "12.50", not below zero')
    return number


def _percent(value: Any) -> Any:
    number = _money(value)
    if number > 100:
        raise ValueError("a percentage from 0 to 100")
    return number


def _currency(value: str) -> str:
    if value not in CURRENCIES:
        raise ValueError('a currency by its ISO 4217 code, such as "USD" or "EUR"')
    return value


def _species(value: str) -> str:
    return find(value) or folded(value)


Money = Annotated[Decimal, BeforeValidator(_money)]
Percent = Annotated[Decimal, BeforeValidator(_percent)]
Prices = Annotated[dict[str, Money], Field(default_factory=dict)]


class BookHead(Table):
    """[book]: whose prices these are, in what, and how long a quote holds."""

    name: Filled
    currency: Annotated[Line, AfterValidator(_currency)]
    units: Unit
    valid_days: Annotated[int, Field(ge=1, le=3650)] = 30
    dated: datetime.date | None = None
    minimum: Money = Decimal(0)
    deposit: Percent
    note: Line = ""


class AreaPrice(Table):
    """[[area]]: the price of a top by its area, of one wood and construction, up to a thickness."""

    species: Annotated[Line, AfterValidator(_species)]
    construction: Construction
    up_to: Positive
    price: Money


class LumberPrice(Table):
    """[[lumber]]: the price of lumber by volume; ``rough`` left out: of any thickness."""

    species: Annotated[Line, AfterValidator(_species)]
    rough: Line | None = None
    price: Money


class LabourPrice(Table):
    """[[labour]]: making a top of lumber, by its area. ``yield``: how much of the lumber ends up in it; left out: as laid up."""

    construction: Construction
    price: Money
    yield_: Annotated[Percent | None, Field(alias="yield")] = None


class Freight(Table):
    """[[freight]]: carriage by gross weight, up to so much."""

    up_to: Pounds
    price: Money


class CratePrice(Table):
    """[crate]: each, and by its surface."""

    each: Money = Decimal(0)
    area: Money = Decimal(0)


class Tax(Table):
    """[tax]: on what, by how much."""

    name: Filled
    percent: Percent
    freight: bool = True


class Discount(Table):
    """[discount]: off the tops and all that is done to them, not off crate and freight."""

    name: Filled
    percent: Percent


class Book(Table):
    """A whole price book. Tables of kinds (``[edge]``, ``[cutout]``, ...) hold a price by the kind's name."""

    book: BookHead
    area: tuple[AreaPrice, ...] = ()
    lumber: tuple[LumberPrice, ...] = ()
    labour: tuple[LabourPrice, ...] = ()
    edge: Prices
    cutout: Prices
    joint: Prices
    support: Prices
    splash: Prices
    finish: Prices
    option: Prices
    crate: CratePrice | None = None
    freight: tuple[Freight, ...] = ()
    tax: tuple[Tax, ...] = ()
    discount: Discount | None = None


def read_book(path: Path) -> Book:
    """Return the price book in a file. Raises JobError with everything that is wrong with it, each with its place."""
    name = str(path)
    return load_book(file_text(path, Source(name, ""), A_BOOK), name)


def load_book(text: str, name: str = "prices.toml") -> Book:
    """Return the price book that ``text`` states. Raises JobError with everything that is wrong with it."""
    source = Source(name, text)
    data = parse(source, Book)
    snags = Snags(source)
    head = data.get("book")
    units = head.get("units") if isinstance(head, dict) else None
    unit: Unit = next((u for u in get_args(Unit) if u == units), "in")
    book = Tables(data, unit, snags, Book).validated(data)
    if book is None or snags.faults:
        raise JobError(snags.faults)
    return book
