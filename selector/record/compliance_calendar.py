"""The days on which rules change, for the markets asked about: what changes, in words, and for which alloys."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from selector.compliance.context import WITHIN, WORLD
from selector.compliance.finding import Finding
from selector.compliance.rulesets import EXEMPTING, NOT_THE_METAL, Rule, all_rules
from selector.record.compliance_grid import KINDS
from selector.record.compliance_words import exempts, listed

BEGINS, ENDS, TEXT = "begins", "ends", "text changes"
NOT_TOLD = ("information", "not-applicable", "scope", "scope-exclusion", "exempt-not-solder", "classify")
MOST_NAMED = 3
A_DAY = timedelta(days=1)


@dataclass(frozen=True)
class DatedChange:
    """What changes in one rule set on one day.

    Parameters
    ----------
    day : date
    kind, rule_set, market : str
    sort : str
        begins, ends or text changes.
    told : str
        In words.
    rules : tuple of str
        Ids of the rules.
    alloys : tuple of str
        Of those judged, whose answer is known to change on that day.
    """

    day: date
    kind: str
    rule_set: str
    market: str
    sort: str
    told: str
    rules: tuple[str, ...]
    alloys: tuple[str, ...] = ()


class _Event(NamedTuple):
    day: date
    sort: str
    what: str


def known_year(rules: Iterable[Rule] | None = None) -> date:
    """Return the first day of the year to which the rules are known: earlier changes are past."""
    return date(max(rule.known_to for rule in (all_rules() if rules is None else rules)).year, 1, 1)


def calendar(
    markets: Iterable[str],
    findings: Sequence[Finding] = (),
    since: date | None = None,
    rules: Sequence[Rule] | None = None,
) -> tuple[DatedChange, ...]:
    """Return the changes of rules that can reach a solder metal, in order of days.

    Parameters
    ----------
    markets : iterable of str
        None stands for all; rules of the whole world count always, and those of a country for its states.
    findings : sequence of Finding, optional
        Of the alloys judged: those whose next change falls on a day are named with it.
    since : date, optional
        From this day on; the year to which the rules are known where left out.
    rules : sequence of Rule, optional
        All that ship where left out.
    """
    asked = {*markets}
    asked |= {WITHIN[market] for market in asked if market in WITHIN}
    first = known_year(rules) if since is None else since
    groups: dict[tuple[date, str, str, str, str, str], list[Rule]] = {}
    for rule in all_rules() if rules is None else rules:
        if asked and rule.market not in (*asked, WORLD):
            continue
        if rule.effect in NOT_TOLD or rule.counts == "none of the metal" or rule.basis in NOT_THE_METAL:
            continue
        for event in events(rule):
            if event.day >= first:
                key = (event.day, rule.kind, rule.rule_set, rule.market, event.sort, event.what)
                groups.setdefault(key, []).append(rule)
    moved = _moved(findings)
    order = [*KINDS]
    return tuple(
        DatedChange(
            day,
            kind,
            rule_set,
            market,
            sort,
            f"{_names(held)}: {what}",
            tuple(dict.fromkeys(rule.id for rule in held)),
            tuple(dict.fromkeys(alloy for rule in held for alloy in moved.get((day, rule_set, market), ()))),
        )
        for (day, kind, rule_set, market, sort, what), held in sorted(
            groups.items(), key=lambda pair: (pair[0][0], order.index(pair[0][1]), pair[0][2:])
        )
    )


def events(rule: Rule) -> tuple[_Event, ...]:
    """Return what changes in a rule by itself, day by day."""
    exempts_use = rule.effect in EXEMPTING
    found = []
    starts = {day for day in (rule.in_force_from, rule.applies_from) if day}
    found += [_Event(day, BEGINS, "usable" if exempts_use else "applies") for day in starts]
    for entry in rule.from_by_category:
        what = f"applies to equipment of category {', '.join(entry.categories)}"
        found += [_Event(day, BEGINS, what) for day in {entry.day, entry.latest} if day]
    ended = "ended" if rule.after_end == "ended" else "past the last day: lawful only if renewed"
    past = ended if exempts_use else f"past {rule.valid_until}: {rule.until_text or 'look again'}"
    if rule.valid_until:
        found.append(_Event(rule.valid_until + A_DAY, ENDS, past))
    for entry in rule.until_by_category:
        what = f"for category {', '.join(entry.categories)} {ended}"
        found += [_Event(day + A_DAY, ENDS, what) for day in {entry.day, entry.latest} if day]
    found += [_Event(entry.starts, TEXT, f"goes by {entry.instrument}") for entry in rule.editions]
    for scope in rule.scope:
        told = f" ({scope.text})" if scope.text else ""
        found += [_Event(scope.starts, BEGINS, f"reaches further uses{told}")] if scope.starts else []
        found += [_Event(scope.ends + A_DAY, ENDS, f"a scope ends{told}")] if scope.ends else []
    return tuple(dict.fromkeys(found))


def _names(rules: Sequence[Rule]) -> str:
    """Return what rules are called by people: exemptions by their entry, others by their elements."""
    entries = [rule.exemption for rule in rules if rule.effect in EXEMPTING]
    if len(entries) == len(rules):
        return f"exemption{'s' if len(entries) > 1 else ''} {listed(entries, MOST_NAMED)}"
    elements = dict.fromkeys(element for rule in rules for element in rule.elements)
    return f"{listed(elements, MOST_NAMED)}" if elements else rules[0].substance


def _moved(findings: Iterable[Finding]) -> Mapping[tuple[date, str, str], tuple[str, ...]]:
    """Return the alloys whose answer changes, by day, rule set and market."""
    markets = {rule.id: rule.market for rule in all_rules()}
    found: dict[tuple[date, str, str], dict[str, None]] = {}
    for entry in findings:
        if entry.next_change is None or exempts(entry) or entry.next_change.becomes.startswith("the text"):
            continue
        if entry.measured_ppm == 0 or (entry.measured_ppm is None and not entry.outcome.startswith(("fail", "unkn"))):
            continue
        key = (entry.next_change.day, entry.rule_set, markets.get(entry.rule_id, WORLD))
        found.setdefault(key, {})[entry.alloy] = None
    return {key: tuple(alloys) for key, alloys in found.items()}


def change_days(changes: Iterable[DatedChange]) -> tuple[date, ...]:
    """Return the days of changes, each once, in order."""
    return tuple(sorted({change.day for change in changes}))


def rows(changes: Iterable[DatedChange], on: date | None) -> list[dict[str, str]]:
    """Return changes as text cells: what the page shows as a table, and what it hands over."""
    return [
        {
            "day": str(change.day),
            "seen from the day asked": ""
            if on is None
            else "before the day asked"
            if change.day < on
            else "that day"
            if change.day == on
            else "coming",
            "kind": KINDS.get(change.kind, change.kind),
            "rule set": change.rule_set,
            "market": change.market,
            "change": change.sort,
            "what": change.told,
            "alloys whose answer changes": ", ".join(change.alloys),
        }
        for change in changes
    ]
