"""One weight vector to stand for a region: a convention, where people gave bounds and no single answer.

A ranking has its centroid. Bounds alone: every weight the same part of the way from its lower to its upper bound.
Anything else: the centre of the largest ball in the simplex that the statements leave (a linear program), which keeps
equally far from every statement. None of these is an estimate of what somebody meant.
"""

import numpy as np

from selector.scoring.admissible import Admissible, Vector
from selector.scoring.support import solved
from selector.scoring.weights.ranked import centroid


def middle(region: Admissible) -> Vector:
    """Return a weight vector inside the region, shape (n,), by the convention that fits it.

    Raises
    ------
    InputError
        An empty region.
    """
    region.check()
    if region.order is not None:
        return centroid(region.order)
    if region.b_ub.size == 0:
        room = region.upper - region.lower
        part = (1 - region.lower.sum()) / room.sum() if room.sum() > 0 else 0.0
        return np.asarray(region.lower + part * room)
    return _ball(region)


def _ball(region: Admissible) -> Vector:
    """Return the Chebyshev centre within the plane sum(w) = 1: maximise r with a . w + r |a - mean(a)| <= b."""
    from scipy.optimize import linprog

    n = region.size
    rows = np.vstack([region.a_ub, -np.eye(n), np.eye(n)])
    limits = np.concatenate([region.b_ub, -region.lower, region.upper])
    lengths = np.linalg.norm(rows - rows.mean(axis=1, keepdims=True), axis=1)
    answer = linprog(
        np.r_[np.zeros(n), -1.0],
        A_ub=np.column_stack([rows, lengths]),
        b_ub=limits,
        A_eq=np.r_[np.ones(n), 0.0][None, :],
        b_eq=[1.0],
        bounds=[(0, None)] * (n + 1),
        method="highs-ds",
    )
    solved(answer)
    return np.asarray(answer.x[:n])
