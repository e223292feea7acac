"""A second, independent layout of a job, in the plainest way, to hold the real one against.

It works on the parsed TOML (plain dicts) in job units, in floats, and shares no code with ``layout``. It follows
sections 1, 2, 7 and 8 of the contract and leaves out: notches, shaped inside corners of a front, scribed or followed
backs, corner sinks, columns, splashes. ``lay_text`` returns a dict shaped like report.json, with a few entries of its
own (``webs``, ``carried``, ``unsupported``, ``codes``). Rings are lists of [x, y, bulge].
"""

from __future__ import annotations

import itertools
import math
import re
import tomllib
from fractions import Fraction

import numpy as np
import shapely
from shapely.affinity import rotate
from shapely.geometry import LineString, MultiPolygon, Polygon, box
from shapely.ops import linemerge, unary_union

AMBIGUITIES = [
    "corner as squared: the gap is read square to the blade, so the angle is 90 + atan(open / in).",
    "The last wall's own corner means something in a closed room only; elsewhere it is reported as given (default 90).",
    "from = right names the same point measured from the far end: an opening's left side lies at length - at.",
    "A window's `at` is its left side, like an appliance's.",
    "Check measures run between the walls' straight lines; a bow moves no measured point.",
    "In a closed room the last wall is the first one's neighbour, on its own drawn line (closing error included).",
    "A bow is linear between its stations and 0 at both ends of the wall; a straight back stands off the proudest "
    "point of the stretch that the leg covers, and never nearer than wall_gap to the straight line.",
    "A neighbour's bow does not move an end of kind wall.",
    "An end of kind wall away from station 0 or full length is square and wall_gap short of its station.",
    "Inside corner means below 180 degrees; a neighbour at exactly 180 leaves the end exposed.",
    "An end on an open line with no neighbour listed is still of kind wall unless it is said to be exposed.",
    "depth_from top back: the front stands the depth off the back edge (open lines: back_overhang included).",
    "180 degrees, unequal depths: a joint, square at the corner, as long as the shallower of the two is deep.",
    "180 degrees, equal depths: both legs are one straight stretch, for the pieces as for the seams.",
    "leg-too-short: a foot exactly at the back corner is still good; the test is for mitres only.",
    "Short mitre: `length` is measured square to both front edges; its angles are those of its mitred last part.",
    "Joint length is measured along all its points; a butt's angle to the through piece is 0.",
    "size of a cutout is the hole as cut; reveal does not change it. Setback is to the front side before any turn.",
    "turn of a cutout is counter-clockwise in plan.",
    "Apron: the two corners at the front edge are square, radius goes to the back ones; the outlines of its top and "
    "its piece go round it, and both areas of the top are without it.",
    "A cutout belongs to the piece that holds all of it; else to none, and each piece loses its share of area.",
    "Seams keep clear of the whole of an opening below (not of its sides alone).",
    "Fewest seams: the smallest number that has a place, even if clearances ask for more than max_length alone.",
    "Leftmost: of equal sums the list of stations that comes first, compared one by one.",
    "Stations of a straight stretch over two walls count from the first wall's start.",
    "Carried: ends of kind wall, appliance and panel as the top's own; listed cabinets are not cut back at an end.",
    "support_span is the clear distance between two carried places on a line along the grain of the leg above them.",
    "The carried area is grown as it is, also where it reaches beyond the top; all its corners are mitred.",
    "Overhang amount: from a point of the edge straight in to the first carried place. Points with no cabinet of their "
    "own leg (on a free top: nothing but [[support]]) straight in are left out, as are those that only graze one (its "
    "edge turned more than 60 degrees); the worst of the rest. So a bracket can lessen an amount and never raise it. "
    "Where the 60 degrees decide, `sure` is false.",
    "Only exposed ends have an overhang amount; an end at a wall, an appliance or a panel has none.",
    "A side that an appliance interrupts has one amount, the worst of its parts.",
    "A rectangle or outline without `at`: its place in y is free, only the clear distance in x is said; the "
    "very first thing in a job without walls has its own frame at (0, 0).",
    "at and turn of a free outline move its own frame: at is the plan position of (0, 0).",
    "clip on a free outline takes the same off both edges.",
    "A seam by hand on a rectangle or an outline counts from (0, 0) of its own frame, along its grain.",
    "Webs to an end count exposed ends only (a rectangle's left and right are); a hole's limit rules its every pair.",
    "A hole is any cutout whose larger measure is 2 in (50 mm) or less, whatever its kind.",
    "Part numbers of a broken run count from 1; a whole top is part 1.",
]

MM_PER_INCH = 25.4
DEFAULTS = {
    "in": {
        "max_length": 168, "min_piece": 24, "seam_clear": 6, "opening_clear": 2, "overhang_limit": 8,
        "support_span": 24, "wall_gap": 0.125, "cabinet_depth": 24, "radius": 0.375, "mitre": 2, "scribe": 0.5, "step": 1 / 16,
        "apart": 24, "hole": 2, "slack": 0.01 / 25.4, "agree": 0.25,
        "web": {"front": 3, "back": 2, "end": 4, "between": 4, "joint": 2, "hole": 0.75},
    },
    "mm": {
        "max_length": 4200, "min_piece": 600, "seam_clear": 150, "opening_clear": 50, "overhang_limit": 200,
        "support_span": 600, "wall_gap": 3, "cabinet_depth": 580, "radius": 10, "mitre": 50, "scribe": 12, "step": 1,
        "apart": 600, "hole": 50, "slack": 0.01, "agree": 6,
        "web": {"front": 75, "back": 50, "end": 100, "between": 100, "joint": 50, "hole": 20},
    },
}  # fmt: skip
EPS = 1e-6
FAR = 1e5
ARC_STEPS = 256
BREAKING = ("range", "refrigerator")


# --- lengths -------------------------------------------------------------------------------------------------------

_TAPE = re.compile(
    r"""^(?P<sign>-)?\s*(?:(?P<feet>[\d.]+)\s*')?[\s-]*(?P<whole>\d*\.?\d+(?![\d/.]))?[\s-]*
        (?:(?P<num>\d+)/(?P<den>\d+))?\s*(?P<mark>"|in|mm|cm|m)?$""",
    re.X,
)
_GLYPHS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}


def size_of(value, units):
    """A length in job units."""
    if not isinstance(value, str):
        return float(value)
    text = value.strip().replace("”", '"').replace("″", '"').replace("′", "'").replace("’", "'").replace(",", ".")
    for glyph, plain in _GLYPHS.items():
        text = text.replace(glyph, plain)
    found = _TAPE.match(text.strip())
    if not found or not (found["feet"] or found["whole"] or found["num"]):
        raise ValueError(f"not a length: {value!r}")
    number = Fraction(found["whole"] or 0)
    if found["num"]:
        number += Fraction(int(found["num"]), int(found["den"]))
    number += 12 * Fraction(found["feet"] or 0)
    mark = {'"': "in", "in": "in", None: "in" if found["feet"] else units}.get(found["mark"], found["mark"])
    inch = Fraction(254, 10)
    in_mm = number * {"in": inch, "mm": 1, "cm": 10, "m": 1000}[mark]
    size = in_mm / inch if units == "in" else in_mm
    return float(-size if found["sign"] else size)


# --- points, lines, rings ------------------------------------------------------------------------------------------


def add(p, q, k=1.0):
    return (p[0] + k * q[0], p[1] + k * q[1])


def dot(p, q):
    return p[0] * q[0] + p[1] * q[1]


def cross(p, q):
    return p[0] * q[1] - p[1] * q[0]


def gap(p, q):
    return math.hypot(p[0] - q[0], p[1] - q[1])


def unit(degrees):
    quarter = {0: (1.0, 0.0), 90: (0.0, 1.0), 180: (-1.0, 0.0), 270: (0.0, -1.0)}.get(degrees % 360)
    return quarter or (math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))


def meet(one, two):
    """Where two lines (point, direction) cross."""
    (p, u), (q, v) = one, two
    return add(p, u, cross(add(q, p, -1), v) / cross(u, v))


def off_line(p, line):
    return abs(cross(line[1], add(p, line[0], -1)))


def arc_of(p, q, bulge):
    """(centre, radius, start angle, sweep) of an arc edge."""
    chord, sweep = gap(p, q), 4 * math.atan(bulge)
    radius = chord / 2 / math.sin(sweep / 2)
    middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
    along = ((q[0] - p[0]) / chord, (q[1] - p[1]) / chord)
    centre = add(middle, (-along[1], along[0]), radius * math.cos(sweep / 2))
    return centre, abs(radius), math.atan2(p[1] - centre[1], p[0] - centre[0]), sweep


def edges_of(ring):
    return list(zip(ring, ring[1:] + ring[:1], strict=True))


def ring_area(ring):
    total = 0.0
    for p, q in edges_of(ring):
        total += (p[0] * q[1] - q[0] * p[1]) / 2
        if p[2]:
            _, radius, _, sweep = arc_of(p, q, p[2])
            total += radius**2 * (sweep - math.sin(sweep)) / 2
    return total


def flat(ring):
    """The ring's points with its arcs broken into short chords."""
    points = []
    for p, q in edges_of(ring):
        points.append((p[0], p[1]))
        if p[2]:
            centre, radius, start, sweep = arc_of(p, q, p[2])
            for k in range(1, ARC_STEPS):
                a = start + sweep * k / ARC_STEPS
                points.append((centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)))
    return points


def shape(ring):
    return Polygon(flat(ring))


def extent(ring, way):
    """Least and greatest of a ring along a direction, arcs exactly."""
    seen = [dot(p, way) for p in ring]
    for p, q in edges_of(ring):
        if p[2]:
            centre, radius, start, sweep = arc_of(p, q, p[2])
            for sign in (1, -1):
                turn = math.atan2(sign * way[1], sign * way[0]) - start
                turn = turn % (2 * math.pi) if sweep > 0 else -(-turn % (2 * math.pi))
                if abs(turn) <= abs(sweep):
                    seen.append(dot(centre, way) + sign * radius)
    return min(seen), max(seen)


def tidy(ring):
    """Without doubled points and without points on a straight edge."""
    ring = [p for p, q in edges_of(ring) if p[2] or gap(p, q) > EPS / 10]
    clean = []
    for k, p in enumerate(ring):
        before, after = ring[k - 1], ring[(k + 1) % len(ring)]
        u, v = add(p, before, -1), add(after, p, -1)
        turn = cross(u, v) / math.hypot(*u) / math.hypot(*v)
        if before[2] or p[2] or abs(turn) > 1e-9 or dot(u, v) < 0:
            clean.append(p)
    return clean


def plain(ring):
    return [[p[0], p[1], p[2]] for p in tidy(ring)]


def soften(ring, at, radius=None, clip=None, name="corner"):
    """The ring with corner `at` taken off; clip = (before it, after it)."""
    before, p, after = ring[at - 1], ring[at], ring[(at + 1) % len(ring)]
    if before[2] or p[2]:
        raise NotImplementedError("a corner beside an arc")
    u, v = add(before, p, -1), add(after, p, -1)
    u, v = (u[0] / math.hypot(*u), u[1] / math.hypot(*u)), (v[0] / math.hypot(*v), v[1] / math.hypot(*v))
    bulge = 0.0
    if radius is not None:
        inside = math.acos(max(-1.0, min(1.0, dot(u, v))))
        clip = (radius / math.tan(inside / 2),) * 2
        bulge = math.copysign(math.tan((math.pi - inside) / 4), -cross(u, v))
    one, two = add(p, u, clip[0]), add(p, v, clip[1])
    return [*ring[:at], (*one, bulge, name), (*two, p[2], p[3]), *ring[at + 1 :]]


def split_edge(p, q, point, way):
    """Points where edge p-q crosses the line through `point` square to `way`: [(point, share of the edge)]."""
    level, one, two = dot(point, way), dot(p, way), dot(q, way)
    if not p[2]:
        if (one - level) * (two - level) >= 0:
            return []
        t = (level - one) / (two - one)
        return [(add(p, add(q, p, -1), t), t)]
    centre, radius, start, sweep = arc_of(p, q, p[2])
    away = level - dot(centre, way)
    if abs(away) >= radius:
        return []
    found = []
    for sign in (1, -1):
        angle = math.atan2(way[1], way[0]) + sign * math.acos(away / radius)
        turn = (angle - start) % (2 * math.pi) if sweep > 0 else -((start - angle) % (2 * math.pi))
        if EPS / 10 < abs(turn) < abs(sweep) - EPS / 10:
            found.append((add(centre, unit(math.degrees(angle)), radius), turn / sweep))
    return sorted(found, key=lambda f: f[1])


def cut_ring(ring, point, way):
    """The part of a ring where `way` has not yet reached `point`, the rest, and the cut's two ends."""
    level, marked = dot(point, way), []
    for k, (p, q) in enumerate(edges_of(ring)):
        sides = [dot(x, way) - level for x in (ring[k - 1], p, q)]
        through = abs(sides[1]) < 1e-9 and sides[0] * sides[2] < 0 and not p[2] and not ring[k - 1][2]
        marked.append((*p, through))
        done, sweep = 0.0, 4 * math.atan(p[2])
        for where, share in split_edge(p, q, point, way):
            if min(gap(where, p), gap(where, q)) < 1e-9:
                continue
            marked[-1] = (*marked[-1][:2], math.tan(sweep * (share - done) / 4), *marked[-1][3:])
            marked.append((*where, math.tan(sweep * (1 - share) / 4), p[3], True))
            done = share
    cuts = [k for k, m in enumerate(marked) if m[4]]
    if len(cuts) != 2:
        raise NotImplementedError(f"a seam that crosses an outline {len(cuts)} times")
    one, two = cuts
    parts = [marked[one : two + 1], marked[two:] + marked[: one + 1]]
    parts = [[*(m[:4] for m in part[:-1]), (*part[-1][:2], 0.0, "joint")] for part in parts]
    parts.sort(key=lambda part: extent(part, way)[0])
    return parts[0], parts[1], [marked[one][:2], marked[two][:2]]


def tidy_tags(ring):
    return [p for p, q in edges_of(ring) if gap(p, q) > 1e-9]


def share_of(p, q, point):
    """Where along edge p-q the point lies nearest, 0 to 1, and how far off it is."""
    if not p[2]:
        way = add(q, p, -1)
        share = min(1.0, max(0.0, dot(add(point, p, -1), way) / dot(way, way)))
        return share, gap(point, add(p, way, share))
    centre, radius, start, sweep = arc_of(p, q, p[2])
    turn = math.remainder(math.atan2(point[1] - centre[1], point[0] - centre[0]) - start - sweep / 2, 2 * math.pi)
    if abs(turn) <= abs(sweep) / 2:
        return 0.5 + turn / sweep, abs(gap(point, centre) - radius)
    return min((0.0, gap(p, point)), (1.0, gap(q, point)), key=lambda found: found[1])


def away(ring, point):
    """How far a point lies from a ring's line, arcs exactly."""
    return min(share_of(p, q, point)[1] for p, q in edges_of(ring))


def hits(ring, point, way):
    """How far along `way` from `point` a line meets a ring, in order; corners on it count, arcs are exact."""
    square, found = (-way[1], way[0]), []
    for p, q in edges_of(ring):
        found += [dot(add(where, point, -1), way) for where, _ in split_edge(p, q, point, square)]
        if abs(dot(add(p, point, -1), square)) < 1e-9:
            found.append(dot(add(p, point, -1), way))
    return sorted(found)


def holds(ring, point):
    """Whether a point off the ring's line lies within it."""
    return len([t for t in hits(ring, point, unit(37.1234567)) if t > 0]) % 2 == 1


def ends_in(ring, path):
    """The path with its last part drawn on, or drawn back, to where the wood ends."""
    one, two = path[-2:]
    if away(ring, two) < EPS:
        return path
    size = gap(one, two)
    way = ((two[0] - one[0]) / size, (two[1] - one[1]) / size)
    met = hits(ring, one, way)
    if holds(ring, two):
        return [*path[:-1], add(one, way, min(t for t in met if t > size))]
    return [*path[:-1], add(one, way, max(t for t in met if t < size))]


def in_wood(ring, path):
    return ends_in(ring, ends_in(ring, path)[::-1])[::-1]


def with_corner(ring, point):
    """The ring with a point of its line as a corner, and that corner's place."""
    edges = edges_of(ring)
    k = min(range(len(ring)), key=lambda i: share_of(*edges[i], point)[1])
    share, _ = share_of(*edges[k], point)
    for i in (k, (k + 1) % len(ring)):
        if gap(ring[i], point) < EPS:
            return ring, i
    x, y, bulge, name = ring[k]
    sweep = 4 * math.atan(bulge)
    split = [(x, y, math.tan(sweep * share / 4), name), (*point, math.tan(sweep * (1 - share) / 4), name)]
    return [*ring[:k], *split, *ring[k + 1 :]], k + 1


def divide(ring, path, name="joint"):
    """The two parts of a ring on the right and on the left of a path through it from line to line."""
    for point in (path[0], path[-1]):
        if away(ring, point) > 1e-4:
            raise NotImplementedError("a path that does not reach the outline")
        ring, _ = with_corner(ring, point)
    i, j = (min(range(len(ring)), key=lambda n: gap(ring[n], p)) for p in (path[0], path[-1]))
    between = [(*p[:2], 0.0, name) for p in path[1:-1]]
    turned = ring[i:] + ring[:i]
    there, back = turned[: (j - i) % len(ring)], turned[(j - i) % len(ring) :]
    right = [*there, (*ring[j][:2], 0.0, name), *between[::-1]]
    left = [*back, (*ring[i][:2], 0.0, name), *between]
    return right, left


def without(ring, quad, name):
    """The ring without a box that reaches over its line; the edges that makes are called by `name`."""
    hole = Polygon(quad)
    lines = hole.exterior.intersection(shape(ring))
    lines = [g for g in getattr(lines, "geoms", [lines]) if g.geom_type == "LineString" and g.length > EPS]
    merged = linemerge(lines) if len(lines) > 1 else unary_union(lines)
    for line in getattr(merged, "geoms", [merged]):
        points = [p[:2] for p in line.coords]
        if away(ring, LineString(points).interpolate(0.5, normalized=True).coords[0]) < EPS:
            continue
        parts = divide(ring, points, name)
        ring = max(parts, key=lambda part: shape(part).difference(hole).area)
    return ring


# --- the room ------------------------------------------------------------------------------------------------------


def corner_angle(corner, units):
    if isinstance(corner, list):
        a, b, c = (size_of(v, units) for v in corner)
        return math.degrees(math.acos((a * a + b * b - c * c) / (2 * a * b)))
    if isinstance(corner, dict):
        return 90 + math.degrees(math.atan2(size_of(corner["open"], units), size_of(corner["in"], units)))
    return float(corner)


def build_walls(job):
    units, here, heading, walls = job["job"]["units"], (0.0, 0.0), 0.0, []
    for table in job.get("wall", []):
        way, length = unit(heading), size_of(table["length"], units)
        angle = corner_angle(table.get("corner", 90), units)
        there = add(here, way, length)
        bow = [(size_of(s, units), size_of(v, units)) for s, v in table.get("bow", [])]
        walls.append(
            {
                "name": table["name"], "start": here, "end": there, "length": length, "way": way,
                "into": (way[1], -way[0]), "corner": angle, "open": table.get("open", False), "bow": bow,
                "heading": heading,
            }
        )  # fmt: skip
        here, heading = there, heading - (180 - angle)
    return walls


def spot(walls, text, units):
    name, _, where = text.strip().partition(" ")
    wall = next(w for w in walls if w["name"] == name)
    if where in ("start", "end"):
        return wall[where]
    return add(wall["start"], wall["way"], size_of(where, units))


def taped(wall):
    """(station, bow) of a wall, its ends included: on the line unless they are taped."""
    return sorted({0.0: 0.0, wall["length"]: 0.0, **dict(wall["bow"])}.items())


def proudest(wall, first, last):
    """How far the wall stands proud of its straight line between two stations; 0 where it only falls back."""
    stations, values = zip(*taped(wall), strict=True)
    looked = [first, last, *(s for s in stations if first <= s <= last)]
    return max(0.0, *(-float(np.interp(s, stations, values)) for s in looked))


def followed(wall, clear):
    """The back edge that follows a wall, through (station, bow - clear), in plan."""
    return [add(add(wall["start"], wall["way"], s), wall["into"], clear - v) for s, v in taped(wall)]


def line_of(p, q):
    return (p, ((q[0] - p[0]) / gap(p, q), (q[1] - p[1]) / gap(p, q)))


# --- a run ---------------------------------------------------------------------------------------------------------


def line_at(wall, out):
    return (add(wall["start"], wall["into"], out), wall["way"])


def neighbour(job, walls, index, side):
    """The wall left (-1) or right (+1) of one, and the corner between them; None where none is listed."""
    other = index + side
    if not 0 <= other < len(walls):
        if not job.get("room", {}).get("closed", False) or len(walls) < 3:
            return None, None
        other %= len(walls)
    corner = walls[other if side < 0 else index]["corner"]
    return walls[other], corner


def end_kind(job, walls, index, *, side, station, said):
    if said:
        return said
    wall = walls[index]
    if abs(station - (0 if side < 0 else wall["length"])) > EPS:
        return "exposed"
    other, corner = neighbour(job, walls, index, side)
    return "wall" if other is None or (corner < 180 and not other["open"]) else "exposed"


def end_line(job, walls, index, *, side, station, kind, clear):
    wall = walls[index]
    if kind == "wall":
        other, _ = neighbour(job, walls, index, side)
        if other is not None and abs(station - (0 if side < 0 else wall["length"])) <= EPS:
            return line_at(other, clear)
        station -= side * clear
    return (add(wall["start"], wall["way"], station), wall["into"])


def corner_parts(a, b, choice):
    """What happens between two legs: its points in front and behind, the joint, and both pieces' ends there.

    ``a`` and ``b`` hold wall, front and back lines. ``left``: the left piece's end from front to back; ``right``: the
    right piece's end from back to front.
    """
    corner = a["wall"]["corner"]
    if abs(corner - 180) < 1e-9:
        return straight_corner(a, b)
    front, back = meet(a["front"], b["front"]), meet(a["back"], b["back"])
    out = {"fronts": [front], "backs": [back], "short": False}
    foot = add(front, back, -1)
    kind, through_a, length = choice["kind"], choice["through"] == a["wall"]["name"], choice["length"]
    if kind == "mitre":
        late = dot(foot, a["wall"]["way"]) > EPS or dot(foot, b["wall"]["way"]) < -EPS
        if corner < 180 and late:
            return {**out, "short": True, "joint": None}
        return {**out, "joint": [back, front], "left": [front, back], "right": [back, front], "kind": kind}
    main, other = (a, b) if through_a else (b, a)
    if kind == "butt":
        if corner < 180:
            beyond = moved(main, -choice["beyond"])
            s, front = meet(beyond, other["back"]), meet(beyond, other["front"])
            joint, long_end = [s, front], [front, s, back]
        else:
            s = meet(main["back"], other["front"])
            joint, long_end = [back, s], [front, s, back]
    else:
        m = meet(moved(a, length), moved(b, length))
        if corner < 180:
            s = meet(moved(main, length), other["back"])
            joint, long_end = [s, m, front], [front, m, s, back]
        else:
            s = meet(main["back"], moved(other, length))
            joint, long_end = [back, s, m, front], [front, m, s, back]
    left, right = (long_end, joint) if through_a else (joint[::-1], long_end[::-1])
    return {**out, "joint": joint, "left": left, "right": right, "kind": kind}


def moved(leg, length):
    """The leg's front line, moved into the wood."""
    point, way = leg["front"]
    return (add(point, leg["wall"]["into"], -length), way)


def straight_corner(a, b):
    """A corner of 180 degrees: nothing, or a square step."""
    at, into = a["wall"]["end"], a["wall"]["into"]
    depth = [dot(add(leg[k][0], at, -1), into) for leg in (a, b) for k in ("front", "back")]
    fa, ba, fb, bb = (add(at, into, d) for d in depth)
    if abs(depth[0] - depth[2]) < EPS and abs(depth[1] - depth[3]) < EPS:
        return {"fronts": [fa], "backs": [ba], "short": False, "joint": None}
    joint = [add(at, into, max(depth[1], depth[3])), add(at, into, min(depth[0], depth[2]))]
    return {
        "fronts": [fa, fb], "backs": [ba, bb], "short": False, "joint": joint, "left": [fa, ba], "right": [bb, fb],
        "kind": "step",
    }  # fmt: skip


class Run:
    """A run along walls, its parts, pieces and what carries it."""

    def __init__(self, job, walls, top, rules):
        self.job, self.walls, self.top, self.rules = job, walls, top, rules
        self.units = job["job"]["units"]
        self.names = top["along"]
        self.index = [next(i for i, w in enumerate(walls) if w["name"] == n) for n in self.names]
        self.first, self.last = walls[self.index[0]], walls[self.index[-1]]
        self.start = self.size("start", 0)
        self.end = self.size("end", self.last["length"])
        self.left_kind = self.kind_of(-1, self.start, "left_end")
        self.right_kind = self.kind_of(1, self.end, "right_end")

    def kind_of(self, side, at, key):
        index = self.index[0 if side < 0 else -1]
        return end_kind(self.job, self.walls, index, side=side, station=at, said=self.top.get(key))

    def size(self, key, default):
        return size_of(self.top[key], self.units) if key in self.top else float(default)

    def leg(self, k, carried=False):
        wall = self.walls[self.index[k]]
        if carried:
            back, front = 0.0, self.size("cabinet_depth", self.rules["cabinet_depth"])
        else:
            first = self.start if k == 0 else 0.0
            last = self.end if k == len(self.index) - 1 else wall["length"]
            back = -self.size("back_overhang", 0)
            if not wall["open"]:
                back = self.rules["wall_gap"] + proudest(wall, first, last)
                back -= self.size("scribe", self.rules["scribe"]) if self.top.get("back") == "scribe" else 0.0
            depth = self.top["depth"]
            front = size_of(depth[wall["name"]] if isinstance(depth, dict) else depth, self.units)
            if self.top.get("depth_from", "wall") == "top back":
                front += back
        return {"wall": wall, "front": line_at(wall, front), "back": line_at(wall, back), "out": (back, front)}

    def choice(self, k):
        a, b = self.names[k], self.names[k + 1]
        shop = self.job.get("shop", {})
        made = {"kind": shop.get("corner_joint", "mitre"), "through": a, "length": self.rules["mitre"], "beyond": 0.0}
        for table in self.job.get("joint", []):
            names = table.get("corner", "").split("/")
            if table["top"] == self.top["name"] and sorted(names) == sorted((a, b)):
                made["kind"] = table.get("kind", made["kind"])
                made["through"] = table.get("through", names[0])
                for key in ("length", "beyond"):
                    if key in table:
                        made[key] = size_of(table[key], self.units)
        return made

    def breaks(self):
        found = []
        for table in self.job.get("appliance", []):
            if table["top"] == self.top["name"] and table.get("breaks", table["kind"] in BREAKING):
                k = self.names.index(table["wall"])
                at = station(table, "at", self.walls[self.index[k]], self.units)
                strip = size_of(table["strip"], self.units) if "strip" in table else None
                found.append((k, at, at + size_of(table["width"], self.units), strip))
        return sorted(found, key=lambda b: b[:2])

    def openings(self, k):
        """Openings below on one leg, as stations."""
        for table in self.job.get("appliance", []):
            mine = table["top"] == self.top["name"] and table["wall"] == self.names[k]
            if mine and not table.get("breaks", table["kind"] in BREAKING):
                at = station(table, "at", self.walls[self.index[k]], self.units)
                yield at, at + size_of(table["width"], self.units)

    def spans(self):
        """The parts: (first leg, its end there, last leg, its end there, strip); an end is (station, kind).

        Strip: how deep the wood behind an appliance is; None where the part has the whole depth.
        """
        here, over = (0, (self.start, self.left_kind)), (len(self.index) - 1, (self.end, self.right_kind))
        clear = self.rules["wall_gap"] + EPS
        for k, at, to, strip in self.breaks():
            if k != here[0] or at > here[1][0] + (clear if here[1][1] == "wall" else EPS):
                yield (*here, k, (at, "appliance"), None)
                here = (k, (at, "appliance"))
            done = k == over[0] and to >= self.end - (clear if self.right_kind == "wall" else EPS)
            if strip:
                yield (*here, *(over if done else (k, (to, "appliance"))), strip)
            if done:
                return
            here = (k, (to, "appliance"))
        yield (*here, *over, None)

    def whole(self):
        """The run as if no appliance broke it."""
        return (0, (self.start, self.left_kind), len(self.index) - 1, (self.end, self.right_kind), None)

    def lines(self, span, carried):
        """The legs of one part, and the lines of its two ends."""
        k0, (s0, kind0), k1, (s1, kind1), strip = span
        if carried:
            s0 += self.size("left_overhang", 0) if kind0 == "exposed" else 0
            s1 -= self.size("right_overhang", 0) if kind1 == "exposed" else 0
        legs = [self.leg(k, carried) for k in range(k0, k1 + 1)]
        if strip and not carried:
            back = legs[0]["out"][0]
            legs[0] |= {"front": line_at(legs[0]["wall"], back + strip), "out": (back, back + strip)}
        clear = self.rules["wall_gap"]
        left = end_line(self.job, self.walls, self.index[k0], side=-1, station=s0, kind=kind0, clear=clear)
        right = end_line(self.job, self.walls, self.index[k1], side=1, station=s1, kind=kind1, clear=clear)
        return legs, left, right

    def chain(self, leg, carried):
        """The points of a leg's back edge, left to right: two where it is straight."""
        wall = leg["wall"]
        if self.top.get("back") == "follow" and wall["bow"] and not wall["open"] and not carried:
            return followed(wall, self.rules["wall_gap"])
        return [add(leg["back"][0], wall["way"], s) for s in (0.0, wall["length"])]

    def build(self, span, carried=False):
        """One part: its ring (tagged), its stretches between joints, its corner joints."""
        k0, (_, kind0), k1, (_, kind1), strip = span
        legs, left, right = self.lines(span, carried)
        chains = [self.chain(leg, carried) for leg in legs]
        corners = []
        for i, (a, b) in enumerate(itertools.pairwise(legs)):
            choice = {"kind": "mitre", "through": "", "length": 0.0} if carried else self.choice(k0 + i)
            before, after = line_of(*chains[i][:-3:-1]), line_of(*chains[i + 1][:2])
            corners.append(corner_parts({**a, "back": before}, {**b, "back": after}, choice))
            if carried and corners[-1]["joint"] is None:
                front, back = corners[-1]["fronts"][0], corners[-1]["backs"][0]
                corners[-1] |= {"left": [front, back], "right": [back, front], "joint": [back, front]}
        fronts = [meet(legs[0]["front"], left), *(p for c in corners for p in c["fronts"])]
        fronts.append(meet(legs[-1]["front"], right))
        met = [chain_meet(chains[0], legs[0]["wall"], left), chain_meet(chains[-1], legs[-1]["wall"], right)]
        backs = [met[0]]
        for i, leg in enumerate(legs):
            after = corners[i]["backs"] if i < len(corners) else met[1:]
            backs += [*chain_between(chains[i], leg["wall"], backs[-1], after[0]), *after]
        ring = tidy_tags([(*p, 0.0, "") for p in [*fronts, *backs[::-1]]])
        lines = [(f"{leg['wall']['name']} front" if not strip else "strip", leg["front"]) for leg in legs]
        for leg, chain in zip(legs, chains, strict=True):
            lines += [(f"{leg['wall']['name']} back", line_of(p, q)) for p, q in itertools.pairwise(chain)]
        lines += [("left" if k0 == 0 and kind0 != "appliance" else "gap", left)]
        lines += [("right" if k1 == len(self.index) - 1 and kind1 != "appliance" else "gap", right)]
        ring = tag(ring, lines)
        off = []
        if not carried and not strip:
            ends = {"left": (fronts[0], backs[0], kind0), "right": (fronts[-1], backs[-1], kind1)}
            for name, table in self.top.get("corners", {}).items():
                fb, lr = name.split()
                if ends[lr][2] != "appliance":
                    off.append((ends[lr][0 if fb == "front" else 1], table, "corner"))
        for i, c in enumerate(corners):
            pair = self.pair(k0 + i)
            off += [(c["fronts"][0], t, f"{pair} inside") for n, t in self.top.get("inside", {}).items() if n == pair]
        for one in off:
            ring = self.take_off(ring, *one)
        made = {
            "ring": ring, "short": any(c["short"] for c in corners), "legs": legs, "span": span, "through": False,
            "exposed": [n for n, kind in (("left", kind0), ("right", kind1)) if kind == "exposed" and not strip],
        }  # fmt: skip
        if not self.shaped:
            return {**made, **self.composed(made, corners, (fronts, backs), lines, off)}
        if not carried:
            for name, quad in self.notches():
                made["ring"] = without(made["ring"], quad, name)
        return {**made, **self.parted(made, corners, (fronts, backs), carried)}

    def pair(self, k):
        return f"{self.names[k]}/{self.names[k + 1]}"

    def composed(self, part, corners, edges, lines, off):
        """The stretches of a part between its joints, each put together from its own corners; for plain runs."""
        fronts, backs = edges
        k = part["span"][0]
        stretch = {"legs": [k], "left": [backs[0], fronts[0]], "fronts": [], "backs": []}
        stretches, joints = [], []
        for c in corners:
            k += 1
            if c["joint"] is None:
                stretch["fronts"] += c["fronts"]
                stretch["backs"] += c["backs"]
                stretch["legs"].append(k)
                stretch["undivided"] = stretch.get("undivided", False) or c["joint"] is not None or c["short"]
                continue
            joints.append(c)
            stretches.append({**stretch, "right": c["left"]})
            stretch = {"legs": [k], "left": c["right"], "fronts": [], "backs": []}
        stretches.append({**stretch, "right": [fronts[-1], backs[-1]]})
        for s in stretches:
            points = [*s["left"], *s["fronts"], *s["right"], *s["backs"][::-1]]
            s["ring"] = tidy_tags([(*p, 0.0, "") for p in points])
            for one in off:
                s["ring"] = self.take_off(tag(s["ring"], lines), *one)
        return {"stretches": stretches, "joints": joints}

    def parted(self, part, corners, edges, carried):
        """The same by cutting the whole part along its joints."""
        fronts, backs = edges
        k, rest = part["span"][0], part["ring"]
        stretch = {"legs": [k], "left": [backs[0], fronts[0]]}
        stretches, joints, through = [], [], False
        for c in corners:
            k += 1
            path = in_wood(part["ring"], c["joint"]) if c["joint"] is not None else None
            if path is not None and not carried and self.blocked(self.pair(k - 1), path):
                path, through = None, True
            if path is None:
                stretch["legs"].append(k)
                stretch["undivided"] = stretch.get("undivided", False) or c["joint"] is not None or c["short"]
                continue
            joints.append({**c, "joint": path})
            first, rest = divide(rest, path)
            stretches.append({**stretch, "ring": first, "right": c["left"]})
            stretch = {"legs": [k], "left": c["right"]}
        stretches.append({**stretch, "ring": rest, "right": [fronts[-1], backs[-1]]})
        return {"stretches": stretches, "joints": joints, "through": through}

    @property
    def shaped(self):
        """Whether the run has more than straight edges that meet in plain corners."""
        joints, cutouts, notches = (
            [t for t in self.job.get(key, []) if t["top"] == self.top["name"]] for key in ("joint", "cutout", "notch")
        )
        settled = [t for t in joints if "beyond" in t] + [t for t in cutouts if "corner" in t] + notches
        return bool(settled or self.top.get("inside") or self.top.get("back") == "follow")

    # what is cut into it

    def blocked(self, pair, path):
        """Whether a corner's joint would run through a cutout that lies across the corner."""
        tables = [t for t in self.job.get("cutout", []) if t["top"] == self.top["name"] and t.get("corner") == pair]
        holes = [shape(self.cutout(t)["ring"]) for t in tables if t["kind"] != "column"]
        return any(hole.intersects(LineString(path)) for hole in holes)

    def cutout(self, table):
        across = size_of(table["diameter"] if "diameter" in table else table["size"][1], self.units)
        setback = size_of(table.get("setback", 0), self.units)
        if "corner" in table:
            middle, into, heading = self.corner_middle(table["corner"])
            return cutout_at(table, add(middle, into, setback + across / 2), heading, self.units, self.rules)
        leg = self.leg(self.names.index(table["wall"]))
        wall = leg["wall"]
        at = centre_station(self.job, table, wall, self.units)
        out = leg["out"][1] - setback - across / 2
        centre = add(add(wall["start"], wall["way"], at), wall["into"], out)
        return cutout_at(table, centre, wall["heading"], self.units, self.rules)

    def corner_middle(self, pair):
        """The middle of the front at an inside corner, the way into the wood there, and the heading square to it."""
        k = self.names.index(pair.split("/")[0])
        a, b = self.leg(k), self.leg(k + 1)
        half = math.radians(a["wall"]["corner"]) / 2
        room = add(b["wall"]["way"], a["wall"]["way"], -1)
        room = (room[0] / math.hypot(*room), room[1] / math.hypot(*room))
        table = self.top.get("inside", {}).get(pair, {})
        out = 0.0
        if "diagonal" in table:
            out = size_of(table["diagonal"], self.units) * math.cos(half)
        elif "radius" in table:
            out = size_of(table["radius"], self.units) * (1 / math.sin(half) - 1)
        middle = add(meet(a["front"], b["front"]), room, out)
        into = (-room[0], -room[1])
        return middle, into, math.degrees(math.atan2(into[1], into[0])) - 90

    def notches(self):
        """What each notch takes in plan, with its gap, drawn out over the back and over an end or a corner in reach."""
        for n, table in enumerate(self.job.get("notch", []), 1):
            if table["top"] != self.top["name"]:
                continue
            k = self.names.index(table["wall"])
            wall = self.walls[self.index[k]]
            clear = size_of(table["gap"], self.units) if "gap" in table else self.rules["wall_gap"]
            left = station(table, "at", wall, self.units) - clear
            right = left + size_of(table["width"], self.units) + 2 * clear
            deep = size_of(table["depth"], self.units) + clear
            left -= self.reach(k, left, deep, clear, side=-1)
            right += self.reach(k, right, deep, clear, side=1)
            behind = -self.size("back_overhang", 0) - 2 * self.rules["hole"]
            corners = [(left, deep), (right, deep), (right, behind), (left, behind)]
            yield f"notch {n}", [add(add(wall["start"], wall["way"], x), wall["into"], y) for x, y in corners]

    def reach(self, k, at, deep, clear, *, side):
        """How far a notch goes on sidewards where no more than its gap would be left to an end or an inside corner.

        At a real wall it is enough that no more than that would be left to the wall's straight line.
        """
        wall, leg = self.walls[self.index[k]], self.leg(k)
        end = wall["length"] if side > 0 else 0.0
        if k == (0 if side < 0 else len(self.names) - 1):
            _, *ends = self.lines(self.whole(), carried=False)
            outer, kind = [ends[max(0, side)]], self.left_kind if side < 0 else self.right_kind
            other, corner = neighbour(self.job, self.walls, self.index[k], side) if kind == "wall" else (None, None)
        else:
            other = self.walls[self.index[k + side]]
            corner = (other if side < 0 else wall)["corner"]
            if corner >= 180:
                return 0.0
            outer = [self.leg(k + side)["back"]]
        met = [
            dot(add(meet(line_at(wall, y), o), wall["start"], -1), wall["way"])
            for y in (leg["out"][0], deep)
            for o in outer
        ]
        met += [end] if other and not other["open"] else []
        left = [side * (s - at) for s in met]
        if min(left) > clear + EPS:
            return 0.0
        lean = deep / math.tan(math.radians(corner)) if corner else 0.0
        return 1.0 + max(0.0, *left) + max(0.0, -lean)

    def take_off(self, ring, at, table, name):
        for k, p in enumerate(ring):
            if gap(p, at) < EPS:
                along_first = ring[k - 1][3].endswith(("front", "back"))
                return soften(ring, k, **corner_size(table, self.units, along_first), name=name)
        return ring


def chain_meet(chain, wall, line):
    """Where a line crosses a leg's back edge, its first and last parts drawn on."""
    for p, q in itertools.pairwise(chain):
        at = meet(line_of(p, q), line)
        one, here, two = (dot(add(x, wall["start"], -1), wall["way"]) for x in (p, at, q))
        if (p == chain[0] or here >= one - EPS) and (q == chain[-1] or here <= two + EPS):
            return at
    raise NotImplementedError("a back that an end does not meet")


def chain_between(chain, wall, left, right):
    """The corners of a back edge between two of its points."""
    low, high = dot(left, wall["way"]) + EPS, dot(right, wall["way"]) - EPS
    return [p for p in chain if low < dot(p, wall["way"]) < high] if len(chain) > 2 else []


def open_front(ring, hole):
    """The ring with an apron sink taken out of the edge that the sink's front side lies on."""
    left, right = hole[0], hole[1]
    for k, (p, q) in enumerate(edges_of(ring)):
        way = add(q, p, -1)
        near = off_line(left, (p, way)) / math.hypot(*way) + off_line(right, (p, way)) / math.hypot(*way)
        if not p[2] and near < EPS and dot(add(left, p, -1), way) > 0 and dot(add(right, q, -1), way) < 0:
            back = [hole[0], *hole[:1:-1], hole[1]]
            bends = [-hole[-1][2], *(-h[2] for h in hole[-2:0:-1])]
            inner = [(*h[:2], b, "apron") for h, b in zip(back, [*bends, 0.0], strict=True)]
            return [*ring[: k + 1], *inner[:-1], (*inner[-1][:2], 0.0, p[3]), *ring[k + 1 :]]
    return ring


def corner_size(table, units, along_first):
    if "radius" in table:
        return {"radius": size_of(table["radius"], units)}
    if "diagonal" in table:
        return {"clip": (size_of(table["diagonal"], units),) * 2}
    clip = table["clip"] if isinstance(table["clip"], list) else [table["clip"]] * 2
    along, across = (size_of(v, units) for v in clip)
    return {"clip": (along, across) if along_first else (across, along)}


def tag(ring, lines):
    out = []
    for p, q in edges_of(ring):
        names = [n for n, line in lines if max(off_line(p, line), off_line(q, line)) < EPS and not p[2]]
        out.append((p[0], p[1], p[2], p[3] or (names[0] if names else "joint")))
    return out


def station(table, key, wall, units):
    at = size_of(table[key], units)
    return wall["length"] - at if table.get("from") == "right" else at


# --- seams ---------------------------------------------------------------------------------------------------------


def best_seams(first, last, *, step, barred, longest, shortest):
    """The fewest seams, then the least sum of squares, then the leftmost; [] where none is needed, None: no place.

    Every station that is a multiple of the step is looked at; barred holds (from, to) that no seam may lie between.
    """
    if last - first <= longest + EPS:
        return []
    grid = step * np.arange(math.ceil((first + shortest - EPS) / step), math.floor((last - shortest + EPS) / step) + 1)
    for lo, hi in barred:
        grid = grid[(grid <= lo + EPS) | (grid >= hi - EPS)]
    if len(grid) == 0:
        return None
    rest = last - grid
    cost = np.where((rest >= shortest - EPS) & (rest <= longest + EPS), rest**2, np.inf)
    ahead = [cost]
    head = grid - first
    start = np.where((head >= shortest - EPS) & (head <= longest + EPS), head**2, np.inf)
    most = math.ceil((last - first) / max(shortest, longest / 8)) + 2
    for _ in range(most):
        total = start + ahead[-1]
        if np.isfinite(total).any():
            return walk(grid, start, ahead, longest, shortest)
        following = np.full(len(grid), np.inf)
        lows = np.searchsorted(grid, grid + shortest - EPS)
        highs = np.searchsorted(grid, grid + longest + EPS)
        for i, (lo, hi) in enumerate(zip(lows, highs, strict=True)):
            here = slice(max(lo, i + 1), hi)
            if hi > here.start:
                following[i] = ((grid[here] - grid[i]) ** 2 + ahead[-1][here]).min()
        ahead.append(following)
    return None


def walk(grid, start, ahead, longest, shortest):
    seams, reach = [], start
    for cost in reversed(ahead):
        total = reach + cost
        best = total.min()
        i = int(np.flatnonzero(total <= best + 1e-11 * best)[0])
        seams.append(float(grid[i]))
        step = grid - grid[i]
        reach = np.where((step >= shortest - EPS) & (step <= longest + EPS) & (step > 0), step**2, np.inf)
    return seams


# --- cutouts, supports ---------------------------------------------------------------------------------------------


def hole_ring(centre, size, radius, degrees, square_front=False):
    """A cutout's ring about its centre; its own front is towards -y before the turn."""
    w, h = size[0] / 2, size[1] / 2
    ring = [(-w, -h, 0.0, ""), (w, -h, 0.0, ""), (w, h, 0.0, ""), (-w, h, 0.0, "")]
    if radius > 0:
        for k in (3, 2) if square_front else (3, 2, 1, 0):
            ring = soften(ring, k, radius=radius)
    u, v = unit(degrees), unit(degrees + 90)
    return [(*add(add(centre, u, x), v, y), b, t) for x, y, b, t in ring]


def circle_ring(centre, diameter):
    return [(centre[0] + diameter / 2, centre[1], 1.0, ""), (centre[0] - diameter / 2, centre[1], 1.0, "")]


def cutout_at(table, centre, degrees, units, rules):
    apron = table.get("mount") == "apron"
    if "diameter" in table:
        across = size_of(table["diameter"], units)
        ring, size = circle_ring(centre, across), (across, across)
    else:
        size = tuple(size_of(v, units) for v in table["size"])
        radius = size_of(table["radius"], units) if "radius" in table else rules["radius"]
        ring = hole_ring(centre, size, radius, degrees + table.get("turn", 0), apron)
    return {
        "name": table["name"], "kind": table["kind"], "top": table["top"], "center": list(centre), "ring": tidy(ring),
        "area": ring_area(ring), "hole": max(size) <= rules["hole"] + EPS, "apron": apron,
    }  # fmt: skip


def centre_station(job, table, wall, units):
    value = table["center"]
    if isinstance(value, str) and value.strip().startswith("window"):
        name = value.split()[1]
        window = next(w for w in job["window"] if w["name"] == name)
        return station(window, "at", wall, units) + size_of(window["width"], units) / 2
    return station(table, "center", wall, units)


# --- what carries a top --------------------------------------------------------------------------------------------


def fill_along(carried, degrees, span, within):
    """What lies between two carried places with at most `span` between them along the grain, inside `within`."""
    if carried.is_empty:
        return Polygon()
    turned = rotate(carried, -degrees, origin=(0, 0))
    levels = sorted({round(y, 9) for _, y in shapely.get_coordinates(turned)})
    slanted = any(
        abs(p[0] - q[0]) > EPS and abs(p[1] - q[1]) > EPS
        for part in polygons(turned)
        for p, q in itertools.pairwise(part.exterior.coords)
    )
    if slanted:
        levels = sorted({*levels, *np.linspace(levels[0], levels[-1], 400)})
    x0, _, x1, _ = turned.bounds
    added = []
    for low, high in itertools.pairwise(levels):
        if high - low < 1e-7:
            continue
        line = turned.intersection(LineString([(x0 - 1, (low + high) / 2), (x1 + 1, (low + high) / 2)]))
        lines = [g for g in getattr(line, "geoms", [line]) if not g.is_empty and g.length > 0]
        spans = sorted((g.bounds[0], g.bounds[2]) for g in lines)
        for one, two in itertools.pairwise(spans):
            if 1e-9 < two[0] - one[1] <= span + EPS:
                added.append(box(one[1], low, two[0], high))
    if not added:
        return Polygon()
    return rotate(unary_union(added), degrees, origin=(0, 0)).intersection(within)


def polygons(geometry):
    return [g for g in getattr(geometry, "geoms", [geometry]) if isinstance(g, Polygon) and not g.is_empty]


def grown(carried, by):
    return carried.buffer(by, join_style="mitre", mitre_limit=1000)


def worst_overhang(edges, boxes, carried):
    """The greatest distance straight in from an edge to what is carried, where boxes lie straight in (None: nowhere).

    Second comes whether it stays the same however much a grazed box counts.
    """
    points, ways = [], []
    spots = shapely.get_coordinates(carried)
    for p, q in edges:
        if p[2]:
            centre, radius, start, sweep = arc_of(p, q, p[2])
            turns = [(math.atan2(y - centre[1], x - centre[0]) - start) for x, y in spots]
            turns = [t % (2 * math.pi) if sweep > 0 else -(-t % (2 * math.pi)) for t in turns]
            shares = [t / sweep for t in turns if abs(t) < abs(sweep)]
        else:
            length, way = gap(p, q), add(q, p, -1)
            shares = [dot(add(s, p, -1), way) / length**2 for s in spots]
        shares = {s + d for s in (*shares, 0.0, 1.0) for d in (-1e-8, 1e-8)} | set(np.linspace(0, 1, 401))
        for share in sorted(s for s in shares if 0 < s < 1):
            if p[2]:
                a = unit(math.degrees(start + sweep * share))
                points.append(add(centre, a, radius))
                ways.append((-a[0], -a[1]) if sweep > 0 else a)
            else:
                points.append(add(p, way, share))
                ways.append((-way[1] / length, way[0] / length))
    rays = shapely.linestrings([[add(p, w, -1e-7), add(p, w, FAR)] for p, w in zip(points, ways, strict=True)])
    starts = shapely.points(points)
    points, ways = np.array(points), np.array(ways)
    far = shapely.distance(starts, shapely.intersection(rays, boxes))
    reach = shapely.distance(starts, shapely.intersection(rays, carried))
    met = np.isfinite(far)
    facing = np.zeros(len(far))
    facing[met] = faced((points + ways * np.nan_to_num(far)[:, None])[met], ways[met], boxes)
    amounts = []
    for least in (0.5, 0.0, 0.7):
        fair = (reach < 1e-6) | (met & ((far < 1e-6) | (facing >= least)))
        amounts.append(float(np.fmin(reach, far)[fair].max()) if fair.any() else None)
    return amounts[0], len({a if a is None else round(a, 4) for a in amounts}) == 1 and amounts[0] is not None


def faced(hits, ways, carried):
    """The sine between each hit's way and the edge through which it enters the carried area; 1: square."""
    if len(hits) == 0:
        return np.zeros(0)
    rings = [np.array(ring.coords) for g in polygons(carried) for ring in (g.exterior, *g.interiors)]
    one, two = np.concatenate([c[:-1] for c in rings]), np.concatenate([c[1:] for c in rings])
    along = two - one
    size = (along**2).sum(axis=1)
    share = np.clip(((hits[:, None] - one) * along).sum(axis=2) / size, 0, 1)
    away = np.linalg.norm(one + share[..., None] * along - hits[:, None], axis=2)
    near = away.argmin(axis=1)
    slant = along[near, 0] * ways[:, 1] - along[near, 1] * ways[:, 0]
    return np.abs(slant) / np.sqrt(size[near])


# --- everything ----------------------------------------------------------------------------------------------------


class Plan:
    """The whole job; ``report`` is what it comes to."""

    def __init__(self, job):
        self.job, self.units = job, job["job"]["units"]
        self.rules = {**DEFAULTS[self.units], "web": dict(DEFAULTS[self.units]["web"])}
        for key, value in job.get("shop", {}).items():
            if key == "web":
                self.rules["web"].update({k: size_of(v, self.units) for k, v in value.items()})
            elif key in self.rules:
                self.rules[key] = size_of(value, self.units)
        self.walls = build_walls(job)
        self.codes = set()
        self.tops, self.pieces, self.joints, self.cutouts = [], [], [], []
        self.overhangs, self.webs, self.unsupported, self.carried = [], [], {}, {}
        self.right_most = max((p[0] for w in self.walls for p in (w["start"], w["end"])), default=None)
        for top in job["top"]:
            self.lay_run(top) if "along" in top else self.lay_free(top)

    # runs

    def lay_run(self, top):
        run = Run(self.job, self.walls, top, self.rules)
        parts = [run.build(span) for span in run.spans()]
        cutouts = [run.cutout(t) for t in self.job.get("cutout", []) if t["top"] == top["name"]]
        amounts, loose = {}, []
        for number, part in enumerate(parts, 1):
            self.codes |= {"leg-too-short"} if part["short"] else set()
            self.codes |= {"joint-through-cutout"} if part["through"] else set()
            for c in (c for c in cutouts if c["apron"]):
                for holder in (part, *part["stretches"]):
                    holder["ring"] = open_front(holder["ring"], c["ring"])
            area = shape(part["ring"])
            mine = [c for c in cutouts if shape(c["ring"]).intersects(area)]
            first_piece, first_joint = len(self.pieces), len(self.joints)
            waiting = None
            for s in range(len(part["stretches"])):
                if waiting:
                    self.add_joint(top, *waiting)
                self.cut_stretch(run, (number, part), s, mine)
                if s < len(part["joints"]):
                    c = part["joints"][s]
                    waiting = (c["kind"], c["joint"], len(self.pieces) - 1)
            self.close_part((top, number), part, mine, self.pieces[first_piece:], self.joints[first_joint:])
            carried, own = self.run_carried(run, part)
            loose.append(self.loose_area(area, carried))
            names = [leg["wall"]["name"] for leg in part["legs"]]
            for side in dict.fromkeys(p[3] for p in part["ring"]):
                place, _, word = side.rpartition(" ")
                if word not in ("front", "back", "inside", *part["exposed"]):
                    continue
                if word == "inside":
                    k = names.index(place.split("/")[0])
                    facing = unary_union([full for full, _ in own[k : k + 2]])
                else:
                    leg = names.index(place) if place else {"left": 0, "right": -1}[word]
                    facing = own[leg][1]
                    if word == "back" and not part["legs"][leg]["wall"]["open"]:
                        continue
                edges = [(p, q) for p, q in edges_of(part["ring"]) if p[3] == side]
                amount, sure = worst_overhang(edges, facing, carried)
                if side in amounts:
                    amount, sure = max(amount or 0.0, amounts[side][0] or 0.0), sure and amounts[side][1]
                amounts[side] = amount, sure
        self.finish_top(top, amounts, loose)

    def cut_stretch(self, run, numbered, s, cutouts):
        """Cut one straight stretch of a run into pieces at its seams."""
        top, (number, part) = run.top, numbered
        stretch = part["stretches"][s]
        legs = [part["legs"][k - part["span"][0]] for k in stretch["legs"]]
        wall = legs[0]["wall"]
        way, zero = wall["way"], dot(wall["start"], wall["way"])
        hand = []
        for table in self.job.get("joint", []):
            if table["top"] == top["name"] and table.get("wall") in [leg["wall"]["name"] for leg in legs]:
                on = next(leg["wall"] for leg in legs if leg["wall"]["name"] == table["wall"])
                point = add(on["start"], on["way"], station(table, "at", on, self.units))
                hand.append(dot(point, way) - zero)
        taken = {}
        for p, q in edges_of(stretch["ring"]):
            if p[3].startswith("notch "):
                taken.setdefault(p[3], []).extend(dot(x, way) for x in (p, q))
        stretch["ring"] = tidy(stretch["ring"])
        first, last = (v - zero for v in extent(stretch["ring"], way))
        hand = sorted(h for h in hand if first < h < last)
        clear = self.rules["seam_clear"]
        area = shape(stretch["ring"])
        barred = []
        for c in cutouts:
            if shape(c["ring"]).intersects(area):
                barred.append(grow_span(extent(c["ring"], way), zero, clear))
        for k in (s - 1, s):
            if 0 <= k < len(part["joints"]):
                seen = [dot(p, way) for p in part["joints"][k]["joint"]]
                barred.append(grow_span((min(seen), max(seen)), zero, clear))
        barred += [grow_span((min(seen), max(seen)), zero, clear) for seen in taken.values()]
        for k, leg in zip(stretch["legs"], legs, strict=True):
            for lo, hi in run.openings(k):
                at = dot(leg["wall"]["start"], way)
                barred.append(grow_span((at + lo, at + hi), zero, self.rules["opening_clear"]))
        whole = stretch.get("undivided", False)
        self.cut((top, number), stretch["ring"], wall["heading"], wall["start"], hand=hand, barred=barred, whole=whole)

    # rectangles and outlines

    def lay_free(self, top):
        units, rectangle = self.units, "outline" not in top
        ring, carried = self.own_rectangle(top) if rectangle else self.own_outline(top)
        turn = top.get("turn", 0)
        u, v = unit(turn), unit(turn + 90)
        if "at" in top:
            origin = tuple(size_of(c, units) for c in top["at"])
        else:
            low = min(add(add((0, 0), u, x), v, y)[0] for x, y in flat(ring))
            origin = (0.0, 0.0)
            if self.right_most is not None:
                origin = (self.right_most + self.rules["apart"] - low, 0.0)

        def plan(p):
            return add(add(origin, u, p[0]), v, p[1])

        ring = [(*plan(p), p[2], p[3]) for p in ring]
        grain = turn + (0 if rectangle else top.get("grain", 0))
        area = shape(ring)
        cutouts = []
        for table in self.job.get("cutout", []):
            if table["top"] == top["name"]:
                centre = plan([size_of(c, units) for c in table["center"]])
                cutouts.append(cutout_at(table, centre, turn, units, self.rules))
        hand = sorted(size_of(t["at"], units) for t in self.job.get("joint", []) if t["top"] == top["name"])
        way = unit(grain)
        barred = [grow_span(extent(c["ring"], way), dot(origin, way), self.rules["seam_clear"]) for c in cutouts]
        part = {"ring": ring, "exposed": ["left", "right"] if rectangle else [], "span": None}
        before = len(self.pieces), len(self.joints)
        self.cut((top, 1), ring, grain, origin, hand=hand, barred=barred)
        self.close_part((top, 1), part, cutouts, self.pieces[before[0] :], self.joints[before[1] :])
        amounts, loose = {}, []
        if carried is not None:
            held = [Polygon([plan(p) for p in carried])]
            for table in self.job.get("support", []):
                if table["top"] == top["name"]:
                    centre = plan([size_of(c, units) for c in table["center"]])
                    size = [size_of(c, units) for c in table["size"]]
                    held.append(shape(hole_ring(centre, size, 0, turn)))
            boxes, held = held[0], unary_union(held)
            held = unary_union([held, fill_along(held, grain, self.rules["support_span"], area)])
            self.carried[top["name"]] = held
            loose.append(self.loose_area(area, held))
            for side in dict.fromkeys(p[3] for p in ring if p[3] != "corner"):
                amounts[side] = worst_overhang([(p, q) for p, q in edges_of(ring) if p[3] == side], boxes, held)
        else:
            self.codes.add("support-not-given")
        self.finish_top(top, amounts, loose)

    def own_rectangle(self, top):
        units = self.units
        over = {k: size_of(top.get("overhang", {}).get(k, 0), units) for k in ("front", "back", "left", "right")}
        if "base" in top:
            w, h = (size_of(v, units) for v in top["base"])
            w, h = w + over["left"] + over["right"], h + over["front"] + over["back"]
        else:
            w, h = (size_of(v, units) for v in top["size"])
        ring = [(0.0, 0.0, 0.0, "front"), (w, 0.0, 0.0, "right"), (w, h, 0.0, "back"), (0.0, h, 0.0, "left")]
        corners = ["front left", "front right", "back right", "back left"]
        for k in (3, 2, 1, 0):
            if corners[k] in top.get("corners", {}):
                along_first = ring[k - 1][3] in ("front", "back")
                ring = soften(ring, k, **corner_size(top["corners"][corners[k]], units, along_first))
        x0, x1, y0, y1 = over["left"], w - over["right"], over["front"], h - over["back"]
        return ring, [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]

    def own_outline(self, top):
        units = self.units
        points = [tuple(size_of(c, units) for c in p) for p in top["outline"]]
        ring = []
        for k, (p, q) in enumerate(zip(points, points[1:] + points[:1], strict=True), 1):
            rise = size_of(top.get("rise", {}).get(str(k), 0), units)
            ring.append((*p, 2 * rise / gap(p, q), str(k)))
        for k in range(len(points), 0, -1):
            if str(k) in top.get("corners", {}):
                ring = soften(ring, k - 1, **corner_size(top["corners"][str(k)], units, True))
        carried = None
        if "support" in top:
            carried = [tuple(size_of(c, units) for c in p) for p in top["support"]]
        return ring, carried

    # what is common

    def cut(self, part, ring, degrees, origin, *, hand, barred, whole=False):
        """Cut one straight ring into pieces along its grain; the grain's zero lies at origin.

        What lies round a corner that is not divided stays whole, but for seams by hand.
        """
        top, number = part
        way = unit(degrees)
        zero = dot(origin, way)
        first, last = (v - zero for v in extent(ring, way))
        rules = self.rules
        seams = hand
        if not hand and not whole:
            seams = best_seams(
                first, last, step=rules["step"], barred=barred, longest=rules["max_length"], shortest=rules["min_piece"]
            )
            if seams is None:
                self.codes.add("seam-none-possible")
                seams = []
        rest = ring
        for at in seams:
            piece, rest, ends = cut_ring(rest, add((0, 0), way, zero + at), way)
            self.add_piece(top, number, piece, degrees)
            self.add_joint(top, "seam", sorted(ends, key=lambda p: dot(p, (way[1], -way[0]))), len(self.pieces) - 1)
        self.add_piece(top, number, rest, degrees)
        if (hand or whole) and any(p["length"] > rules["max_length"] + EPS for p in self.pieces[-len(seams) - 1 :]):
            self.codes.add("piece-too-long")

    def add_piece(self, top, number, ring, degrees):
        along, across = extent(ring, unit(degrees)), extent(ring, unit(degrees + 90))
        self.pieces.append(
            {
                "id": f"P{len(self.pieces) + 1}", "top": top["name"], "part": number, "outline": plain(ring),
                "length": along[1] - along[0], "width": across[1] - across[0], "area": ring_area(ring),
                "grain": degrees % 180,
            }
        )  # fmt: skip

    def add_joint(self, top, kind, points, left):
        """A joint between piece `left` (its place in the list) and the next one."""
        self.joints.append(
            {
                "id": f"J{len(self.joints) + 1}", "kind": kind, "top": top["name"],
                "pieces": [f"P{left + 1}", f"P{left + 2}"], "points": [list(p) for p in points],
                "start": list(points[0]), "end": list(points[-1]),
                "length": sum(gap(p, q) for p, q in itertools.pairwise(points)),
                "way": add(points[-1], points[-2], -1),
            }
        )  # fmt: skip

    def close_part(self, numbered, part, cutouts, pieces, joints):
        top, number = numbered
        grains = {p["id"]: unit(p["grain"]) for p in pieces}
        for j in joints:
            way = j.pop("way")
            j["angles"] = []
            for name in j["pieces"]:
                turn = abs(math.degrees(math.atan2(cross(way, grains[name]), dot(way, grains[name]))))
                j["angles"].append(min(turn, 180 - turn))
        shapes = {p["id"]: shape(p["outline"]) for p in pieces}
        lost = 0.0
        for k, c in enumerate(cutouts):
            hole = shape(c["ring"])
            c["piece"] = None
            c["outside"] = not c["apron"] and hole.difference(shape(part["ring"])).area > EPS
            if c["outside"]:
                self.codes.add("cutout-outside")
            if any(hole.intersection(shape(d["ring"])).area > EPS for d in cutouts[k + 1 :]):
                self.codes.add("cutouts-overlap")
            if c["apron"]:
                c["piece"] = min(shapes, key=lambda name: shapes[name].distance(hole))
            for p in pieces:
                share = 0.0 if c["apron"] else hole.intersection(shapes[p["id"]]).area
                if share > hole.area - 1e-6 * max(1.0, hole.area):
                    c["piece"], share = p["id"], c["area"]
                p["area"] -= share
                lost += share
            c["outline"] = plain(c["ring"])
            self.cutouts.append(c)
        gross = ring_area(part["ring"])
        self.tops.append(
            {
                "name": top["name"], "part": number, "outline": plain(part["ring"]), "gross_area": gross,
                "net_area": gross - lost, "placed": "along" in top or "at" in top,
            }
        )  # fmt: skip
        seen = [p[0] for p in flat(part["ring"])]
        self.right_most = max(seen if self.right_most is None else [self.right_most, *seen])
        spare = 0.0
        if top.get("back") == "scribe":
            spare = size_of(top["scribe"], self.units) if "scribe" in top else self.rules["scribe"]
        self.weigh_webs(part, [c for c in cutouts if not c["outside"]], joints, spare)
        self.look_for_necks(shapes.values(), cutouts)

    def weigh_webs(self, part, cutouts, joints, spare):
        limits = self.rules["web"]
        runs = {}
        for p, q in edges_of(part["ring"]):
            first, word = p[3].split(" ")[0], p[3].split(" ")[-1]
            kind = {"front": "front", "inside": "front", "back": "back"}.get(word) or {"notch": "back"}.get(first)
            kind = kind or ("end" if word in part["exposed"] else "other")
            runs.setdefault(kind, []).append(LineString(flat([p, (q[0], q[1], 0.0, "")])))
        for k, c in enumerate(cutouts):
            hole = shape(c["ring"])
            others = [(kind, unary_union(lines)) for kind, lines in runs.items()]
            lines = [LineString(j["points"]) for j in joints]
            column = [line for line in lines if c["kind"] == "column" and hole.distance(line) < EPS]
            if c["kind"] == "column" and not column:
                self.codes.add("closed-round-column")
            others += [("joint", line) for line in lines if line not in column]
            others += [("between", shape(d["ring"])) for d in cutouts[k + 1 :]]
            partners = [None] * (len(others) - len(cutouts[k + 1 :])) + cutouts[k + 1 :]
            for (kind, what), partner in zip(others, partners, strict=True):
                if kind == "front" and c["apron"]:
                    continue
                small = c["hole"] or (partner is not None and partner["hole"])
                if kind == "other" and not small:
                    continue
                limit = limits["hole" if small else kind]
                value = hole.distance(what) - (spare if kind == "back" else 0.0)
                self.webs.append({"cutout": c["name"], "to": kind, "value": value, "limit": limit})
                if value < limit - EPS:
                    self.codes.add("web-too-thin")

    def look_for_necks(self, shapes, cutouts):
        """A piece that comes apart when half of what the shop wants is taken off all round has a neck; aprons apart."""
        limit = self.rules["web"]["between"] - self.rules["slack"]
        aprons = [shape(c["ring"]).buffer(2 * self.rules["slack"]) for c in cutouts if c["apron"]]
        for piece in shapes:
            whole = unary_union([piece, *(hole for hole in aprons if hole.intersects(piece))])
            worn = [g for g in polygons(whole.buffer(-limit / 2, quad_segs=64)) if g.area > self.rules["slack"]]
            if len(worn) > len(polygons(whole)):
                self.codes.add("web-too-thin")

    def run_carried(self, run, part):
        """Everything that carries one part, and the cabinets that the sides of each leg look at."""
        frame = run.build(part["span"], carried=True)
        boxes, added = [], []
        for k, leg in enumerate(part["legs"]):
            wall = leg["wall"]
            listed = [t for t in self.job.get("cabinet", []) if t["wall"] == wall["name"]]
            areas = [] if listed else [shape(frame["stretches"][k]["ring"])]
            for t in listed:
                at = station(t, "at", wall, self.units)
                areas.append(strip(wall, at, size_of(t["width"], self.units), 0.0, size_of(t["depth"], self.units)))
            for t in self.job.get("support", []):
                if t["top"] == run.top["name"] and t["wall"] == wall["name"]:
                    w, h = (size_of(v, self.units) for v in t["size"])
                    at = centre_station(self.job, t, wall, self.units) - w / 2
                    near = leg["out"][1] - size_of(t["setback"], self.units)
                    added.append(strip(wall, at, w, near - h, near))
            boxes.append(unary_union(areas))
        carried = unary_union([*boxes, *added])
        more = []
        for k, leg in enumerate(part["legs"]):
            stretch = next(s for s in part["stretches"] if part["span"][0] + k in s["legs"])
            span, within = self.rules["support_span"], shape(stretch["ring"])
            more.append(fill_along(carried, leg["wall"]["heading"], span, within))
        everything = unary_union([carried, *more])
        own, deep = [], run.size("cabinet_depth", self.rules["cabinet_depth"])
        for k, leg in enumerate(part["legs"]):
            band = strip(leg["wall"], -FAR, 2 * FAR, 0.0, deep - EPS)
            beside = [boxes[j].intersection(band) for j in (k - 1, k + 1) if 0 <= j < len(boxes)]
            listed = any(t["wall"] == leg["wall"]["name"] for t in self.job.get("cabinet", []))
            straight = boxes[k] if listed or not run.top.get("inside") else boxes[k].intersection(band)
            own.append((boxes[k], unary_union([straight, *beside])))
        seen = [self.carried[run.top["name"]]] if run.top["name"] in self.carried else []
        self.carried[run.top["name"]] = unary_union([*seen, everything])
        return everything, own

    def loose_area(self, area, carried):
        return area.difference(grown(carried, self.rules["overhang_limit"] + self.rules["slack"]))

    def finish_top(self, top, amounts, loose):
        for side, (amount, sure) in amounts.items():
            self.overhangs.append({"top": top["name"], "side": side, "amount": amount, "sure": sure})
        loose = unary_union(loose) if loose else Polygon()
        self.unsupported[top["name"]] = sum(g.area for g in polygons(loose)) > 1e-6 * (1 if self.units == "in" else 645)
        if self.unsupported[top["name"]]:
            self.codes.add("overhang-unsupported")

    def measures(self):
        for table in self.job.get("measure", []):
            ends = [spot(self.walls, table[k], self.units) for k in ("from", "to")]
            measured, computed = size_of(table["length"], self.units), gap(*ends)
            if abs(measured - computed) > self.rules["agree"] + EPS:
                self.codes.add("measure-disagrees")
            yield {
                "from": table["from"], "to": table["to"], "measured": measured, "computed": computed,
                "difference": measured - computed,
            }  # fmt: skip

    def report(self):
        closure = None
        if self.job.get("room", {}).get("closed", False):
            closure = gap(self.walls[-1]["end"], (0, 0))
            if closure > self.rules["agree"] + EPS:
                self.codes.add("walls-do-not-close")
        walls = [{k: w[k] for k in ("name", "start", "end", "corner")} for w in self.walls]
        room = {"walls": walls, "measures": list(self.measures()), "closure": closure}
        keys = ("name", "kind", "top", "piece", "center", "outline", "area")
        cutouts = [{k: c[k] for k in keys} for c in self.cutouts]
        return {
            "job": {"number": self.job["job"]["number"], "units": self.units},
            "room": room, "tops": self.tops, "pieces": self.pieces, "joints": self.joints, "cutouts": cutouts,
            "overhangs": self.overhangs, "unsupported": self.unsupported, "webs": self.webs, "codes": self.codes,
            "carried": {name: area_of(shape_) for name, shape_ in self.carried.items()},
        }  # fmt: skip


def grow_span(span, zero, by):
    return span[0] - zero - by, span[1] - zero + by


def strip(wall, at, width, near, far):
    corners = [(at, far), (at + width, far), (at + width, near), (at, near)]
    return Polygon([add(add(wall["start"], wall["way"], s), wall["into"], d) for s, d in corners])


def area_of(geometry):
    return MultiPolygon(polygons(geometry))


def lay(job):
    return Plan(job).report()


def lay_text(text):
    return lay(tomllib.loads(text))
