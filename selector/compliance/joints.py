"""The finished joint, which is what the law on materials judges: its contributors, and which of them breaks a limit.

Paste, ball, wire and finish melt into one homogeneous material. Lead that meets bismuth or indium in it is a stop
beside the law: a fact of metallurgy that no exemption lifts.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from selector.compliance.context import Context
from selector.compliance.evaluation import evaluate, rules_for
from selector.compliance.finding import Finding, Why, ppm_text
from selector.compliance.rulesets import EXEMPTING, Rule, rule
from selector.joint.contributors import Contributor, joint
from selector.policy import policy
from selector.units import exact
from selector.verdict import Outcome

METAL_RULE = "JOINT-PB-BI-IN"
METALLURGY = "metallurgy"


def evaluate_joint(
    rules: Sequence[Rule] | None, contributors: Sequence[Contributor], context: Context, name: str = "joint"
) -> list[Finding]:
    """Return the findings of rules for a finished joint, each bad one with the contributor that brings it about.

    Parameters
    ----------
    rules : sequence of Rule or None
        None: every rule of the context's markets.
    contributors : sequence of Contributor
    context : Context
        Judged is set to the joint, unless it says article.
    name : str
    """
    whole = joint(contributors)
    judged = context if context.judged == "article" else replace(context, judged="joint")
    found = [
        _blamed(entry, evaluate(entry, whole, judged, name), contributors, judged)
        for entry in (tuple(rules_for(judged)) if rules is None else rules)
    ]
    return [*found, metal_stop(contributors, context, name)]


def _blamed(asked: Rule, found: Finding, contributors: Sequence[Contributor], context: Context) -> Finding:
    """Return a finding that is no pass with the contributors that bring the element, largest share first."""
    if found.outcome not in (Outcome.FAIL, Outcome.UNKNOWN, Outcome.DUTY) or not found.measured_ppm:
        return found
    brought = shares(asked.elements, contributors)
    if not brought:
        return found
    told = ", ".join(f"{entry} {ppm_text(content)}" for entry, content in brought)
    guilty = [entry.name for entry in contributors if _without(asked, entry, contributors, context, found)]
    text = f"{found.reason}; brought by {told}"
    if guilty:
        text += f"; without {' or without '.join(guilty)} the joint would do"
    return found._replace(reason=text)


def shares(elements: Sequence[str], contributors: Sequence[Contributor]) -> list[tuple[str, Fraction]]:
    """Return how many ppm of the joint each contributor brings of some elements, largest first."""
    total = sum((entry.mass_mg for entry in contributors), Fraction(0))
    brought = [
        (entry.name, sum((entry.composition.ppm(e) for e in elements), Fraction(0)) * entry.mass_mg / total)
        for entry in contributors
    ]
    return sorted((pair for pair in brought if pair[1]), key=lambda pair: (-pair[1], pair[0]))


def _without(
    asked: Rule, left_out: Contributor, contributors: Sequence[Contributor], context: Context, found: Finding
) -> bool:
    """Return whether the joint would be better off without one contributor."""
    rest = [entry for entry in contributors if entry is not left_out]
    if not rest or asked.effect in EXEMPTING:
        return False
    then = evaluate(asked, joint(rest), context).outcome
    return then in (Outcome.PASS, Outcome.NOT_APPLICABLE) and then is not found.outcome


def metal_stop(contributors: Sequence[Contributor], context: Context, name: str = "joint") -> Finding:
    """Return whether lead of one contributor meets bismuth or indium of another: a stop beside the law."""
    limits = policy().lead_with_bismuth
    lead = [e for e in contributors if e.composition.wt("Pb") > exact(limits.lead_counts_above_wt)]
    rich = [e for e in contributors if e.composition.wt("Bi") > exact(limits.stop_above_bismuth_wt)]
    some = [
        e
        for e in contributors
        if e.composition.wt("Bi") >= exact(limits.watch_from_bismuth_wt)
        or e.composition.wt("In") >= exact(limits.indium_watch_from_wt)
    ]
    whole = joint(contributors)
    met = sorted({e.name for e in lead} | {e.name for e in some}) if lead and some else []
    if not met:
        outcome, why, reason = Outcome.PASS, Why.ABSENT, "lead meets neither bismuth nor indium"
    elif rich:
        outcome, why = Outcome.FAIL, Why.OVER
        reason = f"lead meets bismuth ({', '.join(met)}): a residue that melts at 95 to 98 degC where tin is there too"
    else:
        outcome, why = Outcome.UNKNOWN, Why.RECHECK
        reason = f"lead meets bismuth or indium ({', '.join(met)}): holds if the mixed joint keeps its remelt onset"
    # The thresholds are practice: they are as old as the newest rule that ships.
    return Finding(
        name,
        METAL_RULE,
        "Metallurgy of the joint",
        METALLURGY,
        outcome,
        why,
        "",
        whole.ppm("Pb"),
        None,
        None,
        "",
        None,
        reason,
        "common practice",
        "data/rules/practice.toml, lead with bismuth",
        None,
        rule("EU-ROHS-PB").known_to,
        context.on,
    )
