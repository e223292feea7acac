"""What a job file says of the wood, of the house it goes into and of the loads it must bear."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, WithJsonSchema

from layout.job_values import Filled, Line, Positive, Profile, Table, number_between
from layout.rules import LOAD_CREEP, LOAD_DEFLECTION, LOAD_LIFT, LOAD_POINT
from layout.spellings import LOAD, LOAD_ABOVE_ZERO, TEMPERATURE

Construction = Literal["face grain", "edge grain", "end grain"]


class Wood(Table):
    """[wood]: what the tops are made of."""

    species: Line  # the id of the table of woods, or the name of an own one, once read
    """The wood, by a trade name such as "hard maple" or by the name of a `[[species]]` of this job."""
    construction: Construction = "edge grain"
    """How the blank is glued up."""
    thickness: Positive
    """How thick the finished top is; a length."""
    finish: Literal["oil varnish", "mineral oil", "none"] = "oil varnish"
    """What the top is finished with."""
    edge: Profile = "eased"
    """The profile of every exposed edge: eased, roundover, bevel, cove, ogee, bullnose or square, with a size after it or not."""
    boards: Literal["full length", "finger-jointed"] = "full length"
    """Strips of one board each, or of pieces that are finger-jointed."""
    sapwood: Literal["in", "out"] = "in"
    """Whether sapwood may be in the top."""


def _temperature(value: Any) -> Any:
    match = re.fullmatch(TEMPERATURE, value) if isinstance(value, str) else None
    if not match:
        raise ValueError('a temperature with its scale, such as "70 F" or "21 C"')
    return value.strip()


Temperature = Annotated[
    str, BeforeValidator(_temperature), WithJsonSchema({"type": "string", "pattern": f"^{TEMPERATURE}$"})
]
Percent = Annotated[float, number_between(1, 99, "a relative humidity from 1 to 99 %")]


def _low_first(pair: tuple[float, float]) -> tuple[float, float]:
    if pair[0] > pair[1]:
        raise ValueError("[low, high]")
    return pair


class Site(Table):
    """[site]: the house the top goes into."""

    humidity: Annotated[tuple[Percent, Percent], AfterValidator(_low_first)] | None = None
    """Relative humidity of the house in %, [yearly low, yearly high]; left out: a house that nobody controls."""
    temperature: Temperature | None = None
    """Temperature of the house, with its scale."""
    door: tuple[Positive, Positive] | None = None
    """The narrowest door on the way in, [width, height]; lengths."""
    hall: tuple[Positive, Positive] | None = None
    """The tightest turn on the way in, [width before it, width after it]; lengths."""
    ceiling: Positive | None = None
    """Height of the ceiling where a piece is tilted up; a length."""
    lift: tuple[Positive, Positive, Positive] | None = None
    """The lift's car inside, [width, depth, height]; lengths."""


def pounds(value: Any) -> Any:
    """A load as typed, in pounds: ``"100 lb"`` or ``"45 kg"``."""
    match = re.fullmatch(LOAD, value) if isinstance(value, str) else None
    number = float(match[1].replace(",", ".")) if match else 0.0
    if not match or not 0.0 < number < 1e5:
        raise ValueError('a load with its unit, such as "100 lb" or "45 kg"')
    return number if match[2] == "lb" else number / 0.45359237


Pounds = Annotated[
    float, BeforeValidator(pounds), WithJsonSchema({"type": "string", "pattern": f"^{LOAD_ABOVE_ZERO}$"})
]


class Load(Table):
    """[load]: what overhangs are tried with, and what a person carries."""

    point: Pounds = LOAD_POINT  # loads are pounds once read
    """Load at the tip of an overhang, with its unit."""
    strip: Positive
    """Width of top that the load at a tip is spread over; a length."""
    deflection: Annotated[float, number_between(50, 2000, "a number between 50 and 2000")] = LOAD_DEFLECTION
    """An overhang bends under load by at most twice its length over this number."""
    creep: Annotated[float, number_between(1, 4, "a number between 1 and 4")] = LOAD_CREEP
    """Weight that stays counts by this factor, since wood creeps."""
    lift: Pounds = LOAD_LIFT
    """What one person carries, with its unit."""


Figure = Annotated[float, number_between(0, 10**7, "a figure above zero")]


class OwnSpecies(Table):
    """[[species]]: a wood of the job's own, or figures in place of the table's.

    Density in kg/m3 at 12 %; moduli and strength in MPa; shrinkage in % [radial, tangential, volumetric]; movement a
    share for each 1 % of moisture [radial, tangential]; stiffness across as a share of that along [E_T, E_R].
    """

    name: Filled
    """The name by which `[wood] species` calls it."""
    like: Line | None = None
    """A wood of the table whose figures hold where none is given here."""
    density: Figure | None = None
    """Density at 12 % moisture, kg/m3."""
    moe: Figure | None = None
    """Modulus of elasticity along the grain at 12 %, MPa."""
    tension_across: Figure | None = None
    """Strength in tension across the grain at 12 %, MPa."""
    shrinkage: tuple[Figure, Figure] | tuple[Figure, Figure, Figure] | None = None
    """Shrinkage from green to dry in %, [radial, tangential] or [radial, tangential, volumetric]."""
    movement: tuple[Figure, Figure] | None = None
    """Change of width for each 1 % of moisture, as a share, [radial, tangential]."""
    stiffness_across: tuple[Figure, Figure] | None = None
    """Stiffness across the grain as a share of that along it, [tangential, radial]."""
    source: Filled
    """Where the figures come from."""
