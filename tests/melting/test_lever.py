"""The lever rule: mass balance at every temperature, its ends, its jump, and failures that stay visible."""

from itertools import pairwise

import pytest

import selector.melting.lever as module
from selector.composition import parse
from selector.melting.alloy import Melting
from selector.melting.equilibrium import UnsolvedError
from selector.melting.lever import lever
from selector.melting.store import melting_of

ALLOY = parse("Sn-40Bi")


@pytest.fixture(scope="module")
def melting():
    return melting_of([ALLOY])[0]


@pytest.fixture(scope="module")
def points(melting):
    return lever(ALLOY, melting)


def test_liquid_and_solids_are_the_whole_alloy_at_every_temperature(points):
    assert len(points) > module.POINTS
    for point in points:
        assert point.liquid + sum(mass for _, mass in point.phases) == pytest.approx(1, abs=1e-4)


def test_liquid_falls_with_temperature_from_all_to_nothing(points, melting):
    temperatures = [point.temperature_c for point in points]
    assert temperatures == sorted(temperatures, reverse=True)
    fractions = [point.liquid for point in points]
    assert all(lower <= upper + 1e-6 for upper, lower in pairwise(fractions))
    assert fractions[0] == pytest.approx(1)
    assert fractions[-1] == 0
    assert points[0].temperature_c > melting.liquidus_c
    assert points[-1].temperature_c < melting.solidus_c


def test_the_liquid_at_t98_and_t90_is_what_they_say(points, melting):
    at = {round(point.temperature_c, 6): point.liquid for point in points}
    assert at[round(melting.t98_c, 6)] == pytest.approx(0.98, abs=0.002)
    assert at[round(melting.t90_c, 6)] == pytest.approx(0.90, abs=0.002)


def test_the_eutectic_is_a_jump(points, melting):
    above = min((p for p in points if p.temperature_c > melting.solidus_c), key=lambda p: p.temperature_c)
    below = max((p for p in points if p.temperature_c < melting.solidus_c), key=lambda p: p.temperature_c)
    assert above.temperature_c - below.temperature_c < 0.3
    # Lever rule by hand at 138.8 degC: tin with 21 wt% Bi beside liquid of 57 wt%: (40 - 21)/(57 - 21) = 0.53.
    assert above.liquid == pytest.approx(0.53, abs=0.06)
    assert below.liquid == 0
    assert {name for name, _ in below.phases} == {"(Sn)", "(Bi)"}


@pytest.mark.parametrize(
    "melting",
    [
        Melting("x", ("Bi", "Sn"), (0.5, 0.5), "assessed", 3.0),
        Melting("x", ("Bi", "Sn"), (0.5, 0.5), "assessed", 3.0, liquidus_c=170.0),
        Melting("x", ("Sn",), (1.0,), "assessed", 3.0, liquidus_c=232.0, solidus_c=232.0),
    ],
)
def test_without_a_range_there_is_no_curve(melting):
    assert lever(ALLOY, melting) == ()


def test_a_temperature_that_the_solver_fails_at_stays_open(monkeypatch, melting, tmp_path):
    def unsolved(elements, x, t_k):
        raise UnsolvedError("nothing")

    monkeypatch.setenv("MELTWISE_CACHE", str(tmp_path))
    monkeypatch.setattr(module, "state_at", unsolved)
    found = lever(ALLOY, melting)
    assert len(found) > module.POINTS
    assert all(point.liquid is None and point.phases == () for point in found)


def test_a_second_call_computes_nothing(monkeypatch, points, melting):
    def never(*_):
        raise AssertionError("asked the solver")

    monkeypatch.setattr(module, "state_at", never)
    assert lever(ALLOY, melting) == points
