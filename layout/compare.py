"""What changed from one report to the next, told as a person would: each cause once, its figures as they are printed.

Lengths are compared in mm, whatever units the two reports are in, and told in the new one's. Pieces and joints are numbered
in the order of the file, so an inserted one renumbers the rest: that is one change, not many.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from layout.changes import Change
from layout.compare_cuts import changed_cutouts, cutout_changes, milled_changes
from layout.compare_findings import edge_changes, finding_changes, overhang_changes
from layout.compare_room import job_changes, measure_changes, wall_changes, wood_changes
from layout.compare_stated import stated_changes
from layout.compare_tops import joint_changes, piece_changes, top_changes
from layout.comparison import Comparison
from layout.told import told


def compare(old: dict[str, Any], new: dict[str, Any]) -> tuple[Change, ...]:
    """Return what changed between two reports, causes before what follows from them; empty where nothing did.

    Raises ToldError where one of them is no report.
    """
    both = Comparison(told(old), told(new))
    found = [*_changes(both), *stated_changes(both)]
    # where no measure tells of it, the job file says the same otherwise, which makes another digest all the same
    return tuple(found or stated_changes(both, measured=True))


def _changes(both: Comparison) -> Iterator[Change]:
    # cutouts are looked at first: an outline that only opens elsewhere follows from them
    cutouts = list(cutout_changes(both))
    pieces = list(piece_changes(both, changed_cutouts(both, cutouts)))
    yield from job_changes(both)
    yield from wood_changes(both)
    yield from wall_changes(both)
    yield from measure_changes(both)
    yield from top_changes(both, bool(pieces))
    yield from pieces
    yield from joint_changes(both)
    yield from cutouts
    yield from milled_changes(both)
    yield from edge_changes(both)
    yield from overhang_changes(both)
    yield from finding_changes(both)
