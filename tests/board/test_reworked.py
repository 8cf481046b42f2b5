"""Joints reworked with another alloy: bounded over the share, computed at one that is stated, stopped by lead."""

import time
from datetime import date

import pytest
from test_mixed_zone import board

from selector.board.reworked import rework_alloy, rework_verdicts
from selector.catalogue import load
from selector.decision import decide
from selector.screening import BALL_RULE, saving_edits, screen
from selector.verdict import Outcome

CATALOGUE = load()
SAC = CATALOGUE.find("SAC305")


def reworked(new, share="unknown", service_c=60, alloy=SAC):
    brief = board("none", service_c=service_c, mixing={"rework_alloy": new, "rework_share": share})
    return brief, screen(brief, CATALOGUE, alloy)


def mixed(found):
    return next(verdict for verdict in found.verdicts if verdict.rule == BALL_RULE)


@pytest.mark.parametrize("new", ["none", "unknown", "SAC305"])
def test_no_other_alloy_is_no_mixed_joint(new):
    assert mixed(reworked(new)[1]).outcome is Outcome.NOT_APPLICABLE


def test_an_unknown_share_is_bounded_where_it_melts_first():
    _, fine = reworked("Bi-42Sn", service_c=60)
    assert mixed(fine).outcome is Outcome.PASS
    assert "reworked with another alloy" in mixed(fine).reason
    assert fine.joint_onset.low == pytest.approx(138, abs=1)
    brief, hot = reworked("Bi-42Sn", service_c=150)
    verdict = mixed(hot)
    assert verdict.outcome is Outcome.FAIL
    assert verdict.reason.startswith("reworked with Bi-42Sn: ")
    assert "share that melts first" in verdict.reason
    assert [edit.path for edit in verdict.edits] == ["mixing.rework_alloy"]
    assert "mixing.rework_alloy" in [edit.path for edit in saving_edits(brief, CATALOGUE, hot)]


def test_a_stated_share_is_frozen_and_may_pass_where_the_bound_does_not():
    """A hundredth of Sn-58Bi is 0.6 wt% bismuth: nothing of it counts near 138 degC."""
    bound = [v.outcome for v in rework_verdicts(*told("unknown"), computed=True)]
    frozen = rework_verdicts(*told(0.01), computed=True)
    assert bound[0] is Outcome.FAIL
    assert frozen[0].outcome is Outcome.PASS
    assert "as frozen with 1 % of the new metal" in frozen[0].reason
    assert rework_verdicts(*told(0.01), computed=False)[0].outcome is Outcome.FAIL
    assert rework_verdicts(*told(0.5), computed=True)[0].outcome is Outcome.FAIL
    assert rework_alloy(told(0)[0], CATALOGUE, SAC) is None


def told(share):
    return board("none", service_c=140, mixing={"rework_alloy": "Bi-42Sn", "rework_share": share}), CATALOGUE, SAC, "r"


def test_lead_that_meets_bismuth_stops_whatever_the_share():
    for share in ("unknown", 0.01):
        verdict = mixed(reworked("Sn-37Pb", share, 40, CATALOGUE.find("Bi-42Sn"))[1])
        assert verdict.outcome is Outcome.FAIL
        assert "bismuth meets lead" in verdict.reason


def test_bismuth_of_the_rework_alloy_meets_lead_of_the_board():
    brief = board("none", mixing={"rework_alloy": "Bi-42Sn", "rework_share": 0.1})
    part = brief.parts[0].model_copy(update={"finish": "tin-lead", "lead_bearing": True})
    brief = brief.model_copy(update={"parts": (part,)})
    verdict = mixed(screen(brief, CATALOGUE, SAC))
    assert verdict.outcome is Outcome.FAIL
    assert "meets lead at radio" in verdict.reason


def test_an_alloy_that_the_catalogue_does_not_hold_is_open():
    verdict = mixed(reworked("Sn80Zn20")[1])
    assert verdict.outcome is Outcome.UNKNOWN
    assert "does not hold" in verdict.reason


@pytest.mark.benchmark
def test_a_decision_with_a_stated_share_costs_little_more_once_it_is_warm():
    briefs = [
        board("none", service_c=140, mixing={"rework_alloy": new, "rework_share": 0.1}) for new in ("none", "Bi-42Sn")
    ]
    took = []
    for brief in briefs:
        decide(brief, CATALOGUE)
        started = time.perf_counter()
        decide(brief, CATALOGUE)
        took.append(time.perf_counter() - started)
    assert took[1] < 3 * took[0]


def test_law_and_bans_ask_what_rework_brings_into_the_joint():
    def outcome(rule, **mixing):
        brief = board(
            "none",
            mixing=mixing,
            markets=[{"market": "EU", "date": date(2027, 7, 1), "date_kind": "placed on market"}],
            use={"equipment": "consumer"},
            bans=[{"element": "Sb", "limit_ppm": 1000, "reason": "the customer"}],
        )
        return next(verdict for verdict in screen(brief, CATALOGUE, SAC).verdicts if verdict.rule == rule)

    for rule, new in (("eu_rohs", "Sn-37Pb"), ("customer_ban", "Sn-5Sb")):
        assert outcome(rule, rework_alloy="none").outcome is Outcome.PASS
        assert outcome(rule, rework_alloy=new, rework_share=0).outcome is Outcome.PASS
        found = outcome(rule, rework_alloy=new)
        assert found.outcome is Outcome.UNKNOWN
        assert f"rework with {new}" in found.reason
        # 0.1 % of 37 wt% or 5 wt% is 370 or 50 ppm, under 1000.
        assert outcome(rule, rework_alloy=new, rework_share=0.001).outcome is Outcome.PASS
        assert outcome(rule, rework_alloy=new, rework_share=0.1).outcome is Outcome.UNKNOWN
