"""The best and worst place an alternative can take over admissible weights and interval data.

An enclosure needs comparisons of pairs only: nobody can be placed above those who beat it always, nor below more than
those who may beat it. The enclosure need not be reached, because the weights that favour one rival may spoil another;
the exact place counts rivals under one and the same weights, by a mixed-integer program with a yes or no a rival.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError
from selector.scoring.admissible import Admissible
from selector.scoring.comparisons import bounds_checked, margins
from selector.scoring.ranking import TIE, Matrix
from selector.scoring.support import greatest, least, solved

AHEAD = 1e-3  # points; a smaller lead counts as a tie here: a solver's yes is good to 1e-6 of a hundred points


@dataclass(frozen=True, eq=False)
class RankLimits:
    """Best and worst competition rank, each (m,)."""

    best: NDArray[np.int64]
    worst: NDArray[np.int64]


def rank_enclosure(low: Matrix, high: Matrix, region: Admissible) -> RankLimits:
    """Return ranks that no admissible weights and no data in the intervals go beyond; quick, not always reached.

    Parameters
    ----------
    low, high : array (m, n)
        Bounds of the worths.
    region : Admissible
    """
    low, high = bounds_checked(low, high, region.size)
    least_leads = margins(low, high, region)  # [k, i]: k ahead of i at least by so much
    best = 1 + (least_leads > TIE).sum(axis=0)
    # The diagonal is 0 and counts on neither side.
    worst = 1 + (least_leads < -TIE).sum(axis=1)
    return RankLimits(np.asarray(best, dtype=np.int64), np.asarray(worst, dtype=np.int64))


@dataclass(frozen=True, eq=False)
class Place:
    """A place that can be taken, with weights (n,) that give it."""

    rank: int
    weights: Matrix


def best_place(row: int, low: Matrix, high: Matrix, region: Admissible) -> Place:
    """Return the best rank an alternative can take, exactly: it at its upper, the others at their lower bounds."""
    low, high = _checked(row, low, high, region)
    return _place(row, high[row], low, region, best=True)


def worst_place(row: int, low: Matrix, high: Matrix, region: Admissible) -> Place:
    """Return the worst rank an alternative can take, exactly: it at its lower, the others at their upper bounds."""
    low, high = _checked(row, low, high, region)
    return _place(row, low[row], high, region, best=False)


def _checked(row: int, low: Matrix, high: Matrix, region: Admissible) -> tuple[Matrix, Matrix]:
    low, high = bounds_checked(low, high, region.size)
    if not 0 <= row < len(low):
        allowed = f"0 to {len(low) - 1}"
        raise InputError("the comparison", [Fault("alternative", "is not on the list", str(row), allowed)])
    region.check()
    return low, high


def _place(row: int, own: Matrix, rivals: Matrix, region: Admissible, best: bool) -> Place:
    """Return the least or greatest number of rivals ahead by more than `AHEAD`, plus 1.

    With z_k = 1 where rival k is ahead and d_k = v_k - v_i: best, minimise sum z subject to d_k . w <= AHEAD + M_k z_k;
    worst, maximise it subject to d_k . w >= AHEAD - N_k (1 - z_k), with M_k and N_k the least that always suffice.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    n = region.size
    gaps = np.delete(rivals, row, axis=0) - own
    top, bottom = (greatest(region, gaps), least(region, gaps)) if len(gaps) else (None, None)
    if top is None or bottom is None:
        return Place(1, greatest(region, np.zeros((1, n))).weights[0])
    always = bottom.value > AHEAD
    open_ = (top.value > AHEAD) & ~always
    sure, d = int(always.sum()), gaps[open_]
    count = len(d)
    if count == 0:
        return Place(1 + sure, top.weights[0])
    if best:
        rows = np.hstack([d, -np.diag(top.value[open_] - AHEAD)])
        constraint = LinearConstraint(rows, -np.inf, np.full(count, AHEAD))
    else:
        slack = AHEAD - bottom.value[open_]
        rows = np.hstack([d, -np.diag(slack)])
        constraint = LinearConstraint(rows, AHEAD - slack, np.inf)
    stated = [constraint, LinearConstraint(np.r_[np.ones(n), np.zeros(count)][None, :], 1.0, 1.0)]
    if region.b_ub.size:
        padded = np.hstack([region.a_ub, np.zeros((region.b_ub.size, count))])
        stated.append(LinearConstraint(padded, -np.inf, region.b_ub))
    answer = milp(
        np.r_[np.zeros(n), np.full(count, 1.0 if best else -1.0)],
        integrality=np.r_[np.zeros(n), np.ones(count)],
        bounds=Bounds(
            np.r_[region.lower, np.zeros(count)], np.r_[np.maximum(region.lower, region.upper), np.ones(count)]
        ),
        constraints=stated,
    )
    solved(answer)
    return Place(1 + sure + round(float(answer.x[n:].sum())), np.asarray(answer.x[:n]))
