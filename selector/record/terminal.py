"""Decision, catalogue, one alloy and a challenge as text for a terminal."""

from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table

from selector.catalogue import Alloy, Catalogue
from selector.challenge import Challenge, Trade, replacement_text, verdict_on
from selector.decision import Candidate, Decision
from selector.figures import figure, levels, points, signed, spread
from selector.findings import changes_text, finding, objection, shared_changes
from selector.melting.facts import all_facts, melting_conflicts
from selector.melting.onset import remelt_onset
from selector.record import opinion_words
from selector.scoring.panel import Panel
from selector.verdict import Standing
from selector.weighing_marks import marks

if TYPE_CHECKING:
    import pandas as pd


def _table(*columns: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in columns:
        table.add_column(name, overflow="fold")
    return table


def shortlist(console: Console, decision: Decision) -> None:
    """Print a decision: admitted in order, undecided, ruled out, cautions."""
    console.print(f"{decision.brief.title}: {finding(decision)}", style="bold")
    if objection(decision):
        console.print(objection(decision))
    for change in shared_changes(decision):
        console.print(change)
    console.print(f"Weighed by {decision.weighing.origin}")
    console.print(
        "Order by lower bound of the score, 0 to 100; an alloy with a missing value has bounds and no score.\n"
    )
    if decision.admitted:
        columns = ("", "admitted", "low", "score", "high", "rank", "solidus", "liquidus", "headroom", "deciding facts")
        table = _table(*columns)
        for entry in decision.admitted:
            table.add_row(*_admitted_row(entry))
        console.print(table)
    if decision.undecided:
        console.print(f"\nUndecided ({len(decision.undecided)})", style="bold")
        table = _table("alloy", "what would decide it")
        for entry in decision.undecided:
            table.add_row(entry.alloy.id, "; ".join(v.threshold or v.reason for v in entry.blocking()))
        console.print(table)
    if decision.ruled_out:
        console.print(f"\nRuled out ({len(decision.ruled_out)}), nearest to admission first", style="bold")
        table = _table("alloy", "margin", "reason", "smallest change of the brief that admits it")
        for entry in decision.ruled_out:
            table.add_row(
                entry.alloy.id, entry.blocking()[0].margin_text, entry.reasons(), changes_text(entry.edits) or "none"
            )
        console.print(table)
    console.print()
    for mark in marks(decision):
        console.print(f"- {mark}")
    for caution in decision.cautions:
        console.print(f"- {caution}")
    console.print(f"Data {decision.data_hash}, Meltwise {decision.version}.")


def opinions(console: Console, decision: Decision, found: Panel) -> None:
    """Print what other methods say, and whom they speak of."""
    console.print("\nSecond opinions", style="bold")
    console.print(f"- {opinion_words.covered(decision, found)}")
    if found.opinions:
        console.print(f"- {opinion_words.chair(decision, found)}")
    for opinion, tau in zip(found.opinions, found.agreements, strict=True):
        order = sorted(zip(opinion.ranks, opinion.alternatives, strict=True))
        places = ", ".join(f"{rank} {name}" for rank, name in order)
        agrees = opinion_words.agreement_text(decision, found, tau)
        console.print(f"- {opinion.label}: {places}. {agrees}. {opinion.note}")
    if found.left_out:
        console.print(f"- left out for a missing value: {', '.join(found.left_out)}")
    if told := opinion_words.concordance_text(found):
        console.print(f"- {told}")
    for parting in found.partings:
        console.print(f"- {parting.text}")
    console.print(f"- {found.not_asked}")


def _admitted_row(entry: Candidate) -> tuple[str, ...]:
    peak = entry.heat()
    onset = entry.screened.onset
    places = f"{entry.rank_best}-{entry.rank_worst}" if entry.rank_best != entry.rank_worst else f"{entry.rank_best}"
    facts = f"{peak.reason}; remelt onset {spread(onset.value, onset.low, onset.high)} degC"
    return (
        f"{entry.rank}",
        entry.alloy.id,
        f"{entry.score_low:.1f}",
        "none" if entry.score is None else f"{entry.score:.1f}",
        f"{entry.score_high:.1f}",
        places,
        figure(entry.alloy.of("solidus_c").value),
        figure(entry.alloy.of("liquidus_c").value),
        signed(peak.margin, "K"),
        facts,
    )


def catalogue(console: Console, frame: "pd.DataFrame") -> None:
    """Print the rows of the catalogue."""
    columns = ("solidus_c", "liquidus_c", "pasty_range_k", "density_g_cm3", "relative_cost")
    table = _table("alloy", "family", "solidus", "liquidus", "pasty K", "g/cm3", "cost", "ductility", "restricted ppm")
    for row in frame.to_dict("records"):
        figures = [figure(row[name]) if row[name] == row[name] else "unknown" for name in columns]
        table.add_row(row["alloy"], row["family"], *figures, row["ductility_class"], row["restricted_ppm"])
    console.print(table)


def one(console: Console, alloy: Alloy, catalogue: Catalogue) -> None:
    """Print one alloy: every value with its source and the candidates it was chosen from."""
    console.print(f"{alloy.id} = {alloy.composition} wt%, {alloy.family}", style="bold")
    atoms = ", ".join(f"{element} {figure(float(at))}" for element, at in alloy.composition.at_percent().items())
    console.print(f"at%: {atoms}")
    console.print(f"Also called: {', '.join(alloy.names) or 'nothing else'}")
    console.print("Forms (common practice): " + ", ".join(f"{form} {state}" for form, state in alloy.forms.items()))
    console.print(f"Ductility class: {levels(*alloy.ductility)}\n")
    table = _table("property", "value", "unit", "origin", "grade", "source", "chosen among")
    for entry in all_facts(alloy, remelt_onset(alloy)):
        value = spread(entry.value, entry.low, entry.high)
        table.add_row(
            entry.name, value, entry.unit, entry.origin, entry.grade, entry.source, str(len(entry.candidates))
        )
    console.print(table)
    console.print("\nOrdered facts", style="bold")
    for band in alloy.bands.values():
        console.print(f"  {band.name}: {band.text()} [{band.source}] {band.note}")
    console.print("\nCandidates; > marks the chosen row", style="bold")
    table = _table("", "row", "property", "value", "condition", "origin", "grade", "standing", "source")
    for entry in alloy.evidence.values():
        for row in entry.candidates:
            mark = ">" if entry.chosen is not None and row.id == entry.chosen.id else ""
            ends = "" if row.low is None and row.high is None else f" [{figure(row.low)} to {figure(row.high)}]"
            standing = row.standing + (f": {row.standing_reason}" if row.standing_reason else "")
            value = ("" if row.value is None else figure(row.value)) + ends
            table.add_row(mark, row.id, row.name, value, row.condition, row.origin, row.grade, standing, row.source)
    console.print(table)
    if alloy.notes:
        console.print("\nWhat sources say in words", style="bold")
        for note in alloy.notes:
            console.print(f"  {note.name} ({note.source}, {note.grade}): {note.text} {note.condition}")
    used = {row.source for entry in alloy.evidence.values() for row in entry.candidates}
    used |= {name for entry in alloy.evidence.values() for name in entry.source.split("; ")}
    used |= {band.source for band in alloy.bands.values()} | {note.source for note in alloy.notes}
    console.print("\nSources", style="bold")
    for name in sorted(used & set(catalogue.sources)):
        console.print(f"  {name}: {catalogue.sources[name].text}")
    console.print(f"\n{remelt_onset(alloy).name}: {remelt_onset(alloy).rule}.")
    for conflict in melting_conflicts(alloy):
        console.print(f"Computed and tabulated melting disagree. {conflict.text}")
    for caution in remelt_onset(alloy).cautions:
        console.print(f"- {caution}")


def challenge(console: Console, found: Challenge) -> None:
    """Print why not this alloy, each line with its source."""
    entry, decision = found.candidate, found.decision
    console.print(verdict_on(found), style="bold")
    for verdict in found.broken:
        margin = verdict.margin_text
        console.print(f"- {verdict.rule}: {verdict.reason}" + (f" ({margin})" if margin else ""))
        if verdict.threshold:
            console.print(f"  {verdict.threshold}")
        console.print(f"  source: {verdict.source}")
    if found.broken:
        if found.edits:
            changes = changes_text(found.edits)
            console.print(f"What saves it: {changes} (decided again with this change: admitted).")
        else:
            console.print("What saves it: nothing that one field of the brief can state.")
    if found.replacement is not None:
        console.print(replacement_text(found))
        _trades(console, f"given up with {found.replacement.alloy.id}", found.given_up)
        _trades(console, f"gained with {found.replacement.alloy.id}", found.gained)
        if found.leader_given_up or found.leader_gained:
            leader = decision.admitted[0].alloy.id
            console.print(f"The leader: {leader}.")
            _trades(console, f"given up with {leader}", found.leader_given_up)
            _trades(console, f"gained with {leader}", found.leader_gained)
    elif entry.standing is Standing.ADMITTED:
        console.print("It leads.")
    else:
        console.print("Nearest admitted replacement: none, nothing is admitted.")
    console.print(f"The one measurement that matters most: {found.measurement}.")
    for caution in (*entry.screened.cautions, *decision.cautions):
        console.print(f"- {caution}")


def _trades(console: Console, title: str, trades: tuple[Trade, ...]) -> None:
    if not trades:
        console.print(f"  {title}: nothing that is known of both")
    for trade in trades:
        console.print(
            f"  {title}: {trade.criterion}, {trade.challenger} becomes {trade.replacement}"
            f" ({points(trade.points)} points)"
        )
