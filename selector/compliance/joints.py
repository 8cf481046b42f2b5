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
from selector.joint.contributors import Contributor, joint, mass_of
from selector.policy import policy
from selector.units import PPM_PER_PERCENT
from selector.verdict import Outcome

METAL_RULE = "JOINT-PB-BI-IN"
METALLURGY = "metallurgy"


def joint_traces(contributors: Sequence[Contributor]) -> dict[str, Fraction]:
    """Return what measured contents of contributors come to in the joint, ppm; the others bring what they name."""
    total = mass_of(contributors)
    measured = dict.fromkeys(element for entry in contributors for element, _ in entry.traces)
    return {
        element: sum(
            (dict(e.traces).get(element, e.composition.ppm(element)) * e.mass_mg for e in contributors), Fraction(0)
        )
        / total
        for element in measured
    }


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
        Judged is set to the joint, unless it says article. Its measured traces are of the whole joint; those of a
        contributor stand with it.
    name : str
    """
    whole = joint(contributors)
    judged = context if context.judged == "article" else replace(context, judged="joint")
    measured = _with_traces(judged, contributors)
    found = [
        _blamed(entry, evaluate(entry, whole, measured, name), contributors, judged)
        for entry in (tuple(rules_for(judged)) if rules is None else rules)
    ]
    return [*found, metal_stop(contributors, context, name)]


def _with_traces(context: Context, contributors: Sequence[Contributor]) -> Context:
    """Return a context in which traces of contributors count as what they come to; one of the whole joint stands."""
    return context.with_traces({**joint_traces(contributors), **dict(context.traces)})


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
    total = mass_of(contributors)
    brought = [
        (entry.name, sum((entry.most_wt(e) for e in elements), Fraction(0)) * PPM_PER_PERCENT * entry.mass_mg / total)
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
    then = evaluate(asked, joint(rest), _with_traces(context, rest)).outcome
    return then in (Outcome.PASS, Outcome.NOT_APPLICABLE) and then is not found.outcome


def metal_stop(contributors: Sequence[Contributor], context: Context, name: str = "joint") -> Finding:
    """Return whether lead of one contributor meets bismuth or indium of another: a stop beside the law.

    An alloy that holds both by itself is open: it may be meant so, and what melts first in it then rules the joint.
    """
    limits = policy().lead_with_bismuth
    lead = [e for e in contributors if limits.counts("Pb", e.most_wt("Pb"))]
    some = [e for e in contributors if limits.is_reactive(e.most_wt("Bi"), e.most_wt("In"))]
    pairs = [(one, other) for one in lead for other in some if one is not other]
    stops = [(one, other) for one, other in pairs if _stops(other)]
    both = [e for e in lead if e in some]
    if stops:
        outcome, why, reason = Outcome.FAIL, Why.OVER, f"lead meets {_metals(stops)}: {_residue(stops)}"
    elif pairs:
        outcome, why = Outcome.UNKNOWN, Why.RECHECK
        reason = f"lead meets {_metals(pairs)}: holds if the mixed joint keeps its remelt onset"
    elif both:
        outcome, why = Outcome.UNKNOWN, Why.RECHECK
        names = ", ".join(e.name for e in both)
        reason = f"{names} holds lead with bismuth or indium by itself: holds if its own first melting is high enough"
    else:
        outcome, why, reason = Outcome.PASS, Why.ABSENT, "lead meets neither bismuth nor indium"
    whole = joint(contributors)
    # The thresholds are practice: they are as old as the newest rule that ships.
    return Finding(
        name,
        METAL_RULE,
        "Metallurgy of the joint",
        METALLURGY,
        outcome,
        why,
        "",
        max(joint_traces(contributors).get("Pb", whole.ppm("Pb")), whole.ppm("Pb")),
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


def _stops(alloy: Contributor) -> bool:
    return policy().lead_with_bismuth.stops(alloy.most_wt("Bi"), alloy.most_wt("In"))


def _metals(pairs: Sequence[tuple[Contributor, Contributor]]) -> str:
    """Return which metal of whom the lead of whom meets."""
    symbols = {"Bi": "bismuth", "In": "indium"}
    told = []
    for one, other in pairs:
        metals = " and ".join(word for symbol, word in symbols.items() if other.most_wt(symbol))
        told.append(f"{metals} of {other.name} ({one.name} brings the lead)")
    return ", ".join(told)


def _residue(pairs: Sequence[tuple[Contributor, Contributor]]) -> str:
    if any(policy().lead_with_bismuth.is_rich(other.most_wt("Bi")) for _, other in pairs):
        return "a residue that melts at 95 to 98 degC where tin is there too, lower still with indium"
    return "what melts first in the mixed joint is not tabulated"
