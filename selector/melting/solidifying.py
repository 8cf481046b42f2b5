"""One step of freezing: which solids a liquid throws down at a temperature, for many liquids at once.

The amounts solve a small complementarity problem: a solid forms only as far as brings its driving force to zero, and
none is left positive. That needs no book of which solids are active, and an invariant, where no amount is enough,
shows itself by not coming to rest.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

from selector.composition import atomic_masses
from selector.melting.gibbs import System, system
from selector.melting.parameters import FloatArray, thermo
from selector.melting.tangent import (
    compound_samples,
    sampled_compound,
    sampled_solutions,
    solution_samples,
    touch,
)

SETTLED_J = 0.3
NEAR_J = 2.0
MOST_ROUNDS = 16
SWEEPS = 25
LARGEST = 10.0
RIDGE = 1e-9
MOST_PER_ROUND = 0.5
ASLEEP_J = 1200.0
SAME_COMPOSITION = 1e-3
NEAR_COMPOSITION = 0.12
SMALLEST_CURVATURE = 1e-6


def molar_mass(x: FloatArray, elements: tuple[str, ...]) -> FloatArray:
    """Return the mean molar mass, g/mol, of mole fractions (elements, ...)."""
    masses = np.array([float(atomic_masses()[element]) for element in elements])
    return np.tensordot(masses, x, axes=1)


@cache
def slots(elements: tuple[str, ...]) -> tuple[str, ...]:
    """Return the phase of each place for a solid: lines, then compounds, then solutions, then the solutions' twins.

    A solution has two places, as two sets of one phase may freeze side by side.
    """
    family = system(elements)
    solutions = [phase.id for phase in family.solutions.phases]
    compounds = [compound.phase.id for compound in family.compounds]
    return (*(phase.id for phase in family.lines.phases), *compounds, *solutions, *solutions)


@dataclass
class Melt:
    """Liquids on their way down, one a column; `solidify` changes them in place.

    Parameters
    ----------
    x : array (elements, N)
        Mole fractions of the liquid.
    left : array (N,)
        Moles of liquid a mole of alloy.
    solutions : array (elements, 2 * solutions, N)
        States followed: of every solution, then of the twins.
    compounds : list of array (sites, N)
    awake : array (compounds + 2 * solutions, N), bool
        States near enough to forming to be followed.
    frozen : array (slots, elements, N)
        Mass thrown down by slot and main element, g a mole of alloy.
    solids : array (N,), int
        How many solids formed in the last step, or stood within some J/mol of forming when it did not come to rest.
    """

    x: FloatArray
    left: FloatArray
    solutions: FloatArray
    compounds: list[FloatArray]
    awake: np.ndarray
    frozen: FloatArray
    solids: np.ndarray

    def take(self, columns: np.ndarray) -> "Melt":
        """Return a copy of some columns."""
        return Melt(
            self.x[:, columns],
            self.left[columns],
            self.solutions[:, :, columns],
            [state[:, columns] for state in self.compounds],
            self.awake[:, columns],
            self.frozen[:, :, columns],
            self.solids[columns],
        )

    def put(self, columns: np.ndarray, other: "Melt") -> None:
        """Write columns back."""
        self.x[:, columns], self.left[columns] = other.x, other.left
        self.solutions[:, :, columns] = other.solutions
        for state, theirs in zip(self.compounds, other.compounds, strict=True):
            state[:, columns] = theirs
        self.awake[:, columns], self.frozen[:, :, columns] = other.awake, other.frozen
        self.solids[columns] = other.solids


def molten(x: FloatArray, elements: tuple[str, ...]) -> Melt:
    """Return alloys of mole fractions x (elements, N) wholly liquid."""
    count, family = x.shape[1], system(elements)
    twice = 2 * len(family.solutions.phases)
    return Melt(
        x=x.astype(float).copy(),
        left=np.ones(count),
        solutions=np.zeros((len(elements), twice, count)),
        compounds=[np.zeros((len(compound.site_moles), count)) for compound in family.compounds],
        awake=np.zeros((len(family.compounds) + twice, count), dtype=bool),
        frozen=np.zeros((len(slots(elements)), len(elements), count)),
        solids=np.zeros(count, dtype=int),
    )


def solidify(melt: Melt, t_k: FloatArray, elements: tuple[str, ...], look: np.ndarray) -> np.ndarray:
    """Let solids form at a temperature until none wants to, in place.

    Parameters
    ----------
    melt : Melt
    t_k : array (N,), K
    elements : tuple of str
    look : array (N,), bool
        Columns in which new solids are searched over their whole range; elsewhere only known states are followed.

    Returns
    -------
    array (N,), bool
        Whether the column came to rest; at an invariant it does not.
    """
    family = system(elements)
    values = thermo().at(t_k)
    strengths = family.liquid_strengths(values)
    rest = np.zeros(len(t_k), dtype=bool)
    formed = np.zeros((len(slots(elements)), len(t_k)))
    near = np.zeros(formed.shape, dtype=bool)
    if look.any():
        columns = np.flatnonzero(look)
        mu = family.liquid.potentials(strengths.take(columns), t_k[columns], melt.x[:, columns])
        _search(melt, columns, t_k[columns], mu, family)
    open_ = np.arange(len(t_k))
    for _ in range(MOST_ROUNDS):
        own, x = strengths.take(open_), melt.x[:, open_]
        mu = family.liquid.potentials(own, t_k[open_], x)
        force, composition = _forces(melt, open_, values, t_k, mu, family)
        going = force.max(axis=0) > SETTLED_J
        rest[open_[~going]] = True
        open_, own, x = open_[going], own.take(going), x[:, going]
        if not len(open_):
            break
        force, composition = force[:, going], composition[:, :, going]
        done = formed[:, open_]
        candidates = np.flatnonzero(((force > -SETTLED_J) | (done > 0)).any(axis=1))
        allowed = (force > -SETTLED_J)[candidates] | (done[candidates] > 0)
        away = composition[candidates] - x
        curved = np.einsum("ijn,qjn->qin", family.liquid.curvature(own, t_k[open_], x), away)
        bend = np.einsum("pin,qin->pqn", away, curved)
        amounts = _complement(force[candidates], bend, -done[candidates] / melt.left[open_], allowed)
        _throw_down(melt, open_, candidates, amounts, composition, formed, elements)
        near[:, open_] = force > -NEAR_J
    melt.solids = ((formed > 0) | near).sum(axis=0)
    return rest


def _search(melt: Melt, columns: np.ndarray, t_k: FloatArray, mu: FloatArray, family: System) -> None:
    """Wake the states whose solid may form, and start a sleeping one at its best sampled state."""
    for c, compound in enumerate(family.compounds):
        force = sampled_compound(compound, t_k, mu)
        wakes = ~melt.awake[c, columns] & (force.max(axis=0) > -ASLEEP_J)
        y, _ = compound_samples(compound.phase.id, family.elements)
        melt.compounds[c][:, columns[wakes]] = y[:, force.argmax(axis=0)[wakes]]
        melt.awake[c, columns[wakes]] = True
    force = sampled_solutions(family.elements, t_k, mu)
    points = solution_samples(len(family.elements))
    count, first = len(family.solutions.phases), len(family.compounds)
    for twin in (False, True):
        for s in range(count):
            own, slot = s + count * twin, first + s + count * twin
            sampled = force[s]
            if twin:
                other = melt.solutions[:, s, columns]
                near = np.abs(points[:, :, None] - other[:, None, :]).max(axis=0) < NEAR_COMPOSITION
                sampled = np.where(near & melt.awake[first + s, columns], -np.inf, sampled)
            wakes = ~melt.awake[slot, columns] & (sampled.max(axis=0) > -ASLEEP_J)
            melt.solutions[:, own, columns[wakes]] = points[:, sampled.argmax(axis=0)[wakes]]
            melt.awake[slot, columns[wakes]] = True


def _forces(
    melt: Melt, columns: np.ndarray, values: FloatArray, t_k: FloatArray, mu: FloatArray, family: System
) -> tuple[FloatArray, FloatArray]:
    """Return driving forces (slots, N), J/mol of atoms, and compositions (slots, elements, N), states followed."""
    lines, compounds, count = len(family.lines.phases), len(family.compounds), len(family.solutions.phases)
    force = np.full((lines + compounds + 2 * count, len(columns)), -np.inf)
    composition = np.zeros((len(force), len(family.elements), len(columns)))
    if lines:
        force[:lines] = family.lines.forces(values[:, columns], mu)
        composition[:lines] = family.lines.compositions.T[:, :, None]
    for c, compound in enumerate(family.compounds):
        awake = np.flatnonzero(melt.awake[c, columns])
        if len(awake):
            these = columns[awake]
            state, reached = touch(compound, values[:, these], t_k[these], mu[:, awake], melt.compounds[c][:, these])
            melt.compounds[c][:, these] = state
            force[lines + c, awake] = reached
            composition[lines + c][:, awake] = compound.composition(state)
            melt.awake[c, these] = reached > -ASLEEP_J
    place, at = np.nonzero(melt.awake[compounds:][:, columns])
    if len(at):
        these = columns[at]
        strengths = family.solutions.gather(values, place % count, these)
        state, reached = touch(family.solutions, strengths, t_k[these], mu[:, at], melt.solutions[:, place, these])
        melt.solutions[:, place, these] = state
        force[lines + compounds + place, at] = reached
        composition[lines + compounds + place, :, at] = state.T
        melt.awake[compounds + place, these] = reached > -ASLEEP_J
        solution = force[lines + compounds :]
        alike = np.abs(melt.solutions[:, :count, columns] - melt.solutions[:, count:, columns]).max(axis=0)
        both = np.isfinite(solution[:count]) & np.isfinite(solution[count:]) & (alike < SAME_COMPOSITION)
        solution[count:][both] = -np.inf
        twin, twin_at = np.nonzero(both)
        melt.awake[compounds + count + twin, columns[twin_at]] = False
    return force, composition


def _complement(force: FloatArray, bend: FloatArray, floor: FloatArray, allowed: np.ndarray) -> FloatArray:
    """Return amounts at or above their floors that bring every driving force to zero or below.

    Projected Gauss-Seidel on all columns at once tells which solids take part; the equations of these are then
    solved. At an invariant the matrix is near singular and the amounts only grow, up to ten times the liquid.
    """
    amounts = np.zeros_like(force)
    diagonal = np.maximum(np.einsum("ppn->pn", bend), SMALLEST_CURVATURE)
    for _ in range(SWEEPS):
        for p in range(len(force)):
            gap = force[p] - np.einsum("qn,qn->n", bend[p], amounts)
            amounts[p] = np.where(allowed[p], np.clip(amounts[p] + gap / diagonal[p], floor[p], LARGEST), 0.0)
    part = allowed & (amounts > floor)
    both = part[:, None] & part[None, :]
    eye = np.eye(len(force))[:, :, None]
    matrix = np.where(both, bend, 0.0) + eye * np.where(part, RIDGE * diagonal, 1.0)
    wanted = np.where(part, force - np.einsum("pqn,qn->pn", bend, np.where(part, 0.0, amounts)), amounts)
    exact = np.linalg.solve(np.moveaxis(matrix, 2, 0), wanted.T[:, :, None])[:, :, 0].T
    fits = np.isfinite(exact).all(axis=0) & (exact >= floor).all(axis=0) & (exact <= LARGEST).all(axis=0)
    return np.where(fits, exact, amounts)


def _throw_down(
    melt: Melt,
    columns: np.ndarray,
    candidates: np.ndarray,
    amounts: FloatArray,
    composition: FloatArray,
    formed: FloatArray,
    elements: tuple[str, ...],
) -> None:
    """Take the amounts, moles a mole of liquid, out of the liquid, in place."""
    total = amounts.sum(axis=0)
    away = np.einsum("pn,pin->in", amounts, composition[candidates])
    x = melt.x[:, columns]
    # No more than a share of the liquid, nor of any element in it, leaves at once.
    with np.errstate(divide="ignore", invalid="ignore"):
        drain = np.where(away > 0, away / np.maximum(x, 1e-30), 0.0).max(axis=0)
        share = np.minimum(1.0, np.minimum(MOST_PER_ROUND / np.maximum(total, 1e-30), 0.9 / np.maximum(drain, 1e-30)))
    amounts = amounts * share
    away, total = away * share, total * share
    moles = amounts * melt.left[columns]
    formed[np.ix_(candidates, columns)] += moles
    mass = moles * molar_mass(np.moveaxis(composition[candidates], 1, 0), elements)
    main = composition[candidates].argmax(axis=1)
    for row, p in enumerate(candidates):
        np.add.at(melt.frozen, (p, main[row], columns), mass[row])
    melt.x[:, columns] = np.maximum(x - away, 0.0) / (1.0 - total)
    melt.left[columns] *= 1.0 - total
