"""One weight vector to stand for a region: a convention, where people gave bounds and no single answer.

A ranking has its centroid. Bounds alone: every weight the same part of the way from its lower to its upper bound.
Anything else: the centre of the largest ball in the simplex that the statements leave, which keeps equally far from
every statement; where a ratio is exact, of the largest that fits beside it. None of these is an estimate of what
somebody meant.
"""

import numpy as np

from selector.scoring.admissible import Admissible, Vector
from selector.scoring.hit_and_run import middle_of
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
    one = np.eye(region.size)
    rows = np.vstack([region.a_ub, -one, one])
    return middle_of(rows, np.concatenate([region.b_ub, -region.lower, region.upper]), region.size)[0]
