"""The tangent-plane test: what it finds touches the plane, and nothing sampled finely lies nearer."""

import numpy as np
import pytest

from selector.melting.gibbs import R_J_MOL_K, system
from selector.melting.parameters import ELEMENTS, thermo
from selector.melting.tangent import (
    HOPELESS_J,
    compound_samples,
    demixes,
    largest_force,
    liquid_force,
    sampled_compound,
    sampled_solutions,
    solution_samples,
    touch,
)

COUNT = 12


def planes(elements, seed=1):
    """Return temperatures and the potentials of random liquids, some above and some below their liquidus."""
    rng = np.random.default_rng(seed)
    x = rng.dirichlet(np.ones(len(elements)), COUNT).T
    t_k = rng.uniform(380, 800, COUNT)
    values = thermo().at(t_k)
    family = system(elements)
    return t_k, values, family.liquid.potentials(family.liquid_strengths(values), t_k, x), x


@pytest.mark.parametrize("elements", [("Bi", "Sn"), ("Ag", "Cu", "Sn"), ("Ag", "Bi", "In", "Sn"), ELEMENTS])
def test_where_a_solution_touches_its_potentials_are_the_planes_less_the_force(elements):
    t_k, values, mu, _ = planes(elements)
    family = system(elements)
    count = len(family.solutions.phases)
    phase, column = np.divmod(np.arange(count * COUNT), COUNT)
    strengths = family.solutions.gather(values, phase, column)
    sampled = sampled_solutions(elements, t_k, mu)
    start = solution_samples(len(elements))[:, sampled.argmax(axis=1)[phase, column]]
    y, force = touch(family.solutions, strengths, t_k[column], mu[:, column], start)
    assert y.sum(axis=0) == pytest.approx(np.ones(len(phase)))
    own = family.solutions.potentials(strengths, t_k[column], y)
    # An element that a phase does not take up stands at a wall and has no slope; a trace of 1e-7 carries no energy.
    present = (y > 1e-7) & (family.solutions.pure_rows[phase].T >= 0)
    gap = np.where(present, mu[:, column] - own - force, 0.0)
    assert np.abs((y * gap).sum(axis=0)).max() < 1e-3
    # At most the ascent that is left, 1e-3 J, stands behind a difference: in the bulk of a phase that is a few J.
    # Far under the plane a phase near its own unmixing may still be climbing: it does not decide anything.
    near = force > -HOPELESS_J
    assert near.sum() > COUNT
    assert (y * gap**2).sum(axis=0)[near].max() < 2 * R_J_MOL_K * 800 * 1e-3


@pytest.mark.parametrize("phase", ["HCP_A3", "FCC_A1", "BCT_A5", "TET_ALPHA1", "INSN_GAMMA"])
def test_no_composition_of_a_binary_lies_nearer_to_the_plane(phase):
    elements = ("In", "Sn")
    t_k, values, mu, _ = planes(elements)
    family = system(elements)
    s = [entry.id for entry in family.solutions.phases].index(phase)
    fine = np.linspace(1e-6, 1 - 1e-6, 4001)
    grid = np.stack([fine, 1 - fine])
    samples = solution_samples(2)
    forces = sampled_solutions(elements, t_k, mu)[s]
    start = samples[:, forces.argmax(axis=0)]
    strengths = family.solutions.gather(values, np.full(COUNT, s), np.arange(COUNT))
    _, force = touch(family.solutions, strengths, t_k, mu, start)
    for k in range(COUNT):
        own = family.solutions.gather(values, np.full(4001, s), np.full(4001, k))
        energy = family.solutions.energy(own, grid)[0] + R_J_MOL_K * t_k[k] * (grid * np.log(grid)).sum(axis=0)
        best = (grid.T @ mu[:, k] - energy).max()
        assert force[k] == pytest.approx(best, abs=0.01)


def test_a_compound_with_sublattices_is_found_at_its_best_state():
    elements, phase = ("Cu", "Sn"), "DO3"
    t_k, values, mu, _ = planes(elements, seed=2)
    family = system(elements)
    model = next(compound for compound in family.compounds if compound.phase.id == phase)
    y, compositions = compound_samples(phase, elements)
    assert compositions.sum(axis=0) == pytest.approx(np.ones(y.shape[1]))
    start = y[:, sampled_compound(model, t_k, mu).argmax(axis=0)]
    _, force = touch(model, values, t_k, mu, start)
    fine = 1 / (1 + np.exp(-np.linspace(-25, 25, 601)))
    one, other = (part.ravel() for part in np.meshgrid(fine, fine))
    grid = np.stack([one, 1 - one, other, 1 - other])
    mixing = (model.site_moles[:, None] * grid * np.log(grid)).sum(axis=0)
    for k in range(COUNT):
        energy = model.energy(values[:, [k]], grid)[0] + R_J_MOL_K * t_k[k] * mixing
        best = ((model.composition(grid).T @ mu[:, k]) - energy / model.moles).max()
        assert best - 0.01 <= force[k] <= best + 1.0


def test_the_force_of_all_solids_is_the_best_of_each():
    elements = ("Ag", "Cu", "Sn")
    t_k, values, mu, _ = planes(elements, seed=3)
    family = system(elements)
    found = largest_force(values, t_k, mu, elements)
    each = [family.lines.forces(values, mu).max(axis=0)]
    points = solution_samples(3)
    forces = sampled_solutions(elements, t_k, mu)
    for s in range(len(family.solutions.phases)):
        own = family.solutions.gather(values, np.full(COUNT, s), np.arange(COUNT))
        each.append(touch(family.solutions, own, t_k, mu, points[:, forces[s].argmax(axis=0)])[1])
    for model in family.compounds:
        y, _ = compound_samples(model.phase.id, elements)
        start = y[:, sampled_compound(model, t_k, mu).argmax(axis=0)]
        each.append(touch(model, values, t_k, mu, start)[1])
    best = np.max(each, axis=0)
    near = best < 900
    assert near.sum() >= 3
    assert (~near).sum() >= 3
    assert found[near] == pytest.approx(best[near], abs=1e-6)
    # Far above zero only the sign is asked for, and read between knots of temperature.
    assert (found[~near] > 500).all()


def test_sampled_energies_between_knots_are_near_the_true_ones():
    elements = ("Bi", "Pb", "Sn")
    t_k, values, mu, _ = planes(elements, seed=4)
    family = system(elements)
    points = solution_samples(3)
    forces = sampled_solutions(elements, t_k, mu)
    for s, phase in enumerate(family.solutions.phases):
        held = family.solutions.pure_rows[s] >= 0
        taken = points[~held].sum(axis=0) == 0
        for k in range(0, COUNT, 4):
            own = family.solutions.gather(values, np.full(points.shape[1], s), np.full(points.shape[1], k))
            logs = np.log(np.maximum(points, 1e-300))
            energy = family.solutions.energy(own, points)[0] + R_J_MOL_K * t_k[k] * (points * logs).sum(axis=0)
            exact = points.T @ mu[:, k] - energy
            assert forces[s][taken, k] == pytest.approx(exact[taken], abs=60.0), phase.id


@pytest.mark.parametrize("elements", [("Bi", "Sn"), ("Ag", "Bi", "Pb", "Sn"), ELEMENTS])
def test_a_liquid_lies_on_its_own_plane(elements):
    t_k, values, mu, x = planes(elements)
    force = liquid_force(values, t_k, mu, elements)
    split = demixes(t_k, x, elements)
    assert force[~split] == pytest.approx(np.zeros((~split).sum()), abs=0.1)
    assert (force[split] > 0).all()
    # A plane that is lifted by 50 J/mol leaves the liquid 50 J/mol under it.
    assert liquid_force(values, t_k, mu + 50, elements)[~split] == pytest.approx(np.full((~split).sum(), 50), abs=0.1)


@pytest.mark.parametrize(("count", "samples"), [(1, 1), (2, 13), (3, 3 + 3 * 11 + 4)])
def test_samples_are_compositions_with_every_corner(count, samples):
    points = solution_samples(count)
    assert points.shape == (count, samples)
    assert points.sum(axis=0) == pytest.approx(np.ones(samples))
    assert {tuple(point) for point in np.eye(count)} <= {tuple(point) for point in points.T}
