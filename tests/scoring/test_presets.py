"""The presets: anchors and weights in one pair with reasons, chosen by class and environment."""

import pytest

from selector.brief import from_raw
from selector.scoring.criteria import CRITERIA
from selector.scoring.presets import Between, preset_for, presets, weighing


def chosen(**tables):
    return preset_for(from_raw({"title": "t", **tables})).id


@pytest.mark.parametrize(
    ("tables", "preset"),
    [
        ({"ipc_class": 3, "use": {"worn": True}}, "class-3"),
        ({"ipc_class": 2, "use": {"worn": True, "automotive": True}}, "wearable"),
        ({"ipc_class": 2, "use": {"automotive": True}, "service": {"cyclic_range_k": 90}}, "vehicle"),
        ({"ipc_class": 2, "service": {"cyclic_range_k": 60}}, "outdoor"),
        ({"ipc_class": 1, "service": {"cyclic_range_k": 120.5}}, "outdoor"),
        ({"ipc_class": 2, "service": {"cyclic_range_k": 59.9}}, "general"),
        ({"ipc_class": 2, "service": {"cyclic_range_k": "unknown"}}, "general"),
        ({"service": {"cyclic_range_k": 90}}, "general"),
        ({}, "general"),
    ],
)
def test_class_and_environment_choose(tables, preset):
    assert chosen(**tables) == preset


@pytest.mark.parametrize("preset", presets(), ids=lambda preset: preset.id)
def test_a_preset_ships_anchors_and_weights_with_the_reason_of_each(preset):
    assert preset.reason.strip()
    assert "draft" in preset.author
    assert len({entry.criterion for entry in preset.preference}) == len(preset.preference)
    assert {entry.criterion for entry in preset.preference} == {name for name, each in CRITERIA.items() if each.default}
    assert max(entry.swing for entry in preset.preference) <= 100
    for entry in preset.preference:
        assert entry.reason.strip()
        assert len(entry.points) >= 2
        assert entry.swing > 0


def test_the_decision_names_the_preset():
    found = weighing(from_raw({"title": "t", "ipc_class": 2, "service": {"cyclic_range_k": 80}}))
    assert found.origin.startswith("preset outdoor: Outdoors or beside machines")
    assert "a draft" in found.origin


def test_presets_are_tried_in_one_order_and_the_last_takes_everything():
    orders = [preset.order for preset in presets()]
    assert orders == sorted(set(orders))
    assert [preset.id for preset in presets() if not preset.when] == [presets()[-1].id] == ["general"]
    assert isinstance(next(p for p in presets() if p.id == "outdoor").when["service.cyclic_range_k"], Between)
