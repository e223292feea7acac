"""``staveline issue``: a revision frozen for sign-off, once and for all."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from cli.endings import DONE, NO, NO_PDF, UNREADABLE, UNWRITTEN
from cli.terminal import count, findings_text, tally
from layout.compare import compare
from layout.faults import JobError, PlaceError, printable
from layout.folders import PacketError, sweep, write_folder
from layout.history import append, read
from layout.identity import digest_of
from layout.issue import (
    folder_name,
    for_sign_off,
    issue_files,
    pdf_name,
    revision_of,
    sheet_files,
)
from layout.issued import altered, is_issue, issues_in, read_issue
from layout.materials import materials
from layout.packet import digest
from layout.pipeline import Layout, lay_located
from layout.reading import located, read_located
from layout.report import report
from layout.revisions import next_letter, rank
from layout.sheets import draw
from layout.sign_off.page import page_html
from layout.told import read_report
from layout.version import VERSION
from layout.writers.pdf import can_write, lacking


def issue_job(path: Path, out: Path, *, pdf: bool = False) -> int:
    """Freeze the revision that a job stands at under ``out`` and return the exit status."""
    if pdf and not can_write():
        typer.echo(NO_PDF, err=True)
        return UNWRITTEN
    try:
        layout, text = lay_for_sign_off(path)
    except JobError as error:
        typer.echo(str(error), err=True)
        return UNREADABLE
    folder = out / layout.job.job.number
    try:
        status, said = _issue(layout, text, folder, pdf=pdf)
    except PacketError as error:
        typer.echo(f"{layout.job.job.number}: {error}", err=True)
        return UNWRITTEN
    typer.echo(said)
    return status


def lay_for_sign_off(path: Path) -> tuple[Layout, str]:
    """Return a job laid out, and the text it was laid out from. Raises JobError, also for a revision that is no letter."""
    found = read_located(path)
    layout = lay_located(found)
    try:
        revision_of(layout)
    except PlaceError as error:
        raise located(error, found.source) from error
    return layout, found.source.text


def _issue(layout: Layout, text: str, folder: Path, *, pdf: bool) -> tuple[int, str]:
    head = layout.job.job
    target = folder / folder_name(head.revision)
    drawing = for_sign_off(layout, draw(layout, materials(layout)))
    if is_issue(target):
        return _again(layout, sheet_files(drawing), target, pdf=pdf)
    later = [p for p in issues_in(folder) if (rank(_letter(p)) or 0) > (rank(head.revision) or 0)]
    if later:
        return NO, (
            f"{head.number}: revision {_letter(later[-1])} is issued already, so {head.revision} is not issued after it. "
            f'Put this into the job: [job] revision = "{next_letter(_letter(later[-1]))}"'
        )
    files = issue_files(layout, drawing, text, pdf=pdf, page=page_html)
    write_folder(target, files)
    _remember(layout, folder)
    sheets = count(len(drawing.sheets), "sheet")
    line = f"{head.number}: revision {head.revision} issued, {sheets}{f', {pdf_name(layout)}' if pdf else ''}, {tally(layout)}"
    line += f" -> {printable(str(target))}\n{findings_text(layout)}"
    if pdf and (boxes := lacking(drawing)):
        line += f"\n{pdf_name(layout)} shows a box for each of {' '.join(boxes)}: its face cannot set them; the sheets hold them"
    if _stopped(layout):
        line += "\nevery sheet is stamped: not for sign-off while a stop finding stands"
    return _status(layout), line


def _again(layout: Layout, sheets: dict[str, bytes], target: Path, *, pdf: bool) -> tuple[int, str]:
    """Say what stands between a job and the issue that its revision has: nothing, or what changed since."""
    head = layout.job.job
    old = read_issue(target)
    spoilt = altered(target, old)
    if spoilt:
        return NO, (
            f"{target} is no longer as it was issued: {', '.join(spoilt)} changed or gone. Put the files back as they were, "
            f"or issue the next revision"
        )
    sums = {f["name"]: f["sha256"] for f in old["files"]}
    other = [name for name, data in sheets.items() if sums.get(name) != digest(data)]
    if old["digest"] == digest_of(layout) and (not other or old["staveline"] != VERSION):
        sweep(target.parent)
        _remember(layout, target.parent)
        if pdf and pdf_name(layout) not in sums:
            return NO, (
                f"{head.number}: revision {head.revision} was issued without its PDF and stays as it is; "
                f"staveline draw --pdf writes one of the same drawing"
            )
        return _status(
            layout
        ), f"{head.number}: revision {head.revision} is issued already, as the job stands; nothing to do"
    found = [c.words for c in compare(read_report(target), report(layout))]
    if old.get("date") != (None if head.date is None else str(head.date)):
        found.append(f"date: {old.get('date') or 'not given'} is now {head.date or 'not given'}")
    found = found or ["what the sheets say of it: names, notes, edges, or the shop's figures"]
    newest = _letter(issues_in(target.parent)[-1])
    lines = [f"{head.number}: revision {head.revision} was issued with other content and stays as it is. Since then:"]
    lines += [f"  {line}" for line in found]
    lines.append(f'To issue it as it stands now, put this into the job: [job] revision = "{next_letter(newest)}"')
    return NO, "\n".join(lines)


def _letter(folder: Path) -> str:
    return folder.name.removeprefix("issue-")


def _remember(layout: Layout, folder: Path) -> None:
    """Write the issue into the job's history, unless it stands there: a run may have been killed in between."""
    head, which = layout.job.job, digest_of(layout)
    known: list[dict[str, Any]] = read(folder)
    if not any(e["what"] == "issued" and e["revision"] == head.revision and e["digest"] == which for e in known):
        append(folder, "issued", revision=head.revision, digest=which, by=head.drawn_by)


def _stopped(layout: Layout) -> bool:
    return any(f.severity == "stop" for f in layout.findings)


def _status(layout: Layout) -> int:
    return NO if _stopped(layout) else DONE
