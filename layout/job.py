"""The job file's shape: what a drafter may type, as frozen models.

Cross-references (a cutout's wall, a joint's corner) and defaults are the reader's affair (`reading.py`); past it every
name resolves and every default is set.
"""

from __future__ import annotations

import datetime
import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from layout.job_cutouts import Cutout, Groove, Recess, Slot
from layout.job_joints import Edge, JointChoice, Support
from layout.job_room import Appliance, Cabinet, Measure, Room, Wall, Window
from layout.job_shop import Cut, SheetChoice, Shop
from layout.job_tops import Notch, Top
from layout.job_values import Filled, Line, Pair, Table
from layout.job_wood import Load, OwnSpecies, Site, Wood
from layout.units import Unit


def _counted(value: Any) -> Any:
    if not isinstance(value, int) or isinstance(value, bool) or not 0 < value < 10**6:
        raise ValueError("the number of a mark, a whole one from 1")
    return value


def _number(value: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9_-][A-Za-z0-9._-]*", value) or len(value) > 40:
        raise ValueError("a job number of letters, digits, -, _ and . (not first), 40 at most")
    return value


class JobHead(Table):
    """[job]."""

    title: Filled
    number: Annotated[str, AfterValidator(_number)]
    units: Unit
    maker: Line = ""
    dealer: Line = ""
    customer: Line = ""
    site: Line = ""
    drawn_by: Line = ""
    date: datetime.date | None = None
    return_by: datetime.date | None = None
    contact: Line = ""
    revision: Line = "A"
    notes: tuple[Line, ...] = ()


class FieldFacts(Table):
    """[field]: how the measures were got."""

    by: Line = ""
    date: datetime.date | None = None
    walls: Literal["finished", "bare studs", "tile to come"] | None = None
    cabinets: Literal["set", "not set"] | None = None


class Change(Table):
    """[[revision]]: one revision of the drawing, for the block that lists them; ``at``: where in plan its triangles stand."""

    letter: Filled
    date: datetime.date | None = None
    note: Filled
    by: Line = ""
    at: tuple[Pair, ...] = ()


class Answer(Table):
    """[[answer]]: what was done about a mark of the drawing that came back; marks are numbered from 1."""

    mark: Annotated[int, BeforeValidator(_counted)]
    answer: Filled
    by: Line = ""


class Job(Table):
    """A whole job file, checked, with its defaults in place."""

    job: JobHead
    field: FieldFacts = FieldFacts()
    wood: Wood
    shop: Shop
    sheet: SheetChoice
    cut: Cut = Cut()
    site: Site = Site()
    load: Load
    species: tuple[OwnSpecies, ...] = ()
    revision: tuple[Change, ...] = ()
    room: Room = Room()
    wall: tuple[Wall, ...] = ()
    window: tuple[Window, ...] = ()
    measure: tuple[Measure, ...] = ()
    cabinet: tuple[Cabinet, ...] = ()
    top: Annotated[tuple[Top, ...], Field(min_length=1)]
    appliance: tuple[Appliance, ...] = ()
    cutout: tuple[Cutout, ...] = ()
    notch: tuple[Notch, ...] = ()
    joint: tuple[JointChoice, ...] = ()
    support: tuple[Support, ...] = ()
    edge: tuple[Edge, ...] = ()
    groove: tuple[Groove, ...] = ()
    slot: tuple[Slot, ...] = ()
    recess: tuple[Recess, ...] = ()
    answer: tuple[Answer, ...] = ()
