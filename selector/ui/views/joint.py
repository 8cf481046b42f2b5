"""One joint on the board: what melts into it, where its zones melt, and what stops it."""

from dataclasses import asdict

import streamlit as st

from selector.durability.safety import SCREENING_ONLY
from selector.enquiry import joint_law, joint_words
from selector.enquiry.joint_asked import COPPER, FIELDS, NONE, joint_asked, texts_of
from selector.enquiry.joint_case import JointAnswer
from selector.enquiry.report import Report
from selector.errors import InputError
from selector.fields import UNKNOWN
from selector.joint.finish import layers
from selector.record import charts_board, charts_limits
from selector.ui import boarded, state
from selector.ui.charts import draw, untitled
from selector.ui.decisions import catalogue
from selector.ui.say import plain
from selector.ui.views import board_fields

PAGE = "joint"
OWN = "a joint of its own"
NOT_STATED = "not stated"
GEOMETRY = ("ball_mm", "pad_mm", "aperture_mm", "pitch_mm", "foil_um", "transfer", "metal_wt", "finish_um")
HEAT = ("peak_c", "dissolved_share", "service_c", "rework_share", "powder_share")
LABELS = {entry.name: entry.label for entry in FIELDS}


def show() -> None:
    """Draw the page."""
    st.header("Joint")
    st.caption("An alloy is chosen for a joint: paste, ball and finishes make one metal, or two zones of it.")
    case = state.decidable()
    typed = _fields(case)
    try:
        asked = joint_asked(typed, catalogue(), on_page=True)
        told = "Computing how the joint melts: some seconds the first time, then it is kept."
        with st.spinner(told, show_time=True):
            found = boarded.joint_of(asked)
    except InputError as error:
        board_fields.faults(error)
        st.caption(SCREENING_ONLY)
        return
    contexts = joint_law.contexts_of(case.brief) if case else ()
    report = joint_law.with_law(joint_words.joint_report(found), joint_law.law_of(found, contexts))
    board_fields.finding(report)
    _bars(found, report)
    for entry in report.sections:
        board_fields.section(entry)
    board_fields.ending(report)
    board_fields.files(report, "joint")


def _fields(case: state.Case | None) -> dict[str, str]:
    parts = [part.name for part in case.brief.parts] if case else []
    part = board_fields.picked(PAGE, "part", "Start from the joints of", [*parts, OWN], parts[0] if parts else OWN)
    start = texts_of(case.brief, part) if case else {}
    start["paste"] = board_fields.first_alloy(case)
    alloys = (
        ("paste", "Paste: any spelling"),
        ("ball", "Ball: any spelling, or none"),
        ("powder", "Second powder in the paste"),
        ("rework", "Touched up with"),
    )
    typed = board_fields.texts(PAGE, alloys, start, part, empty="none")
    left, middle, right = st.columns(3)
    names = [COPPER, *layers(), UNKNOWN]
    with left:
        board = board_fields.picked(PAGE, "finish", "Finish of the board", [NOT_STATED, *names], NOT_STATED, part)
        typed["finish"] = "" if board == NOT_STATED else board
    with middle:
        of_part = start.get("package_finish", COPPER)
        typed["package_finish"] = board_fields.picked(
            PAGE, "package_finish", "Finish of the part", names, of_part, part
        )
    with right:
        classes = ("1", "2", "3", UNKNOWN)
        ipc = start.get("ipc_class", UNKNOWN)
        typed["ipc_class"] = board_fields.picked(PAGE, "ipc_class", "Class of the product", classes, ipc, part)
    with st.expander("Geometry and print: what is left empty takes its default, which is told", expanded=False):
        typed |= board_fields.texts(PAGE, [(name, LABELS[name]) for name in GEOMETRY], start, part)
    typed |= board_fields.texts(PAGE, [(name, LABELS[name]) for name in HEAT], start, part, columns=5)
    return _without_ball(typed)


def _without_ball(typed: dict[str, str]) -> dict[str, str]:
    """Return what was typed; a joint without a ball has no dissolved share to be unknown."""
    if typed["ball"].strip().lower() in ("", NONE) and typed["dissolved_share"].strip().lower() == UNKNOWN:
        return {**typed, "dissolved_share": ""}
    return typed


def _bars(found: JointAnswer, report: Report) -> None:
    st.subheader("Where the joint melts")
    service, peak = (found.asked.figures[name].value for name in ("service_c", "peak_c"))
    limits = charts_board.joint_limits(service, peak if found.asked.ball is not None else None)
    bars = [asdict(bar) for bar in joint_words.joint_bars(found)]
    chart = untitled(charts_board.joint_bars(bars, [limit.at_c for limit in limits]))
    keys = ("onset_low_c", "onset_high_c", "solidus_c", "liquidus_c")
    known = [bar[name] for bar in bars for name in keys if bar[name] is not None] or [100.0, 250.0]
    st.caption(plain(f"{charts_board.JOINT_CAPTION} {charts_limits.limits_caption(limits)}"))
    draw(charts_limits.with_limits(chart, limits, (min(known), max(known))), "joint_bars", report.finding)
