"""Makes `data/melting.csv`: every catalogue alloy, and bismuth and indium grades with lead in them, on all cores."""

import csv
import io
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from itertools import pairwise
from math import isnan
from multiprocessing import get_context
from pathlib import Path

from selector import composition as spelling
from selector.catalogue import Alloy
from selector.composition import Composition
from selector.datafiles import data_folder
from selector.errors import Fault, InputError
from selector.figures import figure, plain_number
from selector.melting.alloy import Melting, melt
from selector.melting.computed import FIGURES, LEAD_WT, TABLE, computed_table
from selector.melting.coverage import coverage
from selector.melting.mixing import with_trace
from selector.melting.store import composition_key, inputs_hash
from selector.policy import policy
from selector.units import exact

MOVED_K = 0.5
CURVE_AT = (0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 0.9)
COLUMNS = (
    "alloy",
    "lead_wt",
    "composition",
    "status",
    "grade",
    *FIGURES,
    "onset_rule",
    "onset_phases",
    "as_frozen",
    "notes",
    "inputs",
)


@dataclass(frozen=True)
class Wanted:
    """A composition that the table should hold."""

    alloy: str
    lead_wt: str
    composition: Composition


def wanted(alloys: Iterable[Alloy]) -> tuple[Wanted, ...]:
    """Return the compositions of the table: every alloy, and lead-free bismuth and indium grades with lead in them."""
    rows = []
    rules = policy().lead_with_bismuth
    for alloy in alloys:
        rows.append(Wanted(alloy.id, "0", alloy.composition))
        reactive = rules.is_reactive(alloy.composition.wt("Bi"), alloy.composition.wt("In"))
        if reactive and not alloy.composition.wt("Pb"):
            rows.append(Wanted(alloy.id, LEAD_WT, with_trace(alloy.composition, {"Pb": LEAD_WT})))
    return tuple(rows)


def recompute(
    alloys: Sequence[Alloy], workers: int = 2, told: Callable[[int, int], None] | None = None
) -> tuple[dict[str, str], ...]:
    """Return the rows of the table, computed anew on several processes.

    Parameters
    ----------
    alloys : sequence of Alloy
    workers : int
        Processes; 1 computes in this one.
    told : callable, optional
        Called with how many of how many are done.
    """
    rows = wanted(alloys)
    covered, refused = [], {}
    for k, row in enumerate(rows):
        try:
            coverage(row.composition)
            covered.append(k)
        except InputError as error:
            refused[k] = error
    done = len(refused)
    results: dict[int, Melting] = {}
    if workers == 1:
        for k in covered:
            results[k] = _melt_one(rows[k].composition)
            done += 1
            if told is not None:
                told(done, len(rows))
    else:
        with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
            tasks = {pool.submit(_melt_one, rows[k].composition): k for k in covered}
            for task in as_completed(tasks):
                results[tasks[task]] = task.result()
                done += 1
                if told is not None:
                    told(done, len(rows))
    return tuple(_text(row, results.get(k), refused.get(k)) for k, row in enumerate(rows))


def _melt_one(alloy: Composition) -> Melting:
    return melt([alloy])[0]


def _text(row: Wanted, found: Melting | None, refused: InputError | None) -> dict[str, str]:
    key = composition_key(row.composition)
    # The lead that was added is part of the key's other half, so that a row is found from the alloy as listed.
    listed = composition_key(row.composition) if row.lead_wt == "0" else _listed_key(row)
    text = dict.fromkeys(COLUMNS, "")
    text |= {"alloy": row.alloy, "lead_wt": row.lead_wt, "composition": listed, "inputs": inputs_hash(key)}
    if found is None:
        assert refused is not None
        fault = refused.faults[0]
        return text | {"status": f"not computed: {fault.problem}"}
    for name in FIGURES:
        value = getattr(found, name)
        text[name] = "" if value is None else plain_number(round(value, 4 if name == "first_liquid_mass" else 2))
    notes = [*found.notes, *(f"failed: {failure}" for failure in found.failures)]
    return text | {
        "status": "computed",
        "grade": found.grade,
        "onset_rule": found.onset_rule,
        "onset_phases": "; ".join(found.onset_phases),
        "as_frozen": ";".join(f"{t:.2f}={mass:.4f}" for t, mass in _coarse(found.curve)),
        "notes": " | ".join(notes),
    }


def _listed_key(row: Wanted) -> str:
    share = 100 - exact(row.lead_wt)
    parts = {e: wt * 100 / share for e, wt in row.composition.parts if e != "Pb"}
    return composition_key(spelling.from_mapping(parts, row.alloy))


def _coarse(curve: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return a freezing curve at a few fractions, its ends and its jump kept."""
    if not curve:
        return []
    kept = [curve[0]]
    for upper, lower in pairwise(curve):
        passed = [at for at in CURVE_AT if lower[1] <= at < upper[1]]
        if passed and lower[0] != upper[0]:
            if kept[-1] != upper:
                kept.append(upper)
            kept.append(lower)
    kept += [point for point in curve[-2:] if point != kept[-1]]
    return kept


def table_text(rows: Sequence[Mapping[str, str]]) -> str:
    """Return the rows as the text of the file."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def held() -> Mapping[tuple[str, str], float | None]:
    """Return the remelt onset that the file holds, by alloy and lead content."""
    return {(row.alloy, row.lead_wt): row.remelt_onset_c for row in computed_table().values()}


def changes(before: Mapping[tuple[str, str], float | None], rows: Sequence[Mapping[str, str]]) -> tuple[str, ...]:
    """Return in words which alloys came, went, or have a remelt onset that moved by more than half a kelvin."""
    now = {(row["alloy"], row["lead_wt"]): float(row["remelt_onset_c"] or "nan") for row in rows}
    lines = [f"{called(*key)}: no longer in the table" for key in before if key not in now]
    for key, new in now.items():
        if key not in before:
            lines.append(f"{called(*key)}: new in the table")
            continue
        old = before[key]
        known = None if isnan(new) else new
        if (old is None) != (known is None) or (old is not None and abs(new - old) > MOVED_K):
            lines.append(f"{called(*key)}: remelt onset {figure(old)} -> {figure(known)} degC")
    return tuple(lines)


def refuse_unwritable() -> None:
    """Raise before hours of work if the table cannot be written.

    Raises
    ------
    InputError
        The folder of tables cannot be written to.
    """
    path = data_folder() / TABLE
    try:
        with path.open("r+b"), tempfile.TemporaryFile(dir=path.parent):
            return
    except OSError as error:
        raise InputError("the computed melting", [_unwritable(path, error)]) from None


def write(rows: Sequence[Mapping[str, str]]) -> None:
    """Write the rows to the file, all or nothing.

    Raises
    ------
    InputError
        It cannot be written.
    """
    path = data_folder() / TABLE
    part = path.with_suffix(".part")
    try:
        part.write_text(table_text(rows), encoding="utf-8", newline="")
        part.replace(path)
    except OSError as error:
        raise InputError("the computed melting", [_unwritable(path, error)]) from None
    computed_table.cache_clear()


def _unwritable(path: Path, error: OSError) -> Fault:
    remedy = "work on a clone, whose data/ can be written"
    return Fault(f"data/{path.name}", f"cannot be written ({error.strerror})", remedy=remedy)


def called(alloy: str, lead_wt: str) -> str:
    """Return how a row is called: the alloy, with the lead that was added."""
    return alloy if lead_wt == "0" else f"{alloy} with {lead_wt} wt% Pb"


def stale(alloys: Iterable[Alloy]) -> tuple[str, ...]:
    """Return the alloys whose row is missing or was computed from other inputs than today's."""
    of_inputs = {(row.alloy, row.lead_wt): row.inputs for row in computed_table().values()}
    return tuple(
        called(row.alloy, row.lead_wt)
        for row in wanted(alloys)
        if of_inputs.get((row.alloy, row.lead_wt)) != inputs_hash(composition_key(row.composition))
    )
