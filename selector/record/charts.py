"""The charts, as Altair specifications: one function each, the same on the page and in what is handed over."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from selector.brief import known
from selector.catalogue import Alloy
from selector.decision import Candidate, Decision
from selector.durability.service import required_onset_c
from selector.figures import figure, signed, spread
from selector.policy import policy
from selector.process.reflow import settled_limit
from selector.record import theme
from selector.scoring.criteria import CRITERIA
from selector.verdict import Outcome, Verdict, worst

if TYPE_CHECKING:
    import altair as alt

EUTECTIC_K = 1.0
ROW = 20
COLUMN = 84
# A grid of many rules is drawn narrower, as far as its words allow, to stand whole on a page of 1280 pixels.
LEAST_COLUMN, GRID_WIDTH, LETTER = 62, 1130, 6
THIN_K = 5.0
NOT_ASKED = "–"
RULE_TITLES = {
    "process_peak": "Peak heat",
    "service_heat": "Service heat",
    "class_and_cycling": "Class, cycling",
    "lead_with_bismuth": "Lead + bismuth",
    "mixed_joint": "Balls",
    "corrosion": "Corrosion",
    "eu_rohs": "EU RoHS",
    "eu_elv": "EU vehicles",
    "eu_other": "EU, other law",
    "uk_law": "UK",
    "china_law": "China",
    "japan_law": "Japan",
    "korea_law": "Korea",
    "us_law": "US",
    "eurasian_law": "Eurasian Union",
    "india_law": "India",
    "taiwan_law": "Taiwan",
    "law_elsewhere": "Law elsewhere",
    "customer_ban": "Customer ban",
    "form": "Form",
    "route": "Route",
    "printing": "Print",
    "gold": "Gold",
    "electromigration": "Current",
    "galvanic": "Couple",
    "tin_pest": "Tin pest",
    "underfill_cure": "Underfill cure",
    "material_set": "Materials",
    "soldering_steps": "Steps",
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
    limit = settled_limit(decision.brief)
    superheat, board_spread = known(decision.brief.process.superheat_k), known(decision.brief.process.board_spread_k)
    if limit is None or superheat is None or board_spread is None:
        return None
    return limit[1] - superheat - board_spread


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


def alloy_axis(order: Sequence[str]) -> "alt.Y":
    """Return the axis that names every alloy, in this order."""
    import altair as alt

    return alt.Y("alloy:N", sort=list(order), title=None, axis=alt.Axis(labelOverlap=False, grid=False, labelPadding=6))


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
    ends += [float(str(entry["limit"])) for entry in limits]
    domain = [min(ends, default=0.0) - 12, max(ends, default=0.0) + 12]
    data = alt.InlineData(values=rows)
    y = alloy_axis(order)
    x = alt.X("solidus:Q", title="degC", scale=alt.Scale(domain=domain, zero=False, nice=False))
    colour = alt.Color(
        "standing:N",
        title=None,
        scale=alt.Scale(domain=list(theme.STANDING_COLOURS), range=list(theme.STANDING_COLOURS.values())),
        legend=alt.Legend(offset=24),
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


def melting_caption(decision: Decision) -> str:
    """Return what the rules and marks of the melting chart mean."""
    liquidus, onset = liquidus_limit_c(decision), onset_limit_c(decision)
    parts = []
    if liquidus is not None:
        parts.append(f"Solid line: hottest liquidus that the parts allow, {figure(liquidus)} degC.")
    if onset is not None:
        parts.append(f"Dashed line: least remelt onset that service asks for, {figure(onset)} degC.")
    return " ".join([*parts, "A diamond marks a eutectic or a pure metal."])


def contributions(candidates: Sequence[Candidate]) -> "alt.LayerChart | alt.FacetChart":
    """Return what each criterion adds to the lower bound, stacked, with the whole interval as a line behind it."""
    import altair as alt

    titles = [CRITERIA[share.criterion].title for share in candidates[0].shares]
    rows: list[dict[str, object]] = []
    for entry in candidates:
        for place, share in enumerate(entry.shares):
            rows.append(
                {
                    "alloy": entry.alloy.id,
                    "criterion": CRITERIA[share.criterion].title,
                    "place": place,
                    "points": round(share.weight * share.worth_low, 4),
                    "level": share.level.text,
                    "weight": round(100 * share.weight, 1),
                }
            )
    order = [entry.alloy.id for entry in candidates]
    y = alloy_axis(order)
    scale = alt.Scale(domain=[0, 100])
    bars = (
        alt.Chart(alt.InlineData(values=rows))
        .mark_bar(height=10, stroke="white", strokeWidth=0.5)
        .encode(
            x=alt.X("points:Q", title="points of 100", stack="zero", scale=scale),
            y=y,
            order=alt.Order("place:Q"),
            color=alt.Color(
                "criterion:N",
                title=None,
                sort=titles,
                scale=alt.Scale(domain=titles, range=list(theme.CRITERION_COLOURS[: len(titles)])),
                legend=alt.Legend(columns=2),
            ),
            tooltip=[
                alt.Tooltip("alloy:N", title="Alloy"),
                alt.Tooltip("criterion:N", title="Criterion"),
                alt.Tooltip("level:N", title="Level"),
                alt.Tooltip("weight:Q", title="Weight, %"),
                alt.Tooltip("points:Q", title="Points at least", format=".1f"),
            ],
        )
    )
    ends = [
        {
            "alloy": entry.alloy.id,
            "low": entry.score_low,
            "high": entry.score_high,
            "text": f"{entry.score_low:.0f} to {entry.score_high:.0f}",
        }
        for entry in candidates
    ]
    base = alt.Chart(alt.InlineData(values=ends)).encode(y=y)
    line = base.mark_rule(size=1.5, color=theme.MUTED).encode(x=alt.X("low:Q", scale=scale), x2="high:Q")
    tip = base.mark_tick(size=9, thickness=1.5, color=theme.MUTED).encode(x=alt.X("high:Q", scale=scale))
    words = base.mark_text(align="left", dx=6).encode(x=alt.X("high:Q", scale=scale), text="text:N")
    return alt.layer(line, tip, bars, words).properties(height=alt.Step(ROW))


STRIPS = (
    ("liquidus_c", "Liquidus, degC"),
    ("pasty_range_k", "Pasty range, K"),
    ("tensile_mpa", "Tensile strength, MPa"),
    ("elongation_percent", "Elongation, %"),
    ("density_g_cm3", "Density, g/cm3"),
    ("relative_cost", "Metal cost per cm3, SAC305 = 1"),
)
LOGARITHMIC = ("relative_cost",)


def property_strips(
    alloys: Sequence[Alloy], chosen: Sequence[str]
) -> list[tuple[str, "alt.LayerChart | alt.FacetChart"]]:
    """Return one strip a property: ticks for all alloys, filled marks with interval for the chosen ones."""
    import altair as alt

    strips = []
    for name, title in STRIPS:
        rows = [
            {
                "alloy": alloy.id,
                "value": entry.value,
                "low": entry.low,
                "high": entry.high,
                "text": spread(entry.value, entry.low, entry.high),
                "source": entry.source,
            }
            for alloy in alloys
            if (entry := alloy.of(name)).value is not None
        ]
        if not rows:
            continue
        axis = alt.Scale(zero=False, nice=False, padding=8)
        if name in LOGARITHMIC:
            axis = alt.Scale(type="log", zero=False, nice=False, padding=8)
        x = alt.X("value:Q", title=title, scale=axis, axis=alt.Axis(tickCount=8))
        picked = [row for row in rows if row["alloy"] in chosen]
        tooltip = [
            alt.Tooltip("alloy:N", title="Alloy"),
            alt.Tooltip("text:N", title=title),
            alt.Tooltip("source:N", title="Source"),
        ]
        ticks = alt.Chart(alt.InlineData(values=rows)).mark_tick(color=theme.MUTED, opacity=0.6, size=14).encode(x=x)
        base = alt.Chart(alt.InlineData(values=picked)).encode(
            y=alloy_axis(chosen),
            tooltip=tooltip,
        )
        ends = base.mark_rule(size=2, color=theme.STANDING_COLOURS["admitted"]).encode(x=alt.X("low:Q"), x2="high:Q")
        dots = base.mark_point(filled=True, size=80, opacity=1, color=theme.STANDING_COLOURS["admitted"]).encode(x=x)
        strips.append((title, alt.layer(ticks, ends, dots).properties(height=alt.Step(ROW))))
    return strips


def _cell(verdict: Verdict) -> str:
    if verdict.outcome is Outcome.NOT_APPLICABLE:
        return NOT_ASKED
    word = WORDS[verdict.outcome]
    if verdict.margin is not None and verdict.measured is not None and verdict.measured.unit == "degC":
        margin = signed(round(verdict.margin, 1), "K")
        if verdict.outcome is Outcome.PASS:
            return f"{margin}, thin" if verdict.margin < THIN_K else margin
        return margin if verdict.outcome is Outcome.FAIL else f"{word} {margin}"
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
            found = worst(verdicts)
            values.append(
                {
                    "alloy": entry.alloy.id,
                    "rule": RULE_TITLES[rule],
                    "outcome": str(found.outcome),
                    "answer": WORDS[found.outcome] or "does not apply",
                    "cell": _cell(found),
                    "reason": found.reason,
                    "threshold": found.threshold or "none",
                    "source": found.source,
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
        y=alloy_axis(order),
        tooltip=[
            alt.Tooltip("alloy:N", title="Alloy"),
            alt.Tooltip("rule:N", title="Rule"),
            alt.Tooltip("answer:N", title="Answer"),
            alt.Tooltip("reason:N", title="Reason"),
            alt.Tooltip("threshold:N", title="What would decide"),
            alt.Tooltip("source:N", title="Source"),
        ],
    )
    colours = theme.OUTCOME_COLOURS
    tiles = base.mark_rect(cornerRadius=2, strokeWidth=2, opacity=0.22).encode(
        color=alt.Color("outcome:N", legend=None, scale=alt.Scale(domain=list(colours), range=list(colours.values())))
    )
    # The tile says the same to a screen reader.
    words = base.mark_text(fontSize=11, aria=False).encode(
        text="cell:N", opacity=alt.condition("datum.outcome == 'pass'", alt.value(0.9), alt.value(1.0))
    )
    room = GRID_WIDTH - LETTER * max(map(len, order), default=0)
    column = min(COLUMN, max(LEAST_COLUMN, room // max(1, len({value["rule"] for value in values}))))
    return alt.layer(tiles, words).properties(height=alt.Step(ROW), width=alt.Step(column))
