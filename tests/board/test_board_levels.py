"""Figures that criteria weigh: by hand, and without a number wherever something is missing."""

import math

import pytest

from selector.board import levels
from selector.brief import from_raw, read, shipped
from selector.catalogue import load
from selector.decision import decide
from selector.durability.fatigue import cycles_to, fatigue_life
from selector.errors import InputError
from selector.melting.onset import remelt_onset
from selector.scoring.criteria import CRITERIA, counted_twice
from selector.scoring.presets import weighing

CATALOGUE = load()
SAC, BISMUTH, STRONG = map(CATALOGUE.find, ("SAC305", "Bi-42Sn", "Sn-3.4Ag-4.8Bi"))
LIFE = {"years": 5, "failed_share": 0.01, "distance_mm": 5, "height_um": 100, "board_ppm_k": 16, "part_ppm_k": 8,
        "dwell_min": 60}  # fmt: skip
SERVICE = {"maximum_c": 100, "cyclic_range_k": 80, "cycles_per_day": 2}


def brief(**tables):
    return from_raw({"title": "t", **tables})


def test_creep_is_the_proxy_and_a_straight_line_in_the_onset():
    asked = brief(service={"maximum_c": 100})
    found = levels.creep_decades(asked, remelt_onset(SAC))
    assert found.value == pytest.approx(18 / math.log(10) * (490.15 / 373.15 - 1), abs=0.02)
    assert levels.creep_decades(brief(), remelt_onset(SAC)).value is None
    melted = levels.creep_decades(brief(service={"maximum_c": 150}), remelt_onset(BISMUTH))
    assert melted.value is None
    assert "melts" in melted.why


def test_fatigue_counts_cycles_to_the_share_over_the_cycles_asked():
    """Strain 5 mm * 8 ppm/K * 80 K / 0.1 mm = 0.032; mean 60 degC; 3650 cycles."""
    asked = brief(service=SERVICE, life=LIFE)
    duty = levels.duty_of(asked)
    assert (duty.strain, duty.mean_c, duty.cold_c, duty.cycles_per_year) == pytest.approx((0.032, 60, 20, 730))
    lows = [entry.low for entry in fatigue_life(CATALOGUE.find("Sn-37Pb").composition, 0.032, 60, 60)]
    found = levels.fatigue_decades(asked, CATALOGUE.find("Sn-37Pb"))
    by_hand = math.log10(cycles_to(0.01, min(lows), 4) / 3650)
    assert found.low == pytest.approx(by_hand, abs=1e-9)
    assert found.high - found.low >= 2 * math.log10(3) - 1e-9
    assert levels.fatigue_decades(asked, SAC).low is not None


@pytest.mark.parametrize("alloy", [BISMUTH, STRONG, CATALOGUE.find("In-48Sn")])
def test_no_life_is_made_up_where_no_law_holds(alloy):
    found = levels.fatigue_decades(brief(service=SERVICE, life=LIFE), alloy)
    assert (found.value, found.low, found.high) == (None, None, None)
    assert found.why


@pytest.mark.parametrize("left_out", sorted(LIFE))
def test_a_duty_that_is_not_whole_gives_no_life(left_out):
    life = {key: value for key, value in LIFE.items() if key != left_out}
    assert levels.fatigue_decades(brief(service=SERVICE, life=life), SAC).low is None


def test_the_environment_fills_in_and_the_briefs_own_service_comes_first():
    life = {**LIFE, "environment": "under-hood-100"}
    del life["dwell_min"]
    duty = levels.duty_of(brief(life=life))
    assert (duty.mean_c, duty.cycles_per_year, duty.dwell_min) == (75, 300, 60)
    assert levels.duty_of(brief(life=life, service=SERVICE)).cycles_per_year == 730


def test_a_strain_that_cannot_be_is_said_and_an_environment_that_is_not_there_refused():
    found = levels.fatigue_decades(brief(service=SERVICE, life={**LIFE, "height_um": 30}), SAC)
    assert found.low is None
    assert "strain" in found.why
    with pytest.raises(InputError, match="under-the-sea"):
        decide(brief(life={"environment": "under-the-sea"}))


def test_oven_power_at_the_usual_peak_is_all_of_it():
    asked = brief(process={"superheat_k": 20, "board_spread_k": 5}, footprint={"usual_peak_c": 245})
    assert levels.oven_power_percent(asked, SAC).high == pytest.approx(100, abs=0.5)
    cool = levels.oven_power_percent(asked, BISMUTH)
    assert 40 < cool.value < 90
    assert levels.oven_power_percent(brief(footprint={"usual_peak_c": 245}), SAC).value is None


def test_metal_of_a_board_takes_the_briefs_own_prices():
    footprint = {"joints": 1000, "joint_volume_mm3": 0.1}
    listed = levels.board_usd(brief(footprint=footprint), SAC, CATALOGUE)
    own = {**footprint, "prices": [{"element": e, "usd_kg": 100} for e in ("Sn", "Ag", "Cu")], "prices_dated": "today"}
    found = levels.board_usd(brief(footprint=own), SAC, CATALOGUE)
    assert found.value == pytest.approx(0.1 * SAC.of("density_g_cm3").value / 1000 * 100, rel=1e-6)  # 0.1 cm3
    assert "today" in found.source
    assert listed.value < found.value
    assert levels.board_usd(brief(), SAC, CATALOGUE).value is None


def test_oxide_falls_with_the_diameter_and_carbon_needs_every_element():
    fine, coarse = (levels.powder_oxide(brief(process={"powder_type": kind}), SAC).value for kind in (6, 4))
    assert fine > 2 * coarse
    assert levels.powder_oxide(brief(), SAC).value is None
    assert levels.metal_co2(SAC).value > levels.metal_co2(CATALOGUE.find("Sn-0.7Cu")).value
    alike = [levels.metal_co2(alloy) for alloy in CATALOGUE.listed()]
    assert all(figure.value is not None or figure.why for figure in alike)


@pytest.mark.parametrize(
    "names",
    [
        ("process_headroom_k", "oven_power_percent"),
        ("service_headroom_k", "creep_decades"),
        ("creep_decades", "mixed_onset_c"),
        ("relative_cost", "board_usd"),
        ("process_headroom_k", "pasty_range_k", "creep_decades"),
        ("oven_power_percent", "pasty_range_k", "mixed_onset_c"),
    ],
)
def test_one_figure_is_counted_once(names):
    assert counted_twice(names)
    preferences = [
        {"criterion": name, "points": [[0, 0], [1, 100]], "swing": 10, "reason": "r", "author": "a"} for name in names
    ]
    with pytest.raises(InputError, match="weigh one thing twice"):
        weighing(brief(preferences=preferences))
    assert not counted_twice(names[:1])


def test_no_criterion_of_the_board_is_weighed_by_default():
    new = ("powder_oxide_ppm", "creep_decades", "fatigue_decades", "mixed_onset_c", "oven_power_percent",
           "metal_co2_kg_cm3", "board_usd")  # fmt: skip
    assert not any(CRITERIA[name].default for name in new)
    row = decide(read(shipped("river-logger"))).candidates[0].screened
    for name in new:
        level = CRITERIA[name].level(read(shipped("river-logger")), row)
        assert level.low is not None or level.text.startswith("unknown")


def test_the_motor_drive_weighs_creep_and_the_life_of_its_joint():
    decision = decide(read(shipped("motor-drive")))
    names = [share.criterion for share in decision.admitted[0].shares]
    assert {"creep_decades", "fatigue_decades"} <= set(names)
    assert decision.admitted[0].alloy.id == "Sn-3.8Ag-0.7Cu-3Bi-1.4Sb-0.15Ni"
    sac = decision.of(SAC)
    assert next(s for s in sac.shares if s.criterion == "fatigue_decades").worth_high > 0
