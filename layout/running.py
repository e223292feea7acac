"""Running dimensions: positions along an axis from one datum, on a row beside an outline, each rounded once.

A figure stands at the end of its extension line; neighbours that come too near are spread, their extension lines bent.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from layout.drawing import ARROW, SMALL, Anchor, Circle, Dimension, Kind, Text
from layout.outline import Point
from layout.pen import Pen
from layout.placement import Box, text_box
from layout.units import Labels

ROW = 12.0
"""The running dimension line lies so far from the outline, mm."""
PITCH = 4.2
"""Least distance between the figures of neighbouring running dimensions, mm."""


class Running:
    """Rows of running dimensions in one view, from the datum at x = 0 or y = 0."""

    def __init__(self, pen: Pen, labels: Labels, name: str) -> None:
        """Take the pen, how lengths are printed, and what the dimensions are called."""
        self.pen = pen
        self.labels = labels
        self.name = name

    def draw(
        self,
        points: Sequence[Point],
        axis: str,
        level: float,
        way: float,
        taken: set[int],
        elsewhere: Sequence[Point] = (),
    ) -> None:
        """Dimension positions along an axis from its datum, on a row beside the outline; each position once.

        ``elsewhere``: points of the row at the other side, for which a figure of this one speaks too.
        """
        k = 0 if axis == "x" else 1
        wanted: dict[int, Point] = {}
        same: dict[int, list[Point]] = {}
        for p in points:
            tick = self.labels.ticks(p[k])
            if tick in taken or tick == 0:
                continue
            same.setdefault(tick, []).append(p)
            # of several points at one position the one nearest to the row carries the extension line
            best = wanted.get(tick)
            if best is None or way * p[1 - k] > way * best[1 - k]:
                wanted[tick] = p
        if not wanted:
            return
        for p in elsewhere:
            if (tick := self.labels.ticks(p[k])) in wanted:
                same[tick].append(p)
        taken.update(wanted)
        ticks = sorted(wanted)
        scale = self.pen.scale
        # the datum's nought stands at 0 and keeps its place
        spread = _spread([wanted[t][k] * scale for t in ticks], low=PITCH)
        base = level * scale + way * ROW
        self._origin(axis, base, way)
        for tick, place in zip(ticks, spread, strict=True):
            self._run(axis, wanted[tick], tick, place, base, way, tuple(same[tick]))

    def _origin(self, axis: str, base: float, way: float) -> None:
        """Draw the datum: a small circle on the running line with its nought."""
        pen = self.pen
        at = (0.0, base) if axis == "x" else (base, 0.0)
        pen.items.append(Circle(Kind.DIMENSION, pen.model(at), 0.9 / pen.scale, "datum"))
        pen.scene.boxes.append(Box(at[0], at[1], 1.2, 1.2))
        nought = (0.5 * SMALL, base + way * 4.8) if axis == "x" else (base + way * 4.8, -0.5 * SMALL)
        anchor: Anchor = "start" if way > 0 else "end"
        pen.text(
            Kind.DIMENSION, pen.model(nought), "0", anchor=anchor, angle=90.0 if axis == "x" else 0.0, name="datum"
        )

    def _run(
        self, axis: str, point: Point, tick: int, place: float, base: float, way: float, also: tuple[Point, ...]
    ) -> None:
        """Draw one running dimension: line from the datum, arrow at the position, figure at the end of its extension."""
        pen = self.pen
        text = self.labels.of_ticks(tick)
        value = point[0] if axis == "x" else point[1]
        here = value * pen.scale
        feature = pen.paper(point)
        knee, end = base + way * 2.0, base + way * 4.0
        anchor: Anchor = "start" if way > 0 else "end"
        if axis == "x":
            start = (0.0, base)
            line = ((0.0, base), (here, base))
            tail = [(here, feature[1] + way * 1.5), (here, knee), (place, end)]
            at, angle = (place + 0.5 * SMALL, end + way * 0.8), 90.0
            datum: Point = (0.0, point[1])
        else:
            start = (base, 0.0)
            line = ((base, 0.0), (base, here))
            tail = [(feature[0] + way * 1.5, here), (knee, here), (end, place)]
            at, angle = (end + way * 0.8, place - 0.5 * SMALL), 0.0
            datum = (point[0], 0.0)
        label = Text(Kind.DIMENSION, pen.model(at), text, SMALL, anchor, angle)
        if math.dist(tail[1], tail[2]) < 1e-9:
            tail.pop(1)
        pen.items.append(
            Dimension(
                features=(datum, point),
                line=(pen.model(line[0]), pen.model(line[1])),
                label=label,
                value=abs(value),
                arrows=(False, here > ARROW),
                extensions=(tuple(pen.model(p) for p in tail),),
                name=f"{self.name} {axis}",
                also=also,
            )
        )
        pen.scene.boxes.append(text_box(at, text, SMALL, anchor, angle))
        pen.scene.lines.append((start, line[1]))
        pen.scene.extensions += list(zip(tail, tail[1:], strict=False))


def _spread(places: Sequence[float], low: float) -> list[float]:
    """Return positions at least ``PITCH`` apart and none below ``low``, in order, as near to ``places`` as can be.

    Pool adjacent violators on the positions less their pitches; what falls below ``low`` is raised to it.
    """
    blocks: list[tuple[float, int]] = []
    for k, p in enumerate(places):
        blocks.append((max(p - k * PITCH, low), 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (a, n), (b, m) = blocks[-2:]
            blocks[-2:] = [((a * n + b * m) / (n + m), n + m)]
    out: list[float] = []
    for value, count in blocks:
        out += [value + (len(out) + j) * PITCH for j in range(count)]
    return out
