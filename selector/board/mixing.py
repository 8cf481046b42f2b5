"""Paste on balls of another alloy: the zone that melted together, by the brief's own share and geometry.

Volumes of ball and print and a measured share give the zone by mass balance (`joint.mixed`). Where that is known, the
engine's freezing of the zone takes the place of the bound by rule: the onset is where the zone as frozen first holds
the mass fraction that counts. Where anything of it is not known, the bound by rule stands.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from selector.board.printing import printed_metal_share
from selector.brief import Brief, Part, known
from selector.catalogue import Alloy
from selector.catalogue.evidence import Evidence
from selector.composition import Composition
from selector.errors import InputError
from selector.figures import figure
from selector.joint.contributors import Contributor
from selector.joint.geometry import ball_volume_mm3, deposit_volume_mm3, mass_mg, round_volume_mm3
from selector.joint.melted import ZONE, zones_melting
from selector.joint.mixed import MixedJoint, mixed_joint, mixed_volume_share
from selector.melting.coverage import INDICATIVE, coverage
from selector.melting.onset import EVIDENCE_GRADE, joint_onset, remelt_onset
from selector.policy import policy

NAME, UNIT = "remelt_onset_c", "degC"
SOURCE = "computed-melting; the brief's geometry"


@dataclass(frozen=True)
class Zone:
    """The mixed zone of one part's joints: the joint, and the share of its volume that the zone takes."""

    part: str
    made: MixedJoint
    volume_share: float

    @property
    def text(self) -> str:
        """Return the zone in words."""
        bismuth = float(self.made.zone_composition.wt("Bi"))
        holds = f"holds {figure(bismuth, 3)} wt% bismuth and " if bismuth else ""
        return (
            f"{self.part}: with {figure(self.made.dissolved, 3)} of the ball dissolved the mixed zone {holds}"
            f"is {figure(100 * self.volume_share, 2)} % of the joint by volume"
        )


def mixed_zone(brief: Brief, paste: Alloy, part: Part, ball: Alloy) -> Zone | None:
    """Return the mixed zone of a part's joints; None where share, ball, opening or foil is not stated.

    Parameters
    ----------
    brief : Brief
    paste, ball : Alloy
    part : Part
    """
    dissolved, foil_um = known(brief.mixing.dissolved_share), known(brief.printing.foil_um)
    ball_mm, opening_mm = known(part.ball_diameter_mm), known(part.aperture_mm)
    densities = [alloy.of("density_g_cm3").value for alloy in (paste, ball)]
    if dissolved is None or foil_um is None or ball_mm is None or opening_mm is None or None in densities:
        return None
    paste_g_cm3, ball_g_cm3 = float(densities[0] or 0), float(densities[1] or 0)
    transfer = known(brief.printing.transfer_share)
    try:
        metal = printed_metal_share(brief, paste_g_cm3)
        opening = round_volume_mm3(opening_mm, foil_um / 1000, known(part.pitch_mm))
        printed = float(deposit_volume_mm3(opening, 1.0 if transfer is None else transfer, metal))
        ball_mm3 = float(ball_volume_mm3(ball_mm))
        masses = float(mass_mg(printed, paste_g_cm3)), float(mass_mg(ball_mm3, ball_g_cm3))
        made = _made(paste.composition, masses[0], ball.composition, masses[1], dissolved)
        share = float(mixed_volume_share(printed, ball_mm3, dissolved))
    except InputError:
        # A geometry that the balance refuses is a fault of the brief's figures; the bound by rule still stands.
        return None
    return Zone(part.name, made, share)


@lru_cache(maxsize=512)
def _made(paste: Composition, paste_mg: float, ball: Composition, ball_mg: float, dissolved: float) -> MixedJoint:
    return mixed_joint(
        Contributor("paste", paste, Fraction(paste_mg).limit_denominator(10**6)),
        Contributor("ball", ball, Fraction(ball_mg).limit_denominator(10**6)),
        dissolved=dissolved,
    )


def zone_onset(zone: Zone, ball: Alloy) -> Evidence | None:
    """Return the remelt onset of a joint by its mixed zone as computed, degC; None where that is not covered.

    The unmelted ball bounds it from above.
    """
    found = as_frozen(zone.made.zone_composition)
    own = remelt_onset(ball)
    if found is None or own.interval is None:
        return None
    onset_c, half_width_k, grade, first_c = found
    low, high = onset_c - half_width_k, onset_c + half_width_k
    if zone.made.core is not None and own.interval[0] < low:
        return own
    trace = policy().remelt.mass_fraction_percent
    cautions = (
        () if onset_c - first_c < 1 else (f"less than {trace:g} % by mass is liquid from {figure(first_c)} degC on",)
    )
    why = f"{zone.text}; its liquid as frozen reaches {trace:g} % by mass here"
    return Evidence(
        NAME, UNIT, onset_c, low, high, EVIDENCE_GRADE[grade], "computed", SOURCE, why, inputs=(own,), cautions=cautions
    )


@lru_cache(maxsize=512)
def as_frozen(zone: Composition) -> tuple[float, float, str, float] | None:
    """Return where a composition as frozen holds the mass fraction that counts, half-width, grade and first liquid.

    None where the engine does not cover it, or only as indicative, on which no limit may rest.
    """
    try:
        if coverage(zone).grade == INDICATIVE:
            return None
    except InputError:
        return None
    found = zones_melting({ZONE: zone}, at_equilibrium=False).zones[0].melting
    if found is None or not found.curve or found.last_liquid_c is None:
        return None
    counts = policy().remelt.mass_fraction_percent / 100
    # The curve falls; the onset is the lowest temperature at which the liquid reaches the fraction.
    for (upper_c, upper), (lower_c, lower) in reversed(list(pairwise(found.curve))):
        if upper >= counts >= lower or lower >= counts:
            share = 0.0 if upper == lower or lower >= counts else (counts - lower) / (upper - lower)
            return lower_c + (upper_c - lower_c) * share, found.half_width_k, found.grade, found.last_liquid_c
    return None


def weakest_onset(own: Evidence, paste: Alloy, balls: Iterable[Alloy]) -> Evidence:
    """Return the lowest remelt onset of the paste's joints on this board, degC: its own, or by rule with a ball's.

    Parameters
    ----------
    own : Evidence
        Of the paste.
    paste : Alloy
    balls : iterable of Alloy
        Of other alloys than the paste.
    """
    found = [own, *(joint_onset(paste, ball) for ball in {ball.id: ball for ball in balls}.values())]
    unknown = [entry for entry in found if entry.interval is None]
    return unknown[0] if unknown else min(found, key=lambda entry: entry.interval or (0.0, 0.0))
