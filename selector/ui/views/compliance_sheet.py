"""The composition sheet of one alloy: the fields of its certificate, what was measured, and the files to hand on."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

import pandas as pd
import streamlit as st

from selector.compliance.context import Context
from selector.composition import Composition, atomic_masses
from selector.errors import Fault, InputError, shown
from selector.record.iec62474 import sheet_xml
from selector.record.sheet import LONGEST, NO_DECLARATION, Certificate, Sheet, certificate, sheet
from selector.record.sheet_files import sheet_csv, sheet_html, sheet_xlsx
from selector.ui import downloads
from selector.ui.say import plain
from selector.units import exact

SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def show(name: str, composition: Composition, contexts: Sequence[Context]) -> None:
    """Draw the fields of the certificate, the table of measured traces, and the buttons that hand the sheet on.

    Parameters
    ----------
    name : str
    composition : Composition
        Nominal.
    contexts : sequence of Context
        At least one. Traces of the first fill the table; what stands in the table then goes into every verdict.
    """
    st.subheader(plain(f"Composition sheet of {name}"))
    st.caption(plain(NO_DECLARATION))
    measured = _table(name, contexts[0])
    given = _fields(name)
    try:
        held = traces(measured)
        made = sheet(name, composition, [replace(context, traces=held) for context in contexts], given())
    except InputError as error:
        for fault in error.faults:
            st.error(plain(fault))
        return
    st.markdown(f"**{plain(made.headline)}**")
    for caution in made.cautions:
        st.caption(plain(f"Watch: {caution}."))
    _buttons(made)


def _table(name: str, context: Context) -> list[Mapping[str, Any]]:
    """Draw the table of measured contents and return its rows."""
    st.markdown(
        "Measured contents of the lot; where an element is named too, both are judged and the worse answer holds."
    )
    frame = pd.DataFrame(
        {
            "element": pd.Series([element for element, _ in context.traces], dtype="string"),
            "ppm": pd.Series([float(content) for _, content in context.traces], dtype="float64"),
        }
    )
    edited = st.data_editor(
        frame,
        num_rows="dynamic",
        hide_index=True,
        width=360,
        key=f"sheet_traces_{name}",
        column_config={
            "element": st.column_config.SelectboxColumn("element", options=sorted(atomic_masses()), required=True),
            "ppm": st.column_config.NumberColumn("content, ppm by mass", min_value=0, max_value=1e6, required=True),
        },
    )
    cells = zip(edited["element"], edited["ppm"], strict=True)
    return [{"element": element, "ppm": ppm} for element, ppm in cells]


def traces(rows: Iterable[Mapping[str, Any]]) -> tuple[tuple[str, Fraction], ...]:
    """Return measured contents by element, ppm, of the rows of the table; a row without both parts is not finished.

    Raises
    ------
    InputError
        An element given twice.
    """
    found: dict[str, Fraction] = {}
    faults = []
    for row in rows:
        if pd.isna(row["element"]) or pd.isna(row["ppm"]):
            continue
        if row["element"] in found:
            faults.append(Fault("measured contents", "name an element twice", shown(row["element"]), "each once"))
        found[row["element"]] = exact(float(row["ppm"]))
    if faults:
        raise InputError("the table", faults)
    return tuple(sorted(found.items()))


def _fields(name: str) -> Callable[[], Certificate]:
    """Draw the fields of the certificate, kept for each alloy by itself; return what makes one of them."""
    left, middle, right = st.columns(3)
    lot = left.text_input("Lot", key=f"sheet_lot_{name}", max_chars=LONGEST)
    laboratory = middle.text_input("Laboratory", key=f"sheet_laboratory_{name}", max_chars=LONGEST)
    method = right.text_input("Method", key=f"sheet_method_{name}", max_chars=LONGEST)
    certified: date | None = left.date_input(
        "Day of the certificate", None, key=f"sheet_certified_{name}", format="YYYY-MM-DD"
    )
    expires: date | None = middle.date_input("Expires", None, key=f"sheet_expires_{name}", format="YYYY-MM-DD")

    def given() -> Certificate:
        return certificate(lot, laboratory, method, certified, expires)

    return given


def _buttons(made: Sheet) -> None:
    stem = f"sheet-{made.name}".replace("/", "-")
    files = (
        ("To print (HTML)", "html", "text/html", lambda: sheet_html(made).encode()),
        ("Workbook (XLSX)", "xlsx", SPREADSHEET, lambda: sheet_xlsx(made)),
        ("Spreadsheet (CSV)", "csv", "text/csv", lambda: sheet_csv(made).encode()),
        ("IEC 62474 (XML)", "xml", "application/xml", lambda: sheet_xml(made).encode()),
    )
    for place, (label, ending, kind, content) in zip(st.columns(len(files)), files, strict=True):
        with place:
            downloads.button(label, content, f"{stem}.{ending}", kind, key=f"sheet_{ending}", width="stretch")
