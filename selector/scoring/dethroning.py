"""The smallest change that costs the leader its place: of the weights, of one value, or of one anchor (`anchor_moves`).

Each change is given at the point where a rival draws level; anything beyond it puts the rival ahead.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from selector.errors import Fault, InputError
from selector.scoring.admissible import Admissible
from selector.scoring.ranking import TIE, Matrix, accumulated
from selector.scoring.stability import checked
from selector.scoring.support import greatest, solved
from selector.scoring.values import FULL, Points, levels_worth

Norm = Literal["total", "largest"]


@dataclass(frozen=True, eq=False)
class WeightChange:
    """The nearest admissible weights under which a rival draws level with the leader.

    Parameters
    ----------
    rival : int
    size : float
        Half the sum of all changes ("total": the weight that changes hands) or the largest single change ("largest").
    weights : array (n,)
    """

    rival: int
    size: float
    weights: Matrix


@dataclass(frozen=True)
class ValueChange:
    """One value that, changed alone, makes a rival draw level.

    Parameters
    ----------
    alternative : int
        Whose value changes: the leader's falls, or a rival's rises.
    criterion : int
    rival : int
        Who draws level with the leader.
    worth_from, worth_to : float
        0 to 100.
    """

    alternative: int
    criterion: int
    rival: int
    worth_from: float
    worth_to: float

    @property
    def size(self) -> float:
        """Return how far the worth moves, points of 100: the measure by which changes of different units compare."""
        return abs(self.worth_to - self.worth_from)


def _of_leader(v: Matrix, w: Matrix, leader: int) -> Matrix:
    """Return the leads over the others, refusing a leader who does not lead."""
    ahead = float(accumulated(v[leader : leader + 1], w)[0]) - accumulated(v, w)
    if ahead.min() < -TIE:
        fault = Fault("leader", "does not lead", str(leader), f"alternative {int(np.argmin(ahead))} scores higher")
        raise InputError("the comparison", [fault])
    return ahead


def weight_changes(
    worths: Matrix, weights: Sequence[float] | Matrix, leader: int, region: Admissible, norm: Norm = "total"
) -> tuple[WeightChange, ...]:
    """Return, for every rival that admissible weights can bring level, the nearest such weights; smallest first.

    Parameters
    ----------
    worths : array (m, n)
    weights : array (n,)
        Sum to 1; from where the change is counted.
    leader : int
    region : Admissible
        Where the new weights may lie.
    norm : {"total", "largest"}
        What is made small: the weight that changes hands, or the largest change of one weight.

    Notes
    -----
    For rival k with d = v_k - v_leader: minimise |w' - w| subject to d . w' >= 0 and w' in the region. A linear program
    in w' and the sizes of the changes; rivals for which max d . w' < 0 over the region are left out beforehand.
    """
    v, w = checked(worths, weights, leader)
    _of_leader(v, w, leader)
    gaps = v - v[leader]
    reach = greatest(region, gaps).value
    found = [_nearest(gaps[k], w, region, norm, int(k)) for k in range(len(v)) if k != leader and reach[k] >= -TIE]
    return tuple(sorted(found, key=lambda change: (change.size, change.rival)))


def nearest_change(
    worths: Matrix, weights: Sequence[float] | Matrix, leader: int, region: Admissible
) -> WeightChange | None:
    """Return the first of `weight_changes` by the weight that changes hands, with few of its linear programs.

    Parameters
    ----------
    worths : array (m, n)
    weights : array (n,)
    leader : int
    region : Admissible

    Notes
    -----
    Weight s that changes hands moves d . w by at most s (max d - min d), so a rival needs at least its distance over
    that spread. Rivals are asked by this bound, and none whose bound is beyond the nearest found.
    """
    v, w = checked(worths, weights, leader)
    ahead = _of_leader(v, w, leader)
    gaps = v - v[leader]
    reach = greatest(region, gaps).value
    spread = np.ptp(gaps, axis=1)
    least = np.where(spread > 0, np.maximum(ahead, 0.0) / np.where(spread > 0, spread, 1.0), 0.0)
    best: WeightChange | None = None
    for k in np.argsort(least, kind="stable"):
        if best is not None and least[k] > best.size + TIE:
            break
        if k != leader and reach[k] >= -TIE:
            found = _nearest(gaps[k], w, region, "total", int(k))
            if best is None or (found.size, found.rival) < (best.size, best.rival):
                best = found
    return best


def _nearest(d: Matrix, w: Matrix, region: Admissible, norm: Norm, rival: int) -> WeightChange:
    from scipy.optimize import linprog

    n = w.size
    sizes = n if norm == "total" else 1
    spread = np.eye(n) if norm == "total" else np.ones((n, 1))
    rows = [
        np.hstack([np.eye(n), -spread]),  # w' - size <= w
        np.hstack([-np.eye(n), -spread]),  # -w' - size <= -w
        np.r_[-d, np.zeros(sizes)][None, :],
    ]
    limits = [w, -w, np.zeros(1)]
    if region.b_ub.size:
        rows.append(np.hstack([region.a_ub, np.zeros((region.b_ub.size, sizes))]))
        limits.append(region.b_ub)
    answer = linprog(
        np.r_[np.zeros(n), np.full(sizes, 0.5 if norm == "total" else 1.0)],
        A_ub=np.vstack(rows),
        b_ub=np.concatenate(limits),
        A_eq=np.r_[np.ones(n), np.zeros(sizes)][None, :],
        b_eq=[1.0],
        bounds=np.vstack([region.bounds, np.tile([0.0, 1.0], (sizes, 1))]),
        method="highs-ds",
    )
    solved(answer)
    # The solver may leave a weight a rounding below 0, which would be printed with a minus.
    return WeightChange(rival, max(0.0, float(answer.fun)), np.clip(answer.x[:n], 0.0, 1.0) + 0.0)


def value_changes(worths: Matrix, weights: Sequence[float] | Matrix, leader: int) -> tuple[ValueChange, ...]:
    """Return every single worth whose change alone makes a rival draw level, smallest change first.

    Parameters
    ----------
    worths : array (m, n)
        0 to 100.
    weights : array (n,)
        Sum to 1.
    leader : int

    Returns
    -------
    tuple of ValueChange
        The leader's fall to the nearest rival, and each rival's rise, where 0 to 100 leaves room for it.

    Notes
    -----
    A lead of L points is used up by a change of L / w_j in the worth on criterion j.
    """
    v, w = checked(worths, weights, leader)
    ahead = _of_leader(v, w, leader)
    ahead[leader] = np.inf
    nearest = int(np.argmin(ahead))
    found = []
    for j in np.flatnonzero(w > 0):
        if len(v) > 1:
            down = v[leader, j] - ahead[nearest] / w[j]
            if down >= 0:
                found.append(ValueChange(leader, int(j), nearest, float(v[leader, j]), float(down)))
        for k in range(len(v)):
            up = v[k, j] + ahead[k] / w[j]
            if k != leader and up <= FULL:
                found.append(ValueChange(k, int(j), k, float(v[k, j]), float(up)))
    return tuple(sorted(found, key=lambda change: (change.size, change.criterion, change.alternative)))


def level_for(change: ValueChange, level: float | None, points: Points) -> float | None:
    """Return the level, in the criterion's unit, at which a changed worth is reached, nearest to the present level.

    Parameters
    ----------
    change : ValueChange
    level : float or None
        The present level; None where it is not known, and then the lowest level is given.
    points : sequence of (level, worth)
        The criterion's value curve.
    """
    levels = levels_worth(change.worth_to, points)
    if not levels:
        return None
    return min(levels, key=lambda entry: abs(entry - (entry if level is None else level)))
