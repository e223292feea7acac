"""The room in plan: walls chained from lengths and corners, with the closing error and the check measures.

Frame: mm, the first wall from (0, 0) along +x, the room on its -y side. Walls run left to right as one faces them, so the
room lies on the right of each wall's direction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from layout.faults import PlaceError
from layout.job import Job
from layout.job_room import SquareReading, Wall
from layout.outline import SAME, Frame, Line, Point
from layout.units import parse_length


@dataclass(frozen=True, slots=True)
class PlacedWall:
    """A wall in plan. ``corner`` is the inside angle in degrees to the next wall; ``frame`` has x along the wall."""

    name: str
    length: float
    corner: float
    frame: Frame
    bow: tuple[tuple[float, float], ...]
    open: bool

    @property
    def line(self) -> Line:
        """The wall's straight face line, in its direction."""
        return Line(self.frame.x, self.frame.y, math.cos(self.frame.angle), math.sin(self.frame.angle))

    @property
    def start(self) -> Point:
        """The wall's start in plan."""
        return (self.frame.x, self.frame.y)

    @property
    def end(self) -> Point:
        """The wall's end in plan."""
        return self.frame.to_plan((self.length, 0.0))

    @property
    def face(self) -> tuple[Point, ...]:
        """The face as taped, in the wall's frame, start to end."""
        inner = [p for p in self.bow if SAME < p[0] < self.length - SAME]
        return ((0.0, self.bow_at(0.0)), *inner, (self.length, self.bow_at(self.length)))

    def bow_at(self, station: float) -> float:
        """Return how far the wall stands back from its straight line at ``station`` (negative: proud)."""
        station = min(max(station, 0.0), self.length)
        points = [(0.0, 0.0), *self.bow, (self.length, 0.0)]
        for (s0, b0), (s1, b1) in zip(points, points[1:], strict=False):
            if s0 <= station <= s1 and s1 > s0:
                return b0 + (b1 - b0) * (station - s0) / (s1 - s0)
        return 0.0

    def proudest(self, start: float, end: float) -> float:
        """Return how far the wall stands proud of its straight line, at most, between two stations; never below 0."""
        stations = [max(start, 0.0), min(end, self.length), *(s for s, _ in self.bow if start <= s <= end)]
        return max(0.0, *(-self.bow_at(s) for s in stations))


@dataclass(frozen=True, slots=True)
class CheckMeasure:
    """A check measure: what was taped and what the walls give, mm."""

    from_: str
    to: str
    measured: float
    computed: float
    ends: tuple[Point, Point]

    @property
    def difference(self) -> float:
        """Measured less computed."""
        return self.measured - self.computed


@dataclass(frozen=True, slots=True)
class Room:
    """The walls as placed. ``closure``: distance from the last wall's end to the first one's start, None if not closed."""

    walls: tuple[PlacedWall, ...]
    measures: tuple[CheckMeasure, ...]
    closed: bool
    closure: float | None

    def wall(self, name: str) -> PlacedWall:
        """Return the wall of that name."""
        return next(w for w in self.walls if w.name == name)

    def before(self, wall: PlacedWall) -> PlacedWall | None:
        """Return the wall listed to the left of ``wall``, if any."""
        i = self.walls.index(wall)
        if i == 0:
            return self.walls[-1] if self.closed and len(self.walls) > 1 else None
        return self.walls[i - 1]

    def after(self, wall: PlacedWall) -> PlacedWall | None:
        """Return the wall listed to the right of ``wall``, if any."""
        i = self.walls.index(wall)
        if i == len(self.walls) - 1:
            return self.walls[0] if self.closed and len(self.walls) > 1 else None
        return self.walls[i + 1]


def corner_degrees(wall: Wall) -> float:
    """Return the inside angle to the next wall, from degrees, three tapes or the framing square."""
    corner = wall.corner
    if isinstance(corner, tuple):
        a, b, c = (float(side) for side in corner)
        return math.degrees(math.acos((a * a + b * b - c * c) / (2 * a * b)))
    if isinstance(corner, SquareReading):
        return 90.0 + math.degrees(math.atan2(float(corner.open), float(corner.in_)))
    return corner


def plan_room(job: Job) -> Room:
    """Return the walls of the job placed in plan, with closing error and check measures."""
    walls = []
    at, heading = (0.0, 0.0), 0.0
    for wall in job.wall:
        corner = corner_degrees(wall)
        placed = PlacedWall(
            name=wall.name,
            length=float(wall.length),
            corner=corner,
            frame=Frame(*at, math.radians(heading)),
            bow=tuple((float(s), float(b)) for s, b in wall.bow),
            open=wall.open,
        )
        walls.append(placed)
        at = placed.end
        heading -= 180.0 - corner
    closure = math.dist(walls[-1].end, walls[0].start) if job.room.closed and walls else None
    room = Room(tuple(walls), (), job.room.closed, closure)
    measures = []
    for k, m in enumerate(job.measure):
        ends = tuple(
            _measure_point(room, job, text, ("measure", k, key)) for key, text in (("from", m.from_), ("to", m.to))
        )
        measures.append(CheckMeasure(m.from_, m.to, float(m.length), math.dist(*ends), (ends[0], ends[1])))
    return Room(room.walls, tuple(measures), room.closed, room.closure)


def _measure_point(room: Room, job: Job, text: str, path: tuple[str | int, ...]) -> Point:
    name, _, place = text.strip().partition(" ")
    wall = room.wall(name)
    place = place.strip()
    if place in ("start", "end"):
        return wall.start if place == "start" else wall.end
    station = float(parse_length(place, job.job.units))
    if not 0 <= station <= wall.length:
        raise PlaceError(path, f"a station beyond wall {name}", "a station between its start and its end")
    return wall.frame.to_plan((station, 0.0))
