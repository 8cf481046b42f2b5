"""Whether any admissible weights put an alternative first, and by how much: a linear program for each.

For alternative i, over weights w of the region and a lead e:
    maximise e   subject to   w . (v_i - v_k) >= e   for every rival k.
A positive lead means that it can be the only first, zero that it can at most share the place, a negative one that it
cannot, and how far it is from it. Rivals that another rival beats under all admissible weights never bind and are left
out; on long lists the others come in only when the weights found so far let them through (cutting planes), which ends
at the same optimum.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError
from selector.scoring.admissible import Admissible
from selector.scoring.ranking import Matrix
from selector.scoring.support import greatest, solved

EXACT = 1e-7  # points of 100; the solver's own tolerance
SHORT_LIST = 150  # up to here every pair of rivals is compared beforehand
FIRST_RIVALS = 24
MORE_RIVALS = 12


@dataclass(frozen=True, eq=False)
class Optimality:
    """What the best admissible weights do for each of p alternatives.

    Parameters
    ----------
    rows : array (p,) of int
        The alternatives that were asked about.
    lead : array (p,)
        Greatest lead over the best rival, in points; infinite where there is no rival.
    weights : array (p, n)
        Weights that give it.
    rival : array (p,) of int
        Who then comes nearest; -1 where there is no rival.
    """

    rows: NDArray[np.int64]
    lead: Matrix
    weights: Matrix
    rival: NDArray[np.int64]

    @property
    def can_lead(self) -> NDArray[np.bool_]:
        """Return which can be first, alone or tied, to the solver's tolerance."""
        return np.asarray(self.lead >= -EXACT)


def optimality(
    worths: Matrix, region: Admissible, rivals: Matrix | None = None, rows: NDArray[np.int64] | None = None
) -> Optimality:
    """Return the greatest lead that admissible weights can give each alternative.

    Parameters
    ----------
    worths : array (m, n)
        What an alternative is judged by when it is asked about.
    region : Admissible
    rivals : array (m, n), optional
        What it is judged by as a rival; `worths` where left out. Upper bounds in `worths` and lower bounds here ask
        whether it may be first for some data; the other way round, whether it can be first for all data.
    rows : array of int, optional
        Which alternatives to ask about; all where left out.

    Raises
    ------
    InputError
        Tables that are not full, or no admissible weights.
    """
    own = np.asarray(worths, dtype=float)
    theirs = own if rivals is None else np.asarray(rivals, dtype=float)
    if own.ndim != 2 or own.shape != theirs.shape or own.shape[1] != region.size or len(own) == 0:
        allowed = f"two tables with {region.size} columns and the same rows"
        raise InputError("the comparison", [Fault("worths", "do not fit", f"{own.shape}, {theirs.shape}", allowed)])
    if not (np.all(np.isfinite(own)) and np.all(np.isfinite(theirs))):
        remedy = "where a value is missing, ask with bounds"
        raise InputError("the comparison", [Fault("worths", "have gaps", remedy=remedy)])
    region.check()
    asked = np.arange(len(own)) if rows is None else np.asarray(rows, dtype=np.int64)
    beaten = _beaten(theirs, region) if len(own) <= SHORT_LIST else None
    lead, nearest = np.full(len(asked), np.inf), np.full(len(asked), -1)
    weights = np.empty((len(asked), region.size))
    middle = greatest(region, np.vstack([np.eye(region.size), -np.eye(region.size)])).weights
    seeds = np.vstack([middle, middle.mean(axis=0)])
    for at, i in enumerate(asked):
        gaps = own[i] - theirs
        if len(own) == 1:
            weights[at] = seeds[-1]
            continue
        if beaten is not None:
            count = beaten.sum(axis=0) - beaten[i]  # who is beaten only by the one asked about still counts
            candidates = np.flatnonzero((count == 0) & (np.arange(len(own)) != i))
            w = _program(gaps[candidates], region)[0]
        else:
            w = _with_rivals_as_needed(gaps, int(i), region, seeds)
        slack = gaps @ w
        slack[i] = np.inf
        nearest[at] = int(np.argmin(slack))
        lead[at], weights[at] = slack[nearest[at]], w
    return Optimality(asked, lead, weights, nearest)


def _beaten(worths: Matrix, region: Admissible) -> NDArray[np.bool_]:
    """Return [k, l]: rival k is at least as good as l under all admissible weights (of equals, the earlier one)."""
    if region.order is None and region.b_ub.size:
        at_least = (worths[:, None, :] >= worths[None, :, :]).all(axis=2)  # enough, and needs no program
    else:
        m, n = worths.shape
        worst = greatest(region, (worths[None, :, :] - worths[:, None, :]).reshape(m * m, n)).value.reshape(m, m)
        at_least = worst <= 0
    earlier = np.arange(len(worths))[:, None] < np.arange(len(worths))[None, :]
    return np.asarray(at_least & (~at_least.T | earlier))


def _program(gaps: Matrix, region: Admissible) -> tuple[Matrix, float]:
    """Return weights and lead that maximise the least of `gaps @ w`."""
    from scipy.optimize import linprog

    n = region.size
    rows = np.column_stack([-gaps, np.ones(len(gaps))])
    if region.b_ub.size:
        rows = np.vstack([rows, np.column_stack([region.a_ub, np.zeros(region.b_ub.size)])])
    limits = np.concatenate([np.zeros(len(gaps)), region.b_ub])
    answer = linprog(
        np.r_[np.zeros(n), -1.0],
        A_ub=rows,
        b_ub=limits,
        A_eq=np.r_[np.ones(n), 0.0][None, :],
        b_eq=[1.0],
        bounds=np.vstack([region.bounds, [-np.inf, np.inf]]),
        method="highs-ds",
    )
    solved(answer)
    return np.asarray(answer.x[:n]), float(answer.x[n])


def _with_rivals_as_needed(gaps: Matrix, i: int, region: Admissible, seeds: Matrix) -> Matrix:
    """Return the same with rivals added only when they are violated: each round's lead is an upper bound."""
    gaps = gaps.copy()
    gaps[i] = np.inf
    used = {int(k) for k in np.argmin(seeds @ np.where(np.isfinite(gaps), gaps, 1e9).T, axis=1)}
    order = np.argsort(np.where(np.isfinite(gaps), gaps, 1e9) @ seeds[-1])[:FIRST_RIVALS]
    used |= {int(k) for k in order if k != i}
    while True:
        w, e = _program(gaps[sorted(used)], region)
        slack = np.where(np.isfinite(gaps), gaps, 1e9) @ w
        slack[i] = np.inf
        missed = [int(k) for k in np.argsort(slack)[:MORE_RIVALS] if slack[k] < e - EXACT and int(k) not in used]
        if not missed:
            return w
        used |= set(missed)
