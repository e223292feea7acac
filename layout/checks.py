"""The checks in one row: pure functions from what was laid out to findings. Numbers and sources stand in `rules.py`."""

from __future__ import annotations

from layout import (
    check_access,
    check_appliances,
    check_boards,
    check_cutouts,
    check_edges,
    check_field,
    check_joints,
    check_milling,
    check_movement,
    check_room,
    check_strength,
    check_support,
    check_wood,
)
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
    check_field.unproven,
    check_field.reveals,
    check_field.not_final,
    check_appliances.ends_over_openings,
    check_appliances.range_fits,
    check_field.captive,
    check_wood.sink_finish,
    check_wood.closed_columns,
    check_edges.sharp_points,
    check_wood.faucet_deck,
    check_appliances.heat,
    check_edges.splashes,
    check_edges.exposed_corners,
    check_appliances.air,
    check_edges.gaps,
    check_wood.short_grain,
    check_movement.room,
    check_movement.captive_ends,
    check_movement.mitres,
    check_movement.slots,
    check_movement.much,
    check_strength.bends,
    check_strength.cracks,
    check_strength.rails,
    check_access.heavy,
    check_access.way,
    check_milling.outside,
    check_milling.too_deep,
    check_milling.near,
    check_milling.tight,
    check_boards.boards,
)
"""Every check, in the order of the rule table."""


def check(laid: Laid) -> tuple[Finding, ...]:
    """Return every finding, the gravest first, each kind in the order of the rule table."""
    grave = ("stop", "ask", "note")
    return tuple(sorted((f for rule in CHECKS for f in rule(laid)), key=lambda f: grave.index(f.severity)))
