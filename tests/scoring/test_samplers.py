"""Draws of weights: the right region, the right mean, the same numbers from the same seed, and an honest confession."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.errors import InputError
from selector.scoring import admissible
from selector.scoring.hit_and_run import middle_of
from selector.scoring.samplers import above, around, between, fixed, implied_ranges, ordered, sampler, uniform
from selector.scoring.streams import BLOCK, blocks, stream, units

MANY = 40 * BLOCK


def near(found, exact, error):
    """Whether means lie within four standard errors."""
    return np.all(np.abs(np.asarray(found) - exact) <= 4 * error)


def mean_error(draws):
    return draws.std(axis=0) / np.sqrt(len(draws))


SAMPLERS = {
    "uniform": uniform(4),
    "ordered": ordered([[2], [0, 3], [1]]),
    "above": above([0.1, 0.0, 0.3, 0.2]),
    "between": between([0.1, 0.1, 0.1, 0.1], [0.4, 0.4, 0.4, 0.4]),
    "around": around([4, 3, 2, 1], 20),
    "fixed": fixed([4, 3, 2, 1]),
    "walk": sampler(admissible.ratios(4, [admissible.Ratio(0, 1, 1, 2), admissible.Ratio(2, 3, 0.5, 3)])),
}


@pytest.mark.parametrize("name", SAMPLERS)
def test_weights_are_shares_and_the_same_seed_gives_the_same(name):
    source = SAMPLERS[name]
    draws = source.draws(2 * BLOCK + 10, 3)
    assert draws.shape == (2 * BLOCK + 10, 4)
    assert draws.min() >= 0
    assert draws.sum(axis=1) == pytest.approx(np.ones(len(draws)), abs=1e-12)
    assert np.array_equal(draws, source.draws(2 * BLOCK + 10, 3))
    assert np.array_equal(draws[:50], source.draws(50, 3))
    if not source.point:
        assert not np.array_equal(draws[:50], source.draws(50, 4))
        assert not np.array_equal(draws[:10], draws[BLOCK : BLOCK + 10])


def test_uniform_weights_have_the_moments_of_the_simplex():
    draws = uniform(4).draws(MANY, 1)
    assert near(draws.mean(axis=0), 1 / 4, mean_error(draws))
    # Variance (n - 1) / (n^2 (n + 1)).
    assert draws.var(axis=0) == pytest.approx(np.full(4, 3 / 80), rel=0.03)
    # P(w > x) = (1 - x)^(n - 1).
    share = (draws > 0.5).mean(axis=0)
    assert near(share, 0.125, np.sqrt(0.125 * 0.875 / MANY))


def test_an_order_has_the_rank_order_centroid_as_its_mean():
    draws = ordered([[2], [0], [3], [1]]).draws(MANY, 1)
    assert np.all(np.diff(draws[:, [2, 0, 3, 1]], axis=1) <= 0)
    # Centroid for four: 25/48, 13/48, 7/48, 3/48.
    assert near(draws.mean(axis=0)[[2, 0, 3, 1]], np.array([25, 13, 7, 3]) / 48, mean_error(draws)[[2, 0, 3, 1]])


def test_within_a_group_every_order_is_equally_likely():
    draws = ordered([[2], [0, 3], [1]]).draws(MANY, 5)
    assert np.all(draws[:, 2] >= draws[:, [0, 3]].max(axis=1))
    assert np.all(draws[:, 1] <= draws[:, [0, 3]].min(axis=1))
    assert near((draws[:, 0] > draws[:, 3]).mean(), 0.5, 0.5 / np.sqrt(MANY))
    # The middle two share the second and third place of the centroid.
    assert near(draws.mean(axis=0), np.array([10, 3, 25, 10]) / 48, mean_error(draws))


def test_an_ordered_draw_is_uniform_on_its_region():
    # Against rejection: P(heaviest above 0.6) among uniform draws that happen to be in order.
    wide = uniform(3).draws(MANY, 9)
    kept = wide[(wide[:, 0] >= wide[:, 1]) & (wide[:, 1] >= wide[:, 2])]
    exact = (kept[:, 0] > 0.6).mean()
    found = (ordered([[0], [1], [2]]).draws(MANY, 1)[:, 0] > 0.6).mean()
    assert found == pytest.approx(exact, abs=4 * 0.5 / np.sqrt(len(kept)))


def test_lower_bounds_leave_a_smaller_simplex():
    low = np.array([0.1, 0.0, 0.3, 0.2])
    draws = above(low).draws(MANY, 1)
    assert np.all(draws >= low)
    assert near(draws.mean(axis=0), low + 0.4 / 4, mean_error(draws))


@pytest.mark.parametrize(
    ("low", "high"),
    [([0.1] * 4, [0.4] * 4), ([0.0, 0.2, 0.0, 0.0], [0.3, 0.9, 0.2, 0.35]), ([0.0] * 4, [0.3] * 4)],
)
def test_bounded_weights_are_uniform_between_their_bounds(low, high):
    source = between(low, high)
    draws = source.draws(8 * BLOCK, 1)
    assert np.all(draws >= np.array(low) - 1e-12)
    assert np.all(draws <= np.array(high) + 1e-12)
    wide = uniform(4).draws(40 * BLOCK, 2)
    kept = wide[np.all((wide >= low) & (wide <= high), axis=1)]
    error = np.hypot(mean_error(draws), mean_error(kept))
    assert near(draws.mean(axis=0), kept.mean(axis=0), error)
    assert "accepted" in source.method


def test_the_share_accepted_is_that_of_the_known_case():
    # Bounds .05 to .20, ten criteria: about 61 % by shifting and shrinking.
    method = between([0.05] * 10, [0.20] * 10).method
    assert 58 <= float(method.split("rest, ")[1].split(" %")[0]) <= 64


def test_hopeless_rejection_becomes_a_walk_that_says_so():
    low = [0.0] * 10
    high = [0.101] * 10
    high[0] = 0.12
    source = between(low, high)
    # Shrinking from above works here; a box that cuts every corner from both sides does not.
    assert "accepted" in source.method
    middle = np.full(24, 1 / 24)
    region = admissible.bounded(np.clip(middle - 0.01, 0, 1), np.clip(middle + 0.01, 0, 1))
    walk = sampler(region)
    assert "a walk" in walk.method
    assert "hopeless" in walk.notes[0]
    draws = walk.draws(BLOCK, 1)
    assert np.all(draws >= region.lower - 1e-9)
    assert np.all(draws <= region.upper + 1e-9)


def test_a_walk_stays_inside_and_finds_the_mean_of_the_region():
    region = admissible.ratios(3, [admissible.Ratio(0, 1, 1.0, 3.0), admissible.Ratio(1, 2, 0.5, np.inf)])
    source = sampler(region)
    draws = source.draws(16 * BLOCK, 1)
    assert np.all(draws @ region.a_ub.T <= region.b_ub + 1e-9)
    wide = uniform(3).draws(100 * BLOCK, 2)
    kept = wide[np.all(wide @ region.a_ub.T <= region.b_ub, axis=1)]
    error = np.hypot(mean_error(draws) / np.sqrt(source.effective), mean_error(kept))
    assert near(draws.mean(axis=0), kept.mean(axis=0), error)
    assert draws.std(axis=0) == pytest.approx(kept.std(axis=0), rel=0.05)


def test_a_walk_confesses_how_alike_neighbours_are():
    source = SAMPLERS["walk"]
    assert 0 < source.effective <= 1
    assert 0 <= source.lag_one < 0.9
    assert "worth" in source.notes[-1]
    assert "walkers" in source.method
    assert "th step kept" in source.method


def test_a_walk_in_a_flat_region_keeps_what_is_stated_exactly():
    # w1 = 2 w2, stated exactly, leaves a line through the simplex.
    region = admissible.ratios(3, [admissible.Ratio(0, 1, 2.0, 2.0)])
    draws = sampler(region).draws(4 * BLOCK, 1)
    assert draws[:, 0] == pytest.approx(2 * draws[:, 1], abs=1e-7)
    # Uniform on the segment from (0, 0, 1) to (2/3, 1/3, 0).
    assert draws[:, 2].mean() == pytest.approx(0.5, abs=0.05)
    assert draws[:, 2].min() < 0.05
    assert draws[:, 2].max() > 0.95


def test_a_region_of_one_point_is_that_point():
    region = admissible.ratios(3, [admissible.Ratio(0, 1, 2, 2), admissible.Ratio(1, 2, 1, 1)])
    draws = sampler(region).draws(10, 1)
    assert draws == pytest.approx(np.tile([0.5, 0.25, 0.25], (10, 1)), abs=1e-7)
    assert sampler(admissible.fixed([2, 1, 1])).draws(3, 1).tolist() == [[0.5, 0.25, 0.25]] * 3
    assert sampler(admissible.anything(1)).draws(2, 1).tolist() == [[1.0], [1.0]]


def test_the_middle_is_that_of_the_largest_ball():
    # The whole simplex: its centre, and radius 1 / sqrt(n (n - 1)).
    middle, basis = middle_of(-np.eye(4), np.zeros(4), 4)
    assert middle == pytest.approx(np.full(4, 0.25), abs=1e-9)
    assert basis.shape == (4, 3)
    assert basis.sum(axis=0) == pytest.approx(np.zeros(3), abs=1e-12)


def test_a_region_without_weights_is_refused():
    with pytest.raises(InputError, match="cannot meet the statements"):
        middle_of(np.vstack([-np.eye(2), [[1.0, 0.0], [0.0, 1.0]]]), np.array([0, 0, 0.3, 0.3]), 2)


def test_the_sampler_fits_the_region():
    assert sampler(admissible.anything(3)).method == uniform(3).method
    assert sampler(admissible.ordered([[1], [0]])).method == ordered([[1], [0]]).method
    lower = admissible.bounded([0.1, 0.2], [1, 1])
    assert sampler(lower).method == above([0.1, 0.2]).method
    assert sampler(lower).statement == lower.described
    both = admissible.both(admissible.ordered([[0], [1], [2]]), admissible.bounded([0.1] * 3, [0.6] * 3))
    assert "a walk" in sampler(both).method


def test_around_given_weights_the_mean_is_theirs_and_the_spread_is_told():
    source = around([4, 3, 2, 1], 20)
    draws = source.draws(MANY, 1)
    assert near(draws.mean(axis=0), np.array([0.4, 0.3, 0.2, 0.1]), mean_error(draws))
    ranges = np.array(implied_ranges([4, 3, 2, 1], 20))
    assert pytest.approx(ranges, abs=0.01) == np.quantile(draws, [0.05, 0.95], axis=0).T
    assert "Implied 5 to 95 % range" in source.notes[0]
    assert f"{100 * ranges[0, 0]:.0f} to {100 * ranges[0, 1]:.0f} %" in source.notes[0]


def test_a_weight_of_zero_stays_zero_around_itself():
    draws = around([1, 0, 1], 5).draws(100, 1)
    assert np.all(draws[:, 1] == 0)
    assert implied_ranges([1, 0, 1], 5)[1] == (0.0, 0.0)
    # So little concentration that gammas underflow: still shares.
    assert around([1, 1], 1e-6).draws(2000, 1).sum(axis=1) == pytest.approx(np.ones(2000))


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: uniform(0),
        lambda: ordered([[0], [0]]),
        lambda: ordered([]),
        lambda: above([0.5, 0.6]),
        lambda: above([-0.1, 0.6]),
        lambda: above([]),
        lambda: between([0.5, 0.6], [1, 1]),
        lambda: fixed([0, 0]),
        lambda: fixed([1, float("nan")]),
        lambda: around([1, 1], 0),
        lambda: around([1, -1], 3),
        lambda: implied_ranges([1, 1], float("inf")),
        lambda: uniform(2).draws(0, 1),
        lambda: uniform(2).draws(10, -1),
        lambda: uniform(2).draws(True, 1),
    ],
)
def test_what_cannot_be_drawn_is_refused(wrong):
    with pytest.raises(InputError):
        wrong()


def test_streams_do_not_overlap_and_do_not_depend_on_each_other():
    seen = {
        tuple(stream(seed, purpose, block, column).integers(0, 2**62, 4))
        for seed in (0, 1)
        for purpose in (1, 2)
        for block in range(3)
        for column in range(3)
    }
    assert len(seen) == 36


@given(st.integers(1, 40_000), st.integers(1, 5))
@settings(deadline=None, max_examples=50)
def test_property_units_cover_every_draw_once(draws, threads):
    rows = [(unit.block, row) for unit in units(draws, threads) for row in range(unit.start, unit.end)]
    assert rows == [(block, row) for block, used in blocks(draws) for row in range(used)]
    assert len(rows) == draws
