"""Appliances at a run: those that break it into parts, and openings below it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from layout.cutouts import station
from layout.cutting import line_crossings, split
from layout.faults import PlaceError
from layout.job import Job
from layout.job_room import Appliance
from layout.joints import CornerJoint, NoJoint
from layout.outline import SAME, Point, Ring
from layout.room import Room
from layout.top_plans import Leg, Side, TopPlan


@dataclass(frozen=True, slots=True)
class Opening:
    """An appliance in plan: the leg it stands at and its stations there (mm). ``breaks``: the run stops for it.

    ``strip``: how deep the wood is that goes on behind it, mm from the back edge; 0: none.
    """

    kind: str
    top: str
    leg: Leg
    start: float
    end: float
    breaks: bool
    index: int
    strip: float = 0.0


@dataclass(frozen=True, slots=True)
class Part:
    """What is left of a top between the appliances that break it; ``sides`` are those of this part."""

    top: str
    number: int
    ring: Ring
    sides: dict[str, Side]


def place_openings(job: Job, room: Room, tops: Iterable[TopPlan]) -> tuple[Opening, ...]:
    """Return every appliance in plan, in file order."""
    plans = {t.name: t for t in tops}
    return tuple(_opening(room, plans[a.top], k, a) for k, a in enumerate(job.appliance))


def _opening(room: Room, top: TopPlan, k: int, item: Appliance) -> Opening:
    leg = top.leg(item.wall)
    start = station(room, item.wall, float(item.at), item.from_)
    end = start + float(item.width)
    x0, _, x1, _ = top.ring.bounds(leg.frame)
    length = leg.wall.length if leg.wall else x1
    if start < -SAME or end > length + SAME or end <= x0 + SAME or start >= x1 - SAME:
        raise PlaceError(
            ("appliance", k, "at"), "an opening outside its run", "a place along the run's leg on that wall"
        )
    strip = float(item.strip or 0)
    if strip and not item.breaks:
        raise PlaceError(("appliance", k, "strip"), "a strip behind what does not break the run", "breaks = true")
    if strip > (leg.back - leg.front) / 2:
        raise PlaceError(("appliance", k, "strip"), "a strip deeper than half its run", "what is left behind the range")
    return Opening(item.kind, item.top, leg, start, end, item.breaks, k, strip)


def in_order(top: TopPlan, breaks: list[Opening]) -> list[Opening]:
    """Return the openings that break a run left to right. Raises PlaceError where two overlap."""
    ordered = sorted(breaks, key=lambda o: (top.legs.index(o.leg), o.start))
    for a, b in zip(ordered, ordered[1:], strict=False):
        if a.leg == b.leg and b.start < a.end - SAME:
            raise PlaceError(("appliance", b.index, "at"), "an opening that overlaps another", "openings side by side")
    return ordered


def keep_clear(top: TopPlan, breaks: list[Opening], joints: Sequence[CornerJoint | NoJoint | None]) -> None:
    """Raise PlaceError where an opening that breaks the run reaches a corner joint."""
    for opening in breaks:
        k = top.legs.index(opening.leg)
        for i in (k - 1, k):
            joint = joints[i] if 0 <= i < len(joints) else None
            if joint is None:
                continue
            path = joint.points if isinstance(joint, CornerJoint) else (top.corners[i].back, top.corners[i].front)
            xs = [opening.leg.frame.from_plan(p)[0] for p in path]
            if opening.start < max(xs) + SAME and opening.end > min(xs) - SAME:
                raise PlaceError(
                    ("appliance", opening.index, "at"),
                    "an opening that reaches the corner joint",
                    f"a place on the leg clear of the joint at corner {'/'.join(joint.walls)}",
                )


def cut_line(ring: Ring, leg: Leg, at: float) -> tuple[Point, Point] | None:
    """Return where the line square to ``leg`` at station ``at`` enters the ring at the leg's back and leaves it in front."""
    line = leg.across(at)
    reach = line_crossings(ring, line)
    if len(reach) < 2:
        return None
    k = min(range(len(reach)), key=lambda i: abs(reach[i] + leg.back))
    if k == len(reach) - 1:
        k -= 1
    return (line.point(reach[k]), line.point(reach[k + 1]))


def broken(ring: Ring, opening: Opening) -> tuple[Ring | None, Ring | None, Ring | None]:
    """Return what lies left of an opening that breaks the run, the strip behind it, and what lies right of it; None where
    there is nothing."""
    x0, _, x1, _ = ring.bounds(opening.leg.frame)
    left: Ring | None = None
    middle = ring
    rest: Ring | None = None
    path = cut_line(ring, opening.leg, opening.start) if opening.start > x0 + SAME else None
    if path is not None:
        left, middle = split(ring, path, "right", "left")
    path = cut_line(middle, opening.leg, opening.end) if opening.end < x1 - SAME else None
    if path is not None:
        middle, rest = split(middle, path, "right", "left")
    return left, _strip(middle, opening), rest


def _strip(behind: Ring, opening: Opening) -> Ring | None:
    """Return the wood that goes on behind an opening, of the whole depth there."""
    if not opening.strip:
        return None
    line = opening.leg.line(opening.leg.back - opening.strip)
    reach = line_crossings(behind, line)
    if len(reach) < 2:
        raise PlaceError(
            ("appliance", opening.index, "strip"), "a strip that finds no wood", "less than the depth of the run"
        )
    return split(behind, (line.point(reach[0]), line.point(reach[-1])), STRIP, STRIP)[1]


STRIP = "strip front"
"""The side of a strip that faces the range."""


def divided_by_breaks(top: TopPlan, breaks: list[Opening]) -> list[Part]:
    """Return what is left of a top between the appliances that break it, left to right."""
    rings: list[Ring] = []
    sides: list[dict[str, Side]] = []
    rest: Ring | None = top.ring
    left = top.sides.get("left")
    for opening in breaks:
        if rest is None:
            break
        wall = wall_name(opening.leg)
        before, strip, rest = broken(rest, opening)
        if before is not None:
            rings.append(before)
            stop = Side("right", "end", False, wall, "appliance")
            sides.append({**top.sides, "right": stop, **({"left": left} if left else {})})
        if strip is not None:
            rings.append(strip)
            ends = {hand: Side(hand, "end", False, wall) for hand in ("left", "right")}
            sides.append({**top.sides, **ends, STRIP: Side(STRIP, "opening", False, wall)})
        left = Side("left", "end", False, wall, "appliance")
    if rest is not None:
        rings.append(rest)
        sides.append({**top.sides, **({"left": left} if left else {})})
    if not rings:
        raise PlaceError(
            ("appliance", breaks[-1].index, "at"),
            "an opening that takes the whole run",
            "a run longer than its appliances",
        )
    return [Part(top.name, k + 1, ring, s) for k, (ring, s) in enumerate(zip(rings, sides, strict=True))]


def wall_name(leg: Leg) -> str | None:
    """Return the name of the wall a leg follows; None for a rectangle or an outline."""
    return leg.wall.name if leg.wall else None
