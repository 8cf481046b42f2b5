"""Which alloys a change of the brief let in or put out since it was opened, and by how many kelvin."""

import streamlit as st

from selector.findings import moves
from selector.ui import state
from selector.ui.decisions import decided
from selector.ui.say import plain

MOST_TOLD = 12


def show(case: state.Case) -> None:
    """Draw what entered and what left; nothing where nothing moved."""
    if case.brief == case.opened:
        return
    found = moves(decided(case.opened), decided(case.brief))
    if not found:
        st.caption("Since the brief was opened no alloy has entered or left.")
        return
    for entered, title in ((True, "Entered"), (False, "Left")):
        told = [move.text for move in found if move.entered is entered]
        if told:
            more = f"\n- and {len(told) - MOST_TOLD} more" if len(told) > MOST_TOLD else ""
            lines = "\n".join(f"- {plain(text)}" for text in told[:MOST_TOLD])
            st.markdown(f"**{title} since the brief was opened**\n{lines}{more}")
