"""The command line: the same functions as the pages, as text, JSON or CSV.

Exit codes: 0 found, 1 nothing admitted, 2 an input that cannot be used.
"""

import contextlib
import sys
from pathlib import Path
from typing import Annotated

import typer

from selector import __version__, cli_board, cli_compliance, cli_life, cli_melting, cli_steps, cli_weighing
from selector.brief import Brief, read, shipped
from selector.catalogue import load
from selector.challenge import challenge as answer
from selector.console import CsvOption, DataOption, JsonOption, console, print_json, printable
from selector.datafiles import page_file
from selector.decision import decide, second_opinions
from selector.errors import InputError
from selector.findings import finding
from selector.meeting_folder import sit
from selector.record import plain, terminal
from selector.record.files import write

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


def main() -> None:
    """Run the command line; a fault of an input is told in words and ends with code 2."""
    try:
        app()
    except InputError as error:
        print("\n".join(map(printable, str(error).split("\n"))), file=sys.stderr)
        raise SystemExit(2) from None


def _brief(text: str) -> Brief:
    path = Path(text)
    with contextlib.suppress(OSError):
        if not path.exists() and path.suffix == "" and "/" not in text:
            return read(shipped(text))
    return read(path)


@app.command()
def shortlist(
    brief: BriefArgument,
    as_json: JsonOption = False,
    as_csv: CsvOption = False,
    opinions: Annotated[
        bool,
        typer.Option(
            "--opinions", help="Also ask other methods: TOPSIS, VIKOR, PROMETHEE II, SPOTIS, geometric value."
        ),
    ] = False,
    data: DataOption = None,
) -> None:
    """List the alloys for a brief: admitted in order, undecided, and ruled out with reason and margin."""
    decision = decide(_brief(brief), load(data))
    if as_json:
        print_json(plain.plain(decision))
    elif as_csv:
        print(plain.csv_text(plain.rows(decision)), end="")
    else:
        terminal.shortlist(console(), decision)
        if opinions:
            terminal.opinions(console(), decision, second_opinions(decision))
    raise typer.Exit(0 if decision.admitted else 1)


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
    terminal.catalogue(console(), frame)


@app.command()
def show(alloy: AlloyArgument, as_json: JsonOption = False, data: DataOption = None) -> None:
    """Show one alloy: every value with interval and source, and the candidates it was chosen from."""
    catalogue = load(data)
    found = catalogue.find(alloy)
    if as_json:
        print_json(plain.one_alloy(found, catalogue))
    else:
        terminal.one(console(), found, catalogue)


@app.command()
def challenge(alloy: AlloyArgument, brief: BriefArgument, as_json: JsonOption = False, data: DataOption = None) -> None:
    """Say why not this alloy: what it breaks, what saves it, what replaces it and what that gives up."""
    catalogue = load(data)
    found = answer(catalogue.find(alloy), _brief(brief), catalogue)
    if as_json:
        print_json(plain.challenged(found))
    else:
        terminal.challenge(console(), found)


app.command()(cli_melting.melt)
app.command()(cli_melting.blend)
app.command()(cli_melting.freeze)
app.command()(cli_melting.diagram)
app.command()(cli_melting.recompute)


@app.command()
def record(
    brief: BriefArgument,
    output: Annotated[Path, typer.Option("-o", "--output", metavar="FILE", help="Where to write the HTML page.")],
    meeting: Annotated[
        Path | None, typer.Option("--meeting", metavar="FOLDER", help="A meeting over this brief, told in the record.")
    ] = None,
    data: DataOption = None,
) -> None:
    """Write the decision record: one self-contained HTML page that prints and fetches nothing."""
    from selector.record.html import decision_html

    catalogue = load(data)
    decision = decide(_brief(brief), catalogue)
    held = None if meeting is None else sit(meeting, catalogue).meeting
    text = decision_html(decision, catalogue, meeting=held)
    print(f"{output}: {write(output, text.encode()) / 1000:.0f} kB. {finding(decision)}")
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


cli_compliance.register(app, _brief)
cli_weighing.register(app, _brief)
cli_board.register(app, _brief)
cli_steps.register(app, _brief)
cli_life.register(app, _brief)
