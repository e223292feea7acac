"""Backsplashes as pieces, and the table of stations, worked out by hand."""

from __future__ import annotations

import pytest

from layout.faults import JobError
from layout.pipeline import lay_text
from layout.schedules import blocks
from layout.splashes import splashes
from layout.tabular import Table

ROOM = """
[job]
title = "Rectory pantry"
number = "R-2"
units = "in"
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
ELL = '[[top]]\nname = "ell"\nalong = ["A", "B"]\ndepth = "25 1/2"\nend = "80"\nright_end = "exposed"\n'


def sizes(text: str) -> list[tuple[str, float, float]]:
    return [(s.side, s.length / 25.4, round(s.height / 25.4, 6)) for s in splashes(lay_text(text).laid)]


def test_the_second_splash_butts_against_the_first() -> None:
    # backs: 110 less an eighth at each end, and 80 less an eighth; the second less the first one's 3/4
    assert sizes(ROOM + ELL + 'splash = "4"\n') == [("A", pytest.approx(109.75), 4), ("B", pytest.approx(79.125), 4)]


def test_by_side_only_those_named_and_the_end_at_the_wall() -> None:
    found = sizes(ROOM + ELL + 'splash = { B = "4", left = "3" }\n')
    # no splash along A: B's runs into the corner; the end's is as long as the end, 25 3/8, as nothing stands behind it
    assert found == [("B", pytest.approx(79.875), 4), ("left", pytest.approx(25.375), 3)]
    behind = sizes(ROOM + ELL + 'splash = { A = "4", left = "3" }\n')
    assert behind == [("A", pytest.approx(109.75), 4), ("left", pytest.approx(25.375 - 0.75), 3)]


def test_none_along_an_open_line_nor_where_it_is_nought() -> None:
    open_line = ROOM.replace('name = "B"\n', 'name = "B"\nopen = true\n')
    assert [s for s, _, _ in sizes(open_line + ELL + 'splash = "4"\n')] == ["A"]
    assert sizes(ROOM + ELL) == []


def test_a_range_parts_the_splash_with_the_run() -> None:
    broken = '[[appliance]]\nkind = "range"\ntop = "ell"\nwall = "A"\nat = "30"\nwidth = "30"\n'
    found = sizes(ROOM + ELL + 'splash = "4"\n' + broken)
    assert found == [("A", pytest.approx(29.875), 4), ("A", pytest.approx(49.875), 4), ("B", pytest.approx(79.125), 4)]


def test_stations_are_told_from_both_hands() -> None:
    parts = (
        '[[window]]\nname = "W1"\nwall = "A"\nat = "20"\nwidth = "36"\n'
        '[[cutout]]\nname = "S1"\nkind = "sink"\nmount = "drop-in"\ntop = "ell"\nwall = "A"\ncenter = "60"\nfrom = "right"\n'
        'setback = "4"\nsize = ["20", "16"]\n'
    )
    table = next(b for b in blocks(lay_text(ROOM + ELL + parts)) if b.title == "Stations")
    assert isinstance(table, Table)
    assert table.rows == (
        ("A", "window W1, left side", '20"', '90"'),
        ("", "S1 centre", '50"', '60"'),
        ("", "window W1, right side", '56"', '54"'),
    )


# --- what the ends meet --------------------------------------------------------------------------------------------

A = '[[top]]\nname = "run"\nalong = ["A"]\ndepth = "25 1/2"\n'
U = ROOM + '[[wall]]\nname = "C"\nlength = "90"\n[[top]]\nname = "u"\nalong = ["A", "B", "C"]\ndepth = "25 1/2"\n'


def ends(text: str) -> list[tuple[str, str, str]]:
    return [(s.side, *s.ends) for s in splashes(lay_text(text).laid)]


def notch(wall: str, at: object, width: object, depth: object = 4, top: str = "ell") -> str:
    return f'[[notch]]\ntop = "{top}"\nwall = "{wall}"\nat = "{at}"\nwidth = "{width}"\ndepth = "{depth}"\n'


def table_rows(text: str) -> tuple[tuple[str, ...], ...]:
    tables = [b for b in blocks(lay_text(text)) if b.title == "Splashes, pieces of their own"]
    assert all(isinstance(t, Table) for t in tables)
    return tables[0].rows if tables else ()


@pytest.mark.parametrize(
    ("text", "found"),
    [
        # A's splash runs through to wall B; B's butts against it and ends with the top
        (ROOM + ELL + 'splash = "4"\n', [("A", "wall", "wall"), ("B", "splash", "free")]),
        # with none along A it runs to the wall itself, and to nothing where A is an open line
        (ROOM + ELL + 'splash = { B = "4" }\n', [("B", "wall", "free")]),
        (ROOM.replace('"110"\n', '"110"\nopen = true\n') + ELL + 'splash = "4"\n', [("B", "free", "free")]),
        # an end at a wall or a panel is stood against, an exposed one not
        (ROOM + A + 'splash = "4"\n', [("A", "wall", "wall")]),
        (ROOM + A + 'splash = "4"\nend = "90"\nright_end = "panel"\n', [("A", "wall", "panel")]),
        (ROOM + A + 'splash = "4"\nleft_end = "exposed"\n', [("A", "free", "wall")]),
        # round a U each butts against the one before
        (U + 'splash = "4"\n', [("A", "wall", "wall"), ("B", "splash", "wall"), ("C", "splash", "wall")]),
        (U + 'splash = { B = "4" }\n', [("B", "wall", "wall")]),
        # those of the ends butt against those behind them, seen as one faces them: the left one's back is on its right
        (
            ROOM + A + 'splash = { A = "4", left = "3", right = "3" }\n',
            [("A", "wall", "wall"), ("left", "free", "splash"), ("right", "splash", "free")],
        ),
        (ROOM + A + 'splash = { left = "3", right = "3" }\n', [("left", "free", "wall"), ("right", "wall", "free")]),
    ],
)
def test_what_the_ends_of_a_splash_meet(text: str, found: list[tuple[str, str, str]]) -> None:
    assert ends(text) == found


def test_a_splash_goes_round_a_u() -> None:
    # backs of 109 3/4, 95 3/4 and 89 3/4; the second and the third less 3/4, and the ends' less 3/4 of 25 3/8
    found = sizes(U + 'splash = { A = "4", B = "6", C = "5", left = "3", right = "2" }\nsplash_thickness = "3/4"\n')
    lengths = [("A", 109.75, 4), ("B", 95, 6), ("C", 89, 5), ("left", 24.625, 3), ("right", 24.625, 2)]
    assert found == [(side, pytest.approx(length), height) for side, length, height in lengths]


def test_a_thicker_splash_takes_more_off_the_next() -> None:
    found = sizes(ROOM + ELL + 'splash = "4"\nsplash_thickness = "1 1/4"\n')
    assert [length for _, length, _ in found] == pytest.approx([109.75, 79.875 - 1.25])


def test_a_splash_at_a_panel() -> None:
    panel = ROOM + A + 'end = "90"\nright_end = "panel"\n'
    # the end lies square at its station: a back of 90 less the gap, an end of 25 3/8
    both = sizes(panel + 'splash = { A = "4", right = "6" }\n')
    assert both == [("A", pytest.approx(89.875), 4), ("right", pytest.approx(24.625), 6)]
    assert sizes(panel + 'splash = { right = "6" }\n') == [("right", pytest.approx(25.375), 6)]


@pytest.mark.parametrize(
    ("kind", "hand"), [("exposed", "right"), ("appliance", "right"), ("exposed", "left"), ("appliance", "left")]
)
def test_a_splash_at_an_end_with_nothing_behind_it_is_refused(kind: str, hand: str) -> None:
    text = ROOM + A + f'start = "10"\nend = "90"\n{hand}_end = "{kind}"\nsplash = {{ A = "4", {hand} = "3" }}\n'
    line = 1 + text[: text.index("splash =")].count("\n")
    with pytest.raises(JobError, match=rf":{line}:\d+: .*splash.{hand}: found a splash at an end of kind {kind}"):
        lay_text(text)
    # none is asked for where it is 0
    assert [s for s, _, _ in sizes(text.replace(f'{hand} = "3"', f'{hand} = "0"'))] == ["A"]


def test_an_end_that_is_exposed_unsaid_is_refused_too() -> None:
    # a run that ends short of its wall's end
    with pytest.raises(JobError, match="at an end of kind exposed"):
        lay_text(ROOM + A + 'end = "90"\nsplash = { right = "4" }\n')


def test_a_notch_parts_the_splash_of_its_wall() -> None:
    # 6 wide at 40, an eighth round it: from the gap at the wall to 39 7/8, and from 46 1/8 to 109 7/8
    text = ROOM + ELL + 'splash = "4"\n' + notch("A", 40, 6)
    found = sizes(text)
    assert found == [("A", pytest.approx(39.75), 4), ("A", pytest.approx(63.75), 4), ("B", pytest.approx(79.125), 4)]
    left, right, second = ends(text)
    assert (left[1], right[2], second[1]) == ("wall", "wall", "splash")


def test_two_notches_leave_three_splashes() -> None:
    found = sizes(ROOM + ELL + 'splash = "4"\n' + notch("A", 70, 10) + notch("A", 40, 6))
    lengths = [39.75, 70 - 46.25, 109.875 - 80.125, 79.125]
    assert [length for _, length, _ in found] == pytest.approx(lengths)
    assert [side for side, _, _ in found] == ["A", "A", "A", "B"]


def test_a_post_in_the_corner_keeps_the_two_apart() -> None:
    # 5 by 5 and an eighth round it: neither reaches the corner, nothing is taken off the second
    found = sizes(ROOM + ELL + 'splash = "4"\n' + notch("B", 0, 5, 5))
    assert found == [("A", pytest.approx(104.75), 4), ("B", pytest.approx(80 - 5.125), 4)]
    assert ends(ROOM + ELL + 'splash = "4"\n' + notch("B", 0, 5, 5))[1][1] != "splash"


def test_a_notch_at_the_end_shortens_the_splash() -> None:
    found = sizes(ROOM + ELL + 'splash = "4"\n' + notch("A", 0, 5, 3))
    assert found[0] == ("A", pytest.approx(109.875 - 5.125), 4)


def test_the_splash_goes_on_behind_a_range_with_its_strip() -> None:
    strip = (
        '[[appliance]]\nkind = "range"\ntop = "ell"\nwall = "A"\nat = "30"\nwidth = "30"\nfit = "slide-in"\n'
        'strip = "2 1/2"\n'
    )
    made = splashes(lay_text(ROOM + ELL + 'splash = "4"\n' + strip).laid)
    assert [(s.side, s.part) for s in made] == [("A", 1), ("A", 2), ("A", 3), ("B", 3)]
    assert [s.length / 25.4 for s in made] == pytest.approx([29.875, 30, 49.875, 79.125])


def test_the_table_tells_each_splash_and_its_ends() -> None:
    text = ROOM + ELL + 'left_end = "panel"\nsplash = { A = "4", B = "4", left = "3 1/2" }\n'
    assert table_rows(text) == (
        ("ell", "along A", '109 7/8"', '4"', '3/4"', "at the panel; at the wall"),
        ("ell", "along B", '79 1/8"', '4"', '3/4"', "butts the next; free, eased"),
        ("ell", "left end", '24 5/8"', '3 1/2"', '3/4"', "free, eased; butts the next"),
    )
    assert table_rows(ROOM + ELL) == ()
