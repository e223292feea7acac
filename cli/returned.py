"""``staveline returned``: what came back is read, told and kept beside its issue."""

from __future__ import annotations

import textwrap
from pathlib import Path

import typer

from cli.endings import DONE, NO, UNREADABLE, UNWRITTEN
from cli.terminal import WIDTH, count
from layout.faults import LayoutError, printable
from layout.folders import PacketError
from layout.returned import Returned, keep, read_all, returned_text

_TOLD = 40
"""So many changes of a drawing are told; the rest stand in returned.json."""


def read_files(files: list[Path], issue: Path | None, *, as_json: bool = False) -> int:
    """Read what came back, print it, keep it beside its issue, and return the exit status: 1 where it was altered."""
    try:
        back, folder = read_all(files, issue)
    except LayoutError as error:
        for line in str(error).splitlines():
            typer.echo(printable(line), err=True)
        return UNREADABLE
    try:
        path, new = keep(back, folder)
    except PacketError as error:
        typer.echo(printable(f"{back.number}: {error}"), err=True)
        return UNWRITTEN
    if as_json:
        typer.echo(returned_text(back).encode(), nl=False)
    else:
        for line in _lines(back):
            typer.echo(printable(line))
        typer.echo(printable(f"{'kept as' if new else 'it is kept already:'} {path}"))
    return NO if back.changed else DONE


def _lines(back: Returned) -> list[str]:
    who = f"{back.decision or 'no decision'}, {back.name or 'no name'}, {back.date or 'no date'}"
    out = [f"{back.number}: revision {back.revision} came back: {who}"]
    out += back.unclear
    if back.changed:
        out.append(f"the drawing below the marks was altered, {count(len(back.changes), 'change')}:")
        for c in back.changes[:_TOLD]:
            what = " ".join(part for part in (c.kind, c.name, c.text) if part)
            out += _wrapped(f"{f'sheet {c.sheet}: ' if c.sheet else ''}{c.what}: {what}", "  ")
        if len(back.changes) > _TOLD:
            out.append(f"  and {len(back.changes) - _TOLD} more")
    else:
        out.append("the drawing below the marks is as it was issued")
    for n, m in enumerate(back.marks, start=1):
        near = "" if m.near is None else " ".join(p for p in (m.near.kind, m.near.name, m.near.text) if p)
        place = f"sheet {m.sheet}{f', near {near}' if near else ''}"
        out += _wrapped(f"mark {n}, {m.kind}, {place}{f': {m.text}' if m.text else ''}", "")
    for a in back.answers:
        out += _wrapped(f"{a.id} {a.code}, {a.subject}: {a.question}", "")
        out += _wrapped(f"-> {a.answer}", "  ")
    return out


def _wrapped(text: str, indent: str) -> list[str]:
    # what steers a terminal is made visible before lines are broken at it
    return textwrap.wrap(printable(text), WIDTH, initial_indent=indent, subsequent_indent=f"{indent}  ")
