"""Strain of a joint: proportional to distance and mismatch, more with more of either; every normaliser is told."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.durability.strain import leaded_strain, leaded_strains, leadless_strain, local_strain
from selector.durability.underfill import underfill_concerns, underfill_strain
from selector.errors import InputError

LENGTHS = st.floats(0.01, 50)


def where(call):
    with pytest.raises(InputError) as caught:
        call()
    return {fault.where for fault in caught.value.faults}


@given(LENGTHS, LENGTHS, st.floats(0, 40), st.floats(0, 40), st.floats(0, 300))
def test_leadless_doubles_with_distance_and_halves_with_height(distance, height, board, part, swing):
    strain = leadless_strain(distance, height, board, part, swing)
    assert leadless_strain(2 * distance, height, board, part, swing) == pytest.approx(2 * strain)
    assert leadless_strain(distance, 2 * height, board, part, swing) == pytest.approx(strain / 2)
    assert leadless_strain(distance, height, part, board, swing) == pytest.approx(strain)
    assert leadless_strain(distance, height, board, board, swing) == 0


def test_two_swings_by_hand():
    assert leadless_strain(10, 0.5, 17, 3, 100, part_swing_k=0) == pytest.approx(0.034)
    assert leadless_strain(10, 0.5, 17, 3, 100, part_swing_k=200) == pytest.approx(0.022)


@given(LENGTHS, st.floats(0.1, 40), st.floats(1, 300))
def test_leaded_goes_with_the_square_of_the_stretch(distance, mismatch, swing):
    def strain(d, a, s):
        return leaded_strain(10, d, a, s, 0.5, 0.1, 200)

    assert strain(2 * distance, mismatch, swing) == pytest.approx(4 * strain(distance, mismatch, swing))
    assert strain(distance, mismatch, swing / 2) == pytest.approx(strain(distance, mismatch, swing) / 4)


def test_every_normaliser_is_told_and_they_differ_by_half_again():
    told = leaded_strains(10, 10, 10, 100, 0.5, 0.1)
    assert [entry.psi for entry, _ in told] == [200, 133]
    assert told[1][1] / told[0][1] == pytest.approx(1.504, abs=5e-4)


def test_local_by_hand():
    assert local_strain(2, 23, 17, 100, 0.1) == pytest.approx(0.006)


def test_underfill_of_the_solders_own_expansion_in_a_free_plane_leaves_nothing():
    assert underfill_strain(23, 0, 23, 23, 100) == 0
    assert underfill_strain(30, 0.35, 30, 23, 100) == pytest.approx(7e-4)  # free to expand alike in every direction


@given(st.floats(5, 100), st.floats(0, 0.45), st.floats(0, 30), st.floats(10, 40), st.floats(1, 200))
def test_underfill_strain_grows_with_its_expansion_and_with_the_swing(a, nu, lateral, solder, swing):
    strain = underfill_strain(a, nu, lateral, solder, swing)
    assert underfill_strain(a + 1, nu, lateral, solder, swing) > strain
    assert underfill_strain(a, nu, lateral, solder, swing * 2) == pytest.approx(2 * strain)


def test_what_speaks_against_an_underfill():
    assert underfill_concerns(25, 150, 125, 23) == ()
    inside, far = underfill_concerns(60, 90, 125, 23)
    assert "inside the cycle" in inside
    assert "far from the solder" in far


@pytest.mark.parametrize(
    ("call", "names"),
    [
        (
            lambda: leadless_strain(0, -1, 17e3, 3, 500),
            {"distance_mm", "height_mm", "board_ppm_k", "swing_k", "part_swing_k"},
        ),
        (lambda: leadless_strain(1, 1, 17, 3, 100, factor=2), {"factor"}),
        (lambda: leaded_strain(0, 1, 10, 100, 0, 0.1, 0), {"stiffness_n_mm", "area_mm2", "psi"}),
        (lambda: local_strain(0, 23, 17, 100, 0), {"wetted_length_mm", "height_mm"}),
        (lambda: underfill_strain(30, 0.5, 12, 23, 100), {"poisson"}),
        (lambda: underfill_concerns(30, 500, 100, 2), {"glass_c", "solder_ppm_k"}),
    ],
)
def test_figures_that_cannot_be_are_named(call, names):
    assert where(call) == names
