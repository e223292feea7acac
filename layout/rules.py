"""The rules of the trade that this tool applies: each number with its unit and source, each finding with its meaning.

Numbers are the shop's to change under [shop]; what stands here holds where a job is silent. "common practice, no source"
marks a fact of the trade for which no published figure was found; "own default" a value this project chose.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from layout.units import FOOT_MM, LONGEST_MM, Unit, parse_length

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

    def size(self, unit: Unit) -> float:
        """Return the default for a job in ``unit``, in mm."""
        return _size(self.text(unit), unit)


@lru_cache(maxsize=1024)
def _size(text: str, unit: Unit) -> float:
    return float(parse_length(text, unit))


@dataclass(frozen=True, slots=True)
class Amount:
    """A number that is no length, with its unit (a count and a ratio have none) and where it comes from."""

    value: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Count:
    """How many of ``what`` there may be at most, and why so many."""

    what: str
    most: int
    source: str


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
    "end_trim": Default("1/2", "12", "left on a blank at each end for trimming; own default"),
    "edge_trim": Default("1/4", "6", "left on a blank at each edge for trimming; own default"),
    "kerf": Default("1/8", "3", "lost at each saw cut; own default"),
    "board_width": Default("6", "150", "boards that strips are ripped from, on the average; own default"),
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
SCRIBE = Default(
    "1/2", "12", "wood left on a back edge to be fitted on site, 1/4 to 1/2 in; common practice, no source"
)
CUTOUT_RADIUS = Default("3/8", "10", "own default: the radius of a 1/2 in bit and a little more")
SHORT_MITRE = Default("2", "50", "own default: covers every edge profile")
BUTT_STEP = Default("1", "10", "a butt set back beyond a corner sink is proposed in steps of this; own default")
HOLE_ACROSS = Default("2", "50", "a hole is a cutout up to this far across (fixed by the format)")
TOP_SPACING = Default("24", "600", "between tops whose place in plan is not given (fixed by the format)")
MEASURE_TOLERANCE = Default("1/4", "6", "own default: two tapes agree within this")
SEAM_STEP = Default("1/16", "1", "seam stations are multiples of this (fixed by the format)")
BRACKET_SHORT = Default("2", "50", "a bracket ends this far short of the edge (fixed by the format)")
BRACKET_WIDTH = Default("2", "50", "own default")
LARGEST = Default("60'", "18000", "no wall and no top is longer: far beyond any house; own default")
DEEPEST = Default("10'", "3000", "no top is deeper: twice a boardroom's table; own default")
LONGEST = Default(
    f"{LONGEST_MM['in'] / FOOT_MM}'",
    str(LONGEST_MM["mm"]),
    "no length at all is more: no room is longer (fixed by the format)",
)
MOST_STATIONS = 60
LEAST = Default("1/16", "1", "nothing that is cut, built or stands on a wall is smaller; own default")
MOST = {"top": 200, "wall": 500}
MOST_EACH = 500
MOST_ON_A_TOP = 40
MOST_LET_IN = 200
MOST_LEGS = 24
MOST_POINTS = 200
MOST_IN_A_NAME = 40
MOST_LETTERS = 400
MOST_NOTES = 100
COUNTS = (
    Count("tops in a job", MOST["top"], "a top gets a view and a cut file for each of its pieces; own default"),
    Count("walls in a job", MOST["wall"], "own default"),
    Count(
        "anything else that is listed, each", MOST_EACH, "cutouts or windows; a hundred kitchens' worth; own default"
    ),
    Count("cutouts on one top", MOST_ON_A_TOP, "what lies between any two is measured and told; own default"),
    Count("grooves, slots and recesses on one top", MOST_LET_IN, "each groove of a row is counted; own default"),
    Count("walls along one run", MOST_LEGS, "own default"),
    Count("points of an outline", MOST_POINTS, "more are a tracing, not a sketch; own default"),
    Count("stations of a bow or a natural edge", MOST_STATIONS, "one a foot of the longest wall; own default"),
    Count("letters of a name", MOST_IN_A_NAME, "it stands in tables and beside what it names; own default"),
    Count("letters of a line of text", MOST_LETTERS, "it is set and measured word by word; own default"),
    Count("notes", MOST_NOTES, "they are printed on the sheets; own default"),
)
"""What a job may have at most; past it a job is refused."""
SMALLEST = {
    ("shop", "max_length"): Default("36", "900", "least that a shop can make; own default"),
    ("shop", "max_width"): Default("2", "50", "least that a shop can make; own default"),
    ("shop", "stock"): Default("12", "300", "least board that is sold; own default"),
    ("shop", "strip"): Default("1/2", "12", "least strip that is glued up; own default"),
    ("shop", "board_width"): Default("1/2", "12", "least board that strips are ripped from; own default"),
}
"""Limits of a shop below which they are a slip, by section and key: a top would fall into thousands of parts."""
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

HUMIDITY = (25.0, 60.0)
HUMIDITY_SOURCE = "relative humidity (%), yearly low and high, of a house that nobody controls (fixed by the format)"
TEMPERATURE = "70 F"
TEMPERATURE_SOURCE = "of a house where the job does not say; about that is kept; common practice, no source"

LIFT_POUNDS = 51.0
"""What one person lifts under ideal conditions, lb (23 kg): load constant of the revised NIOSH lifting equation (1991)."""
LOADS = {
    "point": Amount(100.0, "lb", "at the tip of an overhang; own default, no published rule for tops was found"),
    "deflection": Amount(
        360.0, "", "an overhang bends at most twice its length by this: IRC R301.7 takes a cantilever's span as twice its "
        "length; 360 is a floor's, for want of a top's",
    ),
    "creep": Amount(1.5, "", "a top's own weight counts so many times; NDS 3.5.2, seasoned"),
    "lift": Amount(
        50.0, "lb", f"what one person carries; own default, under NIOSH's {LIFT_POUNDS:g} lb under ideal conditions"
    ),
}  # fmt: skip
"""What overhangs are tried with and what a person carries, where [load] is silent."""
LOAD_POINT, LOAD_LIFT = LOADS["point"].value, LOADS["lift"].value
LOAD_STRIP = Default("12", "305", "width of top that a point load is spread over; own default")
LOAD_DEFLECTION, LOAD_CREEP = LOADS["deflection"].value, LOADS["creep"].value
CARRIERS_MOST = 4
"""More people than this cannot get round a top; own default."""
MITRE_OPEN = Default("3/16", "5", "a mitre that opens more than this at one end is said; own default")
MOVES_MUCH = 0.0175
"""A wood that changes by more than this share of its width over the year is said to move much; own default."""
RATIO_FALLBACK = (0.043, 0.078)
"""E_T / E_L and E_R / E_L where a species has none."""
RATIO_FALLBACK_SOURCE = "the smallest hardwood pair of Wood Handbook table 5-1 (from memory)"
CRACK_SHARE = 0.5
"""Root stress above this share of the mean strength across the grain is asked about; own default."""
TENSION_FALLBACK = 420.0
"""Strength across the grain (psi) where a species has none."""
TENSION_FALLBACK_SOURCE = "red alder's, the least of the table's hardwoods"

BREAKS = {"range", "refrigerator"}
"""Appliances that break a run where the job does not say otherwise."""

PROFILES = ("eased", "roundover", "bevel", "cove", "ogee", "bullnose", "square")
"""Edge profiles; a size may follow the name, as in ``roundover 1/2``."""

PROFILE_SIZES = {
    "eased": Default("1/8", "3", "radius, above and below; common practice, no source"),
    "roundover": Default("1/4", "6", "radius, above; own default"),
    "bevel": Default("1/4", "6", "along each face, above; own default"),
    "cove": Default("1/4", "6", "radius, above; own default"),
    "ogee": Default("1/2", "12", "height and width, above; own default"),
    "bullnose": Default("1/2", "12", "radius, above and below; half the thickness where no size is given; own default"),
}
"""Sizes of profiles that state none."""

FASTENER = {
    "pitch": Default("10", "250", "one joint fastener in so much of a joint; own default, three in 24 in are seen"),
    "end": Default("3 1/2", "90", "first and last from the ends of a joint, 3 to 4 in; own default"),
    "reach": Default("2 1/8", "55", "from a joint to the middle of a fastener's pocket on either side; own default"),
    "pocket": Default("3/4", "20", "radius of a fastener's pocket; own default"),
    "channel": Default("1/2", "13", "width of the way from a pocket to the joint; own default"),
}
FASTENER_PAST = Default("1/4", "6", "a fastener's pocket goes so far past the middle of the thickness; own default")
FASTENER_CLEAR = Default("2", "50", "from a fastener to a cutout; own default")
FASTENER_EDGE = Default("3/4", "20", "wood left between a pocket and an edge; own default")
PILOT = Default("1/8", "3", "hole for a hold-down's screw, drilled from below; own default")
MILLED_LEAST = Default("1/2", "12", "wood left under or over what is let into a face; own default")
RECESS_RADIUS = Default("1/2", "12", "radius of a recess's corners; own default")
FASTENERS_LEAST = 3
"""A corner or seam has at least so many fasteners where it has room; seen in trade sheets, no published figure."""
HOLD_DOWN_PITCH = Default("36", "900", "hold-down screws along each line; one maker's sheet, confidence medium")
HOLD_DOWN_INSET = Default("2", "50", "hold-downs from the faces of the cabinets; own default")
HOLD_DOWN_CLEAR = Default("2", "50", "hold-downs from a cutout; own default")
HOLD_DOWN_SCREW = Default("1/4", "6", "screw of a hold-down, with a washer; one maker's sheet, confidence medium")
HOLD_DOWN_SLOT = Default(
    "5/8", "16", "hole or slot of a hold-down across the grain; one maker's sheet, confidence medium"
)
STRIP = {
    "face grain": Default("4", "100", "board width seen, within 3 to 6 in; common practice, no source"),
    "edge grain": Default("1 3/4", "44", "strip width seen, about 1 3/4 in; common practice, no source"),
    "end grain": Default("1 3/4", "44", "blocks about as wide as strips; own default"),
}
"""Width of boards, strips and blocks that is seen, as wanted where a shop says nothing: a lay-up is even and comes near it."""
BOARD_SEEN = (Default("3", "75", _PRACTICE), Default("6", "150", _PRACTICE))
"""A plank top shows boards between these widths."""
EDGING = Default("1/4", "6", "width lost when a board's two edges are made straight for glueing; own default")
SURFACING = Default("1/8", "3", "thickness lost when a glued panel's two faces are planed; own default")
STEP_LEAST = Default(
    "2", "50", "a strip that would end less than this short of the blank's end goes on to it; own default"
)
CUT_STEP = Default("1/4", "5", "strips are cut to the next whole step of this; own default")
STOCK = {
    "in": tuple(f"{feet}'" for feet in range(4, 17)),
    "mm": tuple(str(mm) for mm in range(1200, 5100, 300)),
}
"""Lengths that boards come in."""
STOCK_SOURCE = "lengths that boards come in; inches: NHLA standard lengths, from memory; mm: own default"
QUARTERS = (
    ("4/4", "1", "13/16"),
    ("5/4", "1 1/4", "1 1/16"),
    ("6/4", "1 1/2", "1 5/16"),
    ("7/4", "1 3/4", "1 1/2"),
    ("8/4", "2", "1 3/4"),
    ("10/4", "2 1/2", "2 1/4"),
    ("12/4", "3", "2 3/4"),
    ("14/4", "3 1/2", "3 1/4"),
    ("16/4", "4", "3 3/4"),
)
"""Lumber by quarters of an inch: name, rough thickness, and the thickness it is sure to surface to on two sides (in)."""
QUARTERS_SOURCE = "NHLA rules for surfaced lumber, seen in two reproductions, 10/4 from memory"
FINGER_LENGTH = Default("18", "450", "mean length of the pieces of a finger-jointed strip; own default")
FINGER_LOSS = Default("1/2", "12", "length lost at each finger joint; own default")
CRATE_CLEAR = Default("2", "50", "between a crate and what is in it, all round; own default")
CRATE_SPACER = Default("1/2", "12", "between pieces in a crate; own default")
CRATE_WEIGHT = 2.5
"""Weight of a crate by its surface, lb a square foot: sheet, battens and screws; own default."""

CABINET_HEIGHT = Default("34 1/2", "876", "height of a base cabinet; common practice, no source")
FAUCET_THROUGH = Default("1 1/2", "38", "deck that most faucet shanks reach through; common practice, no source")
SHARP_ASK, SHARP_STOP = 45.0, 30.0
"""Degrees: a piece's corner below the first is asked about, below the second cannot be made; own defaults."""

SEAT_WIDTH = 24.0
"""Width for one person at a top, inches: NKBA Kitchen Planning Guideline 9, by reproductions that agree."""
KNEE_DEPTH = {30.0: 18.0, 36.0: 15.0, 42.0: 12.0}
"""Clear depth for knees by the height of the top, inches: NKBA Kitchen Planning Guideline 9, by reproductions that agree."""
LANDINGS = {
    "sink": ("NKBA 11, landing", (24.0, 18.0)),
    "cooktop": ("NKBA 17, landing", (15.0, 12.0)),
    "range": ("NKBA 17, landing", (15.0, 12.0)),
    "refrigerator": ("NKBA 16, landing", (15.0,)),
}
"""Free top wanted beside an appliance, inches, the wider side first; one side will do for a refrigerator. NKBA Kitchen
Planning Guidelines, by single reproductions."""
ADA_HEIGHT = (28.0, 34.0)
"""Height of an accessible dining or work surface, inches: 2010 ADA Standards 902.3; 804.3 has at most 34 for a kitchen's."""

TOLERANCES = (
    ("squareness", "1/64 in 12 in (1.3 mm a metre)", "AWS 2009, 4.4.2"),
    ("place of cutouts", "1/8 in (3 mm) either way", "AWS 2009, 4.4.3"),
    ("size of cutouts", "1/8 in (3 mm) over, nothing under", "AWS 2009, 4.4.3"),
    ("length; width of a top", "1/8; 1/16 in (3; 1.5 mm) either way", "AWS 2009, 4.4.4"),
)
"""Tolerances printed on the sheets: what, how much, where it stands (Architectural Woodwork Standards, 1st ed. 2009)."""
FIELD_JOINT = {"premium": "1/64 in (0.4 mm)", "custom": "1/32 in (0.8 mm)", "economy": "3/64 in (1.2 mm)"}
"""Widest gap of a joint made on site by grade (ANSI/AWI; mm there, inches rounded)."""
FIELD_JOINT_SOURCE = "AWI 0620-2018, 3.4.1.1"
