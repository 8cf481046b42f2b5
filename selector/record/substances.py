"""The elements as substances: English name and CAS Registry Number, and the way back from a number to an element."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from selector.datafiles import data_folder, read_table

CAS = re.compile(r"([0-9]{2,7})-([0-9]{2})-([0-9])", re.ASCII)


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


def is_cas(number: str) -> bool:
    """Return whether a text has the form of a CAS number and the last digit checks.

    The digits before the last, counted from the right, weigh 1, 2, 3 and so on; their sum modulo 10 is the last.
    """
    found = CAS.fullmatch(number)
    if found is None:
        return False
    digits = (found[1] + found[2])[::-1]
    return sum(place * int(digit) for place, digit in enumerate(digits, 1)) % 10 == int(found[3])
