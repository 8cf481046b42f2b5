"""Heat through a joint or die attach: `R = t / (k A (1 - v))`, rise `P R`.

Validity: one-dimensional conduction through the layer alone. Voids go through the whole thickness and lie spread out;
one large void under a hot spot is worse. Spreading in the die and the board, and contact layers, are not in it.
Source: conduction.
"""

from selector.ranges import Numbers, refuse_outside


def resistance_k_w(
    layer_thickness_mm: Numbers, contact_area_mm2: Numbers, metal_w_mk: Numbers, void_share: Numbers = 0.0
) -> Numbers:
    """Return the thermal resistance of a layer, K/W.

    Parameters
    ----------
    layer_thickness_mm : float or array, mm
    contact_area_mm2 : float or array, mm2
    metal_w_mk : float or array, W/(m K)
    void_share : float or array
        Of the area, 0 to 0.99.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside(
        "the joint",
        layer_thickness_mm=layer_thickness_mm,
        contact_area_mm2=contact_area_mm2,
        metal_w_mk=metal_w_mk,
        void_share=void_share,
    )
    return layer_thickness_mm * 1e-3 / (metal_w_mk * contact_area_mm2 * 1e-6 * (1 - void_share))


def rise_k(power_w: Numbers, thermal_resistance_k_w: Numbers) -> Numbers:
    """Return the rise of temperature over a resistance at a power, K.

    Parameters
    ----------
    power_w : float or array, W
    thermal_resistance_k_w : float or array, K/W

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the joint", power_w=power_w, thermal_resistance_k_w=thermal_resistance_k_w)
    return power_w * thermal_resistance_k_w
