"""Service heat against the remelt onset, by homologous temperature and by margin.

The alert is the stricter of a ratio of absolute temperatures and a margin in kelvin; between alert and stop the answer
is unknown, because it hangs on data for that alloy at that heat. Policy of this project: `data/rules/practice.toml`.
"""

import math
from collections.abc import Callable
from dataclasses import replace

from selector.brief import Brief, known
from selector.catalogue.evidence import Evidence
from selector.durability.estimate import FAILS, OPEN, Estimate, no_data
from selector.durability.validity import Bound, hold
from selector.figures import figure, signed
from selector.policy import HeatLimit, policy
from selector.units import celsius, kelvin
from selector.verdict import Edit, Measured, Outcome, Verdict, at_least

RULE = "service_heat"
LOWEST_C = -200.0
LiquidAt = Callable[[float], float | None]


def homologous(temperature_c: float, onset_c: float) -> float:
    """Return the temperature over the remelt onset, both absolute; 1 means that the joint remelts."""
    return kelvin(temperature_c) / kelvin(onset_c)


def required_onset_c(service_c: float, ratio: float, margin_k: float = 0.0) -> float:
    """Return the least remelt onset, degC, that keeps under a homologous ratio and a margin."""
    return max(celsius(kelvin(service_c) / ratio), service_c + margin_k)


def highest_service_c(onset_c: float, ratio: float, margin_k: float = 0.0) -> float:
    """Return the hottest service, degC, that a remelt onset allows; the inverse of `required_onset_c`."""
    return min(celsius(kelvin(onset_c) * ratio), onset_c - margin_k)


def band_of(ratio: float) -> str:
    """Return what a homologous temperature means, by the bands of the policy."""
    return next(band.text for band in policy().service.band if band.below is None or ratio < band.below)


def is_rejected(ratio: float) -> bool:
    """Return whether a homologous temperature lies in the last band of the policy, which is rejected."""
    below = [band.below for band in policy().service.band if band.below is not None]
    return ratio >= max(below)


def homologous_state(service_c: float, onset: Evidence) -> Estimate:
    """Return the homologous temperature of a joint's remelt onset at service, with what it means.

    Th = (T + 273.15)/(onset + 273.15). The value is that of the lowest onset, where the onset is an interval: the
    weakest place of a joint rules, not the paste's label.

    Parameters
    ----------
    service_c : float
        Temperature of the joint.
    onset : Evidence
        Remelt onset, degC.

    Returns
    -------
    Estimate
        Share of 1; `law` names the band, `flags` both bands where they differ. No data without an onset.

    Raises
    ------
    InputError
        No temperature, or a service that reaches the whole interval of the onset: the joint melts.
    """
    if onset.interval is None:
        return no_data("homologous temperature", "1", "the remelt onset is not known", onset.source)
    low, high = onset.interval
    melts = "the joint melts: an onset below service has no homologous temperature"
    meant_c = round(celsius(service_c), 6) if math.isfinite(service_c) else service_c
    if service_c >= high and 0 <= meant_c < low:
        melts = f"{figure(service_c)}? if kelvin, {figure(meant_c)} degC"
    hold("the homologous temperature", Bound("service_c", service_c, LOWEST_C, high, "degC", below=True, remedy=melts))
    most, least = homologous(service_c, low), homologous(service_c, high)
    flags = [] if band_of(most) == band_of(least) else [f"at the upper end of the onset: {band_of(least)}"]
    if most >= 1:
        flags.append("at the lower end of the onset the joint melts")
    law = f"Th with the lowest onset, {figure(low)} degC: {band_of(most)}"
    source = f"{onset.source}; {policy().service.source}"
    return Estimate(
        "homologous temperature",
        "1",
        most,
        least,
        most,
        law,
        source,
        onset.origin,
        onset.grade,
        tuple(flags),
        standing=FAILS if is_rejected(least) else OPEN if is_rejected(most) else "",
    )


def service_heat(brief: Brief, onset: Evidence, liquid_at: LiquidAt | None = None) -> Verdict:
    """Return whether the joint stands the hottest service.

    Measured value and limit are remelt onsets, degC; the margin is in kelvin.

    Parameters
    ----------
    brief : Brief
    onset : Evidence
    liquid_at : callable, optional
        Mass fraction liquid as frozen at a temperature, degC; None where it is not computed.
    """
    verdict = _by_onset(brief, onset)
    service_c = known(brief.service.maximum_c)
    liquid = None if liquid_at is None or service_c is None else liquid_at(service_c)
    if liquid is None or service_c is None or verdict.outcome is not Outcome.PASS:
        return verdict
    rules = policy().remelt
    told = f"as frozen, {figure(liquid * 100, 2)} % by mass is liquid at {service_c:g} degC (computed)"
    if liquid * 100 >= rules.mass_fraction_percent:
        return replace(
            verdict,
            outcome=Outcome.UNKNOWN,
            reason=f"{verdict.reason}; but {told}",
            threshold=f"holds if the joint is homogenised, or less than {rules.mass_fraction_percent:g} % is liquid",
        )
    return replace(verdict, cautions=(*verdict.cautions, told)) if liquid * 100 >= rules.trace_mass_percent else verdict


def _by_onset(brief: Brief, onset: Evidence) -> Verdict:
    service_c = known(brief.service.maximum_c)
    rules = policy().service
    source = f"{onset.source}; {rules.source}"
    if onset.interval is None:
        return Verdict(RULE, Outcome.UNKNOWN, "the remelt onset is not known", source, threshold="a measured solidus")
    low, high = onset.interval
    measured = Measured(onset.value, low, high, "degC")
    ipc_class = known(brief.ipc_class)
    limits = {1.0: rules.class_1_2, 2.0: rules.class_1_2, 3.0: rules.class_3}.get(ipc_class or 0.0)
    if service_c is None or limits is None:
        strict = limits or rules.class_3
        cap = highest_service_c(low, strict.alert_ratio, strict.alert_margin_k)
        if service_c is not None:
            # Where the strictest class passes or the mildest one fails, the class does not matter.
            for heat, outcome, label in (
                (rules.class_3, Outcome.PASS, "as class 3, the class being unknown"),
                (rules.class_1_2, Outcome.FAIL, "as class 1 or 2, the class being unknown"),
            ):
                verdict = _judged(brief, service_c, onset, heat, source, label)
                if verdict.outcome is outcome:
                    return verdict
        missing = "the service maximum" if service_c is None else "the product class"
        return Verdict(
            RULE,
            Outcome.UNKNOWN,
            f"{missing} is not known",
            source,
            threshold=f"holds if service stays at or under {figure(math.floor(cap))} degC",
            edits=_told(brief, service_c, low, cap),
            measured=measured,
        )
    return _judged(brief, service_c, onset, limits, source, f"class {ipc_class:.0f}")


def _judged(brief: Brief, service_c: float, onset: Evidence, limits: HeatLimit, source: str, label: str) -> Verdict:
    assert onset.interval is not None
    low, high = onset.interval
    # Rounded far below any measurement, so that a tie in decimal is a tie here.
    alert_c = round(required_onset_c(service_c, limits.alert_ratio, limits.alert_margin_k), 6)
    stop_c = round(required_onset_c(service_c, limits.stop_ratio), 6)
    outcome = at_least(low, high, alert_c)
    if outcome is Outcome.FAIL and at_least(low, high, stop_c) is not Outcome.FAIL:
        outcome = Outcome.UNKNOWN
    ratio = homologous(service_c, low)
    cap = highest_service_c(low, limits.alert_ratio, limits.alert_margin_k)
    # Where the ends of the onset are judged apart, both ratios are told: which of them holds decides.
    other = f", {homologous(service_c, high):.3f} of {high:g}" if _parted(low, high, alert_c, stop_c) else ""
    finding = f"{service_c:g} degC is {ratio:.3f} of the remelt onset {low:g} degC in kelvin{other} ({label})"
    threshold = ""
    if outcome is Outcome.UNKNOWN:
        threshold = (
            f"holds if the remelt onset is {alert_c:.1f} degC or more; between the alert ({limits.alert_ratio:g}) and"
            f" the stop ({limits.stop_ratio:g}) only light, short duty with data for this alloy"
        )
    edits = () if outcome is Outcome.PASS else cooler_service(brief, cap)
    return Verdict(
        RULE,
        outcome,
        finding,
        source,
        Measured(onset.value, low, high, "degC"),
        round(alert_c, 3),
        round(low - alert_c, 3),
        threshold,
        edits,
        onset.cautions,
    )


def _parted(low: float, high: float, alert_c: float, stop_c: float) -> bool:
    """Return whether alert or stop lies between the ends of the onset."""
    return any(low < limit_c <= high for limit_c in (alert_c, stop_c))


def _told(brief: Brief, service_c: float | None, low: float, cap: float) -> tuple[Edit, ...]:
    """Return what would settle service where it or the class is not known."""
    if service_c is None:
        highest_c = math.floor(round(cap * 100, 4)) / 100
        minimum_c = known(brief.service.minimum_c)
        if highest_c < LOWEST_C or (minimum_c is not None and highest_c < minimum_c):
            return ()
        text = f"show that service stays at or under {figure(highest_c)} degC"
        return (Edit("service.maximum_c", highest_c, text),)
    mild = policy().service.class_1_2
    if service_c <= highest_service_c(low, mild.alert_ratio, mild.alert_margin_k):
        return (Edit("ipc_class", 2, "take the product as class 2"),)
    return cooler_service(brief, cap)


def cooler_service(brief: Brief, highest_c: float) -> tuple[Edit, ...]:
    """Return the changes that bring the service maximum down to a temperature; none where that is below the minimum.

    A cyclic range that no longer fits between minimum and maximum is narrowed with it.
    """
    maximum_c, minimum_c = known(brief.service.maximum_c), known(brief.service.minimum_c)
    highest_c = math.floor(round(highest_c * 100, 4)) / 100
    if maximum_c is None or highest_c < LOWEST_C or (minimum_c is not None and highest_c < minimum_c):
        return ()
    change = highest_c - maximum_c
    text = f"lower the service maximum from {figure(maximum_c)} to {figure(highest_c)} degC ({signed(change, 'K')})"
    edits = [Edit("service.maximum_c", highest_c, text, change, "K")]
    cyclic_k = known(brief.service.cyclic_range_k)
    if minimum_c is not None and cyclic_k is not None and cyclic_k > highest_c - minimum_c:
        edits.append(narrower_cycling(cyclic_k, highest_c - minimum_c))
    return tuple(edits)


def narrower_cycling(from_k: float, to_k: float) -> Edit:
    """Return the change that narrows the cyclic range."""
    text = f"narrow the cyclic range from {figure(from_k)} to {figure(to_k)} K ({signed(to_k - from_k, 'K')})"
    return Edit("service.cyclic_range_k", float(to_k), text, to_k - from_k, "K")
