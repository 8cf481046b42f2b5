"""Gold that a finish puts into a joint, against the limits at which joints turn brittle.

Under a print: w = t rho_Au/(t rho_Au + h phi rho). In a joint: w = V_Au rho_Au/(V_Au rho_Au + m).
w mass share, 1; t gold thickness and h print height, um; phi metal share of the paste by volume; rho of the alloy,
g/cm3; m solder mass, mg.
All gold is taken to dissolve. Limits of 3, 4 and 5 wt% stand beside each other; the first is used.
Sources: mass balance; limits in `data/life/surface.toml`.
"""

from collections.abc import Mapping

from selector.composition import Composition, atomic_masses
from selector.durability.constants import surface_data
from selector.durability.validity import Bound, hold
from selector.errors import Fault
from selector.policy import policy
from selector.verdict import Measured, Outcome, Verdict, at_most

RULE = "gold"


def gold_share_under_print(gold_um: float, print_um: float, metal_volume_share: float, density_g_cm3: float) -> float:
    """Return the mass share of gold under a paste print of the pad's own size, 1.

    Parameters
    ----------
    gold_um, print_um : float
    metal_volume_share : float
        Of the paste, about 0.5.
    density_g_cm3 : float
        Of the alloy.

    Raises
    ------
    InputError
        A figure that cannot be.
    """
    hold(
        "the gold in a printed joint",
        Bound("gold_um", gold_um, 0, 50, "um"),
        Bound("print_um", print_um, 0, 1000, "um", above=True),
        Bound("metal_volume_share", metal_volume_share, 0, 1, above=True),
        Bound("density_g_cm3", density_g_cm3, 1, 25, "g/cm3"),
    )
    gold = gold_um * policy().gold.density_g_cm3
    return gold / (gold + print_um * metal_volume_share * density_g_cm3)


def gold_share_in_joint(gold_um: float, pad_area_mm2: float, solder_mg: float) -> float:
    """Return the mass share of gold in a joint of known solder mass, 1.

    Parameters
    ----------
    gold_um : float
    pad_area_mm2 : float
        All gold-covered area that the joint wets, of both sides.
    solder_mg : float

    Raises
    ------
    InputError
        A figure that cannot be.
    """
    hold(
        "the gold in a joint",
        Bound("gold_um", gold_um, 0, 50, "um"),
        Bound("pad_area_mm2", pad_area_mm2, 0, unit="mm2", above=True),
        Bound("solder_mg", solder_mg, 0, unit="mg", above=True),
    )
    gold_mg = gold_um * 1e-3 * pad_area_mm2 * policy().gold.density_g_cm3
    return gold_mg / (gold_mg + solder_mg)


def gold_thickness_um(share: float, print_um: float, metal_volume_share: float, density_g_cm3: float) -> float:
    """Return the gold, um, that gives a mass share under a print; the inverse of `gold_share_under_print`.

    Raises
    ------
    InputError
        A share not between 0 and 1, or a figure that cannot be.
    """
    hold("the gold under a print", Bound("share", share, 0, 1, above=True, below=True))
    gold_share_under_print(0.0, print_um, metal_volume_share, density_g_cm3)
    return print_um * metal_volume_share * density_g_cm3 / policy().gold.density_g_cm3 * share / (1 - share)


def share_in_compound(element: str, atoms: Mapping[str, int], masses_g_mol: Mapping[str, float] | None = None) -> float:
    """Return the mass share of an element in a compound, 1; gold in AuSn4 is 0.29.

    Parameters
    ----------
    element : str
    atoms : mapping
        Element -> atoms in the formula.
    masses_g_mol : mapping, optional
        Atomic masses in place of the table's.

    Raises
    ------
    InputError
        An element that the formula does not hold, or one of unknown mass.
    """
    table = {**{name: float(mass) for name, mass in atomic_masses().items()}, **(masses_g_mol or {})}
    faults = [Fault("atoms", "holds an element of unknown mass", name) for name in atoms if name not in table]
    if element not in atoms:
        faults.append(Fault("element", "is not in the formula", element, ", ".join(atoms)))
    hold("the compound", *(Bound(f"atoms of {name}", count, 1) for name, count in atoms.items()), faults=tuple(faults))
    return atoms[element] * table[element] / sum(count * table[name] for name, count in atoms.items())


def gold_embrittlement(alloy: Composition, share_low: float, share_high: float | None = None) -> Verdict:
    """Return whether the gold in a joint stays under the limit, with every published limit told.

    Parameters
    ----------
    alloy : Composition
        The solder.
    share_low, share_high : float
        Mass share of gold that the finish adds, 1; one value where the second is not given.

    Raises
    ------
    InputError
        A share outside 0 to 1, or ends out of order.
    """
    high = share_low if share_high is None else share_high
    hold("the gold in a joint", Bound("share_low", share_low, 0, 1), Bound("share_high", high, share_low, 1))
    limits = surface_data().gold_limit
    used = limits[0]
    source = "; ".join(dict.fromkeys(entry.source for entry in limits))
    measured = Measured(share_low * 100 if high == share_low else None, share_low * 100, high * 100, "wt% Au")
    if float(alloy.wt("Au")) >= policy().gold.gold_rich_from_wt:
        reason = "an alloy of gold is not embrittled by gold"
        return Verdict(RULE, Outcome.NOT_APPLICABLE, reason, source, measured=measured)
    told = [f"{entry.wt:g} wt%: {entry.text}" for entry in limits]
    cautions = ["limits that are published: " + "; ".join(told)]
    if float(alloy.wt("Bi")) > policy().lead_with_bismuth.stop_above_bismuth_wt:
        cautions.append("no agreed limit exists for bismuth grades: the one of tin-lead is used")
    if float(alloy.wt("In")) >= policy().lead_with_bismuth.indium_watch_from_wt:
        cautions.append("indium takes gold up as AuIn2 and tolerates more, but is used up by it")
    outcome = at_most(round(share_low * 100, 6), round(high * 100, 6), used.wt)
    return Verdict(
        RULE,
        outcome,
        f"{high * 100:.2g} wt% gold in the joint against {used.wt:g}",
        source,
        measured,
        used.wt,
        round(used.wt - high * 100, 6),
        f"holds if the joint takes up at most {used.wt:g} wt% gold" if outcome is Outcome.UNKNOWN else "",
        cautions=tuple(cautions),
    )
