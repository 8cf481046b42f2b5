"""Contents as people type them: an element by symbol or name, and its ppm or %; never guessed."""

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from types import MappingProxyType

from selector.composition import atomic_masses, decimal_text
from selector.datafiles import data_folder, read_table
from selector.errors import Fault, shown
from selector.units import PPM_PER_PERCENT, exact

PPM_MOST = 1_000_000
HOW = "ppm or %, without commas: 1100ppm or 0.11%"
UNITS = MappingProxyType({"ppm": 1, "mg/kg": 1, "%": PPM_PER_PERCENT, "wt%": PPM_PER_PERCENT})
UNIT = re.compile(r"\s*(ppm|mg/kg|wt\s?%|%)$", re.IGNORECASE)


@cache
def _symbols() -> Mapping[str, str]:
    rows = read_table(data_folder() / "elements.csv", "the table of elements")
    return MappingProxyType({str(row["name"]).lower(): str(row["symbol"]) for row in rows})


def element_of(where: str, text: str, faults: list[Fault]) -> str | None:
    """Return the symbol of an element given by its symbol or its English name; None with a fault where it is none."""
    if text in atomic_masses():
        return text
    found = _symbols().get(text.lower())
    if found is None:
        faults.append(
            Fault(where, "is not an element in the table", shown(text), "a symbol such as Pb, or a name such as lead")
        )
    return found


def content_of(where: str, text: str, faults: list[Fault], *, bare: bool = False) -> Fraction | None:
    """Return a content in ppm; None with a fault where it cannot be used.

    Parameters
    ----------
    where : str
    text : str
        A number with ppm, mg/kg or %.
    faults : list of Fault
        Receives what is wrong.
    bare : bool
        Whether a number without a unit counts as ppm, as in a field that says so.
    """
    told = UNIT.search(text.strip())
    number = text.strip() if told is None else text.strip()[: told.start()]
    if "," in number:
        problem = "has a comma, which some read as thousands and some as decimals"
        faults.append(Fault(where, problem, shown(text), HOW))
        return None
    try:
        value = exact(number.strip())
    except (ValueError, ZeroDivisionError, OverflowError):
        faults.append(Fault(where, "is not a number of ppm", shown(text), f"0 to 1,000,000; {HOW}"))
        return None
    if told is None and not bare:
        percent = decimal_text(value / PPM_PER_PERCENT)
        faults.append(Fault(where, "has no unit", shown(text), f"{number.strip()}ppm, which is {percent}%"))
        return None
    unit = "ppm" if told is None else told[1].lower().replace(" ", "")
    ppm = value * UNITS[unit]
    if not 0 <= ppm <= PPM_MOST:
        faults.append(Fault(where, "lies outside the range", shown(text), "0 to 1,000,000 ppm"))
        return None
    return ppm


def impossible(where: str, ppm: Mapping[str, Fraction]) -> list[Fault]:
    """Return a fault where measured contents together are more than the whole."""
    total = sum(ppm.values(), Fraction(0))
    if total <= PPM_MOST:
        return []
    told = f"{', '.join(ppm)}: {float(total):,.0f} ppm"
    return [Fault(where, "add up to more than the whole", told, "at most 1,000,000 ppm together")]
