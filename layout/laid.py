"""A job laid out, before findings: what the checks look at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import TypeVar

from layout import region
from layout.cutouts import PlacedCutout
from layout.job import Job
from layout.layup import LayUp, lay_up
from layout.milling import Milled
from layout.pieces import Divided
from layout.room import Room
from layout.support import Carried, PlacedSupport
from layout.top_plans import TopPlan
from layout.units import Labels
from layout.webs import WebWidth, scribe_wood, webs

Told = TypeVar("Told")


@dataclass(frozen=True)
class Laid:
    """Room, tops, cutouts, pieces, what is let into faces, supports and what carries each top, with how lengths are printed.

    Without slots, so that what follows from it can be kept with it (`once`).
    """

    job: Job
    room: Room
    tops: tuple[TopPlan, ...]
    cutouts: tuple[PlacedCutout, ...]
    divided: Divided
    milled: tuple[Milled, ...]
    supports: tuple[PlacedSupport, ...]
    carried: tuple[Carried, ...]
    labels: Labels


def once(work: Callable[[Laid], Told]) -> Callable[[Laid], Told]:
    """Return a function of a layout that is worked out when it is first asked for, and kept as long as the layout is."""
    name = f"{work.__module__}.{work.__qualname__}"

    @wraps(work)
    def kept(laid: Laid) -> Told:
        # as cached_property does it: the fields are frozen, what is kept beside them is none of them
        if name not in laid.__dict__:
            laid.__dict__[name] = work(laid)
        told: Told = laid.__dict__[name]
        return told

    return kept


@once
def webs_of(laid: Laid) -> tuple[WebWidth, ...]:
    """Return the webs of all cutouts; those between two cutouts where they are thin enough to be thought of."""
    limits = laid.job.shop.web
    near = max(float(limits.between), float(limits.hole)) + 1.0
    return tuple(webs(laid.divided, laid.cutouts, limits, scribe_wood(laid.job), near))


@once
def layups_of(laid: Laid) -> dict[str, LayUp]:
    """Return how each piece is glued up, by its id, in the order of the pieces."""
    return {piece.id: lay_up(laid.job, piece) for piece in laid.divided.pieces}


def pieces_at(laid: Laid, area: region.Region, top: str | None = None) -> tuple[str, ...]:
    """Return the pieces (of one top, or of all) that an area touches."""
    return tuple(
        p.id
        for p in laid.divided.pieces
        if (top is None or p.top == top) and region.area_of(p.ring).buffer(region.TOLERANCE).intersects(area)
    )
