"""One sheet: why not the alloy we use now, what would save it, what replaces it and what that gives up."""

import streamlit as st

from selector.challenge import Challenge, Trade, challenge, replacement_text, verdict_on
from selector.errors import InputError
from selector.fields import UNKNOWN
from selector.figures import points
from selector.findings import changes_text
from selector.record import charts
from selector.record.html import challenge_html
from selector.ui import state
from selector.ui.decisions import catalogue
from selector.ui.say import plain
from selector.ui.views.evidence import cite, facts
from selector.verdict import Standing

DEFAULT = "SAC305"
KEY = "challenged"


def show() -> None:
    """Draw the page."""
    st.header("Challenge")
    case = state.decidable()
    if case is None:
        return
    if KEY not in st.session_state:
        incumbent = case.brief.incumbent
        st.session_state[KEY] = DEFAULT if incumbent == UNKNOWN else incumbent
    left, right = st.columns([2, 3])
    with left:
        text = st.text_input("Why not this alloy? Any spelling", key=KEY, max_chars=200)
    with right:
        st.selectbox("or pick one", ["", *catalogue().alloys], key="picked", on_change=_picked, help="Fills the field.")
    try:
        found = challenge(catalogue().find(text), case.brief, catalogue())
    except InputError as error:
        for fault in error.faults:
            st.error(plain(fault))
        return
    _sheet(found)


def _picked() -> None:
    if st.session_state["picked"]:
        st.session_state[KEY] = st.session_state["picked"]


def _sheet(found: Challenge) -> None:
    entry, decision = found.candidate, found.decision
    st.subheader(plain(verdict_on(found)))
    for verdict in found.broken:
        st.markdown(f"- **{charts.RULE_TITLES[verdict.rule]}**: {plain(verdict.reason)}")
        with st.expander(f"Where that comes from: {charts.RULE_TITLES[verdict.rule].lower()}"):
            if verdict.threshold:
                st.markdown(plain(verdict.threshold))
            cite(verdict.source.split("; "), catalogue())
    if found.broken:
        saved = "Decided again with this change: admitted." if found.saved else ""
        change = changes_text(found.edits) or "nothing that one field of the brief can state"
        st.markdown(f"**What saves it:** {plain(change)}. {saved}")
    if found.replacement is not None:
        st.markdown(f"**{plain(replacement_text(found))}**")
        _both(found.replacement.alloy.id, found.given_up, found.gained)
        if found.leader_given_up or found.leader_gained:
            st.markdown(f"**{plain(f'The leader: {decision.admitted[0].alloy.id}.')}**")
            _both(decision.admitted[0].alloy.id, found.leader_given_up, found.leader_gained)
    elif entry.standing is not Standing.ADMITTED:
        st.markdown("**Nearest admitted replacement:** none, nothing is admitted.")
    st.markdown(f"**The one measurement that matters most:** {plain(found.measurement)}.")
    st.markdown("\n".join(f"- {plain(caution)}" for caution in (*entry.screened.cautions, *decision.cautions)))
    st.download_button(
        "This sheet (HTML, to print)",
        lambda: challenge_html(found, catalogue()).encode(),
        f"challenge-{entry.alloy.id}.html",
        "text/html",
        on_click="ignore",
        key="sheet",
    )
    with st.expander(f"Figures of {entry.alloy.id}, each with its source"):
        facts(entry.alloy, catalogue())


def _both(alloy: str, given_up: tuple[Trade, ...], gained: tuple[Trade, ...]) -> None:
    left, right = st.columns(2)
    with left:
        _trades(f"Given up with {alloy}", given_up)
    with right:
        _trades(f"Gained with {alloy}", gained)


def _trades(title: str, trades: tuple[Trade, ...]) -> None:
    st.markdown(plain(f"{title}:"))
    if not trades:
        st.caption("nothing that is known of both")
    for trade in trades:
        change = f"{trade.criterion}: {trade.challenger} becomes {trade.replacement} ({points(trade.points)} points)"
        with st.expander(plain(change)):
            cite(trade.source.split("; "), catalogue())
