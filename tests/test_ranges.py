"""What a figure can be: edges, wrong units, arrays, and what is no number."""

import math

import numpy as np
import pytest

from selector.errors import Fault, InputError
from selector.ranges import RANGES, is_number, range_of, refuse_outside, wrong_if


def faults(**figures):
    with pytest.raises(InputError) as caught:
        refuse_outside("the board", **figures)
    return caught.value.faults


@pytest.mark.parametrize("kind", sorted(RANGES))
def test_both_ends_are_taken_and_nothing_beyond(kind):
    allowed = RANGES[kind]
    if range_of(kind) is not allowed:
        pytest.fail(f"{kind} is hidden by a longer name")
    refuse_outside("the board", **{kind: allowed.high})
    low = math.nextafter(allowed.low, math.inf) if allowed.open_low else allowed.low
    if abs(low) >= allowed.least or low == 0:
        refuse_outside("the board", **{kind: low})
    assert faults(**{kind: math.nextafter(allowed.high, math.inf)})[0].where == kind
    assert faults(**{kind: allowed.low if allowed.open_low else math.nextafter(allowed.low, -math.inf)})


def test_the_longest_name_decides():
    assert range_of("upper_cte_ppm_k") is RANGES["ppm_k"]
    assert range_of("paste_metal_share") is RANGES["metal_share"]
    assert range_of("peak_c") is RANGES["_c"]
    with pytest.raises(ValueError, match="empty"):
        range_of("nothing known")


@pytest.mark.parametrize(
    ("name", "value", "told"),
    [
        ("foil_mm", 100, "in um it would be 0.1 mm"),
        ("standoff_um", 0.075, ""),
        ("peak_c", 518.15, "in K it would be 245 degC"),
        ("die_modulus_gpa", 130_000, "in MPa it would be 130 GPa"),
        ("board_cte_ppm_k", 17e-6, "in 1/K it would be 17 ppm/K"),
        ("metal_g_cm3", 7380, "in kg/m3 it would be 7.38 g/cm3"),
        ("paste_metal_share", 88.5, "in % it would be 0.885"),
        ("oven_power_kw", 10_600, "in W it would be 10.6 kW"),
        ("grid_kg_kwh", 400, "in g/kWh it would be 0.4 kg/kWh"),
    ],
)
def test_the_unit_that_was_meant_is_told(name, value, told):
    if not told:  # such a slip lies inside the range: nothing can be told
        refuse_outside("the board", **{name: value})
        return
    (fault,) = faults(**{name: value})
    assert fault.where == name
    assert told in fault.remedy


def test_all_faults_are_told_at_once_and_a_negative_is_called_so():
    low, high = faults(standoff_um=-1, foil_mm=0.1, pitch_mm=99)
    assert (low.where, low.problem, low.value) == ("standoff_um", "is negative", "-1 um")
    assert (high.where, high.problem, high.allowed) == ("pitch_mm", "lies outside the range", "0.05 to 10 mm")


@pytest.mark.parametrize("value", [None, True, "0.1", math.nan, math.inf, [0.1, math.nan], "x", [[1], [1, 2]], {}])
def test_what_is_no_number_is_refused(value):
    (fault,) = faults(foil_mm=value)
    assert fault.problem == "is not a finite number"
    assert not is_number(value)


def test_an_array_is_judged_value_by_value():
    refuse_outside("the board", foil_mm=np.array([0.1, 0.2]))
    (fault,) = faults(foil_mm=np.array([0.1, 20, 30]))
    assert fault.problem == "lies outside the range in 2 of 3 values"
    assert fault.value == "20 mm"


def test_a_fault_of_the_geometry_stands_beside_the_others():
    assert wrong_if(np.array([False, False]), "a", "b", 1, "c") is None
    assert wrong_if(math.nan > 1, "a", "b", 1, "c") is None
    fault = wrong_if([False, True], "aperture_mm", "is larger than the pitch", 0.5, "at most 0.4 mm", "check both")
    assert fault == Fault("aperture_mm", "is larger than the pitch", "0.5", "at most 0.4 mm", "check both")
    with pytest.raises(InputError) as caught:
        refuse_outside("the print", fault, None, foil_mm=-1)
    assert [entry.where for entry in caught.value.faults] == ["foil_mm", "aperture_mm"]
