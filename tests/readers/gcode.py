"""The way to a machine: dxf2gcode makes G-code of the file, LinuxCNC's interpreter runs it, and the tool's path is measured."""

from __future__ import annotations

import math
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from readers import Edge, Reading, by_size, edges_area

NAME = "dxf2gcode, LinuxCNC rs274"
PYTHON = "/usr/bin/python3"
LEAST = {"in": 0.2, "mm": 120.0}
"""No cut of the samples is smaller; what dxf2gcode would cut of lettering is."""


def version() -> str | None:
    if not (shutil.which("dxf2gcode") and shutil.which("rs274") and Path(PYTHON).exists()):
        return None
    return ", ".join(filter(None, (installed(p) for p in ("dxf2gcode", "linuxcnc-uspace")))) or "unknown"


def installed(package: str) -> str:
    """The version of a Debian package, without what Debian adds to it."""
    if not shutil.which("dpkg-query"):
        return ""
    asked = ["dpkg-query", "-W", "-f", "${Version}", package]
    found = subprocess.run(asked, capture_output=True, text=True, check=False).stdout
    return re.split(r"[-+~]", found.partition(":")[2] or found)[0]


def read(path: Path) -> Reading:
    with tempfile.TemporaryDirectory() as folder:
        code = Path(folder) / "out.ngc"
        made = subprocess.run(
            [PYTHON, str(Path(__file__).with_name("headless.py")), str(path.resolve()), str(code)],
            capture_output=True, text=True, timeout=60, check=False,
        )  # fmt: skip
        if made.returncode:
            print(made.stderr[-500:], file=sys.stderr)
            return Reading(0.0, 0.0, "")
        ran = subprocess.run(
            ["rs274", "-g", "-n", "0", str(code)],
            cwd=folder, capture_output=True, text=True, timeout=60, check=False,
        )  # fmt: skip
    unit, contours = cuts(ran.stdout)
    # each is cut in several passes, one below the other
    seen = {}
    for edges in contours:
        if math.dist(edges[0][0], edges[-1][1]) <= 2e-3:
            area = edges_area(edges)
            (x, y) = min(e[0] for e in edges)
            seen[round(area, 2), round(x, 2), round(y, 2)] = area
    return by_size(seen.values(), unit, LEAST[unit])


def cuts(moves: str) -> tuple[str, list[list[Edge]]]:
    """The unit, and each run of moves in the wood at one depth."""
    unit, out, run = "mm", [], []
    x = y = z = 0.0
    for line in moves.splitlines():
        found = re.search(r"([A-Z_0-9]+)\((.*)\)", line)
        if not found:
            continue
        name, given = found[1], found[2].split(",")
        if name == "USE_LENGTH_UNITS":
            unit = "in" if "INCH" in found[2] else "mm"
        elif name in ("STRAIGHT_TRAVERSE", "STRAIGHT_FEED"):
            u, v, w = map(float, given[:3])
            if w != z or name == "STRAIGHT_TRAVERSE":
                out.append(run)
                run = []
            elif w < 0:
                run.append(((x, y), (u, v), 0.0))
            x, y, z = u, v, w
        elif name == "ARC_FEED":
            u, v, cx, cy, turn = map(float, given[:5])
            if z < 0:
                run += arc_edges((x, y), (u, v), (cx, cy), turn)
            x, y = u, v
    out.append(run)
    return unit, [r for r in out if r]


def arc_edges(a, b, c, turn):
    """An arc in two halves, so that a full circle too has a bulge."""
    start, end = (math.atan2(p[1] - c[1], p[0] - c[0]) for p in (a, b))
    sweep = (end - start) % math.tau if turn > 0 else -((start - end) % math.tau)
    sweep = sweep if abs(sweep) > 1e-9 else math.copysign(math.tau, turn)
    radius, half = math.dist(a, c), start + sweep / 2
    m = (c[0] + radius * math.cos(half), c[1] + radius * math.sin(half))
    bulge = math.tan(sweep / 8)
    return [(a, m, bulge), (m, b, bulge)]
