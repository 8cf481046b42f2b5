"""The grid of alloys against rule sets, a table a kind of rules; narrowed to what passes and to what remelts late."""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import pandas as pd
import streamlit as st

from selector.catalogue.evidence import Evidence
from selector.figures import figure, spread
from selector.melting.onset import reaches
from selector.record import theme
from selector.record.compliance_grid import BINDING, KINDS, LEGEND, Column, Grid, Row, State
from selector.record.compliance_words import series
from selector.ui import complied
from selector.ui.charts import csv
from selector.ui.compliance_choice import COLDEST_C, HOTTEST_C, Asked, Choice
from selector.ui.say import plain

ONLY = "compliance_only"
TALLEST_PX, ROW_PX, HEAD_PX = 560, 31, 66
CHARACTER_PX, PADDING_PX = 6.4, 22
NARROW_PX = 1100  # what a window of 1280 px leaves
STANDINGS = {State.HOLDS: "✓ passes", State.OPEN: "? open", State.FAILS: "✗ fails"}
NO_VERDICT = "– no verdict"
ASIDE = ("quality", "supply-risk", "information")
# What is open or fails has the hue of that everywhere; what holds, is flagged or told has the hue of its kind.
TINTS = {State.FAILS: "#D55E00", State.OPEN: "#CC79A7", State.DUTY: "#E69F00"}
STRENGTH = {State.FAILS: 0.42, State.OPEN: 0.3, State.DUTY: 0.3, State.FLAG: 0.35, State.HOLDS: 0.16, State.TOLD: 0.2}
HEAD = ("alloy", "everywhere", "remelt onset, degC")


def show(found: Grid, asked: Asked, choice: Choice, *, sure: bool = True) -> list[Row]:
    """Draw the filters and the tables; return the rows that are shown. Without `sure` no row counts as a pass."""
    st.subheader("Alloys against rule sets")
    left, right = st.columns([2, 3], vertical_alignment="bottom")
    with left:
        name = complied.key("onset")
        if name not in st.session_state:
            st.session_state[name] = choice.onset
        st.text_input(
            "Remelt onset at least, degC", key=name, placeholder="any", max_chars=12, help=f"{COLDEST_C} to {HOTTEST_C}"
        )
    with right:
        only = st.toggle("Only what passes everywhere: law and customers", key=ONLY, persist_state="session")
    onsets = complied.onsets()
    rows = [row for row in found.rows if (row.passes_everywhere and sure) or not only]
    reaching = {
        row.alloy: "" if asked.onset_c is None else reaches(onsets.get(row.alloy), asked.onset_c) for row in rows
    }
    if asked.onset_c is not None and sure:
        st.markdown(f"**{plain(_onset_sentence(rows, reaching, asked.onset_c, only))}**")
        rows = [row for row in rows if reaching[row.alloy] != "no"]
    if not rows:
        st.info("No alloy is left. Ask for less, or show what does not pass.")
        return []
    st.caption(plain(f"{LEGEND} Law in blue and customers in green where they hold."))
    shown = Grid(found.columns, tuple(rows))  # what decides nothing about the rows that are left is folded too
    columns = shown.of_kinds(BINDING)
    _table(rows, columns, onsets, reaching if asked.onset_c is not None else {}, "compliance_grid", sure=sure)
    idle = shown.folded(BINDING)
    if idle:
        told = series(column.title for column in idle)
        st.caption(plain(f"Folded, because nothing that they limit is in any of these alloys: {told}."))
    with st.expander("Quality, supply risk and what is good to know: no law, and no bar to a sale"):
        for kind in ASIDE:
            held = shown.of_kinds((kind,))
            st.markdown(f"**{KINDS[kind]}**")
            if held:
                _table(rows, held, {}, {}, f"compliance_{kind}")
            else:
                st.caption("Nothing of it concerns these alloys as they are judged.")
    every = (*columns, *shown.of_kinds(ASIDE))
    csv("This grid (CSV)", _cells(rows, every, onsets, reaching, sure=sure), "compliance-grid.csv")
    return rows


def _onset_sentence(rows: Sequence[Row], reaching: Mapping[str, str], least_c: float, only: bool) -> str:
    passing = [row.alloy for row in rows if row.passes_everywhere]
    sure = [name for name in passing if reaching[name] == "yes"]
    maybe = [name for name in passing if reaching[name] == "open"]
    told = f"{len(sure)} pass everywhere and have a remelt onset of at least {figure(least_c)} degC for certain"
    told += f"; of {len(maybe)} more the interval straddles it or the onset is not computed" if maybe else ""
    others = sum(reaching[row.alloy] != "no" for row in rows if not row.passes_everywhere)
    told += f"; {others} reach it or may, and do not pass everywhere" if others and not only else ""
    return f"{told}."


def _cells(
    rows: Sequence[Row],
    columns: Sequence[Column],
    onsets: Mapping[str, Evidence],
    reaching: Mapping[str, str],
    *,
    sure: bool = True,
) -> list[dict[str, str]]:
    told = []
    for row in rows:
        onset = onsets.get(row.alloy)
        line = {
            HEAD[0]: row.alloy,
            HEAD[1]: STANDINGS[row.standing] if sure or not row.passes_everywhere else NO_VERDICT,
        }
        line[HEAD[2]] = "not computed here" if onset is None else spread(onset.value, onset.low, onset.high)
        if reaching.get(row.alloy):
            line["reaches what is asked"] = reaching[row.alloy]
        told.append(line | {f"{KINDS[c.kind]}: {c.title}": row.cells[c].text for c in columns})
    return told


def _table(
    rows: Sequence[Row],
    columns: Sequence[Column],
    onsets: Mapping[str, Evidence],
    reaching: Mapping[str, str],
    name: str,
    *,
    sure: bool = True,
) -> None:
    cells = _cells(rows, columns, onsets, reaching, sure=sure)
    head = [*HEAD, *(["reaches what is asked"] if reaching else [])] if onsets else [HEAD[0]]
    frame = pd.DataFrame(
        [[line[k] for k in head] + [row.cells[c].text for c in columns] for line, row in zip(cells, rows, strict=True)],
        columns=pd.MultiIndex.from_tuples(
            [*(("", title) for title in head), *((KINDS[column.kind], column.title) for column in columns)]
        ),
    )
    dark = st.context.theme.type == "dark"
    tints = pd.DataFrame(
        [
            [_tint(row.standing, "law", dark) if title == HEAD[1] else "" for title in head]
            + [_tint(row.cells[column].state, column.kind, dark) for column in columns]
            for row in rows
        ],
        index=frame.index,
        columns=frame.columns,
    )
    titles = [*head, *(column.title for column in columns)]
    widths = [
        max(len(title), *(len(text) for text in frame.iloc[:, place])) * CHARACTER_PX + PADDING_PX
        for place, title in enumerate(titles)
    ]
    # By its words: left to itself a column is as wide as those of the first rows. Place 0 is the hidden index.
    config: dict[Any, Any] = {
        place: st.column_config.Column(width=round(width), pinned=place == 1) for place, width in enumerate(widths, 1)
    }
    if sum(widths) > NARROW_PX:
        st.caption(f"{len(titles)} columns: the table scrolls to the right.")
    st.dataframe(
        frame.style.apply(lambda _: tints, axis=None),
        hide_index=True,
        width="stretch",
        height=min(HEAD_PX + ROW_PX * len(rows), TALLEST_PX),
        column_config=config,
        key=name,
        alt=f"{len(rows)} alloys against {', '.join(column.title for column in columns)}",
    )


@cache
def _tint(state: State, kind: str, dark: bool) -> str:
    """Return a ground for a cell, weak enough that the text keeps its contrast; empty where nothing is decided."""
    if state not in STRENGTH:
        return ""
    colour = TINTS.get(state, theme.KIND_COLOURS[kind])
    red, green, blue = (int(colour[place : place + 2], 16) for place in (1, 3, 5))
    # On the ground of the page: the grid draws its cells on it and takes no transparency for text.
    ground = theme.GROUND[dark]
    base = [int(ground[place : place + 2], 16) for place in (1, 3, 5)]
    share = STRENGTH[state]
    mixed = [round(share * c + (1 - share) * b) for c, b in zip((red, green, blue), base, strict=True)]
    return f"background-color: rgb({mixed[0]}, {mixed[1]}, {mixed[2]}); color: {theme.INK[dark]}"
