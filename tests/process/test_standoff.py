"""Under a part: flow, residue, cure and cleaning, to the edge of each rule."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.errors import InputError
from selector.process.material_sets import standoff_kind
from selector.process.standoff import flux_cleaning, residue, underfill_cure, underfill_time_s
from selector.verdict import Outcome

PASS, FAIL, UNKNOWN = Outcome.PASS, Outcome.FAIL, Outcome.UNKNOWN


def test_the_flow_of_the_notes():
    assert underfill_time_s(10, 75) == pytest.approx(71, abs=0.1)


@given(st.floats(1, 50), st.floats(10, 300), st.floats(0.05, 5), st.floats(0.02, 0.05), st.floats(0, 60))
def test_each_input_has_its_own_power(length, gap, viscosity, tension, angle):
    time = underfill_time_s(length, gap, viscosity, tension, angle)
    assert underfill_time_s(length, gap / 2, viscosity, tension, angle) == pytest.approx(2 * time)
    assert underfill_time_s(2 * length, gap, viscosity, tension, angle) == pytest.approx(4 * time)
    assert underfill_time_s(length, gap, 2 * viscosity, tension, angle) == pytest.approx(2 * time)
    assert underfill_time_s(length, gap, viscosity, 2 * tension, angle) == pytest.approx(time / 2)
    assert underfill_time_s(length, gap, viscosity, tension, angle + 1) > time


@pytest.mark.parametrize(
    ("standoff", "underfilled", "outcome"),
    [
        (49.9, True, FAIL),
        (50, True, UNKNOWN),
        (49.9, False, UNKNOWN),
        (74.9, False, UNKNOWN),
        (75, False, UNKNOWN),
        (99.9, True, UNKNOWN),
        (100, True, PASS),
    ],
)
def test_residue_to_the_edge(standoff, underfilled, outcome):
    found = residue(standoff, underfilled)
    assert found.outcome is outcome
    assert bool(found.threshold) == (outcome is UNKNOWN)


def test_where_sources_differ_residue_flux_and_material_set_all_stay_open():
    assert "sources differ" in residue(80).reason
    assert standoff_kind(80) == "unsettled"
    assert flux_cleaning("no-clean", 80).outcome is UNKNOWN


@pytest.mark.parametrize(
    ("cure", "outcome"), [(118, PASS), (118.1, UNKNOWN), (128, UNKNOWN), (128.1, FAIL), (165, FAIL)]
)
def test_cure_below_the_onset_of_tin_bismuth(cure, outcome):
    found = underfill_cure(cure, 138)
    assert found.outcome is outcome
    assert found.margin == pytest.approx(118 - cure)


def test_the_ends_of_the_onset_both_count():
    assert underfill_cure(118, 138, 150).outcome is PASS
    assert underfill_cure(135, 138, 150).outcome is UNKNOWN
    assert underfill_cure(141, 138, 150).outcome is FAIL
    # A tie in decimal, which floats miss by a hair.
    assert underfill_cure(108.2, 128.2).outcome is PASS


@pytest.mark.parametrize(
    ("flux", "standoff", "proved", "outcome"),
    [
        # The project's reference case 27: a QFN at 25 to 50 um.
        ("water-soluble", 40, False, FAIL),
        ("no-clean", 40, False, UNKNOWN),
        ("water-soluble", 40, True, PASS),
        ("water-soluble", 74.9, False, FAIL),
        ("water-soluble", 75, False, UNKNOWN),
        ("water-soluble", 300, False, UNKNOWN),
        ("no-clean", 300, False, PASS),
        ("no-clean", 99.9, False, UNKNOWN),
        ("no-clean", 100, False, PASS),
    ],
)
def test_no_clean_is_no_pass_by_its_name(flux, standoff, proved, outcome):
    assert flux_cleaning(flux, standoff, proved).outcome is outcome


def test_a_cool_peak_and_a_solid_land_are_told():
    found = flux_cleaning("no-clean", 40, peak_c=170, windowed=False)
    assert any("insulation data at this profile (170 degC)" in text for text in found.cautions)
    assert any("windows" in text for text in found.cautions)
    assert len(flux_cleaning("no-clean", 40, peak_c=245).cautions) == 1


@pytest.mark.parametrize(
    ("call", "arguments", "where"),
    [
        (underfill_time_s, (10, -75), "standoff_um"),
        (underfill_time_s, (10, 0), "standoff_um"),
        (underfill_time_s, (10, 75, 500), "viscosity_pa_s"),
        (underfill_time_s, (10, 75, 0.5, 30), "tension_n_m"),
        (underfill_time_s, (10, 75, 0.5, 0.03, 90), "contact_angle_deg"),
        (residue, (-1,), "standoff_um"),
        (underfill_cure, (120, 150, 138), "onset_high_c"),
        (underfill_cure, (1200, 138), "cure_c"),
        (flux_cleaning, ("magic", 50), "flux"),
        (flux_cleaning, ("no-clean", -50), "standoff_um"),
        (flux_cleaning, ("no-clean", 50, False, 1000), "peak_c"),
    ],
)
def test_what_cannot_be_names_its_input(call, arguments, where):
    with pytest.raises(InputError) as caught:
        call(*arguments)
    assert where in {fault.where for fault in caught.value.faults}
