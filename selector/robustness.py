"""How sure the order of a decision is: exactly where mathematics allows it, by sampling with a stated error elsewhere.

The order goes by the lower bound of the score, so the exact answers about weights are given on lower bounds too; those
about data use both ends of every interval. Intervals are taken as independent of each other.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, get_args

import numpy as np

from selector.decision import Candidate, Decision
from selector.errors import Fault, InputError
from selector.scoring import admissible
from selector.scoring.admissible import Admissible
from selector.scoring.anchor_moves import AnchorMove, anchor_moves
from selector.scoring.comparisons import better_for_all
from selector.scoring.criteria import CRITERIA
from selector.scoring.dethroning import level_for, nearest_change, value_changes
from selector.scoring.optimality import optimality
from selector.scoring.rank_limits import rank_enclosure
from selector.scoring.ranking import TIE, Matrix, accumulated
from selector.scoring.settling import measurements
from selector.scoring.stability import stability
from selector.scoring.values import worth

if TYPE_CHECKING:
    from selector.scoring.acceptability import Acceptability

Knowledge = Literal["stated", "quarter", "order", "nothing"]
KNOWN: tuple[Knowledge, ...] = get_args(Knowledge)
KNOWLEDGE: dict[Knowledge, str] = {
    "stated": "the weights as stated",
    "quarter": "each weight to a quarter of itself",
    "order": "only the order of the weights",
    "nothing": "nothing about the weights",
}
DRAWS, SEED = 10_000, 1
QUARTER = 0.25
LEVEL = 1e-7  # points; what the linear programs are good to
NOTICEABLE = 0.1  # places; a measurement that narrows by less on average is not offered


@dataclass(frozen=True)
class Band:
    """How far one weight may move, the others in their ratios, before another alloy leads; shares of 1.

    `below` and `above` name who leads beyond the ends, empty where nobody does.
    """

    criterion: str
    weight: float
    low: float
    high: float
    below: str
    above: str


@dataclass(frozen=True)
class Contender:
    """One admitted alloy under the chosen knowledge of the weights.

    Parameters
    ----------
    alloy : str
    score_low, score_high : float
        Under the stated weights.
    best, worst : int
        Ranks that no admissible weights and no figures inside their intervals go beyond.
    lead : float
        Greatest lead that admissible weights give it by lower bounds, points; negative: it cannot lead.
    lead_at_best : float
        The same with its own figures at their best and the others' at their worst.
    nearest : str
        Who then comes nearest; empty where there is no rival.
    never_above : tuple of str
        Alloys that no admissible weights put above it, whatever the figures; they may come level.
    """

    alloy: str
    score_low: float
    score_high: float
    best: int
    worst: int
    lead: float
    lead_at_best: float
    nearest: str
    never_above: tuple[str, ...]

    @property
    def can_lead(self) -> bool:
        """Return whether some admissible weights put it first, alone or tied, with figures as they rank now."""
        return self.lead >= -LEVEL

    @property
    def can_lead_at_best(self) -> bool:
        """Return whether some admissible weights put it first with figures at their best."""
        return self.lead_at_best >= -LEVEL


@dataclass(frozen=True)
class Overturn:
    """A smallest change that brings a rival level with the leader.

    Parameters
    ----------
    kind : {"weights", "value", "anchor"}
    rival : str
    size : float
        Share of all weight that changes hands; points of worth; or the criterion's unit.
    text : str
        What changes, from what to what, in words.
    """

    kind: Literal["weights", "value", "anchor"]
    rival: str
    size: float
    text: str


@dataclass(frozen=True)
class Measurement:
    """A figure whose measurement would narrow the leader's place most, with the places open now and after."""

    alloy: str
    criterion: str
    now: str
    open_points: float
    places_now: int
    places_mean: float
    settles: float


@dataclass(frozen=True)
class Robustness:
    """Everything said about how sure an order is.

    Parameters
    ----------
    decision : Decision
    knowledge : Knowledge
        What is taken to be known of the weights.
    region : str
        The same as the admissible weights put it.
    leader : str
    bands : tuple of Band
        A criterion alone keeps all the weight: there are no others whose ratios could be kept.
    contenders : tuple of Contender
        In the decision's order.
    overturns : tuple of Overturn
        The smallest change of weights, of one value and of one anchor, each where there is one.
    measurements : tuple of Measurement
        That which helps most first; only those that narrow something.
    chances : Acceptability
        Sampled, rows in the decision's order.
    """

    decision: Decision
    knowledge: Knowledge
    region: str
    leader: str
    bands: tuple[Band, ...]
    contenders: tuple[Contender, ...]
    overturns: tuple[Overturn, ...]
    measurements: tuple[Measurement, ...]
    chances: "Acceptability"


def table(decision: Decision) -> tuple[Matrix, Matrix, Matrix]:
    """Return worths low and high, (m, n), and weights, (n,), of the admitted in the decision's order."""
    rows = decision.admitted
    low = np.array([[share.worth_low for share in entry.shares] for entry in rows])
    high = np.array([[share.worth_high for share in entry.shares] for entry in rows])
    return low, high, np.array([share.weight for share in rows[0].shares])


def region_of(knowledge: Knowledge, weights: Matrix, names: Sequence[str]) -> Admissible:
    """Return the weights that are admissible when only so much is known of them; equal weights share one group."""
    if knowledge == "stated":
        return admissible.fixed(weights, names)
    if knowledge == "quarter":
        return admissible.around(weights, QUARTER, names)
    if knowledge == "nothing":
        return admissible.anything(len(weights), names)
    return admissible.ordered(groups_of(weights), names)


def groups_of(weights: Matrix) -> list[list[int]]:
    """Return columns in groups of equal weight, the heaviest first."""
    groups: list[list[int]] = []
    for column in np.argsort(-weights, kind="stable"):
        if groups and abs(weights[groups[-1][0]] - weights[column]) <= TIE:
            groups[-1].append(int(column))
        else:
            groups.append([int(column)])
    return groups


def robustness(
    decision: Decision, knowledge: Knowledge = "order", draws: int = DRAWS, seed: int = SEED
) -> Robustness | None:
    """Return how sure the order is; None where nothing is admitted.

    Parameters
    ----------
    decision : Decision
    knowledge : {"stated", "quarter", "order", "nothing"}
        What is taken to be known of the weights, for the contenders and the sampled chances.
    draws : int
    seed : int

    Raises
    ------
    InputError
        Knowledge that is none of the four; draws or a seed that cannot be used.
    """
    if knowledge not in KNOWN:
        raise InputError(
            "the question", [Fault("known of the weights", "is not one of these", knowledge, ", ".join(KNOWN))]
        )
    if not decision.admitted:
        return None
    from selector.scoring.acceptability import acceptability
    from selector.scoring.drawn_data import data
    from selector.scoring.samplers import sampler

    low, high, weights = table(decision)
    titles = [CRITERIA[share.criterion].title for share in decision.admitted[0].shares]
    region = region_of(knowledge, weights, titles)
    leader = 0
    return Robustness(
        decision,
        knowledge,
        region.described,
        decision.admitted[leader].alloy.id,
        _bands(decision, low, weights, leader),
        _contenders(decision, low, high, region),
        _overturns(decision, low, weights, leader),
        _measurements(decision, low, high, weights, leader),
        acceptability(data(low, high), sampler(region), draws, seed),
    )


def _bands(decision: Decision, low: Matrix, weights: Matrix, leader: int) -> tuple[Band, ...]:
    found = stability(low, weights, leader)
    alone = 1.0 if len(weights) == 1 else None
    names = [entry.alloy.id for entry in decision.admitted]

    def name(row: int) -> str:
        return "" if row < 0 else names[row]

    return tuple(
        Band(
            share.criterion,
            share.weight,
            float(found.lower[j]) if alone is None else alone,
            float(found.upper[j]) if alone is None else alone,
            name(int(found.below[j])),
            name(int(found.above[j])),
        )
        for j, share in enumerate(decision.admitted[leader].shares)
    )


def _contenders(decision: Decision, low: Matrix, high: Matrix, region: Admissible) -> tuple[Contender, ...]:
    ranked, best = optimality(low, region), optimality(high, region, rivals=low)
    limits = rank_enclosure(low, high, region)
    above = better_for_all(low, high, region).possible
    names = [entry.alloy.id for entry in decision.admitted]
    return tuple(
        Contender(
            names[i],
            entry.score_low,
            entry.score_high,
            # Pairs alone may leave a first place open that no weights give.
            max(int(limits.best[i]), 1 if float(best.lead[i]) >= -LEVEL else 2),
            int(limits.worst[i]),
            float(ranked.lead[i]),
            float(best.lead[i]),
            "" if ranked.rival[i] < 0 else names[int(ranked.rival[i])],
            tuple(names[k] for k in np.flatnonzero(~above[:, i]) if k != i),
        )
        for i, entry in enumerate(decision.admitted)
    )


def _overturns(decision: Decision, low: Matrix, weights: Matrix, leader: int) -> tuple[Overturn, ...]:
    rows = decision.admitted
    if len(rows) < 2:
        return ()
    names = [entry.alloy.id for entry in rows]
    found = []
    first = nearest_change(low, weights, leader, admissible.anything(len(weights)))
    if first is not None:
        told = "; ".join(
            f"{CRITERIA[share.criterion].title} {100 * share.weight:.1f} -> {100 * new:.1f} %"
            for share, new in zip(rows[0].shares, first.weights, strict=True)
            if abs(new - share.weight) > 5e-4
        )
        found.append(Overturn("weights", names[first.rival], first.size, told))
    for change in value_changes(low, weights, leader)[:1]:
        entry, share = rows[change.alternative], rows[change.alternative].shares[change.criterion]
        points = decision.weighing.points_of(share.criterion)
        now = _counted_level(share.level.low, share.level.high, points)
        level = level_for(change, now, points)
        told = f"{CRITERIA[share.criterion].title} of {entry.alloy.id}:"
        told += f" worth {change.worth_from:.1f} -> {change.worth_to:.1f}"
        if level is not None and not CRITERIA[share.criterion].levels:
            was = "not known" if now is None else f"{now:.4g}"
            told += f", as {was} -> {level:.4g}{_unit(share.criterion)}"
        found.append(Overturn("value", names[change.rival], change.size, told))
    moves = [(move, j) for j in range(len(weights)) for move in _moves(decision, low, weights, leader, j)[:1]]
    if moves:
        # Anchors of different criteria compare by the share of their own range that they move.
        move, j = min(moves, key=lambda pair: abs(pair[0].change) / _range(decision, pair[1]))
        criterion = CRITERIA[rows[0].shares[j].criterion]
        told = f"anchor {move.anchor + 1} of {criterion.title}:"
        told += f" {move.level_from:.4g} -> {move.level_to:.4g}{_unit(criterion.id)}"
        found.append(Overturn("anchor", names[move.rival], abs(move.change), told))
    return tuple(found)


def _unit(criterion: str) -> str:
    unit = CRITERIA[criterion].unit
    return f" ({unit})" if "=" in unit else f" {unit}".rstrip()


def _moves(decision: Decision, low: Matrix, weights: Matrix, leader: int, j: int) -> tuple[AnchorMove, ...]:
    """Return the moves of one criterion's anchors; those of placed levels are not moved along, only of numbers."""
    share = decision.admitted[leader].shares[j]
    if CRITERIA[share.criterion].levels:
        return ()
    elsewhere = accumulated(low, weights) - weights[j] * low[:, j]
    spans = [
        None
        if e.shares[j].level.low is None or e.shares[j].level.high is None
        else (float(e.shares[j].level.low or 0.0), float(e.shares[j].level.high or 0.0))
        for e in decision.admitted
    ]
    return anchor_moves(spans, elsewhere, float(weights[j]), decision.weighing.points_of(share.criterion), leader)


def _range(decision: Decision, j: int) -> float:
    points = decision.weighing.points_of(decision.admitted[0].shares[j].criterion)
    return points[-1][0] - points[0][0]


def _counted_level(low: float | None, high: float | None, points: Sequence[tuple[float, float]]) -> float | None:
    """Return the end of an interval that the lower bound counts."""
    if low is None or high is None:
        return None
    return low if worth(low, points) <= worth(high, points) else high


def _measurements(
    decision: Decision, low: Matrix, high: Matrix, weights: Matrix, leader: int
) -> tuple[Measurement, ...]:
    rows = decision.admitted
    return tuple(
        Measurement(
            rows[found.alternative].alloy.id,
            rows[found.alternative].shares[found.criterion].criterion,
            rows[found.alternative].shares[found.criterion].level.text,
            found.points,
            found.width_now,
            found.width_mean,
            found.settles,
        )
        for found in measurements(low, high, weights, [leader])
        if found.width_mean < found.width_now - TIE
    )


def narrowing(decision: Decision, candidate: Candidate) -> tuple[Measurement, ...]:
    """Return the figures whose measurement would narrow the place of one admitted alloy, the best first."""
    if candidate not in decision.admitted:
        return ()
    low, high, weights = table(decision)
    return _measurements(decision, low, high, weights, decision.admitted.index(candidate))


def noticeable(entry: Measurement) -> bool:
    """Return whether a measurement narrows a place by enough to be offered."""
    return entry.places_now - entry.places_mean >= NOTICEABLE
