"""The wood of a job and what it weighs: the species' figures, density at a moisture content, weight, people to carry it.

Sources: Wood Handbook FPL-GTR-190 (2010), ch. 4, tables 5-3 to 5-5 for gravity.
"""

from __future__ import annotations

import math
from dataclasses import replace

from layout.job import Job
from layout.job_wood import OwnSpecies
from layout.moisture import moisture
from layout.species import Species, find, folded
from layout.species import load as table_species
from layout.units import INCH_MM

POUND_KG = 0.45359237
"""International pound, exact."""
POUND_FORCE_N = POUND_KG * 9.80665
"""Pound-force, exact."""
PSI_MPA = POUND_FORCE_N / float(INCH_MM) ** 2
"""Pound-force a square inch, in MPa."""


def species_of(job: Job) -> Species:
    """Return the figures of a job's wood: the table's, with what the job itself gives under [[species]]."""
    wanted = job.wood.species
    own = next((s for s in job.species if folded(s.name) == folded(wanted) or find(s.name) == wanted), None)
    if own is None:
        return table_species(job.wood.species)
    base = find(own.like or own.name)
    return _with_own(table_species(base) if base else _bare(own), own)


def _bare(own: OwnSpecies) -> Species:
    return Species(
        id=folded(own.name), common_name=own.name, botanical_name="", origin="", sg_basic=None, sg_12=None,
        density_12_kg_m3=None, moe_mpa=None, mor_mpa=None, side_hardness_n=None, tension_perp_psi=None,
        shrink_radial_pct=None, shrink_tangential_pct=None, shrink_volumetric_pct=None, C_R=None, C_T=None, C_basis="",
        ET_EL=None, ER_EL=None, conf_mechanical="", conf_shrinkage="", conf_C="", conf_ratios="", notes="",
    )  # fmt: skip


def _with_own(base: Species, own: OwnSpecies) -> Species:
    """Return the table's figures with the job's own in their place; a coefficient follows from shrinkage if not given."""
    new = replace(base, common_name=own.name, notes=f"by the job: {own.source}")
    if own.density is not None:
        new = replace(new, density_12_kg_m3=own.density, conf_mechanical="job")
    if own.moe is not None:
        new = replace(new, moe_mpa=own.moe, conf_mechanical="job")
    if own.tension_across is not None:
        new = replace(new, tension_perp_psi=own.tension_across / PSI_MPA)
    if own.shrinkage is not None:
        radial, tangential, *volume = own.shrinkage
        new = replace(
            new,
            shrink_radial_pct=radial,
            shrink_tangential_pct=tangential,
            shrink_volumetric_pct=volume[0] if volume else radial + tangential,
            C_R=coefficient_of(radial),
            C_T=coefficient_of(tangential),
            C_basis="from shrinkage",
            conf_C="job",
        )
    if own.movement is not None:
        new = replace(new, C_R=own.movement[0], C_T=own.movement[1], C_basis="given by the job", conf_C="job")
    if own.stiffness_across is not None:
        new = replace(new, ET_EL=own.stiffness_across[0], ER_EL=own.stiffness_across[1], conf_ratios="job")
    return new


def coefficient_of(shrinkage_pct: float) -> float:
    """Return the change for each 1 % of moisture that a total shrinkage (%) implies: 1 / (3000 / S - 20) (eq. 13-3 at 10 %)."""
    return 1.0 / (3000.0 / shrinkage_pct - 20.0)


def density(species: Species, moisture_percent: float) -> float:
    """Return kg/m3 at a moisture content: the 12 % figure, its mass scaled by the water and its volume by the swelling.

    Volume follows the volumetric shrinkage evenly from 30 % down to dry (Wood Handbook ch. 4); without that figure the
    volume is taken as at 12 %. Raises LookupError for a wood without a density.
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
    return area_mm2 * float(job.wood.thickness) * 1e-9 * density(species_of(job), moisture(job))


def carriers(job: Job, area_mm2: float) -> int:
    """Return how many people it takes to carry wood of that area, each with the load that the job allows."""
    return max(1, math.ceil(weight_kg(job, area_mm2) / (job.load.lift * POUND_KG) - 1e-9))
