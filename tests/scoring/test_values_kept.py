"""Anchors that somebody stands up for, levels by order only, and one concern counted once."""

import itertools
from datetime import date

import numpy as np
import pytest

from selector.brief import Preference, dumps, from_raw, loads
from selector.catalogue import load
from selector.errors import InputError
from selector.scoring import order_only
from selector.scoring.admissible import anything, ordered
from selector.scoring.anchors import clipping, confirmed, draft_from_list, drafts, moved, stale
from selector.scoring.comparisons import better_for_all
from selector.scoring.counted_twice import limited_too, overlaps, rank_correlation
from selector.scoring.criteria import CRITERIA, Level
from selector.scoring.presets import check, presets, weighing
from selector.scoring.weighing import weigh
from selector.screening import screen

DAY, LATER = date(2026, 11, 2), date(2026, 11, 20)
COST = Preference(
    criterion="relative_cost",
    points=((0.4, 100), (1, 70), (2.5, 0)),
    swing=40,
    reason="a reason",
    author="buyer",
    set_on=DAY,
)
DROP = Preference(criterion="drop", points=((0, 0), (3, 100)), swing=100, reason="it falls", author="engineer")


def level(value, low=None, high=None):
    return Level(
        value, value if low is None else low, value if high is None else high, str(value), "some-paper", "high"
    )


def at(criterion, **fields):
    return Preference.model_validate(
        {**DROP.model_dump(), "criterion": criterion, "points": ((0, 0), (10, 100)), **fields}
    )


def test_moving_an_anchor_makes_the_weight_stale_until_somebody_confirms_it():
    wider = moved(COST, ((0.4, 100), (1, 70), (3, 0)), "silver rose", "buyer", LATER)
    assert (wider.swing_for, wider.set_on, wider.reason) == (COST.points, LATER, "silver rose")
    for before in ((COST, DROP), (wider, DROP)):  # the mark alone is enough
        (found,) = stale(before, (wider, DROP))
        assert found.criterion == "relative_cost"
        assert found.text == (
            "Metal cost per cm3: 40 swing points were given for the step 2.5 to 0.4; the anchors now make it 3 to 0.4"
        )
    # Moved again: the weight is still that of the first anchors; moved back, it fits again.
    again = moved(wider, ((0.4, 100), (1, 70), (4, 0)), "more", "buyer", LATER)
    assert again.swing_for == COST.points
    assert stale((), (moved(again, COST.points, "back", "buyer", LATER),)) == ()
    assert stale((COST,), (confirmed(wider, "buyer", LATER, 60),)) == ()
    assert confirmed(wider, "buyer", LATER, 60).swing == 60
    assert confirmed(wider, "team", LATER).swing == 40
    # Nobody signs another's words: author, day and reason stay, and who confirmed stands behind them.
    kept = confirmed(wider, "bob", LATER, 60, "asked the line")
    assert (kept.author, kept.set_on) == (wider.author, wider.set_on)
    assert kept.reason == (f"{wider.reason} (confirmed: weight 60 instead of 40 by bob on {LATER}: asked the line)")
    with pytest.raises(InputError, match="too long beside the earlier one"):
        confirmed(wider, "bob", LATER, reason="x" * 400)
    again = confirmed(kept, "eva", LATER)
    assert again.reason == f"{wider.reason} (confirmed: weight by eva on {LATER})"


def test_a_bare_edit_of_an_anchor_is_noticed_and_a_bent_curve_is_not_stale():
    bare = COST.model_copy(update={"points": ((0.5, 100.0), (2.5, 0.0))})
    assert [entry.criterion for entry in stale((COST,), (bare,))] == ["relative_cost"]
    bent = COST.model_copy(update={"points": ((0.4, 100.0), (1.2, 40.0), (2.5, 0.0))})
    assert stale((COST,), (bent,)) == ()
    assert stale((COST,), (bare.model_copy(update={"swing": 0.0}),)) == ()
    assert stale((), (bare,)) == ()


def test_a_draft_from_the_list_is_marked_and_the_mark_travels():
    levels = [level(3.0), level(1.0), Level(None, None, None, "unknown", "none", "none"), level(2.0)]
    draft = draft_from_list("relative_cost", levels, False, 50, "buyer", DAY)
    assert draft.points == ((1, 100), (3, 0))
    assert draft.draft
    assert "3 known levels" in draft.reason
    assert draft_from_list("tensile_mpa", levels, True, 50, "b", DAY).points == ((1, 0), (3, 100))
    assert drafts((draft, DROP)) == ("Metal cost per cm3: the anchors 3 to 1 are a draft taken from the list",)
    assert drafts((draft.model_copy(update={"swing": 0.0}),)) == ()
    brief = from_raw({"title": "t", "preferences": [draft.model_dump(), DROP.model_dump()]})
    assert loads(dumps(brief)) == brief
    assert [entry.draft for entry in weighing(brief).preferences] == [True, False]
    assert not moved(draft, ((1, 100), (2, 0)), "a promise to the customer", "buyer", DAY).draft
    with pytest.raises(InputError, match="offers no anchors"):
        draft_from_list("relative_cost", levels[1:3], False, 50, "buyer", DAY)


def test_what_lies_beyond_the_anchors_is_counted():
    rows = [
        [level(0.3), level(1)],
        [level(2.6), level(2)],
        [level(1.0, 0.3, 1.1), level(3)],
        [level(2.5), Level(None, None, None, "unknown", "none", "none")],
    ]
    cost, drop = clipping((COST, DROP), rows)
    assert (cost.below, cost.above, cost.partly, cost.known) == (1, 1, 1, 4)
    assert cost.text == (
        "Metal cost per cm3: of 4 alloys 1 below the lowest anchor, 1 above the highest anchor,"
        " 1 with an interval that reaches beyond"
    )
    assert (drop.known, drop.text) == (3, "")


# Order only

LEVELS = [(0, 0), (1, 1), (1, 1), (1, 2), (3, 3), None, (2, 3), (0, 1), (5, 5)]
RISING, FALLING = ((0.0, 0.0), (3.0, 100.0)), ((0.0, 100.0), (3.0, 0.0))


@pytest.mark.parametrize("points", [RISING, FALLING])
def test_order_only_bounds_are_those_of_every_placing(points):
    # Every way of placing the two middle levels, in steps of 25, ends as they are; beyond the ends nothing changes.
    rising = points[0][1] == 0
    placings = []
    for one, two in itertools.combinations_with_replacement(range(0, 101, 25), 2):
        worths = [0, one, two, 100]
        placings.append(worths if rising else [100 - one for one in worths])
    ways = []
    for worths in placings:
        choices = [range(4) if span is None else range(min(span[0], 3), min(span[1], 3) + 1) for span in LEVELS]
        for chosen in itertools.product(*choices):
            ways.append([worths[level] for level in chosen])
    ways = np.array(ways, dtype=float)
    for index, span in enumerate(LEVELS):
        if span is not None:
            assert order_only.bounds(*span, points) == (ways[:, index].min(), ways[:, index].max())
    found = order_only.gaps(LEVELS, points)
    differences = ways[:, :, None] - ways[:, None, :]
    assert found.low.tolist() == differences.min(axis=0).tolist()
    assert found.high.tolist() == differences.max(axis=0).tolist()


def test_an_alloy_with_the_better_level_never_loses_by_it():
    # Levels 2 and 1 of 0 to 3: bounds alone let either win, the order does not.
    low, high = np.array([[50.0, 0], [50, 0]]), np.array([[50.0, 100], [50, 100]])
    gaps = order_only.gaps([(2, 2), (1, 1)], RISING)
    assert not better_for_all(low, high, anything(2)).necessary.any()
    found = better_for_all(low, high, anything(2), {1: gaps})
    assert found.necessary.tolist() == [[False, True], [False, False]]
    assert found.possible.tolist() == [[False, True], [False, False]]
    # Against 10 points on the heavier criterion the better level may still win, and need not.
    ten = np.array([[0, 0], [10, 0]])
    low, high = low + ten, high + ten
    found = better_for_all(low, high, ordered([(0,), (1,)]), {1: gaps})
    assert not found.necessary.any()
    assert found.possible.tolist() == [[False, True], [True, False]]


def test_order_only_through_the_whole_weighing():
    raw = {**DROP.model_dump(), "order_only": True}
    brief = from_raw({"title": "t", "preferences": [raw]})
    rows = [screen(brief, load(), alloy) for alloy in load().listed()]
    found = weigh(brief, rows, weighing(brief))
    levels = [row[0].value for row in found.levels]
    for place, value in enumerate(levels):
        low, high, central = found.low[place, 0], found.high[place, 0], found.central[place, 0]
        assert np.isnan(central) or central == low == high
        if value in (1, 2):
            assert (low, high) == (0, 100)
    assert {0.0, 3.0} & set(levels)


def test_order_only_asks_for_named_levels_without_a_peak():
    for entry in (at("tensile_mpa", order_only=True), at("drop", points=((0, 0), (1, 100), (3, 0)), order_only=True)):
        with pytest.raises(InputError, match="has no order to go by"):
            check((entry,))
    check((at("drop", order_only=True),))
    with pytest.raises(InputError, match="have a peak"):
        order_only.ends(((0, 0), (1, 100), (3, 0)))


# Counted twice


def test_identities_shared_figures_and_near_twins_are_named():
    names = ("process_headroom_k", "pasty_range_k", "service_headroom_k", "tensile_mpa", "elongation_percent")
    preferences = [at(name) for name in names]
    values = np.array(
        [
            [1, 9, 2, 10, 50],
            [2, 7, 1, 20, 40],
            [3, 8, 5, 30, 30],
            [4, 1, 4, 40, 20],
            [5, 2, 3, 50, 10],
            [6, 3, 9, 60, np.nan],
        ]
    )
    found = overlaps(preferences, values)
    assert [entry.kind for entry in found] == ["identity", "shared figure", "shared figure", *["nearly one"] * 3]
    assert set(found[0].criteria) == set(names[:3])
    assert found[1].criteria == names[:2]
    assert "the liquidus" in found[1].text
    # Headroom and strength rise together; strength and elongation run against each other: both say one thing.
    assert [(entry.criteria, round(entry.correlation, 9)) for entry in found[3:]] == [
        (("process_headroom_k", "tensile_mpa"), 1.0),
        (("process_headroom_k", "elongation_percent"), -1.0),
        (("tensile_mpa", "elongation_percent"), -1.0),
    ]


def test_criteria_without_weight_and_short_lists_are_not_named():
    preferences = [at("tensile_mpa"), at("elongation_percent")]
    values = np.array([[k, 2.0 * k] for k in range(5)])
    assert len(overlaps(preferences, values)) == 1
    assert overlaps(preferences, values[:4]) == ()
    assert overlaps([preferences[0], at("elongation_percent", swing=0.0)], values) == ()
    assert overlaps(preferences, values, threshold=1.0) == ()
    assert overlaps(preferences, np.array([[k, 1.0] for k in range(9)])) == ()


def test_rank_correlation_with_ties_by_hand():
    # Ranks 1.5, 1.5, 3, 4 against 1, 2, 3, 4: covariance 4.5, variances 4.5 and 5.
    assert rank_correlation(np.array([1, 1, 2, 3.0]), np.array([5, 6, 7, 8.0])) == pytest.approx(4.5 / np.sqrt(22.5))
    assert rank_correlation(np.array([1, 1.0]), np.array([1, 2.0])) is None


def test_a_limit_that_is_preferred_too_needs_a_reason():
    brief = from_raw({"title": "t"})
    entries = (
        at("process_headroom_k"),
        at("wetting"),
        at("service_headroom_k", limit_reason="life runs on with margin"),
    )
    first, second = limited_too(entries, brief)
    assert (first.criterion, first.rule, first.reason) == ("process_headroom_k", "process_peak", "")
    assert "nobody has said why" in first.text
    assert second.text.endswith("because life runs on with margin")
    assert limited_too((at("supply_risk_wt"),), brief) == ()
    banned = from_raw({"title": "t", "bans": [{"element": "Bi", "limit_ppm": 100, "reason": "r"}]})
    assert limited_too((at("supply_risk_wt"), at("drop", swing=0.0)), banned)[0].rule == "customer_ban"


@pytest.mark.parametrize("preset", presets(), ids=lambda preset: preset.id)
def test_every_preset_says_why_it_prefers_what_is_limited_too(preset):
    entries = tuple(
        Preference(**entry.model_dump(), author=preset.author, set_on=preset.set_on) for entry in preset.preference
    )
    banned = from_raw({"title": "t", "bans": [{"element": "Bi", "limit_ppm": 100, "reason": "r"}]})
    found = limited_too(entries, banned)
    assert {entry.criterion for entry in found} == {"process_headroom_k", "thermal_cycling", "supply_risk_wt"}
    assert all(entry.reason for entry in found)


def test_the_grade_of_evidence_is_no_criterion():
    assert not [name for name in CRITERIA if "grade" in name or "evidence" in name]
    with pytest.raises(InputError, match="its interval already carries it"):
        check((at("evidence_grade"),))
