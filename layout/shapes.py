"""Whether a top's own shape can be: outlines that do not cross themselves, corners that fit, rises within their edge.

All of it exact, on the lengths as typed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from fractions import Fraction

from layout.faults import KeyPath
from layout.rules import MOST_POINTS
from layout.sketch import Sketch, Table

Exact = tuple[Fraction, Fraction]
"""A point in mm."""
Grid = tuple[int, int]
"""A point in a unit so fine that every coordinate is whole."""


def check_rectangle(sketch: Sketch, path: KeyPath, table: Table) -> None:
    """Note corners that do not fit a rectangle, and overhangs that leave nothing to stand on."""
    over = table.get("overhang", {})
    stated = sketch.lengths(table.get("size", table.get("base")))
    # a size that is none has a fault of its own
    if not isinstance(over, dict) or stated is None or len(stated) != 2 or min(stated) <= 0:
        return
    hang = sketch.lengths([over.get(side, 0) for side in ("left", "right", "front", "back")])
    if hang is None:
        return
    wide, deep = hang[0] + hang[1], hang[2] + hang[3]
    size = stated if "size" in table else (stated[0] + wide, stated[1] + deep)
    if wide >= size[0] or deep >= size[1]:
        sketch.snags.add_typed((*path, "overhang"), "overhangs that leave some of the size to stand on")
    _check_corner_fit(sketch, (*path, "corners"), table.get("corners"), size)


def _check_corner_fit(sketch: Sketch, path: KeyPath, corners: object, size: tuple[Fraction, ...]) -> None:
    taken = {}
    for name, cut in corners.items() if isinstance(corners, dict) else ():
        legs = _legs(sketch, cut)
        if legs is not None:
            taken[name] = dict(zip(("along", "end"), legs, strict=True))
    sides = {
        "front": ("along", size[0], ("front left", "front right")),
        "back": ("along", size[0], ("back left", "back right")),
        "left": ("end", size[1], ("front left", "back left")),
        "right": ("end", size[1], ("front right", "back right")),
    }
    for side, (leg, length, ends) in sides.items():
        met = [name for name in ends if name in taken]
        if sum((taken[name][leg] for name in met), Fraction(0)) > length:
            widest = max(met, key=lambda name: taken[name][leg])
            expected = f"corners that fit the {side} side, {sketch.shown(length)} long"
            sketch.snags.add_typed((*path, widest), expected)


def _legs(sketch: Sketch, cut: object) -> tuple[Fraction, ...] | None:
    """Return how much of the front or back and of the end a corner takes off, mm."""
    if not isinstance(cut, dict):
        return None
    clip = cut.get("clip")
    if isinstance(clip, list):
        legs = sketch.lengths(clip)
        return legs if legs is not None and len(legs) == 2 else None
    leg = sketch.length(cut.get("radius", clip))
    return None if leg is None else (leg, leg)


def check_outline(sketch: Sketch, path: KeyPath, table: Table) -> None:
    """Note what is wrong with a free outline, its arcs, its corners by number and its support."""
    points = _points(sketch, table.get("outline"))
    outline = (*path, "outline")
    if points is not None and _is_sound(sketch, outline, points):
        _check_rises(sketch, (*path, "rise"), table.get("rise"), points)
    count = len(table["outline"]) if isinstance(table.get("outline"), list) else 0
    for key, what in (("corners", "point"), ("rise", "edge")):
        numbered = table.get(key)
        for number in numbered if isinstance(numbered, dict) and count >= 3 else ():
            if not _is_number(number, count):
                place = (*path, key, number)
                expected = f"the number of {'an' if what == 'edge' else 'a'} {what}, 1 to {count}"
                sketch.snags.add(place, f'"{number}"', expected, at_key=True)
    support = _points(sketch, table.get("support"))
    if support is not None:
        _is_sound(sketch, (*path, "support"), support, either_way=True)


def too_many_points(count: int) -> tuple[str, str]:
    """Return what is found and what is expected where an outline has too many points."""
    return f"{count:,} points", f"at most {MOST_POINTS:,} points; arcs go under rise"


def _is_number(text: str, count: int) -> bool:
    return re.fullmatch(r"[1-9][0-9]{0,5}", text) is not None and int(text) <= count


def _points(sketch: Sketch, listed: object) -> list[Exact] | None:
    """Return a list of points in mm, or None where any of them cannot be read."""
    read = [sketch.lengths(point) for point in listed] if isinstance(listed, list) else []
    points = [(point[0], point[1]) for point in read if point is not None and len(point) == 2]
    return points if len(points) == len(read) >= 3 else None


def _check_rises(sketch: Sketch, path: KeyPath, rises: object, points: list[Exact]) -> None:
    for number, value in rises.items() if isinstance(rises, dict) else ():
        rise = sketch.length(value)
        if rise is None or not _is_number(number, len(points)):
            continue
        (x0, y0), (x1, y1) = points[int(number) - 1], points[int(number) % len(points)]
        chord = (x1 - x0) ** 2 + (y1 - y0) ** 2
        if rise == 0:
            sketch.snags.add_typed((*path, number), "a rise, or nothing for a straight edge")
        elif 4 * rise**2 > chord:
            most = sketch.shown(math.sqrt(chord) / 2)
            sketch.snags.add_typed((*path, number), f"at most half of the edge, {most}")


def _is_sound(sketch: Sketch, path: KeyPath, points: list[Exact], *, either_way: bool = False) -> bool:
    """Return whether points make a simple polygon, counter-clockwise or ``either_way``; note the first thing wrong."""
    snags, count = sketch.snags, len(points)
    if count > MOST_POINTS:
        snags.add(path, *too_many_points(count))
        return False
    scale = math.lcm(*(c.denominator for point in points for c in point))
    grid = [(int(x * scale), int(y * scale)) for x, y in points]
    for at in range(count):
        if grid[at] == grid[at - 1]:
            expected = (
                "no closing point: the last one joins the first" if at == 0 else "a point apart from the one before"
            )
            snags.add_typed((*path, at if at else count - 1), expected)
            return False
    crossing = next(_crossings(grid), None)
    if crossing is not None:
        first, second = crossing
        found = f"edges {first + 1} and {second + 1} that cross or touch"
        snags.add((*path, second), found, "an outline that does not meet itself, its points in order")
        return False
    area = sum(_cross((0, 0), grid[at - 1], grid[at]) for at in range(count))
    if area < 0 and not either_way:
        snags.add(path, "points listed clockwise", "the points counter-clockwise")
    return area != 0 if either_way else area > 0


def _crossings(points: list[Grid]) -> Iterator[tuple[int, int]]:
    """Yield pairs of edges, by number from 0, that meet anywhere but at the point they share."""
    count = len(points)
    ends = [(points[at], points[(at + 1) % count]) for at in range(count)]
    near: list[int] = []  # edges begun left of the one in hand and not yet ended
    for edge in sorted(range(count), key=lambda e: min(ends[e])[0]):
        left = min(ends[edge])[0]
        near = [other for other in near if max(ends[other])[0] >= left]
        for other in near:
            first, second = sorted((edge, other))
            if second - first in (1, count - 1):
                if _folds_back(ends[first], ends[second], first == second - 1):
                    yield first, second
            elif _meet(ends[first], ends[second]):
                yield first, second
        near.append(edge)


def _folds_back(first: tuple[Grid, Grid], second: tuple[Grid, Grid], in_order: bool) -> bool:
    """Return whether of two edges that share a point the later one runs back over the earlier one."""
    (a, b), (_, c) = (first, second) if in_order else (second, first)
    back = (a[0] - b[0]) * (c[0] - b[0]) + (a[1] - b[1]) * (c[1] - b[1])
    return _cross(a, b, c) == 0 and back > 0


def _meet(first: tuple[Grid, Grid], second: tuple[Grid, Grid]) -> bool:
    (a, b), (c, d) = first, second
    for axis in (0, 1):
        if max(a[axis], b[axis]) < min(c[axis], d[axis]) or max(c[axis], d[axis]) < min(a[axis], b[axis]):
            return False
    apart = _sign(_cross(a, b, c)) * _sign(_cross(a, b, d)) > 0 or _sign(_cross(c, d, a)) * _sign(_cross(c, d, b)) > 0
    return not apart


def _cross(a: Grid, b: Grid, c: Grid) -> int:
    """Return twice the signed area of a triangle, positive counter-clockwise."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _sign(value: int) -> int:
    return (value > 0) - (value < 0)
