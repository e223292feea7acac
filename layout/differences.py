"""What differs between two reports of one job, in a line each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

GROUPS = (
    ("tops", "outline", ("name", "part")),
    ("pieces", "piece", ("id",)),
    ("joints", "joint", ("id",)),
    ("cutouts", "cutout", ("name",)),
    ("findings", "finding", ("code", "subject")),
)
"""A report's lists that are compared, what one of each is called, and by what it is known."""


def changes(old_report: Mapping[str, Any], new_report: Mapping[str, Any]) -> list[str]:
    """Return what changed from one report to another; nothing where they tell the same."""
    out = []
    old_head, new_head = old_report.get("job"), new_report["job"]
    if isinstance(old_head, dict):
        for key, now in new_head.items():
            if old_head.get(key) != now:
                out.append(f"{key}: {old_head.get(key)} is now {now}")
    for group, called, by in GROUPS:
        old, new = _known(old_report, group, by), _known(new_report, group, by)
        out += [f"{called} {name}: gone" for name in old if name not in new]
        for name, now in new.items():
            if name not in old:
                out.append(f"{called} {name}: new")
            elif old[name] != now:
                what = ", ".join(key for key in now if old[name].get(key) != now[key])
                out.append(f"{called} {name}: other {what}")
    if old_report.get("wood") != new_report.get("wood"):
        out.append("wood: another species, or other figures for it")
    return out


def _known(report: Mapping[str, Any], group: str, by: tuple[str, ...]) -> dict[str, Mapping[str, Any]]:
    listed = report.get(group)
    if not isinstance(listed, list):
        return {}
    return {" ".join(str(one.get(key)) for key in by): one for one in listed if isinstance(one, dict)}
