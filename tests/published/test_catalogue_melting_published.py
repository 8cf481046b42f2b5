"""Computed melting of the catalogue against what its sources tabulate, for alloys of assessed pairs only.

Rows whose source is itself a computation are left out: some rest on the same assessments. A computed figure agrees
where it lies within the tolerance of the range of the other usable rows, which covers their own disagreement.
"""

from itertools import combinations

import pytest

from selector.catalogue import load
from selector.melting.computed import computed_table
from selector.melting.coverage import coverage, systems

WITHIN_SOLIDUS_K = 3.0
WITHIN_LIQUIDUS_K = 5.0
LEAST_ROWS = 50

EXCEPTIONS = {
    # alloy and figure -> what explains it
    ("Pb-5Sn-2.5Ag", "solidus_c"): (
        "tables print 287 here and 296 for 1.5 % Ag: yet more silver binds more tin in Ag3Sn and leaves the lead, and"
        " its solidus, the higher for it; the alloy with 1.5 % Ag agrees"
    ),
    ("Pb-5Sn-2.5Ag", "liquidus_c"): "as its solidus: 296 printed here, 301 with 1.5 % Ag",
    ("Pb-2Sn-2.5Ag", "solidus_c"): (
        "tables print 299: the tin that silver leaves over, 1.1 %, is that of Pb-1Sn-1.5Ag, for which they print 309"
    ),
    ("Pb-2Sn-2.5Ag", "liquidus_c"): "tables print 304, the eutectic of lead and silver alone, and 309 for Pb-1Sn-1.5Ag",
    ("Pb-10Sn-2Ag", "solidus_c"): "3.6 K under 267; the same two tables differ by 9 K on the liquidus",
    (
        "Sn-10Sb",
        "liquidus_c",
    ): "weak: the assessment lies 5 to 7 K under thermal analysis here, and T98 5 K lower still",
    ("Sn-5Ag", "liquidus_c"): "Ag3Sn dissolves late: tables print 240, the liquidus computed is 245.7, T98 220",
    ("Bi-42Pb", "liquidus_c"): "sold as the eutectic, 126; with 42 % Pb it is not: 132 by the assessment",
}
FIGURES = {"solidus_c": ("solidus_c", WITHIN_SOLIDUS_K), "liquidus_c": ("t98_c", WITHIN_LIQUIDUS_K)}


def pairs_that_matter(alloy):
    """Return the pairs that count at a composition, by the shares of systems.toml."""
    rules = systems().matters
    share = {element: float(wt) for element, wt in alloy.parts}
    for pair in combinations(sorted(share), 2):
        least = rules.pair_with_matrix_wt if alloy.matrix in pair else rules.other_pair_wt
        if min(share[element] for element in pair) >= least:
            yield "-".join(pair)


def rows():
    """Return (row of the table, figure, range of the sources) of every alloy of assessed pairs."""
    found = []
    for (_, lead_wt), row in computed_table().items():
        if lead_wt != "0" or not row.is_computed:
            continue
        alloy = load().alloys[row.alloy]
        pairs = pairs_that_matter(coverage(alloy.composition).composition)
        if any(systems().binary[pair].grade != "assessed" for pair in pairs):
            continue
        for figure in FIGURES:
            told = [
                value
                for entry in alloy.of(figure).candidates
                if entry.standing == "usable" and not entry.source.startswith("computed")
                for value in entry.figures
            ]
            if told:
                found.append((row, figure, min(told), max(told)))
    return found


ROWS = rows()


@pytest.mark.parametrize(("row", "figure", "low", "high"), ROWS, ids=lambda value: getattr(value, "alloy", str(value)))
def test_the_computed_figure_is_the_tabulated_one_or_a_named_exception(row, figure, low, high):
    name, tolerance_k = FIGURES[figure]
    computed = getattr(row, name)
    off = max(low - computed, computed - high, 0.0)
    if (row.alloy, figure) in EXCEPTIONS:
        assert off > tolerance_k, "agrees, and is no exception any more"
    else:
        assert off <= tolerance_k, f"{computed} against {low} to {high}"


def test_exceptions_are_few_explained_and_of_rows_that_are_there():
    assert len(ROWS) >= 2 * LEAST_ROWS
    assert 10 * len(EXCEPTIONS) <= len(ROWS)
    assert set(EXCEPTIONS) <= {(row.alloy, figure) for row, figure, _, _ in ROWS}
    assert all(len(why) > 30 for why in EXCEPTIONS.values())


def test_exceptions_that_name_another_figure_are_right_about_it():
    held = {row.alloy: row for row, _, _, _ in ROWS}
    assert held["Sn-5Ag"].liquidus_c == pytest.approx(245.7, abs=0.5)
    assert held["Pb-5Sn-1.5Ag"].solidus_c == pytest.approx(296, abs=1)
    assert held["Pb-1Sn-1.5Ag"].solidus_c == pytest.approx(309, abs=2)
