"""How far wood moves across its grain over the year of its house, and what follows: room at walls, mitres, slots.

Width changes by D * C * dM between 6 and 14 % of moisture (Wood Handbook FPL-GTR-190, eq. 13-2), else by the wide-range form
D * dM / (3000 / S - 30 + M) (eq. 13-3). Edge grain: strips of flat-sawn boards stand on edge, so their radial direction
lies in the width. Face grain: the tangential. End grain: both plan directions, the tangential taken for either, which is
safe. Lengths along the grain are taken as unchanged. A top is made at the middle of the year's moistures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from layout.job import Job
from layout.moisture import LINEAR, House, house
from layout.outline import Line
from layout.species import Species
from layout.wood import species_of

if TYPE_CHECKING:
    # as types only: how a wood moves is told without a layout
    from layout.pieces import Joint, Piece

Direction = Literal["radial", "tangential"]
DIRECTION: dict[str, Direction] = {"face grain": "tangential", "edge grain": "radial", "end grain": "tangential"}
"""Which direction of the wood lies across a top's width, by construction."""


@dataclass(frozen=True, slots=True)
class Movement:
    """How a job's wood moves: its coefficient (share for each 1 % of moisture), by which form, over which year."""

    species: Species
    direction: Direction
    coefficient: float
    basis: str
    house: House

    def change(self, size: float, from_percent: float, to_percent: float) -> float:
        """Return how much ``size`` mm of wood across the grain grows between two moisture contents; negative: shrinks."""
        return width_change(size, self.species, self.direction, from_percent, to_percent)

    def year(self, size: float) -> float:
        """Return how much ``size`` mm across the grain grows from the year's driest to its dampest."""
        return self.change(size, self.house.low, self.house.high)

    def swelling(self, size: float) -> float:
        """Return how much it grows from the middle of the year, at which it is made, to the dampest."""
        return self.change(size, self.house.middle, self.house.high)

    def shrinking(self, size: float) -> float:
        """Return how much it shrinks from the middle of the year to the driest, a positive length."""
        return -self.change(size, self.house.middle, self.house.low)


def coefficient(species: Species, direction: Direction) -> float | None:
    """Return a species' change for each 1 % of moisture, from the table or its shrinkage; None where neither is known."""
    stated = species.C_R if direction == "radial" else species.C_T
    if stated is not None:
        return stated
    total = shrinkage(species, direction)
    return None if total is None else 1.0 / (3000.0 / total - 20.0)


def shrinkage(species: Species, direction: Direction) -> float | None:
    """Return a species' total shrinkage (%), green to dry."""
    return species.shrink_radial_pct if direction == "radial" else species.shrink_tangential_pct


def width_change(size: float, species: Species, direction: Direction, from_percent: float, to_percent: float) -> float:
    """Return the change of ``size`` across the grain, in its unit: linear within 6 to 14 %, else the wide-range form.

    Raises LookupError for a species of which neither a coefficient nor a shrinkage is known.
    """
    c, total = coefficient(species, direction), shrinkage(species, direction)
    if c is None:
        raise LookupError(f"neither movement nor shrinkage is known of {species.common_name}")
    within = LINEAR[0] <= min(from_percent, to_percent) and max(from_percent, to_percent) <= LINEAR[1]
    if within or total is None:
        return linear_change(size, c, from_percent, to_percent)
    return wide_change(size, total, from_percent, to_percent)


def linear_change(size: float, per_percent: float, from_percent: float, to_percent: float) -> float:
    """Return the change by the coefficient of dimensional change (eq. 13-2)."""
    return size * per_percent * (to_percent - from_percent)


def wide_change(size: float, total_shrinkage: float, from_percent: float, to_percent: float) -> float:
    """Return the change by the total shrinkage (%), for any moistures below 30 % (eq. 13-3)."""
    return size * (to_percent - from_percent) / (3000.0 / total_shrinkage - 30.0 + from_percent)


def movement(job: Job) -> Movement | None:
    """Return how a job's wood moves; None for a wood of which nothing of the kind is known."""
    species, direction = species_of(job), DIRECTION[job.wood.construction]
    c = coefficient(species, direction)
    if c is None:
        return None
    year = house(job)
    wide = (year.low < LINEAR[0] or year.high > LINEAR[1]) and shrinkage(species, direction) is not None
    form = "wide-range form" if wide else "6 to 14 % form"
    source = species.C_basis or "shrinkage"
    return Movement(species, direction, c, f"{direction}, {form}; {source}", year)


def piece_movement(moves: Movement, piece: Piece, *, end_grain: bool) -> float | tuple[float, float]:
    """Return how far a piece moves over the year across its grain, mm; of end grain along x and y of its frame."""
    if end_grain:
        return (moves.year(piece.length), moves.year(piece.width))
    return moves.year(piece.width)


@dataclass(frozen=True, slots=True)
class MitreOpening:
    """How far a mitre opens over the year, mm at its one end: in front when the house is dry, at the back when it is damp."""

    front: float
    back: float

    @property
    def most(self) -> float:
        """The wider of the two."""
        return max(self.front, self.back)


def mitre_opening(moves: Movement, joint: Joint, pieces: tuple[Piece, Piece]) -> MitreOpening:
    """Return how far a mitre between two pieces opens if nothing holds it: each cut turns as its piece's width changes.

    A cut at the angle f to the grain, over the width w, lies at atan(tan f * (w + e) / w) once the width has changed by e.
    Dry: the two angles sum to less than the corner and the joint opens in front; damp: more, and it opens at the back.
    """
    start, end = joint.points[-2], joint.points[-1]
    length = math.dist(start, end)

    def turned(grow: float) -> float:
        """Return by how much the two cuts together turn (radians) when wood grows by that share of its width."""
        total = 0.0
        for piece in pieces:
            f = _angle_to_grain((start, end), piece)
            total += math.atan(math.tan(f) * (1.0 + grow)) - f
        return total

    dry, damp = -moves.shrinking(1.0), moves.swelling(1.0)
    return MitreOpening(length * abs(math.tan(turned(dry))), length * abs(math.tan(turned(damp))))


def _angle_to_grain(points: tuple[tuple[float, float], tuple[float, float]], piece: Piece) -> float:
    (x0, y0), (x1, y1) = points
    grain = Line(0.0, 0.0, math.cos(piece.frame.angle), math.sin(piece.frame.angle))
    along = abs((x1 - x0) * grain.dx + (y1 - y0) * grain.dy)
    across = abs(-(x1 - x0) * grain.dy + (y1 - y0) * grain.dx)
    return math.atan2(across, max(along, 1e-9))


def slot_length(moves: Movement, across: float, screw: float) -> float:
    """Return how long a slot must be for a screw ``across`` mm from the fixed line: its shank and the movement both ways."""
    return screw + 2.0 * max(moves.swelling(across), moves.shrinking(across))
