"""What a job file says of the shop: its limits, its sheets and its cut files."""

from __future__ import annotations

import re
from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, BeforeValidator, Field, WithJsonSchema

from layout.job_values import NotNegative, Positive, Table, whole
from layout.spellings import LAYER


class Web(Table):
    """Least wood left round a cutout, by what lies on the other side."""

    front: NotNegative
    """Least wood between a cutout and the front edge; a length."""
    back: NotNegative
    """Least wood between a cutout and the back edge; a length."""
    end: NotNegative
    """Least wood between a cutout and an end of the top; a length."""
    between: NotNegative
    """Least wood between two cutouts; a length."""
    joint: NotNegative
    """Least wood between a cutout and a joint; a length."""
    hole: NotNegative
    """Least wood round a hole or beside what is let in; a length."""


CornerKind = Literal["mitre", "butt", "short mitre"]


class FastenerShape(Table):
    """[shop] fastener: where joint fasteners go and what is pocketed below for each, on either side of the joint.

    ``pocket``: the radius of a round pocket whose middle lies ``reach`` from the joint; ``channel``: the width of the way
    from it to the joint; ``depth``: of both; left out: to a quarter inch (6 mm) past the middle of the thickness.
    """

    pitch: Positive
    """One fastener in so much of a joint; a length."""
    end: Positive
    """From the ends of a joint to its first and last fastener; a length."""
    reach: Positive
    """From the joint to the middle of a fastener's round pocket on either side; a length."""
    pocket: Positive
    """Radius of a fastener's round pocket; a length."""
    channel: Positive
    """Width of the way from a pocket to the joint; a length."""
    depth: Positive | None = None
    """How deep pocket and channel are; a length; left out: a little past the middle of the thickness."""


class Shop(Table):
    """[shop]: the shop's limits; what is left out holds by default."""

    max_length: Positive
    """Longest piece that the shop makes; a length."""
    max_width: Positive
    """Widest blank that the shop glues; a length."""
    min_piece: NotNegative
    """Shortest piece that a seam may leave; a length."""
    seam_clear: NotNegative
    """How far seams keep from cutouts and corner joints; a length."""
    opening_clear: NotNegative
    """How far seams keep from openings below, such as a dishwasher's; a length."""
    web: Web
    """Least wood left round a cutout, by what lies on the other side."""
    overhang_limit: Positive
    """How far a top may hang over without being carried; a length."""
    support_span: NotNegative
    """How far what carries an overhang may stand apart; a length."""
    wall_gap: NotNegative
    """Gap between a top's back and the wall; a length."""
    corner_joint: CornerKind = "mitre"
    """How tops are joined at a corner where no `[[joint]]` says otherwise."""
    tool_diameter: Positive
    """Diameter of the router bit that cuts inside corners; a length."""
    fastener: FastenerShape
    """Where joint fasteners go, and what is pocketed below for each."""
    end_trim: NotNegative
    """Left on a blank at each end for trimming; a length."""
    edge_trim: NotNegative
    """Left on a blank at each edge for trimming; a length."""
    kerf: NotNegative
    """Lost at each saw cut; a length."""
    board_width: Positive
    """Width of the boards that strips are ripped from, on the average; a length."""
    strip: Positive | None = None
    """Width of the strips that are glued up; a length; left out: as is seen for the construction."""
    stock: Annotated[tuple[Positive, ...], Field(min_length=1)]
    """Lengths that boards come in."""
    blanks: Literal["stepped", "square"] = "stepped"
    """Whether strips end where the piece ends, or the blank is square."""
    seams: Literal["boards", "way in"] = "boards"
    """What divides a top: lengths of boards alone, or also what passes on the way in."""
    grade: Literal["premium", "custom", "economy"] = "custom"
    """The grade of work that tolerances of joints are printed for."""


SheetSize = Literal["A0", "A1", "A2", "A3", "A4", "ANSI A", "ANSI B", "ANSI C", "ANSI D", "ANSI E"]


class SheetChoice(Table):
    """[sheet]: the sheets' size and how lengths are printed."""

    size: SheetSize
    """The size of the sheets."""
    denominator: Annotated[Literal[1, 2, 4, 8, 16, 32, 64], BeforeValidator(whole)] = 16
    """Inches are printed in fractions of this; it must be a power of two up to 64."""
    feet: bool = False
    """Whether lengths are printed in feet and inches."""


CutLayer = Literal["CUT_OUTLINE", "CUT_INSIDE", "DRILL", "POCKET_ABOVE", "POCKET_BELOW", "REFERENCE", "NOTE"]
CutVersion = Literal["R2000", "R12"]
CutContours = Literal["polylines", "heavy polylines", "lines and arcs"]
"""What contours are drawn of; heavy ones keep each corner as an entity, and R12 has no others."""


def _layer(value: str) -> str:
    if not re.fullmatch(LAYER, value):
        raise ValueError("a layer name of letters, digits, - and _, 31 at most")
    return value


Layer = Annotated[str, AfterValidator(_layer), WithJsonSchema({"type": "string", "pattern": f"^{LAYER}$"})]


def _one_name_each(layers: dict[CutLayer, str]) -> dict[CutLayer, str]:
    names = [layers.get(k, k).upper() for k in get_args(CutLayer)]
    if len(set(names)) < len(names):
        raise ValueError("a layer name of its own for each operation")
    return layers


class Cut(Table):
    """[cut]: how the cut files are written."""

    version: CutVersion = "R2000"
    """The DXF version of the cut files."""
    contours: CutContours = "polylines"
    """What contours are drawn of; heavy polylines keep each corner as an entity."""
    relief: Literal["round", "none"] = "round"
    """What the tool leaves in a square inside corner: a round relief, or nothing is done."""
    pilots: bool = False
    """Whether pilot holes for hold-downs are drilled from below."""
    layers: Annotated[dict[CutLayer, Layer], AfterValidator(_one_name_each)] = Field(default_factory=dict)
    """Names of the shop's own for the layers of cut files, by the layer's usual name."""
