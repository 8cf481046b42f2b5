"""The melting engine against published melting figures.

Published values are standard or handbook figures from memory where a row says so, else read in the source that it
names. Figures in wt% and degC. Where the engine misses, the row is named as an exception with what explains it, and the
test fails as well when the exception is no longer one.
"""

from collections.abc import Mapping

import numpy as np
import pytest

from selector.composition import Composition, atomic_masses, parse
from selector.melting.alloy import mole_fractions
from selector.melting.coverage import coverage
from selector.melting.equilibrium import state_at
from selector.melting.freezing import Freezing, scheil
from selector.melting.liquidus import liquidus
from selector.melting.mixing import blend, with_trace
from selector.melting.store import melting_of
from selector.units import celsius, kelvin


def melted(alloy):
    return melting_of([parse(alloy) if isinstance(alloy, str) else alloy])[0]


def frozen(alloy: Composition, step_k: float = 1.0) -> Freezing:
    entry = coverage(alloy)
    x = mole_fractions(entry)[:, None]
    return scheil(x, entry.elements, liquidus(x, entry.elements).t_k, step_k)


def left(path: Freezing, temperature_c: float, by: str = "mass") -> float:
    amounts = path.liquid_mass if by == "mass" else path.liquid_moles
    return float(np.interp(kelvin(temperature_c), path.t_k[::-1], amounts[::-1, 0]))


def lowest_liquidus(matrix: str, other: str, low_wt: float, high_wt: float) -> tuple[float, float, float]:
    """Return wt% and at% of the second element, and degC, where the liquidus of a binary is lowest."""
    elements = tuple(sorted((matrix, other)))
    wt = np.linspace(low_wt, high_wt, 801)
    ours, theirs = wt / float(atomic_masses()[other]), (100 - wt) / float(atomic_masses()[matrix])
    share = ours / (ours + theirs)
    found = liquidus(np.stack([share if element == other else 1 - share for element in elements]), elements).t_k
    k = int(found.argmin())
    return float(wt[k]), 100 * float(share[k]), celsius(float(found[k]))


WITHIN_INVARIANT_K = 1.5
# Tables are figures of published assessments; nothing here was tuned by this project. Source of every row: standard
# handbook values, from memory, unless said otherwise.
INVARIANTS = [
    # what freezes last, an alloy on it, degC low and high as published
    ("Sn-Bi", "Sn-57Bi", 139, 139),
    ("Sn-Ag", "Sn-3.5Ag", 221, 221),
    ("Sn-Cu", "Sn-0.9Cu", 227, 227),
    ("Sn-Pb", "Sn-38.1Pb", 183, 183),
    ("Ag-Cu", "Ag-28.1Cu", 779, 779),
    ("Bi-Pb", "Bi-44.5Pb", 125.5, 125.5),
    ("Sn-Zn", "Sn-8.9Zn", 198.5, 198.5),
    ("Ag-Pb", "Pb-2.5Ag", 304, 304),
    ("Ag-Bi", "Bi-2.5Ag", 262.5, 262.5),
    ("Bi-Pb-Sn", "Bi-32Pb-16Sn", 95, 99),
    ("Ag-Bi-Sn", "Sn-57Bi-1Ag", 137, 138),
    ("Ag-Pb-Sn", "Sn-36Pb-2Ag", 178, 179),
]

EUTECTICS = [
    # matrix, other, wt% of the other low and high as published (from memory), where to look, tolerance in wt%
    ("Sn", "Bi", 57, 57, (50, 65), 0.5),
    ("Sn", "Ag", 3.5, 3.5, (2, 5), 0.3),
    ("Sn", "Cu", 0.7, 0.9, (0.3, 2), 0.1),
    ("Sn", "Pb", 38.1, 38.1, (30, 45), 0.5),
    ("Ag", "Cu", 28.1, 28.1, (20, 35), 0.5),
    ("Pb", "Bi", 55.5, 55.5, (50, 60), 0.5),
    ("Sn", "Zn", 8.8, 9.0, (5, 12), 0.5),
]
EUTECTIC_EXCEPTIONS = {
    "Sn-Zn": "the COST 507 parameters themselves put it at 7.9 wt%: the same figures stand in three public files"
}

WITHIN_ALLOY_K = 3.0
ALLOYS = [
    # alloy, solidus low and high, liquidus low and high as published (data sheets and standards, from memory)
    ("Sn-40Bi", 139, 139, 170, 170),
    ("Sn-57Bi-1Ag", 138, 138, 140, 140),
    ("Sn-3.4Ag-4.8Bi", 201, 205, 213, 216),
    ("Sn-1Ag-0.5Cu", 217, 217, 227, 227),
    ("Sn-37Pb", 183, 183, 183, 183),
    ("Sn-40Pb", 183, 183, 190, 190),
    ("Sn-50Pb", 183, 183, 215, 215),
    ("Pb-5Sn", 308, 308, 312, 312),
    ("Pb-10Sn", 275, 275, 302, 302),
    ("Sn-36Pb-2Ag", 179, 179, 179, 179),
    ("Pb-1.5Ag-1Sn", 309, 309, 309, 309),
    ("Sn-5Sb", 232, 240, 240, 240),
]
T98_EXCEPTIONS = {
    "Sn-40Bi": "other tables print 174 to 175 (catalogue, three sources), as computed; 170 is a rounded 139/170",
    "Sn-40Pb": "the last 2 % freeze over 2.4 K: the liquidus itself, 188.4, is within the tolerance of 190",
}


def beyond(value: float, low: float, high: float) -> float:
    """Return how far a value lies outside a range."""
    return max(low - value, value - high, 0.0)


class TestNotTuned:
    @pytest.mark.parametrize(("system", "alloy", "low_c", "high_c"), INVARIANTS)
    def test_the_last_liquid_of_an_alloy_on_the_invariant(self, system, alloy, low_c, high_c):
        path = frozen(parse(alloy))
        assert path.invariant[0]
        assert beyond(celsius(float(path.last_k[0])), low_c, high_c) <= WITHIN_INVARIANT_K

    @pytest.mark.parametrize(("matrix", "other", "low_wt", "high_wt", "where", "tolerance_wt"), EUTECTICS)
    def test_the_composition_of_a_binary_eutectic(self, matrix, other, low_wt, high_wt, where, tolerance_wt):
        wt, _, _ = lowest_liquidus(matrix, other, *where)
        off = beyond(wt, low_wt, high_wt)
        if f"{matrix}-{other}" in EUTECTIC_EXCEPTIONS:
            assert off > tolerance_wt, "no exception any more"
            assert wt == pytest.approx(7.9, abs=0.1)
        else:
            assert off <= tolerance_wt

    @pytest.mark.parametrize(("alloy", "low_c", "high_c", "low_liquidus_c", "high_liquidus_c"), ALLOYS)
    def test_solidus_and_t98_of_an_alloy(self, alloy, low_c, high_c, low_liquidus_c, high_liquidus_c):
        found = melted(alloy)
        assert found.failures == ()
        assert beyond(found.solidus_c, low_c, high_c) <= WITHIN_ALLOY_K
        off = beyond(found.t98_c, low_liquidus_c, high_liquidus_c)
        assert (off > WITHIN_ALLOY_K) is (alloy in T98_EXCEPTIONS), off

    def test_the_exceptions_are_what_they_say(self):
        assert melted("Sn-40Bi").t98_c == pytest.approx(174.0, abs=0.5)
        assert beyond(melted("Sn-40Pb").liquidus_c, 190, 190) <= WITHIN_ALLOY_K
        assert len(T98_EXCEPTIONS) <= len(ALLOYS) / 5

    def test_a_late_compound_is_why_t98_stands_beside_the_liquidus(self):
        # Data sheets print 140 and 179: the last of Ag3Sn dissolves far above and no thermal analysis shows it.
        assert melted("Sn-57Bi-1Ag").liquidus_c == pytest.approx(161.6, abs=0.5)
        assert melted("Sn-36Pb-2Ag").liquidus_c == pytest.approx(193.3, abs=0.5)


class TestNotTunedSecond:
    """Systems of later assessments, each checked once and not fitted by this project."""

    # Sources: In-Sn, In-Sb, Sb-Zn from memory; Sn-3.5Ag-1Zn and its eutectic from memory.
    @pytest.mark.parametrize(
        ("matrix", "other", "where", "published_c", "tolerance_k"),
        [
            ("In", "Sn", (40, 60), 120, 1.5),
            ("In", "Sb", (0.1, 3), 155, 1.5),
            ("Sb", "In", (15, 45), 494, 1.5),
            ("Zn", "Sb", (1, 4), 411, 3),
        ],
    )
    def test_binary_eutectics(self, matrix, other, where, published_c, tolerance_k):
        assert lowest_liquidus(matrix, other, *where)[2] == pytest.approx(published_c, abs=tolerance_k)

    def test_the_eutectic_of_indium_and_tin_lies_at_48_at_per_cent_tin(self):
        assert lowest_liquidus("In", "Sn", 40, 60)[1] == pytest.approx(48, abs=0.5)

    def test_tin_silver_zinc(self):
        found = melted("Sn-3.5Ag-1Zn")
        assert found.solidus_c == pytest.approx(217, abs=1.5)
        assert found.t98_c == pytest.approx(217, abs=1.5)


class TestFittedNotEvidence:
    """Rows that this project fitted its own parameters to: how well the fit holds, and no evidence for anything."""

    # what, target, how far the fit misses it at most; sources of the targets: read where it says so, else from memory.
    FIT: Mapping[str, tuple[float, float]] = {
        "Bi-In eutectic beside (Bi)": (109.7, 0.3),
        "Bi-In eutectic beside (Bi), at% In": (47.2, 0.3),
        "BiIn melts as one": (110.0, 0.3),  # read: summary of the assessed diagram
        "Bi-In eutectic beside epsilon": (72.7, 0.6),
        "Bi-In eutectic beside epsilon, at% In": (78.5, 0.5),
        "Ag-In eutectic": (144, 3.5),
        "liquidus of In-10Ag": (237, 5.5),
        "Bi-Zn eutectic": (254.5, 2.5),
        "Bi-Zn eutectic, at% Zn": (8.1, 0.4),
        "Pb-Sb eutectic": (251.7, 2.5),
        "In-Zn eutectic": (143.5, 3.0),
        "Bi-In-Sn eutectic": (77, 0.5),  # read: abstract of J. Alloys Compd. 428 (2007) 115
        "Sn-Ag-Cu eutectic": (217.2, 0.8),
    }

    @pytest.mark.parametrize("what", list(FIT))
    def test_the_fit_holds(self, what):
        target, misfit = self.FIT[what]
        assert self.computed(what) == pytest.approx(target, abs=misfit)

    @staticmethod
    def computed(what: str) -> float:
        at_percent = what.endswith("at% In") or what.endswith("at% Zn")
        match what.split(",")[0]:
            case "Bi-In eutectic beside (Bi)":
                return lowest_liquidus("Bi", "In", 20, 35)[1 if at_percent else 2]
            case "Bi-In eutectic beside epsilon":
                return lowest_liquidus("Bi", "In", 55, 80)[1 if at_percent else 2]
            case "Bi-Zn eutectic":
                return lowest_liquidus("Bi", "Zn", 1, 5)[1 if at_percent else 2]
            case "Ag-In eutectic":
                return lowest_liquidus("In", "Ag", 1, 8)[2]
            case "Pb-Sb eutectic":
                return lowest_liquidus("Pb", "Sb", 8, 15)[2]
            case "In-Zn eutectic":
                return lowest_liquidus("In", "Zn", 1, 5)[2]
            case "BiIn melts as one":
                return celsius(float(liquidus(np.full((2, 1), 0.5), ("Bi", "In")).t_k[0]))
            case "liquidus of In-10Ag":
                entry = coverage(parse("In-10Ag"))
                return celsius(float(liquidus(mole_fractions(entry)[:, None], entry.elements).t_k[0]))
            case "Bi-In-Sn eutectic":
                return celsius(float(frozen(parse("Bi-28.9In-19.8Sn")).last_k[0]))
            case "Sn-Ag-Cu eutectic":
                return celsius(float(frozen(parse("Sn-3.5Ag-0.72Cu")).last_k[0]))
        raise AssertionError(what)


class TestStillWeak:
    """Where the engine misses published figures, so that the notes in the grades and in docs/ are kept true."""

    # Published figures from memory (data sheets), but Sn-20In-2.8Ag see below.
    def test_bismuth_tin_zinc_is_five_kelvin_high(self):
        off = celsius(float(frozen(parse("Bi-41Sn-2Zn")).last_k[0])) - 130
        assert 3 < off < 6
        assert "5 K above" in " ".join(coverage(parse("Bi-41Sn-2Zn")).deciding)

    def test_the_low_bismuth_indium_tin_eutectic_is_three_kelvin_low(self):
        off = celsius(float(frozen(parse("In-32.5Bi-16.5Sn")).last_k[0])) - 60
        assert -4.5 < off < -3
        assert coverage(parse("In-32.5Bi-16.5Sn")).half_width_k >= -off

    def test_tin_indium_silver_begins_to_melt_where_its_indium_tin_binary_says(self):
        # Sheets print 175/187. The assessed In-Sn binary (Thermochim. Acta 413 (2004) 127) alone puts Sn-20In lower.
        found, binary = melted("Sn-20In-2.8Ag"), melted("Sn-20.6In")
        assert found.solidus_c == pytest.approx(136, abs=0.5)
        assert binary.solidus_c < 145
        assert found.t98_c == pytest.approx(187, abs=3)
        x, elements = np.array(found.mole_fractions), found.elements
        at = {t: state_at(elements, x, kelvin(t)) for t in (150, 170, 175)}
        assert [at[t].liquid_moles for t in (150, 170, 175)] == pytest.approx([0.12, 0.43, 0.56], abs=0.02)
        # Near 175 degC its last silver dissolves, as hcp Ag-In: there a sheet's thermal analysis would draw the onset.
        silver = {t: sum(part for name, part, _ in at[t].phases if name in ("HCP_A3", "AG2IN")) for t in at}
        assert silver[150] > 0.04
        assert silver[175] < 0.012
        assert "HCP_A3" not in {name for name, _, _ in state_at(elements, x, kelvin(180)).phases}

    @pytest.mark.parametrize(
        ("alloy", "solidus_c", "low_k", "high_k"),
        [("Pb-25In", 250, -20, -14), ("In-50Pb", 184, -9, -5)],
    )
    def test_the_solidus_of_indium_with_much_lead_is_low(self, alloy, solidus_c, low_k, high_k):
        assert low_k < melted(alloy).solidus_c - solidus_c < high_k
        assert coverage(parse(alloy)).grade != "assessed"

    def test_tin_antimony_silver_misses_its_liquidus(self):
        assert melted("Sn-25Ag-10Sb").liquidus_c - 395 == pytest.approx(-39, abs=2)
        assert coverage(parse("Sn-25Ag-10Sb")).grade == "indicative"

    def test_ten_per_cent_antimony_misses_its_liquidus(self):
        # 246/260 at 10 at% read: thermal analysis of Vassiliev's paper of 2001 as the reference notes cite it.
        found = melted("Sn-10Sb")
        assert found.liquidus_c - 260 == pytest.approx(-7, abs=1)
        assert found.solidus_c == pytest.approx(246, abs=3)


SAC, BISMUTH = parse("SAC305"), parse("Sn-58Bi")
MIXED = blend(SAC, parse("Sn-57Bi-1Ag"), "0.3")

# As-frozen liquid computed by this project's reference run with the scheil package at 1 K steps on the same tables: a
# second engine, not a published figure. Of published liquid fractions none is known.
AS_FROZEN = [
    # alloy, mass or mole fraction, degC -> liquid
    (MIXED, "mass", {139: 0.18, 150: 0.21, 180: 0.42}),
    (with_trace(BISMUTH, {"Pb": "1"}), "mass", {98: 0.034, 120: 0.073}),
    (with_trace(BISMUTH, {"Pb": "0.1"}), "mass", {100: 0.007}),
    (parse("Sn-3.4Ag-4.8Bi"), "mass", {139: 0.030}),
    (parse("Sn-20In-2.8Ag"), "mole", {115: 0.17, 139: 0.24, 150: 0.30, 175: 0.60}),
    (parse("Sn-3.5Ag-8In"), "mole", {139: 0.036, 150: 0.045, 180: 0.11}),
    (parse("Sn-8Zn-3Bi"), "mole", {139: 0.011, 150: 0.014, 180: 0.048}),
]
LAST_LIQUID = [
    (MIXED, 136.9),
    (with_trace(BISMUTH, {"Pb": "1"}), 97.7),
    (parse("Sn-20In-2.8Ag"), 109.4),
    (parse("Sn-3.5Ag-8In"), 109.4),
    (parse("Sn-8Zn-3Bi"), 135.0),
]


class TestLiquidFractions:
    @pytest.mark.parametrize(("alloy", "by", "expected"), AS_FROZEN, ids=lambda value: str(value)[:24])
    def test_as_frozen(self, alloy, by, expected):
        path = frozen(alloy)
        assert path.settled[0]
        for temperature_c, fraction in expected.items():
            assert left(path, temperature_c, by) == pytest.approx(fraction, abs=0.02), temperature_c
            if by == "mass":
                told = melting_of([alloy])[0].liquid_as_frozen(temperature_c)
                assert told == pytest.approx(fraction, abs=0.02), temperature_c

    @pytest.mark.parametrize(("alloy", "last_c"), LAST_LIQUID, ids=lambda value: str(value)[:24])
    def test_where_the_last_liquid_freezes(self, alloy, last_c):
        assert celsius(float(frozen(alloy).last_k[0])) == pytest.approx(last_c, abs=0.3)

    @pytest.mark.parametrize(("temperature_c", "liquid_moles"), [(139, 0.0), (150, 0.007), (180, 0.32)])
    def test_at_equilibrium_a_mixture_with_tin_bismuth_holds_less(self, temperature_c, liquid_moles):
        entry = coverage(MIXED)
        state = state_at(entry.elements, mole_fractions(entry), kelvin(temperature_c))
        assert state.liquid_moles == pytest.approx(liquid_moles, abs=0.02)
        assert state.liquid_moles < left(frozen(MIXED), temperature_c, "mole")

    def test_one_fraction_of_the_reference_run_had_not_converged(self):
        # Near 136 degC most of Sn-58Bi with 1 % Pb freezes within two kelvin. The reference run told 0.51 at steps of
        # 1 K; the scheil package at 0.25 K tells 0.476; steps of 0.5 and 0.25 K here are within 0.01 of each other and of
        # 0.467, to which steps of 0.125 K lead. The run's figure is too high, by more than the tolerance of 0.02.
        alloy = with_trace(BISMUTH, {"Pb": "1"})
        half, quarter = (left(frozen(alloy, step_k), 136) for step_k in (0.5, 0.25))
        assert half == pytest.approx(quarter, abs=0.01)
        assert (half, quarter) == (pytest.approx(0.467, abs=0.005), pytest.approx(0.467, abs=0.005))
        assert quarter == pytest.approx(0.476, abs=0.02)
        assert abs(quarter - 0.51) > 0.02
        assert left(frozen(alloy), 136) == pytest.approx(quarter, abs=0.02)


class TestCases:
    """Two situations that people who do this job have asked about, with the figures of the reference run."""

    # SAC305 joints touched up with Sn-58Bi, mass share of the latter unknown: whatever it is, 137 degC ends it.
    SHARES = (
        # share, equilibrium solidus degC, mole fraction liquid as frozen at 138.5 degC
        ("0.05", 206, 0.011),
        ("0.1", 195, 0.030),
        ("0.2", 172, 0.082),
        ("0.5", 137, 0.33),
    )

    @pytest.mark.parametrize(("share", "solidus_c", "liquid"), SHARES)
    def test_tin_bismuth_rework_of_sac(self, share, solidus_c, liquid):
        alloy = blend(SAC, BISMUTH, share)
        found = melting_of([alloy])[0]
        assert found.solidus_c == pytest.approx(solidus_c, abs=1)
        assert found.last_liquid_c == pytest.approx(137, abs=1)
        assert left(frozen(alloy), 138.5, "mole") == pytest.approx(liquid, rel=0.2)

    def test_the_onset_is_never_an_average(self):
        onsets = [melting_of([blend(SAC, BISMUTH, share)])[0].remelt_onset_c for share, _, _ in self.SHARES]
        # 1.5 and 4 % by mass melt first: a caution, or both readings; from a fifth on it is the onset.
        assert onsets[0] == pytest.approx(206, abs=1)
        assert onsets[2:] == pytest.approx([137, 137], abs=1)

    def test_tin_lead_with_fourteen_bismuth(self):
        found = melted("Sn-43Pb-14Bi")
        assert found.solidus_c == pytest.approx(135.7, abs=3)
        assert found.liquidus_c == pytest.approx(165.5, abs=3)
        assert left(frozen(parse("Sn-43Pb-14Bi")), 98, "mole") == pytest.approx(0.039, rel=0.2)
        assert (found.onset_low_c, found.onset_high_c) == (pytest.approx(98, abs=1), pytest.approx(135.7, abs=1))
