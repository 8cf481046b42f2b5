"""The one state of a session: which brief is open. Frozen; pages read it and replace it whole."""

from dataclasses import dataclass

import streamlit as st

from selector.brief import Brief, read, shipped
from selector.errors import InputError

KEY = "case"
PARAMETER = "brief"
DEFAULT = "skin-patch"
SHIPPED = ("skin-patch", "motor-drive", "river-logger")


@dataclass(frozen=True)
class Case:
    """The open brief and the name it was opened by."""

    name: str
    brief: Brief


def opened(name: str) -> Case:
    """Return the case of a shipped brief."""
    return Case(name, read(shipped(name)))


def current() -> Case:
    """Return the open case: of this session, else of the address, else the default; a bad address warns once."""
    if KEY not in st.session_state:
        asked = st.query_params.get(PARAMETER, DEFAULT)
        try:
            st.session_state[KEY] = opened(asked)
        except InputError:
            st.warning(f"The address asks for a brief that is not here ({asked[:40]!r}); {DEFAULT} is open instead.")
            st.session_state[KEY] = opened(DEFAULT)
    case = st.session_state[KEY]
    assert isinstance(case, Case)
    return case


def switch(name: str) -> None:
    """Open another shipped brief and say so in the address."""
    st.session_state[KEY] = opened(name)
    st.query_params[PARAMETER] = name
