"""Soldering steps: hand-checked ladders, unknowns kept apart, rework, routes, ranking, and every refusal."""

import math

import numpy as np
import pytest

from selector.catalogue import load
from selector.composition import parse
from selector.errors import InputError
from selector.joint.stops import metals_that_meet
from selector.policy import policy
from selector.process import steps as planner
from selector.process.routes import (
    by_mixed_powder,
    by_reaction,
    by_reflow,
    by_undercooled_powder,
    listed,
)
from selector.process.steps import PartLimit, Step, levels_bound, named, plan_steps, remelt_margin_k
from selector.process.steps_ladder import ladder, open_questions

AUSN = by_reflow("Au-20Sn", (280, 280), (280, 280), parse("Au80Sn20"))
SAC = by_reflow("SAC305", (220, 220), (217, 217), parse("SAC305"))
SNBI = by_reflow("Sn-58Bi", (139, 139), (139, 139), parse("Sn42Bi58"))
INSN = by_reflow("In-48Sn", (118, 118), (118, 118), parse("In52Sn48"))
SNPB = by_reflow("Sn-37Pb", (183, 183), (183, 183), parse("Sn63Pb37"))
POOL = (AUSN, SAC, SNBI, INSN, SNPB)


def limit(c, name="part"):
    return (PartLimit(name, c),)


def found(plan):
    return {plan.names(row) for row in plan.feasible}


def faults(*arguments, **named_arguments):
    with pytest.raises(InputError) as caught:
        plan_steps(*arguments, **named_arguments)
    return caught.value.faults


STACK = (Step("die", limit(340)), Step("module", limit(260)), Step("board", limit(200)))


def test_three_steps_by_hand():
    plan = plan_steps(STACK, (AUSN, SAC, SNBI, INSN))
    # Au-20Sn peaks at 305, SAC305 at 245, Sn-58Bi at 164, In-48Sn at 143; margins 35, 53, 74, 21 and more hold, -4 not.
    assert found(plan) == {("Au-20Sn", "SAC305", "Sn-58Bi"), ("Au-20Sn", "SAC305", "In-48Sn")}
    assert len(plan.undecided) == 0


def test_the_ladder_tells_each_margin_by_hand():
    plan = plan_steps(STACK, POOL)
    die, module, board = ladder(plan, named(plan, "Au-20Sn", "SAC305", "Sn-58Bi"))
    assert (die.peak_c, die.limit_margin_k, die.hottest_later, die.remelt_margin_k) == ((305, 305), 35, "module", 35)
    assert (module.peak_c, module.limit_margin_k, module.remelt_margin_k) == ((245, 245), 15, 53)
    assert (board.limit_name, board.limit_margin_k, board.remelt_margin_k) == ("part", 36, None)
    assert {rung.needed_k for rung in (die, module, board)} == {10}


def test_slack_is_the_tightest_distance_to_any_limit():
    plan = plan_steps(STACK, (AUSN, SAC, SNBI))
    # Limits leave 35, 15 and 36; remelt margins leave 35 - 10 and 53 - 10.
    assert plan.slack_k.tolist() == [15]


def test_ranking_by_merit_and_by_margin_and_a_missing_merit_comes_last():
    merit = [{"Au-20Sn": 1.0}, {"SAC305": 1.0}, {"Sn-58Bi": 5.0}]
    plan = plan_steps(STACK, (AUSN, SAC, SNBI, INSN), merit)
    assert [plan.names(plan.feasible[i])[2] for i in plan.by_merit] == ["Sn-58Bi", "In-48Sn"]
    assert plan.merit[plan.by_merit][0] == 7.0
    assert math.isnan(plan.merit[plan.by_merit][1])
    wide = plan_steps((Step("a", limit(500)), Step("b", limit(500))), POOL[:4])
    best = wide.feasible[wide.by_margin[0]]
    assert wide.names(best) == ("Au-20Sn", "In-48Sn")
    assert wide.slack_k[wide.by_margin].tolist() == sorted(wide.slack_k.tolist(), reverse=True)


def test_an_empty_merit_keeps_a_step_out_of_the_sum():
    plan = plan_steps(STACK, (AUSN, SAC, SNBI), [{}, {"SAC305": 2.0}, {}])
    assert plan.merit.tolist() == [2.0]


def test_a_margin_that_is_met_exactly_holds_and_a_hair_less_does_not():
    tie = by_reflow("tie", (100.1, 100.1), (174.0, 174.0))
    later = by_reflow("later", (139, 139), (139, 139))
    steps = (Step("a", allowed=("tie",)), Step("b", allowed=("later",)))
    assert len(plan_steps(steps, (tie, later)).feasible) == 1
    hair = by_reflow("tie", (100.1, 100.1), (173.99, 173.99))
    assert len(plan_steps(steps, (hair, later)).feasible) == 0


def test_what_is_not_known_leaves_assignments_undecided_and_says_what_decides():
    vague = by_reflow("vague", None, None)
    wide = by_reflow("wide", (130, 180), (120, 139))
    plan = plan_steps((Step("a", limit(300)), Step("b", limit(170))), (SAC, vague, wide))
    assert found(plan) == set()
    told = {plan.names(row): open_questions(plan, row) for row in plan.undecided}
    assert ("SAC305", "wide") in told
    assert told["SAC305", "wide"] == ("b: holds if part stands 205 degC",)
    assert "b: the liquidus of vague is not known" in told["SAC305", "vague"]
    assert "a: the remelt onset of vague is not known" in told["vague", "wide"]
    assert ("SAC305", "SAC305") not in told  # surely too hot


def test_an_onset_that_straddles_the_margin_is_asked_for():
    wide, cool = by_reflow("wide", (130, 130), (120, 139)), by_reflow("cool", (90, 90), (90, 90))
    plan = plan_steps((Step("a", allowed=("wide",)), Step("b", allowed=("cool",))), (wide, cool))
    (row,) = plan.undecided
    assert open_questions(plan, row) == ("a: holds if the remelt onset of wide is 125 degC or more",)  # 90 + 25 + 10


def test_rework_of_what_nobody_knows_the_melting_of_is_undecided():
    vague = by_reflow("vague", None, None)
    plan = plan_steps((Step("a"), Step("fix", limit(260), reworks="a")), (vague,))
    (row,) = plan.undecided
    assert ladder(plan, row)[1].peak_c is None
    assert open_questions(plan, row) == ("fix: the liquidus of vague is not known",)


def test_a_part_limit_that_is_not_known_is_no_pass():
    plan = plan_steps((Step("a", (PartLimit("die", None), PartLimit("board", 260))),), (SAC, AUSN))
    assert found(plan) == set()
    assert [plan.names(row) for row in plan.undecided] == [("SAC305",)]
    assert open_questions(plan, plan.undecided[0]) == ("a: holds if die stands 245 degC",)


def test_no_limit_at_all_binds_nothing():
    plan = plan_steps((Step("a"),), (by_reflow("vague", None, None), SAC))
    assert len(plan.feasible) == 2
    assert np.isinf(plan.slack_k).all()


def test_superheat_and_spread_are_a_steps_own():
    steps = (Step("a", limit(240), superheat_k=15, spread_k=5), Step("b", limit(239), superheat_k=15, spread_k=5))
    assert found(plan_steps(steps, (SAC,))) == set()
    assert found(plan_steps(steps[:1], (SAC,))) == {("SAC305",)}


def test_lead_and_bismuth_are_open_until_someone_says_whether_they_meet():
    def with_(meets):
        return plan_steps((Step("a", limit(260)), Step("b", limit(200), meets=meets)), (SNPB, SNBI))

    unsaid, meeting, apart = with_(None), with_(("a",)), with_(())
    assert [unsaid.names(row) for row in unsaid.undecided] == [("Sn-37Pb", "Sn-58Bi")]
    assert "never meets" in open_questions(unsaid, unsaid.undecided[0])[0]
    assert (len(meeting.feasible), len(meeting.undecided)) == (0, 0)
    assert found(apart) == {("Sn-37Pb", "Sn-58Bi")}  # 183 - 164 = 19 K


def test_a_joint_that_may_remelt_is_the_users_claim_and_is_said():
    steps = (Step("top", limit(260)), Step("bottom", limit(260), may_remelt=("top",)))
    plan = plan_steps(steps, (SAC,))
    assert found(plan) == {("SAC305", "SAC305")}
    assert any("user's claim" in caution for caution in ladder(plan, plan.feasible[0])[0].cautions)
    assert found(plan_steps((steps[0], Step("bottom", limit(260))), (SAC,))) == set()


def test_rework_melts_its_own_joint_and_no_other():
    steps = (*STACK, Step("repair", limit(300), reworks="module"))
    plan = plan_steps(steps, (AUSN, SAC, SNBI))
    assert found(plan) == set()  # 139 - 245
    local = (*STACK, Step("repair", limit(300), reworks="module", may_remelt=("board",)))
    plan = plan_steps(local, (AUSN, SAC, SNBI))
    assert found(plan) == {("Au-20Sn", "SAC305", "Sn-58Bi", "SAC305")}
    late = plan_steps((*STACK, Step("repair", limit(300), reworks="board")), (AUSN, SAC, SNBI))
    assert found(late) == {("Au-20Sn", "SAC305", "Sn-58Bi", "Sn-58Bi")}


def test_rework_by_another_metal_leaves_the_lower_onset_or_an_unknown_one():
    steps = (
        Step("a", limit(260)),
        Step("fix", limit(260), allowed=("Sn-58Bi",), reworks="a"),
        Step("last", limit(200)),
    )
    pool = (SAC, SNBI, by_reflow("cool", (60, 60), (60, 60)))
    unknown = plan_steps(steps, pool)
    assert ("SAC305", "Sn-58Bi", "cool") in {unknown.names(row) for row in unknown.undecided}
    assert ("SAC305", "Sn-58Bi", "cool") not in found(unknown)
    known = plan_steps(steps, pool, mixed_onset=lambda one, other: (137, 139))
    assert ("SAC305", "Sn-58Bi", "cool") in found(known)  # 137 - 85 = 52 K
    assert ("SAC305", "Sn-58Bi", "Sn-58Bi") not in found(known)  # 137 - 164
    rung = ladder(known, named(known, "SAC305", "Sn-58Bi", "cool"))[0]
    assert rung.onset_c == (137, 139)
    assert rung.remelt_margin_k == 52


def test_rework_has_to_melt_the_joint_whatever_route_formed_it():
    powders = by_mixed_powder(SNBI, SAC, (200, 205), (138, 139))
    plan = plan_steps((Step("a", limit(170)), Step("fix", limit(260), reworks="a")), (powders,))
    made, mended = ladder(plan, plan.feasible[0])
    assert made.peak_c == (164, 164)
    assert mended.peak_c == (225, 230)
    droplets = by_undercooled_powder(SAC)
    plan = plan_steps((Step("a", limit(60)), Step("fix", limit(260), reworks="a")), (droplets,))
    made, mended = ladder(plan, plan.feasible[0])
    assert made.peak_c == (20, 40)
    assert mended.peak_c == (245, 245)
    assert mended.peak_c[0] >= 217


def test_a_reacted_joint_keeps_the_lower_onset_until_a_trace_is_given():
    reacted = by_reaction(SNBI, (180, 190), (201, 271), share_reacted=0.8, hold_min=10)
    assert reacted.onset_c == (139, 139)
    assert any("until a measured trace" in caution for caution in reacted.cautions)
    steps = (Step("a", limit(200)), Step("b", limit(170)))
    assert found(plan_steps(steps, (reacted, SNBI))) == set()
    traced = by_reaction(SNBI, (180, 190), (201, 271), share_reacted=0.8, trace_onset_c=(201, 201))
    assert (traced.name, "Sn-58Bi") in found(plan_steps(steps, (traced, SNBI)))  # 201 - 164 = 37 K


def test_a_hot_earlier_joint_and_close_melting_points_are_cautions():
    plan = plan_steps((Step("a", limit(400)), Step("b", limit(400))), (AUSN, by_reflow("near", (240, 240), (240, 240))))
    rung = ladder(plan, named(plan, "Au-20Sn", "near"))[0]
    assert any("compounds grow" in caution for caution in rung.cautions)  # 538.15/553.15 = 0.973
    close = plan_steps((Step("a", superheat_k=0, spread_k=0), Step("b", superheat_k=0, spread_k=0)), (SNBI, INSN))
    assert any("21 K between" in caution for caution in ladder(close, named(close, "Sn-58Bi", "In-48Sn"))[0].cautions)


def test_every_catalogue_alloy_is_a_candidate_with_its_source():
    pool = [listed(alloy) for alloy in load().alloys.values()]
    assert len(pool) == len(load().alloys) >= 70
    assert all(candidate.source and candidate.composition for candidate in pool)
    sac = listed(load().find("SAC305"))
    assert sac.liquidus_c[0] <= 220 <= sac.liquidus_c[1]


def test_what_contradicts_itself_is_refused_all_at_once():
    steps = (
        Step("a", limit(math.nan, "die"), superheat_k=-1, may_remelt=("b",)),
        Step("a", allowed=("gold",)),
        Step("c", reworks="a"),
        Step("d", reworks="c"),
    )
    told = " | ".join(str(fault) for fault in faults(steps, (SAC, SAC), [{}], margin_k=-5))
    for part in (
        "step a.die",
        "step a.superheat_k",
        "names a step that is not before it",
        "allows what is not a candidate",
        "reworks a rework",
        "name given twice",
        "merit: has another length",
        "margin_k",
    ):
        assert part in told
    assert "steps: are missing" in " ".join(map(str, faults((), POOL)))


def test_too_many_assignments_are_refused_with_a_remedy(monkeypatch):
    rules = policy()
    few = rules.model_copy(update={"steps": rules.steps.model_copy(update={"most_assignments": 1000})})
    monkeypatch.setattr(planner, "policy", lambda: few)
    pool = [by_reflow(f"x{i}", None, None) for i in range(11)]
    assert len(plan_steps([Step(f"s{i}") for i in range(2)], pool).undecided) == 121
    (fault,) = faults([Step(f"s{i}") for i in range(3)], pool)
    assert "too many assignments" in fault.problem
    assert "fewer alloys" in fault.remedy


def test_no_candidates_give_an_empty_plan():
    plan = plan_steps(STACK, ())
    assert plan.feasible.shape == plan.undecided.shape == (0, 3)


def test_names_that_are_no_assignment_are_refused():
    plan = plan_steps(STACK, POOL)
    with pytest.raises(InputError) as caught:
        named(plan, "gold", "SAC305")
    assert [fault.problem for fault in caught.value.faults] == ["is no candidate", "has another length than the steps"]


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: remelt_margin_k(217, 139, -1, 5), "superheat_k"),
        (lambda: remelt_margin_k(math.inf, 139, 20, 5), "onset_c"),
        (lambda: levels_bound(280, 118, 0), "spacing_k"),
        (lambda: levels_bound(100, 118, 40), "hottest_c"),
    ],
)
def test_a_figure_that_cannot_be_is_named(call, name):
    with pytest.raises(InputError) as caught:
        call()
    assert [fault.where for fault in caught.value.faults] == [name]


@pytest.mark.parametrize(
    ("earlier", "later", "feasible", "undecided"),
    [
        ("Sn63Pb37", "Sn42Bi58", 0, 0),
        ("Sn-58Bi", "In52Sn48", 0, 0),
        ("Sn63Pb37", "In52Sn48", 0, 0),
        # Bismuth under its limit leaves a question, and the trace of lead under 0.1 wt% none.
        ("Sn63Pb37", "Sn-3.4Ag-4.8Bi", 0, 1),
        ("Sn-3Ag-0.05Pb", "Sn42Bi58", 1, 0),
        ("SAC305", "In52Sn48", 1, 0),
    ],
)
def test_lead_bismuth_and_indium_stop_each_other_where_joints_meet(earlier, later, feasible, undecided):
    pool = (
        by_reflow("a", (300, 300), (300, 300), parse(earlier)),
        by_reflow("b", (100, 100), (100, 100), parse(later)),
    )
    steps = (Step("one", allowed=("a",)), Step("two", allowed=("b",), meets=("one",)))
    plan = plan_steps(steps, pool)
    assert (len(plan.feasible), len(plan.undecided)) == (feasible, undecided)
    if undecided:
        assert open_questions(plan, plan.undecided[0]) == (
            "two: holds if a joint of both with one keeps its onset: lead and bismuth meet",
        )
    apart = plan_steps((steps[0], Step("two", allowed=("b",), meets=())), pool)
    assert len(apart.feasible) == 1


def test_the_table_of_meetings_is_that_of_the_stops_pair_by_pair():
    pool = [listed(alloy) for alloy in load().alloys.values()]
    search = plan_steps((Step("one", limit(300)),), pool).search
    assert search.stops.any()
    assert search.doubts.any()
    for i in range(0, len(pool), 5):
        for j, other in enumerate(pool):
            met = metals_that_meet(pool[i].composition, other.composition) if i != j else None
            assert (search.stops[i, j], search.doubts[i, j]) == (bool(met and met[1]), bool(met and not met[1]))
