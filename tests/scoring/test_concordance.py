"""How far rankings agree and where they part; and the panel that shows it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import friedmanchisquare, rankdata

from selector.brief import Preference
from selector.errors import InputError
from selector.scoring.concordance import W_WARNING, Parting, kendall_w, middle_ranks, partings
from selector.scoring.criteria import Level
from selector.scoring.gate import NOT_OFFERED
from selector.scoring.panel import NOT_ASKED, panel


def test_w_by_hand_with_ties():
    # Mid-ranks 1.5 1.5 3 and 1 2 3: sums 2.5, 3.5, 6, so S = 6.5; ties 6: 12 * 6.5 / (4 * 24 - 2 * 6).
    assert kendall_w([[1, 1, 3], [1, 2, 3]]) == pytest.approx(78 / 84, abs=1e-12)
    assert kendall_w([[1, 2, 2], [1, 2, 2]]) == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize("rankings", [[], [[1, 2, 3]], [[1], [1]], [[1, 1], [1, 1]]])
def test_w_is_not_defined_for_too_few_or_no_order(rankings):
    assert kendall_w(rankings) is None


def test_rankings_that_do_not_fit_are_refused():
    with pytest.raises(InputError) as caught:
        kendall_w([[1, 2, 3], [1, 2], [1, None, 3]])
    assert len(caught.value.faults) == 2


def test_one_dissenter_among_many_hides_in_w_which_is_why_it_carries_a_warning():
    people = [[1, 2, 3, 4, 5]] * 9 + [[5, 4, 3, 2, 1]]
    assert kendall_w(people) > 0.6
    assert "can hide one dissenter" in W_WARNING


@given(st.lists(st.lists(st.integers(1, 9), min_size=4, max_size=4), min_size=3, max_size=6))
@settings(deadline=None, max_examples=60)
def test_property_w_is_friedmans_statistic_brought_to_one(rankings):
    found = kendall_w(rankings)
    if all(len(set(each)) == 1 for each in rankings):
        assert found is None
        return
    statistic = friedmanchisquare(*np.array(rankings).T).statistic
    assert found == pytest.approx(statistic / (len(rankings) * 3), abs=1e-9)
    assert -1e-12 <= found <= 1 + 1e-12


@given(st.lists(st.integers(1, 5), min_size=1, max_size=8))
@settings(deadline=None, max_examples=40)
def test_property_middle_ranks_are_those_of_statistics(ranks):
    assert middle_ranks(ranks) == pytest.approx(rankdata(ranks))


def test_partings_name_who_turns_which_pair_round():
    names = ["A", "B", "C", "D"]
    found = partings(names, [1, 2, 3, 4], [("X", [2, 1, 3, 4]), ("Y", [3, 1, 1, 4]), ("Z", [1, 2, 4, 3])], top=3)
    assert found == (Parting("A", "B", ("X", "Y")), Parting("A", "C", ("Y",)))
    assert found[0].text == "X, Y put B ahead of A."
    assert found[1].text == "Y puts C ahead of A."


def test_pairs_that_tie_are_no_parting():
    assert partings(["A", "B"], [1, 1], [("X", [2, 1])]) == ()
    assert partings(["A", "B"], [1, 2], [("X", [1, 1])]) == ()


def test_partings_refuse_what_does_not_fit():
    with pytest.raises(InputError) as caught:
        partings(["A", "B"], [1, 2, 3], [("X", [1])], top=1)
    assert len(caught.value.faults) == 3


def number(value, half=0.0):
    return Level(value, value - half, value + half, f"{value}", "test", "good")


def preference(criterion, points):
    return Preference(criterion=criterion, points=points, swing=50, reason="test", author="test")


COST = preference("relative_cost", ((1.0, 100.0), (3.0, 0.0)))
HEADROOM = preference("process_headroom_k", ((0.0, 0.0), (40.0, 100.0)))


def asked(levels, worths, scores, preferences=(HEADROOM, COST), weights=(0.5, 0.5)):
    names = [f"alloy {i}" for i in range(len(levels))]
    return panel(names, levels, worths, scores, preferences, weights)


LEVELS = [[number(10.0), number(1.5)], [number(30.0), number(2.5)], [number(20.0), number(1.2)]]
WORTHS = [[25.0, 75.0], [75.0, 25.0], [50.0, 90.0]]


def test_five_methods_answer_with_agreement_and_labels():
    found = asked(LEVELS, WORTHS, [50.0, 50.0, 70.0])
    assert [each.method for each in found.opinions] == ["TOPSIS", "VIKOR", "PROMETHEE II", "SPOTIS", "Geometric value"]
    assert ["relative to this list" in each.label for each in found.opinions] == [True, True, True, False, False]
    assert all(each.ranks[2] == 1 for each in found.opinions)
    assert len(found.agreements) == 5
    assert 0 < found.concordance <= 1
    assert found.refused == ""
    # SPOTIS on these straight lines is our own score: distance 1 - score.
    assert 100 * (1 - np.array(found.opinions[3].scores)) == pytest.approx([50, 50, 70], abs=1e-9)


def test_those_with_a_gap_are_left_out_and_too_few_are_refused():
    gap = Level(None, None, None, "unknown", "none", "none")
    found = asked([*LEVELS, [number(5.0), gap]], [*WORTHS, [12.5, None]], [50.0, 50.0, 70.0, 10.0])
    assert found.left_out == ("alloy 3",)
    assert all(len(each.ranks) == 3 for each in found.opinions)
    few = asked([LEVELS[0], [number(5.0), gap]], [WORTHS[0], [12.5, None]], [50.0, 10.0])
    assert few.refused == "fewer than two alloys have every value"
    assert few.opinions == ()
    assert few.concordance is None


def test_alloys_that_nothing_tells_apart_are_refused_in_words():
    found = asked([LEVELS[0]] * 2, [WORTHS[0]] * 2, [50.0, 50.0])
    assert "tells these alternatives apart" in found.refused


def test_a_single_peak_is_a_target_for_spotis_and_a_worth_for_the_others():
    peak = preference("pasty_range_k", ((0.0, 0.0), (10.0, 100.0), (40.0, 0.0)))
    levels = [[number(10.0)], [number(0.0)], [number(25.0)]]
    found = asked(levels, [[100.0], [0.0], [50.0]], [100.0, 0.0, 50.0], (peak,), (1.0,))
    assert [each.ranks for each in found.opinions[:3]] == [(1, 3, 2)] * 3
    assert found.opinions[3].scores == pytest.approx((0, 0.25, 0.375), abs=1e-12)
    assert [parting.methods for parting in found.partings] == [("SPOTIS",)]


def test_a_plateau_at_the_good_end_does_not_punish_what_lies_on_it():
    flat = preference("process_headroom_k", ((0.0, 0.0), (20.0, 100.0), (40.0, 100.0)))
    levels = [[number(38.0)], [number(10.0)]]
    found = asked(levels, [[100.0], [50.0]], [100.0, 50.0], (flat,), (1.0,))
    assert all(each.ranks == (1, 2) for each in found.opinions)


def test_uncertain_data_widen_the_indifference_of_promethee():
    close = [[number(20.0)], [number(21.0)]]
    vague = [[number(20.0, 4.0)], [number(21.0, 4.0)]]
    sharp, blunt = (asked(each, [[50.0], [52.5]], [50.0, 52.5], (HEADROOM,), (1.0,)) for each in (close, vague))
    assert sharp.opinions[2].ranks == (2, 1)
    assert blunt.opinions[2].ranks == (1, 1)


def test_who_is_not_asked_is_said_with_a_reason_for_each():
    words = NOT_ASKED.split(" are not asked")[0].replace(" and ", ", ").split(", ")
    assert len(words) == 16
    known = " ".join(NOT_OFFERED)
    assert all(word in known for word in words)
