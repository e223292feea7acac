"""The board map of a piece: its blank from above, each strip with its number, its length and the board it is cut from."""

from __future__ import annotations

import math
from itertools import pairwise

from layout.cut_list import board_numbers
from layout.drawing import NARROW, SMALL, TITLE, WIDE, Dash, Kind, View
from layout.layup import LayUp, Strip, layup_words
from layout.lettering import text_width
from layout.materials import Materials
from layout.outline import rectangle
from layout.pen import Pen
from layout.pieces import Piece
from layout.pipeline import Layout
from layout.units import Labels

PITCH = 3.8
"""Numbers of strips stand no closer than this, mm on paper; of narrower strips they stand in several columns."""


def layup_view(layout: Layout, piece: Piece, of: Materials, scale: float, label: str) -> View:
    """Return the board map of a piece at ``scale`` (paper mm per model mm), in the piece's own frame."""
    pen = Pen(scale)
    layup = next(u for u in of.layups if u.piece == piece.id)
    _strips(pen, layup)
    for ring in piece.made_rings():
        pen.ring(Kind.PIECE, ring.clean(), name=piece.id, width=WIDE)
    for cut in piece.cutouts:
        if not cut.opens_front:
            pen.ring(Kind.CUTOUT, cut.ring.moved(piece.frame.from_plan), name=cut.name, dash=Dash.DASHED)
    _numbers(layout.laid.labels, pen, layup, of)
    _caption(layout.laid.labels, pen, layup, of, label)
    return pen.view(f"lay-up-{piece.id}", f"{piece.id} lay-up", label)


def _strips(pen: Pen, layup: LayUp) -> None:
    for strip in layup.strips:
        box = rectangle(strip.x0, strip.y0, strip.x1, strip.y1)
        pen.ring(Kind.GRAIN, box, name=f"{layup.piece}-{strip.number}", width=NARROW, hard=False)
        if strip.blocks:
            step = (strip.x1 - strip.x0) / strip.blocks
            xs = [strip.x0 + k * step for k in range(1, strip.blocks)]
            pen.strokes(Kind.GRAIN, [((x, strip.y0), (x, strip.y1)) for x in xs], name="blocks")


def _numbers(labels: Labels, pen: Pen, layup: LayUp, of: Materials) -> None:
    """Set each strip's number at its left end, its length and board at its right end."""
    boards = board_numbers(of.cut)
    pitch = (layup.strips[0].y1 - layup.strips[0].y0) * pen.scale
    columns = max(1, math.ceil(PITCH / pitch))
    rights = [_told(labels, layup, s, boards) for s in layup.strips]
    wide_left = text_width(str(len(layup.strips)), SMALL) + 2.0
    wide_right = max(text_width(t, SMALL) for t in rights) + 2.5
    pairs = list(pairwise(layup.strips))
    # where ends are stepped, the columns stand so much farther apart that a step does not bring them together
    if columns > 1:
        wide_left += 2 * max((abs(a.x0 - b.x0) for a, b in pairs), default=0.0) * pen.scale
        wide_right += 2 * max((abs(a.x1 - b.x1) for a, b in pairs), default=0.0) * pen.scale
    for k, (strip, told) in enumerate(zip(layup.strips, rights, strict=True)):
        y = (strip.y0 + strip.y1) / 2 - 0.5 * SMALL / pen.scale
        column = k % columns
        near = [s for s in layup.strips if abs(s.number - strip.number) < columns]
        left = min(s.x0 for s in near) - (1.5 + column * wide_left) / pen.scale
        right = max(s.x1 for s in near) + (1.5 + column * wide_right) / pen.scale
        pen.text(Kind.LABEL, (left, y), str(strip.number), anchor="end")
        pen.text(Kind.LABEL, (right, y), told)


def _told(labels: Labels, layup: LayUp, strip: Strip, boards: dict[str, tuple[int, ...]]) -> str:
    name = f"{layup.piece}-{strip.number}"
    rows = [n for key, n in boards.items() if key == name or key.startswith(f"{name}.")]
    numbers = sorted({n for row in rows for n in row})
    if not numbers:
        return labels.text(strip.length)
    board = f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"
    length = f"{strip.blocks} blocks" if strip.blocks else labels.text(strip.length)
    return f"{length}, board {board}"


def _caption(labels: Labels, pen: Pen, layup: LayUp, of: Materials, label: str) -> None:
    x0, y0, _, _ = pen.bounds()
    y = y0 - 8.0
    pen.text(Kind.TITLE, pen.model((x0, y)), f"{layup.piece} lay-up", height=TITLE, bold=True)
    words = x0 + text_width(f"{layup.piece} lay-up", TITLE, bold=True) + 5.0
    pen.text(Kind.TITLE, pen.model((words, y)), f"{label}  the blank from above, show face up", height=SMALL)
    lines = [layup_words(labels, layup)]
    if layup.piece in of.from_offs:
        home = next(off for off in of.offs if layup.piece in off.used)
        lines.append(f"made of the cut-off at the {home.end} end of {home.piece}: no boards of its own")
    if layup.stepped:
        lines.append("stepped: each strip ends a trim past the outline where it lies; nothing is cut off in one piece")
    for k, line in enumerate(lines):
        pen.text(Kind.TITLE, pen.model((x0, y - 6.5 - 4.2 * k)), line, height=SMALL)
