"""Soldering steps: the finding, the table of steps, the ladder of one assignment, the best of them, what blocks."""

import pandas as pd
import streamlit as st

from selector.durability.safety import SCREENING_ONLY
from selector.errors import InputError
from selector.planning import MARGIN, MERIT, Assigned, Planned
from selector.record import charts_steps, steps_words
from selector.ui import state
from selector.ui.charts import csv, draw
from selector.ui.planned import planned
from selector.ui.say import plain
from selector.ui.tables import table
from selector.ui.views import steps_hanging
from selector.ui.views.steps_fields import fields

OPEN, NEAREST = "undecided", "nearest"
CHOICES = {MERIT: "best merit", MARGIN: "tightest margin", NEAREST: "smallest change", OPEN: "undecided"}
SHOWN = 12


def show() -> None:
    """Draw the page."""
    st.header("Steps")
    case = state.current()
    top = st.container()
    margin_k, routes = fields(case) if case.held else (None, "")
    with top:
        decidable = state.decidable()
        if decidable is None:
            return
        try:
            found = planned(decidable.brief, margin_k, routes)
        except InputError as error:
            for fault in error.faults:
                st.error(plain(fault))
            return
        st.markdown(f"**{plain(steps_words.finding(found))}**")
        st.caption(plain(f"{steps_words.left_out(found)} {steps_words.method(found)}"))
    assigned = _choose(found)
    for told in steps_words.openings(found):
        st.markdown(f"- {plain(told)}")
    if assigned is not None:
        _ladder(assigned)
        steps_hanging.show(assigned)
    _lists(found)
    st.caption(SCREENING_ONLY)


def _choose(found: Planned) -> Assigned | None:
    """Draw what to choose by and which assignment; return it."""
    by_name = {MERIT: found.best(MERIT, SHOWN) if found.has_merit else (), MARGIN: found.best(MARGIN, SHOWN)}
    by_name |= {NEAREST: found.nearest(), OPEN: found.undecided(SHOWN)}
    offered = [name for name, entries in by_name.items() if entries]
    if not offered:
        return None
    left, right = st.columns([2, 3], vertical_alignment="bottom")
    with left:
        by = st.radio(
            "Choose by", offered, format_func=lambda name: CHOICES[name], horizontal=True, key="steps_by",
            persist_state="session",
        )  # fmt: skip
    entries = by_name[by]
    with right:
        place = st.selectbox(
            "Assignment to look at",
            range(len(entries)),
            format_func=lambda place: _label(entries[place], found.has_merit),
            key=f"steps_pick:{by}",
        )
    return entries[place]


def _label(assigned: Assigned, has_merit: bool) -> str:
    merit = f", merit {assigned.merit:.1f}" if has_merit and assigned.merit is not None else ""
    return f"{' > '.join(assigned.alloys)} ({steps_words.tightest(assigned)}{merit})"


def _ladder(assigned: Assigned) -> None:
    doubt = "Undecided, nothing here is certain: ladder of" if assigned.open else "Ladder of"
    doubt = "Does not hold yet: ladder of" if assigned.change else doubt
    st.subheader(plain(f"{doubt} {' > '.join(assigned.alloys)}"))
    if assigned.change:
        st.warning(plain(f"What would open it: {assigned.change}"))
    for question in assigned.open:
        st.warning(plain(f"Open: {question}"))
    draw(charts_steps.ladder_chart(assigned), "steps_ladder", charts_steps.alt_text(assigned))
    st.caption(charts_steps.CAPTION)
    rows = steps_words.ladder_rows(assigned)
    table(rows)
    cautions = steps_words.cautions(assigned)
    if cautions:
        st.caption("\n".join(f"- {plain(told)}" for told in cautions))
    st.caption(plain(f"Sources: {steps_words.sources(assigned)}"))
    csv("Ladder (CSV)", rows, "steps-ladder.csv")


def _lists(found: Planned) -> None:
    """Draw the best of each order, what is undecided and why, and what law left out."""
    st.subheader("Assignments")
    for by in (MERIT, MARGIN):
        entries = found.best(by, SHOWN) if by == MARGIN or found.has_merit else ()
        if entries:
            st.markdown(f"**Best {steps_words.BY[by]}**")
            rows = steps_words.assignment_rows(found, entries)
            st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch", key=f"steps_{by}")
            csv(f"Best {steps_words.BY[by]} (CSV)", rows, f"steps-{by}.csv")
    undecided = found.undecided(SHOWN)
    if undecided:
        with st.expander(f"Undecided: the first {len(undecided)} of {len(found.plan.undecided):,}"):
            rows = steps_words.assignment_rows(found, undecided)
            st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch", key="steps_undecided")
            st.caption("\n".join(f"- {plain(told)}" for told in steps_words.left_open(found, undecided)))
    if found.left_out:
        with st.expander(f"Left out by the brief: {len(found.left_out)} alloys"):
            st.markdown("\n".join(f"- {plain(name)}: {plain(verdict.reason)}" for name, verdict in found.left_out))
