"""Ink on paper: whether two strokes leave the same, and what an opaque shape leaves to be seen of others."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layout.outline import Point
from layout.svg_content import Drawn

TOLERANCE = 0.007
"""How far a line may stand from its place on paper, mm: 1/16 in is 0.008 at 1:200, the smallest scale of a sheet."""
_PITCH = 1.0
"""Between corners a stroke is looked at every so many mm."""
_MOST = 20_000
_BLOCKS = frozenset("█▇▉▓■◼⬛▮")
"""Letters that are a patch of ink."""
_BROAD = 1.5
"""A line at least so wide (mm) may hide what lies below it."""
_HIDDEN = {"text": 0.25, "stroke": 0.6, "image": 0.6}
"""What share of a thing is hidden before it counts as covered."""
_MOST_WORK = 30_000_000
"""Points held against corners before a file is thought to be made to keep us busy."""
_LEAST = 4.0
"""Of a stroke at least so much (mm) is hidden before it counts: an arrow's head lies on lines and hides none."""

Points = NDArray[np.float64]


def _ring(d: Drawn) -> Points:
    points = [*d.points, d.points[0]] if d.closed else d.points
    return np.array(points, dtype=np.float64)


def _samples(line: Points) -> Points:
    """Return points along a line: its corners, the middles between them, and more where they are far apart."""
    steps = np.maximum(2, np.ceil(np.hypot(*(line[1:] - line[:-1]).T) / _PITCH)).astype(int)
    if steps.sum() > _MOST:
        steps = np.minimum(steps, max(2, _MOST // max(1, len(steps))))
    starts = np.repeat(line[:-1], steps, axis=0)
    spans = np.repeat(line[1:] - line[:-1], steps, axis=0)
    within = np.arange(steps.sum()) - np.repeat(np.cumsum(steps) - steps, steps)
    shares = within / np.repeat(steps, steps)
    return np.vstack([starts + spans * shares[:, None], line[-1:]])


def _farthest(points: Points, line: Points) -> float:
    """Return how far the farthest of some points is from a line, mm."""
    a, d = line[:-1], line[1:] - line[:-1]
    size = np.maximum((d * d).sum(axis=1), 1e-18)
    worst = 0.0
    rows = max(1, 400_000 // max(1, len(a)))
    for k in range(0, len(points), rows):
        p = points[k : k + rows, None, :] - a[None, :, :]
        t = np.clip((p * d[None, :, :]).sum(axis=2) / size, 0.0, 1.0)
        away = p - t[:, :, None] * d[None, :, :]
        worst = max(worst, float(np.sqrt((away * away).sum(axis=2).min(axis=1)).max()))
        if worst > TOLERANCE:
            break
    return worst


class Inks:
    """Tells whether strokes leave the same ink, and keeps count of its work."""

    def __init__(self) -> None:
        """Begin with nothing compared."""
        self.work = _MOST_WORK

    def same(self, a: Drawn, b: Drawn) -> bool:
        """Whether two strokes lie within the tolerance of one another all along, however they are written.

        Once a file has had more compared than any sheet needs, only strokes written alike are the same.
        """
        if (
            len(a.points) == len(b.points)
            and a.closed == b.closed
            and all(math.dist(p, q) <= TOLERANCE for p, q in zip(a.points, b.points, strict=True))
        ):
            return True
        if max(len(a.points), len(b.points)) > _MOST or self.work <= 0:
            return False
        one, two = _ring(a), _ring(b)
        first, second = _samples(one), _samples(two)
        self.work -= len(first) * len(two) + len(second) * len(one)
        return _farthest(first, two) <= TOLERANCE and _farthest(second, one) <= TOLERANCE


# --- what lies over what ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Cover:
    """An opaque shape: the rings of one element, inside of an odd number of which it lies; or a broad line."""

    order: int
    element: int
    kind: str
    rings: tuple[Points, ...]
    broad: float
    box: tuple[float, float, float, float]
    cover: bool


def covers(drawn: Sequence[Drawn]) -> list[Cover]:
    """Return the opaque shapes among what is drawn, by their order."""
    filled: dict[int, list[Drawn]] = defaultdict(list)
    for d in drawn:
        if d.cover or d.width >= _BROAD or (d.sort == "text" and _BLOCKS & set(d.text)):
            filled[d.element].append(d)
    out = []
    for parts in filled.values():
        boxes = [d.box for d in parts]
        grow = max(d.width for d in parts) / 2
        box = (
            min(b[0] for b in boxes) - grow,
            min(b[1] for b in boxes) - grow,
            max(b[2] for b in boxes) + grow,
            max(b[3] for b in boxes) + grow,
        )
        broad = max(d.width for d in parts)
        rings = tuple(np.array(d.points or d.corners(), dtype=np.float64) for d in parts)
        first = parts[0]
        kind = "picture" if first.sort == "image" else "shape" if first.sort == "stroke" else "text"
        fills = any(d.cover or d.sort == "text" for d in parts)
        out.append(
            Cover(
                max(d.order for d in parts), first.element, kind, rings, broad if broad >= _BROAD else 0.0, box, fills
            )
        )
    return sorted(out, key=lambda c: c.order)


class Below:
    """What was issued and came back, to be held against every opaque shape in turn."""

    def __init__(self, there: Sequence[tuple[Drawn, Drawn]]) -> None:
        """Take pairs of a thing as it was issued and as it came back."""
        self.there = there
        self.boxes = np.array([theirs.box for _, theirs in there], dtype=np.float64).reshape(-1, 4)
        self.orders = np.array([theirs.order for _, theirs in there])
        self.points: dict[int, Points] = {}
        self.open = np.ones(len(there), dtype=bool)
        self.work = _MOST_WORK

    def hidden_by(self, shape: Cover) -> list[tuple[Drawn, Drawn]]:
        """Return the pairs drawn before a shape of which it hides what matters, but for those closed."""
        x0, y0, x1, y1 = shape.box
        b = self.boxes
        met = (b[:, 2] >= x0) & (b[:, 0] <= x1) & (b[:, 3] >= y0) & (b[:, 1] <= y1) & (self.orders < shape.order)
        met &= self.open
        listed = [int(k) for k in np.flatnonzero(met)]
        if not listed:
            return []
        lots = [self._points(k) for k in listed]
        points = np.vstack(lots)
        self.work -= len(points) * sum(len(ring) for ring in shape.rings)
        # a file made to keep us busy is taken to cover all that its shapes' boxes cover
        under = _under(shape, points) if self.work > 0 else _boxed(shape.box, points)
        out = []
        for k, flags in zip(listed, np.split(under, np.cumsum([len(lot) for lot in lots])[:-1]), strict=True):
            _, theirs = self.there[k]
            share = float(flags.mean())
            if share >= _HIDDEN[theirs.sort] and (theirs.sort == "text" or share * len(flags) * _PITCH >= _LEAST):
                out.append(self.there[k])
        return out

    def close(self, told: Sequence[Drawn]) -> None:
        """Look no more at things as they came back, of which it is told already what hides them."""
        self.open &= ~np.isin(self.orders, [theirs.order for theirs in told])

    def _points(self, k: int) -> Points:
        if k not in self.points:
            theirs = self.there[k][1]
            self.points[k] = _lettered(theirs) if theirs.sort == "text" else _evenly(_ring(theirs))
        return self.points[k]


def _boxed(box: tuple[float, float, float, float], points: Points) -> NDArray[np.bool_]:
    x, y = points.T
    return np.asarray((x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3]), dtype=np.bool_)


def _evenly(line: Points) -> Points:
    """Return points along a line, one a pitch, so that their number is its length."""
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*(line[1:] - line[:-1]).T))))
    at = np.linspace(0.0, along[-1], max(2, min(2000, math.ceil(along[-1] / _PITCH))))
    return np.stack([np.interp(at, along, line[:, k]) for k in (0, 1)], axis=1)


def _lettered(d: Drawn) -> Points:
    """Return points spread over a text's letters."""
    a, b, _, low = (np.array(p) for p in d.corners())
    across, up = b - a, low - a
    return np.array([a + across * u + up * v for u in np.linspace(0.05, 0.95, 12) for v in (0.2, 0.5, 0.8)])


def _under(shape: Cover, points: Points) -> NDArray[np.bool_]:
    """Return which of some points lie under a shape."""
    inside = np.zeros(len(points), dtype=bool)
    for ring in shape.rings:
        if shape.cover and len(ring) > 2:
            inside ^= _within(ring, points)
    for ring in shape.rings:
        if shape.broad and len(ring) > 1:
            inside |= _near(points, ring, shape.broad / 2)
    return inside


def _within(ring: Points, points: Points) -> NDArray[np.bool_]:
    """Return which of some points lie within a ring: those from which a ray crosses it an odd number of times."""
    out = np.zeros(len(points), dtype=bool)
    ends = np.vstack([ring[1:], ring[:1]])
    slope = (ends[:, 0] - ring[:, 0]) / np.where(ends[:, 1] == ring[:, 1], np.inf, ends[:, 1] - ring[:, 1])
    rows = max(1, 1_000_000 // len(ring))
    for k in range(0, len(points), rows):
        x, y = points[k : k + rows, 0, None], points[k : k + rows, 1, None]
        crosses = (y < ring[:, 1]) != (y < ends[:, 1])
        crosses &= x < ring[:, 0] + slope * (y - ring[:, 1])
        out[k : k + rows] = crosses.sum(axis=1) % 2 == 1
    return out


def _near(points: Points, line: Points, reach: float) -> NDArray[np.bool_]:
    out = np.zeros(len(points), dtype=bool)
    for a, b in zip(line[:-1], line[1:], strict=True):
        d = b - a
        t = np.clip(((points - a) @ d) / max(float(d @ d), 1e-18), 0.0, 1.0)
        out |= np.hypot(*(points - a - t[:, None] * d).T) <= reach
    return out


def distance(d: Drawn, at: Point) -> float:
    """Return how far a point on paper is from a stroke or the box of a text, mm; 0 within a text or a closed stroke."""
    closed = d.sort == "text" or d.closed
    ring = np.array([*(d.points or d.corners())], dtype=np.float64)
    point = np.array([at], dtype=np.float64)
    if closed and bool(_within(ring, point)[0]):
        return 0.0
    line = np.vstack([ring, ring[:1]]) if closed else ring
    a, s = line[:-1], line[1:] - line[:-1]
    t = np.clip(((point - a) * s).sum(axis=1) / np.maximum((s * s).sum(axis=1), 1e-18), 0.0, 1.0)
    away = point - a - t[:, None] * s
    return float(np.hypot(*away.T).min())


def bow(d: Drawn) -> float:
    """Return how far a stroke gets from the straight line between its ends, mm."""
    points = np.array(d.points, dtype=np.float64)
    start, chord = points[0], points[-1] - points[0]
    t = np.clip((points - start) @ chord / max(float(chord @ chord), 1e-18), 0.0, 1.0)
    return float(np.hypot(*(points - start - t[:, None] * chord).T).max())


def within(d: Drawn, at: Point) -> bool:
    """Whether a point lies within a closed stroke."""
    return d.closed and distance(d, at) == 0.0
