"""Bending of overhangs and strips: beam formulas against a solver of their own, the worked cases, the findings."""

from __future__ import annotations

import numpy as np
import pytest

from layout.pipeline import lay_text
from layout.report import report
from layout.rules import CRACK_SHARE
from layout.strength import (
    beam_centre,
    beam_spread,
    bending_stress,
    cantilever_spread,
    cantilever_tip,
    inertia,
    length_allowed,
    overhang_bent,
    rail_bent,
    stuff,
    thickness_wanted,
)
from layout.wood import POUND_FORCE_N, PSI_MPA

INCH = 25.4


def solved(length: float, stiffness: float, *, tip: float = 0.0, spread: float = 0.0, clamped: bool = True) -> float:
    """Return the greatest deflection of a beam by 800 beam elements (cubic, exact at their nodes for these loads).

    ``clamped``: fixed at one end and free at the other, the load at the tip; else on two supports, the load in the middle.
    """
    n = 800
    h = length / n
    rows = [[12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h]]
    rows += [[-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h]]
    k = stiffness / h**3 * np.array(rows)
    whole, load = np.zeros((2 * n + 2, 2 * n + 2)), np.zeros(2 * n + 2)
    each = spread * h / 2 * np.array([1, h / 6, 1, -h / 6])
    for e in range(n):
        whole[2 * e : 2 * e + 4, 2 * e : 2 * e + 4] += k
        load[2 * e : 2 * e + 4] += each
    load[2 * n if clamped else n] += tip
    held = [0, 1] if clamped else [0, 2 * n]
    free = [i for i in range(2 * n + 2) if i not in held]
    bent = np.linalg.solve(whole[np.ix_(free, free)], load[free])
    return float(max(abs(bent[[free.index(i) for i in free if i % 2 == 0]])))


@pytest.mark.parametrize(
    ("length", "width", "thick", "modulus"), [(304.8, 304.8, 38.1, 713.0), (254.0, 304.8, 44.45, 972.0)]
)
def test_beam_formulas_against_a_solver(length: float, width: float, thick: float, modulus: float) -> None:
    second = inertia(width, thick)
    assert cantilever_tip(444.8, length, modulus, second) == pytest.approx(
        solved(length, modulus * second, tip=444.8), rel=1e-4
    )
    spread = cantilever_spread(0.7, length, modulus, second)
    assert spread == pytest.approx(solved(length, modulus * second, spread=0.7), rel=1e-4)
    centre = beam_centre(500.0, length, modulus, second)
    assert centre == pytest.approx(solved(length, modulus * second, tip=500.0, clamped=False), rel=1e-4)
    even = beam_spread(1.0, length, modulus, second)
    assert even == pytest.approx(solved(length, modulus * second, spread=1.0, clamped=False), rel=1e-4)


def test_the_published_steel_cantilever() -> None:
    # published (Engineering ToolBox, cantilever beams): 3000 N at 5000 mm, E 200 000, I 81 960 000: tip 7.6 mm, 27.4 MPa
    assert cantilever_tip(3000, 5000, 200_000, 81_960_000) == pytest.approx(7.626, abs=5e-4)
    stress = 3000 * 5000 * 150 / 81_960_000
    assert stress == pytest.approx(27.45, abs=5e-3)


def test_computed_beams() -> None:
    # computed: walnut E 11 580, 300 x 38 mm
    second = inertia(300, 38)
    assert second == pytest.approx(1_371_800)
    assert beam_centre(500, 900, 11_580, second) == pytest.approx(0.478, abs=5e-4)
    assert beam_spread(1.0, 900, 11_580, second) == pytest.approx(0.538, abs=5e-4)
    assert cantilever_tip(500, 300, 11_580, second) == pytest.approx(0.283, abs=5e-4)
    assert cantilever_spread(1.0, 300, 11_580, second) == pytest.approx(0.0637, abs=5e-5)
    assert bending_stress(1.0e6, 300, 38) == pytest.approx(6.0e6 / (300 * 38**2))


def job(species: str, construction: str, thickness: str, more: str = "", tops: str = ""):
    head = '[job]\ntitle = "t"\nnumber = "1"\nunits = "in"\n[field]\nwalls = "finished"\ncabinets = "set"\n'
    wood = f'[wood]\nspecies = "{species}"\nconstruction = "{construction}"\nthickness = "{thickness}"\n'
    return lay_text(f"{head}{wood}{more}\n" + (tops or '[[top]]\nname = "island"\nsize = ["96", "40"]\n'))


# computed: strip 12 in, 100 lbf at the tip, weight at 12 % by creep 1.5; E across = 1.1 MOE times the ratio
CASES = [
    ("walnut", "face grain", "1 1/2", 12, "across", 713, 4.19, 4.30, 1.88),
    ("walnut", "edge grain", "1 1/2", 12, "across", 1350, 2.21, 2.27, 1.88),
    ("hard maple", "face grain", "1 1/2", 12, "across", 902, 3.31, 3.42, 1.89),
    ("white oak", "face grain", "1 3/4", 10, "across", 972, 1.12, 1.16, 1.16),
]


@pytest.mark.parametrize(
    ("species", "construction", "thick", "amount", "way", "modulus", "live", "whole", "stress"), CASES
)
def test_worked_overhangs(species, construction, thick, amount, way, modulus, live, whole, stress) -> None:
    layout = job(species, construction, thick)
    of = stuff(layout.job)
    assert of is not None
    b = overhang_bent(layout.job, of, amount * INCH, way)
    assert b.modulus == pytest.approx(modulus, abs=1.0)
    tip = cantilever_tip(
        100 * POUND_FORCE_N, amount * INCH, b.modulus, inertia(12 * INCH, float(layout.job.wood.thickness))
    )
    assert tip == pytest.approx(live, abs=0.011)
    # the load strip is 12 in, its default in the table is 304.8 mm
    assert b.deflection == pytest.approx(whole, abs=0.02)
    assert b.stress == pytest.approx(stress, abs=0.011)
    assert b.limit == pytest.approx(2 * amount * INCH / 360)


def test_along_the_grain_the_modulus_is_that_along() -> None:
    # the worked case takes E along as MOE itself, 11 580: 0.258 live; the handbook's 1.1 for shear makes it stiffer
    layout = job("walnut", "edge grain", "1 1/2")
    of = stuff(layout.job)
    assert of is not None
    assert of.along == pytest.approx(1.1 * 11_580)
    b = overhang_bent(layout.job, of, 12 * INCH, "along")
    assert b.deflection == pytest.approx(0.265 / 1.1, abs=0.005)


def test_strength_across_is_tension_perpendicular() -> None:
    layout = job("walnut", "face grain", "1 1/2")
    of = stuff(layout.job)
    assert of is not None
    # 690 psi = 4.76 MPa; the case reaches 40 % of it, 200 lbf 78 %
    assert of.strength_across == pytest.approx(4.76, abs=5e-3)
    assert overhang_bent(layout.job, of, 12 * INCH, "across").stress_ratio == pytest.approx(0.40, abs=6e-3)
    heavy = job("walnut", "face grain", "1 1/2", '[load]\npoint = "200 lb"')
    assert overhang_bent(heavy.job, of, 12 * INCH, "across").stress_ratio == pytest.approx(0.78, abs=6e-3)
    assert pytest.approx(0.00689476, abs=1e-8) == PSI_MPA


def test_a_wood_without_ratios_says_what_was_taken() -> None:
    layout = job("sapele", "face grain", "1 1/2")
    of = stuff(layout.job)
    assert of is not None
    assert any("smallest hardwood ratios" in words for words in of.fallback)
    assert of.across / of.along == pytest.approx(0.043)


def test_what_would_do_does() -> None:
    layout = job("walnut", "face grain", "1 1/2")
    of = stuff(layout.job)
    assert of is not None
    thick = thickness_wanted(layout.job, of, 12 * INCH, "across", CRACK_SHARE)
    assert overhang_bent(layout.job, of, 12 * INCH, "across", thick).deflection <= 2 * 12 * INCH / 360 * (1 + 1e-6)
    assert overhang_bent(layout.job, of, 12 * INCH, "across", thick * 0.99).deflection > 2 * 12 * INCH / 360
    reach = length_allowed(layout.job, of, "across", CRACK_SHARE)
    just, over = (overhang_bent(layout.job, of, reach * k, "across") for k in (0.999, 1.01))
    assert just.deflection <= just.limit and just.stress_ratio <= CRACK_SHARE
    assert over.deflection > over.limit or over.stress_ratio > CRACK_SHARE


ISLAND = '[[top]]\nname = "island"\nsize = ["96", "40"]\noverhang = {{ {side} = "{amount}" }}\n'


def codes(layout) -> list[str]:
    return [f.code for f in layout.findings]


def test_the_way_of_bending_is_the_sides() -> None:
    for side, way in (("back", "across"), ("front", "across"), ("left", "along"), ("right", "along")):
        layout = job("walnut", "face grain", "1 1/2", tops=ISLAND.format(side=side, amount="7"))
        (over,) = [o for o in report(layout)["overhangs"] if o["amount"] > 1]
        assert (over["side"], over["bending"]) == (side, way)
        assert over["modulus"] == pytest.approx((713 if way == "across" else 12_738) / PSI_MPA, rel=1e-3)
        assert over["limit"] == pytest.approx(2 * 7 / 360, abs=1e-6)


def test_an_overhang_that_bends_is_asked_about_and_thickness_or_support_clears_it() -> None:
    raised = job("walnut", "face grain", "1 1/2", tops=ISLAND.format(side="back", amount="8"))
    found = next(f for f in raised.findings if f.code == "overhang-bends")
    assert found.severity == "ask" and "aid, no approval" in found.remedy
    assert "overhang-bends" not in codes(
        job("walnut", "edge grain", "1 1/2", tops=ISLAND.format(side="back", amount="8"))
    )
    assert "overhang-bends" not in codes(job("walnut", "face grain", "2", tops=ISLAND.format(side="back", amount="8")))
    assert "overhang-bends" not in codes(
        job("walnut", "face grain", "1 1/2", tops=ISLAND.format(side="left", amount="8"))
    )
    assert "overhang-bends" not in codes(
        job("walnut", "face grain", "1 1/2", tops=ISLAND.format(side="back", amount="6"))
    )


def test_an_overhang_that_may_crack() -> None:
    heavy = '[load]\npoint = "300 lb"\ndeflection = 50'
    ask = job("walnut", "face grain", "1 1/2", heavy, ISLAND.format(side="back", amount="7"))
    found = next(f for f in ask.findings if f.code == "overhang-cracks")
    assert found.severity == "ask" and "of the wood's mean strength across the grain" in found.message
    stop = job("walnut", "face grain", "1 1/4", '[load]\npoint = "400 lb"', ISLAND.format(side="back", amount="8"))
    assert next(f for f in stop.findings if f.code == "overhang-cracks").severity == "stop"
    just = job("walnut", "face grain", "1 3/4", heavy, ISLAND.format(side="back", amount="7"))
    assert "overhang-cracks" not in codes(just)


RUN = """
[[wall]]
name = "A"
length = "90"
[[top]]
name = "run"
along = ["A"]
depth = "25 1/2"
[[cutout]]
name = "K1"
kind = "cooktop"
top = "run"
wall = "A"
center = "45"
setback = "{setback}"
size = ["36", "{deep}"]
proof = "template"
"""


def test_a_weak_rail() -> None:
    # a strip 1 in wide over 36 in, 100 lb in its middle: M = 444.8 * 914.4 / 4, sigma = 6 M / (25.4 * 38.1^2)
    layout = job("cherry", "edge grain", "1 1/2", tops=RUN.format(setback="1", deep="20"))
    of = stuff(layout.job)
    assert of is not None
    b = rail_bent(layout.job, of, INCH, 36 * INCH)
    by_hand = 6 * (444.822 * 914.4 / 4) / (25.4 * 38.1**2)
    assert b.stress == pytest.approx(by_hand, rel=0.01)  # the strip's own weight is the rest
    found = [f for f in layout.findings if f.code == "rail-weak"]
    assert [f.subject for f in found] == ["K1"]
    assert "before K1" in found[0].message
    assert "rail-weak" not in codes(job("cherry", "edge grain", "1 1/2", tops=RUN.format(setback="3", deep="20")))
