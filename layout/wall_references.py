"""Checks of what stands along a wall: stations, stretches, windows, cabinets, check measures."""

from __future__ import annotations

from fractions import Fraction

from layout.faults import KeyPath
from layout.keys import LENGTHS
from layout.sketch import Sketch, Table, WallNote


def off_wall(sketch: Sketch, path: KeyPath, wall: WallNote, expected: str = "a station") -> None:
    """Note a station that does not lie on its wall."""
    length = sketch.snags.source.typed(("wall", wall.index, "length"))
    sketch.snags.add_typed(path, f'{expected} on wall "{wall.name}", which is {length} long')


def station_of(sketch: Sketch, value: object, table: Table, wall: WallNote) -> Fraction | None:
    """Return a station from the wall's start, mm, where it and the wall's length can be read."""
    at = sketch.length(value)
    if at is None or wall.length is None:
        return None
    return wall.length - at if table.get("from") == "right" else at


def note_stretch(sketch: Sketch, path: KeyPath, table: Table, wall: WallNote | None) -> None:
    """Note where what stands at ``at`` and is ``width`` wide leaves its wall."""
    width = sketch.length(table.get("width"))
    at = station_of(sketch, table.get("at"), table, wall) if wall else None
    if wall is None or at is None:
        return
    if not 0 <= at <= (wall.length or 0):
        off_wall(sketch, (*path, "at"), wall)
    elif width is not None and at + width > (wall.length or 0):
        off_wall(sketch, (*path, "width"), wall, "a right side that is still")


def note_windows(sketch: Sketch) -> None:
    """Note windows that do not lie on their wall."""
    for path, table in sketch.entries("window"):
        note_stretch(sketch, path, table, sketch.wall_at((*path, "wall"), table.get("wall")))


def note_cabinets(sketch: Sketch) -> None:
    """Note cabinets that do not lie on their wall."""
    for path, table in sketch.entries("cabinet"):
        note_stretch(sketch, path, table, sketch.wall_at((*path, "wall"), table.get("wall")))


def note_measures(sketch: Sketch) -> None:
    """Note check measures whose ends are no places on walls."""
    unit = sketch.unit or "in"
    expected = f'a wall with start, end or a station, such as "A start" or "A {LENGTHS[unit].split(",")[0]}"'
    for path, table in sketch.entries("measure"):
        for key in ("from", "to"):
            text, place = table.get(key), (*path, key)
            if not isinstance(text, str):
                continue
            name, _, point = text.strip().partition(" ")
            if not point.strip():
                sketch.snags.add_typed(place, expected)
                continue
            wall = sketch.wall_at(place, name)
            if point.strip() in ("start", "end") or wall is None:
                continue
            station = sketch.length(point)
            if not sketch.is_length(point):
                sketch.snags.add_typed(place, expected)
            elif station is not None and wall.length is not None and not 0 <= station <= wall.length:
                off_wall(sketch, place, wall)
