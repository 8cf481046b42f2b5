"""What one rule answers to one composition on one day, by the comparator that its text has."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction

from selector.compliance.contents import ZERO, Contents
from selector.compliance.context import USES, WORLD, Context
from selector.compliance.exemptions import RENEWAL, Status, best, claim, exempting, restriction
from selector.compliance.finding import Answer, Why, ppm_text
from selector.compliance.reach import Reach, judged_otherwise, not_begun, reaches_equipment, rule_reach, share, window
from selector.compliance.rulesets import (
    DUTIES,
    EXEMPTING,
    NOT_THE_METAL,
    TOLD_ONLY,
    UNCONFIRMED,
    Rule,
)
from selector.verdict import Outcome

FAIL, PASS, UNKNOWN, DUTY, NA = (
    Outcome.FAIL,
    Outcome.PASS,
    Outcome.UNKNOWN,
    Outcome.DUTY,
    Outcome.NOT_APPLICABLE,
)
WITH_A_CERTIFICATE = ("alloy", "certificate", "mixture")  # what is bought, and comes with an analysis of its traces
LESS_THAN = {"below", "at_or_above_triggers"}  # the limit itself is already over
SAID = {
    "max": ("at most", "allowed"),
    "below": ("below", "allowed"),
    "above_triggers": ("at most", "without a duty"),
    "at_or_above_triggers": ("below", "without a duty"),
    "min": ("at least", "asked"),
}


def answer(rule: Rule, held: Contents, context: Context, on: date, rules: Sequence[Rule] | None = None) -> Answer:
    """Return what a rule answers on a day.

    Parameters
    ----------
    rule : Rule
    held : Contents
    context : Context
    on : date
        The day, which need not be the context's: this is how the next change is found.
    rules : sequence of Rule, optional
        Among which exemptions are looked for; all that ship where left out.
    """
    found = _answer(rule, held, context, on, rules)
    if not held.stated or held.stated.keys().isdisjoint(rule.elements):
        return found
    # A measurement that differs from what the alloy names may be of another lot, or a slip: the worse answer holds.
    told = ", ".join(
        f"{ppm_text(held.of(element))} {element} measured, {ppm_text(held.stated[element])} nominal"
        for element in rule.elements
        if element in held.stated
    )
    nominal = _answer(rule, held._replace(ppm={**held.ppm, **held.stated}), context, on, rules)
    worse = min((found, nominal), key=_weight)
    return worse._replace(reason=f"{worse.reason}; {told}: the worse answer holds")


def _answer(rule: Rule, held: Contents, context: Context, on: date, rules: Sequence[Rule] | None) -> Answer:
    aside = _aside(rule, held, context)
    if aside is not None:
        return aside
    if rule.effect in EXEMPTING:
        return _exemption(rule, held, context, on, rules)
    starts = window(rule.starts, rule.from_by_category, context)
    if starts is not None and on < starts[0]:
        return Answer(NA, Why.NOT_IN_FORCE, f"not in force before {starts[0]}")
    ends = window(rule.valid_until, rule.until_by_category, context)
    if ends is not None and on > ends[1] and rule.after_end == "ended":
        return Answer(NA, Why.NOT_IN_FORCE, f"not in force after {ends[1]}")
    found = rule_reach(rule, context, on)
    if found.met is False:
        return Answer(NA, Why.OUT_OF_SCOPE, found.text)
    if ends is not None and on > ends[0] and (rule.limit_ppm is not None or any(held.of(e) for e in rule.elements)):
        return Answer(UNKNOWN, Why.RECHECK, f"the rule is past {ends[0]}: {rule.until_text or 'look again'}")
    if rule.limit_ppm is None:
        return _without_limit(rule, held, found)
    if starts is not None and on < starts[1]:
        found = Reach(None, f"whether the rule holds for this equipment already; it comes up to {starts[1]}")
    return min((_against(rule, element, held, context, on, found, rules) for element in rule.elements), key=_weight)


def _weight(entry: Answer) -> int:
    return (FAIL, UNKNOWN, DUTY, PASS, NA).index(entry.outcome)


def _aside(rule: Rule, held: Contents, context: Context) -> Answer | None:
    """Return the answer of a rule that has nothing to compare with this metal, market or contract."""
    if context.markets and rule.market != WORLD and rule.market not in context.markets:
        return Answer(NA, Why.OUT_OF_SCOPE, f"{rule.market} is not a market that was asked about")
    if rule.effect in TOLD_ONLY:
        if rule.elements and not any(held.of(element) for element in rule.elements):
            return Answer(NA, Why.ABSENT, f"holds no {', '.join(rule.elements)}")
        return Answer(NA, Why.TOLD_ONLY, f"no verdict, to know: {rule.substance}. {rule.note}".strip())
    if rule.counts == "none of the metal" or rule.basis in NOT_THE_METAL:
        told = "a compound or one oxidation state" if rule.basis not in NOT_THE_METAL else rule.basis
        return Answer(NA, Why.NOT_THE_METAL, f"concerns {told}, never the metal of a solder")
    if rule.off_by_default and rule.id not in context.customer:
        asked = [use for scope in rule.scope for use in scope.all_of]
        if not asked or not all(context.holds(use) for use in asked):
            return Answer(NA, Why.OFF, "off unless a customer or a contract asks for it")
    other = judged_otherwise(rule, context)
    return Answer(NA, Why.OUT_OF_SCOPE, other) if other else None


def _without_limit(rule: Rule, held: Contents, found: Reach) -> Answer:
    """Return the answer of a rule that has no number to compare."""
    present = [element for element in rule.elements if held.of(element)]
    names = ", ".join(present)
    if not present and rule.elements and rule.effect != "justify":
        return Answer(NA, Why.ABSENT, f"holds no {', '.join(rule.elements)}")
    most = max((held.of(element) for element in present), default=ZERO)
    if rule.effect == "not-restricted":
        text = f"{names} is not restricted here. {rule.note}".strip()
        return _confirmed(rule, Answer(PASS, Why.NOT_RESTRICTED, text, most))
    if rule.test == "not_listed":
        return _confirmed(rule, Answer(PASS, Why.NOT_LISTED, f"{names} is not on the list", most))
    if rule.test in ("release", "exposure"):
        what = "a rate of release" if rule.test == "release" else "exposure"
        text = f"limits {what} and no content ({rule.limit_text}); {names} is there and the article must be tested"
        return Answer(UNKNOWN, Why.NOT_A_CONTENT, _with_missing(text, found), most)
    if rule.test == "import":
        text = f"goes by the mass imported in a year ({rule.limit_text}), which is not known here"
        return Answer(UNKNOWN, Why.CONTEXT_MISSING, _with_missing(text, found), most)
    if rule.test == "suspended":
        text = f"{rule.substance}: {rule.until_text or 'suspended'} {rule.valid_until or ''}; look again".strip()
        return Answer(UNKNOWN, Why.RECHECK, _with_missing(text, found), most)
    if found.met is None:
        return Answer(UNKNOWN, Why.CONTEXT_MISSING, f"{names}: {rule.substance}; not known: {found.text}", most)
    if rule.kind == "supply-risk" and rule.effect not in DUTIES:
        text = f"{names}: {rule.substance}; a flag. {rule.note}".strip()
        return _confirmed(rule, Answer(DUTY, Why.FLAG, text, most, duty="flag"))
    if rule.effect in DUTIES:
        text = f"{names or 'a lead-free alloy'}: {rule.substance} {rule.limit_text}".strip()
        text += f"; the duty: {rule.effect.replace('-', ' ')}"
        return _confirmed(rule, Answer(DUTY, Why.DUTY, text, most, duty=rule.effect))
    return Answer(UNKNOWN, Why.RECHECK, f"{names}: compare with the contract. {rule.note}".strip(), most)


def _with_missing(text: str, found: Reach) -> str:
    return f"{text}; not known: {found.text}" if found.met is None else text


def _against(
    rule: Rule,
    element: str,
    held: Contents,
    context: Context,
    on: date,
    found: Reach,
    rules: Sequence[Rule] | None,
) -> Answer:
    """Return the answer of a rule with a limit for one of its elements."""
    assert rule.limit_ppm is not None
    limit, content = rule.limit_ppm, held.of(element)
    if rule.effect == "quality":
        settled = _impurity(element, held)
        if settled is not None:
            return settled._replace(measured_ppm=content, limit_ppm=limit, margin_ppm=limit - content)
    part = share(rule, context)
    value = content * (1 if part is None else part)
    if rule.test == "min":
        return _least(rule, element, value, limit)
    over = value >= limit if rule.test in LESS_THAN else value > limit
    figures = (value, limit, limit - value)
    text = _compared(rule, element, value, limit)
    if not over:
        measured = element in held.measured
        why = Why.WITHIN if measured or content else Why.CERTIFICATE_NEEDED
        if why is Why.CERTIFICATE_NEEDED and context.judged in WITH_A_CERTIFICATE:
            return Answer(UNKNOWN, why, f"{text}: as nominal; certificate needed for {element}", *figures)
        passed = text if measured else f"{text}: as nominal; the certificate of the lot must confirm it"
        return _confirmed(rule, Answer(PASS, why, passed, *figures))
    if part is None:
        needed = f"the masses of solder and {rule.basis}" if rule.basis in ("article", "battery") else "form and flux"
        most = float(limit / content * 100)
        needed = f"{found.text}; {needed}" if found.met is None else needed
        text = f"{text} if the solder were all of it; not known: {needed}. Within when the metal is under {most:.3g} %"
        return Answer(UNKNOWN, Why.CONTEXT_MISSING, text, *figures)
    return _over(rule, element, content, context, on, found, rules, Answer(FAIL, Why.OVER, text, *figures))


def _compared(rule: Rule, element: str, value: Fraction, limit: Fraction) -> str:
    sign, what = SAID[rule.test]
    return f"{ppm_text(value)} {element}, {sign} {ppm_text(limit)} of {rule.basis} {what}"


def _least(rule: Rule, element: str, value: Fraction, limit: Fraction) -> Answer:
    text = _compared(rule, element, value, limit)
    figures = (value, limit, value - limit)
    if value >= limit:
        return _confirmed(rule, Answer(PASS, Why.WITHIN, text, *figures))
    return Answer(FAIL, Why.UNDER_LEAST, text, *figures)


def _impurity(element: str, held: Contents) -> Answer | None:
    """Return the answer where an impurity limit cannot be held against a content; None where it can."""
    if held.named is not None and element in held.named:
        return Answer(NA, Why.NAMED, f"{element} is a named constituent, no impurity")
    if element not in held.measured:
        return Answer(UNKNOWN, Why.CERTIFICATE_NEEDED, f"as nominal; certificate needed for {element}")
    return None


def _over(
    rule: Rule,
    element: str,
    content: Fraction,
    context: Context,
    on: date,
    found: Reach,
    rules: Sequence[Rule] | None,
    failed: Answer,
) -> Answer:
    """Return what follows from a content over the limit: fail, duty, an exemption, or what is not known."""
    if rule.effect in DUTIES:
        result = _owed(failed, rule.effect)
        return _open_scope(_confirmed(rule, result), found)
    if rule.effect == "quality" and context.judged == "certificate" and context.declared is None:
        text = f"{failed.reason}; not known: whether {element} is a named constituent"
        return failed._replace(outcome=UNKNOWN, why=Why.CONTEXT_MISSING, reason=text)
    if rule.otherwise is not None:
        early = rule.otherwise.listing_from is not None and on < rule.otherwise.listing_from
        listed = False if early else context.holds(rule.otherwise.unless)
        if listed is False:
            return _owed(failed, rule.otherwise.effect)
        if listed is None:
            text = f"{failed.reason}; a fail for products in the listing, else {rule.otherwise.effect}"
            text += f"; not known: whether {USES[rule.otherwise.unless]}"
            failed = failed._replace(outcome=UNKNOWN, why=Why.CONTEXT_MISSING, reason=text)
    saved = _saved(rule, element, content, context, on, rules, failed)
    return _open_scope(saved, found)


def _owed(failed: Answer, duty: str) -> Answer:
    """Return a content over its limit as a duty, which the reason names too."""
    text = f"{failed.reason}; the duty: {duty.replace('-', ' ')}"
    return failed._replace(outcome=DUTY, why=Why.DUTY, duty=duty, reason=text)


def _open_scope(result: Answer, found: Reach) -> Answer:
    if found.met is not None or result.outcome is PASS:
        return result
    return result._replace(
        outcome=UNKNOWN, why=Why.CONTEXT_MISSING, duty="", reason=f"{result.reason}; not known: {found.text}"
    )


WHY_OPEN = {
    Status.MISSING: Why.CONTEXT_MISSING,
    Status.NEEDS_EVIDENCE: Why.EXEMPTION_NEEDS_EVIDENCE,
    Status.LAPSED: Why.EXEMPTION_LAPSED,
    Status.CONFIRM: Why.UNCONFIRMED,
}


def _saved(
    rule: Rule,
    element: str,
    content: Fraction,
    context: Context,
    on: date,
    rules: Sequence[Rule] | None,
    failed: Answer,
) -> Answer:
    """Return a failed answer as the exemptions of its rule leave it."""
    if rule.effect != "restrict":
        return failed
    candidates = [entry for entry in exempting(rule, rules) if element in entry.elements]
    routes = [_route(entry, element, content, context, on, rules) for entry in candidates if entry.effect == "route"]
    for through in (entry for entry in routes if entry.outcome is PASS):
        return through._replace(
            measured_ppm=failed.measured_ppm, limit_ppm=failed.limit_ppm, margin_ppm=failed.margin_ppm
        )
    maybe = next((entry for entry in routes if entry.outcome is UNKNOWN), None)
    claims = [claim(entry, content, context, on) for entry in candidates if entry.effect != "route"]
    held = best(claims)
    if held is None and maybe is not None:
        return failed._replace(outcome=UNKNOWN, why=maybe.why, reason=f"{failed.reason}; {maybe.reason}")
    if held is None:
        # That nobody filed a renewal was said, and is why it fails: say so.
        ended = [entry.text for entry in claims if entry.status is Status.ENDED and context.holds(RENEWAL) is False]
        return failed._replace(reason="; ".join([failed.reason, *ended]))
    if held.status is Status.SAVES:
        return failed._replace(
            outcome=PASS,
            why=Why.EXEMPT,
            reason=f"{failed.reason}; {held.text}",
            exemption=held.rule.exemption,
            exemption_until=held.until,
        )
    alike = [entry for entry in claims if entry.status is held.status and entry is not held]
    also = f"; so for their own uses {', '.join(entry.rule.exemption for entry in alike)}" if alike else ""
    last = max((entry.until for entry in alike if entry.until), default=None)
    also += f", the last until {last}" if last else ""
    also += f"; {maybe.reason}" if maybe is not None else ""
    return failed._replace(outcome=UNKNOWN, why=WHY_OPEN[held.status], reason=f"{failed.reason}; {held.text}{also}")


def _route(
    rule: Rule, element: str, content: Fraction, context: Context, on: date, rules: Sequence[Rule] | None
) -> Answer:
    """Return the answer of the law that a route leads to, where the route is open to this use."""
    found = rule_reach(rule, context, on)
    target = restriction(rule.route_to, "", element, rules)
    ends = window(rule.valid_until, rule.until_by_category, context)
    past = ends is not None and on > ends[0]
    if found.met is False or target is None or past or (rule.starts is not None and on < rule.starts):
        return Answer(FAIL, Why.NO_EXEMPTION_FITS, f"{rule.exemption}: {found.text or 'not open on this day'}")
    held = Contents({element: content}, frozenset(), frozenset(), {})
    # The law that the route leads to is judged though its market is not the one asked about.
    led = answer(target, held, replace(context, markets=frozenset()), on, rules)
    if found.met is None and led.outcome is not FAIL:
        return Answer(UNKNOWN, Why.CONTEXT_MISSING, f"{rule.exemption} may open it; not known: {found.text}")
    return _confirmed(rule, led._replace(reason=f"by way of {rule.route_to}: {led.reason}"))


def _exemption(rule: Rule, held: Contents, context: Context, on: date, rules: Sequence[Rule] | None) -> Answer:
    """Return the answer of an exemption by itself: needed, claimed, fitting, in time."""
    answers = []
    for element in rule.elements:
        target = restriction(rule.rule_set, rule.market, element, rules)
        content = held.of(element)
        if target is None or target.limit_ppm is None or content <= target.limit_ppm or not_begun(target, context, on):
            answers.append(Answer(NA, Why.NOT_NEEDED, f"not needed: {element} is over no limit that holds"))
            continue
        within = rule_reach(target, context, on)
        beside = judged_otherwise(target, context) or ("" if within.met is not False else within.text)
        if beside:
            answers.append(Answer(NA, Why.OUT_OF_SCOPE, beside))
            continue
        if not reaches_equipment(rule, context):
            text = f"{rule.exemption} does not reach equipment of kind {context.equipment}"
            answers.append(Answer(NA, Why.OUT_OF_SCOPE, text))
            continue
        figures = (content, rule.limit_ppm, None if rule.limit_ppm is None else content - rule.limit_ppm)
        answers.append(
            _open_scope(_claimed(rule, element, content, context, on, rules), within)._replace(
                measured_ppm=figures[0], limit_ppm=figures[1], margin_ppm=figures[2]
            )
        )
    return min(answers, key=_weight)


def _claimed(
    rule: Rule, element: str, content: Fraction, context: Context, on: date, rules: Sequence[Rule] | None
) -> Answer:
    if rule.effect == "route":
        return _route(rule, element, content, context, on, rules)
    found = claim(rule, content, context, on)
    if found.status is Status.SAVES:
        return Answer(PASS, Why.EXEMPT, found.text, exemption=rule.exemption, exemption_until=found.until)
    if found.status is Status.NOT_YET:
        return Answer(NA, Why.NOT_IN_FORCE, found.text)
    if found.status is Status.UNCLAIMED:
        return Answer(UNKNOWN, Why.CONTEXT_MISSING, found.text)
    if found.status in WHY_OPEN:
        return Answer(UNKNOWN, WHY_OPEN[found.status], found.text)
    why = Why.EXEMPTION_ENDED if found.status is Status.ENDED else Why.NO_EXEMPTION_FITS
    return Answer(FAIL, why, found.text)


def _confirmed(rule: Rule, found: Answer) -> Answer:
    """Return an answer with a pass or a duty taken back where the source of the rule is not confirmed."""
    if rule.confidence in UNCONFIRMED and found.outcome in (PASS, DUTY):
        text = f"{found.reason}; but the rule is unconfirmed ({rule.confidence} confidence, {rule.how_read})"
        return found._replace(outcome=UNKNOWN, why=Why.UNCONFIRMED, duty="", reason=text)
    return found
