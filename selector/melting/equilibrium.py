"""Equilibrium of one alloy at a temperature, solved by pycalphad and checked against every phase of the tables.

The solver may return nothing, raise, or stop at a metastable state, now and then and without a word, thousands of
J/mol too high in the worst case. So each answer is held against the tangent plane that it implies: a phase below that
plane exposes it. Then the hull of all phases is asked, which is slower and does not stop short, and held against its
plane too, if need be some hundredths of a kelvin beside; what that cannot mend is a failure, told as one.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from selector.melting.database import database
from selector.melting.gibbs import system
from selector.melting.hull import Phases, lowest
from selector.melting.parameters import LIQUID, FloatArray, thermo
from selector.melting.solidifying import molar_mass
from selector.melting.tangent import largest_force, liquid_force

NUDGES_K = (0.0, 0.03, -0.05, 0.11, -0.17)
METASTABLE_J = 1.0
SAMPLING = 60  # starting points a phase; what the solver misses with them, the hull finds
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


# A set of elements takes some tens of megabytes: a page that runs for days must not keep all that were ever asked.
@lru_cache(maxsize=6)
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


def _solve(elements: tuple[str, ...], x: FloatArray, t_k: float) -> tuple[State, FloatArray] | None:
    """Return what the solver gives, with chemical potentials; None where it gives nothing."""
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
            _without_twins(elements, ready.phases, t_k),
            conditions,
            model=ready.models,
            phase_records=ready.records,
            to_xarray=False,
            calc_opts={"pdens": SAMPLING},
        )
    except Exception:  # noqa: BLE001 - the solver raises many kinds; each of them means that it found nothing
        return None
    names = np.ravel(found.Phase)
    amounts = np.ravel(found.NP)
    potentials = np.ravel(found.MU)
    compositions = np.reshape(found.X, (-1, len(elements)))
    kept = [
        (str(name), float(amount), np.array(composition))
        for name, amount, composition in zip(names, amounts, compositions, strict=True)
        if name and np.isfinite(amount) and amount > TRACE_OF_PHASE
    ]
    if not kept or not np.isfinite(potentials).all() or abs(sum(amount for _, amount, _ in kept) - 1) > 1e-4:
        return None
    return _state(elements, x, t_k, tuple(kept)), potentials


def _state(elements: tuple[str, ...], x: FloatArray, t_k: float, phases: Phases) -> State:
    liquid = [(amount, composition) for name, amount, composition in phases if name == LIQUID]
    moles = sum(amount for amount, _ in liquid)
    mass = sum(amount * float(molar_mass(composition, elements)) for amount, composition in liquid)
    return State(t_k, phases, moles, mass / float(molar_mass(x, elements)))


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
    found = _solve(elements, x, t_k)
    if found is not None and _stable(elements, *found):
        return found[0]
    by_hull = lowest(elements, x, t_k)
    if by_hull is None:
        return None
    state = _state(elements, x, t_k, by_hull[0])
    return state if _stable(elements, state, by_hull[1]) else None


def _stable(elements: tuple[str, ...], state: State, mu: FloatArray) -> bool:
    """Return whether no phase lies under the plane of the returned potentials."""
    t_k, plane = np.array([state.t_k]), mu[:, None]
    values = thermo().at(t_k)
    if largest_force(values, t_k, plane, elements)[0] > METASTABLE_J:
        return False
    return bool(liquid_force(values, t_k, plane, elements)[0] <= METASTABLE_J)


def has_liquid(elements: tuple[str, ...], x: FloatArray, t_k: float) -> bool:
    """Return whether an alloy holds liquid at equilibrium.

    Raises
    ------
    UnsolvedError
        As `state_at`.
    """
    return state_at(elements, x, t_k).liquid_moles > 0
