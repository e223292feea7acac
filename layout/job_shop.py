"""What a job file says of the shop: its limits, its sheets and its cut files."""

from __future__ import annotations

import re
from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, BeforeValidator, Field

from layout.job_values import NotNegative, Positive, Table, whole


class Web(Table):
    """Least wood left round a cutout, by what lies on the other side."""

    front: NotNegative
    back: NotNegative
    end: NotNegative
    between: NotNegative
    joint: NotNegative
    hole: NotNegative


CornerKind = Literal["mitre", "butt", "short mitre"]


class FastenerShape(Table):
    """[shop] fastener: where joint fasteners go and what is pocketed below for each, on either side of the joint.

    ``pocket``: the radius of a round pocket whose middle lies ``reach`` from the joint; ``channel``: the width of the way
    from it to the joint; ``depth``: of both; left out: to a quarter inch (6 mm) past the middle of the thickness.
    """

    pitch: Positive
    end: Positive
    reach: Positive
    pocket: Positive
    channel: Positive
    depth: Positive | None = None


class Shop(Table):
    """[shop]: the shop's limits; the reader fills in the defaults of `rules.py`."""

    max_length: Positive
    max_width: Positive
    min_piece: NotNegative
    seam_clear: NotNegative
    opening_clear: NotNegative
    web: Web
    overhang_limit: Positive
    support_span: NotNegative
    wall_gap: NotNegative
    corner_joint: CornerKind = "mitre"
    tool_diameter: Positive
    fastener: FastenerShape
    end_trim: NotNegative
    edge_trim: NotNegative
    kerf: NotNegative
    board_width: Positive
    strip: Positive | None = None
    stock: Annotated[tuple[Positive, ...], Field(min_length=1)]
    blanks: Literal["stepped", "square"] = "stepped"
    seams: Literal["boards", "way in"] = "boards"
    grade: Literal["premium", "custom", "economy"] = "custom"


SheetSize = Literal["A0", "A1", "A2", "A3", "A4", "ANSI A", "ANSI B", "ANSI C", "ANSI D", "ANSI E"]


class SheetChoice(Table):
    """[sheet]."""

    size: SheetSize
    denominator: Annotated[Literal[1, 2, 4, 8, 16, 32, 64], BeforeValidator(whole)] = 16
    feet: bool = False


CutLayer = Literal["CUT_OUTLINE", "CUT_INSIDE", "DRILL", "POCKET_ABOVE", "POCKET_BELOW", "REFERENCE", "NOTE"]
CutVersion = Literal["R2000", "R12"]
CutContours = Literal["polylines", "heavy polylines", "lines and arcs"]
"""What contours are drawn of; heavy ones keep each corner as an entity, and R12 has no others."""


def _layer(value: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9_-]{1,31}", value):
        raise ValueError("a layer name of letters, digits, - and _, 31 at most")
    return value


def _one_name_each(layers: dict[CutLayer, str]) -> dict[CutLayer, str]:
    names = [layers.get(k, k).upper() for k in get_args(CutLayer)]
    if len(set(names)) < len(names):
        raise ValueError("a layer name of its own for each operation")
    return layers


class Cut(Table):
    """[cut]: how the cut files are written."""

    version: CutVersion = "R2000"
    contours: CutContours = "polylines"
    relief: Literal["round", "none"] = "round"
    pilots: bool = False
    layers: Annotated[dict[CutLayer, Annotated[str, AfterValidator(_layer)]], AfterValidator(_one_name_each)] = Field(
        default_factory=dict
    )
