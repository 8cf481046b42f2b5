"""The additive score does not depend on who else is listed; ranks and bounds by hand and by property."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from selector.errors import InputError
from selector.scoring.ranking import Scores, accumulated, competition_ranks, normalised, rank_bounds

worths = st.integers(1, 12).flatmap(
    lambda m: st.integers(1, 8).flatmap(lambda n: arrays(np.float64, (m, n), elements=st.floats(0, 100)))
)


def weights_for(matrix, seed):
    return normalised(list(np.random.default_rng(seed).uniform(0.1, 100, matrix.shape[1])))


@given(worths, st.integers(0, 99), st.randoms())
def test_scores_are_bit_identical_under_add_remove_repeat_permute(matrix, seed, random):
    weights = weights_for(matrix, seed)
    alone = [accumulated(matrix[i : i + 1], weights)[0] for i in range(len(matrix))]
    whole = accumulated(matrix, weights)
    assert whole.tobytes() == np.array(alone).tobytes()
    order = list(range(len(matrix)))
    random.shuffle(order)
    assert accumulated(matrix[order], weights).tobytes() == whole[order].tobytes()
    repeated = np.concatenate([matrix, matrix[:1]])
    assert accumulated(repeated, weights)[:-1].tobytes() == whole.tobytes()


@given(worths, st.integers(0, 99), st.sampled_from([0.5, 3.0, 7.7, 1e-6, 1e6]))
def test_scaling_the_swing_points_changes_nothing(matrix, seed, factor):
    points = np.random.default_rng(seed).uniform(0.1, 100, matrix.shape[1])
    one, other = normalised(list(points)), normalised(list(points * factor))
    assert accumulated(matrix, one) == pytest.approx(accumulated(matrix, other), abs=1e-12 * 100)


def test_competition_ranks_skip_after_a_tie():
    assert list(competition_ranks(np.array([5.0, 7.0, 7.0 + 1e-12, 1.0]))) == [3, 1, 1, 4]


def test_point_three_ties_with_its_own_rounding():
    assert list(competition_ranks(np.array([0.3, 0.1 + 0.2]))) == [1, 1]


def test_rank_bounds_by_hand():
    scores = Scores(*(np.array(v, dtype=float) for v in ([50, 60, 20], [40, 55, 10], [58, 70, 30])))
    best, worst = rank_bounds(scores)
    assert list(best) == [1, 1, 3]
    assert list(worst) == [2, 2, 3]


@settings(max_examples=60)
@given(st.integers(2, 7), st.integers(0, 10_000))
def test_rank_bounds_enclose_every_draw_and_a_better_value_never_lowers_them(m, seed):
    random = np.random.default_rng(seed)
    low = random.uniform(0, 90, m)
    high = low + random.uniform(0, 30, m)
    best, worst = rank_bounds(Scores(low, low, high))
    for _ in range(40):
        draw = random.uniform(low, high)
        ranks = competition_ranks(draw)
        assert (best <= ranks).all()
        assert (ranks <= worst).all()
    better_low, better_high = low.copy(), high.copy()
    lift = random.uniform(0, 20)
    better_low[0] += lift
    better_high[0] += lift
    best_after, worst_after = rank_bounds(Scores(better_low, better_low, better_high))
    assert best_after[0] <= best[0]
    assert worst_after[0] <= worst[0]


@pytest.mark.parametrize("points", [[], [0, 0], [1, -1], [1, float("nan")], [float("inf"), 1]])
def test_weights_that_cannot_be_used_are_refused(points):
    with pytest.raises(InputError):
        normalised(points)
