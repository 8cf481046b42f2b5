"""Fields of the pages about one joint: text as typed, kept over page turns; reports as tables, told and not clamped."""

from collections.abc import Mapping, Sequence

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from selector.enquiry.report import Report, Section, verdict_rows
from selector.errors import InputError
from selector.fields import UNKNOWN
from selector.ui import state
from selector.ui.charts import csv
from selector.ui.decisions import decided
from selector.ui.say import plain
from selector.ui.tables import table

LONGEST = 200
EMPTY = "default, or type unknown"


def key(page: str, name: str, of: str = "") -> str:
    """Return the key of a field: another brief, or another joint of it, starts anew."""
    return f"{page}:{state.current().generation}:{of}:{name}"


def filled(page: str, name: str, start: str, of: str = "") -> str:
    """Return the key of a field, which holds what was typed on an earlier visit, else what it starts from."""
    own = key(page, name, of)
    if own not in st.session_state:
        st.session_state[own] = _kept().get(own, start)
    return own


def texts(
    page: str,
    named: Sequence[tuple[str, str]],
    start: Mapping[str, str],
    of: str = "",
    columns: int = 4,
    empty: str = EMPTY,
) -> dict[str, str]:
    """Draw text fields in columns and return what stands in them by name.

    Parameters
    ----------
    page : str
    named : sequence of (name, label)
    start : mapping
        What a field starts from; empty where nothing is known, so that the default counts.
    of : str
        Which joint of the brief.
    columns : int
    empty : str
        What an empty field says.
    """
    found = {}
    drawn: list[DeltaGenerator] = []
    for place, (name, label) in enumerate(named):
        # A row at a time, so that a telephone shows them in their order.
        drawn = list(st.columns(columns)) if place % columns == 0 else drawn
        with drawn[place % columns]:
            own = filled(page, name, start.get(name, ""), of)
            found[name] = st.text_input(label, key=own, max_chars=LONGEST, placeholder=empty)
            _kept()[own] = found[name]
    return found


def lines(page: str, name: str, label: str, start: Sequence[str], of: str = "", empty: str = "none") -> list[str]:
    """Draw a field of rows, one a line, and return those that are not empty."""
    own = filled(page, name, "\n".join(start), of)
    text = st.text_area(label, key=own, max_chars=10 * LONGEST, placeholder=empty, height=120)
    _kept()[own] = text
    return [line for line in (line.strip() for line in text.splitlines()) if line]


def picked(
    page: str, name: str, label: str, allowed: Sequence[str], start: str, of: str = "", radio: bool = False
) -> str:
    """Draw a list to pick from, or all of it side by side, and return what is picked."""
    own = filled(page, name, start if start in allowed else allowed[0], of)
    if radio:
        chosen = st.radio(label, list(allowed), key=own, horizontal=True)
    else:
        chosen = st.selectbox(label, list(allowed), key=own)
    _kept()[own] = chosen
    return str(chosen)


def _kept() -> dict[str, str]:
    held = st.session_state.setdefault("board:kept", {})
    assert isinstance(held, dict)
    return held


def first_alloy(case: state.Case | None) -> str:
    """Return the alloy that a page starts from: the leader of the open brief, else the one in use."""
    if case is None:
        return "SAC305"
    admitted = decided(case.brief).admitted
    if admitted:
        return admitted[0].alloy.id
    return case.brief.incumbent if case.brief.incumbent != UNKNOWN else "SAC305"


def faults(error: InputError) -> None:
    """Tell everything that is wrong with what was typed."""
    for fault in error.faults:
        st.error(plain(fault))


def finding(report: Report) -> None:
    """Draw the finding; as an error where a stop stands."""
    if report.stops:
        st.error(plain(report.finding))
    else:
        st.markdown(f"**{plain(report.finding)}**")


def section(found: Section) -> None:
    """Draw a table under its title with what is to know of it."""
    st.markdown(f"**{plain(found.title)}**")
    table(found.rows)
    if found.notes:
        st.caption("\n".join(f"- {plain(note)}" for note in found.notes))


def ending(report: Report) -> None:
    """Draw the verdicts, what was taken where nothing was stated, and the cautions."""
    if report.verdicts:
        st.markdown("**Verdicts**")
        table(verdict_rows(report.verdicts))
    if report.defaults:
        with st.expander(f"Not stated, taken ({len(report.defaults)})"):
            st.markdown("\n".join(f"- {plain(told)}" for told in report.defaults))
    st.warning("\n".join(f"- {plain(told)}" for told in report.told_cautions))


def files(report: Report, name: str) -> None:
    """Offer all tables of a report as one file."""
    rows = [{"table": entry.title, **row} for entry in report.sections for row in entry.rows]
    names = dict.fromkeys(column for row in rows for column in row)
    csv("Tables (CSV)", [{column: row.get(column, "") for column in names} for row in rows], f"{name}.csv")
