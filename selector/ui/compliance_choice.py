"""What is chosen on the page Compliance, as typed, and what can be judged of it: alloys, contexts, every fault."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction

from selector.brief import Brief
from selector.catalogue import Catalogue
from selector.compliance.context import (
    CONSUMER_USES,
    FAR_FROM_CONSUMERS,
    MARKET_CODES,
    Ban,
    Context,
    context,
    of_use,
)
from selector.compliance.typed import content_of, element_of, impossible
from selector.composition import Composition, parse
from selector.errors import Fault, InputError, shown
from selector.fields import UNKNOWN, DateKind
from selector.units import exact

FROM_BRIEF, BY_HAND, WHOLE_LIST = "those of the brief", "chosen here", "the whole catalogue"
SOURCES = (FROM_BRIEF, BY_HAND, WHOLE_LIST)
SHORT_LIST = ("SAC305", "Sn-37Pb", "Bi-42Sn", "Sn-5Sb", "Pb-5Sn")
LEADING_UNIT = re.compile(r"(ppm|mg/kg|wt%|%)(?=[\s:,]|$)", re.IGNORECASE)
MOST_TYPED = 4000
MOST_ALLOYS = 300
COLDEST_C, HOTTEST_C = -273, 3000
BAN_LINE = "an element and a limit in ppm or %, then the reason: Sb 1000 the customer's own list, or Sb 0.1 %"
TRACE_LINE = "an element and its ppm or %, the alloy before it where it is of one only: SAC305 Pb 450, or Pb 0.045 %"


@dataclass(frozen=True)
class Choice:
    """What stands in the fields, faults and all. It stays in the session and never enters the address.

    Parameters
    ----------
    markets : tuple of str
    on : str
        The day asked about, as typed.
    own_days : bool
        Whether each market has the day that the brief gives it.
    date_kind, judged, equipment, application, form : str
    source : str
        One of `SOURCES`.
    picked : tuple of str
        Names of the catalogue.
    typed : str
        Compositions, one a line.
    yes, no : tuple of str
        Words of use that hold, and that do not.
    figures : tuple of (str, str)
        Name and number as typed.
    bans, traces : str
        One a line, as typed. Bans are private.
    onset : str
        The least remelt onset asked for, degC, as typed.
    """

    markets: tuple[str, ...] = ("EU",)
    on: str = ""
    own_days: bool = False
    date_kind: str = "placed on market"
    judged: str = "joint"
    equipment: str = UNKNOWN
    application: str = UNKNOWN
    form: str = UNKNOWN
    source: str = FROM_BRIEF
    picked: tuple[str, ...] = SHORT_LIST
    typed: str = ""
    yes: tuple[str, ...] = ()
    no: tuple[str, ...] = ()
    figures: tuple[tuple[str, str], ...] = ()
    bans: str = ""
    traces: str = ""
    onset: str = ""


@dataclass(frozen=True)
class Asked:
    """What is judged.

    Parameters
    ----------
    alloys : mapping of name to Composition
    contexts : tuple of Context
        One, or one a market where each has its own day.
    traces : mapping of name to (element, ppm)
        Measured contents of one alloy, beside those in the contexts, which hold for all.
    on : date
        The day asked about; the first of them where each market has its own.
    onset_c : float or None
    faults : tuple of Fault
    unused : tuple of str
        Entries with a fault on which every answer may hang: bans, traces, figures, use, day. While there is one,
        nothing is judged.
    spelt : mapping of name to str
        What was typed for an alloy, where it is called otherwise here.
    """

    alloys: Mapping[str, Composition]
    contexts: tuple[Context, ...]
    traces: Mapping[str, tuple[tuple[str, Fraction], ...]]
    on: date
    onset_c: float | None
    faults: tuple[Fault, ...]
    unused: tuple[str, ...] = ()
    spelt: Mapping[str, str] = field(default_factory=dict)


def first_choice(brief: Brief | None, today: date) -> Choice:
    """Return what the page starts from: markets, day, use and bans of a brief, or the EU with no more known."""
    if brief is None:
        return Choice(on=str(today), source=BY_HAND)
    told = [of_use(brief.use, entry) for entry in brief.markets] or [of_use(brief.use, None)]
    days = {(entry.date, entry.date_kind) for entry in brief.markets}
    first = min(days, default=(today, Choice.date_kind))
    return Choice(
        markets=tuple(entry.market for entry in brief.markets) or Choice.markets,
        on=str(first[0]),
        own_days=len(days) > 1,
        date_kind=first[1],
        equipment=told[0].equipment,
        yes=tuple(sorted(set().union(*(entry.yes for entry in told)) - {"electrical"})),
        no=tuple(sorted(set.intersection(*(set(entry.no) for entry in told)))),
        bans="\n".join(f"{ban.element} {ban.limit_ppm:g} {ban.reason}" for ban in brief.bans),
    )


def asked(choice: Choice, brief: Brief | None, of_brief: Sequence[str], catalogue: Catalogue) -> Asked:
    """Return what can be judged of a choice, with every fault in it.

    Parameters
    ----------
    choice : Choice
    brief : Brief or None
        Gives each market its own day where the choice asks for that.
    of_brief : sequence of str
        Names of the alloys that the brief admits or uses.
    catalogue : Catalogue
    """
    faults: list[Fault] = []
    spelt: dict[str, str] = {}
    alloys = _alloys(choice, of_brief, catalogue, faults, spelt)
    before = len(faults)
    on = day_of(choice.on, faults)
    for_all, own = _traces(choice.traces, alloys, faults)
    bans = _bans(choice.bans, faults)
    figures = {}
    for name, text in choice.figures:
        number = _number(name, text, 0, 10**9, "", faults)
        if number is not None:
            figures[name] = exact(text.strip())
    contexts: list[Context] = []
    days = [(on, choice.date_kind, choice.markets)]
    if choice.own_days and brief is not None:
        held = {entry.market: entry for entry in brief.markets}
        days = [
            (held[name].date, held[name].date_kind, (name,)) if name in held else (on, choice.date_kind, (name,))
            for name in choice.markets
        ]
    for day, kind, markets in days:
        if day is None:
            continue
        try:
            contexts.append(
                context(
                    day,
                    [*choice.yes, *(f"not-{word}" for word in (*choice.no, *taken_as_no(choice)))],
                    date_kind=_kind(kind),
                    markets=markets,
                    judged=choice.judged,  # type: ignore[arg-type]
                    equipment=choice.equipment,  # type: ignore[arg-type]
                    application=choice.application,
                    form=choice.form,
                    figures=figures,
                    traces=for_all,
                    bans=bans,
                )
            )
        except InputError as error:
            faults.extend(error.faults)
    unused = tuple(dict.fromkeys(fault.where for fault in faults[before:]))
    onset = _number("Remelt onset at least", choice.onset, COLDEST_C, HOTTEST_C, "degC", faults)
    first = min((entry.on for entry in contexts), default=on or date.min)
    return Asked(alloys, tuple(contexts), own, first, onset, tuple(dict.fromkeys(faults)), unused, spelt)


def taken_as_no(choice: Choice) -> tuple[str, ...]:
    """Return the words of use that the kind of equipment denies: what flies or drives is no toy and no jewellery."""
    if choice.equipment not in FAR_FROM_CONSUMERS:
        return ()
    return tuple(word for word in CONSUMER_USES if word not in (*choice.yes, *choice.no))


def answered(choice: Choice, word: str, holds: bool) -> Choice:
    """Return a choice with one word of use said or denied."""
    yes, no = set(choice.yes) - {word}, set(choice.no) - {word}
    (yes if holds else no).add(word)
    return replace(choice, yes=tuple(sorted(yes)), no=tuple(sorted(no)))


def day_of(text: str, faults: list[Fault]) -> date | None:
    """Return a day as typed; None with a fault where it is none."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        faults.append(Fault("As of", "is not a day", shown(text), "a day such as 2027-09-01"))
        return None


def _kind(kind: str) -> DateKind:
    return kind  # type: ignore[return-value]


def _alloys(
    choice: Choice, of_brief: Sequence[str], catalogue: Catalogue, faults: list[Fault], spelt: dict[str, str]
) -> dict[str, Composition]:
    if choice.source == WHOLE_LIST:
        return {name: alloy.composition for name, alloy in catalogue.alloys.items()}
    if choice.source == FROM_BRIEF:
        return {name: catalogue.alloys[name].composition for name in of_brief if name in catalogue.alloys}
    found = {name: catalogue.alloys[name].composition for name in choice.picked if name in catalogue.alloys}
    for place, text in _lines(choice.typed):
        try:
            name, composition = _named(text, catalogue)
        except InputError as error:
            faults += [Fault(f"Line {place}: {f.where}", f.problem, f.value, f.allowed, f.remedy) for f in error.faults]
            continue
        found.setdefault(name, composition)
        if text != name:
            spelt.setdefault(name, text)
    if len(found) > MOST_ALLOYS:
        faults.append(Fault("Alloys", "are too many", str(len(found)), f"at most {MOST_ALLOYS}"))
        return {}
    return found


def _named(text: str, catalogue: Catalogue) -> tuple[str, Composition]:
    """Return an alloy as the catalogue calls it, else by its composition."""
    try:
        alloy = catalogue.find(text)
        return alloy.id, alloy.composition
    except InputError:
        composition = parse(text)
        return str(composition), composition


def _lines(text: str) -> Iterable[tuple[int, str]]:
    return ((place, line.strip()) for place, line in enumerate(text.splitlines(), 1) if line.strip())


def _bans(text: str, faults: list[Fault]) -> tuple[Ban, ...]:
    found: dict[str, Ban] = {}
    for place, line in _lines(text):
        where = f"Ban, line {place}"
        words = line.replace("=", " ").split(maxsplit=1)
        if len(words) < 2:
            faults.append(Fault(where, "has no limit", shown(line), BAN_LINE))
            continue
        limit, _, rest = words[1].partition(" ")
        told = LEADING_UNIT.match(rest.strip())
        if told:
            limit, rest = f"{limit} {told[1]}", rest.strip()[told.end() :]
        symbol, ppm = element_of(where, words[0], faults), content_of(where, limit.rstrip(":"), faults, bare=True)
        if symbol is None or ppm is None:
            continue
        if symbol in found:
            faults.append(Fault(where, "bans an element for the second time", symbol, "each element once"))
        found[symbol] = Ban(symbol, ppm, rest.strip(" :,") or "as typed on the page")
    return tuple(found.values())


def _traces(
    text: str, alloys: Mapping[str, Composition], faults: list[Fault]
) -> tuple[dict[str, Fraction], dict[str, tuple[tuple[str, Fraction], ...]]]:
    """Return measured contents of every alloy, and those of one alloy only."""
    for_all: dict[str, Fraction] = {}
    own: dict[str, tuple[tuple[str, Fraction], ...]] = {}
    for place, line in _lines(text):
        where = f"Trace, line {place}"
        words = line.replace("=", " ").split()
        if len(words) > 2 and LEADING_UNIT.fullmatch(words[-1]):
            words = [*words[:-2], f"{words[-2]} {words[-1]}"]
        if len(words) not in (2, 3):
            faults.append(Fault(where, "cannot be read", shown(line), TRACE_LINE))
            continue
        *names, named, content = words
        symbol, ppm = element_of(where, named, faults), content_of(where, content, faults, bare=True)
        if symbol is None or ppm is None:
            continue
        if names and names[0] not in alloys:
            faults.append(Fault(where, "names no alloy that is judged", shown(names[0]), ", ".join(list(alloys)[:6])))
            continue
        held = own.get(names[0], ()) if names else tuple(for_all.items())
        if symbol in dict(held):
            faults.append(Fault(where, "measures an element for the second time", symbol, "each element once"))
        elif names:
            own[names[0]] = (*held, (symbol, ppm))
        else:
            for_all[symbol] = ppm
    for name in own or ("",):
        faults += impossible(f"Traces {name}".strip(), {**for_all, **dict(own.get(name, ()))})
    return for_all, own


def _number(where: str, text: str, least: float, most: float, unit: str, faults: list[Fault]) -> float | None:
    if not text.strip():
        return None
    try:
        number = float(exact(text.strip()))
    except (ValueError, ZeroDivisionError, OverflowError):
        faults.append(Fault(where, "is not a number", shown(text), f"{least:g} to {most:g} {unit}".strip()))
        return None
    if not least <= number <= most:
        faults.append(Fault(where, "lies outside the range", shown(text), f"{least:g} to {most:g} {unit}".strip()))
        return None
    return number


def markets_listed() -> tuple[str, ...]:
    """Return the markets that can be asked about."""
    return tuple(MARKET_CODES.values())
