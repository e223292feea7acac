"""What is let into a face of a top: grooves that drain to a sink, rods, knife slots, trays, and the ledge below a sink."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from layout.cutouts import PlacedCutout, center_on_leg
from layout.cutting import CornerShape, with_corners
from layout.faults import PlaceError
from layout.job import Job
from layout.job_cutouts import Groove, Milling, Recess
from layout.outline import Frame, Point, Ring, Vertex, rectangle
from layout.room import Room
from layout.top_plans import Leg, TopPlan

Face = Literal["above", "below"]


@dataclass(frozen=True, slots=True)
class Milled:
    """Something let into a face, in plan: its rings (mm), how deep (None: through), from which face.

    ``family``: the table it stands in, and ``index`` its place there. ``size``: of one ring, along and across, before any
    turn. ``sink``: the cutout that its grooves run into.
    """

    name: str
    family: Literal["groove", "slot", "recess"]
    kind: str
    top: str
    index: int
    face: Face
    depth: float | None
    rings: tuple[Ring, ...]
    center: Point
    leg: Leg
    size: tuple[float, float]
    spacing: float
    turn: float
    sink: str | None = None


def place_milling(job: Job, room: Room, tops: Iterable[TopPlan], cutouts: Sequence[PlacedCutout]) -> tuple[Milled, ...]:
    """Return all that is let into the tops: grooves, slots, recesses, each in file order.

    Raises PlaceError where grooves drain to a cutout that is no sink of their top.
    """
    plans = {t.name: t for t in tops}
    out = [_groove(job, room, plans[g.top], cutouts, k, g) for k, g in enumerate(job.groove)]
    for family in ("slot", "recess"):
        items: Sequence[Milling] = job.slot if family == "slot" else job.recess
        for k, item in enumerate(items):
            leg, at = center_on_leg(job, room, plans[item.top], item, float(item.size[1]))
            along, across = (float(s) for s in item.size)
            shape = _tray(item, along, across) if isinstance(item, Recess) else stadium(along, across, item.name)
            turned = Frame(*at, math.radians(item.turn))
            ring = shape.moved(turned.to_plan).moved(leg.frame.to_plan)
            depth = None if item.depth is None else float(item.depth)
            out.append(
                Milled(
                    item.name, "slot" if family == "slot" else "recess", family, item.top, k, item.face, depth,
                    (ring,), leg.frame.to_plan(at), leg, (along, across), 0.0, item.turn,
                )
            )  # fmt: skip
    return tuple(out)


def stadium(along: float, across: float, side: str = "") -> Ring:
    """Return a slot with round ends about (0, 0), its whole length along x; no longer than wide: a circle."""
    r = across / 2
    x = max(along / 2 - r, 0.0)
    if x == 0.0:
        return Ring((Vertex(-r, 0.0, 1.0, side), Vertex(r, 0.0, 1.0, side)))
    return Ring(
        (Vertex(-x, -r, 0.0, side), Vertex(x, -r, 1.0, side), Vertex(x, r, 0.0, side), Vertex(-x, r, 1.0, side))
    )


def _tray(item: Recess, along: float, across: float) -> Ring:
    box = rectangle(-along / 2, -across / 2, along / 2, across / 2, (item.name,) * 4)
    radius = float(item.radius or 0)
    return with_corners(box, {i: (CornerShape(radius=radius), item.name) for i in range(4)}) if radius else box


def _groove(job: Job, room: Room, top: TopPlan, cutouts: Sequence[PlacedCutout], k: int, groove: Groove) -> Milled:
    along, across = (float(s) for s in groove.size)
    spacing = float(groove.spacing) if groove.spacing is not None else 2.5 * across
    wide = (groove.count - 1) * spacing + across
    if groove.sink is not None:
        sink = next((c for c in cutouts if c.name == groove.sink and c.top == top.name and c.kind == "sink"), None)
        if sink is None or sink.opens_front:
            what = "an apron sink, which has no side to drain to" if sink else f'"{groove.sink}"'
            raise PlaceError(("groove", k, "sink"), what, f"a sink of {top.name} that does not open its front")
        x0, y0, x1, y1 = sink.ring.bounds(sink.leg.frame)
        leg, way = sink.leg, (1.0 if groove.side == "right" else -1.0)
        # they begin a groove's width inside the opening, so that no lip is left at its edge
        whole = along + across
        near = (x1 if way > 0 else x0) - way * across
        at = (near + way * whole / 2, (y0 + y1) / 2)
        along = whole
    else:
        leg, at = center_on_leg(job, room, top, groove, wide)
    turned = Frame(*at, math.radians(groove.turn))
    rings = []
    for n in range(groove.count):
        y = (n - (groove.count - 1) / 2) * spacing
        moved = Frame(0.0, y)
        rings.append(
            stadium(along, across, groove.name).moved(moved.to_plan).moved(turned.to_plan).moved(leg.frame.to_plan)
        )
    depth = None if groove.depth is None else float(groove.depth)
    return Milled(
        groove.name, "groove", groove.kind, groove.top, k, groove.face, depth, tuple(rings), leg.frame.to_plan(at), leg,
        (along, across), spacing if groove.count > 1 else 0.0, groove.turn, groove.sink,
    )  # fmt: skip
