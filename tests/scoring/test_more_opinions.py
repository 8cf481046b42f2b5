"""SPOTIS, geometric value, PROMETHEE II and the descriptions: small cases by hand, refusals, what must not change."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.errors import InputError
from selector.scoring.descriptions import critic, entropy, merec
from selector.scoring.fixed_opinions import geometric_value, spotis
from selector.scoring.gate import decision_matrix
from selector.scoring.outranking import SHAPES, Preferring, flows, promethee
from selector.scoring.second_opinions import evaluate

NAMES = ["A", "B", "C"]


def test_spotis_by_hand():
    # Shares of the range from the ideal: A 0.1 and 0.5, B 0.4 and 0, weights 3/4 and 1/4.
    found = spotis([[9, 15], [6, 20]], ["A", "B"], ["x", "y"], [3, 1], [(0, 10), (10, 20)], [10, 20])
    assert found.scores == pytest.approx((0.2, 0.3), abs=1e-12)
    assert found.ranks == (1, 2)
    assert found.label == "SPOTIS on fixed bounds, independent of the list"
    assert "lower is better" in found.note


def test_spotis_counts_levels_beyond_the_bounds():
    found = spotis([[12], [10], [-3]], NAMES, ["x"], [1], [(0, 10)], [10])
    assert found.scores == pytest.approx((0, 0, 1), abs=1e-12)
    assert found.ranks == (1, 1, 3)
    assert "2 levels beyond a bound counted as on it" in found.note
    assert "beyond" not in spotis([[1], [2]], ["A", "B"], ["x"], [1], [(0, 10)], [10]).note


def test_spotis_without_bounds_is_refused_since_it_would_take_them_from_the_list():
    matrix = decision_matrix([[1.0], [2.0]], ["A", "B"], ["x"], [1], ["higher"])
    with pytest.raises(InputError, match="lacks fixed bounds"):
        evaluate("SPOTIS", matrix)


@pytest.mark.parametrize(
    ("bounds", "ideals", "words"),
    [
        ([(10, 0)], [5], "do not rise"),
        ([(5, 5)], [5], "do not rise"),
        ([(0, 10)], [11], "ideal of criterion 'x': is outside its bounds; got 11; allowed: 0 to 10"),
        ([(0, float("nan"))], [5], "has no value"),
        ([(0, 10, 20)], [5], "wrong length"),
        ([], [5], "bounds: has the wrong length"),
        ([(0, 10)], [5, 5], "ideals: has the wrong length"),
        ([(0, 10)], ["5"], "is not a number"),
    ],
)
def test_bounds_and_ideals_that_mean_nothing_are_refused(bounds, ideals, words):
    with pytest.raises(InputError, match=words):
        spotis([[1], [2]], ["A", "B"], ["x"], [1], bounds, ideals)


rows = st.lists(st.lists(st.floats(0, 100), min_size=3, max_size=3), min_size=3, max_size=6)


@given(rows)
@settings(deadline=None, max_examples=30)
def test_property_fixed_methods_do_not_see_who_else_is_listed(values):
    names = [f"A{i}" for i in range(len(values))]
    fixed = ([(0, 100)] * 3, [100, 50, 0])
    for method in (
        lambda v, n: spotis(v, n, list("xyz"), [3, 2, 1], *fixed),
        lambda v, n: geometric_value(v, n, list("xyz"), [3, 2, 1]),
    ):
        assert method(values, names).scores[:2] == method(values[:2], names[:2]).scores


@given(rows)
@settings(deadline=None, max_examples=30)
def test_property_spotis_with_ideals_at_the_ends_is_the_additive_value(values):
    names = [f"A{i}" for i in range(len(values))]
    found = spotis(values, names, list("xyz"), [3, 2, 1], [(0, 100)] * 3, [100] * 3)
    additive = np.array(values) @ [3, 2, 1] / 600
    assert 1 - np.array(found.scores) == pytest.approx(additive, abs=1e-12)


def test_geometric_value_by_hand():
    # Worths 100 and 0 count 100 and 4 with a floor of 4: their geometric mean is 20; 52 and 52 stay 52 (of 50 and 50).
    found = geometric_value([[100, 0], [50, 50]], ["A", "B"], ["x", "y"], [1, 1], least=4)
    assert found.scores == pytest.approx((20, 52), abs=1e-9)
    assert found.ranks == (2, 1)
    assert "the worst anchor counts 4 of 100" in found.note
    assert "independent of the list" in found.label


@pytest.mark.parametrize("least", [0, -1, 100, float("nan"), True, "10"])
def test_an_anchor_not_above_zero_is_refused(least):
    with pytest.raises(InputError, match="least worth: cannot be used"):
        geometric_value([[1], [2]], ["A", "B"], ["x"], [1], least=least)


def test_what_is_no_worth_is_refused_cell_by_cell():
    with pytest.raises(InputError) as caught:
        geometric_value([[101], [-1]], ["A", "B"], ["x"], [1])
    assert len(caught.value.faults) == 2


def test_promethee_by_hand():
    # x (2/3): A > B > C, y (1/3): C > B > A. Each wins 2/3 above and 1/3 below: A +1/3, B 0, C -1/3.
    found = promethee([[3, 1], [2, 2], [1, 3]], NAMES, ["x", "y"], [2, 1], ["higher"] * 2)
    assert found.scores == pytest.approx((1 / 3, 0, -1 / 3), abs=1e-12)
    assert found.ranks == (1, 2, 3)
    assert found.label == "PROMETHEE II, relative to this list"


@pytest.mark.parametrize(
    ("how", "expected"),
    [
        (Preferring("usual"), [0, 0, 1, 1, 1, 1]),
        (Preferring("u-shape", 2), [0, 0, 0, 0, 1, 1]),
        (Preferring("v-shape", 0, 4), [0, 0, 0.25, 0.5, 0.75, 1]),
        (Preferring("level", 1, 3), [0, 0, 0, 0.5, 0.5, 1]),
        (Preferring("linear", 1, 3), [0, 0, 0, 0.5, 1, 1]),
        (Preferring("gaussian", 0, 2), [0, 0, *(1 - np.exp(-(np.array([1, 2, 3, 4]) ** 2) / 8))]),
    ],
)
def test_each_shape_of_preference(how, expected):
    assert how.of(np.array([-5.0, 0, 1, 2, 3, 4])) == pytest.approx(expected, abs=1e-12)


def test_a_lead_of_rounding_is_no_lead():
    found = promethee([[0.3], [0.1 + 0.2], [0.0]], NAMES, ["x"], [1], ["higher"])
    assert found.ranks == (1, 1, 3)


@pytest.mark.parametrize(
    "how",
    [
        Preferring("round"),
        Preferring("linear", 2, 2),
        Preferring("linear", -1, 2),
        Preferring("v-shape", 0, 0),
        Preferring("gaussian", 0, 0),
        Preferring("level", 3, 2),
        Preferring("u-shape", float("nan")),
    ],
)
def test_thresholds_that_mean_nothing_are_refused(how):
    with pytest.raises(InputError, match="preference on 'x': cannot be used"):
        promethee([[1], [2]], ["A", "B"], ["x"], [1], ["higher"], [how])


def test_preferences_of_the_wrong_number_are_refused():
    with pytest.raises(InputError, match="are not one a criterion; got 2; allowed: 1"):
        promethee([[1], [2]], ["A", "B"], ["x"], [1], ["higher"], [Preferring()] * 2)


@given(rows, st.sampled_from(SHAPES))
@settings(deadline=None, max_examples=30)
def test_property_flows_sum_to_nothing_and_lie_between_their_ends(values, shape):
    found = flows(np.array(values), np.full(3, 1 / 3), ["higher", "lower", "higher"], [Preferring(shape, 5, 20)] * 3)
    assert found.net.sum() == pytest.approx(0, abs=1e-9)
    for part in (found.leaving, found.entering):
        assert part.min() >= 0
        assert part.max() <= 1 + 1e-12


def test_promethee_depends_on_the_list_as_its_label_says():
    values = [[60, 40], [40, 61], [10, 59], [12, 58], [14, 57]]
    names = list("ABCDE")
    full = promethee(values, names, ["x", "y"], [1, 1], ["higher"] * 2)
    part = promethee(values[:2], names[:2], ["x", "y"], [1, 1], ["higher"] * 2)
    assert full.scores[:2] != pytest.approx(part.scores, abs=0.01)


def test_descriptions_by_hand():
    # Only x differs, so it holds all the spread.
    table = np.array([[1.0, 2.0], [3.0, 2.0]])
    for method in (entropy, merec):
        found = method(table, ["x", "y"], ["higher", "higher"])
        assert found.shares == pytest.approx((1, 0), abs=1e-12)
        assert found.label == "describes the spread of this list; not an importance"
    # Two criteria exactly against each other share alike.
    assert critic(np.array([[1.0, 9.0], [2.0, 7.0], [3.0, 5.0]]), ["x", "y"], ["higher"] * 2).shares == pytest.approx(
        (0.5, 0.5)
    )


def test_one_odd_alternative_changes_a_description_which_is_why_it_is_no_importance():
    table = np.array([[1.0, 5.0], [1.1, 7.0], [1.2, 9.0]])
    odd = np.vstack([table, [50.0, 8.0]])
    before, after = (entropy(each, ["x", "y"], ["higher"] * 2).shares for each in (table, odd))
    assert before[0] < before[1]
    assert after[0] > after[1]


def test_what_cannot_be_described_is_refused():
    with pytest.raises(InputError, match="is constant"):
        critic(np.array([[1.0, 2.0], [3.0, 2.0]]), ["x", "y"], ["higher"] * 2)
    with pytest.raises(InputError, match="criteria: are too few"):
        critic(np.array([[1.0], [3.0]]), ["x"], ["higher"])
    with pytest.raises(InputError, match="do not differ anywhere"):
        entropy(np.ones((3, 2)), ["x", "y"], ["higher"] * 2)
    with pytest.raises(InputError, match="all go together"):
        critic(np.array([[1.0, 10.0], [2.0, 20.0], [4.0, 40.0]]), ["x", "y"], ["higher"] * 2)
    with pytest.raises(InputError, match="values above 0"):
        merec(np.array([[0.0, 2.0], [3.0, 4.0]]), ["x", "y"], ["higher"] * 2)
