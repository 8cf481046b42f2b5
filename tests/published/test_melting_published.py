"""The melting engine against handbook invariants, alloy tables and worked freezing cases, each with its source.

Nothing of the first part was used in a fit of the tables that it tests. "Memory" marks handbook or data-sheet figures
that were recalled, not re-read. T98 stands for the liquidus of a data sheet: calorimetry does not see the last
per cent of an intermetallic dissolve.
"""

import numpy as np
import pytest

from selector.composition import atomic_masses, from_mapping, mixed, parse
from selector.melting.alloy import mole_fractions
from selector.melting.coverage import coverage
from selector.melting.equilibrium import state_at
from selector.melting.freezing import scheil
from selector.melting.liquidus import liquidus
from selector.melting.store import melting_of
from selector.units import celsius, kelvin

INVARIANT_K, ALLOY_K = 1.5, 3.0


def melted(alloy):
    return melting_of([parse(alloy) if isinstance(alloy, str) else alloy])[0]


INVARIANTS = [
    # alloy on the invariant, degC published, tolerance K, source
    ("Sn-57Bi", 139, INVARIANT_K, "Sn-Bi eutectic, memory"),
    ("Sn-3.5Ag", 221, INVARIANT_K, "Sn-Ag eutectic, memory"),
    ("Sn-0.9Cu", 227, INVARIANT_K, "Sn-Cu eutectic, memory"),
    ("Sn-38.1Pb", 183, INVARIANT_K, "Sn-Pb eutectic, memory"),
    ("Ag-28.1Cu", 779, INVARIANT_K, "Ag-Cu eutectic, memory"),
    ("Bi-44.5Pb", 125.5, INVARIANT_K, "Bi-Pb eutectic, memory"),
    ("Sn-9Zn", 198.5, INVARIANT_K, "Sn-Zn eutectic, memory; its composition comes out at 7.9 wt% Zn, as assessed"),
    ("Pb-2.5Ag", 304, INVARIANT_K, "Ag-Pb eutectic, memory"),
    ("Bi-2.5Ag", 262.5, INVARIANT_K, "Ag-Bi eutectic, memory"),
    ("Bi-32.5Pb-16Sn", 97, 2, "Bi-Pb-Sn eutectic, 95 to 99, memory"),
    ("Sn-56Bi-0.7Ag", 137.5, INVARIANT_K, "Ag-Bi-Sn eutectic, 137 to 138, memory"),
    ("Sn-36.6Pb-1.6Ag", 178, INVARIANT_K, "Ag-Pb-Sn eutectic, 178 to 179, memory"),
    ("In-26.6Sb", 494, INVARIANT_K, "In-Sb second eutectic near 68 at% Sb; memory"),
    ("Sn-3.7Ag-0.9Zn", 217, INVARIANT_K, "Sn-Ag-Zn eutectic, memory"),
    ("In-48Sn", 120, INVARIANT_K, "In-Sn eutectic, assessed diagram, Thermochim. Acta 413 (2004) 127"),
]


@pytest.mark.parametrize(("alloy", "published_c", "tolerance_k", "source"), INVARIANTS, ids=lambda v: str(v)[:24])
def test_an_invariant_that_no_fit_used(alloy, published_c, tolerance_k, source):
    if alloy == "In-26.6Sb":
        alloy = "Sb-30.7In"
    found = melted(alloy)
    assert found.last_liquid_c == pytest.approx(published_c, abs=tolerance_k), source
    assert found.solidus_c == pytest.approx(published_c, abs=tolerance_k), source


ALLOYS = [
    # alloy, solidus, liquidus published (degC), tolerance of each end in K; both from memory where not said otherwise
    ("Sn-40Bi", 139, 170, 3, 4.5),  # the assessed liquidus lies 4 K above the recalled one
    ("Sn-57Bi-1Ag", 138, 140, 3, 3),
    ("Sn-3.4Ag-4.8Bi", 203, 214.5, 3, 3),  # 201 to 205, 213 to 216
    ("Sn-1Ag-0.5Cu", 217, 227, 3, 3),
    ("Sn-37Pb", 183, 183, 3, 3),
    ("Sn-40Pb", 183, 190, 3, 5),  # makers print 188 to 191; T98 is 185.4 in moles
    ("Sn-50Pb", 183, 215, 3, 4),  # the liquidus itself, 213.8, is within 1.2 K
    ("Pb-5Sn", 308, 312, 3, 3),
    ("Pb-10Sn", 275, 302, 3, 3),
    ("Sn-36Pb-2Ag", 179, 179, 3, 3),
    ("Pb-1Sn-1.5Ag", 309, 309, 3, 3),
    ("Sn-5Sb", 236, 240, 4, 3),  # solidus printed from 232 to 240
    ("Sn-2.5Ag-0.8Cu-0.5Sb", 217, 217, 3, 3),  # 210 to 217 and 217 to 225 are printed
    ("Sn-3.5Ag-0.7Cu-3.3Bi-1.5Sb", 206, 218, 3, 5),
    ("Sn-8Zn-3Bi", 189, 199, 3, 3),
    ("Sn-3.5Ag-1Zn", 217, 217, 3, 3),
]


@pytest.mark.parametrize(("alloy", "solidus_c", "liquidus_c", "low_k", "high_k"), ALLOYS, ids=[a[0] for a in ALLOYS])
def test_an_alloy_of_the_tables(alloy, solidus_c, liquidus_c, low_k, high_k):
    found = melted(alloy)
    assert found.solidus_c == pytest.approx(solidus_c, abs=low_k)
    assert found.t98_c == pytest.approx(liquidus_c, abs=high_k)


def test_the_antimony_corner_rests_on_the_published_liquid_terms():
    """65Sn-25Ag-10Sb: 228 to 233 and 395 degC (data sheets, memory); the terms of J. Alloys Compd. 238 (1996) 155."""
    found = melted("Sn-25Ag-10Sb")
    assert found.solidus_c == pytest.approx(230.5, abs=3)
    assert found.liquidus_c == pytest.approx(395, abs=5)
    assert found.grade == "indicative"


EUTECTICS = [
    # matrix, other, wt% of the other published low and high (memory), where to look, tolerance wt%
    ("Sn", "Bi", 57, 57, (50, 65), 0.5),
    ("Sn", "Ag", 3.5, 3.5, (2, 5), 0.3),
    ("Sn", "Cu", 0.7, 0.9, (0.3, 2), 0.1),
    ("Sn", "Pb", 38.1, 38.1, (30, 45), 0.5),
    ("Ag", "Cu", 28.1, 28.1, (20, 35), 0.5),
    ("Pb", "Bi", 55.5, 55.5, (50, 60), 0.5),
    ("In", "Sn", 48.8, 48.8, (40, 60), 0.5),  # 48 at%, assessed diagram, Thermochim. Acta 413 (2004) 127
    ("Sn", "Zn", 8.8, 9.0, (5, 12), 0.5),
]
MISSED_EUTECTICS = {"Sn-Zn": (7.9, "the answer of the assessment: the same parameters stand in three public files")}


def lowest_liquidus(matrix, other, low_wt, high_wt):
    """Return the wt% of the second element at which the liquidus of a binary is lowest."""
    elements = tuple(sorted((matrix, other)))
    wt = np.linspace(low_wt, high_wt, 801)
    moles = {matrix: (100 - wt) / float(atomic_masses()[matrix]), other: wt / float(atomic_masses()[other])}
    x = np.stack([moles[element] for element in elements])
    return float(wt[liquidus(x / x.sum(axis=0), elements).t_k.argmin()])


@pytest.mark.parametrize(("matrix", "other", "low_wt", "high_wt", "where", "tolerance_wt"), EUTECTICS)
def test_the_composition_of_a_binary_eutectic(matrix, other, low_wt, high_wt, where, tolerance_wt):
    found = lowest_liquidus(matrix, other, *where)
    off = max(low_wt - found, found - high_wt)
    missed = MISSED_EUTECTICS.get(f"{matrix}-{other}")
    if missed is None:
        assert off <= tolerance_wt
    else:
        assert off > tolerance_wt, f"mended: no exception any more ({missed[1]})"
        assert found == pytest.approx(missed[0], abs=0.1)


def test_where_tin_indium_silver_loses_its_last_silver_phase():
    """Sn-20In-2.8Ag: sheets print 175/187. Liquid from 136, 56 % at 175, where hcp Ag-In is all but gone."""
    entry = coverage(parse("Sn-20In-2.8Ag"))
    x = mole_fractions(entry)
    at = {t: state_at(entry.elements, x, kelvin(t)) for t in (150, 170, 175, 180)}
    assert [at[t].liquid_moles for t in (150, 170, 175)] == pytest.approx([0.115, 0.43, 0.56], abs=0.02)
    silver = {t: sum(part for name, part, _ in at[t].phases if name in ("HCP_A3", "AG2IN")) for t in at}
    assert silver[150] > 0.04
    assert 0 < silver[175] < 0.012
    assert silver[180] == 0


WEAK = [
    # alloy, published, computed by the engine today, which end, why
    ("Sn-20In-2.8Ag", 175, 136, "solidus_c", "the assessed In-Sn binary alone melts at 142; at 175 silver ends"),
    ("Sn-10Sb", 268, 247.5, "t98_c", "sheets print 266 to 270, calorimetry at 10 at% gave 260: assessed 5 K low"),
    ("Pb-25In", 250, 232.5, "solidus_c", "the In-Pb functions fitted to give 231 by themselves"),
    ("Bi-26In-17Sn", 79, 91.8, "t98_c", "57Bi-26In-17Sn: a few per cent of bismuth dissolve late"),
]  # fmt: skip


@pytest.mark.parametrize(("alloy", "published_c", "computed_c", "field", "why"), WEAK, ids=[w[0] for w in WEAK])
def test_what_is_weak_stays_visible(alloy, published_c, computed_c, field, why):
    found = melted(alloy)
    assert getattr(found, field) == pytest.approx(computed_c, abs=1.5), why
    assert abs(getattr(found, field) - published_c) > ALLOY_K, f"mended: move it to the checks ({why})"


class TestFittedNotEvidence:
    """Targets of this project's own fits: quality of fit only, they prove nothing."""

    @pytest.mark.parametrize(
        ("alloy", "target_c", "tolerance_k", "target"),
        [
            ("In-33.7Bi", 72.7, 1.5, "Bi-In eutectic at 78.5 at% In, memory"),
            ("Bi-33In", 109.7, 1.5, "Bi-In eutectic at 47.2 at% In, memory"),
            ("In-3Ag", 144, 4, "Ag-In eutectic 144 degC, memory: 140.9 fitted"),
            ("Bi-2.7Zn", 254.5, 3, "Bi-Zn eutectic, memory: 256.7 fitted"),
            ("Pb-11.1Sb", 251.7, 3, "Pb-Sb eutectic, memory: 249.4 fitted"),
            ("In-2.2Zn", 143.5, 3.5, "In-Zn eutectic, memory: 140.6 fitted"),
            ("SAC387", 217.2, 1.5, "Sn-Ag-Cu eutectic, J. Electron. Mater. 29 (2000) 1122: one constant was set to it"),
            ("Bi-28In-20Sn", 77, 1.5, "Bi-In-Sn eutectic, J. Alloys Compd. 428 (2007) 115, abstract"),
        ],
    )
    def test_target(self, alloy, target_c, tolerance_k, target):
        assert melted(alloy).last_liquid_c == pytest.approx(target_c, abs=tolerance_k), target


def frozen(alloy, step_k=1.0):
    entry = coverage(alloy)
    x = mole_fractions(entry)[:, None]
    return scheil(x, entry.elements, liquidus(x, entry.elements).t_k, step_k)


def fraction(path, amounts, temperature_c):
    return float(np.interp(kelvin(temperature_c), path.t_k[::-1], amounts[::-1, 0]))


SAC305, BI58 = parse("SAC305"), parse("Sn-58Bi")
THIRTY = mixed([(SAC305, "0.7"), (parse("Sn-57Bi-1Ag"), "0.3")])
# Freezing computed with the open `scheil` package on the same tables, 1 K steps; mass fraction unless marked mole.
WORKED = [
    ("SAC305 with 30 % Sn-57Bi-1Ag", THIRTY, "mass", {139: 0.18, 150: 0.21, 180: 0.42}, 136.9),
    ("Sn-58Bi with 1 % Pb", mixed([(BI58, "0.99"), (parse("Pb"), "0.01")]), "mass", {98: 0.034, 120: 0.073}, 97.7),
    ("Sn-58Bi with 0.1 % Pb", mixed([(BI58, "0.999"), (parse("Pb"), "0.001")]), "mass", {100: 0.007}, 97.7),
    ("Sn-3.4Ag-4.8Bi", parse("Sn-3.4Ag-4.8Bi"), "mass", {139: 0.030}, 137.0),
    ("Sn-20In-2.8Ag", parse("Sn-20In-2.8Ag"), "mole", {115: 0.17, 139: 0.24, 150: 0.30, 175: 0.60}, 109.4),
    ("Sn-3.5Ag-8In", parse("Sn-3.5Ag-8In"), "mole", {139: 0.036, 150: 0.045, 180: 0.11}, 109.4),
    ("Sn-8Zn-3Bi", parse("Sn-8Zn-3Bi"), "mole", {139: 0.011, 150: 0.014, 180: 0.048}, 135.0),
]  # fmt: skip


@pytest.mark.parametrize(("name", "alloy", "basis", "worked", "last_c"), WORKED, ids=[w[0] for w in WORKED])
def test_a_worked_freezing_case_within_two_points(name, alloy, basis, worked, last_c):
    path = frozen(alloy)
    amounts = path.liquid_mass if basis == "mass" else path.liquid_moles
    for temperature_c, expected in worked.items():
        assert fraction(path, amounts, temperature_c) == pytest.approx(expected, abs=0.02), temperature_c
    assert celsius(float(path.last_k[0])) == pytest.approx(last_c, abs=1)


def test_where_liquid_goes_fast_the_worked_figure_is_one_of_coarse_steps():
    """Sn-58Bi with 1 % Pb at 136 degC: 0.51 is worked with 1 K steps; 0.25 K steps of the same package give 0.476.

    Between 138 and 135 degC half of the alloy freezes, so that a whole kelvin is a coarse step there. Ours takes such
    kelvins in parts; it is held against its own value at 0.1 K.
    """
    alloy = mixed([(BI58, "0.99"), (parse("Pb"), "0.01")])
    usual, fine = frozen(alloy), frozen(alloy, 0.1)
    converged = fraction(fine, fine.liquid_mass, 136)
    assert converged == pytest.approx(0.467, abs=0.005)
    assert fraction(usual, usual.liquid_mass, 136) == pytest.approx(converged, abs=0.02)


@pytest.mark.parametrize(
    ("share", "solidus_c", "liquid_mole"),
    [("0.05", 206, 0.011), ("0.1", 195, 0.030), ("0.2", 172, 0.082), ("0.5", 137, 0.33)],
)
def test_rework_with_tin_bismuth_leaves_the_low_melting_film_at_any_share(share, solidus_c, liquid_mole):
    """SAC305 touched up with Sn-58Bi: a forum case, worked by equilibrium and by Scheil-Gulliver on the same tables."""
    alloy = mixed([(SAC305, 1 - float(share)), (BI58, share)])
    assert melted(alloy).solidus_c == pytest.approx(solidus_c, abs=1)
    path = frozen(alloy)
    assert celsius(float(path.last_k[0])) == pytest.approx(137, abs=1)
    assert fraction(path, path.liquid_moles, 138.5) == pytest.approx(liquid_mole, rel=0.2)


def test_lead_tin_bismuth_of_mailing_lists_begins_to_melt_near_98():
    """Sn43Pb43Bi14: tables print 144 to 163 and 136 to 167 degC; worked: 135.7, 165.5, 3.9 mol% liquid at 98 degC."""
    alloy = from_mapping({"Sn": 43, "Pb": 43, "Bi": 14})
    found, path = melted(alloy), frozen(alloy)
    assert found.solidus_c == pytest.approx(135.7, abs=3)
    assert found.liquidus_c == pytest.approx(165.5, abs=3)
    assert fraction(path, path.liquid_moles, 98.5) == pytest.approx(0.039, abs=0.005)
    assert found.onset_low_c == pytest.approx(97.8, abs=0.5)
    assert found.onset_high_c == pytest.approx(135.7, abs=0.5)


def test_liquid_at_equilibrium_of_the_mixed_joint():
    """The 70:30 mixture above: equilibrium mole fraction liquid 0 at 139, 0.007 at 150 and 0.32 at 180 degC."""
    entry = coverage(THIRTY)
    x = mole_fractions(entry)
    for temperature_c, expected in ((139, 0.0), (150, 0.007), (180, 0.32)):
        assert state_at(entry.elements, x, kelvin(temperature_c)).liquid_moles == pytest.approx(expected, abs=0.01)
