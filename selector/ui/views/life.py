"""The life of one alloy's joint: the finding, every screen with law, span, flags and source, the material set."""

import streamlit as st

from selector.lifetime.screens import Group, Life, life_of
from selector.record import life_words
from selector.ui import state
from selector.ui.charts import csv
from selector.ui.say import plain
from selector.ui.tables import table
from selector.ui.views.life_fields import fields, tell

COLUMNS = ("quantity", "answer", "standing", "law", "trust")
SET = "Material set"
MARKS = {
    "fails": "✗ fails",
    "short of what is asked": "✗ short of what is asked",
    "known bad": "✗ known bad",
    "open": "? open",
    "needs a test": "? needs a test",
    "untested": "? untested",
    "not stated": "? not stated",
    "no data": "– no data",
    "caution": "! caution",
    "holds": "✓ holds",
    "compatible": "✓ compatible",
}


def show() -> None:
    """Draw the page."""
    st.header("Life")
    case = state.decidable()
    if case is None:
        return
    top = st.container()
    read = fields(case)
    tell(read.problems)
    life = life_of(read.asked)
    with top:
        st.markdown(f"**{plain(life_words.finding(life))}**")
        for fault in life.faults:
            st.error(plain(f"Refused: {fault}"))
        _cautions(life)
    for group in life.groups:
        _group(group)
    rows = life_words.rows(life)
    st.subheader("Hand over")
    csv("Every answer (CSV)", rows, "life.csv")


def _cautions(life: Life) -> None:
    """Draw once for all answers what has to be said, and the questions that nobody has answered."""
    asked = life_words.questions_open(life)
    told = [caution for caution in life.cautions if not any(question in caution for question in asked)]
    st.caption(plain(" ".join(told)))
    if asked:
        with st.expander(f"Ask first: {len(asked)} questions about safety are open"):
            st.markdown("\n".join(f"- {plain(question)}" for question in asked))


def _group(group: Group) -> None:
    st.subheader(group.title)
    rows = [life_words.row(answer) for answer in group.answers]
    names = [name for name in COLUMNS if name != "trust" or group.title != SET]
    table([{name: MARKS.get(row[name], row[name]) for name in names} for row in rows])
    flags = dict.fromkeys(flag for answer in group.answers for flag in life_words.flags_of(answer))
    told = [*flags, *group.notes]
    if told:
        st.caption("\n".join(f"- {plain(flag)}" for flag in told))
    sources = dict.fromkeys(source for row in rows for source in row["source"].split("; "))
    if sources:
        st.caption(plain(f"Sources: {', '.join(sources)}"))
    missing = life_words.missing_text(group)
    if missing:
        st.caption(plain(missing))
