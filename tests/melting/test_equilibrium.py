"""The checked equilibrium: a solver that gives nothing, raises, or stops short is never taken at its word."""

import numpy as np
import pytest

import selector.melting.equilibrium as equilibrium
from selector.composition import from_mapping, parse
from selector.melting.alloy import _solidus, _turning, melt, mole_fractions
from selector.melting.coverage import coverage
from selector.melting.equilibrium import NUDGES_K, State, UnsolvedError, has_liquid, state_at
from selector.melting.parameters import T_LOW_K
from selector.units import celsius, kelvin

ELEMENTS = ("Bi", "Sn")
ALLOY = parse("Sn-40Bi")
X = mole_fractions(coverage(ALLOY))
HALF_LIQUID_K = kelvin(150)


@pytest.fixture
def no_hull(monkeypatch):
    monkeypatch.setattr(equilibrium, "lowest", lambda *_: None)


def test_the_lever_rule_holds_in_a_binary():
    state = state_at(ELEMENTS, X, HALF_LIQUID_K)
    phases = {name: (amount, composition) for name, amount, composition in state.phases}
    assert set(phases) == {"LIQUID", "BCT_A5"}
    liquid, solid = phases["LIQUID"][1][0], phases["BCT_A5"][1][0]
    assert state.liquid_moles == pytest.approx((X[0] - solid) / (liquid - solid), abs=1e-6)
    grams = 208.98 * liquid + 118.71 * (1 - liquid)
    whole = 208.98 * X[0] + 118.71 * X[1]
    assert state.liquid_mass == pytest.approx(state.liquid_moles * grams / whole, abs=1e-4)
    assert state.liquid_mass > state.liquid_moles


@pytest.mark.usefixtures("no_hull")
def test_nothing_found_is_a_failure_and_never_solid(monkeypatch):
    asked = []
    monkeypatch.setattr(equilibrium, "_solve", lambda elements, x, t_k: asked.append(t_k))
    with pytest.raises(UnsolvedError, match=r"no checked equilibrium at 423\.15 K"):
        has_liquid(ELEMENTS, X, HALF_LIQUID_K)
    assert asked == pytest.approx([HALF_LIQUID_K + nudge for nudge in NUDGES_K])
    with pytest.raises(UnsolvedError):
        state_at(ELEMENTS, X, HALF_LIQUID_K)


class Answer:
    """What pycalphad's `equilibrium` returns, as far as it is read."""

    def __init__(self, phases, amounts, compositions, potentials):
        self.Phase, self.NP, self.X, self.MU = map(np.array, (phases, amounts, compositions, potentials))


PLANE = [-20000.0, -20000.0]
BROKEN = {
    "NaN everywhere": Answer(["", ""], [np.nan, np.nan], [[np.nan] * 2] * 2, [np.nan, np.nan]),
    "NaN potentials": Answer(["BCT_A5", ""], [1.0, np.nan], [[0.4, 0.6]] * 2, [np.nan, -1.0]),
    "NaN amounts": Answer(["BCT_A5", "LIQUID"], [np.nan, np.nan], [[0.4, 0.6]] * 2, PLANE),
    "half of the alloy": Answer(["BCT_A5", "LIQUID"], [0.5, np.nan], [[0.4, 0.6]] * 2, PLANE),
}


@pytest.mark.usefixtures("no_hull")
@pytest.mark.parametrize("how", list(BROKEN))
def test_a_broken_answer_is_no_answer(monkeypatch, how):
    import pycalphad

    monkeypatch.setattr(pycalphad, "equilibrium", lambda *_, **__: BROKEN[how])
    assert equilibrium._solve(ELEMENTS, X, HALF_LIQUID_K) is None
    with pytest.raises(UnsolvedError):
        has_liquid(ELEMENTS, X, HALF_LIQUID_K)


@pytest.mark.usefixtures("no_hull")
@pytest.mark.parametrize("error", [IndexError, ValueError, np.linalg.LinAlgError, ZeroDivisionError])
def test_a_solver_that_raises_is_no_answer(monkeypatch, error):
    import pycalphad

    def broken(*_, **__):
        raise error("inside the solver")

    monkeypatch.setattr(pycalphad, "equilibrium", broken)
    assert equilibrium._solve(ELEMENTS, X, HALF_LIQUID_K) is None
    with pytest.raises(UnsolvedError):
        state_at(ELEMENTS, X, HALF_LIQUID_K)


def solid_only(elements, x, t_k):
    """Return tin and bismuth side by side, with the plane through both, as a solver does that misses the liquid."""
    from selector.melting.gibbs import system
    from selector.melting.parameters import thermo

    family, values = system(elements), thermo().at(np.array([t_k]))
    ends = []
    for phase, main in (("RHOMBO_A7", 0), ("BCT_A5", 1)):
        s = [entry.id for entry in family.solutions.phases].index(phase)
        strengths = family.solutions.gather(values, np.array([s]), np.array([0]))
        ends.append(strengths.pure[main, 0])
    phases = (("RHOMBO_A7", X[0], np.array([1.0, 0.0])), ("BCT_A5", X[1], np.array([0.0, 1.0])))
    return State(t_k, phases, 0.0, 0.0), np.array(ends)


@pytest.mark.usefixtures("no_hull")
def test_a_metastable_answer_is_no_answer(monkeypatch):
    monkeypatch.setattr(equilibrium, "_solve", solid_only)
    with pytest.raises(UnsolvedError):
        has_liquid(ELEMENTS, X, HALF_LIQUID_K)
    with pytest.raises(UnsolvedError):
        state_at(ELEMENTS, X, HALF_LIQUID_K)


@pytest.mark.parametrize("solver", [solid_only, lambda *_: None])
def test_the_hull_answers_where_the_solver_does_not(monkeypatch, solver):
    honest = state_at(ELEMENTS, X, HALF_LIQUID_K)
    monkeypatch.setattr(equilibrium, "_solve", solver)
    assert has_liquid(ELEMENTS, X, HALF_LIQUID_K)
    assert not has_liquid(ELEMENTS, X, kelvin(130))
    assert state_at(ELEMENTS, X, HALF_LIQUID_K).liquid_mass == pytest.approx(honest.liquid_mass, abs=2e-3)


def test_an_answer_of_the_hull_is_checked_too(monkeypatch):
    monkeypatch.setattr(equilibrium, "_solve", lambda *_: None)
    monkeypatch.setattr(equilibrium, "lowest", lambda *asked: (solid_only(*asked)[0].phases, solid_only(*asked)[1]))
    with pytest.raises(UnsolvedError):
        has_liquid(ELEMENTS, X, HALF_LIQUID_K)


def test_one_temperature_without_an_answer_is_asked_beside(monkeypatch):
    honest = equilibrium._solve
    monkeypatch.setattr(
        equilibrium, "_solve", lambda elements, x, t_k: None if t_k == HALF_LIQUID_K else honest(elements, x, t_k)
    )
    monkeypatch.setattr(equilibrium, "lowest", lambda *_: None)
    assert state_at(ELEMENTS, X, HALF_LIQUID_K).t_k == HALF_LIQUID_K + NUDGES_K[1]


@pytest.mark.usefixtures("no_hull")
def test_failures_reach_the_result_in_words(monkeypatch):
    monkeypatch.setattr(equilibrium, "_solve", lambda *_: None)
    found = melt([ALLOY])[0]
    assert [failure.split(":")[0] for failure in found.failures] == ["T98", "T90", "solidus"]
    for failure in found.failures:
        assert "found no checked answer" in failure
        assert "degC" in failure or " K)" in failure
    assert (found.t98_c, found.t90_c, found.solidus_c) == (None, None, None)
    # Liquidus and freezing need no solver, and the first liquid of this alloy decides the onset alone.
    assert found.liquidus_c == pytest.approx(174.8, abs=0.2)
    assert found.remelt_onset_c == pytest.approx(138.8, abs=0.2)


@pytest.mark.usefixtures("no_hull")
def test_an_onset_that_needs_the_solidus_is_not_known_without_it(monkeypatch):
    monkeypatch.setattr(equilibrium, "_solve", lambda *_: None)
    found = melt([parse("Sn-3.4Ag-4.8Bi")])[0]
    assert found.remelt_onset_c is None
    assert found.first_liquid_mass == pytest.approx(0.03, abs=0.005)


def test_a_hole_in_the_bracket_is_gone_around_and_a_wide_one_is_a_failure():
    def holed(low, high):
        def beyond(t_k):
            if low < t_k < high:
                raise UnsolvedError("a hole")
            return t_k > (low + high) / 2

        return beyond

    low, high = _turning(holed(150.0, 150.4), 100.0, 180.0)
    assert low <= 150.0 < 150.4 <= high
    assert high - low < 1.0
    with pytest.raises(UnsolvedError, match=r"no checked equilibrium from .* to .* degC"):
        _turning(holed(140.0, 160.0), 100.0, 180.0)


def test_liquid_down_to_room_temperature_is_a_failure_of_the_solidus(monkeypatch):
    import selector.melting.alloy as alloy

    monkeypatch.setattr(alloy, "has_liquid", lambda *_: True)
    with pytest.raises(UnsolvedError, match="liquid below 25 degC"):
        _solidus(ELEMENTS, X, T_LOW_K + 12, T_LOW_K + 100)


def test_the_bottom_is_asked_some_kelvin_lower_and_then_given_up(monkeypatch):
    import selector.melting.alloy as alloy

    asked = []

    def only_lower(elements, x, t_k):
        asked.append(t_k)
        if t_k > 397:
            raise UnsolvedError("none here")
        return False

    monkeypatch.setattr(alloy, "has_liquid", only_lower)
    assert alloy._holds_liquid(ELEMENTS, X, 400.0) is False
    assert asked == pytest.approx([400.0, 399.3, 398.3, 396.9])
    with pytest.raises(UnsolvedError, match="none here"):
        alloy._holds_liquid(ELEMENTS, X, 440.0)


# Solidus by the engine while a solid state that misses phases counted as liquid: 46.3 and 65.3 degC, under the last
# liquid as frozen. The right ones are those of the stable states, which the hull and pycalphad given a hint agree on.
@pytest.mark.parametrize(
    ("parts", "solidus_c"),
    [
        ({"Ag": 27.54, "Bi": 28.97, "In": 38.89, "Sn": 4.6}, 71.8),
        ({"Ag": 12.08, "Bi": 25.85, "In": 15.88, "Sn": 46.19}, 76.2),
    ],
)
def test_a_metastable_state_does_not_set_the_solidus(parts, solidus_c):
    found = melt([from_mapping(parts)])[0]
    assert found.failures == ()
    assert found.solidus_c == pytest.approx(solidus_c, abs=0.3)
    assert found.solidus_c >= found.last_liquid_c


def test_only_the_more_stable_of_two_compounds_of_one_composition_is_given_to_the_solver():
    elements = ("Cu", "Sn")
    hot = equilibrium._without_twins(elements, ["CU6SN5", "CU6SN5_L"], kelvin(220))
    cold = equilibrium._without_twins(elements, ["CU6SN5", "CU6SN5_L"], kelvin(100))
    assert (hot, cold) == (["CU6SN5"], ["CU6SN5_L"])


def test_the_solidus_of_a_eutectic_alloy_is_its_invariant():
    low, high = _solidus(ELEMENTS, X, kelvin(120), kelvin(170))
    assert high - low <= 0.03
    assert celsius(high) == pytest.approx(138.8, abs=0.2)
