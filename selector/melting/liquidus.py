"""The liquidus of many compositions at once: where the first solid touches the liquid's tangent plane."""

from dataclasses import dataclass

import numpy as np

from selector.melting.gibbs import system
from selector.melting.parameters import T_LOW_K, FloatArray, thermo
from selector.melting.tangent import demixes, largest_force

# Above the melting point of copper nothing of the eight elements is solid.
HOTTEST_K = 1400.0
TOLERANCE_K = 0.005


@dataclass(frozen=True)
class Liquidus:
    """Liquidus temperatures of compositions in one set of elements.

    Parameters
    ----------
    t_k : array (N,), K
        NaN where the liquid does not freeze above 25 degC, or splits in two.
    two_liquids : array (N,), bool
        The liquid falls into two at this temperature: one number would be wrong.
    """

    t_k: FloatArray
    two_liquids: np.ndarray


def liquidus(x: FloatArray, elements: tuple[str, ...]) -> Liquidus:
    """Return the liquidus of compositions.

    Parameters
    ----------
    x : array (elements, N)
        Mole fractions.
    elements : tuple of str
        Within the eight of the tables, in alphabetical order.

    Returns
    -------
    Liquidus
        Converged to 0.005 K.

    Notes
    -----
    Bisection-like search (Chandrupatla's, of scipy) on the largest driving force over all solids, for all alloys at
    once. Source: the common-tangent condition; common practice.
    """
    from scipy.optimize import elementwise

    family = system(elements)

    def force(t_k: FloatArray, column: FloatArray) -> FloatArray:
        own = x[:, column.astype(int)]
        values = thermo().at(t_k)
        mu = family.liquid.potentials(family.liquid_strengths(values), t_k, own)
        return largest_force(values, t_k, mu, elements)

    count = x.shape[1]
    low, high = np.full(count, T_LOW_K + 0.5), np.full(count, HOTTEST_K)
    columns = np.arange(count, dtype=float)
    found = elementwise.find_root(force, (low, high), args=(columns,), tolerances={"xatol": TOLERANCE_K})
    t_k = np.where(found.success, found.x, np.nan)
    split = np.zeros(count, dtype=bool)
    known = np.flatnonzero(np.isfinite(t_k))
    if len(known):
        split[known] = demixes(t_k[known], x[:, known], elements)
    return Liquidus(np.where(split, np.nan, t_k), split)
