"""Gibbs energies of every phase of the tables against pycalphad, and slopes and curvature by finite differences."""

import numpy as np
import pytest

from selector.melting.database import database
from selector.melting.gibbs import R_J_MOL_K, system
from selector.melting.parameters import ELEMENTS, thermo

TEMPERATURES_K = np.array([320.0, 480.0, 900.0])
POINTS = 4
FAMILY = system(ELEMENTS)
VALUES = thermo().at(TEMPERATURES_K)
SOLUTIONS = {
    phase.id: (stack, s) for stack in (FAMILY.liquid, FAMILY.solutions) for s, phase in enumerate(stack.phases)
}
COMPOUNDS = {compound.phase.id: compound for compound in FAMILY.compounds}
LINES = {phase.id: k for k, phase in enumerate(FAMILY.lines.phases)}


def taken(phase):
    """Return the elements on each sublattice, in alphabetical order as pycalphad has the site fractions."""
    return [sorted(sublattice) for sublattice in thermo().phases[phase].constituents]


def at_random(phase):
    """Return site fractions (sites, POINTS), none near zero, the same at every run."""
    rng = np.random.default_rng(sorted(thermo().phases).index(phase))
    parts = [rng.dirichlet(np.full(len(names), 2.0), POINTS).T for names in taken(phase)]
    return np.maximum(np.concatenate(parts), 1e-6)


def theirs(phase, y):
    """Return pycalphad's energy, J/mol of atoms, (temperatures, points)."""
    from pycalphad import calculate

    elements = sorted({name.upper() for names in taken(phase) for name in names})
    found = calculate(
        database(), [*elements, "VA"], [phase], T=list(TEMPERATURES_K), P=101325, N=1, points=y.T, output="GM"
    )
    return np.array(found.GM).reshape(len(TEMPERATURES_K), POINTS)


def mixing(y, moles):
    return R_J_MOL_K * TEMPERATURES_K[:, None] * (moles[:, None] * y * np.log(y)).sum(axis=0)


def strengths(stack, s, k, count):
    return stack.gather(VALUES, np.full(count, s), np.full(count, k))


def whole(phase, y):
    """Return mole fractions of all eight elements from the site fractions of a solution."""
    x = np.zeros((len(ELEMENTS), y.shape[1]))
    x[[ELEMENTS.index(name) for name in taken(phase)[0]]] = y
    return x


def test_every_phase_is_one_of_three_kinds():
    assert sorted([*SOLUTIONS, *COMPOUNDS, *LINES]) == sorted(thermo().phases)
    assert min(len(SOLUTIONS), len(COMPOUNDS), len(LINES)) > 3


@pytest.mark.parametrize("phase", sorted(SOLUTIONS))
def test_the_energy_of_a_solution_is_the_other_engines(phase):
    stack, s = SOLUTIONS[phase]
    y = at_random(phase)
    y /= y.sum(axis=0)
    own = np.array([stack.energy(strengths(stack, s, k, POINTS), whole(phase, y))[0] for k in range(3)])
    assert own + mixing(y, np.ones(len(y))) == pytest.approx(theirs(phase, y), abs=1e-6, rel=1e-9)


@pytest.mark.parametrize("phase", sorted(COMPOUNDS))
def test_the_energy_of_a_compound_is_the_other_engines(phase):
    model, y = COMPOUNDS[phase], at_random(phase)
    for part in model.sublattices:
        y[part] /= y[part].sum(axis=0)
    names = [name for names in taken(phase) for name in names]
    assert [ELEMENTS[e] for e in model.site_element] == names
    own = np.array([model.energy(VALUES[:, [k]], y)[0] for k in range(3)])
    assert (own + mixing(y, model.site_moles)) / model.moles == pytest.approx(theirs(phase, y), abs=1e-6, rel=1e-9)


@pytest.mark.parametrize("phase", sorted(LINES))
def test_the_energy_of_a_compound_of_fixed_composition_is_the_other_engines(phase):
    own = -FAMILY.lines.forces(VALUES, np.zeros((len(ELEMENTS), 3)))[LINES[phase]]
    other = theirs(phase, np.ones((len(taken(phase)), POINTS)))
    assert np.repeat(own[:, None], POINTS, axis=1) == pytest.approx(other, abs=1e-6, rel=1e-9)


def test_the_plane_lifts_a_fixed_composition_by_what_it_holds():
    k = LINES["CU6SN5"]
    mu = np.zeros((len(ELEMENTS), 3))
    mu[ELEMENTS.index("Cu")], mu[ELEMENTS.index("Sn")] = 1000.0, 100.0
    lifted = FAMILY.lines.forces(VALUES, mu)[k] - FAMILY.lines.forces(VALUES, 0 * mu)[k]
    assert lifted == pytest.approx(np.full(3, 0.545 * 1000 + 0.455 * 100))


STEP = 1e-5


@pytest.mark.parametrize("phase", sorted(SOLUTIONS))
def test_the_slope_of_a_solution_is_the_difference_of_its_energy(phase):
    stack, s = SOLUTIONS[phase]
    x, own = whole(phase, at_random(phase)), strengths(stack, s, 1, POINTS)
    slope = stack.energy(own, x)[1]
    for name in taken(phase)[0]:
        site = ELEMENTS.index(name)
        up, down = x.copy(), x.copy()
        up[site] += STEP
        down[site] -= STEP
        difference = (stack.energy(own, up)[0] - stack.energy(own, down)[0]) / (2 * STEP)
        assert slope[site] == pytest.approx(difference, abs=0.02, rel=1e-6), name


@pytest.mark.parametrize("phase", sorted(COMPOUNDS))
def test_the_slope_of_a_compound_is_the_difference_of_its_energy(phase):
    model, y = COMPOUNDS[phase], at_random(phase)
    slope = model.energy(VALUES[:, [1]], y)[1]
    for site in range(len(y)):
        up, down = y.copy(), y.copy()
        up[site] += STEP
        down[site] -= STEP
        difference = (model.energy(VALUES[:, [1]], up)[0] - model.energy(VALUES[:, [1]], down)[0]) / (2 * STEP)
        assert slope[site] == pytest.approx(difference, abs=0.02, rel=1e-6), site


def molar_energy(stack, own, t_k, x):
    return stack.energy(own, x)[0] + R_J_MOL_K * t_k * (x * np.log(x)).sum(axis=0)


def test_potentials_are_the_slopes_of_the_tangent_plane():
    x, own = whole("LIQUID", at_random("LIQUID")), strengths(FAMILY.liquid, 0, 1, POINTS)
    x /= x.sum(axis=0)
    t_k = np.full(POINTS, TEMPERATURES_K[1])
    mu = FAMILY.liquid.potentials(own, t_k, x)
    assert (mu * x).sum(axis=0) == pytest.approx(molar_energy(FAMILY.liquid, own, t_k, x), rel=1e-12)
    for first in range(len(ELEMENTS)):
        for second in range(first):
            shift = np.zeros((len(ELEMENTS), 1))
            shift[first], shift[second] = STEP, -STEP
            up, down = (molar_energy(FAMILY.liquid, own, t_k, x + sign * shift) for sign in (1, -1))
            assert mu[first] - mu[second] == pytest.approx((up - down) / (2 * STEP), abs=0.05, rel=1e-5)


def test_an_absent_element_stands_far_below_everything():
    x = whole("LIQUID", at_random("LIQUID"))
    x[ELEMENTS.index("Zn")] = 0.0
    mu = FAMILY.liquid.potentials(strengths(FAMILY.liquid, 0, 1, POINTS), np.full(POINTS, 480.0), x)
    assert (mu[ELEMENTS.index("Zn")] < -1e6).all()
    assert np.isfinite(mu).all()


@pytest.mark.parametrize(
    "elements", [("Bi", "Pb"), ("Bi", "Cu", "Pb", "Sb", "Zn"), ("Ag", "Cu", "Sn"), ("Ag", "Sn", "Zn"), ELEMENTS]
)
def test_curvature_is_the_difference_of_the_slopes(elements):
    family = system(elements)
    rng = np.random.default_rng(7)
    x = rng.dirichlet(np.full(len(elements), 2.0), POINTS).T
    t_k = np.full(x.shape[1], 480.0)
    values = thermo().at(np.array([480.0]))
    own = family.liquid.gather(values, np.zeros(x.shape[1], int), np.zeros(x.shape[1], int))
    bend = family.liquid.curvature(own, t_k, x)
    assert bend == pytest.approx(np.swapaxes(bend, 0, 1))
    for site in range(len(x)):
        up, down = x.copy(), x.copy()
        up[site] += STEP
        down[site] -= STEP
        difference = (family.liquid.energy(own, up)[1] - family.liquid.energy(own, down)[1]) / (2 * STEP)
        difference[site] += R_J_MOL_K * t_k / x[site]
        assert bend[site] == pytest.approx(difference, abs=2.0, rel=1e-5), site


def test_ternary_terms_of_both_kinds_are_among_them():
    # A plain constant in Ag-Cu-Sn; in Ag-Sn-Zn three of them, each weighted by one of the elements.
    assert [triple.own for triple in system(("Ag", "Cu", "Sn")).liquid.triples] == [None]
    assert sorted(triple.own for triple in system(("Ag", "Sn", "Zn")).liquid.triples) == [0, 1, 2]
