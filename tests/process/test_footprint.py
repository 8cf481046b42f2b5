"""Cost, supply and embodied carbon of the metal: by volume, dated, and never with a silent gap."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.catalogue import load
from selector.catalogue.derived import mixed_density
from selector.composition import Composition, parse
from selector.errors import InputError
from selector.process.footprint import (
    Prices,
    cost_cm3,
    embodied,
    joints_usd,
    listed_prices,
    metal_cost,
    replaced,
    supply_of,
    volume_factor,
)

CATALOGUE = load()
SAC, BISMUTH, TINLEAD = parse("SAC305"), parse("Sn-58Bi"), parse("Sn63Pb37")


def test_more_joints_per_kilogram():
    """The project's reference case 21: densities mix by volume, cost is compared by volume."""
    densities = [
        mixed_density(parse(name), CATALOGUE.elements) for name in ("Sn63Pb37", "SAC305", "Sn-58Bi", "In-48Sn")
    ]
    assert densities == pytest.approx([8.40, 7.36, 8.56, 7.30], rel=0.005)
    assert volume_factor(densities[1], densities[0]) == pytest.approx(0.876, abs=0.002)
    flat = Prices(
        "a day", {"Sn": 30.0, "Ag": 30.0, "Cu": 30.0, "Pb": 30.0}, dict.fromkeys(("Sn", "Ag", "Cu", "Pb"), "x")
    )
    sac, lead = (metal_cost(alloy, flat, CATALOGUE) for alloy in (SAC, TINLEAD))
    assert sac.usd_kg == pytest.approx(lead.usd_kg)
    assert lead.usd_cm3 / sac.usd_cm3 == pytest.approx(1.14, abs=0.005)


def test_cost_by_element_joint_and_board():
    found = metal_cost(SAC, listed_prices(CATALOGUE), CATALOGUE)
    assert sum(usd for _, usd in found.by_element) == pytest.approx(found.usd_kg, rel=1e-12)
    assert [name for name, _ in found.by_element] == ["Sn", "Ag", "Cu"]
    assert found.dated == "2024"
    assert found.sources == ("usgs-mcs-2025",)
    assert joints_usd(found.usd_cm3, 0.05, 1000) == pytest.approx(found.usd_cm3 * 0.05)
    assert metal_cost(SAC, listed_prices(CATALOGUE), CATALOGUE, 7.4).usd_cm3 == pytest.approx(found.usd_kg * 7.4e-3)


def test_prices_of_the_users_own_are_dated_and_said():
    own = replaced(listed_prices(CATALOGUE), {"Bi": 29.8}, "2025-07-15")
    assert own.usd_kg["Bi"] == 29.8
    assert own.usd_kg["Sn"] == listed_prices(CATALOGUE).usd_kg["Sn"]
    assert own.sources["Bi"] == "the user, 2025-07-15"
    assert "2025-07-15 for Bi; 2024 for the rest" in metal_cost(BISMUTH, own, CATALOGUE).dated
    assert replaced(own, {}, "today").dated == own.dated
    alone = replaced(Prices("x", {"Sn": 1.0}, {"Sn": "x"}), {"Sn": 2}, "today")
    assert alone.dated == "today"


@given(st.floats(1, 1000), st.floats(0.1, 500))
def test_a_dearer_element_never_makes_the_alloy_cheaper(price, more):
    base = replaced(listed_prices(CATALOGUE), {"Bi": price}, "x")
    dearer = replaced(base, {"Bi": price + more}, "x")
    assert metal_cost(BISMUTH, dearer, CATALOGUE).usd_cm3 > metal_cost(BISMUTH, base, CATALOGUE).usd_cm3
    assert metal_cost(SAC, dearer, CATALOGUE).usd_cm3 == metal_cost(SAC, base, CATALOGUE).usd_cm3


def test_supply_by_element_and_unknown_where_not_looked_up():
    bismuth, tin = supply_of(BISMUTH)
    assert (bismuth.element, bismuth.flagged, bismuth.top_country_share_percent) == ("Bi", "yes", 81)
    assert (tin.flagged, tin.critical_us, tin.origin) == ("no", "yes", "memory")
    (unknown,) = supply_of(Composition((("W", Fraction(100)),)))
    assert (unknown.flagged, unknown.critical_eu, unknown.grade) == ("unknown", "unknown", "low")


def test_embodied_figures_are_weighted_by_mass():
    found = embodied(SAC, "co2e")
    assert found.value == pytest.approx(0.965 * 17.1 + 0.03 * 196 + 0.005 * 2.8)
    assert found.by_element[0][0] == "Sn"
    assert (found.low, found.high, found.missing) == (found.value, found.value, ())
    assert found.per_cm3(7.36) == pytest.approx(found.value * 7.36e-3)
    assert found.grade == "medium"
    assert "paper-plos-one-2014-101298" in found.sources
    # Three per cent of silver weigh a quarter of the carbon.
    assert dict(found.by_element)["Ag"] / found.value == pytest.approx(0.26, abs=0.01)
    assert embodied(BISMUTH, "energy").unit == "MJ/kg"


def test_a_missing_figure_leaves_the_sum_unknown_with_what_is_known():
    found = embodied(parse("Sn-2Ni-1Pd"), "co2e")
    assert (found.value, found.high, found.missing, found.grade) == (None, None, ("Pd",), "low")
    assert found.low > 0
    assert found.per_cm3(7.3) is None


def test_a_figure_set_aside_does_not_count_and_a_remembered_one_lowers_the_grade():
    gallium = embodied(parse("Ga"), "energy")
    assert (gallium.value, gallium.grade) == (3030, "low")
    titanium = embodied(parse("Ti"), "co2e")
    assert titanium.value == 45.1
    assert embodied(parse("Sn-1P"), "co2e").grade == "low"


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: listed_prices(CATALOGUE, "1066"), "names no price list"),
        (lambda: replaced(listed_prices(CATALOGUE), {"Sn": -1}, "x"), "price of Sn: is no price"),
        (lambda: replaced(listed_prices(CATALOGUE), {"Sn": "cheap", "Bi": None}, ""), "3 faults"),
        (lambda: metal_cost(parse("Sn-1Pd"), listed_prices(CATALOGUE), CATALOGUE), "price of Pd: is not on the list"),
        (lambda: metal_cost(SAC, listed_prices(CATALOGUE), CATALOGUE, 7380), "in kg/m3 it would be 7.38"),
        (lambda: embodied(SAC, "water"), "quantity: is not held"),
        (lambda: embodied(SAC, "co2e").per_cm3(0), "density_g_cm3"),
        (lambda: joints_usd(0.4, -1, 10), "joint_volume_mm3: is negative"),
        (lambda: cost_cm3(-1, 7), "metal_usd_kg"),
        (lambda: volume_factor(8.56, 0), "other_g_cm3"),
    ],
)
def test_what_cannot_be_is_told(call, told):
    with pytest.raises(InputError, match=told):
        call()
