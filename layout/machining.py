"""What a machine does to each piece: through cuts, and what is let into either face, with how deep.

An operation's ring is in the piece's own frame as seen from above, mm, whichever face it is done from; a cut file of the
underside mirrors all of it at once, so that both register.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from layout import region
from layout.cutouts import PlacedCutout
from layout.fasteners import Fastener, fasteners_of
from layout.hold_downs import hold_downs
from layout.job import Job
from layout.job_shop import CutLayer
from layout.laid import Laid, once
from layout.milling import Face
from layout.offset import offset_ring
from layout.outline import Point, Ring, Vertex, circle, edge_heading
from layout.pieces import Piece
from layout.rules import FASTENER_PAST, PILOT

TIGHT = math.radians(60.0)
"""An inside corner that turns by less is no corner that a square thing is to fit into."""


@dataclass(frozen=True, slots=True)
class Operation:
    """One contour: on which layer, how deep (mm; None: through), from which face, and what it is for."""

    layer: CutLayer
    ring: Ring
    depth: float | None
    face: Face
    what: str


def operations(laid: Laid, piece: Piece) -> tuple[Operation, ...]:
    """Return every operation on a piece but its outline, from above first, in a fixed order."""
    found = [
        *through(laid.job, piece),
        *_milled(laid, piece),
        *_fasteners(laid, piece),
        *_ledges(laid, piece),
        *_pilots(laid, piece),
    ]
    return tuple(sorted(found, key=lambda o: o.face))


@once
def operations_of(laid: Laid) -> dict[str, tuple[Operation, ...]]:
    """Return the operations on each piece by its id."""
    return {piece.id: operations(laid, piece) for piece in laid.divided.pieces}


def through(job: Job, piece: Piece) -> Iterator[Operation]:
    """Yield a piece's cutouts, those that open its front apart: they belong to its outline."""
    for cut in piece.cutouts:
        if cut.opens_front:
            continue  # part of the outline
        if cut.diameter is not None:
            ring = circle(*piece.frame.from_plan(cut.center), cut.diameter / 2.0)
            yield Operation("DRILL" if cut.kind == "hole" else "CUT_INSIDE", ring, None, "above", cut.name)
        else:
            ring = cut.ring.moved(piece.frame.from_plan)
            yield Operation("CUT_INSIDE", relieved(job, ring, hole=True), None, "above", cut.name)


def _milled(laid: Laid, piece: Piece) -> Iterator[Operation]:
    outline = region.area_of(piece.ring)
    for item in laid.milled:
        if item.top != piece.top:
            continue
        for ring in item.rings:
            if not outline.contains(region.area_of(ring).centroid):
                continue
            own = ring.moved(piece.frame.from_plan)
            if item.depth is None:
                yield Operation("CUT_INSIDE", own, None, "above", item.name)
            else:
                layer: CutLayer = "POCKET_ABOVE" if item.face == "above" else "POCKET_BELOW"
                yield Operation(layer, own, item.depth, item.face, item.name)


# --- from below ------------------------------------------------------------------------------------------------------


def pocket_depth(job: Job) -> float:
    """Return how deep a fastener's pocket is, mm."""
    stated = job.shop.fastener.depth
    if stated is not None:
        return float(stated)
    return float(job.wood.thickness) / 2 + FASTENER_PAST.size(job.job.units)


def _fasteners(laid: Laid, piece: Piece) -> Iterator[Operation]:
    """Yield each fastener's pocket: a round one, with a channel that runs out over the joint by its own width."""
    for joint in (j for j in laid.divided.joints if piece.id in j.pieces):
        for f in fasteners_of(laid)[joint.id]:
            ring = pocket(laid.job, piece, f)
            if ring is not None:
                yield Operation("POCKET_BELOW", ring, pocket_depth(laid.job), "below", joint.id)


def pocket(job: Job, piece: Piece, fastener: Fastener) -> Ring | None:
    """Return the pocket of a fastener on one piece of its joint, in that piece's frame; None where it lies in neither half.

    The channel runs out over the joint, so that a bit leaves no wall there.
    """
    shape = job.shop.fastener
    reach, radius, half = float(shape.reach), float(shape.pocket), float(shape.channel) / 2
    half = min(half, radius * 0.95)
    area = region.area_of(piece.ring)
    c, s = math.cos(fastener.angle), math.sin(fastener.angle)
    for way in (-1.0, 1.0):
        # across the joint, into this piece
        nx, ny = -way * s, way * c
        x, y = fastener.at[0] + reach * nx, fastener.at[1] + reach * ny
        if not area.contains(region.spot((x, y))):
            continue
        back = math.sqrt(radius * radius - half * half)

        def at(out: float, along: float, nx: float = nx, ny: float = ny) -> Point:
            return (fastener.at[0] + out * nx + along * ny, fastener.at[1] + out * ny - along * nx)

        # from the channel's end on one side, round the pocket, back along the other side: counter-clockwise, whichever way
        sweep = 2 * math.pi - 2 * math.asin(half / radius)
        bulge = math.tan(sweep / 8)
        far = at(reach + radius, 0.0)
        corners = [
            (at(-2 * half, half), 0.0),
            (at(reach - back, half), bulge),
            (far, bulge),
            (at(reach - back, -half), 0.0),
            (at(-2 * half, -half), 0.0),
        ]
        return Ring(tuple(Vertex(px, py, b) for (px, py), b in corners)).moved(piece.frame.from_plan)
    return None


def _ledges(laid: Laid, piece: Piece) -> Iterator[Operation]:
    for cut in piece.cutouts:
        spec = laid.job.cutout[cut.index]
        if spec.ledge is None:
            continue
        ring = ledge_ring(cut, float(spec.ledge.width)).moved(piece.frame.from_plan)
        yield Operation("POCKET_BELOW", ring, float(spec.ledge.depth), "below", cut.name)


def ledge_ring(cut: PlacedCutout, width: float) -> Ring:
    """Return the outer rim of a ledge round a cutout, in plan: its outline moved out by a width, corners round."""
    if cut.diameter is not None:
        return circle(*cut.center, cut.diameter / 2 + width, cut.name)
    return offset_ring(cut.ring, width)


def _pilots(laid: Laid, piece: Piece) -> Iterator[Operation]:
    """Yield pilot holes for the hold-downs, half the thickness deep, where the job wants them."""
    if not laid.job.cut.pilots:
        return
    unit = laid.job.job.units
    radius = PILOT.size(unit) / 2
    for hold in hold_downs(laid):
        if hold.piece == piece.id:
            ring = circle(*piece.frame.from_plan(hold.at), radius)
            yield Operation("DRILL", ring, float(laid.job.wood.thickness) / 2, "below", "hold-down")


# --- corners that a round bit cannot reach -----------------------------------------------------------------------------


def relieved(job: Job, ring: Ring, *, hole: bool) -> Ring:
    """Return a counter-clockwise ring whose square inside corners are cut out by a round bit that reaches into each.

    The bit's circle passes through the corner, its middle on the corner's bisector, so that a square thing fits. Rings of
    wood have them at corners that turn right, rings of holes at those that turn left; corners blunter than ``TIGHT`` stay.
    """
    if job.cut.relief == "none":
        return ring
    radius = float(job.shop.tool_diameter) / 2
    edges = list(ring.edges())
    out: list[Vertex] = []
    for k, (a, b) in enumerate(edges):
        p, q = edges[k - 1]
        found = _relief(p, q, a, b, radius, hole=hole)
        if found is None:
            out.append(a)
            continue
        first, second, bulge = found
        out += [Vertex(*first, bulge, a.side), a._replace(x=second[0], y=second[1])]
    return Ring(tuple(out))


def reliefs(job: Job, ring: Ring, *, hole: bool) -> tuple[Point, ...]:
    """Return the corners of a ring that are relieved."""
    if job.cut.relief == "none":
        return ()
    radius = float(job.shop.tool_diameter) / 2
    edges = list(ring.edges())
    return tuple(a.at for k, (a, b) in enumerate(edges) if _relief(*edges[k - 1], a, b, radius, hole=hole) is not None)


def _relief(
    p: Vertex, q: Vertex, a: Vertex, b: Vertex, radius: float, *, hole: bool
) -> tuple[Point, Point, float] | None:
    """Return where a relief leaves the edge before a corner and meets the one after, and its bulge; None where none is cut."""
    if p.bulge or a.bulge:
        return None
    before, after = edge_heading(p, q, 1.0), edge_heading(a, b, 0.0)
    turn = math.remainder(after - before, 2 * math.pi)
    inward = turn if hole else -turn
    if inward < TIGHT:
        return None
    # waste's angle in the corner, and how far along each edge the circle reaches
    angle = math.pi - inward
    along = 2 * radius * math.cos(angle / 2)
    if along >= min(math.dist(p.at, q.at), math.dist(a.at, b.at)) / 2:
        return None
    first = (a.x - along * math.cos(before), a.y - along * math.sin(before))
    second = (a.x + along * math.cos(after), a.y + along * math.sin(after))
    bulge = math.tan((math.pi - angle) / 2)
    return first, second, bulge if hole else -bulge
