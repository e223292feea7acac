"""Heights above the floor at one top: cabinet, top, splash, range and sill, beside one another. Not to scale across."""

from __future__ import annotations

import math

from layout.details import HeightsDetail
from layout.drawing import NARROW, SMALL, WIDE, Dash, Kind
from layout.outline import rectangle
from layout.page import SCALES
from layout.pen import Pen
from layout.pipeline import Layout

LARGEST = {"in": 16, "mm": 20}
DEEP = 610.0
"""Depth of the cabinet as drawn, mm."""


def draw_heights(layout: Layout, detail: HeightsDetail) -> tuple[Pen, str, str]:
    """Return the diagram with its title and scale."""
    units, labels = layout.job.job.units, layout.laid.labels
    ratio, name = next(s for s in SCALES[units] if s[0] >= LARGEST[units])
    pen = Pen(1.0 / ratio)
    thick = float(layout.job.wood.thickness)
    low, top = detail.height - thick, detail.height
    over = 38.0
    pen.strokes(Kind.WALL, [((-over - 120.0, 0.0), (DEEP + 700.0, 0.0))], width=WIDE, name="floor")
    pen.ring(Kind.CABINET, rectangle(0.0, 0.0, DEEP, low), hard=False, dash=Dash.DASHED)
    pen.ring(Kind.PIECE, rectangle(-over, low, DEEP, top), width=WIDE)
    rise = top + detail.splash
    if detail.walled:
        pen.strokes(Kind.WALL, [((DEEP, 0.0), (DEEP, max([rise, *(h for h, _ in detail.marks)]) + 150.0))], width=WIDE)
    if detail.splash:
        pen.ring(Kind.PIECE, rectangle(DEEP - 20.0, top, DEEP, rise), width=NARROW)
    left = [("cabinet", low), ("top", top)]
    for _, height in left:
        text = labels.fine(height)
        pen.chain([(-over, 0.0), (-over, height)], math.pi / 2, [text], sides=(1.0,), first=9.0, lanes=6)
    right = DEEP + 60.0
    seen: dict[float, list[str]] = {}
    for height, what in ((rise, "splash"), *detail.marks) if detail.splash else detail.marks:
        seen.setdefault(height, []).append(what)
    for low_, high, kind in detail.bands:
        seen.setdefault(low_, []).append(f"{kind}, lowest")
        seen.setdefault(high, []).append(f"{kind}, highest")
    placed = -math.inf
    for height in sorted(seen):
        words = f"{labels.fine(height)} {', '.join(_counted(seen[height]))}"
        # figures stand at least a line apart, whatever the heights; the line leads to the height itself
        at = max(height * pen.scale, placed + 1.7 * SMALL)
        placed = at
        knee = (right + 60.0, at / pen.scale)
        pen.strokes(Kind.DIMENSION, [((DEEP, height), (right, height)), ((right, height), knee)], name="height")
        pen.text(Kind.DIMENSION, (knee[0] + 1.0 / pen.scale, knee[1] - 0.5 * SMALL / pen.scale), words)
    given = "" if detail.given else ", a cabinet of usual height taken"
    label = f"{name} (1:{ratio})" if units == "in" else name
    return pen, f"{detail.top}: heights above the finished floor, depth not to scale{given}", label


def _counted(words: list[str]) -> list[str]:
    """Return names with those that begin alike drawn together: ``sill of W1, W2``."""
    out: list[str] = []
    for word in words:
        head, _, name = word.rpartition(" ")
        if out and head and out[-1].startswith(head) and head.startswith("sill"):
            out[-1] += f", {name}"
        else:
            out.append(word)
    return out
