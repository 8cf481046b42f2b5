"""Cyclic shear strain of a solder joint between a part and a board that expand apart.

Leadless: strain = F L |a_s dT_s - a_c dT_c| / h. Leaded: strain = F K (L da dT)^2 / (p A h). Joint against its own pad:
strain = (L_w/2) |a_solder - a_base| dT / h. F empirical factor; L distance from the neutral point, mm; a expansion,
ppm/K; dT swing, K; h solder height, mm; K stiffness of the lead along the diagonal, N/mm; p normalising pressure, psi;
A effective area, mm2 (about two thirds of the foot); L_w wetted length, mm.
Holds to first order for small strain and unyielding boards. Sources: design guides (memory) and the 2014 journal table.
"""

from selector.durability.constants import Normaliser, fatigue_data
from selector.durability.validity import Bound, hold
from selector.units import mpa

PPM = 1e-6
MOST_PPM_K = 500


def _expansion(name: str, value: float) -> Bound:
    return Bound(name, value, -20, MOST_PPM_K, "ppm/K", remedy="give ppm/K: 17 for a glass-epoxy board")


def _positive(name: str, value: float, unit: str) -> Bound:
    return Bound(name, value, 0, unit=unit, above=True)


def _factor(value: float) -> Bound:
    low, high = min(f.low for f in fatigue_data().factor), max(f.high for f in fatigue_data().factor)
    return Bound("factor", value, low, high, remedy="1 unless a test of this package says otherwise")


def leadless_strain(
    distance_mm: float,
    height_mm: float,
    board_ppm_k: float,
    part_ppm_k: float,
    swing_k: float,
    part_swing_k: float | None = None,
    factor: float = 1.0,
) -> float:
    """Return the cyclic shear strain of a leadless joint.

    Parameters
    ----------
    distance_mm : float
        From the neutral point to the joint.
    height_mm : float
        Solder height; of a chip the gap, not the fillet.
    board_ppm_k, part_ppm_k : float
    swing_k : float
        Of the board; of both where `part_swing_k` is not given.
    part_swing_k : float, optional
    factor : float
        0.5 to 1.5 in one source, 0.7 to 1.2 in another.

    Returns
    -------
    float
        Strain, 1.

    Raises
    ------
    InputError
        A length, swing or expansion that cannot be.
    """
    part_swing = swing_k if part_swing_k is None else part_swing_k
    hold(
        "the strain of a leadless joint",
        _positive("distance_mm", distance_mm, "mm"),
        _positive("height_mm", height_mm, "mm"),
        _expansion("board_ppm_k", board_ppm_k),
        _expansion("part_ppm_k", part_ppm_k),
        Bound("swing_k", swing_k, 0, 400, "K"),
        Bound("part_swing_k", part_swing, 0, 400, "K"),
        _factor(factor),
    )
    return factor * distance_mm * abs(board_ppm_k * swing_k - part_ppm_k * part_swing) * PPM / height_mm


def leaded_strain(
    stiffness_n_mm: float,
    distance_mm: float,
    mismatch_ppm_k: float,
    swing_k: float,
    area_mm2: float,
    height_mm: float,
    psi: float,
    factor: float = 1.0,
) -> float:
    """Return the strain metric of a joint under a compliant lead, for one normalising pressure.

    Parameters
    ----------
    stiffness_n_mm : float
        Of the lead, along the diagonal.
    distance_mm, mismatch_ppm_k, swing_k : float
    area_mm2 : float
        Effective: about two thirds of the foot.
    height_mm : float
    psi : float
        200 in one edition, 133 in later ones; see `leaded_strains`.
    factor : float

    Returns
    -------
    float
        Strain, 1.

    Raises
    ------
    InputError
        A figure that cannot be.
    """
    hold(
        "the strain of a leaded joint",
        _positive("stiffness_n_mm", stiffness_n_mm, "N/mm"),
        _positive("distance_mm", distance_mm, "mm"),
        Bound("mismatch_ppm_k", mismatch_ppm_k, 0, MOST_PPM_K, "ppm/K"),
        Bound("swing_k", swing_k, 0, 400, "K"),
        _positive("area_mm2", area_mm2, "mm2"),
        _positive("height_mm", height_mm, "mm"),
        _positive("psi", psi, "psi"),
        _factor(factor),
    )
    stretch_mm = distance_mm * mismatch_ppm_k * PPM * swing_k
    return factor * stiffness_n_mm * stretch_mm**2 / (mpa(psi) * area_mm2 * height_mm)


def leaded_strains(
    stiffness_n_mm: float,
    distance_mm: float,
    mismatch_ppm_k: float,
    swing_k: float,
    area_mm2: float,
    height_mm: float,
    factor: float = 1.0,
) -> tuple[tuple[Normaliser, float], ...]:
    """Return the strain metric of a leaded joint by every published normaliser, each with its own; never one alone."""
    return tuple(
        (
            entry,
            leaded_strain(stiffness_n_mm, distance_mm, mismatch_ppm_k, swing_k, area_mm2, height_mm, entry.psi, factor),
        )
        for entry in fatigue_data().normaliser
    )


def local_strain(
    wetted_length_mm: float, solder_ppm_k: float, base_ppm_k: float, swing_k: float, height_mm: float
) -> float:
    """Return the strain of solder against its own pad; a second term for large pads, ceramics and nickel-iron leads.

    Parameters
    ----------
    wetted_length_mm : float
    solder_ppm_k, base_ppm_k : float
    swing_k : float
    height_mm : float

    Returns
    -------
    float
        Strain, 1.

    Raises
    ------
    InputError
        A figure that cannot be.
    """
    hold(
        "the strain of solder against its pad",
        _positive("wetted_length_mm", wetted_length_mm, "mm"),
        _expansion("solder_ppm_k", solder_ppm_k),
        _expansion("base_ppm_k", base_ppm_k),
        Bound("swing_k", swing_k, 0, 400, "K"),
        _positive("height_mm", height_mm, "mm"),
    )
    return wetted_length_mm / 2 * abs(solder_ppm_k - base_ppm_k) * PPM * swing_k / height_mm
