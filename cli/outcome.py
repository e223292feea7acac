"""What was asked for and what became of a job: plain values that go between processes, and a line of JSON."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

import typer

from cli.endings import Contours

State = Literal["drawn", "checked", "unchanged", "unreadable", "refused", "unwritten", "failed", "left"]


@dataclass(frozen=True, slots=True)
class Wish:
    """What `draw` was asked for, for every job alike."""

    out: Path
    pdf: bool = False
    version: Literal["R12"] | None = None
    contours: Contours | None = None
    only_changed: bool = False


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a job. ``faults`` go to stderr; ``told`` is what `draw` says of one job that is drawn by itself."""

    file: str
    state: State
    status: int
    number: str = ""
    digest: str = ""
    sheets: int = 0
    pieces: int = 0
    cut_files: int = 0
    withheld: int = 0
    stop: int = 0
    ask: int = 0
    note: int = 0
    held: bool = False
    folder: str = ""
    findings: tuple[tuple[str, str, str, str], ...] = ()
    """Severity, code, subject and message of each."""
    faults: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    told: str = ""


def print_line(one: Outcome) -> None:
    """Print what became of a job as a line of JSON."""
    fields = asdict(one)
    del fields["told"]
    keys = ("severity", "code", "subject", "message")
    fields["findings"] = [dict(zip(keys, f, strict=True)) for f in one.findings]
    # in bytes: JSON is UTF-8 whatever the terminal takes
    typer.echo(f"{json.dumps(fields, ensure_ascii=False)}\n".encode(errors="backslashreplace"), nl=False)
