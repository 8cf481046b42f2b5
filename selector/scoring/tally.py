"""Counts places over many draws: an exact table of alternatives by ranks, in whole numbers until the very end.

Whole numbers add up the same in any order, which is why the table does not depend on threads or pieces. A tie gives
each of its members an equal share of its places; the shares are counted by kind and divided last.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from selector.scoring.space import Space
from selector.scoring.streams import BLOCK

Matrix = NDArray[np.float64]
Counts = NDArray[np.int64]
MOST_RANKS = 200  # a longer list is counted by bins of ranks
FIRST_RANKS = 10  # which keep a column of their own
BINS = 100
PIECE_BYTES = 10 * 2**20


def edges_of(count: int) -> Counts:
    """Return where the bins of ranks begin, counted from 0, and the end: each rank alone up to 200 alternatives.

    A longer list keeps ranks 1 to 10 alone; about 100 bins of equal width hold the rest.
    """
    if count <= MOST_RANKS:
        return np.arange(count + 1)
    width = -(-(count - FIRST_RANKS) // BINS)
    starts = [*range(FIRST_RANKS), *range(FIRST_RANKS, count, width), count]
    return np.array(starts, dtype=np.int64)


def merged(kinds: list[Counts]) -> Counts:
    """Return rows of ties with their number as last column, equal rows put together, in a fixed order."""
    rows = [part for part in kinds if len(part)]
    if not rows:
        return np.zeros((0, 5), dtype=np.int64)
    together = np.concatenate(rows)
    unique, where = np.unique(together[:, :4], axis=0, return_inverse=True)
    numbers = np.zeros(len(unique), dtype=np.int64)
    np.add.at(numbers, where.reshape(-1), together[:, 4])
    return np.column_stack([unique, numbers])


@dataclass
class Tally:
    """The count of places one thread has seen.

    Parameters
    ----------
    count : int
        Alternatives, m.
    draws : int
        All draws of the whole run, which sets how count and rank sum share one float.
    small : bool
        Whether every rank has its own column.
    unit : float
        Worth of one draw in a float that holds number and summed offset within the bin.
    """

    count: int
    draws: int
    small: bool = field(init=False)
    unit: float = field(init=False)
    edges: Counts = field(init=False)
    table: Any = field(init=False)
    kinds: list[Counts] = field(init=False, default_factory=list)

    def __post_init__(self) -> None:
        self.edges = edges_of(self.count)
        self.small = self.count <= MOST_RANKS
        self.table = np.zeros((len(self.edges) - 1, self.count), dtype=np.int64 if self.small else np.float64)
        # Number and summed offset within the bin share one float: exact while both fit its 53 bits.
        width = int(np.diff(self.edges).max())
        self.unit = float(2 ** int(self.draws * width).bit_length())

    def rows_at_once(self, piece: int, size: int) -> int:
        """Return how many draws to collect before they are counted, for pieces of draws and indices of `size` bytes."""
        if self.small:
            return piece  # still in the cache
        return max(piece, min(BLOCK, PIECE_BYTES // (self.count * size)))

    def add(self, order: NDArray[Any], ties: Counts, space: Space, sign: int = 1) -> None:
        """Count draws, or take them back.

        Parameters
        ----------
        order : array (r, m) of unsigned int
            Alternatives of each draw, best first. Overwritten.
        ties : array (k, 5) of int
            As `ordering.best_first` returns them.
        space : Space
        sign : {1, -1}
        """
        if self.small:
            np.add(order, space.tile(self.count, self.count, len(order), order.dtype), out=order)
            counted = np.bincount(order.reshape(-1), minlength=self.count**2).reshape(self.table.shape)
            (np.add if sign > 0 else np.subtract)(self.table, counted, out=self.table)
        else:
            self._add_by_bins(order, space, sign)
        if len(ties):
            self.kinds.append(merged([np.column_stack([ties[:, 1:], np.ones(len(ties), dtype=np.int64)])]))
            if len(self.kinds) > 20:
                self.kinds = [merged(self.kinds)]

    def _add_by_bins(self, order: NDArray[Any], space: Space, sign: int) -> None:
        # One bin of neighbouring ranks after another, so that the counters stay in the cache.
        size = len(order) * int(np.diff(self.edges).max())
        codes, shares = space.array("codes", (size,), np.int64), space.array("shares", (size,), np.float64)
        known = 0
        for number, (start, end) in enumerate(zip(self.edges[:-1], self.edges[1:], strict=True)):
            part, width = len(order) * (end - start), end - start
            np.copyto(codes[:part].reshape(-1, width), order[:, start:end])
            if width != known:
                shares[:part].reshape(-1, width)[:] = self.unit + np.arange(width)
                known = width
            self.table[number] += sign * np.bincount(codes[:part], shares[:part], minlength=self.count)


def total(tallies: list[Tally]) -> tuple[Matrix, Matrix, Counts]:
    """Return what several tallies come to.

    Returns
    -------
    array (m, bins)
        How often each alternative took a rank of the bin; a share of a tie is a fraction.
    array (m,)
        Sum of its ranks, counted from 1.
    array (k, 5)
        The kinds of ties: alternative, place, first place, length, number.
    """
    one = tallies[0]
    edges, summed = one.edges, one.table
    for other in tallies[1:]:
        summed += other.table
    starts, widths = edges[:-1].astype(float), np.diff(edges)
    if one.small:
        counts = summed.astype(float)
        ranks = (counts * (starts + 1)[:, None]).sum(axis=0)
    else:
        offsets = summed.sum(axis=0)
        summed *= 1 / one.unit
        counts = np.floor(summed, out=summed)
        ranks = (starts + 1) @ counts + (offsets - one.unit * counts.sum(axis=0))
    kinds = merged([part for each in tallies for part in each.kinds])
    if not len(kinds):
        return counts.T, ranks, kinds
    alternative, place, first, length, number = kinds.T
    np.add.at(counts, (np.searchsorted(edges, place, side="right") - 1, alternative), -number.astype(float))
    np.add.at(ranks, alternative, number * (first - place + (length - 1) / 2))
    for begin in range(0, len(kinds), 4096):
        part = slice(begin, begin + 4096)
        low, high = first[part, None], (first + length)[part, None]
        inside = np.clip(np.minimum(high, edges[1:]) - np.maximum(low, edges[:-1]), 0, widths)
        share = number[part, None] * inside / length[part, None]
        which, bins = np.nonzero(inside)
        np.add.at(counts, (bins, alternative[part][which]), share[which, bins])
    return counts.T, ranks, kinds
