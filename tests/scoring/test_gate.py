"""The gate in front of scikit-criteria: what it lets through, what it refuses and in which words.

Traps are numbered as in the project's notes on decision scoring. Traps 22 to 30 belong to other libraries, which the
project does not use; test_traps_elsewhere.py shows that our own functions answer rightly or refuse.
"""

import importlib
import inspect
import pkgutil
import subprocess
import sys
import warnings
from fractions import Fraction
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.errors import InputError
from selector.scoring.gate import NOT_OFFERED, OFFERED, decision_matrix, restricted
from selector.scoring.second_opinions import evaluate

GAP = float("nan")
ROOT = Path(__file__).parents[2]


def good(**changed):
    """Return a sound input with some parts replaced."""
    return {
        "values": [[1.0, 90.0], [2.0, 80.0], [3.0, 70.0]],
        "alternatives": ["A", "B", "C"],
        "criteria": ["x", "y"],
        "weights": [3, 1],
        "directions": ["higher", "lower"],
    } | changed


def faults(**changed):
    """Return the faults of an input that must be refused."""
    with pytest.raises(InputError, match="the decision matrix") as caught:
        decision_matrix(**good(**changed))
    return [str(fault) for fault in caught.value.faults]


def refusal(method):
    """Return the words in which a method is refused."""
    with pytest.raises(InputError, match="is not offered") as caught:
        evaluate(method, decision_matrix(**good()))
    return str(caught.value)


def test_a_sound_input_comes_through_as_given():
    matrix = decision_matrix(**good())
    assert matrix.matrix.to_numpy().tolist() == [[1.0, 90.0], [2.0, 80.0], [3.0, 70.0]]
    assert list(matrix.matrix.index) == ["A", "B", "C"]
    assert list(matrix.matrix.columns) == ["x", "y"]
    assert matrix.weights.to_dict() == {"x": 0.75, "y": 0.25}
    assert matrix.maxwhere.to_dict() == {"x": True, "y": False}


def test_integers_fractions_and_tuples_are_numbers_too():
    matrix = decision_matrix(**good(values=((1, Fraction(1, 4)), (np.int64(2), np.float32(0.5)), (3, 1))))
    assert matrix.matrix.to_numpy().tolist() == [[1.0, 0.25], [2.0, 0.5], [3.0, 1.0]]


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        (GAP, "has no value"),
        (None, "has no value"),
        (float("inf"), "is not finite; got inf"),
        (float("-inf"), "is not finite; got -inf"),
        (10**400, "is not finite"),
        (Fraction(10**5000), "is not finite"),
        (True, "is not a number but a bool; got True"),
        (np.True_, "is not a number but a"),
        ("1", "is not a number but a str; got '1'"),
        (1j, "is not a number but a complex"),
        (pd.NA, "is not a number but a NAType"),
        ([1.0], "is not a number but a list"),
    ],
)
def test_a_cell_that_is_no_finite_number_is_refused_by_alternative_and_criterion(cell, words):
    (only,) = faults(values=[[1.0, 90.0], [2.0, cell], [3.0, 70.0]])
    assert only.startswith("alternative 'B', criterion 'y': ")
    assert words in only


def test_arrays_are_looked_at_cell_by_cell():
    (only,) = faults(values=np.array([[1, 90], [2, GAP], [3, 70]]))
    assert only.startswith("alternative 'B', criterion 'y': has no value")
    assert len(faults(values=np.ones((3, 2), dtype=bool))) == 6
    masked = np.ma.masked_greater(np.array([[1.0, 90.0], [2.0, 80.0], [3.0, 70.0]]), 85.0)
    (only,) = faults(values=masked)
    assert only.startswith("alternative 'A', criterion 'y': has no value")


def test_dates_are_not_read_as_numbers():
    dates = np.array([["2020-01-01", "2020-01-02"]] * 3, dtype="datetime64[ns]")
    assert faults(values=dates) == ["values: is not a list, tuple or plain array; got ndarray"]


def test_a_criterion_without_any_value_is_one_fault():
    assert faults(values=[[1.0, None], [2.0, GAP], [3.0, GAP]]) == [
        "criterion 'y': has no value for any alternative; leave the criterion out"
    ]


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([[1.0, 90.0], [2.0, 80.0]], ["values: has the wrong length; got 2; allowed: 3"]),
        (
            [[1.0, 90.0], [2.0], [3.0, 70.0, 5.0]],
            [
                "values of alternative 'B': has the wrong length; got 1; allowed: 2",
                "values of alternative 'C': has the wrong length; got 3; allowed: 2",
            ],
        ),
        (None, ["values: is not a list, tuple or plain array; got NoneType"]),
        (np.float64(3), ["values: is not a list, tuple or plain array; got float64"]),
        (
            np.array([1.0, 2.0, 3.0]),
            [f"values of alternative '{a}': is not a list, tuple or plain array; got float" for a in "ABC"],
        ),
    ],
)
def test_a_wrong_shape_is_refused(values, expected):
    assert faults(values=values) == expected


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        (["A", "B", "A"], "alternative 'A': is named more than once; give each its own name"),
        (["A", "B ", "B"], "alternative 'B': is named more than once; give each its own name"),
        (["A", "B", "B "], "alternative 'B ': is named more than once; give each its own name"),
        (["A", "", "C"], "alternative no. 2: has no usable name; got ''; allowed: printable text"),
        (["A", "  ", "C"], "alternative no. 2: has no usable name; got '  '; allowed: printable text"),
        (["A", "B\0", "C"], "alternative no. 2: has no usable name; got 'B\\x00'; allowed: printable text"),
        (["A", 2, "C"], "alternative no. 2: has no usable name; got 2; allowed: printable text"),
        ("ABC", "alternatives: is not a list, tuple or plain array; got str"),
        ({"A", "B", "C"}, "alternatives: is not a list, tuple or plain array; got set"),
    ],
)
def test_names_that_could_mix_up_alternatives_are_refused(names, expected):
    assert faults(alternatives=names) == [expected]


def test_criteria_names_are_held_to_the_same_rules():
    assert faults(criteria=["x", "x"]) == ["criterion 'x': is named more than once; give each its own name"]


def test_fewer_than_two_alternatives_are_refused():
    assert faults(values=[[1.0, 2.0]], alternatives=["A"]) == [
        "alternatives: are too few to compare; got 1; allowed: 2 or more"
    ]
    assert faults(values=[], alternatives=[]) == ["alternatives: are too few to compare; got 0; allowed: 2 or more"]


def test_no_criterion_is_refused():
    assert faults(values=[[], [], []], criteria=[], weights=[], directions=[]) == [
        "criteria: are too few to compare; got 0; allowed: 1 or more"
    ]


@pytest.mark.parametrize(
    ("weights", "expected"),
    [
        ([1, GAP], "weight of criterion 'y': has no value; measure it or leave it out; no gap is filled in"),
        ([1, float("inf")], "weight of criterion 'y': is not finite; got inf"),
        ([1, True], "weight of criterion 'y': is not a number but a bool; got True"),
        ([1, "2"], "weight of criterion 'y': is not a number but a str; got '2'"),
        ([0, 0], "weights: sum to zero; allowed: a sum above 0"),
        ([1], "weights: has the wrong length; got 1; allowed: 2"),
        ({"x": 1, "y": 2}, "weights: is not a list, tuple or plain array; got dict"),
    ],
)
def test_weights_that_mean_nothing_are_refused(weights, expected):
    assert faults(weights=weights) == [expected]


def test_labelled_weights_are_refused_since_their_labels_could_be_in_another_order():
    (only,) = faults(weights=pd.Series({"y": 1.0, "x": 3.0}))
    assert only.startswith("weights: has labels of its own")


@pytest.mark.parametrize("word", ["max", "Higher", "", None, 1, ["higher"]])
def test_an_unknown_direction_is_refused(word):
    (only,) = faults(directions=["higher", word])
    assert only.startswith("direction of criterion 'y': is unknown")
    assert only.endswith("allowed: higher or lower")


def test_directions_of_the_wrong_number_or_kind_are_refused():
    assert faults(directions=["higher"]) == ["directions: has the wrong length; got 1; allowed: 2"]
    assert faults(directions="lower") == ["directions: is not a list, tuple or plain array; got str"]


def test_all_faults_are_told_at_once():
    told = faults(
        values=[[GAP, 90.0], [2.0, True], [3.0]],
        alternatives=["A", "B", "B"],
        weights=[-1, GAP],
        directions=["up", "lower"],
    )
    assert [line.split(";")[0] for line in told] == [
        "alternative 'B': is named more than once",
        "values of alternative 'B': has the wrong length",
        "alternative 'A', criterion 'x': has no value",
        "alternative 'B', criterion 'y': is not a number but a bool",
        "weight of criterion 'y': has no value",
        "weight of criterion 'x': is negative",
        "direction of criterion 'x': is unknown",
    ]


@pytest.mark.parametrize("factor", [1e-300, 0.1, 7, 1e307])
def test_weights_of_any_size_sum_to_one(factor):
    weights = decision_matrix(**good(weights=[3 * factor, 1 * factor])).weights
    assert weights.to_list() == pytest.approx([0.75, 0.25], abs=1e-15)
    assert weights.sum() == pytest.approx(1.0, abs=1e-15)


def test_importing_the_project_does_not_import_the_library():
    code = (
        "import sys, selector, selector.scoring.gate, selector.scoring.second_opinions\n"
        "sys.exit(' '.join(m for m in ('skcriteria', 'scipy') if m in sys.modules) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def library_classes():
    """Return the names of every ready-made method, step, checker and comparer of the installed library."""
    import skcriteria
    from skcriteria.core.methods import SKCMethodABC

    names = set()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # old module names announce their end
        for found in pkgutil.walk_packages(skcriteria.__path__, "skcriteria."):
            module = importlib.import_module(found.name)
            for name, kind in vars(module).items():
                if inspect.isclass(kind) and kind.__module__ == module.__name__ and not name.startswith("_"):
                    ready = issubclass(kind, SKCMethodABC) and not inspect.isabstract(kind)
                    if (ready and not name.endswith("ABC")) or name == "RanksComparator":
                        names.add(name)
    return names


def test_every_method_of_the_library_is_either_offered_or_left_out_with_a_reason():
    known = library_classes()
    assert len(known) > 60  # the search itself works
    listed = {name for name in {*OFFERED, *NOT_OFFERED} if "." not in name} - {"CenitDistance"}
    assert listed - known == set()
    assert known - listed - {"CenitDistance"} == set()
    assert set(OFFERED) & set(NOT_OFFERED) == set()
    assert all(len(reason) > 15 for reason in {**OFFERED, **NOT_OFFERED}.values())


def test_the_lists_cannot_be_changed_at_run_time():
    with pytest.raises(TypeError):
        NOT_OFFERED["RIM"] = "changed"
    with pytest.raises(TypeError):
        OFFERED["RIM"] = "changed"


@pytest.mark.parametrize("name", sorted(NOT_OFFERED))
def test_a_method_left_out_is_refused_with_its_reason(name):
    said = refusal(name)
    assert NOT_OFFERED[name] in said
    assert "WeightedSumModel, TOPSIS, VIKOR" in said


def test_an_unknown_method_is_refused():
    assert "nothing by this name is known here" in refusal("topsis")


def test_the_gate_is_passed_again_before_a_method_runs():
    from skcriteria import mkdm

    raw = mkdm([[1.0, GAP], [2.0, 3.0]], [max, min], weights=[2, -1], alternatives=["A", "B"], criteria=["x", "y"])
    with pytest.raises(InputError) as caught:
        evaluate("VIKOR", raw)
    told = [str(fault) for fault in caught.value.faults]
    assert told[0].startswith("alternative 'A', criterion 'y': has no value")
    assert told[1].startswith("weight of criterion 'y': is negative")


@pytest.mark.parametrize("method", ["TOPSIS", "WeightedSumModel"])
def test_a_failure_inside_the_library_is_said_in_words(method):
    # TOPSIS on equal rows is 0/0; the weighted sum takes no cost.
    matrix = decision_matrix(**good(values=[[1.0, 2.0]] * 3))
    with pytest.raises(InputError, match=f"{method}: gives no order on these numbers"):
        evaluate(method, matrix)


TRAP_1 = {
    "values": [[1.0, 10.0, 100.0], [2.0, 20.0, 200.0]],
    "alternatives": ["P", "Q"],
    "criteria": ["a", "b", "c"],
    "weights": [0.2, 0.3, 0.5],
    "directions": ["higher", "lower", "higher"],
}


def test_trap_01_weights_and_directions_follow_their_column():
    turned = restricted(decision_matrix(**TRAP_1), ["c", "b", "a"])
    assert list(turned.matrix.columns) == ["c", "b", "a"]
    assert turned.weights.to_dict() == pytest.approx({"a": 0.2, "b": 0.3, "c": 0.5}, abs=1e-15)
    assert turned.maxwhere.to_dict() == {"a": True, "b": False, "c": True}
    assert turned.matrix.to_numpy().tolist() == [[100.0, 10.0, 1.0], [200.0, 20.0, 2.0]]
    part = restricted(decision_matrix(**TRAP_1), ["b", "a"])
    assert part.weights.to_dict() == pytest.approx({"b": 0.6, "a": 0.4}, abs=1e-15)
    assert part.maxwhere.to_dict() == {"b": False, "a": True}
    assert "restricted" in NOT_OFFERED["DecisionMatrix.__getitem__"]
    assert "restricted" in NOT_OFFERED["DecisionMatrix.loc"]
    assert "restricted" in NOT_OFFERED["DecisionMatrix.iloc"]


@pytest.mark.parametrize(
    ("criteria", "words"),
    [
        (["a", "z"], "criteria: is not in this matrix; got 'z'; allowed: 'a', 'b', 'c'"),
        (["a", "a"], "criterion 'a': is named more than once"),
        ([], "criteria: are too few"),
        ("a", "criteria: is not a list"),
    ],
)
def test_a_column_selection_that_makes_no_sense_is_refused(criteria, words):
    with pytest.raises(InputError) as caught:
        restricted(decision_matrix(**TRAP_1), criteria)
    assert words in str(caught.value)


def test_only_criteria_without_weight_are_refused():
    matrix = decision_matrix(**TRAP_1 | {"weights": [0, 1, 1]})
    with pytest.raises(InputError, match="weights: sum to zero"):
        restricted(matrix, ["a"])


# Traps 2, 4, 6 to 12 and 18 to 21 lie in parts of the library which no function of the project runs:
# `evaluate` is the only one that calls the library, and it refuses every name outside `OFFERED`. Where the
# same numbers can also reach a method offered, test_second_opinions.py shows that it answers rightly.


def test_trap_02_several_limits_in_one_filter_are_not_offered():
    assert "several limits in one filter meet the wrong criteria" in refusal("FilterGE")


def test_trap_03_a_table_with_its_own_names_is_refused_and_its_numbers_accepted():
    frame = pd.DataFrame([[1.0, 90.0], [2.0, 80.0], [3.0, 70.0]], index=["A", "B", "C"], columns=["x", "y"])
    (only,) = faults(values=frame)
    assert only.startswith("values: has labels of its own, which could contradict the names given")
    assert ".to_numpy()" in only
    matrix = decision_matrix(
        **good(values=frame.to_numpy(), alternatives=list(frame.index), criteria=list(frame.columns))
    )
    assert matrix.matrix.to_numpy().tolist() == frame.to_numpy().tolist()
    assert list(matrix.matrix.index) == ["A", "B", "C"]


def test_trap_04_filters_that_let_a_gap_pass_are_not_offered_and_the_gap_is_refused():
    assert "a gap passes or fails unseen" in refusal("FilterNE")
    (only,) = faults(values=[[GAP], [2.0], [200.0]], criteria=["q"], weights=[1], directions=["higher"])
    assert only.startswith("alternative 'A', criterion 'q': has no value")


@pytest.mark.parametrize("rows", [[[GAP, 1.0], [5.0, 1.0]], [[5.0, 1.0], [GAP, 1.0]]])
def test_trap_06_a_row_with_a_gap_never_gets_as_far_as_dominance(rows):
    gap_at = "A" if np.isnan(rows[0][0]) else "B"
    (only,) = faults(values=rows, alternatives=["A", "B"])
    assert only.startswith(f"alternative '{gap_at}', criterion 'x': has no value")
    assert "dominate a complete one" in refusal("DecisionMatrix.dominance")
    assert "dominate a complete one" in refusal("FilterNonDominated")


def test_trap_07_untied_ranks_are_not_offered():
    assert "breaks ties by place in the list, and wrongly" in refusal("RankResult.untied_rank_")
    assert "breaks ties by place in the list, and wrongly" in refusal("FallbackTieBreaker")


@pytest.mark.parametrize("name", ["FullMultiplicativeForm", "MultiMOORA"])
def test_trap_08_methods_on_which_weights_have_no_effect_are_not_offered(name):
    assert "weights have no effect" in refusal(name)


def test_trap_09_ratios_to_a_cost_of_zero_are_not_offered():
    assert "a cost of zero wipes out its whole criterion" in refusal("BenefitCostInverter")


def test_trap_10_one_over_x_is_not_offered():
    assert "1/x makes a negative cost, the best, the worst" in refusal("InvertMinimize")


def test_trap_11_division_by_the_sum_is_not_offered():
    assert "sum to less than zero" in refusal("SumScaler")


@pytest.mark.parametrize("name", ["CenitDistance", "CenitDistanceMatrixScaler"])
def test_trap_12_a_scaler_that_keeps_the_old_direction_is_not_offered(name):
    assert "turns the values round but not the direction" in refusal(name)


def test_trap_15_weights_with_a_common_factor_are_the_same_weights():
    values = [[0.9, 0.2, 0.7], [0.5, 0.9, 0.4], [0.3, 0.6, 0.95], [0.7, 0.5, 0.5]]
    given_as = {"values": values, "alternatives": list("ABCD"), "criteria": list("xyz"), "directions": ["higher"] * 3}
    ones = decision_matrix(**given_as, weights=[1, 1, 1])
    thirds = decision_matrix(**given_as, weights=[1 / 3, 1 / 3, 1 / 3])
    assert ones.weights.to_list() == thirds.weights.to_list()
    assert ones.weights.sum() == pytest.approx(1.0, abs=1e-15)
    for name in ("ELECTRE1", "PROBID", "CoCoSo", "WASPAS"):
        assert "changes when all weights are doubled" in refusal(name)


def test_trap_16_repeated_names_are_refused_before_any_method():
    assert faults(alternatives=["A", "A", "C"]) == ["alternative 'A': is named more than once; give each its own name"]


def test_trap_17_a_negative_weight_is_refused():
    assert faults(weights=[1.2, -0.2]) == ["weight of criterion 'y': is negative; got -0.2; allowed: 0 or more"]


def test_trap_18_a_gap_cannot_turn_its_criterion_into_zeros():
    assert "one gap turns its whole criterion into zeros" in refusal("MinMaxInverter")
    (only,) = faults(values=[[GAP], [5.0], [10.0]], criteria=["cost"], weights=[1], directions=["lower"])
    assert only.startswith("alternative 'A', criterion 'cost': has no value")


@pytest.mark.parametrize("name", ["CRITIC", "Critic"])
def test_trap_19_weights_from_the_spread_of_the_list_are_not_offered(name):
    said = refusal(name)
    assert "never importance" in said
    assert "a constant criterion makes all its weights NaN" in said


def test_trap_20_imputers_are_not_offered_and_an_empty_criterion_is_called_empty():
    assert "unknown stays unknown" in refusal("SimpleImputer")
    assert faults(values=[[1.0, GAP], [2.0, GAP], [3.0, GAP]]) == [
        "criterion 'y': has no value for any alternative; leave the criterion out"
    ]


def test_trap_21_rancom_is_not_offered():
    assert "whether a low input means important" in refusal("RANCOM")


# Trap 5 (VIKOR and a gap), 13 (TOPSIS on raw values) and 14 (ties) are in test_second_opinions.py.


@given(
    weights=st.lists(st.integers(0, 1000), min_size=2, max_size=6).filter(any),
    order=st.randoms(use_true_random=False),
)
@settings(deadline=None, max_examples=50)
def test_property_a_selection_in_any_order_keeps_every_criterion_whole(weights, order):
    names = [f"c{j}" for j in range(len(weights))]
    directions = ["higher" if j % 2 else "lower" for j in range(len(weights))]
    values = [[float(10 * i + j) for j in range(len(weights))] for i in range(2)]
    matrix = decision_matrix(values, ["A", "B"], names, weights, directions)
    shuffled = order.sample(names, len(names))
    turned = restricted(matrix, shuffled)
    assert list(turned.matrix.columns) == shuffled
    for j, name in enumerate(names):
        assert turned.weights[name] == pytest.approx(weights[j] / sum(weights), abs=1e-14)
        assert turned.maxwhere[name] == bool(j % 2)
        assert turned.matrix[name].tolist() == [float(j), float(10 + j)]
