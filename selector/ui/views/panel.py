"""The meeting: its rules, who handed in, then either one member's entry or all answers together."""

from dataclasses import replace

import streamlit as st

from selector.decision import Decision
from selector.meeting import FEWEST
from selector.ui import sitting as sittings
from selector.ui import state
from selector.ui.decisions import decided
from selector.ui.say import plain
from selector.ui.sitting import Sitting
from selector.ui.views import panel_entry, panel_files, panel_together

HOW = {
    "swing": "swing points",
    "direct": "weights given directly",
    "rank": "rank order only",
    "pairs": "pairs",
    "bounds": "bounds",
    "ratios": "ratios",
}
MOST_SEED = 2**31


def show() -> None:
    """Draw the page."""
    st.header("Panel")
    case = state.decidable()
    if case is None:
        return
    decision = decided(case.brief)
    if len(decision.admitted) < FEWEST:
        st.info(f"A meeting weighs {FEWEST} alloys or more; {len(decision.admitted)} admitted. See Shortlist.")
        return
    st.markdown(
        "Each member weighs alone; then all weights are shown together. Anchors belong to the brief and are the same"
        " for all: settle them first, they are a question of fact."
    )
    sitting = _rules(sittings.current(), decision)
    sittings.put(sitting)
    answers = sittings.counted(sitting, decision)
    sitting = _members(sitting, list(answers))
    sittings.put(sitting)
    if sitting.together and len(answers) >= FEWEST:
        panel_together.show(sitting, decision)
    else:
        panel_entry.show(sitting, decision)
    if sitting.together and answers:
        panel_files.hand_over(sitting, decision)


def _rules(sitting: Sitting, decision: Decision) -> Sitting:
    fixed = bool(sitting.events) or (sitting.blind and bool(sitting.members))
    with st.expander("Rules of the meeting", expanded=not sitting.members):
        left, middle, right = st.columns([3, 2, 1], vertical_alignment="bottom")
        with left:
            title = st.text_input(
                "Title",
                key="panel:title",
                max_chars=120,
                placeholder=decision.brief.title,
                persist_state="session",
            )
        with middle:
            blind = st.toggle(
                "Blind: alloys stand under letters",
                key="panel:blind",
                disabled=fixed,
                persist_state="session",
                help="Until the weights are frozen and somebody lifts the letters.",
            )
        with right:
            seed = st.number_input(
                "Seed of the letters", 0, MOST_SEED, sittings.SEED, 1, "%d", key="panel:seed", disabled=fixed,
                persist_state="session",
            )  # fmt: skip
        if blind:
            st.caption(
                "Letters keep honest people honest, no more: the other pages show alloys by name and in order, and the"
                " seed gives the letters away. Keep to this page while the meeting is blind."
            )
        if fixed:
            st.caption("Blindness and seed are settled: they change only with a new meeting.")
        st.caption(
            "A meeting lives in this browser tab and in no address. A reload ends it: each member can take their own"
            " answers along before handing in, and all files can be had once answers are shown together."
        )
        if (sitting.members or sitting.events) and st.button("Begin a new meeting: drops all answers", key="panel:new"):
            sittings.put(Sitting(visit=sitting.visit + 1, title=title, blind=blind, seed=int(seed)))
            st.rerun()
    if fixed:
        return replace(sitting, title=title)
    return replace(sitting, title=title, blind=blind, seed=int(seed))


def _members(sitting: Sitting, counted: list[str]) -> Sitting:
    """Draw who handed in, with their votes; return the meeting with these."""
    st.subheader(f"Handed in: {len(sitting.members)}")
    if not sitting.members:
        st.caption("Nobody yet. Two are enough to show weights together.")
    votes: dict[str, float] = {}
    for name, entry in sitting.members.items():
        left, middle, right = st.columns([3, 1, 1], vertical_alignment="bottom")
        with left:
            st.markdown(f"**{plain(name)}**, {HOW[str(entry.raw['kind'])]}, {entry.raw['date']}")
        with middle:
            votes[name] = st.number_input(
                f"Votes of {plain(name)}",
                0.0,
                1e6,
                1.0,
                1.0,
                "%g",
                key=f"panel:votes:{entry.visit}",
                persist_state="session",
            )
        with right:
            if st.button(f"Take out {plain(name)}", key=f"panel:out:{entry.visit}"):
                sittings.put(sittings.without(sitting, name))
                st.rerun()
    stale = [name for name in sitting.members if name not in counted]
    if stale:
        st.warning(
            plain(
                f"Asked about other ranges than the brief now has, so not counted: {', '.join(stale)}. Take the answers"
                " out and ask again, or restore the anchors."
            )
        )
    if sitting.events and len(counted) < FEWEST:
        st.error("Changed since it was frozen: too few answers are left to compare. What was agreed is void.")
    label = "Cover, so that another member may enter" if sitting.together else "Show together"
    if len(counted) >= FEWEST and st.button(label, key="panel:together"):
        sittings.put(replace(sitting, votes=votes, together=not sitting.together))
        st.rerun()
    return replace(sitting, votes={name: power for name, power in votes.items() if power != 1})
