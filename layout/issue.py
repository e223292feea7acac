"""What an issue holds: a revision frozen for sign-off, every file of it in memory.

Sheets, all of them as one PDF where that is wanted, the page to sign on, the report, the job file as it was with the
templates that it names, so that it can be laid out again, and ``issue.json`` last, which says what the issue is and lists the
others with their SHA-256.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from layout.drawing import Drawing
from layout.faults import PlaceError
from layout.files import report_text
from layout.packet import digest
from layout.pipeline import Layout
from layout.plain_words import finding_words
from layout.report import report
from layout.revisions import LETTERS, rank
from layout.stamps import stamped
from layout.version import VERSION

ISSUE, JOB, PAGE, REPORT = "issue.json", "job.toml", "sign-off.html", "report.json"
PageMaker = Callable[[dict[str, Any], Sequence[tuple[str, str]]], str]
"""What makes the page to sign on: from issue.json and each sheet's name and SVG text to HTML."""


def revision_of(layout: Layout) -> str:
    """Return the letter that a job's revision bears. Raises PlaceError where it is none that could be issued."""
    revision = layout.job.job.revision
    if rank(revision) is None:
        expected = f'a revision letter, "A" for the first issue; the letters are {" ".join(LETTERS)}, then AA'
        raise PlaceError(("job", "revision"), f'"{revision}"', expected)
    return revision


def folder_name(revision: str) -> str:
    """Return the name of an issue's folder within its job's."""
    return f"issue-{revision}"


def for_sign_off(layout: Layout, drawing: Drawing) -> Drawing:
    """Return a drawing as it is issued: as it is, or stamped as not for sign-off where a ``stop`` finding stands."""
    stops = sum(f.severity == "stop" for f in layout.findings)
    if not stops:
        return drawing
    words = f"NOT FOR SIGN-OFF: {stops} stop finding{'' if stops == 1 else 's'}"
    return stamped(drawing, words, "not for sign-off")


def sheet_files(drawing: Drawing) -> dict[str, bytes]:
    """Return the sheets of a drawing as SVG by their names."""
    from layout.writers.svg import svg_text  # noqa: PLC0415

    return {f"sheet-{s.number}.svg": svg_text(s, drawing).encode() for s in drawing.sheets}


def issue_files(
    layout: Layout, drawing: Drawing, job_text: str, *, pdf: bool = False, page: PageMaker | None = None
) -> dict[str, bytes]:
    """Return every file of an issue by its name, ``issue.json`` last.

    ``drawing`` as `for_sign_off` gives it; ``job_text``: the job file that was laid out.
    """
    sheets = sheet_files(drawing)
    files = dict(sheets)
    if pdf:
        from layout.writers.pdf import pdf_bytes  # noqa: PLC0415

        files[pdf_name(layout)] = pdf_bytes(drawing)
    files[REPORT] = report_text(report(layout, _sums(files))).encode()
    files[JOB] = job_text.encode()
    files |= {cut.template.file: cut.template.data for cut in layout.laid.cutouts if cut.template is not None}
    if page is not None:
        about = issue_facts(layout, drawing, files)
        files[PAGE] = page(about, [(name, data.decode()) for name, data in sheets.items()]).encode()
    return {**files, ISSUE: _json(issue_facts(layout, drawing, files))}


def pdf_name(layout: Layout) -> str:
    """Return the name of an issue's PDF."""
    return f"{layout.job.job.number}-{layout.job.job.revision}.pdf"


def issue_facts(layout: Layout, drawing: Drawing, files: Mapping[str, bytes]) -> dict[str, Any]:
    """Return issue.json: what is issued, with the sums of its files, its findings and what the dealer is asked."""
    head = layout.job.job
    told = report(layout)
    asked = [f for f in layout.findings if f.severity == "ask"]
    return {
        "staveline": VERSION,
        "number": head.number,
        "title": head.title,
        "revision": head.revision,
        "units": head.units,
        "digest": told["digest"],
        "date": None if head.date is None else str(head.date),
        "files": [{"name": name, "sha256": sha256} for name, sha256 in _sums(files)],
        "sheets": [
            {
                "name": f"sheet-{s.number}.svg",
                "number": s.number,
                "title": s.title,
                "size": [round(s.width, 4), round(s.height, 4)],
            }
            for s in drawing.sheets
        ],
        "findings": told["findings"],
        "questions": [
            {"id": f"Q{n}", "code": f.code, "subject": f.subject, "question": finding_words(f)}
            for n, f in enumerate(asked, start=1)
        ],
        "held": list(layout.held),
    }


def _sums(files: Mapping[str, bytes]) -> list[tuple[str, str]]:
    return [(name, digest(data)) for name, data in files.items()]


def _json(content: Any) -> bytes:
    return (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode()
