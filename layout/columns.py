"""Schedules set in columns: bands of text with their rules, tables broken between rows where a column ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from layout.drawing import FINE, NARROW, NOTE, SMALL, WIDE, Item, Kind, Lines, Text
from layout.lettering import fold
from layout.page import Area, Page
from layout.tabular import Block, Prose, Table


@dataclass(frozen=True, slots=True)
class _Band:
    """A slice of a table: its height, texts as (x, drop to the baseline, text, height, bold), a rule under it or none."""

    height: float
    texts: tuple[tuple[float, float, str, float, bool], ...]
    rule: float = 0.0
    head: bool = False


PITCH = 4.3
LEAST_ROWS = 3
"""A table that is parted keeps so many rows on either side."""


def _titled(title: str) -> _Band:
    return _Band(7.0, ((0.0, 4.6, title, NOTE, True),), WIDE, head=True)


@lru_cache(maxsize=64)
def _bands(block: Block, width: float) -> tuple[_Band, ...]:
    """Return a block's bands from the top down. Those asked for last are kept: sheets are filled more than once."""
    out = [_titled(block.title)]
    if isinstance(block, Prose):
        for paragraph in block.lines:
            for k, line in enumerate(fold(paragraph, width - 2, SMALL)):
                out.append(
                    _Band(
                        PITCH + (0.7 if k == 0 else 0.0),
                        ((0.0, PITCH - 0.6 + (0.7 if k == 0 else 0.0), line, SMALL, False),),
                    )
                )
        return tuple(out)
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
    return tuple(out)


def flow(page: Page, todo: Sequence[Block], columns: Sequence[Area], *, whatever: bool = False) -> list[Block]:
    """Fill the columns with blocks in order; return what did not fit, tables split between rows.

    With ``whatever`` a row, or words in a row, that a whole column has no room for are parted between lines.
    """
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
            fresh = y == area.y + area.height
            if not whole and not fits and fresh and whatever and isinstance(rest[0], Table):
                rest[0] = _halved(rest[0], area.width, int((y - area.y - top - 0.7) / PITCH))
                if _bands(rest[0], area.width)[2].height + top <= y - area.y:
                    continue
                break
            if not whole and whatever and fresh and isinstance(rest[0], Prose):
                lines = [line for p in rest[0].lines for line in fold(p, area.width - 2, SMALL)]
                rest[0] = Prose(_continued(rest[0].title), tuple(lines[fits:]))
                for band in (*heads, *body[:fits]):
                    page.groups.setdefault("notes", []).extend(_band_items(band, area.x, y, area.width))
                    y -= band.height
                break
            if not whole:
                fits = _parted(fits, len(body), fresh=fresh) if isinstance(rest[0], Table) else 0
                if not fits:
                    break
            group = "notes" if isinstance(rest[0], Prose) else "schedules"
            items = page.groups.setdefault(group, [])
            if not whole:
                heads[0] = _titled(f"{rest[0].title}, more follows")
            for band in (*heads, *body[:fits]):
                items += _band_items(band, area.x, y, area.width)
                y -= band.height
            y -= 4.5
            if whole:
                rest.pop(0)
                continue
            table = rest[0]
            assert isinstance(table, Table)
            rest[0] = Table(_continued(table.title), table.heads, table.rows[fits:])
            break
    return rest


def _continued(title: str) -> str:
    return title if title.endswith(", continued") else f"{title}, continued"


def _halved(table: Table, width: float, lines: int) -> Table:
    """Return a table whose first row is made two, the first of so many lines."""
    row, *others = table.rows
    cells = [fold(cell, share * width - 2.0, SMALL) for cell, (_, share) in zip(row, table.heads, strict=True)]
    first, second = (tuple(" ".join(c[part]) for c in cells) for part in (slice(lines), slice(lines, None)))
    return Table(table.title, table.heads, (first, second, *others))


def _parted(fits: int, rows: int, *, fresh: bool) -> int:
    """Return after how many rows a table is parted: not for a row or two on either side, unless its column is a fresh one."""
    if fresh:
        return fits
    few = min(fits, rows - LEAST_ROWS)
    return few if few >= LEAST_ROWS else 0


def _band_items(band: _Band, x: float, top: float, width: float) -> list[Item]:
    items: list[Item] = [
        Text(Kind.TABLE, (x + dx, top - drop), text, height, "start", 0.0, bold)
        for dx, drop, text, height, bold in band.texts
    ]
    if band.rule:
        y = top - band.height
        items.append(Lines(Kind.TABLE, (((x, y), (x + width, y)),), width=band.rule))
    return items
