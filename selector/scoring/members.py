"""Several people's weights over one table of worths: what all agree on, where they part, and what of it matters.

A score is linear in the weights. So one alternative beats another under every mix of the members' weights exactly
when it does under the weights of each member: agreement is proved, not sampled.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError
from selector.scoring.ranking import TIE, Matrix, accumulated

TOP = 3

Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Mover:
    """A criterion whose spread of weights among the members changes the first places of the group's order.

    Parameters
    ----------
    criterion : int
        Column.
    lowest, group, highest : float
        The least and greatest share that a member gives it, and the group's.
    overtakes : tuple of (int, int)
        Pairs (overtaker, overtaken) among which the order turns somewhere between lowest and highest.
    """

    criterion: int
    lowest: float
    group: float
    highest: float
    overtakes: tuple[tuple[int, int], ...]


def group_weights(weights: Matrix, votes: Sequence[float] | None = None) -> Matrix:
    """Return the mean of the members' weights, by voting power where it is given.

    Parameters
    ----------
    weights : array (p, n)
        One row a member, each summing to 1.
    votes : sequence of p float, optional
        Finite, none negative, not all zero. Whose voice counts how much is policy: show the result without it too.

    Raises
    ------
    InputError
        Votes that cannot be used.
    """
    if votes is None:
        return np.asarray(weights.mean(axis=0), dtype=float)
    power = np.asarray(votes, dtype=float)
    if power.shape != (len(weights),) or not np.isfinite(power).all() or (power < 0).any() or power.sum() <= 0:
        allowed = f"one number for each of the {len(weights)} members, at least 0, not all 0"
        raise InputError("the meeting", [Fault("votes", "cannot be used", str(list(votes)), allowed)])
    return np.asarray(power / power.sum() @ weights, dtype=float)


def member_scores(worths: Matrix, weights: Matrix) -> Matrix:
    """Return the score of every alternative for every member, (p, m), each accumulated in the fixed order."""
    return np.stack([accumulated(worths, row) for row in weights])


def agreed_pairs(low: Matrix, high: Matrix, weights: Matrix) -> Flags:
    """Return for each pair whether the first beats the second under every mix of the members' weights.

    Parameters
    ----------
    low, high : array (m, n)
        Ends of the worths; give the same array twice to ask of central values alone.
    weights : array (p, n)

    Returns
    -------
    array (m, m) of bool
        True where even the least score of the row's alternative lies above the greatest of the column's, for all
        members. Exact: a mix is a mean of members, and a mean of positive leads is positive.
    """
    least, most = member_scores(low, weights), member_scores(high, weights)
    ahead = np.asarray((least[:, :, None] > most[:, None, :] + TIE).all(axis=0), dtype=bool)
    np.fill_diagonal(ahead, False)
    return ahead


def movers(worths: Matrix, weights: Matrix, group: Matrix) -> tuple[Mover, ...]:
    """Return the criteria whose spread among the members changes the group's first three places.

    One weight moves from the least to the greatest that a member gives, the others keep their ratios. A lead is linear
    in that weight, so it turns in between exactly when its sign differs at one end from that of the group.

    Parameters
    ----------
    worths : array (m, n)
        Without gaps.
    weights : array (p, n)
    group : array (n,)
    """
    own = accumulated(worths, group)
    first = np.argsort(-own, kind="stable")[:TOP]
    found = []
    for column in range(worths.shape[1]):
        lowest, highest = float(weights[:, column].min()), float(weights[:, column].max())
        turned = {
            pair
            for share in (lowest, highest)
            for pair in _turned(own, accumulated(worths, _with_share(group, column, share)), first)
        }
        if turned:
            found.append(Mover(column, lowest, float(group[column]), highest, tuple(sorted(turned))))
    return tuple(found)


def _with_share(weights: Matrix, column: int, share: float) -> Matrix:
    """Return weights of which one takes a share and the others keep their ratios; alone, it keeps all."""
    rest = 1.0 - weights[column]
    if rest <= 0:
        return weights
    moved = np.asarray(weights * ((1.0 - share) / rest), dtype=float)
    moved[column] = share
    return moved


def _turned(before: Matrix, after: Matrix, first: NDArray[np.intp]) -> set[tuple[int, int]]:
    """Return (overtaker, overtaken) of each pair that touches the first places and has turned round."""
    return {
        (int(other), int(leader))
        for leader in first
        for other in range(len(before))
        if before[leader] > before[other] + TIE and after[other] > after[leader] + TIE
    }


def letters(names: Sequence[str], seed: int) -> dict[str, str]:
    """Return a neutral letter for each name, assigned by a seed: the same names and seed give the same letters.

    Parameters
    ----------
    names : sequence of str
        All different; their order does not matter.
    seed : int
        At least 0.
    """
    ordered = sorted(names)
    places = np.random.Generator(np.random.Philox(seed)).permutation(len(ordered))
    return {name: _letter(int(place)) for name, place in zip(ordered, places, strict=True)}


def _letter(place: int) -> str:
    """Return A to Z, then AA, AB and so on."""
    text, place = "", place + 1
    while place:
        place, rest = divmod(place - 1, 26)
        text = chr(ord("A") + rest) + text
    return text
