"""The remelt onset by rule of practice from composition and solidus, for alloys that the engine does not cover.

Segregation on freezing leaves a residue that melts below the label's solidus. Over about 5 wt% bismuth in tin it is
the tin-bismuth eutectic (138 to 139 degC), with lead the ternary one (95 to 98 degC). Less bismuth leaves a trace,
which is a caution and not the onset. Validity: soft solders of the catalogue; a rule of practice, not a computation.
"""

from dataclasses import replace

from selector.catalogue import Alloy
from selector.catalogue.evidence import Evidence, computed, nothing
from selector.policy import Remelt, policy

NAME, UNIT = "remelt_onset_c", "degC"


def onset_by_practice(alloy: Alloy) -> Evidence:
    """Return the temperature, degC, at which the joint as frozen is held to contain enough liquid to matter.

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
        if high <= rules.with_indium_eutectic_up_to_c:
            # The label's own solidus already is a bismuth-indium-tin eutectic.
            return computed(NAME, UNIT, solidus.value, low, high, "the solidus: a ternary eutectic", (solidus,))
        why = "between the bismuth-indium-tin eutectic and the solidus; segregation not computed"
        return by_rule(computed(NAME, UNIT, None, *ends, why, (solidus,)), rules)
    if rich and alloy.composition.wt("Sn"):
        if lead > rules.with_lead_above_wt:
            floor, ceiling, name = rules.with_lead_low_c, rules.with_lead_high_c, "bismuth-lead-tin"
        else:
            floor, ceiling, name = rules.bismuth_eutectic_low_c, rules.bismuth_eutectic_high_c, "tin-bismuth"
        if low < floor:
            value = None if solidus.value is None else min(solidus.value, ceiling)
            why = "the solidus, at most the eutectic"
            return by_rule(computed(NAME, UNIT, value, low, min(high, ceiling), why, (solidus,)), rules)
        why = f"over {rules.bismuth_eutectic_above_wt:g} wt% Bi the last liquid freezes as the {name} eutectic"
        return by_rule(computed(NAME, UNIT, floor, min(low, floor), ceiling, why, (solidus,)), rules)
    # The residues that are told are eutectics of tin.
    traces = _traces(bismuth, lead, indium, rules) if alloy.composition.matrix == "Sn" else ()
    return computed(NAME, UNIT, solidus.value, low, high, "the solidus", (solidus,), traces)


def by_rule(entry: Evidence, rules: Remelt) -> Evidence:
    """Return an onset that rests on the rule of practice with its source and a grade no better than that."""
    return replace(entry, source=f"{entry.source}; {rules.source}", grade="low")


def _traces(bismuth: float, lead: float, indium: float, rules: Remelt) -> tuple[str, ...]:
    cautions = []
    if bismuth >= rules.bismuth_trace_above_wt:
        cautions.append(
            f"segregation may leave a trace of liquid near {rules.bismuth_eutectic_low_c:g} degC,"
            f" held to be under {rules.mass_fraction_percent:g} % by mass"
        )
    if bismuth >= rules.bismuth_trace_above_wt and lead > rules.with_lead_above_wt:
        cautions.append(f"with lead a trace may stay liquid to {rules.with_lead_low_c:g} degC")
    if (
        indium >= rules.indium_trace_above_wt
        and lead == 0
        and bismuth < rules.bismuth_trace_above_wt
        and indium < rules.indium_rich_from_wt
    ):
        cautions.append(f"fast freezing may leave a residue that melts near {rules.indium_trace_c:g} degC")
    return tuple(cautions)
