"""A meeting over the worked example: what all agree on, letters, freezing and lifting, and what a mark holds fast."""

import dataclasses
from datetime import UTC, date, datetime

import numpy as np
import pytest

from selector.brief import from_raw
from selector.errors import InputError
from selector.meeting import Agenda, Event, criteria_of, fingerprint, hold, settle, weighed_by
from selector.record.meeting_words import (
    agreed_lines,
    concordance_line,
    moving_lines,
    order_rows,
    plain,
    sentence,
    state,
    voice_rows,
    weight_rows,
)
from selector.scoring.weights.answers import from_raw as answers_from

AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
CRITERIA = ("process_headroom_k", "drop", "relative_cost")
OPEN = Agenda("A choice", 7, False, {})
BLIND = Agenda("A choice", 7, True, {})


def direct(author, *weights, reason="said aloud"):
    raw = {"kind": "direct", "author": author, "date": date(2026, 11, 2), "reason": reason}
    return answers_from({**raw, "direct": dict(zip(CRITERIA, weights, strict=True))}, CRITERIA)


@pytest.fixture(scope="module")
def two():
    return {"one": direct("one", 50, 30, 20), "other": direct("other", 40, 40, 20)}


@pytest.fixture(scope="module")
def decision(three):
    # The criteria of a decision are those that its brief's own preferences or a preset weighs.
    assert criteria_of(three) == CRITERIA
    return three


def frozen(meeting, **changes):
    event = settle(meeting, "frozen", "chair", AT)
    return dataclasses.replace(meeting.agenda, events=(event,), **changes)


# ---- by hand ----


def test_two_members_by_hand(decision, two):
    found = hold(decision, two, OPEN)
    # One: 59, 40.5, 38. The other: 52, 39, 44. Mean: 55.5, 39.75, 41.
    assert found.alloys == ("A", "B", "C")
    assert [voice.ranks for voice in found.voices] == [(1, 2, 3), (1, 3, 2)]
    assert found.group == pytest.approx((0.45, 0.35, 0.2))
    assert found.group_ranks == (1, 3, 2)
    assert set(found.agreed) == set(found.agreed_on_figures) == {("A", "B"), ("A", "C")}
    assert found.concordance == pytest.approx(0.75)
    assert [voice.with_group for voice in found.voices] == pytest.approx([1 / 3, 1])
    assert (found.by_votes, found.by_votes_ranks) == ((), ())
    assert {entry.criterion: entry.overtakes for entry in found.moving} == {
        "Process headroom": (("B", "C"),),
        "Drop shock": (("B", "C"),),
    }
    # 21 points at 200 a unit of weight; the other: 8 points at 200.
    assert [voice.overturn for voice in found.voices] == [
        "10.5 % of all weight changing hands brings C level",
        "4.0 % of all weight changing hands brings C level",
    ]
    assert found.voices[0].first == ("A", "B", "C")
    assert found.in_order(found.group_ranks) == ("A", "C", "B")


def test_the_words_say_the_same(decision, two):
    found = hold(decision, two, OPEN)
    assert sentence(found) == (
        "All 2 members put A first. Under any mix of their weights A stands above all the other 2, every open figure"
        " taken at its worst, and above 2 whatever the open figures."
    )
    assert agreed_lines(found) == ("A above B (whatever the figures), C (whatever the figures)",)
    assert [row["alloy"] for row in order_rows(found)] == ["A", "C", "B"]
    assert [row["spread"] for row in weight_rows(found)] == [10, 10, 0]
    assert moving_lines(found)[0] == "Process headroom, from 40 to 50 % (mean 45 %): B overtakes C"
    assert concordance_line(found).startswith("Kendall's W 0.75. W treats all places alike")
    assert concordance_line(found).endswith("With so few members it says little.")
    assert voice_rows(found)[0]["tau-b with the mean"] == "0.33"
    assert state(found) == (f"Open: weights may still change. Mark of what stands now: {found.fingerprint}.",)


def test_members_who_part_on_the_first_place_are_named(decision, two):
    found = hold(decision, {**two, "third": direct("third", 10, 10, 80)}, OPEN)
    assert sentence(found).startswith(
        "The members do not agree on the first place: one puts A first; other puts A first; third puts C first."
    )
    assert sentence(found).endswith(
        "stands above 0 of the other 2, every open figure taken at its worst, and above 0 whatever the open figures."
    )
    assert agreed_lines(found) == ()


def test_votes_shift_the_mean_and_the_result_without_them_stays(decision, two):
    found = hold(decision, two, dataclasses.replace(OPEN, votes={"one": 3, "other": 1}))
    assert found.group == pytest.approx((0.45, 0.35, 0.2))
    assert found.by_votes == pytest.approx((0.475, 0.325, 0.2))
    # 57.25, 40.125, 39.5.
    assert (found.group_ranks, found.by_votes_ranks) == ((1, 3, 2), (1, 2, 3))
    assert [row["by votes"] for row in order_rows(found)] == [1, 3, 2]
    alike = hold(decision, two, dataclasses.replace(OPEN, votes={"one": 2, "other": 2}))
    assert alike.by_votes == ()


def test_an_interval_takes_agreement_on_figures_away(open_three, two):
    found = hold(open_three, two, OPEN)
    # As ranked 59, 31.5, 29 and 52, 30, 32; C at most 50 and 60, B at most 51.5 and 50.
    assert set(found.agreed) == {("A", "B"), ("A", "C")}
    assert set(found.agreed_on_figures) == {("A", "B")}
    assert agreed_lines(found) == ("A above B (whatever the figures), C",)


# ---- letters ----


def test_letters_hide_the_names_and_the_order_of_the_shortlist(decision_of, two):
    rows = {f"Sn-{i}Xx": (20.0 - i, 1.0, 1.5) for i in range(1, 9)}
    preferences = [
        ("process_headroom_k", ((0.0, 0.0), (20.0, 100.0)), 50.0),
        ("drop", ((0.0, 0.0), (3.0, 100.0)), 30.0),
        ("relative_cost", ((0.5, 100.0), (2.0, 0.0)), 20.0),
    ]
    decision = decision_of(rows, preferences)
    orders = set()
    for seed in range(6):
        veiled = hold(decision, two, dataclasses.replace(BLIND, seed=seed))
        assert veiled.veiled
        assert veiled.alloys == tuple("ABCDEFGH")
        told = str(plain(veiled)) + sentence(veiled) + " ".join((*agreed_lines(veiled), *moving_lines(veiled)))
        told += str([order_rows(veiled), weight_rows(veiled), voice_rows(veiled), state(veiled)])
        assert not [name for name in rows if name in told]
        assert "under letters" in " ".join(state(veiled))
        orders.add(veiled.in_order(veiled.group_ranks))
        shown = hold(decision, two, dataclasses.replace(BLIND, seed=seed, blind=False))
        # The same findings under either naming.
        assert sorted(veiled.group_ranks) == sorted(shown.group_ranks)
        assert (veiled.group, veiled.concordance) == (shown.group, shown.concordance)
        assert len(veiled.agreed) == len(shown.agreed)
    assert len(orders) > 3  # the letters do not follow the ranks


def test_freezing_keeps_letters_and_lifting_shows_names(decision, two):
    blind = hold(decision, two, BLIND)
    assert (blind.stage, blind.changed, sorted(blind.alloys)) == ("open", False, ["A", "B", "C"])
    held = hold(decision, two, frozen(blind))
    assert (held.stage, held.changed, held.veiled) == ("frozen", False, True)
    assert held.fingerprint == blind.fingerprint
    lifted = settle(held, "unblinded", " chair ", AT)
    assert (lifted.kind, lifted.by, lifted.at, lifted.fingerprint) == ("unblinded", "chair", AT, held.fingerprint)
    names = hold(decision, two, dataclasses.replace(held.agenda, events=(*held.agenda.events, lifted)))
    assert (names.stage, names.veiled, names.changed) == ("unblinded", False, False)
    assert names.alloys == tuple(entry.alloy.id for entry in decision.admitted)
    assert state(names)[0] == f"Weights frozen by chair at 2026-11-25 12:00, mark {blind.fingerprint}."
    assert state(names)[1].startswith("Letters lifted by chair")
    # Whose letter an alloy had can be told afterwards: the ranks go with it.
    assert sorted(names.group_ranks) == sorted(blind.group_ranks)


def refused(meeting, kind, by="chair"):
    with pytest.raises(InputError) as caught:
        settle(meeting, kind, by, AT)
    return [f"{fault.where}: {fault.problem}" for fault in caught.value.faults]


def test_steps_out_of_order_are_refused(decision, two):
    blind = hold(decision, two, BLIND)
    assert refused(blind, "unblinded") == ["unblind: comes after freezing, once"]
    assert refused(blind, "frozen", "  ") == ["by: is not a name"]
    assert refused(blind, "frozen", "\x1b[31m") == ["by: is not a name"]
    held = hold(decision, two, frozen(blind))
    assert refused(held, "frozen") == ["freeze: was done before"]
    lifted = settle(held, "unblinded", "chair", AT)
    names = hold(decision, two, dataclasses.replace(held.agenda, events=(*held.agenda.events, lifted)))
    assert refused(names, "unblinded", "") == ["by: is not a name", "unblind: comes after freezing, once"]
    seen = hold(decision, two, frozen(hold(decision, two, OPEN)))
    assert refused(seen, "unblinded") == ["unblind: has no letters to lift: the meeting is not blind"]


# ---- what a mark holds fast ----


def test_a_mark_is_stable_and_every_change_is_seen(decision, three, two):
    mark = fingerprint(decision, two, BLIND)
    assert mark == fingerprint(decision, dict(reversed(two.items())), BLIND)
    assert len(mark) == 16
    later = dataclasses.replace(BLIND, title="another title", events=(Event("frozen", AT, "chair", mark),))
    assert fingerprint(decision, two, later) == mark
    points = ((0.0, 0.0), (21.0, 100.0))
    moved = tuple(
        entry.model_copy(update={"points": points}) if entry.criterion == "process_headroom_k" else entry
        for entry in three.weighing.preferences
    )
    others = [
        (dataclasses.replace(decision, brief=from_raw({"title": "another"})), two, BLIND),
        (dataclasses.replace(decision, data_hash="data1"), two, BLIND),
        (dataclasses.replace(decision, weighing=dataclasses.replace(three.weighing, preferences=moved)), two, BLIND),
        (decision, {**two, "other": direct("other", 40, 41, 20)}, BLIND),
        (decision, {"one": two["one"], "someone": two["other"]}, BLIND),
        (decision, {**two, "other": direct("other", 40, 40, 20, reason="another")}, BLIND),
        (decision, {**two, "other": direct("somebody", 40, 40, 20)}, BLIND),
        (decision, {**two, "other": dataclasses.replace(two["other"], date=date(2026, 11, 3))}, BLIND),
        (decision, two, dataclasses.replace(BLIND, votes={"one": 2})),
        (decision, two, dataclasses.replace(BLIND, seed=8)),
        (decision, two, dataclasses.replace(BLIND, blind=False)),
    ]
    marks = [fingerprint(*each) for each in others]
    assert len({mark, *marks}) == len(others) + 1


def test_a_change_after_freezing_is_told_and_keeps_the_letters_down(decision, two):
    agenda = frozen(hold(decision, two, BLIND))
    changed = hold(decision, {**two, "other": direct("other", 40, 41, 20)}, agenda)
    assert changed.changed
    assert changed.veiled
    assert "Changed since it was frozen" in " ".join(state(changed))
    assert plain(changed)["changed_since_frozen"] is True
    assert refused(changed, "unblinded") == ["unblind: something changed after it was frozen"]
    assert hold(decision, two, dataclasses.replace(agenda, votes={"one": 2})).changed
    # To say afterwards that the meeting was never blind is seen and shows no name, with and without other changes.
    for members in (two, {**two, "other": direct("other", 40, 41, 20)}):
        denied = hold(decision, members, dataclasses.replace(agenda, blind=False))
        assert (denied.changed, denied.veiled, denied.alloys) == (True, True, blind_names(decision, two))
        assert refused(denied, "unblinded") != []
    seen = hold(decision, two, frozen(hold(decision, two, OPEN), votes={"one": 2}))
    assert (seen.changed, seen.veiled) == (True, False)


def blind_names(decision, two):
    return hold(decision, two, BLIND).alloys


def test_what_moves_the_mean_alone_is_reconciled_with_what_all_agree_on(decision_of):
    preferences = [
        ("process_headroom_k", ((0.0, 0.0), (20.0, 100.0)), 50.0),
        ("drop", ((0.0, 0.0), (3.0, 100.0)), 30.0),
        ("relative_cost", ((0.5, 100.0), (1.5, 0.0)), 20.0),
    ]
    # X is worth 0, 100, 0 and Y 60, 0, 50.
    decision = decision_of({"X": (0.0, 3.0, 1.5), "Y": (12.0, 0.0, 1.0)}, preferences)
    members = {"one": direct("one", 60, 40, 0), "other": direct("other", 0, 40, 60)}
    found = hold(decision, members, OPEN)
    # X 40, Y 36; X 40, Y 30: all agree. On the mean, 30, 40, 30, headroom alone up to 60: 22.9 against 44.6.
    assert found.agreed == (("X", "Y"),)
    assert "Y overtakes X (though under any mix all keep them as they are)" in " ".join(moving_lines(found))


def test_all_faults_of_a_meeting_are_told_at_once(decision, decision_of, two):
    alone = decision_of(
        {"A": (20.0, 1.0, 1.5)}, [(e.criterion, e.points, e.swing) for e in decision.weighing.preferences]
    )
    events = (Event("unblinded", AT, "chair", "x"), Event("frozen", AT, "chair", "x"))
    short = answers_from(
        {"kind": "rank", "author": "x", "date": date(2026, 11, 2), "reason": "r", "order": ["drop"]}, ("drop",)
    )
    with pytest.raises(InputError) as caught:
        hold(alone, {"one": short}, Agenda("t", 1, True, {"nobody": 1.0}, events))
    assert [fault.where for fault in caught.value.faults] == ["alloys", "members", "answers of one", "votes", "events"]
    with pytest.raises(InputError, match="votes"):
        hold(decision, two, dataclasses.replace(OPEN, votes={"one": -1.0}))


def test_a_shared_first_place_is_told_as_shared(decision_of):
    preferences = [
        ("process_headroom_k", ((0.0, 0.0), (20.0, 100.0)), 100.0),
        ("drop", ((0.0, 0.0), (3.0, 100.0)), 60.0),
        ("relative_cost", ((0.5, 100.0), (1.5, 0.0)), 40.0),
    ]
    twins = decision_of({"A": (10.0, 1.0, 1.0), "B": (10.0, 1.0, 1.0), "C": (0.0, 0.0, 1.5)}, preferences)
    found = hold(twins, {"one": direct("one", 50, 30, 20), "other": direct("other", 40, 40, 20)}, OPEN)
    assert sentence(found).startswith(
        "All 2 members put A and B first. Under any mix of their weights A stands above 1"
    )


def test_an_older_mark_that_no_longer_fits_is_a_change_too(decision, two):
    mark = fingerprint(decision, two, BLIND)
    events = (Event("frozen", AT, "chair", "another"), Event("unblinded", AT, "chair", mark))
    assert hold(decision, two, dataclasses.replace(BLIND, events=events)).changed


def test_who_is_admitted_is_held_fast(decision, two):
    fewer = dataclasses.replace(decision, admitted=decision.admitted[:2])
    assert fingerprint(fewer, two, BLIND) != fingerprint(decision, two, BLIND)


def test_the_seed_that_assigns_the_letters_stays_under_the_veil(decision, two):
    assert plain(hold(decision, two, BLIND))["seed"] is None
    assert plain(hold(decision, two, OPEN))["seed"] == 7


# ---- weights into a brief ----


def test_weights_go_into_the_preferences_and_anchors_keep_their_reason(three):
    said = direct("buyer", 20, 0, 10, reason="two\nlines")
    kept = tuple(e.model_copy(update={"draft": True, "swing_for": e.points}) for e in three.weighing.preferences)
    found = weighed_by(kept, said)
    assert [entry.swing for entry in found] == [100, 0, 50]
    assert [entry.points for entry in found] == [entry.points for entry in kept]
    assert {entry.reason for entry in found} == {"anchors (us): said; weight: two lines"}
    assert {(entry.author, entry.set_on, entry.draft, entry.swing_for) for entry in found} == {
        ("buyer", date(2026, 11, 2), True, ())
    }
    other = kept[0].model_copy(update={"criterion": "wetting", "swing": 0.0})
    assert weighed_by((*kept, other), said)[-1] is other
    assert np.isclose(sum(entry.swing for entry in found), 150)
