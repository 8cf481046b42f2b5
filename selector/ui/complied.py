"""What is judged on the page Compliance, kept for the last few choices; remelt onsets of the catalogue beside it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

import streamlit as st

from selector.brief import Brief
from selector.catalogue.evidence import Evidence
from selector.compliance.evaluation import evaluate_all
from selector.compliance.finding import Finding
from selector.fields import UNKNOWN
from selector.melting.onset import remelt_onset
from selector.record.compliance_grid import Grid, grid
from selector.ui import state
from selector.ui.compliance_choice import SHORT_LIST, Asked, Choice, first_choice
from selector.ui.decisions import catalogue, decided
from selector.ui.state import Case

PREFIX, ROUND = "compliance", "compliance_round"
HELD, LAST, BEFORE = "compliance_choice", "compliance_last", "compliance_before"


@dataclass(frozen=True)
class Judged:
    """Findings in the order of alloys, and the grid of them."""

    findings: tuple[Finding, ...]
    grid: Grid


# Findings and grid are frozen through and through: one copy serves every session, and is not copied at every rerun.
@st.cache_resource(max_entries=24, show_spinner=False)
def judged(key: str, _asked: Asked) -> Judged:
    """Return the findings of what is asked; `key` is what tells one question from another."""
    found: dict[str, list[Finding]] = {name: [] for name in _asked.alloys}
    for context in _asked.contexts:
        plain = {name: alloy for name, alloy in _asked.alloys.items() if name not in _asked.traces}
        several = [(plain, context)]
        for name, traces in _asked.traces.items():
            several.append(({name: _asked.alloys[name]}, context.with_traces({**dict(context.traces), **dict(traces)})))
        for alloys, own in several:
            for entry in evaluate_all(alloys, own):
                found[entry.alloy].append(entry)
    # Rules of every market answer once for each market of a brief.
    findings = tuple(dict.fromkeys(entry for each in found.values() for entry in each))
    return Judged(findings, grid(findings, _asked.alloys))


def key_of(asked: Asked) -> str:
    """Return what tells one question from another: everything that an answer may depend on."""
    contexts = [
        tuple(sorted(value) if isinstance(value, frozenset) else value for value in vars(entry).values())
        for entry in asked.contexts
    ]
    alloys = [(name, alloy.parts) for name, alloy in asked.alloys.items()]
    return repr((contexts, alloys, sorted(asked.traces.items())))


@st.cache_resource(max_entries=1, show_spinner=False)
def onsets() -> Mapping[str, Evidence]:
    """Return the remelt onset of every alloy of the catalogue, from what ships; nothing is computed for it."""
    return {name: remelt_onset(alloy) for name, alloy in catalogue().alloys.items()}


def of_brief(case: Case | None) -> tuple[str, ...]:
    """Return the alloys that the brief admits, in order, and the one in use; a short list where there are none."""
    if case is None:
        return SHORT_LIST
    names = [entry.alloy.id for entry in decided(case.brief).admitted]
    # One that the catalogue does not hold is told as a caution of the decision.
    in_use = None if case.brief.incumbent == UNKNOWN else catalogue().held(case.brief.incumbent)
    return tuple(dict.fromkeys([*names, *([] if in_use is None else [in_use.id])])) or SHORT_LIST


def current(brief: Brief | None) -> Choice:
    """Return what was chosen, or what the brief gives until something is."""
    held = st.session_state.get(HELD)
    return held if isinstance(held, Choice) else first_choice(brief, date.today())


def is_own() -> bool:
    """Return whether something was chosen, so that the page no longer follows the brief."""
    return st.session_state.get(HELD) is not None


def take(choice: Choice, brief: Brief | None) -> None:
    """Take over what stands in the fields; remember the choice that differs in nothing but the day."""
    if is_own() or choice != first_choice(brief, date.today()):
        st.session_state[HELD] = choice
    last = st.session_state.get(LAST)
    if isinstance(last, Choice) and last != choice:
        st.session_state[BEFORE] = last if replace(last, on=choice.on) == choice else None
    st.session_state[LAST] = choice


def before() -> Choice | None:
    """Return the choice before the day was moved; None where something else changed last."""
    held = st.session_state.get(BEFORE)
    return held if isinstance(held, Choice) else None


def forget() -> None:
    """Follow the brief again."""
    for name in (HELD, LAST, BEFORE):
        st.session_state.pop(name, None)


def key(name: str) -> str:
    """Return the key under which a field stands; another brief, or none that holds together, starts them anew."""
    case = state.current()
    return f"{PREFIX}:{st.session_state.get(ROUND, 0)}:{case.generation if case.held else 'none'}:{name}"


def filled(name: str, value: object) -> str:
    """Return the key of a field that starts from a value; turning to another page drops what it held."""
    if key(name) not in st.session_state:
        st.session_state[key(name)] = value
    return key(name)


def again() -> None:
    """Follow the brief again, with fields that start anew."""
    forget()
    st.session_state[ROUND] = st.session_state.get(ROUND, 0) + 1
