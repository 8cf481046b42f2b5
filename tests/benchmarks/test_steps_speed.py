"""The steps planner against trying every assignment one by one, on all of the catalogue; run with `-m benchmark -s`.

The peer is timed on a sample of first alloys and told for the whole; both must find the same assignments there.
"""

import itertools
import time

import pytest

from selector.catalogue import load
from selector.process.routes import listed
from selector.process.steps import PartLimit, Step, plan_steps

pytestmark = pytest.mark.benchmark
STACK = (
    Step("die attach", (PartLimit("die", 340),), meets=()),
    Step("module", (PartLimit("module", 260),), meets=()),
    Step("board", (PartLimit("sensor", 200),), meets=()),
)
RISE_K, MARGIN_K, TENFOLD, WITHIN_S = 25, 10, 10, 1.0


def one_by_one(first, pool):
    """Return the certain assignments that begin with some alloys, in plain Python."""
    found = set()
    for combo in itertools.product(first, pool, pool):
        if any(c.liquidus_c is None or c.onset_c is None for c in combo[:2]) or combo[2].liquidus_c is None:
            continue
        peaks = [c.liquidus_c[1] + RISE_K for c in combo]
        if any(peak > step.limits[0].limit_c for peak, step in zip(peaks, STACK, strict=True)):
            continue
        if all(combo[j].onset_c[0] - peaks[k] >= MARGIN_K for j in range(3) for k in range(j + 1, 3)):
            found.add(tuple(c.name for c in combo))
    return found


def test_three_steps_over_the_whole_catalogue():
    pool = [listed(alloy) for alloy in load().alloys.values()]
    assert len(pool) >= 70
    merit = [{candidate.name: float(i) for i, candidate in enumerate(pool)}] * 3
    plan_steps(STACK, pool, merit)
    begin = time.perf_counter()
    plan = plan_steps(STACK, pool, merit)
    ours = time.perf_counter() - begin
    sample = pool[::6]
    begin = time.perf_counter()
    found = one_by_one(sample, pool)
    peer = (time.perf_counter() - begin) * len(pool) / len(sample)
    firsts = {candidate.name for candidate in sample}
    assert {names for row in plan.feasible if (names := plan.names(row))[0] in firsts} == found
    print(
        f"\n{len(pool)} alloys, 3 steps: {ours * 1000:.3g} ms, one by one {peer * 1000:.3g} ms, ratio {peer / ours:.3g}"
    )
    assert peer / ours > TENFOLD
    assert ours < WITHIN_S  # the promise of the planner, a hundred times what it takes
