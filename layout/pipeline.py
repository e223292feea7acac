"""The one way through all stages: text to job, room, tops, cutouts, pieces, support and findings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from layout.checks import check
from layout.cutouts import place_cutouts, with_aprons
from layout.details import Detail, details
from layout.faults import PlaceError
from layout.findings import Finding
from layout.job import Job
from layout.job_shop import CutContours, CutVersion
from layout.laid import Laid
from layout.milling import place_milling
from layout.natural import with_natural_edges
from layout.notches import with_notches
from layout.pieces import Divided, divide
from layout.profiles import heed_edges
from layout.reading import Located, load_located, located, read_located
from layout.room import plan_room
from layout.rule_table import RULES
from layout.splashes import Splash, splashes
from layout.support import carry, place_supports
from layout.templates import Template
from layout.tops import lay_tops
from layout.units import Labels


@dataclass(frozen=True)
class Layout:
    """A job laid out: everything the report and the drawings tell."""

    laid: Laid
    findings: tuple[Finding, ...]
    splashes: tuple[Splash, ...]

    @property
    def job(self) -> Job:
        """The job."""
        return self.laid.job

    @cached_property
    def details(self) -> tuple[tuple[str, Detail], ...]:
        """The details that the drawing calls for, each under its letter; worked out when first asked for."""
        return details(self.laid)

    @property
    def divided(self) -> Divided:
        """Its pieces, joints and parts."""
        return self.laid.divided

    @property
    def stopped(self) -> frozenset[str]:
        """The pieces that a ``stop`` finding touches: they are not cut."""
        return frozenset(p for f in self.findings if f.severity == "stop" for p in f.pieces)

    @property
    def held(self) -> tuple[str, ...]:
        """The codes that keep the job from being released: what cannot be made, and what is not proven."""
        return tuple(dict.fromkeys(f.code for f in self.findings if f.severity == "stop" or RULES[f.code].holds))

    def cut_as(self, version: CutVersion | None, contours: CutContours | None) -> Layout:
        """Return the layout with its cut files written so, whatever the job says; None leaves the job's choice."""
        changed = {k: v for k, v in (("version", version), ("contours", contours)) if v is not None}
        if not changed:
            return self
        job = self.job.model_copy(update={"cut": self.job.cut.model_copy(update=changed)})
        return replace(self, laid=replace(self.laid, job=job))


def lay_out(job: Job, templates: Mapping[int, Template] | None = None) -> Layout:
    """Return the job laid out and checked. Raises PlaceError where something cannot be laid out at all.

    ``templates``: those that its cutouts name, by the cutout's number, as `reading.read_located` brings them.
    """
    room = plan_room(job)
    bare = tuple(with_natural_edges(job, top) for top in with_notches(job, room, lay_tops(job, room)))
    cutouts = place_cutouts(job, room, bare, templates or {})
    tops = tuple(with_aprons(top, cutouts) for top in bare)
    heed_edges(job, tops)
    divided = divide(job, room, tops, cutouts)
    milled = place_milling(job, room, tops, cutouts)
    supports = place_supports(job, room, tops)
    carried = tuple(carry(job, room, top, divided, supports) for top in tops)
    labels = Labels(job.job.units, job.sheet.denominator, job.sheet.feet)
    laid = Laid(job, room, tops, cutouts, divided, milled, supports, carried, labels)
    return Layout(laid, check(laid), splashes(laid))


def lay_text(text: str, name: str = "job.toml") -> Layout:
    """Return the job in ``text`` laid out. Raises JobError with every fault, each with its place."""
    return lay_located(load_located(text, name))


def lay_file(path: Path) -> Layout:
    """Return the job in a file laid out. Raises JobError with every fault, each with its place."""
    return lay_located(read_located(path))


def lay_located(found: Located) -> Layout:
    """Return a job that was read laid out. Raises JobError where something cannot be laid out, with its place."""
    try:
        return lay_out(found.job, found.templates)
    except PlaceError as error:
        raise located(error, found.source) from error
