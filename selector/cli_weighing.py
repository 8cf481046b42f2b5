"""The verb about how sure an order is, on the command line."""

from collections.abc import Callable
from typing import Annotated

import typer

from selector.brief import Brief
from selector.catalogue import load
from selector.console import DataOption, JsonOption, console, print_json
from selector.decision import decide
from selector.record import terminal_weighing
from selector.robustness import DRAWS, KNOWLEDGE, KNOWN, SEED, robustness


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
            print_json(terminal_weighing.plain(found))
        else:
            terminal_weighing.show(console(), found)
