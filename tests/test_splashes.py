"""Backsplashes as pieces, and the table of stations, worked out by hand."""

from __future__ import annotations

import pytest

from layout.pipeline import lay_text
from layout.schedules import Table, blocks
from layout.splashes import splashes

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
