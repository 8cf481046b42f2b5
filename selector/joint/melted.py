"""How a finished joint melts: the melting engine asked about the whole joint and about its bismuth-rich zone.

Solidus, liquidus, freezing residue and remelt onset are kept apart, as everywhere. A joint is judged by the zone that
melts first, not by its mean. What the engine does not cover is said and never guessed.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from selector.composition import Composition
from selector.errors import InputError
from selector.joint.mixed import MixedJoint
from selector.melting.alloy import Melting, melt
from selector.melting.coverage import coverage
from selector.melting.store import melting_of

WHOLE, ZONE, CORE = "whole joint", "mixed zone", "unmelted ball"


@dataclass(frozen=True)
class ZoneMelting:
    """How one zone of a joint melts.

    Parameters
    ----------
    name : str
    composition : Composition
    melting : Melting or None
        None where the engine does not cover it.
    why : str
        Why it is not computed; empty where it is.
    """

    name: str
    composition: Composition
    melting: Melting | None
    why: str

    @property
    def onset_c(self) -> tuple[float, float] | None:
        """Return the ends of the remelt onset, degC, with the half-width of the grade; None where not known."""
        return None if self.melting is None else self.melting.onset_interval_c


@dataclass(frozen=True)
class JointMelting:
    """How a joint melts, zone by zone.

    Parameters
    ----------
    zones : tuple of ZoneMelting
    """

    zones: tuple[ZoneMelting, ...]

    @property
    def first(self) -> ZoneMelting | None:
        """Return the zone whose onset is lowest, None while any zone is not known: it may be lower."""
        if any(zone.onset_c is None for zone in self.zones):
            return None
        return min(self.zones, key=lambda zone: zone.onset_c or (0.0, 0.0))

    def of(self, name: str) -> ZoneMelting:
        """Return a zone by its name."""
        return next(zone for zone in self.zones if zone.name == name)


def zones_melting(zones: Mapping[str, Composition], at_equilibrium: bool = True) -> JointMelting:
    """Return how compositions of one joint melt.

    Parameters
    ----------
    zones : mapping
        Name -> composition.
    at_equilibrium : bool
        Whether to compute the solidus too, kept once computed; without it freezing and liquidus only, where the onset
        is known only if the first liquid as frozen counts.
    """
    covered: list[Composition] = []
    why: dict[str, str] = {}
    for name, composition in zones.items():
        try:
            coverage(composition)
            covered.append(composition)
        except InputError as error:
            why[name] = error.faults[0].problem
    distinct = list(dict.fromkeys(covered))
    results = melting_of(distinct, full=False) if at_equilibrium else melt(distinct, at_equilibrium=False)
    found = dict(zip(distinct, results, strict=True))
    return JointMelting(
        tuple(
            ZoneMelting(name, composition, None if name in why else found[composition], why.get(name, ""))
            for name, composition in zones.items()
        )
    )


def joint_melting(made: MixedJoint, at_equilibrium: bool = True) -> JointMelting:
    """Return how a mixed joint melts: as a whole, in its mixed zone, and its ball where that did not melt.

    Parameters
    ----------
    made : MixedJoint
    at_equilibrium : bool
        As of `zones_melting`.
    """
    zones = {WHOLE: made.whole}
    if made.zone_share < 1:
        zones[ZONE] = made.zone_composition
    if made.core is not None:
        zones[CORE] = made.core.composition
    return zones_melting(zones, at_equilibrium)
