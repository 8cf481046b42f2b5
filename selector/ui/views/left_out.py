"""Whether one criterion carries the order: the order without each, how criteria go together, how the list spreads."""

import numpy as np
import pandas as pd
import streamlit as st

from selector.decision import Decision
from selector.errors import InputError
from selector.robustness import Robustness, table
from selector.scoring.criteria import CRITERIA
from selector.scoring.descriptions import LABEL, Description, critic, entropy
from selector.scoring.left_out import correlations, ranks_without
from selector.ui.say import plain

TOP = 3


def show(found: Robustness) -> None:
    """Draw the section; nothing where one alloy stands alone."""
    decision = found.decision
    if len(decision.admitted) < 2:
        return
    st.subheader("If one criterion were left out")
    st.caption("The others keep their ratios. Exact, on lower bounds. It shows where to look, and corrects no weight.")
    low, _, weights = table(decision)
    names = [entry.alloy.id for entry in decision.admitted]
    titles = [CRITERIA[share.criterion].title for share in decision.admitted[0].shares]
    rows = []
    for title, weight, ranks in zip(titles, weights, ranks_without(low, weights), strict=True):
        if ranks is None:
            rows.append({"without": plain(title), "weight, %": "100", "then leads": "nothing is left to weigh"})
            continue
        first = [names[i] for i in np.argsort(ranks, kind="stable")[:TOP]]
        leads = [name for name, rank in zip(names, ranks, strict=True) if rank == 1]
        rows.append(
            {
                "without": plain(title),
                "weight, %": f"{100 * weight:.1f}",
                "then leads": "as now" if leads == names[:1] else plain(" and ".join(leads)),
                "then the first three": "as now" if first == names[:TOP] else plain(", ".join(first)),
                f"place of {plain(names[0])}": str(ranks[0]),
            }
        )
    st.table(pd.DataFrame(rows).fillna("").set_index("without"))
    _described(decision, titles)


@st.fragment
def _described(decision: Decision, titles: list[str]) -> None:
    """Draw how criteria correlate and how the list spreads, on request: its library takes a second to load."""
    with st.expander("How this list spreads: a description, never an importance"):
        if not st.toggle("Describe the list", key="described", persist_state="session"):
            return
        rows = [[share.level.value for share in entry.shares] for entry in decision.admitted]
        values = np.array([[np.nan if value is None else value for value in row] for row in rows], dtype=float)
        rho = correlations(values)
        st.markdown("**Rank correlation of the criteria over the admitted alloys**")
        cells = [
            {"criterion": plain(title)}
            | {
                plain(other): "" if np.isnan(rho[j, k]) else f"{rho[j, k]:+.2f}"
                for k, other in enumerate(titles)
                if k < j
            }
            for j, title in enumerate(titles)
            if j > 0
        ]
        st.table(pd.DataFrame(cells).fillna("").set_index("criterion")) if cells else None
        st.caption(
            "Of levels as they are, whichever end is better."
            " Blank: fewer than five alloys have both, or one does not vary. A high figure is no fault: ask whether you"
            " would still care about the one if the other were held fixed."
        )
        _spread(decision, values, titles)


def _spread(decision: Decision, values: np.ndarray, titles: list[str]) -> None:
    whole = values[np.isfinite(values).all(axis=1)]
    varied = [j for j in range(len(titles)) if len(whole) and np.ptp(whole[:, j]) > 0]
    shares = decision.admitted[0].shares
    ways = ["higher"] * len(varied)
    for at, j in enumerate(varied):
        points = decision.weighing.points_of(shares[j].criterion)
        ways[at] = "higher" if points[-1][1] >= points[0][1] else "lower"
    columns: dict[str, dict[str, str]] = {}
    for name, method in (("Entropy", entropy), ("CRITIC", critic)):
        try:
            found: Description = method(whole[:, varied], [titles[j] for j in varied], ways)
        except InputError as error:
            st.caption(plain(f"{name} has no answer here: {error.faults[0]}."))
            continue
        columns[f"{name}, %"] = {
            plain(title): f"{100 * share:.1f}" for title, share in zip(found.criteria, found.shares, strict=True)
        }
    st.markdown(f"**Spread of the {len(whole)} alloys that have every value**")
    if columns:
        st.table(pd.DataFrame(columns).fillna(""))
    st.caption(f"{LABEL[0].upper()}{LABEL[1:]}. One odd alloy changes it; no weight is made of it.")
