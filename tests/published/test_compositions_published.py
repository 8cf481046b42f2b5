"""Designations as standards and journals print them, and atomic percentages as phase-diagram papers print them."""

from fractions import Fraction

import pytest

from selector.composition import from_mapping, parse

DESIGNATIONS = [
    # J-STD-006 (solder alloy designations): symbol and wt%, the largest first.
    ("Sn63Pb37", {"Sn": "63", "Pb": "37"}),
    ("Sn60Pb40", {"Sn": "60", "Pb": "40"}),
    ("Sn62Pb36Ag02", {"Sn": "62", "Pb": "36", "Ag": "2"}),
    ("Pb93Sn05Ag02", {"Pb": "93", "Sn": "5", "Ag": "2"}),
    ("Bi58Sn42", {"Bi": "58", "Sn": "42"}),
    ("In52Sn48", {"In": "52", "Sn": "48"}),
    ("Au80Sn20", {"Au": "80", "Sn": "20"}),
    # ISO 9453 (soft solder alloys), with the decimal point of its English text.
    ("Sn96.5Ag3Cu0.5", {"Sn": "96.5", "Ag": "3", "Cu": "0.5"}),
    ("Sn99.3Cu0.7", {"Sn": "99.3", "Cu": "0.7"}),
    ("Sn95Sb5", {"Sn": "95", "Sb": "5"}),
    ("Sn91Zn9", {"Sn": "91", "Zn": "9"}),
    # Mater. Sci. Eng. A 668 (2016) 224: tin-bismuth with shares of SAC305.
    ("Sn-58Bi", {"Sn": "42", "Bi": "58"}),
    ("Sn-3.0Ag-0.5Cu", {"Sn": "96.5", "Ag": "3", "Cu": "0.5"}),
    # Materials 5 (2012) 2151: a tin-silver-bismuth solder.
    ("Sn-3.3Ag-4.8Bi", {"Sn": "91.9", "Ag": "3.3", "Bi": "4.8"}),
]


@pytest.mark.parametrize(("text", "expected"), DESIGNATIONS, ids=[text for text, _ in DESIGNATIONS])
def test_printed_designation(text, expected):
    assert dict(parse(text).parts) == {element: Fraction(wt) for element, wt in expected.items()}


AT_PERCENT = [
    # Tin-lead eutectic, as handbooks of phase diagrams print it: 61.9 wt% Sn is 73.9 at% Sn.
    ({"Sn": "61.9", "Pb": "38.1"}, "Sn", 73.9, 0.05),
    # Tin-bismuth eutectic, evaluation of the Bi-Sn system: 57 wt% Bi is 43 at% Bi.
    ({"Bi": "57", "Sn": "43"}, "Bi", 43.0, 0.05),
    # The same ratio computed to ten figures: 43 at% Bi is 57.0454039 wt% (Bi 208.98, Sn 118.71 g/mol).
    ({"Bi": "57.0454039", "Sn": "42.9545961"}, "Bi", 43.0, 1e-6),
    # Solubility of bismuth in tin by a thin-film study: 12.4 at% is 20 wt%.
    ({"Sn": "80", "Bi": "20"}, "Bi", 12.4, 0.05),
    # Gold-tin eutectic, handbooks of phase diagrams: 20 wt% Sn is 29.3 at% Sn.
    ({"Au": "80", "Sn": "20"}, "Sn", 29.3, 0.05),
]


@pytest.mark.parametrize(("wt", "element", "at", "printed_to"), AT_PERCENT)
def test_printed_atomic_percentage(wt, element, at, printed_to):
    assert float(from_mapping(wt).at_percent()[element]) == pytest.approx(at, abs=printed_to)
