"""`joint` counts all that melts in: a finish, a second powder and a touch-up, whatever else is not known."""

import pytest

from selector.catalogue import load
from selector.composition import parse
from selector.enquiry.joint_asked import joint_asked
from selector.enquiry.joint_case import answer_joint
from selector.joint import blends

EU = ("--market", "EU", "--on", "2027-07-01", "--equipment", "consumer")
UNSIZED = ("joint", "Sn-58Bi", "--ball", "Sn")
PRINTED = ("--aperture-mm", "1", "--foil-um", "100", "--transfer", "0.9", "--metal-wt", "88")


@pytest.fixture
def coarse(monkeypatch):
    """Take few shares of a mixture that nobody knows."""

    def rework(old, new, shares=("0.2",)):
        return blends.rework(old, new, shares)

    monkeypatch.setattr("selector.enquiry.joint_case.touched_up", rework)
    monkeypatch.setattr("selector.enquiry.joint_unsized.TOUCHED_UP_AT", ("0.2",))


def met(answer):
    return [entry for entry in answer["verdicts"] if entry["rule"] == "metals_that_meet"]


@pytest.mark.parametrize(
    ("asked", "outcome", "who"),
    [
        (("--finish", "tin-lead"), "fail", "finish of the board"),
        (("--package-finish", "unknown"), "unknown", "finish of the part"),
        (("--powder", "Sn-37Pb", "--powder-share", "0.3"), "fail", "powder Sn-37Pb"),
        (("--rework", "Sn-37Pb", "--rework-share", "0.3"), "fail", "rework with Sn-37Pb"),
    ],
)
def test_lead_meets_bismuth_where_nobody_knows_the_geometry(asked, outcome, who, run, coarse):
    done = run(*UNSIZED, *asked, "--json")
    (found,) = met(done.json())
    assert found["outcome"] == outcome
    assert who in found["reason"]
    assert done.code == (1 if outcome == "fail" else 0)


def test_a_finish_of_unknown_mass_leaves_onset_and_service_open(run, coarse):
    asked = (
        "joint",
        "SAC305",
        "--ball",
        "SAC305",
        "--finish",
        "tin-lead",
        "--service",
        "100",
        "--class",
        "2",
        "--json",
    )
    found = run(*asked).json()
    (service,) = [entry for entry in found["verdicts"] if entry["rule"] == "service_heat"]
    assert (found["remelt_onset_c"], service["outcome"]) == (None, "unknown")
    assert "state the ball's diameter and the aperture" in found["finding"]
    # Tin alone brings nothing that paste and ball do not hold.
    assert run(*[word.replace("tin-lead", "matte tin") for word in asked]).json()["remelt_onset_c"] is not None


def test_law_asks_the_finish_and_the_touch_up_of_a_joint_of_unknown_geometry(run, coarse):
    def rohs(*asked):
        sets = run(*UNSIZED, *asked, *EU, "--json").json()["law"]["rule_sets"]
        return [entry["answer"] for entry in sets if entry["rule_set"] == "EU RoHS"]

    assert rohs() == []
    assert rohs("--finish", "tin-lead") == ["open"]
    assert rohs("--powder", "Sn-37Pb", "--powder-share", "0.3") == ["fails"]
    assert rohs("--rework", "Sn-37Pb") == ["fails"]


def test_a_touch_up_meets_what_an_unknown_finish_may_bring(run, coarse):
    asked = ("joint", "Sn", "--rework", "Sn-58Bi", "--rework-share", "0.3", *PRINTED, "--json")
    (found,) = met(run(*asked, "--finish", "unknown").json())
    assert (found["outcome"], found["threshold"]) == ("unknown", "holds if no finish brings lead")
    assert met(run(*asked, "--finish", "copper").json()) == []


def test_a_touch_up_does_not_take_back_lead_that_met_bismuth(run, coarse):
    asked = ("joint", "Sn-58Bi", "--finish", "tin-lead", *PRINTED, "--json")
    for more in ((), ("--rework", "Sn", "--rework-share", "0.1")):
        done = run(*asked, *more)
        assert done.code == 1
        assert [entry["outcome"] for entry in met(done.json())] == ["fail"]


def test_two_powders_meet_in_the_paste(run):
    done = run("joint", "Sn-58Bi", "--powder", "Sn-37Pb", "--powder-share", "0.3", *PRINTED, "--json")
    assert done.code == 1
    assert met(done.json())[0]["reason"].startswith("bismuth of powder Bi-42Sn meets lead of powder Sn-37Pb")


def test_every_joint_that_may_be_there_is_touched_up(monkeypatch):
    seen = []

    def rework(old, new, shares):
        seen.append(old)
        return made

    made = blends.rework(parse("Sn"), parse("Sn"), ("0.1",))
    monkeypatch.setattr("selector.enquiry.joint_case.touched_up", rework)
    texts = {"paste": "Sn", "powder": "Sn-58Bi", "rework": "Sn", "rework_share": "0.1", "finish": "unknown"}
    found = answer_joint(joint_asked(texts, load()), load())
    # Two ends of the powder by two finishes, each under its own name.
    assert len(set(seen)) == len(set(found.reworked_from)) == 4
    assert "0.9 of the second powder, board finish tin-lead" in found.reworked_from


def test_two_unknown_shares_are_refused_by_name(run):
    run(*UNSIZED, "--powder", "SAC305").check_refusal(("--powder-share", "is not known"))


@pytest.mark.parametrize(
    "asked",
    [
        ("joint", "Sn-58Bi", "--aperture-mm", "1"),
        ("joint", "Sn-58Bi", "--ball", "SAC305", "--ball-mm", "0.45", "--dissolved", "0.3"),
        ("joint", "SAC305", "--powder", "Sn-58Bi", "--powder-share", "0.3"),
        ("print", "Sn-58Bi"),
        ("footprint", "Sn-58Bi"),
    ],
)
def test_a_peak_that_melts_nothing_is_refused_by_every_verb(asked, run):
    run(*asked, "--peak", "100").check_refusal(
        ("--peak-c: does not melt the paste", "100 degC", "at least its liquidus")
    )


def test_joints_are_whole_and_a_ball_that_melts_first_is_named(run):
    run("footprint", "Sn-58Bi", "--joints", "1.5").check_refusal(("--joints: is no number of joints", "whole"))
    run("window", "SAC305", "--ball", "Sn-58Bi").check_refusal(("--ball: is no hotter",))
