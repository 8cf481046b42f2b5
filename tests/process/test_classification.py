"""Classification temperatures: the edges of the tables, and sizes that are none."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.errors import InputError
from selector.process.classification import classify, lead_free_classification_c, tin_lead_classification_c

BELOW_16, BELOW_25, ABOVE_25 = math.nextafter(1.6, 0), math.nextafter(2.5, 0), math.nextafter(2.5, 3)
BELOW_350, ABOVE_2000 = math.nextafter(350, 0), math.nextafter(2000, 3000)

sizes = st.floats(0.001, 1e5)


@pytest.mark.parametrize(
    ("thickness_mm", "volume_mm3", "expected_c"),
    [
        # Under 1.6 mm the volume does not count.
        (BELOW_16, BELOW_350, 260),
        (BELOW_16, 350, 260),
        (BELOW_16, 2000, 260),
        (BELOW_16, ABOVE_2000, 260),
        # From 1.6 to 2.5 mm, both ends included; from 350 to 2000 mm3, both ends included.
        (1.6, BELOW_350, 260),
        (1.6, 350, 250),
        (1.6, 2000, 250),
        (1.6, ABOVE_2000, 245),
        (BELOW_25, BELOW_350, 260),
        (BELOW_25, 350, 250),
        (BELOW_25, ABOVE_2000, 245),
        # Exactly 2.5 mm stands in the middle row.
        (2.5, BELOW_350, 260),
        (2.5, 350, 250),
        (2.5, 2000, 250),
        (2.5, ABOVE_2000, 245),
        # Thicker than 2.5 mm.
        (ABOVE_25, BELOW_350, 250),
        (ABOVE_25, 350, 245),
        (ABOVE_25, 2000, 245),
        (ABOVE_25, ABOVE_2000, 245),
    ],
)
def test_edges_of_the_lead_free_table(thickness_mm, volume_mm3, expected_c):
    assert lead_free_classification_c(thickness_mm, volume_mm3) == expected_c


@pytest.mark.parametrize(
    ("thickness_mm", "volume_mm3", "expected_c"),
    [
        (BELOW_25, BELOW_350, 235),
        (BELOW_25, 350, 220),
        (2.5, BELOW_350, 220),
        (2.5, 350, 220),
    ],
)
def test_edges_of_the_tin_lead_table(thickness_mm, volume_mm3, expected_c):
    assert tin_lead_classification_c(thickness_mm, volume_mm3) == expected_c


@pytest.mark.parametrize("classify", [lead_free_classification_c, tin_lead_classification_c])
@pytest.mark.parametrize("size", [(0, 1), (1, 0), (-1, 1), (1, -1), (math.nan, 1), (1, math.nan), (0, 0)])
def test_what_is_no_size_is_refused(classify, size):
    with pytest.raises(ValueError, match="must both be above 0"):
        classify(*size)


@pytest.mark.parametrize("classify", [lead_free_classification_c, tin_lead_classification_c])
@given(sizes, sizes, sizes, sizes)
def test_a_larger_package_never_classifies_higher(classify, thickness, thicker, volume, larger):
    thickness, thicker = sorted((thickness, thicker))
    volume, larger = sorted((volume, larger))
    assert classify(thicker, larger) <= classify(thickness, volume)
    assert tin_lead_classification_c(thickness, volume) < lead_free_classification_c(thickness, volume)


@pytest.mark.parametrize(
    ("thickness_mm", "volume_mm3", "family", "revision", "expected_c"),
    [
        (2.0, 1000, "lead-free", "D", 250),
        (2.0, 1000, "lead-free", "C", 250),
        (2.0, 100, "tin-lead", "D", 235),
        (2.0, 350, "tin-lead", "D", 220),
        # Revision C, table 4-1 as reprinted in a data sheet: 240 in one case, 225 in the other three.
        (2.0, 100, "tin-lead", "C", 240),
        (2.0, 350, "tin-lead", "C", 225),
        (2.5, 100, "tin-lead", "C", 225),
        (2.5, 350, "tin-lead", "C", 225),
    ],
)
def test_by_family_and_revision(thickness_mm, volume_mm3, family, revision, expected_c):
    found = classify(thickness_mm, volume_mm3, family, revision)
    assert (found.temperature_c, found.family, found.revision) == (expected_c, family, revision)
    assert found.origin == ("memory" if (family, revision) == ("tin-lead", "D") else "tabulated")


@pytest.mark.parametrize(("volume_mm3", "both"), [(100, "260 and 250"), (1000, "250 and 245"), (3000, "245 and 245")])
def test_exactly_2_5_mm_tells_that_the_revisions_differ(volume_mm3, both):
    (note,) = [note for note in classify(2.5, volume_mm3, "lead-free").notes if "2.5 mm" in note]
    assert both in note
    assert "middle row" in note
    assert not [note for note in classify(2.4, volume_mm3, "lead-free").notes if "2.5 mm" in note]


def test_every_wrong_input_of_a_classification_is_told_at_once():
    with pytest.raises(InputError) as caught:
        classify(0, math.nan, "bismuth", "Z")
    assert [fault.where for fault in caught.value.faults] == ["family", "revision", "thickness_mm", "volume_mm3"]
    with pytest.raises(InputError, match="thickness_mm: lies outside the range"):
        classify(2500, 100, "lead-free")
