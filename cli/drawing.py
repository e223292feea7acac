"""``staveline draw``: a job's packet in a folder of its own, alone or as one of many."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from pathlib import Path
from typing import Any

import typer

from cli.checking import found_in
from cli.comparing import changes_text
from cli.endings import UNREADABLE, UNWRITTEN
from cli.loading import load
from cli.outcome import Outcome, Wish, print_line
from cli.terminal import count, findings_text, tally
from layout.changes import Change
from layout.clouds import revised, revision_row
from layout.compare import compare
from layout.faults import JobError, printable
from layout.files import cut_file, drawn_files, of_pieces
from layout.materials import materials
from layout.packet import PacketError, standing, write_packet
from layout.pipeline import Layout, lay_file
from layout.report import report
from layout.sheets import draw
from layout.told import ToldError, read_report
from layout.writers.pdf import lacking


def draw_job(path: Path, wish: Wish, since: Path | None = None, *, as_json: bool = False) -> int:
    """Draw one job, print what is told of it or a line of JSON, and return the exit status.

    ``since``: an earlier issue of the job; what changed since is clouded.
    """
    try:
        before = None if since is None else read_report(since)
    except ToldError as error:
        typer.echo(str(error), err=True)
        return UNREADABLE
    one = draw_one(path, wish, before=before, since=since)
    for line in one.faults:
        typer.echo(line, err=True)
    if as_json:
        print_line(one)
    elif one.told:
        typer.echo(one.told)
    return one.status


def draw_one(
    path: Path, wish: Wish, *, expected: str = "", before: dict[str, Any] | None = None, since: Path | None = None
) -> Outcome:
    """Draw one job under ``wish.out`` and return what became of it.

    ``expected``: the number that the file bore when jobs were shared out; ``before``: the report of an earlier issue, read
    from ``since``.
    """
    try:
        layout = lay_file(path).cut_as(wish.version, wish.contours)
    except JobError as error:
        return Outcome(str(path), "unreadable", UNREADABLE, expected, faults=(str(error),))
    # a job that cannot be read is told without waiting for these
    load("layout.writers.shop_dxf", "layout.writers.cut_dxf", "layout.writers.svg", "layout.patterns")
    number = layout.job.job.number
    if expected and number != expected:
        fault = f"{path}: found number {number}, which was {expected} a moment ago; draw it again"
        return Outcome(str(path), "unreadable", UNREADABLE, number, faults=(printable(fault),))
    if before is not None and before["job"]["number"] != number:
        fault = f"{since} is an issue of job {before['job']['number']!r}, {path} is job {number}"
        return Outcome(str(path), "refused", UNREADABLE, number, faults=(printable(fault),))
    folder = wish.out / number
    # what changed since an issue is not in the report in full, so that such a drawing is always made anew
    if wish.only_changed and before is None:
        files = standing(folder, report(layout))
        if files is not None and (f"{number}.pdf" in files) == wish.pdf:
            line = f"{number}: unchanged, {tally(layout)}{_held(layout)} -> {printable(str(folder))}"
            found = found_in(path, "unchanged", layout)
            return _outcome(found, layout, files, folder, f"{line}\n{findings_text(layout)}")
    return _drawn(path, layout, wish, before)


def _drawn(path: Path, layout: Layout, wish: Wish, before: dict[str, Any] | None) -> Outcome:
    """Write a job's packet; return what became of it."""
    number = layout.job.job.number
    folder = wish.out / number
    changes = None if before is None else compare(before, report(layout))
    of = materials(layout)
    drawing = draw(layout, of, changes)
    files, layout = drawn_files(layout, drawing, of, pdf=wish.pdf, since=before)
    unsound = tuple(f"{number}: {f.message}" for f in layout.findings if f.code == "cut-file-unsound")
    try:
        write_packet(folder, files)
    except PacketError as error:
        return Outcome(str(path), "unwritten", UNWRITTEN, number, faults=(f"{number}: {error}", *unsound))
    sheets = sum(name.startswith("sheet-") for name in files)
    cuts = of_pieces(files, layout.job)
    held = _withheld(layout, files)
    pdf = f"{number}.pdf, " if wish.pdf else ""
    line = f"{number}: {count(sheets, 'sheet')}, {pdf}shop.dxf, {count(cuts, 'cut file')}"
    if held:
        line += f" ({count(held, 'piece')} withheld: a stop finding)"
    line += f", {tally(layout)}{_held(layout)} -> {printable(str(folder))}"
    remarks = []
    if wish.pdf and (boxes := lacking(drawing)):
        remarks.append(
            f"{number}.pdf shows a box for each of {' '.join(boxes)}: its face cannot set them; the other files hold them"
        )
    if before is not None and changes is not None:
        remarks.append(_since_text(layout, before["job"]["revision"], changes, drawing.sheets[0].views[0].scale))
    told = "\n".join([line, *remarks, findings_text(layout)])
    # a cut file that is unsound is found after the sheets were drawn, and makes it another layout
    found = found_in(path, "drawn", layout, "" if unsound else drawing.digest)
    return replace(_outcome(found, layout, files, folder, told), faults=unsound, remarks=tuple(remarks))


def _held(layout: Layout) -> str:
    return ", held from release" if layout.held else ""


def _withheld(layout: Layout, files: Collection[str]) -> int:
    return sum(cut_file(piece, layout.job) not in files for piece in layout.divided.pieces)


def _outcome(found: Outcome, layout: Layout, files: Collection[str], folder: Path, told: str) -> Outcome:
    sheets = sum(name.startswith("sheet-") for name in files)
    cut_files = of_pieces(files, layout.job)
    return replace(
        found, sheets=sheets, cut_files=cut_files, withheld=_withheld(layout, files), folder=str(folder), told=told
    )


def _since_text(layout: Layout, before: str, changes: tuple[Change, ...], scale: float) -> str:
    """Return what changed since an issue, and the lines that keep this revision's triangles for the next one."""
    job = layout.job.job
    out = [f"since revision {before or '-'}:", *(f"  {line}" for line in changes_text(changes).splitlines())]
    if before == job.revision:
        out.append(f'the job still says revision = "{job.revision}", as that issue does; give it the next letter')
    elif changes:
        given = any(row.letter == job.revision for row in layout.job.revision)
        where = f"into the [[revision]] of {job.revision}" if given else "into the job file"
        out.append(f"to keep these triangles in later revisions, put {where}:")
        out += [f"  {line}" for line in revision_row(layout, revised(layout, changes), scale).splitlines()]
    return "\n".join(out)
