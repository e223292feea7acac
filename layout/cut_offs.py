"""What a mitre cuts off a square blank, and which small pieces can be made of it.

Where blanks are stepped, strips end where the piece ends and there is nothing to cut off. A square blank leaves a
triangle of glued wood at each slanted end: a strip behind a range or a splash that fits into it needs no boards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from layout.job import Job
from layout.layup import LayUp, extent
from layout.outline import Ring
from layout.pieces import Piece
from layout.splashes import Splash

_STEPS = 24
"""A cut-off is measured at so many heights."""


@dataclass(frozen=True, slots=True)
class CutOff:
    """What is left at one end of a square blank: by rows from the front, how long it is at the least in each, mm.

    ``used``: what is made of it (``P4``, ``BS2``).
    """

    piece: str
    end: Literal["left", "right"]
    row: float
    rows: tuple[float, ...]
    used: tuple[str, ...] = ()

    @property
    def length(self) -> float:
        """Its greatest length along the grain, mm."""
        return max(self.rows)

    @property
    def width(self) -> float:
        """Its width across the grain, mm."""
        return self.row * sum(r > 0.0 for r in self.rows)


def cut_offs(
    job: Job, pieces: Sequence[Piece], layups: Sequence[LayUp], splashes: Sequence[Splash]
) -> tuple[CutOff, ...]:
    """Return the cut-offs of square blanks that are worth keeping, with what is made of each; none of stepped ones."""
    if job.shop.blanks == "stepped" or job.wood.construction == "end grain":
        return ()
    offs = [off for piece in pieces for off in _of_piece(job, piece)]
    end, edge = float(job.shop.end_trim), float(job.shop.edge_trim)
    wanted = [(f"BS{k}", s.length + 2 * end, s.height + 2 * edge, s.thickness) for k, s in enumerate(splashes, start=1)]
    wanted += [(u.piece, u.length, u.width, float(job.wood.thickness)) for u in layups]
    for name, length, width, thick in sorted(wanted, key=lambda w: (-w[1], w[0])):
        if thick > float(job.wood.thickness) + 1e-6:
            continue
        fits = [
            (off.length, k, rows) for k, off in enumerate(offs) if (rows := _fit(off, length, width, name)) is not None
        ]
        if fits:
            _, k, rows = min(fits)
            offs[k] = replace(offs[k], rows=rows, used=(*offs[k].used, name))
    return tuple(offs)


def _of_piece(job: Job, piece: Piece) -> list[CutOff]:
    ring: Ring = piece.own_ring
    end = float(job.shop.end_trim)
    row = piece.width / _STEPS
    lefts, rights = [], []
    for k in range(_STEPS):
        x0, x1 = extent(ring, k * row, (k + 1) * row)
        lefts.append(x0)
        rights.append(piece.length - x1)
    out = []
    for hand, left in (("left", lefts), ("right", rights)):
        # the trim at the end of the blank belongs to it; a saw takes a kerf from it
        rows = [r + end - float(job.shop.kerf) if r > 2 * end else 0.0 for r in left]
        if max(rows) > 6 * row:
            out.append(CutOff(piece.id, "left" if hand == "left" else "right", row, tuple(rows)))
    return out


def _fit(off: CutOff, length: float, width: float, name: str) -> tuple[float, ...] | None:
    """Return a cut-off's rows less a rectangle that fits into it, at the lowest place where it does; None where none does."""
    if off.piece == name:
        return None
    need = int(width / off.row + 1.0 - 1e-9)
    for k in range(len(off.rows) - need + 1):
        if min(off.rows[k : k + need]) >= length:
            return tuple(0.0 if k <= n < k + need else r for n, r in enumerate(off.rows))
    return None
