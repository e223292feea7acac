"""Drawing into a view and remembering where: items for the model, obstacles for the placement of what follows.

Callers give model millimetres; sizes of marks, texts and offsets are paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, count
from typing import Literal

from layout.dimension_lanes import Lane, keep, lane_box, outer_line, place_chain
from layout.drawing import (
    NARROW,
    NOTE,
    SMALL,
    WIDE,
    Anchor,
    Circle,
    Dash,
    Dimension,
    Item,
    Kind,
    Lines,
    Path,
    Text,
    View,
)
from layout.lettering import ASCENT, DESCENT, text_width
from layout.outline import Point, Ring, Vertex, circle, polygon_ring
from layout.placement import Box, Scene, text_box

MarkShape = Literal["circle", "diamond", "box", "triangle", "delta"]
DELTA = (4.8, 4.2)
"""Half the width and height of a revision's triangle, mm: larger and heavier than that of a finding."""
LINE_PITCH = 1.7
"""Baselines of a text of several lines lie so many letter heights apart."""


class Pen:
    """Draws one view at ``scale`` (paper mm per model mm)."""

    def __init__(self, scale: float) -> None:
        """Start an empty view."""
        self.scale = scale
        self.items: list[Item] = []
        self.scene = Scene()
        self._beside: tuple[float, float, float, float] | None = None

    # --- frames

    def paper(self, p: Point) -> Point:
        """Return a model point in paper mm."""
        return (p[0] * self.scale, p[1] * self.scale)

    def model(self, p: Point) -> Point:
        """Return a paper point in model mm."""
        return (p[0] / self.scale, p[1] / self.scale)

    # --- lines

    def ring(
        self,
        kind: Kind,
        ring: Ring,
        *,
        name: str = "",
        width: float = NARROW,
        dash: Dash = Dash.SOLID,
        closed: bool = True,
        fill: Literal["none", "white", "black", "grey"] = "none",
        hard: bool = True,
    ) -> None:
        """Draw a ring or an open path; ``hard``: no text may touch it."""
        self.items.append(Path(kind, ring, closed, name, width, dash, fill))
        if closed:
            points = [self.paper(p) for p in ring.flattened(0.05 / self.scale)]
            strokes = list(zip(points, points[1:] + points[:1], strict=True))
        else:
            points = [self.paper(p) for p in ring.points]
            strokes = list(zip(points, points[1:], strict=False))
        (self.scene.hard if hard else self.scene.soft).extend(strokes)

    def strokes(
        self,
        kind: Kind,
        strokes: Iterable[tuple[Point, Point]],
        *,
        name: str = "",
        width: float = NARROW,
        dash: Dash = Dash.SOLID,
        obstacle: Literal["soft", "hard", "none"] = "soft",
    ) -> None:
        """Draw straight strokes."""
        drawn = tuple(strokes)
        if not drawn:
            return
        self.items.append(Lines(kind, drawn, name, width, dash))
        on_paper = [(self.paper(a), self.paper(b)) for a, b in drawn]
        if obstacle == "hard":
            self.scene.hard += on_paper
        elif obstacle == "soft":
            self.scene.soft += on_paper

    # --- texts

    def text(
        self,
        kind: Kind,
        at: Point,
        text: str,
        *,
        height: float = SMALL,
        anchor: Anchor = "start",
        angle: float = 0.0,
        bold: bool = False,
        name: str = "",
    ) -> None:
        """Set a text where it is told to."""
        self.items.append(Text(kind, at, text, height, anchor, angle, bold, name))
        self.scene.boxes.append(text_box(self.paper(at), text, height, anchor, angle, bold))

    def label(
        self,
        kind: Kind,
        lines: Sequence[str],
        spots: Iterable[Point],
        *,
        height: float = SMALL,
        angle: float = 0.0,
        leader_to: Point | None = None,
        leader_from: float = 0.0,
        must: bool = False,
        name: str = "",
    ) -> bool:
        """Set centred lines of text at the best of ``spots`` (model mm, their middle); return whether there was room.

        ``leader_to``: a point to lead to where the text stands farther from it than ``leader_from`` (paper mm).
        ``must``: where no spot is free it goes beside all that is drawn, with its leader.
        """
        width = max(text_width(t, height) for t in lines)
        pitch = LINE_PITCH * height
        tall = (ASCENT + DESCENT) * height + pitch * (len(lines) - 1)
        turn = math.radians(angle)
        boxes = (Box(*self.paper(p), width / 2 + 0.4, tall / 2, turn) for p in spots)
        found = self.scene.best(boxes, 0.2, leader_to=None if leader_to is None else self.paper(leader_to))
        if found is not None:
            box = found[1]
        elif must and leader_to is not None:
            box = self._aside(self.paper(leader_to), width / 2 + 0.4, tall / 2)
            turn = angle = 0.0
        else:
            return False
        for n, line in enumerate(lines):
            down = tall / 2 - ASCENT * height - n * pitch
            at = (box.x - math.sin(turn) * down, box.y + math.cos(turn) * down)
            self.items.append(Text(kind, self.model(at), line, height, "middle", angle, False, name))
        self.scene.boxes.append(box)
        if leader_to is not None and math.dist((box.x, box.y), self.paper(leader_to)) > leader_from:
            self.leader(box, leader_to)
        return True

    def leader(self, box: Box, to: Point) -> None:
        """Draw a leader from a box's rim to a model point, if the point lies outside it."""
        target = self.paper(to)
        dx, dy = target[0] - box.x, target[1] - box.y
        reach = math.hypot(dx, dy)
        if reach < 1e-6:
            return
        c, s = math.cos(box.angle), math.sin(box.angle)
        lx, ly = abs(dx * c + dy * s), abs(-dx * s + dy * c)
        share = min((box.along + 0.4) / lx if lx > 1e-9 else 9.0, (box.across + 0.4) / ly if ly > 1e-9 else 9.0)
        if share >= 1.0:
            return
        start = (box.x + dx * share, box.y + dy * share)
        target, to = self._before_marks(start, target, to)
        if math.dist(start, target) > 1.0:
            self.items.append(Lines(Kind.LABEL, ((self.model(start), to),)))
            self.scene.soft.append((start, target))

    def _before_marks(self, start: Point, target: Point, to: Point) -> tuple[Point, Point]:
        """Return a leader's end, on paper and in the model: before a text or mark that stands on what it points at."""
        covers = [b for b in self.scene.boxes if b.holds(target) and not b.holds(start)]
        if not covers:
            return target, to
        low, high = 0.0, 1.0
        for _ in range(20):
            share = (low + high) / 2
            here = (start[0] + (target[0] - start[0]) * share, start[1] + (target[1] - start[1]) * share)
            low, high = (low, share) if any(b.holds(here) for b in covers) else (share, high)
        end = (start[0] + (target[0] - start[0]) * low, start[1] + (target[1] - start[1]) * low)
        return end, self.model(end)

    # --- marks

    def mark(
        self,
        shape: MarkShape,
        text: str,
        spots: Iterable[Point],
        *,
        kind: Kind = Kind.MARK,
        name: str = "",
        leader_to: Point | None = None,
        home: Ring | None = None,
        clear: float = 0.8,
    ) -> None:
        """Set a mark at the best of ``spots`` (model mm); where none is free, beside all that is drawn.

        ``leader_to``: where its leader points; a mark that stands in ``home`` needs none.
        """
        box_of = {
            "circle": (4.2, 4.2),
            "diamond": (5.6, 4.4),
            "box": (max(4.4, text_width(text, NOTE * 0.86) / 2 + 1.4), 2.8),
            "triangle": (3.8, 3.5),
            "delta": DELTA,
        }
        along, across = box_of[shape]
        if shape == "circle":
            along = across = max(4.2, text_width(text, NOTE * 0.86) / 2 + 1.0)
        places = list(spots)
        target = None if leader_to is None else self.paper(leader_to)
        if home is not None:
            inside = (Box(*self.paper(p), along, across) for p in places if home.contains(p))
            found = self.scene.best(inside, clear)
            if found is not None:
                self.draw_mark(shape, text, found[1], kind, name)
                return
        found = self.scene.best((Box(*self.paper(p), along, across) for p in places), clear, target)
        box = found[1] if found is not None else self._aside(target or self.paper(places[0]), along, across)
        self.draw_mark(shape, text, box, kind, name)
        if leader_to is not None:
            self.leader(box, leader_to)

    def section(self, letter: str, edges: Iterable[tuple[Point, float]], *, name: str = "") -> None:
        """Set a section's mark: a heavy stroke across an edge with its letter at one end.

        ``edges``: places on the edge (model mm) with the direction out of the wood there (radians), best first. Where none
        is free the letter goes beside all that is drawn, with its leader.
        """
        half = max(2.0, text_width(letter, SMALL, bold=True) / 2 + 0.5)
        tried: list[Point] = []
        strokes: list[tuple[Point, Point]] = []

        def boxes() -> Iterator[Box]:
            for at, outward in edges:
                tried.append(at)
                x, y = self.paper(at)
                c, s = math.cos(outward), math.sin(outward)
                for way, reach in ((1.0, 6.0), (-1.0, 7.5), (1.0, 9.0), (-1.0, 11.0), (1.0, 13.0)):
                    rim = reach - 2.4
                    stroke = ((x - way * 2.5 * c, y - way * 2.5 * s), (x + way * rim * c, y + way * rim * s))
                    if not self.scene.lettered(stroke):
                        strokes.append(stroke)
                        yield Box(x + way * reach * c, y + way * reach * s, half, 2.0)

        found = self.scene.best(boxes(), 0.6)
        if found is None:
            box = self._aside(self.paper(tried[0]), half, 2.0)
            self.leader(box, tried[0])
        else:
            k, box = found
            a, b = strokes[k]
            self.items.append(Lines(Kind.SECTION, ((self.model(a), self.model(b)),), name, WIDE))
            self.scene.soft.append(strokes[k])
        at_letter = self.model((box.x, box.y - 0.36 * SMALL))
        self.items.append(Text(Kind.SECTION, at_letter, letter, SMALL, "middle", 0.0, True, name))
        self.scene.boxes.append(box)

    def _aside(self, at: Point, along: float, across: float) -> Box:
        """Return a free box beside all that is drawn, at the height of ``at`` or as near to it as can be (paper mm)."""
        if self._beside is None:
            self._beside = self.bounds()
        # columns beside what stood before the first of these, so that they do not drive one another outwards
        x0, y0, x1, y1 = self._beside
        left = at[0] - x0 < x1 - at[0]
        for column in count():
            out = 2.0 + along + column * 14.0
            x = x0 - out if left else x1 + out
            for k in range(2 * int((y1 - y0) / across) + 2):
                y = at[1] + (k + 1) // 2 * (1 if k % 2 else -1) * across
                box = Box(x, y, along, across)
                if y0 - across <= y <= y1 + across and self.scene.free(box):
                    return box
        raise AssertionError("what is drawn ends somewhere")

    def draw_mark(self, shape: MarkShape, text: str, box: Box, kind: Kind, name: str) -> None:
        """Draw a mark in a box (paper mm) and keep its place."""
        x, y, w, h = box.x, box.y, box.along, box.across
        low = -0.5 * SMALL
        if shape == "circle":
            ring = circle(x, y, w)
        elif shape == "diamond":
            ring = polygon_ring([(x - w, y), (x, y - h), (x + w, y), (x, y + h)])
        elif shape == "box":
            ring = polygon_ring([(x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h)])
        else:
            ring = polygon_ring([(x - w, y - h), (x + w, y - h), (x, y + h)])
            low = -h + 0.9
        ring = ring.moved(self.model)
        width = WIDE if shape in ("circle", "delta") else NARROW
        if shape == "circle":
            centre = self.model((x, y))
            self.items.append(Circle(kind, centre, w / self.scale, name, width, Dash.SOLID, "white"))
        else:
            self.items.append(Path(kind, ring, True, name, width, Dash.SOLID, "white"))
        self.items.append(
            Text(kind, self.model((x, y + low)), text, SMALL, "middle", 0.0, shape in ("circle", "delta"), name)
        )
        self.scene.boxes.append(box)

    # --- dimensions

    def chain(
        self,
        features: Sequence[Point],
        heading: float,
        texts: Sequence[str],
        *,
        sides: Sequence[float] = (1.0, -1.0),
        start: float = 1.5,
        first: float = 10.0,
        lanes: int = 9,
        name: str = "",
    ) -> bool:
        """Dimension the distances between features (model mm) along ``heading`` (radians), best lane first; return
        whether there was one."""
        on_paper = [self.paper(p) for p in features]
        placed = place_chain(self.scene, on_paper, heading, texts, sides, start, first, lanes)
        if placed:
            self.keep(features, heading, placed, texts, name)
        return bool(placed)

    def keep(
        self, features: Sequence[Point], heading: float, lanes: Sequence[Lane], texts: Sequence[str], name: str
    ) -> None:
        """Draw placed lanes and remember them."""
        keep(self.scene, lanes, texts)
        c, s = math.cos(heading), math.sin(heading)
        for k, (lane, text) in enumerate(zip(lanes, texts, strict=True)):
            a, b = features[k], features[k + 1]
            value = abs((b[0] - a[0]) * c + (b[1] - a[1]) * s)
            label = Text(Kind.DIMENSION, self.model(lane.label_at), text, SMALL, "middle", lane.label_angle)
            tails = [
                tuple(self.model(p) for p in tail) for tail in lane.extensions if math.dist(tail[0], tail[1]) > 1e-6
            ]
            if lane.leader is not None:
                tails.append(tuple(self.model(p) for p in lane.leader))
            self.items.append(
                Dimension(
                    features=(a, b),
                    line=(self.model(lane.line[0]), self.model(lane.line[1])),
                    label=label,
                    value=value,
                    outside=lane.outside,
                    extensions=tuple(tails),
                    name=name,
                )
            )

    # --- the whole

    def bounds(self) -> tuple[float, float, float, float]:
        """Return the bounds of all that is drawn, paper mm."""
        scene = self.scene
        strokes = chain(scene.hard, scene.soft, scene.lines, scene.extensions, (box.corners for box in scene.boxes))
        points = [*chain.from_iterable(strokes)]
        xs = [x for x, _ in points]
        ys = [y for _, y in points]
        return (min(xs), min(ys), max(xs), max(ys))

    def view(self, name: str, title: str, label: str) -> View:
        """Return all that is drawn as a view, not yet placed on a sheet."""
        x0, y0, x1, y1 = self.bounds()
        k = self.scale
        return View(name, title, tuple(self.items), k, label, (0.0, 0.0), (x0 / k, y0 / k, x1 / k, y1 / k))


def open_path(points: Sequence[Point]) -> Ring:
    """Return an open path's vertices as a ring to be drawn with ``closed=False``."""
    return Ring(tuple(Vertex(x, y) for x, y in points))


def drawn_strokes(view: View) -> Iterator[tuple[Point, Point]]:
    """Yield what a placed view draws as strokes on its sheet (paper mm), texts by the outlines of their boxes."""
    k, (ox, oy) = view.scale, view.at

    def paper(p: Point) -> Point:
        return (p[0] * k + ox, p[1] * k + oy)

    for item in view.items:
        points: list[Sequence[Point]] = []
        text = item.label if isinstance(item, Dimension) else item if isinstance(item, Text) else None
        if isinstance(item, Path):
            ring = item.ring.flattened(0.2 / k)
            points.append([*ring, ring[0]] if item.closed else item.ring.points)
        elif isinstance(item, Lines):
            points += item.strokes
        elif isinstance(item, Dimension):
            points += [item.line, *item.extensions]
        elif isinstance(item, Circle):
            around = circle(*item.centre, item.radius / k if item.paper else item.radius).flattened(0.2 / k)
            points.append([*around, around[0]])
        for path in points:
            on_paper = [paper(p) for p in path]
            yield from zip(on_paper, on_paper[1:], strict=False)
        if text is not None:
            corners = text_box(paper(text.at), text.text, text.height, text.anchor, text.angle, text.bold).corners
            yield from zip(corners, corners[1:] + corners[:1], strict=True)


__all__ = ["LINE_PITCH", "MarkShape", "Pen", "drawn_strokes", "lane_box", "open_path", "outer_line"]
