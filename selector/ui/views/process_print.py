"""The print of one alloy, what is left under the part, and what the joint costs in energy, carbon and money."""

from collections.abc import Callable

import streamlit as st

from selector.brief import Brief
from selector.enquiry import footprint_case, print_case, window_case
from selector.enquiry.report import Report
from selector.enquiry.texts import footprint_texts, print_texts
from selector.errors import InputError
from selector.fields import UNKNOWN
from selector.figures import figure
from selector.process.standoff import FLUXES
from selector.ui import boarded, state
from selector.ui.decisions import catalogue
from selector.ui.views import board_fields

PAGE = "process"


def shown(report: Report, name: str) -> None:
    """Draw the tables of a report with its verdicts, and offer them as a file."""
    for entry in report.sections:
        board_fields.section(entry)
    board_fields.ending(report)
    board_fields.files(report, name)


def told(make: Callable[[], Report]) -> Report | None:
    """Return a report with a spinner meanwhile; None where faults were told."""
    try:
        with st.spinner("Computing: some seconds the first time, then it is kept.", show_time=True):
            return make()
    except InputError as error:
        board_fields.faults(error)
        return None


def printed(case: state.Case | None, alloy: str) -> None:
    """Draw the print of an alloy, and what is left under the part."""
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
    report = told(lambda: boarded.print_of(print_case.print_asked(texts, catalogue(), brief, on_page=True)))
    if report is not None:
        board_fields.finding(report)
        shown(report, "print")


def _peak(alloy: str, brief: Brief | None) -> dict[str, str]:
    """Return the coolest peak of an alloy on this board to start from, where its liquidus is known."""
    try:
        found = boarded.window_of(window_case.window_asked({"alloy": alloy}, (), (), catalogue(), brief))
    except InputError:
        return {}
    return {} if found.peak_c is None else {"peak_c": figure(found.peak_c[1], 3)}


def _prefixed(start: dict[str, str]) -> dict[str, str]:
    return {f"print_{name}": text for name, text in start.items()}


def footprint(case: state.Case | None, alloy: str) -> None:
    """Draw the energy, carbon, cost and supply of an alloy beside another."""
    brief = case.brief if case else None
    start, own = footprint_texts(brief)
    start.setdefault("compare", brief.incumbent if brief and brief.incumbent != UNKNOWN else "SAC305")
    labels = [("compare", "Beside: any spelling"), *((entry.name, entry.label) for entry in footprint_case.FIELDS)]
    labels.append(("dated", "Your prices are of (day or month)"))
    named = [(f"foot_{name}", label) for name, label in labels]
    start |= {} if "peak_c" in start else _peak(alloy, brief)
    typed = board_fields.texts(PAGE, named, {f"foot_{name}": text for name, text in start.items()}, alloy)
    prices = board_fields.texts(
        PAGE, [("prices", "Your prices, USD/kg: Bi=35; Ag=900")], {"prices": own}, columns=1, empty="none"
    )
    texts = {name.removeprefix("foot_"): text for name, text in typed.items()} | {"alloy": alloy}
    pieces = [piece for piece in (piece.strip() for piece in prices["prices"].split(";")) if piece]
    report = told(
        lambda: footprint_case.footprint_report(
            footprint_case.footprint_asked(texts, pieces, catalogue(), on_page=True), catalogue()
        )
    )
    if report is not None:
        board_fields.finding(report)
        shown(report, "footprint")
