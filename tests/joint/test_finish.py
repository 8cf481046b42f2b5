"""What finishes give to a joint: masses by hand, the table, gold, and what cannot be."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.catalogue import load
from selector.composition import parse
from selector.errors import InputError
from selector.joint.contributors import Contributor, joint
from selector.joint.finish import (
    areal_thickness_um,
    areal_wt,
    compound_wt,
    finish_share_wt,
    gold_in_joint,
    layer_mass_mg,
    layers,
    pick_up,
)
from selector.verdict import Outcome

CATALOGUE = load()


def test_a_layer_by_hand():
    # 1 mm2 times 1 um is 1e-3 mm3.
    assert layer_mass_mg(1, 1, 10) == pytest.approx(0.01)


def test_gold_over_nickel_gives_its_gold_and_none_of_the_barrier():
    (gold,) = pick_up("nickel-gold", 0.1257, CATALOGUE)
    assert gold.composition == parse("Au")
    assert float(gold.mass_mg) == pytest.approx(0.1257 * 1e-4 * CATALOGUE.elements["Au"].density_g_cm3)
    (thick,) = pick_up("nickel-gold", 0.1257, CATALOGUE, finish_um=0.2)
    assert thick.mass_mg == 2 * gold.mass_mg


def test_two_layers_that_dissolve_are_two_contributors():
    found = pick_up("nickel-palladium-gold", 0.2, CATALOGUE, "finish of the radio package")
    assert [str(entry.composition) for entry in found] == ["Au", "Pd"]
    assert len({entry.name for entry in found}) == 2
    # A thickness that is stated is the outermost layer's.
    stated = pick_up("nickel-palladium-gold", 0.2, CATALOGUE, finish_um=0.08)
    assert float(stated[0].mass_mg) == pytest.approx(2 * float(found[0].mass_mg))
    assert stated[1].mass_mg == found[1].mass_mg


def test_a_finish_of_the_users_own_and_bare_copper():
    (plated,) = pick_up("Sn-37Pb", 0.25, CATALOGUE, finish_um=3)
    assert float(plated.mass_mg) == pytest.approx(0.25 * 3e-3 * 8.4, rel=0.003)
    assert pick_up("copper", 0.25, CATALOGUE) == ()
    assert pick_up("nickel-gold", 0.25, CATALOGUE, finish_um=0) == ()


@pytest.mark.parametrize("finish", sorted(layers()))
def test_every_finish_of_the_table_is_in_order_and_gives_something(finish):
    for layer in layers()[finish]:
        assert 0 < layer.low_um <= layer.usual_um <= layer.high_um
    assert pick_up(finish, 0.1, CATALOGUE)


@given(st.floats(0.01, 50), st.floats(10, 300), st.floats(0.3, 0.6))
def test_areal_balance_is_its_own_inverse(thickness, height, share):
    wt = areal_wt(thickness, 19.3, height, share, 8.4)
    assert areal_thickness_um(wt, 19.3, height, share, 8.4) == pytest.approx(thickness, rel=1e-9)
    assert areal_wt(thickness * 2, 19.3, height, share, 8.4) > wt


def test_the_areal_balance_is_the_mass_balance_of_the_joint():
    wt = areal_wt(0.5, 19.3, 100, 0.515, 8.4)
    solder = Contributor("solder", parse("SAC305"), Fraction("0.1") * Fraction("0.515") * Fraction("8.4"))
    gold = Contributor("gold", parse("Au"), Fraction("0.0005") * Fraction("19.3"))
    assert float(joint([solder, gold]).wt("Au")) == pytest.approx(wt, rel=1e-12)


def test_a_compound_by_hand():
    assert compound_wt("Sn", {"Sn": 1, "O": 2}, {"O": 15.999}) == pytest.approx(100 * 118.71 / 150.708)
    with pytest.raises(InputError) as caught:
        compound_wt("Cu", {"Xx": 1, "Sn": 0})
    assert len(caught.value.faults) == 3


@pytest.mark.parametrize(
    ("alloy", "outcome"),
    [
        ("Sn-3Au", Outcome.PASS),
        ("Sn-3.01Au", Outcome.FAIL),
        ("SAC305", Outcome.NOT_APPLICABLE),
        ("Au-20Sn", Outcome.NOT_APPLICABLE),
        ("In-2Au", Outcome.NOT_APPLICABLE),
        ("In-5Au", Outcome.UNKNOWN),
    ],
)
def test_gold_in_the_joint_by_its_limit(alloy, outcome):
    assert gold_in_joint(parse(alloy)).outcome is outcome


def test_every_published_limit_of_gold_is_told_and_the_first_is_used():
    verdict = gold_in_joint(parse("SAC305"), 3.5)
    assert (verdict.outcome, verdict.limit, verdict.margin) == (Outcome.FAIL, 3, -0.5)
    assert all(f"{wt} wt%" in verdict.cautions[0] for wt in (3, 4, 5))
    assert gold_in_joint(parse("SAC305"), 3).outcome is Outcome.PASS
    unsure = gold_in_joint(parse("SAC305"), 2, 4)
    assert (unsure.outcome, unsure.threshold) == (Outcome.UNKNOWN, "holds if the joint takes up at most 3 wt% gold")
    assert any("no agreed limit" in caution for caution in gold_in_joint(parse("Sn-57Bi-1Au")).cautions)
    assert any("AuIn2" in caution for caution in gold_in_joint(parse("In52Sn48"), 1).cautions)


@pytest.mark.parametrize("ends", [(4, 3), (-1, 1), (1, 101)])
def test_gold_that_is_no_interval_is_refused(ends):
    with pytest.raises(InputError, match="gold"):
        gold_in_joint(parse("SAC305"), *ends)


def test_what_dissolves_by_hand():
    # 1 mm2 of 1 um gold is 0.0193 mg.
    assert finish_share_wt(1, 1, 19.3, 0.0193) == pytest.approx(50)


@pytest.mark.parametrize(
    ("call", "given", "where"),
    [
        (layer_mass_mg, {"area_mm2": -1, "finish_um": 1, "layer_g_cm3": 10}, "area_mm2"),
        (layer_mass_mg, {"area_mm2": 1, "finish_um": -1, "layer_g_cm3": 10}, "finish_um"),
        (pick_up, {"finish": "shiny", "area_mm2": 1, "catalogue": CATALOGUE}, "finish"),
        (pick_up, {"finish": "silver", "area_mm2": 1, "catalogue": CATALOGUE, "finish_um": 2000}, "finish_um"),
        (finish_share_wt, {"area_mm2": 1, "finish_um": 1, "layer_g_cm3": 19.3, "solder_mg": 0}, "solder_mg"),
        (
            areal_thickness_um,
            {"finish_wt": 100, "layer_g_cm3": 19.3, "print_um": 100, "metal_share": 0.5, "metal_g_cm3": 8},
            "finish_wt",
        ),
        (
            areal_wt,
            {"finish_um": 1, "layer_g_cm3": 19.3, "print_um": 0.1, "metal_share": 50, "metal_g_cm3": 8},
            "metal_share",
        ),
    ],
)
def test_what_cannot_be_names_its_input(call, given, where):
    with pytest.raises(InputError) as caught:
        call(**given)
    assert where in {fault.where for fault in caught.value.faults}
