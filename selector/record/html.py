"""The decision written for someone else: one HTML file that opens anywhere and fetches nothing.

All text is escaped, the content policy allows no script and no network, charts stand in it as SVG, and a block of JSON
lets the tool read the decision again.
"""

from datetime import UTC, datetime
from functools import cache
from typing import TYPE_CHECKING, Any

from selector.brief import Brief
from selector.catalogue import Catalogue, Source
from selector.catalogue.evidence import RULE
from selector.challenge import Challenge, challenge, replacement_text, verdict_on
from selector.decision import Candidate, Decision, Fact
from selector.fields import UNKNOWN
from selector.figures import figure, levels, points, signed, spread
from selector.findings import changes_text, finding, objection, shared_changes, title_of, worth_drawing
from selector.meeting import Meeting
from selector.record import charts, meeting_words, plain_weighing
from selector.record.labels import LABELS, TABLES, property_title
from selector.record.meeting_section import meeting_section
from selector.record.plain import plain
from selector.record.robustness_section import Section, section
from selector.record.templates import embedded, environment, style
from selector.record.theme import config

if TYPE_CHECKING:
    import altair as alt
    from jinja2 import Environment

CHART_WIDTH = 620
LIVING = "the admitted and the undecided"
MOST_NEAREST = 10


def decision_html(
    decision: Decision, catalogue: Catalogue, made: datetime | None = None, meeting: Meeting | None = None
) -> str:
    """Return the decision record as one self-contained HTML page.

    Parameters
    ----------
    decision : Decision
    catalogue : Catalogue
        For the citations of the sources used.
    made : datetime, optional
        When the record is made; now where none is given.
    meeting : Meeting, optional
        Held over this decision; its freezing and the lifting of its letters are told.

    Raises
    ------
    InputError
        A meeting that still stands under letters, or was about something else.
    """
    from markupsafe import Markup

    shown = worth_drawing(decision, catalogue)
    sure = section(decision)
    held = None if meeting is None else meeting_section(decision, meeting)
    return (
        _environment()
        .get_template("decision.html.j2")
        .render(
            brief=decision.brief,
            decision=decision,
            finding=finding(decision),
            objection=objection(decision),
            shared=shared_changes(decision),
            incumbent=_incumbent(decision, catalogue),
            made=(made or datetime.now(UTC)).strftime("%Y-%m-%d %H:%M UTC"),
            css=style(),
            demands=demands(decision.brief),
            melting_svg=Markup(svg(charts.melting_ranges(decision, shown), CHART_WIDTH)),
            melting_caption=charts.melting_caption(decision),
            grid_svg=Markup(svg(charts.screening_grid(shown))),
            contributions_svg=Markup(svg(charts.contributions(decision.admitted), CHART_WIDTH))
            if decision.admitted
            else "",
            sure=sure,
            meeting=held,
            bands_svg="" if sure is None or sure.chart is None else Markup(svg(sure.chart, CHART_WIDTH)),
            rule=RULE.capitalize(),
            documented=documented(decision),
            whose=LIVING if decision.admitted or decision.undecided else f"the {MOST_NEAREST} nearest to admission",
            conflicts=[(entry.alloy.id, line) for entry in documented(decision) for line in entry.conflicts()],
            sources=sources_used(decision, catalogue),
            data=embedded(_slim(decision, sure, meeting)),
        )
    )


def _incumbent(decision: Decision, catalogue: Catalogue) -> dict[str, Any] | None:
    """Return why not the alloy in use; None where the brief names none, or none that is known."""
    in_use = None if decision.brief.incumbent == UNKNOWN else catalogue.held(decision.brief.incumbent)
    if in_use is None:
        return None
    found = challenge(in_use, decision.brief, catalogue)
    return {"found": found, "heading": verdict_on(found), "replacement": replacement_text(found)}


def challenge_html(found: Challenge, catalogue: Catalogue, made: datetime | None = None) -> str:
    """Return the answer to a challenge as one printable HTML page, each line with its source."""
    named = {name for v in found.candidate.screened.verdicts for name in v.source.split("; ")}
    named |= {name for fact in found.candidate.facts().values() for name in fact.source.split("; ")}
    trades = (*found.given_up, *found.gained, *found.leader_given_up, *found.leader_gained)
    named |= {name for trade in trades for name in trade.source.split("; ")}
    return (
        _environment()
        .get_template("challenge.html.j2")
        .render(
            found=found,
            entry=found.candidate,
            decision=found.decision,
            heading=verdict_on(found),
            replacement=replacement_text(found),
            made=(made or datetime.now(UTC)).strftime("%Y-%m-%d %H:%M UTC"),
            css=style(),
            sources=[catalogue.sources[name] for name in sorted(named & set(catalogue.sources))],
        )
    )


def _slim(decision: Decision, sure: Section | None, meeting: Meeting | None) -> dict[str, Any]:
    """Return the decision as plain data, how sure it is, its meeting, and of what is ruled out only what rules out."""
    whole: dict[str, Any] = dict(plain(decision))
    whole["robustness"] = None if sure is None else plain_weighing.plain(sure.found)
    if meeting is not None:
        whole["meeting"] = meeting_words.plain(meeting)
    whole["ruled_out"] = [
        {
            **{key: entry[key] for key in ("alloy", "composition", "would_admit")},
            "verdicts": [v for v in entry["verdicts"] if v["outcome"] in ("fail", "unknown")],
        }
        for entry in whole["ruled_out"]
    ]
    return whole


@cache
def _environment() -> "Environment":
    found = environment().overlay()
    found.filters = {
        **environment().filters,
        "figure": figure,
        "signed": signed,
        "points": points,
        "score": lambda value: "none" if value is None else f"{value:.1f}",
        "spread": lambda entry: spread(entry.value, entry.low, entry.high),
        "changes": lambda edits: changes_text(edits) or "none",
        "criterion": title_of,
        "rule": lambda rule: charts.RULE_TITLES.get(rule, rule),
        "missing": missing,
        "fact": fact_text,
        "property": property_title,
    }
    return found


def missing(entry: Candidate) -> str:
    """Return the criteria on which nothing is known of an alloy, by title."""
    return ", ".join(title_of(share.criterion) for share in entry.shares if share.worth is None) or "nothing"


def fact_text(fact: Fact) -> str:
    """Return a fact with its interval, be it a number or a level."""
    if isinstance(fact.value, str) or isinstance(fact.low, str):
        return levels(str(fact.value or "between"), str(fact.high or fact.value), str(fact.low or fact.value))
    return spread(fact.value, fact.low, fact.high if not isinstance(fact.high, str) else None)


def demands(brief: Brief) -> list[tuple[str, str]]:
    """Return every demand of a brief in words, the unknown ones included."""
    raw = brief.model_dump(mode="json")
    rows = [(label.text, _said(_at(raw, path))) for path, label in LABELS.items() if path.split(".")[0] not in TABLES]
    for table, title in TABLES.items():
        if table == "preferences":
            continue
        for entry in raw[table]:
            said = [
                f"{LABELS[f'{table}.{key}'].text}: {_said(value)}" for key, value in entry.items() if value != UNKNOWN
            ]
            rows.append((title, "; ".join(said)))
    return rows


def _at(raw: dict[str, Any], path: str) -> object:
    value: Any = raw
    for step in path.split("."):
        value = value[step]
    return value


def _said(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(map(str, value)) or "none"
    return figure(value) if isinstance(value, float) else str(value)


def documented(decision: Decision) -> tuple[Candidate, ...]:
    """Return the alloys told in full: admitted and undecided; where none is, those nearest to admission."""
    return (*decision.admitted, *decision.undecided) or decision.ruled_out[:MOST_NEAREST]


def sources_used(decision: Decision, catalogue: Catalogue) -> list[Source]:
    """Return every source that a value or verdict of the alloys told in full names."""
    named: set[str] = set()
    for entry in documented(decision):
        for text in (
            *(fact.source for fact in entry.facts().values()),
            *(verdict.source for verdict in entry.screened.verdicts),
            *(share.level.source for share in entry.shares),
            *(row.source for name in ("solidus_c", "liquidus_c") for row in entry.alloy.of(name).candidates),
        ):
            named |= set(text.split("; "))
    return [catalogue.sources[name] for name in sorted(named & set(catalogue.sources))]


def svg(chart: "alt.LayerChart | alt.FacetChart | alt.Chart", width: int | None = None) -> str:
    """Return a chart as SVG text on a light ground; the same specification gives the same text."""
    import vl_convert

    if width is not None:
        chart = chart.properties(width=width)
    text: str = vl_convert.vegalite_to_svg(chart.configure(**config()).to_json())
    return text
