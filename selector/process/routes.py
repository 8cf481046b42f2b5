"""Ways to make a joint whose process temperature is not its remelt onset, as candidates of the steps planner.

A reacted, mixed-powder or undercooled joint keeps the lower onset until a measured trace (DSC) of the finished joint is
given: incomplete reaction leaves the old metal. Rework has to melt what the finished joint is, whatever route made it.
Thickness ratio for full reaction: (n_A M_A/rho_A)/(n_B M_B/rho_B). Sources: stoichiometry; papers of 2016 (abstracts).
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from selector.catalogue import Alloy
from selector.composition import Composition, atomic_masses
from selector.durability.validity import Bound, hold
from selector.errors import Fault
from selector.melting.onset import remelt_onset
from selector.units import kelvin

REFLOW, POWDERS, REACTED, UNDERCOOLED = "reflow", "mixed powder", "transient liquid phase", "undercooled powder"
Interval = tuple[float, float]
UNTIL_TRACED = "the lower onset is taken until a measured trace of the finished joint is given"
AMBIENT_C: Interval = (15.0, 35.0)


@dataclass(frozen=True)
class Candidate:
    """An alloy by a route: what the process must reach, and where the finished joint melts again.

    Parameters
    ----------
    alloy : str
    route : str
    liquidus_c : (float, float) or None
        What the process melts, before superheat; None where not known.
    onset_c : (float, float) or None
        Remelt onset of the finished joint.
    process_c : (float, float) or None
        Process temperature of a route that has its own; no superheat is added to it.
    rework_c : (float, float) or None
        What rework has to melt; the liquidus where None.
    composition : Composition or None
        Of the metal; needed to see lead meet bismuth.
    cautions : tuple of str
    source : str
    rework_open : bool
        Whether nobody knows what rework has to melt: reacted metal of which no figure is stated.
    """

    alloy: str
    route: str
    liquidus_c: Interval | None
    onset_c: Interval | None
    process_c: Interval | None = None
    rework_c: Interval | None = None
    composition: Composition | None = None
    cautions: tuple[str, ...] = ()
    source: str = "policy"
    rework_open: bool = False

    @property
    def name(self) -> str:
        """Return alloy and route; the alloy alone for reflow."""
        return self.alloy if self.route == REFLOW else f"{self.alloy} by {self.route}"

    @property
    def melts_for_rework_c(self) -> Interval | None:
        """Return what rework has to melt; None where not known."""
        return None if self.rework_open else self.rework_c or self.liquidus_c


def by_reflow(
    alloy: str, liquidus_c: Interval | None, onset_c: Interval | None, composition: Composition | None = None
) -> Candidate:
    """Return a candidate by plain reflow.

    Raises
    ------
    InputError
        An interval whose ends are out of order or no temperature.
    """
    _ordered(f"the candidate {alloy}", liquidus_c=liquidus_c, onset_c=onset_c)
    return Candidate(alloy, REFLOW, liquidus_c, onset_c, composition=composition)


def listed(alloy: Alloy) -> Candidate:
    """Return an alloy of the catalogue by plain reflow, with its liquidus and computed remelt onset as intervals."""
    liquidus, onset = alloy.of("liquidus_c"), remelt_onset(alloy)
    source = "; ".join(dict.fromkeys(f"{liquidus.source}; {onset.source}".split("; ")))
    return Candidate(
        alloy.id,
        REFLOW,
        liquidus.interval,
        onset.interval,
        composition=alloy.composition,
        cautions=onset.cautions,
        source=source,
    )


def by_reaction(
    start: Candidate,
    process_c: Interval,
    reacted_onset_c: Interval | None,
    *,
    share_reacted: float | None = None,
    hold_min: float | None = None,
    bondline_um: float | None = None,
    trace_onset_c: Interval | None = None,
) -> Candidate:
    """Return a transient-liquid-phase joint: made hot enough to melt the start metal, held until it has reacted.

    Parameters
    ----------
    start : Candidate
        The low-melting metal by reflow.
    process_c : (float, float)
    reacted_onset_c : (float, float) or None
        Onset after full reaction, as literature or stoichiometry has it: what rework has to melt, and a caution; it
        never lifts the onset. None where nobody states it: then rework is open.
    share_reacted : float, optional
        1 is complete.
    hold_min, bondline_um : float, optional
    trace_onset_c : (float, float), optional
        Onset of the finished joint as measured; only this lifts the lower one.

    Raises
    ------
    InputError
        A process under the start metal's liquidus, ends out of order, or a share outside 0 to 1.
    """
    what = f"{start.alloy} by {REACTED}"
    _ordered(what, process_c=process_c, reacted_onset_c=reacted_onset_c, trace_onset_c=trace_onset_c)
    bounds = [
        Bound(name, value, 0, high, above=True)
        for name, value, high in (
            ("share_reacted", share_reacted, 1.0),
            ("hold_min", hold_min, 1e5),
            ("bondline_um", bondline_um, 1e4),
        )
        if value is not None
    ]
    if start.liquidus_c is not None:
        cold = "the start metal does not melt at it"
        bounds.append(Bound("process_c", process_c[0], start.liquidus_c[0], unit="degC", remedy=cold))
    hold(what, *bounds)
    if reacted_onset_c is None:
        told = "onset after full reaction not stated"
    else:
        low_c, high_c = reacted_onset_c
        span = f"{low_c:g}" if low_c == high_c else f"{low_c:g} to {high_c:g}"
        told = f"literature onset after full reaction {span} degC"
    cautions = [f"{told}; {UNTIL_TRACED}" if trace_onset_c is None else f"{told}; the measured trace is used"]
    if share_reacted is None or share_reacted < 1:
        share = "not known" if share_reacted is None else f"{share_reacted:.0%}"
        cautions.append(f"share reacted: {share}; what has not reacted keeps the old onset")
    for name, value, unit in (("hold", hold_min, "min"), ("bondline", bondline_um, "um")):
        cautions.append(f"{name}: {'not stated' if value is None else f'{value:g} {unit}'}")
    low = start.liquidus_c or process_c
    return replace(
        start,
        route=REACTED,
        process_c=process_c,
        onset_c=trace_onset_c or start.onset_c,
        rework_c=reacted_onset_c and (min(low[0], reacted_onset_c[0]), max(low[1], reacted_onset_c[1])),
        cautions=(*start.cautions, *cautions),
        source=f"{start.source}; paper-tlp-2016",
        rework_open=reacted_onset_c is None,
    )


def by_mixed_powder(
    first: Candidate,
    second: Candidate,
    overall_liquidus_c: Interval | None,
    onset_as_mixed_c: Interval | None,
    composition: Composition | None = None,
    *,
    process_c: Interval | None = None,
    trace_onset_c: Interval | None = None,
) -> Candidate:
    """Return a joint of two powders of which only the first has to melt.

    Parameters
    ----------
    first, second : Candidate
        By reflow; the first melts lower.
    overall_liquidus_c : (float, float) or None
        Of the mixture at equilibrium; what rework has to melt. None where not known.
    onset_as_mixed_c : (float, float) or None
        Of the two together as frozen, which may form a eutectic that melts lower than either;
        `melting.onset.joint_onset` gives it for alloys of the catalogue. None where not known: then the onset is not.
    composition : Composition, optional
        Of the mixture.
    process_c : (float, float), optional
        Of its own; the first powder's liquidus and superheat otherwise.
    trace_onset_c : (float, float), optional
        Onset of the finished joint as measured.

    Raises
    ------
    InputError
        A first powder that does not melt lower or at the process, or ends out of order.
    """
    what = f"{first.alloy} with {second.alloy} by {POWDERS}"
    _ordered(
        what,
        overall_liquidus_c=overall_liquidus_c,
        process_c=process_c,
        onset_as_mixed_c=onset_as_mixed_c,
        trace_onset_c=trace_onset_c,
    )
    if first.liquidus_c is not None and second.liquidus_c is not None and first.liquidus_c[0] > second.liquidus_c[1]:
        told = f"{first.alloy} {first.liquidus_c[0]:g} degC, {second.alloy} {second.liquidus_c[1]:g} degC"
        hold(what, faults=(Fault("first", "melts higher than the second", told, remedy="swap the two powders"),))
    if process_c is not None and first.liquidus_c is not None:
        cold = "the first powder does not melt at it"
        hold(what, Bound("process_c", process_c[0], first.liquidus_c[0], unit="degC", remedy=cold))
    below = "the mixture's liquidus, not known" if overall_liquidus_c is None else f"{overall_liquidus_c[1]:.4g} degC"
    caution = f"partly dissolved below {below}; "
    caution += UNTIL_TRACED if trace_onset_c is None else "the measured trace of the onset is used"
    return Candidate(
        f"{first.alloy} + {second.alloy}",
        POWDERS,
        first.liquidus_c,
        trace_onset_c or _lowest(first.onset_c, second.onset_c, onset_as_mixed_c),
        process_c=process_c,
        rework_c=overall_liquidus_c,
        rework_open=overall_liquidus_c is None,
        composition=composition,
        cautions=(*first.cautions, *second.cautions, caution),
        source="; ".join(dict.fromkeys(f"{first.source}; {second.source}".split("; "))),
    )


def by_undercooled_powder(alloy: Candidate, process_c: Interval = AMBIENT_C) -> Candidate:
    """Return a joint of undercooled droplets: formed without heat, it melts at the alloy's own onset afterwards.

    Parameters
    ----------
    alloy : Candidate
        The droplets' metal by reflow.
    process_c : (float, float)
        Ambient, unless the process is warmer.

    Raises
    ------
    InputError
        Ends out of order, or a process at which the alloy melts: nothing there is undercooled.
    """
    what = f"{alloy.alloy} by {UNDERCOOLED}"
    _ordered(what, process_c=process_c)
    if alloy.onset_c is not None:
        warm = "above its melting point it is not undercooled"
        hold(what, Bound("process_c", process_c[1], high=alloy.onset_c[0], unit="degC", below=True, remedy=warm))
    caution = "strength and reliability: no data; shelf life, shell residue and the force that triggers it are open"
    return replace(
        alloy,
        route=UNDERCOOLED,
        process_c=process_c,
        rework_c=alloy.liquidus_c,
        cautions=(*alloy.cautions, caution),
        source=f"{alloy.source}; paper-undercooled-2016",
    )


def _lowest(*onsets: Interval | None) -> Interval | None:
    """Return the lowest of onsets as an interval, None where one is not known: that may be the lowest."""
    known = [ends for ends in onsets if ends is not None]
    return (min(e[0] for e in known), min(e[1] for e in known)) if len(known) == len(onsets) else None


def _ordered(what: str, **intervals: Interval | None) -> None:
    bounds = []
    for name, ends in intervals.items():
        if ends is not None:
            bounds += [Bound(name, ends[0], -100, 1500, "degC"), Bound(name, ends[1], ends[0], 1500, "degC")]
    hold(what, *bounds)


def thickness_ratio(
    atoms: int, mass_g_mol: float, density_g_cm3: float, other_atoms: int, other_mass: float, other_density: float
) -> float:
    """Return the thickness of one metal for one of the other at which a compound uses both up.

    Parameters
    ----------
    atoms, other_atoms : int
        Of each metal in the formula.
    mass_g_mol, other_mass : float
    density_g_cm3, other_density : float

    Raises
    ------
    InputError
        A count or figure not above 0.
    """
    hold(
        "the thickness ratio",
        *(
            Bound(name, value, 0, above=True)
            for name, value in (
                ("atoms", atoms),
                ("mass_g_mol", mass_g_mol),
                ("density_g_cm3", density_g_cm3),
                ("other_atoms", other_atoms),
                ("other_mass", other_mass),
                ("other_density", other_density),
            )
        ),
    )
    return (atoms * mass_g_mol / density_g_cm3) / (other_atoms * other_mass / other_density)


def mass_to_bind(metal: str, element: str, element_mass_g: float, formula: Mapping[str, int]) -> float:
    """Return the mass of a metal, g, that binds all of an element into a compound: copper for tin into Cu6Sn5.

    Parameters
    ----------
    metal, element : str
    element_mass_g : float
    formula : mapping
        Element -> atoms.

    Raises
    ------
    InputError
        A metal or element that the formula does not hold, or a mass below 0.
    """
    faults = [
        Fault(name, "is not in the formula", value, ", ".join(formula))
        for name, value in (("metal", metal), ("element", element))
        if value not in formula
    ]
    hold("the metal to bind", Bound("element_mass_g", element_mass_g, 0, unit="g"), faults=tuple(faults))
    masses = atomic_masses()
    ratio = formula[metal] * float(masses[metal]) / (formula[element] * float(masses[element]))
    return element_mass_g * ratio


def remelt_shift_k(remelt_c: float, process_liquidus_c: float) -> float:
    """Return by how much a reacted joint melts higher than the metal that made it, K."""
    hold(
        "the shift of the onset",
        Bound("remelt_c", remelt_c, -100, 1500, "degC"),
        Bound("process_liquidus_c", process_liquidus_c, -100, 1500, "degC"),
    )
    return remelt_c - process_liquidus_c


def undercooling_share(melting_c: float, kept_at_c: float) -> float:
    """Return the undercooling of metal kept liquid, as a share of its melting point in kelvin; 0.3 to 0.4 at best.

    Raises
    ------
    InputError
        Metal kept above its melting point, which is not undercooled.
    """
    hold(
        "the undercooling",
        Bound("melting_c", melting_c, -100, 1500, "degC"),
        Bound(
            "kept_at_c", kept_at_c, -273.15, melting_c, "degC", remedy="above its melting point it is not undercooled"
        ),
    )
    return (melting_c - kept_at_c) / kelvin(melting_c)
