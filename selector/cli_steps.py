"""The verb `steps`: which alloys may follow each other through the soldering steps of a brief.

Exit codes: 0 an assignment holds for certain, 1 none does, 2 an input that cannot be used.
"""

import sys
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from selector.asked import refuse
from selector.asked_compliance import ReadBrief
from selector.asked_routes import typed_routes
from selector.asked_steps import planned_steps, typed_steps, with_steps
from selector.brief import Brief
from selector.catalogue import load
from selector.console import CsvOption, DataOption, JsonOption, console, print_json
from selector.decision import decide
from selector.durability.validity import Bound
from selector.errors import Fault, InputError, shown
from selector.planning import MARGIN, MERIT, plan_for
from selector.process.second_side import second_side
from selector.record import charts_steps, steps_words, terminal_steps
from selector.record.files import CHART_WIDTH, output_faults, write_chart
from selector.record.plain import csv_text, guarded

MOST_LISTED = 100


def register(app: typer.Typer, read_brief: ReadBrief) -> None:
    """Add the verb to the command line; `read_brief` opens a brief by file or name."""

    @app.command()
    def steps(
        brief: Annotated[
            str | None, typer.Argument(metavar="[BRIEF]", help="A brief whose steps, markets, bans and scores count.")
        ] = None,
        step: Annotated[
            list[str] | None,
            typer.Option("--step", metavar="NAME:DEGC", help="A step with its lowest limit, in order; repeat it."),
        ] = None,
        allow: Annotated[
            list[str] | None, typer.Option("--allow", metavar="NAME=ALLOY,ALLOY", help="What a step may use.")
        ] = None,
        meets: Annotated[
            list[str] | None,
            typer.Option("--meets", metavar="NAME=STEP", help="Whose metal a step touches; NAME=none for no one's."),
        ] = None,
        route: Annotated[
            list[str] | None,
            typer.Option(
                "--route",
                metavar="NAME=KIND:METALS@DEGC",
                help="Another route: reaction, mixed or undercooled; repeat it.",
            ),
        ] = None,
        margin_k: Annotated[
            float | None, typer.Option("--margin-k", metavar="K", help="Least remelt margin; 10 unless stated.")
        ] = None,
        hanging_g: Annotated[
            float | None,
            typer.Option("--hanging-g", metavar="G", help="A part that hangs upside down in the last step: its mass."),
        ] = None,
        wetted_mm2: Annotated[
            float | None, typer.Option("--wetted-mm2", metavar="MM2", help="Wetted area of all its joints.")
        ] = None,
        edge_mm: Annotated[
            float | None, typer.Option("--edge-mm", metavar="MM", help="Outline of all its joints.")
        ] = None,
        top: Annotated[int, typer.Option("--top", metavar="N", help="How many assignments to list.")] = 5,
        output: Annotated[
            Path | None, typer.Option("-o", "--output", metavar="FILE", help="Write the ladder: .svg or .png.")
        ] = None,
        dark: Annotated[bool, typer.Option("--dark", help="Draw the ladder on a dark ground.")] = False,
        as_json: JsonOption = False,
        as_csv: CsvOption = False,
        data: DataOption = None,
    ) -> None:
        """Assign alloys to soldering steps so that no earlier joint melts later; ranked, with the ladder."""
        faults = output_faults(output)
        found: Brief | None = None if brief is None else read_brief(brief)
        tables = typed_steps(step or [], allow or [], meets or [], faults, found)
        if not tables and brief is None:
            faults.append(Fault("BRIEF", "is missing", allowed='a brief, or --step "die attach:340" for each step'))
        for option, value, high, unit in (
            ("--margin-k", margin_k, 200, "K"),
            ("--hanging-g", hanging_g, 10_000, "g"),
            ("--wetted-mm2", wetted_mm2, 1e6, "mm2"),
            ("--edge-mm", edge_mm, 1e6, "mm"),
        ):
            wrong = None if value is None else Bound(option, value, 0, high, unit, above=option == "--hanging-g").fault
            faults += [] if wrong is None else [replace(wrong, problem="is no figure that can be")]
        if hanging_g is None and (wetted_mm2 is not None or edge_mm is not None):
            faults.append(Fault("--hanging-g", "is missing", allowed="the mass of the part, with its area and edge"))
        if not 1 <= top <= MOST_LISTED:
            faults.append(Fault("--top", "lies outside the range", str(top), f"1 to {MOST_LISTED}"))
        staged = found
        try:
            staged = with_steps(found, tables) if tables or found is None else found
        except InputError as error:
            faults += error.faults
        refuse(faults)
        assert staged is not None
        catalogue = load(data)
        asked = planned_steps(staged, catalogue)
        joined = typed_routes([(f"--route {shown(text)}", text) for text in route or []], asked, catalogue, faults)
        refuse(faults)
        decision = None if found is None else decide(found, catalogue)
        planned = plan_for(asked, catalogue, found, decision, margin_k, joined)
        best = planned.best(MERIT if planned.has_merit else MARGIN, 1)
        first = (*best, *planned.nearest(), *planned.undecided(1))[:1]
        margin = first[0].last_margin_k if first else None
        hangs = None if hanging_g is None else second_side(hanging_g, wetted_mm2, edge_mm, margin)
        if as_json:
            print_json(steps_words.plain(planned, top, hangs))
        elif as_csv:
            rows = steps_words.assignment_rows(planned, planned.best(MERIT if planned.has_merit else MARGIN, top))
            print(csv_text([{key: guarded(cell) for key, cell in row.items()} for row in rows]), end="")
        else:
            terminal_steps.show(console(), planned, top, hangs)
        if output is not None and first:
            title = {"text": " > ".join(first[0].alloys), "subtitle": list(charts_steps.LEGEND), "anchor": "start"}
            chart = charts_steps.ladder_chart(first[0]).properties(width=CHART_WIDTH, title=title)
            # On stderr: the answer itself may be JSON or CSV.
            print(f"{output}: {write_chart(chart, output, dark) / 1000:.0f} kB", file=sys.stderr)
        raise typer.Exit(0 if len(planned.plan.feasible) else 1)
