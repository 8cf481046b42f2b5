"""How sure the order is: the sentence, chances of places, challengers, weights, smallest changes, second opinions."""

from collections.abc import Sequence

import pandas as pd
import streamlit as st

from selector.decision import Decision
from selector.decision import second_opinions as asked_of
from selector.record import charts, charts_robustness, opinion_words
from selector.record.robustness_words import (
    FOLDED,
    band_rows,
    companion,
    contender_rows,
    measurement_rows,
    overturn_lines,
    place_texts,
    sentence,
    split,
)
from selector.robustness import Robustness
from selector.ui import state
from selector.ui.charts import csv, draw
from selector.ui.decisions import decided, sureness
from selector.ui.say import plain
from selector.ui.tables import table
from selector.ui.views import knowledge, left_out, marks, second_opinions

GRID_HEAD = 60
SHOWN = 20
WIDE = 7  # places that fit beside names on a telephone
SCROLLS = " On a narrow screen the grid scrolls to the right."


def show() -> None:
    """Draw the page."""
    st.header("How sure")
    case = state.decidable()
    if case is None:
        return
    decision = decided(case.brief)
    if not decision.admitted:
        st.info("No alloy is admitted: there is no order to be sure of. See Shortlist for what would admit one.")
        return
    known = knowledge.ask()
    draws, seed = knowledge.sampling()
    found = sureness(case.brief, known, draws, seed)
    assert found is not None
    others = f" {opinion_words.chair(decision, asked_of(decision))}" if st.session_state.get("opinions") else ""
    st.markdown(f"**{plain(sentence(found) + others)}**")
    if told := companion(found):
        st.markdown(plain(told))
    st.caption(plain(f"Admissible: {found.region}. Weighed by {decision.weighing.origin}"))
    _chances(found)
    _challengers(found)
    _weights(found)
    _settling(found)
    left_out.show(found)
    second_opinions.show(decision)
    marks.show(decision)
    _hand_over(found, decision)


def _chances(found: Robustness) -> None:
    st.subheader("How often each alloy takes each place")
    names = [entry.alloy for entry in found.contenders][:SHOWN]
    st.caption(
        plain(
            f"Percent of {found.chances.draws} draws of weights and figures; a blank cell was never drawn, which is no"
            f" proof that it cannot be. Weights: {found.chances.weights}. Figures: {found.chances.data}."
            f"{SCROLLS if len(found.contenders) > WIDE else ''}"
        )
    )
    with st.container(height=charts.ROW * len(names) + GRID_HEAD, border=False):
        chart = charts_robustness.chances_of_places(names, found.chances.shares[: len(names)], place_texts(found))
        draw(chart, "chances", sentence(found), "content")
    with st.expander("As a table, with the exact places and leads"):
        st.caption(
            "Score under the stated weights; places and leads over all admissible weights, exact. A lead in points,"
            " negative where the alloy cannot be first: with figures as they rank now, and with its own figures at"
            " their best."
        )
        st.dataframe(pd.DataFrame(contender_rows(found)), hide_index=True, width="stretch", key="contenders")


def _challengers(found: Robustness) -> None:
    often, seldom = split(found)
    if not (often or seldom):
        return
    st.subheader("Who may lead, and who may not")
    st.caption("Leads are exact, by linear programs; shares of draws are sampled.")
    _lines(often)
    if seldom:
        with st.expander(f"{len(seldom)} more: {FOLDED}"):
            _lines(seldom)


def _lines(lines: Sequence[str]) -> None:
    st.markdown("\n".join(f"- {plain(line)}" for line in lines))


def _weights(found: Robustness) -> None:
    if len(found.contenders) < 2:
        return
    rows = band_rows(found)
    if rows:
        _weight_bands(rows)
    st.subheader("Smallest changes that bring a rival level")
    _lines(overturn_lines(found) or ("None was found.",))


def _weight_bands(rows: list[dict[str, object]]) -> None:
    st.subheader("How far a weight may move before another alloy leads")
    st.caption("One weight moves, the others keep their ratios. The tick is the weight now; exact, on lower bounds.")
    told = "; ".join(f"{row['criterion']} {row['low']:.0f} to {row['high']:.0f} %" for row in rows)
    draw(charts_robustness.weight_bands(rows), "bands", f"The leader stays first while {told}")
    with st.expander("The same as a table, %"):
        cells = [
            {
                "criterion": plain(row["criterion"]),
                "weight now": f"{row['weight']:.1f}",
                "first place holds": f"{row['low']:.1f} to {row['high']:.1f}",
                "below it leads": plain(row["below"]) or "nobody else",
                "above it leads": plain(row["above"]) or "nobody else",
            }
            for row in rows
        ]
        st.table(pd.DataFrame(cells).set_index("criterion"))


def _settling(found: Robustness) -> None:
    if not found.measurements:
        return
    st.subheader("What a measurement would narrow")
    st.caption(
        "Each open figure of the list, measured alone: how far open the leader's place stays, over all outcomes."
    )
    table(measurement_rows(found))


def _hand_over(found: Robustness, decision: Decision) -> None:
    st.subheader("Hand over")
    csv("Contenders (CSV)", contender_rows(found), "contenders.csv")
    csv("Weights (CSV)", band_rows(found), "weights.csv")
    st.caption(f"Seed {found.chances.seed}, data {decision.data_hash}, Meltwise {decision.version}.")
