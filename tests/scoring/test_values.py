"""Piecewise-linear worths on levels and intervals, by hand and by property."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.scoring.values import clipped, direction, worth, worth_bounds

RISING = ((0.0, 0.0), (10.0, 50.0), (40.0, 100.0))
PEAK = ((0.0, 0.0), (5.0, 100.0), (20.0, 0.0))


@pytest.mark.parametrize(("level", "expected"), [(-3, 0), (0, 0), (5, 25), (10, 50), (25, 75), (40, 100), (99, 100)])
def test_worth_by_hand(level, expected):
    assert worth(level, RISING) == pytest.approx(expected)


def test_bounds_see_a_peak_inside_the_interval():
    assert worth_bounds(2.5, 12.5, PEAK) == pytest.approx((50.0, 100.0))
    assert worth_bounds(6, 12.5, PEAK) == pytest.approx((50.0, 100 - 100 / 15))


def test_clipping_is_only_beyond_the_anchors():
    assert not clipped(0, RISING)
    assert not clipped(40, RISING)
    assert clipped(-0.01, RISING)
    assert clipped(40.01, RISING)


def test_direction():
    assert direction(RISING) == "higher"
    assert direction(((0.0, 100.0), (1.0, 0.0))) == "lower"
    assert direction(PEAK) == "peak"


curves = st.lists(
    st.tuples(st.floats(-50, 50).map(lambda v: round(v, 3)), st.floats(0, 100)),
    min_size=2,
    max_size=5,
    unique_by=lambda pair: pair[0],
).map(lambda pairs: tuple(sorted(pairs)))


@given(curves, st.floats(-60, 60), st.floats(0, 40), st.floats(0, 1))
def test_bounds_enclose_every_level_of_the_interval(points, low, width, share):
    least, greatest = worth_bounds(low, low + width, points)
    inside = worth(low + share * width, points)
    assert least - 1e-9 <= inside <= greatest + 1e-9


@given(curves, st.floats(-60, 60), st.floats(0, 40))
def test_bounds_are_reached(points, low, width):
    grid = np.concatenate([np.linspace(low, low + width, 400), [lv for lv, _ in points if low <= lv <= low + width]])
    values = [worth(level, points) for level in grid]
    least, greatest = worth_bounds(low, low + width, points)
    assert min(values) == pytest.approx(least, abs=1e-9)
    assert max(values) == pytest.approx(greatest, abs=1e-9)
