"""Where a top is held down: screws through the cabinets from below, one line of them fixed, the others in slots.

Along each wall the front line is fixed, so that a piece moves back into the room behind it; a top that stands free is fixed
along its middle. No screw over an opening, near a cutout, or where nothing is built below.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from layout import region
from layout.laid import Laid
from layout.movement import movement, slot_length
from layout.outline import Point, rectangle
from layout.pieces import Piece
from layout.rules import HOLD_DOWN_CLEAR, HOLD_DOWN_INSET, HOLD_DOWN_PITCH, HOLD_DOWN_SCREW
from layout.units import parse_length


@dataclass(frozen=True, slots=True)
class HoldDown:
    """A hold-down in plan: the piece it holds, whether it is fixed or slides, and how far it lies from the fixed line, mm."""

    piece: str
    at: Point
    fixed: bool
    across: float


def hold_downs(laid: Laid) -> tuple[HoldDown, ...]:
    """Return the hold-downs of every piece, in the order of the pieces, line by line from the front."""
    return tuple(h for piece in laid.divided.pieces for h in _of_piece(laid, piece))


def _of_piece(laid: Laid, piece: Piece) -> list[HoldDown]:
    unit = laid.job.job.units
    pitch, inset, clear = (
        float(parse_length(d.text(unit), unit)) for d in (HOLD_DOWN_PITCH, HOLD_DOWN_INSET, HOLD_DOWN_CLEAR)
    )
    top = next(t for t in laid.tops if t.name == piece.top)
    built = next(c.built for c in laid.carried if c.top == piece.top).intersection(region.area_of(piece.ring))
    taken = [region.area_of(c.ring).buffer(clear) for c in laid.cutouts if c.top == piece.top]
    for opening in (o for o in laid.divided.openings if o.top == piece.top and not o.breaks):
        box = rectangle(opening.start - clear, opening.leg.front, opening.end + clear, opening.leg.back + 1e3)
        taken.append(region.area_of(box.moved(opening.leg.frame.to_plan)))
    room = built.buffer(-inset * 0.9, join_style="mitre").difference(region.union(taken))
    if room.is_empty:
        return []
    ys = [piece.frame.from_plan((x, y))[1] for p in region.polygons(built) for x, y in p.exterior.coords]
    low, high = min(ys) + inset, max(ys) - inset
    lines = [low, high] if top.shape == "run" else [low, (low + high) / 2, high]
    fixed = lines[0] if top.shape == "run" else lines[1]
    out = []
    for y in lines:
        for x in _stations(piece, room, y, pitch):
            out.append(HoldDown(piece.id, piece.frame.to_plan((x, y)), y == fixed, abs(y - fixed)))
    return out


def _stations(piece: Piece, room: region.Region, y: float, pitch: float) -> list[float]:
    """Return stations along one line, on each free stretch of it: at its ends and no farther apart than the pitch."""
    line = region.path([piece.frame.to_plan((-1.0, y)), piece.frame.to_plan((piece.length + 1.0, y))])
    shared = line.intersection(room)
    parts = shared.geoms if hasattr(shared, "geoms") else [shared]
    stretches = sorted(
        sorted(piece.frame.from_plan((p[0], p[1]))[0] for p in part.coords)
        for part in parts
        if part.geom_type == "LineString" and not part.is_empty
    )
    out: list[float] = []
    for stretch in stretches:
        low, high = stretch[0], stretch[-1]
        if high - low < pitch / 4:
            out.append((low + high) / 2)
            continue
        count = max(1, math.ceil((high - low) / pitch - 1e-9))
        out += [low + (high - low) * k / count for k in range(count + 1)]
    return [x for k, x in enumerate(out) if k == 0 or x - out[k - 1] > pitch / 6]


def slots(laid: Laid) -> tuple[tuple[HoldDown, float], ...]:
    """Return each hold-down that slides with the length of slot that it needs, mm; none for a wood of unknown movement."""
    moves = movement(laid.job)
    if moves is None:
        return ()
    unit = laid.job.job.units
    screw = float(parse_length(HOLD_DOWN_SCREW.text(unit), unit))
    return tuple((h, slot_length(moves, h.across, screw)) for h in hold_downs(laid) if not h.fixed)
