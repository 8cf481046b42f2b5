"""How sure an order is, on decisions small enough to check by hand and on the shipped briefs."""

import itertools

import numpy as np
import pytest

from selector.brief import read, shipped
from selector.catalogue import load
from selector.decision import decide
from selector.errors import InputError
from selector.robustness import KNOWN, groups_of, narrowing, region_of, robustness, table
from selector.scoring.acceptability import standard_error
from selector.scoring.criteria import CRITERIA
from selector.scoring.ranking import accumulated
from selector.scoring.values import worth, worth_bounds

NAMES = ("motor-drive", "skin-patch")


def grid(n, steps):
    cuts = itertools.combinations(range(steps + n - 1), n - 1)
    return np.array([np.diff([-1, *cut, steps + n - 1]) - 1 for cut in cuts]) / steps


@pytest.fixture(scope="module")
def decisions():
    return {name: decide(read(shipped(name)), load()) for name in NAMES}


@pytest.fixture(scope="module")
def findings(decisions):
    return {(name, known): robustness(decisions[name], known, 4_096) for name in NAMES for known in KNOWN}


# ---- by hand ----


def test_the_table_is_that_of_the_example(three):
    low, high, weights = table(three)
    assert low.tolist() == [[100, 30, 0], pytest.approx([45, 30, 45]), [0, 60, 100]]
    assert high.tolist() == low.tolist()
    assert weights == pytest.approx([0.5, 0.3, 0.2])
    assert [entry.alloy.id for entry in three.admitted] == ["A", "B", "C"]
    assert [entry.score_low for entry in three.admitted] == pytest.approx([59, 40.5, 38])


def test_bands_by_hand(three):
    first, second, third = robustness(three).bands
    # Lead over C at weight t: 158 t - 58; 300/7 - 510/7 t; 51.25 - 151.25 t.
    assert (first.low, first.high, first.below, first.above) == (pytest.approx(58 / 158), 1, "C", "")
    assert (second.low, second.high, second.below, second.above) == (0, pytest.approx(10 / 17), "", "C")
    assert (third.low, third.high, third.above) == (0, pytest.approx(41 / 121), "C")


def test_who_can_lead_by_hand(three):
    found = {entry.alloy: entry for entry in robustness(three, "nothing").contenders}
    # All weight on headroom, 55 over B; on cost, 55 over B; half and half, 5 short of either.
    assert (found["A"].lead, found["A"].nearest) == (pytest.approx(55), "B")
    assert found["C"].lead == pytest.approx(55)
    assert found["B"].lead == pytest.approx(-5)
    assert [entry.can_lead for entry in found.values()] == [True, False, True]
    # No rival alone beats B always, so comparing pairs would leave the first place open.
    assert (found["B"].best, found["B"].worst) == (2, 3)


def test_the_smallest_changes_by_hand(three):
    weights, value, anchor = robustness(three).overturns
    assert (weights.kind, weights.rival, weights.size) == ("weights", "C", pytest.approx(21 / 200))
    assert weights.text == "Process headroom 50.0 -> 39.5 %; Metal cost per cm3 20.0 -> 30.5 %"
    assert (value.kind, value.rival, value.size) == ("value", "B", pytest.approx(37))
    assert value.text == "Process headroom of A: worth 100.0 -> 63.0, as 20 -> 12.6 K"
    # The upper anchor lowered to x leaves A at 100 and raises B to 900 / x: 50 - 9 = 450 / x.
    assert (anchor.kind, anchor.rival, anchor.size) == ("anchor", "B", pytest.approx(20 - 450 / 41))
    assert anchor.text == "anchor 2 of Process headroom: 20 -> 10.98 K"


def test_what_a_measurement_settles_by_hand(open_three):
    # Scores 59; 31.5 to 51.5; 29 to 50. A is first whatever; B and C are open between second and third.
    found = robustness(open_three, "stated")
    assert [(entry.alloy, entry.best, entry.worst) for entry in found.contenders] == [
        ("A", 1, 1),
        ("B", 2, 3),
        ("C", 2, 3),
    ]
    assert found.measurements == ()
    best, other = narrowing(open_three, open_three.admitted[1])
    assert {(entry.alloy, entry.criterion) for entry in (best, other)} == {("B", "relative_cost"), ("C", "drop")}
    # B's cost worth x: 31.5 + 0.2 x against 29 to 50: below 29 never, above 50 for x > 92.5.
    cost = next(entry for entry in (best, other) if entry.alloy == "B")
    assert (cost.now, cost.places_now, cost.open_points) == ("unknown", 1, pytest.approx(20))
    assert (cost.places_mean, cost.settles) == (pytest.approx(0.925), pytest.approx(0.075))
    # C's drop worth x, 30 to 100: 20 + 0.3 x against 31.5 to 51.5: settled below 38.33.
    drop = next(entry for entry in (best, other) if entry.alloy == "C")
    assert drop.settles == pytest.approx((11.5 / 0.3 - 30) / 70)
    assert best is drop


@pytest.mark.parametrize(
    ("known", "share"), [("nothing", 5 / 13), ("order", 97 / 99), ("stated", 1.0)], ids=["nothing", "order", "stated"]
)
def test_drawn_shares_lie_within_four_standard_errors_of_the_areas(three, known, share):
    found = robustness(three, known, 20_000, seed=3)
    first = found.chances.first
    assert abs(first[0] - share) <= 4 * standard_error(share, 20_000)
    assert first[1] == 0
    assert first[2] == pytest.approx(1 - first[0])


def test_drawn_data_lie_within_four_standard_errors_of_the_exact(open_three):
    # B above C where 31.5 + 20 u > 29 + 21 v, u and v uniform: 1 - a triangle of v from 2.5/21 to 1.
    share = 1 - (18.5 / 21) * (18.5 / 20) / 2
    found = robustness(open_three, "stated", 20_000, seed=5)
    assert abs(found.chances.shares[1, 1] - share) <= 4 * standard_error(share, 20_000)
    assert found.chances.first.tolist() == [1, 0, 0]


def test_one_alternative_and_one_criterion(decision_of):
    headroom = ("process_headroom_k", ((0.0, 0.0), (20.0, 100.0)), 100.0)
    alone = robustness(decision_of({"A": (5.0,)}, [headroom]))
    assert (alone.overturns, alone.measurements) == ((), ())
    assert alone.contenders[0].nearest == ""
    assert alone.chances.first.tolist() == [1]
    two = robustness(decision_of({"A": (5.0,), "B": (15.0,)}, [headroom]))
    assert two.leader == "B"
    # It has all the weight, and there is nothing to give it to.
    assert [(band.low, band.high, band.below, band.above) for band in two.bands] == [(1, 1, "", "")]
    assert [entry.kind for entry in two.overturns] == ["value", "anchor"]


def test_equal_weights_share_a_group():
    assert groups_of(np.array([0.2, 0.3, 0.2, 0.3])) == [[1, 3], [0, 2]]
    region = region_of("order", np.array([0.2, 0.3, 0.2, 0.3]), ())
    assert region.contains([0, 0.9, 0.0, 0.1])
    assert not region.contains([0.4, 0.3, 0.0, 0.3])


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"knowledge": "some"}, "stated, quarter, order, nothing"),
        ({"draws": 0}, "draws"),
        ({"seed": -1}, "seed"),
    ],
)
def test_what_cannot_be_asked_is_refused(three, arguments, words):
    with pytest.raises(InputError, match=words):
        robustness(three, **arguments)


def test_nothing_admitted_gives_no_answer():
    decision = decide(read(shipped("river-logger")), load())
    assert robustness(decision) is None
    assert narrowing(decision, decision.ruled_out[0]) == ()
    with pytest.raises(InputError, match="not one of these"):
        robustness(decision, "some")


# ---- on the shipped briefs ----


@pytest.mark.parametrize("name", NAMES)
def test_what_is_said_to_bring_a_rival_level_does(name, decisions, findings):
    decision, found = decisions[name], findings[name, "order"]
    low, _, weights = table(decision)
    names = [entry.alloy.id for entry in decision.admitted]
    titles = {CRITERIA[share.criterion].title: j for j, share in enumerate(decision.admitted[0].shares)}
    assert {"weights", "value"} <= {entry.kind for entry in found.overturns}
    for entry in found.overturns:
        rival, changed, then = names.index(entry.rival), low.copy(), weights.copy()
        if entry.kind == "weights":
            for part in entry.text.split("; "):
                title, told = part.split(" -> ")[0].rsplit(" ", 1), part.split(" -> ")[1]
                assert weights[titles[title[0]]] == pytest.approx(float(title[1]) / 100, abs=6e-4)
                then[titles[title[0]]] = float(told.removesuffix(" %")) / 100
            assert np.abs(then - weights).sum() / 2 == pytest.approx(entry.size, abs=2e-3)
        elif entry.kind == "value":
            where, told = entry.text.split(": worth ")
            title, alloy = where.split(" of ")
            j, i = titles[title], names.index(alloy)
            was, now = told.split(",")[0].split(" -> ")
            assert low[i, j] == pytest.approx(float(was), abs=0.05)
            changed[i, j] = float(now)
            assert abs(changed[i, j] - low[i, j]) == pytest.approx(entry.size, abs=0.1)
        else:
            ahead, told = entry.text.removeprefix("anchor ").split(": ")
            place, title = ahead.split(" of ")
            j = titles[title]
            share = decision.admitted[0].shares[j]
            points = [list(point) for point in decision.weighing.points_of(share.criterion)]
            points[int(place) - 1][0] = float(told.split(" -> ")[1].split()[0])
            for i, row in enumerate(decision.admitted):
                level = row.shares[j].level
                if level.low is not None:
                    changed[i, j] = worth_bounds(level.low, level.high, points)[0]
        after = accumulated(changed, then)
        # The text rounds, so level means level to what it shows.
        assert after[rival] == pytest.approx(after[0], abs=0.15)
        assert after[rival] >= after.max() - 0.15


def test_a_changed_level_has_the_worth_that_brings_level(decision_of):
    headroom = ("process_headroom_k", ((0.0, 0.0), (10.0, 70.0), (20.0, 100.0)), 40.0)
    pasty = ("pasty_range_k", ((0.0, 100.0), (5.0, 90.0), (25.0, 0.0)), 60.0)
    decision = decision_of({"A": (10.0, (3.0, 5.0)), "B": (20.0, (5.0, 15.0))}, [headroom, pasty])
    value = next(entry for entry in robustness(decision).overturns if entry.kind == "value")
    # 82 against 67; 15 points are 25 of worth: A's pasty range counts by its worst end, 5 K, 90 -> 65.
    assert value.text == "Pasty range of A: worth 90.0 -> 65.0, as 5 -> 10.56 K"
    assert worth(10.5556, pasty[1]) == pytest.approx(65, abs=1e-3)


@pytest.mark.parametrize("name", NAMES)
def test_bands_agree_with_brute_force(name, decisions, findings):
    low, _, weights = table(decisions[name])
    names = [entry.alloy.id for entry in decisions[name].admitted]
    for j, band in enumerate(findings[name, "order"].bands):
        for t in np.linspace(0, 1, 201):
            then = weights * (1 - t) / (1 - weights[j])
            then[j] = t
            scores = accumulated(low, then)
            inside = band.low <= t <= band.high
            if min(abs(t - band.low), abs(t - band.high)) > 1e-9:
                assert (scores[0] >= scores.max() - 1e-9) is np.bool_(inside), (band, t)
        for end, beyond, rival in ((band.low, -1e-6, band.below), (band.high, 1e-6, band.above)):
            if rival:
                then = weights * (1 - end - beyond) / (1 - weights[j])
                then[j] = end + beyond
                assert names[int(np.argmax(accumulated(low, then)))] == rival


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("known", KNOWN)
def test_places_and_leads_enclose_every_draw(name, known, decisions, findings):
    low, high, weights = table(decisions[name])
    found = findings[name, known]
    from selector.scoring.samplers import sampler

    drawn = sampler(region_of(known, weights, ())).draws(300, 11)
    random = np.random.default_rng(11)
    # Ends as well as middles: the corners are where places are extreme.
    spots = np.concatenate([random.random((150, *low.shape)), random.integers(0, 2, (150, *low.shape))])
    for w, u in zip(drawn, spots, strict=True):
        scores = (low + u * (high - low)) @ w
        ranks = 1 + (scores[None, :] > scores[:, None] + 1e-9).sum(axis=1)
        plain = low @ w
        for i, entry in enumerate(found.contenders):
            assert entry.best <= ranks[i] <= entry.worst
            assert plain[i] - np.delete(plain, i).max() <= entry.lead + 1e-7
            assert scores[i] - np.delete(scores, i).max() <= entry.lead_at_best + 1e-7
            behind = [k for k, other in enumerate(found.contenders) if other.alloy in entry.never_above]
            assert all(scores[i] >= scores[k] - 1e-9 for k in behind)
    places = found.chances.shares
    for i, entry in enumerate(found.contenders):
        assert places[i, : entry.best - 1].sum() == places[i, entry.worst :].sum() == 0
        assert entry.can_lead_at_best or places[i, 0] == 0


@pytest.mark.parametrize("name", NAMES)
def test_weights_as_stated_give_the_order_and_places_of_the_decision(name, decisions, findings):
    rows, found = decisions[name].admitted, findings[name, "stated"]
    assert [entry.alloy for entry in found.contenders] == [row.alloy.id for row in rows]
    assert [(entry.best, entry.worst) for entry in found.contenders] == [(r.rank_best, r.rank_worst) for r in rows]
    assert [entry.alloy for entry in found.contenders if entry.can_lead] == [found.leader]
    low, _, weights = table(decisions[name])
    scores = accumulated(low, weights)
    leads = [scores[i] - np.delete(scores, i).max() for i in range(len(rows))]
    assert [entry.lead for entry in found.contenders] == pytest.approx(leads, abs=1e-6)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    ("more", "less"), [("stated", "quarter"), ("stated", "order"), ("quarter", "nothing"), ("order", "nothing")]
)
def test_knowing_more_never_lets_more_lead(name, more, less, findings):
    for one, other in zip(findings[name, more].contenders, findings[name, less].contenders, strict=True):
        assert one.lead <= other.lead + 1e-6
        assert one.lead_at_best <= other.lead_at_best + 1e-6
        assert other.best <= one.best <= one.worst <= other.worst
        assert set(other.never_above) <= set(one.never_above)


def test_the_same_seed_gives_the_same_draws_and_another_others(three):
    one, again, other = (robustness(three, "nothing", 2_048, seed) for seed in (4, 4, 5))
    assert one.chances.shares.tolist() == again.chances.shares.tolist() != other.chances.shares.tolist()


@pytest.mark.parametrize("name", NAMES)
def test_measurements_name_open_figures_and_come_best_first(name, decisions, findings):
    decision, found = decisions[name], findings[name, "order"].measurements
    assert found
    means = [entry.places_mean for entry in found]
    assert means == sorted(means)
    rows = {entry.alloy.id: entry for entry in decision.admitted}
    for entry in found:
        share = next(s for s in rows[entry.alloy].shares if s.criterion == entry.criterion)
        assert share.worth_high > share.worth_low
        assert entry.open_points == pytest.approx(share.weight * (share.worth_high - share.worth_low))
        assert entry.places_mean < entry.places_now
    assert found == narrowing(decision, decision.admitted[0])
