"""The fields of the page Compliance: markets, day, what is judged, alloys, use, bans and traces. Kept as typed."""

from collections.abc import Sequence
from datetime import date
from typing import get_args

import streamlit as st

from selector.compliance.context import APPLICATIONS, FIGURES, FORMS, JUDGED, USES
from selector.fields import UNKNOWN, DateKind, Equipment
from selector.record.compliance_grid import Question
from selector.ui import complied
from selector.ui.compliance_choice import (
    BAN_LINE,
    BY_HAND,
    MOST_TYPED,
    SOURCES,
    TRACE_LINE,
    Choice,
    markets_listed,
    taken_as_no,
)
from selector.ui.decisions import catalogue
from selector.ui.say import plain
from selector.ui.state import Case, current

QUESTIONS_SHOWN = 6
DATE_KINDS = get_args(DateKind)
PREFIX, ROUND = "compliance", "compliance_round"


def key(name: str) -> str:
    """Return the key under which a field stands; another brief, or none that holds together, starts them anew."""
    case = current()
    return f"{PREFIX}:{st.session_state.get(ROUND, 0)}:{case.generation if case.held else 'none'}:{name}"


def _filled(name: str, value: object) -> str:
    """Return the key of a field that starts from a value; turning to another page drops what it held."""
    if key(name) not in st.session_state:
        st.session_state[key(name)] = value
    return key(name)


def _again() -> None:
    complied.forget()
    st.session_state[ROUND] = st.session_state.get(ROUND, 0) + 1


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
            "Markets", markets_listed(), key=_filled("markets", list(start.markets)), placeholder="all of them"
        )
    with middle:
        on = st.text_input("As of (year-month-day)", key=_filled("on", start.on), max_chars=20)
    with right:
        date_kind = st.selectbox("That day it is", DATE_KINDS, key=_filled("date_kind", start.date_kind))
    with last:
        judged = st.selectbox(
            "Judged is the",
            [*JUDGED],
            key=_filled("judged", start.judged),
            help="; ".join(map(": ".join, JUDGED.items())),
        )
    _move(on, change_days)
    own_days = False
    if brief is not None and len({(entry.date, entry.date_kind) for entry in brief.markets}) > 1:
        own_days = st.checkbox("Each market on its own day of the brief", key=_filled("own_days", start.own_days))
    source, picked, typed = _alloys(start)
    equipment, application, form, yes, no, figures = _use(start)
    bans, traces = _customer(start)
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
    source = st.radio("Alloys", SOURCES, horizontal=True, key=_filled("source", start.source))
    if source != BY_HAND:
        return source, start.picked, start.typed
    left, right = st.columns(2)
    with left:
        picked = st.multiselect(
            "From the catalogue", [*catalogue().alloys], key=_filled("picked", list(start.picked)), placeholder="none"
        )
    with right:
        typed = st.text_area(
            "Compositions, one a line, any spelling",
            key=_filled("typed", start.typed),
            max_chars=MOST_TYPED,
            height=90,
            placeholder="Sn-3.0Ag-0.5Cu",
        )
    return source, tuple(picked), typed


def _use(
    start: Choice,
) -> tuple[str, str, str, tuple[str, ...], tuple[str, ...], tuple[tuple[str, str], ...]]:
    with st.expander("Use, equipment and joint"):
        columns = st.columns(3)
        asked = (
            ("Kind of equipment", get_args(Equipment), start.equipment, "equipment"),
            ("Which joint it is", (*APPLICATIONS, UNKNOWN), start.application, "application"),
            ("Form of the solder", (*FORMS, UNKNOWN), start.form, "form"),
        )
        found = []
        for column, (label, choices, value, name) in zip(columns, asked, strict=True):
            ordered = [UNKNOWN, *(choice for choice in choices if choice != UNKNOWN)]
            with column:
                found.append(st.selectbox(label, ordered, format_func=_known, key=_filled(name, value)))
        st.caption("Of the use, what is in neither list is not known, and never helps to a pass.")
        words = [*USES]
        left, right = st.columns(2)
        with left:
            yes = st.multiselect("It is so", words, format_func=_use_text, key=_filled("yes", list(start.yes)))
        with right:
            no = st.multiselect("It is not so", words, format_func=_use_text, key=_filled("no", list(start.no)))
        names = st.multiselect(
            "Figures for masses and technical conditions",
            [*FIGURES],
            format_func=FIGURES.__getitem__,
            key=_filled("figures", [name for name, _ in start.figures]),
            placeholder="none is known",
        )
        held, places = dict(start.figures), st.columns(4)
        figures = []
        for place, name in enumerate(names):
            with places[place % 4]:
                value = st.text_input(FIGURES[name], key=_filled(f"figure:{name}", held.get(name, "")), max_chars=30)
            figures.append((name, value))
    return found[0], found[1], found[2], tuple(yes), tuple(no), tuple(figures)


def _use_text(word: str) -> str:
    return USES[word]


def _known(choice: str) -> str:
    return "not known" if choice == UNKNOWN else choice


def _customer(start: Choice) -> tuple[str, str]:
    with st.expander("Customers' bans and measured traces"):
        left, right = st.columns(2)
        with left:
            bans = st.text_area(
                "Bans, one a line", key=_filled("bans", start.bans), max_chars=MOST_TYPED, height=90, help=BAN_LINE
            )
            st.caption(plain(f"{BAN_LINE}. They stay in this session and never enter the address."))
        with right:
            traces = st.text_area(
                "Measured traces, one a line", key=_filled("traces", start.traces), max_chars=MOST_TYPED, height=90
            )
            st.caption(plain(f"{TRACE_LINE}. Without the alloy it holds for all."))
    return bans, traces


def _told(choice: Choice, case: Case | None) -> None:
    """Draw in one line what the use comes to, and the way back to the brief."""
    parts = [_known(choice.equipment) if choice.equipment != UNKNOWN else "kind of equipment not known"]
    parts += [] if choice.application == UNKNOWN else [choice.application]
    parts += [f"it is so: {_short(choice.yes)}"] if choice.yes else []
    parts += [f"it is not so: {_short(choice.no)}"] if choice.no else []
    parts += [f"bans: {len(choice.bans.strip().splitlines())}"] if choice.bans.strip() else []
    parts += [f"measured traces: {len(choice.traces.strip().splitlines())}"] if choice.traces.strip() else []
    denied = taken_as_no(choice)
    parts += [f"by its equipment no {_short(denied)}"] if denied else []
    st.caption(plain(f"Use: {'; '.join(parts)}."))
    if case is not None and complied.is_own():
        st.button("Take everything from the open brief again", key=key("again"), on_click=_again)


def _short(words: Sequence[str]) -> str:
    return ", ".join(word.replace("-", " ") for word in words)


def ask(questions: Sequence[Question]) -> None:
    """Draw what is not known of the use and would settle open cells, each with a button for yes and one for no."""
    if not questions:
        return
    with st.expander("Answers that would settle open cells"):
        rest = f"; the first {QUESTIONS_SHOWN} of {len(questions)}" if len(questions) > QUESTIONS_SHOWN else ""
        st.caption(f"Each with how many alloys have a cell that hangs on it{rest}.")
        for question in questions[:QUESTIONS_SHOWN]:
            text, yes, no = st.columns([6, 1, 1], vertical_alignment="center")
            text.markdown(plain(f"Is it so: {USES[question.use]}? ({question.alloys} alloys)"))
            for column, word, holds in ((yes, "Yes", True), (no, "No", False)):
                name = key(f"ask:{question.use}:{word}")
                args = (question.use, holds)
                column.button(word, key=name, on_click=_answer, args=args, help=USES[question.use], width="stretch")


def _answer(word: str, holds: bool) -> None:
    for name, says in (("yes", holds), ("no", not holds)):
        listed = [entry for entry in st.session_state.get(key(name), []) if entry != word]
        st.session_state[key(name)] = sorted([*listed, word]) if says else listed
