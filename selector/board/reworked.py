"""Joints reworked with another alloy: the touched-up joint rules, not the paste.

By rule the onset is bounded over every share of the new metal (`melting.onset.joint_onset`): it is what the share that
melts first comes to. Where that does not pass and the brief states the share, the engine's freezing of that mixture
takes its place. Lead that meets bismuth or indium is a stop whatever the share.
"""

from dataclasses import replace

from selector.board.mixing import NAME, SOURCE, UNIT, as_frozen
from selector.brief import Brief, known
from selector.catalogue import Alloy, Catalogue
from selector.catalogue.evidence import Evidence
from selector.durability import duty, service
from selector.fields import UNKNOWN
from selector.figures import figure
from selector.joint import contamination
from selector.joint.stops import NAMES, metals_that_meet
from selector.melting.mixing import blend
from selector.melting.onset import EVIDENCE_GRADE, joint_onset
from selector.policy import policy
from selector.units import exact
from selector.verdict import Edit, Outcome, Verdict

NONE = "none"


def rework_alloy(brief: Brief, catalogue: Catalogue, alloy: Alloy) -> Alloy | None:
    """Return the alloy that joints are reworked with; None for none, the paste itself, or one not in the catalogue."""
    asked = brief.mixing.rework_alloy
    if asked in (UNKNOWN, NONE) or known(brief.mixing.rework_share) == 0:
        return None
    new = catalogue.held(asked)
    return None if new is None or new.composition == alloy.composition else new


def rework_verdicts(brief: Brief, catalogue: Catalogue, alloy: Alloy, rule: str, computed: bool) -> list[Verdict]:
    """Return the verdicts on a joint touched up with the brief's rework alloy; none where it names none.

    Parameters
    ----------
    brief : Brief
    catalogue : Catalogue
    alloy : Alloy
        Of the joint that was there.
    rule : str
        Under which they are told.
    computed : bool
        Whether the engine may be asked where the bound by rule does not pass.
    """
    asked = brief.mixing.rework_alloy
    edit = Edit("mixing.rework_alloy", NONE, f"rework with {alloy.id} itself")
    new = rework_alloy(brief, catalogue, alloy)
    if new is None:
        return [] if asked in (UNKNOWN, NONE) or catalogue.held(asked) else [_not_held(asked, rule, edit)]
    found = [
        _heat(brief, alloy, new, computed),
        duty.class_and_cycling(brief, new),
        contamination.lead_with_bismuth(brief, new),
        *_met(alloy, new, rule),
    ]
    return [
        replace(verdict, rule=rule, reason=f"reworked with {new.id}: {verdict.reason}", edits=(edit,))
        for verdict in found
    ]


def _not_held(name: str, rule: str, edit: Edit) -> Verdict:
    reason = f"reworked with {name}, which the catalogue does not hold"
    threshold = "holds if the touched-up joint stands service"
    return Verdict(rule, Outcome.UNKNOWN, reason, "the brief's mixing", threshold=threshold, edits=(edit,))


def _heat(brief: Brief, alloy: Alloy, new: Alloy, computed: bool) -> Verdict:
    by_rule = service.service_heat(brief, joint_onset(alloy, new))
    share = known(brief.mixing.rework_share)
    if by_rule.outcome is Outcome.PASS:
        return by_rule
    if share is None:
        return replace(by_rule, reason=f"{by_rule.reason}, at the share that melts first")
    whole = blend(alloy.composition, new.composition, exact(share))
    # Rich enough for the eutectic by rule, the engine would say the same, at a third of a second an alloy.
    rich = float(whole.wt("Bi")) > policy().remelt.bismuth_eutectic_above_wt
    own = as_frozen(whole) if computed and not rich else None
    if own is None:
        return by_rule
    onset_c, half_k, grade, _ = own
    why = f"as frozen with {figure(100 * share, 3)} % of the new metal"
    ends = onset_c, onset_c - half_k, onset_c + half_k
    found = service.service_heat(brief, Evidence(NAME, UNIT, *ends, EVIDENCE_GRADE[grade], "computed", SOURCE, why))
    return replace(found, reason=f"{found.reason}; {why}")


def _met(alloy: Alloy, new: Alloy, rule: str) -> list[Verdict]:
    met = metals_that_meet(alloy.composition, new.composition)
    if met is None:
        return []
    pair, stops = met
    metals = " meets ".join(NAMES[name] for name in pair)
    outcome = Outcome.FAIL if stops else Outcome.UNKNOWN
    threshold = "" if stops else "holds if the touched-up joint keeps its remelt onset"
    return [Verdict(rule, outcome, metals, "common practice; the brief's mixing", threshold=threshold)]
