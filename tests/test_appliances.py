"""Appliances at a run: strips behind slide-in ranges, sides that are square, ends over openings. Worked out by hand.

The run lies 25 1/2 deep along wall A of 96, from the gap of 1/8 at its left wall to its free right end. Inches
throughout but where it is said.
"""

from __future__ import annotations

import math

import pytest

from layout.drawing import Kind, Path, Text
from layout.faults import JobError
from layout.findings import Finding
from layout.pipeline import Layout, lay_text
from layout.profiles import SQUARE, side_profile
from layout.report import report
from layout.schedules import blocks
from layout.sheets import draw
from layout.tabular import Table

Point = tuple[float, float]

HEAD = """
[job]
title = "Bakehouse"
number = "K-1"
units = "{units}"
[field]
walls = "finished"
cabinets = "set"
[wood]
species = "hard maple"
thickness = "38 mm"
edge = "{edge}"
"""
FREE = 'right_end = "exposed"\n'
SLIDE_IN = 'fit = "slide-in"\n'
STRIP = f'{SLIDE_IN}strip = "2 1/2"\n'


def wall(name: str = "A", length: object = 96) -> str:
    return f'[[wall]]\nname = "{name}"\nlength = "{length}"\n'


def run(more: str = FREE, along: str = "A", depth: object = "25 1/2") -> str:
    names = ", ".join(f'"{name}"' for name in along)
    return f'[[top]]\nname = "run"\nalong = [{names}]\ndepth = "{depth}"\n{more}\n'


def appliance(kind: str, at: object, width: object, more: str = "", on: str = "A") -> str:
    return (
        f'[[appliance]]\nkind = "{kind}"\ntop = "run"\nwall = "{on}"\nat = "{at}"\nwidth = "{width}"\n'
        f'top_height = ["880 mm", "940 mm"]\n{more}\n'
    )


def laid(*parts: str, units: str = "in", edge: str = "eased") -> Layout:
    return lay_text(HEAD.format(units=units, edge=edge) + "".join(parts))


def rings(layout: Layout) -> list[list[Point]]:
    """The corners of each part's outline, sorted."""
    return [sorted((x, y) for x, y, _ in part["outline"]) for part in report(layout)["tops"]]


def box(x0: float, y0: float, x1: float, y1: float) -> list[object]:
    return [pytest.approx(p, abs=2e-6) for p in ((x0, y0), (x0, y1), (x1, y0), (x1, y1))]


def sizes(layout: Layout) -> list[tuple[str, int, float, float]]:
    return [(p["id"], p["part"], p["length"], p["width"]) for p in report(layout)["pieces"]]


def edges(layout: Layout, part: int) -> dict[str, tuple[str, float]]:
    """The sides of a part: profile and length."""
    return {e["side"]: (e["profile"], e["length"]) for e in report(layout)["tops"][part - 1]["edges"]}


def rows(layout: Layout, title: str) -> tuple[tuple[str, ...], ...]:
    (table,) = [b for b in blocks(layout) if isinstance(b, Table) and b.title == title]
    return table.rows


def table_texts(layout: Layout) -> str:
    """What the tables on the sheets say, in one line."""
    groups = [group for sheet in draw(layout).sheets for group in sheet.groups if group.id == "schedules"]
    items = [item for group in groups for item in group.items]
    return " ".join(item.text for item in items if isinstance(item, Text))


# --- a strip behind a slide-in range -------------------------------------------------------------------------------


def test_a_strip_goes_on_behind_a_slide_in_range() -> None:
    layout = laid(wall(), run(), appliance("range", 30, 30, STRIP))
    assert rings(layout) == [
        box(1 / 8, -25.5, 30, -1 / 8),
        box(30, -2.625, 60, -1 / 8),
        box(60, -25.5, 96, -1 / 8),
    ]
    assert [part["part"] for part in report(layout)["tops"]] == [1, 2, 3]
    # each a piece of its own, not joined to the others
    wanted = [("P1", 1, 29.875, 25.375), ("P2", 2, 30, 2.5), ("P3", 3, 36, 25.375)]
    assert sizes(layout) == [(*w[:2], pytest.approx(w[2]), pytest.approx(w[3])) for w in wanted]
    assert report(layout)["joints"] == []
    assert [p["area"] for p in report(layout)["pieces"]] == pytest.approx([29.875 * 25.375, 30 * 2.5, 36 * 25.375])


def test_without_a_strip_there_is_nothing_behind_it() -> None:
    layout = laid(wall(), run(), appliance("range", 30, 30, SLIDE_IN))
    assert rings(layout) == [box(1 / 8, -25.5, 30, -1 / 8), box(60, -25.5, 96, -1 / 8)]
    assert [s[:2] for s in sizes(layout)] == [("P1", 1), ("P2", 2)]


def test_every_side_of_a_strip_is_square() -> None:
    layout = laid(wall(), run(), appliance("range", 30, 30, STRIP), edge="bullnose")
    made = edges(layout, 2)
    assert {side: length for side, (_, length) in made.items()} == {
        "A back": pytest.approx(30),
        "right": pytest.approx(2.5),
        "left": pytest.approx(2.5),
        "strip front": pytest.approx(30),
    }
    assert {profile for profile, _ in made.values()} == {SQUARE}
    # nor has the piece a profile in the table, where the others have their front
    assert [(row[0], row[3]) for row in rows(layout, "Pieces")] == [
        ("P1", "A front: bullnose"),
        ("P2", "none"),
        ("P3", "A front, right: bullnose"),
    ]


@pytest.mark.parametrize(
    ("at", "parts"),
    [
        # at the wall, where the strip keeps the gap; at the free end; and behind the whole of the run
        ((0, 30), [(1 / 8, -2.625, 30), (30, -25.5, 96)]),
        ((66, 30), [(1 / 8, -25.5, 66), (66, -2.625, 96)]),
        ((0, 96), [(1 / 8, -2.625, 96)]),
    ],
)
def test_a_strip_at_an_end_of_the_run(at: tuple[int, int], parts: list[tuple[float, float, float]]) -> None:
    layout = laid(wall(), run(), appliance("range", *at, STRIP))
    assert rings(layout) == [box(x0, y, x1, -1 / 8) for x0, y, x1 in parts]


def test_two_strips_and_what_stands_between() -> None:
    layout = laid(wall(), run(), appliance("range", 66, 24, STRIP), appliance("range", 12, 24, STRIP))
    # left to right, whatever stands first in the file
    bounds = [(1 / 8, -25.5, 12), (12, -2.625, 36), (36, -25.5, 66), (66, -2.625, 90), (90, -25.5, 96)]
    assert rings(layout) == [box(x0, y, x1, -1 / 8) for x0, y, x1 in bounds]
    assert [s[:2] for s in sizes(layout)] == [(f"P{n}", n) for n in range(1, 6)]


def test_a_strip_along_the_second_wall() -> None:
    # B runs down from (96, 0): the strip lies in front of its back at x = 95 7/8, measured from the right
    layout = laid(wall(), wall("B", 100), run("", "AB"), appliance("range", 62, 30, f'{STRIP}from = "right"\n', on="B"))
    # the opening from station 38 to 68
    assert rings(layout)[1] == box(95.875 - 2.5, -68, 95.875, -38)
    assert rings(layout)[2] == box(70.5, -99.875, 95.875, -68)
    assert [(j["kind"], j["pieces"]) for j in report(layout)["joints"]] == [("mitre", ["P1", "P2"])]
    assert [(p["id"], p["part"]) for p in report(layout)["pieces"]] == [("P1", 1), ("P2", 1), ("P3", 2), ("P4", 3)]


def test_a_strip_in_millimetres() -> None:
    layout = laid(
        wall("A", 2400), run(FREE, depth=650), appliance("range", 750, 762, f'{SLIDE_IN}strip = "64"\n'), units="mm"
    )
    assert rings(layout)[1] == box(750, -3 - 64, 750 + 762, -3)


@pytest.mark.parametrize("fit", ["", 'fit = "freestanding"\n', 'fit = "drop-in"\n'])
def test_no_strip_behind_any_other_range(fit: str) -> None:
    with pytest.raises(JobError, match=r'strip: found strip = "2"; expected no strip .* fit = "slide-in"') as caught:
        laid(wall(), run(), appliance("range", 30, 30, f'{fit}strip = "2"\n'))
    assert caught.value.faults[0].source_line == 'strip = "2"'


@pytest.mark.parametrize("strip", ["12 3/4", "26"])
def test_no_strip_deeper_than_half_the_run(strip: str) -> None:
    with pytest.raises(JobError, match=r"strip: found a strip deeper than half its run") as caught:
        laid(wall(), run(), appliance("range", 30, 30, f'{SLIDE_IN}strip = "{strip}"\n'))
    assert caught.value.faults[0].source_line == f'strip = "{strip}"'
    # the made depth is 25 3/8
    layout = laid(wall(), run(), appliance("range", 30, 30, f'{SLIDE_IN}strip = "12 5/8"\n'))
    assert rings(layout)[1] == box(30, -12.75, 60, -1 / 8)


def test_no_strip_behind_what_does_not_break_the_run() -> None:
    with pytest.raises(JobError, match="behind what does not break the run"):
        laid(wall(), run(), appliance("range", 30, 30, f"{STRIP}breaks = false\n"))


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (STRIP, "slide-in, its rim over the ends"),
        (SLIDE_IN, "slide-in, its rim over the ends"),
        ('fit = "freestanding"\n', "freestanding, between the ends"),
        ('fit = "drop-in"\n', "drop-in, hung between the ends"),
        ("", ""),
    ],
)
def test_the_sheet_tells_how_a_range_fits(more: str, words: str) -> None:
    layout = laid(wall(), run(), appliance("range", 30, 30, more))
    (row,) = rows(layout, "Appliances")
    assert row[:3] == ("range", 'wall A 30"', '30"')
    assert row[4].startswith(f"{words}, top at" if words else "top at")
    assert ('strip 2 1/2" behind it' in row[3]) is (more == STRIP)
    told = table_texts(layout)
    for fit in ("slide-in", "freestanding", "drop-in"):
        assert (fit in told) is words.startswith(fit)


# --- what is square ------------------------------------------------------------------------------------------------

EDGES = (
    '[[edge]]\ntop = "run"\nside = "A front"\nprofile = "roundover 1/2"\n'
    '[[edge]]\ntop = "run"\nside = "right"\nprofile = "cove"\n'
)


@pytest.mark.parametrize("edge", ["ogee", "bullnose 1/4"])
def test_ends_at_walls_and_appliances_are_square_whatever_is_asked_for(edge: str) -> None:
    layout = laid(wall(), run(), EDGES, appliance("range", 30, 30), edge=edge)
    left, right = edges(layout, 1), edges(layout, 2)
    # [[edge]] "right" is for the run's right end, not for the side that stands at the range
    assert {side: profile for side, (profile, _) in left.items()} == {
        "A front": "roundover 1/2",
        "A back": SQUARE,
        "left": SQUARE,
        "right": SQUARE,
    }
    assert {side: profile for side, (profile, _) in right.items()} == {
        "A front": "roundover 1/2",
        "A back": SQUARE,
        "left": SQUARE,
        "right": "cove",
    }


@pytest.mark.parametrize(
    ("kind", "profile"), [("exposed", "ogee"), ("wall", SQUARE), ("panel", SQUARE), ("appliance", SQUARE)]
)
def test_an_end_is_profiled_only_where_it_is_exposed(kind: str, profile: str) -> None:
    layout = laid(wall(), run(f'end = "90"\nright_end = "{kind}"\n'), edge="ogee")
    assert edges(layout, 1)["right"][0] == profile
    assert edges(layout, 1)["A front"][0] == "ogee"
    assert edges(layout, 1)["left"][0] == edges(layout, 1)["A back"][0] == SQUARE


@pytest.mark.parametrize("kind", ["wall", "panel", "appliance"])
def test_an_edge_at_an_end_that_is_square_is_refused(kind: str) -> None:
    with pytest.raises(JobError, match="this one is cut square"):
        laid(wall(), run(f'end = "90"\nright_end = "{kind}"\n'), EDGES)


def test_joints_are_square_and_the_drawing_profiles_none() -> None:
    # an ell with a seam, a range with a strip, a panel at its right end
    seam = '[[joint]]\ntop = "run"\nwall = "A"\nat = "40"\n'
    parts = wall("A", 120), wall("B", 120), run('right_end = "panel"\nend = "110"\n', "AB"), seam
    layout = laid(*parts, appliance("range", 50, 30, STRIP, on="B"), edge="roundover")
    free = {"P1": {"A front"}, "P2": {"A front"}, "P3": {"B front"}, "P4": set(), "P5": {"B front"}}
    for piece in layout.divided.pieces:
        profiled = {s for s in piece.ring.sides() if side_profile(layout.job, piece, s) != SQUARE}
        assert profiled == free[piece.id]
    assert [sorted(set(p.ring.sides())) for p in layout.divided.pieces][1] == ["A back", "A front", "joint"]
    heavy = {
        view.id: {i.name for i in view.items if isinstance(i, Path) and i.kind is Kind.EDGE}
        for sheet in draw(layout).sheets
        for view in sheet.views
        if view.id.startswith("piece-")
    }
    assert heavy == {f"piece-{name}": sides for name, sides in free.items()}


def test_the_table_of_edges_adds_up() -> None:
    layout = laid(wall(), run(), EDGES, appliance("range", 30, 30))
    # the fronts 29 7/8 and 36 long, the free end 25 3/8; backs as long as fronts, two ends at the range, one at a wall
    by_profile = {row[1]: row[3] for row in rows(layout, "Edges")}
    assert by_profile == {"roundover 1/2": '65 7/8"', "cove": '25 3/8"', SQUARE: '142"'}
    assert 29.875 + 36 + 3 * 25.375 == 142
    square = next(row[2] for row in rows(layout, "Edges") if row[1] == SQUARE)
    assert set(square.split(", ")) == {"A back", "left at the wall", "left at the appliance", "right at the appliance"}


# --- ends over openings --------------------------------------------------------------------------------------------


def cabinet(at: object, width: object, more: str = "") -> str:
    return f'[[cabinet]]\nwall = "A"\nat = "{at}"\nwidth = "{width}"\ndepth = "24"\n{more}\n'


def support(center: object, width: object = "3/4", kind: str = "panel") -> str:
    return (
        f'[[support]]\ntop = "run"\nkind = "{kind}"\nwall = "A"\ncenter = "{center}"\nsetback = "2"\n'
        f'size = ["{width}", "22"]\n'
    )


def loose_ends(*parts: str) -> list[Finding]:
    layout = laid(*parts)
    found = [f for f in layout.findings if f.code == "end-over-opening"]
    assert {f.severity for f in found} <= {"stop"}
    assert {f.subject for f in found} <= {"run"}
    assert ("P1" in layout.stopped) is bool(found)
    return found


DISHWASHER = appliance("dishwasher", 66, 24)


def test_an_end_that_no_listed_cabinet_reaches() -> None:
    # cabinets to 66, the dishwasher to 90, and 6 more of the top to its free end
    (found,) = loose_ends(wall(), run(), DISHWASHER, cabinet(0, 66))
    assert "right end" in found.message
    assert "panel or a post" in found.remedy


@pytest.mark.parametrize(
    "beyond",
    [
        # a cabinet beside the dishwasher, or one at the very end; taped from either hand
        cabinet(90, 6),
        cabinet("95 1/2", "1/2"),
        cabinet(6, 6, 'from = "right"'),
        # what the remedy says: a panel or a post
        support("95 5/8"),
        support(91, 2, "post"),
    ],
)
def test_an_end_that_stands_on_something(beyond: str) -> None:
    assert loose_ends(wall(), run(), DISHWASHER, cabinet(0, 66), beyond) == []


def test_where_no_cabinet_is_listed_they_stand_beside_the_opening() -> None:
    assert loose_ends(wall(), run(), DISHWASHER) == []
    assert len(loose_ends(wall(), run(), appliance("dishwasher", 72, 24))) == 1


def test_a_cabinet_listed_where_the_opening_is_does_not_carry() -> None:
    assert len(loose_ends(wall(), run(), appliance("dishwasher", 72, 24), cabinet(0, 96))) == 1


def test_a_support_on_the_other_side_of_the_opening_does_not_help() -> None:
    assert len(loose_ends(wall(), run(), DISHWASHER, cabinet(0, 66), support("65 5/8"))) == 1


def test_the_left_end_as_the_right() -> None:
    free = 'left_end = "exposed"\n'
    parts = wall(), run(free), appliance("dishwasher", 6, 24), cabinet(30, 66)
    (found,) = loose_ends(*parts)
    assert "left end" in found.message
    assert loose_ends(*parts, cabinet(0, 6)) == []
    assert loose_ends(*parts, support("3/8")) == []


PAIR = appliance("dishwasher", 48, 24), appliance("oven", 72, 24)


def test_two_openings_side_by_side_up_to_the_end() -> None:
    found = loose_ends(wall(), run(), *PAIR)
    assert found
    last = next(f for f in found if "oven" in f.message)
    # told at the front of the run's right end
    assert last.at is not None
    assert [c / 25.4 for c in last.at] == pytest.approx([96, -25.5])
    # each stops for want of something beyond it, not within the other
    assert loose_ends(wall(), run('right_end = "panel"\n'), *PAIR) == []
    assert loose_ends(wall(), run(""), *PAIR) == []
    assert loose_ends(wall(), run(), *PAIR, support("95 5/8")) == []


def test_a_panel_between_two_openings_carries_the_one_before_it_alone() -> None:
    # the dishwasher from 47 1/4 to 71 1/4, the panel's 3/4, the oven from 72 to the end
    pair = appliance("dishwasher", "47 1/4", 24), appliance("oven", 72, 24)
    (found,) = loose_ends(wall(), run(), *pair, support("71 5/8"))
    assert "oven" in found.message


@pytest.mark.parametrize(("width", "found"), [("24", True), ("23 15/16", False)])
def test_what_stands_just_short_of_the_end(width: str, found: bool) -> None:
    pair = appliance("dishwasher", 48, 24), appliance("oven", 72, width)
    assert bool(loose_ends(wall(), run(), *pair)) is found


def test_an_opening_that_the_run_stops_for_leaves_no_end_over_it() -> None:
    parts = wall(), run(), appliance("dishwasher", 72, 24, "breaks = true\n")
    assert loose_ends(*parts) == []
    assert math.isclose(report(laid(*parts))["tops"][0]["gross_area"], (72 - 1 / 8) * 25.375, abs_tol=1e-5)
