"""Stamps: words in a tab on the upper edge of every sheet's frame, and what the title block says of the approval.

The border above the frame is free on every sheet, so a stamp moves nothing and lies on nothing.
"""

from __future__ import annotations

from dataclasses import replace

from layout.drawing import NOTE, SMALL, TITLE, WIDE, Drawing, Group, Item, Kind, Sheet, Text
from layout.lettering import text_width
from layout.page import frame_area
from layout.pen import LINE_PITCH
from layout.title_block import cell_text, fit, frame_box

TAB = 8.3
"""How far a stamp stands above the frame, mm; the border there is 10 mm wide."""
CLEAR = 2.0
"""What a stamp keeps clear of the centring mark, mm."""
STAMP = "stamp"
"""The id of the group that holds it."""


def stamped(drawing: Drawing, words: str, approved: str) -> Drawing:
    """Return a drawing with a stamp on every sheet, ``approved`` standing in the title block's field for the approval."""
    return replace(drawing, sheets=tuple(_stamped(sheet, words, approved) for sheet in drawing.sheets))


def _stamped(sheet: Sheet, words: str, approved: str) -> Sheet:
    groups = [
        Group(g.id, cell_text(g.items, "approved by", approved)) if g.id == "title-block" else g for g in sheet.groups
    ]
    groups.append(Group(STAMP, _stamp(sheet, words)))
    return replace(sheet, groups=tuple(groups), fields={**sheet.fields, "approved by": approved})


def _stamp(sheet: Sheet, words: str) -> tuple[Item, ...]:
    """Return the tab with its words, from the frame's upper left corner on towards the middle."""
    inner = frame_area(sheet.size)
    x, y = inner.x, inner.y + inner.height
    most = sheet.width / 2 - CLEAR - x
    lines, height = fit(words, most - 4.0, TAB, (TITLE, NOTE, SMALL), bold=True)
    wide = max(text_width(line, height, True) for line in lines) + 4.0
    low = y + (TAB - height * (1.0 + (len(lines) - 1) * LINE_PITCH)) / 2
    texts = [
        Text(Kind.TITLE, (x + 2.0, low + n * LINE_PITCH * height), line, height, "start", 0.0, True, STAMP)
        for n, line in enumerate(reversed(lines))
    ]
    return (frame_box(Kind.TITLE, x, y, x + wide, y + TAB, WIDE), *texts)
