"""What is no kitchen any more: how large a wall or a top and how many of anything a job may have.

Past these a job is refused in words. They lie far above any house and below what would take minutes to draw, or a machine's
memory: a decimal point or a unit slipped in a length, a table pasted a hundred times, some other program's file.
"""

from __future__ import annotations

from fractions import Fraction

from layout.faults import KeyPath
from layout.rules import (
    DEEPEST,
    LARGEST,
    LEAST,
    MOST,
    MOST_EACH,
    MOST_LEGS,
    MOST_LET_IN,
    MOST_NOTES,
    MOST_ON_A_TOP,
    MOST_POINTS,
    MOST_STATIONS,
    SMALLEST,
    Default,
)
from layout.shapes import too_many_points
from layout.sketch import Sketch, Table, TopNote
from layout.source import Snags
from layout.units import parse_length


def check_counts(data: Table, snags: Snags) -> None:
    """Note what a job lists too many of; so long a file is not looked at any further."""
    for kind, listed in data.items():
        most = MOST.get(kind, MOST_EACH)
        if isinstance(listed, list) and len(listed) > most:
            snags.add((kind,), f"{len(listed):,} of [[{kind}]]", f"at most {most:,} in one job; divide it")
    tops = data.get("top")
    for at, top in enumerate(tops if isinstance(tops, list) else ()):
        outline = top.get("outline") if isinstance(top, dict) else None
        if isinstance(outline, list) and len(outline) > MOST_POINTS:
            snags.add(("top", at, "outline"), *too_many_points(len(outline)))
    job = data.get("job")
    notes = job.get("notes") if isinstance(job, dict) else None
    if isinstance(notes, list) and len(notes) > MOST_NOTES:
        snags.add(("job", "notes"), f"{len(notes):,} notes", f"at most {MOST_NOTES}; the rest goes on paper of its own")


def check_bounds(sketch: Sketch) -> None:
    """Note walls, tops and a shop's limits too large or too small to be meant, and tops with too much on them."""
    _on_tops(sketch)
    _least(sketch)
    for path, table in sketch.entries("wall"):
        _not_over(sketch, (*path, "length"), table.get("length"), LARGEST, "a wall")
        _stations(sketch, (*path, "bow"), table.get("bow"))
    for path, table in sketch.entries("edge"):
        _stations(sketch, (*path, "natural"), table.get("natural"))
    for top in sketch.all_tops:
        _top(sketch, top)
    for (section, key), least in SMALLEST.items():
        value = sketch.section(section).get(key)
        for at, one in enumerate(value) if isinstance(value, list) else ((None, value),):
            path = (section, key) if at is None else (section, key, at)
            _not_under(sketch, path, one, least)


_SIZES = {
    "wall": ("length",),
    "window": ("width",),
    "cabinet": ("width", "depth"),
    "top": ("size", "base", "depth"),
    "appliance": ("width",),
    "cutout": ("size", "diameter"),
    "notch": ("width", "depth"),
    "support": ("size",),
    "groove": ("size",),
    "slot": ("size",),
    "recess": ("size",),
}
"""What of each table is a size of something."""


def _least(sketch: Sketch) -> None:
    """Note sizes too small for anything, which a slip of the decimal point leaves."""
    for kind, keys in _SIZES.items():
        for path, table in sketch.entries(kind):
            for key in keys:
                value = table.get(key)
                for at, one in enumerate(value) if isinstance(value, list) else ():
                    _not_under(sketch, (*path, key, at), one, LEAST)
                for name, one in value.items() if isinstance(value, dict) else ():
                    _not_under(sketch, (*path, key, name), one, LEAST)
                _not_under(sketch, (*path, key), value, LEAST)


def _on_tops(sketch: Sketch) -> None:
    """Note a run along too many walls, and the first cutout and the first thing let in that are too many for their top."""
    for top in sketch.all_tops:
        along = top.table.get("along")
        if isinstance(along, list) and len(along) > MOST_LEGS:
            sketch.snags.add((*top.path, "along"), f"{len(along)} walls", f"at most {MOST_LEGS} along one run")
    _too_many(sketch, ("cutout",), "cutouts", MOST_ON_A_TOP)
    _too_many(sketch, ("groove", "slot", "recess"), "grooves, slots and recesses", MOST_LET_IN)


def _too_many(sketch: Sketch, kinds: tuple[str, ...], what: str, most: int) -> None:
    seen: dict[str, int] = {}
    for path, table in (entry for kind in kinds for entry in sketch.entries(kind)):
        top, count = table.get("top"), table.get("count", 1)
        if isinstance(top, str):
            before = seen.get(top, 0)
            seen[top] = before + (count if isinstance(count, int) and 0 < count <= most else 1)
            if before <= most < seen[top]:
                sketch.snags.add_typed((*path, "top"), f"at most {most} {what} on one top")


def _stations(sketch: Sketch, path: KeyPath, listed: object) -> None:
    if isinstance(listed, list) and len(listed) > MOST_STATIONS:
        sketch.snags.add(path, f"{len(listed)} stations", f"at most {MOST_STATIONS}, where the line turns")


def _top(sketch: Sketch, top: TopNote) -> None:
    """Note sizes of a top that no top has; an outline may lie any way."""
    for key in ("size", "base"):
        sizes = top.table.get(key)
        for at, value in enumerate(sizes[:2] if isinstance(sizes, list) else ()):
            _not_over(sketch, (*top.path, key, at), value, (LARGEST, DEEPEST)[at], "a top")
    depth = top.table.get("depth")
    for name, value in depth.items() if isinstance(depth, dict) else ():
        _not_over(sketch, (*top.path, "depth", name), value, DEEPEST, "a top")
    _not_over(sketch, (*top.path, "depth"), depth, DEEPEST, "a top")
    over = top.table.get("overhang")
    for side, value in over.items() if isinstance(over, dict) else ():
        _not_over(sketch, (*top.path, "overhang", side), value, DEEPEST, "an overhang")
    for key in ("back_overhang", "left_overhang", "right_overhang"):
        _not_over(sketch, (*top.path, key), top.table.get(key), DEEPEST, "an overhang")
    listed = top.table.get("outline")
    points = [sketch.lengths(p) for p in listed] if isinstance(listed, list) else []
    read = [p for p in points if p is not None and len(p) == 2]
    if read:
        spans = sorted(max(p[axis] for p in read) - min(p[axis] for p in read) for axis in (0, 1))
        for span, most in zip(spans, (DEEPEST, LARGEST), strict=True):
            if span > _mm(sketch, most):
                expected = f"a top of at most {_said(sketch, LARGEST)} by {_said(sketch, DEEPEST)}"
                sketch.snags.add((*top.path, "outline"), f"points {sketch.shown(span)} apart", expected)


def _not_over(sketch: Sketch, path: KeyPath, value: object, most: Default, what: str) -> None:
    length = sketch.length(value)
    if length is not None and length > _mm(sketch, most):
        sketch.snags.add_typed(path, f"{what} of at most {_said(sketch, most)} there")


def _not_under(sketch: Sketch, path: KeyPath, value: object, least: Default) -> None:
    length = sketch.length(value)
    # what is not above zero has a fault of its own
    if length is not None and 0 < length < _mm(sketch, least):
        sketch.snags.add_typed(path, f"at least {_said(sketch, least)}")


def _mm(sketch: Sketch, limit: Default) -> Fraction:
    unit = sketch.unit or "in"
    return parse_length(limit.text(unit), unit).mm


def _said(sketch: Sketch, limit: Default) -> str:
    unit = sketch.unit or "in"
    text = limit.text(unit)
    return f"{text[:-1]} ft" if text.endswith("'") else f"{text} {unit}"
