"""Bow of a package: the two limits of the bilayer, monotony, the table of pitches, and that inside is not safe."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.errors import InputError
from selector.process.warpage import (
    CAUTION,
    bilayer_per_mm,
    bow_mm,
    bow_removed,
    bow_share,
    closing_gap_mm,
    hot_tear_index,
    margin_mm,
    package_warpage,
    thin_film_per_mm,
    warpage_limit_mm,
)
from selector.verdict import Outcome

thickness = st.floats(0.05, 3)
modulus = st.floats(0.5, 200)
expansion = st.floats(1, 60)
swing = st.floats(5, 250)


@given(thickness, modulus, expansion, expansion, swing)
def test_equal_layers_bow_by_three_halves(t, e, one, other, dt):
    kappa = bilayer_per_mm(t, e, one, t, e, other, dt)
    assert kappa * 2 * t == pytest.approx(1.5 * (other - one) * 1e-6 * dt, rel=1e-9, abs=1e-15)


@given(st.floats(50, 200), st.floats(50, 200), expansion, st.floats(1, 40), swing)
def test_a_thin_film_bows_as_stoney_says(film, base, one, mismatch, dt):
    found = bilayer_per_mm(1e-4, film, one, 1.0, base, one + mismatch, dt)
    assert found == pytest.approx(thin_film_per_mm(1e-4, film, 1.0, base, mismatch, dt), rel=0.005)


@given(thickness, modulus, expansion, thickness, modulus, expansion, swing)
def test_turned_over_it_bows_the_other_way_and_doubles_with_the_swing(t1, e1, a1, t2, e2, a2, dt):
    kappa = bilayer_per_mm(t1, e1, a1, t2, e2, a2, dt)
    assert bilayer_per_mm(t2, e2, a2, t1, e1, a1, dt) == pytest.approx(-kappa, rel=1e-9, abs=1e-15)
    assert bilayer_per_mm(t1, e1, a1, t2, e2, a2, 2 * dt) == pytest.approx(2 * kappa, abs=1e-15)
    assert bilayer_per_mm(t1, e1, a1, t2, e2, a2 + 1, dt) > kappa


def test_plates_of_one_poisson_ratio_bow_as_strips():
    strip = bilayer_per_mm(0.5, 20, 10, 0.3, 25, 15, 150)
    assert bilayer_per_mm(0.5, 20, 10, 0.3, 25, 15, 150, 0.3, 0.3) == pytest.approx(strip)
    assert bilayer_per_mm(0.5, 20, 10, 0.3, 25, 15, 150, 0.4, 0.2) != pytest.approx(strip, rel=1e-3)
    arrays = bilayer_per_mm(0.5, 20, 10, 0.3, 25, 15, np.array([150, 300]))
    assert arrays == pytest.approx([strip, 2 * strip])


def test_a_cooler_peak_removes_two_thirds():
    """Flat at 150 degC: 180 gives 0.316 of the bow at 245."""
    assert bow_share(180) == pytest.approx(0.3158, abs=1e-4)
    assert bow_removed(180) == pytest.approx(0.684, abs=1e-3)
    assert bow_share(120) < 0
    assert bow_removed(245) == 0
    assert bow_removed(120) == pytest.approx(1 - 30 / 95)


@given(st.floats(151, 244), st.floats(0.1, 1))
def test_hotter_bows_more(peak, step):
    assert bow_share(peak + step) > bow_share(peak)
    assert bow_removed(peak + step) < bow_removed(peak)


@pytest.mark.parametrize(
    ("pitch", "limit"),
    [
        (0.39, None),
        (0.4, 0.10),
        (0.45, 0.10),
        (0.5, 0.11),
        (0.65, 0.14),
        (0.8, 0.17),
        (1.0, 0.22),
        (1.27, 0.25),
        (2.0, 0.25),
    ],
)
def test_limits_by_pitch_take_the_finer_one_between(pitch, limit):
    assert warpage_limit_mm(pitch) == limit


@pytest.mark.parametrize(
    ("low", "high", "outcome", "margin"),
    [
        (-0.119, -0.119, Outcome.PASS, 0.051),  # still gave head-in-pillow
        (-0.17, 0.1, Outcome.PASS, 0.0),
        (-0.18, -0.1, Outcome.UNKNOWN, -0.01),
        (0.18, 0.2, Outcome.FAIL, -0.03),
        (-0.2, 0.2, Outcome.UNKNOWN, -0.03),
    ],
)
def test_within_the_limit_is_never_called_safe(low, high, outcome, margin):
    found = package_warpage(low, high, 0.8)
    assert found.outcome is outcome
    assert found.margin == pytest.approx(margin)
    assert found.cautions == (CAUTION,)
    assert "safe" not in found.reason


def test_below_every_pitch_there_is_no_limit():
    found = package_warpage(0, 0.01, 0.3)
    assert (found.outcome, found.limit) == (Outcome.UNKNOWN, None)


def test_the_gap_that_paste_can_close_and_the_tear_index():
    assert closing_gap_mm(100, 0.8, 0.01) == pytest.approx(0.05)
    assert hot_tear_index(30, -0.5, 100) == pytest.approx(0.15)
    assert hot_tear_index(0, 1, 100) == 0


@pytest.mark.parametrize(
    ("call", "arguments", "where"),
    [
        (bilayer_per_mm, (500, 20, 10, 0.3, 25, 15, 150), "one_thickness_mm"),
        (bilayer_per_mm, (0.5, 20_000, 10, 0.3, 25, 15, 150), "one_modulus_gpa"),
        (bilayer_per_mm, (0.5, 20, 10e-6, 0.3, 25, 15, 150), "one_ppm_k"),
        (bilayer_per_mm, (0.5, 20, 10, 0.3, 25, 15, 150, 0.5), "one_poisson"),
        (thin_film_per_mm, (0.2, 100, 1, 100, 10, 100), "film_thickness_mm"),
        (bow_mm, (0.5, 15), "curvature_per_mm"),
        (bow_mm, (0.001, -15), "length_mm"),
        (bow_share, (180, 140, 150), "usual_peak_c"),
        (bow_share, (900,), "peak_c"),
        (margin_mm, (0.17, -119), "measured_bow_mm"),
        (warpage_limit_mm, (800,), "pitch_mm"),
        (package_warpage, (0.2, 0.1, 0.8), "high_bow_mm"),
        (closing_gap_mm, (0.1, 0.8, 0), "print_um"),
        (hot_tear_index, (-1, 1, 100), "pasty_range_k"),
        (hot_tear_index, (1, 1, 0), "zone_height_um"),
    ],
)
def test_what_cannot_be_names_its_input(call, arguments, where):
    with pytest.raises(InputError) as caught:
        call(*arguments)
    assert where in {fault.where for fault in caught.value.faults}
