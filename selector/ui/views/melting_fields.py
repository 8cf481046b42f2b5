"""The fields of the page Melting: compositions typed or picked, or two mixed. What is typed stays as it is typed."""

from collections.abc import Mapping
from dataclasses import dataclass

import streamlit as st

from selector.composition import Composition, atomic_masses
from selector.errors import InputError
from selector.melting.coverage import coverage, systems
from selector.melting.mixing import blend
from selector.ui import melted, state
from selector.ui.decisions import catalogue
from selector.ui.melting_choice import LONGEST_TYPED, MOST_ALLOYS, NO_TRACE, Choice, first_choice
from selector.ui.say import plain

APART, MIXED = "Up to four alloys", "Two alloys mixed by mass"
LEAST_SHOWN = 2
Named = tuple[str, Composition]


@dataclass(frozen=True)
class Asked:
    """What can be computed of what stands in the fields.

    Parameters
    ----------
    alloys : tuple of (str, Composition)
        Each once, in the order of the fields; a mixture first.
    mixed : tuple of Composition
        The two that are mixed; empty where none are, or where one has faults.
    trace : mapping
        Element -> wt% in the mixture.
    percent : int
        Mass share of the second.
    """

    alloys: tuple[Named, ...]
    mixed: tuple[Named, ...] = ()
    trace: Mapping[str, object] | None = None
    percent: int = 0


def fields(case: state.Case | None) -> Asked:
    """Draw the fields with their faults, take over what stands in them, return what can be computed."""
    before = state.chosen().choice
    first = first_choice(case.brief if case else None)
    choice = before or first
    mixing = st.radio("What to compute", (APART, MIXED), horizontal=True, key=_filled("mode", _mode(choice))) == MIXED
    # What was typed just now, so that the next field appears at once.
    held = [st.session_state.get(_key(f"typed:{place}"), text) for place, text in enumerate(choice.typed)]
    filled = max((place + 1 for place, text in enumerate(held) if text), default=0)
    shown = LEAST_SHOWN if mixing else max(LEAST_SHOWN, min(MOST_ALLOYS, filled + 1))
    typed, found = list(choice.typed), []
    for place, column in enumerate(st.columns(LEAST_SHOWN if mixing else MOST_ALLOYS)[:shown]):
        with column:
            typed[place], alloy = _alloy(place, choice.typed[place])
            found.append(alloy)
    now = Choice(tuple(typed), mixing, choice.percent, choice.trace, choice.trace_wt)
    if mixing:
        now, asked = _mixture(now, [alloy for alloy in found if alloy])
    else:
        asked = Asked(tuple({alloy[1]: alloy for alloy in found if alloy}.values()))
    state.choose(None if before is None and now == first else now)
    return asked


def _mode(choice: Choice) -> str:
    return MIXED if choice.mixing else APART


def _key(name: str) -> str:
    return f"melting:{state.chosen().generation}:{name}"


def _filled(name: str, value: object) -> str:
    """Return the key of a field that starts from a value."""
    key = _key(name)
    if key not in st.session_state:
        st.session_state[key] = value
    return key


def _alloy(place: int, typed: str) -> tuple[str, Named | None]:
    """Draw one field with the list to pick from; return what stands in it and the alloy that it names."""
    key = _filled(f"typed:{place}", typed)
    text = st.text_input(f"Alloy {place + 1}: any spelling", key=key, max_chars=LONGEST_TYPED, placeholder="none")
    pick = f"{key}:pick"
    st.selectbox(
        f"or pick alloy {place + 1} from the catalogue",
        [*catalogue().alloys],
        index=None,
        key=pick,
        placeholder="or pick from the catalogue",
        label_visibility="collapsed",
        on_change=_picked,
        args=(pick, key),
    )
    if not text.strip():
        return text, None
    try:
        return text, melted.named(text)
    except InputError as error:
        _tell(error)
        return text, None


def _picked(pick: str, key: str) -> None:
    """Put what was picked into the field, and let the list be ready for another."""
    if st.session_state[pick]:
        st.session_state[key] = st.session_state[pick]
        st.session_state[pick] = None


def _mixture(now: Choice, found: list[Named]) -> tuple[Choice, Asked]:
    """Draw share and trace; return the choice with them, and the two alloys with their mixture."""
    left, middle, right = st.columns([3, 1, 1], vertical_alignment="bottom")
    with left:
        label = "Share of alloy 2 in the mixture, % by mass"
        percent = st.slider(label, 0, 100, key=_filled("percent", now.percent))
    with middle:
        covered = systems().elements.covered
        names = [NO_TRACE, *covered, *sorted(set(atomic_masses()) - set(covered))]
        names += [now.trace] if now.trace not in names else []
        trace = st.selectbox("Trace of", names, key=_filled("trace", now.trace))
    with right:
        wt = st.text_input(
            "Trace, wt% of the mixture", key=_filled("trace_wt", now.trace_wt), max_chars=40, disabled=trace == NO_TRACE
        )
    now = Choice(now.typed, True, percent, trace, wt)
    if len(found) < 2:
        st.info("A mixture takes two alloys.")
        return now, Asked(tuple(found))
    added = {trace: wt.strip()} if trace != NO_TRACE and wt.strip() else {}
    try:
        mixture = blend(found[0][1], found[1][1], percent / 100, added)
        coverage(mixture)
    except InputError as error:
        _tell(error)
        return now, Asked(tuple(found))
    name = f"Mixture {100 - percent}:{percent}" + "".join(f" with {wt} wt% {element}" for element, wt in added.items())
    return now, Asked(((name, mixture), *found), tuple(found), added, percent)


def _tell(error: InputError) -> None:
    for fault in error.faults:
        st.error(plain(fault))
