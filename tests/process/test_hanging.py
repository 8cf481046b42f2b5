"""Parts upside down: the project's reference case 09, and rules that contradict each other."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.errors import InputError
from selector.process.hanging import held, needed_area_mm2, part_upside_down
from selector.verdict import Outcome


def test_a_7_3_g_part_without_its_area_is_open_and_asks_for_it():
    found = part_upside_down(7.3, None)
    assert found.outcome is Outcome.UNKNOWN
    assert needed_area_mm2(7.3) == pytest.approx(157, abs=1)
    assert "157 mm2, 314 with safety 2" in found.threshold


def test_the_two_rules_differ_36_fold_on_a_large_pad():
    both = held(12.5**2, 50)
    assert both.by_area_g == pytest.approx(7.3, abs=0.05)
    assert both.by_edge_g == pytest.approx(0.2)
    assert both.by_area_g / both.by_edge_g == pytest.approx(36, abs=0.5)
    assert held(100).by_edge_g is None


@pytest.mark.parametrize(
    ("area", "edge", "solid", "outcome"),
    [
        (150, None, False, Outcome.FAIL),
        (160, None, False, Outcome.UNKNOWN),
        (160, 50, False, Outcome.UNKNOWN),
        (160, 2000, False, Outcome.PASS),
        (None, None, True, Outcome.PASS),
    ],
)
def test_a_pass_needs_both_rules_or_joints_that_stay_solid(area, edge, solid, outcome):
    assert part_upside_down(7.3, area, edge, solid).outcome is outcome


@given(st.floats(0.01, 100), st.floats(1.01, 5))
def test_heavier_needs_more(mass, factor):
    assert needed_area_mm2(mass * factor) == pytest.approx(factor * needed_area_mm2(mass))
    assert needed_area_mm2(mass, 2) == pytest.approx(2 * needed_area_mm2(mass))
    assert held(float(needed_area_mm2(mass))).by_area_g == pytest.approx(mass)


@pytest.mark.parametrize(
    ("arguments", "where"),
    [((-1, 100), "part_mass_g"), ((1, -100), "wetted_area_mm2"), ((1, 100, -5), "joint_edge_mm")],
)
def test_what_cannot_be_names_its_input(arguments, where):
    with pytest.raises(InputError) as caught:
        part_upside_down(*arguments)
    assert where in {fault.where for fault in caught.value.faults}
