"""How far one anchor must move, in the criterion's unit, before the leader loses its place. Exact.

Moving anchor p from its level to x changes only the two pieces of the curve that meet in it. A level l on the piece
before it is worth W_{p-1} + (W_p - W_{p-1}) (l - a) / (x - a), on the piece after it W_{p+1} + (W_p - W_{p+1})
(b - l) / (b - x), with neighbours at a and b; every other level keeps its worth. Between the levels concerned the lead
over a rival is therefore A + B / (x - a) + C / (b - x), whose zeros are those of a quadratic. All zeros of all such
stretches are tried, nearest first; nothing is searched for in steps. The weights are kept, as by somebody who moves
an anchor and forgets that its weight is then stale.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from selector.errors import Fault, InputError
from selector.scoring.ranking import TIE, Matrix
from selector.scoring.values import Points, worth, worth_bounds

ZERO = 1e-7  # points; how level a root must bring two scores


@dataclass(frozen=True)
class AnchorMove:
    """The nearest level of one anchor at which a rival draws level with the leader.

    Parameters
    ----------
    anchor : int
        Its place among the points.
    rival : int
    level_from, level_to : float
        In the criterion's unit; between the neighbouring anchors.
    """

    anchor: int
    rival: int
    level_from: float
    level_to: float

    @property
    def change(self) -> float:
        """Return the signed change, in the criterion's unit."""
        return self.level_to - self.level_from


def anchor_moves(
    spans: Sequence[tuple[float, float] | None],
    elsewhere: Sequence[float] | Matrix,
    weight: float,
    points: Points,
    leader: int,
) -> tuple[AnchorMove, ...]:
    """Return, for each anchor of one criterion that can cost the leader its place, the nearest such level.

    Parameters
    ----------
    spans : sequence of m pairs (low, high), or None
        The level of each alternative, or its interval, which counts by its least worth as the order does; None: not
        known, least worth 0 wherever the anchors stand.
    elsewhere : array (m,)
        The points that each alternative has from the other criteria, by which the order goes.
    weight : float
        Of this criterion, above 0.
    points : sequence of (level, worth)
        Monotone or single-peaked.
    leader : int

    Returns
    -------
    tuple of AnchorMove
        Smallest move first; no more than one each way an anchor, and none where no move has an effect.

    Raises
    ------
    InputError
        A leader who does not lead.
    """
    other = np.asarray(elsewhere, dtype=float)

    def leads(curve: Points) -> Matrix:
        scores = other + weight * np.array([0.0 if s is None else worth_bounds(*s, curve)[0] for s in spans])
        return np.asarray(scores[leader] - scores)

    if leads(points).min() < -TIE:
        raise InputError("the comparison", [Fault("leader", "does not lead", str(leader))])
    found = []
    for p, (level, _) in enumerate(points):
        roots: set[tuple[float, int]] = set()
        for k in range(len(spans)):
            if k != leader:
                base = float(other[leader] - other[k])
                roots |= {(x, k) for x in _zeros(spans[leader], spans[k], base, weight, points, p)}
        for way in (-1, 1):
            for x, k in sorted(
                (entry for entry in roots if (entry[0] - level) * way > 0), key=lambda e: abs(e[0] - level)
            ):
                if leads(_moved(points, p, x))[k] <= ZERO:
                    found.append(AnchorMove(p, k, float(level), float(x)))
                    break
    return tuple(sorted(found, key=lambda move: (abs(move.change), move.anchor)))


def _moved(points: Points, p: int, level: float) -> Points:
    return tuple((level if q == p else at, value) for q, (at, value) in enumerate(points))


def _zeros(
    mine: tuple[float, float] | None,
    theirs: tuple[float, float] | None,
    base: float,
    weight: float,
    points: Points,
    p: int,
) -> list[float]:
    """Return every place of the anchor where some ends of two intervals draw level, with the ends of the stretches."""
    a = points[p - 1][0] if p > 0 else -np.inf
    b = points[p + 1][0] if p + 1 < len(points) else np.inf
    ends_mine, ends_theirs = (() if span is None else tuple(dict.fromkeys(span)) for span in (mine, theirs))
    cuts = sorted({x for x in (*ends_mine, *ends_theirs) if a < x < b})
    edges = [a, *cuts, b]
    found = list(cuts)
    for left, right in pairwise(edges):
        inside = _between(left, right)
        for own in ends_mine or (None,):
            for k in ends_theirs or (None,):
                terms = np.array(_terms(own, inside, points, p, a, b)) - np.array(_terms(k, inside, points, p, a, b))
                constant, before, after = base + weight * terms[0], weight * terms[1], weight * terms[2]
                found += [x for x in _roots(constant, before, after, a, b) if left < x < right]
    return found


def _between(left: float, right: float) -> float:
    if np.isinf(left):
        return right - 1.0
    return left + 1.0 if np.isinf(right) else (left + right) / 2


def _terms(level: float | None, x: float, points: Points, p: int, a: float, b: float) -> tuple[float, float, float]:
    """Return the worth of a level as constant + before / (x - a) + after / (b - x) while the anchor stays near x."""
    if level is None:
        return 0.0, 0.0, 0.0
    value = points[p][1]
    if a < level <= x and np.isfinite(a):
        low = points[p - 1][1]
        return low, (value - low) * (level - a), 0.0
    if x <= level < b and np.isfinite(b):
        high = points[p + 1][1]
        return high, 0.0, (value - high) * (b - level)
    return worth(level, _moved(points, p, x)), 0.0, 0.0


def _roots(constant: float, before: float, after: float, a: float, b: float) -> list[float]:
    """Return the zeros of constant + before / (x - a) + after / (b - x)."""
    if before == 0 and after == 0:
        return []
    if after == 0 or before == 0:
        if constant == 0:
            return []
        return [a - before / constant] if after == 0 else [b + after / constant]
    # constant (x - a)(b - x) + before (b - x) + after (x - a) = 0
    square, line = -constant, constant * (a + b) - before + after
    rest = -constant * a * b + before * b - after * a
    return [float(root.real) for root in np.roots([square, line, rest]) if abs(root.imag) < 1e-9 * (1 + abs(root.real))]
