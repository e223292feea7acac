"""What a table and a text beside the drawing are, before they have a place on paper."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its title, column heads with their share of the width, and rows."""

    title: str
    heads: tuple[tuple[str, float], ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Prose:
    """Lines of text under a title, each a paragraph."""

    title: str
    lines: tuple[str, ...]


Block = Table | Prose
