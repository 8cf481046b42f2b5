"""How far several rankings agree, and on which pairs near the top they part."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from selector.errors import Fault, InputError, shown
from selector.scoring.gate import finite, items

Matrix = NDArray[np.float64]
W_WARNING = "W treats all places alike and can hide one dissenter; with few alternatives it is noisy. No pass mark."
TOP = 5


@dataclass(frozen=True)
class Parting:
    """A pair that some methods rank the other way round.

    Parameters
    ----------
    ahead, behind : str
        As our own order has them.
    methods : tuple of str
        Those that put `behind` ahead.
    """

    ahead: str
    behind: str
    methods: tuple[str, ...]

    @property
    def text(self) -> str:
        """Return it as a sentence."""
        verb = "puts" if len(self.methods) == 1 else "put"
        return f"{', '.join(self.methods)} {verb} {self.behind} ahead of {self.ahead}."


def middle_ranks(ranks: Sequence[float] | Matrix) -> Matrix:
    """Return ranks in which ties share the mean of their places: 1, 2.5, 2.5, 4."""
    values = np.asarray(ranks, dtype=float)
    below = (values[None, :] < values[:, None]).sum(axis=1)
    same = (values[None, :] == values[:, None]).sum(axis=1)
    return np.asarray(below + (same + 1) / 2, dtype=float)


def kendall_w(rankings: Sequence[Sequence[float]] | Matrix) -> float | None:
    """Return Kendall's coefficient of concordance of several rankings, corrected for ties.

    Parameters
    ----------
    rankings : sequence of k rankings of m alternatives
        1 is best; ties allowed; k and m at least 2 for an answer.

    Returns
    -------
    float or None
        1 where all agree, 0 where they cancel out; None where it is not defined. Read it with `W_WARNING`.

    Raises
    ------
    InputError
        Rankings of different lengths, or a rank without a value.
    """
    faults: list[Fault] = []
    lists = [items(each, f"ranking {i}", None, faults) for i, each in enumerate(rankings, start=1)]
    length = len(lists[0]) if lists else 0
    for i, each in enumerate(lists, start=1):
        if len(each) != length:
            faults.append(Fault(f"ranking {i}", "has the wrong length", str(len(each)), str(length)))
        for place, rank in enumerate(each, start=1):
            finite(rank, f"ranking {i}, no. {place}", faults)
    if faults:
        raise InputError("the rankings", faults)
    if len(lists) < 2 or length < 2:
        return None
    ranks = np.array([middle_ranks(each) for each in lists])  # type: ignore[arg-type]
    k, m = ranks.shape
    sums = ranks.sum(axis=0)
    spread = float(((sums - sums.mean()) ** 2).sum())
    ties = 0.0
    for row in ranks:
        _, sizes = np.unique(row, return_counts=True)
        ties += float((sizes**3 - sizes).sum())
    most = k**2 * (m**3 - m) - k * ties
    return 12 * spread / most if most > 0 else None


def partings(
    names: Sequence[str], own: Sequence[float], others: Sequence[tuple[str, Sequence[float]]], top: int = TOP
) -> tuple[Parting, ...]:
    """Return the pairs among our own first places that some other ranking turns round.

    Parameters
    ----------
    names : sequence of m str
    own : sequence of m float
        Our own ranks, 1 is best.
    others : sequence of (method, ranks)
    top : int
        How many of our own first places to look at; pairs that tie in ours are left out.

    Raises
    ------
    InputError
        Rankings of another length than the names.
    """
    faults = [
        Fault(f"ranking by {method}", "has the wrong length", str(len(ranks)), str(len(names)))
        for method, ranks in (("our own order", own), *others)
        if len(ranks) != len(names)
    ]
    if not isinstance(top, int) or top < 2:
        faults.append(Fault("top", "cannot be used", shown(top), "2 or more"))
    if faults:
        raise InputError("the rankings", faults)
    order = sorted(range(len(names)), key=lambda i: own[i])[:top]
    found = []
    for place, i in enumerate(order):
        for k in order[place + 1 :]:
            if own[i] == own[k]:
                continue
            turned = tuple(method for method, ranks in others if ranks[k] < ranks[i])
            if turned:
                found.append(Parting(names[i], names[k], turned))
    return tuple(found)
