"""The answer of one rule about one composition, of one use, on one day."""

from datetime import date
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from selector.composition import decimal_text
from selector.verdict import Outcome


class Why(StrEnum):
    """What an answer rests on; `outcome` says what it comes to."""

    WITHIN = "within the limit"
    OVER = "over the limit"
    UNDER_LEAST = "under the least content"
    EXEMPT = "exempt"
    NO_EXEMPTION_FITS = "use or content not covered by the exemption"
    EXEMPTION_ENDED = "exemption ended"
    EXEMPTION_LAPSED = "exemption past its date"
    EXEMPTION_NEEDS_EVIDENCE = "exemption needs evidence"
    UNCONFIRMED = "source unconfirmed"
    CONTEXT_MISSING = "context missing"
    CERTIFICATE_NEEDED = "as nominal; certificate needed"
    DUTY = "duty"
    FLAG = "flag"
    NOT_LISTED = "not listed"
    NOT_RESTRICTED = "not restricted"
    NOT_A_CONTENT = "not a content"
    RECHECK = "recheck"
    OUT_OF_SCOPE = "out of scope"
    NOT_IN_FORCE = "not in force"
    NOT_NEEDED = "not needed"
    OFF = "off by default"
    NOT_THE_METAL = "not the metal"
    ABSENT = "element absent"
    NAMED = "named constituent"
    TOLD_ONLY = "information"


class Change(NamedTuple):
    """The next day on which the answer changes, as known, and what it becomes."""

    day: date
    becomes: str

    def __str__(self) -> str:
        """Return day and change as one text."""
        return f"{self.day}: {self.becomes}"


class Finding(NamedTuple):
    """One rule's answer. A tuple, because a thousand alloys against all rules make a quarter of a million of them.

    Parameters
    ----------
    alloy : str
    rule_id, rule_set, kind : str
        Id as in the rule files; law, quality, supply-risk, customer, information or metallurgy.
    outcome : Outcome
    why : Why
    duty : str
        For `duty`: disclose, label, justify, mark-and-disclose, declare, due-diligence, warn, or flag for supply risk.
    measured_ppm, limit_ppm, margin_ppm : Fraction or None
        Content on the basis that the rule counts on, its limit, and the signed distance; positive is inside.
    exemption : str
        The entry that saves it; empty where none does or none is needed.
    exemption_until : date or None
    reason, source, clause : str
    next_change : Change or None
    known_to, as_of : date
        The day to which the rule is known, and the day asked about.
    """

    alloy: str
    rule_id: str
    rule_set: str
    kind: str
    outcome: Outcome
    why: Why
    duty: str
    measured_ppm: Fraction | None
    limit_ppm: Fraction | None
    margin_ppm: Fraction | None
    exemption: str
    exemption_until: date | None
    reason: str
    source: str
    clause: str
    next_change: Change | None
    known_to: date
    as_of: date


class Answer(NamedTuple):
    """What a rule answers on one day, before it is told with its source and its next change."""

    outcome: Outcome
    why: Why
    reason: str
    measured_ppm: Fraction | None = None
    limit_ppm: Fraction | None = None
    margin_ppm: Fraction | None = None
    duty: str = ""
    exemption: str = ""
    exemption_until: date | None = None


def ppm_text(content: Fraction) -> str:
    """Return a content in mg/kg as text, exact to eight places."""
    return f"{decimal_text(content)} ppm"
