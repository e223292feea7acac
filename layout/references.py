"""Checks across the tables of a job file: that names lead somewhere, and that what is placed has a place to be.

What needs the laid-out room (does a cutout fit its top?) is not asked here.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import get_args

from layout.bounds import check_bounds
from layout.faults import KeyPath
from layout.job_cutouts import Cutout, Groove, Recess, Slot
from layout.job_joints import Edge, JointChoice
from layout.job_room import Appliance
from layout.job_shop import CornerKind
from layout.job_tops import CUT_SQUARE, CornerCut, InsideCut, RectTop, RunTop
from layout.job_values import Table as Model
from layout.keys import LENGTHS, choice, nearest
from layout.rules import PROFILES
from layout.shapes import check_outline, check_rectangle
from layout.sketch import Sketch, Table, TopNote, WallNote, one_of
from layout.species import find, folded, names
from layout.species import nearest as nearest_species

KINDS = {
    "appliance": ("range", "refrigerator", "dishwasher", "oven"),
    "cutout": ("sink", "cooktop", "hole", "outlet", "column"),
}
"""Kinds that mean something to the layout; others are allowed, but not one that looks like a slip of these."""


def check(sketch: Sketch) -> None:
    """Note every fault across the tables of a job."""
    for look in (
        _names,
        _tops,
        _windows,
        _cabinets,
        _measures,
        _appliances,
        _cutouts,
        _notches,
        _supports,
        _milling,
        _joints,
        _edges,
        _wood,
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


def _together(sketch: Sketch, path: KeyPath, table: Table, model: type[Model]) -> None:
    """Note keys that do not go together; the model would tell only once every value of the table is sound."""
    for misfit in model.misfits(table):
        sketch.snags.add_misfit(path, str(misfit), misfit.keys)


# --- tops ----------------------------------------------------------------------------------------------------------


def _tops(sketch: Sketch) -> None:
    for top in sketch.all_tops:
        corners = top.table.get("corners")
        for name, cut in corners.items() if isinstance(corners, dict) else ():
            if isinstance(cut, dict):
                _together(sketch, (*top.path, "corners", name), cut, CornerCut)
        if top.shape == "run":
            _run(sketch, top)
        elif top.shape == "rectangle":
            _together(sketch, top.path, top.table, RectTop)
            check_rectangle(sketch, top.path, top.table)
        elif top.shape == "outline":
            check_outline(sketch, top.path, top.table)


def _run(sketch: Sketch, top: TopNote) -> None:
    along = top.table.get("along")
    for at, name in enumerate(along if isinstance(along, list) else ()):
        sketch.wall_at((*top.path, "along", at), name)
    _run_corners(sketch, top)
    if top.along is None or not _is_consecutive(sketch, top, top.along):
        return
    _inside_corners(sketch, top, top.along)
    _by_wall(sketch, top, "depth", top.along)
    _by_wall(sketch, top, "splash", top.along)
    _start_and_end(sketch, top, top.along[0], top.along[-1])


def _is_consecutive(sketch: Sketch, top: TopNote, along: tuple[WallNote, ...]) -> bool:
    order = {wall.index: wall.name for wall in sketch.walls.values()}
    last = max(order)
    closed = sketch.section("room").get("closed") is True
    for at, (before, wall) in enumerate(pairwise(along), 1):
        place = (*top.path, "along", at)
        if wall in along[:at]:
            sketch.snags.add_typed(place, "each wall once")
            return False
        following = 0 if closed and before.index == last else before.index + 1
        if wall.index != following:
            follows = f'"{order[following]}"' if following in order else "no wall"
            sketch.snags.add_typed(place, f'consecutive walls, left to right: after "{before.name}" comes {follows}')
            return False
    return True


def _by_wall(sketch: Sketch, top: TopNote, key: str, along: tuple[WallNote, ...]) -> None:
    stated = top.table.get(key)
    if not isinstance(stated, dict):
        return
    known = [wall.name for wall in along]
    sides = [*known, "left", "right"] if key == "splash" else known
    for name in stated:
        if name not in sides:
            sketch.snags.add((*top.path, key, name), f'"{name}"', f"a side of this run: {choice(sides)}", at_key=True)
    for name in known if key == "depth" else ():
        if name not in stated:
            sketch.snags.add((*top.path, key, name), "nothing", f'the depth along wall "{name}"')


def _start_and_end(sketch: Sketch, top: TopNote, first: WallNote, last: WallNote) -> None:
    start, end = sketch.length(top.table.get("start", 0)), sketch.length(top.table.get("end"))
    if start is not None and first.length is not None and not 0 <= start < first.length:
        _off_wall(sketch, (*top.path, "start"), first)
    if end is not None and last.length is not None and end > last.length:
        _off_wall(sketch, (*top.path, "end"), last)
    if first is last and start is not None and end is not None and end <= start:
        sketch.snags.add_typed((*top.path, "end"), "a station to the right of the start")


def _inside_corners(sketch: Sketch, top: TopNote, along: tuple[WallNote, ...]) -> None:
    stated = top.table.get("inside")
    known = [f"{a.name}/{b.name}" for a, b in pairwise(along)]
    for name, cut in stated.items() if isinstance(stated, dict) else ():
        place = (*top.path, "inside", name)
        if name not in known:
            expected = f"a corner of this run: {choice(known)}" if known else "nothing: this run has no corner"
            sketch.snags.add(place, f'"{name}"', expected, at_key=True)
        elif isinstance(cut, dict):
            _together(sketch, place, cut, InsideCut)


def _run_corners(sketch: Sketch, top: TopNote) -> None:
    corners = top.table.get("corners")
    for name in corners if isinstance(corners, dict) else ():
        for end, mine in RunTop.ends.items():
            kind = top.table.get(end)
            if name in mine and kind in CUT_SQUARE:
                found = f'"{name}" at an end of kind "{kind}"'
                sketch.snags.add((*top.path, "corners", name), found, "corners at exposed ends only", at_key=True)


# --- along walls ---------------------------------------------------------------------------------------------------


def _off_wall(sketch: Sketch, path: KeyPath, wall: WallNote, expected: str = "a station") -> None:
    length = sketch.snags.source.typed(("wall", wall.index, "length"))
    sketch.snags.add_typed(path, f'{expected} on wall "{wall.name}", which is {length} long')


def _station(sketch: Sketch, value: object, table: Table, wall: WallNote) -> Fraction | None:
    """Return a station from the wall's start, mm, where it and the wall's length can be read."""
    at = sketch.length(value)
    if at is None or wall.length is None:
        return None
    return wall.length - at if table.get("from") == "right" else at


def _stretch(sketch: Sketch, path: KeyPath, table: Table, wall: WallNote | None) -> None:
    """Note where what stands at ``at`` and is ``width`` wide leaves its wall."""
    width = sketch.length(table.get("width"))
    at = _station(sketch, table.get("at"), table, wall) if wall else None
    if wall is None or at is None:
        return
    if not 0 <= at <= (wall.length or 0):
        _off_wall(sketch, (*path, "at"), wall)
    elif width is not None and at + width > (wall.length or 0):
        _off_wall(sketch, (*path, "width"), wall, "a right side that is still")


def _windows(sketch: Sketch) -> None:
    for path, table in sketch.entries("window"):
        _stretch(sketch, path, table, sketch.wall_at((*path, "wall"), table.get("wall")))


def _cabinets(sketch: Sketch) -> None:
    for path, table in sketch.entries("cabinet"):
        _stretch(sketch, path, table, sketch.wall_at((*path, "wall"), table.get("wall")))


def _measures(sketch: Sketch) -> None:
    unit = sketch.unit or "in"
    expected = f'a wall with start, end or a station, such as "A start" or "A {LENGTHS[unit].split(",")[0]}"'
    for path, table in sketch.entries("measure"):
        for key in ("from", "to"):
            text, place = table.get(key), (*path, key)
            if not isinstance(text, str):
                continue
            name, _, point = text.strip().partition(" ")
            if not point.strip():
                sketch.snags.add_typed(place, expected)
                continue
            wall = sketch.wall_at(place, name)
            if point.strip() in ("start", "end") or wall is None:
                continue
            station = sketch.length(point)
            if not sketch.is_length(point):
                sketch.snags.add_typed(place, expected)
            elif station is not None and wall.length is not None and not 0 <= station <= wall.length:
                _off_wall(sketch, place, wall)


# --- what is placed on a top ---------------------------------------------------------------------------------------


def meant_kind(table: str, kind: object) -> str | None:
    """Return the kind of appliance or cutout that a misspelt one was meant for; None where it is no such slip."""
    if not isinstance(kind, str) or kind.strip() in KINDS[table]:
        return None
    return nearest(kind.strip().lower(), KINDS[table], cutoff=0.8)


def _kind(sketch: Sketch, path: KeyPath, table: Table) -> None:
    meant = meant_kind(str(path[0]), table.get("kind"))
    if meant is not None:
        sketch.snags.add_typed((*path, "kind"), f'"{meant}"')


def _leg(sketch: Sketch, path: KeyPath, table: Table, top: TopNote) -> WallNote | None:
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


def _appliances(sketch: Sketch) -> None:
    for path, table in sketch.entries("appliance"):
        _kind(sketch, path, table)
        for misfit in Appliance.misplaced(table):
            sketch.snags.add_misfit(path, str(misfit), misfit.keys)
        heights = sketch.lengths(table.get("top_height"))
        if heights is not None and len(heights) == 2 and heights[0] > heights[1]:
            sketch.snags.add_typed((*path, "top_height"), "[low, high]")
        top = sketch.top_at((*path, "top"), table.get("top"))
        if top is None or top.shape is None:
            continue
        if top.shape != "run":
            sketch.snags.add_typed((*path, "top"), "a run along walls: an appliance stands in one")
        elif "wall" in table:  # else the model says that it is missing
            _stretch(sketch, path, table, _leg(sketch, path, table, top))


def _cutouts(sketch: Sketch) -> None:
    for path, table in sketch.entries("cutout"):
        _together(sketch, path, table, Cutout)
        _kind(sketch, path, table)
        top = sketch.top_at((*path, "top"), table.get("top"))
        if top is None or top.shape is None:
            continue
        apron = table.get("mount") == "apron"
        if "corner" in table:
            _across_corner(sketch, path, table, top)
        else:
            _place(sketch, path, table, top, needs_setback=not apron)
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
        _known_corner(sketch, (*path, "corner"), corner, top)


def _notches(sketch: Sketch) -> None:
    for path, table in sketch.entries("notch"):
        top = sketch.top_at((*path, "top"), table.get("top"))
        if top is None or top.shape is None:
            continue
        if top.shape != "run":
            sketch.snags.add_typed((*path, "top"), "a run along walls: a notch is cut out of its back")
        elif "wall" in table:  # else the model says that it is missing
            _stretch(sketch, path, table, _leg(sketch, path, table, top))


def _supports(sketch: Sketch) -> None:
    for path, table in sketch.entries("support"):
        top = sketch.top_at((*path, "top"), table.get("top"))
        if top is not None and top.shape is not None:
            _place(sketch, path, table, top, needs_setback=True)


def _milling(sketch: Sketch) -> None:
    """Grooves, slots and recesses: placed as cutouts are, or by the sink that grooves drain to; each with a name of its own."""
    seen: dict[str, str] = {}
    models: dict[str, type[Model]] = {"groove": Groove, "slot": Slot, "recess": Recess}
    for kind, model in models.items():
        for path, table in sketch.entries(kind):
            _together(sketch, path, table, model)
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
                _place(sketch, path, table, top, needs_setback=True)


def _place(sketch: Sketch, path: KeyPath, table: Table, top: TopNote, *, needs_setback: bool) -> None:
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
    wall = _leg(sketch, path, table, top)
    if needs_setback and "setback" not in table:
        sketch.snags.add((*path, "setback"), "nothing", "how far its front side lies from the front edge")
    if isinstance(center, list):
        sketch.snags.add_typed(
            (*path, "center"), f'a station along its wall or "window NAME", as {top.called} is a run'
        )
    elif isinstance(center, str) and center.strip().startswith("window"):
        _at_window(sketch, path, table, center, wall)
    elif wall is not None:
        station = _station(sketch, center, table, wall)
        if station is not None and not 0 <= station <= (wall.length or 0):
            _off_wall(sketch, (*path, "center"), wall)


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


# --- joints, edges, wood -------------------------------------------------------------------------------------------


def _joints(sketch: Sketch) -> None:
    settled: dict[tuple[str, str], int] = {}
    for path, table in sketch.entries("joint"):
        _together(sketch, path, table, JointChoice)
        top = sketch.top_at((*path, "top"), table.get("top"))
        kind = table.get("kind", sketch.section("shop").get("corner_joint", "mitre"))
        for only in JointChoice.of_kind:
            if only.key in table and "corner" in table and kind in get_args(CornerKind) and kind != only.where[0][1]:
                sketch.snags.add((*path, only.key), only.key, only.expected, at_key=True)
        if top is None or top.shape is None:
            continue
        if "corner" in table:
            _corner_joint(sketch, path, table, top)
            corner = (top.name, str(table["corner"]))
            if settled.setdefault(corner, int(path[1])) != path[1]:
                because = f", a corner that joint[{settled[corner] + 1}] settles"
                sketch.snags.add_typed((*path, "corner"), "one [[joint]] for a corner", because)
        elif "at" in table and top.shape == "run":
            wall = _leg(sketch, path, table, top)
            station = _station(sketch, table.get("at"), table, wall) if wall else None
            if wall is not None and station is not None and not 0 < station < (wall.length or 0):
                _off_wall(sketch, (*path, "at"), wall)
        elif "at" in table:
            for key in ("wall", "from"):
                if key in table:
                    expected = f"no {key}: {top.called} has no walls, and at counts along the grain"
                    sketch.snags.add((*path, key), key, expected, at_key=True)


def _corner_joint(sketch: Sketch, path: KeyPath, table: Table, top: TopNote) -> None:
    place, corner = (*path, "corner"), table["corner"]
    if top.shape != "run":
        sketch.snags.add(
            place, "corner", f"at = ... along the grain: {top.called} has no corners at walls", at_key=True
        )
        return
    if not isinstance(corner, str) or not _known_corner(sketch, place, corner, top):
        return
    through = table.get("through")
    if isinstance(through, str) and through not in corner.strip().split("/"):
        sketch.snags.add_typed((*path, "through"), f"one of its two walls: {choice(corner.strip().split('/'))}")


def _known_corner(sketch: Sketch, place: KeyPath, corner: str, top: TopNote) -> bool:
    """Return whether a run has that corner, noting where it does not."""
    if top.along is None or sketch.snags.within((*top.path, "along")):
        return False
    pairs = [f"{a.name}/{b.name}" for a, b in pairwise(top.along)]
    if corner.strip() in pairs:
        return True
    known = f"a corner of {top.called}: {choice(pairs)}" if pairs else f"a run with a corner: {top.called} has none"
    sketch.snags.add_typed(place, known)
    return False


def _edges(sketch: Sketch) -> None:
    settled: dict[tuple[str, str], int] = {}
    for path, table in sketch.entries("edge"):
        _together(sketch, path, table, Edge)
        _profile(sketch, (*path, "profile"), table.get("profile"))
        top, side = sketch.top_at((*path, "top"), table.get("top")), table.get("side")
        if top is None or top.shape is None or isinstance(side, bool) or not isinstance(side, str | int):
            continue
        name = str(side).strip()
        _side(sketch, (*path, "side"), name, top)
        if settled.setdefault((top.name, name), int(path[1])) != path[1]:
            because = f", a side that edge[{settled[top.name, name] + 1}] settles"
            sketch.snags.add_typed((*path, "side"), "one [[edge]] for a side", because)


def _side(sketch: Sketch, path: KeyPath, side: str, top: TopNote) -> None:
    """Note a side that its top does not have, or that is cut square."""
    if top.shape == "outline":
        outline = top.table.get("outline")
        count = len(outline) if isinstance(outline, list) else 0
        if count and side not in map(str, range(1, count + 1)):
            sketch.snags.add_typed(path, f"the number of an edge of {top.called}, 1 to {count}")
        return
    if top.shape == "run" and top.along is None:
        return
    walls = {f"{wall.name} {part}": wall for wall in top.along or () for part in ("front", "back")}
    sides = [*walls, "left", "right"] if top.shape == "run" else ["front", "back", "left", "right"]
    if side not in sides:
        sketch.snags.add_typed(path, f"a side of {top.called}: {one_of(sides, side)}")
    elif side in walls and side.endswith(" back") and not walls[side].open:
        because = f', which lies against wall "{walls[side].name}"'
        sketch.snags.add_typed(path, "an exposed side: this one is cut square", because)
    elif top.shape == "run" and top.table.get(f"{side}_end") in CUT_SQUARE:
        because = f', an end of kind "{top.table[f"{side}_end"]}"'
        sketch.snags.add_typed(path, "an exposed side: this one is cut square", because)


def _wood(sketch: Sketch) -> None:
    wood = sketch.section("wood")
    _profile(sketch, ("wood", "edge"), wood.get("edge"))
    species = wood.get("species")
    own = [table.get("name") for _, table in sketch.entries("species")]
    if isinstance(species, str) and find(species) is None and not any(_same_wood(species, name) for name in own):
        close = nearest_species(species)
        known = choice(close) if close else f"a wood of the table: {', '.join(names())}"
        sketch.snags.add_typed(("wood", "species"), known)
    for path, table in sketch.entries("species"):
        like = table.get("like")
        if isinstance(like, str) and find(like) is None:
            close = nearest_species(like)
            sketch.snags.add_typed((*path, "like"), choice(close) if close else "a wood of the table")
        name = table.get("name")
        if "like" not in table and isinstance(name, str) and find(name) is None and "density" not in table:
            sketch.snags.add((*path, "density"), "nothing", "its density at 12 %, in kg/m3, or a wood that it is like")


def _same_wood(typed: str, name: object) -> bool:
    return isinstance(name, str) and folded(typed) == folded(name)


def _profile(sketch: Sketch, path: KeyPath, text: object) -> None:
    if not isinstance(text, str):
        return
    name, _, size = text.strip().partition(" ")
    if name.lower() not in PROFILES:
        meant = nearest(name.lower(), PROFILES)
        expected = f'"{meant}", with a size after it or not' if meant else f"a profile: {choice(PROFILES)}"
        sketch.snags.add_typed(path, expected)
    elif size.strip():
        length = sketch.length(size)
        if not sketch.is_length(size) or (length is not None and length <= 0):
            sketch.snags.add_typed(path, f'"{name}" alone or with a length, as in "{name} 1/2 in" or "{name} 12 mm"')
