"""Exact answers: weight intervals of a long list, and one linear program for each of sixty alloys; `-m benchmark -s`.

As ratios to a peer of the same run: the weighted sum of the same table in bare numpy, and one bare call of the solver
for each alloy with every rival in it.
"""

import time

import numpy as np
import pytest

from selector.scoring.admissible import anything, around, both, bounded, ordered
from selector.scoring.comparisons import better_for_all
from selector.scoring.dethroning import weight_changes
from selector.scoring.optimality import optimality
from selector.scoring.rank_limits import best_place, worst_place
from selector.scoring.settling import measurements
from selector.scoring.stability import stability

pytestmark = pytest.mark.benchmark
RNG = np.random.default_rng(1)
LONG, SHORT = RNG.uniform(0, 100, (10_000, 12)), RNG.uniform(0, 100, (60, 10))
WEIGHTS = RNG.dirichlet(np.ones(12)), RNG.dirichlet(np.ones(10))


def best_of(call, times=5):
    found = []
    for _ in range(times):
        begin = time.perf_counter()
        call()
        found.append(time.perf_counter() - begin)
    return min(found)


def bare_programs():
    from scipy.optimize import linprog

    for i in range(len(SHORT)):
        gaps = SHORT[i] - np.delete(SHORT, i, axis=0)
        linprog(
            np.r_[np.zeros(10), -1.0],
            A_ub=np.column_stack([-gaps, np.ones(len(gaps))]),
            b_ub=np.zeros(len(gaps)),
            A_eq=np.r_[np.ones(10), 0.0][None, :],
            b_eq=[1.0],
            bounds=[(0, None)] * 10 + [(None, None)],
            method="highs-ds",
        )


def test_weight_intervals_of_ten_thousand_by_twelve():
    leader = int(np.argmax(LONG @ WEIGHTS[0]))
    mine = best_of(lambda: stability(LONG, WEIGHTS[0], leader))
    # The least that must be done: read every gap to the leader once for each weight.
    floor = best_of(lambda: [(LONG[leader] - LONG) @ WEIGHTS[0] for _ in range(12)])
    print(f"\nweight intervals, 10,000 x 12: {1e3 * mine:.2f} ms, {mine / floor:.1f} times the gaps alone")
    assert mine < 0.010


@pytest.mark.parametrize(
    ("name", "region"),
    [
        ("nothing stated", anything(10)),
        ("ranked", ordered([(j,) for j in range(10)])),
        ("within half", around(WEIGHTS[1], 0.5)),
        ("ranked and bounded", both(ordered([(j,) for j in range(10)]), bounded([0.02] * 10, [0.4] * 10))),
    ],
)
def test_sixty_alloys_by_ten_criteria(name, region):
    optimality(SHORT, region)
    mine, bare = best_of(lambda: optimality(SHORT, region), 3), best_of(bare_programs, 3)
    print(f"\npotential optimality, 60 x 10, {name}: {1e3 * mine:.0f} ms, {mine / bare:.2f} of the bare solver")
    assert mine < 0.2
    low, high = SHORT - 3, SHORT + 3
    pairs = best_of(lambda: better_for_all(low, high, region), 3)
    places = best_of(lambda: (best_place(0, low, high, region), worst_place(0, low, high, region)), 3)
    print(f"  every pair {1e3 * pairs:.1f} ms; exact best and worst place of one {1e3 * places:.0f} ms")


def test_what_dethrones_and_what_settles():
    leader = int(np.argmax(SHORT @ WEIGHTS[1]))
    changes = best_of(lambda: weight_changes(SHORT, WEIGHTS[1], leader, anything(10)), 3)
    settle = best_of(lambda: measurements(SHORT - 3, SHORT + 3, WEIGHTS[1], [leader]), 3)
    print(f"\nnearest weights for every rival {1e3 * changes:.0f} ms; 600 measurements compared {1e3 * settle:.0f} ms")
    assert len(weight_changes(SHORT, WEIGHTS[1], leader, anything(10))) > 10


def test_a_long_list_with_rivals_as_needed():
    region, rows = anything(12), np.arange(10)
    each = best_of(lambda: optimality(LONG, region, rows=rows), 2) / len(rows)
    print(f"\npotential optimality, 10,000 x 12: {1e3 * each:.1f} ms an alloy")
    assert optimality(LONG, region, rows=rows[:1]).lead.shape == (1,)
