"""A bracket plan for an overhang that stands too far out: proposed, tried against the real computation, and written out.

No farther apart than the support span, the first no farther from an end than the overhang limit, each ending a little
short of the edge (fixed by the format).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from shapely.geometry import LineString, Polygon

from layout import region
from layout.job import Job
from layout.outline import Frame, Point, edge_heading, rectangle
from layout.pieces import Divided
from layout.room import Room
from layout.rules import BRACKET_SHORT, BRACKET_WIDTH
from layout.support import Carried, PlacedSupport, carry, grow
from layout.top_plans import Leg, TopPlan
from layout.units import INCH_MM, Unit, ticks_text

MOST = 40
"""Beyond so many brackets a plan is no longer advice."""
TRIES = 8
"""So many times a plan that does not clear the overhang is tried again with one bracket more."""


@dataclass(frozen=True, slots=True)
class BracketPlan:
    """Brackets that carry one overhang: as placed, as words, and as job-file text."""

    supports: tuple[PlacedSupport, ...]
    words: str
    paste: str


@dataclass(frozen=True, slots=True)
class _Bracket:
    """A bracket in a leg's frame: its centre and its size along x and y, mm, on the job's steps."""

    x: float
    y: float
    along: float
    across: float


def plan_brackets(
    job: Job,
    room: Room,
    top: TopPlan,
    divided: Divided,
    supports: Sequence[PlacedSupport],
    carried: Carried,
    where: Polygon,
) -> BracketPlan | None:
    """Return brackets under which ``where`` is no longer unsupported, or None if none were found."""
    limit = float(job.shop.overhang_limit)
    leg = _leg_of(top, divided, where)
    first = (leg, _runs_along(top, leg, where), where)
    # one row first; an overhang that runs round a corner takes rows both ways, along every leg, and posts where they end
    for rows in ((first,), tuple(_all_rows(top, divided, carried, where, limit))):
        for extra in range(TRIES):
            found = [(g, way, _row(job, top, g, carried, part, way, extra)) for g, way, part in rows]
            found = [row for row in found if row[2]]
            if not found or sum(len(row) for _, _, row in found) > MOST:
                break
            plan = _tried(job, room, top, divided, supports, where, found)
            if plan is not None:
                return plan
    return None


_Row = tuple[Leg, bool, list[_Bracket]]


def _tried(
    job: Job,
    room: Room,
    top: TopPlan,
    divided: Divided,
    supports: Sequence[PlacedSupport],
    where: Polygon,
    rows: Sequence[_Row],
) -> BracketPlan | None:
    """Return the plan that rows of brackets make, with posts under what they leave if need be; None if it does not clear."""
    placed = [_placed(top, g, b, k) for g, _, row in rows for k, b in enumerate(row)]
    left = _left(job, room, top, divided, supports, placed, where)
    posts: list[tuple[Leg, _Bracket]] = []
    if left and len(rows) > 1 and len(left) <= len(rows):
        width = BRACKET_WIDTH.size(job.job.units)
        for part in left:
            leg = _leg_of(top, divided, part)
            x, y = (_step(v, job.job.units, up=False) for v in leg.frame.from_plan(region.inner_point(part)))
            posts.append((leg, _Bracket(x, y, width, width)))
        placed += [_placed(top, leg, post, k) for k, (leg, post) in enumerate(posts)]
        left = _left(job, room, top, divided, supports, placed, where)
    if (
        left
        or not all(_can_be_told(g, b) for g, _, row in rows for b in row)
        or not all(_can_be_told(g, b) for g, b in posts)
    ):
        return None
    words = [_words(job, g, row, way) for g, way, row in rows]
    paste = [_paste(job, top, g, row, "bracket") for g, _, row in rows]
    for leg, post in posts:
        units = job.job.units
        words.append(f"a post at {_tape(post.x, units)}, {_tape(post.y - leg.front, units)} from the front edge")
        paste.append(_paste(job, top, leg, [post], "post"))
    return BracketPlan(tuple(placed), "; ".join(words), "\n".join(paste))


def _can_be_told(leg: Leg, b: _Bracket) -> bool:
    """Whether the job file takes such a support: on its wall, and not before the front edge."""
    if leg.wall is None:
        return True
    return 0.0 <= b.x <= leg.wall.length and b.y - b.across / 2 >= leg.front - 1e-6


def _left(
    job: Job,
    room: Room,
    top: TopPlan,
    divided: Divided,
    supports: Sequence[PlacedSupport],
    placed: Sequence[PlacedSupport],
    where: Polygon,
) -> list[Polygon]:
    """Return what of an overhang is still not carried with more supports below it."""
    after = carry(job, room, top, divided, grow(supports, placed))
    return [p for u in after.unsupported for p in region.polygons(u.intersection(where), least=0.1)]


def _all_rows(
    top: TopPlan, divided: Divided, carried: Carried, where: Polygon, limit: float
) -> Iterator[tuple[Leg, bool, Polygon]]:
    """Yield every side that stands too far out: its leg, which way its brackets run, its strip of the overhang."""
    for over in carried.overhangs:
        if over.supported or over.amount <= limit or over.side not in top.ring.sides():
            continue
        edge = region.side_line(top.ring, [over.side])
        strip = where.intersection(edge.buffer(over.amount - limit + 1.0))
        for part in region.polygons(strip, least=1.0):
            wall = top.sides[over.side].wall
            leg = top.leg(wall) if wall is not None else _leg_of(top, divided, part)
            yield leg, _turned(top, leg, over.side), part


def _leg_of(top: TopPlan, divided: Divided, where: Polygon) -> Leg:
    if top.shape != "run":
        leg = top.legs[0]
        return Leg(Frame(leg.frame.x, leg.frame.y, top.frame.angle), leg.back, leg.front, leg.start, leg.end)
    at = region.inner_point(where)
    piece = min(
        (p for p in divided.pieces if p.top == top.name),
        key=lambda p: region.area_of(p.ring, 0.5).distance(region.spot(at)),
    )
    # of a piece over several walls, the leg nearest to the place
    return min(
        (g for g in top.legs if abs(g.frame.angle - piece.leg.frame.angle) < 1e-6 or len(top.legs) == 1),
        key=lambda g: abs(min(max(g.frame.from_plan(at)[0], g.start), g.end) - g.frame.from_plan(at)[0]),
    )


def _runs_along(top: TopPlan, leg: Leg, where: Polygon) -> bool:
    """Whether the overhang is at an end, so that its brackets run along the leg rather than across it."""
    contact: dict[str, float] = {}
    for free in top.sides.values():
        if free.free and free.kind in ("front", "back", "end") and free.name in top.ring.sides():
            touching = where.buffer(0.05).intersection(region.side_line(top.ring, [free.name]))
            contact[free.name] = touching.length
    side = max(contact, key=lambda n: contact[n], default="")
    return bool(contact.get(side)) and _turned(top, leg, side)


def _turned(top: TopPlan, leg: Leg, side: str) -> bool:
    """Whether a side runs across the leg, so that brackets below it run along the leg."""
    edges = [(a, b) for a, b in top.ring.edges() if a.side == side]
    heading = edge_heading(*edges[0], 0.5) - leg.frame.angle
    return abs(math.sin(heading)) > abs(math.cos(heading))


def _row(
    job: Job, top: TopPlan, leg: Leg, carried: Carried, where: Polygon, sideways: bool, extra: int
) -> list[_Bracket]:
    units = job.job.units
    limit, span = float(job.shop.overhang_limit), float(job.shop.support_span)
    width = BRACKET_WIDTH.size(units)
    short = BRACKET_SHORT.size(units)
    local = [leg.frame.from_plan((x, y)) for x, y in where.exterior.coords]
    axis = 1 if sideways else 0
    low, high = min(p[axis] for p in local), max(p[axis] for p in local)
    # beyond an end where nothing carries at all a bracket has nothing to start from
    stands = [leg.frame.from_plan((x, y))[axis] for p in region.polygons(carried.carried) for x, y in p.exterior.coords]
    if stands:
        low = max(low, min(stands) - limit + width / 2)
        high = min(high, max(stands) + limit - width / 2)
    if high <= low:
        return []
    margin = min(limit, (high - low) / 2)
    room = high - low - 2 * margin
    count = (1 if room <= 0 else math.ceil(room / span - 1e-9) + 1) + extra
    places = _places(low, high, margin, count, units)
    # on steps of the tape the places may have come apart by a step too much
    while any(b - a > span + 1e-6 for a, b in zip(places, places[1:], strict=False)):
        count += 1
        places = _places(low, high, margin, count, units)
    brackets = []
    for at in places:
        reach = _reach(top, leg, carried, where, at, width, short, sideways)
        if reach is None:
            continue
        inner, outer = reach
        near, far = min(inner, outer), max(inner, outer)
        if inner < outer:
            near, far = _step(near, units, up=False), _step(far, units, up=False)
        else:
            near, far = _step(near, units, up=True), _step(far, units, up=True)
        if far - near < width / 2:
            continue
        centre, length = (near + far) / 2, far - near
        brackets.append(_Bracket(centre, at, length, width) if sideways else _Bracket(at, centre, width, length))
    return brackets


def _places(low: float, high: float, margin: float, count: int, units: Unit) -> list[float]:
    """Return places on steps of the tape, evenly from ``margin`` inside one end to as much inside the other.

    Each is rounded towards the nearer end, so that the first and the last stay within the margin of theirs.
    """
    middle = (low + high) / 2
    room = high - low - 2 * margin
    even = [middle] if count == 1 else [low + margin + room * k / (count - 1) for k in range(count)]
    return [_step(place, units, up=place > middle) for place in even]


def _reach(
    top: TopPlan, leg: Leg, carried: Carried, where: Polygon, at: float, width: float, short: float, sideways: bool
) -> tuple[float, float] | None:
    """Return where a bracket at ``at`` starts on what carries the top and where it ends, short of the edge."""
    whole = region.area_of(top.ring, 0.05)
    limits: list[tuple[float, float]] = []
    x0, y0, x1, y1 = where.bounds
    far = math.hypot(x1 - x0, y1 - y0) + 1e5
    for offset in (-width / 2, 0.0, width / 2):
        ends = ((-far, at + offset), (far, at + offset)) if sideways else ((at + offset, -far), (at + offset, far))
        line = LineString([leg.frame.to_plan(p) for p in ends])
        beyond = where.intersection(line)
        if beyond.is_empty:
            continue
        axis = 0 if sideways else 1
        outer = [leg.frame.from_plan(p)[axis] for p in _points(beyond)]
        stands = [leg.frame.from_plan(p)[axis] for p in _points(carried.carried.intersection(line))]
        edges = [leg.frame.from_plan(p)[axis] for p in _points(whole.intersection(line))]
        if not stands or not edges:
            continue
        lo, hi = min(outer), max(outer)
        below, above = [s for s in stands if s <= lo], [s for s in stands if s >= hi]
        if below and (not above or lo - max(below) <= min(above) - hi):
            limits.append((max(below), hi - short))
        elif above:
            limits.append((min(above), lo + short))
    if not limits or len({inner < outer for inner, outer in limits}) > 1:
        return None
    if limits[0][0] < limits[0][1]:
        return min(i for i, _ in limits), min(o for _, o in limits)
    return max(i for i, _ in limits), max(o for _, o in limits)


def _points(geometry: region.Region) -> list[Point]:
    parts = geometry.geoms if hasattr(geometry, "geoms") else [geometry]
    return [(c[0], c[1]) for part in parts if not part.is_empty and part.geom_type != "Polygon" for c in part.coords]


def _step(value: float, units: Unit, up: bool) -> float:
    step = float(INCH_MM / 16) if units == "in" else 1.0
    return (math.ceil(value / step - 1e-6) if up else math.floor(value / step + 1e-6)) * step


def _placed(top: TopPlan, leg: Leg, b: _Bracket, k: int) -> PlacedSupport:
    ring = rectangle(b.x - b.along / 2, b.y - b.across / 2, b.x + b.along / 2, b.y + b.across / 2)
    return PlacedSupport(f"+{k + 1}", "bracket", top.name, ring.moved(leg.frame.to_plan), k)


def _tape(value: float, units: Unit) -> str:
    """Return a length on a thirty-second of an inch, or half a mm, as a job file takes it (a centre may halve a step)."""
    if units == "mm":
        return f"{value:.1f}".removesuffix(".0")
    exact = Fraction(round(value / float(INCH_MM) * 32), 32)
    return ticks_text(int(exact * 32), "in", 32, mark=False)


def _words(job: Job, leg: Leg, brackets: Sequence[_Bracket], sideways: bool) -> str:
    units = job.job.units
    mark = '"' if units == "in" else " mm"
    places = ", ".join(_tape(b.y - leg.front if sideways else b.x, units) for b in brackets)
    size = brackets[0]
    reach = max(b.along if sideways else b.across for b in brackets)
    wide = _tape(size.across if sideways else size.along, units)
    named = f"wall {leg.wall.name}, " if leg.wall else ""
    frame = "from the front edge" if sideways else ("station" if leg.wall else "from the left end")
    noun = "bracket" if len(brackets) == 1 else "brackets"
    count = len(brackets)
    return f"{count} {noun} {wide} wide, {_tape(reach, units)} long: {named}{frame} {places}".replace("  ", " ") + mark


def _paste(job: Job, top: TopPlan, leg: Leg, brackets: Sequence[_Bracket], kind: str) -> str:
    units = job.job.units
    blocks = []
    for b in brackets:
        size = f'["{_tape(b.along, units)}", "{_tape(b.across, units)}"]'
        if leg.wall is not None:
            setback = _tape(b.y - b.across / 2 - leg.front, units)
            place = f'wall = "{leg.wall.name}"\ncenter = "{_tape(b.x, units)}"\nsetback = "{setback}"'
        else:
            place = f'center = ["{_tape(b.x, units)}", "{_tape(b.y, units)}"]'
        blocks.append(f'[[support]]\ntop = "{top.name}"\nkind = "{kind}"\n{place}\nsize = {size}\n')
    return "\n".join(blocks)
