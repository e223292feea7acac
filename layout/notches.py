"""Notches in the back of a run: a chase, a pilaster or a post that the top goes round, with its gap."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from layout.cutouts import station
from layout.cutting import difference
from layout.faults import PlaceError
from layout.job import Job
from layout.job_tops import Notch
from layout.outline import Ring, rectangle
from layout.room import Room
from layout.top_plans import Leg, Side, TopPlan

REACH = 25.0
"""How far (mm) a notch is drawn out over the edges it opens before it is subtracted, so that no edges coincide."""


def with_notches(job: Job, room: Room, tops: Iterable[TopPlan]) -> tuple[TopPlan, ...]:
    """Return the tops with their notches cut out of the back; each is a side of its own, square and not free."""
    return tuple(_notched(job, room, top) for top in tops)


def _notched(job: Job, room: Room, top: TopPlan) -> TopPlan:
    ring, sides = top.ring, dict(top.sides)
    for k, notch in enumerate(job.notch):
        if notch.top != top.name:
            continue
        name = f"notch {k + 1}"
        box = _box(job, room, top, top.leg(notch.wall), notch, name)
        parts = difference(ring, box)
        if len(parts) != 1 or parts[0].area > ring.area - 1.0:
            raise PlaceError(
                ("notch", k), "a notch that cuts its top in two or misses it", "a notch with wood before it"
            )
        ring = parts[0]
        sides[name] = Side(name, "back", False, notch.wall)
    return replace(top, ring=ring, sides=sides)


def _box(job: Job, room: Room, top: TopPlan, leg: Leg, notch: Notch, name: str) -> Ring:
    """Return what a notch takes, with its gap on every side, drawn out over the back and over an end it reaches."""
    gap = float(job.shop.wall_gap if notch.gap is None else notch.gap)
    x0 = station(room, notch.wall, float(notch.at), notch.from_)
    x1 = x0 + float(notch.width)
    low, _, high, _ = top.ring.bounds(leg.frame)
    left = x0 - gap if x0 - gap > max(leg.start, low) + gap + 1e-6 else min(low, leg.start) - REACH
    right = x1 + gap if x1 + gap < min(leg.end, high) - gap - 1e-6 else max(high, leg.end) + REACH
    front = -float(notch.depth) - gap
    back = max(leg.back, 0.0, *(y for _, y in leg.followed)) + REACH
    return rectangle(left, front, right, back, (name,) * 4).moved(leg.frame.to_plan)
