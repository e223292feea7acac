"""``staveline draw``: each job's packet in a folder of its own, one bar over all of them, a bad job stopping no other."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import typer

from cli.app import DONE, NO, UNREADABLE, UNWRITTEN
from cli.comparing import changes_text
from cli.terminal import count, findings_text, tally
from layout.changes import Change
from layout.clouds import revised, revision_row
from layout.compare import compare
from layout.faults import JobError, printable
from layout.files import cut_file, drawn_files, of_pieces
from layout.job import CutContours, CutVersion
from layout.materials import materials
from layout.packet import PacketError, write_packet
from layout.pipeline import Layout, lay_file
from layout.report import report
from layout.sheets import draw
from layout.told import ToldError, read_report
from layout.writers.pdf import can_write, lacking

NO_PDF = (
    "--pdf needs reportlab, which is not installed here; nothing was drawn. Get it with: pip install 'staveline[pdf]'"
)


def draw_jobs(
    jobs: Sequence[Path],
    out: Path,
    *,
    pdf: bool = False,
    version: CutVersion | None = None,
    contours: CutContours | None = None,
    since: Path | None = None,
) -> int:
    """Draw every job under ``out`` and return the exit status, the greatest of all jobs'.

    ``version`` and ``contours`` overrule how the jobs want their cut files; ``since``: an earlier issue of the one job there
    is; what changed since is clouded.
    """
    if pdf and not can_write():
        # said before a job is read: an output that cannot be written, and none of the others half wanted
        typer.echo(NO_PDF, err=True)
        return UNWRITTEN
    paths = list(dict.fromkeys(jobs))
    try:
        before = _earlier(since, paths)
    except ToldError as error:
        typer.echo(str(error), err=True)
        return UNREADABLE
    laid: list[tuple[Path, Layout]] = []
    status = DONE
    for path in paths:
        try:
            laid.append((path, lay_file(path).cut_as(version, contours)))
        except JobError as error:
            status = UNREADABLE
            typer.echo(str(error), err=True)
    if before is not None and laid and before["job"]["number"] != laid[0][1].job.job.number:
        number = laid[0][1].job.job.number
        typer.echo(f"{since} is an issue of job {before['job']['number']!r}, {paths[0]} is job {number}", err=True)
        return UNREADABLE
    twice = _shared_numbers(laid)
    for path, layout in laid:
        number = layout.job.job.number
        if path in twice:
            names = " and ".join(str(p) for p in twice[path])
            status = UNREADABLE
            typer.echo(
                printable(f"{path}: number {number} is also that of another job here ({names}); give each its own"),
                err=True,
            )
    said: list[str] = []
    unwritten: list[str] = []
    # nothing is told within the bar: it holds the terminal's line
    with _bar([one for one in laid if one[0] not in twice]) as steps:
        for _, layout in steps:
            code, line, drawn = _draw_one(layout, out, pdf=pdf, before=before)
            status = max(status, code)
            (unwritten if code == UNWRITTEN else said).append(line)
            number = drawn.job.job.number
            unwritten += [f"{number}: {f.message}" for f in drawn.findings if f.code == "cut-file-unsound"]
            if len(paths) == 1 and code != UNWRITTEN:
                said.append(findings_text(drawn))
    for line in unwritten:
        typer.echo(line, err=True)
    for line in said:
        typer.echo(line)
    return status


def _earlier(since: Path | None, paths: Sequence[Path]) -> dict[str, Any] | None:
    """Return the report of an earlier issue; None where none is asked for. Raises ToldError."""
    if since is not None and len(paths) > 1:
        raise ToldError(f"--since {since} is an issue of one job; draw that one alone")
    return None if since is None else read_report(since)


def _shared_numbers(laid: Sequence[tuple[Path, Layout]]) -> dict[Path, list[Path]]:
    """Return the files whose job number another bears too, as a file system that folds case sees it, and all those."""
    by_number: dict[str, list[Path]] = {}
    for path, layout in laid:
        by_number.setdefault(layout.job.job.number.casefold(), []).append(path)
    return {path: paths for paths in by_number.values() if len(paths) > 1 for path in paths}


def _bar(laid: list[tuple[Path, Layout]]) -> Any:
    if len(laid) < 2:
        return nullcontext(laid)
    return typer.progressbar(laid, label="drawing", file=sys.stderr, item_show_func=lambda i: i[0].name if i else "")


def _draw_one(layout: Layout, out: Path, *, pdf: bool, before: dict[str, Any] | None) -> tuple[int, str, Layout]:
    """Write a job's packet; return its status, what to say, and the layout with what writing it has found."""
    number = layout.job.job.number
    folder = out / number
    changes = None if before is None else compare(before, report(layout))
    of = materials(layout)
    drawing = draw(layout, of, changes)
    files, layout = drawn_files(layout, drawing, of, pdf=pdf)
    try:
        write_packet(folder, files)
    except PacketError as error:
        return UNWRITTEN, f"{number}: {error}", layout
    sheets = sum(name.startswith("sheet-") for name in files)
    cuts = of_pieces(files, layout.job)
    held = sum(cut_file(piece, layout.job) not in files for piece in layout.divided.pieces)
    line = f"{number}: {count(sheets, 'sheet')}, {f'{number}.pdf, ' if pdf else ''}shop.dxf, {count(cuts, 'cut file')}"
    if held:
        line += f" ({count(held, 'piece')} withheld: a stop finding)"
    line += f", {tally(layout)}{', held from release' if layout.held else ''} -> {printable(str(folder))}"
    if pdf and (boxes := lacking(drawing)):
        line += f"\n{number}.pdf shows a box for each of {' '.join(boxes)}: its face cannot set them; the other files hold them"
    if before is not None and changes is not None:
        line += f"\n{_since_text(layout, before['job']['revision'], changes, drawing.sheets[0].views[0].scale)}"
    return (NO if any(f.severity == "stop" for f in layout.findings) else DONE), line, layout


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
