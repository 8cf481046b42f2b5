"""Which pages there are, and what stands on all of them."""

from pathlib import Path

import streamlit as st

PAGES = Path(__file__).parent / "pages"


def run() -> None:
    """Set the page up and run the one that the address names."""
    st.set_page_config(page_title="Meltwise", layout="wide")
    page = st.navigation([st.Page(PAGES / "shortlist.py", title="Shortlist", default=True)], position="top")
    page.run()
