"""A composition read back from a file: the CSV of our own sheet, or the XML of IEC 62474."""

import csv
import io
from datetime import date
from fractions import Fraction
from pathlib import Path

from selector.composition import from_mapping
from selector.datafiles import read_text
from selector.errors import Fault, InputError, shown
from selector.record.iec62474 import Imported, read_xml
from selector.record.plain import guarded
from selector.record.sheet import MEASURED, NOMINAL, certificate
from selector.record.substances import substances
from selector.units import PPM_PER_PERCENT, exact

NEEDED = ("part", "item", "value", "cas", "wt_percent", "basis")
ENDINGS = (".csv", ".xml")
TEXTS = ("lot", "laboratory", "method")
DAYS = ("certified", "expires")


def is_file_name(text: str) -> bool:
    """Return whether a text names a file of a composition: no composition ends like one."""
    return Path(text).suffix.lower() in ENDINGS


def read_compositions(path: Path, today: date | None = None) -> list[Imported]:
    """Return the compositions of a file; raises `InputError` as `read_xml` and `read_csv` do."""
    return read_xml(path) if path.suffix.lower() == ".xml" else [read_csv(path, today)]


def read_csv(path: Path, today: date | None = None) -> Imported:
    """Return the composition, the measured contents and the certificate of a sheet's CSV.

    Raises
    ------
    InputError
        Every fault: missing columns, an element unknown or given twice, a CAS number of another substance, contents
        that are no number or do not add up, a basis that is neither nominal nor measured, a day that is none.
    """
    what = f"the sheet {path.name}"
    text = read_text(path, what)
    try:
        reader = csv.DictReader(io.StringIO(text), strict=True)
        columns = reader.fieldnames or []
        missing = [name for name in NEEDED if name not in columns]
        if missing:
            remedy = "save the sheet as CSV with commas, and change no heading"
            raise InputError(what, [Fault("heading", f"has no column {', '.join(missing)}", remedy=remedy)])
        rows = list(enumerate(reader, 2))
    except csv.Error as error:
        raise InputError(what, [Fault(path.name, f"is not valid CSV ({error})")]) from None
    faults: list[Fault] = []
    nominal: dict[str, object] = {}
    traces: dict[str, Fraction] = {}
    told: dict[str, str] = {}
    name = path.stem
    for number, row in rows:
        place = f"{path.name}, row {number}"
        if len(row) > len(columns):
            faults.append(Fault(place, "has more cells than the heading", allowed=f"{len(columns)} cells"))
        elif row["part"] == "sheet" and row["item"] == "sheet of":
            name = _bare(row["value"] or "")
        elif row["part"] == "certificate":
            told[str(row["item"])] = _bare(row["value"] or "")
        elif row["part"] == "content":
            _content(row, place, nominal, traces, faults)
    if not nominal and not faults:
        faults.append(Fault(path.name, "holds no row of part `content`", allowed="a sheet as this tool writes it"))
    days: dict[str, date | None] = {}
    for key in DAYS:
        try:
            days[key] = date.fromisoformat(told[key]) if told.get(key) else None
        except ValueError:
            faults.append(Fault(f"certificate, {key}", "is not a date", shown(told[key]), "a date such as 2026-11-25"))
    if not faults:
        try:
            composition = from_mapping(nominal, shown(name))
            texts = {key: told.get(key, "") for key in TEXTS}
            given = certificate(**texts, certified=days["certified"], expires=days["expires"], today=today)
            return Imported(name, composition, tuple(sorted(traces.items())), given)
        except InputError as error:
            faults += error.faults
    raise InputError(what, faults)


def _content(
    row: dict[str, str], place: str, nominal: dict[str, object], traces: dict[str, Fraction], faults: list[Fault]
) -> None:
    element, basis = row["item"], row["basis"]
    known = substances().get(element)
    if known is None:
        faults.append(Fault(place, "is not an element in the table", shown(element), "a symbol such as Pb"))
    elif row["cas"] != known.cas:
        faults.append(Fault(place, f"has a CAS number that is not {element}'s", shown(row["cas"]), known.cas))
    if basis not in (NOMINAL, MEASURED):
        faults.append(Fault(place, "has no known basis", shown(basis), f"{NOMINAL}, {MEASURED}"))
    elif element in (traces if basis == MEASURED else nominal):
        faults.append(Fault(place, "is given twice", shown(element), "each element once, or once as each basis"))
    try:
        wt = exact((row["wt_percent"] or "").strip())
    except (ValueError, ZeroDivisionError, OverflowError):
        faults.append(Fault(place, "wt_percent is not a number", shown(row["wt_percent"]), "0 to 100"))
        return
    if not 0 <= wt <= 100:
        faults.append(Fault(place, "wt_percent lies outside the range", shown(row["wt_percent"]), "0 to 100"))
    elif basis == MEASURED:
        traces[element] = wt * PPM_PER_PERCENT
    else:
        nominal[element] = wt


def _bare(text: str) -> str:
    """Return a text cell without the mark that kept a spreadsheet from taking it for a formula."""
    return text[1:] if text.startswith("'") and guarded(text[1:]) == text else text
