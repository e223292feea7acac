"""Issues as they lie on disk: reading one, and whether its files are still those that were issued."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from layout.folders import PacketError, told
from layout.history import read
from layout.issue import ISSUE
from layout.packet import digest
from layout.revisions import rank

_TEXTS = ("staveline", "number", "title", "revision", "digest")


def read_record(path: Path, texts: tuple[str, ...] = _TEXTS) -> dict[str, Any]:
    """Return a JSON file of ours as a dict that has the given texts. Raises PacketError where it is damaged or missing."""
    with told(path, "read"):
        data = path.read_bytes()
    try:
        found = json.loads(data)
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict) or not all(isinstance(found.get(key), str) for key in texts):
        raise PacketError(f"{path} is damaged: it is not what was written there")
    files = found.get("files", [])
    if not isinstance(files, list) or not all(isinstance(f, dict) and isinstance(f.get("name"), str) for f in files):
        raise PacketError(f"{path} is damaged: its list of files cannot be read")
    return found


def is_issue(folder: Path) -> bool:
    """Whether a folder holds an issue: its ``issue.json`` decides. Raises PacketError where nobody may look."""
    with told(folder, "look into"):
        return (folder / ISSUE).is_file()


def read_issue(folder: Path) -> dict[str, Any]:
    """Return issue.json of an issue's folder. Raises PacketError where there is none or it is damaged."""
    if not is_issue(folder):
        raise PacketError(f"{folder} is no issue: it has no {ISSUE}")
    return read_record(folder / ISSUE)


def issues_in(folder: Path) -> list[Path]:
    """Return the folders of the issues of a job, in order of their letters."""
    with told(folder, "look into"):
        inside = list(folder.iterdir()) if folder.is_dir() else []
    found = [(rank(p.name.removeprefix("issue-")), p) for p in inside if p.name.startswith("issue-")]
    whole = [(place, p) for place, p in found if place is not None and is_issue(p)]
    return [p for _, p in sorted(whole)]


def altered(folder: Path, record: Mapping[str, Any]) -> list[str]:
    """Return the names of files that are missing or no longer what they were; ``issue.json`` itself where the history
    beside the issue tells that another layout was issued."""
    told_of = {
        e["digest"] for e in read(folder.parent) if e["what"] == "issued" and e["revision"] == record["revision"]
    }
    out = [ISSUE] if told_of and record["digest"] not in told_of else []
    for file in record["files"]:
        path = folder / file["name"]
        with told(path, "read"):
            if not path.is_file() or digest(path.read_bytes()) != file.get("sha256"):
                out.append(str(file["name"]))
    return out
