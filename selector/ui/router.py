"""Which pages there are, and what stands on all of them."""

from pathlib import Path

import streamlit as st

from selector.ui import downloads, state
from selector.ui.say import plain

PAGES = Path(__file__).parent / "pages"


def run() -> None:
    """Set the page up, bring the state in line with the address, run the page that it names."""
    st.set_page_config(layout="wide")
    state.restore()
    page = st.navigation(
        [
            st.Page(PAGES / "shortlist.py", title="Shortlist", default=True),
            st.Page(PAGES / "brief.py", title="Brief"),
            st.Page(PAGES / "challenge.py", title="Challenge"),
            st.Page(PAGES / "how_sure.py", title="How sure"),
            st.Page(PAGES / "panel.py", title="Panel"),
            st.Page(PAGES / "compliance.py", title="Compliance"),
            st.Page(PAGES / "melting.py", title="Melting"),
            st.Page(PAGES / "joint.py", title="Joint"),
            st.Page(PAGES / "process.py", title="Process"),
            st.Page(PAGES / "steps.py", title="Steps"),
            st.Page(PAGES / "life.py", title="Life"),
            st.Page(PAGES / "alloys.py", title="Alloys"),
        ],
        position="top",
    )
    st.set_page_config(page_title=f"{page.title}: Meltwise")
    for warning in state.current().warnings:
        st.warning(plain(warning))
    downloads.started()
    try:
        page.run()
    finally:
        downloads.ended()
    state.publish()
