"""Files that hold what stands in the fields at the moment of the click.

A field hands its value over when it is left, and leaving it for a button starts a run of the page beside the download.
A file made from the run before would lack what was typed last, so the file waits for that run.
"""

import time
from collections.abc import Callable
from typing import Any, Literal

import streamlit as st

BOX, RUNNING = "downloads", "running"
GRACE_S, LONGEST_S, STEP_S = 0.3, 20.0, 0.05  # until a run that the click started is under way; until it is given up


def started() -> None:
    """Say that a run of a page begins: what it does not offer again is no file any more."""
    st.session_state.setdefault(BOX, {}).clear()
    st.session_state[BOX][RUNNING] = True


def ended() -> None:
    """Say that a run of a page is over."""
    st.session_state.setdefault(BOX, {})[RUNNING] = False


def button(
    label: str,
    content: Callable[[], bytes],
    file: str,
    mime: str,
    *,
    key: str,
    width: Literal["stretch", "content"] = "content",
) -> None:
    """Draw a button that hands over a file, made when it is clicked and from what stands in the fields then.

    Parameters
    ----------
    label : str
    content : callable
        Makes the file.
    file, mime : str
    key : str
        Under which the newest maker of this file is found.
    width : "stretch" or "content"
    """
    # The box itself, not the session: the file is made outside of any run, where there is no session.
    box: dict[str, Any] = st.session_state.setdefault(BOX, {})
    box[key] = content
    st.download_button(label, lambda: newest(box, key)(), file, mime, on_click="ignore", key=key, width=width)


def newest(box: dict[str, Any], key: str) -> Callable[[], bytes]:
    """Return what makes a file, once no run is under way.

    Raises
    ------
    RuntimeError
        What stands in the fields gives no such file, or the run takes too long; the page says that it failed.
    """
    time.sleep(GRACE_S)
    waited = 0.0
    while box.get(RUNNING) and waited < LONGEST_S:
        time.sleep(STEP_S)
        waited += STEP_S
    found: Callable[[], bytes] | None = box.get(key)
    if found is None or box.get(RUNNING):
        raise RuntimeError("what stands in the fields now gives no such file")
    return found
