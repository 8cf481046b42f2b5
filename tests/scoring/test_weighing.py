"""Presets, the brief's own preferences, and the whole chain's independence of the list."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector import brief as briefs
from selector.brief import Preference, from_raw, read, shipped
from selector.catalogue import load
from selector.errors import InputError
from selector.scoring.criteria import ADD_UP_TO_A_CONSTANT, CRITERIA, cycling_scale
from selector.scoring.presets import check, preset_for, presets, weighing
from selector.scoring.weighing import weigh
from selector.screening import screen

PATCH = read(shipped("skin-patch"))
ROWS = [screen(PATCH, load(), alloy) for alloy in load().listed()]
WHOLE = weigh(PATCH, ROWS, weighing(PATCH))


@settings(max_examples=40)
@given(st.lists(st.integers(0, len(ROWS) - 1), min_size=1, max_size=12))
def test_a_real_alloys_score_is_bit_identical_in_any_company(chosen):
    part = weigh(PATCH, [ROWS[i] for i in chosen], weighing(PATCH))
    for place, index in enumerate(chosen):
        for mine, all_of in (
            (part.scores.low, WHOLE.scores.low),
            (part.scores.high, WHOLE.scores.high),
            (part.scores.central, WHOLE.scores.central),
        ):
            assert mine[place].tobytes() == all_of[index].tobytes()


def test_presets_are_chosen_by_class_and_environment():
    assert preset_for(PATCH).id == "wearable"
    assert preset_for(read(shipped("motor-drive"))).id == "class-3"
    assert preset_for(read(shipped("river-logger"))).id == "general"
    assert preset_for(from_raw({"title": "t", "use": {"automotive": True}, "ipc_class": 2})).id == "vehicle"
    assert preset_for(from_raw({"title": "nothing known"})).id == "general"


@pytest.mark.parametrize("preset", presets(), ids=lambda preset: preset.id)
def test_every_preset_is_usable_and_gives_reasons(preset):
    preferences = tuple(Preference(**entry.model_dump(), author=preset.author) for entry in preset.preference)
    check(preferences)
    assert {entry.criterion for entry in preferences} == {c.id for c in CRITERIA.values() if c.default}
    assert all(len(entry.reason) > 10 for entry in preferences)


def own(*criteria):
    row = {"points": [[0, 0], [10, 100]], "swing": 50, "reason": "a reason", "author": "team"}
    return from_raw({"title": "t", "preferences": [{**row, "criterion": name} for name in criteria]})


def test_the_briefs_own_preferences_replace_the_preset():
    how = weighing(own("tensile_mpa", "density_g_cm3"))
    assert how.origin == "the brief's own preferences"
    assert [entry.criterion for entry in how.preferences] == ["tensile_mpa", "density_g_cm3"]


def test_an_unknown_criterion_and_a_double_count_are_refused_together():
    with pytest.raises(InputError) as caught:
        weighing(own("gloss", *sorted(ADD_UP_TO_A_CONSTANT)))
    assert "preferences[0].criterion" in str(caught.value)
    assert "gloss" in str(caught.value)
    assert "weigh one thing twice" in str(caught.value)


def test_no_swing_points_at_all_is_refused():
    raw = own("tensile_mpa").model_dump()
    raw["preferences"] = [{**raw["preferences"][0], "swing": 0}]
    with pytest.raises(InputError, match="no swing points"):
        weighing(from_raw(raw))


def test_the_order_of_preferences_in_the_file_does_not_touch_the_score():
    one, other = own("tensile_mpa", "density_g_cm3"), own("density_g_cm3", "tensile_mpa")
    first, second = weigh(one, ROWS, weighing(one)), weigh(other, ROWS, weighing(other))
    assert first.scores.low.tobytes() == second.scores.low.tobytes()


@pytest.mark.parametrize(
    ("low", "high", "scale"),
    [
        (-10, 45, "cycling_rank_mild"),
        (-25, 100, "cycling_rank_mild"),
        (-40, 60, "cycling_rank_harsh"),
        (0, 125, "cycling_rank_harsh"),
    ],
)
def test_cycling_scale_follows_the_service(low, high, scale):
    assert cycling_scale(from_raw({"title": "t", "service": {"minimum_c": low, "maximum_c": high}})) == scale
    assert cycling_scale(briefs.from_raw({"title": "t"})) is None
    assert cycling_scale(from_raw({"title": "t", "service": {"maximum_c": 125}})) == "cycling_rank_harsh"
    assert cycling_scale(from_raw({"title": "t", "service": {"maximum_c": 45}})) is None


def test_mild_and_harsh_ranks_land_on_the_same_place():
    """Rank 1 is the best level on both scales, so the anchors of a preset mean the same on both."""
    alloy = load().find("Sn-3.8Ag-0.7Cu-3Bi-1.4Sb-0.15Ni")
    mild, harsh = (read(shipped(name)) for name in ("skin-patch", "motor-drive"))
    levels = [CRITERIA["thermal_cycling"].level(brief, screen(brief, load(), alloy)).value for brief in (mild, harsh)]
    assert levels == [6.0, 6.0]
