"""Equilibrium of one alloy by the lower hull of all phases: slower than a local solver, and it cannot stop short of it.

Sampled states of every phase span a first hull; its lowest point at the alloy's composition is a linear programme,
whose multipliers are chemical potentials. From under the plane of these each phase climbs to its nearest states, which
join the hull, until no phase lies under the plane: then the state is stable, by the test that checks every answer.
Source: the common-tangent condition as a cutting-plane method; common practice.
"""

import numpy as np

from selector.melting.gibbs import R_J_MOL_K, SMALLEST_FRACTION, Compound, Solutions, system
from selector.melting.parameters import FloatArray, thermo
from selector.melting.tangent import OTHER_SET, compound_samples, solution_samples, touch

UNDER_PLANE_J = 0.003
MOST_ROUNDS = 60
SAME_SET = 0.02
SMALLEST_AMOUNT = 1e-7
Phases = tuple[tuple[str, float, FloatArray], ...]


class _Branch:
    """The held states of one phase at a temperature: compositions (elements, S), energies (S,), J/mol of atoms."""

    def __init__(self, phase: str, x: FloatArray, energy: FloatArray) -> None:
        self.phase, self.x, self.energy = phase, x, energy

    def nearer(self, mu: FloatArray) -> float:
        """Return the driving force of the best state; phases that vary add what they climb to."""
        return float((mu @ self.x - self.energy).max())


class _Varying(_Branch):
    """A phase of variable composition."""

    def __init__(
        self, phase: str, model: Solutions | Compound, stacked: int, elements: tuple[str, ...], t_k: float
    ) -> None:
        self.model, self.stacked, self.t_k = model, np.array([stacked]), np.array([t_k])
        self.values = thermo().at(self.t_k)
        self.y = (
            solution_samples(len(elements)) if isinstance(model, Solutions) else compound_samples(phase, elements)[0]
        )
        logs = np.log(np.maximum(self.y, SMALLEST_FRACTION))
        mixing = R_J_MOL_K * t_k * (model.site_moles[:, None] * self.y * logs).sum(axis=0)
        column = np.zeros(self.y.shape[1], dtype=int)
        if isinstance(model, Solutions):
            energy = model.energy(model.gather(self.values, self.stacked[column], column), self.y)[0]
        else:
            energy = model.energy(self.values, self.y)[0]
        super().__init__(phase, self._composition(self.y), (energy + mixing) / model.moles)

    def _composition(self, y: FloatArray) -> FloatArray:
        return y if isinstance(self.model, Solutions) else self.model.composition(y)

    def nearer(self, mu: FloatArray) -> float:
        force = mu @ self.x - self.energy
        best = int(force.argmax())
        # A second set of one phase may hide behind the first.
        away = np.abs(self.x - self.x[:, [best]]).max(axis=0) > OTHER_SET
        starts = [best, int(np.where(away, force, -np.inf).argmax())] if away.any() else [best]
        column = np.zeros(len(starts), dtype=int)
        values = self.values[:, column]
        own = (
            self.model.gather(values, self.stacked[column], np.arange(len(starts)))
            if isinstance(self.model, Solutions)
            else values
        )
        y, reached = touch(
            self.model, own, self.t_k[column], np.repeat(mu[:, None], len(starts), axis=1), self.y[:, starts]
        )
        x = self._composition(y)
        self.y, self.x = np.hstack([self.y, y]), np.hstack([self.x, x])
        self.energy = np.append(self.energy, mu @ x - reached)
        return float(max(force[best], reached.max()))


def lowest(elements: tuple[str, ...], x: FloatArray, t_k: float) -> tuple[Phases, FloatArray] | None:
    """Return the stable phases of an alloy and its chemical potentials.

    Parameters
    ----------
    elements : tuple of str
        In alphabetical order.
    x : array (elements,)
        Mole fractions, all above 0.
    t_k : float, K

    Returns
    -------
    (phases, potentials) or None
        Phases as name, mole fraction and composition, potentials in J/mol; None where the hull does not come to rest.
    """
    from scipy.optimize import linprog

    branches = _branches(elements, t_k)
    for _ in range(MOST_ROUNDS):
        energy = np.concatenate([branch.energy for branch in branches])
        points = np.hstack([branch.x for branch in branches])
        owner = [branch.phase for branch in branches for _ in branch.energy]
        found = linprog(energy, A_eq=points, b_eq=x, method="highs")
        if found.status != 0:
            return None
        mu = np.array(found.eqlin.marginals)
        if max([branch.nearer(mu) for branch in branches]) <= UNDER_PLANE_J:
            return _gathered(owner, points, found.x), mu
    return None


def _branches(elements: tuple[str, ...], t_k: float) -> list[_Branch]:
    family = system(elements)
    lines = -family.lines.forces(thermo().at(np.array([t_k])), np.zeros((len(elements), 1)))
    found = [
        _Branch(phase.id, family.lines.compositions[:, [k]], lines[k]) for k, phase in enumerate(family.lines.phases)
    ]
    found += [_Varying(compound.phase.id, compound, 0, elements, t_k) for compound in family.compounds]
    for stack in (family.liquid, family.solutions):
        found += [_Varying(phase.id, stack, s, elements, t_k) for s, phase in enumerate(stack.phases)]
    return found


def _gathered(owner: list[str], points: FloatArray, amounts: FloatArray) -> Phases:
    """Return the phases that hold something, neighbouring states of one phase as one."""
    phases: list[tuple[str, float, FloatArray]] = []
    for k in np.flatnonzero(amounts > SMALLEST_AMOUNT):
        amount, composition = float(amounts[k]), points[:, k]
        for n, (phase, held, own) in enumerate(phases):
            if phase == owner[k] and np.abs(own - composition).max() < SAME_SET:
                phases[n] = phase, held + amount, (held * own + amount * composition) / (held + amount)
                break
        else:
            phases.append((owner[k], amount, composition))
    return tuple(phases)
