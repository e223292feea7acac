"""Sheets: standard sizes and scales, frame and title block, and which view and table stands where.

Frame by ISO 5457:1999 (20 mm at the left, 10 mm elsewhere), title block 180 mm wide with the fields of ISO 7200:2004,
scales by ISO 5455 for mm and architects' scales for inches.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from layout.drawing import (
    FINE,
    HEAD,
    HEAVY,
    NARROW,
    NOTE,
    SMALL,
    TITLE,
    WIDE,
    Drawing,
    Group,
    Item,
    Kind,
    Lines,
    Path,
    Sheet,
    Text,
    View,
)
from layout.lettering import fold, text_width
from layout.outline import polygon_ring
from layout.pen import MarkShape, Pen
from layout.piece_view import piece_view
from layout.pipeline import Layout
from layout.placement import Box
from layout.plan_view import plan_view
from layout.schedules import Block, Prose, Table, blocks
from layout.version import VERSION

INCH = 25.4
SIZES = {
    "A0": (1189.0, 841.0),
    "A1": (841.0, 594.0),
    "A2": (594.0, 420.0),
    "A3": (420.0, 297.0),
    "A4": (297.0, 210.0),
    "ANSI A": (11 * INCH, 8.5 * INCH),
    "ANSI B": (17 * INCH, 11 * INCH),
    "ANSI C": (22 * INCH, 17 * INCH),
    "ANSI D": (34 * INCH, 22 * INCH),
    "ANSI E": (44 * INCH, 34 * INCH),
}
"""Sheets lying, width by height in mm: ISO 216 and ASME Y14.1."""
BORDER = (20.0, 10.0, 10.0, 10.0)
"""Left, bottom, right, top border in mm (ISO 5457:1999)."""
BLOCK_WIDTH, BLOCK_HEIGHT = 180.0, 47.0
"""The title block's size in mm (width by ISO 5457)."""
SCALES = {
    "in": (
        (4, '3" = 1\'-0"'),
        (8, '1 1/2" = 1\'-0"'),
        (12, '1" = 1\'-0"'),
        (16, '3/4" = 1\'-0"'),
        (24, '1/2" = 1\'-0"'),
        (32, '3/8" = 1\'-0"'),
        (48, '1/4" = 1\'-0"'),
        (64, '3/16" = 1\'-0"'),
        (96, '1/8" = 1\'-0"'),
        (128, '3/32" = 1\'-0"'),
    ),
    "mm": ((5, "1:5"), (10, "1:10"), (20, "1:20"), (50, "1:50"), (100, "1:100"), (200, "1:200")),
}
"""Reductions, largest drawing first: ratio and how it is written (STANDARDS: architects' scales; ISO 5455)."""
PIECE_LARGEST = {"in": 8, "mm": 10}
"""Pieces are drawn no larger than 1 to this, so that a packet stays a packet."""
GUTTER = 6.0
COLUMN = BLOCK_WIDTH


@dataclass(frozen=True, slots=True)
class Area:
    """A free rectangle of a sheet, paper mm: its lower left corner and its size."""

    x: float
    y: float
    width: float
    height: float


def draw(layout: Layout) -> Drawing:
    """Return the whole packet of sheets for a job laid out."""
    job = layout.job
    pages = _plan_pages(layout) + _piece_pages(layout)
    pages += _schedule_pages(layout, pages)
    of = len(pages)
    sheets = tuple(_finished(layout, page, n, of) for n, page in enumerate(pages, start=1))
    return Drawing(job.job.number, job.job.title, job.job.revision, job.job.units, sheets)


@dataclass
class _Page:
    """A sheet while it is filled."""

    title: str
    views: list[View]
    groups: dict[str, list[Item]]
    left_over: list[Block]


def frame_area(size: str) -> Area:
    """Return the drawing space within the frame."""
    width, height = SIZES[size]
    left, bottom, right, top = BORDER
    return Area(left, bottom, width - left - right, height - bottom - top)


# --- views ---------------------------------------------------------------------------------------------------------


def fitted(
    layout: Layout, make: Callable[[float, str], View], areas: Sequence[Area], largest: int = 1
) -> tuple[View, int]:
    """Return the view at the largest standard scale that fits one of the areas, placed in the middle, and which area."""
    scales = [s for s in SCALES[layout.job.job.units] if s[0] >= largest]
    for ratio, name in scales:
        label = f"{name} (1:{ratio})" if layout.job.job.units == "in" else name
        view = make(1.0 / ratio, label)
        for k, area in enumerate(areas):
            x0, y0, x1, y1 = (b * view.scale for b in view.bounds)
            if (x1 - x0 <= area.width and y1 - y0 <= area.height) or ratio == scales[-1][0]:
                at = (area.x + (area.width - (x1 - x0)) / 2 - x0, area.y + (area.height - (y1 - y0)) / 2 - y0)
                return replace(view, at=at), k
    raise AssertionError("there is always a smallest scale")


def _plan_pages(layout: Layout) -> list[_Page]:
    inner = frame_area(layout.job.sheet.size)
    column = Area(inner.x + inner.width - COLUMN, inner.y + BLOCK_HEIGHT, COLUMN, inner.height - BLOCK_HEIGHT)
    beside = Area(inner.x + 4, inner.y + 15, inner.width - COLUMN - GUTTER - 6, inner.height - 19)
    band = 78.0
    over = Area(inner.x + 4, inner.y + band + 4, inner.width - 8, inner.height - band - 8)
    alone = Area(inner.x + 4, inner.y + BLOCK_HEIGHT + 14, inner.width - 8, inner.height - BLOCK_HEIGHT - 18)
    view, k = fitted(layout, lambda s, label: plan_view(layout, s, label), (beside, over, alone))
    page = _Page("plan", [view], {}, [])
    left = Area(inner.x + 4, inner.y + 14, min(inner.width - COLUMN - GUTTER - 8, COLUMN), band - 16)
    high = replace(column, y=column.y + APPROVAL_HEIGHT + GUTTER, height=column.height - APPROVAL_HEIGHT - GUTTER - 4)
    columns, approval_at, legend_at = (
        ([high], (column.x, column.y + 3), (inner.x + 6, inner.y + 5)),
        ([left], (column.x, column.y + 1), (inner.x + 6, inner.y + 5)),
        ([], (inner.x + 4, inner.y + 5), (inner.x + 6, inner.y + BLOCK_HEIGHT + 3)),
    )[k]
    ceiling = (inner.y + inner.height, inner.y + band + 10, inner.y + BLOCK_HEIGHT + 1)[k]
    wide_enough = k < 2 or inner.width >= 2 * COLUMN + 8
    if approval_at[1] + APPROVAL_HEIGHT < ceiling and wide_enough:
        page.groups["approval"] = _approval(*approval_at)
        page.left_over = _flow(page, blocks(layout), columns)
    else:
        page.left_over = [*_flow(page, blocks(layout), columns), Prose("Approval", ())]
    page.groups["legend"] = _legend(layout, *legend_at)
    return [page]


def _piece_pages(layout: Layout) -> list[_Page]:
    inner = frame_area(layout.job.sheet.size)
    area = Area(inner.x + 5, inner.y + BLOCK_HEIGHT + 5, inner.width - 10, inner.height - BLOCK_HEIGHT - 9)
    largest = PIECE_LARGEST[layout.job.job.units]
    pages: list[_Page] = []
    names: list[str] = []
    shelf_y = left = 0.0
    shelf = 0.0
    for piece in layout.divided.pieces:
        view, _ = fitted(layout, lambda s, label, p=piece: piece_view(layout, p, s, label), (area,), largest)  # type: ignore[misc]
        x0, y0, x1, y1 = (b * view.scale for b in view.bounds)
        width, height = x1 - x0, y1 - y0
        if pages and left + width <= area.x + area.width and shelf_y - height >= area.y - 1e-6:
            shelf = max(shelf, height)
        elif pages and shelf_y - shelf - 10 - height >= area.y - 1e-6:
            shelf_y, left, shelf = shelf_y - shelf - 10, area.x, height
        else:
            pages.append(_Page("", [], {}, []))
            names = []
            shelf_y, left, shelf = area.y + area.height, area.x, height
        pages[-1].views.append(replace(view, at=(left - x0, shelf_y - height - y0)))
        left += width + 14
        names.append(piece.id)
        pages[-1].title = f"piece {names[0]}" if len(names) == 1 else f"pieces {', '.join(names)}"
    return [_centred(page, area) for page in pages]


def _centred(page: _Page, area: Area) -> _Page:
    """Move a page's views so that the lot stands in the middle of its area."""
    x0 = min(v.at[0] + v.bounds[0] * v.scale for v in page.views)
    x1 = max(v.at[0] + v.bounds[2] * v.scale for v in page.views)
    y0 = min(v.at[1] + v.bounds[1] * v.scale for v in page.views)
    y1 = max(v.at[1] + v.bounds[3] * v.scale for v in page.views)
    dx = area.x + (area.width - (x1 - x0)) / 2 - x0
    dy = area.y + (area.height - (y1 - y0)) / 2 - y0
    page.views = [replace(v, at=(v.at[0] + dx, v.at[1] + dy)) for v in page.views]
    return page


def _schedule_pages(layout: Layout, pages: Sequence[_Page]) -> list[_Page]:
    todo = [b for page in pages for b in page.left_over]
    inner = frame_area(layout.job.sheet.size)
    out: list[_Page] = []
    while todo:
        page = _Page("schedules", [], {}, [])
        count = max(1, int((inner.width + GUTTER) // (COLUMN + GUTTER)))
        columns = []
        for k in range(count):
            x = inner.x + inner.width - COLUMN - (count - 1 - k) * (COLUMN + 2 * GUTTER)
            last = k == count - 1
            low = inner.y + (BLOCK_HEIGHT if last else 0) + 4
            columns.append(Area(x, low, COLUMN, inner.y + inner.height - low - 4))
        if todo and isinstance(todo[-1], Prose) and todo[-1].title == "Approval":
            todo = todo[:-1]
            at = columns[-1]
            page.groups["approval"] = _approval(at.x, at.y)
            columns[-1] = replace(at, y=at.y + APPROVAL_HEIGHT + GUTTER, height=at.height - APPROVAL_HEIGHT - GUTTER)
        rest = _flow(page, todo, columns)
        out.append(page)
        if rest == todo:
            raise AssertionError("a table row is taller than a column")
        todo = rest
    return out


# --- tables --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Band:
    """A slice of a table: its height, texts as (x, drop to the baseline, text, height, bold), a rule under it or none."""

    height: float
    texts: tuple[tuple[float, float, str, float, bool], ...]
    rule: float = 0.0
    head: bool = False


PITCH = 4.3


def _bands(block: Block, width: float) -> list[_Band]:
    title = _Band(7.0, ((0.0, 4.6, block.title, NOTE, True),), WIDE, head=True)
    out = [title]
    if isinstance(block, Prose):
        for paragraph in block.lines:
            for k, line in enumerate(fold(paragraph, width - 2, SMALL)):
                out.append(
                    _Band(
                        PITCH + (0.7 if k == 0 else 0.0),
                        ((0.0, PITCH - 0.6 + (0.7 if k == 0 else 0.0), line, SMALL, False),),
                    )
                )
        return out
    lefts: list[float] = []
    x = 0.0
    for _, share in block.heads:
        lefts.append(x)
        x += share * width
    widths = [share * width - 2.0 for _, share in block.heads]
    heads = tuple((lx, 3.6, name, FINE, False) for lx, (name, _) in zip(lefts, block.heads, strict=True) if name)
    out.append(_Band(4.8, heads, NARROW, head=True))
    for row in block.rows:
        cells = [fold(cell, w, SMALL) for cell, w in zip(row, widths, strict=True)]
        lines = max(len(c) for c in cells)
        texts = tuple(
            (lx, PITCH * n + PITCH - 0.7, line, SMALL, False)
            for lx, cell in zip(lefts, cells, strict=True)
            for n, line in enumerate(cell)
            if line
        )
        out.append(_Band(PITCH * lines + 0.7, texts, NARROW))
    return out


def _flow(page: _Page, todo: Sequence[Block], columns: Sequence[Area]) -> list[Block]:
    """Fill the columns with blocks in order; return what did not fit, tables split between rows."""
    rest = list(todo)
    for area in columns:
        y = area.y + area.height
        while rest:
            bands = _bands(rest[0], area.width)
            heads = [b for b in bands if b.head]
            body = [b for b in bands if not b.head]
            top = sum(b.height for b in heads)
            fits = 0
            used = top
            while fits < len(body) and used + body[fits].height <= y - area.y:
                used += body[fits].height
                fits += 1
            whole = fits == len(body)
            if not whole and not (isinstance(rest[0], Table) and fits >= 1):
                break
            group = "notes" if isinstance(rest[0], Prose) else "schedules"
            items = page.groups.setdefault(group, [])
            for band in (*heads, *body[:fits]):
                items += _band_items(band, area.x, y, area.width)
                y -= band.height
            y -= 4.5
            if whole:
                rest.pop(0)
                continue
            table = rest[0]
            assert isinstance(table, Table)
            title = table.title if table.title.endswith(", continued") else f"{table.title}, continued"
            rest[0] = Table(title, table.heads, table.rows[fits:])
            break
    return rest


def _band_items(band: _Band, x: float, top: float, width: float) -> list[Item]:
    items: list[Item] = [
        Text(Kind.TABLE, (x + dx, top - drop), text, height, "start", 0.0, bold)
        for dx, drop, text, height, bold in band.texts
    ]
    if band.rule:
        y = top - band.height
        items.append(Lines(Kind.TABLE, (((x, y), (x + width, y)),), width=band.rule))
    return items


# --- fixed blocks --------------------------------------------------------------------------------------------------

APPROVAL_HEIGHT = 37.0


def _box(kind: Kind, x0: float, y0: float, x1: float, y1: float, width: float) -> Path:
    return Path(kind, polygon_ring([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]), True, "", width)


def _approval(x: float, y: float) -> list[Item]:
    """The approval block, its lower left corner at (x, y)."""
    k = Kind.APPROVAL
    items: list[Item] = [
        Text(k, (x, y + APPROVAL_HEIGHT - 4), "Approval", NOTE, "start", 0.0, True),
        _box(k, x, y, x + COLUMN, y + APPROVAL_HEIGHT - 6.5, WIDE),
    ]
    for n, words in enumerate(("approved", "approved as noted", "revise and resubmit")):
        low = y + APPROVAL_HEIGHT - 14 - n * 7.2
        items.append(_box(k, x + 4, low, x + 8, low + 4, NARROW))
        items.append(Text(k, (x + 11, low + 0.8), words, SMALL))
    for n, words in enumerate(("name", "signature", "date")):
        low = y + APPROVAL_HEIGHT - 13.2 - n * 7.2
        items.append(Text(k, (x + 66, low), words, SMALL))
        items.append(Lines(k, (((x + 88, low - 0.8), (x + COLUMN - 4, low - 0.8)),)))
    items.append(Text(k, (x + 4, y + 2.2), "Nothing is cut before this drawing is back signed. Made to order.", FINE))
    return items


def _legend(layout: Layout, x: float, y: float) -> list[Item]:
    """Marks and what they stand for, in one row."""
    pen = Pen(1.0)
    divided = layout.divided
    rows: list[tuple[MarkShape, str, str, float, bool]] = [
        ("circle", "P1", "piece", 4.2, True),
        ("diamond", "J1", "joint", 5.6, bool(divided.joints)),
        ("box", "S1", "cutout", 4.6, bool(layout.laid.cutouts)),
        ("triangle", "1", "see findings", 3.8, any(f.at for f in layout.findings)),
    ]
    heights = {"circle": 4.2, "diamond": 4.4, "box": 2.8, "triangle": 3.5}
    at = x + 5.0
    for shape, text, words, half, wanted in rows:
        if wanted:
            pen.draw_mark(shape, text, Box(at, y + 3.0, half, heights[shape]), Kind.MARK, "")
            pen.text(Kind.LABEL, (at + 7.5, y + 2.0), words)
            at += 7.5 + text_width(words, SMALL) + 10.0
    return pen.items


def _fit(text: str, width: float, heights: Sequence[float], bold: bool = False) -> tuple[list[str], float]:
    """Return the text in lines and the letter height at which it fits a width: one line if it can be, else two."""
    for height in heights:
        if text_width(text, height, bold) <= width:
            return [text], height
    lines = fold(text, width, SMALL, bold)
    if len(lines) <= 2:
        return lines, SMALL
    lines = fold(text, width, FINE, bold)
    return lines[:3], FINE


def _title_block(layout: Layout, page: _Page, number: int, of: int) -> tuple[list[Item], dict[str, str]]:
    job = layout.job
    inner = frame_area(job.sheet.size)
    x0, y0 = inner.x + inner.width - BLOCK_WIDTH, inner.y
    scale = (
        page.views[0].label
        if len({v.label for v in page.views}) == 1 and page.views
        else "as noted"
        if page.views
        else "none"
    )
    not_given = "not given"
    fields = {
        "title": job.job.title,
        "number": job.job.number,
        "owner": job.job.maker or not_given,
        "dealer": job.job.dealer or not_given,
        "revision": job.job.revision or "-",
        "sheet": f"{number} of {of}",
        "drawn": job.job.drawn_by or not_given,
        "document": f"shop drawing, {page.title}",
        "date of issue": str(job.job.date or not_given),
        "approved by": "awaiting sign-off",
        "scale": scale,
        "site measured": str(job.field.date or not_given),
    }
    unit = "inches" if job.job.units == "in" else "millimetres"
    stop = " CANNOT BE MADE AS DRAWN: see findings." if any(f.severity == "stop" for f in layout.findings) else ""
    note = f"Dimensions in {unit}. Do not scale. Verify in field.{stop}  staveline {VERSION}"
    rows: list[tuple[float, list[tuple[str, float]]]] = [
        (14.0, [("title", 120.0), ("number", 60.0)]),
        (9.5, [("owner", 60.0), ("dealer", 60.0), ("revision", 30.0), ("sheet", 30.0)]),
        (9.0, [("drawn", 60.0), ("document", 60.0), ("date of issue", 60.0)]),
        (9.0, [("approved by", 60.0), ("scale", 60.0), ("site measured", 60.0)]),
    ]
    k = Kind.TITLE
    items: list[Item] = [_box(k, x0, y0, x0 + BLOCK_WIDTH, y0 + BLOCK_HEIGHT, WIDE)]
    y = y0 + BLOCK_HEIGHT
    for height, cells in rows:
        x = x0
        y -= height
        items.append(Lines(k, (((x0, y), (x0 + BLOCK_WIDTH, y)),), width=NARROW))
        for name, width in cells:
            if x > x0:
                items.append(Lines(k, (((x, y), (x, y + height)),), width=NARROW))
            items.append(Text(k, (x + 1.2, y + height - 2.6), name, FINE, "start", 0.0, False, "field name"))
            heights = (
                (HEAD, TITLE, NOTE, SMALL)
                if name == "number"
                else (TITLE, NOTE, SMALL)
                if name == "title"
                else (NOTE, SMALL)
            )
            bold = name in ("title", "number")
            lines, letters = _fit(fields[name], width - 3.0, heights, bold)
            for n, line in enumerate(reversed(lines)):
                items.append(Text(k, (x + 1.2, y + 1.4 + n * letters * 1.5), line, letters, "start", 0.0, bold, name))
            x += width
    items.append(Text(k, (x0 + 1.2, y0 + 1.6), note, FINE))
    return items, {**fields, "units": unit}


def _finished(layout: Layout, page: _Page, number: int, of: int) -> Sheet:
    size = layout.job.sheet.size
    width, height = SIZES[size]
    inner = frame_area(size)
    frame: list[Item] = [_box(Kind.FRAME, inner.x, inner.y, inner.x + inner.width, inner.y + inner.height, HEAVY)]
    frame += _centring(width, height, inner)
    block, fields = _title_block(layout, page, number, of)
    groups = [Group("frame", tuple(frame)), Group("title-block", tuple(block))]
    order = ["schedules", "notes", "approval", "legend"]
    groups += [
        Group(name, tuple(page.groups.get(name, ()))) for name in order if name == "notes" or page.groups.get(name)
    ]
    return Sheet(number, of, size, width, height, page.title, tuple(page.views), tuple(groups), fields)


def _centring(width: float, height: float, inner: Area) -> list[Item]:
    """Centring marks at the middle of each side, from the sheet's edge to a little inside the frame."""
    cx, cy = width / 2, height / 2
    strokes = (
        ((cx, inner.y - 5), (cx, inner.y)),
        ((cx, inner.y + inner.height), (cx, inner.y + inner.height + 5)),
        ((inner.x - 5, cy), (inner.x, cy)),
        ((inner.x + inner.width, cy), (inner.x + inner.width + 5, cy)),
    )
    return [Lines(Kind.FRAME, strokes, width=HEAVY)]
