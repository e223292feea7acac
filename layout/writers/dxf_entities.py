"""Plain DXF entities as text: lines, arcs, circles, polylines, solids and texts of a shop drawing, R2010.

ezdxf keeps each entity as an object of some thirty attributes and asks after every one of them twice, which was most of the time
that a drawing took. What is only ever written is written here at once, tag for tag as ezdxf writes it (the tests compare
the two), and put among ezdxf's own entities, which has the document, its tables, blocks, dimensions and viewports.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from ezdxf.layouts.base import BaseLayout
from ezdxf.lldxf.tagwriter import AbstractTagWriter

from layout.outline import Point


@dataclass(frozen=True, slots=True)
class Look:
    """What every entity has: its layer, and where they are not the layer's, linetype, colour, width and dash length."""

    layer: str
    linetype: str | None = None
    color: int | None = None
    lineweight: int | None = None
    ltscale: float = 1.0
    """Times the linetype's own lengths."""

    @property
    def tags(self) -> str:
        """The entity's common tags as a file holds them, but for handle, owner and space."""
        out = f"  8\n{self.layer}\n"
        if self.linetype is not None:
            out += f"  6\n{self.linetype}\n"
        if self.color is not None:
            out += f" 62\n{self.color}\n"
        if self.lineweight is not None:
            out += f"370\n{self.lineweight}\n"
        return out if self.ltscale == 1.0 else f"{out} 48\n{self.ltscale}\n"


@dataclass(frozen=True, slots=True)
class Lettering:
    """A text on its baseline from, about or to ``at``: ``code`` as the file holds it, its height and style."""

    code: str
    at: Point
    height: float
    style: str
    anchor: Literal["start", "middle", "end"] = "start"


@dataclass(frozen=True, slots=True)
class Written:
    """An entity as it stands in the file. The rest is what ezdxf asks of one while it writes."""

    kind: str
    text: str
    is_alive: bool = True

    def dxftype(self) -> str:
        """Return the entity's type."""
        return self.kind

    def export_dxf(self, tagwriter: AbstractTagWriter) -> None:
        """Write it."""
        tagwriter.write_str(self.text)


def add_line(layout: BaseLayout, start: Point, end: Point, look: Look) -> None:
    """Add a LINE."""
    _add(layout, "LINE", look, f"100\nAcDbLine\n{_at(10, start)}{_at(11, end)}")


def add_circle(layout: BaseLayout, centre: Point, radius: float, look: Look) -> None:
    """Add a CIRCLE."""
    _add(layout, "CIRCLE", look, f"100\nAcDbCircle\n{_at(10, centre)} 40\n{radius}\n")


def add_arc(layout: BaseLayout, centre: Point, radius: float, start: float, end: float, look: Look) -> None:
    """Add an ARC that runs counter-clockwise from ``start`` to ``end``, in degrees."""
    circle = f"100\nAcDbCircle\n{_at(10, centre)} 40\n{radius}\n"
    _add(layout, "ARC", look, f"{circle}100\nAcDbArc\n 50\n{start}\n 51\n{end}\n")


def add_polyline(
    layout: BaseLayout, xyb: Sequence[tuple[float, float, float]], look: Look, *, closed: bool, dashed: bool
) -> None:
    """Add an LWPOLYLINE of (x, y, bulge); a ``dashed`` one's dashes run on round its corners."""
    flags = (1 if closed else 0) | (128 if dashed else 0)
    points = "".join(f" 10\n{x}\n 20\n{y}\n 42\n{b}\n" if b else f" 10\n{x}\n 20\n{y}\n" for x, y, b in xyb)
    _add(layout, "LWPOLYLINE", look, f"100\nAcDbPolyline\n 90\n{len(xyb)}\n 70\n{flags}\n{points}")


def add_triangle(layout: BaseLayout, corners: Sequence[Point], look: Look) -> None:
    """Add a SOLID of three corners: it has four, so the last one twice."""
    a, b, c = corners
    _add(layout, "SOLID", look, f"100\nAcDbTrace\n{_at(10, a)}{_at(11, b)}{_at(12, c)}{_at(13, c)}")


def add_text(layout: BaseLayout, lettering: Lettering, look: Look, rotation: float = 0.0) -> None:
    """Add a TEXT, turned by ``rotation`` degrees."""
    _add(layout, "TEXT", look, f"{_lettered(lettering, rotation)}100\nAcDbText\n")


def add_reference(layout: BaseLayout, block: str, fields: Mapping[str, Lettering], layer: str) -> None:
    """Add an INSERT of a block at the origin with its fields by their tags, one at least, as ATTRIBs that are not seen."""
    look = Look(layer)
    attribs = {tag: f"{_lettered(one)}100\nAcDbAttribute\n  2\n{tag}\n 70\n1\n" for tag, one in fields.items()}
    own = f"100\nAcDbBlockReference\n 66\n1\n  2\n{block}\n{_at(10, (0.0, 0.0))}"
    handle = layout.doc.entitydb.next_handle()
    head, end = _head(layout, "INSERT", handle), _head(layout, "SEQEND", owner=handle)
    parts = [f"{head}{look.tags}{own}"]
    parts += [f"{_head(layout, 'ATTRIB')}{look.tags}{attrib}" for attrib in attribs.values()]
    _put(layout, Written("INSERT", f"{''.join(parts)}{end}{look.tags}"))


def _lettered(one: Lettering, rotation: float = 0.0) -> str:
    turned = f" 50\n{rotation}\n" if rotation else ""
    aligned = "" if one.anchor == "start" else f" 72\n{1 if one.anchor == 'middle' else 2}\n"
    text = f"100\nAcDbText\n{_at(10, one.at)} 40\n{one.height}\n  1\n{one.code}\n{turned}  7\n{one.style}\n"
    return f"{text}{aligned}{_at(11, one.at)}"


def _add(layout: BaseLayout, kind: str, look: Look, own: str) -> None:
    _put(layout, Written(kind, f"{_head(layout, kind)}{look.tags}{own}"))


def _head(layout: BaseLayout, kind: str, handle: str = "", owner: str = "") -> str:
    """Return how every entity begins; its handle is a new one and its owner the layout where nothing else is said."""
    record: Any = layout.block_record
    space = " 67\n1\n" if record.is_any_paperspace else ""
    own, above = handle or layout.doc.entitydb.next_handle(), owner or record.dxf.handle
    return f"  0\n{kind}\n  5\n{own}\n330\n{above}\n100\nAcDbEntity\n{space}"


def _put(layout: BaseLayout, entity: Written) -> None:
    space: Any = layout.block_record.entity_space
    space.entities.append(entity)


def _at(code: int, point: Point) -> str:
    return f"{code:3d}\n{point[0]}\n{code + 10:3d}\n{point[1]}\n{code + 20:3d}\n0.0\n"
