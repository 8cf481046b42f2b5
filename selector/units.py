"""The one place where units are converted."""

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType

ZERO_C_IN_K = 273.15
GAS_J_MOL_K = 8.314462618
BOLTZMANN_EV_K = 8.617333262e-5
MPA_PER_PSI = 0.00689475729
PPM_PER_PERCENT = 10_000
ABSURD_EXPONENT = re.compile(r"[eE][+-]?[0-9_]{4,}")
MM_PER_INCH = 25.4
UM_PER_MIL = 25.4
KG_PER_LB = 0.45359237
OTHER_UNITS: Mapping[str, tuple[tuple[str, float], ...]] = MappingProxyType(
    {
        # Unit at the surface -> other units that people write, with the factor that converts them.
        "mm": (("um", 1e-3), ("mil", 0.0254), ("inch", MM_PER_INCH), ("m", 1e3), ("nm", 1e-6)),
        "um": (("mm", 1e3), ("mil", UM_PER_MIL), ("nm", 1e-3), ("m", 1e6)),
        "nm": (("um", 1e3), ("mm", 1e6)),
        "mm2": (("um2", 1e-6), ("cm2", 1e2), ("m2", 1e6)),
        "mm3": (("um3", 1e-9), ("cm3", 1e3), ("m3", 1e9)),
        "mg": (("g", 1e3), ("ug", 1e-3), ("kg", 1e6)),
        "g": (("kg", 1e3), ("mg", 1e-3)),
        "g/cm3": (("kg/m3", 1e-3),),
        "1": (("%", 1e-2),),
        "wt%": (("ppm", 1e-4), ("a share of 1", 1e2)),
        "ppm/K": (("1/K", 1e6),),
        "GPa": (("MPa", 1e-3), ("Pa", 1e-9)),
        "W/(m K)": (("W/(cm K)", 1e2),),
        "W": (("mW", 1e-3),),
        "kW": (("W", 1e-3),),
        "kg/kWh": (("g/kWh", 1e-3),),
        "Pa s": (("mPa s", 1e-3),),
        "N/m": (("mN/m", 1e-3),),
        "s": (("ms", 1e-3), ("min", 60.0)),
        "J/(g K)": (("J/(kg K)", 1e-3),),
        "J/g": (("J/kg", 1e-3),),
    }
)


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


def millimetres(inches: float) -> float:
    """Return a length in mm of one in inches."""
    return inches * MM_PER_INCH


def micrometres(mils: float) -> float:
    """Return a length in um of one in mils (thousandths of an inch)."""
    return mils * UM_PER_MIL


def g_cm2(g_in2: float) -> float:
    """Return a mass an area in g/cm2 of one in g/in2."""
    return g_in2 / (MM_PER_INCH / 10) ** 2


def usd_kg(usd_lb: float) -> float:
    """Return a price in USD/kg of one in USD per pound (avoirdupois)."""
    return usd_lb / KG_PER_LB


def meant_unit(value: float, unit: str, low: float, high: float) -> tuple[str, float] | None:
    """Return the unit in which a value would lie in a range, with the value converted; None where none fits.

    Parameters
    ----------
    value : float
    unit : str
        The unit that is asked for.
    low, high : float
        The range, in `unit`.
    """
    if unit == "degC" and low <= value - ZERO_C_IN_K <= high:
        return "K", value - ZERO_C_IN_K
    for other, factor in OTHER_UNITS.get(unit, ()):
        if low <= value * factor <= high:
            return other, value * factor
    return None
