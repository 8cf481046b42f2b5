"""The remelt onset: what is computed, what is tabulated, and which of them stands."""

import dataclasses

import pytest

from selector import catalogue
from selector.catalogue.evidence import Evidence, nothing
from selector.composition import parse
from selector.melting import onset as room
from selector.melting.computed import Computed
from selector.melting.onset import joint_onset, liquid_as_frozen, remelt_onset

ALLOYS = catalogue.load().alloys


def row(**given):
    fixed = {
        "alloy": "x", "lead_wt": "0", "composition": "", "status": "computed", "grade": "assessed", "half_width_k": 3.0,
        "liquidus_c": 220.0, "t98_c": 219.0, "t90_c": 218.0, "solidus_c": 200.0, "last_liquid_c": 138.0,
        "first_liquid_mass": 0.01, "remelt_onset_c": 200.0, "onset_low_c": 200.0, "onset_high_c": 200.0,
        "onset_rule": "the solidus", "onset_phases": (), "curve": ((220.0, 1.0), (138.0, 0.01), (138.0, 0.0)),
        "notes": ("assessed: well", "caution: 1 % melts first"), "inputs": "",
    }  # fmt: skip
    return Computed(**(fixed | given))


def alloy(low=None, high=None, value=None):
    solidus = (
        nothing("solidus_c", "degC")
        if low is None
        else Evidence("solidus_c", "degC", value or low, low, high or low, "high", "measured", "some-paper")
    )
    sac = ALLOYS["SAC305"]
    return dataclasses.replace(sac, id="x", evidence={**sac.evidence, "solidus_c": solidus})


@pytest.fixture
def computed(monkeypatch):
    """Return a function that sets what the table holds."""

    def hold(found):
        monkeypatch.setattr(room, "computed_melting", lambda _: found)

    return hold


def test_a_computed_solidus_that_agrees_leaves_the_tabulated_one(computed):
    computed(row())
    found = remelt_onset(alloy(201.0, 202.0))
    assert (found.value, found.interval, found.grade, found.source) == (201.0, (201.0, 202.0), "high", "some-paper")
    assert found.cautions == ("1 % melts first",)
    assert "200 degC" in found.rule


def test_a_residue_that_counts_is_the_computed_one_with_its_width(computed):
    computed(row(remelt_onset_c=138.0, onset_low_c=138.0, onset_high_c=138.0, onset_rule="the first liquid"))
    found = remelt_onset(alloy(200.0))
    assert (found.value, found.interval) == (138.0, (135.0, 141.0))
    assert (found.origin, found.grade, found.source) == ("computed", "medium", "computed-melting")


def test_a_first_liquid_near_the_fraction_keeps_both_readings(computed):
    computed(row(onset_low_c=138.0))
    found = remelt_onset(alloy(200.0))
    assert (found.value, found.interval) == (None, (135.0, 200.0))
    assert "both are kept" in found.rule


@pytest.mark.parametrize(("tabulated", "interval"), [(210.0, (197.0, 210.0)), (190.0, (190.0, 203.0))])
def test_a_conflict_with_the_tabulated_solidus_keeps_both_sides(computed, tabulated, interval):
    computed(row())
    found = remelt_onset(alloy(tabulated))
    assert (found.value, found.interval) == (None, interval)
    assert "both sides are kept" in found.rule


def test_a_difference_of_exactly_three_kelvin_is_no_conflict(computed):
    computed(row())
    assert remelt_onset(alloy(203.0)).value == 203.0


def test_an_indicative_value_sets_bounds_and_never_a_value(computed):
    computed(row(grade="indicative", half_width_k=20.0, notes=("why indicative: A-B: trend",)))
    found = remelt_onset(alloy(200.0))
    assert (found.value, found.interval) == (None, (180.0, 220.0))
    assert "indicative" in found.rule
    assert "A-B: trend" in found.cautions[0]
    assert remelt_onset(alloy()).interval is None


def test_without_a_tabulated_solidus_the_computed_one_stands(computed):
    computed(row(grade="fitted", half_width_k=6.0))
    found = remelt_onset(alloy())
    assert (found.value, found.interval, found.grade) == (200.0, (194.0, 206.0), "low")


@pytest.mark.parametrize("held", [None, row(remelt_onset_c=None), row(status="not computed: 5 wt% Al", grade="")])
def test_what_is_not_computed_falls_back_on_practice_and_says_so(computed, held):
    computed(held if held is None or held.is_computed else dataclasses.replace(held, remelt_onset_c=None))
    found = remelt_onset(alloy(217.0))
    assert found.value == 217.0
    assert "by rule of practice" in found.rule
    assert ("5 wt% Al" in found.rule) is (held is not None and not held.is_computed)


@pytest.mark.parametrize("name", list(ALLOYS))
def test_no_onset_of_the_catalogue_lies_wholly_above_its_solidus_or_outside_its_interval(name):
    found = remelt_onset(ALLOYS[name])
    assert found.low <= ALLOYS[name].of("solidus_c").high
    if found.value is not None:
        assert found.low <= found.value <= found.high


@pytest.mark.parametrize(
    ("name", "low_c", "high_c"),
    [("Sn-3.4Ag-4.8Bi", 195, 205), ("Sn-3.8Ag-0.7Cu-3Bi-1.4Sb-0.15Ni", 195, 210)],
)
def test_a_little_bismuth_keeps_its_onset_with_a_caution_near_the_tin_bismuth_eutectic(name, low_c, high_c):
    found = remelt_onset(ALLOYS[name])
    assert low_c < found.low <= found.high < high_c
    assert any("137 degC" in caution for caution in found.cautions)


@pytest.mark.parametrize("name", ["Sn-17Bi-0.5Cu", "Sn-30Bi-0.5Cu", "Sn-40Bi", "Sn-45Bi", "Bi-42Sn", "Bi-42Sn-1Ag"])
def test_much_bismuth_softens_at_the_tin_bismuth_eutectic(name):
    assert 137 <= remelt_onset(ALLOYS[name]).value <= 139


def test_liquid_as_frozen_is_read_off_the_table():
    assert liquid_as_frozen(ALLOYS["Sn-17Bi-0.5Cu"], 100.0) == 0.0
    assert liquid_as_frozen(ALLOYS["Sn-17Bi-0.5Cu"], 140.0) == pytest.approx(0.17, abs=0.01)
    assert liquid_as_frozen(ALLOYS["Au-20Sn"], 100.0) is None


def test_a_composition_that_the_table_does_not_hold_is_computed(monkeypatch, tmp_path):
    monkeypatch.setenv("MELTWISE_CACHE", str(tmp_path))
    foreign = dataclasses.replace(alloy(), composition=parse("Sn-41.5Bi"))
    assert remelt_onset(foreign).value == pytest.approx(138.8, abs=0.2)


def test_a_joint_with_an_alloy_of_unknown_onset_is_not_known(computed):
    computed(None)
    assert joint_onset(ALLOYS["SAC305"], alloy()).interval is None
