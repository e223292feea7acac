"""A report read back: what report.json says of a job, as values in mm, and where to find one on disk."""

from __future__ import annotations

import json
import re
import unicodedata
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from layout.faults import LayoutError
from layout.outline import Point, Ring, Vertex
from layout.units import UNIT_MM, Unit

REPORT = "report.json"


class ToldError(LayoutError):
    """A report that cannot be read; the message names the file and what to do."""


def _steady(text: str) -> str:
    """Return a text without signs that could steer a terminal: a report may come from anywhere."""
    return "".join("\ufffd" if unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp") else c for c in text)


_LENGTH = re.compile(r"-?\d{1,15}(/[1-9]\d{0,14})?")
"""An exact length in mm, as a report repeats those of the job file."""
_DEEPEST, _MOST = 12, 1000
"""Levels of a value of a job file, and tables of one kind: more than any job has."""


def _said(value: Any, left: int = _DEEPEST) -> Any:
    """Return a value of a job file made steady. Raises ValueError for one that no job file has."""
    if isinstance(value, dict):
        if not left:
            raise ValueError("tables nested too deep")
        if "mm" in value and not (len(value) == 1 and isinstance(value["mm"], str) and _LENGTH.fullmatch(value["mm"])):
            raise ValueError("no length")
        return {_steady(key): _said(one, left - 1) for key, one in value.items()}
    if isinstance(value, list):
        if not left or len(value) > _MOST:
            raise ValueError("a list nested too deep or too long")
        return [_said(one, left - 1) for one in value]
    return _steady(value) if isinstance(value, str) else value


Word = Annotated[str, AfterValidator(_steady)]
Stated = dict[Word, dict[str, Any] | Annotated[list[dict[str, Any]], Field(max_length=_MOST)]]
"""What a job file says: by the name of a table its keys, or those of each table of that name."""
Number = Annotated[float, Field(ge=-1e6, le=1e6, allow_inf_nan=False)]
"""No room comes near a million of its units."""
Pair = tuple[Number, Number]


def _encloses(outline: list[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    if len(outline) < 3 and not all(bulge for _, _, bulge in outline):
        raise ValueError("an outline of three corners, or of two arcs, at the least")
    return outline


Outline = Annotated[list[tuple[Number, Number, Number]], Field(min_length=2), AfterValidator(_encloses)]


class _Told(BaseModel):
    """A part of a report; what is not compared is passed over."""

    model_config = ConfigDict(extra="ignore", frozen=True)


class Head(_Told):
    """The job's number, title, units and revision."""

    number: Word
    title: Word
    units: Unit
    revision: Word


class Wall(_Told):
    """A wall's face in plan; ``corner`` in degrees."""

    name: Word
    start: Pair
    end: Pair
    corner: Number


class Measure(_Told):
    """A check measure as taped."""

    from_: Annotated[Word, Field(alias="from")]
    to: Word
    measured: Number


class Room(_Told):
    """Walls and check measures."""

    walls: list[Wall]
    measures: list[Measure]
    closure: Number | None


class Wood(_Told):
    """Species, movement for each 1 % of moisture with its basis, and moisture over the year in per cent."""

    species: Word
    coefficient: Number | None
    basis: Word | None
    moisture: Pair


class Edge(_Told):
    """A side's profile."""

    side: Word
    profile: Word


class Part(_Told):
    """A part of a top."""

    name: Word
    part: int
    outline: Outline
    edges: list[Edge]


class Piece(_Told):
    """A piece."""

    id: Word
    top: Word
    part: int
    outline: Outline
    length: Number
    width: Number
    thickness: Number
    grain: Number


class Joint(_Told):
    """A joint between two pieces; ``angles`` in degrees."""

    id: Word
    kind: Word
    top: Word
    pieces: tuple[Word, Word]
    points: Annotated[list[Pair], Field(min_length=2)]
    length: Number
    angles: tuple[Number, Number]


class Cutout(_Told):
    """A cutout."""

    name: Word
    kind: Word
    top: Word
    piece: Word | None
    center: Pair
    outline: Outline


class Milled(_Told):
    """A groove, slot or recess; its ``depth`` is None where it goes through."""

    name: Word
    kind: Word
    top: Word
    face: Word
    depth: Number | None
    center: Pair
    outlines: Annotated[list[Outline], Field(min_length=1)]


class Overhang(_Told):
    """What a side of a top stands over."""

    top: Word
    side: Word
    amount: Number
    supported: bool


class Finding(_Told):
    """A finding."""

    code: Word
    severity: Literal["stop", "ask", "note"]
    subject: Word
    message: Word
    value: Number | None
    limit: Number | None
    at: Pair | None


class Told(_Told):
    """All of a report that two revisions are held against each other by, lengths in job units as it gives them."""

    job: Head
    room: Room
    wood: Wood
    tops: list[Part]
    pieces: list[Piece]
    joints: list[Joint]
    cutouts: list[Cutout]
    milled: list[Milled] = []
    overhangs: list[Overhang]
    findings: list[Finding]
    stated: Annotated[Stated | None, AfterValidator(_said)] = None
    """What the job file says, by table and key; None in a report of an older program."""

    @property
    def unit(self) -> float:
        """Millimetres in a job unit."""
        return float(UNIT_MM[self.job.units])

    def point(self, p: Pair) -> Point:
        """Return a point in mm."""
        return (p[0] * self.unit, p[1] * self.unit)

    def ring(self, outline: Outline) -> Ring:
        """Return an outline in mm."""
        ends = outline[1:] + outline[:1]
        return Ring(
            tuple(
                Vertex(x * self.unit, y * self.unit, bulge if abs(bulge) > 1e-6 and (x, y) != end[:2] else 0.0)
                for (x, y, bulge), end in zip(outline, ends, strict=True)
            )
        )


def told(content: dict[str, Any]) -> Told:
    """Return what a report's dict says. Raises ToldError, naming the first thing that is not as in a report."""
    try:
        return Told.model_validate(content)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = ".".join(str(step) for step in first["loc"]) or "the whole"
        raise ToldError(_steady(f"{place}: {first['msg'][:1].lower()}{first['msg'][1:]}")) from None


def read_report(path: Path) -> dict[str, Any]:
    """Return the report in a file, or in the folder of a packet or of an issue. Raises ToldError where there is none."""
    file = path / REPORT if path.is_dir() else path
    try:
        content = json.loads(file.read_bytes(), parse_constant=_no_number)
    except OSError as error:
        raise ToldError(
            f"{file}: {error.strerror or error}; give an issue's folder, a packet's or a report.json"
        ) from None
    except (ValueError, RecursionError):
        raise ToldError(f"{file}: not JSON; give an issue's folder, a packet's or a report.json") from None
    if not isinstance(content, dict):
        raise ToldError(f"{file}: not a report; give an issue's folder, a packet's or a report.json")
    try:
        told(content)
    except ToldError as error:
        raise ToldError(f"{file}: not a report of this program, at {error}; draw its job anew") from None
    return content


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is no number of a report")
