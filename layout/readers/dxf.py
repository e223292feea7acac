"""A DXF file that someone else made, read to contours in mm, or refused in words.

What ezdxf cannot read, and whatever it raises on the way, becomes a TemplateError; nothing of a broken file is guessed.
"""

from __future__ import annotations

import io
import math
from collections import Counter
from pathlib import Path
from typing import Any

from ezdxf.document import Drawing as Document
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.entities.ellipse import Ellipse
from ezdxf.entities.insert import Insert
from ezdxf.entities.spline import Spline
from ezdxf.filemanagement import read as read_text
from ezdxf.lldxf.tagger import binary_tags_loader
from ezdxf.lldxf.validator import dxf_info
from ezdxf.upright import upright

from layout.arc_fit import fit_arcs
from layout.contours import (
    SILENT,
    Contour,
    Drawn,
    DrawnPoint,
    DrawnText,
    DrawnUnit,
    Stroke,
    as_contour,
    chain,
    refuse_crossings,
    without_doubles,
)
from layout.faults import TemplateError
from layout.outline import SAME, Point, Ring, Vertex, circle
from layout.units import LONGEST_MM, UNIT_MM, UNIT_NAMES, Unit

MOST_BYTES = 20_000_000
MOST_ENTITIES = 100_000
FARTHEST = 10_000_000.0
"""Coordinates beyond this (mm) leave no digits for a tenth of a millimetre's arithmetic."""
_BINARY = b"AutoCAD Binary DXF\r\n\x1a\x00"
_UNITS: dict[int, DrawnUnit] = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}
_OURS = "staveline "
"""How the header's $LASTSAVEDBY begins in a shop drawing of this program's own."""
_DEEPEST = 16
"""Blocks in blocks."""
_FLAT = 1e-6
_KNOWN_BY_THEIR_HEAD = {
    b"AC10": "a DWG file",
    b"%PDF": "a PDF file",
    b"PK\x03\x04": "a ZIP archive",
    b"<?xm": "an XML file",
    b"<svg": "an SVG file",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
}


def read_dxf(path: Path, *, unit: Unit | None, layer: str | None, by_layer: bool = False) -> Drawn:
    """Return what a DXF file draws in its model space, in mm.

    ``unit``: what its numbers are in where its header does not say. ``layer``: the one layer to look at; None: all that
    are switched on. ``by_layer``: layers may lie over one another, as in a whole drawing; else contours that cross are
    refused and doubles are taken once whatever their layer. Raises TemplateError with what was found and what was expected.
    """
    return dxf_content(file_bytes(path), path.name, unit=unit, layer=layer, by_layer=by_layer)


def file_bytes(path: Path) -> bytes:
    """Return a drawing's bytes. Raises TemplateError for what is no file, cannot be read or is too large."""
    name = path.name
    expected = f"a DXF file of at most {MOST_BYTES // 1_000_000} MB"
    try:
        if not path.exists():
            raise TemplateError(name, "no such file", expected)
        if not path.is_file():
            raise TemplateError(name, "a folder or device", expected)
        size = path.stat().st_size
        if size <= MOST_BYTES:
            with path.open("rb") as file:
                data = file.read(MOST_BYTES + 1)
            size = len(data)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise TemplateError(name, f"a file that cannot be read ({reason})", expected) from None
    if size > MOST_BYTES:
        raise TemplateError(name, f"a file of {size / 1e6:,.1f} MB", f"{expected}: outlines only")
    return data


def dxf_content(data: bytes, name: str, *, unit: Unit | None, layer: str | None, by_layer: bool = False) -> Drawn:
    """Return what the bytes of a DXF file draw; as `read_dxf`, for a file that is in memory."""
    doc = _document(data, name)
    try:
        return _Reader(doc, name, unit, layer, by_layer).read()
    except TemplateError:
        raise
    except Exception as error:
        raise TemplateError(
            name, f"a damaged DXF file ({_words(error)})", "one that CAD programs open; save it anew"
        ) from None


def _words(error: BaseException) -> str:
    text = " ".join(str(error).split())[:120]
    return f"{type(error).__name__}: {text}" if text else type(error).__name__


# --- the file ------------------------------------------------------------------------------------------------------


def _document(data: bytes, name: str) -> Document:
    expected = "a DXF file"
    if not data.strip():
        raise TemplateError(name, "an empty file", expected)
    for head, what in _KNOWN_BY_THEIR_HEAD.items():
        if data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(head):
            raise TemplateError(name, what, f"{expected}: save the drawing as one")
    binary = data.startswith(_BINARY)
    if not binary and not _is_text_dxf(data):
        raise TemplateError(name, "something else than a DXF file, or one that is encrypted", expected)
    if not (data.rstrip(b"\x00").endswith(b"EOF") if binary else data.rstrip(b"\x00\x1a \t\r\n").endswith(b"EOF")):
        raise TemplateError(name, "a DXF file that ends before its end mark (EOF)", "the whole of it; copy it anew")
    try:
        if binary:
            return Document.load(binary_tags_loader(data, errors="surrogateescape"))
        encoding = dxf_info(io.TextIOWrapper(io.BytesIO(data), encoding="cp1252", errors="replace")).encoding
        return read_text(io.TextIOWrapper(io.BytesIO(data), encoding=encoding, errors="surrogateescape"))
    except Exception as error:
        raise TemplateError(
            name, f"a damaged DXF file ({_words(error)})", "one that CAD programs open; save it anew"
        ) from None


def _is_text_dxf(data: bytes) -> bool:
    """Whether the text begins as DXF does: pairs of lines, comments (999) first, then SECTION."""
    lines = [line.strip() for line in data[:20_000].removeprefix(b"\xef\xbb\xbf").splitlines()]
    for code, value in zip(lines[::2], lines[1::2], strict=False):
        if code != b"999":
            return (code, value) == (b"0", b"SECTION")
    return False


def _unit_of(doc: Document, name: str, given: Unit | None) -> tuple[DrawnUnit, str, list[str]]:
    """Return the unit of the numbers, who says so, and remarks."""
    code, measure = doc.header.get("$INSUNITS"), doc.header.get("$MEASUREMENT")
    stated = _UNITS.get(int(code)) if code is not None else None
    if code and stated is None:
        raise TemplateError(name, f"$INSUNITS = {code} in the header", "inches (1), feet (2), mm (4), cm (5) or m (6)")
    if stated is not None and given is not None and stated != given:
        found = f"a header that says {UNIT_NAMES[stated]} ($INSUNITS = {code})"
        raise TemplateError(name, found, f"{UNIT_NAMES[given]}, as is given beside it; one of the two is wrong")
    if given is not None and stated is None:
        return given, "given", []
    if stated is not None:
        disagree = measure is not None and bool(measure) == (stated in ("in", "ft"))
        remark = f"$INSUNITS says {UNIT_NAMES[stated]}, $MEASUREMENT says otherwise; the first is followed"
        return stated, "header $INSUNITS", [remark] if disagree else []
    # a header that says "no unit" is believed; one that says nothing of it may still say inches or metric
    if code is None and measure is not None:
        return ("mm" if measure else "in"), "header $MEASUREMENT", []
    raise TemplateError(name, "no unit in its header", "the unit given beside it: in or mm")


# --- entities ------------------------------------------------------------------------------------------------------


class _Reader:
    """One pass over the model space."""

    def __init__(self, doc: Document, name: str, unit: Unit | None, layer: str | None, by_layer: bool) -> None:
        self.doc, self.name = doc, name
        self.unit, self.unit_from, self.remarks = _unit_of(doc, name, unit)
        self.scale = float(UNIT_MM[self.unit])
        self.layer = layer
        self.ours = by_layer and str(doc.header.get("$LASTSAVEDBY", "")).startswith(_OURS)
        self.by_layer = by_layer
        self.weight = -1
        self.count = 0
        self.hidden = 0
        self.heights = 0
        self.strayed = 0.0
        self.unknown: Counter[str] = Counter()
        self.layers: Counter[str] = Counter()
        self.contours: list[Contour] = []
        self.strokes: list[Stroke] = []
        self.points: list[DrawnPoint] = []
        self.texts: list[DrawnText] = []
        self.off = {layer.dxf.name.lower() for layer in doc.layers if layer.is_off() or layer.is_frozen()}

    def read(self) -> Drawn:
        for entity in self.doc.modelspace():
            self._entity(entity, entity.dxf.get("layer", "0"), 0)
        if self.layer is not None and not any(n.lower() == self.layer.lower() for n in self.layers):
            known = ", ".join(sorted(self.layers)[:12]) or "none that holds anything"
            raise TemplateError(self.name, f'no layer "{self.layer}"', f"a layer of the file: {known}")
        if self.hidden:
            self.remarks.append(f"{self.hidden} on layers that are switched off or frozen, left out")
        if self.heights:
            self.remarks.append(
                f"{self.heights} points or texts stand above or below the plane; their heights are left out"
            )
        chained, paths, gaps, twice = chain(self.strokes, self.name)
        found = [as_contour(c.ring, c.layer) for c in (*self.contours, *chained)]
        specks = sum(c is None for c in found)
        if specks:
            self.remarks.append(f"{specks} without any area, left out")
        contours, doubles = without_doubles([c for c in found if c is not None], by_layer=self.by_layer)
        drawn = Drawn(
            contours=tuple(contours),
            paths=tuple(paths),
            points=tuple(self.points),
            texts=tuple(self.texts),
            unit=self.unit,
            unit_from=self.unit_from,
            gaps=tuple(sorted(gaps, key=lambda g: -g.width)),
            doubles=twice + doubles,
            strayed=self.strayed,
            not_understood=tuple(sorted(self.unknown.items())),
            remarks=tuple(self.remarks),
            plan=self._plan() if self.ours else None,
        )
        if not self.by_layer:
            refuse_crossings(drawn.contours, self.name, drawn.said_in)
        return drawn

    def _entity(self, entity: DXFGraphic, layer: str, depth: int) -> None:
        """Take one entity; ``layer``: that of the block it stands in, for what lies on layer 0 of a block."""
        self.count += 1
        if self.count > MOST_ENTITIES:
            raise TemplateError(self.name, f"more than {MOST_ENTITIES:,} entities", "a drawing of outlines only")
        own = entity.dxf.get("layer", "0")
        own = layer if depth and own == "0" else own
        kind = entity.dxftype()
        if isinstance(entity, Insert):
            self._insert(entity, own, depth)
            return
        self.layers[own] += 1
        if self.layer is not None and own.lower() != self.layer.lower():
            return
        if self.layer is None and (own.lower() in self.off or entity.dxf.get("invisible", 0)):
            self.hidden += 1
            return
        take = getattr(self, f"_{kind.lower()}", None) if kind in _TAKEN else None
        if take is None:
            self.unknown[kind] += 1
            return
        upright(entity)
        extrusion = entity.dxf.get("extrusion", (0.0, 0.0, 1.0))
        if kind in _DRAWN and abs(extrusion[0]) + abs(extrusion[1]) > _FLAT:
            raise TemplateError(self.name, f"{kind} that is tilted in space", "a flat drawing, z = 0")
        # in our own drawings hatches lie on their outlines' layer, and only the width tells them apart
        self.weight = int(entity.dxf.get("lineweight", -1)) if self.ours else -1
        take(entity, own)

    def _plan(self) -> tuple[float, float, float, float] | None:
        """Return what the first sheet's first view shows of the model, mm."""
        for sheet in self.doc.layout_names_in_taborder():
            views = [] if sheet == "Model" else [v for v in self.doc.paperspace(sheet).viewports() if v.dxf.id > 1]
            for view in views[:1]:
                x, y = self._at(view.dxf.view_center_point)
                up = float(view.dxf.view_height) * self.scale / 2
                across = up * float(view.dxf.width) / float(view.dxf.height)
                return (x - across, y - up, x + across, y + up)
        return None

    def _insert(self, insert: Insert, layer: str, depth: int) -> None:
        if depth >= _DEEPEST:
            raise TemplateError(self.name, f"blocks in blocks, more than {_DEEPEST} deep", "a drawing of outlines only")
        block = insert.block()
        if block is None:
            self.unknown["INSERT without its block"] += 1
            return
        x, y = abs(insert.dxf.xscale), abs(insert.dxf.yscale)
        if x == 0.0 or y == 0.0:
            self.unknown["INSERT of no size"] += 1
            return
        if abs(x - y) > 1e-9 * max(x, y) and _has_arcs(block, {}):
            raise TemplateError(
                self.name,
                f'block "{insert.dxf.name}" with arcs, stretched by {x:g} one way and {y:g} the other',
                "one scale for both, or the block exploded",
            )
        insert.dxf.zscale = x  # of no meaning in a flat drawing
        if self.count + insert.mcount * len(block) > MOST_ENTITIES:
            raise TemplateError(self.name, f"more than {MOST_ENTITIES:,} entities", "a drawing of outlines only")
        for one in insert.multi_insert() if insert.mcount > 1 else (insert,):
            for entity in one.virtual_entities(skipped_entity_callback=self._skipped):
                self._entity(entity, layer, depth + 1)

    def _skipped(self, entity: Any, reason: str) -> None:  # noqa: ARG002
        self.unknown[entity.dxftype()] += 1

    # --- one kind each

    def _at(self, point: Any, z: float | None = None) -> Point:
        """Return a point in mm. Raises TemplateError for one that is not finite, far away, or not in the plane."""
        x, y = float(point[0]) * self.scale, float(point[1]) * self.scale
        height = (float(point[2]) if len(point) > 2 else 0.0) if z is None else z
        if not math.isfinite(x + y + height) or max(abs(x), abs(y)) > FARTHEST:
            raise TemplateError(self.name, "a coordinate that is no place in a room", "coordinates near to the origin")
        if abs(height) > _FLAT:
            raise TemplateError(self.name, f"z = {height:g}", "a flat drawing, z = 0")
        return (x, y)

    def _length(self, value: float) -> float:
        mm = float(value) * self.scale
        if not math.isfinite(mm) or mm > float(LONGEST_MM["mm"]):
            raise TemplateError(self.name, f"a radius of {value:g}", "one that fits into a room")
        return mm

    def _path(self, vertices: list[Vertex], layer: str, *, closed: bool = False) -> None:
        for v in vertices:
            if not math.isfinite(v.bulge) or abs(v.bulge) > 1e6:
                raise TemplateError(self.name, f"a bulge of {v.bulge:g}", "an arc")
        # of vertices in one place the last has the bulge
        last = len(vertices) - 1
        kept = [v for k, v in enumerate(vertices) if k == last or math.dist(v.at, vertices[k + 1].at) > SAME]
        if closed and len(kept) > 1 and math.dist(kept[0].at, kept[-1].at) <= SAME:
            kept.pop()
        if len(kept) < 2:
            return
        if closed:
            self.contours.append(Contour(Ring(tuple(kept)), layer))
        elif math.dist(kept[0].at, kept[-1].at) <= SILENT and len(kept) > 2:
            self.contours.append(Contour(Ring(tuple(kept[:-1])), layer))
        else:
            self.strokes.append(Stroke(tuple(kept), layer, self.weight))

    def _line(self, e: Any, layer: str) -> None:
        self._path([Vertex(*self._at(e.dxf.start)), Vertex(*self._at(e.dxf.end))], layer)

    def _arc(self, e: Any, layer: str) -> None:
        (x, y), radius = self._at(e.dxf.center), self._length(e.dxf.radius)
        start, end = math.radians(e.dxf.start_angle), math.radians(e.dxf.end_angle)
        sweep = (end - start) % (2 * math.pi)
        if radius <= 0.0 or not math.isfinite(sweep):
            return
        if min(sweep, 2 * math.pi - sweep) < 1e-9:
            self.contours.append(Contour(circle(x, y, radius), layer))
            return
        bulge = math.tan(sweep / 4)
        ends = [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in (start, start + sweep)]
        self._path([Vertex(*ends[0], bulge), Vertex(*ends[1])], layer)

    def _circle(self, e: Any, layer: str) -> None:
        (x, y), radius = self._at(e.dxf.center), self._length(e.dxf.radius)
        if radius > 0.0:
            self.contours.append(Contour(circle(x, y, radius), layer))

    def _lwpolyline(self, e: Any, layer: str) -> None:
        z = float(e.dxf.get("elevation", 0.0))
        self._path([Vertex(*self._at(p, z), float(p[2])) for p in e.get_points("xyb")], layer, closed=bool(e.closed))

    def _polyline(self, e: Any, layer: str) -> None:
        if e.is_poly_face_mesh or e.is_polygon_mesh:
            self.unknown["POLYLINE (mesh)"] += 1
            return
        # frame points of a curve that was fitted are no points of it
        vertices = [v for v in e.vertices if not int(v.dxf.get("flags", 0)) & 16]
        bulged = [Vertex(*self._at(v.dxf.location), float(v.dxf.get("bulge", 0.0))) for v in vertices]
        self._path(bulged, layer, closed=bool(e.is_closed))

    def _ellipse(self, e: Ellipse, layer: str) -> None:
        tool = e.construction_tool()
        (cx, cy), major = self._at(tool.center), self._at(tool.major_axis)
        minor = (-major[1] * tool.ratio, major[0] * tool.ratio)
        start, end = float(tool.start_param), float(tool.end_param)
        sweep = (end - start) % (2 * math.pi) or 2 * math.pi
        whole = 2 * math.pi - sweep < 1e-9

        def curve(t: float) -> tuple[Point, Point]:
            c, s = math.cos(t), math.sin(t)
            at = (cx + major[0] * c + minor[0] * s, cy + major[1] * c + minor[1] * s)
            return at, (-major[0] * s + minor[0] * c, -major[1] * s + minor[1] * c)

        count = max(1, math.ceil(sweep / (math.pi / 2) - 1e-9))
        self._fitted(curve, [start + sweep * k / count for k in range(count + 1)], layer, closed=whole)

    def _spline(self, e: Spline, layer: str) -> None:
        tool = e.construction_tool()
        for p in (*tool.control_points, *e.fit_points):
            self._at(p)
        scale = self.scale

        def curve(t: float) -> tuple[Point, Point]:
            at, along = next(iter(tool.derivatives([t], 1)))[:2]
            if along.magnitude < 1e-9:  # control points in one place: which way the curve runs a hair on
                step = 1e-4 * (high - low)
                near = [tool.point(min(max(t + d, low), high)) for d in (-step, step)]
                along = near[1] - near[0]
            return (at.x * scale, at.y * scale), (along.x, along.y)

        knots = tool.knots()
        low, high = float(knots[tool.order - 1]), float(knots[tool.count])
        inner = [low]
        for k in sorted(float(k) for k in knots):
            if k - inner[-1] > 1e-12 * max(abs(high), 1.0) and k <= high:
                inner.append(k)
        ends = [curve(inner[0])[0], curve(inner[-1])[0]]
        self._fitted(curve, inner, layer, closed=bool(e.closed) or math.dist(*ends) <= SILENT)

    def _fitted(self, curve: Any, breaks: list[float], layer: str, *, closed: bool) -> None:
        vertices, strayed = fit_arcs(curve, breaks)
        for v in vertices:
            self._at((v.x / self.scale, v.y / self.scale))
        if strayed > SILENT:
            raise TemplateError(
                self.name,
                f"a curve that arcs follow to {strayed:.2f} mm only",
                f"one that they follow to {SILENT:g} mm",
            )
        self.strayed = max(self.strayed, strayed)
        if closed and math.dist(vertices[0].at, vertices[-1].at) <= SILENT:
            vertices = vertices[:-1]
        self._path(list(vertices), layer, closed=closed)

    def _point(self, e: Any, layer: str) -> None:
        x, y, z = e.dxf.location
        self.heights += abs(z) > _FLAT
        self.points.append(DrawnPoint(self._at((x, y)), layer))

    def _text(self, e: Any, layer: str) -> None:
        x, y, z = e.dxf.get("insert", (0.0, 0.0, 0.0))
        self.heights += abs(z) > _FLAT
        self.texts.append(DrawnText(self._at((x, y)), " ".join(e.plain_text().split()), layer))

    _mtext = _text


_DRAWN = frozenset({"LINE", "ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE", "ELLIPSE", "SPLINE"})
_TAKEN = _DRAWN | {"POINT", "TEXT", "MTEXT"}


def _has_arcs(block: Any, known: dict[str, bool]) -> bool:
    """Whether a block holds arcs, itself or in its blocks; ``known``: those looked into already."""
    if block.name not in known:
        known[block.name] = False
        known[block.name] = any(_bent(entity, known) for entity in block)
    return known[block.name]


def _bent(entity: Any, known: dict[str, bool]) -> bool:
    match entity.dxftype():
        case "ARC" | "CIRCLE" | "ELLIPSE":
            return True
        case "LWPOLYLINE" | "POLYLINE":
            return bool(entity.has_arc)
        case "INSERT":
            inner = entity.block()
            return inner is not None and _has_arcs(inner, known)
    return False
