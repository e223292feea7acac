"""Run the commands that README.md shows and put what they print today below them: ``python tests/renew_readme.py``."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BLOCK = re.compile(r"^```console\n(.*?)^```$", re.M | re.S)


def renew(page: Path) -> None:
    """Write the page anew with the real output of each of its console blocks, run in order in one folder."""
    environment = {**os.environ, "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"}
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(ROOT / "samples", Path(folder) / "samples")

        def run(block: re.Match[str]) -> str:
            out = []
            for command in re.findall(r"^\$ (.*)$", block[1], re.M):
                done = subprocess.run(
                    command,
                    shell=True,
                    cwd=folder,
                    env=environment,
                    text=True,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.STDOUT,
                    check=False,
                )
                out.append(f"$ {command}\n{done.stdout}")
            return f"```console\n{''.join(out)}```"

        text = BLOCK.sub(run, page.read_text(encoding="utf-8"))
    page.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    renew(ROOT / "README.md")
