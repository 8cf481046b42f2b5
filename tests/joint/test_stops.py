"""Metals that must not meet: stops with the computed onset, and what is no meeting."""

from fractions import Fraction

import pytest

from selector.composition import parse
from selector.errors import InputError
from selector.joint.contributors import Contributor
from selector.joint.stops import meetings
from selector.verdict import Outcome


def met(*parts, zone=()):
    def entries(some):
        return [Contributor(name, parse(alloy), Fraction(mass)) for name, alloy, mass in some]

    return {entry.pair: entry for entry in meetings(entries(parts), entries(zone))}


def test_bismuth_on_a_lead_finish_is_a_stop_near_98():
    found = met(("paste", "Sn-58Bi", "0.11"), ("finish", "Sn-37Pb", "0.0063"))
    assert set(found) == {("Bi", "Pb")}
    entry = found["Bi", "Pb"]
    assert entry.verdict.outcome is Outcome.FAIL
    assert entry.verdict.measured.value == pytest.approx(97.5, abs=1.5)
    assert entry.brought_by == (("paste",), ("finish",))
    assert "paste meets lead of finish" in entry.verdict.reason
    assert entry.verdict.margin < -35


def test_indium_with_bismuth_is_a_stop_far_below_both():
    entry = met(("paste", "In-48Sn", "0.1"), ("ball", "Sn-58Bi", "0.3"))["Bi", "In"]
    assert entry.verdict.outcome is Outcome.FAIL
    assert 60 < entry.verdict.measured.value < 85
    assert entry.own_c == pytest.approx(118, abs=3)


def test_a_little_of_it_is_open_and_says_how_much():
    entry = met(("paste", "Sn-20In-2.8Ag", "0.1"), ("ball", "Sn-58Bi", "0.03"))["Bi", "In"]
    assert entry.verdict.outcome is Outcome.UNKNOWN
    assert "under the 5 % that count" in entry.verdict.reason
    assert "holds if" in entry.verdict.threshold


def test_indium_with_lead_is_a_stop_whose_onset_is_only_indicative():
    entry = met(("paste", "In-48Sn", "0.1"), ("finish", "Sn-37Pb", "0.0063"))["In", "Pb"]
    assert entry.verdict.outcome is Outcome.FAIL
    assert "indicative" in entry.verdict.reason


def test_indium_on_plain_lead_is_a_stop_of_practice_that_says_what_is_computed():
    """Indium and lead form no eutectic; practice keeps them apart all the same, as compliance and shortlist do."""
    entry = met(("preform", "In", "0.1"), ("finish", "Pb-5Sn", "0.003"))["In", "Pb"]
    assert entry.verdict.outcome is Outcome.FAIL
    assert 0 < entry.own_c - entry.verdict.measured.value < 5
    assert "a stop of common practice, whatever is computed" in entry.verdict.reason


def test_an_alloy_that_holds_both_by_design_is_no_meeting():
    assert met(("paste", "Bi-26In-17Sn", "0.1"), ("finish", "Sn", "0.01")) == {}
    assert met(("paste", "SAC305", "0.1"), ("finish", "Sn-37Pb", "0.01")) == {}
    assert met(("paste", "Sn-58Bi", "0.1"), ("ball", "SAC305", "0.3")) == {}


def test_three_metals_make_three_pairs():
    found = met(("paste", "Sn-58Bi", "0.1"), ("wire", "In-48Sn", "0.1"), ("finish", "Sn-37Pb", "0.01"))
    assert set(found) == {("Bi", "Pb"), ("Bi", "In"), ("In", "Pb")}
    assert found["Bi", "Pb"].verdict.outcome is Outcome.FAIL


def test_the_zone_is_judged_where_it_melts_first():
    found = met(
        ("paste", "Sn-58Bi", "0.1"),
        ("ball", "SAC305", "3"),
        ("finish", "Sn-37Pb", "0.002"),
        zone=(("paste", "Sn-58Bi", "0.1"), ("finish", "Sn-37Pb", "0.002")),
    )
    assert found["Bi", "Pb"].verdict.outcome is Outcome.FAIL
    assert found["Bi", "Pb"].zone.name in ("mixed zone", "whole joint")


def test_what_is_not_covered_is_a_stop_by_rule_for_lead_and_bismuth_and_open_for_the_rest():
    golden = ("pad", "Au-20Sn", "0.1")
    lead = met(("paste", "Sn-58Bi", "0.1"), ("finish", "Sn-37Pb", "0.01"), golden)["Bi", "Pb"].verdict
    assert lead.outcome is Outcome.FAIL
    assert "not computed" in lead.reason
    indium = met(("paste", "Sn-58Bi", "0.1"), ("wire", "In-48Sn", "0.1"), golden)["Bi", "In"].verdict
    assert indium.outcome is Outcome.UNKNOWN
    assert "measurement" in indium.threshold


def test_a_joint_that_is_none_is_refused():
    with pytest.raises(InputError, match="has no mass"):
        met(("paste", "Sn-58Bi", "0"), ("finish", "Sn-37Pb", "0.01"))
