"""What the demonstration briefs must come to, declared before the code, and the promises of the decision."""

import json

import pytest

from selector import brief as briefs
from selector.brief import changed
from selector.catalogue import load
from selector.challenge import challenge
from selector.decision import decide, second_opinions
from selector.errors import InputError
from selector.record.plain import plain
from selector.scoring.second_opinions import weighted_sum_check
from selector.screening import screen
from selector.verdict import Edit, Outcome, Standing

NAMES = ("skin-patch", "motor-drive", "river-logger", "sensor-stack")


def opened(name):
    return briefs.read(briefs.shipped(name))


@pytest.fixture(scope="module")
def decisions():
    return {name: decide(opened(name)) for name in NAMES}


def ids(candidates):
    return [candidate.alloy.id for candidate in candidates]


def verdict(candidate, rule):
    return next(v for v in candidate.screened.verdicts if v.rule == rule)


def test_skin_patch_admits_the_tin_bismuth_grades_that_stay_cool(decisions):
    admitted = ids(decisions["skin-patch"].admitted)
    assert {"Bi-42Sn", "Bi-42Sn-1Ag", "Bi-42Sn-0.4Ag", "Sn-45Bi", "Sn-47Bi"} <= set(admitted)


@pytest.mark.parametrize(
    "alloy", ["SAC305", "SAC105", "Sn-3.5Ag", "Sn-0.7Cu", "Sn-37Pb", "Sn-9Zn", "Au-20Sn", "Sn-35Bi-1Ag"]
)
def test_skin_patch_rules_out(decisions, alloy):
    assert alloy in ids(decisions["skin-patch"].ruled_out)


def test_sn_35bi_1ag_is_the_nearest_miss_on_the_skin_patch(decisions):
    first = decisions["skin-patch"].ruled_out[0]
    assert first.alloy.id == "Sn-35Bi-1Ag"
    (edit,) = first.edits
    assert edit.unit == "K"
    assert edit.change == pytest.approx(5.5)
    assert "charging connector" in edit.text


def test_no_indium_tin_grade_is_admitted_unsealed_and_sealing_admits_it(decisions):
    catalogue = load()
    for candidate in decisions["skin-patch"].admitted:
        assert candidate.alloy.composition.wt("In") == 0
    indium_tin = [a.id for a in catalogue.listed() if a.family == "indium-tin"]
    assert len(indium_tin) >= 3
    sealed = changed(opened("skin-patch"), [Edit("use.sealed", True, "seal")])
    assert "In-48Sn" in ids(decide(sealed).admitted)


def test_nothing_above_the_antimony_ban_is_admitted(decisions):
    decision = decisions["skin-patch"]
    for candidate in (*decision.admitted, *decision.undecided):
        assert candidate.alloy.composition.ppm("Sb") <= 1000
    banned = decision.of(load().find("Sn-2.5Ag-0.8Cu-0.5Sb"))
    assert verdict(banned, "customer_ban").outcome is Outcome.FAIL
    assert verdict(banned, "customer_ban").measured.value == 5000


def test_motor_drive_admits_strengthened_and_silver_grades(decisions):
    admitted = ids(decisions["motor-drive"].admitted)
    wanted = {"SAC305", "Sn-3.8Ag-0.7Cu", "Sn-3.4Ag-4.8Bi", "Sn-3.8Ag-0.7Cu-3Bi-1.4Sb-0.15Ni"}
    assert wanted <= set(admitted)


def test_motor_drive_rules_out_every_bismuth_and_indium_matrix_grade(decisions):
    decision = decisions["motor-drive"]
    looked_at = [a for a in load().listed() if a.composition.matrix in ("Bi", "In") or a.composition.wt("Bi") > 5]
    assert len(looked_at) >= 15
    for alloy in looked_at:
        assert decision.of(alloy).standing is Standing.RULED_OUT, alloy.id


def test_motor_drive_is_led_by_a_strengthened_or_high_silver_grade(decisions):
    leader = decisions["motor-drive"].admitted[0].alloy
    assert leader.composition.wt("Ag") >= 3
    assert leader.composition.wt("Cu") > 0
    assert leader.id not in ("Sn-0.7Cu", "SAC105")


def test_river_logger_admits_no_bismuth_grade_each_for_the_lead_finish(decisions):
    decision = decisions["river-logger"]
    rich = [a for a in load().listed() if a.composition.wt("Bi") > 5]
    assert len(rich) >= 12
    for alloy in rich:
        found = verdict(decision.of(alloy), "lead_with_bismuth")
        assert found.outcome is Outcome.FAIL, alloy.id
        assert "legacy connector" in found.reason
    for alloy in load().listed():
        if 1 <= alloy.composition.wt("Bi") <= 5:
            assert verdict(decision.of(alloy), "lead_with_bismuth").outcome is Outcome.UNKNOWN, alloy.id
            assert decision.of(alloy).standing is not Standing.ADMITTED


@pytest.mark.parametrize("alloy", ["Bi-42Sn", "Bi-42Sn-1Ag"])
def test_changing_the_lead_finish_of_the_river_logger_admits(alloy):
    brief = opened("river-logger")
    index = next(i for i, part in enumerate(brief.parts) if part.name == "legacy connector")
    mended = changed(brief, [Edit(f"parts[{index}].finish", "matte tin", "")])
    assert alloy in ids(decide(mended).admitted)
    answer = challenge(load().find(alloy), brief, load())
    assert [edit.path for edit in answer.edits] == [f"parts[{index}].finish"]
    assert answer.saved
    assert "legacy connector" in answer.edits[0].text


@pytest.mark.parametrize("name", NAMES)
def test_at_least_fifty_alloys_that_are_not_fusible_are_looked_at(decisions, name):
    looked_at = [c for c in decisions[name].candidates if "fusible" not in c.alloy.family]
    assert len(looked_at) >= 50


@pytest.mark.parametrize("name", NAMES)
def test_every_saving_change_really_admits(decisions, name):
    brief, catalogue = opened(name), load()
    tried = 0
    for candidate in (*decisions[name].ruled_out, *decisions[name].undecided):
        if candidate.edits:
            again = screen(changed(brief, candidate.edits), catalogue, candidate.alloy)
            assert again.standing is Standing.ADMITTED, (candidate.alloy.id, again.blocking)
            tried += 1
    assert tried >= 4


@pytest.mark.parametrize("name", NAMES)
def test_the_changes_offered_are_the_smallest_that_admit(decisions, name):
    """A hair less than the offered number, in any one field, no longer admits."""
    brief, catalogue = opened(name), load()
    offered = [
        (candidate, edit)
        for candidate in decisions[name].ruled_out
        for edit in candidate.edits
        if isinstance(edit.value, float) and edit.change is not None
    ]
    tried = 0
    for candidate, shy in offered[:16]:
        less = Edit(shy.path, shy.value - (0.5 if shy.change > 0 else -0.5), shy.text)
        edits = tuple(less if edit is shy else edit for edit in candidate.edits)
        try:
            again = screen(changed(brief, edits), catalogue, candidate.alloy)
        except InputError:
            continue  # a hair less does not even hold together as a brief
        assert again.standing is not Standing.ADMITTED, (candidate.alloy.id, shy)
        tried += 1
    assert tried >= 4


@pytest.mark.parametrize("name", NAMES)
def test_every_verdict_says_why_and_from_where(decisions, name):
    for candidate in decisions[name].candidates:
        for entry in candidate.screened.verdicts:
            assert entry.reason
            assert entry.source
            if entry.outcome is Outcome.UNKNOWN:
                assert entry.threshold, (candidate.alloy.id, entry.rule)


@pytest.mark.parametrize("name", NAMES)
def test_the_order_is_by_lower_bound_and_bounds_enclose_the_score(decisions, name):
    lows = [candidate.score_low for candidate in decisions[name].admitted]
    assert lows == sorted(lows, reverse=True)
    for candidate in decisions[name].candidates:
        if candidate.score is not None:
            assert candidate.score_low - 1e-9 <= candidate.score <= candidate.score_high + 1e-9


def test_a_missing_value_leaves_bounds_and_no_score(decisions):
    missing = [c for c in decisions["motor-drive"].admitted if any(s.level.low is None for s in c.shares)]
    assert missing
    for candidate in missing:
        assert candidate.score is None
        gap = sum(share.weight for share in candidate.shares if share.level.low is None) * 100
        assert candidate.score_high - candidate.score_low >= gap - 1e-9


def test_scikit_criteria_confirms_the_scores(decisions):
    complete = [c for c in decisions["skin-patch"].candidates if c.score is not None]
    assert len(complete) >= 5
    worths = [[share.worth / 100 for share in c.shares] for c in complete]
    weights = [share.weight for share in complete[0].shares]
    theirs = weighted_sum_check(worths, weights)
    for candidate, score in zip(complete, theirs, strict=True):
        assert candidate.score == pytest.approx(100 * score, abs=1e-10)


def test_second_opinions_name_who_is_left_out(decisions):
    found = second_opinions(decisions["skin-patch"])
    methods = ["TOPSIS", "VIKOR", "PROMETHEE II", "SPOTIS", "Geometric value"]
    assert [opinion.method for opinion in found.opinions] == methods
    assert set(found.left_out) == {c.alloy.id for c in decisions["skin-patch"].admitted if c.score is None}
    labels = [opinion.label for opinion in found.opinions]
    assert all("relative to this list" in label for label in labels[:3])
    assert all("independent of the list" in label for label in labels[3:])
    assert second_opinions(decisions["river-logger"]).refused


def test_an_unknown_brief_admits_nothing_and_says_what_would_decide():
    decision = decide(briefs.from_raw({"title": "nothing known"}))
    assert not decision.admitted
    assert decision.undecided
    for candidate in decision.undecided:
        assert all(entry.threshold for entry in candidate.blocking())


def test_dangerous_uses_are_called_candidates_to_qualify(decisions):
    assert any("candidates to qualify" in caution for caution in decisions["motor-drive"].cautions)
    assert not any("candidates to qualify" in caution for caution in decisions["skin-patch"].cautions)
    for decision in decisions.values():
        assert decision.cautions[0] == "This is a screening aid. It has qualified no joint."


def test_every_market_of_the_skin_patch_is_judged(decisions):
    decision = decisions["skin-patch"]
    assert not any("No rule set is loaded" in caution for caution in decision.cautions)
    rules = {verdict.rule for verdict in decision.admitted[0].screened.verdicts}
    assert {"eu_rohs", "us_law", "china_law"} <= rules


@pytest.mark.parametrize("incumbent", ["Sn-50Bi", "our usual alloy"])
def test_an_alloy_in_use_that_is_not_in_the_catalogue_is_told(incumbent):
    raw = opened("skin-patch").model_dump()
    told = f"The alloy in use, {incumbent}, is not in the catalogue: it was not compared."
    assert told in decide(briefs.from_raw({**raw, "incumbent": incumbent})).cautions


@pytest.mark.parametrize("incumbent", ["SAC305", "63/37", "unknown"])
def test_an_alloy_in_use_that_is_found_or_not_named_asks_for_no_caution(incumbent):
    raw = opened("skin-patch").model_dump()
    decision = decide(briefs.from_raw({**raw, "incumbent": incumbent}))
    assert not [caution for caution in decision.cautions if "alloy in use" in caution]


def test_an_override_admits_with_its_reason_in_the_cautions():
    raw = opened("skin-patch").model_dump()
    raw["ipc_class"] = 3
    override = {"rule": "class_and_cycling", "alloy": "Bi-42Sn", "reason": "qualified on this board", "author": "lab"}
    without = decide(briefs.from_raw(raw))
    assert without.of(load().find("Bi-42Sn")).standing is Standing.RULED_OUT
    decision = decide(briefs.from_raw({**raw, "overrides": [override]}))
    found = decision.of(load().find("Bi-42Sn"))
    assert verdict(found, "class_and_cycling").outcome is Outcome.PASS
    assert any("qualified on this board" in caution for caution in found.screened.cautions)
    assert decision.of(load().find("Bi-42Sn-1Ag")).standing is Standing.RULED_OUT


def test_plain_data_is_strict_json(decisions):
    for decision in decisions.values():
        assert json.loads(json.dumps(plain(decision), allow_nan=False))["data_hash"] == decision.data_hash
