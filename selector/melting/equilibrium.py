"""Equilibrium of one alloy at a temperature, solved by pycalphad and checked against every phase of the tables.

The solver may return nothing, raise, or stop at a metastable state, now and then and without a word. So each answer is
held against the tangent plane that it implies: a phase below that plane exposes it. Then it is asked again from more
starting points, without one of the phases it found, and some hundredths of a kelvin beside; what that cannot mend is a
failure, told as one.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

from selector.melting.database import database
from selector.melting.gibbs import system
from selector.melting.parameters import LIQUID, FloatArray, thermo
from selector.melting.solidifying import molar_mass
from selector.melting.tangent import largest_force, liquid_force

NUDGES_K = (0.0, 0.03, -0.05, 0.11, -0.17)
METASTABLE_J = 1.0
COARSE, FINE = 60, 500  # starting points a phase; too few may miss a phase, many cost three times the time
PRESSURE_PA = 101325.0
TRACE_OF_PHASE = 1e-9


class UnsolvedError(RuntimeError):
    """No checked state was found at a temperature: a failure of the solver, never an answer."""


@dataclass(frozen=True)
class State:
    """Phases at a temperature.

    Parameters
    ----------
    t_k : float, K
    phases : tuple of (str, float, array)
        Phase, mole fraction of atoms in it, its composition (elements,).
    liquid_moles, liquid_mass : float
        Fraction liquid.
    """

    t_k: float
    phases: tuple[tuple[str, float, FloatArray], ...]
    liquid_moles: float
    liquid_mass: float


@dataclass(frozen=True)
class _Prepared:
    components: list[str]
    phases: list[str]
    models: object
    records: object


@cache
def _prepared(elements: tuple[str, ...]) -> _Prepared:
    from pycalphad import variables as v
    from pycalphad.codegen.phase_record_factory import PhaseRecordFactory
    from pycalphad.core.utils import filter_phases, instantiate_models, unpack_species

    base = database()
    components = [element.upper() for element in elements]
    phases = filter_phases(base, unpack_species(base, components))
    models = instantiate_models(base, components, phases)
    records = PhaseRecordFactory(base, components, [v.N, v.P, v.T], models)
    return _Prepared(components, phases, models, records)


def _solve(
    elements: tuple[str, ...], x: FloatArray, t_k: float, without: str = "", sampling: int = COARSE
) -> tuple[State, FloatArray] | None:
    """Return what the solver gives, with chemical potentials; None where it gives nothing.

    A phase may be kept out of its sight: where it holds on to a metastable state, the stable one is then found.
    """
    base = database()  # says in words where pycalphad is missing
    from pycalphad import equilibrium
    from pycalphad import variables as v

    ready = _prepared(elements)
    conditions = {v.T: t_k, v.P: PRESSURE_PA, v.N: 1}
    conditions |= {v.X(name): float(part) for name, part in zip(ready.components[:-1], x[:-1], strict=True)}
    try:
        found = equilibrium(
            base,
            ready.components,
            [phase for phase in _without_twins(elements, ready.phases, t_k) if phase != without],
            conditions,
            model=ready.models,
            phase_records=ready.records,
            to_xarray=False,
            calc_opts={"pdens": sampling},
        )
    except Exception:  # noqa: BLE001 - the solver raises many kinds; each of them means that it found nothing
        return None
    names = np.ravel(found.Phase)
    amounts = np.ravel(found.NP)
    potentials = np.ravel(found.MU)
    compositions = np.reshape(found.X, (-1, len(elements)))
    kept = [
        (str(name), float(amount), composition)
        for name, amount, composition in zip(names, amounts, compositions, strict=True)
        if name and np.isfinite(amount) and amount > TRACE_OF_PHASE
    ]
    if not kept or not np.isfinite(potentials).all() or abs(sum(amount for _, amount, _ in kept) - 1) > 1e-4:
        return None
    liquid = [(amount, composition) for name, amount, composition in kept if name == LIQUID]
    moles = sum(amount for amount, _ in liquid)
    mass = sum(amount * float(molar_mass(composition, elements)) for amount, composition in liquid)
    state = State(t_k, tuple(kept), moles, mass / float(molar_mass(x, elements)))
    return state, potentials


def _without_twins(elements: tuple[str, ...], phases: list[str], t_k: float) -> list[str]:
    """Return the phases without the less stable of two compounds of one fixed composition.

    Given both, the solver now and then keeps both, with potentials some J/mol off.
    """
    lines = system(elements).lines
    energy = thermo().at(np.array([t_k]))[lines.rows, 0] / lines.moles
    dropped = {
        lines.phases[k].id
        for k in range(len(energy))
        for other in range(len(energy))
        if energy[other] < energy[k] and np.allclose(lines.compositions[:, k], lines.compositions[:, other])
    }
    return [phase for phase in phases if phase not in dropped]


def state_at(elements: tuple[str, ...], x: FloatArray, t_k: float) -> State:
    """Return the checked equilibrium of an alloy.

    Parameters
    ----------
    elements : tuple of str
        In alphabetical order.
    x : array (elements,)
        Mole fractions, all above 0.
    t_k : float, K

    Raises
    ------
    UnsolvedError
        Nothing, or only metastable states, at this temperature and at those some hundredths of a kelvin from it.
    """
    for nudge in NUDGES_K:
        state = _checked(elements, x, t_k + nudge)
        if state is not None:
            return state
    raise UnsolvedError(f"no checked equilibrium at {t_k:.2f} K")


def _checked(elements: tuple[str, ...], x: FloatArray, t_k: float) -> State | None:
    """Return a stable state at one temperature, None where only metastable ones, or nothing, are found."""
    for sampling in (COARSE, FINE):
        found = _solve(elements, x, t_k, sampling=sampling)
        if found is not None and _stable(elements, *found):
            return found[0]
    if found is None:
        return None
    for phase in dict.fromkeys(name for name, _, _ in found[0].phases):
        again = _solve(elements, x, t_k, without=phase, sampling=FINE)
        if again is not None and _stable(elements, *again):
            return again[0]
    return None


def _stable(elements: tuple[str, ...], state: State, mu: FloatArray) -> bool:
    """Return whether no phase lies under the plane of the returned potentials."""
    t_k, plane = np.array([state.t_k]), mu[:, None]
    values = thermo().at(t_k)
    if largest_force(values, t_k, plane, elements)[0] > METASTABLE_J:
        return False
    return bool(liquid_force(values, t_k, plane, elements)[0] <= METASTABLE_J)


def has_liquid(elements: tuple[str, ...], x: FloatArray, t_k: float) -> bool:
    """Return whether an alloy holds liquid at equilibrium.

    A state without liquid on whose potentials the liquid would form was metastable: then it does hold liquid.

    Raises
    ------
    UnsolvedError
        As `state_at`.
    """
    for nudge in NUDGES_K:
        state = _checked(elements, x, t_k + nudge)
        if state is not None:
            return state.liquid_moles > 0
    for nudge in NUDGES_K:
        found = _solve(elements, x, t_k + nudge)
        if found is not None and found[0].liquid_moles == 0:
            at = np.array([found[0].t_k])
            if liquid_force(thermo().at(at), at, found[1][:, None], elements)[0] > METASTABLE_J:
                return True
    raise UnsolvedError(f"no checked equilibrium at {t_k:.2f} K")
