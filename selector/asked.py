"""What a person types at a verb about melting: alloys, shares, traces and temperatures, with all faults at once."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from selector.catalogue import Catalogue
from selector.composition import Composition, atomic_masses, decimal_text, parse
from selector.datafiles import read_text
from selector.errors import Fault, InputError, shown
from selector.melting.coverage import coverage, systems
from selector.units import exact

COLDEST_C, HOTTEST_C = 25, 1400
WHAT = "what was asked"
SYMBOL = "an element symbol such as Pb"


@dataclass(frozen=True)
class Named:
    """An alloy as it was asked for.

    Parameters
    ----------
    asked : str
        As typed.
    name : str
        Its name in the catalogue, else its designation.
    composition : Composition
    """

    asked: str
    name: str
    composition: Composition


def refuse(faults: Sequence[Fault]) -> None:
    """Raise for everything that was found wrong, if anything was.

    Raises
    ------
    InputError
        With all faults.
    """
    if faults:
        # Two alloys may break the same thing in the same words.
        raise InputError(WHAT, list(dict.fromkeys(faults)))


def typed_alloys(texts: Sequence[str], file: Path | None) -> list[tuple[str, str]]:
    """Return (where, spelling) of alloys given as arguments and one a line in a file.

    Raises
    ------
    InputError
        A file that cannot be read, or no alloy at all.
    """
    found = [("", text) for text in texts]
    if file is not None:
        for number, line in enumerate(read_text(file, f"the list of alloys {file}").splitlines(), start=1):
            spelling = line.split("#", 1)[0].strip()
            if spelling:
                found.append((f"{file}, line {number}: ", spelling))
    if not found:
        where = "ALLOY" if file is None else str(file)
        refuse([Fault(where, "names no alloy", allowed="SAC305, Sn-58Bi, 63/37; in a file one a line")])
    return found


def named(
    typed: Iterable[tuple[str, str]], catalogue: Catalogue, faults: list[Fault], cover: bool = True
) -> list[Named]:
    """Return alloys by name in the catalogue or by composition, and add what is wrong with the others.

    Parameters
    ----------
    typed : iterable of (where, spelling)
    catalogue : Catalogue
    faults : list of Fault
        Added to.
    cover : bool
        Whether an alloy that the melting engine does not cover is a fault too.
    """
    found = []
    for where, text in typed:
        try:
            entry = _one(text, catalogue)
            if cover:
                coverage(entry.composition)
        except InputError as error:
            faults += [replace(fault, where=f"{where}{fault.where}") for fault in error.faults]
        else:
            found.append(entry)
    return found


def _one(text: str, catalogue: Catalogue) -> Named:
    try:
        alloy = catalogue.find(text)
    except InputError as error:
        try:
            composition = parse(text)
        except InputError:
            # It also says which names of the catalogue are near.
            raise error from None
        return Named(text, str(composition), composition)
    return Named(text, alloy.id, alloy.composition)


def temperatures(texts: Sequence[str], faults: list[Fault]) -> list[float]:
    """Return temperatures, degC, and add what is wrong with the others."""
    found = []
    allowed = f"{COLDEST_C} to {HOTTEST_C} degC"
    for text in texts:
        value = _number(text)
        if value is None:
            faults.append(Fault("--at", "is not a number", shown(text), allowed))
        elif not COLDEST_C <= value <= HOTTEST_C:
            faults.append(Fault("--at", "lies outside what is computed", shown(text), allowed))
        else:
            found.append(float(value))
    return list(dict.fromkeys(found))


def mass_share(text: str | None, faults: list[Fault]) -> Fraction | None:
    """Return a mass share from 0 to 1, None where none is asked for or it is no such share."""
    if text is None:
        return None
    value = _number(text)
    allowed, remedy = "0 to 1, by mass", ""
    if value is not None and 0 <= value <= 1:
        return value
    if value is not None and 2 <= value <= 100:
        remedy = f"for {text} % write {decimal_text(value / 100)}"
    problem = "is not a number" if value is None else "lies outside the range"
    faults.append(Fault("--share", problem, shown(text), allowed, remedy))
    return None


def contents(option: str, texts: Sequence[str], faults: list[Fault]) -> dict[str, Fraction]:
    """Return element -> wt% of texts such as `Pb=0.5`, and add what is wrong with the others."""
    found: dict[str, Fraction] = {}
    for text in texts:
        symbol, sign, amount = (part.strip() for part in text.partition("="))
        place = f"{option} {shown(text)}"
        if not sign:
            faults.append(Fault(place, "gives no content", allowed="an element and its wt%, such as Pb=0.5"))
        element = element_of(place, symbol, faults)
        value = _number(amount) if sign else None
        if sign and value is None:
            faults.append(Fault(place, "is not a number", shown(amount), "wt% of at least 0, below 100"))
        elif value is not None and not 0 <= value < 100:
            faults.append(Fault(place, "lies outside the range", shown(amount), "wt% of at least 0, below 100"))
        if element in found:
            faults.append(Fault(place, "element given twice", str(element), "each element once"))
        elif element is not None and value is not None:
            found[element] = value
    if not faults and sum(found.values()) >= 100:
        total = decimal_text(sum(found.values(), Fraction(0)))
        faults.append(Fault(option, "contents leave no room for the rest", f"{total} wt%", "below 100 wt% in all"))
    return found


def element_of(where: str, text: str, faults: list[Fault], in_full: bool = False) -> str | None:
    """Return an element by its symbol, None and a fault where there is none.

    Parameters
    ----------
    where : str
    text : str
    faults : list of Fault
        Added to.
    in_full : bool
        Whether it must be one of the elements that the engine covers at any content.
    """
    symbol = text.strip().capitalize()
    if symbol not in atomic_masses():
        faults.append(Fault(where, "is no element", shown(text), SYMBOL, "check the spelling"))
        return None
    covered = systems().elements.covered
    if in_full and symbol not in covered:
        faults.append(Fault(where, "is not covered by the thermodynamic tables", symbol, ", ".join(covered)))
        return None
    return symbol


def most_wt(text: str, faults: list[Fault]) -> float | None:
    """Return the wt% up to which a trace is followed."""
    value = _number(text)
    if value is None or not 0 < value < 100:
        problem = "is not a number" if value is None else "lies outside the range"
        faults.append(Fault("--up-to", problem, shown(text), "wt% above 0, below 100"))
        return None
    return float(value)


def _number(text: str) -> Fraction | None:
    try:
        return exact(text.strip())
    except (ValueError, ZeroDivisionError, OverflowError):
        return None
