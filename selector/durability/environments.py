"""Use environments: how wide, how long and how often a product's joints cycle. Defaults to edit, all unconfirmed.

From `data/environments.csv`, recalled twice with contradictions; both recollections stand as rows of their own.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from selector.datafiles import data_folder, read_table
from selector.durability.validity import hold
from selector.errors import Fault

TABLE = "environments.csv"
UNCONFIRMED = "from memory and unconfirmed: edit it to the product's own use before anything rests on it"
MIN_PER_H, DAYS_PER_YEAR = 60, 365


@dataclass(frozen=True)
class Environment:
    """One row: a cycle of a use. Some uses are a mix of several rows.

    Parameters
    ----------
    id, use : str
    low_c, high_c : float
        Coldest and hottest that the use knows; not the ends of one cycle.
    swing_k : float
        Usual cyclic range.
    dwell_h : float or None
        Half-cycle dwell.
    cycles_per_year : float
    years_low, years_high : float or None
    risk_percent : float or None
        Accepted share of failures over life.
    standing : str
        `editable default` or `second recollection`.
    """

    id: str
    use: str
    low_c: float
    high_c: float
    swing_k: float
    dwell_h: float | None
    cycles_per_year: float
    years_low: float | None
    years_high: float | None
    risk_percent: float | None
    standing: str
    source: str
    origin: str
    grade: str
    note: str

    @property
    def cautions(self) -> tuple[str, ...]:
        """Return what must be said beside this row."""
        told = (
            "proposed by this project: edit it to the product's own use" if self.origin == "practice" else UNCONFIRMED
        )
        return (told, self.note) if self.note else (told,)

    @property
    def cycles_per_day(self) -> float:
        """Return the cycles a day."""
        return self.cycles_per_year / DAYS_PER_YEAR

    @property
    def dwell_min(self) -> float | None:
        """Return the half-cycle dwell, min."""
        return None if self.dwell_h is None else self.dwell_h * MIN_PER_H


@cache
def environments() -> Mapping[str, Environment]:
    """Return every environment by its id, in the order of the table."""
    rows = read_table(data_folder() / TABLE, "the use environments")
    return MappingProxyType({row["environment"]: _row(row) for row in rows})


def environment(name: str) -> Environment:
    """Return one environment.

    Raises
    ------
    InputError
        No such row.
    """
    if name not in environments():
        hold("the use", faults=(Fault("environment", "is not in the table", repr(name), ", ".join(environments())),))
    return environments()[name]


def uses() -> Mapping[str, tuple[Environment, ...]]:
    """Return the default rows by use: a use with several is a mix, all of which act."""
    found: dict[str, tuple[Environment, ...]] = {}
    for entry in environments().values():
        if entry.standing == "editable default":
            found[entry.use] = (*found.get(entry.use, ()), entry)
    return MappingProxyType(found)


def _row(row: Mapping[str, str]) -> Environment:
    def number(name: str) -> float | None:
        return float(row[name]) if row[name] else None

    return Environment(
        row["environment"],
        row["use"],
        float(row["low_c"]),
        float(row["high_c"]),
        float(row["swing_k"]),
        number("dwell_h"),
        float(row["cycles_per_year"]),
        number("years_low"),
        number("years_high"),
        number("risk_percent"),
        row["standing"],
        row["source"],
        row["origin"],
        row["grade"],
        row["note"],
    )
