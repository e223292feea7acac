"""What a revision changed, on paper: a cloud round each place, its letter in a triangle beside it, a row that says it.

A cloud is a closed line of arcs that bulge outwards; the triangles of earlier revisions stand where the job's
[[revision]] rows say, without clouds (common practice of revising drawings, no source).
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from layout import region
from layout.changes import Change
from layout.drawing import Kind, Path
from layout.outline import Point, Ring, Vertex
from layout.pen import DELTA, Pen
from layout.pieces import Piece
from layout.pipeline import Layout
from layout.placement import Box, around
from layout.units import UNIT_MM

ROUND, ROUND_POINT = 3.2, 7.5
"""A cloud keeps so far from what it goes round, and from a mere point, mm on paper."""
CHORD = 4.0
"""The arcs of a cloud are about so wide, mm on paper."""
BULGE = 0.55
"""Tangent of a quarter of an arc's sweep."""
LINE = 0.35
"""Line width of a cloud, mm."""
BESIDE = (1.2, 2.4, 4.0, 6.0, 9.0, 13.0, 18.0, 25.0)
"""How far a triangle may stand off its cloud, mm on paper, nearest first."""
MOST_WORDS, MOST_SIGNS = 5, 300
"""A revision's row tells so many changes, in so many signs, and counts the rest: it must fit the smallest sheet."""


@dataclass(frozen=True, slots=True)
class Revised:
    """What the sheets show of revisions.

    ``letter``: the current one, "" where nothing is held against an earlier issue. ``plan``: the places its clouds go
    round, plan mm. ``pieces``: those on each piece's own view, by id. ``earlier``: letters and where their triangles stand,
    plan mm. ``note``: what the current one's row says if the job does not.
    """

    letter: str = ""
    plan: tuple[region.Region, ...] = ()
    pieces: tuple[tuple[str, region.Region], ...] = ()
    earlier: tuple[tuple[str, Point], ...] = ()
    note: str = ""

    @property
    def shown(self) -> bool:
        """Whether a triangle of a revision stands on the sheets."""
        return bool(self.plan or self.earlier)

    def on_piece(self, piece: str) -> list[region.Region]:
        """Return the places on a piece that clouds go round, plan mm."""
        return [place for name, place in self.pieces if name == piece]


def revised(layout: Layout, changes: Sequence[Change] | None = None) -> Revised:
    """Return what the sheets show of revisions; ``changes`` since an earlier issue, None where there is none to tell of."""
    current = layout.job.job.revision
    earlier = tuple(
        (row.letter, (float(x), float(y)))
        for row in layout.job.revision
        for x, y in row.at
        if changes is None or row.letter != current
    )
    if changes is None:
        return Revised(earlier=earlier)
    plan: list[region.Region] = []
    pieces: list[tuple[str, region.Region]] = []
    for change in changes:
        places = _places(layout, change)
        plan += places
        if change.what in ("piece", "joint", "cutout", "milled", "edge"):
            here = [(piece, _on_piece(change, piece, place)) for place in places for piece in layout.divided.pieces]
            pieces += [(piece.id, seen) for piece, seen in here if seen is not None]
    return Revised(current or "-", tuple(plan), tuple(pieces), earlier, revision_note(changes))


def _places(layout: Layout, change: Change) -> list[region.Region]:
    """Return what of the plan a change's clouds go round, plan mm."""
    mm = float(UNIT_MM[layout.job.job.units])
    if change.what in ("edge", "overhang"):
        found = [
            region.side_line(part.ring, [side])
            for part in layout.divided.parts
            for side in part.ring.sides()
            if change.name == f"{part.top} {side}"
        ]
        return [line for line in found if not line.is_empty]
    if change.what == "finding" and change.kind == "removed":
        return []
    found = [_place([(x * mm, y * mm) for x, y in path]) for path in change.paths]
    # a finding is a point, whose cloud has room for its mark; the end of a wall is a corner
    return found if change.what == "finding" else [place.buffer(1.0) if place.length == 0 else place for place in found]


def _place(path: Sequence[Point]) -> region.Region:
    if len(path) == 1:
        return region.spot(path[0])
    if path[0] == path[-1] and len(path) > 3:
        return region.polygon(path)
    return region.path(path)


def _on_piece(change: Change, piece: Piece, place: region.Region) -> region.Region | None:
    """Return what of a change's place is seen on a piece's own view; None where it is not of that piece."""
    if change.what == "piece" and change.piece != piece.id:
        return None
    # what lies in an opened front or at a corner cut off is of the piece too, the rest of a long side is not
    seen = place.intersection(region.area_of(piece.ring, 0.5).convex_hull.buffer(0.5))
    if change.what == "piece":
        return None if seen.is_empty else seen
    # a line along the rim of two pieces is on both; one that only touches a corner is on neither
    return seen if seen.length > 5.0 else None


def revision_note(changes: Sequence[Change]) -> str:
    """Return what a revision's row says of its changes: the first of them in words, how many more; findings are counted."""
    told = [c.words for c in changes if c.what != "finding" and not (c.what == "job" and c.name == "revision")]
    findings = sum(c.what == "finding" for c in changes)
    words: list[str] = []
    for line in told[:MOST_WORDS]:
        if sum(map(len, words)) + len(line) <= MOST_SIGNS:
            words.append(line)
    more = len(told) - len(words)
    if more:
        words.append(f"{more} {'more ' if words else ''}change{'s' * (more > 1)}")
    if findings:
        words.append(f"{findings} change{'s' * (findings > 1)} in the findings")
    return ". ".join(words) or "nothing changed"


def revision_row(layout: Layout, told: Revised, scale: float) -> str:
    """Return the lines to put into the job file, so that the next revision keeps this one's triangles; ``scale``: the plan's."""
    mm = float(UNIT_MM[layout.job.job.units])
    points = [region.inner_point(place) for place in clouded(told.plan, ROUND / scale, ROUND_POINT / scale)]
    at = ", ".join(f"[{_number(x / mm)}, {_number(y / mm)}]" for x, y in points)
    job = layout.job.job
    if any(row.letter == job.revision for row in layout.job.revision):
        return f"at = [{at}]"
    lines = ["[[revision]]", f"letter = {json.dumps(job.revision, ensure_ascii=False)}"]
    lines += [f"date = {job.date}"] if job.date else []
    lines += [f"note = {json.dumps(told.note, ensure_ascii=False)}"]
    lines += [f"by = {json.dumps(job.drawn_by, ensure_ascii=False)}"] if job.drawn_by else []
    return "\n".join([*lines, *([f"at = [{at}]"] if at else [])])


def _number(value: float) -> str:
    return f"{round(value, 3) + 0.0:g}" if abs(value) < 1e5 else f"{value:.0f}"


# --- drawing -----------------------------------------------------------------------------------------------------------


def clouded(places: Iterable[region.Region], margin: float, point: float) -> list[region.Region]:
    """Return the areas that clouds go round, left to right: each place with ``margin`` mm about it (a point with ``point``),
    those that touch as one."""
    areas = [place.buffer(point if place.length == 0 else margin) for place in places]
    found = region.polygons(region.union(areas)) if areas else []
    return sorted(found, key=lambda a: tuple(round(v, 1) for v in a.bounds))


def cloud(area: region.Region) -> Ring:
    """Return a closed line of arcs round an area, all bulging outwards; in the area's frame, paper mm."""
    rim = area.exterior
    count = max(6, round(rim.length / CHORD))
    points = [rim.interpolate(k / count, normalized=True) for k in range(count)]
    ring = Ring(tuple(Vertex(p.x, p.y, BULGE) for p in points))
    # an arc bulges to the right of its way: round an area that lies to the left
    return ring if ring.area > 0 else Ring(tuple(Vertex(v.x, v.y, BULGE) for v in reversed(ring.vertices)))


def draw_clouds(
    pen: Pen, places: Sequence[region.Region], move: Callable[[Point], Point], name: str
) -> list[region.Region]:
    """Draw clouds round places of the plan in a view whose frame ``move`` leads to; return what they enclose, paper mm."""
    on_paper = [region.moved(place, lambda p: pen.paper(move(p))) for place in places]
    areas = clouded(on_paper, ROUND, ROUND_POINT)
    for area in areas:
        ring = cloud(area)
        pen.items.append(Path(Kind.REVISION, ring.moved(pen.model), True, name, LINE))
        points = ring.flattened(0.15)
        # over lines it may run, under a text never
        pen.scene.hard += list(zip(points, [*points[1:], points[0]], strict=True))
    return areas


def draw_deltas(pen: Pen, areas: Sequence[region.Region], letter: str) -> None:
    """Set a revision's letter in a triangle beside each cloud, with a leader where it finds no room close by."""
    along, across = DELTA
    for area in areas:
        spots: list[Point] = []
        for off in BESIDE:
            rim = area.buffer(1.2 + across + off).exterior
            count = max(12, round(rim.length / 4.0))
            # from the upper right on, where a reader looks for it
            spots += [(p.x, p.y) for p in (rim.interpolate(k / count, normalized=True) for k in range(count))]
        to = region.nearest(area.exterior, region.spot(spots[0]))[0]
        found = pen.scene.best((Box(x, y, along, across) for x, y in spots), 0.6)
        if found is None:
            pen.mark(
                "delta", letter, [pen.model(to)], kind=Kind.REVISION, name=f"revision {letter}", leader_to=pen.model(to)
            )
            continue
        k, box = found
        pen.draw_mark("delta", letter, box, Kind.REVISION, f"revision {letter}")
        near = region.nearest(area.exterior, region.spot(spots[k]))[0]
        if math.dist(near, spots[k]) > 1.2 + across + BESIDE[3]:
            pen.leader(box, pen.model(near))


def draw_earlier(pen: Pen, earlier: Sequence[tuple[str, Point]]) -> None:
    """Set the triangles of earlier revisions at or near their places in plan."""
    for letter, at in earlier:
        spots = [pen.model(p) for p in around(pen.paper(at), (0.0, 6.0, 9.0, 13.0, 18.0, 25.0, 35.0, 48.0))]
        pen.mark("delta", letter, spots, kind=Kind.REVISION, name=f"revision {letter}", leader_to=at)
