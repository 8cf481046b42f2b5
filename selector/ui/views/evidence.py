"""An alloy's figures, each opening to its sources and to the candidates that it was chosen from."""

from collections.abc import Iterable

import pandas as pd
import streamlit as st

from selector.catalogue import Alloy, Catalogue
from selector.catalogue.evidence import Evidence
from selector.figures import spread
from selector.melting.facts import all_facts, melting_conflicts
from selector.melting.onset import remelt_onset
from selector.record.labels import property_title
from selector.ui.say import plain


def facts(alloy: Alloy, catalogue: Catalogue) -> None:
    """Draw the table of figures and, for one chosen property, its sources and candidates."""
    entries = {entry.name: entry for entry in all_facts(alloy, remelt_onset(alloy))}
    rows = [
        {
            "property": property_title(entry.name),
            "value": spread(entry.value, entry.low, entry.high),
            "unit": entry.unit,
            "origin": entry.origin,
            "grade": entry.grade,
            "rows": len(entry.candidates) or len(entry.inputs),
            "source": entry.source,
        }
        for entry in entries.values()
    ]
    rows += [
        {
            "property": property_title(band.name),
            "value": band.text(),
            "unit": "level",
            "origin": band.origin,
            "grade": band.grade,
            "rows": int(band.known),
            "source": f"{band.source} {band.note}",
        }
        for band in alloy.bands.values()
    ]
    st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch", key=f"facts:{alloy.id}")
    chosen = st.selectbox(
        "Where a figure comes from", list(entries), key=f"where:{alloy.id}", format_func=property_title
    )
    _origin(entries[chosen], catalogue)
    for conflict in melting_conflicts(alloy):
        st.warning(plain(f"Computed and tabulated melting disagree. {conflict.text}"))
    if alloy.notes:
        with st.expander("What sources say in words"):
            for note in alloy.notes:
                st.markdown("- " + plain(f"{note.text} {note.condition} ({note.source}, {note.grade})"))


def _origin(entry: Evidence, catalogue: Catalogue) -> None:
    value = f"{spread(entry.value, entry.low, entry.high)} {entry.unit}"
    st.markdown(f"**{plain(property_title(entry.name))} = {plain(value)}** by this rule: {plain(entry.rule)}.")
    for caution in entry.cautions:
        st.caption(plain(f"Watch: {caution}."))
    rows = entry.candidates or tuple(row for part in entry.inputs for row in part.candidates)
    picked = {entry.chosen.id} if entry.chosen else {part.chosen.id for part in entry.inputs if part.chosen}
    if rows:
        table = [
            {
                "chosen": "chosen" if row.id in picked else "",
                "row": row.id,
                "property": property_title(row.name),
                "value": row.told,
                "condition": row.condition,
                "origin": row.origin,
                "grade": row.grade,
                "standing": f"{row.standing}: {row.standing_reason}" if row.standing_reason else row.standing,
                "source": row.source,
            }
            for row in rows
        ]
        st.dataframe(pd.DataFrame(table), hide_index=True, width="stretch", key=f"candidates:{entry.name}")
    named = dict.fromkeys([*(row.source for row in rows), *entry.source.split("; ")])
    cite((name for name in named if name in catalogue.sources), catalogue)


def cite(names: Iterable[str], catalogue: Catalogue) -> None:
    """Draw a line a source, in full; a name that is no source of the catalogue, such as the brief, stands alone."""
    for name in names:
        source = catalogue.sources.get(name)
        st.caption(plain(f"{name}: {source.text}" if source else name))
