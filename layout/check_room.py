"""Checks of the measures: tapes that disagree, walls that do not close."""

from __future__ import annotations

from collections.abc import Iterator

from layout import region
from layout.findings import Finding, finding
from layout.laid import Laid
from layout.rules import MEASURE_TOLERANCE


def measures(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    units = laid.job.job.units
    limit = MEASURE_TOLERANCE.size(units)
    for m in laid.room.measures:
        if abs(m.difference) > limit + region.TOLERANCE:
            labels = laid.labels
            yield finding(
                "measure-disagrees",
                f"{m.from_} to {m.to}",
                f"{m.from_} to {m.to} was taped {labels.text(m.measured)}; the walls as listed give {labels.text(m.computed)}, "
                f"{labels.fine(abs(m.difference))} {'less' if m.difference > 0 else 'more'}",
                "tape it again together with the walls and corners between the two points, before anything is cut",
                value=abs(m.difference),
                limit=limit,
                at=((m.ends[0][0] + m.ends[1][0]) / 2, (m.ends[0][1] + m.ends[1][1]) / 2),
            )


def closing(laid: Laid) -> Iterator[Finding]:
    """Yield findings of this kind."""
    units = laid.job.job.units
    limit = MEASURE_TOLERANCE.size(units)
    closure = laid.room.closure
    if closure is not None and closure > limit + region.TOLERANCE:
        yield finding(
            "walls-do-not-close",
            "room",
            f"the last wall ends {laid.labels.fine(closure)} from where the first one starts; {laid.labels.fine(limit)} is let pass",
            "tape the walls and corners again; a diagonal as a check measure shows which is off",
            value=closure,
            limit=limit,
            at=laid.room.walls[-1].end,
        )
