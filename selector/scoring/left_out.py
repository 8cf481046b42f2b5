"""What the order would be without each criterion in turn, and how far criteria go along with each other on a list.

A correlation is no fault by itself, and nothing here corrects a weight: both only show where to ask whether one concern
is counted twice.
"""

import numpy as np
from numpy.typing import NDArray

from selector.scoring.counted_twice import FEWEST, rank_correlation
from selector.scoring.ranking import Matrix, accumulated, competition_ranks


def ranks_without(worths: Matrix, weights: Matrix) -> tuple[NDArray[np.int64] | None, ...]:
    """Return the ranks when one criterion is left out, the others keeping their ratios.

    Parameters
    ----------
    worths : array (m, n)
        Without gaps.
    weights : array (n,)
        Sum to 1.

    Returns
    -------
    tuple of n entries
        Ranks (m,), 1 is best; None for a criterion that carries all the weight.
    """
    found: list[NDArray[np.int64] | None] = []
    for column in range(len(weights)):
        rest = np.array(weights, dtype=float)
        rest[column] = 0.0
        found.append(competition_ranks(accumulated(worths, rest / rest.sum())) if rest.sum() > 0 else None)
    return tuple(found)


def correlations(values: Matrix) -> Matrix:
    """Return Spearman's rank correlation of every two criteria over the alternatives that have both values.

    Parameters
    ----------
    values : array (m, n)
        NaN where not known.

    Returns
    -------
    array (n, n)
        1 on the diagonal; NaN where fewer than five alternatives have both, or either does not vary.
    """
    table = np.asarray(values, dtype=float)
    n = table.shape[1]
    found = np.full((n, n), np.nan)
    np.fill_diagonal(found, 1.0)
    for j in range(n):
        for k in range(j):
            both = np.isfinite(table[:, j]) & np.isfinite(table[:, k])
            if both.sum() >= FEWEST:
                rho = rank_correlation(table[both, j], table[both, k])
                found[j, k] = found[k, j] = np.nan if rho is None else rho
    return found
