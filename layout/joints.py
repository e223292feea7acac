"""Corner joints of a run: mitre, butt and short mitre, at inside and outside corners, either leg through.

A joint is a path in plan from its back end to its front end; whether it can be is asked of the geometry, and what cannot
be is left undivided and said.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from layout import region
from layout.cutouts import PlacedCutout
from layout.cutting import line_crossings, locate, split
from layout.faults import PlaceError
from layout.job import Job
from layout.job_joints import JointChoice
from layout.job_shop import CornerKind
from layout.outline import SAME, Line, Point, Ring
from layout.rules import BUTT_STEP, SHORT_MITRE
from layout.top_plans import CornerPoint, Leg, TopPlan
from layout.units import parse_length

JointKind = Literal["mitre", "butt", "short mitre", "seam"]


@dataclass(frozen=True, slots=True)
class CornerJoint:
    """A joint at a run's corner: its kind, its path back to front, and the walls it joins, left and right."""

    kind: CornerKind
    points: tuple[Point, ...]
    walls: tuple[str, str]
    through: str | None = None


@dataclass(frozen=True, slots=True)
class Offer:
    """A joint that would do at a corner: a mitre, or a butt with its through leg, ``beyond`` mm past that one's front."""

    kind: CornerKind
    through: str = ""
    beyond: float = 0.0


@dataclass(frozen=True, slots=True)
class NoJoint:
    """A corner that cannot be divided as asked, and the joints that would do there.

    ``blocked``: the cutout across the corner that the joint would run through; None where a leg is too short for it.
    """

    kind: CornerKind
    walls: tuple[str, str]
    at: Point
    instead: tuple[Offer, ...]
    blocked: str | None = None


def corner_joints(
    job: Job, top: TopPlan, cutouts: Sequence[PlacedCutout] = ()
) -> tuple[CornerJoint | NoJoint | None, ...]:
    """Return the joint at each corner of a run, left to right; None where the corner is straight on."""
    return tuple(_at_corner(job, top, i, cutouts) for i in range(len(top.corners)))


def _names(top: TopPlan, i: int) -> tuple[str, str]:
    a, b = top.legs[i].wall, top.legs[i + 1].wall
    assert a is not None and b is not None
    return (a.name, b.name)


def _choice(job: Job, top: TopPlan, walls: tuple[str, str]) -> JointChoice | None:
    for joint in job.joint:
        if joint.top == top.name and joint.corner is not None:
            names = tuple(part.strip() for part in joint.corner.split("/"))
            if names in (walls, walls[::-1]):
                return joint
    return None


def _at_corner(job: Job, top: TopPlan, i: int, cutouts: Sequence[PlacedCutout]) -> CornerJoint | NoJoint | None:
    corner, walls = top.corners[i], _names(top, i)
    if corner.straight:
        return None
    choice = _choice(job, top, walls)
    kind: CornerKind = (choice.kind if choice else None) or job.shop.corner_joint
    named = choice.corner.split("/")[0].strip() if choice and choice.corner else walls[0]
    through = (choice.through if choice else None) or named
    units = job.job.units
    length = choice.length if choice and choice.length else parse_length(SHORT_MITRE.text(units), units)
    beyond = float(choice.beyond or 0) if choice else 0.0
    if choice and beyond and corner.angle > 180.0:
        path = ("joint", job.joint.index(choice), "beyond")
        raise PlaceError(path, "beyond at an outside corner", "beyond at an inside corner alone")
    across = [c for c in cutouts if c.top == top.name and c.corner == "/".join(walls) and c.kind != "column"]
    points = _path(top, i, kind, through, float(length), beyond)
    points = None if points is None else _to_the_edge(top, points)
    blocked = None
    if points is not None and _can_be(top, i, kind, points):
        blocked = next((c.name for c in across if _runs_through(c, points)), None)
        if blocked is None:
            return CornerJoint(kind, points, walls, None if kind == "mitre" else through)
    asked = Offer(kind, "" if kind == "mitre" else through, beyond)
    offers = [Offer("butt", leg) for leg in walls] + [Offer("mitre")]
    offers += [Offer("butt", leg, out) for leg in walls if (out := _clear_of(job, top, i, leg, across)) > 0.0]
    instead = tuple(offer for offer in offers if offer != asked and _would_do(job, top, i, offer, across))
    return NoJoint(kind, walls, corner.back, instead, blocked)


def _would_do(job: Job, top: TopPlan, i: int, offer: Offer, across: Sequence[PlacedCutout]) -> bool:
    """Whether a joint can be made: it crosses the top, keeps the web of a joint, and leaves no piece too short."""
    path = _path(top, i, offer.kind, offer.through, 0.0, offer.beyond)
    path = None if path is None else _to_the_edge(top, path)
    if path is None or not _can_be(top, i, offer.kind, path):
        return False
    web = float(job.shop.web.joint)
    if any(float(region.area_of(c.ring).distance(region.path(path))) < web - region.TOLERANCE for c in across):
        return False
    if not offer.beyond:
        return True
    legs = (top.legs[i], top.legs[i + 1])
    lengths = [ring.bounds(leg.frame) for ring, leg in zip(split(top.ring, path), legs, strict=True)]
    return all(x1 - x0 >= float(job.shop.min_piece) - region.TOLERANCE for x0, _, x1, _ in lengths)


def _runs_through(cut: PlacedCutout, points: tuple[Point, ...]) -> bool:
    return bool(region.area_of(cut.ring).intersects(region.path(points)))


def _clear_of(job: Job, top: TopPlan, i: int, through: str, across: Sequence[PlacedCutout]) -> float:
    """Return how far beyond the through leg a butt is clear of the cutouts across the corner and of its cut front, mm.

    By ``seam_clear``, since it runs square through the other leg as a seam does; 0 where nothing lies across the corner.
    """
    if not across:
        return 0.0
    leg, name = top.leg(through), "/".join(_names(top, i))
    low = min(cut.ring.bounds(leg.frame)[1] for cut in across) - float(job.shop.seam_clear)
    for a, b in top.ring.edges():
        if a.side == f"{name} inside":
            low = min(low, *(leg.frame.from_plan(p)[1] for p in (a.at, b.at)))
    step = BUTT_STEP.size(job.job.units)
    return math.ceil((leg.front - low) / step - SAME) * step


def _path(
    top: TopPlan, i: int, kind: CornerKind, through: str, length: float, beyond: float = 0.0
) -> tuple[Point, ...] | None:
    corner, a, b = top.corners[i], top.legs[i], top.legs[i + 1]
    if kind == "mitre":
        return (corner.back, corner.front)
    runs, meets = (a, b) if a.wall is not None and a.wall.name == through else (b, a)
    if kind == "butt":
        return _butt(corner, runs, meets, beyond)
    return _short_mitre(corner, runs, meets, length)


def _to_the_edge(top: TopPlan, points: tuple[Point, ...]) -> tuple[Point, ...]:
    """Return the path drawn on, or drawn back, to the outline at both ends.

    At an inside corner with a diagonal or a radius it goes on past where the front corner would be to the front edge; at
    a notch in the corner it starts where the wood does.
    """
    return _reaching(top, _reaching(top, points)[::-1])[::-1]


def _reaching(top: TopPlan, points: tuple[Point, ...]) -> tuple[Point, ...]:
    """Return the path with its last point moved along its last part to where that meets the outline."""
    if top.crossed or locate(top.ring, points[-1])[2] <= 1e-4:
        return points
    shaped = any(v.side.startswith("notch ") or v.side.endswith(" inside") for v in top.ring.vertices)
    shaped = shaped or any(leg.followed for leg in top.legs)
    if not shaped:
        return points
    (x0, y0), (x1, y1) = points[-2:]
    length = math.dist(points[-2], points[-1])
    line = Line(x0, y0, (x1 - x0) / length, (y1 - y0) / length)
    meets = [s for s in line_crossings(top.ring, line) if s > SAME]
    if not meets:
        return points
    if top.ring.contains(points[-1]):
        onward = [s for s in meets if s > length]
        return (*points[:-1], line.point(min(onward))) if onward else points
    before = [s for s in meets if s < length]
    return (*points[:-1], line.point(max(before))) if before else points


def _butt(corner: CornerPoint, runs: Leg, meets: Leg, beyond: float) -> tuple[Point, ...] | None:
    if corner.angle < 180.0:
        line = runs.line(runs.front - beyond)
        back, front = line.meets(meets.line(meets.back)), line.meets(meets.line(meets.front))
        return None if back is None or front is None else (back, front if beyond else corner.front)
    front = _back(corner, runs).meets(meets.line(meets.front))
    return None if front is None else (corner.back, front)


def _back(corner: CornerPoint, leg: Leg) -> Line:
    """Return the line of a leg's back edge at a corner."""
    return leg.back_line(leg.frame.from_plan(corner.back)[0])


def _short_mitre(corner: CornerPoint, runs: Leg, meets: Leg, length: float) -> tuple[Point, ...] | None:
    """The mitre reaches ``length`` in from both front edges; from there the butt goes on, moved in by as much.

    At an outside corner the butt follows the through leg's back edge until it is ``length`` short of the other front.
    """
    turn = runs.line(runs.front + length).meets(meets.line(meets.front + length))
    if corner.angle < 180.0:
        back = runs.line(runs.front + length).meets(meets.line(meets.back))
        return None if back is None or turn is None else (back, turn, corner.front)
    along = _back(corner, runs).meets(meets.line(meets.front + length))
    return None if along is None or turn is None else (corner.back, along, turn, corner.front)


def _can_be(top: TopPlan, i: int, kind: CornerKind, points: tuple[Point, ...]) -> bool:
    corner, a, b = top.corners[i], top.legs[i], top.legs[i + 1]
    if top.crossed:
        return False
    if kind == "mitre" and corner.angle < 180.0:
        if a.frame.from_plan(corner.front)[0] > a.frame.from_plan(corner.back)[0] + SAME:
            return False
        if b.frame.from_plan(corner.front)[0] < b.frame.from_plan(corner.back)[0] - SAME:
            return False
    return crosses(top.ring, points)


def crosses(ring: Ring, points: tuple[Point, ...]) -> bool:
    """Return whether the path runs inside the ring from boundary to boundary and leaves wood on both sides."""
    if any(locate(ring, p)[2] > 1e-4 for p in (points[0], points[-1])):
        return False
    shape = region.area_of(ring, 0.01)
    path = region.path(points)
    # what stands out by no more than this in all is nowhere further off
    if path.difference(shape).length > 1e-2 and not shape.buffer(1e-2).covers(path):
        return False
    # a path along the outline would cut nothing off
    (x0, y0), (x1, y1) = points[0], points[-1]
    core = region.path([(x0 + (x1 - x0) * t, y0 + (y1 - y0) * t) for t in (0.2, 0.8)])
    if len(points) == 2 and shape.exterior.distance(core) > 1e-2:
        return True
    return bool(path.intersection(shape.buffer(-1e-2)).length > 0.5 * path.length)


def acute(angle: float) -> float:
    """Return the angle in degrees between two lines whose directions differ by ``angle`` radians, in [0, 90]."""
    turn = math.degrees(angle) % 180.0
    return min(turn, 180.0 - turn)


def joint_angle(points: tuple[Point, ...], grain: Leg) -> float:
    """Return the acute angle of a joint to a grain, degrees; of a bent joint that of its last, mitred, part."""
    (x0, y0), (x1, y1) = points[-2:]
    if len(points) == 2:
        (x0, y0), (x1, y1) = points
    return acute(math.atan2(y1 - y0, x1 - x0) - grain.frame.angle)
