"""LibreCAD prints the file to PDF at its true size, and the lines on the page are measured: so its unit is measured too."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

import pypdf

from readers import Reading, Shape, areas, by_size
from readers.gcode import installed

NAME = "LibreCAD, its PDF"
POINT_MM = 25.4 / 72
LEAST = 200.0
"""mm2: no cut of the samples is smaller, no letter of the note larger."""
PAPER = {"in": (170.0, 110.0), "mm": (4318.0, 2794.0)}
"""A sheet on which the whole piece has room at its true size, in drawing units."""


def version() -> str | None:
    return (installed("librecad") or "unknown") if shutil.which("librecad") else None


def read(path: Path) -> Reading:
    text = path.read_text(encoding="ascii")
    unit = "in" if re.search(r"\$INSUNITS\n 70\n *1\n", text) else "mm"
    wide, high = PAPER[unit]
    text = re.sub(r"(\$PLIMMAX\n 10\n).*(\n 20\n).*", rf"\g<1>{wide}\g<2>{high}", text, count=1)
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "piece.dxf").write_text(text, encoding="ascii")
        env = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "HOME": folder, "XDG_RUNTIME_DIR": folder}
        command = ["librecad", "dxf2pdf", "-c", "-s", "1", "piece.dxf"]
        subprocess.run(command, cwd=folder, env=env, capture_output=True, timeout=60, check=False)
        pdf = Path(folder) / "piece.pdf"
        if not pdf.is_file():
            return Reading(0.0, 0.0, "")
        (page,) = pypdf.PdfReader(pdf).pages
        content = page.get_contents().get_data().decode("latin-1")
    scale = float(re.search(r"^(\S+) 0 0 -\1 ", content, re.MULTILINE)[1]) * POINT_MM
    return by_size(areas(list(strokes(content, scale)), 0.05).get("", []), "mm", LEAST)


def strokes(content: str, scale: float):
    """Yield what is drawn, in mm: runs of lines, curves as chords."""
    run: list[tuple[float, float, float]] = []
    for line in content.splitlines():
        *given, act = line.split() or [""]
        if act == "m":
            run = []
        if act in ("m", "l"):
            run.append((float(given[0]) * scale, float(given[1]) * scale, 0.0))
        elif act == "c":
            run += curve(run[-1][:2], [float(g) * scale for g in given])
        elif act == "h":
            run.append(run[0])
        elif act in ("S", "s") and len(run) > 1:
            yield Shape("", run, closed=act == "s")
            run = []
        elif act.startswith(("W", "n")):
            run = []  # where it may draw, and nothing drawn


def curve(start, given, count=200):
    (x0, y0), (x1, y1, x2, y2, x3, y3) = start, given
    for k in range(1, count + 1):
        t = k / count
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        yield (a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3, 0.0)
