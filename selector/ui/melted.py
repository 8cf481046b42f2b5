"""The melting of what is chosen, kept for the last alloys and curves; without the solver, what can be told without."""

from collections import OrderedDict
from collections.abc import Callable, Mapping, MutableMapping
from dataclasses import replace
from typing import Any

import streamlit as st

from selector import asked
from selector.composition import Composition
from selector.errors import Fault, InputError
from selector.melting.alloy import Melting
from selector.melting.computed import computed_table
from selector.melting.database import MISSING
from selector.melting.diagram import SectionPoint, section
from selector.melting.lever import lever, state_of
from selector.melting.mixing import BlendPoint, blend_curve
from selector.melting.store import composition_key, melting_of
from selector.record.melting_words import Entry
from selector.ui.decisions import catalogue

MOST_KEPT = 16
FROM_TABLE: tuple[str, ...] = ("t98_c", "t90_c", "solidus_c", "last_liquid_c", "first_liquid_mass", "remelt_onset_c")
FROM_TABLE += ("onset_low_c", "onset_high_c", "onset_rule", "onset_phases")
Told = Callable[[int], None]
Added = Mapping[str, object]


def named(text: str) -> tuple[str, Composition]:
    """Return an alloy that can be computed, with its name in the catalogue or its composition as one.

    Raises
    ------
    InputError
        No composition, or an element that the tables do not cover.
    """
    faults: list[Fault] = []
    found = asked.named([("", text)], catalogue(), faults)
    asked.refuse(faults)
    return found[0].name, found[0].composition


@st.cache_resource(max_entries=128, show_spinner=False, hash_funcs={Composition: composition_key})
def entry_of(name: str, composition: Composition, service_c: float | None) -> tuple[Entry, bool]:
    """Return an alloy's melting in full, and whether the solver was there for it.

    Raises
    ------
    InputError
        An alloy that is not covered.
    """
    found = melting_of([composition])[0]
    solved = str(MISSING) not in found.failures
    found = found if solved else _from_table(composition, found)
    try:
        held = None if service_c is None else state_of(composition, found, service_c)
        return Entry(name, composition, found, lever(composition, found), held), solved
    except InputError:
        # Of what was computed while the solver was there, what was kept stands.
        return Entry(name, composition, found), False


def _from_table(composition: Composition, found: Melting) -> Melting:
    """Return what was computed without the solver, with the rest from the table that ships where it holds it."""
    found = replace(found, failures=tuple(told for told in found.failures if told != str(MISSING)))
    row = computed_table().get((composition_key(composition), "0"))
    if row is None or not row.is_computed:
        return found
    return replace(found, **{name: getattr(row, name) for name in FROM_TABLE})


@st.cache_resource(max_entries=1)
def _kept() -> MutableMapping[object, Any]:
    """Return what this server keeps of slow curves: bounded, whether or not its disk can be written."""
    return OrderedDict()


def is_kept(key: object) -> bool:
    """Return whether a slow result is at hand."""
    return key in _kept()


def curve_key(one: Composition, other: Composition, trace: Added) -> object:
    """Return what tells one mixture's curve from another."""
    return "curve", composition_key(one), composition_key(other), tuple(trace.items())


def curve(one: Composition, other: Composition, trace: Added, told: Told) -> tuple[BlendPoint, ...]:
    """Return the curve of a mixture; some seconds the first time."""
    points: tuple[BlendPoint, ...] = _once(
        curve_key(one, other, trace), lambda: blend_curve(one, other, trace, told=told)
    )
    return points


def section_key(one: str, other: str, held: Added) -> object:
    """Return what tells one section from another."""
    return "section", one, other, tuple(held.items())


def cut(one: str, other: str, held: Added, told: Told) -> tuple[SectionPoint, ...]:
    """Return a section through the diagram of two elements; up to a minute the first time."""
    points: tuple[SectionPoint, ...] = _once(
        section_key(one, other, held), lambda: section(one, other, held, told=told)
    )
    return points


def _once(key: object, make: Callable[[], Any]) -> Any:
    memory = _kept()
    if key not in memory:
        memory[key] = make()
        while len(memory) > MOST_KEPT:
            memory.pop(next(iter(memory)))
    return memory[key]
