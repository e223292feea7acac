"""Commands that lay out and draw nothing twice, for tests that run them often: what they make follows from the job alone."""

from __future__ import annotations

from functools import cache
from typing import Any

import cli.drawing
import cli.issue
import cli.release
import layout.writers.shop_dxf
import layout.writers.svg
from layout.drawing import Drawing, Sheet
from layout.identity import digest_of
from layout.materials import Materials, materials
from layout.pipeline import Layout, lay_text
from layout.reading import Located
from layout.sheets import draw
from layout.writers.svg import svg_text

_DRAWN: dict[Any, Drawing] = {}
_TAKEN: dict[str, Materials] = {}
_WRITTEN: dict[int, tuple[Sheet, str]] = {}

laid_once = cache(lay_text)


def _located_once(found: Located) -> Layout:
    """Return a job laid out, once for a text; jobs of these tests have no templates."""
    return laid_once(found.source.text, found.source.name)


def materials_once(layout: Layout) -> Materials:
    """Return what a job takes, once for a digest."""
    which = digest_of(layout)
    return _TAKEN.get(which) or _TAKEN.setdefault(which, materials(layout))


def drawn_once(layout: Layout, of: Materials | None = None, changes: object = None) -> Drawing:
    """Return a layout's drawing, made once: it follows from the digest and the day."""
    assert not changes
    which = (digest_of(layout), layout.job.job.date)
    return _DRAWN.get(which) or _DRAWN.setdefault(which, draw(layout, of or materials_once(layout)))


def written_once(sheet: Sheet, drawing: Drawing) -> str:
    """Return a sheet as SVG, written once; the sheet is kept, so that no other takes its number."""
    if id(sheet) not in _WRITTEN:
        _WRITTEN[id(sheet)] = (sheet, svg_text(sheet, drawing))
    return _WRITTEN[id(sheet)][1]


def be_lean(monkeypatch: Any, *, dxf: bool = False) -> None:
    """Let the commands use what was made before; without ``dxf`` the digest stands for the content of shop.dxf."""
    monkeypatch.setattr(cli.issue, "lay_located", _located_once)
    for command in (cli.issue, cli.release, cli.drawing):
        monkeypatch.setattr(command, "draw", drawn_once)
        monkeypatch.setattr(command, "materials", materials_once)
    monkeypatch.setattr(layout.writers.svg, "svg_text", written_once)
    if not dxf:
        monkeypatch.setattr(layout.writers.shop_dxf, "shop_dxf", lambda drawing: drawing.digest.encode())
