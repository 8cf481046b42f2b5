"""Profiles: times and slopes by hand, limits broken and kept, and what is no profile."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.errors import InputError
from selector.process.profile import check_profile, profile_of, time_above_s, usual_profile

GOOD = [(0, 25), (100, 150), (200, 200), (230, 217), (260, 245), (290, 217), (400, 25)]


def checked(points, family="lead-free"):
    return {entry.item: entry for entry in check_profile(points, family)}


def test_times_and_slopes_by_hand():
    found = checked(GOOD)
    assert found["time above liquid"].value == pytest.approx(60)
    assert found["time within 5 K of peak"].value == pytest.approx(2 * 5 / (28 / 30))
    assert found["ramp up"].value == pytest.approx(28 / 30)
    assert found["ramp down"].value == pytest.approx(28 / 30)  # from the peak to where it freezes
    assert found["25 degC to peak"].value == 260
    assert found["soak time"].value == 100
    assert all(entry.holds for entry in found.values())
    assert all(entry.source == "jstd-020-datasheets" for entry in found.values())


def test_each_limit_can_be_broken():
    steep = checked([(0, 25), (100, 150), (200, 200), (205, 217), (212, 245), (214, 217), (260, 25)])
    assert {name for name, entry in steep.items() if entry.holds is False} == {
        "ramp up",
        "ramp down",
        "time above liquid",
    }
    slow = checked([(0, 25), (300, 150), (600, 200), (700, 245), (900, 217), (1000, 25)])
    assert {name for name, entry in slow.items() if entry.holds is False} == {
        "soak time",
        "25 degC to peak",
        "time above liquid",
        "time within 5 K of peak",
    }


def test_what_a_profile_does_not_tell_is_open():
    found = checked([(0, 100), (60, 245), (120, 217)])
    assert (found["25 degC to peak"].value, found["25 degC to peak"].holds) == (None, None)
    cold = checked([(0, 25), (100, 100), (200, 25)])
    assert cold["ramp up"].holds is None
    assert cold["time above liquid"].value == 0
    # It reaches the start of the soak, 150, and never its end, 200: the way to the peak is no soak.
    short = checked([(0, 25), (100, 150), (200, 190), (300, 25)])
    assert (short["soak time"].value, short["soak time"].holds) == (None, None)


def test_a_soak_that_stands_still_counts_from_when_it_is_reached():
    found = checked([(0, 25), (50, 150), (150, 150), (170, 200), (200, 245), (260, 25)])
    assert found["soak time"].value == pytest.approx(120)


@given(st.floats(26, 244), st.floats(0.1, 50))
def test_hotter_is_shorter(temperature, step):
    profile = profile_of(GOOD)
    assert time_above_s(profile, temperature + step) <= time_above_s(profile, temperature)
    times = np.linspace(0, 400, 40_001)
    sampled = (np.interp(times, profile[:, 0], profile[:, 1]) >= temperature).mean() * 400
    assert time_above_s(profile, temperature) == pytest.approx(sampled, abs=0.1)


def test_a_usual_profile_does_what_it_was_asked():
    points = usual_profile(139, 170, (100, 120), 60, 75)
    assert time_above_s(points, 139) == pytest.approx(75)
    assert points[:, 1].max() == 170
    assert checked([tuple(point) for point in points], "low-temperature")["time above liquid"].holds


@pytest.mark.parametrize(
    ("points", "family", "where"),
    [
        ([(0, 25)], "lead-free", "points"),
        ([], "lead-free", "points"),
        ("hot", "lead-free", "points"),
        ([(0, 25, 1), (1, 30, 1)], "lead-free", "points"),
        ([(0, 25), (1, 2, 3)], "lead-free", "points"),
        ([(0, 25), (0, 100)], "lead-free", "time_s"),
        ([(10, 25), (0, 100)], "lead-free", "time_s"),
        ([(0, 298.15), (60, 518.15)], "lead-free", "profile_c"),
        (GOOD, "gold", "family"),
    ],
)
def test_what_is_no_profile_is_refused(points, family, where):
    with pytest.raises(InputError) as caught:
        check_profile(points, family)
    assert where in {fault.where for fault in caught.value.faults}


def test_a_profile_out_of_order_is_not_drawn():
    with pytest.raises(InputError, match="out of order"):
        usual_profile(139, 130, (100, 120), 60, 75)
