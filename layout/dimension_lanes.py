"""Lanes of dimensions: a chain of dimension lines beside what it measures, its figures apart, where a scene leaves room.

All coordinates are paper millimetres in a view's own frame.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from layout.drawing import ARROW, SMALL, TAIL
from layout.lettering import text_width
from layout.outline import Point
from layout.placement import Box, Scene, Stroke, readable, text_box


@dataclass(frozen=True, slots=True)
class Lane:
    """A placed dimension line with its label: paper mm."""

    line: Stroke
    label_at: Point
    label_angle: float
    outside: bool
    extensions: tuple[tuple[Point, ...], ...]
    leader: Stroke | None = None


GAP, OVER = 1.5, 2.5
"""An extension line starts so far from its feature and runs so far beyond the dimension line, mm."""
FIRST, NEXT = 10.0, 8.0
"""The first dimension line lies so far from the outline, further ones so far apart, mm."""


def chain_lanes(
    features: Sequence[Point], heading: float, offset: float, texts: Sequence[str], start: float = GAP
) -> list[Lane]:
    """Return the lanes of a chain through ``features`` along ``heading`` (radians), its line ``offset`` to the left of them.

    ``offset`` counts from the outermost feature; negative: to the right. ``start``: where extension lines begin, from each
    feature. A text too wide for its place is raised above its neighbours.
    """
    c, s = math.cos(heading), math.sin(heading)
    side = 1.0 if offset > 0 else -1.0
    across = [side * (-p[0] * s + p[1] * c) for p in features]
    level = side * (max(across) + abs(offset))
    feet = [((p[0] * c + p[1] * s) * c - level * s, (p[0] * c + p[1] * s) * s + level * c) for p in features]
    tails = []
    for p, foot in zip(features, feet, strict=True):
        reach = math.dist(p, foot)
        ux, uy = -side * s, side * c
        begin = (p[0] + ux * min(start, reach), p[1] + uy * min(start, reach))
        tails.append((begin, (foot[0] + ux * OVER, foot[1] + uy * OVER)))
    angle = readable(math.degrees(heading))
    turn = math.radians(angle)
    nx, ny = -math.sin(turn), math.cos(turn)
    tx, ty = math.cos(turn), math.sin(turn)
    widths = [text_width(text, SMALL) for text in texts]
    spans = list(zip(feet, feet[1:], strict=False))
    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in spans]
    tight = [k for k, (a, b) in enumerate(spans) if len(texts) > 1 and widths[k] + 1.0 > math.dist(a, b)]
    raised = dict(
        zip(tight, _side_by_side([(middles[k][0] * tx + middles[k][1] * ty, widths[k]) for k in tight]), strict=True)
    )
    lanes = []
    for k, (a, b) in enumerate(spans):
        middle, leader = middles[k], None
        at = (middle[0] + nx * 0.9, middle[1] + ny * 0.9)
        if k in raised:
            along = raised[k] - (middle[0] * tx + middle[1] * ty)
            at = (middle[0] + nx * RAISED + tx * along, middle[1] + ny * RAISED + ty * along)
            leader = (middle, (at[0] - nx * 0.7, at[1] - ny * 0.7))
        outside = math.dist(a, b) < 2 * ARROW + 1.0
        lanes.append(Lane((a, b), at, angle, outside, (tails[k], tails[k + 1]), leader))
    return lanes


RAISED = 4.6
"""The baseline of a figure that finds no room between its arrows lies so far above the line, mm."""


def _side_by_side(texts: Sequence[tuple[float, float]]) -> list[float]:
    """Return middles for texts of given (middle, width), in their order, beside one another and near to where they belong."""
    if len(texts) > 1 and texts[0][0] > texts[-1][0]:
        return _side_by_side(texts[::-1])[::-1]
    blocks: list[tuple[float, int]] = []
    offsets: list[float] = []
    for k, (middle, width) in enumerate(texts):
        offsets.append(0.0 if k == 0 else offsets[-1] + (texts[k - 1][1] + width) / 2 + 1.6)
        blocks.append((middle - offsets[-1], 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (a, n), (b, m) = blocks[-2:]
            blocks[-2:] = [((a * n + b * m) / (n + m), n + m)]
    flat = [value for value, count in blocks for _ in range(count)]
    return [value + offset for value, offset in zip(flat, offsets, strict=True)]


def lane_box(lane: Lane, text: str) -> Box:
    """Return the box of a lane's label."""
    return text_box(lane.label_at, text, SMALL, "middle", lane.label_angle)


def lanes_cost(scene: Scene, lanes: Sequence[Lane], texts: Sequence[str]) -> float:
    """Return what placing these lanes costs; infinite where they may not lie."""
    total = 0.0
    boxes: list[Box] = []
    for lane, text in zip(lanes, texts, strict=True):
        box = lane_box(lane, text)
        if not scene.free(box) or any(box.grown(0.3).meets(b) for b in boxes):
            return math.inf
        boxes.append(box)
        total += 8.0 * scene.crossed(box)
        line = outer_line(lane)
        total += scene.stroke_cost(line)
        for tail in lane.extensions:
            if len(tail) > 1 and math.dist(tail[0], tail[1]) > 1e-6:
                total += scene.stroke_cost((tail[0], tail[1]), extension=True)
        if math.isinf(total):
            return total
    for box in boxes:
        for lane in lanes:
            total += 8.0 * sum(box.cut_by((t[0], t[1])) for t in lane.extensions)
            if lane.leader is not None and box.cut_by(lane.leader):
                total += 20.0
    return total


def outer_line(lane: Lane) -> Stroke:
    """Return the dimension line with the tails of arrows that point inwards from outside."""
    if not lane.outside:
        return lane.line
    (ax, ay), (bx, by) = lane.line
    length = math.hypot(bx - ax, by - ay) or 1.0
    ux, uy = (bx - ax) / length * TAIL, (by - ay) / length * TAIL
    return ((ax - ux, ay - uy), (bx + ux, by + uy))


def keep(scene: Scene, lanes: Sequence[Lane], texts: Sequence[str]) -> None:
    """Remember placed lanes in the scene."""
    for lane, text in zip(lanes, texts, strict=True):
        scene.boxes.append(lane_box(lane, text))
        scene.lines.append(outer_line(lane))
        scene.extensions += [(t[0], t[1]) for t in lane.extensions]
        if lane.leader is not None:
            scene.extensions.append(lane.leader)


def place_chain(
    scene: Scene,
    features: Sequence[Point],
    heading: float,
    texts: Sequence[str],
    sides: Sequence[float] = (1.0, -1.0),
    start: float = GAP,
    first: float = FIRST,
    lanes: int = 9,
) -> list[Lane]:
    """Return the best place for a chain of dimensions: nearest lane first, on the sides in order of liking.

    ``sides``: 1 for the left of ``heading``, -1 for the right. Empty where every lane is barred: what cannot stand clear
    is not drawn over something else.
    """
    best: tuple[float, list[Lane]] | None = None
    steps = [*range(lanes), *(k + 0.5 for k in range(lanes))]
    for preference, side in enumerate(sides):
        for k in steps:
            least = 5.0 * k + 18.0 * preference + (9.0 if k % 1 else 0.0)
            if best is not None and least >= best[0]:
                continue
            found = chain_lanes(features, heading, side * (first + k * NEXT), texts, start)
            cost = lanes_cost(scene, found, texts) + least
            if not math.isinf(cost) and (best is None or cost < best[0]):
                best = (cost, found)
    return [] if best is None else best[1]
