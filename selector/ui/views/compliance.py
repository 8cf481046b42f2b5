"""What may be sold where on a day: fields, the finding in a sentence, the grid, one alloy, the days to come, files."""

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import streamlit as st

from selector.brief import Brief
from selector.record import compliance as record
from selector.record.compliance_calendar import DatedChange, calendar
from selector.record.compliance_grid import BINDING, MARKS, Grid, Moved, figures_lacking, moved, questions
from selector.record.compliance_summary import summary
from selector.record.plain import csv_text
from selector.ui import complied, downloads, state
from selector.ui.compliance_choice import Asked, Choice, asked, first_choice
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
    if found.unused:
        st.warning(plain(f"Not used: {', '.join(found.unused)}. Nothing is judged until this is mended."))
        return
    if not found.alloys:
        st.info("Give at least one alloy.")
        return
    if found.faults:
        st.warning("What has a fault is left out of the answers below.")
    cautions = record.day_cautions(found.contexts)
    result = complied.judged(complied.key_of(found), found)
    st.markdown(f"**{plain(summary(result.grid, choice.markets, cautions))}**")
    for told in (_under(found, result, choice), record.bans_text(found.contexts, _whose(choice, brief)), _spelt(found)):
        if told:
            st.caption(plain(told))
    _as_sold(found)
    _moves(choice, result.grid, case)
    compliance_use.ask(questions(result.grid), figures_lacking(result.grid))
    shown = compliance_table.show(result.grid, found, choice, sure=not cautions)
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
    """Return what is judged and both dates: the day asked about, and the day to which the law is known."""
    days = dict.fromkeys(str(context.on) for context in found.contexts)
    law = [entry for entry in result.findings if entry.kind == "law"]
    kinds = dict.fromkeys(context.date_kind for context in found.contexts)
    return (
        f"{record.judged_text(found.contexts)} Asked about: {', '.join(days)} ({', '.join(kinds)}). Under the law as"
        f" known on {record.known_text(law)}. {record.NOMINAL}"
    )


def _whose(choice: Choice, brief: Brief | None) -> str:
    """Return where the bans come from."""
    given = brief is not None and choice.bans == first_choice(brief, date.today()).bans
    return "of the open brief" if given else "as typed here"


def _spelt(found: Asked) -> str:
    """Return what was typed beside what it is called here."""
    told = [f"{text} is {name}" for name, text in found.spelt.items()]
    return f"As typed: {'; '.join(told)}." if told else ""


def _as_sold(found: Asked) -> None:
    """Draw the way to the solder as sold, where what is known of the use points to it."""
    if record.as_sold_hint(found.contexts):
        text, button = st.columns([5, 2], vertical_alignment="center")
        text.caption("The solder as sold, flux included, is another question: public sale and labels go by it.")
        button.button("Judge the solder as sold", key=complied.key("as_sold"), on_click=_judge_as_sold, width="stretch")


def _judge_as_sold() -> None:
    st.session_state[complied.key("judged")] = "mixture"


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
        downloads.button(
            "All findings (CSV)",
            lambda: csv_text(record.rows(result.findings)).encode(),
            "compliance.csv",
            "text/csv",
            key="compliance_csv",
        )
    with right:
        downloads.button(
            "All findings (JSON)",
            lambda: json.dumps(record.plain(result.findings), indent=2, ensure_ascii=False, allow_nan=False).encode(),
            "compliance.json",
            "application/json",
            key="compliance_json",
        )
