"""What holds for every rule that ships: it speaks where it fits, and is silent where something is missing or past."""

from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path

import pytest

from selector.compliance.context import context
from selector.compliance.evaluation import evaluate
from selector.compliance.exemptions import exempting
from selector.compliance.finding import Why
from selector.compliance.rulesets import DUTIES, EXEMPTING, NOT_THE_METAL, TOLD_ONLY, UNCONFIRMED, all_rules
from selector.composition import atomic_masses, from_mapping
from selector.verdict import Outcome

NOW = date(2026, 11, 25)
WHOLE = {"solder_mg": 1, "article_mg": 1, "battery_mg": 1, "flux_percent": 0}
SILENT = {*TOLD_ONLY}
SPEAKING = [
    entry
    for entry in all_rules()
    if entry.effect not in SILENT and entry.counts == "total element" and entry.basis not in NOT_THE_METAL
]
by_id = {"ids": lambda entry: entry.id}


def judged(rule):
    """Return what must be judged for the basis of a rule to count."""
    if rule.basis == "finish":
        return "finish"
    return {"mixture as sold": "mixture", "solder alloy as supplied": "certificate"}.get(rule.basis, "article")


def scopes(rule, on):
    return [s for s in rule.scope if (s.starts is None or s.starts <= on) and (s.ends is None or on <= s.ends)]


def fitting(rule, on, **more):
    """Return a use that the scope of a rule asks for, with every figure on the right side."""
    facts = {"judged": judged(rule), "customer": [rule.id], "figures": dict(WHOLE), **more}
    facts["declared"] = [balance(rule)]
    uses = [rule.otherwise.unless] if rule.otherwise else []
    for scope in scopes(rule, on)[:1]:
        uses = [*scope.all_of, *scope.any_of[:1], *(f"not-{use}" for use in scope.none_of)]
        facts["equipment"] = scope.equipment[0] if scope.equipment else "lighting" if scope.not_equipment else "unknown"
        facts["application"] = scope.applications[0] if scope.applications else "unknown"
        if scope.not_applications:
            facts["application"] = "die attach"
        facts["form"] = scope.forms[0] if scope.forms else "wire"
        facts["figures"] |= {group[0].figure: group[0].value + 1 for group in scope.conditions}
    facts["figures"] = {name: Fraction(value) for name, value in facts["figures"].items()}
    return context(on, uses, **facts)


def balance(rule):
    return next(e for e in ("Sn", "Cu", "Zn", "Al") if e not in rule.elements)


def holding(rule, ppm, asked):
    """Return the finding of a rule for an alloy with so much of each of its elements."""
    amounts = {e: Fraction(ppm) / 10_000 for e in rule.elements if e in atomic_masses() and ppm}
    beside = {e: Fraction(ppm) for e in rule.elements if e not in atomic_masses()}
    asked = context_with(asked, beside)
    return evaluate(rule, from_mapping(amounts, balance=balance(rule)), asked)


def context_with(asked, traces):
    return asked if not traces else type(asked)(**{**vars(asked), "traces": tuple(sorted(traces.items()))})


def over(rule):
    """Return a content, ppm, that the rule minds."""
    if rule.effect in EXEMPTING:
        return 900_000 // max(1, len(rule.elements))
    if rule.limit_ppm is None:
        return 10_000
    return rule.limit_ppm - 1 if rule.test == "min" else rule.limit_ppm + 1


def test_every_rule_of_the_reference_is_there_and_no_other():
    """`rule_ids.txt` holds the ids of the project's reference list of restricted elements, 2026-11-25."""
    listed = Path(__file__).with_name("rule_ids.txt").read_text(encoding="utf-8").split()
    assert len(listed) == 284
    assert sorted(listed) == sorted(entry.id for entry in all_rules())


@pytest.mark.parametrize("rule", SPEAKING, **by_id)
def test_a_rule_speaks_where_its_whole_scope_is_met(rule):
    found = holding(rule, over(rule), fitting(rule, NOW))
    if rule.test == "import":
        assert (found.outcome, found.why) == (Outcome.UNKNOWN, Why.CONTEXT_MISSING)
    elif rule.effect == "route":
        assert found.outcome is not Outcome.NOT_APPLICABLE  # what it leads to has a test of its own
    else:
        assert found.why not in (Why.CONTEXT_MISSING, Why.OUT_OF_SCOPE, Why.OFF, Why.ABSENT, Why.NOT_NEEDED), found
    if rule.confidence not in UNCONFIRMED and rule.limit_ppm is not None and rule.effect not in EXEMPTING:
        assert found.outcome is (Outcome.DUTY if rule.effect in DUTIES else Outcome.FAIL), found
        assert found.margin_ppm == -1
    assert found.reason
    assert found.source == rule.source
    assert rule.clause in found.clause


@pytest.mark.parametrize("rule", [entry for entry in SPEAKING if entry.scope or entry.otherwise], **by_id)
def test_a_rule_with_a_scope_is_open_where_nothing_is_known(rule):
    facts = {"judged": judged(rule), "figures": {name: Fraction(value) for name, value in WHOLE.items()}}
    found = holding(rule, over(rule), context(NOW, **facts))
    if rule.effect == "not-restricted":  # whatever the equipment
        assert found.outcome is Outcome.PASS
    elif rule.off_by_default:
        assert found.why is Why.OFF
    else:
        assert found.outcome is Outcome.UNKNOWN, found
        assert "not known" in found.reason or found.why is not Why.CONTEXT_MISSING or "asks for a use" in found.reason


@pytest.mark.parametrize("rule", SPEAKING, **by_id)
def test_a_rule_of_little_confidence_never_gives_a_pass_or_a_duty(rule):
    doubted = rule.model_copy(update={"confidence": "medium-low"})
    among = [doubted if entry.id == rule.id else entry for entry in all_rules()]
    asked = fitting(rule, NOW)
    for ppm in (over(rule), (rule.limit_ppm or 2) / 2, rule.limit_ppm or 1):
        amounts = {e: Fraction(ppm) / 10_000 for e in rule.elements if e in atomic_masses()}
        found = evaluate(doubted, from_mapping(amounts, balance=balance(rule)), asked, rules=among)
        assert found.outcome not in (Outcome.PASS, Outcome.DUTY), found


def test_the_shipped_rules_of_little_confidence_are_these():
    """The reference has 24 rows under medium confidence; a rule moves out of them only with a better source."""
    assert len([entry for entry in all_rules() if entry.confidence in UNCONFIRMED]) == 24


@pytest.mark.parametrize("rule", [r for r in SPEAKING if r.valid_until or r.until_by_category], **by_id)
def test_a_rule_past_its_last_day_never_gives_a_pass(rule):
    days = [rule.valid_until, *(entry.latest or entry.day for entry in rule.until_by_category)]
    after = max(day for day in days if day) + timedelta(days=1)
    found = holding(rule, over(rule), fitting(rule, after))
    assert found.outcome is (Outcome.FAIL if rule.after_end == "ended" else Outcome.UNKNOWN), found
    assert found.exemption == ""


@pytest.mark.parametrize("after_end", ["recheck", "ended"])
def test_any_rule_given_a_last_day_stops_passing_after_it(after_end):
    past = {"valid_until": NOW - timedelta(days=1), "after_end": after_end, "in_force_from": None}
    wanted = Outcome.UNKNOWN if after_end == "recheck" else Outcome.NOT_APPLICABLE
    for rule in SPEAKING:
        if rule.limit_ppm is not None and rule.effect not in EXEMPTING:
            ended = rule.model_copy(update=past)
            asked = fitting(rule, NOW)
            for ppm in (over(rule), rule.limit_ppm / 2, 0):
                assert holding(ended, ppm, asked).outcome is wanted, rule.id


def test_an_exemption_lifts_only_its_own_law():
    for rule in all_rules():
        for entry in exempting(rule):
            assert (entry.rule_set, entry.market) == (rule.rule_set, rule.market)


def test_kinds_stay_apart():
    """Law, quality, supply risk, customers and information never share a rule set."""
    kinds = {}
    for entry in all_rules():
        kinds.setdefault(entry.rule_set, set()).add(entry.kind)
    assert {name: kind for name, kind in kinds.items() if len(kind) > 1} == {}
