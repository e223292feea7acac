"""What came back from sign-off: a marked-up sheet or the page's saved file, read against the issue that went out.

Which issue it belongs to, whether the drawing below the marks is still the one that was issued, what was decided and by
whom, every mark with its place, every answer. What a file claims of itself is only used to find the issue; what was
altered is seen by holding the sheet itself against the issued one.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, NoReturn

from layout.approval_fields import approval_of
from layout.faults import LayoutError, printable
from layout.folders import sweep, told, write
from layout.history import append, read
from layout.issue import folder_name
from layout.issued import altered, is_issue, read_issue
from layout.marks import Ground, Mark, marks_of, page_mark
from layout.packet import digest
from layout.page_answers import MOST_NAME, PageAnswers, json_object, page_answers
from layout.revisions import rank
from layout.svg_comparison import Change, compared
from layout.svg_content import Content, svg_content
from layout.svg_reading import MOST_BYTES, ReturnError, read_bytes

OUT = Path("out")
_NUMBER = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9_.-]{0,39}")
"""A job number as job files have it. A name from outside is part of a path only after it was held against this."""
_LEAST_ALIKE = 0.3
"""A drawing that names no issue has to share so much with an issued sheet to be taken for it."""
_RECORD = re.compile(r"returned(?:-\d+)?\.json")


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer to a question of the issue."""

    id: str
    code: str
    subject: str
    question: str
    answer: str


@dataclass(frozen=True, slots=True)
class Returned:
    """What came back, with the keys of returned.json.

    ``changed``: whether the drawing below the marks was altered, and ``changes`` how. ``decision``: one of three, or none.
    ``date``: as it was written. ``file``, ``sha256``: the file's name and sum; of several files their names, and the sum
    of their sums, a line each. ``digest``: of the layout that it says it shows. ``unclear``: what nobody can tell from it.
    """

    number: str
    revision: str
    changed: bool
    changes: tuple[Change, ...]
    decision: str | None
    name: str
    date: str
    marks: tuple[Mark, ...]
    answers: tuple[Answer, ...]
    file: str
    sha256: str
    digest: str
    unclear: tuple[str, ...] = ()


def read_returned(file: Path, issue: Path | None = None) -> Returned:
    """Return what one file says, held against the issue in the folder ``issue``, or the one it is found to belong to.

    A ``returned.json`` that this program has put beside that issue is taken as it stands. Raises ReturnError where the file
    is not ours, is damaged or hostile, PacketError where the issue cannot be read.
    """
    if issue is not None and _is_record(file, issue):
        return _recorded(file)
    return read_back(file, issue)[0]


def read_all(files: Sequence[Path], issue: Path | None = None) -> tuple[Returned, Path]:
    """Return what several files of one issue say together, and the issue's folder. Raises as ``read_returned`` does, with
    a line for each file that cannot be read."""
    found, faults = [], []
    for file in files:
        try:
            found.append(read_back(file, issue))
        except LayoutError as error:
            faults.append(str(error))
    if faults:
        raise ReturnError("\n".join(faults))
    folders = {folder.resolve() for _, folder in found}
    if len(folders) > 1:
        raise ReturnError(f"the files belong to {len(folders)} issues; give those of one issue at a time")
    return together([back for back, _ in found]), found[0][1]


def read_back(file: Path, issue: Path | None = None) -> tuple[Returned, Path]:
    """Return what one file from outside says, and the folder of its issue. Raises as ``read_returned`` does."""
    data = read_bytes(file)
    if data.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] == b"{":
        return _from_page(page_answers(json_object(data, str(file)), str(file)), file, data, issue)
    if data[:5] == b"%PDF-":
        raise ReturnError(f"{file} is a PDF; expected a sheet (.svg) or what sign-off.html saved (.json)")
    return _from_sheet(svg_content(data, str(file)), file, data, issue)


def together(backs: Sequence[Returned]) -> Returned:
    """Return several files of one issue as one return. Where they decide, name or date differently, nothing is taken."""
    if len(backs) == 1:
        return backs[0]
    unclear = [words for back in backs for words in back.unclear]
    one: dict[str, str | None] = {}
    for key in ("decision", "name", "date", "digest"):
        values = list(dict.fromkeys(v for back in backs if (v := getattr(back, key))))
        one[key] = values[0] if len(values) == 1 else None
        if len(values) > 1:
            unclear.append(f"unclear: the files differ in their {key} ({', '.join(values)}), so none is taken")
    answers = {a.id: a for back in backs for a in back.answers}
    return replace(
        backs[0],
        changed=any(back.changed for back in backs),
        changes=tuple(c for back in backs for c in back.changes),
        decision=one["decision"],
        name=one["name"] or "",
        date=one["date"] or "",
        marks=tuple(m for back in backs for m in back.marks),
        answers=tuple(answers.values()),
        file=", ".join(back.file for back in backs),
        sha256=digest("".join(f"{back.sha256}\n" for back in backs).encode()),
        digest=one["digest"] or "",
        unclear=tuple(unclear),
    )


# --- which issue -----------------------------------------------------------------------------------------------------


def issue_of(file: Path, number: str, revision: str, which: str, given: Path | None) -> Path:
    """Return the folder of the issue that a file belongs to: the one given, or looked for beside the file and in out.

    ``which``: its digest, by which one of several is chosen. Raises ReturnError where there is none or it is another's.
    """
    if given is not None:
        folder = next((p for p in (given, *_below(given, number, revision)) if is_issue(p)), None)
        if folder is None:
            raise ReturnError(f"{given} is no issue: it has no issue.json")
        record = read_issue(folder)
        if number and (record["number"], record["revision"]) != (number, revision):
            raise ReturnError(
                f"{file} is of job {number}, revision {revision or 'none'}; {folder} is of job {record['number']}, "
                f"revision {record['revision']}: give the right one"
            )
        return folder
    if not number:
        raise ReturnError(f"{file} does not say which issue it is of; say where that lies with --issue")
    if not _NUMBER.fullmatch(number) or rank(revision) is None:
        raise ReturnError(f"{file} names a job or revision that cannot be one ({number[:60]!r}, {revision[:60]!r})")
    beside = file.parent
    looked = (beside, beside.parent, beside / OUT, OUT)
    found: list[tuple[bool, int, Path]] = []
    for folder in dict.fromkeys((beside, *(p for place in looked for p in _below(place, number, revision)))):
        if is_issue(folder):
            record = read_issue(folder)
            if (record["number"], record["revision"]) == (number, revision):
                found.append((record["digest"] != which, len(found), folder))
    if not found:
        raise ReturnError(
            f"{file} is of job {number}, revision {revision}, and that issue lies neither beside it nor in {OUT}; "
            f"say where it lies with --issue"
        )
    return min(found)[2]


def _below(folder: Path, number: str, revision: str) -> Iterator[Path]:
    if rank(revision) is not None:
        yield folder / folder_name(revision)
        if _NUMBER.fullmatch(number):
            yield folder / number / folder_name(revision)


def _whole_issue(folder: Path) -> dict[str, Any]:
    """Return issue.json. Raises ReturnError where the issue's own files are no longer those that went out."""
    record = read_issue(folder)
    spoilt = altered(folder, record)
    if spoilt:
        raise ReturnError(f"{folder} is no longer as it was issued ({', '.join(spoilt)} changed or gone): put it back")
    return record


def _issued_sheets(folder: Path, record: Mapping[str, Any]) -> dict[int, Path]:
    """Return the files of an issue's sheets by number."""
    sheets = record.get("sheets")
    listed = [s for s in sheets if isinstance(s, dict)] if isinstance(sheets, list) else []
    names = {f["name"] for f in record["files"]}
    return {
        s["number"]: folder / s["name"]
        for s in listed
        if isinstance(s.get("number"), int) and s.get("name") in names and "/" not in s["name"]
    }


def _issued_content(path: Path) -> Content:
    with told(path, "read"):
        data = path.read_bytes()
    return svg_content(data[: MOST_BYTES + 1], str(path))


# --- a sheet that was marked up --------------------------------------------------------------------------------------


def _from_sheet(back: Content, file: Path, data: bytes, given: Path | None) -> tuple[Returned, Path]:
    facts = back.facts
    number, revision, which = (facts.get(k, "") for k in ("job", "revision", "digest"))
    if not number and given is None:
        raise ReturnError(f"{file} is a drawing that names no issue; if it is of one, say where that lies with --issue")
    folder = issue_of(file, number, revision, which, given)
    record = _whole_issue(folder)
    sheets = _issued_sheets(folder, record)
    claimed = facts.get("sheet", "").split()[:1]
    sheet = int(claimed[0]) if claimed and re.fullmatch(r"\d{1,4}", claimed[0]) else 0
    if sheet not in sheets:
        sheet = _most_alike(back, sheets, file)
    issued = _issued_content(sheets[sheet])
    found = compared(issued, back, sheet)
    approval = approval_of(issued, found.fields, found.added)
    changes = [
        Change(sheet, "changed", "metadata", key, f"{record[name]} is now {facts.get(key) or 'gone'}", (0.0, 0.0))
        for key, name in (("job", "number"), ("revision", "revision"), ("digest", "digest"))
        if facts.get(key) != record[name]
    ]
    changes += found.changes
    out = Returned(
        record["number"],
        record["revision"],
        bool(changes),
        tuple(changes),
        approval.decision,
        approval.name[:MOST_NAME],
        approval.date[:MOST_NAME],
        tuple(marks_of(approval.rest, sheet, Ground(issued, str(record.get("units"))))),
        (),
        printable(file.name),
        digest(data),
        which or record["digest"],
        approval.said,
    )
    return out, folder


def _most_alike(back: Content, sheets: Mapping[int, Path], file: Path) -> int:
    """Return the number of the issued sheet that a drawing which names none shows. Raises ReturnError for none."""
    shares = [(compared(_issued_content(path), back, n).share, -n) for n, path in sorted(sheets.items())]
    share, n = max(shares, default=(0.0, 0))
    if share < _LEAST_ALIKE:
        raise ReturnError(f"{file} is no sheet of that issue: at most {share:.0%} of one is in it")
    return -n


# --- what the page saved ---------------------------------------------------------------------------------------------


def _from_page(said: PageAnswers, file: Path, data: bytes, given: Path | None) -> tuple[Returned, Path]:
    if not said.number or not said.revision:
        raise ReturnError(f"{file} does not say which issue it is of")
    folder = issue_of(file, said.number, said.revision, said.digest, given)
    record = _whole_issue(folder)
    sheets = _issued_sheets(folder, record)
    grounds: dict[int, Ground] = {}
    marks = []
    for n, mark in enumerate(said.marks, start=1):
        if mark.sheet not in sheets:
            raise ReturnError(f"{file}: mark {n} is on sheet {mark.sheet}; the issue has {len(sheets)}")
        if mark.sheet not in grounds:
            grounds[mark.sheet] = Ground(_issued_content(sheets[mark.sheet]), str(record.get("units")))
        marks.append(page_mark(mark.sheet, mark.kind, mark.text, mark.points, grounds[mark.sheet]))
    asked = {q["id"]: q for q in record.get("questions", []) if isinstance(q, dict) and isinstance(q.get("id"), str)}
    unknown = [id_ for id_, _ in said.answers if id_ not in asked]
    if unknown:
        raise ReturnError(f"{file} answers {', '.join(unknown[:5])}, which the issue does not ask")
    other = said.digest != record["digest"]
    words = f"{record['digest']} is now {said.digest or 'gone'}"
    return Returned(
        said.number,
        said.revision,
        other,
        (Change(0, "changed", "metadata", "digest", words, (0.0, 0.0)),) if other else (),
        said.decision,
        said.name,
        said.date,
        tuple(marks),
        tuple(
            Answer(id_, _said(asked[id_], "code"), _said(asked[id_], "subject"), _said(asked[id_], "question"), words)
            for id_, words in said.answers
        ),
        printable(file.name),
        digest(data),
        said.digest,
    ), folder


def _said(question: Mapping[str, Any], key: str) -> str:
    return str(question.get(key, ""))


# --- beside the issue ------------------------------------------------------------------------------------------------


def returned_text(back: Returned) -> str:
    """Return returned.json's text. In ASCII: what is in it comes from outside and may be shown anywhere."""
    return json.dumps(asdict(back), indent=1) + "\n"


def keep(back: Returned, folder: Path) -> tuple[Path, bool]:
    """Put a return beside its issue as returned.json, returned-2.json, ... and into the history; return which file it is,
    and whether it is new. One that is kept already is not kept twice. Raises PacketError where it cannot be written."""
    data = returned_text(back).encode()
    sweep(folder.parent)
    n = 1
    while True:
        path = folder / ("returned.json" if n == 1 else f"returned-{n}.json")
        with told(path, "look at"):
            if path.is_symlink() or not path.exists():
                new = True
                break
            if path.is_file() and path.read_bytes() == data:
                new = False
                break
        n += 1
    if new:
        write(path, data)
    if new or not any(e["what"] == "returned" and e.get("sha256") == back.sha256 for e in read(folder.parent)):
        append(
            folder.parent,
            "returned",
            revision=back.revision,
            digest=back.digest,
            by=back.name,
            decision=back.decision,
            file=back.file,
            sha256=back.sha256,
        )
    return path, new


def _is_record(file: Path, issue: Path) -> bool:
    with told(file, "look at"):
        return bool(_RECORD.fullmatch(file.name)) and file.resolve().parent == issue.resolve()


def _recorded(file: Path) -> Returned:
    """Return what this program has put beside an issue. Raises ReturnError where it is not that any more."""
    found = json_object(read_bytes(file), str(file))

    def damaged() -> NoReturn:
        raise ReturnError(f"{file} is damaged: it is not what was written there; read what came back once more")

    try:
        back = Returned(
            **{
                **found,
                "changes": tuple(Change(**{**c, "at": tuple(c["at"])}) for c in found["changes"]),
                "marks": tuple(Mark(**m) for m in found["marks"]),
                "answers": tuple(Answer(**a) for a in found["answers"]),
                "unclear": tuple(found["unclear"]),
            }
        )
    except (KeyError, TypeError, ValueError):
        damaged()
    texts = (back.number, back.revision, back.name, back.date, back.file, back.sha256, back.digest)
    if not all(isinstance(t, str) for t in texts) or not isinstance(back.changed, bool):
        damaged()
    return back
