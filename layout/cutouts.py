"""Cutouts in plan: sinks, cooktops, holes, outlets; an apron sink opens the front edge and becomes part of the outline."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from layout.contours import round_of
from layout.cutting import CornerShape, difference, intersection, with_corners
from layout.faults import PlaceError
from layout.job import Job
from layout.job_cutouts import Cutout, Milling
from layout.job_joints import Support
from layout.job_tops import RunTop
from layout.offset import offset_ring
from layout.outline import Frame, Point, Ring, arc_of, circle, edge_heading, rectangle
from layout.room import Room
from layout.rules import HOLE_ACROSS
from layout.templates import Template
from layout.top_plans import Leg, Side, TopPlan

APRON_REACH = 25.0
"""How far (mm) an apron opening is drawn out over the front edge before it is subtracted, so that no edges coincide."""
SHARP = 0.2
"""Edges that turn by more than this (rad) make a corner; less, as between a curve's chords, leaves a bit no wood to speak of."""


@dataclass(frozen=True, slots=True)
class PlacedCutout:
    """A cutout in plan: its ring (mm), its centre, the leg it is square to, and where it stands on that leg.

    ``angle``: the direction of its own length in plan, radians. ``corner``: the corner of a run that it lies across; its
    leg is then one of its own, from the front there to the back corner. ``radius``: of its inside corners, the tightest.
    ``template``: where its ring comes from, if from one. ``parent``: the cutout whose template brought it along.
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
    template: Template | None = None
    parent: str | None = None

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


def center_on_leg(
    job: Job, room: Room, top: TopPlan, item: Cutout | Support | Milling, across: float
) -> tuple[Leg, Point]:
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


def place_cutouts(
    job: Job, room: Room, tops: Iterable[TopPlan], templates: Mapping[int, Template]
) -> tuple[PlacedCutout, ...]:
    """Return every cutout in plan, in file order, each with what its template brings along after it.

    ``templates`` by cutout number. Raises PlaceError for a cutout whose template was not read, or that its reveal leaves
    no outline.
    """
    plans = {t.name: t for t in tops}
    return tuple(p for k, c in enumerate(job.cutout) for p in _placed(job, room, plans[c.top], k, c, templates.get(k)))


def _placed(
    job: Job, room: Room, top: TopPlan, k: int, cut: Cutout, template: Template | None
) -> Iterator[PlacedCutout]:
    if cut.template is None:
        yield _place(job, room, top, k, cut)
    elif template is None:
        expected = "a job laid out from its file, beside which the template lies"
        raise PlaceError(("cutout", k, "template"), f"{cut.template}, which was not read", expected)
    else:
        yield from _from_template(job, room, top, k, cut, template)


def _from_template(
    job: Job, room: Room, top: TopPlan, k: int, cut: Cutout, template: Template
) -> Iterator[PlacedCutout]:
    """Yield a cutout with the outline of its template, then the openings that come along, in the same frame."""
    ring = _with_reveal(cut, k, template)
    y0 = ring.bounds()[1]
    if cut.corner is not None:
        leg = corner_leg(job, top, cut.corner, ("cutout", k, "corner"))
        x, y = 0.0, float(cut.setback or 0) - y0
    else:
        leg, (x, y) = center_on_leg(job, room, top, cut, -2 * y0)
    own = Frame(x, y, math.radians(cut.turn))

    def one(name: str, kind: str, shape: Ring, parent: str | None) -> PlacedCutout:
        left, low, right, high = shape.bounds()
        # the cutout's own centre is that of its template, whatever its reveal does to its bounding box
        middle = (0.0, 0.0) if parent is None else ((left + right) / 2, (low + high) / 2)
        at = own.to_plan(middle)
        round_one = round_of(shape)
        named = Ring(tuple(v._replace(side=name) for v in shape.vertices))
        size = (right - left, high - low)
        return PlacedCutout(
            name=name,
            kind=kind,
            mount=cut.mount if parent is None else None,
            top=cut.top,
            index=k,
            ring=named.moved(own.to_plan).moved(leg.frame.to_plan),
            center=leg.frame.to_plan(at),
            leg=leg,
            station=at[0],
            setback=at[1] + low - middle[1] - leg.front,
            size=size,
            diameter=None if round_one is None else 2 * round_one[1],
            radius=inside_radius(shape),
            hole=max(size) <= _hole_limit(job) + 1e-9,
            angle=leg.frame.angle + math.radians(cut.turn),
            corner=None if cut.corner is None else corner_name(cut.corner),
            template=template,
            parent=parent,
        )

    yield one(cut.name, cut.kind, ring, None)
    for n, shape in enumerate(template.openings, start=1):
        yield one(f"{cut.name}-{n}", "opening" if round_of(shape) is None else "hole", shape, cut.name)


def _with_reveal(cut: Cutout, k: int, template: Template) -> Ring:
    """Return the template's outline; of an undermount moved inward by the reveal, by which the top stands over the bowl."""
    if cut.mount != "undermount" or cut.reveal is None:
        return template.ring
    try:
        return offset_ring(template.ring, -float(cut.reveal))
    except ValueError as error:
        found = f"a reveal at which {error}"
        raise PlaceError(
            ("cutout", k, "reveal"), found, f"one that the outline in {template.file} has room for"
        ) from None


def inside_radius(ring: Ring) -> float:
    """Return the radius (mm) of the tightest corner that a bit meets within a cutout's ring, 0 for a square one."""
    edges = list(ring.edges())
    found = [math.inf]
    for k, (a, b) in enumerate(edges):
        arc = arc_of(a, b)
        if arc is not None and arc.sweep > 0:
            found.append(arc.radius)
        turn = math.remainder(edge_heading(a, b, 0.0) - edge_heading(*edges[k - 1], 1.0), 2 * math.pi)
        if turn > SHARP:
            found.append(0.0)
    return min(found)


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
    return HOLE_ACROSS.size(job.job.units)


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
