"""All sheets as one PDF: a page each, true to size, every line a vector, every text a text in a face that comes along.

The layout allows each text the width it has in DejaVu Sans, so that is the face; both its files lie in ``layout/fonts`` and
what a job uses of them is embedded. reportlab is an extra and imported where it is used; it has no types, and nothing of it
shows outside this module.
"""

from __future__ import annotations

import hashlib
import io
import math
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, assert_never

from layout.drawing import (
    DASHES,
    NARROW,
    Circle,
    Dash,
    Dimension,
    Drawing,
    Item,
    Lines,
    Path,
    Text,
    arrow_heads,
    dimension_line,
)
from layout.lettering import CAP_HEIGHT
from layout.outline import Point, Ring, Vertex, arc_of, circle
from layout.version import VERSION

POINTS = 72.0 / 25.4
"""A PDF counts in points, 72 to the inch; a page here is scaled once and then drawn in mm."""
BOX = "□"
"""What stands for a sign that cannot be set. What is selected or searched is the text itself all the same."""
_FACES = {False: ("staveline regular", "DejaVuSans.ttf"), True: ("staveline bold", "DejaVuSans-Bold.ttf")}
_GREYS = {"white": 1.0, "black": 0.0, "grey": 0xD0 / 0xFF}
_NON_ZERO = 1
"""Which side of a path is inside: by its turns, as in an SVG."""
_STEP = math.pi / 4
"""An arc is drawn in curves of at most this sweep: each stays within 5 millionths of its radius."""
_FLAT = 1e-5
"""An arc that rises less than half of this (mm on paper) over its chord is drawn as a line."""


def can_write() -> bool:
    """Whether reportlab is there to write with."""
    try:
        import reportlab.pdfbase.ttfonts  # noqa: PLC0415
        import reportlab.pdfgen.canvas  # noqa: F401, PLC0415
    except ImportError:
        return False
    return True


def lacking(drawing: Drawing) -> str:
    """Return the signs of a drawing that its PDF shows as boxes, each once, in the order of their numbers."""
    return "".join(sorted({c for text in _texts(drawing) for c in _words(text) if not _settable(c, text.bold)}))


def pdf_bytes(drawing: Drawing) -> bytes:
    """Return the sheets of a drawing as one file. Raises ValueError where a number of the model is not finite."""
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415

    out = io.BytesIO()
    # another first font would be one that a reader has to bring
    page = Canvas(out, invariant=1, pageCompression=1, pdfVersion=(1, 6), initialFontName=_face(False).fontName)
    # no time among the facts, where `invariant` would put a wrong one, nor in the file's own id, which comes of its content
    page._doc.info = _facts(drawing)
    page._doc.signature = hashlib.md5(usedforsecurity=False)
    page.setViewerPreference("PrintScaling", "None")
    for sheet in drawing.sheets:
        page.setPageSize((_finite(sheet.width) * POINTS, _finite(sheet.height) * POINTS))
        page.bookmarkPage(f"sheet-{sheet.number}")
        page.addOutlineEntry(f"{sheet.number} {sheet.title}", f"sheet-{sheet.number}")
        page.scale(POINTS, POINTS)
        page.setLineJoin(1)
        page.setStrokeGray(0.0)
        for view in sheet.views:
            _put_all(page, view.items, _Place(view.scale, view.at))
        for group in sheet.groups:
            _put_all(page, group.items, _Place(1.0, (0.0, 0.0)))
        page._doc.updateSignature("\n".join(page._code))
        page.showPage()
    page.save()
    return out.getvalue()


def _facts(drawing: Drawing) -> Any:
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFInfo, PDFString  # noqa: PLC0415

    class Facts(PDFInfo):  # type: ignore[misc]
        """The facts in the file: those of reportlab without a time and without words that say nothing."""

        def format(self, document: Any) -> Any:
            facts = {"Title": self.title, "Subject": self.subject, "Creator": self.creator, "Producer": self.producer}
            return PDFDictionary({name: PDFString(text) for name, text in facts.items()}).format(document)

    facts = Facts()
    facts.title = f"{drawing.number} {drawing.title}"
    facts.subject = f"revision {drawing.revision}" if drawing.revision else "shop drawings"
    facts.creator = f"staveline {VERSION}"
    return facts


# --- points ----------------------------------------------------------------------------------------------------------


def _finite(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError(f"a drawing cannot hold the number {value}")
    return value


@dataclass(frozen=True, slots=True)
class _Place:
    """Where items lie on the page: ``scale`` and origin ``at`` in paper mm, y up as on the page itself."""

    scale: float
    at: Point

    def point(self, p: Point) -> Point:
        """Return a point in page mm."""
        return (_finite(self.at[0] + self.scale * p[0]), _finite(self.at[1] + self.scale * p[1]))


# --- items -----------------------------------------------------------------------------------------------------------


def _put_all(page: Any, items: tuple[Item, ...], place: _Place) -> None:
    for item in items:
        _put(page, item, place)


def _put(page: Any, item: Item, place: _Place) -> None:
    match item:
        case Path():
            _stroke(page, item.width, item.dash)
            _draw(page, _ring(page, item.ring, item.closed, place), item.fill)
        case Lines():
            _stroke(page, item.width, item.dash)
            _draw(page, _polylines(page, item.strokes, place))
        case Circle():
            radius = item.radius / place.scale if item.paper else item.radius
            _stroke(page, item.width, item.dash)
            _draw(page, _ring(page, circle(*item.centre, radius), True, place), item.fill)
        case Text():
            _text(page, item, place)
        case Dimension():
            _dimension(page, item, place)
        case _:
            assert_never(item)


def _stroke(page: Any, width: float, dash: Dash = Dash.SOLID) -> None:
    page.setLineWidth(width)
    page.setDash(list(DASHES[dash]))


def _draw(page: Any, path: Any, fill: str = "none") -> None:
    if fill in _GREYS:
        page.setFillGray(_GREYS[fill])
    page.drawPath(path, stroke=1, fill=fill in _GREYS, fillMode=_NON_ZERO)


def _polylines(page: Any, lines: Sequence[Sequence[Point]], place: _Place) -> Any:
    path = page.beginPath()
    for points in lines:
        path.moveTo(*place.point(points[0]))
        for point in points[1:]:
            path.lineTo(*place.point(point))
    return path


def _ring(page: Any, ring: Ring, closed: bool, place: _Place) -> Any:
    """Return a ring as a path, its arcs as curves."""
    path = page.beginPath()
    path.moveTo(*place.point(ring.vertices[0].at))
    edges = list(ring.edges())
    for a, b in edges if closed else edges[:-1]:
        start, end = Vertex(*place.point(a.at), _finite(a.bulge)), Vertex(*place.point(b.at))
        arc = arc_of(start, end) if math.dist(start.at, end.at) * abs(a.bulge) > _FLAT else None
        if arc is None:
            path.lineTo(*end.at)
            continue
        parts = math.ceil(abs(arc.sweep) / _STEP)
        reach = 4.0 / 3.0 * math.tan(arc.sweep / parts / 4.0)
        here = start.at
        for n in range(parts):
            there = end.at if n == parts - 1 else arc.point((n + 1) / parts)
            (hx, hy), (tx, ty) = here, there
            # a handle is square to the radius
            path.curveTo(
                hx - reach * (hy - arc.cy),
                hy + reach * (hx - arc.cx),
                tx + reach * (ty - arc.cy),
                ty - reach * (tx - arc.cx),
                tx,
                ty,
            )
            here = there
    if closed:
        path.close()
    return path


def _dimension(page: Any, item: Dimension, place: _Place) -> None:
    _stroke(page, NARROW)
    _draw(page, _polylines(page, dimension_line(item, place.scale), place))
    _draw(page, _polylines(page, item.extensions, place))
    page.setFillGray(0.0)
    for head in arrow_heads(item, place.scale):
        path = _polylines(page, [head], place)
        path.close()
        page.drawPath(path, stroke=0, fill=1, fillMode=_NON_ZERO)
    _text(page, item.label, place)


# --- texts -----------------------------------------------------------------------------------------------------------


@cache
def _face(bold: bool) -> Any:
    """Return a face of DejaVu Sans, which reportlab then knows by name."""
    from reportlab.pdfbase.pdfmetrics import registerFont  # noqa: PLC0415
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415

    name, file = _FACES[bold]
    data = resources.files("layout").joinpath("fonts", file).read_bytes()
    # what else is installed does not change the file: no shaping, no matter whether its library is there
    face = TTFont(name, io.BytesIO(data), shapable=False)
    registerFont(face)
    return face


def _settable(sign: str, bold: bool) -> bool:
    """Whether a sign can be set: the face has it, and letters that follow one another to the left are not put in order here."""
    return ord(sign) in _face(bold).face.charToGlyph and unicodedata.bidirectional(sign) not in {"R", "AL"}


def _words(item: Text) -> str:
    """Return what is to be set, an accent and its letter in one sign where there is one."""
    return unicodedata.normalize("NFC", item.text)


def _texts(drawing: Drawing) -> Iterator[Text]:
    for sheet in drawing.sheets:
        for items in (*(view.items for view in sheet.views), *(group.items for group in sheet.groups)):
            for item in items:
                if isinstance(item, Text | Dimension):
                    yield item.label if isinstance(item, Dimension) else item


def _text(page: Any, item: Text, place: _Place) -> None:
    words = _words(item)
    shown = "".join(c if _settable(c, item.bold) else BOX for c in words)
    face, size = _face(item.bold), _finite(item.height) / CAP_HEIGHT
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor] * face.stringWidth(shown, size)
    c, s = math.cos(math.radians(_finite(item.angle))), math.sin(math.radians(item.angle))
    x, y = place.point(item.at)
    line = page.beginText()
    line.setTextTransform(c, s, -s, c, x - back * c, y - back * s)
    line.setFont(face.fontName, size)
    line.textOut(shown)
    page.setFillGray(0.0)
    if shown != words:
        page.addLiteral(f"/Span <</ActualText <FEFF{words.encode('utf-16-be').hex()}>>> BDC")
    page.drawText(line)
    if shown != words:
        page.addLiteral("EMC")
