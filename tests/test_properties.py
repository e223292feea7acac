"""What holds for every job: on rooms at random, few every day and many in a sweep.

A room is mirrored by listing its walls the other way round, with stations from the other hand; turned by putting a wall
before its first one, at a right angle; islands and bars are moved by their place and turned by their turn.
"""

from __future__ import annotations

import itertools
import json
import math
import tomllib
from decimal import Decimal, localcontext

import pytest
import rooms
from hypothesis import HealthCheck, assume, given, settings
from shapely.geometry import Polygon
from shapely.strtree import STRtree

from layout.cutting import intersection, locate
from layout.files import packet_files
from layout.outline import arc_of
from layout.pipeline import lay_text
from layout.report import report
from layout.units import UNIT_MM, parse_length


def few(count):
    """Settings of the everyday run: the same few examples each time."""
    return settings(
        max_examples=count, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
    )


def many(count):
    """Settings of a sweep."""
    return settings(max_examples=count, deadline=None, suppress_health_check=list(HealthCheck))


def close(a, b, rel=1e-6, absolute=2e-6):
    return math.isclose(a, b, rel_tol=rel, abs_tol=absolute)


# --- every layout --------------------------------------------------------------------------------------------------


def pieces_make_their_tops(layout):
    """Pieces lie apart and are together the parts they belong to, to the last bit of an arc; cutouts come off them."""
    divided = layout.divided
    shapes = [Polygon(p.ring.flattened(0.01)) for p in divided.pieces]
    tree = STRtree(shapes)
    clash = {f.code for f in layout.findings} & {"tops-overlap", "leg-too-short"}
    for a, b in tree.query(shapes, predicate="intersects").T:
        if a < b and not (clash and divided.pieces[a].top != divided.pieces[b].top):
            # flattened, two arcs that touch may overlap by a sagitta
            assert shapes[a].intersection(shapes[b]).area < 1e-6 * shapes[a].area + 0.02 * shapes[a].length
    for part in divided.parts:
        mine = [p for p in divided.pieces if (p.top, p.part) == (part.top, part.number)]
        assert close(sum(p.ring.area for p in mine), part.ring.area)
        cutouts = [c for c in layout.laid.cutouts if c.top == part.top and not c.opens_front]
        taken = sum(r.area for c in cutouts for r in intersection(part.ring, c.ring))
        assert close(sum(p.area for p in mine) + taken, part.ring.area)
    for piece in divided.pieces:
        x0, y0, x1, y1 = piece.own_ring.bounds()
        assert close(x0, 0, absolute=1e-6)
        assert close(y0, 0, absolute=1e-6)
        assert close(piece.length, x1, absolute=1e-6)
        assert close(piece.width, y1, absolute=1e-6)


def corner_joints_end_on_their_corners(layout):
    """A mitre on both corners of its two legs; a butt on one of them, and at the other leg's edge."""
    for joint in layout.divided.joints:
        start, end = joint.points[0], joint.points[-1]
        for piece in (p for p in layout.divided.pieces if p.id in joint.pieces):
            assert all(locate(piece.ring, point)[2] < 1e-4 for point in joint.points)
        if joint.corner is None:
            continue
        top = next(t for t in layout.laid.tops if t.name == joint.top)
        names = [leg.wall.name for leg in top.legs]
        left, right = joint.corner.split("/")
        k = names.index(left)
        assert names[k + 1] == right
        corner = top.corners[k]
        inside = corner.angle < 180
        if joint.kind in ("mitre", "short mitre") or inside:
            assert math.dist(end, corner.front) < 1e-6
        if joint.kind == "mitre" or not inside:
            assert math.dist(start, corner.back) < 1e-6
        side_names = [locate_side(top, point) for point in (start, end)]
        assert side_names[0] <= {f"{left} back", f"{right} back"}
        assert side_names[1] <= {f"{left} front", f"{right} front"}


def locate_side(top, point):
    """The sides of a top that a point on its outline lies on."""
    k, share, gap = locate(top.ring, point)
    assert gap < 1e-4
    vertices = top.ring.vertices
    return {vertices[k].side} | ({vertices[k - 1].side} if share == 0.0 else set())


def no_piece_is_too_long_unsaid(layout):
    longest = float(layout.job.shop.max_length)
    told = {p for f in layout.findings if f.code in ("piece-too-long", "seam-none-possible") for p in f.pieces}
    for piece in layout.divided.pieces:
        assert piece.length <= longest + 1e-5 or piece.id in told


def numbers_run_on(layout):
    divided = layout.divided
    assert [p.id for p in divided.pieces] == [f"P{k}" for k in range(1, len(divided.pieces) + 1)]
    assert [j.id for j in divided.joints] == [f"J{k}" for k in range(1, len(divided.joints) + 1)]
    order = [t.name for t in layout.job.top]
    assert [order.index(p.top) for p in divided.pieces] == sorted(order.index(p.top) for p in divided.pieces)
    firsts = [int(j.pieces[0][1:]) for j in divided.joints]
    assert firsts == sorted(firsts)


def findings_are_sound(layout):
    ids = {p.id for p in layout.divided.pieces}
    spots = [p for w in layout.laid.room.walls for p in (w.start, w.end)]
    for top in layout.laid.tops:
        x0, y0, x1, y1 = top.ring.bounds()
        spots += [(x0, y0), (x1, y1)]
    low = [min(p[axis] for p in spots) for axis in (0, 1)]
    high = [max(p[axis] for p in spots) for axis in (0, 1)]
    for found in layout.findings:
        assert found.message
        assert found.remedy
        assert set(found.pieces) <= ids
        if found.at is not None:
            assert all(low[axis] - 1 <= found.at[axis] <= high[axis] + 1 for axis in (0, 1))
    assert layout.stopped == {p for f in layout.findings if f.severity == "stop" for p in f.pieces}


def the_report_is_sound(layout):
    """Plain finite numbers; outlines counter-clockwise, no vertex in the middle of a straight line."""
    told = report(layout)
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert [p["grain"] for p in told["pieces"] if not 0 <= p["grain"] < 180] == []
    for entry in (*told["tops"], *told["pieces"], *told["cutouts"]):
        outline = entry["outline"]
        assert area_of(outline) > 0
        count = len(outline)
        for k in range(count):
            (ax, ay, first), (bx, by, second), (cx, cy, _) = (outline[(k + n) % count] for n in range(3))
            assert math.hypot(bx - ax, by - ay) > 1e-6
            if first == 0 and second == 0:
                off = abs((bx - ax) * (cy - by) - (by - ay) * (cx - bx)) / math.hypot(cx - ax, cy - ay)
                assert off > 1e-6, (entry.get("id", entry.get("name")), bx, by)
    for top in told["tops"]:
        assert close(top["gross_area"], area_of(top["outline"]), rel=1e-5)
        assert top["net_area"] <= top["gross_area"] + 1e-6
    for joint in told["joints"]:
        assert all(0 <= angle <= 90 for angle in joint["angles"])
        assert close(
            joint["length"], sum(math.dist(p, q) for p, q in itertools.pairwise(joint["points"])), absolute=1e-5
        )


def area_of(outline):
    """By the shoelace formula and a circular segment for each bulge: (sweep - sin sweep) r^2 / 2."""
    total = 0.0
    for (ax, ay, bulge), (bx, by, _) in zip(outline, outline[1:] + outline[:1], strict=True):
        total += (ax * by - bx * ay) / 2
        if bulge:
            sweep = 4 * math.atan(bulge)
            radius = math.hypot(bx - ax, by - ay) / 2 / math.sin(abs(sweep) / 2)
            total += radius**2 * (sweep - math.sin(sweep)) / 2
    return total


def arcs_stay_arcs(layout):
    """Every arc of a piece lies on an arc of its top or of a cutout."""
    circles = [arc_of(a, b) for t in layout.laid.tops for a, b in t.ring.edges() if a.bulge]
    circles += [arc_of(a, b) for c in layout.laid.cutouts for a, b in c.ring.edges() if a.bulge]
    for piece in layout.divided.pieces:
        for a, b in piece.ring.edges():
            arc = arc_of(a, b)
            assert arc is None or any(
                close(arc.radius, c.radius, absolute=1e-4) and math.dist((arc.cx, arc.cy), (c.cx, c.cy)) < 1e-3
                for c in circles
            )


ALWAYS = (
    pieces_make_their_tops,
    corner_joints_end_on_their_corners,
    no_piece_is_too_long_unsaid,
    numbers_run_on,
    findings_are_sound,
    the_report_is_sound,
    arcs_stay_arcs,
)


def holds_always(text):
    layout = lay_text(text)
    for property_ in ALWAYS:
        property_(layout)


@given(rooms.jobs())
@few(20)
def test_what_holds_for_every_job(text):
    holds_always(text)


@pytest.mark.parametrize("seed", range(20))
def test_what_holds_for_jobs_by_number(seed):
    holds_always(rooms.random_job(seed))


@pytest.mark.sweep
@given(rooms.jobs())
@many(300)
def test_what_holds_for_every_job_in_a_sweep(text):
    holds_always(text)


@pytest.mark.sweep
@pytest.mark.parametrize("seed", range(20, 420))
def test_what_holds_for_jobs_by_number_in_a_sweep(seed):
    holds_always(rooms.random_job(seed))


# --- moved, turned, mirrored ---------------------------------------------------------------------------------------


class Measures:
    """Lengths of one job, exactly, and back to text."""

    def __init__(self, job):
        self.units = job["job"]["units"]
        self.walls = {w["name"]: self.mm(w["length"]) for w in job.get("wall", [])}

    def mm(self, value):
        return parse_length(value, self.units).mm

    def text(self, mm):
        with localcontext() as exact:
            exact.prec = 36
            number = Decimal(mm.numerator) / Decimal(mm.denominator)
        return f"{number.normalize():f} mm"

    def shifted(self, value, by):
        return self.text(self.mm(value) + by)


OTHER = {"left": "right", "right": "left"}


def other_hand(name):
    return " ".join(OTHER.get(word, word) for word in name.split())


def runs_alone(job):
    """The job with its runs and what is on them, without islands and bars."""
    names = {t["name"] for t in job["top"] if "along" in t}
    kept = {**job, "top": [t for t in job["top"] if t["name"] in names]}
    for table in ("cutout", "support", "joint", "appliance"):
        kept[table] = [t for t in job.get(table, []) if t["top"] in names]
    return kept


def mirrored(job):
    """The job of a room seen in a mirror."""
    at = Measures(job)
    new = dict(job)
    walls = job["wall"]
    new["wall"] = [mirrored_wall(at, walls, k) for k in reversed(range(len(walls)))]
    for table in ("window", "appliance", "cabinet"):
        new[table] = [mirrored_stretch(at, t) for t in job.get(table, [])]
    for table, key in (("cutout", "center"), ("support", "center")):
        new[table] = [mirrored_place(t, key) for t in job.get(table, [])]
    new["measure"] = [
        {**m, "from": mirrored_spot(at, m["from"]), "to": mirrored_spot(at, m["to"])} for m in job.get("measure", [])
    ]
    new["top"] = [mirrored_run(at, t) for t in job["top"]]
    new["joint"] = [mirrored_place(j, "at") for j in job.get("joint", []) if "at" in j]
    settled = {(j["top"], j["corner"]): j for j in job.get("joint", []) if "corner" in j}
    for top in job["top"]:
        for pair in itertools.pairwise(top["along"]):
            joint = settled.get((top["name"], "/".join(pair)), {"top": top["name"]})
            kind = joint.get("kind", job.get("shop", {}).get("corner_joint", "mitre"))
            made = {**joint, "corner": "/".join(pair[::-1]), "kind": kind}
            if kind != "mitre":
                made.setdefault("through", pair[0])
            new["joint"].append(made)
    return {k: v for k, v in new.items() if v != []}


def mirrored_wall(at, walls, k):
    wall = dict(walls[k])
    corner = walls[k - 1].get("corner", 90)
    wall["corner"] = [corner[1], corner[0], corner[2]] if isinstance(corner, list) else corner
    if "bow" in wall:
        length = at.walls[wall["name"]]
        wall["bow"] = [[at.text(length - at.mm(s)), depth] for s, depth in reversed(wall["bow"])]
    return wall


def mirrored_stretch(at, table):
    """What has its left side at a station and a width."""
    from_right = table.get("from") == "right"
    width = at.mm(table["width"])
    new = {**table, "at": at.shifted(table["at"], -width if from_right else width)}
    new["from"] = "left" if from_right else "right"
    return new


def mirrored_place(table, key):
    new = dict(table)
    if "wall" in table and not str(table[key]).startswith("window"):
        new["from"] = OTHER[table.get("from", "left")]
    if "turn" in table:
        new["turn"] = -table["turn"]
    return new


def mirrored_spot(at, text):
    name, _, place = text.partition(" ")
    ends = {"start": "end", "end": "start"}
    return f"{name} {ends.get(place) or at.text(at.walls[name] - at.mm(place))}"


def mirrored_run(at, top):
    new = {k: v for k, v in top.items() if k not in ("start", "end")}
    first, last = top["along"][0], top["along"][-1]
    new["along"] = top["along"][::-1]
    if "end" in top:
        new["start"] = at.text(at.walls[last] - at.mm(top["end"]))
    if at.mm(top.get("start", 0)):
        new["end"] = at.text(at.walls[first] - at.mm(top["start"]))
    for key in [k for k in top if k.startswith(("left_", "right_"))]:
        del new[key]
    for key in [k for k in top if k.startswith(("left_", "right_"))]:
        hand, _, rest = key.partition("_")
        new[f"{OTHER[hand]}_{rest}"] = top[key]
    for key in ("corners", "splash"):
        if isinstance(top.get(key), dict):
            new[key] = {other_hand(name): value for name, value in top[key].items()}
    return new


def turned(job):
    """The same room behind another wall, square to its first one: all of it turned by a quarter to the right."""
    number = {"in": "77 3/16", "mm": "1961"}[job["job"]["units"]]
    return {**job, "wall": [{"name": "before-all", "length": number, "corner": 90}, *job["wall"]]}


def moved(job):
    """The same islands and bars in other places, turned."""
    at = Measures(job)
    by = (at.mm(37), at.mm(-11))
    tops = []
    for top in job["top"]:
        new = dict(top)
        if "along" not in top:
            new["turn"] = (top.get("turn", 0) + 73.5) % 360
            if "at" in top:
                new["at"] = [at.shifted(c, d) for c, d in zip(top["at"], by, strict=True)]
        tops.append(new)
    return {**job, "top": tops}


def lengths_and_areas(told, backwards=False, summed=False):
    """What no move may change, top by top; from right to left if ``backwards``.

    Of two seams as good the left one is taken, from either hand: a run with seams is ``summed`` up for a mirror.
    """
    step = -1 if backwards else 1
    seams = any(j["kind"] == "seam" for j in told["joints"])
    tops = [(t["gross_area"], t["net_area"], *sorted(e["length"] for e in t["edges"])) for t in told["tops"]]
    pieces = [(p["length"], p["width"], p["area"], p["weight"]) for p in told["pieces"]]
    joints = [(j["length"], *j["angles"][::step]) for j in told["joints"] if j["kind"] != "seam"]
    over = sorted((side_of(o["side"], backwards), o["amount"]) for o in told["overhangs"])
    measures = [(m["measured"], m["computed"]) for m in told["room"]["measures"]]
    cutouts = [c["area"] for c in told["cutouts"]]
    if summed and seams:  # the squares of the lengths are what a seam is chosen by
        pieces = [(len(pieces), sum(p[0] ** 2 for p in pieces), sum(p[2] for p in pieces))]
    return [
        *tops[::step],
        *pieces[::step],
        *joints[::step],
        *((amount,) for _, amount in over),
        *measures,
        tuple(cutouts),
    ]


def side_of(name, backwards):
    return other_hand(name) if backwards else name


def same(first, second):
    assert [len(row) for row in first] == [len(row) for row in second]
    for one, two in zip(first, second, strict=True):
        assert all(close(a, b, rel=1e-7, absolute=5e-6) for a, b in zip(one, two, strict=True)), (one, two)


def same_points(first, second):
    return len(first) == len(second) and all(math.dist(a, b) < 1e-5 for a, b in zip(first, second, strict=True))


def codes(layout):
    return sorted((f.code, f.severity) for f in layout.findings if f.code != "tops-overlap")


def mirrors(text):
    job = tomllib.loads(text)
    assume(any("along" in t for t in job["top"]))
    job = runs_alone(job)
    first, second = (lay_text(rooms.toml_text(j)) for j in ({k: v for k, v in job.items() if v != []}, mirrored(job)))
    same(lengths_and_areas(report(first), summed=True), lengths_and_areas(report(second), backwards=True, summed=True))
    assert codes(first) == codes(second)
    # twice mirrored is the same again
    again = lay_text(rooms.toml_text(mirrored(mirrored(job))))
    for a, b in zip(first.divided.pieces, again.divided.pieces, strict=True):
        assert same_points(a.ring.points, b.ring.points)


def turns(text):
    job = tomllib.loads(text)
    assume(any("along" in t for t in job["top"]) and not job["room"].get("closed"))
    first, second = lay_text(text), lay_text(rooms.toml_text(turned(job)))
    same(lengths_and_areas(report(first)), lengths_and_areas(report(second)))
    assert codes(first) == codes(second)
    x0 = second.laid.room.walls[0].length
    runs = {t.name for t in second.laid.tops if t.shape == "run"}
    for a, b in zip(first.divided.pieces, second.divided.pieces, strict=True):
        if a.top in runs:  # (x, y) lies a quarter to the right, at (x0 + y, -x)
            assert same_points([(x0 + y, -x) for x, y in a.ring.points], b.ring.points)


def moves(text):
    job = tomllib.loads(text)
    assume(any("along" not in t for t in job["top"]))
    first, second = lay_text(text), lay_text(rooms.toml_text(moved(job)))
    same(lengths_and_areas(report(first)), lengths_and_areas(report(second)))
    assert codes(first) == codes(second)
    turn = {p.id: p.leg.frame.angle for p in first.divided.pieces}
    for piece in second.divided.pieces:
        by = 0.0 if any(t["name"] == piece.top and "along" in t for t in job["top"]) else math.radians(73.5)
        assert close(math.remainder(piece.leg.frame.angle - turn[piece.id] - by, 2 * math.pi), 0, absolute=1e-9)


@given(rooms.jobs())
@few(8)
def test_a_mirror_changes_no_length_or_area(text):
    mirrors(text)


@given(rooms.jobs())
@few(8)
def test_turning_a_room_changes_no_length_or_area(text):
    turns(text)


@given(rooms.jobs())
@few(6)
def test_moving_an_island_changes_no_length_or_area(text):
    moves(text)


@pytest.mark.sweep
@given(rooms.jobs())
@many(200)
def test_moves_change_no_length_or_area_in_a_sweep(text):
    for property_ in (mirrors, turns, moves):
        property_(text)


# --- the same again ------------------------------------------------------------------------------------------------


def comes_out_the_same(text):
    first, second = lay_text(text), lay_text(text)
    assert report(first) == report(second)
    one, two = packet_files(first), packet_files(second)
    assert list(one) == list(two)
    assert [name for name in one if one[name] != two[name]] == []
    # the cut files are those of the pieces that nothing stops
    cut = {f"cut/{p.id}.dxf" for p in first.divided.pieces if p.id not in first.stopped}
    assert {name for name in one if name.startswith("cut/") and "-below" not in name} == cut | (
        {"cut/blanks.dxf"} if cut else set()
    )
    assert list(one)[-1] == "report.json"


@given(rooms.jobs())
@few(2)
def test_the_same_job_comes_out_the_same(text):
    comes_out_the_same(text)


@pytest.mark.sweep
@pytest.mark.parametrize("seed", range(40))
def test_the_same_job_comes_out_the_same_in_a_sweep(seed):
    comes_out_the_same(rooms.random_job(seed))


@pytest.mark.parametrize("units", ["in", "mm"])
def test_a_room_in_inches_and_in_mm_is_the_same_room(units):
    # 254 and 635 and 5080 mm are 10, 25 and 200 in
    measures = {"in": ("200", "25", "10"), "mm": ("5080", "635", "254")}[units]
    shop = 'max_length = "168 in"\nwall_gap = "1/8 in"\nmin_piece = "24 in"\nseam_clear = "6 in"'
    text = (
        f'[job]\ntitle = "t"\nnumber = "1"\nunits = "{units}"\n[wood]\nspecies = "cherry"\nthickness = "38 mm"\n'
        f'[shop]\n{shop}\n[[wall]]\nname = "A"\nlength = "{measures[0]}"\n'
        f'[[top]]\nname = "run"\nalong = ["A"]\ndepth = "{measures[1]}"\nstart = "{measures[2]}"\n'
    )
    layout = lay_text(text)
    told = report(layout)
    unit = float(UNIT_MM[units])
    # from 10 to 199 7/8, 24 7/8 deep; a seam near the middle, on a sixteenth or a whole mm
    assert sum(p["length"] for p in told["pieces"]) * unit == pytest.approx(189.875 * 25.4)
    assert told["tops"][0]["gross_area"] * unit**2 == pytest.approx(189.875 * 24.875 * 25.4**2)
    assert len(told["pieces"]) == 2
    assert abs(told["pieces"][0]["length"] - told["pieces"][1]["length"]) * unit <= 25.4 / 16 + 1
