"""The temperature ladder of soldering steps, as an Altair specification.

Steps left to right. Bar: from the remelt onset to the liquidus. Triangle: hottest peak. Red tick: the lowest onset of
what was joined before. Between the two a line, with the margin and one word to its right, so that no meaning rests on
colour.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from selector.figures import figure
from selector.planning import Assigned
from selector.process.routes import REFLOW
from selector.process.steps_ladder import Rung
from selector.record import theme
from selector.record.steps_words import HOLDS, OPEN, REMELTS, SHORT, THIN, gap_text, word

if TYPE_CHECKING:
    import altair as alt

HEIGHT = 340
STEP_PX = 150
BAR_PX = 30
LEAST_BAR_K = 3.0  # a eutectic has no range, and a bar of none cannot be seen
ROOM_K = 22.0
LABEL_PX = 16
RIGHT_PX = 30  # on a telephone the words of the last step reach over the plot
BESIDE_PX = 24  # half of a tick: words stand beside it
CAPTION = (
    "Bar: from remelt onset to liquidus. Triangle: the hottest peak of the step. Red tick: the lowest remelt onset of"
    " the joints made before, drawn on from where it was made. The upright line carries the margin between the two:"
    " dotted holds, dashed is thin or too close, solid remelts. Grey tick: the lowest limit of a part."
)
LEGEND = (
    "Bar: remelt onset to liquidus. Triangle: hottest peak. Red tick: lowest onset before.",
    "Line between: margin (dotted holds, dashed thin or too close, solid remelts). Grey tick: lowest limit.",
)
EARLIER = "#D55E00"
PEAK = "#2E8BC9"  # 3:1 and more against the light and the dark ground
GAPS = {
    HOLDS: (PEAK, [2, 3]),
    THIN: ("#CC79A7", [7, 4]),
    SHORT: ("#CC79A7", [7, 4]),
    REMELTS: ("#D55E00", [1, 0]),
    OPEN: ("#7d868f", [2, 6]),
}


def ladder_chart(assigned: Assigned) -> "alt.LayerChart":
    """Return the temperature ladder of an assignment."""
    import altair as alt

    rows = _rows(assigned.rungs)
    known = [value for row in rows for key, value in row.items() if key.endswith("_c") and isinstance(value, float)]
    # No temperature known: the axis still says where one would stand.
    ends = [min(known, default=0.0) - ROOM_K, max(known, default=300.0) + ROOM_K]
    k_a_label = LABEL_PX * (ends[1] - ends[0]) / HEIGHT
    rows = [row | _apart(row, k_a_label) for row in rows]
    data = alt.InlineData(values=rows)
    x = alt.X("label:N", sort=None, title=None).axis(
        labelAngle=0, labelExpr="split(datum.value, '|')", labelLimit=STEP_PX, labelPadding=6, grid=False
    )
    scale = alt.Scale(domain=ends, nice=False, zero=False)

    def y(name: str) -> "alt.Y":
        return alt.Y(f"{name}:Q", title="degC", scale=scale)

    tips = [
        alt.Tooltip("step:N", title="Step"),
        alt.Tooltip("alloy:N", title="Alloy"),
        alt.Tooltip("melts:N", title="Remelt onset to liquidus, degC"),
        alt.Tooltip("peak:N", title="Hottest peak, degC"),
        alt.Tooltip("limit:N", title="Lowest limit, degC"),
        alt.Tooltip("gap:N", title="To the lowest onset before"),
    ]
    base = alt.Chart(data).encode(x=x, tooltip=tips)
    bar = base.mark_bar(size=BAR_PX, color="#56B4E9", stroke="#0072B2")
    limit = base.mark_tick(orient="horizontal", size=2 * BESIDE_PX, thickness=2, opacity=1, color=theme.MUTED)
    carried = base.mark_rule(size=1.5, color=EARLIER, strokeDash=[1, 4], strokeCap="round")
    layers: list[alt.Chart | alt.LayerChart] = [
        bar.encode(y=y("low_c"), y2="high_c:Q"),
        limit.encode(y=y("limit_c")),
        carried.encode(y=y("earlier_c"), x2="earlier_label:N"),
    ]
    for name, (colour, dash) in GAPS.items():
        gap = _where(base, "word", name).mark_rule(size=2.5, color=colour, strokeDash=dash)
        layers.append(gap.encode(y=y("peak_c"), y2="earlier_c:Q"))
    earlier = base.mark_tick(orient="horizontal", size=2 * BESIDE_PX - 8, thickness=4, opacity=1, color=EARLIER)
    peak = base.mark_point(shape="triangle-up", size=110, filled=True, opacity=1, color=PEAK)
    layers += [
        earlier.encode(y=y("earlier_c")),
        peak.encode(y=y("peak_c")),
        base.mark_text(align="right", dx=-12).encode(y=y("peak_at_c"), text="peak:N"),
        base.mark_text(align="left", dx=BESIDE_PX + 4).encode(y=y("limit_at_c"), text="limit:N"),
        base.mark_text(align="left", dx=BESIDE_PX + 4, fontWeight="bold").encode(y=y("gap_at_c"), text="gap:N"),
    ]
    return alt.LayerChart(layer=layers, height=HEIGHT, padding={"left": 5, "top": 5, "bottom": 5, "right": RIGHT_PX})


def alt_text(assigned: Assigned) -> str:
    """Return the finding of the chart in one line."""
    told = [
        f"{rung.step}: {named(rung)}" + (f", {gap_text(rung)}" if rung.lowest_earlier else "")
        for rung in assigned.rungs
    ]
    return f"Temperature ladder. {'; '.join(told)}."


def named(rung: Rung) -> str:
    """Return the alloy with its route, where that is no plain reflow."""
    return rung.alloy if rung.route == REFLOW else f"{rung.alloy} by {rung.route}"


def _where(chart: "alt.Chart", name: str, value: str) -> "alt.Chart":
    """Return a chart of the rows of one value."""
    import altair as alt

    return chart.transform_filter(alt.FieldEqualPredicate(field=name, equal=value))


def _rows(rungs: Sequence[Rung]) -> list[dict[str, object]]:
    rows = [_row(place, rung) for place, rung in enumerate(rungs, start=1)]
    labels = {rung.step: row["label"] for rung, row in zip(rungs, rows, strict=True)}
    return [row | {"earlier_label": labels.get(rung.lowest_earlier)} for rung, row in zip(rungs, rows, strict=True)]


def _apart(row: Mapping[str, object], least_k: float) -> dict[str, float | None]:
    """Return where the words stand, degC: limit and gap clear of each other, the peak clear of the onset's line."""
    limit_c, gap_c, peak_c, earlier_c = (row[name] for name in ("limit_c", "middle_c", "peak_c", "earlier_c"))
    at = {"limit_at_c": limit_c, "gap_at_c": gap_c, "peak_at_c": peak_c}
    if isinstance(limit_c, float) and isinstance(gap_c, float) and abs(limit_c - gap_c) < least_k:
        push = (least_k - abs(limit_c - gap_c)) / 2 * (1 if limit_c >= gap_c else -1)
        at |= {"limit_at_c": limit_c + push, "gap_at_c": gap_c - push}
    if isinstance(peak_c, float) and isinstance(earlier_c, float) and 0 <= earlier_c - peak_c < least_k / 2:
        at["peak_at_c"] = earlier_c - least_k / 2
    return {name: value if isinstance(value, float) else None for name, value in at.items()}


def _row(place: int, rung: Rung) -> dict[str, object]:
    peak = None if rung.peak_c is None else rung.peak_c[1]
    low = rung.onset_c[0] if rung.onset_c else rung.liquidus_c[0] if rung.liquidus_c else None
    high = rung.liquidus_c[1] if rung.liquidus_c else rung.onset_c[1] if rung.onset_c else None
    # A reacted joint melts again above the metal that made it: its onset alone is drawn.
    high = high if low is None or high is None else max(low, high)
    if low is not None and high is not None and high - low < LEAST_BAR_K:
        low, high = (low + high - LEAST_BAR_K) / 2, (low + high + LEAST_BAR_K) / 2
    earlier = rung.lowest_earlier_c
    return {
        "label": f"{place} {rung.step}|{rung.alloy}" + ("" if rung.route == REFLOW else f"|{rung.route}"),
        "step": rung.step,
        "alloy": named(rung),
        "low_c": low,
        "high_c": high,
        "peak_c": peak,
        "limit_c": rung.limit_c,
        "earlier_c": earlier,
        "middle_c": earlier if peak is None else peak if earlier is None else (peak + earlier) / 2,
        "peak": "" if peak is None else figure(peak),
        "limit": "" if rung.limit_c is None else f"limit {figure(rung.limit_c)}",
        "melts": "" if low is None else f"{figure(rung.onset_c[0] if rung.onset_c else low)} to {figure(high)}",
        "gap": gap_text(rung),
        "word": word(rung),
    }
