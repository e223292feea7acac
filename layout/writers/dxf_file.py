"""What the DXF writers share: a document without a clock in it, its bytes, texts, and what a ring is drawn of.

ezdxf stamps times and random ids on a document, orders one section by hash, and reads the user's ezdxf.ini; here all of
that is held still, so that the same job gives the same bytes.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from ezdxf import units as dxf_units
from ezdxf._options import options
from ezdxf.document import Drawing as Document
from ezdxf.layouts.layout import Layout

from layout.cutting import crossings
from layout.outline import Point, Ring, Vertex, edge_point
from layout.units import UNIT_MM, Unit

Bounds = tuple[float, float, float, float]
Version = Literal["R12", "R2000", "R2010"]
_R12 = "AC1009"
_MM = {unit: float(mm) for unit, mm in UNIT_MM.items()}
_EXACT = 2.0**53
"""Whole numbers below this are floats, each of them."""
SHORTEST = 0.01
"""An edge shorter than this (mm) is not drawn: machines stumble over it."""
FLATTEST = 1e-5
"""An arc that rises less than half of this (mm) over its chord is a line: its radius would be of no use to anyone."""


@contextmanager
def _held_still() -> Iterator[None]:
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def new_document(version: Version, unit: Unit) -> Document:
    """Return an empty document whose header says the unit, twice and in agreement (`document_bytes` does so in R12)."""
    with _held_still():
        doc = Document.new(version)
    # not as `units`, which has ezdxf tell the terminal that R12 has none
    doc.header["$INSUNITS"] = dxf_units.IN if unit == "in" else dxf_units.MM
    doc.header["$MEASUREMENT"] = 0 if unit == "in" else 1
    doc.header["$LUNITS"] = 2
    # a page to print on: one reader would make the default 420 by 297 mm so many inches
    doc.paperspace().reset_limits((0.0, 0.0), (17.0, 11.0) if unit == "in" else (420.0, 297.0))
    return doc


def document_bytes(doc: Document) -> bytes:
    """Return the document as an ASCII-format DXF file, the same for the same content."""
    # before ezdxf adds them in the order of a set
    for name in sorted(doc.entitydb.dxf_types_in_use()):
        doc.classes.add_class(name)
    stream = io.StringIO()
    with _held_still():
        doc.write(stream)
    text = stream.getvalue()
    if doc.dxfversion == _R12:
        # no variables of R12, so ezdxf drops them; readers that look for a unit find it, the others pass over it
        version = f"  9\n$ACADVER\n  1\n{_R12}\n"
        unit = "".join(f"  9\n{name}\n 70\n{doc.header[name]:6d}\n" for name in ("$INSUNITS", "$MEASUREMENT"))
        text = text.replace(version, version + unit, 1)
    return doc.encode(text)


def set_extents(layout: Layout, bounds: Bounds) -> None:
    """Say what a layout takes; of the model, the header says it too."""
    x0, y0, x1, y1 = bounds
    layout.reset_extents((x0, y0, 0.0), (x1, y1, 0.0))
    layout.reset_limits((x0, y0), (x1, y1))
    if layout.is_modelspace:
        # ezdxf takes a corner at (0, 0) for one that was never set, and leaves what the header has
        layout.doc.header["$EXTMIN"] = (x0, y0, 0.0)
        layout.doc.header["$EXTMAX"] = (x1, y1, 0.0)


def finite(number: float) -> float:
    """Return the number. Raises ValueError where it is not finite."""
    if not math.isfinite(number):
        raise ValueError(f"a drawing cannot hold the number {number}")
    return number


def tidy(mm: float, unit: Unit) -> float:
    """Return ``mm`` in job units without rounding noise or minus zero. Raises ValueError where it is not finite."""
    return rounded(mm / _MM[unit])


def rounded(number: float) -> float:
    """Return a number to twelve decimals, never minus zero. Raises ValueError where it is not finite."""
    steps = number * 1e12
    # whole steps that a float holds are rounded three times as fast as decimals
    return round(steps) / 1e12 if -_EXACT < steps < _EXACT else round(finite(number), 12) + 0.0


_SIGNS = str.maketrans({"^": "^ ", "°": "%%d", "±": "%%p", "⌀": "%%c", "″": '"', "′": "'"})


_DOUBLED = re.compile("%[%°±⌀]")


def text_code(text: str) -> str:
    """Return ``text`` as a TEXT or ATTRIB holds it: carets and doubled per cents have a meaning there.

    Signs that a code stands for become ASCII, since not every reader sees that the file is UTF-8.
    """
    if text.isascii() and "%" not in text and "^" not in text:
        return text
    if _DOUBLED.search(text):
        text = text.replace("%", "%%%")
    return text.translate(_SIGNS)


# --- rings -----------------------------------------------------------------------------------------------------------


def without_specks(ring: Ring, closed: bool = True) -> Ring:
    """Return the ring without edges too short to draw, and without arcs too flat to be told from a line.

    Raises ValueError where a number is not finite.
    """
    kept = []
    for a, b in ring.edges():
        gap = finite(math.hypot(b.x - a.x, b.y - a.y))
        last = a if finite(gap * abs(a.bulge)) > FLATTEST or not a.bulge else a._replace(bulge=0.0)
        if gap > SHORTEST:
            kept.append(last)
    if not closed and (not kept or kept[-1] is not last):
        kept.append(last)
    return Ring(tuple(kept))


def as_circle(ring: Ring) -> tuple[Point, float] | None:
    """Return (centre, radius) of a ring that is two half circles: readers lose a closed polyline of two vertices."""
    if len(ring.vertices) != 2:
        return None
    a, b = ring.vertices
    if abs(abs(a.bulge) - 1.0) > 1e-9 or abs(b.bulge - a.bulge) > 1e-9:
        return None
    return ((a.x + b.x) / 2.0, (a.y + b.y) / 2.0), math.dist(a.at, b.at) / 2.0


def at_most_half_circles(ring: Ring, closed: bool = True) -> Ring:
    """Return the ring with its larger arcs in two: one reader takes such an arc's smaller other part for it."""
    if all(abs(v.bulge) <= 1.0 + 1e-9 for v in ring.vertices):
        return ring
    out: list[Vertex] = []
    edges = list(ring.edges())
    for k, (a, b) in enumerate(edges):
        if abs(a.bulge) <= 1.0 + 1e-9 or (not closed and k == len(edges) - 1):
            out.append(a)
            continue
        half = math.tan(math.atan(a.bulge) / 2.0)
        out += [a._replace(bulge=half), Vertex(*edge_point(a, b, 0.5), half, a.side)]
    return Ring(tuple(out))


@dataclass(frozen=True, slots=True)
class Cover:
    """What hides all that was drawn before it: its outline and its box."""

    ring: Ring
    box: Bounds

    def misses(self, p: Point, q: Point, out: float = 0.0) -> bool:
        """Return whether what stands out by no more than ``out`` from a chord is clear of the box, seen from one side of it."""
        (x, y), (u, v), (x0, y0, x1, y1) = p, q, self.box
        return (
            (x + out < x0 and u + out < x0)
            or (x - out > x1 and u - out > x1)
            or (y + out < y0 and v + out < y0)
            or (y - out > y1 and v - out > y1)
        )


def cover_of(ring: Ring) -> Cover:
    """Return a ring as a cover."""
    return Cover(ring, ring.bounds())


def uncovered(path: Ring, covers: Sequence[Cover]) -> list[Ring]:
    """Return the parts of an open path that lie in none of the covers, arcs as arcs. No edge may be without length."""
    edges = list(path.edges())[:-1]
    near = [
        [cover.ring for cover in covers if not cover.misses(a.at, b.at, math.dist(a.at, b.at) * abs(a.bulge))]
        for a, b in edges
    ]
    if not any(near):
        return [path]
    parts: list[list[Vertex]] = []
    runs_on = False
    for (a, b), over in zip(edges, near, strict=True):
        seen = _seen_shares(a, b, over)
        for t, u in seen:
            start = a if t == 0.0 else Vertex(*edge_point(a, b, t))
            end = b if u == 1.0 else Vertex(*edge_point(a, b, u))
            start = start if (t, u) == (0.0, 1.0) else start._replace(bulge=math.tan(math.atan(a.bulge) * (u - t)))
            if runs_on and t == 0.0:
                parts[-1][-1:] = [start, end]
            else:
                parts.append([start, end])
        runs_on = bool(seen) and seen[-1][1] == 1.0
    return [Ring(tuple(part)) for part in parts]


def _seen_shares(a: Vertex, b: Vertex, covers: Sequence[Ring]) -> list[tuple[float, float]]:
    """Return the parts of an edge that lie in none of the covers, as shares of it."""
    shares = {t for cover in covers for c, d in cover.edges() for t, _ in crossings(a, b, c, d)}
    parts: list[tuple[float, float]] = []
    for t, u in pairwise([0.0, *sorted(t for t in shares if 0.0 < t < 1.0), 1.0]):
        middle = edge_point(a, b, (t + u) / 2.0)
        if any(cover.contains(middle) for cover in covers):
            continue
        if parts and parts[-1][1] == t:
            parts[-1] = (parts[-1][0], u)
        else:
            parts.append((t, u))
    return parts


def xyb(ring: Ring) -> list[tuple[float, float, float]]:
    """Return the vertices as a polyline takes them: x, y, bulge."""
    return [(v.x, v.y, v.bulge + 0.0) for v in ring.vertices]


def in_unit(ring: Ring, unit: Unit) -> Ring:
    """Return a ring in job units; bulges need no unit."""
    return Ring(tuple(Vertex(tidy(v.x, unit), tidy(v.y, unit), v.bulge, v.side) for v in ring.vertices))
