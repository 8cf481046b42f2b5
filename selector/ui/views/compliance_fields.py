"""The fields of the page Compliance: markets, day, what is judged, alloys. What is typed stays as it is typed."""

from collections.abc import Sequence
from datetime import date
from typing import get_args

import streamlit as st

from selector.compliance.context import JUDGED
from selector.fields import UNKNOWN, DateKind
from selector.ui import complied
from selector.ui.compliance_choice import BY_HAND, MOST_TYPED, SOURCES, Choice, markets_listed, taken_as_no
from selector.ui.complied import filled, key
from selector.ui.decisions import catalogue
from selector.ui.say import plain
from selector.ui.state import Case
from selector.ui.views.compliance_use import customer, known, use

DATE_KINDS = get_args(DateKind)


def fields(case: Case | None, change_days: Sequence[tuple[date, str]]) -> Choice:
    """Draw the fields and return what stands in them.

    Parameters
    ----------
    case : Case or None
        The open brief, which fills the fields until something is chosen.
    change_days : sequence of (date, str)
        The days on which something changes in the markets chosen, each with what.
    """
    brief = case.brief if case else None
    start = complied.current(brief)
    left, middle, right, last = st.columns([3, 2, 2, 2])
    with left:
        markets = st.multiselect(
            "Markets",
            markets_listed(),
            key=filled("markets", list(start.markets)),
            placeholder="every market",
            select_all=False,
            wrap=True,
            help="With none chosen, the rules of every market are judged.",
        )
    with middle:
        on = st.text_input("As of (year-month-day)", key=filled("on", start.on), max_chars=20)
    with right:
        date_kind = st.selectbox("That day it is", DATE_KINDS, key=filled("date_kind", start.date_kind))
    with last:
        judged = st.selectbox(
            "Judged is the",
            [*JUDGED],
            key=filled("judged", start.judged),
            help="; ".join(map(": ".join, JUDGED.items())),
        )
    _move(on, change_days)
    own_days = False
    if brief is not None and len({(entry.date, entry.date_kind) for entry in brief.markets}) > 1:
        own_days = st.checkbox("Each market on its own day of the brief", key=filled("own_days", start.own_days))
    source, picked, typed = _alloys(start)
    equipment, application, form, yes, no, figures = use(start)
    bans, traces = customer(start)
    choice = Choice(
        tuple(markets), on, own_days, date_kind, judged, equipment, application, form, source, picked, typed,
        yes, no, figures, bans, traces, start.onset,
    )  # fmt: skip
    _told(choice, case)
    return choice


def _move(on: str, days: Sequence[tuple[date, str]]) -> None:
    """Draw the list of days on which something changes, and the two buttons to the next one on either side."""
    named = {str(day): f"{day}: {what}" for day, what in days}
    left, middle, right = st.columns([6, 1.5, 1.5], vertical_alignment="bottom")
    with left:
        st.selectbox(
            "Move to a day on which a rule changes",
            [*named],
            index=None,
            format_func=lambda day: named.get(day, day),
            key=key("jump"),
            placeholder="a day, and what changes",
            on_change=_jumped,
        )
    earlier = [day for day in named if day < on.strip()]
    later = [day for day in named if day > on.strip()]
    with middle:
        _step("Previous change", earlier[-1:], "earlier")
    with right:
        _step("Next change", later[:1], "later")


def _step(label: str, days: Sequence[str], name: str) -> None:
    st.button(
        label,
        key=key(name),
        disabled=not days,
        on_click=_to,
        args=(days[0] if days else "",),
        help=f"To {days[0]}" if days else "No further day is known",
        width="stretch",
    )


def _jumped() -> None:
    if st.session_state[key("jump")]:
        _to(st.session_state[key("jump")])
        st.session_state[key("jump")] = None


def _to(day: str) -> None:
    st.session_state[key("on")] = day


def _alloys(start: Choice) -> tuple[str, tuple[str, ...], str]:
    source = st.radio("Alloys", SOURCES, horizontal=True, key=filled("source", start.source))
    if source != BY_HAND:
        return source, start.picked, start.typed
    left, right = st.columns(2)
    with left:
        picked = st.multiselect(
            "From the catalogue",
            [*catalogue().alloys],
            key=filled("picked", list(start.picked)),
            placeholder="none",
            select_all=False,
            wrap=True,
        )
    with right:
        typed = st.text_area(
            "Compositions, one a line, any spelling",
            key=filled("typed", start.typed),
            max_chars=MOST_TYPED,
            height=90,
            placeholder="Sn-3.0Ag-0.5Cu",
        )
    return source, tuple(picked), typed


def _told(choice: Choice, case: Case | None) -> None:
    """Draw in one line what the use comes to, and the way back to the brief."""
    parts = [known(choice.equipment) if choice.equipment != UNKNOWN else "kind of equipment not known"]
    parts += [] if choice.application == UNKNOWN else [choice.application]
    parts += [f"it is so: {_short(choice.yes)}"] if choice.yes else []
    parts += [f"it is not so: {_short(choice.no)}"] if choice.no else []
    parts += [f"bans: {len(choice.bans.strip().splitlines())}"] if choice.bans.strip() else []
    parts += [f"measured traces: {len(choice.traces.strip().splitlines())}"] if choice.traces.strip() else []
    denied = taken_as_no(choice)
    parts += [f"by its equipment no {_short(denied)}"] if denied else []
    st.caption(plain(f"Use: {'; '.join(parts)}."))
    if not choice.markets:
        st.caption("No market is chosen: the rules of every market are judged.")
    if case is not None and complied.is_own():
        st.button("Take everything from the open brief again", key=key("again"), on_click=complied.again)


def _short(words: Sequence[str]) -> str:
    return ", ".join(word.replace("-", " ") for word in words)
