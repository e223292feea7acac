"""Two readers of npm, run by node: dxf-parser and dxf. ``NODE_READERS`` names the folder that they are installed in."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path

from readers import Reading, Shape, arc_corners, areas, by_layer, round_area


class NodeReader:
    """One of them; a module like the others to whoever asks."""

    def __init__(self, package: str) -> None:
        self.package = package
        self.NAME = f"{package} (npm)"

    def version(self) -> str | None:
        folder = os.environ.get("NODE_READERS", "")
        told = Path(folder) / "node_modules" / self.package / "package.json"
        if not (folder and told.is_file() and shutil.which("node")):
            return None
        return str(json.loads(told.read_text(encoding="utf-8"))["version"])

    def read(self, path: Path) -> Reading:
        command = ["node", str(Path(__file__).with_name("node.js")), self.package, str(path)]
        ran = subprocess.run(command, capture_output=True, text=True, timeout=60, check=True)
        told = json.loads(ran.stdout)
        shapes = [
            Shape(s["layer"], arc_corners(*s["arc"]) if "arc" in s else [tuple(c) for c in s["corners"]], s["closed"])
            for s in told["shapes"]
        ]
        found = areas(shapes, 1e-6)
        for layer, radius in told["circles"]:
            found.setdefault(layer, []).append(round_area(radius))
        return by_layer(found, {1: "in", 4: "mm"}.get(told["unit"], ""))


dxf_parser = NodeReader("dxf-parser")
dxf = NodeReader("dxf")
