"""Whether an exemption saves a content that is over a limit.

An exemption has to be claimed for a use, and has days. One past its day may still be kept alive by a renewal that
cannot be seen from here: it never gives a pass, and turns a fail into an unknown. An entry that goes by its use
alone, with no content to meet, lifts nothing until that use is claimed.
"""

from calendar import monthrange
from collections.abc import Sequence
from datetime import date
from enum import StrEnum
from fractions import Fraction
from functools import cache, lru_cache
from typing import NamedTuple

from selector.compliance.context import USES, Context
from selector.compliance.reach import rule_reach, window
from selector.compliance.rulesets import EXEMPTING, UNCONFIRMED, Rule, all_rules


class Status(StrEnum):
    """What a claim to an exemption comes to."""

    SAVES = "saves"
    NEEDS_EVIDENCE = "needs evidence"
    LAPSED = "past its date"
    CONFIRM = "unconfirmed"
    MISSING = "use not known"
    UNCLAIMED = "claimed for no use"
    NOT_YET = "not yet applied"
    ENDED = "ended"
    CONTENT = "content does not fit"
    NOT_COVERED = "use not covered"


RENEWAL = "renewal-filed"
RENEWAL_MONTHS = 18
RENEWED = ("EU RoHS",)  # rule sets whose renewals are due that long before the day
# Strongest first. The first of these leave the question open.
OPEN = (Status.MISSING, Status.NEEDS_EVIDENCE, Status.LAPSED, Status.CONFIRM)


class Claim(NamedTuple):
    """One exemption held against one content, use and day."""

    rule: Rule
    status: Status
    text: str
    until: date | None = None


def exempting(rule: Rule, rules: Sequence[Rule] | None = None) -> tuple[Rule, ...]:
    """Return the exemptions and routes that may lift a restriction, among all that ship where `rules` is left out."""
    if rules is None:
        return _shipped(rule.rule_set, rule.market, rule.elements)
    return _among(rules, rule.rule_set, rule.market, rule.elements)


@cache
def _shipped(rule_set: str, market: str, elements: tuple[str, ...]) -> tuple[Rule, ...]:
    return _among(all_rules(), rule_set, market, elements)


def _among(rules: Sequence[Rule], rule_set: str, market: str, elements: tuple[str, ...]) -> tuple[Rule, ...]:
    return tuple(
        entry
        for entry in rules
        if entry.effect in EXEMPTING
        and (entry.rule_set, entry.market) == (rule_set, market)
        and set(entry.elements) & set(elements)
    )


def restriction(rule_set: str, market: str, element: str, rules: Sequence[Rule] | None) -> Rule | None:
    """Return the restriction of an element in a rule set; an empty market stands for any."""
    if rules is None:
        return _shipped_restriction(rule_set, market, element)
    return next(
        (
            entry
            for entry in rules
            if entry.effect == "restrict"
            and entry.rule_set == rule_set
            and element in entry.elements
            and market in ("", entry.market)
        ),
        None,
    )


@cache
def _shipped_restriction(rule_set: str, market: str, element: str) -> Rule | None:
    return restriction(rule_set, market, element, all_rules())


def claim(rule: Rule, content: Fraction, context: Context, on: date) -> Claim:
    """Return what an exemption comes to for a content of the solder alloy, in ppm.

    Parameters
    ----------
    rule : Rule
        Of an effect in `EXEMPTING`, routes left out.
    content : Fraction
    context : Context
    on : date
    """
    return _claim(rule, rule.limit_ppm is None or content >= rule.limit_ppm, context, on)


@lru_cache(maxsize=32_768)
def _claim(rule: Rule, fits: bool, context: Context, on: date) -> Claim:
    """Return a claim as far as it hangs on no more of the content than whether it fits; kept for the next alloy."""
    name = rule.exemption
    if rule.starts is not None and on < rule.starts:
        return Claim(rule, Status.NOT_YET, f"{name} applies from {rule.starts}")
    days = window(rule.valid_until, rule.until_by_category, context)
    until = days[0] if days else None
    past = days is not None and on > days[0]
    if rule.after_end == "ended" and days is not None and on > days[1]:
        return Claim(rule, Status.ENDED, f"{name} ended {days[1]}", days[1])
    if rule.limit_ppm is not None and not fits:
        return Claim(rule, Status.CONTENT, f"{name} needs {float(rule.limit_ppm) / 10_000:g} % or more")
    found = rule_reach(rule, context, on)
    if found.met is False:
        return Claim(rule, Status.NOT_COVERED, f"{name}: {found.text}")
    doubtful = past or rule.effect == "exempt-unconfirmed" or rule.confidence in UNCONFIRMED
    if not found.claimed and rule.limit_ppm is None:
        # Nothing of the alloy points to this entry: it is its use alone that counts, and nobody claims that use.
        return Claim(rule, Status.UNCLAIMED, f"{name} asks for a use that is not claimed: {rule.substance}", until)
    if past:
        assert until is not None
        return _past(rule, until, context)
    if doubtful:
        return Claim(rule, Status.CONFIRM, f"{name} is not confirmed", until)
    if found.met is None:
        ends = f", as known until {until}" if until else ""
        return Claim(rule, Status.MISSING, f"{name} may save it{ends}; not known: {found.text}", until)
    if rule.awaiting or rule.evidence:
        text = f"{name}: {rule.awaiting}" if rule.awaiting else f"{name} asks for {rule.evidence}"
        return Claim(rule, Status.NEEDS_EVIDENCE, text, until)
    return Claim(rule, Status.SAVES, f"{name} saves it" + (f" until {until}" if until else ""), until)


def _past(rule: Rule, until: date, context: Context) -> Claim:
    """Return a claim to an exemption past its day, by whether its renewal was filed."""
    name, filed = rule.exemption, context.holds(RENEWAL)
    due = f" by {renewal_due(until)}" if rule.rule_set in RENEWED else ""
    if filed is False:
        return Claim(rule, Status.ENDED, f"{name} ended {until}: no renewal was filed{due}", until)
    if filed:
        text = f"{name} is past its date {until} and alive while the application for renewal is decided: recheck"
        return Claim(rule, Status.LAPSED, text, until)
    text = f"{name} is past its date {until}; a renewal filed in time{due} would keep it alive, else it is out"
    return Claim(rule, Status.LAPSED, f"{text}; not known: whether {USES[RENEWAL]}", until)


def renewal_due(until: date) -> date:
    """Return the day by which a renewal has to be filed: 18 months before the exemption ends (rule EU-ROHS-PROC)."""
    months = until.year * 12 + until.month - 1 - RENEWAL_MONTHS
    year, month = divmod(months, 12)
    return date(year, month + 1, min(until.day, monthrange(year, month + 1)[1]))


def best(claims: Sequence[Claim]) -> Claim | None:
    """Return the claim that saves longest, else the strongest that leaves the question open; None where all fail."""
    saving = [entry for entry in claims if entry.status is Status.SAVES]
    if saving:
        return max(saving, key=lambda entry: entry.until or date.max)
    return min(
        (entry for entry in claims if entry.status in OPEN), key=lambda entry: OPEN.index(entry.status), default=None
    )
