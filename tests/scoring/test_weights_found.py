"""Weights by rank, pairs, bounds and answers in a file, the questions behind them, and what never becomes a weight."""

import ast
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.brief import Preference, read, shipped
from selector.errors import InputError
from selector.scoring.admissible import Ratio, anything, both, bounded, ordered, ratios
from selector.scoring.presets import weighing
from selector.scoring.ranking import normalised
from selector.scoring.values import worth
from selector.scoring.weights import answers
from selector.scoring.weights.middle import middle
from selector.scoring.weights.pairs import judged, matrix_of
from selector.scoring.weights.questions import first_swing, next_swings, step_text, trade_off, trade_offs
from selector.scoring.weights.ranked import centroid, rank_reciprocal, rank_sum

ROOT = Path(__file__).parents[2]
NAMES = ("cost", "drop", "wetting")
HEAD = {"author": "buyer", "date": date(2026, 11, 2), "reason": "a reason"}


# Ranking


def test_criteria_of_one_group_share_the_mean_of_its_places():
    assert centroid([(2,), (0, 1)]) == pytest.approx([(5 / 18 + 1 / 9) / 2] * 2 + [11 / 18])
    assert rank_sum([(0, 1, 2)]) == pytest.approx([1 / 3] * 3)
    assert rank_reciprocal([(0,), (1,)]) == pytest.approx([2 / 3, 1 / 3])
    with pytest.raises(InputError):
        centroid([(0,), (0,)])


@given(st.permutations(range(5)), st.integers(1, 4))
def test_the_centroid_is_the_mean_of_the_corners_and_respects_the_order(permuted, cut):
    groups = [tuple(permuted[:cut]), *((index,) for index in permuted[cut:])]
    for weights in (centroid(groups), rank_sum(groups), rank_reciprocal(groups)):
        assert ordered(groups).contains(weights)
    corners = np.array([[1 / k if place < k else 0 for place in range(5)] for k in range(1, 6)])
    single = centroid([(index,) for index in permuted])
    assert single[list(permuted)] == pytest.approx(corners.mean(axis=0))


# Pairs


def test_consistent_judgements_agree_whichever_way_and_any_table():
    weights = np.array([0.6, 0.3, 0.1])
    for table in ("saaty", "alonso-lamata"):
        found = judged(weights[:, None] / weights[None, :], table)
        assert found.eigenvector == pytest.approx(weights)
        assert found.geometric == pytest.approx(weights)
        assert (found.ratio, found.triads) == (pytest.approx(0, abs=1e-12), ())
        assert found.consistent


def test_the_worst_triad_comes_first_and_says_by_how_much():
    said = {(0, 1): 2, (1, 2): 2, (0, 2): 4, (0, 3): 8, (1, 3): 4, (2, 3): 1 / 3}
    found = judged(matrix_of(4, said, "abcd"))
    worst = found.triads[0]
    # 0 over 2 is 4 and 2 over 3 a third: 1.33 is implied for 0 over 3, and 8 was said.
    assert (worst.i, worst.j, worst.k) == (0, 2, 3)
    assert (worst.said, worst.implied, worst.factor) == (pytest.approx(8), pytest.approx(4 / 3), pytest.approx(6))
    assert not found.consistent


def test_one_or_two_criteria_cannot_contradict_themselves():
    assert judged([[1.0]]).ratio == 0
    assert judged([[1, 9], [1 / 9, 1]]).eigenvector == pytest.approx([0.9, 0.1])
    assert judged([[1, 9], [1 / 9, 1]], "saaty").ratio == 0


@pytest.mark.parametrize(
    ("matrix", "table", "problem"),
    [
        (np.ones((11, 11)), "saaty", "does not go so far"),
        (np.ones((16, 16)), "alonso-lamata", "does not go so far"),
        ([[1, 2], [2, 1]], "saaty", "do not fit"),
        ([[1, -2], [-0.5, 1]], "saaty", "no square table"),
        ([[1, 2]], "saaty", "no square table"),
        ([[1.0]], "mine", "not a known table"),
    ],
)
def test_judgements_that_cannot_be_used_are_refused(matrix, table, problem):
    with pytest.raises(InputError, match=problem):
        judged(matrix, table)


def test_judgements_missing_twice_or_out_of_range_are_all_named():
    with pytest.raises(InputError) as caught:
        matrix_of(4, {(0, 1): 10, (1, 2): 2, (2, 1): 2, (3, 3): 1}, "abcd")
    assert [(f.where, f.problem) for f in caught.value.faults] == [
        ("a over b", "is no judgement"),
        ("c over b", "is judged twice"),
        ("d over d", "is judged against itself"),
        ("a over c", "was not judged"),
        ("a over d", "was not judged"),
        ("b over d", "was not judged"),
        ("c over d", "was not judged"),
    ]


# A middle


@pytest.mark.parametrize(
    ("region", "weights"),
    [
        (anything(4), [0.25] * 4),
        (ordered([(1,), (0,)]), [0.25, 0.75]),
        (bounded([0.1, 0.1], [0.3, 0.9]), [0.26, 0.74]),
        (bounded([0.5, 0.5], [1, 1]), [0.5, 0.5]),
        (ratios(2, [Ratio(0, 1, 1, 3)]), [0.625, 0.375]),
    ],
)
def test_a_middle_by_hand(region, weights):
    assert middle(region) == pytest.approx(weights, abs=1e-9)


def test_a_middle_keeps_equally_far_from_every_statement():
    region = both(ordered([(0,), (1,), (2,)]), bounded([0, 0.2, 0.1], [0.6, 1, 1]))
    found = middle(region)
    rows = np.vstack([region.a_ub, -np.eye(3), np.eye(3)])
    slack = np.concatenate([region.b_ub, -region.lower, region.upper]) - rows @ found
    distance = slack / np.linalg.norm(rows - rows.mean(axis=1, keepdims=True), axis=1)
    assert region.contains(found)
    assert (distance < distance.min() + 1e-9).sum() >= 3


# Answers


def ask(**fields):
    return answers.from_raw({**HEAD, **fields}, NAMES)


def test_each_kind_of_answer_gives_weights_and_a_region():
    swing = ask(kind="swing", swing={"wetting": 40, "drop": 100, "cost": 60})
    assert swing.weights == pytest.approx([0.3, 0.5, 0.2])
    assert swing.region.sampler == "point"
    assert (swing.author, swing.date, swing.reason, swing.criteria) == ("buyer", HEAD["date"], "a reason", NAMES)
    near = ask(kind="direct", direct={"cost": 3, "drop": 5, "wetting": 2}, within=0.1)
    assert near.region.contains([0.33, 0.47, 0.2])
    assert not near.region.contains([0.34, 0.46, 0.2])
    rank = ask(kind="rank", order=["drop", ["cost", "wetting"]])
    assert rank.weights == pytest.approx([7 / 36, 22 / 36, 7 / 36])
    assert rank.region.order == ((1,), (0, 2))
    assert set(rank.beside) == {"rank sum", "rank reciprocal"}
    assert "drop" in rank.region.described
    pairs = ask(
        kind="pairs",
        pair=[
            {"one": "drop", "other": "cost", "times": 2},
            {"one": "drop", "other": "wetting", "times": 4},
            {"one": "wetting", "other": "cost", "times": 0.5},
        ],
        index="saaty",
    )
    assert pairs.weights == pytest.approx([2 / 7, 4 / 7, 1 / 7])
    assert (pairs.pairs.table, pairs.pairs.ratio) == ("saaty", pytest.approx(0, abs=1e-9))
    assert pairs.beside["geometric mean"] == pytest.approx(pairs.weights)
    bounds = ask(kind="bounds", bounds={"cost": [0.2, 0.4], "drop": [0.4, 0.6], "wetting": [0, 0.4]})
    assert bounds.weights == pytest.approx([0.3, 0.5, 0.2])
    assert bounds.region.contains([0.4, 0.6, 0])
    told = ask(kind="ratios", ratio=[{"over": "drop", "under": "cost", "least": 2}])
    assert told.region.contains(told.weights)
    assert told.region.sampler == "mixed"


def test_answers_are_read_from_a_file(tmp_path):
    path = tmp_path / "buyer.toml"
    path.write_text(
        'kind = "swing"\nauthor = "buyer"\ndate = 2026-11-02\nreason = "r"\n'
        "[swing]\ncost = 100\ndrop = 50\nwetting = 50\n",
        encoding="utf-8",
    )
    assert answers.read(path, NAMES).weights == pytest.approx([0.5, 0.25, 0.25])
    path.write_text('kind = "swing"\nauthor = "buyer"\n', encoding="utf-8")
    with pytest.raises(InputError) as caught:
        answers.read(path, NAMES)
    assert [fault.where for fault in caught.value.faults] == [
        "buyer.toml: reason",
        "buyer.toml: date",
        "buyer.toml: swing",
    ]


@pytest.mark.parametrize(
    ("fields", "wheres"),
    [
        ({"kind": "vote"}, ["kind"]),
        ({}, ["kind"]),
        ({"kind": "swing", "swing": {"cost": 101, "drop": "x", "mass": 1}}, [
            "swing.mass", "swing.wetting", "swing.cost", "swing.drop"]),
        ({"kind": "swing", "swing": {"cost": 90, "drop": 10, "wetting": 0}}, ["swing"]),
        ({"kind": "swing", "swing": {"cost": 0, "drop": 0, "wetting": 0}}, ["swing"]),
        ({"kind": "swing", "swing": {"cost": 100, "drop": 1, "wetting": 0}, "within": 2, "index": "saaty"}, [
            "index"]),
        ({"kind": "swing", "swing": {"cost": 100, "drop": 1, "wetting": 0}, "within": 2}, ["within"]),
        ({"kind": "direct", "direct": {"cost": True, "drop": float("nan"), "wetting": -1}}, [
            "direct.cost", "direct.drop", "direct.wetting"]),
        ({"kind": "rank", "order": "drop"}, ["order"]),
        ({"kind": "rank", "order": ["drop", "drop", [], "mass"]}, ["order[3]", "order", "order", "order", "order"]),
        ({"kind": "pairs", "pair": [{"one": "cost", "other": "drop", "times": 11}]}, ["pair[0].times"]),
        ({"kind": "pairs", "pair": [{"one": "cost", "other": "drop", "times": 2}]}, [
            "cost over wetting", "drop over wetting"]),
        ({"kind": "pairs", "pair": [{"one": "cost"}] * 2, "index": "mine"}, [
            "pair[0].other", "pair[0].times", "pair[1].other", "pair[1].times", "index"]),
        ({"kind": "pairs", "pair": [{"one": "cost", "other": "drop", "times": 2}], "index": ["saaty"]}, ["index"]),
        ({"kind": "pairs", "pair": [{"one": "cost", "other": "drop", "times": 2}] * 2}, ["pair[1]"]),
        ({"kind": "bounds", "bounds": {"cost": 0.3, "drop": [0, 2], "wetting": [0, 1]}}, [
            "bounds.cost", "bounds.drop"]),
        ({"kind": "bounds", "bounds": {"cost": [0, 0.1], "drop": [0, 0.1], "wetting": [0, 0.1]}}, [
            "weights that sum to 1"]),
        ({"kind": "bounds"}, ["bounds"]),
        ({"kind": "ratios", "ratio": []}, ["ratio"]),
        ({"kind": "ratios", "ratio": [{"over": "cost", "under": "cost", "least": 1}]}, ["ratio 1"]),
        ({"kind": "ratios", "ratio": [{"over": "cost", "under": "drop", "least": "x", "most": []}]}, [
            "ratio[0].least", "ratio[0].most"]),
    ],
)  # fmt: skip
def test_faults_of_answers_all_at_once(fields, wheres):
    with pytest.raises(InputError) as caught:
        ask(**fields)
    assert [fault.where.removeprefix("the answers: ") for fault in caught.value.faults] == wheres


# Questions

PATCH = weighing(read(shipped("skin-patch"))).preferences
BY_NAME = {entry.criterion: entry for entry in PATCH}


def test_swing_is_asked_from_worst_to_best_of_this_range():
    assert step_text(BY_NAME["relative_cost"]) == "Metal cost per cm3 from 2.5 (SAC305 = 1) to 0.4 (SAC305 = 1)"
    assert step_text(BY_NAME["drop"]) == "Drop shock from poor to good"
    first = first_swing(PATCH)
    assert all(step_text(entry) in first for entry in PATCH)
    others = next_swings(PATCH, "drop")
    assert len(others) == len(PATCH) - 1
    assert others[0].startswith("If raising Drop shock from poor to good is worth 100 points, how many is raising")


def linear(criterion, worst, best):
    points = sorted([(worst, 0.0), (best, 100.0)])
    return Preference(criterion=criterion, points=points, swing=50, reason="r", author="a")


def test_a_trade_off_by_hand():
    # 10 of 40 K at weight 0.6 are 15 points; at weight 0.4 they are 37.5 of the 100 between 1 and 3.
    found = trade_off(linear("process_headroom_k", 0, 40), linear("relative_cost", 3, 1), 0.6, 0.4)
    assert (found.gained_from, found.gained_to, found.paid_from) == (0, 10, 1)
    assert found.points == pytest.approx(15)
    assert found.paid_to == pytest.approx(1.75)
    assert found.question == (
        "By these weights Process headroom going from 0 K to 10 K is worth as much as Metal cost per cm3 going from"
        " 1 (SAC305 = 1) to 1.75 (SAC305 = 1) costs. Would you really swap the one for the other?"
    )
    whole = trade_off(linear("process_headroom_k", 0, 40), linear("relative_cost", 3, 1), 0.9, 0.1)
    assert whole.paid_to is None
    assert "all the way from 1 (SAC305 = 1) to 3 (SAC305 = 1)" in whole.question


def test_trade_offs_follow_from_the_weights_and_leave_out_what_is_not_placed():
    weights = normalised([entry.swing for entry in PATCH])
    found = trade_offs(PATCH, weights, 10)
    assert len(found) == len(PATCH)
    assert (found[0].gained, found[0].paid) == ("drop", "process_headroom_k")
    assert (found[1].gained, found[1].paid) == ("drop", "supply_risk_wt")
    share = {entry.criterion: weight for entry, weight in zip(PATCH, weights, strict=True)}
    for entry in found:
        up = BY_NAME[entry.gained].points
        rise = share[entry.gained] * (worth(entry.gained_to, up) - worth(entry.gained_from, up))
        assert entry.points == pytest.approx(rise)
        assert rise > 0
        if entry.paid_to is not None:
            fall = share[entry.paid] * (100 - worth(entry.paid_to, BY_NAME[entry.paid].points))
            assert fall == pytest.approx(rise)
    unplaced = [entry.model_copy(update={"order_only": entry.criterion == "drop"}) for entry in PATCH]
    assert all("drop" not in (entry.gained, entry.paid) for entry in trade_offs(unplaced, weights, 10))
    assert len(trade_offs(PATCH, weights)) == 3
    assert "between" in next(entry for entry in found if entry.paid == "wetting").question


# Descriptions


def test_no_weight_is_made_of_a_description():
    scoring = ROOT / "selector" / "scoring"
    makers = list((scoring / "weights").glob("*.py"))
    makers += [scoring / f"{name}.py" for name in ("presets", "weighing", "ranking", "admissible")]
    assert len(makers) > 8
    for path in (*makers, ROOT / "selector" / "decision.py"):
        names = {getattr(node, "module", "") or "" for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))}
        assert not [name for name in names if name.endswith("scoring.descriptions")]


def test_an_exact_ratio_leaves_the_middle_inside_and_not_at_a_corner():
    # One weighs just twice the other, and a third is free: the ball fits along the line that is left.
    found = middle(ratios(3, [Ratio(0, 1, 2.0, 2.0)]))
    assert found[0] == pytest.approx(2 * found[1])
    # By hand: w = (2s, s, 1 - 3s) with s between 0 and 1/3; the middle of that line is s = 1/6.
    assert found == pytest.approx([1 / 3, 1 / 6, 1 / 2], abs=1e-6)
