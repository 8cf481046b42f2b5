"""Whether a cycling test may be run on a joint: 125 degC on tin-bismuth may not."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.durability.constants import condition_data
from selector.durability.environments import environment, environments, uses
from selector.durability.legality import condition, hottest_test_c, may_be_tested
from selector.errors import InputError
from selector.verdict import Outcome


@pytest.mark.parametrize(
    ("hot_c", "low", "high", "outcome", "part"),
    [
        (125, 139, None, Outcome.FAIL, "mechanism changes"),  # 0.966
        (125, 118, None, Outcome.FAIL, "joints come off"),  # melts
        (125, 134, None, Outcome.FAIL, "joints come off"),  # within 10 K
        (100, 139, None, Outcome.PASS, "may be run"),  # 0.905
        (118.39, 139, None, Outcome.PASS, "may be run"),
        (118.4, 139, None, Outcome.FAIL, "mechanism"),
        (125, 217, None, Outcome.PASS, "may be run"),
        (100, 95, 139, Outcome.UNKNOWN, "joints come off"),
        (125, 139, 217, Outcome.UNKNOWN, "mechanism"),
    ],
)
def test_hot_ends(hot_c, low, high, outcome, part):
    verdict = may_be_tested(hot_c, low, high)
    assert verdict.outcome is outcome
    assert part in verdict.reason
    assert bool(verdict.threshold) == (outcome is Outcome.UNKNOWN)


@given(st.floats(60, 400))
def test_the_hottest_test_is_the_edge(onset_c):
    edge = hottest_test_c(onset_c)
    assert may_be_tested(edge - 0.01, onset_c).outcome is Outcome.PASS
    assert may_be_tested(edge + 0.01, onset_c).outcome is Outcome.FAIL


def test_standard_tests_by_name():
    assert (condition("tc3").low_c, condition("TC3").high_c) == (-40, 125)
    assert [entry.origin for entry in condition_data().condition] == [
        "tabulated",
        "memory",
        "memory",
        "tabulated",
        "memory",
    ]
    with pytest.raises(InputError, match="TC1"):
        condition("TC9")


@pytest.mark.parametrize(
    ("hot", "low", "high", "name"), [(501, 139, None, "hot_end_c"), (100, 217, 139, "onset_high_c")]
)
def test_what_cannot_be_is_refused(hot, low, high, name):
    with pytest.raises(InputError) as caught:
        may_be_tested(hot, low, high)
    assert [fault.where for fault in caught.value.faults] == [name]


def test_environments_are_defaults_that_say_they_are_unconfirmed():
    assert len(environments()) >= 20
    for entry in environments().values():
        assert entry.grade == "low"
        assert entry.cautions
        assert entry.origin == "practice" or "unconfirmed" in entry.cautions[0]


def test_contradicting_recollections_stand_beside_each_other():
    assert environment("commercial-aircraft").cycles_per_year == 365
    assert environment("commercial-aircraft-2").cycles_per_year == 3000
    assert environment("commercial-aircraft-2").standing == "second recollection"
    assert all(entry.standing == "editable default" for mix in uses().values() for entry in mix)


def test_under_the_hood_is_a_mix_of_three():
    mix = uses()["under the hood"]
    assert [(entry.swing_k, entry.cycles_per_year) for entry in mix] == [(60, 1000), (100, 300), (140, 40)]
    assert environment("consumer").cycles_per_day == 1
    assert (environment("consumer").dwell_min, environment("commercial-aircraft-2").dwell_min) == (720, None)


def test_an_environment_that_is_not_there_is_named_with_what_is():
    with pytest.raises(InputError, match="consumer"):
        environment("moon")
