"""Bow of a package at the peak, by the bilayer of Timoshenko (1925), against permissible warpage.

`kappa = 6 da dT (1+m)^2 / (h [3 (1+m)^2 + (1 + m n) (m^2 + 1/(m n))])` with `m = t1/t2`, `n = E1/E2`, `h = t1 + t2`;
bow over a length L is `kappa L^2 / 8`. For plates each modulus is divided by `1 - nu`. Equal layers give
`kappa h / (da dT) = 3/2`, a thin film the curvature of Stoney.

Validity: an indicator. Elastic layers, one temperature, flat at the reference (cure or glass transition), small bow.
Above the glass transition the modulus drops, expansion triples and the sign may turn; a measurement overrides.
Limits: JEITA ED-7306 for ball-grid packages at reflow. Inside the limit is not safe: packages at 0.10 to 0.15 mm
inside it still gave head-in-pillow (published).
"""

from functools import cache

import numpy as np

from selector.constants import board_table
from selector.figures import figure
from selector.policy import policy
from selector.ranges import Numbers, refuse_outside, wrong_if
from selector.verdict import Measured, Outcome, Verdict

RULE = "package_warpage"
CAUTION = "inside the limit is not safe: packages inside it have still given head-in-pillow"


def bilayer_per_mm(
    one_thickness_mm: Numbers,
    one_modulus_gpa: Numbers,
    one_ppm_k: Numbers,
    other_thickness_mm: Numbers,
    other_modulus_gpa: Numbers,
    other_ppm_k: Numbers,
    swing_k: Numbers,
    one_poisson: Numbers = 0.0,
    other_poisson: Numbers = 0.0,
) -> Numbers:
    """Return the curvature of a bilayer, 1/mm; positive where the other layer expands more.

    Parameters
    ----------
    one_thickness_mm, other_thickness_mm : float or array, mm
    one_modulus_gpa, other_modulus_gpa : float or array, GPa
    one_ppm_k, other_ppm_k : float or array, ppm/K
        Coefficients of thermal expansion.
    swing_k : float or array, K
        From the reference, where it is flat.
    one_poisson, other_poisson : float or array
        Poisson's ratios for plates; 0 for strips.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside(
        "the package",
        one_thickness_mm=one_thickness_mm,
        one_modulus_gpa=one_modulus_gpa,
        one_ppm_k=one_ppm_k,
        other_thickness_mm=other_thickness_mm,
        other_modulus_gpa=other_modulus_gpa,
        other_ppm_k=other_ppm_k,
        swing_k=swing_k,
        one_poisson=one_poisson,
        other_poisson=other_poisson,
    )
    m = one_thickness_mm / other_thickness_mm
    n = one_modulus_gpa / (1 - one_poisson) / (other_modulus_gpa / (1 - other_poisson))
    shape = 3 * (1 + m) ** 2 + (1 + m * n) * (m**2 + 1 / (m * n))
    strain = (other_ppm_k - one_ppm_k) * 1e-6 * swing_k
    return 6 * strain * (1 + m) ** 2 / ((one_thickness_mm + other_thickness_mm) * shape)


def thin_film_per_mm(
    film_thickness_mm: Numbers,
    film_modulus_gpa: Numbers,
    base_thickness_mm: Numbers,
    base_modulus_gpa: Numbers,
    mismatch_ppm_k: Numbers,
    swing_k: Numbers,
) -> Numbers:
    """Return the curvature of a film on a thick base, 1/mm, by Stoney: `6 da dT E_f t_f / (E_b t_b^2)`.

    Raises
    ------
    InputError
        Outside the range; a film over a tenth of its base, where the formula is off by over 20 %.
    """
    thick = wrong_if(
        np.asarray(film_thickness_mm) > 0.1 * np.asarray(base_thickness_mm),
        "film_thickness_mm",
        "is no thin film",
        film_thickness_mm,
        "at most a tenth of the base",
        "use the bilayer",
    )
    refuse_outside(
        "the film",
        thick,
        film_thickness_mm=film_thickness_mm,
        film_modulus_gpa=film_modulus_gpa,
        base_thickness_mm=base_thickness_mm,
        base_modulus_gpa=base_modulus_gpa,
        mismatch_ppm_k=mismatch_ppm_k,
        swing_k=swing_k,
    )
    strain = mismatch_ppm_k * 1e-6 * swing_k
    return 6 * strain * film_modulus_gpa * film_thickness_mm / (base_modulus_gpa * base_thickness_mm**2)


def bow_mm(curvature_per_mm: Numbers, length_mm: Numbers) -> Numbers:
    """Return the bow over a length, mm: `kappa L^2 / 8`, for a bow small against the length.

    Parameters
    ----------
    curvature_per_mm : float or array, 1/mm
    length_mm : float or array, mm
        Edge or diagonal of the package.

    Raises
    ------
    InputError
        Outside the range, or a bow over a tenth of the length.
    """
    size = np.abs(curvature_per_mm) * np.asarray(length_mm) / 8
    large = wrong_if(
        size > 0.1, "curvature_per_mm", "bows by over a tenth of the length", curvature_per_mm, "a small bow"
    )
    refuse_outside("the bow", large, curvature_per_mm=curvature_per_mm, length_mm=length_mm)
    return curvature_per_mm * length_mm**2 / 8


def bow_share(peak_c: Numbers, usual_peak_c: Numbers | None = None, reference_c: Numbers | None = None) -> Numbers:
    """Return the bow at a peak over the bow at the usual one: `(T - T_ref) / (T_usual - T_ref)`.

    Parameters
    ----------
    peak_c : float or array, degC
    usual_peak_c : float or array, degC, optional
        245 where left out (policy).
    reference_c : float or array, degC, optional
        Where the package is flat, cure or glass transition; 150 where left out (policy). A peak below it bows the
        other way, and the share is negative.

    Raises
    ------
    InputError
        Outside the range; a usual peak that is not above the reference.
    """
    usual = policy().window.usual_peak_c if usual_peak_c is None else usual_peak_c
    flat = policy().warpage.reference_c if reference_c is None else reference_c
    low = wrong_if(
        np.asarray(usual) <= np.asarray(flat), "usual_peak_c", "is not above the reference", usual, "above reference_c"
    )
    refuse_outside("the bow", low, peak_c=peak_c, usual_peak_c=usual, reference_c=flat)
    return (peak_c - flat) / (usual - flat)


def bow_removed(peak_c: Numbers, usual_peak_c: Numbers | None = None, reference_c: Numbers | None = None) -> Numbers:
    """Return the share of the usual bow that a cooler peak removes; parameters and faults as of `bow_share`."""
    return 1 - np.abs(bow_share(peak_c, usual_peak_c, reference_c))


@cache
def _limits() -> tuple[tuple[float, float, str], ...]:
    rows = board_table("warpage_limits")
    return tuple(sorted((float(row["pitch_mm"]), float(row["limit_mm"]), row["source"]) for row in rows))


def warpage_limit_mm(pitch_mm: float) -> float | None:
    """Return the largest permitted bow at reflow by ball pitch, mm (JEITA ED-7306).

    Between two printed pitches the finer one counts. None below the finest printed pitch, 0.4 mm: no row, no limit.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the package", pitch_mm=pitch_mm)
    under = [limit for pitch, limit, _ in _limits() if pitch <= pitch_mm]
    return under[-1] if under else None


def margin_mm(limit_bow_mm: Numbers, measured_bow_mm: Numbers) -> Numbers:
    """Return the margin of a bow to its limit, mm: the limit less the size of the bow, whichever way it points."""
    refuse_outside("the package", limit_bow_mm=limit_bow_mm, measured_bow_mm=measured_bow_mm)
    return limit_bow_mm - np.abs(measured_bow_mm)


def package_warpage(low_bow_mm: float, high_bow_mm: float, pitch_mm: float) -> Verdict:
    """Return whether a package keeps within permissible warpage at the temperature where the joint is liquid.

    Parameters
    ----------
    low_bow_mm, high_bow_mm : float
        Ends of the bow, with sign.
    pitch_mm : float

    Raises
    ------
    InputError
        Outside the range, or ends out of order.
    """
    turned = wrong_if(high_bow_mm < low_bow_mm, "high_bow_mm", "lies below the low end", high_bow_mm, "ends in order")
    refuse_outside("the package", turned, low_bow_mm=low_bow_mm, high_bow_mm=high_bow_mm, pitch_mm=pitch_mm)
    limit = warpage_limit_mm(pitch_mm)
    source = "jeita-ed-7306-notes"
    largest = max(abs(low_bow_mm), abs(high_bow_mm))
    least = 0.0 if low_bow_mm <= 0 <= high_bow_mm else min(abs(low_bow_mm), abs(high_bow_mm))
    measured = Measured(largest if low_bow_mm == high_bow_mm else None, least, largest, "mm")
    if limit is None:
        reason = f"no limit is printed for a pitch of {pitch_mm:g} mm"
        return Verdict(
            RULE, Outcome.UNKNOWN, reason, source, measured, threshold="the package maker's limit", cautions=(CAUTION,)
        )
    told = f"bows by {figure(largest, 3)} mm where {limit:g} mm are permitted at {pitch_mm:g} mm pitch"
    margin = round(limit - largest, 9)
    if largest <= limit:
        return Verdict(
            RULE, Outcome.PASS, f"within limit: {told}", source, measured, limit, margin, cautions=(CAUTION,)
        )
    if least > limit:
        return Verdict(RULE, Outcome.FAIL, told, source, measured, limit, margin, cautions=(CAUTION,))
    threshold = f"holds if the bow measured at the liquid joint keeps at or under {limit:g} mm"
    return Verdict(RULE, Outcome.UNKNOWN, told, source, measured, limit, margin, threshold, cautions=(CAUTION,))


def closing_gap_mm(print_um: Numbers, transfer: Numbers, ball_sag_mm: Numbers) -> Numbers:
    """Return the gap that paste and ball can close, mm: half the deposit's height plus the sag of the ball (policy).

    Compare with the size of the bow where the joint is liquid: a better test than the limit by pitch.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the gap", print_um=print_um, transfer=transfer, ball_sag_bow_mm=ball_sag_mm)
    return print_um * 1e-3 * transfer * policy().warpage.closing_share + ball_sag_mm


def hot_tear_index(pasty_range_k: Numbers, bow_um_k: Numbers, zone_height_um: Numbers) -> Numbers:
    """Return the hot-tear indicator of a mixed zone: pasty range * |change of bow a kelvin| / height (policy).

    Parameters
    ----------
    pasty_range_k : float or array, K
        Of the mixed zone.
    bow_um_k : float or array, um/K
        How fast the package flattens.
    zone_height_um : float or array, um
        Of the zone that freezes last. Warn above 0.1.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the zone", pasty_range_k=pasty_range_k, bow_um_k=bow_um_k, zone_height_um=zone_height_um)
    return pasty_range_k * np.abs(bow_um_k) / zone_height_um
