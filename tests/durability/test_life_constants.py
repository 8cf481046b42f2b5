"""What durability rests on: every constant names a source of the table, memory says memory, and cautions are asked."""

import pytest

from selector.catalogue import load
from selector.durability.constants import (
    CreepLaw,
    acceleration_data,
    condition_data,
    creep_data,
    fatigue_data,
    surface_data,
)
from selector.durability.environments import environments
from selector.durability.safety import CAUTIONS, MISSING_STAYS, QUESTIONS, SCREENING_ONLY, safety_cautions
from selector.durability.validity import Bound, hold
from selector.errors import Fault, InputError
from selector.policy import policy

DATA = (fatigue_data(), creep_data(), acceleration_data(), condition_data(), surface_data())


def rows():
    for data in DATA:
        for name in type(data).model_fields:
            value = getattr(data, name)
            yield from value if isinstance(value, tuple) else (value,)
    yield from environments().values()
    yield from policy().gold.limit


def test_every_row_names_sources_of_the_table():
    told = list(rows())
    assert len(told) > 60
    for row in told:
        assert set(row.source.split("; ")) <= set(load().sources), row


def test_a_row_from_memory_rests_on_a_source_of_that_kind_and_is_low():
    for row in rows():
        kinds = {load().sources[source].kind for source in row.source.split("; ")}
        if getattr(row, "origin", "") == "memory":
            assert "memory" in kinds, row
            assert getattr(row, "grade", "low") == "low"


@pytest.mark.parametrize(
    "name",
    [
        "steps",
        "second_side",
        "test_condition",
        "fatigue",
        "creep",
        "gold",
        "electromigration",
        "galvanic",
        "tin_pest",
        "materials",
    ],
)
def test_every_new_table_of_practice_names_sources_of_the_table(name):
    assert set(getattr(policy(), name).source.split("; ")) <= set(load().sources)


def test_no_set_is_shipped_for_what_may_have_none():
    families = {entry.family for entry in (*fatigue_data().life, *acceleration_data().law)}
    assert families == {"tin-lead", "tin-silver-copper"}
    assert not any("Bi" in law.alloy for law in creep_data().law)


def test_a_creep_law_has_one_breakdown_stress():
    law = creep_data().law[0].model_dump()
    for broken in ({"alpha_per_mpa": None}, {"stress": 100.0, "stress_per_k": 0.1}):
        with pytest.raises(ValueError, match="alpha_per_mpa"):
            CreepLaw.model_validate({**law, **broken})


def test_cautions_are_told_where_they_apply_and_asked_where_nobody_has_said():
    asked = safety_cautions({})
    assert asked[0] == SCREENING_ONLY
    assert asked[-1] == MISSING_STAYS
    assert sum(text.startswith("Not answered yet") for text in asked) == len(QUESTIONS)
    told = safety_cautions({**dict.fromkeys(QUESTIONS, False), "carries_power": True})
    assert told == (SCREENING_ONLY, CAUTIONS["carries_power"], MISSING_STAYS)
    with pytest.raises(KeyError, match="colour"):
        safety_cautions({"colour": True})


def test_a_bound_tells_its_range_and_every_fault_comes_at_once():
    with pytest.raises(InputError) as caught:
        hold(
            "x",
            Bound("a", 0, 0, 1, "mm", above=True),
            Bound("b", True),
            Bound("c", 2, high=2, below=True),
            faults=(Fault("d", "no"),),
        )
    assert [(fault.where, fault.allowed) for fault in caught.value.faults] == [
        ("d", ""),
        ("a", "above 0 mm and at most 1 mm"),
        ("b", "a finite number"),
        ("c", "below 2"),
    ]
    hold("x", Bound("a", 1, 0, 1, above=True))
