"""Plain DXF entities as text: lines, arcs, circles, polylines, solids, texts and dimensions, R2000 and later, most in R12 too.

ezdxf keeps each entity as an object of some thirty attributes and asks after every one of them twice, which was most of the time
that a drawing took. What is only ever written is written here at once, tag for tag as ezdxf writes it (the tests compare
the two), and put among ezdxf's own entities, which has the document, its tables, layouts, styles and viewports.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, NamedTuple

from ezdxf.document import Drawing as Document
from ezdxf.entities.blockrecord import BlockRecord
from ezdxf.layouts.base import BaseLayout
from ezdxf.lldxf.tagwriter import AbstractTagWriter

from layout.outline import Point

STANDARD = "Standard"
"""The text style that every file has, and that goes without saying."""


class Look(NamedTuple):
    """What every entity has: its layer, and where they are not the layer's, linetype, colour, width and dash length."""

    layer: str
    linetype: str | None = None
    color: int | None = None
    lineweight: int | None = None
    ltscale: float = 1.0
    """Times the linetype's own lengths."""


@lru_cache(maxsize=1024)
def _tags(look: Look) -> str:
    """Return the common tags of entities of a look as a file holds them, but for handle, owner and space."""
    out = f"  8\n{look.layer}\n"
    if look.linetype is not None:
        out += f"  6\n{look.linetype}\n"
    if look.color is not None:
        out += f" 62\n{look.color}\n"
    if look.lineweight is not None:
        out += f"370\n{look.lineweight}\n"
    return out if look.ltscale == 1.0 else f"{out} 48\n{look.ltscale}\n"


class Lettering(NamedTuple):
    """A text on its baseline from, about or to ``at``: ``code`` as the file holds it, its height and style."""

    code: str
    at: Point
    height: float
    style: str
    anchor: Literal["start", "middle", "end"] = "start"


DIMTXT, DIMSE1, DIMSE2, DIMSAH, DIMBLK1, DIMBLK2 = 140, 75, 76, 173, 343, 344
"""What of a dimension style a dimension may have otherwise, by group code: its text's height, whether an extension line is
left out, whether its ends differ, and each end's block (by its handle, 0 for the filled arrow)."""


class Measured(NamedTuple):
    """A linear dimension with its text given; other programs may draw it anew."""

    style: str
    base: Point
    """A point on the dimension line."""
    features: tuple[Point, Point]
    angle: float
    """Of the dimension line, degrees."""
    code: str
    """The text as the file holds it."""
    text_middle: Point
    text_rotation: float | None
    """Where it is not along the dimension line, degrees."""
    value: float
    own: Sequence[tuple[int, float | str]]
    """In what it departs from its style: group codes and values."""


class Seen(NamedTuple):
    """A viewport: where it lies on paper, and the middle and height of what it shows of the model."""

    centre: Point
    size: tuple[float, float]
    view_centre: Point
    view_height: float
    number: int
    """From 2 on."""
    flags: int


_SNAP_AND_GRID = " 13\n0.0\n 23\n0.0\n 14\n10.0\n 24\n10.0\n 15\n10.0\n 25\n10.0\n"
_DOWN = " 16\n0.0\n 26\n0.0\n 36\n1.0\n 17\n0.0\n 27\n0.0\n 37\n0.0\n"
_AS_PLOTTED = (
    "281\n0\n 71\n0\n 74\n0\n110\n0.0\n120\n0.0\n130\n0.0\n111\n1.0\n121\n0.0\n131\n0.0\n"
    "112\n0.0\n122\n1.0\n132\n0.0\n 79\n0\n146\n0.0\n282\n0\n"
)
"""What every viewport has alike: no snap, a grid nobody sees, a look from straight above, wires alone."""


@dataclass(slots=True)
class Written:
    """Entities as they stand in the file, one after the other. The rest is what ezdxf asks of one while it writes."""

    parts: list[str]
    is_alive: bool = True

    def dxftype(self) -> str:
        """Return no type of an entity: these are several."""
        return ""

    def export_dxf(self, tagwriter: AbstractTagWriter) -> None:
        """Write them."""
        tagwriter.write_str("".join(self.parts))


class _WrittenBlock(BlockRecord):
    """A block that is written as text: its record in the table, and what stands before and after its entities."""

    def __init__(self, record: str, head: str, end: str) -> None:
        """Have a block without entities."""
        super().__init__()
        self._record, self._head, self._end = record, head, end

    def export_dxf(self, tagwriter: AbstractTagWriter) -> None:
        """Write its record."""
        tagwriter.write_str(self._record)

    def export_block_definition(self, tagwriter: AbstractTagWriter) -> None:
        """Write its definition."""
        tagwriter.write_str(self._head)
        self.entity_space.export_dxf(tagwriter)
        tagwriter.write_str(self._end)


class _Subclasses(NamedTuple):
    """What stands before the tags of each class that an entity is of: nothing in R12."""

    entity: str = ""
    line: str = ""
    circle: str = ""
    arc: str = ""
    text: str = ""
    polyline: str = ""
    vertex: str = ""


_R12 = _Subclasses()
_LATER = _Subclasses(
    entity="100\nAcDbEntity\n",
    line="100\nAcDbLine\n",
    circle="100\nAcDbCircle\n",
    arc="100\nAcDbArc\n",
    text="100\nAcDbText\n",
    polyline="100\nAcDb2dPolyline\n",
    vertex="100\nAcDbVertex\n100\nAcDb2dVertex\n",
)


class Plain:
    """Puts plain entities into a layout, in the order in which they and ezdxf's own are put there."""

    def __init__(
        self, space: list[Any], owner: str, new_handle: Callable[[], str], *, on_paper: bool = False, old: bool = False
    ) -> None:
        """Have entities put into ``space``, which stays open for others; ``owner`` is the handle of what owns them.

        ``new_handle`` gives the next free handle; ``old``: as R12 has them, which has neither owners nor subclasses.
        """
        self._space, self._new_handle = space, new_handle
        self._of = _R12 if old else _LATER
        self._in_space = f"{self._of.entity} 67\n1\n" if on_paper else self._of.entity
        self._owned = self._owned_by(owner)

    def _owned_by(self, owner: str) -> str:
        """Return what stands between an entity's handle and its look."""
        return f"\n330\n{owner}\n{self._in_space}" if self._of is _LATER else f"\n{self._in_space}"

    @staticmethod
    def of(layout: BaseLayout) -> Plain:
        """Return one that puts entities into a layout."""
        record: Any = layout.block_record
        on_paper = record.is_any_paperspace
        new_handle = layout.doc.entitydb.next_handle
        return Plain(record.entity_space.entities, record.dxf.handle, new_handle, on_paper=on_paper)

    def line(self, start: Point, end: Point, look: Look) -> None:
        """Add a LINE."""
        (x, y), (u, v) = start, end
        self._put(
            f"  0\nLINE\n  5\n{self._new_handle()}{self._owned}{_tags(look)}{self._of.line}"
            f" 10\n{x}\n 20\n{y}\n 30\n0.0\n 11\n{u}\n 21\n{v}\n 31\n0.0\n"
        )

    def circle(self, centre: Point, radius: float, look: Look) -> None:
        """Add a CIRCLE."""
        self._add("CIRCLE", look, f"{self._of.circle}{_at(10, centre)} 40\n{radius}\n")

    def arc(self, centre: Point, radius: float, start: float, end: float, look: Look) -> None:
        """Add an ARC that runs counter-clockwise from ``start`` to ``end``, in degrees."""
        circle = f"{self._of.circle}{_at(10, centre)} 40\n{radius}\n"
        self._add("ARC", look, f"{circle}{self._of.arc} 50\n{start}\n 51\n{end}\n")

    def polyline(self, xyb: Sequence[tuple[float, float, float]], look: Look, *, closed: bool, dashed: bool) -> None:
        """Add an LWPOLYLINE of (x, y, bulge); a ``dashed`` one's dashes run on round its corners."""
        flags = (1 if closed else 0) | (128 if dashed else 0)
        points = "".join([f" 10\n{x}\n 20\n{y}\n 42\n{b}\n" if b else f" 10\n{x}\n 20\n{y}\n" for x, y, b in xyb])
        self._add("LWPOLYLINE", look, f"100\nAcDbPolyline\n 90\n{len(xyb)}\n 70\n{flags}\n{points}")

    def heavy_polyline(self, xyb: Sequence[tuple[float, float, float]], look: Look) -> None:
        """Add a closed POLYLINE, which has each corner (x, y, bulge) as an entity of its own."""
        handle, end, tags = self._new_handle(), self._new_handle(), _tags(look)
        owned = f"{self._owned_by(handle)}{tags}"
        parts = [
            f"  0\nPOLYLINE\n  5\n{handle}{self._owned}{tags}{self._of.polyline} 66\n1\n{_at(10, (0.0, 0.0))} 70\n1\n"
        ]
        for x, y, b in xyb:
            bulge = f" 42\n{b}\n" if b else ""
            parts.append(
                f"  0\nVERTEX\n  5\n{self._new_handle()}{owned}{self._of.vertex}{_at(10, (x, y))}{bulge} 70\n0\n"
            )
        parts.append(f"  0\nSEQEND\n  5\n{end}{owned}")
        self._put("".join(parts))

    def triangles(self, corners: Iterable[tuple[Point, Point, Point]], look: Look) -> None:
        """Add a SOLID for each three corners: it has four, so the last one twice."""
        # most corners are of several triangles, and a figure takes long to put into digits
        told: dict[Point, tuple[str, str]] = {}
        for triangle in corners:
            (ax, ay), (bx, by), (cx, cy) = (told.get(p) or told.setdefault(p, (str(p[0]), str(p[1]))) for p in triangle)
            self._add(
                "SOLID",
                look,
                f"100\nAcDbTrace\n 10\n{ax}\n 20\n{ay}\n 30\n0.0\n 11\n{bx}\n 21\n{by}\n 31\n0.0\n"
                f" 12\n{cx}\n 22\n{cy}\n 32\n0.0\n 13\n{cx}\n 23\n{cy}\n 33\n0.0\n",
            )

    def text(self, lettering: Lettering, look: Look, rotation: float = 0.0) -> None:
        """Add a TEXT, turned by ``rotation`` degrees."""
        self._add("TEXT", look, f"{self._of.text}{_lettered(lettering, rotation)}{self._of.text}")

    def viewport(self, seen: Seen, layer: str) -> None:
        """Add a VIEWPORT that looks straight down; readers number a layout's from 1, which is the layout's own."""
        (x, y), (u, v) = seen.centre, seen.view_centre
        self._add(
            "VIEWPORT",
            Look(layer),
            f"100\nAcDbViewport\n 10\n{x}\n 20\n{y}\n 30\n0.0\n 40\n{seen.size[0]}\n 41\n{seen.size[1]}\n"
            f" 68\n{seen.number}\n 69\n{seen.number}\n 12\n{u}\n 22\n{v}\n{_SNAP_AND_GRID}{_DOWN}"
            f" 42\n50.0\n 43\n0.0\n 44\n0.0\n 45\n{seen.view_height}\n"
            f" 50\n0.0\n 51\n0.0\n 72\n100\n 90\n{seen.flags}\n  1\n\n{_AS_PLOTTED}",
        )

    def reference(self, block: str, fields: Mapping[str, Lettering], layer: str) -> None:
        """Add an INSERT of a block at the origin with its fields by their tags, one at least, as ATTRIBs that are not seen."""
        look = Look(layer)
        attribs = {
            tag: f"{self._of.text}{_lettered(one)}100\nAcDbAttribute\n  2\n{tag}\n 70\n1\n"
            for tag, one in fields.items()
        }
        handle = self._new_handle()
        end = f"  0\nSEQEND\n  5\n{self._new_handle()}\n330\n{handle}\n{self._in_space}{_tags(look)}"
        self._put(
            f"  0\nINSERT\n  5\n{handle}{self._owned}{_tags(look)}"
            f"100\nAcDbBlockReference\n 66\n1\n  2\n{block}\n{_at(10, (0.0, 0.0))}"
        )
        for attrib in attribs.values():
            self._add("ATTRIB", look, attrib)
        self._put(end)

    def dimension(self, measured: Measured, look: Look, doc: Document) -> Plain:
        """Add a DIMENSION, and return what puts its picture into a block of its own in the document."""
        handle, record, begin, end = (self._new_handle() for _ in range(4))
        records: Any = doc.block_records
        number = len(records)
        while records.has_entry(f"*D{number}"):
            number += 1
        name = f"*D{number}"
        one, (start, stop) = measured, measured.features
        turned = "" if one.text_rotation is None else f" 53\n{float(one.text_rotation)}\n"
        own = "".join([f"1070\n{code}\n{_extended_code(code)}\n{value}\n" for code, value in one.own])
        self._put(
            f"  0\nDIMENSION\n  5\n{handle}{self._owned}{_tags(look)}100\nAcDbDimension\n280\n0\n  2\n{name}\n"
            f"  3\n{one.style}\n{_at(10, one.base)}{_at(11, one.text_middle)} 70\n160\n 71\n5\n 42\n{one.value}\n"
            f"  1\n{one.code}\n{turned}100\nAcDbAlignedDimension\n{_at(13, start)}{_at(14, stop)} 50\n{one.angle}\n"
            "100\nAcDbRotatedDimension\n" + (f"1001\nACAD\n1000\nDSTYLE\n1002\n{{\n{own}1002\n}}\n" if own else "")
        )
        owned = f"\n330\n{record}\n100\nAcDbEntity\n  8\n0\n"
        block = _WrittenBlock(
            f"  0\nBLOCK_RECORD\n  5\n{record}\n330\n{records.head.dxf.handle}\n100\nAcDbSymbolTableRecord\n"
            f"100\nAcDbBlockTableRecord\n  2\n{name}\n340\n0\n 70\n0\n280\n1\n281\n0\n",
            f"  0\nBLOCK\n  5\n{begin}{owned}100\nAcDbBlockBegin\n"
            f"  2\n{name}\n 70\n1\n{_at(10, (0.0, 0.0))}  3\n{name}\n  1\n\n",
            f"  0\nENDBLK\n  5\n{end}{owned}100\nAcDbBlockEnd\n",
        )
        records.entries[records.key(name)] = block
        return Plain(block.entity_space.entities, record, self._new_handle)

    def _add(self, kind: str, look: Look, own: str) -> None:
        self._put(f"  0\n{kind}\n  5\n{self._new_handle()}{self._owned}{_tags(look)}{own}")

    def _put(self, text: str) -> None:
        space = self._space
        if space and type(space[-1]) is Written:
            space[-1].parts.append(text)
        else:
            space.append(Written([text]))


def _extended_code(code: int) -> int:
    """Return the group code by which extended data hold a value of a style: a handle, a length or a whole number."""
    if code in (DIMBLK1, DIMBLK2):
        return 1005
    return 1040 if code == DIMTXT else 1070


def _lettered(one: Lettering, rotation: float = 0.0) -> str:
    code, at, height, style, anchor = one
    # once for both places
    x, y = str(at[0]), str(at[1])
    turned = f" 50\n{rotation}\n" if rotation else ""
    styled = "" if style == STANDARD else f"  7\n{style}\n"
    aligned = "" if anchor == "start" else f" 72\n{1 if anchor == 'middle' else 2}\n"
    return (
        f" 10\n{x}\n 20\n{y}\n 30\n0.0\n 40\n{height}\n  1\n{code}\n{turned}{styled}{aligned}"
        f" 11\n{x}\n 21\n{y}\n 31\n0.0\n"
    )


def _at(code: int, point: Point) -> str:
    return f"{code:3d}\n{point[0]}\n{code + 10:3d}\n{point[1]}\n{code + 20:3d}\n0.0\n"
