"""What changed of cutouts and of what is let into a face."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from layout import region
from layout.changes import Change, What
from layout.comparison import Comparison, along, closed
from layout.matching import SAME, Datum, by_key, congruent, datum, extent
from layout.outline import Point, Ring
from layout.told import Cutout, Milled, Told

Cut = TypeVar("Cut", Cutout, Milled)
Tell = Callable[[str, tuple[float, float] | None], Change]
"""What makes a change of one thing of its words and figures."""


def cutout_changes(both: Comparison) -> Iterator[Change]:
    """Yield what changed of the cutouts."""
    return _by_name(both, "cutout", both.old.cutouts, both.new.cutouts, _cutout_changed)


def milled_changes(both: Comparison) -> Iterator[Change]:
    """Yield what changed of grooves, slots and recesses."""
    return _by_name(both, "milled", both.old.milled, both.new.milled, _milled_changed)


def changed_cutouts(both: Comparison, changes: Sequence[Change]) -> list[region.Region]:
    """Return where the cutouts that these changes are of lie, and where they lay, mm."""
    names = {change.name for change in changes}
    found = [(report, cut) for report in (both.old, both.new) for cut in report.cutouts if cut.name in names]
    return [region.area_of(report.ring(cut.outline), 0.05) for report, cut in found]


def _by_name(
    both: Comparison,
    what: What,
    old: Sequence[Cut],
    new: Sequence[Cut],
    more: Callable[[Comparison, Cut, Cut, Tell], Iterator[Change]],
) -> Iterator[Change]:
    """Tell of what is new and gone, of what is of another kind or in another top, and of that in one top what more there is."""
    for was, now in by_key(old, new, lambda c: c.name):
        if was is None or now is None:
            cut, report, kind, word = both.alone(was, now)
            words = f"{cut.name} is {word}, a {cut.kind} in top {cut.top}"
            if isinstance(cut, Milled):
                words += f", {_depth(both, report, cut)}"
            piece = _piece(report, cut)
            piece = piece if kind == "added" else both.renamed.get(piece or "")
            yield both.change(what, cut.name, kind, words, None, _paths(report, cut), piece)
            continue

        changed = _teller(both, what, now)
        if was.kind != now.kind:
            yield changed(f"{now.name} is a {now.kind}, was a {was.kind}", None)
        if was.top != now.top:
            yield changed(f"{now.name} is in top {now.top}, was in top {was.top}", None)
        else:
            yield from more(both, was, now, changed)


def _teller(both: Comparison, what: What, cut: Cutout | Milled) -> Tell:
    paths, piece = _paths(both.new, cut), _piece(both.new, cut)

    def changed(words: str, figures: tuple[float, float] | None) -> Change:
        return both.change(what, cut.name, "changed", words, figures, paths, piece)

    return changed


def _cutout_changed(both: Comparison, was: Cutout, now: Cutout, changed: Tell) -> Iterator[Change]:
    yield from _moved(both, was, now, changed)
    yield from _reshaped(both, was, now, changed)
    if was.piece is not None and now.piece is not None and both.renamed.get(was.piece) != now.piece:
        yield changed(f"{now.name} lies on {now.piece}, was on {was.piece}", None)
    elif (was.piece is None) != (now.piece is None):
        where = [f"on {cut.piece}" if cut.piece is not None else "on no single piece" for cut in (was, now)]
        yield changed(f"{now.name} lies {where[1]}, was {where[0]}", None)


def _milled_changed(both: Comparison, was: Milled, now: Milled, changed: Tell) -> Iterator[Change]:
    name = now.name
    if was.face != now.face:
        yield changed(f"{name} is let in from {now.face}, was from {was.face}", None)
    depths = [None if m.depth is None else m.depth * r.unit for m, r in ((was, both.old), (now, both.new))]
    if depths[0] is None or depths[1] is None:
        if depths[0] != depths[1]:
            yield changed(f"{name} is {_depth(both, both.new, now)}, was {_depth(both, both.old, was)}", None)
    elif abs(depths[0] - depths[1]) > SAME:
        texts = both.say.pair(depths[0], depths[1])
        yield changed(f"{name} is {texts[1]} deep, was {texts[0]}", (depths[0], depths[1]))
    yield from _moved(both, was, now, changed)
    if len(was.outlines) != len(now.outlines):
        yield changed(f"{name} takes {len(now.outlines)} cuts, was {len(was.outlines)}", None)
    yield from _reshaped(both, was, now, changed)


def _depth(both: Comparison, report: Told, item: Milled) -> str:
    if item.depth is None:
        return "cut through"
    return f"{both.say.labels.fine(item.depth * report.unit)} deep from {item.face}"


def _piece(report: Told, cut: Cutout | Milled) -> str | None:
    """Return the piece that a cutout lies on, or that holds the middle of what is let in."""
    if isinstance(cut, Cutout):
        return cut.piece
    at = report.point(cut.center)
    return next((p.id for p in report.pieces if p.top == cut.top and report.ring(p.outline).contains(at)), None)


def _rings(report: Told, cut: Cutout | Milled) -> list[Ring]:
    return [report.ring(outline) for outline in ([cut.outline] if isinstance(cut, Cutout) else cut.outlines)]


def _paths(report: Told, cut: Cutout | Milled) -> list[tuple[Point, ...]]:
    return [closed(ring) for ring in _rings(report, cut)]


# --- where and how large ---------------------------------------------------------------------------------------------


def _datum(both: Comparison, was: Cutout | Milled, now: Cutout | Milled) -> tuple[Datum, tuple[Point, Point]]:
    centres = (both.old.point(was.center), both.new.point(now.center))
    return datum(both.old, both.new, now.top, *centres), centres


def _moved(both: Comparison, was: Cutout | Milled, now: Cutout | Milled, changed: Tell) -> Iterator[Change]:
    at, centres = _datum(both, was, now)
    (x0, y0), (x1, y1) = at.old.from_plan(centres[0]), at.new.from_plan(centres[1])
    y0, y1 = (abs(y0), abs(y1)) if at.wall else (y0, y1)
    if abs(x0 - x1) > SAME:
        texts = both.say.pair(x0, x1)
        yield changed(f"the centre of {now.name} is {texts[1]} {along(at, now.top)}, was {texts[0]}", (x0, x1))
    if abs(y0 - y1) > SAME:
        texts = both.say.pair(y0, y1)
        off = f"off wall {at.wall}" if at.wall else f"across the grain of {now.top} from its side"
        yield changed(f"the centre of {now.name} is {texts[1]} {off}, was {texts[0]}", (y0, y1))


def _reshaped(both: Comparison, was: Cutout | Milled, now: Cutout | Milled, changed: Tell) -> Iterator[Change]:
    """Tell of another size, or of another shape of that size."""
    at, _ = _datum(both, was, now)
    rings = (_rings(both.old, was), _rings(both.new, now))
    sizes = [extent(own, frame) for own, frame in zip(rings, (at.old, at.new), strict=True)]
    same_shape = len(rings[0]) == len(rings[1]) and all(congruent(a, b) for a, b in zip(*rings, strict=True))
    if any(abs(a - b) > SAME for a, b in zip(*sizes, strict=True)):
        texts = [both.say.pair(a, b) for a, b in zip(*sizes, strict=True)]
        sized = [" x ".join(pair[k] for pair in texts) for k in (0, 1)]
        verb = "turned: it takes" if same_shape else "takes"
        k = 0 if abs(sizes[0][0] - sizes[1][0]) > SAME else 1
        yield changed(f"{now.name} {verb} {sized[1]} along and across, was {sized[0]}", (sizes[0][k], sizes[1][k]))
    elif not same_shape:
        texts_ = both.say.area(*(math.fsum(ring.area for ring in own) for own in rings))
        yield changed(f"the outline of {now.name} covers {texts_[1]}, was {texts_[0]}", None)
