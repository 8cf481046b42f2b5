"""A package with several dies, substrate and board: free mismatch and shear strain of each interface.

Free mismatch at half length, `|a1 dT1 - a2 dT2| L`, is what the joint would have to take between stiff layers; the
shear strain is that over its height, an upper bound. Bonded layers share the mismatch strain by their stiffness `E t`:
equal layers half each, a thin film all of it.

Validity: elastic layers, small strains; no bending, underfill or creep. Source: mechanics of bonded layers.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selector.errors import Fault, InputError, shown
from selector.ranges import Numbers, refuse_outside


@dataclass(frozen=True)
class Layer:
    """A die, substrate or board.

    Parameters
    ----------
    name : str
    ppm_k : float
        Coefficient of thermal expansion.
    swing_k : float
        Its own change of temperature.
    """

    name: str
    ppm_k: float
    swing_k: float


@dataclass(frozen=True)
class Joined:
    """A row of joints between two layers, by name.

    Parameters
    ----------
    one, other : str
    half_length_mm : float
        From the neutral point to the farthest joint.
    height_mm : float
        Of the joint.
    factor : float
        Empirical factor on the strain; 1 unless stated.
    """

    one: str
    other: str
    half_length_mm: float
    height_mm: float
    factor: float = 1.0


@dataclass(frozen=True)
class Interface:
    """What an interface has to take: free mismatch, um, and shear strain, a ratio; an upper bound."""

    joined: Joined
    mismatch_um: float
    shear_strain: float


def free_mismatch_um(
    one_ppm_k: Numbers, other_ppm_k: Numbers, one_swing_k: Numbers, other_swing_k: Numbers, half_length_mm: Numbers
) -> Numbers:
    """Return the free mismatch of two layers at half length, um: `|a1 dT1 - a2 dT2| L`.

    Parameters
    ----------
    one_ppm_k, other_ppm_k : float or array, ppm/K
    one_swing_k, other_swing_k : float or array, K
    half_length_mm : float or array, mm

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside(
        "the stack",
        one_ppm_k=one_ppm_k,
        other_ppm_k=other_ppm_k,
        one_swing_k=one_swing_k,
        other_swing_k=other_swing_k,
        half_length_mm=half_length_mm,
    )
    return np.abs(one_ppm_k * one_swing_k - other_ppm_k * other_swing_k) * 1e-3 * half_length_mm


def stack_interfaces(layers: Sequence[Layer], joined: Sequence[Joined]) -> tuple[Interface, ...]:
    """Return the free mismatch and shear strain of every interface of a stack.

    Parameters
    ----------
    layers : sequence of Layer
        Any number of dies, substrates and boards.
    joined : sequence of Joined

    Raises
    ------
    InputError
        A layer named twice or not at all, one joined to itself, or a figure outside its range; all at once.
    """
    names = [layer.name for layer in layers]
    faults = [
        Fault(name, "stands twice", allowed="each layer once") for name in sorted(set(names)) if names.count(name) > 1
    ]
    figures: dict[str, float] = {}
    for entry in joined:
        where = f"{entry.one} to {entry.other}"
        allowed = ", ".join(names)
        faults += [
            Fault(where, "names no layer", shown(end), allowed) for end in (entry.one, entry.other) if end not in names
        ]
        if entry.one == entry.other:
            faults.append(Fault(where, "joins a layer to itself", allowed="two layers"))
        figures |= {
            f"{where}, half_length_mm": entry.half_length_mm,
            f"{where}, height_mm": entry.height_mm,
            f"{where}, factor": entry.factor,
        }
    for layer in layers:
        figures |= {f"{layer.name}, ppm_k": layer.ppm_k, f"{layer.name}, swing_k": layer.swing_k}
    if not joined:
        raise InputError("the stack", [*faults, Fault("joined", "names no interface", allowed="at least one")])
    refuse_outside("the stack", *faults, **figures)
    by_name = {layer.name: layer for layer in layers}
    found = []
    for entry in joined:
        one, other = by_name[entry.one], by_name[entry.other]
        mismatch = float(free_mismatch_um(one.ppm_k, other.ppm_k, one.swing_k, other.swing_k, entry.half_length_mm))
        found.append(Interface(entry, mismatch, entry.factor * mismatch * 1e-3 / entry.height_mm))
    return tuple(found)


def shared_strain(
    one_thickness_mm: Numbers,
    one_modulus_gpa: Numbers,
    other_thickness_mm: Numbers,
    other_modulus_gpa: Numbers,
    mismatch_ppm_k: Numbers,
    swing_k: Numbers,
) -> tuple[Numbers, Numbers]:
    """Return how two bonded flat layers share a mismatch strain: each takes the other's share of the stiffness.

    `e1 = da dT E2 t2 / (E1 t1 + E2 t2)`; the two add up to `da dT`.

    Parameters
    ----------
    one_thickness_mm, other_thickness_mm : float or array, mm
    one_modulus_gpa, other_modulus_gpa : float or array, GPa
    mismatch_ppm_k : float or array, ppm/K
    swing_k : float or array, K

    Raises
    ------
    InputError
        Outside the range.
    """
    refuse_outside(
        "the stack",
        one_thickness_mm=one_thickness_mm,
        one_modulus_gpa=one_modulus_gpa,
        other_thickness_mm=other_thickness_mm,
        other_modulus_gpa=other_modulus_gpa,
        mismatch_ppm_k=mismatch_ppm_k,
        swing_k=swing_k,
    )
    stiff, other_stiff = one_modulus_gpa * one_thickness_mm, other_modulus_gpa * other_thickness_mm
    strain = mismatch_ppm_k * 1e-6 * swing_k
    return strain * other_stiff / (stiff + other_stiff), strain * stiff / (stiff + other_stiff)
