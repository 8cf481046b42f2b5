"""The charts, as Altair specifications: one function each, the same on the page and in what is handed over."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from selector.brief import known
from selector.decision import Candidate, Decision
from selector.durability.service import required_onset_c
from selector.figures import figure, signed, spread
from selector.policy import policy
from selector.process.reflow import lowest_limit
from selector.record import theme
from selector.verdict import Outcome, Verdict

if TYPE_CHECKING:
    import altair as alt

EUTECTIC_K = 1.0
ROW = 20
COLUMN = 84
RULE_TITLES = {
    "process_peak": "Peak heat",
    "service_heat": "Service heat",
    "class_and_cycling": "Class, cycling",
    "lead_with_bismuth": "Lead + bismuth",
    "mixed_joint": "Balls",
    "corrosion": "Corrosion",
    "eu_rohs": "EU RoHS",
    "eu_elv": "EU vehicles",
    "customer_ban": "Customer ban",
    "form": "Form",
    "route": "Route",
}
WORDS = {
    Outcome.PASS: "holds",
    Outcome.FAIL: "fails",
    Outcome.UNKNOWN: "open",
    Outcome.DUTY: "duty",
    Outcome.NOT_APPLICABLE: "",
}


def liquidus_limit_c(decision: Decision) -> float | None:
    """Return the hottest liquidus, degC, that the brief's limits leave; None where a term is not known."""
    limit = lowest_limit(decision.brief)
    superheat, board_spread = known(decision.brief.process.superheat_k), known(decision.brief.process.board_spread_k)
    if limit is None or limit.limit_c is None or superheat is None or board_spread is None:
        return None
    return limit.limit_c - superheat - board_spread


def onset_limit_c(decision: Decision) -> float | None:
    """Return the least remelt onset, degC, that service asks for; None where a term is not known."""
    service, ipc_class = known(decision.brief.service.maximum_c), known(decision.brief.ipc_class)
    if service is None or ipc_class is None:
        return None
    limits = policy().service.class_3 if ipc_class == 3 else policy().service.class_1_2
    return required_onset_c(service, limits.alert_ratio, limits.alert_margin_k)


def _chart_rows(candidates: Sequence[Candidate]) -> list[dict[str, object]]:
    rows: list[dict[str, object]] = []
    for entry in candidates:
        solidus, liquidus = entry.alloy.of("solidus_c"), entry.alloy.of("liquidus_c")
        if solidus.value is None or liquidus.value is None:
            continue
        pasty = liquidus.value - solidus.value
        rows.append(
            {
                "alloy": entry.alloy.id,
                "solidus": solidus.value,
                "liquidus": liquidus.value,
                "lowest": liquidus.low,
                "highest": liquidus.high,
                "standing": str(entry.standing).replace("_", " "),
                "eutectic": pasty <= EUTECTIC_K,
                "range": f"{figure(solidus.value)} to {figure(liquidus.value)}"
                if pasty > EUTECTIC_K
                else figure(liquidus.value),
                "finding": "; ".join(v.reason for v in entry.blocking())
                if entry.rank is None
                else f"place {entry.rank}",
                "liquidus_text": spread(liquidus.value, liquidus.low, liquidus.high) + " degC",
                "source": liquidus.source,
            }
        )
    return sorted(rows, key=lambda row: (float(str(row["liquidus"])), str(row["alloy"])))


def melting_ranges(decision: Decision, candidates: Sequence[Candidate]) -> "alt.LayerChart | alt.FacetChart":
    """Return melting ranges as bars against the brief's limits, hottest liquidus last.

    A diamond marks a eutectic or pure metal. The solid rule is the hottest liquidus that the tightest part leaves, the
    dashed one the least remelt onset that service asks for.
    """
    import altair as alt

    rows = _chart_rows(candidates)
    order = [str(row["alloy"]) for row in rows]
    limits = [
        {"limit": value, "name": name, "label": f"{label} {figure(value)}"}
        for value, name, label in (
            (liquidus_limit_c(decision), "hottest liquidus the parts allow", "parts"),
            (onset_limit_c(decision), "least remelt onset for service", "service"),
        )
        if value is not None
    ]
    ends = [float(str(row[key])) for row in rows for key in ("solidus", "liquidus")]
    ends += [float(str(entry["limit"])) for entry in limits] or [0.0]
    domain = [min(ends) - 12, max(ends) + 12]
    data = alt.InlineData(values=rows)
    y = alt.Y("alloy:N", sort=order, title=None, axis=alt.Axis(labelOverlap=False, grid=False, labelPadding=6))
    x = alt.X("solidus:Q", title="degC", scale=alt.Scale(domain=domain, zero=False, nice=False))
    colour = alt.Color(
        "standing:N",
        title=None,
        scale=alt.Scale(domain=list(theme.STANDING_COLOURS), range=list(theme.STANDING_COLOURS.values())),
    )
    tooltip = [
        alt.Tooltip("alloy:N", title="Alloy"),
        alt.Tooltip("range:N", title="Melting range, degC"),
        alt.Tooltip("liquidus_text:N", title="Liquidus with interval"),
        alt.Tooltip("standing:N", title="Standing"),
        alt.Tooltip("finding:N", title="Finding"),
        alt.Tooltip("source:N", title="Source of the liquidus"),
    ]
    bars = (
        alt.Chart(data)
        .mark_bar(height=9)
        .encode(x=x, x2="liquidus:Q", y=y, color=colour, tooltip=tooltip)
        .transform_filter("!datum.eutectic")
    )
    diamonds = (
        alt.Chart(data)
        .mark_point(shape="diamond", filled=True, size=110, opacity=1)
        .encode(x=alt.X("liquidus:Q", scale=alt.Scale(domain=domain)), y=y, color=colour, tooltip=tooltip)
        .transform_filter("datum.eutectic")
    )
    layers: list[alt.Chart] = [bars, diamonds]
    if limits:
        rules = alt.InlineData(values=limits)
        kinds = [str(entry["name"]) for entry in limits]
        limit_x = alt.X("limit:Q", scale=alt.Scale(domain=domain))
        # Named above the plot: labels inside it would collide with the bars.
        layers.append(
            alt.Chart(rules).mark_text(baseline="bottom", dy=-4).encode(x=limit_x, y=alt.value(0), text="label:N")
        )
        layers.append(
            alt.Chart(rules)
            .mark_rule(size=2)
            .encode(
                x=limit_x,
                strokeDash=alt.StrokeDash("name:N", legend=None, scale=alt.Scale(domain=kinds, range=[[1, 0], [5, 4]])),
                color=alt.value(theme.LIMIT_COLOUR),
                tooltip=[alt.Tooltip("name:N", title="Limit"), alt.Tooltip("limit:Q", title="degC", format=".1f")],
            )
        )
    height = alt.Step(ROW)
    layered = alt.layer(*layers).properties(height=height)
    return layered


def _cell(verdict: Verdict) -> str:
    if verdict.outcome is Outcome.NOT_APPLICABLE:
        return ""
    word = WORDS[verdict.outcome]
    if verdict.margin is not None and verdict.measured is not None and verdict.measured.unit == "degC":
        margin = signed(round(verdict.margin, 1), "K")
        return margin if verdict.outcome in (Outcome.PASS, Outcome.FAIL) else f"{word} {margin}"
    return word


def screening_grid(candidates: Sequence[Candidate]) -> "alt.LayerChart | alt.FacetChart":
    """Return alloys by rules: each cell a word or a signed margin, coloured by outcome; blank does not apply."""
    import altair as alt

    values = []
    for entry in candidates:
        cells: dict[str, list[Verdict]] = {}
        for verdict in entry.screened.verdicts:
            cells.setdefault(verdict.rule, []).append(verdict)
        for rule, verdicts in cells.items():
            worst = min(verdicts, key=lambda v: list(Outcome).index(v.outcome) if v.outcome is Outcome.FAIL else 9)
            values.append(
                {
                    "alloy": entry.alloy.id,
                    "rule": RULE_TITLES[rule],
                    "outcome": str(worst.outcome),
                    "cell": _cell(worst),
                    "reason": worst.reason,
                    "threshold": worst.threshold or "none",
                    "source": worst.source,
                }
            )
    order = [entry.alloy.id for entry in candidates]
    applying = {value["rule"] for value in values if value["outcome"] != str(Outcome.NOT_APPLICABLE)}
    values = [value for value in values if value["rule"] in applying and value["cell"]]
    base = alt.Chart(alt.InlineData(values=values)).encode(
        x=alt.X(
            "rule:N",
            sort=list(RULE_TITLES.values()),
            title=None,
            axis=alt.Axis(orient="top", labelAngle=-35, grid=False, labelPadding=4),
        ),
        y=alt.Y("alloy:N", sort=order, title=None, axis=alt.Axis(labelOverlap=False, grid=False, labelPadding=6)),
        tooltip=[
            alt.Tooltip("alloy:N", title="Alloy"),
            alt.Tooltip("rule:N", title="Rule"),
            alt.Tooltip("outcome:N", title="Answer"),
            alt.Tooltip("reason:N", title="Reason"),
            alt.Tooltip("threshold:N", title="What would decide"),
            alt.Tooltip("source:N", title="Source"),
        ],
    )
    colours = theme.OUTCOME_COLOURS
    tiles = base.mark_rect(cornerRadius=2, strokeWidth=2, opacity=0.22).encode(
        color=alt.Color("outcome:N", legend=None, scale=alt.Scale(domain=list(colours), range=list(colours.values())))
    )
    words = base.mark_text(fontSize=11).encode(
        text="cell:N", opacity=alt.condition("datum.outcome == 'pass'", alt.value(0.9), alt.value(1.0))
    )
    return alt.layer(tiles, words).properties(height=alt.Step(ROW), width=alt.Step(COLUMN))
