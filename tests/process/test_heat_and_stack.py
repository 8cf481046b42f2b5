"""Heat through a joint, strains of a stack, copper in solder: limits, monotony, and what cannot be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.errors import InputError
from selector.process.dissolution import dissolved_wt, time_to_limit_s
from selector.process.heat import resistance_k_w, rise_k
from selector.process.stack import Joined, Layer, free_mismatch_um, shared_strain, stack_interfaces

DIE, OTHER = Layer("die", 2.6, 100), Layer("other die", 6.5, 80)
SUBSTRATE, BOARD = Layer("substrate", 12, 100), Layer("board", 16, 60)

positive = st.floats(0.01, 10)


def faults(call, *arguments):
    with pytest.raises(InputError) as caught:
        call(*arguments)
    return {fault.where for fault in caught.value.faults}


def test_resistance_and_rise_by_hand():
    # 0.1 mm of 50 W/(m K) over 20 mm2: 1e-4 / (50 * 2e-5) = 0.1 K/W; a fifth of voids makes it 0.125.
    assert resistance_k_w(0.1, 20, 50) == pytest.approx(0.1)
    assert resistance_k_w(0.1, 20, 50, 0.2) == pytest.approx(0.125)
    assert rise_k(40, resistance_k_w(0.1, 20, 50, 0.2)) == pytest.approx(5)
    assert resistance_k_w(np.array([0.1, 0.2]), 20, 50) == pytest.approx([0.1, 0.2])


@given(positive, positive, st.floats(1, 250), st.floats(0, 0.5), st.floats(1.01, 1.9))
def test_each_input_moves_the_resistance_its_own_way(t, area, k, voids, factor):
    base = resistance_k_w(t, area, k, voids)
    assert resistance_k_w(t * factor, area, k, voids) > base
    assert resistance_k_w(t, area * factor, k, voids) < base
    assert resistance_k_w(t, area, k * factor, voids) < base
    assert resistance_k_w(t, area, k, voids + 0.01) > base


def test_two_dies_a_substrate_and_a_board():
    found = stack_interfaces(
        [DIE, OTHER, SUBSTRATE, BOARD],
        [
            Joined("die", "substrate", 5, 0.05),
            Joined("other die", "substrate", 2, 0.05),
            Joined("substrate", "board", 10, 0.4, factor=0.7),
        ],
    )
    assert [entry.mismatch_um for entry in found] == pytest.approx(
        [0.94 * 5, abs(6.5 * 0.08 - 1.2) * 2, abs(1.2 - 0.96) * 10]
    )
    assert found[0].shear_strain == pytest.approx(0.0047 / 0.05)
    assert found[2].shear_strain == pytest.approx(0.7 * 0.0024 / 0.4)


@given(st.floats(1, 30), st.floats(1, 30), st.floats(1, 200), st.floats(0.1, 20))
def test_mismatch_is_symmetric_linear_and_none_between_equals(one, other, dt, half):
    found = free_mismatch_um(one, other, dt, dt, half)
    assert free_mismatch_um(other, one, dt, dt, half) == found
    assert free_mismatch_um(one, other, 2 * dt, 2 * dt, half) == pytest.approx(2 * found)
    assert free_mismatch_um(one, one, dt, dt, half) == 0


@given(positive, st.floats(0.1, 200), positive, st.floats(0.1, 200), st.floats(0.1, 30), st.floats(1, 200))
def test_two_layers_share_the_whole_mismatch(t1, e1, t2, e2, mismatch, dt):
    one, other = shared_strain(t1, e1, t2, e2, mismatch, dt)
    assert one + other == pytest.approx(mismatch * 1e-6 * dt, rel=1e-12)
    half, same = shared_strain(t1, e1, t1, e1, mismatch, dt)
    assert half == same == pytest.approx(mismatch * 0.5e-6 * dt)
    film, base = shared_strain(1e-5, e1, 10.0, e1, mismatch, dt)
    assert film == pytest.approx(mismatch * 1e-6 * dt, rel=1e-5)
    assert base < 1e-5 * film


def test_every_fault_of_a_stack_is_told_at_once():
    found = faults(
        stack_interfaces,
        [DIE, DIE, Layer("board", 16e-6, 100)],
        [Joined("die", "lid", -5, 0.05), Joined("board", "board", 5, 50)],
    )
    assert found == {
        "die",
        "die to lid",
        "board to board",
        "die to lid, half_length_mm",
        "board to board, height_mm",
        "board, ppm_k",
    }
    assert "joined" in faults(stack_interfaces, [DIE], [])


def test_copper_by_hand_and_its_ends():
    assert time_to_limit_s(25, 0.3) == pytest.approx(41)
    assert time_to_limit_s(12.7, 0.3) == 0
    assert dissolved_wt(1.5, 0.002, 1, 0.5, 0) == 0
    assert dissolved_wt(1.5, 0.002, 1, 0.5, 1e6) == pytest.approx(1.5)
    # At first it rises as k A t / V.
    assert dissolved_wt(1.5, 1e-5, 1, 1, 1) == pytest.approx(1.5e-5, rel=1e-4)


@given(st.floats(0.1, 5), st.floats(1e-4, 0.01), positive, positive, st.floats(1, 1000))
def test_copper_in_a_bath_only_rises_and_never_passes_its_solubility(cs, k, area, volume, time):
    found = dissolved_wt(cs, k, area, volume, time)
    assert 0 <= found <= cs
    assert dissolved_wt(cs, k, area, volume, time * 2) >= found
    assert dissolved_wt(cs, k, area, volume * 2, time) <= found


@pytest.mark.parametrize(
    ("call", "arguments", "where"),
    [
        (resistance_k_w, (-0.1, 25, 58), "layer_thickness_mm"),
        (resistance_k_w, (100, 25, 58), "layer_thickness_mm"),
        (resistance_k_w, (0.1, 0, 58), "contact_area_mm2"),
        (resistance_k_w, (0.1, 25, 0), "metal_w_mk"),
        (resistance_k_w, (0.1, 25, 58, 25), "void_share"),
        (resistance_k_w, (0.1, 25, 58, 1), "void_share"),
        (rise_k, (-1, 0.1), "power_w"),
        (rise_k, (1, -0.1), "thermal_resistance_k_w"),
        (free_mismatch_um, (3e-6, 17, 100, 100, 5), "one_ppm_k"),
        (shared_strain, (0.1, 0, 0.1, 1, 10, 100), "one_modulus_gpa"),
        (time_to_limit_s, (10, 0.3), "barrel_copper_um"),
        (time_to_limit_s, (25, 0), "rate_um_s"),
        (dissolved_wt, (1.5, 0.002, 1, 0, 60), "bath_volume_cm3"),
        (dissolved_wt, (150, 0.002, 1, 1, 60), "solubility_wt"),
    ],
)
def test_what_cannot_be_names_its_input(call, arguments, where):
    assert where in faults(call, *arguments)
