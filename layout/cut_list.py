"""The cut list: which boards are bought, and which strip is cut from which.

Strips of one thickness of lumber and one ripped width share their boards, whatever piece they belong to; so what is left
of a board for one piece is used for another. Boards are ripped first, then cut to length.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from layout.job import Job
from layout.layup import LayUp, Strip
from layout.lumber import Quarter, board_feet, quarter_for
from layout.rules import BOARD_SEEN, CUT_STEP, EDGING, FINGER_LENGTH, FINGER_LOSS
from layout.splashes import Splash
from layout.stock import CutPlan, Lane, cut_stock
from layout.units import INCH_MM, Unit


@dataclass(frozen=True, slots=True)
class Need:
    """A strip to be cut: its name (``P1-3``: the third strip of P1, from its front) and its length, mm."""

    name: str
    length: float


@dataclass(frozen=True, slots=True)
class Lot:
    """Boards of one thickness and width, and what is cut from them. Lengths of the plan are ticks of ``tick`` mm.

    ``rip``: the width that the strips are ripped to; ``board``: that of the boards; mm. ``joined``: the strips are
    finger-jointed from short lengths, and any length of board serves.
    """

    quarter: Quarter
    rip: float
    board: float
    per_board: int
    needs: tuple[Need, ...]
    plan: CutPlan
    tick: float
    joined: bool

    @property
    def boards(self) -> tuple[tuple[float, int], ...]:
        """The boards to buy: length in mm and number, longest first."""
        return tuple((stock * self.tick, count) for stock, count in self.plan.boards)

    @property
    def bought(self) -> float:
        """The wood bought, mm3: rough thickness, full width, full length."""
        return self.quarter.rough * self.board * self.plan.bought * self.tick

    @property
    def bought_feet(self) -> float:
        """The board feet bought."""
        return board_feet(self.quarter.rough, self.board, self.plan.bought * self.tick)


def tick_mm(unit: Unit) -> float:
    """Return the step that lengths are planned in: 1/16 in, or 1 mm."""
    return float(INCH_MM) / 16.0 if unit == "in" else 1.0


@dataclass(frozen=True, slots=True)
class Lacking:
    """A strip that no board of the shop gives: its name, its length in mm, and why."""

    name: str
    length: float
    why: str


@dataclass(frozen=True, slots=True)
class CutList:
    """The lots of boards that a job takes, the top's lumber first, and what no board gives."""

    lots: tuple[Lot, ...]
    lacking: tuple[Lacking, ...]


def cut_list(job: Job, layups: Sequence[LayUp], splashes: Sequence[tuple[str, Splash]]) -> CutList:
    """Return which boards a job takes and what is cut from each; splashes come with their marks."""
    groups: dict[tuple[str, int, int], _Group] = {}
    lacking: list[Lacking] = []
    for layup in layups:
        needs = list(_needs(job, layup))
        _gather(job, groups, lacking, needs, layup.quarter, (layup.rip, layup.board, layup.per_board))
    for name, splash in splashes:
        _gather_splash(job, groups, lacking, name, splash)
    return CutList(tuple(_lot(job, group) for group in groups.values()), tuple(lacking))


@dataclass(slots=True)
class _Group:
    """A lot while it is gathered."""

    quarter: Quarter
    rip: float
    board: float
    per_board: int
    needs: list[Need]


def _gather(
    job: Job,
    groups: dict[tuple[str, int, int], _Group],
    lacking: list[Lacking],
    needs: Sequence[Need],
    quarter: Quarter | None,
    widths: tuple[float, float, int],
) -> None:
    """Put strips into their lot, or note why no board gives them."""
    rip, board, per_board = widths
    if quarter is None:
        lacking += [Lacking(n.name, n.length, "no lumber is thick enough") for n in needs]
        return
    longest = max(float(s) for s in job.shop.stock)
    fits = [n for n in needs if _is_joined(job) or n.length <= longest + 1e-6]
    lacking += [Lacking(n.name, n.length, "longer than the shop's longest boards") for n in needs if n not in fits]
    if fits:
        key = (quarter.name, round(rip * 10), round(board * 10))
        groups.setdefault(key, _Group(quarter, rip, board, per_board, [])).needs += fits


def _is_joined(job: Job) -> bool:
    return job.wood.boards == "finger-jointed" and job.wood.construction != "end grain"


def _needs(job: Job, layup: LayUp) -> Iterator[Need]:
    for strip in layup.strips:
        name = f"{layup.piece}-{strip.number}"
        if layup.construction != "end grain":
            yield Need(name, strip.length)
        else:
            yield from _row(job, layup, strip, name)


def _row(job: Job, layup: LayUp, strip: Strip, name: str) -> Iterator[Need]:
    """Yield the strips that a row of blocks is sawn from: as few and as even as the longest boards let them be."""
    shop = job.shop
    kerf, trim = float(shop.kerf), 2 * float(shop.end_trim)
    step = layup.rough + kerf
    longest = max(float(s) for s in shop.stock)
    most = max(1, int((longest - trim + kerf) / step + 1e-9))
    count = math.ceil(strip.blocks / most)
    for k in range(count):
        blocks = strip.blocks // count + (1 if k < strip.blocks % count else 0)
        yield Need(name if count == 1 else f"{name}.{k + 1}", blocks * step - kerf + trim)


def _gather_splash(
    job: Job, groups: dict[tuple[str, int, int], _Group], lacking: list[Lacking], name: str, splash: Splash
) -> None:
    """Add a splash: one board where it is no higher than boards are wide, else several edge to edge."""
    most = BOARD_SEEN[1].size(job.job.units)
    high = splash.height + 2 * float(job.shop.edge_trim)
    count = max(1, math.ceil(high / most - 1e-9))
    wide = high / count
    step = CUT_STEP.size(job.job.units)
    length = math.ceil((splash.length + 2 * float(job.shop.end_trim)) / step - 1e-6) * step
    needs = [Need(name if count == 1 else f"{name}-{k + 1}", length) for k in range(count)]
    _gather(job, groups, lacking, needs, quarter_for(splash.thickness), (wide, wide + EDGING.size(job.job.units), 1))


def _lot(job: Job, group: _Group) -> Lot:
    tick = tick_mm(job.job.units)
    stock = [math.floor(float(s) / tick + 1e-6) for s in job.shop.stock]
    kerf = math.ceil(float(job.shop.kerf) / tick - 1e-6)
    needs = tuple(group.needs)
    ticks = [math.ceil(n.length / tick - 1e-6) for n in needs]
    joined = _is_joined(job)
    if joined:
        plan = _joined(job, ticks, stock, group.per_board, tick)
    else:
        plan = cut_stock(ticks, stock, kerf, per_board=group.per_board)
    return Lot(group.quarter, group.rip, group.board, group.per_board, needs, plan, tick, joined)


def _joined(job: Job, ticks: Sequence[int], stock: Sequence[int], per_board: int, tick: float) -> CutPlan:
    """Return a plan for finger-jointed strips: short lengths of any boards will do, so the boards' length alone counts.

    Each strip takes its length and what its joints lose. The shortest whole number of steps that boards can make up to
    that length is the bound, and boards that make it up are found by filling with the longest.
    """
    mean, loss = FINGER_LENGTH.size(job.job.units), FINGER_LOSS.size(job.job.units)
    total = sum(t * tick + max(0, math.ceil(t * tick / mean) - 1) * loss for t in ticks)
    want = math.ceil(total / per_board / tick - 1e-6)
    least = _least_sum(want, stock)
    boards = _made_up(least, stock)
    lanes = tuple(Lane(length, ()) for length in boards for _ in range(per_board))
    counts = tuple((length, boards.count(length)) for length in sorted(set(boards), reverse=True))
    return CutPlan(lanes, counts, sum(boards), least, "joined")


def _least_sum(want: int, stock: Sequence[int]) -> int:
    """Return the least sum of board lengths that is not below ``want``."""
    gap = math.gcd(*stock)
    high = want + max(stock)
    step = [False] * (high // gap + 1)
    step[0] = True
    for k in range(1, len(step)):
        step[k] = any(k * gap >= s and step[k - s // gap] for s in stock)
    return next(k * gap for k in range(len(step)) if step[k] and k * gap >= want)


def _made_up(total: int, stock: Sequence[int]) -> list[int]:
    """Return board lengths that sum to ``total``, which can be made up: the fewest boards, longest first."""
    gap = math.gcd(*stock)
    fewest: list[int | None] = [0] + [None] * (total // gap)
    last = [0] * len(fewest)
    for k in range(1, len(fewest)):
        for s in sorted(stock, reverse=True):
            before = fewest[k - s // gap] if k * gap >= s else None
            here = fewest[k]
            if before is not None and (here is None or before + 1 < here):
                fewest[k], last[k] = before + 1, s
    out = []
    k = total // gap
    while k:
        out.append(last[k])
        k -= last[k] // gap
    return sorted(out, reverse=True)


def board_numbers(cut: CutList) -> dict[str, tuple[int, ...]]:
    """Return the number of the board that each strip is cut from, boards being counted through all lots; of a
    finger-jointed lot, all its boards."""
    out: dict[str, tuple[int, ...]] = {}
    first = 1
    for lot in cut.lots:
        count = sum(n for _, n in lot.boards)
        if lot.joined:
            out |= dict.fromkeys((n.name for n in lot.needs), tuple(range(first, first + count)))
        else:
            for number, lanes in boards_cut(lot, first):
                for lane in lanes:
                    out |= {lot.needs[k].name: (number,) for k in lane.parts}
        first += count
    return out


def boards_cut(lot: Lot, first: int) -> Iterator[tuple[int, tuple[Lane, ...]]]:
    """Yield each board of a lot by its number, from ``first`` on, with the lanes it is ripped into."""
    number = first
    for stock, count in lot.plan.boards:
        lanes = [lane for lane in lot.plan.lanes if lane.stock == stock]
        for k in range(count):
            yield number, tuple(lanes[k * lot.per_board : (k + 1) * lot.per_board])
            number += 1
