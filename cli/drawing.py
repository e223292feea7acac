"""``staveline draw``: each job's packet in a folder of its own, one bar over all of them, a bad job stopping no other."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import typer

from cli.app import DONE, NO, UNREADABLE, UNWRITTEN
from cli.terminal import count, findings_text, tally
from layout.faults import JobError
from layout.files import packet_files
from layout.packet import PacketError, write_packet
from layout.pipeline import Layout, lay_file


def draw_jobs(jobs: Sequence[Path], out: Path) -> int:
    """Draw every job under ``out`` and return the exit status, the greatest of all jobs'."""
    laid: list[tuple[Path, Layout]] = []
    said: list[str] = []
    status = DONE
    for path in dict.fromkeys(jobs):
        try:
            laid.append((path, lay_file(path)))
        except JobError as error:
            status = UNREADABLE
            typer.echo(str(error), err=True)
    twice = _shared_numbers(laid)
    with _bar(laid) as steps:
        for path, layout in steps:
            number = layout.job.job.number
            others = twice.get(number.casefold())
            if others:
                names = " and ".join(str(p) for p in others)
                typer.echo(
                    f"{path}: number {number} is also that of another job here ({names}); give each its own", err=True
                )
                status = max(status, UNREADABLE)
                continue
            code, line = _draw_one(layout, out)
            status = max(status, code)
            if code == UNWRITTEN:
                typer.echo(line, err=True)
            else:
                said.append(line)
                if len(jobs) == 1:
                    said.append(findings_text(layout))
    for line in said:
        typer.echo(line)
    return status


def _shared_numbers(laid: Sequence[tuple[Path, Layout]]) -> dict[str, list[Path]]:
    """Return job numbers that more than one file bears, as a file system that folds case sees them, and those files."""
    by_number: dict[str, list[Path]] = {}
    for path, layout in laid:
        by_number.setdefault(layout.job.job.number.casefold(), []).append(path)
    return {number: paths for number, paths in by_number.items() if len(paths) > 1}


def _bar(laid: list[tuple[Path, Layout]]) -> Any:
    if len(laid) < 2:
        return nullcontext(laid)
    return typer.progressbar(laid, label="drawing", file=sys.stderr, item_show_func=lambda i: i[0].name if i else "")


def _draw_one(layout: Layout, out: Path) -> tuple[int, str]:
    number = layout.job.job.number
    folder = out / number
    files = packet_files(layout)
    try:
        write_packet(folder, files)
    except PacketError as error:
        return UNWRITTEN, f"{number}: {error}"
    sheets = sum(name.startswith("sheet-") for name in files)
    cuts = sum(name.startswith("cut/") for name in files)
    held = len(layout.divided.pieces) - cuts
    line = f"{number}: {count(sheets, 'sheet')}, shop.dxf, {count(cuts, 'cut file')}"
    if held:
        line += f" ({count(held, 'piece')} withheld: a stop finding)"
    line += f", {tally(layout)} -> {folder}"
    return (NO if any(f.severity == "stop" for f in layout.findings) else DONE), line
