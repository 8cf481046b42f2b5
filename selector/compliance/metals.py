"""Restricted metals and customers' bans against a nominal composition, in exact arithmetic.

A nominal composition is not a certificate: an element that the alloy does not name may still be there as an impurity,
so a pass says so.
"""

from selector.brief import Brief
from selector.catalogue import Alloy
from selector.compliance.rulesets import RuleSet, rule_sets
from selector.composition import decimal_text
from selector.fields import UNKNOWN
from selector.units import exact
from selector.verdict import Edit, Measured, Outcome, Verdict

BAN_RULE = "customer_ban"
NOMINAL = "as nominal; the lot's certificate must confirm the traces"


def law(brief: Brief, alloy: Alloy) -> tuple[Verdict, ...]:
    """Return one verdict for every rule set, on the dates and for the equipment of the brief."""
    return tuple(_instrument(brief, alloy, rules) for rules in rule_sets())


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
    if all(substance.in_force_from > entry.date for substance in rules.substance):
        first = min(substance.in_force_from for substance in rules.substance)
        return Verdict(
            rules.rule, Outcome.NOT_APPLICABLE, f"{rules.instrument} holds from {first}, after {entry.date}", source
        )
    over = [
        substance
        for substance in rules.substance
        if substance.in_force_from <= entry.date and alloy.composition.ppm(substance.element) > substance.limit_ppm
    ]
    if not over:
        worst = max(rules.substance, key=lambda s: alloy.composition.ppm(s.element) / s.limit_ppm)
        content = float(alloy.composition.ppm(worst.element))
        return Verdict(
            rules.rule,
            Outcome.PASS,
            f"holds no {', '.join(s.element for s in rules.substance)} above the limits of {rules.instrument}",
            source,
            Measured.exactly(content, "ppm"),
            worst.limit_ppm,
            worst.limit_ppm - content,
            cautions=(NOMINAL,),
        )
    worst = max(over, key=lambda s: alloy.composition.ppm(s.element) / s.limit_ppm)
    content = float(alloy.composition.ppm(worst.element))
    found = f"{decimal_text(alloy.composition.ppm(worst.element))} ppm {worst.element}, at most {worst.limit_ppm}"
    reason = f"{found} ({rules.instrument}, {rules.basis}, {entry.date_kind} {entry.date})"
    figures = (Measured.exactly(content, "ppm"), float(worst.limit_ppm), worst.limit_ppm - content)
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
        return Verdict(
            BAN_RULE,
            Outcome.PASS,
            f"{decimal_text(content)} ppm {ban.element}, banned above {decimal_text(limit)}",
            source,
            *figures,
            cautions=(NOMINAL,),
        )
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
    )
