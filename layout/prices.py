"""A price book: what a maker charges, as a TOML file of frozen models. No price is ever taken as zero.

Prices are for square feet, feet and board feet where the book is in inches; for m2, m and m3 where it is in mm.
"""

from __future__ import annotations

import datetime
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any, get_args

from pydantic import AfterValidator, BeforeValidator, Field, WithJsonSchema

from layout.faults import JobError
from layout.job_values import Filled, Line, Positive, Table
from layout.job_wood import Construction, Pounds
from layout.money import CURRENCIES
from layout.reading import file_text
from layout.source import Snags, Source
from layout.species import find, folded
from layout.spellings import AMOUNT, BLANK
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


def _amount(most: int) -> WithJsonSchema:
    """Return the schema of an amount below ``most``; how large one in quotes may be a schema cannot say."""
    quoted = {"type": "string", "pattern": AMOUNT}
    return WithJsonSchema(
        {"anyOf": [{"type": "number", "minimum": 0, "maximum": most}, quoted], "examples": [12.5, "12.50"]}
    )


Money = Annotated[Decimal, BeforeValidator(_money), _amount(10**9)]
Percent = Annotated[Decimal, BeforeValidator(_percent), _amount(100)]
Prices = Annotated[dict[str, Money], Field(default_factory=dict)]


class BookHead(Table):
    """[book]: whose prices these are, in what, and how long a quote holds."""

    name: Filled
    """Whose prices these are."""
    currency: Annotated[
        Line, AfterValidator(_currency), WithJsonSchema({"type": "string", "pattern": f"^{BLANK}*[A-Z]{{3}}{BLANK}*$"})
    ]
    """The currency by its ISO 4217 code, such as "USD"."""
    units: Unit
    """What plain lengths are in; prices are for square feet, feet and board feet, or for m2, m and m3."""
    valid_days: Annotated[int, Field(ge=1, le=3650)] = 30
    """How many days a quote holds."""
    dated: datetime.date | None = None
    """The day of the prices."""
    minimum: Money = Decimal(0)
    """Least amount of a quote."""
    deposit: Percent
    """Deposit in % of the total."""
    note: Line = ""
    """A note for every quote."""


class AreaPrice(Table):
    """[[area]]: the price of a top by its area, of one wood and construction, up to a thickness."""

    species: Annotated[Line, AfterValidator(_species)]
    """The wood."""
    construction: Construction
    """How it is glued up."""
    up_to: Positive
    """Thickest top that this price holds for; a length."""
    price: Money
    """Price of a square foot or a m2."""


class LumberPrice(Table):
    """[[lumber]]: the price of lumber by volume; ``rough`` left out: of any thickness."""

    species: Annotated[Line, AfterValidator(_species)]
    """The wood."""
    rough: Line | None = None
    """Rough thickness by quarters, such as "8/4"; left out: any."""
    price: Money
    """Price of a board foot or a m3."""


class LabourPrice(Table):
    """[[labour]]: making a top of lumber, by its area. ``yield``: how much of the lumber ends up in it; left out: as laid up."""

    construction: Construction
    """How the top is glued up."""
    price: Money
    """Price of a square foot or a m2."""
    yield_: Annotated[Percent | None, Field(alias="yield")] = None
    """How much of the lumber ends up in the top, in %; left out: as laid up."""


class Freight(Table):
    """[[freight]]: carriage by gross weight, up to so much."""

    up_to: Pounds
    """Heaviest load that this price holds for, with its unit."""
    price: Money
    """Price of the carriage."""


class CratePrice(Table):
    """[crate]: each, and by its surface."""

    each: Money = Decimal(0)
    """Price of a crate."""
    area: Money = Decimal(0)
    """Price of a square foot or a m2 of its surface."""


class Tax(Table):
    """[tax]: on what, by how much."""

    name: Filled
    """What the tax is called."""
    percent: Percent
    """How much, in %."""
    freight: bool = True
    """Whether freight is taxed too."""


class Discount(Table):
    """[discount]: off the tops and all that is done to them, not off crate and freight."""

    name: Filled
    """What the discount is called."""
    percent: Percent
    """How much, in %, off the tops and what is done to them."""


class Book(Table):
    """A whole price book. Tables of kinds (``[edge]``, ``[cutout]``, ...) hold a price by the kind's name."""

    book: BookHead
    """Whose prices, in what, and how long a quote holds."""
    area: tuple[AreaPrice, ...] = ()
    """Prices of tops by their area."""
    lumber: tuple[LumberPrice, ...] = ()
    """Prices of lumber by volume."""
    labour: tuple[LabourPrice, ...] = ()
    """Prices of making a top of lumber, by its area."""
    edge: Prices
    """Prices of a foot or a m of edge, by profile."""
    cutout: Prices
    """Price of each cutout, by kind."""
    joint: Prices
    """Price of each joint, by kind."""
    support: Prices
    """Price of each support, by kind."""
    splash: Prices
    """Prices of backsplashes, by kind."""
    finish: Prices
    """Prices of a finish by its area, by finish."""
    option: Prices
    """Prices of options, by name."""
    crate: CratePrice | None = None
    """Prices of crates."""
    freight: tuple[Freight, ...] = ()
    """Prices of carriage by gross weight."""
    tax: tuple[Tax, ...] = ()
    """Taxes that are added."""
    discount: Discount | None = None
    """A discount."""


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
