"""Computed beside tabulated, and where the two disagree."""

import dataclasses

import pytest

from selector import catalogue
from selector.catalogue.evidence import Evidence, nothing
from selector.melting.facts import FACTS, all_facts, computed_facts, melting_conflicts
from selector.melting.onset import remelt_onset

ALLOYS = catalogue.load().alloys


def with_solidus(low, high):
    alloy = ALLOYS["Bi-42Sn"]
    solidus = Evidence("solidus_c", "degC", low, low, high, "high", "measured", "some-paper")
    return dataclasses.replace(alloy, evidence={**alloy.evidence, "solidus_c": solidus})


def test_a_covered_alloy_has_every_computed_fact_with_interval_source_and_meaning():
    facts = {entry.name: entry for entry in computed_facts(ALLOYS["Bi-42Sn-1Ag"])}
    assert list(facts) == list(FACTS)
    assert facts["computed_solidus_c"].value == pytest.approx(137.1, abs=0.2)
    assert facts["computed_t98_c"].value == pytest.approx(139.0, abs=0.3)
    assert facts["computed_liquidus_c"].value == pytest.approx(161.6, abs=0.3)
    for entry in facts.values():
        assert entry.low < entry.value < entry.high
        assert (entry.origin, entry.source) == ("computed", "computed-melting")
        assert "assessed" in entry.rule


def test_an_alloy_that_is_not_covered_says_why():
    for entry in computed_facts(ALLOYS["Au-20Sn"]):
        assert entry.interval is None
        assert "Au is not covered" in entry.rule


@pytest.mark.parametrize(
    ("low", "high", "apart"), [(139, 140, None), (141.7, 141.7, None), (142, 143, -3.2), (130, 135, 3.8)]
)
def test_over_three_kelvin_from_the_tabulated_interval_is_a_conflict(low, high, apart):
    found = [c for c in melting_conflicts(with_solidus(low, high)) if c.tabulated.name == "solidus_c"]
    if apart is None:
        assert found == []
    else:
        (conflict,) = found
        assert conflict.apart_k == pytest.approx(apart, abs=0.1)
        assert "some-paper" in conflict.text
        assert ("above" if apart > 0 else "below") in conflict.text


def test_what_is_not_tabulated_conflicts_with_nothing():
    alloy = ALLOYS["Bi-42Sn"]
    bare = {**alloy.evidence, "solidus_c": nothing("solidus_c", "degC"), "liquidus_c": nothing("liquidus_c", "degC")}
    assert melting_conflicts(dataclasses.replace(alloy, evidence=bare)) == ()


def test_the_weak_indium_grade_stands_with_both_sides():
    told = " ".join(conflict.text for conflict in melting_conflicts(ALLOYS["Sn-20In-2.8Ag"]))
    assert "tabulated 175" in told
    assert "computed 13" in told


def test_all_facts_name_each_property_once():
    alloy = ALLOYS["SAC305"]
    names = [entry.name for entry in all_facts(alloy, remelt_onset(alloy))]
    assert len(names) == len(set(names))
