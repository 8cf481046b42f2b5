"""`joint --market --on --equipment`: the law of the finished joint, who brings what, and what is refused."""

from functools import partial

import pytest

from selector.brief import read, shipped
from selector.catalogue import load
from selector.enquiry.joint_asked import joint_asked
from selector.enquiry.joint_case import answer_joint
from selector.enquiry.joint_law import contexts_of, law_of, typed_contexts
from selector.joint import blends

PRINT = ("--aperture-mm", "1", "--foil-um", "100", "--transfer", "0.9", "--metal-wt", "88")
EU = ("--market", "EU", "--on", "2027-07-01", "--equipment", "consumer")


def rohs(told):
    return next(entry for entry in told["law"]["rule_sets"] if entry["rule_set"] == "EU RoHS")


def test_lead_of_a_finish_fails_the_finished_joint_and_is_named(run):
    done = run("joint", "SAC305", "--finish", "tin-lead", *PRINT, *EU, "--json")
    assert done.code == 1
    found = rohs(done.json())
    assert found["answer"] == "fails"
    assert "brought by finish of the board" in found["reason"]
    assert "without finish of the board the joint would do" in found["reason"]
    # By hand: the finish's share of the joint by mass, times 37 wt% of lead, in ppm.
    masses = done.json()["cases"][0]["contributors_mg"]
    lead_ppm = 37e4 * masses["finish of the board"] / sum(masses.values())
    assert float(found["reason"].split(" ppm")[0]) == pytest.approx(lead_ppm, rel=1e-6)
    stop = next(entry for entry in done.json()["verdicts"] if entry["rule"] == "law")
    assert (stop["subject"], stop["outcome"]) == ("EU RoHS", "fail")


def test_a_finish_nobody_knows_leaves_the_law_open_and_copper_keeps_it(run):
    done = run("joint", "SAC305", "--finish", "unknown", *PRINT, *EU, "--json")
    found = rohs(done.json())
    assert (done.code, found["answer"], len(found["cases"])) == (0, "open", 1)
    assert "tin-lead" in found["cases"][0]
    clean = run("joint", "SAC305", "--finish", "copper", *PRINT, *EU)
    assert clean.code == 0
    assert "\nLaw\n" in clean.out
    assert "EU RoHS" not in clean.out


def test_a_touch_up_is_judged_at_its_least_and_its_most_share(monkeypatch):
    # How it melts is not asked here.
    monkeypatch.setattr("selector.enquiry.joint_case.touched_up", partial(blends.rework, shares=("0.5",)))
    found = answer_joint(
        joint_asked({"paste": "SAC305", "aperture_mm": "1", "rework": "Sn-37Pb", "finish": "copper"}, load()), load()
    )
    law = law_of(found, typed_contexts("EU", "2027-07-01", "consumer", []))
    (entry,) = [told for told in law.told if told.rule_set == "EU RoHS"]
    # 2 % of a metal with 37 wt% lead is 7400 ppm already.
    assert (entry.state, entry.cases) == ("fails", ())
    assert "rework with Sn-37Pb" in entry.reason


def test_a_brief_brings_markets_days_use_and_bans():
    brief = read(shipped("river-logger"))
    contexts = contexts_of(brief)
    assert [next(iter(one.markets)) for one in contexts] == [entry.market for entry in brief.markets]
    assert all(one.judged == "joint" for one in contexts)
    assert all(len(one.bans) == len(brief.bans) for one in contexts)
    assert law_of(None, ()) is None


def test_every_fault_of_the_law_comes_with_those_of_the_joint(run):
    run("joint", "SAC305", "--market", "EU,XX", "--equipment", "boat", "--aperture-mm", "2000").check_refusal(
        ("--on", "is missing"), ("--market", "choices"), ("--equipment", "choices"), ("--aperture-mm", "outside")
    )
    run("joint", "SAC305", "--on", "soon").check_refusal(("--on", "is not a date"))
    assert typed_contexts("", "", "", []) == ()


@pytest.mark.parametrize(("day", "why"), [("1000-01-01", "before every law"), ("2999-01-01", "years after")])
def test_a_day_that_the_rules_do_not_know_has_no_verdict(day, why, run):
    asked = ("joint", "SAC305", "--finish", "copper", *PRINT, "--market", "EU", "--on", day)
    found = run(*asked, "--json").json()
    assert "Law: no verdict" in found["finding"]
    assert why in found["finding"]
    assert found["law"]["holding"] is None
    assert "rule sets hold" not in run(*asked).out
