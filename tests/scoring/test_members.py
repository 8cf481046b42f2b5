"""Several people's weights: agreement that is proved, and the spread that moves the first places."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from selector.errors import InputError
from selector.scoring.members import agreed_pairs, group_weights, letters, member_scores, movers
from selector.scoring.ranking import accumulated

WORTHS = np.array([[100.0, 0.0, 50.0], [60.0, 60.0, 50.0], [0.0, 100.0, 40.0], [10.0, 10.0, 10.0]])
TWO = np.array([[0.6, 0.2, 0.2], [0.2, 0.6, 0.2]])


def test_group_weights_are_the_mean_and_votes_shift_them():
    assert group_weights(TWO) == pytest.approx([0.4, 0.4, 0.2])
    assert group_weights(TWO, [3, 1]) == pytest.approx([0.5, 0.3, 0.2])


@pytest.mark.parametrize("votes", [[1], [1, -1], [0, 0], [1, float("nan")], [1, float("inf")]])
def test_votes_that_cannot_be_used_are_refused(votes):
    with pytest.raises(InputError, match="votes"):
        group_weights(TWO, votes)


def test_a_pair_on_which_both_agree_is_found_and_one_on_which_they_differ_is_not():
    ahead = agreed_pairs(WORTHS, WORTHS, TWO)
    # By hand: member one 70, 58, 28, 10; member two 30, 58, 68, 10.
    assert member_scores(WORTHS, TWO) == pytest.approx(np.array([[70, 58, 28, 10], [30, 58, 68, 10]]))
    assert ahead[:, 3].tolist() == [True, True, True, False]
    assert not ahead[:3, :3].any()


def test_intervals_that_overlap_take_an_agreement_away():
    low = WORTHS.copy()
    low[2] = 0.0
    assert agreed_pairs(WORTHS, WORTHS, TWO)[2, 3]
    assert not agreed_pairs(low, WORTHS, TWO)[2, 3]


@settings(max_examples=60)
@given(
    arrays(float, (4, 3), elements=st.floats(0, 100)),
    arrays(float, (3, 3), elements=st.floats(0.01, 1)),
    arrays(float, (3,), elements=st.floats(0.01, 1)),
)
def test_an_agreed_pair_holds_under_any_mix(worths, raw, mix):
    weights = raw / raw.sum(axis=1, keepdims=True)
    ahead = agreed_pairs(worths, worths, weights)
    scores = accumulated(worths, group_weights(weights, mix))
    for i, k in itertools.product(range(4), repeat=2):
        assert not ahead[i, k] or scores[i] > scores[k]


def test_movers_name_the_criterion_and_who_overtakes_whom():
    worths = np.array([[100.0, 0.0, 50.0], [0.0, 90.0, 50.0], [10.0, 10.0, 50.0]])
    weights = np.array([[0.7, 0.2, 0.1], [0.3, 0.4, 0.3]])
    found = {entry.criterion: entry for entry in movers(worths, weights, group_weights(weights))}
    # Group .5 .3 .2: 60, 37, 18. At .3 of the first the others keep 3:2, so .42 .28: 44 against 51.8.
    assert found[0].overtakes == ((1, 0),)
    assert (found[0].lowest, found[0].group, found[0].highest) == pytest.approx((0.3, 0.5, 0.7))
    assert 2 not in found


@settings(max_examples=40)
@given(arrays(float, (4, 3), elements=st.floats(0, 100)), arrays(float, (2, 3), elements=st.floats(0.05, 1)))
def test_no_order_of_the_first_three_turns_that_movers_do_not_name(worths, raw):
    weights = raw / raw.sum(axis=1, keepdims=True)
    group = group_weights(weights)
    named = {(entry.criterion, pair) for entry in movers(worths, weights, group) for pair in entry.overtakes}
    own = accumulated(worths, group)
    first = np.argsort(-own, kind="stable")[:3]
    for column in range(3):
        for share in np.linspace(weights[:, column].min(), weights[:, column].max(), 7):
            moved = group * (1 - share) / (1 - group[column])
            moved[column] = share
            then = accumulated(worths, moved)
            for leader, other in itertools.product(first, range(4)):
                if own[leader] > own[other] + 1e-6 and then[other] > then[leader] + 1e-6:
                    assert (column, (other, leader)) in named


def test_letters_depend_on_names_and_seed_alone_and_go_beyond_z():
    names = [f"alloy {i}" for i in range(60)]
    one = letters(names, 7)
    assert one == letters(names[::-1], 7)
    assert one != letters(names, 8)
    assert sorted(one.values(), key=lambda text: (len(text), text))[:27][-1] == "AA"
    assert len(set(one.values())) == 60
