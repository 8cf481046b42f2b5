"""Which alternatives the figures cannot tell apart under fixed weights: pairs, and bands drawn without chaining.

"Cannot be told apart" does not carry over: A may overlap B and B overlap C while A stands clear of C. So a band is a
set in which every two overlap, as large as it can be, and an alternative may stand in several bands.
"""

import numpy as np
from numpy.typing import NDArray

from selector.scoring.ranking import TIE, Matrix


def untold(low: Matrix, high: Matrix) -> NDArray[np.bool_]:
    """Return for each pair whether their score intervals meet.

    Parameters
    ----------
    low, high : array (m,)
        The least and greatest score that the figures allow, independent of each other's.

    Returns
    -------
    array (m, m) of bool
        Symmetric; the diagonal is False.
    """
    meet = np.asarray(low[:, None] <= high[None, :] + TIE)
    meet = meet & meet.T
    np.fill_diagonal(meet, False)
    return meet


def bands(low: Matrix, high: Matrix) -> tuple[tuple[int, ...], ...]:
    """Return the largest sets in which every two score intervals meet, the highest scores first.

    Parameters
    ----------
    low, high : array (m,)

    Returns
    -------
    tuple of tuple of int
        Each rising. One that meets no other is a band of its own.

    Notes
    -----
    Intervals that meet two by two all share a point, and one such point is the highest lower end among them: so each
    lower end names one candidate.
    """
    found = [frozenset(map(int, np.flatnonzero((low <= at + TIE) & (high >= at - TIE)))) for at in np.sort(low)[::-1]]
    largest = [band for band in dict.fromkeys(found) if not any(band < other for other in found)]
    return tuple(tuple(sorted(band)) for band in largest)
