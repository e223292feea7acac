"""Sheets: which view and which table stands where, each view at the largest standard scale that fits."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from itertools import groupby

from layout.board_tables import board_blocks
from layout.changes import Change
from layout.clouds import Revised, revised
from layout.columns import flow
from layout.detail_view import detail_view, leg_detail
from layout.details import letter
from layout.drawing import HEAVY, Drawing, Group, Item, Kind, Lines, Sheet, View
from layout.identity import digest_of
from layout.key_plan import key_plan
from layout.layup_view import layup_view
from layout.materials import Materials
from layout.page import (
    BLOCK_HEIGHT,
    BLOCK_WIDTH,
    COLUMN,
    GUTTER,
    PIECE_LARGEST,
    SCALES,
    SIZES,
    TABLE,
    Area,
    Page,
    frame_area,
)
from layout.pen import drawn_strokes
from layout.piece_view import piece_view
from layout.pipeline import Layout
from layout.plan_view import plan_view
from layout.schedules import blocks
from layout.setting_tables import setting_blocks
from layout.setting_view import setting_view
from layout.tabular import Block, Table
from layout.title_block import APPROVAL_HEIGHT, approval, frame_box, legend, title_block


def draw(layout: Layout, of: Materials | None = None, changes: Sequence[Change] | None = None) -> Drawing:
    """Return the whole packet of sheets for a job laid out.

    With its materials, a board map of each piece too; with ``changes`` since an earlier issue these are clouded.
    """
    job = layout.job
    maps = _layup_pages(layout, of) if of else []
    told = revised(layout, changes)
    first = _plan_page(layout, told)
    between = [*_piece_pages(layout, told), *_detail_pages(layout, first.views[0].crowded), _setting_page(layout)]
    rows = blocks(layout, told)
    # the sheet index is a table among others, and how long it is hangs on how many sheets the tables take
    count = 1
    for _ in range(4):
        titles = [
            first.title,
            *(page.title for page in between),
            *["schedules"] * count,
            *(page.title for page in maps),
        ]
        index = [_index(titles)] if len(titles) > 2 else []
        pages = [*_filled(layout, first, between, [rows[0], *index, *rows[1:]]), *maps]
        if len(pages) == len(titles):
            break
        count = len(pages) - len(titles) + count
    sheets = tuple(finished(layout, page, n, len(pages)) for n, page in enumerate(pages, start=1))
    return Drawing(job.job.number, job.job.title, job.job.revision, job.job.units, sheets, digest_of(layout))


def _index(titles: Sequence[str]) -> Table:
    """Return the sheet index: sheets of one kind that follow one another in one row."""
    rows: list[tuple[str, str]] = []
    for kind, group in groupby(enumerate(titles, start=1), key=lambda pair: pair[1].split()[0].rstrip("s")):
        here = list(group)
        numbers = str(here[0][0]) if len(here) == 1 else f"{here[0][0]} to {here[-1][0]}"
        names = [title.partition(" ")[2] for _, title in here if " " in title]
        title = here[0][1] if len(here) == 1 else f"{kind}s {', '.join(names)}".strip()
        rows.append((numbers, title))
    return Table("Sheets", (("sheet", 0.12), ("shows", 0.88)), tuple(rows))


def _filled(layout: Layout, first: Page, between: Sequence[Page], told: Sequence[Block]) -> list[Page]:
    """Return all pages with the tables set: on the plan's sheet what fits, the rest on sheets of their own."""
    plan = replace(first, groups={name: [*items] for name, items in first.groups.items()})
    left = flow(plan, told, first.columns)
    *others, setting = (
        replace(page, groups={name: [*items] for name, items in page.groups.items()}) for page in between
    )
    for page in others:
        left = flow(page, left, page.columns)
    left += flow(setting, setting_blocks(layout), setting.columns)
    return [plan, *others, setting, *_schedule_pages(layout, left, approve="approval" not in plan.groups)]


# --- views ---------------------------------------------------------------------------------------------------------


ABOUT_PLAN, ABOUT_PIECE, ABOUT_LAYUP = (10.0, 25.0), (20.0, 45.0), (24.0, 13.0)
"""What dimensions, marks and words add to the width and height of a plan, a piece and its lay-up at the least, paper mm: a
little less than on any sheet seen, so that no scale that would do is passed over."""


def fitted(
    layout: Layout,
    make: Callable[[float, str], View],
    areas: Sequence[Area],
    extent: tuple[float, float],
    largest: int = 1,
    about: tuple[float, float] = (0.0, 0.0),
) -> tuple[View, int]:
    """Return the view at the largest standard scale that fits one of the areas, placed in the middle, and which area.

    ``extent`` (model mm) and ``about`` (paper mm): width and height that the view takes at the least, and what dimensions and
    words about it add to them; scales too large for that are not drawn.
    """
    scales = [s for s in SCALES[layout.job.job.units] if s[0] >= largest]
    for ratio, name in scales:
        width, height = extent[0] / ratio + about[0], extent[1] / ratio + about[1]
        bare = any(width <= a.width and height <= a.height for a in areas)
        if not bare and ratio != scales[-1][0]:
            continue
        label = f"{name} (1:{ratio})" if layout.job.job.units == "in" else name
        view = make(1.0 / ratio, label)
        for k, area in enumerate(areas):
            x0, y0, x1, y1 = (b * view.scale for b in view.bounds)
            if (x1 - x0 <= area.width and y1 - y0 <= area.height) or ratio == scales[-1][0]:
                at = (area.x + (area.width - (x1 - x0)) / 2 - x0, area.y + (area.height - (y1 - y0)) / 2 - y0)
                return replace(view, at=at), k
    raise AssertionError("there is always a smallest scale")


def _extent(layout: Layout) -> tuple[float, float]:
    """Return the width and height of the room with its tops, model mm."""
    boxes = [p.ring.bounds() for p in layout.divided.pieces]
    points = [p for w in layout.laid.room.walls for p in (w.start, w.end)]
    xs = [x for box in boxes for x in (box[0], box[2])] + [x for x, _ in points]
    ys = [y for box in boxes for y in (box[1], box[3])] + [y for _, y in points]
    return (max(xs) - min(xs), max(ys) - min(ys))


def _plan_page(layout: Layout, told: Revised) -> Page:
    inner = frame_area(layout.job.sheet.size)
    column = Area(inner.x + inner.width - COLUMN, inner.y + BLOCK_HEIGHT, TABLE, inner.height - BLOCK_HEIGHT)
    beside = Area(inner.x + 4, inner.y + 4, inner.width - COLUMN - GUTTER - 6, inner.height - 8)
    band = 78.0
    over = Area(inner.x + 4, inner.y + band + 4, inner.width - 8, inner.height - band - 8)
    # beside the title block there is room for approval and legend on a wide sheet, above it on a narrow one
    wide = inner.width >= 2 * COLUMN + 8
    over_legend = APPROVAL_HEIGHT + 5 if wide else BLOCK_HEIGHT + 3
    low = over_legend + LEGEND_HEIGHT - 2
    alone = Area(inner.x + 4, inner.y + low, inner.width - 8, inner.height - low - 3)
    view, k = fitted(
        layout,
        lambda s, label: plan_view(layout, s, label, told),
        (beside, over, alone),
        _extent(layout),
        about=ABOUT_PLAN,
    )
    page = Page("plan", [view], {}, [])
    left = Area(inner.x + 4, inner.y + 14, min(inner.width - COLUMN - GUTTER - 8, COLUMN), band - 16)
    under = APPROVAL_HEIGHT + LEGEND_HEIGHT
    high = replace(column, y=column.y + under + GUTTER, height=column.height - under - GUTTER - 4)
    columns, approval_at, legend_at = (
        ([high], (column.x, column.y + 3), (column.x + 1, column.y + APPROVAL_HEIGHT + 8)),
        ([left], (column.x, column.y + 1), (inner.x + 6, inner.y + 5)),
        ([], (inner.x + 4, inner.y + 2), (inner.x + 6, inner.y + over_legend)),
    )[k]
    ceiling = (inner.y + inner.height, inner.y + band + 10, inner.y + BLOCK_HEIGHT + 1)[k]
    wide_enough = k < 2 or wide
    if approval_at[1] + APPROVAL_HEIGHT < ceiling and wide_enough:
        page.groups["approval"] = approval(layout, *approval_at)
    page.columns = columns or _between_lines(view, Area(alone.x, alone.y, alone.width, alone.height))
    page.groups["legend"] = legend(layout, *legend_at, revised=told.shown)
    return page


def _between_lines(view: View, area: Area) -> list[Area]:
    """Return the highest rectangle, as wide as a table, that a placed view leaves free in its area; nothing if it is low."""
    import numpy as np  # noqa: PLC0415

    strokes = np.array([(*a, *b) if a <= b else (*b, *a) for a, b in drawn_strokes(view)]).reshape(-1, 4)
    x0, y0, x1, y1 = strokes.T
    run = np.where(x1 > x0, x1 - x0, 1.0)
    top = area.y + area.height
    best: Area | None = None
    x = area.x
    while x + TABLE <= area.x + area.width:
        left, right = x - GUTTER, x + TABLE + GUTTER
        # between the strip's uprights, from its lower end up; an upright stroke has its ends' heights
        here = (x1 >= left) & (x0 <= right)
        shares = [np.clip((side - x0[here]) / run[here], 0.0, 1.0) for side in (left, right)]
        shares[1][x1[here] <= x0[here]] = 1.0
        ends = [y0[here] + share * (y1 - y0)[here] for share in shares]
        low, high = np.minimum(*ends), np.maximum(*ends)
        upwards = np.argsort(low, kind="stable")
        floors = np.maximum.accumulate(np.append(area.y, high[upwards]))
        heights = np.append(low[upwards], top) - floors - 2 * GUTTER
        k = int(heights.argmax())
        if heights[k] > (best.height if best else LEAST_COLUMN * 0.6):
            best = Area(x, float(floors[k]) + GUTTER, TABLE, float(heights[k]))
        x += 8.0
    return [best] if best else []


def _piece_pages(layout: Layout, told: Revised) -> list[Page]:
    inner = frame_area(layout.job.sheet.size)
    area = Area(inner.x + 5, inner.y + BLOCK_HEIGHT + 5, inner.width - 10, inner.height - BLOCK_HEIGHT - 9)
    largest = PIECE_LARGEST[layout.job.job.units]
    pages: list[Page] = []
    names: list[str] = []
    shelf_y = left = 0.0
    shelf = 0.0
    for piece in layout.divided.pieces:
        size = (piece.length, piece.width)
        view, _ = fitted(layout, partial(piece_view, layout, piece, told), (area,), size, largest, ABOUT_PIECE)
        x0, y0, x1, y1 = (b * view.scale for b in view.bounds)
        width, height = x1 - x0, y1 - y0
        if pages and left + width <= area.x + area.width and shelf_y - height >= area.y - 1e-6:
            shelf = max(shelf, height)
        elif pages and shelf_y - shelf - 10 - height >= area.y - 1e-6:
            shelf_y, left, shelf = shelf_y - shelf - 10, area.x, height
        else:
            pages.append(Page("", [], {}, []))
            names = []
            shelf_y, left, shelf = area.y + area.height, area.x, height
        pages[-1].views.append(replace(view, at=(left - x0, shelf_y - height - y0)))
        left += width + 14
        names.append(piece.id)
        pages[-1].title = f"piece {names[0]}" if len(names) == 1 else f"pieces {', '.join(names)}"
    corner = Area(inner.x + 5, inner.y + 2, min(inner.width - COLUMN - 10, 110.0), BLOCK_HEIGHT - 2)
    for page in pages:
        ids = [view.title for view in page.views]
        page.groups["key-plan"] = key_plan(layout, corner, ids)
    return [_centred(page, area) for page in pages]


def _detail_pages(layout: Layout, crowded: Sequence[tuple[str, str]]) -> list[Page]:
    """Return the details, and the legs that were too crowded for the plan, packed in rows from the top down.

    Each row is as high as its highest; beside the title block rows are shorter.
    """
    inner = frame_area(layout.job.sheet.size)
    pages: list[Page] = []
    packer = _Rows(inner)
    views = [detail_view(layout, mark, detail) for mark, detail in layout.details]
    views += [leg_detail(layout, letter(len(views) + k), top, wall) for k, (top, wall) in enumerate(crowded)]
    for view in views:
        x0, y0, x1, y1 = (b * view.scale for b in view.bounds)
        at = packer.place(x1 - x0, y1 - y0) if pages else None
        if at is None:
            pages.append(Page("details", [], {}, []))
            packer = _Rows(inner)
            at = packer.place(x1 - x0, y1 - y0) or (packer.area.x, packer.area.y + packer.area.height - (y1 - y0))
        pages[-1].views.append(replace(view, at=(at[0] - x0, at[1] - y0)))
    for page in pages:
        page.columns = _free_column(page, inner)
    return pages


def _free_column(page: Page, inner: Area) -> list[Area]:
    """Return what the views leave free of the column above the title block, for tables; nothing where it is too little."""
    x, low = inner.x + inner.width - COLUMN, inner.y + BLOCK_HEIGHT + 4
    high = inner.y + inner.height - 4
    for view in page.views:
        right, bottom = view.at[0] + view.bounds[2] * view.scale, view.at[1] + view.bounds[1] * view.scale
        if right > x - GUTTER:
            high = min(high, bottom - GUTTER)
    return [Area(x, low, TABLE, high - low)] if high - low > LEAST_COLUMN else []


LEAST_COLUMN = 60.0
"""A column lower than this (mm) is not worth filling."""


class _Rows:
    """Places of things set in rows from the top of a sheet down, left of the title block where they come so low."""

    def __init__(self, inner: Area) -> None:
        self.area = Area(inner.x + 5, inner.y + 5, inner.width - 10, inner.height - 10)
        self.block = (inner.x + inner.width - BLOCK_WIDTH - 6, inner.y + BLOCK_HEIGHT + 5)
        self.left, self.top, self.row = self.area.x, self.area.y + self.area.height, 0.0

    def place(self, width: float, height: float) -> tuple[float, float] | None:
        """Return the lower left corner of the next thing, or None where the sheet is full."""
        for _ in range(2):
            low = self.top - height
            right = self.area.x + self.area.width if low >= self.block[1] else self.block[0]
            if low >= self.area.y - 1e-6 and self.left + width <= right:
                at = (self.left, low)
                self.left += width + DETAIL_GAP
                self.row = max(self.row, height)
                return at
            if self.row == 0.0:
                return None
            self.left, self.top, self.row = self.area.x, self.top - self.row - DETAIL_GAP, 0.0
        return None


LEGEND_HEIGHT = 13.0
"""What the legend takes above the approval block, mm."""
DETAIL_GAP = 12.0
"""Room between details, mm."""


def _setting_page(layout: Layout) -> Page:
    """Return the sheet for whoever sets the tops: hold-downs and gaps, and the order of setting beside them."""
    inner = frame_area(layout.job.sheet.size)
    column = Area(inner.x + inner.width - COLUMN, inner.y + BLOCK_HEIGHT + 4, TABLE, inner.height - BLOCK_HEIGHT - 8)
    beside = Area(inner.x + 5, inner.y + 5, inner.width - COLUMN - GUTTER - 10, inner.height - 10)
    over = Area(inner.x + 5, inner.y + BLOCK_HEIGHT + 5, inner.width - 10, inner.height - BLOCK_HEIGHT - 10)
    narrow = beside.width < COLUMN / 2
    largest = SETTING_LARGEST[layout.job.job.units]
    areas = (over,) if narrow else (beside,)
    view, _ = fitted(layout, lambda s, label: setting_view(layout, s, label), areas, _extent(layout), largest)
    return Page("setting", [view], {}, [] if narrow else [column])


SETTING_LARGEST = {"in": 16, "mm": 20}
"""The setting plan is drawn no larger than 1 to this."""


def _layup_pages(layout: Layout, of: Materials) -> list[Page]:
    """Return a board map of each piece on a sheet of its own, tables of boards below them and on sheets after them."""
    inner = frame_area(layout.job.sheet.size)
    area = Area(inner.x + 5, inner.y + BLOCK_HEIGHT + 5, inner.width - 10, inner.height - BLOCK_HEIGHT - 9)
    largest = PIECE_LARGEST[layout.job.job.units]
    left: list[Block] = board_blocks(layout, of)
    pages: list[Page] = []
    for piece in layout.divided.pieces:
        make = partial(layup_view, layout, piece, of)
        view, _ = fitted(layout, make, (area,), (piece.length, piece.width), largest, ABOUT_LAYUP)
        x0, _, x1, y1 = (b * view.scale for b in view.bounds)
        top = area.y + area.height
        view = replace(view, at=(area.x + (area.width - (x1 - x0)) / 2 - x0, top - y1))
        page = Page(f"lay-up {piece.id}", [view], {}, [])
        low = view.at[1] + view.bounds[1] * view.scale - GUTTER
        beside = inner.width - BLOCK_WIDTH - 2 * GUTTER
        if low - inner.y > LEAST_COLUMN * 0.6 and beside >= TABLE:
            page.columns.append(Area(inner.x + 4, inner.y + 4, TABLE, low - inner.y - 4))
        if low - inner.y - BLOCK_HEIGHT > LEAST_COLUMN * 0.6:
            x = inner.x + inner.width - COLUMN
            page.columns.append(Area(x, inner.y + BLOCK_HEIGHT + 4, TABLE, low - inner.y - BLOCK_HEIGHT - 4))
        left = flow(page, left, page.columns)
        pages.append(page)
    rest = _schedule_pages(layout, left, approve=False)
    for page in rest:
        page.title = "lay-up boards"
    return [*pages, *rest]


def _centred(page: Page, area: Area) -> Page:
    """Move a page's views so that the lot stands in the middle of its area."""
    x0 = min(v.at[0] + v.bounds[0] * v.scale for v in page.views)
    x1 = max(v.at[0] + v.bounds[2] * v.scale for v in page.views)
    y0 = min(v.at[1] + v.bounds[1] * v.scale for v in page.views)
    y1 = max(v.at[1] + v.bounds[3] * v.scale for v in page.views)
    dx = area.x + (area.width - (x1 - x0)) / 2 - x0
    dy = area.y + (area.height - (y1 - y0)) / 2 - y0
    page.views = [replace(v, at=(v.at[0] + dx, v.at[1] + dy)) for v in page.views]
    return page


def _schedule_pages(layout: Layout, left: Sequence[Block], *, approve: bool) -> list[Page]:
    """Return the sheets that take what found no room on the plan's, the approval block on the first if it had none."""
    todo = list(left)
    inner = frame_area(layout.job.sheet.size)
    out: list[Page] = []
    while todo or approve:
        page = Page("schedules", [], {}, [])
        count = max(1, int((inner.width + GUTTER) // (COLUMN + GUTTER)))
        columns = []
        for k in range(count):
            x = inner.x + inner.width - COLUMN - (count - 1 - k) * (COLUMN + 2 * GUTTER)
            last = k == count - 1
            low = inner.y + (BLOCK_HEIGHT if last else 0) + 4
            columns.append(Area(x, low, TABLE, inner.y + inner.height - low - 4))
        if approve:
            at = columns[-1]
            page.groups["approval"] = approval(layout, at.x, at.y)
            columns[-1] = replace(at, y=at.y + APPROVAL_HEIGHT + GUTTER, height=at.height - APPROVAL_HEIGHT - GUTTER)
            approve = False
        rest = flow(page, todo, columns)
        if todo and rest == todo:
            rest = flow(page, todo, columns, whatever=True)
        if todo and rest == todo:
            raise AssertionError("no column has room for a line")
        out.append(page)
        todo = rest
    return out


def finished(layout: Layout, page: Page, number: int, of: int) -> Sheet:
    """Return a filled page as a sheet with its frame, centring marks and title block."""
    size = layout.job.sheet.size
    width, height = SIZES[size]
    inner = frame_area(size)
    frame: list[Item] = [frame_box(Kind.FRAME, inner.x, inner.y, inner.x + inner.width, inner.y + inner.height, HEAVY)]
    frame += _centring(width, height, inner)
    block, fields = title_block(layout, page, number, of)
    groups = [Group("frame", tuple(frame)), Group("title-block", tuple(block))]
    order = ["schedules", "notes", "approval", "legend", "key-plan"]
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
