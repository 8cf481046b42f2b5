"""The questions by which weights are asked for and checked, in words that name the range and not "importance".

A swing question speaks of the step from the worst to the best anchor of *this* range. A trade-off question takes the
weights at their word: so much more of one thing is worth as much as so much less of another; would you really swap?
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from selector.brief import Preference
from selector.figures import figure
from selector.scoring.anchors import step
from selector.scoring.criteria import CRITERIA
from selector.scoring.values import FULL, levels_worth, worth

QUARTER = 0.25
NICE = (1.0, 2.0, 5.0, 10.0)
FIRST = (
    "Think of an alloy that stands at its worst on everything. You may raise one thing from worst to best of its"
    " range: which one first? It gets 100 points."
)


def level_text(criterion: str, level: float) -> str:
    """Return a level with its unit, or by its name where levels have names."""
    entry = CRITERIA[criterion]
    if not entry.levels:
        number = figure(float(f"{level:.3g}"))
        return f"{number} ({entry.unit})" if "=" in entry.unit else f"{number} {entry.unit}".strip()
    place = min(max(level, 0.0), len(entry.levels) - 1.0)
    names = [_named(entry.levels, len(entry.levels) - 1 - int(at)) for at in (np.floor(place), np.ceil(place))]
    return names[0] if names[0] == names[1] else f"somewhere between {names[0]} and {names[1]}"


def _named(levels: Sequence[str], at: int) -> str:
    """Return the name of a level; of bare numbers the ends say which is best."""
    if not levels[at].isdigit():
        return levels[at]
    return levels[at] + {0: " (best)", len(levels) - 1: " (worst)"}.get(at, "")


def step_text(entry: Preference) -> str:
    """Return the step from worst to best anchor of one criterion in words."""
    found = step(entry.points)
    worst, best = (
        " or ".join(level_text(entry.criterion, level) for level in levels) for levels in (found.worst, found.best)
    )
    return f"{CRITERIA[entry.criterion].title} from {worst} to {best}"


def first_swing(preferences: Sequence[Preference]) -> str:
    """Return the question that finds the heaviest criterion; its answer gets 100 points."""
    steps = "; ".join(step_text(entry) for entry in preferences)
    return f"{FIRST} {steps}."


def next_swings(preferences: Sequence[Preference], heaviest: str) -> tuple[str, ...]:
    """Return the question for each other criterion, against the heaviest.

    Parameters
    ----------
    preferences : sequence of Preference
    heaviest : str
        Criterion that got 100 points.
    """
    first = next(entry for entry in preferences if entry.criterion == heaviest)
    return tuple(
        f"If raising {step_text(first)} is worth 100 points, how many is raising {step_text(entry)} worth?"
        for entry in preferences
        if entry.criterion != heaviest
    )


@dataclass(frozen=True)
class TradeOff:
    """What the weights say that one thing is worth in terms of another.

    Parameters
    ----------
    gained, paid : str
        Criteria.
    gained_from, gained_to : float
        The rise, in the unit of `gained`.
    paid_from : float
        The best level of `paid`.
    paid_to : float or None
        The level that costs as many points as the rise brings; None where even the whole step down does not.
    points : float
        Points of 100 on either side.
    question : str
    """

    gained: str
    paid: str
    gained_from: float
    gained_to: float
    paid_from: float
    paid_to: float | None
    points: float
    question: str


def trade_offs(
    preferences: Sequence[Preference], weights: Sequence[float] | np.ndarray, most: int = 3
) -> tuple[TradeOff, ...]:
    """Return a few questions that check weights by what they imply: neighbours in weight, and first against last.

    Parameters
    ----------
    preferences : sequence of n Preference
    weights : array (n,)
        Sum to 1; criteria of weight 0 are not asked about, nor those whose levels are not placed.
    most : int
    """
    placed = [
        (float(weight), entry)
        for weight, entry in zip(weights, preferences, strict=True)
        if weight > 0 and not entry.order_only
    ]
    placed.sort(key=lambda pair: -pair[0])
    asked = list(pairwise(placed))
    if len(placed) > 2:
        asked.insert(1, (placed[0], placed[-1]))
    return tuple(trade_off(one, other, a, b) for (a, one), (b, other) in asked[:most])


def trade_off(gained: Preference, paid: Preference, gained_weight: float, paid_weight: float) -> TradeOff:
    """Return how much of `paid`, from its best level down, is worth a round step up of `gained` from its worst level.

    Notes
    -----
    With a curve V and a weight w the step from a to b brings w (V(b) - V(a)); the level c of `paid` follows from
    w' (100 - V'(c)) of the same size, by the inverse of its curve.
    """
    start, end = _step_up(gained)
    points = gained_weight * abs(worth(end, gained.points) - worth(start, gained.points))
    left = FULL - points / paid_weight
    best = step(paid.points).best[0]
    reached = levels_worth(left, paid.points) if left >= 0 else ()
    to = min(reached, key=lambda level: abs(level - best)) if reached else None
    title, other = CRITERIA[gained.criterion].title, CRITERIA[paid.criterion].title
    rise = f"{title} going from {level_text(gained.criterion, start)} to {level_text(gained.criterion, end)}"
    if to is None:
        worst = level_text(paid.criterion, step(paid.points).worst[0])
        cost = f"{other} going all the way from {level_text(paid.criterion, best)} to {worst}"
        question = f"By these weights {rise} is worth more than {cost} costs. Would you really give up all of that?"
    else:
        cost = f"{other} going from {level_text(paid.criterion, best)} to {level_text(paid.criterion, to)}"
        question = (
            f"By these weights {rise} is worth as much as {cost} costs. Would you really swap the one for the other?"
        )
    return TradeOff(gained.criterion, paid.criterion, start, end, best, to, points, question)


def _step_up(entry: Preference) -> tuple[float, float]:
    """Return a step from the worst level towards the best: a round quarter of the way, or to the next named level."""
    found = step(entry.points)
    start = found.worst[0]
    best = min(found.best, key=lambda level: abs(level - start))
    way = 1.0 if best > start else -1.0
    if CRITERIA[entry.criterion].levels:
        rising = [level for level, value in entry.points if (level - start) * way > 0 and value > 0]
        return start, min(rising, key=lambda level: abs(level - start))
    span = abs(best - start)
    size = 10.0 ** np.floor(np.log10(span * QUARTER))
    nice = max(step_ * size for step_ in NICE if step_ * size <= span * QUARTER * (1 + 1e-9))
    return start, start + way * nice
