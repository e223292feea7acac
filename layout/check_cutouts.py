"""Checks of cutouts and outlines: wood left beside them, overlaps, corners tighter than the bit."""

from __future__ import annotations

import math
from collections.abc import Iterator

from layout import region
from layout.cutouts import PlacedCutout
from layout.findings import Finding, finding
from layout.laid import Laid, pieces_at, webs_of
from layout.outline import Ring, arc_of, edge_heading
from layout.pieces import Piece
from layout.units import Labels
from layout.webs import WebWidth, neck, part_of

_BESIDE = {
    "front": "the front edge",
    "back": "the back edge",
    "end": "the exposed end",
    "between": "cutout {}",
    "joint": "joint {}",
    "hole": "{}",
}


def thin_webs(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    labels = laid.labels
    for web in webs_of(laid):
        if web.width >= web.limit - region.TOLERANCE:
            continue
        grave = web.width < web.limit / 2 - region.TOLERANCE
        beside = _BESIDE[web.kind].format(web.beside)
        cut = next(c for c in laid.cutouts if c.name == web.cutout)
        yield finding(
            "web-too-thin",
            web.cutout,
            f"{web.cutout} lies across {beside}; the shop wants {labels.fine(web.limit)} of wood between them"
            if web.width == 0.0 and web.kind == "joint"
            else f"only {labels.fine(web.width)} of wood is left between {web.cutout} and {beside}; "
            f"the shop wants {labels.fine(web.limit)}",
            _web_remedy(web, labels),
            severity="stop" if grave else None,
            value=web.width,
            limit=web.limit,
            at=web.at,
            pieces=pieces_at(laid, region.area_of(cut.ring), cut.top),
        )


def _web_remedy(web: WebWidth, labels: Labels) -> str:
    more = labels.at_least(web.limit - web.width + web.across)
    if web.kind == "front":
        return f"raise the setback of {web.cutout} by {more}, or ask the shop"
    if web.kind == "back":
        return f"lower the setback of {web.cutout} by {more} or make the top deeper, or ask the shop"
    return f"move {web.cutout} {more} away from it, or ask the shop"


def necks(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    limit = float(laid.job.shop.web.between)
    for piece in laid.divided.pieces:
        # the strips round an apron sink are webs of that sink, measured as such
        aprons = [region.area_of(c.ring).buffer(0.02) for c in piece.cutouts if c.opens_front]
        own = region.area_of(piece.ring)
        shape = region.union([own, *aprons]) if aprons else own
        found = [n for p in region.polygons(shape) if (n := neck(p, limit - region.TOLERANCE))]
        for width, at in found:
            yield finding(
                "web-too-thin",
                piece.top,
                f"{piece.top} is only {laid.labels.fine(width)} wide at a neck of its outline; the shop wants {laid.labels.fine(limit)}",
                "widen the outline there, or divide it at the neck with a joint",
                severity="stop" if width < limit / 2 - region.TOLERANCE else None,
                value=width,
                limit=limit,
                at=at,
                pieces=(piece.id,),
            )


def outside(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    for cut in laid.cutouts:
        if part_of(cut, laid.divided.parts) is not None and not _apron_sticks_out(cut):
            continue
        top = region.union(region.area_of(p.ring) for p in laid.divided.parts if p.top == cut.top)
        shape = region.area_of(cut.ring)
        out = shape.difference(top)
        touched = pieces_at(laid, shape, cut.top) or tuple(p.id for p in laid.divided.pieces if p.top == cut.top)
        yield finding(
            "cutout-outside",
            cut.name,
            f"{cut.name} is not wholly inside {cut.top}: {out.area / shape.area:.0%} of it lies beyond its edges"
            if not cut.opens_front
            else f"{cut.name} is wider than the front of {cut.top} where it stands",
            "check its station, setback and size against the sketch",
            at=cut.center,
            pieces=touched,
        )


def _apron_sticks_out(cut: PlacedCutout) -> bool:
    if not cut.opens_front:
        return False
    x0, x1 = cut.extent
    return x1 - x0 < cut.size[0] - region.TOLERANCE


def overlaps(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    shapes = [region.area_of(c.ring) for c in laid.cutouts]
    for k, a in enumerate(laid.cutouts):
        for n in range(k + 1, len(laid.cutouts)):
            b = laid.cutouts[n]
            shared = region.overlap(shapes[k], shapes[n])
            if shared is not None:
                yield finding(
                    "cutouts-overlap",
                    f"{a.name}, {b.name}",
                    f"{a.name} and {b.name} overlap",
                    "move one of them, or make one cutout of both",
                    at=region.inner_point(shared),
                    pieces=pieces_at(laid, region.union([shapes[k], shapes[n]])),
                )


def tops_overlap(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    shapes = {
        t.name: region.union(region.area_of(p.ring) for p in laid.divided.parts if p.top == t.name) for t in laid.tops
    }
    names = list(shapes)
    for k, a in enumerate(names):
        for b in names[k + 1 :]:
            shared = region.overlap(shapes[a], shapes[b])
            if shared is not None:
                yield finding(
                    "tops-overlap",
                    f"{a}, {b}",
                    f"{a} and {b} lie over one another",
                    "move one of them, shorten a leg, or make them one run",
                    at=region.inner_point(shared),
                    pieces=pieces_at(laid, shared),
                )


def tight_corners(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    bit = float(laid.job.shop.tool_diameter) / 2
    labels = laid.labels
    for cut in laid.cutouts:
        if cut.diameter is None and cut.radius < bit - region.TOLERANCE:
            yield finding(
                "corner-too-tight",
                cut.name,
                f"the inside corners of {cut.name} have a radius of {labels.fine(cut.radius)}; "
                f"a {labels.fine(2 * bit)} bit leaves {labels.fine(bit)}{_relief_words(laid, cut.radius)}",
                f"give it radius {labels.fine(bit)} or more, or have the corners squared by hand"
                if cut.template is None
                else f"ask whether {cut.template.file} may have radius {labels.fine(bit)} there, or have them squared by hand",
                value=cut.radius,
                limit=bit,
                at=cut.center,
                pieces=pieces_at(laid, region.area_of(cut.ring), cut.top),
            )
    openings = {c.name for c in laid.cutouts}
    undivided = [region.spot(corner.at).buffer(1.0) for _, corner in laid.divided.corners]
    whole = [p for p in laid.divided.pieces if not any(region.area_of(p.ring).intersects(c) for c in undivided)]
    # round a corner that is left undivided there is no piece yet; that has a finding of its own
    tight = [(n, p) for p in whole for n in _inside_corners(p, bit) if n[2] not in openings]
    if tight:
        (radius, at, _), _ = min(tight, key=lambda found: found[0])
        pieces = tuple(dict.fromkeys(p.id for _, p in tight))
        yield finding(
            "corner-too-tight",
            ", ".join(pieces),
            f"the outline of {', '.join(pieces)} has {len(tight)} inside corner{'s' if len(tight) > 1 else ''} "
            f"tighter than a {labels.fine(2 * bit)} bit, radius {labels.fine(radius)}{_relief_words(laid, radius)}",
            f"round {'them' if len(tight) > 1 else 'it'} by {labels.fine(bit)} or more, or have them squared by hand",
            value=radius,
            limit=bit,
            at=at,
            pieces=pieces,
        )


def _relief_words(laid: Laid, radius: float) -> str:
    """Say what the cut file does at a square corner."""
    square = radius == 0.0 and laid.job.cut.relief == "round"
    return "; the cut file has a round relief at each, into the wood, so that a square thing fits" if square else ""


def _inside_corners(piece: Piece, bit: float) -> list[tuple[float, tuple[float, float], str]]:
    """Return inside corners of a piece's outline tighter than the bit, joints apart: radius, place, side."""
    ring: Ring = piece.ring.clean()
    out = []
    edges = list(ring.edges())
    for k, (a, b) in enumerate(edges):
        p, q = edges[k - 1]
        # at a joint the two pieces are fitted; a diagonal's blunt corners are sawn
        if "joint" in (p.side, a.side) or p.side.endswith(" inside") or a.side.endswith(" inside"):
            continue
        if p.side == a.side and a.side.endswith(" back"):  # a back that follows its wall
            continue
        turn = _turn(edge_heading(a, b, 0.0) - edge_heading(p, q, 1.0))
        if turn < -1e-3:
            out.append(
                (0.0, a.at, a.side if a.side in piece.sides and piece.sides[a.side].kind == "opening" else p.side)
            )
        arc = arc_of(a, b)
        if arc is not None and arc.sweep < 0 and arc.radius < bit - region.TOLERANCE:
            out.append((arc.radius, a.at, a.side))
    return out


def _turn(angle: float) -> float:
    return math.remainder(angle, 2 * math.pi)
