"""Checks of overhangs and narrow strips under load. An aid, not an approval: see `strength.py`."""

from __future__ import annotations

import math
from collections.abc import Iterator

from layout import region
from layout.findings import Finding, finding
from layout.laid import Laid, pieces_at, webs_of
from layout.rules import CRACK_SHARE
from layout.strength import Bending, Bent, Stuff, length_allowed, overhang_bent, rail_bent, stuff, thickness_wanted
from layout.support import Overhang
from layout.top_plans import side_words

LEAST = 75.0
"""Overhangs shorter than this (mm) are not looked at."""


def bending_of(laid: Laid, over: Overhang) -> Bending:
    """Return whether an overhang bends along or across the grain: an end's along, a front's or back's across."""
    top = next(t for t in laid.tops if t.name == over.top)
    return "along" if top.sides[over.side].kind == "end" else "across"


def bent(laid: Laid, of: Stuff, over: Overhang) -> Bent:
    """Return how an overhang bends under the job's load."""
    return overhang_bent(laid.job, of, over.amount, bending_of(laid, over))


def _looked_at(laid: Laid) -> Iterator[tuple[Stuff, Overhang, Bent]]:
    of = stuff(laid.job)
    if of is None:
        return
    for carried in laid.carried:
        for over in carried.overhangs:
            if over.amount > LEAST:
                yield of, over, bent(laid, of, over)


def _cure(laid: Laid, of: Stuff, over: Overhang, way: Bending) -> str:
    thick = thickness_wanted(laid.job, of, over.amount, way, CRACK_SHARE)
    reach = length_allowed(laid.job, of, way, CRACK_SHARE)
    fallback = f" ({'; '.join(of.fallback)})" if of.fallback else ""
    return (
        f"carry it to within {laid.labels.fine(math.floor(reach * 4) / 4)} of the edge, or make it "
        f"{laid.labels.at_least(thick)} thick{fallback}; an aid, no approval"
    )


def bends(laid: Laid) -> Iterator[Finding]:
    """Yield overhangs that bend too far under load."""
    labels = laid.labels
    for of, over, b in _looked_at(laid):
        if b.deflection > b.limit * (1 + 1e-9):
            yield finding(
                "overhang-bends",
                over.top,
                f"{over.top} stands {labels.fine(over.amount)} out at its {side_words(over.side)}, bent {b.bending} the grain: "
                f"its tip goes down {_small(laid, b.deflection)} under load, {_small(laid, b.limit)} is let pass",
                _cure(laid, of, over, b.bending),
                value=b.deflection,
                limit=b.limit,
                at=over.at,
                pieces=pieces_at(laid, region.spot(over.at), over.top),
            )


def cracks(laid: Laid) -> Iterator[Finding]:
    """Yield overhangs whose root may crack under load."""
    for of, over, b in _looked_at(laid):
        if b.stress_ratio > CRACK_SHARE:
            yield finding(
                "overhang-cracks",
                over.top,
                f"{over.top} at its {side_words(over.side)} comes to {100 * b.stress_ratio:.0f} % of the wood's mean strength "
                f"{b.bending} the grain at its root under load; {100 * CRACK_SHARE:.0f} % is let pass",
                _cure(laid, of, over, b.bending),
                severity="stop" if b.stress_ratio >= 1.0 else None,
                at=over.at,
                pieces=pieces_at(laid, region.spot(over.at), over.top),
            )


def rails(laid: Laid) -> Iterator[Finding]:
    """Yield strips before and behind cutouts that are too weak over the cutout's length."""
    of = stuff(laid.job)
    if of is None:
        return
    for web in webs_of(laid):
        if web.kind not in ("front", "back"):
            continue
        cut = next(c for c in laid.cutouts if c.name == web.cutout)
        if cut.hole or cut.diameter is not None or web.width <= 1.0:
            continue
        span = cut.extent[1] - cut.extent[0]
        b = rail_bent(laid.job, of, web.width, span)
        if b.deflection > b.limit * (1 + 1e-9) or b.stress_ratio > CRACK_SHARE:
            yield finding(
                "rail-weak",
                cut.name,
                f"the strip {'before' if web.kind == 'front' else 'behind'} {cut.name}, {laid.labels.fine(web.width)} wide over "
                f"{laid.labels.text(span)}, bends {_small(laid, b.deflection)} under load where {_small(laid, b.limit)} is let "
                f"pass, at {100 * b.stress_ratio:.0f} % of its strength",
                "move the cutout, or carry the strip by a rail of the cabinet below; an aid, no approval",
                value=b.deflection,
                limit=b.limit,
                at=web.at,
                pieces=pieces_at(laid, region.area_of(cut.ring), cut.top),
            )


def _small(laid: Laid, mm: float) -> str:
    """Return a deflection as printed: thousandths of an inch, or hundredths of a millimetre."""
    return f'{mm / 25.4:.3f}"' if laid.job.job.units == "in" else f"{mm:.2f}"
