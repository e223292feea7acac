"""What the lay-up sheets say in tables: boards to buy, what is cut from each, strips of a piece, and what else a job takes."""

from __future__ import annotations

from collections.abc import Iterator

from layout.cut_list import Lot, boards_cut
from layout.layup import layup_words
from layout.lettering import NO_BREAK
from layout.lumber import BOARD_FOOT_MM3, CUBIC_METRE_MM3, INCH
from layout.materials import Materials
from layout.pipeline import Layout
from layout.tabular import Block, Prose, Table
from layout.units import Labels
from layout.wood import POUND_KG, species_of


def board_blocks(layout: Layout, of: Materials) -> list[Block]:
    """Return the tables of the lay-up sheets, the boards to buy first."""
    blocks: list[Block | None] = [
        _buying(layout, of),
        _cutting(layout, of),
        _lacking(layout, of),
        _offs(layout, of),
        _rest(layout, of),
    ]
    return [b for b in blocks if b is not None]


def volume_text(layout: Layout, mm3: float) -> str:
    """Return a volume as printed: board feet, or m3 where the job is in mm."""
    if layout.job.job.units == "in":
        return f"{mm3 / BOARD_FOOT_MM3:.1f} bf"
    return f"{mm3 / CUBIC_METRE_MM3:.3f} m3"


def stock_text(labels: Labels, mm: float) -> str:
    """Return a board's length as boards are sold: in feet where that is a whole number, else as any length."""
    feet = mm / (12 * INCH)
    return f"{round(feet)} ft" if labels.unit == "in" and abs(feet - round(feet)) < 1e-6 else labels.text(mm)


def _buying(layout: Layout, of: Materials) -> Table | None:
    labels = layout.laid.labels
    rows = []
    for lot in of.cut.lots:
        for length, count in lot.boards:
            volume = volume_text(layout, lot.quarter.rough * lot.board * length * count)
            size = f"{labels.text(lot.board)} x {stock_text(labels, length)}"
            rows.append((str(count), lot.quarter.name, size, _ripped(labels, lot), volume))
    if not rows:
        return None
    yield_ = f"{100 * of.net / of.bought:.0f} % of it in the tops"
    rows.append(("", "", "all", yield_, volume_text(layout, of.bought)))
    heads = (("boards", 0.11), ("rough", 0.12), ("width x length", 0.27), ("ripped to", 0.32), ("", 0.18))
    return Table(f"Boards to buy, {species_of(layout.job).common_name}", heads, tuple(rows))


def _ripped(labels: Labels, lot: Lot) -> str:
    if lot.joined:
        return f"{labels.fine(lot.rip)}, finger-jointed"
    return labels.fine(lot.rip) if lot.per_board == 1 else f"{lot.per_board} of {labels.fine(lot.rip)}"


def _cutting(layout: Layout, of: Materials) -> Table | None:
    labels = layout.laid.labels
    rows = []
    first = 1
    for lot in of.cut.lots:
        if lot.joined:
            first += sum(n for _, n in lot.boards)
            continue
        for number, lanes in boards_cut(lot, first):
            parts = [
                ", ".join(f"{lot.needs[k].name}{NO_BREAK}{labels.text(lot.needs[k].length)}" for k in lane.parts)
                for lane in lanes
            ]
            stock = stock_text(labels, lanes[0].stock * lot.tick) if lanes else ""
            rows.append((str(number), f"{lot.quarter.name} {stock}", "; ".join(parts)))
            first = number + 1
    if not rows:
        return None
    return Table("Cut list, board by board", (("board", 0.09), ("of", 0.16), ("gives", 0.75)), tuple(rows))


def _lacking(layout: Layout, of: Materials) -> Table | None:
    labels = layout.laid.labels
    rows = tuple((n.name, labels.text(n.length), n.why) for n in of.cut.lacking)
    return Table("No board gives these", (("strip", 0.2), ("length", 0.2), ("", 0.6)), rows) if rows else None


def _offs(layout: Layout, of: Materials) -> Table | None:
    labels = layout.laid.labels
    rows = tuple(
        (f"{o.piece}, {o.end}", f"{labels.text(o.length)} x {labels.text(o.width)}", ", ".join(o.used) or "to spare")
        for o in of.offs
    )
    return (
        Table("Cut-offs of square blanks", (("from", 0.25), ("at the most", 0.4), ("gives", 0.35)), rows)
        if rows
        else None
    )


def _rest(layout: Layout, of: Materials) -> Prose:
    labels = layout.laid.labels
    inch = layout.job.job.units == "in"
    lines = [
        f"Bought {volume_text(layout, of.bought)}, made {volume_text(layout, of.net)}; {bound_words(layout, of)}.",
        f"Finish on all six faces: {of.finish / (12 * INCH) ** 2:.1f} sq ft."
        if inch
        else f"Finish on all six faces: {of.finish / 1e6:.2f} m2.",
        f"Crate, inside: {labels.text(of.crate.length)} x {labels.text(of.crate.width)} x {labels.text(of.crate.height)}; "
        f"gross {of.crate.gross / POUND_KG:.0f} lb."
        if inch
        else f"Crate, inside: {labels.text(of.crate.length)} x {labels.text(of.crate.width)} x {labels.text(of.crate.height)}; "
        f"gross {of.crate.gross:.0f} kg.",
        "Boards of random widths average the width given; strips are cut over-long by the trim. "
        f"{'Board feet' if inch else 'Volume'} by rough thickness.",
    ]
    return Prose("Wood, finish, crate", tuple(lines))


def bound_words(layout: Layout, of: Materials) -> str:
    """Say how near the boards bought come to the least that could do."""
    bought = sum(lot.plan.bought * lot.tick for lot in of.cut.lots)
    least = sum(lot.plan.bound * lot.tick for lot in of.cut.lots)
    if all(lot.plan.proven for lot in of.cut.lots):
        return "no choice of these boards is shorter (proven)"
    labels = layout.laid.labels
    return f"{labels.text(bought - least)} of board above the proven bound"


def strip_words(layout: Layout, of: Materials) -> Iterator[str]:
    """Yield each piece's lay-up in one line."""
    for layup in of.layups:
        off = " (of a cut-off)" if layup.piece in of.from_offs else ""
        yield f"{layup.piece}{off}: {layup_words(layout.laid.labels, layup)}{', stepped' if layup.stepped else ''}"
