"""How the tables of what can be used are set: columns that line up within a width, and the same values as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence
from typing import Any

WIDTH = 110
"""So many letters a line has at most."""
_GAP, _INDENT = 2, 2
_LEAST_LAST = 24
"""The last column is no narrower, or its words would be set one below the other."""


def columns(rows: Sequence[Sequence[str]], align: str) -> list[str]:
    """Return rows as lines whose columns line up; ``align`` has ``<`` or ``>`` for each. The last column is wrapped.

    Raises ValueError for rows that leave the last column no room.
    """
    widths = [max(len(row[k]) for row in rows) for k in range(len(align) - 1)]
    room = WIDTH - _INDENT - sum(widths) - _GAP * len(widths)
    if room < _LEAST_LAST and max(len(row[-1]) for row in rows) > room:
        raise ValueError(f"{room} letters are left for the last column")
    out = []
    for row in rows:
        cells = [f"{cell:{side}{width}}" for cell, side, width in zip(row, align, widths, strict=False)]
        head = " " * _INDENT + "".join(cell + " " * _GAP for cell in cells)
        wrapped = textwrap.wrap(row[-1], room, break_on_hyphens=False) or [""]
        out.append((head + wrapped[0]).rstrip())
        out += [" " * len(head) + line for line in wrapped[1:]]
    return out


def prose(text: str, indent: str = "") -> list[str]:
    """Return a sentence or more as lines within the width."""
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)


def json_text(content: dict[str, Any]) -> str:
    """Return plain values as JSON."""
    return json.dumps(content, indent=1, ensure_ascii=False) + "\n"
