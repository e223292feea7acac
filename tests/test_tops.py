"""Small rooms worked out on paper: outlines, lengths and areas of tops, with the arithmetic beside them.

Inches, unless a job says mm. The wall gap is its default of 1/8 where nothing else is said. Wall A runs along +x from
(0, 0), so the back edge along it lies at y = -1/8 and a front edge at minus its depth.
"""

from __future__ import annotations

import math

import pytest

from layout.faults import JobError
from layout.pipeline import lay_text
from layout.report import report

GAP = 0.125
TAN = {t: math.tan(math.radians(t)) for t in (46, 67.5)}


def job_text(*parts, units="in", shop="", construction="edge grain"):
    head = f'[job]\ntitle = "t"\nnumber = "1"\nunits = "{units}"\n[wood]\nspecies = "cherry"\nthickness = "38 mm"\n'
    return head + f'construction = "{construction}"\n[shop]\n{shop}\n' + "\n".join(parts)


def wall(name, length, corner=None, more=""):
    stated = "" if corner is None else f"corner = {corner}\n"
    return f'[[wall]]\nname = "{name}"\nlength = "{length}"\n{stated}{more}\n'


def run(along="A", depth='"25 1/2"', more=""):
    names = ", ".join(f'"{name}"' for name in along)
    return f'[[top]]\nname = "run"\nalong = [{names}]\ndepth = {depth}\n{more}\n'


def told(*parts, **keys):
    return report(lay_text(job_text(*parts, **keys)))


def same_ring(made, wanted):
    """Whether two outlines have the same vertices in the same order, wherever they start."""
    wanted = [(*v, 0.0)[:3] for v in wanted]
    start = min(range(len(made)), key=lambda k: math.dist(made[k][:2], wanted[0][:2]))
    turned = made[start:] + made[:start]
    assert len(turned) == len(wanted), (turned, wanted)
    for a, b in zip(turned, wanted, strict=True):
        assert a == pytest.approx(b, abs=2e-6), (turned, wanted)


def lengths(top):
    return {edge["side"]: edge["length"] for edge in top["edges"]}


def about(value):
    return pytest.approx(value, abs=2e-6)


# --- room 1: a straight run between two walls ----------------------------------------------------------------------


def test_a_straight_run_between_walls():
    # 96 between the walls: 96 - 2/8 = 95 3/4 long, 25 1/2 - 1/8 = 25 3/8 deep
    laid = told(wall("A", 96), run())
    (top,) = laid["tops"]
    same_ring(top["outline"], [(GAP, -25.5), (95.875, -25.5), (95.875, -GAP), (GAP, -GAP)])
    assert (top["name"], top["part"]) == ("run", 1)
    assert top["gross_area"] == top["net_area"] == about(95.75 * 25.375)
    assert lengths(top) == about({"A front": 95.75, "right": 25.375, "A back": 95.75, "left": 25.375})
    (piece,) = laid["pieces"]
    assert (piece["length"], piece["width"], piece["grain"]) == about((95.75, 25.375, 0))
    assert piece["area"] == about(95.75 * 25.375)
    assert laid["joints"] == []


def test_its_cutouts_come_off_the_net_area():
    sink = 'name = "S1"\nkind = "sink"\nmount = "undermount"\ncenter = "48"\nsetback = "4"\nsize = ["30", "16"]\n'
    hole = 'name = "F1"\nkind = "hole"\ncenter = "48"\nsetback = "22"\ndiameter = "1 3/8"\n'
    laid = told(
        wall("A", 96),
        run(),
        *(f'[[cutout]]\ntop = "run"\nwall = "A"\n{c}' for c in (sink + 'radius = "3/4"\n', hole)),
    )
    # a corner of radius r lacks r^2 (1 - pi / 4): four of them, r = 3/4
    sunk = 30 * 16 - 4 * 0.75**2 * (1 - math.pi / 4)
    bored = math.pi * 0.6875**2
    (top,), (piece,) = laid["tops"], laid["pieces"]
    assert top["gross_area"] == about(95.75 * 25.375)
    assert top["net_area"] == piece["area"] == about(95.75 * 25.375 - sunk - bored)
    assert [c["area"] for c in laid["cutouts"]] == about([sunk, bored])
    # the setback runs from the front edge at -25 1/2 to the front side: centres at -25 1/2 + 4 + 8, + 22 + 11/16
    assert laid["cutouts"][0]["center"] == about([48, -13.5])
    assert laid["cutouts"][1]["center"] == about([48, -2.8125])


def test_ends_run_parallel_to_walls_out_of_square():
    # Z/A at 88: Z leans over the run, at a depth d below A by d / tan 88; the end stands 1/8 square to it: 1/8 / sin 88
    # A/B at 92: B leans away from the run by d tan 2, and the gap along A is 1/8 / cos 2
    laid = told(wall("Z", 50, 88), wall("A", 96, 92), wall("B", 50), run("A"))
    t = math.radians(2)
    left = [d * math.tan(t) + GAP / math.cos(t) for d in (25.5, GAP)]
    right = [96 + d * math.tan(t) - GAP / math.cos(t) for d in (25.5, GAP)]
    # Z comes first and lies along x; A turns 92 to the right from its end at (50, 0)
    a = -math.radians(92)

    def plan(x, y):
        return (50 + x * math.cos(a) - y * math.sin(a), x * math.sin(a) + y * math.cos(a))

    wanted = [plan(left[0], -25.5), plan(right[0], -25.5), plan(right[1], -GAP), plan(left[1], -GAP)]
    (top,) = laid["tops"]
    same_ring(top["outline"], wanted)
    # a trapezium: half the sum of front and back, times the depth; front and back are of one length here
    assert right[0] - left[0] == pytest.approx(right[1] - left[1])
    assert top["gross_area"] == about((96 - 2 * GAP / math.cos(t)) * 25.375)
    (piece,) = laid["pieces"]
    # its extent along the grain: from the back left to the front right
    assert piece["length"] == about(right[0] - left[1])
    assert piece["grain"] == about(88)


# --- room 2: an L --------------------------------------------------------------------------------------------------

ELL = (run("AB", more='end = "70"\nright_end = "exposed"'),)


def test_an_ell_at_a_square_corner():
    laid = told(wall("A", 120), wall("B", 90), *ELL)
    (top,) = laid["tops"]
    same_ring(
        top["outline"],
        [(GAP, -25.5), (94.5, -25.5), (94.5, -70), (119.875, -70), (119.875, -GAP), (GAP, -GAP)],
    )
    # along A: back 119 7/8 - 1/8, front 94 1/2 - 1/8; along B: back 70 - 1/8, front 70 - 25 1/2; both 25 3/8 deep
    areas = [(119.75 + 94.375) / 2 * 25.375, (69.875 + 44.5) / 2 * 25.375]
    assert [p["area"] for p in laid["pieces"]] == about(areas)
    assert top["gross_area"] == top["net_area"] == about(sum(areas))
    assert [(p["length"], p["width"], p["grain"]) for p in laid["pieces"]] == [
        about((119.75, 25.375, 0)),
        about((69.875, 25.375, 90)),
    ]
    assert lengths(top) == about(
        {"A front": 94.375, "B front": 44.5, "right": 25.375, "B back": 69.875, "A back": 119.75, "left": 25.375}
    )
    (joint,) = laid["joints"]
    assert (joint["start"], joint["end"]) == (about([119.875, -GAP]), about([94.5, -25.5]))
    assert joint["length"] == about(25.375 * math.sqrt(2))
    assert joint["angles"] == about([45, 45])


def test_an_ell_at_92_degrees():
    # a point d off both walls lies d / tan 46 from the corner along either
    back, front = GAP / TAN[46], 25.5 / TAN[46]
    laid = told(wall("A", 120, 92), wall("B", 90), *ELL)
    t = math.radians(88)

    def along_b(s, d):
        """Station s on B, d in front of it: B runs down and a little to the right, its room on the left in plan."""
        return (120 + s * math.cos(t) - d * math.sin(t), -s * math.sin(t) - d * math.cos(t))

    assert along_b(front, 25.5) == pytest.approx((120 - front, -25.5))
    (top,) = laid["tops"]
    same_ring(
        top["outline"],
        [(GAP, -25.5), (120 - front, -25.5), along_b(70, 25.5), along_b(70, GAP), (120 - back, -GAP), (GAP, -GAP)],
    )
    one = (120 - back - GAP + 120 - front - GAP) / 2 * 25.375
    two = (70 - back + 70 - front) / 2 * 25.375
    assert [p["area"] for p in laid["pieces"]] == about([one, two])
    assert top["gross_area"] == about(one + two)
    assert [p["length"] for p in laid["pieces"]] == about([120 - back - GAP, 70 - back])
    assert [p["grain"] for p in laid["pieces"]] == about([0, 92])
    assert laid["joints"][0]["length"] == about(25.375 / math.sin(math.radians(46)))


@pytest.mark.parametrize(("a", "b"), [(25.5, 18), (22, 30)])
def test_unequal_depths(a, b):
    laid = told(wall("A", 120), wall("B", 90), run("AB", f"{{ A = {a}, B = {b} }}"))
    (top,) = laid["tops"]
    same_ring(
        top["outline"],
        [(GAP, -a), (120 - b, -a), (120 - b, -89.875), (119.875, -89.875), (119.875, -GAP), (GAP, -GAP)],
    )
    one = (119.75 + 120 - b - GAP) / 2 * (a - GAP)
    two = (89.875 - GAP + 89.875 - a) / 2 * (b - GAP)
    assert [p["area"] for p in laid["pieces"]] == about([one, two])
    assert [p["width"] for p in laid["pieces"]] == about([a - GAP, b - GAP])
    # the seam from back corner to front corner; it falls the steeper to the deeper leg
    across, down = 119.875 - (120 - b), a - GAP
    assert laid["joints"][0]["length"] == about(math.hypot(across, down))
    assert laid["joints"][0]["angles"] == about(
        [math.degrees(math.atan2(down, across)), math.degrees(math.atan2(across, down))]
    )


def test_an_ell_round_an_outside_corner():
    # B runs up from A's end; back corner in front of both walls, front corner beyond both
    laid = told(wall("A", 60, 270), wall("B", 50), run("AB", more='left_end = "exposed"\nright_end = "exposed"'))
    (top,) = laid["tops"]
    same_ring(top["outline"], [(0, -25.5), (85.5, -25.5), (85.5, 50), (60.125, 50), (60.125, -GAP), (0, -GAP)])
    assert [p["area"] for p in laid["pieces"]] == about([(60.125 + 85.5) / 2 * 25.375, (50.125 + 75.5) / 2 * 25.375])
    assert [p["length"] for p in laid["pieces"]] == about([85.5, 75.5])


# --- room 3: ends --------------------------------------------------------------------------------------------------

SQUARE = wall("A", 96), wall("B", 50)


@pytest.mark.parametrize(
    ("before", "corner", "keys", "back", "front"),
    [
        # nothing listed to the left: a wall at station 0, exposed anywhere else
        ("", 90, "", GAP, GAP),
        ("", 90, 'start = "10"', 10, 10),
        ("", 90, 'left_end = "exposed"', 0, 0),
        ("", 90, 'left_end = "panel"', 0, 0),
        ("", 90, 'left_end = "appliance"\nstart = "10"', 10, 10),
        ("", 90, 'left_end = "wall"\nstart = "10"', 10.125, 10.125),
        # a wall at an inside corner
        (wall("Z", 50, 90), 90, "", GAP, GAP),
        (wall("Z", 50, 60), 60, "", "lean", "lean"),
        (wall("Z", 50, 60), 60, 'left_end = "exposed"', 0, 0),
        (wall("Z", 50, 60), 60, 'start = "40"', 40, 40),
        # away from its corner a wall end is square, whatever the neighbour
        (wall("Z", 50, 60), 60, 'start = "40"\nleft_end = "wall"', 40.125, 40.125),
        # round an outside corner, and where an open line meets it: exposed
        (wall("Z", 50, 270), 270, "", 0, 0),
        (wall("Z", 50, 90, "open = true"), 90, "", 0, 0),
        (wall("Z", 50, 90, "open = true"), 90, 'left_end = "wall"', GAP, GAP),
    ],
)
def test_left_ends(before, corner, keys, back, front):
    laid = lay_text(job_text(before, wall("A", 96), run("A", more=keys)))
    leg = laid.laid.tops[0].legs[0]
    points = [leg.frame.from_plan(p) for p in laid.laid.tops[0].ring.points]
    xs = sorted((y, x) for x, y in points if x < 60 * 25.4)
    if back == "lean":  # parallel to Z, 1/8 square to it: d / tan 60 + 1/8 / sin 60 at depth d
        t = math.radians(corner)
        back, front = (d / math.tan(t) + GAP / math.sin(t) for d in (GAP, 25.5))
    assert [(x / 25.4, y / 25.4) for y, x in xs] == [about((front, -25.5)), about((back, -GAP))]
    side = laid.laid.tops[0].sides["left"]
    assert side.free is (side.end == "exposed")


@pytest.mark.parametrize(
    ("corner", "after", "keys", "kind", "station"),
    [
        (90, "", "", "wall", 95.875),
        (90, "", 'end = "96"', "wall", 95.875),
        (90, "", 'end = "95 15/16"', "exposed", 95.9375),
        (90, "", 'end = "84"\nright_end = "wall"', "wall", 83.875),
        (90, "", 'end = "84"\nright_end = "panel"', "panel", 84),
        (90, "", 'end = "84"\nright_end = "appliance"', "appliance", 84),
        (90, "", 'right_end = "exposed"', "exposed", 96),
        (90, wall("B", 50), "", "wall", 95.875),
        (270, wall("B", 50), "", "exposed", 96),
        (180, wall("B", 50), "", "exposed", 96),
        (90, wall("B", 50, None, "open = true"), "", "exposed", 96),
    ],
)
def test_right_ends(corner, after, keys, kind, station):
    laid = lay_text(job_text(wall("A", 96, corner), after, run("A", more=keys)))
    top = laid.laid.tops[0]
    assert top.sides["right"].end == kind
    assert top.ring.bounds()[2] / 25.4 == about(station)
    assert top.ring.area / 25.4**2 == about((station - GAP) * 25.375)


def test_a_closed_room_has_neighbours_all_round():
    # the run's left neighbour is the last wall, at its corner of 80; B stands where A ends
    walls = [wall("A", 96), wall("B", 60), wall("C", 96), wall("D", 60, 80)]
    laid = told("[room]\nclosed = true\n", *walls, run("A"))
    # D runs up to the corner as the others have it, at x = 0: square, as its own corner is not used to lay it
    same_ring(laid["tops"][0]["outline"], [(GAP, -25.5), (95.875, -25.5), (95.875, -GAP), (GAP, -GAP)])


def test_a_corner_at_an_exposed_end():
    more = 'end = "84"\ncorners = { "front right" = { radius = "2" }, "front left" = { clip = ["3", "1"] } }\n'
    laid = told(wall("A", 96), run("A", more=more + 'left_end = "exposed"'))
    (top,) = laid["tops"]
    # off the square: 2^2 (1 - pi / 4) and half of 3 by 1
    assert top["gross_area"] == about(84 * 25.375 - 4 * (1 - math.pi / 4) - 1.5)
    quarter = math.tan(math.pi / 8)
    same_ring(
        top["outline"],
        [(3, -25.5), (82, -25.5, quarter), (84, -23.5), (84, -GAP), (0, -GAP), (0, -24.5)],
    )
    assert lengths(top)["front right"] == about(math.pi)
    assert lengths(top)["front left"] == about(math.sqrt(10))
    with pytest.raises(JobError, match="corner"):
        told(wall("A", 96), run("A", more='corners = { "front left" = { radius = "2" } }'))


# --- depths and backs ----------------------------------------------------------------------------------------------


def test_depth_from_the_top_back():
    # the piece itself is 25 1/2 deep, its front 25 5/8 off the wall
    laid = told(wall("A", 96), run("A", more='depth_from = "top back"'))
    same_ring(laid["tops"][0]["outline"], [(GAP, -25.625), (95.875, -25.625), (95.875, -GAP), (GAP, -GAP)])
    assert laid["pieces"][0]["width"] == about(25.5)
    # with an open line there is no gap: from its own back, 8 behind the line
    line = wall("A", 96, None, "open = true")
    laid = told(line, run("A", more='depth_from = "top back"\nback_overhang = "8"'))
    same_ring(laid["tops"][0]["outline"], [(GAP, -17.5), (95.875, -17.5), (95.875, 8), (GAP, 8)])


@pytest.mark.parametrize(
    ("bow", "keys", "back", "front"),
    [
        # standing back: straight in front of its straight line; proud by 1/4 at 30: 1/8 off its proudest point
        ('[["30", "1/2"]]', "", GAP, 25.5),
        ('[["30", "-1/4"]]', "", 0.375, 25.5),
        ('[["30", "-1/4"], ["70", "3/8"]]', "", 0.375, 25.5),
        # the run begins at 45: from -1/4 at 30 the bow goes to 0 at 90, so -3/16 there
        ('[["30", "-1/4"], ["90", "0"]]', 'start = "45"', 0.3125, 25.5),
        # the top's own depth from its own back
        ('[["30", "-1/4"]]', 'depth_from = "top back"', 0.375, 25.875),
    ],
)
def test_a_straight_back_against_a_bowed_wall(bow, keys, back, front):
    laid = told(wall("A", 96, None, f"bow = {bow}"), run("A", more=keys))
    ys = sorted({round(v[1], 6) for v in laid["tops"][0]["outline"]})
    assert ys == about([-front, -back])
    assert laid["pieces"][0]["width"] == about(front - back)


@pytest.mark.parametrize("gap", ["0", "1/4"])
def test_another_wall_gap(gap):
    g = {"0": 0.0, "1/4": 0.25}[gap]
    laid = told(wall("A", 96), run(), shop=f'wall_gap = "{gap}"')
    same_ring(laid["tops"][0]["outline"], [(g, -25.5), (96 - g, -25.5), (96 - g, -g), (g, -g)])


# --- room 4: a peninsula -------------------------------------------------------------------------------------------


def test_a_peninsula_with_an_overhang_behind():
    # along B no wall: its back edge 12 beyond the line at x = 120; A's back edge runs on to meet it at (132, -1/8)
    keys = 'right_end = "exposed"\nback_overhang = "12"'
    laid = told(wall("A", 120), wall("B", 70, None, "open = true"), run("AB", more=keys))
    (top,) = laid["tops"]
    same_ring(top["outline"], [(GAP, -25.5), (94.5, -25.5), (94.5, -70), (132, -70), (132, -GAP), (GAP, -GAP)])
    one = (131.875 + 94.375) / 2 * 25.375
    two = (69.875 + 44.5) / 2 * 37.5
    assert [p["area"] for p in laid["pieces"]] == about([one, two])
    assert [(p["length"], p["width"]) for p in laid["pieces"]] == [about((131.875, 25.375)), about((69.875, 37.5))]
    # the mitre: from (132, -1/8) to (94 1/2, -25 1/2)
    assert laid["joints"][0]["length"] == about(math.hypot(37.5, 25.375))
    over = {o["side"]: (o["amount"], o["supported"]) for o in laid["overhangs"]}
    # 12 behind, and the fronts 1 1/2 beyond cabinets 24 deep
    assert over["B back"] == (about(12), False)
    assert over["A front"] == over["B front"] == (about(1.5), True)
    assert "A back" not in over
    assert over["right"] == (about(0), True)


# --- straight on ---------------------------------------------------------------------------------------------------


def test_straight_on_with_one_depth_is_one_piece():
    laid = told(wall("A", 60, 180), wall("B", 40), run("AB"))
    same_ring(laid["tops"][0]["outline"], [(GAP, -25.5), (99.875, -25.5), (99.875, -GAP), (GAP, -GAP)])
    assert len(laid["pieces"]) == 1
    assert laid["joints"] == []
    assert laid["tops"][0]["gross_area"] == about(99.75 * 25.375)


def test_straight_on_keeps_the_sides_of_both_walls():
    laid = told(wall("A", 60, 180), wall("B", 40), run("AB"))
    assert lengths(laid["tops"][0]) == about(
        {"A front": 59.875, "B front": 39.875, "right": 25.375, "B back": 39.875, "A back": 59.875, "left": 25.375}
    )


def test_straight_on_with_two_depths_is_a_square_step():
    laid = told(wall("A", 60, 180), wall("B", 40), run("AB", "{ A = 25.5, B = 18 }"))
    (top,) = laid["tops"]
    same_ring(top["outline"], [(GAP, -25.5), (60, -25.5), (60, -18), (99.875, -18), (99.875, -GAP), (GAP, -GAP)])
    assert lengths(top)["A/B step"] == about(7.5)
    # 59 7/8 by 25 3/8 and 39 7/8 by 17 7/8
    assert top["gross_area"] == about(59.875 * 25.375 + 39.875 * 17.875)
    assert (len(laid["pieces"]), laid["joints"]) == (1, [])
    # and up again where the second leg is the deeper one
    laid = told(wall("A", 60, 180), wall("B", 40), run("AB", "{ A = 18, B = 25.5 }"))
    same_ring(
        laid["tops"][0]["outline"],
        [(GAP, -18), (60, -18), (60, -25.5), (99.875, -25.5), (99.875, -GAP), (GAP, -GAP)],
    )


def test_straight_on_into_an_open_line_steps_at_the_back():
    line = wall("B", 40, None, "open = true")
    laid = told(wall("A", 60, 180), line, run("AB", more='back_overhang = "6"'))
    same_ring(
        laid["tops"][0]["outline"], [(GAP, -25.5), (99.875, -25.5), (99.875, 6), (60, 6), (60, -GAP), (GAP, -GAP)]
    )


# --- room 5: an island and a bar -----------------------------------------------------------------------------------


def island(more):
    return f'[[top]]\nname = "island"\n{more}\n'


@pytest.mark.parametrize(
    ("more", "ring"),
    [
        ('size = ["84", "40"]\nat = ["10", "-50"]', [(10, -50), (94, -50), (94, -10), (10, -10)]),
        # 82 and 27 of cabinets, 1 + 1 and 1 + 12 beyond them: 84 by 40
        (
            'base = ["82", "27"]\noverhang = { front = "1", back = "12", left = "1", right = "1" }\nat = ["0", "0"]',
            [(0, 0), (84, 0), (84, 40), (0, 40)],
        ),
        ('size = ["84", "40"]\nat = ["10", "-50"]\nturn = 90', [(10, -50), (10, 34), (-30, 34), (-30, -50)]),
        ('size = ["30", "40"]\nat = ["7", "8"]\nturn = -90', [(7, 8), (7, -22), (47, -22), (47, 8)]),
        # 3-4-5: turned by atan 3/4, 50 along becomes 40 and 30, 25 across -15 and 20
        (
            f'size = ["50", "25"]\nat = ["1", "2"]\nturn = {math.degrees(math.atan2(3, 4))}',
            [(1, 2), (41, 32), (26, 52), (-14, 22)],
        ),
        # no place given, none before it: at the origin
        ('size = ["84", "40"]', [(0, 0), (84, 0), (84, 40), (0, 40)]),
    ],
)
def test_a_rectangle_where_it_is_put(more, ring):
    laid = told(island(more))
    same_ring(laid["tops"][0]["outline"], ring)
    assert laid["tops"][0]["gross_area"] == about(
        abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1], strict=True))) / 2
    )


def test_tops_without_a_place_stand_24_to_the_right_of_all_before():
    # the run ends at 95 7/8, but its wall only at 96: 120; its back level with the highest thing, the wall at y = 0
    laid = told(wall("A", 96), run(), island('size = ["40", "30"]'))
    same_ring(laid["tops"][1]["outline"], [(120, -30), (160, -30), (160, 0), (120, 0)])
    laid = told(wall("A", 2400), run("A", "600"), island('size = ["400", "300"]\nturn = 90'), units="mm")
    same_ring(laid["tops"][1]["outline"], [(3300, -400), (3300, 0), (3000, 0), (3000, -400)])


def test_a_rectangle_with_corners():
    corners = (
        'corners = { "back left" = { radius = "3" }, "back right" = { clip = ["4", "2"] }, '
        '"front left" = { clip = "1" } }'
    )
    laid = told(island(f'size = ["84", "40"]\n{corners}'))
    (top,) = laid["tops"]
    assert top["gross_area"] == about(84 * 40 - 9 * (1 - math.pi / 4) - 4 - 0.5)
    same_ring(
        top["outline"],
        [(1, 0), (84, 0), (84, 38), (80, 40), (3, 40, math.tan(math.pi / 8)), (0, 37), (0, 1)],
    )
    assert lengths(top) == about(
        {
            "front": 83, "right": 38, "back right": math.sqrt(20), "back": 77, "back left": 1.5 * math.pi, "left": 36,
            "front left": math.sqrt(2),
        }
    )  # fmt: skip


def test_what_carries_a_rectangle_lies_its_overhangs_within():
    over = 'overhang = { front = "1", back = "12", left = "2", right = "3" }'
    laid = told(island(f'size = ["84", "40"]\n{over}\nturn = 30\nat = ["5", "5"]'))
    assert {o["side"]: o["amount"] for o in laid["overhangs"]} == about({"front": 1, "back": 12, "left": 2, "right": 3})


def outline(points, more=""):
    stated = ", ".join(f'["{x}", "{y}"]' for x, y in points)
    return f'[[top]]\nname = "bar"\noutline = [{stated}]\n{more}\n'


BOX = [(0, 0), (8, 0), (8, 6), (0, 6)]
SWEEP = 2 * math.atan2(4, 3)
SEGMENT = (25 * SWEEP - 24) / 2
"""Between a chord of 8 and its arc of rise 2: radius 5, half of r^2 (sweep - sin sweep), sin sweep = 24/25."""


@pytest.mark.parametrize(
    ("rise", "area", "bulges"),
    [
        ("{ 1 = 2 }", 48 + SEGMENT, [0.5, 0, 0, 0]),
        ("{ 1 = -2 }", 48 - SEGMENT, [-0.5, 0, 0, 0]),
        ("{ 1 = 2, 3 = -2 }", 48, [0.5, 0, -0.5, 0]),
        # at most half the edge: half a disc of radius 3
        ("{ 2 = 3 }", 48 + 4.5 * math.pi, [0, 1, 0, 0]),
    ],
)
def test_an_outline_with_arcs(rise, area, bulges):
    laid = told(outline(BOX, f"rise = {rise}"))
    (top,) = laid["tops"]
    assert top["gross_area"] == top["net_area"] == about(area)
    same_ring(top["outline"], [(x, y, b) for (x, y), b in zip(BOX, bulges, strict=True)])


def test_an_outline_with_corners_grain_place_and_turn():
    more = 'corners = { 3 = { radius = "2" }, 4 = { clip = ["1", "3"] } }\ngrain = 90\nat = ["20", "10"]\nturn = 90'
    laid = told(outline([(0, 0), (60, 0), (60, 20), (0, 20)], more))
    (top,), (piece,) = laid["tops"], laid["pieces"]
    # a clip gives its leg on the edge before the point first: 1 back along the top, 3 down the left side
    assert top["gross_area"] == about(1200 - 4 * (1 - math.pi / 4) - 1.5)
    # (x, y) lies at (20 - y, 10 + x)
    own = [(0, 0), (60, 0), (60, 18, math.tan(math.pi / 8)), (58, 20), (1, 20), (0, 17)]
    same_ring(top["outline"], [(20 - y, 10 + x, *b) for x, y, *b in own])
    # grain across the long way, then turned once more: along x of the plan again
    assert piece["grain"] == about(0)
    assert (piece["length"], piece["width"]) == about((20, 60))


def test_the_length_of_a_slanted_piece_is_its_whole_extent():
    # grain at 30 degrees to a box 60 by 20: 60 cos 30 + 20 sin 30 along it, 60 sin 30 + 20 cos 30 across
    laid = told(outline([(0, 0), (60, 0), (60, 20), (0, 20)], "grain = 30"))
    (piece,) = laid["pieces"]
    c = math.sqrt(3) / 2
    assert (piece["length"], piece["width"], piece["grain"]) == about((60 * c + 10, 30 + 20 * c, 30))
    assert piece["area"] == about(1200)


def test_a_corner_that_cuts_through_another_edge_is_refused():
    # a U with a floor 5 thick: a clip of 20 at its outer corner would run through the inner one, as 10 + 5 < 20
    points = [(0, 0), (60, 0), (60, 30), (50, 30), (50, 5), (10, 5), (10, 30), (0, 30)]
    with pytest.raises(JobError, match="corners"):
        told(outline(points, 'corners = { 1 = { clip = "20" } }'))


# --- openings in the outline ---------------------------------------------------------------------------------------


def test_an_apron_sink_opens_the_front():
    sink = 'name = "S1"\nkind = "sink"\nmount = "apron"\ntop = "run"\nwall = "A"\ncenter = "48"\nsize = ["33", "20"]\n'
    laid = told(wall("A", 96), run(), f'[[cutout]]\n{sink}radius = "3/4"\n')
    (top,), (piece,), (cut,) = laid["tops"], laid["pieces"], laid["cutouts"]
    # the opening is 33 by 20, less two rounded corners at its back
    opening = 33 * 20 - 2 * 0.75**2 * (1 - math.pi / 4)
    assert top["gross_area"] == top["net_area"] == piece["area"] == about(95.75 * 25.375 - opening)
    inward = -math.tan(math.pi / 8)
    same_ring(
        top["outline"],
        [
            (GAP, -25.5), (31.5, -25.5), (31.5, -6.25, inward), (32.25, -5.5), (63.75, -5.5, inward), (64.5, -6.25),
            (64.5, -25.5), (95.875, -25.5), (95.875, -GAP), (GAP, -GAP),
        ],
    )  # fmt: skip
    assert lengths(top)["A front"] == about(95.75 - 33)
    assert lengths(top)["S1"] == about(2 * (20 - 0.75) + 33 - 1.5 + 0.75 * math.pi)
    assert cut["area"] == about(opening)
    assert (cut["center"], cut["piece"]) == (about([48, -15.5]), "P1")


@pytest.mark.parametrize(("depth", "across"), [("25 1/2", "25 3/8"), ("25", "24 7/8"), ("25", "30")])
def test_an_apron_sink_as_deep_as_its_top_is_refused(depth, across):
    where = f'top = "run"\nwall = "A"\ncenter = "40"\nsize = ["20", "{across}"]\n'
    sink = f'[[cutout]]\nname = "S1"\nkind = "sink"\nmount = "apron"\n{where}'
    with pytest.raises(JobError, match="opening"):
        told(wall("A", 100), run("A", f'"{depth}"'), sink)


def test_a_range_breaks_the_run_from_side_to_side():
    # 30 1/8 at 40: what is left runs from 1/8 to 40 and from 70 1/8 to 95 7/8, at full depth
    item = '[[appliance]]\nkind = "range"\ntop = "run"\nwall = "A"\nat = "40"\nwidth = "30 1/8"\n'
    laid = told(wall("A", 96), run(), item)
    one, two = laid["tops"]
    same_ring(one["outline"], [(GAP, -25.5), (40, -25.5), (40, -GAP), (GAP, -GAP)])
    same_ring(two["outline"], [(70.125, -25.5), (95.875, -25.5), (95.875, -GAP), (70.125, -GAP)])
    assert [(t["part"], t["gross_area"]) for t in laid["tops"]] == [
        (1, about(39.875 * 25.375)),
        (2, about(25.75 * 25.375)),
    ]
    assert [(p["id"], p["part"]) for p in laid["pieces"]] == [("P1", 1), ("P2", 2)]
    # what stands in the run below it leaves it whole
    below = item.replace("range", "dishwasher")
    assert len(told(wall("A", 96), run(), below)["tops"]) == 1
    assert len(told(wall("A", 96), run(), below + "breaks = true\n")["tops"]) == 2
    assert len(told(wall("A", 96), run(), item + "breaks = false\n")["tops"]) == 1


def test_a_range_that_takes_the_whole_run_is_refused():
    item = '[[appliance]]\nkind = "range"\ntop = "run"\nwall = "A"\nat = "0"\nwidth = "24"\n'
    with pytest.raises(JobError, match="appliance"):
        told(wall("A", 96), run("A", more='end = "20"'), item)


@pytest.mark.parametrize("at", ["0", "65 7/8"])
def test_a_range_at_an_end_leaves_one_part(at):
    item = f'[[appliance]]\nkind = "range"\ntop = "run"\nwall = "A"\nat = "{at}"\nwidth = "30 1/8"\n'
    (top,) = told(wall("A", 96), run(), item)["tops"]
    low, high = (30.125, 95.875) if at == "0" else (GAP, 65.875)
    same_ring(top["outline"], [(low, -25.5), (high, -25.5), (high, -GAP), (low, -GAP)])


@pytest.mark.parametrize(
    ("openings", "message"),
    [
        # before a run that begins at 50, just beside it, and over another one
        ([(10, 30)], "outside its run"),
        ([(20, 30)], "outside its run"),
        ([(52, 24), (75, 24)], "overlaps another"),
        ([(52, 24), (76, 24)], None),
    ],
)
def test_ranges_side_by_side_in_their_run(openings, message):
    items = [
        f'[[appliance]]\nkind = "range"\ntop = "run"\nwall = "A"\nat = {at}\nwidth = {width}\n'
        for at, width in openings
    ]
    parts = wall("A", 120), run("A", more='start = "50"'), *items
    if message:
        with pytest.raises(JobError, match=message):
            told(*parts)
    else:  # 50 to 52, and 100 to 119 7/8; nothing is left between the two
        assert [p["length"] for p in told(*parts)["pieces"]] == about([2, 19.875])


@pytest.mark.parametrize(("at", "reaches"), [("64", False), ("64 1/2", True), ("89", True)])
def test_a_range_may_not_reach_a_corner_joint(at, reaches):
    # the mitre begins at the front corner, 94 1/2: a range of 30 at 64 leaves half an inch
    item = f'[[appliance]]\nkind = "range"\ntop = "run"\nwall = "A"\nat = "{at}"\nwidth = "30"\n'
    parts = wall("A", 120), wall("B", 90), run("AB"), item
    if reaches:
        with pytest.raises(JobError, match="corner joint"):
            told(*parts)
    else:
        assert [t["part"] for t in told(*parts)["tops"]] == [1, 2]


def test_a_room_in_mm():
    # 2400 between walls, gap 3 each end and behind; 620 deep
    laid = told(wall("A", 2400), run("A", "620"), units="mm")
    same_ring(laid["tops"][0]["outline"], [(3, -620), (2397, -620), (2397, -3), (3, -3)])
    assert laid["tops"][0]["gross_area"] == about(2394 * 617)
