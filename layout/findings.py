"""What the tool finds: a code, how grave it is, whom it concerns, both numbers, and what to do."""

from __future__ import annotations

from dataclasses import dataclass

from layout.outline import Point
from layout.rule_table import RULES
from layout.rules import Severity


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding. ``value``, ``limit`` and ``at`` are mm in plan, None where there is none; ``pieces``: whom it touches.

    ``paste`` is job-file text that acts on the remedy, empty where there is nothing to paste.
    """

    code: str
    severity: Severity
    subject: str
    message: str
    remedy: str
    value: float | None = None
    limit: float | None = None
    at: Point | None = None
    pieces: tuple[str, ...] = ()
    paste: str = ""


def finding(
    code: str,
    subject: str,
    message: str,
    remedy: str,
    *,
    severity: Severity | None = None,
    value: float | None = None,
    limit: float | None = None,
    at: Point | None = None,
    pieces: tuple[str, ...] = (),
    paste: str = "",
) -> Finding:
    """Return a finding of a known code, with the severity of the rule table unless a graver one is given."""
    rule = RULES[code]
    return Finding(code, severity or rule.severity, subject, message, remedy, value, limit, at, pieces, paste)
