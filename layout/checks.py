"""The checks in one row: pure functions from what was laid out to findings. Numbers and sources stand in `rules.py`."""

from __future__ import annotations

from layout import check_cutouts, check_joints, check_room, check_support, check_wood
from layout.findings import Finding
from layout.laid import Laid

CHECKS = (
    check_support.overhangs,
    check_joints.seams,
    check_joints.corners,
    check_joints.too_wide,
    check_cutouts.thin_webs,
    check_cutouts.necks,
    check_cutouts.outside,
    check_cutouts.overlaps,
    check_cutouts.tops_overlap,
    check_cutouts.tight_corners,
    check_wood.thickness,
    check_wood.end_grain,
    check_room.measures,
    check_room.closing,
    check_support.support_not_given,
)
"""Every check, in the order of the rule table."""


def check(laid: Laid) -> tuple[Finding, ...]:
    """Return every finding, in the order of the rule table."""
    return tuple(found for rule in CHECKS for found in rule(laid))
