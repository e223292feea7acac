"""What the reader fills in where a job is silent, by the table that is filled: one list for the reader and for the schema."""

from __future__ import annotations

from collections.abc import Mapping

from layout import rules
from layout.job import Job
from layout.job_cutouts import Cutout, Recess
from layout.job_room import Appliance
from layout.job_shop import FastenerShape, SheetChoice, Shop, Web
from layout.job_tops import RunTop
from layout.job_values import Table
from layout.job_wood import Load
from layout.rules import Default

FILLED: dict[type[Table], Mapping[str, Default]] = {
    Shop: rules.SHOP,
    FastenerShape: rules.FASTENER,
    Web: rules.WEB,
    Load: {"strip": rules.LOAD_STRIP},
    SheetChoice: {"size": Default(rules.SHEET_SIZE["in"], rules.SHEET_SIZE["mm"], "own default")},
    RunTop: {"cabinet_depth": rules.CABINET_DEPTH, "splash_thickness": rules.SPLASH_THICKNESS},
    Recess: {"radius": rules.RECESS_RADIUS},
}
"""Values as typed, in both units."""
SCRIBED: Mapping[str, Default] = {"scribe": rules.SCRIBE}
"""What is filled into a run whose back is scribed."""
ROUNDED: Mapping[str, Default] = {"radius": rules.CUTOUT_RADIUS}
"""What is filled into a cutout with a size, unless half of its shorter side is less."""
SOMETIMES: dict[type[Table], Mapping[str, Default]] = {RunTop: SCRIBED, Cutout: ROUNDED}
"""Values that are filled in under some condition, which what is said of their key tells."""
MADE: dict[type[Table], tuple[str, ...]] = {
    Job: ("shop", "sheet", "load"),
    Shop: ("stock", "web", "fastener"),
    Appliance: ("breaks",),
}
"""Keys that are filled in with what is no one value: tables of defaults, lists, what another key decides."""
