"""Checks of how tops divide: seams that find no place, corners that cannot be joined, pieces too wide."""

from __future__ import annotations

from collections.abc import Iterator

from layout import region
from layout.cutouts import corner_name
from layout.findings import Finding, finding
from layout.joints import NoJoint, Offer
from layout.laid import Laid, pieces_at
from layout.pieces import Stuck


def _stuck_pieces(laid: Laid, stuck: Stuck) -> tuple[str, ...]:
    return tuple(
        p.id
        for p in laid.divided.pieces
        if p.top == stuck.top and region.overlap(region.area_of(p.ring), region.area_of(stuck.ring))
    )


def seams(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    labels, limit = laid.labels, float(laid.job.shop.max_length)
    for stuck in laid.divided.stuck:
        none = not stuck.by_hand and not stuck.undivided
        pieces = _stuck_pieces(laid, stuck)
        name = pieces[0] if pieces else stuck.top
        why = "and no place is clear for a seam" if none else "as it is divided"
        remedy = (
            "move a cutout, lower seam_clear, opening_clear or min_piece if the shop can, place a seam by hand with [[joint]], "
            "or raise max_length if such boards are to be had"
            if none
            else "add a seam by hand with [[joint]], or raise max_length if such boards are to be had"
        )
        if stuck.undivided:
            remedy = "make the corner joint possible, or raise max_length if such boards are to be had"
        yield finding(
            "seam-none-possible" if none else "piece-too-long",
            name,
            f"{name} of {stuck.top} is {labels.text(stuck.length)} long along the grain {why}; the limit is {labels.text(limit)}",
            remedy,
            value=stuck.length,
            limit=limit,
            at=stuck.at,
            pieces=pieces,
        )


def corners(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    for top_name, corner in laid.divided.corners:
        yield _corner(laid, top_name, corner)


def _corner(laid: Laid, top: str, corner: NoJoint) -> Finding:
    name = "/".join(corner.walls)
    near = region.spot(corner.at).buffer(1.0)
    instead = [_offer_words(laid, offer) for offer in corner.instead]
    pieces = pieces_at(laid, near, top) or tuple(p.id for p in laid.divided.pieces if p.top == top)
    remedy = f"use {' or '.join(instead)} under [[joint]]"
    if corner.blocked is not None:
        cut = next(c for c in laid.cutouts if c.name == corner.blocked)
        settled = any(j.top == top and j.corner is not None and corner_name(j.corner) == name for j in laid.job.joint)
        return finding(
            "joint-through-cutout",
            corner.blocked,
            f"a {corner.kind} at corner {name} of {top} would run through {corner.blocked}; the corner is left undivided",
            remedy if instead else f"move {corner.blocked} away from the corner",
            at=cut.center,
            pieces=pieces,
            paste="" if settled or not instead else _offer_text(laid, top, name, corner.instead[0]),
        )
    return finding(
        "leg-too-short",
        name,
        f"a {corner.kind} at corner {name} of {top} cannot be: a leg is too short or the "
        "depths too unequal for it; the corner is left undivided",
        remedy if instead else "lengthen the leg, or bring the two depths nearer to each other",
        at=corner.at,
        pieces=pieces,
    )


def _offer_words(laid: Laid, offer: Offer) -> str:
    if offer.kind == "mitre":
        return "a mitre"
    beyond = f" and beyond = {_quoted(laid, offer.beyond)}" if offer.beyond else ""
    return f'a {offer.kind} with through = "{offer.through}"{beyond}'


def _quoted(laid: Laid, mm: float) -> str:
    return f'"{laid.labels.fine(mm)}"'.replace('""', '"')


def _offer_text(laid: Laid, top: str, corner: str, offer: Offer) -> str:
    """Return an offered joint as it is typed in a job file."""
    lines = ["[[joint]]", f'top = "{top}"', f'corner = "{corner}"', f'kind = "{offer.kind}"']
    lines += [f'through = "{offer.through}"'] if offer.through else []
    lines += [f"beyond = {_quoted(laid, offer.beyond)}"] if offer.beyond else []
    return "\n".join(lines) + "\n"


def too_wide(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    labels, limit = laid.labels, float(laid.job.shop.max_width)
    undivided = [region.spot(corner.at).buffer(1.0) for _, corner in laid.divided.corners]
    for piece in laid.divided.pieces:
        # round a corner that is left undivided there is no piece yet; that has a finding of its own
        if any(region.area_of(piece.ring).intersects(corner) for corner in undivided):
            continue
        if piece.width > limit + region.TOLERANCE:
            yield finding(
                "piece-too-wide",
                piece.id,
                f"{piece.id} is {labels.text(piece.width)} wide across the grain; the widest glued blank is {labels.text(limit)}",
                "ask the shop whether it can glue that width, turn the grain, or divide the top",
                value=piece.width,
                limit=limit,
                at=piece.frame.to_plan((piece.length / 2, piece.width / 2)),
                pieces=(piece.id,),
            )
