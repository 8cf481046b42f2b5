"""The charts of one joint on a board: where its zones melt, and the reflow window of an alloy.

Marks and words carry the meaning beside the colour; each chart has its table beside it.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from selector.figures import figure, signed
from selector.record import theme
from selector.record.charts_limits import Limit

if TYPE_CHECKING:
    import altair as alt

ROW = 26
MARGIN_K = 10.0
# What words beside a mark take of the width of a plot on a telephone.
WORDS_SHARE = 0.5
ONSET, MELTS, PEAK = "#0072B2", "#D55E00", "#009E73"
JOINT_CAPTION = (
    "Thick bar: remelt onset, over everything that is not known and the half-width of the grade. Pale bar: solidus to"
    " liquidus. Figures on the right: the remelt onset, degC."
)
WINDOW_CAPTION = (
    "Diamond: liquidus. Bar beside it: superheat and spread, up to the hottest joint. Band: the window. Tick: what each"
    " thing takes; the bar to it is its room in kelvin, dashed where none is left. Open circle: a default for its kind."
)


def joint_limits(service_c: float | None, peak_c: float | None) -> tuple[Limit, ...]:
    """Return the service maximum and the peak as rules across the bars."""
    asked = (("service maximum", "service", service_c, "dotted"), ("peak at the joint", "peak", peak_c, "solid"))
    return tuple(Limit(name, label, at_c, stroke) for name, label, at_c, stroke in asked if at_c is not None)


def joint_bars(bars: Sequence[Mapping[str, Any]], rules_c: Sequence[float] = ()) -> "alt.LayerChart":
    """Return the zones of a joint as bars: remelt onset, and solidus to liquidus.

    Parameters
    ----------
    bars : sequence of mapping
        `name`, `onset_low_c`, `onset_high_c`, `solidus_c`, `liquidus_c`, `told`; None where not known.
    rules_c : sequence of float
        Where rules will stand across them.
    """
    import altair as alt

    keys = ("onset_low_c", "onset_high_c", "solidus_c", "liquidus_c")
    known = [float(bar[key]) for bar in bars for key in keys if bar[key] is not None]
    ends = [*known, *rules_c] or [100.0, 250.0]
    low, high = min(ends) - MARGIN_K, max(ends) + MARGIN_K
    scale = alt.Scale(domain=[low, high + WORDS_SHARE * (high - low)], zero=False, nice=False)
    rows = [
        {
            **{key: bar[key] for key in keys},
            "zone": bar["name"],
            "told": bar["told"],
            "range": f"{figure(bar['solidus_c'])} to {figure(bar['liquidus_c'])}",
        }
        for bar in bars
    ]
    base = alt.Chart(alt.InlineData(values=rows)).encode(
        y=_rows([str(bar["name"]) for bar in bars], "zone"),
        tooltip=[
            alt.Tooltip("zone:N", title="Zone"),
            alt.Tooltip("told:N", title="Remelt onset, degC"),
            alt.Tooltip("range:N", title="Solidus to liquidus, degC"),
        ],
    )

    def at(name: str) -> "alt.X":
        return alt.X(f"{name}:Q", scale=scale, title="degC", axis=alt.Axis(tickCount=8))

    layers = [
        base.transform_filter("isValid(datum.solidus_c) && isValid(datum.liquidus_c)")
        .mark_bar(height=8, color=MELTS, opacity=0.5, minBandSize=2)
        .encode(x=at("solidus_c"), x2="liquidus_c:Q"),
        base.transform_filter("isValid(datum.onset_low_c)")
        .mark_bar(height=14, color=ONSET, minBandSize=3)
        .encode(x=at("onset_low_c"), x2="onset_high_c:Q"),
        base.mark_text(align="right", dx=-2).encode(x=alt.value("width"), text="told:N"),
    ]
    layered = alt.LayerChart(layer=layers).properties(title="Where the joint melts")
    return layered.properties(height=alt.Step(ROW))


def window_chart(
    alloy: str,
    liquidus_c: tuple[float, float],
    peak_c: tuple[float, float],
    limits: Sequence[tuple[str, float, bool]],
) -> "alt.LayerChart":
    """Return the reflow window: liquidus and peak of the alloy above, below what each thing takes, with its room.

    Parameters
    ----------
    alloy : str
    liquidus_c : tuple of float
        Ends.
    peak_c : tuple of float
        Of the coolest and of the hottest joint.
    limits : sequence of (name, degC, whether assumed)
    """
    import altair as alt

    hottest = peak_c[1]
    ordered = sorted(limits, key=lambda limit: (limit[1], limit[0]))
    ends = [*liquidus_c, *peak_c, *(limit for _, limit, _ in ordered)]
    low, high = min(ends) - MARGIN_K, max(ends) + MARGIN_K
    scale = alt.Scale(domain=[low, high + 0.3 * (high - low)], zero=False, nice=False)
    y = _rows([alloy, *(name for name, _, _ in ordered)], "what")

    def at(name: str) -> "alt.X":
        return alt.X(f"{name}:Q", scale=scale, title="degC", axis=alt.Axis(tickCount=8))

    own = {
        "what": alloy, "liquidus": sum(liquidus_c) / 2, "coolest": peak_c[0], "hottest": hottest,
        "told": f"{figure(peak_c[0], 3)} to {figure(hottest, 3)}",
    }  # fmt: skip
    rows = [
        {
            "what": name, "limit": limit, "hottest": hottest, "room": signed(round(limit - hottest, 1), "K"),
            "assumed": "default for its kind" if assumed else "stated", "fits": limit >= hottest,
            "right": max(limit, hottest),
        }
        for name, limit, assumed in ordered
    ]  # fmt: skip
    layers: list[Any] = []
    if ordered and ordered[0][1] > hottest:
        band = alt.Chart(alt.InlineData(values=[{"from": hottest, "to": ordered[0][1]}]))
        layers.append(band.mark_rect(color=PEAK, opacity=0.16).encode(x=at("from"), x2="to:Q"))
    head = alt.Chart(alt.InlineData(values=[own])).encode(y=y)
    layers += [
        head.mark_bar(height=6, color=MELTS, opacity=0.5).encode(x=at("liquidus"), x2="coolest:Q"),
        head.mark_bar(height=14, color=PEAK).encode(x=at("coolest"), x2="hottest:Q"),
        head.mark_point(shape="diamond", size=80, filled=True, opacity=1, color=MELTS).encode(x=at("liquidus")),
        head.mark_text(align="left", dx=6).encode(x=at("hottest"), text="told:N"),
    ]
    base = alt.Chart(alt.InlineData(values=rows)).encode(
        y=y,
        tooltip=[
            alt.Tooltip("what:N", title="Takes"),
            alt.Tooltip("limit:Q", title="degC", format=".1f"),
            alt.Tooltip("room:N", title="Room to the hottest joint"),
            alt.Tooltip("assumed:N", title="Limit"),
        ],
    )
    layers += [
        base.transform_filter("datum.fits").mark_rule(color=ONSET, size=3).encode(x=at("hottest"), x2="limit:Q"),
        base.transform_filter("!datum.fits")
        .mark_rule(color=theme.LIMIT_COLOUR, size=3, strokeDash=[4, 3])
        .encode(x=at("hottest"), x2="limit:Q"),
        base.mark_tick(size=18, thickness=3, color=theme.MUTED).encode(x=at("limit")),
        base.transform_filter("datum.assumed != 'stated'")
        .mark_point(shape="circle", size=70, opacity=1, strokeWidth=2, color=theme.MUTED)
        .encode(x=at("limit")),
        base.mark_text(align="left", dx=8).encode(x=at("right"), text="room:N"),
    ]
    layered = alt.LayerChart(layer=layers).properties(title=f"Reflow window of {alloy}")
    return layered.properties(height=alt.Step(ROW))


def _rows(names: Sequence[str], field: str) -> "alt.Y":
    import altair as alt

    axis = alt.Axis(labelOverlap=False, grid=False, labelPadding=6, labelLimit=150)
    return alt.Y(f"{field}:N", sort=list(dict.fromkeys(names)), title=None, axis=axis)
