"""Weights and exact answers against worked examples. Each check names its source and how its figures were obtained.

"Memory": recalled, then confirmed two ways before it was taken over. "Derived": no published figure is claimed.
"""

import numpy as np
import pytest

from selector.scoring.admissible import anything
from selector.scoring.optimality import optimality
from selector.scoring.ranking import accumulated, competition_ranks, normalised
from selector.scoring.stability import stability
from selector.scoring.values import worth
from selector.scoring.weights.pairs import RANDOM_INDEX, judged, matrix_of
from selector.scoring.weights.ranked import centroid, rank_reciprocal, rank_sum


def one_a_place(n):
    return [(index,) for index in range(n)]


@pytest.mark.parametrize(
    ("make", "weights", "tolerance"),
    [
        # Management Science 42(11), 1515-1523 (1996). Memory.
        (centroid, [0.6111, 0.2778, 0.1111], 6e-4),
        (centroid, [0.5208, 0.2708, 0.1458, 0.0625], 1e-3),
        (centroid, [0.4567, 0.2567, 0.1567, 0.09, 0.04], 1e-3),
        # Organizational Behavior and Human Performance 28, 62-77 (1981). Memory.
        (rank_sum, [0.5, 0.3333, 0.1667], 1e-4),
        (rank_sum, [0.3333, 0.2667, 0.2, 0.1333, 0.0667], 1e-4),
        (rank_reciprocal, [0.5455, 0.2727, 0.1818], 1e-4),
        (rank_reciprocal, [0.438, 0.219, 0.146, 0.1095, 0.0876], 1e-4),
    ],
)
def test_weights_from_a_ranking(make, weights, tolerance):
    assert make(one_a_place(len(weights))) == pytest.approx(weights, abs=tolerance)


def test_judgements_of_three():
    """Textbook matrix on the scale 1 to 9; random index 0.58. Memory."""
    found = judged(matrix_of(3, {(0, 1): 3, (0, 2): 5, (1, 2): 3}, "abc"), "saaty")
    assert found.eigenvector == pytest.approx([0.637, 0.258, 0.105], abs=1e-3)
    assert (found.lambda_max, found.index, found.ratio) == (
        pytest.approx(3.0385, abs=1e-3),
        pytest.approx(0.0193, abs=1e-3),
        pytest.approx(0.033, abs=1e-3),
    )


HOUSE = {
    (0, 1): 5, (0, 2): 3, (0, 3): 7, (0, 4): 6, (0, 5): 6, (0, 6): 1 / 3, (0, 7): 1 / 4,
    (1, 2): 1 / 3, (1, 3): 5, (1, 4): 3, (1, 5): 3, (1, 6): 1 / 5, (1, 7): 1 / 7,
    (2, 3): 6, (2, 4): 3, (2, 5): 4, (2, 6): 6, (2, 7): 1 / 5,
    (3, 4): 1 / 3, (3, 5): 1 / 4, (3, 6): 1 / 7, (3, 7): 1 / 8,
    (4, 5): 1 / 2, (4, 6): 1 / 5, (4, 7): 1 / 6, (5, 6): 1 / 5, (5, 7): 1 / 6, (6, 7): 1 / 2,
}  # fmt: skip


def test_judgements_of_eight_whose_own_consistency_fails():
    """EJOR 48, 9-26 (1990), choice of a house; random index 1.41. Memory. The eigenvector, not column means."""
    found = judged(matrix_of(8, HOUSE, "abcdefgh"), "saaty")
    assert found.eigenvector == pytest.approx([0.173, 0.054, 0.188, 0.018, 0.031, 0.036, 0.167, 0.333], abs=1.5e-3)
    assert (found.lambda_max, found.index, found.ratio) == (
        pytest.approx(9.669, abs=1.5e-3),
        pytest.approx(0.238, abs=1.5e-3),
        pytest.approx(0.169, abs=1.5e-3),
    )
    assert not found.consistent
    assert found.triads[0].factor > 10


def test_the_ratio_depends_on_whose_table():
    """A matrix of three with index 0.055 keeps under 0.1 by one table and not by the other. Derived."""
    times = 4.2
    while judged(matrix_of(3, {(0, 1): 2, (0, 2): times, (1, 2): 1}, "abc")).index < 0.055:
        times += 0.001
    matrix = matrix_of(3, {(0, 1): 2, (0, 2): times, (1, 2): 1}, "abc")
    old, new = judged(matrix, "saaty"), judged(matrix, "alonso-lamata")
    assert (old.ratio, new.ratio) == (pytest.approx(0.095, abs=5e-4), pytest.approx(0.105, abs=5e-4))
    assert (old.consistent, new.consistent) == (True, False)
    assert (old.table, new.table) == ("saaty", "alonso-lamata")


def mean_random_index(n, draws):
    """Mean index of random judgements on 1/9 to 9, with its standard error, by power iteration on many at once."""
    rng = np.random.default_rng(11)
    scale = np.array([1 / k for k in range(9, 1, -1)] + list(range(1, 10)))
    upper = np.triu_indices(n, 1)
    matrices = np.ones((draws, n, n))
    said = rng.choice(scale, (draws, len(upper[0])))
    matrices[:, upper[0], upper[1]], matrices[:, upper[1], upper[0]] = said, 1 / said
    vector = np.ones((draws, n))
    for _ in range(60):
        moved = np.einsum("aij,aj->ai", matrices, vector)
        largest = moved.sum(axis=1) / vector.sum(axis=1)
        vector = moved / moved.sum(axis=1, keepdims=True)
    index = (largest - n) / (n - 1)
    return index.mean(), index.std() / np.sqrt(draws)


@pytest.mark.parametrize(("n", "draws"), [(3, 20_000), (5, 10_000), (10, 4_000), (15, 2_000)])
def test_random_indices_are_the_mean_of_random_judgements(n, draws):
    """IJUFKS 14(4), 445-459 (2006); The Analytic Hierarchy Process (1980). Memory, and simulated here."""
    mean, error = mean_random_index(n, draws)
    assert RANDOM_INDEX["alonso-lamata"][n] == pytest.approx(mean, abs=4 * error + 1e-3)
    if n in RANDOM_INDEX["saaty"]:
        assert RANDOM_INDEX["saaty"][n] == pytest.approx(mean, abs=0.06)


def test_a_tie_in_exact_fractions_is_a_tie():
    """Textbook of 2000, weighted sum without scaling. Memory. A library ranks 2, 1, 1: ties want a tolerance."""
    matrix = np.array([[25.0, 20, 15, 30], [10, 30, 20, 30], [30, 10, 30, 10]])
    scores = accumulated(matrix, normalised([0.2, 0.15, 0.4, 0.25]))
    assert scores == pytest.approx([21.5, 22, 22], abs=1e-9)
    assert competition_ranks(scores).tolist() == [3, 1, 1]


def test_a_fixed_range_distance_is_one_minus_the_anchored_sum():
    """IEEE FUSION 2020, SPOTIS on given bounds; figures from a public test suite."""
    matrix = [[10.5, -3.1, 1.7], [-4.7, 0.0, 3.4], [8.1, 0.3, 1.3], [3.2, 7.3, -5.3]]
    curves = [((-5, 0), (12, 100)), ((-6, 100), (10, 0)), ((-8, 0), (5, 100))]
    values = np.array([[worth(v, c) for v, c in zip(row, curves, strict=True)] for row in matrix])
    scores = accumulated(values, normalised([0.2, 0.3, 0.5]))
    assert 1 - scores / 100 == pytest.approx([0.1989, 0.3705, 0.3063, 0.7491], abs=1e-4)
    assert competition_ranks(scores).tolist() == [1, 3, 2, 4]


def test_ranges_of_each_weight():
    """Closed form, and a scan of a million points. Derived."""
    matrix = 100 * np.array([[0.9, 0.2, 0.7], [0.5, 0.9, 0.4], [0.3, 0.6, 0.95], [0.7, 0.5, 0.5]])
    found = stability(matrix, [0.5, 0.3, 0.2], 0)
    assert found.lower == pytest.approx([0.428571429, 0, 0.04], abs=1e-9)
    assert found.upper == pytest.approx([1, 0.346666667, 0.473684211], abs=1e-9)


def test_the_best_lead_that_any_weights_give():
    """Linear program, and a grid of step 1/400. Derived. The fourth is dominated by nobody and yet never first."""
    matrix = 100 * np.array([[0.8, 0.8, 0.1], [0.7, 0.7, 0.1], [0.1, 0.3, 1.0], [0.4, 0.4, 0.45]])
    found = optimality(matrix, anything(3))
    assert found.lead / 100 == pytest.approx([0.1, -0.05625, 0.55, -0.071875], abs=1e-9)
    assert found.can_lead.tolist() == [True, False, True, False]


def test_a_copy_of_the_winner_turns_ratio_scales_and_not_anchored_ones():
    """Omega 11(3), 228-230 (1983). Memory. Sums of shares of the column, as the warning against them."""
    matrix = np.array([[1.0, 9, 8], [9, 1, 9], [1, 1, 1], [9, 1, 9]])
    shares = [m / m.sum(axis=0) @ np.ones(3) / 3 for m in (matrix[:3], matrix)]
    assert shares[0] == pytest.approx([0.45, 0.47, 0.08], abs=6e-3)
    assert shares[1] == pytest.approx([0.37, 0.29, 0.06, 0.29], abs=6e-3)
    values = np.array([[worth(v, ((1, 0), (9, 100))) for v in row] for row in matrix])
    before, after = (competition_ranks(accumulated(v, normalised([1, 1, 1]))) for v in (values[:3], values))
    assert (before.tolist(), after.tolist()) == ([2, 1, 3], [3, 1, 4, 1])
