"""The checks of mcda_checks.json that belong to second opinions, descriptions, sampling and agreement.

Each entry carries its source, how its figures were obtained and its tolerance. Those on weights and on exact answers
are tested beside this file, by the names under ELSEWHERE.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from selector.scoring.acceptability import acceptability
from selector.scoring.concordance import kendall_w
from selector.scoring.descriptions import critic, entropy, merec
from selector.scoring.fixed_opinions import geometric_value, spotis
from selector.scoring.gate import decision_matrix
from selector.scoring.outranking import Preferring, flows, promethee
from selector.scoring.ranking import competition_ranks
from selector.scoring.samplers import uniform
from selector.scoring.second_opinions import evaluate, topsis, vikor, weighted_sum_check

CHECKS = {
    entry["name"]: entry
    for entry in json.loads((Path(__file__).parent / "mcda_checks.json").read_text(encoding="utf-8"))["checks"]
}
ELSEWHERE = {
    "ahp_3x3_1_3_5",
    "ahp_1990_house_8x8",
    "ahp_random_index_2006",
    "ahp_random_index_1980",
    "roc_weights_n3",
    "roc_weights_n4",
    "roc_weights_n5",
    "rank_sum_weights_n3",
    "rank_sum_weights_n5",
    "rank_reciprocal_weights_n3",
    "rank_reciprocal_weights_n5",
    "swing_points_to_weights",
    "swing_weights_follow_the_anchor_range",
    "weight_stability_interval",
    "potential_optimality_lp",
}
HERE = {
    "topsis": ["topsis_textbook_2011", "topsis_textbook_1981_fighter"],
    "vikor": [
        "vikor_2004_mountain",
        "vikor_2004_mountain_rescaled",
        "vikor_2007_hydro_w1",
        "vikor_2007_hydro_w2",
        "vikor_2007_hydro_w4",
    ],
    "described": ["entropy_2017", "critic_1995", "merec_2021"],
    "smaa": ["smaa_exact_identity_3x3", "smaa_exact_dominated", "smaa_exact_two_criteria"],
    "alone": [
        "topsis_2004_linear",
        "topsis_vector_not_affine_invariant",
        "weighted_sum_textbook_2000",
        "weighted_product_textbook_2000",
        "spotis_2020_a",
        "spotis_2020_target",
        "promethee2_2013",
        "promethee2_1986_hydro",
        "rank_reversal_1983",
        "no_rank_reversal_with_anchors",
        "kendall_w_limits",
        "fighter_method_disagreement",
    ],
}


def tolerance(check):
    given = check["tolerance"]
    return given["default"] if isinstance(given, dict) else given


def asked(check, matrix=None):
    """Return the five inputs of a method."""
    table = check["matrix"] if matrix is None else matrix
    names = [f"A{i}" for i in range(1, len(table) + 1)]
    criteria = [f"C{j}" for j in range(1, len(table[0]) + 1)]
    directions = ["higher" if word == "max" else "lower" for word in check["objectives"]]
    return table, names, criteria, check["weights"], directions


def test_every_check_is_tested_here_or_named_as_tested_elsewhere():
    here = {name for group in HERE.values() for name in group}
    assert len(CHECKS) == 40
    assert here & ELSEWHERE == set()
    assert here | ELSEWHERE == set(CHECKS)
    assert all(check["source"] and check["obtained_from"] for check in CHECKS.values())


@pytest.mark.parametrize("name", HERE["topsis"])
def test_topsis(name):
    check = CHECKS[name]
    found = topsis(*asked(check))
    assert found.scores == pytest.approx(check["expected"]["closeness"], abs=tolerance(check))
    assert list(found.ranks) == check["expected"]["rank"]


def test_topsis_with_linear_scaling_is_reproduced_but_not_offered():
    from skcriteria.agg.topsis import TOPSIS

    check = CHECKS["topsis_2004_linear"]
    values = np.array(check["matrix"])
    scaled = (values - values.min(axis=0)) / np.ptp(values, axis=0)
    scaled[:, 0] = 1 - scaled[:, 0]
    table, names, criteria, weights, _ = asked(check, scaled)
    found = TOPSIS().evaluate(decision_matrix(table, names, criteria, weights, ["higher"] * 2))
    assert found.extra_["similarity"] == pytest.approx(check["expected"]["closeness"], abs=tolerance(check))
    assert topsis(*asked(check)).scores != pytest.approx(check["expected"]["closeness"], abs=0.1)


def test_topsis_by_vector_norm_depends_on_the_zero_of_a_scale():
    check = CHECKS["topsis_vector_not_affine_invariant"]
    before, after = topsis(*asked(check)), topsis(*asked(check, check["parameters"]["rescaled_matrix"]))
    assert before.scores == pytest.approx(check["expected"]["closeness"], abs=tolerance(check))
    assert after.scores == pytest.approx(check["expected"]["closeness_rescaled"], abs=tolerance(check))
    assert (before.ranks, after.ranks) == ((1, 2, 3), (3, 1, 2))


@pytest.mark.parametrize("name", HERE["vikor"])
def test_vikor(name):
    check = CHECKS[name]
    found = evaluate("VIKOR", decision_matrix(*asked(check)))
    for part in "SRQ":
        assert found[part.lower()] == pytest.approx(check["expected"][part], abs=tolerance(check))
    opinion = vikor(*asked(check))
    assert opinion.scores == pytest.approx(check["expected"]["Q"], abs=tolerance(check))
    if "rank" in check["expected"]:
        assert list(opinion.ranks) == check["expected"]["rank"]


def test_weighted_sum():
    check = CHECKS["weighted_sum_textbook_2000"]
    scores = weighted_sum_check(np.array(check["matrix"]) / 100, check["weights"])
    assert scores * 100 == pytest.approx(check["expected"]["score"], abs=tolerance(check))
    assert competition_ranks(scores).tolist() == check["expected"]["rank"]


def test_weighted_product_is_the_geometric_value_with_next_to_no_floor():
    check = CHECKS["weighted_product_textbook_2000"]
    found = geometric_value(*asked(check)[:4], least=1e-12)
    a, b, c = found.scores
    assert (a / b, a / c, b / c) == pytest.approx(check["expected"]["ratios_12_13_23"], abs=tolerance(check))
    assert list(found.ranks) == check["expected"]["rank"]


def test_spotis_with_ideals_at_the_ends():
    check = CHECKS["spotis_2020_a"]
    table, names, criteria, weights, directions = asked(check)
    bounds = check["parameters"]["bounds"]
    ideals = [high if way == "higher" else low for (low, high), way in zip(bounds, directions, strict=True)]
    found = spotis(table, names, criteria, weights, bounds, ideals)
    assert found.scores == pytest.approx(check["expected"]["score"], abs=tolerance(check))
    assert list(found.ranks) == check["expected"]["rank"]


def test_spotis_with_a_target_between_the_bounds():
    check = CHECKS["spotis_2020_target"]
    extra = check["parameters"]
    found = spotis(*asked(check)[:4], extra["bounds"], extra["ideal_point"])
    assert found.scores == pytest.approx(check["expected"]["score"], abs=tolerance(check))
    assert found.ranks == (3, 1, 2, 4)


@pytest.mark.parametrize("name", HERE["described"])
def test_descriptions_of_the_list(name):
    check = CHECKS[name]
    method = {"entropy_2017": entropy, "critic_1995": critic, "merec_2021": merec}[name]
    table, _, criteria, _, directions = asked(check)
    found = method(np.array(table), criteria, directions)
    assert found.shares == pytest.approx(check["expected"]["weights"], abs=tolerance(check))
    assert "not an importance" in found.label


def test_promethee_of_2013():
    check = CHECKS["promethee2_2013"]
    found = promethee(*asked(check))
    assert found.scores == pytest.approx(check["expected"]["net_flow"], abs=tolerance(check))
    assert found.ranks == (2, 3, 1)


def test_promethee_with_all_six_shapes():
    check = CHECKS["promethee2_1986_hydro"]
    shapes = [
        Preferring("u-shape", 10),
        Preferring("v-shape", 0, 30),
        Preferring("linear", 0.5, 5),
        Preferring("level", 1, 6),
        Preferring("usual"),
        Preferring("gaussian", 0, 5),
    ]
    table, names, criteria, weights, directions = asked(check)
    shares = np.array(weights) / sum(weights)
    found = flows(np.array(table), shares, directions, shapes)
    assert found.leaving == pytest.approx(check["expected"]["phi_plus"], abs=tolerance(check))
    assert found.entering == pytest.approx(check["expected"]["phi_minus"], abs=tolerance(check))
    opinion = promethee(table, names, criteria, weights, directions, shapes)
    assert opinion.scores == pytest.approx(check["expected"]["net_flow"], abs=tolerance(check))
    assert list(opinion.ranks) == check["expected"]["rank"]


def test_a_copy_turns_the_order_of_sum_normalised_values():
    check = CHECKS["rank_reversal_1983"]
    before = np.array(check["matrix"])
    after = np.vstack([before, check["parameters"]["added_alternative"]])
    for table, scores, ranks in ((before, "score", "rank"), (after, "score_after_adding_copy", "rank_after")):
        found = weighted_sum_check(table / table.sum(axis=0), check["weights"])
        assert found == pytest.approx(check["expected"][scores], abs=tolerance(check))
        assert competition_ranks(found).tolist() == check["expected"][ranks]


def test_a_copy_changes_nothing_with_anchors():
    check = CHECKS["no_rank_reversal_with_anchors"]
    values = (np.array(check["matrix"]) - 1) / 8
    before, after = (weighted_sum_check(table, check["weights"]) for table in (values[:3], values))
    assert before == pytest.approx(check["expected"]["score_first_three_before"], abs=tolerance(check))
    assert after == pytest.approx(check["expected"]["score_after"], abs=tolerance(check))
    # SPOTIS with the anchors as bounds says the same, and does not see the copy either.
    table, names, criteria, weights, _ = asked(check)
    full = spotis(table, names, criteria, weights, check["parameters"]["anchors"], [9] * 3)
    part = spotis(table[:3], names[:3], criteria, weights, check["parameters"]["anchors"], [9] * 3)
    assert full.scores[:3] == part.scores
    assert 1 - np.array(full.scores) == pytest.approx(check["expected"]["score_after"], abs=tolerance(check))


@pytest.mark.parametrize("name", HERE["smaa"])
def test_sampled_answers_lie_within_four_standard_errors_of_exact_ones(name):
    check = CHECKS[name]
    values = 100 * np.array(check["matrix"])
    found = acceptability(values, uniform(values.shape[1]), 200_000, seed=7)
    expected = check["expected"]
    if name == "smaa_exact_two_criteria":
        exact, seen = np.array(expected["first_rank_acceptability"]), found.first
    else:
        exact, seen = np.array(expected["rank_acceptability"]), found.shares
    # The exact share gives the error of a sampled one; what cannot happen is never drawn.
    error = np.sqrt(exact * (1 - exact) / found.draws)
    assert np.all(np.abs(seen - exact) <= 4 * error + 5e-10)
    assert np.abs(seen - exact).max() <= 2 * tolerance(check)
    central = expected.get("central_weights_of_alternatives_with_positive_first_rank")
    if central:
        ever = np.flatnonzero(found.first > 0)
        assert found.central_weights[ever] == pytest.approx(np.array(central), abs=tolerance(check))


def test_kendall_w():
    check = CHECKS["kendall_w_limits"]
    given, expected = check["parameters"], check["expected"]
    assert kendall_w(given["unanimous"]) == pytest.approx(expected["W_unanimous"], abs=tolerance(check))
    assert kendall_w(given["two_opposed"]) == pytest.approx(expected["W_two_opposed"], abs=tolerance(check))
    assert kendall_w(given["four_people_one_opposed"]) == pytest.approx(expected["W_four"], abs=tolerance(check))


def test_two_methods_name_different_winners():
    check = CHECKS["fighter_method_disagreement"]
    values = np.array(check["matrix"], dtype=float)
    ratios = values / values.max(axis=0)
    ratios[:, 3] = values[:, 3].min() / values[:, 3]
    scores = weighted_sum_check(ratios, check["weights"])
    assert scores == pytest.approx(check["expected"]["score"], abs=tolerance(check))
    assert competition_ranks(scores).tolist() == check["expected"]["rank_weighted_sum"]
    assert list(topsis(*asked(check)).ranks) == check["expected"]["rank_topsis_vector"]
