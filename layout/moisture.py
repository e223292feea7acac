"""How moist wood becomes in a house: the equilibrium moisture content at a relative humidity and a temperature.

Wood Handbook FPL-GTR-190 (2010), eq. 4-5 (Hailwood and Horrobin's form), in both printed sets of constants. It holds for
any species; no hysteresis, no effect of a finish, not to be trusted near saturation.
"""

from __future__ import annotations

from dataclasses import dataclass

from layout.job import Job
from layout.rules import HUMIDITY, MOISTURE_PERCENT, TEMPERATURE

TABLE_FAHRENHEIT = (30.0, 130.0)
TABLE_HUMIDITY = (5.0, 90.0)
"""The ranges over which the equation was held against the handbook's printed table: degrees F, % relative humidity."""
LINEAR = (6.0, 14.0)
"""Moisture contents (%) between which the coefficients of dimensional change hold (Wood Handbook, table 13-5)."""


@dataclass(frozen=True, slots=True)
class House:
    """What the wood goes through in a year: moisture contents (%) at the low and the high humidity, and in between.

    ``stated``: whether the job says what the house keeps. ``remarks``: where formulas are used outside their range.
    """

    low: float
    high: float
    humidity: tuple[float, float]
    fahrenheit: float
    stated: bool
    remarks: tuple[str, ...]

    @property
    def middle(self) -> float:
        """The moisture content (%) to aim at: the middle of the year's low and high (FPL report 1655)."""
        return (self.low + self.high) / 2


def equilibrium_moisture(humidity: float, fahrenheit: float) -> float:
    """Return the moisture content (%) that wood comes to at ``humidity`` (% RH) and a temperature in degrees F."""
    t = fahrenheit
    return _equilibrium(
        humidity / 100.0,
        330 + 0.452 * t + 0.00415 * t * t,
        0.791 + 0.000463 * t - 0.000000844 * t * t,
        6.34 + 0.000775 * t - 0.0000935 * t * t,
        1.09 + 0.0284 * t - 0.0000904 * t * t,
    )


def equilibrium_moisture_celsius(humidity: float, celsius: float) -> float:
    """Return the same by the constants for degrees C (FPL-RN-0268)."""
    t = celsius
    return _equilibrium(
        humidity / 100.0,
        349 + 1.29 * t + 0.0135 * t * t,
        0.805 + 0.000736 * t - 0.00000273 * t * t,
        6.27 - 0.00938 * t - 0.000303 * t * t,
        1.91 + 0.0407 * t - 0.000293 * t * t,
    )


def _equilibrium(h: float, w: float, k: float, k1: float, k2: float) -> float:
    kh = k * h
    return 1800 / w * (kh / (1 - kh) + (k1 * kh + 2 * k1 * k2 * kh * kh) / (1 + k1 * kh + k1 * k2 * kh * kh))


def fahrenheit(text: str) -> float:
    """Return a temperature such as ``70 F`` or ``21 C`` in degrees F."""
    number = float(text.rstrip("FC °").replace(",", "."))
    return number if text.endswith("F") else number * 9 / 5 + 32


def house(job: Job) -> House:
    """Return the year of the house that a job goes into; left unsaid, that of an uncontrolled one."""
    stated = job.site.humidity is not None
    low, high = job.site.humidity or HUMIDITY
    t = fahrenheit(job.site.temperature or TEMPERATURE)
    dry, wet = equilibrium_moisture(low, t), equilibrium_moisture(high, t)
    remarks = []
    if not TABLE_FAHRENHEIT[0] <= t <= TABLE_FAHRENHEIT[1] or low < TABLE_HUMIDITY[0] or high > TABLE_HUMIDITY[1]:
        remarks.append("humidity or temperature outside the table that the moisture formula was held against")
    if dry < LINEAR[0] or wet > LINEAR[1]:
        remarks.append(
            f"moisture of {dry:.1f} to {wet:.1f} % leaves the 6 to 14 % of the coefficients: wide-range form used"
        )
    return House(dry, wet, (low, high), t, stated, tuple(remarks))


def moisture(job: Job) -> float:
    """Return the moisture content (%) at which a job's weights are stated: the middle of the house's year, else 12."""
    return MOISTURE_PERCENT if job.site.humidity is None else house(job).middle
