"""One alloy on the page Compliance: each rule that decides, with clause, figures, exemption, next change and source."""

from collections.abc import Sequence

import pandas as pd
import streamlit as st

from selector.compliance.finding import Finding
from selector.compliance.rulesets import Rule
from selector.composition import decimal_text
from selector.record import compliance as record
from selector.record.compliance_grid import BINDING, KINDS, MARKS, Column, Row, State, cell
from selector.record.compliance_words import exempts, is_niche, margin_text, rule_of
from selector.ui.compliance_choice import Asked
from selector.ui.complied import Judged
from selector.ui.say import plain
from selector.ui.tables import table
from selector.ui.views import compliance_sheet

CHOSEN, OWN, SHEET = "compliance_alloy", "compliance_alloy_picked", "compliance_sheet"
STATES = tuple(State)
OPENED = (State.FAILS, State.OPEN)
MOST_OPENED = 1
COMPARED = {
    "max": "at most",
    "below": "below",
    "above_triggers": "a duty above",
    "at_or_above_triggers": "a duty from",
    "min": "at least",
}


def show(result: Judged, rows: Sequence[Row], asked: Asked) -> None:
    """Draw the choice of an alloy and what decides about it."""
    st.subheader("One alloy, and what decides")
    if not rows:
        st.caption("No alloy is shown above.")
        return
    names = [row.alloy for row in rows]
    if st.session_state.get(CHOSEN) not in names or not st.session_state.get(OWN):
        # Until somebody picks one, the first that does not pass.
        st.session_state[CHOSEN] = next((row.alloy for row in rows if not row.passes_everywhere), names[0])
    chosen = st.selectbox("Alloy", names, key=CHOSEN, persist_state="session", on_change=_picked)
    row = next(row for row in rows if row.alloy == chosen)
    findings = [entry for entry in result.findings if entry.alloy == chosen]
    st.caption(plain(f"{asked.alloys[chosen]} wt%"))
    for kind, title in KINDS.items():
        told = [(column, entry) for column, entry in row.deciding() if column.kind == kind]
        if kind == "information" or not told:
            continue
        if kind not in BINDING:
            _aside(title, told)
            continue
        st.markdown(f"**{title}**")
        told.sort(key=lambda pair: (STATES.index(cell([pair[1]]).state), is_niche(pair[1])))
        for place, (column, entry) in enumerate(told):
            _finding(column, entry, place)
    _to_know(row)
    _rest(row, findings)
    if asked.contexts and st.toggle("Composition sheet to hand on", key=SHEET, persist_state="session"):
        own = dict(asked.traces.get(chosen, ()))
        contexts = [one.with_traces({**dict(one.traces), **own}) for one in asked.contexts]
        compliance_sheet.show(chosen, asked.alloys[chosen], contexts)


def _picked() -> None:
    st.session_state[OWN] = True


def _aside(title: str, told: Sequence[tuple[Column, Finding]]) -> None:
    """Draw what is no law and no bar to a sale: closed, a row a rule."""
    with st.expander(f"{title}: {len(told)}"):
        cells = [
            {
                "rule": f"{column.title}, {entry.rule_id}",
                "answer": cell([entry]).text,
                "reason": entry.reason,
                "clause and source": f"{entry.clause}; {entry.source}",
            }
            for column, entry in told
        ]
        table(cells)


def _finding(column: Column, entry: Finding, place: int) -> None:
    one = cell([entry])
    label = f"{MARKS[one.state]} {column.title}, {entry.rule_id}: {one.told}"
    opened = one.state in OPENED and place < MOST_OPENED and column.kind in BINDING
    with st.expander(plain(label), expanded=opened):
        facts = {name: plain(text) for name, text in figures(entry, rule_of(entry)).items() if text}
        st.table(pd.DataFrame({"": facts.keys(), "what is known": facts.values()}).set_index(""))


def figures(entry: Finding, held: Rule | None) -> dict[str, str]:
    """Return everything that one finding rests on, as texts by name; what there is not is empty."""
    limit = ""
    if entry.limit_ppm is not None:
        sign = COMPARED.get(held.test, "at most") if held else "at most"
        limit = f"{sign} {decimal_text(entry.limit_ppm)} ppm of {held.basis if held else 'homogeneous material'}"
    until = f", as known until {entry.exemption_until}" if entry.exemption_until else ""
    return {
        "answer": f"{str(entry.outcome).replace('_', ' ')}{f': {entry.duty}' if entry.duty else ''}; {entry.why}",
        "reason": entry.reason,
        "clause": entry.clause,
        "measured": "" if entry.measured_ppm is None else f"{decimal_text(entry.measured_ppm)} ppm",
        "limit": limit,
        "margin": margin_text(entry),
        "exemption": f"{entry.exemption}{until}" if entry.exemption else "",
        "next change": str(entry.next_change or "none is known"),
        "asked about, and known to": f"{entry.as_of}; as known on {entry.known_to}",
        "source": entry.source,
        "how it was read, and how sure": f"{held.how_read}; {held.confidence} confidence" if held else "as given",
        "note": held.note if held else "",
    }


def _to_know(row: Row) -> None:
    told = [(column, entry) for column, entry in row.deciding() if column.kind == "information"]
    if told:
        with st.expander(f"{KINDS['information']}: {len(told)}"):
            st.markdown("\n".join(f"- {plain(f'{column.title}: {entry.reason}')}" for column, entry in told))


def _rest(row: Row, findings: Sequence[Finding]) -> None:
    """Draw what is folded: exemptions that were looked at, then every rule."""
    looked = [entry for entry in findings if exempts(entry) and entry.outcome != "not_applicable"]
    if looked:
        with st.expander(f"Exemptions looked at: {len(looked)}"):
            st.caption("By itself none of them forbids anything; the restriction above names the one that counts.")
            cells = [
                {"exemption": rule_of(e).exemption if rule_of(e) else "", "answer": str(e.outcome), "reason": e.reason}  # type: ignore[union-attr]
                for e in looked
            ]
            st.dataframe(pd.DataFrame(cells), hide_index=True, width="stretch", key="compliance_exemptions")
    folded = sum(each.folded for each in row.cells.values())
    with st.expander(f"Every rule of this alloy: {len(findings)}, of which {folded} decide nothing"):
        st.dataframe(pd.DataFrame(record.rows(findings)), hide_index=True, width="stretch", key="compliance_rules")
