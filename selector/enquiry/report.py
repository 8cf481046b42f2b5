"""What was found, as a verb prints it and a page shows it: a finding, tables of text, verdicts, cautions, figures."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from selector.durability.safety import MISSING_STAYS, SCREENING_ONLY
from selector.errors import InputError
from selector.figures import NOT_KNOWN, figure
from selector.verdict import Outcome, Verdict

Row = dict[str, str]
OUTCOME_WORDS: Mapping[Outcome, str] = {
    Outcome.PASS: "holds",
    Outcome.FAIL: "stop",
    Outcome.DUTY: "duty",
    Outcome.UNKNOWN: "open",
    Outcome.NOT_APPLICABLE: "does not apply",
}


@dataclass(frozen=True)
class Section:
    """A table under a title, with what is to know of it; the first column names the rows."""

    title: str
    rows: tuple[Row, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Report:
    """What was found.

    Parameters
    ----------
    title, finding : str
    sections : tuple of Section
    verdicts : tuple of Verdict
    defaults : tuple of str
        What was not stated, with the figure that was taken.
    cautions : tuple of str
    figures : dict
        The same as numbers, for machines.
    """

    title: str
    finding: str
    sections: tuple[Section, ...]
    verdicts: tuple[Verdict, ...] = ()
    defaults: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    figures: dict[str, Any] = field(default_factory=dict, hash=False)

    @property
    def stops(self) -> tuple[Verdict, ...]:
        """Return the verdicts that stop it."""
        return tuple(verdict for verdict in self.verdicts if verdict.outcome is Outcome.FAIL)

    @property
    def told_cautions(self) -> tuple[str, ...]:
        """Return every caution once, that of the whole program last."""
        own = [*self.cautions, *(caution for verdict in self.verdicts for caution in verdict.cautions)]
        return (*dict.fromkeys(own), SCREENING_ONLY, MISSING_STAYS)

    def of(self, title: str) -> Section | None:
        """Return a section by its title, None where it is not there."""
        return next((section for section in self.sections if section.title == title), None)

    def plain(self) -> dict[str, Any]:
        """Return it all for machines."""
        return {
            "title": self.title,
            "finding": self.finding,
            **self.figures,
            "verdicts": [plain_verdict(verdict) for verdict in self.verdicts],
            "defaults": list(self.defaults),
            "cautions": list(self.told_cautions),
        }


def plain_verdict(verdict: Verdict) -> dict[str, Any]:
    """Return a verdict for machines."""
    found = verdict.measured
    return {
        "rule": verdict.rule,
        "subject": verdict.subject,
        "outcome": str(verdict.outcome),
        "reason": verdict.reason,
        "measured": None if found is None else [found.value, found.low, found.high],
        "unit": None if found is None else found.unit,
        "limit": verdict.limit,
        "margin": verdict.margin,
        "threshold": verdict.threshold,
        "source": verdict.source,
    }


def verdict_rows(verdicts: Iterable[Verdict]) -> tuple[Row, ...]:
    """Return verdicts as rows: what was judged, what was found, by how much, what would decide it."""
    return tuple(
        {
            "judged": verdict.rule.replace("_", " ") + (f": {verdict.subject}" if verdict.subject else ""),
            "verdict": OUTCOME_WORDS[verdict.outcome],
            "finding": verdict.reason,
            "margin": verdict.margin_text.removesuffix(" 1") or "–",
            "decided by": verdict.threshold or "–",
        }
        for verdict in verdicts
    )


def small(value: float, digits: int = 4) -> str:
    """Return a number with as many significant figures, also far below 1: metal of a joint is 0.005 mm3."""
    zeros = 0 if value == 0 or abs(value) >= 1 else -math.floor(math.log10(abs(value)))
    return figure(value, digits + zeros)


def ends(values: Sequence[float | None], unit: str = "", digits: int = 4) -> str:
    """Return what several cases give: one figure, a span, or unknown while any is."""
    if not values or None in values:
        return NOT_KNOWN
    known = [value for value in values if value is not None]
    low, high = small(min(known), digits), small(max(known), digits)
    return (low if low == high else f"{low} to {high}") + (f" {unit}" if unit else "")


def numbers(values: Sequence[float | None]) -> list[float] | None:
    """Return the ends of what several cases give, None while any is unknown."""
    known = [value for value in values if value is not None]
    return [min(known), max(known)] if known and len(known) == len(values) else None


def problem_of(error: InputError) -> str:
    """Return the first fault of an input in short, where the rest can be told without it."""
    return error.faults[0].problem
