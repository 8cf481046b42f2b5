"""The verbs of weighing on the command line: how sure an order is, one person's weights, a meeting."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from selector.brief import Brief, dumps, loads
from selector.catalogue import load
from selector.console import DataOption, JsonOption, console, print_json
from selector.decision import decide
from selector.errors import Fault, InputError
from selector.meeting import criteria_of, weighed_by
from selector.meeting_folder import sit, write_event
from selector.record import meeting_words, plain_weighing, terminal_meeting, terminal_weighing
from selector.record.files import write
from selector.robustness import DRAWS, KNOWLEDGE, KNOWN, SEED, robustness
from selector.scoring.weights import answers as answers_of


def register(app: typer.Typer, read_brief: Callable[[str], Brief]) -> None:
    """Add the verbs to the command line.

    Parameters
    ----------
    app : typer.Typer
    read_brief : callable
        Reads a brief by the name of a file or of a shipped brief.
    """

    @app.command(name="robustness")
    def how_sure(
        brief: Annotated[str, typer.Argument(metavar="BRIEF", help="A TOML file or a shipped brief.")],
        known: Annotated[
            str,
            typer.Option(
                "--known", help="What is known of the weights: " + "; ".join(f"{k}, {KNOWLEDGE[k]}" for k in KNOWN)
            ),
        ] = "order",
        draws: Annotated[int, typer.Option("--draws", help="How many draws the chances rest on.")] = DRAWS,
        seed: Annotated[int, typer.Option("--seed", help="The same seed gives the same draws.")] = SEED,
        as_json: JsonOption = False,
        data: DataOption = None,
    ) -> None:
        """Say how sure the order is: who may overtake, what would change it, what would settle it."""
        decision = decide(read_brief(brief), load(data))
        found = robustness(decision, known, draws, seed)  # type: ignore[arg-type]
        if found is None:
            print("null" if as_json else "Nothing is admitted: there is no order to be sure of.")
            raise typer.Exit(1)
        if as_json:
            print_json(plain_weighing.plain(found))
        else:
            terminal_weighing.show(console(), found)

    @app.command()
    def weights(
        brief: Annotated[str, typer.Argument(metavar="BRIEF", help="A TOML file or a shipped brief.")],
        answers: Annotated[
            Path | None, typer.Option("--answers", metavar="FILE", help="TOML with one person's answers.")
        ] = None,
        output: Annotated[
            Path | None, typer.Option("-o", "--output", metavar="FILE", help="Write the brief with these weights.")
        ] = None,
        kind: Annotated[
            str, typer.Option("--kind", help=f"How to be asked: {', '.join(answers_of.KINDS)}; prints an empty file.")
        ] = "swing",
        as_json: JsonOption = False,
        data: DataOption = None,
    ) -> None:
        """Ask for weights in words; with a file of answers, give the weights and the questions that check them."""
        asked = read_brief(brief)
        decision = decide(asked, load(data))
        if answers is None:
            if output is not None:
                raise InputError("the command", [Fault("-o", "has nothing to write without --answers")])
            if as_json:
                print_json(terminal_meeting.plain_questions(decision, kind))
            else:
                terminal_meeting.questions(console(), decision, kind)
            return
        found = answers_of.read(answers, criteria_of(decision))
        if output is not None:
            text = dumps(asked.model_copy(update={"preferences": weighed_by(decision.weighing.preferences, found)}))
            loads(text, "the brief with these weights")  # what is written can be read again
            write(output, text.encode())
        if as_json:
            print_json(
                {
                    "kind": found.kind,
                    "author": found.author,
                    "weights": dict(zip(found.criteria, map(float, found.weights), strict=True)),
                    "beside": {name: list(map(float, row)) for name, row in found.beside.items()},
                    "admissible": found.region.described,
                    "consistency_ratio": None if found.pairs is None else found.pairs.ratio,
                    "random_index_table": None if found.pairs is None else found.pairs.table,
                    "checks": list(terminal_meeting.checks(decision, found)),
                }
            )
        else:
            terminal_meeting.answered(console(), decision, found)

    @app.command()
    def panel(
        folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Holds meeting.toml and members/*.toml.")],
        freeze: Annotated[bool, typer.Option("--freeze", help="Hold the weights fast; needs --by.")] = False,
        unblind: Annotated[bool, typer.Option("--unblind", help="Lift the letters of a frozen meeting.")] = False,
        by: Annotated[str, typer.Option("--by", help="Who freezes or lifts the letters.")] = "",
        as_json: JsonOption = False,
        data: DataOption = None,
    ) -> None:
        """Show several people's weights together: what all agree on, where they part, what of it matters."""
        if freeze and unblind:
            raise InputError("the command", [Fault("--unblind", "comes after --freeze, in a second step")])
        sitting = sit(folder, load(data))
        if freeze or unblind:
            now = datetime.now(UTC).replace(microsecond=0)
            sitting = write_event(sitting, "frozen" if freeze else "unblinded", by, now)
        if as_json:
            print_json(meeting_words.plain(sitting.meeting))
        else:
            terminal_meeting.show(console(), sitting.meeting)
