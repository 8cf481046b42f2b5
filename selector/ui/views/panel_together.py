"""What a meeting comes to: agreement first, then places, weights, who stands where and what would change it."""

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np
import streamlit as st

from selector.decision import Decision
from selector.errors import InputError
from selector.meeting import EventKind, Meeting
from selector.record import charts_robustness
from selector.record.meeting_words import (
    MOVING,
    agreed_lines,
    concordance_line,
    moving_lines,
    order_rows,
    sentence,
    state,
    voice_rows,
    weight_rows,
)
from selector.ui import sitting as sittings
from selector.ui.charts import draw
from selector.ui.say import plain
from selector.ui.sitting import Sitting
from selector.ui.tables import table

MOST_PAIRS = 6


def show(sitting: Sitting, decision: Decision) -> None:
    """Draw the answers together, and what may be settled."""
    try:
        meeting = sittings.held(sitting, decision)
    except InputError as error:
        st.error("\n".join(f"- {plain(fault)}" for fault in error.faults))
        return
    st.subheader("Together")
    st.markdown(f"**{plain(sentence(meeting))}**")
    _settle(meeting, sitting, decision)
    st.markdown("**Agreed by all, under any mix of their weights**")
    _lines(agreed_lines(meeting), "Nothing: no pair stands the same way for every member.")
    st.caption("Exact: scores are linear in the weights. As the figures rank now, unless it says whatever the figures.")
    st.markdown("**Places**")
    table(order_rows(meeting))
    _weights(meeting)
    st.markdown("**Members**")
    table(voice_rows(meeting))
    st.markdown("**Differences that move the first three**")
    if meeting.moving:
        st.caption(MOVING)
    _lines(moving_lines(meeting), "None: within the members' span no weight, moved alone, changes the first three.")
    st.caption(plain(concordance_line(meeting)))


def _weights(meeting: Meeting) -> None:
    st.markdown("**Members' weights**")
    st.caption("A mark a member, a line from the least to the greatest, a tick at the mean.")
    rows = weight_rows(meeting)
    widest = max(meeting.criteria, key=lambda title: float(str(rows[meeting.criteria.index(title)]["spread"])))
    weights = np.array([voice.weights for voice in meeting.voices])
    names = [voice.name for voice in meeting.voices]
    chart = charts_robustness.members_weights(meeting.criteria, names, weights, np.array(meeting.group))
    draw(chart, "members", f"Weights of {len(names)} members; they lie farthest apart on {widest}")
    with st.expander("The same as a table, %"):
        table(rows)


def _settle(meeting: Meeting, sitting: Sitting, decision: Decision) -> None:
    """Draw how far the meeting is, and the next step that may be settled."""
    for line in state(meeting):
        (st.warning if line.startswith("Changed") else st.caption)(plain(line))
    steps: dict[str, tuple[EventKind, str]] = {
        "open": ("frozen", "Freeze the weights"),
        "frozen": ("unblinded", "Lift the letters"),
    }
    if meeting.stage == "unblinded" or (meeting.stage == "frozen" and not meeting.agenda.blind):
        return
    kind, label = steps[meeting.stage]
    left, right = st.columns([2, 3], vertical_alignment="bottom")
    with left:
        by = st.text_input(
            "Who settles it", key=f"panel:by:{kind}", max_chars=sittings.LONGEST_NAME, autocomplete="off"
        )
    with right:
        pressed = st.button(label, key=f"panel:{kind}")
    if pressed:
        try:
            now = datetime.now(UTC).replace(microsecond=0)
            sittings.put(sittings.settled(sitting, decision, kind, by, now))
        except InputError as error:
            st.error("\n".join(f"- {plain(fault)}" for fault in error.faults))
            return
        st.rerun()


def _lines(lines: Sequence[str], none: str) -> None:
    """Draw lines as a list, those beyond the first few folded away."""
    if not lines:
        st.markdown(none)
        return
    st.markdown("\n".join(f"- {plain(line)}" for line in lines[:MOST_PAIRS]))
    if lines[MOST_PAIRS:]:
        with st.expander(f"{len(lines) - MOST_PAIRS} more"):
            st.markdown("\n".join(f"- {plain(line)}" for line in lines[MOST_PAIRS:]))
