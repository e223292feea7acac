"""The job files that ``staveline new`` starts from: the starter of its own and the samples."""

from __future__ import annotations

import shlex
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

STARTER = """\
# A job for staveline: from a field sketch to drawings. Lengths as a tape reads them: 25.5, "25 1/2", "2' 1 1/2\\"", "648 mm".
# Draw it with:  staveline draw {name}

[job]
title = "{title}"
number = "{number}"
units = "in"                  # "in" or "mm"
maker = ""                    # whose drawing it is
dealer = ""
customer = ""
drawn_by = ""
revision = "A"

[field]                       # how the measures were got
by = ""
walls = "finished"            # "finished" | "bare studs" | "tile to come"
cabinets = "set"              # "set" | "not set"

[wood]
species = "hard maple"
construction = "edge grain"   # "face grain" | "edge grain" | "end grain"
thickness = "1 3/4"
finish = "oil varnish"        # "oil varnish" | "mineral oil" | "none"
edge = "eased"                # profile of every exposed edge

[site]
humidity = [35, 55]           # % RH, yearly low and high that the house will keep; left out: [25, 60], an uncontrolled house

# Walls as you see them from the room, facing them, left to right. corner: the inside angle to the next wall, in degrees,
# or three tapes ["36", "48", "60 1/8"], or off the square {{ open = "3/8", in = "24" }}.
[[wall]]
name = "A"
length = "96 1/2"
corner = 90

[[wall]]
name = "B"
length = "72"

[[top]]                       # a run along walls; a rectangle has size = ["84", "40"], any other shape an outline
name = "perimeter"
along = ["A", "B"]
depth = "25 1/2"
splash = "4"

[[cutout]]
name = "S1"
kind = "sink"                 # "sink" | "cooktop" | "hole" | "outlet"
mount = "undermount"          # "undermount" | "drop-in" | "apron"
top = "perimeter"
wall = "A"
center = "40"                 # from the corner where the wall starts to its centre line
setback = "4"                 # from the front edge of the top to its front side
size = ["30", "16"]           # along the wall, and across
radius = "3/4"
reveal = "1/8"                # by how much the top stands over the bowl
proof = "spec sheet"          # where the size comes from: "template" | "spec sheet" | "sketch"
"""


def _folder() -> Traversable | Path:
    """The samples: carried by an installed copy, beside the package in a checkout."""
    carried = files("cli") / "samples"
    return carried if carried.is_dir() else Path(__file__).resolve().parent.parent / "samples" / "jobs"


def sample_names() -> list[str]:
    """Return the names of the samples."""
    folder = _folder()
    if not folder.is_dir():
        return []
    return sorted(p.name.removesuffix(".toml") for p in folder.iterdir() if p.name.endswith(".toml"))


def sample_text(name: str) -> str:
    """Return the job file of a sample."""
    return (_folder() / f"{name}.toml").read_text(encoding="utf-8")


def starter(path: Path) -> str:
    """Return a commented starter job for a file of that name; its number is the file's name, made fit for one."""
    stem = "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in path.stem).strip("-")[:40] or "job"
    title = stem.replace("-", " ").replace("_", " ").strip() or "New job"
    # a comment of TOML holds no control characters, and a file's name may hold any
    name = shlex.quote("".join(c if c.isprintable() else "?" for c in path.name))
    return STARTER.format(name=name, title=title[:1].upper() + title[1:], number=stem)
