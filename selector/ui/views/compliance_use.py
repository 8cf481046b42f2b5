"""What is known of use, customers and certificates on the page Compliance, and what it would help to know."""

from collections.abc import Sequence
from typing import get_args

import streamlit as st

from selector.compliance.context import APPLICATIONS, FIGURES, FORMS, USES
from selector.fields import UNKNOWN, Equipment
from selector.record.compliance_grid import Question
from selector.ui.compliance_choice import BAN_LINE, MOST_TYPED, TRACE_LINE, Choice
from selector.ui.complied import filled, key
from selector.ui.say import plain

QUESTIONS_SHOWN = 6


def use(
    start: Choice,
) -> tuple[str, str, str, tuple[str, ...], tuple[str, ...], tuple[tuple[str, str], ...]]:
    """Draw what is known of the use; return equipment, joint, form, what holds, what does not, and figures."""
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
                found.append(st.selectbox(label, ordered, format_func=known, key=filled(name, value)))
        st.caption("Of the use, what is in neither list is not known, and never helps to a pass.")
        words = [*USES]
        left, right = st.columns(2)
        with left:
            yes = _words("It is so", words, "yes", start.yes)
        with right:
            no = _words("It is not so", words, "no", start.no)
        st.caption("A figure without a number is not known.")
        names = st.multiselect(
            "Figures for masses and technical conditions",
            [*FIGURES],
            format_func=FIGURES.__getitem__,
            key=filled("figures", [name for name, _ in start.figures]),
            placeholder="none is known",
            select_all=False,
            wrap=True,
        )
        held, places = dict(start.figures), st.columns(4)
        figures = []
        for place, name in enumerate(names):
            with places[place % 4]:
                value = st.text_input(FIGURES[name], key=filled(f"figure:{name}", held.get(name, "")), max_chars=30)
            figures.append((name, value))
    return found[0], found[1], found[2], tuple(yes), tuple(no), tuple(figures)


def _words(label: str, words: Sequence[str], name: str, start: Sequence[str]) -> list[str]:
    # Without the offer of all matches: Enter would take every one of them.
    return st.multiselect(
        label, words, format_func=_use_text, key=filled(name, list(start)), select_all=False, wrap=True
    )


def _use_text(word: str) -> str:
    return USES[word]


def known(choice: str) -> str:
    """Return a choice in words."""
    return "not known" if choice == UNKNOWN else choice


def customer(start: Choice) -> tuple[str, str]:
    """Draw bans and measured traces; return both as typed."""
    with st.expander("Customers' bans and measured traces"):
        left, right = st.columns(2)
        with left:
            bans = st.text_area(
                "Bans, one a line", key=filled("bans", start.bans), max_chars=MOST_TYPED, height=90, help=BAN_LINE
            )
            st.caption(plain(f"{BAN_LINE}. They stay in this session and never enter the address."))
        with right:
            traces = st.text_area(
                "Measured traces, one a line", key=filled("traces", start.traces), max_chars=MOST_TYPED, height=90
            )
            st.caption(plain(f"{TRACE_LINE}. Without the alloy it holds for all."))
    return bans, traces


def ask(questions: Sequence[Question], lacking: Sequence[Question] = ()) -> None:
    """Draw what is not known of the use and would settle open cells, each with a button for yes and one for no.

    Parameters
    ----------
    questions : sequence of Question
        Words of use.
    lacking : sequence of Question
        Figures, each with a button that gives it a field.
    """
    if not questions and not lacking:
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

        for figure in lacking[:QUESTIONS_SHOWN]:
            text, button = st.columns([6, 2], vertical_alignment="center")
            text.markdown(plain(f"How much is it: {FIGURES[figure.use]}? ({figure.alloys} alloys)"))
            name = key(f"ask:{figure.use}:figure")
            button.button("Give the figure", key=name, on_click=_give, args=(figure.use,), width="stretch")


def _give(name: str) -> None:
    held = st.session_state.get(key("figures"), [])
    st.session_state[key("figures")] = [*held, *([] if name in held else [name])]


def _answer(word: str, holds: bool) -> None:
    for name, says in (("yes", holds), ("no", not holds)):
        listed = [entry for entry in st.session_state.get(key(name), []) if entry != word]
        st.session_state[key(name)] = sorted([*listed, word]) if says else listed
