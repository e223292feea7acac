"""What a packet holds: every file of a job by name, made in memory before anything is written.

Sheets, all of them as one PDF where that is wanted, the drawing for CAD, a cut file for each piece that no ``stop`` finding
touches, the materials, and the report, which lists the others with their SHA-256.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from layout.drawing import Drawing
from layout.machining import operations
from layout.materials import Materials, materials, materials_csv, materials_report
from layout.pipeline import Layout
from layout.report import report


def report_text(content: dict[str, Any]) -> str:
    """Return a report as JSON text."""
    return json.dumps(content, indent=1, ensure_ascii=False) + "\n"


def packet_files(layout: Layout, *, pdf: bool = False) -> dict[str, bytes]:
    """Return every file of the packet by its name within the folder, ``report.json`` last."""
    # the drawing libraries are wanted from here on only: `check` does without them
    from layout.sheets import draw  # noqa: PLC0415

    of = materials(layout)
    return drawn_files(layout, draw(layout, of), of, pdf=pdf)


def drawn_files(layout: Layout, drawing: Drawing, of: Materials, *, pdf: bool = False) -> dict[str, bytes]:
    """Return every file of the packet of a job that is drawn already; with ``pdf`` also all sheets as one file."""
    from layout.writers.blanks_dxf import blanks_dxf  # noqa: PLC0415
    from layout.writers.cut_dxf import cut_dxf  # noqa: PLC0415
    from layout.writers.shop_dxf import shop_dxf  # noqa: PLC0415
    from layout.writers.svg import svg_text  # noqa: PLC0415

    files = {f"sheet-{s.number}.svg": svg_text(s, drawing).encode() for s in drawing.sheets}
    if pdf:
        # an extra brings its library
        from layout.writers.pdf import pdf_bytes  # noqa: PLC0415

        files[f"{drawing.number}.pdf"] = pdf_bytes(drawing)
    files["shop.dxf"] = shop_dxf(drawing)
    for piece in layout.divided.pieces:
        if piece.id not in layout.stopped:
            work = operations(layout.laid, piece)
            files[f"cut/{piece.id}.dxf"] = cut_dxf(piece, layout.job, work)
            if any(o.face == "below" for o in work):
                files[f"cut/{piece.id}-below.dxf"] = cut_dxf(piece, layout.job, work, "below")
    sound = [(p, u) for p, u in zip(layout.divided.pieces, of.layups, strict=True) if p.id not in layout.stopped]
    if sound:
        files["cut/blanks.dxf"] = blanks_dxf([p for p, _ in sound], [u for _, u in sound], layout.job)
    files["materials.json"] = report_text(materials_report(layout, of)).encode()
    files["materials.csv"] = materials_csv(layout, of).encode()
    listed = [(name, hashlib.sha256(data).hexdigest()) for name, data in files.items()]
    files["report.json"] = report_text(report(layout, listed)).encode()
    return files
