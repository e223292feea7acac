"""Checks of what is known of the site: proof of sizes, final measure, tops captive between walls."""

from __future__ import annotations

from collections.abc import Iterator

from layout.cutouts import PlacedCutout
from layout.findings import Finding, finding
from layout.job import Job
from layout.job_tops import RunTop
from layout.laid import Laid
from layout.room import PlacedWall, Room
from layout.top_plans import TopPlan

PROVEN = ("template", "spec sheet")
"""Where a cutout's size may come from."""


def held(job: Job, cut: PlacedCutout) -> bool:
    """Return whether a cutout is not to be cut yet: its size is not proven, or an undermount's reveal not given."""
    spec = job.cutout[cut.index]
    return spec.proof not in PROVEN or (cut.mount == "undermount" and spec.reveal is None)


def unproven(laid: Laid) -> Iterator[Finding]:
    """Yield one finding for all cutouts whose size nobody vouches for."""
    loose = [c for c in laid.cutouts if laid.job.cutout[c.index].proof not in PROVEN]
    if not loose:
        return
    names = ", ".join(c.name for c in loose)
    bare = any(c.mount == "undermount" and laid.job.cutout[c.index].reveal is None for c in loose)
    yield finding(
        "cutout-unproven",
        names,
        f"the size of {names} comes from a sketch or from nowhere that is said: HOLD, not to be cut before it is proven"
        + (" and its reveal settled" if bare else ""),
        "get the maker's template or specification sheet and say so under proof",
        at=loose[0].center,
        pieces=tuple(p.id for p in laid.divided.pieces if any(c in p.cutouts or c in p.crossing for c in loose)),
    )


def reveals(laid: Laid) -> Iterator[Finding]:
    """Yield one finding for all undermount sinks whose size is proven and whose reveal is not given."""
    specs = [(c, laid.job.cutout[c.index]) for c in laid.cutouts if c.mount == "undermount"]
    loose = [c for c, spec in specs if spec.reveal is None and spec.proof in PROVEN]
    if loose:
        names = ", ".join(c.name for c in loose)
        yield finding(
            "reveal-not-given",
            names,
            f"the reveal of {names} is not given: HOLD, it is not known how the top stands to the bowl",
            "ask whether the top stands over the bowl (above 0), flush (0) or back from it (below 0), and say so under reveal",
            at=loose[0].center,
            pieces=tuple(p.id for p in laid.divided.pieces if any(c in p.cutouts or c in p.crossing for c in loose)),
        )


def not_final(laid: Laid) -> Iterator[Finding]:
    """Yield one finding where the room was not in its final state when it was measured."""
    facts = laid.job.field
    walled = bool(laid.job.wall)
    open_points = []
    if walled and facts.walls != "finished":
        open_points.append(f"walls are {facts.walls}" if facts.walls else "nobody says that the walls are finished")
    if facts.cabinets != "set":
        open_points.append("cabinets are not set" if facts.cabinets else "nobody says that the cabinets are set")
    if open_points:
        yield finding(
            "not-final-measure",
            "field",
            f"this is no final measure: {' and '.join(open_points)}",
            "measure again when walls are finished and cabinets set, and say so under [field]",
        )


def captive(laid: Laid) -> Iterator[Finding]:
    """Yield straight runs that stand between two walls with no measure taped from wall to wall at the front."""
    for top in laid.tops:
        if not isinstance(laid.job.top[top.index], RunTop) or any(not c.straight for c in top.corners):
            continue
        if {top.sides["left"].end, top.sides["right"].end} != {"wall"} or _front_taped(laid.room, top):
            continue
        leg = top.legs[0]
        yield finding(
            "captive",
            top.name,
            f"{top.name} stands between two walls, and the room between them at its front edge was not taped",
            "tape from wall to wall where the front edge comes, list both walls, and give it under [[measure]]",
            at=leg.frame.to_plan(((leg.start + leg.end) / 2, leg.front)),
        )


def _front_taped(room: Room, top: TopPlan) -> bool:
    first, last = top.legs[0].wall, top.legs[-1].wall
    assert first is not None and last is not None
    left, right = room.before(first), room.after(last)
    if left is None or right is None:
        return False
    return any(
        (_away_from_corner(left, m.from_, left.length) and _away_from_corner(right, m.to, 0.0))
        or (_away_from_corner(left, m.to, left.length) and _away_from_corner(right, m.from_, 0.0))
        for m in room.measures
    )  # fmt: skip


def _away_from_corner(wall: PlacedWall, text: str, corner: float) -> bool:
    """Whether a measured point lies on ``wall`` and not in the corner at station ``corner``."""
    name, _, place = text.strip().partition(" ")
    if name != wall.name:
        return False
    at_end = {"start": 0.0, "end": wall.length}
    return place.strip() not in at_end or abs(at_end[place.strip()] - corner) > 1.0
