"""Corner joints against their closed forms, and what cannot be joined.

Derived, for walls that meet at the inside angle t and legs a and b deep, without a wall gap: the front corner lies
x = (b + a cos t) / sin t along the first wall and a in front of it, so a mitre is hypot(x, a) long, stands at
f = atan2(a, x) to the first wall and at t - f to the second. With equal depths f = t / 2.
"""

from __future__ import annotations

import itertools
import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.pipeline import lay_text
from layout.report import report

NO_GAP = 'wall_gap = "0"'
LONG = f'{NO_GAP}\nmax_length = "400"\nmax_width = "400"'


def job_text(*parts, units="in", shop=NO_GAP):
    head = f'[job]\ntitle = "t"\nnumber = "1"\nunits = "{units}"\n[wood]\nspecies = "cherry"\nthickness = "38 mm"\n'
    return head + f"[shop]\n{shop}\n" + "\n".join(parts)


def wall(name, length, corner=90):
    return f'[[wall]]\nname = "{name}"\nlength = "{length}"\ncorner = {corner}\n'


def run(along, depths, more="", name="run"):
    names = ", ".join(f'"{n}"' for n in along)
    stated = ", ".join(f"{n} = {d}" for n, d in depths.items())
    return f'[[top]]\nname = "{name}"\nalong = [{names}]\ndepth = {{ {stated} }}\n{more}\n'


def choice(kind, corner="A/B", through=None, length=None, top="run"):
    text = f'[[joint]]\ntop = "{top}"\ncorner = "{corner}"\nkind = "{kind}"\n'
    text += f'through = "{through}"\n' if through else ""
    return text + (f'length = "{length}"\n' if length else "")


def ell(angle, a, b, *more, lengths=(100, 100), keys=""):
    walls = wall("A", lengths[0], angle) + wall("B", lengths[1])
    return (walls, run("AB", {"A": a, "B": b}, keys), *more)


def told(*parts, **keys):
    return report(lay_text(job_text(*parts, **keys)))


def codes(laid):
    return {f["code"] for f in laid["findings"]}


def about(value):
    return pytest.approx(value, abs=2e-6)


# --- mitres --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("angle", "a", "b", "length", "angles"),
    [
        # derived: mitre of unequal depths (above), to three decimals
        (90, 25.5, 25.5, 36.062, (45, 45)),
        (90, 25.5, 18, 31.213, (54.782, 35.218)),
        (92, 25.5, 25.5, 35.449, (46, 46)),
        (135, 25.5, 25.5, 27.601, (67.5, 67.5)),
        # derived: as far round the outside as inside, the same seam
        (270, 25.5, 25.5, 36.062, (45, 45)),
        (270, 25.5, 18, 31.213, (54.782, 35.218)),
    ],
)
def test_mitres_of_known_length_and_angle(angle, a, b, length, angles):
    laid = told(*ell(angle, a, b, keys='left_end = "exposed"\nright_end = "exposed"'))
    (joint,) = laid["joints"]
    assert (joint["id"], joint["kind"], joint["pieces"]) == ("J1", "mitre", ["P1", "P2"])
    assert joint["length"] == pytest.approx(length, abs=5e-4)
    assert joint["angles"] == pytest.approx(angles, abs=5e-4)
    assert joint["points"] == [joint["start"], joint["end"]]
    assert joint["start"] == about([100, 0])
    assert "leg-too-short" not in codes(laid)


@given(st.integers(240, 680), st.integers(64, 128), st.integers(64, 128))
@settings(max_examples=40, deadline=None)
def test_mitres_in_closed_form(quarters, first, second):
    angle, a, b = quarters / 4, first / 4, second / 4
    t = math.radians(angle)
    xa, xb = (b + a * math.cos(t)) / math.sin(t), (a + b * math.cos(t)) / math.sin(t)
    laid = told(*ell(angle, a, b, lengths=(200, 200)), shop=LONG)
    if min(xa, xb) < -1e-6:
        assert "leg-too-short" in codes(laid)
        assert laid["joints"] == []
        return
    (joint,) = laid["joints"]
    f = math.degrees(math.atan2(a, xa))
    assert joint["length"] == about(math.hypot(xa, a))
    assert joint["end"] == about([200 - xa, -a])
    assert joint["angles"] == about([f, angle - f])
    # derived: each end is cut 90 - f and 90 - (t - f) off square; together 180 - t
    assert sum(90 - made for made in joint["angles"]) == about(180 - angle)


@pytest.mark.parametrize(("b", "stands"), [("12 1/2", True), ("12 7/16", False)])
def test_a_mitre_may_stand_square_to_a_wall(b, stands):
    # at 120 degrees and 25 deep, x = (b - 12 1/2) / sin 120: nothing left of the front beyond the back corner at 12 1/2
    laid = told(*ell(120, 25, f'"{b}"'))
    assert ("leg-too-short" in codes(laid)) is not stands
    if stands:
        assert laid["joints"][0]["angles"] == about([90, 30])


def test_the_gap_moves_both_ends_of_a_mitre():
    # back corner 1/8 off both walls, front corner where it was: 25 3/8 sqrt 2
    (joint,) = told(*ell(90, 25.5, 25.5), shop="")["joints"]
    assert joint["start"] == about([99.875, -0.125])
    assert joint["end"] == about([74.5, -25.5])
    assert joint["length"] == about(25.375 * math.sqrt(2))


# --- butts and short mitres ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("angle", "kind", "through", "length", "points", "angles"),
    [
        # inside: from the front corner (76, -24) along the through leg's front to the other's back edge
        (90, "butt", "A", None, [(100, -24), (76, -24)], (0, 90)),
        (90, "butt", "B", None, [(76, 0), (76, -24)], (90, 0)),
        # outside: from the back corner along the through leg's back, drawn out, to the other's front
        (270, "butt", "A", None, [(100, 0), (124, 0)], (0, 90)),
        (270, "butt", "B", None, [(100, 0), (100, -24)], (90, 0)),
        # the last 2 (own default), or 5, square to the fronts mitred; its angles are those of the mitred part
        (90, "short mitre", "A", None, [(100, -22), (78, -22), (76, -24)], (45, 45)),
        (90, "short mitre", "B", None, [(78, 0), (78, -22), (76, -24)], (45, 45)),
        (90, "short mitre", "A", "5", [(100, -19), (81, -19), (76, -24)], (45, 45)),
        (270, "short mitre", "A", None, [(100, 0), (122, 0), (122, -22), (124, -24)], (45, 45)),
        (270, "short mitre", "B", "5", [(100, 0), (100, -19), (119, -19), (124, -24)], (45, 45)),
        # the first named runs through where nothing is said
        (90, "butt", None, None, [(100, -24), (76, -24)], (0, 90)),
        (90, "short mitre", None, None, [(100, -22), (78, -22), (76, -24)], (45, 45)),
    ],
)
def test_butts_and_short_mitres_at_square_corners(angle, kind, through, length, points, angles):
    keys = 'left_end = "exposed"\nright_end = "exposed"'
    laid = told(*ell(angle, 24, 24, choice(kind, through=through, length=length), keys=keys))
    (joint,) = laid["joints"]
    assert joint["kind"] == kind
    assert joint["points"] == [about(p) for p in points]
    assert (joint["start"], joint["end"]) == (about(points[0]), about(points[-1]))
    assert joint["length"] == about(sum(math.dist(p, q) for p, q in itertools.pairwise(points)))
    assert joint["angles"] == about(angles)
    # together the pieces are the top
    assert sum(p["area"] for p in laid["pieces"]) == about(laid["tops"][0]["gross_area"])


@pytest.mark.parametrize(("through", "areas"), [("A", (100 * 24, 76 * 18)), ("B", (82 * 24, 100 * 18))])
def test_the_through_leg_has_the_corner(through, areas):
    laid = told(*ell(90, 24, 18, choice("butt", through=through)))
    assert [p["area"] for p in laid["pieces"]] == about(areas)
    assert [p["length"] for p in laid["pieces"]] == about([areas[0] / 24, areas[1] / 18])


def test_a_butt_at_an_open_corner_lies_along_the_through_front():
    # 120 degrees, 20 and 20 deep: front corner at x = 20 / tan 60 along each wall; A's front runs on to B's back, which
    # it meets where B has come 20 down: 20 / sin 60 along B, 20 / tan 60 to the right of the corner
    laid = told(*ell(120, 20, 20, choice("butt", through="A")))
    (joint,) = laid["joints"]
    off = 20 / math.tan(math.radians(60))
    assert joint["points"] == [about((100 + off, -20)), about((100 - off, -20))]
    assert joint["angles"] == about([0, 60])


@given(st.integers(65, 120), st.integers(18, 31), st.integers(18, 31), st.sampled_from("AB"), st.integers(1, 4))
@settings(max_examples=20, deadline=None)
def test_a_short_mitre_bends_as_far_from_both_fronts(angle, a, b, through, length):
    overrule = choice("short mitre", through=through, length=length)
    laid = lay_text(job_text(*ell(angle, a, b, overrule, lengths=(200, 200)), shop=LONG))
    (joint,) = laid.divided.joints
    back, bend, front = joint.points
    top = laid.laid.tops[0]
    for leg, depth in zip(top.legs, (a, b), strict=True):
        assert leg.frame.from_plan(front)[1] / 25.4 == pytest.approx(-depth)
        assert leg.frame.from_plan(bend)[1] / 25.4 == pytest.approx(length - depth)
    # the rest is a butt: parallel to the through leg, from the other's back edge
    runs, meets = top.legs if through == "A" else top.legs[::-1]
    assert runs.frame.from_plan(back)[1] == pytest.approx(runs.frame.from_plan(bend)[1])
    assert meets.frame.from_plan(back)[1] == pytest.approx(0, abs=1e-9)
    # both grains at half the corner to the mitred part
    assert joint.angles == pytest.approx((angle / 2, angle / 2))


def test_the_shop_says_the_kind_and_a_corner_overrules_it():
    walls = wall("A", 100) + wall("B", 120) + wall("C", 100)
    top = run("ABC", {"A": 24, "B": 24, "C": 24})
    made = told(walls, top, shop=f'{NO_GAP}\ncorner_joint = "butt"')["joints"]
    assert [j["kind"] for j in made] == ["butt", "butt"]
    made = told(walls, top, choice("mitre", "B/C"), shop=f'{NO_GAP}\ncorner_joint = "short mitre"')["joints"]
    assert [j["kind"] for j in made] == ["short mitre", "mitre"]
    # a joint may say which leg runs through and leave the kind to the shop
    other = '[[joint]]\ntop = "run"\ncorner = "A/B"\nthrough = "B"\n'
    made = told(walls, top, other, shop=f'{NO_GAP}\ncorner_joint = "butt"')["joints"]
    assert made[0]["points"] == [about((76, 0)), about((76, -24))]
    # a choice for another run's corner of the same name is none for this one
    second = run("AB", {"A": 10, "B": 10}, 'start = "60"\nend = "40"\nleft_end = "exposed"', "other")
    made = told(walls, top, second, choice("butt", top="other"))["joints"]
    assert [(j["top"], j["kind"]) for j in made] == [("run", "mitre"), ("run", "mitre"), ("other", "butt")]


# --- what cannot be ------------------------------------------------------------------------------------------------

SHORT = {
    # the front corner's foot falls past the back corner on the first wall, and on the second
    "too unequal, first": (*ell(135, 25.5, 18),),
    "too unequal, second": (*ell(135, 18, 25.5),),
    "too unequal, nearly straight": (*ell(165, 25.5, 24),),
    # B ends at 20, before A's front at 25 1/2 is reached: it can but be butted against
    "a leg too short": (*ell(90, 25.5, 25.5, lengths=(100, 20)),),
    # a short mitre longer than the leg it is cut in is deep
    "short mitre too long": (*ell(90, 25.5, 25.5, choice("short mitre", length="30")),),
    "short mitre too long, outside": (
        *ell(270, 20, 25.5, choice("short mitre", length="26"), keys='left_end = "exposed"\nright_end = "exposed"'),
    ),
}


def put_right(remedy):
    """The joints that a remedy names, as job text."""
    made = [choice("butt", through=leg) for leg in re.findall(r'a butt with through = "(\w+)"', remedy)]
    return made + ([choice("mitre")] if "a mitre" in remedy else [])


@pytest.mark.parametrize("parts", SHORT.values(), ids=SHORT)
def test_a_joint_that_cannot_be_stops_and_its_remedies_do(parts):
    layout = lay_text(job_text(*parts, shop=LONG))
    laid = report(layout)
    (short,) = [f for f in laid["findings"] if f["code"] == "leg-too-short"]
    assert (short["severity"], short["subject"]) == ("stop", "A/B")
    # nothing is invented: the corner stays undivided, and is not cut
    assert (len(laid["pieces"]), laid["joints"]) == (1, [])
    assert layout.stopped == {"P1"}
    assert laid["pieces"][0]["area"] == about(laid["tops"][0]["gross_area"])
    assert short["at"] == about([100, 0])
    instead = put_right(short["remedy"])
    assert instead
    bare = [p for p in parts if not p.startswith("[[joint]]")]
    for joint in instead:
        again = told(*bare, joint, shop=LONG)
        assert "leg-too-short" not in codes(again)
        assert len(again["joints"]) == 1
        assert sum(p["area"] for p in again["pieces"]) == about(again["tops"][0]["gross_area"])


def test_a_mitre_that_cannot_be_names_both_butts():
    (short,) = [f for f in told(*SHORT["too unequal, first"])["findings"] if f["code"] == "leg-too-short"]
    assert put_right(short["remedy"]) == [choice("butt", through="A"), choice("butt", through="B")]


@pytest.mark.parametrize("between", [20, 45])
def test_legs_that_run_into_one_another_stop(between):
    # A and C face one another nearer than their two depths
    walls = wall("A", 80) + wall("B", between) + wall("C", 80)
    layout = lay_text(job_text(walls, run("ABC", {"A": 25, "B": 25, "C": 25})))
    short = [f for f in layout.findings if f.code == "leg-too-short"]
    assert short
    assert all(f.severity == "stop" for f in short)
    assert "lengthen the leg" in short[0].remedy
    assert layout.stopped == {p.id for p in layout.divided.pieces}
    assert layout.divided.joints == ()


def test_a_leg_that_ends_where_the_other_front_runs():
    # B ends at 25 1/2, A's depth: its front has no length, and its piece is the triangle beyond the mitre
    laid = told(*ell(90, 25.5, 25.5, keys='end = "25 1/2"'))
    assert [p["area"] for p in laid["pieces"]] == about([(100 + 74.5) / 2 * 25.5, 25.5**2 / 2])
    assert [j["kind"] for j in laid["joints"]] == ["mitre"]


@pytest.mark.parametrize("angle", [178, 179, 182])
def test_nearly_straight_and_unequal_stops_without_inventing_wood(angle):
    # 7 1/2 of unequal depth at 1 degree: the fronts meet some 430 from the corner
    laid = told(*ell(angle, 25.5, 18, keys='left_end = "exposed"\nright_end = "exposed"'), shop=LONG)
    assert "leg-too-short" in codes(laid)
    xs = [v[0] for v in laid["tops"][0]["outline"]]
    assert min(xs) > -1
    assert max(xs) < 201


def test_a_corner_left_undivided_leaves_the_others_divided():
    walls = wall("A", 100, 135) + wall("B", 100) + wall("C", 100)
    laid = told(walls, run("ABC", {"A": 25.5, "B": 18, "C": 18}), shop=LONG)
    assert [f["subject"] for f in laid["findings"] if f["code"] == "leg-too-short"] == ["A/B"]
    assert [(j["kind"], j["pieces"]) for j in laid["joints"]] == [("mitre", ["P1", "P2"])]
    assert sum(p["area"] for p in laid["pieces"]) == about(laid["tops"][0]["gross_area"])


# --- order ---------------------------------------------------------------------------------------------------------


def test_pieces_and_joints_are_numbered_along_each_run_in_file_order():
    # a U with a long middle leg, an island before it in the file, and a run after it
    walls = wall("A", 100) + wall("B", 260) + wall("C", 100, 270) + wall("D", 60)
    parts = [
        walls,
        '[[top]]\nname = "island"\nsize = ["200", "30"]\nat = ["400", "0"]\n',
        run("ABC", {"A": 24, "B": 24, "C": 24}, 'right_end = "exposed"'),
        run("D", {"D": 24}, name="last"),
    ]
    layout = lay_text(job_text(*parts))
    laid = report(layout)
    assert [(p["id"], p["top"]) for p in laid["pieces"]] == [
        ("P1", "island"), ("P2", "island"), ("P3", "run"), ("P4", "run"), ("P5", "run"), ("P6", "run"), ("P7", "last"),
    ]  # fmt: skip
    assert [(j["id"], j["kind"], j["pieces"]) for j in laid["joints"]] == [
        ("J1", "seam", ["P1", "P2"]),
        ("J2", "mitre", ["P3", "P4"]),
        ("J3", "seam", ["P4", "P5"]),
        ("J4", "mitre", ["P5", "P6"]),
    ]
    # left to right as one faces the wall: down along B
    tops = [max(v[1] for v in p["outline"]) for p in laid["pieces"][2:6]]
    assert tops == sorted(tops, reverse=True)


def test_a_range_parts_the_numbering_too():
    item = '[[appliance]]\nkind = "range"\ntop = "run"\nwall = "A"\nat = "30"\nwidth = "30"\n'
    laid = told(*ell(90, 24, 24, item))
    assert [(p["id"], p["part"]) for p in laid["pieces"]] == [("P1", 1), ("P2", 2), ("P3", 2)]
    assert [(j["id"], j["pieces"]) for j in laid["joints"]] == [("J1", ["P2", "P3"])]
    assert [t["part"] for t in laid["tops"]] == [1, 2]


@pytest.mark.parametrize(
    ("turn", "grain"), [(0, 0), (30, 30), (180, 0), (-30, 150), (-180, 0), (270, 90), (359.5, 179.5), (-360, 0)]
)
def test_grain_lies_from_0_to_180(turn, grain):
    laid = told(f'[[top]]\nname = "island"\nsize = ["84", "40"]\nturn = {turn}\n')
    assert laid["pieces"][0]["grain"] == about(grain)
    assert 0 <= laid["pieces"][0]["grain"] < 180


@pytest.mark.parametrize("corner", [60, 90, 92.25, 150, 185, 270, 300])
def test_grain_runs_along_each_wall(corner):
    keys = 'left_end = "exposed"\nright_end = "exposed"'
    laid = told(*ell(corner, 24, 24, keys=keys, lengths=(120, 120)))
    # the second wall lies 180 - corner to the right of the first
    assert [p["grain"] for p in laid["pieces"]] == about([0, corner % 180])


@pytest.mark.parametrize("turn", [179.9999996, -0.0000004])
def test_grain_a_hair_below_180_is_0(turn):
    laid = told(f'[[top]]\nname = "island"\nsize = ["84", "40"]\nturn = {turn}\n')
    assert 0 <= laid["pieces"][0]["grain"] < 180
