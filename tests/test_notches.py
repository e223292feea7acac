"""Notches in the back of a run and shaped inside corners of its front, against closed forms."""

from __future__ import annotations

import math

import pytest

from layout.faults import JobError
from layout.pipeline import Layout, lay_text
from layout.report import report

HEAD = """
[job]
title = "Rectory pantry"
number = "R-1"
units = "in"
[field]
walls = "finished"
cabinets = "set"
[wood]
species = "cherry"
thickness = "1 1/2"
[[wall]]
name = "A"
length = "110"
[[wall]]
name = "B"
length = "96"
"""
RUN = '[[top]]\nname = "run"\nalong = ["A"]\ndepth = "25 1/2"\nend = "100"\nsplash = "4"\n'
ELL = '[[top]]\nname = "ell"\nalong = ["A", "B"]\ndepth = "25 1/2"\nsplash = "4"\n'


def laid(*parts: str) -> Layout:
    return lay_text("".join((HEAD, *parts)))


def notch(wall: str, at: str, width: str, depth: str, top: str = "run", more: str = "") -> str:
    return f'[[notch]]\ntop = "{top}"\nwall = "{wall}"\nat = "{at}"\nwidth = "{width}"\ndepth = "{depth}"\n{more}\n'


def test_a_chase_in_the_back_takes_its_gap_too() -> None:
    plain = report(laid(RUN))["tops"][0]["gross_area"]
    cut = report(laid(RUN, notch("A", "40", "6", "4")))["tops"][0]
    # 6 wide and 4 deep out of the wall's line, an eighth round it; the top's back already stands an eighth off
    assert plain - cut["gross_area"] == pytest.approx(6.25 * 4.0, abs=1e-5)
    assert [40 - 0.125, -0.125, 0.0] in cut["outline"]
    assert [46.125, -4.125, 0.0] in cut["outline"]


def test_a_notch_has_a_gap_of_its_own_and_may_be_taped_from_the_right() -> None:
    cut = report(laid(RUN, notch("A", "70", "6", "4", more='gap = "1/2"\nfrom = "right"')))["tops"][0]["outline"]
    assert [40 - 0.5, -4.5, 0.0] in cut
    assert [46.5, -4.5, 0.0] in cut


def test_a_pilaster_at_the_end_opens_the_end() -> None:
    # from the corner of the walls 5 along and 3 out: the left end starts where the notch ends
    cut = report(laid(RUN, notch("A", "0", "5", "3")))["tops"][0]
    assert cut["gross_area"] == pytest.approx((100 - 0.125) * 25.375 - 5.0 * 3.0, abs=1e-5)
    assert [5.125, -3.125, 0.0] in cut["outline"]
    assert [0.125, -3.125, 0.0] in cut["outline"]


def test_a_post_in_the_corner_shortens_the_mitre() -> None:
    whole = laid(ELL).divided.joints[0]
    cut = laid(ELL, notch("B", "0", "5", "5", "ell")).divided.joints[0]
    # the mitre of a square corner starts at the notch's inner corner: 5 less in both directions
    assert whole.length - cut.length == pytest.approx(5 * math.sqrt(2) * 25.4, abs=1e-6)
    assert cut.points[-1] == pytest.approx(whole.points[-1])


def test_a_notch_that_cuts_the_top_in_two_or_misses_it_is_refused() -> None:
    with pytest.raises(JobError, match="notch"):
        laid(RUN, notch("A", "40", "6", "26"))
    with pytest.raises(JobError, match="notch"):
        laid(RUN, notch("A", "103", "5", "4"))


def test_a_seam_keeps_clear_of_a_notch() -> None:
    shop = '[shop]\nmax_length = "60"\n'
    plain = laid(shop, RUN).divided.joints[0].station
    beside = laid(shop, RUN, notch("A", "47", "6", "4")).divided.joints[0].station
    assert plain == pytest.approx(50.0625 * 25.4)
    # the notch with its gap lies from 46 7/8 to 53 1/8, the clearance is 6; 59 1/8 is nearer to the middle than 40 7/8
    assert beside == pytest.approx(59.125 * 25.4)


def test_a_notch_is_square_and_never_profiled() -> None:
    edges = report(laid(RUN, notch("A", "40", "6", "4")))["tops"][0]["edges"]
    cut = next(e for e in edges if e["side"] == "notch 1")
    assert cut["profile"] == "square"
    assert cut["length"] == pytest.approx(6.25 + 2 * 4.0, abs=1e-5)


# --- outlines in full ----------------------------------------------------------------------------------------------

Point = tuple[float, float]
WHOLE = (100 - 0.125) * 25.375
"""The area of the run without a notch: from the gap at its left wall to its exposed end at 100."""


def outline(layout: Layout, first: Point) -> list[Point]:
    """The top's outline, counter-clockwise from its corner nearest to ``first``."""
    points = [(x, y) for x, y, _ in report(layout)["tops"][0]["outline"]]
    k = min(range(len(points)), key=lambda i: math.dist(points[i], first))
    return points[k:] + points[:k]


def about(points: list[Point]) -> list[object]:
    return [pytest.approx(p, abs=2e-6) for p in points]


def of_run(*back: Point) -> list[object]:
    """The run's outline with the corners of its back from right to left."""
    return about([(0.125, -25.5), (100, -25.5), *back])


# where a notch is, its size, what it has of its own; the back's corners right to left, and the area it takes
SHAPES = {
    "in the back": (
        (40, 6, 4, ""),
        [(100, -0.125), (46.125, -0.125), (46.125, -4.125), (39.875, -4.125), (39.875, -0.125), (0.125, -0.125)],
        6.25 * 4,
    ),
    # the back stands an eighth off already: with no gap the notch is an eighth less deep than its post
    "without a gap": (
        (40, 6, 4, 'gap = "0"'),
        [(100, -0.125), (46, -0.125), (46, -4), (40, -4), (40, -0.125), (0.125, -0.125)],
        6 * 3.875,
    ),
    "with a gap of its own": (
        (40, 6, 4, 'gap = "3/4"'),
        [(100, -0.125), (46.75, -0.125), (46.75, -4.75), (39.25, -4.75), (39.25, -0.125), (0.125, -0.125)],
        7.5 * 4.625,
    ),
    # at the left wall
    "at the wall": ((0, 5, 3, ""), [(100, -0.125), (5.125, -0.125), (5.125, -3.125), (0.125, -3.125)], 5 * 3),
    # no sliver thinner than the gap is left beside it
    "a little off the wall": (
        ("5/16", 5, 3, ""),
        [(100, -0.125), (5.4375, -0.125), (5.4375, -3.125), (0.125, -3.125)],
        5.3125 * 3,
    ),
    # at the exposed end, a little short of it, and running on past it
    "at the end": ((94, 6, 4, ""), [(100, -4.125), (93.875, -4.125), (93.875, -0.125), (0.125, -0.125)], 6.125 * 4),
    "a little short of the end": (
        (93, "6 13/16", 4, ""),
        [(100, -4.125), (92.875, -4.125), (92.875, -0.125), (0.125, -0.125)],
        7.125 * 4,
    ),
    "past the end": ((94, 12, 4, ""), [(100, -4.125), (93.875, -4.125), (93.875, -0.125), (0.125, -0.125)], 6.125 * 4),
}


@pytest.mark.parametrize(("place", "back", "taken"), SHAPES.values(), ids=SHAPES)
def test_the_outline_and_the_area_of_a_notch(
    place: tuple[object, object, object, str], back: list[Point], taken: float
) -> None:
    at, width, depth, more = place
    layout = laid(RUN, notch("A", str(at), str(width), str(depth), more=more))
    assert outline(layout, (0.125, -25.5)) == of_run(*back)
    assert report(layout)["tops"][0]["gross_area"] == pytest.approx(WHOLE - taken, abs=1e-5)
    assert [p["area"] for p in report(layout)["pieces"]] == [pytest.approx(WHOLE - taken, abs=1e-5)]


def test_a_notch_at_the_right_wall_is_the_mirror_of_one_at_the_left() -> None:
    layout = laid(RUN.replace('end = "100"\n', ""), notch("A", "104", "6", "4"))
    back = [(109.875, -4.125), (103.875, -4.125), (103.875, -0.125), (0.125, -0.125)]
    assert outline(layout, (0.125, -25.5)) == about([(0.125, -25.5), (109.875, -25.5), *back])


def test_two_notches_are_two_sides() -> None:
    layout = laid(RUN, notch("A", "60", "10", "2"), notch("A", "20", "6", "4"))
    back = [
        (100, -0.125), (70.125, -0.125), (70.125, -2.125), (59.875, -2.125), (59.875, -0.125),
        (26.125, -0.125), (26.125, -4.125), (19.875, -4.125), (19.875, -0.125), (0.125, -0.125),
    ]  # fmt: skip
    assert outline(layout, (0.125, -25.5)) == of_run(*back)
    told = report(layout)["tops"][0]
    assert told["gross_area"] == pytest.approx(WHOLE - 10.25 * 2 - 6.25 * 4, abs=1e-5)
    # numbered as they stand in the file, each as long as its two flanks and its front
    sides = {e["side"]: e for e in told["edges"]}
    assert sides["notch 1"]["length"] == pytest.approx(10.25 + 2 * 2)
    assert sides["notch 2"]["length"] == pytest.approx(6.25 + 2 * 4)
    assert sides["A back"]["length"] == pytest.approx(99.875 - 10.25 - 6.25)
    assert sides["notch 1"]["profile"] == sides["notch 2"]["profile"] == "square"


def test_notches_side_by_side_share_the_wood_they_take() -> None:
    # one post from 20 to 26 and one from 26 to 36: their gaps overlap by a quarter, and take it once
    layout = laid(RUN, notch("A", "20", "6", "4"), notch("A", "26", "10", "2"))
    back = [
        (100, -0.125), (36.125, -0.125), (36.125, -2.125), (26.125, -2.125), (26.125, -4.125), (19.875, -4.125),
        (19.875, -0.125), (0.125, -0.125),
    ]  # fmt: skip
    assert outline(layout, (0.125, -25.5)) == of_run(*back)
    assert report(layout)["tops"][0]["gross_area"] == pytest.approx(WHOLE - 6.25 * 4 - 10 * 2, abs=1e-5)


@pytest.mark.parametrize(("wall", "at"), [("A", "105"), ("B", "0")])
def test_a_post_in_a_square_corner_is_the_same_from_either_wall(wall: str, at: str) -> None:
    # 5 by 5 in the corner of the walls, an eighth round it: the corner of the ell, 5 by 5, is gone
    layout = laid(ELL, notch(wall, at, "5", "5", "ell"))
    corner = [(109.875, -5.125), (104.875, -5.125), (104.875, -0.125)]
    ell = [(0.125, -25.5), (84.5, -25.5), (84.5, -95.875), (109.875, -95.875), *corner, (0.125, -0.125)]
    assert outline(layout, (0.125, -25.5)) == about(ell)
    whole = 109.75 * 25.375 + (95.875 - 25.5) * 25.375
    assert report(layout)["tops"][0]["gross_area"] == pytest.approx(whole - 25, abs=1e-5)


def test_two_notches_in_one_corner() -> None:
    # a chase along A, 10 by 3, and one along B, 3 by 12: together an L
    layout = laid(ELL, notch("A", "100", "10", "3", "ell"), notch("B", "0", "12", "3", "ell"))
    corner = [(109.875, -12.125), (106.875, -12.125), (106.875, -3.125), (99.875, -3.125), (99.875, -0.125)]
    ell = [(0.125, -25.5), (84.5, -25.5), (84.5, -95.875), (109.875, -95.875), *corner, (0.125, -0.125)]
    assert outline(layout, (0.125, -25.5)) == about(ell)


def test_a_notch_along_the_second_wall() -> None:
    # B runs down from (110, 0): a post from station 40 to 46, 4 out of its line
    layout = laid(ELL, notch("B", "50", "6", "4", "ell", 'from = "right"'))
    # 50 from the right of 96 is station 46
    side = [(109.875, -52.125), (105.875, -52.125), (105.875, -45.875), (109.875, -45.875)]
    ell = [(0.125, -25.5), (84.5, -25.5), (84.5, -95.875), (109.875, -95.875), *side, (109.875, -0.125)]
    assert outline(layout, (0.125, -25.5)) == about([*ell, (0.125, -0.125)])


@pytest.mark.parametrize(
    ("wall", "run", "back"),
    [
        # the depth counts from the wall's line, wherever the back is made: 1 proud at 55, 1/2 to scribe, an open line
        ('bow = [["55", "-1"]]\n', "", -1.125),
        ("", 'back = "scribe"\n', 0.375),
        ("open = true\n", 'back_overhang = "6"\n', 6),
    ],
)
def test_the_depth_of_a_notch_counts_from_the_walls_line(wall: str, run: str, back: float) -> None:
    head = HEAD.replace('length = "110"\n', f'length = "110"\n{wall}')
    layout = lay_text(head + RUN + run + notch("A", "20", "6", "4"))
    corners = [(100, back), (26.125, back), (26.125, -4.125), (19.875, -4.125), (19.875, back), (0.125, back)]
    assert outline(layout, (0.125, -25.5)) == of_run(*corners)


def test_a_notch_in_a_back_that_follows() -> None:
    # 1/2 back at 55, an eighth off: at 26 1/8 and 19 7/8 the back lies so much behind the line less the gap
    head = HEAD.replace('length = "110"\n', 'length = "110"\nbow = [["55", "1/2"]]\n')
    layout = lay_text(head + RUN + 'back = "follow"\n' + notch("A", "20", "6", "4"))
    right, left, start = (x / 110 - 0.125 for x in (26.125, 19.875, 0.125))
    corners = [(100, 10 / 110 - 0.125), (55, 0.375), (26.125, right), (26.125, -4.125), (19.875, -4.125)]
    assert outline(layout, (0.125, -25.5)) == of_run(*corners, (19.875, left), (0.125, start))


def test_a_notch_in_the_back_is_no_overhang_of_it() -> None:
    # what is built below goes up to the walls' lines, post or not
    plain, cut = report(laid(RUN))["overhangs"], report(laid(RUN, notch("A", "40", "6", "4")))["overhangs"]
    assert cut == plain


# --- the front's inside corners ------------------------------------------------------------------------------------


def test_a_diagonal_front_adds_its_triangle_and_the_mitre_stops_at_it() -> None:
    inside = 'inside = { "A/B" = { diagonal = "12" } }\n'
    plain, cut = report(laid(ELL)), report(laid(ELL, inside))
    assert cut["tops"][0]["gross_area"] - plain["tops"][0]["gross_area"] == pytest.approx(72.0, abs=1e-5)
    joint, before = cut["joints"][0], plain["joints"][0]
    # the middle of the diagonal lies 12 / sqrt 2 beyond the front corner, along the mitre of a square corner
    assert joint["length"] - before["length"] == pytest.approx(12 / math.sqrt(2), abs=1e-5)
    assert joint["angles"] == [45.0, 45.0]
    assert next(e for e in cut["tops"][0]["edges"] if e["side"] == "A/B inside")["length"] == pytest.approx(
        12 * math.sqrt(2)
    )


def test_a_round_inside_corner_adds_what_is_left_of_its_square() -> None:
    inside = 'inside = { "A/B" = { radius = "6" } }\n'
    plain, cut = report(laid(ELL)), report(laid(ELL, inside))
    added = 36 - math.pi * 36 / 4
    assert cut["tops"][0]["gross_area"] - plain["tops"][0]["gross_area"] == pytest.approx(added, abs=1e-5)
    assert cut["joints"][0]["length"] - plain["joints"][0]["length"] == pytest.approx(6 * math.sqrt(2) - 6, abs=1e-5)


def test_a_butt_at_a_diagonal_runs_on_to_the_front_edge() -> None:
    inside = 'inside = { "A/B" = { diagonal = "12" } }\n'
    joint = report(laid('[shop]\ncorner_joint = "butt"\n', ELL, inside))["joints"][0]
    # along A's front line from B's back edge to where the diagonal leaves A's front, 12 before the corner
    assert joint["length"] == pytest.approx(25.375 + 12.0, abs=1e-5)


@pytest.mark.parametrize(
    ("inside", "word"),
    [
        ('{ "B/A" = { diagonal = "12" } }', "a corner of this run"),
        ('{ "A/B" = { diagonal = "12", radius = "3" } }', "one of them"),
        ('{ "A/B" = { diagonal = "120" } }', "more length"),
    ],
)
def test_an_inside_corner_that_cannot_be_is_a_fault(inside: str, word: str) -> None:
    with pytest.raises(JobError, match=word):
        laid(ELL, f"inside = {inside}\n")


def test_an_outside_corner_takes_no_inside_shape() -> None:
    text = HEAD.replace('length = "110"\n', 'length = "110"\ncorner = 270\n')
    with pytest.raises(JobError, match="no inside corner"):
        lay_text(text + ELL + 'inside = { "A/B" = { diagonal = "4" } }\n')


def test_a_column_needs_a_joint_through_it_and_then_has_it() -> None:
    round_corners = ", ".join(
        f'"{c}" = {{ radius = "1" }}' for c in ("front left", "front right", "back left", "back right")
    )
    island = f'[[top]]\nname = "island"\nsize = ["96", "40"]\ncorners = {{ {round_corners} }}\n'
    column = '[[cutout]]\nname = "C1"\nkind = "column"\ntop = "island"\ncenter = ["40", "20"]\ndiameter = "8"\nproof = "template"\n'
    closed = laid(island, column)
    assert [(f.code, f.severity) for f in closed.findings] == [("closed-round-column", "stop")]
    assert closed.stopped == {"P1"}
    opened = laid(island, column, '[[joint]]\ntop = "island"\nat = "40"\n')
    assert opened.findings == ()
    told = report(opened)
    assert told["cutouts"][0]["piece"] is None
    # each piece loses its half of the circle, and its cut outline is open there
    half = math.pi * 16 / 2
    assert [p["area"] for p in told["pieces"]] == pytest.approx(
        [40 * 40 - half - 2 * (1 - math.pi / 4), 56 * 40 - half - 2 * (1 - math.pi / 4)], abs=1e-5
    )
    for piece in opened.divided.pieces:
        assert len(piece.cut_rings()) == 1
        assert piece.cut_rings()[0].area == pytest.approx(piece.area, abs=1e-3)
