"""A section through the diagram of two elements, others held at a fixed share."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from selector import composition as spelling
from selector.composition import Composition
from selector.errors import Fault, InputError, shown
from selector.melting.alloy import Melting
from selector.melting.store import melting_of
from selector.units import exact

STEPS = 40


@dataclass(frozen=True)
class SectionPoint:
    """One composition on the section: wt% of the second element, and how that alloy melts."""

    wt: float
    composition: Composition
    melting: Melting


def section(
    one: str,
    other: str,
    held: Mapping[str, object] | None = None,
    steps: int = STEPS,
    told: Callable[[int], None] | None = None,
) -> tuple[SectionPoint, ...]:
    """Return melting along a line from one element to another, wt%, with other elements held at a share.

    Parameters
    ----------
    one, other : str
    held : mapping, optional
        Element -> wt%.
    steps : int

    Raises
    ------
    InputError
        The same element twice, shares that leave no room, or elements that are not covered.
    """
    fixed = {element: exact(wt) for element, wt in (held or {}).items()}  # type: ignore[arg-type]
    room = 100 - sum(fixed.values(), Fraction(0))
    faults = []
    if one == other or one in fixed or other in fixed:
        faults.append(Fault("elements", "are named twice", ", ".join((one, other, *fixed)), "each element once"))
    if room <= 0 or any(wt < 0 for wt in fixed.values()):
        faults.append(Fault("held shares", "leave no room", shown(str(held)), "at least 0, below 100 wt% in all"))
    if faults:
        raise InputError("the section", faults)
    alloys = []
    for k in range(steps + 1):
        wt = room * k / steps
        parts = {one: room - wt, other: wt, **fixed}
        kept: dict[str, object] = {element: part for element, part in parts.items() if part}
        alloys.append((float(wt), spelling.from_mapping(kept, "the section")))
    results = melting_of([alloy for _, alloy in alloys], told)
    return tuple(SectionPoint(wt, alloy, found) for (wt, alloy), found in zip(alloys, results, strict=True))
