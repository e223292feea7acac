"""The drawing model: sheets of views and items, decided once, for thin writers to put down.

A view's items are in model millimetres at 1:1, y up; a sheet's own items are in paper millimetres, y up from the lower
left corner of the sheet. Text heights, line widths, dash lengths and arrow sizes are always paper millimetres. A text's
height is that of its capitals (ISO 3098), and its point is on its baseline.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

from layout.outline import Frame, Point, Ring

NARROW, WIDE, HEAVY = 0.25, 0.5, 0.7
"""Line widths in mm, from the ISO 128 series (0.13 0.18 0.25 0.35 0.5 0.7 1): narrow, wide, and for frame and profiles."""
SMALL, NOTE, TITLE, HEAD = 2.5, 3.5, 5.0, 7.0
"""Lettering heights in mm, from the ISO 3098 series (1.8 2.5 3.5 5 7)."""
FINE = 1.8
"""Lettering height of a title block's field names."""
ARROW = 2.5
"""Length of a dimension's arrow, mm; a third of that wide."""
TAIL = 2 * ARROW
"""An arrow that points inwards from outside has a tail: from the end of the dimension line so far out, paper mm."""


class Dash(StrEnum):
    """Line kinds: continuous, dashed (below the top), chain (centre lines), and double chain (appliances, open lines)."""

    SOLID = "solid"
    DASHED = "dashed"
    CHAIN = "chain"
    DOUBLE_CHAIN = "double chain"


DASHES: dict[Dash, tuple[float, ...]] = {
    Dash.SOLID: (),
    Dash.DASHED: (3.0, 1.5),
    Dash.CHAIN: (8.0, 1.5, 0.5, 1.5),
    Dash.DOUBLE_CHAIN: (8.0, 1.5, 0.5, 1.5, 0.5, 1.5),
}
"""Dash lengths in paper mm: dash, gap, ..."""


class Kind(StrEnum):
    """What a drawn thing is: its class in an SVG, its layer in a DXF."""

    PIECE = "piece"
    EDGE = "edge"
    JOINT = "joint"
    CUTOUT = "cutout"
    CENTRE = "centre"
    MILLED = "milled"
    APPLIANCE = "appliance"
    WALL = "wall"
    WINDOW = "window"
    SUPPORT = "support"
    CABINET = "cabinet"
    SPLASH = "splash"
    GRAIN = "grain"
    DIMENSION = "dimension"
    MARK = "mark"
    FLAG = "flag"
    SECTION = "section"
    LABEL = "label"
    REVISION = "revision"
    FRAME = "frame"
    TABLE = "table"
    TITLE = "title"
    APPROVAL = "approval"


Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Path:
    """A line through ``ring``'s vertices, arcs by their bulge; ``closed`` or open (the last vertex's bulge is then unused)."""

    kind: Kind
    ring: Ring
    closed: bool = True
    name: str = ""
    width: float = NARROW
    dash: Dash = Dash.SOLID
    fill: Literal["none", "white", "black", "grey"] = "none"


@dataclass(frozen=True, slots=True)
class Lines:
    """Many straight strokes of one kind, such as a hatch."""

    kind: Kind
    strokes: tuple[tuple[Point, Point], ...]
    name: str = ""
    width: float = NARROW
    dash: Dash = Dash.SOLID


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle; its radius is in model mm in a view, paper mm on a sheet, or paper mm always if ``paper``."""

    kind: Kind
    centre: Point
    radius: float
    name: str = ""
    width: float = NARROW
    dash: Dash = Dash.SOLID
    fill: Literal["none", "white", "black", "grey"] = "none"
    paper: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text at a baseline point; ``angle`` in degrees counter-clockwise; ``height`` of capitals in paper mm."""

    kind: Kind
    at: Point
    text: str
    height: float = SMALL
    anchor: Anchor = "start"
    angle: float = 0.0
    bold: bool = False
    name: str = ""
    id: str = ""
    """By what a reader finds it in an SVG, where somebody is to fill it in; empty for all other text."""


@dataclass(frozen=True, slots=True)
class Dimension:
    """A linear dimension of the distance between two features along its dimension line.

    ``features``: the two points measured (model mm). ``line``: the ends of the dimension line. ``arrows``: whether each end
    has one, and ``outside``: they point inwards from outside a short line. ``extensions``: strokes from the features.
    ``label``: the text as placed. ``value``: the exact distance, mm. ``also``: other points that the same printed position
    stands for, less than half a printed place away.
    """

    features: tuple[Point, Point]
    line: tuple[Point, Point]
    label: Text
    value: float
    arrows: tuple[bool, bool] = (True, True)
    outside: bool = False
    extensions: tuple[tuple[Point, ...], ...] = ()
    name: str = ""
    kind: Kind = Kind.DIMENSION
    also: tuple[Point, ...] = ()


Item = Path | Lines | Circle | Text | Dimension


@dataclass(frozen=True, slots=True)
class View:
    """Items at 1:1 in model mm, and how the sheet shows them.

    ``scale``: paper mm per model mm. ``at``: where the model origin of the view lies on the sheet (paper mm).
    ``bounds``: what the items take, model mm. ``label``: the scale in words, e.g. ``1/2" = 1'-0"`` or ``1:20``.
    ``crowded``: the top and wall of each leg whose stations found no room here and have a view of their own.
    ``frame``: how the view's model coordinates lie in plan; none where it shows no place of the plan, as a section does.
    """

    id: str
    title: str
    items: tuple[Item, ...]
    scale: float
    label: str
    at: Point
    bounds: tuple[float, float, float, float]
    crowded: tuple[tuple[str, str], ...] = ()
    frame: Frame | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """Items of the sheet itself under one id, paper mm."""

    id: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page: its size in mm and name, its views, and its own groups (frame, title block, schedules, notes, approval)."""

    number: int
    of: int
    size: str
    width: float
    height: float
    title: str
    views: tuple[View, ...] = ()
    groups: tuple[Group, ...] = ()
    fields: dict[str, str] = field(default_factory=dict)
    """The title block's fields as printed, for readers that want them as data."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """All sheets of a job."""

    number: str
    title: str
    revision: str
    units: Literal["in", "mm"]
    sheets: tuple[Sheet, ...]
    digest: str = ""
    """Which layout it shows, as `identity.digest_of` gives it; empty where nobody asked."""


# --- what a dimension is drawn of, in model mm ------------------------------------------------------------------------


def _ends(item: Dimension) -> list[tuple[Point, Point]]:
    """Return, for each end that has an arrow, its point and the unit direction in which the arrow points."""
    (ax, ay), (bx, by) = item.line
    length = math.hypot(bx - ax, by - ay)
    if length == 0.0:
        return []
    ux, uy = (bx - ax) / length, (by - ay) / length
    sign = -1.0 if item.outside else 1.0
    ends = ((item.line[0], (-ux * sign, -uy * sign)), (item.line[1], (ux * sign, uy * sign)))
    return [end for end, wanted in zip(ends, item.arrows, strict=True) if wanted]


def dimension_line(item: Dimension, scale: float) -> list[tuple[Point, Point]]:
    """Return the strokes of a dimension line with the tails of outside arrows, model mm."""
    strokes = [item.line]
    if item.outside:
        out = TAIL / scale
        strokes += [((x, y), (x - dx * out, y - dy * out)) for (x, y), (dx, dy) in _ends(item)]
    return strokes


def arrow_heads(item: Dimension, scale: float) -> list[tuple[Point, Point, Point]]:
    """Return the arrow heads as triangles, tip first, model mm; a third as wide as long."""
    long, half = ARROW / scale, ARROW / scale / 6.0
    heads = []
    for (x, y), (dx, dy) in _ends(item):
        foot = (x - dx * long, y - dy * long)
        heads.append(((x, y), (foot[0] - dy * half, foot[1] + dx * half), (foot[0] + dy * half, foot[1] - dx * half)))
    return heads
