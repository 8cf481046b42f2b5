"""Paste on a ball that melts later, or not at all: how much of the ball goes into solution, and what the zones hold.

Full mixing is a mass balance, exact. Partial mixing takes the user's measured share, or an upper bound at the peak:
the ball may dissolve until the liquid around it is as rich in tin as the liquidus allows. Three readings of that
liquidus are told together: of the melting engine (the zone counts as molten at 98 % by mass, as the last crystals of
Ag3Sn and Cu6Sn5 are left out), of the straight line from 220 degC to the eutectic, and of the linear fit with its
1.6 K/wt%. Time above the melting point, intermetallic layers and gravity change it: all three are equilibrium bounds.
"Mixing %" of papers is mostly the height of the bismuth-bearing zone over the joint's height, near its volume share.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from selector.composition import Composition, mixed
from selector.errors import Fault, InputError, shown
from selector.joint.contributors import Contributor, joint, mass_of
from selector.joint.lines import fit_bismuth_wt, line_bismuth_wt
from selector.melting.alloy import melt
from selector.policy import policy
from selector.ranges import Numbers, refuse_outside, wrong_if
from selector.units import exact

GRID = 20
LINE_NEEDS_TIN_WT = 90


@dataclass(frozen=True)
class MixingBound:
    """How much of a ball may dissolve at a peak: upper bounds, as shares of its mass.

    Parameters
    ----------
    peak_c : float
    by_engine, by_line, by_fit : float or None
        None where a reading does not hold; `notes` say why.
    notes : tuple of str
    """

    peak_c: float
    by_engine: float | None
    by_line: float | None
    by_fit: float | None
    notes: tuple[str, ...]

    @property
    def span(self) -> tuple[float, float] | None:
        """Return the least and the largest of the readings, None where there is none."""
        found = [value for value in (self.by_engine, self.by_line, self.by_fit) if value is not None]
        return (min(found), max(found)) if found else None


@dataclass(frozen=True)
class MixedJoint:
    """A joint of paste, ball and finishes.

    Parameters
    ----------
    contributors : tuple of Contributor
        All metal of the finished joint, as the compliance floor takes it.
    zone : tuple of Contributor
        What melted together: paste, board-side finishes, and the dissolved share of the ball.
    whole, zone_composition : Composition
    dissolved : float
        Share of the ball's mass in the zone.
    zone_share : float
        Mass of the zone over that of the joint.
    core : Contributor or None
        What of the ball did not melt.
    """

    contributors: tuple[Contributor, ...]
    zone: tuple[Contributor, ...]
    whole: Composition
    zone_composition: Composition
    dissolved: float
    zone_share: float
    core: Contributor | None


def mixed_joint(
    paste: Contributor,
    ball: Contributor | None = None,
    board_side: Sequence[Contributor] = (),
    package_side: Sequence[Contributor] = (),
    dissolved: float = 1.0,
) -> MixedJoint:
    """Return the joint that paste, ball and finishes make, with the zone that melted.

    Parameters
    ----------
    paste : Contributor
        Metal of the paste.
    ball : Contributor, optional
    board_side, package_side : sequence of Contributor
        Finishes; those of the package enter the zone only where all of the ball dissolved.
    dissolved : float
        Share of the ball's mass that went into the zone, 0 to 1: measured, or a bound.

    Raises
    ------
    InputError
        A share outside 0 to 1, or contributors that make no joint.
    """
    refuse_outside("the joint", dissolved_share=dissolved)
    taken = exact(float(dissolved))
    balls = () if ball is None else (ball,)
    contributors = (paste, *balls, *board_side, *package_side)
    zone = [paste, *board_side]
    if ball is not None and taken:
        zone.append(Contributor(ball.name, ball.composition, ball.mass_mg * taken))
    if ball is None or taken == 1:
        zone += package_side
    share = mass_of(zone) / mass_of(contributors) if mass_of(contributors) else Fraction(0)
    return MixedJoint(
        contributors,
        tuple(zone),
        joint(contributors),
        joint(zone),
        float(taken) if ball is not None else 1.0,
        float(share),
        None if ball is None or taken == 1 else Contributor(ball.name, ball.composition, ball.mass_mg * (1 - taken)),
    )


def dissolved_share(
    paste_mass_mg: Numbers, paste_bismuth_wt: Numbers, ball_mass_mg: Numbers, liquid_bismuth_wt: Numbers
) -> Numbers:
    """Return how much of a bismuth-free ball thins the paste down to a liquid: `m_p (w_p / w_l - 1) / m_b`.

    At least 0 (the liquid is as rich as the paste) and at most 1 (all of the ball): both are ends of the balance.

    Parameters
    ----------
    paste_mass_mg, ball_mass_mg : float or array, mg
    paste_bismuth_wt : float or array, wt%
    liquid_bismuth_wt : float or array, wt%
        Of liquid in contact with the ball at the peak.

    Raises
    ------
    InputError
        Outside the range; a ball without mass; a liquid without bismuth.
    """
    refuse_outside(
        "the joint",
        wrong_if(np.asarray(ball_mass_mg) == 0, "ball_mass_mg", "is 0", ball_mass_mg, "above 0 mg"),
        wrong_if(np.asarray(liquid_bismuth_wt) == 0, "liquid_bismuth_wt", "is 0", liquid_bismuth_wt, "above 0 wt%",
                 "at this peak everything melts: the whole ball dissolves"),
        paste_mass_mg=paste_mass_mg,
        paste_bismuth_wt=paste_bismuth_wt,
        ball_mass_mg=ball_mass_mg,
        liquid_bismuth_wt=liquid_bismuth_wt,
    )  # fmt: skip
    share: Numbers = np.clip(paste_mass_mg * (paste_bismuth_wt / liquid_bismuth_wt - 1) / ball_mass_mg, 0.0, 1.0)
    return share


def full_mixing_ratio(
    paste_bismuth_wt: Numbers, liquid_bismuth_wt: Numbers, paste_g_cm3: Numbers, ball_g_cm3: Numbers
) -> Numbers:
    """Return the least volume of paste metal over ball with which the whole ball dissolves.

    `(V_p / V_b) = rho_b / (rho_p (w_p / w_l - 1))`: `dissolved_share` set to 1.

    Raises
    ------
    InputError
        Outside the range; a liquid as rich as the paste, which takes up nothing.
    """
    rich = wrong_if(
        np.asarray(liquid_bismuth_wt) >= np.asarray(paste_bismuth_wt),
        "liquid_bismuth_wt",
        "is as rich as the paste: nothing dissolves",
        liquid_bismuth_wt,
        "below paste_bismuth_wt",
    )
    none = wrong_if(np.asarray(liquid_bismuth_wt) == 0, "liquid_bismuth_wt", "is 0", liquid_bismuth_wt, "above 0 wt%")
    refuse_outside(
        "the joint",
        rich,
        none,
        paste_bismuth_wt=paste_bismuth_wt,
        liquid_bismuth_wt=liquid_bismuth_wt,
        paste_g_cm3=paste_g_cm3,
        ball_g_cm3=ball_g_cm3,
    )
    return ball_g_cm3 / (paste_g_cm3 * (paste_bismuth_wt / liquid_bismuth_wt - 1))


def mixed_volume_share(paste_volume_mm3: Numbers, ball_volume_mm3: Numbers, dissolved: Numbers) -> Numbers:
    """Return the mixed zone as a share of the joint's volume, near its share of the height.

    `(V_p + x V_b) / (V_p + V_b)`, volumes of metal.

    Raises
    ------
    InputError
        Outside the range, or no metal at all.
    """
    none = np.asarray(paste_volume_mm3) + np.asarray(ball_volume_mm3) == 0
    refuse_outside(
        "the joint",
        wrong_if(none, "paste_volume_mm3", "leaves no metal", paste_volume_mm3, "metal of paste or ball"),
        paste_volume_mm3=paste_volume_mm3,
        ball_volume_mm3=ball_volume_mm3,
        dissolved_share=dissolved,
    )
    return (paste_volume_mm3 + dissolved * ball_volume_mm3) / (paste_volume_mm3 + ball_volume_mm3)


def mixing_bound(
    paste: Contributor, ball: Contributor, peak_c: float, board_side: Sequence[Contributor] = ()
) -> MixingBound:
    """Return how much of a ball may dissolve in molten paste at a peak, by three readings of the liquidus.

    Parameters
    ----------
    paste, ball : Contributor
    peak_c : float
        At the joint.
    board_side : sequence of Contributor
        Finishes that the paste takes up.

    Raises
    ------
    InputError
        A peak at which the paste itself is not molten, by the engine; or outside the range.
    """
    refuse_outside("the peak", peak_c=peak_c)
    notes = ["an equilibrium upper bound: time above the melting point, intermetallics and gravity change it"]
    by_engine: float | None = None
    try:
        by_engine = _by_engine(paste, ball, peak_c, board_side)
    except InputError as error:
        if error.what != "melting":
            raise
        notes.append(f"not computed: {error.faults[0].problem}")
    bismuth, in_ball = float(paste.composition.wt("Bi")), float(ball.composition.wt("Bi"))
    by_line = by_fit = None
    if bismuth == 0 or in_ball > 0 or float(ball.composition.wt("Sn")) < LINE_NEEDS_TIN_WT:
        notes.append("line and fit hold for bismuth pastes on tin-rich balls without bismuth only")
    else:
        masses = float(paste.mass_mg), bismuth, float(ball.mass_mg)
        try:
            by_line = _dissolved(*masses, float(line_bismuth_wt(peak_c)))
        except InputError as error:
            notes.append(f"the straight line does not hold: the peak {error.faults[0].problem}")
        liquid = fit_bismuth_wt(peak_c, ball.composition)
        if liquid is None:
            notes.append("the linear fit does not hold here")
        else:
            by_fit = _dissolved(*masses, liquid)
    return MixingBound(peak_c, by_engine, by_line, by_fit, tuple(notes))


def _dissolved(paste_mass_mg: float, paste_wt: float, ball_mass_mg: float, liquid_wt: float) -> float:
    if liquid_wt <= 0:  # at the top of the line the ball itself is liquid
        return 1.0
    return float(dissolved_share(paste_mass_mg, paste_wt, ball_mass_mg, liquid_wt))


def _by_engine(paste: Contributor, ball: Contributor, peak_c: float, board_side: Sequence[Contributor]) -> float:
    """Return the share up to which the zone is molten at the peak, on two grids, the second a twentieth as wide."""
    start = [(entry.composition, entry.mass_mg) for entry in (paste, *board_side)]

    def molten(shares: list[Fraction]) -> list[bool]:
        zones = [mixed([*start, (ball.composition, ball.mass_mg * share)]) for share in shares]
        limit = policy().mixed_joint.molten_mass_share
        liquid = [found.liquid_as_frozen(peak_c) for found in melt(zones, at_equilibrium=False)]
        if None in liquid:
            raise InputError("melting", [Fault("the zone", "mixes to two liquids or none: no path of freezing")])
        return [share is not None and share >= limit for share in liquid]

    if not molten([Fraction(0)])[0]:
        raise InputError(
            "the peak",
            [Fault("peak_c", "does not melt the paste", f"{shown(peak_c)} degC", f"where {paste.name} is liquid")],
        )
    low, high = Fraction(0), Fraction(1)
    for _ in range(2):
        shares = [low + (high - low) * k / GRID for k in range(GRID + 1)]
        liquid = [True, *molten(shares[1:])]
        if all(liquid):
            return float(shares[-1])
        first = liquid.index(False)
        low, high = shares[first - 1], shares[first]
    return float(low)
