"""Straight seams: the choice against every choice there is, and small tops worked out by hand.

The rule (own rule): the fewest that the greatest length needs, then the least sum of squared lengths, then the leftmost,
at stations that are multiples of 1/16 in or 1 mm. Exactly on a limit is allowed.
"""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.cutting import locate
from layout.faults import JobError
from layout.pipeline import lay_text
from layout.report import report
from layout.seams import best_seams

NO_GAP = 'wall_gap = "0"'


def job_text(*parts, units="in", shop=""):
    head = f'[job]\ntitle = "t"\nnumber = "1"\nunits = "{units}"\n[wood]\nspecies = "cherry"\nthickness = "38 mm"\n'
    return head + f"[shop]\n{NO_GAP}\n{shop}\n" + "\n".join(parts)


def wall(name, length, corner=90):
    return f'[[wall]]\nname = "{name}"\nlength = "{length}"\ncorner = {corner}\n'


def run(along="A", depth="25 1/2", more=""):
    names = ", ".join(f'"{n}"' for n in along)
    return f'[[top]]\nname = "run"\nalong = [{names}]\ndepth = "{depth}"\n{more}\n'


def sink(left, right, on="A", name="S1", more='setback = "4"'):
    """A cutout between two stations."""
    mount = "" if "mount" in more else 'mount = "undermount"\n'
    return (
        f'[[cutout]]\nname = "{name}"\nkind = "sink"\n{mount}top = "run"\nwall = "{on}"\nproof = "template"\n'
        f'center = {(left + right) / 2}\nsize = [{right - left}, "16"]\n{more}\n'
    )


def box(size, more=""):
    return f'[[top]]\nname = "box"\nsize = [{size[0]}, {size[1]}]\nat = ["0", "0"]\n{more}\n'


def bar(points, more=""):
    stated = ", ".join(f"[{x}, {y}]" for x, y in points)
    return f'[[top]]\nname = "bar"\noutline = [{stated}]\nat = ["0", "0"]\n{more}\n'


def by_hand(at, top="run", on="A", more=""):
    where = f'wall = "{on}"\n' if on else ""
    return f'[[joint]]\ntop = "{top}"\n{where}at = "{at}"\n{more}\n'


def told(*parts, **keys):
    return report(lay_text(job_text(*parts, **keys)))


LENGTHS = ("seam-none-possible", "piece-too-long", "leg-too-short")


def codes(laid):
    """What is found of lengths and joints."""
    return [f["code"] for f in laid["findings"] if f["code"] in LENGTHS]


def found_in(layout):
    return [f for f in layout.findings if f.code in LENGTHS]


def lengths(laid):
    return [p["length"] for p in laid["pieces"]]


def about(value):
    return pytest.approx(value, abs=2e-6)


# --- the choice ----------------------------------------------------------------------------------------------------


def every_choice(start, end, places, longest, shortest):
    """The best seams by trying all; whole numbers only, so that sums are exact."""
    if end - start <= longest:
        return ()
    inside = [p for p in places if start < p < end]
    for count in range(1, len(inside) + 1):
        made = []
        for seams in itertools.combinations(inside, count):
            sizes = [b - a for a, b in itertools.pairwise([start, *seams, end])]
            if max(sizes) <= longest and min(sizes) >= shortest:
                made.append((sum(s * s for s in sizes), seams))
        if made:
            return min(made)[1]
    return None


@given(
    st.integers(0, 3),
    st.integers(8, 70),
    st.lists(st.integers(0, 72), max_size=13, unique=True),
    st.integers(5, 40),
    st.integers(0, 8),
)
@settings(max_examples=300, deadline=None)
def test_best_seams_against_every_choice(start, end, places, longest, shortest):
    wanted = every_choice(start, end, sorted(places), longest, shortest)
    made = best_seams(float(start), float(end), [float(p) for p in sorted(places)], float(longest), float(shortest))
    assert made == wanted


@pytest.mark.parametrize(
    ("end", "places", "longest", "shortest", "seams"),
    [
        # no seam needed, exactly on the limit and a hair beyond
        (30, [], 30, 4, ()),
        (31, [], 30, 4, None),
        # even halves; none in the middle: both sides as good, the left one
        (40, range(1, 40), 30, 4, (20,)),
        (41, range(1, 41), 30, 4, (20,)),
        (40, [18, 22], 30, 4, (18,)),
        (40, [17, 22], 30, 4, (22,)),
        # exactly the longest and the shortest, at an end and between two seams
        (24, [10, 14], 10, 4, (10, 14)),
        (24, [10, 14], 10, 5, None),
        (34, [4], 30, 4, (4,)),
        (34, [4], 30, 5, None),
        (35, [4], 30, 4, None),
        # thirds; of 29 + 30 + 30, 30 + 29 + 30 and 30 + 30 + 29 the first
        (90, range(1, 90), 30, 4, (30, 60)),
        (89, [29, 30, 59, 60], 31, 4, (29, 59)),
        # 28^2 + 16^2 = 1040 is less than 15^2 + 29^2 = 1066
        (44, [3, 15, 28, 41], 41, 4, (28,)),
        # fewer first: 15 and 33 (1314; 34 and 14: 1352), though 15, 19 and 14 were more even
        (48, [15, 34], 40, 4, (15,)),
        # none where one would do but for the shortest piece; two where one would not do
        (32, [3, 29], 29, 4, None),
        (50, [5, 45], 40, 4, (5, 45)),
        # 11 + 38 + 11: 1686; 10 + 39 + 11: 1742
        (60, [10, 11, 49, 50], 40, 10, (11, 49)),
    ],
)
def test_best_seams_by_hand(end, places, longest, shortest, seams):
    assert best_seams(0.0, float(end), [float(p) for p in places], longest, shortest) == seams


def test_ten_pieces():
    made = best_seams(0.0, 1000.0, [float(p) for p in range(1, 1000)], 100.0, 20.0)
    assert made == tuple(float(p) for p in range(100, 1000, 100))


# --- on a run ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("length", "wanted"),
    [
        ("168", [168]),
        ("168 1/16", [84, 84.0625]),
        ("200", [100, 100]),
        # no sixteenth in the middle: the left one of two as good
        ("199 1/16", [99.5, 99.5625]),
        ("14'", [168]),
        # 400 / 3 = 133 1/3: of three pieces one is a sixteenth longer, the last one, as seams lie left
        ("400", [133.3125, 133.3125, 133.375]),
    ],
)
def test_a_run_is_divided_evenly(length, wanted):
    laid = told(wall("A", length), run())
    assert lengths(laid) == about(wanted)
    assert codes(laid) == []


def test_a_seam_lies_square_across_from_back_to_front():
    laid = told(wall("A", 200), run(), shop='min_piece = "1/8"')
    (joint,) = laid["joints"]
    assert (joint["kind"], joint["pieces"]) == ("seam", ["P1", "P2"])
    assert joint["points"] == [about([100, 0]), about([100, -25.5])]
    assert (joint["length"], joint["angles"]) == (about(25.5), about([90, 90]))
    assert [p["area"] for p in laid["pieces"]] == about([2550, 2550])


def test_stations_count_from_the_wall_not_from_the_top():
    # from 10 1/32 to 200: the middle 105 1/64, the nearest sixteenth 105
    laid = told(wall("A", 200), run(more='start = "10 1/32"'))
    assert laid["joints"][0]["start"] == about([105, 0])


def test_seams_in_mm():
    laid = told(wall("A", 5001), run(depth="640"), units="mm")
    assert lengths(laid) == about([2500, 2501])
    assert lengths(told(wall("A", 4200), run(depth="640"), units="mm")) == about([4200])
    assert lengths(told(wall("A", 4201), run(depth="640"), units="mm")) == about([2100, 2101])
    # 10000 / 3 = 3333 1/3
    assert lengths(told(wall("A", 10000), run(depth="640"), units="mm")) == about([3333, 3333, 3334])


@pytest.mark.parametrize(
    ("left", "right", "shop", "seam"),
    [
        # 6 clear of a sink in the very middle: 79 and 121 are as good
        (85, 115, "", 79),
        # off the middle: the nearer side, exactly at its limit
        (86, 116, "", 80),
        (84, 114, "", 120),
        (84, 114, 'seam_clear = "10"', 124),
        # as near as 6 beside the middle changes nothing
        (106, 130, "", 100),
        (105.9375, 130, "", 99.9375),
        (70, 94, "", 100),
        (70, 94.0625, "", 100.0625),
    ],
)
def test_seams_keep_clear_of_cutouts(left, right, shop, seam):
    laid = told(wall("A", 200), run(), sink(left, right), shop=shop)
    assert laid["joints"][0]["start"] == about([seam, 0])
    assert laid["cutouts"][0]["piece"] == ("P1" if seam > left else "P2")


def test_seams_keep_clear_of_an_apron_sink():
    apron = sink(86, 116, more='mount = "apron"')
    laid = told(wall("A", 200), run(), apron)
    assert laid["joints"][0]["start"] == about([80, 0])


def test_a_round_and_a_turned_cutout_count_with_their_whole_extent():
    disc = sink(0, 0).replace('size = [0, "16"]', 'diameter = "20"').replace("center = 0.0", "center = 101")
    # from 91 to 111: 85 or 117
    assert told(wall("A", 200), run(), disc)["joints"][0]["start"] == about([85, 0])
    # 20 by 16 turned a quarter: 16 along, 20 across
    turned = sink(91, 111, more='setback = "4"\nturn = 90')
    assert told(wall("A", 200), run(), turned)["joints"][0]["start"] == about([87, 0])


@pytest.mark.parametrize(
    ("at", "shop", "seam"),
    [(88, "", 86), (89, "", 87), (87, "", 113), (87, 'opening_clear = "3 1/2"', 114.5), (102, "", 100), (74, "", 100)],
)
def test_seams_keep_clear_of_openings_below(at, shop, seam):
    item = f'[[appliance]]\nkind = "dishwasher"\ntop = "run"\nwall = "A"\nat = {at}\nwidth = "24"\n'
    assert told(wall("A", 200), run(), item, shop=shop)["joints"][0]["start"] == about([seam, 0])


def test_seams_keep_clear_of_corner_joints():
    # the mitre lies from 174 1/2 to 200 along A, so a seam at most at 168 1/2; the sink bars 25 to 168 1/2, and with
    # boards of 170 the second piece, to 200, wants a seam at 30 or beyond
    parts = wall("A", 200), wall("B", 100), run("AB")
    laid = told(*parts, sink(31, 162.5), shop='max_length = "170"')
    assert lengths(laid) == about([168.5, 31.5, 100])
    assert "seam-none-possible" not in codes(laid)
    laid = told(*parts, sink(31, 162.5625), shop='max_length = "170"')
    assert "seam-none-possible" in codes(laid)
    # on the right of the corner it lies from 0 to 25 1/2: not before 31 1/2
    parts = wall("A", 100), wall("B", 200), run("AB")
    laid = told(*parts, sink(37.5, 169, on="B"), shop='max_length = "170"')
    assert lengths(laid) == about([100, 31.5, 168.5])


def test_corner_joints_count_with_their_extent_along_the_grain():
    # 24 deep, a mitre lies from 76 to 100, and so does a butt with A through, along A's front: a seam at most at 70
    parts = wall("A", 100), wall("B", 60), run("AB", "24")
    butt = '[[joint]]\ntop = "run"\ncorner = "A/B"\nkind = "butt"\nthrough = '
    for joint, last in (("", 60), (f'{butt}"A"\n', 36)):
        laid = told(*parts, joint, sink(30, 64), shop='max_length = "75"')
        assert lengths(laid) == about([70, 30, last])
        laid = told(*parts, joint, sink(30, 64.0625), shop='max_length = "75"')
        assert "seam-none-possible" in codes(laid)
    # with B through A ends at 76, where the butt crosses it: a seam at most at 70, and 24 before the end at most at 52
    laid = told(*parts, f'{butt}"B"\n', shop='max_length = "60"')
    assert lengths(laid) == about([38, 38, 60])


@pytest.mark.parametrize(
    ("left", "possible"),
    [
        # 180 long: a seam between 24 and 156 but for the sink, which with 6 beside it bars from 24, or from before it
        (30, True),
        (29.9375, False),
    ],
)
def test_pieces_beside_a_seam_are_at_least_min_piece_long(left, possible):
    laid = told(wall("A", 180), run(), sink(left, 150.0625))
    if possible:
        assert lengths(laid) == about([24, 156])
    else:
        assert "seam-none-possible" in codes(laid)
        assert len(laid["pieces"]) == 1
        # a shop that can do with less finds one
        assert lengths(told(wall("A", 180), run(), sink(left, 150.0625), shop='min_piece = "23"')) == about(
            [23.9375, 156.0625]
        )


def test_a_piece_without_a_seam_may_be_shorter():
    laid = told(wall("A", 12), run())
    assert lengths(laid) == about([12])
    assert codes(laid) == []


def test_each_part_of_a_broken_run_is_divided_for_itself():
    # 100, a range of 30, 170
    item = '[[appliance]]\nkind = "range"\ntop = "run"\nwall = "A"\nat = "100"\nwidth = "30"\n'
    laid = told(wall("A", 300), run(), item)
    assert lengths(laid) == about([100, 85, 85])
    assert [p["part"] for p in laid["pieces"]] == [1, 2, 2]
    assert laid["joints"][0]["start"] == about([215, 0])


def test_a_seam_may_lie_where_two_walls_meet_straight_on():
    laid = told(wall("A", 100, 180), wall("B", 100), run("AB"))
    assert lengths(laid) == about([100, 100])
    # stations of B count from its own start: A ends at 99 31/32, the middle is 99 47/64, the nearest sixteenth on A
    laid = told(wall("A", "99 31/32", 180), wall("B", "99 1/2"), run("AB"))
    assert laid["joints"][0]["start"] == about([99.75, 0])
    laid = told(wall("A", "90 1/32", 180), wall("B", "109 31/32"), run("AB"))
    # the middle, 100, is 9 31/32 along B: 9 15/16 or 10, as near; the left one
    assert laid["joints"][0]["start"] == about([90.03125 + 9.9375, 0])


# --- rectangles and outlines ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("turn", [0, 90, 33.3, -120])
def test_seams_of_a_rectangle_in_its_own_frame(turn):
    laid = told(box((200, 30), f"turn = {turn}"))
    assert lengths(laid) == about([100, 100])
    assert laid["joints"][0]["angles"] == about([90, 90])
    assert laid["joints"][0]["length"] == about(30)
    cut = '[[cutout]]\nname = "S1"\nkind = "sink"\ntop = "box"\ncenter = ["101", "15"]\nsize = ["30", "16"]\n'
    assert lengths(told(box((200, 30), f"turn = {turn}"), cut)) == about([80, 120])


def test_the_first_piece_of_a_rectangle_is_the_left_one():
    laid = told(box((169, 30)))
    assert [min(v[0] for v in p["outline"]) for p in laid["pieces"]] == about([0, 84.5])
    # from back to front
    assert laid["joints"][0]["points"] == [about([84.5, 30]), about([84.5, 0])]


def test_seams_of_an_outline_count_from_its_own_origin():
    # from 5 1/32 to 205 1/32: the middle 105 1/32, 105 or 105 1/16; the left one
    x0, x1 = 5.03125, 205.03125
    laid = told(bar([(x0, 0), (x1, 0), (x1, 30), (x0, 30)]))
    assert laid["joints"][0]["start"] == about([105, 30])


def test_the_grain_of_an_outline_turns_its_seams():
    laid = told(bar([(0, 0), (30, 0), (30, 200), (0, 200)], "grain = 90"))
    assert lengths(laid) == about([100, 100])
    assert laid["pieces"][0]["grain"] == about(90)
    # along the grain is up; back lies to the left
    assert laid["joints"][0]["points"] == [about([0, 100]), about([30, 100])]


def test_a_slanted_piece_counts_with_its_whole_extent():
    # a bar 150 along its front, leaning 20: extent 170, so a seam, though no edge is longer than 150
    laid = told(bar([(0, 0), (150, 0), (170, 30), (20, 30)]))
    # pieces 0 to s and, from the back, s to 170: even at 85
    assert lengths(laid) == about([85, 85])
    assert lengths(told(bar([(0, 0), (148, 0), (168, 30), (20, 30)]))) == about([168])


def test_a_seam_across_an_arc_keeps_its_area():
    # chord 200 and rise 40: radius (100^2 + 40^2) / 80 = 145; the seam at 100 meets the arc at its top
    laid = told(bar([(0, 0), (200, 0), (200, 30), (0, 30)], 'rise = { 1 = "40" }'), shop='max_width = "80"')
    assert lengths(laid) == about([100, 100])
    assert laid["joints"][0]["points"] == [about([100, 30]), about([100, -40])]
    assert sum(p["area"] for p in laid["pieces"]) == about(laid["tops"][0]["gross_area"])
    assert laid["pieces"][0]["area"] == about(laid["pieces"][1]["area"])


# --- by hand -------------------------------------------------------------------------------------------------------


def test_a_seam_by_hand_is_the_only_one():
    laid = told(wall("A", 160), run(), by_hand("50"))
    assert lengths(laid) == about([50, 110])
    # 300 would want one more
    laid = told(wall("A", 300), run(), by_hand("50"))
    assert lengths(laid) == about([50, 250])
    assert codes(laid) == ["piece-too-long"]
    laid = told(wall("A", 300), run(), by_hand("50"), by_hand("160"))
    assert lengths(laid) == about([50, 110, 140])
    assert [j["start"][0] for j in laid["joints"]] == about([50, 160])
    assert codes(laid) == []


def test_seams_by_hand_in_any_order_and_from_the_right():
    laid = told(wall("A", 300), run(), by_hand("140", more='from = "right"'), by_hand("50"))
    assert [j["start"][0] for j in laid["joints"]] == about([50, 160])
    assert [j["pieces"] for j in laid["joints"]] == [["P1", "P2"], ["P2", "P3"]]


def test_a_seam_by_hand_on_one_leg_leaves_the_others_alone():
    laid = told(wall("A", 100), wall("B", 200), run("AB"), by_hand("60"))
    assert lengths(laid) == about([60, 40, 100, 100])
    assert [j["kind"] for j in laid["joints"]] == ["seam", "mitre", "seam"]


@pytest.mark.parametrize("shop", ["", 'min_piece = "90"'])
def test_a_seam_by_hand_may_lie_where_the_tool_would_put_none(shop):
    # 5 from the end, and through a sink, which then lies over a joint
    laid = told(wall("A", 160), run(), sink(60, 90), by_hand("5"), by_hand("75"), shop=shop)
    assert lengths(laid) == about([5, 70, 85])
    assert laid["cutouts"][0]["piece"] is None


@pytest.mark.parametrize("radius", [0, 1])
@pytest.mark.parametrize("at", ["39", "42", "44 15/16", "45"])
def test_a_cutout_comes_off_whatever_part_of_it_a_seam_meets(at, radius):
    # a column 6 by 6 from 39 to 45: with a seam through it or along its side it comes off the two pieces together
    column = (
        '[[cutout]]\nname = "C1"\nkind = "column"\ntop = "box"\nproof = "template"\n'
        f'center = ["42", "20"]\nsize = ["6", "6"]\nradius = {radius}\n'
    )
    layout = lay_text(job_text(box((84, 40)), column, by_hand(at, "box", None)))
    taken = 36 - (4 - math.pi) * radius**2
    assert sum(p.area for p in layout.divided.pieces) / 25.4**2 == about(84 * 40 - taken)
    made = [sum(r.area for r in p.made_rings()) / 25.4**2 for p in layout.divided.pieces]
    assert sum(made) == about(84 * 40 - taken)


def test_a_seam_by_hand_across_a_corner_joint_is_refused_or_told():
    # 24 deep, the mitre lies from 0 to 24 along B, and a seam at 11 ends upon it
    parts = wall("A", 100), wall("B", 80), run("AB", "24"), by_hand("11", on="B")
    try:
        layout = lay_text(job_text(*parts))
    except JobError as error:
        assert "joint" in str(error)  # noqa: PT017
        return
    mitre = next(j for j in layout.divided.joints if j.kind == "mitre")
    (x0, y0), (x1, y1) = mitre.points
    for share in (0.2, 0.8):
        at = (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
        beside = {p.id for p in layout.divided.pieces if locate(p.ring, at)[2] < 1e-4}
        assert beside == set(mitre.pieces) or layout.stopped


def test_seams_by_hand_on_a_rectangle_and_an_outline():
    laid = told(box((100, 30), "turn = 90"), by_hand("30", "box", None))
    assert lengths(laid) == about([30, 70])
    laid = told(bar([(0, 0), (30, 0), (30, 100), (0, 100)], "grain = 90"), by_hand("30", "bar", None))
    assert lengths(laid) == about([30, 70])
    # one that meets two limbs of a U cuts both
    u = [(0, 0), (60, 0), (60, 40), (0, 40), (0, 30), (40, 30), (40, 10), (0, 10)]
    laid = told(bar(u), by_hand("20", "bar", None))
    assert sorted(lengths(laid)) == about([20, 20, 40])
    assert len(laid["joints"]) == 2
    assert sum(p["area"] for p in laid["pieces"]) == about(laid["tops"][0]["gross_area"])


@pytest.mark.parametrize(
    "joint",
    [by_hand("9"), by_hand("10"), by_hand("160"), by_hand("0", "box", None), by_hand("100", "box", None)],
)
def test_a_seam_by_hand_beside_its_top_is_refused(joint):
    with pytest.raises(JobError, match="joint"):
        told(wall("A", 160), run(more='start = "10"'), box((100, 30)), joint)


# --- too long ------------------------------------------------------------------------------------------------------


def test_no_place_for_a_seam():
    # 200 long; a cutout from 26 to 174 leaves 20 at either end, less than the shortest piece
    layout = lay_text(job_text(wall("A", 200), run(), sink(26, 174)))
    (found,) = [f for f in layout.findings if f.code == "seam-none-possible"]
    assert (found.severity, found.subject, found.pieces) == ("stop", "P1", ("P1",))
    assert (found.value / 25.4, found.limit / 25.4) == (pytest.approx(200), pytest.approx(168))
    assert layout.divided.pieces[0].ring.contains(found.at)
    assert layout.stopped == {"P1"}
    # each of its remedies clears it
    for shop, more in (
        ('max_length = "200"', ""),
        ('min_piece = "20"\nmax_length = "180"', ""),
        ('seam_clear = "2"\nmax_length = "176"', ""),
        ('max_length = "184"', by_hand("16")),
    ):
        again = lay_text(job_text(wall("A", 200), run(), sink(26, 174), more, shop=shop))
        assert not {"seam-none-possible", "piece-too-long"} & {f.code for f in again.findings}


def test_too_long_by_hand():
    layout = lay_text(job_text(wall("A", 300), run(), by_hand("120")))
    (found,) = found_in(layout)
    assert (found.code, found.severity) == ("piece-too-long", "stop")
    assert (found.subject, found.pieces) == ("P2", ("P2",))
    assert (found.value / 25.4, found.limit / 25.4) == (pytest.approx(180), pytest.approx(168))
    assert layout.divided.pieces[1].ring.contains(found.at)
    assert layout.stopped == {"P2"}
    # exactly on the limit is no fault
    assert codes(told(wall("A", 300), run(), by_hand("132"))) == []
    assert codes(told(wall("A", 300), run(), by_hand("131 15/16"))) == ["piece-too-long"]


def test_two_pieces_too_long_by_hand_are_both_told():
    layout = lay_text(job_text(wall("A", 400), run(), by_hand("200")))
    assert [(f.code, f.subject) for f in found_in(layout)] == [("piece-too-long", "P1"), ("piece-too-long", "P2")]
    assert layout.stopped == {"P1", "P2"}


def test_too_long_at_a_corner_that_cannot_be_divided():
    # the mitre cannot be; no seam is invented across both legs
    depths = '{ A = "25 1/2", B = "18" }'
    text = run("AB").replace('"25 1/2"', depths)
    layout = lay_text(job_text(wall("A", 160, 135), wall("B", 160), text))
    found = {f.code: f for f in layout.findings}
    assert {"leg-too-short", "piece-too-long"} <= set(found)
    assert "corner joint" in found["piece-too-long"].remedy
    assert len(layout.divided.pieces) == 1
    joint = '[[joint]]\ntop = "run"\ncorner = "A/B"\nkind = "butt"\nthrough = "B"\n'
    again = lay_text(job_text(wall("A", 160, 135), wall("B", 160), text, joint))
    assert not {"leg-too-short", "piece-too-long"} & {f.code for f in again.findings}
