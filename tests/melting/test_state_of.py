"""What an alloy holds at one temperature at equilibrium: inside its range, outside it, and where the tables end."""

import pytest

from selector.composition import parse
from selector.melting.lever import state_of
from selector.melting.store import melting_of


@pytest.fixture(autouse=True)
def _own_cache(monkeypatch, tmp_path):
    monkeypatch.setenv("MELTWISE_CACHE", str(tmp_path))


def held(text, temperature_c):
    alloy = parse(text)
    return state_of(alloy, melting_of([alloy])[0], temperature_c)


def test_phases_and_liquid_add_up_and_are_kept(tmp_path):
    warm = held("Sn-20Pb", 190)
    # By hand: the liquidus falls from 232 to 183 degC over 38 wt% Pb, the solid holds about 2.4: 17.6 / 30.3.
    assert warm.liquid == pytest.approx(0.58, abs=0.05)
    assert [name for name, _ in warm.phases] == ["(Sn)"]
    assert warm.liquid + sum(mass for _, mass in warm.phases) == pytest.approx(1)
    kept = sorted(tmp_path.glob("state-190-*.json"))
    assert len(kept) == 1
    cold = held("Sn-20Pb", 45)
    assert cold.liquid == 0
    assert {name for name, _ in cold.phases} == {"(Sn)", "(Pb)"}


def test_outside_the_range_no_solver_is_asked(tmp_path):
    assert held("Sn-20Pb", 300).liquid == 1
    assert held("In", 100).liquid == 0
    assert held("In", 100).phases == (("(In)", 1.0),)
    assert not list(tmp_path.glob("state-*"))


def test_below_the_tables_there_is_no_answer():
    assert held("Sn-20Pb", 20).liquid is None
    assert held("Bi-50Zn", 100).liquid is None
