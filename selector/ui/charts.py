"""Puts a chart on the page with our own look, a key and a text for those who do not see it."""

from typing import TYPE_CHECKING, Literal

import streamlit as st

from selector.record import theme

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
