"""What `data/melting.csv` holds: the computed melting of catalogue alloys, read so that deciding needs no solver.

A composition that the table does not hold, of a foreign table say, is computed when it is asked for, once.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from selector.composition import Composition
from selector.datafiles import data_folder, read_table
from selector.errors import InputError
from selector.melting.alloy import Melting, liquid_on
from selector.melting.store import composition_key, inputs_hash, melting_of

TABLE = "melting.csv"
LEAD_WT = "1"
FIGURES = (
    "half_width_k",
    "liquidus_c",
    "t98_c",
    "t90_c",
    "solidus_c",
    "last_liquid_c",
    "first_liquid_mass",
    "remelt_onset_c",
    "onset_low_c",
    "onset_high_c",
)


@dataclass(frozen=True)
class Computed:
    """A row: how one composition melts as computed, or why that is not known.

    Parameters
    ----------
    alloy : str
        Catalogue id.
    lead_wt : str
        wt% of lead added; "0" for the alloy as listed.
    status : str
        `computed`, or why not.
    curve : tuple of (float, float)
        As frozen: temperature, degC, and mass fraction liquid, falling.
    """

    alloy: str
    lead_wt: str
    composition: str
    status: str
    grade: str
    half_width_k: float | None
    liquidus_c: float | None
    t98_c: float | None
    t90_c: float | None
    solidus_c: float | None
    last_liquid_c: float | None
    first_liquid_mass: float | None
    remelt_onset_c: float | None
    onset_low_c: float | None
    onset_high_c: float | None
    onset_rule: str
    onset_phases: tuple[str, ...]
    curve: tuple[tuple[float, float], ...]
    notes: tuple[str, ...]
    inputs: str

    @property
    def is_computed(self) -> bool:
        """Return whether the engine covered the alloy."""
        return self.status == "computed"

    @property
    def why(self) -> tuple[str, ...]:
        """Return the systems that set the grade."""
        return tuple(note.split(": ", 1)[1] for note in self.notes if note.startswith("why "))

    @property
    def cautions(self) -> tuple[str, ...]:
        """Return the notes that warn."""
        return tuple(note.removeprefix("caution: ") for note in self.notes if note.startswith("caution: "))

    def liquid_as_frozen(self, temperature_c: float) -> float | None:
        """Return the mass fraction liquid, as frozen, at a temperature; None where it is not computed."""
        return liquid_on(self.curve, temperature_c) if self.curve else None


@cache
def computed_table() -> Mapping[tuple[str, str], Computed]:
    """Return the rows by composition and lead content."""
    rows = [_row(row) for row in read_table(data_folder() / TABLE, "the computed melting")]
    return MappingProxyType({(row.composition, row.lead_wt): row for row in rows})


def computed_melting(alloy: Composition, lead_wt: str = "0") -> Computed | None:
    """Return how a composition melts as computed: from the table, or anew where it is not in it.

    Parameters
    ----------
    alloy : Composition
        As listed.
    lead_wt : str
        "0", or the wt% of lead that the table holds bismuth grades with.

    Returns
    -------
    Computed or None
        None where a row with lead is not held, or the solver is not installed.
    """
    held = computed_table().get((composition_key(alloy), lead_wt))
    return held if held is not None or lead_wt != "0" else _anew(alloy)


@cache
def _anew(alloy: Composition) -> Computed | None:
    try:
        return as_computed(str(alloy), melting_of([alloy])[0])
    except InputError as error:
        return not_computed(str(alloy), alloy, error)


def as_computed(name: str, found: Melting, lead_wt: str = "0", key: str = "") -> Computed:
    """Return a result in the form of the table."""
    notes = (*found.notes, *(f"failed: {failure}" for failure in found.failures))
    figures = {name: getattr(found, name) for name in FIGURES}
    return Computed(
        alloy=name,
        lead_wt=lead_wt,
        composition=key,
        status="computed",
        grade=found.grade,
        onset_rule=found.onset_rule,
        onset_phases=found.onset_phases,
        curve=found.curve,
        notes=notes,
        inputs="",
        **figures,
    )


def not_computed(name: str, alloy: Composition, error: InputError) -> Computed:
    """Return a row that says why an alloy is not computed."""
    fault = error.faults[0]
    return Computed(
        name,
        "0",
        composition_key(alloy),
        f"not computed: {fault.problem}",
        "",
        **dict.fromkeys(FIGURES),
        onset_rule="",
        onset_phases=(),
        curve=(),
        notes=(),
        inputs=inputs_hash(composition_key(alloy)),
    )


def _row(row: Mapping[str, str]) -> Computed:
    figures = {name: float(row[name]) if row[name] else None for name in FIGURES}
    points = [point.split("=") for point in row["as_frozen"].split(";") if point]
    return Computed(
        alloy=row["alloy"],
        lead_wt=row["lead_wt"],
        composition=row["composition"],
        status=row["status"],
        grade=row["grade"],
        onset_rule=row["onset_rule"],
        onset_phases=tuple(name for name in row["onset_phases"].split("; ") if name),
        curve=tuple((float(t), float(mass)) for t, mass in points),
        notes=tuple(note for note in row["notes"].split(" | ") if note),
        inputs=row["inputs"],
        **figures,
    )
