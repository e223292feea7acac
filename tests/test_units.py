"""Lengths: every form a tape is read in, every form it is not, and labels that read back."""

import re
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.units import INCH_MM, Labels, LengthError, parse_length, round_ticks, ticks_text

INCH_FORMS = {
    "25 1/2": "25.5",
    "25-1/2": "25.5",
    "25 - 1/2": "25.5",
    "25½": "25.5",
    "25 ½": "25.5",
    '25 1/2"': "25.5",
    "25 1/2 in": "25.5",
    "25 1/2in.": "25.5",
    "25 1⁄2″": "25.5",
    "25 1/2”": "25.5",
    "25\u00a01/2": "25.5",
    "  25   1/2 ": "25.5",
    "25.5": "25.5",
    "25,5": "25.5",
    ".5": "0.5",
    "25": "25",
    "0": "0",
    "5/8": "0.625",
    "15/16": "0.9375",
    "1 15/16": "1.9375",
    "⅞": "0.875",
    "3⅞": "3.875",
    "-3": "-3",
    "− 3": "-3",
    "-1 1/2": "-1.5",
    "2' 1 1/2\"": "25.5",
    "2'-1 1/2\"": "25.5",
    "2' - 1 1/2\"": "25.5",
    "2’ 1½”": "25.5",
    "2′ 1 1/2″": "25.5",
    "2' 1 1/2": "25.5",
    "2' 1 1/2''": "25.5",
    "2'½": "24.5",
    "14'": "168",
    "8'-0\"": "96",
    "0'-6\"": "6",
    "2'-15/16\"": "24.9375",
    "-2' 6\"": "-30",
    "1.5'": "18",
    "2' -3": "27",
}
MM_FORMS = {
    "648": "648",
    "648.5": "648.5",
    "648,5": "648.5",
    "648 mm": "648",
    "648mm": "648",
    "64.8 cm": "648",
    "64,8 cm": "648",
    "0.648 m": "648",
    '1"': "25.4",
    "25 1/2 in": "647.7",
    "2'": "609.6",
    "-3 mm": "-3",
}
NOT_LENGTHS = [
    "", "  ", "25 1/0", "25 3/2", "3/2", "1/1", "0/2", "1/2/3", "abc", '"', "'", "-", "--3", "1e3", "+5", "251/2",
    "25.5 1/2", "25 1/2 1/2", "½½", "1-1-1/2", "5 m m", "mm", "2'-", "2' 12\"", "2' 13", "2' 3 mm", "25 1/2'",
    "5 ft", "nan", "inf", "７", "25 1/2 mm in", "0x10", "1_000", "1" * 5000, "1/" + "2" * 5000,
]  # fmt: skip


@pytest.mark.parametrize(("text", "inches"), INCH_FORMS.items())
def test_inch_forms(text: str, inches: str) -> None:
    assert parse_length(text, "in").mm == Fraction(inches) * INCH_MM


@pytest.mark.parametrize(("text", "mm"), MM_FORMS.items())
def test_mm_forms(text: str, mm: str) -> None:
    assert parse_length(text, "mm").mm == Fraction(mm)


@pytest.mark.parametrize("text", NOT_LENGTHS)
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_not_lengths(text: str, unit: str) -> None:
    with pytest.raises(LengthError, match=r"^it "):
        parse_length(text, unit)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "value",
    [
        True,
        False,
        None,
        [],
        {},
        b"3",
        1j,
        float("nan"),
        float("inf"),
        Decimal("nan"),
        Decimal("-Infinity"),
        Decimal("1e999999999"),
        Decimal("1e-999999999"),
        Decimal("0." + "1" * 100_000),
        10**4000,
        1e300,
    ],
)
def test_not_numbers(value: object) -> None:
    with pytest.raises(LengthError, match=r"^it "):
        parse_length(value, "in")


def test_numbers_are_exact() -> None:
    assert parse_length(25.1, "in").mm == Fraction("25.1") * INCH_MM
    assert parse_length(Decimal("25.1"), "mm").mm == Fraction(251, 10)
    assert parse_length(-3, "in").mm == -3 * INCH_MM
    assert float(parse_length(1, "in")) == 25.4


@pytest.mark.parametrize(
    ("most", "more", "unit"), [("1000'", "1000' 1/64", "in"), ("300 m", "300.001 m", "mm"), (12000, 12001, "in")]
)
def test_no_room_is_longer(most: object, more: object, unit: str) -> None:
    for sign in ("", "-"):
        assert parse_length(f"{sign}{most}", unit)  # type: ignore[arg-type]
        with pytest.raises(LengthError, match="beyond"):
            parse_length(f"{sign}{more}", unit)  # type: ignore[arg-type]


@given(st.text(max_size=30))
def test_any_text_is_a_length_or_says_why_not(text: str) -> None:
    try:
        said = str(parse_length(text, "in").mm)
    except LengthError as error:
        said = str(error)
    assert re.fullmatch(r"-?\d+(/\d+)?|it .+", said)


DENOMINATORS = st.sampled_from([1, 2, 4, 8, 16, 32, 64])


@given(st.integers(-190_000, 190_000), DENOMINATORS, st.booleans(), st.booleans())
def test_inch_labels_read_back(ticks: int, denominator: int, feet: bool, mark: bool) -> None:
    text = ticks_text(ticks, "in", denominator, feet, mark)
    if abs(ticks) <= 12000 * denominator:
        assert parse_length(text, "in").mm == Fraction(ticks, denominator) * INCH_MM


@given(st.integers(-300_000, 300_000))
def test_mm_labels_read_back(ticks: int) -> None:
    assert parse_length(ticks_text(ticks, "mm"), "mm").mm == ticks


@given(st.fractions(-1000, 1000, max_denominator=1000), DENOMINATORS)
def test_rounding_is_to_the_nearest_step(inches: Fraction, denominator: int) -> None:
    ticks = round_ticks(inches * INCH_MM, "in", denominator)
    assert Fraction(-1, 2) <= inches * denominator - ticks < Fraction(1, 2)
    assert ticks == round_ticks(float(inches * INCH_MM), "in", denominator) or inches * denominator * 2 % 1 == 0


@pytest.mark.parametrize(
    ("inches", "denominator", "text"),
    [
        ("3.999", 16, '4"'),
        ("3.96", 16, '3 15/16"'),
        ("0.03125", 16, '1/16"'),
        ("0.03", 16, '0"'),
        ("-0.03125", 16, '0"'),
        ("-1.5", 2, '-1 1/2"'),
        ("11.999", 8, '12"'),
        ("25.5", 1, '26"'),
    ],
)
def test_rounding_comes_before_splitting(inches: str, denominator: int, text: str) -> None:
    assert Labels("in", denominator).text(Fraction(inches) * INCH_MM) == text


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        ("103.3125", "8'-7 5/16\""),
        ("11.9375", '11 15/16"'),
        ("12", "1'-0\""),
        ("12.0625", "1'-0 1/16\""),
        ("11.99", "1'-0\""),
        ("-24", "-2'-0\""),
    ],
)
def test_feet_from_twelve_inches_up(inches: str, text: str) -> None:
    assert Labels("in", 16, feet=True).text(Fraction(inches) * INCH_MM) == text


def test_halves_of_a_float_go_up_as_exact_ones_do() -> None:
    assert round_ticks(0.79375, "in", 16) == round_ticks(Fraction(127, 160), "in", 16) == 1
    assert round_ticks(0.5, "mm") == round_ticks(Fraction(1, 2), "mm") == 1
    assert round_ticks(0.5 - 1e-12, "mm") == 1  # noise of the geometry, not a shorter part


@given(st.lists(st.integers(1, 900), min_size=1, max_size=12), DENOMINATORS)
def test_a_chain_of_labels_adds_up_to_its_total(parts: list[int], denominator: int) -> None:
    labels = Labels("in", denominator)
    read = [parse_length(labels.of_ticks(part), "in").mm for part in parts]
    assert sum(read, Fraction(0)) == parse_length(labels.of_ticks(sum(parts)), "in").mm


def test_fine_labels() -> None:
    assert Labels("in").fine(parse_length("9/64", "in")) == '9/64"'
    assert Labels("mm").fine(2.25) == "2.3"
    assert Labels("mm").fine(3.0) == "3"
    assert Labels("mm").text(parse_length("648.5", "mm")) == "649"
