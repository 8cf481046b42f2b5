"""Package classification temperatures of IPC/JEDEC J-STD-020: what a part was tested to, never a process recipe.

Lead-free: table 4-2 as printed in three public datasheet copies. Tin-lead: table 4-1 of revision D and later (cell
layout from memory). A part exactly 2.5 mm thick stands in the middle row of the lead-free table; revision C printed it
in both rows, and later revisions put it here.
"""

LEAD_FREE_C = ((260, 260, 260), (260, 250, 245), (250, 245, 245))
TIN_LEAD_C = ((235, 220), (220, 220))


def lead_free_classification_c(thickness_mm: float, volume_mm3: float) -> int:
    """Return the lead-free classification temperature, degC, of a package body.

    Parameters
    ----------
    thickness_mm, volume_mm3 : float
        Body without balls, leads and added heat sinks; both above 0.

    Raises
    ------
    ValueError
        A size that is not above 0.
    """
    _check(thickness_mm, volume_mm3)
    row = 0 if thickness_mm < 1.6 else 1 if thickness_mm <= 2.5 else 2
    column = 0 if volume_mm3 < 350 else 1 if volume_mm3 <= 2000 else 2
    return LEAD_FREE_C[row][column]


def tin_lead_classification_c(thickness_mm: float, volume_mm3: float) -> int:
    """Return the tin-lead classification temperature, degC; parameters and faults as for lead-free."""
    _check(thickness_mm, volume_mm3)
    return TIN_LEAD_C[int(thickness_mm >= 2.5)][int(volume_mm3 >= 350)]


def _check(thickness_mm: float, volume_mm3: float) -> None:
    if not (thickness_mm > 0 and volume_mm3 > 0):
        raise ValueError(f"thickness {thickness_mm} mm and volume {volume_mm3} mm3 must both be above 0")
