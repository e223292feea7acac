"""``staveline price``: a quote as text, as JSON, as sheets; the difference to another book's or another job's."""

from __future__ import annotations

import csv
import datetime
import io
import json
import textwrap
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import typer

from cli.endings import DONE, NO, UNREADABLE, UNWRITTEN
from cli.terminal import WIDTH
from layout.faults import JobError
from layout.materials import materials, safe
from layout.money import money_text
from layout.packet import PacketError, write_beside
from layout.pipeline import Layout, lay_file
from layout.prices import Book, read_book
from layout.quote import PriceError, Quote, QuoteLine, differences, quote


def price_jobs(
    jobs: Sequence[Path],
    book: Path,
    *,
    compare: Path | None = None,
    day: datetime.date | None = None,
    out: Path | None = None,
    pdf: bool = False,
    as_json: bool = False,
) -> int:
    """Quote a job, or compare two quotes, and return the exit status."""
    pairs = [(job, book) for job in jobs] if compare is None else [(jobs[0], book), (jobs[0], compare)]
    if len(pairs) > 2 or (compare is not None and len(jobs) > 1):
        typer.echo("one job, one job with --compare, or two jobs to compare", err=True)
        return UNREADABLE
    if pdf:
        from layout.writers.pdf import can_write  # noqa: PLC0415

        if not can_write():
            typer.echo("--pdf needs reportlab, which is not installed here: pip install 'staveline[pdf]'", err=True)
            return UNWRITTEN
    quoted: list[tuple[Layout, Quote]] = []
    try:
        books: dict[Path, Book] = {path: read_book(path) for path in dict.fromkeys(b for _, b in pairs)}
        layouts = {path: lay_file(path) for path in dict.fromkeys(job for job, _ in pairs)}
        for job, path in pairs:
            layout = layouts[job]
            quoted.append((layout, quote(layout, materials(layout), books[path], str(path), day)))
        changes = differences(quoted[0][1], quoted[1][1]) if len(quoted) == 2 else ()
    except (JobError, PriceError, ValueError) as error:
        typer.echo(str(error), err=True)
        return UNREADABLE
    if len(quoted) == 2:
        typer.echo(_difference_json(quoted, changes) if as_json else _difference_text(quoted, changes, pairs))
        return DONE
    layout, one = quoted[0]
    if out is not None:
        try:
            write_beside(out / one.number, quote_files(layout, one, pdf=pdf), ("quote-",))
        except PacketError as error:
            typer.echo(str(error), err=True)
            return UNWRITTEN
    typer.echo(json.dumps(quote_report(one), indent=1, ensure_ascii=False) if as_json else quote_text(layout, one))
    return NO if any(f.severity == "stop" for f in layout.findings) else DONE


def quote_files(layout: Layout, quoted: Quote, *, pdf: bool = False) -> dict[str, bytes]:
    """Return the quote's files: a sheet each, all in one PDF where wanted, and its lines as CSV."""
    from layout.quote_sheet import quote_drawing  # noqa: PLC0415
    from layout.writers.svg import svg_text  # noqa: PLC0415

    drawing = quote_drawing(layout, quoted)
    files = {f"quote-{s.number}.svg": svg_text(s, drawing).encode() for s in drawing.sheets}
    if pdf:
        from layout.writers.pdf import pdf_bytes  # noqa: PLC0415

        files["quote-all.pdf"] = pdf_bytes(drawing)
    files["price.csv"] = quote_csv(quoted).encode()
    return files


def quote_csv(quoted: Quote) -> str:
    """Return the quote as CSV (RFC 4180): its lines, then its sums."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(("what", "quantity", "unit", "each", "amount", "currency"))
    for x in (*quoted.lines, *quoted.carriage):
        writer.writerow((safe(x.text), x.quantity, x.unit, x.price, x.amount, quoted.currency))
    for name, amount in _sums(quoted):
        writer.writerow((safe(name), "", "", "", amount, quoted.currency))
    return text.getvalue()


def _sums(quoted: Quote) -> list[tuple[str, Decimal]]:
    deposit = f"deposit, {quoted.deposit_percent.normalize():f} %"
    return [*quoted.sums, ("total", quoted.total), (deposit, quoted.deposit), ("balance", quoted.balance)]


def quote_report(quoted: Quote) -> dict[str, Any]:
    """Return the quote for programs: amounts as text, so that no reader makes floats of them unasked."""
    return {
        "job": {"number": quoted.number, "title": quoted.title, "revision": quoted.revision},
        "currency": quoted.currency,
        "book": quoted.book,
        "dated": None if quoted.dated is None else str(quoted.dated),
        "valid_until": None if quoted.valid_until is None else str(quoted.valid_until),
        "lines": [_line(x) for x in quoted.lines],
        "carriage": [_line(x) for x in quoted.carriage],
        "sums": [{"name": name, "amount": str(amount)} for name, amount in quoted.sums],
        "total": str(quoted.total),
        "deposit": str(quoted.deposit),
        "balance": str(quoted.balance),
        "questions": list(quoted.questions),
    }


def _line(x: QuoteLine) -> dict[str, str]:
    return {
        "key": x.key,
        "text": x.text,
        "quantity": str(x.quantity),
        "unit": x.unit,
        "price": str(x.price),
        "amount": str(x.amount),
    }


def quote_text(layout: Layout, quoted: Quote) -> str:
    """Return the quote for the terminal, with the questions to send."""
    from layout.quote_sheet import PRICE_CAUTIONS, terms  # noqa: PLC0415

    out = [f"{quoted.number} {quoted.title}, revision {quoted.revision}: quote in {quoted.currency}"]
    for x in (*quoted.lines, *quoted.carriage):
        how = f"{x.quantity.normalize():f} {x.unit} at {x.price:,}"
        folded = textwrap.wrap(x.text, 52)
        out.append(f"  {folded[0]:54}{how:>28}{money_text(x.amount, quoted.currency):>14}")
        out += [f"    {more}" for more in folded[1:]]
    out.append(f"  {'':82}{'-' * 14}")
    out += [f"  {name:82}{money_text(amount, quoted.currency):>14}" for name, amount in _sums(quoted)]
    for line in (*terms(layout, quoted), *PRICE_CAUTIONS):
        out += textwrap.wrap(line, WIDTH, initial_indent="  ", subsequent_indent="  ")
    out.append("To be answered by the dealer:" if quoted.questions else "No question to the dealer is open.")
    for n, text in enumerate(quoted.questions, start=1):
        out += textwrap.wrap(text, WIDTH, initial_indent=f"{n:4} ", subsequent_indent="     ")
    return "\n".join(out)


def _difference_text(
    quoted: Sequence[tuple[Layout, Quote]],
    changes: Sequence[tuple[str, Decimal, Decimal]],
    pairs: Sequence[tuple[Path, Path]],
) -> str:
    (_, one), (_, two) = quoted
    names = [str(b) if pairs[0][0] == pairs[1][0] else str(j) for j, b in pairs]
    out = [f"{names[0]} against {names[1]}, in {one.currency}"]
    for text, a, b in changes:
        first = (
            f"{money_text(a, one.currency):>14}{money_text(b, two.currency):>14}{money_text(b - a, one.currency):>14}"
        )
        folded = textwrap.wrap(text, 52)
        out.append(f"  {folded[0]:54}{first}")
        out += [f"    {more}" for more in folded[1:]]
    return "\n".join(out) if changes else f"{out[0]}: no line differs"


def _difference_json(quoted: Sequence[tuple[Layout, Quote]], changes: Sequence[tuple[str, Decimal, Decimal]]) -> str:
    rows = [{"text": text, "first": str(a), "second": str(b), "difference": str(b - a)} for text, a, b in changes]
    content = {
        "currency": quoted[0][1].currency,
        "first": quote_report(quoted[0][1]),
        "second": quote_report(quoted[1][1]),
        "differences": rows,
    }
    return json.dumps(content, indent=1, ensure_ascii=False)
