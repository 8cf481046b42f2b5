"""The remelt onset of a joint: computed where the engine covers the alloy, by a rule of practice elsewhere.

Segregation on freezing leaves a residue that melts below the label's solidus. Where the computed onset is the solidus,
the tabulated solidus stands, which is better known; where it is a residue, the computed value does. Where computed and
tabulated solidus disagree, both sides are kept as the ends of the interval.
"""

from dataclasses import replace

from selector.catalogue import Alloy
from selector.catalogue.evidence import Evidence, computed, nothing
from selector.figures import figure
from selector.melting.computed import Computed, computed_melting
from selector.policy import Remelt, policy

NAME, UNIT = "remelt_onset_c", "degC"
SOURCE = "computed-melting"
CONFLICT_K = 3.0
EVIDENCE_GRADE = {"assessed": "medium", "fitted": "low", "indicative": "low"}


def remelt_onset(alloy: Alloy) -> Evidence:
    """Return the temperature, degC, at which the joint as frozen first holds enough liquid to matter.

    Parameters
    ----------
    alloy : Alloy

    Returns
    -------
    Evidence
        `rule` says which case applied; `cautions` name first liquids too small to count. No central value where only
        bounds are known.
    """
    row = computed_melting(alloy.composition)
    if row is None or row.remelt_onset_c is None or row.half_width_k is None:
        return _by_practice(alloy, "not computed" if row is None else row.status)
    assert row.onset_low_c is not None
    assert row.onset_high_c is not None
    tabulated = alloy.of("solidus_c")
    low, high = row.onset_low_c - row.half_width_k, row.onset_high_c + row.half_width_k
    if row.grade == "indicative":
        return _indicative(row, tabulated, low, high)
    own = _computed(row, row.remelt_onset_c, low, high, f"computed as {row.onset_rule}")
    if tabulated.interval is None or row.solidus_c is None:
        return own
    first, last = tabulated.interval
    if row.solidus_c < first - CONFLICT_K or row.solidus_c > last + CONFLICT_K:
        why = (
            f"computed as {row.onset_rule}; the computed solidus, {figure(row.solidus_c)} degC, is more than"
            f" {CONFLICT_K:g} K from the tabulated one: both sides are kept"
        )
        return replace(_computed(row, None, min(low, first), max(high, last), why), inputs=(tabulated,))
    segregated = row.solidus_c - row.onset_low_c > CONFLICT_K
    if segregated:
        return own
    why = f"the tabulated solidus; the computed onset, {figure(row.remelt_onset_c)} degC, is the solidus too"
    return computed(NAME, UNIT, tabulated.value, first, last, why, (tabulated,), row.cautions)


def _computed(row: Computed, value: float | None, low: float, high: float, rule: str) -> Evidence:
    rule = f"{rule}; {row.grade}, to about {figure(row.half_width_k)} K"
    grade = EVIDENCE_GRADE[row.grade]
    return Evidence(NAME, UNIT, value, low, high, grade, "computed", SOURCE, rule, cautions=row.cautions)


def _indicative(row: Computed, tabulated: Evidence, low: float, high: float) -> Evidence:
    """Return bounds on which no limit can pass by the computed value alone: an indicative value decides nothing."""
    why = f"computed as {row.onset_rule}, which is indicative only: no limit may rest on it"
    caution = f"computed melting is indicative only ({'; '.join(row.why) or 'see the notes'})"
    cautions = (*row.cautions, caution)
    if tabulated.interval is None:
        return nothing(NAME, UNIT, why=why)
    first, last = tabulated.interval
    ends = (min(low, first), max(high, last))
    return Evidence(
        NAME,
        UNIT,
        None,
        *ends,
        "low",
        "computed",
        f"{SOURCE}; {tabulated.source}",
        why,
        inputs=(tabulated,),
        cautions=cautions,
    )


def liquid_as_frozen(alloy: Alloy, temperature_c: float) -> float | None:
    """Return the mass fraction liquid, as frozen, at a temperature; None where it is not computed."""
    row = computed_melting(alloy.composition)
    return None if row is None else row.liquid_as_frozen(temperature_c)


def _by_practice(alloy: Alloy, status: str) -> Evidence:
    """Return the onset by the rule of practice from composition and solidus, for alloys that are not computed."""
    rules = policy().remelt
    solidus = alloy.of("solidus_c")
    if solidus.interval is None:
        return nothing(NAME, UNIT, why=f"the solidus is not known, and melting is {status}")
    low, high = solidus.interval
    bismuth, lead, indium = (float(alloy.composition.wt(element)) for element in ("Bi", "Pb", "In"))
    rich = bismuth > rules.bismuth_eutectic_above_wt
    why = f"by rule of practice, melting being {status}"
    if rich and alloy.composition.wt("Sn") and indium > rules.with_indium_above_wt and lead <= rules.with_lead_above_wt:
        ends = (min(low, rules.with_indium_low_c), high)
        return _by_rule(computed(NAME, UNIT, None, *ends, f"{why}: bismuth with indium", (solidus,)), rules)
    if rich and alloy.composition.wt("Sn"):
        with_lead = lead > rules.with_lead_above_wt
        floor = rules.with_lead_low_c if with_lead else rules.bismuth_eutectic_low_c
        ceiling = rules.with_lead_high_c if with_lead else rules.bismuth_eutectic_high_c
        name = "bismuth-lead-tin" if with_lead else "tin-bismuth"
        value = min(floor, low)
        entry = computed(NAME, UNIT, value, value, min(high, ceiling), f"{why}: the {name} eutectic", (solidus,))
        return _by_rule(entry, rules)
    return computed(NAME, UNIT, solidus.value, low, high, f"{why}: the solidus", (solidus,))


def joint_onset(paste: Alloy, ball: Alloy) -> Evidence:
    """Return the remelt onset, degC, of a joint of two alloys, as bounds where they may form a lower eutectic.

    At most that of the lower-melting one; at least the eutectic that the elements of both may form with tin. A single
    value only where the two coincide. The share of the two in the joint is not asked here.
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


def _by_rule(entry: Evidence, rules: Remelt) -> Evidence:
    """Return an onset that rests on the rule of practice with its source and a grade no better than that."""
    return replace(entry, source=f"{entry.source}; {rules.source}", grade="low")
