"""A quote: what a job costs by a price book, line by line, with discount, tax, total, deposit and balance.

Quantities are rounded to hundredths, each line to the currency's smallest unit, halves up; sums add what is printed.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from layout.faults import LayoutError
from layout.job_wood import Construction
from layout.lumber import BOARD_FOOT_MM3, CUBIC_METRE_MM3, INCH
from layout.materials import Materials
from layout.money import rounded
from layout.pipeline import Layout
from layout.plain_words import finding_words
from layout.prices import AreaPrice, Book, LabourPrice
from layout.profiles import SQUARE
from layout.rule_table import RULES
from layout.wood import POUND_KG, species_of


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One line: a key to compare by, what it is for, how much of what unit, the price of one, and the amount."""

    key: str
    text: str
    quantity: Decimal
    unit: str
    price: Decimal
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Quote:
    """A job's quote. ``lines``: tops and work; ``carriage``: crate and freight; ``sums``: name and amount down to the total."""

    number: str
    title: str
    revision: str
    currency: str
    book: str
    lines: tuple[QuoteLine, ...]
    carriage: tuple[QuoteLine, ...]
    sums: tuple[tuple[str, Decimal], ...]
    total: Decimal
    deposit: Decimal
    balance: Decimal
    deposit_percent: Decimal
    dated: datetime.date | None
    valid_until: datetime.date | None
    valid_days: int
    questions: tuple[str, ...]
    note: str


class PriceError(LayoutError):
    """Prices that a book does not have; ``missing`` says each with where it is wanted and what to add."""

    def __init__(self, book: str, missing: Sequence[str]) -> None:
        """Take the book's file name and what is missing."""
        self.missing = tuple(missing)
        super().__init__("\n".join(f"{book}: {text}" for text in missing))


def quote(
    layout: Layout, of: Materials, book: Book, name: str = "prices.toml", day: datetime.date | None = None
) -> Quote:
    """Return a job's quote by a book. ``day``: when it is made; left out, the job's date.

    Raises PriceError with every price that is missing.
    """
    counter = _Counter(layout, of, book)
    lines = [line for group in counter.groups() for line in group]
    carriage = list(counter.carriage())
    if counter.missing:
        raise PriceError(name, counter.missing)
    head, job = book.book, layout.job.job
    money = head.currency
    work = sum((line.amount for line in lines), Decimal(0))
    sums: list[tuple[str, Decimal]] = [("tops and work", work)]
    if work < head.minimum:
        sums.append(("up to the least charge", rounded(head.minimum - work, money)))
        work = rounded(head.minimum, money)
    if book.discount is not None and book.discount.percent:
        off = rounded(work * book.discount.percent / 100, money)
        sums.append((f"{book.discount.name}, {_plain(book.discount.percent)} %", -off))
        work -= off
    carried = sum((line.amount for line in carriage), Decimal(0))
    if carriage:
        sums.append(("crate and freight", carried))
    total = work + carried
    for tax in book.tax:
        due = rounded((work + carried if tax.freight else work) * tax.percent / 100, money)
        sums.append((f"{tax.name}, {_plain(tax.percent)} %", due))
        total += due
    deposit = rounded(total * head.deposit / 100, money)
    day = day or job.date
    return Quote(
        number=job.number,
        title=job.title,
        revision=job.revision,
        currency=money,
        book=head.name,
        lines=tuple(lines),
        carriage=tuple(carriage),
        sums=tuple(sums),
        total=total,
        deposit=deposit,
        balance=total - deposit,
        deposit_percent=head.deposit,
        dated=day,
        valid_until=None if day is None else day + datetime.timedelta(days=head.valid_days),
        valid_days=head.valid_days,
        questions=questions(layout),
        note=head.note,
    )


def questions(layout: Layout) -> tuple[str, ...]:
    """Return what the dealer must answer before the price holds and the top can be made: every ``stop`` and ``ask``."""
    return tuple(
        f"{finding_words(f)}{' Nothing is cut before.' if f.severity == 'stop' or RULES[f.code].holds else ''}"
        for f in layout.findings
        if f.severity != "note"
    )


def _plain(number: Decimal) -> str:
    return f"{number.normalize():f}"


class _Counter:
    """A job's quantities against a book's prices, noting what the book lacks."""

    def __init__(self, layout: Layout, of: Materials, book: Book) -> None:
        self.layout = layout
        self.of = of
        self.book = book
        self.missing: list[str] = []
        inch = book.book.units == "in"
        self.length_unit, self.length_mm = ("ft", 12.0 * INCH) if inch else ("m", 1000.0)
        self.area_unit = "sq ft" if inch else "m2"
        self.volume_unit, self.volume_mm3 = ("bf", BOARD_FOOT_MM3) if inch else ("m3", CUBIC_METRE_MM3)

    def groups(self) -> Iterator[Iterator[QuoteLine]]:
        """Yield the lines of tops and work, theme by theme."""
        yield self.tops()
        yield self.splash()
        yield self.edges()
        yield self.kinds("cutout", [(c.kind, c.names) for c in self.of.cutouts], self.book.cutout)
        yield self.kinds("joint", [(j.kind, j.names) for j in self.of.joints], self.book.joint)
        yield self.kinds("support", [(s.kind, s.names) for s in self.of.supports], self.book.support)
        yield self.kinds("option", self._options(), self.book.option)
        yield self.finish()

    def _options(self) -> list[tuple[str, list[str]]]:
        """Return what is let into faces and edges left as measured, by kind."""
        found: dict[str, list[str]] = {}
        for item in self.layout.laid.milled:
            found.setdefault(item.kind, []).append(item.name)
        natural = [f"{e.top} {e.side}" for e in self.layout.job.edge if e.natural is not None]
        if natural:
            found["natural edge"] = natural
        return list(found.items())

    def line(self, key: str, text: str, quantity: float, unit: str, price: Decimal) -> QuoteLine:
        """Return a line, its quantity to hundredths and its amount to the smallest unit."""
        exact = Decimal(repr(quantity)).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
        return QuoteLine(key, text, exact, unit, price, rounded(exact * price, self.book.book.currency))

    def area(self, mm2: float) -> float:
        """Return an area in the book's unit."""
        return mm2 / self.length_mm**2

    # --- wood

    def tops(self) -> Iterator[QuoteLine]:
        job = self.layout.job
        wood = job.wood
        name = species_of(job).common_name.lower()
        thick = self.layout.laid.labels.fine(wood.thickness)
        step = self._step(wood.species, wood.construction, float(wood.thickness))
        labour = next((p for p in self.book.labour if p.construction == wood.construction), None)
        lumber = [p for p in self.book.lumber if p.species == wood.species]
        if step is not None:
            for piece in self.layout.divided.pieces:
                text = f"{piece.id} {piece.top}, {name}, {wood.construction}, {thick}"
                # the piece as it lies, cutouts not taken off: they are work, not a saving
                yield self.line(
                    f"top {piece.top} {piece.id}", text, self.area(piece.ring.area), self.area_unit, step.price
                )
        elif lumber and labour is not None:
            yield from self._by_lumber(name, labour)
        else:
            wanted = [p.id for p in self.layout.divided.pieces]
            self.missing.append(
                f"no price for {name}, {wood.construction}, {thick} thick, wanted for {', '.join(wanted)}; add [[area]] with "
                f'species = "{name}", construction = "{wood.construction}" and up_to = that thickness or more, or [[lumber]] '
                f"of that species with [[labour]] of that construction"
            )

    def _step(self, species: str, construction: Construction, thickness: float) -> AreaPrice | None:
        """Return the thinnest step of a book that holds a top."""
        fits = [
            p
            for p in self.book.area
            if p.species == species and p.construction == construction and float(p.up_to) >= thickness - 1e-6
        ]
        return min(fits, key=lambda p: p.up_to.mm, default=None)

    def _by_lumber(self, name: str, labour: LabourPrice) -> Iterator[QuoteLine]:
        """Yield lumber as bought, or by a yield of the book's own, then the making of it."""
        species = self.layout.job.wood.species
        if self.of.cut.lacking and labour.yield_ is None:
            lack = ", ".join(n.name for n in self.of.cut.lacking)
            self.missing.append(f"lumber for {lack} cannot be counted: no board gives it; see staveline materials")
        volumes: dict[str, float] = {}
        for lot in self.of.cut.lots:
            # splashes have a price of their own, wood and all
            whole = sum(n.length for n in lot.needs)
            tops = sum(n.length for n in lot.needs if not n.name.startswith("BS"))
            if tops:
                volumes[lot.quarter.name] = volumes.get(lot.quarter.name, 0.0) + lot.bought * tops / whole
        if labour.yield_ is not None:
            bought = sum(volumes.values())
            want = self.of.net / float(labour.yield_ / 100) if labour.yield_ else 0.0
            volumes = {rough: v * want / bought for rough, v in volumes.items()} if bought else {}
        for rough, volume in volumes.items():
            found = [p for p in self.book.lumber if p.species == species and p.rough in (rough, None)]
            price = next((p.price for p in found if p.rough == rough), next((p.price for p in found), None))
            if price is None:
                self.missing.append(
                    f'no price for {rough} {name}; add [[lumber]] with species = "{name}" and rough = "{rough}"'
                )
                continue
            yield self.line(
                f"lumber {rough}", f"{name} lumber, {rough}", volume / self.volume_mm3, self.volume_unit, price
            )
        area = sum(p.ring.area for p in self.layout.divided.pieces)
        text = f"making, {self.layout.job.wood.construction}"
        yield self.line("labour", text, self.area(area), self.area_unit, labour.price)

    def splash(self) -> Iterator[QuoteLine]:
        boards = self.layout.splashes
        if not boards:
            return
        price = self.book.splash.get("length")
        marks = ", ".join(f"BS{k}" for k in range(1, len(boards) + 1))
        if price is None:
            self.missing.append(
                f"no price for splashes, wanted for {marks}; add length = ... under [splash], by the {self.length_unit}"
            )
            return
        length = sum(s.length for s in boards) / self.length_mm
        yield self.line("splash", f"splash {marks}", length, self.length_unit, price)

    def edges(self) -> Iterator[QuoteLine]:
        sums: dict[str, tuple[float, list[str]]] = {}
        for edge in self.of.edges:
            if edge.profile != SQUARE:
                length, tops = sums.get(edge.profile, (0.0, []))
                sums[edge.profile] = (length + edge.length, [*tops, edge.top])
        for profile, (length, tops) in sums.items():
            price = self.book.edge.get(profile, self.book.edge.get(profile.partition(" ")[0]))
            where = ", ".join(dict.fromkeys(tops))
            if price is None:
                self.missing.append(
                    f'no price for the edge profile "{profile}", wanted on {where}; add "{profile}" = ... under [edge], '
                    f"by the {self.length_unit}"
                )
                continue
            yield self.line(
                f"edge {profile}", f"edge {profile}, {where}", length / self.length_mm, self.length_unit, price
            )

    def kinds(
        self, table: str, found: Sequence[tuple[str, Sequence[str]]], prices: dict[str, Decimal]
    ) -> Iterator[QuoteLine]:
        """Yield lines of things counted by kind; a kind's own price goes before that of its first word."""
        for kind, names in found:
            price = prices.get(kind, prices.get(kind.partition(",")[0]))
            if price is None:
                self.missing.append(
                    f'no price for the {table} "{kind}", wanted for {", ".join(names)}; add "{kind}" = ... under [{table}]'
                )
                continue
            text = f"{table if table != 'cutout' else 'cutout,'} {kind}: {', '.join(names)}"
            yield self.line(f"{table} {kind}", text, float(len(names)), "each", price)

    def finish(self) -> Iterator[QuoteLine]:
        finish = self.layout.job.wood.finish
        if finish == "none" or not self.book.finish:
            # a book without the table has the finish in its tops
            return
        price = self.book.finish.get(finish)
        if price is None:
            self.missing.append(
                f'no price for the finish "{finish}"; add "{finish}" = ... under [finish], by the {self.area_unit} of all six faces'
            )
            return
        yield self.line("finish", f"{finish} on all six faces", self.area(self.of.finish), self.area_unit, price)

    # --- carriage

    def carriage(self) -> Iterator[QuoteLine]:
        """Yield the crate and its freight, where the book charges them."""
        c = self.of.crate
        if self.book.crate is not None:
            if self.book.crate.each:
                yield self.line("crate", "crate", 1.0, "each", self.book.crate.each)
            if self.book.crate.area:
                surface = 2 * (c.length * c.width + c.length * c.height + c.width * c.height)
                yield self.line(
                    "crate surface", "crate, by its surface", self.area(surface), self.area_unit, self.book.crate.area
                )
        if self.book.freight:
            pounds = c.gross / POUND_KG
            step = min((f for f in self.book.freight if f.up_to >= pounds), key=lambda f: f.up_to, default=None)
            weight = f"{pounds:.0f} lb" if self.book.book.units == "in" else f"{c.gross:.0f} kg"
            if step is None:
                self.missing.append(f"no freight for {weight} gross; add [[freight]] with a higher up_to")
                return
            yield self.line("freight", f"freight, {weight} gross", 1.0, "each", step.price)


def differences(one: Quote, two: Quote) -> tuple[tuple[str, Decimal, Decimal], ...]:
    """Return each line and sum of two quotes that differ: what it is, its amount in the one and in the other.

    Raises ValueError where the quotes are in different currencies.
    """
    if one.currency != two.currency:
        raise ValueError(f"quotes in {one.currency} and {two.currency} cannot be compared")
    pairs = []
    for quoted in (one, two):
        rows = {line.key: (line.text, line.amount) for line in (*quoted.lines, *quoted.carriage)}
        rows |= {f"sum {name.partition(',')[0]}": (name, amount) for name, amount in quoted.sums}
        rows["sum total"] = ("total", quoted.total)
        pairs.append(rows)
    first, second = pairs
    out = []
    for key in dict.fromkeys([*first, *second]):
        a, b = first.get(key), second.get(key)
        amounts = (a[1] if a else Decimal(0), b[1] if b else Decimal(0))
        if amounts[0] != amounts[1]:
            text = (a or b or ("", Decimal(0)))[0]
            out.append((text, *amounts))
    return tuple(out)
