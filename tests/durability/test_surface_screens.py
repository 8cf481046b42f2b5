"""Drop, current, couples of metals and tin pest: by hand, at their edges, and refused where they do not hold."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.composition import parse
from selector.durability.drop import drop_height_m, drop_life, pulse_speed_m_s
from selector.durability.electromigration import black_ratio, black_span, current_density_a_cm2, electromigration
from selector.durability.galvanic import active_element, difference_v, galvanic
from selector.durability.tin_pest import tin_pest
from selector.errors import InputError
from selector.verdict import Outcome

SAC, SNBI, SNZN, SNPB = (parse(text) for text in ("SAC305", "Sn42Bi58", "Sn91Zn9", "Sn63Pb37"))


def where(call):
    with pytest.raises(InputError) as caught:
        call()
    return {fault.where for fault in caught.value.faults}


def test_drop_pulse_of_the_standard():
    assert pulse_speed_m_s() == pytest.approx(4.68, abs=0.005)  # 467 cm/s in the table, recalled
    assert drop_height_m(pulse_speed_m_s()) == pytest.approx(1.12, abs=0.005)
    assert where(lambda: pulse_speed_m_s(0, -1)) == {"peak_g", "pulse_ms"}
    assert where(lambda: drop_height_m(-1)) == {"speed_m_s"}


def test_drop_life_is_never_a_number():
    for alloy in (SAC, SNBI):
        entry = drop_life(alloy)
        assert entry.value is None
        assert any("slow tensile" in flag for flag in entry.flags)
    assert "bismuth-rich" in drop_life(SNBI).flags[0]
    assert "bismuth-rich" not in drop_life(SAC).flags[0]


@pytest.mark.parametrize(
    ("alloy", "density", "joint_c", "outcome"),
    [
        (SAC, 900, 85, Outcome.PASS),
        (SAC, 5000, 85, Outcome.PASS),
        (SAC, 5001, 85, Outcome.UNKNOWN),
        (SAC, 10_001, 100, Outcome.UNKNOWN),
        (SAC, 10_001, 101, Outcome.FAIL),
        (SNBI, 3000, 85, Outcome.PASS),
    ],
)
def test_current_density_bands(alloy, density, joint_c, outcome):
    assert electromigration(alloy, density, joint_c, 138).outcome is outcome


def test_bismuth_is_watched_already_over_the_fine_density():
    told = electromigration(SNBI, 1001, 85, 138).cautions
    assert "watch segregation" in told[0]
    assert not any("watch segregation" in c for c in electromigration(SAC, 1001, 85, 217).cautions)
    assert not any("watch segregation" in c for c in electromigration(SNBI, 1000, 85, 138).cautions)


def test_black_is_a_span_for_tin_rich_alloys_and_stops_before_the_onset():
    span = black_span(SAC, 2, 100, 150, 217)
    assert span.value is None
    assert span.low < 109.2 < span.high
    assert not black_span(SNBI, 2, 60, 100, 139).is_known
    assert where(lambda: black_span(SNBI, 2, 60, 125, 139)) == {"test_c"}  # 0.966 of the onset
    assert where(lambda: black_span(SAC, 2, 200, 205, 217)) == {"use_c", "test_c"}


@given(st.floats(1.01, 10), st.floats(0, 99), st.floats(1, 50))
def test_black_grows_with_current_and_heat_of_the_test(ratio, use_c, hotter_k):
    assert black_ratio(1, use_c, use_c, 2, 0.9) == pytest.approx(1)
    assert black_ratio(ratio, use_c, use_c, 2, 0.9) == pytest.approx(ratio**2)
    assert black_ratio(1, use_c, use_c + hotter_k, 2, 0.9) > 1


def test_current_refuses_what_cannot_be():
    assert where(lambda: current_density_a_cm2(-1, 0)) == {"current_a", "opening_um"}
    assert where(lambda: electromigration(SAC, -1, 220, 217)) == {"density_a_cm2", "onset_c"}
    assert where(lambda: black_ratio(0, math.nan, 100, 9, 5)) == {"density_ratio", "use_c", "n", "ev"}


def dry(**changes):
    return {"humid": True, "sealed": False, "vacuum": False, "high_reliability": True, **changes}


def test_tin_zinc_on_copper_is_1_1_volt_apart():
    """A real question: tin-zinc tops a score by cost and heat. 0.334 + 0.761 = 1.095 V by finer potentials."""
    assert difference_v("Zn", "Cu") == pytest.approx(1.095, abs=0.01)
    verdict = galvanic(SNZN, "Cu", **dry())
    assert verdict.outcome is Outcome.FAIL
    assert "1.10 V" in verdict.reason
    assert "not a lifetime" in verdict.cautions[0]


@pytest.mark.parametrize(
    ("alloy", "metal", "use", "outcome"),
    [
        (SNZN, "Cu", dry(high_reliability=False), Outcome.UNKNOWN),
        (SNZN, "Cu", dry(high_reliability=None), Outcome.UNKNOWN),
        (SNZN, "Cu", dry(sealed=True), Outcome.PASS),
        (SNZN, "Cu", dry(humid=False), Outcome.PASS),
        (SNZN, "Cu", dry(humid=None, sealed=None), Outcome.UNKNOWN),
        (SNZN, "Al", dry(), Outcome.PASS),
        (SNZN, "Cu", dry(vacuum=True, humid=False), Outcome.FAIL),
        (SAC, "Cu", dry(), Outcome.PASS),
        (parse("In52Sn48"), "Cu", dry(), Outcome.FAIL),
    ],
)
def test_couples(alloy, metal, use, outcome):
    verdict = galvanic(alloy, metal, **use)
    assert verdict.outcome is outcome
    assert bool(verdict.threshold) == (outcome is Outcome.UNKNOWN)


def test_a_dry_or_aluminium_couple_passes_with_a_caution():
    assert any("stays dry" in c for c in galvanic(SNZN, "Cu", **dry(humid=False)).cautions)
    assert any("coat or seal" in c for c in galvanic(SNZN, "Al", **dry()).cautions)
    assert any("vacuum" in c for c in galvanic(SNZN, "Cu", **dry(vacuum=None)).cautions)


def test_zinc_counts_from_a_trace_on_and_indium_does_not():
    assert active_element(parse("Sn99.8Zn0.2")) == "Zn"
    assert active_element(parse("Sn99.5In0.5")) == "Sn"


def test_a_metal_without_a_potential_is_refused():
    assert where(lambda: galvanic(SAC, "Ti", **dry())) == {"metal"}
    assert where(lambda: active_element(parse("Ga100"))) == {"alloy"}


@pytest.mark.parametrize(
    ("alloy", "outcome", "part"),
    [
        ("Sn", Outcome.PASS, "undoped"),
        ("Sn99.3Cu0.7", Outcome.PASS, "undoped"),
        ("SAC305", Outcome.PASS, "open for tin-silver"),
        ("Sn99.1Cu0.7Bi0.2", Outcome.PASS, "too little"),
        ("Sn98.8Cu0.7Bi0.5", Outcome.PASS, "impact in the cold"),
        ("Sn95Sb5", Outcome.PASS, "impact in the cold"),
        ("Sn63Pb37", Outcome.PASS, "impact in the cold"),
        ("In52Sn48", Outcome.NOT_APPLICABLE, None),
        ("Pb95Sn5", Outcome.NOT_APPLICABLE, None),
    ],
)
def test_tin_pest_at_minus_50_is_a_caution_and_never_a_fail(alloy, outcome, part):
    """A real question: storage at -50 degC. No single safe temperature is told."""
    verdict = tin_pest(parse(alloy), -50)
    assert verdict.outcome is outcome
    assert part is None or part in verdict.cautions[0]
    assert verdict.limit is None


def test_tin_pest_where_it_is_never_cold_or_not_known():
    assert tin_pest(parse("Sn"), 13).outcome is Outcome.NOT_APPLICABLE
    assert tin_pest(parse("Sn"), None).cautions[0].startswith("where it is kept colder than 13")
    assert where(lambda: tin_pest(parse("Sn"), -300)) == {"coldest_c"}
