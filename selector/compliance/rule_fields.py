"""Types of the fields of a rule, each checked on reading with words that a person can act on."""

import re
from collections.abc import Iterable
from fractions import Fraction
from math import isfinite
from typing import Annotated

from pydantic import BeforeValidator, Field

from selector.compliance.amounts import BESIDE_THE_TABLE
from selector.compliance.context import APPLICATIONS, ELECTRICAL, FORMS, USES
from selector.composition import atomic_masses
from selector.errors import shown
from selector.fields import Equipment
from selector.units import exact

CAS = re.compile(r"([0-9]{2,7})-([0-9]{2})-([0-9])")


def checked_number(value: object) -> object:
    """Return an exact number of 0 or more."""
    if isinstance(value, bool) or not isinstance(value, int | float | Fraction) or not isfinite(value):
        raise ValueError("is not a number")
    if value < 0:
        raise ValueError("lies below zero")
    return exact(value)


def is_cas(number: str) -> bool:
    """Return whether a text has the form of a CAS number and the last digit checks.

    The digits before the last, counted from the right, weigh 1, 2, 3 and so on; their sum modulo 10 is the last.
    """
    found = CAS.fullmatch(number)
    if found is None:
        return False
    digits = (found[1] + found[2])[::-1]
    return sum(place * int(digit) for place, digit in enumerate(digits, 1)) % 10 == int(found[3])


def checked_cas(value: object) -> object:
    """Return a CAS number whose check digit is right, or nothing."""
    if value != "" and not (isinstance(value, str) and is_cas(value)):
        raise ValueError("is no CAS number: its form or its check digit is wrong")
    return value


def checked_elements(value: object) -> object:
    """Return element symbols that are known."""
    known = {*atomic_masses(), *BESIDE_THE_TABLE}
    if not isinstance(value, list | tuple):
        raise ValueError("is not a list")
    strangers = [symbol for symbol in value if symbol not in known]
    if strangers:
        raise ValueError(f"holds {shown(strangers[0])}, which is no element symbol known here")
    return tuple(value)


def words_of(allowed: Iterable[str]) -> BeforeValidator:
    """Return what checks that a list holds nothing but these words."""
    choices = tuple(allowed)

    def check(value: object) -> object:
        if not isinstance(value, list | tuple):
            raise ValueError("is not a list")
        strangers = [word for word in value if word not in choices]
        if strangers:
            raise ValueError(f"holds {shown(strangers[0])}; allowed: {', '.join(choices)}")
        return tuple(value)

    return BeforeValidator(check)


def checked_equipment(value: object) -> object:
    """Return kinds of equipment, with the word electrical spelled out."""
    if not isinstance(value, list | tuple):
        raise ValueError("is not a list")
    return tuple(kind for word in value for kind in (ELECTRICAL if word == "electrical" else (word,)))


Told = Annotated[str, Field(min_length=1)]
Cas = Annotated[str, BeforeValidator(checked_cas)]
Number = Annotated[Fraction, BeforeValidator(checked_number)]
Elements = Annotated[tuple[str, ...], BeforeValidator(checked_elements)]
Uses = Annotated[tuple[str, ...], words_of(USES)]
Kinds = Annotated[tuple[Equipment, ...], BeforeValidator(checked_equipment)]
Applications = Annotated[tuple[str, ...], words_of(APPLICATIONS)]
Forms = Annotated[tuple[str, ...], words_of(FORMS)]
