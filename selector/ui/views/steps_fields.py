"""The table of soldering steps on the page Steps. What is typed goes into the brief, faults and all."""

from typing import Any

import pandas as pd
import streamlit as st

from selector.asked_steps import everything_at_once, typed_names
from selector.errors import Fault
from selector.fields import UNKNOWN
from selector.figures import plain_number
from selector.policy import policy
from selector.ui import state
from selector.ui.say import plain

STEP, LIMITS, MAY_USE = "step", "limits, degC", "may use"
TOUCHES, SUPERHEAT, REWORKS = "touches the metal of", "superheat, K", "melts again on purpose"
COLUMNS = (STEP, LIMITS, MAY_USE, TOUCHES, SUPERHEAT, REWORKS)
NONE = "none"
HELP = (
    f"{LIMITS}: what must survive and how hot, such as “die 340; film unknown”. {MAY_USE}: alloys set apart by commas,"
    f" empty for any. {TOUCHES}: earlier steps, “none”, or empty where nobody knows: lead, bismuth and indium stop each"
    f" other where joints meet. {SUPERHEAT}: over liquidus, empty for the brief's."
)
ROUTES = (
    "Beside reflow, for one step: `board=reaction:Sn-58Bi+Cu@250,reacted=201`,"
    " `board=mixed:Sn-58Bi+SAC305@190,share=0.6` (of the second powder, by mass) or `board=undercooled:Sn-58Bi@25`."
    " `onset=` states a measured trace of the finished joint; without it the lower onset counts."
)
Row = dict[str, Any]


def fields(case: state.Case) -> tuple[float, str]:
    """Draw the table and the margin, take over what was typed; return the least remelt margin, K, and other routes."""
    with st.expander("Steps, in the order in which they are made", expanded=True):
        edited, source = _table(case)
        if not case.raw.get("steps"):
            st.caption("This brief names no steps: all of its board stands in one. Add a row for each step.")
        st.caption(plain(HELP))
        if not edited.equals(source):
            typed = [_typed(row, _old(case, row)) for row in _records(edited) if _text(row[STEP])]
            if typed != [dict(row) for row in case.raw.get("steps") or ()]:
                case = state.put({**case.raw, "steps": typed})
        for fault in case.faults:
            where = fault.where.split(": ", 1)[-1]
            if where.startswith("steps["):
                st.error(plain(_said(fault, where)))
        key = f"{case.generation}:steps_margin"
        margin_k = st.number_input(
            "Least remelt margin, K",
            min_value=0.0,
            max_value=100.0,
            value=float(policy().steps.margin_k),
            step=1.0,
            format="%.0f",
            key=key,
            persist_state="session",
            width=240,
        )
        key = f"{case.generation}:steps_routes"
        routes = st.text_area("Other routes, one a line", key=key, persist_state="session", height=90, help=ROUTES)
        return margin_k, routes or ""


def _records(frame: pd.DataFrame) -> list[Row]:
    return [{str(name): value for name, value in row.items()} for row in frame.to_dict("records")]


def _said(fault: Fault, where: str) -> str:
    number, _, rest = where.removeprefix("steps[").partition("]")
    got = f" (got {fault.value})" if fault.value else ""
    return f"Step {int(number) + 1}, {rest.strip('.') or 'as a whole'}: {fault.problem}{got}; allowed: {fault.allowed}"


def _table(case: state.Case) -> tuple[pd.DataFrame, pd.DataFrame]:
    count_key, source_key = f"{case.generation}:steps:visit", f"{case.generation}:steps:source"
    key = f"{case.generation}:steps:{st.session_state.get(count_key, 0)}"
    if key not in st.session_state or source_key not in st.session_state:
        # A name of its own for every visit: under an old one the browser still holds the edits of the last visit.
        st.session_state[count_key] = st.session_state.get(count_key, 0) + 1
        key = f"{case.generation}:steps:{st.session_state[count_key]}"
        st.session_state[source_key] = pd.DataFrame(_shown(case), columns=list(COLUMNS), dtype="object").fillna("")
    source = st.session_state[source_key]
    config = {name: st.column_config.TextColumn(name) for name in COLUMNS}
    edited = st.data_editor(source, key=key, num_rows="dynamic", hide_index=True, width="stretch", column_config=config)
    return edited.fillna(""), source


def _shown(case: state.Case) -> list[Row]:
    """Return the rows of the brief's steps, or the one step of a brief that names none."""
    rows = case.raw.get("steps") or ()
    if not rows:
        step = everything_at_once(case.brief)
        limits = [{"name": e.name, "limit_c": UNKNOWN if e.limit_c is None else e.limit_c} for e in step.limits]
        rows = [{"name": step.name, "limits": limits}]
    return [
        {
            STEP: row.get("name", ""),
            LIMITS: "; ".join(
                f"{e.get('name', '')} {_figure(e.get('limit_c', UNKNOWN))}" for e in row.get("limits") or ()
            ),
            MAY_USE: ", ".join(row.get("allowed") or ()),
            TOUCHES: _named(row.get("meets", UNKNOWN)),
            SUPERHEAT: "" if row.get("superheat_k", UNKNOWN) == UNKNOWN else _figure(row["superheat_k"]),
            REWORKS: "" if row.get("reworks", NONE) == NONE else row["reworks"],
        }
        for row in rows
    ]


def _figure(value: object) -> str:
    return plain_number(value) if isinstance(value, int | float) else str(value)


def _named(names: object) -> str:
    if names == UNKNOWN or not isinstance(names, list | tuple):
        return ""
    return ", ".join(names) or NONE


def _old(case: state.Case, row: Row) -> Row:
    """Return what the brief held of a step under this name: what the table does not show is kept."""
    held: list[Row] = [old for old in case.raw.get("steps") or () if old.get("name") == _text(row[STEP])]
    return held[0] if held else {}


def _typed(row: Row, old: Row) -> Row:
    """Return a step as typed; what cannot be read stays as it is, and the brief tells it."""
    limits = [_limit(part) for part in _text(row[LIMITS]).split(";") if part.strip()]
    kept: Row = {key: old[key] for key in ("spread_k", "may_remelt") if key in old}
    told: Row = {"name": _text(row[STEP]), "limits": limits, "allowed": typed_names(_text(row[MAY_USE])), **kept}
    told |= {"meets": typed_names(_text(row[TOUCHES]))} if _text(row[TOUCHES]) else {}
    told |= {"superheat_k": _number(_text(row[SUPERHEAT]))} if _text(row[SUPERHEAT]) else {}
    return told | ({"reworks": _text(row[REWORKS])} if _text(row[REWORKS]) else {})


def _limit(text: str) -> Row:
    name, _, figure = text.strip().rpartition(" ")
    return {"name": name or "limit", "limit_c": _number(figure)}


def _number(text: str) -> object:
    try:
        return float(text)
    except ValueError:
        return text


def _text(value: object) -> str:
    return str(value or "").strip()
