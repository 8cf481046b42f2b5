"""Weights from a ranking alone. The centroid stands for the whole ordered region; two flatter customs stand beside it.

For n places, of which p = 1 is the heaviest: centroid (1/n) sum over k = p..n of 1/k; rank sum
2 (n + 1 - p) / (n (n + 1)); rank reciprocal (1/p) / sum of 1/k. Criteria of one group share the mean of its places.
"""

from collections.abc import Callable, Sequence

import numpy as np

from selector.scoring.admissible import Vector, ordered

Groups = Sequence[Sequence[int]]


def _shared(groups: Groups, of_places: Callable[[Vector], Vector]) -> Vector:
    ordered(groups)  # refuses what is no ranking
    flat = [index for group in groups for index in group]
    by_place = of_places(np.arange(1.0, len(flat) + 1))
    weights = np.empty(len(flat))
    start = 0
    for group in groups:
        weights[list(group)] = by_place[start : start + len(group)].mean()
        start += len(group)
    return weights


def centroid(groups: Groups) -> Vector:
    """Return the rank-order centroid: the mean of all weights that respect the ranking.

    Source: Management Science 42(11), 1515-1523 (1996).

    Parameters
    ----------
    groups : sequence of sequence of int
        Indices of criteria, heaviest first; each once.

    Returns
    -------
    array (n,)
        Sums to 1, in the order of the criteria.

    Raises
    ------
    InputError
        What is no ranking.
    """
    return _shared(groups, lambda places: np.cumsum(1 / places[::-1])[::-1] / places.size)


def rank_sum(groups: Groups) -> Vector:
    """Return weights that fall evenly with the place (OBHP 28, 62-77, 1981); as `centroid`."""
    return _shared(groups, lambda places: 2 * (places.size + 1 - places) / (places.size * (places.size + 1)))


def rank_reciprocal(groups: Groups) -> Vector:
    """Return weights that fall as 1 over the place (OBHP 28, 62-77, 1981); as `centroid`."""
    return _shared(groups, lambda places: (1 / places) / (1 / places).sum())
