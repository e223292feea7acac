"""A job as the page shows it: sheets as SVG, what to snap to, what can be clicked, and the files to take along."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path as FilePath
from typing import Any

from cli.preview.cards import cards
from layout.drawing import Circle, Drawing, Kind, Path, Sheet, View
from layout.faults import printable
from layout.files import drawn_files
from layout.materials import Materials, materials
from layout.outline import Point
from layout.pipeline import Layout, lay_located
from layout.reading import read_located
from layout.sheets import draw
from layout.source import Source
from layout.writers.pdf import can_write, pdf_bytes
from layout.writers.svg import svg_text

SNAPPED = (Kind.PIECE, Kind.CUTOUT, Kind.JOINT, Kind.MILLED)
"""What a measured point snaps to: the vertices of these."""
_MEDIA = {
    "svg": "image/svg+xml",
    "dxf": "image/vnd.dxf",
    "pdf": "application/pdf",
    "json": "application/json",
    "csv": "text/csv; charset=utf-8",
}


@dataclass(frozen=True)
class Shown:
    """A job laid out and drawn. ``of``: its materials, None before they are worked out: its board maps are then missing."""

    layout: Layout
    source: Source
    drawing: Drawing
    templates: tuple[str, ...]
    of: Materials | None = None

    @cached_property
    def content(self) -> dict[str, Any]:
        """What the page is told of the job, as plain values; points and boxes are in paper mm, y down."""
        job = self.layout.job.job
        return {
            "job": {
                "number": printable(job.number),
                "title": printable(job.title),
                "revision": printable(job.revision),
                "file": printable(self.source.name),
            },
            "complete": self.of is not None,
            # which layout it is: the same before and after its board maps came
            "digest": self.drawing.digest,
            "sheets": list(_sheets(self.drawing)),
            "things": cards(self.layout, self.source),
            "held": list(self.layout.held),
        }

    @cached_property
    def _packet(self) -> dict[str, bytes]:
        of = self.of or materials(self.layout)
        drawing = self.drawing if self.of is not None else draw(self.layout, of)
        return drawn_files(self.layout, drawing, of)[0]

    @property
    def pdf_name(self) -> str:
        """The name of all sheets as one file."""
        return f"{self.layout.job.job.number}.pdf"

    def file_names(self) -> list[str]:
        """Return the names of the files that can be taken along: those of the packet, and the PDF where it can be written."""
        return [*self._packet, *([self.pdf_name] if can_write() else [])]

    def file(self, name: str) -> bytes | None:
        """Return a file of the packet by its name, made now; None where the packet has none of that name."""
        if name == self.pdf_name:
            return pdf_bytes(self.completed().drawing) if can_write() else None
        return self._packet.get(name)

    def completed(self) -> Shown:
        """Return the same with its materials worked out, and so with its board maps."""
        if self.of is not None:
            return self
        of = materials(self.layout)
        return replace(self, drawing=draw(self.layout, of), of=of)


def show(path: FilePath) -> Shown:
    """Return the job in a file as far as it is drawn at once: without board maps. Raises JobError."""
    found = read_located(path)
    layout = lay_located(found)
    return Shown(layout, found.source, draw(layout), tuple(sorted({t.file for t in found.templates.values()})))


def media_type(name: str) -> str:
    """Return the media type of a file of the packet."""
    return _MEDIA[name.rpartition(".")[2]]


def _sheets(drawing: Drawing) -> Iterator[dict[str, Any]]:
    seen: dict[str, int] = {}
    for sheet in drawing.sheets:
        seen[sheet.title] = seen.get(sheet.title, 0) + 1
        yield {
            # by its title and not by its number, so that it is found again where sheets before it come and go
            "key": f"{sheet.title} {seen[sheet.title]}",
            "number": sheet.number,
            "of": sheet.of,
            "title": printable(sheet.title),
            "width": sheet.width,
            "height": sheet.height,
            "svg": svg_text(sheet, drawing),
            "views": [_view(view, sheet) for view in sheet.views],
        }


def _view(view: View, sheet: Sheet) -> dict[str, Any]:
    def page(p: Point) -> tuple[float, float]:
        return (round(view.at[0] + view.scale * p[0], 6), round(sheet.height - view.at[1] - view.scale * p[1], 6))

    x0, y0, x1, y1 = view.bounds
    left, low = page((x0, y0))
    right, high = page((x1, y1))
    return {
        "title": printable(view.title),
        "label": view.label,
        "scale": view.scale,
        "box": [left, high, right, low],
        "points": sorted({page(p) for p in _vertices(view)}),
    }


def _vertices(view: View) -> Iterator[Point]:
    for item in view.items:
        if isinstance(item, Circle) and item.kind in SNAPPED and not item.paper:
            yield item.centre
        elif isinstance(item, Path) and item.kind in SNAPPED:
            yield from (v.at for v in item.ring.vertices)
            if item.kind in (Kind.CUTOUT, Kind.MILLED):
                bx0, by0, bx1, by1 = item.ring.bounds()
                yield ((bx0 + bx1) / 2.0, (by0 + by1) / 2.0)
