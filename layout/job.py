"""The job file's shape: what a drafter may type, as frozen models.

Cross-references (a cutout's wall, a joint's corner) and defaults are the reader's affair (`reading.py`); past it every
name resolves and every default is set.
"""

from __future__ import annotations

import datetime
import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, WithJsonSchema

from layout.job_cutouts import Cutout, Groove, Recess, Slot
from layout.job_joints import Edge, JointChoice, Support
from layout.job_room import Appliance, Cabinet, Measure, Room, Wall, Window
from layout.job_shop import Cut, SheetChoice, Shop
from layout.job_tops import Notch, Top
from layout.job_values import AtMost, Filled, Line, Pair, Table
from layout.job_wood import Load, OwnSpecies, Site, Wood
from layout.rules import MOST_NOTES
from layout.spellings import JOB_NUMBER
from layout.units import Unit


def _counted(value: Any) -> Any:
    if not isinstance(value, int) or isinstance(value, bool) or not 0 < value < 10**6:
        raise ValueError("the number of a mark, a whole one from 1")
    return value


def _number(value: str) -> str:
    if not re.fullmatch(JOB_NUMBER, value) or len(value) > 40:
        raise ValueError("a job number of letters, digits, -, _ and . (not first), 40 at most")
    return value


class JobHead(Table):
    """[job]: whose drawing it is, its number and its unit."""

    title: Filled
    """What the job is called on the sheets."""
    number: Annotated[
        str,
        AfterValidator(_number),
        WithJsonSchema({"type": "string", "pattern": f"^{JOB_NUMBER}$", "maxLength": 40}),
    ]
    """The job's number, which names its folder: letters, digits, -, _ and ., 40 at most."""
    units: Unit
    """What plain numbers are in, and what the sheets are printed in."""
    maker: Line = ""
    """Who makes the tops; whose drawing it is."""
    dealer: Line = ""
    """Who sells them and signs the drawing."""
    customer: Line = ""
    """Whose house they are for."""
    site: Line = ""
    """Where that house is."""
    drawn_by: Line = ""
    """Who drew it."""
    date: datetime.date | None = None
    """The drawing's date."""
    return_by: datetime.date | None = None
    """The day by which the signed drawing is wanted back."""
    contact: Line = ""
    """Whom to send it to."""
    revision: Line = "A"
    """The revision's letter."""
    notes: Annotated[tuple[Line, ...], AtMost(MOST_NOTES)] = ()
    """Notes that are printed on the sheets."""


class FieldFacts(Table):
    """[field]: how the measures were got."""

    by: Line = ""
    """Who measured."""
    date: datetime.date | None = None
    """When it was measured."""
    walls: Literal["finished", "bare studs", "tile to come"] | None = None
    """What the walls were when they were measured."""
    cabinets: Literal["set", "not set"] | None = None
    """Whether the cabinets were set."""


class Change(Table):
    """[[revision]]: one revision of the drawing, for the block that lists them; ``at``: where in plan its triangles stand."""

    letter: Filled
    """The revision's letter."""
    date: datetime.date | None = None
    """Its date."""
    note: Filled
    """What changed."""
    by: Line = ""
    """Who changed it."""
    at: tuple[Pair, ...] = ()
    """Where in plan its triangles stand, [x, y] each; lengths."""


class Answer(Table):
    """[[answer]]: what was done about a mark of the drawing that came back; marks are numbered from 1."""

    mark: Annotated[
        int, BeforeValidator(_counted), WithJsonSchema({"type": "integer", "minimum": 1, "maximum": 10**6 - 1})
    ]
    """The number of the mark, from 1."""
    answer: Filled
    """What was done about it."""
    by: Line = ""
    """Who answers."""


class Job(Table):
    """A whole job file: the room, the wood, the tops, and what is cut, joined and carried."""

    job: JobHead
    """Whose drawing it is, its number and its unit."""
    field: FieldFacts = FieldFacts()
    """How the measures were got."""
    wood: Wood
    """What the tops are made of."""
    shop: Shop
    """The shop's limits; what is left out holds by default."""
    sheet: SheetChoice
    """The sheets' size and how lengths are printed."""
    cut: Cut = Cut()
    """How the cut files are written."""
    site: Site = Site()
    """The house that the tops go into, and the way in."""
    load: Load
    """What overhangs are tried with, and what a person carries."""
    species: tuple[OwnSpecies, ...] = ()
    """Woods of the job's own, or figures in place of the table's."""
    revision: tuple[Change, ...] = ()
    """Revisions of the drawing, for the block that lists them."""
    room: Room = Room()
    """The room as a whole."""
    wall: tuple[Wall, ...] = ()
    """Walls, left to right as one faces them from the room."""
    window: tuple[Window, ...] = ()
    """Windows, which cutouts can be placed below."""
    measure: tuple[Measure, ...] = ()
    """Check measures between two points on walls."""
    cabinet: tuple[Cabinet, ...] = ()
    """Boxes of a string; a wall with one is carried by the listed ones only."""
    top: Annotated[tuple[Top, ...], Field(min_length=1)]
    """Tops: a run has `along`, a rectangle `size` or `base`, any other shape `outline`."""
    appliance: tuple[Appliance, ...] = ()
    """What breaks a run, or an opening below it."""
    cutout: tuple[Cutout, ...] = ()
    """What is cut through a top."""
    notch: tuple[Notch, ...] = ()
    """Chases, pilasters and posts in the back of a run."""
    joint: tuple[JointChoice, ...] = ()
    """Corners whose joint is settled by hand, and seams placed by hand."""
    support: tuple[Support, ...] = ()
    """What carries a top beside its cabinets."""
    edge: tuple[Edge, ...] = ()
    """Sides with a profile of their own, or left as the tree grew."""
    groove: tuple[Groove, ...] = ()
    """Parallel grooves with round ends, let into a face."""
    slot: tuple[Slot, ...] = ()
    """Slots with round ends, for knives or the like; without a depth they go through."""
    recess: tuple[Recess, ...] = ()
    """Trays let into a face, with rounded corners."""
    answer: tuple[Answer, ...] = ()
    """What was done about the marks of a drawing that came back."""
