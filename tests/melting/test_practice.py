"""The remelt onset by rule of practice: every branch on alloys with a solidus given by hand."""

import dataclasses

import pytest

from selector import catalogue
from selector.catalogue.evidence import Evidence, nothing
from selector.composition import parse
from selector.melting.practice import onset_by_practice as remelt_onset


def alloy(spelling, low=None, high=None, value=None):
    solidus = (
        nothing("solidus_c", "degC")
        if low is None
        else Evidence("solidus_c", "degC", value or low, low, high or low, "medium", "measured", "some-paper")
    )
    sac = catalogue.load().find("SAC305")
    return dataclasses.replace(
        sac, id=spelling, composition=parse(spelling), names=(), evidence={**sac.evidence, "solidus_c": solidus}
    )


def test_unknown_solidus():
    onset = remelt_onset(alloy("Sn-3.5Ag"))
    assert (onset.value, onset.interval) == (None, None)
    assert "solidus" in onset.rule


@pytest.mark.parametrize("spelling", ["SAC305", "Sn-37Pb", "In-48Sn", "Sn-5Bi", "Bi-11Ag"])
def test_the_solidus_is_the_onset(spelling):
    onset = remelt_onset(alloy(spelling, 180.0, 190.0, 185.0))
    assert (onset.value, onset.interval) == (185.0, (180.0, 190.0))
    assert onset.rule == "the solidus"
    assert (onset.grade, onset.origin, onset.source) == ("medium", "computed", "some-paper")
    assert onset.inputs[0].value == 185.0


@pytest.mark.parametrize("spelling", ["Sn-5.01Bi", "Sn-17Bi-0.5Cu", "Sn-58Bi"])
def test_over_five_per_cent_bismuth_remelts_at_the_tin_bismuth_eutectic(spelling):
    onset = remelt_onset(alloy(spelling, 157.0, 170.0))
    assert (onset.value, onset.interval) == (138, (138, 139))
    assert "tin-bismuth eutectic" in onset.rule


def test_a_measured_solidus_below_the_eutectic_counts():
    onset = remelt_onset(alloy("Sn-35Bi-1Ag", 137.2, 141.0))
    assert (onset.value, onset.interval, onset.rule) == (137.2, (137.2, 139), "the solidus, at most the eutectic")


def test_a_solidus_that_reaches_down_to_the_eutectic_is_the_eutectic():
    onset = remelt_onset(alloy("Sn-17Bi-0.5Cu", 138.0, 157.0, value=157.0))
    assert (onset.value, onset.interval) == (138, (138, 139))


@pytest.mark.parametrize(
    ("spelling", "ternary"),
    [("Sn-40Bi-1Pb", False), ("Sn-40Bi-1.01Pb", True), ("Bi-32Pb-16Sn", True)],
)
def test_with_lead_it_is_the_ternary_eutectic(spelling, ternary):
    onset = remelt_onset(alloy(spelling, 140.0))
    assert onset.interval == ((95, 98) if ternary else (138, 139))
    assert ("bismuth-lead-tin" in onset.rule) is ternary


def test_with_lead_a_lower_solidus_counts():
    onset = remelt_onset(alloy("Bi-21In-18Pb-12Sn", 58.0))
    assert (onset.value, onset.interval) == (58.0, (58.0, 58.0))


def test_bismuth_without_tin_keeps_its_solidus():
    assert remelt_onset(alloy("Bi-42Pb", 124.0)).value == 124.0


def test_bismuth_with_indium_is_known_only_by_its_ends():
    onset = remelt_onset(alloy("Sn-20Bi-10In", 143.0))
    assert (onset.value, onset.interval) == (None, (60, 143.0))
    assert remelt_onset(alloy("Sn-20Bi-5In", 150.0)).interval == (138, 139)
    assert remelt_onset(alloy("Sn-20Bi-5.01In", 150.0)).value is None


@pytest.mark.parametrize(("high", "value"), [(60.0, 60.0), (85.0, 60.0), (85.1, None)])
def test_bismuth_with_indium_at_its_own_eutectic_is_the_solidus(high, value):
    onset = remelt_onset(alloy("In-32.5Bi-16.5Sn", 60.0, high))
    assert (onset.value, onset.interval) == (value, (60.0, high))


@pytest.mark.parametrize(
    ("spelling", "traces"),
    [
        ("SAC305", []),
        ("Sn-0.99Bi", []),
        ("Sn-1Bi", ["138 degC"]),
        ("Sn-5Bi", ["138 degC"]),
        ("Sn-3Bi-2Pb", ["138 degC", "95 degC"]),
        ("Sn-3Bi-1Pb", ["138 degC"]),
        ("Sn-37Pb", []),
        ("Sn-9.9In", []),
        ("Sn-10In", ["118"]),
        ("Sn-20In-2.8Ag", ["118"]),
        ("In-48Sn", []),
        ("Sn-44.9In", ["118"]),
        ("Sn-45In", []),
        ("Sn-20In-0.1Pb", []),
        ("Sn-20In-3Bi", ["138 degC"]),
    ],
)
def test_traces_are_cautions_and_not_the_onset(spelling, traces):
    onset = remelt_onset(alloy(spelling, 150.0))
    assert onset.value == 150.0
    assert len(onset.cautions) == len(traces)
    for caution, trace in zip(onset.cautions, traces, strict=True):
        assert trace in caution


def test_the_value_stays_inside_its_interval():
    onset = remelt_onset(alloy("Sn-58Bi", 137.0, 141.6, value=141.6))
    assert onset.low <= onset.value <= onset.high
