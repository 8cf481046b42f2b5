"""The days to come on the page Compliance: a chart of changes of the markets chosen, and the same as a table."""

from collections.abc import Sequence
from datetime import date

import streamlit as st

from selector.record import charts_compliance
from selector.record.compliance_calendar import DatedChange, rows
from selector.ui.charts import csv, draw
from selector.ui.say import plain
from selector.ui.tables import table


def show(changes: Sequence[DatedChange], on: date) -> None:
    """Draw the timeline with the day asked about, its table and the file of it."""
    st.subheader("Days on which rules change")
    if not changes:
        st.info("No change is known for these markets from the year on to which the rules are known.")
        return
    told = charts_compliance.in_words(changes, on)
    st.markdown(plain(told))
    draw(charts_compliance.timeline(changes, on), "compliance_timeline", told)
    st.caption(plain(charts_compliance.CAPTION))
    cells = rows(changes, on)
    # Four columns: more of them break every word on a telephone.
    told_rows = [
        {
            "day": row["day"] + (f" ({row['seen from the day asked']})" if row["seen from the day asked"] else ""),
            "rule set": f"{row['rule set']} ({row['kind'].lower()}, {row['market']})",
            "what changes": f"{row['change']}: {row['what']}",
            "alloys whose answer changes": row["alloys whose answer changes"]
            or ("none of these" if row["seen from the day asked"] == "coming" else "not asked: not after that day"),
        }
        for row in cells
    ]
    table(told_rows)
    csv("Days of change (CSV)", cells, "compliance-days.csv")
