"""How long a start takes, as ratios against a peer on the same machine; run with `-m benchmark -s`."""

import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.benchmark
ROOT = Path(__file__).parents[2]
RUNS = 9
SHORTLIST = ("-m", "selector", "shortlist", "skin-patch", "--json")


def start(*arguments):
    """Return the standard error of one run."""
    return subprocess.run([sys.executable, *arguments], cwd=ROOT, capture_output=True, text=True, check=True).stderr


def fastest(**commands):
    """Return the least time of several runs of each command, s; the commands take turns."""
    times = {name: [] for name in commands}
    for _ in range(RUNS):
        for name, arguments in commands.items():
            begin = time.perf_counter()
            start(*arguments)
            times[name].append(time.perf_counter() - begin)
    found = {name: min(each) for name, each in times.items()}
    print("\n" + ", ".join(f"{name} {seconds:.3f} s" for name, seconds in found.items()))
    return found


def test_the_package_loads_as_fast_as_the_tables_it_builds_on():
    found = fastest(
        pandas=("-c", "import pandas"), selector=("-c", "import selector"), command=("-c", "import selector.cli")
    )
    print(f"import selector / import pandas: {found['selector'] / found['pandas']:.2f}")
    print(f"import selector.cli / import pandas: {found['command'] / found['pandas']:.2f}")
    assert found["selector"] <= 1.3 * found["pandas"]
    assert found["command"] <= 1.3 * found["pandas"]


def test_a_shortlist_takes_little_more_than_its_imports():
    ask = (
        "import sys\nfrom selector.cli import app\n"
        "app(['shortlist', 'skin-patch', '--json'], standalone_mode=False)\n"
        "print(*sorted(name for name in sys.modules if name != '__main__'), file=sys.stderr)"
    )
    modules = start("-c", ask).split()
    assert "selector.cli" in modules
    # Aliases that other modules leave behind, of compilers and of the main module, cannot be imported by name.
    bare = (
        f"import contextlib, importlib\nfor name in {modules!r}:\n"
        "    with contextlib.suppress(ImportError):\n        importlib.import_module(name)"
    )
    found = fastest(imports=("-c", bare), shortlist=SHORTLIST)
    print(f"whole shortlist / its {len(modules)} imports: {found['shortlist'] / found['imports']:.2f}")
    assert found["shortlist"] <= 2.0 * found["imports"]
