"""Whether one concern is counted twice: criteria that are one identity or nearly one, limits that are preferred too.

Two criteria that move together are no fault by themselves; the question to ask is whether anybody would still care
about the one if the other were held fixed. Nothing here corrects a weight.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from types import MappingProxyType

import numpy as np

from selector.brief import Brief, Preference
from selector.fields import UNKNOWN
from selector.scoring.concordance import middle_ranks
from selector.scoring.criteria import ADD_UP_TO_A_CONSTANT, CRITERIA
from selector.scoring.ranking import Matrix

NEARLY_ONE = 0.95
FEWEST = 5  # fewer alloys than this show no correlation worth the name
QUESTION = "Would you still care about the one if the other were held fixed?"

# Pairs that are worked out of one and the same figure (how each is made: docs/scoring.md).
SHARED: Mapping[frozenset[str], str] = MappingProxyType(
    {
        frozenset({"process_headroom_k", "pasty_range_k"}): "the liquidus",
        frozenset({"pasty_range_k", "service_headroom_k"}): "the solidus",
    }
)
# Quantities that a hard limit judges as well: what the limit is, and its rule.
LIMITED: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "process_headroom_k": ("the ratings of parts and board", "process_peak"),
        "service_headroom_k": ("the heat of service", "service_heat"),
        "thermal_cycling": ("cycling and class on bismuth-rich grades", "class_and_cycling"),
        "supply_risk_wt": ("customers' bans of an element", "customer_ban"),
    }
)


@dataclass(frozen=True)
class Overlap:
    """Criteria that count one thing, wholly or nearly.

    Parameters
    ----------
    criteria : tuple of str
        Two, or three that add up to a constant.
    kind : {"identity", "shared figure", "nearly one"}
    correlation : float or None
        Rank correlation on the list, for the last kind.
    text : str
    """

    criteria: tuple[str, ...]
    kind: str
    correlation: float | None
    text: str


def overlaps(preferences: Sequence[Preference], values: Matrix, threshold: float = NEARLY_ONE) -> tuple[Overlap, ...]:
    """Return the weighed criteria that are one identity, share a figure, or rank this list nearly alike.

    Parameters
    ----------
    preferences : sequence of n Preference
    values : array (m, n)
        Levels or worths of the list; NaN where not known.
    threshold : float
        Rank correlation, either sign, above which a pair is named.
    """
    weighed = [entry.criterion for entry in preferences if entry.swing > 0]
    found = []
    if set(weighed) >= ADD_UP_TO_A_CONSTANT:
        names = tuple(name for name in weighed if name in ADD_UP_TO_A_CONSTANT)
        text = f"{_listed(names)} add up to a constant: two of them say what the third says"
        found.append(Overlap(names, "identity", None, text))
    for one, other in combinations(weighed, 2):
        figure = SHARED.get(frozenset({one, other}))
        if figure:
            found.append(
                Overlap(
                    (one, other), "shared figure", None, f"{_listed((one, other))} both rest on {figure}. {QUESTION}"
                )
            )
    table = np.asarray(values, dtype=float)
    for j, k in combinations(range(len(preferences)), 2):
        names = (preferences[j].criterion, preferences[k].criterion)
        both = np.isfinite(table[:, j]) & np.isfinite(table[:, k])
        if preferences[j].swing > 0 and preferences[k].swing > 0 and both.sum() >= FEWEST:
            rho = rank_correlation(table[both, j], table[both, k])
            if rho is not None and abs(rho) > threshold:
                text = f"{_listed(names)} rank {both.sum()} alloys nearly alike (correlation {rho:+.2f}). {QUESTION}"
                found.append(Overlap(names, "nearly one", rho, text))
    return tuple(found)


def rank_correlation(one: Matrix, other: Matrix) -> float | None:
    """Return Spearman's rank correlation with mid-ranks for ties; None where either does not vary."""
    a, b = middle_ranks(one), middle_ranks(other)
    a, b = a - a.mean(), b - b.mean()
    scale = float(np.sqrt((a @ a) * (b @ b)))
    return None if scale == 0 else float(a @ b) / scale


@dataclass(frozen=True)
class LimitedToo:
    """A preferred quantity that a hard limit judges as well.

    Parameters
    ----------
    criterion : str
    rule : str
        Of screening.
    reason : str
        Why it is preferred as well; empty where nobody said, which is what has to be mended.
    text : str
    """

    criterion: str
    rule: str
    reason: str
    text: str


def limited_too(preferences: Sequence[Preference], brief: Brief) -> tuple[LimitedToo, ...]:
    """Return the weighed criteria whose quantity the brief also limits, each with the stated reason or none.

    Parameters
    ----------
    preferences : sequence of Preference
    brief : Brief
        Bans count only where it has some.
    """
    found = []
    for entry in preferences:
        if entry.swing <= 0 or entry.criterion not in LIMITED:
            continue
        what, rule = LIMITED[entry.criterion]
        if rule == "customer_ban" and not brief.bans:
            continue
        reason = "" if entry.limit_reason == UNKNOWN else entry.limit_reason
        said = f"because {reason}" if reason else "and nobody has said why: state it in limit_reason"
        text = f"{_listed((entry.criterion,))} is preferred, and {what} limit it as well, {said}"
        found.append(LimitedToo(entry.criterion, rule, reason, text))
    return tuple(found)


def _listed(names: Sequence[str]) -> str:
    titles = [CRITERIA[name].title if name in CRITERIA else name for name in names]
    return titles[0] if len(titles) == 1 else f"{', '.join(titles[:-1])} and {titles[-1]}"
