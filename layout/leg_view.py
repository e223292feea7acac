"""A leg at a larger scale, where the plan has no room for its stations: each from the wall's own start, as it was taped.

Model frame: x along the wall from its start, y towards the back, mm, the wall's straight line at y = 0.
"""

from __future__ import annotations

from itertools import pairwise

from layout import region
from layout.drawing import WIDE, Dash, Kind
from layout.joint_view import within
from layout.outline import Point, rectangle
from layout.page import SCALES
from layout.pen import Pen
from layout.pipeline import Layout
from layout.placement import around
from layout.running import Running
from layout.top_plans import Leg, TopPlan

LARGEST = 8
ROOM = 170.0
"""A leg's view is as large as fits this width, mm on paper, and no larger than 1 to ``LARGEST``."""
BEYOND = 60.0
"""How much is shown beyond the leg's ends, mm."""


def draw_leg(layout: Layout, top: TopPlan, leg: Leg) -> tuple[Pen, str, str]:
    """Return a leg's view with its title and scale."""
    assert leg.wall is not None
    labels, units, wall = layout.laid.labels, layout.job.job.units, leg.wall
    x0, x1 = min(leg.start, 0.0), leg.end
    scales = [s for s in SCALES[units] if s[0] >= LARGEST]
    ratio, name = next((s for s in scales if (x1 - x0 + 2 * BEYOND) / s[0] <= ROOM), scales[-1])
    pen = Pen(1.0 / ratio)
    local = leg.frame.from_plan
    window = region.area_of(rectangle(x0 - BEYOND, leg.front - BEYOND, x1 + BEYOND, BEYOND))
    face = [p for p in wall.face if x0 - BEYOND <= p[0] <= x1 + BEYOND]
    pen.strokes(Kind.WALL, list(pairwise(face)), width=WIDE, name=wall.name)
    for piece in (p for p in layout.divided.pieces if p.top == top.name):
        outline = [local(p) for p in piece.ring.flattened(0.05)]
        pen.strokes(Kind.PIECE, within([*outline, outline[0]], window), name=piece.id, width=WIDE, obstacle="hard")
    stations: list[Point] = []
    cuts = [c for c in layout.laid.cutouts if c.top == top.name and c.leg == leg]
    for cut in cuts:
        ring = cut.ring.moved(local)
        pen.ring(Kind.CUTOUT, ring, name=cut.name)
        low, high = ring.bounds()[1] - 3.0 * ratio, ring.bounds()[3] + 3.0 * ratio
        pen.strokes(Kind.CENTRE, [((cut.station, low), (cut.station, high))], dash=Dash.CHAIN, name=cut.name)
        stations.append((cut.station, ring.bounds()[3]))
    for joint in layout.divided.joints:
        if joint.top == top.name and joint.wall == wall.name and joint.station is not None:
            stations.append((joint.station, leg.back))
    for a, b in top.ring.edges():
        if a.side in (f"{wall.name} back", "left", "right") or a.side.startswith("notch "):
            stations += [
                # a run's far end may lie above this leg, beyond its wall
                p
                for p in (local(a.at), local(b.at))
                if x0 - 1.0 <= p[0] <= x1 + 1.0 and leg.front + 1.0 < p[1] <= BEYOND
            ]
    base = 4.0 * ratio
    Running(pen, labels, f"leg {top.name} {wall.name}").draw(stations, "x", base, 1.0, set())
    for cut in cuts:
        at = local(cut.center)
        spots = [pen.model(p) for p in around(pen.paper(at), (0.0, 6.0, 8.0, 11.0, 15.0, 20.0, 27.0, 36.0))]
        pen.mark("box", cut.name, spots, name=cut.name, leader_to=at)
    label = f"{name} (1:{ratio})" if units == "in" else name
    return pen, f"{top.name} along {wall.name}: stations from the left end of the wall", label
