"""The rules of the trade that this tool applies: each number with its unit and source, each finding with its meaning.

Numbers are the shop's to change under [shop]; what stands here holds where a job is silent. "common practice, no source"
marks a fact of the trade for which no published figure was found; "own default" a value this project chose.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from layout.units import Unit

_PRACTICE = "common practice, no source"
Severity = Literal["stop", "ask", "note"]


@dataclass(frozen=True, slots=True)
class Default:
    """A default in both units, as typed in a job file, with where it comes from."""

    inches: str
    mm: str
    source: str

    def text(self, unit: Unit) -> str:
        """Return the default as a tape string of ``unit``."""
        return self.inches if unit == "in" else self.mm


SHOP = {
    "max_length": Default("168", "4200", "lumber over 14 ft is hard to come by; common practice, no source"),
    "max_width": Default("48", "1200", "widest glued blank; own default"),
    "min_piece": Default("24", "600", "own default"),
    "seam_clear": Default("6", "150", "own default; no published minimum found"),
    "opening_clear": Default("2", "50", "own default"),
    "overhang_limit": Default("8", "200", "more than 8 in may need support; common practice, no source"),
    "support_span": Default("24", "600", "own default"),
    "wall_gap": Default("1/8", "3", "solid-wood back gap under a splash; common practice, no source"),
    "tool_diameter": Default("1/2", "12", "common router bit; common practice, no source"),
}
WEB = {
    "front": Default("3", "75", "own default; 3 to 3 1/2 in commonly seen, no published minimum"),
    "back": Default("2", "50", "own default; about 3 in commonly seen for a faucet, no published minimum"),
    "end": Default("4", "100", "own default"),
    "between": Default("4", "100", "own default"),
    "joint": Default("2", "50", "own default"),
    "hole": Default("3/4", "20", "own default"),
}
CABINET_DEPTH = Default("24", "580", "base cabinet box; common practice, no source")
SPLASH_THICKNESS = Default("3/4", "20", "own default")
CUTOUT_RADIUS = Default("3/8", "10", "own default: the radius of a 1/2 in bit and a little more")
SHORT_MITRE = Default("2", "50", "own default: covers every edge profile")
HOLE_ACROSS = Default("2", "50", "a hole is a cutout up to this far across (fixed by the format)")
TOP_SPACING = Default("24", "600", "between tops whose place in plan is not given (fixed by the format)")
MEASURE_TOLERANCE = Default("1/4", "6", "own default: two tapes agree within this")
SEAM_STEP = Default("1/16", "1", "seam stations are multiples of this (fixed by the format)")
BRACKET_SHORT = Default("2", "50", "a bracket ends this far short of the edge (fixed by the format)")
BRACKET_WIDTH = Default("2", "50", "own default")
SHEET_SIZE = {"in": "ANSI B", "mm": "A3"}

THICKNESS = {
    "face grain": (Default("1 1/4", "32", _PRACTICE), Default("2 1/2", "64", _PRACTICE)),
    "edge grain": (Default("1", "25", "own default"), Default("6", "150", "common practice, no source")),
    "end grain": (Default("1 1/4", "32", "own default"), Default("6", "150", "common practice, no source")),
}  # fmt: skip
END_GRAIN_ROOM = 1 / 8 / 48
"""Room that end grain needs between two walls, as a share of its length: 1/8 in every 48 in; common practice, no source."""

MOISTURE_PERCENT = 12.0
"""Moisture content at which weights are stated where the job says nothing of the house (fixed by the format)."""

BREAKS = {"range", "refrigerator"}
"""Appliances that break a run where the job does not say otherwise."""

PROFILES = ("eased", "roundover", "bevel", "cove", "ogee", "bullnose", "square")
"""Edge profiles; a size may follow the name, as in ``roundover 1/2``."""


CABINET_HEIGHT = Default("34 1/2", "876", "height of a base cabinet; common practice, no source")
FAUCET_THROUGH = Default("1 1/2", "38", "deck that most faucet shanks reach through; common practice, no source")
SHARP_ASK, SHARP_STOP = 45.0, 30.0
"""Degrees: a piece's corner below the first is asked about, below the second cannot be made; own defaults."""
