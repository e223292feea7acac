"""Checks of tops against the walls they go along: order, depths, ends, corners."""

from __future__ import annotations

from itertools import pairwise

from layout.faults import KeyPath
from layout.job_tops import CUT_SQUARE, CornerCut, InsideCut, RectTop, RunTop
from layout.keys import choice
from layout.shapes import check_outline, check_rectangle
from layout.sketch import Sketch, TopNote, WallNote, note_together
from layout.wall_references import off_wall


def note_tops(sketch: Sketch) -> None:
    """Note what is wrong with tops against the walls they go along."""
    for top in sketch.all_tops:
        corners = top.table.get("corners")
        for name, cut in corners.items() if isinstance(corners, dict) else ():
            if isinstance(cut, dict):
                note_together(sketch, (*top.path, "corners", name), cut, CornerCut)
        if top.shape == "run":
            _run(sketch, top)
        elif top.shape == "rectangle":
            note_together(sketch, top.path, top.table, RectTop)
            check_rectangle(sketch, top.path, top.table)
        elif top.shape == "outline":
            check_outline(sketch, top.path, top.table)


def _run(sketch: Sketch, top: TopNote) -> None:
    along = top.table.get("along")
    for at, name in enumerate(along if isinstance(along, list) else ()):
        sketch.wall_at((*top.path, "along", at), name)
    _run_corners(sketch, top)
    if top.along is None or not _is_consecutive(sketch, top, top.along):
        return
    _inside_corners(sketch, top, top.along)
    _by_wall(sketch, top, "depth", top.along)
    _by_wall(sketch, top, "splash", top.along)
    _start_and_end(sketch, top, top.along[0], top.along[-1])


def _is_consecutive(sketch: Sketch, top: TopNote, along: tuple[WallNote, ...]) -> bool:
    order = {wall.index: wall.name for wall in sketch.walls.values()}
    last = max(order)
    closed = sketch.section("room").get("closed") is True
    for at, (before, wall) in enumerate(pairwise(along), 1):
        place = (*top.path, "along", at)
        if wall in along[:at]:
            sketch.snags.add_typed(place, "each wall once")
            return False
        following = 0 if closed and before.index == last else before.index + 1
        if wall.index != following:
            follows = f'"{order[following]}"' if following in order else "no wall"
            sketch.snags.add_typed(place, f'consecutive walls, left to right: after "{before.name}" comes {follows}')
            return False
    return True


def _by_wall(sketch: Sketch, top: TopNote, key: str, along: tuple[WallNote, ...]) -> None:
    stated = top.table.get(key)
    if not isinstance(stated, dict):
        return
    known = [wall.name for wall in along]
    sides = [*known, "left", "right"] if key == "splash" else known
    for name in stated:
        if name not in sides:
            sketch.snags.add((*top.path, key, name), f'"{name}"', f"a side of this run: {choice(sides)}", at_key=True)
    for name in known if key == "depth" else ():
        if name not in stated:
            sketch.snags.add((*top.path, key, name), "nothing", f'the depth along wall "{name}"')


def _start_and_end(sketch: Sketch, top: TopNote, first: WallNote, last: WallNote) -> None:
    start, end = sketch.length(top.table.get("start", 0)), sketch.length(top.table.get("end"))
    if start is not None and first.length is not None and not 0 <= start < first.length:
        off_wall(sketch, (*top.path, "start"), first)
    if end is not None and last.length is not None and end > last.length:
        off_wall(sketch, (*top.path, "end"), last)
    if first is last and start is not None and end is not None and end <= start:
        sketch.snags.add_typed((*top.path, "end"), "a station to the right of the start")


def _inside_corners(sketch: Sketch, top: TopNote, along: tuple[WallNote, ...]) -> None:
    stated = top.table.get("inside")
    known = [f"{a.name}/{b.name}" for a, b in pairwise(along)]
    for name, cut in stated.items() if isinstance(stated, dict) else ():
        place = (*top.path, "inside", name)
        if name not in known:
            expected = f"a corner of this run: {choice(known)}" if known else "nothing: this run has no corner"
            sketch.snags.add(place, f'"{name}"', expected, at_key=True)
        elif isinstance(cut, dict):
            note_together(sketch, place, cut, InsideCut)


def _run_corners(sketch: Sketch, top: TopNote) -> None:
    corners = top.table.get("corners")
    for name in corners if isinstance(corners, dict) else ():
        for end, mine in RunTop.ends.items():
            kind = top.table.get(end)
            if name in mine and kind in CUT_SQUARE:
                found = f'"{name}" at an end of kind "{kind}"'
                sketch.snags.add((*top.path, "corners", name), found, "corners at exposed ends only", at_key=True)


def known_corner(sketch: Sketch, place: KeyPath, corner: str, top: TopNote) -> bool:
    """Return whether a run has that corner, noting where it does not."""
    if top.along is None or sketch.snags.within((*top.path, "along")):
        return False
    pairs = [f"{a.name}/{b.name}" for a, b in pairwise(top.along)]
    if corner.strip() in pairs:
        return True
    known = f"a corner of {top.called}: {choice(pairs)}" if pairs else f"a run with a corner: {top.called} has none"
    sketch.snags.add_typed(place, known)
    return False
