"""Heat that goes into a board and its solder on the way to a peak; what of it is not stated stays unknown."""

from selector.asked import Named
from selector.catalogue import Catalogue
from selector.constants import constant
from selector.enquiry.fields import Field, Figures, stated
from selector.enquiry.window_case import liquidus_of
from selector.process.energy import board_heat_j, solder_heat_j

HEAT_FIELDS = (
    Field("board_mass_g", "Mass of the board, g"),
    Field("solid_j_gk", "Heat capacity of the solid solder, J/(g K)"),
    Field("liquid_j_gk", "Heat capacity of the liquid solder, J/(g K)"),
    Field("latent_j_g", "Heat of melting of the solder, J/g"),
)
CAPACITIES = tuple(entry.name for entry in HEAT_FIELDS[1:])


def board_kj(figures: Figures, peak_c: float | None) -> float | None:
    """Return the heat into the board from room temperature to a peak, kJ; laminate's heat capacity is taken."""
    mass = stated(figures, "board_mass_g")
    if mass is None or peak_c is None:
        return None
    return float(board_heat_j(mass, peak_c - constant("room").value)) / 1000


def solder_kj(
    figures: Figures, alloy: Named, density_g_cm3: float | None, catalogue: Catalogue, peak_c: float | None
) -> float | None:
    """Return the heat that brings the solder of a board to a peak and melts it, kJ, by its highest liquidus.

    None where a figure is not known, and where the peak does not melt it.
    """
    volume, joints = stated(figures, "joint_mm3"), stated(figures, "joints")
    heats = {name: value for name in CAPACITIES if (value := stated(figures, name)) is not None}
    known = None not in (volume, joints, density_g_cm3, peak_c) and len(heats) == len(CAPACITIES)
    melts = liquidus_of(alloy, catalogue)[0] if known else None
    if volume is None or joints is None or density_g_cm3 is None or peak_c is None or melts is None:
        return None
    if peak_c < melts[1]:
        return None
    grams = volume * joints * density_g_cm3 / 1000
    return float(solder_heat_j(grams, melts_c=melts[1], peak_c=peak_c, **heats)) / 1000
