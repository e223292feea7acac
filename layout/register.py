"""How far each job has come: read from its folder and its history, nothing else."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from layout import history
from layout.folders import PacketError, told
from layout.issued import issues_in, read_issue, read_record
from layout.packet import REPORT
from layout.release import MANIFEST, RELEASED

State = Literal["drawn", "issued", "returned", "released", "stale"]


@dataclass(frozen=True, slots=True)
class Entry:
    """A job in the register: its state, the revision that has it, and the day (UTC) it came to it."""

    number: str
    title: str
    revision: str
    state: State
    date: str


def register(folder: Path) -> tuple[list[Entry], list[str]]:
    """Return the jobs under a folder by number, and what could not be read of others. Raises PacketError without the folder."""
    with told(folder, "look into"):
        jobs = sorted(p for p in folder.iterdir() if p.is_dir() and not p.name.startswith("."))
    entries, faults = [], []
    for job in jobs:
        try:
            entry = entry_of(job)
        except PacketError as error:
            faults.append(str(error))
            continue
        if entry is not None:
            entries.append(entry)
    return sorted(entries, key=lambda e: e.number), faults


def entry_of(folder: Path) -> Entry | None:
    """Return what a job's folder says of it; None for a folder that is no job's. Raises PacketError for a damaged one.

    A job is stale where the drawing that stands in the folder is not the one that was last issued or released.
    """
    drawn = read_record(folder / REPORT, ("digest",)) if (folder / REPORT).is_file() else None
    issues = issues_in(folder)
    issue = read_issue(issues[-1]) if issues else None
    released = read_record(folder / RELEASED / MANIFEST) if (folder / RELEASED / MANIFEST).is_file() else None
    last = issue
    if released and (issue is None or released["revision"] == issue["revision"]):
        last = released
    if last is None:
        return None if drawn is None else _drawn(folder, drawn)
    state: State = "issued" if last is issue else "released"
    past = history.read(folder)
    if state == "issued" and (any(issues[-1].glob("returned*.json")) or _when(past, "returned", last)):
        state = "returned"
    date = _when(past, state, last) or str(last.get("date") or "")
    if drawn is not None and drawn["digest"] != last["digest"]:
        state, date = "stale", _day(folder / REPORT)
    return Entry(last["number"], last["title"], last["revision"], state, date)


def _drawn(folder: Path, drawn: dict[str, Any]) -> Entry:
    head = drawn.get("job")
    if not isinstance(head, dict) or not all(isinstance(head.get(k), str) for k in ("number", "title", "revision")):
        raise PacketError(f"{folder / REPORT} is damaged: it does not say whose report it is")
    return Entry(head["number"], head["title"], head["revision"], "drawn", _day(folder / REPORT))


def _when(past: list[dict[str, Any]], what: str, record: dict[str, Any]) -> str:
    """Return the day on which the history last tells that of a revision; empty where it does not."""
    days = [str(e["when"])[:10] for e in past if e["what"] == what and e["revision"] == record["revision"]]
    return days[-1] if days else ""


def _day(path: Path) -> str:
    with told(path, "look at"):
        return datetime.datetime.fromtimestamp(path.stat().st_mtime, datetime.UTC).date().isoformat()
