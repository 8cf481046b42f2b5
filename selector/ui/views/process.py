"""The process of one alloy on the board: reflow window with warpage, print, footprint, and heat path."""

from collections.abc import Callable, Mapping

import streamlit as st

from selector.enquiry import window_case, window_words
from selector.enquiry.bow import BOW_FIELDS
from selector.enquiry.texts import window_texts
from selector.errors import InputError
from selector.process.window import part_defaults
from selector.record import charts_board
from selector.ui import boarded, state
from selector.ui.charts import draw, untitled
from selector.ui.decisions import catalogue
from selector.ui.say import plain
from selector.ui.views import board_fields, process_heat, process_print

PAGE = "process"


def show() -> None:
    """Draw the page."""
    st.header("Process")
    st.caption("What the oven, the stencil and the part ask of an alloy, and what it costs; each from its own figures.")
    case = state.decidable()
    start = {"alloy": board_fields.first_alloy(case)}
    alloy = board_fields.texts(PAGE, [("alloy", "Alloy: any spelling")], start, columns=3)["alloy"]
    asked = board_fields.picked(PAGE, "asked", "What is asked", list(ASKED), next(iter(ASKED)), radio=True)
    ASKED[asked](case, alloy)


def _window(case: state.Case | None, alloy: str) -> None:
    brief = case.brief if case else None
    start = window_texts(brief)
    typed = board_fields.texts(PAGE, [("ball", "Balls that must stay solid")], start, empty="none", columns=3)
    typed |= board_fields.texts(PAGE, [(entry.name, entry.label) for entry in window_case.FIELDS], start)
    with st.expander("Bow of a package, as two layers"):
        typed |= board_fields.texts(PAGE, [(entry.name, entry.label) for entry in BOW_FIELDS], {}, empty="not stated")
    help_kinds = f"A limit in degC, unknown, or a kind: {'; '.join(part_defaults())}."
    more = board_fields.filled(PAGE, "parts", "")
    text = st.text_input(
        "More parts, separated by semicolons",
        key=more,
        max_chars=800,
        placeholder="camera=85; relay=unknown",
        help=help_kinds,
    )
    parts = [piece for piece in (piece.strip() for piece in text.split(";")) if piece]
    try:
        asked = window_case.window_asked({**typed, "alloy": alloy}, parts, (), catalogue(), brief, on_page=True)
        with st.spinner("Computing the liquidus.", show_time=True):
            found = boarded.window_of(asked)
    except InputError as error:
        board_fields.faults(error)
        return
    report = window_words.window_report(found)
    board_fields.finding(report)
    if found.liquidus_c is not None and found.peak_c is not None:
        limits = [(entry.name, entry.limit_c, entry.assumed) for entry in asked.limits]
        chart = charts_board.window_chart(asked.alloy.name, found.liquidus_c, found.peak_c, limits)
        st.caption(plain(charts_board.WINDOW_CAPTION))
        draw(untitled(chart), "window_chart", report.finding)
    process_print.shown(report, "window")


ASKED: Mapping[str, Callable[[state.Case | None, str], None]] = {
    "Reflow window and warpage": _window,
    "Print, and what is under the part": process_print.printed,
    "Energy, carbon and cost": process_print.footprint,
    "Heat path and stack": process_heat.heat,
}
