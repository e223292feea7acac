"""Checks of joints, edges and wood against what they name."""

from __future__ import annotations

from typing import get_args

from layout.faults import KeyPath
from layout.job_joints import Edge, JointChoice
from layout.job_shop import CornerKind
from layout.job_tops import CUT_SQUARE
from layout.keys import choice, nearest
from layout.placed_references import leg_of
from layout.rules import PROFILES
from layout.sketch import Sketch, Table, TopNote, note_together, one_of
from layout.species import find, folded, names
from layout.species import nearest as nearest_species
from layout.top_references import known_corner
from layout.wall_references import off_wall, station_of


def note_joints(sketch: Sketch) -> None:
    """Note corners and seams that are none of their top."""
    settled: dict[tuple[str, str], int] = {}
    for path, table in sketch.entries("joint"):
        note_together(sketch, path, table, JointChoice)
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
            wall = leg_of(sketch, path, table, top)
            station = station_of(sketch, table.get("at"), table, wall) if wall else None
            if wall is not None and station is not None and not 0 < station < (wall.length or 0):
                off_wall(sketch, (*path, "at"), wall)
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
    if not isinstance(corner, str) or not known_corner(sketch, place, corner, top):
        return
    through = table.get("through")
    if isinstance(through, str) and through not in corner.strip().split("/"):
        sketch.snags.add_typed((*path, "through"), f"one of its two walls: {choice(corner.strip().split('/'))}")


def note_edges(sketch: Sketch) -> None:
    """Note sides and profiles that there are none of."""
    settled: dict[tuple[str, str], int] = {}
    for path, table in sketch.entries("edge"):
        note_together(sketch, path, table, Edge)
        note_profile(sketch, (*path, "profile"), table.get("profile"))
        top, side = sketch.top_at((*path, "top"), table.get("top")), table.get("side")
        if top is None or top.shape is None or isinstance(side, bool) or not isinstance(side, str | int):
            continue
        name = str(side).strip()
        note_side(sketch, (*path, "side"), name, top)
        if settled.setdefault((top.name, name), int(path[1])) != path[1]:
            because = f", a side that edge[{settled[top.name, name] + 1}] settles"
            sketch.snags.add_typed((*path, "side"), "one [[edge]] for a side", because)


def note_side(sketch: Sketch, path: KeyPath, side: str, top: TopNote) -> None:
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


def note_wood(sketch: Sketch) -> None:
    """Note a wood, and woods of the job's own, that do not resolve."""
    wood = sketch.section("wood")
    note_profile(sketch, ("wood", "edge"), wood.get("edge"))
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


def note_profile(sketch: Sketch, path: KeyPath, text: object) -> None:
    """Note a profile that there is not."""
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
