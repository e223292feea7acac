"""A sheet that came back held against the sheet that went out, by what is drawn and not by how it was written.

Every stroke and every text of the issue has to be there, in its place within the tolerance, to be seen, and not covered. What is
there besides is a mark.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import Literal

import numpy as np

from layout.ink import TOLERANCE, Below, Inks, covers
from layout.outline import Point
from layout.svg_content import Content, Drawn
from layout.svg_reading import ReturnError

FIELDS = "approval-"
"""How the ids of the texts begin that somebody is to fill in."""
_FIELD_REACH = 3.0
"""How far a field's text may have been moved and still be that field's, mm: the boxes are 7.2 apart."""
MOST_ADDED = 2000
"""What is drawn besides the issue: a page full of handwriting has a few hundred strokes."""
_CANDIDATES = 200
_CELL = 0.1
_SIZE, _TURN = 0.02, 0.3
"""A text's size may differ by this share, its direction by so many degrees."""
What = Literal["moved", "deleted", "changed", "added"]


@dataclass(frozen=True, slots=True)
class Change:
    """What was altered on a sheet: the kind of thing and its name, its text, and where it stands on paper (mm, y down)."""

    sheet: int
    what: What
    kind: str
    name: str
    text: str
    at: Point


@dataclass(frozen=True, slots=True)
class Comparison:
    """``changes``: by order in the issue. ``added``: what the issue has not, in the issue's place on paper. ``fields``: what
    stands in the texts to be filled in, by id. ``share``: how much of the issue was found again, 0 to 1."""

    changes: tuple[Change, ...]
    added: tuple[Drawn, ...]
    fields: dict[str, str]
    share: float


def compared(issued: Content, back: Content, sheet: int) -> Comparison:
    """Return what differs. Raises ReturnError where more was added than any markup has."""
    shown = [d for d in back.drawn if _on_page(d, back.page)]
    if len(shown) > len(issued.drawn) + MOST_ADDED:
        raise ReturnError(f"sheet {sheet}: more than {MOST_ADDED} things were added; mark it up with fewer")
    shown = _aligned(issued, shown)
    wanted = [d for d in issued.drawn if not d.id.startswith(FIELDS)]
    places = {d.id: d.at for d in issued.drawn if d.id.startswith(FIELDS)}
    fields: dict[str, list[str]] = defaultdict(list)
    pool = []
    for d in shown:
        # one that was carried off to another box or line says what it says there
        if d.sort == "text" and d.id in places and math.dist(d.at, places[d.id]) <= _FIELD_REACH:
            fields[d.id].append(d.text)
        else:
            pool.append(d)
    inks = Inks()
    matched, left = _matched(wanted, pool, inks)
    missing = [d for d in wanted if d.order not in matched]
    changes, used = _explained(missing, left, inks, sheet)
    added = [d for d in left if d.order not in used]
    changes += _covered(wanted, matched, added, sheet)
    changes += [Change(sheet, "added", "foreign", "", words, (0.0, 0.0)) for words in back.foreign]
    share = len(matched) / len(wanted) if wanted else 1.0
    said = {id_: " ".join(texts) for id_, texts in fields.items()}
    return Comparison(tuple(changes), tuple(d for d in added if d.ink), said, share)


def _on_page(d: Drawn, page: tuple[float, float]) -> bool:
    x0, y0, x1, y1 = d.box
    return x1 >= 0 and y1 >= 0 and x0 <= page[0] and y0 <= page[1]


# --- the same place on paper -----------------------------------------------------------------------------------------


def _aligned(issued: Content, shown: list[Drawn]) -> list[Drawn]:
    """Return what came back in the issue's place: an editor may have set it in other units or on another page.

    Texts that stand once in both give the change; most of them have to agree, so that what was moved stays moved.
    """
    ours, theirs = _single(issued.drawn), _single(shown)
    pairs = [(ours[t], theirs[t]) for t in ours if t in theirs]
    if len(pairs) < 4:
        return shown
    half = len(pairs) // 2
    spans = [(math.dist(a, c), math.dist(b, d)) for (a, b), (c, d) in zip(pairs, pairs[half:], strict=False)]
    ratios = [p / q for p, q in spans if q > 1e-6 and p > 5.0]
    k = median(ratios) if ratios else 1.0
    k = 1.0 if abs(k - 1.0) < 2e-5 else k
    dx = median(a[0] - k * b[0] for a, b in pairs)
    dy = median(a[1] - k * b[1] for a, b in pairs)
    agree = sum(abs(a[0] - k * b[0] - dx) < TOLERANCE and abs(a[1] - k * b[1] - dy) < TOLERANCE for a, b in pairs)
    if (k == 1.0 and abs(dx) < 0.005 and abs(dy) < 0.005) or agree <= half:
        return shown

    def put(p: Point) -> Point:
        return (k * p[0] + dx, k * p[1] + dy)

    return [
        replace(d, points=tuple(put(p) for p in d.points), at=put(d.at), size=d.size * k, width=d.width * k)
        for d in shown
    ]


def _single(drawn: Iterable[Drawn]) -> dict[str, Point]:
    places: dict[str, list[Point]] = defaultdict(list)
    for d in drawn:
        if d.sort == "text" and not d.id.startswith(FIELDS):
            places[d.text].append(d.at)
    return {text: at[0] for text, at in places.items() if len(at) == 1}


# --- matching --------------------------------------------------------------------------------------------------------


def _kept(ours: str, theirs: str, known: set[str]) -> bool:
    """Whether a class or name is still the same, or was lost, or is an editor's own."""
    return ours == theirs or not theirs or theirs not in known


def _cell(p: Point) -> tuple[int, int]:
    return (math.floor(p[0] / _CELL), math.floor(p[1] / _CELL))


def _anchor(d: Drawn) -> Point:
    """Return the point by which a thing is looked for: a text's own, the middle of a stroke."""
    if d.sort == "text":
        return d.at
    x0, y0, x1, y1 = d.box
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def _matched(wanted: Sequence[Drawn], pool: Sequence[Drawn], inks: Inks) -> tuple[dict[int, Drawn], list[Drawn]]:
    """Return for each thing of the issue, by its order, what it came back as; and what is left over."""
    cells: dict[tuple[str, int, int], list[Drawn]] = defaultdict(list)
    for d in pool:
        cells[d.sort, *_cell(_anchor(d))].append(d)
    classes, names = {d.cls for d in wanted}, {d.name for d in wanted}
    taken: set[int] = set()
    matched: dict[int, Drawn] = {}
    for ours in wanted:
        x, y = _cell(_anchor(ours))
        near = [d for u in (0, -1, 1) for v in (0, -1, 1) for d in cells.get((ours.sort, x + u, y + v), ())]
        best = None
        for theirs in near[:_CANDIDATES]:
            if theirs.order in taken or not _same(ours, theirs, inks):
                continue
            if not (_kept(ours.cls, theirs.cls, classes) and _kept(ours.name, theirs.name, names)):
                continue
            best = theirs
            if (theirs.cls, theirs.name) == (ours.cls, ours.name):
                break
        if best is not None:
            taken.add(best.order)
            matched[ours.order] = best
    return matched, [d for d in pool if d.order not in taken]


def _same(ours: Drawn, theirs: Drawn, inks: Inks) -> bool:
    """Whether two things show the same in the same place."""
    if theirs.odd != ours.odd or (ours.ink and not theirs.ink):
        return False
    if ours.sort == "text":
        return ours.text == theirs.text and _set_alike(ours, theirs) and math.dist(ours.at, theirs.at) <= TOLERANCE
    return all(abs(a - b) <= TOLERANCE for a, b in zip(ours.box, theirs.box, strict=True)) and inks.same(ours, theirs)


def _set_alike(ours: Drawn, theirs: Drawn) -> bool:
    turn = abs((ours.angle - theirs.angle + 180.0) % 360.0 - 180.0)
    return ours.anchor == theirs.anchor and abs(theirs.size - ours.size) <= _SIZE * ours.size and turn <= _TURN


# --- what became of the rest -----------------------------------------------------------------------------------------


class _Left:
    """What is left over of one sort, to be looked through by nearness."""

    def __init__(self, drawn: Sequence[Drawn]) -> None:
        self.drawn = drawn
        self.anchors = np.array([_anchor(d) for d in drawn], dtype=np.float64).reshape(-1, 2)
        self.used: set[int] = set()

    def nearest(self, at: Point, fits: Callable[[Drawn], bool]) -> Drawn | None:
        """Return the nearest that fits and is not used yet, of the few hundred nearest."""
        away = np.hypot(self.anchors[:, 0] - at[0], self.anchors[:, 1] - at[1])
        free = (self.drawn[int(k)] for k in np.argsort(away, kind="stable")[:300])
        return next((d for d in free if d.order not in self.used and fits(d)), None)


def _explained(
    missing: Sequence[Drawn], left: Sequence[Drawn], inks: Inks, sheet: int
) -> tuple[list[Change], set[int]]:
    """Return what became of the things that were not found, and which of those left over they became."""
    told: dict[tuple[str, int], list[tuple[What, Drawn, str]]] = {}
    texts = _Left([d for d in left if d.sort == "text"])
    strokes = _Left([d for d in left if d.sort == "stroke"])
    for ours in missing:
        among = texts if ours.sort == "text" else strokes
        what, theirs, words = _text_became(ours, among) if ours.sort == "text" else _stroke_became(ours, among, inks)
        if theirs is not None:
            among.used.add(theirs.order)
        # a dimension is one thing, however many lines it is drawn with
        key = ("group", ours.parent) if ours.cls.startswith("dimension") else ("element", ours.element)
        told.setdefault(key, []).append((what, ours, words))
    return [_change(parts, sheet) for parts in told.values()], texts.used | strokes.used


def _change(parts: list[tuple[What, Drawn, str]], sheet: int) -> Change:
    kinds = {what for what, _, _ in parts}
    first = next((p for p in parts if p[1].sort == "text"), parts[0])
    what: What = first[0] if len(kinds) == 1 else "changed"
    x, y = _anchor(first[1])
    return Change(sheet, what, kind_of(first[1]), first[1].name, first[2], (round(x, 2), round(y, 2)))


def kind_of(d: Drawn) -> str:
    """Return what a thing of a sheet is called: its class, a dimension's parts all as dimension."""
    return "dimension" if d.cls.startswith("dimension") else d.cls or d.sort


def _text_became(ours: Drawn, left: _Left) -> tuple[What, Drawn | None, str]:
    """Return what became of a text, as what it is there now, and its words, with the new ones where they differ."""
    alike = left.nearest(ours.at, lambda d: d.text == ours.text)
    if alike is not None and alike.odd == ours.odd and _set_alike(ours, alike):
        return "moved", alike, ours.text
    reach = max(2.0, ours.size)
    other = left.nearest(ours.at, lambda d: math.dist(d.at, ours.at) <= reach) or alike
    if other is None:
        return "deleted", None, ours.text
    return "changed", other, ours.text + (f" is now {other.text}" if other.text != ours.text else _why(other))


def _stroke_became(ours: Drawn, left: _Left, inks: Inks) -> tuple[What, Drawn | None, str]:
    """Return what became of a stroke, and as what it is there now."""
    x0, y0, x1, y1 = ours.box
    wide, high = x1 - x0, y1 - y0
    at = _anchor(ours)

    def moved(d: Drawn) -> bool:
        u0, v0, u1, v1 = d.box
        if abs(u1 - u0 - wide) > TOLERANCE or abs(v1 - v0 - high) > TOLERANCE or d.cls not in ("", ours.cls):
            return False
        dx, dy = at[0] - (u0 + u1) / 2, at[1] - (v0 + v1) / 2
        back = replace(d, points=tuple((x + dx, y + dy) for x, y in d.points))
        return d.odd == ours.odd and d.ink >= ours.ink and inks.same(ours, back)

    def is_it(d: Drawn) -> bool:
        if d.cls == ours.cls and d.name == ours.name and d.cls:
            return math.dist(_anchor(d), at) <= max(10.0, wide, high)
        return _shares_points(ours, d)

    found = left.nearest(at, moved)
    if found is not None:
        return "moved", found, ""
    found = left.nearest(at, is_it)
    return ("deleted", None, "") if found is None else ("changed", found, _why(found).strip())


def _why(d: Drawn) -> str:
    return f" ({', '.join(d.odd)})" if d.odd else ""


def _shares_points(ours: Drawn, theirs: Drawn) -> bool:
    """Whether at least half of a line's points are still another's."""
    if len(theirs.points) > 4 * len(ours.points) + 8:
        return False
    cells = {_cell(p) for p in theirs.points}
    return 2 * sum(_cell(p) in cells for p in ours.points) >= max(2, len(ours.points))


def _covered(wanted: Sequence[Drawn], matched: dict[int, Drawn], added: Sequence[Drawn], sheet: int) -> list[Change]:
    """Return what now lies over something of the issue that it did not lie over before."""
    there = [(ours, matched[ours.order]) for ours in wanted if ours.order in matched]
    issued_as = {theirs.order: ours for ours, theirs in there}
    below = Below(there)
    out = []
    for shape in covers([*added, *(theirs for _, theirs in there)]):
        was = issued_as.get(shape.order)
        pairs = [
            (ours, theirs)
            for ours, theirs in below.hidden_by(shape)
            if not (was is not None and was.cover and ours.order < was.order) and theirs.element != shape.element
        ]
        if pairs:
            below.close([theirs for _, theirs in pairs])
            hidden = [ours for ours, _ in pairs]
            hidden.sort(key=lambda d: (d.sort != "text", d.order))
            names = [d.text or f"{kind_of(d)} {d.name}".strip() for d in hidden[:5]]
            more = f" and {len(hidden) - 5} more" if len(hidden) > 5 else ""
            words = f"covers {', '.join(dict.fromkeys(names))}{more}"
            x, y = _anchor(hidden[0])
            out.append(Change(sheet, "added", shape.kind, "", words, (round(x, 2), round(y, 2))))
    return out
