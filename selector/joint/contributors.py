"""What melts into a joint, and the composition that it makes: exact, so that the law can judge it."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from selector.composition import Composition, mixed
from selector.errors import Fault, InputError, shown
from selector.units import PPM_PER_PERCENT


@dataclass(frozen=True)
class Contributor:
    """What melts into a joint.

    Parameters
    ----------
    name : str
        As people call it: "paste", "ball of the radio package", "finish of the connector".
    composition : Composition
    mass_mg : Fraction
        Metal only, without flux.
    traces : tuple of (str, Fraction)
        Measured contents of this contributor, ppm, beside what it names.
    """

    name: str
    composition: Composition
    mass_mg: Fraction
    traces: tuple[tuple[str, Fraction], ...] = ()

    def most_wt(self, element: str) -> Fraction:
        """Return the larger of the measured and the named content of an element, wt%."""
        measured = dict(self.traces).get(element, Fraction(0)) / PPM_PER_PERCENT
        return max(measured, self.composition.wt(element))


def joint(contributors: Sequence[Contributor]) -> Composition:
    """Return the composition of the joint that contributors make, exact.

    Nominal: what was measured of a contributor is not in it.

    Raises
    ------
    InputError
        No contributor, masses of zero or below, a name that stands twice.
    """
    faults = [
        Fault(entry.name, "has no mass", shown(float(entry.mass_mg)), "mg of metal above 0")
        for entry in contributors
        if entry.mass_mg <= 0
    ]
    names = [entry.name for entry in contributors]
    faults += [Fault(name, "stands twice", allowed="each contributor once") for name in sorted(set(names))
               if names.count(name) > 1]  # fmt: skip
    if not contributors:
        faults.append(Fault("contributors", "are missing", allowed="at least one"))
    if faults:
        raise InputError("the joint", faults)
    return mixed((entry.composition, entry.mass_mg) for entry in contributors)


def mass_of(contributors: Sequence[Contributor]) -> Fraction:
    """Return the mass of all contributors together, mg, exact."""
    return sum((entry.mass_mg for entry in contributors), Fraction(0))
