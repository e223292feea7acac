"""Kitchen planning facts held against the layout, for information: seats, landings, heights. Never findings.

Sources, all through secondary reproductions (confidence medium, high where two agree): NKBA Kitchen Planning Guidelines 9
(seating), 11 (sink landing), 16 (refrigerator landing), 17 (cooking surface landing); 2010 ADA Standards 804.3 and 902.3.
The guidelines are advice; local codes and the appliance's instructions rule.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from layout.job_tops import RunTop
from layout.laid import Laid
from layout.outline import Frame, Ring, Vertex
from layout.rules import ADA_HEIGHT, CABINET_HEIGHT, KNEE_DEPTH, LANDINGS, SEAT_WIDTH
from layout.top_plans import Leg, TopPlan
from layout.units import INCH_MM

INCH = float(INCH_MM)


@dataclass(frozen=True, slots=True)
class PlanningFact:
    """What a guideline wants somewhere and what is drawn there, mm; a landing's two sides the wider first."""

    what: str
    guideline: str
    wanted: tuple[float, ...]
    drawn: tuple[float, ...]

    @property
    def short(self) -> bool:
        """Whether less is drawn than is wanted."""
        return any(d < w - 0.5 for d, w in zip(self.drawn, self.wanted, strict=True))


def planning_facts(laid: Laid) -> tuple[PlanningFact, ...]:
    """Return what the guidelines want for this job's seats, sinks, cooking surfaces and refrigerators, and what is drawn."""
    return (*_seats(laid), *_landings(laid))


def knee_depth(height: float) -> float:
    """Return the clear depth wanted for knees below a top at ``height``, both mm; between the table's heights in proportion."""
    rows = sorted((h * INCH, d * INCH) for h, d in KNEE_DEPTH.items())
    if height <= rows[0][0]:
        return rows[0][1]
    for (h0, d0), (h1, d1) in zip(rows, rows[1:], strict=False):
        if height <= h1:
            return d0 + (d1 - d0) * (height - h0) / (h1 - h0)
    return rows[-1][1]


def top_height(laid: Laid, top: TopPlan) -> float:
    """Return the height of a finished top above the floor, mm: as given, else its cabinets' and its own thickness."""
    given = laid.job.top[top.index].height
    if given is not None:
        return float(given)
    units = laid.job.job.units
    return CABINET_HEIGHT.size(units) + float(laid.job.wood.thickness)


def reachable(height: float) -> bool:
    """Return whether a top's height (mm) is one that accessible dining and work surfaces have (2010 ADA 902.3)."""
    low, high = ADA_HEIGHT
    return low * INCH - 0.5 <= height <= high * INCH + 0.5


def _seats(laid: Laid) -> Iterator[PlanningFact]:
    for top, carried in zip(laid.tops, laid.carried, strict=True):
        seats = laid.job.top[top.index].seats
        if not seats or not carried.overhangs:
            continue
        side = max(carried.overhangs, key=lambda o: o.amount)
        if side.amount < 1.0:
            continue  # who sits at a top without an overhang, and where, is not known
        named = f"edge {side.side}" if side.side.isdigit() else side.side
        length = sum(_extent(p.ring, side.side) for p in laid.divided.parts if p.top == top.name)
        yield PlanningFact(
            f"{seats} seats at {top.name}, {named}", "NKBA 9, width", (seats * SEAT_WIDTH * INCH,), (length,)
        )
        wanted = knee_depth(top_height(laid, top))
        yield PlanningFact(f"knees at {top.name}, {named}", "NKBA 9, depth", (wanted,), (side.amount,))


def _extent(ring: Ring, side: str) -> float:
    """Return how long a side is together with the corners taken off at its ends, mm."""
    edges = list(ring.edges())
    mine = [(a, b) for a, b in edges if a.side == side]
    if not mine:
        return 0.0
    a, b = max(mine, key=lambda e: math.dist(e[0].at, e[1].at))
    along = Frame(a.x, a.y, math.atan2(b.y - a.y, b.x - a.x))
    beside = [
        pair
        for k, pair in enumerate(edges)
        if pair[0].side == side
        or (pair[0].side.startswith(_CORNERS) and side in (edges[k - 1][0].side, _next(edges, k)))
    ]
    xs = [along.from_plan(p.at)[0] for pair in beside for p in pair]
    return max(xs) - min(xs)


_CORNERS = ("front left", "front right", "back left", "back right", "corner ")
"""What the sides of corners that are taken off are called."""


def _next(edges: list[tuple[Vertex, Vertex]], k: int) -> str:
    return edges[(k + 1) % len(edges)][0].side


def _landings(laid: Laid) -> Iterator[PlanningFact]:
    for cut in laid.cutouts:
        if cut.kind in LANDINGS and cut.leg.wall is not None:
            low, high = cut.extent
            yield from _landing(laid, cut.name, cut.kind, cut.top, cut.leg, low, high)
    for opening in laid.divided.openings:
        if opening.kind in LANDINGS and opening.breaks:
            yield from _landing(laid, opening.kind, opening.kind, opening.top, opening.leg, opening.start, opening.end)


def _landing(laid: Laid, name: str, kind: str, top: str, leg: Leg, low: float, high: float) -> Iterator[PlanningFact]:
    guideline, inches = LANDINGS[kind]
    plan = next(t for t in laid.tops if t.name == top)
    if not isinstance(laid.job.top[plan.index], RunTop):
        return
    front = f"{leg.wall.name if leg.wall else ''} front"
    edges = [e for p in laid.divided.parts if p.top == top for e in p.ring.edges() if e[0].side == front]
    stops = [leg.frame.from_plan(v.at)[0] for edge in edges for v in edge]
    if not stops:
        return
    x0, x1 = min(stops), max(stops)
    taken = [c.extent for c in laid.cutouts if c.top == top and c.leg == leg and not c.hole]
    taken += [(o.start, o.end) for o in laid.divided.openings if o.leg == leg and o.breaks]
    left = low - max([x0, *(b for _, b in taken if b <= low + 0.01)])
    right = min([x1, *(a for a, _ in taken if a >= high - 0.01)]) - high
    drawn = sorted((max(left, 0.0), max(right, 0.0)), reverse=True)[: len(inches)]
    yield PlanningFact(f"landing beside {name}", guideline, tuple(w * INCH for w in inches), tuple(drawn))
