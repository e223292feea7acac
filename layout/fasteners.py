"""Where a joint is drawn together: fasteners let into the underside, placed once for both pieces.

At least three where there is room, about one in every pitch, the first and last a little in from the ends, clear of
cutouts. The numbers stand in `rules.py`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from layout import region
from layout.cutouts import PlacedCutout
from layout.cutting import line_crossings
from layout.job import Job
from layout.laid import Laid, once
from layout.outline import Line, Point
from layout.pieces import Joint, Piece
from layout.rules import (
    FASTENER_CLEAR,
    FASTENER_EDGE,
    FASTENERS_LEAST,
)


@dataclass(frozen=True, slots=True)
class Fastener:
    """A fastener across a joint: its place in plan, how far it lies from the joint's back end (mm along the straight part
    that holds it), and the direction of that part, radians."""

    at: Point
    station: float
    angle: float


@once
def fasteners_of(laid: Laid) -> dict[str, tuple[Fastener, ...]]:
    """Return the fasteners of every joint, by its mark."""
    return {j.id: fasteners(laid.job, j, laid.cutouts, laid.divided.pieces) for j in laid.divided.joints}


def fasteners(job: Job, joint: Joint, cutouts: Sequence[PlacedCutout], pieces: Sequence[Piece]) -> tuple[Fastener, ...]:
    """Return the fasteners of a joint, back to front; a bent joint has them on its longest straight part.

    At a slanted joint the first and last move in until their pockets have wood round them in both pieces.
    """
    pairs = list(zip(joint.points, joint.points[1:], strict=False))
    start, end = max(pairs, key=lambda pair: math.dist(*pair))
    length = math.dist(start, end)
    angle = math.atan2(end[1] - start[1], end[0] - start[0])
    line = Line(*start, math.cos(angle), math.sin(angle))
    out: list[float] = []
    areas = [region.area_of(p.ring) for p in pieces if p.id in joint.pieces]
    rings = [(area, area.exterior) for area in areas]
    for low, high in _free(job, joint, cutouts, line, length):
        found = spaced(job, low, high, whole=(low, high) == (0.0, length))
        if not found:
            continue
        a = next((s for s in _inwards(low, high, found[0]) if _has_wood(job, line, s, rings)), None)
        b = next((s for s in _inwards(high, low, found[-1]) if _has_wood(job, line, s, rings)), None)
        if a is None or b is None:
            continue
        span = found[-1] - found[0]
        out += [(a + b) / 2] if b <= a or span <= 0.0 else [a + (s - found[0]) * (b - a) / span for s in found]
    return tuple(Fastener(line.point(s), s, angle) for s in out)


def _inwards(start: float, end: float, wanted: float) -> Iterator[float]:
    """Yield the wanted station, then those between it and the far end of a stretch, 5 mm apart as counted from its start."""
    yield wanted
    for k in range(math.ceil(abs(wanted - start) / 5.0), int(abs(end - start) / 5.0) + 1):
        yield start + math.copysign(5.0 * k, end - start)


def _has_wood(job: Job, line: Line, station: float, rings: Sequence[tuple[region.Region, region.Region]]) -> bool:
    """Whether the pockets of a fastener at a station have wood round them, each in a piece (area, outline) of the joint."""
    unit = job.job.units
    reach, pocket = float(job.shop.fastener.reach), float(job.shop.fastener.pocket)
    edge = FASTENER_EDGE.size(unit)
    x, y = line.point(station)
    for way in (-1.0, 1.0):
        middle = region.spot((x - way * reach * line.dy, y + way * reach * line.dx))
        if not any(area.contains(middle) and edges.distance(middle) >= pocket + edge for area, edges in rings):
            return False
    return True


def spaced(job: Job, low: float, high: float, *, whole: bool = True) -> list[float]:
    """Return stations of fasteners on a free stretch of a joint, mm: evenly, the first and last in from its ends."""
    pitch, inset = float(job.shop.fastener.pitch), float(job.shop.fastener.end)
    room = high - low - 2 * inset
    if room <= 0.0:
        return [(low + high) / 2] if high - low > inset else []
    count = max(FASTENERS_LEAST if whole else 1, math.ceil((high - low) / pitch - 1e-9))
    # so close that the pockets would meet, fewer will do
    count = max(1, min(count, 1 + int(room / inset + 1e-9)))
    if count == 1:
        return [(low + high) / 2]
    return [low + inset + room * k / (count - 1) for k in range(count)]


def _free(
    job: Job, joint: Joint, cutouts: Sequence[PlacedCutout], line: Line, length: float
) -> list[tuple[float, float]]:
    """Return the stretches of a joint that no cutout comes near."""
    unit = job.job.units
    clear = FASTENER_CLEAR.size(unit)
    free = [(0.0, length)]
    for cut in (c for c in cutouts if c.top == joint.top):
        met = line_crossings(cut.ring, line)
        if len(met) < 2 or met[-1] < 0.0 or met[0] > length:
            continue
        a, b = met[0] - clear, met[-1] + clear
        free = [part for lo, hi in free for part in ((lo, min(hi, a)), (max(lo, b), hi)) if part[1] - part[0] > 1.0]
    return free
