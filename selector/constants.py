"""The figures that the calculations on the board rest on, each with its interval, source and grade.

They lie in `data/constants.csv`; one from memory says so and is of grade `low`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from selector.datafiles import data_folder, read_table

MEMORY = "memory"


@dataclass(frozen=True)
class Constant:
    """One figure.

    Parameters
    ----------
    name : str
    value : float
    low, high : float
        The ends of what is stated; the value itself where none are.
    unit, source, origin, grade, note : str
    """

    name: str
    value: float
    low: float
    high: float
    unit: str
    source: str
    origin: str
    grade: str
    note: str

    @property
    def is_remembered(self) -> bool:
        """Return whether the figure is from memory and was not read again."""
        return self.origin == MEMORY


@cache
def constants() -> Mapping[str, Constant]:
    """Return every figure by its name."""
    return MappingProxyType({row["constant"]: _constant(row) for row in board_table("constants")})


def constant(name: str) -> Constant:
    """Return one figure.

    Raises
    ------
    KeyError
        The table does not hold it: a slip of the program, not of its user.
    """
    return constants()[name]


@cache
def board_table(name: str) -> tuple[Mapping[str, str], ...]:
    """Return the rows of a table that ships for the calculations on the board, as text."""
    rows = read_table(data_folder() / f"{name}.csv", f"the table {name}.csv")
    return tuple(MappingProxyType(row) for row in rows)


def _constant(row: Mapping[str, str]) -> Constant:
    value = float(row["value"])
    low, high = (float(row[end]) if row[end] else value for end in ("low", "high"))
    words = (row[name] for name in ("unit", "source", "origin", "grade", "note"))
    return Constant(row["constant"], value, low, high, *words)
