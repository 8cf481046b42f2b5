"""Second opinions: right order on small cases done by hand, refusals, and what must not change a result."""

import dataclasses
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.errors import InputError
from selector.scoring.gate import decision_matrix
from selector.scoring.ranking import competition_ranks
from selector.scoring.second_opinions import (
    agreement,
    evaluate,
    topsis,
    vikor,
    weighted_sum_check,
)

GAP = float("nan")
BOTH = pytest.mark.parametrize("method", [topsis, vikor])


def run(method, values, weights=None, directions=None):
    """Run a method with letters for names."""
    count = len(values[0])
    return method(
        values,
        [chr(ord("A") + i) for i in range(len(values))],
        [f"c{j}" for j in range(count)],
        weights or [1] * count,
        directions or ["higher"] * count,
    )


def test_topsis_by_hand():
    # One criterion 3, 4, 0 of norm 5: distances from the best 0.2, 0, 0.8, from the worst 0.6, 0.8, 0.
    opinion = run(topsis, [[3], [4], [0]])
    assert opinion.scores == pytest.approx((0.75, 1.0, 0.0), abs=1e-12)
    assert opinion.ranks == (2, 1, 3)
    assert opinion.method == "TOPSIS"
    assert opinion.alternatives == ("A", "B", "C")
    assert "higher is better" in opinion.note


def test_vikor_by_hand():
    # Regrets of equal weight: A 0 and 1/2, B 1/2 and 0, C 1/4 and 1/8.
    # S = .5, .5, .375; R = .5, .5, .25; so Q = 1, 1, 0.
    opinion = run(vikor, [[4, 0], [0, 8], [2, 6]])
    assert opinion.scores == pytest.approx((1.0, 1.0, 0.0), abs=1e-12)
    assert opinion.ranks == (2, 2, 1)
    assert opinion.method == "VIKOR"
    assert "lower is better" in opinion.note


@BOTH
def test_the_label_says_that_the_order_is_relative_to_this_list(method):
    opinion = run(method, [[1, 2], [2, 1], [3, 3]])
    assert opinion.label == f"{opinion.method}, relative to this list"


def test_the_label_is_true_leaving_out_the_last_changes_the_winner():
    full = run(topsis, [[9, 4], [3, 9], [6, 8], [1, 9]])
    part = run(topsis, [[9, 4], [3, 9], [6, 8]])
    assert full.ranks == (1, 3, 2, 4)
    assert part.ranks == (2, 3, 1)


def test_an_opinion_cannot_be_changed():
    opinion = run(topsis, [[1], [2]])
    with pytest.raises(dataclasses.FrozenInstanceError):
        opinion.ranks = (1, 1)


@BOTH
@pytest.mark.parametrize("direction", ["higher", "lower"])
def test_the_direction_decides_which_end_is_first(method, direction):
    opinion = run(method, [[1], [2], [5]], directions=[direction])
    assert opinion.ranks == ((3, 2, 1) if direction == "higher" else (1, 2, 3))


@BOTH
def test_a_single_alternative_is_refused_with_the_reason(method):
    with pytest.raises(InputError, match="alternatives: are too few to compare; got 1; allowed: 2 or more"):
        run(method, [[1, 2]])


@BOTH
def test_a_constant_criterion_changes_nothing_and_is_named(method):
    plain = run(method, [[1, 9], [2, 4], [3, 1]], [2, 1])
    opinion = run(method, [[1, 9, 7], [2, 4, 7], [3, 1, 7]], [2, 1, 5])
    assert opinion.scores == pytest.approx(plain.scores, abs=1e-12)
    assert opinion.ranks == plain.ranks
    assert opinion.note.endswith("Without a say, being equal throughout or without weight: c2.")
    assert "Without a say" not in plain.note


@BOTH
@pytest.mark.parametrize("column", [(0.0, 0.0), (0.3, 0.1 + 0.2), (-5.0, -5.0)])
def test_a_criterion_that_differs_by_rounding_only_is_constant(method, column):
    # Stretched to 0..1, the rounding of 0.1 + 0.2 would count as much as a real difference.
    opinion = run(method, [[1, column[0]], [2, column[1]]], [1, 99])
    assert opinion.ranks == (2, 1)
    assert opinion.note.endswith(": c1.")


@BOTH
def test_a_criterion_without_weight_changes_nothing_and_is_named(method):
    opinion = run(method, [[1, 9], [2, 4], [3, 1]], [1, 0])
    assert opinion.ranks == (3, 2, 1)
    assert opinion.note.endswith(": c1.")


@BOTH
@pytest.mark.parametrize(("values", "weights"), [([[1, 2], [1, 2], [1, 2]], [1, 1]), ([[1, 2], [1, 3]], [1, 0])])
def test_alternatives_that_nothing_tells_apart_are_refused_with_the_reason(method, values, weights):
    with pytest.raises(InputError, match="no criterion that carries weight tells these alternatives apart"):
        run(method, values, weights)


@BOTH
def test_equal_alternatives_share_a_competition_rank(method):
    opinion = run(method, [[3, 3], [2, 2], [2, 2], [1, 1]])
    assert opinion.ranks == (1, 2, 2, 4)


def test_vikor_does_not_stretch_rounding_to_a_difference():
    # Of 20 parts A lacks 1 and 9, B lacks 3 and 7: the sums differ by rounding only, the worst are 9 and 7.
    values, weights = [[0, 1, 1, 0], [1, 0, 0, 1]], [1, 3, 7, 9]
    matrix = decision_matrix(values, ["A", "B"], list("abcd"), weights, ["higher"] * 4)
    found = evaluate("VIKOR", matrix)
    assert 0 < np.ptp(found["s"]) < 1e-15  # the library then calls it a tie:
    assert found["q"].tolist() == [0.5, 0.5]
    opinion = run(vikor, values, weights)
    assert opinion.ranks == (2, 1)
    assert opinion.scores == pytest.approx((0.5, 0.0), abs=1e-12)
    assert "tie on the summed or on the worst regret" in opinion.note


def test_vikor_ties_what_regrets_alike():
    opinion = run(vikor, [[0, 1], [1, 0]])
    assert opinion.ranks == (1, 1)
    assert opinion.scores == (0.0, 0.0)


@BOTH
@pytest.mark.parametrize("size", [1e-300, 1e-160, 1e160, 1e307])
def test_values_of_any_size_give_the_same_scores(method, size):
    values = np.array([[4.0, 2.0], [1.0, 8.0], [3.0, 3.0]])
    huge = run(method, (values * [size, 1.0]).tolist())
    assert huge.scores == pytest.approx(run(method, values.tolist()).scores, abs=1e-12)


@BOTH
def test_nothing_is_printed_and_no_warning_escapes(method, capsys):
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        run(method, [[0, 1, 5], [1, 0, 5]], directions=["higher", "higher", "lower"])
        run(method, [[3, 1], [1, 3], [2, 5]], directions=["higher", "lower"])
    assert caught == []
    assert capsys.readouterr() == ("", "")


@BOTH
def test_trap_05_a_gap_is_refused_instead_of_dropping_its_criterion(method):
    with pytest.raises(InputError) as caught:
        run(method, [[GAP, 1], [9, 2], [1, 3]], [0.9, 0.1])
    (only,) = caught.value.faults
    assert str(only).startswith("alternative 'A', criterion 'c0': has no value")


def test_trap_07_ranks_with_ties_stay_competition_ranks():
    # The library's ranks are 3, 1, 1, 2, and its "untied" ranks put a best row third.
    opinion = run(topsis, [[1], [9], [9], [5]])
    assert opinion.ranks == (4, 1, 1, 3)


@BOTH
def test_trap_08_weights_have_an_effect(method):
    values = [[1, 9], [9, 1.5], [4, 4]]
    assert run(method, values, [0.9, 0.1]).ranks.index(1) == 1
    assert run(method, values, [0.1, 0.9]).ranks.index(1) == 0


@BOTH
def test_trap_09_a_cost_of_zero_is_a_good_cost(method):
    opinion = run(method, [[0, 0.5], [90, 0.6]], [0.9, 0.1], ["lower", "higher"])
    assert opinion.ranks == (1, 2)


@BOTH
def test_trap_10_a_negative_cost_is_the_best(method):
    assert run(method, [[-2], [5], [10]], directions=["lower"]).ranks == (1, 2, 3)


@BOTH
def test_trap_11_values_that_sum_to_less_than_zero_keep_their_order(method):
    assert run(method, [[-40], [-10], [20]]).ranks == (3, 2, 1)


@BOTH
def test_trap_12_the_smaller_cost_is_first(method):
    assert run(method, [[1], [2]], directions=["lower"]).ranks == (1, 2)


def test_trap_13_units_do_not_outweigh_the_weights_in_topsis():
    # Degrees in the hundreds beside fractions: unscaled, the library ranks 2, 3, 1.
    assert run(topsis, [[217, 0.90], [221, 0.10], [225, 0.05]], [0.1, 0.9]).ranks == (1, 2, 3)


def test_trap_14_scores_that_differ_by_rounding_tie():
    scores = weighted_sum_check([[0.3, 0.3], [0.1 + 0.2, 0.1 + 0.2]], [1, 1])
    assert scores[0] != scores[1]
    assert competition_ranks(scores).tolist() == [1, 1]
    # The same through a method: C mirrors B, and their closeness may differ in the last digit only.
    assert run(topsis, [[0.9, 0.9], [0.3, 0.1], [0.1, 0.3]]).ranks == (1, 2, 2)


@pytest.mark.parametrize("method", ["TOPSIS", "VIKOR", "WeightedSumModel"])
def test_trap_15_a_common_factor_of_the_weights_changes_no_bit(method):
    values = [[0.9, 0.2, 0.7], [0.5, 0.9, 0.4], [0.3, 0.6, 0.95], [0.7, 0.5, 0.5]]
    given_as = (values, list("ABCD"), list("xyz"))
    ones = evaluate(method, decision_matrix(*given_as, [1, 1, 1], ["higher"] * 3))
    thirds = evaluate(method, decision_matrix(*given_as, [1 / 3] * 3, ["higher"] * 3))
    assert {k: v.tolist() for k, v in ones.items()} == {k: v.tolist() for k, v in thirds.items()}


def test_trap_17_a_negative_weight_is_refused_by_every_function():
    for method in (topsis, vikor):
        with pytest.raises(InputError, match="weight of criterion 'c1': is negative"):
            run(method, [[1, 2], [2, 1]], [1.5, -0.5])
    with pytest.raises(InputError, match="weight of criterion 'value 2': is negative"):
        weighted_sum_check([[0.1, 0.2], [0.2, 0.1]], [1.5, -0.5])


@BOTH
def test_trap_19_a_constant_flag_does_no_harm(method):
    # All lead-free: the flag is 1 throughout.
    opinion = run(method, [[1, 1, 9], [1, 2, 4], [1, 3, 1]], [5, 2, 1])
    assert opinion.ranks == run(method, [[1, 9], [2, 4], [3, 1]], [2, 1]).ranks
    assert all(np.isfinite(opinion.scores))


def test_weighted_sum_by_hand():
    # (3 x 1 + 1 x 0) / 4 and (3 x 0.5 + 1 x 1) / 4
    scores = weighted_sum_check([[1.0, 0.0], [0.5, 1.0]], [3, 1])
    assert scores.tolist() == pytest.approx([0.75, 0.625], abs=1e-12)


def test_values_that_are_not_anchored_are_refused_one_by_one():
    with pytest.raises(InputError) as caught:
        weighted_sum_check([[1.1, 0.0], [0.5, -0.1]], [3, 1])
    assert [str(fault) for fault in caught.value.faults] == [
        "row 1, value 1: is not anchored; got 1.1; allowed: 0 to 1",
        "row 2, value 2: is not anchored; got -0.1; allowed: 0 to 1",
    ]


@pytest.mark.parametrize("values", [None, 1.0, [[0.5, 0.5]], [[0.5], [0.2]], [[0.5, GAP], [0.2, 0.1]]])
def test_a_weighted_sum_that_means_nothing_is_refused(values):
    with pytest.raises(InputError):
        weighted_sum_check(values, [3, 1])


def test_agreement_by_hand():
    assert agreement([1, 2, 3], [1, 2, 3]) == pytest.approx(1.0, abs=1e-12)
    assert agreement([1, 2, 3], [3, 2, 1]) == pytest.approx(-1.0, abs=1e-12)
    # Six pairs, one of them turned round: (5 - 1) / 6.
    assert agreement([1, 2, 3, 4], [1, 2, 4, 3]) == pytest.approx(2 / 3, abs=1e-12)
    # Five pairs alike and one tied on one side: 5 / sqrt(5 x 6).
    assert agreement([1, 2, 2, 4], [1, 2, 3, 4]) == pytest.approx(5 / 30**0.5, abs=1e-12)


@pytest.mark.parametrize("pair", [([1, 1, 1], [1, 2, 3]), ([1, 2, 3], [1, 1, 1]), ([1], [1]), ([], [])])
def test_agreement_is_undefined_without_an_order(pair):
    assert agreement(*pair) is None


@pytest.mark.parametrize(
    ("pair", "words"),
    [
        (([1, 2], [1, 2, 3]), "second ranking: has the wrong length; got 3; allowed: 2"),
        (([1, GAP], [1, 2]), "first ranking, no. 2: has no value"),
        (([1, 2], [1, None]), "second ranking, no. 2: has no value"),
        (([], [1]), "second ranking: has the wrong length; got 1; allowed: 0"),
        (("12", [1, 2]), "first ranking: is not a list"),
    ],
)
def test_rankings_that_cannot_be_compared_are_refused(pair, words):
    with pytest.raises(InputError) as caught:
        agreement(*pair)
    assert words in str(caught.value)


tables = st.integers(2, 6).flatmap(
    lambda m: st.integers(1, 4).flatmap(
        lambda n: st.tuples(
            st.lists(st.lists(st.integers(0, 9), min_size=n, max_size=n), min_size=m, max_size=m),
            st.lists(st.integers(1, 9), min_size=n, max_size=n),
            st.lists(st.sampled_from(["higher", "lower"]), min_size=n, max_size=n),
        )
    )
).filter(lambda table: any(len(set(column)) > 1 for column in zip(*table[0], strict=True)))  # fmt: skip


@BOTH
@given(table=tables, order=st.randoms(use_true_random=False))
@settings(deadline=None, max_examples=40)
def test_property_the_order_of_alternatives_and_criteria_does_not_matter(method, table, order):
    values, weights, directions = table
    plain = run(method, values, weights, directions)
    rows = order.sample(range(len(values)), len(values))
    turned = run(method, [values[i] for i in rows], weights, directions)
    assert turned.ranks == tuple(plain.ranks[i] for i in rows)
    assert turned.scores == pytest.approx([plain.scores[i] for i in rows], abs=1e-9)
    columns = order.sample(range(len(weights)), len(weights))
    turned = run(
        method,
        [[row[j] for j in columns] for row in values],
        [weights[j] for j in columns],
        [directions[j] for j in columns],
    )
    assert turned.ranks == plain.ranks
    assert turned.scores == pytest.approx(plain.scores, abs=1e-9)


@BOTH
@given(table=tables, factor=st.floats(1e-6, 1e6))
@settings(deadline=None, max_examples=40)
def test_property_a_common_factor_of_the_weights_changes_nothing(method, table, factor):
    values, weights, directions = table
    plain = run(method, values, weights, directions)
    scaled = run(method, values, [weight * factor for weight in weights], directions)
    assert scaled.ranks == plain.ranks
    assert scaled.scores == pytest.approx(plain.scores, abs=1e-9)


@BOTH
@given(table=tables, factor=st.floats(1e-6, 1e6))
@settings(deadline=None, max_examples=40)
def test_property_the_unit_of_a_criterion_changes_nothing(method, table, factor):
    values, weights, directions = table
    plain = run(method, values, weights, directions)
    scaled = run(method, [[row[0] * factor, *row[1:]] for row in values], weights, directions)
    assert scaled.ranks == plain.ranks
    assert scaled.scores == pytest.approx(plain.scores, abs=1e-9)


@given(
    table=st.integers(1, 5).flatmap(
        lambda n: st.tuples(
            st.lists(st.lists(st.floats(0, 1), min_size=n, max_size=n), min_size=2, max_size=6),
            st.lists(st.integers(1, 100), min_size=n, max_size=n),
        )
    )
)
@settings(deadline=None, max_examples=60)
def test_property_the_weighted_sum_is_plain_arithmetic(table):
    values, weights = table
    expected = [sum(w * v for w, v in zip(weights, row, strict=True)) / sum(weights) for row in values]
    assert weighted_sum_check(values, weights).tolist() == pytest.approx(expected, abs=1e-12)


@given(
    ranks=st.lists(st.tuples(st.integers(1, 6), st.integers(1, 6)), min_size=2, max_size=8),
)
@settings(deadline=None, max_examples=60)
def test_property_agreement_is_kendalls_tau_b_counted_pair_by_pair(ranks):
    pairs = [(p, q) for i, p in enumerate(ranks) for q in ranks[i + 1 :]]
    signs = [(np.sign(p[0] - q[0]), np.sign(p[1] - q[1])) for p, q in pairs]
    told_apart = sum(a != 0 for a, _ in signs) * sum(b != 0 for _, b in signs)
    found = agreement([a for a, _ in ranks], [b for _, b in ranks])
    if told_apart == 0:
        assert found is None
    else:
        assert found == pytest.approx(sum(a * b for a, b in signs) / told_apart**0.5, abs=1e-12)
