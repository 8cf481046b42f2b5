"""The one state of a session: the brief as it was typed, and as it last held together. Frozen; replaced whole.

The address carries the public part of the brief, so that reload, Back and a shared link keep work. What is private
stays in the memory of this server, for the browser that typed it alone: an address says only that there is something.
"""

import hmac
import secrets
from collections import OrderedDict
from collections.abc import MutableMapping
from dataclasses import dataclass, field, replace
from typing import Any

import streamlit as st

from selector import link
from selector.brief import Brief, from_raw, loads, read, shipped
from selector.datafiles import parse_toml
from selector.errors import Fault, InputError
from selector.ui import melting_choice
from selector.ui.melting_choice import Choice

CASE, PUBLISHED, STRANGER = "case", "published", "stranger"
BRIEF_PARAMETER, LINK_PARAMETER, MARK_PARAMETER = "brief", "c", "p"
CHOICE, CHOICE_PUBLISHED, CHOICE_PARAMETER = "melting_choice", "melting_published", "m"
CHOICE_FIELDS = "melting_fields"
DEFAULT = "skin-patch"
SHIPPED = ("skin-patch", "motor-drive", "river-logger", "sensor-stack")
MOST_REMEMBERED = 256
TOKEN_COOKIE = "_streamlit_xsrf"
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
    held : bool
        Whether the brief ever held together; until then `brief` is another product's and no page may show it.
    generation : int
        Grows when another brief is opened, so that no widget keeps what belonged to the one before.
    warnings : tuple of str
        Shown once at the top of the page.
    """

    raw: Raw = field(hash=False)
    brief: Brief
    opened: Brief
    faults: tuple[Fault, ...] = ()
    held: bool = True
    generation: int = 0
    warnings: tuple[str, ...] = ()


@st.cache_resource(max_entries=1)
def _memory() -> MutableMapping[tuple[str, str, str], Raw]:
    """Return what this server remembers of private tables: bounded, never written to disk."""
    return OrderedDict()


@st.cache_resource(max_entries=1)
def _secret() -> bytes:
    """Return what makes marks of private tables unguessable; a server's own, gone when it ends."""
    return secrets.token_bytes(32)


def browser() -> str:
    """Return what tells this browser from another: its token against forged requests, else one of this session."""
    cookie = st.context.cookies.get(TOKEN_COOKIE, "")
    token = unmasked(cookie) if isinstance(cookie, str) else ""
    if not token:
        token = st.session_state.setdefault(STRANGER, secrets.token_urlsafe(12))
    assert isinstance(token, str)
    return token


def unmasked(cookie: str) -> str:
    """Return the token that a cookie of the form `2|mask|token|time` masks anew each time; empty where it is none."""
    parts = cookie.strip('"').split("|")
    try:
        mask, masked = bytes.fromhex(parts[1]), bytes.fromhex(parts[2])
    except (IndexError, ValueError):
        return ""
    return bytes(byte ^ mask[i % len(mask)] for i, byte in enumerate(masked)).hex() if mask and masked else ""


def mark(raw: Raw) -> str:
    """Return a mark of the private tables, empty where there are none; it gives nothing away."""
    private = link.private(raw)
    if not private:
        return ""
    told = repr((browser(), sorted(private.items())))
    return hmac.new(_secret(), told.encode(), "sha256").hexdigest()[:12]


def current() -> Case:
    """Return the open case."""
    case = st.session_state[CASE]
    assert isinstance(case, Case)
    return case


def decidable() -> Case | None:
    """Return the open case with its faults told, None where it never held together and nothing can be decided."""
    case = current()
    if not case.held:
        st.error(f"This brief has {len(case.faults)} faults and never held together: mend it on the page Brief.")
        return None
    if case.faults:
        st.warning(f"The brief has {len(case.faults)} faults; this is its last state that held together.")
    return case


def put(raw: Raw) -> Case:
    """Take over what was typed; the brief follows where it holds together."""
    case = current()
    if raw != case.raw:
        opened = case.opened if case.held else None
        st.session_state[CASE] = _case(raw, case.brief, opened, case.generation)
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


@dataclass(frozen=True)
class Chosen:
    """What the page Melting shows: None until something was chosen, so that it follows the brief till then.

    `generation` grows when the address chooses anew, so that no field keeps what was typed before.
    """

    choice: Choice | None = None
    generation: int = 0
    warning: str = ""


def chosen() -> Chosen:
    """Return what the page Melting shows."""
    held = st.session_state.get(CHOICE, Chosen())
    assert isinstance(held, Chosen)
    return held


def choose(choice: Choice | None) -> None:
    """Take over what was chosen on the page Melting."""
    if choice != chosen().choice:
        st.session_state[CHOICE] = replace(chosen(), choice=choice, warning="")


def fields_read(values: dict[str, object]) -> None:
    """Remember what the fields of the page Melting held, by key, when they were last read."""
    st.session_state[CHOICE_FIELDS] = values


def _just_edited() -> bool:
    """Return whether a field was changed since it was read: the browser may then still send the address before last."""
    read = st.session_state.get(CHOICE_FIELDS, {})
    return any(key in st.session_state and st.session_state[key] != value for key, value in read.items())


def _restore_choice() -> None:
    asked = st.query_params.get(CHOICE_PARAMETER, "")
    turned = CHOICE in st.session_state and not asked and not st.query_params.get(LINK_PARAMETER, "")
    if turned or asked == st.session_state.get(CHOICE_PUBLISHED, "") or _just_edited():
        return
    st.session_state[CHOICE_PUBLISHED] = asked
    try:
        choice, warning = melting_choice.unpacked(asked) if asked else None, ""
    except InputError:
        choice, warning = None, melting_choice.BROKEN
    st.session_state[CHOICE] = Chosen(choice, chosen().generation + 1, warning)


def restore() -> None:
    """Bring the state in line with the address: at the start, after reload, Back or a pasted link."""
    _restore_choice()
    asked = (st.query_params.get(LINK_PARAMETER, ""), st.query_params.get(MARK_PARAMETER, ""))
    if CASE in st.session_state and (not asked[0] or asked == st.session_state.get(PUBLISHED)):
        # Turning to another page drops what the address carried; `publish` writes it again.
        return
    st.session_state[PUBLISHED] = asked
    remembered = _memory().get((browser(), *asked))
    try:
        if remembered is not None:
            open_raw(remembered)
        elif asked[0].startswith(TOO_LONG):
            raise InputError("the address", [Fault(LINK_PARAMETER, "its brief is no longer held here")])
        elif asked[0]:
            open_raw(link.unpack(asked[0]), (LEFT_OUT,))
        else:
            open_shipped(st.query_params.get(BRIEF_PARAMETER, DEFAULT))
    except InputError as error:
        open_raw(
            _tables(read(shipped(DEFAULT))),
            (f"The address could not be read ({error.faults[0].problem}): {DEFAULT} is open instead.",),
        )


def publish() -> None:
    """Write the state into the address, so that reload, Back and the next page find it."""
    case, memory, mine = current(), _memory(), browser()
    written = st.session_state.get(PUBLISHED, ("", ""))
    if memory.get((mine, *written)) != case.raw:
        written = (address(case.raw), mark(case.raw))
        memory[mine, *written] = case.raw
        while len(memory) > MOST_REMEMBERED:
            memory.pop(next(iter(memory)))
    st.session_state[PUBLISHED] = written
    choice = chosen().choice
    told = "" if choice is None else melting_choice.packed(choice)
    st.session_state[CHOICE_PUBLISHED] = told
    named = ((LINK_PARAMETER, written[0]), (MARK_PARAMETER, written[1]), (CHOICE_PARAMETER, told))
    wanted = {name: text for name, text in named if text}
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
    try:
        brief = from_raw(raw)
    except InputError as error:
        return Case(raw, fallback, opened or fallback, error.faults, opened is not None, generation, warnings)
    return Case(raw, brief, opened or brief, (), True, generation, warnings)
