"""What holds between two alternatives whatever the data turn out to be and whichever admissible weights are meant.

Data lie independently in their intervals, so alternative i is at its weakest against k where i stands at its lower and
k at its upper bounds, in every criterion at once. Better for all data and weights: the least of w . (low_i - high_k)
over the region is not negative. Possibly better: the greatest of w . (high_i - low_k) is positive. Dominance needs no
weights.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError
from selector.scoring.admissible import Admissible
from selector.scoring.order_only import Gaps
from selector.scoring.ranking import TIE, Matrix
from selector.scoring.support import greatest, least

Relation = NDArray[np.bool_]
NONE: Mapping[int, Gaps] = MappingProxyType({})


@dataclass(frozen=True, eq=False)
class Relations:
    """Two relations between m alternatives, rows over columns; the diagonal is False.

    Parameters
    ----------
    necessary : array (m, m) of bool
        Row beats column whatever the data.
    possible : array (m, m) of bool
        Row beats column for some data.
    """

    necessary: Relation
    possible: Relation


def bounds_checked(low: Matrix, high: Matrix, criteria: int | None = None) -> tuple[Matrix, Matrix]:
    """Return bounds of worths, each (m, n), as arrays, refusing gaps and crossed bounds.

    Raises
    ------
    InputError
        A gap stands for anything from 0 to 100 and must be written so.
    """
    a, b = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    shape = f"{a.shape} and {b.shape}"
    fits = a.ndim == 2 and a.shape == b.shape and criteria in (None, a.shape[-1])
    if not fits:
        raise InputError("the comparison", [Fault("bounds of worths", "do not fit", shape, "two tables (m, n)")])
    bad = np.argwhere(~(np.isfinite(a) & np.isfinite(b) & (a <= b)))
    faults = [
        Fault(f"alternative {i + 1}, criterion {j + 1}", "has no usable bounds", f"{a[i, j]:g} to {b[i, j]:g}")
        for i, j in bad
    ]
    if faults:
        raise InputError("the comparison", faults)
    return a, b


def dominance(low: Matrix, high: Matrix) -> Relations:
    """Return who dominates whom: at least as good on every criterion and better on one, without weights.

    Parameters
    ----------
    low, high : array (m, n)
        Bounds of the worths; equal where a value is exact.

    Returns
    -------
    Relations
        Necessary: for all data in the intervals; possible: for some.
    """
    low, high = bounds_checked(low, high)
    sure = np.asarray((low[:, None, :] >= high[None, :, :]).all(axis=2))
    # "Better on one for all data": with row at its lowest and column at its highest, one entry must stay ahead.
    sure = sure & (low[:, None, :] > high[None, :, :]).any(axis=2)
    may = np.asarray((high[:, None, :] >= low[None, :, :]).all(axis=2))
    may = may & (high[:, None, :] > low[None, :, :]).any(axis=2)
    return Relations(_off_diagonal(sure), _off_diagonal(may))


def _off_diagonal(relation: Relation) -> Relation:
    return np.asarray(relation & ~np.eye(len(relation), dtype=bool))


ByOrder = Mapping[int, Gaps]


def margins(own: Matrix, rivals: Matrix, region: Admissible, by_order: ByOrder = NONE) -> Matrix:
    """Return the least lead w . (own_i - rivals_k) over the region, points, shape (m, m); the diagonal is 0.

    Parameters
    ----------
    own, rivals : array (m, n)
        Low and high bounds for "whatever the data"; the same table for exact data.
    region : Admissible
    by_order : mapping of column to Gaps
        For criteria whose levels are ordered only: the pair's own bounds in place of the difference of bounds.
    """
    gaps = own[:, None, :] - rivals[None, :, :]
    for column, found_gaps in by_order.items():
        gaps[:, :, column] = found_gaps.low
    m, _, n = gaps.shape
    found = least(region, gaps.reshape(m * m, n)).value.reshape(m, m)
    np.fill_diagonal(found, 0.0)
    return np.asarray(found)


def better_for_all(low: Matrix, high: Matrix, region: Admissible, by_order: ByOrder = NONE) -> Relations:
    """Return who beats whom for all admissible weights, and for some.

    Parameters
    ----------
    low, high : array (m, n)
        Bounds of the worths; the same table twice for exact data.
    region : Admissible
    by_order : mapping of column to Gaps

    Returns
    -------
    Relations
        Necessary: at least as high a score under all weights and data, and not always the same. Possible: a higher
        score under some weights and data.
    """
    low, high = bounds_checked(low, high, region.size)
    worst = margins(low, high, region, by_order)
    may = worst.T < -TIE  # k is not always at least as good as i
    return Relations(_off_diagonal((worst >= -TIE) & may), _off_diagonal(may))


@dataclass(frozen=True, eq=False)
class ScoreBounds:
    """The least and greatest score, points, shape (m,), and the weights (m, n) that give them."""

    low: Matrix
    high: Matrix
    low_weights: Matrix
    high_weights: Matrix


def score_bounds(low: Matrix, high: Matrix, region: Admissible) -> ScoreBounds:
    """Return exact bounds of each score over interval data and all admissible weights.

    Parameters
    ----------
    low, high : array (m, n)
    region : Admissible
        `admissible.fixed(weights)` for weights that are agreed.
    """
    low, high = bounds_checked(low, high, region.size)
    down, up = least(region, low), greatest(region, high)
    return ScoreBounds(down.value, up.value, down.weights, up.weights)
