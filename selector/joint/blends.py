"""Two powders in one paste, and rework with another alloy of which nobody knows the share.

A blend has three temperatures that must not be merged: the process liquidus (of the powder that melts first and wets),
the equilibrium liquidus (where all of it is molten), and the remelt onset (of the whole as frozen). Rework gives an
interval over the share: the remelt onset hardly hangs on it once the last liquid is a eutectic, which the mean of two
melting points hides. Source of the mixing: mass balance; of the melting: the engine.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from selector.composition import Composition
from selector.errors import Fault, InputError, shown
from selector.joint.melted import ZoneMelting, zones_melting
from selector.melting.mixing import blend
from selector.policy import policy
from selector.ranges import Numbers, refuse_outside
from selector.units import exact

SHARES = ("0.02", "0.05", "0.1", "0.2", "0.35", "0.5", "0.75", "0.9")


@dataclass(frozen=True)
class PowderBlend:
    """A paste of two powders.

    Parameters
    ----------
    composition : Composition
    first, second : ZoneMelting
        The powders; the first is the one that melts first.
    whole : ZoneMelting
        What they make together.
    process_liquidus_c, equilibrium_liquidus_c : float or None
    remelt_onset_c : tuple of float or None
        Ends, degC.
    """

    composition: Composition
    first: ZoneMelting
    second: ZoneMelting
    whole: ZoneMelting
    process_liquidus_c: float | None
    equilibrium_liquidus_c: float | None
    remelt_onset_c: tuple[float, float] | None


@dataclass(frozen=True)
class ReworkPoint:
    """One share of the new alloy, 0 to 1 by mass, and how that mixture melts."""

    share: float
    melting: ZoneMelting


@dataclass(frozen=True)
class Rework:
    """A joint of an old and a new alloy whose share is not known.

    Parameters
    ----------
    points : tuple of ReworkPoint
    onset_c : tuple of float or None
        The ends of the remelt onset over all shares; None where any is not computed.
    last_liquid_c : tuple of float or None
        The ends of where the last liquid freezes.
    liquid_counts_from_share : float or None
        The smallest share computed at which the first liquid counts as remelting.
    """

    points: tuple[ReworkPoint, ...]
    onset_c: tuple[float, float] | None
    last_liquid_c: tuple[float, float] | None
    liquid_counts_from_share: float | None

    def liquid_at(self, temperature_c: float) -> tuple[float, float] | None:
        """Return the least and the largest mass fraction liquid as frozen at a temperature, over the shares."""
        found = [
            None if point.melting.melting is None else point.melting.melting.liquid_as_frozen(temperature_c)
            for point in self.points
        ]
        known = [value for value in found if value is not None]
        return (min(known), max(known)) if len(known) == len(found) else None


def mass_share(volume_share: Numbers, one_g_cm3: Numbers, other_g_cm3: Numbers) -> Numbers:
    """Return the mass share of a powder of a volume share: `v r1 / (v r1 + (1-v) r2)`.

    Parameters
    ----------
    volume_share : float or array
        Of the first powder, 0 to 1.
    one_g_cm3, other_g_cm3 : float or array

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the blend", volume_share=volume_share, one_g_cm3=one_g_cm3, other_g_cm3=other_g_cm3)
    return volume_share * one_g_cm3 / (volume_share * one_g_cm3 + (1 - volume_share) * other_g_cm3)


def powder_blend(
    one: Composition, other: Composition, share_of_one: object, at_equilibrium: bool = True
) -> PowderBlend:
    """Return a paste of two powders with its three temperatures.

    Parameters
    ----------
    one, other : Composition
    share_of_one : number or text
        By mass, 0 to 1; `mass_share` converts one by volume.
    at_equilibrium : bool
        Whether to compute the solidus too.

    Raises
    ------
    InputError
        A share outside 0 to 1.
    """
    whole = blend(other, one, share_of_one)
    zones = zones_melting({"one": one, "other": other, "whole": whole}, at_equilibrium)
    powders = sorted((zones.of("one"), zones.of("other")), key=lambda zone: _liquidus(zone) or math.inf)
    known = all(_liquidus(zone) is not None for zone in powders)
    together = zones.of("whole")
    return PowderBlend(
        whole,
        powders[0],
        powders[1],
        together,
        _liquidus(powders[0]) if known else None,
        _liquidus(together),
        together.onset_c,
    )


def rework(
    old: Composition, new: Composition, shares: Sequence[float | str | Fraction] = SHARES, at_equilibrium: bool = True
) -> Rework:
    """Return how a joint of an old alloy touched up with a new one melts, over the share of the new one.

    Parameters
    ----------
    old, new : Composition
    shares : sequence of number or text
        Mass shares of the new alloy to compute, 0 to 1; the span of what may be.
    at_equilibrium : bool
        Whether to compute the solidus too, without which small shares have no onset.

    Raises
    ------
    InputError
        No shares, or one outside 0 to 1.
    """
    if not shares:
        raise InputError("the rework", [Fault("shares", "are missing", shown(shares), "shares from 0 to 1, by mass")])
    mixtures = {str(share): blend(old, new, share) for share in shares}
    zones = zones_melting(mixtures, at_equilibrium)
    points = tuple(ReworkPoint(float(exact(share)), zones.of(str(share))) for share in shares)
    onsets = [point.melting.onset_c for point in points]
    ends = [end for pair in onsets if pair is not None for end in pair]
    last = [point.melting.melting.last_liquid_c if point.melting.melting else None for point in points]
    known = [value for value in last if value is not None]
    limit = policy().remelt.mass_fraction_percent / 100
    counting = [
        point.share
        for point in points
        if point.melting.melting is not None and (point.melting.melting.first_liquid_mass or 0.0) >= limit
    ]
    return Rework(
        points,
        (min(ends), max(ends)) if None not in onsets else None,
        (min(known), max(known)) if len(known) == len(last) else None,
        min(counting, default=None),
    )


def _liquidus(zone: ZoneMelting) -> float | None:
    return None if zone.melting is None else zone.melting.liquidus_c
