"""The glued blanks as DXF: each with its trim, the piece that is cut from it inside, its strips, and both names. Not to be cut.

Of the cut files' version; blanks stand one above the other, grain along x.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from layout.job import Job
from layout.layup import LayUp
from layout.outline import Ring, polygon_ring
from layout.pieces import Piece
from layout.units import Labels
from layout.writers.dxf_entities import STANDARD, Lettering, Look
from layout.writers.dxf_file import (
    at_most_half_circles,
    in_unit,
    text_code,
    tidy,
    without_specks,
    xyb,
)
from layout.writers.model_dxf import Model

GAP = 150.0
"""Room between blanks, mm."""
LETTER = 25.0
LAYERS = ("BLANK", "STRIPS", "PIECE", "NOTE")


def blank_ring(layup: LayUp) -> Ring:
    """Return a blank's outline in the piece's frame, mm: stepped where its strips end at different places."""
    right = [p for s in layup.strips for p in ((s.x1, s.y0), (s.x1, s.y1))]
    left = [p for s in reversed(layup.strips) for p in ((s.x0, s.y1), (s.x0, s.y0))]
    return polygon_ring([*right, *left]).clean()


def blanks_dxf(pieces: Sequence[Piece], layups: Sequence[LayUp], job: Job) -> bytes:
    """Return one file with every blank and the piece in it."""
    unit = job.job.units
    labels = Labels(unit, job.sheet.denominator, job.sheet.feet)
    model = Model(job.cut.version, unit)

    def put(ring: list[tuple[float, float, float]], layer: str) -> None:
        # R12 has heavy ones only
        if job.cut.version == "R12":
            model.plain.heavy_polyline(ring, Look(layer))
        else:
            model.plain.polyline(ring, Look(layer), closed=True, dashed=False)

    up = width = 0.0
    for piece, layup in zip(pieces, layups, strict=True):
        blank = blank_ring(layup)
        x0, y0, x1, y1 = blank.bounds()

        def placed(ring: Ring, dx: float = -x0, dy: float = up - y0) -> list[tuple[float, float, float]]:
            moved = ring.moved(lambda p: (p[0] + dx, p[1] + dy))
            return xyb(in_unit(at_most_half_circles(without_specks(moved)), unit))

        put(placed(blank), "BLANK")
        for ring in piece.cut_rings():
            put(placed(ring), "PIECE")
        for below, above in zip(layup.strips, layup.strips[1:], strict=False):
            ends = ((max(below.x0, above.x0), above.y0), (min(below.x1, above.x1), above.y0))
            start, end = ((tidy(x - x0, unit), tidy(y - y0 + up, unit)) for x, y in ends)
            model.plain.line(start, end, Look("STRIPS"))
        mark = "" if unit == "in" else " MM"
        size = f"{labels.text(layup.length)} X {labels.text(layup.width)} X {labels.fine(layup.rough)}{mark}"
        told = text_code(f"{piece.id} BLANK {size}, GRAIN ALONG X, NOT TO BE CUT BY THIS FILE").encode(
            "ascii", "replace"
        )
        at = (tidy(LETTER, unit), tidy(up + (y1 - y0) + LETTER, unit))
        model.plain.text(Lettering(told.decode("ascii"), at, tidy(LETTER, unit), STANDARD), Look("NOTE"))
        up += y1 - y0 + GAP
        width = max(width, x1 - x0)
    bounds = (0.0, 0.0, tidy(width, unit), tidy(max(up - GAP, math.ulp(1.0)), unit))
    return model.written(bounds, LAYERS)
