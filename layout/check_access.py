"""Checks of carrying a piece in: its weight for the people round it, doors, turns and lifts on its way."""

from __future__ import annotations

from collections.abc import Iterator

from layout.access import passes, way_in
from layout.findings import Finding, finding
from layout.laid import Laid
from layout.rules import CARRIERS_MOST
from layout.wood import POUND_KG, carriers, weight_kg


def heavy(laid: Laid) -> Iterator[Finding]:
    """Yield one finding for the pieces that take more people than can get round them."""
    counts = [(carriers(laid.job, p.area), p) for p in laid.divided.pieces]
    found = [(n, p) for n, p in counts if n > CARRIERS_MOST]
    if not found:
        return
    n, piece = max(found, key=lambda f: f[0])
    kg = weight_kg(laid.job, piece.area)
    weight = f"{kg / POUND_KG:.0f} lb" if laid.job.job.units == "in" else f"{kg:.0f} kg"
    names = tuple(p.id for _, p in found)
    yield finding(
        "too-heavy",
        ", ".join(names),
        f"{piece.id} weighs {weight} and takes {n} people at {laid.job.load.lift:g} lb each; {CARRIERS_MOST} can get round it",
        "divide the top by a seam, make it thinner, or plan for lifting gear",
        at=piece.frame.to_plan((piece.length / 2, piece.width / 2)),
        pieces=names,
    )


def way(laid: Laid) -> Iterator[Finding]:
    """Yield one finding for the pieces that do not get in."""
    thick = float(laid.job.wood.thickness)
    stopped = [(p, by) for p in laid.divided.pieces if (by := passes(laid.job, p.length, p.width, thick)) is not None]
    if not stopped:
        return
    piece, by = max(stopped, key=lambda s: s[0].length)
    most = way_in(laid.job, piece.width)
    names = tuple(p.id for p, _ in stopped)
    longest = 0.0 if most is None else most.longest
    labels = laid.labels
    yield finding(
        "way-in-too-tight",
        ", ".join(names),
        f"{piece.id}, {labels.text(piece.length)} by {labels.text(piece.width)}, does not get in by the {by}; of that width "
        + (f"{labels.text(longest)} would" if longest > 0 else "nothing would"),
        'divide it: [shop] seams = "way in" places the seams so, or a seam by hand under [[joint]]',
        value=piece.length,
        limit=longest,
        at=piece.frame.to_plan((piece.length / 2, piece.width / 2)),
        pieces=names,
    )
