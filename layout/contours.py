"""What someone else's drawing holds, in mm: strokes chained to closed contours, doubles and crossings found.

Knows no file format: a reader (`readers/`) gives strokes, points and texts, and gets a `Drawn`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from layout import region
from layout.cutting import reversed_ring
from layout.faults import TemplateError
from layout.outline import SAME, Arc, Line, Point, Ring, Vertex, arc_of, edge_length, edge_point
from layout.units import INCH_MM, Labels, Unit

SILENT = 0.05
"""A gap up to this (mm) between two ends is none."""
CLOSED_UP_TO = 1.0
"""A gap up to this (mm) is closed and told of; a wider one stays open."""
TWICE = 0.01
"""Strokes and contours nearer to one another than this (mm) everywhere are one, drawn twice."""
LEAST_AREA = 1.0
"""A contour of less (mm2) is a speck."""
_MOST_ENDS = 64
"""Ends of open strokes within a millimetre or two of one another; more are no outline."""

DrawnUnit = Literal["in", "ft", "mm", "cm", "m"]


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed outline, counter-clockwise, mm."""

    ring: Ring
    layer: str


@dataclass(frozen=True, slots=True)
class Stroke:
    """An open path, mm; each vertex has the bulge to the next, the last one's is not used."""

    vertices: tuple[Vertex, ...]
    layer: str
    weight: int = -1
    """Its line's own width, hundredths of a mm, where that tells outlines from hatches; -1: not looked at."""

    @property
    def length(self) -> float:
        """Its length, mm."""
        return sum(edge_length(a, b) for a, b in pairwise(self.vertices))

    @property
    def gap(self) -> float:
        """How far its two ends lie apart, mm."""
        return math.dist(self.vertices[0].at, self.vertices[-1].at)


@dataclass(frozen=True, slots=True)
class DrawnPoint:
    """A point, mm."""

    at: Point
    layer: str


@dataclass(frozen=True, slots=True)
class DrawnText:
    """A text at its insertion point, mm."""

    at: Point
    text: str
    layer: str


@dataclass(frozen=True, slots=True)
class Gap:
    """A gap that was closed: how wide it was and where, mm."""

    width: float
    at: Point


@dataclass(frozen=True, slots=True)
class Drawn:
    """A drawing as read, in mm, with all that was made of it on the way.

    ``unit``: what its numbers are in; ``unit_from``: who says so. ``gaps``: closed ones, widest first. ``doubles``: things
    drawn twice and taken once. ``strayed``: how far arcs stand from the splines and ellipses in their place, mm.
    ``not_understood``: (kind of entity, how many). ``remarks``: what else should be known, in words. ``plan``: of a shop
    drawing of this program's own, the box (x0, y0, x1, y1) that its first sheet's first view shows of the model; else None.
    """

    contours: tuple[Contour, ...]
    paths: tuple[Stroke, ...]
    points: tuple[DrawnPoint, ...]
    texts: tuple[DrawnText, ...]
    unit: DrawnUnit
    unit_from: str
    gaps: tuple[Gap, ...] = ()
    doubles: int = 0
    strayed: float = 0.0
    not_understood: tuple[tuple[str, int], ...] = ()
    remarks: tuple[str, ...] = ()
    plan: tuple[float, float, float, float] | None = None

    @property
    def said_in(self) -> Unit:
        """The unit that people are told lengths in."""
        return "in" if self.unit in ("in", "ft") else "mm"

    def notes(self) -> tuple[str, ...]:
        """Return everything that was made of the drawing on the way, a line each; empty where it was taken as it stands."""
        unit = self.said_in
        out = [f"a gap of {shown(g.width, unit)} at {place(g.at, unit)} was closed" for g in self.gaps]
        if self.doubles:
            out.append(f"{self.doubles} drawn twice, taken once")
        if self.strayed > 0.0:
            out.append(f"curves are taken as arcs, at most {max(self.strayed, 0.0005):.3f} mm from them")
        if self.not_understood:
            listed = ", ".join(f"{count} {kind}" for kind, count in self.not_understood)
            out.append(f"not understood and left out: {listed}")
        return (*out, *self.remarks)


def shown(mm: float, unit: Unit) -> str:
    """Return a length for a message: three decimals of an inch, or hundredths of a millimetre."""
    return f'{mm / float(INCH_MM):.3f}"' if unit == "in" else f"{mm:.2f} mm"


def place(at: Point, unit: Unit) -> str:
    """Return a place in the file's own coordinates for a message."""
    scale = float(INCH_MM) if unit == "in" else 1.0
    return f"({at[0] / scale:.3f}, {at[1] / scale:.3f})"


# --- chaining ------------------------------------------------------------------------------------------------------


def chain(strokes: Sequence[Stroke], file: str) -> tuple[list[Contour], list[Stroke], list[Gap], int]:
    """Return (contours, what stays open, gaps closed, strokes drawn twice); only strokes of one layer and width are joined.

    Raises TemplateError where too many ends meet for an outline.
    """
    contours: list[Contour] = []
    left: list[Stroke] = []
    gaps: list[Gap] = []
    doubles = 0
    groups: dict[tuple[str, int], list[Stroke]] = {}
    for stroke in strokes:
        groups.setdefault((stroke.layer, stroke.weight), []).append(stroke)
    for (layer, weight), group in groups.items():
        mine, twice = _once(group)
        doubles += twice
        partners = _partners(mine, file)
        done: set[int] = set()
        # from free ends first, then round what has none
        for k in sorted(range(len(mine)), key=lambda k: 2 * k in partners and 2 * k + 1 in partners):
            if k not in done:
                vertices, closed = _walk(mine, partners, k, done, gaps)
                ring = Ring(tuple(vertices)) if closed else None
                if ring is not None and len(vertices) >= 2:
                    contours.append(Contour(ring, layer))
                elif len(vertices) >= 2:
                    left.append(Stroke(tuple(vertices), layer, weight))
    return contours, left, gaps, doubles


def _once(strokes: list[Stroke]) -> tuple[list[Stroke], int]:
    """Return strokes without those that lie on another one, and how many those are."""
    seen: set[frozenset[tuple[int, int]]] = set()
    kept = []
    for stroke in strokes:
        points = [p for a, b in pairwise(stroke.vertices) for p in (a.at, edge_point(a, b, 0.5))]
        points.append(stroke.vertices[-1].at)
        key = frozenset((round(x / TWICE), round(y / TWICE)) for x, y in points)
        if key not in seen:
            seen.add(key)
            kept.append(stroke)
    return kept, len(strokes) - len(kept)


def _end(strokes: Sequence[Stroke], end: int) -> Point:
    return strokes[end // 2].vertices[-(end % 2)].at


def _partners(strokes: Sequence[Stroke], file: str) -> dict[int, int]:
    """Return which end is joined to which, the nearest first; end 2k begins stroke k, 2k + 1 ends it."""
    cells: dict[tuple[int, int], list[int]] = {}
    for end in range(2 * len(strokes)):
        x, y = _end(strokes, end)
        cells.setdefault((math.floor(x / CLOSED_UP_TO), math.floor(y / CLOSED_UP_TO)), []).append(end)
    pairs: list[tuple[float, int, int]] = []
    for (cx, cy), ends in cells.items():
        near = [e for dx in (-1, 0, 1) for dy in (-1, 0, 1) for e in cells.get((cx + dx, cy + dy), ())]
        if len(near) > _MOST_ENDS:
            at = _end(strokes, ends[0])
            raise TemplateError(
                file, f"{len(near)} ends of lines at ({at[0]:.1f}, {at[1]:.1f}) mm", "an outline, where two meet"
            )
        for a in ends:
            for b in near:
                gap = math.dist(_end(strokes, a), _end(strokes, b)) if b > a else math.inf
                if gap > CLOSED_UP_TO or (a // 2 == b // 2 and strokes[a // 2].length <= 10 * gap + SAME):
                    continue
                pairs.append((gap, a, b))
    partners: dict[int, int] = {}
    for _, a, b in sorted(pairs):
        if a not in partners and b not in partners:
            partners[a], partners[b] = b, a
    return partners


def _walk(
    strokes: Sequence[Stroke], partners: dict[int, int], first: int, done: set[int], gaps: list[Gap]
) -> tuple[list[Vertex], bool]:
    """Return the vertices of the chain that holds stroke ``first``, walked from a free end, and whether it is closed."""
    start = 2 * first if 2 * first not in partners or 2 * first + 1 in partners else 2 * first + 1
    at: int | None = start
    vertices: list[Vertex] = []
    while at is not None:
        k = at // 2
        done.add(k)
        own = strokes[k].vertices if at % 2 == 0 else _reversed(strokes[k].vertices)
        vertices = _joined(vertices, list(own), gaps)
        at = partners.get(at ^ 1)
        if at is not None and at // 2 in done:
            return _closed(vertices, gaps), True
    return vertices, False


def _reversed(vertices: Sequence[Vertex]) -> tuple[Vertex, ...]:
    back = list(reversed(vertices))
    return tuple(v._replace(bulge=-back[k + 1].bulge if k + 1 < len(back) else 0.0) for k, v in enumerate(back))


def _joined(before: list[Vertex], after: list[Vertex], gaps: list[Gap]) -> list[Vertex]:
    if not before:
        return after
    return [*before[:-1], *_meeting(before[-2:], after[:2], gaps), *after[1:]]


def _closed(vertices: list[Vertex], gaps: list[Gap]) -> list[Vertex]:
    joint = _meeting(vertices[-2:], vertices[:2], gaps)
    return [*joint, *vertices[1:-1]] if len(joint) == 1 else [joint[1], *vertices[1:-1], joint[0]]


def _meeting(before: Sequence[Vertex], after: Sequence[Vertex], gaps: list[Gap]) -> list[Vertex]:
    """Return the vertex where one edge runs into the next, or the two ends of the line that bridges a gap between them."""
    (p, end), (start, q) = before, after
    gap = math.dist(end.at, start.at)
    if gap > SILENT:
        gaps.append(Gap(gap, ((end.x + start.x) / 2, (end.y + start.y) / 2)))
    if gap <= SAME or (gap <= SILENT and p.bulge):
        return [start._replace(x=end.x, y=end.y)]
    if gap <= SILENT and start.bulge:
        return [start]
    if not p.bulge and not start.bulge:
        corner = _line(p.at, end.at).meets(_line(start.at, q.at))
        if corner is not None and max(math.dist(corner, end.at), math.dist(corner, start.at)) <= 2 * gap:
            return [Vertex(*corner)]
    if gap <= SILENT:
        return [start._replace(x=(end.x + start.x) / 2, y=(end.y + start.y) / 2)]
    return [end._replace(bulge=0.0), start]


def _line(a: Point, b: Point) -> Line:
    length = math.dist(a, b) or 1.0
    return Line(*a, (b[0] - a[0]) / length, (b[1] - a[1]) / length)


# --- contours ------------------------------------------------------------------------------------------------------


def as_contour(ring: Ring, layer: str) -> Contour | None:
    """Return the ring as a contour: counter-clockwise, without specks; None where it has no area to speak of."""
    ring = ring.clean()
    if len(ring.vertices) < 2 or (len(ring.vertices) == 2 and abs(ring.area) < LEAST_AREA):
        return None
    x0, y0, x1, y1 = ring.bounds()
    # by its box: one that crosses itself in its middle has no area either, and has to be told of
    if (x1 - x0) * (y1 - y0) < LEAST_AREA:
        return None
    return Contour(ring if ring.area > 0 else reversed_ring(ring), layer)


def without_doubles(contours: Sequence[Contour], *, by_layer: bool) -> tuple[list[Contour], int]:
    """Return the contours, each once, and how many stood on another one; ``by_layer``: on one of their own layer."""
    kept: list[Contour] = []
    seen: dict[tuple[int, int], list[tuple[Contour, tuple[float, ...]]]] = {}
    for contour in contours:
        box = contour.ring.bounds()
        x, y = math.floor(box[0]), math.floor(box[1])
        near = [c for dx in (-1, 0, 1) for dy in (-1, 0, 1) for c in seen.get((x + dx, y + dy), ())]
        if any(
            max(abs(a - b) for a, b in zip(box, other, strict=True)) <= 2 * TWICE
            and (not by_layer or c.layer == contour.layer)
            and region.same(c.ring, contour.ring, 2 * TWICE)
            for c, other in near
        ):
            continue
        kept.append(contour)
        seen.setdefault((x, y), []).append((contour, box))
    return kept, len(contours) - len(kept)


def refuse_crossings(contours: Sequence[Contour], file: str, unit: Unit) -> None:
    """Raise TemplateError, with the place, where a contour crosses itself or another one."""
    for contour in contours:
        at = region.self_crossing(contour.ring)
        if at is not None:
            raise TemplateError(
                file, f"an outline that crosses itself at {place(at, unit)}", "outlines that do not cross"
            )
    boxes = sorted(((c.ring.bounds(), k) for k, c in enumerate(contours)), key=lambda b: b[0][0])
    open_: list[tuple[tuple[float, ...], int]] = []
    for box, k in boxes:
        open_ = [o for o in open_ if o[0][2] > box[0]]
        for other, n in open_:
            if other[1] < box[3] and box[1] < other[3]:
                at = region.crossing(contours[k].ring, contours[n].ring)
                if at is not None:
                    found = f"two outlines that cross at {place(at, unit)}"
                    raise TemplateError(file, found, "outlines beside or inside one another")
        open_.append((box, k))


def refuse_open(paths: Iterable[Stroke], file: str, unit: Unit, *, any_closed: bool) -> list[Stroke]:
    """Return the open lines that are no outline, such as centre lines.

    Raises TemplateError for one that is an outline with a gap: its ends lie nearer together than a quarter of its length;
    and for any at all where the drawing has no closed one.
    """
    listed = sorted(paths, key=lambda p: -p.length)
    for path in listed:
        if not any_closed or (len(path.vertices) > 2 and path.gap < path.length / 4):
            a, b = path.vertices[0].at, path.vertices[-1].at
            raise TemplateError(
                file,
                f"an outline that is open by {shown(path.gap, unit)} between {place(a, unit)} and {place(b, unit)}",
                f"a closed outline; gaps up to {shown(CLOSED_UP_TO, unit)} are closed",
            )
    return listed


def round_of(ring: Ring) -> tuple[Point, float] | None:
    """Return (centre, radius) of a ring that is one circle to within 0.005 mm, else None."""
    arcs = [arc_of(a, b) for a, b in ring.edges()]
    first = arcs[0]
    if first is None or not all(isinstance(arc, Arc) for arc in arcs):
        return None
    for arc in arcs:
        assert arc is not None
        if math.dist((arc.cx, arc.cy), (first.cx, first.cy)) > 0.005 or abs(arc.radius - first.radius) > 0.005:
            return None
    return (first.cx, first.cy), first.radius


def refuse_other_scale(size: tuple[float, float], expected: tuple[float, float], file: str, unit: Unit) -> None:
    """Raise TemplateError where a size is not the expected one (mm): by far, or by the factor between inches and mm."""
    inch = float(INCH_MM)
    labels = Labels(unit)
    found = f"an outline {labels.fine(size[0])} by {labels.fine(size[1])}"
    wanted = f"{labels.fine(expected[0])} by {labels.fine(expected[1])}"
    for factor, word in ((inch, "larger"), (1 / inch, "smaller")):
        if all(abs(s / (e * factor) - 1.0) <= 0.02 for s, e in zip(size, expected, strict=True)):
            raise TemplateError(
                file,
                f"{found}, 25.4 times {word} than {wanted}",
                "its numbers in the unit that is said: inches and mm are mixed up",
            )
