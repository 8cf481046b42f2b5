"""Worths of a criterion whose levels are ordered and not placed: worst 0, best 100, and nothing else is known.

A level in between may be worth anything from 0 to 100, as long as a better level is worth no less. A single alloy then
has wide bounds, but a pair has narrow ones: the better level never loses to the worse, and equal levels cancel.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selector.errors import Fault, InputError
from selector.scoring.ranking import Matrix
from selector.scoring.values import FULL, Points, direction


def ends(points: Points) -> tuple[float, float]:
    """Return the worst and best level of a criterion by order only: the highest level worth 0, the lowest worth 100.

    Raises
    ------
    InputError
        A curve with a peak: it orders nothing.
    """
    way = direction(points)
    if way == "peak":
        fault = Fault("points", "have a peak", str(points), "rising or falling worths where only the order counts")
        raise InputError("the preferences", [fault])
    zero, full = ([level for level, worth in points if worth == end] for end in (0, FULL))
    return (max(zero), min(full)) if way == "higher" else (min(zero), max(full))


def bounds(low: float, high: float, points: Points) -> tuple[float, float]:
    """Return the least and greatest worth of a level known to lie in [low, high].

    100 for certain at or beyond the best level, 0 for certain at or beyond the worst, and 0 to 100 in between.
    """
    worst, best = ends(points)
    sign = 1.0 if best > worst else -1.0
    poor, good = sorted((sign * low, sign * high))
    return (FULL if poor >= sign * best else 0.0), (0.0 if good <= sign * worst else FULL)


@dataclass(frozen=True, eq=False)
class Gaps:
    """The least and greatest difference of worth, row minus column, each (m, m)."""

    low: Matrix
    high: Matrix


def gaps(levels: Sequence[tuple[float, float] | None], points: Points) -> Gaps:
    """Return what the order alone says of the difference of worth between every two alternatives.

    Parameters
    ----------
    levels : sequence of m pairs (low, high), or None
        Intervals of the level; None: not known.
    points : sequence of (level, worth)

    Notes
    -----
    Row a, column b. Where a is at least as good as b for certain the difference is not negative; where it is at least
    as bad, not positive; both, for equal known levels, 0; best against worst, 100. Each bound is reached by some
    placing of the levels, so comparisons of pairs built on them are exact.
    """
    worst, best = ends(points)
    sign = 1.0 if best > worst else -1.0
    count = len(levels)
    low, high = np.full((count, count), -FULL), np.full((count, count), FULL)
    # Beyond the ends all levels are worth the same.
    held = [
        None if span is None else sorted(float(np.clip(sign * end, sign * worst, sign * best)) for end in span)
        for span in levels
    ]
    for a, one in enumerate(held):
        for b, other in enumerate(held):
            if a == b:
                low[a, b] = high[a, b] = 0.0
            elif one is not None and other is not None:
                if one[0] >= other[1]:
                    low[a, b] = FULL if one[0] == sign * best and other[1] == sign * worst else 0.0
                if one[1] <= other[0]:
                    high[a, b] = -FULL if one[1] == sign * worst and other[0] == sign * best else 0.0
            else:
                _one_known(low, high, a, b, one, other, (sign * worst, sign * best))
    return Gaps(low, high)


def _one_known(
    low: Matrix,
    high: Matrix,
    a: int,
    b: int,
    one: list[float] | None,
    other: list[float] | None,
    ends_: tuple[float, float],
) -> None:
    """Fill in the bounds where at most one of two levels is known: the ends alone still say something."""
    worst, best = ends_
    if one is not None:
        low[a, b] = 0.0 if one[0] == best else low[a, b]
        high[a, b] = 0.0 if one[1] == worst else high[a, b]
    if other is not None:
        low[a, b] = 0.0 if other[1] == worst else low[a, b]
        high[a, b] = 0.0 if other[0] == best else high[a, b]
