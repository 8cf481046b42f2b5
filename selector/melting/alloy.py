"""The melting of alloys: liquidus, T98 and T90, solidus, the freezing path and the remelt onset, with its trust.

Three facts are kept apart: first liquid as frozen (segregation), liquid fraction at a temperature, and solidus after
homogenising. The remelt onset is the first liquid as frozen where that is at least a stated mass fraction; less of it
is a caution, and the onset is the solidus. How much is liquid as frozen at any temperature stands beside it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from selector.composition import Composition
from selector.figures import figure
from selector.melting.coverage import INDICATIVE, Coverage, coverage, systems
from selector.melting.database import MISSING, solver_installed
from selector.melting.equilibrium import UnsolvedError, has_liquid, state_at
from selector.melting.freezing import Freezing, scheil
from selector.melting.liquidus import Liquidus, liquidus
from selector.melting.parameters import T_LOW_K, FloatArray, thermo
from selector.policy import policy
from selector.units import celsius

TOLERANCE_K = 0.03
LOOSEST_K = 1.0
SAME_INVARIANT_K = 0.3
BELOW_LAST_K = 1.0
FRACTIONS = (0.98, 0.90)
SPLITS = (0.5, 0.3, 0.7, 0.15, 0.85)


@dataclass(frozen=True)
class Melting:
    """How an alloy melts, as computed.

    Parameters
    ----------
    alloy : str
        Designation as asked.
    elements : tuple of str
        What was computed, in the engine's order.
    mole_fractions : tuple of float
    grade : str
    half_width_k : float
        Half the interval of each temperature.
    notes, failures : tuple of str
        What to know, and what the solver could not answer.
    liquidus_c, t98_c, t90_c, solidus_c : float or None
        At equilibrium; T98 and T90 are where 98 and 90 % by mass are liquid. None where not computed; `failures`
        or `notes` say why.
    last_liquid_c, last_mass : float or None
        As frozen: where the last liquid freezes and the mass fraction that freezes there at once.
    first_liquid_mass : float or None
        As frozen: what is liquid just above the last liquid's temperature; the first to melt again.
    remelt_onset_c, onset_low_c, onset_high_c : float or None
        The onset by the rule; its ends differ where the first liquid is near the stated mass fraction.
    onset_rule : str
        Which of the two it is, with the figure.
    phases : tuple of (str, float, float)
        Solids in the order in which they form as it freezes: name, where each begins to form in degC, and its mass
        fraction in the end.
    onset_phases : tuple of str
        Solids that make up the last liquid up to the onset.
    curve : tuple of (float, float)
        As frozen: temperature in degC and mass fraction liquid, falling; a jump has two points.
    """

    alloy: str
    elements: tuple[str, ...]
    mole_fractions: tuple[float, ...]
    grade: str
    half_width_k: float
    notes: tuple[str, ...] = ()
    failures: tuple[str, ...] = ()
    liquidus_c: float | None = None
    t98_c: float | None = None
    t90_c: float | None = None
    solidus_c: float | None = None
    last_liquid_c: float | None = None
    last_mass: float | None = None
    first_liquid_mass: float | None = None
    remelt_onset_c: float | None = None
    onset_low_c: float | None = None
    onset_high_c: float | None = None
    onset_rule: str = "not computed"
    phases: tuple[tuple[str, float, float], ...] = ()
    onset_phases: tuple[str, ...] = ()
    curve: tuple[tuple[float, float], ...] = ()

    @property
    def onset_interval_c(self) -> tuple[float, float] | None:
        """Return the ends of the remelt onset, degC, with the half-width of the grade; None where not computed."""
        if self.onset_low_c is None or self.onset_high_c is None:
            return None
        return self.onset_low_c - self.half_width_k, self.onset_high_c + self.half_width_k

    @property
    def liquidus_interval_c(self) -> tuple[float, float] | None:
        """Return the ends of the liquidus, degC, with the half-width of the grade; None where not computed."""
        if self.liquidus_c is None:
            return None
        return self.liquidus_c - self.half_width_k, self.liquidus_c + self.half_width_k

    def liquid_as_frozen(self, temperature_c: float) -> float | None:
        """Return the mass fraction liquid, as frozen, at a temperature; None where freezing is not computed."""
        if self.liquidus_c is None or not self.curve:
            return None
        return liquid_on(self.curve, temperature_c)


def liquid_on(curve: Sequence[tuple[float, float]], temperature_c: float) -> float:
    """Return the liquid fraction on a falling curve; at the very temperature of a jump the value above it."""
    if not curve or temperature_c >= curve[0][0]:
        return 1.0
    for (upper_c, upper), (lower_c, lower) in pairwise(curve):
        if lower_c <= temperature_c < upper_c:
            return lower + (upper - lower) * (temperature_c - lower_c) / (upper_c - lower_c)
    return 0.0 if temperature_c < curve[-1][0] else curve[-1][1]


def melt(
    alloys: Sequence[Composition],
    at_equilibrium: bool = True,
    told: Callable[[int], None] | None = None,
    full: bool = True,
) -> tuple[Melting, ...]:
    """Return how alloys melt.

    Parameters
    ----------
    alloys : sequence of Composition
    at_equilibrium : bool
        Whether to solve for solidus, T98 and T90 too, some tenths of a second an alloy; liquidus and freezing are
        computed for all alloys of one set of elements at once.
    told : callable, optional
        Called with how many alloys are done.
    full : bool
        Whether T98 and T90 are solved for beside the solidus: two thirds of the time.

    Raises
    ------
    InputError
        An alloy that is not covered.
    """
    covered = [coverage(alloy) for alloy in alloys]
    missing = MISSING if at_equilibrium and not solver_installed() else None
    solved: tuple[float, ...] | None = None
    if at_equilibrium and missing is None:
        solved = FRACTIONS if full else ()
    groups: dict[tuple[str, ...], list[int]] = {}
    for k, entry in enumerate(covered):
        groups.setdefault(entry.elements, []).append(k)
    found: dict[int, Melting] = {}
    for elements, members in groups.items():
        x = np.array([mole_fractions(covered[k]) for k in members]).T
        start = liquidus(x, elements)
        path = scheil(x, elements, start.t_k) if np.isfinite(start.t_k).any() else None
        for n, k in enumerate(members):
            one = _one(str(alloys[k]), covered[k], x[:, n], start, path, n, solved)
            found[k] = one if missing is None else replace(one, failures=(*one.failures, str(missing)))
            if told is not None:
                told(len(found))
    return tuple(found[k] for k in range(len(alloys)))


def mole_fractions(entry: Coverage) -> FloatArray:
    """Return the mole fractions of what is computed, in the engine's order."""
    shares = entry.composition.at_percent()
    return np.array([float(shares[element]) / 100 for element in entry.elements])


def _one(
    name: str,
    entry: Coverage,
    x: FloatArray,
    start: Liquidus,
    path: Freezing | None,
    n: int,
    solved: tuple[float, ...] | None,
) -> Melting:
    """Return how one alloy melts; which fractions are solved for beside the solidus, None for no equilibrium."""
    notes = [entry.in_words, *(f"why {entry.grade}: {system}" for system in entry.deciding)]
    notes += [entry.set_aside_in_words] if entry.set_aside else []
    failures: list[str] = []
    base = Melting(name, entry.elements, tuple(float(part) for part in x), entry.grade, entry.half_width_k)
    top_k = float(start.t_k[n])
    if path is None or not np.isfinite(top_k):
        if start.two_liquids[n]:
            notes.append("two liquids where it begins to freeze: no single liquidus, and no freezing path is computed")
        else:
            failures.append("no liquidus above 25 degC was found")
        return replace(base, notes=tuple(notes), failures=tuple(failures))
    if path.two_liquids[n]:
        notes.append("the liquid splits in two on the way down; freezing is computed as if it stayed one: indicative")
        base = replace(base, grade=INDICATIVE, half_width_k=systems().half_width_k.indicative)
    if not path.settled[n]:
        failures.append(f"freezing did not settle near {celsius(float(path.last_k[n])):.1f} degC")
    last_k = float(path.last_k[n])
    if len(entry.elements) == 1:
        last_k = top_k
        base = replace(base, t98_c=celsius(top_k), t90_c=celsius(top_k), solidus_c=celsius(top_k))
    elif solved is not None:
        base, last_k = _at_equilibrium(base, x, top_k, last_k, failures, solved)
    curve = _curve(path, n, last_k)
    if np.isnan(last_k):
        notes.append("liquid remains below 25 degC, which is not followed")
    else:
        base = replace(base, last_liquid_c=celsius(last_k), last_mass=float(path.last_mass[n]))
    base = _with_onset(replace(base, liquidus_c=celsius(top_k), curve=curve), notes)
    phases, onset_phases = _phases(path, n, entry.elements, base.remelt_onset_c)
    return replace(base, phases=phases, onset_phases=onset_phases, notes=tuple(notes), failures=tuple(failures))


def _at_equilibrium(
    base: Melting, x: FloatArray, top_k: float, last_k: float, failures: list[str], fractions: tuple[float, ...]
) -> tuple[Melting, float]:
    """Return the alloy with T98, T90 and solidus, and where the last liquid freezes, K: both may be one invariant."""
    elements = base.elements
    bottom_k = (last_k if np.isfinite(last_k) else T_LOW_K + 1) - BELOW_LAST_K
    high_k = top_k
    found: dict[float, float] = {}
    for fraction in fractions:
        try:
            high_k = _fraction_reached(elements, x, fraction, bottom_k, high_k)
            found[fraction] = celsius(high_k)
        except UnsolvedError as error:
            failures.append(f"T{fraction * 100:.0f}: the solver found no checked answer ({error})")
    base = replace(base, t98_c=found.get(0.98), t90_c=found.get(0.90))
    try:
        # A homogenised alloy melts no cooler than a segregated one: within a bracket that is the floor.
        solidus_k, above_k = _solidus(elements, x, bottom_k, high_k)
        solidus_k = max(solidus_k, min(last_k, above_k)) if np.isfinite(last_k) else solidus_k
    except UnsolvedError as error:
        failures.append(f"solidus: the solver found no checked answer ({error})")
        return base, last_k
    if solidus_k < last_k < solidus_k + SAME_INVARIANT_K:
        # Both engines found the same invariant, the freezing grid a little late.
        last_k = solidus_k
    return replace(base, solidus_c=celsius(solidus_k)), last_k


def _turning(beyond: Callable[[float], bool], low_k: float, high_k: float) -> tuple[float, float]:
    """Return the narrowed bracket, K, of where a checked answer turns from no to yes.

    Where the solver has no answer at the middle, another point of the bracket is asked; a bracket of less than a
    kelvin in which it has none is as narrow as it gets.

    Raises
    ------
    UnsolvedError
        No answer anywhere in a wider bracket.
    """
    while high_k - low_k > TOLERANCE_K:
        for split in SPLITS:
            middle = low_k + split * (high_k - low_k)
            try:
                yes = beyond(middle)
            except UnsolvedError:
                continue
            low_k, high_k = (low_k, middle) if yes else (middle, high_k)
            break
        else:
            if high_k - low_k < LOOSEST_K:
                break
            raise UnsolvedError(f"no checked equilibrium from {celsius(low_k):.1f} to {celsius(high_k):.1f} degC")
    return low_k, high_k


def _fraction_reached(elements: tuple[str, ...], x: FloatArray, fraction: float, low_k: float, high_k: float) -> float:
    """Return where a mass fraction is liquid at equilibrium, K."""
    return _turning(lambda t_k: state_at(elements, x, t_k).liquid_mass >= fraction, low_k, high_k)[1]


def _solidus(elements: tuple[str, ...], x: FloatArray, low_k: float, high_k: float) -> tuple[float, float]:
    """Return the bracket, K, of the checked solidus: the hottest temperature without liquid, the coolest with."""
    while _holds_liquid(elements, x, low_k):
        low_k, high_k = low_k - 10.0, low_k
        if low_k < T_LOW_K:
            raise UnsolvedError("liquid below 25 degC")
    return _turning(lambda t_k: has_liquid(elements, x, t_k), low_k, high_k)


def _holds_liquid(elements: tuple[str, ...], x: FloatArray, t_k: float) -> bool:
    """Return whether liquid is held at a temperature, or at the nearest below it for which there is an answer."""
    for lower in (0.0, 0.7, 1.7, 3.1):
        try:
            return has_liquid(elements, x, t_k - lower)
        except UnsolvedError as error:
            failure = error
    raise failure


def _curve(path: Freezing, n: int, last_k: float) -> tuple[tuple[float, float], ...]:
    """Return the freezing curve in degC and mass fraction, falling, with its last jump."""
    end_k = last_k if np.isfinite(last_k) else 0.0
    points = [
        (celsius(float(t_k)), float(mass))
        for t_k, mass in zip(path.t_k, path.liquid_mass[:, n], strict=True)
        if t_k > end_k and mass > 0
    ]
    first = max((k for k, (_, mass) in enumerate(points) if mass >= 1.0), default=0)
    points = points[first:]
    if end_k:
        points += [(celsius(end_k), float(path.last_mass[n])), (celsius(end_k), 0.0)]
    return tuple(points)


def _with_onset(base: Melting, notes: list[str]) -> Melting:
    """Return the alloy with its remelt onset, and add the caution for a first liquid that does not count."""
    rules = policy().remelt
    limit = rules.mass_fraction_percent / 100
    last_c, solidus_c = base.last_liquid_c, base.solidus_c
    if last_c is None:
        # The onset lies under every service temperature that is judged.
        return replace(base, onset_rule="liquid remains below 25 degC")
    first = liquid_on(base.curve, last_c + rules.gathered_within_k)
    told = f"{figure(first * 100, 2)} % by mass melts first, near {last_c:.0f} degC, as frozen"
    if first >= limit:
        onset_c: float | None = last_c
        rule = f"the first liquid: {told}; at least the {limit * 100:g} % that counts"
    else:
        onset_c = solidus_c
        rule = f"the solidus: {told}; under the {limit * 100:g} % that counts"
        # As frozen it may begin to melt where it also does when homogenised: then there is nothing to warn of.
        lower = solidus_c is None or solidus_c - last_c > rules.gathered_within_k
        if first * 100 >= rules.trace_mass_percent and lower:
            notes.append(f"caution: {told}; under the {limit * 100:g} % that counts as remelting")
    near = limit * rules.near_share <= first < limit / rules.near_share
    ends = [value for value in (onset_c, *((last_c, solidus_c) if near else ())) if value is not None]
    return replace(
        base,
        first_liquid_mass=first,
        remelt_onset_c=onset_c,
        onset_low_c=min(ends) if onset_c is not None else None,
        onset_high_c=max(ends) if onset_c is not None else None,
        onset_rule=rule,
    )


def _phases(
    path: Freezing, n: int, elements: tuple[str, ...], onset_c: float | None
) -> tuple[tuple[tuple[str, float, float], ...], tuple[str, ...]]:
    """Return the solids with where each begins and its final mass, and those that form below the onset."""
    rows, late = [], []
    for (phase, main), amounts in path.frozen.items():
        own = amounts[:, n]
        if own[-1] < 1e-6:
            continue
        name = phase_name(phase, main, elements)
        begins = celsius(float(path.t_k[np.argmax(own > 1e-6)]))
        rows.append((name, begins, float(own[-1])))
        if onset_c is not None:
            above = np.flatnonzero(path.t_k - 273.15 > onset_c)
            grown = own[-1] - (own[above[-1]] if len(above) else 0.0)
            if grown > 1e-4:
                late.append((grown, name))
    rows.sort(key=lambda row: -row[1])
    return tuple(rows), tuple(name for _, name in sorted(late, reverse=True))


def phase_name(phase: str, main: str, elements: tuple[str, ...]) -> str:
    """Return how the trade calls a phase of the tables, by its main element where that decides."""
    return thermo().phases[phase].name.format(main=main)
