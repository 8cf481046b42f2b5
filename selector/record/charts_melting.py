"""The charts of melting, as Altair specifications: freezing, mixtures, sections of a diagram, several alloys.

Each line has its own dash and its name beside it, each grade its own mark, so that no meaning rests on colour.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from selector.figures import figure, spread
from selector.melting.alloy import Melting
from selector.melting.computed import Computed
from selector.melting.coverage import INDICATIVE
from selector.melting.diagram import SectionPoint
from selector.melting.lever import LeverPoint
from selector.melting.mixing import BlendPoint
from selector.record import theme
from selector.record.charts import alloy_axis
from selector.record.placing import HEIGHT, Line, placed
from selector.record.plain_melting import frozen_points

if TYPE_CHECKING:
    import altair as alt

ROW = 24
MARGIN_K = 8.0
TICKS = 8
SUBTITLE_CHARACTERS = 96
AS_FROZEN = "as frozen (Scheil-Gulliver)"
AT_EQUILIBRIUM = "at equilibrium (lever rule)"
SHORT = {AS_FROZEN: "as frozen", AT_EQUILIBRIUM: "at equilibrium"}


@dataclass(frozen=True)
class Stroke:
    """How one line is told from the others: colour, dash and width."""

    colour: str
    dash: tuple[int, ...]
    width: float = 1.5


SOLID = (1, 0)
STROKES = {
    "liquidus": Stroke("#D55E00", SOLID),
    "T98": Stroke("#009E73", (7, 3)),
    "solidus": Stroke("#CC79A7", (2, 2)),
    "remelt onset": Stroke("#0072B2", SOLID, 2.5),
    AS_FROZEN: Stroke("#0072B2", SOLID, 2.5),
    AT_EQUILIBRIUM: Stroke("#009E73", (7, 3)),
}
FIGURES: Mapping[str, Callable[[Melting], float | None]] = {
    "liquidus": lambda found: found.liquidus_c,
    "T98": lambda found: found.t98_c,
    "solidus": lambda found: found.solidus_c,
    "remelt onset": lambda found: found.remelt_onset_c,
}


def grades_in_words(points: Sequence[tuple[float, Melting]], unit: str) -> str:
    """Return which grade holds from where to where: `assessed from 0 to 40 wt% Bi, fitted from 42.5 to 100 wt% Bi`."""
    runs: list[list[Any]] = []
    for at, found in points:
        if runs and runs[-1][0] == found.grade:
            runs[-1][2] = at
        else:
            runs.append([found.grade, at, at])
    if len(runs) == 1:
        return f"Grade: {runs[0][0]} throughout."
    told = [
        f"{grade} at {figure(low)} {unit}" if low == high else f"{grade} from {figure(low)} to {figure(high)} {unit}"
        for grade, low, high in runs
    ]
    return f"Grade: {', '.join(told)}."


def section_chart(
    points: Sequence[SectionPoint], one: str, other: str, held: Mapping[str, object] | None = None
) -> "alt.LayerChart":
    """Return liquidus, T98, solidus and remelt onset against wt% of the second element.

    Parameters
    ----------
    points : sequence of SectionPoint
    one, other : str
        The elements; `other` is on the axis.
    held : mapping, optional
        Element -> wt% held all along, for the title.
    """
    extra = "".join(f" with {wt} wt% {element}" for element, wt in (held or {}).items())
    unit = f"wt% {other}"
    graded = [(point.wt, point.melting) for point in points]
    title = (f"{one}-{other}{extra}", grades_in_words(graded, unit))
    return _against(graded, [str(point.composition) for point in points], tuple(FIGURES), unit, title)


def blend_curves(
    points: Sequence[BlendPoint], one: str, other: str = "", trace: str = "", added: Mapping[str, object] | None = None
) -> "alt.LayerChart":
    """Return remelt onset and T98 of a mixture against the share of the second alloy, or against a trace.

    Parameters
    ----------
    points : sequence of BlendPoint
        Of `blend_curve`, or of `trace_curve` where `trace` names the element.
    one, other : str
        What is mixed; `other` is empty for a curve against a trace.
    trace : str
        The element whose wt% `share` holds; empty for a mixture of two alloys.
    added : mapping, optional
        Element -> wt% in every mixture of two alloys, for the title.
    """
    if trace:
        unit, scale, name = f"wt% {trace}", 1.0, f"{one} with {trace}"
    else:
        unit, scale = f"% {other} by mass", 100.0
        name = f"{one} mixed with {other}" + "".join(
            f", {wt} wt% {element} added" for element, wt in (added or {}).items()
        )
    graded = [(point.share * scale, point.melting) for point in points]
    title = (name, grades_in_words(graded, unit))
    return _against(graded, [str(point.composition) for point in points], ("T98", "remelt onset"), unit, title)


def freezing_curves(
    name: str, melting: Melting | Computed, path: Sequence[LeverPoint] = (), narrow: bool = False
) -> "alt.LayerChart":
    """Return liquid mass fraction against temperature: as frozen, and at equilibrium where its points are given.

    Parameters
    ----------
    name : str
        The alloy, for the title.
    melting : Melting or Computed
    path : sequence of LeverPoint
        At equilibrium, of `lever`.
    narrow : bool
        Whether it may stand on a narrow screen: the lines have short names, the text around it names the methods.
    """
    import altair as alt

    frozen = [(t, 100 * mass) for t, mass in frozen_points(melting)]
    lever = [(p.temperature_c, float("nan") if p.liquid is None else 100 * p.liquid) for p in path]
    lines = {key: line for key, line in ((AS_FROZEN, frozen), (AT_EQUILIBRIUM, lever)) if line}
    if not lines:
        return _titled([_words("no freezing path is computed")], f"{name}: how it freezes", f"Grade: {melting.grade}.")
    ends = [t for line in lines.values() for t, _ in line]
    x_domain, y_domain = (min(ends) - MARGIN_K, max(ends) + MARGIN_K), (0.0, 105.0)
    x = alt.X("x:Q", title="degC", scale=_span(x_domain), axis=alt.Axis(tickCount=TICKS, labelPadding=10))
    y = alt.Y(
        "y:Q",
        title="liquid, % by mass",
        scale=_span(y_domain),
        axis=alt.Axis(values=[0, 20, 40, 60, 80, 100]),
    )
    tooltip = [
        alt.Tooltip("line:N", title="Line"),
        alt.Tooltip("x:Q", title="degC", format=".1f"),
        alt.Tooltip("y:Q", title="Liquid, % by mass", format=".1f"),
    ]
    layers = _lines(lines, x, y, tooltip)
    if melting.remelt_onset_c is not None:
        label = f"remelt onset {figure(melting.remelt_onset_c)}"
        rule = alt.Chart(alt.InlineData(values=[{"x": melting.remelt_onset_c, "label": label}]))
        layers += [
            rule.mark_rule(color=theme.MUTED, strokeDash=[3, 3]).encode(x=x),
            # Above the plot: inside it the words would cross the lines.
            rule.mark_text(baseline="bottom", dy=-4).encode(x=x, y=alt.value(0), text="label:N"),
        ]
    short = {SHORT.get(key, key): line for key, line in lines.items()} if narrow else lines
    layers.append(_labels(short, x_domain, y_domain, x, y, narrow))
    subtitle = f"Grade: {melting.grade}. Remelt onset: {melting.onset_rule}."
    return _titled(layers, f"{name}: how it freezes", subtitle)


def melting_bars(found: Mapping[str, Melting | Computed]) -> "alt.LayerChart":
    """Return alloys as bars from solidus to liquidus, with T98, remelt onset and the half-width of their grade.

    Parameters
    ----------
    found : mapping of name to Melting or Computed
        In the order in which they stand.
    """
    import altair as alt

    rows = [_bar(name, entry) for name, entry in found.items()]
    known = [float(row[key]) for row in rows for key in ("low", "high") if row[key] is not None]
    scale = _span((min(known, default=0.0) - MARGIN_K, max(known, default=300.0) + MARGIN_K))
    y = alloy_axis(list(found))
    tooltip = [
        alt.Tooltip("alloy:N", title="Alloy"),
        alt.Tooltip("range:N", title="Solidus to liquidus, degC"),
        alt.Tooltip("t98_text:N", title="T98, degC"),
        alt.Tooltip("onset_text:N", title="Remelt onset, degC"),
        alt.Tooltip("rule:N", title="Onset by"),
        alt.Tooltip("grade:N", title="Grade"),
    ]
    base = alt.Chart(alt.InlineData(values=rows)).encode(y=y, tooltip=tooltip)

    def at(field: str) -> "alt.X":
        return alt.X(f"{field}:Q", scale=scale, title="degC", axis=alt.Axis(tickCount=TICKS))

    def only(*fields: str) -> str:
        return " && ".join(f"isValid(datum.{field})" for field in fields)

    whiskers = base.transform_filter(only("low", "high")).mark_rule(color=theme.MUTED).encode(x=at("low"), x2="high:Q")
    bars = (
        base.transform_filter(only("solidus", "liquidus"))
        .mark_bar(height=9, color=STROKES["liquidus"].colour, opacity=0.55, minBandSize=2)
        .encode(x=at("solidus"), x2="liquidus:Q")
    )
    ticks = (
        base.transform_filter(only("t98"))
        .mark_tick(size=15, thickness=2, color=STROKES["T98"].colour)
        .encode(x=at("t98"))
    )
    onset = STROKES["remelt onset"].colour
    dots = (
        base.transform_filter(only("onset"))
        .mark_point(shape="diamond", size=90, opacity=1, color=onset)
        .encode(x=at("onset"), fill=alt.Fill("grade:N", legend=None, scale=_filled(onset)))
    )
    words = base.transform_filter(only("high")).mark_text(align="left", dx=6).encode(x=at("high"), text="label:N")
    layered = alt.LayerChart(layer=[whiskers, bars, ticks, dots, words])
    return layered.properties(height=alt.Step(ROW))


BARS_CAPTION = (
    "Bar: solidus to liquidus. Upright tick: T98. Diamond: remelt onset, hollow where its grade is indicative. "
    "Thin line: half-width of the grade around the whole."
)


def _bar(name: str, entry: Melting | Computed) -> dict[str, Any]:
    known = [value for value in (entry.solidus_c, entry.remelt_onset_c, entry.liquidus_c) if value is not None]
    half = entry.half_width_k or 0.0
    solidus, liquidus = entry.solidus_c, entry.liquidus_c
    return {
        "alloy": name,
        "solidus": solidus,
        "liquidus": liquidus,
        "t98": entry.t98_c,
        "onset": entry.remelt_onset_c,
        "low": min(known) - half if known else None,
        "high": max(known) + half if known else None,
        "range": f"{figure(solidus)} to {figure(liquidus)}",
        "t98_text": figure(entry.t98_c),
        "onset_text": spread(entry.remelt_onset_c, entry.onset_low_c, entry.onset_high_c),
        "rule": entry.onset_rule,
        "grade": entry.grade,
        "label": f"onset {figure(entry.remelt_onset_c)}",
    }


def _span(domain: tuple[float, float]) -> "alt.Scale":
    import altair as alt

    return alt.Scale(domain=list(domain), zero=False, nice=False)


def _filled(colour: str) -> "alt.Scale":
    import altair as alt

    return alt.Scale(domain=["assessed", "fitted", INDICATIVE], range=[colour, colour, "transparent"])


def _against(
    points: Sequence[tuple[float, Melting]],
    compositions: Sequence[str],
    names: Sequence[str],
    unit: str,
    title: tuple[str, str],
) -> "alt.LayerChart":
    """Return temperatures against a share, one line each, with the onset's interval as a band."""
    import altair as alt

    nothing = float("nan")
    lines = {
        name: [(at, nothing if (value := FIGURES[name](found)) is None else value) for at, found in points]
        for name in names
    }
    lines = {name: line for name, line in lines.items() if any(value == value for _, value in line)}
    band = [
        {"x": at, "low": ends[0], "high": ends[1]}
        for at, found in points
        if (ends := found.onset_interval_c) is not None
    ]
    values = [value for line in lines.values() for _, value in line if value == value] or [0.0, 300.0]
    values += [row[end] for row in band for end in ("low", "high")]
    x_domain = (points[0][0], points[-1][0])
    y_domain = (min(values) - MARGIN_K, max(values) + MARGIN_K)
    x = alt.X("x:Q", title=unit, scale=_span(x_domain), axis=alt.Axis(tickCount=TICKS))
    y = alt.Y("y:Q", title="degC", scale=_span(y_domain), axis=alt.Axis(tickCount=TICKS))
    tooltip = [
        alt.Tooltip("line:N", title="Line"),
        alt.Tooltip("composition:N", title="Composition, wt%"),
        alt.Tooltip("x:Q", title=unit, format=".1f"),
        alt.Tooltip("y:Q", title="degC", format=".1f"),
        alt.Tooltip("grade:N", title="Grade"),
        alt.Tooltip("half_width:N", title="Half-width, K"),
    ]
    more = [
        {"composition": composition, "grade": found.grade, "half_width": figure(found.half_width_k)}
        for (_, found), composition in zip(points, compositions, strict=True)
    ]
    layers: list[Any] = []
    # A gap in what is known is a gap in the band: each stretch is an area of its own.
    for piece in _pieces(band, {at: k for k, (at, _) in enumerate(points)}):
        area = alt.Chart(alt.InlineData(values=piece)).mark_area(color=STROKES["remelt onset"].colour, opacity=0.12)
        layers.append(area.encode(x=x, y=alt.Y("low:Q", scale=_span(y_domain)), y2="high:Q"))
    layers += _lines(lines, x, y, tooltip, more)
    layers.append(_labels(lines, x_domain, y_domain, x, y))
    subtitle = title[1]
    if "remelt onset" in lines:
        subtitle += " Band: interval of the remelt onset."
    if any(found.grade == INDICATIVE for _, found in points):
        subtitle += " Hollow marks: indicative."
    return _titled(layers, title[0], subtitle)


def _pieces(rows: Sequence[dict[str, float]], place: Mapping[float, int]) -> list[list[dict[str, float]]]:
    """Return rows cut wherever a point between two of them is missing."""
    pieces: list[list[dict[str, float]]] = [[rows[0]]] if rows else []
    for before, row in pairwise(rows):
        if place[row["x"]] - place[before["x"]] > 1:
            pieces.append([])
        pieces[-1].append(row)
    return pieces


def _lines(
    lines: Mapping[str, Line],
    x: "alt.X",
    y: "alt.Y",
    tooltip: Sequence["alt.Tooltip"],
    more: Sequence[Mapping[str, str]] = (),
) -> list["alt.Chart"]:
    """Return a layer a line, broken where a value is missing, and marks to point at where grades are told."""
    import altair as alt

    layers = []
    for name, line in lines.items():
        rows, piece = [], 0
        for k, (at, value) in enumerate(line):
            if value != value:
                piece += 1
                continue
            own = dict(more[k]) if more else {}
            rows.append({"x": at, "y": value, "line": name, "piece": piece, "order": k, **own})
        stroke = STROKES[name]
        base = alt.Chart(alt.InlineData(values=rows)).encode(x=x, y=y, tooltip=list(tooltip))
        layers.append(
            base.mark_line(color=stroke.colour, strokeDash=list(stroke.dash), strokeWidth=stroke.width).encode(
                detail="piece:N", order="order:Q"
            )
        )
        if more:
            marks = base.mark_point(size=16, opacity=1, color=stroke.colour, strokeWidth=1)
            layers.append(marks.encode(fill=alt.Fill("grade:N", legend=None, scale=_filled(stroke.colour))))
    return layers


def _labels(
    lines: Mapping[str, Line],
    x_domain: tuple[float, float],
    y_domain: tuple[float, float],
    x: "alt.X",
    y: "alt.Y",
    narrow: bool = False,
) -> "alt.Chart":
    """Return the names of the lines, each beside its own."""
    import altair as alt

    rows = [{"x": word.x, "y": word.y, "line": word.name} for word in placed(lines, x_domain, y_domain, narrow)]
    words: alt.Chart = (
        alt.Chart(alt.InlineData(values=rows)).mark_text(baseline="middle").encode(x=x, y=y, text="line:N")
    )
    return words


def _words(text: str) -> "alt.Chart":
    """Return a chart of nothing but words, where there is nothing to draw."""
    import altair as alt

    words: alt.Chart = alt.Chart(alt.InlineData(values=[{"text": text}])).mark_text().encode(text="text:N")
    return words


def _titled(layers: Sequence["alt.Chart"], title: str, subtitle: str) -> "alt.LayerChart":
    import altair as alt

    # A title does not break by itself.
    lines = wrap(subtitle, SUBTITLE_CHARACTERS)
    chart: alt.LayerChart = alt.LayerChart(layer=list(layers)).resolve_scale(fill="independent")
    return chart.properties(title=alt.TitleParams(title, subtitle=lines, anchor="start"), height=HEIGHT)
