"""The charts of how sure an order is: chances of places, bands of weights, and what the members of a meeting weigh."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from selector.record import theme
from selector.record.charts import ROW, alloy_axis

if TYPE_CHECKING:
    import altair as alt

    from selector.scoring.ranking import Matrix

PLACE_COLUMN, NARROW_COLUMN, FEW_PLACES = 48, 32, 6
MOST_PLACES = 16
WEIGHT_ROW = 34
BAND_COLUMN = 34
# No tile is so strong that the theme's own ink could not be read on it, light or dark.
STRONGEST = 0.6


def chances_of_places(
    names: Sequence[str], chances: "Matrix", texts: Sequence[Sequence[str]]
) -> "alt.LayerChart | alt.FacetChart":
    """Return alloys by places: each cell the share of draws that put the alloy there; none stays blank.

    Parameters
    ----------
    names : sequence of m str
        In the order to draw.
    chances : array (m, places)
        0 to 1.
    texts : m rows of words
        What each cell says; empty for a place that was never drawn.
    """
    import altair as alt

    places = min(chances.shape[1], MOST_PLACES)
    rows = [
        {
            "alloy": name,
            "place": str(place + 1),
            "chance": float(chances[i, place]),
            "text": texts[i][place],
            "told": f"{texts[i][place]} of draws",
        }
        for i, name in enumerate(names)
        for place in range(places)
        if texts[i][place]
    ]
    base = alt.Chart(alt.InlineData(values=rows)).encode(
        x=alt.X(
            "place:O",
            sort=[str(place + 1) for place in range(places)],
            title="place",
            scale=alt.Scale(domain=[str(place + 1) for place in range(places)]),
            axis=alt.Axis(orient="top", labelAngle=0, grid=False),
        ),
        y=alloy_axis(names),
        tooltip=[
            alt.Tooltip("alloy:N", title="Alloy"),
            alt.Tooltip("place:O", title="Place"),
            alt.Tooltip("told:N", title="Share"),
        ],
    )
    # One hue whose strength is the share, on whatever ground: nothing drawn is nothing seen.
    tiles = base.mark_rect(cornerRadius=2, color=theme.STANDING_COLOURS["admitted"]).encode(
        opacity=alt.Opacity("chance:Q", legend=None, scale=alt.Scale(domain=[0, 1], range=[0.05, STRONGEST]))
    )
    words = base.mark_text(fontSize=11).encode(text="text:N")
    return alt.layer(tiles, words).properties(
        height=alt.Step(ROW), width=alt.Step(PLACE_COLUMN if places <= FEW_PLACES else NARROW_COLUMN)
    )


def weight_bands(rows: Sequence[Mapping[str, object]]) -> "alt.LayerChart | alt.FacetChart":
    """Return, per criterion, how far its weight may move before the first place changes, and where it is now.

    Parameters
    ----------
    rows : sequence of mapping
        `criterion`, `weight`, `low`, `high` in percent, and `below` and `above`: who leads beyond each end, empty
        where nobody does.
    """
    import altair as alt

    values = [
        {
            **row,
            "ends": f"{row['low']:.0f} to {row['high']:.0f} %",
            "leads": _leads(str(row["below"]), str(row["above"])),
        }
        for row in rows
    ]
    y = alt.Y(
        "criterion:N",
        sort=[str(row["criterion"]) for row in rows],
        title=None,
        axis=alt.Axis(labelOverlap=False, grid=False, labelPadding=6),
    )
    scale = alt.Scale(domain=[0, 100])
    tooltip = [
        alt.Tooltip("criterion:N", title="Criterion"),
        alt.Tooltip("weight:Q", title="Weight now, %", format=".1f"),
        alt.Tooltip("ends:N", title="First place holds"),
        alt.Tooltip("leads:N", title="Beyond"),
    ]
    base = alt.Chart(alt.InlineData(values=values)).encode(y=y, tooltip=tooltip)
    ground = base.mark_rule(color=theme.MUTED, opacity=0.35).encode(
        x=alt.X("nothing:Q", scale=scale, title="share of all weight, %"), x2="all:Q"
    )
    ground = ground.transform_calculate(nothing="0", all="100")
    bands = base.mark_bar(height=9, color=theme.STANDING_COLOURS["admitted"], opacity=0.45, cornerRadius=2).encode(
        x=alt.X("low:Q", scale=scale, title="share of all weight, %"), x2="high:Q"
    )
    now = base.mark_tick(size=12, thickness=3).encode(x=alt.X("weight:Q", scale=scale))
    now = now.encode(color=alt.value(theme.LIMIT_COLOUR))
    words = base.mark_text(align="left", baseline="bottom", dy=-6, fontSize=11).encode(
        x=alt.X("nothing:Q", scale=scale), text="leads:N"
    )
    words = words.transform_calculate(nothing="0")
    return alt.layer(ground, bands, now, words).properties(height=alt.Step(WEIGHT_ROW))


def _leads(below: str, above: str) -> str:
    told = [f"below, {below} leads"] if below else []
    told += [f"above, {above} leads"] if above else []
    return "; ".join(told) or "whatever the weight"


def members_weights(
    criteria: Sequence[str], members: Sequence[str], weights: "Matrix", group: "Matrix"
) -> "alt.LayerChart | alt.FacetChart":
    """Return, per criterion, a mark for each member's weight, the span between them, and the mean as a tick.

    Parameters
    ----------
    criteria : sequence of n str
    members : sequence of p str
    weights : array (p, n)
    group : array (n,)
    """
    import altair as alt

    rows = [
        {
            "criterion": title,
            "member": member,
            "weight": 100 * float(weights[i, j]),
            "low": 100 * float(weights[:, j].min()),
            "high": 100 * float(weights[:, j].max()),
            "group": 100 * float(group[j]),
        }
        for j, title in enumerate(criteria)
        for i, member in enumerate(members)
    ]
    scale = alt.Scale(domain=[0, max(10.0, 5 * (int(100 * float(weights.max())) // 5 + 1))])
    base = alt.Chart(alt.InlineData(values=rows)).encode(
        y=alt.Y(
            "criterion:N",
            sort=list(criteria),
            title=None,
            axis=alt.Axis(labelOverlap=False, grid=False, labelPadding=6),
        ),
        tooltip=[
            alt.Tooltip("criterion:N", title="Criterion"),
            alt.Tooltip("member:N", title="Member"),
            alt.Tooltip("weight:Q", title="Weight, %", format=".1f"),
        ],
    )
    title = "share of all weight, %"
    span = base.mark_rule(color=theme.MUTED).encode(x=alt.X("low:Q", scale=scale, title=title), x2="high:Q")
    mean = base.mark_tick(size=16, thickness=3, color=theme.MUTED).encode(x=alt.X("group:Q", scale=scale, title=title))
    marks = base.mark_point(size=70, filled=True, opacity=1).encode(
        x=alt.X("weight:Q", scale=scale, title=title),
        shape=alt.Shape("member:N", title=None, sort=list(members)),
        color=alt.Color(
            "member:N",
            title=None,
            sort=list(members),
            scale=alt.Scale(domain=list(members), range=[theme.CRITERION_COLOURS[i % 8] for i in range(len(members))]),
        ),
    )
    return alt.layer(span, mean, marks).properties(height=alt.Step(26))


def bands_of_ties(names: Sequence[str], bands: Sequence[Sequence[int]]) -> "alt.LayerChart | alt.FacetChart":
    """Return alloys by bands: the alloys that stand in one band cannot be told from each other.

    Parameters
    ----------
    names : sequence of m str
        In the order to draw.
    bands : sequence of sequence of int
        Places in `names`; an alloy may stand in several.
    """
    import altair as alt

    numbers = [str(number) for number in range(1, len(bands) + 1)]
    rows = [
        {"alloy": names[i], "band": number, "told": f"{len(band)} alloys in this band"}
        for number, band in zip(numbers, bands, strict=True)
        for i in band
    ]
    base = alt.Chart(alt.InlineData(values=rows)).encode(
        x=alt.X(
            "band:O",
            sort=numbers,
            title="band",
            axis=alt.Axis(orient="top", labelAngle=0, grid=False, labelPadding=8),
            scale=alt.Scale(domain=numbers),
        ),
        tooltip=[
            alt.Tooltip("alloy:N", title="Alloy"),
            alt.Tooltip("band:O", title="Band"),
            alt.Tooltip("told:N", title="In it"),
        ],
    )
    y = alloy_axis(names).scale(type="band", domain=list(names))
    # A line from the first to the last of a band, so that one reads down it past an alloy that is not in it.
    ends = [
        {"band": number, "first": names[min(band)], "last": names[max(band)]}
        for number, band in zip(numbers, bands, strict=True)
    ]
    spans = (
        alt.Chart(alt.InlineData(values=ends))
        .mark_rule(color=theme.MUTED)
        .encode(x=alt.X("band:O", sort=numbers), y=alt.Y("first:N").scale(type="band", domain=list(names)), y2="last:N")
    )
    tiles = base.mark_bar(width=14, height=14, cornerRadius=2, color=theme.STANDING_COLOURS["admitted"]).encode(y=y)
    return alt.layer(spans, tiles).properties(height=alt.Step(ROW), width=alt.Step(BAND_COLUMN))
