"""The additive score with exact bounds, and the order it gives.

The sum is accumulated column by column in a fixed order, so that a row's score does not depend on which other rows are
there: adding, removing, repeating or permuting alloys leaves every other score identical to the last bit. Validity:
criteria that are preferentially independent; see docs/weighing.md.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError

TIE = 1e-9

Matrix = NDArray[np.float64]


@dataclass(frozen=True)
class Scores:
    """Scores of m alternatives, each 0 to 100 with exact bounds.

    Parameters
    ----------
    central : array (m,)
        NaN where a value is missing: such an alternative has no score, only bounds.
    low, high : array (m,)
        The least and greatest score that the intervals allow.
    """

    central: Matrix
    low: Matrix
    high: Matrix


def normalised(points: Sequence[float]) -> Matrix:
    """Return swing points as weights that sum to 1.

    Parameters
    ----------
    points : sequence of float
        One a criterion, finite, at least 0, not all 0.

    Raises
    ------
    InputError
        Points that break this.
    """
    weights = np.asarray(points, dtype=float)
    bad = [index for index, value in enumerate(weights) if not (np.isfinite(value) and value >= 0)]
    if bad or weights.size == 0 or weights.sum() <= 0:
        where = ", ".join(f"weight {index}" for index in bad) or "weights"
        raise InputError(
            "the weights", [Fault(where, "cannot be used", str(list(points)), "finite, at least 0, not all 0")]
        )
    return np.asarray(weights / weights.sum(), dtype=float)


def accumulated(worths: Matrix, weights: Matrix) -> Matrix:
    """Return the weighted sum of each row, column after column.

    Parameters
    ----------
    worths : array (m, n)
    weights : array (n,)
        Sum to 1.

    Returns
    -------
    array (m,)
        A row's sum is the same to the last bit whatever other rows there are; a matrix product does not promise this.
    """
    total = np.zeros(worths.shape[0])
    for column in range(worths.shape[1]):
        total = total + weights[column] * worths[:, column]
    return total


def scored(central: Matrix, low: Matrix, high: Matrix, weights: Matrix) -> Scores:
    """Return scores with bounds from worths with bounds, each (m, n); NaN in `central` marks a missing value."""
    return Scores(accumulated(central, weights), accumulated(low, weights), accumulated(high, weights))


def competition_ranks(values: Matrix) -> NDArray[np.int64]:
    """Return ranks 1, 2, 2, 4 of values, highest first; values within 1e-9 of each other tie."""
    better = values[None, :] > values[:, None] + TIE
    return np.asarray(1 + better.sum(axis=1), dtype=np.int64)


def rank_bounds(scores: Scores) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the best and worst rank that independent intervals allow, exactly, under fixed weights.

    Best: 1 + how many lie wholly above; worst: 1 + how many others may lie above.
    """
    best = 1 + (scores.low[None, :] > scores.high[:, None] + TIE).sum(axis=1)
    may_beat = scores.high[None, :] > scores.low[:, None] + TIE
    np.fill_diagonal(may_beat, False)
    worst = 1 + may_beat.sum(axis=1)
    return np.asarray(best, dtype=np.int64), np.asarray(worst, dtype=np.int64)
