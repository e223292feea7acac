"""What a packet holds: every file of a job by name, made in memory before anything is written.

Sheets, all of them as one PDF where that is wanted, the drawing for CAD, a cut file for each piece that no ``stop`` finding
touches, the materials, and the report, which lists the others with their SHA-256. Each cut file is read again as written
before it is let out: one with a fault is left out, and a finding says why.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from layout.cut_lint import lint
from layout.drawing import Drawing
from layout.findings import Finding, finding
from layout.job import Job
from layout.machining import operations_of
from layout.materials import Materials, materials, materials_csv, materials_report
from layout.milling import Face
from layout.pieces import Piece
from layout.pipeline import Layout
from layout.report import report

_TOLD = 4
"""So many faults of a file are told; the others are counted."""


def report_text(content: dict[str, Any]) -> str:
    """Return a report as JSON text."""
    return json.dumps(content, indent=1, ensure_ascii=False) + "\n"


def packet_files(layout: Layout, *, pdf: bool = False) -> dict[str, bytes]:
    """Return every file of the packet by its name within the folder, ``report.json`` last."""
    # the drawing libraries are wanted from here on only: `check` does without them
    from layout.sheets import draw  # noqa: PLC0415

    of = materials(layout)
    return drawn_files(layout, draw(layout, of), of, pdf=pdf)[0]


def drawn_files(
    layout: Layout, drawing: Drawing, of: Materials, *, pdf: bool = False, since: Mapping[str, Any] | None = None
) -> tuple[dict[str, bytes], Layout]:
    """Return every file of the packet of a job that is drawn already, and the layout with what writing them has found.

    With ``pdf`` also all sheets as one file; ``since``: the report of the issue that the drawing's clouds refer to. Findings of
    a cut file come after all others, so that theirs keep the numbers which the sheets give them; the report lists them too.
    """
    from layout.writers.blanks_dxf import blanks_dxf  # noqa: PLC0415
    from layout.writers.shop_dxf import shop_dxf  # noqa: PLC0415
    from layout.writers.svg import svg_text  # noqa: PLC0415

    files = {f"sheet-{s.number}.svg": svg_text(s, drawing).encode() for s in drawing.sheets}
    if pdf:
        # an extra brings its library
        from layout.writers.pdf import pdf_bytes  # noqa: PLC0415

        files[f"{drawing.number}.pdf"] = pdf_bytes(drawing)
    files["shop.dxf"] = shop_dxf(drawing)
    unsound: list[Finding] = []
    for piece in layout.divided.pieces:
        if piece.id in layout.stopped:
            continue
        written, faults = _cut_files(layout, piece)
        if faults:
            unsound.append(_unsound(piece, faults))
        else:
            files |= written
    sound = [(p, u) for p, u in zip(layout.divided.pieces, of.layups, strict=True) if cut_file(p, layout.job) in files]
    if sound:
        files[blanks_file(layout.job)] = blanks_dxf([p for p, _ in sound], [u for _, u in sound], layout.job)
    layout = replace(layout, findings=(*layout.findings, *unsound))
    files["materials.json"] = report_text(materials_report(layout, of)).encode()
    files["materials.csv"] = materials_csv(layout, of).encode()
    listed = [(name, hashlib.sha256(data).hexdigest()) for name, data in files.items()]
    # a finding of the cut files is none of those that the sheets were drawn with
    known = "" if unsound else drawing.digest
    files["report.json"] = report_text(report(layout, listed, since, digest=known)).encode()
    return files, layout


def blanks_file(job: Job) -> str:
    """Return the name of the file of all blanks, with its unit where R12 has none."""
    return f"cut/blanks{_unit(job)}.dxf"


def cut_file(piece: Piece, job: Job, face: Face = "above") -> str:
    """Return the name of a piece's cut file: R12 knows no unit, so there the name says it too."""
    side = "-below" if face == "below" else ""
    return f"cut/{piece.id}{side}{_unit(job)}.dxf"


def _unit(job: Job) -> str:
    return f"-{job.job.units}" if job.cut.version == "R12" else ""


def of_pieces(files: Iterable[str], job: Job) -> int:
    """Return how many of a packet's files are cut files of pieces."""
    return sum(name.startswith("cut/") and name != blanks_file(job) for name in files)


def _cut_files(layout: Layout, piece: Piece) -> tuple[dict[str, bytes], list[str]]:
    """Return a piece's cut files by their names, one for each face that is worked, and what is wrong with them."""
    from layout.writers.cut_dxf import cut_dxf  # noqa: PLC0415

    job = layout.job
    work = operations_of(layout.laid)[piece.id]
    faces: tuple[Face, ...] = ("above", "below") if any(o.face == "below" for o in work) else ("above",)
    written: dict[str, bytes] = {}
    faults: list[str] = []
    for face in faces:
        data = cut_dxf(piece, job, work, face)
        name = cut_file(piece, job, face)
        found = lint(
            data, piece=piece.id, unit=job.job.units, layers=job.cut.layers, contours=job.cut.contours, face=face
        )
        faults += [f"{name}: {f}" for f in found] if len(faces) > 1 else found
        written[name] = data
    return written, faults


def _unsound(piece: Piece, faults: Sequence[str]) -> Finding:
    told = "; ".join(faults[:_TOLD]) + (f"; and {len(faults) - _TOLD} more" if len(faults) > _TOLD else "")
    return finding(
        "cut-file-unsound",
        piece.id,
        f"the cut file of {piece.id} was not written: {told}",
        "change what lies at that place, or cut the piece by its sheet; a file that is wrong by itself is a fault of the program",
        at=piece.frame.to_plan((piece.length / 2.0, piece.width / 2.0)),
        pieces=(piece.id,),
    )
