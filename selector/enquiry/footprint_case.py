"""Energy, carbon, cost and supply of an alloy, beside another; asked, answered, in words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from selector import asked
from selector.asked import Named
from selector.catalogue import NEWEST_PRICES, Catalogue
from selector.compliance.typed import element_of
from selector.enquiry.cold_peak import cold_peak
from selector.enquiry.fields import Field, Given, defaults_told, read_figures, stated
from selector.enquiry.heat_in import HEAT_FIELDS, board_kj, solder_kj
from selector.enquiry.report import Report, Row, Section, ends, small
from selector.errors import Fault, InputError, shown
from selector.figures import NOT_KNOWN, figure
from selector.process.energy import Saving, co2_g, energy_per_board_kwh, measured_oven, oven_saving
from selector.process.footprint import (
    Embodied,
    MetalCost,
    Prices,
    embodied,
    joints_usd,
    listed_prices,
    metal_cost,
    replaced,
    supply_of,
)
from selector.ranges import Range

ENERGY, COST, SUPPLY, METAL = "Oven energy and CO2", "Cost of the metal", "Supply", "Embodied in the metal"
OVEN = "One measured oven, carried over as shares; nitrogen, idle time and a second pass usually outweigh the peak."
ONLY_METAL = "Metal alone: powder, paste and making add far more for fine types."
FIELDS = (
    Field("peak_c", "Peak, degC"),
    Field("usual_peak_c", "Usual peak, degC", 245.0, allowed=Range(20, 600, "degC")),
    Field("grid_factor", "Grid, kg CO2 a kWh", allowed=Range(0, 2, "kg/kWh")),
    Field("boards_h", "Boards an hour"),
    Field("joint_mm3", "Metal a joint, mm3", allowed=Range(0, 1e4, "mm3", open_low=True)),
    Field("joints", "Joints a board"),
    *HEAT_FIELDS,
)


@dataclass(frozen=True)
class FootprintAsked:
    """What is asked.

    Parameters
    ----------
    alloys : tuple of Named
        The alloy, and the one beside it.
    figures : mapping
    prices : Prices
    """

    alloys: tuple[Named, ...]
    figures: Mapping[str, Given]
    prices: Prices


def footprint_asked(
    texts: Mapping[str, str | None],
    own_prices: Sequence[str],
    catalogue: Catalogue,
    on_page: bool = False,
) -> FootprintAsked:
    """Return what is asked, from texts by name: figures, alloy, compare, dated; and prices as `Bi=35`, USD/kg.

    Raises
    ------
    InputError
        Every fault at once: a peak above the usual one, a price without its day among them.
    """
    faults: list[Fault] = []
    typed = [("", texts.get("alloy") or "")]
    compare = (texts.get("compare") or "").strip()
    typed += [("compare: ", compare)] if compare else []
    alloys = asked.named(typed, catalogue, faults, cover=False)
    figures = read_figures(FIELDS, texts, faults, on_page)
    prices = listed_prices(catalogue, NEWEST_PRICES)
    own = _prices(own_prices, faults)
    dated = (texts.get("dated") or "").strip()
    if own and not dated:
        dated = f"{date.today().isoformat()}, as typed"
    peak, usual = figures["peak_c"].value, figures["usual_peak_c"].value
    if peak is not None and usual is not None and peak > usual:
        where = figures["peak_c"].field.called(on_page)
        faults.append(Fault(where, "is above the usual peak", f"{peak:g} degC", f"at most {usual:g} degC"))
    if not faults:
        faults += cold_peak(figures["peak_c"], alloys[:1], catalogue, on_page)
    joints = figures["joints"]
    if joints.value is not None and joints.value != int(joints.value):
        where = joints.field.label if on_page else joints.field.option
        faults.append(Fault(where, "is no number of joints", f"{joints.value:g}", "whole"))
    asked.refuse(faults)
    return FootprintAsked(tuple(dict.fromkeys(alloys)), figures, replaced(prices, own, dated) if own else prices)


def _prices(texts: Sequence[str], faults: list[Fault]) -> dict[str, float]:
    found: dict[str, float] = {}
    allowed = "an element and USD/kg, such as Bi=35 or bismuth=35"
    for text in texts:
        symbol, sign, amount = (piece.strip() for piece in text.partition("="))
        unread: list[Fault] = []
        element = element_of("price", symbol.capitalize(), unread)
        if not sign:
            faults.append(Fault(f"price {shown(text)}", "names no price", allowed=allowed))
        elif element is None:
            faults.append(Fault(f"price {shown(text)}", "is of no element", shown(symbol), allowed))
        elif element in found:
            faults.append(Fault(f"price {shown(text)}", "element given twice", element, "each element once"))
        else:
            try:
                found[element] = float(amount)
                if not 0 <= found[element] <= 1e6:
                    raise ValueError
            except ValueError:
                faults.append(Fault(f"price {shown(text)}", "is no price", shown(amount), "0 to 1,000,000 USD/kg"))
    return found


def footprint_report(given: FootprintAsked, catalogue: Catalogue) -> Report:
    """Return energy, cost, supply and embodied figures of the alloys side by side."""
    cautions = ["The carbon of the metal and of the oven are of different scope: never add them without saying so."]
    saving = _saving(given)
    costs = {alloy.name: _cost(alloy, given, catalogue) for alloy in given.alloys}
    made = {
        (alloy.name, quantity): embodied(alloy.composition, quantity)
        for alloy in given.alloys
        for quantity in ("co2e", "energy")
    }
    sections = [
        _energy(given, saving, costs, catalogue),
        _costs(given, costs),
        *map(_supply, given.alloys),
        _metal(given, made, costs),
    ]
    if stated(given.figures, "grid_factor") is None:
        cautions.append("No factor of the grid is stated and none is assumed: CO2 of the oven is unknown.")
    return Report(
        " beside ".join(alloy.name for alloy in given.alloys),
        _finding(given, saving, costs),
        tuple(sections),
        (),
        defaults_told(given.figures),
        tuple(cautions),
        _figures(given, saving, costs, made),
    )


def _saving(given: FootprintAsked) -> Saving | None:
    peak, usual = stated(given.figures, "peak_c"), stated(given.figures, "usual_peak_c")
    return None if peak is None or usual is None else oven_saving(peak, usual)


def _cost(alloy: Named, given: FootprintAsked, catalogue: Catalogue) -> MetalCost | None:
    try:
        return metal_cost(alloy.composition, given.prices, catalogue)
    except InputError:
        return None


def _finding(given: FootprintAsked, saving: Saving | None, costs: Mapping[str, MetalCost | None]) -> str:
    told = []
    if saving is None:
        told.append("No peak is known: no energy is saved on paper.")
    else:
        low, high = figure(saving.low_percent, 3), figure(saving.high_percent, 3)
        told.append(f"The cooler peak saves {low} to {high} % of the oven's energy.")
    known = {name: cost for name, cost in costs.items() if cost is not None}
    told += [f"{name} costs {small(cost.usd_cm3, 3)} USD/cm3 of metal." for name, cost in known.items()]
    if len(known) == 2:
        one, other = known.values()
        ratio = one.usd_cm3 / other.usd_cm3
        told.append(
            f"By volume that is {figure(ratio, 3)} times the other; by kilogram {figure(one.usd_kg / other.usd_kg, 3)}."
        )
    told += [f"{name}: an element has no price." for name in costs if name not in known]
    return " ".join(told)


def _board_kwh(given: FootprintAsked, peak_c: float | None) -> float | None:
    boards = stated(given.figures, "boards_h")
    return (
        None
        if boards is None or peak_c is None
        else float(energy_per_board_kwh(measured_oven().power_kw(peak_c), boards))
    )


def _energy(
    given: FootprintAsked, saving: Saving | None, costs: Mapping[str, MetalCost | None], catalogue: Catalogue
) -> Section:
    # The stated heats are those of the alloy that is asked about: it stands at both peaks.
    alloy = given.alloys[0]
    cost = costs[alloy.name]
    density = None if cost is None else cost.density_g_cm3
    grid = stated(given.figures, "grid_factor")
    rows: list[Row] = []
    for name in ("peak_c", "usual_peak_c"):
        peak = stated(given.figures, name)
        kwh = _board_kwh(given, peak)
        grams = None if kwh is None or grid is None else float(co2_g(kwh, grid))
        rows.append(
            {
                "at": given.figures[name].field.label.split(",")[0].lower(),
                "degC": figure(peak),
                "oven, kW": figure(None if peak is None else float(measured_oven().power_kw(peak)), 3),
                "energy a board, kWh": NOT_KNOWN if kwh is None else small(kwh, 3),
                "CO2 a board, g": NOT_KNOWN if grams is None else small(grams, 3),
                "into the board, kJ": _kj(board_kj(given.figures, peak)),
                f"into {alloy.name}, kJ": _kj(solder_kj(given.figures, alloy, density, catalogue, peak)),
            }
        )
    notes = [OVEN]
    if saving is not None:
        notes.insert(0, f"Saved: {ends((saving.low_percent, saving.high_percent), '%', 3)}; {saving.note}.")
    return Section(ENERGY, tuple(rows), tuple(notes))


def _kj(heat: float | None) -> str:
    return NOT_KNOWN if heat is None else small(heat, 3)


def _costs(given: FootprintAsked, costs: Mapping[str, MetalCost | None]) -> Section:
    rows, notes = [], [ONLY_METAL]
    volume, joints = stated(given.figures, "joint_mm3"), stated(given.figures, "joints")
    for name, cost in costs.items():
        one = None if cost is None or volume is None else float(joints_usd(cost.usd_cm3, volume))
        board = (
            None
            if cost is None or volume is None or joints is None
            else float(joints_usd(cost.usd_cm3, volume, joints))
        )
        rows.append(
            {
                "alloy": name,
                "USD/kg": NOT_KNOWN if cost is None else small(cost.usd_kg, 3),
                "g/cm3": NOT_KNOWN if cost is None else figure(cost.density_g_cm3, 3),
                "USD/cm3": NOT_KNOWN if cost is None else small(cost.usd_cm3, 3),
                "USD a joint": NOT_KNOWN if one is None else small(one, 3),
                "USD a board": NOT_KNOWN if board is None else small(board, 3),
                "dearest element": "–" if cost is None else cost.by_element[0][0],
            }
        )
    sources = dict.fromkeys(source for cost in costs.values() if cost is not None for source in cost.sources)
    notes.append(f"Prices of {given.prices.dated} ({', '.join(sources) or 'none'}).")
    for alloy in given.alloys:
        missing = [element for element in alloy.composition.elements if element not in given.prices.usd_kg]
        notes += (
            [f"{alloy.name}: {', '.join(missing)} has no price; state one as {missing[0]}=USD/kg."] if missing else []
        )
    return Section(COST, tuple(rows), tuple(notes))


def _supply(alloy: Named) -> Section:
    rows = tuple(
        {
            "element": entry.element,
            "wt%": figure(entry.wt_percent),
            "supply flagged": entry.flagged,
            "critical, US": entry.critical_us,
            "critical, EU": entry.critical_eu,
            "why": entry.reason or "–",
            "source": f"{entry.source} ({entry.grade})",
        }
        for entry in supply_of(alloy.composition)
    )
    return Section(f"{SUPPLY}, {alloy.name}", rows)


def _metal(
    given: FootprintAsked, made: Mapping[tuple[str, str], Embodied], costs: Mapping[str, MetalCost | None]
) -> Section:
    rows, notes = [], ["Primary metal, cradle to gate, 2008 mix; melting and atomising are not in it."]
    for alloy in given.alloys:
        row: Row = {"alloy": alloy.name}
        for quantity in ("co2e", "energy"):
            found, cost = made[alloy.name, quantity], costs[alloy.name]
            row[found.unit] = NOT_KNOWN if found.value is None else figure(found.value, 3)
            volume = found.per_cm3(cost.density_g_cm3) if cost is not None else None
            row[found.unit.replace("/kg", "/cm3")] = NOT_KNOWN if volume is None else small(volume, 3)
            if found.missing:
                known = f"what is known makes {figure(found.low, 3)} {found.unit}"
                notes.append(f"{alloy.name}: no figure for {', '.join(found.missing)}; {known}.")
            row["grade"] = found.grade
        rows.append(row)
    return Section(METAL, tuple(rows), tuple(notes))


def _figures(
    given: FootprintAsked,
    saving: Saving | None,
    costs: Mapping[str, MetalCost | None],
    made: Mapping[tuple[str, str], Embodied],
) -> dict[str, Any]:
    volume, joints = stated(given.figures, "joint_mm3"), stated(given.figures, "joints")
    grid = stated(given.figures, "grid_factor")
    kwh = {name: _board_kwh(given, stated(given.figures, name)) for name in ("peak_c", "usual_peak_c")}
    return {
        "oven_saving_percent": None if saving is None else [saving.low_percent, saving.high_percent],
        "board_kwh": kwh,
        "board_co2_g": {
            name: None if own is None or grid is None else float(co2_g(own, grid)) for name, own in kwh.items()
        },
        "prices_dated": given.prices.dated,
        "alloys": [
            {
                "alloy": alloy.name,
                "usd_kg": cost.usd_kg if cost else None,
                "usd_cm3": cost.usd_cm3 if cost else None,
                "density_g_cm3": cost.density_g_cm3 if cost else None,
                "usd_joint": float(joints_usd(cost.usd_cm3, volume)) if cost and volume is not None else None,
                "usd_board": float(joints_usd(cost.usd_cm3, volume, joints))
                if cost and volume is not None and joints is not None
                else None,
                "embodied_co2e_kg_kg": made[alloy.name, "co2e"].value,
                "embodied_energy_mj_kg": made[alloy.name, "energy"].value,
                "supply": {entry.element: entry.flagged for entry in supply_of(alloy.composition)},
            }
            for alloy in given.alloys
            for cost in (costs[alloy.name],)
        ],
    }
