"""A section through a diagram: its ends, its eutectic, held shares, and every fault."""

import pytest

from selector.composition import parse
from selector.errors import InputError
from selector.melting.diagram import section


def test_a_binary_runs_from_one_pure_element_over_the_eutectic_to_the_other():
    told = []
    points = section("Sn", "Bi", steps=4, told=told.append)
    assert [point.wt for point in points] == [0, 25, 50, 75, 100]
    assert points[0].composition == parse("Sn")
    assert points[4].composition == parse("Bi")
    assert points[1].composition.wt("Bi") == 25
    assert points[0].melting.solidus_c == pytest.approx(231.93, abs=0.1)
    assert points[4].melting.liquidus_c == pytest.approx(271.4, abs=0.1)
    for point in points[1:4]:
        assert point.melting.last_liquid_c == pytest.approx(138.8, abs=0.3)
    assert told[-1] == len(told) <= 5


def test_a_third_element_is_held():
    points = section("Sn", "Bi", {"Pb": "1"}, steps=2)
    assert [point.wt for point in points] == [0, 49.5, 99]
    assert all(point.composition.wt("Pb") == 1 for point in points)
    assert "Bi" not in points[0].composition.elements
    assert 95 < points[1].melting.solidus_c < 99


@pytest.mark.parametrize(
    ("one", "other", "held", "told"),
    [
        ("Sn", "Sn", None, "are named twice"),
        ("Sn", "Bi", {"Sn": 1}, "are named twice"),
        ("Sn", "Bi", {"Bi": 1}, "are named twice"),
        ("Sn", "Bi", {"Pb": 100}, "leave no room"),
        ("Sn", "Bi", {"Pb": 60, "Ag": 40}, "leave no room"),
        ("Sn", "Bi", {"Pb": -1}, "leave no room"),
        ("Sn", "Cd", None, "is not covered"),
    ],
)
def test_what_is_no_section_is_refused(one, other, held, told):
    with pytest.raises(InputError, match=told):
        section(one, other, held, steps=2)


def test_both_faults_are_told_at_once():
    with pytest.raises(InputError) as raised:
        section("Sn", "Sn", {"Pb": 100})
    assert len(raised.value.faults) == 2
