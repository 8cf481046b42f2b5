"""Parts that hang upside down in the second reflow, held by molten solder alone: rules that contradict each other.

By area: part mass over wetted area under 30 g/in2 (4.65 g/cm2; another says 5 g/cm2). By edge: 4 mg a millimetre of
joint edge (pull-off at 9 to 13). The first grows with the area, the second with its edge: for a 12.5 mm square pad
they differ 36-fold. Neither is settled for large pads, so both are told, and a pass needs both.

Validity: quiet oven, wetted area and not the outline of the body. Solder that stays solid in the second reflow holds
whatever the mass. Source: common practice; a machine maker's note.
"""

from dataclasses import dataclass

from selector.constants import constant
from selector.figures import figure
from selector.ranges import Numbers, refuse_outside
from selector.units import g_cm2
from selector.verdict import Measured, Outcome, Verdict

RULE = "part_upside_down"
SAFETY = 2.0


@dataclass(frozen=True)
class Held:
    """What molten joints hold by each rule, g; `by_edge_g` None where the edge is not stated."""

    by_area_g: float
    by_edge_g: float | None


def needed_area_mm2(part_mass_g: Numbers, safety_factor: Numbers = 1.0) -> Numbers:
    """Return the wetted area that a hanging part needs by the rule of 30 g/in2, mm2.

    Parameters
    ----------
    part_mass_g : float or array
    safety_factor : float or array
        2 is a usual margin.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the part", part_mass_g=part_mass_g, safety_factor=safety_factor)
    return part_mass_g * safety_factor / g_cm2(constant("part held by area").value) * 100


def held(wetted_area_mm2: float, joint_edge_mm: float | None = None) -> Held:
    """Return what molten joints hold by each of the rules.

    Parameters
    ----------
    wetted_area_mm2 : float
        Of all joints together.
    joint_edge_mm : float, optional
        The length of all their edges.

    Raises
    ------
    InputError
        Outside the range.
    """
    given = {} if joint_edge_mm is None else {"joint_edge_mm": joint_edge_mm}
    refuse_outside("the part", wetted_area_mm2=wetted_area_mm2, **given)
    by_edge = None if joint_edge_mm is None else joint_edge_mm * constant("part held by edge").value / 1000
    return Held(wetted_area_mm2 / 100 * g_cm2(constant("part held by area").value), by_edge)


def part_upside_down(
    part_mass_g: float, wetted_area_mm2: float | None, joint_edge_mm: float | None = None, stays_solid: bool = False
) -> Verdict:
    """Return whether a part stays on while the board goes through the oven upside down.

    Parameters
    ----------
    part_mass_g : float
    wetted_area_mm2 : float or None
        Of all joints; None leaves it open, with the area that is needed. It is never guessed from the body.
    joint_edge_mm : float, optional
    stays_solid : bool
        Whether the first joints keep solid at the second peak.

    Raises
    ------
    InputError
        Outside the range.
    """
    source = "practice; maker-note-part-hanging"
    need = float(needed_area_mm2(part_mass_g))
    measured = Measured.exactly(part_mass_g, "g")
    if stays_solid:
        reason = "the first joints stay solid at the second peak: the mass does not matter"
        return Verdict(RULE, Outcome.PASS, reason, source, measured)
    asked = f"holds if the wetted area is at least {figure(need, 3)} mm2, {figure(need * SAFETY, 3)} with safety 2"
    if wetted_area_mm2 is None:
        reason = f"{figure(part_mass_g)} g hang and the wetted area is not known"
        return Verdict(RULE, Outcome.UNKNOWN, reason, source, measured, threshold=asked)
    found = held(wetted_area_mm2, joint_edge_mm)
    margin = round(found.by_area_g - part_mass_g, 9)
    told = f"{figure(part_mass_g)} g hang; {figure(found.by_area_g)} g are held by the rule by area"
    if margin < 0:
        return Verdict(RULE, Outcome.FAIL, told, source, measured, found.by_area_g, margin)
    if found.by_edge_g is None or found.by_edge_g < part_mass_g:
        edge = "the rule by edge is not asked" if found.by_edge_g is None else f"{figure(found.by_edge_g)} g by edge"
        threshold = "holds if a trial on the line shows it, or if glue or a cooler second alloy holds the part"
        return Verdict(RULE, Outcome.UNKNOWN, f"{told}; {edge}", source, measured, found.by_area_g, margin, threshold)
    told += f", {figure(found.by_edge_g)} g by edge"
    return Verdict(RULE, Outcome.PASS, told, source, measured, found.by_area_g, margin)
