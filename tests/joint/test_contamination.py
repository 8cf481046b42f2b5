"""Lead met by bismuth and indium, from either side, and balls that stay solid."""

import dataclasses

import pytest

from selector import catalogue
from selector.brief import changed, from_raw
from selector.catalogue.evidence import nothing
from selector.composition import parse
from selector.joint.contamination import ball_cautions, balls_not_known, lead_sources, lead_with_bismuth
from selector.verdict import Outcome

CLEAN = {"finish": "matte tin", "ball_alloy": "none", "lead_bearing": False}


def alloy(name):
    return catalogue.load().find(name)


def made_of(spelling):
    return dataclasses.replace(alloy("SAC305"), id=spelling, composition=parse(spelling), names=())


def brief(*parts):
    return from_raw({"title": "t", "parts": [{"name": f"part {n}", **part} for n, part in enumerate(parts)]})


def settled(asked, solder):
    """Return the verdict, having checked that its edits turn it into a pass."""
    verdict = lead_with_bismuth(asked, solder)
    assert verdict.edits
    assert lead_with_bismuth(changed(asked, verdict.edits), solder).outcome is Outcome.PASS
    return verdict


# Bismuth or indium in the alloy, lead on the board


@pytest.mark.parametrize("name", ["SAC305", "Sn-5Sb", "Sn-0.7Cu", "Sn-3.5Ag-4In-0.5Bi"])
def test_too_little_bismuth_and_indium_is_not_judged(name):
    assert lead_with_bismuth(brief({"finish": "tin-lead"}), alloy(name)).outcome is Outcome.NOT_APPLICABLE


@pytest.mark.parametrize(
    ("spelling", "outcome"),
    [
        ("Sn-0.99Bi", Outcome.NOT_APPLICABLE),
        ("Sn-1Bi", Outcome.UNKNOWN),
        ("Sn-5Bi", Outcome.UNKNOWN),
        ("Sn-5.01Bi", Outcome.FAIL),
        ("Sn-4.99In", Outcome.NOT_APPLICABLE),
        ("Sn-5In", Outcome.FAIL),
        ("Sn-2Bi-3In", Outcome.UNKNOWN),
        ("Sn-2.1Bi-3In", Outcome.FAIL),
        ("In-48Sn", Outcome.FAIL),
        ("Sn-58Bi", Outcome.FAIL),
    ],
)
def test_content_decides_what_a_leaded_finish_means(spelling, outcome):
    assert lead_with_bismuth(brief({"finish": "tin-lead"}), made_of(spelling)).outcome is outcome


@pytest.mark.parametrize("name", ["Sn-58Bi", "In-48Sn", "Sn-8Zn-3Bi"])
def test_a_board_without_lead_passes(name):
    assert lead_with_bismuth(brief(CLEAN, CLEAN), alloy(name)).outcome is Outcome.PASS


@pytest.mark.parametrize(
    ("part", "what", "edits"),
    [
        ({**CLEAN, "finish": "tin-lead"}, "tin-lead finish", [("finish", "matte tin")]),
        ({**CLEAN, "ball_alloy": "Sn-37Pb"}, "Sn-37Pb balls", [("ball_alloy", "SAC305")]),
        ({**CLEAN, "ball_alloy": "62/36/2 Sn/Pb/Ag"}, "62/36/2 Sn/Pb/Ag balls", [("ball_alloy", "SAC305")]),
        ({**CLEAN, "lead_bearing": True}, "marked as lead-bearing", [("lead_bearing", False)]),
        (
            {"finish": "tin-lead", "lead_bearing": True},
            "tin-lead finish",
            [("finish", "matte tin"), ("lead_bearing", False)],
        ),
    ],
)
def test_lead_on_the_board_fails_a_bismuth_grade(part, what, edits):
    asked = brief(CLEAN, part)
    verdict = settled(asked, alloy("Sn-58Bi"))
    assert verdict.outcome is Outcome.FAIL
    assert f"part 1 ({what})" in verdict.reason
    assert "part 0" not in verdict.reason
    assert (verdict.limit, verdict.margin, verdict.measured.value) == (5, -53, 58)
    assert [(edit.path, edit.value) for edit in verdict.edits] == [(f"parts[1].{path}", v) for path, v in edits]


@pytest.mark.parametrize(
    "part",
    [
        {},
        {"finish": "matte tin"},
        {"ball_alloy": "none"},
        {"ball_alloy": "SAC305"},
        {"finish": "nickel-gold", "ball_alloy": "unknown"},
    ],
)
@pytest.mark.parametrize("name", ["Sn-58Bi", "In-48Sn"])
def test_an_unknown_finish_or_ball_is_not_settled(part, name):
    verdict = settled(brief(CLEAN, part), alloy(name))
    assert (verdict.outcome, verdict.threshold) == (Outcome.UNKNOWN, "holds if no part brings lead")
    assert "part 1" in verdict.reason


def test_a_part_marked_free_of_lead_is_believed():
    assert lead_with_bismuth(brief({"lead_bearing": False}), alloy("Sn-58Bi")).outcome is Outcome.PASS
    assert lead_sources(brief({"lead_bearing": False})) == ()


def test_a_part_whose_finish_and_balls_are_known_needs_no_mark():
    assert lead_sources(brief({"finish": "matte tin", "ball_alloy": "none"})) == ()


def test_certain_and_uncertain_sources():
    found = lead_sources(brief({"finish": "tin-lead"}, CLEAN, {}))
    assert [(source.name, source.certain) for source in found] == [("part 0", True), ("part 2", False)]


def test_every_part_in_question_is_settled_together():
    asked = brief({"finish": "tin-lead"}, {}, {**CLEAN, "lead_bearing": True})
    verdict = settled(asked, alloy("Sn-58Bi"))
    assert all(f"part {n}" in verdict.reason for n in range(3))


def test_a_watched_alloy_on_lead_waits_for_the_mixed_joint():
    verdict = settled(brief({**CLEAN, "finish": "tin-lead"}), alloy("Sn-8Zn-3Bi"))
    assert (verdict.outcome, "remelt onset" in verdict.threshold) == (Outcome.UNKNOWN, True)


def test_a_board_without_parts_is_not_settled():
    verdict = lead_with_bismuth(brief(), alloy("Sn-58Bi"))
    assert (verdict.outcome, verdict.edits) == (Outcome.UNKNOWN, ())
    assert verdict.threshold == "holds if no part brings lead"


def test_a_part_with_leaded_finish_and_leaded_balls_is_settled():
    settled(brief({"finish": "tin-lead", "ball_alloy": "Sn-37Pb"}), alloy("Sn-58Bi"))


# Lead in the alloy, bismuth on the board


def test_a_leaded_alloy_on_a_board_without_bismuth_passes():
    verdict = lead_with_bismuth(brief(CLEAN, {**CLEAN, "ball_alloy": "SAC305"}), alloy("Sn-37Pb"))
    assert (verdict.outcome, verdict.measured.value, verdict.measured.unit) == (Outcome.PASS, 37, "wt% Pb")


def test_a_leaded_alloy_under_bismuth_balls_fails():
    asked = brief(CLEAN, {**CLEAN, "ball_alloy": "Sn-58Bi"})
    verdict = settled(asked, alloy("Sn-37Pb"))
    assert verdict.outcome is Outcome.FAIL
    assert "part 1 (Sn-58Bi balls)" in verdict.reason
    assert [(edit.path, edit.value) for edit in verdict.edits] == [("parts[1].ball_alloy", "SAC305")]


def test_bismuth_of_a_ball_counts_above_five_per_cent():
    def outcome(ball):
        return lead_with_bismuth(brief({**CLEAN, "ball_alloy": ball}), alloy("Sn-37Pb")).outcome

    assert outcome("Sn-5Bi") is Outcome.UNKNOWN
    assert outcome("Sn-0.5Bi") is Outcome.PASS
    assert outcome("Sn-5.001Bi") is Outcome.FAIL


@pytest.mark.parametrize("part", [{**CLEAN, "finish": "tin-bismuth"}, {**CLEAN, "finish": "unknown"},
                                  {**CLEAN, "ball_alloy": "unknown"}])  # fmt: skip
def test_a_leaded_alloy_that_may_meet_bismuth_is_not_settled(part):
    verdict = lead_with_bismuth(brief(CLEAN, part), alloy("Sn-37Pb"))
    assert (verdict.outcome, verdict.threshold) == (Outcome.UNKNOWN, "holds if no part brings bismuth or indium")
    assert "part 1" in verdict.reason


def test_a_leaded_alloy_on_a_board_without_parts_is_not_settled():
    verdict = lead_with_bismuth(brief(), alloy("Sn-37Pb"))
    assert verdict.outcome is Outcome.UNKNOWN
    assert "does not list" in verdict.reason


def test_lead_counts_above_a_tenth_of_a_per_cent():
    board = brief({**CLEAN, "ball_alloy": "Sn-58Bi"})
    assert lead_with_bismuth(board, made_of("Sn-0.1Pb")).outcome is Outcome.NOT_APPLICABLE
    assert lead_with_bismuth(board, made_of("Sn-0.11Pb")).outcome is Outcome.FAIL


def test_an_alloy_of_bismuth_and_lead_is_judged_by_its_bismuth():
    assert lead_with_bismuth(brief({"finish": "tin-lead"}), alloy("Bi-42Pb")).outcome is Outcome.FAIL
    assert lead_with_bismuth(brief(CLEAN), alloy("Bi-42Pb")).outcome is Outcome.PASS


def test_the_edits_of_a_leaded_alloy_settle_what_is_watched_too():
    settled(brief({**CLEAN, "ball_alloy": "Sn-58Bi"}, {**CLEAN, "finish": "tin-bismuth"}), alloy("Sn-37Pb"))


# Balls


def cautions(part, name, peak_c):
    return ball_cautions(brief(part), alloy(name), peak_c, catalogue.load())


def test_balls_that_stay_solid_are_named():
    (caution,) = cautions({"ball_alloy": "SAC305"}, "Sn-58Bi", 163.0)
    assert "part 0" in caution
    assert "SAC305" in caution
    assert "stay solid" in caution


def test_balls_that_melt_with_the_paste_are_named():
    (caution,) = cautions({"ball_alloy": "SAC105"}, "SAC305", 245.0)
    assert "melt with the paste" in caution
    melts_at = alloy("SAC305").of("liquidus_c").value
    assert "melt with the paste" in cautions({"ball_alloy": "SAC305"}, "Sn-58Bi", melts_at)[0]
    assert "stay solid" in cautions({"ball_alloy": "SAC305"}, "Sn-58Bi", melts_at - 0.1)[0]


@pytest.mark.parametrize(
    ("ball", "name", "peak_c"),
    [
        ("none", "Sn-58Bi", 163.0),
        ("unknown", "Sn-58Bi", 163.0),
        ("SAC305", "SAC305", 245.0),
        ("96.5Sn-3.0Ag-0.5Cu", "SAC305", 245.0),
        ("SAC305", "Sn-58Bi", None),
    ],
)
def test_nothing_to_watch(ball, name, peak_c):
    assert cautions({"ball_alloy": ball}, name, peak_c) == ()


@pytest.mark.parametrize("balls", ["Sn-1.23Ag", "unknown"])
def test_balls_that_the_catalogue_does_not_hold_leave_the_joint_open(balls):
    asked = brief({**CLEAN, "ball_alloy": balls})
    (verdict,) = balls_not_known(asked, catalogue.load(), "mixed_joint")
    assert verdict.outcome is Outcome.UNKNOWN
    assert "part 0" in verdict.threshold
    assert cautions({"ball_alloy": balls}, "Sn-58Bi", 163.0) == ()
    if balls == "unknown":
        assert balls_not_known(changed(asked, verdict.edits), catalogue.load(), "mixed_joint") == []


def test_balls_whose_liquidus_is_not_known_are_left_out():
    shipped = catalogue.load()
    sac = shipped.find("SAC305")
    blind = dataclasses.replace(sac, evidence={**sac.evidence, "liquidus_c": nothing("liquidus_c", "degC")})
    thin = dataclasses.replace(shipped, alloys={**shipped.alloys, "SAC305": blind})
    assert ball_cautions(brief({"ball_alloy": "SAC305"}), alloy("Sn-58Bi"), 163.0, thin) == ()


def test_every_part_is_looked_at():
    parts = ({"ball_alloy": "SAC305"}, {"ball_alloy": "none"}, {"ball_alloy": "Sn-37Pb"})
    found = ball_cautions(brief(*parts), alloy("Sn-58Bi"), 190.0, catalogue.load())
    assert [caution.split(":")[0] for caution in found] == ["part 0", "part 2"]
