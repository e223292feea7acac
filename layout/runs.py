"""Runs along walls as outlines: back and front lines, corners where they meet, ends, inside corners."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

from layout import region
from layout.cutting import CornerShape
from layout.faults import PlaceError
from layout.job import Job
from layout.job_tops import BoxCorner, EndKind, RunTop
from layout.outline import SAME, Frame, Line, Point, Ring, Vertex, polygon_ring, rectangle
from layout.room import PlacedWall, Room
from layout.top_plans import STRAIGHT, CornerPoint, Leg, Side, TopPlan, corner_shape, corner_sides, cornered


def end_kinds(room: Room, top: RunTop) -> tuple[EndKind, EndKind]:
    """Return the kinds of a run's left and right ends, those left unsaid by the format's rule."""
    first, last = room.wall(top.along[0]), room.wall(top.along[-1])
    before, after = room.before(first), room.after(last)
    left: EndKind = top.left_end or _unsaid(top.start.mm == 0, before, inside_angle(before, first) if before else 0.0)
    at_end = top.end is None or float(top.end) == last.length
    right: EndKind = top.right_end or _unsaid(at_end, after, inside_angle(last, after) if after else 0.0)
    return (left, right)


def _unsaid(at_corner: bool, neighbour: PlacedWall | None, angle: float) -> EndKind:
    if not at_corner:
        return "exposed"
    if neighbour is None or (angle < 180.0 - 1e-6 and not neighbour.open):
        return "wall"
    return "exposed"


def inside_angle(wall: PlacedWall, after: PlacedWall) -> float:
    """Return the angle in the room from ``wall`` to the next one, degrees in (0, 360)."""
    turn = math.degrees(wall.frame.angle - after.frame.angle)
    return (180.0 - turn) % 360.0


def run_depth(top: RunTop, wall: str) -> float:
    """Return the depth stated for a leg, mm."""
    return float(top.depth[wall] if isinstance(top.depth, dict) else top.depth)


def _back_offset(job: Job, top: RunTop, wall: PlacedWall, start: float, end: float) -> float:
    """Return how far in front of its wall's line a leg's back edge is made, mm: scribe wood reaches that much nearer."""
    if wall.open:
        return -float(top.back_overhang)
    scribe = float(top.scribe or 0) if top.back == "scribe" else 0.0
    return float(job.shop.wall_gap) + wall.proudest(start, end) - scribe


def _followed(job: Job, top: RunTop, wall: PlacedWall) -> tuple[Point, ...]:
    """Return the back edge that follows a bowed wall at the gap, in the leg's frame; empty where it is straight."""
    if top.back != "follow" or wall.open or not any(depth for _, depth in wall.bow):
        return ()
    gap = float(job.shop.wall_gap)
    points = [*wall.bow]
    if points[0][0] > SAME:
        points.insert(0, (0.0, 0.0))
    if points[-1][0] < wall.length - SAME:
        points.append((wall.length, 0.0))
    return tuple((x, depth - gap) for x, depth in points)


def run_plan(job: Job, room: Room, k: int, top: RunTop) -> TopPlan:
    """Return a run in plan, its legs from left to right. Raises PlaceError where it cannot be laid."""
    walls = [room.wall(name) for name in top.along]
    kinds = end_kinds(room, top)
    gap = float(job.shop.wall_gap)
    start = float(top.start)
    end = walls[-1].length if top.end is None else float(top.end)
    if len(walls) == 1 and end <= start:
        raise PlaceError(("top", k, "end"), "an end that is not right of the start", "a station beyond the run's start")
    legs = []
    for i, wall in enumerate(walls):
        x0 = start if i == 0 else 0.0
        x1 = end if i == len(walls) - 1 else wall.length
        back = _back_offset(job, top, wall, x0, x1)
        depth = run_depth(top, wall.name) + (back if top.depth_from == "top back" else 0.0)
        if depth <= back:
            raise PlaceError(("top", k, "depth"), "a depth that leaves no wood before the wall", "a deeper top")
        legs.append(Leg(wall.frame, -back, -depth, x0, x1, wall, _followed(job, top, wall)))
    ends = (
        _end_line(room, legs[0], "left", kinds[0], start, gap),
        _end_line(room, legs[-1], "right", kinds[1], end, gap),
    )
    corners = tuple(_corner(a, b) for a, b in zip(legs, legs[1:], strict=False))
    ring, marks, crossed = _run_ring(legs, corners, ends, ("top", k))
    shapes = {
        marks[name]: (corner_shape(name, cut), name)
        for name, cut in top.corners.items()
        if _exposed(("top", k, "corners", name), kinds, name)
    }
    inner = {} if crossed else _inside_shapes(top, k, corners, ring)
    ring = cornered(ring, inner, ("top", k, "inside")) if inner and not shapes else ring
    if shapes and not crossed:
        ring = cornered(ring, {**shapes, **inner}, ("top", k, "corners"))
    built = [replace(leg, back=0.0, front=-float(top.cabinet_depth), followed=()) for leg in legs]
    over = (float(top.left_overhang), float(top.right_overhang))
    built_ends = (
        legs[0].across(start + over[0]) if kinds[0] == "exposed" else ends[0],
        legs[-1].across(end - over[1]) if kinds[1] == "exposed" else ends[1],
    )
    built_corners = tuple(_corner(a, b) for a, b in zip(built, built[1:], strict=False))
    below, _, built_crossed = _run_ring(built, built_corners, built_ends, ("top", k))
    if top.inside and not built_crossed:
        below = cornered(below, _inside_shapes(top, k, built_corners, below), ("top", k, "inside"))
    return TopPlan(top.name, "run", k, ring, tuple(legs), corners, _run_sides(legs, kinds), Frame(), below, crossed)


def _inside_shapes(
    top: RunTop, k: int, corners: tuple[CornerPoint, ...], ring: Ring
) -> dict[int, tuple[CornerShape, str]]:
    """Return the front's inside corners that are cut: vertex number to shape and side name."""
    out: dict[int, tuple[CornerShape, str]] = {}
    for name, cut in top.inside.items():
        corner = corners[top.along.index(name.split("/")[0].strip())]
        if corner.angle >= 180.0:
            raise PlaceError(
                ("top", k, "inside", name), "a corner that is no inside corner", "a corner below 180 degrees"
            )
        at = min(range(len(ring.vertices)), key=lambda i: math.dist(ring.vertices[i].at, corner.front))
        back = float(cut.diagonal or 0)
        shape = CornerShape(radius=float(cut.radius or 0), before=back, after=back)
        out[at] = (shape, f"{name} inside")
    return out


def _end_line(room: Room, leg: Leg, hand: Literal["left", "right"], kind: EndKind, station: float, gap: float) -> Line:
    wall = leg.wall
    assert wall is not None
    if kind != "wall":
        return leg.across(station)
    at_corner = station == 0.0 if hand == "left" else station == wall.length
    neighbour = (room.before(wall) if hand == "left" else room.after(wall)) if at_corner else None
    if neighbour is not None and not neighbour.open:
        line = neighbour.line.offset_right(gap)
        if line.meets(leg.line(leg.back)) is not None:
            return line
    return leg.across(station + (gap if hand == "left" else -gap))


def _corner(a: Leg, b: Leg) -> CornerPoint:
    assert a.wall is not None and b.wall is not None
    angle = inside_angle(a.wall, b.wall)
    if abs(math.remainder(a.frame.angle - b.frame.angle, 2 * math.pi)) < STRAIGHT:
        return CornerPoint(a.frame.to_plan((a.end, a.back_at(a.end))), a.frame.to_plan((a.end, a.front)), 180.0, True)
    back, front = a.back_line(a.end).meets(b.back_line(b.start)), a.line(a.front).meets(b.line(b.front))
    assert back is not None and front is not None
    return CornerPoint(back, front, angle, False)


def _run_ring(
    legs: list[Leg], corners: tuple[CornerPoint, ...], ends: tuple[Line, Line], path: tuple[str | int, ...]
) -> tuple[Ring, dict[BoxCorner, int], bool]:
    """Return the ring, which vertex is which end corner, and whether the legs run into one another."""
    first, last = legs[0], legs[-1]
    met = [p for e, g in zip(ends, (first, last), strict=True) for p in (e.meets(g.line(g.front)), _back_meets(e, g))]
    if any(p is None for p in met):
        raise PlaceError(
            path, "an end that lies along its own wall", "an end that crosses the wall: say left_end, right_end"
        )
    front_left, back_left, front_right, back_right = (p for p in met if p is not None)
    names = [leg.wall.name for leg in legs if leg.wall is not None]
    v = [Vertex(*front_left, 0.0, f"{names[0]} front")]
    for i, corner in enumerate(corners):
        if corner.straight and legs[i].front != legs[i + 1].front:
            v.append(Vertex(*corner.front, 0.0, f"{names[i]}/{names[i + 1]} step"))
            v.append(Vertex(*legs[i + 1].frame.to_plan((0.0, legs[i + 1].front)), 0.0, f"{names[i + 1]} front"))
        else:
            v.append(Vertex(*corner.front, 0.0, f"{names[i + 1]} front"))
    marks: dict[BoxCorner, int] = {"front left": 0, "front right": len(v)}
    v.append(Vertex(*front_right, 0.0, "right"))
    marks["back right"] = len(v)
    v.append(Vertex(*back_right, 0.0, f"{names[-1]} back"))
    at = back_right
    for i in reversed(range(len(corners))):
        corner, after = corners[i], legs[i + 1]
        step = after.frame.to_plan((0.0, after.back_at(0.0)))
        if corner.straight and math.dist(step, corner.back) > SAME:
            v += _along_back(after, at, step, names[i + 1])
            v.append(Vertex(*step, 0.0, f"{names[i]}/{names[i + 1]} back step"))
        else:
            v += _along_back(after, at, corner.back, names[i + 1])
        v.append(Vertex(*corner.back, 0.0, f"{names[i]} back"))
        at = corner.back
    v += _along_back(first, at, back_left, names[0])
    marks["back left"] = len(v)
    v.append(Vertex(*back_left, 0.0, "left"))
    # a leg that ends just where the other front runs has a front of no length
    kept = [k for k in range(len(v)) if math.dist(v[k].at, v[(k + 1) % len(v)].at) > SAME]
    ring = Ring(tuple(v[k] for k in kept))
    marks = {
        name: next(n for n, k in enumerate([*kept, math.inf]) if k >= at) % len(kept) for name, at in marks.items()
    }
    if len(kept) > 2 and region.is_simple(ring) and ring.area > 0 and not any(_strays(c, legs) for c in corners):
        return ring, marks, False
    return _union_ring(legs, ends, names, path), marks, True


def _back_meets(end: Line, leg: Leg) -> Point | None:
    """Return where an end meets its leg's back edge."""
    at = end.meets(leg.line(leg.back))
    for _ in range(2 if leg.followed else 0):
        if at is not None:
            at = end.meets(leg.back_line(leg.frame.from_plan(at)[0]))
    return at


def _along_back(leg: Leg, right: Point, left: Point, name: str) -> list[Vertex]:
    """Return the corners of a back edge that follows its wall, strictly between its two ends, right to left."""
    high, low = leg.frame.from_plan(right)[0] - SAME, leg.frame.from_plan(left)[0] + SAME
    return [Vertex(*leg.frame.to_plan(p), 0.0, f"{name} back") for p in reversed(leg.followed) if low < p[0] < high]


def _strays(corner: CornerPoint, legs: list[Leg]) -> bool:
    """Whether two fronts, nearly in line and unequal in depth, meet so far off that the corner would be invented wood."""
    deepest = max(leg.back - leg.front for leg in legs)
    limit: float = 2.0 * deepest / math.sin(math.radians(corner.angle) / 2)
    return math.dist(corner.back, corner.front) > limit + SAME


def _union_ring(
    legs: list[Leg],
    ends: tuple[Line, Line],
    names: list[str],
    path: tuple[str | int, ...],
) -> Ring:
    """Return the outline that the legs make together where their mitres cannot be drawn; edges keep their names."""
    quads = []
    for i, leg in enumerate(legs):
        x0 = leg.start if i else leg.frame.from_plan(ends[0].meets(leg.line(leg.back)) or (0, 0))[0]
        x1 = leg.end if i < len(legs) - 1 else leg.frame.from_plan(ends[1].meets(leg.line(leg.back)) or (0, 0))[0]
        if x1 <= x0:
            raise PlaceError(path, f"a leg along {names[i]} with no length", "a run that is longer along that wall")
        sides = (f"{names[i]} front", "right", f"{names[i]} back", "left")
        quads.append(rectangle(x0, leg.front, x1, leg.back, sides).moved(leg.frame.to_plan))
    areas = [region.area_of(q) for q in quads]
    for a, b in zip(legs, legs[1:], strict=False):
        if a.wall is not None and b.wall is not None and inside_angle(a.wall, b.wall) > 180.0:
            # round an outside corner the legs part: the wedge between their square ends closes them
            ends_of = ((a, a.end, a.back), (a, a.end, a.front), (b, 0.0, b.front), (b, 0.0, b.back))
            areas.append(region.area_of(polygon_ring(leg.frame.to_plan((x, y)) for leg, x, y in ends_of)).buffer(0.01))
    shapes = region.polygons(region.union(areas))
    if len(shapes) != 1:
        raise PlaceError(path, "legs that do not meet", "consecutive walls whose legs touch")
    points = list(shapes[0].exterior.coords)[:-1]
    if not shapes[0].exterior.is_ccw:
        points.reverse()
    out = []
    for p, q in zip(points, points[1:] + points[:1], strict=True):
        middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        name = min(((a.side, _gap(a, b, middle)) for quad in quads for a, b in quad.edges()), key=lambda pair: pair[1])[
            0
        ]
        out.append(Vertex(p[0], p[1], 0.0, name))
    return Ring(tuple(out)).clean()


def _gap(a: Vertex, b: Vertex, p: Point) -> float:
    dx, dy = b.x - a.x, b.y - a.y
    t = min(max(((p[0] - a.x) * dx + (p[1] - a.y) * dy) / (dx * dx + dy * dy), 0.0), 1.0)
    return math.dist((a.x + dx * t, a.y + dy * t), p)


def _run_sides(legs: list[Leg], kinds: tuple[EndKind, EndKind]) -> dict[str, Side]:
    sides: list[Side] = []
    names = [leg.wall.name for leg in legs if leg.wall is not None]
    for leg, name in zip(legs, names, strict=True):
        sides.append(Side(f"{name} front", "front", True, name))
        sides.append(Side(f"{name} back", "back", leg.wall is not None and leg.wall.open, name))
    for a, b in zip(names, names[1:], strict=False):
        sides += [Side(f"{a}/{b} step", "step", True), Side(f"{a}/{b} back step", "step", False)]
        sides.append(Side(f"{a}/{b} inside", "front", True))
    sides.append(Side("left", "end", kinds[0] == "exposed", names[0], kinds[0]))
    sides.append(Side("right", "end", kinds[1] == "exposed", names[-1], kinds[1]))
    return {s.name: s for s in sides + corner_sides()}


def _exposed(path: tuple[str | int, ...], kinds: tuple[EndKind, EndKind], name: BoxCorner) -> bool:
    kind = kinds[0] if name.endswith("left") else kinds[1]
    if kind != "exposed":
        raise PlaceError(path, f"a corner at an end of kind {kind}", "a corner at an exposed end")
    return True
