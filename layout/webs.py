"""Wood left round cutouts, and necks of the outline itself, as least distances in mm."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from shapely.geometry import Polygon

from layout import region
from layout.cutouts import PlacedCutout
from layout.job import Job
from layout.job_shop import Web as WebLimits
from layout.job_tops import RunTop
from layout.openings import Part
from layout.outline import Line, Point
from layout.pieces import Divided, Joint

WebKind = Literal["front", "back", "end", "between", "joint", "hole", "neck"]


@dataclass(frozen=True, slots=True)
class WebWidth:
    """The least wood between a cutout and what lies beside it: how much is left, how much the shop wants, where (plan)."""

    cutout: str
    kind: WebKind
    beside: str
    width: float
    limit: float
    at: Point
    across: float = 0.0
    """How far the cutout would have to move to be clear of a joint it lies over, mm."""


def part_of(cut: PlacedCutout, parts: Sequence[Part]) -> Part | None:
    """Return the part of its top that holds the cutout wholly, or None."""
    shape = region.area_of(cut.ring)
    for part in parts:
        if part.top == cut.top and (
            any(v.side == cut.name for v in part.ring.vertices)
            if cut.opens_front
            else region.holds(region.area_of(part.ring), shape)
        ):
            return part
    return None


def webs(
    divided: Divided,
    cutouts: Sequence[PlacedCutout],
    limits: WebLimits,
    spare: Mapping[str, float],
    within: float = math.inf,
) -> list[WebWidth]:
    """Return every web of every cutout that lies in its top, each measured once, thick or thin.

    ``within``: two cutouts that lie farther apart than this (mm) have no web between them that is looked at.

    ``spare``: by top, how much of the wood at its back is scribe wood that comes off on site, mm.
    """
    shapes = {c.name: region.area_of(c.ring) for c in cutouts}
    homes = {c.name: part_of(c, divided.parts) for c in cutouts}
    beside: dict[int, list[PlacedCutout]] = {}
    for k, n in region.near_pairs([shapes[c.name] for c in cutouts], within):
        beside.setdefault(k, []).append(cutouts[n])
    out: list[WebWidth] = []
    for k, cut in enumerate(cutouts):
        part = homes[cut.name]
        if part is None:
            continue
        out += [_fitted(web, spare.get(cut.top, 0.0)) for web in _to_sides(cut, part, shapes[cut.name], limits)]
        joints = [j for j in divided.joints if j.top == cut.top]
        out += _to_joints(cut, joints, shapes[cut.name], limits)
        for other in beside.get(k, ()):
            if homes[other.name] is part and region.overlap(shapes[cut.name], shapes[other.name]) is None:
                small = cut.hole or other.hole
                limit = float(limits.hole if small else limits.between)
                width, at = _between(shapes[cut.name], shapes[other.name])
                out.append(WebWidth(cut.name, "hole" if small else "between", other.name, width, limit, at))
    return out


def _fitted(web: WebWidth, spare: float) -> WebWidth:
    return replace(web, width=max(0.0, web.width - spare)) if web.kind == "back" and spare else web


def scribe_wood(job: Job) -> dict[str, float]:
    """Return by top how much scribe wood its back carries, mm."""
    return {t.name: float(t.scribe or 0) for t in job.top if isinstance(t, RunTop) and t.back == "scribe"}


def _between(a: region.Region, b: region.Region) -> tuple[float, Point]:
    p, q = region.nearest(a, b)
    return math.dist(p, q), ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)


def _to_sides(cut: PlacedCutout, part: Part, shape: Polygon, limits: WebLimits) -> list[WebWidth]:
    groups: dict[WebKind, list[str]] = {}
    for name in part.ring.sides():
        side = part.sides.get(name)
        if side is None or name == cut.name or side.kind == "opening":
            continue
        if cut.hole:
            groups.setdefault("hole", []).append(name)
        elif side.kind in ("front", "step"):
            if not cut.opens_front:
                groups.setdefault("front", []).append(name)
        elif side.kind == "back":
            groups.setdefault("back", []).append(name)
        elif side.kind == "end" and side.free:
            groups.setdefault("end", []).append(name)
        elif side.kind == "corner":
            kind = _corner_kind(part, name)
            if not (kind == "front" and cut.opens_front):
                groups.setdefault(kind, []).append(name)
    out = []
    for kind, names in groups.items():
        lines = {name: region.side_line(part.ring, [name]) for name in names}
        nearest = min(names, key=lambda n: lines[n].distance(shape)) if len(lines) > 1 else names[0]
        width, at = _between(shape, lines[nearest])
        limit = float(limits.hole if kind == "hole" else getattr(limits, kind))
        out.append(WebWidth(cut.name, kind, nearest, width, limit, at))
    return out


def _corner_kind(part: Part, name: str) -> WebKind:
    """Return whether a corner that is taken off counts as front or as back: as the sides it joins, an end as neither."""
    v = part.ring.vertices
    k = next(i for i, vertex in enumerate(v) if vertex.side == name)
    beside = [part.sides.get(v[k - 1].side), part.sides.get(v[(k + 1) % len(v)].side)]
    kinds = {s.kind for s in beside if s is not None}
    if "front" in kinds:
        return "front"
    return "back" if "back" in kinds else "end"


def _to_joints(cut: PlacedCutout, joints: Sequence[Joint], shape: Polygon, limits: WebLimits) -> list[WebWidth]:
    out = []
    for joint in joints:
        # a column's joint runs through it on purpose
        if cut.kind == "column" and shape.intersects(region.path(joint.points)):
            continue
        width, at = _between(shape, region.path(joint.points))
        limit = float(limits.hole if cut.hole else limits.joint)
        across = _across(cut, joint) if width == 0.0 else 0.0
        out.append(WebWidth(cut.name, "hole" if cut.hole else "joint", joint.id, width, limit, at, across))
    return out


def _across(cut: PlacedCutout, joint: Joint) -> float:
    """Return how far a cutout reaches over a joint, to the side to which it can be moved off sooner."""
    (x0, y0), (x1, y1) = joint.points[0], joint.points[-1]
    length = math.dist(joint.points[0], joint.points[-1])
    line = Line(x0, y0, (x1 - x0) / length, (y1 - y0) / length)
    sides = [line.left_of(p) for p in cut.ring.flattened(0.01)]
    return min(max(sides), -min(sides))


def neck(shape: Polygon, limit: float) -> tuple[float, Point] | None:
    """Return the narrowest neck of an outline below ``limit`` (mm) and its middle, or None.

    A neck joins two wider parts: taking half its width off all round parts the outline in two.
    """
    parts = _parted(shape, limit)
    if parts is None:
        return None
    low, high = 0.0, limit
    for _ in range(40):
        middle = (low + high) / 2
        halves = _parted(shape, middle)
        if halves is None:
            low = middle
        else:
            high, parts = middle, halves
    return high, _middle_of_neck(shape, parts, high)


def _middle_of_neck(shape: Polygon, parts: list[Polygon], width: float) -> Point:
    """Return the middle of what lies between the two wider parts."""
    wide = [p.buffer(width / 2 + 0.01, quad_segs=128) for p in parts[:2]]
    between = [
        p for p in region.polygons(shape.difference(region.union(wide))) if all(p.distance(w) < 0.1 for w in wide)
    ]
    if between:
        neck_area = max(between, key=lambda p: p.area)
        middle = neck_area.centroid
        return (middle.x, middle.y) if neck_area.contains(middle) else region.inner_point(neck_area)
    p, q = region.nearest(wide[0], wide[1])
    return ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)


def _parted(shape: Polygon, width: float) -> list[Polygon] | None:
    parts = region.polygons(shape.buffer(-width / 2, quad_segs=128), least=1.0)
    return parts if len(parts) > 1 else None
