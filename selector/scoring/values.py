"""Piecewise-linear value functions with anchors, on scalars, intervals and gaps. Worth runs from 0 to 100.

Outside the anchors the worth stays that of the nearest anchor: a plateau, which is said where it happens, because
two levels beyond one anchor look alike to the score.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

FULL = 100.0
Points = Sequence[tuple[float, float]]


def worth(level: float, points: Points) -> float:
    """Return the worth, 0 to 100, of a level by linear pieces between the points.

    Parameters
    ----------
    level : float
        In the criterion's unit.
    points : sequence of (level, worth)
        Levels rising.
    """
    levels, worths = zip(*points, strict=True)
    return float(np.interp(level, levels, worths))


def worth_bounds(low: float, high: float, points: Points) -> tuple[float, float]:
    """Return the least and greatest worth that any level in [low, high] has; exact for piecewise-linear curves."""
    inside = [w for level, w in points if low < level < high]
    candidates = [worth(low, points), worth(high, points), *inside]
    return min(candidates), max(candidates)


def clipped(level: float, points: Points) -> bool:
    """Return whether a level lies beyond the anchors, where the curve no longer tells levels apart."""
    return not points[0][0] <= level <= points[-1][0]


def direction(points: Points) -> str:
    """Return "higher", "lower" or "peak": which levels the curve prefers."""
    worths = [w for _, w in points]
    if worths == sorted(worths):
        return "higher"
    return "lower" if worths == sorted(worths, reverse=True) else "peak"


def levels_worth(target: float, points: Points) -> tuple[float, ...]:
    """Return the levels at which a curve takes a worth, rising: one a piece, and both ends of a flat piece.

    Parameters
    ----------
    target : float
        0 to 100.
    points : sequence of (level, worth)
        Levels rising. Beyond the anchors the curve is flat; there only the anchor itself is given.
    """
    found: set[float] = set()
    for (x0, w0), (x1, w1) in pairwise(points):
        if min(w0, w1) <= target <= max(w0, w1):
            found |= {x0, x1} if w0 == w1 else {x0 + (x1 - x0) * (target - w0) / (w1 - w0)}
    return tuple(sorted(found))
