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
