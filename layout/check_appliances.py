"""Checks of what stands below and beside a top: openings at ends, ranges, heat, air."""

from __future__ import annotations

from collections.abc import Iterator

from layout import region
from layout.findings import Finding, finding
from layout.laid import Laid, pieces_at
from layout.openings import Opening
from layout.outline import rectangle
from layout.rules import CABINET_HEIGHT
from layout.top_plans import TopPlan

HOT = ("cooktop", "range", "oven", "dishwasher")
"""Kinds that give off heat or steam."""


def ends_over_openings(laid: Laid) -> Iterator[Finding]:
    """Yield openings below that reach an exposed end with nothing to stand on."""
    for opening in laid.divided.openings:
        top = next(t for t in laid.tops if t.name == opening.top)
        if opening.breaks:
            continue
        for hand in ("left", "right"):
            if not top.sides[hand].free or opening.leg is not (top.legs[0] if hand == "left" else top.legs[-1]):
                continue
            if _beyond(laid, opening, hand) or _stands(laid, top, opening, hand):
                continue
            x = opening.start if hand == "left" else opening.end
            at = opening.leg.frame.to_plan((x, opening.leg.front))
            yield finding(
                "end-over-opening",
                top.name,
                f"the {opening.kind} below {top.name} reaches its {hand} end, where the top has nothing to stand on",
                "put a panel or a post at that end and list it under [[support]], or move the opening",
                at=at,
                pieces=pieces_at(laid, region.spot(at), top.name),
            )


def _beyond(laid: Laid, opening: Opening, hand: str) -> bool:
    """Whether another opening lies between this one and the end: then that one reaches it, if any does."""
    others = [o for o in laid.divided.openings if o.leg == opening.leg and not o.breaks and o is not opening]
    if hand == "left":
        return any(o.end <= opening.start + region.TOLERANCE for o in others)
    return any(o.start >= opening.end - region.TOLERANCE for o in others)


def _stands(laid: Laid, top: TopPlan, opening: Opening, hand: str) -> bool:
    """Whether anything carries the top between an opening and the end beyond it: what is built there, or a support."""
    leg = opening.leg
    x0, x1 = (leg.start, opening.start) if hand == "left" else (opening.end, leg.end)
    if x1 - x0 <= region.TOLERANCE:
        x0, x1 = x0 - region.TOLERANCE, x1 + region.TOLERANCE
    zone = region.area_of(rectangle(x0, leg.front, x1, leg.back).moved(leg.frame.to_plan))
    if any(
        s.top == top.name and region.area_of(s.ring).intersects(zone.buffer(region.TOLERANCE)) for s in laid.supports
    ):
        return True
    built = next(c.built for c in laid.carried if c.top == top.name)
    for other in laid.divided.openings:
        if other.leg == leg and not other.breaks:
            box = rectangle(other.start, leg.front - 1.0, other.end, leg.back + 1.0).moved(leg.frame.to_plan)
            built = built.difference(region.area_of(box))
    return region.overlap(built, zone) is not None


def range_fits(laid: Laid) -> Iterator[Finding]:
    """Yield ranges that may not stand level with the top, or whose heights are not known."""
    labels, units = laid.labels, laid.job.job.units
    cabinet = CABINET_HEIGHT.size(units)
    for opening in laid.divided.openings:
        spec = laid.job.appliance[opening.index]
        if spec.kind != "range":
            continue
        top = laid.job.top[next(t.index for t in laid.tops if t.name == opening.top)]
        height = float(top.height) if top.height else cabinet + float(laid.job.wood.thickness)
        at = opening.leg.frame.to_plan(((opening.start + opening.end) / 2, opening.leg.front))
        if spec.top_height is None:
            yield finding(
                "range-fit",
                spec.kind,
                f"the heights at which the range can stand are not given; the top comes to {labels.fine(height)}",
                "take them from its sheet into top_height",
                value=height,
                at=at,
            )
            continue
        low, high = (float(h) for h in spec.top_height)
        if not low - region.TOLERANCE <= height <= high + region.TOLERANCE:
            yield finding(
                "range-fit",
                spec.kind,
                f"the top comes to {labels.fine(height)}; the range stands at {labels.fine(low)} to {labels.fine(high)}",
                "pad or cut the cabinets, change the thickness, or choose another range",
                value=height,
                limit=low if height < low else high,
                at=at,
            )


def heat(laid: Laid) -> Iterator[Finding]:
    """Yield one note for everything hot at the tops."""
    places = [(c.kind, c.center) for c in laid.cutouts if c.kind in HOT]
    places += [
        # towards the front, clear of the opening's name in its middle
        (o.kind, o.leg.frame.to_plan(((o.start + o.end) / 2, 0.85 * o.leg.front + 0.15 * o.leg.back)))
        for o in laid.divided.openings
        if o.kind in HOT
    ]
    if places:
        kinds = ", ".join(dict.fromkeys(kind for kind, _ in places))
        barrier = "; a barrier over the dishwasher" if "dishwasher" in kinds else ""
        yield finding(
            "heat-beside",
            kinds,
            f"heat beside or below the wood: {kinds}",
            f"keep the clearances of the appliance's instructions{barrier}",
            at=places[0][1],
        )


def air(laid: Laid) -> Iterator[Finding]:
    """Yield tops that lie on a solid deck."""
    for top in laid.tops:
        if laid.job.top[top.index].below == "solid deck":
            yield finding(
                "no-air-below",
                top.name,
                f"{top.name} lies on a solid deck: its underside gets no air",
                "open the deck, or stand the top on battens",
                at=region.inner_point(region.area_of(top.ring, 0.5)),
            )
