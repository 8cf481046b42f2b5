"""The melting engine against pycalphad and the scheil package on the same work, as ratios; run with `-m benchmark -s`.

A peer's time is measured on a sample and told per alloy; each side is warmed up on the same elements first, so that
building models is counted on neither. Nothing is asserted on seconds.
"""

import json
import os
import subprocess
import sys
import time
import tracemalloc
from pathlib import Path

import numpy as np
import pytest

from selector.composition import parse
from selector.melting.alloy import melt, mole_fractions
from selector.melting.coverage import coverage
from selector.melting.database import database
from selector.melting.equilibrium import _prepared
from selector.melting.freezing import scheil
from selector.melting.liquidus import liquidus

pytestmark = pytest.mark.benchmark
ROOT = Path(__file__).parents[2]
ELEMENTS = ("Ag", "Bi", "Cu", "Sn")
COUNT, SAMPLE = 1000, 12
HUNDREDFOLD = 100


def solders(count, seed=1):
    """Return solder-like mole fractions of Ag-Bi-Cu-Sn, (elements, count)."""
    rng = np.random.default_rng(seed)
    wt = np.stack([rng.uniform(0.1, 5, count), rng.uniform(0.5, 60, count), rng.uniform(0.1, 1.5, count)])
    wt = np.vstack([wt, 100 - wt.sum(axis=0)])
    moles = wt / np.array([[107.868], [208.980], [63.546], [118.710]])
    return moles / moles.sum(axis=0)


def timed(work, *arguments):
    begin = time.perf_counter()
    result = work(*arguments)
    return time.perf_counter() - begin, result


def told(name, **figures):
    print(f"\n{name}: " + ", ".join(f"{what.replace('_', ' ')} {value:.4g}" for what, value in figures.items()))


def bisected(x, low_k, high_k):
    """Return pycalphad's liquidus of one alloy by bisection to 0.05 K, models and records kept."""
    from pycalphad import equilibrium
    from pycalphad import variables as v

    ready = _prepared(ELEMENTS)
    while high_k - low_k > 0.05:
        middle = (low_k + high_k) / 2
        conditions = {v.T: middle, v.P: 101325, v.N: 1}
        conditions |= {v.X(name): float(part) for name, part in zip(ready.components[:-1], x[:-1], strict=True)}
        found = equilibrium(
            database(),
            ready.components,
            ready.phases,
            conditions,
            model=ready.models,
            phase_records=ready.records,
            to_xarray=False,
        )
        names = {str(name) for name in np.ravel(found.Phase) if name}
        low_k, high_k = (low_k, middle) if names == {"LIQUID"} else (middle, high_k)
    return high_k


def test_liquidus_of_a_thousand_alloys():
    x = solders(COUNT)
    liquidus(x[:, :3], ELEMENTS)
    bisected(x[:, 0], 400, 800)
    ours, found = timed(liquidus, x, ELEMENTS)
    theirs, tops = timed(lambda: [bisected(x[:, n], 400, 900) for n in range(SAMPLE)])
    ratio = (theirs / SAMPLE) / (ours / COUNT)
    apart = np.median(np.abs(np.array(tops) - found.t_k[:SAMPLE]))
    told(
        "liquidus, ms an alloy", engine=1e3 * ours / COUNT, pycalphad=1e3 * theirs / SAMPLE, ratio=ratio, apart_k=apart
    )
    assert apart < 0.3
    assert ratio >= HUNDREDFOLD


def test_freezing_of_a_thousand_alloys():
    from pycalphad import variables as v
    from scheil import simulate_scheil_solidification

    x = solders(COUNT)
    top = liquidus(x, ELEMENTS).t_k
    ready = _prepared(ELEMENTS)

    def theirs(n):
        return simulate_scheil_solidification(
            database(),
            [*ready.components, "VA"],
            ready.phases,
            {v.X(symbol): float(part) for symbol, part in zip(ready.components[:-1], x[:-1, n], strict=True)},
            float(np.ceil(top[n]) + 1),
            step_temperature=1.0,
            stop=1e-3,
        )

    scheil(x[:, :3], ELEMENTS, top[:3])
    theirs(0)
    ours, path = timed(scheil, x, ELEMENTS, top)
    sample = 4
    peer, runs = timed(lambda: [theirs(n) for n in range(1, 1 + sample)])
    ratio = (peer / sample) / (ours / COUNT)
    apart = np.median([abs(run.temperatures[-1] - path.last_k[n]) for n, run in enumerate(runs, start=1)])
    told(
        "freezing, ms an alloy",
        engine=1e3 * ours / COUNT,
        scheil_package=1e3 * peer / sample,
        ratio=ratio,
        apart_k=apart,
        unsettled=float((~path.settled).sum()),
    )
    assert apart < 1
    assert ratio >= HUNDREDFOLD


def test_time_grows_no_faster_than_the_number_of_alloys():
    x = solders(4 * COUNT)
    liquidus(x[:, :3], ELEMENTS)
    few, top = timed(lambda: liquidus(x[:, :COUNT], ELEMENTS).t_k)
    many, tops = timed(lambda: liquidus(x, ELEMENTS).t_k)
    few_frozen, _ = timed(scheil, x[:, :COUNT], ELEMENTS, top)
    many_frozen, _ = timed(scheil, x, ELEMENTS, tops)
    told("four times the alloys, times the time", liquidus=many / few, freezing=many_frozen / few_frozen)
    assert many / few < 6
    assert many_frozen / few_frozen < 6


def test_a_checked_solidus_costs_little_more_than_an_unchecked_bisection():
    names = ["Sn-3Ag-0.5Cu-3Bi", "Sn-2Ag-0.5Cu-20Bi", "Sn-1Ag-0.7Cu-40Bi", "Sn-0.4Ag-0.1Cu-57Bi"]
    entries = [coverage(parse(name)) for name in names]
    melt([parse(names[0])])
    unchecked, _ = timed(lambda: [bisected(mole_fractions(entry), 400, 900) for entry in entries])
    checked, found = timed(lambda: melt([parse(name) for name in names]))
    told(
        "solidus, T98 and T90, checked, s an alloy",
        engine=checked / len(names),
        one_bisection_unchecked=unchecked / len(names),
        ratio=checked / unchecked,
    )
    assert not any(entry.failures for entry in found)
    # Three temperatures and a path of freezing for one temperature.
    assert checked / unchecked < 8


ASK = (
    "import time\n"
    "from selector.composition import parse\n"
    "from selector.melting.store import melting_of\n"
    "begin = time.perf_counter()\n"
    "melting_of([parse('SAC305')])\n"
    "print(time.perf_counter() - begin)"
)


def test_a_kept_result_costs_next_to_nothing(tmp_path):
    def ask():
        run = subprocess.run(
            [sys.executable, "-W", "ignore", "-c", ASK],
            cwd=ROOT,
            env=os.environ | {"MELTWISE_CACHE": str(tmp_path)},
            capture_output=True,
            text=True,
            check=True,
        )
        return float(run.stdout)

    cold, kept = ask(), min(ask() for _ in range(3))
    told("one alloy in a new process, s", cold=cold, kept=kept, ratio=cold / kept)
    assert cold / kept >= 10


MEMORY = (
    "import json, resource, sys\n"
    "from selector.composition import parse\n"
    "from selector.melting.alloy import melt\n"
    "melt([parse(name) for name in sys.argv[2:]], at_equilibrium=sys.argv[1] == 'all')\n"
    "print(json.dumps(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024))"
)


def test_memory():
    def peak_mb(*arguments):
        run = [sys.executable, "-W", "ignore", "-c", MEMORY, *arguments]
        return json.loads(subprocess.run(run, cwd=ROOT, capture_output=True, text=True, check=True).stdout)

    names = ["SAC305", "Sn-3.4Ag-4.8Bi", "Sn-40Bi", "Sn-43Pb-14Bi"]
    without, whole = peak_mb("some", *names), peak_mb("all", *names)
    x = solders(COUNT)
    top = liquidus(x, ELEMENTS).t_k
    tracemalloc.start()
    scheil(x, ELEMENTS, top)
    batch_mb = tracemalloc.get_traced_memory()[1] / 2**20
    tracemalloc.stop()
    told("memory, MB", four_alloys_without_equilibrium=without, with_equilibrium=whole, batch_of_a_thousand=batch_mb)
    assert batch_mb / COUNT < 1
