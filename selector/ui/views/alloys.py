"""The catalogue: search, filter, property strips of a few alloys, and where sources disagree."""

import math
from functools import partial

import pandas as pd
import streamlit as st
from pandas.io.formats.style import Styler

from selector.catalogue import Alloy
from selector.figures import levels, spread
from selector.record import charts
from selector.record.labels import property_title
from selector.ui.charts import draw
from selector.ui.decisions import catalogue
from selector.ui.say import plain
from selector.ui.views.evidence import facts

COLUMNS = {
    "solidus_c": "solidus, degC",
    "liquidus_c": "liquidus, degC",
    "pasty_range_k": "pasty range, K",
    "density_g_cm3": "density, g/cm3",
    "relative_cost": "cost, SAC305 = 1",
}
# At the left, for at the right a narrow column would cut a figure's first digits.
FIGURE = st.column_config.NumberColumn(alignment="left", width=140)
FIRST_CHOSEN = ("SAC305", "Bi-42Sn")
MOST_CHOSEN = 4


def show() -> None:
    """Draw the page."""
    st.header("Alloys")
    everything = list(catalogue().alloys.values())
    left, middle, right = st.columns([3, 3, 2], vertical_alignment="bottom")
    with left:
        text = st.text_input("Search: any spelling, element or word", key="alloy_search", max_chars=200)
    with middle:
        families = st.multiselect("Families", sorted({a.family for a in everything}), key="families")
    with right:
        unlisted = st.toggle("Unlisted grades too", key="unlisted", help="Fusible, cadmium-bearing and gallium grades.")
    found = [a for a in everything if (a.listed or unlisted) and (not families or a.family in families)]
    found = [a for a in found if _matches(a, text)]
    found.sort(key=_liquidus_c)
    st.caption(f"{len(found)} of {len(everything)} alloys. By liquidus; a click on a column's head sorts by it.")
    if not found:
        st.info("Nothing fits. Try a composition such as Sn-58Bi, an element such as In, or switch the toggle on.")
        return
    figures = dict.fromkeys(COLUMNS.values(), FIGURE)
    table = _listing(tuple(a.id for a in found))
    st.dataframe(table, hide_index=True, width="stretch", column_config=figures, key="catalogue")
    _side_by_side(found)
    _one(found)


# A cell sorts by the chosen figure and shows its interval too; a text would put 1030 before 139.
@st.cache_resource(max_entries=16, show_spinner=False)
def _listing(names: tuple[str, ...]) -> Styler:
    found = [catalogue().alloys[name] for name in names]
    rows = [
        {
            "alloy": alloy.id,
            "family": alloy.family,
            **{title: alloy.of(name).value for name, title in COLUMNS.items()},
            "ductility": levels(*alloy.ductility),
            "drop": alloy.bands["drop_class"].text(),
            "wetting": alloy.bands["wetting_class"].text(),
        }
        for alloy in found
    ]
    styled = pd.DataFrame(rows).astype(dict.fromkeys(COLUMNS.values(), float)).style
    for name, title in COLUMNS.items():
        for row, alloy in enumerate(found):
            entry = alloy.of(name)
            text = spread(entry.value, entry.low, entry.high)
            styled.format(partial(_said, text), na_rep=text, subset=pd.IndexSlice[[row], [title]])
    return styled


@st.fragment
def _side_by_side(found: list[Alloy]) -> None:
    names = [alloy.id for alloy in found]
    st.subheader("A few alloys side by side")
    first = [name for name in FIRST_CHOSEN if name in names] or names[:2]
    chosen = st.multiselect("Up to four", names, default=first, max_selections=MOST_CHOSEN, key="side_by_side")
    if chosen:
        st.caption("Each strip has its own axis; ticks are all alloys above, filled marks those chosen.")
        for place, (name, chart) in enumerate(charts.property_strips(found, chosen)):
            draw(chart, f"strip:{place}", f"{name} of {', '.join(chosen)}")


@st.fragment
def _one(found: list[Alloy]) -> None:
    st.subheader("One alloy, with every source")
    names = [alloy.id for alloy in found]
    first = next((names.index(name) for name in FIRST_CHOSEN if name in names), 0)
    one = st.selectbox("Alloy", names, index=first, key="one_alloy")
    alloy = catalogue().alloys[one]
    _conflicts(alloy)
    facts(alloy, catalogue())


def _said(text: str, value: float) -> str:
    return text


def _liquidus_c(alloy: Alloy) -> float:
    value = alloy.of("liquidus_c").value
    return math.inf if value is None else value


def _matches(alloy: Alloy, text: str) -> bool:
    wanted = text.strip().casefold()
    if not wanted:
        return True
    if text.strip() in catalogue().elements:
        return text.strip() in alloy.composition.elements
    if any(wanted in name.casefold() for name in (alloy.id, str(alloy.composition), alloy.family, *alloy.names)):
        return True
    found = catalogue().held(text)
    return found is not None and found.id == alloy.id


def _conflicts(alloy: Alloy) -> None:
    """Name the properties whose usable rows disagree, widest first."""
    wide = []
    for entry in alloy.evidence.values():
        usable = [row for row in entry.candidates if row.standing == "usable" and row.value is not None]
        values = sorted({row.value for row in usable if row.value is not None})
        if len(values) > 1:
            told = ", ".join(f"{row.value:g} ({row.source})" for row in usable)
            wide.append(
                (
                    values[-1] - values[0],
                    f"- **{plain(property_title(entry.name))}** ({plain(entry.unit)}): {plain(told)}",
                )
            )
    if wide:
        with st.expander(f"Where sources disagree on {alloy.id}: {len(wide)} properties"):
            st.markdown("\n".join(line for _, line in sorted(wide, reverse=True)))
