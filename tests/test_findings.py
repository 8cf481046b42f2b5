"""What a decision says in words, and which alloys its charts show."""

import pytest

from selector.brief import changed, from_raw, read, shipped
from selector.catalogue import load
from selector.decision import decide
from selector.findings import NEAR_MISSES, shared_changes, worth_drawing
from selector.verdict import Standing


def test_a_change_that_admits_several_alloys_is_told_once_with_all_of_them():
    brief, catalogue = read(shipped("river-logger")), load()
    decision = decide(brief, catalogue)
    (told,) = shared_changes(decision)
    named = told.split(" (")[-1].removesuffix(").").split(", ")
    assert len(named) > 5
    assert told.startswith(
        f"One change admits {len(named)} alloys: change the finish of legacy connector from tin-lead to matte tin"
    )
    after = decide(changed(brief, decision.of(catalogue.find("Bi-42Sn")).edits), catalogue)
    assert {after.of(catalogue.find(name)).standing for name in named} == {Standing.ADMITTED}


@pytest.mark.parametrize("incumbent", ["Pb-5Sn", "unknown", "our usual alloy"])
def test_charts_show_the_nearest_misses_and_the_alloy_in_use_where_it_is_known(incumbent):
    raw = read(shipped("skin-patch")).model_dump()
    decision = decide(from_raw({**raw, "incumbent": incumbent}))
    shown = [entry.alloy.id for entry in worth_drawing(decision, load())]
    kept = [entry.alloy.id for entry in (*decision.admitted, *decision.undecided)]
    missed = [entry.alloy.id for entry in decision.ruled_out if entry.edits][:NEAR_MISSES]
    assert len(missed) == NEAR_MISSES
    assert shown == [*kept, *missed, *(["Pb-5Sn"] if incumbent == "Pb-5Sn" else [])]


def test_an_alloy_in_use_that_is_shown_anyway_stands_once():
    raw = read(shipped("skin-patch")).model_dump()
    decision = decide(from_raw({**raw, "incumbent": "58Bi-42Sn"}))
    shown = [entry.alloy.id for entry in worth_drawing(decision, load())]
    assert shown.count("Bi-42Sn") == 1
