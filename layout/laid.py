"""A job laid out, before findings: what the checks look at."""

from __future__ import annotations

from dataclasses import dataclass

from layout import region
from layout.cutouts import PlacedCutout
from layout.job import Job
from layout.milling import Milled
from layout.pieces import Divided
from layout.room import Room
from layout.support import Carried, PlacedSupport
from layout.tops import TopPlan
from layout.units import Labels


@dataclass(frozen=True, slots=True)
class Laid:
    """Room, tops, cutouts, pieces, what is let into faces, supports and what carries each top, with how lengths are printed."""

    job: Job
    room: Room
    tops: tuple[TopPlan, ...]
    cutouts: tuple[PlacedCutout, ...]
    divided: Divided
    milled: tuple[Milled, ...]
    supports: tuple[PlacedSupport, ...]
    carried: tuple[Carried, ...]
    labels: Labels


def pieces_at(laid: Laid, area: region.Region, top: str | None = None) -> tuple[str, ...]:
    """Return the pieces (of one top, or of all) that an area touches."""
    return tuple(
        p.id
        for p in laid.divided.pieces
        if (top is None or p.top == top) and region.area_of(p.ring).buffer(region.TOLERANCE).intersects(area)
    )
