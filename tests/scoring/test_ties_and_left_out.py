"""Bands of ties, and the order without each criterion, by hand and by what must hold of any list."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.scoring.left_out import correlations, ranks_without
from selector.scoring.ties import bands, untold

INTERVALS = st.lists(
    st.tuples(st.integers(0, 100), st.integers(0, 30)).map(lambda pair: (pair[0], pair[0] + pair[1])),
    min_size=1,
    max_size=9,
)


def test_two_that_both_meet_a_third_need_not_meet_each_other():
    # A 60-70 and B 50-62 meet, B and C 40-55 meet, A stands clear of C; D 0-10 stands alone.
    low, high = np.array([60.0, 50, 40, 0]), np.array([70.0, 62, 55, 10])
    ties = untold(low, high)
    assert [tuple(map(int, pair)) for pair in np.argwhere(ties)] == [(0, 1), (1, 0), (1, 2), (2, 1)]
    assert bands(low, high) == ((0, 1), (1, 2), (3,))


def test_intervals_that_touch_and_equal_figures_cannot_be_told_apart():
    assert bands(np.array([50.0, 40]), np.array([60.0, 50])) == ((0, 1),)
    assert bands(np.array([50.0, 50]), np.array([50.0, 50])) == ((0, 1),)
    assert bands(np.array([50.0, 49]), np.array([50.0, 49])) == ((0,), (1,))


@given(INTERVALS)
def test_bands_hold_all_that_meet_and_nothing_else(intervals):
    low, high = np.array(intervals, dtype=float).T
    ties, found = untold(low, high), bands(low, high)
    assert (ties == ties.T).all()
    shared = np.zeros_like(ties)
    for band in found:
        for i in band:
            for k in band:
                assert i == k or (low[i] <= high[k] and low[k] <= high[i])
                shared[i, k] |= i != k
    assert (shared == ties).all()
    assert {i for band in found for i in band} == set(range(len(low)))
    assert not any(set(one) < set(other) for one in found for other in found)


def test_the_order_without_each_criterion_by_hand():
    # Scores 0.5 a + 0.25 b + 0.25 c: first 62.5, second 37.5, third 50.
    worths = np.array([[100.0, 0, 50], [0.0, 100, 50], [50.0, 50, 50]])
    without_a, without_b, without_c = ranks_without(worths, np.array([0.5, 0.25, 0.25]))
    assert list(without_a) == [3, 1, 2]
    assert list(without_b) == [1, 3, 2]
    assert list(without_c) == [1, 3, 2]


def test_nothing_is_left_without_the_only_criterion():
    alone, other = ranks_without(np.array([[1.0, 2], [3, 1]]), np.array([1.0, 0]))
    assert alone is None
    assert list(other) == [2, 1]


def test_correlation_of_criteria_over_what_both_have():
    rising = np.arange(6.0)
    values = np.column_stack([rising, -rising, np.where(rising < 2, np.nan, rising), np.full(6, 7.0)])
    found = correlations(values)
    assert found[0, 1] == found[1, 0] == pytest.approx(-1)
    assert np.isnan(found[0, 2])  # four alloys have both: too few to tell
    assert np.isnan(found[0, 3])  # one does not vary
    assert list(np.diag(found)) == [1, 1, 1, 1]
