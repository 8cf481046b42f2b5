"""One member's weights, entered alone: swing points or a rank order over this range; checks before handing in."""

from datetime import date
from typing import Any

import pandas as pd
import streamlit as st

from selector.brief import Preference
from selector.decision import Decision
from selector.errors import InputError
from selector.scoring.criteria import CRITERIA
from selector.scoring.weights.answers import HEAVIEST, Answers, from_raw
from selector.scoring.weights.questions import FIRST, step_text, trade_offs
from selector.ui import sitting as sittings
from selector.ui.say import plain
from selector.ui.sitting import Sitting
from selector.ui.views import panel_files

WAYS = {"swing": "swing points", "rank": "rank order only", "file": "a file of answers"}
COLUMNS = 2


def show(sitting: Sitting, decision: Decision) -> None:
    """Draw the entry of one member; hand in what it says."""
    st.subheader("One member, alone")
    st.caption("What was handed in before stays covered until it is shown together. Nothing is filled in for you.")
    visit = f"panel:{sitting.visit}"
    way = st.radio(
        "How to say it",
        list(WAYS),
        format_func=lambda name: WAYS[name],
        horizontal=True,
        key=f"{visit}:way",
        persist_state="session",
    )
    if way == "file":
        panel_files.upload(sitting, decision, visit)
        return
    chosen = sittings.asked_about(decision)
    left, right = st.columns([1, 2])
    with left:
        name = st.text_input(
            "Name", key=f"{visit}:name", max_chars=sittings.LONGEST_NAME, persist_state="session", autocomplete="off"
        )
    with right:
        reason = st.text_input(
            "Reason, in a sentence", key=f"{visit}:reason", max_chars=300, persist_state="session", autocomplete="off"
        )
    raw: dict[str, Any] = {"kind": way, "author": name.strip(), "date": date.today(), "reason": reason.strip()}
    raw |= _swing(chosen, visit) if way == "swing" else _rank(chosen, visit)
    _check(chosen, raw)
    panel_files.own(name, raw, decision, visit)
    if st.button("Hand in", key=f"{visit}:in"):
        panel_files.take([(name, raw, "the answers")], sitting, decision)


def _swing(chosen: tuple[Preference, ...], visit: str) -> dict[str, Any]:
    """Ask for swing points; return the answers given so far."""
    first = st.radio(
        FIRST,
        [entry.criterion for entry in chosen],
        index=None,
        format_func=lambda name: plain(step_text(next(entry for entry in chosen if entry.criterion == name))),
        key=f"{visit}:first",
        persist_state="session",
    )
    if first is None:
        return {"swing": {}}
    heaviest = next(entry for entry in chosen if entry.criterion == first)
    st.markdown(plain(f"If raising {step_text(heaviest)} is worth 100 points, how many is each of these worth?"))
    given = _numbers([entry for entry in chosen if entry.criterion != first], visit, "points", "0 to 100")
    points = {first: HEAVIEST} | given
    return {"swing": {entry.criterion: points[entry.criterion] for entry in chosen if entry.criterion in points}}


def _rank(chosen: tuple[Preference, ...], visit: str) -> dict[str, Any]:
    """Ask for a rank order; return it as far as it goes."""
    st.markdown(
        "Which of these steps would you take first, which second? Equal numbers mean equal. Only the order is used: the"
        " weights are the middle of all that keep it."
    )
    places = _numbers(chosen, visit, "rank", "1 is the heaviest")
    groups = [[name for name, place in places.items() if place == at] for at in sorted(set(places.values()))]
    return {"order": [group[0] if len(group) == 1 else group for group in groups]}


def _numbers(chosen: tuple[Preference, ...] | list[Preference], visit: str, kind: str, hint: str) -> dict[str, float]:
    found = {}
    columns = st.columns(COLUMNS, vertical_alignment="bottom")
    for at, entry in enumerate(chosen):
        with columns[at % COLUMNS]:
            # No limits here: a browser would drop or clamp what lies beyond them; the check tells it instead.
            value = st.number_input(
                plain(step_text(entry)),
                value=None,
                step=1.0,
                format="%g",
                placeholder=hint,
                key=f"{visit}:{kind}:{entry.criterion}",
                persist_state="session",
            )
        if value is not None:
            found[entry.criterion] = float(value)
    return found


def _check(chosen: tuple[Preference, ...], raw: dict[str, Any]) -> None:
    """Draw what the answers come to and what they imply, once they are whole."""
    names = [entry.criterion for entry in chosen]
    try:
        found = from_raw(raw | {"author": "member", "reason": "not yet"}, names)
    except InputError:
        st.caption("When every step has its number, the weights and questions that check them stand here.")
        return
    _implied(chosen, found)


def _implied(chosen: tuple[Preference, ...], found: Answers) -> None:
    st.markdown("**What this comes to, and whether you would really swap**")
    rows = [
        {"criterion": plain(CRITERIA[name].title), "weight, %": f"{100 * found.weights[j]:.1f}"}
        for j, name in enumerate(found.criteria)
    ]
    left, right = st.columns([2, 3])
    with left:
        st.table(pd.DataFrame(rows).set_index("criterion"))
    with right:
        asked = [entry.question for entry in trade_offs(chosen, found.weights)]
        st.markdown("\n".join(f"- {plain(text)}" for text in asked) or "No two criteria can be compared so.")
        st.caption("Where you would not, change the numbers.")
