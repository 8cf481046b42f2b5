"""The fields of the page Life: alloy, use, figures of joint and test, and the materials around it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import streamlit as st

from selector.asked_life import asked_of
from selector.durability.constants import condition_data
from selector.durability.environments import uses
from selector.figures import plain_number
from selector.lifetime.asked import Asked
from selector.process.material_sets import KINDS
from selector.record.life_words import TITLES
from selector.ui import state
from selector.ui.decisions import catalogue, decided
from selector.ui.say import plain

NOT_STATED, NO_USE = "not stated", "the brief alone"
FIGURES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "Service": ("service_max_c", "swing_k", "dwell_min", "cycles_per_day", "years", "coldest_c"),
        "Joint": ("distance_mm", "height_um", "board_ppm", "part_ppm", "stiffness_n_mm", "area_mm2"),
        "Test": ("test_cycles_per_day", "test_dwell_min"),
        "Gold and current": ("gold_um", "print_um", "current_a", "opening_um", "test_density_a_cm2", "test_joint_c"),
        "Underfill": ("underfill_ppm", "underfill_poisson", "underfill_glass_c", "plane_ppm", "solder_ppm"),
    }
)
OPEN_FIRST = ("Service", "Joint")
KINDS_TITLES = MappingProxyType(
    {
        "flux": "Flux",
        "standoff": "Standoff under the part",
        "cleaning": "Cleaning",
        "underfill": "Underfill",
        "coating": "Coating",
        "finish": "Pad finish",
    }
)
STANDOFFS = MappingProxyType({"low": "low, under 75 um", "unsettled": "75 to 100 um", "high": "high, from 100 um"})


@dataclass(frozen=True)
class Fields:
    """What stands in the fields, and what could not be read of it."""

    asked: Asked
    problems: tuple[str, ...]


def fields(case: state.Case) -> Fields:
    """Draw the fields, starting from the brief; return what they say."""
    own = f"life:{case.generation}"
    left, middle, right = st.columns(3)
    with left:
        names = [*catalogue().alloys]
        first = _leader(case)
        alloy = st.selectbox("Alloy", names, index=names.index(first), key=f"{own}:alloy", persist_state="session")
    with middle:
        known_uses = [row.id for rows in uses().values() for row in rows]
        use = st.selectbox(
            "Start from a default use (unconfirmed)",
            [NO_USE, *known_uses],
            key=f"{own}:use",
            persist_state="session",
        )
    with right:
        tests = ["", *(entry.id for entry in condition_data().condition)]
        test = st.selectbox(
            "Standard test",
            tests,
            format_func=lambda name: name or "all",
            key=f"{own}:test",
            persist_state="session",
        )
    use = "" if use == NO_USE else use
    start = asked_of(alloy, catalogue(), case.brief, use)
    stated: dict[str, Any] = {"condition": test}
    problems: list[str] = []
    for title, group in FIGURES.items():
        with st.expander(title, expanded=title in OPEN_FIRST):
            columns = st.columns(3)
            for place, name in enumerate(group):
                with columns[place % 3]:
                    stated[name] = _figure(f"{own}:{use}:{name}", name, getattr(start, name), problems)
    stated["materials"] = MappingProxyType(_materials(own, start.materials))
    # What was emptied is not stated, whatever the brief says of it.
    return Fields(replace(start, **stated), tuple(problems))


def _leader(case: state.Case) -> str:
    """Return the leader of the brief, else the alloy in use, else the first of the catalogue."""
    admitted = decided(case.brief).admitted
    if admitted:
        return admitted[0].alloy.id
    in_use = catalogue().held(case.brief.incumbent)
    return next(iter(catalogue().alloys)) if in_use is None else in_use.id


def _figure(key: str, name: str, start: float | None, problems: list[str]) -> float | None:
    if key not in st.session_state:
        st.session_state[key] = "" if start is None else plain_number(float(start))
    title = TITLES[name]
    text = st.text_input(
        f"{title[:1].upper()}{title[1:]}", key=key, placeholder=NOT_STATED, max_chars=20, persist_state="session"
    )
    if not text.strip():
        return None
    try:
        return float(text)
    except ValueError:
        problems.append(f"{title}: {text} is no number")
        return None


def _materials(own: str, start: Mapping[str, str]) -> dict[str, str]:
    chosen = {}
    with st.expander("Materials around the joint", expanded=True):
        columns = st.columns(3)
        for place, (kind, title) in enumerate(KINDS_TITLES.items()):
            key = f"{own}:set:{kind}"
            if key not in st.session_state:
                st.session_state[key] = start.get(kind, NOT_STATED)
            with columns[place % 3]:
                value = st.selectbox(
                    title,
                    [NOT_STATED, *KINDS[kind]],
                    format_func=lambda name: STANDOFFS.get(name, name),
                    key=key,
                    persist_state="session",
                )
            if value != NOT_STATED:
                chosen[kind] = value
    return chosen


def tell(problems: tuple[str, ...]) -> None:
    """Draw what could not be read."""
    for problem in problems:
        st.error(plain(problem))
