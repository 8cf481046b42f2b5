"""Heat into the product, power of the oven, CO2 by the user's grid.

Heat: `Q = m c (Tp - T0) + m_s [cs (Tm - T0) + L + cl (Tp - Tm)]`, for parts about a twentieth of what the oven draws.
Oven: affine, `P = P0 + s (T - T_room)`, fitted to one measured oven (11.9 kW at 240 degC, 10.6 at 205, loaded); its
range runs from the measured saving to the proportional rule, which leaves out the fixed share and saves too much.
CO2 is energy by the factor of the user's grid, 0.05 to 0.8 kg/kWh; no factor is assumed.

Validity: one oven's figures carry over as shares, not as kilowatts. Nitrogen, idle time and a second pass usually
outweigh the peak. Claims of 35 to 40 % are quoted, not used: they ask for more than the whole measured oven draws.
"""

from dataclasses import dataclass

import numpy as np

from selector.constants import constant
from selector.ranges import Numbers, refuse_outside, wrong_if

HOURS_PER_YEAR = 8760


@dataclass(frozen=True)
class Oven:
    """An oven's power: a fixed share and a slope over room temperature.

    Parameters
    ----------
    fixed_kw, slope_kw_k, room_c : float
    source, note : str
    """

    fixed_kw: float
    slope_kw_k: float
    room_c: float
    source: str
    note: str

    def power_kw(self, peak_c: Numbers) -> Numbers:
        """Return the power at a peak, kW.

        Raises
        ------
        InputError
            A peak outside the range, or below room temperature.
        """
        cold = wrong_if(np.asarray(peak_c) < self.room_c, "peak_c", "is below room temperature", peak_c, "above it")
        refuse_outside("the oven", cold, peak_c=peak_c)
        return self.fixed_kw + self.slope_kw_k * (peak_c - self.room_c)


@dataclass(frozen=True)
class Saving:
    """What a cooler peak saves of an oven's energy, %, with the rules that its ends come from."""

    percent: float
    low_percent: float
    high_percent: float
    note: str


def fitted_oven(
    hot_power_kw: float,
    cool_power_kw: float,
    hot_c: float,
    cool_c: float,
    room_c: float | None = None,
    source: str = "the user",
) -> Oven:
    """Return the affine oven through two measured points.

    Parameters
    ----------
    hot_power_kw, cool_power_kw : float
    hot_c, cool_c : float
        Peaks of the two.
    room_c : float, optional
        25 where left out.
    source : str

    Raises
    ------
    InputError
        Outside the range; points out of order; a fit that draws no power at room temperature.
    """
    room = constant("room").value if room_c is None else room_c
    order = wrong_if(not room < cool_c < hot_c, "hot_c", "is out of order", hot_c, "room below cool below hot")
    power = wrong_if(hot_power_kw < cool_power_kw, "hot_power_kw", "is less than at the cooler peak", hot_power_kw,
                     "at least cool_power_kw")  # fmt: skip
    refuse_outside(
        "the oven",
        order,
        power,
        hot_power_kw=hot_power_kw,
        cool_power_kw=cool_power_kw,
        hot_c=hot_c,
        cool_c=cool_c,
        room_c=room,
    )
    slope = (hot_power_kw - cool_power_kw) / (hot_c - cool_c)
    fixed = hot_power_kw - slope * (hot_c - room)
    refuse_outside(
        "the oven",
        wrong_if(fixed < 0, "cool_power_kw", "leaves a negative fixed share", cool_power_kw, "a fixed share above 0"),
    )
    return Oven(fixed, slope, room, source, "straight line through two measured points")


def measured_oven() -> Oven:
    """Return the affine oven of the published measurement: the default, for shares only."""
    names = ("oven power hot", "oven power cool", "oven hot", "oven cool")
    hot_kw, cool_kw, hot_c, cool_c = (constant(name).value for name in names)
    return fitted_oven(hot_kw, cool_kw, hot_c, cool_c, source=constant("oven power hot").source)


def saving_percent(hot_power_kw: Numbers, cool_power_kw: Numbers) -> Numbers:
    """Return what one power saves against another, %.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the oven", hot_power_kw=hot_power_kw, cool_power_kw=cool_power_kw)
    return 100 * (1 - cool_power_kw / hot_power_kw)


def proportional_ratio(hot_c: Numbers, cool_c: Numbers, room_c: Numbers | None = None) -> Numbers:
    """Return the ratio of powers by the proportional rule, `(T1 - T_room) / (T2 - T_room)`: no fixed share, too kind.

    Raises
    ------
    InputError
        Outside the range; a peak that is not above the room.
    """
    room = constant("room").value if room_c is None else room_c
    cold = wrong_if(np.asarray(cool_c) <= np.asarray(room), "cool_c", "is not above room temperature", cool_c, "above")
    refuse_outside("the oven", cold, hot_c=hot_c, cool_c=cool_c, room_c=room)
    return (hot_c - room) / (cool_c - room)


def oven_saving(peak_c: float, usual_peak_c: float, oven: Oven | None = None) -> Saving:
    """Return what a peak saves of the oven's energy against the usual one, with its range.

    The value is the affine model's, which is also the low end; the high end is the proportional rule's.

    Parameters
    ----------
    peak_c, usual_peak_c : float
    oven : Oven, optional
        The published measurement where left out.

    Raises
    ------
    InputError
        Outside the range; a peak above the usual one.
    """
    above = wrong_if(
        peak_c > usual_peak_c, "peak_c", "is above the usual peak", peak_c, f"at most {usual_peak_c:g} degC"
    )
    refuse_outside("the oven", above, peak_c=peak_c, usual_peak_c=usual_peak_c)
    own = measured_oven() if oven is None else oven
    value = float(saving_percent(own.power_kw(usual_peak_c), own.power_kw(peak_c)))
    most = 100 * (1 - 1 / float(proportional_ratio(usual_peak_c, peak_c, own.room_c)))
    note = "affine model of one measured oven; the high end is the proportional rule, which leaves out the fixed share"
    return Saving(value, value, most, note)


def energy_per_board_kwh(oven_power_kw: Numbers, boards_h: Numbers) -> Numbers:
    """Return the oven's energy a board, kWh: power over throughput.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the oven", oven_power_kw=oven_power_kw, boards_h=boards_h)
    return oven_power_kw / boards_h


def co2_g(energy_kwh: Numbers, grid_kg_kwh: Numbers) -> Numbers:
    """Return the CO2 of an energy, g, by the factor of the user's grid.

    Parameters
    ----------
    energy_kwh : float or array
    grid_kg_kwh : float or array, kg/kWh
        0.05 to 0.8 by country; there is no default.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the grid", energy_kwh=energy_kwh, grid_kg_kwh=grid_kg_kwh)
    return 1000 * energy_kwh * grid_kg_kwh


def steady_power_kw(co2_t_year: Numbers, grid_kg_kwh: Numbers) -> Numbers:
    """Return the steady power behind a claimed saving of CO2, kW: what a claim asks of an oven.

    Raises
    ------
    InputError
        Outside the range; a grid without CO2.
    """
    none = wrong_if(np.asarray(grid_kg_kwh) == 0, "grid_kg_kwh", "is 0", grid_kg_kwh, "above 0 kg/kWh")
    refuse_outside("the claim", none, co2_t_year=co2_t_year, grid_kg_kwh=grid_kg_kwh)
    return co2_t_year * 1000 / grid_kg_kwh / HOURS_PER_YEAR


def board_heat_j(board_mass_g: Numbers, swing_k: Numbers, board_j_gk: Numbers | None = None) -> Numbers:
    """Return the heat into a board, J: `m c dT`; c is 1.0 J/(g K) where left out (0.94 to 1.06, laminate).

    Raises
    ------
    InputError
        Outside the range.
    """
    capacity = constant("laminate heat capacity").value if board_j_gk is None else board_j_gk
    refuse_outside("the board", board_mass_g=board_mass_g, swing_k=swing_k, board_j_gk=capacity)
    return board_mass_g * capacity * swing_k


def solder_heat_j(
    solder_mass_g: Numbers,
    solid_j_gk: Numbers,
    liquid_j_gk: Numbers,
    latent_j_g: Numbers,
    melts_c: Numbers,
    peak_c: Numbers,
    start_c: Numbers | None = None,
) -> Numbers:
    """Return the heat that melts solder, J: `m [cs (Tm - T0) + L + cl (Tp - Tm)]`.

    Parameters
    ----------
    solder_mass_g : float or array, g
    solid_j_gk, liquid_j_gk : float or array, J/(g K)
    latent_j_g : float or array, J/g
    melts_c, peak_c, start_c : float or array, degC
        Start 25 where left out.

    Raises
    ------
    InputError
        Outside the range; a peak that does not melt the solder.
    """
    start = constant("room").value if start_c is None else start_c
    cold = wrong_if(np.asarray(peak_c) < np.asarray(melts_c), "peak_c", "does not melt the solder", peak_c, "melts_c")
    refuse_outside(
        "the solder",
        cold,
        solder_mass_g=solder_mass_g,
        solid_j_gk=solid_j_gk,
        liquid_j_gk=liquid_j_gk,
        latent_j_g=latent_j_g,
        melts_c=melts_c,
        peak_c=peak_c,
        start_c=start,
    )
    return solder_mass_g * (solid_j_gk * (melts_c - start) + latent_j_g + liquid_j_gk * (peak_c - melts_c))
