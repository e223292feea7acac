"""What is the same on every sheet: the title block with ISO 7200's fields, the approval block, the legend of marks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from layout.drawing import FINE, HEAD, HEAVY, NARROW, NOTE, SMALL, TITLE, WIDE, Dash, Item, Kind, Lines, Path, Text
from layout.lettering import ASCENT, DESCENT, fold, text_width
from layout.outline import Point, polygon_ring
from layout.page import BLOCK_HEIGHT, BLOCK_WIDTH, COLUMN, Page, frame_area
from layout.pen import DELTA, LINE_PITCH, MarkShape, Pen
from layout.pipeline import Layout
from layout.placement import Box
from layout.units import UNIT_NAMES
from layout.version import VERSION

HEADINGS = {"owner": "legal owner: the maker", "dealer": "dealer, customer"}
"""What the title block calls its fields where that says more than ISO 7200's own word."""
APPROVAL_HEIGHT = 37.0
FILL_IN, TICK = "_" * 12, "·"
"""What stands in the approval block's fields and boxes until somebody puts a name, a day or a cross there instead."""
LEGEND_MOST = 178.0
"""The legend takes no more than this of a sheet's width, mm."""


def frame_box(kind: Kind, x0: float, y0: float, x1: float, y1: float, width: float) -> Path:
    """Return a rectangle of lines, paper mm."""
    return Path(kind, polygon_ring([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]), True, "", width)


def approval(layout: Layout, x: float, y: float) -> list[Item]:
    """The approval block, its lower left corner at (x, y)."""
    by = layout.job.job.return_by
    k = Kind.APPROVAL
    items: list[Item] = [
        Text(k, (x, y + APPROVAL_HEIGHT - 4), "Approval", NOTE, "start", 0.0, True),
        frame_box(k, x, y, x + COLUMN, y + APPROVAL_HEIGHT - 6.5, WIDE),
    ]
    for n, words in enumerate(("approved", "approved as noted", "revise and resubmit")):
        low = y + APPROVAL_HEIGHT - 14 - n * 7.2
        items.append(frame_box(k, x + 4, low, x + 8, low + 4, NARROW))
        tick = "approval-" + ("approved", "as-noted", "resubmit")[n]
        items.append(Text(k, (x + 6, low + 0.75), TICK, SMALL, "middle", id=tick))
        items.append(Text(k, (x + 11, low + 0.8), words, SMALL))
    for n, words in enumerate(("name", "signature", "date")):
        low = y + APPROVAL_HEIGHT - 13.2 - n * 7.2
        items.append(Text(k, (x + 66, low), words, SMALL))
        items.append(Lines(k, (((x + 88, low - 0.8), (x + COLUMN - 4, low - 0.8)),)))
        items.append(Text(k, (x + 89, low), FILL_IN, SMALL, id=f"approval-{words}"))
    due = f"Return it by {by}." if by else "Return it by ____________."
    words = f"Made to order: nothing is cut before this drawing is back signed. {due}"
    items.append(Text(k, (x + 4, y + 2.2), words, FINE))
    return items


def legend(layout: Layout, x: float, y: float, *, revised: bool = False) -> list[Item]:
    """Marks and what they stand for, in one row; ``revised``: triangles of revisions stand on the sheets."""
    pen = Pen(1.0)
    divided, milled = layout.divided, layout.laid.milled
    rows: list[tuple[MarkShape, str, str, float, bool]] = [
        ("circle", "P1", "piece", 4.2, True),
        ("diamond", "J1", "joint", 5.6, bool(divided.joints)),
        ("box", "S1", "cutout" if not milled else "cutout, let in", 4.6, bool(layout.laid.cutouts or milled)),
        ("triangle", "1", "see findings", 3.8, any(f.at for f in layout.findings)),
        ("delta", layout.job.job.revision[:2] or "-", "revised", DELTA[0], revised),
    ]
    heights = {"circle": 4.2, "diamond": 4.4, "box": 2.8, "triangle": 3.5, "delta": DELTA[1]}
    # one mark more takes its room from the others
    gap, section = (7.0, "section") if revised else (10.0, "section, see details")
    at = x + 5.0
    for shape, text, words, half, wanted in rows:
        if wanted:
            pen.draw_mark(
                shape,
                text,
                Box(at, y + 3.0, half, heights[shape]),
                Kind.REVISION if shape == "delta" else Kind.MARK,
                "",
            )
            pen.text(Kind.LABEL, (at + 7.5, y + 2.0), words)
            at += 7.5 + text_width(words, SMALL) + gap
    pen.items.append(Lines(Kind.SECTION, (((at - 4.0, y + 3.0), (at + 1.5, y + 3.0)),), width=WIDE))
    pen.text(Kind.SECTION, (at + 3.0, y + 2.0), "A", bold=True)
    pen.text(Kind.LABEL, (at + 7.5, y + 2.0), section)
    at += 7.5 + text_width(section, SMALL) + 8.0
    for dash, words in ((Dash.DASHED, "below the top"), (Dash.SOLID, "profiled edge on a piece's sheet")):
        if at + 12.0 + text_width(words, SMALL) > x + LEGEND_MOST:
            break
        width = HEAVY if dash is Dash.SOLID else NARROW
        pen.items.append(Lines(Kind.LABEL, (((at - 2.0, y + 3.0), (at + 8.0, y + 3.0)),), "", width, dash))
        pen.text(Kind.LABEL, (at + 10.5, y + 2.0), words)
        at += 10.5 + text_width(words, SMALL) + 8.0
    return pen.items


CELL, LOW_ROW = 60.0, 9.2
"""A third of the title block's width, and the height of its two lowest rows, mm."""
NAME_ROOM = (ASCENT + DESCENT) * FINE + 0.1
"""What a field's name takes at the top of its cell, mm."""


def fit(text: str, width: float, room: float, heights: Sequence[float], bold: bool = False) -> tuple[list[str], float]:
    """Return the text in lines and the letter height at which it fits a cell: in one line if it can be, else in several.

    What fits in no way is cut short and says so.
    """
    for height in heights:
        if text_width(text, height, bold) <= width and (ASCENT + DESCENT) * height <= room:
            return [text], height
    lines: list[str] = []
    for height in (SMALL, FINE):
        lines = fold(text, width, height, bold)
        if (ASCENT + DESCENT + (len(lines) - 1) * LINE_PITCH) * height <= room:
            return lines, height
    most = 1 + int((room / FINE - ASCENT - DESCENT) / LINE_PITCH)
    last = lines[most - 1]
    while text_width(f"{last}...", FINE, bold) > width:
        last = last[:-1]
    return [*lines[: most - 1], f"{last}..."], FINE


def cell_text(items: Sequence[Item], name: str, words: str) -> tuple[Item, ...]:
    """Return a title block's items with other words in the cell of that name, one that is 60 mm wide and a low row high."""
    old = [item for item in items if isinstance(item, Text) and item.name == name]
    low = min(old, key=lambda item: item.at[1])
    base = low.at[1] - DESCENT * low.height
    lines, height = fit(words, CELL - 3.0, LOW_ROW - NAME_ROOM - 0.2, (NOTE, SMALL))
    new = [
        Text(low.kind, (low.at[0], base + (DESCENT + n * LINE_PITCH) * height), line, height, name=name)
        for n, line in enumerate(reversed(lines))
    ]
    return (*(item for item in items if item not in old), *new)


def title_block(layout: Layout, page: Page, number: int, of: int) -> tuple[list[Item], dict[str, str]]:
    """Return the title block of a page at the lower right of the frame, and its fields as printed."""
    job = layout.job
    inner = frame_area(job.sheet.size)
    x0, y0 = inner.x + inner.width - BLOCK_WIDTH, inner.y
    fields = _fields(layout, page, number, of)
    unit = UNIT_NAMES[job.job.units]
    stop = " CANNOT BE MADE AS DRAWN: see findings." if any(f.severity == "stop" for f in layout.findings) else ""
    stop = stop or (" HOLD: not to be released, see findings." if layout.held else "")
    note = f"Dimensions in {unit}. Do not scale. Verify in field.{stop}  staveline {VERSION}"
    rows: list[tuple[float, list[tuple[str, float]]]] = [
        (15.0, [("title", 120.0), ("number", 60.0)]),
        (9.3, [("owner", 60.0), ("dealer", 60.0), ("revision", 30.0), ("sheet", 30.0)]),
        (LOW_ROW, [("drawn", CELL), ("document", CELL), ("date of issue", CELL)]),
        (LOW_ROW, [("approved by", CELL), ("scale", CELL), ("site measured", CELL)]),
    ]
    k = Kind.TITLE
    items: list[Item] = [frame_box(k, x0, y0, x0 + BLOCK_WIDTH, y0 + BLOCK_HEIGHT, WIDE)]
    y = y0 + BLOCK_HEIGHT
    for height, cells in rows:
        x = x0
        y -= height
        items.append(Lines(k, (((x0, y), (x0 + BLOCK_WIDTH, y)),), width=NARROW))
        for name, width in cells:
            if x > x0:
                items.append(Lines(k, (((x, y), (x, y + height)),), width=NARROW))
            items += _cell(name, fields[name], (x, y), width, height)
            x += width
    items.append(Text(k, (x0 + 1.2, y0 + 1.2), note, FINE))
    return items, {**fields, "units": unit}


def _fields(layout: Layout, page: Page, number: int, of: int) -> dict[str, str]:
    job, not_given = layout.job, "not given"
    scales = {v.label for v in page.views}
    return {
        "title": job.job.title,
        "number": job.job.number,
        "owner": job.job.maker or not_given,
        "dealer": ", ".join(n for n in (job.job.dealer, job.job.customer) if n) or not_given,
        "revision": job.job.revision or "-",
        "sheet": f"{number} of {of}",
        "drawn": job.job.drawn_by or not_given,
        "document": f"shop drawing, {page.title}",
        "date of issue": str(job.job.date or not_given),
        "approved by": "awaiting sign-off",
        "scale": "none" if not scales else scales.pop() if len(scales) == 1 else "as noted",
        "site measured": str(job.field.date or not_given),
    }


def _cell(name: str, field: str, at: Point, width: float, height: float) -> Iterator[Item]:
    """Yield a cell's heading and its field, as large as the cell (lower left corner ``at``) lets it be."""
    x, y = at
    k = Kind.TITLE
    heading = (x + 1.2, y + height - ASCENT * FINE - 0.1)
    yield Text(k, heading, HEADINGS.get(name, name), FINE, name="field name")
    larger = {"number": (HEAD, TITLE), "title": (TITLE,)}.get(name, ())
    bold = name in ("title", "number")
    lines, letters = fit(field, width - 3.0, height - NAME_ROOM - 0.2, (*larger, NOTE, SMALL), bold)
    for n, line in enumerate(reversed(lines)):
        base = (x + 1.2, y + 0.15 + (DESCENT + n * LINE_PITCH) * letters)
        yield Text(k, base, line, letters, bold=bold, name=name)
