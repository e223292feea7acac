"""Lanes of stock and prices for what they hold: the arithmetic under a cutting plan and under the bound that proves it.

The bound rests on one theorem: give every part a price so that no lane holds more of price than it costs; then the prices of
all parts add up to no more than any plan costs. Whatever the prices, they are made whole numbers, the lane that holds the
most for its cost is found exactly by a knapsack, and all prices are scaled by it in fractions (the bound of A. A. Farley,
Operations Research 38, 1990). No rounding error enters the bound.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import reduce
from math import gcd
from operator import mul, neg
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

STATES = 20_000
"""Sums a knapsack may hold; one that needs more is given up, and with it what asked for it."""
COMPANIES = 2000
"""Choices of parts looked at for one lane at most."""
SUMS = 1 << 22
"""Lengths bought (in steps) up to which the sums that boards can make are tabled; beyond, only the step is heeded."""

Pattern = tuple[int, ...]
"""How many of each item a lane holds."""


@dataclass(frozen=True, slots=True)
class Task:
    """A cutting task in its plainest form: items with sizes and demands, lanes with rooms and costs."""

    sizes: tuple[int, ...]
    """Lengths with a kerf each, longest first, all different."""
    demand: tuple[int, ...]
    rooms: tuple[int, ...]
    """What a lane of each stock length offers, longest first."""
    costs: tuple[int, ...]
    """The stock lengths in steps of their greatest common divisor; a board costs this, a lane this / ``per_board``."""
    step: int
    """That divisor, ticks."""
    per_board: int
    sums: int = field(repr=False, default=0)
    """Bit n is set where boards can add up to n steps; 0 where that is not tabled."""

    def with_sums(self, most: int) -> Task:
        """Return the task with the sums that boards can make tabled up to ``most`` steps."""
        return replace(self, sums=_sums(self.costs, most))

    def shortest(self, length: int) -> int:
        """Return the index of the shortest stock with room for ``length``; it must fit the longest."""
        return bisect_right(self.rooms, -length, key=neg) - 1

    def size(self, lane: Pattern) -> int:
        """Return the room that a lane's parts take."""
        return sum(map(mul, self.sizes, lane))

    def at_least(self, lanes_cost: Fraction) -> int:
        """Return the least sum of boards (steps) that pays for lanes of this cost in all."""
        steps = -((-lanes_cost / self.per_board) // 1)
        rest = self.sums >> steps
        return steps + ((rest & -rest).bit_length() - 1 if rest else 0)

    def below(self, steps: int) -> int:
        """Return the greatest sum of boards less than ``steps``."""
        return (self.sums & ((1 << steps) - 1)).bit_length() - 1 if self.sums >> steps else steps - 1


@dataclass(frozen=True, slots=True)
class Packed:
    """Lanes with the boards they come from, as cheap as these lanes can be had."""

    steps: int
    """Bought, in steps."""
    boards: int
    lanes: tuple[tuple[int, Pattern], ...]
    """Index of the stock and what is cut from it; the board's length, which may be longer than the lane needs."""

    @property
    def rank(self) -> tuple[int, int, int, tuple[tuple[int, Pattern], ...]]:
        """Return the order of plans: length bought, boards, lanes, and then any fixed order."""
        return self.steps, self.boards, len(self.lanes), self.lanes


def task_of(lengths: Sequence[int], stock: Sequence[int], kerf: int, per_board: int) -> Task:
    """Return the task with equal lengths taken together. All in ticks; every length must fit the longest stock."""
    wanted = Counter(lengths)
    sizes = sorted(wanted, reverse=True)
    kept = sorted(set(stock), reverse=True)
    step = reduce(gcd, kept)
    return Task(
        sizes=tuple(s + kerf for s in sizes),
        demand=tuple(wanted[s] for s in sizes),
        rooms=tuple(s + kerf for s in kept),
        costs=tuple(s // step for s in kept),
        step=step,
        per_board=per_board,
    )


def _sums(costs: Sequence[int], most: int) -> int:
    """Return a number whose bit n says that boards of these costs can add up to n, for all n to ``most`` at least."""
    limit = most + costs[0]
    if limit > SUMS:
        return 0
    bits, mask = 1, (1 << (limit + 1)) - 1
    for cost in costs:
        shift = cost
        while shift <= limit:
            bits |= bits << shift & mask
            shift *= 2
    return bits


# --- lanes to boards -----------------------------------------------------------------------------------------------


def packed(task: Task, lanes: Sequence[Pattern]) -> Packed:
    """Return these lanes on the least length of boards.

    Every lane needs the shortest stock that holds it. Filling boards in that order, the longest need first, is the best there
    is: the b-th longest board of any filling must be as long as the need that stands first on the b-th board here.
    """
    needs = sorted((task.shortest(task.size(lane)), tuple(map(neg, lane))) for lane in lanes)
    out: list[tuple[int, Pattern]] = []
    steps = boards = 0
    for i, (need, lane) in enumerate(needs):
        if i % task.per_board == 0:
            board = need
            boards += 1
            steps += task.costs[board]
        out.append((board, tuple(map(neg, lane))))
    return Packed(steps, boards, tuple(out))


def covered(task: Task, lanes: Sequence[Pattern]) -> list[Pattern]:
    """Return the lanes without what is over the demand, and without empty lanes."""
    left = list(task.demand)
    out = []
    for lane in lanes:
        kept = tuple(min(n, more) for n, more in zip(lane, left, strict=True))
        left = [more - n for more, n in zip(left, kept, strict=True)]
        if any(kept):
            out.append(kept)
    return out


def fitted(task: Task, demand: Sequence[int], target: int, *, tight: bool) -> list[Pattern]:
    """Return lanes for ``demand``, longest items first, each into the first lane with room or the one with least room.

    Lanes are opened at the stock ``target``, or at the shortest that holds the item if that is longer.
    """
    left: list[int] = []
    lanes: list[list[int]] = []
    for i, (size, wanted) in enumerate(zip(task.sizes, demand, strict=True)):
        order = [j for _, j in sorted(zip(left, range(len(left)), strict=True))] if tight else range(len(left))
        more = wanted
        for j in order:
            if not more:
                break
            if left[j] >= size:
                n = min(more, left[j] // size)
                lanes[j][i] += n
                left[j] -= n * size
                more -= n
        while more:
            room = task.rooms[min(target, task.shortest(size))]
            n = min(more, room // size)
            lanes.append([0] * len(task.sizes))
            lanes[-1][i] = n
            left.append(room - n * size)
            more -= n
    return [tuple(lane) for lane in lanes]


def filled(task: Task, rooms: Sequence[int]) -> list[Pattern] | None:
    """Return lanes within these rooms for all parts, each part in the lane with the least room for it; None if one is left."""
    lanes = [[0] * len(task.sizes) for _ in rooms]
    free = sorted((room, j) for j, room in enumerate(rooms))
    for i, (size, n) in enumerate(zip(task.sizes, task.demand, strict=True)):
        for _ in range(n):
            at = bisect_left(free, (size, -1))
            if at == len(free):
                return None
            room, j = free.pop(at)
            lanes[j][i] += 1
            insort(free, (room - size, j))
    return [tuple(lane) for lane in lanes if any(lane)]


def brimful(task: Task, rooms: Sequence[int]) -> list[Pattern] | None:
    """Return lanes within these rooms for all parts, one room filled after the other as far as it goes; None if a part is left.

    A lane takes the longest part left that it has room for, and the company that leaves least of it (least bin slack: J. N. D.
    Gupta and J. C. Ho, Production Planning & Control 10, 1999; from memory).
    """
    left = list(task.demand)
    lanes: list[Pattern] = []
    for room in rooms:
        first = next((i for i, n in enumerate(left) if n and task.sizes[i] <= room), None)
        if first is None:
            continue
        left[first] -= 1
        lane = [0] * len(left)
        for i in (first, *_company(task.sizes, left, first, room - task.sizes[first])):
            lane[i] += 1
        left = [n - m for n, m in zip(left, lane, strict=True)]
        left[first] += 1
        lanes.append(tuple(lane))
    return None if any(left) else lanes


def _company(sizes: Sequence[int], left: Sequence[int], first: int, room: int) -> tuple[int, ...]:
    """Return the items, from ``first`` on and no more of each than are left, that leave least of a room; of equals the first met."""
    best: tuple[int, ...] = ()
    least = room
    stack: list[tuple[int, int, tuple[int, ...]]] = [(first, room, ())]
    for _ in range(COMPANIES):
        if not stack or not least:
            break
        i, free, chosen = stack.pop()
        if free < least:
            best, least = chosen, free
        # the last pushed is tried first, so the longest
        stack += [
            (k, free - sizes[k], (*chosen, k))
            for k in range(len(sizes) - 1, i - 1, -1)
            if sizes[k] <= free and left[k] > chosen.count(k)
        ]
    return best


# --- the dearest lane ----------------------------------------------------------------------------------------------


def _portions(most: int) -> Iterator[int]:
    """Yield portions that between them make every number up to ``most``, and none above."""
    portion = 1
    while most > 0:
        yield min(portion, most)
        most -= portion
        portion *= 2


@dataclass(frozen=True, slots=True)
class Knapsack:
    """The dearest choice of items for every room up to a limit.

    A sum is kept where no smaller one is worth as much (G. L. Nemhauser and Z. Ullmann, Management Science 15, 1969), so the
    work hangs on the number of sums, not on how fine a tick is.
    """

    count: int
    """Items in all."""
    stages: tuple[tuple[np.ndarray, np.ndarray], ...]
    """For item i the sums that items i and later make, and their worth, both rising; at ``count`` the empty choice alone."""
    trail: tuple[tuple[int, int, np.ndarray, int], ...]
    """Per portion added: item, copies, where each sum came from, and how many sums there were before."""

    def value(self, room: int) -> int:
        """Return what the dearest choice for ``room`` is worth."""
        sums, values = self.stages[0]
        return int(values[int(sums.searchsorted(room, side="right")) - 1])

    def best(self, room: int) -> list[int]:
        """Return the dearest choice for ``room``: how many of each item; of items without a price none."""
        out = [0] * self.count
        at = int(self.stages[0][0].searchsorted(room, side="right")) - 1
        for item, copies, order, before in reversed(self.trail):
            at = int(order[at])
            if at >= before:
                at -= before
                out[item] += copies
        return out


def knapsack(sizes: Sequence[int], prices: Sequence[int], most: Sequence[int], room: int) -> Knapsack | None:
    """Return the knapsack over at most ``most`` of each item within ``room``, or None where it would hold too many sums."""
    import numpy as np  # noqa: PLC0415

    sums = values = np.zeros(1, dtype=np.int64)
    stages = [(sums, values)]
    trail = []
    for i in reversed(range(len(sizes))):
        for copies in _portions(min(most[i], room // sizes[i]) if prices[i] else 0):
            size = copies * sizes[i]
            fits = int(sums.searchsorted(room - size, side="right"))
            if not fits:
                continue
            both = np.concatenate((sums, sums[:fits] + size))
            worth = np.concatenate((values, values[:fits] + copies * prices[i]))
            order = np.argsort(both, kind="stable")
            rising = np.maximum.accumulate(worth[order])
            keep = np.ones(len(order), dtype=bool)
            keep[1:] = rising[1:] > rising[:-1]
            order = order[keep]
            trail.append((i, copies, order, len(sums)))
            sums, values = both[order], worth[order]
            if len(sums) > STATES:
                return None
        stages.append((sums, values))
    return Knapsack(len(sizes), tuple(reversed(stages)), tuple(trail))


# --- prices and what they prove ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Proof:
    """What prices prove."""

    cost: Fraction
    """No lanes that hold all parts cost less, a lane taken at its length in steps."""
    scale: Fraction
    """A price times this, and no lane holds more of it than it costs."""
    prices: tuple[int, ...]
    sack: Knapsack


def prove(task: Task, prices: Sequence[int]) -> Proof | None:
    """Return what these prices (whole, 0 or more) prove, or None: all are 0, or the knapsack is too large."""
    sack = knapsack(task.sizes, prices, task.demand, task.rooms[0])
    if sack is None:
        return None
    ratios = [Fraction(c, v) for c, room in zip(task.costs, task.rooms, strict=True) if (v := sack.value(room))]
    if not ratios:
        return None
    scale = min(ratios)
    return Proof(scale * sum(p * n for p, n in zip(prices, task.demand, strict=True)), scale, tuple(prices), sack)


def material_cost(task: Task) -> Fraction:
    """Return the cost of lanes without any waste: what no lanes that hold all parts cost less than."""
    wanted = sum(s * n for s, n in zip(task.sizes, task.demand, strict=True))
    return wanted * min(Fraction(c, room) for c, room in zip(task.costs, task.rooms, strict=True))


def simple_prices(task: Task, plan: Packed) -> Iterator[list[int]]:
    """Yield prices that often prove a plan: by length, by what the plan pays, and with long parts taken for whole lanes."""
    yield list(task.sizes)
    room = task.rooms[0]
    if 2 * task.sizes[0] > room:
        yield [task.costs[task.shortest(s)] if 2 * s > room else 0 for s in task.sizes]
    paid = [0] * len(task.sizes)
    for k, lane in plan.lanes:
        full = task.size(lane)
        for i, n in enumerate(lane):
            paid[i] += n * task.sizes[i] * task.costs[k] * 1_000_000 // full
    yield [p // n for p, n in zip(paid, task.demand, strict=True)]
    # the dual feasible functions of S. Martello and P. Toth (1990) and of S. P. Fekete and J. Schepers (2001)
    short = [s for s in task.sizes if 2 * s <= room]
    for limit in short[:: max(1, len(short) // 8)]:
        yield [room if s > room - limit else s if s >= limit else 0 for s in task.sizes]
    for k in (2, 3, 4):
        yield [(k + 1) * s // room for s in task.sizes]
