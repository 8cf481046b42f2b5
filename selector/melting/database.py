"""The shipped tables as a pycalphad database; nothing is fetched."""

import warnings
from functools import cache
from importlib.util import find_spec
from typing import TYPE_CHECKING

from selector.composition import atomic_masses
from selector.datafiles import read_table
from selector.errors import Fault, InputError
from selector.melting.parameters import ELEMENTS, thermo_folder

if TYPE_CHECKING:
    from pycalphad import Database

Row = dict[str, str]


def database_text() -> str:
    """Return the tables in the text form that thermodynamic solvers read (TDB, the open format of the field)."""
    lines = ["ELEMENT VA VACUUM 0 0 0 !"]
    for element in ELEMENTS:
        lines.append(f"ELEMENT {element.upper()} SOLID {float(atomic_masses()[element])} 0 0 !")
    functions: dict[str, list[Row]] = {}
    for row in read_table(thermo_folder() / "functions.csv", "the functions"):
        functions.setdefault(row["function"], []).append(row)
    lines += [f"FUNCTION {name} {_pieces(rows)} !" for name, rows in functions.items()]
    for row in read_table(thermo_folder() / "phases.csv", "the phases"):
        ratios = row["site_ratios"].split(":")
        lines.append(f"PHASE {row['phase']} : {len(ratios)} {' '.join(ratios)} !")
        lines.append(f"CONSTITUENT {row['phase']} :{row['constituents']}: !")
    parameters: dict[str, list[Row]] = {}
    for row in read_table(thermo_folder() / "parameters.csv", "the thermodynamic parameters"):
        key = f"{row['kind']}({row['phase']},{row['constituents']};{row['order']})"
        parameters.setdefault(key, []).append(row)
    lines += [f"PARAMETER {name} {_pieces(rows)} !" for name, rows in parameters.items()]
    return "\n".join(lines)


def _pieces(rows: list[Row]) -> str:
    """Return the pieces of one quantity over temperature, joined at their edges."""
    ends = ["Y"] * (len(rows) - 1) + ["N"]
    pieces = [f"{row['expression']}; {row['t_high_k']} {end}" for row, end in zip(rows, ends, strict=True)]
    return f"{rows[0]['t_low_k']} {' '.join(pieces)}"


MISSING = Fault(
    "pycalphad",
    "is not installed: solidus and liquid fraction at equilibrium cannot be computed",
    allowed="liquidus and freezing are computed without it; catalogue alloys have theirs in data/melting.csv",
    remedy="install it (pip install pycalphad); for Linux on ARM it has no wheel and must be built",
)


def solver_installed() -> bool:
    """Return whether pycalphad is there; for Linux on ARM it has no wheel."""
    return find_spec("pycalphad") is not None


@cache
def database() -> "Database":
    """Return the pycalphad database of the shipped tables.

    Raises
    ------
    InputError
        pycalphad is not installed, as on Linux on ARM, for which it has no wheel.
    """
    if not solver_installed():
        raise InputError("the melting engine", [MISSING])
    # The reader warns of a remark that the text does not use; nothing here is lost by it.
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "The type definition character", UserWarning)
        return _read()


def _read() -> "Database":
    from pycalphad import Database

    return Database.from_string(database_text(), fmt="tdb")
