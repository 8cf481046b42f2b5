"""How the values of the present list spread, as entropy and CRITIC shares: descriptions, never importance.

One odd alloy changes them; nothing here may feed a weight (a test sees to it that no module of weights imports this).
"""

from dataclasses import dataclass

import numpy as np

from selector.errors import Fault, InputError
from selector.scoring.admissible import Vector
from selector.scoring.ranking import Matrix

WARNING = "describes how this list spreads, and changes with the list; it says nothing about importance"


@dataclass(frozen=True, eq=False)
class Description:
    """Shares of spread, (n,), NaN where a criterion has none to describe, with the warning that goes with them."""

    method: str
    shares: Vector
    note: str = WARNING


def _table(values: Matrix) -> Matrix:
    v = np.asarray(values, dtype=float)
    if v.ndim != 2 or len(v) < 2 or not np.all(np.isfinite(v)):
        allowed = "a full table of two alternatives or more"
        raise InputError("the list", [Fault("values", "cannot be described", str(v.shape), allowed)])
    return v


def entropy(values: Matrix) -> Description:
    """Return the entropy shares: 1 minus the Shannon entropy of each column's shares, base m, normalised.

    Parameters
    ----------
    values : array (m, n)
        Raw levels; a column with a value of 0 or less has no such entropy and comes back as NaN, the rest share 1.
    """
    v = _table(values)
    usable = (v > 0).all(axis=0)
    p = np.where(usable, v, 1.0)
    p = p / p.sum(axis=0)
    spread = np.where(usable, 1 + (p * np.log(p)).sum(axis=0) / np.log(len(v)), np.nan)
    return Description("entropy", _shares(spread))


def critic(values: Matrix, higher: Vector) -> Description:
    """Return the CRITIC shares: deviation of the min-max scaled column times its sum of (1 - correlation).

    Parameters
    ----------
    values : array (m, n)
        Raw levels; a column without spread comes back as NaN, the rest share 1.
    higher : array (n,) of bool
        Where a higher level is better.
    """
    v = _table(values)
    low, span = v.min(axis=0), np.ptp(v, axis=0)
    usable = np.flatnonzero(span > 0)
    shares = np.full(v.shape[1], np.nan)
    if usable.size:
        scaled = (v[:, usable] - low[usable]) / span[usable]
        scaled = np.where(np.asarray(higher, dtype=bool)[usable], scaled, 1 - scaled)
        conflict = (1 - np.atleast_2d(np.corrcoef(scaled, rowvar=False))).sum(axis=0)
        shares[usable] = scaled.std(axis=0, ddof=1) * conflict
    return Description("CRITIC", _shares(shares))


def _shares(spread: Vector) -> Vector:
    total = np.nansum(spread)
    return np.asarray(spread / total if total > 0 else np.full(spread.shape, np.nan))
