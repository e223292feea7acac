"""``staveline materials``: what must be bought and made, as a table in the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from cli.terminal import WIDTH, count
from layout.board_tables import bound_words, stock_text, strip_words, volume_text
from layout.cut_list import Lot, boards_cut
from layout.lumber import INCH, surface_measure
from layout.materials import Materials
from layout.pipeline import Layout
from layout.profiles import SQUARE
from layout.wood import POUND_KG, species_of


def materials_text(layout: Layout, of: Materials) -> str:
    """Return what a job takes, for the terminal."""
    job = layout.job.job
    head = f"{job.number} {job.title}: {species_of(layout.job).common_name}, {layout.job.wood.construction}"
    blocks = (
        ("lay-up", strip_words(layout, of)),
        ("boards to buy", _boards(layout, of)),
        ("cut list", _cuts(layout, of)),
        ("no board gives", (f"{n.name}: {layout.laid.labels.text(n.length)}, {n.why}" for n in of.cut.lacking)),
        ("cut-offs", _offs(layout, of)),
        ("edges", _edges(layout, of)),
        ("cutouts", (f"{len(c.names)} {c.kind}: {', '.join(c.names)}" for c in of.cutouts)),
        ("joints", _joints(layout, of)),
        ("supports", (f"{len(s.names)} {s.kind}: {', '.join(s.names)}" for s in of.supports)),
        ("splash", _splash(layout)),
        ("finish, crate", _rest(layout, of)),
    )
    out = [head]
    for title, lines in blocks:
        told = list(lines)
        for k, line in enumerate(told):
            first = f"  {title if k == 0 else '':16}"
            out += textwrap.wrap(line, WIDTH, initial_indent=first, subsequent_indent=" " * 20)
    return "\n".join(out)


def _boards(layout: Layout, of: Materials) -> Iterator[str]:
    labels = layout.laid.labels
    for lot in of.cut.lots:
        for length, number in lot.boards:
            volume = volume_text(layout, lot.quarter.rough * lot.board * length * number)
            measure = f", surface measure {surface_measure(lot.board, length)} each" if labels.unit == "in" else ""
            size = f"{lot.quarter.name} x {labels.text(lot.board)} x {stock_text(labels, length)}"
            yield f"{number:3} {size}: {volume}{measure}"
    if of.bought:
        share = f"{100 * of.net / of.bought:.0f} % of it in the tops ({volume_text(layout, of.net)})"
        yield f"all {volume_text(layout, of.bought)}, {share}; {bound_words(layout, of)}"


def _cuts(layout: Layout, of: Materials) -> Iterator[str]:
    first = 1
    for lot in of.cut.lots:
        if lot.joined:
            rip = layout.laid.labels.fine(lot.rip)
            names = _names(layout, lot, range(len(lot.needs)))
            yield f"{lot.quarter.name} ripped to {rip}, finger-jointed: {names}"
            first += sum(n for _, n in lot.boards)
            continue
        for number, lanes in boards_cut(lot, first):
            parts = "; ".join(_names(layout, lot, lane.parts) for lane in lanes)
            stock = stock_text(layout.laid.labels, lanes[0].stock * lot.tick) if lanes else ""
            yield f"board {number}, {lot.quarter.name} {stock}: {parts}"
            first = number + 1


def _names(layout: Layout, lot: Lot, parts: Sequence[int]) -> str:
    return ", ".join(f"{lot.needs[k].name} {layout.laid.labels.text(lot.needs[k].length)}" for k in parts)


def _offs(layout: Layout, of: Materials) -> Iterator[str]:
    labels = layout.laid.labels
    for off in of.offs:
        used = ", ".join(off.used) or "to spare"
        yield f"{off.piece}, {off.end} end, {labels.text(off.length)} x {labels.text(off.width)} at the most: {used}"


def _edges(layout: Layout, of: Materials) -> Iterator[str]:
    labels = layout.laid.labels
    for edge in of.edges:
        if edge.profile != SQUARE:
            yield f"{edge.profile} {labels.text(edge.length)}, {edge.top}"


def _joints(layout: Layout, of: Materials) -> Iterator[str]:
    for j in of.joints:
        length = layout.laid.labels.text(j.length)
        yield f"{len(j.names)} {j.kind}: {', '.join(j.names)}, {length} in all, {count(j.fasteners, 'fastener')}"


def _splash(layout: Layout) -> Iterator[str]:
    labels = layout.laid.labels
    for k, s in enumerate(layout.splashes, start=1):
        size = f"{labels.text(s.length)} x {labels.fine(s.height)} x {labels.fine(s.thickness)}"
        yield f"BS{k}: {size}, {s.top} {s.side}"


def _rest(layout: Layout, of: Materials) -> Iterator[str]:
    labels = layout.laid.labels
    inside = " x ".join(labels.text(mm) for mm in (of.crate.length, of.crate.width, of.crate.height))
    if layout.job.job.units == "in":
        yield f"{of.finish / (12 * INCH) ** 2:.1f} sq ft on all six faces"
        yield f"crate {inside} inside, {of.crate.own / POUND_KG:.0f} lb; gross {of.crate.gross / POUND_KG:.0f} lb"
    else:
        yield f"{of.finish / 1e6:.2f} m2 on all six faces"
        yield f"crate {inside} inside, {of.crate.own:.0f} kg; gross {of.crate.gross:.0f} kg"
