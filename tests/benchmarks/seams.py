"""The seam rule against an exact solver: the same optimum on random legs, and how much faster. A plain script, no test:

    python tests/benchmarks/seams.py [--cases 500]

The solver is HiGHS, given the choice as a flow of whole numbers from one end of the leg to the other: an arc is a piece no
longer and no shorter than allowed, it costs its squared length in m and so much for itself that one piece less always wins.
Each case is solved by both in turn. Counted for HiGHS is its run alone, not the building of the model.
"""

from __future__ import annotations

import argparse
import random
import statistics
import time

import highspy
import numpy as np

from layout.seams import best_seams

PIECE = 400.0
"""More than the square of the longest leg, m2: what a piece costs for itself."""


def case(chance: random.Random) -> tuple[float, list[float], float, float]:
    """Return a leg: its length, where a seam may be, the greatest and the least length of a piece, mm."""
    length = chance.uniform(2500.0, 12000.0)
    places = sorted({round(chance.uniform(50.0, length - 50.0)) * 1.0 for _ in range(chance.randint(60, 300))})
    for _ in range(chance.randint(0, 4)):
        # a sink or a cooktop: no seam there
        low = chance.uniform(0.0, length)
        high = low + chance.uniform(200.0, 1400.0)
        places = [p for p in places if not low < p < high]
    return length, places, chance.uniform(1800.0, 4200.0), chance.uniform(150.0, 900.0)


def by_solver(length: float, places: list[float], longest: float, shortest: float) -> tuple[list[float] | None, float]:
    """Return the seams of a cheapest way, or None if there is none, and how long the solver worked, s."""
    nodes = [0.0, *places, length]
    limit = 1e-6
    arcs = [
        (i, j)
        for i in range(len(nodes))
        for j in range(i + 1, len(nodes))
        if nodes[j] - nodes[i] <= longest + limit
        and (nodes[j] - nodes[i] >= shortest - limit or (i, j) == (0, len(nodes) - 1))
    ]
    if not arcs:
        return None, 0.0
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(arcs), len(nodes)
    lp.col_cost_ = np.array([PIECE + ((nodes[j] - nodes[i]) / 1000.0) ** 2 for i, j in arcs])
    lp.col_lower_, lp.col_upper_ = np.zeros(len(arcs)), np.ones(len(arcs))
    balance = np.zeros(len(nodes))
    balance[0], balance[-1] = 1.0, -1.0
    lp.row_lower_ = lp.row_upper_ = balance
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = np.arange(0, 2 * len(arcs) + 1, 2)
    lp.a_matrix_.index_ = np.array([node for arc in arcs for node in arc])
    lp.a_matrix_.value_ = np.array([1.0, -1.0] * len(arcs))
    lp.integrality_ = [highspy.HighsVarType.kInteger] * len(arcs)
    solver = highspy.Highs()
    for option, value in (("output_flag", False), ("threads", 1), ("mip_rel_gap", 0.0), ("mip_abs_gap", 1e-9)):
        solver.setOptionValue(option, value)
    solver.passModel(lp)
    began = time.perf_counter()
    solver.run()
    took = time.perf_counter() - began
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None, took
    used = [arc for arc, value in zip(arcs, solver.getSolution().col_value, strict=True) if value > 0.5]
    return [nodes[j] for _, j in used if j < len(nodes) - 1], took


def cost(length: float, seams: list[float] | tuple[float, ...]) -> tuple[int, float]:
    """Return how many seams there are and the sum of squared lengths, m2."""
    ends = [0.0, *sorted(seams), length]
    return len(seams), sum(((b - a) / 1000.0) ** 2 for a, b in zip(ends, ends[1:], strict=False))


def main() -> None:
    """Measure and print; end with 1 where the two disagree."""
    parser = argparse.ArgumentParser(description="The seam rule against an exact solver.")
    parser.add_argument("--cases", type=int, default=500)
    chosen = parser.parse_args()
    chance = random.Random(20)
    differ = without = 0
    ratios: list[float] = []
    ours: list[float] = []
    best_seams(0.0, 5000.0, [2000.0, 3000.0], 4000.0, 300.0)
    for _ in range(chosen.cases):
        length, places, longest, shortest = case(chance)
        began = time.perf_counter()
        found = best_seams(0.0, length, places, longest, shortest)
        took = time.perf_counter() - began
        exact, solver_took = by_solver(length, places, longest, shortest)
        if found is None or exact is None:
            without += found is None
            differ += (found is None) != (exact is None)
        else:
            (n, total), (exact_n, exact_total) = cost(length, found), cost(length, exact)
            differ += n != exact_n or abs(total - exact_total) > 1e-6
        if exact is not None and exact:
            ratios.append(solver_took / took)
            ours.append(took * 1e3)
    print(
        f"{chosen.cases} legs, {without} of them without a way, {len(ratios)} with seams; optimum differs in {differ}"
    )
    print(f"the rule, ms: median {statistics.median(ours):.3f}, most {max(ours):.3f}")
    print(f"HiGHS / the rule, where there are seams: least {min(ratios):.0f}, median {statistics.median(ratios):.0f}")
    if differ:
        raise SystemExit(1)


if __name__ == "__main__":
    main()
