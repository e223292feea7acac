"""Lumber by the published measures, lay-ups and take-off by figures worked out by hand."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from samples_drawn import EVERY, bought, laid

from layout.cut_list import cut_list
from layout.layup import even, extent, lay_up, layup_words
from layout.lumber import board_feet, export_tally, quarter_for, quarters, surface_measure
from layout.materials import materials, materials_csv, materials_report
from layout.outline import Ring, Vertex, circle, rectangle
from layout.pipeline import Layout, lay_text
from layout.takeoff import crate, edge_lengths, finish_area, joint_counts, net_kg

INCH = 25.4


# --- published measures ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("width", "feet", "measure"),
    [
        (6.25, 8, 4),  # American Hardwood Export Council, measurement page: 4 1/6
        (6.5, 8, 4),  # a trade page on NHLA measure, as the next two
        (8, 12, 8),
        (10, 13, 11),
    ],
)
def test_surface_measure(width: float, feet: float, measure: int) -> None:
    assert surface_measure(width * INCH, feet * 12 * INCH) == measure


def test_board_feet() -> None:
    # AHEC: 2 in x 6 1/4 in x 8 ft, surface measure 4, by 2 in is 8; unrounded 8.33
    assert board_feet(2 * INCH, 6.25 * INCH, 96 * INCH) == pytest.approx(8 + 1 / 3)
    assert surface_measure(6.25 * INCH, 96 * INCH) * 2 == 8
    # common worked examples: 1 x 6 x 96 in; 5/4 x 6 x 72 in; a net top 1 1/2 x 25 1/2 x 96
    assert board_feet(1 * INCH, 6 * INCH, 96 * INCH) == pytest.approx(4.0)
    assert board_feet(1.25 * INCH, 6 * INCH, 72 * INCH) == pytest.approx(3.75)
    assert board_feet(1.5 * INCH, 25.5 * INCH, 96 * INCH) == pytest.approx(25.5)


def test_export_tally_counts_whole_inches_and_feet() -> None:
    # AHEC: 5 1/4 in wide, 8 1/2 ft long is tallied 5 in, 8 ft
    assert export_tally(5.25 * INCH, 102 * INCH) == (5, 8)
    assert export_tally(6 * INCH, 96 * INCH) == (6, 8)


@pytest.mark.parametrize(
    ("finished", "name"),
    # NHLA's surfaced thicknesses: the next thousandth over a quarter's own takes the next one
    [(13 / 16, "4/4"), (0.8135, "5/4"), (1.5, "7/4"), (1.75, "8/4"), (1.751, "10/4"), (2.75, "12/4"), (3.75, "16/4")],
)
def test_the_thinnest_lumber_that_surfaces_to_a_thickness(finished: float, name: str) -> None:
    found = quarter_for(finished * INCH)
    assert found is not None
    assert found.name == name


def test_no_lumber_is_thicker_than_four_inches() -> None:
    assert quarter_for(3.8 * INCH) is None
    assert [round(q.rough / INCH, 9) for q in quarters()] == [1, 1.25, 1.5, 1.75, 2, 2.5, 3, 3.5, 4]


# --- lay-ups ---------------------------------------------------------------------------------------------------------

JOB = """
[job]
title = "Ropewalk cottage"
number = "L-1"
units = "{units}"
[wood]
species = "hard maple"
construction = "{construction}"
thickness = "{thickness}"
{wood}
[shop]
{shop}
"""


def job(
    construction: str = "edge grain",
    thickness: str = "1 1/2",
    top: str = "",
    shop: str = "",
    wood: str = "",
    units: str = "in",
) -> Layout:
    text = JOB.format(construction=construction, thickness=thickness, shop=shop, wood=wood, units=units)
    return lay_text(text + (top or '[[top]]\nname = "slab"\nsize = ["60", "25"]\n'))


def test_strips_on_edge_are_even_and_come_from_the_lumber_that_gives_their_width() -> None:
    layout = job()
    layup = lay_up(layout.job, layout.divided.pieces[0])
    # 25 and a quarter of trim at either edge is 25 1/2: by 1 3/4 that is 14.57, so 15 of 1.7
    assert len(layup.strips) == 15
    assert layup.seen == pytest.approx(1.7 * INCH)
    assert layup.quarter is not None
    assert layup.quarter.name == "8/4"
    # ripped to the thickness and an eighth for planing; three of 1 5/8 and two kerfs from a board of 6
    assert layup.rip == pytest.approx(1.625 * INCH)
    assert layup.per_board == 3
    assert {round(s.length / INCH, 6) for s in layup.strips} == {61}
    assert not layup.stepped
    assert layup_words(layout.laid.labels, layup).startswith("15 strips on edge, 1 45/64")


def test_boards_lie_flat_between_three_and_six_inches() -> None:
    layout = job("face grain", "1 3/4")
    layup = lay_up(layout.job, layout.divided.pieces[0])
    # 25 1/2 by 4 is 6.4, so 6 of 4 1/4; bought a quarter wider; 8/4 surfaces to 1 3/4
    assert (len(layup.strips), layup.per_board) == (6, 1)
    assert layup.seen == pytest.approx(4.25 * INCH)
    assert layup.board == pytest.approx(4.5 * INCH)
    assert layup.quarter is not None
    assert (layup.quarter.name, layup.rough) == ("8/4", pytest.approx(2 * INCH))


@given(st.floats(30, 1300), st.sampled_from(["face grain", "edge grain", "end grain"]), st.floats(15, 160))
def test_a_lay_up_leaves_no_sliver(wide: float, construction: str, wanted: float) -> None:
    least, most = 75.0, 150.0
    count = even(wide, wanted, construction, least, most)  # type: ignore[arg-type]
    each = wide / count
    if construction == "face grain":
        assert each <= most + 1e-6
        assert each >= min(wide, least) - 1e-6
    else:
        assert each <= wanted + 1e-6
        # one strip fewer would be wider than wanted: nothing is thinner than half of it but a piece that is
        assert each >= min(wide, wanted / 2) - 1e-6


def test_end_grain_goes_from_strips_to_panels_to_bars() -> None:
    layout = job("end grain", "2", '[[top]]\nname = "block"\nsize = ["40", "24"]\n')
    layup = lay_up(layout.job, layout.divided.pieces[0])
    # 24 1/2 across by 1 3/4 is 14 rows of 1 3/4; 41 along by 1 3/4 is 23.4, so 24 bars of 1.7083
    assert len(layup.strips) == 14
    assert layup.seen == pytest.approx(1.75 * INCH)
    assert layup.block == pytest.approx(41 / 24 * INCH)
    assert {s.blocks for s in layup.strips} == {24}
    # a bar is 2 1/8 high as sawn; with kerfs 24 take 24 x 2 1/4 less an eighth, and the trim of a panel an inch
    of = materials(layout)
    lengths = {round(n.length / INCH, 6) for lot in of.cut.lots for n in lot.needs}
    assert lengths == {24 * 2.25 - 0.125 + 1}
    assert len(of.cut.lots[0].needs) == 14


def test_a_row_longer_than_the_boards_is_sawn_from_several_strips() -> None:
    layout = job("end grain", "3", '[[top]]\nname = "block"\nsize = ["120", "24"]\n', shop='stock = ["8\'"]')
    of = materials(layout)
    layup = of.layups[0]
    # 121 by 1 3/4 is 70 bars, each 3 1/8 and a kerf; an 8 ft board less an inch of trim gives 29 of them
    assert {s.blocks for s in layup.strips} == {70}
    assert max(n.length for lot in of.cut.lots for n in lot.needs) <= 96 * INCH
    names = [n.name for n in of.cut.lots[0].needs]
    assert names[:3] == ["P1-1.1", "P1-1.2", "P1-1.3"]


def test_the_extent_of_an_arc_is_its_own_and_not_its_ends() -> None:
    disc = circle(0.0, 0.0, 100.0)
    assert extent(disc, -10.0, 10.0) == (pytest.approx(-100.0), pytest.approx(100.0))
    low, high = extent(disc, 60.0, 80.0)
    assert (low, high) == (pytest.approx(-80.0), pytest.approx(80.0))
    slanted = Ring((Vertex(0, 0), Vertex(100, 0), Vertex(150, 50), Vertex(0, 50)))
    assert extent(slanted, 10.0, 20.0) == (pytest.approx(0.0), pytest.approx(120.0))
    with pytest.raises(ValueError, match="nothing"):
        extent(rectangle(0, 0, 10, 10), 20.0, 30.0)


MITRED = """
[[wall]]
name = "A"
length = "96"
[[wall]]
name = "B"
length = "96"
[[top]]
name = "ell"
along = ["A", "B"]
depth = "25 1/8"
end = "80"
"""


def test_a_mitred_piece_takes_the_trapezoid_and_not_its_box() -> None:
    layout = job(top=MITRED)
    stepped = materials(layout)
    square = materials(job(top=MITRED, shop='blanks = "square"'))
    first = stepped.layups[0]
    assert first.stepped
    # at 45 degrees each strip is its own width longer than the one before it, from the front to the back
    steps = [b.x1 - a.x1 for a, b in zip(first.strips[1:-3], first.strips[2:-2], strict=True)]
    assert steps == [pytest.approx(first.seen)] * len(steps)
    cut = sum(n.length for lot in stepped.cut.lots for n in lot.needs)
    boxed = sum(n.length for lot in square.cut.lots for n in lot.needs)
    # each of the two boxes holds a triangle of half its width squared too much: about 12.5 in a strip
    count = len(first.strips)
    assert (boxed - cut) / (2 * count) / INCH == pytest.approx(12.5 - 1.7 / 2, abs=0.6)
    for layup, piece in zip(stepped.layups, layout.divided.pieces, strict=True):
        for strip in layup.strips:
            low, high = max(strip.y0, 0.0), min(strip.y1, piece.width)
            x0, x1 = extent(piece.own_ring, low, high)
            assert strip.x0 <= x0 - 0.5 * INCH + 1e-6
            assert strip.x1 >= x1 + 0.5 * INCH - 1e-6


def test_what_a_mitre_cuts_off_is_used_again() -> None:
    with_strip = MITRED + (
        'splash = { left = "3" }\n'
        '[[appliance]]\nkind = "range"\ntop = "ell"\nwall = "A"\nat = "20"\nwidth = "18"\nfit = "slide-in"\nstrip = "2"\n'
    )
    layout = job(top=with_strip, shop='blanks = "square"\nwall_gap = "1/8"')
    of = materials(layout)
    strip = next(p for p in layout.divided.pieces if p.width < 60)
    homes = [off for off in of.offs if strip.id in off.used]
    assert len(homes) == 1
    assert homes[0].piece != strip.id
    assert not any(n.name.startswith(f"{strip.id}-") for lot in of.cut.lots for n in lot.needs)
    # in a triangle of 25 by 25 a strip of 18 in and its trim leaves at the most 25 - 19 of width
    assert homes[0].width / INCH <= 26
    assert not materials(job(top=with_strip)).offs


def test_what_no_board_gives_is_said() -> None:
    long = '[[top]]\nname = "slab"\nsize = ["150", "25"]\n'
    of = materials(job(top=long, shop='stock = ["8\'", "10\'"]'))
    assert len(of.cut.lacking) == 15
    assert of.cut.lacking[0].why == "longer than the shop's longest boards"
    joined = materials(job(top=long, shop='stock = ["8\'", "10\'"]', wood='boards = "finger-jointed"'))
    assert not joined.cut.lacking
    lot = joined.cut.lots[0]
    # 15 strips of 151 in, each with 8 joints of half an inch, three lanes a board: 775 in, so 65 ft by 8 and 10 ft boards
    need = 15 * (151 + 8 * 0.5) / 3
    bought = lot.plan.bought * lot.tick / INCH
    assert bought == 66 * 12
    assert need <= bought
    assert lot.plan.proven


# --- take-off --------------------------------------------------------------------------------------------------------


def test_finish_covers_all_six_faces_and_the_walls_of_cutouts() -> None:
    hole = '[[cutout]]\nname = "S"\nkind = "sink"\ntop = "slab"\ncenter = ["30", "12"]\nsize = ["20", "10"]\nradius = "1"\n'
    layout = job(top='[[top]]\nname = "slab"\nsize = ["60", "25"]\n' + hole)
    sink = 20 * 10 - (4 - math.pi)
    rim = 2 * (18 + 8) + 2 * math.pi
    by_hand = 2 * (60 * 25 - sink) + 1.5 * (2 * 85 + rim)
    assert finish_area(layout) / INCH**2 == pytest.approx(by_hand)


def test_edges_by_profile_and_joints_with_fasteners() -> None:
    other = '[[edge]]\ntop = "slab"\nside = "back"\nprofile = "ogee"\n'
    layout = job(top='[[top]]\nname = "slab"\nsize = ["60", "25"]\n' + other)
    assert [(e.profile, pytest.approx(e.length / INCH)) for e in edge_lengths(layout)] == [("eased", 110), ("ogee", 60)]
    ell = job(top=MITRED)
    (mitre,) = joint_counts(ell)
    assert (mitre.kind, mitre.names) == ("mitre", ("J1",))
    assert mitre.length / INCH == pytest.approx(math.sqrt(2) * 25)
    assert mitre.fasteners == 4
    square = {e.profile: e.length / INCH for e in edge_lengths(ell)}
    # backs and the end at the wall are square, the fronts and the free end eased; the joint is no edge of the top
    assert square["eased"] == pytest.approx((96 - 1 / 8 - 25.125) + (80 - 25.125) + 25)


def test_a_crate_holds_all_pieces_with_room_round_them() -> None:
    found = crate(job())
    assert [found.length / INCH, found.width / INCH, found.height / INCH] == [pytest.approx(n) for n in (64, 29, 5.5)]
    surface = 2 * (64 * 29 + 64 * 5.5 + 29 * 5.5) / 144
    assert found.own / 0.45359237 == pytest.approx(2.5 * surface)
    assert found.gross == pytest.approx(found.own + net_kg(job()))


@pytest.mark.parametrize("sample", EVERY)
def test_each_sample_can_be_bought_for(sample: Path) -> None:
    layout, of = laid(sample.stem), bought(sample.stem)
    told = materials_report(layout, of)
    keys = "boards board_feet_net board_feet yield cut_list edges cutouts joints splash finish_area crate weight bound"
    assert set(keys.split()) <= set(told)
    assert not told["lacking"]
    assert 0.2 < told["yield"] < 0.9
    assert told["bound"]["least"] <= told["bound"]["bought"] + 1e-6
    # every strip of every piece is cut once, from a lane that holds it
    cut = [part["name"] for lot in told["cut_list"] for lane in lot["lanes"] for part in lane["parts"]]
    strips = [f"{u['piece']}-{s['number']}" for u in told["boards"] for s in u["strips"]]
    if layout.job.wood.boards == "full length":
        assert set(strips) <= {name.partition(".")[0] for name in cut}
        assert len(cut) == len(set(cut))
    for lot in told["cut_list"]:
        for lane in lot["lanes"]:
            assert sum(p["length"] for p in lane["parts"]) <= lane["stock"] + 1e-6
    rows = materials_csv(layout, of).splitlines()
    assert rows[0].startswith("what,name,count")
    assert sum(row.startswith("strip,") for row in rows) == len(cut)
    if layout.job.job.units == "mm":
        assert told["volume_unit"] == "m3"
        assert told["board_feet_net"] == pytest.approx(of.net / 1e9, abs=1e-6)


def test_strips_of_all_pieces_share_their_boards() -> None:
    layout = job(top=MITRED)
    layups = [lay_up(layout.job, p) for p in layout.divided.pieces]
    together = cut_list(layout.job, layups, []).lots
    apart = [cut_list(layout.job, [u], []).lots[0] for u in layups]
    assert len(together) == 1
    assert together[0].bought <= sum(lot.bought for lot in apart) + 1e-6
