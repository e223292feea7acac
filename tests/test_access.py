"""The way in: doors, turns, ceilings and lifts, against closed forms and against a search that tries every angle."""

from __future__ import annotations

import math

import pytest

from layout.access import passes_opening, rectangle_longest, tilted_extent, turn_longest, way_in
from layout.pipeline import lay_text
from layout.report import report

INCH = 25.4


@pytest.mark.parametrize(("a", "b"), [(36, 42), (40, 40), (30, 60), (1000, 900)])
def test_the_ladder_round_a_corner(a: float, b: float) -> None:
    # the classic limit at zero thickness; equal halls: 2 sqrt(2) a - 2 t
    assert turn_longest(a, b, 0.0) == pytest.approx((a ** (2 / 3) + b ** (2 / 3)) ** 1.5, rel=1e-9)
    assert turn_longest(a, a, 2.0) == pytest.approx(2 * math.sqrt(2) * a - 4.0, rel=1e-9)


def test_a_thick_thing_in_unequal_halls_by_trying_every_angle() -> None:
    best = min(
        (36 - 1.5 * math.cos(t)) / math.sin(t) + (42 - 1.5 * math.sin(t)) / math.cos(t)
        for t in (k * math.pi / 2 / 200_000 for k in range(1, 200_000))
    )
    assert turn_longest(36, 42, 1.5) == pytest.approx(best, rel=1e-8)
    assert turn_longest(36, 42, 36) == 0.0


def test_doors_upright_flat_and_tilted() -> None:
    assert passes_opening(32, 80, 79, 1.5)  # upright
    assert passes_opening(32, 80, 25.5, 1.5)  # flat or upright
    assert not passes_opening(32, 80, 90, 1.5)
    # tilted: the diagonal of 32 by 80 is 86.16; a plate of 84 and no thickness passes, of 86.2 does not
    assert passes_opening(32, 80, 84, 0.0)
    assert not passes_opening(32, 80, 86.2, 0.0)


def test_tilting_up_under_a_ceiling() -> None:
    # on edge 120 long and 25 1/2 high under 96: try every tilt
    best = min(
        120 * math.cos(p) + 25.5 * math.sin(p)
        for p in (k * 1.2 / 100_000 for k in range(100_000))
        if 120 * math.sin(p) + 25.5 * math.cos(p) <= 96
    )
    assert tilted_extent(120, 25.5, 96) == pytest.approx(best, abs=2e-2)
    assert tilted_extent(80, 25.5, 96) == 25.5  # it stands upright
    assert tilted_extent(80, 100, 96) is None


def test_across_a_lifts_floor() -> None:
    assert rectangle_longest(48, 52, 0.0) == pytest.approx(math.hypot(48, 52))
    best = max(
        min((48 - 1.5 * math.sin(t)) / math.cos(t), (52 - 1.5 * math.cos(t)) / math.sin(t))
        for t in (k * math.pi / 2 / 200_000 for k in range(1, 200_000))
    )
    assert rectangle_longest(48, 52, 1.5) == pytest.approx(best, rel=1e-5)


def job(site: str, length: int = 130, more: str = ""):
    head = '[job]\ntitle = "t"\nnumber = "1"\nunits = "in"\n[field]\nwalls = "finished"\ncabinets = "set"\n'
    wood = '[wood]\nspecies = "cherry"\nthickness = "1 1/2"\n'
    wall = f'[[wall]]\nname = "A"\nlength = "{length}"\n'
    return lay_text(
        f'{head}{wood}[site]\n{site}\n{more}\n{wall}[[top]]\nname = "run"\nalong = ["A"]\ndepth = "25 1/2"\n'
    )


def found(layout):
    return [f for f in layout.findings if f.code == "way-in-too-tight"]


def test_a_hall_that_is_too_tight_says_the_longest_that_would() -> None:
    # equal halls of 40: 2 sqrt(2) 40 - 2 * 1 1/2 = 110.14 in on edge
    (one,) = found(job('hall = ["40", "40"]'))
    assert one.limit / INCH == pytest.approx(2 * math.sqrt(2) * 40 - 3, abs=1e-4)
    assert "hall" in one.message and '110 1/8"' in one.message
    assert found(job('hall = ["40", "40"]', length=110)) == []


def test_a_ceiling_lets_it_be_tilted() -> None:
    # tilted up under 8 ft it takes less floor: a longer one turns
    low = way_in(job('hall = ["40", "40"]').job, 25.375 * INCH)
    high = way_in(job('hall = ["40", "40"]\nceiling = "96"').job, 25.375 * INCH)
    assert low is not None and high is not None
    assert high.longest > low.longest + 100
    assert (low.by, high.by) == ("hall", "hall")


def test_seams_by_the_way_in() -> None:
    layout = job('hall = ["40", "40"]', more='[shop]\nseams = "way in"')
    assert [round(p.length / INCH, 3) for p in layout.divided.pieces] == [64.875, 64.875]
    assert found(layout) == []
    assert report(layout)["access"] == {"longest": pytest.approx(110.137, abs=1e-3), "by": "hall"}


def test_a_lift() -> None:
    # across the floor of 48 by 52 a piece 1 1/2 thick may take 69.27 in; tilted up under 84 a longer one fits
    (one,) = found(job('lift = ["48", "52", "84"]'))
    assert "lift" in one.message
    assert one.limit / INCH > 69.3
    assert found(job('lift = ["48", "52", "84"]', length=60)) == []


def test_nothing_known_of_the_way_limits_nothing() -> None:
    layout = job("")
    assert found(layout) == []
    assert report(layout)["access"] is None


def test_too_heavy_for_four() -> None:
    top = '[[top]]\nname = "slab"\nsize = ["{long}", "40"]\n'
    head = '[job]\ntitle = "t"\nnumber = "1"\nunits = "in"\n[wood]\nspecies = "hickory"\nthickness = "3"\n'
    (one,) = [f for f in lay_text(head + top.format(long="96")).findings if f.code == "too-heavy"]
    # 3 x 40 x 96 in of hickory: 0.1888 m3 at 12 %
    assert "takes" in one.message and "4 can get round it" in one.message
    assert not [f for f in lay_text(head + top.format(long="36")).findings if f.code == "too-heavy"]
    lifted = lay_text(head + '[load]\nlift = "120 lb"\n' + top.format(long="96"))
    assert not [f for f in lifted.findings if f.code == "too-heavy"]
