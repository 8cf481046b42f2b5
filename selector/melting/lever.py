"""Liquid fraction against temperature at equilibrium (the lever rule), with the phases at each point."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selector.composition import Composition
from selector.melting.alloy import Melting, phase_name
from selector.melting.coverage import coverage
from selector.melting.equilibrium import UnsolvedError, state_at
from selector.melting.parameters import LIQUID, T_LOW_K
from selector.melting.solidifying import molar_mass
from selector.melting.store import composition_key, remembered
from selector.units import celsius, kelvin

POINTS = 40


@dataclass(frozen=True)
class LeverPoint:
    """One temperature: liquid mass fraction, None where the solver failed, and mass fractions by phase."""

    temperature_c: float
    liquid: float | None
    phases: tuple[tuple[str, float], ...]


def lever(alloy: Composition, melting: Melting) -> tuple[LeverPoint, ...]:
    """Return the equilibrium freezing curve of an alloy, from its liquidus to under its solidus.

    Parameters
    ----------
    alloy : Composition
    melting : Melting
        Of the same alloy, which gives the range.

    Raises
    ------
    InputError
        Not covered, or pycalphad missing.
    """
    if melting.liquidus_c is None or melting.solidus_c is None or len(melting.elements) < 2:
        return ()
    return tuple(
        LeverPoint(temperature_c, liquid, tuple((name, mass) for name, mass in phases))
        for temperature_c, liquid, phases in remembered(
            "lever", composition_key(alloy), lambda: _computed(alloy, melting)
        )
    )


def _computed(alloy: Composition, melting: Melting) -> list[tuple[float, float | None, list[tuple[str, float]]]]:
    entry = coverage(alloy)
    x = np.array(melting.mole_fractions)
    return [_at(entry.elements, x, temperature_c) for temperature_c in _temperatures(melting)]


def _temperatures(melting: Melting) -> Sequence[float]:
    """Return falling temperatures: even steps, both sides of the solidus, and some kelvin below it."""
    assert melting.liquidus_c is not None
    assert melting.solidus_c is not None
    even = np.linspace(melting.liquidus_c + 1, melting.solidus_c + 0.1, POINTS)
    known = [t for t in (melting.t98_c, melting.t90_c) if t is not None]
    return sorted({*even.tolist(), *known, melting.solidus_c - 0.1, melting.solidus_c - 5}, reverse=True)


def _at(
    elements: tuple[str, ...], x: np.ndarray, temperature_c: float
) -> tuple[float, float | None, list[tuple[str, float]]]:
    try:
        state = state_at(elements, x, kelvin(temperature_c))
    except UnsolvedError:
        return temperature_c, None, []
    whole = float(molar_mass(x, elements))
    phases: dict[str, float] = {}
    for phase, moles, composition in state.phases:
        if phase == LIQUID:
            continue
        name = phase_name(phase, elements[int(np.argmax(composition))], elements)
        phases[name] = phases.get(name, 0.0) + moles * float(molar_mass(composition, elements)) / whole
    return celsius(state.t_k), state.liquid_mass, list(phases.items())


def state_of(alloy: Composition, melting: Melting, temperature_c: float) -> LeverPoint:
    """Return what an alloy holds at one temperature at equilibrium; what the solver cannot answer is left out.

    Parameters
    ----------
    alloy : Composition
    melting : Melting
        Of the same alloy: outside its range the liquid fraction needs no solver.
    temperature_c : float
        The tables end at 25 degC: below it there is no answer.

    Raises
    ------
    InputError
        Not covered, or pycalphad missing.
    """
    if kelvin(temperature_c) < T_LOW_K or melting.liquidus_c is None:
        return LeverPoint(temperature_c, None, ())
    if temperature_c >= melting.liquidus_c:
        return LeverPoint(temperature_c, 1.0, ())
    if len(melting.elements) < 2:
        return LeverPoint(temperature_c, 0.0, tuple((name, 1.0) for name, _, _ in melting.phases))
    _, liquid, phases = remembered(
        f"state-{temperature_c:g}",
        composition_key(alloy),
        lambda: _at(coverage(alloy).elements, np.array(melting.mole_fractions), temperature_c),
    )
    if liquid is None and melting.solidus_c is not None and temperature_c < melting.solidus_c:
        liquid = 0.0
    return LeverPoint(temperature_c, liquid, tuple((name, mass) for name, mass in phases))
