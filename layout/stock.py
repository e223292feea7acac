"""Cutting stock for boards: which lengths to buy and what to cut from each, with a bound that says how good it is.

Boards are ripped into lanes of their full length, lanes are cut across into parts. A part takes its length and one kerf,
a lane offers its length and one kerf, so a part that fills the rest of a lane costs no last cut. All lengths are whole ticks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from layout.lanes import (
    Packed,
    Pattern,
    Task,
    brimful,
    filled,
    fitted,
    knapsack,
    material_cost,
    packed,
    prove,
    simple_prices,
    task_of,
)

CHOICES = 200
"""Sets of boards tried at most before the linear programme is asked,"""
BRIMFUL = 20
"""of which so many are filled in the slower way too,"""
LOOKS = 20_000
"""and steps taken at most to find them."""
WIDTH = 40_000
"""The linear programme is left out above this square of distinct lengths times stock lengths; it then takes seconds."""
COMPANY = 2400
"""Lanes times distinct lengths up to which each lane gets the best company for its longest part."""


@dataclass(frozen=True, slots=True)
class Lane:
    """One length of stock and what is cut from it."""

    stock: int
    """Its length, ticks."""
    parts: tuple[int, ...]
    """Indices into the lengths asked for, longest part first."""


@dataclass(frozen=True, slots=True)
class CutPlan:
    """What to buy and how to cut it. Lengths in ticks."""

    lanes: tuple[Lane, ...]
    """Longest stock first, then by first part."""
    boards: tuple[tuple[int, int], ...]
    """Stock length and number of boards bought, longest first."""
    bought: int
    """Total length of the boards bought."""
    bound: int
    """No plan buys less than this."""
    method: str
    """``column generation`` or ``first fit``: what made the plan or held it to its bound."""

    @property
    def proven(self) -> bool:
        """Return whether no plan buys less."""
        return self.bought == self.bound


def cut_stock(lengths: Sequence[int], stock: Sequence[int], kerf: int, *, per_board: int = 1) -> CutPlan:
    """Return a plan that cuts ``lengths`` from boards of the ``stock`` lengths and buys little; all in whole ticks.

    A board gives ``per_board`` lanes of its own length; ``kerf`` is lost between parts and before a remainder. Least is the
    total length of boards; among the plans met with that length fewer boards, then fewer lanes go first. The same input and the
    same HiGHS give the same plan. ValueError names a part that is longer than every stock, and figures that are no lengths.
    """
    _refuse(lengths, stock, kerf, per_board)
    if not lengths:
        return CutPlan((), (), 0, 0, "first fit")
    task = task_of(lengths, stock, kerf, per_board)
    best = min(_first_plans(task), key=lambda p: p.rank)
    task = task.with_sums(best.steps)
    low = task.at_least(material_cost(task))
    by_length, *by_others = simple_prices(task, best)
    looked_from = None
    # the others seldom prove more than the first, and take longer than choosing the boards
    for all_prices in ([by_length], by_others):
        low = _proven(task, low, best, all_prices)
        if low < best.steps and low != looked_from:
            best = min([best, *_chosen_boards(task, low, best.steps)], key=lambda p: p.rank)
            looked_from = low
    method = "first fit"
    if low < best.steps and len(task.sizes) ** 2 * len(task.rooms) <= WIDTH:
        from layout.patterns import by_patterns  # noqa: PLC0415

        method = "column generation"
        best, low = by_patterns(task, best, low)
    return _plan(task, best, low, lengths, method)


def _proven(task: Task, low: int, best: Packed, all_prices: Iterable[Sequence[int]]) -> int:
    """Return the bound with what prices prove, until it is what the best plan buys."""
    for prices in all_prices:
        if low == best.steps:
            break
        proof = prove(task, prices)
        if proof is not None:
            low = max(low, task.at_least(proof.cost))
    return low


def _refuse(lengths: Sequence[int], stock: Sequence[int], kerf: int, per_board: int) -> None:
    if not stock or min(stock) <= 0:
        raise ValueError(f"stock lengths must be at least one and all above 0, found {list(stock)}")
    if kerf < 0 or per_board < 1:
        raise ValueError(f"a kerf of {kerf} and {per_board} lanes a board: expected 0 or more, and 1 or more")
    longest = max(stock)
    for i, length in enumerate(lengths):
        if length <= 0:
            raise ValueError(f"part {i} has the length {length}, expected more than 0")
        if length > longest:
            raise ValueError(f"part {i} of length {length} is longer than the longest stock, {longest}")


# --- plans that cost little to find --------------------------------------------------------------------------------


def _first_plans(task: Task) -> Iterator[Packed]:
    """Yield plans: first fit and best fit for every stock length, then lane by lane what fills its length best."""
    # many of these come out the same
    for lanes in dict.fromkeys(
        tuple(fitted(task, task.demand, target, tight=tight))
        for target in range(len(task.rooms))
        for tight in (False, True)
    ):
        yield packed(task, lanes)
    for power in (1.0, 1.05):
        yield packed(task, _lane_by_lane(task, power))


def _lane_by_lane(task: Task, power: float) -> list[Pattern]:
    """Return lanes each filled as well as what is left allows: the longest part left, and the best company for it.

    A ``power`` above 1 prefers few long parts over many short ones that fill as much. Of all stock lengths the one that pays
    least for what it holds is taken. Gives up (first fit for the rest) where a lane takes too long to fill.
    """
    left = list(task.demand)
    lanes: list[Pattern] = []
    worth = [max(1, round(s**power)) for s in task.sizes]
    while any(left):
        first = next(i for i, n in enumerate(left) if n)
        left[first] -= 1
        size = task.sizes[first]
        company = knapsack(task.sizes, worth, left, task.rooms[0] - size) if len(lanes) * len(left) < COMPANY else None
        left[first] += 1
        if company is None:
            return lanes + fitted(task, left, 0, tight=False)
        choices = []
        for k, room in enumerate(task.rooms):
            if room >= size:
                lane = company.best(room - size)
                lane[first] += 1
                # whole numbers of so few digits give the same float only where they are the same share
                choices.append((task.costs[k] / task.size(tuple(lane)), k, lane))
        lane = min(choices)[2]
        left = [n - m for n, m in zip(left, lane, strict=True)]
        lanes.append(tuple(lane))
    return lanes


def _chosen_boards(task: Task, low: int, above: int) -> Iterator[Packed]:
    """Yield the first plan found by choosing the boards first: less than ``above`` steps of them, the least sum first.

    Of the choices with one sum those with fewer boards go first. Every choice is filled by best fit, the first of them also
    lane by lane, the longest or the shortest first.
    """
    wanted = sum(s * n for s, n in zip(task.sizes, task.demand, strict=True))
    tried = looked = 0
    steps = low
    while steps < above and tried < CHOICES and looked < LOOKS:
        choices, more = _choices(task.costs, steps, CHOICES - tried, LOOKS - looked)
        looked += more
        for boards in sorted(choices, key=lambda c: (sum(c), [-n for n in c])):
            tried += 1
            rooms = [room for room, n in zip(task.rooms, boards, strict=True) for _ in range(n * task.per_board)]
            if sum(rooms) < wanted:
                continue
            lanes = filled(task, rooms)
            for ordered in (rooms, rooms[::-1]) if tried <= BRIMFUL else ():
                lanes = lanes or brimful(task, ordered)
            if lanes is not None:
                yield packed(task, lanes)
                return
        steps = task.at_least(Fraction((steps + 1) * task.per_board))


def _choices(costs: Sequence[int], steps: int, most: int, looks: int) -> tuple[list[tuple[int, ...]], int]:
    """Return numbers of boards of these costs that add up to ``steps``, and how many looks were taken.

    At most ``most`` of them, within ``looks``; those with many of the longest boards are met first.
    """
    out: list[tuple[int, ...]] = []
    stack: list[tuple[int, tuple[int, ...]]] = [(steps, ())]
    taken = 0
    while stack and len(out) < most and taken < looks:
        taken += 1
        left, chosen = stack.pop()
        cost = costs[len(chosen)]
        if len(chosen) == len(costs) - 1:
            if left % cost == 0:
                out.append((*chosen, left // cost))
        else:
            stack += [(left - n * cost, (*chosen, n)) for n in range(left // cost + 1)]
    return out, taken


def _plan(task: Task, best: Packed, low: int, lengths: Sequence[int], method: str) -> CutPlan:
    """Return the plan with parts in place of items: of equal parts the first goes to the first lane that wants one."""
    rank = {s: i for i, s in enumerate(sorted(set(lengths), reverse=True))}
    waiting: list[list[int]] = [[] for _ in task.sizes]
    for part, length in enumerate(lengths):
        waiting[rank[length]].append(part)
    queues = [iter(parts) for parts in waiting]
    lanes = []
    for k, lane in best.lanes:
        parts = [next(queues[i]) for i, n in enumerate(lane) for _ in range(n)]
        lanes.append(Lane(task.costs[k] * task.step, tuple(parts)))
    lanes.sort(key=lambda lane: (-lane.stock, lane.parts[0]))
    wanted = Counter(lane.stock for lane in lanes)
    boards = tuple((s, -(-n // task.per_board)) for s, n in sorted(wanted.items(), reverse=True))
    return CutPlan(tuple(lanes), boards, best.steps * task.step, low * task.step, method)
