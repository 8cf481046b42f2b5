"""Findings of compliance as plain data for machines, as rows for a spreadsheet, and as text for a terminal."""

from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction
from functools import cache

from rich.console import Console
from rich.table import Table

from selector.compliance.context import JUDGED, Context
from selector.compliance.evaluation import BAN_SET, failing
from selector.compliance.finding import Finding
from selector.compliance.rulesets import RuleSet, all_rules
from selector.composition import decimal_text
from selector.fields import UNKNOWN
from selector.record.compliance_grid import BINDING
from selector.record.compliance_words import exempts, over_text
from selector.record.plain import guarded
from selector.verdict import Outcome

NOT_ADVICE = (
    "No legal advice: the local text and qualified people decide. A screening aid: it has qualified no joint."
    " Implants are out of its reach."
)
NOMINAL = "What holds, holds as nominal: the certificate of the lot must confirm the traces that were not measured."
NOTHING_FAILS = "Nothing fails."
YEARS_AHEAD = 10


def plain(findings: Sequence[Finding]) -> list[dict[str, object]]:
    """Return findings as plain data: what `comply --json` prints."""

    def number(value: Fraction | None) -> float | int | None:
        return None if value is None else int(value) if value.denominator == 1 else float(value)

    return [
        {
            "alloy": entry.alloy,
            "rule_id": entry.rule_id,
            "rule_set": entry.rule_set,
            "outcome": str(entry.outcome),
            "measured_ppm": number(entry.measured_ppm),
            "limit_ppm": number(entry.limit_ppm),
            "margin_ppm": number(entry.margin_ppm),
            "exemption": entry.exemption or None,
            "reason": entry.reason,
            "source": entry.source,
            "next_change": None if entry.next_change is None else str(entry.next_change),
        }
        for entry in findings
    ]


def rows(findings: Sequence[Finding]) -> list[dict[str, str]]:
    """Return findings as text cells: what `comply --csv` prints, with kind, duty, clause and both days."""

    def figure(value: Fraction | None) -> str:
        return "" if value is None else decimal_text(value)

    return [
        {
            "alloy": guarded(entry.alloy),
            "rule_id": entry.rule_id,
            "rule_set": guarded(entry.rule_set),
            "kind": entry.kind,
            "outcome": str(entry.outcome),
            "duty": entry.duty,
            "measured_ppm": figure(entry.measured_ppm),
            "limit_ppm": figure(entry.limit_ppm),
            "margin_ppm": figure(entry.margin_ppm),
            "exemption": guarded(entry.exemption),
            "exemption_until": "" if entry.exemption_until is None else str(entry.exemption_until),
            "reason": guarded(entry.reason),
            "source": guarded(entry.source),
            "clause": guarded(entry.clause),
            "next_change": "" if entry.next_change is None else guarded(str(entry.next_change)),
            "as_of": str(entry.as_of),
            "known_to": str(entry.known_to),
        }
        for entry in findings
    ]


def _answer(entry: Finding) -> str:
    word = str(entry.outcome).replace("_", " ")
    return f"{word}: {entry.duty}" if entry.duty else word


def _margin(entry: Finding) -> str:
    if entry.margin_ppm is None:
        return ""
    sign = "+" if entry.margin_ppm >= 0 else ""
    return f"{sign}{decimal_text(entry.margin_ppm)} ppm"


def known_text(findings: Iterable[Finding]) -> str:
    """Return to which day the rules behind findings are known: `2026-11-25`, or the first and the last."""
    # A ban given in figures is known as of the day asked about, and is no rule of a file.
    days = sorted({e.known_to for e in findings if e.rule_set != BAN_SET or e.known_to != e.as_of})
    if len(days) < 2:
        return str(days[0]) if days else "no day"
    return f"{days[0]} to {days[-1]}, rule by rule"


def show(console: Console, findings: Sequence[Finding], contexts: Sequence[Context] = ()) -> None:
    """Print every finding a kind at a time, worst first within each: also what does not apply, and each exemption.

    Parameters
    ----------
    console : Console
    findings : sequence of Finding
        In order of alloys.
    contexts : sequence of Context
        What was asked: to say what was judged.
    """
    order = (Outcome.FAIL, Outcome.UNKNOWN, Outcome.DUTY, Outcome.PASS, Outcome.NOT_APPLICABLE)
    for kind in dict.fromkeys(entry.kind for entry in findings):
        console.print(f"\n{kind.capitalize().replace('-', ' ')}", style="bold")
        table = Table(box=None, pad_edge=False, header_style="bold")
        for name in ("alloy", "rule", "answer", "margin", "reason", "next change"):
            table.add_column(name, overflow="fold", min_width=6)
        alloys = list(dict.fromkeys(entry.alloy for entry in findings))
        for entry in sorted(
            (entry for entry in findings if entry.kind == kind),
            key=lambda entry: (alloys.index(entry.alloy), order.index(entry.outcome)),
        ):
            change = "" if entry.next_change is None else str(entry.next_change.day)
            table.add_row(entry.alloy, entry.rule_id, _answer(entry), _margin(entry), entry.reason, change)
        console.print(table)
    close(console, findings, contexts)


def over(findings: Iterable[Finding]) -> str:
    """Return what open findings of law and customers are over, each once; empty where none is over a limit."""
    told = (over_text(entry) for entry in findings if entry.kind in BINDING and not exempts(entry))
    return "; ".join(dict.fromkeys(text for text in told if text))


def _over_by_alloy(findings: Sequence[Finding]) -> str:
    alloys = dict.fromkeys(entry.alloy for entry in findings)
    told = {alloy: over(entry for entry in findings if entry.alloy == alloy) for alloy in alloys}
    return ". ".join(f"{alloy}: {text}" for alloy, text in told.items() if text)


def close(console: Console, findings: Sequence[Finding], contexts: Sequence[Context] = ()) -> None:
    """Print what ends every table: what fails or is over a limit, what was judged, both days, that it is no advice."""
    failed = dict.fromkeys(entry.alloy for entry in failing(findings))
    beyond, cautions = _over_by_alloy(findings), day_cautions(contexts)
    if failed:
        console.print(f"\nFails: {', '.join(failed)}.", style="bold")
    elif not cautions:
        console.print(f"\n{NOTHING_FAILS if not beyond else 'Nothing fails for certain.'}", style="bold")
    if beyond:
        console.print(f"Over a limit, and open. {beyond}.", style="bold")
    for caution in cautions:
        console.print(f"Watch: {caution}.", style="bold")
    if contexts:
        told = (judged_text(contexts), as_sold_hint(contexts), bans_text(contexts, "of brief and command line"))
        console.print(" ".join(text for text in told if text))
    if findings:
        days = " and ".join(str(day) for day in sorted({entry.as_of for entry in findings}))
        console.print(f"As of {days}, under the rules as known on {known_text(findings)}.")
    console.print(NOT_ADVICE)


def judged_text(contexts: Iterable[Context]) -> str:
    """Return what is judged, in a sentence."""
    told = dict.fromkeys(JUDGED[context.judged] for context in contexts)
    return f"Judged: {'; '.join(told)}."


def as_sold_hint(contexts: Iterable[Context]) -> str:
    """Return how to ask about the solder as sold, where form or public sale points to it; empty otherwise."""
    for context in contexts:
        if context.judged == "joint" and (context.form != UNKNOWN or "public-sale" in context.yes):
            return "The solder as sold, flux included, is another question: --as mixture."
    return ""


def bans_text(contexts: Iterable[Context], whose: str) -> str:
    """Return which bans are judged, with limits and where they come from; empty where there are none."""
    bans = dict.fromkeys(f"{ban.element} above {decimal_text(ban.limit_ppm)} ppm" for c in contexts for ban in c.bans)
    return f"Bans judged, {whose}: {', '.join(bans)}." if bans else ""


def day_cautions(contexts: Iterable[Context]) -> list[str]:
    """Return why nothing can be said to pass: a day far from those that the rules know, or an implant."""
    told: dict[str, None] = {}
    for context in contexts:
        if context.holds("implant") or context.equipment == "active implant":
            told["implants are out of the reach of this tool: nothing can be said to pass"] = None
        first, last = _known_days(context.markets)
        day = context.on
        if day == date.max:
            continue
        if first is not None and day < first:
            told[f"{day} lies before every law known here ({first} is the first): nothing can be said to pass"] = None
        elif day.year > last.year + YEARS_AHEAD:
            text = f"{day} lies more than {YEARS_AHEAD} years after {last}, to which the rules are known"
            told[f"{text}: nothing can be said to pass"] = None
    return list(told)


@cache
def _known_days(markets: frozenset[str]) -> tuple[date | None, date]:
    """Return the first day of a law of some markets, and the last day to which rules are known."""
    laws = [rule for rule in all_rules() if rule.kind == "law" and (not markets or rule.market in markets)]
    starts = [rule.starts for rule in laws if rule.starts]
    return min(starts, default=None), max(rule.known_to for rule in all_rules())


def show_rule_sets(console: Console, found: Sequence[RuleSet]) -> None:
    """Print the rule sets: kind, market, instrument, days, how many rules; the sources on lines of their own."""
    for entry in found:
        sources = "; ".join(dict.fromkeys(rule.source for rule in entry.rules))
        known = " to ".join(dict.fromkeys((str(min(rule.known_to for rule in entry.rules)), str(entry.known_to))))
        count = f"{len(entry.rules)} rule{'s' if len(entry.rules) != 1 else ''}"
        console.print(entry.rule_set, style="bold")
        console.print(f"  {entry.kind}, {entry.market}: {entry.instrument}; {count}, known to {known}")
        console.print(f"  sources: {sources}")
    console.print(NOT_ADVICE)


def rule_set_rows(found: Sequence[RuleSet]) -> list[dict[str, object]]:
    """Return every rule as plain data: what `rules --json` prints."""
    return [
        {
            "rule_set": entry.rule_set,
            "kind": entry.kind,
            "market": entry.market,
            "instrument": entry.instrument,
            "known_to": str(entry.known_to),
            "rules": [
                {
                    "rule_id": rule.id,
                    "clause": rule.clause,
                    "substance": rule.substance,
                    "elements": list(rule.elements),
                    "cas": rule.cas,
                    "test": rule.test,
                    "limit_ppm": None if rule.limit_ppm is None else float(rule.limit_ppm),
                    "basis": rule.basis,
                    "effect": rule.effect,
                    "in_force_from": None if rule.starts is None else str(rule.starts),
                    "valid_until": None if rule.valid_until is None else str(rule.valid_until),
                    "source": rule.source,
                    "how_read": rule.how_read,
                    "confidence": rule.confidence,
                    "known_to": str(rule.known_to),
                    "note": rule.note,
                }
                for rule in entry.rules
            ],
        }
        for entry in found
    ]
