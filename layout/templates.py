"""A maker's template as a cutout's outline: a DXF file beside the job file, its largest closed contour in mm.

The contour's own frame has the middle of its bounding box at (0, 0) and, as in the file, +x along the wall from left to
right and +y up in the file towards the back; the cutout's ``turn`` turns it. Closed contours outside the largest, such as
faucet holes, come along; those inside it lie in what is cut out already and are left out.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from pathlib import Path

from layout import region
from layout.contours import Contour, DrawnUnit, refuse_open
from layout.faults import TemplateError
from layout.outline import Ring
from layout.units import Unit

MOST_OPENINGS = 50
MOST_VERTICES = 1000
"""Vertices of a contour; one of more is a curve in short chords."""


@dataclass(frozen=True, slots=True)
class Template:
    """A template as read: ``file`` as the job names it, its SHA-256, the unit of its numbers, and its rings in mm.

    ``ring`` and ``openings`` are in the template's own frame, openings from left to right. ``notes``: what was made of the
    drawing on the way, for people. ``data``: the file itself, for whoever keeps it with the job.
    """

    file: str
    sha256: str
    units: DrawnUnit
    ring: Ring
    openings: tuple[Ring, ...] = ()
    notes: tuple[str, ...] = ()
    data: bytes = field(default=b"", repr=False, compare=False)


def template_path(folder: Path, file: str) -> Path:
    """Return where a template lies below the job's folder. Raises TemplateError for one that leads out of it, as a link may."""
    path = folder / file
    try:
        inside = path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):  # links in a ring
        inside = False
    if not inside:
        raise TemplateError(file, "a link that leads out of the job's folder", "a file in it")
    return path


def read_template(folder: Path, file: str, unit: Unit | None, layer: str | None) -> Template:
    """Return the template in a file below the job's folder. Raises TemplateError with what is wrong with it."""
    # wanted by jobs with a template alone
    from layout.readers.dxf import dxf_content, file_bytes  # noqa: PLC0415

    data = file_bytes(template_path(folder, file))
    drawn = dxf_content(data, file, unit=unit, layer=layer)
    stray = refuse_open(drawn.paths, file, drawn.said_in, any_closed=bool(drawn.contours))
    if not drawn.contours:
        raise TemplateError(file, "no closed outline", "one, of lines, arcs, polylines, splines or a circle")
    notes = list(drawn.notes())
    if stray:
        notes.append(f"{len(stray)} open line{'s' if len(stray) > 1 else ''} left out")
    outline, outside, inside = _parted(drawn.contours, file)
    if inside:
        notes.append(f"{inside} inside the outline left out: it is cut out with it")
    x0, y0, x1, y1 = outline.bounds()
    x, y = (x0 + x1) / 2, (y0 + y1) / 2

    def centred(ring: Ring) -> Ring:
        return ring.moved(lambda p: (p[0] - x, p[1] - y))

    return Template(
        file=file,
        sha256=hashlib.sha256(data).hexdigest(),
        units=drawn.unit,
        ring=centred(outline),
        openings=tuple(sorted((centred(r) for r in outside), key=lambda r: [round(v, 3) for v in r.bounds()])),
        notes=tuple(notes),
        data=data,
    )


def _parted(contours: tuple[Contour, ...], file: str) -> tuple[Ring, list[Ring], int]:
    """Return the largest contour, those outside it, and how many lie inside it."""
    rings = sorted((c.ring for c in contours), key=lambda r: -r.area)
    most = max(len(r.vertices) for r in rings)
    if most > MOST_VERTICES:
        found = f"an outline of {most:,} vertices"
        raise TemplateError(file, found, f"at most {MOST_VERTICES:,}: arcs instead of short chords")
    outline, *others = rings
    shape = region.area_of(outline)
    outside = [r for r in others if not region.holds(shape, region.area_of(r))]
    if len(outside) > MOST_OPENINGS:
        found = f"{len(outside)} outlines beside the largest"
        raise TemplateError(file, found, f"at most {MOST_OPENINGS}; template_layer names the layer to look at")
    return outline, outside, len(others) - len(outside)
