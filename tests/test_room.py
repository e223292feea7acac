"""Rooms worked out by hand: walls chained from lengths and corners, closing errors, check measures.

In plan the first wall starts at (0, 0) and runs along +x, the room on the -y side. At an inside angle c the next wall
turns 180 - c degrees to the right.
"""

from __future__ import annotations

import math

import pytest

from layout.faults import JobError
from layout.outline import Frame
from layout.pipeline import lay_text
from layout.reading import load
from layout.report import report
from layout.room import PlacedWall, corner_degrees, plan_room

INCH = 25.4


def job_text(*parts, units="in"):
    head = f'[job]\ntitle = "t"\nnumber = "1"\nunits = "{units}"\n[wood]\nspecies = "cherry"\nthickness = "38 mm"\n'
    size = '["48", "24"]' if units == "in" else '["1200", "600"]'
    return head + "\n".join(parts) + f'\n[[top]]\nname = "island"\nsize = {size}\nat = ["0", "9"]\n'


def wall(name, length, corner=None, more=""):
    stated = "" if corner is None else f"corner = {corner}\n"
    return f'[[wall]]\nname = "{name}"\nlength = "{length}"\n{stated}{more}\n'


def measure(start, end, length):
    return f'[[measure]]\nfrom = "{start}"\nto = "{end}"\nlength = "{length}"\n'


def room_of(*parts, units="in"):
    return plan_room(load(job_text(*parts, units=units)))


def ends(room, unit=INCH):
    """The start of the first wall and the end of each, in job units."""
    points = [room.walls[0].start, *(w.end for w in room.walls)]
    for before, after in zip(room.walls, room.walls[1:], strict=False):
        assert after.start == pytest.approx(before.end)
    return [(x / unit, y / unit) for x, y in points]


def near(points):
    return [pytest.approx(p, abs=1e-9) for p in points]


# --- corners -------------------------------------------------------------------------------------------------------


def test_the_first_wall_runs_along_x_and_the_corner_left_out_is_square():
    room = room_of(wall("A", 100), wall("B", 80), wall("C", 30))
    assert ends(room) == near([(0, 0), (100, 0), (100, -80), (70, -80)])
    assert [w.corner for w in room.walls] == [90.0] * 3


def test_a_corner_in_degrees():
    # 92 degrees turn 88 to the right: B runs down and, by cos 88, still a little to the right
    room = room_of(wall("A", 100, 92), wall("B", 80))
    t = math.radians(88)
    assert ends(room)[2] == pytest.approx((100 + 80 * math.cos(t), -80 * math.sin(t)), abs=1e-9)


def test_an_outside_corner():
    # round a chimney breast: down 20 along its cheek, 40 along its face, up 20 and on
    room = room_of(wall("A", 60, 90), wall("B", 20, 270), wall("C", 40, 270), wall("D", 20, 90), wall("E", 30))
    assert ends(room) == near([(0, 0), (60, 0), (60, -20), (100, -20), (100, 0), (130, 0)])
    assert [w.corner for w in room.walls] == [90, 270, 270, 90, 90]


def test_straight_on():
    assert ends(room_of(wall("A", 60, 180), wall("B", 20)))[2] == pytest.approx((80, 0))


@pytest.mark.parametrize(
    ("corner", "degrees"),
    [
        # 3, 4, 5: a right angle by the theorem of Pythagoras
        ('["36", "48", "60"]', 90.0),
        ('["3\'", "4\'", "5\'"]', 90.0),
        # law of cosines: 36 and 48 along, 60 1/8 across: cos t = (1296 + 2304 - 3615.015625) / 3456 = -0.00434480
        ('["36", "48", "60 1/8"]', 90.24894),
        ('["36", "48", "59 7/8"]', 89.75158),
        # half of an equilateral triangle and the whole of one
        ('["10", "10", "10"]', 60.0),
        ('["10", "20", "17.320508"]', 60.0),
        # 30, 30 and 30 sqrt 3 across
        ('["30", "30", "51.961524"]', 120.0),
        # by the square: off by atan(3/8 / 24) = 0.89517 degrees, open or closed; 24 in 24 is half a right angle
        ('{ open = "3/8", in = "24" }', 90.89517),
        ('{ open = "-3/8", in = "24" }', 89.10483),
        ('{ open = "24", in = "24" }', 135.0),
        ('{ open = "0", in = "16" }', 90.0),
        ("92.5", 92.5),
    ],
)
def test_corners_as_measured(corner, degrees):
    first = load(job_text(wall("A", 100, corner), wall("B", 80))).wall[0]
    assert corner_degrees(first) == pytest.approx(degrees, abs=1e-5)
    room = room_of(wall("A", 100, corner), wall("B", 80))
    assert room.walls[0].corner == pytest.approx(degrees, abs=1e-5)
    turned = room.walls[0].frame.angle - room.walls[1].frame.angle
    assert math.degrees(turned) == pytest.approx(180 - degrees, abs=1e-5)


def test_three_tapes_give_back_the_diagonal():
    # marks 36 along A from the corner and 48 along B are 60 1/8 apart in the plan, as taped
    room = room_of(wall("A", 100, '["36", "48", "60 1/8"]'), wall("B", 80), measure("A 64", "B 48", "60 1/8"))
    assert room.measures[0].difference == pytest.approx(0, abs=1e-9)


def test_tapes_in_mm():
    room = room_of(wall("A", 2540, '["600", "800", "1000"]'), wall("B", 1000), units="mm")
    assert ends(room, 1) == near([(0, 0), (2540, 0), (2540, -1000)])


# --- walls ---------------------------------------------------------------------------------------------------------


def test_an_open_line_is_chained_like_a_wall():
    room = room_of(wall("A", 100, 100), wall("B", 40, None, "open = true"))
    t = math.radians(80)
    assert [w.open for w in room.walls] == [False, True]
    assert ends(room)[2] == pytest.approx((100 + 40 * math.cos(t), -40 * math.sin(t)))


def test_neighbours_left_and_right():
    walls = [wall(n, 100) for n in "ABCD"]
    room = room_of(*walls)
    a, b, d = (room.wall(n) for n in "ABD")
    assert (room.before(b), room.after(a)) == (a, b)
    assert (room.before(a), room.after(d)) == (None, None)
    room = room_of("[room]\nclosed = true\n", *walls)
    a, d = room.wall("A"), room.wall("D")
    assert (room.before(a), room.after(d)) == (d, a)
    alone = room_of("[room]\nclosed = true\n", walls[0])
    assert (alone.before(alone.walls[0]), alone.after(alone.walls[0])) == (None, None)


def test_a_bow_is_drawn_out_between_its_stations():
    bow = 'bow = [["24", "1/8"], ["60", "-1/4"]]'
    (made,) = room_of(wall("A", 100, None, bow)).walls
    # from nothing at the ends; 1/8 - 3/8 / 4 a quarter of the way from 24 to 60; half of -1/4 at 80
    wanted = {0: 0, 12: 1 / 16, 24: 1 / 8, 33: 1 / 32, 36: 0, 60: -1 / 4, 80: -1 / 8, 100: 0}
    assert {s: made.bow_at(s * INCH) / INCH for s in wanted} == pytest.approx(wanted, abs=1e-12)
    # proudest at 60 where that is in reach, else at an end of the stretch (at 48: 1/8 - 3/8 * 2/3); never behind the line
    for (start, end), proud in {(0, 100): 1 / 4, (80, 100): 1 / 8, (0, 48): 1 / 8, (0, 30): 0, (12, 30): 0}.items():
        assert made.proudest(start * INCH, end * INCH) / INCH == pytest.approx(proud, abs=1e-12)


def test_a_bow_at_the_very_end():
    made = PlacedWall("A", 100.0, 90.0, Frame(), ((0.0, -2.0), (100.0, 4.0)), False)
    assert [made.bow_at(s) for s in (0.0, 50.0, 100.0)] == [-2.0, 1.0, 4.0]
    # beyond its ends it is taken as at them
    assert (made.bow_at(-5.0), made.bow_at(120.0)) == (-2.0, 4.0)


# --- closing -------------------------------------------------------------------------------------------------------


def test_a_room_that_closes():
    # 30, 40, 50: square between the first two, by the tapes of the same triangle between the others
    room = room_of("[room]\nclosed = true\n", wall("A", 30), wall("B", 40, '["40", "50", "30"]'), wall("C", 50))
    assert room.closure == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(
    ("lengths", "corners", "error"),
    [
        # the last wall comes back 1 short: A 100, C 99
        ((100, 80, 99, 80), (90, 90, 90), 1),
        # and 3 too high as well: D 83
        ((100, 80, 96, 83), (90, 90, 90), 5),
        # B 60 degrees to A, then C back at 60: an equilateral triangle with its last side 4 too long
        ((50, 50, 54), (60, 60), 4),
    ],
)
def test_the_closing_error_by_hand(lengths, corners, error):
    walls = [wall(n, size, c) for n, size, c in zip("ABCD", lengths, (*corners, None), strict=False)]
    closed = room_of("[room]\nclosed = true\n", *walls)
    assert closed.closure / INCH == pytest.approx(error, abs=1e-9)
    assert room_of(*walls).closure is None
    told = report(lay_text(job_text("[room]\nclosed = true\n", *walls)))["room"]
    assert told["closure"] == pytest.approx(error, abs=1e-6)
    assert told["walls"][0] == {"name": "A", "start": [0.0, 0.0], "end": [float(lengths[0]), 0.0], "corner": corners[0]}


def test_the_last_corner_of_a_closed_room_changes_no_wall():
    walls = [wall(n, 100) for n in "ABC"]
    square = room_of("[room]\nclosed = true\n", *walls, wall("D", 100, 90))
    other = room_of("[room]\nclosed = true\n", *walls, wall("D", 100, 60))
    assert ends(square) == near(ends(other))
    assert square.closure == pytest.approx(0, abs=1e-9)


# --- check measures ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("corner", "start", "end", "computed"),
    [
        # the diagonal of 30 by 40
        (90, "A start", "B end", 50),
        # law of cosines at 100 degrees: 900 + 1600 - 2400 cos 100
        (100, "A start", "B end", math.sqrt(2500 - 2400 * math.cos(math.radians(100)))),
        # from (12, 0) to (30, -16): 18 across and 16 down
        (90, "A 12", "B 16", math.hypot(18, 16)),
        (90, "A 1'", "B 1'-4\\\"", math.hypot(18, 16)),
        (90, "A 30", "B start", 0),
        (90, "A 304.8 mm", "A end", 18),
        (90, "B 40", "A 0", 50),
    ],
)
def test_a_check_measure_is_taped_less_computed(corner, start, end, computed):
    room = room_of(wall("A", 30, corner), wall("B", 40), measure(start, end, "48"))
    (made,) = room.measures
    assert made.computed / INCH == pytest.approx(computed, abs=1e-9)
    assert made.measured / INCH == pytest.approx(48)
    assert made.difference / INCH == pytest.approx(48 - computed)
    assert math.dist(*made.ends) / INCH == pytest.approx(computed, abs=1e-9)


def test_measures_in_the_report():
    # 3 across and 4 down from (27, 0): the tape said 5 1/8, an eighth too much
    parts = [wall("A", 30), wall("B", 40), measure("A 27", "B 4", "5 1/8")]
    (made,) = report(lay_text(job_text(*parts)))["room"]["measures"]
    assert made == {"from": "A 27", "to": "B 4", "measured": 5.125, "computed": 5.0, "difference": 0.125}


@pytest.mark.parametrize("place", ["A 30 1/16", "A -1", "C start", "A middle", "A"])
def test_a_measure_from_nowhere_is_refused(place):
    with pytest.raises(JobError, match="measure"):
        lay_text(job_text(wall("A", 30), wall("B", 40), measure(place, "B end", "48")))
