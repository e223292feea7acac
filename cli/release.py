"""``staveline release``: what was signed goes to the shop, nothing else does."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import typer

from cli.endings import DONE, NO, UNREADABLE, UNWRITTEN
from cli.issue import lay_for_sign_off
from cli.terminal import count
from layout.faults import JobError, LayoutError, printable
from layout.files import of_pieces
from layout.folders import PacketError, sweep, told, write_folder
from layout.history import append, read
from layout.issue import ISSUE, JOB, REPORT, folder_name
from layout.issued import altered, is_issue, issues_in, read_issue, read_record
from layout.materials import materials
from layout.packet import digest
from layout.pipeline import Layout
from layout.release import APPROVED, MANIFEST, RELEASED, Signed, reasons, released_files
from layout.returned import read_returned
from layout.revisions import rank
from layout.sheets import draw


def release_job(path: Path, file: Path, issued: Path | None, out: Path) -> int:
    """Release a job by the file that came back signed, under ``out``, and return the exit status."""
    try:
        layout, _ = lay_for_sign_off(path)
    except JobError as error:
        typer.echo(str(error), err=True)
        return UNREADABLE
    head = layout.job.job
    folder = out / head.number
    target = issued or folder / folder_name(head.revision)
    try:
        signed = _signed(file, target, folder) if is_issue(target) else None
    except LayoutError as error:
        for line in str(error).splitlines():
            typer.echo(printable(line), err=True)
        return UNREADABLE
    if signed is None:
        typer.echo(
            f"{head.number}: revision {head.revision} was not issued: there is no {target / ISSUE}. "
            "Issue it and have it signed, or say with --issue where the issue lies",
            err=True,
        )
        return NO
    against = reasons(layout, signed)
    of = materials(layout)
    files: dict[str, bytes] = {}
    if not against:
        files, against = released_files(layout, draw(layout, of), of, signed)
    if against:
        typer.echo(f"{head.number}: revision {head.revision} is not released; nothing was written:")
        for line in against:
            typer.echo(f"  {printable(line)}")
        return NO
    try:
        typer.echo(printable(_release(layout, files, signed, folder)))
    except PacketError as error:
        typer.echo(f"{head.number}: {error}", err=True)
        return UNWRITTEN
    return DONE


def _signed(file: Path, target: Path, folder: Path) -> Signed:
    """Return what was issued and what came back. Raises LayoutError where one of them cannot be read."""
    returned: dict[str, Any] = asdict(read_returned(file, target))
    for key in ("decision", "name", "date", "file"):
        # they are written on, into files that stand no control characters
        returned[key] = printable(" ".join(str(returned[key] or "").split()))
    issue = read_issue(target)
    with told(target / JOB, "read"):
        text = (target / JOB).read_text(encoding="utf-8", errors="replace") if (target / JOB).is_file() else ""
    letters = [p.name.removeprefix("issue-") for p in issues_in(folder)]
    newer = [letter for letter in letters if (rank(letter) or 0) > (rank(issue["revision"]) or 0)]
    told_of = [e for e in read(folder) if e["what"] == "returned" and e["revision"] == issue["revision"]]
    known = any(e.get("sha256") == returned["sha256"] for e in told_of)
    return Signed(
        issue,
        read_record(target / REPORT, ("digest",)) if (target / REPORT).is_file() else {},
        text,
        altered(target, issue),
        returned,
        newer[-1] if newer else None,
        told_of[-1] if known and told_of[-1].get("sha256") != returned["sha256"] else None,
    )


def _release(layout: Layout, files: dict[str, bytes], signed: Signed, folder: Path) -> str:
    head, back = layout.job.job, signed.returned
    target = folder / RELEASED
    said = f"{head.number}: revision {head.revision}, approved by {back['name']}, {back['date']}"
    again = _stands(target, files)
    if again:
        sweep(folder)
    else:
        write_folder(target, files, replace=True)
    lines = [
        e
        for e in read(folder)
        if e["what"] == "released" and e["digest"] == signed.issue["digest"] and e.get("sha256") == back["sha256"]
    ]
    if not (again and lines):
        # also where a run was killed between the folder and this line
        append(
            folder,
            "released",
            revision=head.revision,
            digest=signed.issue["digest"],
            by=back["name"],
            decision=back["decision"],
            file=back["file"],
            sha256=back["sha256"],
        )
    if again:
        return f"{said}, is released already; nothing to do"
    cuts = of_pieces(files, layout.job)
    sheets = sum(name.startswith("sheet-") for name in files)
    said += f", released for cutting: {count(cuts, 'cut file')}, shop.dxf, {count(sheets, 'sheet')} -> {target}"
    if back["marks"] and back["decision"] == APPROVED:
        said += f"; {count(len(back['marks']), 'mark')} on it, though it is approved as it is: see that none asks for a change"
    return said


def _stands(target: Path, files: dict[str, bytes]) -> bool:
    """Whether a release stands with exactly these files. Raises PacketError where it holds some that are not of a release."""
    if not target.is_dir() or target.is_symlink():
        return False
    with told(target, "look into"):
        inside = {p.relative_to(target).as_posix(): p for p in target.rglob("*") if p.is_symlink() or not p.is_dir()}
        ours = {MANIFEST}
        if (target / MANIFEST).is_file():
            ours |= {f["name"] for f in read_record(target / MANIFEST)["files"]}
        foreign = sorted(inside.keys() - ours)
        if foreign:
            raise PacketError(
                f"{target} holds what is not of a release ({', '.join(foreign)}); move it elsewhere first"
            )
        return inside.keys() == files.keys() and all(
            digest(path.read_bytes()) == digest(files[name]) for name, path in inside.items()
        )
