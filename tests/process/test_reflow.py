"""Peak temperature against what the board tolerates: every outcome on small boards worked by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector import catalogue
from selector.brief import changed, from_raw
from selector.catalogue.evidence import Evidence, nothing
from selector.process.reflow import headroom, heat_limits, lowest_limit, peak_c, process_peak
from selector.verdict import Outcome, at_least, at_most

RANK = {Outcome.FAIL: 0, Outcome.UNKNOWN: 1, Outcome.PASS: 2}


def liquidus(value, low=None, high=None):
    return Evidence("liquidus_c", "degC", value, low or value, high or value, "high", "measured", "some-paper")


EUTECTIC = liquidus(138.0)  # with 20 K and 5 K: 163 degC
SAC = liquidus(219.9, 217.0, 220.0)  # with 20 K and 5 K: 242 to 245 degC


def board(*parts, heating="whole-board reflow", base=260, adhesive=260, **process):
    return from_raw(
        {
            "title": "t",
            "parts": [{"name": f"part {n}", "rating_at": "body", **part} for n, part in enumerate(parts)],
            "board": {"base_limit_c": base, "adhesive_limit_c": adhesive},
            "process": {"superheat_k": 20, "board_spread_k": 5, "heating": heating, **process},
        }
    )


def settled(brief, evidence):
    """Return the verdict, having checked that its edits turn it into a pass."""
    verdict = process_peak(brief, evidence)
    assert verdict.edits
    after = process_peak(changed(brief, verdict.edits), evidence)
    assert after.outcome is Outcome.PASS
    assert not after.edits
    return verdict


def test_interval_against_a_limit():
    assert [at_most(1, 2, limit) for limit in (0.9, 1, 1.9, 2)] == [
        Outcome.FAIL,
        Outcome.UNKNOWN,
        Outcome.UNKNOWN,
        Outcome.PASS,
    ]
    assert [at_least(1, 2, limit) for limit in (1, 1.1, 2, 2.1)] == [
        Outcome.PASS,
        Outcome.UNKNOWN,
        Outcome.UNKNOWN,
        Outcome.FAIL,
    ]


def test_pass_names_the_limit_that_decides_and_its_margin():
    verdict = process_peak(board({"rating_c": 200}, {"rating_c": 260}, adhesive=220), EUTECTIC)
    assert verdict.outcome is Outcome.PASS
    assert (verdict.measured.value, verdict.measured.low, verdict.measured.high) == (163, 163, 163)
    assert (verdict.limit, verdict.margin, verdict.edits, verdict.threshold) == (200, 37, (), "")
    assert "part 0 decides" in verdict.reason
    assert "some-paper" in verdict.source


def test_the_limit_itself_still_passes():
    verdict = process_peak(board({"rating_c": 163}), EUTECTIC)
    assert (verdict.outcome, verdict.margin) == (Outcome.PASS, 0)
    assert process_peak(board({"rating_c": 162.9}), EUTECTIC).outcome is Outcome.FAIL


def test_fail_names_everything_that_is_too_cool_and_the_amount():
    verdict = settled(board({"rating_c": 200}, {"rating_c": 260}, base=230), SAC)
    assert verdict.outcome is Outcome.FAIL
    assert (verdict.limit, verdict.margin) == (200, -45)
    assert [(edit.path, edit.value, edit.change, edit.unit) for edit in verdict.edits] == [
        ("parts[0].rating_c", 245.0, 45.0, "K"),
        ("board.base_limit_c", 245.0, 15.0, "K"),
    ]
    assert "part 0 -45 K" in verdict.reason
    assert "laminate or film -15 K" in verdict.reason
    assert "part 1" not in verdict.reason


def test_fail_by_the_adhesive_under_its_own_name():
    brief = from_raw({**board({"rating_c": 260}).model_dump(), "board": {
        "base": "film", "base_limit_c": 260, "adhesive": "bond ply", "adhesive_limit_c": 220}})  # fmt: skip
    verdict = settled(brief, SAC)
    assert verdict.outcome is Outcome.FAIL
    assert "bond ply" in verdict.reason
    assert verdict.edits[0].path == "board.adhesive_limit_c"


def test_a_limit_inside_the_interval_is_not_settled():
    verdict = settled(board({"rating_c": 243}), SAC)
    assert verdict.outcome is Outcome.UNKNOWN
    assert "part 0" in verdict.reason
    assert verdict.threshold == "holds if part 0 survives 245 degC"
    assert [process_peak(board({"rating_c": rating}), SAC).outcome for rating in (241.9, 242, 244.9, 245)] == [
        Outcome.FAIL,
        Outcome.UNKNOWN,
        Outcome.UNKNOWN,
        Outcome.PASS,
    ]


def test_an_unknown_rating_names_the_temperature_that_it_must_stand():
    verdict = settled(board({"rating_c": 260}, {}), EUTECTIC)
    assert verdict.outcome is Outcome.UNKNOWN
    assert verdict.threshold == "holds if part 1 survives 163 degC"
    assert (verdict.edits[0].path, verdict.edits[0].value) == ("parts[1].rating_c", 163.0)
    assert verdict.limit == 260  # what is known


def test_an_unknown_rating_of_a_package_tells_what_its_size_was_tested_to():
    verdict = process_peak(board({"thickness_mm": 2.0, "volume_mm3": 400}), EUTECTIC)
    assert "250 degC under J-STD-020" in verdict.threshold
    assert "J-STD-020" not in process_peak(board({"thickness_mm": 2.0}), EUTECTIC).threshold
    assert "J-STD-020" not in process_peak(board({"volume_mm3": 400}), EUTECTIC).threshold


@pytest.mark.parametrize(("field", "name"), [("base", "laminate or film"), ("adhesive", "adhesive")])
def test_an_unknown_board_limit_is_not_settled(field, name):
    verdict = settled(board({"rating_c": 260}, **{field: "unknown"}), EUTECTIC)
    assert verdict.outcome is Outcome.UNKNOWN
    assert verdict.threshold == f"holds if {name} survives 163 degC"


def test_a_board_without_adhesive_has_no_adhesive_to_judge():
    part = {"name": "p", "rating_c": 260, "rating_at": "body"}
    brief = from_raw({"title": "t", "board": {"base_limit_c": 260, "adhesive": "none"}, "parts": [part],
                      "process": {"superheat_k": 20, "board_spread_k": 5}})  # fmt: skip
    assert process_peak(brief, EUTECTIC).outcome is Outcome.PASS
    assert [limit.path for limit in heat_limits(brief)] == ["parts[0].rating_c", "board.base_limit_c"]


def test_a_board_whose_parts_are_not_listed_is_not_settled_but_may_fail():
    board_only = {"title": "t", "board": {"base_limit_c": 200, "adhesive": "none"},
                  "process": {"superheat_k": 20, "board_spread_k": 5}}  # fmt: skip
    verdict = process_peak(from_raw(board_only), EUTECTIC)
    assert (verdict.outcome, "none of which the brief lists" in verdict.threshold) == (Outcome.UNKNOWN, True)
    assert process_peak(from_raw(board_only), SAC).outcome is Outcome.FAIL


def test_a_fail_counts_more_than_an_unknown():
    assert process_peak(board({}, {"rating_c": 100}), EUTECTIC).outcome is Outcome.FAIL
    assert settled(board({}, {"rating_c": 100}), EUTECTIC).threshold == ""


def test_a_board_of_which_nothing_is_known():
    verdict = process_peak(from_raw({"title": "t", "process": {"superheat_k": 20, "board_spread_k": 5}}), EUTECTIC)
    assert (verdict.outcome, verdict.limit, verdict.margin) == (Outcome.UNKNOWN, None, None)


@pytest.mark.parametrize("term", ["superheat_k", "board_spread_k"])
def test_an_unknown_term_of_the_peak_names_the_room_that_is_left(term):
    verdict = process_peak(board({"rating_c": 200}, **{term: "unknown"}), EUTECTIC)
    assert verdict.outcome is Outcome.UNKNOWN
    assert "together stay at or under 200 degC" in verdict.threshold


def test_an_unknown_term_with_no_limit_stated():
    verdict = process_peak(from_raw({"title": "t"}), EUTECTIC)
    assert (verdict.outcome, verdict.threshold) == (Outcome.UNKNOWN, "state superheat, spread and a limit")


def test_an_unknown_liquidus():
    verdict = process_peak(board({"rating_c": 200}), nothing("liquidus_c", "degC"))
    assert (verdict.outcome, verdict.threshold) == (Outcome.UNKNOWN, "a measured liquidus")


def test_a_liquidus_known_only_by_its_ends():
    brief = board({"rating_c": 243})
    evidence = liquidus(None, 217.0, 220.0)
    assert peak_c(brief, evidence) == (None, 242, 245)
    verdict = settled(brief, evidence)
    assert (verdict.outcome, verdict.measured.value) == (Outcome.UNKNOWN, None)
    assert headroom(brief, evidence) == (None, -2, 1)


# Where a rating speaks of


def test_an_oven_rating_is_lifted_by_what_the_oven_runs_hotter():
    def outcome(rating, lift):
        return process_peak(board({"rating_c": rating, "rating_at": "oven"}, oven_above_joint_k=lift), EUTECTIC).outcome

    assert outcome(173, 10) is Outcome.PASS
    assert outcome(172.9, 10) is Outcome.FAIL
    assert outcome(163, 0) is Outcome.PASS


def test_an_oven_rating_without_the_lift_is_not_settled_unless_clearly_exceeded():
    verdict = process_peak(board({"rating_c": 200, "rating_at": "oven"}), EUTECTIC)
    assert verdict.outcome is Outcome.UNKNOWN
    assert "at most 37 K above the joint" in verdict.threshold
    assert process_peak(board({"rating_c": 162, "rating_at": "oven"}), EUTECTIC).outcome is Outcome.FAIL


def test_a_rating_at_an_unknown_place_is_not_settled_unless_clearly_exceeded():
    verdict = process_peak(board({"rating_c": 200, "rating_at": "unknown"}), EUTECTIC)
    assert verdict.outcome is Outcome.UNKNOWN
    assert "200 degC of part 0" in verdict.threshold
    assert process_peak(board({"rating_c": 162, "rating_at": "unknown"}), EUTECTIC).outcome is Outcome.FAIL


@pytest.mark.parametrize("place", ["oven", "unknown"])
@pytest.mark.parametrize(("rating", "outcome"), [(241.9, Outcome.FAIL), (242, Outcome.UNKNOWN), (300, Outcome.UNKNOWN)])
def test_only_the_cool_end_of_the_peak_is_a_clear_excess(place, rating, outcome):
    assert process_peak(board({"rating_c": rating, "rating_at": place}), SAC).outcome is outcome


@pytest.mark.parametrize("heating", ["local heat", "hand"])
def test_local_heat_lifts_bodies_oven_and_board(heating):
    parts = ({"rating_c": 100}, {"rating_c": 100, "rating_at": "oven"}, {})
    verdict = process_peak(board(*parts, heating=heating, base=100, adhesive="unknown"), SAC)
    assert verdict.outcome is Outcome.NOT_APPLICABLE
    assert verdict.cautions
    assert heating in verdict.reason


@pytest.mark.parametrize("heating", ["local heat", "hand"])
def test_local_heat_leaves_limits_at_the_joint(heating):
    brief = board({"rating_c": 100}, {"rating_c": 200, "rating_at": "joint"}, heating=heating, base=100)
    assert process_peak(brief, EUTECTIC).outcome is Outcome.PASS
    verdict = settled(brief, SAC)
    assert verdict.outcome is Outcome.FAIL
    assert [edit.path for edit in verdict.edits] == ["parts[1].rating_c"]


def test_local_heat_leaves_limits_whose_place_is_unknown():
    brief = board({"rating_c": 200, "rating_at": "unknown"}, heating="local heat")
    assert process_peak(brief, EUTECTIC).outcome is Outcome.PASS
    hot = process_peak(brief, SAC)
    assert (hot.outcome, "hold for its body and not for the joint" in hot.threshold) == (Outcome.UNKNOWN, True)
    assert process_peak(changed(brief, hot.edits), SAC).outcome is Outcome.NOT_APPLICABLE


# Peak and headroom


def test_peak_and_headroom():
    brief = board({"rating_c": 250}, {"rating_c": 200})
    assert headroom(board({"rating_c": 250}, {}), EUTECTIC) is None
    assert peak_c(brief, EUTECTIC) == (163, 163, 163)
    assert peak_c(brief, SAC) == (pytest.approx(244.9), 242, 245)
    assert (lowest_limit(brief)[0].name, lowest_limit(brief)[1]) == ("part 1", 200)
    assert headroom(brief, EUTECTIC) == (37, 37, 37)
    assert headroom(brief, SAC) == (pytest.approx(-44.9), -45, -42)


def test_peak_and_headroom_of_what_is_not_known():
    unknown = from_raw({"title": "t"})
    assert peak_c(unknown, SAC) is None
    assert peak_c(board(), nothing("liquidus_c", "degC")) is None
    assert lowest_limit(unknown) is None
    assert headroom(unknown, SAC) is None
    assert headroom(board(base="unknown", adhesive="unknown"), SAC) is None
    assert headroom(board(superheat_k="unknown"), SAC) is None


def test_the_catalogue_on_a_connector_of_200_degrees():
    brief = board({"rating_c": 200})
    cases = {"SAC305": Outcome.FAIL, "Sn-58Bi": Outcome.PASS, "Sn-37Pb": Outcome.FAIL, "In-48Sn": Outcome.PASS}
    shipped = catalogue.load()
    assert {name: process_peak(brief, shipped.find(name).of("liquidus_c")).outcome for name in cases} == cases


# What holds for every board

temperatures = st.integers(0, 3000).map(lambda tenths: tenths / 10)
kelvins = st.integers(0, 500).map(lambda tenths: tenths / 10)
places = st.sampled_from(["body", "joint", "oven", "unknown"])
heatings = st.sampled_from(["whole-board reflow", "local heat"])
lifts = st.one_of(st.just("unknown"), kelvins)


@given(temperatures, temperatures, places, heatings, lifts, temperatures, kelvins)
def test_a_lower_rating_never_answers_better(rating, higher, place, heating, lift, low, width):
    rating, higher = sorted((rating, higher))
    evidence = liquidus(None, low + 1, low + 1 + width)
    outcomes = [
        process_peak(board({"rating_c": r, "rating_at": place}, heating=heating, oven_above_joint_k=lift), evidence)
        for r in (rating, higher)
    ]
    if outcomes[0].outcome is Outcome.NOT_APPLICABLE:
        assert outcomes[1].outcome is Outcome.NOT_APPLICABLE
    else:
        assert RANK[outcomes[0].outcome] <= RANK[outcomes[1].outcome]


@given(temperatures, places, lifts, temperatures, kelvins, kelvins, kelvins)
def test_more_superheat_never_answers_better(rating, place, lift, low, width, superheat, more):
    superheat, more = sorted((superheat, more))
    evidence = liquidus(None, low + 1, low + 1 + width)
    cooler, hotter = (
        process_peak(
            board({"rating_c": rating, "rating_at": place}, superheat_k=heat, oven_above_joint_k=lift), evidence
        )
        for heat in (superheat, more)
    )
    assert RANK[hotter.outcome] <= RANK[cooler.outcome]


@given(
    st.lists(st.one_of(st.just("unknown"), temperatures), min_size=1, max_size=4),
    st.sampled_from(["body", "joint"]),
    temperatures,
    kelvins,
)
def test_edits_of_body_and_joint_ratings_turn_every_verdict_into_a_pass(ratings, place, low, width):
    brief = board(*({"rating_c": rating, "rating_at": place} for rating in ratings), base="unknown")
    evidence = liquidus(None, low + 1, low + 1 + width)
    verdict = process_peak(brief, evidence)
    assert verdict.outcome in (Outcome.UNKNOWN, Outcome.FAIL)
    settled(brief, evidence)


@pytest.mark.parametrize(
    "part",
    [
        {"rating_c": 160, "rating_at": "oven"},
        {"rating_c": 170, "rating_at": "oven"},
        {"rating_at": "oven"},
        {"rating_c": 160, "rating_at": "unknown"},
        {"rating_at": "unknown"},
    ],
)
def test_edits_of_other_ratings_turn_the_verdict_into_a_pass(part):
    settled(board(part, oven_above_joint_k=10), EUTECTIC)


def test_the_margin_of_a_failed_oven_rating_is_negative():
    verdict = process_peak(board({"rating_c": 170, "rating_at": "oven"}, oven_above_joint_k=10), EUTECTIC)
    assert verdict.outcome is Outcome.FAIL
    assert verdict.margin == -3


# Ratings known only to some kelvin: the liquidus needs 163 degC


@pytest.mark.parametrize(
    ("rating_c", "within_k", "outcome"),
    [
        (168, 5, Outcome.PASS),
        (167.9, 5, Outcome.UNKNOWN),
        (163, 5, Outcome.UNKNOWN),
        (158, 5, Outcome.UNKNOWN),
        (157.9, 5, Outcome.FAIL),
        (163, 0, Outcome.PASS),
    ],
)
def test_a_limit_inside_its_own_interval_does_not_decide(rating_c, within_k, outcome):
    part = {"rating_c": rating_c, "rating_plus_minus_k": within_k}
    assert process_peak(board(part), EUTECTIC).outcome is outcome
    raw = board({"rating_c": 260}).model_dump()
    for place in ("base", "adhesive"):
        raw["board"] |= {f"{place}_limit_c": rating_c, f"{place}_limit_plus_minus_k": within_k}
        assert process_peak(from_raw(raw), EUTECTIC).outcome is outcome


def test_an_open_rating_says_what_would_decide_and_the_edit_admits():
    part = {"rating_c": 165, "rating_plus_minus_k": 5}
    verdict = settled(board(part), EUTECTIC)
    assert verdict.outcome is Outcome.UNKNOWN
    assert verdict.threshold == "holds if part 0 survives 163 degC, its rating being known to 5 K"
    assert (verdict.limit, verdict.margin) == (160, -3)
    (edit,) = verdict.edits
    assert (edit.path, edit.value, edit.change, edit.unit) == ("parts[0].rating_c", 168, 3, "K")
    assert edit.text == "raise part 0, known to 5 K, from 165 to 168 degC (+3 K)"
    failed = settled(board({"rating_c": 150, "rating_plus_minus_k": 5}), EUTECTIC)
    assert failed.outcome is Outcome.FAIL
    assert failed.edits[0].value == 168
    for other in ({"rating_at": "oven"}, {"rating_at": "unknown"}):
        settled(board({**part, **other}, oven_above_joint_k="unknown"), EUTECTIC)
    settled(board({"rating_plus_minus_k": 5}), EUTECTIC)
    by_hand = board({**part, "rating_at": "unknown"}, heating="hand")
    assert process_peak(by_hand, EUTECTIC).outcome is Outcome.UNKNOWN
    assert process_peak(board({"rating_c": 168, "rating_plus_minus_k": 5, "rating_at": "unknown"}, heating="hand"),
                        EUTECTIC).outcome is Outcome.PASS  # fmt: skip


def test_headroom_covers_the_intervals_of_limit_and_liquidus():
    # The first part decides in the middle and at its low end; at the high end it is the second.
    brief = board({"rating_c": 200, "rating_plus_minus_k": 10}, {"rating_c": 205})
    assert headroom(brief, EUTECTIC) == (37, 27, 42)
    assert headroom(brief, liquidus(140, 138, 141)) == (35, 24, 42)
    assert (lowest_limit(brief)[0].name, lowest_limit(brief)[1]) == ("part 0", 190)


@given(st.floats(100, 300), st.floats(0, 20), st.floats(0, 20))
def test_a_looser_rating_never_admits(rating_c, within_k, more_k):
    def outcome(width):
        return process_peak(board({"rating_c": rating_c, "rating_plus_minus_k": width}), SAC).outcome

    if outcome(within_k) is not Outcome.PASS:
        assert outcome(within_k + more_k) is not Outcome.PASS
    if outcome(within_k) is Outcome.UNKNOWN:
        assert outcome(within_k + more_k) is Outcome.UNKNOWN
