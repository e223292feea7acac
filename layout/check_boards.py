"""Checks of the lay-up: boards long and thick enough for it."""

from __future__ import annotations

from collections.abc import Iterator

from layout.findings import Finding, finding
from layout.laid import Laid, layups_of


def boards(laid: Laid) -> Iterator[Finding]:
    """Yield one finding for each piece that the shop has no boards for: too long, or of lumber too thick."""
    job, labels = laid.job, laid.labels
    longest = max(float(s) for s in job.shop.stock)
    for piece in laid.divided.pieces:
        layup = layups_of(laid)[piece.id]
        x0, y0, x1, y1 = piece.ring.bounds()
        at = ((x0 + x1) / 2, (y0 + y1) / 2)
        if layup.quarter is None:
            yield finding(
                "no-such-board",
                piece.id,
                f"no lumber surfaces to {labels.fine(job.wood.thickness)}, which {piece.id} takes in {job.wood.construction}",
                "choose edge grain, whose boards stand on edge, or a thinner top",
                value=float(job.wood.thickness),
                at=at,
                pieces=(piece.id,),
            )
            continue
        need = max(s.length for s in layup.strips)
        joined = job.wood.boards == "finger-jointed"
        if layup.construction != "end grain" and not joined and need > longest + 1e-6:
            yield finding(
                "no-such-board",
                piece.id,
                f"{piece.id} takes boards {labels.text(need)} long with their trim; the shop's longest are {labels.text(longest)}",
                'divide it by a seam, give longer boards under [shop] stock, or say [wood] boards = "finger-jointed"',
                value=need,
                limit=longest,
                at=at,
                pieces=(piece.id,),
            )
