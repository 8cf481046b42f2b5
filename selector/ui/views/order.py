"""The order of the admitted: what makes each score, who cannot be told from whom, how firm it is."""

from pathlib import Path

import numpy as np
import pandas as pd
import streamlit as st

from selector.decision import Decision
from selector.figures import levels
from selector.record import charts, charts_robustness
from selector.record.html import missing
from selector.record.robustness_words import drawn, known_of, listed, more_often
from selector.robustness import Robustness
from selector.scoring.ties import bands, untold
from selector.ui.charts import draw
from selector.ui.decisions import sureness
from selector.ui.say import plain
from selector.ui.views import marks

SCORE = st.column_config.NumberColumn(format="%.1f")
BANDS_HEAD = 70
# Whole, since an installed wheel keeps the app apart from its pages.
HOW_SURE = Path(__file__).parents[1] / "pages" / "how_sure.py"


def show(decision: Decision) -> None:
    """Draw the section."""
    st.subheader("Order of the admitted")
    if not decision.admitted:
        st.info("No alloy is admitted. The nearest to admission stand first below.")
        return
    found = sureness(decision.brief)
    assert found is not None
    st.markdown(plain(firmness(found)))
    st.page_link(
        HOW_SURE, label="How sure: who may overtake, and what would settle it", icon=":material/arrow_forward:"
    )
    st.caption(
        "By lower bound of the score, 0 to 100. An alloy with a missing value has bounds and no score. Colours show"
        " what makes the lower bound; the line runs to the upper one."
    )
    text = "; ".join(f"{c.alloy.id} {c.score_low:.0f} to {c.score_high:.0f}" for c in decision.admitted)
    draw(charts.contributions(decision.admitted), "contributions", f"Score bounds: {text}")
    names = [entry.alloy.id for entry in decision.admitted]
    low = np.array([entry.score_low for entry in decision.admitted])
    high = np.array([entry.score_high for entry in decision.admitted])
    _bands(names, bands(low, high))
    _table(decision, names, untold(low, high))
    marks.show(decision)


def firmness(found: Robustness) -> str:
    """Return in one sentence whether the first place is firm."""
    first, rivals = found.contenders[0], found.contenders[1:]
    if not rivals:
        return f"{first.alloy} stands alone: there is nothing to weigh it against."
    free = [entry.alloy for entry in rivals if entry.alloy not in first.never_above]
    known = known_of(found)
    if not free:
        return f"Firm: knowing {known}, nothing that is open lets another alloy overtake {first.alloy}."
    often = drawn(found, 0)
    head = f"Not firm: knowing {known}, {first.alloy} is first in {often}, and {listed(free)} may stand above it."
    return head + more_often(found)


def _bands(names: list[str], found: tuple[tuple[int, ...], ...]) -> None:
    st.markdown("**Bands of ties**")
    if len(found) == 1:
        alone = (
            "One alloy." if len(names) == 1 else "One band: no two of these alloys can be told apart on the figures."
        )
        st.caption(f"{alone} Under the stated weights.")
        return
    st.caption(
        "Alloys in one band cannot be told apart on the figures, under the stated weights: their score intervals all"
        " meet. Sharing a band with one alloy does not carry over to the next band."
    )
    told = "; ".join(f"band {at}: {', '.join(names[i] for i in band)}" for at, band in enumerate(found, start=1))
    with st.container(height=charts.ROW * len(names) + BANDS_HEAD, border=False):
        draw(charts_robustness.bands_of_ties(names, found), "bands_of_ties", f"Bands of ties: {told}", "content")


def _table(decision: Decision, names: list[str], ties: np.ndarray) -> None:
    rows = [
        {
            "place": entry.rank,
            "alloy": entry.alloy.id,
            "low": entry.score_low,
            "score": "none" if entry.score is None else f"{entry.score:.1f}",
            "high": entry.score_high,
            "possible places": f"{entry.rank_best} to {entry.rank_worst}",
            "headroom": entry.heat().margin_text or "none",
            "ductility": levels(*entry.screened.ductility),
            "missing": missing(entry),
            "cannot be told from": untold_text([names[k] for k in np.flatnonzero(ties[i])], len(names) - 1),
        }
        for i, entry in enumerate(decision.admitted)
    ]
    st.dataframe(
        pd.DataFrame(rows), hide_index=True, width="stretch", column_config={"low": SCORE, "high": SCORE}, key="order"
    )


def untold_text(others: list[str], most: int) -> str:
    """Return how many others an alloy cannot be told from, and which."""
    if not others:
        return "none: it stands clear"
    return f"all {most} others" if len(others) == most > 1 else f"{len(others)}: {', '.join(others)}"
