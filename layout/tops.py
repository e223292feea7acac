"""The tops of a job as they lie in plan: runs along walls, rectangles and free outlines, the latter beside the room."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from layout import region
from layout.cutting import CornerShape
from layout.faults import PlaceError
from layout.job import Job
from layout.job_tops import BoxCorner, OutlineTop, RectTop, RunTop
from layout.outline import Frame, Point, Ring, Vertex, rectangle
from layout.room import Room
from layout.rules import TOP_SPACING
from layout.runs import run_plan
from layout.top_plans import Leg, Side, TopPlan, corner_shape, corner_sides, cornered


def lay_tops(job: Job, room: Room) -> tuple[TopPlan, ...]:
    """Return every top of the job in plan, in file order. Raises PlaceError where one cannot be laid out."""
    tops: list[TopPlan] = []
    for k, top in enumerate(job.top):
        if isinstance(top, RunTop):
            tops.append(run_plan(job, room, k, top))
        else:
            plan = _rectangle(k, top) if isinstance(top, RectTop) else _outline(k, top)
            tops.append(_placed(job, plan, top, room, tops))
    return tuple(tops)


def _rectangle(k: int, top: RectTop) -> TopPlan:
    over = top.overhang
    left, right, front, back = (float(o) for o in (over.left, over.right, over.front, over.back))
    if top.size is not None:
        width, depth = (float(s) for s in top.size)
    else:
        assert top.base is not None
        width, depth = float(top.base[0]) + left + right, float(top.base[1]) + front + back
    if left + right >= width or front + back >= depth:
        raise PlaceError(("top", k, "overhang"), "overhangs that leave nothing to stand on", "less than the size")
    ring = rectangle(0.0, 0.0, width, depth, ("front", "right", "back", "left"))
    marks: dict[BoxCorner, int] = {"front left": 0, "front right": 1, "back right": 2, "back left": 3}
    shapes = {marks[name]: (corner_shape(name, cut), name) for name, cut in top.corners.items()}
    ring = cornered(ring, shapes, ("top", k, "corners"))
    sides = [
        Side("front", "front", True),
        Side("back", "back", True),
        Side("left", "end", True, None, "exposed"),
        Side("right", "end", True, None, "exposed"),
        *corner_sides(),
    ]
    built = rectangle(left, front, width - right, depth - back)
    frame = Frame(0.0, 0.0, math.radians(top.turn))
    leg = Leg(frame, depth, 0.0, 0.0, width)
    return TopPlan(top.name, "rectangle", k, ring, (leg,), (), {s.name: s for s in sides}, frame, built)


def _outline(k: int, top: OutlineTop) -> TopPlan:
    points = [(float(x), float(y)) for x, y in top.outline]
    v = []
    for i, p in enumerate(points):
        q = points[(i + 1) % len(points)]
        rise = float(top.rise.get(str(i + 1), 0) or 0.0)
        # outward is right of a counter-clockwise edge, and so is a positive bulge; tan(sweep / 4) = rise / half the chord
        v.append(Vertex(*p, 2.0 * rise / math.dist(p, q), str(i + 1)))
    ring = Ring(tuple(v))
    if not region.is_simple(ring):
        raise PlaceError(("top", k, "rise"), "an arc that runs through another edge", "rises that keep the edges apart")
    shapes: dict[int, tuple[CornerShape, str]] = {}
    for number, cut in top.corners.items():
        if cut.radius is not None:
            shape = CornerShape(radius=float(cut.radius))
        else:
            clip = cut.clip if isinstance(cut.clip, tuple) else (cut.clip, cut.clip)
            before, after = (float(c) for c in clip if c is not None)
            shape = CornerShape(before=before, after=after)
        shapes[int(number) - 1] = (shape, f"corner {number}")
    ring = cornered(ring, shapes, ("top", k, "corners"))
    grain = math.radians(top.grain)
    turn = Frame(0.0, 0.0, math.radians(top.turn))
    sides = [_outline_side(str(i + 1), points[i], points[(i + 1) % len(points)], grain) for i in range(len(points))]
    sides += [Side(f"corner {i + 1}", "corner", True) for i in range(len(points))]
    grain_frame = Frame(0.0, 0.0, turn.angle + grain)
    x0, y0, x1, y1 = ring.bounds(Frame(0.0, 0.0, grain))
    built = None
    if top.support is not None:
        built = Ring(tuple(Vertex(float(x), float(y)) for x, y in top.support))
    leg = Leg(grain_frame, y1, y0, x0, x1)
    return TopPlan(top.name, "outline", k, ring, (leg,), (), {s.name: s for s in sides}, turn, built)


def _outline_side(name: str, p: Point, q: Point, grain: float) -> Side:
    """An edge mostly across the grain is an end; of the others the one that looks towards -y of the grain is a front."""
    heading = math.atan2(q[1] - p[1], q[0] - p[0]) - grain
    if abs(math.sin(heading)) > math.sqrt(0.5):
        return Side(name, "end", True, None, "exposed")
    return Side(name, "front" if math.cos(heading) > 0 else "back", True)


def _placed(job: Job, plan: TopPlan, top: RectTop | OutlineTop, room: Room, before: list[TopPlan]) -> TopPlan:
    """Return the top moved to its place: ``at``, else right of all before it with its back level with theirs."""
    turned = Frame(0.0, 0.0, plan.frame.angle)
    if top.at is not None:
        at = (float(top.at[0]), float(top.at[1]))
    else:
        at = _beside(job, plan.ring.moved(turned.to_plan), room, before)
    frame = Frame(at[0], at[1], plan.frame.angle)
    leg = plan.legs[0]
    moved = replace(leg, frame=Frame(at[0], at[1], leg.frame.angle))
    built = None if plan.built is None else plan.built.moved(frame.to_plan)
    return replace(plan, ring=plan.ring.moved(frame.to_plan), legs=(moved,), frame=frame, built=built)


def _beside(job: Job, ring: Ring, room: Room, before: Iterable[TopPlan]) -> Point:
    points = [p for w in room.walls for p in (w.start, w.end)]
    for top in before:
        x0, y0, x1, y1 = top.ring.bounds()
        points += [(x0, y0), (x1, y1)]
    if not points:
        return (0.0, 0.0)
    clear = TOP_SPACING.size(job.job.units)
    x0, _, _, y1 = ring.bounds()
    return (max(x for x, _ in points) + clear - x0, max(y for _, y in points) - y1)
