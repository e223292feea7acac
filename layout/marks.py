"""What a dealer has put on a sheet, as marks: which kind, what it says, where on paper and in plan, and what it is near."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from layout.ink import bow, distance, within
from layout.outline import Frame, Point
from layout.svg_comparison import kind_of
from layout.svg_content import Content, Drawn

MarkKind = Literal["note", "line", "freehand", "text", "shape"]
MM_AN_INCH = 25.4
TEXT_REACH = 6.0
"""A text no farther than this (mm on paper) from the end of a line belongs to it."""
_NEAR, _WITHIN, _PIECE = 12.0, 5.0, 25.0
"""What is near a mark: no farther than this on paper, mm; for a mark on a piece; and a piece from a mark beside all."""
_HEAD = 8.0
"""An arrow's head that was drawn by hand is no larger than this, mm."""
_Box = tuple[float, float, float, float]
_NAMED = ("piece", "cutout", "joint", "dimension")


@dataclass(frozen=True, slots=True)
class Near:
    """What a mark is near: a piece, cutout, joint or dimension, its name, and the text of a dimension."""

    kind: str
    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark. ``at``: paper mm, y down: what a note points at. ``plan``: job units; none on a sheet that shows no plan there."""

    sheet: int
    kind: MarkKind
    text: str
    at: Point
    plan: Point | None
    near: Near | None


class Ground:
    """A sheet as it was issued, to say where on it a mark is."""

    def __init__(self, issued: Content, units: str) -> None:
        """Take the issued sheet and the job's units, in or mm."""
        self.per = MM_AN_INCH if units == "in" else 1.0
        self.places = {p["view"]: p for p in issued.places}
        self.views: dict[str, list[Drawn]] = defaultdict(list)
        self.labels: dict[int, str] = {}
        self.boxes: dict[str, _Box] = {}
        for d in issued.drawn:
            view = next((g for g in d.groups if g in issued.scales), None)
            if view is not None:
                self.views[view].append(d)
            if kind_of(d) == "dimension" and d.sort == "text":
                self.labels[d.parent] = d.text
        for view, drawn in self.views.items():
            boxes = [d.box for d in drawn]
            self.boxes[view] = (
                *(min(b[k] for b in boxes) for k in (0, 1)),
                *(max(b[k] for b in boxes) for k in (2, 3)),
            )  # type: ignore[assignment]

    def mark(self, sheet: int, kind: MarkKind, text: str, at: Point) -> Mark:
        """Return a mark at a point on paper with its place."""
        view = self._view(at)
        at = (round(at[0], 2) + 0.0, round(at[1], 2) + 0.0)
        if view is None:
            return Mark(sheet, kind, text, at, None, None)
        return Mark(sheet, kind, text, at, self._plan(view, at), self._near(view, at))

    def _view(self, at: Point) -> str | None:
        """Return the smallest view that a point lies in, or the nearest within a few mm."""
        best: tuple[float, float, str] | None = None
        for view, box in self.boxes.items():
            x0, y0, x1, y1 = box
            away = _off(box, at)
            found = (away, (x1 - x0) * (y1 - y0), view)
            if away <= _NEAR and (best is None or found < best):
                best = found
        return None if best is None else best[2]

    def _plan(self, view: str, at: Point) -> Point | None:
        if view not in self.places:
            return None
        place = self.places[view]
        x, y = (float(v) for v in place["at"].split())
        ratio = float(place["scale"].partition(":")[2])
        ox, oy = (float(v) for v in place["origin"].split())
        frame = Frame(ox, oy, math.radians(float(place["angle"])))
        u, v = frame.to_plan(((at[0] - x) * ratio, (y - at[1]) * ratio))
        return (round(u / self.per, 3) + 0.0, round(v / self.per, 3) + 0.0)

    def _near(self, view: str, at: Point) -> Near | None:
        listed = [d for d in self.views[view] if kind_of(d) in _NAMED and d.cls != "dimension-extension"]
        pieces = [d for d in listed if kind_of(d) == "piece" and d.name]
        others = [d for d in listed if kind_of(d) != "piece"]
        on = [d for d in pieces if _off(d.box, at) == 0.0 and within(d, at)]
        found = _nearest(others, at, _WITHIN if on else _NEAR) or (on[0] if on else _nearest(pieces, at, _PIECE))
        return None if found is None else self._named(found)

    def _named(self, d: Drawn) -> Near:
        return Near(kind_of(d), d.name, self.labels.get(d.parent, "") if kind_of(d) == "dimension" else d.text)

    def distance(self, at: Point) -> float:
        """Return how far a point on paper is from the nearest thing that has a name, mm; infinite where there is none."""
        view = self._view(at)
        listed = [d for d in self.views.get(view or "", ()) if kind_of(d) in _NAMED and _off(d.box, at) <= _PIECE]
        return min((distance(d, at) for d in listed), default=math.inf)


def _off(box: _Box, at: Point) -> float:
    """Return how far a point is from a box, 0 within."""
    x0, y0, x1, y1 = box
    return math.hypot(max(x0 - at[0], 0.0, at[0] - x1), max(y0 - at[1], 0.0, at[1] - y1))


def _nearest(drawn: Sequence[Drawn], at: Point, reach: float) -> Drawn | None:
    """Return the nearest of some things that lies within reach, the first drawn of several."""
    near = [(distance(d, at), d.order, d) for d in drawn if _off(d.box, at) <= reach]
    found = min(near, default=None, key=lambda f: f[:2])
    return found[2] if found is not None and found[0] <= reach else None


@dataclass(frozen=True, slots=True)
class _Text:
    """A text with all its lines."""

    order: int
    text: str
    lines: tuple[Drawn, ...]

    def away(self, p: Point, reach: float) -> float:
        """Return how far a point is from the nearest of its lines; infinite beyond the reach."""
        return min((distance(d, p) for d in self.lines if _off(d.box, p) <= reach), default=math.inf)


def marks_of(added: Sequence[Drawn], sheet: int, ground: Ground) -> list[Mark]:
    """Return what was added to a sheet as marks, in the order of drawing; a text at a line's end is that line's."""
    texts = _texts(added)
    lines = [d for d in added if d.sort != "text"]
    heads = _heads(lines)
    leaders = [d for d in lines if d.order not in heads and is_line(d)]
    bound: dict[int, tuple[_Text, Point]] = {}
    for text in texts:
        reach = max(TEXT_REACH, text.lines[0].size)
        ends = [
            (text.away(end, reach), d.order, k, d)
            for d in leaders
            if d.order not in bound
            for k, end in enumerate((d.points[0], d.points[-1]))
        ]
        nearest = min(ends, default=None, key=lambda e: e[:3])
        if nearest is not None and nearest[0] <= reach:
            d = nearest[3]
            bound[d.order] = (text, d.points[-1 if nearest[2] == 0 else 0])
    taken = {text.order for text, _ in bound.values()}
    found: list[tuple[int, Mark]] = [
        (t.order, ground.mark(sheet, "text", t.text, t.lines[0].at)) for t in texts if t.order not in taken
    ]
    done: set[int] = set()
    strokes: dict[int, list[Drawn]] = defaultdict(list)
    for d in lines:
        strokes[d.element].append(d)
    for d in lines:
        if d.order in heads or d.element in done:
            continue
        # the strokes of one element are one mark
        done.add(d.element)
        if d.order in bound:
            text, at = bound[d.order]
            found.append((d.order, ground.mark(sheet, "note", text.text, at)))
        else:
            found.append((d.order, ground.mark(sheet, *_drawn_at(d, strokes[d.element], ground))))
    return [mark for _, mark in sorted(found, key=lambda f: f[0])]


def _texts(added: Sequence[Drawn]) -> list[_Text]:
    lines: dict[int, list[Drawn]] = defaultdict(list)
    for d in added:
        if d.sort == "text":
            lines[d.element].append(d)
    return [_Text(of[0].order, " ".join(d.text for d in of), tuple(of)) for of in lines.values()]


def is_line(d: Drawn) -> bool:
    """Whether a stroke is one that could lead from a text to something: open, and not run back to where it began."""
    if d.sort != "stroke" or d.closed or len(d.points) < 2:
        return False
    x0, y0, x1, y1 = d.box
    return math.dist(d.points[0], d.points[-1]) > 0.5 * math.hypot(x1 - x0, y1 - y0) > 0.5


def _heads(lines: Sequence[Drawn]) -> set[int]:
    """Return the orders of arrow heads: small, filled or not, with a corner at the end of a line."""
    ends = [p for d in lines if is_line(d) and _long(d) for p in (d.points[0], d.points[-1])]
    return {
        d.order
        for d in lines
        if not _long(d)
        and 3 <= len(d.points) <= 6
        and any(math.dist(p, e) <= 1.5 for p in d.points for e in ends[:500])
    }


def _long(d: Drawn) -> bool:
    x0, y0, x1, y1 = d.box
    return math.hypot(x1 - x0, y1 - y0) > _HEAD


def _drawn_at(d: Drawn, parts: Sequence[Drawn], ground: Ground) -> tuple[MarkKind, str, Point]:
    """Return what a stroke that no text belongs to is, and where: an arrow at its head, a line at the end near something."""
    x0, y0 = min(p.box[0] for p in parts), min(p.box[1] for p in parts)
    x1, y1 = max(p.box[2] for p in parts), max(p.box[3] for p in parts)
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    if d.sort == "image" or d.closed or d.tag in ("rect", "circle", "ellipse", "polygon"):
        return "shape", "", middle
    if len(parts) > 1 or not is_straight(d):
        return "freehand", "", middle
    start, end = d.points[0], d.points[-1]
    if d.arrows[0] != d.arrows[1]:
        return "line", "", start if d.arrows[0] else end
    return "line", "", start if ground.distance(start) < ground.distance(end) else end


def is_straight(d: Drawn) -> bool:
    """Whether a stroke keeps within half a mm, or a fiftieth of its length, of the line between its ends."""
    return bow(d) <= max(0.5, math.dist(d.points[0], d.points[-1]) / 50)


def page_mark(sheet: int, kind: str, text: str, points: Sequence[Point], ground: Ground) -> Mark:
    """Return a mark that the page saved: a note and a text at their first point, a line at the end that is near something,
    free-hand at the middle of what it takes."""
    at = points[0]
    if kind == "line" and ground.distance(points[-1]) < ground.distance(at):
        at = points[-1]
    elif kind == "freehand":
        xs, ys = [x for x, _ in points], [y for _, y in points]
        at = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    found: dict[str, MarkKind] = {"note": "note", "line": "line", "freehand": "freehand", "text": "text"}
    return ground.mark(sheet, found[kind], text, at)
