"""The chart of coming changes of law: a row a rule set, a mark a day, shape for what happens and words beside it."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from selector.record import theme
from selector.record.compliance_calendar import BEGINS, ENDS, TEXT, DatedChange, change_days
from selector.record.compliance_grid import KINDS

if TYPE_CHECKING:
    import altair as alt

ROW = 48  # room for a label above each mark and one below, which meet none of the next row
SHAPES = {BEGINS: "triangle-up", ENDS: "square", TEXT: "diamond"}
CAPTION = (
    "One row a rule set, coloured by its kind. Triangle: something begins; square: something ends or passes its last"
    " day; diamond: the text changes. Hollow marks lie before the day asked about, filled ones on it or after. The"
    " dashed line is the day asked about; the table below says what changes."
)
ROOM = timedelta(days=75)
# What a label takes of the width of the plot on a telephone, so that two labels of a row do not meet.
LABEL_SHARE = 0.3


def timeline(changes: Sequence[DatedChange], on: date) -> "alt.LayerChart":
    """Return the changes against time, with the day asked about as a dashed rule.

    Parameters
    ----------
    changes : sequence of DatedChange
        At least one, in order of days.
    on : date
        The day asked about.
    """
    import altair as alt

    days = [on, *change_days(changes)]
    first, last = min(days) - ROOM, max(days) + ROOM
    rows = _rows(changes, on, first, last)
    order = list(dict.fromkeys(str(row["row"]) for row in sorted(rows, key=lambda row: (row["place"], row["row"]))))
    x = alt.X(
        "day:T",
        title=None,
        # Days, not moments: a time zone must not move them.
        scale=alt.Scale(type="utc", domain=[str(first), str(last)], nice=False),
        axis=alt.Axis(format="%b %Y", tickCount=6, labelOverlap=True),
    )
    y = alt.Y("row:N", title=None, sort=order, axis=alt.Axis(labelOverlap=False, labelLimit=180))
    base = alt.Chart(alt.InlineData(values=rows)).encode(x=x, y=y)
    kinds = [kind for kind in KINDS if any(row["kind"] == KINDS[kind] for row in rows)]
    colour = alt.Color(
        "kind:N",
        title="Kind",
        scale=alt.Scale(domain=[KINDS[kind] for kind in kinds], range=[theme.KIND_COLOURS[kind] for kind in kinds]),
        legend=None,
    )
    shape = alt.Shape("change:N", scale=alt.Scale(domain=[*SHAPES], range=[*SHAPES.values()]), legend=None)
    tooltip = [
        alt.Tooltip("told:N", title="Day"),
        alt.Tooltip("row:N", title="Rule set"),
        alt.Tooltip("kind:N", title="Kind"),
        alt.Tooltip("what:N", title="What changes"),
        alt.Tooltip("alloys:N", title="Alloys whose answer changes"),
    ]
    marks = [
        base.transform_filter(f"datum.past === {flag}")
        .mark_point(size=130, strokeWidth=2, filled=filled, opacity=1)
        .encode(color=colour, shape=shape, tooltip=tooltip)
        for flag, filled in (("true", False), ("false", True))
    ]
    labels = base.encode(text="label:N")
    words = [
        labels.transform_filter("datum.above === true").mark_text(baseline="bottom", dy=-9, fontSize=11),
        labels.transform_filter("datum.above === false").mark_text(baseline="top", dy=10, fontSize=11),
    ]
    asked = alt.Chart(alt.InlineData(values=[{"day": str(on), "label": f"asked: {on}"}])).encode(x=x)
    rule = asked.mark_rule(size=2, strokeDash=[6, 4], color=theme.LIMIT_COLOUR)
    name = asked.mark_text(baseline="bottom", dy=-14).encode(y=alt.value(0), text="label:N")
    return alt.LayerChart(layer=[rule, *marks, *words, name]).properties(height=alt.Step(ROW))


def _rows(changes: Sequence[DatedChange], on: date, first: date, last: date) -> list[dict[str, object]]:
    """Return one row a rule set, day and sort of change; a label too close to the one before stands below its mark.

    One that is too close on both sides of the row is left out; the table names every day.
    """
    several = {change.rule_set for change in changes if _markets(changes, change.rule_set) > 1}
    places = [*KINDS]
    merged: dict[tuple[str, date, str], list[DatedChange]] = {}
    for change in changes:
        name = f"{change.rule_set}, {change.market}" if change.rule_set in several else change.rule_set
        merged.setdefault((name, change.day, change.sort), []).append(change)
    rows: list[dict[str, object]] = []
    labelled: dict[tuple[str, bool], date] = {}
    span = (last - first).days
    for (name, day, sort), held in merged.items():
        free = [
            above
            for above in (True, False)
            if (name, above) not in labelled or (day - labelled[name, above]).days >= LABEL_SHARE * span
        ]
        if free:
            labelled[name, free[0]] = day
        rows.append(
            {
                "row": name,
                "place": places.index(held[0].kind),
                "day": str(day),
                "told": str(day),
                "label": str(day) if free else "",
                "above": not free or free[0],
                "kind": KINDS[held[0].kind],
                "change": sort,
                "past": day < on,
                "what": "; ".join(change.told for change in held),
                "alloys": ", ".join(dict.fromkeys(alloy for change in held for alloy in change.alloys)) or "none",
            }
        )
    return rows


def _markets(changes: Sequence[DatedChange], rule_set: str) -> int:
    return len({change.market for change in changes if change.rule_set == rule_set})


def in_words(changes: Sequence[DatedChange], on: date) -> str:
    """Return the chart in one line: the next day on which something changes, and how many days come after."""
    coming = [change for change in changes if change.day > on]
    if not coming:
        return f"After {on} no change of these rules is known."
    days = change_days(coming)
    first = [change for change in coming if change.day == days[0]]
    what = "; ".join(f"{change.rule_set}: {change.told}" for change in first[:2])
    more = (
        f" {len(days) - 1} more day{'s' if len(days) != 2 else ''} with changes follow{'s' if len(days) == 2 else ''}."
    )
    return f"Next after {on}: {days[0]}, {what}." + (more if len(days) > 1 else "")
