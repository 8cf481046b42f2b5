"""What a figure on a board can be: outside these ranges an input is a slip, most often of its unit.

The ranges are policy, wide on purpose: they catch micrometres given as millimetres and kelvin given as degrees
Celsius, and say so. What an equation holds for is narrower and is told by the function that applies it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError, shown
from selector.figures import figure
from selector.units import meant_unit

FloatArray = NDArray[np.float64]
Numbers = float | FloatArray


@dataclass(frozen=True)
class Range:
    """What a kind of figure may be.

    Parameters
    ----------
    low, high : float
        Both ends are allowed, but for a low end that is `open_low`.
    unit : str
    open_low : bool
        The low end itself is refused: a thickness of 0 is none.
    least : float
        A figure other than 0 whose size is below this is refused: 17e-6 is 1/K and not ppm/K.
    """

    low: float
    high: float
    unit: str
    open_low: bool = False
    least: float = 0.0

    @property
    def text(self) -> str:
        """Return the range in words."""
        unit = "" if self.unit == "1" else f" {self.unit}"
        if self.open_low and self.low == 0:
            return f"above 0, at most {self.high:g}{unit}"
        return f"{self.low:g} to {self.high:g}{unit}"


RANGES: Mapping[str, Range] = MappingProxyType(
    {
        # A parameter is judged by the longest of these names that its own ends with.
        "ball_mm": Range(0.01, 3, "mm"),
        "aperture_mm": Range(0.02, 50, "mm"),
        "pitch_mm": Range(0.05, 10, "mm"),
        "foil_mm": Range(0.01, 1, "mm"),
        "radius_mm": Range(0.005, 25, "mm"),
        "thickness_mm": Range(1e-5, 50, "mm"),
        "height_mm": Range(1e-4, 20, "mm"),
        "length_mm": Range(0.01, 1000, "mm"),
        "edge_mm": Range(0, 10_000, "mm"),
        "bow_mm": Range(-50, 50, "mm"),
        "area_mm2": Range(1e-6, 1e6, "mm2"),
        "volume_mm3": Range(0, 1e6, "mm3"),
        "aperture_um": Range(20, 50_000, "um"),
        "diameter_um": Range(0.5, 1000, "um"),
        "print_um": Range(1, 1000, "um"),
        "height_um": Range(0.1, 5000, "um"),
        "bow_um_k": Range(-100, 100, "um/K"),
        "curvature_per_mm": Range(-10, 10, "1/mm"),
        "resistance_k_w": Range(0, 1e6, "K/W"),
        "finish_um": Range(0, 200, "um"),
        "standoff_um": Range(0, 5000, "um"),
        "copper_um": Range(0, 500, "um"),
        "skin_nm": Range(0, 1000, "nm"),
        "g_cm3": Range(0.5, 25, "g/cm3"),
        "flux_g_cm3": Range(0.6, 2, "g/cm3"),
        "mass_mg": Range(0, 1e7, "mg"),
        "mass_g": Range(0, 1e6, "g"),
        "share": Range(0, 1, "1"),
        "metal_share": Range(0.05, 1, "1"),
        "void_share": Range(0, 0.99, "1"),
        "transfer": Range(0, 1.3, "1"),
        "poisson": Range(0, 0.499, "1"),
        "ratio": Range(0, 100, "1", open_low=True),
        "wt": Range(0, 100, "wt%"),
        "_c": Range(-100, 450, "degC"),
        "limit_c": Range(20, 600, "degC"),
        "liquidus_c": Range(-50, 450, "degC"),
        "superheat_k": Range(0, 100, "K"),
        "spread_k": Range(0, 100, "K"),
        "margin_k": Range(0, 200, "K"),
        "swing_k": Range(-600, 600, "K"),
        "pasty_range_k": Range(0, 300, "K"),
        "k_s": Range(0, 50, "K/s", open_low=True),
        "ppm_k": Range(-20, 500, "ppm/K", least=0.02),
        "modulus_gpa": Range(1e-5, 1200, "GPa"),
        "w_mk": Range(0.1, 500, "W/(m K)"),
        "power_w": Range(0, 1e5, "W"),
        "power_kw": Range(0, 500, "kW", open_low=True),
        "boards_h": Range(0, 10_000, "boards/h", open_low=True),
        "energy_kwh": Range(0, 1e5, "kWh"),
        "kg_kwh": Range(0, 2, "kg/kWh"),
        "t_year": Range(0, 1e6, "t/year"),
        "j_gk": Range(0.05, 6, "J/(g K)"),
        "j_g": Range(0, 600, "J/g"),
        "viscosity_pa_s": Range(0.001, 100, "Pa s"),
        "tension_n_m": Range(0.005, 1, "N/m"),
        "angle_deg": Range(0, 180, "deg"),
        "time_s": Range(0, 1e6, "s"),
        "um_s": Range(0, 100, "um/s", open_low=True),
        "cm_s": Range(0, 10, "cm/s"),
        "area_cm2": Range(0, 1e6, "cm2"),
        "volume_cm3": Range(0, 1e6, "cm3", open_low=True),
        "usd_kg": Range(0, 1e6, "USD/kg"),
        "usd_cm3": Range(0, 1e6, "USD/cm3"),
        "joints": Range(0, 1e9, "joints"),
        "factor": Range(0.1, 10, "1"),
    }
)


@cache
def range_of(name: str) -> Range:
    """Return the range of a parameter: of the longest kind that its name ends with."""
    return RANGES[max((kind for kind in RANGES if name.endswith(kind)), key=len)]


def refuse_outside(what: str, *faults: Fault | None, **figures: object) -> None:
    """Refuse inputs outside what they can be, all at once, together with faults found otherwise.

    Parameters
    ----------
    what : str
        The input as a whole, for the heading.
    *faults : Fault or None
        Of the geometry: what no single range tells.
    **figures : float or array
        By the name of the parameter.

    Raises
    ------
    InputError
        Anything that is no finite number, or outside its range; names the parameter, and the unit that was meant.
    """
    found = [fault for name, value in figures.items() if (fault := fault_of(name, value, range_of(name))) is not None]
    found += [fault for fault in faults if fault is not None]
    if found:
        raise InputError(what, found)


def wrong_if(condition: Any, where: str, problem: str, value: object, allowed: str, remedy: str = "") -> Fault | None:
    """Return a fault of the geometry where a condition holds anywhere; NaN never holds it."""
    return Fault(where, problem, shown(value), allowed, remedy) if bool(np.any(condition)) else None


def is_number(value: object) -> bool:
    """Return whether a value is a finite number or an array of them; text, True and None are not."""
    if isinstance(value, bool | str) or value is None:
        return False
    try:
        return bool(np.isfinite(np.asarray(value, dtype=float)).all())
    except (TypeError, ValueError):
        return False


def fault_of(where: str, value: object, allowed: Range) -> Fault | None:
    """Return what is wrong with a number or an array of them, with the unit that was meant; None where it can be.

    Parameters
    ----------
    where : str
        What the fault names.
    value : float or array
    allowed : Range
    """
    if not is_number(value):
        return Fault(where, "is not a finite number", shown(value), allowed.text)
    each = np.atleast_1d(np.asarray(value, dtype=float)).ravel()
    below = each <= allowed.low if allowed.open_low else each < allowed.low
    tiny = (each != 0) & (np.abs(each) < allowed.least)
    bad = np.flatnonzero(below | (each > allowed.high) | tiny)
    if not len(bad):
        return None
    first = float(each[bad[0]])
    unit = "" if allowed.unit == "1" else f" {allowed.unit}"
    problem = "lies outside the range"
    if first < 0 <= allowed.low:
        problem = "is negative"
    if len(each) > 1:
        problem += f" in {len(bad)} of {len(each)} values"
    least = max(allowed.low, allowed.least)
    meant = meant_unit(first, allowed.unit, least, allowed.high)
    remedy = f"in {meant[0]} it would be {figure(meant[1])}{unit}: check the unit" if meant is not None else ""
    return Fault(where, problem, f"{first:.6g}{unit}", allowed.text, remedy)
