"""Heat through the joint of one alloy, and the strains of a stack around it."""

import streamlit as st

from selector.enquiry import heat_case
from selector.enquiry.texts import heat_texts
from selector.fields import UNKNOWN
from selector.ui import state
from selector.ui.decisions import catalogue
from selector.ui.views import board_fields
from selector.ui.views.process_print import PAGE, shown, told


def heat(case: state.Case | None, alloy: str) -> None:
    """Draw resistance, rise and hot side of a joint against its remelt onset, and every interface of a stack."""
    start, layers, joins = heat_texts(case.brief if case else None)
    ipc = board_fields.picked(
        PAGE, "heat_class", "Product class", (UNKNOWN, "1", "2", "3"), start.get("ipc_class", UNKNOWN), radio=True
    )
    named = [(f"heat_{entry.name}", entry.label) for entry in heat_case.FIELDS]
    typed = board_fields.texts(
        PAGE, named, {f"heat_{name}": text for name, text in start.items()}, columns=3, empty="unknown, or its default"
    )
    left, right = st.columns(2)
    with left:
        rows = board_fields.lines(
            PAGE, "heat_layers", "Layers, one a line: die=2.6ppm@60K (its own change of temperature)", layers
        )
    with right:
        between = board_fields.lines(
            PAGE, "heat_joins", "Joints, one a line: die+board=5mm/0.1mm (half length/height)", joins
        )
    texts = {name.removeprefix("heat_"): text for name, text in typed.items()} | {"alloy": alloy, "ipc_class": ipc}
    report = told(
        lambda: heat_case.heat_report(
            heat_case.heat_asked(texts, rows, between, catalogue(), on_page=True), catalogue()
        )
    )
    if report is not None:
        board_fields.finding(report)
        shown(report, "heat")
