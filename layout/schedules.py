"""What the tables say, all of them in the order a reader wants: words and numbers only.

Where they stand on paper is the affair of `columns` and `sheets`.
"""

from __future__ import annotations

from layout.check_field import held
from layout.clouds import Revised
from layout.material_text import material_text
from layout.piece_tables import cutout_table, edge_table, joint_table, milled_table, natural_table, piece_table
from layout.pipeline import Layout
from layout.plain_words import INITIAL, finding_words
from layout.planning import planning_facts, reachable, top_height
from layout.room_tables import (
    fit_table,
    measure_table,
    opening_table,
    overhang_table,
    splash_table,
    station_table,
    support_table,
    wall_table,
)
from layout.rules import ADA_HEIGHT, FIELD_JOINT, FIELD_JOINT_SOURCE, TOLERANCES
from layout.tabular import Block, Prose, Table


def blocks(layout: Layout, told: Revised | None = None) -> list[Block]:
    """Return every table and text that the job calls for, in the order a reader wants them; ``told``: what was revised."""
    found: list[Block | None] = [
        _findings(layout),
        piece_table(layout),
        cutout_table(layout),
        milled_table(layout),
        natural_table(layout),
        joint_table(layout),
        edge_table(layout),
        overhang_table(layout),
        support_table(layout),
        opening_table(layout),
        splash_table(layout),
        wall_table(layout),
        fit_table(layout),
        station_table(layout),
        measure_table(layout),
        material_text(layout),
        _included(layout),
        _revisions(layout, told or Revised()),
        _planning(layout),
        _tolerances(layout),
    ]
    return [b for b in found if b is not None]


def _findings(layout: Layout) -> Block:
    if not layout.findings:
        return Prose("Findings", ("None. What the checks cannot see stays to be verified.",))
    rows = tuple(
        (str(n), f.severity, finding_words(f), INITIAL if f.severity != "note" else "")
        for n, f in enumerate(layout.findings, start=1)
    )
    return Table("Findings", (("", 0.06), ("", 0.09), ("finding, and what to do", 0.75), ("initial", 0.1)), rows)


def _revisions(layout: Layout, told: Revised) -> Block | None:
    """The revisions as the job lists them, and the one this is, by what changed where the job does not say."""
    rows = [(c.letter, str(c.date or ""), c.note, c.by) for c in layout.job.revision]
    job = layout.job.job
    if told.letter and not any(c.letter == told.letter for c in layout.job.revision):
        rows.append((told.letter, str(job.date or ""), told.note, job.drawn_by))
    if not rows:
        return None
    heads = (("revision", 0.14), ("date", 0.18), ("what changed", 0.5), ("by", 0.18))
    return Table("Revisions", heads, tuple(rows))


def _included(layout: Layout) -> Block:
    """What the maker delivers, and what others do."""
    laid, job = layout.laid, layout.job
    finished = "unfinished" if job.wood.finish == "none" else "all six faces finished"
    ours = [f"tops in the pieces drawn, edges profiled, {finished}"]
    if laid.cutouts:
        held_ = [c.name for c in laid.cutouts if held(job, c)]
        ours.append("cutouts and holes as drawn" + (f" once proven ({', '.join(held_)} on HOLD)" if held_ else ""))
    if layout.divided.joints:
        ours.append("joints cut and fitted, with their fasteners")
    if layout.splashes:
        ours.append("splashes as listed")
    theirs: list[str] = []
    models = [
        job.cutout[c.index].model for c in laid.cutouts if not c.hole and c.parent is None and job.cutout[c.index].model
    ]
    kinds = [c.kind for c in laid.cutouts]
    if kinds:
        named = [f"{k}s" for k in ("sink", "cooktop") if k in kinds] + (["faucets"] if "hole" in kinds else [])
        theirs.append(
            (", ".join(named) or "what goes into the cutouts") + (f" ({'; '.join(models)})" if models else "")
        )
    if laid.supports:
        theirs.append(f"{', '.join(sorted({f'{s.kind}s' for s in laid.supports}))} as listed")
    theirs += ["cabinets level and fixed", "setting, screws and washers, sealant"]
    theirs.append("gas, electricity and water by licensed trades")
    return Prose("Included, and done by others", (f"Included: {'; '.join(ours)}.", f"By others: {'; '.join(theirs)}."))


def _planning(layout: Layout) -> Block | None:
    """What planning guidelines want and is not drawn so, and the seats; for information."""
    labels = layout.laid.labels
    rows = tuple(
        (
            fact.what,
            fact.guideline,
            " and ".join(labels.text(w) for w in fact.wanted),
            " and ".join(labels.text(d) for d in fact.drawn),
        )
        for fact in planning_facts(layout.laid)
        if fact.short or "seats" in fact.what or "knees" in fact.what
    )
    if not rows:
        return None
    seated = [t for t in layout.laid.tops if layout.job.top[t.index].seats]
    for top in seated:
        height = top_height(layout.laid, top)
        if not reachable(height):
            limits = (labels.text(inches * 25.4) for inches in ADA_HEIGHT)
            rows += (
                (
                    f"height of {top.name}, where it applies",
                    "ADA 2010, 902.3",
                    " to ".join(limits),
                    labels.text(height),
                ),
            )
    heads = (("for information, no approval", 0.38), ("guideline", 0.22), ("wanted", 0.2), ("drawn", 0.2))
    return Table("Planning", heads, rows)


def _tolerances(layout: Layout) -> Block:
    grade = layout.job.shop.grade
    site = (("joint made on site, gap", f"{FIELD_JOINT[grade]}, {grade} grade", FIELD_JOINT_SOURCE),)
    rows = (*TOLERANCES, *site)
    return Table("Tolerances", (("", 0.3), ("at most", 0.42), ("by", 0.28)), rows)
