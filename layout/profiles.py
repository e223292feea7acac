"""Edge profiles: which side of a top gets which, free sides the job's, everything that meets something square."""

from __future__ import annotations

from layout.job import Job
from layout.openings import Part
from layout.pieces import Piece

SQUARE = "square"


def side_profile(job: Job, part: Part | Piece, name: str) -> str:
    """Return the profile of a side of a part or piece; ends at walls, appliances and panels, joints and openings are square."""
    side = part.sides.get(name)
    if side is None or not side.free or side.kind in ("opening", "joint"):
        return SQUARE
    for edge in job.edge:
        if edge.top == part.top and edge.side == name:
            return edge.profile
    return job.wood.edge
