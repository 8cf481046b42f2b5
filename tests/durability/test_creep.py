"""Creep: the proxy and the laws apart, each inverse of itself, monotone, and refused where it does not hold."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.catalogue.evidence import nothing
from selector.composition import parse
from selector.durability.constants import creep_data
from selector.durability.creep import arrhenius_ratio, creep_proxy, creep_rate, creep_strength, creep_strengths
from selector.durability.service import band_of, homologous_state
from selector.errors import InputError

LAWS = {law.id: law for law in creep_data().law}
laws = st.sampled_from(list(LAWS.values()))


def where(call):
    with pytest.raises(InputError) as caught:
        call()
    return {fault.where for fault in caught.value.faults}


@given(st.floats(-50, 400), st.floats(0.01, 300))
def test_the_proxy_is_nothing_at_the_onset_and_rises_with_heat(service_c, above_k):
    onset_c = service_c + above_k
    value = creep_proxy(service_c, onset_c).value
    assert value < 0
    assert creep_proxy(service_c - 1, onset_c).value < value
    assert creep_proxy(service_c, onset_c + 1).value < value


def test_equal_homologous_temperature_gives_equal_proxy():
    one, other = creep_proxy(26.85, 226.85), creep_proxy(176.85, 476.85)
    assert one.value == pytest.approx(other.value)
    assert any("no strength" in flag for flag in one.flags)


@pytest.mark.parametrize(("service_c", "onset_c"), [(139, 139), (150, 139), (math.nan, 139)])
def test_an_onset_below_service_is_refused(service_c, onset_c):
    assert where(lambda: creep_proxy(service_c, onset_c)) & {"onset_c", "service_c"}
    assert where(lambda: creep_strengths(parse("SAC305"), service_c, onset_c)) & {"onset_c", "service_c"}


@given(laws, st.floats(25, 120), st.floats(-9, -4))
def test_strength_and_rate_are_inverse(law, temperature_c, decade):
    rate = 10.0**decade
    stress = creep_strength(law, temperature_c, rate)
    if (law.low_mpa or 0) < stress <= (law.high_mpa or 100):
        assert creep_rate(law, stress, temperature_c) == pytest.approx(rate, rel=1e-9)


@given(laws, st.floats(25, 119), st.floats(-9, -4))
def test_strength_falls_with_heat_and_rises_with_rate(law, temperature_c, decade):
    stress = creep_strength(law, temperature_c, 10.0**decade)
    assert creep_strength(law, temperature_c + 1, 10.0**decade) < stress
    assert creep_strength(law, temperature_c, 10.0 ** (decade + 0.1)) > stress


def test_every_set_stands_by_itself_and_none_is_a_mean():
    told = creep_strengths(parse("SAC305"), 85)
    assert len(told) == 4
    assert [round(entry.value, 1) for entry in told] == [7.9, 7.1, 7.4, 8.2]
    assert all("not read" in " ".join(entry.flags) and entry.grade == "low" for entry in told)
    assert any("measured on Sn-3.8Ag-0.7Cu, shown for" in flag for flag in told[0].flags)
    rates = [creep_rate(LAWS[name], 20, 25) for name in ("sac387-2003", "sac396-2003")]
    assert rates[0] / rates[1] == pytest.approx(3.6, abs=0.05)


def test_proxy_and_strength_are_both_shown_since_they_disagree_on_indium():
    indium, snpb = creep_proxy(85, 156.6).value, creep_proxy(85, 183).value
    assert abs(indium - snpb) < 1
    ours = {alloy: creep_strengths(parse(alloy), 85)[0].value for alloy in ("In", "Sn63Pb37")}
    assert ours["In"] < ours["Sn63Pb37"] / 5


@pytest.mark.parametrize(
    ("alloy", "mixed", "part"),
    [
        ("Sn42Bi58", False, "no sinh law"),
        ("In52Sn48", False, "none of its alloys"),
        ("Sn95Sb5", False, "no published"),
        ("SAC305", True, "mixed"),
    ],
)
def test_where_no_law_holds_there_is_no_number(alloy, mixed, part):
    (entry,) = creep_strengths(parse(alloy), 85, is_mixed=mixed)
    assert entry.value is None
    assert part in entry.why
    assert any("for trends only" in flag for flag in entry.flags) == (alloy == "Sn42Bi58")


def test_a_law_out_of_its_range_has_no_number_and_the_others_stand():
    told = creep_strengths(parse("SAC305"), -40)
    assert [entry.is_known for entry in told] == [True, False, True, False]
    assert "25 to 125" in told[3].why


def test_beyond_breakdown_is_refused():
    """The sinh law of indium gives 5e7 per s at 5 MPa and 85 degC."""
    assert where(lambda: creep_rate(LAWS["in-1992"], 5, 85)) == {"stress_mpa"}
    assert where(lambda: creep_rate(LAWS["sac387-2003"], 45, 25)) == {"stress_mpa"}
    assert where(lambda: creep_rate(LAWS["sac387-2003"], 20, 151)) == {"temperature_c"}
    assert where(lambda: creep_strength(LAWS["sac396-cast"], 25, 1)) == {"rate_per_s"}
    assert where(lambda: creep_strength(LAWS["sn-pb-1992"], 183)) == {"temperature_c"}
    assert where(lambda: creep_strength(LAWS["sac-package"], -250)) == {"temperature_c"}
    assert where(lambda: creep_strength(LAWS["in-1992"], 157)) == {"temperature_c"}


@given(st.floats(1, 200), st.floats(-50, 200), st.floats(-50, 200))
def test_an_arrhenius_ratio_is_inverse_when_swapped(kj_mol, one_c, other_c):
    assert arrhenius_ratio(kj_mol, one_c, other_c) * arrhenius_ratio(kj_mol, other_c, one_c) == pytest.approx(1)


def test_arrhenius_refuses_what_cannot_be():
    assert where(lambda: arrhenius_ratio(-1, 25, math.inf)) == {"kj_mol", "to_c"}


def onset(low, high):
    from dataclasses import replace

    known = nothing("remelt_onset_c", "degC")
    return replace(
        known, value=low if low == high else None, low=low, high=high, source="practice", origin="computed", grade="low"
    )


def test_homologous_temperature_rests_on_the_lowest_onset():
    state = homologous_state(85, onset(138, 217))
    assert state.value == state.high == pytest.approx(358.15 / 411.15)
    assert state.low == pytest.approx(358.15 / 490.15)
    assert "fast coarsening" in state.law
    assert any("ordinary service" in flag for flag in state.flags)


def test_service_over_the_whole_onset_is_refused_and_over_a_part_of_it_is_said():
    assert where(lambda: homologous_state(139, onset(138, 139))) == {"service_c"}
    assert any("melts" in flag for flag in homologous_state(138.5, onset(138, 139)).flags)
    assert not homologous_state(85, nothing("remelt_onset_c", "degC", why="not known")).is_known


@pytest.mark.parametrize(
    ("ratio", "part"),
    [
        (0.39, "small"),
        (0.40, "present"),
        (0.60, "ordinary"),
        (0.80, "fast"),
        (0.90, "short time"),
        (0.95, "rejected"),
        (1.2, "rejected"),
    ],
)
def test_bands_begin_at_their_edges(ratio, part):
    assert part in band_of(ratio)
