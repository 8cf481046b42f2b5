"""Package classification temperatures of IPC/JEDEC J-STD-020: what a part was tested to, never a process recipe.

Lead-free: table 4-2 as printed in three public datasheet copies. Tin-lead: table 4-1 of revision D and later (cell
layout from memory). A part exactly 2.5 mm thick stands in the middle row of the lead-free table; revision C printed it
in both rows, and later revisions put it here.
"""

from dataclasses import dataclass

from selector.errors import Fault, InputError, shown
from selector.ranges import refuse_outside

LEAD_FREE_C = ((260, 260, 260), (260, 250, 245), (250, 245, 245))
TIN_LEAD_C = ((235, 220), (220, 220))
TIN_LEAD_TO_C_C = ((240, 225), (225, 225))
"""Tin-lead as revisions B and C had it, 0 K over and 5 K under (data sheet copy of table 4-1)."""

FAMILIES = ("lead-free", "tin-lead")
REVISIONS = ("C", "D")


@dataclass(frozen=True)
class Classified:
    """A classification temperature with what to know of it.

    Parameters
    ----------
    family, revision : str
    temperature_c : int
    notes : tuple of str
    source, origin, grade : str
    """

    family: str
    revision: str
    temperature_c: int
    notes: tuple[str, ...]
    source: str
    origin: str
    grade: str


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


def classify(thickness_mm: float, volume_mm3: float, family: str, revision: str = "D") -> Classified:
    """Return the classification temperature of a package body by family and revision, with its notes.

    Parameters
    ----------
    thickness_mm, volume_mm3 : float
        Body without balls, leads and added heat sinks.
    family : str
        lead-free or tin-lead; no row exists for low-temperature alloys.
    revision : str
        "C" for parts rated to it or earlier, "D" for it and later.

    Raises
    ------
    InputError
        Sizes that are none, a family or revision that the tables do not have.
    """
    faults = []
    if family not in FAMILIES:
        remedy = "no row exists for low-temperature alloys: a part's rating in lead-free reflow is its margin"
        faults.append(Fault("family", "has no table", shown(family), ", ".join(FAMILIES), remedy))
    if revision not in REVISIONS:
        faults.append(Fault("revision", "is not held", shown(revision), "C (and earlier), D (and later)"))
    faults += [
        Fault(name, "is no size", shown(value), f"above 0 {unit}")
        for name, value, unit in (("thickness_mm", thickness_mm, "mm"), ("volume_mm3", volume_mm3, "mm3"))
        if isinstance(value, bool) or not isinstance(value, int | float) or not value > 0
    ]
    if faults:
        raise InputError("the package", faults)
    refuse_outside("the package", thickness_mm=thickness_mm, volume_mm3=volume_mm3)
    notes = ["what the part was tested to: a ceiling for the board maker, no recipe; three reflows are assumed"]
    source, origin, grade = "jstd-020-datasheets", "tabulated", "medium"
    if family == "lead-free":
        found = lead_free_classification_c(thickness_mm, volume_mm3)
        if thickness_mm == 2.5:
            other = LEAD_FREE_C[2][0 if volume_mm3 < 350 else 1 if volume_mm3 <= 2000 else 2]
            notes.append(
                f"exactly 2.5 mm: revision C printed it in both rows ({found} and {other} degC), revision D and later"
                " in the middle row, which is used"
            )
    elif revision == "C":
        found = TIN_LEAD_TO_C_C[int(thickness_mm >= 2.5)][int(volume_mm3 >= 350)]
        notes.append("revisions B and C: 0 K over, 5 K under; revision D and later: 235 and 220 degC")
    else:
        found = tin_lead_classification_c(thickness_mm, volume_mm3)
        source, origin, grade = "memory-process", "memory", "low"
        notes.append("cell layout of revision D and later from memory; revisions B and C: 240 and 225 degC")
    return Classified(family, revision, found, tuple(notes), source, origin, grade)


def _check(thickness_mm: float, volume_mm3: float) -> None:
    if not (thickness_mm > 0 and volume_mm3 > 0):
        raise ValueError(f"thickness {thickness_mm} mm and volume {volume_mm3} mm3 must both be above 0")
