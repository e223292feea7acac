"""``staveline register``: a plain dated list of jobs and how far each has come."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import typer

from cli.endings import DONE, UNREADABLE
from cli.terminal import count
from layout.faults import printable
from layout.folders import PacketError
from layout.register import Entry, register


def list_jobs(folder: Path, *, as_json: bool = False) -> int:
    """Print the jobs under a folder and return the exit status; what cannot be read of one hides no other."""
    try:
        entries, faults = register(folder)
    except PacketError as error:
        typer.echo(printable(str(error)), err=True)
        return UNREADABLE
    if as_json:
        text = json.dumps([asdict(e) for e in entries], indent=1, ensure_ascii=False)
        typer.echo(f"{text}\n".encode(), nl=False)
    else:
        for line in _lines(entries):
            typer.echo(printable(line))
        typer.echo(
            f"{count(len(entries), 'job')} in {printable(str(folder))}"
            if entries
            else f"no jobs in {printable(str(folder))}"
        )
    for fault in faults:
        typer.echo(printable(fault), err=True)
    return UNREADABLE if faults else DONE


def _lines(entries: list[Entry]) -> list[str]:
    rows = [(e.number, e.revision or "-", e.state, e.date or "no date", e.title) for e in entries]
    widths = [max((len(row[k]) for row in rows), default=0) for k in range(4)]
    return ["  ".join([*(f"{row[k]:{widths[k]}}" for k in range(4)), row[4]]) for row in rows]
