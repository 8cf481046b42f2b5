"""What other methods say of the same list, and where they part; none of them decides."""

import pandas as pd
import streamlit as st

from selector.decision import Decision, second_opinions
from selector.figures import figure
from selector.ui.say import plain


@st.fragment
def show(decision: Decision) -> None:
    """Draw the second opinions when they are asked for: their library takes a second to load."""
    st.subheader("Second opinions")
    st.caption("Other people's methods on the same list. Where they part from our order, look why; they are not votes.")
    if not st.toggle("Ask other methods", key="opinions", persist_state="session"):
        return
    found = second_opinions(decision)
    if found.refused:
        st.info(plain(f"None was asked: {found.refused}."))
    if found.opinions:
        names = found.opinions[0].alternatives
        own = {entry.alloy.id: entry.rank for entry in decision.admitted}
        rows = [
            {"alloy": name, "our place": own[name], **{o.label: o.ranks[i] for o in found.opinions}}
            for i, name in enumerate(names)
        ]
        st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch", key="opinion_ranks")
        for opinion, tau in zip(found.opinions, found.agreements, strict=True):
            st.caption(plain(f"{opinion.label}: Kendall tau-b with our order {figure(tau, 3)}. {opinion.note}"))
    if found.left_out:
        st.caption(plain(f"Left out for a missing value: {', '.join(found.left_out)}."))
