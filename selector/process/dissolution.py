"""Copper that goes into solder: the time until a barrel is too thin, and the rise of copper in a bath.

`t = (t0 - t_keep) / rate`; `C = C_s (1 - exp(-k A t / V))` (Nernst-Brunner). Validity: a rate measured at that alloy,
temperature and flow, which all matter strongly; one rework may take over half of a barrel's copper (published).
Keep limit 12.7 um from memory.
"""

import numpy as np

from selector.constants import constant
from selector.ranges import Numbers, refuse_outside, wrong_if


def time_to_limit_s(barrel_copper_um: Numbers, rate_um_s: Numbers, kept_copper_um: Numbers | None = None) -> Numbers:
    """Return how long a barrel may stay in solder, s.

    Parameters
    ----------
    barrel_copper_um : float or array, um
        Plated thickness.
    rate_um_s : float or array, um/s
        Measured.
    kept_copper_um : float or array, um, optional
        What must stay; 12.7 from memory where left out.

    Raises
    ------
    InputError
        Outside the range; a barrel that is thinner than what must stay.
    """
    kept = constant("copper kept").value if kept_copper_um is None else kept_copper_um
    thin = wrong_if(
        np.asarray(barrel_copper_um) < np.asarray(kept),
        "barrel_copper_um",
        "is thinner than what must stay",
        barrel_copper_um,
        "at least kept_copper_um",
    )
    refuse_outside("the barrel", thin, barrel_copper_um=barrel_copper_um, kept_copper_um=kept, rate_um_s=rate_um_s)
    return (barrel_copper_um - kept) / rate_um_s


def dissolved_wt(
    solubility_wt: Numbers, rate_cm_s: Numbers, wetted_area_cm2: Numbers, bath_volume_cm3: Numbers, time_s: Numbers
) -> Numbers:
    """Return the metal dissolved in a bath, wt%, by Nernst-Brunner; it never passes the solubility.

    Parameters
    ----------
    solubility_wt : float or array, wt%
    rate_cm_s : float or array, cm/s
    wetted_area_cm2, bath_volume_cm3 : float or array
    time_s : float or array, s

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside(
        "the bath",
        solubility_wt=solubility_wt,
        rate_cm_s=rate_cm_s,
        wetted_area_cm2=wetted_area_cm2,
        bath_volume_cm3=bath_volume_cm3,
        time_s=time_s,
    )
    return solubility_wt * -np.expm1(-rate_cm_s * wetted_area_cm2 * time_s / bath_volume_cm3)
