"""The acceleration factor: its direction, each term, the span of sets, and where there is none."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.composition import parse
from selector.durability.acceleration import (
    Cycle,
    acceleration_factor,
    acceleration_span,
    heat_term,
    rate_term,
    swing_term,
)
from selector.durability.constants import acceleration_data
from selector.errors import InputError

LAWS = {law.id: law for law in acceleration_data().law}
USE = Cycle(25, 75, 1, 720)
TEST = Cycle(-55, 125, 48, 15)
laws = st.sampled_from(list(LAWS.values()))
cycles = st.builds(
    lambda low, swing, rate, dwell: Cycle(low, low + swing, rate, dwell),
    st.floats(-60, 60),
    st.floats(5, 120),
    st.floats(0.1, 200),
    st.floats(1, 1e4),
)


@given(laws, cycles)
def test_a_test_that_is_the_use_accelerates_nothing(law, cycle):
    assert acceleration_factor(law, cycle, cycle) == pytest.approx(1)


@given(laws, cycles, cycles)
def test_swapping_use_and_test_inverts_the_factor(law, use, test):
    assert acceleration_factor(law, use, test) * acceleration_factor(law, test, use) == pytest.approx(1)


@given(laws, cycles, cycles)
def test_direction_in_every_input(law, use, test):
    base = acceleration_factor(law, use, test)

    def test_with(**changes):
        return acceleration_factor(law, use, Cycle(**{**vars(test), **changes}))

    def use_with(**changes):
        return acceleration_factor(law, Cycle(**{**vars(use), **changes}), test)

    assert test_with(low_c=test.low_c - 5) > base  # a wider test
    assert use_with(low_c=use.low_c - 5) < base
    assert (
        acceleration_factor(law, use, Cycle(test.low_c + 5, test.high_c + 5, test.cycles_per_day, test.hot_dwell_min))
        > base
    )
    if law.second_term == "frequency":
        assert use_with(cycles_per_day=use.cycles_per_day / 2) < base  # slow field cycles do more each
        assert test_with(cycles_per_day=test.cycles_per_day * 2) < base
    else:
        assert use_with(hot_dwell_min=use.hot_dwell_min * 2) < base
        assert test_with(hot_dwell_min=test.hot_dwell_min * 2) > base


def test_a_slow_field_cycle_makes_the_second_term_smaller_than_1():
    """The known slip: inverting the ratio makes the factor 13 times too large."""
    assert rate_term(1, 48, 1 / 3) == pytest.approx(0.275, abs=5e-4)
    assert acceleration_factor(LAWS["sn-pb-1969"], USE, TEST) < swing_term(180, 50, 1.9) * heat_term(75, 125, 1414)


def test_the_span_has_no_value_of_its_own_and_names_what_was_not_read():
    sac = acceleration_span(parse("SAC305"), USE, TEST)
    assert sac.value is None
    assert sac.low == sac.high == pytest.approx(38.7, abs=0.05)
    assert sum("not read" in flag for flag in sac.flags) == 3
    assert any("the true one is wider" in flag for flag in sac.flags)
    assert "38.71" in sac.law
    assert (sac.origin, sac.grade) == ("memory", "low")
    snpb = acceleration_span(parse("Sn63Pb37"), USE, TEST)
    assert snpb.low == pytest.approx(5.22, abs=0.005)
    assert snpb.grade == "medium"


@pytest.mark.parametrize(
    ("alloy", "mixed"), [("Sn42Bi58", False), ("In52Sn48", False), ("Sn95Sb5", False), ("SAC305", True)]
)
def test_other_alloys_and_mixed_joints_have_none(alloy, mixed):
    entry = acceleration_span(parse(alloy), USE, TEST, is_mixed=mixed)
    assert not entry.is_known
    assert entry.why


@pytest.mark.parametrize(
    ("use", "test", "onset_c", "names"),
    [
        (Cycle(75, 75, 1, 720), TEST, None, {"use.high_c"}),
        (USE, Cycle(-55, 125, 0, 0), None, {"test.cycles_per_day", "test.hot_dwell_min"}),
        (USE, TEST, 120, {"test.high_c"}),
        (USE, TEST, 70, {"use.high_c", "test.high_c"}),
    ],
)
def test_cycles_that_cannot_be_or_melt_the_joint_are_refused(use, test, onset_c, names):
    with pytest.raises(InputError) as caught:
        acceleration_span(parse("SAC305"), use, test, onset_c=onset_c)
    assert {fault.where for fault in caught.value.faults} == names


@pytest.mark.parametrize(
    "call", [lambda: swing_term(0, 50, 1.9), lambda: rate_term(0, 1, 0.3), lambda: heat_term(75, 300, 1414)]
)
def test_terms_refuse_what_cannot_be(call):
    with pytest.raises(InputError):
        call()
