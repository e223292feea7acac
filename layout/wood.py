"""What the wood weighs and how moist it is in a house: pure functions, no paper.

Sources: Wood Handbook FPL-GTR-190 (2010), eq. 4-5 for the equilibrium moisture content, tables 5-3 to 5-5 for gravity.
"""

from __future__ import annotations

from layout.job import Job
from layout.rules import MOISTURE_PERCENT
from layout.species import Species
from layout.species import load as species_of

POUND_KG = 0.45359237
"""International pound, exact."""


def equilibrium_moisture(humidity: float, fahrenheit: float) -> float:
    """Return the moisture content (%) that wood comes to at ``humidity`` (% RH) and a temperature in degrees F."""
    t, h = fahrenheit, humidity / 100.0
    w = 330 + 0.452 * t + 0.00415 * t * t
    k = 0.791 + 0.000463 * t - 0.000000844 * t * t
    k1 = 6.34 + 0.000775 * t - 0.0000935 * t * t
    k2 = 1.09 + 0.0284 * t - 0.0000904 * t * t
    kh = k * h
    return 1800 / w * (kh / (1 - kh) + (k1 * kh + 2 * k1 * k2 * kh * kh) / (1 + k1 * kh + k1 * k2 * kh * kh))


def moisture(job: Job) -> float:
    """Return the moisture content (%) at which the job's weights are stated: mid-year of the house, else 12."""
    if job.site.humidity is None:
        return MOISTURE_PERCENT
    t = _fahrenheit(job.site.temperature or "70 F")
    low, high = job.site.humidity
    return (equilibrium_moisture(low, t) + equilibrium_moisture(high, t)) / 2


def _fahrenheit(text: str) -> float:
    number = float(text.rstrip("FC °").replace(",", "."))
    return number if text.endswith("F") else number * 9 / 5 + 32


def density(species: Species, moisture_percent: float) -> float:
    """Return kg/m3 at a moisture content: the 12 % figure, its mass scaled by the water and its volume by the swelling.

    Volume follows the volumetric shrinkage evenly from 30 % down to dry (Wood Handbook ch. 4); without that figure the
    volume is taken as at 12 %.
    """
    at_twelve = species.density_12_kg_m3
    if at_twelve is None:
        raise LookupError(f"the species table has no density for {species.common_name}")
    mass = (1 + moisture_percent / 100) / 1.12
    shrinkage = (species.shrink_volumetric_pct or 0.0) / 100
    volume = (1 - shrinkage * (30 - moisture_percent) / 30) / (1 - shrinkage * 18 / 30)
    return at_twelve * mass / volume


def weight_kg(job: Job, area_mm2: float) -> float:
    """Return the weight in kg of wood of that area at the job's thickness and moisture."""
    species = species_of(job.wood.species)
    return area_mm2 * float(job.wood.thickness) * 1e-9 * density(species, moisture(job))
