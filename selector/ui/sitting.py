"""The meeting of a session: who handed in what, the votes, and what was settled. Frozen; replaced whole.

It stays in this browser's session and never enters the address. Answers were given for a range, so they count only
while the brief asks about that same range.
"""

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

import streamlit as st

from selector.brief import Preference
from selector.decision import Decision
from selector.errors import Fault, InputError, shown
from selector.meeting import COLUMNS, Agenda, Event, EventKind, Meeting, criteria_of, hold, settle
from selector.scoring.anchors import Step, step
from selector.scoring.weights.answers import Answers, from_raw

SITTING = "sitting"
LONGEST_NAME = 40
NO_FILE_NAME = '<>:"/\\|?*'  # a member's answers are a file of that name
SEED = 1

Asked = tuple[tuple[str, Step], ...]


@dataclass(frozen=True)
class HandedIn:
    """One member's answers as plain tables, the ranges that they were asked about, and which visit gave them."""

    raw: Mapping[str, Any]
    asked: Asked
    visit: int


@dataclass(frozen=True)
class Sitting:
    """The meeting so far.

    Parameters
    ----------
    members : mapping of name to HandedIn
    votes : mapping of name to float
        Where not 1.
    title : str
    seed : int
    blind : bool
    events : tuple of Event
    together : bool
        Whether the answers are shown; then nobody enters any.
    visit : int
        Grows with each member, so that no field keeps what the last one typed.
    """

    members: Mapping[str, HandedIn] = field(default_factory=dict, hash=False)
    votes: Mapping[str, float] = field(default_factory=dict, hash=False)
    title: str = ""
    seed: int = SEED
    blind: bool = False
    events: tuple[Event, ...] = ()
    together: bool = False
    visit: int = 0


def current() -> Sitting:
    """Return the meeting of this session."""
    held = st.session_state.get(SITTING, Sitting())
    assert isinstance(held, Sitting)
    return held


def put(sitting: Sitting) -> None:
    """Take over the meeting as it now stands."""
    st.session_state[SITTING] = sitting


def asked_about(decision: Decision) -> tuple[Preference, ...]:
    """Return what members are asked to weigh, in fixed order."""
    by_name = {entry.criterion: entry for entry in decision.weighing.preferences}
    return tuple(by_name[name] for name in criteria_of(decision))


def _ranges(decision: Decision) -> Asked:
    return tuple((entry.criterion, step(entry.points)) for entry in asked_about(decision))


def name_of(text: str, sitting: Sitting) -> str:
    """Return a member's name; raises `InputError` where it cannot be one, or has handed in already."""
    name = " ".join(unicodedata.normalize("NFC", text).split())
    faults = []
    if not name or len(name) > LONGEST_NAME:
        faults.append(Fault("the name", "cannot be used", shown(text), f"1 to {LONGEST_NAME} characters"))
    elif not name.isprintable() or set(name) & set(NO_FILE_NAME) or name[0] == "." or name[-1] == ".":
        allowed = f"a name that a file can have: none of {' '.join(NO_FILE_NAME)}, no dot at an end"
        faults.append(Fault("the name", "cannot be used", shown(text), allowed))
    if name.casefold() in COLUMNS:
        faults.append(Fault("the name", "is that of a column", shown(name), "another"))
    if name.casefold() in {each.casefold() for each in sitting.members}:
        faults.append(Fault("the name", "has handed in already", shown(name), remedy="take the answers out first"))
    if faults:
        raise InputError("the answers", faults)
    return name


def handed_in(sitting: Sitting, name: str, raw: Mapping[str, Any], decision: Decision, what: str = "") -> Sitting:
    """Return the meeting with one more member's answers; raises `InputError` with every fault of name and answers."""
    faults: list[Fault] = []
    try:
        name = name_of(name, sitting)
    except InputError as error:
        faults += error.faults
    try:
        from_raw(raw, criteria_of(decision), what or "the answers")
    except InputError as error:
        faults += error.faults
    if faults:
        raise InputError("the answers", faults)
    members = {**sitting.members, name: HandedIn(raw, _ranges(decision), sitting.visit)}
    in_order = dict(sorted(members.items(), key=lambda pair: f"{pair[0]}.toml"))  # as a folder lists its files
    return replace(sitting, members=in_order, visit=sitting.visit + 1)


def without(sitting: Sitting, name: str) -> Sitting:
    """Return the meeting without one member."""
    rest = {other: entry for other, entry in sitting.members.items() if other != name}
    votes = {other: power for other, power in sitting.votes.items() if other != name}
    return replace(sitting, members=rest, votes=votes, together=sitting.together and len(rest) > 1)


def counted(sitting: Sitting, decision: Decision) -> dict[str, Answers]:
    """Return the answers that were given for the ranges that the brief now asks about."""
    now = _ranges(decision)
    return {
        name: from_raw(entry.raw, criteria_of(decision), name)
        for name, entry in sitting.members.items()
        if entry.asked == now
    }


def agenda(sitting: Sitting, decision: Decision, names: Mapping[str, object]) -> Agenda:
    """Return the agenda over the members whose answers count."""
    votes = {name: sitting.votes.get(name, 1.0) for name in names}
    even = all(power == 1 for power in votes.values())
    title = sitting.title.strip() or decision.brief.title
    return Agenda(title, sitting.seed, sitting.blind, {} if even else votes, sitting.events)


def held(sitting: Sitting, decision: Decision) -> Meeting:
    """Return what the meeting comes to; raises `InputError` as `meeting.hold` does."""
    found = counted(sitting, decision)
    return hold(decision, found, agenda(sitting, decision, found))


def settled(sitting: Sitting, decision: Decision, kind: EventKind, by: str, at: datetime) -> Sitting:
    """Return the meeting with its weights frozen, or its letters lifted; raises `InputError` as `settle` does."""
    event = settle(held(sitting, decision), kind, by, at)
    return replace(sitting, events=(*sitting.events, event))
