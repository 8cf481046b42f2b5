"""Rank acceptabilities against loops over scikit-criteria and pymcdm, and against the floor; `-m benchmark -s`.

The floor is the same matrix product and sort in bare numpy, one BLAS thread, with the weights already drawn:
`np.sort(weights @ worths.T, axis=1)`. Ours is the public call, which also draws the weights, checks its input, counts
every rank, adds up central weights and shares ties. Loops of the libraries are timed on fewer draws and scaled up in
a straight line, as one draw costs what the next one does. Times are the least of several runs that take turns; a
floor measured alone, again and again, keeps its memory warm and is told beside.
"""

import gc
import json
import subprocess
import sys
import time
import warnings
from pathlib import Path

import numpy as np
import pytest

from selector.scoring.acceptability import acceptability, relative_acceptability
from selector.scoring.gate import decision_matrix
from selector.scoring.samplers import uniform
from selector.scoring.streams import one_blas_thread

pytestmark = pytest.mark.benchmark
ROOT = Path(__file__).parents[2]
SMALL, LARGE = (60, 10, 10_000), (10_000, 12, 1_000)
LOOPS = {SMALL: 300, LARGE: 6}
REPEATS = {SMALL: 60, LARGE: 9}
METHODS = ("weighted sum", "TOPSIS", "VIKOR")


def worths(m, n):
    return np.random.default_rng(1).random((m, n)) * 100


def least(repeats, **works):
    """Return the least time of each work, s; they take turns, so that a busy moment hits all alike."""
    times = {name: [] for name in works}
    gc.disable()
    try:
        for _ in range(repeats):
            for name, work in works.items():
                begin = time.perf_counter()
                work()
                times[name].append(time.perf_counter() - begin)
    finally:
        gc.enable()
    return {name: min(each) for name, each in times.items()}


def ours(method, values, draws, **options):
    n = values.shape[1]
    if method == "weighted sum":
        return acceptability(values, uniform(n), draws, **options)
    return relative_acceptability(method, values, ["higher"] * n, uniform(n), draws, **options)


def their_loops(method, values):
    """Return a ranking function of one weight vector for each library."""
    from pymcdm import methods, normalizations
    from pymcdm.helpers import rankdata
    from skcriteria.agg.simple import WeightedSumModel
    from skcriteria.agg.topsis import TOPSIS
    from skcriteria.agg.vikor import VIKOR

    m, n = values.shape
    scaled = values / np.sqrt((values**2).sum(axis=0)) if method == "TOPSIS" else values
    names, criteria = [f"A{i}" for i in range(m)], [f"c{j}" for j in range(n)]
    matrix = decision_matrix(scaled, names, criteria, np.full(n, 1 / n), ["higher"] * n)
    library = {"weighted sum": WeightedSumModel, "TOPSIS": TOPSIS, "VIKOR": VIKOR}[method]()
    # No scaling at all for the weighted sum, which is the least work.
    other = {
        "weighted sum": lambda: methods.WSM(lambda column, cost=False: column),
        "TOPSIS": lambda: methods.TOPSIS(normalizations.vector_normalization),
        "VIKOR": methods.VIKOR,
    }[method]()
    types = np.ones(n, dtype=int)

    def one(weights):
        found = library.evaluate(matrix.replace(weights=weights))
        # Its VIKOR ranks put a whole compromise set first; ours and pymcdm's follow Q.
        return rankdata(found.extra_["q_k"]) if method == "VIKOR" else found.rank_

    def two(weights):
        return rankdata(other(values, weights, types), reverse=method != "VIKOR")

    return {"scikit-criteria": one, "pymcdm": two}


def quietly(work, *arguments):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return work(*arguments)


def shares_of(ranks, m):
    return np.stack([(ranks == rank).mean(axis=0) for rank in range(1, m + 1)], axis=1)


def growth(sizes, seconds):
    """Return the exponent of the fitted power law."""
    return float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])


MEMORY = (
    "import re, json\n"
    "import numpy as np\n"
    "from selector.scoring.acceptability import acceptability\n"
    "from selector.scoring.samplers import uniform\n"
    "def peak_mb():\n"
    "    return int(re.search(r'VmHWM:\\s+(\\d+)', open('/proc/self/status').read())[1]) / 1024\n"
    "values = np.random.default_rng(1).random((10_000, 12)) * 100\n"
    "acceptability(values[:50], uniform(12), 50)\n"
    "before = peak_mb()\n"
    "acceptability(values, uniform(12), 1_000)\n"
    "print(json.dumps([before, peak_mb()]))"
)


def memory_mb():
    """Return the most memory a process of its own ever held, MB, before and after the large case (Linux)."""
    run = [sys.executable, "-c", MEMORY]
    before, after = json.loads(subprocess.run(run, cwd=ROOT, capture_output=True, text=True, check=True).stdout)
    return before, after


def test_weighing():
    lines, ratios, floors = [], {}, {}
    for case in (SMALL, LARGE):
        m, n, draws = case
        values = worths(m, n)
        weights = uniform(n).draws(draws, 1)
        turned = np.ascontiguousarray(values.T)

        def floor(weights=weights, turned=turned):
            with one_blas_thread():
                np.sort(weights @ turned, axis=1)

        def with_weights(n=n, draws=draws, turned=turned):
            with one_blas_thread():
                drawn = np.random.default_rng(1).standard_exponential((draws, n))
                drawn /= drawn.sum(axis=1, keepdims=True)
                np.sort(drawn @ turned, axis=1)

        def in_pieces(weights=weights, turned=turned, rows=1024 if m < 1000 else 13):
            with one_blas_thread():
                for start in range(0, len(weights), rows):
                    scores = weights[start : start + rows] @ turned
                    scores.sort(axis=1)

        works = {"floor": floor, "with weights": with_weights, "in pieces": in_pieces}
        works |= {
            method: lambda method=method, values=values, draws=draws: ours(method, values, draws) for method in METHODS
        }
        found = least(REPEATS[case], **works)
        own = lambda values=values, draws=draws: ours("weighted sum", values, draws)  # noqa: E731
        alone = least(REPEATS[case], own=own)["own"] / least(REPEATS[case], floor=floor)["floor"]
        floors[case] = [found["weighted sum"] / found[name] for name in ("floor", "with weights", "in pieces")]
        floors[case].append(alone)
        for method in METHODS:
            loops, some = their_loops(method, values), weights[: LOOPS[case]]
            seconds, ranks = {}, {}
            for name, one in loops.items():
                quietly(one, weights[0])
                begin = time.perf_counter()
                ranks[name] = np.array([quietly(one, each) for each in some])
                seconds[name] = (time.perf_counter() - begin) / len(some) * draws
            if case == SMALL:
                mine = ours(method, values, len(some)).shares
                assert all(np.array_equal(mine, shares_of(each, m)) for each in ranks.values()), method
            ratios[case, method] = {name: each / found[method] for name, each in seconds.items()}
            told = [part for name in loops for part in (seconds[name], ratios[case, method][name])]
            lines.append((f"{m:,} x {n}, {draws:,} draws", method, 1e3 * found[method], *told))
    counts, sizes = (5_000, 10_000, 20_000, 40_000, 80_000), (2_500, 5_000, 10_000, 20_000)
    by_draws = least(7, **{str(d): lambda d=d: ours("weighted sum", worths(60, 10), d, threads=1) for d in counts})
    by_size = least(5, **{str(m): lambda m=m: ours("weighted sum", worths(m, 12), 500, threads=1) for m in sizes})
    grows = growth(counts, list(by_draws.values())), growth(sizes, list(by_size.values()))
    before, after = memory_mb()

    heads = ("ours, ms", "scikit-criteria, s", "times", "pymcdm, s", "times")
    print(f"\n{'case':<26}{'method':<14}{heads[0]:>10}{heads[1]:>20}{heads[2]:>8}{heads[3]:>12}{heads[4]:>8}")
    for case, method, own, *rest in lines:
        print(f"{case:<26}{method:<14}{own:>10.1f}{rest[0]:>20.1f}{rest[1]:>8.0f}{rest[2]:>12.1f}{rest[3]:>8.0f}")
    for case, (whole, drawing, pieces, alone) in floors.items():
        print(
            f"{case[0]:,} x {case[1]}, {case[2]:,} draws, times the bare product and sort: {whole:.2f} in turns, "
            f"{alone:.2f} each alone, {drawing:.2f} where it draws its weights, {pieces:.2f} where it works in pieces"
        )
    print(f"time grows as draws to the power {grows[0]:.2f}, as alternatives to the power {grows[1]:.2f}")
    print(f"memory {after:.0f} MB at most, {after - before:.0f} MB above {before:.0f} MB with everything loaded")
    assert floors[SMALL][0] <= 1.5
    assert floors[LARGE][0] <= 1.5
    assert ratios[SMALL, "weighted sum"]["scikit-criteria"] >= 1000
    assert ratios[SMALL, "VIKOR"]["scikit-criteria"] >= 500
    assert ratios[LARGE, "weighted sum"]["scikit-criteria"] >= 30
    assert after - before <= 100
    assert 0.7 <= grows[0] <= 1.3
    assert 0.7 <= grows[1] <= 1.3
