"""Hatches against what shapely, a general library, leaves of the same lines within the same area."""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

from layout.hatching import hatch

SPACING = 2.0
COORDINATES = st.integers(-6000, 6000).map(lambda n: n / 100)
CORNERS = st.tuples(COORDINATES, COORDINATES)
GRID = st.tuples(st.integers(-20, 20), st.integers(-20, 20))
AREAS = st.lists(CORNERS | GRID, min_size=4, max_size=9, unique=True).map(
    lambda points: Polygon(points).buffer(0).difference(Point(points[0]).buffer(5.0))
)


def by_shapely(area):
    """What of the lines y = x + k * step lies in the area."""
    x0, y0, x1, y1 = area.bounds
    step = SPACING * math.sqrt(2)
    numbers = range(math.floor((y0 - x1) / step), math.ceil((y1 - x0) / step) + 1)
    lines = [LineString([(x0 - 1, x0 - 1 + k * step), (x1 + 1, x1 + 1 + k * step)]) for k in numbers]
    return [line.intersection(area) for line in lines]


@given(AREAS)
@settings(max_examples=200, deadline=None)
def test_strokes_are_the_lines_within_the_area(area):
    strokes = [LineString(stroke) for stroke in hatch(area, SPACING)]
    if area.is_empty:
        assert not strokes
        return
    drawn = sum(stroke.length for stroke in strokes)
    # a stroke that runs along an edge is drawn or not, and one too short is not
    along = sum(line.intersection(area.boundary).length for line in by_shapely(area))
    short = sum(part.length for line in by_shapely(area) for part in shapely.get_parts(line) if part.length < 0.1)
    assert drawn == pytest.approx(sum(line.length for line in by_shapely(area)), abs=along + short + 1e-6)
    grown = area.buffer(1e-6)
    assert all(grown.covers(stroke) for stroke in strokes)


def test_a_corner_on_a_line_is_no_stroke():
    step = SPACING * math.sqrt(2)
    # the line through two corners of a square that stands on its corner, and through the corner of another
    square = Polygon([(0, 0), (step, 0), (step, step), (0, step)])
    assert hatch(square, SPACING) == [((0.0, 0.0), (step, step))]
    assert hatch(box(0.0, -step, step, 0.0), SPACING) == [((0.0, -step), (step, 0.0))]


def test_parts_and_holes_are_hatched_alike():
    ring = box(0, 0, 30, 30).difference(box(10, 10, 20, 20))
    both = MultiPolygon([ring, box(100, 0, 110, 10)])
    strokes = hatch(both, SPACING)
    assert any(a[0] > 99 for a, _ in strokes)
    assert not any(10.1 < (a[0] + b[0]) / 2 < 19.9 and 10.1 < (a[1] + b[1]) / 2 < 19.9 for a, b in strokes)


def test_nothing_is_hatched_in_no_area():
    assert hatch(Polygon(), SPACING) == []
