"""Paste through a stencil: powder from aperture and pitch, area and aspect ratio, transfer, oxide by powder size.

| rule | equation |
|---|---|
| five balls | the smallest side of an aperture holds at least 5 balls of the upper end of the main range |
| area ratio | opening over wall, `A / (P t)`; at least 0.66, 0.5 with fine foil and powder |
| aspect ratio | width over foil, `W / t`; at least 1.5 |
| transfer | planning curve over the area ratio: 0.05 at 0.30, 0.55 at 0.50, 0.85 at 0.66, 0.95 from 0.90 (policy) |
| surface | `6 / (rho d)`; the oxide of a skin t is `6 t rho_ox / (d rho)` by mass |

Validity: planning before a first print, round-cornered apertures in metal foil. Both five balls and area ratio must
hold. Sources: J-STD-005 and its powder table, `data/powders.csv`; common practice; the curve is policy.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np

from selector.composition import Composition, atomic_masses
from selector.constants import board_table, constant
from selector.figures import figure
from selector.policy import policy
from selector.ranges import Numbers, refuse_outside, wrong_if
from selector.verdict import Measured, Outcome, Verdict

POWDER_RULE, PRINT_RULE = "powder_type", "stencil"
OXYGEN_G_MOL = 15.999  # IUPAC 2021 abridged; the table of elements holds metals only


@dataclass(frozen=True)
class Powder:
    """A powder type; the main range holds 80 % of it, lengths in um."""

    type: int
    low_um: float
    high_um: float
    tenth_above_um: float
    most_um: float
    least_pitch_mm: float
    smallest_part: str
    source: str
    origin: str
    grade: str


@cache
def powders() -> Mapping[int, Powder]:
    """Return the powder types by number, coarsest first."""
    found = {}
    for row in board_table("powders"):
        number = int(row["type"])
        found[number] = Powder(
            number,
            float(row["low_um"]),
            float(row["high_um"]),
            float(row["tenth_above_um"]),
            float(row["most_um"]),
            float(row["least_pitch_mm"]),
            row["smallest_part"],
            row["source"],
            row["origin"],
            row["grade"],
        )
    return MappingProxyType(found)


def least_aperture_um(largest_diameter_um: Numbers, balls: float | None = None) -> Numbers:
    """Return the smallest side of an aperture for a powder, um: balls times its upper end.

    Parameters
    ----------
    largest_diameter_um : float or array, um
        Upper end of the main range.
    balls : float, optional
        5 where left out; some take 8 for round apertures.

    Raises
    ------
    InputError
        Outside the range.
    """
    count = policy().printing.balls if balls is None else balls
    refuse_outside("the powder", largest_diameter_um=largest_diameter_um, balls_ratio=count)
    return count * largest_diameter_um


def powder_for_aperture(smallest_aperture_um: float, balls: float | None = None) -> Powder | None:
    """Return the coarsest powder that an aperture's smallest side takes; None where none in the table is fine enough.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the aperture", smallest_aperture_um=smallest_aperture_um)
    fitting = [entry for entry in powders().values() if least_aperture_um(entry.high_um, balls) <= smallest_aperture_um]
    return min(fitting, key=lambda entry: entry.type, default=None)


def powder_for_pitch(pitch_mm: float) -> Powder | None:
    """Return the coarsest powder that commonly serves a pitch (common practice); None below every pitch of the table.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the pitch", pitch_mm=pitch_mm)
    fitting = [entry for entry in powders().values() if entry.least_pitch_mm <= pitch_mm]
    return min(fitting, key=lambda entry: entry.type, default=None)


def powder_needed(smallest_aperture_um: float, pitch_mm: float | None = None) -> Powder | None:
    """Return the coarsest powder that aperture and pitch both take, None where none is fine enough.

    Raises
    ------
    InputError
        Outside the range, or an aperture that is not smaller than the pitch.
    """
    if pitch_mm is not None:
        over = wrong_if(
            smallest_aperture_um >= 1000 * pitch_mm,
            "smallest_aperture_um",
            "is not smaller than the pitch",
            smallest_aperture_um,
            f"below {1000 * pitch_mm:g} um",
        )
        refuse_outside("the print", over, smallest_aperture_um=smallest_aperture_um, pitch_mm=pitch_mm)
    found = [powder_for_aperture(smallest_aperture_um), *([] if pitch_mm is None else [powder_for_pitch(pitch_mm)])]
    return None if None in found else max((entry for entry in found if entry), key=lambda entry: entry.type)


def powder_type(
    type_number: int, alloy: Composition, smallest_aperture_um: float, pitch_mm: float | None = None
) -> Verdict:
    """Return whether a powder type prints, and whether it is finer than it need be.

    A finer powder than needed carries more oxide; bismuth- and indium-rich powders oxidise faster, and there it is a
    caution.

    Raises
    ------
    InputError
        A type that the table does not hold; figures as `powder_needed`.
    """
    unknown = wrong_if(type_number not in powders(), "type_number", "is no powder type", type_number, "1 to 8")
    refuse_outside("the powder", unknown)
    needed, own, rules = powder_needed(smallest_aperture_um, pitch_mm), powders()[type_number], policy().powder
    source = f"{own.source}; practice"
    if needed is None:
        reason = "no powder in the table is fine enough for this print"
        return Verdict(POWDER_RULE, Outcome.FAIL, reason, source, limit=None)
    measured = Measured.exactly(type_number, "type")
    if own.type < needed.type:
        reason = f"type {own.type} is too coarse: this print takes type {needed.type} or finer"
        return Verdict(POWDER_RULE, Outcome.FAIL, reason, source, measured, needed.type, own.type - needed.type)
    cautions = []
    reactive = float(alloy.wt("Bi") + alloy.wt("In"))
    if own.type > needed.type and reactive > rules.reactive_from_wt:
        more = surface_ratio((own.low_um + own.high_um) / 2, (needed.low_um + needed.high_um) / 2)
        cautions.append(
            f"type {own.type} is finer than type {needed.type}, which prints: {figure(float(more), 2)} times the oxide,"
            f" and {figure(reactive, 3)} wt% bismuth and indium oxidise fast"
        )
    elif own.type > needed.type:
        cautions.append(f"type {own.type} is finer than type {needed.type}, which prints: more flux, shorter life")
    reason = f"type {own.type} prints; type {needed.type} is the coarsest that does"
    return Verdict(
        POWDER_RULE,
        Outcome.PASS,
        reason,
        source,
        measured,
        needed.type,
        own.type - needed.type,
        cautions=tuple(cautions),
    )


def area_ratio(opening_area_mm2: Numbers, perimeter_length_mm: Numbers, foil_mm: Numbers) -> Numbers:
    """Return the area ratio of an aperture of any shape, `A / (P t)`.

    Raises
    ------
    InputError
        Outside the range; more area than its perimeter can hold.
    """
    most = np.asarray(perimeter_length_mm) ** 2 / (4 * np.pi)
    impossible = wrong_if(
        np.asarray(opening_area_mm2) > most * (1 + 1e-9),
        "opening_area_mm2",
        "is more than this perimeter encloses",
        opening_area_mm2,
        "at most P^2 / (4 pi)",
        "check both units",
    )
    refuse_outside(
        "the aperture",
        impossible,
        opening_area_mm2=opening_area_mm2,
        perimeter_length_mm=perimeter_length_mm,
        foil_mm=foil_mm,
    )
    return opening_area_mm2 / (perimeter_length_mm * foil_mm)


def rectangle_area_ratio(length_aperture_mm: Numbers, width_aperture_mm: Numbers, foil_mm: Numbers) -> Numbers:
    """Return the area ratio of a rectangle, `L W / (2 t (L + W))`; faults as of `area_ratio`."""
    refuse_outside(
        "the aperture", length_aperture_mm=length_aperture_mm, width_aperture_mm=width_aperture_mm, foil_mm=foil_mm
    )
    return length_aperture_mm * width_aperture_mm / (2 * foil_mm * (length_aperture_mm + width_aperture_mm))


def round_area_ratio(aperture_mm: Numbers, foil_mm: Numbers) -> Numbers:
    """Return the area ratio of a round or square aperture, `d / (4 t)`; faults as of `area_ratio`."""
    refuse_outside("the aperture", aperture_mm=aperture_mm, foil_mm=foil_mm)
    return aperture_mm / (4 * foil_mm)


def aspect_ratio(width_aperture_mm: Numbers, foil_mm: Numbers) -> Numbers:
    """Return the aspect ratio of an aperture, `W / t`; faults as of `area_ratio`."""
    refuse_outside("the aperture", width_aperture_mm=width_aperture_mm, foil_mm=foil_mm)
    return width_aperture_mm / foil_mm


def least_side_mm(foil_mm: Numbers, area_ratio_wanted: Numbers | None = None) -> Numbers:
    """Return the smallest square or round aperture for an area ratio, mm: `4 t AR`; 0.66 where left out."""
    wanted = policy().printing.area_ratio if area_ratio_wanted is None else area_ratio_wanted
    refuse_outside("the aperture", foil_mm=foil_mm, wanted_ratio=wanted)
    return 4 * foil_mm * wanted


def transfer_estimate(area_ratio_value: Numbers) -> Numbers:
    """Return the share of an aperture that reaches the pad, by the planning curve: policy, not a measurement.

    Straight between its four points and level beyond 0.90.

    Raises
    ------
    InputError
        An area ratio under 0.30, below which the curve says nothing.
    """
    rules = policy().printing
    least = rules.transfer_area_ratio[0]
    small = wrong_if(
        np.asarray(area_ratio_value) < least,
        "area_ratio",
        "is below the planning curve",
        area_ratio_value,
        f"at least {least:g}",
        "take a larger aperture or a thinner foil",
    )
    refuse_outside("the print", small, area_ratio=area_ratio_value)
    found = np.interp(area_ratio_value, rules.transfer_area_ratio, rules.transfer_share)
    return float(found) if np.ndim(found) == 0 else found


def stencil(width_mm: float, length_mm: float, foil_mm: float, fine: bool = False) -> Verdict:
    """Return whether an aperture releases its paste by area and aspect ratio.

    Parameters
    ----------
    width_mm, length_mm : float
        The width is the narrower side.
    foil_mm : float
    fine : bool
        Whether the foil is coated or electroformed and the powder of type 5 or finer.

    Raises
    ------
    InputError
        Outside the range; a width over the length.
    """
    rules = policy().printing
    turned = wrong_if(width_mm > length_mm, "width_mm", "is more than the length", width_mm, "the narrower side")
    refuse_outside("the aperture", turned, width_aperture_mm=width_mm, length_aperture_mm=length_mm, foil_mm=foil_mm)
    ratio = float(rectangle_area_ratio(length_mm, width_mm, foil_mm))
    aspect = float(aspect_ratio(width_mm, foil_mm))
    least = rules.area_ratio_fine_foil if fine else rules.area_ratio
    good = ratio >= least - 1e-9 and aspect >= rules.aspect_ratio - 1e-9
    told = (
        f"area ratio {figure(ratio, 3)} (at least {least:g}), aspect ratio {figure(aspect, 3)} ({rules.aspect_ratio:g})"
    )
    measured = Measured.exactly(ratio, "1")
    outcome = Outcome.PASS if good else Outcome.FAIL
    return Verdict(PRINT_RULE, outcome, told, "trade-printing; practice", measured, least, round(ratio - least, 6))


def surface_m2_g(powder_diameter_um: Numbers, metal_g_cm3: Numbers) -> Numbers:
    """Return the surface of a powder, m2/g: `6 / (rho d)`.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the powder", powder_diameter_um=powder_diameter_um, metal_g_cm3=metal_g_cm3)
    return 6 / (metal_g_cm3 * powder_diameter_um)


def surface_ratio(fine_diameter_um: Numbers, coarse_diameter_um: Numbers) -> Numbers:
    """Return how many times the surface, and so the oxide, of the coarser powder the finer one has."""
    refuse_outside("the powder", fine_diameter_um=fine_diameter_um, coarse_diameter_um=coarse_diameter_um)
    return coarse_diameter_um / fine_diameter_um


def oxide_ppm(powder_diameter_um: Numbers, metal_g_cm3: Numbers, skin_nm: Numbers | None = None) -> Numbers:
    """Return the oxide of a powder by mass, ppm: `6 t rho_ox / (d rho)`.

    Parameters
    ----------
    powder_diameter_um : float or array, um
    metal_g_cm3 : float or array, g/cm3
    skin_nm : float or array, nm, optional
        Thickness of the oxide; 4 nm from memory where left out. Tin oxide by its density.

    Raises
    ------
    InputError
        Outside the range; a skin that is not thin against the ball.
    """
    skin = constant("oxide skin").value if skin_nm is None else skin_nm
    thick = wrong_if(
        np.asarray(skin) > 50 * np.asarray(powder_diameter_um),
        "skin_nm",
        "is not thin against the powder",
        skin,
        "at most a twentieth of the diameter",
    )
    refuse_outside("the powder", thick, powder_diameter_um=powder_diameter_um, metal_g_cm3=metal_g_cm3, skin_nm=skin)
    return 6 * skin * 1e-3 * constant("tin oxide density").value / (powder_diameter_um * metal_g_cm3) * 1e6


def oxygen_ppm(tin_oxide_ppm: Numbers) -> Numbers:
    """Return the oxygen that tin oxide (SnO2) brings, ppm, by its stoichiometry."""
    refuse_outside("the powder", oxide_wt=np.asarray(tin_oxide_ppm) / 1e4)
    oxygen = 2 * OXYGEN_G_MOL
    return tin_oxide_ppm * oxygen / (oxygen + float(atomic_masses()["Sn"]))
