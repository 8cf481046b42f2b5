"""The verbs of compliance on the command line: hold alloys against dated rules, write a sheet, list the rules."""

import sys
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from selector.asked_compliance import (
    AskedAlloy,
    BanOption,
    BriefOption,
    DateKindOption,
    DeclaredOption,
    EquipmentOption,
    FigureOption,
    FormOption,
    JointOption,
    JudgedOption,
    MarketOption,
    OnOption,
    ReadBrief,
    TraceOption,
    Typed,
    UseOption,
    asked,
    day_of,
    traced,
)
from selector.catalogue import load
from selector.compliance.context import Context
from selector.compliance.evaluation import evaluate_all, failing
from selector.compliance.finding import Finding
from selector.compliance.joints import evaluate_joint
from selector.compliance.rulesets import rule_sets
from selector.console import console, print_json, printable
from selector.errors import Fault, InputError, shown
from selector.fields import UNKNOWN
from selector.joint.contributors import joint
from selector.melting.onset import reaches, remelt_onset
from selector.record import compliance as record
from selector.record import recheck as again
from selector.record import terminal_compliance
from selector.record.compliance_grid import grid
from selector.record.files import write
from selector.record.iec62474 import sheet_xml
from selector.record.plain import csv_text
from selector.record.sheet import Certificate, certificate
from selector.record.sheet import sheet as made_sheet
from selector.record.sheet_files import sheet_csv, sheet_html, sheet_xlsx
from selector.units import exact

COLDEST_C, HOTTEST_C = -273, 3000
SHEET_ENDINGS = (".csv", ".xlsx", ".html", ".xml")
ALLOYS_HELP = "Compositions in any spelling; or a file: the CSV of a sheet, or IEC 62474 XML."


def register(app: typer.Typer, read_brief: ReadBrief) -> None:
    """Add the verbs to the command line.

    Parameters
    ----------
    app : typer.Typer
    read_brief : callable
        Reads a brief by the name of a file or of a shipped brief.
    """

    @app.command()
    def comply(
        alloys: Annotated[list[str] | None, typer.Argument(metavar="ALLOY...", help=ALLOYS_HELP)] = None,
        brief: BriefOption = "",
        market: MarketOption = "",
        on: OnOption = "",
        date_kind: DateKindOption = "",
        use: UseOption = "",
        equipment: EquipmentOption = UNKNOWN,
        judged: JudgedOption = "",
        application: JointOption = UNKNOWN,
        form: FormOption = UNKNOWN,
        figure: FigureOption = None,
        trace: TraceOption = None,
        ban: BanOption = None,
        declared: DeclaredOption = "",
        joined: Annotated[
            list[str] | None,
            typer.Option("--with", metavar="NAME=ALLOY:MASSmg", help="What melts in too: ball, finish, wire."),
        ] = None,
        mass: Annotated[str, typer.Option("--mass", metavar="MASSmg", help="Metal the solder itself brings.")] = "",
        recheck: Annotated[
            str,
            typer.Option("--recheck", metavar="FOLDER", help="Ask saved decisions again: which verdicts change?"),
        ] = "",
        catalogue: Annotated[bool, typer.Option("--catalogue", help="Every alloy of the catalogue.")] = False,
        onset: Annotated[
            str, typer.Option("--onset-at-least", metavar="DEGC", help="Only alloys that may remelt this late.")
        ] = "",
        everything: Annotated[bool, typer.Option("--all", help="Every rule, also what decides nothing.")] = False,
        as_json: Annotated[bool, typer.Option("--json", help="Print JSON for machines.")] = False,
        as_csv: Annotated[bool, typer.Option("--csv", help="Print CSV for a spreadsheet.")] = False,
    ) -> None:
        """Hold alloys against dated rules of law, quality, supply and customers; ends with 1 where something fails.

        With --recheck, ask saved decisions again under the rules as they are now; ends with 1 where something changed.
        """
        typed = Typed(
            brief,
            market,
            on,
            date_kind,
            use,
            equipment,
            judged,
            application,
            form,
            tuple(figure or ()),
            tuple(trace or ()),
            tuple(ban or ()),
            declared,
            tuple(joined or ()),
            mass,
        )
        if recheck:
            more = [*(alloys or []), *(["--catalogue"] if catalogue else []), *([onset] if onset else [])]
            raise typer.Exit(_recheck(recheck, more, typed, as_json, as_csv))
        missing = []
        if not alloys and not catalogue:
            missing.append(Fault("ALLOY", "is missing", allowed="SAC305, Sn-58Bi, 63/37, a file, or --catalogue"))
        least_c = _least(onset, missing)
        found, contexts = asked(alloys or [], typed, read_brief, missing, _listed() if catalogue else ())
        _say_notes(found)
        if least_c is not None:
            found = _reaching(found, least_c)
        findings = list(dict.fromkeys(_findings(found, contexts)))
        if as_json:
            print_json(record.plain(findings))
        elif as_csv:
            print(csv_text(record.rows(findings)), end="")
        elif everything:
            record.show(console(), findings, contexts)
        else:
            named = list(dict.fromkeys(name for one in contexts for name in sorted(one.markets)))
            compositions = {
                entry.name: joint(entry.contributors) if entry.contributors else entry.composition for entry in found
            }
            terminal_compliance.show(console(), grid(findings, compositions), findings, named, contexts)
        raise typer.Exit(1 if failing(findings) else 0)

    @app.command()
    def sheet(
        alloy: Annotated[str, typer.Argument(metavar="ALLOY", help=ALLOYS_HELP)],
        output: Annotated[
            Path, typer.Option("-o", "--output", metavar="FILE", help=f"By its ending: {', '.join(SHEET_ENDINGS)}.")
        ],
        brief: BriefOption = "",
        market: MarketOption = "",
        on: OnOption = "",
        date_kind: DateKindOption = "",
        use: UseOption = "",
        equipment: EquipmentOption = UNKNOWN,
        judged: JudgedOption = "",
        application: JointOption = UNKNOWN,
        form: FormOption = UNKNOWN,
        figure: FigureOption = None,
        trace: TraceOption = None,
        ban: BanOption = None,
        declared: DeclaredOption = "",
        lot: Annotated[str, typer.Option("--lot", help="Lot of the certificate.")] = "",
        laboratory: Annotated[str, typer.Option("--laboratory", help="Who measured.")] = "",
        method: Annotated[str, typer.Option("--method", help="How it was measured.")] = "",
        certified: Annotated[str, typer.Option("--certified", metavar="DATE", help="Day of the certificate.")] = "",
        expires: Annotated[str, typer.Option("--expires", metavar="DATE", help="Last day on which it counts.")] = "",
    ) -> None:
        """Write the composition sheet of one alloy (no declaration); ends with 1 where something fails."""
        faults = _output_faults(output)
        days = [day_of("--certified", certified, faults), day_of("--expires", expires, faults)]
        given = Certificate()
        try:
            given = certificate(lot, laboratory, method, *days)
        except InputError as error:
            faults += error.faults
        typed = Typed(
            brief,
            market,
            on,
            date_kind,
            use,
            equipment,
            judged,
            application,
            form,
            tuple(figure or ()),
            tuple(trace or ()),
            tuple(ban or ()),
            declared,
        )
        found, contexts = asked([alloy], typed, read_brief, faults)
        if len(found) > 1:
            names = ", ".join(shown(entry.name) for entry in found[:8])
            remedy = "keep one material in the file"
            raise InputError("the command", [Fault(alloy, "holds more than one material", names, "one", remedy)])
        _say_notes(found)
        one = found[0]
        made = made_sheet(one.name, one.composition, traced(one, contexts), _joined(one.certificate, given))
        writers = {".csv": sheet_csv, ".html": sheet_html, ".xml": sheet_xml}
        ending = output.suffix.lower()
        content = sheet_xlsx(made) if ending == ".xlsx" else writers[ending](made).encode()
        print(printable(f"{output}: {write(output, content) / 1000:.0f} kB. {made.headline}"))
        for caution in made.cautions:
            print(printable(f"Watch: {caution}."))
        raise typer.Exit(1 if made.failing else 0)

    @app.command()
    def rules(
        as_json: Annotated[bool, typer.Option("--json", help="Print every rule as JSON, sources too.")] = False,
    ) -> None:
        """List the rule sets: kind, market, instrument, day to which they are known; under each its sources."""
        if as_json:
            print_json(record.rule_set_rows(rule_sets()))
        else:
            record.show_rule_sets(console(), rule_sets())


def _listed() -> list[AskedAlloy]:
    """Return every alloy of the catalogue."""
    return [AskedAlloy(name, alloy.composition) for name, alloy in load().alloys.items()]


def _least(text: str, faults: list[Fault]) -> float | None:
    if not text:
        return None
    try:
        value = float(exact(text.strip().removesuffix("degC").strip()))
    except (ValueError, ZeroDivisionError, OverflowError):
        faults.append(Fault("--onset-at-least", "is not a temperature", shown(text), "degC, such as 200"))
        return None
    if not COLDEST_C <= value <= HOTTEST_C:
        faults.append(
            Fault("--onset-at-least", "lies outside the range", shown(text), f"{COLDEST_C} to {HOTTEST_C} degC")
        )
    return value


def _reaching(found: Sequence[AskedAlloy], least_c: float) -> list[AskedAlloy]:
    """Return the alloys whose remelt onset reaches a temperature or may; say beside the output which is which."""
    known = {alloy.composition.parts: alloy for alloy in load().alloys.values()}
    told = {}
    for entry in found:
        # Of a joint the onset is another one than the solder's, and is not known here.
        alloy = None if entry.contributors else known.get(entry.composition.parts)
        told[entry.name] = reaches(None if alloy is None else remelt_onset(alloy), least_c)
    counts = [sum(value == word for value in told.values()) for word in ("yes", "open", "no")]
    straddling = [name for name, value in told.items() if value == "open"]
    print(
        printable(
            f"Remelt onset of at least {least_c:g} degC: {counts[0]} of {len(told)} for certain, {counts[1]} open (the"
            f" interval straddles it or none is computed), {counts[2]} below and left out."
            + (f" Open: {', '.join(straddling)}." if straddling else "")
        ),
        file=sys.stderr,
    )
    return [entry for entry in found if told[entry.name] != "no"]


def _findings(found: Sequence[AskedAlloy], contexts: Sequence[Context]) -> Iterable[Finding]:
    """Yield the findings of every alloy, each with what its file measured."""
    for one in contexts:
        for entry in found:
            if entry.contributors:
                # What was measured is of the solder, and only a part of what melts into the joint.
                solder = replace(entry.contributors[0], traces=traced(entry, [one])[0].traces)
                yield from evaluate_joint(None, (solder, *entry.contributors[1:]), replace(one, traces=()), entry.name)
    entries = [entry for entry in found if not entry.contributors]
    for one in contexts:
        alike = {entry.name: entry.composition for entry in entries if not entry.traces}
        yield from evaluate_all(alike, one)
        for entry in entries:
            if entry.traces:
                yield from evaluate_all({entry.name: entry.composition}, traced(entry, [one])[0])


def _say_notes(found: Iterable[AskedAlloy]) -> None:
    """Say beside the output what was set aside in reading a file."""
    for entry in found:
        for note in entry.notes:
            print(printable(f"{entry.name}: {note}."), file=sys.stderr)


def _joined(of_file: Certificate, typed: Certificate) -> Certificate:
    """Return a certificate in which what was typed stands above what the file holds; checked as one."""
    told = {name: value for name, value in vars(typed).items() if value}
    joined = replace(of_file, **told)
    return certificate(joined.lot, joined.laboratory, joined.method, joined.certified, joined.expires)


def _output_faults(path: Path) -> list[Fault]:
    faults, given = [], shown(str(path))
    if path.suffix.lower() not in SHEET_ENDINGS:
        faults.append(Fault("--output", "has no ending that says what to write", given, ", ".join(SHEET_ENDINGS)))
    if path.is_dir():
        faults.append(Fault("--output", "is a folder", given, "a file", "name a file in it"))
    elif not path.parent.is_dir():
        faults.append(Fault("--output", "lies in a folder that does not exist", given, remedy="make the folder first"))
    return faults


def _recheck(folder: str, alloys: list[str], typed: Typed, as_json: bool, as_csv: bool) -> int:
    """Ask saved decisions again and print what changes; return 1 where something does."""
    faults: list[Fault] = []
    day = day_of("--on", typed.on, faults)
    if alloys or replace(typed, on="") != Typed():
        problem = "takes alloys, use and markets from the saved decisions"
        faults.append(Fault("--recheck", problem, allowed="--on, --json and --csv beside it"))
    if faults:
        raise InputError("the command", faults)
    found = again.recheck_folder(Path(folder), day)
    if as_json:
        print_json(again.plain(found))
    elif as_csv:
        print(csv_text(again.rows(found)), end="")
    else:
        again.show(console(), found, day)
    return 1 if found.changes else 0
