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
from selector.melting.coverage import INDICATIVE
from selector.melting.practice import by_rule, onset_by_practice
from selector.policy import policy

NAME, UNIT = "remelt_onset_c", "degC"
SOURCE = "computed-melting"
CONFLICT_K = 3.0
EVIDENCE_GRADE = {"assessed": "medium", "fitted": "low", INDICATIVE: "low"}


def reaches(onset: Evidence | None, least_c: float) -> str:
    """Return whether a remelt onset reaches what is asked, degC: yes, no, or open where its interval straddles it."""
    if onset is None or onset.interval is None:
        return "open"
    low, high = onset.interval
    return "yes" if low >= least_c else "no" if high < least_c else "open"


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
        entry = onset_by_practice(alloy)
        status = "not computed" if row is None or row.is_computed else row.status
        return replace(entry, rule=f"{entry.rule}; by rule of practice: {status}")
    assert row.onset_low_c is not None
    assert row.onset_high_c is not None
    tabulated = alloy.of("solidus_c")
    low, high = row.onset_low_c - row.half_width_k, row.onset_high_c + row.half_width_k
    if row.grade == INDICATIVE:
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
    if row.solidus_c - row.remelt_onset_c > CONFLICT_K:
        return own
    why = f"the tabulated solidus; the computed onset, {figure(row.remelt_onset_c)} degC, is the solidus too"
    entry = computed(NAME, UNIT, tabulated.value, first, last, why, (tabulated,), row.cautions)
    if row.solidus_c - row.onset_low_c <= CONFLICT_K:
        return entry
    why = f"{why}, but the first liquid is near the mass fraction that counts ({row.onset_rule}): both are kept"
    return replace(entry, value=None, low=min(low, first), rule=why, source=f"{entry.source}; {SOURCE}")


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
    return by_rule(computed(NAME, UNIT, None, low, lower.interval[1], why, (one, other)), rules)
