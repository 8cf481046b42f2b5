"""Every printed cell of the package classification tables of IPC/JEDEC J-STD-020."""

import pytest

from selector.process.classification import lead_free_classification_c, tin_lead_classification_c

# J-STD-020, table 4-2, lead-free, as reprinted in three public datasheets. One size inside every cell.
LEAD_FREE = [
    # under 350, 350 to 2000, over 2000 mm3
    (1.0, 100, 260), (1.0, 1000, 260), (1.0, 3000, 260),  # under 1.6 mm
    (2.0, 100, 260), (2.0, 1000, 250), (2.0, 3000, 245),  # 1.6 to 2.5 mm
    (3.0, 100, 250), (3.0, 1000, 245), (3.0, 3000, 245),  # over 2.5 mm
]  # fmt: skip

# J-STD-020 revision D and later, table 4-1, tin-lead.
TIN_LEAD = [
    # under 350, 350 mm3 or more
    (2.0, 100, 235), (2.0, 1000, 220),  # under 2.5 mm
    (3.0, 100, 220), (3.0, 1000, 220),  # 2.5 mm or more
]  # fmt: skip


@pytest.mark.parametrize(("thickness_mm", "volume_mm3", "printed_c"), LEAD_FREE)
def test_lead_free_cell(thickness_mm, volume_mm3, printed_c):
    assert lead_free_classification_c(thickness_mm, volume_mm3) == printed_c


@pytest.mark.parametrize(("thickness_mm", "volume_mm3", "printed_c"), TIN_LEAD)
def test_tin_lead_cell(thickness_mm, volume_mm3, printed_c):
    assert tin_lead_classification_c(thickness_mm, volume_mm3) == printed_c


def test_exactly_2_5_mm_stands_in_the_middle_row():
    # Revision C printed 2.5 mm in both rows; revision D and later put it in the row 1.6 to 2.5 mm.
    assert [lead_free_classification_c(2.5, volume) for volume in (100, 1000, 3000)] == [260, 250, 245]
    assert tin_lead_classification_c(2.5, 100) == 220
