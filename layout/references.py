"""Checks across the tables of a job file: that names resolve, stations lie on their walls and keys go with what they name."""

from __future__ import annotations

from layout.bounds import check_bounds
from layout.joint_references import note_edges, note_joints, note_wood
from layout.placed_references import note_appliances, note_cutouts, note_milling, note_notches, note_supports
from layout.sketch import Sketch
from layout.top_references import note_tops
from layout.wall_references import note_cabinets, note_measures, note_windows


def check(sketch: Sketch) -> None:
    """Note every fault across the tables of a job."""
    for look in (
        _names,
        note_tops,
        note_windows,
        note_cabinets,
        note_measures,
        note_appliances,
        note_cutouts,
        note_notches,
        note_supports,
        note_milling,
        note_joints,
        note_edges,
        note_wood,
        _answers,
        check_bounds,
    ):
        look(sketch)


def _names(sketch: Sketch) -> None:
    for kind in ("wall", "window", "top", "cutout", "support"):
        seen: dict[str, int] = {}
        for (_, at), table in sketch.entries(kind):
            name = table.get("name")
            if isinstance(name, str) and seen.setdefault(name, int(at)) != at:
                because = f", the name of {kind}[{seen[name] + 1}] too"
                sketch.snags.add_typed((kind, at, "name"), "a name of its own", because)


def _answers(sketch: Sketch) -> None:
    seen: dict[int, int] = {}
    for (_, at), table in sketch.entries("answer"):
        mark = table.get("mark")
        if isinstance(mark, int) and seen.setdefault(mark, int(at)) != at:
            because = f", the mark of answer[{seen[mark] + 1}] too"
            sketch.snags.add_typed(("answer", at, "mark"), "a mark that has no answer yet", because)
