"""What the terminal says of a layout: one line of what it is, then each finding with what to do."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from layout.rule_table import RULES

if TYPE_CHECKING:
    # as a type only: `explain` lays nothing out
    from layout.pipeline import Layout

WIDTH = 100


def count(number: int, noun: str) -> str:
    """Return a count with its noun, ``2 pieces``."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def summary_text(layout: Layout) -> str:
    """Return the job's pieces in a few lines."""
    labels = layout.laid.labels
    job = layout.job.job
    divided = layout.divided
    head = f"{job.number} {job.title}: " + ", ".join(
        count(n, noun)
        for n, noun in (
            (len(layout.laid.tops), "top"),
            (len(divided.pieces), "piece"),
            (len(divided.joints), "joint"),
            (len(layout.laid.cutouts), "cutout"),
        )
        if n
    )
    rows = [
        f"  {p.id:4} {p.top:14} {labels.text(p.length)} x {labels.text(p.width)} x {labels.fine(layout.job.wood.thickness)}"
        for p in divided.pieces
    ]
    return "\n".join([head, *rows])


def tally(layout: Layout) -> str:
    """Return how many findings of each severity there are."""
    counts = {s: sum(f.severity == s for f in layout.findings) for s in ("stop", "ask", "note")}
    return ", ".join(f"{n} {s}" for s, n in counts.items() if n) or "no findings"


def findings_text(layout: Layout) -> str:
    """Return every finding, numbered as on the drawing, with its remedy and what can be pasted into the job."""
    if not layout.findings:
        return "no findings; what the checks cannot see stays to be verified"
    out = []
    for n, f in enumerate(layout.findings, start=1):
        out.append(f"{n:2} {f.severity:4} {f.code}: {f.subject}")
        out += textwrap.wrap(f.message, WIDTH, initial_indent="      ", subsequent_indent="      ")
        out += textwrap.wrap(f"-> {f.remedy}", WIDTH, initial_indent="      ", subsequent_indent="         ")
        if f.paste:
            out += textwrap.indent(f.paste.rstrip(), "         ").splitlines()
    if layout.held:
        out.append(f"not to be released before it is cleared: {', '.join(layout.held)}")
    out.append(f"{tally(layout)}; the checks are an aid, not an approval")
    return "\n".join(out)


def rule_text(code: str) -> str:
    """Return what a finding's code means, its rule, source and remedy."""
    row = RULES[code]
    rows = (
        ("for", row.severity),
        ("means", row.meaning),
        ("rule", row.rule),
        ("source", row.source),
        ("do", row.remedy),
    )
    out = [code]
    for name, text in rows:
        out += textwrap.wrap(text, WIDTH, initial_indent=f"  {name:8}", subsequent_indent=" " * 10)
    return "\n".join(out)


def rules_text() -> str:
    """Return every code with its severity and meaning, a line each."""
    width = max(len(code) for code in RULES)
    return "\n".join(f"{code:{width}}  {row.severity:4}  {row.meaning}" for code, row in RULES.items())
