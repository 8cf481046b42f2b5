"""Piecewise-linear value functions with anchors, on scalars, intervals and gaps. Worth runs from 0 to 100.

Outside the anchors the worth stays that of the nearest anchor: a plateau, which is said where it happens, because
two levels beyond one anchor look alike to the score.
"""

from collections.abc import Sequence

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
