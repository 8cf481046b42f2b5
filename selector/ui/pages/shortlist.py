"""The shortlist of the open brief."""

import streamlit as st

from selector.ui import state
from selector.ui.views import shortlist

case = state.current()
names = list(state.SHIPPED)
chosen = st.selectbox(
    "Brief", names, index=names.index(case.name), key="brief_choice", help="Products of our own invention."
)
if chosen != case.name:
    state.switch(chosen)
    case = state.current()
shortlist.show(shortlist.decided(case.brief))
