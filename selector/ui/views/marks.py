"""What to know of anchors and weights before trusting an order: drafts and stale weights first, and loudest."""

import streamlit as st

from selector.decision import Decision
from selector.ui.say import plain
from selector.weighing_marks import marks

LOUD = ("Draft", "Stale")


def show(decision: Decision) -> None:
    """Draw the marks of a decision's weighing; nothing where there is none."""
    found = marks(decision)
    for text in found:
        if text.startswith(LOUD):
            st.warning(plain(text))
    quiet = [text for text in found if not text.startswith(LOUD)]
    if quiet:
        with st.expander(f"To know of the weighing: {len(quiet)}"):
            st.markdown("\n".join(f"- {plain(text)}" for text in quiet))
