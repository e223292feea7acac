"""Backs at walls that are not straight: straight, scribed or made to follow, station by station, worked out by hand.

The wall of these tests is 96 long and taped at its two ends and three places between: 1/8 back, 3/8 back, 1/4 proud,
1/4 back and on its line. The gap is 1/8 and the depth 25 1/2 off the wall's straight line. Inches throughout but where
it is said; y counts from the straight line, towards the wall.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import pytest

from layout.drawing import Dash, Dimension, Drawing, Lines, Text
from layout.findings import Finding
from layout.fitting import wall_fits
from layout.pipeline import Layout, lay_text
from layout.report import report
from layout.schedules import blocks
from layout.sheets import draw
from layout.tabular import Table

Point = tuple[float, float]

HEAD = """
[job]
title = "Drying loft"
number = "L-1"
units = "{units}"
[field]
walls = "finished"
cabinets = "set"
[wood]
species = "white oak"
thickness = "38 mm"
[shop]
{shop}
"""
STATIONS = (0.0, 24.0, 48.0, 72.0, 96.0)
BOW = (1 / 8, 3 / 8, -1 / 4, 1 / 4, 0.0)
TAPED = 'bow = [["0", "1/8"], ["24", "3/8"], ["48", "-1/4"], ["72", "1/4"], ["96", "0"]]'
FREE = 'left_end = "exposed"\nright_end = "exposed"\n'
FRONT = -25.5


def wall(name: str, length: object, corner: float = 90, more: str = "") -> str:
    return f'[[wall]]\nname = "{name}"\nlength = "{length}"\ncorner = {corner}\n{more}\n'


def run(along: str = "A", more: str = FREE, depth: object = "25 1/2") -> str:
    names = ", ".join(f'"{name}"' for name in along)
    return f'[[top]]\nname = "run"\nalong = [{names}]\ndepth = "{depth}"\n{more}\n'


def laid(*parts: str, units: str = "in", shop: str = "") -> Layout:
    return lay_text(HEAD.format(units=units, shop=shop) + "".join(parts))


def backed(back: str, more: str = "", bow: str = TAPED) -> Layout:
    """The run along the taped wall, with one kind of back."""
    return laid(wall("A", 96, 90, bow), run(more=f'{FREE}back = "{back}"\n{more}'))


def outline(layout: Layout, first: Point) -> list[Point]:
    """The run's outline, counter-clockwise from its corner nearest to ``first``."""
    points = [(x, y) for x, y, _ in report(layout)["tops"][0]["outline"]]
    k = min(range(len(points)), key=lambda i: math.dist(points[i], first))
    return points[k:] + points[:k]


def about(points: Sequence[Point]) -> list[object]:
    return [pytest.approx(p, abs=2e-6) for p in points]


def area(points: Sequence[Point]) -> float:
    """The area within a closed line, by the surveyor's formula."""
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]], strict=True)) / 2


def fits(layout: Layout) -> list[tuple[float, float, float, float]]:
    """Station, bow, gap and wood to take off of each fit, inches."""
    found = wall_fits(layout.job, layout.laid.tops, layout.divided.parts)
    return [(f.station / 25.4, f.bow / 25.4, f.gap / 25.4, f.take_off / 25.4) for f in found]


# --- one leg -------------------------------------------------------------------------------------------------------


def test_a_straight_back_stands_at_the_gap_off_the_proudest_point() -> None:
    # 1/4 proud and 1/8 of gap
    layout = backed("straight")
    assert outline(layout, (0, FRONT)) == about([(0, FRONT), (96, FRONT), (96, -3 / 8), (0, -3 / 8)])
    # straight is what a back is where nothing is said
    assert report(laid(wall("A", 96, 90, TAPED), run()))["tops"] == report(layout)["tops"]


def test_a_scribed_back_has_so_much_more_wood_behind() -> None:
    layout = backed("scribe", 'scribe = "5/8"')
    # 5/8 behind 3/8 off the line
    assert outline(layout, (0, FRONT)) == about([(0, FRONT), (96, FRONT), (96, 1 / 4), (0, 1 / 4)])


def test_half_an_inch_or_12_mm_to_scribe_where_nothing_is_said() -> None:
    assert outline(backed("scribe"), (0, FRONT))[2:] == about([(96, 1 / 8), (0, 1 / 8)])
    # 12 mm behind the gap of 3 off a wall that is straight
    metric = laid(
        wall("A", 2400), run(more=f'{FREE}back = "scribe"', depth=650), units="mm", shop='overhang_limit = "200"'
    )
    assert outline(metric, (0, -650)) == about([(0, -650), (2400, -650), (2400, 9), (0, 9)])


def test_no_wood_to_scribe_is_a_straight_back() -> None:
    assert report(backed("scribe", 'scribe = "0"'))["tops"] == report(backed("straight"))["tops"]


def test_a_back_that_follows_runs_through_every_station_at_the_gap() -> None:
    back = [(s, b - 1 / 8) for s, b in zip(STATIONS, BOW, strict=True)]
    assert outline(backed("follow"), (0, FRONT)) == about([(0, FRONT), (96, FRONT), *back[::-1]])


def test_between_taped_stations_and_up_to_the_walls_the_face_runs_straight() -> None:
    # taped but in the middle: 1/2 back at 48; both ends stand an eighth off walls that meet the face on its line
    layout = laid(wall("A", 96, 90, 'bow = [["48", "1/2"]]'), run(more='back = "follow"'))
    low = (1 / 8) * (1 / 2) / 48 - 1 / 8
    corners = [(1 / 8, FRONT), (95.875, FRONT), (95.875, low), (48, 3 / 8), (1 / 8, low)]
    assert outline(layout, (0, FRONT)) == about(corners)


@pytest.mark.parametrize(
    ("back", "rows"),
    [
        # 3/8 from the back to the line, and the bow
        ("straight", [(1 / 2, 0), (3 / 4, 0), (1 / 8, 0), (5 / 8, 0), (3 / 8, 0)]),
        # 1/2 less 1/4 proud less the bow; at 24 the wall stands 1/8 farther back than the wood reaches
        ("scribe", [(1 / 8, 1 / 8), (1 / 4, 0), (1 / 8, 1 / 2), (1 / 8, 0), (1 / 8, 1 / 4)]),
        ("follow", [(1 / 8, 0)] * 5),
    ],
)
def test_the_gap_that_stays_and_the_wood_to_take_off_at_each_station(
    back: str, rows: list[tuple[float, float]]
) -> None:
    wanted = [(s, b, *row) for s, b, row in zip(STATIONS, BOW, rows, strict=True)]
    if back == "scribe":
        # the spare wood, 1/8 at 0, 1/8 wanting at 24, 1/2 at 48, runs out half way to 24 and a fifth of the way back
        wanted = sorted([*wanted, (12, 1 / 4, 1 / 8, 0), (28.8, 1 / 4, 1 / 8, 0)])
    assert fits(backed(back)) == [pytest.approx(row, abs=1e-6) for row in wanted]


@pytest.mark.parametrize(
    ("back", "more", "value", "limit"),
    [
        # at 24 the straight back stands 3/4 off
        ("straight", "", 3 / 4, 0),
        ("straight", 'splash = "4"\nsplash_thickness = "11/16"', 3 / 4, 11 / 16),
        ("straight", 'splash = "4"\nsplash_thickness = "3/4"', None, None),
        # the scribed one 1/4
        ("scribe", "", 1 / 4, 0),
        ("scribe", 'splash = "4"\nsplash_thickness = "3/16"', 1 / 4, 3 / 16),
        ("scribe", 'splash = "4"\nsplash_thickness = "1/4"', None, None),
        # and with 5/8 to scribe nothing but the gap is left
        ("scribe", 'scribe = "5/8"\nsplash = "4"\nsplash_thickness = "1/8"', None, None),
        ("follow", "", 1 / 8, 0),
        ("follow", 'splash = "4"\nsplash_thickness = "1/16"', 1 / 8, 1 / 16),
        ("follow", 'splash = "4"\nsplash_thickness = "1/8"', None, None),
    ],
)
def test_a_gap_that_the_splash_does_not_hide_is_told(
    back: str, more: str, value: float | None, limit: float | None
) -> None:
    found = [f for f in backed(back, more).findings if f.code == "gap-not-covered"]
    assert [_inches(f) for f in found] == ([] if value is None else [pytest.approx((value, limit), abs=1e-6)])


def _inches(found: Finding) -> tuple[float, float]:
    assert found.value is not None
    assert found.limit is not None
    return (found.value / 25.4, found.limit / 25.4)


@pytest.mark.parametrize("back", ["straight", "follow"])
def test_at_a_straight_wall_every_back_is_straight(back: str) -> None:
    layout = backed(back, bow="")
    assert outline(layout, (0, FRONT)) == about([(0, FRONT), (96, FRONT), (96, -1 / 8), (0, -1 / 8)])
    assert fits(layout) == [pytest.approx((s, 0, 1 / 8, 0), abs=1e-6) for s in (0, 96)]


def test_a_straight_wall_is_scribed_all_along() -> None:
    assert fits(backed("scribe", bow="")) == [pytest.approx((s, 0, 1 / 8, 1 / 2), abs=1e-6) for s in (0, 96)]


@pytest.mark.parametrize(
    ("start", "end", "proudest"),
    [
        # the wall stands 1/2 proud at 48, and falls back by 1/96 an inch to both its ends
        (0, 96, 1 / 2),
        (0, 36, 36 / 96),
        (60, 96, 36 / 96),
        (30, 48, 1 / 2),
    ],
)
def test_the_wall_beside_a_run_does_not_count(start: float, end: float, proudest: float) -> None:
    text = run(more=f'{FREE}start = "{start}"\nend = "{end}"')
    layout = laid(wall("A", 96, 90, 'bow = [["48", "-1/2"]]'), text)
    back = -1 / 8 - proudest
    assert outline(layout, (start, FRONT)) == about([(start, FRONT), (end, FRONT), (end, back), (start, back)])


def test_a_line_without_a_wall_has_nothing_to_fit() -> None:
    layout = laid(wall("A", 96, 90, f"open = true\n{TAPED}"), run(more=f'{FREE}back = "follow"\nback_overhang = "3"'))
    assert outline(layout, (0, FRONT)) == about([(0, FRONT), (96, FRONT), (96, 3), (0, 3)])
    assert fits(layout) == []


def test_what_is_built_below_does_not_follow() -> None:
    # the cabinets, 24 deep off the walls' own lines: 1 1/2 of the front stands over whatever the back does
    for back in ("straight", "scribe", "follow"):
        layout = backed(back)
        told = report(layout)["overhangs"]
        assert [o["amount"] for o in told if o["side"] == "A front"] == [pytest.approx(1.5, abs=1e-6)]
        built = layout.laid.tops[0].built
        assert built is not None
        assert sorted((v.x / 25.4, v.y / 25.4) for v in built.vertices) == about([(0, -24), (0, 0), (96, -24), (96, 0)])


def test_depth_from_the_back_counts_from_the_back_as_made() -> None:
    # 25 1/2 of wood from 3/8 off the line, and from an eighth behind it
    assert outline(backed("straight", 'depth_from = "top back"'), (0, -26))[:2] == about([(0, -25.875), (96, -25.875)])


# --- corners -------------------------------------------------------------------------------------------------------

BOW_A = 'bow = [["48", "1/2"], ["96", "1/4"]]'
BOW_B = 'bow = [["0", "-1/8"], ["30", "1/4"]]'


def in_plan(angle: float, along: float, back: float) -> Point:
    """A point of the second wall's frame in plan; the walls meet at (96, 0) at the inside angle."""
    t = math.radians(angle)
    return (96 - along * math.cos(t) + back * math.sin(t), -along * math.sin(t) - back * math.cos(t))


def meet(p: Point, q: Point, r: Point, s: Point) -> Point:
    """Where the line through p and q meets the one through r and s."""
    (ux, uy), (vx, vy) = (q[0] - p[0], q[1] - p[1]), (s[0] - r[0], s[1] - r[1])
    k = ((r[0] - p[0]) * vy - (r[1] - p[1]) * vx) / (ux * vy - uy * vx)
    return (p[0] + k * ux, p[1] + k * uy)


def corner_points(angle: float) -> tuple[list[Point], list[Point]]:
    """What each leg's back runs through, left to right, the corner last of A's and first of B's; B ends at 90."""
    a = [(0.0, -1 / 8), (48.0, 3 / 8), (96.0, 1 / 8)]
    slope = 60.0  # from station 30 to the wall's end at 90 the face falls back to its line
    b = [in_plan(angle, 0, -1 / 4), in_plan(angle, 30, 1 / 8), in_plan(angle, 30 + slope, -1 / 8)]
    corner = meet(a[1], a[2], b[0], b[1])
    return [a[0], a[1], corner], [corner, b[1], b[2]]


def around(angle: float, kind: str, through: str = "A") -> Layout:
    more = f'through = "{through}"\n' if kind != "mitre" else ""
    joint = f'[[joint]]\ntop = "run"\ncorner = "A/B"\nkind = "{kind}"\n{more}'
    walls = wall("A", 96, angle, BOW_A) + wall("B", 90, 90, BOW_B)
    return laid(walls, run("AB", more=f'{FREE}back = "follow"\n'), joint)


def fronts(angle: float) -> tuple[Point, Point, Point]:
    """The run's front corners: left, at the corner, right."""
    corner = meet((0, FRONT), (96, FRONT), in_plan(angle, 0, FRONT), in_plan(angle, 90, FRONT))
    return ((0, FRONT), corner, in_plan(angle, 90, FRONT))


def test_the_back_corner_of_a_square_room_in_closed_form() -> None:
    # A's back: y = 1/8 - u / 192 with u = x - 96, as it falls by 1/4 in 48; B's: u = -1/4 - y / 80, by 3/8 in 30
    u = -(1 / 4 + 1 / 640) / (1 - 1 / (80 * 192))
    corner = (96 + u, 1 / 8 - u / 192)
    assert corner == pytest.approx(corner_points(90)[0][-1], abs=1e-9)
    joint = report(around(90, "mitre"))["joints"][0]
    assert joint["start"] == pytest.approx(corner, abs=2e-6)
    assert joint["end"] == pytest.approx((96 - 25.5, -25.5), abs=2e-6)


@pytest.mark.parametrize("angle", [90, 80, 112.5])
def test_backs_that_follow_meet_at_an_inside_corner(angle: float) -> None:
    (left, front, right), (a, b) = fronts(angle), corner_points(angle)
    layout = around(angle, "mitre")
    assert outline(layout, left) == about([left, front, right, *b[::-1], *a[:-1][::-1]])
    # the mitre runs from the one corner to the other, and parts the top into the two polygons on its sides
    told = report(layout)
    assert told["joints"][0]["points"] == about([b[0], front])
    pieces = [area([left, front, *a[::-1]]), area([front, right, *b[::-1]])]
    assert [p["area"] for p in told["pieces"]] == [pytest.approx(p, abs=1e-4) for p in pieces]


@pytest.mark.parametrize("angle", [90, 112.5])
@pytest.mark.parametrize("through", ["A", "B"])
def test_a_butt_ends_on_the_back_that_follows(angle: float, through: str) -> None:
    (left, front, right), (a, b) = fronts(angle), corner_points(angle)
    layout = around(angle, "butt", through)
    told = report(layout)
    if through == "A":
        # along A's front, drawn on to B's back
        end = meet(left, front, b[0], b[1])
        rest = area([front, right, b[2], b[1], end])
    else:
        end = meet(right, front, a[1], a[2])
        rest = area([left, front, end, a[1], a[0]])
    assert told["joints"][0]["points"] == about([end, front])
    whole = area([left, front, right, *b[::-1], *a[:-1][::-1]])
    areas = [whole - rest, rest] if through == "A" else [rest, whole - rest]
    assert [p["area"] for p in told["pieces"]] == [pytest.approx(p, abs=1e-4) for p in areas]


@pytest.mark.parametrize("through", ["A", "B"])
def test_a_short_mitre_still_divides_the_top(through: str) -> None:
    told = report(around(90, "short mitre", through))
    whole = area([*fronts(90), *corner_points(90)[1][::-1], *corner_points(90)[0][:-1][::-1]])
    assert told["tops"][0]["gross_area"] == pytest.approx(whole, abs=1e-4)
    assert len(told["pieces"]) == 2
    assert sum(p["area"] for p in told["pieces"]) == pytest.approx(whole, abs=1e-4)


def test_a_seam_reaches_the_back_that_follows() -> None:
    seam = '[[joint]]\ntop = "run"\nwall = "A"\nat = "36"\n'
    told = report(laid(wall("A", 96, 90, TAPED), run(more=f'{FREE}back = "follow"'), seam))
    # half way from 3/8 back to 1/4 proud, an eighth off
    assert told["joints"][0]["points"] == about([(36, 1 / 16 - 1 / 8), (36, FRONT)])
    back = [(s, b - 1 / 8) for s, b in zip(STATIONS, BOW, strict=True)]
    pieces = [
        area([(0, FRONT), (36, FRONT), (36, -1 / 16), *back[:2][::-1]]),
        area([(36, FRONT), (96, FRONT), *back[2:][::-1], (36, -1 / 16)]),
    ]
    assert [p["area"] for p in told["pieces"]] == [pytest.approx(p, abs=1e-4) for p in pieces]


def test_each_leg_stands_off_its_own_wall() -> None:
    # A's bump of 1/4 moves A's back and not B's; B's of 1/2 the other way round
    walls = wall("A", 96, 90, 'bow = [["48", "-1/4"]]') + wall("B", 90, 90, 'bow = [["45", "-1/2"]]')
    layout = laid(walls, run("AB"))
    corners = [(0, FRONT), (70.5, FRONT), (70.5, -90), (96 - 5 / 8, -90), (96 - 5 / 8, -3 / 8), (0, -3 / 8)]
    assert outline(layout, (0, FRONT)) == about(corners)


# --- on the sheets -------------------------------------------------------------------------------------------------


def drawn_texts(drawing: Drawing) -> list[str]:
    items = [i for sheet in drawing.sheets for group in sheet.groups for i in group.items]
    items += [i for sheet in drawing.sheets for view in sheet.views for i in view.items]
    texts = [i.label if isinstance(i, Dimension) else i for i in items]
    return [t.text for t in texts if isinstance(t, Text)]


def rows(layout: Layout) -> tuple[tuple[str, ...], ...]:
    """The rows of the table of backs, empty where there is none."""
    found = [b for b in blocks(layout) if isinstance(b, Table) and b.title == "Backs at walls"]
    assert len(found) <= 1
    return found[0].rows if found else ()


def scribe_lines(layout: Layout) -> dict[str, list[list[Point]]]:
    """The strokes of the scribe line in each piece's view, inches in the piece's frame; every one is dashed."""
    out: dict[str, list[list[Point]]] = {}
    for view in (v for sheet in draw(layout).sheets for v in sheet.views):
        lines = [i for i in view.items if isinstance(i, Lines) and i.name == "scribe line"]
        assert all(line.dash is Dash.DASHED for line in lines)
        strokes = [[(x / 25.4, y / 25.4) for x, y in stroke] for line in lines for stroke in line.strokes]
        if strokes:
            out[view.id] = strokes
    return out


@pytest.mark.parametrize(
    ("back", "on_site"),
    [
        ("straight", [("as made", '1/2"'), ("as made", '3/4"'), ("as made", '1/8"'), ("as made", '5/8"')]),
        # where the spare wood runs out, half way from 0 to 24 and a little past it, is a station too
        (
            "scribe",
            [
                ('take off 1/8"', '1/8"'),
                ("as made", '1/8"'),
                ("as made", '1/4"'),
                ("as made", '1/8"'),
                ('take off 1/2"', '1/8"'),
                ("as made", '1/8"'),
            ],
        ),
        ("follow", [("as made", '1/8"')] * 4),
    ],
)
def test_the_table_of_backs_tells_each_station(back: str, on_site: list[tuple[str, str]]) -> None:
    layout = backed(back)
    stands = [('0"', '1/8" back'), ('24"', '3/8" back'), ('48"', '1/4" proud'), ('72"', '1/4" back')]
    if back == "scribe":
        stands = [stands[0], ('12"', '1/4" back'), stands[1], ('28 13/16"', '1/4" back'), *stands[2:]]
    told = rows(layout)
    assert told[:-1] == tuple(("run, A", *a, *b) for a, b in zip(stands, on_site, strict=True))
    # the last station lies on the line
    assert told[-1][:3] == ("run, A", '96"', "on its line")
    texts = drawn_texts(draw(layout))
    assert "Backs at walls" in texts
    assert {'1/4" proud', *(cell for row in on_site for cell in row)} <= set(texts)


def test_backs_at_straight_walls_are_told_only_where_they_are_scribed() -> None:
    assert rows(backed("straight", bow="")) == ()
    assert rows(backed("follow", bow="")) == ()
    assert "Backs at walls" not in drawn_texts(draw(backed("straight", bow="")))
    assert [row[2:] for row in rows(backed("scribe", bow=""))] == [("on its line", 'take off 1/2"', '1/8"')] * 2


GENTLE = 'bow = [["0", "0"], ["32", "1/8"], ["64", "-1/8"], ["96", "0"]]'
"""A wall that half an inch of scribe reaches everywhere: 3/8 behind the gap's line, less the bow, is to be taken off."""
CUT = [(0.0, 25.375), (32.0, 25.5), (64.0, 25.25), (96.0, 25.375)]
"""Where its back is cut, from the piece's left front corner: 25 1/2 up to the line, less the gap, and the bow."""


def test_the_line_to_scribe_to_is_dashed_on_the_piece() -> None:
    layout = backed("scribe", bow=GENTLE)
    (name, strokes), *others = scribe_lines(layout).items()
    assert (name, others) == ("piece-P1", [])
    assert strokes == [about(stroke) for stroke in itertools.pairwise(CUT)]
    assert any("cut to the wall on site" in text for text in drawn_texts(draw(layout)))


def test_each_piece_has_its_part_of_the_line() -> None:
    seam = '[[joint]]\ntop = "run"\nwall = "A"\nat = "48"\n'
    layout = laid(wall("A", 96, 90, GENTLE), run(more=f'{FREE}back = "scribe"'), seam)
    strokes = scribe_lines(layout)
    # half way between 1/8 back and 1/8 proud; the second piece counts from the seam
    middle = (48.0, 25.375)
    left = [*CUT[:2], middle]
    right = [(x - 48, y) for x, y in (middle, *CUT[2:])]
    assert strokes["piece-P1"] == [about(stroke) for stroke in itertools.pairwise(left)]
    assert strokes["piece-P2"] == [about(stroke) for stroke in itertools.pairwise(right)]


@pytest.mark.parametrize("back", ["straight", "follow"])
def test_no_line_to_scribe_to_where_nothing_is_cut_on_site(back: str) -> None:
    layout = backed(back, bow=GENTLE)
    assert scribe_lines(layout) == {}
    assert not any("cut to the wall on site" in text for text in drawn_texts(draw(layout)))
