"""Freezing without diffusion in the solids: balance, order, independence of the batch, and the scheil package."""

import numpy as np
import pytest

from selector.composition import parse
from selector.melting.alloy import mole_fractions
from selector.melting.coverage import coverage
from selector.melting.database import database
from selector.melting.equilibrium import _prepared
from selector.melting.freezing import LAST_LIQUID, scheil
from selector.melting.liquidus import liquidus
from selector.melting.solidifying import molar_mass

SYSTEMS = (("Bi", "Sn"), ("Ag", "Cu", "Sn"), ("Bi", "Pb", "Sn"), ("Ag", "Bi", "In", "Sn"), ("Bi", "Sn", "Zn"))
COUNT = 6


def alloys(elements, count=COUNT, seed=5):
    """Return solder-like mole fractions: tin or bismuth rich, none with two liquids."""
    most = {"Ag": 0.05, "Cu": 0.02, "Bi": 0.4, "In": 0.2, "Pb": 0.3, "Zn": 0.1, "Sn": 1.0}
    rng = np.random.default_rng(seed)
    x = np.array([rng.uniform(0.01, most[element], count) for element in elements])
    x[elements.index("Sn")] = 0.0
    x[elements.index("Sn")] = 1.0 - x.sum(axis=0)
    return x


def frozen(elements, x, step_k=1.0):
    return scheil(x, elements, liquidus(x, elements).t_k, step_k)


@pytest.fixture(scope="module")
def paths():
    return {elements: frozen(elements, alloys(elements)) for elements in SYSTEMS}


@pytest.mark.parametrize("elements", SYSTEMS, ids="-".join)
def test_mass_is_kept(paths, elements):
    path = paths[elements]
    total = path.liquid_mass + sum(path.frozen.values())
    assert np.abs(total - 1).max() < 1e-9
    assert path.settled.all()


@pytest.mark.parametrize("elements", SYSTEMS, ids="-".join)
def test_liquid_only_shrinks_and_solids_only_grow(paths, elements):
    path = paths[elements]
    assert (np.diff(path.t_k) < 0).all()
    for liquid in (path.liquid_mass, path.liquid_moles):
        assert (liquid[0] == 1).all()
        assert (np.diff(liquid, axis=0) <= 1e-12).all()
        assert (liquid[-1] == 0).all()
    for amounts in path.frozen.values():
        assert (np.diff(amounts, axis=0) >= -1e-12).all()
    assert (path.last_mass > 0).all()


@pytest.mark.parametrize("elements", SYSTEMS, ids="-".join)
def test_each_element_is_kept_where_solids_have_a_fixed_composition(paths, elements):
    # Silver, copper and indium freeze in the end as compounds and in solution: all of an alloy's silver that is not in
    # a solution stands in its compounds, so a compound never holds more of an element than the alloy.
    from selector.melting.gibbs import system

    path, x = paths[elements], alloys(elements)
    family = system(elements)
    mass = x * np.array([molar_mass(column, elements) for column in np.eye(len(elements))])[:, None]
    share = mass / mass.sum(axis=0)
    held = np.zeros_like(share)
    for k, phase in enumerate(family.lines.phases):
        weights = family.lines.compositions[:, k] * np.array(
            [molar_mass(column, elements) for column in np.eye(len(elements))]
        )
        for (name, _), amounts in path.frozen.items():
            if name == phase.id:
                held += np.outer(weights / weights.sum(), amounts[-1])
    assert (held <= share + 1e-9).all()


@pytest.mark.parametrize("elements", SYSTEMS, ids="-".join)
def test_a_batch_freezes_as_each_alloy_alone(paths, elements):
    x, path = alloys(elements), paths[elements]
    for n in (0, COUNT - 1):
        alone = frozen(elements, x[:, [n]])
        shift = len(path.t_k) - len(alone.t_k)
        assert path.t_k[shift:] == pytest.approx(alone.t_k, abs=1e-12)
        assert path.liquid_mass[shift:, n] == pytest.approx(alone.liquid_mass[:, 0], abs=1e-9)
        assert path.last_k[n] == pytest.approx(alone.last_k[0], abs=1e-9)
        assert path.last_mass[n] == pytest.approx(alone.last_mass[0], abs=1e-9)


def test_the_order_of_alloys_in_a_batch_does_not_matter(paths):
    elements = SYSTEMS[3]
    x, order = alloys(elements), np.array([3, 0, 5, 1, 4, 2])
    again = frozen(elements, x[:, order])
    assert again.liquid_mass == pytest.approx(paths[elements].liquid_mass[:, order], abs=1e-9)


def test_a_further_element_of_no_amount_changes_nothing(paths):
    two, three = ("Bi", "Sn"), ("Bi", "Sn", "Zn")
    x = alloys(two)
    wider = np.vstack([x * (1 - 1e-12), np.full(COUNT, 1e-12)])
    again = frozen(three, wider)
    grid = min(len(again.t_k), len(paths[two].t_k))
    assert again.liquid_mass[:grid] == pytest.approx(paths[two].liquid_mass[:grid], abs=2e-3)


def test_the_end_does_not_hang_on_the_start():
    # What is frozen later depends on the liquid that is left, not on the temperature from which the grid was begun.
    elements = ("Bi", "Pb", "Sn")
    x = alloys(elements)
    top = liquidus(x, elements).t_k
    hotter = np.append(top, 700.0)
    wide = np.hstack([x, [[0.02], [0.9], [0.08]]])
    one, other = scheil(x, elements, top), scheil(wide, elements, np.minimum(hotter, liquidus(wide, elements).t_k))
    assert one.last_k == pytest.approx(other.last_k[:COUNT], abs=1e-9)


def test_a_finer_grid_moves_fractions_little():
    elements = ("Ag", "Bi", "Cu", "Sn")
    x = alloys(elements, 3)
    coarse, fine = frozen(elements, x), frozen(elements, x, 0.25)
    for n in range(3):
        on = np.interp(coarse.t_k[::-1], fine.t_k[::-1], fine.liquid_mass[::-1, n])[::-1]
        live = coarse.t_k > coarse.last_k[n] + 1
        gap = np.abs(on - coarse.liquid_mass[:, n])[live]
        steep = np.abs(np.gradient(coarse.liquid_mass[:, n]))[live] > 0.05
        assert gap[~steep].max() < 0.01
    assert coarse.last_k == pytest.approx(fine.last_k, abs=0.3)


def test_a_pure_element_freezes_at_once():
    path = frozen(("Sn",), np.ones((1, 1)))
    assert path.last_k[0] == pytest.approx(505.08, abs=0.1)
    assert path.last_mass[0] == pytest.approx(1.0)
    assert list(path.frozen) == [("BCT_A5", "Sn")]
    assert path.frozen["BCT_A5", "Sn"][-1, 0] == pytest.approx(1.0)


def test_a_eutectic_freezes_at_once_as_an_invariant():
    elements = ("Bi", "Sn")
    entry = coverage(parse("Sn-57Bi"))
    path = frozen(elements, mole_fractions(entry)[:, None])
    assert path.invariant[0]
    assert path.last_k[0] - 273.15 == pytest.approx(138.8, abs=0.3)
    assert path.last_mass[0] > 0.98


@pytest.mark.parametrize(("elements", "solid"), [(("Bi", "In"), "BIIN"), (("In", "Sb"), "INSB")])
def test_a_compound_that_melts_as_one_freezes_at_once_and_settles(elements, solid):
    x = np.full((2, 1), 0.5)
    path = frozen(elements, x)
    assert path.settled[0]
    assert path.invariant[0]
    assert path.last_k[0] == pytest.approx(liquidus(x, elements).t_k[0], abs=0.1)
    assert {phase for (phase, _), amounts in path.frozen.items() if amounts[-1, 0] > 1e-6} == {solid}


def test_an_alloy_without_a_liquidus_is_left_alone():
    elements = ("Bi", "Sn")
    x = alloys(elements, 2)
    top = liquidus(x, elements).t_k
    top[1] = np.nan
    path = scheil(x, elements, top)
    assert np.isnan(path.last_k[1])
    assert (path.liquid_mass[:, 1] == 1).all()
    assert np.isfinite(path.last_k[0])


@pytest.mark.parametrize(
    ("elements", "shares"),
    [
        # Copper freezes out until the liquid leaps over the gap within one kelvin, at 974 degC.
        (("Cu", "Pb"), (0.9, 0.1)),
        # Zinc freezes out and the liquid stays inside the gap.
        (("Bi", "Zn"), (0.005, 0.995)),
        (("Cu", "Pb", "Sn"), (0.88, 0.1, 0.02)),
    ],
)
def test_a_liquid_that_splits_on_its_way_is_told(elements, shares):
    x = np.array(shares)[:, None]
    top = liquidus(x, elements).t_k
    assert np.isfinite(top).all()
    assert scheil(x, elements, top).two_liquids.all()


@pytest.mark.parametrize("elements", SYSTEMS, ids="-".join)
def test_no_solder_is_said_to_split(paths, elements):
    assert not paths[elements].two_liquids.any()


PEER = ["Sn-40Bi", "SAC305", "Sn-3.4Ag-4.8Bi", "Sn-43Pb-14Bi", "Sn-50Pb", "Sn-12Zn"]


@pytest.mark.parametrize("name", PEER)
def test_the_scheil_package_freezes_it_alike(name):
    from pycalphad import variables as v
    from scheil import simulate_scheil_solidification

    entry = coverage(parse(name))
    elements, x = entry.elements, mole_fractions(entry)
    path = frozen(elements, x[:, None])
    ready = _prepared(elements)
    start_k = float(np.ceil(liquidus(x[:, None], elements).t_k[0]) + 1)
    peer = simulate_scheil_solidification(
        database(),
        [*ready.components, "VA"],
        ready.phases,
        {v.X(symbol): float(part) for symbol, part in zip(ready.components[:-1], x[:-1], strict=True)},
        start_k,
        step_temperature=1.0,
        stop=LAST_LIQUID,
    )
    t_k, left = np.array(peer.temperatures), np.array(peer.fraction_liquid)
    assert left[-1] < LAST_LIQUID
    assert path.last_k[0] == pytest.approx(t_k[left < LAST_LIQUID][0], abs=1.0)
    live = (left > LAST_LIQUID) & (t_k > path.last_k[0] + 1)
    own = np.interp(t_k, path.t_k[::-1], path.liquid_moles[::-1, 0])
    assert live.sum() >= 3
    assert own[live] == pytest.approx(left[live], abs=0.01)
