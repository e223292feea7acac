"""Lumber as it is bought: thickness in quarters of an inch, board feet, surface measure.

Sources: NHLA rules for measuring and inspecting hardwood (figures by reproductions), American Hardwood Export Council for
export tallies.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from layout.rules import QUARTERS
from layout.units import INCH_MM, parse_length

INCH = float(INCH_MM)
BOARD_FOOT_MM3 = 144.0 * INCH**3
"""A board foot is 144 cubic inches: a foot square, an inch thick."""
CUBIC_METRE_MM3 = 1e9


@dataclass(frozen=True, slots=True)
class Quarter:
    """A thickness of lumber: its name, rough thickness, and what it is sure to surface to, mm."""

    name: str
    rough: float
    surfaced: float


@cache
def quarters() -> tuple[Quarter, ...]:
    """Return every thickness that lumber comes in, thinnest first."""
    return tuple(
        Quarter(name, float(parse_length(rough, "in")), float(parse_length(surfaced, "in")))
        for name, rough, surfaced in QUARTERS
    )


def quarter_for(finished: float) -> Quarter | None:
    """Return the thinnest lumber that is sure to surface to a finished thickness, mm; None where none is so thick."""
    return next((q for q in quarters() if q.surfaced >= finished - 1e-6), None)


def board_feet(thickness: float, width: float, length: float) -> float:
    """Return the board feet of wood of that size, mm."""
    return thickness * width * length / BOARD_FOOT_MM3


def surface_measure(width: float, length: float) -> int:
    """Return a board's surface measure: inches of width by feet of length, by 12, to the nearest whole; mm in.

    Halves, which a tally gives alternately up and down, go down here.
    """
    return math.ceil(width / INCH * (length / INCH / 12.0) / 12.0 - 0.5 - 1e-9)


def export_tally(width: float, length: float) -> tuple[int, int]:
    """Return the (inches, feet) that a board of that size (mm) is tallied as for export: whole ones, what is over is not
    counted (AHEC)."""
    return (math.floor(width / INCH + 1e-9), math.floor(length / INCH / 12.0 + 1e-9))
