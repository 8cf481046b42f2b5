"""The plan of the open brief's soldering steps, kept for the last few briefs."""

import streamlit as st

from selector.asked import refuse
from selector.asked_routes import typed_routes
from selector.asked_steps import planned_steps
from selector.brief import Brief, dumps
from selector.errors import Fault
from selector.planning import Planned, plan_for
from selector.ui.decisions import catalogue, decided


# A plan is frozen and holds large arrays: one copy serves every session.
@st.cache_resource(max_entries=8, show_spinner=False, hash_funcs={Brief: dumps})
def planned(brief: Brief, margin_k: float | None, routes: str = "") -> Planned:
    """Return the plan of a brief's steps over the catalogue, with other routes, one a line.

    Raises
    ------
    InputError
        Steps or routes that cannot be planned.
    """
    steps, faults = planned_steps(brief, catalogue()), list[Fault]()
    lines = [(f"Other routes, line {n}", text) for n, text in enumerate(routes.splitlines(), start=1) if text.strip()]
    joined = typed_routes(lines, steps, catalogue(), faults)
    refuse(faults)
    return plan_for(steps, catalogue(), brief, decided(brief), margin_k, joined)
