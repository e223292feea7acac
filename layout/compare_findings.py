"""What changed of edges, overhangs and findings."""

from __future__ import annotations

from collections.abc import Iterator

from layout.changes import Change
from layout.comparison import Comparison, gone, renamed
from layout.matching import SAME, Pairs, by_key
from layout.told import Finding
from layout.top_plans import side_words


def edge_changes(both: Comparison) -> Iterator[Change]:
    """Yield sides whose profile is another."""
    before, after = ({(p.name, e.side): e.profile for p in r.tops for e in p.edges} for r in (both.old, both.new))
    for (top, side), profile in after.items():
        was = before.get((top, side))
        if was is not None and was != profile:
            words = f"the edge of {top}, {side_words(side)}, is {profile}, was {was}"
            yield both.change("edge", f"{top} {side}", "changed", words)


def overhang_changes(both: Comparison) -> Iterator[Change]:
    """Yield what changed of the overhangs."""
    for was, now in by_key(both.old.overhangs, both.new.overhangs, lambda o: (o.top, o.side)):
        either = now or was
        assert either is not None
        name, of = f"{either.top} {either.side}", f"{either.top}, {side_words(either.side)}"
        if was is None or now is None:
            amount = either.amount * (both.new if was is None else both.old).unit
            if amount > SAME and either.top not in both.tops_new | both.tops_gone:
                kind, word = gone(was is None)
                words = f"the overhang of {of}, is {word}, {both.say.labels.text(amount)}"
                yield both.change("overhang", name, kind, words)
            continue
        figures = (was.amount * both.old.unit, now.amount * both.new.unit)
        if abs(figures[0] - figures[1]) > SAME:
            texts = both.say.pair(*figures)
            words = f"the overhang of {of}, is {texts[1]}, was {texts[0]}"
            yield both.change("overhang", name, "changed", words, figures)
        if was.supported != now.supported:
            state = [("carried" if o.supported else "not carried") for o in (was, now)]
            yield both.change("overhang", name, "changed", f"the overhang of {of}, is {state[1]}, was {state[0]}")


def finding_changes(both: Comparison) -> Iterator[Change]:
    """Yield findings that are new, gone or say something else."""

    def key(f: Finding) -> tuple[str, str]:
        return (f.code, f.subject)

    names = both.renamed | both.joint_names
    ids = [{p.id for p in r.pieces} | {j.id for j in r.joints} for r in (both.old, both.new)]
    # what is gone left its number to another, which is not meant
    names |= {name: f"former {name}" for name in ids[0] & ids[1] if name not in names}
    spoken = [f.model_copy(update={"subject": renamed(f.subject, names)}) for f in both.old.findings]
    pairs: Pairs[Finding] = by_key(spoken, both.new.findings, key)
    for was, now in pairs:
        either = now or was
        assert either is not None
        name = f"{either.code} {either.subject}"
        path = [] if now is None or now.at is None else [(both.new.point(now.at),)]
        if was is None or now is None:
            kind, _ = gone(was is None)
            words = f"{either.severity} {either.code} ({either.subject}) is {'new' if was is None else 'gone'}"
            yield both.change("finding", name, kind, f"{words}: {either.message}", None, path)
            continue
        figures = [None if f.value is None else f.value * r.unit for f, r in ((was, both.old), (now, both.new))]
        if was.severity != now.severity:
            words = f"{now.code} ({now.subject}) is for {now.severity}, was for {was.severity}"
            yield both.change("finding", name, "changed", words, None, path)
        if figures[0] is not None and figures[1] is not None and abs(figures[0] - figures[1]) > SAME:
            texts = both.say.pair(figures[0], figures[1])
            words = f"{now.severity} {now.code} ({now.subject}) stands at {texts[1]}, was at {texts[0]}"
            yield both.change("finding", name, "changed", words, (figures[0], figures[1]), path)
        elif renamed(was.message, names) != now.message and both.old.job.units == both.new.job.units:
            words = f"{now.severity} {now.code} ({now.subject}) now says: {now.message}"
            yield both.change("finding", name, "changed", words, None, path)
