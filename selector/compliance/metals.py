"""Restricted metals and customers' bans against a nominal composition, in exact arithmetic.

A nominal composition is not a certificate: an element that the alloy does not name may still be there as an impurity,
so a pass says so.
"""

from dataclasses import replace

from selector.brief import Brief
from selector.catalogue import Alloy
from selector.compliance.rulesets import RuleSet, rule_sets
from selector.composition import decimal_text
from selector.fields import UNKNOWN
from selector.joint.contamination import lead_sources
from selector.units import exact
from selector.verdict import Edit, Measured, Outcome, Verdict

BAN_RULE = "customer_ban"
ELSEWHERE_RULE = "law_elsewhere"
PLACED = "placed on market"
NOMINAL = "contents are nominal: the certificate of the lot must confirm the traces"


def law(brief: Brief, alloy: Alloy) -> tuple[Verdict, ...]:
    """Return one verdict for every rule set, and one for the markets that none covers."""
    return (*(_instrument(brief, alloy, rules) for rules in rule_sets()), _elsewhere(brief, alloy))


def _elsewhere(brief: Brief, alloy: Alloy) -> Verdict:
    """Return whether markets without a rule set, or no market at all, leave a restricted metal open."""
    unjudged = markets_not_judged(brief)
    if brief.markets and not unjudged:
        return Verdict(ELSEWHERE_RULE, Outcome.NOT_APPLICABLE, "every market of the brief has a rule set", "the brief")
    where = ", ".join(unjudged) or "the markets, which the brief does not name"
    over = [
        f"{decimal_text(alloy.composition.ppm(substance.element))} ppm {substance.element}"
        for substance in {entry.element: entry for rules in rule_sets() for entry in rules.substance}.values()
        if alloy.composition.ppm(substance.element) > substance.limit_ppm
    ]
    if not over:
        return Verdict(
            ELSEWHERE_RULE,
            Outcome.NOT_APPLICABLE,
            f"the law of {where} is not judged",
            "the brief",
            cautions=(NOMINAL,),
        )
    return Verdict(
        ELSEWHERE_RULE,
        Outcome.UNKNOWN,
        f"holds {', '.join(over)}, and the law of {where} is not judged",
        "the brief; no rule set",
        threshold=f"lawful only if the law of {where} allows {', '.join(over)}",
    )


def markets_not_judged(brief: Brief) -> tuple[str, ...]:
    """Return the markets of the brief for which no rule set is loaded."""
    covered = {rules.market for rules in rule_sets()}
    return tuple(entry.market for entry in brief.markets if entry.market not in covered)


def _instrument(brief: Brief, alloy: Alloy, rules: RuleSet) -> Verdict:
    source = f"{rules.source}; law as known on {rules.known_to}"
    entry = next((market for market in brief.markets if market.market == rules.market), None)
    if entry is None:
        return Verdict(rules.rule, Outcome.NOT_APPLICABLE, f"{rules.market} is not a market of this brief", source)
    equipment = brief.use.equipment
    if equipment == UNKNOWN and brief.use.automotive is True:
        equipment = "vehicle"
    if equipment in rules.out_of_scope:
        return Verdict(
            rules.rule,
            Outcome.NOT_APPLICABLE,
            f"{rules.instrument} does not reach equipment of kind {equipment}",
            source,
        )
    first = min(substance.in_force_from for substance in rules.substance)
    if first > entry.date and entry.date_kind == PLACED:
        reason = f"{rules.instrument} holds from {first}, after {entry.date}"
        return Verdict(rules.rule, Outcome.NOT_APPLICABLE, reason, source)
    over = [
        substance for substance in rules.substance if alloy.composition.ppm(substance.element) > substance.limit_ppm
    ]
    if not over:
        worst = max(rules.substance, key=lambda s: alloy.composition.ppm(s.element) / s.limit_ppm)
        content = float(alloy.composition.ppm(worst.element))
        verdict = Verdict(
            rules.rule,
            Outcome.PASS,
            f"holds no {', '.join(s.element for s in rules.substance)} above the limits of {rules.instrument}",
            source,
            Measured.exactly(content, "ppm"),
            worst.limit_ppm,
            worst.limit_ppm - content,
            cautions=(NOMINAL,),
        )
        return _with_board_lead(brief, verdict, rules.instrument)
    worst = max(over, key=lambda s: alloy.composition.ppm(s.element) / s.limit_ppm)
    content = float(alloy.composition.ppm(worst.element))
    found = f"{decimal_text(alloy.composition.ppm(worst.element))} ppm {worst.element}, at most {worst.limit_ppm}"
    reason = f"{found} ({rules.instrument}, {rules.basis}, {entry.date_kind} {entry.date})"
    figures = (Measured.exactly(content, "ppm"), float(worst.limit_ppm), worst.limit_ppm - content)
    if first > entry.date:
        threshold = f"lawful only if it is also placed on the market before {first}"
        return Verdict(rules.rule, Outcome.UNKNOWN, reason, source, *figures, threshold)
    if equipment == UNKNOWN:
        return Verdict(
            rules.rule,
            Outcome.UNKNOWN,
            reason,
            source,
            *figures,
            f"lawful only if {rules.instrument} does not reach this",
        )
    saved = [
        exemption
        for exemption in rules.exemption
        if exemption.element == worst.element and alloy.composition.ppm(worst.element) >= exemption.at_least_ppm
    ]
    if saved and len(over) == 1:
        lapsed = saved[0].valid_until is not None and entry.date > saved[0].valid_until
        when = f"; as known it ends {saved[0].valid_until}, before {entry.date}" if lapsed else ""
        threshold = f"lawful only for a use that {saved[0].entry} covers: {saved[0].text}{when}"
        return Verdict(rules.rule, Outcome.UNKNOWN, reason, source, *figures, threshold)
    return Verdict(rules.rule, Outcome.FAIL, reason, source, *figures)


def _with_board_lead(brief: Brief, verdict: Verdict, what: str) -> Verdict:
    """Return a pass on lead as open where a part of the board brings lead into the finished joint, which is judged."""
    sources = lead_sources(brief)
    certain = [entry for entry in sources if entry.certain]
    names = ", ".join(entry.name for entry in certain or sources)
    if verdict.outcome is not Outcome.PASS or not sources:
        return verdict
    if not certain:
        caution = f"{names} may bring lead: {what} judges the finished joint, which is not computed yet"
        return replace(verdict, cautions=(*verdict.cautions, caution))
    return replace(
        verdict,
        outcome=Outcome.UNKNOWN,
        reason=f"{verdict.reason}; but {names} brings lead into the finished joint",
        threshold=f"holds if the finished joint at {names} keeps within {what}",
        edits=tuple(edit for entry in certain for edit in entry.edits),
    )


def bans(brief: Brief, alloy: Alloy) -> tuple[Verdict, ...]:
    """Return one verdict for every customer ban of the brief."""
    return tuple(_ban(brief, alloy, index) for index in range(len(brief.bans)))


def _ban(brief: Brief, alloy: Alloy, index: int) -> Verdict:
    ban = brief.bans[index]
    content = alloy.composition.ppm(ban.element)
    limit = exact(ban.limit_ppm)
    figures = (Measured.exactly(float(content), "ppm"), float(limit), float(limit - content))
    source = "the brief's bans; composition of the catalogue"
    if content <= limit:
        verdict = Verdict(
            BAN_RULE,
            Outcome.PASS,
            f"{decimal_text(content)} ppm {ban.element}, banned above {decimal_text(limit)}",
            source,
            *figures,
            cautions=(NOMINAL,),
            subject=ban.element,
        )
        return _with_board_lead(brief, verdict, "the ban") if ban.element == "Pb" else verdict
    edit = Edit(
        f"bans[{index}].limit_ppm",
        float(content),
        f"have the customer lift the ban on {ban.element} from {decimal_text(limit)} to {decimal_text(content)} ppm",
        float(content - limit),
        "ppm",
    )
    return Verdict(
        BAN_RULE,
        Outcome.FAIL,
        f"{decimal_text(content)} ppm {ban.element}, banned above {decimal_text(limit)}: {ban.reason}",
        source,
        *figures,
        edits=(edit,),
        subject=ban.element,
    )
