"""The liquidus of many alloys at once: against pycalphad, pure elements, and where the liquid splits in two."""

import numpy as np
import pytest

from selector.melting.database import database
from selector.melting.equilibrium import _prepared
from selector.melting.liquidus import liquidus
from selector.melting.parameters import ELEMENTS

SYSTEMS = (
    ("Ag", "Cu"),
    ("Ag", "Cu", "Sn"),
    ("Bi", "Pb", "Sn"),
    ("Ag", "Bi", "Cu", "Sn"),
    ("Ag", "Bi", "In", "Sn"),
    ("Sb", "Sn", "Zn"),
)
EACH = 6
WITHIN_K = 0.3


def random_alloys(elements, count, seed=11):
    x = np.random.default_rng(seed).dirichlet(np.ones(len(elements)), count)
    return np.maximum(x, 1e-3).T / np.maximum(x, 1e-3).sum(axis=1)


def solved(elements, x, t_k, phases=None):
    """Return pycalphad's Gibbs energy, J/mol, and how much of the alloy is solid; nothing of ours but the tables."""
    from pycalphad import equilibrium
    from pycalphad import variables as v

    ready = _prepared(elements)
    conditions = {v.T: t_k, v.P: 101325, v.N: 1}
    conditions |= {v.X(name): float(part) for name, part in zip(ready.components[:-1], x[:-1], strict=True)}
    found = equilibrium(
        database(),
        ready.components,
        phases or ready.phases,
        conditions,
        model=ready.models,
        phase_records=ready.records,
        to_xarray=False,
    )
    solid = sum(
        float(amount)
        for name, amount in zip(np.ravel(found.Phase), np.ravel(found.NP), strict=True)
        if name and name != "LIQUID" and np.isfinite(amount)
    )
    return float(np.ravel(found.GM)[0]), solid


@pytest.mark.parametrize("elements", SYSTEMS, ids="-".join)
def test_nothing_is_solid_above_and_something_is_below(elements):
    x = random_alloys(elements, EACH)
    found = liquidus(x, elements)
    assert np.isfinite(found.t_k).all()
    for column, top_k in zip(x.T, found.t_k, strict=True):
        alone, _ = solved(elements, column, top_k + WITHIN_K, ["LIQUID"])
        together, _ = solved(elements, column, top_k + WITHIN_K)
        # The solver may keep a solid above the liquidus that is worse than the liquid alone; better it never is.
        assert together >= alone - 1e-3, "pycalphad finds something more stable than the liquid above our liquidus"
        assert solved(elements, column, top_k - WITHIN_K)[1] > 0, "pycalphad finds no solid below our liquidus"


def test_the_alloys_of_the_check_span_the_diagrams():
    tops = np.concatenate([liquidus(random_alloys(elements, EACH), elements).t_k for elements in SYSTEMS])
    assert len(tops) == 36
    assert tops.min() < 420
    assert tops.max() > 900


# SGTE, Calphad 15 (1991) 317: melting points that the unary functions meet at.
MELTING_K = {
    "Sn": 505.08, "Bi": 544.55, "Pb": 600.61, "In": 429.75, "Ag": 1234.93, "Cu": 1357.77, "Sb": 903.78, "Zn": 692.67,
}  # fmt: skip


@pytest.mark.parametrize("element", ELEMENTS)
def test_pure_elements(element):
    assert liquidus(np.ones((1, 1)), (element,)).t_k[0] == pytest.approx(MELTING_K[element], abs=0.1)


def test_a_trace_lowers_the_melting_point_by_what_its_heat_of_fusion_says():
    # Raoult: dT = R T^2 x / dH for a solid that takes nothing up. Copper in tin: dH of tin is 7029 J/mol (SGTE).
    x = np.array([[1e-3], [1 - 1e-3]])
    expected = 8.3145 * 505.08**2 * 1e-3 / 7029
    assert 505.08 - liquidus(x, ("Cu", "Sn")).t_k[0] == pytest.approx(expected, rel=0.03)


@pytest.mark.parametrize(
    ("elements", "eutectic_c"),
    [(("Ag", "Cu"), 779.1), (("Bi", "Sn"), 138.8), (("Bi", "Pb"), 125.6), (("Ag", "Pb"), 304.8), (("Pb", "Sn"), 182.2)],
)
def test_no_alloy_of_a_binary_begins_to_freeze_below_its_eutectic(elements, eutectic_c):
    # Silver and copper are two sets of one phase: only one of them was climbed to, and alloys came out 1.3 K low.
    shares = np.linspace(0.01, 0.99, 393)
    found = liquidus(np.stack([1 - shares, shares]), elements)
    assert np.isfinite(found.t_k).all()
    # The grid steps over the eutectic by up to an eighth of a per cent.
    assert eutectic_c - 0.3 < found.t_k.min() - 273.15 < eutectic_c + 1.5


def test_alloys_of_a_batch_do_not_touch_each_other():
    elements = ("Ag", "Bi", "Cu", "Sn")
    x = random_alloys(elements, 20)
    together = liquidus(x, elements).t_k
    assert np.isfinite(together).sum() > 15
    alone = np.array([liquidus(x[:, [n]], elements).t_k[0] for n in range(x.shape[1])])
    assert together == pytest.approx(alone, abs=0.01, nan_ok=True)


def test_an_element_that_is_all_but_absent_changes_nothing():
    two = liquidus(np.array([[0.4], [0.6]]), ("Bi", "Sn")).t_k[0]
    eight = np.full((8, 1), 1e-12)
    eight[ELEMENTS.index("Bi")], eight[ELEMENTS.index("Sn")] = 0.4, 0.6
    assert liquidus(eight, ELEMENTS).t_k[0] == pytest.approx(two, abs=0.02)


@pytest.mark.parametrize(
    ("elements", "shares"),
    [
        # Inside the gap at the liquidus by the assessments: mole fractions of the second element. Near 0.003 of its
        # edges the test is not asked. Cu-Pb 955 degC; Bi-Zn 416 degC, 37 to 99 at% Zn (from memory); Pb-Zn 418 degC.
        (("Cu", "Pb"), (0.25, 0.35, 0.5)),
        (("Bi", "Zn"), (0.5, 0.7, 0.9)),
        (("Pb", "Zn"), (0.3, 0.5, 0.8)),
    ],
)
def test_two_liquids_are_told_in_place_of_a_number(elements, shares):
    x = np.array([[1 - share for share in shares], list(shares)])
    found = liquidus(x, elements)
    assert found.two_liquids.all()
    assert np.isnan(found.t_k).all()


@pytest.mark.parametrize(
    ("elements", "shares"),
    [
        (("Bi", "Sn"), np.linspace(0.02, 0.98, 25)),
        (("Cu", "Pb"), (0.02, 0.9, 0.99)),
        (("Bi", "Zn"), (0.02, 0.08, 0.25)),
        (("Pb", "Zn"), (0.01, 0.05)),
    ],
)
def test_one_liquid_has_a_liquidus(elements, shares):
    shares = np.array(shares)
    found = liquidus(np.stack([1 - shares, shares]), elements)
    assert not found.two_liquids.any()
    assert np.isfinite(found.t_k).all()
