"""What happens under a part: flux residue in a low gap, underfill that must flow and cure, cleaning.

Flow between plates: `t = 3 eta L^2 / (gamma h cos theta)` (parallel-plate capillary flow, from memory); bumps and
residue slow it further. Residue under about 75 to 100 um of standoff keeps solvent and active acid, under 50 um it
blocks underfill and a wash (common practice). Underfill cures below the remelt onset by 10 to 20 K.
"""

import numpy as np

from selector.constants import constant
from selector.errors import Fault, InputError, shown
from selector.figures import figure
from selector.policy import policy
from selector.ranges import Numbers, refuse_outside, wrong_if
from selector.verdict import Measured, Outcome, Verdict

RESIDUE_RULE, CURE_RULE, FLUX_RULE = "residue_standoff", "underfill_cure", "flux_cleaning"
FLUXES = ("no-clean", "water-soluble")
LOW_PEAK_C = 200.0
TESTED = "holds if an insulation test under the part at this profile passes"


def underfill_time_s(
    flow_length_mm: Numbers,
    standoff_um: Numbers,
    viscosity_pa_s: Numbers | None = None,
    tension_n_m: Numbers | None = None,
    contact_angle_deg: Numbers | None = None,
) -> Numbers:
    """Return how long underfill takes to flow under a part, s: `3 eta L^2 / (gamma h cos theta)`.

    Parameters
    ----------
    flow_length_mm : float or array, mm
    standoff_um : float or array, um
        The gap; half of it doubles the time.
    viscosity_pa_s, tension_n_m, contact_angle_deg : float or array, optional
        0.5 Pa s, 0.03 N/m and 20 degrees from memory where left out.

    Raises
    ------
    InputError
        Outside the range; no gap; a liquid that does not wet (90 degrees and over).
    """
    viscosity = constant("underfill viscosity").value if viscosity_pa_s is None else viscosity_pa_s
    tension = constant("underfill surface tension").value if tension_n_m is None else tension_n_m
    angle = constant("underfill contact angle").value if contact_angle_deg is None else contact_angle_deg
    refuse_outside(
        "the underfill",
        wrong_if(np.asarray(standoff_um) == 0, "standoff_um", "leaves no gap", standoff_um, "above 0 um"),
        wrong_if(
            np.asarray(angle) >= 90, "contact_angle_deg", "does not wet: nothing flows", angle, "below 90 degrees"
        ),
        flow_length_mm=flow_length_mm,
        standoff_um=standoff_um,
        viscosity_pa_s=viscosity,
        tension_n_m=tension,
        contact_angle_deg=angle,
    )
    length_m, gap_m = flow_length_mm * 1e-3, standoff_um * 1e-6
    return 3 * viscosity * length_m**2 / (tension * gap_m * np.cos(np.radians(angle)))


def residue(standoff_um: float, underfilled: bool = False) -> Verdict:
    """Return what flux residue does under a part of this standoff.

    Raises
    ------
    InputError
        A negative standoff, or one outside the range.
    """
    refuse_outside("the part", standoff_um=standoff_um)
    rules = policy().printing
    measured = Measured.exactly(standoff_um, "um")
    margin = round(standoff_um - rules.residue_clear_um, 6)
    if standoff_um < rules.residue_blocks_um and underfilled:
        reason = "residue blocks the gap and traps solvent: underfill does not fill it"
        limit = rules.residue_blocks_um
        return Verdict(RESIDUE_RULE, Outcome.FAIL, reason, "practice", measured, limit, round(standoff_um - limit, 6))
    if standoff_um < rules.residue_clear_um:
        reason = f"under {rules.residue_alert_um:g} um residue keeps solvent and active acid"
        if standoff_um >= rules.residue_alert_um:
            reason = f"between {rules.residue_alert_um:g} and {rules.residue_clear_um:g} um sources differ on residue"
        return Verdict(
            RESIDUE_RULE, Outcome.UNKNOWN, reason, "practice", measured, rules.residue_clear_um, margin, TESTED
        )
    reason = "the gap lets residue dry and a wash through"
    return Verdict(RESIDUE_RULE, Outcome.PASS, reason, "practice", measured, rules.residue_clear_um, margin)


def _apart(gap_k: float) -> str:
    """Return how far under the onset, or over it: a signed "-14 K under" would have to be read twice."""
    return f"{figure(abs(gap_k))} K {'under' if gap_k >= 0 else 'over'}"


def underfill_cure(cure_c: float, onset_low_c: float, onset_high_c: float | None = None) -> Verdict:
    """Return whether an underfill cures far enough below the remelt onset: 20 K, by some 10.

    Parameters
    ----------
    cure_c : float
    onset_low_c, onset_high_c : float
        The ends of the remelt onset of the joint.

    Raises
    ------
    InputError
        Outside the range, or ends out of order.
    """
    high_c = onset_low_c if onset_high_c is None else onset_high_c
    turned = wrong_if(high_c < onset_low_c, "onset_high_c", "lies below the low end", high_c, "at least onset_low_c")
    refuse_outside("the underfill", turned, cure_c=cure_c, onset_low_c=onset_low_c, onset_high_c=high_c)
    rules = policy().printing
    # Rounded far below any measurement, so that a tie in decimal is a tie here.
    limit, last = round(onset_low_c - rules.cure_margin_k, 6), round(high_c - rules.cure_margin_low_k, 6)
    measured, margin = Measured.exactly(cure_c, "degC"), round(limit - cure_c, 6)
    if cure_c <= limit:
        reason = f"cures {figure(onset_low_c - cure_c)} K under the remelt onset"
        return Verdict(CURE_RULE, Outcome.PASS, reason, "practice", measured, limit, margin)
    if cure_c > last:
        does = "soften" if cure_c < onset_low_c else "melt"
        reason = f"cures {_apart(onset_low_c - cure_c)} the remelt onset: the joint may {does} as it cures"
        return Verdict(CURE_RULE, Outcome.FAIL, reason, "practice", measured, limit, margin)
    ends = dict.fromkeys((_apart(onset_low_c - cure_c), _apart(high_c - cure_c)))
    reason = f"cures {' to '.join(ends)} the remelt onset, where {rules.cure_margin_k:g} K are asked"
    threshold = f"holds if the oven keeps every joint at or under {figure(limit)} degC"
    return Verdict(CURE_RULE, Outcome.UNKNOWN, reason, "practice", measured, limit, margin, threshold)


def flux_cleaning(
    flux: str, standoff_um: float, wash_proved: bool = False, peak_c: float | None = None, windowed: bool = True
) -> Verdict:
    """Return what no-clean or water-soluble flux comes to under a part: no-clean is flux and heat together.

    Parameters
    ----------
    flux : str
        no-clean or water-soluble.
    standoff_um : float
    wash_proved : bool
        Whether washing under this part is shown to work.
    peak_c : float, optional
        At the joint; a cool peak activates and dries less.
    windowed : bool
        Whether a large ground land is printed in windows, which raises and vents the part.

    Raises
    ------
    InputError
        Another flux; figures outside the range.
    """
    if flux not in FLUXES:
        raise InputError("the flux", [Fault("flux", "is not known", shown(flux), ", ".join(FLUXES))])
    refuse_outside("the flux", standoff_um=standoff_um, **({} if peak_c is None else {"peak_c": peak_c}))
    low = standoff_um < policy().printing.residue_clear_um
    lowest = standoff_um < policy().printing.residue_alert_um
    measured = Measured.exactly(standoff_um, "um")
    limit = policy().printing.residue_clear_um
    cautions = ["a coat over residue needs a test of its own"]
    if low and not windowed:
        cautions.append("print the ground land in windows: it raises the part and vents the flux")
    if peak_c is not None and peak_c < LOW_PEAK_C:
        cautions.append(f"ask for the paste's own insulation data at this profile ({figure(peak_c)} degC)")
    if flux == "water-soluble" and not wash_proved:
        outcome = Outcome.FAIL if lowest else Outcome.UNKNOWN
        reason = "water-soluble residue must leave, and washing under the part is not proved"
        threshold = "" if lowest else "holds if washing under the part is proved"
    elif flux == "water-soluble":
        outcome, reason, threshold = Outcome.PASS, "washing under the part is proved", ""
    elif low:
        outcome, reason = Outcome.UNKNOWN, "no-clean residue in a low gap dries and activates less"
        threshold = TESTED
    else:
        outcome, reason, threshold = Outcome.PASS, "the gap lets residue dry", ""
    return Verdict(
        FLUX_RULE,
        outcome,
        reason,
        "practice",
        measured,
        limit,
        round(standoff_um - limit, 6),
        threshold,
        cautions=tuple(cautions),
    )
