"""Exact answers about data in intervals, each against an oracle: pairs, places, values, anchors, measuring."""

import itertools

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from selector.errors import InputError
from selector.scoring.admissible import anything, both, bounded, fixed, ordered
from selector.scoring.anchor_moves import anchor_moves
from selector.scoring.comparisons import better_for_all, dominance, margins, score_bounds
from selector.scoring.dethroning import level_for, value_changes
from selector.scoring.rank_limits import best_place, rank_enclosure, worst_place
from selector.scoring.ranking import Scores, accumulated, competition_ranks, normalised, rank_bounds
from selector.scoring.settling import measurements
from selector.scoring.values import levels_worth, worth, worth_bounds

LOW = np.array([[60.0, 20, 70], [50, 80, 40], [30, 60, 70], [20, 10, 10]])
HIGH = np.array([[90.0, 20, 70], [50, 90, 40], [30, 60, 95], [25, 15, 40]])
WEIGHTS = np.array([0.5, 0.3, 0.2])
ORDER = ordered([(0,), (1,), (2,)])
REGIONS = [anything(3), ORDER, fixed(WEIGHTS), both(ORDER, bounded([0, 0.1, 0.1], [0.7, 1, 1]))]


def grid(n, steps):
    """Every weight vector whose entries are multiples of 1/steps."""
    cuts = itertools.combinations(range(steps + n - 1), n - 1)
    return np.array([np.diff([-1, *cut, steps + n - 1]) - 1 for cut in cuts]) / steps


GRID = grid(3, 60)


def corners(low, high):
    """Every table with each open cell at one of its ends."""
    open_ = np.argwhere(high > low)
    for ends in itertools.product((False, True), repeat=len(open_)):
        table = low.copy()
        for (i, j), end in zip(open_, ends, strict=True):
            table[i, j] = high[i, j] if end else low[i, j]
        yield table


def intervals(m, n):
    cell = st.tuples(st.integers(0, 10), st.integers(0, 3)).map(lambda c: (10.0 * c[0], min(100.0, 10.0 * sum(c))))
    return st.lists(st.lists(cell, min_size=n, max_size=n), min_size=m, max_size=m).map(np.array)


@pytest.mark.parametrize("region", REGIONS, ids=["anything", "order", "fixed", "mixed"])
def test_pairs_agree_with_every_corner_of_the_data_and_a_grid_of_weights(region):
    points = GRID[[region.contains(w) for w in GRID]]
    leads = np.array([(t[:, None, :] - t[None, :, :]) @ points.T for t in corners(LOW, HIGH)])  # (tables, m, m, w)
    found = better_for_all(LOW, HIGH, region)
    off = ~np.eye(4, dtype=bool)
    always = (leads >= -1e-9).all(axis=(0, 3)) & (leads > 1e-9).any(axis=(0, 3)) & off
    assert (found.necessary <= always).all()  # the grid may miss the weights that refute it
    assert ((leads > 1e-9).any(axis=(0, 3)) <= found.possible).all()
    assert found.necessary[0, 3]
    assert not found.possible[3, 0]
    assert margins(LOW, HIGH, region).T[3] == pytest.approx(leads.min(axis=(0, 3)).T[3], abs=1.0)


def test_dominance_is_sure_possible_or_neither():
    found = dominance(LOW, HIGH)
    sure = [dominance(t, t).necessary for t in corners(LOW, HIGH)]
    assert found.necessary.tolist() == np.all(sure, axis=0).tolist()
    assert found.possible.tolist() == np.any(sure, axis=0).tolist()
    assert found.necessary[0].tolist() == [False, False, False, True]
    twins = np.array([[5.0, 5], [5, 5]])
    assert not dominance(twins, twins).possible.any()
    # Equal at the touching ends only: may dominate, need not.
    touching = dominance(np.array([[5.0, 5], [3, 3]]), np.array([[6.0, 6], [5, 5]]))
    assert touching.necessary.tolist() == [[False, False], [False, False]]
    assert touching.possible.tolist() == [[False, True], [False, False]]


@pytest.mark.parametrize("region", REGIONS, ids=["anything", "order", "fixed", "mixed"])
def test_score_and_rank_limits_enclose_everything_and_are_reached(region):
    points = GRID[[region.contains(w) for w in GRID]]
    tables = list(corners(LOW, HIGH))
    scores = np.array([[t @ w for w in points] for t in tables]).reshape(-1, 4)
    bounds = score_bounds(LOW, HIGH, region)
    assert np.all(bounds.low <= scores.min(axis=0) + 1e-9)
    assert np.all(bounds.high >= scores.max(axis=0) - 1e-9)
    assert bounds.low == pytest.approx(scores.min(axis=0), abs=1.0)
    ranks = np.array([1 + (row[None, :] > row[:, None] + 1e-3).sum(axis=1) for row in scores])
    wide = rank_enclosure(LOW, HIGH, region)
    for i in range(4):
        best, worst = best_place(i, LOW, HIGH, region), worst_place(i, LOW, HIGH, region)
        assert wide.best[i] <= best.rank <= ranks[:, i].min()
        assert wide.worst[i] >= worst.rank >= ranks[:, i].max()
        assert best.rank == ranks[:, i].min()
        assert worst.rank == ranks[:, i].max()
        assert region.contains(best.weights, 1e-6)


def test_an_enclosure_can_be_wider_than_the_exact_place():
    # Each rival beats the third under some weights, but none of these weights serve both rivals.
    table = np.array([[100.0, 0], [0, 100], [60, 60]])
    assert rank_enclosure(table, table, anything(2)).worst[2] == 3
    assert worst_place(2, table, table, anything(2)).rank == 2


@given(st.integers(2, 5).flatmap(lambda m: intervals(m, 3)))
@settings(max_examples=40, deadline=None)
def test_under_fixed_weights_the_places_are_those_of_the_closed_form(table):
    low, high = table[..., 0], table[..., 1]
    region = fixed(WEIGHTS)
    best, worst = rank_bounds(Scores(low[:, 0], accumulated(low, WEIGHTS), accumulated(high, WEIGHTS)))
    found = rank_enclosure(low, high, region)
    assert found.best.tolist() == best.tolist()
    assert found.worst.tolist() == worst.tolist()
    assert best_place(0, low, high, region).rank == best[0]
    assert worst_place(0, low, high, region).rank == worst[0]


def test_a_lone_alternative_is_first():
    assert best_place(0, LOW[:1], HIGH[:1], anything(3)).rank == 1
    with pytest.raises(InputError, match="not on the list"):
        best_place(4, LOW, HIGH, anything(3))


def test_bounds_that_cannot_be_used_are_all_named():
    with pytest.raises(InputError) as caught:
        dominance(np.array([[5.0, np.nan], [1, 2]]), np.array([[4.0, 1], [1, 2]]))
    assert [fault.where for fault in caught.value.faults] == [
        "alternative 1, criterion 1",
        "alternative 1, criterion 2",
    ]
    with pytest.raises(InputError, match="do not fit"):
        score_bounds(LOW, HIGH, anything(2))


def test_one_value_changed_alone_brings_a_rival_level():
    scores = accumulated(HIGH, WEIGHTS)
    leader = int(np.argmax(scores))
    changes = value_changes(HIGH, WEIGHTS, leader)
    for change in changes:
        table = HIGH.copy()
        assert table[change.alternative, change.criterion] == change.worth_from
        table[change.alternative, change.criterion] = change.worth_to
        after = accumulated(table, WEIGHTS)
        assert after[change.rival] == pytest.approx(after[leader])
        assert after.max() == pytest.approx(after[leader])
        assert 0 <= change.worth_to <= 100
    assert [c.size for c in changes] == sorted(c.size for c in changes)
    # Lead 65 - 60 = 5 points over the second; weight 0.5 wants 10 of worth. The second may rise or the leader fall.
    assert scores == pytest.approx([65, 60, 52, 25])
    assert (changes[0].size, changes[0].criterion) == (pytest.approx(10.0), 0)
    assert {(c.alternative, c.criterion) for c in changes if c.size == pytest.approx(10.0)} == {(0, 0), (1, 0)}
    # The second stands at 90 on the second criterion: 16.7 more is more than 100.
    assert (1, 1) not in {(c.alternative, c.criterion) for c in changes}


def test_a_changed_worth_is_brought_back_through_the_curve():
    (first, *_) = value_changes(HIGH, WEIGHTS, 0)
    peak = [(0.0, 0.0), (10.0, 100.0), (30.0, 0.0)]
    assert levels_worth(50, peak) == (5, 20)
    assert first.worth_to == pytest.approx(80)
    assert level_for(first, 12.0, peak) == pytest.approx(14.0)
    assert level_for(first, 1.0, peak) == pytest.approx(8.0)
    assert level_for(first, None, peak) == pytest.approx(8.0)
    flat = [(0.0, 0.0), (10.0, 100.0), (20.0, 100.0)]
    assert levels_worth(100, flat) == (10, 20)
    assert levels_worth(101, flat) == ()


CURVES = [
    ((0.0, 0.0), (40.0, 100.0)),
    ((0.0, 100.0), (5.0, 90.0), (25.0, 0.0)),
    ((0.0, 0.0), (10.0, 100.0), (30.0, 0.0)),
    ((0.0, 0.0), (10.0, 60.0), (20.0, 60.0), (30.0, 100.0)),
]
levels = st.integers(-4, 44).map(float)
spans = st.one_of(
    st.none(), levels.map(lambda x: (x, x)), st.tuples(levels, st.integers(1, 9)).map(lambda s: (s[0], sum(s)))
)


@given(
    st.lists(st.tuples(spans, st.integers(0, 60).map(float)), min_size=2, max_size=4),
    st.sampled_from(CURVES),
    st.sampled_from([0.1, 0.4, 0.8]),
)
@settings(max_examples=40, deadline=None)
def test_an_anchor_moves_as_far_as_a_scan_lets_it(alternatives, curve, weight):
    spans_, other = [s for s, _ in alternatives], np.array([o for _, o in alternatives])

    def leads(points):
        scores = other + weight * np.array([0.0 if s is None else worth_bounds(*s, points)[0] for s in spans_])
        return scores[leader] - scores

    leader = 0
    leader = int(np.argmin(leads(curve)))  # the greatest score has the least "lead of 0 over it"
    lead = np.delete(leads(curve), leader).min()
    assume(lead > 0.01)
    found = anchor_moves(spans_, other, weight, curve, leader)
    for p, (level, value) in enumerate(curve):
        low = curve[p - 1][0] if p else level - 60
        high = curve[p + 1][0] if p + 1 < len(curve) else level + 60
        for way, end in ((-1, low), (1, high)):
            mine = [m for m in found if m.anchor == p and (m.change > 0) == (way > 0)]
            steps = np.linspace(level, end, 121)[1:-1]
            lost = [
                x
                for x in steps
                if np.delete(leads([(float(x), value) if q == p else pt for q, pt in enumerate(curve)]), leader).min()
                < -1e-6
            ]
            if lost:
                assert mine
                assert abs(mine[0].change) <= abs(lost[0] - level) + 1e-9
            if mine:
                moved = [(mine[0].level_to, value) if q == p else pt for q, pt in enumerate(curve)]
                assert leads(moved)[mine[0].rival] == pytest.approx(0, abs=1e-6)
                before = level + 0.999 * mine[0].change
                nearly = [(before, value) if q == p else pt for q, pt in enumerate(curve)]
                assert np.delete(leads(nearly), leader).min() > -1e-6


def test_an_anchor_move_by_hand():
    # 30 K is worth 75 and 10 K 25 on 0 to 40 K; at weight 1/2 that is 25 points, against 20 elsewhere: a lead of 5.
    (first, *rest) = anchor_moves([(30.0, 30.0), (10.0, 10.0)], [0.0, 20.0], 0.5, CURVES[0], 0)
    # 0.5 (3000 - 1000) / x = 20 at x = 50: the upper anchor 10 K up. The lower to x: 0.5 * 2000 / (40 - x) = 20 at -10.
    assert (first.anchor, first.level_to) == (0, pytest.approx(-10.0)) or (first.anchor, first.level_to) == (
        1,
        pytest.approx(50.0),
    )
    assert {(m.anchor, round(m.level_to, 6)) for m in (first, *rest)} >= {(1, 50.0), (0, -10.0)}
    with pytest.raises(InputError, match="does not lead"):
        anchor_moves([(30.0, 30.0), (10.0, 10.0)], [0.0, 20.0], 0.5, CURVES[0], 1)


def brute_settling(low, high, i, j, subjects, steps=120):
    widths = []
    for t in (np.arange(steps) + 0.5) / steps:
        a, b = low.copy(), high.copy()
        a[i, j] = b[i, j] = low[i, j] + t * (high[i, j] - low[i, j])
        bottom, top = accumulated(a, WEIGHTS), accumulated(b, WEIGHTS)
        best, worst = rank_bounds(Scores(bottom, bottom, top))
        widths.append((worst - best)[list(subjects)].sum())
    return np.array(widths)


@given(st.integers(2, 4).flatmap(lambda m: intervals(m, 3)), st.booleans())
@settings(max_examples=30, deadline=None)
def test_what_a_measurement_would_settle_agrees_with_trying_every_outcome(table, everybody):
    low, high = table[..., 0], table[..., 1]
    subjects = range(len(low)) if everybody else [0]
    found = measurements(low, high, WEIGHTS, subjects)
    assert {(s.alternative, s.criterion) for s in found} == {(int(i), int(j)) for i, j in np.argwhere(high > low)}
    for entry in found:
        widths = brute_settling(low, high, entry.alternative, entry.criterion, subjects)
        assert entry.width_least <= widths.min()
        assert entry.width_most >= widths.max()
        assert entry.width_mean == pytest.approx(widths.mean(), abs=0.1)
        assert entry.settles == pytest.approx((widths == 0).mean(), abs=0.04)
    means = [s.width_mean for s in found]
    assert means == sorted(means)


def test_the_measurement_that_settles_the_place_comes_first():
    # The second may pass the leader only through its one open value; the leader's own open value decides nothing.
    low = np.array([[60.0, 60, 60], [50, 20, 60], [0, 0, 0]])
    high = np.array([[62.0, 60, 60], [50, 100, 60], [0, 0, 9]])
    first, *rest = measurements(low, high, WEIGHTS, [0])
    assert (first.alternative, first.criterion) == (1, 1)
    assert first.points == pytest.approx(24)
    assert (first.width_now, first.width_least, first.width_most) == (1, 0, 1)
    # The second reaches 60 points at a worth of 76.67 and 61 at 80: from there on it may lead, up to 100.
    assert first.settles == pytest.approx(1 - (80 - 76 - 2 / 3) / 80)
    assert all(entry.width_mean == 1 for entry in rest)
    assert measurements(low, low, WEIGHTS, [0]) == ()
    with pytest.raises(InputError, match="not on the list"):
        measurements(low, high, WEIGHTS, [3])
    with pytest.raises(InputError, match="not on the list"):
        measurements(low, high, WEIGHTS, [])


@given(
    st.integers(2, 5).flatmap(lambda m: intervals(m, 3)),
    st.lists(st.integers(1, 9), min_size=3, max_size=3),
    st.integers(0, 4),
    st.randoms(use_true_random=False),
)
@settings(max_examples=50, deadline=None)
def test_the_properties_a_score_must_have(table, raw, chosen, random):
    low, high = table[..., 0], table[..., 1]
    chosen %= len(low)
    weights = np.array(raw) / sum(raw)
    scores = accumulated(low, weights)
    # Adding, repeating, removing: to the last bit.
    longer = accumulated(np.vstack([low, low[chosen], 100 - low[0]]), weights)
    assert longer[: len(low)].tolist() == scores.tolist()
    assert longer[len(low)] == scores[chosen]
    assert accumulated(np.delete(low, chosen, axis=0), weights).tolist() == np.delete(scores, chosen).tolist()
    # Permuting alternatives permutes, permuting criteria changes nothing but rounding.
    rows = random.sample(range(len(low)), len(low))
    assert accumulated(low[rows], weights).tolist() == scores[rows].tolist()
    columns = random.sample(range(3), 3)
    assert accumulated(low[:, columns], weights[columns]) == pytest.approx(scores)
    # Only the ratios of the weights count.
    assert accumulated(low, normalised([7.5 * value for value in raw])) == pytest.approx(scores)
    # Improving one value never lowers a rank.
    better = low.copy()
    better[chosen, 1] = high[chosen, 1]
    assert competition_ranks(accumulated(better, weights))[chosen] <= competition_ranks(scores)[chosen]
    # Exact bounds enclose what lies between.
    middle = accumulated((low + high) / 2, weights)
    bounds = score_bounds(low, high, fixed(weights))
    assert np.all(bounds.low <= middle + 1e-9)
    assert np.all(middle <= bounds.high + 1e-9)


@given(levels, st.sampled_from(CURVES), st.sampled_from([1.8, 0.001, 1000.0]), st.sampled_from([0.0, 32.0, -273.15]))
def test_changing_the_unit_with_the_anchors_does_nothing(level, curve, factor, zero):
    moved = [(at * factor + zero, value) for at, value in curve]
    assert worth(level * factor + zero, moved) == pytest.approx(worth(level, curve), abs=1e-6)
