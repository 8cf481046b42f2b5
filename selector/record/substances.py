"""The elements as substances: English name and CAS Registry Number, and the way back from a number to an element."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from selector.datafiles import data_folder, read_table


@dataclass(frozen=True)
class Substance:
    """An element as a declaration of composition names it."""

    element: str
    name: str
    cas: str


@cache
def substances() -> Mapping[str, Substance]:
    """Return every element of `data/elements.csv` by its symbol."""
    rows = read_table(data_folder() / "elements.csv", "the table of elements")
    return MappingProxyType({row["symbol"]: Substance(row["symbol"], row["name"], row["cas"]) for row in rows})


def of_cas(number: str) -> Substance | None:
    """Return the element of a CAS number, None where no element of the table has it."""
    return next((entry for entry in substances().values() if entry.cas == number), None)
