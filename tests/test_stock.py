"""Cutting stock: plans against known optima, against two independent exact searches, and what every plan must keep.

Lengths are whole ticks; which tick is nobody's business here.
"""

from __future__ import annotations

import functools
import os
import random
import subprocess
import sys
from collections import Counter
from itertools import combinations, pairwise
from pathlib import Path

import highspy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout import patterns
from layout.lanes import brimful, covered, filled, packed, prove, task_of
from layout.patterns import by_patterns
from layout.stock import cut_stock

ROOT = Path(__file__).parents[1]


def rolls(*wanted):
    return [length for length, n in wanted for _ in range(n)]


def held(plan, lengths, stock, kerf, per_board):
    """Hold a plan against the task, counted from the lanes alone."""
    assert sorted(i for lane in plan.lanes for i in lane.parts) == list(range(len(lengths)))
    for lane in plan.lanes:
        assert lane.stock in stock
        cut = [lengths[i] for i in lane.parts]
        assert cut == sorted(cut, reverse=True)
        assert cut
        assert sum(cut) + kerf * (len(cut) - 1) <= lane.stock
    assert [(-a.stock, a.parts[0]) for a in plan.lanes] == sorted((-a.stock, a.parts[0]) for a in plan.lanes)
    lanes = Counter(lane.stock for lane in plan.lanes)
    assert dict(plan.boards) == {s: -(-n // per_board) for s, n in lanes.items()}
    assert all(a[0] > b[0] for a, b in pairwise(plan.boards))
    assert plan.bought == sum(s * n for s, n in plan.boards)
    assert plan.bound <= plan.bought
    assert plan.proven == (plan.bound == plan.bought)


# --- two exact searches of our own ---------------------------------------------------------------------------------


def least_by_partition(lengths, stock, kerf, per_board):
    """Return the least length bought: every partition of up to eight parts into lanes."""
    return first_by_partition(lengths, stock, kerf, per_board)[0]


def first_by_partition(lengths, stock, kerf, per_board):
    """Return the least length bought, with it the fewest boards, and with both the fewest lanes."""
    n = len(lengths)
    need = {}
    for mask in range(1, 1 << n):
        size = sum(lengths[i] + kerf for i in range(n) if mask >> i & 1) - kerf
        need[mask] = min((s for s in stock if size <= s), default=None)

    @functools.cache
    def needs(mask):
        if not mask:
            return frozenset([()])
        out = set()
        rest = sub = mask ^ (mask & -mask)
        while True:
            lane = mask ^ rest | sub
            if need[lane] is not None:
                out |= {tuple(sorted((*more, need[lane]), reverse=True)) for more in needs(mask ^ lane)}
            if not sub:
                return frozenset(out)
            sub = (sub - 1) & rest

    return min((sum(lanes[::per_board]), len(lanes[::per_board]), len(lanes)) for lanes in needs((1 << n) - 1))


def least_by_assignment(lengths, stock, kerf, per_board):
    """Return the least length bought: part to lane, lane to stock length, lanes to boards, as one programme for HiGHS."""
    solver = quiet()
    stock = sorted(set(stock))
    lanes = range(len(lengths))
    boards = {s: solver.addIntegral(lb=0) for s in stock}
    kinds = {(j, s): solver.addBinary() for j in lanes for s in stock}
    put = {(i, j): solver.addBinary() for i in range(len(lengths)) for j in lanes if j <= i}
    for i in range(len(lengths)):
        solver.addConstr(sum(put[i, j] for j in lanes if j <= i) == 1)
    for j in lanes:
        solver.addConstr(sum(kinds[j, s] for s in stock) <= 1)
        used = sum((lengths[i] + kerf) * put[i, j] for i in range(len(lengths)) if j <= i)
        solver.addConstr(used - sum((s + kerf) * kinds[j, s] for s in stock) <= 0)
    for s in stock:
        solver.addConstr(sum(kinds[j, s] for j in lanes) - per_board * boards[s] <= 0)
    solver.minimize(sum(s * boards[s] for s in stock))
    assert solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return round(solver.getObjectiveValue())


def quiet():
    solver = highspy.Highs()
    solver.silent()
    solver.setOptionValue("mip_rel_gap", 0.0)
    return solver


def small_case(seed, most=7):
    rng = random.Random(seed)
    n, top = rng.randint(1, most), rng.choice([12, 30, 100, 1000])
    stock = [rng.randint(max(2, top // 2), top) for _ in range(rng.randint(1, 4))]
    longest = max(stock)
    pool = [
        min(longest, rng.randint(1, longest) if rng.random() < 0.3 else rng.randint(max(1, top // 8), top // 2))
        for _ in range(rng.randint(1, n))
    ]
    return [rng.choice(pool) for _ in range(n)], stock, rng.randint(0, top // 20), rng.choice([1, 1, 2, 3, 4])


def hold_to_optimum(cases, least):
    """Hold every case to its optimum; return how many were proven, and by what."""
    methods = Counter()
    for lengths, stock, kerf, per_board in cases:
        plan = cut_stock(lengths, stock, kerf, per_board=per_board)
        held(plan, lengths, stock, kerf, per_board)
        optimum = least(lengths, stock, kerf, per_board)
        assert plan.bound <= optimum <= plan.bought, (lengths, stock, kerf, per_board)
        methods[plan.method, plan.proven] += 1
    return methods


def test_small_cases_against_every_partition():
    methods = hold_to_optimum([small_case(seed) for seed in range(300)], least_by_partition)
    assert methods["column generation", True] >= 30
    assert methods["first fit", True] >= 100
    assert not methods["column generation", False] + methods["first fit", False]


def test_small_cases_against_a_programme_that_assigns_parts():
    methods = hold_to_optimum([small_case(seed, 5) for seed in range(1000, 1040)], least_by_assignment)
    assert sum(n for (_, proven), n in methods.items() if proven) >= 38


@pytest.mark.sweep
def test_many_small_cases():
    hold_to_optimum([small_case(seed, 8) for seed in range(5000, 8000)], least_by_partition)
    hold_to_optimum([small_case(seed, 7) for seed in range(9000, 9400)], least_by_assignment)


def one_a_lane(task):
    return [tuple(int(j == i) for j in range(len(task.sizes))) for i, n in enumerate(task.demand) for _ in range(n)]


def test_patterns_alone_mend_the_worst_plan():
    """The programme is given a lane for every part and no bound, so that nothing cheaper does its work."""
    for seed in range(120):
        lengths, stock, kerf, per_board = small_case(seed)
        task = task_of(lengths, stock, kerf, per_board)
        alone = [
            tuple(int(j == i) for j in range(len(task.sizes))) for i, n in enumerate(task.demand) for _ in range(n)
        ]
        worst = packed(task, alone)
        best, low = by_patterns(task.with_sums(worst.steps), worst, 0)
        optimum = least_by_partition(lengths, stock, kerf, per_board)
        assert (best.steps * task.step, low * task.step) == (optimum, optimum), (lengths, stock, kerf, per_board)


def test_any_prices_prove_no_more_than_the_optimum():
    for seed in range(150):
        lengths, stock, kerf, per_board = small_case(seed, 6)
        task = task_of(lengths, stock, kerf, per_board).with_sums(1000)
        optimum = least_by_partition(lengths, stock, kerf, per_board)
        rng = random.Random(seed)
        for _ in range(4):
            proof = prove(task, [rng.randint(0, 50) for _ in task.sizes])
            assert proof is None or task.at_least(proof.cost) * task.step <= optimum


# --- known optima --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wanted", "stock", "best"),
    [
        # V. Chvátal, Linear Programming (1983), chapter 13, after Gilmore and Gomory: 453 rolls (from memory)
        (rolls((45, 97), (36, 610), (31, 395), (14, 211)), 100, 453),
        # the paper machine of the encyclopedias' article on the cutting-stock problem: 73 rolls (from memory)
        (
            rolls((1380, 22), (1520, 25), (1560, 12), (1710, 14), (1820, 18), (1880, 18), (1930, 20))
            + rolls((2000, 10), (2050, 12), (2100, 14), (2140, 16), (2150, 18), (2200, 20)),
            5600,
            73,
        ),
        # six parts, three lanes by hand: 6 + 4, 6 + 4, 5 + 5
        ([6, 6, 5, 5, 4, 4], 10, 3),
    ],
)
def test_known_rolls(wanted, stock, best):
    plan = cut_stock(wanted, [stock], 0)
    held(plan, wanted, [stock], 0, 1)
    assert (plan.bought, plan.bound) == (best * stock, best * stock)


def triplets(seed, count, kerf):
    """Three parts a lane and not a tick over, each between a quarter and a half of it (after E. Falkenauer, 1996)."""
    rng = random.Random(seed)
    out = []
    for _ in range(count):
        a = rng.randint(380, 490)
        b = rng.randint(255, (1000 - a) // 2)
        out += [a - kerf, b - kerf, 1000 - a - b - kerf]
    rng.shuffle(out)
    return out


@pytest.mark.parametrize("kerf", [0, 3])
def test_triplets(kerf):
    proven = 0
    for seed in range(6):
        parts = triplets(seed, 8, kerf)
        plan = cut_stock(parts, [1000 - kerf], kerf)
        held(plan, parts, [1000 - kerf], kerf, 1)
        assert plan.bound == 8 * (1000 - kerf)
        assert plan.bought <= 9 * (1000 - kerf)
        proven += plan.proven
    assert proven >= 5


@pytest.mark.parametrize("per_board", [1, 3])
def test_boards_cut_up_without_waste_are_found_again(per_board):
    """Boards cut up at random and without kerf: what they add up to is what must be bought."""
    proven = 0
    for seed in range(8):
        rng = random.Random(seed)
        stock = [960, 1200, 1440]
        boards = [rng.choice(stock) for _ in range(5)]
        parts = []
        for length in boards * per_board:
            marks = sorted(rng.sample(range(120, length, 120), rng.randint(1, 3)))
            parts += [b - a for a, b in pairwise([0, *marks, length])]
        plan = cut_stock(parts, stock, 0, per_board=per_board)
        held(plan, parts, stock, 0, per_board)
        assert plan.bound == sum(boards)
        proven += plan.proven
    assert proven >= 7


def test_a_part_that_fills_its_lane_needs_no_cut_and_one_tick_more_does():
    """By hand: 48 + 2 + 46 is 96; with 47 in place of 46 it is 97."""
    assert cut_stock([48, 46], [96], 2).boards == ((96, 1),)
    assert cut_stock([48, 47], [96], 2).boards == ((96, 2),)
    assert cut_stock([96], [96], 2).boards == ((96, 1),)
    # a remainder smaller than the kerf is sawdust
    assert cut_stock([95], [96], 2).boards == ((96, 1),)


def test_lanes_of_a_board_by_hand():
    """Four parts of 50 from boards of 60 or 110 with a kerf of 2: 102 fits 110; of two lanes one board is enough."""
    assert cut_stock([50] * 4, [60, 110], 2).boards == ((110, 2),)
    assert cut_stock([50] * 4, [60, 110], 2, per_board=2).boards == ((110, 1),)
    assert cut_stock([50] * 4, [60, 110], 2, per_board=4).boards == ((60, 1),)


def test_of_plans_that_buy_as_much_the_one_with_fewer_boards_and_fewer_lanes():
    """Two boards of 60 or one of 120 hold two parts of 50; and small cases against every partition."""
    plan = cut_stock([50, 50], [60, 120], 3)
    assert (plan.bought, plan.boards) == (120, ((120, 1),))
    for seed in range(150):
        lengths, stock, kerf, per_board = small_case(seed, 6)
        plan = cut_stock(lengths, stock, kerf, per_board=per_board)
        counted = (plan.bought, sum(n for _, n in plan.boards), len(plan.lanes))
        assert counted == first_by_partition(lengths, stock, kerf, per_board)


@pytest.mark.parametrize("limit", ["NODES", "LISTED", "LARGEST"])
def test_a_search_cut_short_proves_no_more_than_it_saw(limit, monkeypatch):
    """No nodes, no list of patterns, or no whole-number programme: the plan may be worse and the bound lower, never wrong."""
    monkeypatch.setattr(patterns, limit, 0)
    proven = 0
    for seed in range(120):
        lengths, stock, kerf, per_board = small_case(seed, 6)
        task = task_of(lengths, stock, kerf, per_board)
        worst = packed(task, one_a_lane(task))
        best, low = by_patterns(task.with_sums(worst.steps), worst, 0)
        assert low * task.step <= least_by_partition(lengths, stock, kerf, per_board) <= best.steps * task.step
        proven += low == best.steps
    assert 40 <= proven < 120


def test_a_hundred_parts_of_twelve_lengths():
    stock = [8 * 192, 10 * 192, 12 * 192]
    for seed in range(4):
        rng = random.Random(seed)
        pool = [rng.randint(160, 1500) for _ in range(12)]
        parts = [rng.choice(pool) for _ in range(100)]
        plan = cut_stock(parts, stock, 2, per_board=1 + seed % 3)
        held(plan, parts, stock, 2, 1 + seed % 3)
        assert plan.bought <= plan.bound + 2 * 192


def test_more_lengths_than_the_programme_takes():
    parts = [100 + 5 * i for i in range(300)]
    plan = cut_stock(parts, [2400, 3000], 4)
    held(plan, parts, [2400, 3000], 4, 1)
    assert plan.method == "first fit"
    assert plan.bought <= 1.03 * plan.bound


# --- what every plan keeps -----------------------------------------------------------------------------------------


@st.composite
def tasks(draw):
    stock = draw(st.lists(st.integers(5, 400), min_size=1, max_size=4))
    pool = draw(st.lists(st.integers(1, max(stock)), min_size=1, max_size=8))
    parts = draw(st.lists(st.sampled_from(pool), min_size=1, max_size=25))
    return parts, stock, draw(st.integers(0, 10)), draw(st.integers(1, 4))


@settings(max_examples=60, deadline=None, derandomize=True)
@given(tasks(), st.randoms(use_true_random=False))
def test_every_plan_is_whole_and_does_not_hang_on_the_order(task, rng):
    parts, stock, kerf, per_board = task
    plan = cut_stock(parts, stock, kerf, per_board=per_board)
    held(plan, parts, stock, kerf, per_board)
    other, turned = parts[:], stock + stock[:1]
    rng.shuffle(other)
    rng.shuffle(turned)
    again = cut_stock(other, turned, kerf, per_board=per_board)
    assert (again.bought, again.bound, again.boards) == (plan.bought, plan.bound, plan.boards)
    assert Counter((a.stock, tuple(other[i] for i in a.parts)) for a in again.lanes) == Counter(
        (a.stock, tuple(parts[i] for i in a.parts)) for a in plan.lanes
    )


@settings(max_examples=40, deadline=None, derandomize=True)
@given(tasks(), st.integers(2, 50))
def test_a_finer_tick_changes_nothing(task, finer):
    parts, stock, kerf, per_board = task
    plan = cut_stock(parts, stock, kerf, per_board=per_board)
    fine = cut_stock([p * finer for p in parts], [s * finer for s in stock], kerf * finer, per_board=per_board)
    assert fine.bound == plan.bound * finer
    assert fine.bought == plan.bought * finer


def test_lanes_lose_what_is_over_the_demand():
    task = task_of([5, 5, 3], [20], 0, 1)
    assert covered(task, [(1, 2), (3, 0), (1, 1)]) == [(1, 1), (1, 0)]


PLANS = """
import random, sys
from layout.stock import cut_stock
cut_stock([40, 40, 20], [96], 2)
assert "highspy" not in sys.modules
out = []
for seed in range(4):
    rng = random.Random(seed)
    pool = [rng.randint(160, 1500) for _ in range(14)]
    plan = cut_stock([rng.choice(pool) for _ in range(50)], [1344, 1536, 1920, 2304], 2, per_board=1 + seed % 2)
    out.append(plan)
assert "highspy" in sys.modules
print(out)
"""


def test_the_same_plan_in_every_process_and_not_a_word_from_the_solver():
    said = set()
    for hashing in ("0", "1"):
        env = {**os.environ, "PYTHONHASHSEED": hashing}
        done = subprocess.run(
            [sys.executable, "-c", PLANS], cwd=ROOT, env=env, capture_output=True, text=True, check=True
        )
        assert not done.stderr
        said.add(done.stdout)
    (text,) = said
    assert text.startswith("[CutPlan(lanes=(Lane(stock=")
    assert text.count("\n") == 1


# --- room by room --------------------------------------------------------------------------------------------------


def test_rooms_filled_one_by_one_hold_what_best_fit_leaves_out():
    """Worked by hand: best fit puts 4 beside 5, the three 3 into the other room, and has but 1 and 1 left for the 2."""
    task = task_of([5, 4, 3, 3, 3, 2], [10], 0, 1)
    assert filled(task, [10, 10]) is None
    assert brimful(task, [10, 10]) == [(1, 0, 1, 1), (0, 1, 2, 0)]


@settings(max_examples=150, deadline=None)
@given(st.lists(st.integers(1, 30), min_size=1, max_size=12), st.lists(st.integers(5, 60), min_size=1, max_size=8))
def test_what_fills_rooms_holds_every_part_once_and_no_room_too_much(lengths, rooms):
    task = task_of(lengths, [max(60, *lengths)], 0, 1)
    for fill in (filled, brimful):
        lanes = fill(task, sorted(rooms, reverse=True))
        if lanes is None:
            continue
        assert tuple(map(sum, zip(*lanes, strict=True))) == task.demand
        taken = sorted((task.size(lane) for lane in lanes), reverse=True)
        assert all(size <= room for size, room in zip(taken, sorted(rooms, reverse=True), strict=False))


def test_one_room_is_filled_as_full_as_it_can_be():
    """Against every choice: of parts in one room, the longest is in and the rest leaves least."""
    source = random.Random(4)
    for _ in range(60):
        lengths = [source.randint(3, 40) for _ in range(8)]
        room = source.randint(40, 90)
        task = task_of(lengths, [200], 0, 1)
        lanes = brimful(task, [room, *lengths])
        first = max(lengths)
        rest = sorted(lengths)[:-1]
        most = max(sum(some) for k in range(8) for some in combinations(rest, k) if first + sum(some) <= room)
        assert lanes is None or task.size(lanes[0]) == first + most


# --- errors --------------------------------------------------------------------------------------------------------


def test_nothing_to_cut():
    plan = cut_stock([], [96], 2)
    assert (plan.lanes, plan.boards, plan.bought, plan.bound, plan.proven) == ((), (), 0, 0, True)


@pytest.mark.parametrize(
    ("task", "told"),
    [
        (([10, 97, 98], [48, 96], 2, 1), "part 1 of length 97 is longer than the longest stock, 96"),
        (([10, 0], [96], 2, 1), "part 1 has the length 0"),
        (([10], [], 2, 1), "at least one"),
        (([10], [96, 0], 2, 1), r"all above 0, found \[96, 0\]"),
        (([10], [96], -1, 1), "a kerf of -1"),
        (([10], [96], 1, 0), "0 lanes a board"),
    ],
)
def test_what_is_no_task_is_refused(task, told):
    with pytest.raises(ValueError, match=told):
        cut_stock(*task[:3], per_board=task[3])
