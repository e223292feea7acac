"""``staveline compare``: what changed between two revisions, and the reading of an earlier one for ``draw --since``."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import Any

import typer

from cli.endings import DONE, UNREADABLE
from layout.changes import Change, What, change_facts
from layout.compare import compare
from layout.faults import JobError
from layout.files import report_text
from layout.pipeline import lay_file
from layout.report import report
from layout.told import ToldError, read_report

HEADINGS: dict[What, str] = {
    "job": "job",
    "wood": "wood",
    "wall": "walls",
    "measure": "check measures",
    "top": "tops",
    "piece": "pieces",
    "joint": "joints",
    "cutout": "cutouts",
    "milled": "let in",
    "edge": "edges",
    "overhang": "overhangs",
    "finding": "findings",
    "stated": "said in the job file",
}


def compare_files(old: Path, new: Path, *, as_json: bool = False) -> int:
    """Print what changed from one to the other and return the exit status."""
    said: list[dict[str, Any]] = []
    status = DONE
    for path in (old, new):
        try:
            said.append(report_of(path))
        except (JobError, ToldError) as error:
            typer.echo(str(error), err=True)
            status = UNREADABLE
    if status != DONE:
        return status
    changes = compare(*said)
    if as_json:
        # in bytes: JSON is UTF-8 whatever the terminal takes
        typer.echo(report_text({"changes": [change_facts(c) for c in changes]}).encode(), nl=False)
    else:
        typer.echo(changes_text(changes))
    return DONE


def report_of(path: Path) -> dict[str, Any]:
    """Return the report of a job file, an issue's folder, a packet's or a report.json. Raises JobError or ToldError."""
    if path.suffix.lower() == ".toml" and not path.is_dir():
        return report(lay_file(path))
    return read_report(path)


def changes_text(changes: tuple[Change, ...]) -> str:
    """Return the changes a line each, those of one kind of thing under its name."""
    if not changes:
        return "nothing changed"
    out = []
    for what, group in groupby(changes, key=lambda c: c.what):
        out.append(HEADINGS[what])
        out += [f"  {change.words}" for change in group]
    return "\n".join(out)
