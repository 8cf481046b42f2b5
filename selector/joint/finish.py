"""What a joint picks up from its finishes: lead, gold, silver, bismuth, by thickness, area and density.

All of a thin layer is taken to dissolve (gold, silver, palladium, tin and its alloys); nickel is a barrier and none of
it counts. Validity: layers thin against the joint; a thick gold or silver layer may dissolve only in part, so that the
result is an upper bound. Sources: mass balance; thicknesses in `data/finishes.csv`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np

from selector import composition
from selector.catalogue import Catalogue
from selector.catalogue.derived import mixed_density
from selector.composition import Composition, atomic_masses
from selector.constants import board_table
from selector.errors import Fault, InputError, shown
from selector.joint.contributors import Contributor
from selector.policy import policy
from selector.ranges import Numbers, refuse_outside, wrong_if
from selector.units import exact
from selector.verdict import Measured, Outcome, Verdict, at_most

GOLD_RULE = "gold"
GOLD_G_CM3 = 19.3


@dataclass(frozen=True)
class FinishLayer:
    """One layer of a finish; thicknesses in um, `enters` where all of it dissolves."""

    finish: str
    composition: Composition
    low_um: float
    usual_um: float
    high_um: float
    enters: bool
    source: str
    origin: str
    grade: str
    note: str


@cache
def layers() -> Mapping[str, tuple[FinishLayer, ...]]:
    """Return the layers of every finish in the table, from the outside."""
    found: dict[str, list[FinishLayer]] = {}
    for row in board_table("finishes"):
        own = composition.parse(row["composition"])
        found.setdefault(row["finish"], []).append(
            FinishLayer(
                row["finish"],
                own,
                float(row["low_um"]),
                float(row["usual_um"]),
                float(row["high_um"]),
                row["enters_joint"] == "yes",
                row["source"],
                row["origin"],
                row["grade"],
                row["note"],
            )
        )
    return MappingProxyType({name: tuple(own) for name, own in found.items()})


def gold_um(finish: str) -> tuple[float, float] | None:
    """Return the ends of the gold that a finish gives to a joint, um; None where it holds none, or is not listed."""
    gold = [layer for layer in layers().get(finish, ()) if layer.enters and layer.composition.wt("Au")]
    return (sum(layer.low_um for layer in gold), sum(layer.high_um for layer in gold)) if gold else None


def layer_mass_mg(area_mm2: Numbers, finish_um: Numbers, layer_g_cm3: Numbers) -> Numbers:
    """Return the mass of a layer, `A t rho`.

    Parameters
    ----------
    area_mm2 : float or array, mm2
    finish_um : float or array, um
    layer_g_cm3 : float or array, g/cm3

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the finish", area_mm2=area_mm2, finish_um=finish_um, layer_g_cm3=layer_g_cm3)
    return area_mm2 * finish_um * 1e-3 * layer_g_cm3


def pick_up(
    finish: str, area_mm2: float, catalogue: Catalogue, name: str = "", finish_um: float | None = None
) -> tuple[Contributor, ...]:
    """Return what a finish gives to a joint, a contributor a layer that dissolves.

    Parameters
    ----------
    finish : str
        As briefs call it, or the composition of a single layer ("Sn-37Pb").
    area_mm2 : float
        Wetted area.
    catalogue : Catalogue
        For the densities of the elements, which mix by volume.
    name : str
        How people call it; the finish where left out.
    finish_um : float, optional
        Thickness of the outermost layer; the usual one of the table where left out.

    Raises
    ------
    InputError
        A finish that is neither in the table nor a composition, or a figure outside its range.
    """
    called = name or f"{finish} finish"
    own = layers().get(finish)
    if own is None:
        if finish_um is None and finish != "copper":
            allowed = ", ".join((*layers(), "copper", "a composition with its thickness"))
            raise InputError("the finish", [Fault("finish", "is not in the table", shown(finish), allowed)])
        own = () if finish == "copper" else (_single(finish, finish_um),)
    found = []
    for place, layer in enumerate(own):
        thickness_um = layer.usual_um if finish_um is None or place else finish_um
        density = mixed_density(layer.composition, catalogue.elements)
        mass = layer_mass_mg(area_mm2, thickness_um, density)
        if layer.enters and mass:
            whose = called if sum(entry.enters for entry in own) == 1 else f"{called}, {layer.composition}"
            found.append(Contributor(whose, layer.composition, exact(float(mass))))
    return tuple(found)


def areal_wt(
    finish_um: Numbers, layer_g_cm3: Numbers, print_um: Numbers, metal_share: Numbers, metal_g_cm3: Numbers
) -> Numbers:
    """Return how much of a joint is finish, wt%, where print and finish cover the same area.

    `w = t rho_l / (t rho_l + h phi rho_m)`.

    Parameters
    ----------
    finish_um, layer_g_cm3 : float or array
        Thickness and density of the layer.
    print_um : float or array, um
        Height of the printed paste.
    metal_share : float or array
        Of its volume.
    metal_g_cm3 : float or array, g/cm3

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside(
        "the finish",
        finish_um=finish_um,
        layer_g_cm3=layer_g_cm3,
        print_um=print_um,
        metal_share=metal_share,
        metal_g_cm3=metal_g_cm3,
    )
    layer, metal = finish_um * layer_g_cm3, print_um * metal_share * metal_g_cm3
    return 100 * layer / (layer + metal)


def areal_thickness_um(
    finish_wt: Numbers, layer_g_cm3: Numbers, print_um: Numbers, metal_share: Numbers, metal_g_cm3: Numbers
) -> Numbers:
    """Return the thickness, um, with which a finish makes up a share of the joint; the inverse of `areal_wt`.

    Raises
    ------
    InputError
        Outside the range, or a share of 100 wt% and over.
    """
    whole = wrong_if(np.asarray(finish_wt) >= 100, "finish_wt", "leaves no solder", finish_wt, "below 100 wt%")
    refuse_outside(
        "the finish",
        whole,
        finish_wt=finish_wt,
        layer_g_cm3=layer_g_cm3,
        print_um=print_um,
        metal_share=metal_share,
        metal_g_cm3=metal_g_cm3,
    )
    return print_um * metal_share * metal_g_cm3 / layer_g_cm3 * finish_wt / (100 - finish_wt)


def compound_wt(element: str, atoms: Mapping[str, int], masses_g_mol: Mapping[str, float] | None = None) -> float:
    """Return how much of a compound one of its elements is, wt%: gold of `{"Au": 1, "Sn": 4}`.

    Parameters
    ----------
    element : str
    atoms : mapping
        Element -> number of atoms.
    masses_g_mol : mapping, optional
        Other atomic weights than the table's, which are abridged to five figures.

    Raises
    ------
    InputError
        An unknown element, a number of atoms under 1, or an element that the compound does not hold.
    """
    masses = {**{name: float(mass) for name, mass in atomic_masses().items()}, **(masses_g_mol or {})}
    faults = [Fault(name, "is not an element in the table", shown(name)) for name in atoms if name not in masses]
    faults += [Fault(name, "is no number of atoms", shown(n), "1 and more") for name, n in atoms.items() if not n >= 1]
    if element not in atoms:
        faults.append(Fault("element", "is not in the compound", shown(element), ", ".join(atoms)))
    if faults:
        raise InputError("the compound", faults)
    total = sum(count * masses[name] for name, count in atoms.items())
    return 100 * atoms[element] * masses[element] / total


def finish_share_wt(area_mm2: Numbers, finish_um: Numbers, layer_g_cm3: Numbers, solder_mg: Numbers) -> Numbers:
    """Return how much of a joint of known solder mass is finish, wt%.

    Parameters
    ----------
    area_mm2 : float or array
        All area with the finish that the joint wets, of both sides.
    finish_um, layer_g_cm3 : float or array
        Thickness and density of the layer.
    solder_mg : float or array
        Above 0.

    Raises
    ------
    InputError
        Outside the range.
    """
    none = wrong_if(np.asarray(solder_mg) <= 0, "solder_mg", "is no solder", solder_mg, "above 0 mg")
    refuse_outside("the finish", none, area_mm2=area_mm2, finish_um=finish_um, layer_g_cm3=layer_g_cm3)
    layer_mg = layer_mass_mg(area_mm2, finish_um, layer_g_cm3)
    return 100 * layer_mg / (layer_mg + solder_mg)


def gold_in_joint(alloy: Composition, low_wt: float | None = None, high_wt: float | None = None) -> Verdict:
    """Return whether a joint keeps under the limit of gold that embrittles tin, with every published limit told.

    A joint that is gold-rich by design, as Au-20Sn, is not judged. One that is mostly indium has no agreed limit: over
    the one for tin it is open, and told how much of it the gold binds.

    Parameters
    ----------
    alloy : Composition
        Of the joint; or of the solder, where what a finish adds is given.
    low_wt, high_wt : float, optional
        Gold in the joint, wt%, as an interval; the gold of `alloy` where left out.

    Raises
    ------
    InputError
        A content outside 0 to 100, or ends out of order.
    """
    low = float(alloy.wt("Au")) if low_wt is None else low_wt
    high = low if high_wt is None else high_wt
    faults = (
        [] if 0 <= low <= high <= 100 else [Fault("gold", "is no interval", f"{low:g} to {high:g}", "0 to 100 wt%")]
    )
    if faults:
        raise InputError("the gold in a joint", faults)
    rules = policy().gold
    used, limits = rules.limit[0], "; ".join(f"{entry.wt:g} wt%: {entry.text}" for entry in rules.limit)
    source = "; ".join(dict.fromkeys("; ".join(entry.source for entry in rules.limit).split("; ")))
    measured = Measured(low if low == high else None, low, high, "wt% Au")
    cautions = [f"limits that are published: {limits}"]
    if alloy.wt("Bi") > rules.no_agreed_bismuth_wt:
        cautions.append(f"no agreed limit exists for bismuth grades: {used.wt:g} wt% is used")
    if alloy.wt("In") >= rules.watch_indium_wt:
        cautions.append("indium takes gold up as AuIn2 and tolerates more, but is used up by it")
    ends = f"{high:.2g}" if low == high else f"{low:.2g} to {high:.2g}"
    if alloy.matrix == "In" and high > used.wt:
        gold_wt = compound_wt("Au", {"Au": 1, "In": 2})
        bound = f"{high * (100 - gold_wt) / gold_wt:.2g}"
        why = f"{ends} wt% gold in a joint of indium: AuIn2 binds up to {bound} wt% indium, and no limit is agreed"
        ask = (
            "holds if a pull and a shear test of this joint pass, new and aged; thinner gold, or a larger print, helps"
        )
        return Verdict(GOLD_RULE, Outcome.UNKNOWN, why, source, measured, threshold=ask, cautions=tuple(cautions))
    if alloy.matrix in ("Au", "In") or not high:
        why = f"the joint is mostly {alloy.matrix}" if high else "the joint holds no gold"
        told = tuple(cautions) if high else ()
        return Verdict(GOLD_RULE, Outcome.NOT_APPLICABLE, why, source, measured if high else None, cautions=told)
    outcome = at_most(round(low, 6), round(high, 6), used.wt)
    threshold = f"holds if the joint takes up at most {used.wt:g} wt% gold" if outcome is Outcome.UNKNOWN else ""
    reason = f"{ends} wt% gold, where {used.wt:g} wt% embrittles tin joints"
    margin = round(used.wt - high, 6)
    return Verdict(GOLD_RULE, outcome, reason, source, measured, used.wt, margin, threshold, cautions=tuple(cautions))


def _single(text: str, finish_um: float | None) -> FinishLayer:
    thickness = float(finish_um or 0.0)
    return FinishLayer(
        text, composition.parse(text), thickness, thickness, thickness, True, "the user", "measured", "", ""
    )
