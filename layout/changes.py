"""One change between two reports, and its figures in words: as printed, and finer only where they would read alike."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

from layout.outline import Point
from layout.units import UNIT_MM, Labels, Unit

What = Literal[
    "job",
    "wood",
    "wall",
    "measure",
    "top",
    "piece",
    "joint",
    "cutout",
    "milled",
    "edge",
    "overhang",
    "finding",
    "stated",
]
Happened = Literal["added", "removed", "changed"]


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that changed. ``words``: a plain sentence with both figures as printed.

    ``old``, ``new``: lengths in the new report's units (angles in degrees), None where it is no one figure. ``at``: a place
    of it in plan, new job units, None where it has none. ``piece``: the piece it is of. ``paths``: what of the plan a
    cloud goes round, new job units; a path whose ends meet goes round what it encloses.
    """

    what: What
    name: str
    kind: Happened
    words: str
    old: float | None = None
    new: float | None = None
    at: Point | None = None
    piece: str | None = None
    paths: tuple[tuple[Point, ...], ...] = ()


def change_facts(change: Change) -> dict[str, Any]:
    """Return a change for programs; lengths in job units."""
    return asdict(change)


class Figures:
    """Pairs of figures in words, as fine as it takes to tell them apart."""

    def __init__(self, unit: Unit) -> None:
        """Take the unit in which they are told."""
        self.labels = Labels(unit)
        self.unit = unit
        self.mm = float(UNIT_MM[unit])

    def pair(self, was: float, now: float) -> tuple[str, str]:
        """Return two lengths (mm) as printed; where they print alike to 1/64 in or 0.1 mm, and then far finer."""
        return apart([self.labels.text, self.labels.fine, self.exact], was, now)

    def told_apart(self, was: float, now: float) -> bool:
        """Return whether two lengths (mm) read differently to 1/64 in or 0.1 mm."""
        return self.labels.fine(was) != self.labels.fine(now)

    def exact(self, mm: float) -> str:
        """Return a length (mm) far finer than any tape."""
        return f'{mm / self.mm:.4f}"' if self.unit == "in" else f"{mm:.3f}"

    def area(self, was: float, now: float) -> tuple[str, str]:
        """Return two areas (mm2) in square feet or square metres."""
        per, noun = (92903.04, "sq ft") if self.unit == "in" else (1e6, "m2")

        def way(places: int) -> Callable[[float], str]:
            return lambda mm2: f"{mm2 / per:.{places}f} {noun}"

        return apart([way(2), way(4), way(6)], was, now)

    def number(self, mm: float) -> float:
        """Return a length in job units, six decimals."""
        return round(mm / self.mm, 6) + 0.0

    def point(self, p: Point) -> Point:
        """Return a point in job units."""
        return (self.number(p[0]), self.number(p[1]))


def apart(ways: Sequence[Callable[[float], str]], was: float, now: float) -> tuple[str, str]:
    """Return two figures in the first of ways in which they read differently, else in the last."""
    told = [(way(was), way(now)) for way in ways]
    # what hardly differs is the same, and reads as ever
    return next((pair for pair in told if pair[0] != pair[1]), told[0 if abs(was - now) < 1e-3 else -1])


def degrees(was: float, now: float) -> tuple[str, str]:
    """Return two angles in words."""
    return apart([lambda a: f"{round(a, 2):g}°", lambda a: f"{round(a, 4):g}°"], was, now)


def with_degrees(change: Change, old: float, new: float) -> Change:
    """Return a change with its figures in degrees."""
    return replace(change, old=round(old, 6), new=round(new, 6))


def middle(path: Sequence[Point]) -> Point:
    """Return the middle of a path, or of what a closed one takes."""
    xs, ys = [p[0] for p in path], [p[1] for p in path]
    if path[0] == path[-1]:
        return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    half = sum(math.dist(a, b) for a, b in zip(path, path[1:], strict=False)) / 2
    for a, b in zip(path, path[1:], strict=False):
        step = math.dist(a, b)
        if step and half <= step:
            return (a[0] + (b[0] - a[0]) * half / step, a[1] + (b[1] - a[1]) * half / step)
        half -= step
    return path[0]
