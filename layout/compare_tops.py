"""What changed of tops, pieces and joints."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

from layout import region
from layout.changes import Change, degrees, middle, with_degrees
from layout.compare_room import ANGLE
from layout.comparison import Comparison, along, closed, gone
from layout.matching import SAME, Motion, by_key, congruent, datum, fits
from layout.outline import Point
from layout.told import Joint, Part, Piece, Told


def top_changes(both: Comparison, pieces_told: bool) -> Iterator[Change]:
    """Yield what changed of the tops; ``pieces_told``: changes of pieces tell of their shape."""
    seen: set[str] = set()
    counts = [{t: sum(p.name == t for p in r.tops) for t in {p.name for p in r.tops}} for r in (both.old, both.new)]
    for was, now in by_key(both.old.tops, both.new.tops, lambda p: (p.name, p.part)):
        either = now or was
        assert either is not None
        name = either.name
        if was is not None and now is not None:
            yield from _top_moved(both, was, now, pieces_told)
        elif name not in seen:
            seen.add(name)
            report, kind, word = (both.new, *gone(True)) if was is None else (both.old, *gone(False))
            if name in both.tops_new | both.tops_gone:
                ids = [p.id for p in report.pieces if p.top == name]
                paths = [closed(report.ring(p.outline)) for p in report.tops if p.name == name]
                words = f"top {name} is {word}{', in ' if ids else ''}{' and '.join(ids)}"
                yield both.change("top", name, kind, words, None, paths if kind == "added" else ())
            else:
                words = (
                    f"top {name} is in {counts[1][name]} part{'s' * (counts[1][name] > 1)}, was in {counts[0][name]}"
                )
                yield both.change("top", name, "changed", words)


def _top_moved(both: Comparison, was: Part, now: Part, pieces_told: bool) -> Iterator[Change]:
    """Tell of a top of the same shape that did not come along with a wall, or of a shape that no piece tells of."""
    before, after = both.old.ring(was.outline), both.new.ring(now.outline)
    if any(fits(before, after, way) for way in both.ways):
        return
    part = f", part {now.part}" if sum(p.name == now.name for p in both.new.tops) > 1 else ""
    if congruent(before, after):
        from_, to = before.bounds(), after.bounds()
        words = f"top {now.name}{part} stands elsewhere: the lower left of its outline is at {{}} in plan, was at {{}}"
        texts = [both.say.pair(from_[k], to[k]) for k in (0, 1)]
        told_ = words.format(*(f"{texts[0][k]}, {texts[1][k]}" for k in (1, 0)))
        yield both.change("top", now.name, "changed", told_, None, [closed(after)])
    elif not pieces_told:
        words_ = both.say.area(before.area, after.area)
        yield both.change(
            "top", now.name, "changed", f"the outline of top {now.name}{part} covers {words_[1]}, was {words_[0]}"
        )


def piece_changes(both: Comparison, opened: Sequence[region.Region]) -> Iterator[Change]:
    """Yield what changed of the pieces; ``opened``: where cutouts changed, so that an outline which opens there is told of."""
    yield from _renumbered(both, "piece", both.renamed)
    for was, now in both.pieces:
        if was is not None and now is not None:
            yield from _piece_changed(both, was, now, opened)
            continue
        piece, report, kind, word = both.alone(was, now)
        if piece.top in both.tops_new | both.tops_gone:
            continue
        size = f"{_size(both, report, piece.length)} x {_size(both, report, piece.width)}"
        paths = _other_corners(both, report, piece)
        words = f"{piece.id} is {word}, {size} in top {piece.top}"
        yield both.change("piece", piece.id, kind, words, None, paths, piece.id if kind == "added" else None)


def _size(both: Comparison, report: Told, length: float) -> str:
    return both.say.labels.text(length * report.unit)


def _piece_changed(both: Comparison, was: Piece, now: Piece, opened: Sequence[region.Region]) -> Iterator[Change]:
    paths = None
    told_ = False
    for word, before, after in (("long", was.length, now.length), ("wide", was.width, now.width)):
        figures = (before * both.old.unit, after * both.new.unit)
        # what is finer than a tape shows as another outline, if at all
        if abs(figures[0] - figures[1]) > SAME and both.say.told_apart(*figures):
            told_ = True
            paths = paths or _other_corners(both, both.new, now)
            texts = both.say.pair(*figures)
            words = f"{now.id} is {texts[1]} {word}, was {texts[0]}"
            yield both.change("piece", now.id, "changed", words, figures, paths, now.id)
    rings = (both.old.ring(was.outline), both.new.ring(now.outline))
    if not told_ and not congruent(*rings):
        paths = _other_corners(both, both.new, now)
        if not (paths and all(_on_one(p, opened) for path in paths for p in path)):
            texts = both.say.area(rings[0].area, rings[1].area)
            words = f"the outline of {now.id} covers {texts[1]}, was {texts[0]}"
            yield both.change("piece", now.id, "changed", words, None, paths, now.id)
    turned = [(now.grain - was.grain - math.degrees(way.turn) + 90.0) % 180.0 - 90.0 for way in both.ways]
    if min(abs(t) for t in turned) > ANGLE and not congruent(*rings):
        texts = degrees(was.grain, now.grain)
        words = f"the grain of {now.id} runs at {texts[1]} in plan, was at {texts[0]}"
        found = both.change("piece", now.id, "changed", words, None, [closed(rings[1])], now.id)
        yield with_degrees(found, was.grain, now.grain)


def _on_one(p: Point, areas: Sequence[region.Region]) -> bool:
    return any(area.boundary.distance(region.spot(p)) < 0.5 for area in areas)


def _other_corners(both: Comparison, report: Told, piece: Piece) -> list[tuple[Point, ...]]:
    """Return, in plan mm, the stretches of a piece's outline whose corners the same top had nowhere in the other report."""
    other = both.old if report is both.new else both.new
    ring = report.ring(piece.outline).clean()
    known = [other.point((v[0], v[1])) for p in other.pieces if p.top == piece.top for v in p.outline]
    best: list[bool] | None = None
    for way in both.ways:
        # how the other report's corners came to this one's: along with a wall, or back
        back = way if report is both.new else Motion(-way.turn, way.to, way.origin)
        moved = [back.of(p) for p in known]
        fresh = [not any(math.dist(v.at, p) < SAME for p in moved) for v in ring.vertices]
        if best is None or sum(fresh) < sum(best):
            best = fresh
    assert best is not None
    n = len(best)
    if all(best) or not any(best):
        return [closed(ring)]
    first = next(k for k in range(n) if best[k] and not best[k - 1])
    out: list[list[Point]] = []
    for k in range(first, first + n):
        if best[k % n]:
            if not best[(k - 1) % n]:
                out.append([])
            out[-1].append(ring.vertices[k % n].at)
    return [tuple(path) for path in out]


def _renumbered(both: Comparison, what: Literal["piece", "joint"], names: dict[str, str]) -> Iterator[Change]:
    moved = [(a, b) for a, b in names.items() if a != b]
    if moved:
        words = ", ".join(f"{a} is now {b}" for a, b in moved)
        yield both.change(what, ", ".join(b for _, b in moved), "changed", f"{what}s are renumbered: {words}")


def joint_changes(both: Comparison) -> Iterator[Change]:
    """Yield what changed of the joints."""
    yield from _renumbered(both, "joint", both.joint_names)
    for was, now in both.joints:
        if was is not None and now is not None:
            yield from _joint_changed(both, was, now)
            continue
        joint, report, kind, word = both.alone(was, now)
        if joint.top in both.tops_new | both.tops_gone:
            continue
        words = f"{joint.id} is {word}, a {joint.kind} between {' and '.join(joint.pieces)}"
        yield both.change("joint", joint.id, kind, words, None, [[report.point(p) for p in joint.points]])


def _joint_changed(both: Comparison, was: Joint, now: Joint) -> Iterator[Change]:
    path = [[both.new.point(p) for p in now.points]]
    if was.kind != now.kind:
        yield both.change("joint", now.id, "changed", f"{now.id} is a {now.kind}, was a {was.kind}", None, path)
    middles = (middle([both.old.point(p) for p in was.points]), middle(path[0]))
    if was.kind == now.kind == "seam":
        at = datum(both.old, both.new, now.top, *middles)
        figures = (at.old.from_plan(middles[0])[0], at.new.from_plan(middles[1])[0])
        if abs(figures[0] - figures[1]) > SAME:
            texts = both.say.pair(*figures)
            words = f"{now.id} stands {texts[1]} {along(at, now.top)}, was {texts[0]}"
            yield both.change("joint", now.id, "changed", words, figures, path)
    figures = (was.length * both.old.unit, now.length * both.new.unit)
    if abs(figures[0] - figures[1]) > SAME:
        texts = both.say.pair(*figures)
        yield both.change("joint", now.id, "changed", f"{now.id} is {texts[1]} long, was {texts[0]}", figures, path)
    # the two angles go with the two pieces, whose order may be the other way round
    swapped = both.renamed.get(was.pieces[0]) == now.pieces[1] and was.pieces != now.pieces
    before = was.angles[::-1] if swapped else was.angles
    worst = max((0, 1), key=lambda k: abs(before[k] - now.angles[k]))
    if abs(before[worst] - now.angles[worst]) > ANGLE:
        pairs = [degrees(before[k], now.angles[k]) for k in (0, 1)]
        words = (
            f"{now.id} is cut at {pairs[0][1]} and {pairs[1][1]} to the grain, was at {pairs[0][0]} and {pairs[1][0]}"
        )
        found = both.change("joint", now.id, "changed", words, None, path)
        yield with_degrees(found, before[worst], now.angles[worst])
