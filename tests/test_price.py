"""Quotes by a price book: arithmetic worked out by hand, what a book lacks, differences, and the files."""

from __future__ import annotations

import csv
import datetime
import json
import xml.etree.ElementTree as ET
from decimal import Decimal
from pathlib import Path

import pytest
from samples_drawn import EVERY, bought, laid
from typer.testing import CliRunner

from cli.app import app
from cli.pricing import quote_csv, quote_files
from layout.faults import JobError
from layout.materials import materials
from layout.money import CURRENCIES, money_text, rounded
from layout.pipeline import lay_text
from layout.prices import load_book, read_book
from layout.quote import PriceError, Quote, differences, quote

ROOT = Path(__file__).resolve().parent.parent
PRICES = ROOT / "samples" / "prices.toml"

JOB = """
[job]
title = "Cooper's row"
number = "Q-1"
units = "in"
date = 2026-02-10
[field]
walls = "finished"
cabinets = "set"
[wood]
species = "cherry"
thickness = "1 1/2"
[[top]]
name = "slab"
size = ["96", "25"]
"""
BOOK = """
[book]
name = "test list"
currency = "EUR"
units = "in"
deposit = 50
[[area]]
species = "cherry"
construction = "edge grain"
up_to = "1 1/2"
price = 60.00
[edge]
eased = 1.25
"""


def priced(book: str = BOOK, job: str = JOB) -> Quote:
    layout = lay_text(job)
    return quote(layout, materials(layout), load_book(book))


# --- arithmetic ------------------------------------------------------------------------------------------------------


def test_lines_and_sums_by_hand() -> None:
    found = priced()
    # 96 x 25 in is 16 2/3 sq ft, printed 16.67; the edge is 242 in, 20 1/6 ft, printed 20.17
    assert [(str(x.quantity), x.unit, x.amount) for x in found.lines] == [
        ("16.67", "sq ft", Decimal("1000.20")),
        ("20.17", "ft", Decimal("25.21")),
    ]
    assert found.total == Decimal("1025.41")
    # half of an odd number of cents goes up, and the balance is what is left of it
    assert (found.deposit, found.balance) == (Decimal("512.71"), Decimal("512.70"))
    assert found.deposit + found.balance == found.total
    assert found.valid_until == datetime.date(2026, 3, 12)


def test_discount_minimum_and_taxes_by_hand() -> None:
    more = BOOK.replace("deposit = 50", "deposit = 30\nminimum = 1100") + (
        '[discount]\nname = "trade"\npercent = 7.5\n[crate]\neach = 80\n'
        '[[freight]]\nup_to = "90 lb"\nprice = 50\n[[freight]]\nup_to = "2000 lb"\nprice = 120\n'
        '[[tax]]\nname = "VAT"\npercent = 19\n[[tax]]\nname = "levy"\npercent = 1\nfreight = false\n'
    )
    found = priced(more)
    # 1025.41 is brought to 1100; less 7.5 % (82.50) 1017.50; crate and freight 200; 19 % of 1217.50 is 231.325, up
    assert dict(found.sums) == {
        "tops and work": Decimal("1025.41"),
        "up to the least charge": Decimal("74.59"),
        "trade, 7.5 %": Decimal("-82.50"),
        "crate and freight": Decimal("200.00"),
        "VAT, 19 %": Decimal("231.33"),
        "levy, 1 %": Decimal("10.18"),
    }
    assert found.total == Decimal("1459.01")
    assert found.deposit == Decimal("437.70")
    work = [amount for name, amount in found.sums]
    assert sum(work) == found.total


def test_cutouts_are_work_and_save_no_area() -> None:
    hole = '[[cutout]]\nname = "S1"\nkind = "sink"\nmount = "drop-in"\ntop = "slab"\ncenter = ["48", "12"]\nsize = ["30", "16"]\n'
    found = priced(BOOK + "[cutout]\nsink = 90\n", JOB + hole)
    assert [x.amount for x in found.lines] == [Decimal("1000.20"), Decimal("25.21"), Decimal("90.00")]
    own = priced(BOOK + '[cutout]\nsink = 90\n"sink, drop-in" = 75\n', JOB + hole)
    assert own.lines[-1].amount == Decimal("75.00")


def test_lumber_by_the_board_foot_with_labour() -> None:
    lumber = BOOK.replace('[[area]]\nspecies = "cherry"', '[[area]]\nspecies = "walnut"') + (
        '[[lumber]]\nspecies = "black cherry"\nprice = 8\n[[labour]]\nconstruction = "edge grain"\nprice = 20\n'
    )
    layout = lay_text(JOB)
    of = materials(layout)
    found = quote(layout, of, load_book(lumber))
    feet = sum(lot.bought_feet for lot in of.cut.lots)
    assert float(found.lines[0].quantity) == pytest.approx(feet, abs=0.005)
    assert found.lines[0].amount == rounded(found.lines[0].quantity * 8, "EUR")
    assert found.lines[1].amount == Decimal("333.40")
    # a yield of the book's own: 25 board feet in the top, half of what is bought
    half = quote(layout, of, load_book(lumber.replace("price = 20", "price = 20\nyield = 50")))
    assert half.lines[0].quantity == Decimal("50.00")
    assert half.lines[0].amount == Decimal("400.00")


def test_a_metric_book_prices_an_inch_job_and_the_other_way_round() -> None:
    metric = BOOK.replace('units = "in"', 'units = "mm"').replace('up_to = "1 1/2"', "up_to = 38.1")
    found = priced(metric)
    assert [(str(x.quantity), x.unit) for x in found.lines] == [("1.55", "m2"), ("6.15", "m")]


def test_the_step_is_the_thinnest_that_holds_the_top() -> None:
    thicker = BOOK + '[[area]]\nspecies = "cherry"\nconstruction = "edge grain"\nup_to = "2 1/2"\nprice = 99\n'
    assert priced(thicker).lines[0].price == Decimal("60.00")
    assert priced(thicker, JOB.replace('"1 1/2"', '"1 9/16"')).lines[0].price == Decimal(99)


@pytest.mark.parametrize(
    ("amount", "code", "text"),
    [
        ("1234.565", "EUR", "1,234.57"),
        ("1234.5", "JPY", "1,235"),
        ("0.0005", "KWD", "0.001"),
        ("-2.345", "USD", "-2.35"),
    ],
)
def test_money_is_rounded_once_halves_up(amount: str, code: str, text: str) -> None:
    assert money_text(Decimal(amount), code) == text


def test_currencies_by_a_reference_library() -> None:
    # Babel carries the Unicode CLDR's data; its digits are those in everyday use, which differ from ISO 4217 for some
    numbers = pytest.importorskip("babel.numbers")
    core = pytest.importorskip("babel.core")
    known = {code for codes in core.get_global("territory_currencies").values() for code, *_ in codes}
    assert set(CURRENCIES) <= known
    differ = {c for c in CURRENCIES if numbers.get_currency_precision(c) != CURRENCIES[c]}
    # CLDR leaves off small units that are no longer struck; ISO 4217 keeps them
    assert differ <= {"COP", "CRC", "IDR", "RSD", "PKR", "HUF", "LKR", "TWD", "CZK", "NOK", "SEK", "DKK", "ALL"}


# --- what is missing or wrong ----------------------------------------------------------------------------------------


def test_every_missing_price_is_named_with_its_place() -> None:
    job = JOB.replace("cherry", "white oak") + (
        '[[edge]]\ntop = "slab"\nside = "front"\nprofile = "ogee 1/2"\n'
        '[[cutout]]\nname = "S1"\nkind = "sink"\nmount = "drop-in"\ntop = "slab"\ncenter = ["48", "12"]\nsize = ["30", "16"]\n'
        '[[support]]\ntop = "slab"\nkind = "post"\ncenter = ["20", "12"]\nsize = ["3", "3"]\n'
    )
    with pytest.raises(PriceError) as caught:
        priced(BOOK + '[[freight]]\nup_to = "10 lb"\nprice = 5\n', job)
    told = "\n".join(caught.value.missing)
    for words in (
        'white oak, edge grain, 1 1/2" thick, wanted for P1',
        '"ogee 1/2", wanted on slab',
        '"sink, drop-in", wanted for S1',
        'the support "post"',
        "no freight for",
        "under [cutout]",
    ):
        assert words in told
    assert len(caught.value.missing) == 5
    assert str(caught.value).startswith("prices.toml: ")


def test_a_stated_nought_is_a_price_and_a_missing_one_is_not() -> None:
    free = priced(BOOK.replace("eased = 1.25", "eased = 0"))
    assert free.lines[1].amount == 0
    with pytest.raises(PriceError):
        priced(BOOK.replace("eased = 1.25", "bevel = 1.25"))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('currency = "EUR"', 'currency = "Euro"', "ISO 4217"),
        ("price = 60.00", "price = -1", "an amount of money"),
        ("price = 60.00", 'price = "sixty"', "an amount of money"),
        ("price = 60.00", "price = nan", "an amount of money"),
        ("price = 60.00", "price = true", "an amount of money"),
        ("deposit = 50", "deposit = 120", "a percentage from 0 to 100"),
        ('units = "in"', 'units = "ft"', '"in" or "mm"'),
        ("up_to =", "upto =", "nearest known one"),
        ('construction = "edge grain"', 'construction = "edge"', "edge grain"),
        ("eased = 1.25", "eased = [1]", "an amount of money"),
        ("[[area]]", "[area]", "two brackets"),
        ("[edge]", "[edges]", "edge"),
    ],
)
def test_a_slip_in_the_book_is_told_with_its_place(old: str, new: str, words: str) -> None:
    with pytest.raises(JobError) as caught:
        load_book(BOOK.replace(old, new), "list.toml")
    (fault, *_) = caught.value.faults
    assert words in str(fault)
    assert fault.file == "list.toml"
    assert fault.line > 0


def test_two_areas_with_one_bracket_are_told() -> None:
    twice = BOOK.replace("[[area]]", "[area]") + '[area]\nspecies = "ash"\n'
    with pytest.raises(JobError, match="two brackets each time"):
        load_book(twice)


# --- questions, differences, files -----------------------------------------------------------------------------------


def test_what_is_asked_of_the_dealer_stands_with_the_quote() -> None:
    sink = '[[cutout]]\nname = "S1"\nkind = "sink"\nmount = "drop-in"\ntop = "slab"\ncenter = ["48", "12"]\nsize = ["30", "16"]\n'
    layout = lay_text(JOB + sink)
    found = quote(layout, materials(layout), load_book(BOOK + "[cutout]\nsink = 90\n"))
    asked = [f for f in layout.findings if f.severity != "note"]
    assert len(found.questions) == len(asked) > 0
    assert any("Nothing is cut before" in q for q in found.questions)
    assert all("[[" not in q for q in found.questions)


def test_differences_line_by_line() -> None:
    one, two = (
        priced(),
        priced(BOOK.replace("price = 60.00", "price = 66.00").replace("[edge]", "[crate]\neach = 5\n[edge]")),
    )
    changes = {text: (a, b) for text, a, b in differences(one, two)}
    assert changes["crate"] == (Decimal(0), Decimal("5.00"))
    assert changes["total"] == (Decimal("1025.41"), Decimal("1130.43"))
    assert not any(text.startswith("edge") for text in changes)
    assert differences(one, one) == ()
    with pytest.raises(ValueError, match="EUR and USD"):
        differences(one, priced(BOOK.replace("EUR", "USD")))


def test_a_job_is_told_as_text_json_csv_and_sheets(tmp_path: Path) -> None:
    job, book = tmp_path / "job.toml", tmp_path / "book.toml"
    job.write_text(JOB)
    book.write_text(BOOK)
    run = CliRunner().invoke(app, ["price", str(job), "--book", str(book), "--out", str(tmp_path / "out"), "--json"])
    assert run.exit_code == 0, run.output
    told = json.loads(run.stdout)
    assert (told["total"], told["deposit"], told["currency"]) == ("1025.41", "512.71", "EUR")
    folder = tmp_path / "out" / "Q-1"
    assert sorted(p.name for p in folder.iterdir()) == ["price.csv", "quote-1.svg"]
    rows = list(csv.reader((folder / "price.csv").open(newline="")))
    lines = [Decimal(row[4]) for row in rows[1:3]]
    assert [sum(lines), *lines] == [Decimal(rows[3][4]), Decimal("1000.20"), Decimal("25.21")]
    texts = {t.text for t in ET.parse(folder / "quote-1.svg").iter("{http://www.w3.org/2000/svg}text")}
    assert {"1,025.41", "512.71", "1,000.20"} <= texts
    text = CliRunner().invoke(app, ["price", str(job), "--book", str(book)]).stdout
    assert "1,025.41" in text
    assert "Valid until 2026-03-12" in text
    other = CliRunner().invoke(app, ["price", str(job), "--book", str(book), "--date", "2026-04-01"]).stdout
    assert "Valid until 2026-05-01" in other


def test_prices_that_lack_end_with_two_and_write_nothing(tmp_path: Path) -> None:
    job, book = tmp_path / "job.toml", tmp_path / "book.toml"
    job.write_text(JOB)
    book.write_text(BOOK.replace("eased", "cove"))
    run = CliRunner().invoke(app, ["price", str(job), "--book", str(book), "--out", str(tmp_path / "out")])
    assert run.exit_code == 2
    assert 'the edge profile "eased"' in run.stderr
    assert not (tmp_path / "out").exists()
    none = CliRunner().invoke(app, ["price", str(job), "--book", str(tmp_path / "none.toml")])
    assert none.exit_code == 2
    assert "a price book" in none.stderr


def test_two_jobs_or_two_books_are_compared(tmp_path: Path) -> None:
    one, two, book, dear = (tmp_path / n for n in ("one.toml", "two.toml", "book.toml", "dear.toml"))
    one.write_text(JOB)
    two.write_text(JOB.replace('["96", "25"]', '["48", "25"]'))
    book.write_text(BOOK)
    dear.write_text(BOOK.replace("60.00", "61.00"))
    jobs = CliRunner().invoke(app, ["price", str(one), str(two), "--book", str(book)])
    assert jobs.exit_code == 0
    assert "-500.40" in jobs.stdout
    books = CliRunner().invoke(app, ["price", str(one), "--book", str(book), "--compare", str(dear), "--json"])
    rows = json.loads(books.stdout)["differences"]
    assert {r["difference"] for r in rows} == {"16.67"}
    assert CliRunner().invoke(app, ["price", str(one), str(two), str(one), "--book", str(book)]).exit_code == 2


def test_no_cell_is_a_formula() -> None:
    named = JOB.replace("Cooper's row", "=1+1").replace('name = "slab"', 'name = "-slab"')
    layout = lay_text(named)
    for row in csv.reader(quote_csv(quote(layout, materials(layout), load_book(BOOK))).splitlines()):
        assert not any(cell[:1] in "=+@" or (cell[:1] == "-" and not cell[1:2].isdigit()) for cell in row if cell)


@pytest.mark.parametrize("sample", EVERY)
def test_the_samples_book_prices_every_sample(sample: Path) -> None:
    layout = laid(sample.stem)
    found = quote(layout, bought(sample.stem), read_book(PRICES), "prices.toml")
    assert sum(amount for _, amount in found.sums) == found.total
    assert sum(x.amount for x in found.lines) == dict(found.sums)["tops and work"]
    assert found.deposit + found.balance == found.total
    assert "invented" in found.book
    files = quote_files(layout, found)
    assert files == quote_files(layout, found)
    assert all(name.startswith("quote-") or name == "price.csv" for name in files)


def test_what_is_let_in_and_a_natural_edge_are_options_priced_by_kind() -> None:
    (sample,) = (Path(__file__).resolve().parent.parent / "samples" / "jobs").glob("grooves*.toml")
    layout = lay_text(sample.read_text(encoding="utf-8"))
    book = (Path(__file__).resolve().parent.parent / "samples" / "prices.toml").read_text(encoding="utf-8")
    lines = {line.key: line for line in quote(layout, materials(layout), load_book(book), None).lines}
    options = {key: str(line.amount) for key, line in lines.items() if key.startswith("option ")}
    assert options == {
        "option drainer": "145.00",
        "option rod": "110.00",
        "option slot": "38.00",
        "option recess": "95.00",
        "option natural edge": "180.00",
    }
    with pytest.raises(PriceError, match=r'no price for the option "recess", wanted for T1'):
        quote(layout, materials(layout), load_book(book.replace("recess = 95.00\n", "")), None)
