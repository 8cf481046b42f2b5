"""Facts of the trade about life and steps, of common practice; each fails once its constant is broken on purpose."""

from dataclasses import replace

import pytest

from selector.brief import changed, read, shipped
from selector.catalogue import load
from selector.composition import parse
from selector.durability import duty, electromigration, galvanic, legality, tin_pest
from selector.policy import policy
from selector.process import steps
from selector.process.routes import by_mixed_powder, by_undercooled_powder, listed
from selector.process.steps import PartLimit, Step, plan_steps
from selector.process.steps_ladder import ladder
from selector.verdict import Edit, Outcome

SENSOR_STACK = (
    Step("die attach", (PartLimit("die", 340),)),
    Step("module", (PartLimit("module", 260),)),
    Step("board", (PartLimit("board", 200),)),
)


def broken(monkeypatch, module, table, **figures):
    """Break figures of one table of practice for one module."""
    rules = policy()
    wrong = rules.model_copy(update={table: getattr(rules, table).model_copy(update=figures)})
    monkeypatch.setattr(module, "policy", lambda: wrong)


def bismuth_matrix_outcomes():
    """Class 3, though cool and hardly cycled: the class alone decides."""
    base = read(shipped("motor-drive"))
    mild = changed(base, [Edit("service.maximum_c", 50, ""), Edit("service.cyclic_range_k", 40, "")])
    alloys = [alloy for alloy in load().alloys.values() if alloy.composition.matrix == "Bi"]
    assert len(alloys) >= 3
    return {duty.class_and_cycling(mild, alloy).outcome for alloy in alloys}


def test_no_bismuth_matrix_alloy_on_a_high_reliability_brief(monkeypatch):
    assert bismuth_matrix_outcomes() == {Outcome.FAIL}
    broken(monkeypatch, duty, "class_and_cycling", highest_class=3)
    assert Outcome.PASS in bismuth_matrix_outcomes()


def solutions():
    pool = [listed(alloy) for alloy in load().listed()]
    plan = plan_steps(SENSOR_STACK, pool)
    return plan, {plan.names(row) for row in plan.feasible}


def test_die_attach_module_and_board_have_a_ladder(monkeypatch):
    plan, found = solutions()
    assert ("Au-20Sn", "SAC305", "Bi-42Sn") in found
    for row in plan.feasible[plan.by_margin[:200]]:
        peaks = [rung.peak_c[1] for rung in ladder(plan, row)]
        assert peaks[0] <= 340
        assert peaks[1] <= 260
        assert peaks[2] <= 200
    broken(monkeypatch, steps, "steps", margin_k=36.0)  # Au-Sn to SAC leaves 35 K and less
    assert ("Au-20Sn", "SAC305", "Bi-42Sn") not in solutions()[1]
    broken(monkeypatch, steps, "window", superheat_k=120.0)
    assert solutions()[1] == set()


def rework_peaks(make=lambda candidate: candidate):
    find = load().find
    sac, tin_silver, tin_copper = (listed(find(name)) for name in ("SAC305", "Sn-3.5Ag", "Sn-0.7Cu"))
    powders = by_mixed_powder(tin_silver, tin_copper, sac.liquidus_c, sac.onset_c)
    repair = (Step("make"), Step("mend", reworks="make"))
    for made in (sac, by_undercooled_powder(sac), powders):
        candidate = make(made)
        plan = plan_steps(repair, (candidate,))
        (row,) = plan.feasible
        yield ladder(plan, row)[1].peak_c[0]


def test_sac_reworks_at_217_to_220_and_above_whatever_route_formed_the_joint():
    assert all(peak >= 217 for peak in rework_peaks())
    # Broken: rework that takes the cool process temperature for what it has to melt.
    assert not all(peak >= 217 for peak in rework_peaks(lambda c: replace(c, rework_c=c.process_c or (150, 150))))


def pairs():
    find = load().find
    pool = [listed(find(name)) for name in ("SAC305", "Bi-42Sn", "In-48Sn")]
    plan = plan_steps((Step("first"), Step("second", meets=())), pool)
    return {plan.names(row) for row in plan.feasible}


def test_tin_bismuth_follows_sac_and_tin_indium_does_not_follow_tin_bismuth(monkeypatch):
    assert ("SAC305", "Bi-42Sn") in pairs()
    assert ("Bi-42Sn", "In-48Sn") not in pairs()
    broken(monkeypatch, steps, "window", superheat_k=0.0, spread_k=0.0)
    assert ("Bi-42Sn", "In-48Sn") in pairs()


def test_no_125_degc_test_on_tin_bismuth(monkeypatch):
    assert legality.may_be_tested(125, 139).outcome is Outcome.FAIL
    broken(monkeypatch, legality, "test_condition", ratio=0.98)
    assert legality.may_be_tested(125, 139).outcome is Outcome.PASS


def zinc_on_copper():
    return galvanic.galvanic(
        parse("Sn91Zn9"), "Cu", humid=True, sealed=False, vacuum=False, high_reliability=True
    ).outcome


def test_bare_tin_zinc_on_copper_is_out_in_humid_use_and_tin_on_copper_is_not(monkeypatch):
    assert zinc_on_copper() is Outcome.FAIL
    tin = galvanic.galvanic(parse("SAC305"), "Cu", humid=True, sealed=False, vacuum=False, high_reliability=True)
    assert tin.outcome is Outcome.PASS
    broken(monkeypatch, galvanic, "galvanic", flag_v=1.2)
    assert zinc_on_copper() is Outcome.PASS


def doped():
    return "impact in the cold" in tin_pest.tin_pest(parse("Sn98.8Cu0.7Bi0.5"), -50).cautions[0]


def test_half_a_per_cent_of_bismuth_keeps_tin_from_crumbling(monkeypatch):
    assert doped()
    broken(monkeypatch, tin_pest, "tin_pest", inhibited_bi_sb_wt=1.0)
    assert not doped()


def hot_and_crowded():
    return electromigration.electromigration(parse("SAC305"), 12_732, 125, 217).outcome


def test_an_ampere_through_100_um_in_the_heat_is_too_much(monkeypatch):
    assert hot_and_crowded() is Outcome.FAIL
    broken(monkeypatch, electromigration, "electromigration", stop_a_cm2=2e4)
    assert hot_and_crowded() is not Outcome.FAIL


@pytest.mark.parametrize("table", ["steps", "window", "test_condition", "galvanic", "tin_pest", "electromigration"])
def test_what_is_broken_above_is_a_table_of_practice_with_a_source(table):
    assert getattr(policy(), table).source
