"""Anchors and weights of the brief: what they are, who stands up for them, and moving an anchor or confirming a weight.

A weight is given for the step from worst to best, so a moved anchor leaves it stale until somebody confirms it.
"""

from datetime import date

import pandas as pd
import streamlit as st

from selector.brief import Preference, from_raw
from selector.decision import Decision
from selector.errors import Fault, InputError, shown
from selector.figures import figure, plain_number
from selector.scoring.anchors import confirmed, draft_from_list, moved, stale
from selector.scoring.criteria import CRITERIA
from selector.scoring.presets import weighing
from selector.scoring.values import direction
from selector.scoring.weights.questions import step_text
from selector.ui import state
from selector.ui.decisions import decided
from selector.ui.say import plain
from selector.ui.views import marks

HEAVIEST = 100.0


def show(case: state.Case) -> None:
    """Draw the section; what is changed here goes into the brief."""
    st.subheader("Anchors and weights")
    if case.faults:
        st.caption("Anchors and weights wait until the faults are mended.")
        return
    decision = decided(case.brief)
    how = decision.weighing
    st.caption(plain(f"Weighed by {how.origin}"))
    total = sum(entry.swing for entry in how.preferences)
    old = {entry.criterion for entry in stale(how.preferences, how.preferences)}
    rows = [
        {
            "step that the weight is for": plain(step_text(entry)),
            "swing points": figure(entry.swing),
            "weight, %": f"{100 * entry.swing / total:.1f}",
            "mark": " ".join(["draft"] * entry.draft + ["stale weight"] * (entry.criterion in old)),
            "reason": plain(entry.reason),
            "by": plain(f"{entry.author}, {entry.set_on}"),
        }
        for entry in how.preferences
    ]
    table = pd.DataFrame(rows).set_index("step that the weight is for")
    st.table(table if table["mark"].any() else table.drop(columns="mark"))
    marks.show(decision)
    with st.expander("Move an anchor, or confirm a weight"):
        if not case.brief.preferences:
            st.caption("From the first change on these are the brief's own, and no longer follow the preset.")
        _change(case, decision)


def _change(case: state.Case, decision: Decision) -> None:
    entries = {entry.criterion: entry for entry in decision.weighing.preferences}
    name = st.selectbox(
        "Criterion", list(entries), format_func=lambda each: CRITERIA[each].title, key=f"anchor:{case.generation}"
    )
    entry = entries[name]
    # A name of its own for every state of the entry, so that the fields show what now stands.
    key = f"anchor:{case.generation}:{name}:{entry.points}:{entry.swing}:{entry.draft}"
    left, right = st.columns(2)
    with left:
        typed = st.text_input(
            plain(f"Anchors, level: worth 0 to 100 ({_unit(name)})"),
            points_text(entry.points),
            key=f"{key}:points",
            help="Two to five, levels rising; the worst level is worth 0 and the best 100.",
        )
        swing = st.number_input(
            "Swing points for the step above, 0 to 100", 0.0, HEAVIEST, entry.swing, 1.0, "%g", key=f"{key}:swing"
        )
    with right:
        author = st.text_input("Who stands up for it", key=f"anchor_author:{case.generation}", max_chars=80)
        reason = st.text_input("Reason", key=f"{key}:reason", max_chars=400)
    one, two, three = st.columns(3)
    with one:
        move = st.button("Move the anchors", key="move_anchor", help="The weight is then stale until confirmed.")
    with two:
        confirm = st.button("Confirm the weight", key="confirm_weight", help="For the step as it now stands.")
    with three:
        draft = st.button("Draft anchors from the list", key="draft_anchor", help="Marked as a draft until moved.")
    try:
        if move:
            _put(case, decision, _moved(case, decision, entry, typed, author, reason))
        elif confirm:
            _named(author)
            _put(case, decision, confirmed(entry, author.strip(), date.today(), swing, reason))
        elif draft:
            _named(author)
            _put(case, decision, _drafted(decision, entry, author.strip()))
    except InputError as error:
        st.error("\n".join(f"- {plain(fault)}" for fault in error.faults))


def _unit(name: str) -> str:
    names = CRITERIA[name].levels
    if names:
        return "levels " + ", ".join(f"{len(names) - 1 - at} {level}" for at, level in enumerate(names))
    return CRITERIA[name].unit or "no unit"


def points_text(points: tuple[tuple[float, float], ...]) -> str:
    """Return anchors as they are typed: `0: 0, 25: 100`."""
    return ", ".join(f"{plain_number(level)}: {plain_number(worth)}" for level, worth in points)


def points_read(text: str) -> tuple[tuple[float, float], ...]:
    """Return anchors as typed; raises `InputError` where they cannot be read."""
    try:
        pairs = [part.split(":") for part in text.split(",") if part.strip()]
        return tuple((float(level), float(worth)) for level, worth in pairs)
    except ValueError:
        allowed = "level: worth, such as 0: 0, 25: 100"
        raise InputError("the anchors", [Fault("anchors", "cannot be read", shown(text), allowed)]) from None


def _named(author: str) -> None:
    if not author.strip():
        raise InputError("the anchors", [Fault("who stands up for it", "is empty", allowed="a name")])


def _moved(case: state.Case, decision: Decision, entry: Preference, typed: str, author: str, reason: str) -> Preference:
    points = points_read(typed)
    raw = {**entry.model_dump(mode="python"), "points": points, "reason": reason.strip(), "author": author.strip()}
    try:
        from_raw(_with(case, decision, entry.criterion, raw))
    except InputError as error:
        # Told by the name of the field alone: the place in the brief's table says nothing here.
        named = [(f, f.where.rpartition(".")[2]) for f in error.faults]
        faults = [
            # As it was typed, not as the program holds it.
            Fault(where, f.problem, shown(typed) if where == "points" else f.value, f.allowed, f.remedy)
            for f, where in named
        ]
        raise InputError("the anchors", faults) from None
    return moved(entry, points, reason.strip(), author.strip(), date.today())


def _drafted(decision: Decision, entry: Preference, author: str) -> Preference:
    levels = [share.level for row in decision.admitted for share in row.shares if share.criterion == entry.criterion]
    higher = direction(entry.points) != "lower"
    found = draft_from_list(entry.criterion, levels, higher, entry.swing, author, date.today())
    return found.model_copy(update={"swing_for": entry.swing_for or entry.points, "limit_reason": entry.limit_reason})


def _with(case: state.Case, decision: Decision, criterion: str, row: dict[str, object]) -> state.Raw:
    rows = [
        row if each.criterion == criterion else each.model_dump(mode="python") for each in decision.weighing.preferences
    ]
    return {**case.raw, "preferences": rows}


def _put(case: state.Case, decision: Decision, entry: Preference) -> None:
    """Take a changed preference into the brief; raises `InputError` where it then could not be weighed."""
    raw = _with(case, decision, entry.criterion, entry.model_dump(mode="python"))
    weighing(from_raw(raw))
    state.put(raw)
    st.rerun()
