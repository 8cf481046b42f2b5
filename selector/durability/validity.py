"""The range in which an equation holds: outside it an input is refused, by name, and never clamped."""

import math
from dataclasses import dataclass

from selector.errors import Fault, InputError, shown


@dataclass(frozen=True)
class Bound:
    """One input of an equation and the range in which the equation holds.

    Parameters
    ----------
    name : str
        The parameter, unit included.
    value : float
    low, high : float
        Both allowed, but for a low end that is `above`.
    unit : str
    above : bool
        The low end itself is refused.
    below : bool
        The high end itself is refused.
    remedy : str
    """

    name: str
    value: float
    low: float = -math.inf
    high: float = math.inf
    unit: str = ""
    above: bool = False
    below: bool = False
    remedy: str = ""

    @property
    def allowed(self) -> str:
        """Return the range in words."""
        unit = f" {self.unit}" if self.unit else ""
        ends = []
        if self.low > -math.inf:
            ends.append(f"{'above' if self.above else 'at least'} {self.low:g}{unit}")
        if self.high < math.inf:
            ends.append(f"{'below' if self.below else 'at most'} {self.high:g}{unit}")
        return " and ".join(ends) or "a finite number"

    @property
    def fault(self) -> Fault | None:
        """Return what is wrong with the input, None where it lies in the range."""
        value = self.value
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            return Fault(self.name, "is not a finite number", shown(value), self.allowed, self.remedy)
        low = value > self.low if self.above else value >= self.low
        high = value < self.high if self.below else value <= self.high
        if low and high:
            return None
        return Fault(self.name, "lies where the equation does not hold", shown(value), self.allowed, self.remedy)


def hold(what: str, *bounds: Bound, faults: tuple[Fault, ...] = ()) -> None:
    """Refuse inputs outside the range of an equation, all of them at once.

    Raises
    ------
    InputError
        Names every input that is no finite number or lies outside its range.
    """
    found = [*faults, *(bound.fault for bound in bounds)]
    told = [fault for fault in found if fault is not None]
    if told:
        raise InputError(what, told)
