"""Conversions, and the exact worth of a number as written."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector import units
from selector.units import celsius, exact, g_cm2, kelvin, meant_unit, micrometres, millimetres, ppm, usd_kg


def test_kelvin_adds_273_15():
    assert kelvin(0) == 273.15
    assert kelvin(217) == pytest.approx(490.15, abs=1e-9)
    assert kelvin(-273.15) == 0


def test_celsius_takes_it_off():
    assert celsius(273.15) == 0
    assert celsius(490.15) == pytest.approx(217, abs=1e-9)
    assert celsius(0) == -273.15


@pytest.mark.parametrize("temperature_c", [-273.16, -1e9, -math.inf, math.nan])
def test_below_absolute_zero_is_refused_in_celsius(temperature_c):
    with pytest.raises(ValueError, match="absolute zero"):
        kelvin(temperature_c)


@pytest.mark.parametrize("temperature_k", [-0.01, -math.inf, math.nan])
def test_below_absolute_zero_is_refused_in_kelvin(temperature_k):
    with pytest.raises(ValueError, match="absolute zero"):
        celsius(temperature_k)


@given(st.floats(-273.15, 5000))
def test_there_and_back(temperature_c):
    assert celsius(kelvin(temperature_c)) == pytest.approx(temperature_c, abs=1e-9)


def test_ppm_is_exact():
    assert ppm(exact(0.07)) == 700
    assert ppm(exact("0.07")) == 700
    assert 0.07 * 10_000 != 700  # what floats would have said
    assert ppm(Fraction("0.1001")) == 1001
    assert isinstance(ppm(Fraction(1, 3)), Fraction)


@pytest.mark.parametrize(
    ("number", "worth"),
    [
        (0.1, Fraction(1, 10)),
        (96.5, Fraction(193, 2)),
        (1e-7, Fraction(1, 10**7)),
        (3, Fraction(3)),
        ("3.0", Fraction(3)),
        ("1e2", Fraction(100)),
        ("1e-3", Fraction(1, 1000)),
        (Decimal("0.1"), Fraction(1, 10)),
        (Fraction(1, 3), Fraction(1, 3)),
    ],
)
def test_exact(number, worth):
    assert exact(number) == worth


@pytest.mark.parametrize(
    "number",
    ["", "abc", "1,5", math.nan, math.inf, "nan", "inf", "1e99999999", "1E-99999999", Decimal("1e99999999")],
)
def test_exact_refuses(number):
    with pytest.raises(ValueError, match=r"Fraction|exponent"):
        exact(number)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_exact_of_a_float_is_its_shortest_decimal(number):
    assert exact(number) == exact(repr(number))
    assert float(exact(number)) == number


def test_a_stress_in_psi_and_an_energy_in_ev_or_kj_per_mol():
    assert units.mpa(200) == pytest.approx(1.379, abs=5e-4)
    assert units.activation_ev(1414) == pytest.approx(0.1218, abs=5e-5)
    assert units.activation_k(ev=units.activation_ev(1414)) == pytest.approx(1414)
    assert units.activation_k(kj_mol=54.041) == pytest.approx(6500, rel=1e-4)  # as one creep set is printed both ways
    for wrong in ({}, {"ev": 1.0, "kj_mol": 1.0}):
        with pytest.raises(ValueError, match="one of the two"):
            units.activation_k(**wrong)


def test_lengths_prices_and_masses_of_other_customs():
    assert millimetres(1) == 25.4
    assert micrometres(1000) == pytest.approx(25_400)
    assert usd_kg(0.45359237) == 1
    assert g_cm2(6.4516) == pytest.approx(1)


@pytest.mark.parametrize(
    ("value", "unit", "low", "high", "meant"),
    [
        (412.15, "degC", 0, 300, ("K", 139)),
        (100, "mm", 0.01, 1, ("um", 0.1)),
        (4, "mm", 0.01, 0.2, ("mil", 0.1016)),
        (5, "mm", 6, 7, None),
        (5, "furlong", 6, 7, None),
    ],
)
def test_the_unit_in_which_a_value_would_fit(value, unit, low, high, meant):
    found = meant_unit(value, unit, low, high)
    assert (found is None) == (meant is None)
    if meant is not None:
        assert found[0] == meant[0]
        assert found[1] == pytest.approx(meant[1])
