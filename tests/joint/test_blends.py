"""Two powders, and rework of unknown share: three temperatures kept apart, an interval instead of a mean."""

import functools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.composition import parse
from selector.errors import InputError
from selector.joint.blends import mass_share, powder_blend, rework

SAC, BISMUTH = parse("SAC305"), parse("Sn-58Bi")


@functools.cache
def case_02():
    """SAC305 joints touched up with Sn-58Bi, amounts unknown."""
    return rework(SAC, BISMUTH, ("0.05", "0.1", "0.2", "0.5"))


def test_rework_of_unknown_share_is_an_interval_and_no_mean():
    """Figures of the project's reference case 02 (liquid there by moles): solidus 206, 195, 172, 137, end 137."""
    found = case_02()
    solidus = [point.melting.melting.solidus_c for point in found.points]
    assert solidus == pytest.approx([206, 195, 172, 137], abs=1)
    assert found.last_liquid_c == pytest.approx((137, 137), abs=1)
    assert found.onset_c[0] < 137 < found.onset_c[1]
    # 20 % and more of the new alloy, and the first liquid counts.
    assert found.liquid_counts_from_share == 0.2


def test_the_liquid_at_138_5_of_case_02():
    # The case tells 1.1, 3.0, 8.2 and 33 mol%; by mass the bismuth-rich liquid weighs more.
    liquid = [point.melting.melting.liquid_as_frozen(138.5) for point in case_02().points]
    assert liquid == pytest.approx([0.015, 0.040, 0.106, 0.388], abs=0.01)
    assert case_02().liquid_at(138.5) == (liquid[0], liquid[-1])
    assert case_02().liquid_at(100) == (0, 0)


def test_rework_with_gold_is_not_computed_and_says_nothing_it_does_not_know():
    found = rework(SAC, parse("Au-20Sn"), ("0.1", "0.5"), at_equilibrium=False)
    assert (found.onset_c, found.last_liquid_c, found.liquid_counts_from_share) == (None, None, None)
    assert found.liquid_at(200) is None


def test_a_blend_keeps_three_temperatures_apart():
    """60/40 of Sn-58Bi and SAC305 by mass: 34.8 Bi, 1.2 Ag, 0.2 Cu, 63.8 Sn."""
    found = powder_blend(SAC, BISMUTH, "0.4", at_equilibrium=False)
    assert {element: float(wt) for element, wt in found.composition.parts} == {
        "Sn": 63.8,
        "Bi": 34.8,
        "Ag": 1.2,
        "Cu": 0.2,
    }
    assert found.first.composition == BISMUTH
    assert found.process_liquidus_c == found.first.melting.liquidus_c < found.equilibrium_liquidus_c
    assert found.process_liquidus_c == pytest.approx(140, abs=3)
    assert found.remelt_onset_c[0] < 138 < found.remelt_onset_c[1]
    same = powder_blend(BISMUTH, SAC, "0.6", at_equilibrium=False)
    assert (same.composition, same.process_liquidus_c) == (found.composition, found.process_liquidus_c)


def test_a_blend_with_what_is_not_covered_has_no_process_liquidus():
    found = powder_blend(BISMUTH, parse("Au-20Sn"), "0.5", at_equilibrium=False)
    assert (found.process_liquidus_c, found.equilibrium_liquidus_c, found.remelt_onset_c) == (None, None, None)


@given(st.floats(0, 1), st.floats(5, 15), st.floats(5, 15))
def test_the_denser_powder_weighs_more_than_its_volume(share, one, other):
    found = mass_share(share, one, other)
    assert 0 <= found <= 1
    assert (found - share) * (one - other) >= -1e-12
    assert mass_share(1 - share, other, one) == pytest.approx(1 - found, abs=1e-12)


@pytest.mark.parametrize(
    "call",
    [
        lambda: rework(SAC, BISMUTH, ()),
        lambda: rework(SAC, BISMUTH, ("1.5",)),
        lambda: powder_blend(SAC, BISMUTH, -0.1),
        lambda: mass_share(60, 8.56, 7.38),
        lambda: mass_share(0.6, 8560, 7.38),
    ],
)
def test_what_cannot_be_is_refused(call):
    with pytest.raises(InputError):
        call()
