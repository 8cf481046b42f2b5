"""Rows as a plain table, which wraps on a narrow screen and prints; nothing in it is taken for a mark of layout."""

from collections.abc import Mapping, Sequence

import pandas as pd
import streamlit as st

from selector.ui.say import plain


def table(rows: Sequence[Mapping[str, object]]) -> None:
    """Draw rows as a table that a screen reader reads; the first column names the rows. Draws nothing for none."""
    if rows:
        cells = pd.DataFrame([{plain(name): plain(value) for name, value in row.items()} for row in rows])
        st.table(cells.set_index(cells.columns[0]))
