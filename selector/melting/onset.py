"""The remelt onset by rule from composition and solidus (DESIGN rule 6), until the melting engine computes it.

Segregation on freezing leaves a residue that melts below the label's solidus. Over about 5 wt% bismuth in tin it is
the tin-bismuth eutectic (138 to 139 degC), with lead the ternary one (95 to 98 degC). Less bismuth leaves a trace,
which is a caution and not the onset. Validity: soft solders of the catalogue; a rule of practice, not a computation.
"""

from dataclasses import replace

from selector.catalogue import Alloy
from selector.catalogue.evidence import Evidence, computed, nothing
from selector.policy import Remelt, policy

NAME, UNIT = "remelt_onset_c", "degC"


def remelt_onset(alloy: Alloy) -> Evidence:
    """Return the temperature, degC, at which the joint as frozen first holds enough liquid to matter.

    Parameters
    ----------
    alloy : Alloy

    Returns
    -------
    Evidence
        `rule` says which case applied; `cautions` name residues too small to count. No central value where only
        bounds are known (bismuth with indium).
    """
    rules = policy().remelt
    solidus = alloy.of("solidus_c")
    if solidus.interval is None:
        return nothing(NAME, UNIT, why="the solidus is not known")
    low, high = solidus.interval
    bismuth, lead, indium = (float(alloy.composition.wt(element)) for element in ("Bi", "Pb", "In"))
    rich = bismuth > rules.bismuth_eutectic_above_wt
    if rich and alloy.composition.wt("Sn") and indium > rules.with_indium_above_wt and lead <= rules.with_lead_above_wt:
        ends = (min(low, rules.with_indium_low_c), high)
        if high <= rules.with_indium_low_c + 25:
            # The label's own solidus already is a bismuth-indium-tin eutectic.
            return computed(NAME, UNIT, solidus.value, low, high, "the solidus: a ternary eutectic", (solidus,))
        why = "between the bismuth-indium-tin eutectic and the solidus; segregation not computed yet"
        return _by_rule(computed(NAME, UNIT, None, *ends, why, (solidus,)), rules)
    if rich and alloy.composition.wt("Sn"):
        if lead > rules.with_lead_above_wt:
            floor, ceiling, name = rules.with_lead_low_c, rules.with_lead_high_c, "bismuth-lead-tin"
        else:
            floor, ceiling, name = rules.bismuth_eutectic_low_c, rules.bismuth_eutectic_high_c, "tin-bismuth"
        if low < floor:
            value = None if solidus.value is None else min(solidus.value, ceiling)
            why = "the solidus, at most the eutectic"
            return _by_rule(computed(NAME, UNIT, value, low, min(high, ceiling), why, (solidus,)), rules)
        why = f"over {rules.bismuth_eutectic_above_wt:g} wt% Bi the last liquid freezes as the {name} eutectic"
        return _by_rule(computed(NAME, UNIT, floor, min(low, floor), ceiling, why, (solidus,)), rules)
    # The residues that are told are eutectics of tin.
    traces = _traces(bismuth, lead, indium, rules) if alloy.composition.matrix == "Sn" else ()
    return computed(NAME, UNIT, solidus.value, low, high, "the solidus", (solidus,), traces)


def _by_rule(entry: Evidence, rules: Remelt) -> Evidence:
    """Return an onset that rests on the rule of practice with its source and a grade no better than that."""
    return replace(entry, source=f"{entry.source}; {rules.source}", grade="low")


def joint_onset(paste: Alloy, ball: Alloy) -> Evidence:
    """Return the remelt onset, degC, of a joint of two alloys, as bounds where they may form a lower eutectic.

    At most that of the lower-melting one; at least the eutectic that the elements of both may form with tin. A single
    value only where the two coincide. Until the melting engine computes mixtures.
    """
    rules = policy().remelt
    one, other = remelt_onset(paste), remelt_onset(ball)
    if one.interval is None or other.interval is None:
        return nothing(NAME, UNIT, why="the onset of one of the two alloys is not known")
    lower = min((one, other), key=lambda entry: (entry.interval or (0.0, 0.0))[0])
    assert lower.interval is not None
    most = {e: max(float(a.composition.wt(e)) for a in (paste, ball)) for e in ("Sn", "Bi", "Pb", "In")}
    eutectics = [(lower.interval[0], "the lower onset")]
    if most["Sn"]:
        rich = most["Bi"] > rules.bismuth_eutectic_above_wt
        if most["Pb"] > rules.with_lead_above_wt:
            eutectics.append((rules.lead_tin_c, "tin-lead"))
        if most["In"] > rules.indium_trace_above_wt:
            eutectics.append((rules.indium_trace_c, "tin-indium"))
        if rich:
            eutectics.append((rules.bismuth_eutectic_low_c, "tin-bismuth"))
        if rich and most["Pb"] > rules.with_lead_above_wt:
            eutectics.append((rules.with_lead_low_c, "bismuth-lead-tin"))
        if rich and most["In"] > rules.with_indium_above_wt:
            eutectics.append((rules.with_indium_low_c, "bismuth-indium-tin"))
    low, name = min(eutectics)
    if low >= lower.interval[0]:
        return lower
    why = f"the two alloys may form the {name} eutectic: between it and the lower onset"
    return _by_rule(computed(NAME, UNIT, None, low, lower.interval[1], why, (one, other)), rules)


def _traces(bismuth: float, lead: float, indium: float, rules: Remelt) -> tuple[str, ...]:
    cautions = []
    if bismuth >= rules.bismuth_trace_above_wt:
        cautions.append(
            f"segregation may leave a trace of liquid near {rules.bismuth_eutectic_low_c:g} degC,"
            f" held to be under {rules.mass_fraction_percent:g} % by mass (not computed yet)"
        )
    if bismuth >= rules.bismuth_trace_above_wt and lead > rules.with_lead_above_wt:
        cautions.append(f"with lead a trace may stay liquid to {rules.with_lead_low_c:g} degC (not computed yet)")
    if indium >= rules.indium_trace_above_wt and lead == 0 and bismuth < rules.bismuth_trace_above_wt and indium < 45:
        cautions.append(
            f"fast freezing may leave a residue that melts near {rules.indium_trace_c:g} degC (not computed yet)"
        )
    return tuple(cautions)
