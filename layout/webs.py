"""Wood left round cutouts, and necks of the outline itself, as least distances in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shapely.geometry import Polygon

from layout import region
from layout.cutouts import PlacedCutout
from layout.job import Web as WebLimits
from layout.openings import Part
from layout.outline import Point
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


def webs(divided: Divided, cutouts: Sequence[PlacedCutout], limits: WebLimits) -> list[WebWidth]:
    """Return every web of every cutout that lies in its top, each measured once, thick or thin."""
    shapes = {c.name: region.area_of(c.ring) for c in cutouts}
    homes = {c.name: part_of(c, divided.parts) for c in cutouts}
    out: list[WebWidth] = []
    for k, cut in enumerate(cutouts):
        part = homes[cut.name]
        if part is None:
            continue
        out += _to_sides(cut, part, shapes[cut.name], limits)
        joints = [j for j in divided.joints if j.top == cut.top]
        out += _to_joints(cut, joints, shapes[cut.name], limits)
        for other in cutouts[k + 1 :]:
            if homes[other.name] is part and region.overlap(shapes[cut.name], shapes[other.name]) is None:
                small = cut.hole or other.hole
                limit = float(limits.hole if small else limits.between)
                width, at = _between(shapes[cut.name], shapes[other.name])
                out.append(WebWidth(cut.name, "hole" if small else "between", other.name, width, limit, at))
    return out


def _between(a: region.Region, b: region.Region) -> tuple[float, Point]:
    p, q = region.nearest(a, b)
    return float(a.distance(b)), ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)


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
        elif side.kind == "back" or (side.kind == "corner" and name.startswith("back")):
            groups.setdefault("back", []).append(name)
        elif side.kind == "end" and side.free:
            groups.setdefault("end", []).append(name)
        elif side.kind == "corner" and not cut.opens_front:
            groups.setdefault("front", []).append(name)
    out = []
    for kind, names in groups.items():
        line = region.side_line(part.ring, names)
        width, at = _between(shape, line)
        nearest = min(names, key=lambda n: region.side_line(part.ring, [n]).distance(shape))
        limit = float(limits.hole if kind == "hole" else getattr(limits, kind))
        out.append(WebWidth(cut.name, kind, nearest, width, limit, at))
    return out


def _to_joints(cut: PlacedCutout, joints: Sequence[Joint], shape: Polygon, limits: WebLimits) -> list[WebWidth]:
    out = []
    for joint in joints:
        # a column's joint runs through it on purpose
        if cut.kind == "column" and shape.intersects(region.path(joint.points)):
            continue
        width, at = _between(shape, region.path(joint.points))
        limit = float(limits.hole if cut.hole else limits.joint)
        out.append(WebWidth(cut.name, "hole" if cut.hole else "joint", joint.id, width, limit, at))
    return out


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
    p, q = region.nearest(parts[0], parts[1])
    return high, ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)


def _parted(shape: Polygon, width: float) -> list[Polygon] | None:
    parts = region.polygons(shape.buffer(-width / 2, join_style="mitre"), least=1.0)
    return parts if len(parts) > 1 else None
