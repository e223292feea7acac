"""What an overhang or a narrow strip does under load: tip deflection and root stress of a cantilever, a beam's middle.

An aid, not an approval: no published rule for wood tops was found; the load, the strip, the deflection and the creep are
the job's under [load], with defaults of this project. Elasticity along the grain is 1.1 times the bending modulus (which
holds shear, Wood Handbook ch. 5), across it that times the ratio of the direction that stands upright.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from layout.job import Job
from layout.moisture import moisture
from layout.movement import DIRECTION
from layout.rules import RATIO_FALLBACK, TENSION_FALLBACK
from layout.wood import POUND_FORCE_N, PSI_MPA, density, species_of

Bending = Literal["along", "across"]
GRAVITY = 9.80665


@dataclass(frozen=True, slots=True)
class Stuff:
    """What a job's tops are made of, for bending: MPa and N/mm3. ``fallback``: what was taken for want of figures."""

    along: float
    across: float
    strength_across: float
    strength_along: float
    weight: float
    fallback: tuple[str, ...]

    def modulus(self, bending: Bending) -> float:
        """Return the modulus of elasticity (MPa) for a way of bending."""
        return self.along if bending == "along" else self.across

    def strength(self, bending: Bending) -> float:
        """Return the mean strength (MPa) that a root stress is held against."""
        return self.strength_along if bending == "along" else self.strength_across


def stuff(job: Job) -> Stuff | None:
    """Return the bending figures of a job's wood; None for a wood without a modulus."""
    species = species_of(job)
    if species.moe_mpa is None:
        return None
    fallback = []
    tangential, radial = species.ET_EL, species.ER_EL
    if tangential is None or radial is None:
        tangential, radial = RATIO_FALLBACK
        fallback.append("stiffness across the grain: the smallest hardwood ratios, as none is known of this wood")
    tension = species.tension_perp_psi
    if tension is None:
        tension = TENSION_FALLBACK
        fallback.append("strength across the grain: the least of the hardwoods, as none is known of this wood")
    # bent across the grain, the direction that lies in the width takes the strain
    ratio = radial if DIRECTION[job.wood.construction] == "radial" else tangential
    if job.wood.construction == "end grain":
        ratio = min(tangential, radial)
    along = 1.1 * species.moe_mpa
    rupture = species.mor_mpa if species.mor_mpa is not None else tension * PSI_MPA
    weight = density(species, moisture(job)) * 1e-9 * GRAVITY
    return Stuff(along, along * ratio, tension * PSI_MPA, rupture, weight, tuple(fallback))


@dataclass(frozen=True, slots=True)
class Bent:
    """How an overhang or strip bends: its way, modulus (MPa), deflection and the most it may (mm), stress as a share."""

    bending: Bending
    modulus: float
    deflection: float
    limit: float
    stress: float
    stress_ratio: float


def inertia(width: float, depth: float) -> float:
    """Return the second moment of area of a rectangle, mm4."""
    return width * depth**3 / 12.0


def cantilever_tip(load: float, length: float, modulus: float, second_moment: float) -> float:
    """Return the tip deflection (mm) under a load (N) at the tip: P a^3 / 3 E I."""
    return load * length**3 / (3.0 * modulus * second_moment)


def cantilever_spread(load: float, length: float, modulus: float, second_moment: float) -> float:
    """Return the tip deflection (mm) under a load (N/mm) spread over the whole length: w a^4 / 8 E I."""
    return load * length**4 / (8.0 * modulus * second_moment)


def beam_centre(load: float, span: float, modulus: float, second_moment: float) -> float:
    """Return the middle's deflection (mm) of a beam on two supports under a load (N) in its middle: P L^3 / 48 E I."""
    return load * span**3 / (48.0 * modulus * second_moment)


def beam_spread(load: float, span: float, modulus: float, second_moment: float) -> float:
    """Return the middle's deflection (mm) of a beam on two supports under a load (N/mm) all over: 5 w L^4 / 384 E I."""
    return 5.0 * load * span**4 / (384.0 * modulus * second_moment)


def bending_stress(moment: float, width: float, depth: float) -> float:
    """Return the greatest stress (MPa) of a rectangle under a moment (N mm): 6 M / b h^2."""
    return 6.0 * moment / (width * depth**2)


def overhang_bent(job: Job, of: Stuff, amount: float, bending: Bending, thickness: float | None = None) -> Bent:
    """Return how an overhang of ``amount`` mm bends under the job's load at its tip and its own weight with creep."""
    t = float(job.wood.thickness) if thickness is None else thickness
    strip = float(job.load.strip)
    load, own = job.load.point * POUND_FORCE_N, of.weight * strip * t
    modulus, second = of.modulus(bending), inertia(strip, t)
    live = cantilever_tip(load, amount, modulus, second)
    dead = cantilever_spread(own, amount, modulus, second)
    stress = bending_stress(load * amount + own * amount**2 / 2.0, strip, t)
    limit = 2.0 * amount / job.load.deflection
    return Bent(bending, modulus, live + job.load.creep * dead, limit, stress, stress / of.strength(bending))


def rail_bent(job: Job, of: Stuff, width: float, span: float) -> Bent:
    """Return how a strip of ``width`` mm beside a cutout bends along the grain over ``span`` mm under the load in its middle."""
    t = float(job.wood.thickness)
    load, own = job.load.point * POUND_FORCE_N, of.weight * width * t
    second = inertia(width, t)
    live = beam_centre(load, span, of.along, second)
    dead = beam_spread(own, span, of.along, second)
    stress = bending_stress(load * span / 4.0 + own * span**2 / 8.0, width, t)
    limit = span / job.load.deflection
    return Bent("along", of.along, live + job.load.creep * dead, limit, stress, stress / of.strength_along)


def thickness_wanted(job: Job, of: Stuff, amount: float, bending: Bending, crack_share: float) -> float:
    """Return the least thickness (mm) at which an overhang keeps within its deflection and the share of its strength."""
    low, high = 1.0, 1000.0
    for _ in range(60):
        middle = math.sqrt(low * high)
        bent = overhang_bent(job, of, amount, bending, middle)
        if bent.deflection <= bent.limit and bent.stress_ratio <= crack_share:
            high = middle
        else:
            low = middle
    return high


def length_allowed(job: Job, of: Stuff, bending: Bending, crack_share: float) -> float:
    """Return the longest overhang (mm) that keeps within its deflection and the share of its strength."""
    low, high = 1.0, 5000.0
    for _ in range(60):
        middle = (low + high) / 2.0
        bent = overhang_bent(job, of, middle, bending)
        if bent.deflection <= bent.limit and bent.stress_ratio <= crack_share:
            low = middle
        else:
            high = middle
    return low
