"""Joints with balls: the zone by the brief's share and geometry, and where it takes the place of the bound."""

import pytest

from selector.board.mixing import mixed_zone, weakest_onset, zone_onset
from selector.brief import from_raw
from selector.catalogue import load
from selector.melting.onset import remelt_onset
from selector.screening import screen
from selector.verdict import Outcome

CATALOGUE = load()
SAC, BISMUTH = CATALOGUE.find("SAC305"), CATALOGUE.find("Bi-42Sn")


def board(ball="SAC305", share=0.4, ball_mm=0.45, opening_mm=0.4, foil_um=120, service_c=60, **tables):
    part = {"name": "radio", "pitch_mm": 0.8, "ball_alloy": ball, "ball_diameter_mm": ball_mm, "finish": "copper",
            "aperture_mm": opening_mm, "rating_c": 260, "rating_at": "body", "lead_bearing": False}  # fmt: skip
    return from_raw(
        {
            "title": "t",
            "ipc_class": 2,
            "service": {"minimum_c": 0, "maximum_c": service_c, "cyclic_range_k": 20},
            "process": {"superheat_k": 20, "board_spread_k": 5, "form": "paste", "powder_type": 4},
            "board": {"base": "none", "adhesive": "none"},
            "use": {"sweat_or_chloride": False},
            "printing": {"foil_um": foil_um, "metal_wt": 89, "transfer_share": 1.0},
            "mixing": {"dissolved_share": share},
            "parts": [part],
            **tables,
        }
    )


def zone(brief, paste=BISMUTH, ball=SAC):
    return mixed_zone(brief, paste, brief.parts[0], ball)


def test_the_zone_by_hand():
    """Ball 0.0477 mm3 of 7.4, print 0.0151 mm3 half metal of 8.56: 0.141 and 0.064 mg of which 0.4 dissolves."""
    found = zone(board())
    ball_mg, paste_mg = 0.4 * 0.04771 * 7.37, 0.01508 * 0.485 * 8.56
    assert float(found.made.zone_composition.wt("Bi")) == pytest.approx(58 * paste_mg / (paste_mg + ball_mg), rel=0.03)
    assert "wt% bismuth" in found.text
    assert float(zone(board(share=0)).made.zone_composition.wt("Bi")) == 58


@pytest.mark.parametrize("missing", [{"share": "unknown"}, {"ball_mm": "unknown"}, {"opening_mm": "unknown"},
                                     {"foil_um": "unknown"}])  # fmt: skip
def test_without_share_or_geometry_there_is_no_zone(missing):
    assert zone(board(**missing)) is None


def test_a_little_bismuth_in_much_tin_keeps_a_high_onset_and_much_does_not():
    """1 % liquid near 138 degC does not count; a third does."""
    little = zone(board("Bi-42Sn", share=1, ball_mm=0.1), SAC, BISMUTH)
    assert float(little.made.zone_composition.wt("Bi")) < 5
    onset = zone_onset(little, BISMUTH)
    assert onset.low > 165
    assert any("is liquid from 13" in caution for caution in onset.cautions)
    assert zone_onset(zone(board("Bi-42Sn", share=1), SAC, BISMUTH), BISMUTH).low == pytest.approx(137, abs=4)


def test_what_the_engine_does_not_cover_leaves_the_bound():
    gold = CATALOGUE.find("Au-20Sn")
    assert zone_onset(zone(board(), gold), SAC) is None
    assert zone_onset(zone(board(), CATALOGUE.find("In-46Sn-1.8Zn")), SAC) is None  # indicative


def test_an_unmelted_ball_bounds_the_joint_from_above():
    made = zone(board("Bi-42Sn", share=0), SAC, BISMUTH)
    assert zone_onset(made, BISMUTH).interval == remelt_onset(BISMUTH).interval


@pytest.mark.parametrize(("share", "outcome"), [("unknown", Outcome.UNKNOWN), (1, Outcome.PASS)])
def test_the_zone_takes_the_place_of_the_bound_by_rule(share, outcome):
    """98 degC asks for 139.2: the eutectic by rule is short of it, the zone with 4 wt% bismuth is not."""
    brief = board("Bi-42Sn", share=share, ball_mm=0.1, service_c=98)
    assert next(v for v in screen(brief, CATALOGUE, SAC).verdicts if v.rule == "mixed_joint").outcome is outcome


def test_a_pass_tells_the_zone():
    found = next(v for v in screen(board(), CATALOGUE, BISMUTH).verdicts if v.rule == "mixed_joint")
    assert found.outcome is Outcome.PASS
    assert any("of the ball dissolved" in caution for caution in found.cautions)


def test_the_weakest_joint_is_that_of_the_ball():
    own = remelt_onset(SAC)
    assert weakest_onset(own, SAC, []) is own
    assert weakest_onset(own, SAC, [BISMUTH]).high < 140
    assert screen(board("Bi-42Sn"), CATALOGUE, SAC).joint_onset.high < 140
