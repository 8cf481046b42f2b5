"""A meeting: several people's weights over one decision, what they agree on, where they part, and who said so when.

Each person's weights are taken alone and shown together. Anchors belong to the brief and are common to all: a
difference about them is a question of fact, to be settled before. A blind meeting sees letters until they are lifted.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np

from selector.brief import Preference, dumps
from selector.decision import Decision
from selector.errors import Fault, InputError, shown
from selector.robustness import table
from selector.scoring import admissible
from selector.scoring.concordance import kendall_w
from selector.scoring.criteria import CRITERIA
from selector.scoring.dethroning import nearest_change
from selector.scoring.members import TOP, agreed_pairs, group_weights, letters, member_scores, movers
from selector.scoring.ranking import Matrix, accumulated, competition_ranks
from selector.scoring.second_opinions import agreement
from selector.scoring.weights.answers import Answers

EventKind = Literal["frozen", "unblinded"]
Stage = Literal["open", "frozen", "unblinded"]
FEWEST = 2
MOST_VOTES = 1e6
# A column of a member's name stands beside these.
COLUMNS = ("alloy", "criterion", "mean", "by votes", "spread")
# How the mark of a blind meeting ends, so that nobody can say afterwards that names might have been seen.
BLIND_MARK, MARK = "-b", 16


@dataclass(frozen=True)
class Event:
    """Something that was settled in the meeting, by whom, when, and over which state of it."""

    kind: EventKind
    at: datetime
    by: str
    fingerprint: str


@dataclass(frozen=True)
class Agenda:
    """What a meeting is about and how it goes.

    Parameters
    ----------
    title : str
    seed : int
        Assigns the letters.
    blind : bool
        Whether alloys stand under letters until weights are frozen and somebody unblinds.
    votes : mapping of str to float
        Voting power by name; empty where all count alike.
    events : tuple of Event
        In order of time.
    """

    title: str
    seed: int
    blind: bool
    votes: Mapping[str, float]
    events: tuple[Event, ...] = ()


@dataclass(frozen=True)
class Voice:
    """One member: the order under their weights, and the smallest change of them that would turn its head.

    Parameters
    ----------
    name : str
    kind : str
        How the weights were asked for.
    votes : float
    weights : tuple of float
        One a criterion.
    ranks : tuple of int
        One an alloy, in the meeting's order of alloys.
    first : tuple of str
        Their first three.
    overturn : str
        Which rival a change of how much weight would bring level; empty where none can.
    farthest : str
        The criterion on which they differ most from the mean, with both shares.
    with_group : float or None
        Kendall's tau-b with the order of the mean weights.
    """

    name: str
    kind: str
    votes: float
    weights: tuple[float, ...]
    ranks: tuple[int, ...]
    first: tuple[str, ...]
    overturn: str
    farthest: str
    with_group: float | None


@dataclass(frozen=True)
class Moving:
    """A criterion whose spread of weights changes the group's first three: shares, and who overtakes whom."""

    criterion: str
    lowest: float
    group: float
    highest: float
    overtakes: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Meeting:
    """Everything a meeting comes to.

    Parameters
    ----------
    decision : Decision
    agenda : Agenda
    stage : {"open", "frozen", "unblinded"}
    changed : bool
        Whether anything was changed after it was frozen.
    fingerprint : str
        Of brief, data, anchors and all weights as they are now.
    alloys : tuple of str
        As they may be shown: letters, in their own order, while the meeting is blind; else as the decision has them.
    criteria : tuple of str
        Titles.
    voices : tuple of Voice
    group, by_votes : tuple of float
        Mean weights, all alike and by voting power; `by_votes` is empty where nobody has more than another.
    group_ranks, by_votes_ranks : tuple of int
    agreed, agreed_on_figures : tuple of (str, str)
        Pairs (ahead, behind) on which all agree under any mix of their weights: as ranked, and whatever the figures.
    moving : tuple of Moving
    concordance : float or None
        Kendall's W.
    """

    decision: Decision
    agenda: Agenda
    stage: Stage
    changed: bool
    fingerprint: str
    alloys: tuple[str, ...]
    criteria: tuple[str, ...]
    voices: tuple[Voice, ...]
    group: tuple[float, ...]
    by_votes: tuple[float, ...]
    group_ranks: tuple[int, ...]
    by_votes_ranks: tuple[int, ...]
    agreed: tuple[tuple[str, str], ...]
    agreed_on_figures: tuple[tuple[str, str], ...]
    moving: tuple[Moving, ...]
    concordance: float | None

    @property
    def veiled(self) -> bool:
        """Return whether alloys stand under letters."""
        return blind(self.agenda) and self.stage != "unblinded"

    def in_order(self, ranks: Sequence[int]) -> tuple[str, ...]:
        """Return the alloys by rank."""
        return tuple(self.alloys[i] for i in np.argsort(ranks, kind="stable"))


def blind(agenda: Agenda) -> bool:
    """Return whether a meeting is blind, or was when it was frozen; to deny that later lifts no letters."""
    return agenda.blind or any(event.fingerprint.endswith(BLIND_MARK) for event in agenda.events)


def criteria_of(decision: Decision) -> tuple[str, ...]:
    """Return the criteria that members give weights to, in the fixed order."""
    weighed = {entry.criterion for entry in decision.weighing.preferences if entry.swing > 0}
    return tuple(name for name in CRITERIA if name in weighed)


def hold(decision: Decision, answers: Mapping[str, Answers], agenda: Agenda) -> Meeting:
    """Return what a meeting comes to.

    Parameters
    ----------
    decision : Decision
        With at least two admitted alloys.
    answers : mapping of name to Answers
        Of at least two members, over `criteria_of(decision)`.
    agenda : Agenda

    Raises
    ------
    InputError
        Too few members or alloys; votes for somebody who did not answer; an event out of order.
    """
    _check(decision, answers, agenda)
    weights = np.array([entry.weights for entry in answers.values()])
    mark = fingerprint(decision, answers, agenda)
    stage: Stage = agenda.events[-1].kind if agenda.events else "open"
    order, alloys = _shown(decision, agenda, stage)
    low, high = (ends[order] for ends in table(decision)[:2])
    votes = [float(agenda.votes.get(name, 1.0)) for name in answers]
    mean = group_weights(weights)
    powered = group_weights(weights, votes) if len(set(votes)) > 1 else None
    ranks = [competition_ranks(row) for row in member_scores(low, weights)]
    own = competition_ranks(accumulated(low, mean))
    titles = tuple(CRITERIA[name].title for name in criteria_of(decision))
    return Meeting(
        decision,
        agenda,
        stage,
        any(mark != event.fingerprint for event in agenda.events),
        mark,
        alloys,
        titles,
        tuple(
            _voice(name, entry.kind, vote, low, entry.weights, mean, row, own, alloys, titles)
            for (name, entry), vote, row in zip(answers.items(), votes, ranks, strict=True)
        ),
        tuple(map(float, mean)),
        () if powered is None else tuple(map(float, powered)),
        tuple(map(int, own)),
        () if powered is None else tuple(map(int, competition_ranks(accumulated(low, powered)))),
        _pairs(agreed_pairs(low, low, weights), alloys),
        _pairs(agreed_pairs(low, high, weights), alloys),
        tuple(
            Moving(
                titles[entry.criterion],
                entry.lowest,
                entry.group,
                entry.highest,
                tuple((alloys[i], alloys[k]) for i, k in entry.overtakes),
            )
            for entry in movers(low, weights, mean)
        ),
        kendall_w([list(row) for row in ranks]),
    )


def fingerprint(decision: Decision, answers: Mapping[str, Answers], agenda: Agenda) -> str:
    """Return a mark of all freezing holds fast: brief, data, who is admitted, anchors, answers, votes, letters."""
    held = {
        "brief": dumps(decision.brief),
        "data": decision.data_hash,
        "alloys": sorted(entry.alloy.id for entry in decision.admitted),
        "anchors": [[entry.criterion, entry.points] for entry in decision.weighing.preferences],
        "members": sorted(
            (name, list(map(float, entry.weights)), entry.author, entry.date.isoformat(), entry.reason)
            for name, entry in answers.items()
        ),
        "votes": sorted(agenda.votes.items()),
        "seed": agenda.seed,
        "blind": agenda.blind,
    }
    digest = hashlib.sha256(json.dumps(held, sort_keys=True).encode()).hexdigest()
    return f"{digest[: MARK - len(BLIND_MARK)]}{BLIND_MARK}" if agenda.blind else digest[:MARK]


def settle(meeting: Meeting, kind: EventKind, by: str, at: datetime) -> Event:
    """Return the event by which somebody freezes the weights, or lifts the letters afterwards.

    Raises
    ------
    InputError
        Nobody is named; it was frozen before; letters lifted before weights are frozen, or where they changed since.
    """
    faults = []
    if not by.strip() or not by.strip().isprintable():
        faults.append(Fault("by", "is not a name", shown(by), "the name of who does it"))
    if kind == "frozen" and meeting.stage != "open":
        faults.append(Fault("freeze", "was done before", str(meeting.agenda.events[0].at)))
    if kind == "unblinded":
        if meeting.stage != "frozen":
            faults.append(Fault("unblind", "comes after freezing, once", meeting.stage, "a frozen meeting"))
        elif meeting.changed:
            remedy = "restore what was frozen, or hold a new meeting"
            faults.append(Fault("unblind", "something changed after it was frozen", meeting.fingerprint, remedy=remedy))
        if not meeting.agenda.blind:
            faults.append(Fault("unblind", "has no letters to lift: the meeting is not blind"))
    if faults:
        raise InputError("the meeting", faults)
    return Event(kind, at, by.strip(), meeting.fingerprint)


def _check(decision: Decision, answers: Mapping[str, Answers], agenda: Agenda) -> None:
    faults = []
    if len(decision.admitted) < FEWEST:
        faults.append(Fault("alloys", "are too few to weigh", str(len(decision.admitted)), "two or more admitted"))
    if len(answers) < FEWEST:
        faults.append(Fault("members", "are too few for a meeting", str(len(answers)), "answers of two or more"))
    wanted = criteria_of(decision)
    faults += [
        Fault(f"answers of {name}", "weigh other criteria", ", ".join(entry.criteria), ", ".join(wanted))
        for name, entry in answers.items()
        if tuple(entry.criteria) != wanted
    ]
    faults += [
        Fault("votes", "are given to somebody who did not answer", name, ", ".join(answers))
        for name in agenda.votes
        if name not in answers
    ]
    faults += [
        Fault("members", "cannot be told apart from a column or printed", shown(name), "another name for the file")
        for name in answers
        if name.casefold() in COLUMNS or not name.isprintable()
    ]
    if agenda.votes and not any(agenda.votes.get(name, 1) for name in answers):
        faults.append(Fault("votes", "are 0 for everybody", allowed="somebody above 0"))
    if [event.kind for event in agenda.events] not in ([], ["frozen"], ["frozen", "unblinded"]):
        kinds = ", ".join(event.kind for event in agenda.events)
        faults.append(Fault("events", "are out of order", kinds, "frozen, then unblinded, each once"))
    if faults:
        raise InputError("the meeting", faults)


def _shown(decision: Decision, agenda: Agenda, stage: Stage) -> tuple[list[int], tuple[str, ...]]:
    """Return the order in which the admitted are shown, and as what.

    Letters stand in their own order: in the decision's, anybody who knows the shortlist could read the names off it.
    """
    names = [entry.alloy.id for entry in decision.admitted]
    if not blind(agenda) or stage == "unblinded":
        return list(range(len(names))), tuple(names)
    veil = letters(names, agenda.seed)
    order = sorted(range(len(names)), key=lambda i: (len(veil[names[i]]), veil[names[i]]))
    return order, tuple(veil[names[i]] for i in order)


def _voice(
    name: str,
    kind: str,
    votes: float,
    low: Matrix,
    weights: Matrix,
    mean: Matrix,
    ranks: np.ndarray,
    own: np.ndarray,
    alloys: tuple[str, ...],
    titles: tuple[str, ...],
) -> Voice:
    order = np.argsort(ranks, kind="stable")
    change = nearest_change(low, weights, int(order[0]), admissible.anything(len(weights)))
    apart = int(np.argmax(np.abs(weights - mean)))
    return Voice(
        name,
        kind,
        votes,
        tuple(map(float, weights)),
        tuple(map(int, ranks)),
        tuple(alloys[i] for i in order[:TOP]),
        f"{100 * change.size:.1f} % of all weight changing hands brings {alloys[change.rival]} level" if change else "",
        f"{titles[apart]}: {100 * weights[apart]:.0f} % against {100 * mean[apart]:.0f} % on the mean",
        agreement(list(ranks), list(own)),
    )


def _pairs(ahead: np.ndarray, alloys: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((alloys[i], alloys[k]) for i, k in np.argwhere(ahead))


def weighed_by(preferences: Sequence[Preference], answers: Answers) -> tuple[Preference, ...]:
    """Return preferences with somebody's weights as swing points, the heaviest 100.

    Anchors stay as they are, and the reason keeps why: who gave the weight stands beside who set the anchors.
    """
    points = dict(zip(answers.criteria, 100 * answers.weights / answers.weights.max(), strict=True))
    return tuple(
        entry.model_copy(
            update={
                "swing": float(f"{points[entry.criterion]:.12g}"),
                "author": answers.author,
                "reason": f"anchors ({entry.author}): {entry.reason}; weight: {' '.join(answers.reason.split())}",
                "set_on": answers.date,
                "swing_for": (),
            }
        )
        if entry.criterion in points
        else entry
        for entry in preferences
    )
