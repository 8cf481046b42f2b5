"""The greatest and least value of a weighted sum over all admissible weights, exactly.

For a direction d the answer is max d . w over the region. Nothing stated: the greatest entry. An order: the greatest
running mean of d, taken from the first group on and within a group from its greatest entry down, because the corners of
the region are equal weights on such heads. Bounds: every weight at its lower bound, the rest poured into the greatest
entries first (a fractional knapsack). Rows besides: linear programs (HiGHS), many in one block-diagonal call.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError
from selector.scoring.admissible import Admissible

Matrix = NDArray[np.float64]
BLOCK = 128  # programs in one call: the call costs more than a small program


@dataclass(frozen=True, eq=False)
class Extreme:
    """Greatest (or least) values with weights that reach them.

    Parameters
    ----------
    value : array (p,)
    weights : array (p, n)
    """

    value: Matrix
    weights: Matrix


def greatest(region: Admissible, directions: Matrix) -> Extreme:
    """Return the greatest d . w over a region for each direction.

    Parameters
    ----------
    region : Admissible
        Not empty.
    directions : array (p, n)
        Finite.

    Raises
    ------
    InputError
        Directions that are not (p, n) and finite, or a region without weights.
    """
    d = np.asarray(directions, dtype=float)
    if d.ndim != 2 or d.shape[1] != region.size or not np.all(np.isfinite(d)):
        allowed = f"finite numbers, {region.size} a row"
        raise InputError("the comparison", [Fault("worths", "cannot be used", str(d.shape), allowed)])
    if region.order is not None:
        return _over_order(region.order, d)
    if region.b_ub.size == 0:
        return _over_bounds(region.check(), d)
    return _by_programs(region.check(), d)


def least(region: Admissible, directions: Matrix) -> Extreme:
    """Return the least d . w over a region for each direction; as `greatest`."""
    found = greatest(region, -np.asarray(directions, dtype=float))
    return Extreme(-found.value, found.weights)


def _over_order(groups: tuple[tuple[int, ...], ...], d: Matrix) -> Extreme:
    place = np.empty(d.shape, dtype=np.intp)
    start = 0
    for group in groups:
        columns = np.array(group)
        stop = start + columns.size
        place[:, start:stop] = columns[np.argsort(-d[:, columns], axis=1, kind="stable")]
        start = stop
    means = np.cumsum(np.take_along_axis(d, place, axis=1), axis=1) / np.arange(1, d.shape[1] + 1)
    head = np.argmax(means, axis=1)
    in_head = np.arange(d.shape[1])[None, :] <= head[:, None]
    weights = np.zeros(d.shape)
    np.put_along_axis(weights, place, in_head / (head[:, None] + 1.0), axis=1)
    return Extreme(means[np.arange(len(d)), head], weights)


def _over_bounds(region: Admissible, d: Matrix) -> Extreme:
    place = np.argsort(-d, axis=1, kind="stable")
    room = (region.upper - region.lower)[place]
    left = 1.0 - region.lower.sum()
    before = np.cumsum(room, axis=1) - room
    poured = np.clip(left - before, 0.0, room)
    weights = np.tile(region.lower, (len(d), 1))
    np.put_along_axis(weights, place, region.lower[place] + poured, axis=1)
    return Extreme(np.asarray((d * weights).sum(axis=1)), weights)


def _by_programs(region: Admissible, d: Matrix) -> Extreme:
    from scipy.optimize import linprog
    from scipy.sparse import csr_array, eye_array, kron

    weights = np.empty(d.shape)
    for start in range(0, len(d), BLOCK):
        part = d[start : start + BLOCK]
        many = eye_array(len(part), format="csr")
        answer = linprog(
            -part.ravel(),
            A_ub=csr_array(kron(many, region.a_ub)),
            b_ub=np.tile(region.b_ub, len(part)),
            A_eq=csr_array(kron(many, np.ones((1, region.size)))),
            b_eq=np.ones(len(part)),
            bounds=np.tile(region.bounds, (len(part), 1)),
            method="highs-ds",
        )
        solved(answer)
        weights[start : start + BLOCK] = answer.x.reshape(part.shape)
    return Extreme(np.asarray((d * weights).sum(axis=1)), weights)


def solved(answer: object) -> None:
    """Refuse the answer of a solver that did not finish: a half-solved program is no answer.

    Raises
    ------
    InputError
        With the solver's own words.
    """
    if getattr(answer, "status", -1) != 0:
        words = str(getattr(answer, "message", "no message"))
        raise InputError("the linear program", [Fault("HiGHS", "found no optimum", words[:60])])
