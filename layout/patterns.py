"""Column generation: the linear programme over cutting patterns, and the whole plans found among its patterns.

After P. C. Gilmore and R. E. Gomory, "A linear programming approach to the cutting-stock problem", Operations Research 9
(1961) and 11 (1963). HiGHS solves the programmes, one thread, limited by nodes and never by time: the same task gives the
same plan every time. The linear bound is exact, since only its prices come from HiGHS (see ``lanes``). Where all patterns
that a better plan could use are few enough to be listed, the whole-number programme over them settles what the optimum is.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from layout.lanes import Packed, Pattern, Proof, Task, covered, fitted, packed, prove

if TYPE_CHECKING:
    import highspy

ROUNDS = 400
"""Rounds of pricing at most; the bound holds after any of them."""
DIVE_ROUNDS = 2
"""Rounds of pricing for what a dive has left."""
FINE = 1 << 36
"""What the dearest stock costs, when prices are made whole numbers."""
LISTED = 4000
"""Patterns listed at most for a better plan, and a tenth of the steps taken to list them."""
LARGEST = 20_000_000
"""Patterns times the cube of the items above which no whole-number programme is tried: its root alone takes seconds."""
FEW = 20
"""Items up to which that programme is quick."""
NODES = 200
"""Nodes of it at most; a tenth for more items than few."""

Column = tuple[int, Pattern]
"""Index of the stock, and what a lane of it holds."""


def by_patterns(task: Task, best: Packed, low: int) -> tuple[Packed, int]:
    """Return a plan no worse than ``best`` and a bound (steps) no worse than ``low``, both improved as far as that is quick."""
    master = _Master(task)
    for _, lane in best.lanes:
        master.add(task.shortest(task.size(lane)), lane)
    for i, (size, n) in enumerate(zip(task.sizes, task.demand, strict=True)):
        for k, room in enumerate(task.rooms):
            if room >= size:
                master.add(k, tuple(min(n, room // size) if j == i else 0 for j in range(len(task.sizes))))
    proof, low = _priced_out(task, master, best, low)
    if low < best.steps:
        best = min([best, *_dives(task, master, low)], key=lambda p: p.rank)
    if low == best.steps or proof is None:
        return best, low
    # prices that prove no more still leave fewer patterns that a better plan could use
    master.demand(task.demand)
    closer, low = _priced_out(task, master, best, low, to_the_end=True)
    if closer is not None and closer.cost > proof.cost:
        proof = closer
    if low == best.steps:
        return best, low
    for _ in range(2):
        columns = _useful(task, proof, best)
        chosen = columns if columns is not None else _cheap(task, proof, best, master.columns)
        found, settled = _whole(task, chosen, best, low)
        if found is not None:
            best = min(best, found, key=lambda p: p.rank)
        if columns is not None and settled:
            return best, best.steps
        # a better plan leaves fewer patterns that could still better it
        if low == best.steps or found is None or columns is not None or len(task.sizes) > FEW:
            break
    return best, low


class _Master:
    """The linear programme: cover every item's demand with lanes at their cost."""

    def __init__(self, task: Task) -> None:
        import numpy as np  # noqa: PLC0415

        self.task = task
        self.columns: list[Column] = []
        self.known: set[Column] = set()
        self.solver = _solver()
        for n in task.demand:
            self.solver.addRow(float(n), self.solver.inf, 0, np.zeros(0, dtype=np.int32), np.zeros(0))

    def add(self, stock: int, lane: Pattern) -> bool:
        """Add a pattern; return whether it is a new one."""
        import numpy as np  # noqa: PLC0415

        if (stock, lane) in self.known:
            return False
        self.known.add((stock, lane))
        self.columns.append((stock, lane))
        rows = [i for i, n in enumerate(lane) if n]
        counts = np.array([lane[i] for i in rows], dtype=float)
        cost = float(self.task.costs[stock])
        self.solver.addCol(cost, 0.0, self.solver.inf, len(rows), np.array(rows, dtype=np.int32), counts)
        return True

    def demand(self, wanted: Sequence[int]) -> None:
        """Set what must be covered."""
        for i, n in enumerate(wanted):
            self.solver.changeRowBounds(i, float(n), self.solver.inf)

    def solve(self) -> tuple[float, list[float]]:
        """Return the least cost and the price of each item."""
        self.solver.run()
        return self.solver.getInfo().objective_function_value, list(self.solver.getSolution().row_dual)

    def amounts(self) -> list[float]:
        """Return how often each pattern is used in the last solution."""
        return list(self.solver.getSolution().col_value)


def _solver() -> highspy.Highs:
    import highspy  # noqa: PLC0415

    class Silent(highspy.Highs):
        """HiGHS without a word: it greets on standard output while callbacks are enabled, before an option can be set."""

        def enableCallbacks(self) -> None:  # noqa: N802
            self.setOptionValue("output_flag", False)
            super().enableCallbacks()  # type: ignore[no-untyped-call]

    solver = Silent()  # type: ignore[no-untyped-call]
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("parallel", "off")
    solver.setOptionValue("random_seed", 0)
    return solver


def _priced_out(
    task: Task, master: _Master, best: Packed, low: int, *, to_the_end: bool = False
) -> tuple[Proof | None, int]:
    """Return the best proof by prices and the bound (steps), with the patterns that were wanted added to the programme: until
    the bound can rise no more, or until no pattern is wanted."""
    kept: Proof | None = None
    for _ in range(ROUNDS):
        cost, prices = master.solve()
        proof = prove(task, _whole_prices(task, prices))
        if proof is None:
            break
        if kept is None or proof.cost > kept.cost:
            kept = proof
            low = max(low, task.at_least(proof.cost))
        # the programme's cost can still fall, and the bound never pass it
        if low >= best.steps or (not to_the_end and low >= task.at_least(Fraction(cost * (1 - 1e-9)))):
            break
        if not _added(task, master, proof):
            break
    return kept, low


def _dives(task: Task, master: _Master, low: int) -> Iterator[Packed]:
    """Yield plans on the way down: lanes the linear programme is sure of are kept, and it is solved again for what is left.

    At every step what is left is also simply fitted. Ends early at a plan that meets ``low``.
    """
    left = list(task.demand)
    lanes: list[Pattern] = []
    while any(left):
        rest = replace(task, demand=tuple(left))
        amounts = _wanted(rest, master)
        sure = [(j, int(x + 1e-6)) for j, x in enumerate(amounts) if x >= 1 - 1e-6]
        for j, n in sure or [(max(range(len(amounts)), key=lambda j: (round(amounts[j], 9), -j)), 1)]:
            for _ in range(n):
                lane = tuple(min(a, b) for a, b in zip(master.columns[j][1], left, strict=True))
                if any(lane):
                    lanes.append(lane)
                    left = [b - a for a, b in zip(lane, left, strict=True)]
        for target in range(len(task.rooms)):
            plan = packed(task, lanes + fitted(task, left, target, tight=True))
            yield plan
            if plan.steps == low:
                return


def _wanted(rest: Task, master: _Master) -> list[float]:
    """Return how often each pattern is used for what is left, after two rounds of pricing."""
    master.demand(rest.demand)
    for _ in range(DIVE_ROUNDS):
        _, prices = master.solve()
        if not _added(rest, master, prove(rest, _whole_prices(rest, prices))):
            break
    else:
        master.solve()
    return master.amounts()


def _whole_prices(task: Task, prices: Sequence[float]) -> list[int]:
    return [int(max(p, 0.0) * FINE / task.costs[0]) for p in prices]


def _added(task: Task, master: _Master, proof: Proof | None) -> bool:
    """Add for every stock the pattern that is worth most, if that is more than it costs; return whether any was new."""
    fresh = False
    for k, room in enumerate(task.rooms):
        if proof and proof.sack.value(room) > task.costs[k] * FINE / task.costs[0] * (1 + 1e-9):
            fresh |= master.add(k, tuple(proof.sack.best(room)))
    return fresh


def _useful(task: Task, proof: Proof, best: Packed) -> list[Column] | None:
    """Return every pattern that a plan cheaper than ``best`` can use, or None if they are too many.

    A lane that costs more than its parts' prices costs the plan that much above the bound, so in a cheaper plan none may cost
    more above them than lies between bound and plan. Patterns to which another part could be added are left out: the
    larger one does as well where demands are covered.
    """
    slack = task.per_board * task.below(best.steps) - proof.cost
    if slack < 0:
        return []
    tables = [(sums.tolist(), values.tolist()) for sums, values in proof.sack.stages]
    out: list[Column] = []
    steps = 0
    for k, room in enumerate(task.rooms):
        least = (task.costs[k] - slack) / proof.scale
        needed = max(0, -(-least // 1))
        stack: list[tuple[int, int, int, Pattern]] = [(0, room, needed, ())]
        while stack:
            steps += 1
            if steps > 10 * LISTED or len(out) > LISTED:
                return None
            i, left, need, lane = stack.pop()
            sums, values = tables[i]
            if values[bisect_right(sums, left) - 1] < need:
                continue
            if i == len(task.sizes):
                if all(n == most or size > left for n, most, size in zip(lane, task.demand, task.sizes, strict=True)):
                    out.append((k, lane))
                continue
            size, price = task.sizes[i], proof.prices[i]
            for n in range(min(task.demand[i], left // size) + 1):
                stack.append((i + 1, left - n * size, need - n * price, (*lane, n)))
    return out


def _cheap(task: Task, proof: Proof, best: Packed, columns: Sequence[Column]) -> list[Column]:
    """Return those of the columns that a plan cheaper than ``best`` can use."""
    slack = task.per_board * task.below(best.steps) - proof.cost
    return [
        (k, lane)
        for k, lane in columns
        if task.costs[k] - proof.scale * sum(p * n for p, n in zip(proof.prices, lane, strict=True)) <= slack
    ]


def _whole(task: Task, columns: Sequence[Column], best: Packed, low: int) -> tuple[Packed | None, bool]:
    """Return the best whole plan over these patterns that is cheaper than ``best``, if one was found, and whether that is settled.

    Settled means: no plan over these patterns is cheaper than the one returned, or than ``best`` where none is.
    """
    if not columns:
        return None, True
    if len(columns) * len(task.sizes) ** 3 > LARGEST:
        return None, False
    import highspy  # noqa: PLC0415
    import numpy as np  # noqa: PLC0415

    used = sorted({k for k, _ in columns})
    rows = len(task.sizes)
    lp = highspy.HighsLp()
    lp.num_col_ = len(columns) + len(used)
    lp.num_row_ = rows + len(used) + 1
    # fewer boards break ties; together they weigh less than a step
    tie = 1.0 / (2 + best.steps // task.costs[-1])
    lp.col_cost_ = np.array([0.0] * len(columns) + [task.costs[k] + tie for k in used])
    lp.col_lower_ = np.zeros(lp.num_col_)
    lp.col_upper_ = np.full(lp.num_col_, highspy.kHighsInf)
    lp.row_lower_ = np.array([float(n) for n in task.demand] + [0.0] * len(used) + [float(low)])
    lp.row_upper_ = np.array([highspy.kHighsInf] * (rows + len(used)) + [float(task.below(best.steps))])
    lp.integrality_ = [highspy.HighsVarType.kInteger] * lp.num_col_
    start, index, value = [0], list[int](), list[float]()
    for k, lane in columns:
        entries = [(i, float(n)) for i, n in enumerate(lane) if n] + [(rows + used.index(k), -1.0)]
        index += [i for i, _ in entries]
        value += [v for _, v in entries]
        start.append(len(index))
    for j, k in enumerate(used):
        index += [rows + j, rows + len(used)]
        value += [float(task.per_board), float(task.costs[k])]
        start.append(len(index))
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = np.array(start, dtype=np.int32)
    lp.a_matrix_.index_ = np.array(index, dtype=np.int32)
    lp.a_matrix_.value_ = np.array(value)
    solver = _solver()
    solver.setOptionValue("mip_max_nodes", NODES if rows <= FEW else NODES // 10)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.5 * tie)
    solver.passModel(lp)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None, True
    if solver.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return None, False
    amounts = solver.getSolution().col_value
    lanes = [lane for (_, lane), x in zip(columns, amounts, strict=False) for _ in range(round(x))]
    kept = covered(task, lanes)
    if any(sum(lane[i] for lane in kept) < n for i, n in enumerate(task.demand)):
        return None, False
    return packed(task, kept), status == highspy.HighsModelStatus.kOptimal
