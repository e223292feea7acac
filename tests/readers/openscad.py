"""OpenSCAD's import, layer by layer: arcs come as chords, numbers as they stand."""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from readers import Edge, Reading, by_layer, edges_area

NAME = "OpenSCAD"
LAYERS = ("CUT_OUTLINE", "CUT_INSIDE", "DRILL")


def version() -> str | None:
    if not shutil.which("openscad"):
        return None
    said = subprocess.run(["openscad", "--version"], capture_output=True, text=True, check=False)
    return (said.stderr + said.stdout).split()[-1]


def read(path: Path) -> Reading:
    text = path.read_text(encoding="ascii")
    return by_layer({layer: measured(path, layer) for layer in LAYERS if f"\n{layer}\n" in text}, "")


def measured(path: Path, layer: str) -> list[float]:
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "a.scad", Path(folder) / "a.svg"
        # a thousandfold, since it writes six digits at most; a finer circle than this changes nothing that is measured
        source.write_text(f'import("{path.resolve()}", layer="{layer}", $fn=1440);\n', encoding="utf-8")
        command = ["openscad", "-o", str(target), str(source)]
        subprocess.run(command, capture_output=True, timeout=60, check=False)
        if not target.is_file():
            return []
        (drawn,) = re.findall(r'<path d="([^"]*)"', target.read_text(encoding="utf-8"))
    out = []
    for part in drawn.split("z"):
        points = [(float(x), float(y)) for x, y in re.findall(r"([-\d.e]+),([-\d.e]+)", part)]
        edges: list[Edge] = [(a, b, 0.0) for a, b in zip(points, points[1:] + points[:1], strict=True)]
        if edges:
            out.append(edges_area(edges))
    return out
