"""How alloys melt, as computed: the finding, bars against the brief's limits, freezing, solids, mixture and section."""

import pandas as pd
import streamlit as st

from selector.brief import known
from selector.melting.database import MISSING
from selector.record import charts_limits, charts_melting
from selector.record.melting_words import Entry, curve_rows, figure_rows, finding, phase_rows
from selector.ui import melted, state
from selector.ui.charts import csv, draw, untitled
from selector.ui.decisions import decided
from selector.ui.say import plain
from selector.ui.tables import table
from selector.ui.views import melting_slow
from selector.ui.views.melting_fields import Asked, fields


def show() -> None:
    """Draw the page."""
    st.header("Melting")
    if state.chosen().warning:
        st.warning(state.chosen().warning)
    case = state.decidable()
    asked = fields(case)
    service_c = known(case.brief.service.maximum_c) if case else None
    limits = charts_limits.limits_of(decided(case.brief)) if case else ()
    entries = _computed(asked, service_c)
    if not entries:
        st.info("Type a composition such as Sn-3.0Ag-0.5Cu, or pick one.")
        return
    st.markdown(f"**{plain(finding(entries, service_c))}**")
    _trust(entries)
    st.subheader("Melting range against the brief's limits")
    st.caption(plain(f"{charts_melting.BARS_CAPTION} {charts_limits.limits_caption(limits)}"))
    bars = charts_melting.melting_bars({entry.name: entry.melting for entry in entries})
    known_c = [t for entry in entries for t in (entry.melting.liquidus_c, *(entry.onset_ends or ())) if t is not None]
    reach_c = (min(known_c, default=0.0), max(known_c, default=0.0))
    draw(charts_limits.with_limits(bars, limits, reach_c), "melting_bars", finding(entries, service_c))
    figures = figure_rows(entries, service_c)
    table(figures)
    _freezing(entries)
    _solids(entries, service_c)
    melting_slow.mixture(asked)
    melting_slow.section(asked)
    st.subheader("Hand over")
    csv("Figures (CSV)", figures, "melting-figures.csv")
    csv("Freezing curves (CSV)", curve_rows(entries), "freezing-curves.csv")


def _computed(asked: Asked, service_c: float | None) -> list[Entry]:
    """Return what was asked for, computed one alloy after another with a word on which."""
    entries, solved = [], True
    for name, composition in asked.alloys:
        told = f"Computing how {name} melts: some seconds the first time, then it is kept."
        with st.spinner(plain(told), show_time=True):
            entry, with_solver = melted.entry_of(name, composition, service_c)
        entries.append(entry)
        solved = solved and with_solver
    if not solved:
        st.warning(plain(MISSING))
    return entries


def _trust(entries: list[Entry]) -> None:
    """Draw failures as failures, cautions as warnings, and each grade in words with what makes it."""
    for entry in entries:
        for failure in entry.melting.failures:
            st.error(plain(f"{entry.name}: not answered. {failure}"))
        for caution in entry.cautions:
            st.warning(plain(f"{entry.name}: {caution}"))
    st.caption("\n".join(f"- {plain(entry.name)}: {plain('; '.join(entry.remarks))}" for entry in entries))


def _freezing(entries: list[Entry]) -> None:
    st.subheader("Liquid against temperature")
    st.caption(
        "Thick solid line: as frozen (Scheil-Gulliver), what a joint does when it is heated again. Dashed line: at"
        " equilibrium (lever rule), what it would do after it was homogenised. Ageing moves it from one to the other."
    )
    columns = st.columns(2)
    for place, entry in enumerate(entries):
        with columns[place % 2]:
            st.markdown(f"**{plain(entry.name)}**")
            if not entry.melting.curve:
                st.info("No freezing path is computed.")
                continue
            chart = charts_melting.freezing_curves(entry.name, entry.melting, entry.path, narrow=True)
            text = f"Liquid of {entry.name} against temperature. {entry.melting.onset_rule}"
            draw(untitled(chart), f"freezing:{place}", text)
    with st.expander("The curves as a table"):
        st.dataframe(pd.DataFrame(curve_rows(entries)), hide_index=True, width="stretch", key="curve_rows")


def _solids(entries: list[Entry], service_c: float | None) -> None:
    st.subheader("Solids, in the order of forming")
    columns = st.columns(2)
    for place, entry in enumerate(entries):
        with columns[place % 2]:
            st.markdown(f"**{plain(entry.name)}**")
            rows = phase_rows(entry, service_c)
            if rows:
                table(rows)
            else:
                st.info("No freezing path is computed.")
