"""The quote on paper: lines and sums in one column, the questions to the dealer beside them, on sheets of their own."""

from __future__ import annotations

from layout.columns import flow
from layout.drawing import Drawing
from layout.money import money_text
from layout.page import BLOCK_HEIGHT, COLUMN, GUTTER, TABLE, Area, Page, frame_area
from layout.pipeline import Layout
from layout.quote import Quote, QuoteLine
from layout.sheets import finished
from layout.tabular import Block, Prose, Table
from layout.wood import species_of

ROUNDING = (
    "Quantities to hundredths; each line to the smallest unit of the currency, halves up; sums of lines as printed."
)
PRICE_CAUTIONS = (
    "A price is no approval of what is drawn: the findings and cautions of the drawing hold.",
    "Appliance makers' instructions, local codes and licensed practice rule; their work is not in this price.",
)


def quote_drawing(layout: Layout, quoted: Quote) -> Drawing:
    """Return the quote as sheets of the job's size."""
    job = layout.job
    inner = frame_area(job.sheet.size)
    pages: list[Page] = []
    left: list[Block] = _blocks(layout, quoted)
    while left:
        page = Page("quote", [], {}, [])
        count = max(1, int((inner.width + GUTTER) // (COLUMN + GUTTER)))
        columns = []
        for k in range(count):
            x = inner.x + inner.width - COLUMN - (count - 1 - k) * (COLUMN + 2 * GUTTER)
            low = inner.y + (BLOCK_HEIGHT if k == count - 1 else 0) + 4
            columns.append(Area(x, low, TABLE, inner.y + inner.height - low - 4))
        rest = flow(page, left, columns)
        if rest == left:
            raise AssertionError("a row of the quote is taller than a column")
        left = rest
        pages.append(page)
    sheets = tuple(finished(layout, page, n, len(pages)) for n, page in enumerate(pages, start=1))
    return Drawing(job.job.number, f"{job.job.title}, quote", job.job.revision, job.job.units, sheets)


def _blocks(layout: Layout, quoted: Quote) -> list[Block]:
    heads = (("", 0.5), ("quantity", 0.12), ("unit", 0.1), ("each", 0.13), (quoted.currency, 0.15))
    lines = Table(f"Quote {quoted.number}, in {quoted.currency}", heads, tuple(_row(quoted, x) for x in quoted.lines))
    blocks: list[Block] = [lines]
    if quoted.carriage:
        blocks.append(Table("Crate and freight", heads, tuple(_row(quoted, x) for x in quoted.carriage)))
    sums = [(name, money_text(amount, quoted.currency)) for name, amount in quoted.sums]
    sums.append(("total", money_text(quoted.total, quoted.currency)))
    sums.append(
        (
            f"deposit with the order, {quoted.deposit_percent.normalize():f} %",
            money_text(quoted.deposit, quoted.currency),
        )
    )
    sums.append(("balance before it ships", money_text(quoted.balance, quoted.currency)))
    blocks.append(Table("Sum", (("", 0.7), (quoted.currency, 0.3)), tuple(sums)))
    blocks.append(Prose("Terms", terms(layout, quoted)))
    asked = quoted.questions or ("None open.",)
    blocks.append(Prose("To be answered by the dealer", tuple(f"{n}. {q}" for n, q in enumerate(asked, start=1))))
    blocks.append(Prose("Cautions", PRICE_CAUTIONS))
    return blocks


def _row(quoted: Quote, line: QuoteLine) -> tuple[str, ...]:
    quantity = f"{line.quantity.normalize():f}"
    price = f"{line.price:,}"
    return (line.text, quantity, line.unit, price, money_text(line.amount, quoted.currency))


def terms(layout: Layout, quoted: Quote) -> tuple[str, ...]:
    """Return how long the quote holds, by which book, and how it was rounded."""
    wood = layout.job.wood
    until = (
        f"Valid until {quoted.valid_until}."
        if quoted.valid_until
        else f"Valid {quoted.valid_days} days from the day it is sent."
    )
    dated = f"Made {quoted.dated}. " if quoted.dated else ""
    thick = layout.laid.labels.fine(wood.thickness)
    finish = wood.finish if wood.finish != "none" else "no finish"
    out = [
        f"{dated}{until} Prices of {quoted.book}.",
        f"For {species_of(layout.job).common_name.lower()}, {wood.construction}, {thick}, {finish}, "
        f"as drawn in revision {quoted.revision}; what changes after is quoted anew.",
        ROUNDING,
    ]
    return (*out, quoted.note) if quoted.note else tuple(out)
