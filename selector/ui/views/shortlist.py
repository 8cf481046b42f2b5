"""The shortlist on the page: finding, melting ranges against limits, screening grid, order, undecided, ruled out."""

import pandas as pd
import streamlit as st

from selector.brief import Brief, dumps
from selector.catalogue import load
from selector.decision import Candidate, Decision, changes_text, decide, finding
from selector.figures import figure, signed
from selector.record import charts
from selector.ui.charts import draw

NEAR_MISSES = 8


# A decision is frozen through and through, so one copy may serve every session.
@st.cache_resource(max_entries=16, show_spinner=False, hash_funcs={Brief: dumps})
def decided(brief: Brief) -> Decision:
    """Return the decision for a brief, kept for the last few briefs."""
    return decide(brief, load())


def show(decision: Decision) -> None:
    """Draw the whole page."""
    st.header(decision.brief.title)
    st.markdown(f"**{finding(decision)}**")
    st.caption(f"Weighed by {decision.weighing.origin}")
    near = [entry for entry in decision.ruled_out if entry.edits][:NEAR_MISSES]
    everything = st.toggle("Show every alloy looked at", key="everything")
    shown = decision.candidates if everything else (*decision.admitted, *decision.undecided, *near)
    _melting(decision, shown)
    st.subheader("Screening")
    st.caption("A cell holds the margin in kelvin or a word; blank does not apply. Hover for reason and source.")
    draw(
        charts.screening_grid(shown),
        "screening",
        f"Screening grid of {len(shown)} alloys against every hard limit",
        "content",
    )
    _order(decision)
    _undecided(decision)
    _ruled_out(decision)
    st.subheader("Cautions")
    st.markdown("\n".join(f"- {caution}" for caution in decision.cautions))
    st.caption(f"Data {decision.data_hash}, Meltwise {decision.version}.")


def _melting(decision: Decision, shown: tuple[Candidate, ...]) -> None:
    st.subheader("Melting range against the limits")
    liquidus, onset = charts.liquidus_limit_c(decision), charts.onset_limit_c(decision)
    parts = []
    if liquidus is not None:
        parts.append(f"Solid rule: hottest liquidus that the parts allow, {figure(liquidus)} degC.")
    if onset is not None:
        parts.append(f"Dashed rule: least remelt onset that service asks for, {figure(onset)} degC.")
    st.caption(" ".join([*parts, "A diamond marks a eutectic or a pure metal."]))
    draw(charts.melting_ranges(decision, shown), "melting", finding(decision))


def _order(decision: Decision) -> None:
    st.subheader("Order of the admitted")
    if not decision.admitted:
        st.info("No alloy is admitted. The nearest to admission stand first below.")
        return
    st.caption("By lower bound of the score, 0 to 100. An alloy with a missing value has bounds and no score.")
    rows = [
        {
            "place": entry.rank,
            "alloy": entry.alloy.id,
            "score low": round(entry.score_low, 1),
            "score": "none" if entry.score is None else f"{entry.score:.1f}",
            "score high": round(entry.score_high, 1),
            "possible places": f"{entry.rank_best} to {entry.rank_worst}",
            "headroom": signed(entry.screened.verdicts[0].margin, "K"),
            "ductility": entry.screened.ductility,
            "missing": ", ".join(share.criterion for share in entry.shares if share.worth is None) or "nothing",
        }
        for entry in decision.admitted
    ]
    st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch")


def _undecided(decision: Decision) -> None:
    if decision.undecided:
        st.subheader("Undecided")
        rows = [
            {
                "alloy": entry.alloy.id,
                "what would decide it": "; ".join(v.threshold or v.reason for v in entry.blocking()),
            }
            for entry in decision.undecided
        ]
        st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch")


def _ruled_out(decision: Decision) -> None:
    st.subheader("Ruled out, nearest to admission first")
    rows = [
        {
            "alloy": entry.alloy.id,
            "reason": "; ".join(verdict.reason for verdict in entry.blocking()),
            "smallest change of the brief that admits it": changes_text(entry.edits) or "none",
        }
        for entry in decision.ruled_out
    ]
    st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch")
