"""Brings levels, values and weights together: the scores of a list of alloys, with what each criterion adds."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selector.brief import Brief, Preference
from selector.scoring import order_only
from selector.scoring.criteria import CRITERIA, Level
from selector.scoring.presets import Weighing
from selector.scoring.ranking import Matrix, Scores, normalised, scored
from selector.scoring.values import FULL, clipped, worth, worth_bounds
from selector.screening import Screened


@dataclass(frozen=True)
class Weighed:
    """Alloys by criteria.

    Parameters
    ----------
    preferences : tuple of Preference
        Those with swing points, in fixed order.
    weights : array (n,)
        Sum to 1.
    levels : tuple of tuple of Level
        One row an alloy, one entry a criterion.
    central, low, high : array (m, n)
        Worths, 0 to 100; NaN in `central` and 0 to 100 in the bounds where nothing is known.
    scores : Scores
    clipped : array (m, n) of bool
        Where a level lies beyond the anchors.
    """

    preferences: tuple[Preference, ...]
    weights: Matrix
    levels: tuple[tuple[Level, ...], ...]
    central: Matrix
    low: Matrix
    high: Matrix
    scores: Scores
    clipped: np.ndarray


def weigh(brief: Brief, screened: Sequence[Screened], how: Weighing) -> Weighed:
    """Return the scores of alloys under anchors and weights; an alloy's row does not depend on the other rows."""
    chosen = tuple(entry for entry in how.preferences if entry.swing > 0)
    # The registry's order, not the file's, so that the sum is accumulated in one fixed order.
    chosen = tuple(sorted(chosen, key=lambda entry: list(CRITERIA).index(entry.criterion)))
    weights = normalised([entry.swing for entry in chosen])
    levels = tuple(tuple(CRITERIA[entry.criterion].level(brief, row) for entry in chosen) for row in screened)
    shape = (len(levels), len(chosen))
    central, low, high = np.full(shape, np.nan), np.zeros(shape), np.full(shape, FULL)
    beyond = np.zeros(shape, dtype=bool)
    for i, row in enumerate(levels):
        for j, (level, entry) in enumerate(zip(row, chosen, strict=True)):
            if level.low is not None and level.high is not None:
                bounds = order_only.bounds if entry.order_only else worth_bounds
                low[i, j], high[i, j] = bounds(level.low, level.high, entry.points)
            if level.value is not None and entry.order_only:
                # Only the worst and the best level are placed; any other has bounds and no worth.
                central[i, j] = low[i, j] if low[i, j] == high[i, j] else np.nan
            elif level.value is not None:
                central[i, j] = worth(level.value, entry.points)
                beyond[i, j] = clipped(level.value, entry.points)
    return Weighed(chosen, weights, levels, central, low, high, scored(central, low, high, weights), beyond)
