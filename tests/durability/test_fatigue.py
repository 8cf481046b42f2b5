"""Median life: by hand, in the limits, monotone in each input, for two families only, and refused elsewhere."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.composition import parse
from selector.durability.constants import fatigue_data
from selector.durability.family import family_of
from selector.durability.fatigue import (
    cycles_to,
    damage,
    exponent,
    failed_share,
    fatigue_life,
    life_ratio,
    mean_joint_c,
    median_cycles,
    slope_of,
)
from selector.errors import InputError

SNPB = next(entry for entry in fatigue_data().life if entry.id == "sn-pb-1983")
STRAINS = st.floats(1e-5, 0.1)
MEANS = st.floats(0, 100)
DWELLS = st.floats(0.1, 1e5)


def where(call):
    with pytest.raises(InputError) as caught:
        call()
    return {fault.where for fault in caught.value.faults}


def lives(alloy, *arguments, **named):
    return fatigue_life(parse(alloy), *arguments, **named)


def test_the_worked_example_stands_by_each_set():
    told = {entry.law: entry for entry in lives("Sn63Pb37", 0.028, 55, 15)}
    assert len(told) == 2
    usual = told["Engelmaier, eutectic tin-lead, 1983"]
    assert usual.value == pytest.approx(909, abs=0.5)
    assert usual.text == "909.1 (303 to 2727) cycles"
    assert (usual.low, usual.high) == (pytest.approx(usual.value / 3), pytest.approx(usual.value * 3))
    (sac,) = lives("SAC305", 0.028, 55, 15)
    assert sac.value == pytest.approx(792, abs=0.5)
    assert (sac.origin, sac.grade) == ("memory", "low")
    assert any("paper not read" in flag for flag in sac.flags)


@pytest.mark.parametrize(
    ("alloy", "part"),
    [
        ("Sn42Bi58", "independent of them"),
        ("Sn57Bi42Ag1", "independent of them"),
        ("In52Sn48", "no published set"),
        ("In", "no published set"),
        ("Sn95Sb5", "other lead-free alloys"),
        ("Sn96.5Ag3.5", "other lead-free alloys"),
        ("Sn10Pb90", "other lead-free alloys"),
        ("Sn97.9Ag1.5Cu0.6", "other lead-free alloys"),
        ("Sn98.2Ag1.2Cu0.6", None),
    ],
)
def test_where_no_set_holds_there_is_no_number_and_a_reason(alloy, part):
    (entry,) = lives(alloy, 0.01, 55, 15)
    if part in (None, "other lead-free alloys") and family_of(parse(alloy)) == "tin-silver-copper":
        assert entry.is_known or "between those of the published sets" in entry.why
        return
    assert entry.value is entry.low is entry.high is None
    assert part in entry.why
    assert entry.text.startswith("no data: ")


def test_silver_between_the_sets_has_no_life():
    (entry,) = lives("Sn96.8Ag2.7Cu0.5", 0.01, 55, 15)
    assert "between those of the published sets" in entry.why


def test_a_mixed_joint_has_no_life_though_its_mean_is_sac():
    (entry,) = lives("SAC305", 0.01, 55, 15, is_mixed=True)
    assert not entry.is_known
    assert "mixed" in entry.why


def test_limits_of_validity_stand_beside_the_number():
    (cold,) = lives("SAC305", 0.01, 55, 15, cold_end_c=-40, height_um=100)
    (warm,) = lives("SAC305", 0.01, 55, 15, cold_end_c=25, height_um=100)
    assert any("creep stops ruling" in flag for flag in cold.flags)
    assert not any("creep stops ruling" in flag for flag in warm.flags)
    assert any("pad crater" in flag for flag in warm.flags)
    assert warm.cautions


@pytest.mark.parametrize(
    ("arguments", "named", "names"),
    [
        ((0.11, 55, 15), {}, {"strain"}),
        ((0, -1, 0), {}, {"strain", "mean_c", "dwell_min"}),
        ((0.01, 101, 15), {}, {"mean_c"}),
        ((0.01, 55, 15), {"height_um": 20, "cold_end_c": 60}, {"height_um", "cold_end_c"}),
        ((math.nan, 55, True), {}, {"strain", "dwell_min"}),
    ],
)
def test_outside_validity_is_refused_by_name(arguments, named, names):
    assert where(lambda: lives("SAC305", *arguments, **named)) == names
    assert where(lambda: lives("Sn42Bi58", *arguments, **named)) == names  # also where the answer would be "no data"


@given(STRAINS, MEANS, DWELLS)
def test_strain_of_twice_the_ductility_is_half_a_cycle_and_more_strain_is_less_life(strain, mean_c, dwell_min):
    power = exponent(SNPB, mean_c, dwell_min)
    assert -1 < power < 0
    assert median_cycles(0.65, 0.325, power) == pytest.approx(0.5)
    life = median_cycles(strain, 0.325, power)
    assert median_cycles(strain * 1.01, 0.325, power) < life
    assert median_cycles(strain * 2, 0.325, power) == pytest.approx(life * life_ratio(2, power))


def test_doubling_the_strain_of_the_worked_example():
    power = exponent(SNPB, 55, 15)
    assert life_ratio(2, power) == pytest.approx(0.191, abs=5e-4)


@given(STRAINS, st.floats(0, 99), DWELLS)
def test_hotter_and_longer_dwell_shorten_life(strain, mean_c, dwell_min):
    def life(mean, dwell):
        return median_cycles(strain, 0.325, exponent(SNPB, mean, dwell))

    assert life(mean_c + 1, dwell_min) < life(mean_c, dwell_min)
    assert life(mean_c, dwell_min * 1.1) < life(mean_c, dwell_min)


@given(st.floats(1e-6, 0.999), st.floats(1, 1e6), st.floats(1, 8))
def test_failed_share_and_cycles_are_inverse_and_half_fail_at_the_median(share, median, slope):
    assert failed_share(cycles_to(share, median, slope), median, slope) == pytest.approx(share, rel=1e-6)
    assert cycles_to(0.5, median, slope) == pytest.approx(median)
    assert failed_share(median, median, slope) == pytest.approx(0.5)
    assert failed_share(median * 1.1, median, slope) > 0.5


def test_slopes_of_the_guides():
    assert (slope_of("leadless"), slope_of("leaded")) == (4, 2)
    assert where(lambda: slope_of("glued")) == {"joint"}


def test_damage_adds_up():
    assert damage(((10, 100), (30, 100)), 0.1) == pytest.approx(0.5)
    assert damage(()) == 0
    assert where(lambda: damage(((-1, 0),), -1)) == {"prior", "cycles of load 1", "life of load 1"}


def test_the_mean_over_a_cycle():
    assert mean_joint_c(100, 60, 20) == 50
    assert where(lambda: mean_joint_c(-300, 60, math.inf)) == {"part_c", "idle_c"}


@pytest.mark.parametrize(
    ("call", "names"),
    [
        (lambda: median_cycles(0, 0, 0.4), {"strain", "ductility", "power"}),
        (lambda: cycles_to(1, 0, 0), {"share", "median", "slope"}),
        (lambda: failed_share(-1, 0, 0), {"cycles", "median", "slope"}),
        (lambda: life_ratio(0, 0.4), {"strain_ratio", "power"}),
        (lambda: exponent(SNPB, 120, 0), {"mean_c", "dwell_min"}),
    ],
)
def test_figures_that_cannot_be_are_named(call, names):
    assert where(call) == names


@pytest.mark.parametrize(
    ("alloy", "family"),
    [
        ("Sn63Pb37", "tin-lead"),
        ("Sn62Pb36Ag2", "other"),
        ("SAC305", "tin-silver-copper"),
        ("Sn99.3Cu0.7", "other"),
        ("Sn96.5Ag3.5", "tin-silver"),
        ("Sn91.9Ag3.4Bi4.7", "bismuth"),
        ("Sn77.2In20Ag2.8", "indium"),
        ("In", "pure indium"),
        ("Sn91Zn9", "other"),
    ],
)
def test_families(alloy, family):
    assert family_of(parse(alloy)) == family
    assert family_of(parse(alloy), is_mixed=True) == "mixed joint"
