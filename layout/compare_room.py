"""What changed of a job itself, its wood, its walls and its check measures."""

from __future__ import annotations

import math
from collections.abc import Iterator

from layout.changes import Change, apart, degrees, with_degrees
from layout.comparison import Comparison, gone
from layout.matching import SAME, by_key
from layout.told import Measure, Told, Wall
from layout.units import UNIT_NAMES

ANGLE = 0.005
"""Angles that differ by less, degrees, are the same."""


def job_changes(both: Comparison) -> Iterator[Change]:
    """Yield what changed of the number, title, revision and units."""
    was, now = both.old.job, both.new.job
    rows = (
        ("number", was.number, now.number),
        ("title", was.title, now.title),
        ("revision", was.revision or "none", now.revision or "none"),
        ("units", UNIT_NAMES[was.units], UNIT_NAMES[now.units]),
    )
    for name, before, after in rows:
        if before != after:
            verb = "are" if name == "units" else "is"
            yield both.change("job", name, "changed", f"the job's {name} {verb} {after}, was {before}")


def wood_changes(both: Comparison) -> Iterator[Change]:
    """Yield what changed of species, movement, moisture and thickness."""
    was, now = both.old.wood, both.new.wood
    if was.species != now.species:
        yield both.change("wood", "species", "changed", f"the wood is {now.species}, was {was.species}")
    elif (was.coefficient, was.basis) != (now.coefficient, now.basis):
        words = [
            "of unknown movement"
            if w.coefficient is None
            else f"{w.coefficient:g} of its width for each 1 % ({w.basis})"
            for w in (now, was)
        ]
        yield both.change("wood", "movement", "changed", f"the wood's movement is {words[0]}, was {words[1]}")
    if max(abs(a - b) for a, b in zip(was.moisture, now.moisture, strict=True)) > 1e-3:
        words = [f"{w.moisture[0]:.2f} to {w.moisture[1]:.2f} %" for w in (now, was)]
        yield both.change("wood", "moisture", "changed", f"the wood's moisture is {words[0]}, was {words[1]}")
    sizes = [sorted({p.thickness * r.unit for p in r.pieces}) for r in (both.old, both.new)]
    if sizes[0] and sizes[1] and abs(sizes[0][0] - sizes[1][0]) > SAME:
        before, after = apart([both.say.labels.fine, both.say.exact], sizes[0][0], sizes[1][0])
        words_ = f"the tops are {after} thick, were {before}"
        yield both.change("wood", "thickness", "changed", words_, (sizes[0][0], sizes[1][0]))


def wall_changes(both: Comparison) -> Iterator[Change]:
    """Yield walls that are new, gone, longer, shorter or at another corner."""

    def length(report: Told, wall: Wall) -> float:
        return math.dist(report.point(wall.start), report.point(wall.end))

    for was, now in by_key(both.old.room.walls, both.new.room.walls, lambda w: w.name):
        if was is None or now is None:
            report, wall = (both.old, was) if was is not None else (both.new, now)
            assert wall is not None
            size = both.say.labels.text(length(report, wall))
            paths = [(report.point(wall.start), report.point(wall.end))]
            if was is None:
                yield both.change("wall", wall.name, "added", f"wall {wall.name} is new, {size} long", None, paths)
            else:
                yield both.change("wall", wall.name, "removed", f"wall {wall.name} is gone, {size} long")
            continue
        end = [(both.new.point(now.end),)]
        figures = (length(both.old, was), length(both.new, now))
        if abs(figures[0] - figures[1]) > SAME:
            before, after = both.say.pair(*figures)
            yield both.change(
                "wall", now.name, "changed", f"wall {now.name} is {after} long, was {before}", figures, end
            )
        if abs(was.corner - now.corner) > ANGLE:
            before, after = degrees(was.corner, now.corner)
            words = f"the corner at the end of wall {now.name} is {after}, was {before}"
            found = both.change("wall", now.name, "changed", words, None, end)
            yield with_degrees(found, was.corner, now.corner)


def measure_changes(both: Comparison) -> Iterator[Change]:
    """Yield what changed of the check measures and of the closing error."""

    def key(m: Measure) -> tuple[str, str]:
        return (m.from_, m.to)

    for was, now in by_key(both.old.room.measures, both.new.room.measures, key):
        either = now or was
        assert either is not None
        name = f"{either.from_} to {either.to}"
        if was is None or now is None:
            size = both.say.labels.text(either.measured * (both.new if was is None else both.old).unit)
            kind, word = gone(was is None)
            yield both.change("measure", name, kind, f"the check measure {name} is {word}, {size}")
            continue
        figures = (was.measured * both.old.unit, now.measured * both.new.unit)
        if abs(figures[0] - figures[1]) > SAME:
            before, after = both.say.pair(*figures)
            yield both.change("measure", name, "changed", f"the check measure {name} is {after}, was {before}", figures)
    errors = [None if r.room.closure is None else r.room.closure * r.unit for r in (both.old, both.new)]
    if errors[0] is not None and errors[1] is not None and abs(errors[0] - errors[1]) > SAME:
        before, after = both.say.pair(errors[0], errors[1])
        words = f"the closing error of the walls is {after}, was {before}"
        yield both.change("measure", "closing error", "changed", words, (errors[0], errors[1]))
