"""Whether a job may be cut, and what the shop gets then: only what was signed, exactly as it was signed."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from layout.differences import changes
from layout.drawing import Drawing
from layout.files import drawn_files
from layout.identity import digest_of
from layout.packet import digest
from layout.pipeline import Layout
from layout.report import report
from layout.stamps import stamped
from layout.version import VERSION

MANIFEST = "manifest.json"
RELEASED = "released"
APPROVED, AS_NOTED = "approved", "approved as noted"


@dataclass(frozen=True, slots=True)
class Signed:
    """What a release is held against: the issue that went out and what came back.

    ``issue``: issue.json. ``report``: the report in the issue. ``job_text``: the job file in it. ``altered``: its files
    that are no longer as issued. ``returned``: what came back, as returned.json has it. ``newer``: the letter of an issue
    after this one, if there is one. ``later``: a later answer to this issue than the one given, if history knows one.
    """

    issue: Mapping[str, Any]
    report: Mapping[str, Any]
    job_text: str
    altered: Sequence[str]
    returned: Mapping[str, Any]
    newer: str | None = None
    later: Mapping[str, Any] | None = None


def reasons(layout: Layout, signed: Signed) -> list[str]:
    """Return every reason not to release a job, each with what to do; empty where it may be cut."""
    return [*_about_the_issue(layout, signed), *_about_the_answer(layout, signed), *_about_the_job(layout, signed)]


def _about_the_issue(layout: Layout, signed: Signed) -> Iterator[str]:
    head, issue, back = layout.job.job, signed.issue, signed.returned
    if issue["number"] != head.number:
        yield f"the issue is of job {issue['number']}, this is job {head.number}: give the issue of this job"
    if issue["revision"] != head.revision:
        yield (
            f"the job stands at revision {head.revision}, the issue is revision {issue['revision']}: "
            f"issue {head.revision} and have that signed"
        )
    if signed.newer:
        yield f"revision {signed.newer} was issued after this one: have that signed and release it"
    if signed.altered:
        yield f"the issue's files are no longer those that went out ({', '.join(signed.altered)}): put them back"
    for key, called in (("number", "job"), ("revision", "revision")):
        if back[key] != issue[key]:
            yield f"the file that came back is for {called} {back[key]}, the issue is {called} {issue[key]}: give the right one"
    if back["digest"] != issue["digest"]:
        yield "the file that came back shows another layout than was issued (its digest differs): send the issue out again"


def _about_the_answer(layout: Layout, signed: Signed) -> Iterator[str]:
    back = signed.returned
    if back["changed"]:
        yield f"the drawing below the marks was altered: {_told(back['changes'])}. Have the issue signed as it went out"
    decision = back["decision"]
    if not decision:
        yield "no decision stands in the file: have one of the three boxes ticked"
    elif decision not in (APPROVED, AS_NOTED):
        yield f"the decision is: {decision}. Do what the marks ask for, issue the next revision and have it signed"
    if not back["name"]:
        yield "no name stands in the file: have whoever approves it fill in theirs"
    if not back["date"]:
        yield "no date stands in the file: have the day of approval filled in"
    if signed.later:
        yield (
            f"a later answer came back for this revision ({signed.later.get('file') or 'see the history'}: "
            f"{signed.later.get('decision') or 'no decision'}): release by that one"
        )
    if decision == AS_NOTED:
        yield from _unanswered(layout, signed)


def _unanswered(layout: Layout, signed: Signed) -> Iterator[str]:
    """Yield the marks that the job does not answer. What stood in the job before it was issued answers no mark on it."""
    before = _answers_in(signed.job_text)
    given = {a.mark: a.answer for a in layout.job.answer}
    for n, mark in enumerate(signed.returned["marks"], start=1):
        said = f" ({mark['text']})" if mark.get("text") else ""
        todo = f'put [[answer]] with mark = {n} and answer = "..." into the job'
        if n not in given:
            yield f"mark {n} on sheet {mark['sheet']}{said} has no answer: {todo}"
        elif (n, given[n]) in before:
            yield f"mark {n} on sheet {mark['sheet']}{said} has an answer from before it was issued: {todo}, to this mark"


def _answers_in(job_text: str) -> set[tuple[Any, Any]]:
    try:
        listed = tomllib.loads(job_text.removeprefix("\ufeff")).get("answer", [])
    except tomllib.TOMLDecodeError:
        return set()
    tables = [a for a in listed if isinstance(a, dict)] if isinstance(listed, list) else []
    return {(a.get("mark"), str(a.get("answer")).strip()) for a in tables}


def _about_the_job(layout: Layout, signed: Signed) -> Iterator[str]:
    head, issue = layout.job.job, signed.issue
    if (issue["number"], issue["revision"]) == (head.number, head.revision) and issue["digest"] != digest_of(layout):
        found = "; ".join(changes(signed.report, report(layout))) or "names, notes, edges, or the shop's figures"
        was = (
            ""
            if issue["staveline"] == VERSION
            else f" (it was issued by staveline {issue['staveline']}, this is {VERSION})"
        )
        yield (
            f"the job was changed after it was issued: {found}{was}. "
            f"Take it back to {issue['revision']}'s job.toml, or issue the next revision and have it signed"
        )
    stops = [f for f in layout.findings if f.severity == "stop"]
    for f in stops:
        yield f"stop finding {f.code} ({f.subject}): {f.remedy}"
    stopped = {f.code for f in stops}
    for f in layout.findings:
        if f.code in layout.held and f.code not in stopped:
            yield f"on HOLD, {f.code} ({f.subject}): {f.remedy}"


def _told(found: Sequence[Mapping[str, Any]]) -> str:
    """Return what was altered, in one line."""
    told = [
        f"sheet {c['sheet']}: {c['what']} {' '.join(str(c[k]) for k in ('kind', 'name', 'text') if c.get(k))}"
        for c in found
    ]
    return "; ".join(told) or "see staveline returned"


def released_files(layout: Layout, drawing: Drawing, signed: Signed) -> dict[str, bytes]:
    """Return every file that the shop gets by its name, ``manifest.json`` last; ``drawing`` is the one that was issued."""
    back = signed.returned
    who = f"{back['name']}, {back['date']}"
    words = f"RELEASED FOR CUTTING, revision {layout.job.job.revision}, approved by {who}"
    files = drawn_files(layout, stamped(drawing, words, who))
    return {**files, MANIFEST: _manifest(layout, signed, files)}


def _manifest(layout: Layout, signed: Signed, files: Mapping[str, bytes]) -> bytes:
    head, back = layout.job.job, signed.returned
    content = {
        "staveline": VERSION,
        "number": head.number,
        "title": head.title,
        "revision": head.revision,
        "units": head.units,
        "digest": digest_of(layout),
        "approved": {key: back[key] for key in ("decision", "name", "date", "file", "sha256")},
        "answers": [{"mark": a.mark, "answer": a.answer, "by": a.by} for a in layout.job.answer],
        "files": [{"name": name, "sha256": digest(data)} for name, data in files.items()],
    }
    return (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode()
