"""Items of a drawing as DXF entities, each where it is seen: what a later one hides of it is left out.

Nothing can be covered in DXF, white least of all, which is black on a dark screen.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import chain, pairwise
from typing import assert_never

from ezdxf.document import Drawing as Document
from ezdxf.layouts.base import BaseLayout
from ezdxf.math.triangulation import mapbox_earcut_2d
from ezdxf.render.arrows import ARROWS

from layout.drawing import (
    DASHES,
    NARROW,
    SMALL,
    Circle,
    Dash,
    Dimension,
    Item,
    Kind,
    Lines,
    Path,
    Text,
    arrow_heads,
    dimension_line,
)
from layout.lettering import text_width
from layout.outline import Point, Ring, Vertex, arc_of, circle
from layout.units import UNIT_MM, Unit
from layout.writers.dxf_entities import (
    DIMBLK1,
    DIMBLK2,
    DIMSAH,
    DIMSE1,
    DIMSE2,
    DIMTXT,
    Lettering,
    Look,
    Measured,
    Plain,
)
from layout.writers.dxf_file import (
    Cover,
    as_circle,
    at_most_half_circles,
    cover_of,
    rounded,
    text_code,
    tidy,
    uncovered,
    without_specks,
    xyb,
)
from layout.writers.dxf_tables import FILL, LAYERS, LETTERING, LINETYPES, dimension_style, lineweight

_ESCAPED = str.maketrans({sign: f"\\{sign}" for sign in "\\{}"})
_COLORS = {"black": 7, "grey": 254}
_FLAT = 0.02
"""How far (mm on paper) the chords of a filled area may stray from its arcs; its outline keeps them."""


@dataclass(frozen=True, slots=True)
class Space:
    """Where items go: ``shift`` (mm) is added to their points, ``paper`` is model mm to a mm of paper."""

    doc: Document
    plain: Plain
    unit: Unit
    mm: float
    """Millimetres to a job unit."""
    shift: Point
    paper: float

    def point(self, p: Point) -> Point:
        """Return a point in job units."""
        (x, y), (dx, dy), mm = p, self.shift, self.mm
        return (rounded((x + dx) / mm), rounded((y + dy) / mm))

    def size(self, paper_mm: float) -> float:
        """Return a paper length in job units of this space."""
        return tidy(paper_mm * self.paper, self.unit)

    def ring(self, ring: Ring) -> Ring:
        """Return a ring in job units."""
        return Ring(tuple([Vertex(*self.point(v.at), v.bulge, v.side) for v in ring.vertices]))

    def stroke(self, kind: Kind, width: float, dash: Dash) -> Look:
        """Return what a line looks like; dashes are as long on paper as in the model at its scale."""
        return _stroke(kind, width, dash, self.paper)


def space_of(
    doc: Document,
    layout: BaseLayout,
    unit: Unit,
    shift: Point = (0.0, 0.0),
    paper: float = 1.0,
) -> Space:
    """Return a layout as a place for items, by default a sheet; ``shift`` and ``paper`` as `Space` has them."""
    return Space(doc, Plain.of(layout), unit, float(UNIT_MM[unit]), shift, paper)


@cache
def _stroke(kind: Kind, width: float, dash: Dash, paper: float) -> Look:
    if DASHES[dash]:
        return Look(LAYERS[kind], LINETYPES[dash], lineweight=lineweight(width), ltscale=paper)
    return Look(LAYERS[kind], lineweight=lineweight(width))


@cache
def _plain_look(kind: Kind) -> Look:
    return Look(LAYERS[kind])


def put_all(space: Space, items: Sequence[Item]) -> None:
    """Add items in their order, without what later ones hide of them."""
    covering = [[cover_of(ring) for ring in _cover(space, item)] for item in items]
    after = list(chain.from_iterable(covering))
    for item, own in zip(items, covering, strict=True):
        # what is drawn after an item hides it
        if own:
            after = after[len(own) :]
        _put(space, item, after)


def _cover(space: Space, item: Item) -> Iterator[Ring]:
    """Yield what an item hides of those before it."""
    match item:
        case Path(fill="white", closed=True):
            yield item.ring
        case Circle(fill="white"):
            yield circle(*item.centre, item.radius * space.paper if item.paper else item.radius)


def _put(space: Space, item: Item, covers: Sequence[Cover]) -> None:
    match item:
        case Path():
            _path(space, item, covers)
        case Lines():
            look = space.stroke(item.kind, item.width, item.dash)
            for stroke in item.strokes:
                for a, b in _seen(stroke, covers):
                    _line(space, a, b, look)
        case Circle():
            radius = item.radius * space.paper if item.paper else item.radius
            _fill(space, circle(*item.centre, radius), item.fill)
            look = space.stroke(item.kind, item.width, item.dash)
            space.plain.circle(space.point(item.centre), tidy(radius, space.unit), look)
        case Text():
            # nobody signs this file: what stands in a field until somebody fills it in is left out
            if not item.id:
                _text(space, item)
        case Dimension():
            _dimension(space, item, covers)
        case _:
            assert_never(item)


def _line(space: Space, a: Point, b: Point, look: Look) -> None:
    start, end = space.point(a), space.point(b)
    if start != end:
        space.plain.line(start, end, look)


def _path(space: Space, item: Path, covers: Sequence[Cover]) -> None:
    """Draw a path. A closed one is never cut: what a reader measures of it is worth more than what a mark hides."""
    look = space.stroke(item.kind, item.width, item.dash)
    if item.closed:
        _fill(space, item.ring, item.fill)
        ring = space.ring(without_specks(item.ring))
        round_one = as_circle(ring)
        if round_one is not None:
            space.plain.circle(*round_one, look)
        else:
            _polyline(space, ring, True, item.dash, look)
        return
    for part in uncovered(without_specks(item.ring, False), covers):
        ring = space.ring(without_specks(part, False))
        if len(ring.vertices) != 2:
            _polyline(space, ring, False, item.dash, look)
            continue
        (a, b), arc = ring.vertices, arc_of(*ring.vertices)
        if arc is None:
            space.plain.line(a.at, b.at, look)
        else:
            ends = [math.degrees(arc.start) % 360.0, math.degrees(arc.start + arc.sweep) % 360.0]
            start, end = ends if arc.sweep > 0 else reversed(ends)
            space.plain.arc((arc.cx, arc.cy), arc.radius, start, end, look)


def _polyline(space: Space, ring: Ring, closed: bool, dash: Dash, look: Look) -> None:
    if len(ring.vertices) > 1:
        halves = at_most_half_circles(ring, closed)
        space.plain.polyline(xyb(halves), look, closed=closed, dashed=bool(DASHES[dash]))


def _seen(stroke: tuple[Point, Point], covers: Sequence[Cover]) -> list[tuple[Point, Point]]:
    """Return the parts of a straight stroke that no cover hides."""
    if stroke[0] == stroke[1] or all(cover.misses(*stroke) for cover in covers):
        return [stroke]
    parts = uncovered(Ring((Vertex(*stroke[0]), Vertex(*stroke[1]))), covers)
    return [(part.vertices[0].at, part.vertices[1].at) for part in parts]


def _fill(space: Space, ring: Ring, fill: str) -> None:
    """Fill a ring with triangles, but with white: on a dark screen that would hide the white lines on it."""
    if fill not in _COLORS or len(ring.vertices) < 2:
        return
    points = ring.flattened(_FLAT * space.paper)
    look = Look(FILL, color=_COLORS[fill])
    placed = [space.point(p) for p in points]
    # a circle's triangles are a fan; any other area's are looked for
    fan = as_circle(ring) is not None
    triangles = [(placed[0], *pair) for pair in pairwise(placed[1:])] if fan else mapbox_earcut_2d(placed)
    space.plain.triangles((((a[0], a[1]), (b[0], b[1]), (c[0], c[1])) for a, b, c in triangles), look)


def _text(space: Space, item: Text) -> None:
    if item.text:
        style = LETTERING[item.bold][0]
        lettering = Lettering(text_code(item.text), space.point(item.at), space.size(item.height), style, item.anchor)
        space.plain.text(lettering, _plain_look(item.kind), item.angle % 360.0)


# --- dimensions ------------------------------------------------------------------------------------------------------


def _dimension(space: Space, item: Dimension, covers: Sequence[Cover]) -> None:
    """Add a dimension with its text and the picture it has on the sheet; other programs may draw their own."""
    label = item.label
    (ax, ay), (bx, by) = item.line
    angle = math.degrees(math.atan2(by - ay, bx - ax)) % 180.0 if item.line[0] != item.line[1] else label.angle % 180.0
    measured = Measured(
        style=dimension_style(space.doc, 1.0 / space.paper, space.unit),
        base=space.point(item.line[1]),
        features=(space.point(item.features[0]), space.point(item.features[1])),
        angle=angle,
        code=_override_code(label.text),
        text_middle=space.point(_middle(space, label)),
        text_rotation=label.angle if _differ(label.angle, angle) else None,
        value=tidy(item.value, space.unit),
        own=list(_own_style(space, item)),
    )
    picture = space.plain.dimension(measured, space.stroke(item.kind, NARROW, Dash.SOLID), space.doc)
    scale = 1.0 / space.paper
    look = space.stroke(item.kind, NARROW, Dash.SOLID)
    inside = replace(space, plain=picture)
    for points in (*dimension_line(item, scale), *item.extensions):
        for stroke in pairwise(points):
            for p, q in _seen(stroke, covers):
                _line(inside, p, q, look)
    for head in arrow_heads(item, scale):
        inside.plain.triangles(
            [(space.point(head[0]), space.point(head[1]), space.point(head[2]))], _plain_look(item.kind)
        )
    _text(inside, label)


def _override_code(text: str) -> str:
    """Return ``text`` as a dimension holds it, where backslashes and braces are codes as well."""
    return text_code(text).translate(_ESCAPED)


def _differ(angle: float, other: float) -> bool:
    """Whether two directions of a text are not the same line."""
    return abs(math.remainder(angle - other, 180.0)) > 0.01


def _middle(space: Space, label: Text) -> Point:
    """Return the middle of a label, model mm: a dimension's text hangs on it."""
    turn = math.radians(label.angle)
    half = text_width(label.text, label.height, label.bold) / 2.0
    along = {"start": half, "middle": 0.0, "end": -half}[label.anchor] * space.paper
    up = label.height / 2.0 * space.paper
    return (
        label.at[0] + along * math.cos(turn) - up * math.sin(turn),
        label.at[1] + along * math.sin(turn) + up * math.cos(turn),
    )


def _own_style(space: Space, item: Dimension) -> Iterator[tuple[int, float | str]]:
    """Yield where a dimension departs from its style, for readers that draw it themselves."""
    if item.label.height != SMALL:
        yield DIMTXT, space.size(item.label.height)
    first, second = item.features
    drawn = {0 if math.dist(e[0], first) <= math.dist(e[0], second) else 1 for e in item.extensions if e}
    for k, left_out in enumerate((DIMSE1, DIMSE2)):
        if k not in drawn:
            yield left_out, 1
    if item.arrows != (True, True):
        yield DIMSAH, 1
        for end, wanted in zip((DIMBLK1, DIMBLK2), item.arrows, strict=True):
            yield end, "0" if wanted else ARROWS.arrow_handle(space.doc.blocks, ARROWS.none)
