"""Equilibrium by the lower hull: the same answers as pycalphad where that finds them, and better where it does not."""

import numpy as np
import pytest

from selector.composition import from_mapping, parse
from selector.melting.alloy import mole_fractions
from selector.melting.coverage import coverage
from selector.melting.equilibrium import _solve, has_liquid, state_at
from selector.melting.hull import SAME_SET, lowest
from selector.melting.parameters import thermo
from selector.melting.tangent import largest_force, liquid_force
from selector.units import kelvin


def asked(alloy):
    entry = coverage(alloy)
    return entry.elements, mole_fractions(entry)


def by_name(phases):
    return {name: sum(amount for other, amount, _ in phases if other == name) for name, _, _ in phases}


@pytest.mark.parametrize(
    ("name", "temperature_c"),
    [("Sn-40Bi", 150), ("Sn-40Bi", 120), ("SAC305", 218), ("SAC305", 200), ("Sn-43Pb-14Bi", 140), ("Ag-28.1Cu", 700)],
)
def test_it_is_what_pycalphad_finds(name, temperature_c):
    elements, x = asked(parse(name))
    state, mu = _solve(elements, x, kelvin(temperature_c))
    phases, own = lowest(elements, x, kelvin(temperature_c))
    assert by_name(phases) == pytest.approx(by_name(state.phases), abs=2e-3)
    assert own @ x == pytest.approx(mu @ x, abs=0.01)
    for phase, _, composition in phases:
        same = [other for kind, _, other in state.phases if kind == phase]
        assert min(np.abs(composition - other).max() for other in same) < 2e-3


@pytest.mark.parametrize("seed", range(6))
def test_no_phase_lies_under_its_plane_and_the_phases_are_the_alloy(seed):
    rng = np.random.default_rng(seed)
    elements = (("Ag", "Bi", "In", "Sn"), ("Ag", "Cu", "Sb", "Sn"), ("Bi", "Pb", "Sn"))[seed % 3]
    x, t_k = rng.dirichlet(np.ones(len(elements))), rng.uniform(320, 700)
    phases, mu = lowest(elements, x, t_k)
    assert sum(amount for _, amount, _ in phases) == pytest.approx(1, abs=1e-5)
    assert sum(amount * composition for _, amount, composition in phases) == pytest.approx(x, abs=1e-5)
    at = np.array([t_k])
    assert largest_force(thermo().at(at), at, mu[:, None], elements)[0] < 0.01
    assert liquid_force(thermo().at(at), at, mu[:, None], elements)[0] < 0.01


def test_two_sets_of_one_phase_are_two_phases():
    # Silver and copper share a lattice and hardly mix: at 700 degC a eutectic alloy is two fcc phases.
    elements, x = asked(parse("Ag-28.1Cu"))
    phases, _ = lowest(elements, x, kelvin(700))
    assert [name for name, _, _ in phases] == ["FCC_A1", "FCC_A1"]
    assert np.abs(phases[0][2] - phases[1][2]).max() > 10 * SAME_SET


def test_a_pure_element():
    phases, mu = lowest(("Sn",), np.ones(1), 500.0)
    assert [(name, amount) for name, amount, _ in phases] == [("BCT_A5", pytest.approx(1.0))]
    assert lowest(("Sn",), np.ones(1), 510.0)[0][0][0] == "LIQUID"
    assert np.isfinite(mu).all()


# Where pycalphad 0.11.2 stops short: solid answers without the stable phases, 5 to 3,500 J/mol too high, or none.
STOPS_SHORT = [
    # wt%, degC, whether liquid is stable, the stable solids
    ({"Sn": 69.96, "Bi": 26.1, "Ag": 3.2, "Cu": 0.74}, 138.5, True, {"AG3SN", "CU6SN5_L", "BCT_A5"}),
    ({"Ag": 5.82, "Bi": 47.67, "In": 11.66, "Sn": 34.85}, 74.0, False, {"AG2IN", "RHOMBO_A7", "BIIN", "BCT_A5"}),
    ({"Ag": 27.54, "Bi": 28.97, "In": 38.89, "Sn": 4.6}, 72.0, True, {"AG2IN", "BIIN", "AGIN2"}),
    ({"Ag": 27.54, "Bi": 28.97, "In": 38.89, "Sn": 4.6}, 60.0, False, {"AG2IN", "BIIN", "AGIN2", "INSN_GAMMA"}),
]


@pytest.mark.parametrize(("parts", "temperature_c", "liquid", "solids"), STOPS_SHORT)
def test_where_the_solver_stops_short_the_stable_state_is_found(parts, temperature_c, liquid, solids):
    elements, x = asked(from_mapping(parts))
    state = state_at(elements, x, kelvin(temperature_c))
    assert {name for name, _, _ in state.phases} - {"LIQUID"} == solids
    assert (state.liquid_moles > 0.01) is liquid
    assert has_liquid(elements, x, kelvin(temperature_c)) is liquid


def test_one_that_does_not_come_to_rest_is_no_answer(monkeypatch):
    import selector.melting.hull as hull

    monkeypatch.setattr(hull, "MOST_ROUNDS", 1)
    elements, x = asked(parse("SAC305"))
    assert lowest(elements, x, kelvin(218)) is None


def test_a_programme_that_fails_is_no_answer(monkeypatch):
    import scipy.optimize

    class Failed:
        status = 4

    monkeypatch.setattr(scipy.optimize, "linprog", lambda *_, **__: Failed())
    elements, x = asked(parse("Sn-40Bi"))
    assert lowest(elements, x, kelvin(150)) is None
