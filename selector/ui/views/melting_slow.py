"""What takes its time on the page Melting, each behind a button: the mixture's curve, and a section of the diagram."""

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Any

import pandas as pd
import streamlit as st

from selector.composition import Composition, decimal_text
from selector.errors import InputError
from selector.melting import diagram, mixing
from selector.melting.alloy import Melting
from selector.record import charts_limits, charts_melting
from selector.record.melting_words import Row, point_rows
from selector.ui import melted
from selector.ui.charts import csv, draw, untitled
from selector.ui.say import plain
from selector.ui.views.melting_fields import Asked, Named


def mixture(asked: Asked) -> None:
    """Draw the mixture's remelt onset and T98 against the share, where two alloys are mixed."""
    if len(asked.mixed) == 2:
        _mixture(asked.mixed[0], asked.mixed[1], asked.trace or {}, asked.percent)


@st.fragment
def _mixture(one: Named, other: Named, trace: melted.Added, percent: int) -> None:
    st.subheader("The mixture against the share")
    count = mixing.STEPS + 1
    points = _on_demand(
        melted.curve_key(one[1], other[1], trace),
        f"Compute the curve: {count} mixtures, some seconds to a minute",
        count,
        lambda told: melted.curve(one[1], other[1], trace, told),
    )
    if points is None:
        return
    chart = charts_melting.blend_curves(points, one[0], other[0], added=trace)
    _shown(
        charts_limits.with_line(untitled(chart), percent, f"{percent} %"),
        "curve",
        f"Remelt onset and T98 of {one[0]} mixed with {other[0]} against the share of {other[0]}",
        [(100 * point.share, point.composition, point.melting) for point in points],
        f"% {other[0]}",
        f"The upright line is the mixture above: {percent} % {other[0]}.",
    )


def section(asked: Asked) -> None:
    """Draw a section of the diagram of two elements of an alloy, with the alloy on it."""
    several = {name: composition for name, composition in asked.alloys if len(composition.parts) > 1}
    if several:
        _section(several)


@st.fragment
def _section(alloys: dict[str, Composition]) -> None:
    st.subheader("Section of the diagram of two elements")
    left, middle, right = st.columns([2, 1, 1])
    with left:
        name = st.selectbox("Through", list(alloys), key="section_alloy")
    alloy = alloys[name]
    with middle:
        one = st.selectbox("From", alloy.elements, key="section_from")
    with right:
        rest = [element for element in alloy.elements if element != one]
        other = st.selectbox("To", rest, key="section_to")
    held: dict[str, object] = {element: wt for element, wt in alloy.parts if element not in (one, other)}
    told_held = ", ".join(f"{_wt(wt)} wt% {element}" for element, wt in alloy.parts if element in held)
    st.caption(plain(f"{one} gives way to {other}; " + (f"held: {told_held}." if held else "nothing is held.")))
    count = diagram.STEPS + 1
    points = _on_demand(
        melted.section_key(one, other, held),
        f"Compute the section: {count} alloys, some seconds to a minute",
        count,
        lambda told: melted.cut(one, other, held, told),
    )
    if points is None:
        return
    chart = charts_melting.section_chart(points, one, other, {element: _wt(alloy.wt(element)) for element in held})
    at = float(alloy.wt(other))
    _shown(
        charts_limits.with_line(untitled(chart), at, name),
        "section",
        f"Liquidus, T98, solidus and remelt onset from {one} to {other}, {name} at {at:g} wt% {other}",
        [(point.wt, point.composition, point.melting) for point in points],
        f"wt% {other}",
        f"The upright line is {name}: {at:g} wt% {other}.",
    )


def _wt(wt: Fraction) -> str:
    return decimal_text(wt)


def _on_demand(key: object, label: str, count: int, make: Callable[[Callable[[int], None]], Any]) -> Any:
    """Return a slow result where it is at hand or asked for, with a bar meanwhile; None until then."""
    place = st.empty()
    if not melted.is_kept(key) and not place.button(label, key=f"{label}:{hash(str(key))}"):
        return None
    bar = place.progress(0.0, "Computing.")

    def told(done: int) -> None:
        bar.progress(min(done / count, 1.0), f"{done} of up to {count} alloys computed; any change stops it.")

    try:
        points = make(told)
    except InputError as error:
        place.empty()
        for fault in error.faults:
            st.error(plain(fault))
        return None
    place.empty()
    return points


def _shown(
    chart: Any,
    name: str,
    text: str,
    points: Sequence[tuple[float, Composition, Melting]],
    axis: str,
    caption: str,
) -> None:
    """Draw a curve with its caption, its table and the file of it."""
    grades = charts_melting.grades_in_words([(at, found) for at, _, found in points], axis)
    st.caption(plain(f"{grades} {caption} The band is the interval of the remelt onset; hollow marks are indicative."))
    draw(chart, f"melting_{name}", text)
    rows: list[Row] = point_rows(points, axis)
    failed = [row for row in rows if row["not answered"]]
    if failed:
        st.error(f"{len(failed)} of {len(rows)} alloys were not answered in full: the table names what failed.")
    with st.expander("The points as a table"):
        st.dataframe(pd.DataFrame(rows), hide_index=True, width="stretch", key=f"{name}_rows")
    csv("Points (CSV)", rows, f"melting-{name}.csv")
