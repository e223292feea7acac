"""Draw every sample's sheets anew into samples/drawings: ``python tests/renew_drawings.py``, then look at the difference."""

from __future__ import annotations

import shutil
from pathlib import Path

from layout.materials import materials
from layout.pipeline import lay_file
from layout.sheets import draw
from layout.writers.svg import svg_text

SAMPLES = Path(__file__).resolve().parent.parent / "samples"


def renew() -> None:
    """Write the sheets of every sample under its job number, and nothing else there."""
    shutil.rmtree(SAMPLES / "drawings", ignore_errors=True)
    for job in sorted((SAMPLES / "jobs").glob("*.toml")):
        layout = lay_file(job)
        folder = SAMPLES / "drawings" / layout.job.job.number
        folder.mkdir(parents=True)
        drawing = draw(layout, materials(layout))
        for sheet in drawing.sheets:
            (folder / f"sheet-{sheet.number}.svg").write_text(svg_text(sheet, drawing), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    renew()
