"""Cutouts across an inside corner, turned cutouts, and the joints that go round them, against closed forms.

Walls A and B meet at (100, 0) at the inside angle t, legs a and b deep. In plan the front corner lies at
P = (100 - (b + a cos t) / sin t, -a); from there the corner's middle runs into the wood along u = (cos t/2, sin t/2),
half way between the two fronts, and v = (sin t/2, -cos t/2) lies square to it. A diagonal that leaves the fronts d from
P cuts the middle d cos t/2 before P; a radius r touches both fronts and cuts it r / sin t/2 - r before P. Inches
throughout.
"""

from __future__ import annotations

import math

import pytest

from layout.drawing import Dimension, Text
from layout.faults import JobError
from layout.findings import Finding
from layout.pipeline import Layout, lay_text
from layout.report import report
from layout.schedules import blocks
from layout.sheets import draw
from layout.tabular import Table

Point = tuple[float, float]

HEAD = """
[job]
title = "Corner room"
number = "C-1"
units = "in"
[field]
walls = "finished"
cabinets = "set"
[wood]
species = "cherry"
thickness = "1 1/2"
[shop]
{shop}
"""
GAP = 1 / 8
ISLAND = '[[top]]\nname = "run"\nsize = ["84", "40"]\nat = ["0", "0"]\n'


def walls(angle: float = 90) -> str:
    return f'[[wall]]\nname = "A"\nlength = "100"\ncorner = {angle}\n[[wall]]\nname = "B"\nlength = "100"\n'


def ell(a: float = 25.5, b: float = 25.5, more: str = "") -> str:
    return f'[[top]]\nname = "run"\nalong = ["A", "B"]\ndepth = {{ A = {a}, B = {b} }}\n{more}\n'


def corner_cut(size: str = 'size = ["20", "16"]', setback: float = 4, kind: str = "sink", more: str = "") -> str:
    mount = 'mount = "undermount"\nreveal = "0"\n' if kind == "sink" else ""
    return (
        f'[[cutout]]\nname = "S1"\nkind = "{kind}"\ntop = "run"\ncorner = "A/B"\nsetback = "{setback}"\n{size}\n'
        f'proof = "template"\n{mount}{more}\n'
    )


def joint(more: str) -> str:
    return f'[[joint]]\ntop = "run"\ncorner = "A/B"\n{more}\n'


def laid(*parts: str, shop: str = "") -> Layout:
    return lay_text(HEAD.format(shop=shop) + "".join(parts))


def of(code: str, layout: Layout) -> list[Finding]:
    return [f for f in layout.findings if f.code == code]


def about(*point: float) -> object:
    return pytest.approx(point, abs=2e-6)


def front_corner(angle: float, a: float, b: float) -> Point:
    t = math.radians(angle)
    return (100 - (b + a * math.cos(t)) / math.sin(t), -a)


def in_corner(angle: float, a: float, b: float, along: float, deep: float) -> Point:
    """The point ``along`` to the right of the corner's middle and ``deep`` into the wood from the front corner P."""
    (x, y), half = front_corner(angle, a, b), math.radians(angle) / 2
    return (
        x + along * math.sin(half) + deep * math.cos(half),
        y - along * math.cos(half) + deep * math.sin(half),
    )


def on_b(angle: float, along: float, back: float) -> Point:
    """A point of wall B's frame in plan."""
    t = math.radians(angle)
    return (100 - along * math.cos(t) + back * math.sin(t), -along * math.sin(t) - back * math.cos(t))


def same_ring(found: list[list[float]], wanted: list[Point]) -> bool:
    """Whether two outlines, both counter-clockwise, have the same vertices in the same order."""
    points = [(x, y) for x, y, _ in found]
    k = min(range(len(points)), key=lambda i: math.dist(points[i], wanted[0]))
    points = points[k:] + points[:k]
    return len(points) == len(wanted) and all(math.dist(p, q) < 4e-6 for p, q in zip(points, wanted, strict=True))


# --- where it lies -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("angle", "a", "b"), [(90, 25.5, 25.5), (90, 25.5, 30), (100, 25.5, 25.5), (100, 30, 24)])
@pytest.mark.parametrize(
    ("inside", "before"),
    [
        ("", lambda _: 0.0),
        ("diagonal = 10", lambda half: 10 * math.cos(half)),
        ("radius = 9", lambda half: 9 / math.sin(half) - 9),
    ],
    ids=["uncut", "diagonal", "radius"],
)
def test_the_centre_lies_on_the_corners_middle(angle, a, b, inside, before) -> None:
    more = f'inside = {{ "A/B" = {{ {inside} }} }}' if inside else ""
    told = report(laid(walls(angle), ell(a, b, more), corner_cut('size = ["18", "14"]', 5)))
    # 5 from the front there, and half of 14
    deep = 5 + 7 - before(math.radians(angle) / 2)
    assert told["cutouts"][0]["center"] == about(*in_corner(angle, a, b, 0, deep))


@pytest.mark.parametrize(("angle", "a", "b"), [(90, 25.5, 25.5), (100, 30, 24)])
def test_it_lies_square_to_the_corners_middle(angle, a, b) -> None:
    told = report(laid(walls(angle), ell(a, b), corner_cut('size = ["18", "14"]', 5, more='radius = "0"')))
    corners = [in_corner(angle, a, b, x, y) for x, y in ((-9, 5), (9, 5), (9, 19), (-9, 19))]
    assert same_ring(told["cutouts"][0]["outline"], corners)
    assert told["cutouts"][0]["area"] == pytest.approx(18 * 14, abs=1e-5)


def test_at_a_square_corner_with_equal_depths_its_front_is_parallel_to_the_diagonal() -> None:
    # the diagonal's ends lie 10 back from (74 1/2, -25 1/2); its front side is 4 sqrt 2 up and to the right of it
    more = 'inside = { "A/B" = { diagonal = 10 } }'
    told = report(laid(walls(), ell(more=more), corner_cut(setback=4, more='radius = "0"')))
    x, y = 74.5 - 5 + 4 / math.sqrt(2), -25.5 - 5 + 4 / math.sqrt(2)
    reach = 10 / math.sqrt(2)
    outline = [(p[0], p[1]) for p in told["cutouts"][0]["outline"]]
    assert any(p == about(x - reach, y + reach) for p in outline)
    assert any(p == about(x + reach, y - reach) for p in outline)


def test_a_turn_is_about_its_centre() -> None:
    turned = corner_cut('size = ["18", "14"]', 5, more='radius = "0"\nturn = 20')
    told = report(laid(walls(100), ell(30, 24), turned))
    assert told["cutouts"][0]["center"] == about(*in_corner(100, 30, 24, 0, 12))
    c, s = math.cos(math.radians(20)), math.sin(math.radians(20))
    corners = [
        in_corner(100, 30, 24, c * x - s * y, 12 + s * x + c * y) for x, y in ((-9, -7), (9, -7), (9, 7), (-9, 7))
    ]
    assert same_ring(told["cutouts"][0]["outline"], corners)


def test_a_round_one_has_its_rim_at_the_setback() -> None:
    hole = corner_cut('diameter = "6"', 5, kind="outlet")
    told = report(laid(walls(), ell(), hole))["cutouts"][0]
    assert told["center"] == about(*in_corner(90, 25.5, 25.5, 0, 8))
    assert told["area"] == pytest.approx(9 * math.pi, abs=1e-4)


@pytest.mark.parametrize("angle", [270, 200, 180])
def test_an_outside_corner_has_no_such_place(angle) -> None:
    text = HEAD.format(shop="") + walls(angle) + ell(24, 24) + corner_cut()
    line = 1 + text[: text.index('corner = "A/B"')].count("\n")
    with pytest.raises(JobError, match=rf"job\.toml:{line}:\d+: .*corner: .*no inside corner.*below 180") as caught:
        lay_text(text, "job.toml")
    (fault,) = caught.value.faults
    assert fault.source_line == 'corner = "A/B"'


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        # the wrong way round, no run, a run of one leg
        ((walls(), ell(), corner_cut().replace("A/B", "B/A")), 'a corner of top "run": "A/B"'),
        ((ISLAND, corner_cut()), "no run along walls"),
        ((walls(), '[[top]]\nname = "run"\nalong = ["A"]\ndepth = 25\n', corner_cut()), "a run with a corner"),
        # placed twice, or not deep enough said
        ((walls(), ell(), corner_cut(more='center = "40"')), "no center beside corner"),
        ((walls(), ell(), corner_cut(more='wall = "A"')), "no wall beside corner"),
        ((walls(), ell(), corner_cut().replace('setback = "4"\n', "")), "how far its front side lies"),
    ],
)  # fmt: skip
def test_a_place_at_a_corner_that_cannot_be_read_is_a_fault(parts, words) -> None:
    with pytest.raises(JobError, match=words):
        laid(*parts)


# --- turned cutouts ------------------------------------------------------------------------------------------------


def rotated(center: Point, size: Point, degrees: float) -> list[Point]:
    """The corners of a rectangle about its centre, turned counter-clockwise."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    (x, y), (w, h) = center, size
    halves = ((-w / 2, -h / 2), (w / 2, -h / 2), (w / 2, h / 2), (-w / 2, h / 2))
    return [(x + c * p - s * q, y + s * p + c * q) for p, q in halves]


def own_cut(where: str, turn: float, radius: object = 0) -> str:
    return (
        f'[[cutout]]\nname = "K1"\nkind = "cooktop"\ntop = "run"\n{where}\nsize = ["20", "12"]\nradius = "{radius}"\n'
        f'turn = {turn}\nproof = "template"\n'
    )


@pytest.mark.parametrize("turn", [30, -45, 90, 137.5])
def test_a_turned_cutout_of_an_island(turn) -> None:
    told = report(laid(ISLAND, own_cut('center = ["30", "18"]', turn)))
    assert told["cutouts"][0]["center"] == about(30, 18)
    assert same_ring(told["cutouts"][0]["outline"], rotated((30, 18), (20, 12), turn))
    assert told["pieces"][0]["area"] == pytest.approx(84 * 40 - 240, abs=1e-5)


def test_a_turned_cutout_turns_with_its_island() -> None:
    # the island turned by 25 about its front left corner at (0, 0), the cutout by 30 more
    told = report(laid(f"{ISLAND}turn = 25\n", own_cut('center = ["30", "18"]', 30)))
    c, s = math.cos(math.radians(25)), math.sin(math.radians(25))
    center = (30 * c - 18 * s, 30 * s + 18 * c)
    assert told["cutouts"][0]["center"] == about(*center)
    assert same_ring(told["cutouts"][0]["outline"], rotated(center, (20, 12), 55))


def test_a_turned_cutout_of_a_run_is_set_back_before_its_turn() -> None:
    # half of 12 behind 5 of setback; wall B runs down, so that its own x axis points down
    told = report(laid(walls(), ell(), own_cut('wall = "B"\ncenter = "60"\nsetback = "5"', 30)))
    center = on_b(90, 60, -25.5 + 5 + 6)
    assert told["cutouts"][0]["center"] == about(*center)
    assert same_ring(told["cutouts"][0]["outline"], rotated(center, (20, 12), 30 - 90))


def test_round_corners_are_turned_too() -> None:
    told = report(laid(ISLAND, own_cut('center = ["30", "18"]', 30, 2)))
    assert told["cutouts"][0]["area"] == pytest.approx(240 - (16 - 4 * math.pi), abs=1e-5)
    # the arcs start and end 2 from where the corners were, along the sides
    bare = rotated((30, 18), (20, 12), 30)
    for x, y, bulge in told["cutouts"][0]["outline"]:
        assert min(math.dist((x, y), p) for p in bare) == pytest.approx(2, abs=1e-5)
        assert bulge in (0, pytest.approx(math.tan(math.pi / 8), abs=1e-6))


# --- the joint at its corner ---------------------------------------------------------------------------------------

LOWEST = 12 / math.sqrt(2) - (9.625 + 7.625) / math.sqrt(2) - 0.375
"""How far the lowest point of a sink of 20 by 16, corners of 3/8, set back 4, lies above A's front line (below: < 0)."""


def clear_of() -> int:
    """How far beyond A's front a butt is 6 clear of it, in whole inches: 10.09 made 11."""
    return math.ceil(6 - LOWEST)


def offered(found: Finding) -> dict[str, str]:
    """The butts that a remedy names, each as job text, by their through leg."""
    butts = found.remedy.removeprefix("use ").removesuffix(" under [[joint]]").split(" or ")
    out = {}
    for words in butts:
        kind, _, keys = words.removeprefix("a ").partition(" with ")
        lines = [f'kind = "{kind}"', *keys.split(" and ")]
        out[keys.partition('"')[2][0]] = joint("\n".join(lines))
    return out


def test_a_mitre_through_it_is_refused() -> None:
    layout = laid(walls(), ell(), corner_cut())
    (found,) = of("joint-through-cutout", layout)
    assert (found.severity, found.subject, found.pieces) == ("stop", "S1", ("P1",))
    assert found.at == pytest.approx([c * 25.4 for c in in_corner(90, 25.5, 25.5, 0, 12)])
    # nothing is invented: one piece, no joint, and it is not cut
    assert layout.divided.joints == ()
    assert layout.stopped == {"P1"}
    assert of("leg-too-short", layout) == []


@pytest.mark.parametrize("through", ["A", "B"])
def test_what_is_offered_clears_it(through) -> None:
    parts = walls(), ell(), corner_cut()
    (found,) = of("joint-through-cutout", laid(*parts))
    assert set(offered(found)) == {"A", "B"}
    assert f'beyond = "{clear_of()}"' in offered(found)[through]
    layout = laid(*parts, offered(found)[through])
    assert of("joint-through-cutout", layout) == []
    assert layout.stopped == set()
    told = report(layout)
    line = front_corner(90, 25.5, 25.5)
    ends = (
        [(100 - GAP, line[1] - clear_of()), (line[0], line[1] - clear_of())]
        if through == "A"
        else [(line[0] - clear_of(), -GAP), (line[0] - clear_of(), line[1])]
    )
    assert told["joints"][0]["points"] == [about(*p) for p in ends]
    assert told["cutouts"][0]["piece"] == ("P1" if through == "A" else "P2")
    # the other leg keeps what lies past the joint, from there to its end at 100 less the gap
    rest = 25.375 * (100 - 25.5 - GAP - clear_of())
    areas = [p["area"] for p in told["pieces"]]
    sink = 320 - (4 - math.pi) * 0.375**2
    whole = told["tops"][0]["gross_area"]
    wanted = [whole - rest - sink, rest] if through == "A" else [rest, whole - rest - sink]
    assert areas == [pytest.approx(w, abs=1e-4) for w in wanted]


def test_what_the_finding_has_to_paste_clears_it() -> None:
    text = HEAD.format(shop="") + walls() + ell() + corner_cut()
    (found,) = of("joint-through-cutout", lay_text(text))
    assert found.paste == joint(f'kind = "butt"\nthrough = "A"\nbeyond = "{clear_of()}"').replace("\n\n", "\n")
    layout = lay_text(text + found.paste)
    assert of("joint-through-cutout", layout) == []
    assert layout.stopped == set()
    assert len(layout.divided.joints) == 1


def test_a_corner_that_is_settled_is_not_settled_twice() -> None:
    layout = laid(walls(), ell(), corner_cut(), joint('kind = "mitre"'))
    (found,) = of("joint-through-cutout", layout)
    assert found.paste == ""
    assert set(offered(found)) == {"A", "B"}


def test_a_butt_that_the_shop_makes_runs_through_it_too() -> None:
    for kind in ("butt", "short mitre"):
        (found,) = of("joint-through-cutout", laid(walls(), ell(), corner_cut(), shop=f'corner_joint = "{kind}"'))
        assert f"a {kind} at corner A/B" in found.message


@pytest.mark.parametrize(("beyond", "through_it"), [("4 1/16", True), ("4 3/32", False)])
def test_a_butt_just_beyond_it_is_clear_of_it(beyond, through_it) -> None:
    # its lowest point lies 4.0873 below A's front line: between the two
    assert 4 + 1 / 16 < -LOWEST < 4 + 3 / 32
    layout = laid(walls(), ell(), corner_cut(), joint(f'kind = "butt"\nbeyond = "{beyond}"'))
    assert bool(of("joint-through-cutout", layout)) is through_it
    assert bool(layout.divided.joints) is not through_it


@pytest.mark.parametrize(("angle", "a", "b"), [(90, 25.5, 30), (100, 25.5, 25.5), (112.5, 24, 30)])
@pytest.mark.parametrize("through", ["A", "B"])
def test_beyond_places_a_butt_exactly(angle, a, b, through) -> None:
    # so far past the through leg's front line, from the other leg's back edge to its front edge
    t = math.radians(angle)
    told = report(laid(walls(angle), ell(a, b), joint(f'kind = "butt"\nthrough = "{through}"\nbeyond = "12 1/2"')))
    if through == "A":
        # y = -along sin t - back cos t = -(a + 12 1/2)
        stations = [(a + 12.5 - back * math.cos(t)) / math.sin(t) for back in (-GAP, -b)]
        points = [on_b(angle, stations[0], -GAP), on_b(angle, stations[1], -b)]
    else:
        # B's line 12 1/2 before its front, where it meets A's back and A's front
        on_line = [(b + 12.5 - deep * math.cos(t)) / math.sin(t) for deep in (-GAP, -a)]
        points = [(100 - on_line[0], -GAP), (100 - on_line[1], -a)]
    assert told["joints"][0]["points"] == [about(*p) for p in points]
    assert told["joints"][0]["kind"] == "butt"
    # along the through leg's grain; the other's meets it at the corner's angle
    acute = min(angle, 180 - angle)
    assert told["joints"][0]["angles"] == about(*((0, acute) if through == "A" else (acute, 0)))
    assert sum(p["area"] for p in told["pieces"]) == pytest.approx(told["tops"][0]["gross_area"], abs=1e-5)


def test_nothing_beyond_is_the_butt_at_the_corner() -> None:
    bare = report(laid(walls(), ell(), joint('kind = "butt"')))["joints"]
    assert report(laid(walls(), ell(), joint('kind = "butt"\nbeyond = "0"')))["joints"] == bare
    assert bare[0]["points"] == [about(99.875, -25.5), about(74.5, -25.5)]


def test_a_butt_beyond_a_diagonal_is_offered_clear_of_both() -> None:
    # a small cutout far behind the diagonal: its own lowest point lies above A's front, the diagonal's end 20 below it
    parts = (
        walls(),
        ell(more='inside = { "A/B" = { diagonal = 20 } }'),
        corner_cut('size = ["5", "5"]', 20, kind="outlet", more='radius = "0"'),
    )
    (found,) = of("joint-through-cutout", laid(*parts))
    assert 'through = "A" and beyond = "20"' in found.remedy
    layout = laid(*parts, joint('kind = "butt"\nbeyond = "20"'))
    assert layout.stopped == set()
    assert report(layout)["joints"][0]["points"] == [about(99.875, -45.5), about(74.5, -45.5)]


def test_no_butt_is_offered_that_its_leg_is_too_short_for() -> None:
    # B ends at 36, short of the 36 1/2 where a butt through A would lie; through B there is room; then for neither
    short = walls().replace('name = "B"\nlength = "100"', 'name = "B"\nlength = "36"')
    (found,) = of("joint-through-cutout", laid(short, ell(), corner_cut()))
    assert set(offered(found)) == {"B"}
    both = short.replace('name = "A"\nlength = "100"', 'name = "A"\nlength = "36"')
    (found,) = of("joint-through-cutout", laid(both, ell(), corner_cut()))
    assert found.remedy == "move S1 away from the corner"
    assert found.paste == ""


@pytest.mark.parametrize(
    ("angle", "more", "words"),
    [
        (270, 'kind = "butt"\nbeyond = "2"', "at an inside corner alone"),
        (90, 'kind = "mitre"\nbeyond = "2"', 'but for kind = "butt"'),
        (90, 'kind = "butt"\nbeyond = "-2"', "negative"),
    ],
)
def test_beyond_is_for_butts_at_inside_corners(angle, more, words) -> None:
    with pytest.raises(JobError, match=words):
        laid(walls(angle), ell(), joint(more))


def test_a_column_in_the_corner_has_the_joint_through_it() -> None:
    layout = laid(walls(), ell(), corner_cut('diameter = "6"', 12, kind="column"))
    assert of("joint-through-cutout", layout) == []
    assert of("closed-round-column", layout) == []
    assert layout.stopped == set()
    told = report(layout)
    assert [j["kind"] for j in told["joints"]] == ["mitre"]
    assert told["cutouts"][0]["piece"] is None
    # the mitre runs through its middle and each piece loses half: 25 3/8 deep, 74 3/8 long in front, 99 3/4 behind
    mitred = (74.375 + 99.75) / 2 * 25.375
    assert [p["area"] for p in told["pieces"]] == [pytest.approx(mitred - 4.5 * math.pi, abs=1e-3)] * 2


def test_a_hole_in_the_corner_is_no_column() -> None:
    (found,) = of("joint-through-cutout", laid(walls(), ell(), corner_cut('diameter = "1 3/8"', 12, kind="hole")))
    assert found.subject == "S1"


# --- on the sheets -------------------------------------------------------------------------------------------------


def piece_texts(layout: Layout, piece: str) -> list[tuple[str, float | None]]:
    """Every text of a piece's view, with the inches that it measures where it is a dimension."""
    (view,) = [v for sheet in draw(layout).sheets for v in sheet.views if v.id == f"piece-{piece}"]
    out: list[tuple[str, float | None]] = []
    for item in view.items:
        if isinstance(item, Dimension):
            out.append((item.label.text, item.value / 25.4))
        elif isinstance(item, Text):
            out.append((item.text, None))
    return out


def dimensions(layout: Layout, piece: str) -> dict[str, float]:
    return {text: value for text, value in piece_texts(layout, piece) if value is not None}


@pytest.mark.parametrize(
    ("turn", "words"),
    [
        (30, ("K1 turned 30°", "counter-clockwise from the grain")),
        (-12.5, ("K1 turned 12.5°", "clockwise from the grain")),
        # half a turn more is the same rectangle
        (210, ("K1 turned 30°", "counter-clockwise from the grain")),
    ],
)
def test_a_turned_cutout_prints_its_sizes_its_centre_and_its_turn(turn, words) -> None:
    layout = laid(ISLAND, own_cut('center = ["31 1/4", "18 3/8"]', turn, "3/8"))
    # and nothing else but the piece's own size: no extents of what stands askew
    wanted = {'20"': 20, '12"': 12, '31 1/4"': 31.25, '18 3/8"': 18.375, '84"': 84, '40"': 40}
    assert dimensions(layout, "P1") == {text: pytest.approx(value) for text, value in wanted.items()}
    said = [text for text, _ in piece_texts(layout, "P1")]
    assert [text for text in said if text in words] == list(words)


@pytest.mark.parametrize("turn", [0, 90, 180, -90])
def test_a_cutout_square_to_the_grain_is_not_called_turned(turn) -> None:
    said = [text for text, _ in piece_texts(laid(ISLAND, own_cut('center = ["31", "18"]', turn, "3/8")), "P1")]
    assert not any("turned" in text for text in said)


@pytest.mark.parametrize(
    ("through", "piece", "words", "centre"),
    [
        # A's piece: from its left end at the gap, and up from B's cut 11 below A's front line
        ("A", "P1", "clockwise from the grain", (74.5 + 12 / math.sqrt(2) - GAP, 11 + 12 / math.sqrt(2))),
        # B's piece: its grain runs down from the gap below A's line of 0, its front lies at x = 74 1/2 less 11
        ("B", "P2", "counter-clockwise from the grain", (25.5 - 12 / math.sqrt(2) - GAP, 11 + 12 / math.sqrt(2))),
    ],
)
def test_a_corner_sink_prints_its_sizes_its_centre_and_its_turn(through, piece, words, centre) -> None:
    butt = joint(f'kind = "butt"\nthrough = "{through}"\nbeyond = "11"')
    layout = laid(walls(), ell(), corner_cut(), butt)
    made = [value for _, value in piece_texts(layout, piece) if value is not None]
    for wanted in (20, 16, *centre):
        assert any(value == pytest.approx(wanted, abs=1e-4) for value in made), wanted
    said = [text for text, _ in piece_texts(layout, piece)]
    assert "S1 turned 45°" in said
    assert words in said


def test_the_table_of_cutouts_names_the_corner() -> None:
    layout = laid(walls(), ell(), corner_cut())
    (table,) = [b for b in blocks(layout) if isinstance(b, Table) and b.title == "Cutouts"]
    (row,) = table.rows
    assert row[0] == "S1"
    assert "corner A/B, its middle" in row
    assert row[3] == '20" x 16"'
    assert '4"' in row
