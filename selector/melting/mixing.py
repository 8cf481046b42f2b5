"""Two alloys melted together by mass, with a trace of a third element: melting against the share."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from selector import composition as spelling
from selector.composition import Composition
from selector.errors import Fault, InputError, shown
from selector.melting.alloy import Melting
from selector.melting.store import melting_of
from selector.units import exact

STEPS = 20


@dataclass(frozen=True)
class BlendPoint:
    """One mixture: the mass share of the second alloy, 0 to 1, its composition and its melting."""

    share: float
    composition: Composition
    melting: Melting


def blend(
    one: Composition, other: Composition, share: object, trace: Mapping[str, object] | None = None
) -> Composition:
    """Return a mixture of two alloys by mass, with elements added.

    Parameters
    ----------
    one, other : Composition
    share : number or text
        Mass share of `other`, 0 to 1.
    trace : mapping, optional
        Element -> wt% of the finished mixture; the alloys make room in proportion.

    Raises
    ------
    InputError
        A share outside 0 to 1, an unknown element, or traces that leave no room.
    """
    part = _number(share, "share", "a mass share from 0 to 1")
    if not 0 <= part <= 1:
        raise InputError("the mixture", [Fault("share", "lies outside the range", shown(share), "0 to 1, by mass")])
    mixture = spelling.mixed([(one, 1 - part), (other, part)])
    return with_trace(mixture, trace or {})


def with_trace(alloy: Composition, trace: Mapping[str, object]) -> Composition:
    """Return an alloy that holds an added wt% of some elements, everything else in proportion.

    Raises
    ------
    InputError
        An unknown element, or traces that leave no room.
    """
    added = {element: _number(wt, f"trace, {element}", "wt% of at least 0") for element, wt in trace.items()}
    total = sum(added.values(), Fraction(0))
    faults = []
    if any(wt < 0 for wt in added.values()) or total >= 100:
        faults.append(Fault("trace", "lies outside the range", f"{float(total):g} wt%", "at least 0, below 100 in all"))
    unknown = [element for element in added if element not in spelling.atomic_masses()]
    faults += [Fault("trace", "is no element", shown(element), "a symbol such as Pb") for element in unknown]
    if faults:
        raise InputError("the mixture", faults)
    added = {element: wt for element, wt in added.items() if wt}
    if not added:
        return alloy
    parts: dict[str, object] = {element: wt * (100 - total) / 100 for element, wt in alloy.parts}
    for element, wt in added.items():
        parts[element] = parts.get(element, Fraction(0)) + wt  # type: ignore[operator]
    return spelling.from_mapping(parts, "the mixture")


def blend_curve(
    one: Composition,
    other: Composition,
    trace: Mapping[str, object] | None = None,
    steps: int = STEPS,
    told: Callable[[int], None] | None = None,
) -> tuple[BlendPoint, ...]:
    """Return melting against the share of the second alloy, from 0 to 1 in equal steps.

    Raises
    ------
    InputError
        As `blend` and `melt`.
    """
    shares = [Fraction(k, steps) for k in range(steps + 1)]
    return _points([(float(s), blend(one, other, s, trace)) for s in shares], told)


def trace_curve(
    alloy: Composition, element: str, most_wt: float, steps: int = STEPS, told: Callable[[int], None] | None = None
) -> tuple[BlendPoint, ...]:
    """Return melting against the content of an added element, wt%, from 0 to `most_wt`; `share` holds the wt%.

    Raises
    ------
    InputError
        As `with_trace` and `melt`.
    """
    contents = [exact(most_wt) * k / steps for k in range(steps + 1)]
    return _points([(float(wt), with_trace(alloy, {element: wt})) for wt in contents], told)


def _points(
    mixtures: Sequence[tuple[float, Composition]], told: Callable[[int], None] | None
) -> tuple[BlendPoint, ...]:
    results = melting_of([composition for _, composition in mixtures], told)
    return tuple(BlendPoint(s, c, m) for (s, c), m in zip(mixtures, results, strict=True))


def _number(value: object, where: str, allowed: str) -> Fraction:
    try:
        if isinstance(value, bool) or not isinstance(value, int | float | str | Fraction):
            raise ValueError
        return exact(value)
    except (ValueError, ZeroDivisionError, OverflowError):
        raise InputError("the mixture", [Fault(where, "is not a number", shown(value), allowed)]) from None
