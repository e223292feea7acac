"""What of two reports is one and the same thing: shapes that only came along with a wall, pieces and joints under other numbers.

Every choice here is the same whichever report is called the old one, so that differences read alike both ways.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from layout import region
from layout.outline import Frame, Point, Ring, Vertex
from layout.told import Joint, Piece, Told

T = TypeVar("T")
Pairs = list[tuple[T | None, T | None]]
"""Old and new of each thing, in the new order, then what is gone; None where there is none."""

SAME = 0.02
"""Lengths that differ by less, mm, are the same: far below any tape, far above what a report rounds."""


@dataclass(frozen=True, slots=True)
class Motion:
    """A turn by ``turn`` (radians) about ``origin`` and a shift that takes ``origin`` to ``to``."""

    turn: float = 0.0
    origin: Point = (0.0, 0.0)
    to: Point = (0.0, 0.0)

    def of(self, p: Point) -> Point:
        """Return where a point comes to lie."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        dx, dy = p[0] - self.origin[0], p[1] - self.origin[1]
        return (self.to[0] + c * dx - s * dy, self.to[1] + s * dx + c * dy)


def motions(old: Told, new: Told) -> list[Motion]:
    """Return how what stands at walls came along with them: not at all, or with the start or the end of one."""
    out = [Motion()]
    now = {w.name: w for w in new.room.walls}
    for wall in old.room.walls:
        if wall.name in now:
            a, b = (old.point(wall.start), old.point(wall.end))
            c, d = (new.point(now[wall.name].start), new.point(now[wall.name].end))
            turn = math.atan2(d[1] - c[1], d[0] - c[0]) - math.atan2(b[1] - a[1], b[0] - a[0])
            out += [Motion(turn, a, c), Motion(turn, b, d)]
    seen: dict[tuple[float, ...], Motion] = {}
    for motion in out:
        key = tuple(round(v, 3) + 0.0 for p in ((0.0, 0.0), (5000.0, 0.0)) for v in motion.of(p))
        seen.setdefault(key, motion)
    return list(seen.values())


def fits(old: Ring, new: Ring, motion: Motion) -> bool:
    """Return whether a motion brings one outline onto another."""
    n = len(old.vertices)
    if n != len(new.vertices):
        return False
    moved = [motion.of(v.at) for v in old.vertices]
    for shift in range(n):
        pairs = [(moved[k], old.vertices[k], new.vertices[(k + shift) % n]) for k in range(n)]
        if all(math.dist(p, w.at) < SAME and abs(v.bulge - w.bulge) < 1e-4 for p, v, w in pairs):
            return True
    return False


def congruent(old: Ring, new: Ring) -> bool:
    """Return whether two outlines are of one shape, turned and shifted but not mirrored."""
    if len(old.vertices) != len(new.vertices):
        return False

    def chord(pair: tuple[Vertex, Vertex]) -> float:
        return math.dist(pair[0].at, pair[1].at)

    # from the longest edge, so that its direction is the surest
    a, b = max(old.edges(), key=chord)
    for c, d in new.edges():
        if abs(chord((a, b)) - chord((c, d))) < SAME:
            turn = math.atan2(d.y - c.y, d.x - c.x) - math.atan2(b.y - a.y, b.x - a.x)
            if fits(old, new, Motion(turn, a.at, c.at)):
                return True
    return False


# --- what is what ------------------------------------------------------------------------------------------------------


def by_key(old: Sequence[T], new: Sequence[T], key: Callable[[T], Hashable]) -> Pairs[T]:
    """Pair things of one key, the first with the first and so on."""
    left: dict[Hashable, list[T]] = {}
    for thing in old:
        left.setdefault(key(thing), []).append(thing)
    out: Pairs[T] = []
    for thing in new:
        same = left.get(key(thing))
        out.append((same.pop(0) if same else None, thing))
    return [*out, *((thing, None) for things in left.values() for thing in things)]


def _nearest(found: Iterable[tuple[float, int, int]]) -> list[tuple[int, int]]:
    """Return pairs of places, each place once, by least distance, then by least difference in order."""
    taken: tuple[set[int], set[int]] = (set(), set())
    out = []
    for _, i, j in sorted(found, key=lambda f: (round(f[0], 3), abs(f[1] - f[2]), f[1] + f[2])):
        if i not in taken[0] and j not in taken[1]:
            taken[0].add(i)
            taken[1].add(j)
            out.append((i, j))
    return out


def _paired(old: Sequence[T], new: Sequence[T], places: Iterable[tuple[int, int]]) -> Pairs[T]:
    by_new = {j: i for i, j in places}
    gone = set(range(len(old))) - set(by_new.values())
    out: Pairs[T] = [(old[by_new[j]] if j in by_new else None, thing) for j, thing in enumerate(new)]
    return [*out, *((old[i], None) for i in sorted(gone))]


def pieces_paired(old: Told, new: Told) -> Pairs[Piece]:
    """Pair pieces of one top: of one part by how much their outlines share, then of any part, then by order in the part."""
    ways = motions(old, new)
    areas = [region.area_of(new.ring(q.outline), 0.5).buffer(0) for q in new.pieces]
    share: dict[tuple[int, int], float] = {}
    for i, p in enumerate(old.pieces):
        for way in ways:
            moved = region.area_of(old.ring(p.outline).moved(way.of), 0.5).buffer(0)
            for j, q in enumerate(new.pieces):
                if p.top == q.top:
                    common = moved.intersection(areas[j]).area
                    part = common / max(moved.area + areas[j].area - common, 1e-9)
                    share[i, j] = max(share.get((i, j), 0.0), part)
    found: list[tuple[int, int]] = []
    for alike in (True, False):
        done = ({i for i, _ in found}, {j for _, j in found})
        found += _nearest(
            (-part, i, j)
            for (i, j), part in share.items()
            if part > LEAST_SHARE
            and i not in done[0]
            and j not in done[1]
            and (not alike or old.pieces[i].part == new.pieces[j].part)
        )
    waiting = [i for i in range(len(old.pieces)) if i not in {i for i, _ in found}]
    for j, q in enumerate(new.pieces):
        if j not in {j for _, j in found}:
            same = [i for i in waiting if (old.pieces[i].top, old.pieces[i].part) == (q.top, q.part)]
            if same:
                found.append((same[0], j))
                waiting.remove(same[0])
    return _paired(old.pieces, new.pieces, found)


LEAST_SHARE = 0.05
"""Outlines that share less than this of what both cover are not one piece."""


def joints_paired(old: Told, new: Told, renamed: dict[str, str]) -> Pairs[Joint]:
    """Pair joints that join the same pieces (``renamed``: old id to new), then those of a kind at the same place."""
    ways = motions(old, new)

    def apart(a: Joint, b: Joint) -> float:
        """Return how far two joints lie apart, mm, the nearer end for an end, as they came along with a wall."""
        ends = [new.point(b.points[0]), new.point(b.points[-1])]
        best = math.inf
        for way in ways:
            p, q = way.of(old.point(a.points[0])), way.of(old.point(a.points[-1]))
            straight = max(math.dist(p, ends[0]), math.dist(q, ends[1]))
            turned = max(math.dist(p, ends[1]), math.dist(q, ends[0]))
            best = min(best, straight, turned)
        return best

    found: list[tuple[int, int]] = []
    for by_pieces in (True, False):
        done = ({i for i, _ in found}, {j for _, j in found})
        near = []
        for i, a in enumerate(old.joints):
            for j, b in enumerate(new.joints):
                if i in done[0] or j in done[1] or a.top != b.top:
                    continue
                between = {renamed.get(p) for p in a.pieces} == set(b.pieces)
                if between if by_pieces else a.kind == b.kind and apart(a, b) < SAME_PLACE:
                    near.append((apart(a, b), i, j))
        found += _nearest(near)
    return _paired(old.joints, new.joints, found)


SAME_PLACE = 25.0
"""A joint that lies no farther from where one lay, mm, is that one even if its pieces are others."""


# --- where a thing is measured from ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Datum:
    """What places on a top are measured from in both reports: a wall by its name, or ("" then) the top's own grain."""

    wall: str
    old: Frame
    new: Frame


def datum(old: Told, new: Told, top: str, was: Point, now: Point) -> Datum:
    """Return the wall along which a top lies that is nearest to both places, else the top itself by its grain."""
    walls = _walls_along(old, top) & _walls_along(new, top)
    frames = [(w, _wall_frame(old, w), _wall_frame(new, w)) for w in sorted(walls)]
    if frames:

        def off(frame: tuple[str, tuple[Frame, float], tuple[Frame, float]]) -> float:
            out = 0.0
            for (at, length), p in ((frame[1], was), (frame[2], now)):
                x, y = at.from_plan(p)
                out += math.hypot(max(-x, x - length, 0.0), y)
            return round(out, 3)

        name, (before, _), (after, _) = min(frames, key=off)
        return Datum(name, before, after)
    return Datum("", *_grain_frames(old, new, top))


def _walls_along(report: Told, top: str) -> set[str]:
    names = {w.name for w in report.room.walls}
    sides = {e.side for part in report.tops if part.name == top for e in part.edges}
    return {n for n in names if f"{n} back" in sides}


def _wall_frame(report: Told, name: str) -> tuple[Frame, float]:
    wall = next(w for w in report.room.walls if w.name == name)
    (x0, y0), (x1, y1) = report.point(wall.start), report.point(wall.end)
    return Frame(x0, y0, math.atan2(y1 - y0, x1 - x0)), math.hypot(x1 - x0, y1 - y0)


def _grain_frames(old: Told, new: Told, top: str) -> tuple[Frame, Frame]:
    angles = [next((p.grain for p in report.pieces if p.top == top), 0.0) for report in (old, new)]
    if abs(angles[0] - angles[1]) > 90.0:
        # a direction of grain is given to half a turn: across nought it comes out at the other end
        low = angles.index(min(angles))
        angles[low] += 180.0
    out = []
    for report, angle in zip((old, new), angles, strict=True):
        frame = Frame(0.0, 0.0, math.radians(angle))
        boxes = [report.ring(p.outline).bounds(frame) for p in report.tops if p.name == top]
        x, y = frame.to_plan((min(b[0] for b in boxes), min(b[1] for b in boxes))) if boxes else (0.0, 0.0)
        out.append(Frame(x, y, frame.angle))
    return out[0], out[1]


def extent(rings: Sequence[Ring], frame: Frame) -> tuple[float, float]:
    """Return what some outlines take along and across a frame, mm."""
    x0, y0, x1, y1 = zip(*(ring.bounds(frame) for ring in rings), strict=True)
    return (max(x1) - min(x0), max(y1) - min(y0))
