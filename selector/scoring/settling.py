"""Which single measurement would narrow the place of an alternative most, by computation, under fixed weights.

A measured worth x takes the place of its interval [l, u]. The score interval of that alternative then becomes
[L - w l + w x, U - w u + w x], and with it every place that depends on it. As functions of x the places are steps; all
the steps are found, so the least, the greatest and the mean width over [l, u] are exact. The mean takes every worth in
the interval for equally likely, which is a convention and not a finding. One figure at a time, and one criterion a
figure: a liquidus that serves two criteria counts here once for each.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selector.errors import Fault, InputError
from selector.scoring.comparisons import bounds_checked
from selector.scoring.ranking import TIE, Matrix, Scores, accumulated, rank_bounds
from selector.scoring.stability import checked


@dataclass(frozen=True)
class Settling:
    """What measuring one figure would do to the places of the subjects.

    Parameters
    ----------
    alternative, criterion : int
        The figure to measure.
    points : float
        Points of 100 that its interval leaves open now.
    width_now : int
        Places open now, worst minus best, summed over the subjects.
    width_least, width_most : int
        The same after the measurement, at its luckiest and unluckiest outcome.
    width_mean : float
        Over all outcomes, each worth equally likely.
    settles : float
        Share of outcomes after which every subject has one place only.
    """

    alternative: int
    criterion: int
    points: float
    width_now: int
    width_least: int
    width_most: int
    width_mean: float
    settles: float


def measurements(
    low: Matrix, high: Matrix, weights: Sequence[float] | Matrix, subjects: Sequence[int]
) -> tuple[Settling, ...]:
    """Return every figure that is open, the one that narrows the subjects' places most first.

    Parameters
    ----------
    low, high : array (m, n)
        Bounds of the worths, 0 to 100.
    weights : array (n,)
        Sum to 1.
    subjects : sequence of int
        The alternatives whose places matter, such as the leader.

    Returns
    -------
    tuple of Settling
        By mean width after it, then by the luckiest outcome, then by the points it leaves open now.

    Raises
    ------
    InputError
        Bounds, weights or subjects that cannot be used.
    """
    low, high = bounds_checked(low, high)
    _, w = checked(low, weights, 0)
    about = np.array(sorted(set(subjects)), dtype=np.intp)
    if about.size == 0 or about[0] < 0 or about[-1] >= len(low):
        raise InputError("the comparison", [Fault("subjects", "are not on the list", str(list(subjects)))])
    bottom, top = accumulated(low, w), accumulated(high, w)
    best, worst = rank_bounds(Scores(bottom, bottom, top))
    now = worst - best
    found = []
    for i, j in np.argwhere((high > low) & (w > 0)):
        gap = float(w[j] * (high[i, j] - low[i, j]))
        # The measured alternative's bounds slide together from (bottom, top - gap) to (bottom + gap, top).
        slides, shares = _stretches(bottom, top, int(i), gap)
        widths = np.stack([_width(bottom, top, int(i), gap, slides, int(k)) for k in about])
        total = widths.sum(axis=0)
        found.append(
            Settling(
                int(i),
                int(j),
                gap,
                int(now[about].sum()),
                int(total.min()),
                int(total.max()),
                float(total @ shares),
                float(shares[total == 0].sum()),
            )
        )
    return tuple(sorted(found, key=lambda s: (s.width_mean, s.width_least, -s.points, s.alternative, s.criterion)))


def _stretches(bottom: Matrix, top: Matrix, i: int, gap: float) -> tuple[Matrix, Matrix]:
    """Return one slide inside each stretch of outcomes without a step, and the share of outcomes that it stands for.

    Outcomes exactly on a step have no share; the least and greatest width are those met on a whole stretch.
    """
    others = np.delete(np.arange(len(bottom)), i)
    steps = np.concatenate([top[others] - bottom[i], bottom[others] - (top[i] - gap)])
    cuts = np.unique(np.concatenate([[0.0, gap], steps[(steps > TIE) & (steps < gap - TIE)]]))
    return (cuts[:-1] + cuts[1:]) / 2, np.diff(cuts) / gap


def _width(bottom: Matrix, top: Matrix, i: int, gap: float, slides: Matrix, k: int) -> Matrix:
    """Return worst minus best place of alternative k for each slide of alternative i."""
    low_i, high_i = bottom[i] + slides, top[i] - gap + slides
    others = np.delete(np.arange(len(bottom)), [i, k] if i != k else i)
    if i == k:
        best = (bottom[others, None] > high_i + TIE).sum(axis=0)
        worst = (top[others, None] > low_i + TIE).sum(axis=0)
        return np.asarray(worst - best)
    fixed = int((top[others] > bottom[k] + TIE).sum() - (bottom[others] > top[k] + TIE).sum())
    return np.asarray(fixed + (high_i > bottom[k] + TIE).astype(int) - (low_i > top[k] + TIE).astype(int))
