"""Where a top is held down: screws through the cabinets from below, one line of them fixed, the others in slots.

Along each wall the front line is fixed, so that a piece moves back into the room behind it; a top that stands free is fixed
along its middle. No screw over an opening, near a cutout, or where nothing is built below.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from layout import region
from layout.laid import Laid, once
from layout.movement import movement, slot_length
from layout.outline import Point, rectangle
from layout.pieces import Piece
from layout.rules import HOLD_DOWN_CLEAR, HOLD_DOWN_INSET, HOLD_DOWN_PITCH, HOLD_DOWN_SCREW


@dataclass(frozen=True, slots=True)
class HoldDown:
    """A hold-down in plan: the piece it holds, whether it is fixed or slides, and how far it lies from the fixed line, mm."""

    piece: str
    at: Point
    fixed: bool
    across: float


@once
def hold_downs(laid: Laid) -> tuple[HoldDown, ...]:
    """Return the hold-downs of every piece, in the order of the pieces, line by line from the front."""
    clear = HOLD_DOWN_CLEAR.size(laid.job.job.units)
    at_joints = {j.id: region.path(j.points).buffer(clear) for j in laid.divided.joints}
    return tuple(h for piece in laid.divided.pieces for h in _of_piece(laid, piece, at_joints))


def _of_piece(laid: Laid, piece: Piece, at_joints: Mapping[str, region.Region]) -> list[HoldDown]:
    unit = laid.job.job.units
    pitch, inset, clear = (d.size(unit) for d in (HOLD_DOWN_PITCH, HOLD_DOWN_INSET, HOLD_DOWN_CLEAR))
    top = next(t for t in laid.tops if t.name == piece.top)
    built = next(c.built for c in laid.carried if c.top == piece.top).intersection(region.area_of(piece.ring))
    taken = [region.grown(c.ring, clear) for c in laid.cutouts if c.top == piece.top]
    for opening in (o for o in laid.divided.openings if o.top == piece.top and not o.breaks):
        box = rectangle(opening.start - clear, opening.leg.front, opening.end + clear, opening.leg.back + 1e3)
        taken.append(region.area_of(box.moved(opening.leg.frame.to_plan)))
    taken += [at_joints[j.id] for j in laid.divided.joints if piece.id in j.pieces]
    room = built.buffer(-inset * 0.9, join_style="mitre")
    if room.is_empty:
        return []
    ys = [piece.frame.from_plan((x, y))[1] for p in region.polygons(built) for x, y in p.exterior.coords]
    low, high = min(ys) + inset, max(ys) - inset
    out = []
    if top.shape == "run":
        fronts = _fronts(piece, built, inset) or [(low, 0.0, piece.length)]
        # one line alone is fixed, the longest: two at different depths would hold the wood fast
        fixed = max(fronts, key=lambda line: line[2] - line[1])[0]
        lines = [*fronts, (high, 0.0, piece.length)]
    else:
        fixed = (low + high) / 2
        lines = [(y, 0.0, piece.length) for y in (low, fixed, high)]
    free = _free(piece, room, taken, [y for y, _, _ in lines])
    for (y, x0, x1), stretches in zip(lines, free, strict=True):
        for x in _stations(stretches, pitch):
            if x0 - inset <= x <= x1 + inset:
                out.append(HoldDown(piece.id, piece.frame.to_plan((x, y)), abs(y - fixed) < 1.0, abs(y - fixed)))
    return out + _at_supports(laid, piece, fixed)


def _fronts(piece: Piece, built: region.Region, inset: float) -> list[tuple[float, float, float]]:
    """Return the lines of screws behind a piece's fronts: y, and from where to where along the grain, piece frame."""
    lines: dict[int, tuple[float, float, float]] = {}
    for a, b in piece.own_ring.edges():
        side = piece.sides.get(a.side)
        if side is None or side.kind != "front" or abs(a.y - b.y) > 1.0 or abs(a.x - b.x) < 2 * inset:
            continue
        middle = piece.frame.to_plan(((a.x + b.x) / 2, a.y))
        y = a.y + float(built.distance(region.spot(middle))) + inset
        x0, x1 = min(a.x, b.x), max(a.x, b.x)
        known = lines.get(round(y))
        lines[round(y)] = (y, min(x0, known[1]), max(x1, known[2])) if known else (y, x0, x1)
    return sorted(lines.values())


def _at_supports(laid: Laid, piece: Piece, fixed: float) -> list[HoldDown]:
    """Return the screws at brackets and the like that stand out from what is built: one each, near its outer end."""
    built = next(c.built for c in laid.carried if c.top == piece.top)
    out = []
    for support in (s for s in laid.supports if s.top == piece.top):
        shape = region.area_of(support.ring)
        if built.covers(shape) or not region.area_of(piece.ring).contains(shape.centroid):
            continue
        corners = [(v.x, v.y) for v in support.ring.vertices]
        far = sorted(corners, key=lambda p: -float(built.distance(region.spot(p))))[:2]
        tip = ((far[0][0] + far[1][0]) / 2, (far[0][1] + far[1][1]) / 2)
        heart = (shape.centroid.x, shape.centroid.y)
        at = (tip[0] + (heart[0] - tip[0]) * 0.4, tip[1] + (heart[1] - tip[1]) * 0.4)
        out.append(HoldDown(piece.id, at, False, abs(piece.frame.from_plan(at)[1] - fixed)))
    return out


def _free(
    piece: Piece, room: region.Region, taken: Sequence[region.Region], heights: Sequence[float]
) -> list[list[tuple[float, float]]]:
    """Return, for each line along the grain at one of some heights, its stretches in a room that nothing takes, in order."""
    ends = (-1.0, piece.length + 1.0)
    shared = region.paths([[piece.frame.to_plan((x, y)) for x in ends] for y in heights]).intersection(room)
    for area in taken:
        if shared.intersects(area):
            shared = shared.difference(area)
    out: list[list[tuple[float, float]]] = [[] for _ in heights]
    for points in region.paths_of(shared):
        own = [piece.frame.from_plan(p) for p in points]
        line = min(range(len(heights)), key=lambda k: abs(heights[k] - own[0][1]))
        xs = [x for x, _ in own]
        out[line].append((min(xs), max(xs)))
    return [sorted(stretches) for stretches in out]


def _stations(stretches: Sequence[tuple[float, float]], pitch: float) -> list[float]:
    """Return stations on each stretch of a line: at its ends and no farther apart than the pitch."""
    out: list[float] = []
    for low, high in stretches:
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
    screw = HOLD_DOWN_SCREW.size(unit)
    return tuple((h, slot_length(moves, h.across, screw)) for h in hold_downs(laid) if not h.fixed)
