"""What the plan is dimensioned by: each leg's features and lengths behind it, fronts before it, depths at its ends.

Of two front lengths whose lines would cross at an inside corner one has a line, the other is printed along its edge.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from layout.dimension_lanes import Lane, chain_lanes, lanes_cost
from layout.drawing import Kind
from layout.outline import Point
from layout.pen import Pen
from layout.pipeline import Layout
from layout.placement import around, readable
from layout.top_plans import Leg, TopPlan

WALL_BAND = 4.0
"""How thick walls are drawn, mm on paper."""


class PlanDimensions:
    """Dimensions a plan that is drawn with ``pen``."""

    def __init__(self, layout: Layout, pen: Pen) -> None:
        """Take the layout to dimension and the pen that drew it."""
        self.layout = layout
        self.laid = layout.laid
        self.labels = layout.laid.labels
        self.pen = pen
        self.missed: list[str] = []
        """What found no clear lane, in words; the caption says so, and the pieces' own views have it."""
        self.crowded: list[tuple[str, str]] = []
        """Top and wall of each leg whose stations found no clear lane; each gets a view of its own."""

    def _chain(self, points: Sequence[Point], heading: float, texts: Sequence[str], *, name: str, **where: Any) -> None:
        """Dimension along ``heading``, or note that it found no room."""
        if not self.pen.chain(points, heading, texts, name=name, **where):
            self.missed.append(name)

    def _texts(self, stations: Sequence[float]) -> list[str]:
        """Return chain members as differences of rounded positions, so that what is printed adds up."""
        ticks = [self.labels.ticks(x - stations[0]) for x in stations]
        return [self.labels.of_ticks(b - a) for a, b in zip(ticks, ticks[1:], strict=False)]

    def runs(self) -> None:
        """Dimension each leg of each run: features and lengths behind, front edges before, depths at the ends."""
        for top in self.laid.tops:
            if top.shape == "run":
                for leg in top.legs:
                    self._leg_behind(top, leg)
                for leg in top.legs:
                    self._leg_front(top, leg)
                self._depths(top)

    def _edges_of(self, top: TopPlan, side: str) -> list[tuple[float, float]]:
        """Return the stations of a side's edges in each part of the top, left to right."""
        leg = next(g for g in top.legs if g.wall and side.startswith(f"{g.wall.name} "))
        out = []
        wanted = {side}
        # a corner that is taken off belongs to the side's extent
        if leg is top.legs[0]:
            wanted.add(f"{side.rsplit(maxsplit=1)[-1]} left")
        if leg is top.legs[-1]:
            wanted.add(f"{side.rsplit(maxsplit=1)[-1]} right")
        for part in self.layout.divided.parts:
            mine = [(a, b) for a, b in part.ring.edges() if a.side in wanted]
            xs = [leg.frame.from_plan(p)[0] for a, b in mine for p in (a.at, b.at)]
            if part.top == top.name and any(a.side == side for a, _ in mine):
                out.append((min(xs), max(xs)))
        return sorted(out)

    def _features(self, top: TopPlan, leg: Leg) -> list[float]:
        xs = [c.station for c in self.laid.cutouts if c.top == top.name and c.leg == leg]
        name = leg.wall.name if leg.wall else None
        for part in self.layout.divided.parts:
            if part.top == top.name:
                notches = [s.name for s in part.sides.values() if s.name.startswith("notch ") and s.wall == name]
                edges = [(a, b) for a, b in part.ring.edges() if a.side in notches]
                xs += [leg.frame.from_plan(p)[0] for a, b in edges for p in (a.at, b.at)]
        xs += [
            j.station
            for j in self.layout.divided.joints
            if j.top == top.name and j.station is not None and j.wall == name
        ]
        return xs

    def _leg_behind(self, top: TopPlan, leg: Leg) -> None:
        assert leg.wall is not None
        spans = self._edges_of(top, f"{leg.wall.name} back")
        if not spans:
            return
        heading = leg.frame.angle
        begin = 1.5 if leg.wall.open else WALL_BAND + 2.0
        stations = {x for span in spans for x in span} | set(self._features(top, leg))
        stations = set(_apart(sorted(stations), self.labels.ticks))
        inside = sorted(x for x in stations if spans[0][0] - 1e-6 <= x <= spans[-1][1] + 1e-6)
        if len(inside) > 2:
            points = [leg.frame.to_plan((x, leg.back)) for x in inside]
            name = f"{top.name} stations"
            if not self.pen.chain(points, heading, self._texts(inside), start=begin, first=11.0, name=name):
                self.crowded.append((top.name, leg.wall.name))
        for span in spans:
            if len(spans) > 1 and not any(span[0] + 1e-6 < x < span[1] - 1e-6 for x in inside):
                continue
            points = [leg.frame.to_plan((x, leg.back)) for x in span]
            self._chain(points, heading, self._texts(span), start=begin, first=11.0, name=f"{top.name} length")

    def _leg_front(self, top: TopPlan, leg: Leg) -> None:
        """Dimension a leg's front edges, where they are not as long as its back."""
        assert leg.wall is not None
        fronts = self._edges_of(top, f"{leg.wall.name} front")
        backs = self._edges_of(top, f"{leg.wall.name} back")
        same = {self.labels.ticks(x) for span in backs for x in span}
        for span in fronts:
            if all(self.labels.ticks(x) in same for x in span):
                continue
            points = [leg.frame.to_plan((x, leg.front)) for x in span]
            texts, name = self._texts(span), f"{top.name} front"
            if not self.pen.chain(points, leg.frame.angle, texts, sides=(-1.0,), lanes=3, name=name):
                self._front_label(leg, span, texts[0], name)

    def _front_label(self, leg: Leg, span: tuple[float, float], length: str, name: str) -> None:
        """Print a front's length along its edge, where its dimension line would cross another."""
        shares = (0.5, 0.35, 0.65, 0.25, 0.75, 0.15, 0.85)

        def beside(offsets: Sequence[float]) -> list[Point]:
            along = [span[0] + (span[1] - span[0]) * share for share in shares]
            return [leg.frame.to_plan((x, leg.front + off / self.pen.scale)) for off in offsets for x in along]

        words, angle = [f"front {length}"], readable(math.degrees(leg.frame.angle))
        if not self.pen.label(Kind.LABEL, words, beside((4.4, -3.4, 6.4, -5.4)), angle=angle, name=name):
            middle = leg.frame.to_plan(((span[0] + span[1]) / 2, leg.front))
            far = beside((9.0, -8.0, 12.0, -14.0))
            self.pen.label(Kind.LABEL, words, far, angle=angle, leader_to=middle, must=True, name=name)

    def _depths(self, top: TopPlan) -> None:
        first, last = top.legs[0], top.legs[-1]
        x0 = min(x for x, _ in self._edges_of(top, f"{first.wall.name if first.wall else ''} back"))
        self._depth(top, first, x0, (1.0, -1.0))
        if last is not first:
            x1 = max(x for _, x in self._edges_of(top, f"{last.wall.name if last.wall else ''} back"))
            self._depth(top, last, x1, (-1.0, 1.0))
        for leg in top.legs[1:-1]:
            self._depth_inside(top, leg)

    def _depth(self, top: TopPlan, leg: Leg, x: float, sides: tuple[float, float]) -> None:
        """Dimension a leg's depth at its end; heading towards the back, so that left of it is left of the leg."""
        points = [leg.frame.to_plan((x, y)) for y in (leg.front, leg.back)]
        text = self.labels.text(leg.back - leg.front)
        self._chain(points, leg.frame.angle + math.pi / 2, [text], sides=sides, first=10.0, name=f"{top.name} depth")

    def _depth_inside(self, top: TopPlan, leg: Leg) -> None:
        text = self.labels.text(leg.back - leg.front)
        for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.45, 0.55, 0.35, 0.65, 0.25, 0.75):
            x = leg.start + (leg.end - leg.start) * share
            points = [leg.frame.to_plan((x, y)) for y in (leg.front, leg.back)]
            if self.inside_dimension(points, leg.frame.angle + math.pi / 2, text, f"{top.name} depth"):
                return
        self.missed.append(f"{top.name} depth")

    def inside_dimension(self, points: Sequence[Point], heading: float, text: str, name: str) -> bool:
        """Place a dimension between its very features, its line in the wood; return whether there was room."""
        on_paper = [self.pen.paper(p) for p in points]
        lanes = chain_lanes(on_paper, heading, 1e-6, [text], 0.0)
        if math.isinf(lanes_cost(self.pen.scene, lanes, [text])):
            return False
        bare = [Lane(lane.line, lane.label_at, lane.label_angle, lane.outside, (), None) for lane in lanes]
        self.pen.keep(points, heading, bare, [text], name)
        return True

    def boxes(self) -> None:
        """Dimension rectangles and outlines: extent both ways, cutout centres from the left end and the front."""
        for top in self.laid.tops:
            if top.shape == "run":
                continue
            frame = top.frame
            x0, y0, x1, y1 = top.ring.bounds(frame)
            cuts = [frame.from_plan(c.center) for c in self.laid.cutouts if c.top == top.name]
            xs = _apart(sorted({x0, x1, *(p[0] for p in cuts)}), self.labels.ticks)
            ys = _apart(sorted({y0, y1, *(p[1] for p in cuts)}), self.labels.ticks)
            ahead, up = frame.angle, frame.angle + math.pi / 2
            if len(xs) > 2:
                points = [frame.to_plan((x, y1)) for x in xs]
                self._chain(points, ahead, self._texts(xs), name=f"{top.name} stations")
            if len(ys) > 2:
                points = [frame.to_plan((x1, y)) for y in ys]
                self._chain(points, up, self._texts(ys), sides=(-1.0, 1.0), name=f"{top.name} stations")
            points = [frame.to_plan((x, y0)) for x in (x0, x1)]
            self._chain(points, ahead, self._texts([x0, x1]), sides=(-1.0, 1.0), name=f"{top.name} length")
            points = [frame.to_plan((x0, y)) for y in (y0, y1)]
            self._chain(points, up, self._texts([y0, y1]), name=f"{top.name} depth")

    def walls(self) -> None:
        """Dimension each wall as measured, and print every corner's angle."""
        room = self.laid.room
        verify = " verify in field" if any(f.code == "not-final-measure" for f in self.layout.findings) else ""
        for wall in room.walls:
            noun = "open line" if wall.open else "wall"
            text = f"{noun} {wall.name} {self.labels.text(wall.length)}{verify}"
            start = 1.5 if wall.open else WALL_BAND + 2.0
            self._chain(
                [wall.start, wall.end], wall.frame.angle, [text], start=start, first=11.0, name=f"wall {wall.name}"
            )
        for wall in room.walls:
            after = room.after(wall)
            if after is None:
                continue
            text = f"{round(wall.corner, 1):g}°"
            outward = math.atan2(
                math.sin(wall.frame.angle + math.pi / 2) + math.sin(after.frame.angle + math.pi / 2),
                math.cos(wall.frame.angle + math.pi / 2) + math.cos(after.frame.angle + math.pi / 2),
            )
            spots = [
                self.pen.model(p)
                for p in around(self.pen.paper(wall.end), (9.0, 12.0, 16.0, 21.0, 27.0, 34.0), 12, outward)
            ]
            self.pen.label(Kind.LABEL, [text], spots, leader_to=wall.end, must=True, name=f"{wall.name}/{after.name}")


def _apart(values: Sequence[float], ticks: Callable[[float], int]) -> list[float]:
    """Return sorted values without those that print the same as their neighbour."""
    out: list[float] = []
    for value in values:
        if not out or ticks(value - values[0]) != ticks(out[-1] - values[0]):
            out.append(value)
    return out
