"""What the leader leans on: figures of low grade without an interval, and whether an error of one loses the lead.

Such a figure moves in no draw and in no bound, so nothing else that is said of an order speaks of it.
"""

from dataclasses import dataclass

from selector.decision import Decision, Share
from selector.robustness import table
from selector.scoring.criteria import CRITERIA
from selector.scoring.dethroning import value_changes
from selector.scoring.ranking import TIE
from selector.scoring.values import worth_bounds

# Of the score's lower bound; what carries less is told only where an error of it would lose the lead.
MUCH = 0.2
# The error that is tried on a number, as a share of the range between its anchors: our choice, said with the answer.
LAPSE = 0.1


@dataclass(frozen=True)
class Leaning:
    """A figure of the leader that is taken as exact although its grade is low.

    Parameters
    ----------
    criterion : str
    now : str
        The level in words.
    grade, source : str
    points, score : float
        What it carries, of the leader's lower bound; points of 100.
    lapse : str
        The error that was tried, in words.
    rival : str
        Who is level with the leader or ahead of it after that error; empty where nobody is.
    """

    criterion: str
    now: str
    grade: str
    source: str
    points: float
    score: float
    lapse: str
    rival: str


def leaning(decision: Decision) -> tuple[Leaning, ...]:
    """Return the leader's figures of low grade without an interval that carry much or whose error loses the lead.

    Parameters
    ----------
    decision : Decision

    Returns
    -------
    tuple of Leaning
        What carries most first; empty where nothing is admitted or all its weighty figures have an interval.

    Notes
    -----
    The error is one level down for placed levels, a tenth of the range between the anchors, either way, for numbers.
    The figures of all others stay as they rank now, by lower bounds.
    """
    rows = decision.admitted
    if not rows:
        return ()
    low, _, weights = table(decision)
    held = {
        change.criterion: change
        for change in value_changes(low, weights, 0)
        if change.alternative == 0 and len(rows) > 1
    }
    found = []
    for j, share in enumerate(rows[0].shares):
        if not _taken_as_exact(share):
            continue
        worth, lapse = _after(decision, share)
        change = held.get(j)
        loses = change is not None and worth <= change.worth_to + TIE
        points = share.weight * share.worth_low
        if loses or points >= MUCH * rows[0].score_low > 0:
            rival = rows[change.rival].alloy.id if change is not None and loses else ""
            level = share.level
            found.append(
                Leaning(share.criterion, level.text, level.grade, level.source, points, rows[0].score_low, lapse, rival)
            )
    return tuple(sorted(found, key=lambda entry: -entry.points))


def _taken_as_exact(share: Share) -> bool:
    level = share.level
    # Where only the order of the levels counts, the worth has its bounds already.
    exact = level.low is not None and level.low == level.high and share.worth_low == share.worth_high
    return exact and level.grade == "low" and share.weight > 0


def _after(decision: Decision, share: Share) -> tuple[float, str]:
    """Return the worth after an error of the figure, and the error in words."""
    points, level = decision.weighing.points_of(share.criterion), share.level.low
    assert level is not None
    if CRITERIA[share.criterion].levels:
        return worth_bounds(max(level - 1, 0.0), max(level - 1, 0.0), points)[0], "one level lower"
    size = LAPSE * (points[-1][0] - points[0][0])
    unit = CRITERIA[share.criterion].unit
    told = f"{size:.3g} {unit}" if unit and "=" not in unit else f"{size:.3g}"
    return worth_bounds(level - size, level + size, points)[0], f"an error of {told}, a tenth of its range,"
