"""What the calculations on the board come to for one alloy, as figures that criteria may weigh.

Each is None with the reason where something that it needs is not stated, or where no published law covers the alloy.
None of them screens: a proxy or an estimate with a scatter of a factor of three is no hard limit.
"""

import math
from dataclasses import dataclass

from selector.brief import Brief, known
from selector.catalogue import Alloy, Catalogue
from selector.catalogue.evidence import Evidence
from selector.durability.creep import creep_proxy
from selector.durability.environments import DAYS_PER_YEAR, Environment, environment
from selector.durability.fatigue import cycles_to, fatigue_life, slope_of
from selector.durability.strain import leadless_strain
from selector.errors import InputError
from selector.fields import UNKNOWN
from selector.process.energy import measured_oven
from selector.process.footprint import Prices, embodied, joints_usd, listed_prices, metal_cost, replaced
from selector.process.printing import oxide_ppm, powders
from selector.process.reflow import peak_c


@dataclass(frozen=True)
class Figure:
    """A figure with its ends, where it comes from, and why there is none."""

    value: float | None
    low: float | None
    high: float | None
    source: str = "none"
    grade: str = "none"
    why: str = ""


def missing(why: str) -> Figure:
    """Return that there is no figure, and why."""
    return Figure(None, None, None, why=why)


def powder_oxide(brief: Brief, alloy: Alloy) -> Figure:
    """Return the oxide of the brief's powder, ppm by mass; the ends are those of the powder's range of diameters.

    One skin is taken for all alloys: that bismuth and indium oxidise faster is a caution and not in the figure.
    """
    kind, density = known(brief.process.powder_type), alloy.of("density_g_cm3").value
    if kind is None or density is None:
        return missing("the powder type or the density is not known")
    powder = powders()[int(kind)]
    low, high = (float(oxide_ppm(um, density)) for um in (powder.high_um, powder.low_um))
    middle = float(oxide_ppm((powder.low_um + powder.high_um) / 2, density))
    return Figure(middle, low, high, f"{powder.source}; memory", "low")


def creep_decades(brief: Brief, onset: Evidence) -> Figure:
    """Return by how many decades the proxy of creep lies below its rate at the remelt onset, at the service maximum."""
    service_c = known(brief.service.maximum_c)
    if service_c is None or onset.interval is None:
        return missing("service maximum or remelt onset is not known")
    try:
        low, high = (-(creep_proxy(service_c, end).value or 0.0) for end in onset.interval)
        value = None if onset.value is None else -(creep_proxy(service_c, onset.value).value or 0.0)
    except InputError as error:
        return missing(error.faults[0].remedy or error.faults[0].problem)
    return Figure(value, low, high, f"{onset.source}; self-diffusion proxy", "low")


def environment_of(brief: Brief) -> Environment | None:
    """Return the environment that the brief names, None where it names none.

    Raises
    ------
    InputError
        One that the table does not hold.
    """
    return None if brief.life.environment == UNKNOWN else environment(brief.life.environment)


@dataclass(frozen=True)
class Duty:
    """What the farthest joint sees: cyclic strain, mean and coldest joint in degC, dwell in minutes, cycles a year."""

    strain: float
    mean_c: float
    cold_c: float
    dwell_min: float
    cycles_per_year: float


def duty_of(brief: Brief) -> Duty | None:
    """Return the duty of the farthest joint; None where the brief leaves something of it out.

    The brief's own service comes before the environment's figures.

    Raises
    ------
    InputError
        An environment that the table does not hold; a geometry that cannot be.
    """
    life, found = brief.life, environment_of(brief)
    swing_k, hot_c = known(brief.service.cyclic_range_k), known(brief.service.maximum_c)
    dwell_min, per_day = known(life.dwell_min), known(brief.service.cycles_per_day)
    per_year = None if per_day is None else per_day * DAYS_PER_YEAR
    if found is not None:
        swing_k = found.swing_k if swing_k is None else swing_k
        hot_c = found.high_c if hot_c is None else hot_c
        dwell_min = found.dwell_min if dwell_min is None else dwell_min
        per_year = found.cycles_per_year if per_year is None else per_year
    distance, height_um = known(life.distance_mm), known(life.height_um)
    board, part = known(life.board_ppm_k), known(life.part_ppm_k)
    stated = (swing_k, hot_c, dwell_min, per_year, distance, height_um, board, part)
    if any(value is None for value in stated):
        return None
    swing, hot, dwell, cycles, far, high, ours, theirs = (float(value or 0.0) for value in stated)
    strain = leadless_strain(far, high / 1000, ours, theirs, swing)
    return Duty(strain, hot - swing / 2, hot - swing, dwell, cycles)


def fatigue_decades(brief: Brief, alloy: Alloy) -> Figure:
    """Return the cycles to the failed share over the cycles of the years asked, as decades; 0 just lasts.

    Median life by every published set that holds for the alloy; the ends are the scatter and the sets.
    """
    years, share = known(brief.life.years), known(brief.life.failed_share)
    if years is None or share is None or years == 0 or not 0 < share < 1:
        return missing("years or failed share are not stated")
    try:
        duty = duty_of(brief)
        if duty is None:
            return missing("the brief does not state the whole duty of the joint")
        if duty.cycles_per_year == 0:
            return missing("no cycles")
        height_um = known(brief.life.height_um)
        sets = fatigue_life(
            alloy.composition, duty.strain, duty.mean_c, duty.dwell_min, cold_end_c=duty.cold_c, height_um=height_um
        )
        held = [entry for entry in sets if entry.value is not None]
        if not held:
            return missing(sets[0].why)
        wanted = years * duty.cycles_per_year
        slope = slope_of("leadless")

        def decades(median: float) -> float:
            return math.log10(cycles_to(share, median, slope) / wanted)

        ends = [decades(end) for entry in held for end in (entry.low or 0.0, entry.high or 0.0)]
        middle = decades(held[0].value or 0.0) if len(held) == 1 else None
    except InputError as error:
        fault = error.faults[0]
        return missing(f"{fault.where} {fault.problem}")
    source = "; ".join(dict.fromkeys(entry.source for entry in held))
    return Figure(middle, min(ends), max(ends), source, "low")


def oven_power_percent(brief: Brief, alloy: Alloy) -> Figure:
    """Return the oven's power at this alloy's peak as a share of that at the usual peak, %, by the affine model."""
    usual_c, peak = known(brief.footprint.usual_peak_c), peak_c(brief, alloy.of("liquidus_c"))
    if usual_c is None or peak is None:
        return missing("the usual peak, or this alloy's, is not known")
    oven = measured_oven()
    try:
        usual = float(oven.power_kw(usual_c))
        value, low, high = (None if end is None else 100 * float(oven.power_kw(end)) / usual for end in peak)
    except InputError as error:
        return missing(f"{error.faults[0].where} {error.faults[0].problem}")
    return Figure(value, low, high, oven.source, "low")


def metal_co2(alloy: Alloy) -> Figure:
    """Return the carbon embodied in the metal, kg CO2e a cm3."""
    found, density = embodied(alloy.composition, "co2e"), alloy.of("density_g_cm3")
    if found.value is None or found.high is None or density.interval is None or density.value is None:
        return missing(f"no figure for {', '.join(found.missing)}" if found.missing else "the density is not known")
    low, high = found.low * density.interval[0] / 1000, found.high * density.interval[1] / 1000
    return Figure(found.value * density.value / 1000, low, high, "; ".join(found.sources), found.grade)


def prices_of(brief: Brief, catalogue: Catalogue) -> Prices:
    """Return the catalogue's newest price list with the brief's own prices in it."""
    listed, own = listed_prices(catalogue), brief.footprint.usd_kg
    dated = brief.footprint.prices_dated
    return replaced(listed, own, "the brief, not dated" if dated == UNKNOWN else dated) if own else listed


def board_usd(brief: Brief, alloy: Alloy, catalogue: Catalogue) -> Figure:
    """Return the value of the metal in all joints of a board, USD; the ends are those of the density."""
    joints, volume_mm3 = known(brief.footprint.joints), known(brief.footprint.joint_volume_mm3)
    density = alloy.of("density_g_cm3")
    if joints is None or volume_mm3 is None or density.value is None or density.interval is None:
        return missing("the joints or their volume are not stated")
    prices = prices_of(brief, catalogue)
    try:
        value, low, high = (
            float(joints_usd(metal_cost(alloy.composition, prices, catalogue, end).usd_cm3, volume_mm3, joints))
            for end in (density.value, *density.interval)
        )
    except InputError as error:
        return missing(f"{error.faults[0].where} {error.faults[0].problem}")
    source = "; ".join(dict.fromkeys(prices.sources[element] for element in alloy.composition.elements))
    return Figure(value, low, high, f"{source} ({prices.dated})", "low" if brief.footprint.prices else "medium")
