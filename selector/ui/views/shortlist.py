"""The shortlist: finding, melting ranges against limits, screening grid, order, what is open or out, one alloy."""

import pandas as pd
import streamlit as st

from selector.decision import Candidate, Decision
from selector.figures import figure
from selector.findings import changes_text, finding, objection, shared_changes, title_of, worth_drawing
from selector.record import charts
from selector.record.html import decision_html
from selector.ui import state
from selector.ui.charts import draw
from selector.ui.decisions import catalogue, decided
from selector.ui.say import plain
from selector.ui.tables import table
from selector.ui.views import moved, order
from selector.ui.views.evidence import facts

WIDE = st.column_config.TextColumn(width="large")
GRID_HEAD = 130
# A row of more than four rem lets the grid break its lines.
WRAPS_PX = 60
LIST_HEIGHT_PX = 480
NARROW = st.column_config.TextColumn(width="small")


def show() -> None:
    """Draw the whole page."""
    case = state.decidable()
    if case is None:
        return
    decision = decided(case.brief)
    st.header(plain(decision.brief.title))
    st.markdown(f"**{plain(finding(decision))}**")
    if objection(decision):
        st.markdown(plain(objection(decision)))
    for change in shared_changes(decision):
        st.markdown(plain(change))
    moved.show(case)
    st.caption(plain(f"Weighed by {decision.weighing.origin}"))
    everything = st.toggle("Show every alloy looked at", key="everything")
    shown = decision.candidates if everything else worth_drawing(decision, catalogue())
    st.subheader("Melting range against the limits")
    st.caption(charts.melting_caption(decision))
    draw(charts.melting_ranges(decision, shown), "melting", finding(decision))
    st.subheader("Screening")
    st.caption(
        "A cell holds the margin in kelvin (thin: under 5) or a word; a dash does not apply."
        " Hover for reason and source."
    )
    # A height of its own makes the box scroll sideways on a narrow screen instead of cutting columns off.
    with st.container(height=charts.ROW * len(shown) + GRID_HEAD, border=False):
        draw(charts.screening_grid(shown), "screening", f"Screening grid of {len(shown)} alloys", "content")
    order.show(decision)
    _undecided(decision)
    _ruled_out(decision)
    _one(decision)
    _hand_over(decision)


def _undecided(decision: Decision) -> None:
    if not decision.undecided:
        return
    st.subheader("Undecided, and what would decide it")
    for entry in decision.undecided:
        told = "; ".join(v.threshold or v.reason for v in entry.blocking())
        st.markdown(f"**{plain(entry.alloy.id)}**: {plain(told)}")


def _ruled_out(decision: Decision) -> None:
    st.subheader("Ruled out, nearest to admission first")
    rows = [
        {
            "alloy": entry.alloy.id,
            "margin": entry.blocking()[0].margin_text,
            "reason": entry.reasons(),
            "smallest change of the brief that admits it": changes_text(entry.edits) or "none",
        }
        for entry in decision.ruled_out
    ]
    st.dataframe(
        pd.DataFrame(rows),
        hide_index=True,
        width="stretch",
        column_config={"margin": NARROW},
        row_height=WRAPS_PX,
        height=LIST_HEIGHT_PX,
        key="ruled_out",
    )


@st.fragment
def _one(decision: Decision) -> None:
    st.subheader("One alloy, with every verdict and every source")
    names = [entry.alloy.id for entry in decision.candidates]
    chosen = st.selectbox("Alloy", names, key="chosen_alloy")
    entry = next(entry for entry in decision.candidates if entry.alloy.id == chosen)
    verdicts(entry)
    shares = [
        {
            "criterion": title_of(share.criterion),
            "level": share.level.text,
            "weight, %": round(100 * share.weight, 1),
            "points at least": round(share.weight * share.worth_low, 1),
            "points at most": round(share.weight * share.worth_high, 1),
            "beyond anchors": "yes" if share.clipped else "",
            "source": share.level.source,
        }
        for share in entry.shares
    ]
    st.dataframe(pd.DataFrame(shares), hide_index=True, width="stretch", key="shares")
    facts(entry.alloy, catalogue())


def verdicts(entry: Candidate) -> None:
    """Draw every verdict of one alloy that applies, with measured value, limit, margin and source."""
    rows = [
        {
            "rule": charts.RULE_TITLES[v.rule],
            "answer": charts.WORDS[v.outcome],
            "finding": v.reason,
            "measured": v.measured_text,
            "limit": "" if v.limit is None else figure(v.limit),
            "margin": v.margin_text,
            "what would decide": v.threshold,
            "source": v.source,
        }
        for v in entry.screened.verdicts
        if charts.WORDS[v.outcome]
    ]
    table(rows)
    for caution in entry.screened.cautions:
        st.caption(plain(f"Watch: {caution}."))


def _hand_over(decision: Decision) -> None:
    st.subheader("Hand over")
    st.download_button(
        "Decision record (HTML)",
        lambda: decision_html(decision, catalogue()).encode(),
        "decision-record.html",
        "text/html",
        on_click="ignore",
        key="record",
    )
    st.markdown("\n".join(f"- {plain(caution)}" for caution in decision.cautions))
    st.caption(f"Data {decision.data_hash}, Meltwise {decision.version}.")
