"""Rings with arcs against closed forms and against shapely on fine flattenings.

The arc used again and again has chord 8 and rise 2: by the theorem of Pythagoras on half the chord, radius
(4 * 4 + 2 * 2) / (2 * 2) = 5, so that half the chord, the rest of the radius and the radius are 4, 3 and 5.
"""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from layout import region
from layout.cutting import (
    CornerShape,
    crossings,
    difference,
    intersection,
    line_crossings,
    locate,
    reversed_ring,
    split,
    with_corners,
)
from layout.outline import (
    Frame,
    Line,
    Ring,
    Vertex,
    arc_of,
    circle,
    edge_heading,
    edge_length,
    edge_point,
    polygon_ring,
    rectangle,
)

SWEEP = 2 * math.atan2(4, 3)
"""Of the arc with chord 8, rise 2 and radius 5 (rad)."""
SEGMENT = (25 * SWEEP - 24) / 2
"""Area between that arc and its chord: r^2 (sweep - sin sweep) / 2, and sin sweep = 2 * 4/5 * 3/5 = 24/25."""


def ring(*vertices):
    return Ring(tuple(Vertex(*v) for v in vertices))


def half_disc(r):
    """The half of a disc below the x axis, its diameter from (0, 0) to (2r, 0)."""
    return ring((0, 0, 1.0, "arc"), (2 * r, 0, 0.0, "top"))


SEGMENT_RING = ring((0, 0, 0.5), (8, 0))
"""A circular segment: bulge tan(sweep / 4) = twice the rise over the chord = 0.5."""


# --- random shapes -------------------------------------------------------------------------------------------------

size = st.floats(-200, 200)


@st.composite
def convex_rings(draw, straight=False):
    """Points on a circle of radius 100; an edge is straight, or an arc no rounder than that: convex for certain."""
    count = draw(st.integers(3, 8))
    weights = [draw(st.floats(0.4, 1)) for _ in range(count)]
    gaps = [2 * math.pi * w / sum(weights) for w in weights]
    angle, vertices = draw(st.floats(0, 6)), []
    for k, gap in enumerate(gaps):
        roundness = 0.0 if straight else draw(st.one_of(st.just(0.0), st.floats(0.1, 1)))
        bulge = math.tan(gap / 4) * roundness
        vertices.append(Vertex(100 * math.cos(angle), 100 * math.sin(angle), bulge, f"edge {k}"))
        angle += gap
    return Ring(tuple(vertices))


@st.composite
def stars(draw):
    """Simple rings with corners in and out and arcs in and out."""
    count = draw(st.integers(3, 8))
    vertices = []
    for k in range(count):
        angle = 2 * math.pi * (k + draw(st.floats(-0.25, 0.25))) / count
        reach = draw(st.floats(45, 100))
        bulge = draw(st.one_of(st.just(0.0), st.floats(0.02, 0.3), st.floats(-0.3, -0.02)))
        vertices.append(Vertex(reach * math.cos(angle), reach * math.sin(angle), bulge, f"edge {k}"))
    made = Ring(tuple(vertices))
    assume(fine(made).is_valid)
    return made


@st.composite
def holes(draw):
    """A circle or a rounded rectangle about anywhere; its measures are odd so that no edge lies along a star's."""
    x, y = draw(st.integers(-90, 90)) + 0.0137, draw(st.integers(-90, 90)) + 0.0291
    wide, deep = draw(st.integers(10, 80)) + 0.0173, draw(st.integers(10, 80)) + 0.0119
    if draw(st.booleans()):
        return circle(x, y, wide, "hole")
    box = rectangle(-wide / 2, -deep / 2, wide / 2, deep / 2, ("hole",) * 4)
    radius = min(wide, deep) * draw(st.sampled_from([0.0, 0.1, 0.3]))
    if radius:
        box = with_corners(box, {k: (CornerShape(radius=radius), "hole") for k in range(4)})
    return box.moved(Frame(x, y, draw(st.floats(0.01, 6))).to_plan)


def fine(shape):
    return Polygon(shape.flattened(1e-4))


def slack(*shapes):
    """How far two flattenings within 1e-4 may be out in area: that over all their length, and a little."""
    return 2e-4 * sum(sum(edge_length(a, b) for a, b in s.edges()) for s in shapes) + 1e-6


# --- area, length, bounds ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shape", "area"),
    [
        (circle(3, -7, 5), 25 * math.pi),
        (half_disc(5), 12.5 * math.pi),
        (SEGMENT_RING, SEGMENT),
        # the other part of the same circle: bulge 1 / 0.5, a sweep beyond half a turn
        (ring((8, 0, 2.0), (0, 0)), 25 * math.pi - SEGMENT),
        # a lens of two such arcs
        (ring((0, 0, 0.5), (8, 0, 0.5)), 2 * SEGMENT),
        # a rectangle 8 x 6 with one edge risen outwards, one inwards, one of each
        (ring((0, 0, 0.5), (8, 0), (8, 6), (0, 6)), 48 + SEGMENT),
        (ring((0, 0, -0.5), (8, 0), (8, 6), (0, 6)), 48 - SEGMENT),
        (ring((0, 0, -0.5), (8, 0), (8, 6, 0.5), (0, 6)), 48),
        (rectangle(-1, -2, 3, 5), 28),
        (polygon_ring([(0, 0), (4, 0), (0, 3)]), 6),
    ],
)
def test_area_in_closed_form(shape, area):
    assert shape.area == pytest.approx(area, rel=1e-13)
    assert reversed_ring(shape).area == pytest.approx(-area, rel=1e-13)
    # far from the origin nothing of it is lost but what the coordinates themselves lose
    assert shape.moved(Frame(1e5, -1e5, 1.0).to_plan).area == pytest.approx(area, rel=1e-9)


def test_an_edge_on_its_arc():
    a, b = Vertex(0, 0, 0.5), Vertex(8, 0)
    arc = arc_of(a, b)
    assert (arc.cx, arc.cy, arc.radius, arc.sweep) == pytest.approx((4, 3, 5, SWEEP), abs=1e-12)
    assert edge_length(a, b) == pytest.approx(5 * SWEEP)
    assert edge_point(a, b, 0.5) == pytest.approx((4, -2), abs=1e-12)
    # it leaves at half the sweep below the chord, and comes in as much above it
    assert [edge_heading(a, b, t) for t in (0, 0.5, 1)] == pytest.approx([-SWEEP / 2, 0, SWEEP / 2], abs=1e-12)
    risen = Vertex(0, 0, -0.5)
    assert edge_point(risen, b, 0.5) == pytest.approx((4, 2), abs=1e-12)
    assert edge_heading(risen, b, 0.0) == pytest.approx(SWEEP / 2)


@pytest.mark.parametrize(
    ("shape", "frame", "bounds"),
    [
        (circle(3, -7, 5), None, (-2, -12, 8, -2)),
        (half_disc(5), None, (0, -5, 10, 0)),
        (SEGMENT_RING, None, (0, -2, 8, 0)),
        (ring((8, 0, 2.0), (0, 0)), None, (-1, 0, 9, 8)),
        # a quarter disc about the origin, seen along its middle: the corner behind, the arc's middle in front
        (
            ring((0, 0), (5, 0, math.tan(math.pi / 8)), (0, 5)),
            Frame(0, 0, math.pi / 4),
            (0, -5 / math.sqrt(2), 5, 5 / math.sqrt(2)),
        ),
        (rectangle(0, 0, 4, 2), Frame(1, 1, math.pi / 2), (-1, -3, 1, 1)),
    ],
)
def test_bounds_of_arcs(shape, frame, bounds):
    assert shape.bounds(frame) == pytest.approx(bounds, abs=1e-12)


@given(stars(), st.floats(-6, 6))
@settings(deadline=None)
def test_bounds_are_those_of_many_points(shape, angle):
    frame = Frame(3.0, -4.0, angle)
    points = [frame.from_plan(edge_point(a, b, k / 400)) for a, b in shape.edges() for k in range(400)]
    seen = (
        min(x for x, _ in points),
        min(y for _, y in points),
        max(x for x, _ in points),
        max(y for _, y in points),
    )
    made = shape.bounds(frame)
    # never within a point, and beyond the points by no more than an arc rises between two of them
    assert all(m <= s + 1e-9 for m, s in zip(made[:2], seen[:2], strict=True))
    assert all(m >= s - 1e-9 for m, s in zip(made[2:], seen[2:], strict=True))
    assert made == pytest.approx(seen, abs=1e-3)


@given(stars())
@settings(deadline=None)
def test_area_is_that_of_the_flattened_ring(shape):
    assert shape.area == pytest.approx(fine(shape).area, abs=slack(shape))
    assert reversed_ring(shape).area == pytest.approx(-shape.area, rel=1e-12)
    assert reversed_ring(reversed_ring(shape)).area == pytest.approx(shape.area, rel=1e-12)


@given(stars(), st.sampled_from([1.0, 0.05, 0.002]))
@settings(deadline=None)
def test_chords_stray_by_the_sagitta_at_most(shape, sagitta):
    points = shape.flattened(sagitta)
    assert set(shape.points) <= set(points)
    outline = LineString([*points, points[0]])
    for a, b in shape.edges():
        arc = arc_of(a, b)
        for k in range(101):
            assert outline.distance(shapely.Point(edge_point(a, b, k / 100))) <= sagitta * (1 + 1e-6)
        if arc is not None:  # and chords end on the arc
            near = [p for p in points if 0 < arc.share(p) < 1 and locate(ring_of_edge(a, b), p)[2] < 1e-9]
            assert all(math.dist(p, (arc.cx, arc.cy)) == pytest.approx(arc.radius, abs=1e-9) for p in near)
            assert near


def ring_of_edge(a, b):
    return Ring((a, Vertex(b.x, b.y, 0.0)))


@given(stars(), st.integers(-110, 110), st.integers(-110, 110))
@settings(deadline=None)
def test_contains_as_shapely_does(shape, x, y):
    point = (x + 0.0137, y - 0.0271)
    polygon = fine(shape)
    assume(polygon.exterior.distance(shapely.Point(point)) > 1e-3)
    assert shape.contains(point) == polygon.contains(shapely.Point(point))
    assert reversed_ring(shape).contains(point) == shape.contains(point)


@pytest.mark.parametrize(
    ("point", "inside"),
    [
        ((4, 1), True),
        ((4, -1.99), True),
        ((4, -2.01), False),
        ((0.5, 0), True),
        ((8.01, 1), False),
        ((-0.01, 1), False),
    ],
)
def test_contains_on_the_chord_and_beside_the_arc(point, inside):
    assert ring((0, 0, 0.5), (8, 0), (8, 6), (0, 6)).contains(point) is inside


# --- frames and lines ----------------------------------------------------------------------------------------------


@given(size, size, st.floats(-7, 7), size, size)
@settings(deadline=None)
def test_frame_there_and_back(x, y, angle, px, py):
    frame = Frame(x, y, angle)
    assert frame.from_plan(frame.to_plan((px, py))) == pytest.approx((px, py), abs=1e-9)
    assert frame.to_plan(frame.from_plan((px, py))) == pytest.approx((px, py), abs=1e-9)
    assert math.dist(frame.to_plan((px, py)), (x, y)) == pytest.approx(math.hypot(px, py), abs=1e-9)


def test_frame_by_hand():
    # x of the frame points up in plan, so its y points to the left
    frame = Frame(10, 20, math.pi / 2)
    assert frame.to_plan((3, 1)) == pytest.approx((9, 23))
    assert frame.from_plan((9, 23)) == pytest.approx((3, 1))


def test_moving_keeps_bulges_and_area():
    moved = SEGMENT_RING.moved(Frame(7, 7, 2.0).to_plan)
    assert [v.bulge for v in moved.vertices] == [0.5, 0.0]
    assert moved.area == pytest.approx(SEGMENT, rel=1e-12)


def test_lines():
    line = Line(1, 2, 0.6, 0.8)
    assert line.point(5) == pytest.approx((4, 6))
    assert line.along((4, 6)) == pytest.approx(5)
    assert line.left_of((1 - 0.8, 2 + 0.6)) == pytest.approx(1)
    # 5 to the right of a line that runs up to the right lies below it
    assert line.offset_right(5).point(0) == pytest.approx((5, -1))
    assert line.meets(Line(0, 6, 1, 0)) == pytest.approx((4, 6))
    assert line.meets(Line(9, 9, -0.6, -0.8)) is None


# --- crossings -----------------------------------------------------------------------------------------------------


def crossing_points(a, b, c, d):
    return sorted(edge_point(a, b, t) for t, _ in crossings(a, b, c, d))


@pytest.mark.parametrize(
    ("first", "second", "points"),
    [
        # two straight edges; past the end of one; parallel
        (((0, 0), (4, 4)), ((0, 4), (4, 0)), [(2, 2)]),
        (((0, 0), (1, 1)), ((0, 4), (4, 0)), []),
        (((0, 0), (4, 0)), ((0, 1), (4, 1)), []),
        # straight and arc: the lower half of the circle of radius 5 about (5, 0); its chord of 8 lies 3 from the centre
        (((0, -3), (10, -3)), ((0, 0, 1.0), (10, 0)), [(1, -3), (9, -3)]),
        (((5, -3), (10, -3)), ((0, 0, 1.0), (10, 0)), [(9, -3)]),
        (((0, 3), (10, 3)), ((0, 0, 1.0), (10, 0)), []),
        # two arcs of radius 5, centres 8 apart: 3 above and below the middle between them; here below
        (((0, 0, 1.0), (10, 0)), ((8, 0, 1.0), (18, 0)), [(9, -3)]),
        (((0, 0, 1.0), (10, 0)), ((8, 0, -1.0), (18, 0)), []),
    ],
)
def test_crossings_by_hand(first, second, points):
    a, b, c, d = (Vertex(*v) for v in (*first, *second))
    assert crossing_points(a, b, c, d) == [pytest.approx(p, abs=1e-9) for p in points]
    assert crossing_points(c, d, a, b) == [pytest.approx(p, abs=1e-9) for p in points]


def test_line_meets_a_ring():
    shape = ring((0, 0, 0.5), (8, 0), (8, 6), (0, 6))
    assert line_crossings(shape, Line(4, 10, 0, -1)) == pytest.approx([4, 12])
    # through two opposite corners, each met by two edges
    assert line_crossings(shape, Line(0, 6, 0.8, -0.6)) == pytest.approx([0, 10])
    # square to the middle, 4/5 of the way down the arc: y = 3 - sqrt(25 - 9)
    assert line_crossings(shape, Line(1, 6, 0, -1)) == pytest.approx([0, 7])
    assert line_crossings(shape, Line(20, 0, 0, 1)) == []


def test_locate_names_edge_share_and_distance():
    shape = ring((0, 0, 0.5), (8, 0), (8, 6), (0, 6))
    assert locate(shape, (9, 3)) == (1, pytest.approx(0.5), pytest.approx(1))
    assert locate(shape, (4, -4)) == (0, pytest.approx(0.5), pytest.approx(2))
    assert locate(shape, (8, 6)) == (2, 0.0, pytest.approx(0))


# --- splitting -----------------------------------------------------------------------------------------------------


def test_a_seam_cuts_an_arc_on_the_arc():
    # a half disc of radius 100, cut square to its diameter 20 left of its centre
    disc = half_disc(100)
    left, right = split(disc, [(80, 0), (80, -math.sqrt(100**2 - 20**2))], "seam")
    sweeps = 0.0
    for part in (left, right):
        arcs = [(a, b, arc_of(a, b)) for a, b in part.edges() if a.bulge]
        assert len(arcs) == 1
        a, b, arc = arcs[0]
        for v in (a, b):
            assert math.dist(v.at, (100, 0)) == pytest.approx(100, abs=1e-9)
        assert (arc.cx, arc.cy, arc.radius) == pytest.approx((100, 0, 100), abs=1e-9)
        assert a.side == "arc"
        sweeps += arc.sweep
    assert sweeps == pytest.approx(math.pi, abs=1e-12)
    # the segment beyond a chord at distance d: R^2 acos(d / R) - d sqrt(R^2 - d^2), here half of it
    segment = (100**2 * math.acos(0.2) - 20 * math.sqrt(100**2 - 20**2)) / 2
    assert left.area == pytest.approx(segment, rel=1e-12)
    assert left.area + right.area == pytest.approx(disc.area, rel=1e-12)
    assert [v.side for v in right.vertices] == ["arc", "top", "seam"]
    assert sorted(v.side for v in left.vertices) == ["arc", "seam", "top"]


def test_the_part_on_the_right_comes_first():
    # from the back of a box to its front: right of that path is, seen facing the back, the left part
    box = rectangle(0, 0, 10, 4, ("front", "right", "back", "left"))
    first, second = split(box, [(3, 4), (3, 0)], "j", "k")
    assert first.bounds() == (0, 0, 3, 4)
    assert second.bounds() == (3, 0, 10, 4)
    assert (first.side_length("j"), first.side_length("k")) == (4, 0)
    assert (second.side_length("j"), second.side_length("k")) == (0, 4)
    assert (first.side_length("front"), second.side_length("front")) == (3, 7)


@pytest.mark.parametrize(
    ("path", "areas"),
    [
        # bent, corner to corner, and from one edge back to the same edge either way round
        ([(3, 4), (3, 2), (5, 2), (5, 0)], (16, 24)),
        ([(0, 4), (10, 0)], (20, 20)),
        ([(2, 0), (2, 1), (6, 1), (6, 0)], (4, 36)),
        ([(6, 0), (6, 1), (2, 1), (2, 0)], (36, 4)),
    ],
)
def test_split_along_a_path(path, areas):
    box = rectangle(0, 0, 10, 4)
    first, second = split(box, path)
    assert (first.area, second.area) == pytest.approx(areas)
    assert first.side_length("joint") == pytest.approx(LineString(path).length)


def test_split_by_a_path_between_two_places_on_one_arc():
    # a chord of 8 across a half disc of radius 5 takes the segment below it
    disc = half_disc(5)
    first, second = split(disc, [(9, -3), (1, -3)])
    areas = sorted([first.area, second.area])
    assert areas == pytest.approx([SEGMENT, 12.5 * math.pi - SEGMENT], rel=1e-12)


def test_a_path_that_does_not_reach_is_refused():
    box = rectangle(0, 0, 10, 4)
    with pytest.raises(ValueError, match="does not reach"):
        split(box, [(3, 4), (3, 0.01)])
    with pytest.raises(ValueError, match="does not reach"):
        split(box, [(3, 4.01), (3, 0)])


@st.composite
def cuts(draw, shapes):
    """A convex ring and a chord of it, between two of its edges."""
    shape = draw(shapes)
    n = len(shape.vertices)
    i = draw(st.integers(0, n - 1))
    j = (i + draw(st.integers(1, n - 1))) % n
    ends = []
    for k in (i, j):
        a, b = shape.vertices[k], shape.vertices[(k + 1) % n]
        ends.append(edge_point(a, b, draw(st.floats(0.05, 0.95))))
    return shape, ends


@given(cuts(convex_rings()))
@settings(deadline=None)
def test_split_conserves_area_and_arcs(cut):
    shape, ends = cut
    parts = split(shape, ends)
    assert sum(p.area for p in parts) == pytest.approx(shape.area, rel=1e-12)
    assert all(p.area > 0 for p in parts)
    circles = {a.side: arc_of(a, b) for a, b in shape.edges() if a.bulge}
    turned = dict.fromkeys(circles, 0.0)
    for part in parts:
        for a, b in part.edges():
            if a.side not in circles:
                assert a.bulge == 0
                continue
            whole, arc = circles[a.side], arc_of(a, b)
            for v in (a, b):
                assert math.dist(v.at, (whole.cx, whole.cy)) == pytest.approx(whole.radius, abs=1e-9)
            # a flat arc's centre is far off, and known the less well
            assert (arc.cx, arc.cy, arc.radius) == pytest.approx((whole.cx, whole.cy, whole.radius), rel=1e-7, abs=1e-6)
            turned[a.side] += arc.sweep
    assert turned == pytest.approx({side: arc.sweep for side, arc in circles.items()}, abs=1e-9)


@given(cuts(convex_rings()))
@settings(deadline=None)
def test_split_makes_the_parts_that_shapely_makes(cut):
    shape, ends = cut
    first, second = split(shape, ends)
    line = LineString(ends)
    for part in (first, second):
        inside = shapely.Point(region.inner_point(fine(part)))
        assert fine(shape).contains(inside)
        (x0, y0), (x1, y1) = ends
        left = (x1 - x0) * (inside.y - y0) - (y1 - y0) * (inside.x - x0) > 0
        assert left is (part is second)
    assert fine(first).intersection(fine(second)).area < slack(shape)
    assert fine(first).exterior.intersection(line.buffer(1e-6)).length >= line.length


# --- corners -------------------------------------------------------------------------------------------------------


def test_corners_of_a_box():
    box = rectangle(0, 0, 10, 6, ("front", "right", "back", "left"))
    shapes = {
        0: (CornerShape(radius=2), "a"),
        1: (CornerShape(before=3, after=1), "b"),
        2: (CornerShape(radius=1.5), "c"),
    }
    made = with_corners(box, shapes)
    # a corner rounded by r loses r^2 (1 - pi / 4), a clip half of what its legs span
    assert made.area == pytest.approx(60 - (4 + 2.25) * (1 - math.pi / 4) - 1.5)
    lengths = {side: made.side_length(side) for side in made.sides()}
    assert lengths == pytest.approx(
        {"a": math.pi, "front": 5, "b": math.hypot(3, 1), "right": 3.5, "c": 0.75 * math.pi, "back": 8.5, "left": 4}
    )
    assert made.bounds() == pytest.approx((0, 0, 10, 6))
    rounded = [a for a, _ in made.edges() if a.side == "a"]
    assert rounded[0].bulge == pytest.approx(math.tan(math.pi / 8))
    assert rounded[0].at == pytest.approx((0, 2))


def test_an_inside_corner_is_filled():
    # an ell: the reflex corner at (4, 3) rounded by 2 gains what an outer one loses
    ell = polygon_ring([(0, 0), (10, 0), (10, 3), (4, 3), (4, 9), (0, 9)])
    made = with_corners(ell, {3: (CornerShape(radius=2), "inside")})
    assert made.area == pytest.approx(ell.area + 4 * (1 - math.pi / 4))
    (bulge,) = [v.bulge for v in made.vertices if v.side == "inside"]
    assert bulge == pytest.approx(-math.tan(math.pi / 8))
    clipped = with_corners(ell, {3: (CornerShape(before=1, after=2), "inside")})
    assert clipped.area == pytest.approx(ell.area + 1)


def test_a_corner_between_a_line_and_an_arc():
    # half disc of radius R, corner rounded by r: its centre r below the diameter and R - r from the disc's centre,
    # so sqrt((R - r)^2 - r^2) = sqrt(R^2 - 2 R r) to the right of it
    big, r = 100.0, 18.0
    made = with_corners(half_disc(big), {1: (CornerShape(radius=r), "corner")})
    (k,) = [k for k, v in enumerate(made.vertices) if v.side == "corner"]
    edges = list(made.edges())
    arc = arc_of(*edges[k])
    assert (arc.cx, arc.cy, arc.radius) == pytest.approx((big + math.sqrt(big**2 - 2 * big * r), -r, r))
    # it leaves the disc's arc where the line of both centres meets it, and the headings agree at both ends
    assert math.dist(edges[k][0].at, (big, 0)) == pytest.approx(big, abs=1e-9)
    for before, after in ((edges[k - 1], edges[k]), (edges[k], edges[(k + 1) % len(edges)])):
        turn = edge_heading(*after, 0.0) - edge_heading(*before, 1.0)
        assert math.remainder(turn, 2 * math.pi) == pytest.approx(0, abs=1e-9)
    whole = arc_of(*half_disc(big).edges().__next__())
    rest = next(arc_of(a, b) for a, b in edges if a.side == "arc")
    assert (rest.cx, rest.cy, rest.radius) == pytest.approx((whole.cx, whole.cy, whole.radius))


def test_a_clip_on_an_arc_is_measured_along_it():
    made = with_corners(half_disc(100), {1: (CornerShape(before=50, after=30), "clip")})
    assert made.side_length("arc") == pytest.approx(100 * math.pi - 50)
    assert made.side_length("top") == pytest.approx(170)
    (cut,) = [(a, b) for a, b in made.edges() if a.side == "clip"]
    # half a radian up the arc from its end at (200, 0)
    assert cut[0].at == pytest.approx((100 + 100 * math.cos(0.5), -100 * math.sin(0.5)))
    assert cut[1].at == pytest.approx((170, 0))


@given(convex_rings(), st.floats(0.5, 6))
@settings(max_examples=60, deadline=None)
def test_all_corners_rounded_are_what_a_disc_rolled_inside_leaves(shape, radius):
    edges = list(shape.edges())
    turns = [
        math.remainder(edge_heading(*edges[k], 0.0) - edge_heading(*edges[k - 1], 1.0), 2 * math.pi)
        for k in range(len(edges))
    ]
    corners = {k: (CornerShape(radius=radius), "round") for k, turn in enumerate(turns) if turn > 0.2}
    assume(corners and all(turn > 0.2 or abs(turn) < 1e-9 for turn in turns))
    made = with_corners(shape, corners)
    rolled = fine(shape).buffer(-radius, quad_segs=256).buffer(radius, quad_segs=256)
    assert made.area == pytest.approx(rolled.area, abs=0.05)
    assert fine(made).symmetric_difference(rolled).area < 0.05


@pytest.mark.parametrize(
    ("shapes", "message"),
    [
        ({0: CornerShape(radius=6.1)}, "does not fit"),
        ({0: CornerShape(before=7, after=1)}, "more length"),
        ({0: CornerShape(before=1, after=10.5)}, "more length"),
        ({0: CornerShape(radius=4), 1: CornerShape(radius=6)}, None),
        ({0: CornerShape(radius=4.1), 1: CornerShape(radius=6)}, "more length"),
        ({0: CornerShape(before=1, after=6), 1: CornerShape(before=4, after=1)}, None),
        ({0: CornerShape(before=1, after=6), 1: CornerShape(before=4.1, after=1)}, "more length"),
        ({0: CornerShape(radius=3), 3: CornerShape(radius=3.01)}, "more length"),
    ],
)
def test_corners_that_do_not_fit_are_refused(shapes, message):
    box = rectangle(0, 0, 10, 6)
    named = {k: (shape, f"corner {k}") for k, shape in shapes.items()}
    if message is None:  # just fit: nothing is left of the edge between
        made = with_corners(box, named)
        assert all(edge_length(a, b) > 1 for a, b in made.edges())
        assert region.is_simple(made)
        return
    with pytest.raises(ValueError, match=message):
        with_corners(box, named)


def test_a_point_on_a_straight_edge_is_no_corner():
    shape = polygon_ring([(0, 0), (5, 0), (10, 0), (10, 6), (0, 6)])
    with pytest.raises(ValueError, match="no corner"):
        with_corners(shape, {1: (CornerShape(radius=1), "c")})


# --- subtraction ---------------------------------------------------------------------------------------------------


def test_bites_in_closed_form():
    box = rectangle(0, 0, 20, 10, ("front", "right", "back", "left"))
    # the half of a disc of radius 3 on the front edge
    bite = circle(7, 0, 3, "hole")
    (left,) = difference(box, bite)
    assert left.area == pytest.approx(200 - 4.5 * math.pi)
    assert left.side_length("hole") == pytest.approx(3 * math.pi)
    assert left.side_length("front") == pytest.approx(14)
    (taken,) = intersection(box, bite)
    assert taken.area == pytest.approx(4.5 * math.pi)
    # the arcs in the outline are the hole's, walked the other way
    assert {round(arc_of(a, b).radius, 9) for a, b in left.edges() if a.bulge} == {3.0}
    assert all(a.bulge < 0 for a, _ in left.edges() if a.side == "hole")
    # a chord of 8 and a rise of 2 of a disc that reaches in from beyond the right end
    (left,) = difference(box, circle(23, 5, 5, "hole"))
    assert left.area == pytest.approx(200 - SEGMENT)


def test_subtraction_in_two_and_of_nothing():
    box = rectangle(0, 0, 20, 10)
    parts = sorted(difference(box, rectangle(8, -1, 11, 11)), key=lambda r: r.area)
    assert [p.area for p in parts] == pytest.approx([80, 90])
    assert difference(box, circle(40, 0, 3)) == [box]
    assert intersection(box, circle(40, 0, 3)) == []
    assert difference(circle(10, 5, 2), box) == []
    # one that lies wholly inside leaves the outline and, clockwise, the hole
    outer, inner = sorted(difference(box, circle(10, 5, 2)), key=lambda r: -r.area)
    assert (outer.area, inner.area) == (pytest.approx(200), pytest.approx(-4 * math.pi))
    (inside,) = intersection(box, circle(10, 5, 2))
    assert inside.area == pytest.approx(4 * math.pi)


@given(stars(), holes())
@settings(max_examples=80, deadline=None)
def test_subtraction_as_shapely_does_it(shape, hole):
    one, two = fine(shape), fine(hole)
    left, taken = difference(shape, hole), intersection(shape, hole)
    by = slack(shape, hole)
    assert sum(r.area for r in left) == pytest.approx(one.difference(two).area, abs=by)
    assert sum(r.area for r in taken) == pytest.approx(one.intersection(two).area, abs=by)
    # exact among themselves
    assert sum(r.area for r in left) + sum(r.area for r in taken) == pytest.approx(shape.area, abs=2e-3)
    for part in taken:
        assert one.buffer(1e-3).contains(fine(part))
        assert two.buffer(1e-3).contains(fine(part))
    for part in left:
        if part.area > 0:
            assert one.buffer(1e-3).contains(fine(part))


@given(stars(), holes())
@settings(deadline=None)
def test_subtraction_keeps_arcs_and_names(shape, hole):
    circles = [arc_of(a, b) for r in (shape, hole) for a, b in r.edges() if a.bulge]
    names = set(shape.sides()) | {"hole"}
    for part in difference(shape, hole) + intersection(shape, hole):
        assert set(part.sides()) <= names
        for a, b in part.edges():
            arc = arc_of(a, b)
            if arc is None or math.dist(a.at, b.at) < 1:
                continue
            assert any(
                math.dist((arc.cx, arc.cy), (c.cx, c.cy)) < 1e-4 * c.radius
                and math.isclose(arc.radius, c.radius, rel_tol=1e-4)
                for c in circles
            )


# --- cleaning ------------------------------------------------------------------------------------------------------


def test_clean_takes_out_what_says_nothing():
    shape = ring(
        (0, 0, 0.0, "front"), (5, 0, 0.0, "front"), (10, 0, 0.0, "right"), (10, 0, 0.0, "gone"), (10, 6, 0.0, "back"),
        (4, 6, 0.0, "back"), (4, 6 + 5e-7, 0.0, "back"), (0, 6, 0.0, "left"), (0, 3, 0.0, "left"),
    )  # fmt: skip
    assert [v.at for v in shape.clean().vertices] == [(0, 0), (10, 0), (10, 6), (0, 6)]
    assert shape.clean().clean() == shape.clean()
    assert shape.clean().area == pytest.approx(60)


def test_clean_keeps_corners_and_arcs():
    shape = ring((0, 0), (5, 0.001), (10, 0), (10, 6), (0, 6))
    assert len(shape.clean().vertices) == 5
    # a vertex between a line and the arc it runs into is none in the middle of a line
    stadium = ring((0, 0), (10, 0, 1.0), (10, 6), (0, 6, 1.0))
    assert stadium.clean() == stadium
    # nor is one between a line and an arc whose chord goes on straight
    swelling = ring((0, 0), (4, 0, 0.5), (12, 0), (16, 0), (16, 6), (0, 6))
    assert len(swelling.clean().vertices) == 6


def test_clean_of_a_bow_and_its_string():
    assert [v.at for v in ring((0, 0), (4, 0), (8, 0, -1.0)).clean().vertices] == [(0, 0), (8, 0)]


@given(convex_rings(straight=True), st.lists(st.tuples(st.integers(0, 7), st.floats(0.1, 0.9)), max_size=6))
@settings(deadline=None)
def test_clean_undoes_points_put_on_edges(shape, extra):
    vertices = list(shape.vertices)
    for k, share in extra:
        at = k % len(vertices)
        a, b = vertices[at], vertices[(at + 1) % len(vertices)]
        vertices.insert(at + 1, Vertex(*edge_point(a, b, share), 0.0, a.side))
    cleaned = Ring(tuple(vertices)).clean()
    assert set(cleaned.points) == set(shape.points)
    for (ax, ay), (bx, by), (cx, cy) in zip(*(cleaned.points[k:] + cleaned.points[:k] for k in range(3)), strict=True):
        assert abs((bx - ax) * (cy - by) - (by - ay) * (cx - bx)) > 1e-6


def test_sides_in_order_each_once():
    shape = ring((0, 0, 0.0, "a"), (5, 0, 0.0, "a"), (10, 0, 0.5, "b"), (0, 6, 0.0, "c"))
    assert shape.sides() == ("a", "b", "c")
    assert shape.side_length("a") == 10
