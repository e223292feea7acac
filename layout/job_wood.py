"""What a job file says of the wood, of the house it goes into and of the loads it must bear."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator

from layout.job_values import Filled, Line, Positive, Table, number_between
from layout.rules import LOAD_CREEP, LOAD_DEFLECTION, LOAD_LIFT, LOAD_POINT

Construction = Literal["face grain", "edge grain", "end grain"]


class Wood(Table):
    """[wood]: what the tops are made of. ``species`` is the table's id once read."""

    species: Line
    construction: Construction = "edge grain"
    thickness: Positive
    finish: Literal["oil varnish", "mineral oil", "none"] = "oil varnish"
    edge: Line = "eased"
    boards: Literal["full length", "finger-jointed"] = "full length"
    sapwood: Literal["in", "out"] = "in"


def _temperature(value: Any) -> Any:
    match = re.fullmatch(r"\s*(-?\d+(?:[.,]\d+)?)\s*°?\s*([FC])\s*", value) if isinstance(value, str) else None
    if not match:
        raise ValueError('a temperature with its scale, such as "70 F" or "21 C"')
    return value.strip()


Percent = Annotated[float, number_between(1, 99, "a relative humidity from 1 to 99 %")]


def _low_first(pair: tuple[float, float]) -> tuple[float, float]:
    if pair[0] > pair[1]:
        raise ValueError("[low, high]")
    return pair


class Site(Table):
    """[site]: the house the top goes into."""

    humidity: Annotated[tuple[Percent, Percent], AfterValidator(_low_first)] | None = None
    temperature: Annotated[str, BeforeValidator(_temperature)] | None = None
    door: tuple[Positive, Positive] | None = None
    hall: tuple[Positive, Positive] | None = None
    ceiling: Positive | None = None
    lift: tuple[Positive, Positive, Positive] | None = None


def pounds(value: Any) -> Any:
    """A load as typed, in pounds: ``"100 lb"`` or ``"45 kg"``."""
    match = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*(lb|kg)\s*", value) if isinstance(value, str) else None
    number = float(match[1].replace(",", ".")) if match else 0.0
    if not match or not 0.0 < number < 1e5:
        raise ValueError('a load with its unit, such as "100 lb" or "45 kg"')
    return number if match[2] == "lb" else number / 0.45359237


Pounds = Annotated[float, BeforeValidator(pounds)]


class Load(Table):
    """[load]: what overhangs are tried with, and what a person carries; pounds once read."""

    point: Pounds = LOAD_POINT
    strip: Positive
    deflection: Annotated[float, number_between(50, 2000, "a number between 50 and 2000")] = LOAD_DEFLECTION
    creep: Annotated[float, number_between(1, 4, "a number between 1 and 4")] = LOAD_CREEP
    lift: Pounds = LOAD_LIFT


Figure = Annotated[float, number_between(0, 10**7, "a figure above zero")]


class OwnSpecies(Table):
    """[[species]]: a wood of the job's own, or figures in place of the table's.

    Density in kg/m3 at 12 %; moduli and strength in MPa; shrinkage in % [radial, tangential, volumetric]; movement a
    share for each 1 % of moisture [radial, tangential]; stiffness across as a share of that along [E_T, E_R].
    """

    name: Filled
    like: Line | None = None
    density: Figure | None = None
    moe: Figure | None = None
    tension_across: Figure | None = None
    shrinkage: tuple[Figure, Figure] | tuple[Figure, Figure, Figure] | None = None
    movement: tuple[Figure, Figure] | None = None
    stiffness_across: tuple[Figure, Figure] | None = None
    source: Filled
