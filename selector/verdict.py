"""The answer of one rule about one candidate, and what three-state answers come to together.

An unknown is never a pass: a limit that falls inside the interval of the measured value, or a demand that the
user does not know, gives `unknown` with the threshold that would decide it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from selector.figures import signed, spread


class Outcome(StrEnum):
    """What a rule can answer."""

    PASS = "pass"
    FAIL = "fail"
    DUTY = "duty"
    UNKNOWN = "unknown"
    NOT_APPLICABLE = "not_applicable"


SEVERITY = (Outcome.FAIL, Outcome.UNKNOWN, Outcome.DUTY, Outcome.PASS, Outcome.NOT_APPLICABLE)


class Standing(StrEnum):
    """Where the verdicts together leave a candidate."""

    ADMITTED = "admitted"
    UNDECIDED = "undecided"
    RULED_OUT = "ruled_out"


@dataclass(frozen=True)
class Edit:
    """One change of one field of the brief.

    Parameters
    ----------
    path : str
        Field path, as in `parts[2].rating_c`.
    value : object
        The value that the field would take.
    text : str
        The change in words, with its amount in its own unit.
    change : float or None
        Size of the change in `unit`, where it has one.
    unit : str
        Unit of `change`; empty where there is none.
    """

    path: str
    value: object
    text: str
    change: float | None = None
    unit: str = ""

    @property
    def only_asks(self) -> bool:
        """Return whether the edit asks for a fact to be shown and changes nothing of the product."""
        return self.text.startswith("show that")


def strongest(edits: Iterable[Edit]) -> tuple[Edit, ...]:
    """Return edits with one a field: where two rules ask the same field, the larger change serves both."""
    joined: dict[str, Edit] = {}
    for edit in edits:
        held = joined.get(edit.path)
        if held is None or abs(edit.change or 0.0) > abs(held.change or 0.0):
            joined[edit.path] = edit
    return tuple(joined.values())


@dataclass(frozen=True)
class Measured:
    """A judged quantity, which never travels without its interval and unit.

    Parameters
    ----------
    value : float or None
        None where only the ends are known.
    low, high : float
    unit : str
    """

    value: float | None
    low: float
    high: float
    unit: str

    @classmethod
    def exactly(cls, value: float, unit: str) -> "Measured":
        """Return a quantity that has no width, such as a nominal content."""
        return cls(value, value, value, unit)


@dataclass(frozen=True)
class Verdict:
    """One rule's answer for one candidate.

    Parameters
    ----------
    rule : str
        Stable id of the rule.
    outcome : Outcome
    reason : str
        The finding in one sentence.
    source : str
        Where limit and measured value come from.
    measured : Measured or None
        The judged quantity.
    limit : float or None
        The limit, in the unit of `measured`.
    margin : float or None
        Signed distance to the limit at the unfavourable end of the interval; positive is inside.
    threshold : str
        For `unknown`: what would decide it.
    edits : tuple of Edit
        For `fail` and `unknown`: the smallest change of the brief that would turn this verdict into a pass;
        empty where no field of the brief can, or where the smallest change is not one number.
    cautions : tuple of str
        What a pass leaves to be watched.
    subject : str
        What sets verdicts of one rule apart, such as the banned element.
    """

    rule: str
    outcome: Outcome
    reason: str
    source: str
    measured: Measured | None = None
    limit: float | None = None
    margin: float | None = None
    threshold: str = ""
    edits: tuple[Edit, ...] = ()
    cautions: tuple[str, ...] = ()
    subject: str = ""

    @property
    def margin_text(self) -> str:
        """Return the margin with sign and unit, empty where there is none; differences of temperature are in kelvin."""
        if self.margin is None or self.measured is None:
            return ""
        return signed(self.margin, "K" if self.measured.unit == "degC" else self.measured.unit)

    @property
    def measured_text(self) -> str:
        """Return the measured value with interval and unit, empty where there is none."""
        found = self.measured
        return "" if found is None else f"{spread(found.value, found.low, found.high)} {found.unit}"


def at_most(low: float, high: float, limit: float) -> Outcome:
    """Return whether a quantity known to lie in [low, high] keeps at or under a limit."""
    if high <= limit:
        return Outcome.PASS
    return Outcome.FAIL if low > limit else Outcome.UNKNOWN


def at_least(low: float, high: float, limit: float) -> Outcome:
    """Return whether a quantity known to lie in [low, high] reaches a limit."""
    if low >= limit:
        return Outcome.PASS
    return Outcome.FAIL if high < limit else Outcome.UNKNOWN


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the verdict that weighs heaviest, the first of equals: an open one never hides behind a pass."""
    return min(verdicts, key=lambda verdict: SEVERITY.index(verdict.outcome))


def standing(verdicts: Iterable[Verdict]) -> Standing:
    """Return where verdicts leave a candidate: one fail rules out, else one unknown leaves it undecided."""
    outcomes = {verdict.outcome for verdict in verdicts}
    if Outcome.FAIL in outcomes:
        return Standing.RULED_OUT
    return Standing.UNDECIDED if Outcome.UNKNOWN in outcomes else Standing.ADMITTED
