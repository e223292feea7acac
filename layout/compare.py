"""What changed from one report to the next, told as a person would: each cause once, its figures as they are printed.

Lengths are compared in mm, whatever units the two reports are in, and told in the new one's. Pieces and joints are numbered
in the order of the file, so an inserted one renumbers the rest: that is one change, not many.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from typing import Any, Literal

from layout import region
from layout.changes import Change, Figures, Happened, What, apart, degrees, middle, with_degrees
from layout.matching import (
    SAME,
    Datum,
    Motion,
    Pairs,
    by_key,
    congruent,
    datum,
    extent,
    fits,
    joints_paired,
    motions,
    pieces_paired,
)
from layout.outline import Point, Ring
from layout.told import Cutout, Finding, Joint, Measure, Part, Piece, Told, Wall, told
from layout.top_plans import side_words
from layout.units import UNIT_NAMES

ANGLE = 0.005
"""Angles that differ by less, degrees, are the same."""


def compare(old: dict[str, Any], new: dict[str, Any]) -> tuple[Change, ...]:
    """Return what changed between two reports, causes before what follows from them; empty where nothing did.

    Raises ToldError where one of them is no report.
    """
    return tuple(_Comparison(told(old), told(new)).changes())


class _Comparison:
    """Two reports while they are held against each other."""

    def __init__(self, old: Told, new: Told) -> None:
        self.old, self.new = old, new
        self.say = Figures(new.job.units)
        self.ways = motions(old, new)
        self.pieces = pieces_paired(old, new)
        self.renamed = {p.id: q.id for p, q in self.pieces if p is not None and q is not None}
        self.joints = joints_paired(old, new, self.renamed)
        self.joint_names = {a.id: b.id for a, b in self.joints if a is not None and b is not None}
        before, after = ({p.name for p in r.tops} for r in (old, new))
        self.tops_new, self.tops_gone = after - before, before - after
        self.moved_cuts: list[region.Region] = []

    def changes(self) -> Iterator[Change]:
        """Yield all changes, in the order in which they are told."""
        # cutouts are looked at first: an outline that only opens elsewhere follows from them
        cutouts = list(self._cutouts())
        pieces = list(self._pieces())
        yield from self._job()
        yield from self._wood()
        yield from self._walls()
        yield from self._measures()
        yield from self._tops(bool(pieces))
        yield from pieces
        yield from self._joints()
        yield from cutouts
        yield from self._edges()
        yield from self._overhangs()
        yield from self._findings()

    def _change(
        self,
        what: What,
        name: str,
        kind: Happened,
        words: str,
        figures: tuple[float, float] | None = None,
        paths: Sequence[Sequence[Point]] = (),
        piece: str | None = None,
    ) -> Change:
        """Return a change; ``figures`` (old, new) and ``paths`` in mm."""
        old, new = (None, None) if figures is None else (self.say.number(figures[0]), self.say.number(figures[1]))
        drawn = tuple(tuple(self.say.point(p) for p in path) for path in paths)
        at = None if not drawn else self.say.point(middle(paths[0]))
        return Change(what, name, kind, f"{words[:1].upper()}{words[1:]}", old, new, at, piece, drawn)

    # --- job, wood, room

    def _job(self) -> Iterator[Change]:
        was, now = self.old.job, self.new.job
        rows = (
            ("number", was.number, now.number),
            ("title", was.title, now.title),
            ("revision", was.revision or "none", now.revision or "none"),
            ("units", UNIT_NAMES[was.units], UNIT_NAMES[now.units]),
        )
        for name, before, after in rows:
            if before != after:
                verb = "are" if name == "units" else "is"
                yield self._change("job", name, "changed", f"the job's {name} {verb} {after}, was {before}")

    def _wood(self) -> Iterator[Change]:
        was, now = self.old.wood, self.new.wood
        if was.species != now.species:
            yield self._change("wood", "species", "changed", f"the wood is {now.species}, was {was.species}")
        elif (was.coefficient, was.basis) != (now.coefficient, now.basis):
            words = [
                "of unknown movement"
                if w.coefficient is None
                else f"{w.coefficient:g} of its width for each 1 % ({w.basis})"
                for w in (now, was)
            ]
            yield self._change("wood", "movement", "changed", f"the wood's movement is {words[0]}, was {words[1]}")
        if max(abs(a - b) for a, b in zip(was.moisture, now.moisture, strict=True)) > 1e-3:
            words = [f"{w.moisture[0]:.2f} to {w.moisture[1]:.2f} %" for w in (now, was)]
            yield self._change("wood", "moisture", "changed", f"the wood's moisture is {words[0]}, was {words[1]}")
        sizes = [sorted({p.thickness * r.unit for p in r.pieces}) for r in (self.old, self.new)]
        if sizes[0] and sizes[1] and abs(sizes[0][0] - sizes[1][0]) > SAME:
            before, after = apart([self.say.labels.fine, self.say.exact], sizes[0][0], sizes[1][0])
            words_ = f"the tops are {after} thick, were {before}"
            yield self._change("wood", "thickness", "changed", words_, (sizes[0][0], sizes[1][0]))

    def _walls(self) -> Iterator[Change]:
        def length(report: Told, wall: Wall) -> float:
            return math.dist(report.point(wall.start), report.point(wall.end))

        for was, now in by_key(self.old.room.walls, self.new.room.walls, lambda w: w.name):
            if was is None or now is None:
                report, wall = (self.old, was) if was is not None else (self.new, now)
                assert wall is not None
                size = self.say.labels.text(length(report, wall))
                paths = [(report.point(wall.start), report.point(wall.end))]
                if was is None:
                    yield self._change("wall", wall.name, "added", f"wall {wall.name} is new, {size} long", None, paths)
                else:
                    yield self._change("wall", wall.name, "removed", f"wall {wall.name} is gone, {size} long")
                continue
            end = [(self.new.point(now.end),)]
            figures = (length(self.old, was), length(self.new, now))
            if abs(figures[0] - figures[1]) > SAME:
                before, after = self.say.pair(*figures)
                yield self._change(
                    "wall", now.name, "changed", f"wall {now.name} is {after} long, was {before}", figures, end
                )
            if abs(was.corner - now.corner) > ANGLE:
                before, after = degrees(was.corner, now.corner)
                words = f"the corner at the end of wall {now.name} is {after}, was {before}"
                found = self._change("wall", now.name, "changed", words, None, end)
                yield with_degrees(found, was.corner, now.corner)

    def _measures(self) -> Iterator[Change]:
        def key(m: Measure) -> tuple[str, str]:
            return (m.from_, m.to)

        for was, now in by_key(self.old.room.measures, self.new.room.measures, key):
            either = now or was
            assert either is not None
            name = f"{either.from_} to {either.to}"
            if was is None or now is None:
                size = self.say.labels.text(either.measured * (self.new if was is None else self.old).unit)
                kind, word = _gone(was is None)
                yield self._change("measure", name, kind, f"the check measure {name} is {word}, {size}")
                continue
            figures = (was.measured * self.old.unit, now.measured * self.new.unit)
            if abs(figures[0] - figures[1]) > SAME:
                before, after = self.say.pair(*figures)
                yield self._change(
                    "measure", name, "changed", f"the check measure {name} is {after}, was {before}", figures
                )
        errors = [None if r.room.closure is None else r.room.closure * r.unit for r in (self.old, self.new)]
        if errors[0] is not None and errors[1] is not None and abs(errors[0] - errors[1]) > SAME:
            before, after = self.say.pair(errors[0], errors[1])
            words = f"the closing error of the walls is {after}, was {before}"
            yield self._change("measure", "closing error", "changed", words, (errors[0], errors[1]))

    # --- tops and pieces

    def _tops(self, pieces_told: bool) -> Iterator[Change]:
        seen: set[str] = set()
        counts = [{t: sum(p.name == t for p in r.tops) for t in {p.name for p in r.tops}} for r in (self.old, self.new)]
        for was, now in by_key(self.old.tops, self.new.tops, lambda p: (p.name, p.part)):
            either = now or was
            assert either is not None
            name = either.name
            if was is not None and now is not None:
                yield from self._top_moved(was, now, pieces_told)
            elif name not in seen:
                seen.add(name)
                report, kind, word = (self.new, *_gone(True)) if was is None else (self.old, *_gone(False))
                if name in self.tops_new | self.tops_gone:
                    ids = [p.id for p in report.pieces if p.top == name]
                    paths = [_closed(report.ring(p.outline)) for p in report.tops if p.name == name]
                    words = f"top {name} is {word}{', in ' if ids else ''}{' and '.join(ids)}"
                    yield self._change("top", name, kind, words, None, paths if kind == "added" else ())
                else:
                    words = f"top {name} is in {counts[1][name]} part{'s' * (counts[1][name] > 1)}, was in {counts[0][name]}"
                    yield self._change("top", name, "changed", words)

    def _top_moved(self, was: Part, now: Part, pieces_told: bool) -> Iterator[Change]:
        """Tell of a top of the same shape that did not come along with a wall, or of a shape that no piece tells of."""
        before, after = self.old.ring(was.outline), self.new.ring(now.outline)
        if any(fits(before, after, way) for way in self.ways):
            return
        part = f", part {now.part}" if sum(p.name == now.name for p in self.new.tops) > 1 else ""
        if congruent(before, after):
            from_, to = before.bounds(), after.bounds()
            words = (
                f"top {now.name}{part} stands elsewhere: the lower left of its outline is at {{}} in plan, was at {{}}"
            )
            texts = [self.say.pair(from_[k], to[k]) for k in (0, 1)]
            told_ = words.format(*(f"{texts[0][k]}, {texts[1][k]}" for k in (1, 0)))
            yield self._change("top", now.name, "changed", told_, None, [_closed(after)])
        elif not pieces_told:
            words_ = self.say.area(before.area, after.area)
            yield self._change(
                "top", now.name, "changed", f"the outline of top {now.name}{part} covers {words_[1]}, was {words_[0]}"
            )

    def _pieces(self) -> Iterator[Change]:
        yield from self._renumbered("piece", self.renamed)
        for was, now in self.pieces:
            if was is not None and now is not None:
                yield from self._piece_changed(was, now)
                continue
            piece, report = (now, self.new) if now is not None else (was, self.old)
            assert piece is not None
            if piece.top in self.tops_new | self.tops_gone:
                continue
            kind, word = _gone(was is None)
            size = f"{self._size(report, piece.length)} x {self._size(report, piece.width)}"
            paths = self._other_corners(report, piece)
            words = f"{piece.id} is {word}, {size} in top {piece.top}"
            yield self._change("piece", piece.id, kind, words, None, paths, piece.id if kind == "added" else None)

    def _size(self, report: Told, length: float) -> str:
        return self.say.labels.text(length * report.unit)

    def _piece_changed(self, was: Piece, now: Piece) -> Iterator[Change]:
        paths = None
        told_ = False
        for word, before, after in (("long", was.length, now.length), ("wide", was.width, now.width)):
            figures = (before * self.old.unit, after * self.new.unit)
            # what is finer than a tape shows as another outline, if at all
            if abs(figures[0] - figures[1]) > SAME and self.say.told_apart(*figures):
                told_ = True
                paths = paths or self._other_corners(self.new, now)
                texts = self.say.pair(*figures)
                words = f"{now.id} is {texts[1]} {word}, was {texts[0]}"
                yield self._change("piece", now.id, "changed", words, figures, paths, now.id)
        rings = (self.old.ring(was.outline), self.new.ring(now.outline))
        if not told_ and not congruent(*rings):
            paths = self._other_corners(self.new, now)
            if not (paths and all(self._on_a_moved_cutout(p) for path in paths for p in path)):
                texts = self.say.area(rings[0].area, rings[1].area)
                words = f"the outline of {now.id} covers {texts[1]}, was {texts[0]}"
                yield self._change("piece", now.id, "changed", words, None, paths, now.id)
        turned = [(now.grain - was.grain - math.degrees(way.turn) + 90.0) % 180.0 - 90.0 for way in self.ways]
        if min(abs(t) for t in turned) > ANGLE and not congruent(*rings):
            texts = degrees(was.grain, now.grain)
            words = f"the grain of {now.id} runs at {texts[1]} in plan, was at {texts[0]}"
            found = self._change("piece", now.id, "changed", words, None, [_closed(rings[1])], now.id)
            yield with_degrees(found, was.grain, now.grain)

    def _on_a_moved_cutout(self, p: Point) -> bool:
        return any(area.boundary.distance(region.spot(p)) < 0.5 for area in self.moved_cuts)

    def _other_corners(self, report: Told, piece: Piece) -> list[tuple[Point, ...]]:
        """Return, in plan mm, the stretches of a piece's outline whose corners the same top had nowhere in the other report."""
        other = self.old if report is self.new else self.new
        ring = report.ring(piece.outline).clean()
        known = [other.point((v[0], v[1])) for p in other.pieces if p.top == piece.top for v in p.outline]
        best: list[bool] | None = None
        for way in self.ways:
            # how the other report's corners came to this one's: along with a wall, or back
            back = way if report is self.new else Motion(-way.turn, way.to, way.origin)
            moved = [back.of(p) for p in known]
            fresh = [not any(math.dist(v.at, p) < SAME for p in moved) for v in ring.vertices]
            if best is None or sum(fresh) < sum(best):
                best = fresh
        assert best is not None
        n = len(best)
        if all(best) or not any(best):
            return [_closed(ring)]
        first = next(k for k in range(n) if best[k] and not best[k - 1])
        out: list[list[Point]] = []
        for k in range(first, first + n):
            if best[k % n]:
                if not best[(k - 1) % n]:
                    out.append([])
                out[-1].append(ring.vertices[k % n].at)
        return [tuple(path) for path in out]

    def _renumbered(self, what: Literal["piece", "joint"], names: dict[str, str]) -> Iterator[Change]:
        moved = [(a, b) for a, b in names.items() if a != b]
        if moved:
            words = ", ".join(f"{a} is now {b}" for a, b in moved)
            yield self._change(what, ", ".join(b for _, b in moved), "changed", f"{what}s are renumbered: {words}")

    # --- joints

    def _joints(self) -> Iterator[Change]:
        yield from self._renumbered("joint", self.joint_names)
        for was, now in self.joints:
            if was is not None and now is not None:
                yield from self._joint_changed(was, now)
                continue
            joint, report = (now, self.new) if now is not None else (was, self.old)
            assert joint is not None
            if joint.top in self.tops_new | self.tops_gone:
                continue
            kind, word = _gone(was is None)
            words = f"{joint.id} is {word}, a {joint.kind} between {' and '.join(joint.pieces)}"
            yield self._change("joint", joint.id, kind, words, None, [[report.point(p) for p in joint.points]])

    def _joint_changed(self, was: Joint, now: Joint) -> Iterator[Change]:
        path = [[self.new.point(p) for p in now.points]]
        if was.kind != now.kind:
            yield self._change("joint", now.id, "changed", f"{now.id} is a {now.kind}, was a {was.kind}", None, path)
        middles = (middle([self.old.point(p) for p in was.points]), middle(path[0]))
        if was.kind == now.kind == "seam":
            at = datum(self.old, self.new, now.top, *middles)
            figures = (at.old.from_plan(middles[0])[0], at.new.from_plan(middles[1])[0])
            if abs(figures[0] - figures[1]) > SAME:
                texts = self.say.pair(*figures)
                words = f"{now.id} stands {texts[1]} {_along(at, now.top)}, was {texts[0]}"
                yield self._change("joint", now.id, "changed", words, figures, path)
        figures = (was.length * self.old.unit, now.length * self.new.unit)
        if abs(figures[0] - figures[1]) > SAME:
            texts = self.say.pair(*figures)
            yield self._change(
                "joint", now.id, "changed", f"{now.id} is {texts[1]} long, was {texts[0]}", figures, path
            )
        # the two angles go with the two pieces, whose order may be the other way round
        swapped = self.renamed.get(was.pieces[0]) == now.pieces[1] and was.pieces != now.pieces
        before = was.angles[::-1] if swapped else was.angles
        worst = max((0, 1), key=lambda k: abs(before[k] - now.angles[k]))
        if abs(before[worst] - now.angles[worst]) > ANGLE:
            pairs = [degrees(before[k], now.angles[k]) for k in (0, 1)]
            words = f"{now.id} is cut at {pairs[0][1]} and {pairs[1][1]} to the grain, was at {pairs[0][0]} and {pairs[1][0]}"
            found = self._change("joint", now.id, "changed", words, None, path)
            yield with_degrees(found, before[worst], now.angles[worst])

    # --- cutouts

    def _cutouts(self) -> Iterator[Change]:
        for was, now in by_key(self.old.cutouts, self.new.cutouts, lambda c: c.name):
            if was is not None and now is not None:
                found = list(self._cutout_changed(was, now))
                if found:
                    self.moved_cuts += [
                        region.area_of(report.ring(cut.outline), 0.05)
                        for report, cut in ((self.old, was), (self.new, now))
                    ]
                yield from found
                continue
            cut, report = (now, self.new) if now is not None else (was, self.old)
            assert cut is not None
            kind, word = _gone(was is None)
            ring = report.ring(cut.outline)
            self.moved_cuts.append(region.area_of(ring, 0.05))
            words = f"{cut.name} is {word}, a {cut.kind} in top {cut.top}"
            piece = cut.piece if kind == "added" else self.renamed.get(cut.piece or "")
            yield self._change("cutout", cut.name, kind, words, None, [_closed(ring)], piece)

    def _cutout_changed(self, was: Cutout, now: Cutout) -> Iterator[Change]:
        name, piece = now.name, now.piece
        path = [_closed(self.new.ring(now.outline))]

        def changed(words: str, figures: tuple[float, float] | None = None) -> Change:
            return self._change("cutout", name, "changed", words, figures, path, piece)

        if was.kind != now.kind:
            yield changed(f"{name} is a {now.kind}, was a {was.kind}")
        if was.top != now.top:
            yield changed(f"{name} is in top {now.top}, was in top {was.top}")
            return
        centres = (self.old.point(was.center), self.new.point(now.center))
        at = datum(self.old, self.new, now.top, *centres)
        (x0, y0), (x1, y1) = at.old.from_plan(centres[0]), at.new.from_plan(centres[1])
        y0, y1 = (abs(y0), abs(y1)) if at.wall else (y0, y1)
        if abs(x0 - x1) > SAME:
            texts = self.say.pair(x0, x1)
            yield changed(f"the centre of {name} is {texts[1]} {_along(at, now.top)}, was {texts[0]}", (x0, x1))
        if abs(y0 - y1) > SAME:
            texts = self.say.pair(y0, y1)
            off = f"off wall {at.wall}" if at.wall else f"across the grain of {now.top} from its side"
            yield changed(f"the centre of {name} is {texts[1]} {off}, was {texts[0]}", (y0, y1))
        sizes = (extent(self.old, was, at.old), extent(self.new, now, at.new))
        same_shape = congruent(self.old.ring(was.outline), self.new.ring(now.outline))
        if any(abs(a - b) > SAME for a, b in zip(*sizes, strict=True)):
            texts_ = [self.say.pair(a, b) for a, b in zip(*sizes, strict=True)]
            sized = [" x ".join(pair[k] for pair in texts_) for k in (0, 1)]
            verb = "turned: it takes" if same_shape else "takes"
            k = 0 if abs(sizes[0][0] - sizes[1][0]) > SAME else 1
            words = f"{name} {verb} {sized[1]} along and across, was {sized[0]}"
            yield changed(words, (sizes[0][k], sizes[1][k]))
        elif not same_shape:
            texts = self.say.area(self.old.ring(was.outline).area, self.new.ring(now.outline).area)
            yield changed(f"the outline of {name} covers {texts[1]}, was {texts[0]}")
        if was.piece is not None and now.piece is not None and self.renamed.get(was.piece) != now.piece:
            yield changed(f"{name} lies on {now.piece}, was on {was.piece}")
        elif (was.piece is None) != (now.piece is None):
            where = [f"on {cut.piece}" if cut.piece is not None else "on no single piece" for cut in (was, now)]
            yield changed(f"{name} lies {where[1]}, was {where[0]}")

    # --- sides, findings

    def _edges(self) -> Iterator[Change]:
        before, after = ({(p.name, e.side): e.profile for p in r.tops for e in p.edges} for r in (self.old, self.new))
        for (top, side), profile in after.items():
            was = before.get((top, side))
            if was is not None and was != profile:
                words = f"the edge of {top}, {side_words(side)}, is {profile}, was {was}"
                yield self._change("edge", f"{top} {side}", "changed", words)

    def _overhangs(self) -> Iterator[Change]:
        for was, now in by_key(self.old.overhangs, self.new.overhangs, lambda o: (o.top, o.side)):
            either = now or was
            assert either is not None
            name, of = f"{either.top} {either.side}", f"{either.top}, {side_words(either.side)}"
            if was is None or now is None:
                amount = either.amount * (self.new if was is None else self.old).unit
                if amount > SAME and either.top not in self.tops_new | self.tops_gone:
                    kind, word = _gone(was is None)
                    words = f"the overhang of {of}, is {word}, {self.say.labels.text(amount)}"
                    yield self._change("overhang", name, kind, words)
                continue
            figures = (was.amount * self.old.unit, now.amount * self.new.unit)
            if abs(figures[0] - figures[1]) > SAME:
                texts = self.say.pair(*figures)
                words = f"the overhang of {of}, is {texts[1]}, was {texts[0]}"
                yield self._change("overhang", name, "changed", words, figures)
            if was.supported != now.supported:
                state = [("carried" if o.supported else "not carried") for o in (was, now)]
                yield self._change("overhang", name, "changed", f"the overhang of {of}, is {state[1]}, was {state[0]}")

    def _findings(self) -> Iterator[Change]:
        def key(f: Finding) -> tuple[str, str]:
            return (f.code, f.subject)

        names = self.renamed | self.joint_names
        ids = [{p.id for p in r.pieces} | {j.id for j in r.joints} for r in (self.old, self.new)]
        # what is gone left its number to another, which is not meant
        names |= {name: f"former {name}" for name in ids[0] & ids[1] if name not in names}
        spoken = [f.model_copy(update={"subject": _renamed(f.subject, names)}) for f in self.old.findings]
        pairs: Pairs[Finding] = by_key(spoken, self.new.findings, key)
        for was, now in pairs:
            either = now or was
            assert either is not None
            name = f"{either.code} {either.subject}"
            path = [] if now is None or now.at is None else [(self.new.point(now.at),)]
            if was is None or now is None:
                kind, _ = _gone(was is None)
                words = f"{either.severity} {either.code} ({either.subject}) is {'new' if was is None else 'gone'}"
                yield self._change("finding", name, kind, f"{words}: {either.message}", None, path)
                continue
            figures = [None if f.value is None else f.value * r.unit for f, r in ((was, self.old), (now, self.new))]
            if was.severity != now.severity:
                words = f"{now.code} ({now.subject}) is for {now.severity}, was for {was.severity}"
                yield self._change("finding", name, "changed", words, None, path)
            if figures[0] is not None and figures[1] is not None and abs(figures[0] - figures[1]) > SAME:
                texts = self.say.pair(figures[0], figures[1])
                words = f"{now.severity} {now.code} ({now.subject}) stands at {texts[1]}, was at {texts[0]}"
                yield self._change("finding", name, "changed", words, (figures[0], figures[1]), path)
            elif _renamed(was.message, names) != now.message and self.old.job.units == self.new.job.units:
                words = f"{now.severity} {now.code} ({now.subject}) now says: {now.message}"
                yield self._change("finding", name, "changed", words, None, path)


def _gone(new: bool) -> tuple[Happened, str]:
    return ("added", "new") if new else ("removed", "gone")


def _along(at: Datum, top: str) -> str:
    return f"along wall {at.wall}" if at.wall else f"along the grain of {top} from its end"


def _closed(ring: Ring) -> tuple[Point, ...]:
    """Return an outline as a path that comes back to where it began, arcs as chords."""
    points = ring.flattened(1.0)
    return (*points, points[0])


def _renamed(text: str, names: dict[str, str]) -> str:
    """Return a text with the ids of pieces and joints as they are now."""
    return re.sub(r"\b[PJ]\d+\b", lambda m: names.get(m[0], m[0]), text)
