"""Rooms that nobody made for this program: country outlines as walls.

Natural Earth, 1:110m cultural vectors, admin 0 countries (public domain, naturalearthdata.com), as pyogrio carries it among its own
tests (``naturalearth_lowres``). Each outline is made plainer until it has so many corners, put to a room's size with its proportions
kept, and taped to a sixteenth or a millimetre and a hundredth of a degree, as a room is. A run stands along two walls that
have room before them, an island is another such outline.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from pathlib import Path

import pyogrio
import rooms
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon
from shapely.geometry.polygon import orient

SOURCE = Path(pyogrio.__file__).parent / "tests" / "fixtures" / "naturalearth_lowres" / "naturalearth_lowres.shp"
LEAST, MOST = 72.0, 640.0
"""Walls between these, inches."""
DEPTH, CLEAR = 25.0, 36.0
"""Of a run, and from its ends to the next walls, inches."""


@cache
def countries():
    """Every outline of every country with its name, longest first in each, degrees made even for its latitude."""
    _, _, shapes, columns = pyogrio.raw.read(SOURCE, columns=["name"])
    out = []
    for name, shape in zip(columns[0], shapely.from_wkb(shapes), strict=True):
        for part in sorted(shapely.get_parts(shape), key=lambda p: -p.area):
            squeeze = math.cos(math.radians(part.centroid.y))
            out.append((name, affinity.scale(Polygon(part.exterior), squeeze, 1.0, origin=(0, 0))))
    return tuple(out)


def plain(shape, corners):
    """The outline with at most so many corners, clockwise, as walls are listed; None where it collapses."""
    low, high = 0.0, max(shape.bounds[2] - shape.bounds[0], shape.bounds[3] - shape.bounds[1])
    for _ in range(40):
        middle = (low + high) / 2
        if len(shape.simplify(middle).exterior.coords) - 1 > corners:
            low = middle
        else:
            high = middle
    made = shape.simplify(high)
    return orient(made, -1.0) if made.is_valid and len(made.exterior.coords) > 3 else None


def inside_angles(points):
    """The inside angle at the end of each wall of a clockwise room, degrees."""
    out = []
    for k, b in enumerate(points):
        a, c = points[k - 1], points[(k + 1) % len(points)]
        turn = math.atan2(c[1] - b[1], c[0] - b[0]) - math.atan2(b[1] - a[1], b[0] - a[0])
        out.append(180.0 + math.degrees(math.remainder(turn, 2 * math.pi)))
    return [*out[1:], out[0]]


def strip(a, b, start, end):
    """What a run takes along a wall from a to b, the room on its right."""
    length = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    at = [(a[0] + ux * s, a[1] + uy * s) for s in (start, end)]
    away = [(x + uy * (DEPTH + 2), y - ux * (DEPTH + 2)) for x, y in reversed(at)]
    return Polygon([*at, *away])


def run_of(points):
    """The first wall of two that a run can go along, or None."""
    room = Polygon(points)
    angles = inside_angles(points)
    count = len(points)
    for k in range(count - 1):
        a, b, c = points[k], points[(k + 1) % count], points[(k + 2) % count]
        one, two = math.dist(a, b), math.dist(b, c)
        if not 60 <= angles[k] <= 300 or abs(angles[k] - 180) < 8:
            continue
        lots = [strip(a, b, CLEAR, one), strip(b, c, 0.0, two - CLEAR)]
        back = LineString([a, b, c]).buffer(0.5)
        # the strips may overlap each other at the corner, but no other wall
        other = LineString([*(points * 2)[k + 2 : k + count + 1]])
        if (
            min(one, two) > CLEAR + 40
            and all(room.buffer(0.01).contains(s.difference(back)) or angles[k] > 180 for s in lots)
            and all(s.distance(other) > 4 or s.distance(LineString([a, b, c])) == 0 for s in lots)
        ):
            return k
    return None


@cache
def chosen():
    """(name, clockwise points in inches, first wall of the run) of every outline that makes a room."""
    out = []
    for corners in (7, 5, 9):
        for name, shape in countries():
            made = plain(shape, corners)
            if made is None:
                continue
            points = list(made.exterior.coords)[:-1]
            sides = [math.dist(p, q) for p, q in pairwise([*points, points[0]])]
            scale = LEAST / min(sides)
            if max(sides) * scale > MOST or not all(25 <= angle <= 335 for angle in inside_angles(points)):
                continue
            x, y = points[0]
            points = [((px - x) * scale, (py - y) * scale) for px, py in points]
            k = run_of(points)
            if k is not None and (name, points) not in [(n, p) for n, p, _ in out]:
                out.append((f"{name} {corners}", points, k))
    return tuple(out)


def room_job(number):
    """The job of a room by number, its unit by turns, and the area of the outline that it was made from (mm2)."""
    name, points, first = chosen()[number]
    units = "in" if number % 2 == 0 else "mm"

    def tape(inches):
        return round(inches * 16) / 16 if units == "in" else round(inches * 25.4)

    # the run's first wall is the room's first
    points = points[first:] + points[:first]
    angles = inside_angles(points)
    walls = []
    for k, (a, b) in enumerate(pairwise([*points, points[0]])):
        walls.append({"name": f"W{k + 1}", "length": tape(math.dist(a, b)), "corner": round(angles[k], 2)})
    island = _island(number)
    # the program lays the first wall along x
    (x0, y0), (x1, y1) = points[:2]
    along = math.dist(points[0], points[1])
    right = max(((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / along for x, y in points)
    length = math.dist(points[1], points[2])
    job = {
        "job": {"title": name, "number": f"N-{number}", "units": units},
        "field": {"walls": "finished", "cabinets": "set"},
        "wood": {"species": "beech", "construction": "edge grain", "thickness": tape(1.5)},
        # inside corners of an outline as they are, so that the cut file's area is the piece's
        "cut": {"relief": "none"},
        "room": {"closed": True},
        "wall": walls,
        "top": [
            {
                "name": "run",
                "along": ["W1", "W2"],
                "depth": tape(DEPTH),
                "start": tape(CLEAR),
                "end": tape(length - CLEAR),
                "left_end": "exposed",
                "right_end": "exposed",
            },
            {
                "name": "island",
                "outline": [[tape(x), tape(y)] for x, y in island],
                "at": [tape(right + 40), 0],
                "below": "solid deck",
            },
        ],
        "cutout": [
            {
                "name": "S1",
                "kind": "sink",
                "mount": "undermount",
                "top": "run",
                "wall": "W1",
                "center": tape((CLEAR + math.dist(points[0], points[1])) / 2 - (12 if angles[0] < 180 else 0)),
                "setback": tape(4),
                "size": [tape(12), tape(14)],
                "proof": "template",
            }
        ],
    }
    factor = 25.4**2
    return rooms.toml_text(job), Polygon(points).area * factor, Polygon(island).area * factor


def _island(number):
    """Another outline as the top of an island, counter-clockwise, 70 inches over all at the most."""
    shapes = [p for _, p, _ in chosen()]
    points = shapes[(number + 31) % len(shapes)][::-1]
    x0, y0, x1, y1 = Polygon(points).bounds
    scale = 70 / max(x1 - x0, y1 - y0)
    return [((x - x0) * scale, (y - y0) * scale) for x, y in points]
