"""The command line: the same functions as the pages, as text, JSON or CSV.

Exit codes: 0 found, 1 nothing admitted, 2 an input that cannot be used.
"""

import json
import sys
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from selector import __version__
from selector.brief import Brief, read, shipped
from selector.catalogue import Alloy, Catalogue, load
from selector.challenge import Challenge, Trade, verdict_on
from selector.challenge import challenge as answer
from selector.composition import decimal_text
from selector.datafiles import page_file
from selector.decision import Candidate, Decision, changes_text, decide, finding, second_opinions
from selector.errors import Fault, InputError
from selector.figures import figure, points, signed, spread
from selector.melting.onset import remelt_onset
from selector.record import plain
from selector.scoring.panel import Panel
from selector.verdict import Standing, Verdict

WIDTH_WHEN_PIPED = 140

app = typer.Typer(
    name="meltwise",
    help="Name a solder alloy for a product and defend the choice. A screening aid: it has qualified no joint.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
BriefArgument = Annotated[
    str, typer.Argument(metavar="BRIEF", help="A TOML file, or a shipped brief: skin-patch, motor-drive, river-logger.")
]
AlloyArgument = Annotated[
    str, typer.Argument(metavar="ALLOY", help="Any spelling: SAC305, Sn-58Bi, 63/37, Sn42Bi57Ag1.")
]
DataOption = Annotated[
    Path | None, typer.Option("--data", metavar="FOLDER", help="Use the tables of this folder, checked in full first.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for machines.")]
CsvOption = Annotated[bool, typer.Option("--csv", help="Print CSV for a spreadsheet.")]


def main() -> None:
    """Run the command line; a fault of an input is told in words and ends with code 2."""
    try:
        app()
    except InputError as error:
        print("\n".join(map(_printable, str(error).split("\n"))), file=sys.stderr)
        raise SystemExit(2) from None
    except BrokenPipeError:
        # The reader (head, less) has seen enough.
        sys.stderr.close()
        raise SystemExit(0) from None


def _printable(line: str) -> str:
    """Return a line without anything that a terminal would take for a command: a path may hold an escape."""
    return "".join(char if char.isprintable() else ascii(char)[1:-1] for char in line)


def _console() -> Console:
    return Console(width=None if sys.stdout.isatty() else WIDTH_WHEN_PIPED, highlight=False, markup=False, emoji=False)


def _brief(text: str) -> Brief:
    path = Path(text)
    if not path.exists() and path.suffix == "" and "/" not in text:
        return read(shipped(text))
    return read(path)


def _print_json(content: object) -> None:
    print(json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False))


def _table(*columns: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name in columns:
        table.add_column(name, overflow="fold")
    return table


@app.command()
def shortlist(
    brief: BriefArgument,
    as_json: JsonOption = False,
    as_csv: CsvOption = False,
    opinions: Annotated[
        bool, typer.Option("--opinions", help="Also ask TOPSIS and VIKOR, relative to the list.")
    ] = False,
    data: DataOption = None,
) -> None:
    """List the alloys for a brief: admitted in order, undecided, and ruled out with reason and margin."""
    decision = decide(_brief(brief), load(data))
    if as_json:
        _print_json(plain.plain(decision))
    elif as_csv:
        print(plain.csv_text(plain.rows(decision)), end="")
    else:
        _print_shortlist(_console(), decision)
        if opinions:
            _print_opinions(_console(), second_opinions(decision))
    raise typer.Exit(0 if decision.admitted else 1)


def _print_shortlist(console: Console, decision: Decision) -> None:
    console.print(f"{decision.brief.title}: {finding(decision)}", style="bold")
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
            reasons = "; ".join(verdict.reason for verdict in entry.blocking())
            table.add_row(entry.alloy.id, _margin(entry.blocking()[0]), reasons, changes_text(entry.edits) or "none")
        console.print(table)
    console.print()
    for caution in decision.cautions:
        console.print(f"- {caution}")
    console.print(f"Data {decision.data_hash}, Meltwise {decision.version}.")


def _print_opinions(console: Console, found: Panel) -> None:
    console.print("\nSecond opinions, each relative to this list", style="bold")
    if found.refused:
        console.print(f"- none: {found.refused}")
    for opinion, tau in zip(found.opinions, found.agreements, strict=True):
        order = sorted(zip(opinion.ranks, opinion.alternatives, strict=True))
        places = ", ".join(f"{rank} {name}" for rank, name in order)
        console.print(f"- {opinion.label}: {places}. Kendall tau-b with our order: {figure(tau, 3)}. {opinion.note}")
    if found.left_out:
        console.print(f"- left out for a missing value: {', '.join(found.left_out)}")


def _admitted_row(entry: Candidate) -> tuple[str, ...]:
    peak = next(verdict for verdict in entry.screened.verdicts if verdict.rule == "process_peak")
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


def _margin(verdict: Verdict) -> str:
    if verdict.margin is None or verdict.measured is None:
        return ""
    return signed(verdict.margin, "K" if verdict.measured.unit == "degC" else verdict.measured.unit)


@app.command()
def alloys(
    family: Annotated[str, typer.Option("--family", help="Only families whose name contains this.")] = "",
    everything: Annotated[bool, typer.Option("--all", help="Also fusible, cadmium and gallium grades.")] = False,
    as_json: JsonOption = False,
    as_csv: CsvOption = False,
    data: DataOption = None,
) -> None:
    """List the catalogue: melting range, pasty range, ductility class, cost relative to SAC305, restricted metals."""
    frame = load(data).frame()
    if not everything:
        frame = frame[frame["listed"]]
    frame = frame[frame["family"].str.contains(family, case=False, regex=False)]
    if as_json:
        print(frame.to_json(orient="records", indent=2))
        return
    if as_csv:
        frame = frame.map(lambda cell: plain.guarded(cell) if isinstance(cell, str) else cell)
        print(frame.to_csv(index=False), end="")
        return
    columns = ("solidus_c", "liquidus_c", "pasty_range_k", "density_g_cm3", "relative_cost")
    table = _table("alloy", "family", "solidus", "liquidus", "pasty K", "g/cm3", "cost", "ductility", "restricted ppm")
    for row in frame.to_dict("records"):
        figures = [figure(row[name]) if row[name] == row[name] else "unknown" for name in columns]
        table.add_row(row["alloy"], row["family"], *figures, row["ductility_class"], row["restricted_ppm"])
    _console().print(table)


@app.command()
def show(alloy: AlloyArgument, as_json: JsonOption = False, data: DataOption = None) -> None:
    """Show one alloy: every value with interval and source, and the candidates it was chosen from."""
    catalogue = load(data)
    found = catalogue.find(alloy)
    if as_json:
        _print_json(_shown(found, catalogue))
    else:
        _print_alloy(_console(), found, catalogue)


def _shown(alloy: Alloy, catalogue: Catalogue) -> dict[str, object]:
    def citation(source: str) -> str:
        names = [name for name in source.split("; ") if name in catalogue.sources]
        return "; ".join(catalogue.sources[name].citation for name in names)

    entries = [*alloy.evidence.values(), remelt_onset(alloy)]
    return {
        "alloy": alloy.id,
        "composition": {element: decimal_text(wt) for element, wt in alloy.composition.parts},
        "at_percent": {element: round(float(at), 4) for element, at in alloy.composition.at_percent().items()},
        "family": alloy.family,
        "names": list(alloy.names),
        "forms": dict(alloy.forms),
        "ductility_class": alloy.ductility,
        "properties": [
            {
                "property": entry.name,
                "value": entry.value,
                "low": entry.low,
                "high": entry.high,
                "unit": entry.unit,
                "grade": entry.grade,
                "origin": entry.origin,
                "source": entry.source,
                "citation": citation(entry.source),
                "rule": entry.rule,
                "cautions": list(entry.cautions),
                "candidates": [vars(row) for row in entry.candidates],
            }
            for entry in entries
        ],
        "bands": [vars(band) for band in alloy.bands.values()],
        "notes": [vars(note) for note in alloy.notes],
    }


def _print_alloy(console: Console, alloy: Alloy, catalogue: Catalogue) -> None:
    console.print(f"{alloy.id} = {alloy.composition} wt%, {alloy.family}", style="bold")
    atoms = ", ".join(f"{element} {figure(float(at))}" for element, at in alloy.composition.at_percent().items())
    console.print(f"at%: {atoms}")
    console.print(f"Also called: {', '.join(alloy.names) or 'nothing else'}")
    console.print("Forms (common practice): " + ", ".join(f"{form} {state}" for form, state in alloy.forms.items()))
    console.print(f"Ductility class: {alloy.ductility}\n")
    table = _table("property", "value", "unit", "origin", "grade", "source", "chosen among")
    for entry in (*alloy.evidence.values(), remelt_onset(alloy)):
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
        source = catalogue.sources[name]
        console.print(f"  {name}: {source.citation} ({source.kind}; {source.how_read})")
    console.print(f"\n{remelt_onset(alloy).name} is provisional: {remelt_onset(alloy).rule}.")
    for caution in remelt_onset(alloy).cautions:
        console.print(f"- {caution}")


@app.command()
def challenge(alloy: AlloyArgument, brief: BriefArgument, as_json: JsonOption = False, data: DataOption = None) -> None:
    """Say why not this alloy: what it breaks, what saves it, what replaces it and what that gives up."""
    catalogue = load(data)
    found = answer(catalogue.find(alloy), _brief(brief), catalogue)
    if as_json:
        _print_json(_challenge_plain(found))
    else:
        _print_challenge(_console(), found)


def _challenge_plain(found: Challenge) -> dict[str, object]:
    whole = plain.plain(found.decision)
    group = whole[str(found.candidate.standing)]
    assert isinstance(group, list)
    return {
        "alloy": next(entry for entry in group if entry["alloy"] == found.candidate.alloy.id),
        "standing": str(found.candidate.standing),
        "saved_by": [vars(edit) for edit in found.edits],
        "saved": found.saved,
        "replacement": None if found.replacement is None else found.replacement.alloy.id,
        "given_up": [vars(trade) for trade in found.given_up],
        "gained": [vars(trade) for trade in found.gained],
        "measurement": found.measurement,
        "data_hash": found.decision.data_hash,
    }


def _print_challenge(console: Console, found: Challenge) -> None:
    entry, decision = found.candidate, found.decision
    console.print(verdict_on(found), style="bold")
    for verdict in found.broken:
        margin = _margin(verdict)
        console.print(f"- {verdict.rule}: {verdict.reason}" + (f" ({margin})" if margin else ""))
        if verdict.threshold:
            console.print(f"  {verdict.threshold}")
        console.print(f"  source: {verdict.source}")
    if found.broken:
        if found.edits:
            checked = "decided again with this change: admitted" if found.saved else "this alone does not admit it"
            console.print(f"What saves it: {changes_text(found.edits)} ({checked}).")
        else:
            console.print("What saves it: no change of the brief does.")
    if found.replacement is not None:
        place = f"place {found.replacement.rank}"
        name = "The leader" if entry.standing is Standing.ADMITTED else "Nearest admitted replacement"
        console.print(f"{name}: {found.replacement.alloy.id} ({place}).")
        if found.replacement.rank != 1:
            console.print(f"The leader is {decision.admitted[0].alloy.id}.")
        _print_trades(console, f"given up with {found.replacement.alloy.id}", found.given_up)
        _print_trades(console, f"gained with {found.replacement.alloy.id}", found.gained)
    elif entry.standing is Standing.ADMITTED:
        console.print("It leads.")
    else:
        console.print("Nearest admitted replacement: none, nothing is admitted.")
    console.print(f"The one measurement that matters most: {found.measurement}.")
    for caution in (*entry.screened.cautions, *decision.cautions):
        console.print(f"- {caution}")


def _print_trades(console: Console, title: str, trades: tuple[Trade, ...]) -> None:
    if not trades:
        console.print(f"  {title}: nothing that is known of both")
    for trade in trades:
        console.print(
            f"  {title}: {trade.criterion}, {trade.challenger} becomes {trade.replacement}"
            f" ({points(trade.points)} points)"
        )


@app.command()
def record(
    brief: BriefArgument,
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FILE", help="Where to write the HTML page.")],
    data: DataOption = None,
) -> None:
    """Write the decision record: one self-contained HTML page that prints and fetches nothing."""
    from selector.record.html import decision_html

    catalogue = load(data)
    decision = decide(_brief(brief), catalogue)
    text = decision_html(decision, catalogue)
    try:
        output.write_text(text, encoding="utf-8")
    except OSError as error:
        raise InputError(
            "the output file", [Fault(str(output), f"cannot be written ({error.strerror})", remedy="name another file")]
        ) from None
    print(f"{output}: {len(text.encode()) / 1000:.0f} kB. {finding(decision)}")
    raise typer.Exit(0 if decision.admitted else 1)


@app.command()
def page() -> None:
    """Open the pages in a browser on this machine."""
    from streamlit.web import cli as streamlit_cli

    sys.argv = ["streamlit", "run", str(page_file())]
    streamlit_cli.main()


@app.command()
def version() -> None:
    """Print the version and the hash of the data."""
    print(f"Meltwise {__version__}, data {load().hash}")
