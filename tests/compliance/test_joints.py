"""The finished joint with its contributors: what breaks a limit, and lead that meets bismuth."""

from datetime import date
from fractions import Fraction

import pytest

from selector.compliance.context import context
from selector.compliance.joints import METAL_RULE, evaluate_joint, metal_stop, shares
from selector.compliance.rulesets import all_rules, rule
from selector.composition import parse
from selector.errors import InputError
from selector.joint.contributors import Contributor, joint
from selector.verdict import Outcome

USE = context(date(2026, 11, 25), equipment="consumer", application="board joint")


def given(*parts):
    return [Contributor(name, parse(alloy), Fraction(mass)) for name, alloy, mass in parts]


PASTE = ("paste", "SAC305", "10")


def test_a_plating_breaks_the_limit_of_the_joint():
    """The project's reference case: 0.05 mg of Sn63Pb37 in 10 mg of SAC305 is 0.184 wt% lead (Directive 2011/65/EU)."""
    parts = given(PASTE, ("finish", "Sn63Pb37", "0.05"))
    lead, metal = evaluate_joint([rule("EU-ROHS-PB")], parts, USE)
    assert float(lead.measured_ppm) == pytest.approx(1840, abs=1)
    assert lead.measured_ppm == Fraction(370_000) * 5 / 1005
    assert lead.outcome is Outcome.FAIL
    assert "brought by finish" in lead.reason
    assert "without finish the joint would do" in lead.reason
    assert (metal.rule_id, metal.outcome, metal.kind) == (METAL_RULE, Outcome.PASS, "metallurgy")


def test_a_thinner_plating_keeps_it():
    parts = given(PASTE, ("finish", "Sn63Pb37", "0.02"))
    lead, _ = evaluate_joint([rule("EU-ROHS-PB")], parts, USE)
    assert lead.outcome is Outcome.PASS
    assert "brought by" not in lead.reason


def test_two_that_each_break_it_are_both_named_and_neither_alone_is_blamed():
    parts = given(PASTE, ("finish", "Sn63Pb37", "0.05"), ("ball", "Sn63Pb37", "5"))
    lead, _ = evaluate_joint([rule("EU-ROHS-PB")], parts, USE)
    assert lead.reason.index("ball") < lead.reason.index("finish")
    assert "would do" not in lead.reason


def measured(alloy, mass, **traces):
    return Contributor("solder", parse(alloy), Fraction(mass), tuple((e, Fraction(ppm)) for e, ppm in traces.items()))


def test_a_measured_trace_of_the_solder_adds_to_what_the_finish_brings():
    """900 ppm of 30 mg and 37 % of 0.05 mg: each passes alone, together they are 45.5 ug in 30.05 mg, 1514 ppm."""
    parts = [measured("SAC305", 30, Pb=900), *given(("finish", "Sn63Pb37", "0.05"))]
    lead, _ = evaluate_joint([rule("EU-ROHS-PB")], parts, USE)
    assert lead.measured_ppm == (Fraction(900 * 30) + Fraction(370_000) * Fraction(5, 100)) / Fraction("30.05")
    assert lead.outcome is Outcome.FAIL
    assert "without solder or without finish the joint would do" not in lead.reason
    assert "without finish the joint would do" in lead.reason


def test_a_measured_trace_of_the_solder_is_diluted_by_what_holds_none():
    parts = [measured("SAC305", 1, Pb=1500), *given(("ball", "SAC305", "1"))]
    lead, _ = evaluate_joint([rule("EU-ROHS-PB")], parts, USE)
    assert (lead.measured_ppm, lead.outcome) == (750, Outcome.PASS)


def test_a_measured_trace_beside_named_lead_never_lifts_the_joint():
    parts = [measured("Sn-0.2Pb", 1, Pb=10), *given(("ball", "SAC305", "0.01"))]
    assert evaluate_joint([rule("EU-ROHS-PB")], parts, USE)[0].outcome is Outcome.FAIL


@pytest.mark.parametrize(("traces", "outcome"), [({}, "pass"), ({"Pb": 1000}, "pass"), ({"Pb": 1001}, "fail")])
def test_measured_lead_meets_bismuth_too(traces, outcome):
    found = metal_stop([measured("SAC305", 10, **traces), *given(("ball", "Sn-58Bi", "1"))], USE)
    assert found.outcome == outcome


def test_shares_add_up_to_the_joint():
    parts = given(PASTE, ("finish", "Sn63Pb37", "0.05"), ("ball", "Sn-37Pb", "1"))
    assert sum(content for _, content in shares(["Pb"], parts)) == joint(parts).ppm("Pb")
    assert shares(["Sb"], parts) == []


def test_all_rules_of_the_market_are_asked_and_the_joint_is_what_is_judged():
    found = evaluate_joint(None, given(PASTE), context(date(2026, 11, 25), markets=["EU"], equipment="consumer"))
    markets = {entry.id for entry in all_rules() if entry.market in ("EU", "world")}
    assert {f.rule_id for f in found} == markets | {METAL_RULE}
    assert next(f for f in found if f.rule_id == "EU-CLP-AG").outcome is Outcome.NOT_APPLICABLE


@pytest.mark.parametrize(
    ("paste", "other", "outcome"),
    [
        ("Sn-58Bi", "Sn63Pb37", "fail"),
        ("Sn-58Bi", "SAC305", "pass"),
        ("Sn-3Bi", "Sn63Pb37", "unknown"),
        ("In-48Sn", "Sn63Pb37", "fail"),
        ("Sn-3Bi-3In", "Sn63Pb37", "fail"),
        ("Sn-4In", "Sn63Pb37", "pass"),
        ("Sn-58Bi", "Sn-0.1Pb", "pass"),
        ("Sn-58Bi", "Sn-0.11Pb", "fail"),
        ("Pb-58Bi", "SAC305", "unknown"),  # by itself, and so meant
        ("SAC305", "Sn63Pb37", "pass"),
    ],
)
def test_lead_that_meets_bismuth_or_indium(paste, other, outcome):
    found = metal_stop(given(("paste", paste, "10"), ("ball", other, "1")), USE)
    assert found.outcome == outcome
    assert (found.kind, found.source) == ("metallurgy", "common practice")
    if outcome != "pass":
        assert "paste" in found.reason
        assert ("ball brings the lead" in found.reason) is (other != "SAC305")


def test_lead_with_bismuth_stops_where_the_law_does_not_reach():
    """Space equipment stands outside RoHS, and still a leaded finish must not meet bismuth."""
    space = context(date(2026, 11, 25), equipment="space")
    law, metal = evaluate_joint(
        [rule("EU-ROHS-PB")], given(("wire", "Sn-58Bi", "9"), ("finish", "Sn63Pb37", "1")), space
    )
    assert (law.outcome, metal.outcome) == (Outcome.NOT_APPLICABLE, Outcome.FAIL)
    assert "bismuth of wire (finish brings the lead)" in metal.reason
    assert "95 to 98 degC" in metal.reason


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        ([], "contributors: are missing"),
        ([("paste", "SAC305", "0")], "paste: has no mass"),
        ([PASTE, PASTE], "paste: stands twice"),
    ],
)
def test_a_joint_that_cannot_be(parts, told):
    with pytest.raises(InputError, match=told):
        joint(given(*parts))
