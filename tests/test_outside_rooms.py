"""Rooms of outlines that nobody made for this program, drawn whole, and all that holds for a drawing held on each.

`outside.py` says where they are from. Five every day, forty in a sweep, two hundred with ``-m fuzz`` (200 s).
"""

from __future__ import annotations

import hashlib
import json
import math

import outside
import pytest
import raw_dxf
from shapely.geometry import Polygon
from test_properties import ALWAYS
from test_sheets import crossings, faults
from test_solver import loose

from layout.files import cut_file, drawn_files
from layout.materials import materials
from layout.pipeline import lay_text
from layout.room import plan_room
from layout.sheets import draw
from layout.units import UNIT_MM

ROOMS = 200


def all_that_holds(number):
    text, room_area, island_area = outside.room_job(number)
    layout = lay_text(text)
    for property_ in ALWAYS:
        property_(layout)
    the_plan_is_the_outline(layout, room_area, island_area)
    drawing = draw(layout, of := materials(layout))
    views = {v.id: v for s in drawing.sheets for v in s.views}
    # every measure printed rebuilds its piece, and nothing printed lies on anything else
    assert [f for p in layout.divided.pieces for f in loose(layout, p, views[f"piece-{p.id}"])] == []
    assert faults(drawing) == []
    assert crossings(drawing) == []
    files, layout = drawn_files(layout, drawing, of)
    told = json.loads(files["report.json"])
    listed = {entry["name"]: entry["sha256"] for entry in told["files"]}
    assert listed == {n: hashlib.sha256(d).hexdigest() for n, d in files.items() if n != "report.json"}
    assert not [f for f in layout.findings if f.code == "cut-file-unsound"]
    the_cut_files_are_the_pieces(layout, files)


def the_plan_is_the_outline(layout, room_area, island_area):
    """Walls taped to a sixteenth and corners to a hundredth of a degree enclose what they were taken from."""
    room = plan_room(layout.job)
    walls = Polygon([wall.start for wall in room.walls])
    assert math.isclose(walls.area, room_area, rel_tol=0.01)
    island = next(t for t in layout.laid.tops if t.name == "island")
    # each point is off by half a tape's step at the most
    step = float(UNIT_MM[layout.job.job.units]) * (1 / 16 if layout.job.job.units == "in" else 1)
    shape = Polygon(island.ring.flattened())
    assert abs(shape.area - island_area) <= shape.length * step / math.sqrt(2)


def the_cut_files_are_the_pieces(layout, files):
    """Outline less what is cut inside it, as a reader of our own measures the file, is the piece."""
    scale = float(UNIT_MM[layout.job.job.units]) ** 2
    for piece in layout.divided.pieces:
        name = cut_file(piece, layout.job)
        if piece.id in layout.stopped:
            assert name not in files
            continue
        drawing = raw_dxf.read(files[name])
        outlines = [e for e in drawing.entities if e.layer == "CUT_OUTLINE"]
        inside = [e for e in drawing.entities if e.layer in ("CUT_INSIDE", "DRILL")]
        assert len(outlines) == 1
        area = (area_in(outlines[0]) - sum(map(area_in, inside))) * scale
        assert math.isclose(area, piece.area, rel_tol=1e-6)


def area_in(entity):
    if entity.kind == "CIRCLE":
        return math.pi * entity.number(40) ** 2
    assert entity.kind == "LWPOLYLINE"
    return abs(raw_dxf.ring_area(entity.vertices()))


def test_there_are_two_hundred_outlines_of_their_own():
    rooms = outside.chosen()[:ROOMS]
    assert len(rooms) == ROOMS
    assert len({tuple(map(tuple, points)) for _, points, _ in rooms}) == ROOMS
    assert len({len(points) for _, points, _ in rooms}) >= 3


@pytest.mark.parametrize("number", range(3))
def test_an_outside_room_is_drawn_whole(number):
    all_that_holds(number * 39)


@pytest.mark.sweep
@pytest.mark.parametrize("number", range(0, ROOMS, 5))
def test_forty_outside_rooms_are_drawn_whole(number):
    all_that_holds(number)


@pytest.mark.fuzz
@pytest.mark.parametrize("number", range(ROOMS))
def test_two_hundred_outside_rooms_are_drawn_whole(number):
    all_that_holds(number)


def test_a_sink_that_is_small_on_paper_has_its_section():
    """Of a room so large that its plan is small, the sink's section is taken through its middle (seen at 1:200)."""
    text, _, _ = outside.room_job(12)
    drawing = draw(lay_text(text.replace('units = "in"', 'units = "in"\nrevision = "A"') + '[sheet]\nsize = "A4"\n'))
    plan = drawing.sheets[0].views[0]
    assert any(item.name.startswith("section") for item in plan.items if hasattr(item, "name"))
