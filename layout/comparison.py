"""Two reports while they are held against each other: what of both is one thing, and how a change is told."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TypeVar

from layout.changes import Change, Figures, Happened, What, middle
from layout.matching import Datum, joints_paired, motions, pieces_paired
from layout.outline import Point, Ring
from layout.told import Told

Thing = TypeVar("Thing")


class Comparison:
    """Two reports, with their pieces and joints paired and the ways in which walls moved."""

    def __init__(self, old: Told, new: Told) -> None:
        """Take both reports."""
        self.old, self.new = old, new
        self.say = Figures(new.job.units)
        self.ways = motions(old, new)
        self.pieces = pieces_paired(old, new)
        self.renamed = {p.id: q.id for p, q in self.pieces if p is not None and q is not None}
        self.joints = joints_paired(old, new, self.renamed)
        self.joint_names = {a.id: b.id for a, b in self.joints if a is not None and b is not None}
        before, after = ({p.name for p in r.tops} for r in (old, new))
        self.tops_new, self.tops_gone = after - before, before - after

    def change(
        self,
        what: What,
        name: str,
        kind: Happened,
        words: str,
        figures: tuple[float, float] | None = None,
        paths: Sequence[Sequence[Point]] = (),
        piece: str | None = None,
    ) -> Change:
        """Return a change; ``figures`` (old, new) and ``paths`` in mm."""
        old, new = (None, None) if figures is None else (self.say.number(figures[0]), self.say.number(figures[1]))
        drawn = tuple(tuple(self.say.point(p) for p in path) for path in paths)
        at = None if not drawn else self.say.point(middle(paths[0]))
        return Change(what, name, kind, f"{words[:1].upper()}{words[1:]}", old, new, at, piece, drawn)

    def alone(self, was: Thing | None, now: Thing | None) -> tuple[Thing, Told, Happened, str]:
        """Return what one report alone has, that report, what happened to it and the word for that; one of both is None."""
        if now is not None:
            return now, self.new, *gone(True)
        assert was is not None
        return was, self.old, *gone(False)


def gone(new: bool) -> tuple[Happened, str]:
    """Return what happened to a thing that one report alone has, and the word for it."""
    return ("added", "new") if new else ("removed", "gone")


def along(at: Datum, top: str) -> str:
    """Return along what a station is told."""
    return f"along wall {at.wall}" if at.wall else f"along the grain of {top} from its end"


def closed(ring: Ring) -> tuple[Point, ...]:
    """Return an outline as a path that comes back to where it began, arcs as chords."""
    points = ring.flattened(1.0)
    return (*points, points[0])


def renamed(text: str, names: dict[str, str]) -> str:
    """Return a text with the ids of pieces and joints as they are now."""
    return re.sub(r"\b[PJ]\d+\b", lambda m: names.get(m[0], m[0]), text)
