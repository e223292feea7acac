"""Where in the job file a thing that was laid out is told: the key path of the table that a drafter would change.

`source.Source.place` gives such a path its line. What the program chose itself, such as a seam, is told where its top is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import chain

from layout.cutouts import PlacedCutout, station
from layout.faults import KeyPath
from layout.findings import Finding
from layout.job import Job
from layout.job_joints import JointChoice
from layout.milling import Milled
from layout.outline import SAME
from layout.pieces import Joint, Piece
from layout.pipeline import Layout


def piece_told(job: Job, piece: Piece) -> KeyPath:
    """Return where the top of a piece is told."""
    return _top_told(job, piece.top)


def joint_told(layout: Layout, joint: Joint) -> KeyPath:
    """Return where a joint is asked for; of one that the program chose, where its top is told."""
    for k, choice in enumerate(layout.job.joint):
        if choice.top == joint.top and _asks_for(layout, choice, joint):
            return ("joint", k)
    return _top_told(layout.job, joint.top)


def cutout_told(job: Job, cut: PlacedCutout) -> KeyPath:
    """Return where a cutout is told; of an opening that a template brings, where the template's cutout is."""
    return next((("cutout", k) for k, c in enumerate(job.cutout) if c.name == (cut.parent or cut.name)), ())


def milled_told(item: Milled) -> KeyPath:
    """Return where a groove, slot or recess is told."""
    return (item.family, item.index)


def finding_told(layout: Layout, found: Finding) -> KeyPath:
    """Return where what a finding is about is told: the first thing its subject names, else its first piece, else ``()``."""
    named = dict(_by_name(layout))
    subjects = [found.subject, *re.split(r",\s*", found.subject), *found.subject.split()]
    for word in chain(subjects, found.pieces):
        if word in named:
            return named[word]
    return ()


def _top_told(job: Job, name: str) -> KeyPath:
    return next((("top", k) for k, top in enumerate(job.top) if top.name == name), ())


def _asks_for(layout: Layout, choice: JointChoice, joint: Joint) -> bool:
    if choice.corner is not None:
        return joint.corner is not None and _walls(choice.corner) == _walls(joint.corner)
    if choice.at is None or joint.station is None or choice.wall not in (None, joint.wall):
        return False
    at = float(choice.at)
    if choice.wall is not None:
        at = station(layout.laid.room, choice.wall, at, choice.from_)
    return abs(at - joint.station) < SAME


def _walls(corner: str) -> set[str]:
    return {wall.strip() for wall in corner.split("/")}


def _by_name(layout: Layout) -> Iterator[tuple[str, KeyPath]]:
    """Yield what a finding's subject may name with its place; of two things of one name the later one counts."""
    job, laid = layout.job, layout.laid
    yield "field", ("field",)
    for k, measure in enumerate(job.measure):
        yield f"{measure.from_} to {measure.to}", ("measure", k)
    # a kind of appliance names the first of its kind
    for k, spec in reversed(list(enumerate(job.cutout))):
        yield spec.kind, ("cutout", k)
    for k, appliance in reversed(list(enumerate(job.appliance))):
        yield appliance.kind, ("appliance", k)
    for family in ("wall", "window", "support", "top"):
        for k, table in enumerate(getattr(job, family)):
            if table.name is not None:
                yield table.name, (family, k)
    for piece in layout.divided.pieces:
        yield piece.id, piece_told(job, piece)
    for joint in layout.divided.joints:
        yield joint.id, joint_told(layout, joint)
    for item in laid.milled:
        yield item.name, milled_told(item)
    for cut in laid.cutouts:
        yield cut.name, cutout_told(job, cut)
