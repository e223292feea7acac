"""Exact lengths: reading a tape, printing a label.

A length is a Fraction of a millimetre (1 in = 127/5 mm exactly) from the job file to the rules; ``float(length)`` is
the one door into the geometry, which is float millimetres throughout.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Literal

Unit = Literal["in", "mm"]

INCH_MM = Fraction(127, 5)
FOOT_MM = 12 * INCH_MM
UNIT_MM: dict[str, Fraction] = {
    "in": INCH_MM,
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "ft": FOOT_MM,
}
UNIT_NAMES: dict[str, str] = {
    "in": "inches",
    "mm": "millimetres",
    "cm": "centimetres",
    "m": "metres",
    "ft": "feet",
}
LONGEST_MM = {"in": 1000 * FOOT_MM, "mm": Fraction(300_000)}
"""No room is longer: a bigger value is a slip of the pen (fixed by the format)."""

_SIGNS = str.maketrans("“”″‟‘’′‵−–‐⁄", "\"\"\"\"''''---/")
_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
    "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
# a whole number is taken whole, so that 15/16 is never read as 1 and 5/16
_NUMBER = r"(?:(?P<whole>\d+(?:\.\d+)?|\.\d+)(?![\d./]))?(?:(?P<gap> ?- ?| )?(?P<num>\d+)/(?P<den>\d+))?"
_PLAIN = re.compile(rf"^(?P<sign>-?) ?{_NUMBER} ?(?P<unit>\"|in\.?|mm|cm|m)?$", re.ASCII)
_FEET = re.compile(r"^(?P<sign>-?) ?(?P<feet>\d+(?:\.\d+)?) ?'(?: ?-? ?(?P<inches>[^'\"]+?) ?(?:\"|'')?)?$", re.ASCII)


MOST_DIGITS = 40
"""No tape has more; beyond it exact arithmetic on a slip of the pen would only burn time."""


class LengthError(ValueError):
    """What was given is not a length; the message says why and begins with "it"."""


@dataclass(frozen=True, order=True, slots=True)
class Length:
    """An exact length; ``mm`` is a Fraction of a millimetre, never a float."""

    mm: Fraction

    def __float__(self) -> float:
        """Return millimetres as a float, for geometry."""
        # as float(Fraction) does it, in fewer steps
        parts, whole = self.mm.as_integer_ratio()
        return parts / whole


def parse_length(value: object, unit: Unit) -> Length:
    """Return the length that ``value`` states, in ``unit`` unless it carries a mark of its own.

    Takes numbers and tape strings (``25.5``, ``"25 1/2"``, ``"2'-1 1/2\\""``, ``"648 mm"``); a decimal comma counts as
    a point. Raises LengthError with a reason a drafter can act on for anything else.
    """
    return _of_text(value, unit) if isinstance(value, str) else _within(_read_number(value) * UNIT_MM[unit], unit)


@lru_cache(maxsize=4096)
def _of_text(value: str, unit: Unit) -> Length:
    return _within(_read_text(value, unit), unit)


def _within(mm: Fraction, unit: Unit) -> Length:
    if abs(mm) > LONGEST_MM[unit]:
        limit = "1,000 ft" if unit == "in" else "300 m"
        raise LengthError(f"it is beyond {limit}, longer than any room")
    return Length(mm)


def _read_number(value: object) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise LengthError("it is not a length")
    if isinstance(value, int):
        return Fraction(value)
    number = Decimal(str(value))
    if not number.is_finite():
        raise LengthError("it is not a finite number")
    _, digits, exponent = number.as_tuple()
    if len(digits) > MOST_DIGITS or abs(int(exponent)) > MOST_DIGITS:
        raise LengthError("it has more digits than any tape")
    return Fraction(number)


_COMMA = re.compile(r"(?<=\d),(?=\d)")


def _read_text(value: str, unit: Unit) -> Fraction:
    if len(value) > MOST_DIGITS:
        raise LengthError("it is too long for a tape")
    text = value.translate(_SIGNS).replace("''", '"')
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction} ")
    text = " ".join((text.replace("- ", "-") if text.startswith("- ") else text).split())
    text = _COMMA.sub(".", text)
    if not text:
        raise LengthError("it is empty")
    feet = _FEET.match(text)
    if feet:
        inches = Fraction(0)
        if feet["inches"]:
            plain = _PLAIN.match(feet["inches"])
            if not plain or plain["unit"] or plain["sign"]:
                raise LengthError("it has inches after the feet that cannot be read")
            inches = _mixed(plain)
            if inches >= 12:
                raise LengthError("it has 12 inches or more beside the feet")
        size = Fraction(feet["feet"]) * FOOT_MM + inches * INCH_MM
        return -size if feet["sign"] else size
    plain = _PLAIN.match(text)
    if not plain:
        raise LengthError("it cannot be read as a tape")
    mark = {'"': "in", "in": "in", "in.": "in", None: unit}.get(plain["unit"], plain["unit"])
    size = _mixed(plain) * UNIT_MM[str(mark)]
    return -size if plain["sign"] else size


def _mixed(match: re.Match[str]) -> Fraction:
    whole, num, den = match["whole"], match["num"], match["den"]
    if whole is None and "-" in (match["gap"] or ""):
        raise LengthError("it has two signs")
    if whole is None and num is None:
        raise LengthError("it has no number")
    if num is None:
        return Fraction(whole)
    if whole is not None and "." in whole:
        raise LengthError("it has a fraction after a decimal")
    top, bottom = int(num), int(den)
    if bottom == 0 or not 0 < top < bottom:
        raise LengthError(f"it has {num}/{den}, which is not a part of a whole")
    return Fraction(whole or 0) + Fraction(top, bottom)


@lru_cache(maxsize=1024, typed=True)
def round_ticks(mm: float | Fraction, unit: Unit, denominator: int = 16) -> int:
    """Return ``mm`` as a whole number of printed steps: 1/denominator in, or 1 mm; halves go up.

    Those asked for last are kept: drawing, tables and report print the same lengths.
    """
    step = INCH_MM / denominator if unit == "in" else Fraction(1)
    if isinstance(mm, Fraction):
        return math.floor(mm / step + Fraction(1, 2))
    # rid of the noise of floats first, and then in whole numbers
    whole, part = round(mm * 1e9) * step.denominator, step.numerator * 10**9
    return (2 * whole + part) // (2 * part)


def ticks_text(ticks: int, unit: Unit, denominator: int = 16, feet: bool = False, mark: bool = True) -> str:
    """Return the label of a number of printed steps, e.g. ``25 1/2"``, ``8'-7 5/16"`` (feet, from 12 in), ``648``."""
    sign, ticks = ("-" if ticks < 0 else ""), abs(ticks)
    if unit == "mm":
        return f"{sign}{ticks}"
    inch = '"' if mark else ""
    whole, rest = divmod(ticks, denominator)
    head = ""
    if feet and whole >= 12:
        ft, whole = divmod(whole, 12)
        head = f"{ft}'-"
    part = f"{Fraction(rest, denominator)}" if rest else ""
    body = f"{whole} {part}" if part and (whole or head) else part or f"{whole}"
    return f"{sign}{head}{body}{inch}"


@dataclass(frozen=True, slots=True)
class Labels:
    """How a job prints lengths: unit, inch denominator, feet or not."""

    unit: Unit
    denominator: int = 16
    feet: bool = False

    def ticks(self, mm: float | Fraction) -> int:
        """Return ``mm`` rounded to printed steps."""
        return round_ticks(mm, self.unit, self.denominator)

    def of_ticks(self, ticks: int) -> str:
        """Return the text of a number of printed steps."""
        return ticks_text(ticks, self.unit, self.denominator, self.feet)

    def text(self, mm: float | Fraction | Length) -> str:
        """Return the printed label of a length in mm, rounded once."""
        exact = mm.mm if isinstance(mm, Length) else mm
        return self.of_ticks(self.ticks(exact))

    def at_least(self, mm: float) -> str:
        """Return a length to 1/64 in or 0.1 mm, rounded up: what a remedy asks for is never short."""
        step = float(INCH_MM) / 64 if self.unit == "in" else 0.1
        return self.fine(math.ceil(mm / step - 1e-6) * step)

    def fine(self, mm: float | Length) -> str:
        """Return a length to 1/64 in or 0.1 mm where it is finer than the printed step, for small allowances."""
        exact = mm.mm if isinstance(mm, Length) else Fraction(mm).limit_denominator(10**6)
        if self.unit == "mm":
            tenths = math.floor(exact * 10 + Fraction(1, 2))
            return f"{tenths // 10}" if tenths % 10 == 0 else f"{tenths / 10:.1f}"
        return ticks_text(round_ticks(exact, "in", 64), "in", 64, self.feet)
