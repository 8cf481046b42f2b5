"""What a chart of computed melting is held against: the brief's limits across bars, the alloy's place on a share."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from selector.brief import known
from selector.decision import Decision
from selector.figures import figure
from selector.record import theme
from selector.record.charts import liquidus_limit_c, onset_limit_c

if TYPE_CHECKING:
    import altair as alt

LINE_PX = 15
ROOM_K = 8.0
# What a name takes of the width of a plot on a telephone.
NAME_SHARE = 0.4
DASHES = {"dotted": [2, 3], "dashed": [6, 4], "solid": [1, 0]}


@dataclass(frozen=True)
class Limit:
    """One limit: what it is in words and short, degC, and the stroke of its line."""

    name: str
    label: str
    at_c: float
    stroke: str


def limits_of(decision: Decision) -> tuple[Limit, ...]:
    """Return what a brief holds melting against; a limit with an unknown term is left out."""
    asked = (
        ("service maximum", "service", known(decision.brief.service.maximum_c), "dotted"),
        ("least remelt onset that service asks for", "least onset", onset_limit_c(decision), "dashed"),
        ("hottest liquidus that the parts allow", "parts", liquidus_limit_c(decision), "solid"),
    )
    return tuple(Limit(name, label, at_c, stroke) for name, label, at_c, stroke in asked if at_c is not None)


def limits_caption(limits: Sequence[Limit]) -> str:
    """Return what the rules mean."""
    return " ".join(f"{limit.stroke.capitalize()} line: {limit.name}, {figure(limit.at_c)} degC." for limit in limits)


def with_limits(bars: "alt.LayerChart", limits: Sequence[Limit], reach_c: tuple[float, float]) -> "alt.LayerChart":
    """Return bars with the limits as rules across them, each named above the plot.

    Parameters
    ----------
    bars : LayerChart
        Of `charts_melting.melting_bars`.
    limits : sequence of Limit
    reach_c : tuple of float
        From where to where the bars reach, degC: names of limits that lie near each other on that stand in two lines.
    """
    import altair as alt

    if not limits:
        return bars
    ends = [limit.at_c for limit in limits]
    span = max([*ends, reach_c[1]]) - min([*ends, reach_c[0]])
    lines: list[float] = []
    x = alt.X("limit:Q", scale=alt.Scale(domain=[min(ends) - ROOM_K, max(ends) + ROOM_K], zero=False, nice=False))
    layers: list[alt.Chart | alt.LayerChart] = [bars]
    for limit in sorted(limits, key=lambda limit: limit.at_c):
        # The lowest line whose last name lies far enough to the left.
        free = (k for k, last in enumerate(lines) if limit.at_c - last >= NAME_SHARE * span)
        line = next(free, len(lines))
        lines[line : line + 1] = [limit.at_c]
        row = {"limit": limit.at_c, "name": limit.name, "label": f"{limit.label} {figure(limit.at_c)}"}
        base = alt.Chart(alt.InlineData(values=[row])).encode(x=x)
        layers.append(
            base.mark_rule(size=2, color=theme.LIMIT_COLOUR, strokeDash=DASHES[limit.stroke]).encode(
                tooltip=[alt.Tooltip("name:N", title="Limit"), alt.Tooltip("limit:Q", title="degC", format=".1f")]
            )
        )
        # Named above the plot: labels inside it would collide with the bars.
        words = base.mark_text(baseline="bottom", dy=-4 - LINE_PX * line)
        layers.append(words.encode(y=alt.value(0), text="label:N"))
    return alt.LayerChart(layer=layers)


def with_line(chart: "alt.LayerChart", at: float, label: str) -> "alt.LayerChart":
    """Return a chart against a share with an upright rule where the alloy stands, named above the plot."""
    import altair as alt

    base = alt.Chart(alt.InlineData(values=[{"x": at, "label": label}])).encode(x=alt.X("x:Q"))
    rule = base.mark_rule(size=2, color=theme.LIMIT_COLOUR, strokeDash=DASHES["dotted"])
    words = base.mark_text(baseline="bottom", dy=-4).encode(y=alt.value(0), text="label:N")
    return alt.LayerChart(layer=[chart, rule, words])
