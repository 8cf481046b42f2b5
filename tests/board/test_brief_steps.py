"""The brief's steps as a screen: one alloy at one step, everything else enumerated."""

import numpy as np
import pytest

from selector.board.steps import peak_or_steps, steps_of, steps_screen
from selector.brief import Brief, changed, from_raw, read, shipped
from selector.catalogue import load
from selector.decision import decide
from selector.errors import InputError
from selector.planning import MARGIN, plan_for
from selector.process.routes import listed
from selector.process.steps import PartLimit, Step, plan_steps
from selector.verdict import Outcome, Verdict

CATALOGUE = load()
STACK = read(shipped("sensor-stack"))
TWO = [
    {"name": "first", "limits": [{"name": "die", "limit_c": 260}], "meets": []},
    {"name": "second", "limits": [{"name": "film", "limit_c": 200}], "meets": []},
]


def stepped(steps=TWO, **tables):
    return from_raw({"title": "t", "steps": steps, **tables})


def screened(brief, name):
    return steps_screen(brief, CATALOGUE, CATALOGUE.find(name))


def test_no_steps_are_not_judged_and_the_one_peak_stands():
    brief = from_raw({"title": "t"})
    assert screened(brief, "SAC305").outcome is Outcome.NOT_APPLICABLE
    peak = Verdict("process_peak", Outcome.PASS, "why", "from")
    assert peak_or_steps(brief, peak) is peak
    assert peak_or_steps(STACK, peak).outcome is Outcome.NOT_APPLICABLE


def test_the_screen_agrees_with_the_whole_plan():
    """Whoever stands in a feasible assignment passes, who stands only in undecided ones is open, the rest fail."""
    pool = CATALOGUE.listed()
    plan = plan_steps(steps_of(STACK, CATALOGUE), [listed(alloy) for alloy in pool])
    sure, maybe = set(np.unique(plan.feasible).tolist()), set(np.unique(plan.undecided).tolist())
    seen = set()
    for number, alloy in enumerate(pool):
        expected = Outcome.PASS if number in sure else Outcome.UNKNOWN if number in maybe else Outcome.FAIL
        seen.add(expected)
        assert steps_screen(STACK, CATALOGUE, alloy).outcome is expected, alloy.id
    assert seen == {Outcome.PASS, Outcome.UNKNOWN, Outcome.FAIL}


def test_measured_is_the_peak_at_the_step_with_most_room():
    """SAC305 peaks at 220 + 25 degC against 260 in the first of two steps; tin-bismuth at 139 + 25 there or after."""
    found = screened(stepped(), "SAC305")
    assert found.outcome is Outcome.PASS
    assert (found.measured.high, found.limit, found.margin) == (245, 260, 15)
    assert "fits first" in found.reason
    assert "second" not in found.reason


def test_the_limit_that_blocks_is_told_and_raising_it_admits():
    tight = [{**TWO[0], "limits": [{"name": "die", "limit_c": 230}]}, TWO[1]]
    found = screened(stepped(tight), "SAC305")
    assert found.outcome is Outcome.FAIL
    assert "first: needs" in found.reason
    (edit,) = found.edits
    assert (edit.path, edit.value, edit.change) == ("steps[0].limits[0].limit_c", 245, 15)
    assert screened(changed(stepped(tight), [edit]), "SAC305").outcome is Outcome.PASS


def test_an_unknown_limit_leaves_it_open_with_what_it_must_stand():
    unknown = [{**TWO[0], "limits": [{"name": "die"}]}, TWO[1]]
    found = screened(stepped(unknown), "SAC305")
    assert found.outcome is Outcome.UNKNOWN
    assert "show that die stands 245 degC in first" in found.threshold
    assert screened(changed(stepped(unknown), found.edits), "SAC305").outcome is Outcome.PASS


def test_a_step_without_limits_is_open_and_never_a_pass():
    assert screened(stepped([TWO[0], {**TWO[1], "limits": []}]), "SAC305").outcome is Outcome.UNKNOWN


def test_what_is_rated_outside_the_steps_counts_in_the_last_one():
    parts = [{"name": "radio", "rating_c": 160, "rating_at": "body"}]
    steps = steps_of(stepped(parts=parts), CATALOGUE)
    assert [limit.name for limit in steps[0].limits] == ["die"]
    assert [limit.name for limit in steps[1].limits] == ["film", "radio"]
    # Tin-bismuth peaks at 139 + 25 degC: over 160, so that it fits the first step only, with indium after it.
    assert "second" not in screened(stepped(parts=parts), "Bi-42Sn").reason.split(":")[0]


def test_a_list_of_allowed_alloys_binds_and_takes_any_spelling():
    only = [{**TWO[0], "allowed": ["96.5Sn3Ag0.5Cu"]}, {**TWO[1], "allowed": ["Sn42Bi58"]}]
    assert [step.allowed for step in steps_of(stepped(only), CATALOGUE)] == [("SAC305",), ("Bi-42Sn",)]
    assert screened(stepped(only), "SAC305").outcome is Outcome.PASS
    found = screened(stepped(only), "SAC405")
    assert (found.outcome, found.edits) == (Outcome.FAIL, ())


def test_an_allowed_alloy_that_is_not_there_is_named():
    with pytest.raises(InputError, match=r"steps\[0\]\.allowed"):
        decide(stepped([{**TWO[0], "allowed": ["Sn-50Bi-1Xx"]}]))


def test_superheat_of_the_process_stands_in_where_a_step_has_none():
    steps = steps_of(stepped(process={"superheat_k": 30, "board_spread_k": 7}), CATALOGUE)
    assert [step.rise_k for step in steps] == [37, 37]
    assert steps_of(stepped(), CATALOGUE)[0].rise_k == 25


def test_rework_is_a_step_that_places_no_alloy():
    steps = [*TWO, {"name": "rework", "limits": [{"name": "film", "limit_c": 260}], "reworks": "second"}]
    brief = stepped(steps)
    assert steps_of(brief, CATALOGUE)[2].reworks == "second"
    assert "rework" not in screened(brief, "Bi-42Sn").reason


def test_the_sensor_stack_tells_its_story():
    decision = decide(STACK)
    fits = {c.alloy.id: c.verdict("soldering_steps").reason for c in decision.admitted}
    assert fits["Bi-42Sn"].startswith("fits board:")
    assert fits["SAC305"].startswith("fits die attach and module:")
    assert fits["Au-20Sn"].startswith("fits die attach:")
    missed = decision.of(CATALOGUE.find("Sn-35Bi-1Ag"))
    assert [edit.text for edit in missed.edits] == ["raise polyester film in board from 200 to 205.5 degC (+5.5 K)"]
    assert all(share.level.low is not None for share in decision.admitted[0].shares if "headroom" in share.criterion)


def test_a_brief_of_the_old_kind_says_nothing_of_the_board():
    brief = Brief(title="t")
    assert not any(getattr(brief, name).says for name in ("printing", "mixing", "life", "materials", "footprint"))


def test_a_joint_reworked_with_another_alloy_is_bounded_by_rule_and_not_left_open():
    """SAC305 with Bi-42Sn keeps 138 degC at least, whatever the share: 20 K over In-48Sn at its liquidus, 118."""
    hot = (PartLimit("board", 260.0),)
    made = Step("made", hot, ("SAC305",), meets=())
    mended = Step("mended", hot, ("Bi-42Sn",), reworks="made", meets=())
    last = Step("last", hot, ("In-48Sn",), superheat_k=0, spread_k=0, meets=())
    (found,) = plan_for((made, mended, last), CATALOGUE).best(MARGIN)
    assert found.alloys == ("SAC305", "Bi-42Sn", "In-48Sn")
    assert found.rungs[0].onset_c[0] == pytest.approx(138, abs=1)
