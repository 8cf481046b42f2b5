"""A 7.3 g part upside down (a real question): the area is not guessed and the rules are shown in conflict."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.errors import InputError
from selector.process.second_side import allowed, needed, second_side
from selector.process.steps import remelt_margin_k
from selector.verdict import Outcome


def test_without_a_wetted_area_it_is_undecided_and_says_what_is_needed():
    verdict = second_side(7.3)
    assert verdict.outcome is Outcome.UNKNOWN
    assert verdict.reason == "the wetted area and the joint edge are missing"
    for part in ("157 mm2", "314 with a safety of 2", "146 by another rule"):
        assert part in verdict.threshold


def test_needed_areas_as_computed_by_hand():
    ask = needed(7.3)
    assert ask.area_mm2 == pytest.approx(157, abs=0.05)
    assert ask.area_with_safety_mm2 == pytest.approx(314, abs=0.1)
    assert ask.area_other_rule_mm2 == pytest.approx(146)
    assert ask.edge_mm == pytest.approx(1825)


def test_the_two_rules_differ_36_fold_on_a_square_of_12_5_mm():
    held = allowed(12.5**2, 4 * 12.5)
    assert held.by_area_g == pytest.approx(7.27, abs=0.005)
    assert held.by_edge_g == pytest.approx(0.2)
    assert held.conflict == pytest.approx(36, abs=0.5)
    verdict = second_side(7.2, 12.5**2, 50)
    assert verdict.outcome is Outcome.UNKNOWN
    assert "in conflict" in verdict.reason


@pytest.mark.parametrize(
    ("mass_g", "area", "edge", "outcome"),
    [
        (0.1, 200, 100, Outcome.PASS),
        (7.3, 160, 2000, Outcome.PASS),
        (7.3, 150, None, Outcome.FAIL),
        (20, 200, 100, Outcome.FAIL),
        (20, 200, None, Outcome.FAIL),
        (7.3, 200, None, Outcome.UNKNOWN),
        (7.3, None, 100, Outcome.UNKNOWN),
    ],
)
def test_outcomes(mass_g, area, edge, outcome):
    assert second_side(mass_g, area, edge).outcome is outcome


def test_with_a_cooler_alloy_on_pass_two_the_first_side_stays_solid_and_weight_does_not_matter():
    margin_k = remelt_margin_k(217, 139, 20, 5)
    assert margin_k == 53
    assert second_side(7.3, remelt_margin_k=margin_k).outcome is Outcome.PASS
    assert second_side(7.3, remelt_margin_k=9.9).outcome is Outcome.UNKNOWN


@pytest.mark.parametrize(("mass_g", "area", "name"), [(0, 100, "mass_g"), (7, -1, "wetted_area_mm2")])
def test_what_cannot_be_is_refused(mass_g, area, name):
    with pytest.raises(InputError) as caught:
        second_side(mass_g, area)
    assert [fault.where for fault in caught.value.faults] == [name]


@given(st.floats(0.01, 100), st.floats(1.01, 5))
def test_heavier_needs_more_and_what_is_needed_is_allowed(mass, factor):
    ask, more = needed(mass), needed(mass * factor)
    assert more.area_mm2 == pytest.approx(factor * ask.area_mm2)
    assert more.edge_mm == pytest.approx(factor * ask.edge_mm)
    held = allowed(ask.area_mm2, ask.edge_mm)
    assert (held.by_area_g, held.by_edge_g) == (pytest.approx(mass), pytest.approx(mass))
