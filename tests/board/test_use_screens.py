"""Current, couples, cold, cure and materials as screens of a brief."""

import math

import pytest

from selector.board import use
from selector.brief import changed, from_raw
from selector.catalogue import load
from selector.fields import BaseMetal, Cleaning, Coating, Flux, PadFinish, Underfill
from selector.melting.onset import remelt_onset
from selector.process.material_sets import KINDS
from selector.verdict import Outcome

FIND = load().find
SAC, BISMUTH, ZINC = FIND("SAC305"), FIND("Bi-42Sn"), FIND("Sn-9Zn")


def brief(**tables):
    return from_raw({"title": "t", "ipc_class": 2, **tables})


def current(current_a, opening_um, maximum_c, alloy=SAC):
    asked = brief(service={"maximum_c": maximum_c}, life={"current_a": current_a, "opening_um": opening_um})
    return asked, use.current_screen(asked, alloy, remelt_onset(alloy))


def amperes(a_cm2, opening_um=100):
    return a_cm2 * math.pi / 4 * (opening_um * 1e-4) ** 2


@pytest.mark.parametrize(
    ("a_cm2", "maximum_c", "outcome"),
    [
        (500, 125, Outcome.PASS),
        (4900, 125, Outcome.PASS),
        (5100, 85, Outcome.UNKNOWN),
        (10_500, 90, Outcome.UNKNOWN),
        (10_500, 125, Outcome.FAIL),
    ],
)
def test_current_density_by_hand(a_cm2, maximum_c, outcome):
    asked, found = current(amperes(a_cm2), 100, maximum_c)
    assert found.outcome is outcome
    if outcome is not Outcome.PASS:
        assert use.current_screen(changed(asked, found.edits), SAC, remelt_onset(SAC)).outcome is Outcome.PASS


def test_current_asks_for_what_it_needs_and_leaves_melting_to_its_own_rule():
    _, found = current("unknown", 100, 85)
    assert found.outcome is Outcome.UNKNOWN
    assert "the current" in found.threshold
    assert current("unknown", "unknown", 85)[1].outcome is Outcome.NOT_APPLICABLE
    assert current(1, 100, 230)[1].outcome is Outcome.NOT_APPLICABLE


def couple(alloy, **tables):
    asked = brief(**{"materials": {"base_metal": "copper"}, **tables})
    return asked, use.galvanic_screen(asked, alloy)


def test_a_sound_couple_passes_and_none_is_asked_of_a_brief_that_names_no_metal():
    assert couple(SAC)[1].outcome is Outcome.PASS
    assert couple(SAC)[1].measured.value == pytest.approx(0.478, abs=0.01)
    assert couple(SAC, materials={})[1].outcome is Outcome.NOT_APPLICABLE
    # Tin against copper and nickel: the metal under the finish is what is left of it.
    assert couple(SAC, materials={"pad_finish": "silver"})[1].measured.value == pytest.approx(0.478, abs=0.01)
    assert couple(SAC, materials={"pad_finish": "nickel-gold"})[1].measured.value == pytest.approx(0.12, abs=0.01)


def test_zinc_in_sweat_is_judged_once():
    found = couple(ZINC, use={"sweat_or_chloride": True, "sealed": False})[1]
    assert (found.outcome, found.reason) == (Outcome.NOT_APPLICABLE, "judged as corrosion in sweat or chloride")


def test_a_seal_saves_zinc_on_copper():
    tables = {
        "use": {"sweat_or_chloride": False, "sealed": False},
        "materials": {"base_metal": "copper", "humid": True},
    }
    asked, found = couple(ZINC, **tables, ipc_class=3)
    assert found.outcome is Outcome.FAIL
    assert use.galvanic_screen(changed(asked, found.edits), ZINC).outcome is Outcome.PASS


def test_cold_is_a_caution_and_never_rules_out():
    assert use.cold_screen(brief(), SAC).outcome is Outcome.NOT_APPLICABLE
    assert use.cold_screen(brief(service={"minimum_c": 20}), SAC).outcome is Outcome.NOT_APPLICABLE
    found = use.cold_screen(brief(service={"minimum_c": -50}), SAC)
    assert found.outcome is Outcome.PASS
    assert found.cautions


@pytest.mark.parametrize(
    ("cure_c", "outcome"),
    [(110, Outcome.PASS), (118, Outcome.PASS), (120, Outcome.UNKNOWN), (135, Outcome.FAIL), (150, Outcome.FAIL)],
)
def test_underfill_cures_below_the_onset(cure_c, outcome):
    """138 degC less 20 K passes; from 10 K it fails."""
    asked = brief(materials={"underfill_cure_c": cure_c})
    found = use.cure_screen(asked, remelt_onset(BISMUTH))
    assert found.outcome is outcome
    if outcome is not Outcome.PASS:
        assert use.cure_screen(changed(asked, found.edits), remelt_onset(BISMUTH)).outcome is Outcome.PASS


def test_no_cure_is_not_judged_and_one_outside_the_range_is_open():
    assert use.cure_screen(brief(), remelt_onset(SAC)).outcome is Outcome.NOT_APPLICABLE
    found = use.cure_screen(brief(materials={"underfill_cure_c": 500}), remelt_onset(SAC))
    assert found.outcome is Outcome.UNKNOWN


def materials(alloy, standoff_um="unknown", **chosen):
    asked = brief(materials=chosen, printing={"standoff_um": standoff_um})
    return asked, use.materials_screen(asked, alloy)


def test_materials_known_bad_are_out_with_a_change_that_mends_them():
    asked, found = materials(BISMUTH, underfill="cures at 150 or above")
    assert found.outcome is Outcome.FAIL
    assert "remelts the joint" in found.reason
    assert use.materials_screen(changed(asked, found.edits), BISMUTH).outcome is Outcome.PASS
    assert materials(SAC, underfill="cures at 150 or above")[1].outcome is Outcome.PASS


def test_a_cure_says_which_kind_of_underfill_it_is():
    for cure_c, kind in ((110, "cures at 120 or below"), (160, "cures at 150 or above"), (135, None)):
        asked = brief(materials={"underfill_cure_c": cure_c})
        assert use.materials_around(asked)["underfill"] == kind


def test_kinds_that_are_not_named_are_not_judged():
    assert materials(SAC)[1].outcome is Outcome.NOT_APPLICABLE
    found = materials(SAC, flux_class="no-clean")[1]
    assert (found.outcome, found.cautions) == (Outcome.PASS, ())


def test_the_fields_of_the_brief_speak_as_the_rows_do():
    from typing import get_args

    for kind, literal in (("flux", Flux), ("cleaning", Cleaning), ("underfill", Underfill), ("coating", Coating)):
        assert (*KINDS[kind], "unknown") == get_args(literal)
    assert (*KINDS["finish"], "unknown") == get_args(PadFinish)
    assert {*use.BASES, "unknown"} == set(get_args(BaseMetal))
