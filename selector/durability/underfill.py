"""Strain that underfill leaves in a joint across its height, and what makes an underfill fit; a screen, no life.

strain = ([a_u (1+v) - 2 v a_l]/(1-v) - a_s) dT for polymer held in the plane: a_u expansion of the underfill, v its
Poisson ratio, a_l expansion in the plane that part and board impose, a_s expansion of the solder, ppm/K; dT, K.
Linear elasticity below the glass transition; computed here. What makes a good one: common practice.
"""

from selector.durability.strain import PPM
from selector.durability.validity import Bound, hold


def underfill_strain(
    underfill_ppm_k: float, poisson: float, lateral_ppm_k: float, solder_ppm_k: float, swing_k: float
) -> float:
    """Return the axial strain of a joint in underfill; above 0 the joint is pulled when it warms.

    Parameters
    ----------
    underfill_ppm_k : float
        Below its glass transition.
    poisson : float
        0 to below 0.5.
    lateral_ppm_k, solder_ppm_k : float
    swing_k : float

    Returns
    -------
    float
        Strain, 1.

    Raises
    ------
    InputError
        A figure outside linear elasticity, or expansion that is not in ppm/K.
    """
    hold(
        "the strain under underfill",
        Bound("underfill_ppm_k", underfill_ppm_k, 0, 300, "ppm/K"),
        Bound("poisson", poisson, 0, 0.5, below=True),
        Bound("lateral_ppm_k", lateral_ppm_k, -20, 100, "ppm/K"),
        Bound("solder_ppm_k", solder_ppm_k, 5, 60, "ppm/K"),
        Bound("swing_k", swing_k, 0, 400, "K"),
    )
    imposed = (underfill_ppm_k * (1 + poisson) - 2 * poisson * lateral_ppm_k) / (1 - poisson)
    return (imposed - solder_ppm_k) * PPM * swing_k


def underfill_concerns(
    underfill_ppm_k: float, glass_c: float, hot_end_c: float, solder_ppm_k: float
) -> tuple[str, ...]:
    """Return what speaks against an underfill; empty is no proof of life.

    Parameters
    ----------
    underfill_ppm_k : float
    glass_c : float
        Glass transition.
    hot_end_c : float
        Hottest dwell of the cycle.
    solder_ppm_k : float

    Raises
    ------
    InputError
        A figure that cannot be.
    """
    hold(
        "the choice of an underfill",
        Bound("underfill_ppm_k", underfill_ppm_k, 0, 300, "ppm/K"),
        Bound("glass_c", glass_c, -150, 300, "degC"),
        Bound("hot_end_c", hot_end_c, -150, 300, "degC"),
        Bound("solder_ppm_k", solder_ppm_k, 5, 60, "ppm/K"),
    )
    concerns = []
    if glass_c <= hot_end_c:
        concerns.append(
            f"its glass transition, {glass_c:g} degC, lies inside the cycle (hot end {hot_end_c:g} degC): expansion"
            " triples there and can shorten life"
        )
    if abs(underfill_ppm_k - solder_ppm_k) > 10:
        concerns.append(
            f"its expansion, {underfill_ppm_k:g} ppm/K, is far from the solder's {solder_ppm_k:g}; 20 to 30 is usual"
        )
    return tuple(concerns)
