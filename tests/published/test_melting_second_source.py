"""Melting figures against a second source, typed in here: not the one that the rule of evidence chose.

Each row names its source by the id in `data/sources.csv` and a tolerance as tight as the two sources allow: they
differ by rounding, by the impurities of real metal, and by 1 to 2 K between calculated equilibria and makers'
tables. Rows marked `memory-...` are recalled handbook diagrams or the standards' melting columns, and are there
only for alloys of which nothing else was found.
"""

import pytest

from selector.catalogue import load

SOLIDUS, LIQUIDUS = "solidus_c", "liquidus_c"
SHIFT_K = 6.0

EXPECTED = [
    # alloy, end, degC in the second source, tolerance in K, second source
    ("Sn", SOLIDUS, 231.9, 0.1, "encyclopedia-conductivity"),
    ("Sn", LIQUIDUS, 231.9, 0.1, "encyclopedia-conductivity"),
    ("Sn-37Pb", SOLIDUS, 183, 0.5, "maker-sheet-2007"),
    ("Sn-37Pb", LIQUIDUS, 182.9, 0.5, "computed-pb-sn-1981"),
    ("Sn-40Pb", SOLIDUS, 183, 0.5, "maker-sheet-2007"),
    ("Sn-40Pb", LIQUIDUS, 186, 2, "maker-page-solder-columns"),
    ("Sn-50Pb", SOLIDUS, 183, 0.5, "maker-sheet-2007"),
    ("Sn-50Pb", LIQUIDUS, 210.7, 1.5, "computed-pb-sn-1981"),
    ("Sn-36Pb-2Ag", SOLIDUS, 179, 0.5, "maker-sheet-2007"),
    ("Sn-36Pb-2Ag", LIQUIDUS, 179, 0.5, "maker-sheet-2007"),
    ("Pb-40Sn", SOLIDUS, 183, 0.5, "maker-sheet-2007"),
    ("Pb-5Sn", SOLIDUS, 308, 0.5, "maker-page-solder-columns"),
    ("Pb-5Sn", LIQUIDUS, 312, 0.5, "maker-page-solder-columns"),
    ("Pb-10Sn", LIQUIDUS, 302, 0.5, "encyclopedia-alloy-list"),
    ("Pb-5Sn-1.5Ag", SOLIDUS, 296, 0.5, "maker-sheet-2007"),
    ("Pb-5Sn-1.5Ag", LIQUIDUS, 301, 0.5, "maker-sheet-2007"),
    ("Au-20Sn", SOLIDUS, 280, 0.5, "paper-j-astm-int-2011-8-1"),
    ("Au-20Sn", LIQUIDUS, 280, 0.5, "paper-j-astm-int-2011-8-1"),
    ("Sn-5Sb", SOLIDUS, 236, 1, "maker-sheet-2007"),
    ("Sn-5Sb", LIQUIDUS, 240, 0.5, "maker-page-lead-free-paste"),
    ("Sn-0.7Cu", SOLIDUS, 227, 0.5, "maker-sheet-2007"),
    ("Sn-0.7Cu", LIQUIDUS, 227, 1, "maker-sheet-2007"),
    ("Sn-3Cu", SOLIDUS, 226.9, 0.5, "computed-nist-solder-1999"),
    ("Sn-3.5Ag", SOLIDUS, 220.4, 1, "computed-nist-solder-1999"),
    ("Sn-3.5Ag", LIQUIDUS, 221.0, 0.5, "computed-nist-solder-1999"),
    ("Sn-3Ag", SOLIDUS, 220.4, 0.8, "computed-nist-solder-1999"),
    ("Sn-3Ag", LIQUIDUS, 222.5, 1.8, "computed-nist-solder-1999"),
    ("Sn-5Ag", SOLIDUS, 220.4, 0.8, "computed-nist-solder-1999"),
    ("Sn-0.3Ag-0.7Cu", SOLIDUS, 216, 1.2, "computed-nist-solder-1999"),
    ("Sn-0.3Ag-0.7Cu", LIQUIDUS, 227.1, 1.2, "computed-nist-solder-1999"),
    ("Sn-0.8Ag-0.7Cu", SOLIDUS, 216, 0.5, "computed-nist-solder-1999"),
    ("Sn-0.8Ag-0.7Cu", LIQUIDUS, 225.5, 0.8, "computed-nist-solder-1999"),
    ("SAC105", SOLIDUS, 216, 1.2, "computed-nist-solder-1999"),
    ("SAC105", LIQUIDUS, 226, 1.2, "computed-nist-solder-1999"),
    ("SAC305", SOLIDUS, 217, 0.5, "compiled-table-2010"),
    ("SAC305", LIQUIDUS, 220, 0.5, "compiled-table-2010"),
    ("Sn-3.8Ag-0.7Cu", SOLIDUS, 217, 0.5, "compiled-table-2010"),
    ("Sn-3.8Ag-0.7Cu", LIQUIDUS, 220, 0.5, "compiled-table-2010"),
    ("SAC405", SOLIDUS, 217, 0.5, "compiled-table-2010"),
    ("SAC405", LIQUIDUS, 220, 0.5, "compiled-table-2010"),
    ("Sn-9Zn", SOLIDUS, 198.6, 0.5, "computed-cost507-1998"),
    ("Bi-42Sn", SOLIDUS, 138.8, 1, "computed-nist-solder-1999"),
    ("Bi-42Sn", LIQUIDUS, 138, 0.5, "encyclopedia-alloy-list"),
    ("Bi-42Sn-1Ag", SOLIDUS, 137.2, 2, "computed-nist-solder-1999"),
    ("Sn-47Bi", SOLIDUS, 139, 0.5, "computed-sn-bi-subregular"),
    ("Sn-47Bi", LIQUIDUS, 159.2, 2.5, "computed-sn-bi-subregular"),
    ("Sn-45Bi", SOLIDUS, 139, 0.5, "computed-sn-bi-subregular"),
    ("Sn-45Bi", LIQUIDUS, 163.1, 2.5, "computed-sn-bi-subregular"),
    ("In-48Sn", SOLIDUS, 118, 0.5, "maker-table-2004"),
    ("In-48Sn", LIQUIDUS, 118, 0.5, "maker-table-2004"),
    ("In-32.5Bi-16.5Sn", SOLIDUS, 60.42, 0.5, "paper-front-energy-liquid-metals"),
    ("Bi-26In-17Sn", SOLIDUS, 80.70, 2, "paper-front-energy-liquid-metals"),
    ("Bi-21In-18Pb-12Sn", SOLIDUS, 59.73, 2, "paper-front-energy-liquid-metals"),
    ("Bi-26.7Pb-13.3Sn-10Cd", SOLIDUS, 70, 0.5, "encyclopedia-fusible"),
    ("Bi-22.6Pb-19.1In-8.3Sn-5.3Cd", SOLIDUS, 47.2, 0.5, "encyclopedia-fusible"),
    ("Ga-21.5In-16Sn", SOLIDUS, 11, 0.5, "maker-table-2004"),
    # From memory: melting columns of the standards, and handbook binary diagrams.
    ("In", SOLIDUS, 156.6, 0.5, "memory-melting-columns"),
    ("Sn-0.7Cu-0.05Ni", SOLIDUS, 227, 0.5, "memory-melting-columns"),
    ("SAC205", SOLIDUS, 217, 1, "memory-melting-columns"),
    ("SAC205", LIQUIDUS, 223, 0.5, "memory-melting-columns"),
    ("Pb-5Sn-2.5Ag", SOLIDUS, 287, 0.5, "memory-melting-columns"),
    ("Pb-5Sn-2.5Ag", LIQUIDUS, 296, 0.5, "memory-melting-columns"),
    ("In-40Pb", SOLIDUS, 173, 0.5, "memory-melting-columns"),
    ("In-40Pb", LIQUIDUS, 181, 0.5, "memory-melting-columns"),
    ("In-3Ag", SOLIDUS, 144, 1, "memory-phase-diagrams"),
    ("Sn-20In-2.8Ag", LIQUIDUS, 187, 1, "memory-melting-columns"),
    ("Sn-8Zn-3Bi", SOLIDUS, 190, 1, "memory-melting-columns"),
    ("Bi-2.5Ag", SOLIDUS, 262.5, 0.5, "memory-phase-diagrams"),
    ("Bi-11Ag", SOLIDUS, 262.5, 0.5, "memory-phase-diagrams"),
    ("Zn-5Al", SOLIDUS, 381, 0.5, "memory-phase-diagrams"),
    ("Zn-4Al", LIQUIDUS, 387, 1.5, "memory-phase-diagrams"),
    ("Au-3.2Si", SOLIDUS, 363, 0.5, "memory-melting-columns"),
    ("Ga-24.5In", SOLIDUS, 15.4, 0.7, "memory-phase-diagrams"),
]
each_row = pytest.mark.parametrize(
    ("alloy", "end", "expected", "tolerance", "source"), EXPECTED, ids=[f"{row[0]}-{row[1]}" for row in EXPECTED]
)


def agrees(value: float, expected: float, tolerance: float) -> bool:
    return abs(value - expected) <= tolerance + 1e-9


def chosen_value(alloy: str, end: str) -> float:
    value = load().alloys[alloy].of(end).value
    assert value is not None
    return value


@each_row
def test_a_melting_figure_agrees_with_a_second_source(alloy, end, expected, tolerance, source):
    catalogue = load()
    entry = catalogue.alloys[alloy].of(end)
    assert source in catalogue.sources
    assert entry.chosen is not None
    assert entry.chosen.source != source
    assert agrees(chosen_value(alloy, end), expected, tolerance), (entry.value, entry.chosen.source)


@each_row
@pytest.mark.parametrize("shift", [-SHIFT_K, SHIFT_K])
def test_the_comparison_would_see_a_shift(alloy, end, expected, tolerance, source, shift):
    assert not agrees(chosen_value(alloy, end) + shift, expected, tolerance)


@pytest.mark.parametrize("shift", [-3.0, 3.0])
def test_even_half_that_shift_would_fail_nearly_everywhere(shift):
    seen = [
        not agrees(chosen_value(alloy, end) + shift, expected, tolerance)
        for alloy, end, expected, tolerance, _ in EXPECTED
    ]
    assert sum(seen) >= 0.9 * len(EXPECTED)


def test_enough_alloys_are_compared_and_most_with_a_source_that_was_read():
    alloys = {row[0] for row in EXPECTED}
    read = {row[0] for row in EXPECTED if not row[4].startswith("memory-")}
    assert len(alloys) >= 40
    assert len(read) >= 25
    assert len({(row[0], row[1]) for row in EXPECTED}) == len(EXPECTED)


def test_the_chosen_figures_do_not_lean_to_one_side():
    differences = [chosen_value(alloy, end) - expected for alloy, end, expected, _, _ in EXPECTED]
    assert abs(sum(differences) / len(differences)) < 0.5
