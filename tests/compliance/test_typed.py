"""Contents as people type them: units, names of elements, and what is refused rather than guessed."""

from fractions import Fraction

import pytest

from selector.compliance.exemptions import renewal_due
from selector.compliance.typed import content_of, element_of, impossible


@pytest.mark.parametrize(
    ("text", "ppm"),
    [("450ppm", 450), ("0.045%", 450), ("0.1 %", 1000), ("100 wt%", 1_000_000), ("12 mg/kg", 12), ("0.07%", 700)],
)
def test_a_content_in_ppm_and_percent(text, ppm):
    faults = []
    assert content_of("x", text, faults) == ppm
    assert not faults


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("1,100ppm", "has a comma"),
        ("0,1%", "has a comma"),
        ("many", "is not a number"),
        ("1000", "has no unit"),
        ("101%", "lies outside the range"),
        ("-1ppm", "lies outside the range"),
    ],
)
def test_what_is_no_content_is_refused(text, told):
    faults = []
    assert content_of("x", text, faults) is None
    assert told in str(faults[0])


def test_a_bare_number_is_ppm_where_the_field_says_so():
    assert content_of("x", "1000", [], bare=True) == 1000


def test_elements_by_symbol_and_name():
    faults = []
    assert [element_of("x", text, faults) for text in ("Sb", "antimony", "Lead")] == ["Sb", "Sb", "Pb"]
    assert not faults
    assert element_of("x", "unobtainium", faults) is None
    assert "a name such as lead" in str(faults[0])


def test_more_than_the_whole_is_impossible():
    assert not impossible("x", {"Pb": Fraction(500_000), "Sn": Fraction(500_000)})
    assert "more than the whole" in str(impossible("x", {"Pb": Fraction(500_001), "Sn": Fraction(500_000)})[0])


@pytest.mark.parametrize(
    ("until", "due"),
    [((2027, 12, 31), (2026, 6, 30)), ((2027, 6, 30), (2025, 12, 30)), ((2028, 8, 31), (2027, 2, 28))],
)
def test_a_renewal_is_due_eighteen_months_before(until, due):
    from datetime import date

    assert renewal_due(date(*until)) == date(*due)
