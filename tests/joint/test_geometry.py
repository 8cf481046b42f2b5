"""Volumes, masses and heights: cases by hand, limits, and geometry that cannot be."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.errors import InputError
from selector.joint.geometry import (
    attached_ball_mm,
    ball_volume_mm3,
    deposit_volume_mm3,
    hybrid_height_mm,
    joint_height_mm,
    mass_mg,
    metal_volume_share,
    paste_ball_ratio,
    paste_density_g_cm3,
    rectangle_volume_mm3,
    round_volume_mm3,
)

volumes = st.floats(1e-5, 10)
radii = st.floats(0.05, 2)
shares = st.floats(0.5, 0.95)
densities = st.floats(2, 20)


def faults(call, *arguments):
    with pytest.raises(InputError) as caught:
        call(*arguments)
    return {fault.where: fault for fault in caught.value.faults}


def test_volumes_by_hand():
    assert ball_volume_mm3(0.6) == pytest.approx(math.pi / 6 * 0.216)
    assert rectangle_volume_mm3(0.5, 0.4, 0.1, pitch_mm=0.65) == pytest.approx(0.02)
    assert round_volume_mm3(0.4, 0.1) == pytest.approx(math.pi * 0.04 * 0.1)
    assert round_volume_mm3(np.array([0.4, 0.8]), 0.1)[1] == pytest.approx(4 * float(round_volume_mm3(0.4, 0.1)))


def test_paste_by_hand():
    # Half metal of 8 g/cm3, half flux of 1, by mass: 1/16 and 1/2 cm3 a gram, so a ninth of the volume is metal.
    assert paste_density_g_cm3(0.5, 8, 1) == pytest.approx(16 / 9)
    assert metal_volume_share(0.5, 8, 1) == pytest.approx(1 / 9)
    assert metal_volume_share(1, 8, 1) == pytest.approx(1)
    assert mass_mg(deposit_volume_mm3(0.02, 0.9, 0.5), 8) == pytest.approx(0.072)
    assert paste_ball_ratio(0.005, 0.05) == pytest.approx(0.1)


def test_the_deposit_of_the_notes():
    """Aperture 0.40 mm round, foil 0.10 mm, transfer 0.85, 90 wt% Sn-58Bi: 0.005475 mm3 of metal."""
    metal = deposit_volume_mm3(round_volume_mm3(0.4, 0.1), 0.85, metal_volume_share(0.9, 8.56))
    assert metal == pytest.approx(0.005475, abs=1e-6)


@given(volumes, radii)
def test_the_height_gives_its_volume_back(volume, radius):
    height = joint_height_mm(volume, radius)
    assert math.pi * height * (6 * radius**2 + height**2) / 6 == pytest.approx(volume, rel=1e-12)


def test_the_height_of_a_flat_joint_keeps_its_digits():
    # A flat joint is a cylinder: V / (pi a^2). The closed form by cube roots loses five digits here.
    assert joint_height_mm(1e-6, 1.0) == pytest.approx(1e-6 / math.pi, rel=1e-12)


@given(volumes, radii, st.floats(1.01, 3))
def test_more_metal_stands_higher_and_a_wider_pad_lower(volume, radius, factor):
    assert joint_height_mm(volume * factor, radius) > joint_height_mm(volume, radius)
    assert joint_height_mm(volume, radius * factor) < joint_height_mm(volume, radius)


@given(shares, densities, st.floats(1.001, 1.05))
def test_more_metal_by_mass_is_more_by_volume_and_denser(share, density, factor):
    assert metal_volume_share(share * factor, density) > metal_volume_share(share, density)
    assert paste_density_g_cm3(share * factor, density) > paste_density_g_cm3(share, density)
    # The same volume of a denser metal needs more of the mass.
    assert metal_volume_share(share, density * factor) < metal_volume_share(share, density)


@given(shares, densities)
def test_masses_of_a_paste_add_up(share, density):
    phi = metal_volume_share(share, density, 1.0)
    assert phi * density / paste_density_g_cm3(share, density, 1.0) == pytest.approx(share, rel=1e-12)
    assert phi * density + (1 - phi) * 1.0 == pytest.approx(paste_density_g_cm3(share, density, 1.0), rel=1e-12)


def test_a_hybrid_stands_between_collapse_and_its_ball():
    low, high = hybrid_height_mm(0.45, 0.2, 0.0054745243)
    assert low == pytest.approx(0.3050, abs=1e-4)
    assert high == attached_ball_mm(0.45, 0.2)
    assert low < high < 0.45
    # A ball on hardly any pad keeps its diameter.
    assert attached_ball_mm(0.45, 0.005) == pytest.approx(0.45, rel=1e-3)


@given(st.floats(0.1, 1), st.floats(0.1, 0.7))
def test_the_attached_ball_keeps_its_volume(ball, part):
    radius = part * ball
    height = attached_ball_mm(ball, radius)
    assert math.pi * height * (3 * radius**2 + height**2) / 6 == pytest.approx(math.pi / 6 * ball**3, rel=1e-9)


def test_an_aperture_larger_than_the_pitch_is_refused():
    found = faults(round_volume_mm3, 0.5, 0.1, 0.5)
    assert "not smaller than the pitch" in found["aperture_mm"].problem
    assert "check which" in found["aperture_mm"].remedy
    assert "aperture_mm" in faults(rectangle_volume_mm3, 2.0, 0.6, 0.1, 0.5)
    # The long side of a rectangle may well be longer than the pitch.
    assert rectangle_volume_mm3(2.0, 0.25, 0.1, 0.5) == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("call", "arguments", "where"),
    [
        (ball_volume_mm3, (450,), "ball_mm"),
        (ball_volume_mm3, (-0.45,), "ball_mm"),
        (round_volume_mm3, (0.4, 100), "foil_mm"),
        (rectangle_volume_mm3, (0.4, -0.4, 0.1), "width_aperture_mm"),
        (paste_density_g_cm3, (88.5, 7.38), "metal_share"),
        (paste_density_g_cm3, (0.885, 7380), "metal_g_cm3"),
        (paste_density_g_cm3, (0.885, 7.38, 0.1), "flux_g_cm3"),
        (metal_volume_share, (0.885, math.nan), "metal_g_cm3"),
        (deposit_volume_mm3, (0.01, 85, 0.5), "transfer"),
        (deposit_volume_mm3, (-0.01, 0.8, 0.5), "aperture_volume_mm3"),
        (mass_mg, (-1, 7), "volume_mm3"),
        (joint_height_mm, (0.05, 0), "wetted_radius_mm"),
        (joint_height_mm, (0.05, 200), "wetted_radius_mm"),
        (attached_ball_mm, (0.45, 0.4), "wetted_radius_mm"),
        (hybrid_height_mm, (0.45, 0.2, -0.1), "volume_mm3"),
        (paste_ball_ratio, (0.1, 0), "ball_metal_volume_mm3"),
    ],
)
def test_what_cannot_be_names_its_input(call, arguments, where):
    assert where in faults(call, *arguments)
