"""The one place where units are converted."""

import re
from decimal import Decimal
from fractions import Fraction

ZERO_C_IN_K = 273.15
GAS_J_MOL_K = 8.314462618
BOLTZMANN_EV_K = 8.617333262e-5
MPA_PER_PSI = 0.00689475729
PPM_PER_PERCENT = 10_000
ABSURD_EXPONENT = re.compile(r"[eE][+-]?[0-9_]{4,}")


def kelvin(temperature_c: float) -> float:
    """Return the absolute temperature in K of a temperature in degrees Celsius.

    Raises
    ------
    ValueError
        Below absolute zero.
    """
    temperature_k = temperature_c + ZERO_C_IN_K
    if not temperature_k >= 0:
        raise ValueError(f"{temperature_c} degC lies below absolute zero (-273.15 degC)")
    return temperature_k


def celsius(temperature_k: float) -> float:
    """Return the temperature in degrees Celsius of an absolute temperature in K."""
    if not temperature_k >= 0:
        raise ValueError(f"{temperature_k} K lies below absolute zero")
    return temperature_k - ZERO_C_IN_K


def mpa(psi: float) -> float:
    """Return a stress in MPa of one in pounds per square inch."""
    return psi * MPA_PER_PSI


def activation_ev(temperature_k: float) -> float:
    """Return the activation energy, eV, of an activation temperature E/k, K."""
    return temperature_k * BOLTZMANN_EV_K


def activation_k(*, ev: float | None = None, kj_mol: float | None = None) -> float:
    """Return the activation temperature, K, of an energy given in eV or in kJ/mol, one of the two."""
    if (ev is None) == (kj_mol is None):
        raise ValueError("give the energy in eV or in kJ/mol, one of the two")
    return ev / BOLTZMANN_EV_K if ev is not None else (kj_mol or 0.0) * 1000 / GAS_J_MOL_K


def ppm(wt_percent: Fraction) -> Fraction:
    """Return mg/kg for a mass percentage, exactly: 0.07 % is 700 mg/kg and nothing else."""
    return wt_percent * PPM_PER_PERCENT


def exact(number: int | float | str | Decimal | Fraction) -> Fraction:
    """Return the number as written in decimal, as an exact fraction.

    A float counts as the shortest decimal that denotes it, so 0.1 is one tenth.

    Raises
    ------
    ValueError
        Text that is no number, NaN, or an exponent of four digits and more, which would fill the memory.
    """
    if isinstance(number, str | Decimal) and ABSURD_EXPONENT.search(str(number)):
        raise ValueError("exponent is too large")
    if isinstance(number, float):
        return Fraction(repr(number))
    return Fraction(number)
