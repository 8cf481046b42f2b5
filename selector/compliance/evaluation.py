"""One rule, one composition, one use, one day: a finding. And many of them at once.

What an answer rests on is cached by content: a thousand alloys share most of their zeros.
"""

import gc
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from functools import cache

from selector.compliance.answers import answer
from selector.compliance.contents import Contents, contents
from selector.compliance.context import WORLD, Context
from selector.compliance.exemptions import exempting, restriction
from selector.compliance.finding import Answer, Change, Finding, Why
from selector.compliance.reach import ORDER, change_days, edition
from selector.compliance.rulesets import EXEMPTING, Rule, all_rules
from selector.composition import Composition, decimal_text
from selector.verdict import Outcome


def evaluate(
    rule: Rule,
    composition: Composition,
    context: Context,
    alloy: str = "",
    rules: Sequence[Rule] | None = None,
) -> Finding:
    """Return the finding of one rule.

    Parameters
    ----------
    rule : Rule
    composition : Composition
        Nominal, a certificate's or a joint's, as `context.judged` says.
    context : Context
        With the day that is asked about.
    alloy : str, optional
        The name to carry; the designation where left out. No answer depends on it.
    rules : sequence of Rule, optional
        Among which exemptions are looked for; all that ship where left out.
    """
    return _finding(rule, contents(composition, context), context, rules)._replace(alloy=alloy or str(composition))


def evaluate_rules(
    rules: Sequence[Rule], composition: Composition, context: Context, alloy: str
) -> tuple[Finding, ...]:
    """Return the findings of some rules for one composition; exemptions are looked for among all that ship."""
    held = contents(composition, context)
    return tuple(_finding(rule, held, context, None)._replace(alloy=alloy) for rule in rules)


def evaluate_all(
    alloys: Mapping[str, Composition], context: Context, rules: Sequence[Rule] | None = None
) -> list[Finding]:
    """Return the findings of every rule for every alloy, alloys in order and rules in order within each.

    Parameters
    ----------
    alloys : mapping of name to Composition
    context : Context
        Rules of markets that it does not name are left out; customer bans in it are judged last.
    rules : sequence of Rule, optional
        All that ship where left out.
    """
    # Nothing made here is ever part of a cycle, and to look for some among a quarter of a million takes a third longer.
    collecting = gc.isenabled()
    gc.disable()
    try:
        return _evaluated(alloys, context, rules)
    finally:
        if collecting:
            gc.enable()


def _evaluated(alloys: Mapping[str, Composition], context: Context, rules: Sequence[Rule] | None) -> list[Finding]:
    asked = tuple(rules_for(context, rules))
    made: dict[tuple[object, ...], tuple[object, ...]] = {}
    found: list[Finding] = []
    new, take, add = tuple.__new__, made.get, found.append
    plan = [
        (index, entry, entry.elements[0] if len(entry.elements) == 1 else "", _steps(entry, rules))
        for index, entry in enumerate(asked)
    ]
    traced = {element for element, _ in context.traces}
    for name, composition in alloys.items():
        held = contents(composition, context)
        holds, named, stated = held.ppm, held.named, held.stated
        for index, rule, element, steps in plan:
            key: tuple[object, ...]
            content = holds.get(element)
            if not element or element in traced:
                key = (index, *((holds.get(e), stated.get(e), named and e in named) for e in rule.elements))
            elif not content:
                key = (index,)
            else:
                step: object = content
                if steps is not None:
                    above, least = steps
                    step = above is not None and content > above, least is not None and content >= least
                key = (index, step, named is not None and element in named)
            tail = take(key)
            if tail is None:
                tail = made[key] = tuple(_finding(rule, held, context, rules))[1:]
            if content and steps is not None and element not in traced and tail[MEASURED] is not None:
                margin = None if rule.limit_ppm is None else content - rule.limit_ppm
                tail = (*tail[:MEASURED], content, rule.limit_ppm, margin, *tail[MEASURED + 3 :])
            add(new(Finding, (name, *tail)))
    return found


def _steps(rule: Rule, rules: Sequence[Rule] | None) -> tuple[Fraction | None, Fraction | None] | None:
    """Return above and from which content the answer of a rule becomes another one; None where it tells the content.

    Where there is no limit presence alone decides. An exemption by itself asks no more than whether the restriction is
    broken and its own least content is met.
    """
    if rule.effect not in EXEMPTING:
        return None if rule.limit_ppm is not None else (None, None)
    if rule.effect == "route" or len(rule.elements) != 1:
        return None
    target = restriction(rule.rule_set, rule.market, rule.elements[0], rules)
    return None if target is None else target.limit_ppm, rule.limit_ppm


def failing(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings by which an alloy fails; an exemption that does not fit forbids nothing by itself."""
    exempting_ids = {entry.id for entry in all_rules() if entry.effect in EXEMPTING}
    return [entry for entry in findings if entry.outcome is Outcome.FAIL and entry.rule_id not in exempting_ids]


def rules_for(context: Context, rules: Sequence[Rule] | None = None) -> Iterable[Rule]:
    """Return the rules of the markets asked about, and one for every ban of the customer in place of the usual one."""
    banned = {ban.element for ban in context.bans}
    for rule in all_rules() if rules is None else rules:
        if context.markets and rule.market not in context.markets and rule.market != WORLD:
            continue
        if rule.rule_set == BAN_SET and set(rule.elements) & banned:
            continue
        yield rule
    for ban in context.bans:
        yield ban_rule(ban.element, ban.limit_ppm, ban.reason)


BAN_SET = "Customer list"
MEASURED = Finding._fields.index("measured_ppm") - 1  # in a finding without its alloy


@cache
def ban_rule(element: str, limit_ppm: Fraction, reason: str) -> Rule:
    """Return a customer's ban as a rule: at most `limit_ppm` of an element, for a reason."""
    return Rule(
        id=f"CUST-{element.upper()}",
        rule_set=BAN_SET,
        kind="customer",
        market=WORLD,
        date_kind="placed on market",
        instrument="list of the customer",
        clause="ban of the customer",
        substance=reason,
        elements=(element,),
        limit_ppm=limit_ppm,
        test="max",
        basis="homogeneous material",
        effect="customer",
        source="the customer, as the brief or the command line says",
        how_read="as given",
        read="read",
        known_to=date.max,
        confidence="high",
        note=reason,
    )


def unnamed_text(element: str, limit_ppm: Fraction) -> str:
    """Return that a ban lies under what an alloy may hold of an element without naming it; empty where it does not.

    J-STD-006 by `data/rules/quality/jstd006.toml`: a nominal composition says nothing below that.
    """
    allowed = [entry.limit_ppm for entry in all_rules() if entry.id == f"JSTD006-{element.upper()}"]
    if not allowed or allowed[0] is None or allowed[0] <= limit_ppm:
        return ""
    most, banned = decimal_text(allowed[0]), decimal_text(limit_ppm)
    return (
        f"J-STD-006 lets {most} ppm {element} be there unnamed, the ban {banned}: only a certificate shows it is kept"
    )


def _finding(rule: Rule, held: Contents, context: Context, rules: Sequence[Rule] | None) -> Finding:
    found = _by_kind_of_date(rule, held, context, context.on, rules)
    reason = f"{found.reason}; {rule.note}" if rule.effect == "customer" and rule.note else found.reason
    known_to = min(rule.known_to, context.on) if rule.known_to == date.max else rule.known_to
    return Finding(
        "",
        rule.id,
        rule.rule_set,
        rule.kind,
        found.outcome,
        found.why,
        found.duty,
        found.measured_ppm,
        found.limit_ppm,
        found.margin_ppm,
        found.exemption,
        found.exemption_until,
        reason,
        rule.source,
        f"{edition(rule, context.on)}; {rule.clause}",
        _next_change(rule, held, context, rules, found),
        known_to,
        context.on,
    )


def _days(rule: Rule, rules: Sequence[Rule] | None) -> tuple[date, ...]:
    """Return every day on which the answer of a rule, or of what exempts from it, may change; in order."""
    days = set(change_days(rule))
    for entry in exempting(rule, rules) if rule.effect not in EXEMPTING else ():
        days |= change_days(entry)
    if rule.effect in EXEMPTING or any(entry.route_to for entry in exempting(rule, rules)):
        targets = {entry.route_to or entry.rule_set for entry in (rule, *exempting(rule, rules))}
        for entry in all_rules() if rules is None else rules:
            if entry.rule_set in targets and set(entry.elements) & set(rule.elements):
                days |= change_days(entry)
    return tuple(sorted(days))


@cache
def _shipped_days(rule_id: str) -> tuple[date, ...]:
    return _days(next(entry for entry in all_rules() if entry.id == rule_id), None)


def _changes(rule: Rule, rules: Sequence[Rule] | None) -> tuple[date, ...]:
    shipped = rules is None and rule.rule_set != BAN_SET
    return _shipped_days(rule.id) if shipped else _days(rule, rules)


def _by_kind_of_date(rule: Rule, held: Contents, context: Context, on: date, rules: Sequence[Rule] | None) -> Answer:
    """Return the answer on a day, minding that a rule may go by another kind of day.

    Manufacture comes before import, and import before the market. Where the rule's day is the later one, every
    answer that may still come counts; where it is the earlier one, the day asked about stands for it.
    """
    found = answer(rule, held, context, on, rules)
    if ORDER.index(context.date_kind) >= ORDER.index(rule.date_kind):
        return found
    later = [answer(rule, held, context, day, rules) for day in _changes(rule, rules) if day > on]
    differing = next((entry for entry in later if (entry.outcome, entry.duty) != (found.outcome, found.duty)), None)
    if differing is None:
        return found
    outcomes = {entry.outcome for entry in (found, *later)}
    if outcomes <= {Outcome.PASS, Outcome.NOT_APPLICABLE}:
        return found if found.outcome is Outcome.PASS else differing
    text = (
        f"goes by the day {rule.date_kind}, which follows the day {context.date_kind}: it may become"
        f" {differing.outcome.replace('_', ' ')}"
    )
    return found._replace(
        outcome=Outcome.UNKNOWN,
        why=Why.CONTEXT_MISSING,
        duty="",
        exemption="",
        exemption_until=None,
        reason=f"{found.reason}; {text}",
    )


def _next_change(
    rule: Rule, held: Contents, context: Context, rules: Sequence[Rule] | None, found: Answer
) -> Change | None:
    """Return the first later day on which outcome, duty, exemption or text of the rule changes, as known."""
    here = (found.outcome, found.duty, found.exemption)
    text = edition(rule, context.on)
    for day in _changes(rule, rules):
        if day <= context.on:
            continue
        then = _by_kind_of_date(rule, held, context, day, rules)
        if (then.outcome, then.duty, then.exemption) != here:
            return Change(day, f"{then.outcome.replace('_', ' ')}: {then.reason}")
        if edition(rule, day) != text and found.outcome is not Outcome.NOT_APPLICABLE:
            return Change(day, f"the text becomes {edition(rule, day)}; the answer stays")
    return None
