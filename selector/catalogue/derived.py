"""What is computed from the catalogue and never typed in: pasty range, density, ductility class, cost, flags."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from selector.catalogue.evidence import Evidence, computed, nothing, worst_grade
from selector.composition import Composition

REFERENCE_ALLOY = "SAC305"
RESTRICTED = MappingProxyType({"Pb": 1000, "Cd": 100, "Hg": 1000})
"""Elements that a flag marks, with the limit in ppm (Directive 2011/65/EU, Annex II)."""

DUCTILITY_BANDS: tuple[tuple[str, float], ...] = (
    # Lower edge in % elongation, bulk, about 0.001 per s, 20 to 25 degC (common practice).
    ("very good", 50),
    ("good", 30),
    ("moderate", 15),
    ("low", 5),
    ("brittle", 0),
)
SHOCK_DEMOTION_BI_WT = 20


@dataclass(frozen=True)
class Element:
    """What the tables say of one element; a None was not found."""

    symbol: str
    density_g_cm3: float
    density_source: str
    prices_usd_kg: Mapping[str, float]
    price_sources: Mapping[str, str]
    price_grades: Mapping[str, str]
    supply_flag: str
    supply_reason: str
    supply_source: str
    supply_grade: str


def pasty_range(solidus: Evidence, liquidus: Evidence) -> Evidence:
    """Return liquidus minus solidus, K.

    The central value is the difference of the chosen ones. The interval covers the difference of every pair of
    ends that both figures allow, and never falls under 0.
    """
    name, unit = "pasty_range_k", "K"
    if solidus.interval is None or liquidus.interval is None:
        return nothing(name, unit, why="solidus or liquidus is not known")
    value = None
    if solidus.value is not None and liquidus.value is not None:
        value = round(liquidus.value - solidus.value, 6)
    if value is not None and value < 0:
        # Two sources chosen apart that cross say nothing of the gap between them.
        value = None
    low = max(0.0, round(liquidus.interval[0] - solidus.interval[1], 6))
    high = round(liquidus.interval[1] - solidus.interval[0], 6)
    return computed(name, unit, value, low, high, "liquidus minus solidus", (solidus, liquidus))


def density(composition: Composition, elements: Mapping[str, Element], measured: Evidence) -> Evidence:
    """Return the density, g/cm3: the evidence where there is any, else mixed by volume from the elements.

    Mixing by volume holds within 2.5 % of every density read for the catalogue's alloys; averaging by mass would
    read 5 % high for Sn-37Pb.
    """
    if measured.interval is not None:
        return measured
    value = mixed_density(composition, elements)
    source = "; ".join(dict.fromkeys(elements[element].density_source for element in composition.elements))
    return Evidence(
        "density_g_cm3",
        "g/cm3",
        value,
        value * 0.975,
        value * 1.025,
        "low",
        "computed",
        source,
        "volumes of the elements add up; interval 2.5 % either way",
        candidates=measured.candidates,
    )


def mixed_density(composition: Composition, elements: Mapping[str, Element]) -> float:
    """Return the density, g/cm3, of elements mixed without change of volume."""
    return 100 / sum(float(wt) / elements[element].density_g_cm3 for element, wt in composition.parts)


def ductility_class(elongation_percent: float, bismuth_wt: float = 0.0, shock: bool = False) -> str:
    """Return the ductility band of an elongation; with shock, over 20 wt% Bi drops one band (common practice)."""
    names = [name for name, _ in DUCTILITY_BANDS]
    band = next(i for i, (_, edge) in enumerate(DUCTILITY_BANDS) if elongation_percent >= edge)
    if shock and bismuth_wt > SHOCK_DEMOTION_BI_WT:
        band = min(band + 1, len(names) - 1)
    return names[band]


def ductility_classes(elongation: Evidence, bismuth_wt: float = 0.0, shock: bool = False) -> tuple[str, str, str]:
    """Return the class of the chosen elongation, and the best and worst class of its interval."""
    classes = [
        "unknown" if value is None else ductility_class(value, bismuth_wt, shock)
        for value in (elongation.value, elongation.high, elongation.low)
    ]
    return classes[0], classes[1], classes[2]


def cost_usd_cm3(composition: Composition, elements: Mapping[str, Element], density_g_cm3: float, prices: str) -> float:
    """Return the value of the metal, USD per cm3, on one dated list of element prices.

    A joint is defined by its volume, so a price per kilogram would mislead by the ratio of densities.
    """
    usd_kg = sum(float(wt) / 100 * elements[element].prices_usd_kg[prices] for element, wt in composition.parts)
    return usd_kg / 1000 * density_g_cm3


def relative_cost(
    composition: Composition,
    elements: Mapping[str, Element],
    own_density: Evidence,
    reference: Composition,
    reference_density: Evidence,
    newest: str,
) -> Evidence:
    """Return the metal cost per cm3 relative to SAC305 = 1.

    The value is on the newest price list. The interval covers each older list that names every element needed, and
    the intervals of both densities.
    """
    name, unit = "relative_cost", "SAC305 = 1"
    needed = set(composition.elements) | set(reference.elements)
    lists = sorted({entry for element in needed for entry in elements[element].prices_usd_kg})
    complete = [entry for entry in lists if all(entry in elements[element].prices_usd_kg for element in needed)]
    if newest not in complete or own_density.value is None or reference_density.value is None:
        return nothing(name, unit, why=f"an element has no price on the list {newest}, or the density is not known")
    per_list = {}
    for entry in complete:
        one = cost_usd_cm3(reference, elements, reference_density.value, entry)
        per_list[entry] = cost_usd_cm3(composition, elements, own_density.value, entry) / one
    low, high = min(per_list.values()), max(per_list.values())
    if composition != reference:
        own = (own_density.low or own_density.value, own_density.high or own_density.value)
        base = (reference_density.low or reference_density.value, reference_density.high or reference_density.value)
        low *= (own[0] / own_density.value) * (reference_density.value / base[1])
        high *= (own[1] / own_density.value) * (reference_density.value / base[0])
    priced = [elements[element].price_sources[entry] for entry in complete for element in sorted(needed)]
    sources = "; ".join(dict.fromkeys([*priced, own_density.source, reference_density.source]))
    return Evidence(
        name,
        unit,
        per_list[newest],
        low,
        high,
        worst_grade([own_density.grade, *(elements[element].price_grades[newest] for element in needed)]),
        "computed",
        sources,
        f"element prices of {newest} by mass, times density; interval covers the lists {', '.join(complete)}",
        inputs=(own_density,),
    )


def supply_share(composition: Composition, elements: Mapping[str, Element]) -> Evidence:
    """Return the wt% of flagged metal: by-products, or over 60 % of output from one country (common practice)."""
    name, unit = "supply_risk_wt", "wt%"
    unknown = [element for element in composition.elements if elements[element].supply_flag == "unknown"]
    flagged = [element for element in composition.elements if elements[element].supply_flag == "yes"]
    share = float(sum(composition.wt(element) for element in flagged))
    uncertain = float(sum(composition.wt(element) for element in unknown))
    source = "; ".join(dict.fromkeys(elements[element].supply_source for element in composition.elements))
    return Evidence(
        name,
        unit,
        None if unknown else share,
        share,
        share + uncertain,
        worst_grade(elements[element].supply_grade for element in composition.elements),
        "computed",
        source,
        "wt% of metal that is a by-product or comes for over 60 % from one country: "
        + (", ".join(f"{element} ({elements[element].supply_reason})" for element in flagged) or "none"),
    )


def restricted_flags(composition: Composition) -> dict[str, float]:
    """Return the content in ppm of each restricted element that the alloy holds above its limit."""
    return {
        element: float(composition.ppm(element))
        for element, limit in RESTRICTED.items()
        if composition.ppm(element) > limit
    }
