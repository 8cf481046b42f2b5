"""Reads the tables of the catalogue into plain rows; foreign tables pass the schemas first."""

from dataclasses import dataclass
from pathlib import Path

from selector.catalogue.evidence import Observation
from selector.datafiles import data_folder, read_table

TABLES = ("alloys", "compositions", "observations", "bands", "elements", "prices", "supply", "sources")

Row = dict[str, str]


@dataclass(frozen=True)
class Tables:
    """The catalogue's tables as text rows, in file order."""

    alloys: list[Row]
    compositions: list[Row]
    observations: list[Row]
    bands: list[Row]
    elements: list[Row]
    prices: list[Row]
    supply: list[Row]
    sources: list[Row]


def read_tables(folder: Path | None = None) -> Tables:
    """Return the tables of a folder, the shipped ones where none is named.

    Parameters
    ----------
    folder : Path, optional
        A folder of foreign tables of the same form; they are checked in full before use.

    Raises
    ------
    InputError
        A file cannot be read, or a foreign table breaks the schema: every fault with file, row and column.
    """
    if folder is not None and folder.resolve() != data_folder().resolve():
        from selector.catalogue.checks import check_folder

        check_folder(folder)
    base = folder or data_folder()
    return Tables(**{name: read_table(base / f"{name}.csv", f"the table {name}.csv") for name in TABLES})


def number(text: str) -> float | None:
    """Return a cell's figure, None where the cell is empty: missing stays missing."""
    return float(text) if text else None


def observation(row: Row) -> Observation:
    """Return a row of `observations.csv` as an `Observation`."""
    return Observation(
        id=row["observation"],
        alloy=row["alloy"],
        name=row["property"],
        value=number(row["value"]),
        low=number(row["low"]),
        high=number(row["high"]),
        unit=row["unit"],
        text=row["text"],
        condition=row["condition"],
        source=row["source"],
        origin=row["origin"],
        grade=row["grade"],
        standing=row["standing"],
        standing_reason=row["standing_reason"],
    )
