"""Checks of what is let into faces: it lies on one piece, leaves wood under it, and keeps off edges, cutouts and its like."""

from __future__ import annotations

from collections.abc import Iterator

from layout import region
from layout.findings import Finding, finding
from layout.laid import Laid, pieces_at
from layout.machining import Operation, operations_of
from layout.milling import Milled
from layout.pieces import Piece
from layout.rules import MILLED_LEAST


def outside(laid: Laid) -> Iterator[Finding]:
    """Yield one finding for each thing let in that does not lie wholly on one piece."""
    for item in laid.milled:
        homes = [region.area_of(p.ring) for p in laid.divided.pieces if p.top == item.top]
        shapes = [region.area_of(r) for r in item.rings]
        if all(any(region.holds(home, shape) for home in homes) for shape in shapes):
            continue
        whole = region.union(shapes)
        yield finding(
            "milling-outside",
            item.name,
            f"{item.name} does not lie wholly on one piece of {item.top}",
            "move it off the edge or the joint, or make it shorter",
            at=item.center,
            pieces=pieces_at(laid, whole, item.top),
        )


def too_deep(laid: Laid) -> Iterator[Finding]:
    """Yield one finding for each thing let in under which too little wood is left, both faces counted, where it is least."""
    least = MILLED_LEAST.size(laid.job.job.units)
    found: dict[str, list[tuple[Piece, Operation, float, str]]] = {}
    for piece in laid.divided.pieces:
        for one, left, and_what in _left_under(laid, piece):
            if left < least - region.TOLERANCE:
                found.setdefault(one.what, []).append((piece, one, left, and_what))
    for what, places in found.items():
        piece, one, left, and_what = min(places, key=lambda place: place[2])
        left_words = "it goes through" if left <= 0 else f"only {laid.labels.fine(left)} of wood is left under it"
        deep = laid.labels.fine(one.depth or 0.0)
        yield finding(
            "milling-too-deep",
            what,
            f"{what} is {deep} deep{and_what}: {left_words}; {laid.labels.fine(least)} is wanted",
            "make it shallower, move it, or make the top thicker",
            severity="stop" if left < least / 2 - region.TOLERANCE else None,
            value=left,
            limit=least,
            at=piece.frame.to_plan(region.inner_point(region.area_of(one.ring))),
            pieces=tuple(dict.fromkeys(p.id for p, *_ in places)),
        )


def _left_under(laid: Laid, piece: Piece) -> Iterator[tuple[Operation, float, str]]:
    """Yield each pocket in a piece, the wood (mm) left under it, and what is let in opposite it; of two, the one from above."""
    work = [o for o in operations_of(laid)[piece.id] if o.depth is not None and o.layer != "DRILL"]
    for one in work:
        opposite = [
            (w.depth or 0.0, w.what)
            for w in work
            if w.face != one.face and region.overlap(region.area_of(one.ring), region.area_of(w.ring)) is not None
        ]
        below, what = max(opposite, default=(0.0, ""))
        if not (below and one.face == "below"):
            left = float(laid.job.wood.thickness) - (one.depth or 0.0) - below
            yield one, left, f", with {what} let in from the other face" if below else ""


def near(laid: Laid) -> Iterator[Finding]:
    """Yield one finding for each thing let in that comes too near to an edge, a cutout or another from the same face."""
    limit = float(laid.job.shop.web.hole)
    for k, item in enumerate(laid.milled):
        shape = region.union(region.area_of(r) for r in item.rings)
        found = [(gap, words) for gap, words in _neighbours(laid, k, item, shape) if gap < limit - region.TOLERANCE]
        if not found:
            continue
        gap, words = min(found)
        yield finding(
            "web-too-thin",
            item.name,
            f"only {laid.labels.fine(gap)} of wood is left between {item.name} and {words}; "
            f"the shop wants {laid.labels.fine(limit)}",
            f"move {item.name} {laid.labels.at_least(limit - gap)} away from it, or ask the shop",
            severity="stop" if gap < limit / 2 - region.TOLERANCE else None,
            value=gap,
            limit=limit,
            at=item.center,
            pieces=pieces_at(laid, shape, item.top),
        )


def _neighbours(laid: Laid, k: int, item: Milled, shape: region.Region) -> Iterator[tuple[float, str]]:
    """Yield how far something let in lies from each thing beside it; what lies over an edge has a finding of its own."""
    for piece in (p for p in laid.divided.pieces if p.top == item.top):
        home = region.area_of(piece.ring)
        if region.holds(home, shape):
            yield float(home.exterior.distance(shape)), f"the edge of {piece.id}"
    for cut in laid.cutouts:
        if cut.top == item.top and cut.name != item.sink:
            yield float(region.area_of(cut.ring).distance(shape)), cut.name
    for n, other in enumerate(laid.milled):
        if n < k and other.top == item.top and other.face == item.face:
            yield float(region.union(region.area_of(r) for r in other.rings).distance(shape)), other.name


def tight(laid: Laid) -> Iterator[Finding]:
    """Yield one finding for each thing let in that is narrower than the bit, or whose corners are tighter."""
    bit = float(laid.job.shop.tool_diameter)
    for item in laid.milled:
        radius = min(item.size) / 2
        if item.family == "recess":
            radius = float(laid.job.recess[item.index].radius or 0)
        if item.family == "recess" and radius < bit / 2 - region.TOLERANCE:
            yield finding(
                "corner-too-tight",
                item.name,
                f"the corners of {item.name} have a radius of {laid.labels.fine(radius)}; a {laid.labels.fine(bit)} bit "
                f"leaves {laid.labels.fine(bit / 2)}",
                f"give it radius {laid.labels.fine(bit / 2)} or more, or have the corners squared by hand",
                value=radius,
                limit=bit / 2,
                at=item.center,
                pieces=pieces_at(laid, region.area_of(item.rings[0]), item.top),
            )
