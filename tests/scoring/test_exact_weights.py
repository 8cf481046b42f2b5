"""Exact answers about weights, each against a brute-force oracle: support, stability, optimality, nearest weights."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.errors import InputError
from selector.scoring.admissible import Ratio, anything, around, both, bounded, fixed, ordered, ratios
from selector.scoring.dethroning import nearest_change, weight_changes
from selector.scoring.optimality import optimality
from selector.scoring.ranking import accumulated
from selector.scoring.stability import stability
from selector.scoring.support import greatest, least

SMALL = np.array([[90.0, 20, 70], [50, 90, 40], [30, 60, 95], [70, 50, 50]])
WEIGHTS = np.array([0.5, 0.3, 0.2])
REGIONS = {
    "anything": anything(3),
    "ordered": ordered([(1,), (0,), (2,)]),
    "ordered in groups": ordered([(1,), (0, 2)]),
    "ordered, tie first": ordered([(0, 2), (1,)]),
    "bounded": bounded([0.1, 0, 0.2], [0.5, 0.4, 0.9]),
    "around": around([2, 1, 1], 0.3),
    "fixed": fixed([2, 1, 1]),
    "ratios": ratios(3, [Ratio(0, 1, 0.5, 2), Ratio(1, 2, 1, np.inf)]),
    "mixed": both(ordered([(0,), (1,), (2,)]), bounded([0, 0.1, 0.1], [0.7, 1, 1])),
}


def grid(n, steps):
    """Every weight vector whose entries are multiples of 1/steps."""
    cuts = itertools.combinations(range(steps + n - 1), n - 1)
    return np.array([np.diff([-1, *cut, steps + n - 1]) - 1 for cut in cuts]) / steps


GRID = grid(3, 120)


def inside(region):
    return GRID[[region.contains(w) for w in GRID]]


def worths(m, n):
    cell = st.integers(0, 20).map(lambda k: 5.0 * k)
    return st.lists(st.lists(cell, min_size=n, max_size=n), min_size=m, max_size=m).map(np.array)


tables = st.integers(2, 6).flatmap(lambda m: worths(m, 3))
raw_weights = st.lists(st.integers(1, 9), min_size=3, max_size=3).map(lambda w: np.array(w) / sum(w))


@pytest.mark.parametrize("name", REGIONS)
def test_the_greatest_weighted_sum_is_what_a_grid_of_weights_comes_to(name):
    region = REGIONS[name]
    d = np.array([[3.0, -1, 2], [0, 0, 0], [-5, 4, 4], [1, 2, -3], [7, 7, -20]])
    top, bottom = greatest(region, d), least(region, d)
    for found, sign in ((top, 1), (bottom, -1)):
        assert found.value == pytest.approx((found.weights * d).sum(axis=1), abs=1e-9)
        assert all(region.contains(w, 1e-7) for w in found.weights)
        points = inside(region)
        if len(points):
            brute = sign * np.max(sign * (points @ d.T), axis=0)
            assert np.all(sign * (found.value - brute) >= -1e-7)
            assert found.value == pytest.approx(brute, abs=27 / 120 + 1e-9)


@given(st.lists(st.integers(-9, 9), min_size=4, max_size=4), st.permutations(range(4)), st.integers(0, 3))
@settings(max_examples=60, deadline=None)
def test_closed_forms_agree_with_the_linear_program(d, permuted, cut):
    groups = [tuple(permuted[: cut + 1])] + [(index,) for index in permuted[cut + 1 :]]
    order = ordered(groups)
    box = bounded([0.05, 0.1, 0, 0], [0.5, 0.6, 0.3, 0.9])
    # A row that never binds sends the same region through the program.
    idle = ratios(4, [Ratio(0, 1, 0, 1e6)])
    line = np.array([d], dtype=float)
    assert greatest(order, line).value == pytest.approx(greatest(both(order, anything(4)), line).value, abs=1e-7)
    assert greatest(box, line).value == pytest.approx(greatest(both(box, idle), line).value, abs=1e-7)


def test_support_refuses_what_does_not_fit():
    for wrong in (np.array([[1.0, 2]]), np.array([1.0, 2, 3]), np.array([[1, 2, np.nan]])):
        with pytest.raises(InputError, match="cannot be used"):
            greatest(anything(3), wrong)


@given(tables, raw_weights)
@settings(max_examples=80, deadline=None)
def test_a_stability_interval_is_where_a_scan_of_weights_keeps_the_leader(table, weights):
    scores = accumulated(table, weights)
    leader = int(np.argmax(scores))
    found = stability(table, weights, leader)
    for j in range(3):
        for t in np.linspace(0, 1, 41):
            moved = weights * (1 - t) / (1 - weights[j])
            moved[j] = t
            lead = (table[leader] - table) @ moved
            room = min(t - found.lower[j], found.upper[j] - t)
            if lead.min() > 1e-9:
                assert room >= -1e-9
            if room > 1e-9:
                assert lead.min() >= -1e-7
    assert np.all(found.lower <= weights + 1e-12)
    assert np.all(found.upper >= weights - 1e-12)


def test_stability_names_who_takes_over_and_takes_worst_data_into_account():
    found = stability(SMALL, WEIGHTS, 0)
    assert found.below.tolist() == [1, -1, 1]
    assert found.above.tolist() == [-1, 1, 2]
    # Rivals at upper bounds 5 points higher narrow the intervals.
    wide = stability(SMALL, WEIGHTS, 0, SMALL + 2)
    assert np.all(wide.lower >= found.lower)
    assert np.all(wide.upper <= found.upper)
    assert wide.upper[1] < found.upper[1]


def test_stability_of_one_who_never_leads_or_of_a_lone_weight_is_not_a_number():
    beaten = np.array([[10.0, 10, 10], [20, 20, 20]])
    assert np.isnan(stability(beaten, WEIGHTS, 0).lower).all()
    lone = stability(SMALL, [1, 0, 0], 0)
    assert np.isnan(lone.lower[0])
    assert np.isnan(lone.upper[0])
    # The rest at 0 may grow until the first rival draws level: 90 - 70 t = 50 + 40 t.
    assert lone.upper[1] == pytest.approx(40 / 110)
    # A rival that leads now loses again once the first weight is large enough.
    comeback = stability(SMALL, WEIGHTS, 2)
    assert comeback.lower[2] > WEIGHTS[2]


def test_stability_refuses_all_faults_at_once():
    with pytest.raises(InputError) as caught:
        stability(np.array([[1.0, np.nan]]), [0.5, 0.6], 3)
    assert len(caught.value.faults) == 3


@pytest.mark.parametrize("name", REGIONS)
def test_the_best_lead_is_what_a_grid_of_weights_comes_to(name):
    region = REGIONS[name]
    found = optimality(SMALL, region)
    points = inside(region)
    for i in range(4):
        others = np.delete(SMALL, i, axis=0)
        assert region.contains(found.weights[i], 1e-7)
        assert found.lead[i] == pytest.approx(((SMALL[i] - others) @ found.weights[i]).min(), abs=1e-7)
        if len(points):
            brute = ((SMALL[i] - others) @ points.T).min(axis=0).max()
            assert brute - 1e-6 <= found.lead[i] <= brute + 1.5
    assert found.can_lead.tolist() == (found.lead >= -1e-7).tolist()


def test_the_long_list_with_rivals_added_as_needed_comes_to_the_same(monkeypatch):
    rng = np.random.default_rng(7)
    table = rng.uniform(0, 100, (80, 6))
    table[3] = table[5]
    for region in (anything(6), both(ordered([(5,), (0, 1, 2, 3, 4)]), bounded([0] * 6, [0.5] * 6))):
        whole = optimality(table, region)
        monkeypatch.setattr("selector.scoring.optimality.SHORT_LIST", 0)
        lazily = optimality(table, region)
        monkeypatch.undo()
        assert lazily.lead == pytest.approx(whole.lead, abs=1e-6)
        assert abs(whole.lead[3]) < 1e-7 or whole.lead[3] < 0  # a twin never leads alone


def test_one_alternative_has_no_rival_and_interval_data_ask_two_questions():
    alone = optimality(SMALL[:1], anything(3))
    assert np.isinf(alone.lead[0])
    assert alone.rival[0] == -1
    low, high = SMALL - 10, np.minimum(SMALL + 10, 100)
    may, must = optimality(high, anything(3), rivals=low), optimality(low, anything(3), rivals=high)
    exact = optimality(SMALL, anything(3))
    assert np.all(may.lead >= exact.lead)
    assert np.all(must.lead <= exact.lead)
    assert optimality(SMALL, anything(3), rows=np.array([2])).lead == pytest.approx([exact.lead[2]])


@pytest.mark.parametrize(
    "call",
    [
        lambda: optimality(SMALL, anything(2)),
        lambda: optimality(np.full((2, 3), np.nan), anything(3)),
        lambda: optimality(SMALL, anything(3), rivals=SMALL[:2]),
        lambda: optimality(np.zeros((0, 3)), anything(3)),
    ],
)
def test_optimality_refuses_tables_that_do_not_fit(call):
    with pytest.raises(InputError):
        call()


def by_hand(d, w):
    """Return the least weight that changes hands on the whole simplex: from the worst entries of d to the best."""
    short, total = -float(d @ w), 0.0
    for j in np.argsort(d):
        rise = d.max() - d[j]
        if short <= 0 or rise <= 0:
            break
        moved = min(w[j], short / rise)
        total += moved
        short -= moved * rise
    return total if short <= 1e-9 else np.inf


@given(tables, raw_weights)
@settings(max_examples=60, deadline=None)
def test_the_nearest_weights_agree_with_pouring_weight_by_hand(table, weights):
    leader = int(np.argmax(accumulated(table, weights)))
    found = weight_changes(table, weights, leader, anything(3))
    expected = {k: by_hand(table[k] - table[leader], weights) for k in range(len(table)) if k != leader}
    assert {change.rival for change in found} >= {k for k, size in expected.items() if np.isfinite(size)}
    for change in found:
        assert change.size == pytest.approx(expected[change.rival], abs=1e-7)
        assert (table[change.rival] - table[leader]) @ change.weights == pytest.approx(
            max(0.0, (table[change.rival] - table[leader]) @ weights), abs=1e-6
        )
    assert [change.size for change in found] == sorted(change.size for change in found)


@pytest.mark.parametrize("name", REGIONS)
@settings(max_examples=15)
@given(table=tables, weights=raw_weights)
def test_the_nearest_of_all_rivals_is_found_without_asking_all(name, table, weights):
    leader = int(np.argmax(accumulated(table, weights)))
    all_of_them = weight_changes(table, weights, leader, REGIONS[name])
    found = nearest_change(table, weights, leader, REGIONS[name])
    assert (found is None) == (not all_of_them)
    if found is not None:
        assert found.size == pytest.approx(all_of_them[0].size, abs=1e-9)


def test_a_rival_that_cannot_be_nearer_costs_no_linear_program(monkeypatch):
    from selector.scoring import dethroning

    asked, solve = [], dethroning._nearest
    monkeypatch.setattr(dethroning, "_nearest", lambda d, w, r, norm, k: asked.append(k) or solve(d, w, r, norm, k))
    # B is one point behind and far apart in both; C is fifty behind and differs little.
    table = np.array([[90.0, 50, 50], [40, 98, 50], [40, 1, 0]])
    assert nearest_change(table, np.array([0.5, 0.5, 0.0]), 0, anything(3)).rival == 1
    assert asked == [1]


def test_the_nearest_weights_by_largest_change_and_within_a_region():
    (first, *_) = weight_changes(SMALL, WEIGHTS, 0, anything(3), "largest")
    gaps = (SMALL[first.rival] - SMALL[0]) @ GRID.T
    sizes = np.abs(GRID - WEIGHTS).max(axis=1)
    assert first.size <= sizes[gaps >= 0].min() + 1e-9
    assert first.size == pytest.approx(sizes[gaps >= 0].min(), abs=1 / 120)
    assert np.abs(first.weights - WEIGHTS).max() == pytest.approx(first.size)
    near = around(WEIGHTS, 0.05)
    assert weight_changes(SMALL, WEIGHTS, 0, near) == ()
    kept = both(ordered([(0,), (1,), (2,)]), bounded([0, 0, 0.2], [1, 1, 1]))
    for change in weight_changes(SMALL, WEIGHTS, 0, kept):
        assert kept.contains(change.weights, 1e-7)
        assert change.size >= weight_changes(SMALL, WEIGHTS, 0, anything(3))[0].size - 1e-9


def test_only_a_leader_can_be_dethroned():
    with pytest.raises(InputError, match="does not lead"):
        weight_changes(SMALL, WEIGHTS, 3, anything(3))
