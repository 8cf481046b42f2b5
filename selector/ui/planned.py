"""The plan of the open brief's soldering steps, kept for the last few briefs."""

import streamlit as st

from selector.asked_steps import planned_steps
from selector.brief import Brief, dumps
from selector.planning import Planned, plan_for
from selector.ui.decisions import catalogue, decided


# A plan is frozen and holds large arrays: one copy serves every session.
@st.cache_resource(max_entries=8, show_spinner=False, hash_funcs={Brief: dumps})
def planned(brief: Brief, margin_k: float | None) -> Planned:
    """Return the plan of a brief's steps over the catalogue.

    Raises
    ------
    InputError
        Steps that cannot be planned.
    """
    return plan_for(planned_steps(brief, catalogue()), catalogue(), brief, decided(brief), margin_k)
