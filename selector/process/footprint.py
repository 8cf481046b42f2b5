"""What the metal of a joint costs, where it comes from, and the carbon and energy it took to win.

A joint is defined by its volume: `USD/cm3 = (sum w_i p_i) rho`, and a price per kilogram misleads by the ratio of
densities. Prices are dated and the user may replace them; powder, paste and making add far more than metal for fine
types. Embodied figures are those of the elements as primary metal, cradle to gate, 2008 supply mix, weighted by mass;
melting and atomising are not in them. What has no figure leaves the sum unknown. Sources: `data/prices.csv`,
`data/supply.csv`, `data/embodied.csv`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from selector.catalogue import NEWEST_PRICES, Catalogue
from selector.catalogue.derived import mixed_density
from selector.catalogue.evidence import GRADES, USABLE, worst_grade
from selector.composition import Composition
from selector.constants import board_table
from selector.errors import Fault, InputError, shown
from selector.ranges import Numbers, is_number, refuse_outside

QUANTITIES = MappingProxyType({"co2e": "kg CO2e/kg", "energy": "MJ/kg"})


@dataclass(frozen=True)
class Prices:
    """A dated list of element prices.

    Parameters
    ----------
    dated : str
        Of what day, month or year.
    usd_kg : mapping
    sources : mapping
        Element -> source.
    """

    dated: str
    usd_kg: Mapping[str, float]
    sources: Mapping[str, str]


@dataclass(frozen=True)
class MetalCost:
    """The value of the metal alone, on one list of prices.

    Parameters
    ----------
    usd_kg, usd_cm3, density_g_cm3 : float
    dated : str
    by_element : tuple of (str, float)
        USD a kg of alloy that each element brings, dearest first.
    sources : tuple of str
    """

    usd_kg: float
    usd_cm3: float
    density_g_cm3: float
    dated: str
    by_element: tuple[tuple[str, float], ...]
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Supply:
    """How an element is supplied; `flagged`, `critical_us` and `critical_eu` are yes, no or unknown."""

    element: str
    wt_percent: float
    flagged: str
    reason: str
    top_country_share_percent: float | None
    critical_us: str
    critical_eu: str
    source: str
    origin: str
    grade: str
    note: str


@dataclass(frozen=True)
class Embodied:
    """Carbon or energy of an alloy's metal a kilogram.

    Parameters
    ----------
    quantity, unit : str
    value, low, high : float or None
        None while an element has no figure; low then still counts what is known.
    missing : tuple of str
        Elements without a figure.
    by_element : tuple of (str, float)
        What each element brings, largest first.
    grade : str
    sources, notes : tuple of str
    """

    quantity: str
    unit: str
    value: float | None
    low: float
    high: float | None
    missing: tuple[str, ...]
    by_element: tuple[tuple[str, float], ...]
    grade: str
    sources: tuple[str, ...]
    notes: tuple[str, ...]

    def per_cm3(self, density_g_cm3: float) -> float | None:
        """Return the value a cm3 of metal, None where it is not known."""
        refuse_outside("the metal", density_g_cm3=density_g_cm3)
        return None if self.value is None else self.value * density_g_cm3 / 1000


def listed_prices(catalogue: Catalogue, dated: str = NEWEST_PRICES) -> Prices:
    """Return one of the catalogue's price lists.

    Raises
    ------
    InputError
        No element has a price of that date.
    """
    found = {
        symbol: entry.prices_usd_kg[dated]
        for symbol, entry in catalogue.elements.items()
        if dated in entry.prices_usd_kg
    }
    if not found:
        dates = sorted({date for entry in catalogue.elements.values() for date in entry.prices_usd_kg})
        raise InputError("the prices", [Fault("dated", "names no price list", shown(dated), ", ".join(dates))])
    sources = {symbol: catalogue.elements[symbol].price_sources[dated] for symbol in found}
    return Prices(dated, MappingProxyType(found), MappingProxyType(sources))


def replaced(prices: Prices, usd_kg: Mapping[str, object], dated: str) -> Prices:
    """Return a price list with some prices of the user's own; the date is theirs, and each changed element says so.

    Parameters
    ----------
    prices : Prices
    usd_kg : mapping
        Element -> USD/kg.
    dated : str
        Of what day the new prices are.

    Raises
    ------
    InputError
        No date, or what is no price.
    """
    faults = [] if dated.strip() else [Fault("dated", "is missing", allowed="the day or month of the prices")]
    faults += [
        Fault(f"price of {element}", "is no price", shown(price), "USD/kg of at least 0, at most 1,000,000")
        for element, price in usd_kg.items()
        if not is_number(price) or not 0 <= float(str(price)) <= 1e6
    ]
    if faults:
        raise InputError("the prices", faults)
    own = {element: float(str(price)) for element, price in usd_kg.items()}
    sources = {**prices.sources, **dict.fromkeys(own, f"the user, {dated}")}
    told = dated if set(own) >= set(prices.usd_kg) else f"{dated} for {', '.join(own)}; {prices.dated} for the rest"
    return Prices(told if own else prices.dated, MappingProxyType({**prices.usd_kg, **own}), MappingProxyType(sources))


def metal_cost(
    alloy: Composition, prices: Prices, catalogue: Catalogue, density_g_cm3: float | None = None
) -> MetalCost:
    """Return the value of an alloy's metal by kilogram and by volume.

    Parameters
    ----------
    alloy : Composition
    prices : Prices
    catalogue : Catalogue
        For the densities of the elements.
    density_g_cm3 : float, optional
        Mixed by volume where left out; never averaged by mass, which reads 5 % high for Sn-37Pb.

    Raises
    ------
    InputError
        An element without a price; a density outside the range.
    """
    missing = [element for element in alloy.elements if element not in prices.usd_kg]
    if missing:
        remedy = "state a price of your own"
        raise InputError(
            "the prices",
            [Fault(f"price of {element}", f"is not on the list {prices.dated}", remedy=remedy) for element in missing],
        )
    density = mixed_density(alloy, catalogue.elements) if density_g_cm3 is None else density_g_cm3
    shares = {element: float(wt) / 100 * prices.usd_kg[element] for element, wt in alloy.parts}
    total = sum(shares.values())
    return MetalCost(
        total,
        float(cost_cm3(total, density)),
        density,
        prices.dated,
        tuple(sorted(shares.items(), key=lambda entry: (-entry[1], entry[0]))),
        tuple(dict.fromkeys(prices.sources[element] for element in alloy.elements)),
    )


def cost_cm3(metal_usd_kg: Numbers, density_g_cm3: Numbers) -> Numbers:
    """Return a price a volume, USD/cm3, of one a mass.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the metal", metal_usd_kg=metal_usd_kg, density_g_cm3=density_g_cm3)
    return metal_usd_kg / 1000 * density_g_cm3


def joints_usd(metal_usd_cm3: Numbers, joint_volume_mm3: Numbers, joints: Numbers = 1) -> Numbers:
    """Return the value of the metal in joints, USD: `n V c`; a board is all of its joints.

    Parameters
    ----------
    metal_usd_cm3 : float or array
    joint_volume_mm3 : float or array
        Of metal, one joint.
    joints : float or array
        How many.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the joints", metal_usd_cm3=metal_usd_cm3, joint_volume_mm3=joint_volume_mm3, joints=joints)
    return metal_usd_cm3 * joint_volume_mm3 * 1e-3 * joints


def volume_factor(one_g_cm3: Numbers, other_g_cm3: Numbers) -> Numbers:
    """Return by how much a price a kilogram flatters the denser alloy: the ratio of densities."""
    refuse_outside("the metal", one_g_cm3=one_g_cm3, other_g_cm3=other_g_cm3)
    return one_g_cm3 / other_g_cm3


def supply_of(alloy: Composition) -> tuple[Supply, ...]:
    """Return how each element of an alloy is supplied, largest share first; unknown where it was not looked up."""
    rows = {row["element"]: row for row in board_table("supply")}
    return tuple(_supply(element, float(wt), rows.get(element)) for element, wt in alloy.parts)


def embodied(alloy: Composition, quantity: str) -> Embodied:
    """Return the carbon (co2e) or energy of an alloy's metal, a kilogram, from published figures of the elements.

    Where two usable figures of one element stand in the table, the better grade counts and the span covers both.

    Raises
    ------
    InputError
        Another quantity.
    """
    if quantity not in QUANTITIES:
        raise InputError("the footprint", [Fault("quantity", "is not held", shown(quantity), ", ".join(QUANTITIES))])
    table = _embodied_rows(quantity)
    missing = tuple(element for element in alloy.elements if element not in table)
    shares: dict[str, tuple[float, float, float]] = {}
    grades, sources, notes = [], [], []
    for element, wt in alloy.parts:
        rows = sorted(table.get(element, ()), key=lambda row: GRADES.index(row["grade"]))
        if not rows:
            continue
        values = [float(row["value"]) for row in rows]
        shares[element] = tuple(float(wt) / 100 * value for value in (values[0], min(values), max(values)))  # type: ignore[assignment]
        grades.append(rows[0]["grade"])
        sources.append(rows[0]["source"])
        notes += [f"{element}: {row['condition']}" for row in rows if row["condition"]]
    value, low, high = (sum(entry[k] for entry in shares.values()) for k in range(3))
    return Embodied(
        quantity,
        QUANTITIES[quantity],
        None if missing else value,
        low,
        None if missing else high,
        missing,
        tuple(sorted(((name, entry[0]) for name, entry in shares.items()), key=lambda entry: (-entry[1], entry[0]))),
        worst_grade(grades) if grades and not missing else "low",
        tuple(dict.fromkeys(sources)),
        tuple(notes),
    )


@cache
def _embodied_rows(quantity: str) -> Mapping[str, tuple[Mapping[str, str], ...]]:
    found: dict[str, list[Mapping[str, str]]] = {}
    for row in board_table("embodied"):
        if row["quantity"] == quantity and row["standing"] == USABLE:
            found.setdefault(row["element"], []).append(row)
    return MappingProxyType({element: tuple(rows) for element, rows in found.items()})


def _supply(element: str, wt: float, row: Mapping[str, str] | None) -> Supply:
    if row is None:
        return Supply(element, wt, "unknown", "not looked up", None, "unknown", "unknown", "none", "memory", "low", "")
    share = row["top_country_share_percent"]
    return Supply(
        element,
        wt,
        row["flagged"],
        row["reason"],
        float(share) if share else None,
        row["critical_us"],
        row["critical_eu"],
        row["source"],
        row["origin"],
        row["grade"],
        row["note"],
    )
