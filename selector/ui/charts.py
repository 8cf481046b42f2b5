"""Puts a chart on the page with our look, a key and a text for those who do not see it; offers rows as a file."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Literal

import streamlit as st

from selector.record import plain, theme
from selector.ui import downloads

if TYPE_CHECKING:
    import altair as alt

Width = Literal["stretch", "content"]


def draw(chart: "alt.LayerChart | alt.FacetChart", key: str, text: str, width: Width = "stretch") -> None:
    """Draw a chart; `text` is the finding in one line, read out in its place.

    Parameters
    ----------
    width : "stretch" or "content"
        A grid of words keeps its own width and scrolls on a narrow screen.
    """
    dark = st.context.theme.type == "dark"
    st.altair_chart(chart.configure(**theme.config(dark)), theme=None, width=width, key=key, alt=text)


def untitled(chart: "alt.LayerChart") -> "alt.LayerChart":
    """Return a chart without the title that it has in a file of its own: the page tells it in text, which wraps."""
    import altair as alt

    bare = chart.copy()
    bare.title = alt.Undefined
    return bare


def csv(label: str, rows: Sequence[Mapping[str, object]], name: str) -> None:
    """Offer rows as a file for a spreadsheet, in which no text is taken for a formula."""
    cells = [{key: plain.guarded(c) if isinstance(c, str) else str(c) for key, c in row.items()} for row in rows]
    downloads.button(label, lambda: plain.csv_text(cells).encode(), name, "text/csv", key=name)
