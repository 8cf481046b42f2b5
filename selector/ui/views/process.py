"""The process of one alloy on the board: reflow window with warpage, the print, and its footprint."""

from collections.abc import Callable, Mapping

import streamlit as st

from selector.brief import Brief
from selector.enquiry import footprint_case, print_case, window_case, window_words
from selector.enquiry.report import Report
from selector.enquiry.texts import footprint_texts, print_texts, window_texts
from selector.errors import InputError
from selector.fields import UNKNOWN
from selector.figures import figure
from selector.process.standoff import FLUXES
from selector.process.window import part_defaults
from selector.record import charts_board
from selector.ui import boarded, state
from selector.ui.charts import csv, draw, untitled
from selector.ui.decisions import catalogue
from selector.ui.say import plain
from selector.ui.views import board_fields

PAGE = "process"
Labels = dict[str, str]


def show() -> None:
    """Draw the page."""
    st.header("Process")
    st.caption("What the oven, the stencil and the part ask of an alloy, and what it costs; each from its own figures.")
    case = state.decidable()
    start = {"alloy": board_fields.first_alloy(case)}
    alloy = board_fields.texts(PAGE, [("alloy", "Alloy: any spelling")], start, columns=3)["alloy"]
    asked = board_fields.picked(PAGE, "asked", "What is asked", list(ASKED), next(iter(ASKED)), radio=True)
    ASKED[asked](case, alloy)


def _told(make: Callable[[], Report]) -> Report | None:
    try:
        with st.spinner("Computing: some seconds the first time, then it is kept.", show_time=True):
            return make()
    except InputError as error:
        board_fields.faults(error)
        return None


def _shown(report: Report, name: str) -> None:
    for entry in report.sections:
        board_fields.section(entry)
    board_fields.ending(report)
    rows = [{"table": entry.title, **row} for entry in report.sections for row in entry.rows]
    names = dict.fromkeys(name for row in rows for name in row)
    csv(
        f"{name.capitalize()} (CSV)", [{column: row.get(column, "") for column in names} for row in rows], f"{name}.csv"
    )


def _window(case: state.Case | None, alloy: str) -> None:
    brief = case.brief if case else None
    start = window_texts(brief)
    labels = [("ball", "Balls that must stay solid"), *((entry.name, entry.label) for entry in window_case.FIELDS)]
    typed = board_fields.texts(PAGE, labels, start)
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
    _shown(report, "window")


def _print(case: state.Case | None, alloy: str) -> None:
    brief = case.brief if case else None
    start = print_texts(brief)
    typed = board_fields.texts(
        PAGE, [(f"print_{e.name}", e.label) for e in print_case.FIELDS], _prefixed(start), columns=3
    )
    answers = (
        ("flux", "Flux", (UNKNOWN, *FLUXES)),
        ("washed", "Washing under the part is proved", ("no", "yes")),
        ("underfilled", "Underfill follows", ("no", "yes")),
        ("windowed", "Ground land printed in windows", (UNKNOWN, "yes", "no")),
        ("fine_foil", "Coated or electroformed foil", ("no", "yes")),
    )
    words = {}
    for (name, label, allowed), column in zip(answers, st.columns(5), strict=True):
        with column:
            words[name] = board_fields.picked(PAGE, name, label, allowed, start.get(name, allowed[0]))
    texts = {name.removeprefix("print_"): text for name, text in typed.items()} | words | {"alloy": alloy}
    report = _told(lambda: boarded.print_of(print_case.print_asked(texts, catalogue(), brief, on_page=True)))
    if report is not None:
        board_fields.finding(report)
        _shown(report, "print")


def _peak(alloy: str, brief: Brief | None) -> dict[str, str]:
    """Return the coolest peak of an alloy on this board to start from, where its liquidus is known."""
    try:
        found = boarded.window_of(window_case.window_asked({"alloy": alloy}, (), (), catalogue(), brief))
    except InputError:
        return {}
    return {} if found.peak_c is None else {"peak_c": figure(found.peak_c[1], 3)}


def _prefixed(start: Labels) -> Labels:
    return {f"print_{name}": text for name, text in start.items()}


def _footprint(case: state.Case | None, alloy: str) -> None:
    brief = case.brief if case else None
    start, own = footprint_texts(brief)
    start.setdefault("compare", brief.incumbent if brief and brief.incumbent != UNKNOWN else "SAC305")
    labels = [("compare", "Beside: any spelling"), *((entry.name, entry.label) for entry in footprint_case.FIELDS)]
    labels.append(("dated", "Your prices are of (day or month)"))
    named = [(f"foot_{name}", label) for name, label in labels]
    start |= {} if "peak_c" in start else _peak(alloy, brief)
    typed = board_fields.texts(PAGE, named, {f"foot_{name}": text for name, text in start.items()}, alloy)
    prices = board_fields.texts(PAGE, [("prices", "Your prices, USD/kg: Bi=35; Ag=900")], {"prices": own}, columns=1)
    texts = {name.removeprefix("foot_"): text for name, text in typed.items()} | {"alloy": alloy}
    pieces = [piece for piece in (piece.strip() for piece in prices["prices"].split(";")) if piece]
    report = _told(
        lambda: footprint_case.footprint_report(
            footprint_case.footprint_asked(texts, pieces, catalogue(), on_page=True), catalogue()
        )
    )
    if report is not None:
        board_fields.finding(report)
        _shown(report, "footprint")


ASKED: Mapping[str, Callable[[state.Case | None, str], None]] = {
    "Reflow window and warpage": _window,
    "Print, and what is under the part": _print,
    "Energy, carbon and cost": _footprint,
}
