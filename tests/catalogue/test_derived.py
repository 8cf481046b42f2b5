"""Computed quantities against figures worked by hand."""

from dataclasses import replace

import pytest

from selector import composition as spelling
from selector.catalogue import load
from selector.catalogue.derived import (
    cost_usd_cm3,
    density,
    ductility_class,
    mixed_density,
    pasty_range,
    relative_cost,
    restricted_flags,
    supply_share,
)
from selector.catalogue.evidence import Evidence, nothing


def known(
    name: str, value: float | None, low: float, high: float, grade: str = "medium", source: str = "s"
) -> Evidence:
    return Evidence(name, "degC", value, low, high, grade, "tabulated", source)


def test_the_pasty_range_is_liquidus_minus_solidus_and_covers_every_pair_of_ends():
    entry = pasty_range(
        known("solidus_c", 183, 180, 184, "high", "one"), known("liquidus_c", 215, 212, 216, "low", "two")
    )
    assert (entry.value, entry.interval) == (32, (28, 36))
    assert (entry.grade, entry.origin, entry.source) == ("low", "computed", "one; two")


def test_ends_that_cross_leave_the_pasty_range_with_bounds_only():
    entry = pasty_range(known("solidus_c", 139, 138, 140), known("liquidus_c", 138, 138, 139))
    assert (entry.value, entry.interval) == (None, (0, 1))


def test_the_pasty_range_of_an_unknown_end_is_unknown():
    assert pasty_range(known("solidus_c", 139, 138, 140), nothing("liquidus_c", "degC")).interval is None
    ends_only = pasty_range(known("solidus_c", None, 138, 140), known("liquidus_c", 150, 148, 152))
    assert (ends_only.value, ends_only.interval) == (None, (8, 14))


DENSITIES = [
    # g/cm3, worked from element densities as 100 / sum(wt% / density), or common practice of the trade
    ("Sn63Pb37", 8.40, 0.03 / 8.40),
    ("Sn63Pb37", 8.397, 0.001),  # 100 / (63 / 7.287 + 37 / 11.34)
    ("SAC305", 7.36, 0.005),  # 100 / (96.5 / 7.287 + 3 / 10.49 + 0.5 / 8.96)
    ("Sn42Bi58", 8.56, 0.005),
    ("In52Sn48", 7.30, 0.005),
    ("Au80Sn20", 14.5, 0.005),
]


@pytest.mark.parametrize(("alloy", "expected", "tolerance"), DENSITIES)
def test_densities_mix_by_volume(alloy, expected, tolerance):
    assert mixed_density(spelling.parse(alloy), load().elements) == pytest.approx(expected, rel=tolerance)


def test_averaging_by_mass_would_miss_the_density_of_tin_lead():
    elements = load().elements
    by_mass = 0.63 * elements["Sn"].density_g_cm3 + 0.37 * elements["Pb"].density_g_cm3
    assert by_mass == pytest.approx(8.79, abs=0.01)
    assert abs(mixed_density(spelling.parse("Sn63Pb37"), elements) - by_mass) > 0.35


def test_the_same_joint_of_sac305_weighs_less_than_of_tin_lead():
    elements = load().elements
    ratio = mixed_density(spelling.parse("SAC305"), elements) / mixed_density(spelling.parse("Sn63Pb37"), elements)
    assert ratio == pytest.approx(0.876, abs=0.002)


@pytest.mark.parametrize("symbol", ["Sn", "Au", "In"])
def test_the_density_of_a_pure_metal_is_the_metals(symbol):
    elements = load().elements
    assert mixed_density(spelling.parse(symbol), elements) == pytest.approx(elements[symbol].density_g_cm3)


def test_a_stated_density_wins_over_the_mixture():
    stated = known("density_g_cm3", 7.4, 7.3, 7.5)
    made_of = spelling.parse("SAC305")
    assert density(made_of, load().elements, stated) is stated
    mixed = density(made_of, load().elements, nothing("density_g_cm3", "g/cm3"))
    assert mixed.value == pytest.approx(7.36, abs=0.01)
    assert mixed.interval == (pytest.approx(mixed.value * 0.975), pytest.approx(mixed.value * 1.025))
    assert (mixed.origin, mixed.grade) == ("computed", "low")


def test_the_mixture_lies_near_every_density_that_was_read():
    catalogue = load()
    for alloy in catalogue.alloys.values():
        stated = alloy.of("density_g_cm3").chosen
        if stated is not None and stated.value is not None and stated.origin in {"measured", "tabulated"}:
            assert mixed_density(alloy.composition, catalogue.elements) == pytest.approx(stated.value, rel=0.026), (
                alloy.id
            )


@pytest.mark.parametrize(
    ("elongation", "expected"),
    [
        (120, "very good"),
        (50, "very good"),
        (49.999, "good"),
        (30, "good"),
        (29.999, "moderate"),
        (15, "moderate"),
        (14.999, "low"),
        (5, "low"),
        (4.999, "brittle"),
        (0, "brittle"),
    ],
)
def test_ductility_bands_at_their_edges(elongation, expected):
    assert ductility_class(elongation) == expected


@pytest.mark.parametrize(
    ("elongation", "bismuth", "shock", "expected"),
    [
        (60, 58, True, "good"),
        (40, 58, True, "moderate"),
        (20, 20.001, True, "low"),
        (20, 20, True, "moderate"),  # over 20 wt%, not from 20
        (5, 58, True, "brittle"),
        (1, 58, True, "brittle"),  # there is nothing below
        (60, 58, False, "very good"),
        (60, 0, True, "very good"),
    ],
)
def test_shock_drops_bismuth_grades_one_band(elongation, bismuth, shock, expected):
    assert ductility_class(elongation, bismuth, shock) == expected


def test_the_cost_of_sac305_is_one_exactly_and_its_interval_is_a_point():
    entry = load().alloys["SAC305"].of("relative_cost")
    assert entry.value == 1.0
    assert entry.interval == (1.0, 1.0)


def test_the_cost_of_tin_lead_worked_by_hand():
    catalogue = load()
    elements = catalogue.elements
    tin, lead, silver, copper = (elements[symbol].prices_usd_kg["2024"] for symbol in ("Sn", "Pb", "Ag", "Cu"))
    assert (tin, lead, silver, copper) == (30.865, 2.425, 890.576, 9.259)
    tin_lead = (0.63 * tin + 0.37 * lead) / 1000 * 8.4
    sac305 = (0.965 * tin + 0.03 * silver + 0.005 * copper) / 1000 * 7.4
    assert cost_usd_cm3(spelling.parse("Sn63Pb37"), elements, 8.4, "2024") == pytest.approx(tin_lead)
    entry = catalogue.alloys["Sn-37Pb"].of("relative_cost")
    assert entry.value == pytest.approx(tin_lead / sac305)
    assert entry.value == pytest.approx(0.405, abs=0.005)
    assert entry.low is not None
    assert entry.high is not None
    assert entry.low <= entry.value <= entry.high


def test_cost_compares_equal_volumes_not_equal_masses():
    elements, made_of = load().elements, spelling.parse("Sn63Pb37")
    assert cost_usd_cm3(made_of, elements, 16.8, "2024") == pytest.approx(
        2 * cost_usd_cm3(made_of, elements, 8.4, "2024")
    )


def test_the_order_of_costs_is_the_trades():
    alloys = load().alloys
    costs = [alloys[name].of("relative_cost").value for name in ("Sn-37Pb", "Sn-0.7Cu", "SAC105", "SAC305", "SAC405")]
    assert costs == sorted(costs, key=lambda cost: cost or 0)
    assert (alloys["Au-20Sn"].of("relative_cost").value or 0) > 1000


def test_without_a_price_there_is_no_cost():
    catalogue = load()
    unpriced = {**catalogue.elements, "Pb": replace(catalogue.elements["Pb"], prices_usd_kg={})}
    sac305, tin_lead = catalogue.alloys["SAC305"], catalogue.alloys["Sn-37Pb"]
    entry = relative_cost(
        tin_lead.composition,
        unpriced,
        tin_lead.of("density_g_cm3"),
        sac305.composition,
        sac305.of("density_g_cm3"),
        "2024",
    )
    assert (entry.value, entry.interval) == (None, None)
    assert "no price" in entry.rule


def test_supply_share_adds_up_the_flagged_metals():
    elements = load().elements
    entry = supply_share(spelling.parse("Sn42Bi58"), elements)
    assert (entry.value, entry.interval) == (58, (58, 58))
    assert supply_share(spelling.parse("SAC305"), elements).value == 3  # silver
    assert supply_share(spelling.parse("Sn63Pb37"), elements).value == 0
    unsure = supply_share(spelling.parse("Sn-1Ti-3Ag"), elements)
    assert (unsure.value, unsure.interval) == (None, (3, 4))


@pytest.mark.parametrize(
    ("alloy", "flags"),
    [
        ("Sn63Pb37", {"Pb": 370_000}),
        ("SAC305", {}),
        ("Sn-0.1Pb", {}),  # 1000 ppm is the limit, and allowed
        ("Sn-0.1001Pb", {"Pb": 1001}),
        ("Sn-0.01Cd", {}),
        ("Sn-0.0101Cd", {"Cd": 101}),
        ("Sn-0.11Hg", {"Hg": 1100}),
        ("Sn-5Pb-1Cd", {"Pb": 50_000, "Cd": 10_000}),
    ],
)
def test_restricted_elements_are_flagged_above_their_limit(alloy, flags):
    assert restricted_flags(spelling.parse(alloy)) == flags
