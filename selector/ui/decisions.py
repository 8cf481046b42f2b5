"""The decision of the open brief and how sure it is, kept for the last few briefs; what every page shows."""

import streamlit as st

from selector.brief import Brief, dumps
from selector.catalogue import Catalogue, load
from selector.decision import Decision, decide
from selector.robustness import DRAWS, SEED, Knowledge, Robustness, robustness


# Catalogue and decision are frozen through and through, so one copy may serve every session.
@st.cache_resource(max_entries=1, show_spinner=False)
def catalogue() -> Catalogue:
    """Return the shipped catalogue."""
    return load()


@st.cache_resource(max_entries=32, show_spinner=False, hash_funcs={Brief: dumps})
def decided(brief: Brief) -> Decision:
    """Return the decision for a brief."""
    return decide(brief, catalogue())


@st.cache_resource(max_entries=32, show_spinner=False, hash_funcs={Brief: dumps})
def sureness(brief: Brief, knowledge: Knowledge = "order", draws: int = DRAWS, seed: int = SEED) -> Robustness | None:
    """Return how sure the order for a brief is; None where nothing is admitted."""
    return robustness(decided(brief), knowledge, draws, seed)
