"""Random numbers that depend on the seed alone, and work shared over threads without a trace in the result.

Draws come in fixed blocks. Each block reads streams of its own, found by counting (Philox) from the seed, the block's
number, the purpose and the column; so it does not matter which thread draws a block, in which order, or in how many
pieces it is worked off.
"""

import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any, TypeVar

import numpy as np

from selector.errors import Fault, InputError, shown

BLOCK = 1024
PART = 256  # rows of a block that have data streams of their own, so that threads can share a block
MOST_DRAWS = 2_000_000
LARGEST_SEED = 2**64 - 1
WEIGHTS, DATA, TRIAL = 1, 2, 3  # purposes

Result = TypeVar("Result")


def stream(seed: int, purpose: int, block: int, column: int = 0) -> np.random.Generator:
    """Return the random stream of one block, purpose and column; no two overlap in their first 2**64 steps."""
    return np.random.Generator(np.random.Philox(key=seed, counter=[0, column, block, purpose]))


def blocks(draws: int) -> list[tuple[int, int]]:
    """Return (number, rows used) of the blocks that hold this many draws; only the last may be used in part."""
    return [(number, min(BLOCK, draws - start)) for number, start in enumerate(range(0, draws, BLOCK))]


def check(draws: object, seed: object, threads: object = None) -> list[Fault]:
    """Return what is wrong with a number of draws, a seed and a number of threads."""
    faults = []
    for name, value, least, most in (
        ("draws", draws, 1, MOST_DRAWS),
        ("seed", seed, 0, LARGEST_SEED),
        ("threads", 1 if threads is None else threads, 1, 1024),
    ):
        if isinstance(value, bool) or not isinstance(value, int | np.integer) or not least <= value <= most:
            faults.append(Fault(name, "cannot be used", shown(value), f"a whole number from {least} to {most}"))
    return faults


def checked(draws: object, seed: object, threads: object = None) -> None:
    """Refuse a number of draws, a seed or a number of threads that cannot be used, all at once."""
    faults = check(draws, seed, threads)
    if faults:
        raise InputError("the sampling", faults)


@dataclass(frozen=True)
class Unit:
    """Rows `start` to `end` of a block, the piece of work that one thread takes."""

    block: int
    start: int
    end: int


def units(draws: int, threads: int) -> list[Unit]:
    """Return the work as whole blocks where there are many for each thread, and as parts of blocks otherwise."""
    whole = blocks(draws)
    step = BLOCK if threads == 1 or len(whole) >= 4 * threads else PART
    return [Unit(block, a, min(a + step, rows)) for block, rows in whole for a in range(0, rows, step)]


def shared_out(work: Callable[[Sequence[Unit]], Result], draws: int, threads: int) -> list[Result]:
    """Return what `work` makes of each share of the units, one BLAS thread each.

    Parameters
    ----------
    work : callable
        Units -> result. What the results come to together must not depend on how the units are shared out.
    draws : int
    threads : int
        Never more are used than there are units.
    """
    todo = units(draws, threads)
    count = min(len(todo), threads)
    with one_blas_thread():
        if count == 1:
            return [work(units(draws, 1))]
        from concurrent.futures import ThreadPoolExecutor

        # Neighbours together: a block split among few threads is drawn fewer times.
        ends = [len(todo) * share // count for share in range(count + 1)]
        shares = [todo[a:b] for a, b in pairwise(ends)]
        with ThreadPoolExecutor(count - 1) as pool:
            others = [pool.submit(work, share) for share in shares[1:]]
            # This thread works too, which saves starting another one.
            return [work(shares[0]), *(other.result() for other in others)]


_LOCK = threading.Lock()
_HOLDERS: list[Any] = []


@cache
def _controller() -> Any:
    # Looking for the loaded libraries takes milliseconds, so it is done once; numpy's is loaded by then.
    from threadpoolctl import ThreadpoolController  # type: ignore[import-untyped]

    return ThreadpoolController()


@contextmanager
def one_blas_thread() -> Iterator[None]:
    """Hold the matrix library to one thread: two are slower on products this small, and fight with ours."""
    with _LOCK:
        if not _HOLDERS:
            limit = _controller().limit(limits=1, user_api="blas")
            limit.__enter__()
            _HOLDERS.append(limit)
        _HOLDERS.append(None)
    try:
        yield
    finally:
        with _LOCK:
            _HOLDERS.pop()
            # The last one out restores what was set before the first came in.
            if len(_HOLDERS) == 1:
                _HOLDERS.pop().__exit__(None, None, None)
