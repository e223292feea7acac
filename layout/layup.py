"""How each piece is glued up: boards or strips across its width, each as long as the piece is where it lies.

Face grain: boards lie flat, edge to edge. Edge grain: strips stand on edge, so that a strip's ripped width becomes the
thickness of the top and its own surfaced thickness is the width seen. End grain: strips are glued to panels, the panels
are sawn across into bars, and the bars turned up and glued side by side, so that the ends of the blocks are seen.

All mm; strips lie in the piece's own frame, numbered from its front. Even widths leave no sliver.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from layout.cutting import line_crossings
from layout.job import Job
from layout.job_wood import Construction
from layout.lumber import Quarter, quarter_for, quarters
from layout.outline import Line, Ring, arc_of
from layout.pieces import Piece
from layout.rules import BOARD_SEEN, CUT_STEP, EDGING, STEP_LEAST, STRIP, SURFACING
from layout.units import Labels


@dataclass(frozen=True, slots=True)
class Strip:
    """One board or strip of a blank: its number from the front, where it lies (least and greatest x and y, trim included),
    and the length it is cut to. Of end grain: a row of blocks, and how many."""

    number: int
    x0: float
    x1: float
    y0: float
    y1: float
    length: float
    blocks: int = 0


@dataclass(frozen=True, slots=True)
class LayUp:
    """A piece's blank: its strips, what each is ripped to, and the lumber it comes from.

    ``seen``: width of a strip, or of a block across the piece; ``block``: a block along the piece (end grain; else 0);
    ``rip``: the width that a strip is ripped to; ``board``: the width of the boards that are bought; ``per_board``: strips
    side by side in one of them. ``quarter`` is None where no lumber is thick enough.
    """

    piece: str
    construction: Construction
    strips: tuple[Strip, ...]
    seen: float
    block: float
    rip: float
    board: float
    per_board: int
    quarter: Quarter | None
    length: float
    width: float
    rough: float

    @property
    def stepped(self) -> bool:
        """Whether the blank follows the piece's ends: its strips differ in length or place."""
        return len({(round(s.x0, 3), round(s.x1, 3)) for s in self.strips}) > 1


def wanted_strip(job: Job) -> float:
    """Return the width of board, strip or block that the shop wants to be seen, mm."""
    return STRIP[job.wood.construction].size(job.job.units) if job.shop.strip is None else float(job.shop.strip)


def even(wide: float, wanted: float, construction: Construction, least: float, most: float) -> int:
    """Return into how many strips a width is divided: boards as near to the wanted width as the range lets them, strips and
    blocks no wider than wanted."""
    if construction != "face grain":
        return max(1, math.ceil(wide / wanted - 1e-9))
    count = max(1, round(wide / wanted), math.ceil(wide / most - 1e-9))
    while count > 1 and wide / count < least - 1e-9 and wide / (count - 1) <= most + 1e-9:
        count -= 1
    return count


def strip_seen(job: Job, width: float) -> float:
    """Return the width of the strips that a piece of that width (mm) shows."""
    low, high = (d.size(job.job.units) for d in BOARD_SEEN)
    wide = width + 2 * float(job.shop.edge_trim)
    wanted = min(wanted_strip(job), _thickest(job))
    return wide / even(wide, wanted, job.wood.construction, low, high)


def _thickest(job: Job) -> float:
    """Return the widest strip that the thickest lumber gives; boards that lie flat know no such limit."""
    return math.inf if job.wood.construction == "face grain" else quarters()[-1].surfaced


def extent(ring: Ring, y0: float, y1: float) -> tuple[float, float]:
    """Return the least and greatest x that a ring has between two heights, exact for arcs.

    Raises ValueError where it has none there.
    """
    xs = [v.x for v in ring.vertices if y0 <= v.y <= y1]
    for y in (y0, y1):
        xs += _met(ring, y)
    for a, b in ring.edges():
        arc = arc_of(a, b) if a.bulge else None
        if arc is None or not y0 <= arc.cy <= y1:
            continue
        for side in (-1.0, 1.0):
            outermost = (arc.cx + side * arc.radius, arc.cy)
            if 0.0 < arc.share(outermost) < 1.0:
                xs.append(outermost[0])
    if not xs:
        raise ValueError("the outline has nothing between these heights")
    return min(xs), max(xs)


@lru_cache(maxsize=64)
def _met(ring: Ring, y: float) -> tuple[float, ...]:
    """Return where a ring is met at a height. Kept for a while: where one strip ends the next begins."""
    return tuple(line_crossings(ring, Line(0.0, y, 1.0, 0.0)))


def lay_up(job: Job, piece: Piece) -> LayUp:
    """Return how a piece is glued up. No failure: lumber that does not exist is ``quarter`` None."""
    return _end_grain(job, piece) if job.wood.construction == "end grain" else _long_grain(job, piece)


def _bands(low: float, high: float, trim: float, count: int) -> list[tuple[float, float, float, float]]:
    """Return, for each strip across a width, where it lies with the trim, and which part of the piece lies in it."""
    step = (high - low + 2 * trim) / count
    out = []
    for k in range(count):
        y0, y1 = low - trim + k * step, low - trim + (k + 1) * step
        out.append((y0, y1, min(max(y0, low), high), max(min(y1, high), low)))
    return out


def _reach(job: Job, piece: Piece, ring: Ring, low: float, high: float, least: float) -> tuple[float, float]:
    """Return from where to where a strip is wanted: to the ends of the blank, or as far as the piece goes where it lies, where
    that saves at least so much."""
    if job.shop.blanks == "square":
        return 0.0, piece.length
    x0, x1 = extent(ring, low, high)
    return (0.0 if x0 < least else x0, piece.length if piece.length - x1 < least else x1)


def _long_grain(job: Job, piece: Piece) -> LayUp:
    shop, thick = job.shop, float(job.wood.thickness)
    end, edge, kerf = float(shop.end_trim), float(shop.edge_trim), float(shop.kerf)
    ring = piece.own_ring
    seen = strip_seen(job, piece.width)
    count = round((piece.width + 2 * edge) / seen)
    strips = []
    step, least = CUT_STEP.size(job.job.units), STEP_LEAST.size(job.job.units)
    for k, (y0, y1, low, high) in enumerate(_bands(0.0, piece.width, edge, count), start=1):
        x0, x1 = _reach(job, piece, ring, low, high, least)
        length = math.ceil((x1 - x0 + 2 * end) / step - 1e-6) * step
        strips.append(Strip(k, x0 - end, x1 + end, y0, y1, length))
    if job.wood.construction == "face grain":
        rip, quarter = seen, quarter_for(thick)
        board, per_board = seen + EDGING.size(job.job.units), 1
        rough = quarter.rough if quarter else thick
    else:
        rip, quarter = thick + SURFACING.size(job.job.units), quarter_for(seen)
        board = max(float(shop.board_width), rip)
        per_board = max(1, int((board + kerf) / (rip + kerf) + 1e-9))
        rough = rip
    length, width = piece.length + 2 * end, piece.width + 2 * edge
    return LayUp(
        piece.id, job.wood.construction, tuple(strips), seen, 0.0, rip, board, per_board, quarter, length, width, rough
    )


def _end_grain(job: Job, piece: Piece) -> LayUp:
    """Rows of blocks: each row is one strip's worth of blocks, as many as the piece needs where the row lies."""
    shop, thick = job.shop, float(job.wood.thickness)
    end, edge, kerf = float(shop.end_trim), float(shop.edge_trim), float(shop.kerf)
    ring = piece.own_ring
    seen = strip_seen(job, piece.width)
    count = round((piece.width + 2 * edge) / seen)
    along = piece.length + 2 * end
    bars = max(1, math.ceil(along / min(wanted_strip(job), _thickest(job)) - 1e-9))
    block = along / bars
    slice_, least = thick + SURFACING.size(job.job.units), STEP_LEAST.size(job.job.units)
    strips = []
    for k, (y0, y1, low, high) in enumerate(_bands(0.0, piece.width, edge, count), start=1):
        x0, x1 = _reach(job, piece, ring, low, high, least)
        first = math.floor((x0 - end + end) / block + 1e-9)
        last = math.ceil((x1 + end + end) / block - 1e-9)
        blocks = max(1, last - first)
        strips.append(
            Strip(k, first * block - end, last * block - end, y0, y1, blocks * (slice_ + kerf) - kerf, blocks)
        )
    rip = block + EDGING.size(job.job.units)
    board = max(float(shop.board_width), rip)
    per_board = max(1, int((board + kerf) / (rip + kerf) + 1e-9))
    width = piece.width + 2 * edge
    return LayUp(
        piece.id,
        "end grain",
        tuple(strips),
        seen,
        block,
        rip,
        board,
        per_board,
        quarter_for(seen),
        along,
        width,
        slice_,
    )


def layup_words(labels: Labels, layup: LayUp) -> str:
    """Return a lay-up in one line: how many strips, how wide, of what lumber, and the blank."""
    lumber = layup.quarter.name if layup.quarter else "no lumber is so thick"
    count = len(layup.strips)
    blank = f"blank {labels.text(layup.length)} x {labels.text(layup.width)} x {labels.fine(layup.rough)}"
    if layup.construction == "face grain":
        return f"{count} boards {labels.fine(layup.seen)} wide of {lumber}; {blank}"
    if layup.construction == "edge grain":
        rip = labels.fine(layup.rip)
        return f"{count} strips on edge, {labels.fine(layup.seen)} seen, ripped {rip} from {lumber}; {blank}"
    blocks = f"blocks {labels.fine(layup.seen)} x {labels.fine(layup.block)}, {labels.fine(layup.rough)} high as sawn"
    return (
        f"{count} rows of {blocks}, strips {labels.fine(layup.seen)} x {labels.fine(layup.rip)} from {lumber}; {blank}"
    )
