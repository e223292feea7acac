"""What carries a top, how far it may stand beyond that, and bracket plans that do what they say.

The limit of 8 in (200 mm), the span of 24 in (600 mm) and brackets that end 2 in (50 mm) short of the edge are the
project's own defaults: common practice, no source.
"""

from __future__ import annotations

import math
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout import region
from layout.pipeline import lay_text
from layout.report import report

CODE = "overhang-unsupported"


def job_text(*parts, units="in", shop=""):
    head = f'[job]\ntitle = "t"\nnumber = "1"\nunits = "{units}"\n[wood]\nspecies = "cherry"\nthickness = "38 mm"\n'
    return head + f"[shop]\n{shop}\n" + "\n".join(parts)


def wall(name, length, corner=90, more=""):
    return f'[[wall]]\nname = "{name}"\nlength = "{length}"\ncorner = {corner}\n{more}\n'


def run(along="A", depth="25 1/2", more=""):
    names = ", ".join(f'"{n}"' for n in along)
    return f'[[top]]\nname = "top"\nalong = [{names}]\ndepth = "{depth}"\n{more}\n'


def island(size, over, more=""):
    stated = ", ".join(f'{side} = "{amount}"' for side, amount in over.items())
    return f'[[top]]\nname = "top"\nsize = ["{size[0]}", "{size[1]}"]\noverhang = {{ {stated} }}\n{more}\n'


def bar(points, support, more=""):
    def listed(ring):
        return ", ".join(f"[{x}, {y}]" for x, y in ring)

    carried = f"support = [{listed(support)}]\n" if support else ""
    return f'[[top]]\nname = "top"\noutline = [{listed(points)}]\n{carried}{more}\n'


def post(at, size, more=""):
    return (
        f'[[support]]\ntop = "top"\nkind = "post"\ncenter = [{at[0]}, {at[1]}]\nsize = [{size[0]}, {size[1]}]\n{more}\n'
    )


def cabinet(at, width, depth=24, wall="A", more=""):
    return f'[[cabinet]]\nwall = "{wall}"\nat = "{at}"\nwidth = "{width}"\ndepth = "{depth}"\n{more}\n'


def overhung(*parts, **keys):
    return [f for f in lay_text(job_text(*parts, **keys)).findings if f.code == CODE]


def amounts(*parts, **keys):
    laid = report(lay_text(job_text(*parts, **keys)))
    return {o["side"]: o["amount"] for o in laid["overhangs"]}


def about(value):
    return pytest.approx(value, abs=1e-4)


# --- the limit -----------------------------------------------------------------------------------------------------

LINE = wall("A", 2000, 90, "open = true")
AT_THE_LIMIT = {
    "island back": lambda mm: island((1000, 800), {"back": mm}),
    "island front": lambda mm: island((1000, 800), {"front": mm}),
    "island left": lambda mm: island((1000, 800), {"left": mm}),
    "island right": lambda mm: island((1000, 800), {"right": mm}, "turn = 30"),
    "run front": lambda mm: wall("A", 2000) + run("A", 580 + mm),
    "run left end": lambda mm: wall("A", 2000) + run("A", 640, f'left_end = "exposed"\nleft_overhang = "{mm}"'),
    "run right end": lambda mm: wall("A", 2000) + run("A", 640, f'end = "1900"\nright_overhang = "{mm}"'),
    "peninsula back": lambda mm: LINE + run("A", 640, f'back_overhang = "{mm}"'),
    "outline": lambda mm: bar([(0, 0), (1000, 0), (1000, 600), (0, 600)], [(0, mm), (1000, mm), (1000, 600), (0, 600)]),
}


@pytest.mark.parametrize("make", AT_THE_LIMIT.values(), ids=AT_THE_LIMIT)
@pytest.mark.parametrize(("mm", "allowed"), [(200, True), (200.009, True), (200.02, False), (199, True)])
def test_exactly_the_limit_is_allowed(make, mm, allowed):
    found = overhung(make(mm), units="mm")
    assert (found == []) is allowed
    if found:
        assert (found[0].value, found[0].limit, found[0].severity) == (about(mm), 200, "ask")


@pytest.mark.parametrize(("over", "allowed"), [("8", True), ("8.001", False), ("6", True)])
def test_the_limit_in_inches(over, allowed):
    assert (overhung(island((60, 36), {"back": over})) == []) is allowed


def test_another_limit():
    assert overhung(island((60, 36), {"back": 8}), shop='overhang_limit = "7 15/16"')
    assert not overhung(island((60, 36), {"back": 12}), shop='overhang_limit = "12"')


def test_a_corner_may_stand_over_both_ways():
    # the grown area keeps its corners square: 8 over two sides is 11 5/16 across the corner
    assert not overhung(island((60, 36), {"back": 8, "left": 8}))
    assert overhung(island((60, 36), {"back": 8, "left": "8 1/16"}))


def test_a_rounded_corner_does_not_stand_over_less():
    corners = 'corners = { "back left" = { radius = "3" }, "back right" = { clip = "5" } }'
    assert amounts(island((60, 36), {"back": 9, "left": 1, "right": 2}, corners)) == about(
        {"front": 0, "right": 2, "back": 9, "left": 1}
    )


@pytest.mark.parametrize(("seats", "severity"), [(0, "ask"), (1, "stop"), (3, "stop")])
@pytest.mark.parametrize(
    "make",
    [
        lambda more: island((60, 36), {"back": 10}, more),
        lambda more: wall("A", 90, 90, "open = true") + run("A", 25, f'back_overhang = "10"\n{more}'),
        lambda more: bar([(0, 0), (60, 0), (60, 36), (0, 36)], [(0, 10), (60, 10), (60, 36), (0, 36)], more),
    ],
)
def test_seats_make_it_stop(make, seats, severity):
    layout = lay_text(job_text(make(f"seats = {seats}")))
    (found,) = [f for f in layout.findings if f.code == CODE]
    assert (found.code, found.severity, found.pieces) == (CODE, severity, ("P1",))
    assert layout.stopped == ({"P1"} if seats else set())
    assert (f"{seats} people" in found.message) is bool(seats)


# --- amounts -------------------------------------------------------------------------------------------------------


def test_amounts_of_an_island_by_side():
    over = {"front": "1", "back": "7 1/2", "left": "2", "right": "3 1/4"}
    wanted = {"front": 1, "back": 7.5, "left": 2, "right": 3.25}
    for turn in (0, 90, 211):
        assert amounts(island((80, 40), over, f"turn = {turn}")) == about(wanted)


def test_amounts_of_a_run_by_side():
    # cabinets 24 deep below 25 1/2; they stop 1 short of the right end; a left end at a wall stands over nothing
    assert amounts(wall("A", 96), run("A", more='end = "80"\nright_overhang = "1"')) == about(
        {"A front": 1.5, "right": 1}
    )
    assert amounts(wall("A", 96), run("A", more='cabinet_depth = "20"')) == about({"A front": 5.5})
    # top back: the front lies 25 5/8 off the wall
    assert amounts(wall("A", 96), run("A", more='depth_from = "top back"')) == about({"A front": 1.625})
    # a panel carries its end
    assert amounts(wall("A", 96), run("A", more='end = "80"\nright_end = "panel"')) == about({"A front": 1.5})


def test_amounts_of_an_ell_and_a_peninsula():
    parts = (
        wall("A", 100),
        wall("B", 80, 90, "open = true"),
        run("AB", more='right_end = "exposed"\nback_overhang = "6"'),
    )
    assert amounts(*parts) == about({"A front": 1.5, "B front": 1.5, "B back": 6, "right": 0})


def test_the_amount_beside_a_slanted_edge_is_square_to_it():
    # from (60, 0) to (84, 32): 3-4-5, so the support's corner at (55, 0) lies 5 * 4/5 = 4 inside the edge's line
    points = [(0, 0), (60, 0), (84, 32), (0, 32)]
    made = amounts(bar(points, [(0, 0), (55, 0), (79, 32), (0, 32)]))
    assert made["2"] == about(4)
    assert made["3"] == made["4"] == about(0)


def test_the_amount_below_an_arc():
    # a front that swells 6 in the middle, 2 of straight overhang before it
    points = [(0, 0), (60, 0), (60, 24), (0, 24)]
    made = amounts(bar(points, [(0, 2), (60, 2), (60, 24), (0, 24)], 'rise = { 1 = "6" }'))
    assert made["1"] == about(8)


def test_an_appliance_below_does_not_break_what_carries():
    item = '[[appliance]]\nkind = "dishwasher"\ntop = "top"\nwall = "A"\nat = "30"\nwidth = "40"\n'
    assert not overhung(wall("A", 96), run("A"), item)


def test_an_outline_that_says_nothing_is_carried_everywhere():
    made = lay_text(job_text(bar([(0, 0), (90, 0), (90, 40), (0, 40)], None)))
    codes = [f.code for f in made.findings]
    assert "support-not-given" in codes
    assert CODE not in codes
    assert {o.amount for o in made.laid.carried[0].overhangs} == {0.0}


# --- what carries --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("gap", "carried"), [("24", True), ("24 1/64", False), ("40", False), ("16", True)])
def test_a_gap_between_cabinets_of_the_span_is_carried(gap, carried):
    # from 30 on nothing for so long; beyond 16 some of it lies more than 8 from both sides
    width = {"24": 24, "24 1/64": 24 + 1 / 64, "40": 40, "16": 16}[gap]
    parts = wall("A", 120), run("A"), cabinet(0, 30), cabinet(30 + width, 120 - 30 - width)
    found = overhung(*parts)
    assert (found == []) is carried
    if found:
        x0, x1 = 30 + 8, 30 + width - 8
        assert x0 < found[0].at[0] / 25.4 < x1


@pytest.mark.parametrize(("span", "carried"), [("30", True), ("29 15/16", False)])
def test_another_span(span, carried):
    parts = wall("A", 120), run("A"), cabinet(0, 30), cabinet(60, 60)
    assert (overhung(*parts, shop=f'support_span = "{span}"') == []) is carried


@pytest.mark.parametrize(("grain", "carried"), [(0, True), (90, False)])
def test_only_gaps_along_the_grain_are_carried(grain, carried):
    # two limbs 20 apart, joined 8 high at the foot: along x what lies between is carried; across, it stands 32 over
    points = [(0, 0), (60, 0), (60, 40), (0, 40)]
    limbs = [(0, 0), (60, 0), (60, 40), (40, 40), (40, 8), (20, 8), (20, 40), (0, 40)]
    found = overhung(bar(points, limbs, f"grain = {grain}"), shop='max_width = "99"')
    assert (found == []) is carried


def test_posts_carry():
    over = {"back": 20}
    assert overhung(island((60, 44), over))
    # a beam 2 deep along the whole of the edge, 8 in from it: 10 wide between it and the cabinets is within 8 of either
    assert not overhung(island((60, 44), over), post((30, 35), (60, 2)))
    assert overhung(island((60, 44), over), post((30, 34.9), (60, 2)))


def test_what_carries_another_top_does_not_carry_this_one():
    # beside it, 70 to the right, with a beam that reaches below this one
    here = island((60, 44), {"back": 20}, 'at = ["0", "0"]')
    other = island((60, 44), {}, 'at = ["70", "0"]').replace('"top"', '"other"')
    beam = post((-40, 35), (60, 2))
    assert overhung(here, other, beam.replace('"top"', '"other"'))
    assert not overhung(here, beam.replace("-40", "30"))


@pytest.mark.parametrize("turn", [0, 90, 40])
@pytest.mark.parametrize(("apart", "carried"), [("24", True), ("24 1/16", False)])
def test_brackets_carry_what_lies_between_them(apart, carried, turn):
    # two brackets 2 wide below a back that stands 12 over, the left one with its left side at 8: clear between them 24
    clear = {"24": 24, "24 1/16": 24.0625}[apart]
    long = 8 + 2 + clear + 2 + 8
    top = island((long, 40), {"back": 12}, f"turn = {turn}")
    parts = top, post((9, 33), (2, 10)), post((long - 9, 33), (2, 10))
    assert (overhung(*parts) == []) is carried


def test_listed_cabinets_alone_carry_their_wall():
    # A's stop 10 short of the end, B has none listed and is carried as ever
    parts = wall("A", 100), wall("B", 90), run("AB", more='end = "70"\nright_end = "exposed"')
    assert not overhung(*parts)
    assert amounts(*parts, cabinet(0, 76)) == about({"A front": 1.5, "B front": 1.5, "right": 0})
    # a bare 20 at the left end of A: the wall's end is free, so 12 of it is too far out
    found = overhung(*parts, cabinet(20, 56))
    assert len(found) == 1
    assert 0 < found[0].at[0] / 25.4 < 12
    assert found[0].pieces == ("P1",)


def test_listed_cabinets_by_depth_and_from_the_right():
    parts = wall("A", 100), run("A", more='left_end = "exposed"\nright_end = "exposed"')
    made = amounts(*parts, cabinet(2, 40, 18), cabinet(58, 54, 24, more='from = "right"'))
    # 18 deep from 2 to 42, 24 from 42 to 96
    assert made == about({"A front": 7.5, "left": 2, "right": 4})
    # 12 deep: 13 1/2 in front of it
    (found,) = overhung(*parts, cabinet(2, 40, 12), cabinet(42, 54))
    assert found.value / 25.4 == about(13.5)
    assert 0 < found.at[0] / 25.4 < 42


def test_listed_cabinets_beside_a_leg_too_short_for_its_corner():
    # B ends inside A's depth: the corner cannot be, and says so
    parts = wall("A", 100, 60), wall("B", "12 1/2"), run("AB", 24, 'right_end = "exposed"')
    layout = lay_text(job_text(*parts, cabinet(0, 10, 20)))
    assert "leg-too-short" in {f.code for f in layout.findings}


def test_an_overhang_names_its_side():
    layout = lay_text(job_text(island((60, 40), {"back": 10, "left": 3})))
    over = {o.side: o for o in layout.laid.carried[0].overhangs}
    assert {side for side, o in over.items() if not o.supported} == {"back"}
    (found,) = [f for f in layout.findings if f.code == CODE]
    assert "at its back" in found.message
    # the place is on the part that stands too far out
    assert region.area_of(layout.laid.tops[0].ring).contains(region.spot(found.at))
    assert found.at[1] / 25.4 > 30 + 8


# --- bracket plans -------------------------------------------------------------------------------------------------


def plan(*parts, **keys):
    """The one overhang of a job, its brackets, and what is found with them in the job."""
    (found,) = overhung(*parts, **keys)
    assert found.paste, found.remedy
    assert "screwed to the top" in found.remedy
    brackets = tomllib.loads(found.paste)["support"]
    return brackets, lay_text(job_text(*parts, found.paste, **keys)), found


def is_cleared(layout):
    """Whether nothing stands over too far, and nothing else stops the job instead."""
    return not any(f.code == CODE or f.severity == "stop" for f in layout.findings)


def size(text):
    """A length of a plan, in job units: a whole number and a fraction, or a decimal."""
    return sum(float(n) / float(d or 1) for n, _, d in (part.partition("/") for part in str(text).split()))


def is_sound(places, low, high, limit=8.0, span=24.0):
    """First and last no farther from an end than the limit, none farther apart than the span."""
    assert places == sorted(places)
    assert places[0] - low <= limit + 1e-9
    assert high - places[-1] <= limit + 1e-9
    assert all(b - a <= span + 1e-9 for a, b in zip(places, places[1:], strict=False))


ISLANDS = {
    "plain": (84, 40, "back", 12, ""),
    "short": (14, 40, "back", 12, ""),
    "as long as two limits": (16, 40, "back", 12, ""),
    "a span and two limits": (40, 40, "back", 12, ""),
    "a sixteenth more": ("40 1/16", 40, "back", 12, ""),
    "front": (84, 40, "front", 10.5, ""),
    "turned, rounded": (84, 40, "back", 15, 'turn = 37\ncorners = { "back left" = { radius = "4" } }'),
    "at an end": (84, 40, "right", 13, ""),
    "at the left end": (84, 47, "left", 9, "turn = 90"),
}


@pytest.mark.parametrize("case", ISLANDS.values(), ids=ISLANDS)
def test_brackets_below_an_island(case):
    long, wide, side, over, more = case
    top = island((long, wide), {side: over}, more)
    brackets, after, found = plan(top)
    assert is_cleared(after)
    assert len(after.laid.supports) == len(brackets)
    long = size(long)
    ends = side in ("left", "right")
    at = [[size(c) for c in b["center"]] for b in brackets]
    is_sound(sorted(c[1 if ends else 0] for c in at), 0, wide if ends else long)
    edge = {"back": wide, "front": 0, "left": 0, "right": long}[side]
    for (x, y), b in zip(at, brackets, strict=True):
        half = size(b["size"][0 if ends else 1]) / 2
        middle = x if ends else y
        # the outer end 2 short of the edge, the inner on what carries: over - 2 long
        assert abs(abs(edge - middle) - half) == pytest.approx(2)
        assert 2 * half == pytest.approx(over - 2)
        assert size(b["size"][1 if ends else 0]) == 2
    assert f"{len(brackets)} bracket" in found.remedy


@given(st.integers(14 * 16, 130 * 16), st.integers(8 * 16 + 1, 20 * 16), st.sampled_from([0, 90, 12.5]))
@settings(max_examples=12, deadline=None)
def test_brackets_below_any_island(long, over, turn):
    sixteenths = island((long / 16, 48), {"back": over / 16}, f"turn = {turn}")
    brackets, after, _ = plan(sixteenths)
    assert is_cleared(after)
    is_sound([size(b["center"][0]) for b in brackets], 0, long / 16)


def test_brackets_below_a_peninsula():
    line = wall("A", 100, 90, "open = true")
    top = run("A", more='back_overhang = "12"\nleft_end = "exposed"\nright_end = "exposed"')
    brackets, after, _ = plan(line, top)
    assert is_cleared(after)
    is_sound([size(b["center"]) for b in brackets], 0, 100)
    for b in brackets:
        assert b["wall"] == "A"
        # from the line, 25 1/2 behind the front, 10 of the 12
        assert (size(b["setback"]), size(b["size"][1])) == (25.5, 10)


def test_brackets_below_a_peninsula_in_mm():
    line = wall("A", 2400, 90, "open = true")
    brackets, after, _ = plan(line, run("A", 650, 'back_overhang = "310"\nend = "2300"'), units="mm")
    assert is_cleared(after)
    is_sound([size(b["center"]) for b in brackets], 3, 2300, 200, 600)
    assert {(size(b["setback"]), size(b["size"][1])) for b in brackets} == {(650, 260)}


def test_brackets_below_the_peninsula_of_an_ell():
    parts = (
        wall("A", 100),
        wall("B", 80, 90, "open = true"),
        run("AB", more='back_overhang = "12"\nright_end = "exposed"'),
    )
    brackets, after, _ = plan(*parts)
    assert is_cleared(after)
    assert {b["wall"] for b in brackets} == {"B"}
    is_sound([size(b["center"]) for b in brackets], 0.125, 80)


@pytest.mark.parametrize("hand", ["left", "right"])
def test_brackets_below_an_end(hand):
    top = run("A", more=f'start = "3"\nend = "90"\n{hand}_end = "exposed"\n{hand}_overhang = "12"')
    brackets, after, _ = plan(wall("A", 100), top)
    assert is_cleared(after)
    # they run along the grain, 10 of the 12, at places from the front edge
    middle = 3 + 7 if hand == "left" else 90 - 7
    assert {(size(b["center"]), size(b["size"][0])) for b in brackets} == {(middle, 10)}
    is_sound(sorted(size(b["setback"]) + 1 for b in brackets), 0, 25.375)


def test_brackets_below_the_front_of_a_run():
    brackets, after, _ = plan(wall("A", 100), run("A", more='cabinet_depth = "13"'))
    assert is_cleared(after)
    is_sound([size(b["center"]) for b in brackets], 0.125, 99.875)
    assert {size(b["setback"]) for b in brackets} == {2}


OUTLINES = {
    "slanted front": (
        [(0, 0), (70, -14), (70, 26), (0, 26)],
        [(1, 5), (69, 5), (69, 25), (1, 25)],
        "",
    ),
    "slanted end": ([(0, 0), (60, 0), (72, 30), (0, 30)], [(1, 1), (59, 1), (59, 29), (1, 29)], ""),
    "swelling front": (
        [(0, 0), (60, 0), (60, 24), (0, 24)],
        [(1, 6), (59, 6), (59, 23), (1, 23)],
        'rise = { 1 = "6" }',
    ),
    "left of and below its origin": (
        [(-70, -20), (-10, -20), (-10, 10), (-70, 10)],
        [(-69, -8), (-11, -8), (-11, 9), (-69, 9)],
        "",
    ),
    "half round": ([(0, 0), (40, 0), (40, 24), (0, 24)], [(1, 1), (39, 1), (39, 23), (1, 23)], 'rise = { 1 = "20" }'),
    "swelling, grain aslant": (
        [(0, 0), (60, 0), (60, 24), (0, 24)],
        [(1, 6), (59, 6), (59, 23), (1, 23)],
        'rise = { 1 = "6" }\ngrain = 30\nturn = 15',
    ),
}


@pytest.mark.parametrize("case", OUTLINES.values(), ids=OUTLINES)
def test_brackets_below_an_outline(case):
    points, support, more = case
    brackets, after, found = plan(bar(points, support, more), shop='max_width = "99"')
    assert is_cleared(after)
    assert found.value > found.limit
    # each stands on what carries and ends inside the top, short of its edge
    top = region.area_of(after.laid.tops[0].ring)
    built = after.laid.carried[0].built
    for placed, b in zip(after.laid.supports, brackets, strict=True):
        ring = region.area_of(placed.ring)
        assert top.contains(ring)
        assert built.buffer(0.8).intersects(ring)
        assert {"2"} & set(b["size"])


def test_brackets_are_added_to_those_there_are():
    # one bracket at 9 of five is not enough; the plan leaves it where it is
    mine = post((9, 33), (2, 10))
    brackets, after, _ = plan(island((84, 40), {"back": 12}), mine)
    assert is_cleared(after)
    assert len(after.laid.supports) == len(brackets) + 1


def test_each_overhang_has_its_plan():
    found = overhung(island((84, 60), {"back": 12, "front": 12}))
    assert len(found) == 2
    both = lay_text(job_text(island((84, 60), {"back": 12, "front": 12}), *(f.paste for f in found)))
    assert [f.code for f in both.findings if f.code == CODE] == []
    # one alone clears its own
    one = lay_text(job_text(island((84, 60), {"back": 12, "front": 12}), found[0].paste))
    assert len([f for f in one.findings if f.code == CODE]) == 1


@pytest.mark.parametrize(
    "parts",
    [
        (island((84, 40), {"back": 12, "left": 12}),),
        (wall("A", 100) + wall("B", 80) + run("AB", more='cabinet_depth = "14"'),),
    ],
)
def test_brackets_round_a_corner(parts):
    _, after, _ = plan(*parts)
    assert is_cleared(after)


OUTSIDE = wall("A", 80, 270) + wall("B", 80) + run("AB", more='cabinet_depth = "14"')
SHORT_STRIP = wall("A", 60, 90, "open = true") + run(
    "A", more='back_overhang = "10"\nright_end = "exposed"\nright_overhang = "1"\nleft_end = "panel"'
)
FARTHER = {
    # the fronts stand 11 1/2 beyond their cabinets; round an outside corner the top runs on past both walls' ends
    "round an outside corner": (OUTSIDE,),
    # a peninsula's back and its end
    "back and end": (
        wall("A", 100)
        + wall("B", 80, 90, "open = true")
        + run("AB", more='back_overhang = "12"\nright_end = "exposed"\nright_overhang = "10"'),
    ),
    "a corner left undivided": (
        wall("A", 100, 135)
        + wall("B", 80, 90, "open = true")
        + run("AB", more='back_overhang = "12"\nright_end = "exposed"'),
    ),
    "all four sides": (island((84, 60), {"back": 12, "front": 12, "left": 12, "right": 12}),),
    # brackets at 9, 29 and 49 3/8 leave 1 5/8 beyond 58 3/8, less than a bracket's width; the cabinets stop 1 short
    "a strip at the end": (
        SHORT_STRIP,
        *(
            f'[[support]]\ntop = "top"\nkind = "bracket"\nwall = "A"\ncenter = "{at}"\nsetback = "25 1/2"\nsize = ["2", "8"]\n'
            for at in ("9", "29", "49 3/8")
        ),
    ),
}


@pytest.mark.parametrize("parts", FARTHER.values(), ids=FARTHER)
def test_brackets_below_what_runs_farther(parts):
    (found,) = overhung(*parts)
    if not found.paste:
        # a place past a wall's end cannot be typed, and a strip narrower than a bracket takes none: words must do
        assert parts in (FARTHER["round an outside corner"], FARTHER["a strip at the end"])
        assert "nearer to the edge" in found.remedy
        return
    after = lay_text(job_text(*parts, found.paste))
    assert CODE not in {f.code for f in after.findings}


def test_a_bracket_is_no_longer_than_what_it_carries():
    parts = wall("A", 100) + wall("B", 80) + run("AB", more='cabinet_depth = "14"')
    brackets, after, found = plan(parts)
    assert is_cleared(after)
    assert max(max(size(side) for side in b["size"]) for b in brackets) <= 2 * found.value / 25.4


@pytest.mark.parametrize(
    "beside",
    [6, 7, 8],
)
def test_a_tip_that_stands_too_far_out_is_told_as_such(beside):
    # a swallow's tail: its two tips lie 14 beyond what carries them, though each of their edges lies nearer, square to it
    tail = [(0, 0), (42, 0), (57, 14), (42, 28), (0, 28), (14, 14)]
    support = [(14, beside), (43.5, beside), (43.5, 28 - beside), (14, 28 - beside)]
    found = overhung(bar(tail, support))
    assert len(found) >= 2
    assert all(f.value > f.limit + 0.01 for f in found)


def test_brackets_between_ends_off_the_steps_of_a_tape():
    # from 0.1 to 64.1: three brackets, 24 apart at the most, though no end lies on a sixteenth
    line = wall("A", "64.2", 90, "open = true")
    brackets, _, _ = plan(line, run("A", 25, 'back_overhang = "12"'), shop='wall_gap = "0.1"')
    is_sound([size(b["center"]) for b in brackets], 0.1, 64.1)


def test_a_span_no_wider_than_a_bracket_gives_no_plan_but_a_remedy():
    (found,) = overhung(island((84, 40), {"back": 12}), shop='support_span = "1"')
    assert found.paste == ""
    assert "nearer to the edge" in found.remedy


def test_the_plan_depends_on_the_span():
    counts = []
    for span in ("12", "24", "36"):
        brackets, after, _ = plan(island((84, 40), {"back": 12}), shop=f'support_span = "{span}"')
        assert is_cleared(after)
        is_sound([size(b["center"][0]) for b in brackets], 0, 84, span=float(span))
        counts.append(len(brackets))
    # 68 between the first and the last: 68 / 12, / 24, / 36, rounded up, and one
    assert counts == [math.ceil(68 / 12) + 1, math.ceil(68 / 24) + 1, math.ceil(68 / 36) + 1]
