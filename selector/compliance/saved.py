"""Verdicts as they are saved with a decision or a sheet, and what a newer rule set makes of them.

Saved is what was asked (use, market and day), of which compositions, the days to which the rule sets were known, and
what each rule said. Nothing else is needed to ask again. A rule that is not saved for an alloy did not apply to it.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any, Literal, get_args

from selector.brief import Brief
from selector.compliance.context import Ban, Context, bans_of, context, of_use
from selector.compliance.evaluation import evaluate_all
from selector.compliance.finding import Finding
from selector.compliance.rulesets import EXEMPTING, all_rules, rule_sets
from selector.composition import Composition, decimal_text, from_mapping, parse
from selector.errors import Fault, InputError, shown
from selector.units import exact
from selector.verdict import Outcome

FORMAT = 1
NOT_APPLICABLE = Outcome.NOT_APPLICABLE.value
Part = Literal["law", "bans", "everything"]


@dataclass(frozen=True)
class Asked:
    """One question: of what use, where and when, and which part of the rules was asked."""

    context: Context
    part: Part


@dataclass(frozen=True)
class Change:
    """A verdict that is no longer what was saved.

    Parameters
    ----------
    alloy, rule_id, rule_set : str
    markets : tuple of str
    on : date
        The day asked about now.
    old, new : str
        Outcome, with the duty behind a colon where there is one.
    reason : str
        Of the new verdict; empty where the rule is gone.
    """

    alloy: str
    rule_id: str
    rule_set: str
    markets: tuple[str, ...]
    on: date
    old: str
    new: str
    reason: str


@dataclass(frozen=True)
class Rechecked:
    """What asking again comes to.

    Parameters
    ----------
    changes : tuple of Change
    unchanged : int
        Verdicts, of rules that apply now or did then, that are what they were.
    rule_dates : tuple of (str, str, str)
        Rule set, the day to which it was known then, and now; empty where it was not there.
    """

    changes: tuple[Change, ...]
    unchanged: int
    rule_dates: tuple[tuple[str, str, str], ...]


def of_brief(brief: Brief) -> tuple[Asked, ...]:
    """Return what a brief asks: the law of each market on its day, and the customer's bans, which know no day."""
    asked = [Asked(of_use(brief.use, entry), "law") for entry in brief.markets]
    if brief.bans:
        asked.append(Asked(replace(of_use(brief.use, None), bans=bans_of(brief)), "bans"))
    return tuple(asked)


def saved(alloys: Mapping[str, Composition], asked: Iterable[Asked]) -> dict[str, object]:
    """Return verdicts as plain data: what stands under `compliance` in a saved decision.

    For every question and rule, the commonest verdict stands once under `others`, and alloys are named by the rest.
    """
    return {
        "format": FORMAT,
        "rule_sets": {entry.rule_set: str(entry.known_to) for entry in rule_sets()},
        "alloys": {
            name: {element: _text(wt) for element, wt in composition.parts} for name, composition in alloys.items()
        },
        "asked": [
            {"part": one.part, **_context_plain(one.context), "verdicts": _grouped(_findings(alloys, one))}
            for one in asked
        ],
    }


def recheck(block: object, on: date | None = None) -> Rechecked:
    """Return what the rules as they are now say to a saved `compliance` block.

    Parameters
    ----------
    block : object
        As `saved` wrote it.
    on : date, optional
        Another day to ask about; each question's own where left out.

    Raises
    ------
    InputError
        The block is not one that `saved` wrote: what is wrong, all at once.
    """
    alloys, questions, then = _read(block)
    changes: list[Change] = []
    unchanged = 0
    for one, before in questions:
        moved = Asked(replace(one.context, on=on), one.part) if on and one.context.on != date.max else one
        found = {(entry.alloy, entry.rule_id): entry for entry in _findings(alloys, moved)}
        for alloy, rule_id in dict.fromkeys([*before, *found]):
            old = before.get((alloy, rule_id), NOT_APPLICABLE)
            entry = found.get((alloy, rule_id))
            new = NOT_APPLICABLE if entry is None else word(entry)
            if old == new:
                unchanged += new != NOT_APPLICABLE
                continue
            changes.append(
                Change(
                    alloy,
                    rule_id,
                    "" if entry is None else entry.rule_set,
                    tuple(sorted(moved.context.markets)),
                    moved.context.on,
                    old,
                    new,
                    "the rule is no longer there" if entry is None else entry.reason,
                )
            )
    now = {entry.rule_set: str(entry.known_to) for entry in rule_sets()}
    dates = tuple((name, then.get(name, ""), now.get(name, "")) for name in dict.fromkeys([*then, *now]))
    return Rechecked(tuple(changes), unchanged, dates)


def word(found: Finding) -> str:
    """Return a verdict as it is saved: its outcome, with the duty behind a colon."""
    return f"{found.outcome}: {found.duty}" if found.duty else str(found.outcome)


def _findings(alloys: Mapping[str, Composition], asked: Asked) -> list[Finding]:
    """Return the findings of the part asked; exemptions stand with the restriction that they lift."""
    aside = {rule.id for rule in all_rules() if rule.effect in EXEMPTING}
    bans = {f"CUST-{ban.element.upper()}" for ban in asked.context.bans}
    found = evaluate_all(alloys, asked.context)
    if asked.part == "law":
        return [entry for entry in found if entry.kind == "law" and entry.rule_id not in aside]
    if asked.part == "bans":
        return [entry for entry in found if entry.rule_id in bans]
    return [entry for entry in found if entry.rule_id not in aside]


def _grouped(findings: Sequence[Finding]) -> dict[str, dict[str, object]]:
    by_rule: dict[str, dict[str, str]] = {}
    for entry in findings:
        by_rule.setdefault(entry.rule_id, {})[entry.alloy] = word(entry)
    grouped: dict[str, dict[str, object]] = {}
    for rule_id, words in by_rule.items():
        common = Counter(words.values()).most_common(1)[0][0]
        if set(words.values()) == {NOT_APPLICABLE}:
            continue
        rest: dict[str, list[str]] = {}
        for alloy, told in words.items():
            if told != common:
                rest.setdefault(told, []).append(alloy)
        grouped[rule_id] = {"others": common, **rest}
    return grouped


def _text(number: Fraction) -> str:
    """Return a figure as exact text: a decimal where it ends, else a fraction."""
    decimal = decimal_text(number)
    return decimal if Fraction(decimal) == number else str(number)


def _context_plain(entry: Context) -> dict[str, object]:
    """Return a context as plain data, with every figure as exact text."""
    return {
        "on": str(entry.on),
        "date_kind": entry.date_kind,
        "markets": sorted(entry.markets),
        "judged": entry.judged,
        "equipment": entry.equipment,
        "uses": [*sorted(entry.yes - {"electrical"}), *(f"not-{word}" for word in sorted(entry.no))],
        "application": entry.application,
        "form": entry.form,
        "figures": {name: _text(value) for name, value in entry.figures},
        "traces_ppm": {name: _text(value) for name, value in entry.traces},
        "declared": None if entry.declared is None else sorted(entry.declared),
        "customer": sorted(entry.customer),
        "bans": [{"element": b.element, "limit_ppm": _text(b.limit_ppm), "reason": b.reason} for b in entry.bans],
    }


def _read(
    block: object,
) -> tuple[dict[str, Composition], list[tuple[Asked, dict[tuple[str, str], str]]], dict[str, str]]:
    """Return alloys, questions with their saved verdicts, and the days of the rule sets, of a saved block."""
    what = "the saved verdicts"
    if not isinstance(block, dict):
        raise InputError(what, [Fault("compliance", "is not a table of saved verdicts", shown(block))])
    if block.get("format") != FORMAT:
        told = shown(block.get("format"))
        raise InputError(what, [Fault("compliance.format", "is not one that is known here", told, str(FORMAT))])
    faults: list[Fault] = []
    alloys: dict[str, Composition] = {}
    for name, parts in _table(block, "alloys", faults).items():
        try:
            alloys[name] = _composition(parts)
        except InputError as error:
            faults += [replace(fault, where=f"alloys.{name}: {fault.where}") for fault in error.faults]
    questions = []
    listed = block.get("asked")
    if not isinstance(listed, list):
        faults.append(Fault("asked", "is not a list of questions", shown(listed)))
        listed = []
    for index, raw in enumerate(listed):
        place = f"asked[{index}]"
        try:
            questions.append((_asked(raw), _verdicts(raw, list(alloys))))
        except InputError as error:
            faults += [replace(fault, where=f"{place}: {fault.where}") for fault in error.faults]
        except (AttributeError, KeyError, TypeError, ValueError, ZeroDivisionError) as error:
            faults.append(Fault(place, "is not a question as this tool saves it", shown(f"{error!r}")))
    then = {name: str(day) for name, day in _table(block, "rule_sets", faults).items()}
    if faults:
        raise InputError(what, faults)
    return alloys, questions, then


def _table(block: Mapping[str, Any], key: str, faults: list[Fault]) -> dict[str, Any]:
    found = block.get(key)
    if not isinstance(found, dict):
        faults.append(Fault(key, "is not a table", shown(found)))
        return {}
    return found


def _composition(parts: object) -> Composition:
    return from_mapping(parts) if isinstance(parts, dict) else parse(str(parts))


def _asked(raw: dict[str, Any]) -> Asked:
    if raw["part"] not in get_args(Part):
        raise InputError("part", [Fault("part", "is not one that is known here", shown(raw["part"]))])
    found = context(
        date.fromisoformat(raw["on"]),
        raw["uses"],
        date_kind=raw["date_kind"],
        markets=raw["markets"],
        judged=raw["judged"],
        equipment=raw["equipment"],
        application=raw["application"],
        form=raw["form"],
        figures={name: exact(value) for name, value in raw["figures"].items()},
        traces={name: exact(value) for name, value in raw["traces_ppm"].items()},
        declared=raw["declared"],
        customer=raw["customer"],
        bans=[Ban(row["element"], exact(row["limit_ppm"]), row["reason"]) for row in raw["bans"]],
    )
    return Asked(found, raw["part"])


def _verdicts(raw: dict[str, Any], alloys: Sequence[str]) -> dict[tuple[str, str], str]:
    known = {outcome.value for outcome in Outcome}
    found: dict[tuple[str, str], str] = {}
    for rule_id, groups in raw["verdicts"].items():
        for told, names in groups.items():
            saying = names if told == "others" else told
            if saying.partition(":")[0] not in known:
                raise InputError("verdicts", [Fault(rule_id, "holds a verdict that is not known here", shown(saying))])
        for alloy in alloys:
            named = (told for told, names in groups.items() if told != "others" and alloy in names)
            found[alloy, rule_id] = next(named, groups["others"])
    return found
