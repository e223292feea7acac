"""``staveline check``: a job laid out and what is found in it, alone or as one of many. No drawing library is imported."""

from __future__ import annotations

from pathlib import Path

import typer

from cli.endings import DONE, NO, UNREADABLE
from cli.outcome import Outcome, State
from cli.terminal import findings_text, summary_text
from layout.faults import JobError
from layout.files import report_text
from layout.identity import digest_of
from layout.pipeline import Layout, lay_file
from layout.report import report


def check_job(path: Path, *, as_json: bool = False) -> int:
    """Lay out one job, print what is found or, as JSON, its report, and return the exit status."""
    try:
        layout = lay_file(path)
    except JobError as error:
        typer.echo(str(error), err=True)
        return UNREADABLE
    if as_json:
        # in bytes: JSON is UTF-8 whatever the terminal takes
        typer.echo(report_text(report(layout)).encode(), nl=False)
    else:
        typer.echo(summary_text(layout))
        typer.echo(findings_text(layout))
    return NO if any(f.severity == "stop" for f in layout.findings) else DONE


def check_one(path: Path) -> Outcome:
    """Lay out one job and return what is found in it."""
    try:
        layout = lay_file(path)
    except JobError as error:
        return Outcome(str(path), "unreadable", UNREADABLE, faults=(str(error),))
    return found_in(path, "checked", layout)


def found_in(path: Path, state: State, layout: Layout, digest: str = "") -> Outcome:
    """Return what became of a job that was laid out: its pieces and findings. ``digest``: the layout's, where it is at hand."""
    counts = {s: sum(f.severity == s for f in layout.findings) for s in ("stop", "ask", "note")}
    return Outcome(
        str(path),
        state,
        NO if counts["stop"] else DONE,
        layout.job.job.number,
        digest or digest_of(layout),
        pieces=len(layout.divided.pieces),
        stop=counts["stop"],
        ask=counts["ask"],
        note=counts["note"],
        held=bool(layout.held),
        findings=tuple((f.severity, f.code, f.subject, f.message) for f in layout.findings),
    )
