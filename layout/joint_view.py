"""A joint seen from below, as the bench has it: the pieces lie face down, so left and right are exchanged.

Model frame: x and y along and across the left piece's grain, mirrored, mm, the joint's back end at (0, 0).
"""

from __future__ import annotations

import math
from itertools import pairwise

from layout import region
from layout.details import JointDetail
from layout.drawing import WIDE, Dash, Kind
from layout.outline import Frame, Point, Ring, circle, rectangle
from layout.page import SCALES
from layout.pen import Pen, open_path
from layout.pipeline import Layout
from layout.placement import around

LARGEST = 8
"""Joints are drawn no larger than 1 to this, and as large as fits ``ROOM``."""
ROOM = (95.0, 80.0)
"""Width and height that a joint's window may take, mm on paper."""
ROUND = 130.0
"""How much of the pieces is shown beyond the joint, mm."""


def draw_joint(layout: Layout, detail: JointDetail) -> tuple[Pen, str, str]:
    """Return a joint's view with its title and scale."""
    joint = detail.joint
    pieces = [p for name in joint.pieces for p in layout.divided.pieces if p.id == name]
    turned = Frame(*joint.points[0], pieces[0].leg.frame.angle)

    def local(p: Point) -> Point:
        x, y = turned.from_plan(p)
        return (-x, y)

    points = [local(p) for p in joint.points]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    x0, x1, y0, y1 = min(xs) - ROUND, max(xs) + ROUND, min(ys) - ROUND, max(ys) + ROUND
    ratio, name = _scale(layout, x1 - x0, y1 - y0)
    pen = Pen(1.0 / ratio)
    window = region.area_of(rectangle(x0, y0, x1, y1))
    shown = {}
    for piece in pieces:
        outline = [local(p) for p in piece.ring.flattened(0.05)]
        closed = [*outline, outline[0]]
        pen.strokes(Kind.PIECE, within(closed, window), name=piece.id, width=WIDE, obstacle="hard")
        shown[piece.id] = region.polygons(region.polygon(outline).intersection(window))
        for cut in (*piece.cutouts, *piece.crossing):
            rim = [local(p) for p in cut.ring.flattened(0.05)]
            pen.strokes(Kind.CUTOUT, within([*rim, rim[0]], window), name=cut.name, dash=Dash.SOLID)
    pen.ring(Kind.JOINT, open_path(points), closed=False, name=joint.id, width=WIDE)
    spots = [local(f.at) for f in detail.fasteners]
    reach, pocket = float(layout.job.shop.fastener.reach), float(layout.job.shop.fastener.pocket)
    for f, at in zip(detail.fasteners, spots, strict=True):
        _fastener(pen, at, math.pi - (f.angle - turned.angle), (reach, pocket), joint.id)
    _back(pen, points)
    _stations(layout, pen, points, spots)
    for piece in pieces:
        homes = sorted(shown[piece.id], key=lambda p: -p.area)
        if homes:
            heart = region.inner_point(homes[0])
            around = [
                (heart[0] + dx, heart[1] + dy) for dx in (0, 60, -60, 120, -120) for dy in (0, 60, -60, 120, -120)
            ]
            inside = [p for p in around if homes[0].contains(region.spot(p))]
            pen.mark("circle", piece.id, inside or [heart], name=piece.id, leader_to=heart)
    count = len(detail.fasteners)
    kind = "seam" if joint.kind == "seam" else joint.kind
    title = f"{joint.id}, {kind}, seen from below (mirrored): {count} fastener{'' if count == 1 else 's'}"
    return pen, title, name


def _scale(layout: Layout, width: float, height: float) -> tuple[int, str]:
    units = layout.job.job.units
    scales = [s for s in SCALES[units] if s[0] >= LARGEST]
    for ratio, name in scales:
        if width / ratio <= ROOM[0] and height / ratio <= ROOM[1]:
            return ratio, f"{name} (1:{ratio})" if units == "in" else name
    ratio, name = scales[-1]
    return ratio, name


def within(points: list[Point], window: region.Region) -> list[tuple[Point, Point]]:
    """Return a closed outline's strokes as far as they lie in the window."""
    shared = region.path(points).intersection(window.buffer(-0.5))
    lines = shared.geoms if hasattr(shared, "geoms") else [shared]
    return [
        (p[:2], q[:2])
        for line in lines
        if line.geom_type == "LineString"
        for p, q in pairwise([(c[0], c[1]) for c in line.coords])
    ]


def _back(pen: Pen, points: list[Point]) -> None:
    """Say which end of the joint is at the back."""
    (x, y), (x1, y1) = points[0], points[1]
    away = math.atan2(y - y1, x - x1)
    spots = [pen.model(p) for p in around(pen.paper((x, y)), (5.0, 7.0, 10.0, 14.0), 16, away)]
    pen.label(Kind.LABEL, ["back"], spots, leader_to=(x, y), leader_from=8.0, must=True)


def _fastener(pen: Pen, at: Point, angle: float, size: tuple[float, float], name: str) -> None:
    """Draw a fastener: a bolt across the joint with a pocket in each piece."""
    c, s = math.cos(angle + math.pi / 2), math.sin(angle + math.pi / 2)
    ends = [(at[0] + way * size[0] * c, at[1] + way * size[0] * s) for way in (-1.0, 1.0)]
    pen.strokes(Kind.SUPPORT, [(ends[0], ends[1])], name=name)
    for x, y in ends:
        pocket: Ring = circle(x, y, size[1])
        pen.ring(Kind.SUPPORT, pocket, name=name, hard=False, fill="grey")


def _stations(layout: Layout, pen: Pen, points: list[Point], spots: list[Point]) -> None:
    """Say where the fasteners lie along the joint's straight part, from its end at the back."""
    if not spots:
        return
    start, _ = max(pairwise(points), key=lambda pair: math.dist(*pair))
    labels = layout.laid.labels
    x0, y0, _, _ = pen.bounds()
    words = ", ".join(labels.text(math.dist(start, p)) for p in spots)
    pen.text(Kind.LABEL, pen.model((x0, y0 - 5.0)), f"from the back: {words}")
    pen.text(Kind.LABEL, pen.model((x0, y0 - 9.2)), "drawn up at the back, then in front, then between")
