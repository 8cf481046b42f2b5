"""Volumes, masses and height of a joint, from ball, aperture, foil, transfer and the metal content of the paste.

Volumes in mm3, masses in mg, densities in g/cm3, so that mm3 * g/cm3 is mg. All functions take numbers or arrays.
Validity: metal and flux keep their volumes when mixed (within 0.4 % for the paste densities that were checked); the
deposit is the aperture times its transfer; a joint is a body of revolution between two equal, wetted, round pads,
without the bulge that gravity or a heavy part gives. Sources: geometry; J-STD-005 for the metal content by mass.
"""

import numpy as np

from selector.constants import constant
from selector.errors import Fault
from selector.ranges import Numbers, refuse_outside, wrong_if

USUAL_METAL_WT = 88.5  # of paste: common practice; only where it is not stated, and then said


def ball_volume_mm3(ball_mm: Numbers) -> Numbers:
    """Return the volume of a ball, `pi/6 d^3`.

    Parameters
    ----------
    ball_mm : float or array, mm
        Diameter before attachment.

    Raises
    ------
    InputError
        Outside 0.01 to 3 mm.
    """
    refuse_outside("the ball", ball_mm=ball_mm)
    return np.pi / 6 * ball_mm**3


def rectangle_volume_mm3(
    length_aperture_mm: Numbers, width_aperture_mm: Numbers, foil_mm: Numbers, pitch_mm: Numbers | None = None
) -> Numbers:
    """Return the volume of a rectangular aperture, `L W t`.

    Parameters
    ----------
    length_aperture_mm, width_aperture_mm, foil_mm : float or array, mm
    pitch_mm : float or array, mm, optional
        To the next aperture, across the width; where given, the narrower side must leave a web of foil.

    Raises
    ------
    InputError
        Outside the range, or an aperture that is not narrower than the pitch.
    """
    given = {} if pitch_mm is None else {"pitch_mm": pitch_mm}
    narrow = np.minimum(length_aperture_mm, width_aperture_mm) if pitch_mm is not None else 0.0
    refuse_outside(
        "the aperture",
        _over_pitch(narrow, pitch_mm),
        length_aperture_mm=length_aperture_mm,
        width_aperture_mm=width_aperture_mm,
        foil_mm=foil_mm,
        **given,
    )
    return length_aperture_mm * width_aperture_mm * foil_mm


def round_volume_mm3(aperture_mm: Numbers, foil_mm: Numbers, pitch_mm: Numbers | None = None) -> Numbers:
    """Return the volume of a round aperture, `pi/4 d^2 t`; parameters and faults as of the rectangle."""
    given = {} if pitch_mm is None else {"pitch_mm": pitch_mm}
    refuse_outside(
        "the aperture", _over_pitch(aperture_mm, pitch_mm), aperture_mm=aperture_mm, foil_mm=foil_mm, **given
    )
    return np.pi / 4 * aperture_mm**2 * foil_mm


def paste_density_g_cm3(metal_share: Numbers, metal_g_cm3: Numbers, flux_g_cm3: Numbers | None = None) -> Numbers:
    """Return the density of a paste, `1 / (w/rho_m + (1-w)/rho_f)`.

    Parameters
    ----------
    metal_share : float or array
        Metal content by mass, 0.05 to 1; 0.885 and not 88.5.
    metal_g_cm3 : float or array, g/cm3
    flux_g_cm3 : float or array, g/cm3, optional
        Vehicle; 1.0 from memory where left out (`data/constants.csv`).

    Raises
    ------
    InputError
        Outside the range.
    """
    flux = constant("flux density").value if flux_g_cm3 is None else flux_g_cm3
    refuse_outside("the paste", metal_share=metal_share, metal_g_cm3=metal_g_cm3, flux_g_cm3=flux)
    return 1 / (metal_share / metal_g_cm3 + (1 - metal_share) / flux)


def metal_volume_share(metal_share: Numbers, metal_g_cm3: Numbers, flux_g_cm3: Numbers | None = None) -> Numbers:
    """Return how much of a paste's volume is metal, `phi = w rho_paste / rho_m`; parameters as of its density."""
    return metal_share * paste_density_g_cm3(metal_share, metal_g_cm3, flux_g_cm3) / metal_g_cm3


def deposit_volume_mm3(aperture_volume_mm3: Numbers, transfer: Numbers, metal_share: Numbers) -> Numbers:
    """Return the volume of metal that a print leaves, `V TE phi`.

    Parameters
    ----------
    aperture_volume_mm3 : float or array, mm3
    transfer : float or array
        Share of the aperture's volume that reaches the pad, 0 to 1.3; over 1 is scooped up at a worn foil.
    metal_share : float or array
        By volume, as `metal_volume_share` gives it.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the print", aperture_volume_mm3=aperture_volume_mm3, transfer=transfer, metal_share=metal_share)
    return aperture_volume_mm3 * transfer * metal_share


def mass_mg(volume_mm3: Numbers, metal_g_cm3: Numbers) -> Numbers:
    """Return a mass, mg, of a volume, mm3, and a density, g/cm3.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the mass", volume_mm3=volume_mm3, metal_g_cm3=metal_g_cm3)
    return volume_mm3 * metal_g_cm3


def joint_height_mm(volume_mm3: Numbers, wetted_radius_mm: Numbers) -> Numbers:
    """Return the height of a fully molten joint between two equal pads: `V = pi h (6 a^2 + h^2) / 6` solved for h.

    Written as `h = 2 sqrt(2) a sinh(asinh(3V / (pi (sqrt(2) a)^3)) / 3)`, which is the closed form by cube roots
    without its loss of digits for flat joints.

    Parameters
    ----------
    volume_mm3 : float or array, mm3
        All metal of the joint.
    wetted_radius_mm : float or array, mm
        Of each pad, a.

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside("the joint", volume_mm3=volume_mm3, wetted_radius_mm=wetted_radius_mm)
    scale = np.sqrt(2.0) * wetted_radius_mm
    height: Numbers = 2 * scale * np.sinh(np.arcsinh(3 * volume_mm3 / (np.pi * scale**3)) / 3)
    return height


def attached_ball_mm(ball_mm: Numbers, wetted_radius_mm: Numbers) -> Numbers:
    """Return how far a ball stands out from its own pad of a given radius: a sphere cut flat by the pad.

    The cut sphere keeps the ball's volume, `V = pi h (3 a^2 + h^2) / 6` solved for h.

    Parameters
    ----------
    ball_mm : float or array, mm
        Diameter before attachment.
    wetted_radius_mm : float or array, mm
        Pad of the package, a; at most half as wide again as the ball.

    Raises
    ------
    InputError
        Outside the range, or a pad wider than that.
    """
    wide = wrong_if(
        np.asarray(wetted_radius_mm) > 0.75 * np.asarray(ball_mm),
        "wetted_radius_mm",
        "is too wide for the ball",
        wetted_radius_mm,
        "at most 0.75 of the ball's diameter",
        "state the radius of the pad, not its diameter",
    )
    refuse_outside("the ball", wide, ball_mm=ball_mm, wetted_radius_mm=wetted_radius_mm)
    q = 3 * ball_volume_mm3(ball_mm) / np.pi
    height: Numbers = 2 * wetted_radius_mm * np.sinh(np.arcsinh(q / wetted_radius_mm**3) / 3)
    return height


def hybrid_height_mm(
    ball_mm: Numbers, wetted_radius_mm: Numbers, paste_metal_volume_mm3: Numbers
) -> tuple[Numbers, Numbers]:
    """Return the ends between which the height of a joint with an unmelted ball lies.

    Parameters
    ----------
    ball_mm, wetted_radius_mm, paste_metal_volume_mm3 : float or array
        Equal pads on both sides.

    Returns
    -------
    tuple of two floats or arrays, mm
        The height after full collapse, and that of the ball on its pad. With a solid core the joint stays near the
        second; how near is not computed.

    Raises
    ------
    InputError
        As for both ends.
    """
    whole = ball_volume_mm3(ball_mm) + paste_metal_volume_mm3
    ball = attached_ball_mm(ball_mm, wetted_radius_mm)
    return np.minimum(joint_height_mm(whole, wetted_radius_mm), ball), ball


def _over_pitch(aperture_mm: Numbers, pitch_mm: Numbers | None) -> Fault | None:
    if pitch_mm is None:
        return None
    return wrong_if(
        np.asarray(aperture_mm, dtype=float) >= np.asarray(pitch_mm, dtype=float),
        "aperture_mm",
        "is not smaller than the pitch: neighbours would run into each other",
        aperture_mm,
        "below the pitch",
        "check which of the two is meant, and their units",
    )


def paste_ball_ratio(paste_metal_volume_mm3: Numbers, ball_metal_volume_mm3: Numbers) -> Numbers:
    """Return the metal of the paste over that of the ball, by volume: the knob of a hybrid joint.

    Raises
    ------
    InputError
        Outside the range; a ball without metal.
    """
    none = wrong_if(
        np.asarray(ball_metal_volume_mm3) == 0, "ball_metal_volume_mm3", "is 0", ball_metal_volume_mm3, "above 0 mm3"
    )
    refuse_outside(
        "the joint",
        none,
        paste_metal_volume_mm3=paste_metal_volume_mm3,
        ball_metal_volume_mm3=ball_metal_volume_mm3,
    )
    return paste_metal_volume_mm3 / ball_metal_volume_mm3
