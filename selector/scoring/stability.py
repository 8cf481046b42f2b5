"""How far one weight may move, the others keeping their ratios, before another alternative leads. Closed form.

With weight j at t and the others scaled by (1 - t) / (1 - w_j), the leader's lead over rival k is
    t a + (1 - t) b,   a = v_lj - v_kj,   b = (lead_k - w_j a) / (1 - w_j),
which is linear in t. Each rival keeps a half-line of t; their intersection with [0, 1] is the interval. O(m n).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError
from selector.scoring.ranking import TIE, Matrix, accumulated

NOBODY = -1


@dataclass(frozen=True, eq=False)
class Stability:
    """For each of n criteria, the weights at which the leader still leads or ties.

    Parameters
    ----------
    lower, upper : array (n,)
        Within 0 and 1. NaN where no weight keeps the leader first, and where a criterion carries all the weight, so
        that the others have no ratios to keep.
    below, above : array (n,) of int
        Who takes over beyond the lower and the upper end; -1 where the end is 0 or 1 and nobody does.
    """

    lower: Matrix
    upper: Matrix
    below: NDArray[np.int64]
    above: NDArray[np.int64]


def checked(worths: Matrix, weights: Sequence[float] | Matrix, leader: int) -> tuple[Matrix, Matrix]:
    """Return worths (m, n) and weights (n,) as arrays, refusing what has no exact answer.

    Raises
    ------
    InputError
        A gap (hand over lower bounds instead), weights that do not sum to 1, a leader who is not on the list; all at
        once.
    """
    v, w = np.asarray(worths, dtype=float), np.asarray(weights, dtype=float)
    faults = []
    if v.ndim != 2 or not np.all(np.isfinite(v)):
        remedy = "where a value is missing, compare lower bounds"
        faults.append(Fault("worths", "are not a full table of numbers", str(v.shape), remedy=remedy))
    if w.shape != v.shape[-1:] or not np.all(np.isfinite(w)) or np.any(w < 0) or abs(w.sum() - 1) > TIE:
        faults.append(Fault("weights", "cannot be used", str(w.tolist()), "one a criterion, at least 0, sum 1"))
    if not 0 <= leader < len(v):
        faults.append(Fault("leader", "is not on the list", str(leader), f"0 to {len(v) - 1}"))
    if faults:
        raise InputError("the comparison", faults)
    return v, w


def stability(
    worths: Matrix, weights: Sequence[float] | Matrix, leader: int, rivals: Matrix | None = None
) -> Stability:
    """Return the interval of each weight in which the leader stays first, and who takes over beyond it.

    Parameters
    ----------
    worths : array (m, n)
        0 to 100, no gaps.
    weights : array (n,)
        Sum to 1.
    leader : int
        Row of the alternative that is to stay first.
    rivals : array (m, n), optional
        What the others are judged by where it differs: their upper bounds against the leader's lower ones give the
        interval that holds whatever the data turn out to be. `worths` where left out.

    Raises
    ------
    InputError
        As `checked`.

    Notes
    -----
    Validity: one weight at a time; `dethroning` looks at all of them at once.
    """
    v, w = checked(worths, weights, leader)
    theirs = v if rivals is None else checked(rivals, w, leader)[0]
    n = v.shape[1]
    lower, upper = np.zeros(n), np.ones(n)
    below, above = np.full(n, NOBODY), np.full(n, NOBODY)
    ahead = float(accumulated(v[leader : leader + 1], w)[0]) - accumulated(theirs, w)
    ahead[leader] = np.inf
    leads = bool(ahead.min() >= -TIE)
    for j in range(n):
        rest = 1.0 - w[j]
        if rest <= 0:
            lower[j] = upper[j] = np.nan
            continue
        a = v[leader, j] - theirs[:, j]
        b = (ahead - w[j] * a) / rest
        a[leader] = b[leader] = 0.0
        slope = a - b  # the lead is b + slope t
        with np.errstate(divide="ignore", invalid="ignore"):
            cross = -b / slope
        rising = np.where(slope > 0, cross, -np.inf)
        falling = np.where(slope < 0, cross, np.inf)
        lost = (slope == 0) & (b < -TIE)
        k, i = int(np.argmax(rising)), int(np.argmin(falling))
        if rising[k] > 0:
            lower[j], below[j] = rising[k], k
        if falling[i] < 1:
            upper[j], above[j] = falling[i], i
        if leads:  # a tie now, rounded the wrong way, must not shut the present weight out
            lower[j], upper[j] = min(lower[j], w[j]), max(upper[j], w[j])
        elif lower[j] > upper[j] or lost.any():
            lower[j] = upper[j] = np.nan
            below[j] = above[j] = NOBODY
    return Stability(lower, upper, below, above)
