"""The key plan: a small plan on a piece's sheet that shows which piece it is and where one stands before it.

A mirrored leg gets signed when nobody sees where it lies.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence

from layout import region
from layout.drawing import NARROW, NOTE, SMALL, Item, Kind, Lines, Path, Text
from layout.lettering import text_width
from layout.outline import Point, edge_point, polygon_ring
from layout.page import Area
from layout.pieces import Piece
from layout.pipeline import Layout
from layout.placement import Box, text_box

HEAD_ROOM = 7.5
"""What the title takes, mm."""
STAND_WORDS = "(triangle: you stand here)"
STAND = 3.2
"""The triangle that marks where one stands is so high, and so far before the edge, mm."""


def key_plan(layout: Layout, area: Area, pieces: Collection[str]) -> list[Item]:
    """Return the key plan of a sheet in ``area`` (paper mm): the sheet's pieces grey, a triangle before each of them."""
    divided = layout.divided
    tops = {p.top for p in divided.pieces if p.id in pieces}
    shown = [p for p in divided.pieces if p.top in tops]
    walls = layout.laid.room.walls if any(p.leg.wall for p in shown) else ()
    points = [corner for p in shown for corner in _box(p)] + [end for w in walls for end in (w.start, w.end)]
    x0, x1 = min(x for x, _ in points), max(x for x, _ in points)
    y0, y1 = min(y for _, y in points), max(y for _, y in points)
    margin = STAND + 5.5
    title = "where it lies" if len(pieces) == 1 else "where they lie"
    beside = text_width(title, NOTE, bold=True) + 5.0
    one_line = beside + text_width(STAND_WORDS, SMALL) <= area.width
    head = HEAD_ROOM if one_line else HEAD_ROOM + 4.5
    scale = min((area.width - 2 * margin) / max(x1 - x0, 1.0), (area.height - head - 2 * margin) / max(y1 - y0, 1.0))
    dx, dy = area.x + margin - x0 * scale, area.y + margin - y0 * scale

    def place(p: Point) -> Point:
        return (p[0] * scale + dx, p[1] * scale + dy)

    items: list[Item] = [
        Text(Kind.LABEL, (area.x, area.y + area.height - 4.0), title, NOTE, "start", 0.0, True),
        Text(
            Kind.LABEL,
            (area.x + (beside if one_line else 0.0), area.y + area.height - (4.0 if one_line else 9.0)),
            STAND_WORDS,
            SMALL,
        ),
        Lines(Kind.LABEL, tuple((place(w.start), place(w.end)) for w in walls), width=NARROW),
    ]
    names: list[Box] = []
    for piece in shown:
        here = piece.id in pieces
        ring = piece.ring.clean().moved(place)
        items.append(Path(Kind.LABEL, ring, True, "", NARROW, fill="grey" if here else "none"))
        if here:
            front = place(_front(piece))
            name = _name(piece, scale, place, front, names)
            if name is not None:
                items.append(name)
                names.append(text_box(name.at, name.text, name.height, name.anchor))
            items.append(_stand(piece, front))
    return [item for item in items if not (isinstance(item, Lines) and not item.strokes)]


def _name(
    piece: Piece, scale: float, place: Callable[[Point], Point], front: Point, taken: Sequence[Box]
) -> Text | None:
    """Return the piece's name on it, or behind its triangle where it is too narrow; None where another name stands."""
    angle = piece.leg.frame.angle
    spots = [(front[0] + off * math.sin(angle), front[1] - off * math.cos(angle)) for off in (STAND + 4.0, STAND + 7.5)]
    if min(piece.width, piece.length) * scale >= SMALL + 3.5:
        spots.insert(0, place(region.inner_point(region.area_of(piece.ring, 0.5))))
    for x, y in spots:
        text = Text(Kind.LABEL, (x, y - SMALL / 2), piece.id, SMALL, "middle")
        box = text_box(text.at, text.text, text.height, text.anchor)
        if not any(box.grown(0.3).meets(other) for other in taken):
            return text
    return None


def _box(piece: Piece) -> tuple[Point, Point]:
    x0, y0, x1, y1 = piece.ring.bounds()
    return ((x0, y0), (x1, y1))


def _front(piece: Piece) -> Point:
    """Return the middle of the piece's front, in plan."""
    fronts = [(a, b) for a, b in piece.ring.edges() if a.side in piece.sides and piece.sides[a.side].kind == "front"]
    if not fronts:
        return piece.frame.to_plan((piece.length / 2, 0.0))
    a, b = max(fronts, key=lambda e: math.dist(e[0].at, e[1].at))
    return edge_point(a, b, 0.5)


def _stand(piece: Piece, at: Point) -> Path:
    """Return the triangle before a piece's front, pointing at it."""
    angle = piece.leg.frame.angle
    c, s = math.cos(angle), math.sin(angle)

    def turned(x: float, y: float) -> Point:
        return (at[0] + x * c - y * s, at[1] + x * s + y * c)

    tip, base = -0.8, -0.8 - STAND
    return Path(
        Kind.LABEL,
        polygon_ring([turned(0, tip), turned(-1.6, base), turned(1.6, base)]),
        True,
        "",
        NARROW,
        fill="black",
    )
