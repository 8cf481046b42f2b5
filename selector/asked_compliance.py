"""What a person types at a verb about compliance: alloys, use, day, markets, traces, bans; all faults at once."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Annotated, get_args

import typer

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
    bans_of,
    context,
    of_use,
)
from selector.compliance.typed import content_of, element_of, impossible
from selector.composition import Composition, parse
from selector.errors import Fault, InputError, printable, shown
from selector.fields import UNKNOWN, DateKind
from selector.joint.contributors import Contributor
from selector.record.sheet import Certificate
from selector.record.sheet_read import is_file_name, read_compositions
from selector.units import exact

ReadBrief = Callable[[str], Brief]

BriefOption = Annotated[str, typer.Option("--brief", metavar="BRIEF", help="Markets, use and bans of a brief.")]
MarketOption = Annotated[
    str, typer.Option("--market", help=f"Of {', '.join(MARKET_CODES)}, or names, with commas; none is every market.")
]
OnOption = Annotated[str, typer.Option("--on", metavar="DATE", help="The day asked about: 2027-07-01.")]
DateKindOption = Annotated[str, typer.Option("--date-kind", help=", ".join(get_args(DateKind)))]
UseOption = Annotated[str, typer.Option("--use", help=f"Words with commas, not- before a denial: {', '.join(USES)}.")]
EquipmentOption = Annotated[str, typer.Option("--equipment", help="Kind of equipment, as in a brief.")]
JudgedOption = Annotated[str, typer.Option("--as", help=f"What is judged: {', '.join(JUDGED)}.")]
JointOption = Annotated[str, typer.Option("--joint", help=f"Which joint it is: {', '.join(APPLICATIONS)}.")]
FormOption = Annotated[str, typer.Option("--form", help=", ".join(FORMS))]
FigureOption = Annotated[list[str] | None, typer.Option("--figure", help=f"NAME=NUMBER: {', '.join(FIGURES)}.")]
TraceOption = Annotated[
    list[str] | None,
    typer.Option("--trace", help="A measured trace of the alloy, as supplied: Pb=450ppm or lead=0.045%."),
]
BanOption = Annotated[list[str] | None, typer.Option("--ban", help="A customer's ban: Sb=1000ppm or antimony=0.1%.")]
DeclaredOption = Annotated[str, typer.Option("--declared", help="Named constituents of a certificate: Sn,Ag,Cu.")]


@dataclass(frozen=True)
class Typed:
    """The options as they were typed; each means what its verb's help says."""

    brief: str = ""
    market: str = ""
    on: str = ""
    date_kind: str = ""
    use: str = ""
    equipment: str = UNKNOWN
    judged: str = ""
    application: str = UNKNOWN
    form: str = UNKNOWN
    figure: tuple[str, ...] = ()
    trace: tuple[str, ...] = ()
    ban: tuple[str, ...] = ()
    declared: str = ""
    joined: tuple[str, ...] = ()
    mass: str = ""


@dataclass(frozen=True)
class AskedAlloy:
    """An alloy that was asked about.

    Parameters
    ----------
    name : str
        As typed, or as the file that holds it calls it.
    composition : Composition
    traces : tuple of (str, Fraction)
        Measured contents that its file holds, ppm.
    certificate : Certificate
        Of its file.
    notes : tuple of str
        What was set aside in reading its file.
    contributors : tuple of Contributor
        The solder itself and all that melts into its joint; empty where the alloy stands alone.
    """

    name: str
    composition: Composition
    traces: tuple[tuple[str, Fraction], ...] = ()
    certificate: Certificate = field(default_factory=Certificate)
    notes: tuple[str, ...] = ()
    contributors: tuple[Contributor, ...] = ()


OTHER_FILES = (".xlsx", ".xls", ".ods", ".html", ".htm", ".json", ".txt", ".pdf")
SOLDER = "solder"
WITH_FORM = "NAME=ALLOY:MASSmg, such as ball=SAC305:0.9mg or finish=Sn63Pb37:0.05mg"


def asked(
    alloys: Iterable[str],
    typed: Typed,
    read_brief: ReadBrief,
    more: Iterable[Fault] = (),
    beside: Iterable[AskedAlloy] = (),
) -> tuple[list[AskedAlloy], list[Context]]:
    """Return alloys and contexts: one context, or one for every market of a brief.

    Parameters
    ----------
    alloys : iterable of str
        Compositions in any spelling, or files of compositions.
    typed : Typed
    read_brief : callable
        Reads a brief by the name of a file or of a shipped brief.
    more : iterable of Fault
        What else is wrong with the command, to be told with the rest.
    beside : iterable of AskedAlloy
        Alloys that need no reading, as those of the catalogue.

    Raises
    ------
    InputError
        With every fault of the command.
    """
    faults = [*more]
    given: dict[str, object] = {
        "uses": listed(typed.use),
        "equipment": typed.equipment,
        "application": typed.application,
        "form": typed.form,
        "figures": dict(_pairs(typed.figure, "--figure", faults)),
        "traces": dict(_contents(typed.trace, "--trace", faults)),
    }
    bans = [
        Ban(element, limit, "as given on the command line") for element, limit in _contents(typed.ban, "--ban", faults)
    ]
    named = (element_of("--declared", word, faults) for word in listed(typed.declared))
    given["declared"] = [element for element in named if element] or None
    if not faults:
        faults += impossible("--trace", given["traces"])  # type: ignore[arg-type]
    found = _alloys(alloys, faults)
    found += [entry for entry in beside if entry.name not in {held.name for held in found}]
    joined = _joined(typed.joined, typed.mass, faults)
    if joined:
        found = [replace(entry, contributors=_contributors(entry, typed.mass, joined)) for entry in found]
    day = day_of("--on", typed.on, faults)
    markets = [market for text in listed(typed.market) if (market := market_of(text, faults))]
    if not typed.brief and day is None and not faults:
        faults.append(Fault("--on", "is missing", allowed="a date such as 2027-07-01, or a brief with markets"))
    if faults:
        raise InputError("the command", faults)
    if typed.brief:
        brief = read_brief(typed.brief)
        return found, _of_brief(brief, markets, day, typed.date_kind, typed.judged, given, bans)
    assert day is not None
    one = _context(day, typed.date_kind or "placed on market", markets, typed.judged or "joint", given, bans)
    return found, [one]


def traced(entry: AskedAlloy, contexts: Iterable[Context]) -> list[Context]:
    """Return contexts with the measured contents of an alloy's file added; what was typed stands above the file."""
    return [one.with_traces({**dict(entry.traces), **dict(one.traces)}) for one in contexts]


def listed(text: str) -> list[str]:
    """Return words that commas set apart."""
    return [word.strip() for word in text.split(",") if word.strip()]


def day_of(option: str, text: str, faults: list[Fault]) -> date | None:
    """Return a day, None where none is given, and add a fault where it is none."""
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        faults.append(Fault(option, "is not a date", shown(text), "a date such as 2027-07-01"))
        return None


def market_of(text: str, faults: list[Fault]) -> str:
    """Return the market of a code or a name in any case; empty with a fault where there is none."""
    named = {word.lower(): name for code, name in MARKET_CODES.items() for word in (code, name)}
    if text.lower() not in named:
        allowed = ", ".join(code if code == name else f"{code} ({name})" for code, name in MARKET_CODES.items())
        faults.append(Fault("--market", "is not one of the choices", shown(text), allowed))
    return named.get(text.lower(), "")


def _contents(texts: Iterable[str], option: str, faults: list[Fault]) -> list[tuple[str, Fraction]]:
    """Return ELEMENT=CONTENT texts as pairs of symbol and ppm, each element once."""
    found: dict[str, Fraction] = {}
    for text in texts:
        name, sign, content = text.partition("=")
        if not sign:
            faults.append(
                Fault(option, "cannot be read", shown(text), "ELEMENT=CONTENT, such as Pb=450ppm or Pb=0.045%")
            )
            continue
        where = f"{option} {text}"
        element, ppm = element_of(where, name.strip(), faults), content_of(where, content, faults)
        if element is None or ppm is None:
            continue
        if element in found:
            faults.append(Fault(where, "names an element for the second time", element, "each element once"))
        found[element] = ppm
    return list(found.items())


def _pairs(texts: Iterable[str], option: str, faults: list[Fault]) -> list[tuple[str, Fraction]]:
    """Return NAME=NUMBER texts as pairs."""
    found: list[tuple[str, Fraction]] = []
    for text in texts:
        name, _, number = text.partition("=")
        try:
            pair = name.strip(), exact(number.strip())
        except (ValueError, ZeroDivisionError):
            faults.append(Fault(option, "cannot be read", shown(text), "NAME=NUMBER, such as current_a=5"))
            continue
        if any(pair[0] == known for known, _ in found):
            faults.append(Fault(option, "is given twice", shown(pair[0]), "each name once"))
        found.append(pair)
    return found


def _alloys(texts: Iterable[str], faults: list[Fault]) -> list[AskedAlloy]:
    found: dict[str, AskedAlloy] = {}
    for text in texts:
        try:
            if Path(text).suffix.lower() in OTHER_FILES:
                faults.append(Fault(text, "cannot be read", allowed="only the CSV or XML of a sheet can be read"))
                continue
            if not is_file_name(text):
                found[text] = AskedAlloy(text, parse(text))
                continue
            for entry in read_compositions(Path(text)):
                name = printable(entry.name if entry.name not in found else f"{entry.name} ({text})")
                if name in found:
                    faults.append(Fault(text, "names a material twice", shown(entry.name), "each name once"))
                found[name] = AskedAlloy(name, entry.composition, entry.traces, entry.certificate, entry.notes)
        except InputError as error:
            known = (text, Path(text).name) if is_file_name(text) else ("",)
            faults += [
                fault if fault.where.startswith(known) else replace(fault, where=f"{text}, {fault.where}")
                for fault in error.faults
            ]
    return list(found.values())


def _joined(texts: Iterable[str], mass: str, faults: list[Fault]) -> tuple[Contributor, ...]:
    """Return what melts into the joint beside the solder: NAME=ALLOY:MASSmg."""
    found = []
    for text in texts:
        name, _, rest = text.partition("=")
        alloy, _, weight = rest.rpartition(":")
        milligrams = _mass("--with", text, weight, faults)
        if not name.strip() or not name.isprintable() or not alloy.strip():
            faults.append(Fault("--with", "cannot be read", shown(text), WITH_FORM))
            continue
        try:
            found.append(Contributor(name.strip(), parse(alloy), milligrams or Fraction(1)))
        except InputError as error:
            faults += [replace(fault, where=f"--with {name}: {fault.where}") for fault in error.faults]
    names = [SOLDER, *(entry.name for entry in found)]
    for name in sorted({name for name in names if names.count(name) > 1}):
        faults.append(Fault("--with", "names a contributor twice", shown(name), f"each once; {SOLDER} is the alloy"))
    if found and _mass("--mass", mass, mass, faults) is None:
        return ()
    if mass and not found:
        faults.append(Fault("--mass", "is the solder's share of a joint that is not given", remedy="give --with too"))
    return tuple(found)


def _mass(option: str, text: str, number: str, faults: list[Fault]) -> Fraction | None:
    try:
        value = exact(number.strip().removesuffix("mg").strip())
        if number.strip().endswith("mg") and value > 0:
            return value
    except (ValueError, ZeroDivisionError):
        pass
    allowed = WITH_FORM if option == "--with" else "mg of metal above 0 that the solder brings, such as 1.2mg"
    faults.append(Fault(option, "has no mass that can be used", shown(text), allowed))
    return None


def _contributors(entry: AskedAlloy, mass: str, more: tuple[Contributor, ...]) -> tuple[Contributor, ...]:
    milligrams = exact(mass.strip().removesuffix("mg").strip())
    return (Contributor(SOLDER, entry.composition, milligrams), *more)


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
    every = [*bans_of(brief), *bans]
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
        found.append(_context(when, kind, [entry.market], judged or "joint", more, every))
    return found
