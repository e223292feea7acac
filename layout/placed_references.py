"""Checks of what is placed on a top: appliances, cutouts, notches, supports, what is let in."""

from __future__ import annotations

from layout.faults import KeyPath
from layout.job_cutouts import Cutout, Groove, Recess, Slot
from layout.job_room import Appliance
from layout.job_values import Table as Model
from layout.keys import choice, nearest
from layout.sketch import Sketch, Table, TopNote, WallNote, note_together, one_of
from layout.top_references import known_corner
from layout.wall_references import note_stretch, off_wall, station_of

KINDS = {
    "appliance": ("range", "refrigerator", "dishwasher", "oven"),
    "cutout": ("sink", "cooktop", "hole", "outlet", "column"),
}
"""Kinds that mean something to the layout; others are allowed, but not one that looks like a slip of these."""


def meant_kind(table: str, kind: object) -> str | None:
    """Return the kind of appliance or cutout that a misspelt one was meant for; None where it is no such slip."""
    if not isinstance(kind, str) or kind.strip() in KINDS[table]:
        return None
    return nearest(kind.strip().lower(), KINDS[table], cutoff=0.8)


def _kind(sketch: Sketch, path: KeyPath, table: Table) -> None:
    meant = meant_kind(str(path[0]), table.get("kind"))
    if meant is not None:
        sketch.snags.add_typed((*path, "kind"), f'"{meant}"')


def leg_of(sketch: Sketch, path: KeyPath, table: Table, top: TopNote) -> WallNote | None:
    """Return the wall of a run that something stands along, noting where none is given or not one of the run's."""
    names = [wall.name for wall in top.along or ()]
    if "wall" not in table:
        expected = f"the wall it stands along{': ' + choice(names) if names else ''}"
        sketch.snags.add((*path, "wall"), "nothing", expected)
        return None
    wall = sketch.wall_at((*path, "wall"), table["wall"])
    if wall is not None and top.along is not None and wall not in top.along:
        sketch.snags.add_typed((*path, "wall"), f"a wall of {top.called}: {choice(names)}")
        return None
    return wall


def _on_run(sketch: Sketch, path: KeyPath, table: Table, why: str) -> None:
    """Note where what only a run has is not on one, or leaves its wall."""
    top = sketch.top_at((*path, "top"), table.get("top"))
    if top is None or top.shape is None:
        return
    if top.shape != "run":
        sketch.snags.add_typed((*path, "top"), f"a run along walls: {why}")
    elif "wall" in table:  # else the model says that it is missing
        note_stretch(sketch, path, table, leg_of(sketch, path, table, top))


def note_appliances(sketch: Sketch) -> None:
    """Note what is wrong with where appliances stand."""
    for path, table in sketch.entries("appliance"):
        _kind(sketch, path, table)
        for misfit in Appliance.misplaced(table):
            sketch.snags.add_misfit(path, str(misfit), misfit.keys)
        heights = sketch.lengths(table.get("top_height"))
        if heights is not None and len(heights) == 2 and heights[0] > heights[1]:
            sketch.snags.add_typed((*path, "top_height"), "[low, high]")
        _on_run(sketch, path, table, "an appliance stands in one")


def note_cutouts(sketch: Sketch) -> None:
    """Note what is wrong with where cutouts lie, and keys that do not go with their place."""
    for path, table in sketch.entries("cutout"):
        note_together(sketch, path, table, Cutout)
        _kind(sketch, path, table)
        top = sketch.top_at((*path, "top"), table.get("top"))
        if top is None or top.shape is None:
            continue
        apron = table.get("mount") == "apron"
        if "corner" in table:
            _across_corner(sketch, path, table, top)
        else:
            note_place(sketch, path, table, top, needs_setback=not apron)
        setback = sketch.length(table.get("setback"))
        if apron and top.shape == "run" and setback is not None and setback != 0:
            sketch.snags.add_typed((*path, "setback"), "0, or nothing: an apron sink opens the front edge")


def _across_corner(sketch: Sketch, path: KeyPath, table: Table, top: TopNote) -> None:
    """Note what is wrong with the corner that a cutout lies across."""
    corner = table["corner"]
    if top.shape != "run":
        sketch.snags.add(
            (*path, "corner"), "corner", f"center = [x, y]: {top.called} is no run along walls", at_key=True
        )
        return
    if "setback" not in table and table.get("mount") != "apron":
        sketch.snags.add((*path, "setback"), "nothing", "how far its front side lies from the front edge at the corner")
    if isinstance(corner, str):
        known_corner(sketch, (*path, "corner"), corner, top)


def note_notches(sketch: Sketch) -> None:
    """Note what is wrong with where notches are."""
    for path, table in sketch.entries("notch"):
        _on_run(sketch, path, table, "a notch is cut out of its back")


def note_supports(sketch: Sketch) -> None:
    """Note what is wrong with where supports stand."""
    for path, table in sketch.entries("support"):
        top = sketch.top_at((*path, "top"), table.get("top"))
        if top is not None and top.shape is not None:
            note_place(sketch, path, table, top, needs_setback=True)


def note_milling(sketch: Sketch) -> None:
    """Grooves, slots and recesses: placed as cutouts are, or by the sink that grooves drain to; each with a name of its own."""
    seen: dict[str, str] = {}
    models: dict[str, type[Model]] = {"groove": Groove, "slot": Slot, "recess": Recess}
    for kind, model in models.items():
        for path, table in sketch.entries(kind):
            note_together(sketch, path, table, model)
            name = table.get("name")
            if (
                isinstance(name, str)
                and seen.setdefault(name, f"{kind}[{int(path[1]) + 1}]") != f"{kind}[{int(path[1]) + 1}]"
            ):
                sketch.snags.add_typed((*path, "name"), "a name of its own", f", the name of {seen[name]} too")
            top = sketch.top_at((*path, "top"), table.get("top"))
            if top is None or top.shape is None:
                continue
            if "sink" in table:
                sinks = [
                    t.get("name")
                    for _, t in sketch.entries("cutout")
                    if t.get("kind") == "sink" and t.get("top") == top.name
                ]
                if isinstance(table["sink"], str) and table["sink"] not in sinks:
                    known = [str(s) for s in sinks]
                    sketch.snags.add_typed((*path, "sink"), choice(known) if known else f"a sink of {top.called}")
            else:
                note_place(sketch, path, table, top, needs_setback=True)


def note_place(sketch: Sketch, path: KeyPath, table: Table, top: TopNote, *, needs_setback: bool) -> None:
    """Note what is wrong with where something stands: by wall, station and setback on a run, by a point elsewhere."""
    center = table.get("center")
    if top.shape != "run":
        what = f"{top.called}, which is {'a rectangle' if top.shape == 'rectangle' else 'an outline'}"
        for key in ("wall", "setback", "from"):
            if key in table:
                sketch.snags.add((*path, key), key, f"no {key} on {what}: center = [x, y] alone places it", at_key=True)
        if "center" in table and not isinstance(center, list):
            sketch.snags.add_typed((*path, "center"), f"a point [x, y] in the frame of {what}")
        return
    wall = leg_of(sketch, path, table, top)
    if needs_setback and "setback" not in table:
        sketch.snags.add((*path, "setback"), "nothing", "how far its front side lies from the front edge")
    if isinstance(center, list):
        sketch.snags.add_typed(
            (*path, "center"), f'a station along its wall or "window NAME", as {top.called} is a run'
        )
    elif isinstance(center, str) and center.strip().startswith("window"):
        _at_window(sketch, path, table, center, wall)
    elif wall is not None:
        station = station_of(sketch, center, table, wall)
        if station is not None and not 0 <= station <= (wall.length or 0):
            off_wall(sketch, (*path, "center"), wall)


def _at_window(sketch: Sketch, path: KeyPath, table: Table, center: str, wall: WallNote | None) -> None:
    place = (*path, "center")
    words = center.split()
    if len(words) != 2 or words[0] != "window":
        sketch.snags.add_typed(place, 'a station along its wall, or "window NAME"')
        return
    if "from" in table:
        sketch.snags.add((*path, "from"), "from", "no from beside a window, which has one place", at_key=True)
    window = sketch.windows.get(words[1])
    if window is None and sketch.is_known_in_full("window"):
        known = (
            f"a window of this job: {one_of(sketch.windows, words[1])}"
            if sketch.windows
            else "a [[window]] of that name"
        )
        sketch.snags.add_typed(place, known)
    elif window is not None and wall is not None:
        behind = window.get("wall")
        if isinstance(behind, str) and behind in sketch.walls and behind != wall.name:
            sketch.snags.add_typed(place, f'a window of wall "{wall.name}"', f', which is in wall "{behind}"')
