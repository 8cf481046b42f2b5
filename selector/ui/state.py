"""The one state of a session: the brief as it was typed, and as it last held together. Frozen; replaced whole.

The address carries the public part of the brief, so that reload, Back and a shared link keep work. What is private
stays in the memory of this server, under a random key that only this browser's address holds.
"""

import secrets
from collections import OrderedDict
from collections.abc import MutableMapping
from dataclasses import dataclass, field
from typing import Any

import streamlit as st

from selector import link
from selector.brief import Brief, from_raw, loads, read, shipped
from selector.datafiles import parse_toml
from selector.errors import Fault, InputError

CASE, PUBLISHED, MEMORY = "case", "published", "memory"
BRIEF_PARAMETER, LINK_PARAMETER, MEMORY_PARAMETER = "brief", "c", "k"
DEFAULT = "skin-patch"
SHIPPED = ("skin-patch", "motor-drive", "river-logger")
MOST_REMEMBERED = 256
TOO_LONG = "long-"
LEFT_OUT = "What a customer bans and whose weights apply stay out of a link: ask for the file if they matter."

Raw = dict[str, Any]


@dataclass(frozen=True)
class Case:
    """The open brief.

    Parameters
    ----------
    raw : dict
        Its tables as typed, faults and all; never changed in place.
    brief : Brief
        The last state without faults; what every page decides on.
    faults : tuple of Fault
        What keeps `raw` from being a brief; empty where `brief` is `raw`.
    opened : Brief
        As it was when it was opened: against this the pages say which alloys entered and which left.
    generation : int
        Grows when another brief is opened, so that no widget keeps what belonged to the one before.
    warnings : tuple of str
        Shown once at the top of the page.
    """

    raw: Raw = field(hash=False)
    brief: Brief
    opened: Brief
    faults: tuple[Fault, ...] = ()
    generation: int = 0
    warnings: tuple[str, ...] = ()


@st.cache_resource(max_entries=1)
def _memory() -> MutableMapping[tuple[str, str], Raw]:
    """Return what this server remembers of private tables: bounded, never written to disk."""
    return OrderedDict()


def current() -> Case:
    """Return the open case."""
    case = st.session_state[CASE]
    assert isinstance(case, Case)
    return case


def put(raw: Raw) -> Case:
    """Take over what was typed; the brief follows where it holds together."""
    case = current()
    if raw != case.raw:
        st.session_state[CASE] = _case(raw, case.brief, case.opened, case.generation)
    return current()


def open_raw(raw: Raw, warnings: tuple[str, ...] = ()) -> None:
    """Open another brief's tables; widgets start anew."""
    held = st.session_state.get(CASE)
    fallback = held.brief if isinstance(held, Case) else read(shipped(DEFAULT))
    generation = held.generation + 1 if isinstance(held, Case) else 0
    st.session_state[CASE] = _case(raw, fallback, None, generation, warnings)


def open_shipped(name: str) -> None:
    """Open a brief that comes with the product; raises `InputError` where there is none of that name."""
    open_raw(_tables(read(shipped(name))))


def open_text(text: str, name: str) -> None:
    """Open a brief from TOML text; raises `InputError` with every fault, and then nothing changes."""
    loads(text, name)
    open_raw(parse_toml(text, name, name))


def restore() -> None:
    """Bring the state in line with the address: at the start, after reload, Back or a pasted link."""
    asked = st.query_params.get(LINK_PARAMETER, "")
    if CASE in st.session_state and asked in ("", st.session_state.get(PUBLISHED)):
        # Turning to another page drops what the address carried; `publish` writes it again.
        return
    st.session_state[PUBLISHED] = asked
    key = st.query_params.get(MEMORY_PARAMETER, "")
    if key:
        st.session_state[MEMORY] = key
    remembered = _memory().get((key, asked)) if key else None
    try:
        if remembered is not None:
            open_raw(remembered)
        elif asked.startswith(TOO_LONG):
            raise InputError("the address", [Fault(LINK_PARAMETER, "its brief is no longer held here")])
        elif asked:
            open_raw(link.unpack(asked), (LEFT_OUT,))
        else:
            open_shipped(st.query_params.get(BRIEF_PARAMETER, DEFAULT))
    except InputError as error:
        open_raw(
            _tables(read(shipped(DEFAULT))),
            (f"The address could not be read ({error.faults[0].problem}): {DEFAULT} is open instead.",),
        )


def publish() -> None:
    """Write the state into the address, so that reload, Back and the next page find it."""
    case, memory = current(), _memory()
    key = st.session_state.setdefault(MEMORY, secrets.token_urlsafe(12))
    text = st.session_state.get(PUBLISHED, "")
    if memory.get((key, text)) != case.raw:
        text = address(case.raw)
        memory[key, text] = case.raw
        while len(memory) > MOST_REMEMBERED:
            memory.pop(next(iter(memory)))
    st.session_state[PUBLISHED] = text
    wanted = {LINK_PARAMETER: text, MEMORY_PARAMETER: key}
    if st.query_params.to_dict() != wanted:
        st.query_params.from_dict(wanted)


def address(raw: Raw) -> str:
    """Return a brief as text for the address; a long one as the mark under which this server holds it."""
    try:
        return link.pack(raw)
    except InputError:
        return f"{TOO_LONG}{secrets.token_urlsafe(9)}"


def shareable(raw: Raw) -> str:
    """Return the address to hand to somebody else; raises `InputError` where the brief is too long for one."""
    base = (st.context.url or "").split("?")[0]
    return f"{base}?{LINK_PARAMETER}={link.pack(raw)}"


def _tables(brief: Brief) -> Raw:
    return brief.model_dump(mode="python")


def _case(raw: Raw, fallback: Brief, opened: Brief | None, generation: int, warnings: tuple[str, ...] = ()) -> Case:
    faults: tuple[Fault, ...] = ()
    try:
        brief = from_raw(raw)
    except InputError as error:
        brief, faults = fallback, error.faults
    return Case(raw, brief, opened or brief, faults, generation, warnings)
