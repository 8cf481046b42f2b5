"""The tangent-plane test: how far a liquid's tangent plane lies above each solid, for many liquids at once.

A positive driving force means that the solid wants to form. Sampled states of the solid give the start, from which its
composition climbs until its potentials are those of the plane. Steps that would lose height are halved: with full
steps a phase of strong attraction is jumped over and missed.
"""

from collections.abc import Callable
from functools import cache
from itertools import combinations, product

import numpy as np

from selector.melting.gibbs import R_J_MOL_K, SMALLEST_FRACTION, Compound, Solutions, Strengths, system
from selector.melting.parameters import T_HIGH_K, T_LOW_K, FloatArray, thermo

MOST_ROUNDS = 100
SETTLED_J = 1e-3
SMALLEST_STEP = 1e-3
GROWTH = 1.5
SLACK_J = 1e-7
KNOT_K = 20.0
EDGE_SHARES = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
COMPOUND_SHARES = (0.25, 0.5, 0.75)
FACE_SHARES = ((1 / 3, 1 / 3, 1 / 3), (0.6, 0.2, 0.2), (0.2, 0.6, 0.2), (0.2, 0.2, 0.6))
SURE_J, HOPELESS_J = 1000.0, 2500.0
OTHER_SET = 0.25
DEMIXED_J_MOL = 1e-3
LIQUID_STARTS = 4
DEMIXED_APART = 0.02
Energy = Callable[[Strengths | FloatArray, FloatArray], tuple[FloatArray, FloatArray]]


def touch(
    model: Solutions | Compound, strengths: Strengths | FloatArray, t_k: FloatArray, mu: FloatArray, start: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the states of phases nearest under tangent planes, from a start, and their driving forces.

    Parameters
    ----------
    model : Solutions or Compound
    strengths : Strengths for solutions, array (parameters, C) for a compound
    t_k : array (C,), K
    mu : array (elements, C), J/mol
        Potentials of the planes.
    start : array (sites, C)

    Returns
    -------
    y : array (sites, C)
    force : array (C,), J/mol of atoms
        Evaluated at `y`, thus never above the true maximum.
    """
    moles = model.site_moles[:, None]
    wanted, weight = moles * mu[model.site_element], R_J_MOL_K * moles * t_k
    y = start.copy()
    height, aim, gain = _climb(model, strengths, wanted, weight, y)
    result = height.copy()
    active, step, here = np.arange(y.shape[1]), np.ones(y.shape[1]), y.copy()
    going = np.ones(y.shape[1], dtype=bool)
    for _ in range(MOST_ROUNDS):
        trial = here + step * (aim - here)
        lifted, new_aim, new_gain = _climb(model, strengths, wanted, weight, trial)
        # A column that has settled stays as it is, so that it does not depend on what else is in the batch.
        up = going & (lifted >= height - SLACK_J)
        here, aim = np.where(up, trial, here), np.where(up, new_aim, aim)
        height, gain = np.where(up, lifted, height), np.where(up, new_gain, gain)
        step = np.where(up, np.minimum(step * GROWTH, 1.0), step / 2)
        going &= (gain > SETTLED_J) & (step > SMALLEST_STEP)
        left = np.count_nonzero(going)
        if not left:
            break
        if left < 0.7 * len(going):
            y[:, active], result[active] = here, height
            active, step, height, gain = active[going], step[going], height[going], gain[going]
            here, aim, wanted, weight = here[:, going], aim[:, going], wanted[:, going], weight[:, going]
            strengths = strengths.take(going) if isinstance(strengths, Strengths) else strengths[:, going]
            going = going[going]
    y[:, active], result[active] = here, height
    return y, result / model.moles


def _climb(
    model: Solutions | Compound,
    strengths: Strengths | FloatArray,
    wanted: FloatArray,
    weight: FloatArray,
    y: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the height of the plane above the phase, J/mol of formula unit, where its slopes point, and the ascent."""
    energy, slope = model.energy(strengths, y)  # type: ignore[arg-type]
    logs = np.log(np.maximum(y, SMALLEST_FRACTION))
    height = (y * (wanted - weight * logs)).sum(axis=0) - energy
    exponent = (wanted - slope) / weight
    aim = np.empty_like(y)
    for part in model.sublattices:
        powers = np.exp(exponent[part] - exponent[part].max(axis=0))
        aim[part] = powers / powers.sum(axis=0)
    # A start at a pure corner has an endless slope towards the rest: its logarithms are cut, its ascent stays large.
    return height, aim, ((aim - y) * (exponent - logs) * weight).sum(axis=0)


@cache
def solution_samples(count: int) -> FloatArray:
    """Return sampled compositions (elements, S): pure corners, along binary edges, inside ternary faces."""
    return np.array(_states(count, EDGE_SHARES)).T


@cache
def compound_samples(phase: str, elements: tuple[str, ...]) -> tuple[FloatArray, FloatArray]:
    """Return sampled states of a compound, (sites, S), at quarters of each sublattice; compositions (elements, S)."""
    model = _compound(phase, elements)
    choices = [_states(part.stop - part.start, COMPOUND_SHARES) for part in model.sublattices]
    y = np.array([np.concatenate(states) for states in product(*choices)]).T
    return y, model.composition(y)


def _compound(phase: str, elements: tuple[str, ...]) -> Compound:
    return next(compound for compound in system(elements).compounds if compound.phase.id == phase)


def _states(n: int, shares: tuple[float, ...]) -> list[FloatArray]:
    states = [*np.eye(n)]
    for i, j in combinations(range(n), 2):
        for share in shares:
            state = np.zeros(n)
            state[[i, j]] = share, 1 - share
            states.append(state)
    for face in combinations(range(n), 3):
        for three in FACE_SHARES:
            state = np.zeros(n)
            state[list(face)] = three
            states.append(state)
    return states


@cache
def _knots() -> FloatArray:
    return np.append(np.arange(T_LOW_K, T_HIGH_K, KNOT_K), T_HIGH_K)


@cache
def _solution_energies(elements: tuple[str, ...], liquid: bool) -> FloatArray:
    """Return the energy of sampled solutions at knots of temperature, (phases, K, S)."""
    family = system(elements)
    stack = family.liquid if liquid else family.solutions
    y = solution_samples(len(elements))
    values = thermo().at(_knots())
    mixing = (y * np.log(np.maximum(y, SMALLEST_FRACTION))).sum(axis=0)
    table = np.empty((len(stack.phases), len(_knots()), y.shape[1]))
    for s in range(len(stack.phases)):
        for k, t_k in enumerate(_knots()):
            strengths = stack.gather(values, np.array([s]), np.array([k]))
            table[s, k] = stack.energy(strengths, y)[0] + R_J_MOL_K * t_k * mixing
    return table


@cache
def _compound_energies(phase: str, elements: tuple[str, ...]) -> FloatArray:
    """Return the energy of a compound's sampled states at knots of temperature, J/mol of atoms, (K, S)."""
    model = _compound(phase, elements)
    y, _ = compound_samples(phase, elements)
    values = thermo().at(_knots())
    mixing = (model.site_moles[:, None] * y * np.log(np.maximum(y, SMALLEST_FRACTION))).sum(axis=0)
    rows = [model.energy(values[:, [k]], y)[0] + R_J_MOL_K * t_k * mixing for k, t_k in enumerate(_knots())]
    return np.array(rows) / model.moles


def _between(table: FloatArray, t_k: FloatArray) -> FloatArray:
    """Return energies (..., S, N) interpolated between the knots (..., K, S)."""
    at = np.clip((t_k - T_LOW_K) / KNOT_K, 0, table.shape[-2] - 1.001)
    low = at.astype(int)
    share = (at - low)[:, None]
    return np.swapaxes(table[..., low, :] * (1 - share) + table[..., low + 1, :] * share, -1, -2)


def sampled_solutions(elements: tuple[str, ...], t_k: FloatArray, mu: FloatArray) -> FloatArray:
    """Return driving forces of the sampled states of every solid solution, (phases, S, N): for starts only."""
    planes = solution_samples(len(elements)).T @ mu
    return planes - _between(_solution_energies(elements, False), t_k)


def sampled_compound(model: Compound, t_k: FloatArray, mu: FloatArray) -> FloatArray:
    """Return driving forces of a compound's sampled states, (S, N), J/mol of atoms: for starts only."""
    _, compositions = compound_samples(model.phase.id, model.elements)
    return compositions.T @ mu - _between(_compound_energies(model.phase.id, model.elements), t_k)


def largest_force(values: FloatArray, t_k: FloatArray, mu: FloatArray, elements: tuple[str, ...]) -> FloatArray:
    """Return the largest driving force over all solids, (N,), J/mol of atoms, exact near zero.

    Where the sampled states alone settle the sign by a wide margin they are not refined: a search for the
    temperature at which the sign turns needs no more.
    """
    family = system(elements)
    refined = np.full(len(t_k), -np.inf)
    if len(family.lines.phases):
        refined = family.lines.forces(values, mu).max(axis=0)
    solutions = sampled_solutions(elements, t_k, mu)
    compounds = [sampled_compound(compound, t_k, mu) for compound in family.compounds]
    reached = solutions.max(axis=1)
    rough = np.max([reached.max(axis=0), *(sampled.max(axis=0) for sampled in compounds)], axis=0)
    open_ = np.maximum(rough, refined) < SURE_J
    phase, column = np.nonzero(open_ & (reached > -HOPELESS_J))
    if len(column):
        points = solution_samples(len(elements))
        sampled = solutions[phase, :, column]
        first = sampled.argmax(axis=1)
        # A second set of one phase may lie nearer once it is climbed to: silver and copper share a lattice.
        near = np.abs(points[:, None, :] - points[:, first, None]).max(axis=0) < OTHER_SET
        sampled = np.where(near, -np.inf, sampled)
        second = sampled.argmax(axis=1)
        also = np.flatnonzero(sampled.max(axis=1) > -HOPELESS_J)
        phase, column = np.append(phase, phase[also]), np.append(column, column[also])
        start = points[:, np.append(first, second[also])]
        strengths = family.solutions.gather(values, phase, column)
        _, force = touch(family.solutions, strengths, t_k[column], mu[:, column], start)
        np.maximum.at(refined, column, force)
    for compound, sampled in zip(family.compounds, compounds, strict=True):
        column = np.flatnonzero(open_ & (sampled.max(axis=0) > -HOPELESS_J))
        if len(column):
            y, _ = compound_samples(compound.phase.id, elements)
            start = y[:, sampled[:, column].argmax(axis=0)]
            _, force = touch(compound, values[:, column], t_k[column], mu[:, column], start)
            refined[column] = np.maximum(refined[column], force)
    # A sampled force is read between knots of temperature and some J off: it counts only where it is far from zero.
    return np.where(open_ & np.isfinite(refined), refined, np.maximum(rough, refined))


def liquid_force(values: FloatArray, t_k: FloatArray, mu: FloatArray, elements: tuple[str, ...]) -> FloatArray:
    """Return the driving force of the liquid under given planes, (N,), J/mol."""
    return _best_liquid(values, t_k, mu, elements)[1]


def _best_liquid(
    values: FloatArray, t_k: FloatArray, mu: FloatArray, elements: tuple[str, ...]
) -> tuple[FloatArray, FloatArray]:
    family = system(elements)
    points = solution_samples(len(elements))
    force = points.T @ mu - _between(_solution_energies(elements, True), t_k)[0]
    strengths, columns = family.liquid_strengths(values), np.arange(len(t_k))
    best, reached = touch(family.liquid, strengths, t_k, mu, points[:, force.argmax(axis=0)])
    # With many elements the best sample may lie in another basin than the best state.
    for _ in range(LIQUID_STARTS - 1):
        force[force.argmax(axis=0), columns] = -np.inf
        y, lifted = touch(family.liquid, strengths, t_k, mu, points[:, force.argmax(axis=0)])
        higher = lifted > reached
        best, reached = np.where(higher, y, best), np.where(higher, lifted, reached)
    return best, reached


def demixes(t_k: FloatArray, x: FloatArray, elements: tuple[str, ...]) -> np.ndarray:
    """Return whether a liquid of composition x (elements, N) at t_k (N,) falls into two liquids, (N,) bool.

    Validity: points within about 0.003 of the gap's edge may be missed.
    """
    family = system(elements)
    values = thermo().at(t_k)
    mu = family.liquid.potentials(family.liquid_strengths(values), t_k, x)
    y, force = _best_liquid(values, t_k, mu, elements)
    splits: np.ndarray = (force > DEMIXED_J_MOL) & (np.abs(y - x).max(axis=0) > DEMIXED_APART)
    return splits
