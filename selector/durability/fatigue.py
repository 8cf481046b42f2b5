"""Median life of a joint in thermal cycling by Engelmaier's equation, for tin-lead and tin-silver-copper only.

N50 = 0.5 (g / (2 e))^(1/c), c = c0 + c1 T + c2 ln(1 + t0/t): g cyclic shear strain, 1; e fatigue ductility, 1; T mean
temperature of the joint over the cycle, degC; t half-cycle dwell, min; c0, c1, c2, t0, e of a published set.
Failed share x after N(x) = N50 (ln(1-x)/ln 0.5)^(1/b), b Weibull slope, 4 leadless and 2 leaded.
Sets and their sources: `data/life/fatigue.toml`. Every other alloy has "no data", with the reason.
"""

import math

from selector.composition import Composition
from selector.durability.constants import LifeSet, fatigue_data
from selector.durability.estimate import Estimate, no_data
from selector.durability.family import family_of
from selector.durability.validity import Bound, hold
from selector.errors import Fault
from selector.policy import policy

NAME, UNIT = "median life", "cycles"
ALWAYS = (
    "solder fatigue only: no pad crater, no crack along the compound, no overstress",
    "not for heavy underfill or boards that bow",
)


def mean_joint_c(part_c: float, board_c: float, idle_c: float) -> float:
    """Return the mean temperature of a joint over a cycle, degC: (part + board + 2 idle)/4, each in steady state."""
    hold(
        "the mean temperature of a cycle",
        *(Bound(name, value, -200, 400, "degC") for name, value in (("part_c", part_c), ("board_c", board_c))),
        Bound("idle_c", idle_c, -200, 400, "degC"),
    )
    return (part_c + board_c + 2 * idle_c) / 4


def exponent(constants: LifeSet, mean_c: float, dwell_min: float) -> float:
    """Return the exponent c of a set.

    Parameters
    ----------
    constants : LifeSet
    mean_c : float
        Mean temperature of the joint over the cycle, degC.
    dwell_min : float
        Half-cycle dwell, min.

    Raises
    ------
    InputError
        No dwell, or a mean temperature outside those of the equation (0 to 100 degC).
    """
    rules = policy().fatigue
    hold(
        "the fatigue exponent",
        Bound("mean_c", mean_c, rules.mean_low_c, rules.mean_high_c, "degC"),
        Bound("dwell_min", dwell_min, 0, unit="min", above=True, remedy="give the half-cycle dwell"),
    )
    return constants.c0 + constants.c1_per_c * mean_c + constants.c2 * math.log(1 + constants.t0_min / dwell_min)


def median_cycles(strain: float, ductility: float, power: float) -> float:
    """Return N50 = 0.5 (strain / (2 ductility))^(1/power), cycles.

    Parameters
    ----------
    strain : float
        Cyclic shear strain, 1.
    ductility : float
        Fatigue ductility, 1.
    power : float
        The exponent c, below 0.

    Raises
    ------
    InputError
        Strain or ductility not above 0, or a power that is not below 0.
    """
    hold(
        "the median life",
        Bound("strain", strain, 0, above=True),
        Bound("ductility", ductility, 0, above=True),
        Bound("power", power, high=0, below=True),
    )
    return float(0.5 * (strain / (2 * ductility)) ** (1 / power))


def fatigue_life(
    alloy: Composition,
    strain: float,
    mean_c: float,
    dwell_min: float,
    *,
    cold_end_c: float | None = None,
    height_um: float | None = None,
    is_mixed: bool = False,
) -> tuple[Estimate, ...]:
    """Return the median life by every published set that holds for an alloy, side by side.

    Parameters
    ----------
    alloy : Composition
    strain : float
        Cyclic shear strain, 1; above 0, at most 0.1.
    mean_c : float
        0 to 100 degC.
    dwell_min : float
    cold_end_c : float, optional
        Coldest joint of the cycle.
    height_um : float, optional
        Solder height; under 25 um is refused.
    is_mixed : bool
        A joint of two alloys, or reacted: no data.

    Returns
    -------
    tuple of Estimate
        Cycles; the span is a factor of 3 either way. One without a number where no set holds.

    Raises
    ------
    InputError
        Strain, temperature, dwell or height outside what the equation holds for.
    """
    rules = policy().fatigue
    hold(
        "the median life",
        Bound("strain", strain, 0, rules.strain_max, above=True, remedy="above this a joint yields at once"),
        Bound("mean_c", mean_c, rules.mean_low_c, rules.mean_high_c, "degC"),
        Bound("dwell_min", dwell_min, 0, unit="min", above=True),
        *([] if cold_end_c is None else [Bound("cold_end_c", cold_end_c, -200, mean_c, "degC")]),
        *([] if height_um is None else [Bound("height_um", height_um, rules.height_least_um, unit="um")]),
    )
    family = family_of(alloy, is_mixed)
    found = [entry for entry in fatigue_data().life if entry.family == family and _covers(entry, alloy)]
    if not found:
        return (_no_life(family, any(entry.family == family for entry in fatigue_data().life)),)
    flags = [*ALWAYS, f"scatter of a factor of {rules.scatter:g} is normal"]
    if height_um is None:
        flags.append(f"not for joints thinner than about {rules.height_least_um:g} um; the height is not given")
    if cold_end_c is None or cold_end_c < rules.transition_high_c:
        told = "the cold end is not given" if cold_end_c is None else f"the cold end is {cold_end_c:g} degC"
        flags.append(
            f"across {rules.transition_low_c:g} to {rules.transition_high_c:g} degC creep stops ruling, and the law"
            f" with it; {told}"
        )
    return tuple(_life(entry, strain, mean_c, dwell_min, tuple(flags)) for entry in found)


def _life(entry: LifeSet, strain: float, mean_c: float, dwell_min: float, flags: tuple[str, ...]) -> Estimate:
    cycles = median_cycles(strain, entry.fatigue_ductility, exponent(entry, mean_c, dwell_min))
    scatter = policy().fatigue.scatter
    recalled = ("constants from memory, the paper not read",) if entry.origin == "memory" else ()
    noted = (entry.note,) if entry.note else ()
    law = f"Engelmaier, {entry.name}"
    ends = (cycles, cycles / scatter, cycles * scatter)
    return Estimate(NAME, UNIT, *ends, law, entry.source, entry.origin, entry.grade, (*flags, *recalled, *noted))


def _covers(entry: LifeSet, alloy: Composition) -> bool:
    low, high = entry.silver_from_wt, entry.silver_to_wt
    return low is None or high is None or low <= float(alloy.wt("Ag")) <= high


def _no_life(family: str, has_sets: bool) -> Estimate:
    if has_sets:
        return no_data(NAME, UNIT, "the silver content lies between those of the published sets", "policy")
    entry = fatigue_data().without_for(family)  # tin-silver's recalled set is too thin to ship
    return no_data(NAME, UNIT, entry.why, entry.source)


def slope_of(joint: str) -> float:
    """Return the Weibull slope of `leadless` or `leaded` joints.

    Raises
    ------
    InputError
        Another kind.
    """
    slopes = {entry.joint: entry.slope for entry in fatigue_data().weibull}
    if joint not in slopes:
        hold("the failed share", faults=(Fault("joint", "is no kind of joint", repr(joint), " or ".join(slopes)),))
    return slopes[joint]


def cycles_to(share: float, median: float, slope: float) -> float:
    """Return the cycles after which a share has failed, N50 (ln(1-x)/ln 0.5)^(1/b).

    Parameters
    ----------
    share : float
        Failed share, above 0 and below 1.
    median : float
        N50, cycles.
    slope : float
        Weibull slope.

    Raises
    ------
    InputError
        A share, median or slope outside what the equation holds for.
    """
    hold(
        "the cycles to a failed share",
        Bound("share", share, 0, 1, above=True, below=True),
        Bound("median", median, 0, unit="cycles", above=True),
        Bound("slope", slope, 0, above=True),
    )
    return float(median * (math.log(1 - share) / math.log(0.5)) ** (1 / slope))


def failed_share(cycles: float, median: float, slope: float) -> float:
    """Return the share failed after a number of cycles, 1 - 0.5^((N/N50)^b); the inverse of `cycles_to`.

    Raises
    ------
    InputError
        Cycles below 0, or a median or slope not above 0.
    """
    hold(
        "the failed share",
        Bound("cycles", cycles, 0, unit="cycles"),
        Bound("median", median, 0, unit="cycles", above=True),
        Bound("slope", slope, 0, above=True),
    )
    return float(1 - 0.5 ** ((cycles / median) ** slope))


def damage(cycles_and_lives: tuple[tuple[float, float], ...], prior: float = 0.0) -> float:
    """Return the sum of cycles over life of several loads (Miner), with what was used up before; 1 is the end.

    Parameters
    ----------
    cycles_and_lives : tuple of (float, float)
        Cycles of a load and the life under it alone.
    prior : float
        Damage before, 1.

    Raises
    ------
    InputError
        Cycles or prior damage below 0, a life not above 0.
    """
    bounds = [Bound("prior", prior, 0)]
    for number, (cycles, life) in enumerate(cycles_and_lives, start=1):
        bounds += [Bound(f"cycles of load {number}", cycles, 0), Bound(f"life of load {number}", life, 0, above=True)]
    hold("the damage of several loads", *bounds)
    return prior + sum(cycles / life for cycles, life in cycles_and_lives)


def life_ratio(strain_ratio: float, power: float) -> float:
    """Return how life changes between two designs of one alloy whose strains stand in a ratio (Coffin-Manson).

    Parameters
    ----------
    strain_ratio : float
        Strain of the one over that of the other.
    power : float
        The exponent c, below 0; 1/c is -1.9 to -2.7 for tin-lead and tin-silver-copper.

    Raises
    ------
    InputError
        A ratio not above 0, or a power that is not below 0.
    """
    hold(
        "the ratio of two lives",
        Bound("strain_ratio", strain_ratio, 0, above=True),
        Bound("power", power, high=0, below=True),
    )
    return float(strain_ratio ** (1 / power))
