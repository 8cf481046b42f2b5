"""The figures in docs/life.md, docs/steps.md and docs/material-sets.md are what the functions give."""

import math
from pathlib import Path

import pytest

from selector.catalogue import load
from selector.composition import parse
from selector.durability import (
    acceleration,
    creep,
    drop,
    electromigration,
    fatigue,
    galvanic,
    legality,
    underfill,
)
from selector.durability.service import highest_service_c
from selector.durability.strain import leaded_strains, leadless_strain
from selector.joint import finish
from selector.policy import policy
from selector.process import routes, second_side, steps
from selector.process.material_sets import ANSWERS, COLUMNS

DOCS = Path(__file__).parents[2] / "docs"
LIFE, STEPS, SETS = ((DOCS / name).read_text(encoding="utf-8") for name in ("life.md", "steps.md", "material-sets.md"))
SNPB, SAC = parse("Sn63Pb37"), parse("SAC305")
USE, TEST = acceleration.Cycle(25, 75, 1, 720), acceleration.Cycle(-55, 125, 48, 15)


def strengths(alloy):
    return ", ".join(f"{entry.value:.2f}" for entry in creep.creep_strengths(parse(alloy), 85))


def row(alloy, onset_c):
    return f"| {alloy} | {creep.creep_proxy(85, onset_c).value:.2f} | {strengths(alloy)} |"


def life_figures():
    strain = leadless_strain(10, 0.5, 17, 3, 100)
    lives = [entry.value for alloy in (SNPB, SAC) for entry in fatigue.fatigue_life(alloy, strain, 55, 15)]
    leaded = [value for _, value in leaded_strains(10, 10, 10, 100, 0.5, 0.1)]
    black = electromigration.black_span(SAC, 2, 100, 150, 217)
    speed = drop.pulse_speed_m_s()
    return [
        row("SAC305", 217),
        row("Sn-37Pb", 183),
        row("In", 156.6),
        f"| Sn-58Bi | {creep.creep_proxy(85, 139).value:.2f} | no data",
        f"strain {strain:.3f}",
        f"{lives[0]:.0f} cycles",
        f"{lives[1]:.0f} (a copy with another c2), {lives[2]:.0f} (SAC305",
        f"{fatigue.cycles_to(0.01, lives[0], 4):.0f} of the {lives[0]:.0f}",
        f"{leaded[0]:.4f} by 200 psi, {leaded[1]:.4f} by 133",
        f"{acceleration.acceleration_span(SNPB, USE, TEST).low:.2f} (tin-lead), "
        f"{acceleration.acceleration_span(SAC, USE, TEST).low:.1f} (the one set",
        f"hottest test on Sn-58Bi is {legality.hottest_test_c(139):.1f} degC",
        f"solder 23, 100 K: {100 * underfill.underfill_strain(30, 0.35, 12, 23, 100):.2f} %",
        f"{finish.areal_thickness_um(3, 19.3, 100, 0.515, 8.4):.2f} um under a 100 um print gives 3 wt%",
        f"ball joint {finish.finish_share_wt(math.pi / 4 * 0.16, 0.1, 19.3, 0.39898341):.3f} wt%",
        f"{speed:.2f} m/s, {drop.drop_height_m(speed):.2f} m",
        f"{electromigration.current_density_a_cm2(1, 100):.0f} A/cm2",
        f"100 degC: {black.low:.0f} to {black.high:.0f}",
        f"tin-zinc on copper: {galvanic.difference_v('Zn', 'Cu'):.2f} V",
        f"over {policy().galvanic.flag_v:g} V",
        f"q = {policy().creep.diffusion_factor:g}",
    ]


def step_figures():
    rules = policy().steps
    table = [("Au-20Sn 280", "SAC305 220"), ("SAC305 217", "Sn-58Bi 139"), ("Sn-37Pb 183", "Sn-58Bi 139")]
    table += [("Sn-58Bi 139", "In-48Sn 118"), ("mixed joint 138", "In-48Sn 118"), ("Sn-58Bi 139", "Bi-In-Sn 60.5")]
    margins = [
        f"| {one} | {other} | {steps.remelt_margin_k(*(float(t.split()[-1]) for t in (one, other)), 20, 5):g} |"
        for one, other in table
    ]
    ask, held = second_side.needed(7.3), second_side.allowed(12.5**2, 50)
    count = len(load().alloys)
    return [
        *margins,
        f"SH {policy().window.superheat_k:g}, U {policy().window.spread_k:g}, M {rules.margin_k:g} K",
        f"at least {rules.gap_least_k:g} K",
        f"{count} alloys by three steps are {count**3:,}",
        f"More than {rules.most_assignments:,}",
        f"capped at {highest_service_c(60.5, 0.9):.0f} degC",
        f"a shift of {routes.remelt_shift_k(201, 139):g} K",
        f"{routes.thickness_ratio(3, 63.546, 8.96, 1, 118.71, 7.29):.2f} (Cu3Sn)",
        f"{routes.thickness_ratio(6, 63.546, 8.96, 5, 118.71, 7.29):.3f} (Cu6Sn5)",
        f"{routes.mass_to_bind('Cu', 'Sn', 42, {'Cu': 6, 'Sn': 5}):.1f} g copper",
        f"needs {ask.area_mm2:.0f} mm2 ({ask.area_with_safety_mm2:.0f} with a safety of {ask.safety:g};"
        f" {ask.area_other_rule_mm2:.0f} by 5 g/cm2)",
        f"allows {held.conflict:.0f} times",
    ]


@pytest.mark.parametrize("told", life_figures())
def test_a_figure_of_the_page_on_life_is_true(told):
    assert told in LIFE


@pytest.mark.parametrize("told", step_figures())
def test_a_figure_of_the_page_on_steps_is_true(told):
    assert told in STEPS


def test_the_page_on_material_sets_tells_every_answer_column_and_edge():
    rules, residue = policy().materials, policy().printing
    for told in (*ANSWERS, *COLUMNS):
        assert f"`{told}`" in SETS
    assert f"under {residue.residue_alert_um:g} um, `high` from {residue.residue_clear_um:g} um" in SETS
    assert f"{rules.bismuth_rich_wt:g} wt% bismuth or indium" in SETS
