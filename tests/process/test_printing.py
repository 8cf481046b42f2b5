"""Powder, aperture and transfer: edges of every rule, what both rules ask together, and what cannot be."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.composition import parse
from selector.errors import InputError
from selector.process.printing import (
    area_ratio,
    aspect_ratio,
    least_aperture_um,
    least_side_mm,
    oxide_ppm,
    oxygen_ppm,
    powder_for_aperture,
    powder_for_pitch,
    powder_needed,
    powder_type,
    powders,
    rectangle_area_ratio,
    round_area_ratio,
    stencil,
    surface_m2_g,
    surface_ratio,
    transfer_estimate,
)
from selector.verdict import Outcome

SAC, BISMUTH = parse("SAC305"), parse("Sn-58Bi")


def number(powder):
    return None if powder is None else powder.type


def test_the_table_runs_from_coarse_to_fine():
    rows = list(powders().values())
    assert [row.type for row in rows] == list(range(1, 9))
    for coarse, fine in pairwise(rows):
        assert fine.high_um < coarse.high_um
        assert fine.least_pitch_mm < coarse.least_pitch_mm
    for row in rows:
        assert row.low_um < row.high_um <= row.tenth_above_um < row.most_um


@pytest.mark.parametrize(
    ("side_um", "type_"),
    [
        (750, 1),
        (374, 3),
        (225, 3),
        (224, 4),
        (190, 4),
        (189, 5),
        (125, 5),
        (124, 6),
        (75, 6),
        (74, 7),
        (40, 8),
        (39, None),
    ],
)
def test_five_balls_to_the_edge(side_um, type_):
    assert number(powder_for_aperture(side_um)) == type_


@pytest.mark.parametrize(
    ("pitch", "type_"), [(0.5, 3), (0.49, 4), (0.4, 4), (0.39, 5), (0.3, 5), (0.29, 6), (0.2, 6), (0.06, None)]
)
def test_pitch_to_the_edge(pitch, type_):
    assert number(powder_for_pitch(pitch)) == type_


def test_both_rules_must_hold_and_the_finer_decides():
    assert number(powder_needed(250, 0.4)) == 4
    assert number(powder_needed(150, 0.5)) == 5
    assert powder_needed(45, 0.06) is None
    assert number(powder_needed(250)) == 3
    assert least_aperture_um(38, balls=8) == 304


def test_a_powder_too_coarse_fails_and_one_too_fine_is_a_caution():
    coarse = powder_type(4, SAC, 180, 0.35)
    assert (coarse.outcome, coarse.limit, coarse.margin) == (Outcome.FAIL, 5, -1)
    right = powder_type(5, BISMUTH, 180, 0.35)
    assert (right.outcome, right.cautions) == (Outcome.PASS, ())
    fine = powder_type(6, BISMUTH, 180, 0.35)
    assert fine.outcome is Outcome.PASS
    assert "2 times the oxide" in fine.cautions[0]
    assert "58 wt% bismuth and indium" in fine.cautions[0]
    assert "more flux" in powder_type(6, SAC, 180, 0.35).cautions[0]
    assert powder_type(8, SAC, 30, 0.06).outcome is Outcome.FAIL


def test_ratios_by_hand():
    assert rectangle_area_ratio(0.5, 0.25, 0.1) == pytest.approx(0.125 / 0.15)
    assert round_area_ratio(0.264, 0.1) == pytest.approx(0.66)
    assert area_ratio(np.pi / 4 * 0.264**2, np.pi * 0.264, 0.1) == pytest.approx(0.66)
    assert aspect_ratio(0.2, 0.1) == 2
    assert [float(least_side_mm(foil)) for foil in (0.1, 0.08, 0.05)] == pytest.approx([0.264, 0.2112, 0.132])


@given(st.floats(0.05, 2), st.floats(0.05, 2), st.floats(0.02, 0.3))
def test_a_square_is_as_good_as_a_circle_and_a_thinner_foil_better(length, width, foil):
    assert rectangle_area_ratio(length, length, foil) == pytest.approx(float(round_area_ratio(length, foil)))
    assert rectangle_area_ratio(length, width, foil / 2) > rectangle_area_ratio(length, width, foil)
    whole = area_ratio(length * width, 2 * (length + width), foil)
    assert whole == pytest.approx(float(rectangle_area_ratio(length, width, foil)))


@pytest.mark.parametrize(
    ("ratio", "share"), [(0.30, 0.05), (0.40, 0.30), (0.50, 0.55), (0.58, 0.70), (0.66, 0.85), (0.90, 0.95), (2, 0.95)]
)
def test_the_planning_curve(ratio, share):
    assert transfer_estimate(ratio) == pytest.approx(share)


@given(st.floats(0.3, 3), st.floats(0.001, 1))
def test_a_larger_area_ratio_never_transfers_less(ratio, step):
    assert transfer_estimate(ratio + step) >= transfer_estimate(ratio)
    assert transfer_estimate(np.array([ratio, ratio + step])).shape == (2,)


@pytest.mark.parametrize(
    ("width", "length", "foil", "fine", "outcome"),
    [
        (0.264, 0.264, 0.1, False, Outcome.PASS),
        (0.263, 0.263, 0.1, False, Outcome.FAIL),
        (0.2, 0.2, 0.1, True, Outcome.PASS),
        (0.199, 0.199, 0.1, True, Outcome.FAIL),
        (0.149, 5.0, 0.1, True, Outcome.FAIL),  # aspect ratio
        (0.15, 5.0, 0.1, False, Outcome.PASS),
    ],
)
def test_the_stencil_rule_to_the_edge(width, length, foil, fine, outcome):
    assert stencil(width, length, foil, fine).outcome is outcome


@given(st.floats(2, 100), st.floats(5, 12), st.floats(1.1, 3))
def test_finer_powder_has_more_surface_and_oxide(diameter, density, factor):
    assert surface_m2_g(diameter / factor, density) == pytest.approx(factor * surface_m2_g(diameter, density))
    assert oxide_ppm(diameter / factor, density) == pytest.approx(factor * oxide_ppm(diameter, density))
    assert oxide_ppm(diameter, density, 8) == pytest.approx(2 * oxide_ppm(diameter, density, 4))
    assert surface_ratio(diameter / factor, diameter) == pytest.approx(factor)


def test_the_oxide_of_the_notes():
    """4 nm on 20 um of SAC305 (7.38 g/cm3): 1130 ppm SnO2, 240 ppm oxygen."""
    assert oxide_ppm(20, 7.38) == pytest.approx(1130, abs=1)
    assert oxygen_ppm(oxide_ppm(20, 7.38)) == pytest.approx(240, abs=0.5)


@pytest.mark.parametrize(
    ("call", "arguments", "where"),
    [
        (powder_for_aperture, (0.25,), "smallest_aperture_um"),
        (powder_for_pitch, (400,), "pitch_mm"),
        (powder_needed, (500, 0.4), "smallest_aperture_um"),
        (powder_type, (9, SAC, 250), "type_number"),
        (least_aperture_um, (-38,), "largest_diameter_um"),
        (least_aperture_um, (38, 0), "balls_ratio"),
        (area_ratio, (1.0, 1.0, 0.1), "opening_area_mm2"),
        (rectangle_area_ratio, (0.5, 250, 0.1), "width_aperture_mm"),
        (round_area_ratio, (0.264, 100), "foil_mm"),
        (aspect_ratio, (0.25, 0), "foil_mm"),
        (least_side_mm, (0.1, 0), "wanted_ratio"),
        (transfer_estimate, (0.29,), "area_ratio"),
        (transfer_estimate, (66,), None),
        (stencil, (0.5, 0.25, 0.1), "width_mm"),
        (surface_m2_g, (0, 7.38), "powder_diameter_um"),
        (oxide_ppm, (1.0, 7.38, 100), "skin_nm"),
        (oxygen_ppm, (-1,), "oxide_wt"),
    ],
)
def test_what_cannot_be_names_its_input(call, arguments, where):
    if where is None:  # an area ratio of 66 is odd and not impossible
        assert call(*arguments) == 0.95
        return
    with pytest.raises(InputError) as caught:
        call(*arguments)
    assert where in {fault.where for fault in caught.value.faults}
