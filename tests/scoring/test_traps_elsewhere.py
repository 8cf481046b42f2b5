"""Traps 22 to 30 of the notes on decision scoring: what other libraries answer wrongly, ours refuse or answer rightly.

pymcdm is installed for tests, so its answer stands beside ours where the installed release still gives it.
"""

import warnings

import numpy as np
import pytest

from selector.errors import InputError
from selector.scoring.descriptions import critic, entropy, merec
from selector.scoring.fixed_opinions import geometric_value, spotis
from selector.scoring.gate import decision_matrix
from selector.scoring.outranking import promethee
from selector.scoring.second_opinions import topsis

GAP = float("nan")
NAMES, CRITERIA = ["A", "B", "C"], ["x", "y"]
HIGHER = ["higher", "higher"]


def theirs(method, *arguments, **options):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return method(*arguments, **options)


@pytest.mark.parametrize(
    "method",
    [
        lambda v: promethee(v, NAMES, CRITERIA, [1, 1], HIGHER),
        lambda v: topsis(v, NAMES, CRITERIA, [1, 1], HIGHER),
        lambda v: geometric_value(v, NAMES, CRITERIA, [1, 1]),
        lambda v: spotis(v, NAMES, CRITERIA, [1, 1], [(0, 9), (0, 9)], [9, 9]),
        lambda v: entropy(np.array(v), CRITERIA, HIGHER),
        lambda v: critic(np.array(v), CRITERIA, HIGHER),
        lambda v: merec(np.array(v), CRITERIA, HIGHER),
    ],
)
def test_trap_22_a_gap_is_refused_by_every_method(method):
    with pytest.raises(InputError, match="has no value"):
        method([[1.0, 2.0], [GAP, 3.0], [2.0, 1.0]])


def test_trap_22_the_other_library_ranks_a_gap():
    from pymcdm.methods import PROMETHEE_II

    values = np.array([[1.0, 2.0], [GAP, 3.0], [2.0, 1.0]])
    found = theirs(PROMETHEE_II("usual"), values, np.array([0.5, 0.5]), np.array([1, 1]))
    assert np.all(np.isfinite(found))


def test_trap_23_the_norm_is_stated_and_is_the_textbooks():
    values, weights = [[3.0, 1.0], [4.0, 5.0], [0.0, 4.0]], [2, 1]
    found = topsis(values, NAMES, CRITERIA, weights, HIGHER)
    assert "vector norm" in found.note
    from pymcdm.methods import TOPSIS
    from pymcdm.normalizations import vector_normalization

    shares, types = np.array(weights) / 3, np.array([1, 1])
    plain = theirs(TOPSIS(vector_normalization), np.array(values), shares, types)
    assert found.scores == pytest.approx(plain, abs=1e-12)
    assert theirs(TOPSIS(), np.array(values), shares, types) != pytest.approx(plain, abs=1e-3)


def test_trap_24_negative_values_are_refused_where_only_positive_ones_have_a_meaning():
    from pymcdm.normalizations import max_normalization

    assert theirs(max_normalization, np.array([-1.0, -2.0, -4.0]), cost=False).argmax() == 2  # the worst looks best
    table = np.array([[-1.0], [-2.0], [-4.0]])
    for method in (entropy, merec):
        with pytest.raises(InputError, match="values above 0"):
            method(table, ["x"], ["higher"])
    with pytest.raises(InputError, match="is no worth"):
        geometric_value(table, NAMES, ["x"], [1])
    assert topsis(table, NAMES, ["x"], [1], ["higher"]).ranks == (1, 2, 3)
    assert promethee(table, NAMES, ["x"], [1], ["higher"]).ranks == (1, 2, 3)


def test_trap_25_values_below_one_keep_their_order():
    from pymcdm.normalizations import logarithmic_normalization

    assert theirs(logarithmic_normalization, np.array([0.1, 0.2, 0.5]), cost=False).argmax() == 0
    values = [[0.1], [0.2], [0.5]]
    for found in (
        promethee(values, NAMES, ["x"], [1], ["higher"]),
        topsis(values, NAMES, ["x"], [1], ["higher"]),
        geometric_value(values, NAMES, ["x"], [1]),
        spotis(values, NAMES, ["x"], [1], [(0, 1)], [1]),
    ):
        assert found.ranks == (3, 2, 1)


@pytest.mark.parametrize("weights", [[1.2, -0.4], [GAP, 1], [0, 0]])
def test_trap_26_weights_that_mean_nothing_are_refused_by_every_method(weights):
    values = [[1.0, 2.0], [2.0, 1.0], [3.0, 0.0]]
    for ask in (
        lambda: promethee(values, NAMES, CRITERIA, weights, HIGHER),
        lambda: geometric_value(values, NAMES, CRITERIA, weights),
        lambda: spotis(values, NAMES, CRITERIA, weights, [(0, 9)] * 2, [9, 9]),
        lambda: topsis(values, NAMES, CRITERIA, weights, HIGHER),
    ):
        with pytest.raises(InputError, match="weight"):
            ask()


def test_trap_26_weights_that_sum_to_ten_are_brought_to_one():
    values = [[1.0, 2.0], [2.0, 1.0], [3.0, 0.0]]
    for method in (promethee, topsis):
        tens = method(values, NAMES, CRITERIA, [7, 3], HIGHER)
        assert tens.scores == method(values, NAMES, CRITERIA, [0.7, 0.3], HIGHER).scores
    assert decision_matrix(values, NAMES, CRITERIA, [7, 3], HIGHER).weights.sum() == pytest.approx(1)


# Traps 27, 28 and 30 concern judgement matrices: consistency, its table and the derivation of priorities are tested
# with the pairwise judgements, and the published matrices beside tests/published.


def test_trap_29_a_cost_is_turned_round_by_its_sign():
    # Costs 1, 2, 4 with a lead of 1.5 counting fully: 1/x would make the lead of 4 over 2 the same as of 2 over 1 half.
    from selector.scoring.outranking import Preferring

    how = [Preferring("v-shape", 0, 1.5)]
    costs, gains = [[1.0], [2.0], [4.0]], [[-1.0], [-2.0], [-4.0]]
    cost = promethee(costs, NAMES, ["x"], [1], ["lower"], how)
    gain = promethee(gains, NAMES, ["x"], [1], ["higher"], how)
    assert cost.scores == gain.scores
    assert cost.ranks == (1, 2, 3)
    inverse = promethee([[1.0], [0.5], [0.25]], NAMES, ["x"], [1], ["higher"], how)
    assert cost.scores != pytest.approx(inverse.scores, abs=0.1)
    # Leads 1, 3 and 2: preferences 2/3, 1 and 1.
    assert cost.scores == pytest.approx((5 / 6, 1 / 6, -1.0), abs=1e-12)
