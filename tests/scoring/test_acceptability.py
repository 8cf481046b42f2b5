"""Rank acceptabilities: against brute force and exact areas, the same to the last bit however the work is cut up."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import rankdata

from selector.errors import InputError
from selector.scoring import counting, ordering, streams
from selector.scoring.acceptability import acceptability, chance_text, relative_acceptability, standard_error
from selector.scoring.drawn_data import data
from selector.scoring.drawn_scores import added_up
from selector.scoring.gate import decision_matrix
from selector.scoring.ranking import accumulated
from selector.scoring.samplers import above, fixed, ordered, sampler, uniform
from selector.scoring.second_opinions import topsis, vikor


def worths(m, n, seed=0):
    return np.random.default_rng(seed).random((m, n)) * 100


def by_hand(scores, tie=1e-9):
    """Return shares of rank, ties sharing their places, from scores (draws, m); higher is better."""
    draws, m = scores.shape
    shares = np.zeros((m, m))
    for row in scores:
        order = sorted(range(m), key=lambda i: -row[i])
        start = 0
        while start < m:
            end = start + 1
            while end < m and row[order[end - 1]] - row[order[end]] <= tie:
                end += 1
            for i in order[start:end]:
                shares[i, start:end] += 1 / (end - start)
            start = end
    return shares / draws


def same(one, other):
    """Whether two answers agree to the last bit."""
    parts = ("shares", "mean_rank", "central_weights", "pair_wins", "confidence")
    return all(np.array_equal(getattr(one, part), getattr(other, part), equal_nan=True) for part in parts)


@pytest.mark.parametrize(("m", "n"), [(2, 1), (7, 3), (60, 10)])
def test_shares_are_those_of_ranking_every_draw(m, n):
    values, source = worths(m, n), uniform(n)
    found = acceptability(values, source, 1500, seed=4)
    scores = np.array([accumulated(values, w) for w in source.draws(1500, 4)])
    assert found.shares == pytest.approx(by_hand(scores), abs=1e-12)
    assert found.mean_rank == pytest.approx((1 + (scores[:, :, None] < scores[:, None, :]).sum(2)).mean(0), abs=1e-9)
    firsts = scores.argmax(axis=1)
    for i in range(m):
        if (firsts == i).any():
            expected = source.draws(1500, 4)[firsts == i].mean(axis=0)
            assert found.central_weights[i] == pytest.approx(expected, abs=1e-9)
        else:
            assert np.isnan(found.central_weights[i]).all()


def test_a_long_list_keeps_the_first_ten_ranks_and_bins_the_rest():
    values, source = worths(431, 4), uniform(4)
    found = acceptability(values, source, 700, seed=2)
    ranks = np.array([rankdata(-accumulated(values, w)) for w in source.draws(700, 2)])
    assert found.bins[:11] == (*((r, r) for r in range(1, 11)), (11, 15))
    assert found.bins[-1][1] == 431
    exact = np.stack([((ranks >= a) & (ranks <= b)).mean(axis=0) for a, b in found.bins], axis=1)
    assert found.shares == pytest.approx(exact, abs=1e-12)
    assert found.mean_rank == pytest.approx(ranks.mean(axis=0), abs=1e-9)


@pytest.mark.parametrize("m", [5, 230, 300])
def test_alike_alternatives_share_every_place(m):
    # Every row twice or more: 32-bit keys, 64-bit keys and exact scores all have to give way in turn.
    half = worths(m // 2 + 1, 3, seed=5)
    values = np.vstack([half, half])[:m]
    source = uniform(3)
    found = acceptability(values, source, 300, seed=1)
    shares = by_hand(np.array([accumulated(values, w) for w in source.draws(300, 1)]))
    binned = np.stack([shares[:, a - 1 : b].sum(axis=1) for a, b in found.bins], axis=1)
    assert found.shares == pytest.approx(binned, abs=1e-12)
    twin = m // 2 + 1
    assert found.shares[0] == pytest.approx(found.shares[twin], abs=1e-12)
    assert found.mean_rank[0] == pytest.approx(found.mean_rank[twin], abs=1e-12)
    assert found.mean_rank.sum() == pytest.approx(m * (m + 1) / 2, rel=1e-12)


def test_all_alike_share_everything():
    found = acceptability(np.full((4, 2), 30.0), uniform(2), 100, pairs=(0, 3))
    assert found.shares == pytest.approx(np.full((4, 4), 0.25), abs=1e-12)
    assert found.mean_rank == pytest.approx(np.full(4, 2.5))
    assert found.pair_wins.tolist() == [[0.5, 0.5], [0.5, 0.5]]
    assert found.central_weights == pytest.approx(np.tile(uniform(2).draws(100, 1).mean(axis=0), (4, 1)), abs=1e-8)


@pytest.mark.parametrize("gap", [0.5e-9, 2e-9, 1e-7, 1e-5, 1e-4])
def test_a_lead_is_a_tie_up_to_its_resolution_and_a_lead_beyond(gap):
    # The second lies `gap` below the first on every criterion, whatever the weights.
    values = np.array([[50.0, 60.0], [50.0 - gap, 60.0 - gap], [10.0, 90.0]])
    found = acceptability(values, uniform(2), 500, pairs=(0, 1))
    assert found.pair_wins[0, 1] == (0.5 if gap < 1e-9 else 1.0)
    if gap < 1e-9:
        assert found.shares[0] == pytest.approx(found.shares[1], abs=1e-12)
    else:
        assert found.shares[1, 0] == 0


CUTS = [{"threads": t, "piece_mb": p} for t, p in ((1, 2.0), (2, 2.0), (4, 2.0), (1, 0.001), (2, 0.01), (3, 0.0003))]


@pytest.mark.parametrize("kind", ["short", "alike", "long", "data", "walk"])
def test_threads_and_memory_leave_no_trace(kind):
    rng = np.random.default_rng(1)
    low = rng.random((24, 4)) * 80
    source, given, draws = uniform(4), low, 5000
    if kind == "alike":
        given = np.vstack([low[:12], low[:12]])
    elif kind == "long":
        given, draws = rng.random((300, 4)) * 100, 1500
    elif kind == "data":
        given, draws = data(low, low + 20 * (rng.random((24, 4)) < 0.4)), 2500
    elif kind == "walk":
        from selector.scoring import admissible

        region = admissible.both(admissible.ordered([[0], [1], [2], [3]]), admissible.bounded([0.05] * 4, [0.6] * 4))
        source, draws = sampler(region), 1500
    first, *others = [acceptability(given, source, draws, seed=11, pairs=(0, 5, 7), **cut) for cut in CUTS]
    assert all(same(first, other) for other in others)


def test_a_longer_run_begins_with_the_draws_of_a_shorter_one():
    values, source = worths(9, 3), uniform(3)
    part, whole = (acceptability(values, source, draws, seed=3) for draws in (1000, 2000))
    rest = 2 * whole.shares - part.shares
    assert np.all(rest >= -1e-12)
    assert not same(whole, acceptability(values, source, 2000, seed=4))


def test_first_places_of_three_criteria_are_areas():
    # Unit vectors and their middle: the middle wins where every weight is below 2/5 ... by areas of the triangle.
    values = 100 * np.array([[1, 0, 0], [0, 1, 0], [0, 0, 1], [0.4, 0.4, 0.4]])
    found = acceptability(values, uniform(3), 100_000, seed=5)
    corner = 0.6**2  # each weight above 0.4 cuts off a triangle similar to the whole; they overlap pairwise
    overlap = 0.2**2
    exact = np.array([corner, corner, corner, 0.0])
    middle = 1 - 3 * corner + 3 * overlap
    # Where two weights exceed 0.4 the larger wins: each corner loses half of each of its two overlaps.
    exact[:3] -= overlap
    exact[3] = middle
    assert exact.sum() == pytest.approx(1)
    assert np.all(np.abs(found.first - exact) <= 4 * standard_error(exact, found.draws))


@pytest.mark.parametrize("m", [2, 250, 300])
def test_the_ends_of_the_scale_are_scores_like_others(m):
    # Weights that sum to a little less than 1 in single precision must not push the best off the scale.
    values = np.linspace(0, 100, m)[:, None] * np.ones(7)
    found = acceptability(values, uniform(7), 3000)
    assert found.first[-1] == 1
    assert found.mean_rank == pytest.approx(np.arange(m, 0, -1.0), abs=1e-9)


def test_a_single_alternative_is_always_first():
    found = acceptability(np.array([[3.0, 4.0]]), uniform(2), 10)
    assert found.shares.tolist() == [[1.0]]
    assert found.confidence.tolist() == [1.0]


def test_pairs_are_counted_and_sum_to_one():
    values, source = worths(8, 3), uniform(3)
    found = acceptability(values, source, 1200, seed=6, pairs=(4, 0, 2))
    scores = np.array([accumulated(values, w) for w in source.draws(1200, 6)])
    for (i, a), (k, b) in itertools.product(enumerate((4, 0, 2)), repeat=2):
        exact = 0.5 if a == b else (scores[:, a] > scores[:, b]).mean()
        assert found.pair_wins[i, k] == pytest.approx(exact, abs=1e-12)
    assert found.pair_wins + found.pair_wins.T == pytest.approx(np.ones((3, 3)), abs=1e-12)


# Data drawn too.


def test_two_intervals_of_one_criterion_win_by_their_overlap():
    # A in 0..10, B in 5..15: A ahead with chance 1/8.
    given = data(np.array([[0.0], [5.0]]), np.array([[10.0], [15.0]]))
    found = acceptability(given, fixed([1.0]), 40_000, seed=2, pairs=(0, 1))
    assert found.first[0] == pytest.approx(0.125, abs=4 * float(standard_error(0.125, 40_000)))
    assert found.pair_wins[0, 1] == pytest.approx(found.first[0], abs=1e-12)
    # With one weight vector, confidence is the share of firsts itself.
    assert found.confidence == pytest.approx(found.first, abs=1e-12)
    assert found.data == "data drawn within their intervals, independently: 2 cells uniform in their worth"


def test_weights_and_data_are_drawn_together():
    low, high = worths(6, 3, seed=3) * 0.7, worths(6, 3, seed=3) * 0.7 + 30 * (worths(6, 3, seed=4) > 50)
    given = data(low, high)
    found = acceptability(given, uniform(3), 3000, seed=8)
    scores = []
    for block, rows in streams.blocks(3000):
        drawn = uniform(3).drawn(8, block)
        for start in range(0, rows, streams.PART):
            some = drawn[start : min(start + streams.PART, rows)]
            extra = given.added(given.streams(8, block, start), some)
            scores.append(added_up(some, given.base) + extra)
    scores = np.concatenate(scores)
    assert found.shares == pytest.approx(by_hand(scores), abs=1e-12)
    # Every draw lies within the exact bounds.
    weights = uniform(3).draws(3000, 8)
    assert np.all(scores >= added_up(weights, low) - 1e-9)
    assert np.all(scores <= added_up(weights, high) + 1e-9)


def test_confidence_is_that_of_the_data_alone_under_central_weights():
    low = np.array([[60.0, 10.0], [10.0, 60.0], [30.0, 30.0]])
    given = data(low, low + np.array([[0.0, 0.0], [0.0, 0.0], [20.0, 20.0]]))
    found = acceptability(given, uniform(2), 20_000, seed=1)
    again = acceptability(given, fixed(found.central_weights[2]), 20_000, seed=1)
    assert found.confidence[2] == pytest.approx(again.first[2], abs=0.02)
    assert found.confidence[2] > found.first[2]


def test_confidence_is_asked_of_those_often_first_only():
    low = np.full((20, 1), 40.0)
    given = data(low, low + 20)
    found = acceptability(given, uniform(1), 500)
    assert np.isfinite(found.confidence).sum() == 12


def test_certain_data_leave_no_doubt_about_the_first():
    found = acceptability(np.array([[60.0, 10.0], [10.0, 60.0], [1.0, 1.0]]), uniform(2), 300)
    assert found.confidence[:2].tolist() == [1.0, 1.0]
    assert np.isnan(found.confidence[2])
    assert found.data == "the data as they are"


def test_a_level_is_drawn_through_its_curve():
    # Levels 0..10 under a curve that is worth 0 up to 5 and rises to 100 at 10: half of the draws are worth nothing.
    def curve(levels):
        return np.interp(levels, [0, 5, 10], [0, 0, 100])

    low, high = np.array([[0.0], [1.0]]), np.array([[100.0], [1.0]])
    ends = (np.array([[0.0], [5.05]]), np.array([[10.0], [5.05]]))
    by_level = acceptability(data(low, high, [curve], *ends), fixed([1]), 20_000, seed=3)
    by_worth = acceptability(data(low, high), fixed([1]), 20_000, seed=3)
    assert by_level.first[0] == pytest.approx(0.495, abs=0.015)
    assert by_worth.first[0] == pytest.approx(0.99, abs=0.005)
    assert by_level.data.endswith("1 cells uniform in their level")


def test_cells_of_one_criterion_by_level_and_by_worth_are_drawn_apart():
    def curve(levels):
        return levels * 10

    ends = (np.array([[0.0], [np.nan]]), np.array([[10.0], [np.nan]]))
    given = data(np.zeros((2, 1)), np.full((2, 1), 100.0), [curve], *ends)
    assert [len(column.cells) for column in given.columns] == [1, 1]
    a, b = (given.worths(column, each, 5) for column, each in zip(given.columns, given.streams(1, 0, 0), strict=True))
    assert not np.allclose(a, b)


# TOPSIS and VIKOR.


@pytest.mark.parametrize(("method", "alone"), [("TOPSIS", topsis), ("VIKOR", vikor)])
def test_relative_methods_rank_every_draw_as_they_do_alone(method, alone):
    rng = np.random.default_rng(2)
    values = np.column_stack([rng.normal(-5, 9, 9), rng.random(9) * 1e4, rng.random(9), np.full(9, 3.0)])
    values[3] = values[4]
    directions, source = ["higher", "lower", "lower", "higher"], uniform(4)
    found = relative_acceptability(method, values, directions, source, 60, seed=1)
    names = [f"A{i}" for i in range(9)]
    merits = []
    for weights in source.draws(60, 1):
        opinion = alone(values, names, list("wxyz"), weights, directions)
        merits.append(np.array(opinion.scores) * (1 if method == "TOPSIS" else -1))
    assert found.shares == pytest.approx(by_hand(np.array(merits)), abs=1e-12)
    assert "relative to this list" in found.notes[0]
    cut = relative_acceptability(method, values, directions, source, 60, seed=1, threads=2, piece_mb=0.0002)
    assert same(found, cut)


@pytest.mark.parametrize("method", ["TOPSIS", "VIKOR"])
def test_relative_methods_stand_ties_everywhere_and_values_of_any_size(method):
    two = relative_acceptability(method, np.array([[0.0, 1.0], [1.0, 0.0]]), ["higher"] * 2, fixed([1, 1]), 40)
    assert two.shares.tolist() == [[0.5, 0.5], [0.5, 0.5]]
    # Weight on a criterion that tells nobody apart.
    blind = relative_acceptability(method, np.array([[0.0, 1.0], [1.0, 1.0]]), ["higher"] * 2, fixed([0, 1]), 40)
    assert blind.shares.tolist() == [[0.5, 0.5], [0.5, 0.5]]
    values = worths(5, 2)
    plain = relative_acceptability(method, values, ["higher"] * 2, uniform(2), 200)
    huge = relative_acceptability(method, values * [2.0**900, 2.0**-900], ["higher"] * 2, uniform(2), 200)
    assert same(plain, huge)


def test_scores_agree_with_the_library_on_three_hundred_draws():
    values, source = worths(12, 5), uniform(5)
    from selector.scoring.second_opinions import evaluate

    names, criteria = [f"A{i}" for i in range(12)], [f"c{j}" for j in range(5)]
    ranks = []
    for weights in source.draws(30, 1):
        matrix = decision_matrix(values / 100, names, criteria, weights, ["higher"] * 5)
        ranks.append(rankdata(-evaluate("WeightedSumModel", matrix)["score"]))
    exact = np.stack([(np.array(ranks) == r).mean(axis=0) for r in range(1, 13)], axis=1)
    assert acceptability(values, source, 30, seed=1).shares == pytest.approx(exact, abs=1e-12)


# Words, refusals, properties.


@pytest.mark.parametrize(
    ("share", "draws", "text"),
    [
        (0.0, 10_000, "below about 0.030 %"),
        (0.0, 1_000_000, "below about 0.00030 %"),
        (0.0, 2, "below about 100.0 %"),
        (1.0, 10_000, "above about 99.970 %"),
        (0.5, 10_000, "50.0 % (standard error 0.5)"),
        (0.0003, 10_000, "0.03 % (standard error 0.02)"),
    ],
)
def test_a_chance_in_words_never_claims_a_zero(share, draws, text):
    assert chance_text(share, draws) == text


def test_the_standard_error_counts_only_what_draws_are_worth():
    assert standard_error(0.5, 10_000) == pytest.approx(0.005)
    source = sampler_with_half_worth()
    found = acceptability(worths(3, 2), source, 1000)
    assert found.effective == 500
    assert found.standard_error == pytest.approx(np.sqrt(found.shares * (1 - found.shares) / 500))


def sampler_with_half_worth():
    from dataclasses import replace

    return replace(uniform(2), effective=0.5)


@pytest.mark.parametrize(
    ("given", "options", "words"),
    [
        (np.array([[1.0, np.nan], [2.0, 3.0]]), {}, "criterion no. 2: has no worth"),
        (np.array([[1.0, 101.0], [2.0, 3.0]]), {}, "has no usable interval of worth"),
        (np.array([[1.0, -1.0], [2.0, 3.0]]), {}, "has no usable interval of worth"),
        (np.array([1.0, 2.0]), {}, "are not two tables"),
        (worths(3, 3), {}, "weights: do not fit the criteria; got 2; allowed: 3"),
        (worths(3, 2), {"draws": 0}, "draws: cannot be used"),
        (worths(3, 2), {"draws": 1.5}, "draws: cannot be used"),
        (worths(3, 2), {"seed": -1}, "seed: cannot be used"),
        (worths(3, 2), {"threads": 0}, "threads: cannot be used"),
        (worths(3, 2), {"piece_mb": 0}, "piece_mb: cannot be used"),
        (worths(3, 2), {"pairs": (0, 0)}, "pairs: do not name"),
        (worths(3, 2), {"pairs": (3,)}, "pairs: do not name"),
    ],
)
def test_what_does_not_fit_is_refused(given, options, words):
    with pytest.raises(InputError, match=words):
        acceptability(given, uniform(2), **({"draws": 10} | options))


def test_all_faults_are_told_at_once():
    with pytest.raises(InputError) as caught:
        acceptability(worths(3, 3), uniform(2), -1, -1, pairs=(9,), threads=0, piece_mb=-1)
    assert len(caught.value.faults) == 6


@pytest.mark.parametrize(
    ("method", "values", "directions", "words"),
    [
        ("MOORA", worths(3, 2), ["higher"] * 2, "method: is not offered"),
        ("TOPSIS", np.array([[1.0, np.nan], [2.0, 3.0]]), ["higher"] * 2, "finite numbers"),
        ("VIKOR", worths(1, 2), ["higher"] * 2, "two rows or more"),
        ("VIKOR", worths(3, 2), ["higher", "up"], "directions: do not fit"),
        ("VIKOR", worths(3, 2), ["higher"], "directions: do not fit"),
        ("TOPSIS", np.ones((3, 2)), ["higher"] * 2, "do not tell the alternatives apart"),
        ("TOPSIS", worths(3, 3), ["higher"] * 3, "weights: do not fit"),
    ],
)
def test_what_relative_methods_cannot_rank_is_refused(method, values, directions, words):
    with pytest.raises(InputError, match=words):
        relative_acceptability(method, values, directions, uniform(2), 10)


def test_crossed_intervals_are_refused_cell_by_cell():
    with pytest.raises(InputError) as caught:
        data(np.array([[5.0, 1.0], [9.0, 9.0]]), np.array([[4.0, 2.0], [9.0, 8.0]]))
    assert len(caught.value.faults) == 2


grid = st.integers(0, 4).map(lambda k: 25.0 * k)
tables = st.integers(1, 3).flatmap(
    lambda n: st.lists(st.lists(grid, min_size=n, max_size=n), min_size=1, max_size=7).map(np.array)
)


@given(tables, st.integers(0, 5))
@settings(deadline=None, max_examples=60)
def test_property_rows_and_columns_sum_to_one_and_brute_force_agrees(values, seed):
    source = uniform(values.shape[1])
    found = acceptability(values, source, 40, seed)
    assert found.shares.sum(axis=0) == pytest.approx(np.ones(len(values)), abs=1e-12)
    assert found.shares.sum(axis=1) == pytest.approx(np.ones(len(values)), abs=1e-12)
    scores = np.array([accumulated(values, w) for w in source.draws(40, seed)])
    assert found.shares == pytest.approx(by_hand(scores), abs=1e-12)
    assert found.mean_rank == pytest.approx(found.shares @ np.arange(1, len(values) + 1), abs=1e-9)


@given(tables, st.randoms(use_true_random=False))
@settings(deadline=None, max_examples=40)
def test_property_permuting_rows_permutes_the_answer(values, order):
    turn = order.sample(range(len(values)), len(values))
    one = acceptability(values, uniform(values.shape[1]), 40)
    other = acceptability(values[turn], uniform(values.shape[1]), 40)
    assert one.shares[turn] == pytest.approx(other.shares, abs=1e-12)


@given(tables, st.data())
@settings(deadline=None, max_examples=40)
def test_property_a_better_value_never_lowers_the_mean_rank(values, choice):
    i, j = choice.draw(st.integers(0, len(values) - 1)), choice.draw(st.integers(0, values.shape[1] - 1))
    better = values.copy()
    better[i, j] = min(100.0, better[i, j] + 10)
    source = uniform(values.shape[1])
    before, after = acceptability(values, source, 40), acceptability(better, source, 40)
    assert after.mean_rank[i] <= before.mean_rank[i] + 1e-12
    assert after.first[i] >= before.first[i] - 1e-12


@pytest.mark.parametrize("source", [ordered([[1], [0], [2]]), above([0.2, 0.1, 0.0]), fixed([3, 2, 1])])
def test_every_source_of_weights_is_taken(source):
    values = worths(5, 3)
    scores = np.array([accumulated(values, w) for w in source.draws(100, 1)])
    assert acceptability(values, source, 100).shares == pytest.approx(by_hand(scores), abs=1e-12)


def test_dominated_is_never_first_and_its_central_weights_are_unknown():
    found = acceptability(np.array([[80.0, 80.0], [70.0, 79.0]]), uniform(2), 1000)
    assert found.first[1] == 0
    assert np.isnan(found.central_weights[1]).all()
    assert chance_text(float(found.first[1]), found.effective) == "below about 0.30 %"


def test_one_blas_thread_while_sampling_and_what_was_set_before_afterwards():
    from threadpoolctl import threadpool_info

    def count():
        return [pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas"]

    before = count()
    with streams.one_blas_thread():
        with streams.one_blas_thread():
            assert set(count()) == {1}
        assert set(count()) == {1}
    assert count() == before


def test_doubtful_draws_are_done_again_even_when_they_pile_up(monkeypatch):
    # Neighbours so close that single precision never tells them apart.
    values = np.round(worths(30, 3), 3)
    values[15:] = values[:15] + 1e-6
    values = np.clip(values, 0, 100)
    seen = []
    real = counting.best_first
    monkeypatch.setattr(counting, "best_first", lambda *a: (seen.append(len(a[1])), real(*a))[1])
    found = acceptability(values, uniform(3), 3000, seed=2)
    assert sum(seen) == 3000
    assert max(seen) > 1024
    scores = np.array([accumulated(values, w) for w in uniform(3).draws(3000, 2)])
    assert found.shares == pytest.approx(by_hand(scores), abs=1e-12)


def test_packing_resolves_what_it_promises():
    for packing, kind in ((ordering.NARROW, np.float32), (ordering.wide_packing(70_000), np.float64)):
        low, high = packing.offset, packing.offset + 100
        step = np.spacing(kind(low))
        assert np.spacing(kind(high)) == step
        keys = np.array([low, low + 50 * step, high], dtype=kind).view(packing.whole) << packing.whole(packing.shift)
        assert int(keys[1]) - int(keys[0]) == pytest.approx(50 * float(step) * packing.per_unit)
        assert keys[0] < keys[1] < keys[2]
        assert not (keys & packing.mask).any()
