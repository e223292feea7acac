"""Cutouts in plan: sinks, cooktops, holes, outlets; an apron sink opens the front edge and becomes part of the outline."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from layout.cutting import CornerShape, difference, intersection, with_corners
from layout.faults import PlaceError
from layout.job import Cutout, Job, Milling, RunTop, Support
from layout.outline import Frame, Point, Ring, circle, rectangle
from layout.room import Room
from layout.rules import HOLE_ACROSS
from layout.tops import Leg, Side, TopPlan
from layout.units import parse_length

APRON_REACH = 25.0
"""How far (mm) an apron opening is drawn out over the front edge before it is subtracted, so that no edges coincide."""


@dataclass(frozen=True, slots=True)
class PlacedCutout:
    """A cutout in plan: its ring (mm), its centre, the leg it is square to, and where it stands on that leg.

    ``angle``: the direction of its own length in plan, radians. ``corner``: the corner of a run that it lies across; its
    leg is then one of its own, from the front there to the back corner.
    """

    name: str
    kind: str
    mount: str | None
    top: str
    index: int
    ring: Ring
    center: Point
    leg: Leg
    station: float
    setback: float
    size: tuple[float, float]
    diameter: float | None
    radius: float
    hole: bool
    angle: float = 0.0
    corner: str | None = None

    @property
    def opens_front(self) -> bool:
        """Whether it opens the front edge and so belongs to the outline."""
        return self.mount == "apron"

    @property
    def extent(self) -> tuple[float, float]:
        """Least and greatest station along its leg, mm."""
        x0, _, x1, _ = self.ring.bounds(self.leg.frame)
        return (x0, x1)


def station(room: Room, wall: str, value: float, from_: str) -> float:
    """Return a station from the wall's start, for one stated from either hand."""
    return room.wall(wall).length - value if from_ == "right" else value


def window_station(job: Job, room: Room, text: str) -> float:
    """Return the centre station of the window that ``text`` ("window W1") names."""
    name = text.strip().removeprefix("window").strip()
    window = next(w for w in job.window if w.name == name)
    return station(room, window.wall, float(window.at), window.from_) + float(window.width) / 2


def corner_leg(job: Job, top: TopPlan, corner: str, path: tuple[str | int, ...]) -> Leg:
    """Return the leg of what lies across an inside corner: x along the diagonal, y from its middle to the back corner.

    A radius counts from its middle, a front that is not cut from the front corner. Raises PlaceError at other corners.
    """
    spec = job.top[top.index]
    assert isinstance(spec, RunTop)
    i = spec.along.index(corner.split("/", maxsplit=1)[0].strip())
    at, before = top.corners[i], top.legs[i]
    if at.straight or at.angle >= 180.0:
        raise PlaceError(path, "a corner that is no inside corner", "a corner below 180 degrees")
    half = math.radians(at.angle) / 2
    cut = next((cut for name, cut in spec.inside.items() if name.split("/")[0].strip() == spec.along[i]), None)
    out = 0.0
    if cut is not None:
        out = (
            float(cut.diagonal) * math.cos(half) if cut.diagonal else float(cut.radius or 0) * (1 / math.sin(half) - 1)
        )
    bare = Frame(*at.front, before.frame.angle - (math.pi / 2 - half))
    x, y = bare.to_plan((0.0, -out))
    frame = Frame(x, y, bare.angle)
    xs = [frame.from_plan(v.at)[0] for v in top.ring.vertices]
    return Leg(frame, frame.from_plan(at.back)[1], 0.0, min(xs), max(xs))


def center_on_leg(job: Job, room: Room, top: TopPlan, item: Cutout | Support | Milling, across: float) -> tuple[Leg, Point]:
    """Return the leg a cutout or support is square to, and its centre in the leg's frame (x along, y to the back)."""
    if isinstance(item.center, tuple):
        plan = top.frame.to_plan((float(item.center[0]), float(item.center[1])))
        leg = top.legs[0]
        # a rectangle's and an outline's things are square to their own frame, whatever the grain
        own = replace(leg, frame=replace(leg.frame, angle=top.frame.angle))
        return own, own.frame.from_plan(plan)
    assert item.wall is not None and item.center is not None
    leg = top.leg(item.wall)
    if isinstance(item.center, str):
        along = window_station(job, room, item.center)
    else:
        along = station(room, item.wall, float(item.center), item.from_)
    return leg, (along, leg.front + float(item.setback or 0) + across / 2)


def place_cutouts(job: Job, room: Room, tops: Iterable[TopPlan]) -> tuple[PlacedCutout, ...]:
    """Return every cutout in plan, in file order."""
    plans = {t.name: t for t in tops}
    return tuple(_place(job, room, plans[c.top], k, c) for k, c in enumerate(job.cutout))


def _place(job: Job, room: Room, top: TopPlan, k: int, cut: Cutout) -> PlacedCutout:
    along, across = (float(s) for s in cut.size) if cut.size else (float(cut.diameter or 0),) * 2
    if cut.corner is not None:
        leg = corner_leg(job, top, cut.corner, ("cutout", k, "corner"))
        x, y = 0.0, float(cut.setback or 0) + across / 2
    else:
        leg, (x, y) = center_on_leg(job, room, top, cut, across)
    radius = float(cut.radius or 0)
    if cut.mount == "apron":
        ring, y = _apron(top, leg, (x, y), (along, across), radius, ("cutout", k))
        across = 2 * (y - leg.front) if top.shape != "run" else across
    elif cut.diameter is not None:
        ring = circle(x, y, along / 2, cut.name).moved(leg.frame.to_plan)
    else:
        turned = Frame(x, y, math.radians(cut.turn))
        box = rectangle(-along / 2, -across / 2, along / 2, across / 2, (cut.name,) * 4)
        if radius:
            box = with_corners(box, {i: (CornerShape(radius=radius), cut.name) for i in range(4)})
        ring = box.moved(turned.to_plan).moved(leg.frame.to_plan)
    _, y0, _, _ = ring.bounds(leg.frame)
    return PlacedCutout(
        name=cut.name,
        kind=cut.kind,
        mount=cut.mount,
        top=cut.top,
        index=k,
        ring=ring,
        center=leg.frame.to_plan((x, y)),
        leg=leg,
        station=x,
        # as typed: to its front side before any turn
        setback=y0 - leg.front if cut.mount == "apron" else y - across / 2 - leg.front,
        size=(along, across),
        diameter=None if cut.diameter is None else along,
        radius=radius,
        hole=max(along, across) <= _hole_limit(job) + 1e-9 and cut.mount != "apron",
        angle=leg.frame.angle + math.radians(cut.turn),
        corner=None if cut.corner is None else corner_name(cut.corner),
    )


def corner_name(text: str) -> str:
    """Return a corner's name as the run's sides have it."""
    return "/".join(part.strip() for part in text.split("/"))


def _hole_limit(job: Job) -> float:
    return float(parse_length(HOLE_ACROSS.text(job.job.units), job.job.units))


def _opening(leg: Leg, at: Point, size: tuple[float, float], radius: float, name: str) -> Ring:
    x, y = at
    box = rectangle(x - size[0] / 2, leg.front - APRON_REACH, x + size[0] / 2, y + size[1] / 2, (name,) * 4)
    if radius:
        box = with_corners(box, {i: (CornerShape(radius=radius), name) for i in (2, 3)})
    return box.moved(leg.frame.to_plan)


def _apron(
    top: TopPlan, leg: Leg, at: Point, size: tuple[float, float], radius: float, path: tuple[str | int, ...]
) -> tuple[Ring, float]:
    """Return the part of the top that an apron sink takes, and y of its centre in the leg's frame."""
    parts = intersection(top.ring, _opening(leg, at, size, radius, "apron"))
    if len(parts) != 1:
        raise PlaceError(path, "an apron opening that does not cross the front edge", "a place at the front of its top")
    _, y0, _, y1 = parts[0].bounds(leg.frame)
    return parts[0], (y0 + y1) / 2


def with_aprons(top: TopPlan, cutouts: Iterable[PlacedCutout]) -> TopPlan:
    """Return the top with its apron sinks taken out of the outline, each a side of its own name."""
    ring, sides = top.ring, dict(top.sides)
    for cut in cutouts:
        if cut.top != top.name or not cut.opens_front:
            continue
        path: tuple[str | int, ...] = ("cutout", cut.index)
        x0, _, x1, y1 = cut.ring.bounds(cut.leg.frame)
        height = y1 - cut.leg.front
        opening = _opening(cut.leg, ((x0 + x1) / 2, y1 - height / 2), (x1 - x0, height), cut.radius, cut.name)
        parts = difference(ring, opening)
        if len(parts) != 1:
            raise PlaceError(path, "an apron opening that cuts its top in two", "an opening with wood behind it")
        ring = parts[0]
        sides[cut.name] = Side(cut.name, "opening", False)
    return replace(top, ring=ring, sides=sides)
