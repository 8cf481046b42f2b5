"""What may be sold where on a day: fields, the finding in a sentence, the grid, one alloy, the days to come, files."""

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import streamlit as st

from selector.record import compliance as record
from selector.record.compliance_calendar import DatedChange, calendar
from selector.record.compliance_grid import BINDING, MARKS, Grid, Moved, moved, questions, summary
from selector.record.plain import csv_text
from selector.ui import complied, state
from selector.ui.compliance_choice import Asked, Choice, asked
from selector.ui.complied import Judged
from selector.ui.decisions import catalogue
from selector.ui.say import plain
from selector.ui.views import compliance_days, compliance_detail, compliance_fields, compliance_table, compliance_use

MOVES_TOLD = 8


def show() -> None:
    """Draw the page."""
    st.header("Compliance")
    st.caption(plain(record.NOT_ADVICE))
    case = state.decidable()
    brief = case.brief if case else None
    start = complied.current(brief)
    chosen = st.session_state.get(complied.key("markets"), list(start.markets))
    choice = compliance_fields.fields(case, _days(calendar(chosen)))
    choice = replace(choice, onset=st.session_state.get(complied.key("onset"), start.onset))
    complied.take(choice, brief)
    found = asked(choice, brief, complied.of_brief(case), catalogue())
    for fault in found.faults:
        st.error(plain(fault))
    if found.faults:
        st.warning("What has a fault is left out of the answers below.")
    if not found.alloys or not found.contexts:
        st.info("Give a day and at least one alloy.")
        return
    result = complied.judged(complied.key_of(found), found)
    st.markdown(f"**{plain(summary(result.grid, choice.markets))}**")
    st.caption(plain(_under(found, result, choice)))
    _moves(choice, result.grid, case)
    compliance_use.ask(questions(result.grid))
    shown = compliance_table.show(result.grid, found, choice)
    compliance_detail.show(result, shown, found)
    changes = calendar(choice.markets, result.findings)
    compliance_days.show(changes, found.on)
    _hand_over(result)


def _days(changes: Sequence[DatedChange]) -> list[tuple[date, str]]:
    """Return each day with what changes on it, short."""
    days: dict[date, list[str]] = {}
    for change in changes:
        days.setdefault(change.day, []).append(f"{change.rule_set}, {change.told}")
    return [(day, "; ".join(told)) for day, told in days.items()]


def _under(found: Asked, result: Judged, choice: Choice) -> str:
    """Return both dates: the day asked about, and the day to which the law is known."""
    days = dict.fromkeys(str(context.on) for context in found.contexts)
    law = [entry for entry in result.findings if entry.kind == "law"]
    kinds = dict.fromkeys(context.date_kind for context in found.contexts)
    return (
        f"Asked about: {', '.join(days)} ({', '.join(kinds)}), judged as {choice.judged}. Under the law as known on"
        f" {record.known_text(law)}. {record.NOMINAL}"
    )


def _moves(choice: Choice, now: Grid, case: state.Case | None) -> None:
    """Draw which cells the move of the day changed."""
    before = complied.before()
    if before is None:
        return
    then = asked(before, case.brief if case else None, complied.of_brief(case), catalogue())
    if not then.contexts:
        return
    found = [entry for entry in moved(complied.judged(complied.key_of(then), then).grid, now) if _worth(entry)]
    if not found:
        st.info(plain(f"Against {before.on}: no cell of law or customers changes."))
        return
    lines = [
        plain(f"{entry.alloy}, {entry.column.title}: {entry.before.text} becomes {entry.after.text}")
        for entry in found[:MOVES_TOLD]
    ]
    more = [f"and {len(found) - MOVES_TOLD} more"] if len(found) > MOVES_TOLD else []
    told = plain(f"Against {before.on}, {len(found)} cell{'s' if len(found) != 1 else ''} changed:")
    st.info("\n".join([told, *(f"- {line}" for line in (*lines, *more))]))


def _worth(entry: Moved) -> bool:
    marks = MARKS[entry.before.state], MARKS[entry.after.state]
    return entry.column.kind in BINDING and (marks[0] != marks[1] or entry.after.decides)


def _hand_over(result: Judged) -> None:
    st.subheader("Hand over")
    st.caption("Every finding of every alloy above, also what decides nothing; rules by their ids, with both days.")
    left, right, _ = st.columns([1, 1, 2])
    with left:
        st.download_button(
            "All findings (CSV)",
            lambda: csv_text(record.rows(result.findings)).encode(),
            "compliance.csv",
            "text/csv",
            on_click="ignore",
            key="compliance_csv",
        )
    with right:
        st.download_button(
            "All findings (JSON)",
            lambda: json.dumps(record.plain(result.findings), indent=2, ensure_ascii=False, allow_nan=False).encode(),
            "compliance.json",
            "application/json",
            on_click="ignore",
            key="compliance_json",
        )
