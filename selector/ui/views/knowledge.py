"""What is asked on the page How sure: what is known of the weights, how many draws, which seed."""

import streamlit as st

from selector.robustness import DRAWS, KNOWLEDGE, KNOWN, SEED, Knowledge

LEAST_DRAWS, MOST_DRAWS, STEP = 1_000, 1_000_000, 1_000


def ask() -> Knowledge:
    """Ask what is known of the weights."""
    chosen = st.radio(
        "What is known of the weights",
        KNOWN,
        index=KNOWN.index("order"),
        format_func=lambda name: KNOWLEDGE[name],
        horizontal=True,
        key="knowledge",
        persist_state="session",
        help="What is less well known lets more alloys lead. Figures always move within their intervals.",
    )
    return chosen or "order"


def sampling() -> tuple[int, int]:
    """Ask for the number of draws and the seed."""
    with st.expander("Draws and seed"):
        draws = st.number_input(
            f"Draws, {LEAST_DRAWS} to {MOST_DRAWS}",
            LEAST_DRAWS,
            MOST_DRAWS,
            DRAWS,
            STEP,
            key="draws",
            persist_state="session",
        )
        seed = st.number_input("Seed", 0, 2**31, SEED, 1, key="seed", persist_state="session")
        st.caption(
            "The same seed gives the same draws, on any number of cores. A hundred times the draws, a tenth of the"
            " error."
        )
    return int(draws), int(seed)
