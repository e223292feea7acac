"""Which layout it is: one digest for all that is laid out and all that the sheets say of it.

Whoever signs a drawing signs a digest; whoever cuts holds today's job against it.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from typing import Any

from layout.facts import facts
from layout.job import Job
from layout.pipeline import Layout

STEP = 1e-4
"""Figures count in steps of so much of the job's unit; angles of so many degrees."""
_LIMIT = 13.0 / 32.0
"""Where between two steps the limit lies: where no tape, half a tape or decimal falls, so that the last bit of another
machine's arithmetic changes no digest."""
_NOT_SIGNED: dict[str, Any] = {"job": {"date"}, "answer": True}
"""What may change after a drawing is issued: the day, and the answers to its marks."""


def digest_of(layout: Layout, told: Mapping[str, Any] | None = None) -> str:
    """Return the SHA-256, in hexadecimal, of what was laid out and of the job file's every value, defaults left out.

    Not the day, not the answers to marks, not this program's version. Of findings only what they are about, so that better
    words for one change nothing. ``told``: the layout's facts, where they are at hand.
    """
    laid = dict(facts(layout) if told is None else told)
    laid["findings"] = [{key: f[key] for key in ("code", "severity", "subject", "at")} for f in laid["findings"]]
    text = json.dumps(
        {"job": stated(layout.job), "laid": _stepped(laid)}, sort_keys=True, separators=(",", ":"), ensure_ascii=False
    )
    return hashlib.sha256(text.encode()).hexdigest()


def stated(job: Job) -> dict[str, Any]:
    """Return every value of the job file that counts for its digest, defaults left out, by table and key; lengths as exact mm."""
    return job.model_dump(mode="json", exclude=_NOT_SIGNED, exclude_defaults=True)


def _stepped(value: Any) -> Any:
    """Return the value with every figure as a whole number of steps."""
    if isinstance(value, dict):
        return {key: _stepped(v) for key, v in value.items()}
    if isinstance(value, list | tuple):
        return [_stepped(v) for v in value]
    return math.floor(value / STEP + 1.0 - _LIMIT) if isinstance(value, float) else value
