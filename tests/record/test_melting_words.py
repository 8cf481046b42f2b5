"""Computed melting in words: every case of the finding, and rows that hide no failure."""

from dataclasses import replace

import pytest

from selector.brief import read, shipped
from selector.catalogue import load
from selector.composition import parse
from selector.decision import decide
from selector.melting.alloy import Melting
from selector.melting.lever import LeverPoint
from selector.record import charts_limits, charts_melting
from selector.record.melting_words import Entry, curve_rows, figure_rows, finding, in_service, percent, phase_rows

PLAIN = Melting(
    "Sn-3.5Ag",
    ("Ag", "Sn"),
    (0.04, 0.96),
    "assessed",
    3.0,
    liquidus_c=221.0,
    t98_c=221.0,
    solidus_c=221.0,
    last_liquid_c=221.0,
    first_liquid_mass=0.9,
    remelt_onset_c=221.0,
    onset_low_c=221.0,
    onset_high_c=221.0,
    onset_rule="the first liquid",
    phases=(("(Sn)", 221.0, 0.95), ("Ag3Sn", 221.0, 0.05)),
    curve=((221.5, 1.0), (221.0, 0.9), (221.0, 0.0)),
)


def entry(name="A", in_service=None, **changes):
    return Entry(name, parse("Sn-3.5Ag"), replace(PLAIN, **changes), (), in_service)


def unknown(**changes):
    ends = dict.fromkeys(("remelt_onset_c", "onset_low_c", "onset_high_c"))
    return entry("B", **ends | changes)


def test_the_onset_comes_with_its_interval_and_grade():
    assert finding([entry()], 85) == (
        "As frozen, the joint begins to melt: A at 221 degC (218 to 224, assessed)."
        " At the service maximum of 85 degC nothing is liquid."
    )


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"failures": ("solidus: the solver found no checked answer",)}, "solidus: the solver found no checked answer"),
        ({"liquidus_c": None, "notes": ("two liquids where it begins to freeze",)}, "two liquids where it begins"),
        ({"liquidus_c": None}, "no liquidus was found"),
        ({"last_liquid_c": None}, "liquid remains down to 25 degC"),
        ({}, "it is the solidus, which is not computed"),
    ],
)
def test_a_missing_onset_is_told_with_its_reason(changes, why):
    told = finding([entry(), unknown(**changes)], None)
    assert "A at 221 degC" in told
    assert f"B: no remelt onset ({why}" in told
    assert told.endswith("The brief states no service maximum.")


def test_what_is_liquid_in_service_is_told_alloy_by_alloy():
    half = entry("half", curve=((250.0, 1.0), (200.0, 0.0)))
    lost = entry("lost", curve=())
    assert in_service([entry(), half, lost], 225) == (
        "At the service maximum of 225 degC is liquid, as frozen: all of A; 50 % of half; not known for lost."
    )
    assert in_service([entry(), half], 210) == (
        "At the service maximum of 210 degC is liquid, as frozen: nothing of A; 20 % of half."
    )
    assert "the tables end at 25 degC" in in_service([entry()], 10)


def test_where_liquid_remains_at_the_end_of_the_curve_nothing_is_said_below_it():
    wet = entry(last_liquid_c=None, curve=((100.0, 1.0), (60.0, 0.3)))
    assert wet.frozen_liquid(80) == pytest.approx(0.65)
    assert wet.frozen_liquid(50) is None
    assert "not known for A" in in_service([wet], 50)


@pytest.mark.parametrize(
    ("fraction", "text"),
    [
        (None, "unknown"),
        (0, "0"),
        (1, "100"),
        (0.0004, "under 0.1"),
        (0.9999, "over 99.9"),
        (0.0123, "1.2"),
        (0.5, "50"),
    ],
)
def test_a_share_is_never_nought_or_all_where_it_is_not_quite(fraction, text):
    assert percent(fraction) == text


def test_rows_say_what_is_not_known():
    rows = {row["figure"]: row["B"] for row in figure_rows([unknown(solidus_c=None)], 85)}
    assert rows["remelt onset, degC"] == rows["solidus, homogenised, degC"] == "unknown"
    assert rows["liquid at 85 degC, as frozen, % by mass"] == "0"
    assert rows["liquid at 85 degC, at equilibrium, % by mass"] == "unknown"


def test_solids_stand_in_the_order_of_forming_and_those_of_equilibrium_alone_follow():
    held = LeverPoint(85, 0.0, (("(Sn)", 0.94), ("Other", 0.06)))
    rows = phase_rows(entry(in_service=held), 85)
    assert [row["solid"] for row in rows] == ["(Sn)", "Ag3Sn", "Other"]
    column = "at equilibrium at 85 degC, % by mass"
    assert [row[column] for row in rows] == ["94", "0", "6"]
    # No answer is not the same as nothing there.
    assert column not in phase_rows(entry(in_service=LeverPoint(85, 0.0, ())), 85)[0]
    assert column not in phase_rows(entry(), None)[0]


def test_the_curves_are_told_from_the_liquidus_down():
    rows = curve_rows([entry()])
    assert [row["degC"] for row in rows] == [221.0, 221.0, 221.0]


# limits across the bars


def labels(chart):
    marks = [layer.get("mark", {}) for layer in chart.to_dict()["layer"]]
    return [mark for mark in marks if mark.get("type") == "text"]


def test_bars_stand_against_the_limits_of_the_brief_and_near_names_take_two_lines():
    limits = charts_limits.limits_of(decide(read(shipped("skin-patch")), load()))
    assert [(limit.label, limit.at_c) for limit in limits] == [
        ("service", 45),
        ("least onset", pytest.approx(85)),
        ("parts", 175),
    ]
    told = charts_limits.limits_caption(limits)
    assert "Dotted line: service maximum, 45 degC." in told
    bars = charts_melting.melting_bars({"A": PLAIN})
    chart = charts_limits.with_limits(bars, limits, (218, 224))
    assert sorted(mark["dy"] for mark in labels(chart)) == [-19, -4, -4]
    assert charts_limits.with_limits(bars, (), (218, 224)) is bars


def test_limits_with_an_unknown_term_are_left_out():
    brief = read(shipped("skin-patch"))
    process = brief.process.model_copy(update={"superheat_k": "unknown"})
    open_brief = brief.model_copy(update={"process": process})
    assert [limit.label for limit in charts_limits.limits_of(decide(open_brief, load()))] == ["service", "least onset"]
