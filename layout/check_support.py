"""Checks of what carries a top: overhangs beyond the limit, outlines that do not say what carries them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from layout import region
from layout.brackets import plan_brackets
from layout.findings import Finding, finding
from layout.job_tops import OutlineTop
from layout.laid import Laid, pieces_at
from layout.support import Carried
from layout.top_plans import TopPlan, side_words


def overhangs(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    labels, limit = laid.labels, float(laid.job.shop.overhang_limit)
    for top, carried in zip(laid.tops, laid.carried, strict=True):
        seats = laid.job.top[top.index].seats
        for where in carried.unsupported:
            sides = [o for o in carried.overhangs if not o.supported and _touches(top, o.side, where)]
            worst = max(sides, key=lambda o: o.amount, default=None)
            amount = (
                worst.amount if worst and worst.amount > limit + region.TOLERANCE else _farthest(carried, where, limit)
            )
            plan = plan_brackets(laid.job, laid.room, top, laid.divided, laid.supports, carried, where)
            at = region.inner_point(where)
            named = f" at its {side_words(worst.side)}" if worst else ""
            remedy = (
                f"carry it by {plan.words}, screwed to the top so that the edge cannot curl"
                if plan
                else "bring what is below nearer to the edge, or make the top smaller there"
            )
            yield finding(
                "overhang-unsupported",
                top.name,
                f"{top.name} stands {labels.fine(amount)} beyond what carries it{named}; the limit is {labels.fine(limit)}"
                + (f", and {seats} people are to sit there" if seats else ""),
                remedy,
                severity="stop" if seats else None,
                value=amount,
                limit=limit,
                at=at,
                pieces=pieces_at(laid, where, top.name),
                paste=plan.paste if plan else "",
            )


def _touches(top: TopPlan, side: str, where: region.Region) -> bool:
    return side in top.ring.sides() and bool(region.side_line(top.ring, [side]).distance(where) < 0.02)


def _farthest(carried: Carried, where: region.Region, limit: float) -> float:
    """Return how far what carries the top would have to grow, corners kept square, to reach all of ``where`` (mm)."""
    low, high = limit, 2 * limit
    while high < 1e5 and not carried.carried.buffer(high, join_style="mitre").covers(where):
        low, high = high, 2 * high
    for _ in range(40):
        middle = (low + high) / 2
        if carried.carried.buffer(middle, join_style="mitre").covers(where):
            high = middle
        else:
            low = middle
    return high


def support_not_given(laid: Laid) -> Sequence[Finding]:
    """Yield findings of this kind."""
    return [
        finding(
            "support-not-given",
            top.name,
            f"{top.name} does not say what carries it, and is taken as carried everywhere",
            "give its support, the outline of what is below, in its own frame",
            at=region.inner_point(region.area_of(top.ring)),
        )
        for top in laid.tops
        if isinstance(spec := laid.job.top[top.index], OutlineTop) and spec.support is None
    ]
