"""Routes whose process temperature is not the remelt onset, and what reaction takes by stoichiometry."""

import pytest

from selector.composition import parse
from selector.errors import InputError
from selector.process.routes import (
    by_mixed_powder,
    by_reaction,
    by_reflow,
    by_undercooled_powder,
    mass_to_bind,
    remelt_shift_k,
    thickness_ratio,
    undercooling_share,
)

SNBI = by_reflow("Sn-58Bi", (139, 139), (138, 139), parse("Sn42Bi58"))
SAC = by_reflow("SAC305", (220, 220), (217, 217), parse("SAC305"))


def refused(call, *names):
    with pytest.raises(InputError) as caught:
        call()
    assert {fault.where for fault in caught.value.faults} == set(names)


def test_mixed_powders_process_by_the_first_and_remelt_by_the_lowest():
    mixed = by_mixed_powder(SNBI, SAC, (200, 205), (137, 139))
    assert mixed.liquidus_c == (139, 139)
    assert mixed.onset_c == (137, 139)
    assert mixed.rework_c == (200, 205)
    assert mixed.name == "Sn-58Bi + SAC305 by mixed powder"


def test_an_onset_of_the_mixture_that_is_not_known_is_not_taken_from_the_powders():
    assert by_mixed_powder(SNBI, SAC, (200, 205), None).onset_c is None
    assert by_mixed_powder(SNBI, SAC, (200, 205), None, trace_onset_c=(150, 150)).onset_c == (150, 150)


def test_an_undercooled_joint_forms_at_ambient_and_melts_as_its_alloy_does():
    made = by_undercooled_powder(SNBI)
    assert made.process_c == (15, 35)
    assert made.onset_c == SNBI.onset_c
    assert made.melts_for_rework_c == SNBI.liquidus_c
    assert any("no data" in caution for caution in made.cautions)


def test_a_reacted_joint_says_what_is_not_stated_and_is_reworked_through_its_whole_range():
    made = by_reaction(SNBI, (180, 190), (201, 271))
    told = " ".join(made.cautions)
    for part in ("share reacted: not known", "hold: not stated", "bondline: not stated"):
        assert part in told
    assert made.rework_c == (139, 271)


def test_what_cannot_be_is_refused():
    refused(lambda: by_reflow("x", (140, 139), None), "liquidus_c")
    refused(lambda: by_reaction(SNBI, (100, 110), (201, 271)), "process_c")
    refused(
        lambda: by_reaction(SNBI, (180, 190), (201, 271), share_reacted=1.2, hold_min=0), "share_reacted", "hold_min"
    )
    refused(lambda: by_mixed_powder(SAC, SNBI, (200, 205), None), "first")
    refused(lambda: by_undercooled_powder(SNBI, (35, 15)), "process_c")
    refused(lambda: by_undercooled_powder(SNBI, (200, 200)), "process_c")
    refused(lambda: thickness_ratio(0, 63.5, 8.96, 1, 118.7, 7.3), "atoms")
    refused(lambda: mass_to_bind("Ag", "Bi", -1, {"Cu": 6, "Sn": 5}), "metal", "element", "element_mass_g")
    refused(lambda: remelt_shift_k(float("nan"), 139), "remelt_c")
    refused(lambda: undercooling_share(60.5, 70), "kept_at_c")


def test_reaction_by_hand():
    assert thickness_ratio(1, 10, 2, 1, 20, 4) == 1
    assert mass_to_bind("Cu", "Sn", 118.71, {"Cu": 1, "Sn": 1}) == pytest.approx(63.546)
    assert undercooling_share(26.85, 26.85) == 0
    # Both numbers of copper for tin: Cu6Sn5 0.523 and Cu3Sn 1.31, as printed.
    assert thickness_ratio(6, 63.546, 8.96, 5, 118.71, 7.29) == pytest.approx(0.523, abs=5e-4)
