"""Nominal contents are no certificate: what is open, what a measurement settles, and what none may hide."""

from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.compliance.context import Ban, context
from selector.compliance.evaluation import evaluate, evaluate_all
from selector.compliance.finding import Why
from selector.compliance.rulesets import all_rules, rule
from selector.composition import parse
from selector.verdict import Outcome

NOW = date(2026, 11, 25)
QUALITY = [entry for entry in all_rules() if entry.kind == "quality" and entry.limit_ppm is not None and entry.elements]
ALLOYS = ("SAC305", "Sn63Pb37", "Sn42Bi58", "Sn-0.7Cu-0.05Ni", "Pb95Sn5", "In52Sn48", "Sn-5Sb")


def use(judged="alloy", **facts):
    return context(NOW, equipment="consumer", judged=judged, **facts)


def of(rule_id, alloy, asked):
    return evaluate(rule(rule_id), parse(alloy), asked)


@pytest.mark.parametrize(
    ("judged", "rule_id", "outcome"),
    [
        ("alloy", "EU-ROHS-PB", "unknown"),
        ("certificate", "EU-ROHS-PB", "unknown"),  # the certificate says nothing of lead
        ("joint", "EU-ROHS-PB", "pass"),  # the joint as stated; the words still ask for the certificate
        ("article", "EU-REACH-SVHC-PB", "pass"),
        ("alloy", "JSTD006-PB", "unknown"),
        ("certificate", "JSTD006-PB", "unknown"),
        ("alloy", "ISO9453-CD", "unknown"),
        ("mixture", "EU-CLP-PB", "unknown"),
    ],
)
def test_an_unmeasured_trace_of_what_is_bought_is_open(judged, rule_id, outcome):
    found = of(
        rule_id, "SAC305", use(judged, form="wire", figures={"solder_mg": Fraction(1), "article_mg": Fraction(1)})
    )
    assert found.outcome == outcome, found.reason
    assert found.why is Why.CERTIFICATE_NEEDED
    assert "as nominal; " in found.reason
    assert "certificate" in found.reason


@settings(deadline=None)
@given(st.sampled_from(QUALITY), st.sampled_from(ALLOYS), st.sampled_from(["alloy", "certificate", "joint", "article"]))
def test_an_unmeasured_trace_never_passes_an_impurity_limit(entry, alloy, judged):
    found = evaluate(entry, parse(alloy), use(judged))
    measured = judged == "certificate" and any(parse(alloy).ppm(element) for element in entry.elements)
    if not measured:
        assert found.outcome in (Outcome.UNKNOWN, Outcome.NOT_APPLICABLE)


@settings(deadline=None)
@given(st.sampled_from([e for e in all_rules() if e.kind == "law"]), st.sampled_from(ALLOYS))
def test_no_law_is_passed_by_what_is_not_measured(entry, alloy):
    """Of the alloy as bought a pass rests on a content that it names, never on one that nobody looked for."""
    found = evaluate(entry, parse(alloy), use())
    if found.outcome is Outcome.PASS and entry.limit_ppm is not None:
        assert any(parse(alloy).ppm(element) for element in entry.elements)


@pytest.mark.parametrize(
    ("ppm", "rohs", "jstd"),
    [(0, "pass", "pass"), (700, "pass", "pass"), (701, "pass", "fail"), (1000, "pass", "fail"), (1001, "fail", "fail")],
)
def test_a_measured_trace_settles_it(ppm, rohs, jstd):
    asked = use(traces={"Pb": Fraction(ppm)})
    assert of("EU-ROHS-PB", "SAC305", asked).outcome == rohs
    assert of("JSTD006-PB", "SAC305", asked).outcome == jstd
    assert of("EU-ROHS-CD", "SAC305", asked).outcome is Outcome.UNKNOWN


@pytest.mark.parametrize(
    ("alloy", "rule_id", "element", "ppm", "outcome"),
    [
        ("Sn63Pb37", "EU-ROHS-PB", "Pb", 450, "fail"),  # a trace of the next alloy on the list hides no lead
        ("Sn-0.09Pb", "EU-ROHS-PB", "Pb", 1001, "fail"),
        ("Sn-0.09Pb", "EU-ROHS-PB", "Pb", 950, "pass"),
        ("Pb85Sn15", "EU-ROHS-X-7A", "Pb", 849_999, "fail"),
        ("Pb84.9Sn15.1", "EU-ROHS-X-7A", "Pb", 850_000, "fail"),
        ("Sn-5Sb", "CUST-SB", "Sb", 10, "fail"),
    ],
)
def test_a_measurement_beside_a_named_content_never_lifts_a_verdict(alloy, rule_id, element, ppm, outcome):
    asked = use("joint", traces={element: Fraction(ppm)}, application="die attach", customer=["CUST-SB"])
    found = of(rule_id, alloy, asked)
    assert found.outcome == outcome
    assert f"{ppm} ppm {element} measured" in found.reason
    assert "the worse answer holds" in found.reason


def test_many_at_once_keep_each_alloys_own_content_beside_a_trace():
    asked = use(traces={"Pb": Fraction(450), "Ag": Fraction(0)})
    alloys = {name: parse(name) for name in ALLOYS}
    alone = [evaluate(entry, alloy, asked, name) for name, alloy in alloys.items() for entry in all_rules()]
    assert evaluate_all(alloys, asked) == alone


def test_a_ban_leaves_an_unmeasured_trace_open_and_fails_what_is_named():
    asked = use(bans=[Ban("Sb", Fraction(1000), "recycling list")])
    found = {f.alloy: f for f in evaluate_all({"SAC305": parse("SAC305"), "Sn-5Sb": parse("Sn-5Sb")}, asked)
             if f.rule_id == "CUST-SB"}  # fmt: skip
    assert found["SAC305"].why is Why.CERTIFICATE_NEEDED
    assert (found["Sn-5Sb"].outcome, found["Sn-5Sb"].margin_ppm) == (Outcome.FAIL, -49_000)
    assert found["Sn-5Sb"].reason.endswith("; recycling list")
