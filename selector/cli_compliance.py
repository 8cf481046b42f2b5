"""The verbs of compliance on the command line: hold alloys against dated rules, and list the rules."""

import json
import sys
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from fractions import Fraction
from typing import Annotated, get_args

import typer
from rich.console import Console

from selector.brief import Brief
from selector.compliance.context import (
    APPLICATIONS,
    FIGURES,
    FORMS,
    JUDGED,
    MARKET_CODES,
    USES,
    Ban,
    Context,
    context,
    of_use,
)
from selector.compliance.evaluation import evaluate_all, failing
from selector.compliance.finding import Finding
from selector.compliance.rulesets import rule_sets
from selector.composition import Composition, atomic_masses, parse
from selector.errors import Fault, InputError, shown
from selector.fields import UNKNOWN, DateKind
from selector.record import compliance as record
from selector.record import terminal_compliance
from selector.record.compliance_grid import grid
from selector.record.plain import csv_text
from selector.units import exact

WIDTH_WHEN_PIPED = 140


def register(app: typer.Typer, read_brief: Callable[[str], Brief]) -> None:
    """Add the verbs to the command line.

    Parameters
    ----------
    app : typer.Typer
    read_brief : callable
        Reads a brief by the name of a file or of a shipped brief.
    """

    @app.command()
    def comply(
        alloys: Annotated[list[str], typer.Argument(metavar="ALLOY...", help="Compositions in any spelling.")],
        brief: Annotated[str, typer.Option("--brief", metavar="BRIEF", help="Markets, use and bans of a brief.")] = "",
        market: Annotated[str, typer.Option("--market", help=f"Of {', '.join(MARKET_CODES)}, with commas.")] = "",
        on: Annotated[str, typer.Option("--on", metavar="DATE", help="The day asked about: 2027-07-01.")] = "",
        date_kind: Annotated[str, typer.Option("--date-kind", help=", ".join(get_args(DateKind)))] = "",
        use: Annotated[
            str, typer.Option("--use", help=f"Words with commas, not- before a denial: {', '.join(USES)}.")
        ] = "",
        equipment: Annotated[str, typer.Option("--equipment", help="Kind of equipment, as in a brief.")] = UNKNOWN,
        judged: Annotated[str, typer.Option("--as", help=f"What is judged: {', '.join(JUDGED)}.")] = "",
        application: Annotated[
            str, typer.Option("--joint", help=f"Which joint it is: {', '.join(APPLICATIONS)}.")
        ] = UNKNOWN,
        form: Annotated[str, typer.Option("--form", help=", ".join(FORMS))] = UNKNOWN,
        figure: Annotated[
            list[str] | None, typer.Option("--figure", help=f"NAME=NUMBER: {', '.join(FIGURES)}.")
        ] = None,
        trace: Annotated[list[str] | None, typer.Option("--trace", help="A measured trace: Pb=450ppm.")] = None,
        ban: Annotated[list[str] | None, typer.Option("--ban", help="A customer's ban: Sb=1000ppm.")] = None,
        declared: Annotated[
            str, typer.Option("--declared", help="Named constituents of a certificate: Sn,Ag,Cu.")
        ] = "",
        everything: Annotated[bool, typer.Option("--all", help="Every rule, also what decides nothing.")] = False,
        as_json: Annotated[bool, typer.Option("--json", help="Print JSON for machines.")] = False,
        as_csv: Annotated[bool, typer.Option("--csv", help="Print CSV for a spreadsheet.")] = False,
    ) -> None:
        """Hold alloys against dated rules of law, quality, supply and customers; ends with 1 where something fails."""
        faults: list[Fault] = []
        given = {
            "uses": _listed(use),
            "equipment": equipment,
            "application": application,
            "form": form,
            "figures": dict(_pairs(figure or (), "--figure", "", faults)),
            "traces": dict(_pairs(trace or (), "--trace", "ppm", faults)),
            "declared": _listed(declared) or None,
        }
        bans = [
            Ban(element, limit, "as given on the command line")
            for element, limit in _pairs(ban or (), "--ban", "ppm", faults)
        ]
        for option, element in (
            *(("--trace", element) for element in _keys(given["traces"])),
            *(("--ban", entry.element) for entry in bans),
            *(("--declared", element) for element in _listed(declared)),
        ):
            if element not in atomic_masses():
                faults.append(Fault(option, "is not an element in the table", shown(element), "a symbol such as Pb"))
        found = _compositions(alloys, faults)
        day = _day(on, faults)
        markets = [MARKET_CODES.get(code, code) for code in _listed(market)]
        if not brief and day is None and not faults:
            faults.append(Fault("--on", "is missing", allowed="a date such as 2027-07-01, or a brief with markets"))
        if faults:
            raise InputError("the command", faults)
        if brief:
            asked = _of_brief(read_brief(brief), markets, day, date_kind, judged, given, bans)
        else:
            assert day is not None
            asked = [_context(day, date_kind or "placed on market", markets, judged or "alloy", given, bans)]
        findings = _each_once(entry for one in asked for entry in evaluate_all(found, one))
        if as_json:
            print(json.dumps(record.plain(findings), indent=2, ensure_ascii=False, allow_nan=False))
        elif as_csv:
            print(csv_text(record.rows(findings)), end="")
        elif everything:
            record.show(_console(), findings)
        else:
            named = list(dict.fromkeys(name for one in asked for name in sorted(one.markets)))
            terminal_compliance.show(_console(), grid(findings, found), findings, named)
        raise typer.Exit(1 if failing(findings) else 0)

    @app.command()
    def rules(
        as_json: Annotated[bool, typer.Option("--json", help="Print every rule as JSON.")] = False,
    ) -> None:
        """List the rule sets: kind, market, instrument, day to which they are known, sources."""
        if as_json:
            print(json.dumps(record.rule_set_rows(rule_sets()), indent=2, ensure_ascii=False))
        else:
            record.show_rule_sets(_console(), rule_sets())


def _console() -> Console:
    return Console(width=None if sys.stdout.isatty() else WIDTH_WHEN_PIPED, highlight=False, markup=False, emoji=False)


def _listed(text: str) -> list[str]:
    return [word.strip() for word in text.split(",") if word.strip()]


def _keys(table: object) -> list[str]:
    return list(table) if isinstance(table, Mapping) else []


def _pairs(texts: Iterable[str], option: str, unit: str, faults: list[Fault]) -> list[tuple[str, Fraction]]:
    """Return NAME=NUMBER texts as pairs; a unit may stand behind the number and is needed where one is given."""
    found = []
    for text in texts:
        name, _, number = text.partition("=")
        bare = number.strip().removesuffix(unit).strip()
        try:
            if unit and not number.strip().endswith(unit):
                raise ValueError
            found.append((name.strip(), exact(bare)))
        except (ValueError, ZeroDivisionError):
            allowed = f"NAME=NUMBER{unit}, such as " + ("Pb=450ppm" if unit else "current_a=5")
            faults.append(Fault(option, "cannot be read", shown(text), allowed))
    return found


def _compositions(texts: Iterable[str], faults: list[Fault]) -> dict[str, Composition]:
    found: dict[str, Composition] = {}
    for text in texts:
        try:
            found[text] = parse(text)
        except InputError as error:
            faults.extend(error.faults)
    return found


def _day(text: str, faults: list[Fault]) -> date | None:
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        faults.append(Fault("--on", "is not a date", shown(text), "a date such as 2027-07-01"))
        return None


def _context(
    day: date, date_kind: str, markets: list[str], judged: str, given: Mapping[str, object], bans: list[Ban]
) -> Context:
    """Return a checked context of what stands on the command line."""
    facts = {**given, "markets": markets, "date_kind": date_kind, "judged": judged, "bans": bans}
    uses = facts.pop("uses")
    return context(day, uses, **facts)  # type: ignore[arg-type]


def _of_brief(
    brief: Brief,
    markets: list[str],
    day: date | None,
    date_kind: str,
    judged: str,
    given: Mapping[str, object],
    bans: list[Ban],
) -> list[Context]:
    """Return one context for every market of a brief, with what the command line adds or says otherwise."""
    entries = [entry for entry in brief.markets if not markets or entry.market in markets]
    if not entries:
        raise InputError(
            "the command",
            [Fault("--brief", "names none of the markets asked about", allowed="a brief with markets, or --market")],
        )
    listed = [*(Ban(row.element, exact(row.limit_ppm), row.reason) for row in brief.bans), *bans]
    found = []
    for entry in entries:
        told = of_use(brief.use, entry)
        uses = given["uses"]
        assert isinstance(uses, list)
        said = {word.removeprefix("not-") for word in uses}
        kept = [word for word in told.yes if word != "electrical"] + [f"not-{word}" for word in told.no - said]
        more = {**given, "uses": [*uses, *kept]}
        if more["equipment"] == UNKNOWN:
            more["equipment"] = told.equipment
        when, kind = day or entry.date, date_kind or entry.date_kind
        found.append(_context(when, kind, [entry.market], judged or "joint", more, listed))
    return found


def _each_once(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings without the repeats that rules of every market give for each market of a brief."""
    return list(dict.fromkeys(findings))
