"""The page: standard sizes and scales, the frame, and the title block's place.

Frame by ISO 5457:1999 (20 mm at the left, 10 mm elsewhere), title block 180 mm wide, scales by ISO 5455 for mm and
architects' scales for inches.
"""

from __future__ import annotations

from dataclasses import dataclass

from layout.drawing import Item, View

INCH = 25.4
SIZES = {
    "A0": (1189.0, 841.0),
    "A1": (841.0, 594.0),
    "A2": (594.0, 420.0),
    "A3": (420.0, 297.0),
    "A4": (297.0, 210.0),
    "ANSI A": (11 * INCH, 8.5 * INCH),
    "ANSI B": (17 * INCH, 11 * INCH),
    "ANSI C": (22 * INCH, 17 * INCH),
    "ANSI D": (34 * INCH, 22 * INCH),
    "ANSI E": (44 * INCH, 34 * INCH),
}
"""Sheets lying, width by height in mm."""
SIZE_SOURCES = {"A": "ISO 216", "ANSI": "ASME Y14.1"}
"""By the letters that a size's name begins with."""
BORDER = (20.0, 10.0, 10.0, 10.0)
"""Left, bottom, right, top border in mm."""
BORDER_SOURCE = "ISO 5457:1999"
BLOCK_WIDTH, BLOCK_HEIGHT = 180.0, 47.0
"""The title block's size in mm (width by ISO 5457)."""
SCALES = {
    "in": (
        (4, '3" = 1\'-0"'),
        (8, '1 1/2" = 1\'-0"'),
        (12, '1" = 1\'-0"'),
        (16, '3/4" = 1\'-0"'),
        (24, '1/2" = 1\'-0"'),
        (32, '3/8" = 1\'-0"'),
        (48, '1/4" = 1\'-0"'),
        (64, '3/16" = 1\'-0"'),
        (96, '1/8" = 1\'-0"'),
        (128, '3/32" = 1\'-0"'),
        (192, '1/16" = 1\'-0"'),
        (384, '1/32" = 1\'-0"'),
    ),
    "mm": ((5, "1:5"), (10, "1:10"), (20, "1:20"), (50, "1:50"), (100, "1:100"), (200, "1:200"), (500, "1:500")),
}
"""Reductions, largest drawing first: ratio and how it is written."""
SCALE_SOURCES = {
    "in": "architects' scales, seen in three reproductions as far as 3/32; smaller ones own default",
    "mm": "ISO 5455",
}
PIECE_LARGEST = {"in": 8, "mm": 10}
"""Pieces are drawn no larger than 1 to this, so that a packet stays a packet."""
GUTTER = 6.0
COLUMN = BLOCK_WIDTH
TABLE = COLUMN - 4.0
"""Tables in the column at the right keep off the frame."""


@dataclass(frozen=True, slots=True)
class Area:
    """A free rectangle of a sheet, paper mm: its lower left corner and its size."""

    x: float
    y: float
    width: float
    height: float


@dataclass
class Page:
    """A sheet while it is filled."""

    title: str
    views: list[View]
    groups: dict[str, list[Item]]
    columns: list[Area]


def frame_area(size: str) -> Area:
    """Return the drawing space within the frame."""
    width, height = SIZES[size]
    left, bottom, right, top = BORDER
    return Area(left, bottom, width - left - right, height - bottom - top)
