"""What other methods say of the same list, and where they part; none of them decides."""

import pandas as pd
import streamlit as st

from selector.decision import Decision, second_opinions
from selector.record import opinion_words
from selector.scoring.panel import Panel
from selector.ui.say import plain, titled


@st.fragment
def show(decision: Decision) -> None:
    """Draw the second opinions when they are asked for: their library takes a second to load."""
    st.subheader("Second opinions")
    st.caption("Other people's methods on the same list. Where they part from our order, look why; they are not votes.")
    if not st.toggle("Ask other methods", key="opinions", persist_state="session"):
        return
    found = second_opinions(decision)
    st.markdown(plain(opinion_words.covered(decision, found)))
    if found.opinions:
        st.markdown(f"**{plain(opinion_words.chair(decision, found))}**")
    if found.left_out:
        st.caption(plain(f"Left out for a missing value, since bounds are not taken: {', '.join(found.left_out)}."))
    if found.opinions:
        _ranks(decision, found)
    with st.expander("Methods that are not asked, and why"):
        st.markdown(plain(found.not_asked))


def _ranks(decision: Decision, found: Panel) -> None:
    names = found.opinions[0].alternatives
    # Our own places among these alloys alone, so that the columns compare.
    some = {entry.alloy.id: entry.rank or 0 for entry in decision.admitted if entry.alloy.id in names}
    own = {name: 1 + sum(other < rank for other in some.values()) for name, rank in some.items()}
    rows = [
        {"alloy": name, "our place": own[name], **{o.method: o.ranks[i] for o in found.opinions}}
        for i, name in enumerate(names)
    ]
    st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch", key="opinion_ranks")
    st.markdown("**Where they part among our first five**")
    told = [plain(parting.text) for parting in found.partings]
    st.markdown("\n".join(f"- {text}" for text in told) or "Nowhere: every method keeps our order of them.")
    if concordance := opinion_words.concordance_text(found):
        st.caption(plain(concordance))
    for opinion, tau in zip(found.opinions, found.agreements, strict=True):
        agrees = opinion_words.agreement_text(decision, found, tau)
        st.caption(plain(f"{opinion.label}: {agrees}. {titled(opinion.note)}"))
