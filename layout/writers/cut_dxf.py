"""A piece as DXF for the machine: its contours at 1:1 in its own frame, seen from above, and a note. Nothing else.

R2000, since that is the first with a unit in its header and every reader has it; R12 for machines that read nothing later.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import assert_never

from layout.cutting import crossings
from layout.job import Job
from layout.job_shop import CutLayer
from layout.lettering import text_width
from layout.machining import Operation, reliefs, relieved, through
from layout.milling import Face
from layout.outline import SAME, Point, Ring, Vertex, arc_of, edge_point, rectangle
from layout.pieces import Piece
from layout.units import Labels
from layout.writers.dxf_entities import STANDARD, Lettering, Look, Plain
from layout.writers.dxf_file import (
    Bounds,
    Cover,
    as_circle,
    at_most_half_circles,
    cover_of,
    in_unit,
    text_code,
    tidy,
    without_specks,
    xyb,
)
from layout.writers.model_dxf import Model

_TALLEST = 10.0
"""The note's lettering, mm, where there is room."""
_PITCH = 1.6
_SPOTS = 12
"""The note is tried at so many places along and across the piece."""


@dataclass(frozen=True, slots=True)
class _Contour:
    """A closed contour: the layer it goes on by its own name, and its ring in the piece's frame, mm."""

    layer: CutLayer
    ring: Ring


def cut_dxf(piece: Piece, job: Job, work: Sequence[Operation] | None = None, face: Face = "above") -> bytes:
    """Return a piece's cut file: its outline and through cuts, and what is let into a face.

    ``work``: its operations, from `machining`; left out, its cutouts alone. From below the piece lies face down, turned over
    from left to right, so that the front stays lowest; outline and openings are there for reference alone. Raises
    ValueError where a cutout over a joint leaves its outline in several parts.
    """
    rings = piece.cut_rings()
    if len(rings) != 1:
        raise ValueError(f"piece {piece.id} is cut in {len(rings)} outlines; one is needed")
    unit = job.job.units
    outline = relieved(job, rings[0], hole=False)
    x0, y0, _, _ = rings[0].bounds()
    done = tuple(through(job, piece) if work is None else work)

    def own(ring: Ring) -> Ring:
        return ring.moved(lambda p: (p[0] - x0, p[1] - y0))

    contours = [_Contour("CUT_OUTLINE", own(outline))]
    contours += [_Contour(o.layer, own(o.ring)) for o in done if o.face == face or o.depth is None]
    if face == "below":
        _, _, right, _ = contours[0].ring.bounds()
        contours = [
            _Contour(
                "REFERENCE" if c.layer in THROUGH and not _is_deep(c, done, own) else c.layer, mirrored(c.ring, right)
            )
            for c in contours
        ]
    drawn = [_Contour(c.layer, at_most_half_circles(without_specks(c.ring))) for c in _once(contours)]
    names = {layer: job.cut.layers.get(layer, layer) for layer in (*(c.layer for c in drawn), "NOTE")}
    model = Model(job.cut.version, unit)
    for contour in drawn:
        _put(model.plain, in_unit(contour.ring, unit), names[contour.layer], job)
    box = drawn[0].ring.bounds()
    lines = _note(piece, job, box, [o for o in done if o.face == face], face)
    at, height = _note_place(lines, [c.ring for c in drawn], box)
    for k, line in enumerate(lines):
        y = at[1] + _PITCH * height * (len(lines) - 1 - k)
        place = (tidy(at[0], unit), tidy(y, unit))
        model.plain.text(Lettering(line, place, tidy(height, unit), STANDARD), Look(names["NOTE"]))
    lows, highs = [c.ring.bounds()[:2] for c in drawn], [c.ring.bounds()[2:] for c in drawn]
    x, y = (tidy(min(low), unit) for low in zip(*lows, strict=True))
    right, top = (tidy(max(high), unit) for high in zip(*highs, strict=True))
    return model.written((x, y, right, top), list(dict.fromkeys(names.values())))


THROUGH = ("CUT_OUTLINE", "CUT_INSIDE", "DRILL")
"""Layers of what goes through."""


def _is_deep(contour: _Contour, done: Sequence[Operation], own: Callable[[Ring], Ring]) -> bool:
    """Whether a contour is a hole drilled from below and not one that goes through."""
    return any(o.depth is not None and o.layer == contour.layer and own(o.ring) == contour.ring for o in done)


def mirrored(ring: Ring, width: float) -> Ring:
    """Return a ring turned over from left to right within a width, again counter-clockwise."""
    edges = list(ring.edges())
    return Ring(tuple(Vertex(width - b.x, b.y, a.bulge, a.side) for a, b in reversed(edges)))


# --- contours --------------------------------------------------------------------------------------------------------


def _once(contours: Sequence[_Contour]) -> Iterator[_Contour]:
    """Yield each contour once: a machine would cut a second one in the same place again."""
    seen: set[frozenset[tuple[float, float]]] = set()
    for contour in contours:
        edges = list(contour.ring.edges())
        points = [edge_point(a, b, t) for a, b in edges for t in (0.0, 0.5)]
        key = frozenset((round(x, 3), round(y, 3)) for x, y in points)
        if key not in seen:
            seen.add(key)
            yield contour


def _put(plain: Plain, ring: Ring, layer: str, job: Job) -> None:
    """Add a contour, its ring being in job units."""
    look = Look(layer)
    round_one = as_circle(ring)
    if round_one is not None:
        (x, y), radius = round_one
        plain.circle((round(x, 12) + 0.0, round(y, 12) + 0.0), round(radius, 12), look)
        return
    match job.cut.contours:
        case "polylines":
            # R12 has heavy ones only
            if job.cut.version == "R12":
                plain.heavy_polyline(xyb(ring), look)
            else:
                plain.polyline(xyb(ring), look, closed=True, dashed=False)
        case "heavy polylines":
            plain.heavy_polyline(xyb(ring), look)
        case "lines and arcs":
            for a, b in ring.edges():
                arc = arc_of(a, b)
                if arc is None:
                    plain.line(a.at, b.at, look)
                    continue
                start, end = _angle(arc.cx, arc.cy, a.at), _angle(arc.cx, arc.cy, b.at)
                if arc.sweep < 0:  # an ARC is always counter-clockwise
                    start, end = end, start
                plain.arc((arc.cx + 0.0, arc.cy + 0.0), arc.radius, start, end, look)
        case _:
            assert_never(job.cut.contours)


def _angle(cx: float, cy: float, p: Point) -> float:
    """Return the direction from a centre to a point, degrees in [0, 360)."""
    angle = math.degrees(math.atan2(p[1] - cy, p[0] - cx)) % 360.0
    # a hair below zero comes out of % as 360
    return angle if angle < 360.0 else 0.0


# --- note ------------------------------------------------------------------------------------------------------------


def _note(piece: Piece, job: Job, box: Bounds, work: Sequence[Operation], face: Face) -> list[str]:
    """Return the lines of the note: a reader that ignores the unit can be caught by the overall size."""
    unit = job.job.units
    labels = Labels(unit, job.sheet.denominator, job.sheet.feet)
    mark = "" if unit == "in" else " MM"
    revision = f" REV {job.job.revision}" if job.job.revision else ""
    lines = [
        piece.id,
        f"JOB {job.job.number}{revision}",
        f"OVERALL {labels.text(box[2] - box[0])} X {labels.text(box[3] - box[1])}{mark}",
        f"THICKNESS {labels.text(job.wood.thickness)}{mark}",
        f"UNIT: {'INCH' if unit == 'in' else 'MM'}",
        "SEEN FROM ABOVE" if face == "above" else "SEEN FROM BELOW: FACE DOWN, TURNED OVER LEFT TO RIGHT",
    ]
    if face == "below":
        lines.append("REFERENCE IS NOT CUT: OUTLINE AND OPENINGS AS CUT FROM ABOVE")
    depths = {(o.layer, o.what, o.depth) for o in work if o.depth is not None}
    for layer, what, depth in sorted(depths, key=lambda d: (d[0], d[1], d[2] or 0.0)):
        lines.append(f"{layer.replace('_', ' ')} {what.upper()}: {labels.fine(depth or 0.0)}{mark} DEEP")
    if face == "above" and _has_relief(piece, job):
        lines.append(f"SQUARE CORNERS RELIEVED BY A {labels.fine(job.shop.tool_diameter)}{mark} BIT")
    return [text_code(line).encode("ascii", "replace").decode("ascii") for line in lines]


def _has_relief(piece: Piece, job: Job) -> bool:
    openings = [c.ring.moved(piece.frame.from_plan) for c in piece.cutouts if c.diameter is None and not c.opens_front]
    return any(reliefs(job, r, hole=True) for r in openings) or any(
        reliefs(job, r, hole=False) for r in piece.cut_rings()
    )


def _note_place(lines: Sequence[str], rings: Sequence[Ring], box: Bounds) -> tuple[Point, float]:
    """Return where the note's lowest line starts, and its height: on wood and clear of all cuts where that can be."""
    _, _, long, wide = box
    widest = max(text_width(line, 1.0) for line in lines)
    tall = _PITCH * (len(lines) - 1) + 1.0
    height = min(_TALLEST, long / (widest + 2.0), wide / (tall + 2.0))
    cuts = [cover_of(ring) for ring in rings]
    for _ in range(3):
        for k in range(_SPOTS):
            for j in range(_SPOTS):
                x = (long - (widest + 2.0) * height) * k / (_SPOTS - 1)
                y = (wide - (tall + 2.0) * height) * (1.0 - j / (_SPOTS - 1))
                if _on_wood((x, y, x + (widest + 2.0) * height, y + (tall + 2.0) * height), cuts):
                    return (x + height, y + height), height
        height /= 1.5
    return (height, height), height


def _on_wood(clear: Bounds, cuts: Sequence[Cover]) -> bool:
    """Return whether a rectangle lies within the first ring, the outline, and clear of all the others."""
    x0, y0, x1, y1 = clear
    middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    outline, *holes = cuts
    near = [hole.ring for hole in holes if _meet(clear, hole.box)]
    if not outline.ring.contains(middle) or any(ring.contains(middle) for ring in near):
        return False
    sides = list(rectangle(*clear).edges())
    return not any(
        crossings(a, b, c, d)
        for ring in (outline.ring, *near)
        for a, b in ring.edges()
        if _meet(clear, _around(a, b))
        for c, d in sides
    )


def _around(a: Vertex, b: Vertex) -> Bounds:
    """Return a box round an edge, larger than need be where it is an arc."""
    out = math.dist(a.at, b.at) * abs(a.bulge)
    return (min(a.x, b.x) - out, min(a.y, b.y) - out, max(a.x, b.x) + out, max(a.y, b.y) + out)


def _meet(one: Bounds, other: Bounds) -> bool:
    """Return whether two boxes have a point in common, or nearly so."""
    return (
        one[0] <= other[2] + SAME
        and other[0] <= one[2] + SAME
        and one[1] <= other[3] + SAME
        and other[1] <= one[3] + SAME
    )
