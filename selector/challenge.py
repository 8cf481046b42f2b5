"""Why not this alloy: which limit it breaks and by how much, what would save it, and what stands in its place."""

from dataclasses import dataclass

from selector.brief import Brief
from selector.catalogue import Alloy, Catalogue
from selector.decision import Candidate, Decision, decide
from selector.findings import title_of
from selector.measurement_words import effect
from selector.robustness import narrowing, noticeable
from selector.verdict import Edit, Outcome, Standing, Verdict

SMALL = 0.05


@dataclass(frozen=True)
class Trade:
    """One criterion on which the replacement differs from the challenger, in points of 100."""

    criterion: str
    challenger: str
    replacement: str
    points: float | None
    source: str


@dataclass(frozen=True)
class Challenge:
    """The answer to "why not this one?".

    Parameters
    ----------
    candidate : Candidate
        The alloy that was asked about.
    broken : tuple of Verdict
        What it fails, then what is open; empty where it is admitted.
    edits : tuple of Edit
        The smallest change of the brief that saves it; empty where none does.
    saved : bool
        Whether there is a change that was tried by screening again and admits it.
    replacement : Candidate or None
        The admitted alloy that acts most like it under the weights; None where nothing is admitted, or where the
        alloy leads itself.
    given_up, gained : tuple of Trade
        Where the replacement is worth less, and more.
    leader_given_up, leader_gained : tuple of Trade
        The same against the leader; empty where the leader is the replacement or the alloy itself.
    measurement : str
        The one open figure that decides, or whose measurement narrows its place (or its replacement's) most, computed.
    """

    decision: Decision
    candidate: Candidate
    broken: tuple[Verdict, ...]
    edits: tuple[Edit, ...]
    saved: bool
    replacement: Candidate | None
    given_up: tuple[Trade, ...]
    gained: tuple[Trade, ...]
    leader_given_up: tuple[Trade, ...]
    leader_gained: tuple[Trade, ...]
    measurement: str


def challenge(alloy: Alloy, brief: Brief, catalogue: Catalogue) -> Challenge:
    """Return why an alloy is not the choice for a brief.

    Parameters
    ----------
    alloy : Alloy
        Of the catalogue, in the default list or not.
    brief : Brief
    catalogue : Catalogue
    """
    decision = decide(brief, catalogue, also=(alloy,))
    candidate = decision.of(alloy)
    assert candidate is not None
    edits = candidate.edits
    others = [entry for entry in decision.admitted if entry.alloy.id != alloy.id]
    if candidate.standing is Standing.ADMITTED:
        leader = decision.admitted[0]
        replacement = None if leader.alloy.id == alloy.id else leader
    else:
        replacement = min(others, key=lambda other: (_unlikeness(candidate, other), other.rank or 0), default=None)
    given_up, gained = _told(candidate, replacement)
    first = decision.admitted[0] if decision.admitted else None
    apart = first is not None and first is not replacement and first.alloy.id != alloy.id
    leader_given_up, leader_gained = _told(candidate, first if apart else None)
    return Challenge(
        decision=decision,
        candidate=candidate,
        broken=tuple(sorted(candidate.screened.blocking, key=lambda verdict: verdict.outcome is not Outcome.FAIL)),
        edits=edits,
        saved=bool(edits),  # what is offered was tried by screening again
        replacement=replacement,
        given_up=given_up,
        gained=gained,
        leader_given_up=leader_given_up,
        leader_gained=leader_gained,
        measurement=_measurement(decision, candidate, replacement),
    )


def verdict_on(found: Challenge) -> str:
    """Return the answer in one sentence."""
    entry, decision = found.candidate, found.decision
    heading = {
        Standing.ADMITTED: f"is admitted, place {entry.rank} of {len(decision.admitted)}",
        Standing.UNDECIDED: "is undecided",
        Standing.RULED_OUT: "is ruled out",
    }[entry.standing]
    return f"Why not {entry.alloy.id}? For {decision.brief.title} it {heading}."


def _unlikeness(one: Candidate, other: Candidate) -> float:
    """Return how differently two alloys act, in weighted points: the gap between middles of their worths."""
    return sum(
        mine.weight * abs((mine.worth_low + mine.worth_high) - (theirs.worth_low + theirs.worth_high)) / 2
        for mine, theirs in zip(one.shares, other.shares, strict=True)
    )


def replacement_text(found: Challenge) -> str:
    """Return in words which alloy stands in the place of the one asked about, with its own reserve; empty for none."""
    other = found.replacement
    if other is None:
        return ""
    admitted = found.candidate.standing is Standing.ADMITTED
    name = "The leader" if admitted else "Nearest admitted replacement, by how alike it acts on the weighed criteria"
    reserve = other.heat().margin_text or "not judged"
    return f"{name}: {other.alloy.id}, place {other.rank} of {len(found.decision.admitted)}, peak heat {reserve}."


def _told(candidate: Candidate, other: Candidate | None) -> tuple[tuple[Trade, ...], tuple[Trade, ...]]:
    """Return where another alloy is worth less than the candidate, and where more, by enough to be told."""
    trades = () if other is None else _trades(candidate, other)
    given_up = tuple(trade for trade in trades if trade.points is not None and trade.points < -SMALL)
    return given_up, tuple(trade for trade in trades if trade.points is not None and trade.points > SMALL)


def _trades(challenger: Candidate, replacement: Candidate) -> tuple[Trade, ...]:
    trades = []
    for mine, theirs in zip(challenger.shares, replacement.shares, strict=True):
        known = mine.points is not None and theirs.points is not None
        points = (theirs.points or 0.0) - (mine.points or 0.0) if known else None
        names = f"{mine.level.source}; {theirs.level.source}".split("; ")
        source = "; ".join(dict.fromkeys(name for name in names if name))
        trades.append(Trade(title_of(mine.criterion), mine.level.text, theirs.level.text, points, source))
    return tuple(sorted(trades, key=lambda trade: trade.points or 0.0))


def _measurement(decision: Decision, candidate: Candidate, replacement: Candidate | None) -> str:
    """Return the figure whose measurement would settle most."""
    if candidate.standing is Standing.UNDECIDED:
        verdict, *more = candidate.blocking()
        rest = f"; {len(more)} more must be settled as well" if more else ""
        return f"{candidate.alloy.id}, {verdict.rule}: {verdict.threshold}{rest}"
    subject = candidate if candidate.standing is Standing.ADMITTED else replacement
    if subject is None:
        return "none: a fail on figures that are known is not mended by measuring"
    found = [entry for entry in narrowing(decision, subject) if noticeable(entry)]
    name = subject.alloy.id
    if not found:
        return f"none: no single figure, measured alone, would narrow the place of {name} by much"
    whose = " itself" if subject is candidate else ", which stands in its place"
    return f"to place {name}{whose}: {effect(found, 'its place')}"
