"""What was filled in on the approval block of a sheet: the decision, the name, the date."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from layout.outline import Point
from layout.svg_content import Content, Drawn

DECISIONS = {
    "approval-approved": "approved",
    "approval-as-noted": "approved as noted",
    "approval-resubmit": "revise and resubmit",
}
"""The ids of the three boxes, and what they decide."""
FILLED = ("name", "date", "signature")
BOX_REACH = 4.0
"""A mark whose middle is no farther than this from a box's middle ticks it, mm."""
_LINE = (-2.0, 42.0, 4.5, 2.0)
"""How far left, right, above and below the place of a field what is written there begins, mm."""
_NOT = {"", "·", "-", "–", "—", "_", ".", "no", "n", "n/a", "not", "none", "false"}
"""What in a box is no tick."""
_TICK_LEAST, _TICK_MOST = 1.0, 16.0
"""A mark that ticks a box is about its size, mm: a smaller one is a slip, a larger one rings several."""


@dataclass(frozen=True, slots=True)
class Approval:
    """``decision``: one of three, or none. ``rest``: the marks that are none of the approval's. ``said``: what is unclear."""

    decision: str | None
    name: str
    date: str
    rest: tuple[Drawn, ...]
    said: tuple[str, ...]


def approval_of(issued: Content, fields: dict[str, str], added: Sequence[Drawn]) -> Approval:
    """Return what was filled in: in the issue's own texts, beside them, or as a mark over a box."""
    places = {d.id: d for d in issued.drawn if d.sort == "text" and d.id.startswith("approval-")}
    boxes = {id_: _box(issued, places[id_]) for id_ in DECISIONS if id_ in places}
    said = dict(fields)
    ticked = {id_ for id_ in boxes if said.get(id_, "").strip().casefold() not in _NOT}
    rest: list[Drawn] = []
    by_element: dict[int, list[Drawn]] = {}
    for d in added:
        by_element.setdefault(d.element, []).append(d)
    written: dict[str, list[Drawn]] = {}
    for parts in by_element.values():
        box = _over(parts, boxes)
        field = None if box else _in_field(parts, places)
        if box:
            words = " ".join(d.text for d in parts).strip().casefold()
            if parts[0].sort != "text" or words not in _NOT:
                ticked.add(box)
        elif field:
            written.setdefault(field, []).extend(d for d in parts if d.sort == "text")
        else:
            rest += parts
    for field, parts in written.items():
        own = _filled(said.get(field, ""))
        said[field] = " ".join([own, *(d.text for d in sorted(parts, key=lambda d: (d.at[1] // 2, d.at[0])))]).strip()
    decisions = [DECISIONS[id_] for id_ in DECISIONS if id_ in ticked]
    unclear = (f"unclear: {' and '.join(decisions)} are ticked, so no decision is taken",) if len(decisions) > 1 else ()
    return Approval(
        decisions[0] if len(decisions) == 1 else None,
        _filled(said.get("approval-name", "")),
        _filled(said.get("approval-date", "")),
        tuple(rest),
        unclear,
    )


def _filled(text: str) -> str:
    """Return what was filled in on a line of low strokes."""
    return re.sub(r"_{2,}", " ", text).strip(" _")


def _box(issued: Content, sign: Drawn) -> Point:
    """Return the middle of the box that a sign stands in: of the smallest closed outline of the block round it."""
    x, y = sign.at
    found: list[tuple[float, Point]] = []
    for d in issued.drawn:
        x0, y0, x1, y1 = d.box
        if d.sort == "stroke" and d.closed and d.cls == sign.cls and x0 < x < x1 and y0 < y < y1:
            found.append(((x1 - x0) * (y1 - y0), ((x0 + x1) / 2, (y0 + y1) / 2)))
    return min(found)[1] if found else (x, y - 0.3 * sign.size)


def _over(parts: Sequence[Drawn], boxes: dict[str, Point]) -> str | None:
    """Return the box that a mark lies over, the nearest one."""
    x0, y0 = min(d.box[0] for d in parts), min(d.box[1] for d in parts)
    x1, y1 = max(d.box[2] for d in parts), max(d.box[3] for d in parts)
    if not _TICK_LEAST <= max(x1 - x0, y1 - y0) <= _TICK_MOST:
        return None
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    away, box = min(((math.dist(middle, at), id_) for id_, at in boxes.items()), default=(math.inf, ""))
    return box if away <= BOX_REACH else None


def _in_field(parts: Sequence[Drawn], places: dict[str, Drawn]) -> str | None:
    """Return the field on whose line a mark is written: where a text begins, or the middle of strokes."""
    for words in FILLED:
        field = places.get(f"approval-{words}")
        if field is None:
            continue
        first = parts[0]
        if first.sort == "text":
            x, y = min(d.at[0] for d in parts), first.at[1]
        else:
            x = (min(d.box[0] for d in parts) + max(d.box[2] for d in parts)) / 2
            y = (min(d.box[1] for d in parts) + max(d.box[3] for d in parts)) / 2
        left, right, above, below = _LINE
        if field.at[0] + left <= x <= field.at[0] + right and field.at[1] - above <= y <= field.at[1] + below:
            return field.id
    return None
