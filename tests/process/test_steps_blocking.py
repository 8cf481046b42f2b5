"""What is said when no assignment of alloys to steps is feasible, by hand."""

import pytest

from selector.process.routes import by_reflow
from selector.process.steps import PartLimit, Step, plan_steps
from selector.process.steps_blocking import what_blocks

SAC = by_reflow("SAC305", (220, 220), (217, 217))
SNBI = by_reflow("Sn-58Bi", (139, 139), (139, 139))
INSN = by_reflow("In-48Sn", (118, 118), (118, 118))


def limits(**by_name):
    return tuple(PartLimit(name, c) for name, c in by_name.items())


def test_a_feasible_plan_is_not_blocked():
    assert what_blocks(plan_steps((Step("a", limits(die=250)),), (SAC,))) is None


def test_the_smallest_rise_of_a_limit_is_named_with_part_step_and_amount():
    plan = plan_steps((Step("a", limits(die=260)), Step("b", limits(film=150, glue=160, laminate=260))), (SAC, SNBI))
    (opening,) = what_blocks(plan).openings
    # Sn-58Bi needs 164: film lacks 14 K and glue 4 K; the larger lack is the size of the change.
    assert (opening.kind, opening.step, opening.parts) == ("limit", "b", ("film", "glue"))
    assert (opening.to, opening.change_k) == (164, 14)
    assert opening.opens == ("SAC305", "Sn-58Bi")
    assert opening.text == "step b: raise film from 150 to 164 degC, glue from 160 to 164 degC (+14 K)"


def test_a_remelt_margin_that_blocks_is_named_and_never_taken_below_nothing():
    near = by_reflow("near", (130, 130), (159, 159))
    plan = plan_steps((Step("a", allowed=("near",)), Step("b", allowed=("In-48Sn",))), (near, INSN), margin_k=20)
    (opening,) = what_blocks(plan).openings
    assert (opening.kind, opening.to, opening.change_k) == ("remelt margin", 16, -4)  # 159 - 143 = 16
    melts = plan_steps((Step("a", allowed=("Sn-58Bi",)), Step("b", allowed=("In-48Sn",))), (SNBI, INSN))
    blocked = what_blocks(melts)  # 139 - 143: the first joint would melt, and no limit mends that
    assert blocked.openings == ()
    assert "no change of a limit" in blocked.text


def test_where_no_single_limit_opens_one_the_least_equal_change_of_all_does():
    plan = plan_steps((Step("a", limits(die=240)), Step("b", limits(film=150))), (SAC, SNBI))
    (opening,) = what_blocks(plan).openings
    # SAC305 lacks 5 K, Sn-58Bi 14 K.
    assert (opening.kind, opening.change_k) == ("all limits together", 14)
    assert opening.opens == ("SAC305", "Sn-58Bi")


def test_a_limit_that_is_not_known_is_asked_for_not_raised():
    plan = plan_steps((Step("a", (PartLimit("die", 260), PartLimit("lens", None))),), (SAC,))
    blocked = what_blocks(plan)
    (opening,) = blocked.openings
    assert opening.text == "step a: show that lens stands 245 degC"
    assert opening.change_k == 0
    assert blocked.text.endswith("1 assignments are undecided")
    assert blocked.alone == (("a", 0),)


def test_a_step_that_nothing_fits_is_named():
    plan = plan_steps((Step("a", limits(die=260)), Step("b", limits(film=150), allowed=())), (SAC,))
    blocked = what_blocks(plan)
    assert blocked.alone == (("a", 1), ("b", 0))
    assert "step b" in blocked.text


def test_openings_stand_smallest_change_first():
    pool = (SAC, SNBI, by_reflow("hot", (240, 240), (190, 190)))
    plan = plan_steps((Step("a", limits(die=238)), Step("b", limits(film=160))), pool)
    changes = [abs(entry.change_k) for entry in what_blocks(plan).openings]
    assert changes == sorted(changes)


@pytest.mark.parametrize("count", [3])
def test_limits_that_cannot_be_tried_are_said(monkeypatch, count):
    from selector.process import steps_blocking

    pool = tuple(by_reflow(f"x{i}", (300, 300), (400, 400)) for i in range(12))
    plan = plan_steps(tuple(Step(f"s{i}", limits(film=150)) for i in range(count)), pool)
    monkeypatch.setattr(steps_blocking, "policy", _few)
    blocked = what_blocks(plan)
    assert blocked.openings == ()
    assert "some limits were not tried" in blocked.text


def _few():
    from selector.policy import policy

    rules = policy()
    return rules.model_copy(update={"steps": rules.steps.model_copy(update={"most_assignments": 100})})
