"""Do the printed numbers define the piece? A reader that knows only them, and what they attach to, rebuilds it.

The solver sees the piece's view and nothing else: each dimension's figure as printed, the points it is drawn to, and the
datum lines x = 0 (the left end) and y = 0 (the front). Along the grain and across it every vertex, every cutout and every
centre must come out within half of the last printed place; angles and diagonals are not used.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest
from rooms import random_job
from test_sheets import drawn

from layout.clouds import revised
from layout.cutouts import PlacedCutout
from layout.drawing import Dimension, Drawing, Text, View
from layout.natural import natural_sides
from layout.outline import arc_of
from layout.pieces import Piece
from layout.pipeline import Layout, lay_text
from layout.schedules import blocks
from layout.sheets import draw
from layout.tabular import Table

ROOT = Path(__file__).resolve().parent
JOBS = sorted([*(ROOT.parent / "samples" / "jobs").glob("*.toml"), *(ROOT / "field_sketches").glob("*.toml")])
GRID = 1e-4
"""Points nearer than this (mm) stand on one line of the drawing."""


def printed(text: str, inches: bool) -> float:
    """Read a figure back, in mm: inches with a fraction, or millimetres."""
    match = re.fullmatch(r"(?:(\d+)(?![\d/]))? ?(?:(\d+)/(\d+))?\"?", text.strip("()"))
    assert match is not None, text
    whole, num, den = match.groups()
    value = Fraction(int(whole or 0)) + (Fraction(int(num), int(den)) if num else 0)
    return float(value * Fraction(127, 5) if inches else value)


def key(value: float) -> int:
    return round(value / GRID)


class Solved:
    """Coordinates that follow from the printed figures of one view, by where they stand in the drawing."""

    def __init__(self, view: View, inches: bool) -> None:
        self.axes: tuple[dict[int, float], dict[int, float]] = ({0: 0.0}, {0: 0.0})
        self.slanted: list[tuple[float, float, float]] = []
        open_ends = []
        for item in view.items:
            if not isinstance(item, Dimension):
                continue
            (ax, ay), (bx, by) = item.line
            turn = math.atan2(by - ay, bx - ax) % math.pi
            value = printed(item.label.text, inches)
            if min(turn, math.pi - turn) < 1e-6:
                open_ends.append((0, item, value))
            elif abs(turn - math.pi / 2) < 1e-6:
                open_ends.append((1, item, value))
            else:
                self.slanted.append((turn, value, item.value))
        # figures that start from what is known make more known, until nothing is left
        while open_ends:
            left = [entry for entry in open_ends if not self._settle(*entry)]
            assert len(left) < len(open_ends), [entry[1].label.text for entry in left]
            open_ends = left

    def _settle(self, axis: int, item: Dimension, value: float) -> bool:
        known = self.axes[axis]
        start, end = (key(p[axis]) for p in item.features)
        if start not in known and end in known:
            start, end, value = end, start, -value if item.features[0][axis] < item.features[1][axis] else value
        elif start not in known:
            return False
        else:
            value = math.copysign(value, item.features[1][axis] - item.features[0][axis])
        place = known[start] + value
        assert abs(known.setdefault(end, place) - place) < 1e-9, f"{item.label.text} contradicts another figure"
        for point in item.also:
            known.setdefault(key(point[axis]), place)
        return True

    def place(self, axis: int, value: float) -> float | None:
        """Return the coordinate that the figures give to what is drawn at ``value``; None if they leave it free."""
        for near in (0, 1, -1):
            found = self.axes[axis].get(key(value) + near)
            if found is not None:
                return found
        return None


def _cutout(
    layout: Layout,
    piece: Piece,
    cut: PlacedCutout,
    solved: Solved,
    words: list[str],
    check: Callable[[str, int, float], None],
    half: float,
) -> list[str]:
    """Check one cutout's place, and return what of its size, turn and radius is not printed."""
    found = []
    labels = layout.laid.labels
    x, y = piece.frame.from_plan(cut.center)
    x0, y0, x1, y1 = cut.ring.moved(piece.frame.from_plan).bounds()
    turned = cut.diameter is None and abs(math.sin(2 * (cut.angle - piece.frame.angle))) > 1e-9
    check(f"{cut.name} centre", 0, x)
    if cut.diameter is not None or cut.hole or turned:
        check(f"{cut.name} centre", 1, y)
    else:
        for axis, value in ((0, x0), (0, x1), (1, y0), (1, y1)):
            check(cut.name, axis, value)
    if turned:
        sizes = [value for _, value, _ in solved.slanted]
        found += [f"{cut.name}: size {s}" for s in cut.size if not any(abs(s - v) <= half + 1e-6 for v in sizes)]
        found += [] if any(w.startswith(f"{cut.name} turned") for w in words) else [f"{cut.name}: turn"]
    label = f"R {labels.fine(cut.radius)} 4x" if cut.radius else ""
    if cut.diameter is not None:
        label = f"{cut.name} {labels.fine(cut.diameter)} dia."
    return found if not label or label in words else [*found, f"{cut.name}: {label} is not printed"]


def _fair_points(layout: Layout, piece: Piece) -> list[tuple[float, float]]:
    """Read the points of a piece's natural edges back from their table, mm."""
    inches = layout.job.job.units == "in"
    tables = [b for b in blocks(layout, revised(layout)) if isinstance(b, Table) and b.title == "Natural edges"]
    found, of = [], ""
    for name, *places in (row for table in tables for row in table.rows):
        of = name or of
        if of.partition(" ")[0] == piece.id:
            pairs = zip(places[::2], places[1::2], strict=True)
            found += [(printed(x, inches), printed(y, inches)) for x, y in pairs if x]
    return found


def loose(layout: Layout, piece: Piece, view: View) -> list[str]:
    """Return what the printed figures leave free or put wrong by more than half the last place."""
    inches = layout.job.job.units == "in"
    half = 25.4 / layout.job.sheet.denominator / 2 if inches else 0.5
    solved = Solved(view, inches)
    words = [item.text for item in view.items if isinstance(item, Text)]
    found = []

    def check(what: str, axis: int, value: float) -> None:
        place = solved.place(axis, value)
        if place is None and abs(value) <= half:
            place = 0.0  # so near to the datum line that the drawing shows it there
        if place is None:
            found.append(f"{what}: {'xy'[axis]} = {value:.3f} is left free")
        elif abs(place - value) > half + 1e-6:
            found.append(f"{what}: {'xy'[axis]} = {value:.3f} is printed as {place:.3f}")

    radii: Counter[str] = Counter()
    natural = natural_sides(layout.job, piece.top)
    fair = _fair_points(layout, piece)
    for ring in piece.cut_rings():
        for n, v in enumerate(ring.vertices):
            if v.side in natural and ring.vertices[n - 1].side == v.side:
                # a point of a natural edge stands in a table, and its curve is fair, of no radius
                if not any(max(abs(v.x - x), abs(v.y - y)) <= half + 1e-6 for x, y in fair):
                    found.append(f"{piece.id} vertex {n}: ({v.x:.3f}, {v.y:.3f}) is in no table")
                continue
            check(f"{piece.id} vertex {n}", 0, v.x)
            check(f"{piece.id} vertex {n}", 1, v.y)
        for a, b in ring.edges():
            arc = arc_of(a, b)
            if arc is not None and a.side not in natural:
                radii[f"R {layout.laid.labels.fine(arc.radius)}"] += 1
    for cut in (c for c in piece.cutouts if not c.opens_front):
        found += _cutout(layout, piece, cut, solved, words, check, half)
    for radius, count in radii.items():
        label = f"{radius} {count}x" if count > 1 else radius
        if not any(w in (label, radius) or w.startswith(f"{radius} ") for w in words):
            found.append(f"{piece.id}: {label} is not printed")
    return found


def all_loose(layout: Layout, drawing: Drawing) -> list[str]:
    views = {v.id: v for s in drawing.sheets for v in s.views}
    return [f for p in layout.divided.pieces for f in loose(layout, p, views[f"piece-{p.id}"])]


@pytest.mark.parametrize("job", JOBS, ids=lambda p: p.stem)
def test_the_printed_numbers_rebuild_every_piece(job: Path) -> None:
    assert all_loose(*drawn(job.stem)) == []


@pytest.mark.parametrize("seed", range(8))
def test_the_printed_numbers_rebuild_the_pieces_of_random_rooms(seed: int) -> None:
    layout = lay_text(random_job(seed))
    assert all_loose(layout, draw(layout)) == []


@pytest.mark.sweep
@pytest.mark.parametrize("seed", range(100, 180))
def test_the_printed_numbers_rebuild_the_pieces_of_many_random_rooms(seed: int) -> None:
    layout = lay_text(random_job(seed))
    assert all_loose(layout, draw(layout)) == []


def test_the_solver_sees_what_is_left_out_and_what_is_wrong() -> None:
    layout, drawing = drawn(JOBS[0].stem)
    piece = layout.divided.pieces[0]
    view = next(v for s in drawing.sheets for v in s.views if v.id == f"piece-{piece.id}")
    assert loose(layout, piece, view) == []
    dims = [i for i in view.items if isinstance(i, Dimension)]
    without = View(
        view.id, view.title, tuple(i for i in view.items if i is not dims[-1]), view.scale, "", (0, 0), (0, 0, 1, 1)
    )
    assert any("is left free" in f for f in loose(layout, piece, without))


@pytest.mark.parametrize("job", JOBS, ids=lambda p: p.stem)
def test_nothing_is_printed_twice_in_a_piece_view(job: Path) -> None:
    """A measure stands once; a repeated one would stand in parentheses."""
    _, drawing = drawn(job.stem)
    for sheet in drawing.sheets:
        for view in (v for v in sheet.views if v.id.startswith("piece-")):
            seen: Counter[tuple[int, int, int]] = Counter()
            for item in view.items:
                if isinstance(item, Dimension) and not item.label.text.startswith("("):
                    axis = 0 if abs(item.line[0][1] - item.line[1][1]) < 1e-6 else 1
                    a, b = sorted(key(p[axis]) for p in item.features)
                    seen[axis, a, b] += 1
            assert [entry for entry, count in seen.items() if count > 1] == []
