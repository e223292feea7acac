"""Edge profiles: which side of a top gets which, and what each looks like in section.

Free sides take the job's profile or their own; everything that meets something is square.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from layout.faults import PlaceError
from layout.job import Job
from layout.outline import Ring, Vertex
from layout.rules import PROFILE_SIZES
from layout.units import Unit, parse_length

if TYPE_CHECKING:
    # as types only: what profiles there are is told without a layout
    from layout.openings import Part
    from layout.pieces import Piece
    from layout.top_plans import TopPlan

SQUARE = "square"
_QUARTER = math.tan(math.pi / 8)
"""Bulge of a quarter of a circle."""


def side_profile(job: Job, part: Part | Piece, name: str) -> str:
    """Return the profile of a side of a part or piece; ends at walls, appliances and panels, joints and openings are square."""
    side = part.sides.get(name)
    if side is None or not side.free or side.kind in ("opening", "joint"):
        return SQUARE
    for edge in job.edge:
        if edge.top == part.top and edge.side == name and edge.profile is not None:
            return edge.profile
    return job.wood.edge


def heed_edges(job: Job, tops: Sequence[TopPlan]) -> None:
    """Raise PlaceError for a profile on a side that turns out to meet something and is cut square."""
    for k, edge in enumerate(job.edge):
        top = next(t for t in tops if t.name == edge.top)
        side = top.sides.get(edge.side)
        if side is not None and not side.free:
            found = f"an end of kind {side.end}" if side.end else "a side that meets something"
            raise PlaceError(("edge", k, "side"), found, "an exposed side: this one is cut square")


def profile_size(profile: str, thickness: float, unit: Unit) -> float:
    """Return the size of a profile, mm: as it states, else its usual one; never more than the wood has."""
    name, _, size = profile.partition(" ")
    if name == SQUARE:
        return 0.0
    if name == "bullnose" and not size:
        return thickness / 2
    stated = size or PROFILE_SIZES[name].text(unit)
    return min(float(parse_length(stated, unit)), thickness / _faces(name))


def least_thickness(profile: str, unit: Unit) -> float:
    """Return the thinnest wood (mm) that takes a profile at its whole size; thinner wood gets a smaller one. 0: any does."""
    return _faces(profile.partition(" ")[0]) * profile_size(profile, math.inf, unit) if _sized(profile) else 0.0


def _sized(profile: str) -> bool:
    """Return whether a profile's size is a length of its own, and not the wood's affair."""
    return profile not in (SQUARE, "bullnose")


def _faces(name: str) -> int:
    """Return how many faces of the wood a profile takes its size from."""
    return 2 if name in ("bullnose", "eased") else 1


def section_words(profile: str, size: float, text: Callable[[float], str]) -> str:
    """Return how the section of a profile of that size (mm) is lettered, lengths by ``text``; empty for a square edge."""
    r = text(size)
    return {
        "eased": f"R {r} above and below",
        "roundover": f"R {r} above",
        "bevel": f"{r} x {r} above",
        "cove": f"R {r}, hollow, above",
        "ogee": f"{r} high and wide, two quarters of R {text(size / 2)}",
        "bullnose": f"R {r} above and below",
    }.get(profile.partition(" ")[0], "")


def profile_ring(profile: str, thickness: float, reach: float, unit: Unit) -> Ring:
    """Return an edge in section, mm: the face of the edge at x = 0, wood at -reach < x < 0, its underside at y = 0."""
    name = profile.partition(" ")[0]
    s = profile_size(profile, thickness, unit)
    up = [(0.0, 0.0, 0.0), (0.0, thickness, 0.0)]
    if name == "eased" or (name == "bullnose" and s < thickness / 2):
        up = [(-s, 0.0, _QUARTER), (0.0, s, 0.0), (0.0, thickness - s, _QUARTER), (-s, thickness, 0.0)]
    elif name == "bullnose":
        up = [(-s, 0.0, 1.0), (-s, thickness, 0.0)]
    elif name == "roundover":
        up = [(0.0, 0.0, 0.0), (0.0, thickness - s, _QUARTER), (-s, thickness, 0.0)]
    elif name == "bevel":
        up = [(0.0, 0.0, 0.0), (0.0, thickness - s, 0.0), (-s, thickness, 0.0)]
    elif name == "cove":
        up = [(0.0, 0.0, 0.0), (0.0, thickness - s, -_QUARTER), (-s, thickness, 0.0)]
    elif name == "ogee":
        middle = (-s / 2, thickness - s / 2, _QUARTER)
        up = [(0.0, 0.0, 0.0), (0.0, thickness - s, -_QUARTER), middle, (-s, thickness, 0.0)]
    points = [(-reach, 0.0, 0.0), *up, (-reach, thickness, 0.0)]
    return Ring(tuple(Vertex(x, y, bulge, profile) for x, y, bulge in points))
